#include "record/car_trail.h"

#include "record/car_sheet.h"
#include "record/ledger_file.h"
#include "record/record_row.h"

namespace stopledger {

CarStateSince car_state_since(const Ledger& ledger, const std::string& car) {
  const auto sheet = ledger.car(car);
  auto& file = ledger.file();
  return file.guarded([&] {
    CarStateSince out{.state = sheet.state, .since = {}, .reason = {}};
    const auto select = file.prepared(
        "SELECT s.body, e.at, s.reason FROM sheet s JOIN entry e ON e.id = s.id "
        "JOIN car c ON c.id = s.car WHERE c.name = ? "
        "ORDER BY s.version DESC, e.at DESC, e.uid DESC");
    select->bind(1, sheet.facts.name);
    while (select->executeStep()) {
      if (parse_car_json(select->getColumn(0).getString()).state != sheet.state) break;
      out.since = stored_day(select->getColumn(1).getString().substr(0, 10));
      out.reason = select->getColumn(2).getString();
    }
    if (sheet.out_of_use) out.since = *sheet.out_of_use;
    return out;
  });
}

}  // namespace stopledger
