// The same core on this machine, for tests and for use without a board.
//   kit-host encode        stdin: one pack a line as "value decimals value decimals ...": prints it as SenML lines
//   kit-host commands      stdin: command lines; prints what was understood of each
//   kit-host ring, topics, every   what a Wi-Fi board adds: packs kept while away, topics, how many to keep
//   kit-host run SECONDS [PULSES]   a whole kit on simulated inputs and simulated time, with so many pulses a litre in its
//                          settings; commands on stdin are obeyed at the start
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../../kit-core/kit.hpp"
#include "../../kit-core/late-ring.hpp"
#include "../../kit-core/topic.hpp"

namespace {

struct Out final : limpid::ByteSink {
  void put(uint8_t byte) override { putchar(byte); }
};

int encode() {
  Out out;
  limpid::SenmlLine line(out);
  char text[4096];
  while (fgets(text, sizeof text, stdin) != nullptr) {
    line.begin("urn:dev:ow:0123456789abcdef");
    unsigned index = 0;
    for (char* at = strtok(text, " \n"); at != nullptr; at = strtok(nullptr, " \n")) {
      const long value = strtol(at, nullptr, 10);
      at = strtok(nullptr, " \n");
      if (at == nullptr) break;
      char name[24];
      snprintf(name, sizeof name, "raw-c%u", index++);
      line.number(name, "V", {static_cast<int32_t>(value), static_cast<uint8_t>(strtol(at, nullptr, 10))});
    }
    line.end();
  }
  return 0;
}

int commands() {
  limpid::CommandReader reader;
  limpid::Command command = {};
  int c = 0;
  while ((c = getchar()) != EOF) {
    if (!reader.take(static_cast<uint8_t>(c), command)) continue;
    switch (command.kind) {
      case limpid::CommandKind::hello: puts("hello"); break;
      case limpid::CommandKind::blink: puts("blink"); break;
      case limpid::CommandKind::rate: printf("rate %.4f\n", static_cast<double>(command.rateHz)); break;
      case limpid::CommandKind::zero: printf("zero %s\n", command.channel); break;
      case limpid::CommandKind::refused: printf("refused %s\n", command.reason); break;
    }
  }
  return 0;
}

struct NoLine final : limpid::OneWireLine {
  bool reset() override { return false; }
  void write(uint8_t) override {}
  uint8_t read() override { return 0xFF; }
};

struct HostBoard final : limpid::Board {
  uint32_t ms = 0;
  uint8_t memory[64];
  HostBoard() { memset(memory, 0xFF, sizeof memory); }
  void put(uint8_t byte) override { putchar(byte); }
  uint16_t room() override { return 255; }
  uint32_t nowMs() override { return ms; }
  uint32_t nowUs() override { return ms * 1000u; }
  bool nextByte(uint8_t& byte) override {
    const int c = getchar();
    if (c == EOF) return false;
    byte = static_cast<uint8_t>(c);
    return true;
  }
  bool analog(limpid::Analog input, limpid::Share& share) override {
    share = input == limpid::Analog::pressure ? 13107 : 8000;
    return input != limpid::Analog::conductivity;
  }
  void pulses(uint32_t& count, uint32_t& lastUs) override {
    count = ms / 10;
    lastUs = count * 10000u;
  }
  bool buttonDown() override { return ms % 4000 > 3800; }
  void light(bool) override {}
  void alive() override {}
  uint8_t read(uint16_t at) override { return at < sizeof memory ? memory[at] : 0xFF; }
  void write(uint16_t at, uint8_t byte) override {
    if (at < sizeof memory) memory[at] = byte;
  }
};

// stdin: "+text" keeps a pack, "-" sends the oldest, "=" as many as there are; prints what would go out.
int ring(unsigned long size) {
  uint8_t* memory = static_cast<uint8_t*>(malloc(size));
  limpid::LateRing late(memory, static_cast<uint32_t>(size));
  char text[2048];
  while (fgets(text, sizeof text, stdin) != nullptr) {
    const size_t length = strcspn(text, "\n");
    if (text[0] == '+') {
      puts(late.push(text + 1, static_cast<uint16_t>(length - 1)) ? "kept" : "refused");
      continue;
    }
    char out[limpid::longestPack];
    const uint16_t sent = late.peek(out, sizeof out);
    late.pop();
    printf("%.*s\n", static_cast<int>(sent), out);
  }
  free(memory);
  return 0;
}

// stdin: one URN a line; prints its three topics.
int topics() {
  char urn[256];
  while (fgets(urn, sizeof urn, stdin) != nullptr) {
    urn[strcspn(urn, "\n")] = '\0';
    char topic[limpid::topicSize];
    const char* leaves[] = {"senml", "do", "state"};
    for (const char* leaf : leaves) puts(limpid::topicOf(urn, leaf, topic) ? topic : "none");
  }
  return 0;
}

int every(char** words) {
  printf("%u\n", limpid::keepEvery(static_cast<uint32_t>(strtoul(words[2], nullptr, 10)),
                                   static_cast<uint16_t>(strtoul(words[3], nullptr, 10)),
                                   static_cast<uint8_t>(strtoul(words[4], nullptr, 10)),
                                   static_cast<uint16_t>(strtoul(words[5], nullptr, 10))));
  return 0;
}

int run(unsigned long seconds, const char* pulsesPerLitre) {
  HostBoard board;
  if (pulsesPerLitre != nullptr) {
    limpid::Settings kept;
    kept.pulsesPerLitre = static_cast<uint16_t>(strtoul(pulsesPerLitre, nullptr, 10));
    limpid::saveSettings(board, kept);
  }
  NoLine supply;
  NoLine back;
  limpid::Kit kit(board, supply, back);
  kit.start();
  for (board.ms = 0; board.ms < seconds * 1000u; board.ms++) {
    for (uint8_t i = 0; i < 20; i++) kit.step();
  }
  return 0;
}

}  // namespace

int main(int count, char** words) {
  if (count == 2 && strcmp(words[1], "encode") == 0) return encode();
  if (count == 2 && strcmp(words[1], "commands") == 0) return commands();
  if ((count == 3 || count == 4) && strcmp(words[1], "run") == 0) {
    return run(strtoul(words[2], nullptr, 10), count == 4 ? words[3] : nullptr);
  }
  if (count == 3 && strcmp(words[1], "ring") == 0) return ring(strtoul(words[2], nullptr, 10));
  if (count == 2 && strcmp(words[1], "topics") == 0) return topics();
  if (count == 6 && strcmp(words[1], "every") == 0) return every(words);
  fputs("usage: kit-host encode | commands | run SECONDS [PULSES] | ring BYTES | topics | every BYTES LENGTH DECIHZ SECONDS\n", stderr);
  return 2;
}
