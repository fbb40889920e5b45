// What a kit keeps over a power cut: settings guarded by a CRC with defaults behind them, and the count of starts.
#pragma once
#include <stdint.h>

#include "crc16.hpp"

namespace limpid {

struct Storage {
  virtual uint8_t read(uint16_t at) = 0;
  virtual void write(uint16_t at, uint8_t byte) = 0;  // a board skips writing what is there already

 protected:
  ~Storage() = default;
};

struct Settings {
  // Raise it with each change of a default below, so that a board lets go of what it kept (docs/kit/README.md, Settings).
  static constexpr uint8_t currentVersion = 1;

  uint8_t version = currentVersion;
  uint8_t rateDeciHz = 100;          // packs a second times ten: 0.5 to 20 Hz
  uint16_t pulsesPerLitre = 450;     // flow meter; from its data sheet, better from a bucket and a scale. 0: no meter
  uint16_t pressureFullMbar = 10000;  // sensor's span: 10 to 90 % of the supply
  int16_t pressureZeroMbar = 0;      // taken off each reading; set by do-zero
  uint16_t turbidityZeroMv = 500;    // output in clean water; set by do-zero
  uint16_t turbidityNtuPerV = 1000;  // slope of a plain linear sensor; the bridge's calibration is better
  uint16_t turbidityFullMv = 4800;   // above: over range
  uint16_t conductivityUsPerV = 0;   // 0: no conductivity sensor
};

// Layout in storage: start count (two copies, so that a cut in mid-write costs one count at most), then settings and CRC.
constexpr uint16_t bootAt = 0;
constexpr uint16_t settingsAt = 16;

inline uint16_t settingsCrc(const Settings& settings) {
  const uint8_t* bytes = reinterpret_cast<const uint8_t*>(&settings);
  uint16_t crc = crc16Start;
  for (uint8_t i = 0; i < sizeof(Settings); i++) crc = crc16(crc, bytes[i]);
  return crc;
}

// False when nothing sound was kept: `settings` then holds the defaults.
inline bool loadSettings(Storage& storage, Settings& settings) {
  Settings kept;
  uint8_t* bytes = reinterpret_cast<uint8_t*>(&kept);
  for (uint8_t i = 0; i < sizeof(Settings); i++) bytes[i] = storage.read(static_cast<uint16_t>(settingsAt + i));
  uint16_t crc = storage.read(static_cast<uint16_t>(settingsAt + sizeof(Settings)));
  crc = static_cast<uint16_t>(crc | (storage.read(static_cast<uint16_t>(settingsAt + sizeof(Settings) + 1)) << 8));
  if (crc != settingsCrc(kept) || kept.version != Settings::currentVersion) {
    settings = Settings();
    return false;
  }
  settings = kept;
  return true;
}

inline void saveSettings(Storage& storage, const Settings& settings) {
  const uint8_t* bytes = reinterpret_cast<const uint8_t*>(&settings);
  for (uint8_t i = 0; i < sizeof(Settings); i++) storage.write(static_cast<uint16_t>(settingsAt + i), bytes[i]);
  const uint16_t crc = settingsCrc(settings);
  storage.write(static_cast<uint16_t>(settingsAt + sizeof(Settings)), static_cast<uint8_t>(crc & 0xFF));
  storage.write(static_cast<uint16_t>(settingsAt + sizeof(Settings) + 1), static_cast<uint8_t>(crc >> 8));
}

// One copy: four bytes of count, least first, then their CRC-16. 0 where the copy is broken.
inline uint32_t readBoot(Storage& storage, uint16_t at) {
  uint32_t count = 0;
  uint16_t crc = crc16Start;
  for (uint8_t i = 0; i < 4; i++) {
    const uint8_t byte = storage.read(static_cast<uint16_t>(at + i));
    count |= static_cast<uint32_t>(byte) << (8 * i);
    crc = crc16(crc, byte);
  }
  const uint16_t kept = static_cast<uint16_t>(storage.read(static_cast<uint16_t>(at + 4)) |
                                              (storage.read(static_cast<uint16_t>(at + 5)) << 8));
  return kept == crc ? count : 0;
}

// Counts this start and returns the new count, which is larger than every one before. The older copy is overwritten.
inline uint32_t countBoot(Storage& storage) {
  const uint32_t first = readBoot(storage, bootAt);
  const uint32_t second = readBoot(storage, bootAt + 8);
  const uint32_t count = (first > second ? first : second) + 1;
  const uint16_t at = first > second ? bootAt + 8 : bootAt;
  uint16_t crc = crc16Start;
  for (uint8_t i = 0; i < 4; i++) {
    const uint8_t byte = static_cast<uint8_t>(count >> (8 * i));
    storage.write(static_cast<uint16_t>(at + i), byte);
    crc = crc16(crc, byte);
  }
  storage.write(static_cast<uint16_t>(at + 4), static_cast<uint8_t>(crc & 0xFF));
  storage.write(static_cast<uint16_t>(at + 5), static_cast<uint8_t>(crc >> 8));
  return count;
}

}  // namespace limpid
