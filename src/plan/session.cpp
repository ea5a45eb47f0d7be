#include "plan/session.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "plan/gates.h"
#include "plan/runs.h"
#include "plan/session_recording.h"

namespace stopledger {
namespace {

constexpr double usual_kmh = 40.0;   // common practice: 30 to 40, more adds risk and no movement
constexpr double gentle_kmh = 30.0;  // first exercise, long standing, unit work or neglect
constexpr double least_kmh = 20.0;   // below it too little of the stop is above where control fades

void choose_speed(SessionPlan& plan) {
  const SessionRequest& request = plan.request;
  const double wanted =
      request.speed ? to_kmh(*request.speed) : (plan.route.gentle() ? gentle_kmh : usual_kmh);
  plan.speed_kmh = wanted;
  const auto need_text = [&](double kmh) {
    const auto need = lot_need(request.lot, from_kmh(kmh));
    return need ? fmt::format("{:.0f} km/h takes {:.0f} m x {:.0f} m", kmh,
                              std::ceil(need->length_m()), std::ceil(need->width_m))
                : std::string("no length is enough on this slope");
  };
  if (!request.lot_length) {
    block(plan, {"lot-unknown", "the length of the lot is not given",
                 fmt::format("measure it and give --lot-length; a run at {}", need_text(wanted))});
  } else {
    plan.fits_kmh = to_kmh(entry_speed(request.lot, *request.lot_length, request.lot_width));
    const double fits = held_kmh(plan.fits_kmh);
    if (fits < least_kmh) {
      plan.speed_kmh = least_kmh;
      block(plan,
            {"lot-too-short",
             fmt::format(
                 "a lot of {:.0f} m{} holds {:.0f} km/h on {} at most, and below {:.0f} km/h "
                 "a stop shows too little",
                 request.lot_length->value(),
                 request.lot_width ? fmt::format(" x {:.0f} m", request.lot_width->value()) : "",
                 plan.fits_kmh, request.ground.name, least_kmh),
             fmt::format("a longer or wider lot ({}; {}), or more grip", need_text(least_kmh),
                         need_text(gentle_kmh))});
    } else if (request.speed && wanted > plan.fits_kmh) {
      block(plan, {"lot-too-short",
                   fmt::format("a run at {}, the lot is {:.0f} m long{}", need_text(wanted),
                               request.lot_length->value(),
                               request.lot_width
                                   ? fmt::format(" and {:.0f} m wide", request.lot_width->value())
                                   : ""),
                   fmt::format("--speed {:.0f} or less, or a larger lot", fits)});
    } else {
      plan.speed_kmh = std::min(wanted, request.speed ? wanted : fits);
    }
  }
  if (const auto need = lot_need(request.lot, from_kmh(plan.speed_kmh)))
    plan.need = *need;
  else
    block(plan, {"slope", "on this slope and surface no brake is sure to hold the car",
                 "a level lot, or more grip"});
}

}  // namespace

SessionPlan plan_session(const CarSheet& car, std::span<const Record> records,
                         std::span<const Procedure> procedures, const SessionRequest& request) {
  SessionPlan plan;
  plan.car = car.facts.name;
  plan.unit_kind = car.facts.unit_kind;
  plan.request = request;
  plan.request.lot.mu = request.ground.mu_low;
  plan.route = choose_route(car, records, request.today, request.day);
  judge_surface(plan, procedures);
  if (request.permission.empty())
    block(plan, {"permission", "no permission for the lot is named",
                 "the owner's written yes: --permission \"NAME, DATE\""});
  gather_gates(plan, car, records, procedures);
  follow_route(plan);
  choose_speed(plan);
  plan.forecast = forecast_run(car.facts, request.ground, from_kmh(plan.speed_kmh), request.draws,
                               request.seed);
  choose_recording(plan, car.facts, procedures);
  lay_out_runs(plan, car, records);
  judge_daylight(plan);
  refuse_idle_overrides(plan);
  if (!car.facts.channels)
    plan.notes.push_back("The sheet does not say how many channels the unit has: four assumed.");
  plan.cautions = {"C5",  "C4",  "C6",  "C7",  "C8", "C21", "C12",
                   "C15", "C16", "C13", "C14", "C1", "C2",  "C22"};
  if (car.facts.unit_kind == UnitKind::high_pressure_store ||
      car.facts.unit_kind == UnitKind::booster_store)
    plan.cautions.insert(plan.cautions.begin(), "C3");
  return plan;
}

}  // namespace stopledger
