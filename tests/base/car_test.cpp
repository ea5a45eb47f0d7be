#include "base/car.h"

#include <catch2/catch.hpp>
#include <type_traits>

#include "base/quantity.h"
#include "base/result.h"

using namespace stopledger;

TEST_CASE("circuits pair the wheels that share an accumulator", "[base][car]") {
  CHECK(circuit_of(CircuitSplit::diagonal, Corner::fl) ==
        circuit_of(CircuitSplit::diagonal, Corner::rr));
  CHECK(circuit_of(CircuitSplit::diagonal, Corner::fl) !=
        circuit_of(CircuitSplit::diagonal, Corner::rl));
  CHECK(circuit_of(CircuitSplit::front_rear, Corner::fl) == 1);
  CHECK(circuit_of(CircuitSplit::front_rear, Corner::rr) == 2);
  CHECK_FALSE(circuit_of(CircuitSplit::unknown, Corner::fl));
}

TEST_CASE("corners are found by name in any case", "[base][corner]") {
  CHECK(parse_corner("fl") == Corner::fl);
  CHECK(parse_corner("RR") == Corner::rr);
  CHECK_FALSE(parse_corner("LF"));
  CHECK(axle_partner(Corner::rr) == Corner::rl);
  CHECK(diagonal_partner(Corner::rl) == Corner::fr);
}

TEST_CASE("results combine to the worst", "[base][result]") {
  CHECK(worse(Result::exercised, Result::suspect) == Result::suspect);
  CHECK(worse(Result::idle, Result::unseen) == Result::idle);
  CHECK(worse(Result::unseen, Result::commanded) == Result::unseen);
  CHECK(worse(Result::commanded, Result::exercised) == Result::commanded);
  CHECK(parse_result(result_name(Result::idle)) == Result::idle);
}

TEST_CASE("a pressure is not a speed", "[base][units]") {
  STATIC_REQUIRE_FALSE(std::is_convertible_v<Kilopascals, MetresPerSecond>);
  STATIC_REQUIRE_FALSE(std::is_convertible_v<double, MetresPerSecond>);
  CHECK(to_kmh(from_kmh(36.0)) == Approx(36.0));
  CHECK(from_kmh(36.0).value() == Approx(10.0));
}
