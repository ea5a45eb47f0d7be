#include <algorithm>
#include <array>

#include "model/random.h"
#include "model/scenario.h"

namespace stopledger::model {
namespace {

template <typename T, std::size_t N>
T one_of(Random& random, const std::array<T, N>& items) {
  return random.pick(std::span<const T>(items));
}

}  // namespace

Recorder draw_recorder(Random& random) {
  Recorder r;
  r.wording =
      one_of(random, std::array{Wording::plain, Wording::compact, Wording::spoken, Wording::roles});
  r.speed_unit =
      one_of(random, std::array{SpeedUnit::kmh, SpeedUnit::kmh, SpeedUnit::kmh, SpeedUnit::mph,
                                SpeedUnit::mph, SpeedUnit::mps, SpeedUnit::rpm});
  if (r.speed_unit == SpeedUnit::kmh || r.speed_unit == SpeedUnit::mph)
    r.speed_step = one_of(random, std::array{0.0, 0.0, 0.1, 0.5, 1.0, 1.0});
  r.pressure_unit =
      one_of(random, std::array{PressureUnit::bar, PressureUnit::kpa, PressureUnit::psi});
  r.state_text = one_of(random, std::array{StateText::digits, StateText::on_off, StateText::active,
                                           StateText::open_closed});
  r.time_text = one_of(random, std::array{TimeText::seconds, TimeText::seconds,
                                          TimeText::milliseconds, TimeText::clock});
  if (random.chance(0.25)) {
    r.delimiter = ';';
    r.decimal_comma = random.chance(0.7);
  } else if (random.chance(0.1)) {
    r.delimiter = '\t';
  }
  r.crlf = random.chance(0.4);
  r.byte_order_mark = random.chance(0.1);
  r.units_row = random.chance(0.15);
  r.trailing_delimiter = random.chance(0.06);
  r.preamble_lines = random.chance(0.15) ? random.whole(1, 4) : 0;
  if (random.chance(0.2)) r.missing_text = random.chance(0.5) ? "--" : "N/A";
  r.cut_last_line = random.chance(0.05);
  r.jitter = random.chance(0.5) ? random.uniform(0.02, 0.2) : 0.0;
  r.noise = random.chance(0.2) ? random.uniform(0.001, 0.006) : 0.0;
  r.stuck_share = random.chance(0.1) ? random.uniform(0.02, 0.15) : 0.0;
  r.clip_mps = random.chance(0.4) ? random.uniform(1.0, 5.0) / 3.6 : 0.0;
  if (random.chance(0.3)) r.clock_offset_s = random.uniform(1.0, 50000.0);
  return r;
}

}  // namespace stopledger::model
