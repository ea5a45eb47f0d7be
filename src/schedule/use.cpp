#include "schedule/use.h"

#include <algorithm>
#include <cmath>

namespace stopledger {
namespace {

constexpr int rate_window_months = 36;
constexpr double farthest_days = 36525.0;

struct Reading {
  const Record* record = nullptr;
  double km = 0.0;       ///< as the cluster shows it
  double next_km = 0.0;  ///< as it goes on from here (differs at a replaced cluster)
};

std::vector<Reading> readings(const History& history) {
  std::vector<Reading> all;
  for (const Record* r : history.all()) {
    const auto old_km = r->fields.find("old"), new_km = r->fields.find("new");
    if (r->kind == "cluster-replaced" && old_km != r->fields.end() && new_km != r->fields.end() &&
        old_km->second.normalised && new_km->second.normalised)
      all.push_back({r, *old_km->second.normalised, *new_km->second.normalised});
    else if (r->odometer_km)
      all.push_back({r, *r->odometer_km, *r->odometer_km});
  }
  std::sort(all.begin(), all.end(),
            [](const Reading& a, const Reading& b) { return after(*b.record, *a.record); });
  return all;
}

/// A reading that its neighbours contradict while they agree with each other.
bool contradicted(const Reading& before, const Reading& at, const Reading& next) {
  const bool replaced = at.record->kind == "cluster-replaced";
  return !replaced && before.next_km <= next.km && (at.km < before.next_km || at.km > next.km);
}

}  // namespace

Use use_of(const History& history) {
  Use use;
  auto all = readings(history);
  for (std::size_t i = 1; i + 1 < all.size();) {
    if (!contradicted(all[i - 1], all[i], all[i + 1])) {
      ++i;
      continue;
    }
    use.left_out.push_back(all[i].record);
    all.erase(all.begin() + static_cast<std::ptrdiff_t>(i));
  }

  double offset = all.empty() ? 0.0 : -all.front().km, km = 0.0;
  for (const auto& reading : all) {
    if (reading.km + offset < km) offset = km - reading.km;
    km = reading.km + offset;
    if (!use.points.empty() && use.points.back().day == reading.record->day)
      use.points.back().km = km;
    else
      use.points.push_back({reading.record->day, km});
    offset += reading.km - reading.next_km;
  }
  if (use.points.size() < 2) return use;

  const Day since = add_months(history.on(), -rate_window_months);
  std::vector<double> days, driven;
  for (int pass = 0; pass < 2 && days.size() < 3; ++pass) {
    days.clear();
    driven.clear();
    for (const auto& point : use.points) {
      if (pass == 0 && point.day < since) continue;
      days.push_back(days_between(use.points.front().day, point.day));
      driven.push_back(point.km);
    }
  }
  use.km_per_day = theil_sen(days, driven);
  return use;
}

std::optional<double> Use::km_on(Day day) const {
  const auto next = std::lower_bound(points.begin(), points.end(), day,
                                     [](const Point& p, Day d) { return p.day < d; });
  if (next == points.end()) return std::nullopt;
  if (next->day == day) return next->km;
  if (next == points.begin()) return std::nullopt;
  const auto& before = *(next - 1);
  const double share = static_cast<double>(days_between(before.day, day)) /
                       static_cast<double>(days_between(before.day, next->day));
  return before.km + share * (next->km - before.km);
}

std::optional<Day> Use::day_at(double km) const {
  const auto next = std::lower_bound(points.begin(), points.end(), km,
                                     [](const Point& p, double at) { return p.km < at; });
  if (next == points.end() || (next == points.begin() && next->km > km)) return std::nullopt;
  if (next == points.begin()) return next->day;
  const auto& before = *(next - 1);
  const double share = (km - before.km) / (next->km - before.km);
  return add_days(before.day,
                  static_cast<int>(std::ceil(share * days_between(before.day, next->day))));
}

std::optional<Reckoned> day_of_distance(const Use& use, double km) {
  if (const auto day = use.day_at(km))
    return Reckoned{.day = *day, .low = *day, .high = *day, .proven = true};
  if (!use.km_per_day || use.km_per_day->slope <= 0.0 || use.points.back().km > km)
    return std::nullopt;
  const auto& last = use.points.back();
  const auto reach = [&](double rate) {
    const double days = rate > 0.0 ? (km - last.km) / rate : farthest_days;
    return add_days(last.day, static_cast<int>(std::ceil(std::min(days, farthest_days))));
  };
  if ((km - last.km) / use.km_per_day->slope > farthest_days) return std::nullopt;
  return Reckoned{.day = reach(use.km_per_day->slope),
                  .low = reach(use.km_per_day->high),
                  .high = reach(use.km_per_day->low),
                  .proven = false};
}

}  // namespace stopledger
