#pragma once

#include "record/kind_fields.h"

/// Fields of the kinds that examine or service the car.
namespace stopledger::kind_fields {

// Limits are physical bounds that catch slips of the pen and of the unit (chosen wide, common
// practice), never a verdict on the car. Fields follow trade practice: what a mechanic writes down.
inline constexpr std::array fluid_test{
    needed(
        choice("method",
               "boiling-point|conductivity|refractometer|copper-strip|layer|look|laboratory|other",
               "never converted into one another")),
    needed(choice("place", "reservoir|caliper FL|caliper FR|caliper RL|caliper RR|unit|other",
                  "where the sample was taken")),
    one_needed(number("boiling", D::temperature, 80, 350, "boiling point of the sample")),
    one_needed(number("water", D::percent, 0, 20, "water by mass as the instrument states it")),
    one_needed(number("copper", D::ppm, 0, 5000)),
    one_needed(text("look", "colour, layer, droplets")),
    text("instrument", "which tester, its number"),
    text("limit", "the owner's limit and where it comes from"),
    choice("result", "pass|watch|fail"),
};

/// A change and a short re-flush are the same act; the re-flush is nothing without its amounts.
inline constexpr auto fluid_fields(Field (*amount)(Field)) {
  return std::array{needed(choice("grade", grades)),
                    amount(each_corner(number("", D::volume, 0, 5000, "bled at this corner"))),
                    amount(number("total", D::volume, 0, 10000, "used in all")),
                    text("lot", "batch on the container"),
                    text("opened", "day the container was opened"),
                    text("order", "order of corners used, and where it stands"),
                    choice("method", "pedal|pressure|vacuum|gravity|unit routine|other"),
                    number("pedal-before", D::length, 0, 400, "pedal travel"),
                    number("pedal-after", D::length, 0, 400),
                    number("depressurised", D::count, 1, 200,
                           "pedal presses before opening (high-pressure store)"),
                    flag("clutch", "clutch circuit flushed too"),
                    text("waste", "where the old fluid went")};
}
inline constexpr auto fluid_change = fluid_fields([](Field field) { return field; });
inline constexpr auto re_flush = fluid_fields(one_needed);

inline constexpr std::array lamp_check{
    passed,
    needed(text("codes", "codes read before clearing, or none")),
    number("lamp-abs", D::duration, 0, 60, "seconds the lamp stays on after key-on"),
    number("lamp-brake", D::duration, 0, 60),
    number("lamp-stability", D::duration, 0, 60),
    text("codes-after"),
    number("voltage", D::voltage, 0, 60, "battery at rest"),
};

inline constexpr std::array pump_run{
    passed,
    needed(choice("sound", "steady|labouring|none")),
    number("time", D::duration, 0, 300),
    number("voltage-before", D::voltage, 0, 60),
    number("voltage-low", D::voltage, 0, 60),
    flag("push", "felt in the pedal"),
    number("pedal-after", D::length, 0, 400),
    number("motor", D::resistance, 0, 1e9),
};

inline constexpr std::array valve_test{
    passed,
    each_corner(flag("free", "turns before the test")),
    each_corner(flag("lock", "locked with the pedal")),
    each_corner(flag("hold", "free while held")),
    one_needed(each_corner(flag("release", "freed by release"))),
    each_corner(number("free-time", D::duration, 0, 60)),
    each_corner(number("lock-time", D::duration, 0, 60)),
    each_corner(number("torque", D::torque, 0, 2000)),
    each_corner(number("roller", D::force, 0, 20000)),
    flag("pedal-high", "pedal stayed high"),
    text("helper"),
};

inline constexpr std::array pressure_test{
    passed,
    one_needed(each_corner(flag("lock", "locked with no foot on the pedal"))),
    each_corner(flag("free", "free at the end")),
    each_corner(number("lock-time", D::duration, 0, 60)),
    text("noise"),
    text("helper"),
};

inline constexpr std::array store_test{
    passed,
    one_needed(number("charge-time", D::duration, 0, 600)),
    one_needed(number("cut-out", D::pressure, 0, 40000)),
    number("cut-in", D::pressure, 0, 40000),
    one_needed(number("presses", D::count, 0, 200, "between cut-out and cut-in")),
    number("after-30min", D::pressure, 0, 40000, "leak-down"),
    number("after-3h", D::pressure, 0, 40000),
};

inline constexpr std::array roll_check{
    passed,
    each_corner(number("lowest", D::speed, 0, 60, "lowest speed read")),
    each_corner(number("spread", D::percent, 0, 100, "against the mean")),
    each_corner(number("dropouts", D::count, 0, 100000, "per kilometre")),
    each_corner(flag("dip", "once per turn")),
};

inline constexpr std::array self_test{
    passed,
    needed(flag("heard")),
    flag("felt"),
    number("speed", D::speed, 0, 100),
    number("pump-time", D::duration, 0, 60),
    number("voltage-dip", D::voltage, 0, 60),
};

}  // namespace stopledger::kind_fields
