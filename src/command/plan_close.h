#pragma once

#include <CLI/CLI.hpp>
#include <cstdint>

#include "command/context.h"
#include "record/ledger.h"

namespace stopledger {

/// The kept plan of that number. Throws Error(usage) when there is none.
KeptPlan kept_plan(const Ledger& ledger, std::int64_t id);

/// Takes the number of a plan: a whole number from 1, with a message for people.
CLI::Validator plan_number();

/// Adds `plan close` to the command `plan`: the after-run check and the results of a session.
void add_plan_close(CLI::App& plan, Context& context);

}  // namespace stopledger
