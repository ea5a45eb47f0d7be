#include "report/procedure_text.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>

#include "procedure/library.h"
#include "report/wrap.h"

namespace stopledger {
namespace {

constexpr std::array month_names{"January",   "February", "March",    "April",
                                 "May",       "June",     "July",     "August",
                                 "September", "October",  "November", "December"};

std::string units_text(const Procedure& p) {
  if (p.unit_kinds.empty()) return "every kind";
  std::vector<std::string_view> names;
  for (const auto kind : p.unit_kinds) names.push_back(unit_kind_name(kind));
  return fmt::format("{}", fmt::join(names, ", "));
}

std::string prerequisite_text(const Prerequisite& before) {
  std::string when = "in date";
  if (before.first_ever_only)
    when = "before the first exercise, after two years of standing and after work on the unit";
  else if (before.within_days == 0)
    when = "on the same day";
  else if (before.within_days)
    when = fmt::format("within {} days", *before.within_days);
  return fmt::format("{}, {}{}: {}", before.procedure, when, before.hard ? "" : " (advised)",
                     before.reason);
}

std::string expectation_text(const Expectation& expectation) {
  std::vector<std::string> parts;
  std::vector<std::string_view> asked, idle;
  int releases = 1;
  for (const Corner corner : all_corners) {
    const auto& c = expectation.corners[corner];
    if (c.asked) {
      asked.push_back(corner_name(corner));
      releases = c.min_releases;
    } else if (c.may_stay_idle) {
      idle.push_back(corner_name(corner));
    }
  }
  if (!asked.empty())
    parts.push_back(fmt::format(
        "{}: at least {} release{} over the session, {}", fmt::join(asked, ", "), releases,
        releases == 1 ? "" : "s",
        expectation.needs_wheel_answer ? "with the wheel's answer" : "commanded is enough"));
  if (!idle.empty()) parts.push_back(fmt::format("{} may stay idle", fmt::join(idle, ", ")));
  if (expectation.pump_asked) parts.emplace_back("the pump runs");
  if (expectation.circuits_asked) parts.emplace_back("isolation and prime valves move");
  if (expectation.cycle_rate_low_hz)
    parts.push_back(fmt::format("{} to {} cycles a second", *expectation.cycle_rate_low_hz,
                                *expectation.cycle_rate_high_hz));
  return fmt::format("{}", fmt::join(parts, "; "));
}

/// {"change:what=tyres", "change:what=wheels", "part"} as "after a record of kind change (what:
/// tyres, wheels), part".
std::string triggers_text(std::span<const std::string> triggers) {
  std::string text = "after a record of kind";
  std::string_view group;  // kind and field of the bracket that is open
  for (std::size_t i = 0; i < triggers.size(); ++i) {
    const std::string_view trigger = triggers[i];
    const auto colon = std::min(trigger.find(':'), trigger.size());
    const auto equals = std::min(trigger.find('='), trigger.size());
    const auto value = trigger.substr(std::min(equals + 1, trigger.size()));
    if (!group.empty() && trigger.substr(0, equals) == group) {
      text += fmt::format(", {}", value);
      continue;
    }
    text += fmt::format("{}{} {}", group.empty() ? "" : ")", i == 0 ? "" : ",",
                        trigger.substr(0, colon));
    group = colon == trigger.size() ? std::string_view{} : trigger.substr(0, equals);
    if (!group.empty())
      text += fmt::format(" ({}: {}", group.substr(colon + 1), value.empty() ? "yes" : value);
  }
  return group.empty() ? text : text + ")";
}

/// "every 12 months or 10000 km, in March to May (in the south September to November)".
std::string turn_text(const Interval& interval) {
  std::string text;
  if (interval.months)
    text = *interval.months == 1 ? "every month" : fmt::format("every {} months", *interval.months);
  if (interval.distance_km)
    text += fmt::format("{} {:.0f} km", text.empty() ? "every" : " or", *interval.distance_km);
  if (!interval.season_months.empty())
    text += fmt::format(
        ", in {} to {} (in the south {} to {})",
        month_names[static_cast<std::size_t>(interval.season_months.front() - 1)],
        month_names[static_cast<std::size_t>(interval.season_months.back() - 1)],
        month_names[static_cast<std::size_t>((interval.season_months.front() + 5) % 12)],
        month_names[static_cast<std::size_t>((interval.season_months.back() + 5) % 12)]);
  return text;
}

}  // namespace

std::string interval_text(const Interval& interval) {
  std::vector<std::string> parts;
  if (interval.months || interval.distance_km) parts.push_back(turn_text(interval));
  if (interval.after_storage_weeks)
    parts.push_back(
        fmt::format("after more than {} weeks of standing", *interval.after_storage_weeks));
  if (!interval.after_records.empty()) parts.push_back(triggers_text(interval.after_records));
  return fmt::format("{}", fmt::join(parts, "; "));
}

std::string procedure_list_text(std::span<const Procedure> procedures) {
  std::string out;
  for (const auto& p : procedures) {
    out += fmt::format("{:<18} {}{}\n", p.id, p.name,
                       p.overrides_library ? fmt::format("  [your own, from {}]", p.file) : "");
    out += fmt::format("{:<18}   {}{}\n", "",
                       p.people == 1 ? "1 person" : fmt::format("{} people", p.people),
                       p.interval && p.interval->months ? ", " + turn_text(*p.interval) : "");
  }
  return out;
}

std::string procedure_text(const Procedure& p) {
  std::string out = fmt::format("{} ({})\n", p.name, p.id);
  if (p.overrides_library)
    out += wrap("NOTE  ", fmt::format("your own file {} stands in place of the library's", p.file));
  out += wrap("", p.purpose) + "\n";
  const auto heading = [&](std::string_view title) { out += fmt::format("\n{}\n", title); };
  for (const auto& id : p.cautions) out += wrap(fmt::format("  {:<4}", id), caution_text(id));

  heading("What it needs");
  out += wrap("  units   ",
              units_text(p) + (p.needs_circuit_valves ? ", with isolation and prime valves" : ""));
  out += fmt::format("  people  {}\n", p.people);
  if (!p.tools.empty()) out += wrap("  tools   ", fmt::format("{}", fmt::join(p.tools, "; ")));
  if (!p.needs_sheet.empty())
    out +=
        wrap("  sheet   ", fmt::format("{} from the car's manual", fmt::join(p.needs_sheet, ", ")));
  if (!p.surfaces.empty())
    out += wrap("  surface ", fmt::format("{}", fmt::join(p.surfaces, ", ")));
  if (p.speed_high_kmh && *p.speed_high_kmh > 0.0)
    out += fmt::format("  speed   {:.0f} to {:.0f} km/h\n", *p.speed_low_kmh, *p.speed_high_kmh);
  if (p.opens_system)
    out += wrap("  opens   ",
                "the hydraulic system: a high-pressure store is emptied first, as the manual says");
  if (!p.prerequisites.empty()) {
    heading("Before it");
    for (const auto& before : p.prerequisites) out += wrap("  - ", prerequisite_text(before));
  }
  if (!p.stop_conditions.empty()) {
    heading("Stop at once when");
    for (const auto& condition : p.stop_conditions) out += wrap("  - ", condition);
  }
  heading("Steps");
  for (std::size_t i = 0; i < p.steps.size(); ++i) {
    out += wrap(fmt::format("  {:>2}. ", i + 1), p.steps[i].text);
    if (!p.steps[i].record.empty()) out += wrap("      write down: ", p.steps[i].record);
  }
  if (!p.log_channels.empty()) {
    heading("In the log");
    out += wrap("  ", fmt::format("{}", fmt::join(p.log_channels, ", ")));
  }
  if (!p.movement.empty() || p.expectation) {
    heading("What a healthy car shows");
    for (const auto& movement : p.movement)
      out += wrap("  - ", fmt::format("{}: {}", movement.layout, movement.text));
    if (p.expectation) out += wrap("  - check asks for: ", expectation_text(*p.expectation));
  }
  if (p.interval) {
    heading("How often");
    out += wrap("  ", interval_text(*p.interval));
    out += wrap("  ", p.interval->basis);
  }
  heading("Leaves the record");
  out += fmt::format("  {}\n", p.fills_sheet ? "the car's sheet" : p.record_kind);
  heading("Sources");
  for (const auto& source : p.sources) out += wrap("  - ", source);
  return out;
}

}  // namespace stopledger
