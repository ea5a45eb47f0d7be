#include "procedure/reader.h"

#include <fmt/format.h>

#include <algorithm>

#include "base/error.h"
#include "procedure/keys.h"

namespace stopledger {
namespace {

constexpr double any_speed_kmh = 130.0;  // chosen: faster than any lot of this trade allows

bool is_id(std::string_view text) {
  return !text.empty() && text.front() >= 'a' && text.front() <= 'z' && text.back() != '-' &&
         std::all_of(text.begin(), text.end(), [](char c) {
           return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
         });
}

std::vector<Corner> corners(Keys& keys, std::string_view key) {
  std::vector<Corner> found;
  for (const auto& name : keys.texts(key)) {
    const auto corner = parse_corner(name);
    if (!corner) keys.fail(key, fmt::format("\"{}\" is not one of FL, FR, RL, RR", name));
    found.push_back(*corner);
  }
  return found;
}

Interval read_interval(Keys keys) {
  Interval interval;
  interval.months = keys.whole("months", 1, 240);
  interval.distance_km = keys.number("distance-km", 1.0, 1e6);
  interval.early_months = keys.whole("early-months", 0, 24).value_or(0);
  interval.late_months = keys.whole("late-months", 0, 24).value_or(0);
  interval.season_months = keys.wholes("season", 1, 12);
  interval.after_storage_weeks = keys.whole("after-storage-weeks", 1, 520);
  interval.after_records = keys.texts("after");
  interval.basis = keys.required_text("basis");
  interval.keeps_season = !interval.season_months.empty();
  for (std::size_t i = 1; i < interval.season_months.size(); ++i)
    if (interval.season_months[i] != interval.season_months[i - 1] % 12 + 1)
      keys.fail("season",
                "must be months that follow one another, such as [4, 5, 6] or [11, 12, 1]");
  if (interval.keeps_season && (!interval.months || *interval.months % 12 != 0))
    keys.fail("season", "needs months in whole years (12, 24, ...)");
  if (!interval.months && !interval.distance_km && !interval.after_storage_weeks &&
      interval.after_records.empty())
    keys.fail("basis",
              "says nothing of when: give months, distance-km, after-storage-weeks or after");
  keys.done();
  return interval;
}

Expectation read_expectation(Keys keys) {
  Expectation expectation;
  const int releases = keys.whole("releases", 1, 1000).value_or(1);
  for (const Corner corner : corners(keys, "corners"))
    expectation.corners[corner] = {.asked = true, .min_releases = releases, .may_stay_idle = false};
  for (const Corner corner : corners(keys, "may-stay-idle"))
    expectation.corners[corner].may_stay_idle = true;
  expectation.needs_wheel_answer = keys.flag("wheel-answer", true);
  expectation.pump_asked = keys.flag("pump", false);
  expectation.circuits_asked = keys.flag("circuits", false);
  if (const auto rate = keys.range("cycle-rate-hz", 0.1, 50.0)) {
    expectation.cycle_rate_low_hz = rate->first;
    expectation.cycle_rate_high_hz = rate->second;
  }
  if (const auto speed = keys.range("entry-speed-kmh", 0.0, any_speed_kmh)) {
    expectation.entry_speed_low_kmh = speed->first;
    expectation.entry_speed_high_kmh = speed->second;
  }
  keys.done();
  return expectation;
}

Prerequisite read_prerequisite(Keys keys) {
  Prerequisite before;
  before.procedure = keys.required_text("procedure");
  before.hard = keys.flag("hard", true);
  before.within_days = keys.whole("within-days", 0, 3660);
  before.first_ever_only = keys.flag("first-ever-only", false);
  before.reason = keys.required_text("reason");
  keys.done();
  return before;
}

void check_format(Keys& keys) {
  const auto format = keys.whole("format", 1, 1000);
  if (!format) keys.fail("format", fmt::format("is missing; write format = {}", procedure_format));
  if (*format != procedure_format)
    keys.fail("format", fmt::format("{} is not known here; this program reads format {}", *format,
                                    procedure_format));
}

}  // namespace

Procedure read_procedure(std::string_view text, const std::string& file) {
  const toml::table table = parse_toml(text, file);
  Keys keys(table, file);
  check_format(keys);
  Procedure p;
  p.file = file;
  p.id = keys.required_text("id");
  if (!is_id(p.id))
    keys.fail("id", "must be small letters, digits and hyphens, such as stop-fronts");
  p.name = keys.required_text("name");
  p.purpose = keys.required_text("purpose");
  p.fills_sheet = keys.flag("fills-sheet", false);
  if (const auto record = keys.text("record"); record.has_value() == p.fills_sheet)
    keys.fail("record", p.fills_sheet ? "is not written by what fills the car's sheet"
                                      : "is missing: the kind of record that doing it leaves");
  else
    p.record_kind = record.value_or("");
  for (const auto& name : keys.texts("units")) {
    const auto kind = parse_unit_kind(name);
    if (!kind || *kind == UnitKind::unknown)
      keys.fail("units", fmt::format("\"{}\" is not a unit kind: two-valve, three-position, "
                                     "motor-piston, high-pressure-store, booster-store",
                                     name));
    p.unit_kinds.push_back(*kind);
  }
  p.opens_system = keys.flag("opens-system", false);
  p.needs_circuit_valves = keys.flag("needs-circuit-valves", false);
  p.is_session = keys.flag("session", false);
  p.rests_in_storage = keys.flag("rests-in-storage", p.is_session);
  p.people = keys.whole("people", 1, 20).value_or(1);
  p.tools = keys.texts("tools");
  for (auto& before : keys.tables("before")) p.prerequisites.push_back(read_prerequisite(before));
  for (auto& step : keys.tables("step")) {
    p.steps.push_back({step.required_text("do"), step.text("record").value_or("")});
    step.done();
  }
  if (p.steps.empty()) keys.fail("step", "is missing: a procedure has at least one [[step]]");
  p.log_channels = keys.texts("log");
  if (const auto speed = keys.range("speed-kmh", 0.0, any_speed_kmh)) {
    p.speed_low_kmh = speed->first;
    p.speed_high_kmh = speed->second;
  }
  p.surfaces = keys.texts("surfaces");
  p.stop_conditions = keys.texts("stop-when");
  p.cautions = keys.texts("cautions");
  for (auto& movement : keys.tables("movement")) {
    p.movement.push_back({movement.required_text("layout"), movement.required_text("text")});
    movement.done();
  }
  p.needs_sheet = keys.texts("needs-sheet");
  p.sources = keys.texts("sources");
  if (p.sources.empty()) keys.fail("sources", "is missing: say where this comes from");
  if (auto interval = keys.table("interval")) p.interval = read_interval(*interval);
  if (auto expect = keys.table("expect")) p.expectation = read_expectation(*expect);
  keys.done();
  return p;
}

std::vector<Caution> read_cautions(std::string_view text, const std::string& file) {
  const toml::table table = parse_toml(text, file);
  Keys keys(table, file);
  check_format(keys);
  std::vector<Caution> found;
  for (auto& row : keys.tables("caution")) {
    found.push_back({row.required_text("id"), row.required_text("text")});
    if (const auto expected = fmt::format("C{}", found.size()); found.back().id != expected)
      row.fail("id", fmt::format("{} stands where {} is expected", found.back().id, expected));
    row.done();
  }
  keys.done();
  return found;
}

}  // namespace stopledger
