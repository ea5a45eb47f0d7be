#include "log/words.h"

#include <algorithm>
#include <array>
#include <bitset>
#include <map>
#include <set>
#include <unordered_map>

namespace stopledger {
namespace {

/// What a word can say. A header's words are gathered into a set of these.
enum Concept : std::size_t {
  k_wheel,
  k_speed,
  k_vehicle,
  k_reference,
  k_satellite,
  k_engine,
  k_valve,
  k_inlet,
  k_outlet,
  k_build,
  k_hold,
  k_release,
  k_isolation,
  k_prime,
  k_pump,
  k_motor,
  k_relay,
  k_pressure,
  k_master,
  k_brake,
  k_pedal,
  k_switch,
  k_position,
  k_accel,
  k_gforce,
  k_lateral,
  k_longitudinal,
  k_vertical,
  k_yaw,
  k_steering,
  k_angle,
  k_rate,
  k_throttle,
  k_accelerator,
  k_ignition,
  k_timing,
  k_torque,
  k_battery,
  k_voltage,
  k_abs,
  k_stability,
  k_traction,
  k_active,
  k_lamp,
  k_warning,
  k_odometer,
  k_time,
  k_date,
  k_current,
  k_command,
  k_feedback,
  k_circuit,
  k_one,
  k_two,
  k_average,
  k_wanted,
  k_fault,
  k_foreign,
  k_latlon,
  k_quality,
  k_stop_word,
  k_count_,
  k_state,
  k_driver,
  k_passenger,
  k_front,
  k_rear,
  k_left,
  k_right,
  k_rpm,
  k_return,
  concept_count
};
using Concepts = std::bitset<concept_count>;

struct VocabularyRow {
  Concept says;
  std::string_view words;  // separated by blanks; folded
};

// Words by meaning; other usual trade languages beside English. All common practice.
constexpr VocabularyRow vocabulary_rows[] = {
    {k_wheel, "wheel whl wheels whls rad raeder rader roue roues rueda ruota hjul wiel"},
    {k_speed,
     "speed speeds spd spds vel velocity veloc geschw geschwindigkeit vitesse vit velocidad "
     "velocita hastighet snelheid kmh kph mph tacho drehz drehzahl"},
    {k_vehicle,
     "vehicle veh car vhcl fahrzeug fzg vehicule vehiculo veicolo road ground speedo "
     "speedometer body chassis odom obd"},
    {k_reference, "ref reference vref referenz"},
    {k_satellite, "gps gnss satellite sat satellites"},
    {k_engine, "engine eng motordrehzahl moteur crank crankshaft kurbelwelle revs rev"},
    {k_valve,
     "valve vlv valv valves ventil ventile vanne electrovanne valvula valvola ventiel "
     "solenoid sol solenoids modulator slnd magnetventil mv coil spule"},
    {k_inlet,
     "inlet inl inlets inv einlass einlassventil einl ev admission entree entrada inlaat "
     "ingresso immissione inlopp in invlv invalve"},
    {k_outlet,
     "outlet outl outlets auslass auslassventil ausl echappement sortie salida uscita "
     "uitlaat scarico dump dumps decay exhaust vent utlopp out outvlv drain"},
    {k_build, "build apply increase aufbau reapply pressureup"},
    {k_hold, "hold halten maintien holding"},
    {k_release, "release abbau decrease reduce relache"},
    {k_isolation,
     "isolation iso isol isolate changeover cutoff cut separation pilot trennventil "
     "umschaltventil usv isolating isolator"},
    {k_prime,
     "prime priming suction shuttle ansaugventil saugventil charging hsv intakevalve "
     "suctionvalve"},
    {k_pump, "pump pmp pumpe pompe bomba pompa pomp rueckfoerderpumpe ruckforderpumpe"},
    {k_motor, "motor mtr"},
    {k_return, "return recirculation recirc scavenge hydraulic hydr hydraulics modulator hcu"},
    {k_relay, "relay rly relais"},
    {k_pressure,
     "pressure press prs pres druck bremsdruck pression presion pressione druk tryck "
     "bar psi"},
    {k_master,
     "master mcyl mc hauptzylinder hz hauptbremszylinder tmc main maitre mastercyl "
     "mcp"},
    {k_brake,
     "brake brakes brk brak braking bremse bremsen brems frein freins freinage freno frenos "
     "freni broms rem bremspedal"},
    {k_pedal, "pedal pdl pedale ped bremspedal"},
    {k_switch,
     "switch sw swi swt schalter contacteur contact interruptor interruttore bls bts "
     "bremslichtschalter brakeswitch bremsschalter stoplamp brakelight"},
    {k_position,
     "position pos travel posn stroke weg pedalweg stellung course recorrido corsa "
     "posicion posizione displacement"},
    {k_accel,
     "accel acceleration acc accl beschleunigung beschl aceleracion accelerazione "
     "accelerometer decel deceleration acceler"},
    {k_gforce, "g gforce gs gee"},
    {k_lateral,
     "lateral lat quer querbeschleunigung laterale transversal transverse ay latg latacc "
     "side sideways accy latacceleration"},
    {k_longitudinal,
     "longitudinal long longit lon laengs langs langsbeschleunigung ax longg longacc "
     "accx fore longacceleration"},
    {k_vertical, "vertical vert az accz"},
    {k_yaw,
     "yaw gier gierrate giergeschwindigkeit gierwinkelgeschwindigkeit lacet imbardata "
     "guinada yawrate gyroz"},
    {k_steering,
     "steering steer str lenk lenkwinkel lenkrad lenkradwinkel volant sterzo direction "
     "swa sas strg stuur volante handwheel strwhl"},
    {k_angle, "angle winkel ang angolo angulo lenkwinkel lenkradwinkel"},
    {k_rate, "rate velocity"},
    {k_throttle,
     "throttle thr tps thrott drosselklappe drossel papillon mariposa farfalla tp "
     "throttleplate"},
    {k_accelerator,
     "accelerator accelerateur app apps gaspedal fahrpedal acelerador acceleratore "
     "gas accped"},
    {k_ignition,
     "ignition ign spark zuendung zundung zund allumage encendido accensione "
     "zundwinkel zuendwinkel"},
    {k_timing, "timing advance adv zeitpunkt avance anticipo zundwinkel zuendwinkel btdc"},
    {k_torque, "torque trq tq drehmoment moment couple par coppia tqe"},
    {k_battery,
     "battery batt bat vbat vbatt ubat ubatt batterie bateria batteria accu klemme kl30 "
     "supply vsup usup"},
    {k_voltage, "voltage volt volts volte spannung tension tensione voltaje vbat vbatt ubat ubatt"},
    {k_abs, "abs antilock antiblock aps antiskid abv"},
    {k_stability, "stability esc vsa stab stabilitat estabilidad stabilita stabilite"},
    {k_traction,
     "traction tc tcs asr ttraction antriebsschlupf trac traktion traccion trazione "
     "antispin"},
    {k_active,
     "active activ activity act event intervention intervening control ctrl regelung aktiv "
     "actif activo attivo working engaged operating mode cycling regulation"},
    {k_lamp,
     "lamp light telltale lampe leuchte kontrollleuchte voyant mil warnlampe indicator led "
     "lights"},
    {k_warning, "warning warn warnung warnlampe amber avertissement"},
    {k_odometer, "odometer odo mileage kilometerstand odometre odometro kilometrage"},
    {k_time,
     "time timestamp tstamp zeit uhrzeit temps heure hora tempo tid tijd tiempo elapsed sec "
     "secs second seconds sek ms msec millis milliseconds utc clock epoch runtime zeitstempel "
     "timer ora orario stamp t"},
    {k_date, "date datum fecha day"},
    {k_current, "current amps amp strom courant corriente corrente curr"},
    {k_command, "command cmd commanded kommando ansteuerung output"},
    {k_feedback, "feedback fb fbk measured readback monitor actual ist"},
    {k_state, "state status stat zustand etat estado stato flag bit signal sig value val"},
    {k_circuit, "circuit circ kreis"},
    {k_one, "1 primary prim first i 01"},
    {k_two, "2 secondary ii 02"},
    {k_average, "average mean mittel mittlere moyenne media"},
    {k_wanted,
     "target set setpoint desired requested request req limit max min cruise soll wanted "
     "limiter threshold peak predicted maximum minimum"},
    {k_fault,
     "fault error err fehler defaut dtc code codes failure malfunction checksum crc plausi "
     "plausibility valid validity quality qf qual confidence"},
    // Places and things of other trades: a header with one of these is not about the brakes.
    {k_foreign,
     "tire tyre tpms reifen pneu neumatico coolant oil fuel air intake manifold map maf "
     "ambient egt egr lambda o2 cabin fan blower window wiper seat door mirror "
     "gear transmission gearbox turbine clutch turbo boost wastegate injector "
     "injection knock alternator compressor ac hvac temperature temp temperatur "
     "ect iat water altitude alt elevation height heading course "
     "bearing wind humidity baro barometric parking handbrake trailer tank level airbag "
     "belt suspension damper ride washer horn key immobilizer radio phone "
     "cam camshaft vvt shaft pad disc "
     "lap sector hdop pdop vdop kuhlmittel ol kraftstoff luft essence huile "
     "differential diff hdg mag magnetometer lean roll pitch gyrox gyroy"},
    {k_latlon, "latitude longitude breite lange breitengrad langengrad"},
    {k_count_, "pulse pulses count counter cnt ticks edges impulse impuls zaehler zahler teeth"},
    {k_stop_word, "stop"},
    {k_driver, "driver drvr drv ds fahrer conducteur"},
    {k_passenger, "passenger pass ps beifahrer passager"},
    {k_rpm, "rpm"},
    {k_front,
     "front frnt frt fwd vorn vorne vorder vorderachse avant delantera delantero anteriore "
     "frontal voor fram anterior ant vorderrad dianteira"},
    {k_rear,
     "rear back hinten hinter hinterachse arriere trasera trasero posteriore achter bak "
     "bakre posterior post hinterrad traseira rearaxle"},
    {k_left,
     "left lft lh lhs links linke linkes gauche izquierda izquierdo izq sinistra sinistro "
     "vanster esquerda link lefthand sx"},
    {k_right,
     "right rght rgt rh rhs rechts rechte rechtes droite derecha derecho der destra destro "
     "hoger direita recht righthand dx"},
};

// Words that say two things at once.
constexpr std::pair<std::string_view, std::array<Concept, 2>> double_words[] = {
    {"ws", {k_wheel, k_speed}},
    {"wss", {k_wheel, k_speed}},
    {"wspd", {k_wheel, k_speed}},
    {"wsp", {k_wheel, k_speed}},
    {"wspeed", {k_wheel, k_speed}},
    {"nrad", {k_wheel, k_speed}},
    {"vrad", {k_wheel, k_speed}},
    {"vwhl", {k_wheel, k_speed}},
    {"vwheel", {k_wheel, k_speed}},
    {"vroue", {k_wheel, k_speed}},
    {"raddrehzahl", {k_wheel, k_speed}},
    {"radgeschwindigkeit", {k_wheel, k_speed}},
    {"radgeschw", {k_wheel, k_speed}},
    {"vss", {k_vehicle, k_speed}},
    {"vfzg", {k_vehicle, k_speed}},
    {"vveh", {k_vehicle, k_speed}},
    {"vcar", {k_vehicle, k_speed}},
    {"fahrzeuggeschwindigkeit", {k_vehicle, k_speed}},
    {"vref", {k_reference, k_speed}},
    {"vgps", {k_satellite, k_speed}},
    {"drehzahl", {k_speed, k_rpm}},
    {"drehz", {k_speed, k_rpm}},
    {"motordrehzahl", {k_engine, k_speed}},
    {"querbeschleunigung", {k_lateral, k_accel}},
    {"langsbeschleunigung", {k_longitudinal, k_accel}},
    {"laengsbeschleunigung", {k_longitudinal, k_accel}},
    {"ax", {k_longitudinal, k_accel}},
    {"ay", {k_lateral, k_accel}},
    {"accx", {k_longitudinal, k_accel}},
    {"accy", {k_lateral, k_accel}},
    {"latg", {k_lateral, k_accel}},
    {"longg", {k_longitudinal, k_accel}},
    {"latacc", {k_lateral, k_accel}},
    {"longacc", {k_longitudinal, k_accel}},
    {"bls", {k_brake, k_switch}},
    {"bts", {k_brake, k_switch}},
    {"brakelight", {k_brake, k_switch}},
    {"stoplamp", {k_brake, k_switch}},
    {"bremslichtschalter", {k_brake, k_switch}},
    {"brakeswitch", {k_brake, k_switch}},
    {"bremsschalter", {k_brake, k_switch}},
    {"bremsdruck", {k_brake, k_pressure}},
    {"bremspedal", {k_brake, k_pedal}},
    {"gaspedal", {k_accelerator, k_pedal}},
    {"fahrpedal", {k_accelerator, k_pedal}},
    {"tp", {k_throttle, k_position}},
    {"mcp", {k_master, k_pressure}},
    {"rfp", {k_return, k_pump}},
    {"pumpenmotor", {k_pump, k_motor}},
    {"pumpenrelais", {k_pump, k_relay}},
    {"einlassventil", {k_inlet, k_valve}},
    {"auslassventil", {k_outlet, k_valve}},
    {"invlv", {k_inlet, k_valve}},
    {"outvlv", {k_outlet, k_valve}},
    {"iv", {k_inlet, k_valve}},
    {"ov", {k_outlet, k_valve}},
    {"usv", {k_isolation, k_valve}},
    {"hsv", {k_prime, k_valve}},
    {"trennventil", {k_isolation, k_valve}},
    {"umschaltventil", {k_isolation, k_valve}},
    {"ansaugventil", {k_prime, k_valve}},
    {"saugventil", {k_prime, k_valve}},
    {"electrovanne", {k_valve, k_valve}},
    {"magnetventil", {k_valve, k_valve}},
    {"warnlampe", {k_warning, k_lamp}},
    {"vbat", {k_battery, k_voltage}},
    {"vbatt", {k_battery, k_voltage}},
    {"ubat", {k_battery, k_voltage}},
    {"ubatt", {k_battery, k_voltage}},
    {"gyroz", {k_yaw, k_rate}},
    {"vorderachse", {k_front, k_front}},
    {"hinterachse", {k_rear, k_rear}},
    {"sas", {k_steering, k_angle}},
    {"swa", {k_steering, k_angle}},
    {"vitesse", {k_speed, k_speed}},
};

/// Initials of the four corners, language by language: front left, front right, rear left, rear
/// right. English ones always count; the others only when the headers as a whole speak for them.
struct Initials {
  std::string_view language;
  std::array<std::string_view, 4> order_axle_side;
  std::array<std::string_view, 4> order_side_axle;
};
constexpr Initials initials_rows[] = {
    {"English", {"fl", "fr", "rl", "rr"}, {"lf", "rf", "lr", "rr"}},
    {"V/H L/R", {"vl", "vr", "hl", "hr"}, {"lv", "rv", "lh", "rh"}},
    {"AV/AR G/D", {"avg", "avd", "arg", "ard"}, {"gav", "dav", "gar", "dar"}},
    {"A/P S/D", {"as", "ad", "ps", "pd"}, {"sa", "da", "sp", "dp"}},
    {"D/T I/D", {"di", "dd", "ti", "td"}, {"id", "dd", "it", "dt"}},
    {"F/B V/H", {"fv", "fh", "bv", "bh"}, {"vf", "hf", "vb", "hb"}},
    {"V/A L/R", {"vl", "vr", "al", "ar"}, {"lv", "rv", "la", "ra"}},
};

const std::unordered_map<std::string, Concepts>& vocabulary() {
  static const auto table = [] {
    std::unordered_map<std::string, Concepts> words;
    for (const auto& row : vocabulary_rows) {
      std::size_t at = 0;
      while (at < row.words.size()) {
        const auto end = std::min(row.words.find(' ', at), row.words.size());
        words[std::string(row.words.substr(at, end - at))].set(row.says);
        at = end + 1;
      }
    }
    for (const auto& [word, says] : double_words)
      for (const auto one : says) words[std::string(word)].set(one);
    return words;
  }();
  return table;
}

/// Cuts an unknown run of letters into known words ("wheelspeedfl"); empty when it cannot be
/// covered completely by words of two letters or more.
std::vector<std::string> cut_into_words(const std::string& run) {
  if (run.size() < 4 || run.size() > 40) return {};
  static const std::set<std::string> corner_words{"lf", "fl", "rf", "fr", "lr", "rl", "rr"};
  const std::size_t n = run.size();
  // cost[i]: fewest words for the first i letters; long words are better than many short ones.
  std::vector<int> cost(n + 1, 1000), from(n + 1, -1);
  cost[0] = 0;
  for (std::size_t i = 0; i < n; ++i) {
    if (cost[i] >= 1000) continue;
    for (std::size_t length = 2; i + length <= n; ++length) {
      const auto word = run.substr(i, length);
      const bool corner = corner_words.contains(word);
      if (!corner && (!vocabulary().contains(word) || (length < 3 && word != "ws"))) continue;
      if (const int c = cost[i] + 1; c < cost[i + length]) {
        cost[i + length] = c;
        from[i + length] = static_cast<int>(i);
      }
    }
  }
  if (cost[n] >= 1000) return {};
  std::vector<std::string> words;
  for (std::size_t i = n; i > 0; i = static_cast<std::size_t>(from[i]))
    words.insert(words.begin(), run.substr(static_cast<std::size_t>(from[i]),
                                           i - static_cast<std::size_t>(from[i])));
  return words;
}

struct Place {
  bool front = false, rear = false, left = false, right = false;
  bool driver = false, passenger = false;
  int corner_words = 0;

