#include "record/measure.h"

#include <catch2/catch.hpp>

#include "base/error.h"

using namespace stopledger;

TEST_CASE("units as people write them come out in the base unit", "[record][units]") {
  // By hand from the definitions: 1 qt = 57.75 in3 of 16.387064 mL; 1 fl oz = 1/32 qt;
  // 1 psi = 6.894757 kPa; degC = (degF - 32) / 1.8.
  CHECK(parse_measure("1 qt", Dimension::volume) == Approx(57.75 * 16.387064).epsilon(1e-9));
  CHECK(parse_measure("32 fl oz", Dimension::volume) == Approx(57.75 * 16.387064).epsilon(1e-9));
  CHECK(parse_measure("1 imp fl oz", Dimension::volume) == Approx(4546.09 / 160).epsilon(1e-9));
  CHECK(parse_measure("0.18L", Dimension::volume) == Approx(180.0));
  CHECK(parse_measure("180 ML", Dimension::volume) == Approx(180.0));
  CHECK(parse_measure("2000 psi", Dimension::pressure) == Approx(13789.514).margin(0.001));
  CHECK(parse_measure("160 bar", Dimension::pressure) == Approx(16000.0));
  CHECK(parse_measure("401 degF", Dimension::temperature) == Approx(205.0));
  CHECK(parse_measure("-40 degF", Dimension::temperature) == Approx(-40.0));
}

TEST_CASE("a number that can be read in two ways is refused", "[record][units]") {
  CHECK_THROWS_AS(parse_measure("45,210 km", Dimension::distance), Error);
  CHECK_THROWS_AS(parse_measure("1.234,5 km", Dimension::distance), Error);
  CHECK(parse_measure("12,4 V", Dimension::voltage) == Approx(12.4));
  CHECK(parse_measure("45 210 km", Dimension::distance) == Approx(45210.0));
}

TEST_CASE("a missing or foreign unit is refused with the units that fit", "[record][units]") {
  CHECK_THROWS_WITH(parse_measure("180", Dimension::volume), Catch::Contains("mL, L, qt, fl oz"));
  CHECK_THROWS_WITH(parse_measure("180 bar", Dimension::volume), Catch::Contains("unknown unit"));
  CHECK_THROWS_AS(parse_measure("twelve V", Dimension::voltage), Error);
  CHECK_THROWS_AS(parse_measure("", Dimension::voltage), Error);
  CHECK_THROWS_AS(parse_measure("1e999 V", Dimension::voltage), Error);
  CHECK_THROWS_AS(parse_measure("2.5", Dimension::count), Error);
  CHECK(parse_measure("12.4", Dimension::voltage) == Approx(12.4));  // volts have one spelling
  CHECK(parse_measure("45210", Dimension::distance, "mi") == Approx(45210 * 1.609344));
}
