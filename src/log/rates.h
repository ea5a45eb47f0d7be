#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "log/gather.h"
#include "log/layout.h"
#include "log/updates.h"

namespace stopledger {

/// How often the column of one track is truly renewed.
struct TrackRate {
  double period = 1.0;  // filled cells per renewal
  bool proven = false;
  bool sparse = false;  // cells are blank between renewals
  /// A state whose edges lie on a grid while numbers beside it are renewed more often: a column
  /// that is renewed only so often, or a control that works in such steps. The grid is kept, since
  /// what it may have hidden is then not missed, but it is no proof of repeats.
  bool edges_only = false;
  UpdateEvidence evidence;
};

/// True update period of every track, by its own changes or by its companions.
std::vector<TrackRate> find_rates(const Layout& layout, Gather& gather);

/// Indices of the fresh samples of a track whose value is renewed every `period` cells.
std::vector<std::size_t> fresh_samples(const Track& track, double period);

/// The middle one; `values` must not be empty.
double median_of(std::vector<double> values);

}  // namespace stopledger
