#include <fmt/format.h>

#include <charconv>
#include <nlohmann/json.hpp>
#include <optional>

#include "base/error.h"
#include "record/car_facts.h"
#include "record/car_sheet.h"

namespace stopledger {

namespace {

using json = nlohmann::json;

CarState car_state(std::string_view name) {
  return name == "sold" ? CarState::sold : name == "retired" ? CarState::retired : CarState::active;
}

/// Reads what car_json writes, as long as there is nothing to escape in it; ten times as fast as a
/// general reader, which makes a tree of it first.
class Canonical {
 public:
  explicit Canonical(std::string_view text) : text_(text) {}

  /// Nothing when the text is anything else.
  std::optional<CarSheet> sheet() {
    CarSheet sheet;
    std::string state;
    const bool whole = skip("{\"fields\":{") && fields(sheet) && manual(sheet) &&
                       skip(",\"name\":") && string(sheet.facts.name) && out_of_use(sheet) &&
                       rules(sheet) && skip(",\"state\":") && string(state) && skip("}") &&
                       text_.empty();
    if (!whole) return std::nullopt;
    sheet.state = car_state(state);
    for (const auto& [name, value] : sheet.sheet)
      for (const auto& fact : facts())
        if (fact.field == name) fact.take(sheet, known(&value));
    return sheet;
  }

 private:
  bool skip(std::string_view word) {
    if (!text_.starts_with(word)) return false;
    text_.remove_prefix(word.size());
    return true;
  }

  bool string(std::string& value) {
    if (!skip("\"")) return false;
    std::size_t end = 0;
    while (end < text_.size() && text_[end] != '"' && text_[end] != '\\') ++end;
    if (end == text_.size() || text_[end] != '"') return false;
    value = text_.substr(0, end);
    text_.remove_prefix(end + 1);
    return true;
  }

  template <typename Number>
  bool number(std::optional<Number>& value) {
    const auto [end, code] =
        std::from_chars(text_.data(), text_.data() + text_.size(), value.emplace());
    text_.remove_prefix(static_cast<std::size_t>(end - text_.data()));
    return code == std::errc{};
  }

  /// Each entry of an object or list up to its closing bracket.
  template <typename Entry>
  bool entries(std::string_view close, Entry entry) {
    if (skip(close)) return true;
    do {
      if (!entry()) return false;
    } while (skip(","));
    return skip(close);
  }

  bool fields(CarSheet& sheet) {
    return entries("}", [&] {
      std::string name;
      FieldValue value;
      if (!string(name) || !skip(":{")) return false;
      if (skip("\"value\":") && !(number(value.normalised) && skip(","))) return false;
      if (!skip("\"written\":") || !string(value.written) || !skip("}")) return false;
      sheet.sheet.emplace_hint(sheet.sheet.end(), std::move(name), std::move(value));
      return true;
    });
  }

  bool manual(CarSheet& sheet) {
    if (!skip(",\"manual\":{")) return true;
    return entries("}", [&] {
      std::string name;
      return string(name) && skip(":") && string(sheet.manual_refs[name]);
    });
  }

  bool out_of_use(CarSheet& sheet) {
    if (!skip(",\"out_of_use\":")) return true;
    std::string day;
    if (!string(day)) return false;
    sheet.out_of_use = parse_day(day);
    return sheet.out_of_use.has_value();
  }

  bool rules(CarSheet& sheet) {
    if (!skip(",\"rules\":[")) return true;
    return entries("]", [&] {
      ManualRule rule;
      if (!skip("{")) return false;
      if (skip("\"distance_km\":") && !(number(rule.distance_km) && skip(","))) return false;
      if (skip("\"months\":") && !(number(rule.months) && skip(","))) return false;
      const bool whole = skip("\"procedure\":") && string(rule.procedure) && skip(",\"where\":") &&
                         string(rule.where) && skip("}");
      sheet.rules.push_back(std::move(rule));
      return whole;
    });
  }

  std::string_view text_;
};

CarSheet parse_any_car_json(const std::string& text) {
  try {
    const auto in = json::parse(text);
    CarSheet sheet;
    sheet.facts.name = in.at("name");
    const std::string state = in.at("state");
    sheet.state = car_state(state);
    for (const auto& [name, field] : in.at("fields").items()) {
      FieldValue value{field.at("written"), std::nullopt};
      if (field.contains("value")) value.normalised = field["value"].get<double>();
      sheet.sheet[name] = value;
    }
    if (in.contains("out_of_use")) {
      sheet.out_of_use = parse_day(in["out_of_use"].get<std::string>());
      if (!sheet.out_of_use)
        throw Error(ErrorKind::ledger, "this is no car sheet: out_of_use is not a day");
    }
    if (in.contains("manual"))
      sheet.manual_refs = in["manual"].get<std::map<std::string, std::string>>();
    if (in.contains("rules"))
      for (const auto& row : in["rules"]) {
        ManualRule rule{.procedure = row.at("procedure"),
                        .months = {},
                        .distance_km = {},
                        .where = row.at("where")};
        if (row.contains("months")) rule.months = row["months"].get<int>();
        if (row.contains("distance_km")) rule.distance_km = row["distance_km"].get<double>();
        sheet.rules.push_back(std::move(rule));
      }
    take_facts(sheet);
    return sheet;
  } catch (const json::exception& error) {
    throw Error(ErrorKind::ledger, fmt::format("this is no car sheet: {}", error.what()));
  }
}

}  // namespace

std::string car_json(const CarSheet& sheet) {
  json out{{"name", sheet.facts.name}, {"state", car_state_name(sheet.state)}};
  out["fields"] = json::object();
  for (const auto& [name, value] : car_field_values(sheet)) {
    auto& field = out["fields"][name] = {{"written", value.written}};
    if (value.normalised) field["value"] = *value.normalised;
  }
  if (sheet.out_of_use) out["out_of_use"] = format_day(*sheet.out_of_use);
  if (!sheet.manual_refs.empty()) out["manual"] = sheet.manual_refs;
  for (const auto& rule : sheet.rules) {
    json row{{"procedure", rule.procedure}, {"where", rule.where}};
    if (rule.months) row["months"] = *rule.months;
    if (rule.distance_km) row["distance_km"] = *rule.distance_km;
    out["rules"].push_back(std::move(row));
  }
  try {
    return out.dump();
  } catch (const json::type_error&) {
    throw Error(ErrorKind::usage, "the text of a field is not UTF-8; write it again");
  }
}

CarSheet parse_car_json(const std::string& text) {
  auto sheet = Canonical(text).sheet();
  return sheet ? std::move(*sheet) : parse_any_car_json(text);
}

}  // namespace stopledger
