#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "command/context.h"
#include "plan/session.h"

namespace stopledger {

/// The command line of `plan`, as written.
struct PlanOptions {
  std::string car, date, lot_length, lot_width, surface = "wet", recorder, start, place, utc_offset,
                                                permission, driver, helper, address, html,
                                                paper = "a4", who;
  std::vector<std::string> recorder_logs;
  std::vector<std::string> overrides;
  double slope_pct = 0.0, speed_kmh = 0.0, ambient_c = 20.0;
  int most_stops = 12;
  bool json = false, save = false;
};

/// The request that the options make; the recorder stays as it is when none is named.
/// Throws Error(usage) naming the option.
SessionRequest request_of(const PlanOptions& options, const Context& context);

/// A number written on the command line, from `low` to `high`; `what` with its article.
/// Throws Error(usage) naming the option.
double number_option(std::string_view option, std::string_view text, double low, double high,
                     std::string_view what);

}  // namespace stopledger
