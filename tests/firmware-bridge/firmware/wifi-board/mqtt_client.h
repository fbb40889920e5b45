// Names and shapes of ESP-IDF 5's esp_mqtt, from memory of its header.
#pragma once
#include <stdint.h>
typedef const char* esp_event_base_t;
typedef void* esp_mqtt_client_handle_t;
enum esp_mqtt_event_id_t { MQTT_EVENT_CONNECTED, MQTT_EVENT_DISCONNECTED, MQTT_EVENT_PUBLISHED, MQTT_EVENT_DATA };
#define ESP_EVENT_ANY_ID -1
struct esp_mqtt_event_t {
  int msg_id;
  char* data;
  int data_len;
};
typedef esp_mqtt_event_t* esp_mqtt_event_handle_t;
struct esp_mqtt_client_config_t {
  struct {
    struct {
      const char* uri;
    } address;
  } broker;
  struct {
    const char* client_id;
    const char* username;
    struct {
      const char* password;
    } authentication;
  } credentials;
  struct {
    bool disable_clean_session;
    int keepalive;
    struct {
      const char* topic;
      const char* msg;
      int msg_len, qos, retain;
    } last_will;
  } session;
};
esp_mqtt_client_handle_t esp_mqtt_client_init(const esp_mqtt_client_config_t*);
int esp_mqtt_client_register_event(esp_mqtt_client_handle_t, esp_mqtt_event_id_t,
                                   void (*)(void*, esp_event_base_t, int32_t, void*), void*);
int esp_mqtt_client_start(esp_mqtt_client_handle_t);
int esp_mqtt_client_subscribe(esp_mqtt_client_handle_t, const char*, int);
int esp_mqtt_client_enqueue(esp_mqtt_client_handle_t, const char*, const char*, int, int, int, bool);
