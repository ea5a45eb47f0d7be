// What a procedure expects of the log is what a healthy car does, and not what its fault leaves.
#include <algorithm>
#include <catch2/catch.hpp>

#include "log/reader.h"
#include "model/recorder.h"
#include "model/scenario.h"
#include "model/signals.h"
#include "procedure/library.h"
#include "verify/check.h"

using namespace stopledger;

namespace {

model::Case wet_stop(double kmh) {
  model::Case c;
  c.manoeuvre = model::straight_stop(kmh / 3.6, 3.0, 11e3, 2.0);
  return c;
}

CheckOutcome checked(const model::Case& c, const Procedure& procedure, int runs) {
  model::Recorder recorder;
  recorder.channels = model::wheel_speed_roles();
  for (const Role& role : model::valve_roles(c.unit)) recorder.channels.push_back(role);
  for (const QuantityKind quantity : {QuantityKind::pump, QuantityKind::throttle,
                                      QuantityKind::accelerator, QuantityKind::brake_switch})
    recorder.channels.push_back(Role::of_car(quantity));
  recorder.rate_hz = 100.0;
  ReadOptions reading;
  reading.car = model::car_facts(c);
  std::vector<Log> logs;
  for (int run = 0; run < runs; ++run)
    logs.push_back(read_log_text(
        model::record_run(model::simulate(c, 10U + static_cast<unsigned>(run)), c, recorder, 3)
            .text,
        "run.csv", reading));
  return check_logs(logs, reading.car, &*procedure.expectation);
}

bool met(const CheckOutcome& outcome, const Expectation& expected) {
  for (const Corner corner : all_corners)
    if (expected.corners[corner].asked && outcome.corners[corner].enough != true) return false;
  return true;
}

}  // namespace

TEST_CASE("a healthy car meets what the stops expect, a dead valve does not",
          "[procedure][movement]") {
  for (const char* id : {"stop-fronts", "stop-rears", "stop-response"}) {
    const Procedure procedure = find_procedure(id);
    REQUIRE(procedure.expectation);
    INFO(id);
    model::Case c = wet_stop(40.0);
    CHECK(met(checked(c, procedure, 2), *procedure.expectation));
    for (const Corner corner : {Corner::fl, Corner::rr}) {
      if (!procedure.expectation->corners[corner].asked) continue;
      INFO(corner_name(corner));
      c.faults = {model::Fault{.kind = model::FaultKind::outlet_stuck_closed, .corner = corner}};
      CHECK_FALSE(met(checked(c, procedure, 2), *procedure.expectation));
    }
    c.faults = {model::Fault{.kind = model::FaultKind::control_off}};
    CHECK_FALSE(met(checked(c, procedure, 2), *procedure.expectation));
  }
}
