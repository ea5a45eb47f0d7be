// Lot lengths, heat and sampling against published figures; ids as in tests/SOURCES.md.
#include <catch2/catch.hpp>
#include <cmath>

#include "plan/daylight.h"
#include "plan/heat.h"
#include "plan/lot.h"
#include "signal/catch.h"

using namespace stopledger;

namespace {

constexpr double mph = 0.44704, foot = 0.3048;

LotNeed stop(double v_mps, double decel_mps2, double reaction_s) {
  return *lot_need({.mu = decel_mps2 / gravity_mps2, .reaction_s = reaction_s},
                   MetresPerSecond(v_mps));
}

}  // namespace

TEST_CASE("reaction and stop lengths are the plain sums",
          "[outside][plan][SD-20][SD-21][SD-22][SD-23][SD-24]") {
  struct Case {
    double kmh, decel, reaction_s, reaction_m, stop_m, stop_s;
  };
  // SD-20 to SD-24, two decimals.
  for (const Case& c :
       {Case{40, 5.0, 1.0, 11.11, 12.35, 2.22}, Case{50, 5.0, 1.0, 13.89, 19.29, 2.78},
        Case{60, 5.0, 1.0, 16.67, 27.78, 3.33}, Case{60, 3.0, 1.0, 16.67, 46.30, 5.56},
        Case{50, 7.5, 0.5, 6.94, 12.86, 1.85}}) {
    const LotNeed need = stop(c.kmh / 3.6, c.decel, c.reaction_s);
    CHECK(need.reaction_m == Approx(c.reaction_m).margin(0.005));
    CHECK(need.stop_m == Approx(c.stop_m).margin(0.005));
    CHECK(need.stop_s == Approx(c.stop_s).margin(0.005));
  }
}

TEST_CASE("stopping sight distances of the road designers", "[outside][plan][SD-01]") {
  // AASHTO: 2.5 s and 11.2 ft/s2; design values are the sum rounded up to 5 ft.
  const double table[][2]{{15, 80},  {20, 115}, {25, 155}, {30, 200}, {35, 250},
                          {40, 305}, {45, 360}, {50, 425}, {55, 495}, {60, 570},
                          {65, 645}, {70, 730}, {75, 820}, {80, 910}};
  for (const auto& [speed, design_ft] : table) {
    const LotNeed need = stop(speed * mph, 11.2 * foot, 2.5);
    const double feet = (need.reaction_m + need.stop_m) / foot;
    // The handbook's constants 1.47 and 1.075 are rounded: up to 0.25 % below or above.
    CHECK(feet <= design_ft * 1.0025);
    CHECK(feet > design_ft - 5.0 - 0.0025 * design_ft);
  }
  // The handbook's table at the speeds in between, ft; its constants are rounded as above.
  const double handbook[][2]{{20, 115}, {25, 155}, {30, 200}, {35, 250},
                             {50, 425}, {55, 495}, {60, 570}, {65, 645}};
  for (const auto& [speed, feet] : handbook) {
    const LotNeed need = stop(speed * mph, 11.2 * foot, 2.5);
    CHECK((need.reaction_m + need.stop_m) / foot <= feet * 1.0025);
    CHECK((need.reaction_m + need.stop_m) / foot > feet - 5.0 - 0.0025 * feet);
  }
  const LotNeed level = *lot_need({.mu = 0.35, .reaction_s = 2.5}, MetresPerSecond(60 * mph));
  CHECK((level.reaction_m + level.stop_m) / foot == Approx(563.36).epsilon(0.003));
  // 60 mph, 7 % downgrade: the published 649.07 ft takes a/g as 0.35 and 1.47 V t.
  const LotNeed down =
      *lot_need({.mu = 0.35, .slope = -0.07, .reaction_s = 2.5}, MetresPerSecond(60 * mph));
  CHECK((down.reaction_m + down.stop_m) / foot == Approx(649.07).epsilon(0.003));
}

