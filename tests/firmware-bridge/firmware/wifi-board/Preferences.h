#pragma once
#include <stddef.h>
#include <stdint.h>
struct Preferences {
  bool begin(const char*, bool);
  size_t getBytes(const char*, void*, size_t);
  size_t putBytes(const char*, const void*, size_t);
  size_t getString(const char*, char*, size_t);
  size_t putString(const char*, const char*);
  uint16_t getUShort(const char*, uint16_t);
  size_t putUShort(const char*, uint16_t);
};
