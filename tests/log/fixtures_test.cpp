// Small files named for what is wrong with them (tests/log/fixtures); made here, invented data.
#include <catch2/catch.hpp>
#include <filesystem>
#include <set>

#include "base/error.h"
#include "log/reader.h"

using namespace stopledger;

namespace {

const std::string folder = std::string(STOPLEDGER_SOURCE_DIR) + "/tests/log/fixtures/";

struct Expected {
  std::string file;
  std::string error;  ///< part of the message; "" when the file is read
  std::size_t rows = 3;
  std::string role = "wheel_speed.FL";
  std::vector<double> values = {10, 5, 5};  ///< SI
  std::string says = "";                    ///< part of a note or defect
  std::size_t segments = 1;
  std::string second_role = "";
  std::vector<double> second_values = {};
};

const std::string outlet = "outlet.FL";
const std::vector<double> pulse{0, 1, 0};

// Most files hold 36, 18, 18 km/h (10, 5, 5 m/s) and an outlet that is off, on, off.
const std::vector<Expected> table{
    {"plain.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    // Nothing to read: the message says what to do.
    {"empty.csv", "is empty"},
    {"blank_lines_only.csv", "no header"},
    {"header_only.csv", "no rows"},
    {"no_header.csv", "no header"},
    {"no_time.csv", "no time column"},
    {"only_row_numbers.csv", "only counts the rows"},
    {"binary.bin", "is not text"},
    {"spreadsheet.xlsx", "zip archive or a spreadsheet"},
    {"packed_cut_short.csv.gz", "damaged or cut short"},
    {"packed_damaged.csv.zst", "damaged or cut short"},
    {"unquoted_decimal_comma.csv", "export with semicolons"},
    {"two_columns_for_one_wheel.csv", "two columns claim wheel_speed.FL"},
    {"same_header_twice.csv", "two columns claim wheel_speed.FL"},
    {"impossible_unit.csv", "cannot be in bar"},
    // Delimiters, marks, line ends, encodings.
    {"semicolon_decimal_comma.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"tab_delimited.tsv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"pipe_delimited.txt", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"quoted_decimal_comma.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    // 1200.5 rpm = 125.716 rad/s; x 0.30 m
    {"thousands_point.csv", "", 3, "wheel_speed.FL", {37.7148, 34.5732, 31.4316}},
    {"thousands_space.csv", "", 3, "engine_speed", {125.6637, 115.1917, 94.2478}},
    {"thousands_apostrophe.csv", "", 3, "engine_speed", {125.6637, 115.1917, 94.2478}},
    {"crlf.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"cr_only.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"mixed_line_ends.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"bom_utf8.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"utf16le_bom.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"utf16be_bom.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"utf16le_no_mark.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"latin1_degree.csv", "", 2, "steering_angle", {1, 0}, "Latin-1"},
    {"degree_encoded_twice.csv", "", 2, "steering_angle", {1, 0}},
    {"packed.csv.gz", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"packed.csv.zst", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    // What stands before, between and after the rows.
    {"preamble.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"comment_lines.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"blank_lines_between.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"units_row.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"bracketed_units_row.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"group_row_above_header.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"header_repeated.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "header is repeated"},
    {"second_table.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "second table"},
    {"trailing_delimiter.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"trailing_delimiter_rows_only.csv", "", 3, "wheel_speed.FL", {10, 5, 5}},
    {"short_rows.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "too few cells"},
    {"row_too_long.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "more cells than the header"},
    {"cut_in_last_cell.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "cut short"},
    {"no_newline_at_end.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"nul_bytes.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"row_number_first.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"nothing_recognised.csv", "", 2, "", {}},
    // Cells.
    {"missing_cells.csv", "", 4, "wheel_speed.FL", {10, 5}, "", 1, outlet, pulse},
    {"not_a_number.csv", "", 3, "wheel_speed.FL", {10, 5}, "neither number nor state"},
    {"unit_in_cells.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"quoted_cells.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"quoted_newline_in_header.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"stray_quote.csv", "", 3, "wheel_speed.FL", {10, 5}, "neither number nor state"},
    {"very_long_cell.csv", "", 3, "wheel_speed.FL", {10, 5}, "neither number nor state"},
    {"spaces_around_cells.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"exponents.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    // States.
    {"states_mixed.csv", "", 4, "outlet.FL", {0, 1, 0, 1}},
    {"states_open_closed.csv", "", 3, "inlet.FL", {0, 1, 1}, "", 1, outlet, {0, 0, 1}},
    {"state_percent_duty.csv", "", 3, "inlet.FL", {0, 0.6, 1}},
    {"state_255_is_on.csv", "", 3, "outlet.FL", {0, 1, 0}},
    {"state_coil_current.csv", "", 3, "outlet.FL", {0, 1, 0}, "read as energised"},
    {"three_level_words.csv", "", 3, "valve.FL", {0, 2, 1}},
    {"three_level_current.csv", "", 3, "valve.FL", {0, 2, 1}, "as hold"},
    {"valve_not_said_which.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "inlet or outlet"},
    // Time.
    {"time_ms.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"time_unit_wrong.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "read as seconds instead"},
    {"time_clock.csv", "", 3, "wheel_speed.FL", {10, 5, 5}},
    {"time_clock_ampm.csv", "", 3, "wheel_speed.FL", {10, 5, 5}},
    {"time_clock_12h_no_mark.csv", "", 3, "wheel_speed.FL", {10, 5, 5}},
    {"time_midnight.csv", "", 3, "wheel_speed.FL", {10, 5, 5}},
    {"time_iso.csv", "", 3, "wheel_speed.FL", {10, 5, 5}},
    {"time_date_and_clock_columns.csv", "", 3, "wheel_speed.FL", {10, 5, 5}},
    {"time_epoch_ms.csv", "", 3, "wheel_speed.FL", {10, 5, 5}},
    {"time_colon_milliseconds.csv", "", 3, "wheel_speed.FL", {10, 5, 5}},
    {"time_daylight_saving_back.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "clock was set"},
    {"time_daylight_saving_forward.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "clock was set"},
    {"time_per_value.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"time_repeated_stamp.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "stamp of the row before"},
    {"time_one_row_out_of_order.csv", "", 5, "outlet.FL", {0, 1, 0, 0, 0}, "out of order"},
    {"time_seconds_lag_behind_milliseconds.csv",
     "",
     4,
     "wheel_speed.FL",
     {10, 9.7222, 9.1667, 8.8889},
     "out of order"},
    {"time_runs_again.csv", "", 7, "outlet.FL", {0, 1, 0, 0, 0, 0, 0}, "starts again", 2},
    {"time_gap.csv", "", 5, "outlet.FL", {0, 1, 0, 0, 0}, "nothing was recorded", 2},
    {"time_clock_set_a_day.csv",
     "",
     4,
     "wheel_speed.FL",
     {10, 9.7222, 9.4444, 9.1667},
     "clock was set",
     2},
    {"time_missing_stamp.csv", "", 2, "wheel_speed.FL", {10, 5}, "without a time stamp"},
    // Meaning.
    {"speed_without_unit.csv", "", 3, "outlet.FL", {0, 1, 0}, "as mph"},
    {"speed_at_full_scale.csv", "", 4, "wheel_speed.FL", {10, 5, 5}, "impossibly high"},
    {"speed_negative.csv", "", 3, "wheel_speed.FR", {10, 5, 5}, "mostly negative"},
    // 300 rpm = 31.416 rad/s; x 0.30 m
    {"wheel_speed_rpm.csv", "", 3, "wheel_speed.FL", {9.4248, 6.2832, 3.1416}, "rolling radius"},
    {"driver_side.csv", "", 2, "vehicle_speed", {10, 8.3333}, "steering side"},
    {"symbol_before_corner.csv", "", 2, "wheel_speed.RL", {8, 4}},
    {"isolation_two.csv", "", 2, "vehicle_speed", {10, 8.3333}, "inlet or a circuit valve"},
    {"isolation_four.csv", "", 2, "inlet.FL", {0, 1}},
    // What words, units or fellows decide, or a question does.
    {"av_alone.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "German Auslassventil"},
    {"av_in_german.csv",
     "",
     3,
     "wheel_speed.FL",
     {10, 5, 5},
     "Auslassventil, outlet valve",
     1,
     outlet,
     pulse},
    {"valves_normally_open_and_closed.csv", "", 3, "inlet.FL", {0, 1, 1}, "", 1, outlet, pulse},
    {"two_valves_not_said_which.csv",
     "",
     3,
     "wheel_speed.FL",
     {10, 5, 5},
     "whether inlet or outlet is not said"},
    {"line_pressure.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "a pressure, but not said of what"},
    {"g_axes_without_unit.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "a gyro's axis"},
    {"g_axes_in_g.csv", "", 3, "accel_long", {0, -4.905, 0}, "", 1, "accel_lat", {0, 0.981, 0}},
    {"units_row_with_an_unknown_unit.csv",
     "",
     3,
     "wheel_speed.FL",
     {10, 5, 5},
     "",
     1,
     outlet,
     pulse},
    {"states_in_french.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "", 1, outlet, pulse},
    {"state_word_not_known.csv",
     "",
     3,
     "wheel_speed.FL",
     {10, 5, 5},
     "as \"Zork\"; the word for on can be given"},
    {"valve_of_two_levels_beside_three.csv",
     "",
     3,
     "valve.FL",
     {0, 2, 1},
     "",
     1,
     "valve.FR",
     {0, 1, 0}},
    {"valve_current_by_wheel.csv",
     "",
     3,
     "valve.FL",
     {0, 2, 1},
     "as hold",
     1,
     "valve.FR",
     {0, 1, 0}},
    {"motor_in_volts.csv",
     "",
     3,
     "wheel_speed.FL",
     {10, 5, 5},
     "read as energised",
     1,
     "pump",
     {0, 1, 1}},
    {"motor_not_said_which.csv",
     "",
     3,
     "wheel_speed.FL",
     {10, 5, 5},
     "a motor, but not said which"},
    {"driver_initials.csv", "", 3, "vehicle_speed", {10, 8.3333, 8.3333}, "steering side"},
    {"valves_in_bits_hex.csv", "", 3, "wheel_speed.FL", {10, 5, 5}, "an entry for each bit"},
    {"speed_in_counts.csv",
     "",
     3,
     "wheel_speed.RL",
     {2666.667, 2638.889, 2611.111},
     "the numbers are counts"},
    {"speed_beside_position.csv",
     "",
     3,
     "satellite_speed",
     {10, 5, 5},
     "whose positions stand beside it"},
    // 100 Hz x 2 pi x 0.30 m / 48 teeth
    {"wheel_sensor_frequency.csv",
     "",
     3,
     "wheel_speed.FL",
     {3.92699, 1.963495, 1.963495},
     "rolling radius"},
    {"pressure_without_unit.csv", "", 3, "master_pressure", {0, 9000, 8000}, "as psi 621 kPa"},
    {"motion_without_units.csv", "", 60, "", {}, "read as deg/s because it then fits the motion"},
    {"motion_without_units_straight.csv",
     "",
     60,
     "",
     {},
     "nor the wheels show whether rad/s or deg/s"},
    {"vehicle_speed_twice.csv", "", 3, "vehicle_speed", {10.2778, 5.2778, 5.2778}, "is not used"},
};

void check_values(const Log& log, const std::string& role, const std::vector<double>& values) {
  INFO(role);
  const auto* channel = log.find(parse_role(role).value());
  REQUIRE(channel != nullptr);
  REQUIRE(channel->series.size() == values.size());
  for (std::size_t i = 0; i < values.size(); ++i)
    CHECK(channel->series.value[i] == Approx(values[i]).epsilon(1e-4).margin(1e-9));
}

}  // namespace

TEST_CASE("each fixture is read or refused as it should be", "[log][reader][fixtures]") {
  for (const auto& expected : table) {
    INFO(expected.file);
    if (!expected.error.empty()) {
      try {
        read_log(folder + expected.file, {});
        FAIL_CHECK("no error");
      } catch (const Error& error) {
        const std::string what = error.what();
        CHECK(what.find(expected.error) != std::string::npos);
        CHECK(what.find(expected.file) != std::string::npos);
      }
      continue;
    }
    const auto log = read_log(folder + expected.file, {});
    CHECK(log.rows == expected.rows);
    CHECK(log.segments.size() == expected.segments);
    if (expected.role.empty() && expected.says.empty())
      CHECK(log.channels.empty());
    else if (expected.role.empty())
      CHECK_FALSE(log.notes.empty());
    else
      check_values(log, expected.role, expected.values);
    if (!expected.second_role.empty())
      check_values(log, expected.second_role, expected.second_values);
    std::string said;
    for (const auto& note : log.notes) said += note + "\n";
    for (const auto& defect : log.defects) said += defect.what + "\n";
    INFO(said);
    CHECK(said.find(expected.says) != std::string::npos);
  }
}

TEST_CASE("every fixture file has its expected outcome", "[log][reader][fixtures]") {
  std::set<std::string> listed;
  for (const auto& expected : table) listed.insert(expected.file);
  std::size_t files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    INFO(entry.path());
    CHECK(listed.contains(entry.path().filename().string()));
    ++files;
  }
  CHECK(files == table.size());
}

TEST_CASE("motion without units is decided by what the wheels show", "[log][reader][units]") {
  // Made with a yaw rate of 0.3 sin(1.5 t) rad/s at 10 m/s, wheels 1.45 m apart.
  const auto log = read_log(folder + "motion_without_units.csv", {});
  const auto largest = [&](QuantityKind quantity) {
    const auto* channel = log.find(Role::of_car(quantity));
    REQUIRE(channel != nullptr);
    CHECK(channel->unit_known);
    double value = 0.0;
    for (const double v : channel->series.value) value = std::max(value, v);
    return value;
  };
  CHECK(largest(QuantityKind::yaw_rate) == Approx(0.3).epsilon(0.01));
  CHECK(largest(QuantityKind::accel_lat) == Approx(10.0 * 0.3).epsilon(0.01));
  CHECK(largest(QuantityKind::steering_angle) == Approx(16.0 * 0.29 * 0.3).epsilon(0.01));
}
