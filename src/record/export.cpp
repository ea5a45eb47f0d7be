#include <nlohmann/json.hpp>
#include <ostream>
#include <set>

#include "base/error.h"
#include "record/digest.h"
#include "record/exchange.h"
#include "record/ledger_file.h"

namespace stopledger {

namespace {

using json = nlohmann::json;

/// Writes the lines of one exchange file: header, entries with the contents they need, end.
class Writer {
 public:
  Writer(LedgerFile& file, std::ostream& out, const std::string& scope) : file_(file), out_(out) {
    out_ << json{{"format", exchange_format}, {"scope", scope}}.dump() << "\n";
  }

  void entry(std::int64_t id) {
    {
      const auto content = file_.prepared(
          "SELECT c.sha256, c.size, c.packed FROM file f JOIN content c ON c.sha256 = f.sha256 "
          "WHERE f.id = ?");
      content->bind(1, id);
      if (content->executeStep() && written_.insert(content->getColumn(0).getString()).second) {
        const auto packed = content->getColumn(2);
        out_ << json{{"content",
                      {{"sha256", content->getColumn(0).getString()},
                       {"size", content->getColumn(1).getInt64()},
                       {"zstd", encode_base64({static_cast<const char*>(packed.getBlob()),
                                               static_cast<std::size_t>(packed.getBytes())})}}}}
                    .dump()
             << "\n";
      }
    }
    const auto text = file_.entry_json(id);
    digest_ = sha256_hex(digest_ + text);
    ++count_;
    // Put together by hand so that the digested text stands in the line exactly as it is.
    out_ << R"({"digest":")" << digest_ << R"(","entry":)" << text << "}\n";
  }

  void procedure(const CarriedProcedure& procedure) {
    out_ << json{{"procedure", {{"id", procedure.id}, {"text", procedure.text}}}}.dump() << "\n";
  }

  void end() {
    out_ << json{{"end", {{"entries", count_}, {"digest", digest_}}}}.dump() << "\n";
    out_.flush();
    if (!out_) throw Error(ErrorKind::file, "the exchange file could not be written (disk full?)");
  }

 private:
  LedgerFile& file_;
  std::ostream& out_;
  std::set<std::string> written_;
  std::string digest_;
  std::size_t count_ = 0;
};

std::vector<std::int64_t> ids(const Prepared& select) {
  std::vector<std::int64_t> out;
  while (select->executeStep()) out.push_back(select->getColumn(0).getInt64());
  return out;
}

}  // namespace

void export_ledger(const Ledger& ledger, std::ostream& out) {
  auto& file = ledger.file();
  file.reading([&] {
    Writer writer(file, out, "ledger");
    for (const auto id : ids(file.prepared("SELECT id FROM entry ORDER BY id"))) writer.entry(id);
    writer.end();
  });
}

void export_car(const Ledger& ledger, const std::string& car,
                const std::vector<CarriedProcedure>& procedures, std::ostream& out) {
  auto& file = ledger.file();
  file.reading([&] {
    const auto name = ledger.car(car).facts.name;
    Writer writer(file, out, "car");
    const auto select = file.prepared(
        "WITH mine(car) AS (SELECT id FROM car WHERE name = ?), "
        "records(id) AS (SELECT r.id FROM record r JOIN mine USING (car)) "
        "SELECT car FROM mine "
        "UNION ALL SELECT s.id FROM sheet s JOIN mine USING (car) "
        "UNION ALL SELECT id FROM records "
        "UNION ALL SELECT x.id FROM removal x JOIN records r ON r.id = x.record "
        "UNION ALL SELECT x.id FROM \"check\" x JOIN records r ON r.id = x.record "
        "UNION ALL SELECT f.id FROM file f JOIN records r ON r.id = f.record "
        "UNION ALL SELECT p.id FROM plan p JOIN mine USING (car) "
        "UNION ALL SELECT x.id FROM plan_end x JOIN plan p ON p.id = x.plan JOIN mine USING (car) "
        "ORDER BY 1");
    select->bind(1, name);
    for (const auto id : ids(select)) writer.entry(id);
    for (const auto& procedure : procedures) writer.procedure(procedure);
    writer.end();
  });
}

}  // namespace stopledger
