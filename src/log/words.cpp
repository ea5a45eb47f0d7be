#include "log/words.h"

#include <algorithm>

#include "log/header_words.h"
#include "log/initials.h"
#include "log/word_questions.h"
#include "log/word_rules.h"

namespace stopledger {
namespace {

using namespace wording;

std::string join(const std::vector<std::string>& words) {
  std::string text;
  for (const auto& word : words) text += (text.empty() ? "" : " ") + word;
  return text;
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
  wording.says_position = says[k_latlon];
  wording.says_g = says[k_gforce] && !says[k_accel];
  wording.says_time = says[k_time] && !says[k_brake] && !says[k_abs] && !says[k_speed];

  if (place.driver != place.passenger && place.left == place.right) {
    const bool wheel_thing =
        place.front != place.rear && says_any(says, {k_wheel, k_valve, k_inlet, k_outlet, k_release,
                                                     k_hold, k_isolation, k_speed, k_pressure});
    if (car.steering_side == SteeringSide::unknown) {
      if (wheel_thing) {
        CarFacts left_hand = car;
        left_hand.steering_side = SteeringSide::left;
        wording.suggestion = read_one(header, unit, left_hand, manner).role;
        wording.question =
            "driver and passenger side need the car's steering side (--car with its "
            "steering_side; a written map takes the driver to sit on the left)";
        return wording;
      }
    } else {
      const bool left = (car.steering_side == SteeringSide::left) == place.driver;
      (left ? place.left : place.right) = true;
    }
  }
  if (says[k_foreign] || says[k_latlon]) return wording;

  const auto corner = place.corner();
  const bool rear_axle = place.rear && !place.front && !place.left && !place.right;
  if (corner || rear_axle) read_valve_initials(reading, wording, corner, manner);
  if (!wording.question.empty()) return wording;
  const bool axes_of_g = std::any_of(reading.words.begin(), reading.words.end(),
                                     [](const auto& word) { return word == "gx" || word == "gy"; });
  if (axes_of_g && (!unit || unit->dimension != UnitDimension::acceleration)) {
    if (unit) return wording;  // a gyro's axis
    wording.question = says[k_lateral]
                           ? "gy could be the acceleration across the car or a gyro's axis"
                           : "gx could be the acceleration along the car or a gyro's axis";
    wording.suggestion =
        Role::of_car(says[k_lateral] ? QuantityKind::accel_lat : QuantityKind::accel_long);
    return wording;
  }
  for (const auto& rule : rules()) {
    if (!says_all(says, rule.all) || says_any(says, rule.none)) continue;
    if (!rule.any.empty() && !says_any(says, rule.any)) continue;
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
                   (says[k_current] ? 3 : 0) - (says[k_average] ? 3 : 0) -
                   (rule.where == Rule::Where::car && rear_axle ? 5 : 0);  // of the rear only
    return wording;
  }
  wording.role = corner ? std::nullopt : role_by_unit(reading, unit);
  wording.rank = 10;
  if (wording.role) return wording;
  if (corner || rear_axle)
    read_place_only(reading, unit, wording);
  else
    ask_about(reading, unit, wording);
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
  const Manner manner = manner_of(headers);
  std::vector<Wording> wordings;
  wordings.reserve(headers.size());
  for (std::size_t i = 0; i < headers.size(); ++i)
    wordings.push_back(read_one(headers[i], units[i], car, manner));

  // Beside positions on the earth a mere "speed" is the satellite receiver's.
  const auto is = [](QuantityKind quantity) {
    return [quantity](const Wording& w) { return w.role == Role::of_car(quantity); };
  };
  if (std::any_of(wordings.begin(), wordings.end(),
                  [](const auto& w) { return w.says_position; }) &&
      std::none_of(wordings.begin(), wordings.end(), is(QuantityKind::satellite_speed)))
    for (auto& wording : wordings)
      if (is(QuantityKind::vehicle_speed)(wording) && wording.rank <= 10) {
        wording.role = Role::of_car(QuantityKind::satellite_speed);
        wording.remark = "taken for the satellite receiver's, whose positions stand beside it";
      }

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
