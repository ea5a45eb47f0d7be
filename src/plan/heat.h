#pragma once

#include <optional>
#include <string_view>

namespace stopledger {

/// One axle's discs as lumps of iron: all heat of a stop goes in at once, then they cool.
struct DiscAxle {
  double energy_share = 0.7;  ///< of the car's energy, both wheels together (HT-02)
  double disc_kg = 4.0;       ///< light end of HT-09: warmer than most
  int discs = 2;
};

/// How discs warm and cool.
struct HeatCase {
  double ambient_c = 20.0;
  double disc_share = 0.95;     ///< of the heat at the pad face (HT-02)
  double specific_heat = 460;   ///< J/(kg K), low end of HT-08: warmer
  double rolling_tau_s = 300;   ///< chosen: slower than HT-02's 60 to 120 s, a lot is driven slowly
  double standing_tau_s = 900;  ///< HT-10: several hundred seconds and more
};

/// Temperature rise of one disc (K) from one stop between two speeds (m/s), no cooling.
/// Source: HT-01, HT-04.
double stop_rise_k(const HeatCase& heat, const DiscAxle& axle, double mass_kg, double from_mps,
                   double to_mps);

/// Temperature after `seconds` of cooling with that time constant: Newton's law.
double cooled_c(double disc_c, double ambient_c, double seconds, double tau_s);

/// Seconds of cooling until `target_c`; 0 when it is cool already, nothing when it never gets
/// there.
std::optional<double> cooling_s(double disc_c, double ambient_c, double target_c, double tau_s);

/// Least boiling points of a grade, degC (FMVSS 116 table, BF-01); nothing for an unknown grade.
struct GradeBoiling {
  double dry_c, wet_c;
};
std::optional<GradeBoiling> grade_boiling(std::string_view grade);

}  // namespace stopledger