  [[nodiscard]] std::optional<Corner> corner() const {
    if (front == rear || left == right) return std::nullopt;
    return front ? (left ? Corner::fl : Corner::fr) : (left ? Corner::rl : Corner::rr);
  }
};

void set_corner(Place& place, std::size_t index) {
  (index < 2 ? place.front : place.rear) = true;
  (index % 2 == 0 ? place.left : place.right) = true;
  ++place.corner_words;
}

/// Index of the corner that `word` abbreviates in that language, or nothing.
std::optional<std::size_t> corner_initials(const Initials& row, const std::string& word) {
  for (std::size_t i = 0; i < 4; ++i)
    if (word == row.order_axle_side[i] || word == row.order_side_axle[i]) return i;
  return std::nullopt;
}

struct Reading {
  Concepts says;
  Place place;
  std::vector<std::string> words;
};

/// Joins neighbouring single letters and "av g" / "ar d" into initials.
std::vector<std::string> join_initials(const std::vector<std::string>& words) {
  static const std::set<std::string> letters{"l", "r", "f", "v", "h", "g", "d",
                                             "a", "p", "s", "i", "t", "b"};
  std::vector<std::string> out;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i + 1 < words.size()) {
      const bool axis =
          (words[i] == "gyro" || words[i] == "acc" || words[i] == "accel" || words[i] == "a") &&
          (words[i + 1] == "x" || words[i + 1] == "y" || words[i + 1] == "z");
      if (axis) {
        out.push_back((words[i] == "gyro" ? "gyro" : words[i] == "a" ? "a" : "acc") + words[i + 1]);
        ++i;
        continue;
      }
      if (words[i] == "m" && words[i + 1] == "c") {  // "M/C"
        out.push_back("mc");
        ++i;
        continue;
      }
      const bool two_letters = letters.contains(words[i]) && letters.contains(words[i + 1]);
      const bool axle_and_side =
          (words[i] == "av" || words[i] == "ar") && (words[i + 1] == "g" || words[i + 1] == "d");
      if (two_letters || axle_and_side) {
        const auto joined = words[i] + words[i + 1];
        const bool known = std::any_of(
            std::begin(initials_rows), std::end(initials_rows),
            [&](const Initials& row) { return corner_initials(row, joined).has_value(); });
        if (known) {
          out.push_back(joined);
          ++i;
          continue;
        }
      }
    }
    out.push_back(words[i]);
  }
  return out;
}

