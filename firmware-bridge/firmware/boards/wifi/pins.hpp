// Pins of a Wi-Fi board of the ESP32 class. Analogue pins of converter 1 only: converter 2 rests while the radio works.
#pragma once

#define PIN_PRESSURE 34
#define PIN_TURBIDITY 35
#define PIN_CONDUCTIVITY 32
#define PIN_FLOW 27
#define PIN_BUTTON 26
#define PIN_SUPPLY 25
#define PIN_RETURN 33
#define PIN_LIGHT 2
