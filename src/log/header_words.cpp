#include "log/header_words.h"

#include <algorithm>

#include "log/words.h"

namespace stopledger::wording {
namespace {

void set_corner(Place& place, std::size_t index) {
  (index < 2 ? place.front : place.rear) = true;
  (index % 2 == 0 ? place.left : place.right) = true;
  ++place.corner_words;
}

}  // namespace

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
    if (reading.words[i] == "av" && manner.ev_av) reading.says.set(k_outlet);
  }
  const auto has_word = [&](const char* word) {
    return std::find(reading.words.begin(), reading.words.end(), word) != reading.words.end();
  };
  for (const auto& word : reading.words) {
    if (const auto known = vocabulary().find(word); known != vocabulary().end())
      reading.says |= known->second;
  }
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
    } else if (word == "av" && (reading.says[k_left] || reading.says[k_right])) {
      reading.place.front = true;
    } else if (word == "ar" && (reading.says[k_left] || reading.says[k_right])) {
      reading.place.rear = true;
    }
  }
  reading.place.driver = reading.says[k_driver];
  reading.place.passenger = reading.says[k_passenger];
  return reading;
}

}  // namespace stopledger::wording
