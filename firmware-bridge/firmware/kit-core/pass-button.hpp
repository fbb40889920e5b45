// The button that tells a pass: pressed once, told once, however its contact bounces.
#pragma once
#include <stdint.h>

namespace limpid {

class PassButton {
 public:
  // A level must hold this long to be believed; and after a press nothing is told for `restMs`.
  static constexpr uint16_t holdMs = 30;
  static constexpr uint16_t restMs = 300;

  // Call often with the raw level; true once at each press.
  bool step(bool down, uint32_t nowMs) {
    if (down != raw_) {
      raw_ = down;
      sinceMs_ = nowMs;
    }
    if (raw_ == believed_ || nowMs - sinceMs_ < holdMs) return false;
    believed_ = raw_;
    if (!believed_ || (told_ && nowMs - toldMs_ < restMs)) return false;
    told_ = true;
    toldMs_ = nowMs;
    return true;
  }

 private:
  bool raw_ = false;
  bool believed_ = false;
  bool told_ = false;
  uint32_t sinceMs_ = 0;
  uint32_t toldMs_ = 0;
};

}  // namespace limpid
