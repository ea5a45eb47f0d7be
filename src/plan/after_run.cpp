#include "plan/after_run.h"

#include <fmt/format.h>

namespace stopledger {
namespace {

// How much longer a pedal may read from one measuring to the next (chosen: what a rule held beside
// it shows).
constexpr double pedal_reading_mm = 3.0;

const Record* level_check_before(const Record& after_run, std::span<const Record> records) {
  const Record* before = nullptr;
  for (const Record& record : records)
    if (record.kind == "level-check" && record.day <= after_run.day &&
        record.fields.contains("pedal"))
      before = &record;
  return before;
}

}  // namespace

std::string against_clean(const Record& after_run, std::span<const Record> records) {
  const auto said = [&](const std::string& name) {
    const auto at = after_run.fields.find(name);
    return at == after_run.fields.end() ? FieldValue{} : at->second;
  };
  if (said("result").written != "clean") return {};
  for (const char* flag : {"leaks", "lamp"})
    if (said(flag).normalised.value_or(0.0) > 0.0)
      return fmt::format(
          "result=clean does not go with {}=yes: do not drive the car; write result=repair", flag);
  if (said("level").normalised.value_or(50.0) < 0.0)
    return "result=clean does not go with a level below MIN: write result=repair";
  const Record* before = level_check_before(after_run, records);
  if (before == nullptr || !said("pedal").normalised) return {};
  const double longer =
      *said("pedal").normalised - before->fields.at("pedal").normalised.value_or(0.0);
  if (longer <= pedal_reading_mm) return {};
  return fmt::format(
      "the pedal is {:.0f} mm longer than before (record {}): air came out of the unit. Do not "
      "drive the car; write result=re-flush or result=repair",
      longer, before->id);
}

std::optional<double> pedal_before(const Record& after_run, std::span<const Record> records) {
  const Record* before = level_check_before(after_run, records);
  return before == nullptr ? std::nullopt : before->fields.at("pedal").normalised;
}

}  // namespace stopledger
