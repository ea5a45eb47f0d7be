#include "model/recorder.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>

#include "base/quantity.h"
#include "model/random.h"

namespace stopledger::model {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double degrees = 57.29577951308232;

bool has_valve(const Unit& unit, Corner corner) { return unit.channels > 1 || !is_front(corner); }

double of_place(const PerCorner<double>& values, const Role& role) {
  if (role.place == PlaceKind::corner) return values[role.corner];
  if (role.place == PlaceKind::rear_axle) return 0.5 * (values[Corner::rl] + values[Corner::rr]);
  return nan;
}

double of_circuit(const std::array<bool, 2>& values, const Role& role) {
  if (role.place == PlaceKind::circuit)
    return values[static_cast<std::size_t>(role.circuit - 1)] ? 1.0 : 0.0;
  return values[0] || values[1] ? 1.0 : 0.0;
}

std::string corner_words(Corner corner) {
  std::string words = is_left(corner) ? "Left" : "Right";
  return words + (is_front(corner) ? " front" : " rear");
}

std::string corner_compact(Corner corner) {
  return std::string(is_left(corner) ? "L" : "R") + (is_front(corner) ? "F" : "R");
}

/// Quantity in words, its short code, and its unit in this export.
struct Naming {
  std::string words, code, unit;
};

Naming naming(const Role& role, const Recorder& recorder) {
  static constexpr std::array<std::string_view, 4> speed_units{"km/h", "mph", "m/s", "rpm"};
  static constexpr std::array<std::string_view, 3> pressure_units{"bar", "kPa", "psi"};
  const std::string speed(speed_units[static_cast<std::size_t>(recorder.speed_unit)]);
  const std::string road = recorder.speed_unit == SpeedUnit::rpm ? "km/h" : speed;
  const std::string pressure(pressure_units[static_cast<std::size_t>(recorder.pressure_unit)]);
  using enum QuantityKind;
  switch (role.quantity) {
    case wheel_speed:
      return {"wheel speed", "SPD", speed};
    case inlet:
      return {"inlet valve", "IV", ""};
    case outlet:
      return {"outlet valve", "OV", ""};
    case valve:
      return {"modulator valve", "SOL", ""};
    case wheel_pressure:
      return {"brake pressure", "PRS", pressure};
    case isolation:
      return {"isolation valve", "ISO", ""};
    case prime:
      return {"prime valve", "PRM", ""};
    case pump:
      return {"return pump", "PUMP", ""};
    case master_pressure:
      return {"master cylinder pressure", "MCP", pressure};
    case brake_switch:
      return {"brake switch", "BRK_SW", ""};
    case vehicle_speed:
      return {"vehicle speed", "VSPD", road};
    case satellite_speed:
      return {"GPS speed", "GPS_SPD", road};
    case accel_long:
      return {"longitudinal acceleration", "AX", "m/s2"};
    case accel_lat:
      return {"lateral acceleration", "AY", "m/s2"};
    case yaw_rate:
      return {"yaw rate", "YAW", "deg/s"};
    case steering_angle:
      return {"steering angle", "STEER", "deg"};
    case throttle:
      return {"throttle position", "TPS", "%"};
    case accelerator:
      return {"accelerator pedal", "APP", "%"};
    case supply_voltage:
      return {"battery voltage", "VBAT", "V"};
    case abs_active:
      return {"ABS active", "ABS_ACT", ""};
    case stability_active:
      return {"stability active", "ESC_ACT", ""};
    case traction_active:
      return {"traction control active", "TC_ACT", ""};
    case warning_lamp:
      return {"ABS warning lamp", "ABS_LAMP", ""};
    default:
      return {"value", "VAL", ""};
  }
}

std::string header(const Role& role, const Recorder& recorder) {
  const Naming name = naming(role, recorder);
  const bool with_unit = !name.unit.empty() && !recorder.units_row;
  if (recorder.wording == Wording::roles) {
    const std::string text = role_name(role);
    return with_unit ? text + " [" + name.unit + "]" : text;
  }
  if (recorder.wording == Wording::compact) {
    std::string text = name.code;
    if (role.place == PlaceKind::corner) text = corner_compact(role.corner) + "_" + name.code;
    if (role.place == PlaceKind::rear_axle) text = "REAR_" + name.code;
    if (role.place == PlaceKind::circuit) text += fmt::format("_{}", role.circuit);
    return with_unit ? text + "(" + name.unit + ")" : text;
  }
  std::string text = name.words;
  if (recorder.wording == Wording::spoken) {
    if (role.place == PlaceKind::corner) text = corner_words(role.corner) + " " + text;
    if (role.place == PlaceKind::rear_axle) text = "Rear " + text;
  } else {
    if (role.place == PlaceKind::corner) text += " " + std::string(corner_name(role.corner));
    if (role.place == PlaceKind::rear_axle) text += " rear";
  }
  if (role.place == PlaceKind::circuit) text += fmt::format(" circuit {}", role.circuit);
  if (text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return with_unit ? text + " [" + name.unit + "]" : text;
}

class Writer {
 public:
  Writer(const Run& run, const Case& c, const Recorder& recorder, std::uint64_t seed)
      : run_(run), c_(c), r_(recorder), random_(seed), last_(recorder.channels.size()) {}

  Recording write() {
    prologue();
    const double end = std::min(run_.duration_s(), r_.stop_s);
    const double period = 1.0 / r_.rate_hz;
    const std::size_t n = r_.channels.size();
    double due = r_.start_s;
    std::size_t turn = 0;
    std::vector<std::string> cells(n);
    while (due <= end) {
      const double t = due;
      switch (r_.sampling) {
        case Sampling::block:
          for (std::size_t i = 0; i < n; ++i)
            cells[i] = read(i, t + r_.skew_s * static_cast<double>(i));
          due += step(period);
          row(t, cells);
          break;
        case Sampling::turns_blank:
        case Sampling::turns_repeat:
          for (std::size_t i = 0; i < n; ++i)
            cells[i] = r_.sampling == Sampling::turns_repeat ? last_[i] : r_.missing_text;
          cells[turn] = read(turn, t);
          turn = (turn + 1) % n;
          due += step(period);
          row(t, cells);
          break;
        case Sampling::rounds: {
          for (std::size_t i = 0; i < n; ++i) {
            cells[i] = read(i, due);
            due += step(period);
          }
          row(t, cells);
          break;
        }
      }
    }
    if (r_.cut_last_line && out_.text.size() > 12) out_.text.resize(out_.text.size() - 9);
    return std::move(out_);
  }

 private:
  double step(double period) {
    return period * std::clamp(1.0 + r_.jitter * random_.normal(0.0, 1.0), 0.3, 3.0);
  }

  void end_line() {
    if (r_.trailing_delimiter) out_.text += r_.delimiter;
    out_.text += r_.crlf ? "\r\n" : "\n";
  }

  void prologue() {
    if (r_.byte_order_mark) out_.text += "\xEF\xBB\xBF";
    for (int i = 0; i < r_.preamble_lines; ++i) {
      out_.text += fmt::format("# recorder export, line {}", i + 1);
      out_.text += r_.crlf ? "\r\n" : "\n";
    }
    static constexpr std::array<std::string_view, 3> time_units{"s", "ms", ""};
    const std::string unit(time_units[static_cast<std::size_t>(r_.time_text)]);
    out_.text += "Time";
    if (!unit.empty() && !r_.units_row) out_.text += " [" + unit + "]";
    for (const Role& role : r_.channels) {
      const std::string text = header(role, r_);
      out_.text += r_.delimiter;
      out_.text += text;
    }
    end_line();
    if (!r_.units_row) return;
    out_.text += unit;
    for (const Role& role : r_.channels) {
      out_.text += r_.delimiter;
      out_.text += naming(role, r_).unit;
    }
    end_line();
  }

  void number(std::string& text, double value, int decimals) const {
    const std::size_t from = text.size();
    fmt::format_to(std::back_inserter(text), "{:.{}f}", value, decimals);
    if (r_.decimal_comma)
      std::replace(text.begin() + static_cast<std::ptrdiff_t>(from), text.end(), '.', ',');
  }

  void row(double t, const std::vector<std::string>& cells) {
    if (out_.rows == 0) out_.first_s = t;
    out_.last_s = t;
    double shown = t - out_.first_s + r_.clock_offset_s;
    if (r_.clock_restart_s >= 0.0 && t >= r_.clock_restart_s) {
      if (restart_at_ < 0.0) restart_at_ = t;
      shown = t - restart_at_;
    }
    switch (r_.time_text) {
      case TimeText::seconds:
        number(out_.text, shown, 3);
        break;
      case TimeText::milliseconds:
        number(out_.text, std::round(shown * 1000.0), 0);
        break;
      case TimeText::clock: {
        const auto ms = static_cast<long>(std::round(shown * 1000.0));
        fmt::format_to(std::back_inserter(out_.text), "{:02}:{:02}:{:02}.{:03}", ms / 3600000 % 24,
                       ms / 60000 % 60, ms / 1000 % 60, ms % 1000);
        break;
      }
    }
    for (const std::string& cell : cells) {
      out_.text += r_.delimiter;
      out_.text += cell;
    }
    end_line();
    ++out_.rows;
  }

  std::string read(std::size_t i, double t) {
    if (r_.stuck_share > 0.0 && !last_[i].empty() && random_.chance(r_.stuck_share))
      return last_[i];
    const auto index = static_cast<std::size_t>(std::max(t, 0.0) / run_.step_s);
    const Frame& frame = run_.frames[std::min(index, run_.frames.size() - 1)];
    std::string text;
    cell(text, r_.channels[i], true_value(frame, r_.channels[i]));
    last_[i] = text;
    return text;
  }

  void cell(std::string& text, const Role& role, double value) {
    if (std::isnan(value)) {
      text = r_.missing_text;
      return;
    }
    if (is_state_of(role.quantity)) {
      state(text, role.quantity, value);
      return;
    }
    if (r_.noise > 0.0) value *= 1.0 + r_.noise * random_.normal(0.0, 1.0);
    using enum QuantityKind;
    switch (role.quantity) {
      case wheel_speed:
      case vehicle_speed:
      case satellite_speed: {
        if (value < r_.clip_mps) value = 0.0;
        const bool wheel = role.quantity == wheel_speed;
        double shown = value * 3.6;
        int decimals = 2;
        if (r_.speed_unit == SpeedUnit::mph) shown = value * 3600.0 / 1609.344;
        if (r_.speed_unit == SpeedUnit::mps) shown = value;
        if (r_.speed_unit == SpeedUnit::rpm && wheel)
          shown = value / c_.car.rolling_radius_m * 60.0 / (2.0 * 3.141592653589793);
        if (r_.speed_step > 0.0) {
          shown = std::round(shown / r_.speed_step) * r_.speed_step;
          decimals = r_.speed_step >= 1.0 ? 0 : r_.speed_step >= 0.1 ? 1 : 3;
        }
        number(text, shown, decimals);
        break;
      }
      case wheel_pressure:
      case master_pressure:
        if (r_.pressure_unit == PressureUnit::bar) number(text, value / 100.0, 1);
        if (r_.pressure_unit == PressureUnit::kpa) number(text, value, 0);
        if (r_.pressure_unit == PressureUnit::psi) number(text, value / 6.894757, 0);
        break;
      case yaw_rate:
      case steering_angle:
        number(text, value * degrees, 1);
        break;
      case throttle:
      case accelerator:
        number(text, value * 100.0, 1);
        break;
      default:
        number(text, value, 2);
    }
  }

  static bool is_state_of(QuantityKind quantity) {
    using enum QuantityKind;
    return quantity == inlet || quantity == outlet || quantity == valve || quantity == isolation ||
           quantity == prime || quantity == pump || quantity == brake_switch ||
           quantity == abs_active || quantity == stability_active || quantity == traction_active ||
           quantity == warning_lamp;
  }

  void state(std::string& text, QuantityKind quantity, double value) {
    if (quantity == QuantityKind::valve) {
      text = value > 1.5 ? "2" : value > 0.5 ? "1" : "0";
      return;
    }
    if (value > 0.02 && value < 0.98 && quantity == QuantityKind::inlet &&
        r_.state_text == StateText::digits) {
      number(text, value, 2);  // part current: a duty
      return;
    }
    const bool on = value > 0.5;
    switch (r_.state_text) {
      case StateText::digits:
        text = on ? "1" : "0";
        break;
      case StateText::on_off:
        text = on ? "On" : "Off";
        break;
      case StateText::active:
        text = on ? "Active" : "Inactive";
        break;
      case StateText::open_closed: {
        // The words of the valve's position: an energised inlet or isolation valve is closed.
        using enum QuantityKind;
        if (quantity == inlet || quantity == isolation)
          text = on ? "Closed" : "Open";
        else if (quantity == outlet || quantity == prime)
          text = on ? "Open" : "Closed";
        else
          text = on ? "On" : "Off";
        break;
      }
    }
  }

  const Run& run_;
  const Case& c_;
  const Recorder& r_;
  Random random_;
  std::vector<std::string> last_;
  Recording out_;
  double restart_at_ = -1.0;
};

}  // namespace

Recording record_run(const Run& run, const Case& c, const Recorder& recorder, std::uint64_t seed) {
  return Writer(run, c, recorder, seed).write();
}

double true_value(const Frame& frame, const Role& role) {
  using enum QuantityKind;
  const auto flag = [](bool value) { return value ? 1.0 : 0.0; };
  switch (role.quantity) {
    case wheel_speed:
      return of_place(frame.sensed_mps, role);
    case inlet:
      return of_place(frame.inlet, role);
    case outlet:
      return of_place(frame.outlet, role);
    case valve: {
      const double in = of_place(frame.inlet, role), out = of_place(frame.outlet, role);
      return out > 0.5 ? 2.0 : in > 0.5 ? 1.0 : 0.0;
    }
    case wheel_pressure:
      return of_place(frame.pressure_kpa, role);
    case isolation:
      return of_circuit(frame.isolation, role);
    case prime:
      return of_circuit(frame.prime, role);
    case pump:
      return flag(frame.pump);
    case master_pressure:
      return frame.master_kpa;
    case brake_switch:
      return flag(frame.pedal);
    case vehicle_speed:
      return frame.reference_mps;
    case satellite_speed:
      return frame.speed_mps;
    case accel_long:
      return frame.accel_mps2;
    case accel_lat:
      return frame.lateral_mps2;
    case yaw_rate:
      return frame.yaw_rate;
    case steering_angle:
      return frame.steer_rad;
    case throttle:
      return frame.throttle;
    case accelerator:
      return frame.accelerator;
    case supply_voltage:
      return frame.supply_v;
    case abs_active:
      return flag(frame.antilock);
    case stability_active:
      return flag(frame.stability);
    case traction_active:
      return flag(frame.traction);
    case warning_lamp:
      return flag(frame.lamp);
    default:
      return nan;
  }
}

namespace {

std::vector<Role> per_channel(const Unit& unit, QuantityKind quantity) {
  std::vector<Role> roles;
  if (unit.channels == 3 || unit.channels == 1) {
    if (unit.channels == 3) {
      roles.push_back(Role::at(quantity, Corner::fl));
      roles.push_back(Role::at(quantity, Corner::fr));
    }
    roles.push_back(Role::rear(quantity));
    return roles;
  }
  for (Corner corner : all_corners)
    if (has_valve(unit, corner)) roles.push_back(Role::at(quantity, corner));
  return roles;
}

}  // namespace

std::vector<Role> valve_roles(const Unit& unit) {
  if (unit.kind == UnitKind::three_position) return per_channel(unit, QuantityKind::valve);
  std::vector<Role> roles = per_channel(unit, QuantityKind::inlet);
  for (const Role& role : outlet_roles(unit)) roles.push_back(role);
  return roles;
}

std::vector<Role> outlet_roles(const Unit& unit) {
  return per_channel(
      unit, unit.kind == UnitKind::three_position ? QuantityKind::valve : QuantityKind::outlet);
}

std::vector<Role> wheel_speed_roles() {
  std::vector<Role> roles;
  for (Corner corner : all_corners) roles.push_back(Role::at(QuantityKind::wheel_speed, corner));
  return roles;
}

}  // namespace stopledger::model
