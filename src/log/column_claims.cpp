#include "log/column_claims.h"

#include <fmt/format.h>

#include <map>
#include <optional>
#include <set>

#include "base/error.h"

namespace stopledger {
namespace {

/// A wheel's column that says no more than the wheel, or no more than that it is a valve.
bool is_vague(const Wording& wording) { return wording.place_only || wording.valve_unspecified; }

/// Takes the role from a vague column and asks instead.
void ask_instead(Wording& wording, std::optional<QuantityKind> likely = std::nullopt) {
  const Role role = *wording.role;
  const auto place = role_name(role).substr(role_name(role).find('.') + 1);
  wording.question = wording.valve_unspecified
                         ? "it is a wheel's valve, but whether inlet or outlet is not said"
                         : fmt::format("it names {}, but not what of it", place);
  wording.suggestion.reset();
  if (likely) wording.suggestion = Role{*likely, role.place, role.corner, role.circuit};
  wording.role.reset();
}

}  // namespace

void settle_claims(Layout& layout, const std::string& name, bool first_wins) {
  std::map<Role, std::size_t> owner;
  std::set<Role> contested;  // by vague columns
  for (std::size_t i = 0; i < layout.columns.size(); ++i) {
    auto& column = layout.columns[i];
    if (!layout.tracked(i) || i == layout.time_column) continue;
    const Role role = *column.wording.role;
    if (contested.contains(role) && is_vague(column.wording)) {
      ask_instead(column.wording);
      continue;
    }
    const auto [found, fresh] = owner.try_emplace(role, i);
    if (fresh) continue;
    auto& other = layout.columns[found->second];
    if (is_vague(column.wording) && is_vague(other.wording)) {
      const bool valves = column.wording.valve_unspecified && other.wording.valve_unspecified;
      using Q = QuantityKind;
      ask_instead(other.wording, valves ? std::optional(Q::inlet) : std::nullopt);
      ask_instead(column.wording, valves ? std::optional(Q::outlet) : std::nullopt);
      owner.erase(found);
      contested.insert(role);
      continue;
    }
    if (column.wording.rank == other.wording.rank && role.place != PlaceKind::car && !first_wins)
      throw Error(ErrorKind::input, {name, layout.header_line},
                  fmt::format("two columns claim {}: \"{}\" and \"{}\"; keep one by a channel map "
                              "(stopledger channels FILE --write-map map.toml, set the role of the "
                              "other to \"unused\", then --channels map.toml)",
                              role_name(role), other.header, column.header));
    const bool better = column.wording.rank > other.wording.rank;
    auto& loser = better ? other : column;
    const auto& winner = better ? column : other;
    if (better) found->second = i;
    if (is_vague(loser.wording)) {
      ask_instead(loser.wording);
      continue;
    }
    layout.notes.push_back(fmt::format("\"{}\" is not used: \"{}\" is taken for {}", loser.header,
                                       winner.header, role_name(role)));
    loser.wording.role.reset();
  }
}

}  // namespace stopledger
