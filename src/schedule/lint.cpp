#include "schedule/lint.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "log/role.h"
#include "model/tyre.h"
#include "procedure/library.h"
#include "record/car_sheet.h"
#include "record/kinds.h"
#include "schedule/rule.h"

namespace stopledger {
namespace {

const Kind* kind_of(std::string_view name) {
  const auto kinds = record_kinds();
  const auto found =
      std::find_if(kinds.begin(), kinds.end(), [&](const Kind& k) { return k.name == name; });
  return found == kinds.end() ? nullptr : &*found;
}

bool has_field(std::span<const Field> fields, std::string_view name) {
  const auto all = spelled_fields(fields);
  return std::any_of(all.begin(), all.end(), [&](const auto& f) { return f.first == name; });
}

/// A role, or a quantity with "*" for every place.
bool is_role_pattern(const std::string& pattern) {
  if (parse_role(pattern)) return true;
  if (!pattern.ends_with(".*")) return false;
  const auto stem = pattern.substr(0, pattern.size() - 1);
  return parse_role(stem + "FL") || parse_role(stem + "1");
}

template <typename List>
bool contains(const List& list, std::string_view value) {
  return std::find(list.begin(), list.end(), value) != list.end();
}

class Linter {
 public:
  Linter(std::span<const Procedure> procedures, std::span<const Procedure> library)
      : procedures_(procedures), library_(library) {}

  std::vector<LintFinding> all() {
    reach();
    for (const auto& p : procedures_) {
      names(p);
      if (p.interval) triggers(p);
      if (p.is_session) session(p);
      if (p.opens_system) opening(p);
      if (in_circle(p, p, {}))
        add(p, "before: hard prerequisites lead back to it, so it could never start");
      if (!reached_.contains(p.id))
        add(p, "nothing leads to it: give it an [interval], or name it in another's [[before]]");
      own(p);
    }
    return std::move(found_);
  }

 private:
  void add(const Procedure& p, std::string text, bool error = true) {
    found_.push_back({p.file, p.id, error, std::move(text)});
  }

  void names(const Procedure& p) {
    if (!p.fills_sheet && kind_of(p.record_kind) == nullptr)
      add(p, fmt::format("record: there is no record kind \"{}\"", p.record_kind));
    for (const auto& id : p.cautions)
      if (std::none_of(cautions().begin(), cautions().end(),
                       [&](const Caution& c) { return c.id == id; }))
        add(p, fmt::format("cautions: there is no caution \"{}\"", id));
    if (p.cautions.empty()) add(p, "cautions: there are none; name at least C1");
    for (const auto& pattern : p.log_channels)
      if (!is_role_pattern(pattern)) add(p, fmt::format("log: \"{}\" is no role", pattern));
    for (const auto& surface : p.surfaces)
      if (!model::parse_surface(surface))
        add(p, fmt::format("surfaces: \"{}\" is not known; choose from {}", surface,
                           model::surface_names()));
    for (const auto& key : p.needs_sheet)
      if (!has_field(car_fields(), key))
        add(p, fmt::format("needs-sheet: the car's sheet has no field \"{}\"", key));
    for (const auto& before : p.prerequisites)
      if (look_up(procedures_, before.procedure) == nullptr)
        add(p, fmt::format("before: there is no procedure \"{}\"", before.procedure));
  }

  void triggers(const Procedure& p) {
    for (const auto& text : p.interval->after_records) {
      const auto trigger = parse_trigger(text);
      const Kind* kind = trigger ? kind_of(trigger->kind) : nullptr;
      if (kind == nullptr)
        add(p, fmt::format("interval.after: \"{}\" names no record kind", text));
      else if (!trigger->field.empty() && !has_field(kind->fields, trigger->field))
        add(p,
            fmt::format("interval.after: {} has no field \"{}\"", trigger->kind, trigger->field));
    }
  }

  void session(const Procedure& p) {
    // What the trade asks of everything that is driven on a lot.
    for (const auto id : {"C4", "C5", "C6", "C7", "C16", "C21"})
      if (!contains(p.cautions, id)) add(p, fmt::format("cautions: a session needs {}", id));
    if (p.stop_conditions.empty()) add(p, "stop-when: a session needs stop conditions");
    if (!p.expectation) add(p, "expect: a session needs to say what its log must show");
    if (p.people < 2) add(p, "people: a session needs a helper");
    for (const auto id : {"lamp-code-check", "level-leak-pedal"})
      if (std::none_of(p.prerequisites.begin(), p.prerequisites.end(), [&](const auto& before) {
            return before.procedure == id && before.hard && before.within_days == 0;
          }))
        add(p, fmt::format("before: a session needs {} on the same day", id));
  }

  void opening(const Procedure& p) {
    for (const auto id : {"C1", "C2", "C10", "C20"})
      if (!contains(p.cautions, id))
        add(p, fmt::format("cautions: what opens the system needs {}", id));
  }

  bool in_circle(const Procedure& start, const Procedure& at, std::set<std::string> seen) {
    if (!seen.insert(at.id).second) return false;
    for (const auto& before : at.prerequisites) {
      if (!before.hard) continue;
      if (before.procedure == start.id) return true;
      const auto* next = look_up(procedures_, before.procedure);
      if (next != nullptr && in_circle(start, *next, seen)) return true;
    }
    return false;
  }

  void reach() {
    for (const auto& p : procedures_)
      if (p.interval || p.is_session || p.fills_sheet || p.record_kind.starts_with("storage-") ||
          p.record_kind == "depressurise")
        visit(p);
  }

  void visit(const Procedure& p) {
    if (!reached_.insert(p.id).second) return;
    for (const auto& before : p.prerequisites)
      if (const auto* next = look_up(procedures_, before.procedure)) visit(*next);
  }

  void own(const Procedure& p) {
    const auto* original = p.overrides_library ? look_up(library_, p.id) : nullptr;
    if (original == nullptr) return;
    add(p, fmt::format("your own file stands in place of {}", original->file), false);
    for (const auto& id : original->cautions)
      if (!contains(p.cautions, id))
        add(p, fmt::format("your own file leaves out {}: {}", id, caution_text(id)), false);
  }

  std::span<const Procedure> procedures_, library_;
  std::set<std::string> reached_;
  std::vector<LintFinding> found_;
};

}  // namespace

std::vector<LintFinding> lint(std::span<const Procedure> procedures,
                              std::span<const Procedure> library) {
  return Linter(procedures, library).all();
}

}  // namespace stopledger
