#include "log/role.h"

#include <catch2/catch.hpp>

using namespace stopledger;

TEST_CASE("every role name reads back as itself", "[log][role]") {
  for (int q = 0; q <= static_cast<int>(QuantityKind::odometer); ++q) {
    const auto quantity = static_cast<QuantityKind>(q);
    int spelled = 0;
    for (const auto& role :
         {Role::of_car(quantity), Role::at(quantity, Corner::fl), Role::at(quantity, Corner::rr),
          Role::rear(quantity), Role::of_circuit(quantity, 1), Role::of_circuit(quantity, 2)}) {
      const auto parsed = parse_role(role_name(role));
      if (!parsed) continue;
      CHECK(*parsed == role);
      ++spelled;
    }
    CHECK(spelled > 0);
  }
}

TEST_CASE("a role at an impossible place is no role", "[log][role]") {
  CHECK_FALSE(parse_role("pump.FL"));
  CHECK_FALSE(parse_role("wheel_speed"));
  CHECK_FALSE(parse_role("isolation.3"));
  CHECK_FALSE(parse_role("inlet.front"));
  CHECK_FALSE(parse_role(""));
  CHECK(parse_role("isolation") == Role::of_car(QuantityKind::isolation));
  CHECK(parse_role("outlet.rear") == Role::rear(QuantityKind::outlet));
}
