#include "verify/prepared_log.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "signal/sampling_pieces.h"
#include "signal/series.h"
#include "signal/wheel_scales.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

bool is_driven(Drive drive, Corner corner) {
  return drive == Drive::all || (drive == Drive::front) == is_front(corner);
}

WheelTrace trace_of(const Channel& channel) {
  WheelTrace trace;
  trace.t_s = channel.series.t_s;
  trace.v_mps = channel.series.value;
  trace.quantum_mps = channel.quantum.value_or(0.0);
  return trace;
}

/// When a valve was energised anew in anti-lock control: outlets where they are logged, else
/// inlets. While a circuit valve is on the unit brakes by itself, against spin or slide.
std::vector<double> control_times(const Log& log) {
  std::vector<double> outlets, inlets;
  std::vector<OnRun> by_itself;
  for (const Channel& channel : log.channels)
    if (channel.role.quantity == QuantityKind::isolation ||
        channel.role.quantity == QuantityKind::prime)
      for (const OnRun& on : on_runs(channel.series, criteria.on_duty))
        if (on.samples < static_cast<int>(channel.series.size())) by_itself.push_back(on);
  const auto anti_lock = [&](double t) {
    return std::none_of(by_itself.begin(), by_itself.end(), [t](const OnRun& on) {
      return t >= on.off_before_s && t <= on.off_after_s;
    });
  };
  for (const Channel& channel : log.channels) {
    const QuantityKind quantity = channel.role.quantity;
    const bool three_level = quantity == QuantityKind::valve;
    if (quantity != QuantityKind::outlet && quantity != QuantityKind::inlet && !three_level)
      continue;
    for (const OnRun& on : on_runs(channel.series, three_level ? 1.5 : criteria.on_duty))
      if (on.off_before_s < on.first_on_s && anti_lock(on.first_on_s))
        (quantity == QuantityKind::inlet ? inlets : outlets).push_back(on.first_on_s);
  }
  std::vector<double>& best = outlets.empty() ? inlets : outlets;
  std::sort(best.begin(), best.end());
  return best;
}

/// Noise of one sample from second differences, robust against what the wheel really does.
double sample_noise(const Series& series, double quantum) {
  std::vector<double> bends;
  for (std::size_t i = 2; i < series.size(); ++i)
    if (series.value[i] > 2.0)
      bends.push_back(std::abs(series.value[i] - 2.0 * series.value[i - 1] + series.value[i - 2]) /
                      2.449);
  // The mean of the smaller three fifths: of a normal distribution it is 2 (phi(0) - phi(0.842)) /
  // 0.6 = 0.397 standard deviations. (A single quantile would jump by whole steps where the values
  // do.)
  double measured = 0.03;
  if (bends.size() > 10) {
    const auto most = static_cast<std::ptrdiff_t>(bends.size() * 3 / 5);
    std::nth_element(bends.begin(), bends.begin() + most, bends.end());
    measured = std::accumulate(bends.begin(), bends.begin() + most, 0.0) /
               static_cast<double>(most) / 0.397;
  }
  // Rounding errs by half a step at most: a quarter step as a standard deviation makes the factor
  // of four (criteria.noise_factor) the whole step between two samples. What was measured holds
  // the rounding too, as step^2 / 12.
  const double rest =
      std::max(0.0, std::min(measured, 0.3) * std::min(measured, 0.3) - quantum * quantum / 12.0);
  return std::max(std::sqrt(rest + quantum * quantum / 16.0), 0.01);
}

