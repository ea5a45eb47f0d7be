#include "report/check_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "report/check_json.h"
#include "report/wrap.h"

namespace stopledger {

namespace {

constexpr std::size_t width = 92;

std::string headline(const CheckOutcome& outcome) {
  std::string names, faulty;
  int asked = 0, good = 0;
  for (const Corner corner : all_corners) {
    const CornerOutcome& one = outcome.corners[corner];
    if (!one.asked) continue;
    ++asked;
    if (one.enough.value_or(one.result == Result::exercised))
      ++good;
    else
      names += (names.empty() ? "" : ", ") + std::string(corner_name(corner));
    if (one.result == Result::suspect)
      faulty += (faulty.empty() ? "" : ", ") + std::string(corner_name(corner));
  }
  if (good == asked)
    return fmt::format(
        "YES: all {} corners asked for {}.", asked,
        outcome.result == Result::exercised ? "are exercised" : "did what the procedure asks for");
  std::string text = fmt::format("NO: {} of {} corners exercised; not {}.", good, asked, names);
  if (!faulty.empty())
    text += fmt::format(
        "\nDO NOT DRIVE: {} did not answer as it should. Have it looked at by a licensed "
        "technician.",
        faulty);
  return text;
}

std::string figures(const CornerOutcome& corner) {
  std::string text;
  const auto add = [&](const std::string& part) { text += (text.empty() ? "" : ", ") + part; };
  if (corner.cycle_rate_hz) add(fmt::format("{:.1f} cycles/s", *corner.cycle_rate_hz));
  if (corner.response_delay_s) add(fmt::format("answer after {:.2f} s", *corner.response_delay_s));
  if (corner.peak_slip) add(fmt::format("deepest slip {:.0f} %", 100.0 * *corner.peak_slip));
  if (corner.locked_s && *corner.locked_s > 0.0)
    add(fmt::format("locked {:.2f} s", *corner.locked_s));
  if (corner.confidence)
    add(fmt::format("sure to {:.1f} %", std::min(99.9, 100.0 * *corner.confidence)));
  return text;
}

}  // namespace

std::string check_text(const CheckOutcome& outcome, std::span<const Log> logs) {
  std::string text = headline(outcome) + "\n\n";
  for (const Corner corner : all_corners) {
    const CornerOutcome& one = outcome.corners[corner];
    const std::string head =
        fmt::format("  {}  {:<10} ", corner_name(corner), result_name(one.result));
    text += wrap(head, one.reason, width);
    const std::string pad(head.size(), ' ');
    if (const std::string detail = figures(one); !detail.empty()) text += pad + detail + "\n";
    if (!one.asked) text += pad + "not asked for by this procedure\n";
    if (one.enough == false && one.asked) text += pad + "not enough for this procedure\n";
    for (const std::string& other : one.could_also_be)
      text += wrap(pad, "could also be: " + other, width);
  }
  text += fmt::format("\n  Pump       {}", result_name(outcome.pump.result));
  if (outcome.pump.on_s && *outcome.pump.on_s > 0.0)
    text += fmt::format(", on for {:.1f} s", *outcome.pump.on_s);
  text += "\n";
  for (std::size_t i = 0; i < outcome.circuits.size(); ++i)
    text += fmt::format("  Circuit {}  isolation {}, prime {}\n", i + 1,
                        result_name(outcome.circuits[i].isolation),
                        result_name(outcome.circuits[i].prime));

  if (!outcome.findings.empty()) {
    text += "\nFindings\n";
    for (const Finding& finding : outcome.findings) {
      const std::string head = fmt::format("  {:<8} ", severity_name(finding.severity));
      text += wrap(head, finding.text + " [" + finding.id + "]", width);
    }
  }
  if (!outcome.record_next.empty()) {
    text += "\nTo settle what is open, record next\n";
    for (const std::string& advice : outcome.record_next) text += wrap("  - ", advice, width);
  }
  if (!outcome.episodes.empty()) {
    text += "\nWhat happened\n";
    for (const Episode& episode : outcome.episodes) {
      text += fmt::format("  {:<11} {:8.2f} to {:8.2f} s", episode_kind_name(episode.kind),
                          episode.start_s, episode.end_s);
      if (episode.v_start_kmh && episode.v_end_kmh)
        text += fmt::format("  {:.0f} to {:.0f} km/h", *episode.v_start_kmh, *episode.v_end_kmh);
      if (episode.distance_m) text += fmt::format(", {:.1f} m", *episode.distance_m);
      if (episode.mfdd_mps2) text += fmt::format(", MFDD {:.1f} m/s2", *episode.mfdd_mps2);
      if (episode.modulated)
        text += *episode.modulated ? ", control at work" : ", control not at work";
      if (logs.size() > 1) text += fmt::format("  ({})", logs[episode.log].file);
      text += "\n";
    }
  }
  text += "\nWhat the log consisted of\n";
  for (const Log& log : logs) {
    text +=
        fmt::format("  {}: {} rows, {:.1f} s, {} channels used, {} columns not used\n", log.file,
                    log.rows, log.duration_s, log.channels.size(), log.unused_columns.size());
    if (log.rows_skipped > 0) text += fmt::format("    {} rows skipped\n", log.rows_skipped);
    for (const std::string& note : log.notes) text += wrap("    ", note, width);
    for (const LogDefect& defect : log.defects)
      text += wrap(
          "    ",
          (defect.line > 0 ? fmt::format("line {}: ", defect.line) : std::string()) + defect.what,
          width);
  }
  text += "\nBear in mind\n";
  for (const std::string& limit : outcome.limits) text += wrap("  - ", limit, width);
  text += wrap("  - ",
               "The car's own service manual decides; where it differs from this program, it wins. "
               "Exercise on a closed lot with permission, never on a public road.",
               width);
  return text;
}

}  // namespace stopledger
