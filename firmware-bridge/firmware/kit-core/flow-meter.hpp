// Flow from the pulses of a hall-effect turbine. Periods are timed, not pulses counted per window, so that a slow flow is
// not quantised to whole pulses.
#pragma once
#include <stdint.h>

#include "fixed.hpp"

namespace limpid {

// Filled by the interrupt; 32-bit microseconds wrap after 71 minutes, and all differences are taken modulo that.
struct PulseTrain {
  // A turbine of this kind gives at most about 400 pulses a second; closer edges are contact noise.
  static constexpr uint32_t shortestUs = 1000;

  volatile uint32_t count = 0;
  volatile uint32_t lastUs = 0;
  volatile uint16_t bounced = 0;

  void edge(uint32_t nowUs) {
    if (count > 0 && nowUs - lastUs < shortestUs) {
      if (bounced < 0xFFFF) bounced++;
      return;
    }
    lastUs = nowUs;
    count++;
  }
};

class FlowMeter {
 public:
  // No pulse for this long is no flow.
  static constexpr uint32_t stillUs = 2000000;

  // `count` and `lastUs` read together from the train. Pulses a second times 1000.
  uint32_t step(uint32_t count, uint32_t lastUs, uint32_t nowUs) {
    const uint32_t pulses = count - count_;
    if (pulses > 0) {
      const uint32_t spanUs = lastUs - lastUs_;
      // After a stillness the first pulse has no period of its own.
      milliHz_ = still_ || spanUs == 0 ? milliHz_ : perSecond(pulses, spanUs);
      count_ = count;
      lastUs_ = lastUs;
      still_ = false;
    }
    if (!still_) {
      const uint32_t waitUs = nowUs - lastUs_;
      if (waitUs >= stillUs) {
        still_ = true;
        milliHz_ = 0;
      } else if (waitUs > 0) {
        // The pulse that did not come yet bounds the flow from above.
        const uint32_t most = perSecond(1, waitUs);
        if (most < milliHz_) milliHz_ = most;
      }
    }
    return milliHz_;
  }

  // m3/s with nine decimals, i.e. microlitres a second: pulses a second over pulses a litre.
  static Fixed flow(uint32_t milliHz, uint16_t pulsesPerLitre) {
    if (pulsesPerLitre == 0) return {0, 9};
    const uint64_t microlitres = static_cast<uint64_t>(milliHz) * 1000u / pulsesPerLitre;
    return {static_cast<int32_t>(microlitres > 2000000000u ? 2000000000u : microlitres), 9};
  }

 private:
  static uint32_t perSecond(uint32_t pulses, uint32_t spanUs) {
    const uint64_t milliHz = static_cast<uint64_t>(pulses) * 1000000000u / spanUs;
    return milliHz > 0xFFFFFFFFu ? 0xFFFFFFFFu : static_cast<uint32_t>(milliHz);
  }

  uint32_t count_ = 0;
  uint32_t lastUs_ = 0;
  uint32_t milliHz_ = 0;
  bool still_ = true;
};

}  // namespace limpid
