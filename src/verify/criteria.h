#pragma once

namespace stopledger {

/// Every threshold of the verification, each with its source id (tests/SOURCES.md), its
/// derivation, or the word "chosen" and the reason.
struct Criteria {
  // --- speeds -------------------------------------------------------------------------------
  double control_floor_mps = 7.0 / 3.6;       ///< CT-30: control works above 5 to 10 km/h
  double judge_floor_mps = 10.0 / 3.6;        ///< chosen: below it one step of 1 km/h is 10 % slip
  double lock_floor_mps = 15.0 / 3.6;         ///< AB-21: lock is permitted below 15 km/h
  double self_test_ceiling_mps = 45.0 / 3.6;  ///< trade 4.2: tests seen up to 40 km/h
  double standstill_mps = 2.0 / 3.6;          ///< chosen: sensors fade out below a few km/h

  // --- braking ------------------------------------------------------------------------------
  double brake_decel_mps2 = 1.1;    ///< chosen: engine braking and hills stay below 1 m/s2
  double brake_end_mps2 = 0.4;      ///< chosen: hysteresis to the above
  double brake_gap_s = 0.6;         ///< chosen: shorter easing of the pedal is one event
  double brake_min_drop_mps = 1.6;  ///< chosen: about 6 km/h; less is traffic, not a stop
  double read_skew_s = 0.02;        ///< braking 8 m/s2 from 40 km/h makes 1.4 % of slip of it, most
                                    ///< of min_drop
  double impossible_mps2 = 13.0;    ///< FR-06: above the best tyre, so the speed was misread
  double carried_s = 0.15;          ///< chosen: a stop of seconds is not bent by less
  double carried_share = 0.6;       ///< tuned: of stops guessed for longer, lengths err by a third
  double creep_s = 1.5;             ///< chosen: from 5 km/h to rest at the gentlest

  // --- the edge's own slip ---------------------------------------------------------------------
  // Even the least slipping wheel of a braked car slips: a / (g C), C the slip stiffness per load.
  // The published curves (FR-20 to FR-26) start at about 30 and reach their peak at a secant of
  // about 7 (1.17 at 0.17, 0.80 at 0.13); under control a wheel swings between the two, and its way
  // back ends at a third of the slip at the peak or less. Tuned within that range on simulated
  // stops.
  double edge_stiffness_rolling = 28.0;
  double edge_stiffness_control = 11.0;
  double edge_slip_most = 0.06;  ///< a third of 0.13 to 0.17, a little more

  // --- length and MFDD, and what they are known to (standard deviations)
  // --------------------------
  double edge_doubt = 0.5;  ///< of the edge's slip: secants of 30 and 7 are a factor of two from 14
  double edge_doubt_least = 0.008;  ///< chosen: a third of slip_seen, where no wheel shows slip
  double locked_doubt = 0.06;  ///< edge_slip_most once more, while two wheels or more are locked
  double tail_fit_s = 0.8;     ///< chosen: two cycles of the slower controls (CT-06)
  double fade_mps = 0.3;       ///< chosen: below it a wheel counts as standing
  double tail_share = 0.95;    ///< tuned: deceleration below 10 km/h, where wheels lock (CT-30),
                               ///< against before: median 0.93 in 424 simulated stops,
  double tail_doubt = 0.25;    ///< nine in ten from 0.75 (wet) to 1.5 (gravel); locked wheels on
                               ///< dry road reach 0.76 of 0.82 (FR-09, FR-10)
  double carried_doubt =
      0.3;  ///< a locked wheel has 0.64 to 0.65 of the peak's grip (FR-20, FR-21)
  double scale_doubt = 0.005;   ///< ST-02: instruments err by 1 % at most (two standard deviations)
  double onset_doubt_s = 0.03;  ///< chosen: the curve's smoothing; without a brake switch also how
                                ///< long the brake took to reach brake_end_mps2,
  double build_up_s = 0.36;     ///< of this for the whole (ST-18)
  double look_doubt = 0.6;  ///< of the time between two looks: even chances make 0.29 at either end
                            ///< of a line, and the curve is smoothed over several
  double accel_doubt = 0.01;   ///< ST-02: instruments +-1 %
  double measure_share = 0.2;  ///< the peak grip of dry and wet road (1.17, 0.80: FR-20, FR-21)
                               ///< lies a factor of 1.46 apart: bounds wider than 20 % either way
                               ///< could not tell the one from the other
  double spun_before_s = 1.0;  ///< chosen: as long as a spun wheel may take to come back to the car
  double pedal_seen_s = 0.12;  ///< chosen: a brake switch looked at more seldom is no start
  double pedal_before_s = 0.5;     ///< ST-18: the build-up takes 0.36 s
  double accel_hz = 10.0;          ///< chosen: eight looks in the shortest stop
  double accel_rest_s = 2.0;       ///< chosen: its offset is read from this long before the stop,
  double accel_after_s = 2.0;      ///< and standing is looked for this long after the wheels stand
  double accel_gain_least = 0.67;  ///< chosen: outside it shows another axis, sign or unit
  double accel_off_mps = 0.5;      ///< chosen: no wheel outruns a braked car by more

