#pragma once
#include <cstdint>

// A new chip.
struct Memory {
  uint32_t word = 0xFFFFFFFF;
  void get(int, uint32_t &value) { value = word; }
  void put(int, uint32_t value) { word = value; }
};
extern Memory EEPROM;
