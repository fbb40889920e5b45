// Readings -> one SenML line (RFC 8428), streamed record by record with a running CRC: no line is ever held whole.
#pragma once
#include <stdint.h>

#include "crc16.hpp"
#include "fixed.hpp"

namespace limpid {

// Where bytes go.
struct ByteSink {
  virtual void put(uint8_t byte) = 0;

 protected:
  ~ByteSink() = default;
};

constexpr uint8_t urnSize = 40;  // "urn:dev:ow:" + 16 hex digits, or "urn:dev:mac:" + 16, and a final zero

// The longest record: first of a pack, with base name, longest channel name, unit and number.
constexpr uint16_t longestRecord = 120;

class SenmlLine {
 public:
  explicit SenmlLine(ByteSink& sink) : sink_(sink) {}

  // Begins a pack; the base name goes into its first record.
  void begin(const char* urn);
  void number(const char* name, const char* unit, Fixed value);
  void flag(const char* name, bool value);
  // Quotes, backslashes and control bytes of `value` are left out: the text is the firmware's own or a name.
  void text(const char* name, const char* value);
  // Ends the pack: bracket, CRC, line feed.
  void end();

 private:
  void put(char c);
  void put(const char* s);
  void open(const char* name);

  ByteSink& sink_;
  const char* urn_ = "";
  uint16_t crc_ = crc16Start;
  bool first_ = true;
};

}  // namespace limpid