/// What the headers as a whole say about the reading of each.
struct Manner {
  const Initials* foreign = nullptr;  // initials beside the English ones
  bool ev_av = false;  // EV (Einlassventil) is an inlet and AV (Auslassventil) an outlet valve
};

Reading read_header(std::string_view header, const Manner& manner) {
  const Initials* const foreign = manner.foreign;
  Reading reading;
  auto words = join_initials(split_words(header));
  // "vR_HL": the symbol of a wheel's (Rad) speed in front of a corner, not front right.
  for (std::size_t i = 0; i + 1 < words.size(); ++i) {
    if (words[i] == "vr" && (corner_initials(initials_rows[0], words[i + 1]) ||
                             (foreign != nullptr && corner_initials(*foreign, words[i + 1]))))
      words[i] = "vrad";
  }
  for (const auto& word : words) {
    if (const auto corner = corner_initials(initials_rows[0], word)) {
      reading.words.push_back(word);
      continue;
    }
    if (foreign != nullptr && corner_initials(*foreign, word)) {
      reading.words.push_back(word);
      continue;
    }
    if (!vocabulary().contains(word))
      if (const auto parts = cut_into_words(word); !parts.empty()) {
        reading.words.insert(reading.words.end(), parts.begin(), parts.end());
        continue;
      }
    // "vfl" and "pfl": the symbol of a quantity in front of a corner.
    if (word.size() == 3 &&
        (word[0] == 'v' || word[0] == 'p' || word[0] == 'n' || word[0] == 'w') &&
        corner_initials(initials_rows[0], word.substr(1)) && !vocabulary().contains(word)) {
      reading.words.push_back(word[0] == 'p' ? "pressure" : "speed");
      reading.words.push_back(word.substr(1));
      continue;
    }
    reading.words.push_back(word);
  }
  const auto is_corner = [&](const std::string& word) {
    return corner_initials(initials_rows[0], word) ||
           (foreign != nullptr && corner_initials(*foreign, word));
  };
  for (std::size_t i = 0; i + 1 < reading.words.size(); ++i) {
    if (!is_corner(reading.words[i + 1])) continue;
    // "v_fl", "p_fl": the same, apart.
    if (reading.words[i] == "v" || reading.words[i] == "n") reading.says.set(k_speed);
    if (reading.words[i] == "p") reading.says.set(k_pressure);
    if (reading.words[i] == "av" && manner.ev_av) reading.says.set(k_outlet);
  }
  const auto has_word = [&](const char* word) {
    return std::find(reading.words.begin(), reading.words.end(), word) != reading.words.end();
  };
  for (const auto& word : reading.words) {
    if (const auto known = vocabulary().find(word); known != vocabulary().end())
      reading.says |= known->second;
  }
  // "p_brake" and "p MC" are pressures.
  if (has_word("p") && (reading.says[k_brake] || reading.says[k_master]))
    reading.says.set(k_pressure);
  reading.place.front = reading.says[k_front];
  reading.place.rear = reading.says[k_rear];
  reading.place.left = reading.says[k_left];
  reading.place.right = reading.says[k_right];
  for (const auto& word : reading.words) {
    auto corner = corner_initials(initials_rows[0], word);
    if (!corner && foreign != nullptr) corner = corner_initials(*foreign, word);
    if (corner) {
      // "Fr Left" and "Rr Left": initials that only abbreviate the axle when the side is spelled.
      const bool side_spelled = reading.says[k_left] || reading.says[k_right];
      if (side_spelled && (word == "fr" || word == "rr")) {
        (word == "fr" ? reading.place.front : reading.place.rear) = true;
        continue;
      }
      set_corner(reading.place, *corner);
    } else if (word == "f" && !reading.says[k_front]) {
      reading.place.front = true;
    } else if (word == "l" && !reading.says[k_left]) {
      reading.place.left = true;
    } else if (word == "r") {
      // Right when the axle is known otherwise, rear when the side is.
      if (reading.says[k_left] || reading.says[k_right])
        reading.place.rear = true;
      else if (reading.says[k_front] || reading.says[k_rear])
        reading.place.right = true;
    } else if (foreign != nullptr && foreign->language == "V/H L/R" &&
               (word == "v" || word == "h")) {
      if (reading.says[k_left] || reading.says[k_right])
        (word == "v" ? reading.place.front : reading.place.rear) = true;
    } else if (word == "av" && (reading.says[k_left] || reading.says[k_right])) {
      reading.place.front = true;
    } else if (word == "ar" && (reading.says[k_left] || reading.says[k_right])) {
      reading.place.rear = true;
    }
  }
  reading.place.driver = reading.says[k_driver];
  reading.place.passenger = reading.says[k_passenger];
  return reading;
}

