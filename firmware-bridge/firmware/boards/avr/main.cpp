// The kit on an ATmega328P-class board at 16 MHz. All that is particular to the chip is here and in pins.hpp.
#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>
#include <stdlib.h>
#include <util/atomic.h>
#include <util/delay.h>

#include "../../kit-core/kit.hpp"
#include "pins.hpp"

using limpid::Analog;
using limpid::Share;

namespace {

// Bytes on their way out and in. Sizes are powers of two, so an 8-bit index wraps by itself.
volatile uint8_t sendRing[256];
volatile uint8_t sendHead = 0;
volatile uint8_t sendTail = 0;
volatile uint8_t hearRing[64];
volatile uint8_t hearHead = 0;
volatile uint8_t hearTail = 0;

volatile uint16_t ticksHigh = 0;

struct Sum {
  volatile uint32_t sum;
  volatile uint16_t count;
};
Sum sums[limpid::analogCount];
// A channel is read this many times in a row; the first after a switch of the multiplexer is thrown away.
constexpr uint8_t runLength = 17;
volatile uint8_t converting = 0;
volatile uint8_t inRun = 0;

limpid::PulseTrain train;

// Timer 1 ticks each 4 us; its overflow extends it to 32 bits. Times four it wraps cleanly at 32 bits, so that
// differences stay right. Called with interrupts off.
uint32_t ticksUs() {
  const uint16_t low = TCNT1;
  uint16_t high = ticksHigh;
  if ((TIFR1 & _BV(TOV1)) && low < 0x8000) high++;
  return ((static_cast<uint32_t>(high) << 16) | low) << 2;
}

volatile uint32_t millisecondsNow = 0;

const uint8_t muxOf[limpid::analogCount] = {ADC_PRESSURE, ADC_TURBIDITY, ADC_CONDUCTIVITY};

struct Wire : limpid::OneWireLine {
  explicit Wire(uint8_t bit) : mask(static_cast<uint8_t>(_BV(bit))) {}
  const uint8_t mask;

  void low() {
    PORTD &= static_cast<uint8_t>(~mask);
    DDRD |= mask;
  }
  void free() { DDRD &= static_cast<uint8_t>(~mask); }
  bool high() const { return (PIND & mask) != 0; }

  bool reset() override {
    low();
    _delay_us(480);
    bool present = false;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
      free();
      _delay_us(70);
      present = !high();
    }
    _delay_us(410);
    // A line that stays low is shorted, not answered.
    return present && high();
  }

  void write(uint8_t byte) override {
    for (uint8_t bit = 0; bit < 8; bit++) {
      const bool one = (byte >> bit) & 1;
      ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        low();
        if (one) {
          _delay_us(6);
        } else {
          _delay_us(60);
        }
        free();
      }
      if (one) {
        _delay_us(64);
      } else {
        _delay_us(10);
      }
    }
  }

  uint8_t read() override {
    uint8_t byte = 0;
    for (uint8_t bit = 0; bit < 8; bit++) {
      ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        low();
        _delay_us(3);
        free();
        _delay_us(9);
        if (high()) byte = static_cast<uint8_t>(byte | (1 << bit));
      }
      _delay_us(58);
    }
    return byte;
  }
};

struct AvrBoard final : limpid::Board {
  void put(uint8_t byte) override {
    // The caller asked for room first; waiting here is the safety net, and interrupts are on.
    while (static_cast<uint8_t>(sendHead + 1) == sendTail) {
    }
    sendRing[sendHead] = byte;
    // Together: else the interrupt could send this byte and rest before it is told to wake.
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
      sendHead = static_cast<uint8_t>(sendHead + 1);
      UCSR0B |= _BV(UDRIE0);
    }
  }
  uint16_t room() override { return static_cast<uint8_t>(sendTail - sendHead - 1); }

  uint32_t nowMs() override {
    uint32_t ms = 0;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { ms = millisecondsNow; }
    return ms;
  }
  uint32_t nowUs() override {
    uint32_t us = 0;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { us = ticksUs(); }
    return us;
  }

  bool nextByte(uint8_t& byte) override {
    if (hearHead == hearTail) return false;
    byte = hearRing[hearTail];
    hearTail = static_cast<uint8_t>((hearTail + 1) & 63);
    return true;
  }

  bool analog(Analog input, Share& share) override {
    const uint8_t i = static_cast<uint8_t>(input);
    uint32_t sum = 0;
    uint16_t count = 0;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
      sum = sums[i].sum;
      count = sums[i].count;
      sums[i].sum = 0;
      sums[i].count = 0;
    }
    if (count == 0) return false;
    // 10-bit codes: share of full scale is code / 1024; 64 of the 65536 parts a step.
    share = static_cast<Share>((sum * 64u + count / 2u) / count);
    return true;
  }

  void pulses(uint32_t& count, uint32_t& lastUs) override {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
      count = train.count;
      lastUs = train.lastUs;
    }
  }

  bool buttonDown() override { return (PIND & _BV(PIN_BUTTON_BIT)) == 0; }
  void light(bool on) override {
    if (on) {
      PORTB |= _BV(PIN_LIGHT_BIT);
    } else {
      PORTB &= static_cast<uint8_t>(~_BV(PIN_LIGHT_BIT));
    }
  }
  void alive() override { wdt_reset(); }

  uint8_t read(uint16_t at) override { return eeprom_read_byte(reinterpret_cast<const uint8_t*>(at)); }
  void write(uint16_t at, uint8_t byte) override { eeprom_update_byte(reinterpret_cast<uint8_t*>(at), byte); }
};

