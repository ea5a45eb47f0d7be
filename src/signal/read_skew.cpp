#include "signal/read_skew.h"

#include <algorithm>
#include <cmath>

#include "signal/series.h"

namespace stopledger {
namespace {

constexpr double skew_window_s = 1.0;      // chosen: several samples even of slow recorders
constexpr double skew_gap_s = 0.6;         // chosen: fewer than two looks a second show no change
constexpr double skew_slowest_mps = 2.5;   // chosen: sensors fade out below
constexpr double skew_hardest_mps2 = 3.5;  // chosen: harder braking slips, on every ground
constexpr double skew_apart = 0.05;        // track 1.45 m at 0.2 rad/s and 25 km/h
constexpr std::size_t skew_blocks = 8;
constexpr std::size_t fewest_windows = 2 * skew_blocks;
constexpr double least_change_mps2 = 0.5;  // standard deviation of the windows' change of speed
constexpr double student_7 = 2.3646;       // two-sided 95 %, seven degrees of freedom
/// Tuned: of simulated drives the plain limits held the truth in 90 to 95 of 100.
constexpr double skew_widened = 1.2;

/// Mean of the trace over [from, to] by trapezoids; nothing across a gap.
std::optional<double> mean_over(const SkewTrace& trace, double from, double to) {
  const auto begin = linear_at(trace.t_s, trace.v_mps, from, skew_gap_s);
  const auto end = linear_at(trace.t_s, trace.v_mps, to, skew_gap_s);
  if (!begin || !end) return std::nullopt;
  double sum = 0.0, last_t = from, last_v = *begin;
  for (std::size_t i = first_at_or_after(trace.t_s, from);
       i < trace.t_s.size() && trace.t_s[i] < to; ++i) {
    if (trace.t_s[i] - last_t > skew_gap_s) return std::nullopt;
    sum += 0.5 * (trace.v_mps[i] + last_v) * (trace.t_s[i] - last_t);
    last_t = trace.t_s[i];
    last_v = trace.v_mps[i];
  }
  if (to - last_t > skew_gap_s) return std::nullopt;
  sum += 0.5 * (*end + last_v) * (to - last_t);
  return sum / (to - from);
}

/// Smallest value of the trace in [from, to].
double least_of(const SkewTrace& trace, double from, double to) {
  double least = 1e300;
  for (std::size_t i = first_at_or_after(trace.t_s, from);
       i < trace.t_s.size() && trace.t_s[i] <= to; ++i)
    least = std::min(least, trace.v_mps[i]);
  return least;
}

struct SkewSums {
  double vv = 0.0, va = 0.0, aa = 0.0, vd = 0.0, ad = 0.0;
  void add(const SkewWindow& w, double sign = 1.0) {
    vv += sign * w.v_mps * w.v_mps;
    va += sign * w.v_mps * w.a_mps2;
    aa += sign * w.a_mps2 * w.a_mps2;
    vd += sign * w.v_mps * w.difference_mps;
    ad += sign * w.a_mps2 * w.difference_mps;
  }
  [[nodiscard]] double skew() const { return (vv * ad - va * vd) / (vv * aa - va * va); }
};

}  // namespace

std::vector<SkewWindow> skew_windows(const SkewTrace& first, const SkewTrace& second,
                                     double start_s, double end_s) {
  std::vector<SkewWindow> windows;
  for (double from = start_s; from + skew_window_s <= end_s;) {
    const double to = from + skew_window_s;
    const auto one = mean_over(first, from, to), two = mean_over(second, from, to);
    const bool slow =
        std::min(least_of(first, from, to), least_of(second, from, to)) < skew_slowest_mps;
    if (!one || !two || slow) {
      // On to the next sample at once where there is none for long: days may lie between.
      from += 0.25 * skew_window_s;
      const std::size_t next = first_at_or_after(first.t_s, from);
      if (next == first.t_s.size()) break;
      from = std::max(from, first.t_s[next]);
      continue;
    }
    const auto change = [&](const SkewTrace& trace) {
      return (*linear_at(trace.t_s, trace.v_mps, to, skew_gap_s) -
              *linear_at(trace.t_s, trace.v_mps, from, skew_gap_s)) /
             skew_window_s;
    };
    const SkewWindow window{0.5 * (*one + *two), 0.5 * (change(first) + change(second)),
                            *two - *one};
    if (std::abs(window.a_mps2) < skew_hardest_mps2 &&
        std::abs(window.difference_mps) < skew_apart * window.v_mps)
      windows.push_back(window);
    from = to;
  }
  return windows;
}

std::optional<ReadSkew> fit_read_skew(std::span<const SkewWindow> windows) {
  if (windows.size() < fewest_windows) return std::nullopt;
  SkewSums all;
  double mean = 0.0;
  for (const SkewWindow& window : windows) {
    all.add(window);
    mean += window.a_mps2 / static_cast<double>(windows.size());
  }
  const double spread =
      std::sqrt(std::max(0.0, all.aa / static_cast<double>(windows.size()) - mean * mean));
  if (spread < least_change_mps2) return std::nullopt;
  ReadSkew out;
  out.windows = windows.size();
  out.s = all.skew();
  std::vector<double> left_out;
  double middle = 0.0;
  for (std::size_t b = 0; b < skew_blocks; ++b) {
    SkewSums rest = all;
    for (std::size_t i = b * windows.size() / skew_blocks;
         i < (b + 1) * windows.size() / skew_blocks; ++i)
      rest.add(windows[i], -1.0);
    left_out.push_back(rest.skew());
    middle += left_out.back() / static_cast<double>(skew_blocks);
  }
  double sum = 0.0;
  for (const double skew : left_out) sum += (skew - middle) * (skew - middle);
  const auto n = static_cast<double>(skew_blocks);
  out.se_s = skew_widened * std::sqrt((n - 1.0) / n * sum);
  out.low_s = out.s - student_7 * out.se_s;
  out.high_s = out.s + student_7 * out.se_s;
  return out;
}

}  // namespace stopledger
