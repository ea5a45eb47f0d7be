#include "report/check_html.h"

#include <fmt/format.h>

#include "report/check_json.h"
#include "report/check_words.h"
#include "report/episode_svg.h"
#include "report/html.h"
#include "report/past_answers.h"

namespace stopledger {

namespace {

constexpr std::string_view style = R"(
body{font:16px/1.4 "DejaVu Sans",sans-serif;color:#000;background:#fff;margin:1.2em auto;max-width:60em;padding:0 1em}
h1{font-size:1.7em;margin:.2em 0}h2{font-size:1.15em;margin:1.4em 0 .4em;border-bottom:2px solid #000}
table{border-collapse:collapse;width:100%}td,th{border:1px solid #000;padding:.35em .5em;text-align:left;vertical-align:top}
.big{font-size:1.1em;font-weight:bold;white-space:nowrap}.warn{border:4px solid #000;padding:.6em;font-weight:bold;font-size:1.15em}
.small{font-size:.85em;color:#222}svg{width:100%;height:auto;border:1px solid #000;margin:.3em 0}
.suspect,.idle{border:4px solid #000;text-transform:uppercase}@media print{body{margin:0;font-size:12px}h2{page-break-after:avoid}svg{page-break-inside:avoid}}
)";

}  // namespace

std::string check_html(const CheckOutcome& outcome, std::span<const Log> logs,
                       std::span<const PastAnswer> past) {
  std::string page = fmt::format(
      "<!DOCTYPE html><html lang='en'><head><meta charset='utf-8'><meta name='viewport' "
      "content='width=device-width'><title>Check: {}</title><style>{}</style></head><body>\n",
      result_name(outcome.result), style);
  const CheckAnswer answer = check_answer(outcome);
  page += "<h1>" + html_text(answer.answer) + "</h1>\n";
  if (!answer.warning.empty()) page += "<p class='warn'>" + html_text(answer.warning) + "</p>\n";
  page += "<table><tr><th>Corner</th><th>Result</th><th>Why</th></tr>\n";
  for (const Corner corner : all_corners) {
    const CornerOutcome& one = outcome.corners[corner];
    page += fmt::format("<tr><td class='big'>{}</td><td class='big {}'>{}</td><td>{}",
                        corner_name(corner), result_name(one.result), result_name(one.result),
                        html_text(one.reason));
    std::string detail = corner_figures(one);
    if (!detail.empty()) detail += ". ";
    if (!one.asked) detail += "Not asked for by this procedure. ";
    if (one.enough == false && one.asked) detail += "Not enough for this procedure. ";
    for (const std::string& other : one.could_also_be)
      detail += "Could also be: " + html_text(other) + ". ";
    if (!detail.empty()) page += "<br><span class='small'>" + detail + "</span>";
    page += "</td></tr>\n";
  }
  page += fmt::format("<tr><td class='big'>Pump</td><td class='big'>{}</td><td>",
                      result_name(outcome.pump.result));
  if (outcome.pump.on_s) page += fmt::format("commanded on for {:.1f} s", *outcome.pump.on_s);
  page += "</td></tr>\n";
  for (std::size_t i = 0; i < outcome.circuits.size(); ++i)
    page += fmt::format(
        "<tr><td class='big'>Circuit {}</td><td colspan='2'>isolation valve {}, prime valve "
        "{}</td></tr>\n",
        i + 1, result_name(outcome.circuits[i].isolation), result_name(outcome.circuits[i].prime));
  page += "</table>\n";
  if (!outcome.findings.empty()) {
    page += "<h2>Findings</h2><table>\n";
    for (const Finding& finding : outcome.findings)
      page += fmt::format(
          "<tr><td class='big'>{}</td><td>{} <span class='small'>[{}]</span></td></tr>\n",
          severity_name(finding.severity), html_text(finding.text), finding.id);
    page += "</table>\n";
  }
  if (!past.empty()) {
    page += "<h2>Before this, in the ledger</h2><table>\n";
    for (const PastAnswer& one : past) {
      std::string lines;
      for (const std::string& line : past_answer_lines(one))
        lines += (lines.empty() ? "" : "<br>") + html_text(line);
      page += fmt::format("<tr><td class='big'>{}</td><td>{}</td></tr>\n", html_text(one.subject),
                          lines);
    }
    page += "</table>\n";
  }
  if (!outcome.record_next.empty()) {
    page += "<h2>To settle what is open, record next</h2><ul>\n";
    for (const std::string& advice : outcome.record_next)
      page += "<li>" + html_text(advice) + "</li>\n";
    page += "</ul>\n";
  }
  page += "<h2>What happened</h2>\n";
  for (const Episode& episode : outcome.episodes) {
    page += fmt::format("<p><b>{}</b>, {:.2f} to {:.2f} s{}", episode_kind_name(episode.kind),
                        episode.start_s, episode.end_s, html_text(episode_figures(episode)));
    if (logs.size() > 1) page += " (" + html_text(logs[episode.log].file) + ")";
    page += "</p>\n" + episode_svg(episode);
  }
  page +=
      "<p class='small'>Thick grey line: the car. Thin lines: the wheels, line style as beside "
      "each "
      "corner's strip. Filled bars: release commanded; open bars: hold commanded.</p>\n";
  page += "<h2>What the log consisted of</h2>\n";
  for (const Log& log : logs) {
    page += fmt::format(
        "<p>{}: {} rows, {:.1f} s. SHA-256 <span class='small'>{}</span></p><table><tr><th>Role"
        "</th><th>Column</th><th>Unit</th><th>Looks a second</th></tr>\n",
        html_text(log.file), log.rows, log.duration_s, log.sha256);
    for (const Channel& channel : log.channels)
      page +=
          fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>\n",
                      role_name(channel.role), html_text(channel.column), html_text(channel.unit),
                      channel.rate_hz ? fmt::format("{:.3g}", *channel.rate_hz) : "unknown");
    page += "</table>\n";
    for (const std::string& note : log.notes)
      page += "<p class='small'>" + html_text(note) + "</p>\n";
  }
  page += "<h2>Bear in mind</h2><ul>\n";
  for (const std::string& limit : outcome.limits) page += "<li>" + html_text(limit) + "</li>\n";
  page += fmt::format("<li>{}</li></ul></body></html>\n", html_text(manual_decides));
  return page;
}

}  // namespace stopledger
