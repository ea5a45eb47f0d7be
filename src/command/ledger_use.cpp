#include "command/ledger_use.h"

#include <fmt/format.h>

#include <filesystem>
#include <ostream>
#include <vector>

#include "base/error.h"
#include "record/measure.h"

namespace stopledger {

Ledger open_ledger(Context& context, Ledger::Mode mode) {
  const auto path = ledger_path(context);
  if (mode == Ledger::Mode::create && !ledger_was_named(context)) {
    const auto folder = std::filesystem::path(path).parent_path();
    std::error_code code;
    std::filesystem::create_directories(folder, code);
    if (code)
      throw Error(ErrorKind::file, {folder.string()},
                  fmt::format("the folder for the ledger cannot be made ({}); name the ledger with "
                              "--ledger FILE",
                              code.message()));
  }
  Ledger ledger(path, mode);
  for (const auto& notice : ledger.notices()) context.err << "stopledger: " << notice << "\n";
  return ledger;
}

std::string pick_car(const Ledger& ledger, const std::string& name) {
  if (!name.empty()) return ledger.car(name).facts.name;
  std::vector<std::string> active;
  for (const auto& car : ledger.car_briefs())
    if (car.state == CarState::active) active.push_back(car.name);
  if (active.size() == 1) return active.front();
  if (active.empty())
    throw Error(ErrorKind::usage, ledger.car_briefs().empty()
                                      ? "there is no car yet; stopledger car add NAME makes one"
                                      : "every car here is retired or sold; name one with --car "
                                        "(stopledger car list --all shows them)");
  if (active.size() > 8) active.resize(8);
  throw Error(ErrorKind::usage,
              fmt::format("which car? Give --car NAME; there are {}{}", fmt::join(active, ", "),
                          active.size() == 8 ? ", ..." : ""));
}

std::string who_of(const Context& context, const std::string& option) {
  return option.empty() ? context.env("STOPLEDGER_WHO").value_or("") : option;
}

EntryStamp stamp_of(const Context& context, const std::string& who) {
  return {context.now_utc, who_of(context, who)};
}

Day day_option(const Context& context, const std::string& option, const std::string& text) {
  if (text.empty()) return context.today;
  const auto day = parse_day(text);
  if (!day)
    throw Error(ErrorKind::usage,
                fmt::format("{}: \"{}\" is not a day; write YYYY-MM-DD", option, text));
  return *day;
}

Day past_day(const Context& context, const std::string& option, const std::string& text) {
  const Day day = day_option(context, option, text);
  if (day > context.today)
    throw Error(ErrorKind::usage, fmt::format("{}: {} has not happened yet (today is {})", option,
                                              text, format_day(context.today)));
  return day;
}

void set_odometer(Record& record, const CarSheet& car, const std::string& text) {
  const std::string unit = car.odometer_in_miles ? "mi" : "km";
  double km = 0.0;
  try {
    km = parse_measure(text, Dimension::distance, unit);
  } catch (const Error& error) {
    throw Error(ErrorKind::usage, fmt::format("--odometer: {}", error.what()));
  }
  if (km < 0.0 || km > 5e6)
    throw Error(ErrorKind::usage, fmt::format("--odometer: {} is no reading; check it", text));
  record.odometer_km = km;
  record.odometer_written =
      text.find_first_not_of("0123456789., ") == std::string::npos ? text + " " + unit : text;
}

}  // namespace stopledger
