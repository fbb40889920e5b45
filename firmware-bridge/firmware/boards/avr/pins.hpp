// Pin table of the ATmega328P-class board: the only place with pin numbers. docs/kit/ draws the wiring from this table.
#pragma once
#include <avr/io.h>

// name of the pin on common boards | port bit | used for
#define PIN_FLOW_BIT PD2      // D2 | INT0 | flow meter pulse, pulled up
#define PIN_BUTTON_BIT PD3    // D3 | pass button to ground, pulled up
#define PIN_SUPPLY_BIT PD4    // D4 | 1-wire, supply thermometer, 4.7 kOhm to 5 V
#define PIN_RETURN_BIT PD5    // D5 | 1-wire, return thermometer, 4.7 kOhm to 5 V
#define PIN_LIGHT_BIT PB5     // D13 | status light

#define ADC_PRESSURE 0        // A0 | ratiometric pressure sensor, 0.5 to 4.5 V
#define ADC_TURBIDITY 1       // A1 | turbidity sensor output
#define ADC_CONDUCTIVITY 2    // A2 | conductivity board output, optional

constexpr unsigned long baud = 115200;
