#include "command/plan_close.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "base/error.h"
#include "base/result.h"
#include "command/ledger_use.h"
#include "command/plan_request.h"
#include "plan/after_run.h"
#include "plan/route.h"
#include "plan/session_results.h"
#include "record/kinds.h"

namespace stopledger {
namespace {

struct CloseOptions {
  std::int64_t id = 0;
  std::string not_driven, who, signed_by, note;
  std::vector<std::string> after_run, results, checks;
};

// The exercise record of results entered by hand: "fl=exercised rr=idle". A corner that is not
// named is unseen: nothing becomes exercised by default.
Record exercise_of(const CloseOptions& options, const CarFacts& car, const std::string& surface,
                   int stops) {
  std::vector<std::string> pairs = options.results;
  pairs.push_back("surface=" + surface);
  pairs.push_back(fmt::format("stops={}", stops));
  pairs.push_back(fmt::format("result={}", result_name(Result::unseen)));
  Record record;
  record.kind = "exercise";
  record.fields = check_fields("exercise", find_kind("exercise").fields, pairs, true);
  complete_by_hand(record, car);
  return record;
}

// What was got past when the session was planned, for its record: "roll-check: done on the day".
std::string got_past(const nlohmann::json& plan) {
  std::string text;
  for (const auto& block : plan.at("blocks")) {
    const auto& reason = block.at("overridden_because");
    // Plans kept by an older program have no name apart from the id.
    text += fmt::format(
        "{}{}: {}", text.empty() ? "" : "; ",
        block.value("name", block.at("id").get<std::string>()),
        reason.is_string() ? reason.get<std::string>() : "driven in spite of it, no reason given");
  }
  return text;
}

/// Writes the records of one driven session, all or none: the ledger's transaction is the caller's.
class Closing {
 public:
  Closing(Ledger& ledger, const KeptPlan& kept, const CloseOptions& options, Context& context)
      : ledger_(ledger),
        kept_(kept),
        options_(options),
        body_(nlohmann::json::parse(kept.body_json)),
        stamp_(stamp_of(context, options.who)),
        who_(who_of(context, options.who)),
        car_(ledger.car(kept.car).facts),
        results_(car_) {
    if (who_.empty())
      throw Error(ErrorKind::usage, "who closes it? Give --who NAME or set STOPLEDGER_WHO");
  }

  void session() {
    std::vector<std::string> pairs{fmt::format("plan={}", kept_.id), "surface=" + surface(),
                                   "route=" + body_.at("route").at("name").get<std::string>()};
    for (const auto& [field, key] :
         {std::pair{"place", "address"}, {"driver", "driver"}, {"helper", "helper"}})
      if (body_.contains(key) && body_[key].is_string())
        pairs.push_back(fmt::format("{}={}", field, body_[key].get<std::string>()));
    if (const std::string past = got_past(body_); !past.empty())
      pairs.push_back("overridden=" + past);
    Record record;
    record.kind = "session";
    record.note = options_.note;
    record.fields = check_fields("session", find_kind("session").fields, pairs, true);
    session_ = entered(std::move(record));
  }

  void saved_check(const std::string& number_text) {
    const auto number = static_cast<std::int64_t>(
        number_option("--check", number_text, 1, 1e15, "a record number"));
    const Record check = ledger_.record(number);
    if (check.car != kept_.car || check.kind != "exercise" || check.day != kept_.day)
      throw Error(
          ErrorKind::usage,
          fmt::format("--check {}: record {} is {} of {} on {}, not an exercise of {} on {}",
                      number_text, check.id, check.kind, check.car, format_day(check.day),
                      kept_.car, format_day(kept_.day)));
    add_exercise(check);
  }

  void hand_results() {
    Record record =
        exercise_of(options_, car_, surface(), body_.at("recording").at("abs_stops").get<int>());
    record.fields["session"] = {session_.uid, std::nullopt};
    add_exercise(entered(std::move(record)));
  }

  /// The decision: "clean", "re-flush" or "repair".
  std::string after_run() {
    Record record;
    record.kind = "after-run";
    record.day = kept_.day;
    record.fields =
        check_fields("after-run", find_kind("after-run").fields, options_.after_run, true);
    if (const auto why = against_clean(record, ledger_.records_of(kept_.car)); !why.empty())
      throw Error(ErrorKind::refused, why);
    record.fields["session"] = {session_.uid, std::nullopt};
    after_run_ = entered(std::move(record));
    ledger_.end_plan(kept_.id, fmt::format("closed by record {}", after_run_.id), stamp_);
    return after_run_.fields.at("result").written;
  }

