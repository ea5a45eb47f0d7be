#include "report/plan_text.h"

#include <fmt/format.h>

#include <cmath>

#include "plan/day_list.h"
#include "report/plan_words.h"
#include "report/wrap.h"

namespace stopledger {
namespace {

void fold(std::string& out, std::string_view lead, std::string_view text) {
  out += wrap(lead, text, 96);
}

void lot_part(std::string& out, const SessionPlan& plan) {
  const LotNeed& need = plan.need;
  out += "\nThe lot, in driving order\n";
  const auto line = [&](const char* what, double metres, const std::string& why) {
    fold(out, fmt::format("  {:<12}{:>5.0f} m   ", what, std::ceil(metres)), why);
  };
  const double kmh = plan.speed_kmh;
  line("run-up", need.run_up_m, fmt::format("to {:.0f} km/h", kmh));
  line("reaction", need.reaction_m,
       fmt::format("{:.1f} s from the mark to the brake", plan.request.lot.reaction_s));
  line("stop", need.stop_m,
       fmt::format("{:.1f} s at the low end of the grip of {} ({:.2f})", need.stop_s,
                   plan.request.ground.name, plan.request.ground.mu_low));
  line("run-off", need.run_off_m, "what the parking brake needs if the pedal fails; nobody in it");
  line("together", need.length_m(),
       fmt::format("long and {:.0f} m wide, for a slide that goes wrong", std::ceil(need.width_m)));
  const auto& width = plan.request.lot_width;
  line("turning", need.turning_m,
       width && width->value() < need.turning_m
           ? fmt::format("across would do in one go; this lot has {:.0f} m, so reverse at walking "
                         "pace, helper in sight",
                         std::floor(width->value()))
           : "across, to turn about at each end; drive back slowly beside the lane");
}

// "2.4 s of control; releases, as in 8 of 10 simulated cars: FL 4 to 15, ..."
std::string expected_text(const SessionPlan& plan) {
  std::string text = fmt::format("{:.1f} s to standstill; releases in 8 of 10 simulated cars:",
                                 plan.forecast.stop_s);
  bool first = true;
  for (const Corner corner : all_corners) {
    const double high = plan.forecast.releases_in_a_stop(corner, 0.9);
    if (high <= 0.0) continue;  // no valves there, or ground that never calls for them
    text += fmt::format("{} {} {:.0f} to {:.0f}", first ? "" : ",", corner_name(corner),
                        plan.forecast.releases_in_a_stop(corner, 0.1), high);
    first = false;
  }
  return text + ".";
}

void recording_part(std::string& out, const SessionPlan& plan) {
  out += "\nWill the log answer?\n";
  for (std::size_t i = 0; i < plan.looks.size(); ++i) {
    const Look& look = plan.looks[i];
    if (plan.recording.chances[i] <= 0.0) continue;
    const bool answer = look.role.quantity == QuantityKind::wheel_speed;
    const double ceiling = look_ceiling(look);
    const auto percent = [](double share) { return 100.0 * std::floor(1000.0 * share) / 1000.0; };
    out += fmt::format("  {:<6}{:<22}{:>5.1f} % sure{}\n", corners_words(look),
                       answer             ? "answer of the wheel"
                       : look.needed == 1 ? "a release is seen"
                                          : fmt::format("{} releases are seen", look.needed),
                       percent(plan.recording.chances[i]),
                       ceiling < 1.0 ? fmt::format("  ({:.1f} % where it happens at all)",
                                                   percent(plan.recording.chances[i] / ceiling))
                                     : "");
  }
  fold(out, "  Expected in one stop: ", expected_text(plan));
  if (!plan.recording.reached) {
    std::string missing;
    for (std::size_t i = 0; i < plan.looks.size(); ++i)
      if (plan.recording.chances[i] < plan.recording.aims[i])
        missing += (missing.empty() ? "" : ", ") + column_words(plan.looks[i].role);
    fold(out, "  ",
         fmt::format("Not sure enough (95 %) for: {}. Missing evidence is no sign of a fault.",
                     missing));
    for (const Help& help : plan.helps)
      fold(out, "  What would help: ", fmt::format("{} ({} ABS stops)", help.change, help.stops));
  }
  fold(out, "  ",
       fmt::format("Recorder: {}. Reckoned from {}.", plan.request.recorder.describe(),
                   plan.forecast.basis));
}

void runs_part(std::string& out, const SessionPlan& plan) {
  out += "\nRuns (name each log file as its run)\n";
  out += "  run    at     km/h  front disc      then roll\n";
  for (const Run& run : plan.runs) {
    if (run.new_columns)
      fold(out, "    choose these columns and check them: ", columns_words(run.columns));
    fold(out,
         fmt::format("  {:<6} {:<6} {:>4.0f}  {:>3.0f} to {:>3.0f} degC {:>3.0f} min {:02.0f} s  ",
                     run_name(run), clock_words(plan, run.start_min), run.speed_kmh,
                     run.front_before_c, run.front_after_c, std::floor(run.rest_s / 60.0),
                     std::fmod(run.rest_s, 60.0)),
         run.shows);
  }
}

void tasks_part(std::string& out, const SessionPlan& plan, const char* title,
                const std::vector<Task>& tasks) {
  out += fmt::format("\n{}\n", title);
  for (const Task& task : tasks)
    fold(out, fmt::format("  [ ] {:<6} ", clock_words(plan, task.start_min)), task.text);
}

void route_part(std::string& out, const SessionPlan& plan) {
  const Day session = plan.route.session_day;
  out += fmt::format("\nThe whole route: {}\n", route_name(plan.route.route));
  std::string part;
  for (const RouteStep& step : plan.route.steps) {
    const std::string heading =
        step.latest_day < 0    ? "  before"
        : step.latest_day == 0 ? fmt::format("  to the session on {}{}", format_day(session),
                                             session == plan.request.day ? "" : " at the earliest")
                               : "  afterwards";
    if (heading != part) out += heading + "\n";
    part = heading;
    fold(out,
         fmt::format("  [ ] {} {}  {:<17}", format_day(step.from),
                     step.from == step.to ? std::string(13, ' ') : "to " + format_day(step.to),
                     step.procedure),
         (step.optional ? "optional: " : "") + step.why);
  }
}

void answer_part(std::string& out, const SessionPlan& plan) {
  fold(out, plan.go() ? "GO, " : "NO-GO: ",
       plan.go() ? "if every line of the list before the drive is a yes on the day."
                 : "do not drive this session. What stands in the way, and what clears it:");
  out += fmt::format("Session with {} on {}\n", plan.car, format_day(plan.request.day));
  for (const Block& blocker : plan.blockers) {
    fold(out, fmt::format("  {:<14} ", blocker.id), block_words(blocker));
    fold(out, "                 clears it: ", blocker.clears);
    if (const std::string name = override_name(blocker); !name.empty())
      fold(out, "                 or go on in spite of it: ",
           fmt::format("--override {}=REASON, which is kept", name));
  }
  for (const Overridden& past : plan.overridden)
    fold(out, fmt::format("  OVERRIDDEN {}: ", override_name(past.block)),
         fmt::format("{}. Reason given: {}", block_words(past.block), past.reason_given));
}

void short_part(std::string& out, const SessionPlan& plan) {
  const SessionRequest& request = plan.request;
  out += "\nIn short\n";
  const int minutes = static_cast<int>(std::lround(plan.timetable.end_min));
  fold(out, "  ",
       fmt::format(
           "{} ABS stop{} on {} from {:.0f} km/h: one slow stop to see that the ABS acts, {} "
           "recorded. {} h {:02} min with all checks.",
           1 + plan.recording.stops(), plan.recording.stops() == 0 ? "" : "s", request.ground.name,
           plan.speed_kmh, plan.recording.stops(), minutes / 60, minutes % 60));
  if (plan.fits_kmh > 0.0)
    fold(out, "  ",
         fmt::format("The lot holds {:.0f} km/h at most; the run from {:.0f} km/h takes {:.0f} m.",
                     std::floor(plan.fits_kmh), plan.speed_kmh, std::ceil(plan.need.length_m())));
  if (plan.light.set_min && request.start_min)
    fold(out, "  ",
         fmt::format("From {} to {}; the sun sets at {}.", clock_words(plan, 0.0),
                     clock_words(plan, plan.timetable.end_min),
                     clock_words(plan, *plan.light.set_min - *request.start_min)));
  fold(out, "  ",
       fmt::format("Route: {}, because {}{}.", route_name(plan.route.route), plan.route.reason,
                   plan.route.circumstances().empty() ? "" : "; " + plan.route.circumstances()));
  fold(out, "  ",
       fmt::format(
           "Heat: hottest disc {:.0f} degC; fluid {:.0f} degC ({}). {} about {:.0f} s in "
           "all, resting between stops.",
           plan.heat.hottest_c, plan.heat.fluid_boils_c.value_or(0.0), plan.heat.fluid_basis,
           plan.unit_kind == UnitKind::motor_piston ? "Piston motors" : "Pump", plan.heat.pump_s));
  if (!request.ground.remark.empty())
    fold(out, "  ", fmt::format("Surface {}: {}", request.ground.name, request.ground.remark));
  for (const std::string& note : plan.notes) fold(out, "  Note: ", note);
  for (const Block& soft : plan.advice)
    fold(out, "  Advice: ", fmt::format("{}; {}", soft.reason, soft.clears));
}

}  // namespace

std::string plan_text(const SessionPlan& plan, const PlanTexts& texts) {
  std::string out;
  answer_part(out, plan);
  short_part(out, plan);
  if (!plan.go()) {
    recording_part(out, plan);
    route_part(out, plan);
    out += "\nRuns and lists are printed when nothing stands in the way any more: plan again.\n";
    return out;
  }
  out += "\nCautions\n";
  for (const auto& [id, text] : texts.cautions) fold(out, fmt::format("  {:<4} ", id), text);
  out += "\nSTOP AT ONCE WHEN\n";
  for (const std::string& condition : texts.stop_conditions) fold(out, "  - ", condition);
  tasks_part(out, plan, "Before the drive", plan.timetable.before);
  out += "  Every line a yes, or no session:\n";
  for (const DayItem& item : day_list())
    fold(out, "  [ ] ",
         item.blank.empty() ? std::string(item.text)
                            : fmt::format("{} ____ {}", item.text, item.blank));
  out += "\nTell the driver\n";
  for (const std::string_view line : driver_lines(plan.unit_kind)) fold(out, "  ", line);
  lot_part(out, plan);
  runs_part(out, plan);
  recording_part(out, plan);
  tasks_part(out, plan, "Afterwards (the session stays open until this is entered)",
             plan.timetable.after);
  route_part(out, plan);
  return out;
}

}  // namespace stopledger
