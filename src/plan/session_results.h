#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/car.h"
#include "base/corner.h"
#include "base/result.h"
#include "record/record.h"

namespace stopledger {

/// The corners that the unit modulates; with one channel the fronts are plain brakes.
std::vector<Corner> modulated_corners(const CarFacts& car);

/// Completes an exercise record that was entered by hand: a corner that is not named is unseen,
/// because nothing becomes exercised by default; the overall result is the worst of the corners.
void complete_by_hand(Record& exercise, const CarFacts& car);

/// What the exercise records of one session show together.
class SessionResults {
 public:
  explicit SessionResults(const CarFacts& car) : corners_(modulated_corners(car)) {}

  /// One log of several proves a corner; a suspect one stays suspect.
  void add(const Record& exercise);
  /// The corners that are not exercised and what follows from it, in lines; "" when all are.
  [[nodiscard]] std::string not_proved() const;
  /// Every record came out as exercised.
  [[nodiscard]] bool all_exercised() const { return all_exercised_; }

 private:
  std::vector<Corner> corners_;
  PerCorner<std::optional<Result>> shown_;
  bool all_exercised_ = true;
};

}  // namespace stopledger
