// Raw converter readings -> values in the wire's units, in integers. False: the sensor cannot be believed, leave it out.
#pragma once
#include <stdint.h>

#include "fixed.hpp"
#include "settings.hpp"

namespace limpid {

// A converter reading averaged over many conversions: share of full scale times 65536 (an input at the supply is 65535).
using Share = uint16_t;

// Nominal supply of the sensors, for channels whose calibration is in volts. The converter is ratiometric to it.
constexpr uint16_t supplyMv = 5000;

inline uint16_t shareToMv(Share share) {
  return static_cast<uint16_t>((static_cast<uint32_t>(share) * supplyMv + 32768u) >> 16);
}

// Ratiometric gauge pressure, 10 to 90 % of the supply over the span; below 8 or above 94 % is a fault of the wiring.
inline bool pressurePa(Share share, const Settings& settings, Fixed& value) {
  if (share < 5243 || share > 61604) return false;
  const int32_t over = static_cast<int32_t>(share) - 6554;
  const int32_t spanPa = static_cast<int32_t>(settings.pressureFullMbar) * 100;
  const int64_t pa = static_cast<int64_t>(over) * spanPa / 52429;
  value = {static_cast<int32_t>(pa) - static_cast<int32_t>(settings.pressureZeroMbar) * 100, 0};
  return true;
}

// Turbidity by the kit's own straight line; unplugged (pulled down) and over range are left out.
inline bool turbidityNtu(Share share, const Settings& settings, Fixed& value) {
  const uint16_t mv = shareToMv(share);
  if (mv < 50 || mv > settings.turbidityFullMv) return false;
  // Microvolts over the zero, so that averaging below one converter step is not thrown away.
  const int32_t uv = static_cast<int32_t>((static_cast<int64_t>(share) * supplyMv * 1000) >> 16) -
                     static_cast<int32_t>(settings.turbidityZeroMv) * 1000;
  value = {static_cast<int32_t>(static_cast<int64_t>(uv) * settings.turbidityNtuPerV / 1000), 3};
  return true;
}

// S/m with six decimals; 1 uS/cm is 1e-4 S/m.
inline bool conductivitySm(Share share, const Settings& settings, Fixed& value) {
  if (settings.conductivityUsPerV == 0) return false;
  const uint16_t mv = shareToMv(share);
  if (mv > supplyMv - 50) return false;
  value = {static_cast<int32_t>(static_cast<uint32_t>(mv) * settings.conductivityUsPerV / 10), 6};
  return true;
}

}  // namespace limpid
