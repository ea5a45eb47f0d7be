#include "log/words.h"

#include <catch2/catch.hpp>

using namespace stopledger;

namespace {

std::string role_of(const std::string& header, const char* unit = "", const CarFacts& car = {}) {
  const auto wordings = recognise_words({header}, {parse_unit(unit)}, car);
  const auto& wording = wordings[0];
  if (wording.valve_unspecified) return "valve?";
  if (wording.place_only) return "place?";
  return wording.role ? role_name(*wording.role) : "";
}

/// Roles of headers that are read together.
std::vector<std::string> roles_of(const std::vector<std::string>& headers) {
  std::vector<std::string> roles;
  for (const auto& wording :
       recognise_words(headers, std::vector<std::optional<Unit>>(headers.size()), {}))
    roles.push_back(wording.role ? role_name(*wording.role) : "");
  return roles;
}

}  // namespace

TEST_CASE("headers are split at case, digits and punctuation", "[log][words]") {
  using Words = std::vector<std::string>;
  CHECK(split_words("whlSpdFL_2") == Words{"whl", "spd", "fl", "2"});
  CHECK(split_words("ABSPumpMotor") == Words{"abs", "pump", "motor"});
  CHECK(split_words("LF Inlet-Vlv.Cmd") == Words{"lf", "inlet", "vlv", "cmd"});
  CHECK(split_words("vitesse roue arri\xC3\xA8re") == Words{"vitesse", "roue", "arriere"});
  CHECK(split_words("").empty());
}

