#pragma once

#include <optional>
#include <vector>

#include "verify/prepared_log.h"

namespace stopledger {

/// What the car's speed through a stop rests on, beyond what its wheels say: as assumed, or one
/// standard deviation off, to see what that does to length and MFDD.
struct SpeedAssumption {
  double slip = 1.0;         ///< factor on the slip of the least slipping wheel
  double slip_beside = 0.0;  ///< slip added to it throughout
  double tail = 1.0;         ///< factor on the deceleration of the last metres
  double carried = 1.0;      ///< factor on the loss of speed while no wheel carried the car
};

/// The car's own speed through a stop.
struct CarSpeed {
  std::vector<double> t_s, v_mps;
  bool by_accelerometer = false;
};

/// A piece of the reference speed's grid in which the car braked.
struct BrakedPiece {
  const ReferenceSpeed& part;
  std::size_t from, to;  ///< grid points; from + 1 < to
  double stiffness;      ///< of the wheels' slip (criteria.edge_*)
  bool stands;           ///< it ends at standstill
};

/// The upper edge of the wheels taken back to the car's speed by its own slip. The last metres are
/// another matter: control lets the wheels go at walking pace and they fall away from the car, and
/// sensors fade out. There the car slows as it did before, until a wheel is above that line or the
/// car stands. Does not throw.
CarSpeed car_speed_by_wheels(const BrakedPiece& piece, const SpeedAssumption& assumption = {});

/// The car's speed by its accelerometer, scaled so that it leads from the rolling wheels' speed to
/// standstill, which frees it of offset, gain, pitch and slope. Nothing where it is not logged or
/// too slow, where the standstill is not in it, or where it does not fit the wheels.
/// Does not throw.
std::optional<CarSpeed> car_speed_by_accelerometer(const PreparedLog& run,
                                                   const BrakedPiece& piece);

}  // namespace stopledger