  // --- spinning and turning --------------------------------------------------------------------
  double spin_share = 0.12;     ///< chosen: driving slip at full throttle stays below 10 %
  double spin_floor_mps = 0.8;  ///< chosen: about 3 km/h
  double spin_time_s = 0.25;    ///< chosen: a bump is shorter
  double turning_rad_s = 0.2;   ///< chosen: 11 deg/s, beyond a lane change at 40 km/h
  double slide_rad_s = 0.35;    ///< chosen: 20 deg/s; on split ground a car that is held straight
                                ///< stays below half of that
  double bend_before_s = 4.0;   ///< chosen: a slide out of a bend lasts no longer
  double straight_s = 1.0;      ///< chosen: a car that slides does not roll straight so long
  double bend_share = 0.025;    ///< track 1.45 m x 0.2 rad/s at 40 km/h; wheel scales err by 1 %

  double round_stand_mps = 1.5;  ///< chosen: the slowest wheel speed that recorders still show
  double bend_alike = 2.5;       ///< chosen: tracks differ by a tenth, tyres and loads by more

  // All wheels down together, at few looks. Tuned: of 1,986 simulated stops looked at less than 30
  // times a second 60 are found, in 23 of which the speed was a quarter too low or more (41 such
  // stops are not found).
  double sinking_rise_mps = 0.8;  ///< a braked car gains no speed; coarse steps are below 0.45
  double sinking_steeper = 2.2;   ///< times the slowing before
  double sinking_least_s = 0.9;   ///< chosen: under control, to have a before and an end
  int sinking_releases = 3;       ///< chosen: as many as make a rhythm

  // --- commands -----------------------------------------------------------------------------
  double around_s = 0.3;           ///< chosen: commands so long before and after a braking belong
                                   ///< to it; the last pulse outlasts it
  double on_duty = 0.04;           ///< chosen: a duty below 4 % is a rounding rest
  double merge_gap_s = 0.045;      ///< chosen: below the 5 to 50 ms pulses of CT-26 an
                                   ///< outlet that shuts this briefly is one release
  double release_rejoin_s = 0.12;  ///< chosen: without an apply between, pulses within
                                   ///< half a second belong to one release
  double activity_gap_s = 0.7;     ///< chosen: the slowest control on ice is 2/s (CT-06)
  double self_test_max_s = 1.2;    ///< design 5: under about a second, with one sample spare
  double exact_step_s = 0.021;     ///< chosen: two looks within a 40 ms pulse

