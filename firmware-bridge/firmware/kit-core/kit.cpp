#include "kit.hpp"

namespace limpid {
namespace {

// The thermometer's ROM is asked for during the first second; packs wait for the name until then.
constexpr uint16_t nameWaitMs = 1000;

char hexOf(uint8_t nibble) { return static_cast<char>(nibble < 10 ? '0' + nibble : 'a' + nibble - 10); }

uint8_t at(Analog input) { return static_cast<uint8_t>(input); }

bool same(const char* a, const char* b) {
  while (*a != '\0' && *a == *b) {
    a++;
    b++;
  }
  return *a == *b;
}

}  // namespace

void Kit::nameIs(const char* urn) {
  uint8_t length = 0;
  for (; urn[length] != '\0' && length + 1 < urnSize; length++) urn_[length] = urn[length];
  urn_[length] = '\0';
}

void Kit::start() {
  loadSettings(board_, settings_);
  boot_ = countBoot(board_);
  dueMs_ = board_.nowMs() + nameWaitMs;
}

void Kit::step() {
  board_.alive();
  const uint32_t nowMs = board_.nowMs();
  readButton();
  listen();
  shine(nowMs);
  if (record_ == Record::none) {
    supply_.step(nowMs);
    back_.step(nowMs);
    if (static_cast<int32_t>(nowMs - dueMs_) >= 0) beginPack(nowMs);
  } else if (board_.room() >= longestRecord) {
    writeRecord();
  }
}

void Kit::readButton() {
  if (button_.step(board_.buttonDown(), board_.nowMs())) passDue_ = true;
}

void Kit::listen() {
  uint8_t byte = 0;
  Command command = {};
  while (board_.nextByte(byte)) {
    if (reader_.take(byte, command)) obey(command);
  }
}

void Kit::obey(const Command& command) {
  switch (command.kind) {
    case CommandKind::hello:
      helloDue_ = true;
      return;
    case CommandKind::blink:
      blinkUntilMs_ = board_.nowMs() + 5000;
      helloDue_ = true;
      return;
    case CommandKind::rate:
      settings_.rateDeciHz = static_cast<uint8_t>(command.rateHz * 10 + 0.5f);
      saveSettings(board_, settings_);
      helloDue_ = true;
      return;
    case CommandKind::zero:
      zero(command.channel);
      return;
    case CommandKind::refused:
      refusal_ = command.reason;
      return;
  }
}

void Kit::zero(const char* channel) {
  Fixed value = {};
  if (same(channel, "pressure") && have_[at(Analog::pressure)] &&
      pressurePa(share_[at(Analog::pressure)], settings_, value)) {
    settings_.pressureZeroMbar = static_cast<int16_t>(settings_.pressureZeroMbar + value.value / 100);
  } else if (same(channel, "turbidity") && have_[at(Analog::turbidity)]) {
    settings_.turbidityZeroMv = shareToMv(share_[at(Analog::turbidity)]);
  } else {
    refusal_ = "do-zero: no such channel, or it has no reading";
    return;
  }
  saveSettings(board_, settings_);
  helloDue_ = true;
}

void Kit::name() {
  const uint8_t* rom = supply_.rom();
  const char* head = "urn:dev:ow:";
  uint8_t length = 0;
  while (head[length] != '\0') {
    urn_[length] = head[length];
    length++;
  }
  for (uint8_t i = 0; i < 8; i++) {
    const uint8_t byte = rom != nullptr ? rom[i] : 0;
    urn_[length++] = hexOf(static_cast<uint8_t>(byte >> 4));
    urn_[length++] = hexOf(static_cast<uint8_t>(byte & 0xF));
  }
  urn_[length] = '\0';
}

void Kit::beginPack(uint32_t nowMs) {
  const uint16_t periodMs = static_cast<uint16_t>(10000u / settings_.rateDeciHz);
  dueMs_ += periodMs;
  // After a stall the beat starts anew; packs are not made up for.
  if (static_cast<int32_t>(nowMs - dueMs_) >= 0) dueMs_ = nowMs + periodMs;
  // The name is fixed once a pack was sent: a thermometer that comes late does not make a new kit before the next start.
  if (urn_[0] == '\0') name();
  // Once a pack, so that the flow is the mean over the whole time between packs.
  uint32_t count = 0;
  uint32_t lastUs = 0;
  board_.pulses(count, lastUs);
  milliHz_ = flow_.step(count, lastUs, board_.nowUs());
  for (uint8_t i = 0; i < analogCount; i++) have_[i] = board_.analog(static_cast<Analog>(i), share_[i]);
  packMs_ = nowMs;
  helloNow_ = helloDue_;
  passNow_ = passDue_;
  helloDue_ = false;
  passDue_ = false;
  line_.begin(urn_);
  record_ = Record::turbidity;
}

void Kit::writeRecord() {
  Fixed value = {};
  const Record record = record_;
  record_ = static_cast<Record>(static_cast<uint8_t>(record) + 1);
  switch (record) {
    case Record::turbidity:
      if (have_[at(Analog::turbidity)] && turbidityNtu(share_[at(Analog::turbidity)], settings_, value)) {
        line_.number("turbidity", "NTU", value);
      }
      return;
    case Record::flow:
      // A meter that stands and one that is not there look alike: only the setting can say that there is none.
      if (settings_.pulsesPerLitre != 0) {
        line_.number("flow", "m3/s", FlowMeter::flow(milliHz_, settings_.pulsesPerLitre));
      }
      return;
    case Record::pressure:
      if (have_[at(Analog::pressure)] && pressurePa(share_[at(Analog::pressure)], settings_, value)) {
        line_.number("pressure", "Pa", value);
      }
      return;
    case Record::supply:
      if (supply_.celsius(packMs_, value)) line_.number("t-supply", "Cel", value);
      return;
    case Record::back:
      if (back_.celsius(packMs_, value)) line_.number("t-return", "Cel", value);
      return;
    case Record::conductivity:
      if (have_[at(Analog::conductivity)] && conductivitySm(share_[at(Analog::conductivity)], settings_, value)) {
        line_.number("conductivity", "S/m", value);
      }
      return;
    case Record::pass:
      if (passNow_) line_.flag("pass", true);
      return;
    case Record::rawTurbidity:
      if (have_[at(Analog::turbidity)]) {
        // One step is 76.294 uV of a 5 V supply; 19073 over 250 keeps inside 32 bits.
        const uint32_t uv = static_cast<uint32_t>(share_[at(Analog::turbidity)]) * 19073u / 250u;
        line_.number("raw-turbidity", "V", {static_cast<int32_t>(uv), 6});
      }
      return;
    case Record::seq:
      line_.number("seq", "count", {static_cast<int32_t>(seq_++ & 0x7FFFFFFFu), 0});
      return;
    case Record::boot:
      line_.number("boot", "count", {static_cast<int32_t>(boot_), 0});
      return;
    case Record::up:
      // Goes back to 0 after 24.8 days, which the bridge takes for a restart: harmless, and no negative time is ever sent.
      line_.number("up", "s", {static_cast<int32_t>(packMs_ & 0x7FFFFFFFu), 3});
      return;
    case Record::refused:
      if (refusal_ != nullptr) line_.text("refused", refusal_);
      refusal_ = nullptr;
      return;
    case Record::end:
      line_.end();
      record_ = Record::none;
      return;
    default:
      if (helloNow_) writeHello(record);
      return;
  }
}

void Kit::writeHello(Record record) {
  switch (record) {
    case Record::hello:
      line_.text("hello", firmwareVersion);
      return;
    case Record::rate:
      line_.number("rate", "1/s", {settings_.rateDeciHz, 1});
      return;
    case Record::stepTurbidity:
      // One step of the 10-bit converter, before averaging.
      line_.number("step-turbidity", "NTU", {static_cast<int32_t>(4883l * settings_.turbidityNtuPerV / 1000), 3});
      return;
    case Record::hiTurbidity:
      line_.number("hi-turbidity", "NTU",
                   {(static_cast<int32_t>(settings_.turbidityFullMv) - settings_.turbidityZeroMv) *
                        static_cast<int32_t>(settings_.turbidityNtuPerV), 3});
      return;
    case Record::hiPressure:
      line_.number("hi-pressure", "Pa", {static_cast<int32_t>(settings_.pressureFullMbar) * 100, 0});
      return;
    default:
      return;
  }
}

void Kit::shine(uint32_t nowMs) {
  const bool blink = static_cast<int32_t>(blinkUntilMs_ - nowMs) > 0;
  // Alive: a short wink each second. Asked to blink: four times a second for five seconds.
  board_.light(blink ? (nowMs / 125) % 2 == 0 : nowMs % 1000 < 40);
}

}  // namespace limpid
