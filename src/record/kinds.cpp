#include "record/kinds.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "base/error.h"

namespace stopledger {

namespace {

std::string lower(std::string_view text) {
  std::string out(text);
  for (auto& c : out) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

std::vector<std::string_view> split(std::string_view text, char mark) {
  std::vector<std::string_view> out;
  for (std::size_t from = 0; from <= text.size();) {
    const auto to = std::min(text.find(mark, from), text.size());
    out.push_back(text.substr(from, to - from));
    from = to + 1;
  }
  return out;
}

std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = std::exchange(row[0], i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replaced = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
      diagonal = row[j];
      row[j] = std::min({row[j] + 1, row[j - 1] + 1, replaced});
    }
  }
  return row.back();
}

std::string joined(const std::vector<std::string>& names) {
  return fmt::format("{}", fmt::join(names, ", "));
}

}  // namespace

std::vector<std::string> near_names(std::string_view wanted, std::span<const std::string> names) {
  std::vector<std::pair<std::size_t, std::string>> found;
  const auto text = lower(wanted);
  for (const auto& name : names) {
    const auto other = lower(name);
    const auto steps = edit_distance(text, other);
    // Chosen: a third of the letters may differ; a part of the name counts as near.
    if (steps * 3 <= std::max<std::size_t>(3, text.size()) ||
        (text.size() >= 3 && other.find(text) != std::string::npos))
      found.emplace_back(steps, name);
  }
  std::sort(found.begin(), found.end());
  std::vector<std::string> out;
  for (std::size_t i = 0; i < found.size() && i < 3; ++i) out.push_back(found[i].second);
  return out;
}

const Kind* known_kind(std::string_view name) {
  for (const auto& kind : record_kinds())
    if (kind.name == lower(name)) return &kind;
  return nullptr;
}

const Kind& find_kind(std::string_view name) {
  if (const auto* kind = known_kind(name)) return *kind;
  std::vector<std::string> names;
  for (const auto& kind : record_kinds()) names.emplace_back(kind.name);
  const auto near = near_names(name, names);
  throw Error(ErrorKind::usage, fmt::format("\"{}\" is not a kind of record; {}", name,
                                            near.empty() ? "stopledger record --kinds lists them"
                                                         : "did you mean " + joined(near) + "?"));
}

std::vector<std::pair<std::string, const Field*>> spelled_fields(std::span<const Field> fields) {
  std::vector<std::pair<std::string, const Field*>> out;
  for (const auto& field : fields) {
    if (!field.per_corner) {
      out.emplace_back(std::string(field.name), &field);
      continue;
    }
    for (const char* corner : {"fl", "fr", "rl", "rr"})
      out.emplace_back(field.name.empty() ? corner : fmt::format("{}.{}", corner, field.name),
                       &field);
  }
  return out;
}

std::string field_help(const Field& field) {
  std::string out;
  switch (field.type) {
    case FieldType::text:
      out = "text";
      break;
    case FieldType::flag:
      out = "yes or no";
      break;
    case FieldType::choice:
      out = fmt::format("{}", fmt::join(split(field.choices, '|'), ", "));
      break;
    case FieldType::reference:
      out = "number of a record";
      break;
    case FieldType::number: {
      const auto units = units_of(field.dimension);
      const auto base = base_unit(field.dimension);
      out = units.empty() ? "number" : fmt::format("number with {}", units);
      if (field.low < field.high)
        out += fmt::format("; {} to {}{}{}", plain_number(field.low), plain_number(field.high),
                           base.empty() ? "" : " ", base);
      break;
    }
  }
  if (!field.help.empty()) out += fmt::format(" ({})", field.help);
  return out;
}

FieldValue check_field(std::string_view kind, std::string_view name, const Field& field,
                       std::string_view written) {
  while (!written.empty() && written.front() == ' ') written.remove_prefix(1);
  while (!written.empty() && written.back() == ' ') written.remove_suffix(1);
  const auto refuse = [&](const std::string& why) {
    return Error(ErrorKind::usage, fmt::format("{}: {}: {}", kind, name, why));
  };
  if (written.empty()) throw refuse("is empty; leave the field out if it is not known");
  FieldValue value{std::string(written), std::nullopt};
  switch (field.type) {
    case FieldType::text:
    case FieldType::reference:
      break;
    case FieldType::flag: {
      const auto text = lower(written);
      if (text == "yes" || text == "y") {
        value = {"yes", 1.0};
      } else if (text == "no" || text == "n") {
        value = {"no", 0.0};
      } else {
        throw refuse(fmt::format("\"{}\" must be yes or no", written));
      }
      break;
    }
    case FieldType::choice: {
      bool known = false;
      for (const auto choice : split(field.choices, '|'))
        if (lower(choice) == lower(written)) {
          value.written = choice;
          known = true;
        }
      if (!known)
        throw refuse(fmt::format("\"{}\" is not one of: {}", written,
                                 fmt::join(split(field.choices, '|'), ", ")));
      break;
    }
    case FieldType::number: {
      try {
        value.normalised = parse_measure(written, field.dimension);
      } catch (const Error& error) {
        throw refuse(error.what());
      }
      if (field.low < field.high &&
          (*value.normalised < field.low || *value.normalised > field.high))
        throw refuse(fmt::format(
            "{} is outside {} to {}{}{}: check the number{}", written, plain_number(field.low),
            plain_number(field.high), base_unit(field.dimension).empty() ? "" : " ",
            base_unit(field.dimension), base_unit(field.dimension).empty() ? "" : " and its unit"));
      break;
    }
  }
  return value;
}

std::map<std::string, FieldValue> check_fields(std::string_view kind, std::span<const Field> fields,
                                               std::span<const std::string> pairs,
                                               bool demand_required) {
  const auto spelled = spelled_fields(fields);
  std::map<std::string, FieldValue> out;
  for (const auto& pair : pairs) {
    const auto equals = pair.find('=');
    if (equals == std::string::npos)
      throw Error(ErrorKind::usage,
                  fmt::format("{}: \"{}\" must be written FIELD=VALUE", kind, pair));
    const auto name = lower(std::string_view(pair).substr(0, equals));
    const auto found = std::find_if(spelled.begin(), spelled.end(),
                                    [&](const auto& entry) { return entry.first == name; });
    if (found == spelled.end()) {
      std::vector<std::string> names;
      for (const auto& entry : spelled) names.push_back(entry.first);
      const auto near = near_names(name, names);
      throw Error(
          ErrorKind::usage,
          fmt::format("{}: no field \"{}\"; {}", kind, name,
                      near.empty() ? "its fields: " + (names.empty() ? "none" : joined(names))
                                   : "did you mean " + joined(near) + "?"));
    }
    if (out.contains(name))
      throw Error(ErrorKind::usage, fmt::format("{}: {} is given twice", kind, name));
    out[name] = check_field(kind, name, *found->second, std::string_view(pair).substr(equals + 1));
  }
  if (!demand_required) return out;
  std::vector<std::string> group;
  bool group_given = false;
  for (const auto& [name, field] : spelled) {
    if (field->required == 1 && !out.contains(name))
      throw Error(ErrorKind::usage, fmt::format("{}: {} is missing{}{}", kind, name,
                                                field->choices.empty() ? "" : "; one of: ",
                                                fmt::join(split(field->choices, '|'), ", ")));
    if (field->required != 2) continue;
    group.push_back(name);
    group_given = group_given || out.contains(name);
  }
  if (!group.empty() && !group_given)
    throw Error(ErrorKind::usage,
                fmt::format("{}: at least one of these is needed: {}", kind, joined(group)));
  return out;
}

}  // namespace stopledger
