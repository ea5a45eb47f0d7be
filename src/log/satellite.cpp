#include "log/satellite.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "log/rates.h"

namespace stopledger {
namespace {

constexpr double delay_step_s = 0.05;
constexpr int delay_from = -10, delay_to = 60;  // -0.5 s to 3 s
constexpr std::size_t delay_steps = delay_to - delay_from + 1;
constexpr std::size_t delay_blocks = 10;
constexpr std::size_t most_compared = 1000;  // samples, spread over the log
constexpr double steady_mps2 = 0.3;          // chosen: what a delay of a tenth does not bend
constexpr double steady_from_mps = 8.0;      // chosen: below it steps of the wheels' speed count
constexpr double scale_told = 0.02;          // chosen: tread wear; more is another tyre or unit

/// The speeds of the car itself: the fastest of them at any time, which slips least.
class OwnSpeed {
 public:
  explicit OwnSpeed(const Log& log) {
    for (const auto& channel : log.channels) {
      const auto quantity = channel.role.quantity;
      if (quantity != QuantityKind::vehicle_speed && quantity != QuantityKind::wheel_speed)
        continue;
      if (channel.series.size() < 20) continue;
      // The car's own speed is made of the wheels; alone it is the better name for the notes.
      if (quantity == QuantityKind::vehicle_speed)
        sources_.assign(1, &channel);
      else if (sources_.empty() || sources_[0]->role.quantity == QuantityKind::wheel_speed)
        sources_.push_back(&channel);
    }
  }
  [[nodiscard]] bool known() const { return !sources_.empty(); }
  [[nodiscard]] bool unit_known() const { return sources_[0]->unit_known; }
  [[nodiscard]] std::string name() const {
    return sources_.size() == 1 ? "\"" + sources_[0]->column + "\"" : "the wheels";
  }
  /// NaN where it is not known.
  [[nodiscard]] double at(double t) const {
    double fastest = std::nan("");
    for (const auto* source : sources_) {
      const auto& s = source->series;
      const auto after = std::lower_bound(s.t_s.begin(), s.t_s.end(), t);
      if (after == s.t_s.begin() || after == s.t_s.end()) continue;
      const auto i = static_cast<std::size_t>(after - s.t_s.begin());
      const double span = s.t_s[i] - s.t_s[i - 1];
      if (span > 2.0) continue;
      const double share = span > 0.0 ? (t - s.t_s[i - 1]) / span : 1.0;
      const double v = s.value[i - 1] + share * (s.value[i] - s.value[i - 1]);
      if (!(v <= fastest)) fastest = v;
    }
    return fastest;
  }

