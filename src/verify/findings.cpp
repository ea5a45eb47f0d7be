#include "verify/findings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "verify/criteria.h"
#include "verify/lamp.h"
#include "verify/log_findings.h"
#include "verify/spin_findings.h"

namespace stopledger {

namespace {

constexpr const char* stop_driving =
    " Do not drive the car on the road; have it looked at by a licensed technician. The "
    "lifted-wheel "
    "valve test tells the valve from the caliper or hose.";

class Collector {
 public:
  void add(const char* id, Severity severity, std::optional<Corner> corner, std::string text) {
    findings_.push_back({id, severity, corner, std::move(text)});
  }
  void add(Finding finding) { findings_.push_back(std::move(finding)); }
  std::vector<Finding> take() {
    std::stable_sort(findings_.begin(), findings_.end(), [](const Finding& a, const Finding& b) {
      return static_cast<int>(a.severity) > static_cast<int>(b.severity);
    });
    return std::move(findings_);
  }

 private:
  std::vector<Finding> findings_;
};

struct AnswerCount {
  int answered = 0, unanswered = 0, not_rebuilt = 0;
  bool faded = false;
};

AnswerCount count_answers(const CornerEvidence& evidence) {
  AnswerCount sum;
  for (const auto& stop : evidence.answers) {
    bool answered_before = false;
    int unanswered_after = 0;
    for (const Answer& answer : stop) {
      if (answer.answered) ++sum.answered, answered_before = true, unanswered_after = 0;
      if (answer.unanswered) ++sum.unanswered, ++unanswered_after;
      if (answer.not_rebuilt) ++sum.not_rebuilt;
    }
    sum.faded = sum.faded || (answered_before && unanswered_after >= 1);
  }
  return sum;
}

void corner_findings(Collector& out, Corner corner, const CornerEvidence& evidence,
                     const CornerOutcome& outcome, const std::optional<int>& circuit) {
  const std::string name(corner_name(corner));
  const AnswerCount counted = count_answers(evidence);
  if (outcome.result == Result::suspect) {
    if (counted.faded) {
      out.add(
          "releases-fade", Severity::fault, corner,
          fmt::format("{}: the first releases were answered, later ones were not ({} of {}). When "
                      "both wheels of one circuit{} do this, the return pump or the accumulator of "
                      "that circuit is the first thing to look at.{}",
                      name, counted.answered, counted.answered + counted.unanswered,
                      circuit ? fmt::format(" (here circuit {})", *circuit) : "", stop_driving));
    } else if (counted.not_rebuilt > 0 && counted.unanswered == 0) {
      out.add(
          "rebuild-unanswered", Severity::fault, corner,
          fmt::format("{}: apply was commanded but the wheel went on rolling free. The inlet valve "
                      "may not reopen, or its passage is blocked.{}",
                      name, stop_driving));
    } else if (counted.unanswered > 0) {
      out.add("release-unanswered", Severity::fault, corner,
              fmt::format(
                  "{}: {} of {} commanded releases left the wheel in slip. The outlet valve may "
                  "not open or the inlet not hold; a caliper or hose that is slow to release "
                  "looks the same.{}",
                  name, counted.unanswered, counted.answered + counted.unanswered, stop_driving));
    }
  } else if (counted.not_rebuilt > 0) {
    out.add(
        "rebuild-unanswered", Severity::caution, corner,
        fmt::format("{}: once the wheel rolled free although apply was commanded. One such moment "
                    "can be the road; look at it again in the next run.",
                    name));
  }
  if (evidence.longest_lock_s > criteria.lock_tolerated_s && evidence.shared_lock &&
      outcome.result != Result::suspect) {
    out.add("wheel-locked", Severity::caution, corner,
            fmt::format(
                "{}: locked for {:.2f} s above 15 km/h together with its axle partner, and both "
                "recovered: a slippery patch does this.",
                name, evidence.longest_lock_s));
  } else if (evidence.longest_lock_s > criteria.lock_tolerated_s && evidence.lock_in_slide &&
             outcome.result != Result::suspect) {
    out.add("wheel-locked", Severity::caution, corner,
            fmt::format(
                "{}: locked for {:.2f} s above 15 km/h while the car turned hard. In a slide the "
                "wheels turn slower than the car moves, so nothing is read from it; repeat the "
                "stop straight ahead.",
                name, evidence.longest_lock_s));
  } else if (evidence.longest_lock_s > criteria.lock_tolerated_s) {
    out.add("wheel-locked", Severity::fault, corner,
            fmt::format("{}: wheel locked for {:.2f} s above 15 km/h.{}", name,
                        evidence.longest_lock_s, stop_driving));
    if (evidence.valves_visible && evidence.releases == 0 && evidence.closings == 0 &&
        evidence.few_catch >= criteria.idle_catch)
      out.add("never-commanded", Severity::fault, corner,
              fmt::format(
                  "{}: the wheel locked and no valve command was seen although the log would "
                  "have caught one with {:.0f} %: the control did not act here (sensor, wiring, "
                  "control unit, or the column is not this corner's).{}",
                  name, 100.0 * evidence.few_catch, stop_driving));
  }
  if (outcome.result != Result::suspect && outcome.answered_share && *outcome.answered_share < 0.75)
    out.add("slow-answer", Severity::caution, corner,
            fmt::format(
                "{}: only {:.0f} % of the releases were answered in time. A slow valve, a tired "
                "caliper or a collapsed hose look alike; repeat the run and compare.",
                name, 100.0 * *outcome.answered_share));
  if (auto lost = signal_lost(corner, evidence)) out.add(std::move(*lost));
  const bool silent = evidence.valves_visible && evidence.releases == 0 && evidence.closings == 0 &&
                      evidence.balance == 0;
  if (evidence.column_stuck || (silent && evidence.swings >= 3 && evidence.reslips >= 2))
    out.add(
        "channel-stuck", Severity::caution, corner,
        fmt::format(
            "{}: a valve column never changes although {}. It is stuck, not connected, or "
            "not what its name says; check the channel list.",
            name, silent && evidence.swings >= 3 ? "the wheel was cycling" : "the car was braked"));
  if (evidence.swapped)
    out.add(
        "channels-swapped", Severity::fault, corner,
        fmt::format("{}: this valve works just before another wheel recovers. Columns may be mixed "
                    "up in the export, or wheel-speed sensors crossed on the car: settle which "
                    "before the next run, crossed sensors are a fault.",
                    name));
  if (evidence.glitches > 0)
    out.add("stray-sample", Severity::note, corner,
            fmt::format("{}: one lone sample of an open outlet was not counted.", name));
}

void slow_answers(Collector& out, const CheckOutcome& outcome) {
  std::vector<double> delays;
  for (const Corner corner : all_corners)
    if (outcome.corners[corner].response_delay_s)
      delays.push_back(*outcome.corners[corner].response_delay_s);
  if (delays.size() < 3) return;
  std::sort(delays.begin(), delays.end());
  const double usual = delays[(delays.size() - 1) / 2];
  for (const Corner corner : all_corners) {
    const auto& delay = outcome.corners[corner].response_delay_s;
    if (delay && *delay > criteria.slow_ratio * usual && *delay > usual + criteria.slow_excess_s)
      out.add("slow-answer", Severity::caution, corner,
              fmt::format(
                  "{}: the wheel answered after {:.2f} s, the others after about {:.2f} s. A slow "
                  "outlet, a tired caliper or a collapsed hose look alike; watch it over the "
                  "years and have it checked if it grows.",
                  corner_name(corner), *delay, usual));
  }
}

void lamp_lit(Collector& out, const PreparedLog& run) {
  if (const auto lit = lamp_lit_driving_s(run))
    out.add("lamp-lit", Severity::fault, std::nullopt,
            fmt::format(
                "{}: an ABS or stability lamp stayed lit for {:.1f} s above {:.0f} km/h. The "
                "control unit has found a fault or the function is switched off, whatever the "
                "corners show; a wrong column or a lamp logged the other way round looks the same. "
                "Do no more exercise stops; have the stored faults read and mended first.",
                run.log->file, *lit, criteria.lamp_kmh));
}

}  // namespace

std::vector<Finding> find_all(const Session& session, const CheckOutcome& outcome) {
  Collector out;
  bool any_stop = false, any_modulated = false, any_unmodulated_hard = false, cut = false,
       self_test = false, balance = false, stop_cut = false;
  for (const JudgedStretch& judged : *session.stretches) {
    const Stretch& stretch = judged.stretch;
    any_stop = any_stop || stretch.braking;
    any_modulated = any_modulated || (stretch.braking && judged.modulated.value_or(false));
    any_unmodulated_hard = any_unmodulated_hard || (stretch.braking && judged.modulated == false);
    cut = cut || (stretch.braking && (stretch.start_cut || stretch.end_cut));
    stop_cut = cut;
    self_test = self_test || stretch.episode.kind == EpisodeKind::self_test;
    balance = balance || judged.balance_only;
  }
  for (const Corner corner : all_corners)
    corner_findings(out, corner, (*session.evidence)[corner], outcome.corners[corner],
                    circuit_of(session.car->split, corner));
  slow_answers(out, outcome);
  if ((*session.evidence)[Corner::fl].all_unanswered)
    out.add(
        "no-wheel-answered", Severity::caution, std::nullopt,
        "At no wheel were the releases mostly answered. Bare ice does this, and a car's speed "
        "that was read too high; so does a unit that works nowhere. Until a wheel has answered, do "
        "not drive the car on the road. Repeat the stop, slowly and on the closed lot only, where "
        "there is more grip; if no wheel answers there either, have it looked at by a licensed "
        "technician.");

  if (outcome.pump.result == Result::suspect)
    out.add("pump-silent", Severity::fault, std::nullopt, outcome.pump.reason + stop_driving);
  if (!any_stop) out.add(no_stop_found(*session.runs, (*session.evidence)[Corner::fl].speed_hint));
  if (self_test && !any_modulated)
    out.add("self-test-only", Severity::note, std::nullopt,
            "The drive-off self-test was seen; it never counts as exercise.");
  if (balance && !any_modulated)
    out.add(
        "rear-balance-only", Severity::note, std::nullopt,
        "Rear valves worked in ordinary braking with quiet fronts: the rear balance function, no "
        "anti-lock exercise.");
  if (stop_cut)
    out.add("log-cut-short", Severity::caution, std::nullopt,
            "The log begins or ends in the middle of braking; what happened outside it cannot be "
            "judged.");
  if (auto spin = spin_unanswered(*session.stretches)) out.add(std::move(*spin));
  for (const Corner corner : all_corners) {
    const CornerEvidence& evidence = (*session.evidence)[corner];
    if (evidence.valves_visible && evidence.stops > 0 &&
        outcome.corners[corner].result == Result::unseen &&
        evidence.few_catch < criteria.idle_catch) {
      out.add("log-too-slow", Severity::caution, corner,
              fmt::format(
                  "{}: valves were looked at every {:.2f} s; a release of a few hundredths of a "
                  "second falls between the looks (chance to catch one: {:.0f} %).",
                  corner_name(corner), evidence.slowest_step_s,
                  std::floor(100.0 * evidence.few_catch)));
    }
  }
  for (const PreparedLog& run : *session.runs) {
    lamp_lit(out, run);
    bool held = false;
    for (const Channel& channel : run.log->channels) held = held || channel.repeats_held;
    if (held)
      out.add(
          "hold-repeats", Severity::note, std::nullopt,
          fmt::format("{}: the recorder repeats old values between updates; only fresh values were "
                      "counted.",
                      run.log->file));
    if (auto apart = read_times_apart(*run.log)) out.add(std::move(*apart));
    if (run.log->segments.size() > 1)
      out.add("clock-restart", Severity::note, std::nullopt,
              fmt::format(
                  "{}: the clock restarts or steps; the log was read as {} pieces and nothing was "
                  "joined across.",
                  run.log->file, run.log->segments.size()));
    for (const Corner corner : all_corners) {
      const WheelView& wheel = run.wheels[corner];
      if (wheel.known && !wheel.axle_mean && std::abs(wheel.scale - 1.0) > 0.03)
        out.add("wheel-scale-off", Severity::note, corner,
                fmt::format(
                    "{}: this wheel reads {:.1f} % {} than the others in free rolling (tyre size, "
                    "wear or pressure); it was corrected.",
                    corner_name(corner), 100.0 * std::abs(1.0 / wheel.scale - 1.0),
                    wheel.scale < 1.0 ? "more" : "less"));
    }
  }
  if (session.expectation)
    for (const Corner corner : all_corners) {
      const CornerOutcome& one = outcome.corners[corner];
      if (one.asked && one.enough == false && one.result == Result::exercised)
        out.add(
            "few-cycles", Severity::caution, corner,
            fmt::format("{}: exercised, but {} releases were seen and the procedure asks for {}.",
                        corner_name(corner), one.release_events.value_or(0),
                        session.expectation->corners[corner].min_releases));
    }
  return out.take();
}

}  // namespace stopledger
