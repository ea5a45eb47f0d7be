#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <ctime>
#include <fstream>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "base/error.h"
#include "base/result.h"
#include "command/commands.h"
#include "command/ledger_use.h"
#include "command/output_file.h"
#include "log/reader.h"
#include "plan/session.h"
#include "procedure/library.h"
#include "record/kinds.h"
#include "record/ledger.h"
#include "record/measure.h"
#include "report/plan_html.h"
#include "report/plan_json.h"
#include "report/plan_text.h"

namespace stopledger {

namespace {

struct PlanOptions {
  std::string car, date, lot_length, lot_width, surface = "wet", recorder, start, place, utc_offset,
                                                permission, driver, helper, address, html,
                                                paper = "a4", who;
  std::vector<std::string> recorder_logs;
  std::vector<std::string> overrides;
  double slope_pct = 0.0, speed_kmh = 0.0, ambient_c = 20.0;
  int most_stops = 12;
  bool json = false, save = false;
};

[[noreturn]] void refuse(std::string_view option, std::string_view text, std::string_view why) {
  throw Error(ErrorKind::usage, fmt::format("{} \"{}\": {}", option, text, why));
}

double number(std::string_view option, std::string_view text, double low, double high,
              std::string_view what) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !(value >= low && value <= high))
    refuse(option, text, fmt::format("write {} from {} to {}", what, low, high));
  return value;
}

// "150", "150 m" or "500 ft".
Metres lot_measure(std::string_view option, const std::string& text) {
  double metres = 0.0;
  try {
    metres = parse_measure(text, Dimension::length, "m") / 1000.0;
  } catch (const Error& error) {
    refuse(option, text, error.what());
  }
  // Beyond 5 km it is no lot but a slip of the pen.
  if (!(metres > 0.0 && metres <= 5000.0)) refuse(option, text, "a lot has 1 to 5000 m");
  return Metres(metres);
}

int clock_minutes(std::string_view option, std::string_view text) {
  const auto colon = text.find(':');
  int hours = 0, minutes = 0;
  const auto whole = [](std::string_view part, int& value) {
    const auto [end, error] = std::from_chars(part.data(), part.data() + part.size(), value);
    return error == std::errc{} && end == part.data() + part.size() && !part.empty();
  };
  if (colon == std::string_view::npos || !whole(text.substr(0, colon), hours) ||
      !whole(text.substr(colon + 1), minutes) || hours < 0 || hours > 23 || minutes < 0 ||
      minutes > 59)
    refuse(option, text, "write the clock time as HH:MM, 00:00 to 23:59");
  return 60 * hours + minutes;
}

GeoPlace geo_place(std::string_view text) {
  const auto comma = text.find(',');
  if (comma == std::string_view::npos)
    refuse("--place", text, "write latitude,longitude in degrees, such as 52.1,10.4");
  return {number("--place", text.substr(0, comma), -90.0, 90.0, "a latitude"),
          number("--place", text.substr(comma + 1), -180.0, 180.0, "a longitude")};
}

// "+2", "-03:30"; else the offset that this computer's zone has on that day.
int utc_offset(std::string_view text, Day day) {
  if (text.empty()) {
    std::tm noon{};
    noon.tm_year = static_cast<int>(day.year()) - 1900;
    noon.tm_mon = static_cast<int>(static_cast<unsigned>(day.month())) - 1;
    noon.tm_mday = static_cast<int>(static_cast<unsigned>(day.day()));
    noon.tm_hour = 12;
    noon.tm_isdst = -1;
    std::mktime(&noon);
    return static_cast<int>(noon.tm_gmtoff / 60);
  }
  std::string_view rest = text;
  const int sign = rest.front() == '-' ? -1 : 1;
  if (rest.front() == '+' || rest.front() == '-') rest.remove_prefix(1);
  if (rest.find(':') != std::string_view::npos) return sign * clock_minutes("--utc-offset", rest);
  return sign * static_cast<int>(60.0 * number("--utc-offset", rest, 0.0, 14.0, "hours"));
}

