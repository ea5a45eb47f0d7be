#pragma once

#include "log/gather.h"
#include "log/layout.h"
#include "log/log.h"
#include "log/reader.h"

namespace stopledger {

/// Turns what the pass over the rows has gathered into channels: true rates, fresh samples, SI
/// values, states; adds the notes and the unused columns to `log`.
///
/// Errors: Error(input) when two columns turn out to have one role.
void finish_channels(const Layout& layout, Gather& gather, const std::string& name,
                     const ReadOptions& options, Log& log);

}  // namespace stopledger
