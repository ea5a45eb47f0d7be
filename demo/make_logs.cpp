// Makes the recordings of the demo: invented cars on the forward model, written as three different
// recorders would export them. Same bytes on every run.

#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <iostream>

#include "model/recorder.h"
#include "model/scenario.h"
#include "model/signals.h"
#include "model/simulate.h"

namespace {

using namespace stopledger;
using namespace stopledger::model;

void write(const std::filesystem::path& path, const Case& c, const Recorder& recorder,
           std::uint64_t seed) {
  const model::Run run = simulate(c, seed);
  std::ofstream file(path, std::ios::binary);
  file << record_run(run, c, recorder, seed + 1).text;
  if (!file.flush()) throw std::runtime_error("cannot write " + path.string());
}

Case stop_on(Surface surface, double speed_kmh) {
  Case c;
  c.ground = {{{surface}, {surface}}};
  c.manoeuvre = straight_stop(speed_kmh / 3.6, 4.0, 9000.0, 5.0);
  return c;
}

std::vector<Role> all_of(const Case& c) {
  std::vector<Role> roles = wheel_speed_roles();
  for (const Role& role : valve_roles(c.unit)) roles.push_back(role);
  roles.push_back(Role::of_car(QuantityKind::pump));
  roles.push_back(Role::of_car(QuantityKind::brake_switch));
  roles.push_back(Role::of_car(QuantityKind::supply_voltage));
  return roles;
}

}  // namespace

int main(int argc, char** argv) try {
  const std::filesystem::path folder = argc > 1 ? argv[1] : "logs";
  std::filesystem::create_directories(folder);

  // Car 1, sound, a tool that reads whole blocks: everything in one run.
  {
    Case c = stop_on(Surface::wet_cobble, 40.0);
    c.controller.rear_select_low = false;
    Recorder recorder;
    recorder.channels = all_of(c);
    recorder.rate_hz = 50.0;
    recorder.noise = 0.002;
    write(folder / "heron-run1.csv", c, recorder, 11);
  }
  // Car 2, a dead outlet valve at the right rear, another wording, semicolons and decimal commas.
  {
    Case c = stop_on(Surface::wet_asphalt, 42.0);
    c.car.drive = Drive::rear;
    c.car.split = CircuitSplit::front_rear;
    c.controller.rear_select_low = false;
    c.faults.push_back({FaultKind::outlet_stuck_closed, 1.0, Corner::rr, 1});
    Recorder recorder;
    recorder.channels = all_of(c);
    recorder.rate_hz = 40.0;
    recorder.noise = 0.002;
    recorder.wording = Wording::spoken;
    recorder.delimiter = ';';
    recorder.decimal_comma = true;
    recorder.state_text = StateText::on_off;
    recorder.preamble_lines = 2;
    write(folder / "wren-run1.csv", c, recorder, 22);
  }
  // Car 3, sound, an old slow link: eight reads a second for all channels together, so fronts,
  // rears and wheel speeds need runs of their own.
  {
    const Case c = stop_on(Surface::snow, 35.0);
    Recorder recorder;
    recorder.sampling = Sampling::turns_repeat;
    recorder.rate_hz = 8.0;
    recorder.wording = Wording::compact;
    recorder.speed_unit = SpeedUnit::mph;
    recorder.speed_step = 1.0;
    recorder.channels = {Role::at(QuantityKind::outlet, Corner::fl),
                         Role::at(QuantityKind::outlet, Corner::fr),
                         Role::at(QuantityKind::wheel_speed, Corner::rl)};
    write(folder / "dunlin-run1.csv", c, recorder, 33);
    recorder.channels = {Role::at(QuantityKind::outlet, Corner::rl),
                         Role::at(QuantityKind::outlet, Corner::rr),
                         Role::at(QuantityKind::wheel_speed, Corner::fl)};
    write(folder / "dunlin-run2.csv", c, recorder, 34);
    recorder.channels = wheel_speed_roles();
    write(folder / "dunlin-run3.csv", c, recorder, 35);
  }
  return 0;
} catch (const std::exception& error) {
  std::cerr << "make_demo_logs: " << error.what() << "\n";
  return 2;
}
