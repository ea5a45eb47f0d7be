#include "report/lot_svg.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

namespace stopledger {
namespace {

struct Zone {
  const char* name;
  double metres;
  const char* fill;
};

constexpr double edge_mm = 2.0, top_mm = 4.5, bottom_mm = 16.0, helper_mm = 8.0;
constexpr double tallest_mm = 36.0;  // the runs need the rest of the page

struct Drawing {
  double lot_m = 0.0, wide_m = 0.0;
  double scale = 1.0;  // mm of paper per metre of lot

  [[nodiscard]] double lot_mm() const { return wide_m * scale; }
  [[nodiscard]] double height_mm() const { return top_mm + helper_mm + lot_mm() + bottom_mm; }
};

Drawing drawing(const SessionPlan& plan, double width_mm) {
  // A lot far larger than the run is not drawn to its ends, or the run would shrink to a dash.
  const auto drawn = [](double needed_m, std::optional<Metres> own) {
    return std::clamp(own ? own->value() : 0.0, needed_m, 1.25 * needed_m);
  };
  Drawing d{.lot_m = drawn(plan.need.length_m(), plan.request.lot_length),
            .wide_m = drawn(plan.need.width_m, plan.request.lot_width)};
  d.scale = std::min((width_mm - 2.0 * edge_mm) / d.lot_m, tallest_mm / d.wide_m);
  return d;
}

}  // namespace

double lot_svg_height_mm(const SessionPlan& plan, double width_mm) {
  return drawing(plan, width_mm).height_mm();
}

std::string lot_svg(const SessionPlan& plan, double width_mm) {
  const LotNeed& need = plan.need;
  const SessionRequest& request = plan.request;
  const Drawing d = drawing(plan, width_mm);
  const double scale = d.scale, lot_m = d.lot_m, lot_mm = d.lot_mm(), height_mm = d.height_mm();
  const double lot_top = top_mm + helper_mm, middle = lot_top + 0.5 * lot_mm;
  const double strip_mm = need.width_m * scale;

  std::string out = fmt::format(
      "<svg class=\"lot\" xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.1f}mm\" "
      "height=\"{1:.1f}mm\" viewBox=\"0 0 {0:.1f} {1:.1f}\" font-size=\"3.2\" "
      "fill=\"black\" role=\"img\" aria-label=\"The lot to scale\">\n"
      "<defs><pattern id=\"empty\" width=\"2\" height=\"2\" patternUnits=\"userSpaceOnUse\" "
      "patternTransform=\"rotate(45)\"><path d=\"M0 0V2\" stroke=\"black\" "
      "stroke-width=\"0.25\"/></pattern></defs>\n",
      width_mm, height_mm);
  out += fmt::format(
      "<rect x=\"{:.2f}\" y=\"{:.2f}\" width=\"{:.2f}\" height=\"{:.2f}\" fill=\"none\" "
      "stroke=\"black\" stroke-width=\"0.6\"/>\n",
      edge_mm, lot_top, lot_m * scale, lot_mm);

  const std::vector<Zone> zones{{"run-up", need.run_up_m, "none"},
                                {"reaction", need.reaction_m, "none"},
                                {"stop", need.stop_m, "none"},
                                {"run-off", need.run_off_m, "url(#empty)"}};
  double x_m = 0.0;
  for (const Zone& zone : zones) {
    const double x = edge_mm + x_m * scale, w = zone.metres * scale;
    out += fmt::format(
        "<rect x=\"{:.2f}\" y=\"{:.2f}\" width=\"{:.2f}\" height=\"{:.2f}\" fill=\"{}\" "
        "stroke=\"black\" stroke-width=\"0.3\" stroke-dasharray=\"1.2 0.8\"/>\n",
        x, middle - 0.5 * strip_mm, w, strip_mm, zone.fill);
    // Short zones share their line of text with nobody: name and length stand below one another.
    out += fmt::format(
        "<text x=\"{0:.2f}\" y=\"{1:.2f}\" text-anchor=\"middle\">{2}</text>"
        "<text x=\"{0:.2f}\" y=\"{3:.2f}\" text-anchor=\"middle\" font-weight=\"bold\">{4:.0f} "
        "m</text>\n",
        x + 0.5 * w, lot_top + lot_mm + 5.0, zone.name, lot_top + lot_mm + 9.0,
        std::ceil(zone.metres));
    x_m += zone.metres;
  }
  const double brake_x = edge_mm + (need.run_up_m + need.reaction_m) * scale;
  const double mark_x = edge_mm + need.run_up_m * scale;
  out += fmt::format(
      "<path d=\"M{0:.2f} {1:.2f}V{2:.2f}\" stroke=\"black\" stroke-width=\"1\"/>"
      "<text x=\"{3:.2f}\" y=\"{4:.2f}\" text-anchor=\"start\" font-weight=\"bold\">mark: brake "
      "now</text>\n",
      mark_x, lot_top, lot_top + lot_mm, mark_x + 1.0, lot_top - 1.2);
  // The helper stands before the mark, so that a sliding car leaves and never comes.
  const double helper_x = std::max(edge_mm + 16.0, mark_x - 8.0);
  out += fmt::format(
      "<circle cx=\"{0:.2f}\" cy=\"{1:.2f}\" r=\"1.3\"/><path d=\"M{2:.2f} {3:.2f}H{4:.2f}\" "
      "stroke=\"black\" stroke-width=\"1.2\"/><text x=\"{2:.2f}\" y=\"{5:.2f}\" "
      "text-anchor=\"end\">helper</text>\n",
      helper_x, lot_top - 4.0, helper_x - 2.5, lot_top - 1.6, helper_x + 2.5, lot_top - 3.0);
  const double car_mm = request.lot.car_length_m * scale, car_w = request.lot.car_width_m * scale;
  out += fmt::format(
      "<rect x=\"{:.2f}\" y=\"{:.2f}\" width=\"{:.2f}\" height=\"{:.2f}\"/>"
      "<path d=\"M{:.2f} {:.2f}H{:.2f}\" stroke=\"black\" stroke-width=\"0.4\"/>"
      "<path d=\"M{:.2f} {:.2f}l-2.5 -1.2v2.4z\"/>\n",
      edge_mm, middle - 0.5 * car_w, car_mm, car_w, edge_mm + car_mm, middle, brake_x - 1.0,
      brake_x, middle);
  out += fmt::format(
      "<text x=\"{:.2f}\" y=\"{:.2f}\" text-anchor=\"end\" font-weight=\"bold\">NOBODY in the "
      "hatched run-off or beside the dashed strip</text>\n",
      width_mm - edge_mm, 3.2);
  out += fmt::format(
      "<text x=\"{:.2f}\" y=\"{:.2f}\">To scale. Dashed: {:.0f} m x {:.0f} m needed at {:.0f} "
      "km/h. "
      "Solid: the lot{}. Pace out and mark before the first run.</text>\n</svg>\n",
      edge_mm, height_mm - 1.5, std::ceil(need.length_m()), std::ceil(need.width_m), plan.speed_kmh,
      request.lot_length && request.lot_width
          ? fmt::format(", {:.0f} m x {:.0f} m", request.lot_length->value(),
                        request.lot_width->value())
      : request.lot_length ? fmt::format(", {:.0f} m long", request.lot_length->value())
                           : std::string(", not measured"));
  return out;
}

}  // namespace stopledger