  // --- expected pulses (trade 6.2, from memory; CT-26) ---------------------------------------
  double pulse_median_s = 0.030;    ///< outlet on-time per release, 10 to 200 ms seen
  double pulse_short_s = 0.018;     ///< one sigma below the median: bounds a count from above
  double pulse_sigma_ln = 0.6;      ///< covers 10 to 90 ms at 95 %
  double closing_median_s = 0.185;  ///< inlet on-time per cycle (hold and release): with 3 cycles a
                                    ///< second 60 % of the time, as is typical (trade 6.2)
  double closing_short_s = 0.110;   ///< for `idle`, which must hold for a hurried control too
  double closing_sigma_ln = 0.6;
  double cycle_rate_hz = 3.0;        ///< CT-06: 2 to 5 on ice, 4 to 10 on grip
  double cycle_rate_sigma_ln = 0.8;  ///< covers 0.6 to 14 at 95 %: CT-06, and corners that a stop
                                     ///< hardly needs
  double few_cycles_hz = 1.0;        ///< chosen: half the slowest control (CT-06): `idle` must
                                     ///< hold even where a corner was hardly needed
  double idle_step_s = 0.025;   ///< chosen: a look within the median pulse; below about 25 looks a
                                ///< second (standards) a missing action is not resolvable at all,
                                ///< and simulated single pulses of 8 ms escaped 25
  double slip_unneeded = 0.03;  ///< chosen: a third of where control begins (CT-20)
  double idle_step_unneeded_s = 0.075;   ///< chosen: fast_wheel_hz; a closing lasts longer
  double idle_step_slipping_s = 0.0105;  ///< CT-26: a wheel deep in slip gave reason for a release,
                                         ///< be it one: looked at within the 5 to 10 ms in which a
                                         ///< valve opens, none can have let fluid out unseen
  double slowest_rhythm_hz = 1.2;   ///< chosen: half the slowest control (CT-06: 2 to 5 on ice)
  double fastest_rhythm_hz = 12.0;  ///< CT-04: 5 to 12 valve actions a second
  int rolling_dips = 4;             ///< chosen: a wheel that dips this often while nobody
                                    ///< brakes has a sensor or ring to be looked at first
  double spin_up_most = 40.0;  ///< a wheel let go gains speed by r2 m / J times what its grip gives
                               ///< the car: 0.3 m, 450 kg, 1 kg m2 (chosen)
  double sharp_hz = 60.0;      ///< chosen: two looks are too short for a wheel at
                               ///< 40 km/h to stop and be back
  double idle_catch = 0.95;    ///< design 5: `idle` needs 95 %

  double surest_catch = 0.98;  ///< tuned: of 6,300 simulated corners whose log should have shown
                               ///< their commands with 0.99 one in 42 did not (columns that lie,
                               ///< single short pulses)

