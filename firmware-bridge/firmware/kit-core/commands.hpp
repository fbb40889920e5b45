// Bridge -> kit: one-record SenML packs. A small strict reader: bounded, no heap, never reads past its line.
#pragma once
#include <stdint.h>

namespace limpid {

enum class CommandKind : uint8_t { hello, rate, zero, blink, refused };

// Longest channel name that a command can carry.
constexpr uint8_t commandTextSize = 24;

struct Command {
  CommandKind kind;
  float rateHz;                    // of `rate`
  char channel[commandTextSize];   // of `zero`
  const char* reason;              // of `refused`
};

// Gathers bytes into a line; longer ones are refused whole.
class CommandReader {
 public:
  static constexpr uint8_t lineSize = 128;

  // True when `command` was filled: a command, or a refusal with its reason. Empty lines are nothing.
  bool take(uint8_t byte, Command& command);

 private:
  char line_[lineSize];
  uint8_t length_ = 0;
  bool tooLong_ = false;
};

// The text of one line without its end; exposed for tests.
Command parseCommand(const char* line, uint8_t length);

}  // namespace limpid
