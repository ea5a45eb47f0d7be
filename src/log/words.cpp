#include "log/words.h"

#include <algorithm>

#include "log/header_words.h"
#include "log/initials.h"
#include "log/word_rules.h"

namespace stopledger {
namespace {

using namespace wording;

std::string join(const std::vector<std::string>& words) {
  std::string text;
  for (const auto& word : words) text += (text.empty() ? "" : " ") + word;
  return text;
}

bool all_of(const Concepts& says, const std::vector<Concept>& wanted) {
  return std::all_of(wanted.begin(), wanted.end(), [&](Concept c) { return says[c]; });
}

bool any_of(const Concepts& says, const std::vector<Concept>& wanted) {
  return std::any_of(wanted.begin(), wanted.end(), [&](Concept c) { return says[c]; });
}

/// Circuit of an isolation or prime valve: by number, or by axle or side as far as that goes.
Role circuit_role(QuantityKind quantity, const Reading& reading, const CarFacts& car) {
  if (reading.says[k_one] != reading.says[k_two])
    return Role::of_circuit(quantity, reading.says[k_one] ? 1 : 2);
  if (const auto corner = reading.place.corner()) {
    if (const auto circuit = circuit_of(car.split, *corner))
      return Role::of_circuit(quantity, *circuit);
    // A diagonal is named by its front wheel: FL+RR is circuit 1.
    return Role::of_circuit(quantity, *corner == Corner::fl || *corner == Corner::rr ? 1 : 2);
  }
  if (reading.place.front != reading.place.rear)
    return Role::of_circuit(quantity, reading.place.front ? 1 : 2);
  if (reading.place.left != reading.place.right)
    return Role::of_circuit(quantity, reading.place.left ? 1 : 2);
  return Role::of_car(quantity);
}

Wording read_one(const std::string& header, const std::optional<Unit>& unit, const CarFacts& car,
                 const Manner& manner) {
  auto reading = read_header(header, manner);
  Wording wording;
  auto& says = reading.says;
  auto& place = reading.place;
  wording.matched = join(reading.words);
  wording.says_date = says[k_date];
  wording.pulses = says[k_count_];
  wording.says_time = says[k_time] && !says[k_brake] && !says[k_abs] && !says[k_speed];

  if (place.driver != place.passenger && place.left == place.right) {
    const bool wheel_thing = place.front != place.rear &&
                             (says[k_wheel] || says[k_valve] || says[k_inlet] || says[k_outlet]);
    if (car.steering_side == SteeringSide::unknown) {
      if (wheel_thing) wording.question = "driver and passenger side need the car's steering side";
    } else {
      const bool left = (car.steering_side == SteeringSide::left) == place.driver;
      (left ? place.left : place.right) = true;
    }
  }
  if (!wording.question.empty()) return wording;
  if (says[k_foreign] || (says[k_latlon])) return wording;

  const auto corner = place.corner();
  const bool rear_axle = place.rear && !place.front && !place.left && !place.right;
  for (const auto& rule : rules()) {
    if (!all_of(says, rule.all) || any_of(says, rule.none)) continue;
    if (!rule.any.empty() && !any_of(says, rule.any)) continue;
    if (unit && unit->dimension != UnitDimension::other &&
        !unit_fits(rule.quantity, unit->dimension) && rule.rank < 3)
      continue;
    Role role;
    if (rule.where == Rule::Where::wheel) {
      if (corner)
        role = Role::at(rule.quantity, *corner);
      else if (rear_axle && !says[k_vehicle])
        role = Role::rear(rule.quantity);
      else
        continue;
      wording.isolation_word = says[k_isolation] && rule.quantity == QuantityKind::inlet;
    } else if (rule.where == Rule::Where::circuit) {
      role = circuit_role(rule.quantity, reading, car);
    } else {
      if (corner) continue;  // a flag or speed of one wheel is not the car's
      role = Role::of_car(rule.quantity);
    }
    wording.role = role;
    wording.rank = rule.rank * 10 + (says[k_command] ? 2 : 0) - (says[k_feedback] ? 2 : 0) -
                   (says[k_current] ? 3 : 0) - (says[k_average] ? 3 : 0);
    return wording;
  }
  if (unit && unit->dimension == UnitDimension::voltage && says[k_ignition]) {
    wording.role = Role::of_car(QuantityKind::supply_voltage);
    wording.rank = 10;
    return wording;
  }
  if (says[k_wheel] && !corner && !rear_axle && !says[k_steering] && !says[k_torque] &&
      !says[k_average])
    wording.question = "it belongs to a wheel, but which wheel is not said";
  if (corner || rear_axle) {
    wording.valve_unspecified = says[k_valve];
    wording.place_only = corner && !says[k_valve] && !says[k_torque] && !says[k_current] &&
                         !says[k_wanted] && !says[k_fault] && !says[k_abs] && !says[k_accel] &&
                         !says[k_time];
    if (wording.place_only || wording.valve_unspecified) {
      wording.role =
          corner ? Role::at(QuantityKind::valve, *corner) : Role::rear(QuantityKind::valve);
      if (wording.place_only) wording.role->quantity = QuantityKind::wheel_speed;
      wording.rank = 10;
    }
  }
  return wording;
}

}  // namespace

std::vector<std::string> split_words(std::string_view header) {
  // Letter case shows where words meet ("whlSpdFL"), so it is looked at before folding.
  std::string spaced;
  const auto kind = [](char c) {
    if (c >= 'A' && c <= 'Z') return 'U';
    if (c >= 'a' && c <= 'z') return 'l';
    if (c >= '0' && c <= '9') return 'd';
    return static_cast<unsigned char>(c) >= 0x80 ? 'x' : ' ';
  };
  for (std::size_t i = 0; i < header.size(); ++i) {
    const char now = kind(header[i]);
    const char before = i > 0 ? kind(header[i - 1]) : ' ';
    const char after = i + 1 < header.size() ? kind(header[i + 1]) : ' ';
    const bool starts_word = (now == 'U' && (before == 'l' || before == 'x')) ||
                             (now == 'U' && before == 'U' && after == 'l' &&
                              (i + 2 >= header.size() || kind(header[i + 2]) == 'l')) ||
                             (now == 'd' && before != 'd') || (now != 'd' && before == 'd');
    if (starts_word) spaced += ' ';
    spaced += header[i];
  }
  std::vector<std::string> words;
  std::string word;
  for (const char c : fold_text(spaced) + ' ') {
    const bool part =
        (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || static_cast<unsigned char>(c) >= 0x80;
    if (part) {
      word += c;
    } else if (!word.empty()) {
      words.push_back(word);
      word.clear();
    }
  }
  return words;
}

std::vector<Wording> recognise_words(const std::vector<std::string>& headers,
                                     const std::vector<std::optional<Unit>>& units,
                                     const CarFacts& car) {
  Manner manner{foreign_initials(headers)};
  for (const auto& header : headers) {
    const auto words = join_initials(split_words(header));
    for (std::size_t i = 0; i + 1 < words.size(); ++i)
      manner.ev_av =
          manner.ev_av || (words[i] == "ev" && (corner_initials(english_initials(), words[i + 1]) ||
                                                corner_initials(initials_rows()[1], words[i + 1])));
  }
  std::vector<Wording> wordings;
  wordings.reserve(headers.size());
  for (std::size_t i = 0; i < headers.size(); ++i)
    wordings.push_back(read_one(headers[i], units[i], car, manner));

  // Four or three wheels with an "isolation" column: inlets. One or two: circuit valves, and which
  // circuit a wheel's name means is not certain, so it is asked.
  const auto isolations = std::count_if(wordings.begin(), wordings.end(),
                                        [](const Wording& w) { return w.isolation_word; });
  for (auto& wording : wordings)
    if (wording.isolation_word && isolations < 3) {
      if (wording.role->place == PlaceKind::rear_axle) {
        wording.role = Role::of_circuit(QuantityKind::isolation, 2);
        continue;
      }
      wording.role.reset();
      wording.question = "isolation at " + std::to_string(isolations) +
                         (isolations == 1 ? " wheel" : " wheels") +
                         " could be an inlet or a circuit valve";
    }
  return wordings;
}

}  // namespace stopledger
