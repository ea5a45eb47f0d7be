#pragma once

#include "record/kind_fields.h"

/// Fields of the kinds that say what was driven and what happened to the car.
namespace stopledger::kind_fields {

inline constexpr std::array exercise{
    needed(choice("result", results)),
    text("procedure", "procedure id"),
    each_corner(choice("", results)),
    choice("pump", results),
    number("stops", D::count, 0, 1000),
    text("surface"),
    text("driver"),
    text("helper"),
    reference("session"),
};

inline constexpr std::array fault{
    needed(text("what", "what was seen, heard or read")),
    choice("corner", corners),
    text("codes"),
    reference("check", "record that showed it"),
};

inline constexpr std::array repair{
    needed(text("what")),
    reference("fault", "number of the fault it closes"),
    choice("corner", corners),
    flag("opened", "the hydraulic system was opened"),
    flag("unit", "the hydraulic unit was repaired or replaced"),
};

inline constexpr std::array part{
    needed(text("part")),
    choice("corner", corners),
    text("number", "part or serial number"),
    number("torque", D::torque, 0, 2000),
    flag("opened", "the hydraulic system was opened"),
    flag("unit", "the part is the hydraulic unit"),
    reference("fault", "number of the fault it closes"),
};

inline constexpr std::array change{
    needed(choice("what",
                  "tyres|wheels|brake parts|suspension|bearings|engine calibration|control-unit "
                  "calibration|wiring|sensors|other")),
    needed(text("detail")),
    choice("corner", corners),
};

inline constexpr std::array cluster_replaced{
    needed(number("old", D::distance, 0, 5e6, "last reading of the old cluster")),
    needed(number("new", D::distance, 0, 5e6, "first reading of the new one")),
};

inline constexpr std::array storage_begin{
    text("place"),
    number("voltage", D::voltage, 0, 60),
    flag("charger"),
};

inline constexpr std::array storage_end{
    number("voltage", D::voltage, 0, 60),
    flag("leaks", "seen before moving"),
};

inline constexpr std::array after_run{
    needed(choice("result", "clean|re-flush|repair")),
    number("pedal", D::length, 0, 400),
    number("level", D::percent, 0, 120),
    each_corner(number("temperature", D::temperature, -40, 900)),
    flag("nuts", "wheel nuts checked"),
    flag("leaks"),
    flag("lamp", "a lamp is on"),
    reference("session"),
};

inline constexpr std::array level_check{
    passed,
    number("level", D::percent, 0, 120, "0 at MIN, 100 at MAX"),
    flag("leaks"),
    number("pedal", D::length, 0, 400, "travel at the marked force"),
    number("force", D::force, 0, 3000),
    number("sink", D::length, 0, 400, "in 10 s"),
    number("reserve", D::percent, 0, 100),
    flag("booster", "pedal drops at engine start"),
    text("hoses", "bulges, cracks, wet spots"),
};

inline constexpr std::array unit_bleed{
    passed,
    text("routine"),
    number("cycles", D::count, 0, 10000),
    number("pump-time", D::duration, 0, 3600),
    number("volume", D::volume, 0, 10000),
    number("voltage-low", D::voltage, 0, 60),
};

inline constexpr std::array depressurise{
    needed(number("presses", D::count, 1, 200, "the manual's count and a few more")),
    number("force", D::force, 0, 3000),
    needed(flag("hard", "pedal became clearly hard")),
};

inline constexpr std::array session{
    text("place", "closed ground, whose permission"),
    text("surface"),
    text("driver"),
    text("helper"),
    number("temperature", D::temperature, -50, 60, "air"),
    text("plan", "number of the plan"),
    choice("route", "young fluid|fluid due|unknown or neglected", "that led to it"),
    text("overridden", "what stood in the way, and the written reason to go on"),
};

inline constexpr std::array postponed{
    needed(text("procedure")),
    needed(text("reason")),
};

inline constexpr std::array sensor_zero{
    passed,
    needed(text("what", "steering angle, yaw, acceleration, pressure")),
};

inline constexpr std::array hose_look{passed, text("look", "bulges, cracks, age code")};

inline constexpr std::array note{needed(text("text"))};

inline constexpr std::array channel_map{
    needed(text("wording", "stands for the column names of one recorder")),
    text("columns", "the first of those names"),
};

}  // namespace stopledger::kind_fields
