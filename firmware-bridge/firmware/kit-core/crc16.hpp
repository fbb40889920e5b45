// CRC-16/CCITT-FALSE: polynomial 0x1021, initial 0xFFFF, no reflection, no final xor; "123456789" gives 0x29B1.
#pragma once
#include <stdint.h>

namespace limpid {

constexpr uint16_t crc16Start = 0xFFFF;

// Two nibbles a byte: 16 table entries, quick enough to run while a line is streamed.
inline uint16_t crc16(uint16_t crc, uint8_t byte) {
  crc = static_cast<uint16_t>((crc >> 8) | (crc << 8));
  crc ^= byte;
  crc ^= static_cast<uint16_t>((crc & 0xFF) >> 4);
  crc ^= static_cast<uint16_t>(crc << 12);
  crc ^= static_cast<uint16_t>((crc & 0xFF) << 5);
  return crc;
}

}  // namespace limpid
