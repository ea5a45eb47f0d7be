#pragma once

#include <span>
#include <vector>

#include "procedure/procedure.h"
#include "verify/evidence.h"
#include "verify/outcome.h"

namespace stopledger {

/// Everything that findings are read from.
struct Session {
  std::span<const Log> logs;
  const CarFacts* car = nullptr;
  const Expectation* expectation = nullptr;
  const std::vector<PreparedLog>* runs = nullptr;
  const std::vector<JudgedStretch>* stretches = nullptr;
  const PerCorner<CornerEvidence>* evidence = nullptr;
};

/// Findings of the session, faults first. Reads `outcome` (corners, pump, episodes already judged).
std::vector<Finding> find_all(const Session& session, const CheckOutcome& outcome);

/// What to record next time so that an `unseen` or `commanded` corner can be settled, and lengths
/// and MFDD that are not stated can be.
std::vector<std::string> record_next(const Session& session, const CheckOutcome& outcome);

}  // namespace stopledger
