#include "log/initials.h"

#include <algorithm>
#include <set>

#include "log/vocabulary.h"
#include "log/words.h"

namespace stopledger::wording {
namespace {

constexpr Initials rows_by_language[] = {
    {"English", {"fl", "fr", "rl", "rr"}, {"lf", "rf", "lr", "rr"}},
    {"V/H L/R", {"vl", "vr", "hl", "hr"}, {"lv", "rv", "lh", "rh"}},
    {"AV/AR G/D", {"avg", "avd", "arg", "ard"}, {"gav", "dav", "gar", "dar"}},
    {"A/P S/D", {"as", "ad", "ps", "pd"}, {"sa", "da", "sp", "dp"}},
    {"D/T I/D", {"di", "dd", "ti", "td"}, {"id", "dd", "it", "dt"}},
    {"F/B V/H", {"fv", "fh", "bv", "bh"}, {"vf", "hf", "vb", "hb"}},
    {"V/A L/R", {"vl", "vr", "al", "ar"}, {"lv", "rv", "la", "ra"}},
};

}  // namespace

std::span<const Initials> initials_rows() { return rows_by_language; }
const Initials& english_initials() { return rows_by_language[0]; }

std::optional<std::size_t> corner_initials(const Initials& row, const std::string& word) {
  for (std::size_t i = 0; i < 4; ++i)
    if (word == row.order_axle_side[i] || word == row.order_side_axle[i]) return i;
  return std::nullopt;
}

std::vector<std::string> join_initials(const std::vector<std::string>& words) {
  static const std::set<std::string> letters{"l", "r", "f", "v", "h", "g", "d",
                                             "a", "p", "s", "i", "t", "b"};
  std::vector<std::string> out;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i + 1 < words.size()) {
      const bool axis = (words[i] == "gyro" || words[i] == "acc" || words[i] == "accel" ||
                         words[i] == "a" || words[i] == "g") &&
                        (words[i + 1] == "x" || words[i + 1] == "y" || words[i + 1] == "z");
      if (axis) {
        out.push_back((words[i] == "gyro"                   ? "gyro"
                       : words[i] == "a" || words[i] == "g" ? words[i]
                                                            : "acc") +
                      words[i + 1]);
        ++i;
        continue;
      }
      if (words[i] == "m" && words[i + 1] == "c") {  // "M/C"
        out.push_back("mc");
        ++i;
        continue;
      }
      const bool two_letters = letters.contains(words[i]) && letters.contains(words[i + 1]);
      const bool axle_and_side =
          (words[i] == "av" || words[i] == "ar") && (words[i + 1] == "g" || words[i + 1] == "d");
      if (two_letters || axle_and_side) {
        const auto joined = words[i] + words[i + 1];
        const bool known = std::any_of(
            std::begin(rows_by_language), std::end(rows_by_language),
            [&](const Initials& row) { return corner_initials(row, joined).has_value(); });
        if (known) {
          out.push_back(joined);
          ++i;
          continue;
        }
      }
    }
    out.push_back(words[i]);
  }
  return out;
}

const Initials* foreign_initials(const std::vector<std::string>& headers) {
  std::vector<std::vector<std::string>> words;
  words.reserve(headers.size());
  for (const auto& header : headers) words.push_back(join_initials(split_words(header)));
  const Initials* best = nullptr;
  std::size_t best_corners = 0;
  bool tie = false;
  for (const auto& row : rows_by_language) {
    if (row.language == "English") continue;
    std::set<std::size_t> corners;
    bool other_meaning = false;
    for (const auto& one : words)
      for (const auto& word : one)
        if (const auto corner = corner_initials(row, word)) {
          corners.insert(*corner);
          other_meaning = other_meaning || vocabulary().contains(word);
        }
    const bool front = corners.contains(0) || corners.contains(1);
    const bool rear = corners.contains(2) || corners.contains(3);
    const bool plain = row.language == "V/H L/R" || row.language == "AV/AR G/D";
    const bool enough = (front && rear && corners.size() >= (plain ? 2U : 3U)) ||
                        (plain && corners.size() >= 2 && !other_meaning);
    if (!enough) continue;
    tie = corners.size() == best_corners;
    if (corners.size() > best_corners) {
      best = &row;
      best_corners = corners.size();
    }
  }
  return tie ? nullptr : best;
}

}  // namespace stopledger::wording
