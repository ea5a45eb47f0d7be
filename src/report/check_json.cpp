#include "report/check_json.h"

#include <cmath>
#include <nlohmann/json.hpp>

#include "base/version.h"
#include "report/check_words.h"
#include "report/or_null.h"
#include "report/past_answers.h"

namespace stopledger {

namespace {

using Json = nlohmann::ordered_json;

/// Rounded to what the log can carry, so that the document stays readable.
Json number(double value, double step) {
  if (!std::isfinite(value)) return nullptr;
  const double rounded = std::round(value / step) * step;
  // Through a decimal text of the step's places: 0.1 + 0.2 prints as 0.3.
  const double scale = std::round(1.0 / step);
  return std::round(rounded * scale) / scale;
}

Json number(const std::optional<double>& value, double step) {
  return value ? number(*value, step) : Json(nullptr);
}

Json corners_json(const std::vector<Corner>& corners) {
  Json list = Json::array();
  for (const Corner corner : corners) list.push_back(corner_name(corner));
  return list;
}

Json log_json(const Log& log) {
  Json channels = Json::array();
  for (const Channel& channel : log.channels)
    channels.push_back({{"role", role_name(channel.role)},
                        {"column", channel.column},
                        {"unit", channel.unit_known ? Json(channel.unit) : Json(nullptr)},
                        {"rate_hz", number(channel.rate_hz, 0.01)},
                        {"samples", channel.samples},
                        {"repeats_held", channel.repeats_held}});
  Json notes = log.notes;
  for (const LogDefect& defect : log.defects)
    notes.push_back(
        (defect.line > 0 ? "line " + std::to_string(defect.line) + ": " : std::string()) +
        defect.what);
  return {{"file", log.file},
          {"sha256", log.sha256},
          {"rows", log.rows},
          {"rows_skipped", log.rows_skipped},
          {"duration_s", number(log.duration_s, 0.001)},
          {"segments", log.segments.size()},
          {"channels", channels},
          {"unused_columns", log.unused_columns},
          {"notes", notes}};
}

Json corner_json(const CornerOutcome& corner) {
  return {{"result", result_name(corner.result)},
          {"enough", or_null(corner.enough)},
          {"asked", corner.asked},
          {"reason", corner.reason},
          {"evidence", evidence_name(corner.evidence)},
          {"release_events", or_null(corner.release_events)},
          {"release_events_low", or_null(corner.release_events_low)},
          {"release_events_high", or_null(corner.release_events_high)},
          {"hold_events", or_null(corner.hold_events)},
          {"cycle_rate_hz", number(corner.cycle_rate_hz, 0.01)},
          {"response", response_name(corner.response)},
          {"response_delay_s", number(corner.response_delay_s, 0.001)},
          {"answered_share", number(corner.answered_share, 0.001)},
          {"catch_probability", number(corner.catch_probability, 0.0001)},
          {"peak_slip", number(corner.peak_slip, 0.001)},
          {"locked_s", number(corner.locked_s, 0.001)},
          {"confidence", number(corner.confidence, 0.0001)},
          {"could_also_be", corner.could_also_be}};
}

/// 95 % bounds of a length or MFDD.
std::optional<double> lower_bound_of(std::optional<double> value, double share) {
  return value ? std::optional(*value / (1.0 + share)) : std::nullopt;
}
std::optional<double> upper_bound_of(std::optional<double> value, double share) {
  return value ? std::optional(*value * (1.0 + share)) : std::nullopt;
}

Json episode_json(const Episode& episode) {
  Json corners = Json::object();
  for (const Corner corner : all_corners) {
    const EpisodeCorner& one = episode.corners[corner];
    corners[std::string(corner_name(corner))] = {{"result", result_name(one.result)},
                                                 {"release_events", or_null(one.release_events)},
                                                 {"cycle_rate_hz", number(one.cycle_rate_hz, 0.01)},
                                                 {"peak_slip", number(one.peak_slip, 0.001)},
                                                 {"locked_s", number(one.locked_s, 0.001)}};
  }
  Json json = {
      {"log", episode.log},
      {"kind", episode_kind_name(episode.kind)},
      {"start_s", number(episode.start_s, 0.001)},
      {"end_s", number(episode.end_s, 0.001)},
      {"v_start_kmh", number(episode.v_start_kmh, 0.1)},
      {"v_end_kmh", number(episode.v_end_kmh, 0.1)},
      {"distance_m", number(episode.distance_m, 0.01)},
      {"distance_low_m", number(lower_bound_of(episode.distance_m, episode.distance_share), 0.01)},
      {"distance_high_m", number(upper_bound_of(episode.distance_m, episode.distance_share), 0.01)},
      {"mfdd_ms2", number(episode.mfdd_mps2, 0.001)},
      {"mfdd_low_ms2", number(lower_bound_of(episode.mfdd_mps2, episode.mfdd_share), 0.001)},
      {"mfdd_high_ms2", number(upper_bound_of(episode.mfdd_mps2, episode.mfdd_share), 0.001)},
      {"unmeasured", nullptr},
      {"estimated", episode.estimated},
      {"all_locked_s", number(episode.carried_s, 0.001)},
      {"two_locked_s", number(episode.two_locked_s, 0.001)},
      {"modulated", or_null(episode.modulated)},
      {"corners", corners},
      {"stability", nullptr},
      {"traction", nullptr}};
  if (episode.unmeasured != StopDoubt::none)
    json["unmeasured"] = unmeasured_name(episode.unmeasured);
  if (episode.stability)
    json["stability"] = {{"tendency", tendency_name(episode.stability->tendency)},
                         {"braked", corners_json(episode.stability->braked)},
                         {"expected", corners_json(episode.stability->expected)},
                         {"yaw_left_1s", number(episode.stability->yaw_left_1s, 0.001)},
                         {"yaw_left_1_75s", number(episode.stability->yaw_left_1_75s, 0.001)}};
  if (episode.traction)
    json["traction"] = {{"torque_cut", or_null(episode.traction->torque_cut)},
                        {"throttle_floor_pct", number(episode.traction->throttle_floor_pct, 0.1)},
                        {"pedal_pct", number(episode.traction->pedal_pct, 0.1)},
                        {"braked", corners_json(episode.traction->braked)},
                        {"spun", corners_json(episode.traction->spun)},
                        {"spin_s", number(episode.traction->spin_s, 0.01)},
                        {"spin_kmh", number(episode.traction->spin_kmh, 0.1)},
                        {"answered", or_null(episode.traction->answered)}};
  return json;
}

}  // namespace

std::string_view episode_kind_name(EpisodeKind kind) {
  switch (kind) {
    case EpisodeKind::stop:
      return "stop";
    case EpisodeKind::braking:
      return "braking";
    case EpisodeKind::stability:
      return "stability";
    case EpisodeKind::traction:
      return "traction";
    case EpisodeKind::self_test:
      return "self-test";
    case EpisodeKind::unexplained:
      break;
  }
  return "unexplained";
}

std::string_view evidence_name(EvidenceKind kind) {
  switch (kind) {
    case EvidenceKind::valves_and_wheel:
      return "valves+wheel";
    case EvidenceKind::valves:
      return "valves";
    case EvidenceKind::wheel:
      return "wheel";
    case EvidenceKind::none:
      break;
  }
  return "none";
}

std::string_view response_name(Response response) {
  switch (response) {
    case Response::normal:
      return "normal";
    case Response::weak:
      return "weak";
    case Response::none:
      return "none";
    case Response::undetermined:
      break;
  }
  return "undetermined";
}

std::string_view severity_name(Severity severity) {
  switch (severity) {
    case Severity::fault:
      return "fault";
    case Severity::caution:
      return "caution";
    case Severity::note:
      break;
  }
  return "note";
}

std::string_view tendency_name(Tendency tendency) {
  switch (tendency) {
    case Tendency::oversteer:
      return "oversteer";
    case Tendency::understeer:
      return "understeer";
    case Tendency::none:
      break;
  }
  return "none";
}

std::string check_json(const CheckOutcome& outcome, std::span<const Log> logs,
                       std::span<const PastAnswer> past) {
  Json json = {{"schema", "stopledger.check/1"},
               {"engine", version},
               {"result", result_name(outcome.result)}};
  json["logs"] = Json::array();
  for (const Log& log : logs) json["logs"].push_back(log_json(log));
  json["corners"] = Json::object();
  for (const Corner corner : all_corners)
    json["corners"][std::string(corner_name(corner))] = corner_json(outcome.corners[corner]);
  json["circuits"] = Json::object();
  for (std::size_t i = 0; i < outcome.circuits.size(); ++i)
    json["circuits"][std::to_string(i + 1)] = {
        {"isolation", result_name(outcome.circuits[i].isolation)},
        {"prime", result_name(outcome.circuits[i].prime)}};
  json["pump"] = {
      {"result", result_name(outcome.pump.result)},
      {"on_s", number(outcome.pump.on_s, 0.001)},
      {"first_on_after_release_s", number(outcome.pump.first_on_after_release_s, 0.001)},
      {"reason", outcome.pump.reason.empty() ? Json(nullptr) : Json(outcome.pump.reason)}};
  json["episodes"] = Json::array();
  for (const Episode& episode : outcome.episodes) json["episodes"].push_back(episode_json(episode));
  json["findings"] = Json::array();
  for (const Finding& finding : outcome.findings)
    json["findings"].push_back(
        {{"id", finding.id},
         {"severity", severity_name(finding.severity)},
         {"corner", finding.corner ? Json(corner_name(*finding.corner)) : Json(nullptr)},
         {"text", finding.text}});
  if (!past.empty()) json["last_answers"] = past_answers_json(past);
  json["record_next"] = outcome.record_next;
  json["limits"] = outcome.limits;
  // Column names may hold bytes that are not UTF-8: replace them rather than fail.
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::optional<bool> control_acted(std::string_view check_document) {
  const Json document = Json::parse(check_document, nullptr, false);
  if (!document.is_object() || !document.contains("episodes")) return std::nullopt;
  std::optional<bool> acted;
  for (const Json& episode : document["episodes"]) {
    const Json stability = episode.value("stability", Json()),
               traction = episode.value("traction", Json());
    const bool braked = stability.is_object() && !stability.value("braked", Json::array()).empty();
    Json answered;
    if (traction.is_object())
      answered = traction.value("answered", traction.value("torque_cut", Json()));
    if (braked || answered == true) return true;
    if (answered == false) acted = false;
  }
  return acted;
}

}  // namespace stopledger
