#include "log/invalid_cells.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "log/scale.h"

namespace stopledger {
namespace {

/// An engine of 150 Nm and 0.15 kg m2 through a first gear of 12 spins a free pair of wheels up at
/// 27 m/s2 at the tread (150 x 12 / (0.15 x 144) x 0.3, from memory); twice that and more is no
/// wheel. (A wheel that recovers from a lock is faster, but goes no faster than the car.)
constexpr double spun_up_mps2 = 60.0;
/// Full grip stops a bare wheel no faster (1 x 9.81 x 300 kg x 0.3 m / 2.5 kg m2 x 0.3, chosen).
constexpr double stopped_mps2 = 350.0;
constexpr double never_on_a_lot_mps = 50.0;  // chosen: 180 km/h
/// From rolling forward a wheel turns back no sooner than the car does: FR-06, the best tyre.
constexpr double car_stops_mps2 = 13.0;
/// Chosen: rounding and noise about zero are smaller.
constexpr double about_zero_mps = 0.3;
constexpr double rolls_mps = 5.0 / 3.6;
/// Chosen: no wheel of a car on the lot is half as fast again as in every other sample.
constexpr double far_above = 1.5;
constexpr double moving_mps = 10.0 / 3.6;

/// A run of samples [begin, end) and the good ones beside it.
struct CellRun {
  std::size_t begin, end;
  std::optional<std::size_t> before, after;
};

template <class InRun>
std::vector<CellRun> cell_runs(const std::vector<CellFault>& faults, InRun in_run) {
  std::vector<CellRun> runs;
  std::optional<std::size_t> good;
  const std::size_t n = faults.size();
  for (std::size_t i = 0; i < n; ++i) {
    if (faults[i] != CellFault::none) continue;
    if (!in_run(i)) {
      if (!runs.empty() && !runs.back().after) runs.back().after = i;
      good = i;
      continue;
    }
    if (!runs.empty() && !runs.back().after)
      runs.back().end = i + 1;
    else
      runs.push_back({i, i + 1, good, std::nullopt});
  }
  return runs;
}

/// The usual time from sample to sample.
double usual_step(std::span<const double> t) {
  return t.size() < 2 ? 1.0
                      : std::max(1e-3, (t.back() - t.front()) / static_cast<double>(t.size() - 1));
}

/// Pace from one sample to another, without what rounding may add; stamps may be repeated.
double cell_pace(std::span<const double> t, std::span<const double> v, std::size_t a, std::size_t b,
                 double step_s) {
  return std::max(0.0, std::abs(v[b] - v[a]) - about_zero_mps) / std::max(step_s, t[b] - t[a]);
}

void find_code(std::span<const double> t, std::span<const double> v,
               std::vector<CellFault>& faults) {
  double top = 0.0, next = 0.0;
  for (std::size_t i = 0; i < v.size(); ++i) {
    if (faults[i] != CellFault::none || v[i] <= next || v[i] == top) continue;
    next = v[i] > top ? top : v[i];
    top = std::max(top, v[i]);
  }
  if (top < moving_mps || top < far_above * next) return;
  // Rare among other speeds, or beyond what anyone drives on a lot.
  std::ptrdiff_t others = 0;
  for (std::size_t i = 0; i < v.size(); ++i)
    if (faults[i] == CellFault::none && v[i] > about_zero_mps) others += v[i] == top ? -1 : 1;
  if (others <= 0 && top < never_on_a_lot_mps) return;
  const double step = 0.5 * usual_step(t);
  const auto runs = cell_runs(faults, [&](std::size_t i) { return v[i] == top; });
  const auto in_one_step = [&](const CellRun& run) {
    const double up = run.before ? cell_pace(t, v, *run.before, run.begin, step) : 0.0;
    const double down = run.after ? cell_pace(t, v, run.end - 1, *run.after, step) : 0.0;
    if (run.before && run.after) return up > spun_up_mps2 && down > spun_up_mps2;
    return run.before ? up > spun_up_mps2 : down > stopped_mps2;
  };
  if (!std::all_of(runs.begin(), runs.end(), in_one_step)) return;
  for (const CellRun& run : runs)
    for (std::size_t i = run.begin; i < run.end; ++i)
      if (v[i] == top) faults[i] = CellFault::code;
}

void find_backwards(std::span<const double> t, std::span<const double> v,
                    std::vector<CellFault>& faults) {
  const auto runs = cell_runs(faults, [&](std::size_t i) { return v[i] < -about_zero_mps; });
  const double step = 0.5 * usual_step(t);
  const auto jumps = [&](std::size_t a, std::size_t b, std::size_t good) {
    return cell_pace(t, v, a, b, step) > (v[good] > rolls_mps ? car_stops_mps2 : spun_up_mps2);
  };
  std::set<double> codes;
  for (const CellRun& run : runs) {
    const bool impossible = (run.before && jumps(*run.before, run.begin, *run.before)) ||
                            (run.after && jumps(run.end - 1, *run.after, *run.after));
    if (!impossible) continue;
    for (std::size_t i = run.begin; i < run.end; ++i)
      if (v[i] < -about_zero_mps) codes.insert(v[i]);
  }
  if (codes.empty()) return;
  for (std::size_t i = 0; i < v.size(); ++i)
    if (faults[i] == CellFault::none && codes.contains(v[i])) faults[i] = CellFault::backwards;
}

}  // namespace

std::vector<CellFault> judge_speed_cells(std::span<const double> t_s, std::span<const double> v_mps,
                                         bool unit_known) {
  std::vector<CellFault> faults(v_mps.size(), CellFault::none);
  if (v_mps.empty()) return faults;
  if (unit_known)
    for (std::size_t i = 0; i < v_mps.size(); ++i)
      if (std::abs(v_mps[i]) > impossible_mps) faults[i] = CellFault::too_fast;
  find_code(t_s, v_mps, faults);
  if (*std::min_element(v_mps.begin(), v_mps.end()) < -about_zero_mps)
    find_backwards(t_s, v_mps, faults);
  return faults;
}

InvalidCells count_invalid(std::span<const double> v_mps, std::span<const CellFault> faults) {
  InvalidCells cells;
  double before = 0.0;
  std::size_t waiting = 0;  // invalid since the last good sample
  const auto close = [&](double after) {
    if (std::max(before, after) >= moving_mps) cells.moving += waiting;
    waiting = 0;
  };
  for (std::size_t i = 0; i < v_mps.size(); ++i) {
    cells.backwards += faults[i] == CellFault::backwards ? 1 : 0;
    cells.code += faults[i] == CellFault::code ? 1 : 0;
    cells.too_fast += faults[i] == CellFault::too_fast ? 1 : 0;
    if (faults[i] != CellFault::none) {
      ++waiting;
      continue;
    }
    close(v_mps[i]);
    before = v_mps[i];
  }
  close(0.0);
  return cells;
}

std::string why_invalid(const InvalidCells& cells) {
  if (cells.backwards >= std::max(cells.code, cells.too_fast))
    return "below zero where a wheel cannot turn back";
  return cells.too_fast >= cells.code ? "impossibly high"
                                      : "far above all others, reached in one step";
}

}  // namespace stopledger
