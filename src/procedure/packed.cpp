#include "procedure/packed.h"

#include <cassert>
#include <cstdint>
#include <cstring>
#include <type_traits>

namespace stopledger {
namespace {

// Each struct names its members once, for both directions. A test compares every procedure of the
// library with what its file says, so that a member forgotten here shows.

template <typename Pass>
void members(Pass& pass, CornerExpectation& c) {
  pass(c.asked, c.min_releases, c.may_stay_idle);
}

template <typename Pass>
void members(Pass& pass, Expectation& e) {
  for (auto& corner : e.corners.values) pass(corner);
  pass(e.needs_wheel_answer, e.pump_asked, e.circuits_asked, e.cycle_rate_low_hz,
       e.cycle_rate_high_hz, e.entry_speed_low_kmh, e.entry_speed_high_kmh);
}

template <typename Pass>
void members(Pass& pass, Interval& i) {
  pass(i.months, i.distance_km, i.early_months, i.late_months, i.season_months, i.keeps_season,
       i.after_storage_weeks, i.after_records, i.basis);
}

template <typename Pass>
void members(Pass& pass, Prerequisite& p) {
  pass(p.procedure, p.hard, p.within_days, p.first_ever_only, p.reason);
}

template <typename Pass>
void members(Pass& pass, Step& s) {
  pass(s.text, s.record);
}

template <typename Pass>
void members(Pass& pass, Movement& m) {
  pass(m.layout, m.text);
}

template <typename Pass>
void members(Pass& pass, Procedure& p) {
  pass(p.id, p.name, p.purpose, p.record_kind, p.unit_kinds, p.opens_system, p.needs_circuit_valves,
       p.fills_sheet, p.rests_in_storage, p.is_session, p.people, p.tools, p.prerequisites, p.steps,
       p.log_channels, p.speed_low_kmh, p.speed_high_kmh, p.surfaces, p.stop_conditions, p.cautions,
       p.movement, p.needs_sheet, p.interval, p.expectation, p.sources, p.file,
       p.overrides_library);
}

template <typename T>
concept Plain = std::is_arithmetic_v<T> || std::is_enum_v<T>;

class Writer {
 public:
  template <typename... Members>
  void operator()(Members&... each) {
    (put(each), ...);
  }
  std::string bytes;

 private:
  template <Plain T>
  void put(const T& value) {
    bytes.append(reinterpret_cast<const char*>(&value), sizeof value);
  }
  void put(std::string& text) {
    put(static_cast<std::uint32_t>(text.size()));
    bytes += text;
  }
  template <typename T>
  void put(std::optional<T>& value) {
    put(value.has_value());
    if (value) put(*value);
  }
  template <typename T>
  void put(std::vector<T>& values) {
    put(static_cast<std::uint32_t>(values.size()));
    for (auto& value : values) put(value);
  }
  template <typename T>
  requires std::is_class_v<T>
  void put(T& value) { members(*this, value); }
};

class Reader {
 public:
  explicit Reader(std::string_view bytes) : bytes_(bytes) {}
  template <typename... Members>
  void operator()(Members&... each) {
    (take(each), ...);
  }
  [[nodiscard]] bool done() const { return bytes_.empty(); }

 private:
  std::string_view next(std::size_t size) {
    assert(size <= bytes_.size());
    const auto part = bytes_.substr(0, size);
    bytes_.remove_prefix(size);
    return part;
  }
  template <Plain T>
  void take(T& value) {
    std::memcpy(&value, next(sizeof value).data(), sizeof value);
  }
  std::uint32_t size() {
    std::uint32_t value = 0;
    take(value);
    return value;
  }
  void take(std::string& text) { text = next(size()); }
  template <typename T>
  void take(std::optional<T>& value) {
    bool there = false;
    take(there);
    if (there) take(value.emplace());
  }
  template <typename T>
  void take(std::vector<T>& values) {
    values.resize(size());
    for (auto& value : values) take(value);
  }
  template <typename T>
  requires std::is_class_v<T>
  void take(T& value) { members(*this, value); }

  std::string_view bytes_;
};

}  // namespace

std::string pack(const Procedure& procedure) {
  Writer writer;
  Procedure copy = procedure;
  members(writer, copy);
  return std::move(writer.bytes);
}

Procedure unpack(std::string_view bytes) {
  Procedure procedure;
  Reader reader(bytes);
  members(reader, procedure);
  assert(reader.done());
  return procedure;
}

}  // namespace stopledger
