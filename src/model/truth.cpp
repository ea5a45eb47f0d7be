#include "model/truth.h"

#include <algorithm>
#include <cmath>

namespace stopledger::model {
namespace {

constexpr double join_s = 0.030;
constexpr double low_speed_mps = 15.0 / 3.6;  // lock below is tolerated (UN R13-H, AB-21)
constexpr double answered_share = 0.6;  // what verification calls an answer: 40 % of the slip gone
constexpr double gave_up_share = 0.75;  // of slip that is left: beyond noise and the share above
constexpr double answer_window_s = 0.4;
constexpr double enough_slip = 0.05;
constexpr double same_event_s = 1.0;  // the function paused, the event went on

template <typename Test>
std::vector<Span> spans(const Run& run, Test test) {
  std::vector<Span> out;
  bool inside = false;
  for (const Frame& f : run.frames) {
    const bool on = test(f);
    if (on && !inside) out.push_back({f.t_s, f.t_s});
    if (on) out.back().end_s = f.t_s + run.step_s;
    inside = on;
  }
  return out;
}

/// Joins spans that follow each other within `gap_s`.
std::vector<Span> joined(std::vector<Span> all, double gap_s) {
  std::vector<Span> out;
  for (const Span& span : all)
    if (!out.empty() && span.start_s - out.back().end_s <= gap_s)
      out.back().end_s = span.end_s;
    else
      out.push_back(span);
  return out;
}

std::size_t at(const Run& run, double t_s) {
  const double index = std::max(std::round(t_s / run.step_s), 0.0);
  return std::min(static_cast<std::size_t>(index), run.frames.size() - 1);
}

std::vector<Release> find_releases(const Run& run, Corner corner) {
  const std::vector<Span> pulses =
      spans(run, [corner](const Frame& f) { return f.outlet[corner] > 0.5; });
  std::vector<Release> out;
  for (const Span& pulse : pulses) {
    const Frame& first = run.frames[at(run, pulse.start_s)];
    bool joined = false;
    if (!out.empty() && pulse.start_s - out.back().end_s <= join_s) {
      joined = true;
      for (std::size_t i = at(run, out.back().end_s); i < at(run, pulse.start_s); ++i)
        joined = joined && run.frames[i].inlet[corner] > 0.5;
    }
    if (joined) {
      out.back().end_s = pulse.end_s;
      out.back().on_s += pulse.end_s - pulse.start_s;
      ++out.back().pulses;
      continue;
    }
    Release release;
    release.start_s = pulse.start_s;
    release.end_s = pulse.end_s;
    release.on_s = pulse.end_s - pulse.start_s;
    release.cause = first.cause[corner];
    out.push_back(release);
  }
  return out;
}

void judge_release(const Run& run, Corner corner, Release& release, double next_s) {
  const auto from = at(run, release.start_s);
  release.before_kpa = run.frames[from].pressure_kpa[corner];
  release.lowest_kpa = release.before_kpa;
  std::size_t lowest_at = from;
  const auto fall_end = at(run, std::min(release.end_s + 0.05, next_s));
  for (std::size_t i = from; i <= fall_end; ++i)
    if (run.frames[i].pressure_kpa[corner] < release.lowest_kpa) {
      release.lowest_kpa = run.frames[i].pressure_kpa[corner];
      lowest_at = i;
    }
  const double drop = release.before_kpa - release.lowest_kpa;
  release.fell = drop >= 60.0 && drop >= 0.15 * release.before_kpa;
  release.regained_kpa = release.lowest_kpa;
  for (std::size_t i = lowest_at; i < at(run, next_s) && run.frames[i].pedal; ++i)
    release.regained_kpa = std::max(release.regained_kpa, run.frames[i].pressure_kpa[corner]);
  release.came_back = release.fell && release.regained_kpa - release.lowest_kpa >= 0.5 * drop;

  const auto early = at(run, release.start_s - 0.03);
  const auto late = at(run, release.end_s + 0.05);
  std::size_t deepest_at = early;
  for (std::size_t i = early; i <= late; ++i)
    if (run.frames[i].slip[corner] > run.frames[deepest_at].slip[corner]) deepest_at = i;
  release.slip_before = run.frames[deepest_at].slip[corner];
  release.slip_after = release.slip_before;
  double answer_s = -1.0;
  for (std::size_t i = deepest_at; i <= at(run, release.start_s + answer_window_s); ++i) {
    release.slip_after = std::min(release.slip_after, run.frames[i].slip[corner]);
    if (answer_s < 0.0 && run.frames[i].slip[corner] <= answered_share * release.slip_before)
      answer_s = run.frames[i].t_s;
  }
  if (release.slip_before < enough_slip) return;
  release.answered = answer_s >= 0.0;
  release.answer_s = answer_s >= 0.0 ? answer_s - release.start_s : 0.0;
  release.worked = *release.answered ||
                   (release.fell && release.slip_after <= gave_up_share * release.slip_before);
}

std::optional<double> mfdd(const Run& run, std::size_t from, std::size_t to) {
  // UN R13-H: from 0.8 v0 to 0.1 v0; dm = (vb^2 - ve^2) / (2 (se - sb)) in SI.
  const double v0 = run.frames[from].speed_mps;
  std::optional<double> sb, se;
  double vb = 0.0, ve = 0.0;
  for (std::size_t i = from; i <= to; ++i) {
    const Frame& f = run.frames[i];
    if (!sb && f.speed_mps <= 0.8 * v0) sb = f.way_m, vb = f.speed_mps;
    if (!se && f.speed_mps <= 0.1 * v0) se = f.way_m, ve = f.speed_mps;
  }
  if (!sb || !se || *se <= *sb) return std::nullopt;
  return (vb * vb - ve * ve) / (2.0 * (*se - *sb));
}

bool moving(const Frame& f) { return f.speed_mps != 0.0 || f.side_mps != 0.0; }

void add_events(const Run& run, EventKind kind, const std::vector<Span>& where,
                std::vector<Event>& out) {
  for (const Span& span : where) {
    Event event;
    event.kind = kind;
    const std::size_t from = at(run, span.start_s);
    std::size_t to = at(run, span.end_s - run.step_s);
    if (kind == EventKind::braking) {
      if (run.frames[from].speed_mps < 0.5) continue;  // pedal pressed at a standstill
      std::size_t stand = from;
      while (stand < to && moving(run.frames[stand])) ++stand;
      if (!moving(run.frames[stand])) {
        event.kind = EventKind::stop;
        to = stand;
      }
    }
    event.start_s = run.frames[from].t_s;
    event.end_s = run.frames[to].t_s;
    event.start_mps = run.frames[from].speed_mps;
    event.end_mps = run.frames[to].speed_mps;
    event.distance_m = run.frames[to].way_m - run.frames[from].way_m;
    if (event.kind == EventKind::stop) event.mfdd_mps2 = mfdd(run, from, to);
    for (std::size_t i = from; i <= to; ++i)
      for (Corner corner : all_corners) {
        const Frame& f = run.frames[i];
        event.modulated =
            event.modulated || (f.cause[corner] == Cause::antilock && f.outlet[corner] > 0.5);
        event.rear_balance = event.rear_balance || f.cause[corner] == Cause::rear_balance;
      }
    out.push_back(event);
  }
}

}  // namespace

std::string_view event_name(EventKind kind) {
  switch (kind) {
    case EventKind::stop:
      return "stop";
    case EventKind::braking:
      return "braking";
    case EventKind::stability:
      return "stability";
    case EventKind::traction:
      return "traction";
    case EventKind::self_test:
      break;
  }
  return "self-test";
}

Truth find_truth(const Run& run, const Case& c) {
  Truth truth;
  if (run.frames.empty()) return truth;
  const double end_s = run.duration_s();
  for (Corner corner : all_corners) {
    CornerTruth& t = truth.corners[corner];
    t.releases = find_releases(run, corner);
    for (std::size_t i = 0; i < t.releases.size(); ++i) {
      const double next = i + 1 < t.releases.size() ? t.releases[i + 1].start_s : end_s;
      judge_release(run, corner, t.releases[i], next);
    }
    t.holds = spans(
        run, [corner](const Frame& f) { return f.inlet[corner] > 0.5 && f.outlet[corner] <= 0.5; });
    for (const Frame& f : run.frames) {
      if (f.inlet[corner] > 0.5) t.inlet_on_s += run.step_s;
      t.built_kpa = std::max(t.built_kpa, f.pressure_kpa[corner] - f.master_kpa -
                                              (f.pedal || f.master_kpa > 0.0 ? 1e9 : 0.0));
      if (!f.pedal || f.speed_mps < low_speed_mps) continue;
      t.peak_slip = std::max(t.peak_slip, f.slip[corner]);
      if (f.wheel_mps[corner] < 0.1) t.locked_s += run.step_s;
    }
    t.built_kpa = std::max(t.built_kpa, 0.0);
  }
  add_events(run, EventKind::braking, spans(run, [](const Frame& f) { return f.pedal; }),
             truth.events);
  const auto add = [&run, &truth](EventKind kind, auto test) {
    add_events(run, kind, joined(spans(run, test), same_event_s), truth.events);
  };
  add(EventKind::stability, [](const Frame& f) { return f.stability; });
  add(EventKind::traction, [](const Frame& f) { return f.traction; });
  add(EventKind::self_test, [](const Frame& f) {
    return std::any_of(f.cause.values.begin(), f.cause.values.end(),
                       [](Cause cause) { return cause == Cause::self_test; });
  });
  std::sort(truth.events.begin(), truth.events.end(),
            [](const Event& a, const Event& b) { return a.start_s < b.start_s; });
  for (std::size_t i = 0; i < 2; ++i) {
    truth.isolation[i] = spans(run, [i](const Frame& f) { return f.isolation[i]; });
    truth.prime[i] = spans(run, [i](const Frame& f) { return f.prime[i]; });
  }
  truth.pump = spans(run, [](const Frame& f) { return f.pump; });
  const bool dead = std::any_of(c.faults.begin(), c.faults.end(), [](const Fault& f) {
    return f.kind == FaultKind::pump_dead && f.degree > 0.9;
  });
  if (!dead)
    for (const Frame& f : run.frames)
      if (f.pump_speed > 0.3) truth.pump_turned_s += run.step_s;
  return truth;
}

}  // namespace stopledger::model
