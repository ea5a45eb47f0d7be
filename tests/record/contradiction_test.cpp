#include "record/contradiction.h"

#include <catch2/catch.hpp>

using namespace stopledger;

namespace {

Record with_fields(const char* kind, std::map<std::string, std::string> fields) {
  Record record;
  record.kind = kind;
  for (const auto& [name, written] : fields) record.fields[name] = {written, std::nullopt};
  return record;
}

}  // namespace

TEST_CASE("a passed test with a corner not in order contradicts itself", "[record]") {
  const auto test = with_fields("valve-test", {{"result", "pass"}, {"rr.hold", "no"}});
  CHECK(failing_corner(test) == "RR: hold no");
  CHECK_THAT(contradiction(test), Catch::Contains("RR: hold no"));
  CHECK(contradiction(with_fields("valve-test", {{"result", "fail"}, {"rr.hold", "no"}})).empty());
  CHECK(contradiction(with_fields("valve-test", {{"result", "pass"}, {"rr.hold", "yes"}})).empty());
}

TEST_CASE("a wheel that active pressure does not lock is no contradiction", "[record]") {
  // Traction control brakes driven wheels only.
  const auto test = with_fields("pressure-test", {{"result", "pass"}, {"rr.lock", "no"}});
  CHECK(contradiction(test).empty());
  const auto stuck = with_fields("pressure-test", {{"result", "pass"}, {"rr.free", "no"}});
  CHECK_FALSE(contradiction(stuck).empty());
}

TEST_CASE("an exercise is no better than its worst proof", "[record]") {
  const auto of = [](std::map<std::string, std::string> fields) {
    return contradiction(with_fields("exercise", std::move(fields)));
  };
  CHECK_FALSE(of({{"result", "commanded"}, {"fl", "suspect"}}).empty());
  CHECK_FALSE(of({{"result", "exercised"}, {"fl", "idle"}, {"fr", "unseen"}}).empty());
  // The rears need not act in stops that are for the fronts; a pump may be all that was asked for.
  CHECK(of({{"result", "exercised"}, {"fl", "exercised"}, {"rl", "idle"}}).empty());
  CHECK(of({{"result", "exercised"}, {"fl", "idle"}, {"pump", "exercised"}}).empty());
  CHECK(of({{"result", "suspect"}, {"fl", "exercised"}}).empty());  // the pump may be the one
  CHECK(of({{"result", "exercised"}}).empty());
}
