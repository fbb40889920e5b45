// What a kit does, on any board: reads its channels, prints a pack when its time has come, answers commands.
// No heap, no waiting: `step` returns at once and is called as often as the board can.
#pragma once
#include <stdint.h>

#include "commands.hpp"
#include "convert.hpp"
#include "flow-meter.hpp"
#include "pass-button.hpp"
#include "senml.hpp"
#include "settings.hpp"
#include "thermometer.hpp"

namespace limpid {

constexpr const char* firmwareVersion = "0.1.0";

enum class Analog : uint8_t { pressure, turbidity, conductivity };
constexpr uint8_t analogCount = 3;

// What a board gives. Bytes out go through ByteSink; `room` says how many can be taken without waiting.
struct Board : ByteSink, Storage {
  virtual uint16_t room() = 0;
  virtual uint32_t nowMs() = 0;
  virtual uint32_t nowUs() = 0;
  virtual bool nextByte(uint8_t& byte) = 0;
  // Mean of the conversions since the last call; false when there were none.
  virtual bool analog(Analog input, Share& share) = 0;
  virtual void pulses(uint32_t& count, uint32_t& lastUs) = 0;
  virtual bool buttonDown() = 0;
  virtual void light(bool on) = 0;
  virtual void alive() = 0;  // the watchdog

 protected:
  ~Board() = default;
};

class Kit {
 public:
  Kit(Board& board, OneWireLine& supply, OneWireLine& back)
      : board_(board), supply_(supply), back_(back), line_(board) {}

  // A board with an address of its own names the kit by it, before the first pack; else the supply thermometer does.
  void nameIs(const char* urn);
  void start();
  void step();

  const Settings& settings() const { return settings_; }

 private:
  // A pack goes out record by record, whenever the board has room for one; `none` between packs.
  enum class Record : uint8_t {
    none, turbidity, flow, pressure, supply, back, conductivity, pass, rawTurbidity, seq, boot, up, hello,
    rate, stepTurbidity, hiTurbidity, hiPressure, refused, end
  };

  void readButton();
  void listen();
  void obey(const Command& command);
  void zero(const char* channel);
  void beginPack(uint32_t nowMs);
  void writeRecord();
  void writeHello(Record record);
  void name();
  void shine(uint32_t nowMs);

  Board& board_;
  Thermometer supply_;
  Thermometer back_;
  FlowMeter flow_;
  PassButton button_;
  CommandReader reader_;
  SenmlLine line_;
  Settings settings_;

  char urn_[urnSize] = "";
  uint32_t boot_ = 0;
  uint32_t seq_ = 0;
  uint32_t dueMs_ = 0;
  uint32_t packMs_ = 0;
  uint32_t blinkUntilMs_ = 0;
  const char* refusal_ = nullptr;
  bool helloDue_ = true;
  bool helloNow_ = false;
  bool passDue_ = false;
  bool passNow_ = false;
  Record record_ = Record::none;

  bool have_[analogCount] = {};
  Share share_[analogCount] = {};
  uint32_t milliHz_ = 0;
};

}  // namespace limpid
