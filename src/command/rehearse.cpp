#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <filesystem>
#include <fstream>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "command/commands.h"
#include "command/ledger_use.h"
#include "model/forecast.h"
#include "model/random.h"
#include "model/recorder.h"
#include "model/scenario.h"
#include "model/signals.h"
#include "plan/recorder.h"
#include "procedure/library.h"
#include "report/wrap.h"

namespace stopledger {

namespace {

constexpr double wanted_chance = 0.95;  // as for `idle`: what the record must be able to show
constexpr int most_stops = 12;          // common practice: at most 10 to 12 in a session
constexpr double wheel_rate_hz = 10.0;  // below this single dips of a wheel cannot be told apart

struct RehearseOptions {
  std::string car, procedure, surface = "wet", recorder = "10/s block", out,
                              fault = "outlet-stuck-closed@FL", own_procedures;
  double speed_kmh = 40.0;
  int stops = 1, draws = 100;
  std::uint64_t seed = 1;
};

/// The roles that a log of this car can hold and the procedure asks for; patterns may end in "*".
std::vector<Role> roles_for(const model::Unit& unit, const std::vector<std::string>& patterns) {
  std::vector<Role> all = model::wheel_speed_roles();
  for (const Role& role : model::valve_roles(unit)) all.push_back(role);
  using enum QuantityKind;
  for (QuantityKind q : {pump, brake_switch, vehicle_speed}) all.push_back(Role::of_car(q));
  if (patterns.empty()) return all;
  std::vector<Role> out;
  for (const Role& role : all) {
    const std::string name = role_name(role);
    const auto matches = [&name](const std::string& pattern) {
      return pattern.ends_with('*') ? name.starts_with(pattern.substr(0, pattern.size() - 1))
                                    : name == pattern;
    };
    if (std::any_of(patterns.begin(), patterns.end(), matches)) out.push_back(role);
  }
  return out.empty() ? all : out;
}

model::Fault parse_fault(const std::string& text) {
  const auto at = text.find('@');
  for (int i = 0; i <= static_cast<int>(model::FaultKind::prime_stuck_closed); ++i) {
    model::Fault fault{static_cast<model::FaultKind>(i)};
    if (model::fault_name(fault.kind) != text.substr(0, at)) continue;
    if (model::fault_place(fault.kind) == model::FaultPlace::car) return fault;
    const std::string place = at == std::string::npos ? "" : text.substr(at + 1);
    if (model::fault_place(fault.kind) == model::FaultPlace::circuit &&
        (place == "1" || place == "2")) {
      fault.circuit = place == "2" ? 2 : 1;
      return fault;
    }
    if (const auto corner = parse_corner(place)) {
      fault.corner = *corner;
      return fault;
    }
    throw Error(ErrorKind::usage,
                "--fault " + text + ": say where, as in " + text.substr(0, at) + "@FL");
  }
  throw Error(ErrorKind::usage, "--fault " + text +
                                    ": not a fault of the model; for example "
                                    "outlet-stuck-closed@FL, inlet-leaking@RR, pump-dead");
}

void write_log(const std::string& folder, const std::string& name, const std::string& text) {
  const auto path = std::filesystem::path(folder) / name;
  std::ofstream file(path, std::ios::binary);
  file << text;
  file.close();
  if (!file)
    throw Error(ErrorKind::file, {path.string()},
                "cannot be written: check that the folder exists and has room");
}

std::string percent(double chance) {
  if (chance > 0.995) return "over 99 %";
  return fmt::format("{:.0f} %", chance * 100.0);
}

/// One corner in words; false when `stops` stops are too few for it.
bool tell_corner(const model::StopForecast& forecast, Corner corner,
                 std::optional<double> interval_s, int stops, std::ostream& out) {
  const double low = forecast.releases(corner, 0.1), mid = forecast.releases(corner, 0.5),
               high = forecast.releases(corner, 0.9);
  std::string text = fmt::format(
      "{:.0f} releases in a stop ({:.0f} to {:.0f}), each opening the outlet for about "
      "{:.0f} ms.",
      mid, low, high, forecast.pulse_s(corner, 0.5) * 1000.0);
  bool enough = true;
  if (interval_s) {
    const double chance = forecast.catch_chance(corner, *interval_s, stops);
    enough = chance >= wanted_chance;
    int needed = 1;
    while (needed <= most_stops &&
           forecast.catch_chance(corner, *interval_s, needed) < wanted_chance)
      ++needed;
    text += fmt::format(
        " Its outlet column is looked at every {:.2f} s: at least one release shows in one stop "
        "with "
        "{}, in three stops with {}",
        *interval_s, percent(forecast.catch_chance(corner, *interval_s, 1)),
        percent(forecast.catch_chance(corner, *interval_s, 3)));
    if (stops != 1 && stops != 3)
      text += fmt::format(", in {} stops with {}", stops, percent(chance));
    text += needed <= most_stops
                ? fmt::format("; {} {} for 95 %.", needed, needed == 1 ? "is enough" : "are needed")
                : fmt::format(
                      "; more than {} would be needed for 95 %: record fewer columns at a "
                      "time or choose more slippery ground.",
                      most_stops);
  } else {
    text += " No outlet column of this corner is recorded.";
  }
  out << wrap(fmt::format("{}: ", corner_name(corner)), text);
  return enough;
}

void rehearse(const RehearseOptions& options, Context& context) {
  const auto surface = model::parse_surface(options.surface);
  if (!surface)
    throw Error(ErrorKind::usage, "--surface " + options.surface + ": not known; choose one of " +
                                      model::surface_names());
  const model::Fault fault = parse_fault(options.fault);
  CarFacts facts;
  if (!options.car.empty()) facts = open_ledger(context, Ledger::Mode::read).car(options.car).facts;
  std::vector<std::string> patterns;
  if (!options.procedure.empty())
    patterns = find_procedure(options.procedure, options.own_procedures.empty()
                                                     ? std::optional<std::string>{}
                                                     : options.own_procedures)
                   .log_channels;

  // One drawn car for the log that is written; many for what is said.
  model::Random random(options.seed);
  model::Case c;
  c.car = draw_car(random, facts);
  c.unit = draw_unit(random, c.car, facts);
  c.controller = draw_controller(random, model::Split::tuning, c.unit, facts);
  const model::Grip grip = draw_grip(random, *surface);
  c.ground = {{grip, grip}};
  c.manoeuvre = model::straight_stop(options.speed_kmh / 3.6, 3.0, 11e3, 2.0);

  const Recorder budget = parse_recorder(options.recorder);
  model::Recorder recorder;
  recorder.channels = roles_for(c.unit, patterns);
  const auto count = static_cast<int>(recorder.channels.size());
  const std::optional<double> interval = budget.interval_s(count);
  if (!interval)
    throw Error(ErrorKind::usage,
                fmt::format("--recorder {}: {} columns are more than it can record; choose a "
                            "procedure that asks for fewer",
                            options.recorder, count));
  const bool block = budget.kind == Recorder::Kind::block;
  recorder.sampling = block ? model::Sampling::block : model::Sampling::turns_repeat;
  recorder.rate_hz = block ? 1.0 / *interval : count / *interval;
  recorder.jitter = block ? 0.0 : budget.jitter;

  const model::StopForecast forecast =
      forecast_stop(facts, *surface, options.speed_kmh, options.draws, options.seed);
  std::ostream& out = context.out;
  out << wrap(
      "", fmt::format("A full-pedal stop from {:.0f} km/h on {} ground takes {:.1f} s ({:.1f} "
                      "to {:.1f}) and {:.0f} m ({:.0f} to {:.0f}), by {} simulated stops of "
                      "sound cars; brackets hold 80 % of them. On a closed lot only.",
                      options.speed_kmh, options.surface, forecast.duration_s(0.5),
                      forecast.duration_s(0.1), forecast.duration_s(0.9), forecast.distance_m(0.5),
                      forecast.distance_m(0.1), forecast.distance_m(0.9), options.draws));
  out << "\nWhat a good log shows, corner by corner:\n";
  bool enough = true;
  bool wheels = false;
  for (const Corner corner : all_corners) {
    bool seen = false;
    for (const Role& role : recorder.channels) {
      const bool here = role.place == PlaceKind::rear_axle
                            ? !is_front(corner)
                            : role.place == PlaceKind::corner && role.corner == corner;
      seen =
          seen ||
          (here && (role.quantity == QuantityKind::outlet || role.quantity == QuantityKind::valve));
      wheels = wheels || (here && role.quantity == QuantityKind::wheel_speed);
    }
    enough =
        tell_corner(forecast, corner, seen ? interval : std::nullopt, options.stops, out) && enough;
  }
  if (wheels && 1.0 / *interval >= wheel_rate_hz)
    out << wrap("",
                "Wheel speeds: each dips under the car's speed and comes back, several times; "
                "only below about 10 km/h may a wheel stand before the car does.");
  else if (wheels)
    out << wrap("", fmt::format("Wheel speeds come every {:.2f} s, too seldom to follow a single "
                                "dip: they show that no wheel stayed locked, and little more.",
                                *interval));
  if (!options.out.empty()) {
    std::error_code ignored;
    std::filesystem::create_directories(options.out, ignored);
    const auto text = [&](const model::Case& which) {
      return record_run(simulate(which, options.seed), which, recorder, options.seed + 1).text;
    };
    write_log(options.out, "good.csv", text(c));
    c.faults = {fault};
    write_log(options.out, "bad.csv", text(c));
    out << "\n"
        << wrap("", fmt::format("Written to {}: good.csv, and bad.csv with {}. Both are simulated; "
                                "`stopledger check` says what it sees in them.",
                                options.out, options.fault));
  }
  context.exit = enough ? ExitCode::yes : ExitCode::no;
}

}  // namespace

void add_rehearse(CLI::App& app, Context& context) {
  auto* sub = app.add_subcommand(
      "rehearse", "See beforehand what a good and a bad log of the planned stop will look like");
  const auto options = std::make_shared<RehearseOptions>();
  sub->add_option("--car", options->car, "a car of the ledger; without it any car");
  sub->add_option("--procedure", options->procedure, "records the columns that it asks for");
  sub->add_option("--procedures", options->own_procedures, "folder of your own procedures");
  sub->add_option("--surface", options->surface, "dry, wet, gravel, snow, ice, ... (wet)");
  sub->add_option("--speed", options->speed_kmh, "entry speed, km/h (40)")
      ->check(CLI::Range(15.0, 100.0));
  sub->add_option("--recorder", options->recorder,
                  "its budget: \"8/s\", \"5/s each\", \"10/s block\" (10/s block)");
  sub->add_option("--stops", options->stops, "stops to reckon with (1); too few: exit status 1")
      ->check(CLI::Range(1, 100));
  sub->add_option("--draws", options->draws, "simulated stops behind the figures (100)")
      ->check(CLI::Range(10, 2000));
  sub->add_option("--seed", options->seed, "another seed, another car (1)");
  sub->add_option("--out", options->out, "write good.csv and bad.csv there")->type_name("FOLDER");
  sub->add_option("--fault", options->fault,
                  "what is wrong in bad.csv: KIND@PLACE (outlet-stuck-closed@FL)");
  sub->callback([=, &context] { rehearse(*options, context); });
}

}  // namespace stopledger
