// Judges stability and traction episodes against the model's truth, and prints one table.
//   build/release/judge_control --seeds 1001..1060 --split judging

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <map>
#include <string>

#include "judge/control_tally.h"
#include "verify/check.h"

namespace {

using namespace stopledger;
using control_cases::ControlRun;
using control_cases::Group;
using control_cases::Tally;
using control_cases::TrueEpisode;

void list_run(const ControlRun& run, const CheckOutcome& outcome, std::uint64_t seed) {
  const auto names = [](const std::vector<Corner>& corners) {
    std::string text;
    for (const Corner corner : corners) text += " " + std::string(corner_name(corner));
    return text;
  };
  fmt::print("{} {} {} Hz valves {} throttle {} timing {}\n", seed, group_name(run.group),
             run.rate_hz, run.valves_logged, run.throttle_logged, run.timing_logged);
  for (const TrueEpisode& t : run.truth)
    fmt::print(
        "  true {} {:.2f} to {:.2f}, tendency {}, braked{}, answered {}, cut {}, spin {:.2f} s "
        "{:.1f} m/s\n",
        t.stability ? "stability" : "traction", t.start_s, t.end_s, static_cast<int>(t.tendency),
        names(t.braked), t.answered, t.torque_cut, t.spin_s, t.spin_mps);
  for (const Episode& e : outcome.episodes) {
    fmt::print("  said kind {} {:.2f} to {:.2f}", static_cast<int>(e.kind), e.start_s, e.end_s);
    if (e.stability)
      fmt::print(", tendency {}, braked{}", static_cast<int>(e.stability->tendency),
                 names(e.stability->braked));
    if (e.traction)
      fmt::print(", braked{}, spun{} {:.2f} s {:.1f} m/s, answered {}, cut {}, floor {}, pedal {}",
                 names(e.traction->braked), names(e.traction->spun), e.traction->spin_s.value_or(0),
                 e.traction->spin_kmh.value_or(0) / 3.6,
                 e.traction->answered ? (*e.traction->answered ? "yes" : "no") : "-",
                 e.traction->torque_cut ? (*e.traction->torque_cut ? "yes" : "no") : "-",
                 e.traction->throttle_floor_pct.value_or(-1), e.traction->pedal_pct.value_or(-1));
    fmt::print("\n");
  }
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"judges stability and traction episodes against simulated truth"};
  std::string seeds = "1..20", split = "tuning";
  bool list = false;
  app.add_option("--seeds", seeds, "FIRST..LAST");
  app.add_option("--split", split, "tuning or judging")
      ->check(CLI::IsMember({"tuning", "judging"}));
  app.add_flag("--list", list, "every run");
  CLI11_PARSE(app, argc, argv);
  const std::size_t dots = seeds.find("..");
  const std::uint64_t first = std::stoull(seeds), last = std::stoull(seeds.substr(dots + 2));
  std::map<std::pair<std::size_t, double>, Tally> table;
  for (std::uint64_t seed = first; seed <= last; ++seed)
    for (std::size_t group = 0; group < control_cases::group_count; ++group)
      for (const double rate_hz : {10.0, 50.0, 100.0}) {
        const ControlRun run = control_cases::draw_control_run(
            seed, static_cast<Group>(group), rate_hz,
            split == "judging" ? model::Split::judging : model::Split::tuning);
        const CheckOutcome outcome = check_logs({&run.log, 1}, car_facts(run.c), nullptr);
        judge_control_run(run, outcome, table[{group, rate_hz}]);
        if (list) list_run(run, outcome, seed);
      }
  fmt::print(
      "{:<11}{:>4} | {:>5} {:>5} {:>5} | tendency {:>4} {:>4} {:>4} | braked {:>4} {:>4} {:>4} | "
      "torque {:>4} {:>4} {:>4} | unanswered {:>4} {:>4} {:>4}\n",
      "", "Hz", "true", "found", "false", "of", "ok", "bad", "of", "ok", "bad", "of", "ok", "bad",
      "of", "said", "bad");
  for (const auto& [key, l] : table)
    fmt::print(
        "{:<11}{:>4} | {:>5} {:>5} {:>5} |          {:>4} {:>4} {:>4} |        {:>4} {:>4} {:>4} | "
        "       {:>4} {:>4} {:>4} |            {:>4} {:>4} {:>4}\n",
        group_name(static_cast<Group>(key.first)), key.second, l.truth, l.found, l.false_alarm,
        l.tendency, l.tendency_right, l.tendency_wrong, l.braked, l.braked_right, l.braked_wrong,
        l.cut, l.cut_right, l.cut_wrong, l.unanswered, l.unanswered_said, l.unanswered_false);
  return 0;
}
