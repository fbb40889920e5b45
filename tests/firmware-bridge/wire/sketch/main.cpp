// Runs the sketch for two seconds of its own time; in the second one its sensor is unplugged.
#include "Arduino.h"
#include "EEPROM.h"

Port Serial;
Memory EEPROM;
static uint32_t now;
uint32_t millis() { return now; }
int analogRead(int) { return now < 1000 ? 512 : 1023; }
void setup();
void loop();

int main() {
  setup();
  for (now = 0; now < 2000; now++) loop();
  return 0;
}
