// Draws a dozen cases of the forward model as SVG, to be looked at: do they look like real stops?
//   build/make_pictures FOLDER

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <functional>
#include <string>
#include <vector>

#include "model/scenario.h"
#include "model/simulate.h"

namespace {

using namespace stopledger;
using namespace stopledger::model;

constexpr double left = 60.0, width = 1040.0;
constexpr std::array<const char*, 4> colours{"#c0392b", "#2471a3", "#e59866", "#7fb3d5"};

struct Named {
  std::string name, title;
  Case c;
};

/// One panel of curves over time.
class Panel {
 public:
  Panel(std::string& svg, const Run& run, double top, double height, double highest,
        const std::string& label)
      : svg_(svg), run_(run), top_(top), height_(height), highest_(highest) {
    svg_ += fmt::format(
        "<rect x='{}' y='{}' width='{}' height='{}' fill='none' stroke='#999'/>"
        "<text x='6' y='{}' font-size='12'>{}</text><text x='20' y='{}' "
        "font-size='11'>{:.0f}</text>",
        left, top, width, height, top + height / 2.0, label, top + 10.0, highest);
  }
  void curve(const char* colour, double stroke, const std::function<double(const Frame&)>& value) {
    svg_ +=
        fmt::format("<polyline fill='none' stroke='{}' stroke-width='{}' points='", colour, stroke);
    for (std::size_t i = 0; i < run_.frames.size(); i += 4) {
      const Frame& f = run_.frames[i];
      const double share = std::clamp(value(f) / highest_, 0.0, 1.0);
      svg_ += fmt::format("{:.1f},{:.1f} ", x(f.t_s), top_ + height_ * (1.0 - share));
    }
    svg_ += "'/>";
  }
  [[nodiscard]] double x(double t_s) const { return left + width * t_s / run_.duration_s(); }

