#include <fmt/format.h>

#include "base/error.h"
#include "record/car_row.h"
#include "record/ledger.h"
#include "record/record_row.h"

namespace stopledger {

std::int64_t Ledger::add_plan(const std::string& car, Day day, const std::string& body_json,
                              const EntryStamp& stamp) {
  return file_->writing([&] {
    const auto row = car_row(*file_, car);
    const auto id = file_->open_entry("plan", stamp);
    {
      const auto insert =
          file_->prepared("INSERT INTO plan(id, car, day, body) VALUES (?, ?, ?, ?)");
      insert->bind(1, id);
      insert->bind(2, row.id);
      insert->bind(3, format_day(day));
      insert->bind(4, body_json);
      insert->exec();
    }
    file_->seal(id);
    return id;
  });
}

void Ledger::end_plan(std::int64_t id, const std::string& reason, const EntryStamp& stamp) {
  file_->writing([&] {
    {
      const auto select = file_->prepared(
          "SELECT p.id, (SELECT 1 FROM plan_end x WHERE x.plan = p.id) FROM plan p WHERE p.id = ?");
      select->bind(1, id);
      if (!select->executeStep())
        throw Error(ErrorKind::usage, fmt::format("there is no plan #{} in {}", id, file_->path));
      if (!select->getColumn(1).isNull())
        throw Error(ErrorKind::usage, fmt::format("plan #{} is closed already", id));
    }
    const auto entry = file_->open_entry("plan_end", stamp);
    {
      const auto insert =
          file_->prepared("INSERT INTO plan_end(id, plan, reason) VALUES (?, ?, ?)");
      insert->bind(1, entry);
      insert->bind(2, id);
      insert->bind(3, reason);
      insert->exec();
    }
    file_->seal(entry);
  });
}

std::vector<KeptPlan> Ledger::plans_of(const std::string& car) const {
  return file_->guarded([&] {
    const auto row = car_row(*file_, car);
    std::vector<KeptPlan> out;
    const auto select = file_->prepared(
        "SELECT p.id, p.day, p.body, (SELECT x.reason FROM plan_end x WHERE x.plan = p.id "
        "ORDER BY x.id LIMIT 1) FROM plan p WHERE p.car = ? ORDER BY p.id");
    select->bind(1, row.id);
    while (select->executeStep())
      out.push_back({.id = select->getColumn(0).getInt64(),
                     .car = row.name,
                     .day = stored_day(select->getColumn(1).getString()),
                     .body_json = select->getColumn(2).getString(),
                     .open = select->getColumn(3).isNull(),
                     .end_reason = select->getColumn(3).getString()});
    return out;
  });
}

}  // namespace stopledger
