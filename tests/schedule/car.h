#pragma once

#include <string>
#include <vector>

#include "base/written_day.h"
#include "procedure/procedure.h"
#include "record/record.h"

namespace stopledger::testing {

/// A record; fields as {"name", "written"}, flags and numbers normalised by hand where needed.
inline Record record(const char* kind, const char* on,
                     std::map<std::string, FieldValue> fields = {}, std::optional<double> km = {}) {
  static std::int64_t next = 0;
  Record r;
  r.id = ++next;
  r.uid = "r" + std::to_string(next);
  r.kind = kind;
  r.day = day(on);
  r.fields = std::move(fields);
  r.odometer_km = km;
  return r;
}

inline FieldValue yes() { return {"yes", 1.0}; }
inline FieldValue text(const char* written) { return {written, {}}; }

inline CarSheet car() {
  CarSheet sheet;
  sheet.facts.name = "Alder";
  sheet.facts.unit_kind = UnitKind::two_valve;
  sheet.facts.split = CircuitSplit::diagonal;
  sheet.facts.channels = 4;
  sheet.facts.sensors = 4;
  sheet.facts.has_isolation_valves = false;
  sheet.fluid_grade = "DOT 4";
  return sheet;
}

inline Procedure procedure(const char* id, const char* kind, const Interval& interval) {
  Procedure p;
  p.id = id;
  p.name = id;
  p.record_kind = kind;
  p.interval = interval;
  return p;
}

}  // namespace stopledger::testing
