#include "log/vocabulary.h"

#include <algorithm>
#include <set>

namespace stopledger::wording {

const std::unordered_map<std::string, Concepts>& vocabulary() {
  static const auto table = [] {
    std::unordered_map<std::string, Concepts> words;
    for (const auto& row : vocabulary_rows()) {
      std::size_t at = 0;
      while (at < row.words.size()) {
        const auto end = std::min(row.words.find(' ', at), row.words.size());
        words[std::string(row.words.substr(at, end - at))].set(row.says);
        at = end + 1;
      }
    }
    for (const auto& [word, says] : double_words())
      for (const auto one : says) words[std::string(word)].set(one);
    return words;
  }();
  return table;
}

std::vector<std::string> cut_into_words(const std::string& run) {
  if (run.size() < 4 || run.size() > 40) return {};
  static const std::set<std::string> corner_words{"lf", "fl", "rf", "fr", "lr", "rl", "rr"};
  const std::size_t n = run.size();
  // cost[i]: fewest words for the first i letters; long words are better than many short ones.
  std::vector<int> cost(n + 1, 1000), from(n + 1, -1);
  cost[0] = 0;
  for (std::size_t i = 0; i < n; ++i) {
    if (cost[i] >= 1000) continue;
    for (std::size_t length = 2; i + length <= n; ++length) {
      const auto word = run.substr(i, length);
      const bool corner = corner_words.contains(word);
      if (!corner && (!vocabulary().contains(word) || (length < 3 && word != "ws"))) continue;
      if (const int c = cost[i] + 1; c < cost[i + length]) {
        cost[i + length] = c;
        from[i + length] = static_cast<int>(i);
      }
    }
  }
  if (cost[n] >= 1000) return {};
  std::vector<std::string> words;
  for (std::size_t i = n; i > 0; i = static_cast<std::size_t>(from[i]))
    words.insert(words.begin(), run.substr(static_cast<std::size_t>(from[i]),
                                           i - static_cast<std::size_t>(from[i])));
  return words;
}

}  // namespace stopledger::wording