/// Takes signal losses out: a wheel that reads zero for a moment while both edges are one sample
/// wide cannot have stopped and spun up again in that time.
int drop_losses(WheelView& wheel, const PreparedLog& run) {
  int losses = 0;
  std::vector<char> drop(wheel.t_s.size(), 0);
  for (std::size_t i = 1; i + 1 < wheel.t_s.size(); ++i) {
    const double ref = run.v_at(wheel.t_s[i]);
    if (std::isnan(ref) || ref < criteria.judge_floor_mps || wheel.v_mps[i] > 0.05 * ref) continue;
    std::size_t j = i;
    while (j + 1 < wheel.t_s.size() && wheel.v_mps[j + 1] <= 0.05 * ref) ++j;
    if (j + 1 >= wheel.t_s.size()) break;
    // A wheel that stands until the car does was locked, or the car stopped.
    bool stood = false;
    for (std::size_t k = i; k <= j + 1 && !stood; ++k)
      stood = !(run.v_at(wheel.t_s[k]) >= criteria.standstill_mps);
    if (stood) {
      i = j;
      continue;
    }
    const bool edge_in = wheel.v_mps[i - 1] > 0.85 * ref;
    const bool edge_out = wheel.v_mps[j + 1] > 0.8 * run.v_at(wheel.t_s[j + 1]);
    const double in_s = wheel.t_s[i] - wheel.t_s[i - 1], out_s = wheel.t_s[j + 1] - wheel.t_s[j];
    // 350 m/s2 is what full grip could give a bare wheel; a sharper return is electrical. A single
    // zero sample is electrical at any rate.
    const bool sharp = out_s < ref / 350.0 + 0.012 && in_s < ref / 350.0 + 0.012;
    if (edge_in && edge_out && (sharp || j == i)) {
      for (std::size_t k = i; k <= j; ++k) drop[k] = 1;
      ++losses;
    }
    i = j;
  }
  if (losses == 0) return 0;
  std::size_t kept = 0;
  for (std::size_t i = 0; i < wheel.t_s.size(); ++i) {
    if (drop[i]) continue;
    wheel.t_s[kept] = wheel.t_s[i];
    wheel.v_mps[kept] = wheel.v_mps[i];
    ++kept;
  }
  wheel.t_s.resize(kept);
  wheel.v_mps.resize(kept);
  return losses;
}

/// "12 cells of "LF" hold no speed (...)" of those met while the car moved; "" when there are none.
std::string invalid_while_moving(const Channel& channel) {
  if (channel.invalid_moving == 0) return "";
  return fmt::format("{} of \"{}\" {} no speed while the car moved ({})",
                     channel.invalid_moving == 1 ? std::string("1 cell")
                                                 : fmt::format("{} cells", channel.invalid_moving),
                     channel.column, channel.invalid_moving == 1 ? "holds" : "hold",
                     channel.invalid_what);
}

/// Where looks are many and noisy, each slip is the mean of those around it: noise falls with their
/// number, and a cycle is longer by far. (Steps without noise upon them fall by nothing.)
void calm_slip(WheelView& wheel) {
  const auto half = static_cast<std::size_t>(std::floor(0.5 * criteria.calm_s * wheel.rate_hz));
  if (half == 0 || wheel.noise_mps < 0.5 * wheel.quantum_mps) return;
  const std::vector<double> raw = wheel.slip;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    if (std::isnan(raw[i])) continue;
    double sum = 0.0, n = 0.0;
    const std::size_t from = i > half ? i - half : 0, to = std::min(raw.size() - 1, i + half);
    for (std::size_t k = from; k <= to; ++k)
      if (!std::isnan(raw[k]) && std::abs(wheel.t_s[k] - wheel.t_s[i]) <= criteria.calm_s)
        sum += raw[k], n += 1.0;
    wheel.slip[i] = sum / n;
  }
  wheel.noise_mps = std::max(wheel.noise_mps / std::sqrt(2.0 * static_cast<double>(half) + 1.0),
                             0.25 * wheel.quantum_mps);
}

/// Whether the wheel would have had to run up within one look faster than the road can spin it, to
/// be back where it was.
bool too_sharp(const WheelView& wheel, std::size_t i, double v, double a) {
  if (i == 0 || i + 1 >= wheel.slip.size() || !(wheel.slip[i - 1] < criteria.slip_seen) ||
      !(wheel.slip[i + 1] < criteria.slip_seen))
    return false;
  const double back_s = wheel.t_s[i + 1] - wheel.t_s[i] + wheel.time_error_s;
  return wheel.slip[i] * v > criteria.spin_up_most * std::abs(a) * back_s;
}

/// How often the wheel seems to dip while the others roll on: while nobody brakes and nothing
/// spins, or in braking more sharply than a wheel can.
int false_dips(const PreparedLog& run, const WheelView& wheel, const std::vector<WheelView>& all) {
  std::vector<std::size_t> at(all.size(), 0);  // of each wheel: its first look from `t` on
  const auto rolls = [&](std::size_t k, double t) {
    const WheelView& other = all[k];
    while (at[k] < other.t_s.size() && other.t_s[at[k]] < t) ++at[k];
    return &other != &wheel && at[k] < other.t_s.size() && other.slip[at[k]] < criteria.slip_seen;
  };
  int dips = 0;
  bool down = false;
  for (std::size_t i = 0; i < wheel.t_s.size(); ++i) {
    if (std::isnan(wheel.slip[i])) continue;
    const double t = wheel.t_s[i], v = run.v_at(t);
    const double a = run.a_at(t);
    if (!(v > criteria.judge_floor_mps) || run.spin_at(t) ||
        (std::abs(a) > criteria.brake_end_mps2 && !too_sharp(wheel, i, v, a))) {
      down = false;
      continue;
    }
    const double least =
        std::max(criteria.slip_seen * 2.0,
                 criteria.noise_factor * wheel.slip_sigma(v, 0.0, run.ref_sigma_mps));
    const bool now = wheel.slip[i] > least;
    if (now && !down) {
      std::size_t rolling = 0;
      for (std::size_t k = 0; k < all.size(); ++k) rolling += rolls(k, t) ? 1 : 0;
      dips += 2 * rolling >= all.size() ? 1 : 0;
    }
    down = now;
  }
  return dips;
}

}  // namespace

