#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>
#include <string>

#include "judge/tally.h"
#include "signal/binomial.h"

namespace stopledger::judge {

bool mostly_failed(const CornerTruth& t) {
  const bool wheel = t.worked == 0 || 2 * t.worked < t.slipped;
  return wheel && (t.slipped >= 3 || 2 * t.fell < t.releases);
}

const char* verdict(const Row& row) {
  const CornerTruth& t = row.truth;
  switch (row.outcome.result) {
    case Result::exercised:
      // A sound corner must have let the pressure fall (a rear one be it by the balance function,
      // whose releases among those of the front wheels look alike), a faulty one must have worked
      // more often than not.
      if (t.axle_worked) return "right";
      if (t.fell == 0 && !t.balance_fell) return "WRONG";
      return t.any_fault && mostly_failed(t) ? "WRONG" : "right";
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

  std::map<std::uint64_t, std::pair<bool, bool>> cars;  // fault shown, any corner `suspect`
  std::size_t exercised = 0, wrong_exercised = 0, idle = 0, wrong_idle = 0, sound = 0,
              sound_alone = 0, false_suspect = 0, false_suspect_alone = 0, plain = 0,
              plain_missed = 0, fine = 0, fine_missed = 0, strict = 0, faulty = 0, found = 0,
              shown = 0, shown_found = 0;
  for (const Row& row : tally.rows) {
    const CornerTruth& t = row.truth;
    const bool suspect = row.outcome.result == Result::suspect;
    // The wheel alone, by the 40 % of its slip that verification asks for.
    strict += row.outcome.result == Result::exercised &&
              (t.fell == 0 || (t.any_fault && (t.answered == 0 || 2 * t.wheel < t.slipped)));
    cars[row.seed].second = cars[row.seed].second || suspect;
    if (row.wheels20 && t.whole_fault && t.releases > 0) {
      ++faulty;
      found += suspect;
      // Only here did the fault leave something that an observer of the wheels could see.
      if (t.slipped >= 3 && mostly_failed(t)) {
        ++shown;
        cars[row.seed].first = true;
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
  fmt::print("  by 40 % of the slip alone     {} of {}: {}\n", strict, exercised,
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
  fmt::print("  most releases without effect {} of {}: {}\n", shown_found, shown,
             bound(shown_found, shown));
  std::size_t shown_cars = 0, found_cars = 0;
  for (const auto& [seed, car] : cars) {
    shown_cars += car.first;
    found_cars += car.first && car.second;
  }
  fmt::print("    cars of these, any corner    {} of {}: {}\n", found_cars, shown_cars,
             bound(found_cars, shown_cars));

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

  print_stops(tally.stops);
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
      fmt::print(
          "{:>7} {} {:<6} {:<9} {:<10} {:<28} rel {} slip {} ans {} worked {} {:.0f} Hz {}: {}\n",
          row.seed, corner_name(row.corner), wrong ? "WRONG" : "missed",
          result_name(row.outcome.result), row.sampling, row.truth.fault, row.truth.releases,
          row.truth.slipped, row.truth.wheel, row.truth.worked, row.rate_hz,
          row.plain ? row.fine ? "plain fine" : "plain" : "", row.outcome.reason);
  }
  list_stops(tally.stops);
}

}  // namespace stopledger::judge
