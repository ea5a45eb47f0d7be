#pragma once

#include <cstdint>
#include <map>
#include <span>
#include <utility>
#include <vector>

#include "plan/recording.h"

namespace stopledger {

/// All looks of a session with one recorder: what columns a set of looks takes, and what stops that
/// serve sets of looks show. Private to src/plan: the arithmetic under plan_recording.
///
/// A set of looks is a mask: bit i is look i.
class LookChances {
 public:
  /// So many stops that serve that set of looks.
  using Kinds = std::map<std::uint32_t, int>;

  /// More stops than can be asked for.
  static constexpr int never = 1 << 29;

  LookChances(std::span<const Look> looks, const Recorder& recorder, const RecordingAim& aim);

  /// What to choose in the recorder; the stop's clock joins a set without wheel speeds.
  [[nodiscard]] std::vector<Role> columns(std::uint32_t mask) const;
  /// Nothing when the recorder does not take so many columns.
  [[nodiscard]] std::optional<double> interval_s(std::uint32_t mask) const;

  /// Mean over the draws.
  double chance(std::size_t look, const Kinds& kinds);
  /// The chance to reach: that of the aim, times the ceiling when the aim is about cars that do it
  /// and when the ceiling leaves no more.
  [[nodiscard]] double aim(std::size_t look) const { return aims_[look]; }
  /// True when every look of the set is at its aim.
  bool holds(std::uint32_t mask, const Kinds& kinds);
  /// Least stops of one kind that bring one of its looks to its aim; `never` when none do.
  int stops_needed(std::size_t look, std::uint32_t mask);

  [[nodiscard]] bool mixes_axles(std::uint32_t mask) const;
  [[nodiscard]] std::size_t count() const { return looks_.size(); }

 private:
  using Seen = std::vector<double>;
  const std::vector<Seen>* stop_of(std::size_t look, std::uint32_t mask);

  std::span<const Look> looks_;
  const Recorder& recorder_;
  Role clock_;
  std::vector<double> aims_;
  std::vector<std::map<std::size_t, std::vector<Seen>>> known_;
  std::map<std::pair<std::size_t, std::size_t>, int> needed_;
};

}  // namespace stopledger
