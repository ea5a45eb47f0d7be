#include "plan/daylight.h"

#include <libnova/libnova.h>

namespace stopledger {
namespace {

// The library's place of the sun stands in the frame of the year 2000; without the precession since
// then, rise and set come out a minute and a half off in 2026, and more each year.
void sun_of_date(double jd, ln_equ_posn* place) {
  ln_equ_posn of_2000{};
  ln_get_solar_equ_coords(jd, &of_2000);
  ln_get_equ_prec(&of_2000, jd, place);
}

}  // namespace

Daylight sun_times(Day day, const GeoPlace& place, int utc_offset_min) {
  constexpr double unix_epoch_jd = 2440587.5;
  constexpr double minutes = 24.0 * 60.0;
  // Starting from local solar midnight keeps rise and set within the civil day asked for.
  const double midnight_utc = unix_epoch_jd + date::sys_days{day}.time_since_epoch().count();
  ln_lnlat_posn observer{.lng = place.longitude_deg, .lat = place.latitude_deg};
  ln_rst_time times{};
  if (ln_get_body_rst_horizon(midnight_utc, &observer, sun_of_date, LN_SOLAR_STANDART_HORIZON,
                              &times) != 0)
    return {};
  const double solar_noon = 720.0 - 4.0 * place.longitude_deg;  // minutes UTC, within 17
  const auto clock = [&](double jd, double expected_min) {
    double utc_min = (jd - midnight_utc) * minutes;
    while (utc_min - expected_min > 0.5 * minutes) utc_min -= minutes;
    while (utc_min - expected_min < -0.5 * minutes) utc_min += minutes;
    return utc_min + utc_offset_min;
  };
  return {clock(times.rise, solar_noon - 360.0), clock(times.set, solar_noon + 360.0)};
}

}  // namespace stopledger