SessionRequest request_of(const PlanOptions& options, const Context& context) {
  SessionRequest request;
  request.today = request.day = context.today;
  if (!options.date.empty()) {
    const auto day = parse_day(options.date);
    if (!day) refuse("--date", options.date, "this is not a day; write YYYY-MM-DD");
    request.day = *day;
  }
  if (request.day < context.today)
    refuse("--date", options.date,
           fmt::format("that day has passed (today is {})", format_day(context.today)));
  if (!options.lot_length.empty())
    request.lot_length = lot_measure("--lot-length", options.lot_length);
  if (!options.lot_width.empty()) request.lot_width = lot_measure("--lot-width", options.lot_width);
  const auto ground = find_ground(options.surface);
  if (!ground) {
    std::string names;
    for (const Ground& known : grounds())
      names += fmt::format("{}{}", names.empty() ? "" : ", ", known.name);
    refuse("--surface", options.surface, "choose one of " + names);
  }
  request.ground = *ground;
  if (!options.recorder.empty()) request.recorder = parse_recorder(options.recorder);
  request.lot.slope = options.slope_pct / 100.0;
  if (options.speed_kmh > 0.0) request.speed = from_kmh(options.speed_kmh);
  request.most_stops = options.most_stops;
  if (!options.start.empty()) request.start_min = clock_minutes("--start", options.start);
  if (!options.place.empty()) request.place = geo_place(options.place);
  request.utc_offset_min = utc_offset(options.utc_offset, request.day);
  request.heat.ambient_c = options.ambient_c;
  request.permission = options.permission;
  request.driver = options.driver;
  request.helper = options.helper;
  request.address = options.address;
  for (const std::string& text : options.overrides) {
    const auto equals = text.find('=');
    if (equals == std::string::npos || equals == 0 || equals + 1 == text.size())
      refuse("--override", text, "write NAME=REASON; the reason is kept with the plan");
    request.overrides[text.substr(0, equals)] = text.substr(equals + 1);
  }
  return request;
}

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
    saved = fmt::format("\nSaved as plan {}. After the runs: stopledger plan close {}\n", id, id);
  }
  context.out << (options.json ? plan_json(plan, texts) : plan_text(plan, texts) + saved);
  context.exit = plan.go() ? ExitCode::yes : ExitCode::no;
}

struct CloseOptions {
  std::int64_t id = 0;
  std::string not_driven, who, signed_by, note;
  std::vector<std::string> after_run, results, checks;
};

KeptPlan kept_plan(const Ledger& ledger, std::int64_t id) {
  for (const CarBrief& car : ledger.car_briefs())
    for (KeptPlan& kept : ledger.plans_of(car.name))
      if (kept.id == id) return std::move(kept);
  throw Error(ErrorKind::usage,
              fmt::format("there is no plan {}; stopledger plan show lists them", id));
}

// How much longer a pedal may read from one measuring to the next (chosen: what a rule held beside
// it shows).
constexpr double pedal_reading_mm = 3.0;

// "clean" is refused where what was written down says something else.
void refuse_false_clean(const Record& after_run, std::span<const Record> records) {
  const auto said = [&](const std::string& name) {
    const auto at = after_run.fields.find(name);
    return at == after_run.fields.end() ? FieldValue{} : at->second;
  };
  if (said("result").written != "clean") return;
  for (const char* flag : {"leaks", "lamp"})
    if (said(flag).normalised.value_or(0.0) > 0.0)
      throw Error(ErrorKind::refused, fmt::format("result=clean does not go with {}=yes: do not "
                                                  "drive the car; write result=repair",
                                                  flag));
  if (said("level").normalised.value_or(50.0) < 0.0)
    throw Error(ErrorKind::refused,
                "result=clean does not go with a level below MIN: write result=repair");
  const Record* before = nullptr;
  for (const Record& record : records)
    if (record.kind == "level-check" && record.day <= after_run.day &&
        record.fields.contains("pedal"))
      before = &record;
  if (before == nullptr || !said("pedal").normalised) return;
  const double longer =
      *said("pedal").normalised - before->fields.at("pedal").normalised.value_or(0.0);
  if (longer > pedal_reading_mm)
    throw Error(
        ErrorKind::refused,
        fmt::format("the pedal is {:.0f} mm longer than before (record {}): air came out of "
                    "the unit. Do not drive the car; write result=re-flush or "
                    "result=repair",
                    longer, before->id));
}

// The exercise record of results entered by hand: "fl=exercised rr=idle".
Record exercise_of(const CloseOptions& options, const std::string& surface, int stops) {
  std::vector<std::string> pairs = options.results;
  std::optional<Result> overall;
  for (const std::string& pair : pairs)
    if (const auto result = parse_result(pair.substr(pair.find('=') + 1));
        result && !pair.starts_with("pump="))
      overall = overall ? worse(*overall, *result) : *result;
  if (overall) pairs.push_back(fmt::format("result={}", result_name(*overall)));
  pairs.push_back("surface=" + surface);
  pairs.push_back(fmt::format("stops={}", stops));
  Record record;
  record.kind = "exercise";
  record.fields = check_fields("exercise", find_kind("exercise").fields, pairs, true);
  return record;
}

