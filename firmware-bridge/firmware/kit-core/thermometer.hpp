// A digital thermometer on a 1-wire line of its own, never waited for: each step does at most one byte (about half a
// millisecond), a conversion takes 750 ms in the background. Register values: data sheet of the 12-bit device.
#pragma once
#include <stdint.h>

#include "fixed.hpp"

namespace limpid {

// CRC-8/MAXIM-DOW ("123456789" gives 0xA1), which guards ROM codes and scratchpads.
inline uint8_t crc8(uint8_t crc, uint8_t byte) {
  crc ^= byte;
  for (uint8_t bit = 0; bit < 8; bit++) crc = static_cast<uint8_t>((crc & 1) ? (crc >> 1) ^ 0x8C : crc >> 1);
  return crc;
}

// What a board does for one line. `reset` is true when a device answered.
struct OneWireLine {
  virtual bool reset() = 0;
  virtual void write(uint8_t byte) = 0;
  virtual uint8_t read() = 0;

 protected:
  ~OneWireLine() = default;
};

class Thermometer {
 public:
  static constexpr uint16_t conversionMs = 750;
  static constexpr uint16_t betweenMs = 250;
  // A reading older than this is no reading.
  static constexpr uint16_t staleMs = 3500;

  explicit Thermometer(OneWireLine& line) : line_(line) {}

  void step(uint32_t nowMs) {
    switch (phase_) {
      case Phase::rest:
        if (nowMs - sinceMs_ < betweenMs) return;
        next(line_.reset() ? (haveRom_ ? Phase::convertSkip : Phase::romAsk) : Phase::rest, nowMs);
        return;
      case Phase::romAsk:
        line_.write(0x33);
        index_ = 0;
        next(Phase::romRead, nowMs);
        return;
      case Phase::romRead:
        bytes_[index_++] = line_.read();
        if (index_ < 8) return;
        haveRom_ = intact(8) && bytes_[0] != 0;
        if (haveRom_) {
          for (uint8_t i = 0; i < 8; i++) rom_[i] = bytes_[i];
        }
        next(Phase::rest, nowMs);
        return;
      case Phase::convertSkip:
        line_.write(0xCC);
        next(Phase::convert, nowMs);
        return;
      case Phase::convert:
        line_.write(0x44);
        next(Phase::wait, nowMs);
        return;
      case Phase::wait:
        if (nowMs - sinceMs_ < conversionMs) return;
        next(line_.reset() ? Phase::readSkip : Phase::rest, nowMs);
        return;
      case Phase::readSkip:
        line_.write(0xCC);
        next(Phase::readAsk, nowMs);
        return;
      case Phase::readAsk:
        line_.write(0xBE);
        index_ = 0;
        next(Phase::read, nowMs);
        return;
      case Phase::read:
        bytes_[index_++] = line_.read();
        if (index_ < 9) return;
        take(nowMs);
        next(Phase::rest, nowMs);
        return;
    }
  }

  // False while there is no fresh, intact reading.
  bool celsius(uint32_t nowMs, Fixed& value) const {
    if (!haveValue_ || nowMs - readMs_ > staleMs) return false;
    value = {static_cast<int32_t>(raw_) * 625, 4};
    return true;
  }

  // ROM code, family byte first; null until one was read.
  const uint8_t* rom() const { return haveRom_ ? rom_ : nullptr; }

 private:
  enum class Phase : uint8_t { rest, romAsk, romRead, convertSkip, convert, wait, readSkip, readAsk, read };

  void next(Phase phase, uint32_t nowMs) {
    phase_ = phase;
    sinceMs_ = nowMs;
  }

  bool intact(uint8_t count) const {
    uint8_t crc = 0;
    for (uint8_t i = 0; i < count; i++) crc = crc8(crc, bytes_[i]);
    return crc == 0;
  }

  void take(uint32_t nowMs) {
    // All zeros pass the CRC: that is a line held down, and no device has configuration 0.
    if (!intact(9) || bytes_[4] == 0) return;
    const int16_t raw = static_cast<int16_t>(static_cast<uint16_t>(bytes_[0] | (bytes_[1] << 8)));
    // +85 is the power-on value: as the first reading, or after 10 degrees of jump, it means "not converted".
    if (raw == 0x0550 && (!haveValue_ || raw_ < 0x04B0)) return;
    raw_ = raw;
    readMs_ = nowMs;
    haveValue_ = true;
  }

  OneWireLine& line_;
  Phase phase_ = Phase::rest;
  uint32_t sinceMs_ = 0;
  uint32_t readMs_ = 0;
  int16_t raw_ = 0;
  bool haveValue_ = false;
  bool haveRom_ = false;
  uint8_t index_ = 0;
  uint8_t rom_[8] = {};
  uint8_t bytes_[9] = {};
};

}  // namespace limpid