 private:
  std::vector<const Channel*> sources_;
};

/// Sums of one block of samples at every delay that is tried: own speed o, satellite's s.
struct DelayBlock {
  std::array<double, delay_steps> oo{}, so{}, ss{}, change{}, n{};
};

struct SatelliteDelay {
  double s = 0.0, se_s = 0.0;
  double error_mps = 0.0, error_at_zero_mps = 0.0, change_mps = 0.0;
};

/// Best delay of all blocks but one, the scale being free; nothing when the speed hardly changes.
std::optional<SatelliteDelay> best_delay(const std::vector<DelayBlock>& blocks,
                                         std::size_t without) {
  std::array<double, delay_steps> mean{};
  SatelliteDelay best;
  std::size_t least = 0;
  for (std::size_t d = 0; d < delay_steps; ++d) {
    double oo = 0.0, so = 0.0, ss = 0.0, change = 0.0, n = 0.0;
    for (std::size_t b = 0; b < blocks.size(); ++b) {
      if (b == without) continue;
      oo += blocks[b].oo[d], so += blocks[b].so[d], ss += blocks[b].ss[d];
      change += blocks[b].change[d], n += blocks[b].n[d];
    }
    if (n < 8.0 || oo <= 0.0) return std::nullopt;
    mean[d] = std::max(0.0, ss - so * so / oo) / n;
    if (static_cast<int>(d) == -delay_from) {
      best.error_at_zero_mps = std::sqrt(mean[d]);
      best.change_mps = change / n;
    }
    if (mean[d] < mean[least]) least = d;
  }
  best.error_mps = std::sqrt(mean[least]);
  double part = 0.0;
  if (least > 0 && least + 1 < delay_steps) {
    const double bend = mean[least - 1] - 2.0 * mean[least] + mean[least + 1];
    if (bend > 0.0) part = 0.5 * (mean[least - 1] - mean[least + 1]) / bend;
  }
  best.s = delay_step_s * (static_cast<double>(least) + delay_from + std::clamp(part, -0.5, 0.5));
  return best;
}

std::vector<DelayBlock> compare(const Series& satellite, const OwnSpeed& own) {
  std::vector<DelayBlock> blocks(delay_blocks);
  const std::size_t stride = std::max<std::size_t>(1, satellite.size() / most_compared);
  std::vector<std::size_t> changing;  // only where the speed changes can a delay be seen
  for (std::size_t i = stride; i < satellite.size(); i += stride) {
    double low = 1e300, high = -1e300;
    for (double delay = -1.0; delay <= 3.0; delay += 0.5) {
      const double v = own.at(satellite.t_s[i] - delay);
      low = std::min(low, std::isnan(v) ? low : v);
      high = std::max(high, std::isnan(v) ? high : v);
    }
    if (high - low >= 0.5) changing.push_back(i);
  }
  for (std::size_t k = 0; k < changing.size(); ++k) {
    auto& block = blocks[k * delay_blocks / changing.size()];
    const std::size_t i = changing[k];
    for (std::size_t d = 0; d < delay_steps; ++d) {
      const double t = satellite.t_s[i] - delay_step_s * (static_cast<double>(d) + delay_from);
      const double now = own.at(t), before = own.at(t - 1.0), s = satellite.value[i];
      if (std::isnan(now) || std::isnan(before)) continue;
      block.oo[d] += now * now;
      block.so[d] += s * now;
      block.ss[d] += s * s;
      block.change[d] += std::abs(now - before);
      block.n[d] += 1.0;
    }
  }
  return blocks;
}

/// What is new: a receiver that steps repeats its last value until the next; at rest nothing is
/// old.
Series without_repeats(const Series& series) {
  Series fresh;
  for (std::size_t i = 0; i < series.size(); ++i) {
    if (i > 0 && series.value[i] != 0.0 && series.value[i] == series.value[i - 1]) continue;
    fresh.t_s.push_back(series.t_s[i]);
    fresh.value.push_back(series.value[i]);
  }
  return fresh;
}

/// Standard error by leaving out one block after the other.
double jackknife_error(const std::vector<DelayBlock>& blocks) {
  std::vector<double> delays;
  double mean = 0.0;
  for (std::size_t b = 0; b < blocks.size(); ++b) {
    const auto left = best_delay(blocks, b);
    if (!left) return 1e9;
    delays.push_back(left->s);
    mean += left->s / static_cast<double>(blocks.size());
  }
  double sum = 0.0;
  for (const double delay : delays) sum += (delay - mean) * (delay - mean);
  const auto n = static_cast<double>(blocks.size());
  // No finer than the grid of delays itself.
  return std::max(std::sqrt((n - 1.0) / n * sum), delay_step_s / std::sqrt(12.0));
}

/// The speed put back in time; what would fall before its segment's start is left out.
void put_back(Channel& satellite, double delay, const std::vector<Segment>& segments) {
  Series moved;
  for (std::size_t i = 0; i < satellite.series.size(); ++i) {
    const double t = satellite.series.t_s[i];
    const auto segment = std::find_if(segments.begin(), segments.end(), [&](const Segment& one) {
      return t >= one.start_s && t <= one.end_s;
    });
    const double start = segment == segments.end() ? 0.0 : segment->start_s;
    if (t - delay < start) continue;
    moved.t_s.push_back(t - delay);
    moved.value.push_back(satellite.series.value[i]);
  }
  satellite.series = std::move(moved);
}

/// Ratio of the car's own speed to the satellite's in steady driving; nothing when there is little.
std::optional<double> scale_against(const Series& satellite, double delay_s, const OwnSpeed& own) {
  std::vector<double> ratios;
  for (std::size_t i = 0; i < satellite.size(); ++i) {
    const double t = satellite.t_s[i] - delay_s;
    const double v = own.at(t), before = own.at(t - 1.0), after = own.at(t + 1.0);
    if (!(v > steady_from_mps) || !(std::abs(v - before) < steady_mps2) ||
        !(std::abs(after - v) < steady_mps2) || satellite.value[i] < 0.5 * v)
      continue;
    ratios.push_back(v / satellite.value[i]);
  }
  if (ratios.size() < 10) return std::nullopt;
  return median_of(std::move(ratios));
}

}  // namespace

void judge_satellite_speed(Log& log) {
  Channel* satellite = nullptr;
  for (auto& channel : log.channels)
    if (channel.role.quantity == QuantityKind::satellite_speed) satellite = &channel;
  if (satellite == nullptr) return;
  const auto declined = [&](const std::string& why) {
    log.notes.push_back(fmt::format(
        "\"{}\" comes from a satellite receiver and may be late by a second or two; its "
        "delay is not known ({}), so nothing is measured against it",
        satellite->column, why));
  };
  const OwnSpeed own(log);
  if (!own.known()) return declined("no other speed to compare with");
  const Series written = satellite->series;
  satellite->series = without_repeats(written);
  if (satellite->series.size() < 10) return declined("too few samples");
  const auto blocks = compare(satellite->series, own);
  auto delay = best_delay(blocks, blocks.size());
  if (!delay) return declined("the speed hardly changes");
  if (delay->error_mps > 0.5 * delay->change_mps && delay->error_mps > 1.0)
    return declined("it does not follow the other speed");
  delay->se_s = jackknife_error(blocks);
  if (delay->se_s > satellite_sure_s)
    return declined(delay->se_s < 10.0 ? fmt::format("about {:.1f} s, but not to {:.2f} s",
                                                     delay->s, satellite_sure_s)
                                       : "too few changes of speed");
  satellite->read_skew_s = -delay->s;
  satellite->read_skew_se_s = delay->se_s;
  satellite->time_uncertainty_s = std::max(satellite->time_uncertainty_s, 2.0 * delay->se_s);
  put_back(*satellite, delay->s, log.segments);
  if (std::abs(delay->s) >= 0.15)
    log.notes.push_back(fmt::format(
        "\"{}\" is late by {:.2f} s against {} (standard error {:.2f} s) and was put "
        "back in time by "
        "that: it then differs by {:.2f} m/s (root mean square), as it stands by {:.2f} m/s",
        satellite->column, delay->s, own.name(), delay->se_s, delay->error_mps,
        delay->error_at_zero_mps));
  const auto scale = scale_against(written, delay->s, own);
  if (scale && satellite->unit_known && own.unit_known() && std::abs(*scale - 1.0) > scale_told)
    log.notes.push_back(fmt::format(
        "{} {} {:.1f} % {} than \"{}\" in steady driving (rolling radius, tyre size or a wrong "
        "unit): "
        "slip does not depend on it, speeds and distances do",
        own.name(), own.name() == "the wheels" ? "read" : "reads", 100.0 * std::abs(*scale - 1.0),
        *scale > 1.0 ? "more" : "less", satellite->column));
}

}  // namespace stopledger
