// Packs that could not be sent, kept until the link is back: a ring over memory that the board gives, oldest dropped
// first. Each is told as late when it goes out. No heap.
#pragma once
#include <stdint.h>

namespace limpid {

constexpr uint16_t longestPack = 1024;

// Keep every how-many-th pack, so that `seconds` of them fit into `size` bytes at this rate and length. At least 1.
inline uint16_t keepEvery(uint32_t size, uint16_t packLength, uint8_t rateDeciHz, uint16_t seconds) {
  const uint32_t fit = size / (packLength + 2u);
  const uint32_t made = (static_cast<uint32_t>(seconds) * rateDeciHz + 9u) / 10u;
  if (fit == 0) return 0xFFFF;
  const uint32_t every = (made + fit - 1u) / fit;
  return static_cast<uint16_t>(every == 0 ? 1 : (every > 0xFFFF ? 0xFFFF : every));
}

class LateRing {
 public:
  LateRing(uint8_t* memory, uint32_t size) : memory_(memory), size_(size) {}

  uint32_t count() const { return count_; }
  uint32_t dropped() const { return dropped_; }

  // Takes one pack, JSON text from [ to ]. False: empty, too long for a pack, or longer than all the memory.
  bool push(const char* pack, uint16_t length) {
    const uint32_t need = static_cast<uint32_t>(length) + 2u;
    if (length == 0 || length > longestPack || need > size_) return false;
    while (size_ - used_ < need) forgetOldest();
    put(static_cast<uint8_t>(length & 0xFF));
    put(static_cast<uint8_t>(length >> 8));
    for (uint16_t i = 0; i < length; i++) put(static_cast<uint8_t>(pack[i]));
    count_++;
    return true;
  }

  bool fits(uint16_t length) const { return size_ - used_ >= static_cast<uint32_t>(length) + 2u; }

  // The oldest pack as it was made, without taking it away; 0 when there is none or `room` is too small.
  uint16_t peekAsMade(char* text, uint16_t room) const {
    if (count_ == 0) return 0;
    const uint16_t length = lengthAt(first_);
    if (length > room) return 0;
    for (uint16_t i = 0; i < length; i++) text[i] = static_cast<char>(memory_[(first_ + 2u + i) % size_]);
    return length;
  }

  // The oldest pack with `late` in it, without taking it away; 0 when there is none or `room` is too small.
  uint16_t peek(char* text, uint16_t room) const {
    static const char late[] = ",{\"n\":\"late\",\"vb\":true}]";
    const uint16_t tail = sizeof late - 1;
    if (count_ == 0) return 0;
    const uint16_t length = lengthAt(first_);
    const uint16_t all = static_cast<uint16_t>(length - 1u + tail);
    if (all > room || all > longestPack) return 0;
    for (uint16_t i = 0; i + 1u < length; i++) text[i] = static_cast<char>(memory_[(first_ + 2u + i) % size_]);
    for (uint16_t i = 0; i < tail; i++) text[length - 1u + i] = late[i];
    return all;
  }

  // The oldest was sent (or cannot be).
  void pop() {
    if (count_ == 0) return;
    const uint32_t need = static_cast<uint32_t>(lengthAt(first_)) + 2u;
    first_ = (first_ + need) % size_;
    used_ -= need;
    count_--;
  }

 private:
  uint16_t lengthAt(uint32_t at) const {
    return static_cast<uint16_t>(memory_[at % size_] | (memory_[(at + 1u) % size_] << 8));
  }
  void put(uint8_t byte) {
    memory_[(first_ + used_) % size_] = byte;
    used_++;
  }
  void forgetOldest() {
    pop();
    dropped_++;
  }

  uint8_t* memory_;
  uint32_t size_;
  uint32_t first_ = 0;
  uint32_t used_ = 0;
  uint32_t count_ = 0;
  uint32_t dropped_ = 0;
};

}  // namespace limpid
