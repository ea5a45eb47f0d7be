#include "report/episode_svg.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace stopledger {

namespace {

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

}  // namespace

std::string episode_svg(const Episode& episode) {
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
  svg += "<text x='8' y='38'>km/h</text>\n";
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

}  // namespace stopledger
