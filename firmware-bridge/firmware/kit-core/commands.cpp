#include "commands.hpp"

#include "crc16.hpp"

namespace limpid {
namespace {

Command refuse(const char* reason) {
  Command command = {};
  command.kind = CommandKind::refused;
  command.reason = reason;
  return command;
}

bool same(const char* a, uint8_t length, const char* b) {
  for (uint8_t i = 0; i < length; i++) {
    if (b[i] == '\0' || a[i] != b[i]) return false;
  }
  return b[length] == '\0';
}

int8_t hexDigit(char c) {
  if (c >= '0' && c <= '9') return static_cast<int8_t>(c - '0');
  if (c >= 'A' && c <= 'F') return static_cast<int8_t>(c - 'A' + 10);
  return -1;
}

struct Span {
  const char* from;
  uint8_t length;
};

// Reads the subset of JSON that a one-record pack is: [{"key":value,...}] with values text without escapes, number or truth.
struct Reader {
  const char* at;
  const char* end;

  void space() {
    while (at < end && (*at == ' ' || *at == '\t')) at++;
  }
  bool take(char c) {
    space();
    if (at < end && *at == c) {
      at++;
      return true;
    }
    return false;
  }
  bool text(Span& span) {
    if (!take('"')) return false;
    span.from = at;
    while (at < end && *at != '"' && *at != '\\' && *at >= ' ') at++;
    if (at >= end || *at != '"') return false;
    span.length = static_cast<uint8_t>(at - span.from);
    at++;
    return true;
  }
  bool digits() {
    const char* from = at;
    while (at < end && *at >= '0' && *at <= '9') at++;
    return at > from;
  }
  bool number(float& value) {
    space();
    const bool negative = at < end && *at == '-';
    if (negative) at++;
    const char* whole = at;
    if (!digits()) return false;
    float result = 0;
    for (const char* c = whole; c < at; c++) result = result * 10 + static_cast<float>(*c - '0');
    if (at < end && *at == '.') {
      at++;
      const char* part = at;
      if (!digits()) return false;
      float scale = 1;
      for (const char* c = part; c < at; c++) {
        scale *= 10;
        if (scale < 1e9f) result += static_cast<float>(*c - '0') / scale;
      }
    }
    if (at < end && (*at == 'e' || *at == 'E')) return false;  // a rate needs no exponent
    value = negative ? -result : result;
    return true;
  }
  bool word(const char* w) {
    space();
    const char* c = at;
    while (*w != '\0' && c < end && *c == *w) {
      c++;
      w++;
    }
    if (*w != '\0') return false;
    at = c;
    return true;
  }
};

struct Record {
  Span name = {nullptr, 0};
  Span text = {nullptr, 0};
  float number = 0;
  bool hasNumber = false;
  bool truth = false;
};

bool readRecord(Reader& in, Record& record) {
  if (!in.take('[') || !in.take('{')) return false;
  do {
    Span key = {nullptr, 0};
    if (!in.text(key) || !in.take(':')) return false;
    if (same(key.from, key.length, "n")) {
      if (!in.text(record.name)) return false;
    } else if (same(key.from, key.length, "vs")) {
      if (!in.text(record.text)) return false;
    } else if (same(key.from, key.length, "v")) {
      if (!in.number(record.number)) return false;
      record.hasNumber = true;
    } else if (same(key.from, key.length, "vb")) {
      if (in.word("true")) {
        record.truth = true;
      } else if (!in.word("false")) {
        return false;
      }
    } else {
      // Other fields (u, bt, t, bver) say nothing to a command: read past them.
      Span text = {nullptr, 0};
      float number = 0;
      if (!in.text(text) && !in.number(number) && !in.word("true") && !in.word("false")) return false;
    }
  } while (in.take(','));
  if (!in.take('}') || !in.take(']')) return false;
  in.space();
  return in.at == in.end;
}

// The command's name may come whole, or after the kit's URN and `_`.
Span afterUnderscore(Span name) {
  for (uint8_t i = name.length; i > 0; i--) {
    if (name.from[i - 1] == '_') return {name.from + i, static_cast<uint8_t>(name.length - i)};
  }
  return name;
}

}  // namespace

Command parseCommand(const char* line, uint8_t length) {
  if (length >= 5 && line[length - 5] == '*') {
    uint16_t told = 0;
    for (uint8_t i = static_cast<uint8_t>(length - 4); i < length; i++) {
      const int8_t digit = hexDigit(line[i]);
      if (digit < 0) return refuse("CRC is not four upper-case hex digits");
      told = static_cast<uint16_t>((told << 4) | static_cast<uint16_t>(digit));
    }
    length = static_cast<uint8_t>(length - 5);
    uint16_t crc = crc16Start;
    for (uint8_t i = 0; i < length; i++) crc = crc16(crc, static_cast<uint8_t>(line[i]));
    if (crc != told) return refuse("CRC does not fit the line");
  }
  Reader in = {line, line + length};
  Record record;
  if (!readRecord(in, record)) return refuse("not a pack of one record");
  const Span name = afterUnderscore(record.name);

  Command command = {};
  if (same(name.from, name.length, "do-hello")) {
    command.kind = CommandKind::hello;
    return record.truth ? command : refuse("do-hello needs vb true");
  }
  if (same(name.from, name.length, "do-blink")) {
    command.kind = CommandKind::blink;
    return record.truth ? command : refuse("do-blink needs vb true");
  }
  if (same(name.from, name.length, "do-rate")) {
    command.kind = CommandKind::rate;
    command.rateHz = record.number;
    if (!record.hasNumber || !(record.number >= 0.5f && record.number <= 20.0f)) return refuse("do-rate needs v from 0.5 to 20");
    return command;
  }
  if (same(name.from, name.length, "do-zero")) {
    command.kind = CommandKind::zero;
    if (record.text.from == nullptr || record.text.length == 0 || record.text.length >= commandTextSize) {
      return refuse("do-zero needs vs with a channel");
    }
    for (uint8_t i = 0; i < record.text.length; i++) command.channel[i] = record.text.from[i];
    return command;
  }
  return refuse("no such command");
}

bool CommandReader::take(uint8_t byte, Command& command) {
  if (byte == '\n' || byte == '\r') {
    const uint8_t length = length_;
    const bool tooLong = tooLong_;
    length_ = 0;
    tooLong_ = false;
    if (tooLong) {
      command = refuse("line longer than 128 bytes");
      return true;
    }
    if (length == 0) return false;
    command = parseCommand(line_, length);
    return true;
  }
  if (length_ >= lineSize) {
    tooLong_ = true;
  } else {
    line_[length_++] = static_cast<char>(byte);
  }
  return false;
}

}  // namespace limpid
