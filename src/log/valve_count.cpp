#include "log/valve_count.h"

#include <cmath>

#include "log/cell.h"

namespace stopledger {

bool counts_switchings(const Column& column, const Track& track, QuantityKind quantity) {
  if (quantity != QuantityKind::inlet && quantity != QuantityKind::outlet) return false;
  if (column.unit && column.unit->dimension != UnitDimension::count) return false;
  const bool named = column.wording.pulses || column.unit.has_value();
  std::size_t rises = 0, restarts = 0;
  bool begun = false;
  double last = 0.0;
  for (const double value : track.value) {
    if (is_word(value) || value < 0.0 || value != std::floor(value)) return false;
    if (begun && value > last) ++rises;
    if (begun && value < last) ++restarts;
    begun = true;
    last = value;
  }
  // A state falls as often as it rises. Chosen: a count that is not named as one rises four times
  // before it may be taken for one, so that no state of three levels cut off in the middle is.
  return named ? restarts == 0 || restarts < rises / 4 : rises >= 4 && restarts < rises / 4;
}

std::vector<double> switched_since(const std::vector<double>& counts) {
  std::vector<double> states(counts.size(), 0.0);
  for (std::size_t i = 1; i < counts.size(); ++i)
    states[i] = counts[i] != counts[i - 1] ? 1.0 : 0.0;
  return states;
}

}  // namespace stopledger
