// The kit on a Wi-Fi board of the ESP32 class, by its Arduino core: the same core, published by MQTT. Packs that cannot be
// sent are kept and sent late. Settings (network, broker, kit settings) are kept in flash.
//
// Set up over the serial port, once, one line each:  wifi NAME PASSWORD   broker HOST PORT USER PASSWORD
// (USER and PASSWORD may be left out.) The port goes on printing the packs, so a cable works as well.
//
// The tests run this very file on the host, over a board in software (tests/firmware-bridge/firmware/wifi-board). It was never
// built by its own toolchain nor run on a board.
#include <Arduino.h>
#include <Preferences.h>
#include <WiFi.h>
#include <esp_system.h>
#include <esp_task_wdt.h>
#include <mqtt_client.h>

#include "kit.hpp"
#include "outgoing.hpp"
#include "pins.hpp"
#include "topic.hpp"

using limpid::Analog;
using limpid::Share;

namespace {

Preferences flash;
char wifiName[33] = "", wifiPassword[65] = "";
char brokerHost[65] = "", brokerUser[65] = "", brokerPassword[65] = "";
uint16_t brokerPort = 1883;

char urn[limpid::urnSize];
char senmlTopic[limpid::topicSize], doTopic[limpid::topicSize], stateTopic[limpid::topicSize];

// What is free beside the network's own needs. Ten minutes at ten packs a second do not fit; then every n-th is kept.
constexpr uint32_t lateSize = 96u * 1024u;
uint8_t lateMemory[lateSize];
limpid::LateRing late(lateMemory, lateSize);
// Sent and not acknowledged yet: some five seconds.
uint8_t sentMemory[16u * 1024u];
limpid::LateRing sent(sentMemory, sizeof sentMemory);
limpid::Outgoing outgoing(sent, late);

esp_mqtt_client_handle_t client = nullptr;
volatile bool connected = false;
// Acknowledgements come on the network's own task, and are taken by the kit's loop.
constexpr uint8_t ackSize = 128;
volatile int ackRing[ackSize];
volatile uint8_t ackHead = 0, ackTail = 0;

struct BrokerLink final : limpid::PackLink {
  bool up() override { return connected; }
  int32_t send(const char* pack, uint16_t length) override {
    return esp_mqtt_client_enqueue(client, senmlTopic, pack, length, 1, 0, true);
  }
};
BrokerLink brokerLink;

// Commands come on the network's own task and are read by the kit's loop.
constexpr uint16_t hearSize = 256;
volatile uint8_t hearRing[hearSize];
volatile uint16_t hearHead = 0, hearTail = 0;
void hear(uint8_t byte) {
  const uint16_t next = static_cast<uint16_t>((hearHead + 1) % hearSize);
  if (next == hearTail) return;  // full: the line's CRC tells
  hearRing[hearHead] = byte;
  hearHead = next;
}

limpid::PulseTrain train;
portMUX_TYPE trainLock = portMUX_INITIALIZER_UNLOCKED;
void IRAM_ATTR onPulse() {
  portENTER_CRITICAL_ISR(&trainLock);
  train.edge(micros());
  portEXIT_CRITICAL_ISR(&trainLock);
}

struct Wire1 final : limpid::OneWireLine {
  explicit Wire1(uint8_t p) : pin(p) {}
  const uint8_t pin;
  portMUX_TYPE lock = portMUX_INITIALIZER_UNLOCKED;
  void low() { pinMode(pin, OUTPUT_OPEN_DRAIN), digitalWrite(pin, LOW); }
  void free() { digitalWrite(pin, HIGH), pinMode(pin, INPUT); }

  bool reset() override {
    low();
    delayMicroseconds(480);
    portENTER_CRITICAL(&lock);
    free();
    delayMicroseconds(70);
    const bool present = digitalRead(pin) == LOW;
    portEXIT_CRITICAL(&lock);
    delayMicroseconds(410);
    return present && digitalRead(pin) == HIGH;
  }
  void write(uint8_t byte) override {
    for (uint8_t bit = 0; bit < 8; bit++) {
      const bool one = (byte >> bit) & 1;
      portENTER_CRITICAL(&lock);
      low();
      delayMicroseconds(one ? 6 : 60);
      free();
      portEXIT_CRITICAL(&lock);
      delayMicroseconds(one ? 64 : 10);
    }
  }
  uint8_t read() override {
    uint8_t byte = 0;
    for (uint8_t bit = 0; bit < 8; bit++) {
      portENTER_CRITICAL(&lock);
      low();
      delayMicroseconds(3);
      free();
      delayMicroseconds(9);
      if (digitalRead(pin) == HIGH) byte = static_cast<uint8_t>(byte | (1 << bit));
      portEXIT_CRITICAL(&lock);
      delayMicroseconds(58);
    }
    return byte;
  }
};

void deliver(const char* pack, uint16_t length, uint8_t rateDeciHz) {
  outgoing.take(brokerLink, pack, length, limpid::keepEvery(lateSize, length, rateDeciHz, 600));
}

uint8_t rateNow();

struct WifiBoard final : limpid::Board {
  // A pack is gathered whole before it is published; the serial port gets it as it comes.
  char line[limpid::longestPack + 8];
  uint16_t length = 0;
  bool tooLong = false;
  uint8_t stored[64];

