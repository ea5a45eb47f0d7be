#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "log/gather.h"
#include "log/layout.h"
#include "log/log.h"
#include "log/reader.h"

namespace stopledger {

/// A role and where it comes from; one track may feed several roles, bit by bit.
struct RoleClaim {
  std::size_t track;
  Role role;
  const ChannelMapEntry* entry;  ///< of the channel map, or nullptr
  /// The largest value of a valve and its fellows, which full current is judged by.
  std::optional<double> full_scale;
};

/// The role of every track once its values are known; what is left open is noted in `log`.
///
/// Errors: Error(input) when two columns claim one wheel's role, or its unit is impossible.
std::vector<RoleClaim> settle_roles(const Layout& layout, Gather& gather, const std::string& name,
                                    const ReadOptions& options, Log& log);

}  // namespace stopledger
