#pragma once

#include <nlohmann/json_fwd.hpp>
#include <span>
#include <string>
#include <vector>

#include "record/history.h"

namespace stopledger {

/// What is known of one corner or control, a sentence each: when it last answered, what failed and
/// what was changed since.
std::vector<std::string> past_answer_lines(const PastAnswer& past);

/// "RR       last answered 2025-06-01: ... (record 12)" and under it what failed and what was
/// changed since, oldest first; wrapped at `width` columns.
std::string past_answers_text(std::span<const PastAnswer> past, std::size_t width);

/// The same as an array: subject, answered (record or null), failed_since, changed_since.
nlohmann::ordered_json past_answers_json(std::span<const PastAnswer> past);

}  // namespace stopledger
