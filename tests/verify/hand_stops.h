#pragma once

#include <algorithm>
#include <span>
#include <stdexcept>

#include "verify/check.h"
#include "verify/hand_made.h"

namespace stopledger::test {

inline CheckOutcome check_hand(const HandMade& hand) {
  return check_logs(std::span(&hand.log, 1), {}, nullptr);
}

/// Keeps every `n`th look of the channels that `is_one`.
template <typename Test>
void thin(HandMade& hand, std::size_t n, Test is_one) {
  for (Channel& channel : hand.log.channels) {
    if (!is_one(channel)) continue;
    Series seldom;
    for (std::size_t i = 0; i < channel.series.size(); i += n) {
      seldom.t_s.push_back(channel.series.t_s[i]);
      seldom.value.push_back(channel.series.value[i]);
    }
    channel.series = seldom;
    channel.samples = seldom.size();
    channel.rate_hz = 1.0 / (HandMade::step * static_cast<double>(n));
  }
}

/// `n` healthy cycles of every corner from `from` on, a little after each other.
inline void cycles(HandMade& hand, double from, int n) {
  for (const Corner corner : all_corners)
    for (int i = 0; i < n; ++i)
      hand.cycle(corner, from + 0.36 * i + 0.05 * static_cast<int>(corner));
}

/// Drives off again after a stop: wheels and speed from `start` on as in a second hand-made stop.
inline void append(HandMade& first, const HandMade& second, double pause_s) {
  const double from = first.log.duration_s + pause_s;
  for (Channel& channel : first.log.channels) {
    const Series& more = [&]() -> const Series& {
      for (const Channel& other : second.log.channels)
        if (other.role == channel.role) return other.series;
      throw std::logic_error("no such channel");
    }();
    const bool speed = channel.role.quantity == QuantityKind::wheel_speed;
    const double v = more.value.front();
    for (double t = channel.series.t_s.back() + HandMade::step; t < from - 1e-9;
         t += HandMade::step) {
      channel.series.t_s.push_back(t);
      // Stands, then gathers speed over the last six seconds of the pause.
      channel.series.value.push_back(speed ? v * std::clamp((t - (from - 6.0)) / 6.0, 0.0, 1.0)
                                           : 0.0);
    }
    for (std::size_t i = 0; i < more.size(); ++i) {
      channel.series.t_s.push_back(from + more.t_s[i]);
      channel.series.value.push_back(more.value[i]);
    }
    channel.samples = channel.series.size();
  }
  first.log.duration_s = from + second.log.duration_s;
  first.log.segments = {{0.0, first.log.duration_s}};
}

}  // namespace stopledger::test