TEST_CASE("typical stopping distances of the Highway Code", "[outside][plan][SD-10]") {
  // UK rule 126: thinking and braking in whole metres; SD-11: 0.671 s and 6.42 to 6.66 m/s2.
  const double table[][3]{{20, 6, 6},   {30, 9, 14},  {40, 12, 24},
                          {50, 15, 38}, {60, 18, 55}, {70, 21, 75}};
  for (const auto& [speed, thinking_m, braking_m] : table) {
    const LotNeed need = stop(speed * mph, 6.55, 0.671);
    CHECK(need.reaction_m == Approx(thinking_m).margin(0.5));
    CHECK(need.stop_m == Approx(braking_m).margin(0.75));  // 2 % of deceleration at 70 mph
  }
}

TEST_CASE("braking lengths over friction", "[outside][plan][SD-25]") {
  // v^2 / (2 mu g) in m, one decimal, at 30, 40, 50 and 60 km/h.
  const double table[][5]{{0.1, 35.4, 62.9, 98.3, 141.6}, {0.2, 17.7, 31.5, 49.2, 70.8},
                          {0.3, 11.8, 21.0, 32.8, 47.2},  {0.5, 7.1, 12.6, 19.7, 28.3},
                          {0.7, 5.1, 9.0, 14.0, 20.2},    {0.8, 4.4, 7.9, 12.3, 17.7}};
  for (const auto& row : table)
    for (int i = 1; i <= 4; ++i) {
      const auto need = lot_need({.mu = row[0]}, from_kmh(20.0 + 10.0 * i));
      REQUIRE(need);
      CHECK(need->stop_m == Approx(row[i]).margin(0.051));
    }
}

TEST_CASE("a published stop and its energy", "[outside][plan][HT-06]") {
  // 1690 kg from 134 km/h at 0.81 g: about 87 m and about 1170 kJ.
  const LotNeed need = stop(134 / 3.6, 0.81 * gravity_mps2, 1.0);
  CHECK(need.stop_m == Approx(87.2).margin(0.05));
  // All of it into one lump of 10 kg at 500 J/(kg K): 1170.7 kJ / 5 kJ/K.
  const DiscAxle lump{.energy_share = 1.0, .disc_kg = 10.0, .discs = 1};
  CHECK(stop_rise_k({.disc_share = 1.0, .specific_heat = 500.0}, lump, 1690.0, 134 / 3.6, 0.0) ==
        Approx(1170.7 / 5.0).margin(0.05));
}

TEST_CASE("a published disc temperature example", "[outside][plan][HT-04][HT-05]") {
  // 3000 lb at 60 mph into four rotors of 10 lb, c = 0.130 BTU/(lb F): 90.3 F, allow 1.5 %.
  const HeatCase heat{.disc_share = 1.0, .specific_heat = 0.130 * 4186.8};
  const DiscAxle all{.energy_share = 1.0, .disc_kg = 10 * 0.45359237, .discs = 4};
  const double rise_f = 1.8 * stop_rise_k(heat, all, 3000 * 0.45359237, 60 * mph, 0.0);
  CHECK(rise_f == Approx(90.3).epsilon(0.015));
  CHECK(rise_f == Approx(89.2).margin(0.1));  // HT-05
}