/// The language whose corner initials the headers use, or nullptr: the one that explains most
/// corners, alone, on both axles. Two corners of one axle suffice for V/H and AV/AR when the
/// initials mean nothing else ("LH" is also a left-hand side).
const Initials* foreign_initials(const std::vector<std::string>& headers) {
  std::vector<std::vector<std::string>> words;
  words.reserve(headers.size());
  for (const auto& header : headers) words.push_back(join_initials(split_words(header)));
  const Initials* best = nullptr;
  std::size_t best_corners = 0;
  bool tie = false;
  for (const auto& row : initials_rows) {
    if (row.language == "English") continue;
    std::set<std::size_t> corners;
    bool other_meaning = false;
    for (const auto& one : words)
      for (const auto& word : one)
        if (const auto corner = corner_initials(row, word)) {
          corners.insert(*corner);
          other_meaning = other_meaning || vocabulary().contains(word);
        }
    const bool front = corners.contains(0) || corners.contains(1);
    const bool rear = corners.contains(2) || corners.contains(3);
    const bool plain = row.language == "V/H L/R" || row.language == "AV/AR G/D";
    const bool enough = (front && rear && corners.size() >= (plain ? 2U : 3U)) ||
                        (plain && corners.size() >= 2 && !other_meaning);
    if (!enough) continue;
    tie = corners.size() == best_corners;
    if (corners.size() > best_corners) {
      best = &row;
      best_corners = corners.size();
    }
  }
  return tie ? nullptr : best;
}

