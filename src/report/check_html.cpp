#include "report/check_html.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "report/check_json.h"

namespace stopledger {

namespace {

constexpr std::string_view style = R"(
body{font:16px/1.4 "DejaVu Sans",sans-serif;color:#000;background:#fff;margin:1.2em auto;max-width:60em;padding:0 1em}
h1{font-size:1.7em;margin:.2em 0}h2{font-size:1.15em;margin:1.4em 0 .4em;border-bottom:2px solid #000}
table{border-collapse:collapse;width:100%}td,th{border:1px solid #000;padding:.35em .5em;text-align:left;vertical-align:top}
.big{font-size:1.1em;font-weight:bold;white-space:nowrap}.warn{border:4px solid #000;padding:.6em;font-weight:bold;font-size:1.15em}
.small{font-size:.85em;color:#222}svg{width:100%;height:auto;border:1px solid #000;margin:.3em 0}
.suspect,.idle{background:#000;color:#fff}@media print{body{margin:0;font-size:12px}h2{page-break-after:avoid}svg{page-break-inside:avoid}}
)";

/// Line style of each wheel, so that a black-and-white print still tells them apart.
constexpr std::array<std::string_view, 4> dashes{"", "7 3", "2 3", "9 3 2 3"};

struct Frame {
  double t0, t1, v1;
  static constexpr double left = 46, right = 790, top = 12, bottom = 230, strip = 26;
  [[nodiscard]] double x(double t) const { return left + (t - t0) / (t1 - t0) * (right - left); }
  [[nodiscard]] double y(double v) const {
    return bottom - std::clamp(v / v1, 0.0, 1.05) * (bottom - top);
  }
};

std::string curve(const Frame& frame, const EpisodeTraces::Curve& line,
                  std::string_view attributes) {
  if (line.t_s.size() < 2) return {};
  std::string points;
  // Points closer than a third of a unit cannot be told apart on paper.
  double last_x = -1e9;
  for (std::size_t i = 0; i < line.t_s.size(); ++i) {
    const double x = frame.x(line.t_s[i]);
    if (x - last_x < 0.33 && i + 1 < line.t_s.size()) continue;
    last_x = x;
    points += fmt::format("{:.1f},{:.1f} ", x, frame.y(line.v_kmh[i]));
  }
  return fmt::format("<polyline fill='none' {} points='{}'/>\n", attributes, points);
}

std::string drawing(const Episode& episode) {
  const EpisodeTraces& traces = episode.traces;
  Frame frame{episode.start_s - 1.0, episode.end_s + 0.7, 10.0};
  const auto raise = [&](const EpisodeTraces::Curve& line) {
    for (const double v : line.v_kmh) frame.v1 = std::max(frame.v1, v);
  };
  raise(traces.reference);
  for (const Corner corner : all_corners) raise(traces.wheels[corner]);
  frame.v1 = std::ceil(frame.v1 / 10.0) * 10.0;
  std::string svg =
      "<svg viewBox='0 0 800 372' role='img' font-family='DejaVu Sans,sans-serif' "
      "font-size='11'>\n";
  for (double v = 0.0; v <= frame.v1 + 0.1; v += 10.0)
    svg += fmt::format(
        "<line x1='46' x2='790' y1='{0:.1f}' y2='{0:.1f}' stroke='#bbb' stroke-width='.5'/>"
        "<text x='40' y='{1:.1f}' text-anchor='end'>{2:.0f}</text>\n",
        frame.y(v), frame.y(v) + 4, v);
  svg += "<text x='4' y='10'>km/h</text>\n";
  const double span = frame.t1 - frame.t0;
  const double step = span > 20 ? 5.0 : span > 8 ? 2.0 : span > 4 ? 1.0 : 0.5;
  for (double t = std::ceil(frame.t0 / step) * step; t <= frame.t1; t += step)
    svg += fmt::format(
        "<line x1='{0:.1f}' x2='{0:.1f}' y1='12' y2='350' stroke='#ddd' stroke-width='.5'/>"
        "<text x='{0:.1f}' y='364' text-anchor='middle'>{1:g} s</text>\n",
        frame.x(t), t);
  svg += curve(frame, traces.reference, "stroke='#000' stroke-width='2.6' opacity='.45'");
  for (std::size_t i = 0; i < all_corners.size(); ++i)
    svg += curve(frame, traces.wheels[all_corners[i]],
                 fmt::format("stroke='#000' stroke-width='1.1' stroke-dasharray='{}'", dashes[i]));
  for (std::size_t i = 0; i < all_corners.size(); ++i) {
    const Corner corner = all_corners[i];
    const double y = 242 + Frame::strip * static_cast<double>(i);
    svg += fmt::format(
        "<text x='4' y='{:.0f}'>{}</text><line x1='24' x2='42' y1='{:.0f}' y2='{:.0f}' "
        "stroke='#000' stroke-dasharray='{}'/><line x1='46' x2='790' y1='{:.0f}' y2='{:.0f}' "
        "stroke='#999' stroke-width='.5'/>\n",
        y + 15, corner_name(corner), y + 11, y + 11, dashes[i], y + 20, y + 20);
    const auto bars = [&](const std::vector<EpisodeTraces::Span>& spans, double top, double height,
                          std::string_view fill) {
      for (const EpisodeTraces::Span& bar : spans)
        svg += fmt::format("<rect x='{:.1f}' y='{:.1f}' width='{:.1f}' height='{}' {}/>\n",
                           frame.x(bar.from_s), y + top,
                           std::max(1.2, frame.x(bar.to_s) - frame.x(bar.from_s)), height, fill);
    };
    bars(traces.holds[corner], 13, 7, "fill='#fff' stroke='#000' stroke-width='.8'");
    bars(traces.releases[corner], 2, 18, "fill='#000'");
  }
  return svg + "</svg>\n";
}

}  // namespace

std::string html_text(std::string_view text) {
  std::string result;
  for (const char c : text) switch (c) {
      case '&':
        result += "&amp;";
        break;
      case '<':
        result += "&lt;";
        break;
      case '>':
        result += "&gt;";
        break;
      case '"':
        result += "&quot;";
        break;
      case '\'':
        result += "&#39;";
        break;
      default:
        result += c;
    }
  return result;
}

std::string check_html(const CheckOutcome& outcome, std::span<const Log> logs) {
  std::string page = fmt::format(
      "<!DOCTYPE html><html lang='en'><head><meta charset='utf-8'><meta name='viewport' "
      "content='width=device-width'><title>Check: {}</title><style>{}</style></head><body>\n",
      result_name(outcome.result), style);
  bool suspect = false;
  for (const Corner corner : all_corners)
    suspect = suspect || (outcome.corners[corner].result == Result::suspect);
  page += fmt::format("<h1>{}</h1>\n",
                      outcome.result == Result::exercised
                          ? "All corners asked for are exercised"
                          : fmt::format("Worst corner: {}", result_name(outcome.result)));
  if (suspect)
    page +=
        "<p class='warn'>A corner did not answer as it should. Do not drive this car on the road; "
        "have "
        "it looked at by a licensed technician.</p>\n";
  page += "<table><tr><th>Corner</th><th>Result</th><th>Why</th></tr>\n";
  for (const Corner corner : all_corners) {
    const CornerOutcome& one = outcome.corners[corner];
    page += fmt::format("<tr><td class='big'>{}</td><td class='big {}'>{}</td><td>{}",
                        corner_name(corner), result_name(one.result), result_name(one.result),
                        html_text(one.reason));
    std::string detail;
    if (one.cycle_rate_hz) detail += fmt::format("{:.1f} cycles a second. ", *one.cycle_rate_hz);
    if (one.response_delay_s)
      detail += fmt::format("Answer after {:.2f} s. ", *one.response_delay_s);
    if (one.peak_slip) detail += fmt::format("Deepest slip {:.0f} %. ", 100.0 * *one.peak_slip);
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
  if (!outcome.record_next.empty()) {
    page += "<h2>To settle what is open, record next</h2><ul>\n";
    for (const std::string& advice : outcome.record_next)
      page += "<li>" + html_text(advice) + "</li>\n";
    page += "</ul>\n";
  }
  page += "<h2>What happened</h2>\n";
  for (const Episode& episode : outcome.episodes) {
    page += fmt::format("<p><b>{}</b>, {:.2f} to {:.2f} s", episode_kind_name(episode.kind),
                        episode.start_s, episode.end_s);
    if (episode.v_start_kmh && episode.v_end_kmh)
      page += fmt::format(", {:.0f} to {:.0f} km/h", *episode.v_start_kmh, *episode.v_end_kmh);
    if (episode.distance_m) page += fmt::format(", {:.1f} m", *episode.distance_m);
    if (episode.mfdd_mps2) page += fmt::format(", MFDD {:.1f} m/s<sup>2</sup>", *episode.mfdd_mps2);
    if (logs.size() > 1) page += " (" + html_text(logs[episode.log].file) + ")";
    page += "</p>\n" + drawing(episode);
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
  page +=
      "<li>The car's own service manual decides; where it differs from this program, it wins. "
      "Exercise on "
      "a closed lot with permission, never on a public road.</li></ul></body></html>\n";
  return page;
}

}  // namespace stopledger
