#include "command/plan_request.h"

#include <fmt/format.h>

#include <charconv>
#include <ctime>

#include "base/error.h"
#include "model/tyre.h"
#include "record/measure.h"

namespace stopledger {
namespace {

[[noreturn]] void refuse(std::string_view option, std::string_view text, std::string_view why) {
  throw Error(ErrorKind::usage, fmt::format("{} \"{}\": {}", option, text, why));
}

// "150", "150 m" or "500 ft".
Metres lot_measure(std::string_view option, const std::string& text) {
  double metres = 0.0;
  try {
    metres = parse_measure(text, Dimension::length, "m") / 1000.0;
  } catch (const Error& error) {
    refuse(option, text, error.what());
  }
  // Beyond 5 km it is no lot but a slip of the pen.
  if (!(metres > 0.0 && metres <= 5000.0)) refuse(option, text, "a lot has 1 to 5000 m");
  return Metres(metres);
}

int clock_minutes(std::string_view option, std::string_view text) {
  const auto colon = text.find(':');
  int hours = 0, minutes = 0;
  const auto whole = [](std::string_view part, int& value) {
    const auto [end, error] = std::from_chars(part.data(), part.data() + part.size(), value);
    return error == std::errc{} && end == part.data() + part.size() && !part.empty();
  };
  if (colon == std::string_view::npos || !whole(text.substr(0, colon), hours) ||
      !whole(text.substr(colon + 1), minutes) || hours < 0 || hours > 23 || minutes < 0 ||
      minutes > 59)
    refuse(option, text, "write the clock time as HH:MM, 00:00 to 23:59");
  return 60 * hours + minutes;
}

GeoPlace geo_place(std::string_view text) {
  const auto comma = text.find(',');
  if (comma == std::string_view::npos)
    refuse("--place", text, "write latitude,longitude in degrees, such as 52.1,10.4");
  return {number_option("--place", text.substr(0, comma), -90.0, 90.0, "a latitude"),
          number_option("--place", text.substr(comma + 1), -180.0, 180.0, "a longitude")};
}

// "+2", "-03:30"; else the offset that this computer's zone has on that day.
int utc_offset(std::string_view text, Day day) {
  if (text.empty()) {
    std::tm noon{};
    noon.tm_year = static_cast<int>(day.year()) - 1900;
    noon.tm_mon = static_cast<int>(static_cast<unsigned>(day.month())) - 1;
    noon.tm_mday = static_cast<int>(static_cast<unsigned>(day.day()));
    noon.tm_hour = 12;
    noon.tm_isdst = -1;
    std::mktime(&noon);
    return static_cast<int>(noon.tm_gmtoff / 60);
  }
  std::string_view rest = text;
  const int sign = rest.front() == '-' ? -1 : 1;
  if (rest.front() == '+' || rest.front() == '-') rest.remove_prefix(1);
  if (rest.find(':') != std::string_view::npos) return sign * clock_minutes("--utc-offset", rest);
  return sign * static_cast<int>(60.0 * number_option("--utc-offset", rest, 0.0, 14.0, "hours"));
}

}  // namespace

double number_option(std::string_view option, std::string_view text, double low, double high,
                     std::string_view what) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !(value >= low && value <= high))
    refuse(option, text, fmt::format("write {} from {} to {}", what, low, high));
  return value;
}

SessionRequest request_of(const PlanOptions& options, const Context& context) {
  SessionRequest request;
  request.today = request.day = context.today;
  if (!options.date.empty()) {
    const auto day = parse_day(options.date);
    if (!day) refuse("--date", options.date, "this is not a day; write YYYY-MM-DD");
    request.day = *day;
  }
  if (request.day < context.today)
    refuse("--date", options.date,
           fmt::format("that day has passed (today is {})", format_day(context.today)));
  if (!options.lot_length.empty())
    request.lot_length = lot_measure("--lot-length", options.lot_length);
  if (!options.lot_width.empty()) request.lot_width = lot_measure("--lot-width", options.lot_width);
  const auto ground = find_ground(options.surface);
  if (!ground) refuse("--surface", options.surface, "choose one of " + model::surface_names());
  request.ground = *ground;
  if (!options.recorder.empty()) request.recorder = parse_recorder(options.recorder);
  request.lot.slope = options.slope_pct / 100.0;
  if (options.speed_kmh > 0.0) request.speed = from_kmh(options.speed_kmh);
  request.most_stops = options.most_stops;
  if (!options.start.empty()) request.start_min = clock_minutes("--start", options.start);
  if (!options.place.empty()) request.place = geo_place(options.place);
  request.utc_offset_min = utc_offset(options.utc_offset, request.day);
  request.heat.ambient_c = options.ambient_c;
  request.permission = options.permission;
  request.driver = options.driver;
  request.helper = options.helper;
  request.address = options.address;
  for (const std::string& text : options.overrides) {
    const auto equals = text.find('=');
    if (equals == std::string::npos || equals == 0 || equals + 1 == text.size())
      refuse("--override", text, "write NAME=REASON; the reason is kept with the plan");
    request.overrides[text.substr(0, equals)] = text.substr(equals + 1);
  }
  return request;
}

}  // namespace stopledger
