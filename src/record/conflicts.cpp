#include "record/conflicts.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <set>

#include "record/car_row.h"
#include "record/car_sheet.h"
#include "record/ledger_file.h"

namespace stopledger {

namespace {

/// Which rows are looked at: those of one car, so that its index is used, or all (no car).
std::string of_car(const char* row, std::int64_t car) {
  return car == 0 ? std::string("1") : fmt::format("{}.car = {}", row, car);
}

/// Records with more than one standing record at the ends of their corrections.
void corrected_twice(LedgerFile& file, std::int64_t car, std::vector<Conflict>& out) {
  SQLite::Statement select(
      file.database(),
      fmt::format(
          "WITH RECURSIVE tree(root, id) AS ("
          "  SELECT supersedes, id FROM record WHERE supersedes IN (SELECT r.supersedes FROM "
          "    record r WHERE r.supersedes IS NOT NULL AND {} GROUP BY r.supersedes "
          "    HAVING count(*) > 1) "
          "  UNION ALL SELECT t.root, r.id FROM tree t JOIN record r ON r.supersedes = t.id) "
          "SELECT c.name, t.root, group_concat('#' || t.id, ' and ') FROM "
          "  (SELECT root, id FROM tree ORDER BY root, id) t "
          "JOIN record old ON old.id = t.root JOIN car c ON c.id = old.car "
          "WHERE NOT EXISTS (SELECT 1 FROM record s WHERE s.supersedes = t.id) "
          "AND NOT EXISTS (SELECT 1 FROM removal x WHERE x.record = t.id) "
          "GROUP BY t.root HAVING count(*) > 1 ORDER BY t.root",
          of_car("r", car)));
  while (select.executeStep()) {
    const auto root = select.getColumn(1).getInt64();
    out.push_back({select.getColumn(0).getString(),
                   fmt::format("record #{} was corrected on both sides: {} stand now; remove the "
                               "wrong one (stopledger remove NUMBER --reason TEXT)",
                               root, select.getColumn(2).getString()),
                   fmt::format("corrected {}", root)});
  }
}

/// Removed records with a correction that stands.
void corrected_and_removed(LedgerFile& file, std::int64_t car, bool settled_too,
                           std::vector<Conflict>& out) {
  // A correction of the correction, made here when both were known, is somebody's decision.
  SQLite::Statement select(
      file.database(),
      fmt::format(
          "WITH RECURSIVE tree(root, removal, id, depth) AS ("
          "  SELECT x.record, x.id, r.id, 1 FROM removal x JOIN record r ON r.supersedes = "
          "x.record "
          "    WHERE {} "
          "  UNION ALL SELECT t.root, t.removal, r.id, t.depth + 1 "
          "    FROM tree t JOIN record r ON r.supersedes = t.id) "
          "SELECT c.name, t.root, t.id, x.reason FROM tree t JOIN removal x ON x.id = t.removal "
          "JOIN record old ON old.id = t.root JOIN car c ON c.id = old.car "
          "JOIN entry e ON e.id = t.id JOIN entry xe ON xe.id = t.removal "
          "WHERE NOT EXISTS (SELECT 1 FROM record s WHERE s.supersedes = t.id) "
          "AND NOT EXISTS (SELECT 1 FROM removal y WHERE y.record = t.id) "
          "AND (?1 OR t.depth = 1 OR t.id < t.removal OR e.at < xe.at) ORDER BY t.root, t.id",
          of_car("r", car)));
  select.bind(1, settled_too ? 1 : 0);
  while (select.executeStep()) {
    const auto root = select.getColumn(1).getInt64(), stands = select.getColumn(2).getInt64();
    out.push_back(
        {select.getColumn(0).getString(),
         fmt::format("record #{} was corrected on one side (#{} stands) and removed on the other "
                     "({}); remove #{} too if the removal is right, or confirm it with stopledger "
                     "correct {} --note TEXT",
                     root, stands, select.getColumn(3).getString(), stands, stands),
         fmt::format("removed {}", root)});
  }
}

/// What a sheet says, field by field, with what is no field beside it.
std::vector<std::pair<std::string, std::string>> sayings(const CarSheet& sheet) {
  std::vector<std::pair<std::string, std::string>> out{
      {"name", sheet.facts.name},
      {"state", std::string(car_state_name(sheet.state))},
      {"out of use since", sheet.out_of_use ? format_day(*sheet.out_of_use) : "not given"}};
  const auto values = car_field_values(sheet);
  for (const auto& field : car_fields()) {
    const auto found = values.find(std::string(field.name));
    out.emplace_back(field.name, found == values.end() ? "not given" : found->second.written);
  }
  std::vector<std::string> rules;
  for (const auto& rule : sheet.rules) rules.push_back(rule.procedure + " by " + rule.where);
  out.emplace_back("rules of the manual",
                   rules.empty() ? "none" : fmt::format("{}", fmt::join(rules, ", ")));
  return out;
}

std::string differences(const CarSheet& stands, const std::vector<CarSheet>& made) {
  std::vector<std::string> out;
  const auto now = sayings(stands);
  for (std::size_t i = 0; i < now.size(); ++i) {
    std::set<std::string> others;
    for (const auto& sheet : made)
      if (const auto said = sayings(sheet)[i].second; said != now[i].second) others.insert(said);
    if (!others.empty())
      out.push_back(
          fmt::format("{}: {}, not {}", now[i].first, now[i].second, fmt::join(others, " or ")));
  }
  return fmt::format("{}{}", out.empty() ? "" : ": ", fmt::join(out, "; "));
}

void sheet_changed_twice(LedgerFile& file, std::int64_t car, bool settled_too,
                         std::vector<Conflict>& out) {
  struct Twice {
    std::int64_t car, version, count;
    std::string name;
  };
  std::vector<Twice> found;
  {
    SQLite::Statement select(
        file.database(),
        fmt::format(
            "WITH double AS (SELECT s.car, s.version, count(*) AS n FROM sheet s WHERE {} "
            "  GROUP BY s.car, s.version HAVING n > 1), "
            "twice AS (SELECT d.car, d.version, d.n, max(s.id) AS id, max(e.at) AS at FROM double "
            "d "
            "  JOIN sheet s ON s.car = d.car AND s.version = d.version "
            "  JOIN entry e ON e.id = s.id GROUP BY d.car, d.version) "
            "SELECT c.id, t.version, t.n, c.name FROM twice t JOIN car c ON c.id = t.car "
            "WHERE ?1 OR NOT EXISTS (SELECT 1 FROM sheet s JOIN entry e ON e.id = s.id "
            "  WHERE s.car = t.car AND s.version > t.version AND s.id > t.id AND e.at >= t.at) "
            "ORDER BY t.car, t.version",
            of_car("s", car)));
    select.bind(1, settled_too ? 1 : 0);
    while (select.executeStep())
      found.push_back({select.getColumn(0).getInt64(), select.getColumn(1).getInt64(),
                       select.getColumn(2).getInt64(), select.getColumn(3).getString()});
  }
  for (const auto& twice : found) {
    std::vector<CarSheet> made;
    {
      const auto select =
          file.prepared("SELECT body FROM sheet WHERE car = ? AND version = ? ORDER BY id");
      select->bind(1, twice.car);
      select->bind(2, twice.version);
      while (select->executeStep())
        made.push_back(parse_car_json(select->getColumn(0).getString()));
    }
    out.push_back(
        {twice.name,
         fmt::format(
             "the sheet of {} was changed on both sides; the later change stands{}; put it "
             "right or confirm it with stopledger car edit \"{}\" FIELD=VALUE --reason TEXT",
             twice.name, differences(parse_car_json(file.standing_body(twice.car)), made),
             twice.name),
         fmt::format("sheet {} {} {}", twice.car, twice.version, twice.count)});
  }
}

/// Without a correction there is nothing to settle about records, and the question is cheap.
bool any_correction(LedgerFile& file, std::int64_t car) {
  const auto select = file.prepared(
      car == 0 ? "SELECT 1 FROM record WHERE supersedes IS NOT NULL LIMIT 1"
               : "SELECT 1 FROM record WHERE car = ? AND +supersedes IS NOT NULL LIMIT 1");
  if (car != 0) select->bind(1, car);
  return select->executeStep();
}

std::vector<Conflict> conflicts_in(LedgerFile& file, std::int64_t car, bool settled_too) {
  std::vector<Conflict> out;
  if (any_correction(file, car)) {
    corrected_twice(file, car, out);
    corrected_and_removed(file, car, settled_too, out);
  }
  sheet_changed_twice(file, car, settled_too, out);
  return out;
}

}  // namespace

std::vector<Conflict> unsettled_conflicts(const Ledger& ledger, const std::string& car) {
  auto& file = ledger.file();
  return file.reading(
      [&] { return conflicts_in(file, car.empty() ? 0 : car_row(file, car).id, false); });
}

std::vector<Conflict> all_conflicts(LedgerFile& file) { return conflicts_in(file, 0, true); }

}  // namespace stopledger
