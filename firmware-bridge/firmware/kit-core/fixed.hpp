// A decimal number as an integer and a count of decimals: no floating point is ever printed, so what is printed is exact.
#pragma once
#include <stdint.h>

namespace limpid {

struct Fixed {
  int32_t value;
  uint8_t decimals;  // at most 9
};

// Longest text: sign, ten digits, a point, a leading zero.
constexpr uint8_t fixedTextSize = 14;

// Writes the text of `number` without a final zero byte, trailing zeros of the fraction left out; returns its length.
inline uint8_t fixedToText(Fixed number, char* text) {
  uint32_t rest = number.value < 0 ? 0u - static_cast<uint32_t>(number.value) : static_cast<uint32_t>(number.value);
  uint8_t decimals = number.decimals > 9 ? 9 : number.decimals;
  while (decimals > 0 && rest % 10 == 0) {
    rest /= 10;
    decimals--;
  }
  char backwards[fixedTextSize];
  uint8_t length = 0;
  uint8_t written = 0;
  do {
    if (written == decimals && decimals > 0) backwards[length++] = '.';
    backwards[length++] = static_cast<char>('0' + rest % 10);
    rest /= 10;
    written++;
  } while (rest > 0 || written <= decimals);
  if (number.value < 0 && number.value != 0) backwards[length++] = '-';
  for (uint8_t i = 0; i < length; i++) text[i] = backwards[length - 1 - i];
  return length;
}

}  // namespace limpid
