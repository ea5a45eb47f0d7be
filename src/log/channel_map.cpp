#include "log/channel_map.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <map>

#include "base/error.h"
#include "base/toml.h"
#include "log/unit.h"

namespace stopledger {
namespace {

std::size_t line_of(const toml::node& node) { return node.source().begin.line; }

/// A table whose keys must all be known; values are taken by type.
class Table {
 public:
  Table(const toml::table& table, const std::string& file) : table_(table), file_(file) {}

  [[noreturn]] void fail(std::size_t line, const std::string& message) const {
    throw Error(ErrorKind::input, {file_, line}, message);
  }
  [[nodiscard]] std::size_t line() const { return line_of(table_); }

  void allow(std::initializer_list<std::string_view> keys) const {
    for (const auto& [key, value] : table_)
      if (std::find(keys.begin(), keys.end(), key.str()) == keys.end()) {
        std::string list;
        for (const auto known : keys) list += (list.empty() ? "" : ", ") + std::string(known);
        fail(line_of(value),
             fmt::format("\"{}\" is not known here; known are {}", key.str(), list));
      }
  }
  [[nodiscard]] std::string text(std::string_view key) const {
    const auto* node = table_.get(key);
    if (node == nullptr) return "";
    if (const auto* value = node->as_string()) return value->get();
    fail(line_of(*node), fmt::format("{} must be text in quotes", key));
  }
  [[nodiscard]] std::optional<double> number(std::string_view key, double low, double high) const {
    const auto* node = table_.get(key);
    if (node == nullptr) return std::nullopt;
    const auto value = node->is_number() ? node->value<double>() : std::nullopt;
    if (!value || !(*value >= low && *value <= high))
      fail(line_of(*node), fmt::format("{} must be a number from {:g} to {:g}", key, low, high));
    return value;
  }
  [[nodiscard]] bool flag(std::string_view key) const {
    const auto* node = table_.get(key);
    if (node == nullptr) return false;
    if (const auto* value = node->as_boolean()) return value->get();
    fail(line_of(*node), fmt::format("{} must be true or false", key));
  }
  [[nodiscard]] std::size_t line_of_key(std::string_view key) const {
    const auto* node = table_.get(key);
    return node == nullptr ? line() : line_of(*node);
  }

 private:
  const toml::table& table_;
  const std::string& file_;
};

ChannelMapEntry read_entry(const Table& table) {
  table.allow({"column", "role", "unit", "factor", "invert", "on", "on_above", "bit",
               "pulses_per_turn", "metres_per_pulse"});
  ChannelMapEntry entry;
  entry.line = table.line();
  entry.column = table.text("column");
  if (entry.column.empty())
    table.fail(table.line(), "column is missing: the header text as it stands in the log");
  const auto role = table.text("role");
  if (role.empty())
    table.fail(table.line(), "role is missing: a role such as \"wheel_speed.FL\", or \"unused\"");
  if (role != "unused") {
    entry.role = parse_role(role);
    if (!entry.role)
      table.fail(table.line_of_key("role"),
                 fmt::format("\"{}\" is no role; a role is a quantity and a place, such as "
                             "\"wheel_speed.FL\", \"outlet.rear\", \"isolation.1\", \"pump\", or "
                             "\"unused\"",
                             role));
  }
  entry.unit = table.text("unit");
  if (!entry.unit.empty() && !parse_unit(entry.unit))
    table.fail(table.line_of_key("unit"),
               fmt::format("\"{}\" is no unit that is known (km/h, mph, m/s, rpm, bar, psi, g, "
                           "deg/s, %, V, ...)",
                           entry.unit));
  entry.invert = table.flag("invert");
  entry.on = table.text("on");
  entry.factor = table.number("factor", -1e9, 1e9);
  if (entry.factor == 0.0) table.fail(table.line_of_key("factor"), "factor must not be 0");
  entry.on_above = table.number("on_above", -1e9, 1e9);
  if (const auto bit = table.number("bit", 0, 31)) entry.bit = static_cast<int>(*bit);
  entry.pulses_per_turn = table.number("pulses_per_turn", 1, 10000);
  entry.metres_per_pulse = table.number("metres_per_pulse", 1e-6, 100);
  const bool state = entry.role && is_state(entry.role->quantity);
  if (entry.role && !state && (entry.on_above || entry.bit || !entry.on.empty()))
    table.fail(table.line_of_key(entry.bit        ? "bit"
                                 : entry.on_above ? "on_above"
                                                  : "on"),
               fmt::format("{} is no state; on, on_above and bit are for states", role));
  if (entry.role && state && entry.factor)
    table.fail(table.line_of_key("factor"),
               fmt::format("{} is a state; factor is for numbers (see on_above)", role));
  return entry;
}

std::string quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F)
      out += fmt::format("\\u{:04X}", static_cast<unsigned>(c));
    else
      out += c;
  }
  return out + "\"";
}

/// A unit to offer for a quantity whose unit is not known.
std::string_view usual_unit(QuantityKind quantity) {
  switch (quantity) {
    case QuantityKind::wheel_pressure:
    case QuantityKind::master_pressure:
      return "bar";
    case QuantityKind::accel_long:
    case QuantityKind::accel_lat:
      return "g";
    case QuantityKind::yaw_rate:
      return "deg/s";
    case QuantityKind::steering_angle:
    case QuantityKind::ignition_timing:
      return "deg";
    case QuantityKind::odometer:
      return "km";
    default:
      return "km/h";
  }
}

