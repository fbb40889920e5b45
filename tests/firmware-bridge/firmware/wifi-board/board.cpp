// A Wi-Fi board in software: runs boards/wifi/wifi.ino over a script on stdin, and prints what it would publish.
//   ms N        let N milliseconds go by        up, down   the broker's link comes, goes
//   ack         acknowledge all that was sent    say TEXT   a line over the cable
//   do TEXT     a command from the broker        button B   the pass button, 1 pressed
// Printed: `config ...` once connected to, then `<id> <topic> <qos> <retain> <payload>` for each message, and `restart`.
#include "wifi.ino"

#include <map>
#include <queue>
#include <string>
#include <vector>

namespace fake {
uint64_t us = 0;
bool button = false;
std::queue<uint8_t> cable;
std::map<std::string, std::string> stored;
std::vector<int> unacknowledged;
int nextId = 1;
bool isUp = false;
void (*handler)(void*, esp_event_base_t, int32_t, void*) = nullptr;

void tell(esp_mqtt_event_id_t id, esp_mqtt_event_t event = {}) {
  if (handler != nullptr) handler(nullptr, "", id, &event);
}
}  // namespace fake

Port Serial;
Chip ESP;
Radio WiFi;
void pinMode(uint8_t, uint8_t) {}
void digitalWrite(uint8_t, uint8_t) {}
int digitalRead(uint8_t pin) { return pin == PIN_BUTTON && fake::button ? LOW : HIGH; }
uint16_t analogRead(uint8_t) { return 1600; }
unsigned long millis() { return static_cast<unsigned long>(fake::us / 1000); }
unsigned long micros() { return static_cast<unsigned long>(fake::us & 0xFFFFFFFF); }
void delayMicroseconds(uint32_t us) { fake::us += us; }
int digitalPinToInterrupt(uint8_t pin) { return pin; }
void attachInterrupt(int, void (*)(), int) {}
void Port::begin(unsigned long) {}
size_t Port::write(uint8_t) { return 1; }
int Port::available() { return static_cast<int>(fake::cable.size()); }
int Port::read() {
  const int byte = fake::cable.front();
  fake::cable.pop();
  return byte;
}
void Chip::restart() { printf("restart\n"); }
bool Radio::mode(int) { return true; }
bool Radio::setAutoReconnect(bool) { return true; }
int Radio::begin(const char*, const char*) { return 0; }
bool Preferences::begin(const char*, bool) { return true; }
size_t Preferences::getBytes(const char*, void*, size_t) { return 0; }
size_t Preferences::putBytes(const char*, const void*, size_t size) { return size; }
size_t Preferences::getString(const char* key, char* text, size_t size) {
  const auto found = fake::stored.find(key);
  if (found == fake::stored.end()) return 0;
  snprintf(text, size, "%s", found->second.c_str());
  return found->second.size();
}
size_t Preferences::putString(const char* key, const char* text) {
  fake::stored[key] = text;
  return strlen(text);
}
uint16_t Preferences::getUShort(const char* key, uint16_t usual) {
  const auto found = fake::stored.find(key);
  return found == fake::stored.end() ? usual : static_cast<uint16_t>(std::stoi(found->second));
}
size_t Preferences::putUShort(const char* key, uint16_t value) {
  fake::stored[key] = std::to_string(value);
  return 2;
}
int esp_read_mac(uint8_t* mac, int) {
  const uint8_t own[6] = {0x02, 0x00, 0x00, 0xAB, 0xCD, 0xEF};
  memcpy(mac, own, 6);
  return 0;
}
int esp_task_wdt_add(void*) { return 0; }
int esp_task_wdt_reset() { return 0; }
esp_mqtt_client_handle_t esp_mqtt_client_init(const esp_mqtt_client_config_t* c) {
  const auto& will = c->session.last_will;
  printf("config %s id=%s user=%s clean=%d keepalive=%d will=%s %s %d %d\n", c->broker.address.uri, c->credentials.client_id,
         c->credentials.username == nullptr ? "" : c->credentials.username, !c->session.disable_clean_session,
         c->session.keepalive, will.topic, will.msg, will.qos, will.retain);
  return &fake::us;
}
int esp_mqtt_client_register_event(esp_mqtt_client_handle_t, esp_mqtt_event_id_t,
                                   void (*handler)(void*, esp_event_base_t, int32_t, void*), void*) {
  fake::handler = handler;
  return 0;
}
int esp_mqtt_client_start(esp_mqtt_client_handle_t) { return 0; }
int esp_mqtt_client_subscribe(esp_mqtt_client_handle_t, const char* topic, int qos) {
  printf("subscribe %s %d\n", topic, qos);
  return fake::nextId++;
}
int esp_mqtt_client_enqueue(esp_mqtt_client_handle_t, const char* topic, const char* data, int length, int qos, int retain,
                            bool) {
  printf("%d %s %d %d %.*s\n", fake::nextId, topic, qos, retain, length, data);
  fake::unacknowledged.push_back(fake::nextId);
  return fake::nextId++;
}

int main() {
  fake::stored = {{"name", "shed"}, {"pass", "x"}, {"host", "192.0.2.7"}, {"user", "rig"}, {"secret", "y"}};
  setup();
  char line[600];
  while (fgets(line, sizeof line, stdin) != nullptr) {
    line[strcspn(line, "\n")] = '\0';
    std::string text(line);
    const std::string word = text.substr(0, text.find(' '));
    std::string rest = text.size() > word.size() ? text.substr(word.size() + 1) : "";
    if (word == "ms")
      for (int i = std::stoi(rest); i > 0; i--) fake::us += 1000, loop();
    else if (word == "up") fake::isUp = true, fake::tell(MQTT_EVENT_CONNECTED);
    else if (word == "down") fake::isUp = false, fake::unacknowledged.clear(), fake::tell(MQTT_EVENT_DISCONNECTED);
    else if (word == "button") fake::button = rest == "1";
    else if (word == "say") {
      for (const char c : rest + "\n") fake::cable.push(static_cast<uint8_t>(c));
    } else if (word == "do") {
      esp_mqtt_event_t event = {};
      event.data = &rest[0];
      event.data_len = static_cast<int>(rest.size());
      fake::tell(MQTT_EVENT_DATA, event);
    } else if (word == "ack") {
      for (const int id : fake::unacknowledged) {
        esp_mqtt_event_t event = {};
        event.msg_id = id;
        fake::tell(MQTT_EVENT_PUBLISHED, event);
      }
      fake::unacknowledged.clear();
    }
  }
  return 0;
}