  // --- the wheel ----------------------------------------------------------------------------
  double fast_wheel_hz = 14.0;  ///< chosen: three looks per cycle at 5 cycles a second
  double slow_wheel_hz = 5.0;   ///< chosen: two looks per swing of the slower controls (CT-06)
  double slip_seen = 0.03;      ///< chosen: above the edge by more than noise and tyre scale
  double slip_least = 0.022;    ///< chosen: a fifth above min_drop; on dry road the least slipping
                                ///< wheel, which is the measure, slips 2 to 3 % itself
  double slip_deep = 0.12;      ///< CT-20: best slip 10 to 20 %
  double lock_slip = 0.85;      ///< chosen: a wheel that barely turns
  double min_drop = 0.018;      ///< chosen: twice the error of a learned wheel scale
  double answer_steps = 1.5;    ///< chosen: one step of a coarse speed may be rounding at both ends
  double noise_factor = 4.0;    ///< chosen: one in 16,000 by noise alone
  double calm_s = 0.025;        ///< chosen: less than the shortest usual pulse (CT-26, 30 ms)
  double level_factor = 2.0;    ///< chosen: how deep is known to so much; that it fell, to four
  double answered_share_of_peak = 0.40;    ///< chosen: a fall to 60 % of the peak
  double unanswered_share_of_peak = 0.18;  ///< chosen: noise and falling speed explain this much
  double answer_soonest_s = 0.015;  ///< CT-26: a valve opens in 5 to 10 ms, and the wheel follows
  double gone_before = 0.3;         ///< chosen: a third of the fall is no noise
  double answer_base_s = 0.30;      ///< valve and fluid delay (CT-26) plus controller loop
  double answer_grip_s = 0.90;      ///< m/s2 s: a wheel spins up in proportion to grip:
                                    ///< s v / (mu g N r2/J), about 0.9/decel at 30 km/h
  double answer_max_s = 1.1;        ///< chosen: later is the next cycle's doing
  double late_grip_s = 0.45;  ///< m/s2 s: a fall that begins later than base + this / decel is
                              ///< no clear answer (half the spin-up time above), less in proportion
  double late_grip_mps = 30.0 / 3.6;  ///< where the wheel had less than this to spin up by. Tuned:
                                      ///< 28 of 167 falls that were no answer are later, 38 of
                                      ///< 13,224 answers
  double release_step_s = 0.125;  ///< chosen: half a cycle of 4 a second (CT-06); seldomer looks do
                                  ///< not tell which swing a release was meant for
  double kept_up_s = 0.3;  ///< chosen: no single swing takes a longer train of pulses on grip; on
                           ///< ice answer_max_s is added
  double second_try_s = 0.5;  ///< CT-06: the slowest control tries again within this time
  double sink_s = 0.4;     ///< chosen: longer than any single pulse (CT-26), so several were sent
  double sunk_slip = 0.3;  ///< chosen: half as deep again as the best slip (CT-20) at least
  double sunk_longest_s = 0.6;    ///< chosen: swings prove nothing of a wheel that also stayed down
                                  ///< longer than any control lets it (CT-06: two cycles a second)
  double void_swings_most = 0.3;  ///< chosen: a control that works seldom lets the wheel stand;
                                  ///< one that stood in more swings was let go late
  double lock_wheel_only_s = 1.2;  ///< chosen: without valve channels only a lock this long speaks
  double lock_tolerated_s = 0.35;  ///< AB-21 allows brief lock; trade 5.7 "a moment"
  double slow_peak = 0.15;    ///< chosen: at few looks a second only deep slip tells from error
  double slow_drop = 0.10;    ///< chosen: likewise
  double sure_peak = 0.07;    ///< chosen: a fall from here proves by itself; smaller ones by number
  int answers_per_doubt = 3;  ///< chosen: a wheel that ends locked under a release needs this many
                              ///< answers to outweigh it
  double answered_most = 0.6;  ///< tuned: at 0.5 a stuck outlet and a stuck inlet passed in 480
                               ///< simulated sessions, at 0.6 neither; it cost 4 of 929 corners
  double plenty_hz = 30.0;     ///< tuned: with fewer looks 4 of 181 corners that showed two answers
  int answers_at_few = 3;    ///< had none by the valve; with more, none of 60. Then three are asked
  int small_answers = 3;     ///< chosen: three small falls in time, none missing
  double prompt_s = 0.03;    ///< chosen: CT-26, a valve opens in 5 to 10 ms, two looks at 100 Hz
  int prompt_answers = 2;    ///< chosen: small falls that began just then; one may be the road's
  int balance_releases = 2;  ///< trade P14: the rear balance function rarely releases
  double slow_ratio = 2.0;   ///< chosen: against the other corners of the session
  double slow_excess_s = 0.2;    ///< chosen: a delay is known to a cycle's part only, not better
  double free_slip = 0.008;      ///< chosen: a braked wheel above 1 m/s2 slips more
  double rebuild_wait_s = 0.40;  ///< chosen: as long as two cycles of the slower controls on grip
  double unbraked_slip = 0.03;   ///< chosen: slip_seen; less is the edge's own error
  int unbraked_swings = 3;       ///< chosen: as many as make a rhythm
  int rebuild_cycles = 2;  ///< chosen: the same side's other wheel cycled that often meanwhile,
                           ///< so that neither the end of control nor a grippy side explains it

  // --- weighing of explanations (chances per test; tuned on simulated cases) ------------------
  double p_answer_sound = 0.95, p_answer_dead = 0.06, p_answer_weak = 0.5;
  double p_rebuild_sound = 0.97, p_rebuild_dead = 0.10;
  double p_long_lock_sound = 0.04, p_long_lock_dead = 0.85;
  double prior_sound = 0.90, prior_fault = 0.025;
  double long_unanswered = 3.0;  ///< chosen: deep in slip through 0.9 s of one release; on bare ice
                                 ///< a freed wheel is back within 0.3 s (mu N r2 / J)
  double fading_elsewhere = 3.0;  ///< log odds, 20 to 1: another corner's answers died out too
  int fading_corners = 2;         ///< chosen: one alone may be that wheel's own fault
  double fading_most = 6.0;       ///< chosen: no more than this is taken from the other corners
  int swings_with_valves = 3;     ///< chosen: as many as make a rhythm
  double looks_per_swing = 4.0;   ///< chosen: going down, deepest, coming up, free; with fewer 4
                                  ///< of 29 corners that swung three or four times had no answer
  int swings_alone = 5;      ///< tuned: of wheels whose outlet was stuck or slow some swung three
                             ///< or four times by the road alone, none five times
  int pool_least = 5;        ///< chosen: fewer falls of slip have no spread to speak of
  double pool_p = 5e-4;      ///< chosen: one in 2,000 corners by noise alone
  double pool_slip = 0.015;  ///< chosen: half of slip_seen; the mean of many is known better
  double pool_share = 0.3;   ///< chosen: as much of the slip gone on average (single: 0.4 at best)
  double surest = 0.998;  ///< tuned: of results weighed as surer still one in 500 to 1,000 is wrong
                          ///< in simulation, for reasons that no weighing of answers knows
  double sure_exercised = 0.985;  ///< posterior of "cycled and answered"
  double sure_fault = 0.98;       ///< posterior of all faults together

