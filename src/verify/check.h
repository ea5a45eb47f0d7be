#pragma once

#include <span>

#include "base/car.h"
#include "log/log.h"
#include "procedure/procedure.h"
#include "verify/outcome.h"

namespace stopledger {

/// Judges the logs of one session together, corner by corner.
///
/// Shape:  any number of logs (at least one); several are pooled as runs of one session.
/// `car`:  unknown facts are assumed as four channels, and a note says so.
/// `expectation`: nullptr judges by the general expectation (all four corners asked for).
/// Does not throw for anything the logs contain: what they cannot show is `unseen`.
CheckOutcome check_logs(std::span<const Log> logs, const CarFacts& car,
                        const Expectation* expectation);

/// The worst of what a procedure asks for beside corners: the pump and, of each circuit that the
/// log shows anything of, isolation and prime valve. `unseen` when it shows nothing of them.
Result result_of_the_rest(const CheckOutcome& outcome, const Expectation& expectation);

}  // namespace stopledger
