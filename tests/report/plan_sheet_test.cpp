// The printed sheet: complete, black on white, drawn to scale, and only when it may be driven.
#include <catch2/catch.hpp>
#include <regex>
#include <vector>

#include "report/lot_svg.h"
#include "report/plan_html.h"

using namespace stopledger;

namespace {

SessionPlan example() {
  SessionPlan plan;
  plan.car = "R&D <mule>";
  plan.request.day = *parse_day("2026-05-16");
  plan.request.lot.mu = 0.3;
  plan.request.lot_length = Metres(150.0);
  plan.request.lot_width = Metres(30.0);
  plan.speed_kmh = 40.0;
  plan.need = *lot_need(plan.request.lot, from_kmh(40.0));
  plan.heat.fluid_basis = "test";
  for (int number = 1; number <= 3; ++number) {
    Run run;
    run.number = number;
    run.speed_kmh = 40.0;
    run.rest_s = 150.0;
    run.new_columns = number == 1;
    run.columns = {Role::at(QuantityKind::outlet, Corner::fl)};
    run.shows = "releases FL";
    plan.runs.push_back(run);
  }
  return plan;
}

const PlanTexts texts{{{"C5", "Never on a public road."}}, {"a lamp stays lit"}};

int count(const std::string& text, const std::string& what) {
  int found = 0;
  for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++found;
  return found;
}

}  // namespace

TEST_CASE("the sheet has two pages with all that is needed on the lot", "[plan][sheet]") {
  const std::string html = plan_html(example(), texts, Paper::letter);
  CHECK(html.find("size:letter") != std::string::npos);
  CHECK(plan_html(example(), texts, Paper::a4).find("size:A4") != std::string::npos);
  CHECK(count(html, "<section class=\"page\">") == 2);
  for (const char* part :
       {"Never on a public road.", "STOP AT ONCE", "a lamp stays lit", "EMERGENCY", "Permission",
        "Signed", "run01", "run03", "outlet valve FL", "no pumping", "DO NOT DRIVE"})
    CHECK(html.find(part) != std::string::npos);
  // Cautions come before anything that is done.
  CHECK(html.find("Never on a public road.") < html.find("class=\"box\""));
  CHECK(html.find("R&amp;D &lt;mule&gt;") != std::string::npos);
  CHECK(html.find("<mule>") == std::string::npos);
  // Nothing is fetched, nothing is coloured.
  CHECK(html.find("href=") == std::string::npos);
  CHECK(html.find("<script") == std::string::npos);
  const std::regex colour("#[0-9a-fA-F]{3,6}\\b");
  for (std::sregex_iterator it(html.begin(), html.end(), colour), end; it != end; ++it)
    CHECK((it->str() == "#000" || it->str() == "#fff"));
}

TEST_CASE("the sheet says until when the re-flush belongs to it", "[plan][sheet]") {
  SessionPlan plan = example();
  plan.route.steps = {{"after-run", 0, 0, false, "closing"},
                      {"re-flush", 1, 42, false, "old fluid"}};
  set_dates(plan.route, plan.request.day, plan.request.day);
  CHECK(plan_html(plan, texts, Paper::a4).find("re-flush, <b>2026-05-17 to 2026-06-27</b>") !=
        std::string::npos);
  // A refused one is a list of what to do by when.
  plan.blockers.emplace_back();
  CHECK(plan_html(plan, texts, Paper::a4).find("<b>2026-05-16</b> &ensp; after-run: closing") !=
        std::string::npos);
}

TEST_CASE("what was overridden is on the sheet with its reason", "[plan][sheet]") {
  SessionPlan plan = example();
  Block fault;
  fault.id = "fault";
  fault.record_id = 12;
  fault.may_override = true;
  fault.reason = "a fault is open: RL hose <soft>";
  plan.overridden.push_back({fault, "hose renewed & bled"});
  CHECK(override_name(fault) == "fault-12");
  for (const bool go : {true, false}) {
    if (!go) plan.blockers.emplace_back();
    CHECK(plan_html(plan, texts, Paper::a4)
              .find("RL hose &lt;soft&gt; (record 12). Reason given: hose renewed &amp; bled") !=
          std::string::npos);
  }
}

TEST_CASE("a refused plan prints no runs", "[plan][sheet]") {
  SessionPlan plan = example();
  Block lamp;
  lamp.id = "lamp";
  lamp.reason = "a lamp was on";
  lamp.clears = "have it repaired";
  plan.blockers.push_back(lamp);
  const std::string html = plan_html(plan, texts, Paper::a4);
  CHECK(html.find("NO-GO") != std::string::npos);
  CHECK(html.find("have it repaired") != std::string::npos);
  CHECK(html.find("run01") == std::string::npos);
  CHECK(count(html, "<section class=\"page\">") == 1);
}

TEST_CASE("the lot is drawn to scale", "[plan][sheet]") {
  const SessionPlan plan = example();
  const std::string svg = lot_svg(plan, 190.0);
  const std::regex zone(
      "<rect x=\"([0-9.]+)\" y=\"([0-9.]+)\" width=\"([0-9.]+)\" height=\"([0-9.]+)\" "
      "fill=\"[^\"]*\" stroke=\"black\" stroke-width=\"0.3\"");
  const LotNeed& need = plan.need;
  const std::vector<double> metres{need.run_up_m, need.reaction_m, need.stop_m, need.run_off_m};
  std::size_t i = 0;
  double next_x = -1.0;
  const double scale = 186.0 / 150.0;  // 190 mm less two edges of 2 mm, for a lot of 150 m
  for (std::sregex_iterator it(svg.begin(), svg.end(), zone), end; it != end; ++it, ++i) {
    REQUIRE(i < metres.size());
    const double x = std::stod((*it)[1]), w = std::stod((*it)[3]), h = std::stod((*it)[4]);
    CHECK(w == Approx(metres[i] * scale).margin(0.011));  // two decimals of a millimetre
    CHECK(h == Approx(need.width_m * scale).margin(0.011));
    if (next_x >= 0.0) CHECK(x == Approx(next_x).margin(0.021));
    next_x = x + w;
  }
  CHECK(i == metres.size());
  // Everything stays on the paper.
  const std::regex coordinate(" (?:x|cx)=\"(-?[0-9.]+)\"");
  for (std::sregex_iterator it(svg.begin(), svg.end(), coordinate), end; it != end; ++it) {
    CHECK(std::stod((*it)[1]) >= 0.0);
    CHECK(std::stod((*it)[1]) <= 190.0);
  }
}
