#include "log/header_words.h"

#include <algorithm>
#include <array>
#include <set>
#include <string_view>

#include "log/words.h"

namespace stopledger::wording {
namespace {

void set_corner(Place& place, std::size_t index) {
  (index < 2 ? place.front : place.rear) = true;
  (index % 2 == 0 ? place.left : place.right) = true;
  ++place.corner_words;
}

constexpr std::array<std::string_view, 4> driver_initials_words{"df", "pf", "dr", "pr"};

void set_driver_initials(Place& place, const std::string& word) {
  for (std::size_t i = 0; i < driver_initials_words.size(); ++i)
    if (word == driver_initials_words[i]) {
      (i < 2 ? place.front : place.rear) = true;
      (i % 2 == 0 ? place.driver : place.passenger) = true;
    }
}

}  // namespace

Manner manner_of(const std::vector<std::string>& headers) {
  Manner manner;
  manner.foreign = foreign_initials(headers);
  bool ev = false, av = false, open = false, closed = false, german = false;
  std::set<std::string> by_driver;
  for (const auto& header : headers) {
    const auto reading = read_header(header, manner);
    for (const auto& word : split_words(header))
      if (std::find(driver_initials_words.begin(), driver_initials_words.end(), word) !=
          driver_initials_words.end())
        by_driver.insert(word);
    german = german || reading.german;
    if (reading.place.front == reading.place.rear) continue;
    ev = ev || reading.ev;
    av = av || reading.av;
    open = open || reading.normally_open;
    closed = closed || reading.normally_closed;
  }
  const bool v_h = manner.foreign != nullptr && manner.foreign->language == "V/H L/R";
  manner.german = (ev && av) || v_h || german;
  manner.no_nc = open && closed;
  manner.driver_initials = by_driver.size() >= 3;
  return manner;
}

Reading read_header(std::string_view header, const Manner& manner) {
  const Initials* const foreign = manner.foreign;
  Reading reading;
  auto words = join_initials(split_words(header));
  // "vR_HL": the symbol of a wheel's (Rad) speed in front of a corner, not front right.
  for (std::size_t i = 0; i + 1 < words.size(); ++i) {
    if (words[i] == "vr" && (corner_initials(english_initials(), words[i + 1]) ||
                             (foreign != nullptr && corner_initials(*foreign, words[i + 1]))))
      words[i] = "vrad";
  }
  for (const auto& word : words) {
    if (const auto corner = corner_initials(english_initials(), word)) {
      reading.words.push_back(word);
      continue;
    }
    if (foreign != nullptr && corner_initials(*foreign, word)) {
      reading.words.push_back(word);
      continue;
    }
    if (!vocabulary().contains(word))
      if (const auto parts = cut_into_words(word); !parts.empty()) {
        reading.words.insert(reading.words.end(), parts.begin(), parts.end());
        continue;
      }
    // "vfl" and "pfl": the symbol of a quantity in front of a corner.
    if (word.size() == 3 &&
        (word[0] == 'v' || word[0] == 'p' || word[0] == 'n' || word[0] == 'w') &&
        corner_initials(english_initials(), word.substr(1)) && !vocabulary().contains(word)) {
      reading.words.push_back(word[0] == 'p' ? "pressure" : "speed");
      reading.words.push_back(word.substr(1));
      continue;
    }
    reading.words.push_back(word);
  }
  const auto is_corner = [&](const std::string& word) {
    return corner_initials(english_initials(), word) ||
           (foreign != nullptr && corner_initials(*foreign, word));
  };
  for (std::size_t i = 0; i + 1 < reading.words.size(); ++i) {
    if (!is_corner(reading.words[i + 1])) continue;
    // "v_fl", "p_fl": the same, apart.
    if (reading.words[i] == "v" || reading.words[i] == "n") reading.says.set(k_speed);
    if (reading.words[i] == "p") reading.says.set(k_pressure);
  }
  const auto has_word = [&](const char* word) {
    return std::find(reading.words.begin(), reading.words.end(), word) != reading.words.end();
  };
  const auto has_any = [&](std::initializer_list<const char*> list) {
    return std::any_of(list.begin(), list.end(), has_word);
  };
  for (const auto& word : reading.words) {
    if (const auto known = vocabulary().find(word); known != vocabulary().end())
      reading.says |= known->second;
  }
  if (has_word("v") && (reading.says[k_vehicle] || reading.says[k_reference]))
    reading.says.set(k_speed);
  // "Valve FL in" beside "Valve FL out".
  if (has_word("in") && reading.says[k_valve]) reading.says.set(k_inlet);
  // A turning rate about another axis than the upright one.
  if (has_word("drehrate") && has_any({"x", "y"})) reading.says.reset(k_yaw);
  // "p_brake" and "p MC" are pressures.
  if (has_word("p") && (reading.says[k_brake] || reading.says[k_master]))
    reading.says.set(k_pressure);
  reading.place.front = reading.says[k_front];
  reading.place.rear = reading.says[k_rear];
  reading.place.left = reading.says[k_left];
  reading.place.right = reading.says[k_right];
  for (const auto& word : reading.words) {
    auto corner = corner_initials(english_initials(), word);
    if (!corner && foreign != nullptr) corner = corner_initials(*foreign, word);
    if (corner) {
      // "Fr Left" and "Rr Left": initials that only abbreviate the axle when the side is spelled.
      const bool side_spelled = reading.says[k_left] || reading.says[k_right];
      if (side_spelled && (word == "fr" || word == "rr")) {
        (word == "fr" ? reading.place.front : reading.place.rear) = true;
        continue;
      }
      set_corner(reading.place, *corner);
    } else if (word == "f" && !reading.says[k_front]) {
      reading.place.front = true;
    } else if (word == "l" && !reading.says[k_left]) {
      reading.place.left = true;
    } else if (word == "r") {
      // Right when the axle is known otherwise, rear when the side is.
      if (reading.says[k_left] || reading.says[k_right])
        reading.place.rear = true;
      else if (reading.says[k_front] || reading.says[k_rear])
        reading.place.right = true;
    } else if (foreign != nullptr && foreign->language == "V/H L/R" &&
               (word == "v" || word == "h")) {
      if (reading.says[k_left] || reading.says[k_right])
        (word == "v" ? reading.place.front : reading.place.rear) = true;
    } else if (foreign != nullptr && foreign->language == "V/H L/R" &&
               (word == "va" || word == "ha")) {  // Vorderachse, Hinterachse
      (word == "va" ? reading.place.front : reading.place.rear) = true;
    } else if (manner.driver_initials) {
      set_driver_initials(reading.place, word);
    }
  }
  const bool side = reading.place.left != reading.place.right;
  const bool axle = reading.place.front != reading.place.rear;
  // "AV gauche": the front, unless the axle is said already.
  if (side && !axle && has_word("av"))
    reading.place.front = true;
  else if (side && !axle && has_word("ar"))
    reading.place.rear = true;
  else
    reading.av = axle && has_word("av");
  reading.ev = has_word("ev");
  const bool normally = has_any({"normally", "norm", "stromlos"});
  reading.normally_open = has_word("no") || (normally && has_any({"open", "offen"}));
  reading.normally_closed =
      has_any({"nc"}) || (normally && has_any({"closed", "geschlossen", "close"}));
  reading.german = has_any({"vorne", "vorn", "hinten", "ventil", "bremse", "drehzahl", "druck"});
  reading.place.driver = reading.place.driver || reading.says[k_driver];
  reading.place.passenger = reading.place.passenger || reading.says[k_passenger];
  return reading;
}

}  // namespace stopledger::wording
