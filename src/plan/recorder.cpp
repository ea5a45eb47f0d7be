#include "plan/recorder.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <charconv>
#include <cmath>
#include <vector>

#include "base/error.h"

namespace stopledger {
namespace {

constexpr double fastest_hz = 10000.0;  // beyond any recorder; catches slips of the pen

std::vector<std::string_view> words(std::string_view text) {
  std::vector<std::string_view> found;
  while (true) {
    const auto from = text.find_first_not_of(" \t,");
    if (from == std::string_view::npos) return found;
    text.remove_prefix(from);
    const auto to = std::min(text.find_first_of(" \t,"), text.size());
    found.push_back(text.substr(0, to));
    text.remove_prefix(to);
  }
}

[[noreturn]] void refuse(std::string_view text, std::string_view why) {
  throw Error(ErrorKind::usage,
              fmt::format("--recorder \"{}\": {}; write for instance \"8/s\" (values a second in "
                          "all), \"5/s each\" (per channel) or \"10/s block\", and \"max 6\" after "
                          "it when it takes only six channels",
                          text, why));
}

template <typename T>
std::optional<T> number(std::string_view text) {
  T value{};
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

}  // namespace

std::optional<double> Recorder::interval_s(int channels) const {
  if (channels < 1 || (max_channels && channels > *max_channels)) return std::nullopt;
  return (kind == Kind::total ? channels : 1) / rate_hz;
}

std::string Recorder::describe() const {
  const char* what = kind == Kind::total  ? "values a second in all, channels read in turn"
                     : kind == Kind::each ? "values a second for each channel"
                                          : "blocks a second, all channels together";
  return fmt::format("{:.3g} {}{}", rate_hz, what,
                     max_channels ? fmt::format(", at most {} channels", *max_channels) : "");
}

Recorder parse_recorder(std::string_view text) {
  const auto parts = words(text);
  if (parts.empty()) refuse(text, "the rate is missing");
  std::string_view rate = parts[0];
  if (!rate.ends_with("/s")) refuse(text, "the rate does not end in /s");
  rate.remove_suffix(2);
  const auto value = number<double>(rate);
  if (!value || !(*value > 0.0) || !(*value <= fastest_hz))
    refuse(text, fmt::format("the rate is not a number above 0 and up to {}", fastest_hz));
  Recorder recorder;
  recorder.rate_hz = *value;
  for (std::size_t i = 1; i < parts.size(); ++i) {
    if (parts[i] == "total" || parts[i] == "each" || parts[i] == "block") {
      recorder.kind = parts[i] == "total"  ? Recorder::Kind::total
                      : parts[i] == "each" ? Recorder::Kind::each
                                           : Recorder::Kind::block;
    } else if (parts[i] == "max" && i + 1 < parts.size()) {
      const auto most = number<int>(parts[++i]);
      if (!most || *most < 1) refuse(text, "the most channels are not a whole number above 0");
      recorder.max_channels = *most;
    } else {
      refuse(text, fmt::format("\"{}\" is not understood", parts[i]));
    }
  }
  return recorder;
}

std::optional<SeenRate> seen_rate(const Log& log) {
  std::vector<double> rates, rows_per_sample;
  for (const Channel& channel : log.channels) {
    if (!channel.rate_hz || channel.samples == 0) continue;
    rates.push_back(*channel.rate_hz);
    rows_per_sample.push_back(static_cast<double>(log.rows) / static_cast<double>(channel.samples));
  }
  if (rates.empty()) return std::nullopt;
  const auto median = [](std::vector<double>& values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
  };
  return SeenRate{static_cast<int>(rates.size()), median(rates), median(rows_per_sample) > 1.5};
}

Recorder measured_recorder(std::span<const SeenRate> logs) {
  assert(!logs.empty());
  const auto [fewest, most] = std::minmax_element(
      logs.begin(), logs.end(),
      [](const SeenRate& a, const SeenRate& b) { return a.channels < b.channels; });
  const double channels_ratio = static_cast<double>(most->channels) / fewest->channels;
  if (channels_ratio >= 1.5) {
    // rate ~ channels^-x: x near 1 is a shared budget, x near 0 one per channel.
    const double x = std::log(fewest->rate_hz / most->rate_hz) / std::log(channels_ratio);
    if (x > 0.5) {
      double least = fewest->rate_hz * fewest->channels;
      for (const SeenRate& log : logs) least = std::min(least, log.rate_hz * log.channels);
      return {.kind = Recorder::Kind::total, .rate_hz = least};
    }
  } else if (most->reads_in_turn) {
    return {
        .kind = Recorder::Kind::total,
        .rate_hz = most->rate_hz * most->channels,
    };
  }
  double least = most->rate_hz;
  for (const SeenRate& log : logs) least = std::min(least, log.rate_hz);
  return {.kind = Recorder::Kind::each, .rate_hz = least, .max_channels = most->channels};
}

}  // namespace stopledger
