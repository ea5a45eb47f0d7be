// Writes a long invented recording: four wheel speeds and a vehicle speed, eight valves and a pump,
// a brake switch and other channels, 32 columns in all, with one hard stop every twenty minutes.
//
//   make_long_log FILE [ROWS_PER_SECOND=1000] [SECONDS=3600] [text]
//
// "text" writes semicolons, decimal commas and words for states.
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>

namespace {

constexpr double stop_every_s = 1200.0, stop_starts_s = 600.0, stop_lasts_s = 3.0;

std::string& number(std::string& line, double value, int decimals, char decimal) {
  char text[32];
  const int n = std::snprintf(text, sizeof text, "%.*f", decimals, value);
  for (int i = 0; i < n; ++i)
    if (text[i] == '.') text[i] = decimal;
  return line.append(text, static_cast<std::size_t>(n));
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    std::fprintf(stderr, "usage: make_long_log FILE [ROWS_PER_SECOND] [SECONDS] [text]\n");
    return 2;
  }
  const long rate = argc > 2 ? std::atol(argv[2]) : 1000;
  const long seconds = argc > 3 ? std::atol(argv[3]) : 3600;
  const bool text = argc > 4 && std::string(argv[4]) == "text";
  const char delimiter = text ? ';' : ',', decimal = text ? ',' : '.';
  const char* const on = text ? "On" : "1";
  const char* const off = text ? "Off" : "0";
  std::FILE* file = std::fopen(argv[1], "wb");
  if (file == nullptr || rate < 1 || seconds < 1) {
    std::fprintf(stderr, "make_long_log: cannot write %s\n", argv[1]);
    return 2;
  }
  std::string line = "Time (s)";
  for (const char* name : {"FL wheel speed (km/h)",
                           "FR wheel speed (km/h)",
                           "RL wheel speed (km/h)",
                           "RR wheel speed (km/h)",
                           "Vehicle speed (km/h)",
                           "Brake pressure (bar)",
                           "Yaw rate (deg/s)",
                           "Steering angle (deg)",
                           "Lat accel (m/s2)",
                           "Long accel (m/s2)",
                           "Battery voltage (V)",
                           "Engine speed (rpm)",
                           "Throttle (%)",
                           "Coolant (degC)",
                           "Oil (degC)",
                           "Gear",
                           "FL inlet valve",
                           "FL outlet valve",
                           "FR inlet valve",
                           "FR outlet valve",
                           "RL inlet valve",
                           "RL outlet valve",
                           "RR inlet valve",
                           "RR outlet valve",
                           "Pump motor",
                           "Brake switch",
                           "ABS active",
                           "ABS lamp",
                           "TC active",
                           "Parking brake",
                           "Door"}) {
    line += delimiter;
    line += name;
  }
  line += '\n';
  std::fwrite(line.data(), 1, line.size(), file);
  unsigned long long noise = 88172645463325252ULL;
  const auto wobble = [&] {  // xorshift64, -1 to 1
    noise ^= noise << 13U;
    noise ^= noise >> 7U;
    noise ^= noise << 17U;
    return static_cast<double>(static_cast<long long>(noise >> 11U)) / 4503599627370496.0 - 1.0;
  };
  for (long row = 0; row < rate * seconds; ++row) {
    const double t = static_cast<double>(row) / static_cast<double>(rate);
    // Stops do not come by the clock, nor do the cycles of the control.
    const double drift = 0.0137 * std::floor(t / stop_every_s);
    const double u = std::fmod(t, stop_every_s) - stop_starts_s - drift;
    const bool stop = u >= 0.0 && u < stop_lasts_s;
    double v = 45.0 + 10.0 * std::sin(t / 37.0);
    if (u >= -20.0 && u < 0.0) v = 60.0;
    if (stop) v = 60.0 * (1.0 - u / stop_lasts_s);
    if (u >= stop_lasts_s && u < stop_lasts_s + 30.0) v = 2.0 * (u - stop_lasts_s);
    line.clear();
    number(line, t, 3, decimal);
    for (int wheel = 0; wheel < 4; ++wheel) {
      const double cycle = std::fmod(u * (1.0 + 0.05 * std::sin(3.0 * u)) + 0.07 * wheel, 0.3);
      const double slip = stop && u > 0.3 && u < 2.6 ? 0.15 * std::sin(cycle / 0.3 * 3.14159) : 0.0;
      line += delimiter;
      number(line, std::fmax(0.0, v * (1.0 - slip) + 0.05 * wobble()), 2, decimal);
    }
    line += delimiter;
    number(line, v, 2, decimal);
    line += delimiter;
    number(line, stop ? 60.0 + wobble() : 0.0, 2, decimal);
    line += delimiter;
    number(line, 0.5 * std::sin(t / 5.0) + 0.01 * wobble(), 3, decimal);
    line += delimiter;
    number(line, 5.0 * std::sin(t / 7.0), 1, decimal);
    line += delimiter;
    number(line, 0.1 * std::sin(t / 5.0) + 0.05 * wobble(), 3, decimal);
    line += delimiter;
    number(line, (stop ? -5.6 : 0.1 * std::cos(t / 37.0)) + 0.05 * wobble(), 3, decimal);
    line += delimiter;
    number(line, 13.8 + 0.03 * wobble(), 2, decimal);
    line += delimiter;
    number(line, 800.0 + 40.0 * v, 1, decimal);
    line += delimiter;
    number(line, stop ? 0.0 : 20.0, 1, decimal);
    for (const double slow : {88.0, 95.5}) {
      line += delimiter;
      number(line, slow, 1, decimal);
    }
    line += delimiter;
    line += '3';
    for (int valve = 0; valve < 8; ++valve) {
      const double cycle =
          std::fmod(u * (1.0 + 0.05 * std::sin(3.0 * u)) + 0.07 * (valve / 2), 0.3);
      const bool energised = stop && u > 0.3 && u < 2.6 && cycle < (valve % 2 == 0 ? 0.15 : 0.05);
      line += delimiter;
      line += energised ? on : off;
    }
    for (const bool state : {stop && u > 0.3, stop, stop && u > 0.3, false, false, false, false}) {
      line += delimiter;
      line += state ? on : off;
    }
    line += '\n';
    std::fwrite(line.data(), 1, line.size(), file);
  }
  if (std::fclose(file) != 0) {
    std::fprintf(stderr, "make_long_log: %s could not be written (disk full?)\n", argv[1]);
    return 2;
  }
  return 0;
}
