#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace stopledger::wording {

/// Initials of the four corners, language by language: front left, front right, rear left, rear
/// right. English ones always count; the others only when the headers as a whole speak for them.
struct Initials {
  std::string_view language;
  std::array<std::string_view, 4> order_axle_side;
  std::array<std::string_view, 4> order_side_axle;
};

std::span<const Initials> initials_rows();
/// The row that always counts.
const Initials& english_initials();

/// Index of the corner that `word` abbreviates in that language, or nothing.
std::optional<std::size_t> corner_initials(const Initials& row, const std::string& word);

/// Joins neighbouring single letters and "av g" / "ar d" into initials.
std::vector<std::string> join_initials(const std::vector<std::string>& words);

/// The language whose corner initials the headers use, or nullptr: the one that explains most
/// corners, alone, on both axles. Two corners of one axle suffice for V/H and AV/AR when the
/// initials mean nothing else ("LH" is also a left-hand side).
const Initials* foreign_initials(const std::vector<std::string>& headers);

}  // namespace stopledger::wording
