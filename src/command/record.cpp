#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "command/commands.h"
#include "command/entry_checks.h"
#include "command/ledger_use.h"
#include "command/record_entry.h"
#include "plan/after_run.h"
#include "record/history.h"
#include "record/kinds.h"

namespace stopledger {

namespace {

void print_kind(std::ostream& out, const Kind& kind) {
  out << fmt::format("{}: {}\n", kind.name, kind.title);
  for (const auto& field : kind.fields) {
    std::string name(field.name);
    if (field.per_corner) name = name.empty() ? "fl fr rl rr" : "fl|fr|rl|rr." + name;
    out << fmt::format("  {:<24}{} {}\n", name,
                       field.required == 1   ? "needed  "
                       : field.required == 2 ? "one of *"
                                             : "        ",
                       field_help(field));
  }
}

}  // namespace

void add_record(CLI::App& app, Context& context) {
  auto* record = app.add_subcommand("record", "Record what was done or seen on a car");
  const auto kind_name = std::make_shared<std::string>();
  const auto list = std::make_shared<bool>(false);
  const auto entry = std::make_shared<RecordEntry>();
  record->add_option("kind", *kind_name, "kind of record; --kinds lists them");
  add_entry_options(*record, *entry);
  record->add_flag("--kinds", *list, "list the kinds, or the fields of the kind given");
  record->callback([=, &context] {
    if (*list) {
      if (!kind_name->empty()) return print_kind(context.out, find_kind(*kind_name));
      for (const auto& kind : record_kinds())
        context.out << fmt::format("{:<18} {}\n", kind.name, kind.title);
      context.out << "The fields of one: stopledger record KIND --kinds\n";
      return;
    }
    if (kind_name->empty())
      throw Error(ErrorKind::usage, "what kind of record? stopledger record --kinds lists them");
    const auto& kind = find_kind(*kind_name);
    auto ledger = open_ledger(context, Ledger::Mode::write);
    ledger.begin();
    Record fact;
    fact.kind = kind.name;
    fact.car = pick_car(ledger, entry->car);
    fact.day = context.today;
    fact.who = who_of(context, entry->who);
    if (fact.who.empty())
      throw Error(ErrorKind::usage, "who did it? Give --who NAME or set STOPLEDGER_WHO");
    apply_entry(context, ledger, kind, *entry, fact);
    refuse_contradiction(fact, nullptr);
    refuse_outside_its_life(ledger, fact.car, fact.day, !entry->date.empty());
    const auto others = ledger.deciding_records_of(fact.car);
    if (fact.kind == "after-run")
      if (const auto why = against_clean(fact, ledger.records_of(fact.car)); !why.empty())
        throw Error(ErrorKind::refused, why);
    const auto saved = ledger.add_record(fact, stamp_of(context));
    ledger.commit();
    question_reading(context.err, others, saved);
    question_grade(context.err, ledger.car(saved.car), saved);
    question_procedure(context, saved);
    context.out << fmt::format("Saved as #{}: {}, {}, {}{}\n", saved.id, saved.car,
                               format_day(saved.day), saved.kind,
                               saved.fields.empty() ? "" : ": " + record_line(saved));
  });
}

}  // namespace stopledger
