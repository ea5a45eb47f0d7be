#pragma once

#include <string>

#include "base/result.h"
#include "verify/evidence.h"
#include "verify/outcome.h"

namespace stopledger {

/// What a corner without any anti-lock command seen comes to.
struct SilentVerdict {
  Result result = Result::unseen;
  EvidenceKind evidence = EvidenceKind::none;
  std::string reason;
};

/// Other movement, no stop, nothing looked at, looks too seldom, or proof that nothing was
/// commanded.
///
/// Requires: no release and no closing in the evidence.
SilentVerdict judge_silence(const CornerEvidence& evidence);

}  // namespace stopledger
