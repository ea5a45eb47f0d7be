// Judges the whole path (model -> recorder text -> reader -> check) against the model's truth for a
// range of seeds, and prints one set of tables. Not installed.

#include <CLI/CLI.hpp>
#include <algorithm>
#include <atomic>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "base/error.h"
#include "judge/tally.h"

int main(int argc, char** argv) {
  using namespace stopledger;
  using namespace stopledger::judge;
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