double WheelView::slip_sigma(double v_ref_mps, double decel_mps2, double ref_sigma) const {
  const double read = 0.5 * time_error_s * std::abs(decel_mps2);
  return std::sqrt(noise_mps * noise_mps + ref_sigma * ref_sigma + read * read) /
         std::max(v_ref_mps, 0.5);
}

double WheelView::change_sigma(double v_ref_mps) const {
  return std::sqrt(2.0) * noise_mps / std::max(v_ref_mps, 0.5);
}

std::vector<OnRun> on_runs(const Series& series, double threshold) {
  std::vector<OnRun> runs;
  for (std::size_t i = 0; i < series.size(); ++i) {
    if (series.value[i] <= threshold) continue;
    OnRun run;
    run.first_on_s = series.t_s[i];
    run.off_before_s = i > 0 ? series.t_s[i - 1] : series.t_s[i];
    while (i < series.size() && series.value[i] > threshold) {
      run.last_on_s = series.t_s[i];
      ++run.samples;
      ++i;
    }
    run.off_after_s = i < series.size() ? series.t_s[i] : run.last_on_s;
    runs.push_back(run);
  }
  return runs;
}

double PreparedLog::v_at(double t) const {
  for (const ReferenceSpeed& part : reference)
    if (part.reaches(t))
      if (const double v = part.at(t); !std::isnan(v)) return v;
  return nan;
}

double PreparedLog::a_at(double t) const {
  for (const ReferenceSpeed& part : reference)
    if (part.reaches(t))
      if (const double a = part.slope_at(t); !std::isnan(a)) return a;
  return nan;
}

bool PreparedLog::spin_at(double t) const {
  for (const ReferenceSpeed& part : reference)
    if (part.reaches(t) && !std::isnan(part.at(t))) return part.spin[part.index(t)] != 0;
  return false;
}

bool PreparedLog::has_speed() const {
  return std::any_of(reference.begin(), reference.end(),
                     [](const ReferenceSpeed& part) { return !part.empty(); });
}

