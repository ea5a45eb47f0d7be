#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "base/error.h"
#include "command/commands.h"
#include "command/ledger_use.h"
#include "command/output_file.h"
#include "command/plan_close.h"
#include "command/plan_request.h"
#include "log/reader.h"
#include "procedure/library.h"
#include "record/car_sheet.h"
#include "record/ledger.h"
#include "report/plan_html.h"
#include "report/plan_json.h"
#include "report/plan_text.h"

namespace stopledger {

namespace {

PlanTexts texts_of(const SessionPlan& plan, std::span<const Procedure> procedures) {
  PlanTexts texts;
  for (const std::string& id : plan.cautions) texts.cautions.emplace_back(id, caution_text(id));
  auto& conditions = texts.stop_conditions;
  for (const RouteStep& step : plan.route.steps) {
    const Procedure* procedure = look_up(procedures, step.procedure);
    if (procedure == nullptr || !procedure->is_session || step.optional) continue;
    for (const std::string& condition : procedure->stop_conditions)
      if (std::find(conditions.begin(), conditions.end(), condition) == conditions.end())
        conditions.push_back(condition);
  }
  return texts;
}

// An earlier session that nobody closed: its after-run check may hold the reason not to drive.
void block_on_open_plans(SessionPlan& plan, const Ledger& ledger) {
  for (const KeptPlan& kept : ledger.plans_of(plan.car)) {
    if (!kept.open || kept.day >= plan.request.day) continue;
    // A refused plan was not driven.
    if (!nlohmann::json::parse(kept.body_json).value("go", true)) continue;
    Block open;
    open.id = "session-open";
    open.reason = fmt::format("plan {} for {} was never closed", kept.id, format_day(kept.day));
    open.clears = fmt::format("stopledger plan close {0} ... (or --not-driven REASON)", kept.id);
    plan.blockers.push_back(std::move(open));
  }
}

// Logs that tell what the recorder brings: those named, else those of this car's newest kept check.
struct Measured {
  Recorder recorder;
  std::string from;
};

Measured measure_recorder(const PlanOptions& options, const Ledger& ledger, const CarSheet& car,
                          std::span<const Record> records) {
  ReadOptions reading;
  reading.car = car.facts;
  std::vector<Log> logs;
  for (const std::string& path : options.recorder_logs) logs.push_back(read_log(path, reading));
  std::string from = fmt::format("{}", fmt::join(options.recorder_logs, ", "));
  for (auto record = records.rbegin(); logs.empty() && record != records.rend(); ++record) {
    if (record->kind != "exercise") continue;
    for (const KeptFile& kept : ledger.logs_of(record->id))
      logs.push_back(read_log_text(kept.bytes, kept.name, reading));
    from = fmt::format("the logs of record {}", record->id);
  }
  std::vector<SeenRate> rates;
  for (const Log& log : logs)
    if (const auto rate = seen_rate(log)) rates.push_back(*rate);
  if (rates.empty())
    throw Error(
        ErrorKind::usage,
        "--recorder is missing: how many values a second does it bring? Such as \"8/s\"; or "
        "--recorder-log FILE measures it from an earlier log");
  return {measured_recorder(rates), from};
}

void make_plan(const PlanOptions& options, Context& context) {
  SessionRequest request = request_of(options, context);
  const auto procedures = load_procedures(own_procedures(context));
  Ledger ledger = open_ledger(context, options.save ? Ledger::Mode::write : Ledger::Mode::read);
  const CarSheet car = ledger.car(pick_car(ledger, options.car));
  if (car.state != CarState::active)
    throw Error(ErrorKind::usage,
                fmt::format("{0} is {1} and no session is planned for it; take it back first: "
                            "stopledger car retire \"{0}\" --active",
                            car.facts.name, car_state_name(car.state)));
  const auto records = ledger.records_of(car.facts.name);
  std::string measured;
  if (options.recorder.empty()) {
    const Measured found = measure_recorder(options, ledger, car, records);
    request.recorder = found.recorder;
    measured = found.from;
  }
  SessionPlan plan = plan_session(car, records, procedures, request);
  block_on_open_plans(plan, ledger);
  if (!measured.empty())
    plan.notes.push_back(fmt::format("The recorder's budget is measured from {}.", measured));
  const PlanTexts texts = texts_of(plan, procedures);
  const std::string html =
      plan_html(plan, texts, options.paper == "a4" ? Paper::a4 : Paper::letter);
  if (!options.html.empty()) write_output(context, options.html, html);
  std::string saved;
  if (options.save) {
    auto body = nlohmann::ordered_json::parse(plan_json(plan, texts));
    body["sheet_html"] = html;
    const auto id =
        ledger.add_plan(plan.car, request.day, body.dump(), stamp_of(context, options.who));
    saved =
        plan.go()
            ? fmt::format("\nSaved as plan {0}. After the runs: stopledger plan close {0}\n", id)
            : fmt::format("\nSaved as plan {}, a no-go: plan again when it is cleared.\n", id);
  }
  context.out << (options.json ? plan_json(plan, texts) : plan_text(plan, texts) + saved);
  context.exit = plan.go() ? ExitCode::yes : ExitCode::no;
}

void show_plan(std::int64_t id, const std::string& html, Context& context) {
  const Ledger ledger = open_ledger(context, Ledger::Mode::read);
  if (id == 0) {
    std::size_t width = 0;
    for (const CarBrief& car : ledger.car_briefs()) width = std::max(width, car.name.size());
    for (const CarBrief& car : ledger.car_briefs())
      for (const KeptPlan& kept : ledger.plans_of(car.name))
        context.out << fmt::format("{:>4}  {}  {:<{}}  {}\n", kept.id, format_day(kept.day),
                                   kept.car, width, kept.open ? "open" : kept.end_reason);
    return;
  }
  const KeptPlan kept = kept_plan(ledger, id);
  const auto body = nlohmann::json::parse(kept.body_json);
  if (!html.empty()) write_output(context, html, body.at("sheet_html").get<std::string>());
  context.out << fmt::format("Plan {}, {}\n\n", kept.id, kept.open ? "open" : kept.end_reason)
              << body.at("sheet_text").get<std::string>();
}

// As CLI::Range, with a message for people.
CLI::Validator within(double low, double high) {
  return CLI::Validator(
      [low, high](std::string& text) {
        double value = 0.0;
        const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
        const bool good = error == std::errc{} && end == text.data() + text.size() &&
                          value >= low && value <= high;
        return good ? std::string()
                    : fmt::format("\"{}\" is not a number from {} to {}", text, low, high);
      },
      fmt::format("{} to {}", low, high));
}

}  // namespace

void add_plan(CLI::App& app, Context& context) {
  auto* plan =
      app.add_subcommand("plan", "Plan a session: lot, speed, runs, what to record; go or no-go");
  const auto options = std::make_shared<PlanOptions>();
  plan->add_option("--car", options->car, "the car; not needed when there is only one");
  plan->add_option("--date", options->date, "day of the session, YYYY-MM-DD (today)");
  plan->add_option("--lot-length", options->lot_length,
                   "free length, such as \"150 m\" or \"500 ft\"");
  plan->add_option("--lot-width", options->lot_width, "free width");
  plan->add_option("--slope", options->slope_pct,
                   "in driving direction, percent; downhill negative")
      ->check(within(-10.0, 10.0));
  plan->add_option("--surface", options->surface, "wet, dry, gravel, snow, ... (wet)");
  plan->add_option("--recorder", options->recorder,
                   "its budget: \"8/s\", \"5/s each\", \"10/s block\"");
  plan->add_option("--recorder-log", options->recorder_logs,
                   "measure the budget from earlier logs (else from this car's newest kept check)")
      ->type_name("FILE");
  plan->add_option("--speed", options->speed_kmh, "entry speed wanted, km/h")
      ->check(within(20.0, 60.0));
  plan->add_option("--max-stops", options->most_stops, "most ABS stops in the session (12)")
      ->check(within(2, 12));
  plan->add_option("--start", options->start, "arrival at the lot, HH:MM");
  plan->add_option("--place", options->place, "LATITUDE,LONGITUDE in degrees, for daylight");
  plan->add_option("--utc-offset", options->utc_offset,
                   "of the lot's clock, such as +2 (this computer's)");
  plan->add_option("--ambient", options->ambient_c, "air, degC (20)")->check(within(-30.0, 50.0));
  plan->add_option("--permission", options->permission, "who allows it in writing, and its date");
  plan->add_option("--driver", options->driver);
  plan->add_option("--helper", options->helper);
  plan->add_option("--address", options->address, "of the lot, for an emergency call");
  plan->add_option("--override", options->overrides,
                   "NAME=REASON: go on in spite of a block; kept");
  plan->add_flag("--json", options->json, "one JSON document instead of text");
  plan->add_option("--html", options->html, "write the sheet for printing")->type_name("FILE");
  plan->add_option("--paper", options->paper, "a4 or letter")
      ->check(CLI::IsMember({"a4", "letter"}));
  plan->add_flag("--save", options->save, "keep the plan in the ledger");
  plan->add_option("--who", options->who, "who plans (STOPLEDGER_WHO)");
  auto* show = plan->add_subcommand("show", "A kept plan as it was printed; without a number, all");
  const auto shown = std::make_shared<std::int64_t>(0);
  const auto shown_html = std::make_shared<std::string>();
  show->add_option("number", *shown, "of the plan")->check(plan_number());
  show->add_option("--html", *shown_html, "write the sheet for printing")->type_name("FILE");
  show->callback([=, &context] { show_plan(*shown, *shown_html, context); });

  add_plan_close(*plan, context);
  plan->callback([=, &context] {
    if (plan->get_subcommands().empty()) make_plan(*options, context);
  });
}

}  // namespace stopledger
