#include "log/word_questions.h"

#include <algorithm>

namespace stopledger::wording {

void read_valve_initials(Reading& reading, Wording& wording, const std::optional<Corner>& corner,
                         const Manner& manner) {
  auto& says = reading.says;
  if (says[k_inlet] || says[k_outlet] || says[k_release] || says[k_hold] || says[k_speed]) return;
  if (manner.no_nc || (says[k_valve] && reading.normally_open != reading.normally_closed)) {
    if (reading.normally_open) says.set(k_inlet);
    if (reading.normally_closed) says.set(k_outlet);
    if (reading.normally_open || reading.normally_closed) return;
  }
  if (reading.ev == reading.av) return;
  const bool french = manner.foreign != nullptr && manner.foreign->language == "AV/AR G/D";
  if (reading.ev && french) {
    says.set(k_valve);
  } else if (manner.german) {
    says.set(reading.ev ? k_inlet : k_outlet);
    wording.remark = reading.ev ? "EV is read as Einlassventil, inlet valve"
                                : "AV is read as Auslassventil, outlet valve";
  } else {
    wording.question = reading.ev ? "EV could be an inlet valve (German Einlassventil) or any valve"
                                  : "AV could be an outlet valve (German Auslassventil)";
    const auto quantity = reading.ev ? QuantityKind::inlet : QuantityKind::outlet;
    wording.suggestion = corner ? Role::at(quantity, *corner) : Role::rear(quantity);
  }
}

std::optional<Role> role_by_unit(const Reading& reading, const std::optional<Unit>& unit) {
  if (!unit) return std::nullopt;
  const auto& says = reading.says;
  const bool volts = unit->dimension == UnitDimension::voltage;
  const bool amps = unit->dimension == UnitDimension::current;
  if (volts && says[k_ignition]) return Role::of_car(QuantityKind::supply_voltage);
  if (unit->dimension == UnitDimension::angular_rate && says[k_engine] && !says[k_wanted])
    return Role::of_car(QuantityKind::engine_speed);
  // No engine has volts: the motor is the pump's.
  if ((volts || amps) && says[k_motor] && !says[k_steering] && !says[k_throttle] && !says[k_fault])
    return Role::of_car(QuantityKind::pump);
  return std::nullopt;
}

void ask_about(const Reading& reading, const std::optional<Unit>& unit, Wording& wording) {
  const auto& says = reading.says;
  const bool corner = reading.place.corner().has_value();
  const bool rear_axle = reading.place.rear && !corner;
  if (says[k_wanted] || says[k_fault] || says[k_average]) return;
  if (says[k_wheel] && !corner && !rear_axle && !says[k_steering] && !says[k_torque]) {
    wording.question = "it belongs to a wheel, but which wheel is not said";
  } else if (says[k_valve] && !corner && !rear_axle && !says[k_relay] && !says[k_voltage] &&
             !says[k_engine]) {
    wording.question =
        "it is a valve, but which wheel's and which one is not said (one number for several "
        "valves: an entry for each bit, bit = 0, 1, ...)";
  } else if ((says[k_pressure] || (unit && unit->dimension == UnitDimension::pressure)) &&
             !corner && !rear_axle && !says[k_wheel]) {
    wording.question =
        "it is a pressure, but not said of what; of the brakes it is master_pressure";
    wording.suggestion = Role::of_car(QuantityKind::master_pressure);
  } else if (says[k_motor] && !says[k_speed] && !unit &&
             std::all_of(reading.words.begin(), reading.words.end(),
                         [](const std::string& word) { return vocabulary().contains(word); })) {
    wording.question = "it is a motor, but not said which; the one of the return pump is pump";
    wording.suggestion = Role::of_car(QuantityKind::pump);
  }
}

void read_place_only(const Reading& reading, const std::optional<Unit>& unit, Wording& wording) {
  const auto& says = reading.says;
  const auto corner = reading.place.corner();
  const auto dimension = unit ? unit->dimension : UnitDimension::other;
  const auto named = [&](QuantityKind quantity, int rank) {
    wording.role = corner ? Role::at(quantity, *corner) : Role::rear(quantity);
    wording.rank = rank;
  };
  if (says[k_valve]) {
    wording.valve_unspecified = true;
    return named(QuantityKind::valve, 10);
  }
  if (!corner || says[k_torque] || says[k_wanted] || says[k_fault] || says[k_abs] ||
      says[k_accel] || says[k_time])
    return;
  const bool sensor =
      std::find(reading.words.begin(), reading.words.end(), "sensor") != reading.words.end();
  if (dimension == UnitDimension::current && !sensor) {
    wording.valve_unspecified = true;  // the only thing at a wheel that takes a current
    return named(QuantityKind::valve, 10);
  }
  if (says[k_current]) return;
  if (dimension == UnitDimension::speed || dimension == UnitDimension::angular_rate ||
      dimension == UnitDimension::frequency)
    return named(QuantityKind::wheel_speed, 20);
  if (dimension == UnitDimension::pressure) return named(QuantityKind::wheel_pressure, 20);
  wording.place_only = true;
  named(QuantityKind::wheel_speed, 10);
}

}  // namespace stopledger::wording
