#include "report/plan_html.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "plan/day_list.h"
#include "report/html.h"
#include "report/lot_svg.h"
#include "report/plan_words.h"

namespace stopledger {
namespace {

constexpr std::string_view sheet_style = R"(
*{box-sizing:border-box;margin:0}
body{font:10.5pt/1.2 Arial,"Liberation Sans","DejaVu Sans Condensed",sans-serif;color:#000;background:#fff}
@media screen{body{margin:8mm 10mm;max-width:190mm}}
.page{page-break-after:always}
.page:last-child{page-break-after:auto}
h1{font-size:16pt}h2{font-size:12pt;margin:1.2mm 0 .5mm;border-bottom:.4mm solid #000}
.answer{font-size:14pt;font-weight:bold;border:.8mm solid #000;padding:1mm 2mm;margin:1mm 0}
.two{columns:2;column-gap:6mm}
.two>*{break-inside:avoid;margin-bottom:.3mm}
.stop{border:1.2mm solid #000;padding:.6mm 2mm;margin-top:1.2mm}
.stop h2{border:0;margin:0}
.box{display:inline-block;width:4.2mm;height:4.2mm;border:.35mm solid #000;margin-right:1.6mm;
vertical-align:-.6mm}
.item{padding-left:6mm;text-indent:-6mm}
.blank{display:inline-block;border-bottom:.3mm solid #000;min-width:14mm;height:4mm;text-indent:0}
.wide{min-width:60mm}
.fill{margin:1.2mm 0}
table{border-collapse:collapse;width:calc(100% - .6mm);margin:0 .3mm}
td,th{border:.25mm solid #000;padding:.5mm 1mm;text-align:left;font-size:10pt}
th{height:auto}
td.c{text-align:center}
.set td{border:0;height:auto;padding-top:1mm;font-weight:bold}
.s{font-size:9pt;line-height:1.15}
)";

std::string filled(std::string_view text, std::string_view css = "blank wide") {
  return text.empty() ? fmt::format("<span class=\"{}\"></span>", css)
                      : fmt::format("<b>{}</b>", html_text(text));
}

std::string overridden_lines(const SessionPlan& plan) {
  std::string out;
  for (const Overridden& past : plan.overridden)
    out += fmt::format("<p class=\"s\"><b>OVERRIDDEN</b> {}. Reason given: {}</p>\n",
                       html_text(block_words(past.block)), html_text(past.reason_given));
  return out;
}

std::string dates(const RouteStep& step) {
  return format_day(step.from) + (step.from == step.to ? "" : " to " + format_day(step.to));
}

std::string route_list(const SessionPlan& plan) {
  std::string out =
      fmt::format("<h2>The whole route: {}</h2>\n<p>Because {}.</p>\n",
                  html_text(route_name(plan.route.route)), html_text(plan.route.reason));
  for (const RouteStep& step : plan.route.steps)
    out += fmt::format(
        "<p class=\"item\"><span class=\"box\"></span><b>{}</b> &ensp; {}: {}{}</p>\n", dates(step),
        html_text(step.procedure), step.optional ? "optional: " : "", html_text(step.why));
  return out;
}

// What the day of the session leaves to be done later.
std::string later_items(const SessionPlan& plan) {
  std::string out;
  for (const RouteStep& step : plan.route.steps)
    if (step.earliest_day > 0 && !step.optional)
      out += fmt::format("<p class=\"item\"><span class=\"box\"></span>Later: {}, <b>{}</b></p>\n",
                         html_text(step.procedure), dates(step));
  return out;
}

// No sheet to drive by as long as something forbids the session: only what would clear it.
std::string no_go_page(const SessionPlan& plan) {
  std::string out = fmt::format(
      "<section class=\"page\"><h1>{}, {}</h1>\n<p class=\"answer\">NO-GO: do not drive this "
      "session</p>\n",
      html_text(plan.car), format_day(plan.request.day));
  for (const Block& block : plan.blockers)
    out += fmt::format(
        "<h2>{}</h2><p>{}</p><p class=\"item\"><span class=\"box\"></span>Clears it: {}</p>\n",
        html_text(block.id), html_text(block_words(block)), html_text(block.clears));
  out += overridden_lines(plan) + route_list(plan);
  return out +
         "<p class=\"fill\">When all is cleared and recorded, plan again: the sheet for the lot "
         "is printed then.</p></section>\n";
}

std::string checklist_page(const SessionPlan& plan, const PlanTexts& texts) {
  const SessionRequest& request = plan.request;
  std::string out = fmt::format("<section class=\"page\"><h1>{}, {}: before the drive</h1>\n",
                                html_text(plan.car), format_day(request.day));
  out += "<p class=\"answer\">GO only if every box below is ticked yes</p>\n";
  out += overridden_lines(plan);
  out += fmt::format(
      "<p class=\"fill\">Permission (who, date): {} &ensp; Driver: {} &ensp; Helper: {}</p>\n",
      filled(request.permission), filled(request.driver, "blank"), filled(request.helper, "blank"));
  out += fmt::format("<p class=\"fill\">EMERGENCY: this place is {}</p>\n",
                     filled(request.address, "blank wide"));
  out += "<h2>Cautions</h2><div class=\"two\">\n";
  for (const auto& [id, text] : texts.cautions)
    out += fmt::format("<p class=\"s\"><b>{}</b> {}</p>\n", html_text(id), html_text(text));
  out += "</div>\n";
  out += "<div class=\"stop\"><h2>STOP AT ONCE WHEN</h2><div class=\"two\">\n";
  for (const std::string& condition : texts.stop_conditions)
    out += fmt::format("<p>&bull; {}</p>\n", html_text(condition));
  out += "</div></div>\n<h2>Every line a yes, or no session</h2><div class=\"two\">\n";
  for (const DayItem& item : day_list())
    out +=
        fmt::format("<p class=\"item\"><span class=\"box\"></span>{}{}</p>\n", html_text(item.text),
                    item.blank.empty()
                        ? ""
                        : fmt::format(" <span class=\"blank\"></span> {}", html_text(item.blank)));
  out += "</div></section>\n";
  return out;
}

// Rows as high as the page leaves them: they are filled in with gloves on.
double row_mm(const SessionPlan& plan, double width_mm, double page_mm) {
  constexpr double around_mm = 95.0;  // title, driver's lines, head, after the runs, signatures
  constexpr double setting_mm = 5.9;
  const auto settings =
      std::count_if(plan.runs.begin(), plan.runs.end(), [](const Run& r) { return r.new_columns; });
  const double left = page_mm - lot_svg_height_mm(plan, width_mm) - around_mm -
                      setting_mm * static_cast<double>(settings);
  return std::clamp(left / static_cast<double>(std::max<std::size_t>(plan.runs.size(), 1)), 5.0,
                    9.0);
}

std::string runs_table(const SessionPlan& plan, double height_mm) {
  std::string out = fmt::format(
      "<style>.runs td{{height:{:.1f}mm}}.runs .set td{{height:auto}}</style>\n", height_mm);
  out +=
      "<table class=\"runs\"><tr><th>Run = log "
      "name</th><th>at</th><th>km/h</th><th>shows</th><th>then "
      "roll</th><th>km/h at pedal</th><th>pedal felt</th><th>who saw what</th></tr>\n";
  for (const Run& run : plan.runs) {
    if (run.new_columns) {
      out += fmt::format(
          "<tr class=\"set\"><td colspan=\"8\"><span class=\"box\"></span>choose: {}</td></tr>\n",
          html_text(columns_words(run.columns)));
    }
    out += fmt::format(
        "<tr><td><b>{}</b></td><td class=\"c\">{}</td><td class=\"c\"><b>{:.0f}</b></td><td>{}</td>"
        "<td class=\"c\">{:.0f}:{:02.0f}</td><td></td><td></td><td></td></tr>\n",
        run_name(run), clock_words(plan, run.start_min), run.speed_kmh, html_text(run.shows),
        std::floor(run.rest_s / 60.0), std::fmod(run.rest_s, 60.0));
  }
  return out + "</table>\n";
}

// How sure the log is to show it, in one line: what is not sure wants a second witness.
std::string log_line(const SessionPlan& plan) {
  std::string valves, answers;
  bool seen = false;
  for (std::size_t i = 0; i < plan.looks.size(); ++i) {
    const bool answer = plan.looks[i].role.quantity == QuantityKind::wheel_speed;
    const double chance = plan.recording.chances[i];
    seen = seen || (answer && chance > 0.0);
    std::string& text = answer ? answers : valves;
    text += fmt::format("{}{} {:.0f} %", text.empty() ? "" : ", ", corners_words(plan.looks[i]),
                        std::floor(100.0 * chance));
  }
  if (valves.empty() && answers.empty()) return {};
  std::string text = "<p><b>How sure the log will show it:</b> ";
  if (!valves.empty()) text += fmt::format("releases {}; ", valves);
  text += seen ? fmt::format("answers {}", answers) : "wheels: watch them";
  return text + "</p>\n";
}

std::string runs_page(const SessionPlan& plan, double width_mm, double page_mm) {
  std::string out =
      fmt::format("<section class=\"page\"><h1>{}, {}: runs on {}</h1>\n", html_text(plan.car),
                  format_day(plan.request.day), html_text(plan.request.ground.name));
  out += lot_svg(plan, width_mm);
  out += "<p>";
  for (const std::string_view line : driver_lines(plan.unit_kind))
    out += fmt::format("{}<br>", html_text(line));
  out +=
      "</p>\n<p><b>Before each run:</b> 5 s standstill, three taps on the pedal. <b>After the "
      "first ABS stop:</b> level, pedal, leaks, lamp.</p>\n";
  out += runs_table(plan, row_mm(plan, width_mm, page_mm));
  out += log_line(plan);
  out +=
      "<h2>After the runs</h2><div class=\"two\">\n"
      "<p class=\"item\"><span class=\"box\"></span>Every log saved and opened before leaving</p>\n"
      "<p class=\"item\"><span class=\"box\"></span>Rolled 5 min; no parking brake on hot "
      "brakes</p>\n"
      "<p class=\"item\"><span class=\"box\"></span>Pedal <span class=\"blank\"></span> mm; longer "
      "than before: DO NOT DRIVE</p>\n"
      "<p class=\"item\"><span class=\"box\"></span>Level <span class=\"blank\"></span> %; nothing "
      "wet</p>\n"
      "<p class=\"item\"><span class=\"box\"></span>Wheels, degC: FL <span class=\"blank\"></span> "
      "FR "
      "<span class=\"blank\"></span><br>RL <span class=\"blank\"></span> RR <span "
      "class=\"blank\"></span></p>\n"
      "<p class=\"item\"><span class=\"box\"></span>Tyres; wheel nuts when cool; again after 50 to "
      "100 km</p>\n"
      "<p class=\"item\"><span class=\"box\"></span>Codes read and kept, lamps as before</p>\n"
      "<p class=\"item\"><span class=\"box\"></span>Decision: clean / re-flush / repair</p>\n";
  out += later_items(plan);
  out +=
      "</div>\n"
      "<p class=\"fill\">Signed, driver <span class=\"blank wide\"></span> who clears the car "
      "<span "
      "class=\"blank wide\"></span></p>\n";
  return out + "</section>\n";
}

}  // namespace

std::string plan_html(const SessionPlan& plan, const PlanTexts& texts, Paper paper) {
  const bool a4 = paper == Paper::a4;
  return fmt::format(
             "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\n<title>Session {} "
             "{}</title>\n<style>@page{{size:{};margin:8mm 10mm}}{}</style></head><body>\n",
             html_text(plan.car), format_day(plan.request.day), a4 ? "A4" : "letter", sheet_style) +
         (plan.go() ? checklist_page(plan, texts) +
                          runs_page(plan, a4 ? 190.0 : 195.9, a4 ? 281.0 : 263.4)
                    : no_go_page(plan)) +
         "</body></html>\n";
}

}  // namespace stopledger
