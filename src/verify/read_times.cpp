#include "verify/read_times.h"

#include <utility>

namespace stopledger {

std::vector<AxleReadTimes> axle_read_times(const Log& log) {
  std::vector<AxleReadTimes> out;
  for (const auto& [left, right] :
       {std::pair{Corner::fl, Corner::fr}, std::pair{Corner::rl, Corner::rr}}) {
    const Channel* first = log.find(Role::at(QuantityKind::wheel_speed, left));
    const Channel* second = log.find(Role::at(QuantityKind::wheel_speed, right));
    if (first == nullptr || second == nullptr) continue;
    std::vector<SkewWindow> windows;
    for (const Segment& segment : log.segments)
      for (const SkewWindow& window :
           skew_windows({first->series.t_s, first->series.value},
                        {second->series.t_s, second->series.value}, segment.start_s, segment.end_s))
        windows.push_back(window);
    if (const auto skew = fit_read_skew(windows)) out.push_back({left, right, *skew});
  }
  return out;
}

}  // namespace stopledger
