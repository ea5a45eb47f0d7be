#include "log/claims.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <utility>

#include "base/error.h"
#include "log/bare_wheels.h"
#include "log/questions.h"
#include "log/valve_count.h"

namespace stopledger {
namespace {

bool has_three_levels(const Track& track) {
  return track.levels.size() >= 3 || track.many_levels ||
         track.words[static_cast<std::size_t>(StateWord::hold)];
}

/// What the valve columns without an inlet or outlet in their name have in common: one recorder
/// writes them all alike, and a valve that never released shows fewer levels than its fellows.
struct UnspecifiedValves {
  bool three_levels = false;  // at one of them at least
  double max = 0.0;
};

UnspecifiedValves look_at_valves(const Layout& layout, Gather& gather) {
  UnspecifiedValves valves;
  for (std::size_t k = 0; k < gather.tracks().size(); ++k) {
    const auto& track = gather.tracks()[k];
    if (!layout.columns[gather.columns()[k]].wording.valve_unspecified) continue;
    valves.three_levels = valves.three_levels || has_three_levels(track);
    if (track.any_number) valves.max = std::max(valves.max, track.max);
  }
  return valves;
}

/// A column that names a wheel and nothing else, whose numbers have no unit.
bool is_bare(const Column& column, const Track& track) {
  return column.wording.role && column.wording.place_only && column.entries.empty() &&
         !column.unit && track.any_number &&
         !track.words[static_cast<std::size_t>(StateWord::hold)];
}

/// Whether the columns that name a wheel and nothing else are its speed: all of them or none.
BareVerdict look_at_bare_wheels(const Layout& layout, Gather& gather) {
  std::vector<BareColumn> wheels;
  BareColumn own;
  for (std::size_t k = 0; k < gather.tracks().size(); ++k) {
    const auto& column = layout.columns[gather.columns()[k]];
    const auto& track = gather.tracks()[k];
    if (is_bare(column, track))
      wheels.push_back({track.t, track.value});
    else if (column.wording.role == Role::of_car(QuantityKind::vehicle_speed))
      own = {track.t, track.value};
  }
  return wheels.empty() ? BareVerdict{} : judge_bare_wheels(wheels, own);
}

std::optional<Role> role_by_values(const Column& column, const Track& track,
                                   const UnspecifiedValves& valves, const BareVerdict& bare) {
  Role role = *column.wording.role;
  if (column.wording.valve_unspecified)
    return valves.three_levels ? std::optional(role) : std::nullopt;
  if (column.wording.place_only) {
    const bool words = track.words[static_cast<std::size_t>(StateWord::hold)];
    if (words) role.quantity = QuantityKind::valve;
    if (words) return role;
    return bare.speeds && is_bare(column, track) ? std::optional(role) : std::nullopt;
  }
  // A brake pedal with more than two positions is a travel.
  // (Of rank 30 are columns that are called a switch.)
  if (role.quantity == QuantityKind::brake_switch && column.wording.rank < 28 &&
      (track.many_levels || (column.unit && (column.unit->dimension == UnitDimension::share ||
                                             column.unit->dimension == UnitDimension::length))))
    role.quantity = QuantityKind::brake_travel;
  return role;
}

/// More samples below zero than above.
bool mostly_negative(const Track& track) {
  std::ptrdiff_t balance = 0;
  for (const double value : track.value)
    if (!is_word(value)) balance += value > 0.0 ? 1 : value < 0.0 ? -1 : 0;
  return balance < 0;
}

/// Why the values of a column cannot be what its name says; "" when they can.
std::string contradiction(const Column& column, const Track& track, const Role& role) {
  if (track.cells == 0) return "";
  const bool shared = column.unit && column.unit->dimension == UnitDimension::share;
  const bool measured = column.unit && (column.unit->dimension == UnitDimension::current ||
                                        column.unit->dimension == UnitDimension::voltage);
  if (!is_state(role.quantity)) {
    if (!track.any_number) return "its cells are words";
    const bool speed = role.quantity == QuantityKind::wheel_speed ||
                       role.quantity == QuantityKind::vehicle_speed ||
                       role.quantity == QuantityKind::satellite_speed;
    // Rolling back shows as a little below zero; a speed that is mostly negative is another thing.
    if (speed && track.min < 0.0 && mostly_negative(track))
      return "it is mostly negative (for a changed sign: invert = true)";
    return "";
  }
  if (role.quantity != QuantityKind::valve && track.many_levels && !shared && !measured &&
      (track.max > 100.0 || track.min < 0.0) && !counts_switchings(column, track, role.quantity))
    return fmt::format("it takes many values from {:g} to {:g}", track.min, track.max);
  return "";
}

}  // namespace

std::vector<RoleClaim> settle_roles(const Layout& layout, Gather& gather, const std::string& name,
                                    const ReadOptions& options, Log& log) {
  const auto note = [&](std::string text) { log.notes.push_back(std::move(text)); };
  const auto column_of = [&](std::size_t track) -> const Column& {
    return layout.columns[gather.columns()[track]];
  };
  const auto valves = look_at_valves(layout, gather);
  const auto bare = look_at_bare_wheels(layout, gather);
  std::vector<std::string> bare_taken;
  std::vector<RoleClaim> claims;
  std::map<Role, std::size_t> owner;
  for (std::size_t k = 0; k < gather.tracks().size(); ++k) {
    const auto& column = column_of(k);
    if (!column.wording.role) continue;
    for (const auto* entry : column.entries)
      claims.push_back({k, *entry->role, entry, std::nullopt});
    if (!column.entries.empty()) continue;
    const auto role = role_by_values(column, gather.tracks()[k], valves, bare);
    if (!role) {
      if (column.wording.valve_unspecified)
        log.questions.push_back(
            {column.header,
             "it is a wheel's valve, but whether inlet or outlet is not said and its values do not "
             "show it",
             std::nullopt});
      else if (is_bare(column, gather.tracks()[k]))
        log.questions.push_back(
            {column.header,
             fmt::format("a wheel is named, but not what of it; perhaps its speed, but {}",
                         bare.why),
             column.wording.role});
      else
        log.questions.push_back({column.header,
                                 fmt::format("it names {}, but not what of it",
                                             std::string(corner_name(column.wording.role->corner))),
                                 std::nullopt});
      continue;
    }
    if (column.unit && column.unit->dimension != UnitDimension::other &&
        !unit_fits(role->quantity, column.unit->dimension)) {
      const auto what = fmt::format("\"{}\" is named as {}, which cannot be in {}", column.header,
                                    role_name(*role), column.unit_text);
      if (role->place != PlaceKind::car)
        throw Error(ErrorKind::input, {name, layout.header_line},
                    what +
                        "; say what it is, or \"unused\", in a channel map (--write-map, then "
                        "--channels)");
      note(what + "; not used");
      continue;
    }
    if (const auto why = contradiction(column, gather.tracks()[k], *role); !why.empty()) {
      note(
          fmt::format("\"{}\" is named as {}, but {}; not used until a channel map says what it is",
                      column.header, role_name(*role), why));
      continue;
    }
    if (column.wording.place_only && role->quantity == QuantityKind::wheel_speed)
      bare_taken.push_back(column.header);
    claims.push_back({k, *role, nullptr,
                      column.wording.valve_unspecified ? std::optional(valves.max) : std::nullopt});
  }
  if (!bare_taken.empty())
    note(fmt::format("{} {} no more than the wheel; taken for its speed, because {}",
                     name_columns(bare_taken), bare_taken.size() == 1 ? "says" : "say", bare.why));
  // Words alone did not clash (see Layout); what the values made of them still may.
  std::vector<RoleClaim> kept;
  for (const auto& claim : claims) {
    const auto [found, fresh] = owner.try_emplace(claim.role, claim.track);
    if (fresh) {
      kept.push_back(claim);
      continue;
    }
    const auto& column = column_of(claim.track);
    const auto& other = column_of(found->second);
    if (claim.role.place != PlaceKind::car && !options.first_claim_wins)
      throw Error(ErrorKind::input, {name, layout.header_line},
                  fmt::format("two columns claim {}: \"{}\" and \"{}\"; keep one by a channel map "
                              "(--write-map, then --channels)",
                              role_name(claim.role), other.header, column.header));
    note(fmt::format("\"{}\" is not used: \"{}\" is taken for {}", column.header, other.header,
                     role_name(claim.role)));
  }
  return kept;
}

}  // namespace stopledger
