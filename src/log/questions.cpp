#include "log/questions.h"

#include <fmt/format.h>

#include <algorithm>

namespace stopledger {

std::string name_columns(const std::vector<std::string>& columns) {
  constexpr std::size_t most = 5;
  std::string text;
  const std::size_t named = columns.size() <= most ? columns.size() : most - 1;
  for (std::size_t i = 0; i < named; ++i)
    text += fmt::format("{}\"{}\"", i == 0 ? "" : ", ", columns[i]);
  if (named < columns.size()) text += fmt::format(" and {} more", columns.size() - named);
  return text;
}

void note_questions(Log& log) {
  std::vector<std::string> asked;
  for (const auto& question : log.questions) {
    if (std::find(asked.begin(), asked.end(), question.why) != asked.end()) continue;
    asked.push_back(question.why);
    std::vector<std::string> columns;
    for (const auto& other : log.questions)
      if (other.why == question.why) columns.push_back(other.column);
    log.notes.push_back(fmt::format("{} {} not used: {}", name_columns(columns),
                                    columns.size() == 1 ? "is" : "are", question.why));
  }
  if (!log.questions.empty())
    log.notes.emplace_back(
        "to settle what is not used: \"stopledger channels FILE --write-map MAP\" writes a map "
        "with "
        "a line ready for each column; use it with --channels MAP");
}

}  // namespace stopledger
