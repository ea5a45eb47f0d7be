// What the stop procedures ask of a log, against the forward model: met by a sound car with enough
// samples, not met with the fault that the procedure is there to find.
#include <catch2/catch.hpp>

#include "log/reader.h"
#include "model/recorder.h"
#include "model/scenario.h"
#include "model/simulate.h"
#include "procedure/library.h"
#include "verify/check.h"

using namespace stopledger;

namespace {

/// The channels that the procedure says to record, as far as the car has them.
std::vector<Role> channels_of(const Procedure& procedure, const model::Case& c) {
  std::vector<Role> roles;
  for (const auto& pattern : procedure.log_channels) {
    const auto role = parse_role(pattern);
    REQUIRE(role);
    if (role->place != PlaceKind::rear_axle || c.unit.channels == 3) roles.push_back(*role);
  }
  return roles;
}

/// Three stops from 40 km/h on a wet lot, recorded 50 times a second.
CheckOutcome check(const Procedure& procedure, model::Case c, std::vector<Role> channels) {
  c.manoeuvre = model::straight_stop(40.0 / 3.6, 4.0, 9000.0, 5.0);
  model::Recorder recorder;
  recorder.channels = std::move(channels);
  recorder.rate_hz = 50.0;
  ReadOptions options;
  options.car = car_facts(c);
  std::vector<Log> logs;
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    const auto run = model::simulate(c, seed);
    logs.push_back(
        read_log_text(record_run(run, c, recorder, seed + 100).text, "run.csv", options));
  }
  return check_logs(logs, options.car, &*procedure.expectation);
}

bool met(const Procedure& procedure, const CheckOutcome& outcome) {
  bool all = true;
  for (const Corner corner : all_corners)
    if (procedure.expectation->corners[corner].asked)
      all = all && outcome.corners[corner].enough.value_or(false);
  return all;
}

}  // namespace

TEST_CASE("a sound car with enough samples meets what each stop procedure asks",
          "[procedure][expectation]") {
  for (const char* id : {"stop-fronts", "stop-rears", "stop-response"}) {
    const auto procedure = find_procedure(id);
    const model::Case c;
    const auto outcome = check(procedure, c, channels_of(procedure, c));
    std::string reasons = id;
    for (const Corner corner : all_corners) reasons += "; " + outcome.corners[corner].reason;
    INFO(reasons);
    CHECK(met(procedure, outcome));
    for (const Corner corner : all_corners)
      CHECK(outcome.corners[corner].asked == procedure.expectation->corners[corner].asked);
  }
}

TEST_CASE("a valve that is never commanded fails the run that was to show it",
          "[procedure][expectation]") {
  struct Named {
    const char* id;
    Corner corner;
  };
  for (const auto& [id, corner] :
       {Named{"stop-fronts", Corner::fr}, Named{"stop-rears", Corner::rl}}) {
    const auto procedure = find_procedure(id);
    model::Case c;
    c.controller.rear_select_low = false;
    c.faults.push_back({model::FaultKind::never_commanded, 1.0, corner, 1});
    const auto outcome = check(procedure, c, channels_of(procedure, c));
    INFO(id << ": " << outcome.corners[corner].reason);
    CHECK_FALSE(met(procedure, outcome));
    CHECK(outcome.corners[corner].enough == false);
  }
}

TEST_CASE("an outlet that does not open fails the response run", "[procedure][expectation]") {
  const auto procedure = find_procedure("stop-response");
  for (const Corner corner : {Corner::fl, Corner::rr}) {
    model::Case c;
    c.controller.rear_select_low = false;
    c.faults.push_back({model::FaultKind::outlet_stuck_closed, 1.0, corner, 1});
    const auto outcome = check(procedure, c, channels_of(procedure, c));
    INFO(corner_name(corner) << ": " << outcome.corners[corner].reason);
    CHECK_FALSE(met(procedure, outcome));
  }
}

TEST_CASE("a straight stop moves no circuit valves, and the traction run says so",
          "[procedure][expectation]") {
  const auto procedure = find_procedure("traction-start");
  model::Case c;
  c.unit.has_isolation_valves = true;
  const auto outcome =
      check(procedure, c,
            {Role::of_circuit(QuantityKind::isolation, 1), Role::of_circuit(QuantityKind::prime, 1),
             Role::of_car(QuantityKind::pump), Role::at(QuantityKind::wheel_speed, Corner::fl),
             Role::at(QuantityKind::wheel_speed, Corner::fr)});
  CHECK(outcome.result != Result::exercised);
  CHECK(outcome.result != Result::commanded);
}