void close_plan(const CloseOptions& options, Context& context) {
  Ledger ledger = open_ledger(context, Ledger::Mode::write);
  ledger.begin();
  const KeptPlan kept = kept_plan(ledger, options.id);
  if (!kept.open)
    throw Error(ErrorKind::usage,
                fmt::format("plan {} is closed already: {}", kept.id, kept.end_reason));
  const EntryStamp stamp = stamp_of(context, options.who);
  if (!options.not_driven.empty()) {
    ledger.end_plan(kept.id, "not driven: " + options.not_driven, stamp);
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
  const auto body = nlohmann::json::parse(kept.body_json);
  const auto text = [&](const char* key) {
    return body.contains(key) && body[key].is_string() ? body[key].get<std::string>() : "";
  };
  const std::string surface = body.at("lot").at("surface");
  const auto entered = [&](Record record) {
    record.car = kept.car;
    record.day = kept.day;
    record.who = who_of(context, options.who);
    if (record.who.empty())
      throw Error(ErrorKind::usage, "who closes it? Give --who NAME or set STOPLEDGER_WHO");
    record.signed_by = options.signed_by;
    return ledger.add_record(record, stamp);
  };

  std::vector<std::string> session_pairs{fmt::format("plan={}", kept.id), "surface=" + surface};
  for (const auto& [field, key] :
       {std::pair{"place", "address"}, {"driver", "driver"}, {"helper", "helper"}})
    if (const std::string value = text(key); !value.empty())
      session_pairs.push_back(fmt::format("{}={}", field, value));
  Record session;
  session.kind = "session";
  session.note = options.note;
  session.fields = check_fields("session", find_kind("session").fields, session_pairs, true);
  session = entered(std::move(session));

  std::vector<std::int64_t> exercises;
  bool all_exercised = true;
  for (const std::string& number_text : options.checks) {
    const auto number_of =
        static_cast<std::int64_t>(number("--check", number_text, 1, 1e15, "a record number"));
    const Record check = ledger.record(number_of);
    if (check.car != kept.car || check.kind != "exercise" || check.day != kept.day)
      throw Error(
          ErrorKind::usage,
          fmt::format("--check {}: record {} is {} of {} on {}, not an exercise of {} on {}",
                      number_text, check.id, check.kind, check.car, format_day(check.day), kept.car,
                      format_day(kept.day)));
    all_exercised = all_exercised && check.fields.at("result").written == "exercised";
    exercises.push_back(check.id);
  }
  if (!options.results.empty()) {
    Record exercise =
        exercise_of(options, surface, body.at("recording").at("abs_stops").get<int>());
    exercise.fields["session"] = {session.uid, std::nullopt};
    all_exercised = all_exercised && exercise.fields.at("result").written == "exercised";
    exercises.push_back(entered(std::move(exercise)).id);
  }
  Record after_run;
  after_run.kind = "after-run";
  after_run.day = kept.day;
  after_run.fields =
      check_fields("after-run", find_kind("after-run").fields, options.after_run, true);
  refuse_false_clean(after_run, ledger.records_of(kept.car));
  after_run.fields["session"] = {session.uid, std::nullopt};
  const std::string decision = after_run.fields.at("result").written;
  after_run = entered(std::move(after_run));
  ledger.end_plan(kept.id, fmt::format("closed by record {}", after_run.id), stamp);
  ledger.commit();

  context.out << fmt::format(
      "Plan {} closed: after-run check {} (#{}), session #{}, exercise #{}.\n", kept.id, decision,
      after_run.id, session.id, fmt::join(exercises, ", #"));
  if (decision == "repair")
    context.out << "Do not drive the car before it is repaired. Record what was seen: stopledger "
                   "record fault what=...\n";
  else if (decision == "re-flush" || body.at("route").at("name") != "young fluid")
    context.out << "Next: a short re-flush of each corner within six weeks"
                << (decision == "re-flush" ? ", before the car is used on a road.\n" : ".\n");
  context.out << "Wheel nuts again after 50 to 100 km.\n";
  context.exit = decision == "clean" && all_exercised ? ExitCode::yes : ExitCode::no;
}

void show_plan(std::int64_t id, const std::string& html, Context& context) {
  const Ledger ledger = open_ledger(context, Ledger::Mode::read);
  if (id == 0) {
    for (const CarBrief& car : ledger.car_briefs())
      for (const KeptPlan& kept : ledger.plans_of(car.name))
        context.out << fmt::format("{:>4}  {}  {:<20} {}\n", kept.id, format_day(kept.day),
                                   kept.car, kept.open ? "open" : kept.end_reason);
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
  show->add_option("number", *shown, "of the plan")->check(CLI::PositiveNumber);
  show->add_option("--html", *shown_html, "write the sheet for printing")->type_name("FILE");
  show->callback([=, &context] { show_plan(*shown, *shown_html, context); });

  auto* close = plan->add_subcommand(
      "close", "Close a session: after-run check and results go into the ledger");
  const auto closing = std::make_shared<CloseOptions>();
  close->add_option("number", closing->id, "of the plan")->required()->check(CLI::PositiveNumber);
  close->add_option("after-run", closing->after_run,
                    "result=clean|re-flush|repair pedal=... level=... (record after-run --kinds)");
  close->add_option("--results", closing->results, "fl=exercised fr=... rl=... rr=... pump=...");
  close->add_option("--check", closing->checks, "number of a saved check of that day");
  close->add_option("--not-driven", closing->not_driven, "REASON: the session did not take place");
  close->add_option("--who", closing->who, "who closes it (STOPLEDGER_WHO)");
  close->add_option("--signed", closing->signed_by, "who signed");
  close->add_option("--note", closing->note, "free text");
  close->callback([=, &context] { close_plan(*closing, context); });
  plan->callback([=, &context] {
    if (plan->get_subcommands().empty()) make_plan(*options, context);
  });
}

}  // namespace stopledger