  // --- stability and traction -------------------------------------------------------------------
  double usual_wheelbase_m = 2.6;      ///< chosen, mid-size, where the sheet is silent;
  double usual_steering_ratio = 16.0;  ///< likewise,
  double usual_gradient_rad = 0.03;    ///< likewise, rad per g (VD-10: 0.016)
  double yaw_limit_g = 0.85;           ///< VD-06 on the best surface
  double grip_about_s = 0.7;     ///< chosen: the ground is the same half a second before and after
  double grip_margin = 1.2;      ///< chosen: a car at its limit swings about it by a fifth
  double grip_least_mps2 = 1.0;  ///< chosen: bare ice (0.1 g); also the sensor's offset
  double side_stiffness = 7.7;  ///< VD-10: tyres 154 kN/rad under 20.1 kN. With the yaw inertia m a
                                ///< b a car answers its steering with a lag of v / (this g)
  double yaw_error_rad_s =
      0.07;                      ///< chosen: 4 deg/s, offsets of both sensors and the model's error
  double yaw_least_rad = 0.009;  ///< chosen: half a degree beyond that; less is noise
  double wish_before_s = 1.5;    ///< chosen: ten times the lag
  double cause_before_s = 0.2;   ///< CT-54: compared 25 times a second; what set the unit to work
                                 ///< came before it
  double steer_before_s = 3.0;   ///< chosen: the steering that led to it
  double steer_after_s = 4.0;    ///< chosen: until it came back, and the 1.75 s of EC-06
  double build_gap_s = 0.15;     ///< chosen: a braked wheel's inlet is pulsed faster than this
  double built_kpa = 300.0;      ///< chosen: above the few bar of accumulator and pump (trade 1.1)

  double spin_gap_s = 0.3;         ///< chosen: shorter grip in between is the same spin
  double pedal_least = 0.1;        ///< chosen: less pedal spins nothing
  double pedal_held = 0.75;        ///< chosen: held while within a quarter of its highest
  double torque_before_s = 0.7;    ///< chosen: opened, before the wheel spun
  double torque_after_s = 0.3;     ///< chosen: the cut outlasts the spin
  double throttle_settle_s = 0.3;  ///< chosen: the plate follows the pedal within this
  double cut_share = 0.7;          ///< chosen: the throttle below 70 % of what it was
  double cut_timing_rad = 0.14;    ///< chosen: 8 degrees, more than load correction within a second
  double cut_least_s = 0.08;       ///< chosen: one look at ten a second
  double brake_looks_hz = 4.0;     ///< chosen: the unit brakes for tenths of a second
  double clear_spin_s = 0.8;    ///< chosen: a control takes one loop (CT-54: 0.04 s) to see a spin
                                ///< and as long as a firm pedal (ST-18: 0.36 s) to build brake
                                ///< or close the throttle; twice that is no answer
  double clear_spin_kmh = 8.0;  ///< chosen: above what controls allow (some 3 to 6 km/h)
  double stability_floor_mps = 20.0 / 3.6;  ///< EC-02
  double straight_rad_s = 0.1;  ///< chosen: 6 deg/s; even ice (0.1 g) turns a car faster at 30 km/h
  double phase_share = 0.3;     ///< chosen: a smaller part of an episode names no wheel of its own

  // --- the warning lamp -----------------------------------------------------------------------
  double lamp_kmh = 15.0;  ///< AB-04: a lamp of a sound system is out before 10 or 15 km/h
  double lamp_s = 2.0;     ///< chosen: a lamp that flashes with the control is out in between
  int lamp_looks = 4;      ///< chosen: so that slow looks do not only meet the flashes
};

inline constexpr Criteria criteria{};

}  // namespace stopledger
