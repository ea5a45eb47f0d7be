#pragma once

#include <fmt/format.h>

#include <cmath>
#include <functional>
#include <random>
#include <string>
#include <vector>

namespace stopledger_test {

/// One column of a recorder made for a test.
struct TestColumn {
  std::string header;
  std::function<double(double)> truth;
  double quantum = 0.01;
  int decimals = 2;
  double period_rows = 1.0;  ///< renewed every so many rows, else the old value is repeated
  double phase_rows = 0.0;
};

/// How the rows come.
struct TestRecorder {
  double row_hz = 50.0;
  double length_s = 120.0;
  double jitter = 0.1;         ///< of the row step, uniform
  bool blank_between = false;  ///< blank cells instead of repeats
  unsigned seed = 1;
};

/// The text such a recorder would export: time in seconds, then the columns.
inline std::string record(const TestRecorder& recorder, const std::vector<TestColumn>& columns) {
  std::mt19937 random(recorder.seed);
  std::uniform_real_distribution<double> wobble(-recorder.jitter, recorder.jitter);
  std::string text = "Time (s)";
  for (const auto& column : columns) text += "," + column.header;
  text += "\n";
  std::vector<double> held(columns.size(), std::nan(""));
  std::vector<double> due(columns.size());
  for (std::size_t k = 0; k < columns.size(); ++k) due[k] = columns[k].phase_rows;
  const auto rows = static_cast<int>(recorder.length_s * recorder.row_hz);
  for (int row = 0; row < rows; ++row) {
    const double t = (row + wobble(random)) / recorder.row_hz + 1.0;
    std::string line = fmt::format("{:.4f}", t);
    bool any = false;
    for (std::size_t k = 0; k < columns.size(); ++k) {
      const auto& column = columns[k];
      const bool renewed = row + 1e-9 >= due[k];
      if (renewed) {
        held[k] = std::round(column.truth(t) / column.quantum) * column.quantum;
        due[k] += column.period_rows;
        any = true;
      }
      const bool show = renewed || (!recorder.blank_between && !std::isnan(held[k]));
      line += "," + (show ? fmt::format("{:.{}f}", held[k], column.decimals) : std::string());
    }
    if (any || !recorder.blank_between) text += line + "\n";
  }
  return text;
}

/// Speed in km/h of a car that drives off, cruises and stops hard, again and again; `period_s` long
/// each; slows with 7 m/s2. `wheel` makes four slightly different wheels with some ripple.
inline double drive_kmh(double t, double period_s = 40.0, int wheel = 0) {
  const double u = std::fmod(t, period_s);
  const double top = 60.0, stop_s = top / 3.6 / 7.0;
  double v = 0.0;
  if (u < 5.0)
    v = 0.0;
  else if (u < 15.0)
    v = top * (u - 5.0) / 10.0;
  else if (u < period_s - 10.0)
    v = top + 1.5 * std::sin(0.7 * u + wheel);
  else if (u < period_s - 10.0 + stop_s)
    v = top * (1.0 - (u - period_s + 10.0) / stop_s);
  if (v > 5.0) v *= 1.0 + 0.004 * wheel;
  return std::max(0.0, v);
}

/// 1 while pulses of 0.08 s come three times a second during the hard stop of drive_kmh.
inline double pulses(double t, double period_s = 40.0, double shift_s = 0.0) {
  const double u = std::fmod(t, period_s) - (period_s - 10.0);
  if (u < 0.1 || u > 2.2) return 0.0;
  return std::fmod(u + shift_s, 0.33) < 0.15 ? 1.0 : 0.0;
}

}  // namespace stopledger_test