TEST_CASE("roles are recognised by their words", "[log][words]") {
  // Invented headers in the manners met: spelled out, abbreviated, camel case, snake case, dotted,
  // run together. Common practice.
  const std::vector<std::pair<const char*, const char*>> table{
      {"Wheel speed LF", "wheel_speed.FL"},
      {"LF Wheel Speed Sensor", "wheel_speed.FL"},
      {"FL_ws", "wheel_speed.FL"},
      {"WSS_FR", "wheel_speed.FR"},
      {"whlSpdFL", "wheel_speed.FL"},
      {"wheelSpeed.frontLeft", "wheel_speed.FL"},
      {"wheel_speed_rear_right", "wheel_speed.RR"},
      {"Rr Left Wheel Spd", "wheel_speed.RL"},
      {"Fr Right wheel speed", "wheel_speed.FR"},
      {"Left Front Wheel Velocity", "wheel_speed.FL"},
      {"RIGHT REAR WHEEL SPEED", "wheel_speed.RR"},
      {"wheelspeedfl", "wheel_speed.FL"},
      {"LFWheelSpeed", "wheel_speed.FL"},
      {"ABS.WhlSpd.RL", "wheel_speed.RL"},
      {"vFL", "wheel_speed.FL"},
      {"v_fl", "wheel_speed.FL"},
      {"Speed L F", "wheel_speed.FL"},
      {"n_wheel_rr", "wheel_speed.RR"},
      {"Rear wheel speed", "wheel_speed.rear"},
      {"rear axle speed", "wheel_speed.rear"},
      {"LF wheel pulses", "wheel_speed.FL"},
      {"LH Front Wheel Speed", "wheel_speed.FL"},
      {"Wheel Speed, Front, RH", "wheel_speed.FR"},
      {"LF Inlet Vlv Cmd", "inlet.FL"},
      {"ABS_InVlv_FL", "inlet.FL"},
      {"FL Inlet Solenoid", "inlet.FL"},
      {"Right rear inlet valve", "inlet.RR"},
      {"inletValve.frontRight", "inlet.FR"},
      {"LF hold valve", "inlet.FL"},
      {"Left front outlet valve", "outlet.FL"},
      {"RR Outlet Valve Status", "outlet.RR"},
      {"LF dump valve", "outlet.FL"},
      {"LF release valve", "outlet.FL"},
      {"RF decay solenoid", "outlet.FR"},
      {"outVlvRL", "outlet.RL"},
      {"rear outlet valve", "outlet.rear"},
      {"Rear Dump Solenoid", "outlet.rear"},
      {"rear inlet valve", "inlet.rear"},
      {"LF build/hold/dump", "valve.FL"},
      {"RR hold/release state", "valve.RR"},
      {"LF ABS valve", "valve?"},
      {"LF solenoid current", "valve?"},
      {"LF Modulator Current", "valve?"},
      {"LF", "place?"},
      {"FL caliper pressure", "wheel_pressure.FL"},
      {"Brake pressure RR", "wheel_pressure.RR"},
      {"pFL", "wheel_pressure.FL"},
      {"wheel cylinder pressure left front", "wheel_pressure.FL"},
      {"Master cylinder pressure", "master_pressure"},
      {"Brake pressure", "master_pressure"},
      {"MC Press", "master_pressure"},
      {"Isolation valve 1", "isolation.1"},
      {"Iso valve secondary", "isolation.2"},
      {"TC isolation valve", "isolation"},
      {"changeover valve 2", "isolation.2"},
      {"Prime valve 1", "prime.1"},
      {"Suction valve 2", "prime.2"},
      {"shuttle valve", "prime"},
      {"ABS pump motor", "pump"},
      {"Pump Motor Relay", "pump"},
      {"Return pump", "pump"},
      {"Pumpenmotor", "pump"},
      {"Pumpenrelais", "pump"},
      {"ABS motor relay", "pump"},
      {"HydraulicPumpCmd", "pump"},
      {"PMP_MTR_CMD", "pump"},
      {"Brake switch", "brake_switch"},
      {"Brake Pedal", "brake_switch"},
      {"Stop lamp switch", "brake_switch"},
      {"Brake light", "brake_switch"},
      {"BLS", "brake_switch"},
      {"brake_on", "brake_switch"},
      {"Brake Pedal Position Switch", "brake_switch"},
      {"p_brake", "master_pressure"},
      {"p_mc", "master_pressure"},
      {"Brake pedal position", "brake_travel"},
      {"Brake Travel", "brake_travel"},
      {"Vehicle speed", "vehicle_speed"},
      {"VSS", "vehicle_speed"},
      {"Vref", "vehicle_speed"},
      {"ABS reference speed", "vehicle_speed"},
      {"Speed", "vehicle_speed"},
      {"odom_speed", "vehicle_speed"},
      {"road speed", "vehicle_speed"},
      {"GPS speed", "satellite_speed"},
      {"gnss_velocity", "satellite_speed"},
      {"Long G", "accel_long"},
      {"Longitudinal acceleration", "accel_long"},
      {"ax", "accel_long"},
      {"a_x", "accel_long"},
      {"a_y", "accel_lat"},
      {"Lat G", "accel_lat"},
      {"Lateral Accel", "accel_lat"},
      {"G-force lat", "accel_lat"},
      {"Yaw", "yaw_rate"},
      {"Yaw Rate", "yaw_rate"},
      {"Gyro Z", "yaw_rate"},
      {"Steering", "steering_angle"},
      {"Steering wheel angle", "steering_angle"},
      {"SteerAngle", "steering_angle"},
      {"Throttle position", "throttle"},
      {"TPS", "throttle"},
      {"Accelerator pedal", "accelerator"},
      {"APP", "accelerator"},
      {"Pedal position", "accelerator"},
      {"Ignition timing", "ignition_timing"},
      {"Spark Advance", "ignition_timing"},
      {"Engine speed", "engine_speed"},
      {"RPM", "engine_speed"},
      {"engine_rpm", "engine_speed"},
      {"Engine torque", "engine_torque"},
      {"Batt V", "supply_voltage"},
      {"Battery voltage", "supply_voltage"},
      {"ABS supply voltage", "supply_voltage"},
      {"ABS active", "abs_active"},
      {"ABS", "abs_active"},
      {"absControlActive", "abs_active"},
      {"TC active", "traction_active"},
      {"Traction control", "traction_active"},
      {"stability control active", "stability_active"},
      {"ESC intervention", "stability_active"},
      {"ABS warning lamp", "warning_lamp"},
      {"ABS lamp", "warning_lamp"},
      {"Odometer", "odometer"},
      // Other trade languages, spelled out.
      {"Raddrehzahl vorne links", "wheel_speed.FL"},
      {"Radgeschwindigkeit hinten rechts", "wheel_speed.RR"},
      {"Einlassventil vorne rechts", "inlet.FR"},
      {"Auslassventil hinten links", "outlet.RL"},
      {"Bremslichtschalter", "brake_switch"},
      {"Bremslicht", "brake_switch"},
      {"Motordrehzahl", "engine_speed"},
      {"Lenkwinkel", "steering_angle"},
      {"vitesse roue avant gauche", "wheel_speed.FL"},
      {"Vitesse v\xC3\xA9hicule", "vehicle_speed"},
      {"velocidad rueda trasera derecha", "wheel_speed.RR"},
      {"velocit\xC3\xA0 ruota anteriore sinistra", "wheel_speed.FL"},
  };
  for (const auto& [header, role] : table) {
    INFO(header);
    CHECK(role_of(header) == role);
  }
}

