#pragma once

#include <optional>

#include "log/header_words.h"
#include "log/unit.h"
#include "log/words.h"

namespace stopledger::wording {

/// What EV and AV, NO and NC at a wheel add to what its header says; a question when that is not
/// sure. Trade initials: Einlassventil and Auslassventil; normally open and normally closed.
void read_valve_initials(Reading& reading, Wording& wording, const std::optional<Corner>& corner,
                         const Manner& manner);

/// A role that the unit decides where the words alone do not.
std::optional<Role> role_by_unit(const Reading& reading, const std::optional<Unit>& unit);

/// A question about a header that has no role but speaks of the brakes.
void ask_about(const Reading& reading, const std::optional<Unit>& unit, Wording& wording);

/// A wheel's column of which the words say no more, or only that it is a valve.
void read_place_only(const Reading& reading, const std::optional<Unit>& unit, Wording& wording);

}  // namespace stopledger::wording
