#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/car.h"
#include "log/cell.h"
#include "log/gather.h"
#include "log/layout.h"
#include "log/log.h"

namespace stopledger {

/// A tyre radius to scale by when nothing tells it; slip is a ratio and does not need it.
inline constexpr double assumed_radius_m = 0.30;
/// No car of this age runs faster than this (chosen: 432 km/h); a speed above it is a code for
/// "invalid" or a wrong unit.
inline constexpr double impossible_mps = 120.0;

/// The state a word means at that quantity.
double state_of(StateWord word, QuantityKind quantity);

/// How written numbers become values of the role.
struct ValueScale {
  double factor = 1.0, offset = 0.0;
  std::optional<double> threshold, second_threshold;  // states from a measured quantity
  std::optional<int> bit;
  bool duty = false;
};

/// Scale of a state column, of which `full_scale` is the reading at full current (nothing: the
/// column's own largest); what is decided by its values is said in `notes`.
ValueScale state_scale(const Column& column, const Track& track, QuantityKind quantity,
                       std::optional<double> full_scale, std::vector<std::string>& notes);

/// Scale of a measured column, and whether its unit is known (in `channel`). Nothing when its
/// values allow none.
std::optional<ValueScale> number_scale(const Column& column, const Track& track, Channel& channel,
                                       const ChannelMapEntry* entry, const CarFacts& car,
                                       std::vector<std::string>& notes);

/// True when a wheel speed column counts pulses.
bool counts_pulses(const Column& column, const Channel& channel);

}  // namespace stopledger