PreparedLog prepare_log(const Log& log, std::size_t index, const CarFacts& car) {
  PreparedLog run;
  run.log = &log;
  run.index = index;

  struct Source {
    WheelTrace trace;
    std::optional<Corner> corner;  // nothing: rear axle or the car's own speed
    const Channel* channel;
  };
  std::vector<Source> sources;
  for (const Corner corner : all_corners)
    if (const Channel* channel = log.find(Role::at(QuantityKind::wheel_speed, corner));
        channel && channel->series.size() >= 3) {
      Source source{trace_of(*channel), corner, channel};
      source.trace.driven_known = car.drive != Drive::unknown;
      source.trace.driven = is_driven(car.drive, corner);
      sources.push_back(std::move(source));
    }
  const Channel* rear = log.find(Role::rear(QuantityKind::wheel_speed));
  if (rear && rear->series.size() >= 3) sources.push_back({trace_of(*rear), std::nullopt, rear});
  // A sensor that reads nothing while the others roll is dead: no witness, and no locked wheel.
  double fastest = 0.0;
  for (const Source& source : sources)
    for (const double v : source.trace.v_mps) fastest = std::max(fastest, v);
  std::erase_if(sources, [&](const Source& source) {
    const double own = *std::max_element(source.trace.v_mps.begin(), source.trace.v_mps.end());
    const bool dead = fastest > criteria.lock_floor_mps && own < criteria.standstill_mps;
    if (dead && source.corner) {
      run.wheels[*source.corner].dropouts = 1;
      run.wheels[*source.corner].invalid = invalid_while_moving(*source.channel);
    }
    return dead;
  });
  const std::size_t wheel_count = sources.size();
  // The car's own speed helps only where wheels are few: it is often one of them, late and rounded.
  const Channel* own = log.find(Role::of_car(QuantityKind::vehicle_speed));
  if (wheel_count < 2 && own && own->series.size() >= 3)
    sources.push_back({trace_of(*own), std::nullopt, own});
  // Where a satellite receiver's speed is the only one it is late by an unknown time: no reference.
  if (sources.empty()) return run;

  std::vector<Segment> segments = log.segments;
  if (segments.empty()) segments.push_back({0.0, log.duration_s});
  std::vector<WheelTrace> traces;
  for (Source& source : sources) traces.push_back(std::move(source.trace));
  WheelScales best;
  best.scale.assign(traces.size(), 1.0);
  for (const Segment& segment : segments) {
    WheelScales scales = estimate_wheel_scales(traces, segment.start_s, segment.end_s);
    if (scales.calm_s > best.calm_s) best = std::move(scales);
  }
  run.scales_learned = best.calm_s >= 1.0;
  for (std::size_t k = 0; k < traces.size(); ++k)
    for (double& v : traces[k].v_mps) v *= best.scale[k];

  CarWitness witness;
  witness.control_s = control_times(log);
  if (const Channel* channel = run.channel(QuantityKind::accel_long)) {
    witness.accel_t_s = channel->series.t_s;
    witness.accel_mps2 = channel->series.value;
  }
  const Channel* pedal = run.channel(QuantityKind::brake_switch);
  witness.pedal_known = pedal && pedal->series.size() >= 3;
  if (pedal)
    for (const OnRun& on : on_runs(pedal->series, criteria.on_duty))
      witness.pedal.push_back({on.first_on_s, on.last_on_s});
  double sigma = 0.0;
  std::vector<CarWitness::Span> pieces;
  for (const Segment& segment : segments)
    for (const auto& piece : sampling_pieces(traces, segment.start_s, segment.end_s))
      pieces.push_back(piece);
  for (const auto& piece : pieces) {
    run.reference.push_back(estimate_reference_speed(traces, piece.start_s, piece.end_s, witness));
    if (!run.reference.back().empty()) sigma = std::max(sigma, run.reference.back().sigma_mps);
  }
  if (sigma > 0.0) run.ref_sigma_mps = std::min(sigma, 0.3);
  run.has_slip = sources.size() >= 2;

  std::vector<WheelView> views;
  for (std::size_t k = 0; k < wheel_count; ++k) {
    WheelView view;
    view.known = true;
    view.axle_mean = !sources[k].corner;
    view.scale = best.scale[k];
    view.rate_hz = sources[k].channel->rate_hz.value_or(0.0);
    view.time_error_s = sources[k].channel->time_uncertainty_s;
    view.quantum_mps = traces[k].quantum_mps;
    view.noise_mps = sample_noise(sources[k].channel->series, traces[k].quantum_mps);
    view.t_s = std::move(traces[k].t_s);
    view.v_mps = std::move(traces[k].v_mps);
    view.dropouts = drop_losses(view, run);
    view.invalid = invalid_while_moving(*sources[k].channel);
    view.slip.assign(view.t_s.size(), nan);
    if (run.has_slip)
      for (std::size_t i = 0; i < view.t_s.size(); ++i) {
        const double ref = run.v_at(view.t_s[i]);
        if (ref >= criteria.control_floor_mps) view.slip[i] = (ref - view.v_mps[i]) / ref;
      }
    calm_slip(view);
    views.push_back(std::move(view));
  }
  std::vector<int> dips(views.size(), 0);
  for (std::size_t k = 0; k < views.size() && run.has_slip; ++k)
    dips[k] = false_dips(run, views[k], views);
  for (std::size_t k = 0; k < views.size(); ++k) {
    WheelView& view = views[k];
    // A cracked or rusty ring dips once a turn, braked or not: such a wheel is no witness. Nor is
    // one whose signal is lost again and again, where looks are too few to tell each loss from a
    // lock.
    if (dips[k] >= criteria.rolling_dips ||
        (view.dropouts >= criteria.rolling_dips && view.rate_hz < criteria.sharp_hz)) {
      view.known = false;
      view.dropouts += dips[k];
    }
    if (sources[k].corner) {
      run.wheels[*sources[k].corner] = std::move(view);
    } else {
      if (!run.wheels[Corner::rl].known) run.wheels[Corner::rl] = view;
      if (!run.wheels[Corner::rr].known) run.wheels[Corner::rr] = std::move(view);
    }
  }
  // With three sensors the rear one sits at the final drive, whatever the columns are called.
  if (car.sensors.value_or(4) == 3)
    run.wheels[Corner::rl].axle_mean = run.wheels[Corner::rr].axle_mean = true;
  return run;
}

}  // namespace stopledger
