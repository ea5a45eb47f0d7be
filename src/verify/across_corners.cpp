#include "verify/across_corners.h"

#include <algorithm>
#include <cmath>

#include "verify/criteria.h"

namespace stopledger {

namespace {

/// A wheel that kept rolling free counts only while the other wheel of its side, on the same
/// ground, went on cycling.
void weigh_free_wheels(JudgedStretch& judged) {
  for (const Corner corner : all_corners) {
    const Corner beside = is_left(corner) ? (corner == Corner::fl ? Corner::rl : Corner::fl)
                                          : (corner == Corner::fr ? Corner::rr : Corner::fr);
    for (auto& stop : judged.corners[corner].answers)
      for (Answer& answer : stop) {
        if (!answer.not_rebuilt) continue;
        int cycles = 0;
        for (const auto& theirs : judged.corners[beside].answers)
          cycles +=
              static_cast<int>(std::count_if(theirs.begin(), theirs.end(), [&](const Answer& a) {
                return a.answered && a.release_s > answer.free_from_s;
              }));
        answer.not_rebuilt = cycles >= criteria.rebuild_cycles;
        answer.not_rebuilt_weight = std::min(cycles, 3);
      }
  }
}

/// Where no wheel came back at that time and this one did later in the same stop, the ground was
/// too slick for any answer.
void leave_out_slick_ground(JudgedStretch& judged) {
  for (const Corner corner : all_corners)
    for (auto& stop : judged.corners[corner].answers)
      for (std::size_t k = 0; k < stop.size(); ++k) {
        Answer& answer = stop[k];
        const bool later = std::any_of(stop.begin() + static_cast<std::ptrdiff_t>(k), stop.end(),
                                       [](const Answer& a) { return a.beyond_doubt; });
        if (!answer.unanswered || !later) continue;
        int same = 0, better = 0;
        bool beside = false;
        for (const Corner other : all_corners) {
          bool came_back = false, stayed = false;
          for (const auto& theirs : judged.corners[other].answers)
            for (const Answer& a : theirs)
              if (other != corner && std::abs(a.release_s - answer.release_s) < criteria.around_s) {
                came_back = came_back || a.answered;
                stayed = stayed || (a.testable && !a.answered && a.peak_slip >= criteria.slip_deep);
              }
          better += came_back ? 1 : 0;
          same += stayed && !came_back ? 1 : 0;
          beside = beside || (other == axle_partner(corner) && stayed && !came_back);
        }
        answer.slick_ground = beside || (same >= 2 && better == 0);
      }
  for (const Corner corner : all_corners)
    for (auto& stop : judged.corners[corner].answers)
      for (Answer& answer : stop)
        if (answer.slick_ground) answer.testable = answer.unanswered = false;
}

/// A front wheel brakes hardest: where the one beside it and the one behind it both cycle deep in
/// slip and it shows none at all, it is not braked. (A rear wheel may only copy its partner, and
/// one whose inlet works is held at a pressure that it bears.)
void mark_unbraked(JudgedStretch& judged, bool anti_lock) {
  for (const Corner corner : {Corner::fl, Corner::fr}) {
    const auto deep = [&](Corner other) {
      const CornerEvidence& theirs = judged.corners[other];
      return theirs.wheel_fast && !theirs.axle_mean && theirs.swings >= criteria.unbraked_swings &&
             theirs.peak_slip >= criteria.slip_deep;
    };
    CornerEvidence& own = judged.corners[corner];
    own.unbraked = anti_lock && judged.stretch.braking && !judged.stretch.turned &&
                   own.wheel_fast && own.peak_slip < criteria.unbraked_slip && own.releases == 0 &&
                   own.closings == 0 && own.catch_probability >= criteria.idle_catch &&
                   deep(axle_partner(corner)) &&
                   deep(corner == Corner::fl ? Corner::rl : Corner::rr);
  }
}

}  // namespace

void compare_corners(JudgedStretch& judged, bool anti_lock) {
  weigh_free_wheels(judged);
  leave_out_slick_ground(judged);
  mark_unbraked(judged, anti_lock);
}

}  // namespace stopledger
