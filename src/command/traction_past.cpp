#include "command/traction_past.h"

#include "report/check_json.h"

namespace stopledger {

LastAnswer last_traction_answer(const Ledger& ledger, std::span<const Record> records) {
  return last_answer_by(records, [&](const Record& record) -> std::optional<bool> {
    if (record.kind != "exercise") return std::nullopt;
    const auto checks = ledger.checks_of(record.id);
    return checks.empty() ? std::nullopt : control_acted(checks.back().outcome_json);
  });
}

}  // namespace stopledger
