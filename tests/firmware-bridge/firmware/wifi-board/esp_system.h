#pragma once
#include <stdint.h>
#define ESP_MAC_WIFI_STA 0
int esp_read_mac(uint8_t*, int);
