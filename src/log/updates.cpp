#include "log/updates.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <numeric>

namespace stopledger {

void ChangeLog::halve() {
  // Keep every other stretch of run_length changes; runs stay runs.
  std::vector<Change> kept;
  std::vector<std::size_t> starts;
  kept.reserve(changes_.size());
  std::size_t run = 0;
  for (std::size_t i = 0; i < changes_.size(); ++i) {
    while (run + 1 < run_starts_.size() && run_starts_[run + 1] <= i) ++run;
    if ((i / run_length) % 2 != 0) continue;
    if (i % run_length == 0 || run_starts_[run] == i) starts.push_back(kept.size());
    kept.push_back(changes_[i]);
  }
  changes_ = std::move(kept);
  run_starts_ = std::move(starts);
  stride_ *= 2;
  open_ = false;
}

std::vector<std::span<const Change>> ChangeLog::runs() const {
  std::vector<std::span<const Change>> out;
  for (std::size_t r = 0; r < run_starts_.size(); ++r) {
    const std::size_t end = r + 1 < run_starts_.size() ? run_starts_[r + 1] : changes_.size();
    out.push_back(std::span(changes_).subspan(run_starts_[r], end - run_starts_[r]));
  }
  return out;
}

namespace {

/// The value with so many before it in order; changes the order.
double in_order(std::vector<double>& values, std::size_t before) {
  const auto place = values.begin() + static_cast<std::ptrdiff_t>(before);
  std::nth_element(values.begin(), place, values.end());
  return *place;
}

/// The small steps of the value: its quantum when it has one, else the scale of its noise.
struct StepSize {
  double size = 0.0;
  bool is_quantum = false;
};

StepSize step_size(const std::vector<std::span<const Change>>& runs) {
  std::vector<double> jumps;
  for (const auto run : runs)
    for (const auto& change : run) jumps.push_back(std::abs(change.jump));
  if (jumps.size() < 3) return {};
  const double small = in_order(jumps, jumps.size() / 50);
  // Refine: the mean of all that are about the same removes the rounding of converted units.
  std::vector<double> same;
  for (const double jump : jumps)
    if (jump > 0.7 * small && jump < 1.3 * small) same.push_back(jump);
  if (same.empty()) return {small, false};
  std::sort(same.begin(), same.end());
  const double q =
      std::accumulate(same.begin(), same.end(), 0.0) / static_cast<double>(same.size());
  std::size_t near = 0, checked = 0;
  for (const double jump : jumps) {
    const double steps = jump / q;
    if (steps > 8.5) continue;
    ++checked;
    near += std::abs(steps - std::round(steps)) < 0.1 ? 1 : 0;
  }
  // By chance one in five would be that near.
  return {q, checked >= 5 && near * 10 >= checked * 9};
}

/// Largest period on whose lattice nearly all spacings lie within `tolerance` (a share of the
/// period), when chance cannot explain it.
std::optional<double> lattice_period(const std::vector<double>& spacings, double tolerance) {
  if (spacings.size() < 6) return std::nullopt;
  // Thousands of spacings have few lengths.
  std::map<double, double> counts;
  for (const double spacing : spacings) counts[spacing] += 1.0;
  std::optional<double> best;
  for (int p = 2; p <= 256; ++p) {
    const double room = std::floor(p * tolerance);
    const double chance = (2.0 * room + 1.0) / p;
    double on = 0.0, single = 0.0, weighted = 0.0, weight = 0.0, far = 0.0;
    unsigned near_multiples = 0;  // bit m: a spacing of m periods was seen
    for (const auto& [spacing, count] : counts) {
      const double multiple = std::round(spacing / p);
      if (multiple < 1.0 || std::abs(spacing - multiple * p) > room) continue;
      on += count;
      single += multiple == 1.0 ? count : 0.0;
      if (multiple <= 10.0)
        near_multiples |= 1U << static_cast<unsigned>(multiple);
      else
        far += count;
      weighted += count * spacing * multiple;
      weight += count * multiple * multiple;
    }
    const auto n = static_cast<double>(spacings.size());
    // A rhythm of the thing itself also has equal spacings: anti-lock cycles, or a steady ramp seen
    // in steps. Only the recorder's grid holds over a variety of spacings or over long pauses.
    if (std::popcount(near_multiples) < 3 && far < 2.0) continue;
    // 256 periods are tried; together they may be wrong once in a thousand logs.
    if (on < 0.9 * n || single == 0.0 || on * std::log(chance) > std::log(1e-3 / 256.0)) continue;
    best = weighted / weight;  // least squares: a clock that drifts against the rows
  }
  return best;
}

}  // namespace

UpdateEvidence judge_updates(const ChangeLog& changes) {
  UpdateEvidence evidence;
  const auto runs = changes.runs();
  const auto step = step_size(runs);
  if (step.is_quantum) evidence.quantum = step.size;

  std::vector<double> spacings, moving;
  std::size_t next_cell = 0;
  for (const auto run : runs)
    for (std::size_t i = 1; i < run.size(); ++i) {
      const auto n = static_cast<double>(run[i].cell - run[i - 1].cell);
      spacings.push_back(n);
      next_cell += n == 1.0 ? 1 : 0;
      // Several steps at once, twice in the same direction: every renewal between would show.
      const double a = run[i - 1].jump, b = run[i].jump;
      if (std::abs(a) > 2.5 * step.size && std::abs(b) > 2.5 * step.size && a * b > 0.0)
        moving.push_back(n);
    }
  if (spacings.size() < 3) return evidence;

  std::vector<double> reordered = spacings;
  evidence.at_most = in_order(reordered, reordered.size() / 10);

  if (moving.size() >= 6) {
    reordered = moving;
    const double middle = in_order(reordered, reordered.size() / 2);
    double sum = 0.0;
    std::size_t n = 0;
    // One row more or less is a clock that drifts against the rows.
    for (const double spacing : moving)
      if (std::abs(spacing - middle) <= 1.0 + 0.1 * middle) sum += spacing, ++n;
    // Steps that come at random are not that regular.
    if (n * 10 >= moving.size() * 6) evidence.period = sum / static_cast<double>(n);
  }
  if (!evidence.period && next_cell >= 3 && next_cell * 10 >= spacings.size())
    evidence.period = 1.0;
  if (!evidence.period) evidence.period = lattice_period(spacings, 0.0);
  if (!evidence.period) evidence.period = lattice_period(spacings, 0.13);
  if (evidence.period && *evidence.period < 1.15) evidence.period = 1.0;
  return evidence;
}

}  // namespace stopledger
