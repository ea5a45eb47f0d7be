#include "log/words.h"

namespace stopledger {

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

}  // namespace stopledger
