#include "plan/day_list.h"

#include <array>

namespace stopledger {

std::span<const DayItem> day_list() {
  static constexpr std::array list{
      DayItem{"Car", "Lamps: all on with the key, all out after; codes read and kept, none open",
              "s"},
      DayItem{"Car", "Fluid level between the marks; nothing wet at unit, lines, hoses, calipers",
              "%"},
      DayItem{"Car", "Pedal firm and high, does not sink in 10 s; travel at the marked force",
              "mm"},
      DayItem{"Car", "Parking brake holds: the way out if pedal fails", ""},
      DayItem{"Car", "Pads thick enough, discs sound, no wheel hot after the drive in", ""},
      DayItem{"Car", "Wheel nuts torqued, no bearing play, steering tight, throttle returns", ""},
      DayItem{"Car", "Tyres: right size, cold pressures, 1.6 mm tread or more, no cracks, age",
              "bar"},
      DayItem{"Car", "Nothing loose, mats out, belts, head restraints", ""},
      DayItem{"Recorder", "Recorder fixed, cable clear of pedals and column", ""},
      DayItem{"Recorder", "Computer clock noted; a trial log was saved and opened", "h:min"},
      DayItem{"Recorder", "Recorder talking, rolling: lamps stay out", ""},
      DayItem{"People", "Driver rested, sober, told what will be felt", ""},
      DayItem{"People", "Helper briefed, aside, behind something solid", ""},
      DayItem{"People", "One stop signal, that anyone may give, shown", ""},
      DayItem{"Place", "Permission in hand, insurer asked, gate closed or watched", ""},
      DayItem{"Place", "No people, animals, kerbs, posts, drains or cars in run-off and sides", ""},
      DayItem{"Place", "Surface walked: no stones, oil or standing water; lengths paced out", "m"},
      DayItem{"Place", "Phone has signal; address below read out once; extinguisher, first aid",
              ""},
      DayItem{"Weather", "Daylight, above freezing, little wind, no fog", "degC"},
  };
  return list;
}

}  // namespace stopledger
