#pragma once

#include "plan/session.h"

namespace stopledger {

/// Limits and times of a session that no record decides. Common practice unless a source is named.
struct RunPractice {
  double warm_up_kmh = 30.0;
  int warm_up_stops = 3;        ///< two light, one firm below anti-lock
  double first_abs_kmh = 20.0;  ///< 15 to 20: above where control fades out, still harmless
  double rest_s = 150.0;        ///< 2 to 3 min rolling between ABS stops: motor and coils
  double warm_up_rest_s = 30.0;
  double return_kmh = 15.0;      ///< driving back to the start
  double marking_s = 20.0;       ///< standstill and three taps before a run
  double new_columns_s = 120.0;  ///< choosing other columns in the recorder, checking them
  double inspection_s = 600.0;   ///< after the first ABS stop: level, pedal, leaks, lamp
  double start_below_c = 100.0;  ///< upper end of the rules' cold-brake window (HT-20)
  double pump_runs_on_s = 1.0;   ///< after the last release
};

/// Lays out runs, rests, disc temperatures, clock and the day's other work of a plan whose speed,
/// lot need, forecast and recording are known. Fills runs, timetable and heat.
void lay_out_runs(SessionPlan& plan, const CarSheet& car, std::span<const Record> records,
                  const RunPractice& practice = {});

}  // namespace stopledger
