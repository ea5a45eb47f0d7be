#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "command/commands.h"
#include "command/entry_checks.h"
#include "command/ledger_use.h"
#include "command/record_entry.h"
#include "record/history.h"
#include "record/kinds.h"

namespace stopledger {

void add_correct(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand(
      "correct", "Correct a record: a new one supersedes it, the old one stays in the trail");
  const auto number = std::make_shared<std::int64_t>(0);
  const auto entry = std::make_shared<RecordEntry>();
  command->add_option("number", *number, "the record's number")->required();
  add_entry_options(*command, *entry);
  command->add_option("--without", entry->without, "FIELD to take away");
  command->callback([=, &context] {
    auto ledger = open_ledger(context, Ledger::Mode::write);
    ledger.begin();
    const auto old = ledger.record(*number);
    auto fact = old;
    if (!entry->car.empty()) fact.car = pick_car(ledger, entry->car);
    apply_entry(context, ledger, find_kind(fact.kind), *entry, fact);
    refuse_contradiction(fact, &old);
    if (fact.day != old.day || fact.car != old.car)
      refuse_outside_its_life(ledger, fact.car, fact.day, !entry->date.empty());
    const auto others = ledger.deciding_records_of(fact.car);
    const auto saved = ledger.correct(*number, fact, stamp_of(context, entry->who));
    ledger.commit();
    question_reading(context.err, others, saved);
    question_grade(context.err, ledger.car(saved.car), saved);
    question_procedure(context, saved);
    context.out << fmt::format("#{} stands now instead of #{}: {}, {}, {}{}\n", saved.id, old.id,
                               saved.car, format_day(saved.day), saved.kind,
                               saved.fields.empty() ? "" : ": " + record_line(saved));
  });
}

void add_remove(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand(
      "remove", "Mark a record as removed, with the reason; it stays in the trail");
  const auto number = std::make_shared<std::int64_t>(0);
  const auto reason = std::make_shared<std::string>();
  const auto who = std::make_shared<std::string>();
  command->add_option("number", *number, "the record's number")->required();
  command->add_option("--reason", *reason, "why it is removed")->required();
  command->add_option("--who", *who, "who removes it (STOPLEDGER_WHO)");
  command->callback([=, &context] {
    auto ledger = open_ledger(context, Ledger::Mode::write);
    ledger.remove(*number, *reason, stamp_of(context, *who));
    context.out << fmt::format("#{} is marked as removed: {}\n", *number, *reason);
  });
}

}  // namespace stopledger
