#pragma once
#define WIFI_STA 1
struct Radio {
  bool mode(int);
  bool setAutoReconnect(bool);
  int begin(const char*, const char*);
};
extern Radio WiFi;
