#pragma once

#include <span>
#include <vector>

namespace stopledger {

/// What is known beforehand about the pulses of one valve while the control is at work.
///
/// Two kinds of width are kept apart because they act differently: `length_spread_ln` differs from
/// pulse to pulse and averages out over many of them; the two doubts are common to all pulses (we
/// do not know this unit, this surface) and never average out, however many pulses there are.
struct PulsePrior {
  double length_median_s = 0.0;
  double length_spread_ln = 0.0;  ///< standard deviation of ln(length), pulse to pulse
  double length_doubt_ln = 0.0;   ///< standard deviation of ln(median length), common to all
  double rate_median_hz = 0.0;    ///< pulses per second while the control is at work
  double rate_doubt_ln = 0.0;     ///< standard deviation of ln(rate), common to all
};

/// One stretch during which pulses were expected, and when the channel was looked at.
///
/// Shape: `sample_t_s` in seconds, increasing; samples outside the stretch may be included (one
/// after
///        the end still catches a pulse that began before it).
struct CatchWindow {
  double start_s = 0.0;
  double end_s = 0.0;
  std::span<const double> sample_t_s;
};

/// Chance that one pulse is seen, its start being anywhere in the window with equal chance; a pulse
/// is seen when a sample falls into it. `doubt_z` shifts the median length by that many doubts.
///
/// The exact measure: sum over the gaps between samples of E[min(length, gap)], over the window.
/// Unit: ratio 0 to 1; 0 for an empty window.
double single_catch(const PulsePrior& prior, const CatchWindow& window, double doubt_z = 0.0);

/// Same for a channel sampled every `interval_s` with a random phase, where single intervals differ
/// by `jitter` (standard deviation as a share of the interval, 0 to 0.5).
double single_catch(const PulsePrior& prior, double interval_s, double jitter = 0.0,
                    double doubt_z = 0.0);

/// Chance that at least `needed` different pulses are seen over all windows together.
///
/// Pulses are taken as independent of the sampling; a recorder that beats with the control's rhythm
/// catches less (tests/signal/catch_test.cpp measures how much). The number of pulses in a window
/// is rate times length; a fraction is the chance of one more. Requires: needed >= 1.  Does not
/// throw.
double catch_probability(const PulsePrior& prior, std::span<const CatchWindow> windows,
                         int needed = 1);

/// One channel that shows the same pulses, or parts of them, by its own looks.
struct CatchWatch {
  PulsePrior prior;  ///< length of what this channel shows of a pulse
  CatchWindow window;
};

/// Chance that at least one pulse is seen by at least one of the channels over the same stretch.
///
/// The looks of different channels are taken as independent; looks at the same moment are to be
/// given once. Rate and its doubt are those of the first channel, and so is the stretch; the doubt
/// of the lengths is common. Requires: at least one channel.  Does not throw.
double catch_by_any(std::span<const CatchWatch> watches);

/// As catch_probability, for `active_s` seconds of control sampled every `interval_s`.
double catch_probability(const PulsePrior& prior, double interval_s, double active_s,
                         int needed = 1, double jitter = 0.0);

}  // namespace stopledger