TEST_CASE("heating and cooling of a disc over repeated stops",
          "[outside][plan][HT-11][HT-12][HT-13]") {
  // HT-11: 1500 kg from 100 km/h, 70 % into two 7 kg discs, c = 460.
  const DiscAxle front{.energy_share = 0.7, .disc_kg = 7.0};
  CHECK(stop_rise_k({.disc_share = 1.0}, front, 1500, 100 / 3.6, 0.0) == Approx(62.9).margin(0.05));
  CHECK(stop_rise_k({.disc_share = 0.95}, front, 1500, 100 / 3.6, 0.0) ==
        Approx(59.8).margin(0.05));
  struct Case {
    double between_s;
    double fifth_peak_c, limit_c;
  };
  const auto peak_after = [](int stops, double between_s) {
    double disc = 20.0, peak = 0.0;
    for (int i = 0; i < stops; ++i) {
      peak = disc + 60.0;
      disc = cooled_c(peak, 20.0, between_s, 300.0);
    }
    return peak;
  };
  // HT-12, HT-13: 60 K each, tau 300 s, air 20 degC; the limit is 20 + 60 / (1 - exp(-t / 300)).
  for (const Case& c : {Case{120, 177.4, 202.0}, Case{180, 146.4, 153.0}, Case{60, 229.2, 351.0}}) {
    CHECK(peak_after(5, c.between_s) == Approx(c.fifth_peak_c).margin(0.05));
    CHECK(peak_after(200, c.between_s) == Approx(c.limit_c).margin(0.05));
  }
  const double peaks[]{80.0, 120.2, 147.2, 165.3, 177.4};
  for (int stops = 1; stops <= 5; ++stops)
    CHECK(peak_after(stops, 120.0) == Approx(peaks[stops - 1]).margin(0.05));
  // Cooling time is cooled_c turned round: 20 + 60 e^-1 = 42.07 after one time constant.
  CHECK(*cooling_s(80.0, 20.0, 20.0 + 60.0 * std::exp(-1.0), 300.0) == Approx(300.0));
  CHECK_FALSE(cooling_s(80.0, 20.0, 20.0, 300.0));
}

TEST_CASE("looks and releases needed for 95 %", "[outside][catch][DR-30]") {
  // 40 ms pulses, columns polled in turn at 5 values a second: releases for 95 % = ln 0.05 /
  // ln(1 - p/T), rounded up: 14, 29, 59, 119; a block at 10 a second: 6.
  const PulsePrior prior{.length_median_s = 0.04, .rate_median_hz = 1.0};
  struct Case {
    double interval_s;
    int releases;
  };
  for (const Case& c :
       {Case{0.2, 14}, Case{0.4, 29}, Case{0.8, 59}, Case{1.6, 119}, Case{0.1, 6}}) {
    CHECK(catch_probability(prior, c.interval_s, c.releases) >= 0.95);
    CHECK(catch_probability(prior, c.interval_s, c.releases - 1) < 0.95);
  }
  // DR-28: a 20 ms pulse in one look every 117.5 ms: 0.17.
  CHECK(single_catch({.length_median_s = 0.02}, 0.1175) == Approx(0.17).margin(0.0005));
}

TEST_CASE("sunrise and sunset of published almanacs", "[outside][plan][DL-01]") {
  struct Case {
    const char* day;
    GeoPlace place;
    int offset_min;
    double rise_min, set_min;
  };
  // London 51.5 N 0.13 W, from memory of printed almanacs, whole minutes; allow 1 min for
  // refraction and the year.
  for (const Case& c : {Case{"2024-06-21", {51.5, -0.13}, 60, 4 * 60 + 43, 21 * 60 + 21},
                        Case{"2024-12-21", {51.5, -0.13}, 0, 8 * 60 + 4, 15 * 60 + 53}}) {
    const Daylight light = sun_times(*parse_day(c.day), c.place, c.offset_min);
    REQUIRE(light.rise_min);
    CHECK(*light.rise_min == Approx(c.rise_min).margin(1.0));
    CHECK(*light.set_min == Approx(c.set_min).margin(1.0));
  }
  // Far from Greenwich the civil day must still be the one asked for.
  const Daylight east = sun_times(*parse_day("2024-03-20"), {0.0, 174.0}, 12 * 60);
  CHECK(*east.rise_min == Approx(6 * 60 + 28).margin(5.0));  // 6:00 + 24 min of zone + 7 - 3
  CHECK(*east.set_min == Approx(18 * 60 + 35).margin(5.0));
  CHECK_FALSE(sun_times(*parse_day("2024-12-21"), {75.0, 20.0}, 60).rise_min);  // polar night
}
