// Does a recording plan keep its promise? Sessions per setting as the only argument (30):
//   build/release/plan_promise 30
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>

#include "plan/promise.h"
#include "signal/binomial.h"

int main(int argc, char** argv) {
  using namespace stopledger;
  const int sessions = argc > 1 ? std::max(1, std::atoi(argv[1])) : 30;
  int looks = 0, seen = 0, driven = 0;
  fmt::print("{:<58}{:>9}{:>10}{:>10}{:>14}  95 % interval (Clopper-Pearson)\n", "setting",
             "sessions", "promised", "expected", "seen");
  const auto line = [](const std::string& setting, int n, double promised, double expected, int k,
                       int of) {
    const auto bounds =
        clopper_pearson(static_cast<std::size_t>(k), static_cast<std::size_t>(std::max(1, of)));
    fmt::print("{:<58}{:>9}{:>10.3f}{:>10.3f}{:>7}/{:<6}  {:.3f} to {:.3f}\n", setting, n, promised,
               expected, k, of, bounds.low, bounds.high);
  };
  for (const PromiseTally& tally : keep_promises(sessions, 20261125)) {
    line(tally.setting, tally.sessions, tally.promised, tally.expected, tally.seen, tally.looks);
    looks += tally.looks;
    seen += tally.seen;
    driven += tally.sessions;
  }
  line("all", driven, 0.95, 0.95, seen, looks);
  return 0;
}
