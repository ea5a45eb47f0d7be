// The sheet on paper: the pages that a browser makes of it. Skipped, and says so, without chromium.
#include <array>
#include <catch2/catch.hpp>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "plan/session.h"
#include "procedure/library.h"
#include "report/plan_html.h"

using namespace stopledger;

namespace {

namespace fs = std::filesystem;

struct PaperFolder {
  fs::path path;
  PaperFolder() {
    std::string name = (fs::temp_directory_path() / "stopledger-paper-XXXXXX").string();
    REQUIRE(mkdtemp(name.data()) != nullptr);
    path = name;
  }
  ~PaperFolder() { fs::remove_all(path); }
};

// Pages of the PDF that the browser prints; 0 when it printed none.
int printed_pages(const std::string& html) {
  const PaperFolder folder;
  std::ofstream(folder.path / "sheet.html") << html;
  const std::string command =
      "cd '" + folder.path.string() +
      "' && HOME=. chromium --headless --no-sandbox --disable-gpu --no-pdf-header-footer "
      "--user-data-dir=profile --print-to-pdf=sheet.pdf sheet.html > said.txt 2>&1";
  if (std::system(command.c_str()) != 0) return 0;
  std::ifstream in(folder.path / "sheet.pdf", std::ios::binary);
  std::ostringstream bytes;
  bytes << in.rdbuf();
  const std::string pdf = bytes.str();
  int pages = 0;
  // The page tree is /Type /Pages, one leaf for each page /Type /Page.
  for (auto at = pdf.find("/Type /Page"); at != std::string::npos;
       at = pdf.find("/Type /Page", at + 1))
    pages += pdf.compare(at + 11, 1, "s") != 0 ? 1 : 0;
  return pages;
}

Record paper_record(const char* kind, const char* day,
                    std::vector<std::pair<const char*, const char*>> fields) {
  static std::int64_t id = 0;
  Record record;
  record.id = ++id;
  record.uid = "p" + std::to_string(id);
  record.kind = kind;
  record.day = *parse_day(day);
  for (const auto& [name, value] : fields) record.fields[name].written = value;
  return record;
}

// The fullest sheet: a store (one more caution), due fluid (one more line afterwards), two reasons
// to be printed, and as many runs as a session has.
std::string fullest_sheet(const char* recorder, bool go, Paper paper) {
  CarSheet car;
  car.facts.name = "grey-saloon-with-a-long-name";
  car.facts.unit_kind = UnitKind::high_pressure_store;
  car.facts.channels = 4;
  car.facts.has_isolation_valves = true;
  car.fluid_grade = "DOT 4";
  for (const char* key : {"unit", "depress-count", "bleed-order"}) car.sheet[key].written = "20";
  std::vector<Record> records{
      paper_record("fluid-change", "2024-09-01", {{"grade", "DOT 4"}}),
      paper_record("valve-test", "2026-05-02", {{"result", "pass"}}),
      paper_record("store-test", "2026-05-02", {{"result", "pass"}}),
      paper_record("fault", "2026-04-01", {{"what", "RL hose soft inside"}})};
  SessionRequest request;
  request.today = *parse_day("2026-05-16");
  request.day = *parse_day("2026-06-06");
  request.lot_length = Metres(170.0);
  request.lot_width = Metres(60.0);
  request.recorder = parse_recorder(recorder);
  request.permission = "Flying club Example, letter of 2026-05-01";
  request.driver = "A. Example";
  request.helper = "B. Example";
  request.address = "Old airfield, gate 3, Example Road 12, Exampletown";
  request.start_min = 600;
  request.draws = 20;
  const char* reason = "hose renewed on 2026-05-10, bill to come from the shop in the next town";
  request.overrides = {{"fault", reason}, {"roll-check", reason}};
  if (!go) request.lot_length = Metres(20.0);
  const auto procedures = load_procedures();
  const SessionPlan plan = plan_session(car, records, procedures, request);
  REQUIRE(plan.go() == go);
  PlanTexts texts;
  for (const std::string& id : plan.cautions) texts.cautions.emplace_back(id, caution_text(id));
  texts.stop_conditions = find_procedure("stop-fronts").stop_conditions;
  return plan_html(plan, texts, paper);
}

}  // namespace

TEST_CASE("the sheet fills two pages of A4 and of Letter, a refusal one", "[plan][sheet][paper]") {
  if (std::system("command -v chromium > /dev/null 2>&1") != 0) {
    WARN("skipped: no chromium here to print with");
    return;
  }
  for (const Paper paper : {Paper::a4, Paper::letter}) {
    INFO((paper == Paper::a4 ? "A4" : "Letter"));
    for (const char* recorder : {"8/s", "20/s", "50/s each"}) {
      INFO(recorder);
      CHECK(printed_pages(fullest_sheet(recorder, true, paper)) == 2);
    }
    CHECK(printed_pages(fullest_sheet("8/s", false, paper)) == 1);
  }
}
