#include "verify/log_findings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "log/questions.h"
#include "verify/criteria.h"
#include "verify/read_times.h"

namespace stopledger {
namespace {

constexpr const char* how_to_map =
    " `stopledger channels FILE --write-map MAP` writes one to edit; give it to `check` with "
    "--channels MAP.";

bool any_question(const std::vector<PreparedLog>& runs) {
  return std::any_of(runs.begin(), runs.end(),
                     [](const PreparedLog& run) { return !run.log->questions.empty(); });
}

}  // namespace

bool any_channel(const std::vector<PreparedLog>& runs) {
  return std::any_of(runs.begin(), runs.end(),
                     [](const PreparedLog& run) { return !run.log->channels.empty(); });
}

std::string speed_hint(std::span<const Log> logs) {
  std::vector<std::string> open, satellites;
  bool own = false;
  for (const Log& log : logs) {
    for (const LogQuestion& question : log.questions)
      if (question.suggestion && question.suggestion->quantity == QuantityKind::wheel_speed &&
          !question.unit_open && std::find(open.begin(), open.end(), question.column) == open.end())
        open.push_back(question.column);
    for (const Channel& channel : log.channels) {
      const QuantityKind quantity = channel.role.quantity;
      own = own || quantity == QuantityKind::wheel_speed || quantity == QuantityKind::vehicle_speed;
      if (quantity == QuantityKind::satellite_speed) satellites.push_back(channel.column);
    }
  }
  if (!open.empty())
    return fmt::format(
        "columns that may be wheel speeds ({}) are not used: say what they are in a channel map",
        name_columns(open));
  if (!own && !satellites.empty())
    return fmt::format(
        "the only speed ({}) is a satellite receiver's, late by an unknown time, and "
        "nothing is measured against it: record a wheel's or the car's own speed "
        "beside it",
        name_columns(satellites));
  return "";
}

Finding no_stop_found(const std::vector<PreparedLog>& runs, const std::string& hint) {
  if (!hint.empty())
    return {"no-stop-found", Severity::caution, std::nullopt,
            fmt::format("No braking was found, but {}. A stop may have gone unseen.{}", hint,
                        any_question(runs) ? how_to_map : "")};
  return {
      "no-stop-found", Severity::caution, std::nullopt,
      any_channel(runs)
          ? "No braking was found in the log, so it shows nothing about exercise. Was the "
            "recording started before the run and exported whole?"
          : std::string("No column of the log was understood, so it shows nothing about exercise. "
                        "Say what the columns are in a channel map.") +
                how_to_map};
}

std::optional<Finding> signal_lost(Corner corner, const CornerEvidence& evidence) {
  if (evidence.dropouts == 0 && evidence.invalid_cells.empty()) return std::nullopt;
  const std::string invalid =
      evidence.invalid_cells.empty()
          ? ""
          : fmt::format("{}; left out, a recorder writes such codes when the signal is invalid",
                        evidence.invalid_cells);
  const std::string lost =
      evidence.dropouts == 0
          ? ""
          : fmt::format(
                "the wheel-speed signal was lost {} time{} (it fell to zero and came back "
                "faster than any wheel can)",
                evidence.dropouts, evidence.dropouts == 1 ? "" : "s");
  return Finding{
      "wheel-signal-lost", Severity::caution, corner,
      fmt::format("{}: {}{}{}. Sensor, ring, bearing or wiring; no lock.", corner_name(corner),
                  invalid, invalid.empty() || lost.empty() ? "" : "; and ", lost)};
}

std::optional<Finding> read_times_apart(const Log& log) {
  std::string list;
  for (const AxleReadTimes& axle : axle_read_times(log))
    if (axle.least_s() > criteria.read_skew_s)
      list += fmt::format("{}{} {:.3f} s {} {} ({:.3f} to {:.3f} s with 95 %)",
                          list.empty() ? "" : ", ", corner_name(axle.right), std::abs(axle.skew.s),
                          axle.skew.s > 0.0 ? "after" : "before", corner_name(axle.left),
                          axle.least_s(),
                          std::max(std::abs(axle.skew.low_s), std::abs(axle.skew.high_s)));
  if (list.empty()) return std::nullopt;
  return Finding{"read-skew", Severity::note, std::nullopt,
                 fmt::format("{}: wheels of one row were read one after the other: {}. In hard "
                             "braking their slips differ by some percent through that alone.",
                             log.file, list)};
}

}  // namespace stopledger
