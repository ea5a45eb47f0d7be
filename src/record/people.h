#pragma once

#include <string>
#include <vector>

#include "record/ledger.h"

namespace stopledger {

/// A person as the records name one. Two spellings are two people: nothing is guessed.
struct Person {
  std::string name;
  std::size_t did = 0;      ///< records of what this person did
  std::size_t signed_ = 0;  ///< records that this person signed
  std::size_t helped = 0;   ///< records with this person as driver or helper
  std::size_t entered = 0;  ///< records that this person typed in, where that was said
  Day first{}, last{};      ///< first and last day of those records
};

/// The people named in the records of one car (all cars: ""), by name without regard to case.
/// `trail`: also in records that were corrected or removed.
std::vector<Person> people_of(const Ledger& ledger, const std::string& car, bool trail);

}  // namespace stopledger
