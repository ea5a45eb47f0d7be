#pragma once

#include <iosfwd>
#include <span>

#include "command/context.h"
#include "record/ledger.h"

namespace stopledger {

/// Refuses a fact whose fields contradict one another, such as a valve test that passed with a
/// corner that was not freed. One that its predecessor has already (a corrected record of another
/// ledger) may stay. Throws Error(usage).
void refuse_contradiction(const Record& fact, const Record* before);

/// Refuses a fact about a car of a day before it was built (the sheet's field "built", else before
/// any car had such a unit), or from the day on when it was retired or sold; on that day itself it
/// is taken when the day was written (`day_given`). Throws Error(usage).
void refuse_outside_its_life(const Ledger& ledger, const std::string& car, Day day, bool day_given);

/// Says when a reading contradicts an earlier or a later one; the fact is kept as it was given.
/// `others`: standing records of the car; the one that `saved` corrects is passed over.
void question_reading(std::ostream& err, std::span<const Record> others, const Record& saved);

/// Says when a fluid was filled in that is not of the grade in the car's sheet.
void question_grade(std::ostream& err, const CarSheet& car, const Record& saved);

/// Says when a record names a procedure that is not known: it would count for none.
void question_procedure(const Context& context, const Record& saved);

}  // namespace stopledger
