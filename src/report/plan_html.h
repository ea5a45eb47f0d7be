#pragma once

#include <string>
#include <string_view>

#include "plan/session.h"
#include "report/plan_text.h"

namespace stopledger {

enum class Paper { a4, letter };

/// The sheet for the clipboard: one page with cautions, stop conditions and the list before the
/// drive, one page with lot, runs and signatures. Black on white, needs no network and no script.
std::string plan_html(const SessionPlan& plan, const PlanTexts& texts, Paper paper);

}  // namespace stopledger
