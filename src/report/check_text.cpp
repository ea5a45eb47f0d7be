#include "report/check_text.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "report/check_json.h"
#include "report/check_words.h"
#include "report/past_answers.h"
#include "report/wrap.h"

namespace stopledger {

namespace {

constexpr std::size_t check_width = 92;

std::string counted(std::size_t count, std::string_view what) {
  return fmt::format("{} {}{}", count, what, count == 1 ? "" : "s");
}

/// Columns that are not used and of which no note says why.
std::vector<std::string> unexplained_columns(const Log& log) {
  std::vector<std::string> columns;
  for (const std::string& column : log.unused_columns) {
    const std::string quoted = "\"" + column + "\" is not used";
    if (std::none_of(log.notes.begin(), log.notes.end(),
                     [&](const std::string& note) { return note.starts_with(quoted); }))
      columns.push_back(column);
  }
  return columns;
}

}  // namespace

std::string check_text(const CheckOutcome& outcome, std::span<const Log> logs,
                       std::span<const PastAnswer> past) {
  const CheckAnswer answer = check_answer(outcome);
  std::string text = answer.answer + "\n";
  if (!answer.warning.empty()) text += answer.warning + "\n";
  text += "\n";
  for (const Corner corner : all_corners) {
    const CornerOutcome& one = outcome.corners[corner];
    const std::string head =
        fmt::format("  {}  {:<10} ", corner_name(corner), result_name(one.result));
    text += wrap(head, one.reason, check_width);
    const std::string pad(head.size(), ' ');
    if (const std::string detail = corner_figures(one); !detail.empty())
      text += pad + detail + "\n";
    if (!one.asked) text += pad + "not asked for by this procedure\n";
    if (one.enough == false && one.asked) text += pad + "not enough for this procedure\n";
    for (const std::string& other : one.could_also_be)
      text += wrap(pad, "could also be: " + other, check_width);
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
      text += wrap(head, finding.text + " [" + finding.id + "]", check_width);
    }
  }
  if (!past.empty())
    text += "\nBefore this, in the ledger\n" + past_answers_text(past, check_width);
  if (!outcome.record_next.empty()) {
    text += "\nTo settle what is open, record next\n";
    for (const std::string& advice : outcome.record_next) text += wrap("  - ", advice, check_width);
  }
  if (!outcome.episodes.empty()) {
    text += "\nWhat happened\n";
    for (const Episode& episode : outcome.episodes) {
      const std::string when =
          fmt::format("  {:<11} {:8.2f} to {:8.2f} s", episode_kind_name(episode.kind),
                      episode.start_s, episode.end_s);
      std::string figures = episode_figures(episode);
      if (logs.size() > 1) figures += fmt::format(" ({})", logs[episode.log].file);
      // The figures begin with a comma.
      text += figures.starts_with(", ") ? wrap(when + ", ", figures.substr(2), check_width)
                                        : when + figures + "\n";
    }
  }
  text += "\nWhat the log consisted of\n";
  for (const Log& log : logs) {
    text += fmt::format("  {}: {}, {:.1f} s, {} used, {} not used\n", log.file,
                        counted(log.rows, "row"), log.duration_s,
                        counted(log.channels.size(), "channel"),
                        counted(log.unused_columns.size(), "column"));
    const auto silent = unexplained_columns(log);
    if (!silent.empty())
      text +=
          wrap("    ", fmt::format("not used: \"{}\"", fmt::join(silent, "\", \"")), check_width);
    if (log.rows_skipped > 0)
      text += fmt::format("    {} skipped\n", counted(log.rows_skipped, "row"));
    for (const std::string& note : log.notes) text += wrap("    ", note, check_width);
    for (const LogDefect& defect : log.defects)
      text += wrap(
          "    ",
          (defect.line > 0 ? fmt::format("line {}: ", defect.line) : std::string()) + defect.what,
          check_width);
  }
  text += "\nBear in mind\n";
  for (const std::string& limit : outcome.limits) text += wrap("  - ", limit, check_width);
  text += wrap("  - ", manual_decides, check_width);
  return text;
}

}  // namespace stopledger
