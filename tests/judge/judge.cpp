// Judges the whole path (model -> recorder text -> reader -> check) against the model's truth for a
// range of seeds, and prints one set of tables. Not installed.

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <iostream>
#include <map>
#include <mutex>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "base/error.h"
#include "log/reader.h"
#include "model/packed.h"
#include "model/recorder.h"
#include "model/scenario.h"
#include "model/signals.h"
#include "model/simulate.h"
#include "model/truth.h"
#include "signal/binomial.h"
#include "signal/series.h"
#include "verify/check.h"

namespace {

using namespace stopledger;
using model::Cause;
using model::FaultKind;

/// What the truth says of one corner over a whole session.
struct CornerTruth {
  int releases = 0,
      answered = 0;  ///< anti-lock releases; of these pressure fell and wheel answered
  int fell = 0;      ///< releases that let the pressure fall
  int wheel = 0;     ///< releases that the wheel answered, however little the pressure fell
  int slipped = 0;   ///< releases at a wheel that had something to answer
  int moved = 0;     ///< valve movement of any cause
  bool self_test = false;
  bool whole_fault = false;  ///< a fault of this corner, its circuit or the car, degree 0.9 up
  bool any_fault = false;
  bool fault_elsewhere = false;  ///< the corner is sound, another one or the car is not
  double degree = 0.0;
  std::string fault = "sound";
};

struct Row {
  std::uint64_t seed;
  Corner corner;
  CornerTruth truth;
  CornerOutcome outcome;
  std::string band, sampling;
  double rate_hz;  ///< slowest channel of the fastest log
  bool plain;      ///< all channels at 50 Hz or more in one log
  bool wheels20;
  bool fine;  ///< wheel speeds in steps of 0.5 km/h or less
};

struct StopError {
  double distance, mfdd;
  bool fast;
};

struct Tally {
  std::vector<Row> rows;
  std::vector<StopError> stops;
  std::vector<std::string> failures;
};

/// Faults that keep a corner from being worked as commanded (others are of sensors or supply).
bool concerns_valves(FaultKind kind) {
  switch (kind) {
    case FaultKind::sensor_dead:
    case FaultKind::sensor_dropout:
    case FaultKind::ring_cracked:
    case FaultKind::sensors_swapped:
    case FaultKind::supply_dip:
    case FaultKind::isolation_stuck_open:
    case FaultKind::prime_stuck_closed:
      return false;
    default:
      return true;
  }
}

CornerTruth truth_of(const model::Case& c, const std::vector<model::Truth>& truths, Corner corner) {
  CornerTruth result;
  for (const model::Truth& truth : truths)
    for (const model::Release& release : truth.corners[corner].releases) {
      ++result.moved;
      if (release.cause == Cause::self_test) result.self_test = true;
      if (release.cause != Cause::antilock) continue;
      ++result.releases;
      if (release.answered) ++result.slipped;
      if (release.fell) ++result.fell;
      if (release.answered.value_or(false)) ++result.wheel;
      if (release.fell && release.answered.value_or(false)) ++result.answered;
    }
  for (const model::Truth& truth : truths)
    result.moved += truth.corners[corner].inlet_on_s > 0.0 ? 1 : 0;
  for (const model::Fault& fault : model::acting_faults(c)) {
    const model::FaultPlace place = fault_place(fault.kind);
    const bool sides =
        fault.kind == FaultKind::sensors_swapped && is_front(corner) == is_front(fault.corner);
    const bool here =
        place == model::FaultPlace::car || sides ||
        (place == model::FaultPlace::corner && fault.corner == corner) ||
        (place == model::FaultPlace::circuit && circuit_of(c.car.split, corner) == fault.circuit);
    if (!here && fault.degree >= 0.05) result.fault_elsewhere = true;
    if (!here || fault.degree < 0.05) continue;
    result.any_fault = true;
    result.fault = std::string(model::fault_name(fault.kind));
    result.degree = fault.degree;
    if (fault.degree >= 0.9 && concerns_valves(fault.kind)) result.whole_fault = true;
  }
  return result;
}

void judge_seed(std::uint64_t seed, model::Split split, Tally& tally) {
  const model::Scenario session = model::scenario(seed, split);
  std::vector<Log> logs;
  std::vector<model::Truth> truths;
  std::vector<double> zeros;
  CarFacts car = car_facts(session.takes.front().c);
  car.sensor_teeth = session.takes.front().recorder.ring_teeth;
  ReadOptions reading;
  reading.car = car;
  double fastest = 0.0;
  bool plain = false, wheels20 = false;
  std::string sampling;
  for (const model::Take& take : session.takes) {
    const model::Run run = model::simulate(take.c, take.run_seed);
    const model::Recording recording = record_run(run, take.c, take.recorder, take.run_seed + 1);
    truths.push_back(find_truth(run, take.c));
    zeros.push_back(recording.first_s);
    const ChannelMap map = packed_map(take.recorder);  // what bits mean no header says
    reading.map = take.recorder.pack_valves ? &map : nullptr;
    logs.push_back(read_log_text(recording.text, std::to_string(seed) + ".csv", reading));
    const auto& recorder = take.recorder;
    const bool block = recorder.sampling == model::Sampling::block;
    double rate = recorder.rate_hz;
    for (std::size_t i = 0; i < recorder.channels.size(); ++i)
      rate = std::min(rate, channel_rate_hz(recorder, i));
    fastest = std::max(fastest, rate);
    bool wheels = true, outlets = true;
    for (const Role& role : model::wheel_speed_roles())
      wheels = wheels && std::find(recorder.channels.begin(), recorder.channels.end(), role) !=
                             recorder.channels.end();
    for (const Role& role : model::outlet_roles(take.c.unit))
      outlets = outlets && std::find(recorder.channels.begin(), recorder.channels.end(), role) !=
                               recorder.channels.end();
    plain = plain || (block && rate >= 50.0 && wheels && outlets);
    wheels20 = wheels20 || (wheels && outlets && rate >= 20.0);
    sampling = block ? "block" : "turns";
  }
  double coarsest_mps = 0.0;
  for (const Log& log : logs)
    for (const Channel& channel : log.channels)
      if (channel.role.quantity == QuantityKind::wheel_speed)
        coarsest_mps = std::max(coarsest_mps, channel.quantum.value_or(0.0));
  const CheckOutcome outcome = check_logs(logs, car, nullptr);
  const char* band = fastest < 3     ? "  < 3 Hz"
                     : fastest < 10  ? " 3-10 Hz"
                     : fastest < 20  ? "10-20 Hz"
                     : fastest < 50  ? "20-50 Hz"
                     : fastest < 150 ? "50-150 Hz"
                                     : "> 150 Hz";
  for (const Corner corner : all_corners)
    tally.rows.push_back({seed, corner, truth_of(session.takes.front().c, truths, corner),
                          outcome.corners[corner], band, sampling, fastest, plain, wheels20,
                          coarsest_mps <= 0.51 / 3.6});
  for (const Episode& episode : outcome.episodes) {
    if (!episode.mfdd_mps2 || !episode.distance_m) continue;
    for (const model::Event& event : truths[episode.log].events) {
      if (event.kind != model::EventKind::stop || !event.mfdd_mps2) continue;
      const double start = event.start_s - zeros[episode.log];
      if (std::abs(start - episode.start_s) > 0.8) continue;
      tally.stops.push_back({*episode.distance_m / event.distance_m - 1.0,
                             *episode.mfdd_mps2 / *event.mfdd_mps2 - 1.0, fastest >= 50.0});
    }
  }
}

const char* verdict(const Row& row) {
  const CornerTruth& t = row.truth;
  switch (row.outcome.result) {
    case Result::exercised:
      // A sound corner must have let the pressure fall; a faulty one must have been answered by the
      // wheel (slip halved) at least once, and more often than not.
      return t.fell == 0 || (t.any_fault && (t.answered == 0 || 2 * t.wheel < t.slipped)) ? "WRONG"
                                                                                          : "right";
    case Result::idle:
      return t.releases > 0 ? "WRONG" : "right";
    case Result::suspect:
      return t.any_fault ? "right" : "WRONG";
    case Result::commanded:
      return t.moved == 0 ? "WRONG" : "cautious";
    case Result::unseen:
      break;
  }
  return "cautious";
}

std::string bound(std::size_t k, std::size_t n) {
  if (n == 0) return "-";
  const Bounds b = clopper_pearson(k, n);
  return fmt::format("{:.2f} % ({:.2f} to {:.2f})",
                     100.0 * static_cast<double>(k) / static_cast<double>(n), 100.0 * b.low,
                     100.0 * b.high);
}

void print_tables(const Tally& tally, bool list) {
  constexpr std::array results{Result::exercised, Result::commanded, Result::suspect, Result::idle,
                               Result::unseen};
  std::map<std::string, std::map<Result, std::array<int, 3>>> by_band;
  std::map<std::string, std::map<Result, int>> by_fault, by_fault_fast;
  for (const Row& row : tally.rows) {
    const std::string v = verdict(row);
    const std::size_t column = v == "right" ? 0 : v == "WRONG" ? 1 : 2;
    ++by_band[row.band][row.outcome.result][column];
    ++by_band["all"][row.outcome.result][column];
    std::string fault = row.truth.fault;
    if (row.truth.any_fault)
      fault += row.truth.degree >= 0.9 ? " whole" : row.truth.degree >= 0.45 ? " half" : " slight";
    ++by_fault[fault][row.outcome.result];
    if (row.wheels20 && row.truth.releases > 0) ++by_fault_fast[fault][row.outcome.result];
  }
  fmt::print("Results by rate of the fastest log: right / wrong / cautious (corners)\n{:<10}", "");
  for (const Result r : results) fmt::print(" {:>17}", result_name(r));
  fmt::print("\n");
  for (auto& [band, counts] : by_band) {
    fmt::print("{:<10}", band);
    for (const Result r : results)
      fmt::print(" {:>7}/{:>3}/{:>5}", counts[r][0], counts[r][1], counts[r][2]);
    fmt::print("\n");
  }
  const auto faults = [&](const char* title, auto& table) {
    fmt::print("\n{}\n{:<34}", title, "");
    for (const Result r : results) fmt::print(" {:>10}", result_name(r));
    fmt::print("\n");
    for (auto& [fault, counts] : table) {
      fmt::print("{:<34}", fault);
      for (const Result r : results) fmt::print(" {:>10}", counts[r]);
      fmt::print("\n");
    }
  };
  faults("Results by fault, all logs (corners)", by_fault);
  faults("Results by fault, valves and wheel speeds at 20 Hz or more, releases commanded",
         by_fault_fast);

  std::size_t exercised = 0, wrong_exercised = 0, idle = 0, wrong_idle = 0, sound = 0,
              sound_alone = 0, false_suspect = 0, false_suspect_alone = 0, plain = 0,
              plain_missed = 0, fine = 0, fine_missed = 0, strict = 0, faulty = 0, found = 0,
              shown = 0, shown_found = 0;
  for (const Row& row : tally.rows) {
    const CornerTruth& t = row.truth;
    const bool suspect = row.outcome.result == Result::suspect;
    // The same as `verdict`, but an answer counts only where the pressure fell too.
    strict += row.outcome.result == Result::exercised &&
              (t.answered == 0 || (t.any_fault && 2 * t.answered < t.slipped));
    if (row.wheels20 && t.whole_fault && t.releases > 0) {
      ++faulty;
      found += suspect;
      // Only here did the fault leave something that an observer of the wheels could see.
      if (t.slipped >= 3 && 2 * t.wheel < t.slipped) {
        ++shown;
        shown_found += suspect;
      }
    }
    const bool wrong = std::string(verdict(row)) == "WRONG";
    exercised += row.outcome.result == Result::exercised;
    wrong_exercised += row.outcome.result == Result::exercised && wrong;
    idle += row.outcome.result == Result::idle;
    wrong_idle += row.outcome.result == Result::idle && wrong;
    if (!row.truth.any_fault) {
      ++sound;
      false_suspect += suspect;
      sound_alone += !row.truth.fault_elsewhere;
      false_suspect_alone += suspect && !row.truth.fault_elsewhere;
      if (row.plain && row.truth.answered >= 3) {
        ++plain;
        plain_missed += row.outcome.result != Result::exercised;
        if (row.fine) {
          ++fine;
          fine_missed += row.outcome.result != Result::exercised;
        }
      }
    }
  }
  fmt::print("\nwrong `exercised`              {} of {}: {}\n", wrong_exercised, exercised,
             bound(wrong_exercised, exercised));
  fmt::print("  an answer only with pressure {} of {}: {}\n", strict, exercised,
             bound(strict, exercised));
  fmt::print("wrong `idle`                   {} of {}: {}\n", wrong_idle, idle,
             bound(wrong_idle, idle));
  fmt::print("sound corners called `suspect` {} of {}: {}\n", false_suspect, sound,
             bound(false_suspect, sound));
  fmt::print("  in a car without any fault   {} of {}: {}\n", false_suspect_alone, sound_alone,
             bound(false_suspect_alone, sound_alone));
  fmt::print("plain evidence, not exercised  {} of {}: {}\n", plain_missed, plain,
             bound(plain_missed, plain));
  fmt::print("  steps of 0.5 km/h at most    {} of {}: {}\n", fine_missed, fine,
             bound(fine_missed, fine));
  fmt::print("whole valve, pump or circuit fault, 20 Hz or more, called `suspect`\n");
  fmt::print("  releases commanded           {} of {}: {}\n", found, faulty, bound(found, faulty));
  fmt::print("  most releases unanswered     {} of {}: {}\n", shown_found, shown,
             bound(shown_found, shown));

  // The corners of one session are looked at by one recorder during the same stops: they fail
  // together, so the band is that of as many trials as there are sessions.
  fmt::print(
      "\nChance to catch a command, corners that really cycled: predicted, observed (95 % band of "
      "the sessions)\n");
  std::array<std::array<double, 3>, 10> bins{};
  std::array<std::set<std::uint64_t>, 10> sessions;
  for (const Row& row : tally.rows) {
    if (!row.outcome.catch_probability || row.truth.releases == 0) continue;
    const double p = *row.outcome.catch_probability;
    const std::size_t which = std::min<std::size_t>(9, static_cast<std::size_t>(p * 10.0));
    auto& bin = bins[which];
    sessions[which].insert(row.seed);
    bin[0] += 1;
    bin[1] += p;
    bin[2] += row.outcome.release_events.value_or(0) > 0 || row.outcome.hold_events.value_or(0) > 0;
  }
  for (std::size_t i = 0; i < bins.size(); ++i) {
    const auto& bin = bins[i];
    if (bin[0] == 0) continue;
    const std::size_t n = sessions[i].size();
    const double share = bin[2] / bin[0];
    const Bounds band =
        clopper_pearson(static_cast<std::size_t>(std::lround(share * static_cast<double>(n))), n);
    fmt::print("  {:6.3f}  {:6.3f} ({:.3f} to {:.3f})  of {:.0f} in {} sessions\n", bin[1] / bin[0],
               share, band.low, band.high, bin[0], n);
  }

  fmt::print("\nStated confidence of `exercised`: stated, right\n");
  std::map<int, std::array<double, 3>> sure;
  for (const Row& row : tally.rows)
    if (row.outcome.result == Result::exercised && row.outcome.confidence) {
      auto& bin = sure[*row.outcome.confidence > 0.999  ? 3
                       : *row.outcome.confidence > 0.99 ? 2
                                                        : 1];
      bin[0] += 1;
      bin[1] += *row.outcome.confidence;
      bin[2] += std::string(verdict(row)) == "right";
    }
  for (const auto& [key, bin] : sure)
    fmt::print("  {:7.4f}  {:7.4f}  of {:.0f}\n", bin[1] / bin[0], bin[2] / bin[0], bin[0]);

  std::vector<double> distance, mfdd;
  for (const StopError& stop : tally.stops)
    if (stop.fast) {
      distance.push_back(std::abs(stop.distance));
      mfdd.push_back(std::abs(stop.mfdd));
    }
  if (!mfdd.empty())
    fmt::print(
        "\nStops at 50 Hz or more ({}): distance off by {:.1f} % (median), {:.1f} % (90th); MFDD "
        "{:.1f} %, {:.1f} %\n",
        mfdd.size(), 100 * median(distance), 100 * quantile(distance, 0.9), 100 * median(mfdd),
        100 * quantile(mfdd, 0.9));
  fmt::print("\nSessions that could not be read: {}\n", tally.failures.size());
  for (std::size_t i = 0; i < std::min<std::size_t>(10, tally.failures.size()); ++i)
    fmt::print("  {}\n", tally.failures[i]);
  if (!list) return;
  fmt::print("\nWrong or missed, by seed\n");
  for (const Row& row : tally.rows) {
    const bool wrong = std::string(verdict(row)) == "WRONG";
    const bool missed = (row.plain && !row.truth.any_fault && row.truth.answered >= 3 &&
                         row.outcome.result != Result::exercised) ||
                        (row.wheels20 && row.truth.whole_fault && row.truth.releases >= 3 &&
                         row.outcome.result != Result::suspect);
    if (wrong || missed)
      fmt::print("{:>7} {} {:<6} {:<9} {:<10} {:<28} rel {} ans {} {:.0f} Hz {}: {}\n", row.seed,
                 corner_name(row.corner), wrong ? "WRONG" : "missed",
                 result_name(row.outcome.result), row.sampling, row.truth.fault, row.truth.releases,
                 row.truth.wheel, row.rate_hz, row.plain ? "plain" : "", row.outcome.reason);
  }
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"Judges check against simulated truth"};
  std::string seeds = "1..200", split = "tuning";
  bool list = false;
  unsigned threads = 2;
  app.add_option("--seeds", seeds, "range A..B");
  app.add_option("--split", split, "tuning or judging")
      ->check(CLI::IsMember({"tuning", "judging"}));
  app.add_option("--threads", threads);
  app.add_flag("--list", list, "name the wrong and missed ones");
  CLI11_PARSE(app, argc, argv);
  const auto dots = seeds.find("..");
  const std::uint64_t first = std::stoull(seeds);
  const std::uint64_t last =
      dots == std::string::npos ? first : std::stoull(seeds.substr(dots + 2));
  std::atomic<std::uint64_t> next{first};
  std::mutex mutex;
  Tally all;
  std::vector<std::thread> workers;
  for (unsigned w = 0; w < threads; ++w)
    workers.emplace_back([&] {
      for (std::uint64_t seed = next++; seed <= last; seed = next++) {
        Tally one;
        try {
          judge_seed(seed, split == "judging" ? model::Split::judging : model::Split::tuning, one);
        } catch (const Error& error) {
          one.failures.push_back(std::to_string(seed) + ": " + error.what());
        }
        const std::lock_guard lock(mutex);
        std::move(one.rows.begin(), one.rows.end(), std::back_inserter(all.rows));
        std::move(one.stops.begin(), one.stops.end(), std::back_inserter(all.stops));
        std::move(one.failures.begin(), one.failures.end(), std::back_inserter(all.failures));
      }
    });
  for (std::thread& worker : workers) worker.join();
  std::sort(all.rows.begin(), all.rows.end(), [](const Row& a, const Row& b) {
    return std::pair(a.seed, a.corner) < std::pair(b.seed, b.corner);
  });
  print_tables(all, list);
  return 0;
}
