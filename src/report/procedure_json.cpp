#include <nlohmann/json.hpp>

#include "procedure/library.h"
#include "report/or_null.h"
#include "report/procedure_text.h"

namespace stopledger {
namespace {

using ordered_json = nlohmann::ordered_json;

ordered_json range_json(const std::optional<double>& low, const std::optional<double>& high) {
  return low ? ordered_json{*low, *high} : ordered_json(nullptr);
}

ordered_json interval_json(const Interval& i) {
  return {{"months", or_null(i.months)},    {"distance_km", or_null(i.distance_km)},
          {"early_months", i.early_months}, {"late_months", i.late_months},
          {"season", i.season_months},      {"after_storage_weeks", or_null(i.after_storage_weeks)},
          {"after", i.after_records},       {"basis", i.basis}};
}

ordered_json expectation_json(const Expectation& e) {
  ordered_json corners = ordered_json::object();
  for (const Corner corner : all_corners)
    corners[std::string(corner_name(corner))] = {
        {"asked", e.corners[corner].asked},
        {"releases", e.corners[corner].min_releases},
        {"may_stay_idle", e.corners[corner].may_stay_idle}};
  return {{"corners", corners},
          {"wheel_answer", e.needs_wheel_answer},
          {"pump", e.pump_asked},
          {"circuits", e.circuits_asked},
          {"cycle_rate_hz", range_json(e.cycle_rate_low_hz, e.cycle_rate_high_hz)},
          {"entry_speed_kmh", range_json(e.entry_speed_low_kmh, e.entry_speed_high_kmh)}};
}

ordered_json procedure_json(const Procedure& p) {
  ordered_json out{
      {"id", p.id},
      {"name", p.name},
      {"purpose", p.purpose},
      {"record", p.record_kind},
      {"units", ordered_json::array()},
      {"opens_system", p.opens_system},
      {"needs_circuit_valves", p.needs_circuit_valves},
      {"session", p.is_session},
      {"people", p.people},
      {"tools", p.tools},
      {"needs_sheet", p.needs_sheet},
      {"before", ordered_json::array()},
      {"steps", ordered_json::array()},
      {"log", p.log_channels},
      {"speed_kmh", range_json(p.speed_low_kmh, p.speed_high_kmh)},
      {"surfaces", p.surfaces},
      {"stop_when", p.stop_conditions},
      {"cautions", ordered_json::array()},
      {"movement", ordered_json::array()},
      {"interval", p.interval ? interval_json(*p.interval) : ordered_json(nullptr)},
      {"expect", p.expectation ? expectation_json(*p.expectation) : ordered_json(nullptr)},
      {"sources", p.sources},
      {"file", p.file},
      {"overrides_library", p.overrides_library}};
  for (const auto kind : p.unit_kinds) out["units"].push_back(unit_kind_name(kind));
  for (const auto& b : p.prerequisites)
    out["before"].push_back({{"procedure", b.procedure},
                             {"hard", b.hard},
                             {"within_days", or_null(b.within_days)},
                             {"first_ever_only", b.first_ever_only},
                             {"reason", b.reason}});
  for (const auto& s : p.steps)
    out["steps"].push_back({{"do", s.text}, {"record", or_null(s.record)}});
  for (const auto& id : p.cautions)
    out["cautions"].push_back({{"id", id}, {"text", caution_text(id)}});
  for (const auto& m : p.movement)
    out["movement"].push_back({{"layout", m.layout}, {"text", m.text}});
  return out;
}

}  // namespace

std::string procedures_json(std::span<const Procedure> procedures) {
  ordered_json out{{"schema", "stopledger.procedures/1"}, {"procedures", ordered_json::array()}};
  for (const auto& p : procedures) out["procedures"].push_back(procedure_json(p));
  return out.dump(2) + "\n";
}

}  // namespace stopledger