TEST_CASE("columns of other trades get no role", "[log][words]") {
  for (const auto* header : {"Coolant",
                             "Engine coolant temperature",
                             "Tire pressure LF",
                             "Fuel level",
                             "Fuel pump",
                             "Intake air temperature",
                             "Oil pressure",
                             "Gear",
                             "Latitude",
                             "GPS longitude",
                             "Altitude",
                             "Fan speed",
                             "Wind speed",
                             "Cruise set speed",
                             "ABS fault code",
                             "Steering torque",
                             "Turbo boost pressure",
                             "Exhaust gas temp",
                             "LF tire temp",
                             "Parking brake temperature",
                             "Heading",
                             "Lap",
                             "Event number",
                             "Comment"}) {
    INFO(header);
    CHECK(role_of(header).empty());
  }
}

TEST_CASE("initials of other languages need company", "[log][words]") {
  using Roles = std::vector<std::string>;
  CHECK(roles_of({"v_rad_vl", "v_rad_vr", "v_rad_hl", "v_rad_hr"}) ==
        Roles{"wheel_speed.FL", "wheel_speed.FR", "wheel_speed.RL", "wheel_speed.RR"});
  CHECK(roles_of({"Vitesse AVG", "Vitesse AVD", "Vitesse ARG", "Vitesse ARD"}) ==
        Roles{"wheel_speed.FL", "wheel_speed.FR", "wheel_speed.RL", "wheel_speed.RR"});
  CHECK(roles_of({"Vitesse AV G", "Vitesse AV D", "Vitesse AR G", "Vitesse AR D"}) ==
        Roles{"wheel_speed.FL", "wheel_speed.FR", "wheel_speed.RL", "wheel_speed.RR"});
  CHECK(roles_of({"EV VL", "AV VL", "EV HR", "AV HR"}) ==
        Roles{"inlet.FL", "outlet.FL", "inlet.RR", "outlet.RR"});
  CHECK(roles_of({"EV_FL", "AV_FL", "EV_RR", "AV_RR"}) ==
        Roles{"inlet.FL", "outlet.FL", "inlet.RR", "outlet.RR"});
  // "LH" and "RH" alone are sides, not rear corners.
  CHECK(roles_of({"LH front wheel speed", "RH front wheel speed"}) ==
        Roles{"wheel_speed.FL", "wheel_speed.FR"});
  CHECK(roles_of({"wheel speed AS", "average speed"})[0].empty());
}

TEST_CASE("a symbol in front of a corner is not taken for a corner", "[log][words]") {
  CHECK(roles_of({"vR_VL", "vR_VR", "vR_HL", "vR_HR", "EV_VL", "AV_VL", "RFP"}) ==
        std::vector<std::string>{"wheel_speed.FL", "wheel_speed.FR", "wheel_speed.RL",
                                 "wheel_speed.RR", "inlet.FL", "outlet.FL", "pump"});
}

