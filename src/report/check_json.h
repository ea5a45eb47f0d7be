#pragma once

#include <span>
#include <string>

#include "log/log.h"
#include "record/history.h"
#include "verify/outcome.h"

namespace stopledger {

/// The document "stopledger.check/1" of one check (fields may be added, never renamed). Numbers
/// that are not known are null, never 0.
///
/// `past`: what the ledger knows of the corners that did not answer; "last_answers", left out when
/// empty.
std::string check_json(const CheckOutcome& outcome, std::span<const Log> logs,
                       std::span<const PastAnswer> past = {});

/// "stop", "braking", "stability", "traction", "self-test", "unexplained".
std::string_view episode_kind_name(EpisodeKind kind);
/// "valves+wheel", "valves", "wheel", "none".
std::string_view evidence_name(EvidenceKind kind);
/// "normal", "weak", "none", "undetermined".
std::string_view response_name(Response response);
/// "note", "caution", "fault".
std::string_view severity_name(Severity severity);
/// "oversteer", "understeer", "none".
std::string_view tendency_name(Tendency tendency);

/// Whether stability or traction control acted in a kept check, by its document: true when it
/// braked a wheel or cut the torque, false when a wheel spun without any answer, nothing when the
/// document does not speak of it or cannot be read.
std::optional<bool> control_acted(std::string_view check_document);

}  // namespace stopledger