  void put(uint8_t byte) override {
    Serial.write(byte);
    if (byte != '\n') {
      if (length < sizeof line) line[length++] = static_cast<char>(byte);
      else tooLong = true;
      return;
    }
    // Without the check sum: a broker carries packs whole.
    if (!tooLong && length > 5 && line[length - 5] == '*') deliver(line, static_cast<uint16_t>(length - 5), rateNow());
    length = 0;
    tooLong = false;
  }
  uint16_t room() override { return limpid::longestRecord; }
  uint32_t nowMs() override { return millis(); }
  uint32_t nowUs() override { return micros(); }
  bool nextByte(uint8_t& byte) override {
    if (hearHead == hearTail) return false;
    byte = hearRing[hearTail];
    hearTail = static_cast<uint16_t>((hearTail + 1) % hearSize);
    return true;
  }
  bool analog(Analog input, Share& share) override {
    const uint8_t pins[limpid::analogCount] = {PIN_PRESSURE, PIN_TURBIDITY, PIN_CONDUCTIVITY};
    uint32_t sum = 0;
    for (uint8_t i = 0; i < 32; i++) sum += analogRead(pins[static_cast<uint8_t>(input)]);
    share = static_cast<Share>(sum * 16u / 32u);  // 12 bits to 16
    return true;
  }
  void pulses(uint32_t& count, uint32_t& lastUs) override {
    portENTER_CRITICAL(&trainLock);
    count = train.count;
    lastUs = train.lastUs;
    portEXIT_CRITICAL(&trainLock);
  }
  bool buttonDown() override { return digitalRead(PIN_BUTTON) == LOW; }
  void light(bool on) override { digitalWrite(PIN_LIGHT, on ? HIGH : LOW); }
  void alive() override { esp_task_wdt_reset(); }
  uint8_t read(uint16_t at) override { return at < sizeof stored ? stored[at] : 0xFF; }
  void write(uint16_t at, uint8_t byte) override {
    if (at >= sizeof stored || stored[at] == byte) return;
    stored[at] = byte;
    flash.putBytes("kit", stored, sizeof stored);
  }
};

WifiBoard board;
Wire1 supplyWire(PIN_SUPPLY), returnWire(PIN_RETURN);
limpid::Kit kit(board, supplyWire, returnWire);
uint8_t rateNow() { return kit.settings().rateDeciHz; }

void onMqtt(void*, esp_event_base_t, int32_t id, void* data) {
  const auto event = static_cast<esp_mqtt_event_handle_t>(data);
  if (id == MQTT_EVENT_CONNECTED) {
    esp_mqtt_client_subscribe(client, doTopic, 1);
    esp_mqtt_client_enqueue(client, stateTopic, "ready", 5, 1, 1, true);
    connected = true;
  } else if (id == MQTT_EVENT_DISCONNECTED) {
    connected = false;
  } else if (id == MQTT_EVENT_PUBLISHED) {
    const uint8_t next = static_cast<uint8_t>((ackHead + 1) % ackSize);
    if (next == ackTail) return;  // full: they are sent again as late packs when the link goes
    ackRing[ackHead] = event->msg_id;
    ackHead = next;
  } else if (id == MQTT_EVENT_DATA) {
    for (int i = 0; i < event->data_len; i++) hear(static_cast<uint8_t>(event->data[i]));
    hear('\n');
  }
}

// The kit publishes by its own address, whatever thermometer it has: one name for cable and broker.
void nameKit() {
  uint8_t mac[6];
  esp_read_mac(mac, ESP_MAC_WIFI_STA);
  // EUI-48 to EUI-64 as RFC 9039 asks: FFFE in the middle.
  snprintf(urn, sizeof urn, "urn:dev:mac:%02x%02x%02xfffe%02x%02x%02x", mac[0], mac[1], mac[2], mac[3], mac[4], mac[5]);
  kit.nameIs(urn);
  limpid::topicOf(urn, "senml", senmlTopic);
  limpid::topicOf(urn, "do", doTopic);
  limpid::topicOf(urn, "state", stateTopic);
}

void connect() {
  if (wifiName[0] == '\0' || brokerHost[0] == '\0') return;
  WiFi.mode(WIFI_STA);
  WiFi.setAutoReconnect(true);
  WiFi.begin(wifiName, wifiPassword);
  static char uri[90];
  snprintf(uri, sizeof uri, "mqtt://%s:%u", brokerHost, brokerPort);
  esp_mqtt_client_config_t config = {};
  config.broker.address.uri = uri;
  // One name on the broker, the kit's own; brokers give rights by it.
  config.credentials.client_id = urn + sizeof "urn:dev:" - 1;
  config.credentials.username = brokerUser[0] == '\0' ? nullptr : brokerUser;
  config.credentials.authentication.password = brokerPassword[0] == '\0' ? nullptr : brokerPassword;
  // A clean session: an order given while the kit was away must not reach it an hour later.
  config.session.disable_clean_session = false;
  config.session.keepalive = 10;
  config.session.last_will.topic = stateTopic;
  config.session.last_will.msg = "lost";
  config.session.last_will.msg_len = 4;
  config.session.last_will.qos = 1;
  config.session.last_will.retain = 1;
  client = esp_mqtt_client_init(&config);
  esp_mqtt_client_register_event(client, static_cast<esp_mqtt_event_id_t>(ESP_EVENT_ANY_ID), onMqtt, nullptr);
  esp_mqtt_client_start(client);
}

// `wifi NAME PASSWORD`, `broker HOST PORT USER PASSWORD`: kept, then the board starts anew. Packs of commands go to the kit.
void readSerial() {
  static char text[200];
  static uint8_t length = 0;
  while (Serial.available() > 0) {
    const char c = static_cast<char>(Serial.read());
    if (c != '\n' && c != '\r') {
      if (length < sizeof text - 1) text[length++] = c;
      continue;
    }
    text[length] = '\0';
    if (text[0] == '[') {
      for (uint8_t i = 0; i < length; i++) hear(static_cast<uint8_t>(text[i]));
      hear('\n');
    }
    unsigned port = 1883;
    char host[65] = "", user[65] = "", password[65] = "";
    const bool wifi = sscanf(text, "wifi %32s %64s", host, password) >= 1;
    const bool broker = !wifi && sscanf(text, "broker %64s %u %64s %64s", host, &port, user, password) >= 1;
    length = 0;
    if (!wifi && !broker) continue;
    if (wifi) {
      flash.putString("name", host);
      flash.putString("pass", password);
    } else {
      flash.putString("host", host);
      flash.putUShort("port", static_cast<uint16_t>(port));
      flash.putString("user", user);
      flash.putString("secret", password);
    }
    ESP.restart();
  }
}

void send() {
  while (ackTail != ackHead) {
    outgoing.acknowledged(ackRing[ackTail]);
    ackTail = static_cast<uint8_t>((ackTail + 1) % ackSize);
  }
  outgoing.step(brokerLink, millis());
}

}  // namespace

void setup() {
  Serial.begin(115200);
  pinMode(PIN_LIGHT, OUTPUT);
  pinMode(PIN_BUTTON, INPUT_PULLUP);
  pinMode(PIN_FLOW, INPUT_PULLUP);
  attachInterrupt(digitalPinToInterrupt(PIN_FLOW), onPulse, FALLING);
  flash.begin("limpid", false);
  if (flash.getBytes("kit", board.stored, sizeof board.stored) != sizeof board.stored)
    memset(board.stored, 0xFF, sizeof board.stored);
  flash.getString("name", wifiName, sizeof wifiName);
  flash.getString("pass", wifiPassword, sizeof wifiPassword);
  flash.getString("host", brokerHost, sizeof brokerHost);
  flash.getString("user", brokerUser, sizeof brokerUser);
  flash.getString("secret", brokerPassword, sizeof brokerPassword);
  brokerPort = flash.getUShort("port", 1883);
  esp_task_wdt_add(nullptr);
  nameKit();
  kit.start();
  connect();
}

void loop() {
  readSerial();
  kit.step();
  send();
}
