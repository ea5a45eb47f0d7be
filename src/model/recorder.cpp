#include "model/recorder.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <optional>
#include <string_view>
#include <utility>

#include "model/cell_text.h"
#include "model/packed.h"
#include "model/random.h"
#include "model/signals.h"
#include "model/wording.h"

namespace stopledger::model {
namespace {

std::string_view time_unit(TimeText form) {
  if (form == TimeText::seconds) return "s";
  return form == TimeText::milliseconds ? "ms" : "";
}

class Writer {
 public:
  Writer(const Run& run, const Case& c, const Recorder& recorder, std::uint64_t seed)
      : run_(run),
        c_(c),
        r_(recorder),
        random_(seed),
        n_(recorder.channels.size()),
        cells_(n_),
        last_(n_),
        read_at_(n_, recorder.start_s),
        renewed_at_(n_, -1e9) {
    if (r_.speed_unit == SpeedUnit::pulses) count_pulses();
  }

  Recording write() {
    head();
    const double end = std::min(run_.duration_s(), r_.stop_s);
    for (double due = r_.start_s; due <= end;) {
      const double t = due;
      due = sample(t);
      row(t);
    }
    text_ += held_;
    if (r_.cut_last_line && text_.size() > 12) text_.resize(text_.size() - 9);
    out_.text = encoded(std::move(text_), r_.encoding);
    return std::move(out_);
  }

 private:
  /// Fills the cells of the row that begins at `t`; returns when the next one begins.
  double sample(double t) {
    const double period = 1.0 / r_.rate_hz;
    switch (r_.sampling) {
      case Sampling::block:
        for (std::size_t i = 0; i < n_; ++i) read(i, t + r_.skew_s * static_cast<double>(i));
        break;
      case Sampling::own_rates:
        for (std::size_t i = 0; i < n_; ++i) {
          // Half a row of slack: the clock of the rows decides, not the rounding.
          if (t - renewed_at_[i] + 0.5 * period < 1.0 / r_.own_rates_hz[i]) continue;
          renewed_at_[i] = t;
          read(i, t);
        }
        break;
      case Sampling::turns_blank:
      case Sampling::turns_repeat:
        for (std::size_t i = 0; i < n_; ++i)
          cells_[i] = r_.sampling == Sampling::turns_repeat ? last_[i] : r_.missing_text;
        read(turn_, t);
        turn_ = (turn_ + 1) % n_;
        break;
      case Sampling::rounds: {
        double at = t;
        for (std::size_t i = 0; i < n_; ++i) {
          read(i, at);
          at += step(period);
        }
        return at;
      }
    }
    return t + step(period);
  }

  double step(double period) {
    return period * std::clamp(1.0 + r_.jitter * random_.normal(0.0, 1.0), 0.3, 3.0);
  }

  void read(std::size_t i, double t) {
    if (r_.stuck_share > 0.0 && !last_[i].empty() && random_.chance(r_.stuck_share)) {
      cells_[i] = last_[i];
      return;
    }
    const Role& role = r_.channels[i];
    double at = std::max(t, 0.0);
    if (role.quantity == QuantityKind::satellite_speed && r_.satellite_lag_s > 0.0)
      at = std::max(std::floor(at) - r_.satellite_lag_s, 0.0);
    const auto index = static_cast<std::size_t>(at / run_.step_s);
    const std::size_t frame = std::min(index, run_.frames.size() - 1);
    double value = true_value(run_.frames[frame], role);
    if (!counted_.empty() && !counted_[i].empty()) {
      cells_[i] = last_[i] =
          fmt::format("{}", counted_[i][frame] % (1ULL << static_cast<unsigned>(r_.counter_bits)));
      read_at_[i] = t;
      return;
    }
    if (r_.noise > 0.0 && !std::isnan(value) && !is_state(role.quantity))
      value *= 1.0 + r_.noise * random_.normal(0.0, 1.0);
    cells_[i] = last_[i] = cell_text(role, value, r_, c_.car);
    read_at_[i] = t;
  }

  /// Pulses of every wheel up to every frame.
  void count_pulses() {
    const double per_metre = r_.ring_teeth / (2.0 * std::numbers::pi * c_.car.rolling_radius_m);
    counted_.resize(n_);
    for (std::size_t i = 0; i < n_; ++i) {
      if (r_.channels[i].quantity != QuantityKind::wheel_speed) continue;
      double pulses = 0.0;
      for (const auto& frame : run_.frames) {
        pulses += true_value(frame, r_.channels[i]) * run_.step_s * per_metre;
        counted_[i].push_back(static_cast<std::uint64_t>(std::max(0.0, pulses)));
      }
    }
  }

