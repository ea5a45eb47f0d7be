#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "log/role.h"
#include "model/case.h"
#include "model/simulate.h"

namespace stopledger::model {

enum class Sampling {
  block,         ///< all channels together, `rate_hz` rows a second
  turns_blank,   ///< one channel after the other, `rate_hz` reads a second in all; others blank
  turns_repeat,  ///< the same, the other cells repeat their last value
  rounds,        ///< one row per full round, cells read one after the other during it
  own_rates      ///< each channel renewed at its own rate (`own_rates_hz`), repeated between
};

enum class SpeedUnit {
  kmh,
  mph,
  mps,
  rpm,    ///< wheels; the car's own speeds in km/h, as below
  hz,     ///< pulses a second of the wheel's ring
  pulses  ///< a running count of the ring's pulses that wraps
};
enum class PressureUnit { bar, kpa, psi };
enum class StateText { digits, on_off, active, open_closed, percent };
enum class Encoding { utf8, utf8_marked, utf16_le, utf16_be, latin1 };
enum class TimeText {
  seconds,
  milliseconds,
  clock,          ///< 24 hours, with milliseconds
  clock_12h,      ///< AM and PM
  date_time,      ///< ISO 8601, no zone
  date_and_clock  ///< a date column, then a clock column
};

/// How columns are worded; invented, after the habits that exports show.
enum class Wording {
  plain,    ///< "Wheel speed FL [km/h]"
  compact,  ///< "LF_SPD(km/h)"
  spoken,   ///< "Left front wheel speed (km/h)"
  roles,    ///< "wheel_speed.FL", units in a row of their own
  seats     ///< "Driver front wheel speed [km/h]": left and right by the car's steering side
};

/// A recorder and the text form of its export.
struct Recorder {
  std::vector<Role> channels;
  Sampling sampling = Sampling::block;
  double rate_hz = 20.0;
  std::vector<double> own_rates_hz;  ///< own_rates: one per channel, at most `rate_hz`
  double jitter = 0.0;               ///< standard deviation of a period, as a share of it
  double skew_s = 0.0;               ///< block: time from one channel's read to the next one's
  double speed_step = 0.0;           ///< quantum in the written unit; 0: two decimals
  double clip_mps = 0.0;             ///< speeds below are written as 0
  double noise = 0.0;                ///< relative noise on analogue values
  double stuck_share = 0.0;          ///< share of reads that fail and repeat the last value
  double satellite_lag_s = 0.0;      ///< satellite speed: this late, and one step a second
  SpeedUnit speed_unit = SpeedUnit::kmh;
  double ring_teeth = 48.0;  ///< hz, pulses: pulses per wheel turn
  int counter_bits = 8;      ///< pulses: the count wraps at 2 to this
  bool pack_valves = false;  ///< block: valves and pump in one column, a bit each (model/packed.h)
  PressureUnit pressure_unit = PressureUnit::bar;
  bool acceleration_in_g = false;
  StateText state_text = StateText::digits;
  TimeText time_text = TimeText::seconds;
  bool time_per_value = false;  ///< a time column before every value; number forms of time only
  Wording wording = Wording::plain;
  SteeringSide wheel = SteeringSide::left;  ///< seats: where the steering wheel is
  bool degree_sign = false;                 ///< units of angle with the sign instead of the letters
  Encoding encoding = Encoding::utf8;
  char delimiter = ',';
  bool decimal_comma = false;
  bool crlf = false;
  bool units_row = false;
  bool trailing_delimiter = false;
  int preamble_lines = 0;
  std::string missing_text;    ///< what an empty cell holds: "", "--", "N/A"
  bool cut_last_line = false;  ///< the file ends inside its last line
  double start_s = 0.0;        ///< model time of the first row
  double stop_s = 1e9;
  double clock_restart_s = -1.0;  ///< model time at which the recorder's clock starts again at 0
  double clock_back_s = 0.0;      ///< from `clock_back_at_s` on the clock is set back by this
  double clock_back_at_s = -1.0;  ///< model time; below 0: never
  double clock_offset_s = 0.0;    ///< what the recorder's clock shows at the first row
  double swapped_share = 0.0;     ///< share of rows that are written before the row they follow
};

/// The text of one export, and how its clock lies to the model's.
struct Recording {
  std::string text;
  double first_s = 0.0;  ///< model time of the first row's stamp
  double last_s = 0.0;   ///< model time of the last row
  std::size_t rows = 0;
};

/// Fresh values a second that one channel gets, nominally.
double channel_rate_hz(const Recorder& recorder, std::size_t channel);

/// What that recorder would have written of that run. Same seed: same bytes.
Recording record_run(const Run& run, const Case& c, const Recorder& recorder, std::uint64_t seed);

}  // namespace stopledger::model