 private:
  std::string& svg_;
  const Run& run_;
  double top_, height_, highest_;
};

/// Bars where a state is on.
void bars(std::string& svg, const Run& run, double top, const char* colour,
          const std::string& label, const std::function<bool(const Frame&)>& on) {
  svg += fmt::format("<text x='2' y='{}' font-size='10'>{}</text>", top + 7.0, label);
  const double scale = width / run.duration_s();
  double from = -1.0;
  for (const Frame& f : run.frames) {
    const bool now = on(f);
    if (now && from < 0.0) from = f.t_s;
    if (!now && from >= 0.0) {
      svg += fmt::format("<rect x='{:.1f}' y='{}' width='{:.1f}' height='7' fill='{}'/>",
                         left + from * scale, top, std::max((f.t_s - from) * scale, 0.4), colour);
      from = -1.0;
    }
  }
}

std::string draw(const Named& named) {
  const Run run = simulate(named.c, 1);
  std::string svg = fmt::format(
      "<svg xmlns='http://www.w3.org/2000/svg' width='1120' height='640' font-family='sans-serif'>"
      "<rect width='1120' height='640' fill='white'/><text x='60' y='20' font-size='15'>{}</text>",
      named.title);
  double top_speed = 1.0, top_pressure = 1.0;
  for (const Frame& f : run.frames) {
    for (Corner corner : all_corners) {
      top_speed = std::max({top_speed, f.speed_mps * 3.6, f.wheel_mps[corner] * 3.6});
      top_pressure = std::max(top_pressure, f.pressure_kpa[corner] / 100.0);
    }
  }
  Panel speeds(svg, run, 35.0, 260.0, top_speed, "km/h");
  Panel pressures(svg, run, 310.0, 180.0, top_pressure, "bar");
  for (Corner corner : all_corners) {
    const auto* colour = colours[static_cast<std::size_t>(corner)];
    speeds.curve(colour, 1.0, [corner](const Frame& f) { return f.wheel_mps[corner] * 3.6; });
    pressures.curve(colour, 1.2,
                    [corner](const Frame& f) { return f.pressure_kpa[corner] / 100.0; });
    const double row = 505.0 + 26.0 * static_cast<double>(corner);
    const std::string name(corner_name(corner));
    bars(svg, run, row, "#bbb", name + " inlet",
         [corner](const Frame& f) { return f.inlet[corner] > 0.5; });
    bars(svg, run, row + 10.0, colour, name + " outlet",
         [corner](const Frame& f) { return f.outlet[corner] > 0.5; });
  }
  speeds.curve("black", 1.8, [](const Frame& f) { return f.speed_mps * 3.6; });
  bars(svg, run, 610.0, "#444", "pump", [](const Frame& f) { return f.pump; });
  bars(svg, run, 622.0, "#8e44ad", "isolation",
       [](const Frame& f) { return f.isolation[0] || f.isolation[1]; });
  return svg + "</svg>\n";
}

Case stop_on(Surface surface, double kmh, double factor = 1.0) {
  Case c;
  const Grip grip{surface, factor, surface == Surface::dry_asphalt ? 0.4 : 1.0};
  c.ground = {{grip, grip}};
  c.manoeuvre = straight_stop(kmh / 3.6, 0.5, 11e3, 0.5);
  return c;
}

std::vector<Named> dozen() {
  std::vector<Named> out;
  const auto add = [&out](std::string name, std::string title, Case c) {
    out.push_back({std::move(name), std::move(title), std::move(c)});
  };
  add("dry", "Dry asphalt, 60 km/h, stepped design", stop_on(Surface::dry_asphalt, 60.0));
  add("wet", "Wet asphalt, 50 km/h, stepped design", stop_on(Surface::wet_asphalt, 50.0));
  Case coarse = stop_on(Surface::wet_asphalt, 50.0);
  coarse.controller = controller_designs()[2];
  add("wet-coarse", "Wet asphalt, 50 km/h, coarse design", coarse);
  add("gravel", "Loose gravel, 40 km/h", stop_on(Surface::gravel, 40.0));
  add("snow", "Packed snow, 30 km/h", stop_on(Surface::snow, 30.0, 1.3));
  add("ice", "Ice, 25 km/h", stop_on(Surface::ice, 25.0, 1.8));
  Case locked = stop_on(Surface::wet_asphalt, 50.0);
  locked.faults = {{FaultKind::control_off}};
  add("control-off", "Wet asphalt, control off: wheels lock", locked);
  Case outlet = stop_on(Surface::wet_asphalt, 50.0);
  outlet.faults = {{FaultKind::outlet_stuck_closed, 1.0, Corner::fr}};
  add("outlet-stuck", "Wet asphalt, outlet FR does not open", outlet);
  Case pump = stop_on(Surface::snow, 40.0, 1.3);
  pump.faults = {{FaultKind::pump_dead}};
  add("pump-dead", "Packed snow, pump does not run: releases die out", pump);
  Case split = stop_on(Surface::wet_asphalt, 50.0);
  split.ground.front().right = {Surface::snow, 1.2, 1.0};
  split.controller.split_yaw_delay_s = 0.25;
  add("split", "Wet left, snow right", split);
  Case launch = split;
  launch.ground = {{{Surface::ice, 1.0, 1.0}, {Surface::wet_asphalt, 1.0, 1.0}}};
  launch.unit.has_isolation_valves = launch.controller.traction_brake = true;
  launch.controller.traction_torque = true;
  launch.manoeuvre = {
      0.0, {{.duration_s = 0.5, .pedal_kpa = 1500.0}, {.duration_s = 4.0, .accelerator = 0.7}}};
  add("traction", "Pulling away, ice under the left driven wheel", launch);
  Case slide = launch;
  slide.ground = {{{Surface::snow, 1.0, 1.0}, {Surface::snow, 1.0, 1.0}}};
  slide.controller.stability = true;
  slide.manoeuvre = {12.5,
                     {{.duration_s = 1.0, .keep_speed_mps = 12.5},
                      {.duration_s = 1.2, .keep_speed_mps = 12.5, .steer_rad = 3.0},
                      {.duration_s = 2.0}}};
  add("stability", "Left bend too tight for the snow: inside rear braked", slide);
  return out;
}

}  // namespace

int main(int argc, char** argv) {
  const std::filesystem::path folder = argc > 1 ? argv[1] : "pictures";
  std::error_code ignored;
  std::filesystem::create_directories(folder, ignored);
  for (const Named& named : dozen()) {
    std::ofstream file(folder / (named.name + ".svg"));
    file << draw(named);
    if (!file.flush()) {
      std::fprintf(stderr, "cannot write to %s\n", folder.string().c_str());
      return 2;
    }
  }
  return 0;
}