  [[nodiscard]] std::string told(const std::string& decision) const {
    std::string text =
        fmt::format("Plan {} closed: after-run check {} (#{}), session #{}, exercise #{}.\n",
                    kept_.id, decision, after_run_.id, session_.id, fmt::join(exercises_, ", #"));
    if (!body_.value("go", true))
      text +=
          "The plan was a no-go: that it was driven in spite of it stands in the session's "
          "record.\n";
    if (decision == "repair")
      text +=
          "Do not drive the car before it is repaired. Record what was seen: stopledger record "
          "fault what=...\n";
    else if (decision == "re-flush" || body_.at("route").at("name") != "young fluid")
      text += fmt::format("Next: a short re-flush of each corner by {}{}.\n",
                          format_day(add_days(kept_.day, reflush_within_days)),
                          decision == "re-flush" ? ", before the car is used on a road" : "");
    if (!after_run_.fields.contains("pedal"))
      text += "The pedal's travel is not on record: measure it before the car moves again.\n";
    else if (!pedal_before(after_run_, ledger_.records_of(kept_.car)))
      text +=
          "No pedal travel from before the run is on record: compare with the sheet. Longer: do "
          "not "
          "drive.\n";
    return text + results_.not_proved() + "Wheel nuts again after 50 to 100 km.\n";
  }

  [[nodiscard]] bool all_exercised() const { return results_.all_exercised(); }

 private:
  [[nodiscard]] std::string surface() const { return body_.at("lot").at("surface"); }

  Record entered(Record record) {
    record.car = kept_.car;
    record.day = kept_.day;
    record.who = who_;
    record.signed_by = options_.signed_by;
    return ledger_.add_record(record, stamp_);
  }

  void add_exercise(const Record& record) {
    results_.add(record);
    exercises_.push_back(record.id);
  }

  Ledger& ledger_;
  const KeptPlan& kept_;
  const CloseOptions& options_;
  nlohmann::json body_;
  EntryStamp stamp_;
  std::string who_;
  CarFacts car_;
  SessionResults results_;
  Record session_, after_run_;
  std::vector<std::int64_t> exercises_;
};

void close_plan(const CloseOptions& options, Context& context) {
  Ledger ledger = open_ledger(context, Ledger::Mode::write);
  ledger.begin();
  const KeptPlan kept = kept_plan(ledger, options.id);
  if (!kept.open)
    throw Error(ErrorKind::usage,
                fmt::format("plan {} is closed already: {}", kept.id, kept.end_reason));
  if (!options.not_driven.empty()) {
    ledger.end_plan(kept.id, "not driven: " + options.not_driven, stamp_of(context, options.who));
    ledger.commit();
    context.out << fmt::format("Plan {} closed: not driven, {}\n", kept.id, options.not_driven);
    return;
  }
  if (kept.day > context.today)
    throw Error(ErrorKind::usage,
                fmt::format("plan {} is for {}, which has not come yet; --not-driven REASON calls "
                            "it off",
                            kept.id, format_day(kept.day)));
  if (options.results.empty() && options.checks.empty())
    throw Error(
        ErrorKind::usage,
        "what came out? Give --results fl=exercised ... or --check NUMBER of a saved check; "
        "\"unseen\" is an answer too");
  Closing closing(ledger, kept, options, context);
  closing.session();
  for (const std::string& number : options.checks) closing.saved_check(number);
  if (!options.results.empty()) closing.hand_results();
  const std::string decision = closing.after_run();
  ledger.commit();
  context.out << closing.told(decision);
  context.exit = decision == "clean" && closing.all_exercised() ? ExitCode::yes : ExitCode::no;
}

}  // namespace

KeptPlan kept_plan(const Ledger& ledger, std::int64_t id) {
  for (const CarBrief& car : ledger.car_briefs())
    for (KeptPlan& kept : ledger.plans_of(car.name))
      if (kept.id == id) return std::move(kept);
  throw Error(ErrorKind::usage,
              fmt::format("there is no plan {}; stopledger plan show lists them", id));
}

CLI::Validator plan_number() {
  return {[](std::string& text) {
            const bool digits = !text.empty() && text.size() <= 15 && text.front() != '0' &&
                                text.find_first_not_of("0123456789") == std::string::npos;
            return digits ? std::string()
                          : fmt::format(
                                "\"{}\" is not the number of a plan; stopledger plan show "
                                "lists them",
                                text);
          },
          "NUMBER"};
}

void add_plan_close(CLI::App& plan, Context& context) {
  auto* close = plan.add_subcommand(
      "close", "Close a session: after-run check and results go into the ledger");
  const auto closing = std::make_shared<CloseOptions>();
  close->add_option("number", closing->id, "of the plan")->required()->check(plan_number());
  close->add_option("after-run", closing->after_run,
                    "result=clean|re-flush|repair pedal=... level=... (record after-run --kinds)");
  close->add_option("--results", closing->results, "fl=exercised fr=... rl=... rr=... pump=...");
  close->add_option("--check", closing->checks, "number of a saved check of that day");
  close->add_option("--not-driven", closing->not_driven, "REASON: the session did not take place");
  close->add_option("--who", closing->who, "who closes it (STOPLEDGER_WHO)");
  close->add_option("--signed", closing->signed_by, "who signed");
  close->add_option("--note", closing->note, "free text");
  close->callback([=, &context] { close_plan(*closing, context); });
}

}  // namespace stopledger