/// One line of the table that turns what was said into a quantity. The first that fits is taken.
struct Rule {
  enum class Where { wheel, car, circuit };
  QuantityKind quantity;
  Where where;
  std::vector<Concept> all;
  std::vector<Concept> any;  // at least one of these, when there are some
  std::vector<Concept> none;
  int rank = 2;
};

const std::vector<Rule>& rules() {
  using Q = QuantityKind;
  using W = Rule::Where;
  static const std::vector<Rule> table{
      {Q::warning_lamp, W::car, {k_lamp}, {k_abs, k_stability, k_traction}, {}, 3},
      {Q::warning_lamp, W::car, {k_lamp, k_warning, k_brake}, {}, {}, 2},
      {Q::warning_lamp, W::car, {k_warning}, {k_abs, k_stability}, {k_fault}, 2},
      {Q::valve, W::wheel, {k_hold}, {k_build}, {}, 3},
      {Q::valve, W::wheel, {k_hold, k_release}, {}, {}, 3},
      {Q::outlet, W::wheel, {k_outlet}, {}, {k_speed}, 3},
      {Q::outlet, W::wheel, {k_release}, {}, {k_hold, k_build}, 2},
      {Q::inlet, W::wheel, {k_inlet}, {}, {k_speed}, 3},
      {Q::inlet, W::wheel, {k_isolation}, {}, {}, 2},
      {Q::inlet, W::wheel, {}, {k_build, k_hold}, {k_pressure}, 2},
      {Q::prime, W::circuit, {k_prime}, {}, {k_fault}, 3},
      {Q::isolation, W::circuit, {k_isolation}, {}, {k_fault}, 3},
      {Q::isolation, W::circuit, {k_traction, k_valve}, {}, {k_fault}, 2},
      {Q::wheel_pressure, W::wheel, {k_pressure}, {}, {k_wanted}, 3},
      {Q::wheel_speed,
       W::wheel,
       {k_wheel},
       {},
       {k_steering, k_torque, k_angle, k_accel, k_pressure},
       3},
      {Q::wheel_speed, W::wheel, {}, {k_speed, k_rpm}, {k_steering, k_yaw, k_engine, k_wanted}, 3},
      {Q::wheel_speed, W::wheel, {k_count_}, {}, {k_valve}, 2},
      {Q::pump, W::car, {k_pump}, {}, {k_speed, k_pressure}, 3},
      {Q::pump, W::car, {k_motor}, {k_abs, k_brake, k_relay, k_return, k_stability}, {k_speed}, 2},
      {Q::satellite_speed, W::car, {k_satellite, k_speed}, {}, {k_wanted}, 3},
      {Q::yaw_rate, W::car, {k_yaw}, {}, {k_angle, k_active, k_accel, k_wanted}, 3},
      {Q::yaw_rate, W::car, {k_yaw, k_angle, k_rate}, {}, {k_wanted}, 2},
      {Q::steering_angle,
       W::car,
       {k_steering},
       {},
       {k_torque, k_rate, k_speed, k_wanted, k_pressure, k_current, k_motor},
       3},
      {Q::accel_lat, W::car, {k_lateral}, {k_accel, k_gforce}, {k_wanted, k_satellite}, 3},
      {Q::accel_long, W::car, {k_longitudinal}, {k_accel, k_gforce}, {k_wanted, k_satellite}, 3},
      {Q::engine_torque, W::car, {k_torque}, {}, {k_brake, k_steering, k_wheel, k_wanted}, 2},
      {Q::engine_speed, W::car, {k_engine}, {k_speed, k_rpm}, {k_wanted}, 3},
      {Q::engine_speed, W::car, {k_rpm}, {}, {k_wheel, k_vehicle, k_wanted, k_pump}, 2},
      {Q::engine_speed, W::car, {k_motor, k_speed}, {}, {k_pump, k_wanted}, 2},
      {Q::master_pressure, W::car, {k_master}, {k_pressure, k_brake}, {k_wanted}, 3},
      {Q::master_pressure, W::car, {k_brake, k_pressure}, {}, {k_wanted}, 2},
      {Q::brake_travel, W::car, {k_brake, k_position}, {}, {k_wanted, k_switch}, 3},
      {Q::brake_switch, W::car, {k_brake}, {k_switch, k_lamp}, {k_warning}, 3},
      {Q::brake_switch, W::car, {k_stop_word}, {k_lamp, k_switch}, {k_warning}, 3},
      {Q::brake_switch, W::car, {k_brake, k_pedal}, {}, {}, 2},
      {Q::accelerator, W::car, {k_accelerator}, {}, {k_wanted}, 3},
      {Q::accelerator, W::car, {k_pedal, k_position}, {}, {k_wanted}, 2},
      {Q::accelerator, W::car, {k_accel, k_pedal}, {}, {k_wanted}, 2},
      {Q::throttle, W::car, {k_throttle}, {}, {k_wanted, k_motor, k_voltage}, 3},
      {Q::ignition_timing, W::car, {k_ignition}, {k_timing, k_angle}, {k_wanted, k_switch}, 3},
      {Q::ignition_timing, W::car, {k_timing}, {}, {k_wanted, k_valve, k_inlet, k_outlet}, 1},
      {Q::abs_active, W::car, {k_abs}, {k_active}, {k_fault, k_pump, k_valve}, 3},
      {Q::traction_active,
       W::car,
       {k_traction},
       {k_active, k_state},
       {k_fault, k_valve, k_switch},
       3},
      {Q::stability_active,
       W::car,
       {k_stability},
       {k_active, k_state},
       {k_fault, k_valve, k_switch},
       3},
      {Q::stability_active, W::car, {k_yaw, k_active}, {}, {k_fault, k_valve}, 2},
      {Q::abs_active,
       W::car,
       {k_abs},
       {},
       {k_fault, k_pump, k_valve, k_relay, k_speed, k_motor, k_voltage, k_pressure, k_throttle,
        k_position},
       1},
      {Q::traction_active, W::car, {k_traction}, {}, {k_fault, k_valve, k_switch, k_relay}, 1},
      {Q::stability_active, W::car, {k_stability}, {}, {k_fault, k_valve, k_switch, k_relay}, 1},
      {Q::supply_voltage, W::car, {k_battery}, {}, {k_current, k_wanted}, 3},
      {Q::supply_voltage,
       W::car,
       {k_voltage},
       {k_vehicle, k_abs, k_ignition, k_relay, k_pump},
       {},
       1},
      {Q::odometer, W::car, {k_odometer}, {}, {k_speed}, 3},
      {Q::vehicle_speed, W::car, {k_vehicle, k_speed}, {}, {k_wanted, k_steering, k_fault}, 4},
      {Q::vehicle_speed, W::car, {k_reference, k_speed}, {}, {k_steering, k_fault}, 3},
      {Q::vehicle_speed, W::car, {k_abs, k_speed}, {}, {k_wanted, k_fault, k_pump}, 2},
      {Q::vehicle_speed,
       W::car,
       {k_speed},
       {},
       {k_wanted, k_steering, k_engine, k_rpm, k_pump, k_motor, k_yaw, k_accel, k_fault, k_throttle,
        k_wheel},
       1},
      {Q::brake_switch,
       W::car,
       {k_brake},
       {},
       {k_fault, k_torque, k_wanted, k_active, k_speed, k_current, k_wheel, k_rate},
       1},
  };
  return table;
}

