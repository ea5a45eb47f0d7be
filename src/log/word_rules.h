#pragma once

#include <vector>

#include "log/role.h"
#include "log/vocabulary.h"

namespace stopledger::wording {

/// One line of the table that turns what was said into a quantity. The first that fits is taken.
struct Rule {
  enum class Where { wheel, car, circuit };
  QuantityKind quantity;
  Where where;
  std::vector<Concept> all;
  std::vector<Concept> any;  // at least one of these, when there are some
  std::vector<Concept> none;
  int rank = 2;
};

const std::vector<Rule>& rules();

}  // namespace stopledger::wording
