#include <array>

#include "record/kinds.h"

namespace stopledger {

namespace {

using D = Dimension;

constexpr Field text(std::string_view name, std::string_view help = {}) {
  return {.name = name, .help = help};
}
constexpr Field flag(std::string_view name, std::string_view help = {}) {
  return {.name = name, .type = FieldType::flag, .help = help};
}
constexpr Field reference(std::string_view name, std::string_view help = {}) {
  return {.name = name, .type = FieldType::reference, .help = help};
}
constexpr Field choice(std::string_view name, std::string_view choices,
                       std::string_view help = {}) {
  return {.name = name, .type = FieldType::choice, .choices = choices, .help = help};
}
constexpr Field number(std::string_view name, Dimension dimension, double low, double high,
                       std::string_view help = {}) {
  return {.name = name,
          .type = FieldType::number,
          .dimension = dimension,
          .low = low,
          .high = high,
          .help = help};
}
constexpr Field needed(Field field) {
  field.required = 1;
  return field;
}
constexpr Field one_needed(Field field) {
  field.required = 2;
  return field;
}
constexpr Field each_corner(Field field) {
  field.per_corner = true;
  return field;
}

constexpr std::string_view pass_fail = "pass|fail";
constexpr std::string_view results = "exercised|commanded|suspect|idle|unseen";
constexpr std::string_view grades = "DOT 3|DOT 4|DOT 5|DOT 5.1|other";
constexpr std::string_view corners = "FL|FR|RL|RR";
constexpr Field passed = needed(choice("result", pass_fail));

// Limits are physical bounds that catch slips of the pen and of the unit (chosen wide, common
// practice), never a verdict on the car. Fields follow trade practice: what a mechanic writes down.
constexpr std::array fluid_test{
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
constexpr auto fluid_fields(Field (*amount)(Field)) {
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
constexpr auto fluid_change = fluid_fields([](Field field) { return field; });
constexpr auto re_flush = fluid_fields(one_needed);

constexpr std::array lamp_check{
    passed,
    needed(text("codes", "codes read before clearing, or none")),
    number("lamp-abs", D::duration, 0, 60, "seconds the lamp stays on after key-on"),
    number("lamp-brake", D::duration, 0, 60),
    number("lamp-stability", D::duration, 0, 60),
    text("codes-after"),
    number("voltage", D::voltage, 0, 60, "battery at rest"),
};

constexpr std::array pump_run{
    passed,
    needed(choice("sound", "steady|labouring|none")),
    number("time", D::duration, 0, 300),
    number("voltage-before", D::voltage, 0, 60),
    number("voltage-low", D::voltage, 0, 60),
    flag("push", "felt in the pedal"),
    number("pedal-after", D::length, 0, 400),
    number("motor", D::resistance, 0, 1e9),
};

constexpr std::array valve_test{
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

constexpr std::array pressure_test{
    passed,
    one_needed(each_corner(flag("lock", "locked with no foot on the pedal"))),
    each_corner(flag("free", "free at the end")),
    each_corner(number("lock-time", D::duration, 0, 60)),
    text("noise"),
    text("helper"),
};

constexpr std::array store_test{
    passed,
    one_needed(number("charge-time", D::duration, 0, 600)),
    one_needed(number("cut-out", D::pressure, 0, 40000)),
    number("cut-in", D::pressure, 0, 40000),
    one_needed(number("presses", D::count, 0, 200, "between cut-out and cut-in")),
    number("after-30min", D::pressure, 0, 40000, "leak-down"),
    number("after-3h", D::pressure, 0, 40000),
};

constexpr std::array roll_check{
    passed,
    each_corner(number("lowest", D::speed, 0, 60, "lowest speed read")),
    each_corner(number("spread", D::percent, 0, 100, "against the mean")),
    each_corner(number("dropouts", D::count, 0, 100000, "per kilometre")),
    each_corner(flag("dip", "once per turn")),
};

constexpr std::array self_test{
    passed,
    needed(flag("heard")),
    flag("felt"),
    number("speed", D::speed, 0, 100),
    number("pump-time", D::duration, 0, 60),
    number("voltage-dip", D::voltage, 0, 60),
};

constexpr std::array exercise{
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

constexpr std::array fault{
    needed(text("what", "what was seen, heard or read")),
    choice("corner", corners),
    text("codes"),
    reference("check", "record that showed it"),
};

constexpr std::array repair{
    needed(text("what")),
    reference("fault", "number of the fault it closes"),
    choice("corner", corners),
    flag("opened", "the hydraulic system was opened"),
    flag("unit", "the hydraulic unit was repaired or replaced"),
};

constexpr std::array part{
    needed(text("part")),
    choice("corner", corners),
    text("number", "part or serial number"),
    number("torque", D::torque, 0, 2000),
    flag("opened", "the hydraulic system was opened"),
    flag("unit", "the part is the hydraulic unit"),
    reference("fault", "number of the fault it closes"),
};

constexpr std::array change{
    needed(choice("what",
                  "tyres|wheels|brake parts|suspension|bearings|engine calibration|control-unit "
                  "calibration|wiring|sensors|other")),
    needed(text("detail")),
    choice("corner", corners),
};

constexpr std::array cluster_replaced{
    needed(number("old", D::distance, 0, 5e6, "last reading of the old cluster")),
    needed(number("new", D::distance, 0, 5e6, "first reading of the new one")),
};

constexpr std::array storage_begin{
    text("place"),
    number("voltage", D::voltage, 0, 60),
    flag("charger"),
};

constexpr std::array storage_end{
    number("voltage", D::voltage, 0, 60),
    flag("leaks", "seen before moving"),
};

constexpr std::array after_run{
    needed(choice("result", "clean|re-flush|repair")),
    number("pedal", D::length, 0, 400),
    number("level", D::percent, 0, 120),
    each_corner(number("temperature", D::temperature, -40, 900)),
    flag("nuts", "wheel nuts checked"),
    flag("leaks"),
    flag("lamp", "a lamp is on"),
    reference("session"),
};

constexpr std::array level_check{
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

constexpr std::array unit_bleed{
    passed,
    text("routine"),
    number("cycles", D::count, 0, 10000),
    number("pump-time", D::duration, 0, 3600),
    number("volume", D::volume, 0, 10000),
    number("voltage-low", D::voltage, 0, 60),
};

constexpr std::array depressurise{
    needed(number("presses", D::count, 1, 200, "the manual's count and a few more")),
    number("force", D::force, 0, 3000),
    needed(flag("hard", "pedal became clearly hard")),
};

constexpr std::array session{
    text("place", "closed ground, whose permission"),
    text("surface"),
    text("driver"),
    text("helper"),
    number("temperature", D::temperature, -50, 60, "air"),
    text("plan", "number of the plan"),
    choice("route", "young fluid|fluid due|unknown or neglected", "that led to it"),
    text("overridden", "what stood in the way, and the written reason to go on"),
};

constexpr std::array postponed{
    needed(text("procedure")),
    needed(text("reason")),
};

constexpr std::array sensor_zero{
    passed,
    needed(text("what", "steering angle, yaw, acceleration, pressure")),
};

constexpr std::array hose_look{passed, text("look", "bulges, cracks, age code")};

constexpr std::array note{needed(text("text"))};

constexpr std::array channel_map{
    needed(text("wording", "stands for the column names of one recorder")),
    text("columns", "the first of those names"),
};

constexpr std::array kinds{
    Kind{"fluid-test", "fluid condition test", fluid_test, "method", "result"},
    Kind{"fluid-change", "fluid change", fluid_change},
    Kind{"re-flush", "short re-flush", re_flush},
    Kind{"lamp-check", "lamp and code check", lamp_check, {}, "result"},
    Kind{"level-check", "level, leak and pedal check", level_check, {}, "result"},
    Kind{"pump-run", "pump run", pump_run, {}, "result"},
    Kind{"valve-test", "lifted-wheel valve test", valve_test, {}, "result"},
    Kind{"pressure-test", "static active-pressure test", pressure_test, {}, "result"},
    Kind{"depressurise", "store depressurised", depressurise},
    Kind{"store-test", "high-pressure store test", store_test, {}, "result"},
    Kind{"roll-check", "wheel-speed roll check", roll_check, {}, "result"},
    Kind{"self-test", "drive-off self-test", self_test, {}, "result"},
    Kind{"session", "session on the lot", session},
    Kind{"exercise", "exercise", exercise, "procedure", "result"},
    Kind{"after-run", "after-run check", after_run, {}, "result"},
    Kind{"unit-bleed", "automated unit bleed", unit_bleed, {}, "result"},
    Kind{"sensor-zero", "sensor zero", sensor_zero, "what", "result"},
    Kind{"hose-look", "hoses and rubber looked at", hose_look, {}, "result"},
    Kind{"fault", "fault", fault},
    Kind{"repair", "repair", repair},
    Kind{"part", "part replaced", part, "part"},
    Kind{"change", "change to the car", change, "what"},
    Kind{"odometer", "odometer reading", {}},
    Kind{"cluster-replaced", "instrument cluster replaced", cluster_replaced},
    Kind{"storage-begin", "storage begins", storage_begin},
    Kind{"storage-end", "storage ends", storage_end},
    Kind{"postponed", "postponed", postponed, "procedure"},
    Kind{"note", "note", note},
    Kind{"channel-map", "channel map of a recorder", channel_map, "wording"},
};

}  // namespace

std::span<const Kind> record_kinds() { return kinds; }

}  // namespace stopledger