std::string join(const std::vector<std::string>& words) {
  std::string text;
  for (const auto& word : words) text += (text.empty() ? "" : " ") + word;
  return text;
}

bool all_of(const Concepts& says, const std::vector<Concept>& wanted) {
  return std::all_of(wanted.begin(), wanted.end(), [&](Concept c) { return says[c]; });
}

bool any_of(const Concepts& says, const std::vector<Concept>& wanted) {
  return std::any_of(wanted.begin(), wanted.end(), [&](Concept c) { return says[c]; });
}

/// Circuit of an isolation or prime valve: by number, or by axle or side as far as that goes.
Role circuit_role(QuantityKind quantity, const Reading& reading, const CarFacts& car) {
  if (reading.says[k_one] != reading.says[k_two])
    return Role::of_circuit(quantity, reading.says[k_one] ? 1 : 2);
  if (const auto corner = reading.place.corner()) {
    if (const auto circuit = circuit_of(car.split, *corner))
      return Role::of_circuit(quantity, *circuit);
    // A diagonal is named by its front wheel: FL+RR is circuit 1.
    return Role::of_circuit(quantity, *corner == Corner::fl || *corner == Corner::rr ? 1 : 2);
  }
  if (reading.place.front != reading.place.rear)
    return Role::of_circuit(quantity, reading.place.front ? 1 : 2);
  if (reading.place.left != reading.place.right)
    return Role::of_circuit(quantity, reading.place.left ? 1 : 2);
  return Role::of_car(quantity);
}

