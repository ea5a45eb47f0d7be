#include "plan/session_results.h"

#include <fmt/format.h>

#include <cctype>

namespace stopledger {
namespace {

std::string corner_field(Corner corner) {
  std::string name(corner_name(corner));
  for (char& c : name) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return name;
}

}  // namespace

std::vector<Corner> modulated_corners(const CarFacts& car) {
  if (car.channels == 1) return {Corner::rl, Corner::rr};
  return {all_corners.begin(), all_corners.end()};
}

void complete_by_hand(Record& exercise, const CarFacts& car) {
  std::optional<Result> overall;
  for (const Corner corner : modulated_corners(car)) {
    FieldValue& field = exercise.fields[corner_field(corner)];
    if (field.written.empty()) field.written = result_name(Result::unseen);
    const Result result = parse_result(field.written).value_or(Result::unseen);
    overall = overall ? worse(*overall, result) : result;
  }
  exercise.fields["result"].written = result_name(*overall);
}

void SessionResults::add(const Record& exercise) {
  all_exercised_ = all_exercised_ && exercise.fields.at("result").written == "exercised";
  for (const Corner corner : all_corners) {
    const auto field = exercise.fields.find(corner_field(corner));
    if (field == exercise.fields.end()) continue;
    const auto result = parse_result(field->second.written);
    auto& shown = shown_[corner];
    if (result && (!shown || *result == Result::suspect ||
                   (*shown != Result::suspect && worse(*shown, *result) == *shown)))
      shown = result;
  }
}

std::string SessionResults::not_proved() const {
  std::string open, suspect;
  for (const Corner corner : corners_) {
    const Result best = shown_[corner].value_or(Result::unseen);
    if (best == Result::exercised) continue;
    open +=
        fmt::format("{}{} {}", open.empty() ? "" : ", ", corner_name(corner), result_name(best));
    if (best == Result::suspect)
      suspect += fmt::format("{}{}", suspect.empty() ? "" : ", ", corner_name(corner));
  }
  if (open.empty()) return {};
  std::string text = fmt::format("Not proved this time: {}.\n", open);
  if (!suspect.empty())
    text += fmt::format(
        "{} did not answer: do not drive the car before that is looked at. A lifted-wheel valve "
        "test that passes, or a recorded repair, clears the next session.\n",
        suspect);
  return text;
}

}  // namespace stopledger
