#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace stopledger {

/// Why one cell of a speed column is no speed.
enum class CellFault : char {
  none,
  backwards,  ///< below zero where a wheel cannot be turning back
  code,       ///< one high value, far above every other cell, reached and left in one step
  too_fast    ///< above `impossible_mps`
};

/// Judges every sample of a speed.
///
/// A car that rolls or drives back is believed: its speed passes through zero at a car's pace. A
/// value found impossible once is taken for a code wherever it stands.
///
/// Shape: `t_s`, `v_mps` of equal length, times not decreasing; result of that length.
/// `unit_known`: false leaves out what needs the absolute size (too_fast).
std::vector<CellFault> judge_speed_cells(std::span<const double> t_s, std::span<const double> v_mps,
                                         bool unit_known);

/// The cells of one column that were left out, in numbers.
struct InvalidCells {
  std::size_t backwards = 0, code = 0, too_fast = 0;
  std::size_t moving = 0;  ///< of all: with the car at 10 km/h or more just before or after
  [[nodiscard]] std::size_t count() const { return backwards + code + too_fast; }
};

/// Requires: the lengths of judge_speed_cells.
InvalidCells count_invalid(std::span<const double> v_mps, std::span<const CellFault> faults);

/// "below zero while the wheel turns forward", ...; of the commonest fault.
std::string why_invalid(const InvalidCells& cells);

}  // namespace stopledger