Wording read_one(const std::string& header, const std::optional<Unit>& unit, const CarFacts& car,
                 const Manner& manner) {
  auto reading = read_header(header, manner);
  Wording wording;
  auto& says = reading.says;
  auto& place = reading.place;
  wording.matched = join(reading.words);
  wording.says_date = says[k_date];
  wording.pulses = says[k_count_];
  wording.says_time = says[k_time] && !says[k_brake] && !says[k_abs] && !says[k_speed];

  if (place.driver != place.passenger && place.left == place.right) {
    const bool wheel_thing = place.front != place.rear &&
                             (says[k_wheel] || says[k_valve] || says[k_inlet] || says[k_outlet]);
    if (car.steering_side == SteeringSide::unknown) {
      if (wheel_thing) wording.question = "driver and passenger side need the car's steering side";
    } else {
      const bool left = (car.steering_side == SteeringSide::left) == place.driver;
      (left ? place.left : place.right) = true;
    }
  }
  if (!wording.question.empty()) return wording;
  if (says[k_foreign] || (says[k_latlon])) return wording;

  const auto corner = place.corner();
  const bool rear_axle = place.rear && !place.front && !place.left && !place.right;
  for (const auto& rule : rules()) {
    if (!all_of(says, rule.all) || any_of(says, rule.none)) continue;
    if (!rule.any.empty() && !any_of(says, rule.any)) continue;
    if (unit && unit->dimension != UnitDimension::other &&
        !unit_fits(rule.quantity, unit->dimension) && rule.rank < 3)
      continue;
    Role role;
    if (rule.where == Rule::Where::wheel) {
      if (corner)
        role = Role::at(rule.quantity, *corner);
      else if (rear_axle && !says[k_vehicle])
        role = Role::rear(rule.quantity);
      else
        continue;
      wording.isolation_word = says[k_isolation] && rule.quantity == QuantityKind::inlet;
    } else if (rule.where == Rule::Where::circuit) {
      role = circuit_role(rule.quantity, reading, car);
    } else {
      if (corner) continue;  // a flag or speed of one wheel is not the car's
      role = Role::of_car(rule.quantity);
    }
    wording.role = role;
    wording.rank = rule.rank * 10 + (says[k_command] ? 2 : 0) - (says[k_feedback] ? 2 : 0) -
                   (says[k_current] ? 3 : 0) - (says[k_average] ? 3 : 0);
    return wording;
  }
  if (unit && unit->dimension == UnitDimension::voltage && says[k_ignition]) {
    wording.role = Role::of_car(QuantityKind::supply_voltage);
    wording.rank = 10;
    return wording;
  }
  if (says[k_wheel] && !corner && !rear_axle && !says[k_steering] && !says[k_torque] &&
      !says[k_average])
    wording.question = "it belongs to a wheel, but which wheel is not said";
  if (corner || rear_axle) {
    wording.valve_unspecified = says[k_valve];
    wording.place_only = corner && !says[k_valve] && !says[k_torque] && !says[k_current] &&
                         !says[k_wanted] && !says[k_fault] && !says[k_abs] && !says[k_accel] &&
                         !says[k_time];
    if (wording.place_only || wording.valve_unspecified) {
      wording.role =
          corner ? Role::at(QuantityKind::valve, *corner) : Role::rear(QuantityKind::valve);
      if (wording.place_only) wording.role->quantity = QuantityKind::wheel_speed;
      wording.rank = 10;
    }
  }
  return wording;
}

}  // namespace

