// The whole check on a real recording that is not ours (M. Weber, Automotive OBD-II Dataset, KIT
// 2023, DOI 10.35097/1130); figures of the recording's description (DT-03).
#include <catch2/catch.hpp>
#include <cstdlib>

#include "log/reader.h"
#include "verify/check.h"

using namespace stopledger;

TEST_CASE("a slow recording without wheels shows nothing of any corner",
          "[outside][check][DT-03]") {
  const char* folder = std::getenv("STOPLEDGER_OUTSIDE_DATA");
  if (folder == nullptr) {
    WARN("skipped: STOPLEDGER_OUTSIDE_DATA is not set");
    return;
  }
  const Log log = read_log(std::string(folder) + "/polled_obd_hold.csv", {});
  const CheckOutcome outcome = check_logs(std::span(&log, 1), {}, nullptr);
  for (const Corner corner : all_corners) CHECK(outcome.corners[corner].result == Result::unseen);
  int stops = 0;
  for (const Episode& episode : outcome.episodes)
    if (episode.kind == EpisodeKind::stop) {
      ++stops;
      // Last sample above 20 km/h at 219.66 s, first below 2 km/h at 224.25 s.
      CHECK(episode.start_s < 219.66);
      CHECK(episode.start_s > 209.0);
      CHECK(episode.end_s == Approx(224.25).margin(1.5));
    }
  CHECK(stops == 1);
}