AvrBoard board;
Wire supplyWire(PIN_SUPPLY_BIT);
Wire returnWire(PIN_RETURN_BIT);
limpid::Kit kit(board, supplyWire, returnWire);

void setUp() {
  wdt_enable(WDTO_2S);

  DDRB |= _BV(PIN_LIGHT_BIT);
  PORTD |= _BV(PIN_FLOW_BIT) | _BV(PIN_BUTTON_BIT);

  // 8N1; double speed gives 117,647 baud for 115,200 at 16 MHz (+2.1 %), inside what a receiver takes.
  UBRR0 = static_cast<uint16_t>((F_CPU / 4 / baud - 1) / 2);
  UCSR0A = _BV(U2X0);
  UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
  UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);

  TCCR1B = _BV(CS11) | _BV(CS10);  // 16 MHz / 64
  TIMSK1 = _BV(TOIE1);
  TCCR0A = _BV(WGM01);  // a tick each millisecond: 16 MHz / 64 / 250
  TCCR0B = _BV(CS01) | _BV(CS00);
  OCR0A = 249;
  TIMSK0 = _BV(OCIE0A);

  EICRA = _BV(ISC01);  // falling edge
  EIMSK = _BV(INT0);

  ADMUX = static_cast<uint8_t>(_BV(REFS0) | muxOf[0]);  // reference: the supply, which the sensors share
  ADCSRA = _BV(ADEN) | _BV(ADIE) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0) | _BV(ADSC);
  sei();
}

}  // namespace

ISR(USART_UDRE_vect) {
  UDR0 = sendRing[sendTail];
  sendTail = static_cast<uint8_t>(sendTail + 1);
  // Rests at the last byte: it is never entered with nothing to send.
  if (sendHead == sendTail) UCSR0B &= static_cast<uint8_t>(~_BV(UDRIE0));
}

ISR(USART_RX_vect) {
  const uint8_t byte = UDR0;
  const uint8_t next = static_cast<uint8_t>((hearHead + 1) & 63);
  if (next == hearTail) return;  // full: the line's CRC tells
  hearRing[hearHead] = byte;
  hearHead = next;
}

ISR(TIMER0_COMPA_vect) { millisecondsNow = millisecondsNow + 1; }

ISR(TIMER1_OVF_vect) { ticksHigh = static_cast<uint16_t>(ticksHigh + 1); }

ISR(INT0_vect) { train.edge(ticksUs()); }

ISR(ADC_vect) {
  const uint16_t code = ADC;
  const uint8_t i = converting;
  if (inRun > 0 && sums[i].count < 4096) {
    sums[i].sum = sums[i].sum + code;
    sums[i].count = static_cast<uint16_t>(sums[i].count + 1);
  }
  inRun = static_cast<uint8_t>(inRun + 1);
  if (inRun >= runLength) {
    inRun = 0;
    converting = static_cast<uint8_t>(i + 1 < limpid::analogCount ? i + 1 : 0);
    ADMUX = static_cast<uint8_t>(_BV(REFS0) | muxOf[converting]);
  }
  ADCSRA |= _BV(ADSC);
}

int main() {
  setUp();
  kit.start();
  for (;;) kit.step();
}

// A virtual destructor or pure call would need these; nothing is ever freed.
extern "C" void __cxa_pure_virtual() { abort(); }
