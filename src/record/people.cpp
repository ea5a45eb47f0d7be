#include "record/people.h"

#include "record/ledger_file.h"
#include "record/record_row.h"

namespace stopledger {

std::vector<Person> people_of(const Ledger& ledger, const std::string& car, bool trail) {
  const std::string name = car.empty() ? car : ledger.car(car).facts.name;
  auto& file = ledger.file();
  return file.guarded([&] {
    const auto select = file.prepared(
        "WITH counted AS (SELECT r.id, r.day, r.who, r.signed_by, e.who AS typist FROM record r "
        "  JOIN entry e ON e.id = r.id JOIN car c ON c.id = r.car "
        "  WHERE (?1 = '' OR c.name = ?1) AND (?2 OR ("
        "    NOT EXISTS (SELECT 1 FROM record s WHERE s.supersedes = r.id) "
        "    AND NOT EXISTS (SELECT 1 FROM removal x WHERE x.record = r.id)))), "
        "named(name, part, day) AS ("
        "  SELECT who, 0, day FROM counted UNION ALL SELECT signed_by, 1, day FROM counted "
        "  UNION ALL SELECT written, 2, day FROM counted JOIN field f ON f.record = counted.id "
        "    WHERE f.name IN ('driver', 'helper') "
        "  UNION ALL SELECT typist, 3, day FROM counted) "
        "SELECT name, sum(part = 0), sum(part = 1), sum(part = 2), sum(part = 3), min(day), "
        "max(day) FROM named WHERE name <> '' GROUP BY name ORDER BY name COLLATE NOCASE, name");
    select->bind(1, name);
    select->bind(2, trail ? 1 : 0);
    std::vector<Person> out;
    const auto count = [&](int column) {
      return static_cast<std::size_t>(select->getColumn(column).getInt64());
    };
    while (select->executeStep())
      out.push_back({.name = select->getColumn(0).getString(),
                     .did = count(1),
                     .signed_ = count(2),
                     .helped = count(3),
                     .entered = count(4),
                     .first = stored_day(select->getColumn(5).getString()),
                     .last = stored_day(select->getColumn(6).getString())});
    return out;
  });
}

}  // namespace stopledger
