#include "log/bare_wheels.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "log/invalid_cells.h"
#include "log/rates.h"

namespace stopledger {
namespace {

// As km/h, the smallest numbers but for m/s, of which less is asked then.
constexpr double rise_per_s = 3.6 * 6.0;   // chosen: no car of this age gains 6 m/s2 (FR-06 x 0.5)
constexpr double fall_per_s = 3.6 * 13.0;  // FR-06: above the best tyre
constexpr double bare_rounding = 1.5;      // chosen: one step of a coarse speed, and noise
/// A pedal let go takes all of a pressure within this time (chosen; common practice).
constexpr double pedal_window_s = 0.5;
/// What must be there to judge by: well more than a car may lose in a window.
constexpr double top_over_fall = 1.25;
constexpr double alike_within = 0.10;  // chosen: bends and tyres; wheels under control differ more
constexpr double goes_with = 0.15;     // chosen: the same beside a speed that is late by a sample
constexpr std::size_t most_points = 20000;

struct BareGrid {
  double step_s = 0.0;
  std::vector<std::vector<double>> v;  // [column][point]
};

/// The columns on one clock, the last value held; cells that hold no speed left out.
BareGrid on_one_clock(const std::vector<BareColumn>& columns) {
  BareGrid grid;
  double begin = 1e300, end = -1e300;
  for (const BareColumn& column : columns) {
    begin = std::min(begin, column.t_s.front());
    end = std::max(end, column.t_s.back());
    std::vector<double> steps;
    for (std::size_t i = 1; i < column.t_s.size(); ++i)
      steps.push_back(column.t_s[i] - column.t_s[i - 1]);
    if (!steps.empty()) grid.step_s = std::max(grid.step_s, median_of(std::move(steps)));
  }
  grid.step_s = std::max(grid.step_s, 0.05);
  const auto n = std::min(most_points, static_cast<std::size_t>((end - begin) / grid.step_s) + 1);
  for (const BareColumn& column : columns) {
    std::vector<double> mps(column.value.begin(), column.value.end());
    for (double& value : mps) value /= 3.6;
    const auto faults = judge_speed_cells(column.t_s, mps, true);
    std::vector<double> line(n, std::nan(""));
    std::size_t i = 0;
    double last = std::nan("");
    for (std::size_t k = 0; k < n; ++k) {
      const double t = begin + grid.step_s * static_cast<double>(k);
      for (; i < column.t_s.size() && column.t_s[i] <= t + 1e-9; ++i)
        if (faults[i] == CellFault::none) last = column.value[i];
      line[k] = last;
    }
    grid.v.push_back(std::move(line));
  }
  return grid;
}

/// Largest and second largest of the wheels at every point, and how far all are apart.
struct BareCourse {
  std::vector<double> first, second, apart;
  double top = 0.0, least = 0.0;
};

BareCourse course_of(const BareGrid& grid, std::size_t wheels) {
  BareCourse course;
  for (std::size_t k = 0; k < grid.v.front().size(); ++k) {
    std::vector<double> now;
    for (std::size_t c = 0; c < wheels; ++c) now.push_back(grid.v[c][k]);
    if (std::any_of(now.begin(), now.end(), [](double v) { return std::isnan(v); })) continue;
    std::sort(now.rbegin(), now.rend());
    course.first.push_back(now[0]);
    course.second.push_back(now[now.size() > 1 ? 1 : 0]);
    course.apart.push_back(now[0] > 0.0 ? (now[0] - now.back()) / now[0] : 0.0);
    course.top = std::max(course.top, course.second.back());
    course.least = std::min(course.least, now.back());
  }
  return course;
}

BareVerdict bare_beside(const BareGrid& grid, std::size_t wheels) {
  const auto& own = grid.v[wheels];
  std::size_t worst = own.size(), compared = 0;
  const double top = *std::max_element(own.begin(), own.end());
  for (std::size_t c = 0; c < wheels; ++c) {
    std::vector<double> ratios;
    for (std::size_t k = 0; k < own.size(); ++k)
      if (own[k] > 0.25 * top) ratios.push_back(grid.v[c][k] / own[k]);
    if (ratios.size() < 20) return {};
    const double usual = median_of(ratios);
    if (!(usual > 0.0)) return {false, "they do not go with the car's own speed"};
    compared = ratios.size();
    worst = std::min(worst, static_cast<std::size_t>(
                                std::count_if(ratios.begin(), ratios.end(), [&](double ratio) {
                                  return std::abs(ratio / usual - 1.0) < goes_with;
                                })));
  }
  const double share = static_cast<double>(worst) / static_cast<double>(compared);
  if (share < 0.75) return {false, "they do not go with the car's own speed"};
  return {true, fmt::format("they go with the car's own speed within {:.0f} % in {:.0f} % of the "
                            "time or more",
                            100.0 * goes_with, std::floor(100.0 * share))};
}

BareVerdict bare_alone(const BareGrid& grid, std::size_t wheels) {
  if (wheels < 2) return {false, "no other column shows what it is"};
  const auto course = course_of(grid, wheels);
  const auto over =
      std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(pedal_window_s / grid.step_s)));
  const double span_s = static_cast<double>(over) * grid.step_s;
  if (course.first.size() < 20) return {false, "the rows are too few to show it"};
  if (course.least < -bare_rounding) return {false, "they fall below zero"};
  if (course.top < top_over_fall * fall_per_s * span_s)
    return {false,
            fmt::format("their values, up to {:g}, could be speeds or pressures", course.top)};
  std::vector<double> apart;
  for (std::size_t k = 0; k < course.first.size(); ++k)
    if (course.first[k] > course.top / 3.0) apart.push_back(course.apart[k]);
  const double usual_apart = median_of(std::move(apart));
  if (usual_apart > alike_within)
    return {false,
            fmt::format("they are {:.0f} % apart while they are high, more than wheels of one "
                        "car",
                        100.0 * usual_apart)};
  double rise = 0.0, fall = 0.0;
  for (std::size_t k = over; k < course.first.size(); ++k) {
    const double first = course.first[k] - course.first[k - over];
    const double second = course.second[k] - course.second[k - over];
    rise = std::max(rise, std::min(first, second));
    fall = std::max(fall, std::min(-first, -second));
  }
  if (rise > rise_per_s * span_s + bare_rounding || fall > fall_per_s * span_s + bare_rounding)
    return {false, fmt::format("they change faster than the speed of a car can: {:g} up and {:g} "
                               "down in {:.2g} s",
                               rise, fall, span_s)};
  return {true, fmt::format("they are alike ({:.0f} % apart) and change as a car's speed does: at "
                            "most {:.3g} up and {:.3g} down in {:.2g} s",
                            100.0 * usual_apart, rise, fall, span_s)};
}

}  // namespace

BareVerdict judge_bare_wheels(const std::vector<BareColumn>& wheels, const BareColumn& own_speed) {
  if (wheels.empty() || std::any_of(wheels.begin(), wheels.end(),
                                    [](const BareColumn& one) { return one.t_s.size() < 2; }))
    return {false, "the rows are too few to show it"};
  std::vector<BareColumn> all = wheels;
  if (own_speed.t_s.size() >= 2) all.push_back(own_speed);
  const auto grid = on_one_clock(all);
  if (all.size() > wheels.size())
    if (auto verdict = bare_beside(grid, wheels.size()); verdict.speeds || !verdict.why.empty())
      return verdict;
  return bare_alone(grid, wheels.size());
}

}  // namespace stopledger
