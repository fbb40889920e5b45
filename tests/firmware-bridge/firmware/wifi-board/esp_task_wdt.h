#pragma once
int esp_task_wdt_add(void*);
int esp_task_wdt_reset();
