// Just enough of a Wi-Fi board's core to run boards/wifi on the host; board.cpp is the board.
#pragma once
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#define IRAM_ATTR
#define INPUT 0
#define OUTPUT 1
#define INPUT_PULLUP 2
#define OUTPUT_OPEN_DRAIN 3
#define LOW 0
#define HIGH 1
#define FALLING 2
struct portMUX_TYPE {};
#define portMUX_INITIALIZER_UNLOCKED \
  {}
inline void portENTER_CRITICAL(portMUX_TYPE*) {}
inline void portEXIT_CRITICAL(portMUX_TYPE*) {}
inline void portENTER_CRITICAL_ISR(portMUX_TYPE*) {}
inline void portEXIT_CRITICAL_ISR(portMUX_TYPE*) {}
void pinMode(uint8_t, uint8_t);
void digitalWrite(uint8_t, uint8_t);
int digitalRead(uint8_t);
uint16_t analogRead(uint8_t);
unsigned long millis();
unsigned long micros();
void delayMicroseconds(uint32_t);
int digitalPinToInterrupt(uint8_t);
void attachInterrupt(int, void (*)(), int);
struct Port {
  void begin(unsigned long);
  size_t write(uint8_t);
  int available();
  int read();
};
extern Port Serial;
struct Chip {
  void restart();
};
extern Chip ESP;