bool unit_fits(QuantityKind quantity, UnitDimension dimension) {
  using D = UnitDimension;
  using Q = QuantityKind;
  switch (quantity) {
    case Q::wheel_speed:
      return dimension == D::speed || dimension == D::angular_rate || dimension == D::frequency ||
             dimension == D::count;
    case Q::inlet:
    case Q::outlet:
    case Q::valve:
    case Q::isolation:
    case Q::prime:
    case Q::pump:
      return dimension == D::share || dimension == D::current || dimension == D::voltage ||
             dimension == D::count;
    case Q::wheel_pressure:
    case Q::master_pressure:
      return dimension == D::pressure;
    case Q::brake_travel:
    case Q::accelerator:
    case Q::throttle:
      return dimension == D::share || dimension == D::length || dimension == D::angle ||
             dimension == D::voltage;
    case Q::vehicle_speed:
    case Q::satellite_speed:
      return dimension == D::speed;
    case Q::accel_long:
    case Q::accel_lat:
      return dimension == D::acceleration;
    case Q::yaw_rate:
      return dimension == D::angular_rate;
    case Q::engine_speed:
      return dimension == D::angular_rate || dimension == D::frequency;
    case Q::steering_angle:
    case Q::ignition_timing:
      return dimension == D::angle;
    case Q::engine_torque:
      return dimension == D::torque || dimension == D::share;
    case Q::supply_voltage:
      return dimension == D::voltage;
    case Q::odometer:
      return dimension == D::length;
    case Q::brake_switch:
    case Q::abs_active:
    case Q::stability_active:
    case Q::traction_active:
    case Q::warning_lamp:
      return dimension == D::count || dimension == D::voltage;
  }
  return false;
}

std::vector<std::string> split_words(std::string_view header) {
  // Letter case shows where words meet ("whlSpdFL"), so it is looked at before folding.
  std::string spaced;
  const auto kind = [](char c) {
    if (c >= 'A' && c <= 'Z') return 'U';
    if (c >= 'a' && c <= 'z') return 'l';
    if (c >= '0' && c <= '9') return 'd';
    return static_cast<unsigned char>(c) >= 0x80 ? 'x' : ' ';
  };
  for (std::size_t i = 0; i < header.size(); ++i) {
    const char now = kind(header[i]);
    const char before = i > 0 ? kind(header[i - 1]) : ' ';
    const char after = i + 1 < header.size() ? kind(header[i + 1]) : ' ';
    const bool starts_word = (now == 'U' && (before == 'l' || before == 'x')) ||
                             (now == 'U' && before == 'U' && after == 'l' &&
                              (i + 2 >= header.size() || kind(header[i + 2]) == 'l')) ||
                             (now == 'd' && before != 'd') || (now != 'd' && before == 'd');
    if (starts_word) spaced += ' ';
    spaced += header[i];
  }
  std::vector<std::string> words;
  std::string word;
  for (const char c : fold_text(spaced) + ' ') {
    const bool part =
        (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || static_cast<unsigned char>(c) >= 0x80;
    if (part) {
      word += c;
    } else if (!word.empty()) {
      words.push_back(word);
      word.clear();
    }
  }
  return words;
}

std::vector<Wording> recognise_words(const std::vector<std::string>& headers,
                                     const std::vector<std::optional<Unit>>& units,
                                     const CarFacts& car) {
  Manner manner{foreign_initials(headers)};
  for (const auto& header : headers) {
    const auto words = join_initials(split_words(header));
    for (std::size_t i = 0; i + 1 < words.size(); ++i)
      manner.ev_av =
          manner.ev_av || (words[i] == "ev" && (corner_initials(initials_rows[0], words[i + 1]) ||
                                                corner_initials(initials_rows[1], words[i + 1])));
  }
  std::vector<Wording> wordings;
  wordings.reserve(headers.size());
  for (std::size_t i = 0; i < headers.size(); ++i)
    wordings.push_back(read_one(headers[i], units[i], car, manner));

  // Four or three wheels with an "isolation" column: inlets. One or two: circuit valves, and which
  // circuit a wheel's name means is not certain, so it is asked.
  const auto isolations = std::count_if(wordings.begin(), wordings.end(),
                                        [](const Wording& w) { return w.isolation_word; });
  for (auto& wording : wordings)
    if (wording.isolation_word && isolations < 3) {
      if (wording.role->place == PlaceKind::rear_axle) {
        wording.role = Role::of_circuit(QuantityKind::isolation, 2);
        continue;
      }
      wording.role.reset();
      wording.question = "isolation at " + std::to_string(isolations) +
                         (isolations == 1 ? " wheel" : " wheels") +
                         " could be an inlet or a circuit valve";
    }
  return wordings;
}

}  // namespace stopledger
