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
  rounds         ///< one row per full round, cells read one after the other during it
};

enum class SpeedUnit { kmh, mph, mps, rpm };
enum class PressureUnit { bar, kpa, psi };
enum class StateText { digits, on_off, active, open_closed };
enum class TimeText { seconds, milliseconds, clock };

/// How columns are worded; invented, after the habits that exports show.
enum class Wording {
  plain,    ///< "Wheel speed FL [km/h]"
  compact,  ///< "LF_SPD(km/h)"
  spoken,   ///< "Left front wheel speed (km/h)"
  roles     ///< "wheel_speed.FL", units in a row of their own
};

/// A recorder and the text form of its export.
struct Recorder {
  std::vector<Role> channels;
  Sampling sampling = Sampling::block;
  double rate_hz = 20.0;
  double jitter = 0.0;       ///< standard deviation of a period, as a share of it
  double skew_s = 0.0;       ///< block: time from one channel's read to the next one's
  double speed_step = 0.0;   ///< quantum in the written unit; 0: two decimals
  double clip_mps = 0.0;     ///< speeds below are written as 0
  double noise = 0.0;        ///< relative noise on analogue values
  double stuck_share = 0.0;  ///< share of reads that fail and repeat the last value
  SpeedUnit speed_unit = SpeedUnit::kmh;
  PressureUnit pressure_unit = PressureUnit::bar;
  StateText state_text = StateText::digits;
  TimeText time_text = TimeText::seconds;
  Wording wording = Wording::plain;
  char delimiter = ',';
  bool decimal_comma = false;
  bool crlf = false;
  bool byte_order_mark = false;
  bool units_row = false;
  bool trailing_delimiter = false;
  int preamble_lines = 0;
  std::string missing_text;    ///< what an empty cell holds: "", "--", "N/A"
  bool cut_last_line = false;  ///< the file ends inside its last line
  double start_s = 0.0;        ///< model time of the first row
  double stop_s = 1e9;
  double clock_restart_s = -1.0;  ///< model time at which the recorder's clock starts again at 0
  double clock_offset_s = 0.0;    ///< what the recorder's clock shows at the first row
};

/// The text of one export, and how its clock lies to the model's.
struct Recording {
  std::string text;
  double first_s = 0.0;  ///< model time of the first row's stamp
  double last_s = 0.0;   ///< model time of the last row
  std::size_t rows = 0;
};

/// What that recorder would have written of that run. Same seed: same bytes.
Recording record_run(const Run& run, const Case& c, const Recorder& recorder, std::uint64_t seed);

/// True value of a role at a frame, SI; NaN when the car has no such signal.
double true_value(const Frame& frame, const Role& role);

/// Valve (or three-position valve) roles of the unit's channels, corners that have valves only.
std::vector<Role> valve_roles(const Unit& unit);
std::vector<Role> outlet_roles(const Unit& unit);
std::vector<Role> wheel_speed_roles();

}  // namespace stopledger::model