/// Fit to stand in a comment.
std::string one_line(std::string text) {
  std::replace_if(
      text.begin(), text.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20; }, ' ');
  return text;
}

}  // namespace

ChannelMap parse_channel_map(std::string_view toml_text, const std::string& name) {
  const auto document = parse_toml(toml_text, name);
  ChannelMap map;
  map.file = name;
  const Table top(document, name);
  top.allow({"time", "channel"});
  if (const auto* node = document.get("time")) {
    const auto* time = node->as_table();
    if (time == nullptr) top.fail(line_of(*node), "time must be a table: [time]");
    const Table table(*time, name);
    table.allow({"column", "unit", "row_interval_s"});
    map.time_line = table.line();
    map.time_column = table.text("column");
    map.time_unit = table.text("unit");
    map.row_interval_s = table.number("row_interval_s", 1e-5, 60.0);
    if (!map.time_unit.empty()) {
      const auto unit = parse_unit(map.time_unit);
      if (!unit || unit->dimension != UnitDimension::time)
        table.fail(table.line_of_key("unit"),
                   fmt::format("\"{}\" is no unit of time (s, ms, us, min)", map.time_unit));
    }
    if (map.row_interval_s && !map.time_column.empty())
      table.fail(table.line(), "give column or row_interval_s, not both");
  }
  if (const auto* node = document.get("channel")) {
    const auto* list = node->as_array();
    if (list == nullptr) top.fail(line_of(*node), "channels are written as [[channel]]");
    std::map<Role, std::size_t> lines;
    for (const auto& item : *list) {
      const auto* table = item.as_table();
      if (table == nullptr) top.fail(line_of(item), "channels are written as [[channel]]");
      auto entry = read_entry(Table(*table, name));
      if (entry.role) {
        const auto [found, fresh] = lines.try_emplace(*entry.role, entry.line);
        if (!fresh)
          top.fail(entry.line, fmt::format("{} is already given in line {}", role_name(*entry.role),
                                           found->second));
      }
      map.channels.push_back(std::move(entry));
    }
  }
  if (map.channels.empty() && map.time_column.empty() && !map.row_interval_s)
    top.fail(1, "the map is empty: it needs at least one [[channel]] or a [time]");
  return map;
}

ChannelMap read_channel_map(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file)
    throw Error(ErrorKind::file, {path}, "cannot be opened; write one with channels --write-map");
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  if (file.bad()) throw Error(ErrorKind::file, {path}, "cannot be read (a folder?)");
  return parse_channel_map(text, path);
}

std::string write_channel_map(const Log& log) {
  std::string out =
      "# Channel map. Edit it and use it with --channels.\n"
      "#   column  header text as it stands in the log\n"
      "#   role    quantity and place, such as \"wheel_speed.FL\", \"inlet.FR\", \"outlet.rear\",\n"
      "#           \"valve.RL\" (three positions), \"isolation.1\", \"prime.2\", \"pump\",\n"
      "#           \"brake_switch\", \"vehicle_speed\"; \"unused\" leaves the column out\n"
      "#   unit    overrides what the log says (km/h, mph, m/s, rpm, bar, psi, g, deg/s, %, A, V)\n"
      "#   invert = true     on and off (or the sign) the other way round\n"
      "#   factor = 0.0625   numbers that are counts: times this they are in the unit\n"
      "#   on = \"Energized\"  a state in words that are not known: this one is on, others off\n"
      "#   on_above = 1.5    a state from a measured value\n"
      "#   bit = 3           a state from one bit of a number; give the column once for each bit\n"
      "#   pulses_per_turn = 48, metres_per_pulse = 0.04   wheel speed from pulses\n"
      "# [time] takes column and unit, or row_interval_s when the log has no clock.\n";
  for (const auto& channel : log.channels) {
    out += fmt::format("\n[[channel]]  # by {}\ncolumn = {}\nrole = \"{}\"\n",
                       one_line(channel.recognised_by), quoted(channel.column),
                       role_name(channel.role));
    if (!channel.unit.empty() && parse_unit(channel.unit))
      out += fmt::format("unit = {}{}\n", quoted(channel.unit),
                         channel.unit_known ? "" : "  # scale assumed");
    else if (!channel.unit_known)
      out += fmt::format("# unit = \"{}\"  # not known: say which\n",
                         usual_unit(channel.role.quantity));
  }
  for (const auto& column : log.unused_columns) {
    const auto question = std::find_if(log.questions.begin(), log.questions.end(),
                                       [&](const LogQuestion& q) { return q.column == column; });
    out += '\n';
    if (question != log.questions.end())
      out += fmt::format(
          "# Question: {}.{}\n", one_line(question->why),
          question->suggestion ? " If this is right, take the # away from the lines:" : "");
    // A header with a line break cannot stand in a comment as it is.
    out += fmt::format("# [[channel]]\n# column = {}\n# role = \"{}\"\n", quoted(column),
                       question != log.questions.end() && question->suggestion
                           ? role_name(*question->suggestion)
                           : "unused");
    if (question != log.questions.end() && question->unit_open)
      out += fmt::format("# unit = \"{}\"  # or say which\n",
                         usual_unit(question->suggestion->quantity));
  }
  return out;
}

}  // namespace stopledger
