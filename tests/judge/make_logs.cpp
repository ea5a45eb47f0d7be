// Writes logs with the truth beside them for a range of seeds: the material that verification is
// tuned with (--split tuning) and judged with (--split judging). Not installed.

#include <CLI/CLI.hpp>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>
#include <string>

#include "model/recorder.h"
#include "model/scenario.h"
#include "model/simulate.h"
#include "model/truth.h"

namespace {

using namespace stopledger;
using namespace stopledger::model;
using nlohmann::json;

double rounded(double x) { return std::round(x * 1e4) / 1e4; }

json facts_json(const Case& c) {
  const CarFacts f = car_facts(c);
  json j;
  j["unit_kind"] = unit_kind_name(f.unit_kind);
  j["split"] = split_name(f.split);
  j["drive"] = drive_name(f.drive);
  j["channels"] = *f.channels;
  j["sensors"] = *f.sensors;
  for (Corner corner : all_corners)
    j["tyre_size"][std::string(corner_name(corner))] = rounded(c.car.tyre_size[corner]);
  j["rear_select_low"] = *f.rear_select_low;
  j["has_isolation_valves"] = *f.has_isolation_valves;
  j["rolling_radius_m"] = *f.rolling_radius_m;
  j["wheelbase_m"] = *f.wheelbase_m;
  j["track_m"] = *f.track_m;
  j["mass_kg"] = *f.mass_kg;
  j["steering_ratio"] = *f.steering_ratio;
  return j;
}

json spans_json(const std::vector<Span>& spans, double zero_s) {
  json list = json::array();
  for (const Span& s : spans)
    list.push_back({rounded(s.start_s - zero_s), rounded(s.end_s - zero_s)});
  return list;
}

json release_json(const Release& r, double zero_s) {
  json j;
  j["start_s"] = rounded(r.start_s - zero_s);
  j["end_s"] = rounded(r.end_s - zero_s);
  j["on_s"] = rounded(r.on_s);
  j["pulses"] = r.pulses;
  j["cause"] = cause_name(r.cause);
  j["before_kpa"] = std::round(r.before_kpa);
  j["lowest_kpa"] = std::round(r.lowest_kpa);
  j["regained_kpa"] = std::round(r.regained_kpa);
  j["fell"] = r.fell;
  j["came_back"] = r.came_back;
  j["slip_before"] = rounded(r.slip_before);
  j["slip_after"] = rounded(r.slip_after);
  j["answered"] = r.answered ? json(*r.answered) : json(nullptr);
  j["answer_s"] = r.answered && *r.answered ? json(rounded(r.answer_s)) : json(nullptr);
  return j;
}

json corner_json(const CornerTruth& t, double zero_s) {
  json j;
  int antilock = 0, fell = 0, back = 0, slipped = 0, answered = 0;
  json releases = json::array();
  for (const Release& r : t.releases) {
    releases.push_back(release_json(r, zero_s));
    if (r.cause != Cause::antilock) continue;
    ++antilock;
    fell += r.fell ? 1 : 0;
    back += r.came_back ? 1 : 0;
    slipped += r.answered ? 1 : 0;
    answered += r.answered.value_or(false) ? 1 : 0;
  }
  j["antilock_releases"] = antilock;
  j["fell"] = fell;
  j["came_back"] = back;
  j["slipped"] = slipped;
  j["answered"] = answered;
  j["hold_events"] = t.holds.size();
  j["inlet_on_s"] = rounded(t.inlet_on_s);
  j["peak_slip"] = rounded(t.peak_slip);
  j["locked_s"] = rounded(t.locked_s);
  j["built_kpa"] = std::round(t.built_kpa);
  j["releases"] = releases;
  j["holds"] = spans_json(t.holds, zero_s);
  return j;
}

json event_json(const Event& e, double zero_s) {
  json j;
  j["kind"] = event_name(e.kind);
  j["start_s"] = rounded(e.start_s - zero_s);
  j["end_s"] = rounded(e.end_s - zero_s);
  j["v_start_kmh"] = rounded(e.start_mps * 3.6);
  j["v_end_kmh"] = rounded(e.end_mps * 3.6);
  j["distance_m"] = rounded(e.distance_m);
  j["mfdd_ms2"] = e.mfdd_mps2 ? json(rounded(*e.mfdd_mps2)) : json(nullptr);
  j["modulated"] = e.modulated;
  j["rear_balance"] = e.rear_balance;
  return j;
}

json recorder_json(const Recorder& r) {
  static constexpr std::array<const char*, 5> samplings{"block", "turns-blank", "turns-repeat",
                                                        "rounds", "own-rates"};
  json j;
  j["sampling"] = samplings[static_cast<std::size_t>(r.sampling)];
  j["rate_hz"] = rounded(r.rate_hz);
  json channels = json::array();
  for (std::size_t i = 0; i < r.channels.size(); ++i)
    channels.push_back(
        {{"role", role_name(r.channels[i])}, {"rate_hz", rounded(channel_rate_hz(r, i))}});
  j["channels"] = channels;
  j["ring_teeth"] = r.ring_teeth;
  j["pack_valves"] = r.pack_valves;
  j["jitter"] = rounded(r.jitter);
  j["skew_s"] = rounded(r.skew_s);
  j["speed_step"] = r.speed_step;
  j["clip_mps"] = rounded(r.clip_mps);
  j["noise"] = rounded(r.noise);
  j["stuck_share"] = rounded(r.stuck_share);
  j["satellite_lag_s"] = rounded(r.satellite_lag_s);
  j["swapped_share"] = rounded(r.swapped_share);
  j["clock_back_s"] = rounded(r.clock_back_s);
  j["clock_restart_s"] =
      r.clock_restart_s >= 0.0 ? json(rounded(r.clock_restart_s - r.start_s)) : json(nullptr);
  return j;
}

json grip_json(const Grip& grip) {
  return {{"surface", surface_name(grip.surface)},
          {"factor", rounded(grip.factor)},
          {"fall", rounded(grip.fall)}};
}

json take_json(const Take& take, const Recording& recording, const Truth& truth) {
  const double zero = recording.first_s;  // times of the truth count from the log's first stamp
  json j;
  j["rows"] = recording.rows;
  j["recorder"] = recorder_json(take.recorder);
  const Ground& first = take.c.ground.front();
  j["surface"] = surface_name(first.left.surface);
  j["friction_factor"] = rounded(first.left.factor);
  j["split_surface"] = first.left.surface != first.right.surface;
  for (const Ground& g : take.c.ground)
    j["ground"].push_back({{"from_m", rounded(g.from_m)},
                           {"left", grip_json(g.left)},
                           {"right", grip_json(g.right)}});
  json corners;
  for (Corner corner : all_corners)
    corners[std::string(corner_name(corner))] = corner_json(truth.corners[corner], zero);
  j["corners"] = corners;
  for (std::size_t i = 0; i < 2; ++i)
    j["circuits"][std::to_string(i + 1)] = {{"isolation", spans_json(truth.isolation[i], zero)},
                                            {"prime", spans_json(truth.prime[i], zero)}};
  j["pump"] = {{"commanded", spans_json(truth.pump, zero)},
               {"turned_s", rounded(truth.pump_turned_s)}};
  json events = json::array();
  for (const Event& e : truth.events) events.push_back(event_json(e, zero));
  j["episodes"] = events;
  return j;
}

json fault_json(const Fault& f) {
  json j{{"kind", fault_name(f.kind)}, {"degree", rounded(f.degree)}};
  if (fault_place(f.kind) == FaultPlace::corner) j["corner"] = corner_name(f.corner);
  if (fault_place(f.kind) == FaultPlace::circuit) j["circuit"] = f.circuit;
  return j;
}

void write_file(const std::filesystem::path& path, const std::string& text) {
  std::ofstream file(path, std::ios::binary);
  file << text;
  if (!file.flush()) throw std::runtime_error("cannot write " + path.string());
}

void write_scenario(std::uint64_t seed, Split split, const std::filesystem::path& folder) {
  const Scenario session = scenario(seed, split);
  json truth;
  truth["seed"] = seed;
  truth["split"] = split == Split::judging ? "judging" : "tuning";
  truth["car"] = facts_json(session.takes.front().c);
  const ControllerDesign& design = session.takes.front().c.controller;
  truth["purpose"] = purpose_name(session.purpose);
  truth["controller"] = {{"name", design.name},
                         {"rear_balance", design.rear_balance},
                         {"stability", design.stability},
                         {"traction_brake", design.traction_brake},
                         {"traction_torque", design.traction_torque},
                         {"self_test_kmh", rounded(design.self_test_mps * 3.6)},
                         {"end_kmh", rounded(design.end_speed_mps * 3.6)}};
  truth["faults"] = json::array();
  for (const Fault& f : session.takes.front().c.faults) truth["faults"].push_back(fault_json(f));
  std::size_t number = 0;
  for (const Take& take : session.takes) {
    const Run run = simulate(take.c, take.run_seed);
    const Recording recording = record_run(run, take.c, take.recorder, take.run_seed + 1);
    std::string name = std::to_string(seed);
    if (session.takes.size() > 1) name += static_cast<char>('a' + static_cast<int>(number));
    name += ".csv";
    write_file(folder / name, recording.text);
    json j = take_json(take, recording, find_truth(run, take.c));
    j["file"] = name;
    truth["logs"].push_back(std::move(j));
    ++number;
  }
  write_file(folder / (std::to_string(seed) + ".truth.json"), truth.dump(1) + "\n");
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"Writes simulated logs and their truth for a range of seeds"};
  std::string seeds = "1..20", out = "logs", split = "tuning";
  app.add_option("--seeds", seeds, "range of seeds, A..B")->required();
  app.add_option("--out", out, "folder for SEED.csv (SEEDa.csv, ... per run) and SEED.truth.json")
      ->required();
  app.add_option("--split", split, "tuning or judging")
      ->check(CLI::IsMember({"tuning", "judging"}));
  CLI11_PARSE(app, argc, argv);
  const auto dots = seeds.find("..");
  char* end = nullptr;
  const unsigned long first = std::strtoul(seeds.c_str(), &end, 10);
  const unsigned long last =
      dots == std::string::npos ? first : std::strtoul(seeds.c_str() + dots + 2, &end, 10);
  if (*end != '\0' || last < first) {
    std::cerr << "--seeds wants A..B with whole numbers, for example 1..200\n";
    return 2;
  }
  try {
    std::filesystem::create_directories(out);
    for (unsigned long seed = first; seed <= last; ++seed)
      write_scenario(seed, split == "judging" ? Split::judging : Split::tuning, out);
  } catch (const std::exception& e) {
    std::cerr << e.what() << '\n';
    return 2;
  }
  return 0;
}
