// Where a kit publishes on a broker: limpid/<kit>/senml, do and state, <kit> being its URN without "urn:dev:".
#pragma once
#include <stdint.h>

#include "senml.hpp"

namespace limpid {

constexpr uint8_t topicSize = 7 + urnSize + 6;  // "limpid/" + name + "/senml" and the final zero of the URN

// False when the URN is none, or its name holds what a topic must not (+ # / or a space).
inline bool topicOf(const char* urn, const char* leaf, char (&topic)[topicSize]) {
  const char* head = "urn:dev:";
  while (*head != '\0') {
    if (*urn++ != *head++) return false;
  }
  if (*urn == '\0') return false;
  uint8_t length = 0;
  for (const char* c = "limpid/"; *c != '\0'; c++) topic[length++] = *c;
  for (; *urn != '\0'; urn++) {
    if (length >= topicSize - 7 || *urn <= ' ' || *urn == '+' || *urn == '#' || *urn == '/' || *urn > '~') return false;
    topic[length++] = *urn;
  }
  topic[length++] = '/';
  for (; *leaf != '\0'; leaf++) {
    if (length >= topicSize - 1) return false;
    topic[length++] = *leaf;
  }
  topic[length] = '\0';
  return true;
}

}  // namespace limpid