TEST_CASE("German initials of an axle, and words run together", "[log][words]") {
  CHECK(
      roles_of({"Auslassventil VL", "Auslassventil VR", "Auslassventil HA", "Einlassventil HA"}) ==
      std::vector<std::string>{"outlet.FL", "outlet.FR", "outlet.rear", "inlet.rear"});
  CHECK(roles_of({"Druckhalteventil VL", "Druckabbauventil HR", "Druckaufbauventil HL"}) ==
        std::vector<std::string>{"inlet.FL", "outlet.RR", "inlet.RL"});
  CHECK(role_of("Hydraulikpumpe") == "pump");
  CHECK(role_of("Versorgungsspannung", "V") == "supply_voltage");
  CHECK(role_of("Drosselklappenwinkel", "%") == "throttle");
  CHECK(role_of("Vordruck", "bar") == "master_pressure");
  CHECK(role_of("Drehrate", "deg/s") == "yaw_rate");
  CHECK(role_of("Drehrate X", "deg/s").empty());
  CHECK(role_of("Speedometer", "km/h") == "vehicle_speed");
}

TEST_CASE("a valve that holds pressure is no pressure; in and out name two valves",
          "[log][words][valves]") {
  CHECK(role_of("Left Front pressure hold valve") == "inlet.FL");
  CHECK(role_of("RR pressure reduction valve") == "outlet.RR");
  CHECK(role_of("FL wheel pressure", "bar") == "wheel_pressure.FL");
  CHECK(roles_of({"ABS Valve FL In", "ABS Valve FL Out"}) ==
        std::vector<std::string>{"inlet.FL", "outlet.FL"});
}

TEST_CASE("a flag of the rear wheels gives way to the car's", "[log][words]") {
  const auto wordings =
      recognise_words({"Rear ABS active", "ABS event"}, {std::nullopt, std::nullopt}, {});
  REQUIRE(wordings[1].role == Role::of_car(QuantityKind::abs_active));
  CHECK((!wordings[0].role || wordings[0].rank < wordings[1].rank));
}

TEST_CASE("axle and side as abbreviated beside spelled quantities", "[log][words]") {
  CHECK(roles_of({"vel ruota AntSx", "vel ruota AntDx", "vel ruota PostSx", "vel ruota PostDx"}) ==
        std::vector<std::string>{"wheel_speed.FL", "wheel_speed.FR", "wheel_speed.RL",
                                 "wheel_speed.RR"});
  CHECK(role_of("M/C Press", "bar") == "master_pressure");
}

TEST_CASE("isolation is decided by how many there are", "[log][words][valves]") {
  // Trade reference 1.4: three or four are inlets, one or two are circuit valves.
  const auto four = roles_of({"LF isolation", "RF isolation", "LR isolation", "RR isolation"});
  CHECK(four == std::vector<std::string>{"inlet.FL", "inlet.FR", "inlet.RL", "inlet.RR"});
  const auto three = roles_of({"LF isolation", "RF isolation", "rear isolation"});
  CHECK(three == std::vector<std::string>{"inlet.FL", "inlet.FR", "inlet.rear"});
  const auto wordings =
      recognise_words({"LF isolation", "RF isolation"}, {std::nullopt, std::nullopt}, {});
  CHECK_FALSE(wordings[0].role);
  CHECK_FALSE(wordings[0].question.empty());
  CHECK(roles_of({"front isolation valve", "rear isolation valve"}) ==
        std::vector<std::string>{"isolation.1", "isolation.2"});
}

TEST_CASE("wheels that are only numbered are asked about", "[log][words]") {
  const auto wordings =
      recognise_words({"wheel_speeds[0]", "v_whl_2"}, {std::nullopt, std::nullopt}, {});
  for (const auto& wording : wordings) {
    CHECK_FALSE(wording.role);
    CHECK(wording.question.find("which wheel") != std::string::npos);
  }
  CHECK(role_of("IGN", "V") == "supply_voltage");
}

TEST_CASE("driver side needs the steering side", "[log][words]") {
  const auto asked = recognise_words({"driver front wheel speed"}, {std::nullopt}, {});
  CHECK_FALSE(asked[0].role);
  CHECK(asked[0].question.find("steering side") != std::string::npos);
  CarFacts left, right;
  left.steering_side = SteeringSide::left;
  right.steering_side = SteeringSide::right;
  CHECK(role_of("driver front wheel speed", "", left) == "wheel_speed.FL");
  CHECK(role_of("driver front wheel speed", "", right) == "wheel_speed.FR");
  CHECK(role_of("passenger rear inlet valve", "", left) == "inlet.RR");
}
