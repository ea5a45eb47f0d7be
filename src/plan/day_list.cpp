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
      DayItem{"Car", "Parking brake holds: it is the way out if the pedal fails", ""},
      DayItem{"Car", "Pads thick enough, discs sound, no wheel hot after the drive in", ""},
      DayItem{"Car", "Wheel nuts torqued, no bearing play, steering tight, throttle returns", ""},
      DayItem{"Car", "Tyres: right size, cold pressures, 1.6 mm tread or more, no cracks, age",
              "bar"},
      DayItem{"Car", "Nothing loose inside, mats out, belts and head restraints set", ""},
      DayItem{"Recorder", "Fixed, cable clear of pedals and column, nobody holds it", ""},
      DayItem{"Recorder", "Computer clock noted; a trial log was saved and opened", "h:min"},
      DayItem{"Recorder", "With the recorder talking the lamps stay out while rolling", ""},
      DayItem{"People", "Driver rested and sober, knows what will be felt and heard", ""},
      DayItem{"People", "Helper briefed; stands to the side behind something solid", ""},
      DayItem{"People", "One stop signal, that anyone may give, shown and understood", ""},
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
