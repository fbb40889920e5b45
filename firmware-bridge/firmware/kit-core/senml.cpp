#include "senml.hpp"

namespace limpid {

void SenmlLine::put(char c) {
  crc_ = crc16(crc_, static_cast<uint8_t>(c));
  sink_.put(static_cast<uint8_t>(c));
}

void SenmlLine::put(const char* s) {
  while (*s != '\0') put(*s++);
}

void SenmlLine::begin(const char* urn) {
  urn_ = urn;
  crc_ = crc16Start;
  first_ = true;
}

void SenmlLine::open(const char* name) {
  if (first_) {
    put("[{\"bn\":\"");
    put(urn_);
    put("_\",");
  } else {
    put(",{");
  }
  first_ = false;
  put("\"n\":\"");
  put(name);
  put('"');
}

void SenmlLine::number(const char* name, const char* unit, Fixed value) {
  open(name);
  put(",\"u\":\"");
  put(unit);
  put("\",\"v\":");
  char text[fixedTextSize];
  const uint8_t length = fixedToText(value, text);
  for (uint8_t i = 0; i < length; i++) put(text[i]);
  put('}');
}

void SenmlLine::flag(const char* name, bool value) {
  open(name);
  put(value ? ",\"vb\":true}" : ",\"vb\":false}");
}

void SenmlLine::text(const char* name, const char* value) {
  open(name);
  put(",\"vs\":\"");
  for (; *value != '\0'; value++) {
    if (*value >= ' ' && *value != '"' && *value != '\\' && *value != 0x7F) put(*value);
  }
  put("\"}");
}

void SenmlLine::end() {
  put(first_ ? "[]" : "]");
  const uint16_t crc = crc_;
  sink_.put('*');
  for (int8_t shift = 12; shift >= 0; shift = static_cast<int8_t>(shift - 4)) {
    const uint8_t nibble = (crc >> shift) & 0xF;
    sink_.put(static_cast<uint8_t>(nibble < 10 ? '0' + nibble : 'A' + nibble - 10));
  }
  sink_.put('\n');
}

}  // namespace limpid
