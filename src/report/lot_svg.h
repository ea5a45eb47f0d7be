#pragma once

#include <string>

#include "plan/session.h"

namespace stopledger {

/// The lot and one run on it, to scale, black on white: zones in driving order, the brake mark, the
/// car, the helper's place and the strip that stays empty.
///
/// `width_mm`: of the drawing on paper. Lengths in the drawing are those of the plan; where the
/// lot's own size is not known, the room needed is drawn instead.
std::string lot_svg(const SessionPlan& plan, double width_mm);

/// Height of that drawing.
double lot_svg_height_mm(const SessionPlan& plan, double width_mm);

}  // namespace stopledger
