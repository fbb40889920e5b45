// Just enough of the usual C++ core to run the sketch of docs/wire.md on this machine.
#pragma once
#include <cstdint>
#include <cstdio>
#include <cstring>

struct Print {
  virtual ~Print() {}
  virtual size_t write(uint8_t byte) = 0;
  void print(const char *text) {
    while (*text) write((uint8_t)*text++);
  }
  void print(double value, int digits) {
    char text[40];
    snprintf(text, sizeof text, "%.*f", digits, value);
    print(text);
  }
};

struct Port : Print {
  void begin(long) {}
  size_t write(uint8_t byte) override { return fwrite(&byte, 1, 1, stdout); }
};
extern Port Serial;

const int A0 = 14;
uint32_t millis();
int analogRead(int pin);