  /// The cell of a row or header at channel `i`: nothing where the packed column has it already.
  std::optional<std::string> cell_of(std::size_t i) const {
    if (!is_packed(r_, r_.channels[i])) return cells_[i];
    if (i != first_packed(r_)) return std::nullopt;
    return packed_cell(r_, cells_);
  }

  void end_line(std::string& text) const {
    if (r_.trailing_delimiter) text += r_.delimiter;
    text += r_.crlf ? "\r\n" : "\n";
  }

  void head() {
    for (int i = 0; i < r_.preamble_lines; ++i) {
      text_ += fmt::format("# recorder export, line {}", i + 1);
      text_ += r_.crlf ? "\r\n" : "\n";
    }
    const std::string unit(time_unit(r_.time_text));
    const bool two = r_.time_text == TimeText::date_and_clock;
    const std::string in_header = unit.empty() || r_.units_row ? "" : " [" + unit + "]";
    if (two) text_ += fmt::format("Date{}", r_.delimiter);
    text_ += "Time";
    text_ += in_header;
    for (std::size_t i = 0; i < n_; ++i) {
      const bool packed = is_packed(r_, r_.channels[i]);
      if (packed && i != first_packed(r_)) continue;
      if (r_.time_per_value && i > 0)
        text_ += fmt::format("{}Time {}{}", r_.delimiter, i + 1, in_header);
      text_ += r_.delimiter;
      text_ += packed ? packed_header : column_header(r_.channels[i], r_);
    }
    end_line(text_);
    if (!r_.units_row) return;
    if (two) text_ += r_.delimiter;
    text_ += unit;
    for (std::size_t i = 0; i < n_; ++i) {
      const bool packed = is_packed(r_, r_.channels[i]);
      if (packed && i != first_packed(r_)) continue;
      if (r_.time_per_value && i > 0) text_ += r_.delimiter + unit;
      text_ += r_.delimiter;
      if (!packed) text_ += unit_text(r_.channels[i], r_);
    }
    end_line(text_);
  }

  /// What the recorder's clock shows at a model time.
  double shown(double t) {
    if (r_.clock_restart_s >= 0.0 && t >= r_.clock_restart_s) {
      if (restart_at_ < 0.0) restart_at_ = t;
      return t - restart_at_;
    }
    const bool set_back = r_.clock_back_at_s >= 0.0 && t >= r_.clock_back_at_s;
    return t - out_.first_s + r_.clock_offset_s - (set_back ? r_.clock_back_s : 0.0);
  }

  void row(double t) {
    if (out_.rows == 0) out_.first_s = t;
    out_.last_s = t;
    std::string line;
    if (!r_.time_per_value) line = stamp_text(shown(t), r_);
    for (std::size_t i = 0; i < n_; ++i) {
      const auto cell = cell_of(i);
      if (!cell) continue;
      if (r_.time_per_value) {
        if (i > 0) line += r_.delimiter;
        line += stamp_text(shown(read_at_[i]), r_);
      }
      line += r_.delimiter;
      line += *cell;
    }
    end_line(line);
    ++out_.rows;
    // A row may come out before the one that it follows.
    if (r_.swapped_share > 0.0 && held_.empty() && random_.chance(r_.swapped_share)) {
      held_ = std::move(line);
      return;
    }
    text_ += line;
    text_ += std::exchange(held_, {});
  }

  const Run& run_;
  const Case& c_;
  const Recorder& r_;
  Random random_;
  std::size_t n_ = 0, turn_ = 0;
  std::vector<std::string> cells_, last_;
  std::vector<double> read_at_, renewed_at_;
  std::vector<std::vector<std::uint64_t>> counted_;  // [channel][frame]; empty but for wheels
  std::string text_, held_;
  Recording out_;
  double restart_at_ = -1.0;
};

}  // namespace

double channel_rate_hz(const Recorder& recorder, std::size_t channel) {
  if (recorder.sampling == Sampling::block) return recorder.rate_hz;
  if (recorder.sampling == Sampling::own_rates) return recorder.own_rates_hz[channel];
  return recorder.rate_hz / static_cast<double>(recorder.channels.size());
}

Recording record_run(const Run& run, const Case& c, const Recorder& recorder, std::uint64_t seed) {
  return Writer(run, c, recorder, seed).write();
}

}  // namespace stopledger::model
