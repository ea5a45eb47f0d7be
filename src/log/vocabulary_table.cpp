#include "log/vocabulary.h"

namespace stopledger::wording {
namespace {

// Words by meaning; other usual trade languages beside English. All common practice.
constexpr VocabularyRow rows_by_meaning[] = {
    {k_wheel, "wheel whl wheels whls rad raeder rader roue roues rueda ruota hjul wiel"},
    {k_speed,
     "speed speeds spd spds vel velocity veloc geschw geschwindigkeit vitesse vit velocidad "
     "velocita hastighet snelheid kmh kph mph tacho drehz drehzahl"},
    {k_vehicle,
     "vehicle veh car vhcl fahrzeug fzg vehicule vehiculo veicolo road ground speedo "
     "speedometer body chassis odom obd"},
    {k_reference, "ref reference vref referenz"},
    {k_satellite, "gps gnss satellite sat satellites"},
    {k_engine,
     "engine eng motordrehzahl moteur regime regimen crank crankshaft kurbelwelle revs rev"},
    {k_valve,
     "valve vlv valv valves ventil ventile vanne electrovanne valvula valvola ventiel "
     "solenoid sol solenoids modulator mod slnd magnetventil mv coil spule elettrovalvola "
     "electrovalvula klep klepp ventilen"},
    {k_inlet,
     "inlet inl inlets inv einlass einlassventil einl admission entree entrada inlaat "
     "ingresso immissione ammissione inlopp inlopps in invlv invalve"},
    {k_outlet,
     "outlet outl outlets auslass auslassventil ausl echappement sortie salida uscita "
     "uitlaat scarico dump dumps decay exhaust vent utlopp utlopps out outvlv drain"},
    {k_build, "build apply increase aufbau reapply pressureup"},
    {k_hold, "hold halten halte maintien holding"},
    {k_release, "release abbau decrease reduce reduction reducing relache"},
    {k_isolation,
     "isolation iso isol isolate changeover cutoff cut separation pilot trennventil "
     "umschaltventil usv isolating isolator"},
    {k_prime,
     "prime priming suction shuttle ansaugventil saugventil charging hsv intakevalve "
     "suctionvalve"},
    {k_pump, "pump pmp pumpe pompe bomba pompa pomp rueckfoerderpumpe ruckforderpumpe"},
    {k_motor, "motor mtr"},
    {k_return,
     "return recirculation recirc retour ricircolo scavenge hydraulic hydr hydraulics hydraulik "
     "modulator hcu"},
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
     "bremslichtschalter brakeswitch bremsschalter stoplamp brakelight kontakt schakelaar "
     "brytare"},
    {k_position,
     "position pos travel posn stroke weg pedalweg stellung course recorrido corsa "
     "posicion posizione displacement"},
    {k_accel,
     "accel acceleration acc accl beschleunigung beschl aceleracion accelerazione "
     "accelerometer decel deceleration acceler"},
    {k_gforce, "g gforce gs gee"},
    {k_lateral,
     "lateral lat quer querbeschleunigung laterale transversale transversal transverse ay latg "
     "latacc "
     "side sideways accy latacceleration"},
    {k_longitudinal,
     "longitudinal longitudinale long longit lon laengs langs langsbeschleunigung ax longg longacc "
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
     "throttle thr tps thrott drosselklappe drosselklappen drossel papillon mariposa farfalla tp "
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
     "supply vsup usup bordnetz versorgung versorgungs"},
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
     "secs second seconds sek ms msec millis milliseconds utc clock epoch runtime zeitstempel us "
     "usec micros "
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
     "rail accumulator reservoir differential diff hdg mag magnetometer lean roll pitch gyrox "
     "gyroy"},
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
constexpr DoubleWord words_of_two_meanings[] = {
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
    {"vspd", {k_vehicle, k_speed}},
    {"vspeed", {k_vehicle, k_speed}},
    {"speedo", {k_vehicle, k_speed}},
    {"speedometer", {k_vehicle, k_speed}},
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
    {"gx", {k_longitudinal, k_accel}},
    {"gy", {k_lateral, k_accel}},
    {"accx", {k_longitudinal, k_accel}},
    {"accy", {k_lateral, k_accel}},
    {"latg", {k_lateral, k_accel}},
    {"longg", {k_longitudinal, k_accel}},
    {"latacc", {k_lateral, k_accel}},
    {"longacc", {k_longitudinal, k_accel}},
    {"bls", {k_brake, k_switch}},
    {"bts", {k_brake, k_switch}},
    {"bpp", {k_brake, k_pedal}},
    {"sls", {k_brake, k_switch}},
    {"bromsljus", {k_brake, k_switch}},
    {"remlicht", {k_brake, k_switch}},
    {"brakelight", {k_brake, k_switch}},
    {"stoplamp", {k_brake, k_switch}},
    {"bremslichtschalter", {k_brake, k_switch}},
    {"bremslicht", {k_brake, k_switch}},
    {"brakeswitch", {k_brake, k_switch}},
    {"bremsschalter", {k_brake, k_switch}},
    {"bremsdruck", {k_brake, k_pressure}},
    {"vordruck", {k_master, k_pressure}},
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
    {"drehrate", {k_yaw, k_rate}},
    {"vorderachse", {k_front, k_front}},
    {"hinterachse", {k_rear, k_rear}},
    {"sas", {k_steering, k_angle}},
    {"swa", {k_steering, k_angle}},
    {"vitesse", {k_speed, k_speed}},
};

}  // namespace

std::span<const VocabularyRow> vocabulary_rows() { return rows_by_meaning; }
std::span<const DoubleWord> double_words() { return words_of_two_meanings; }

}  // namespace stopledger::wording
