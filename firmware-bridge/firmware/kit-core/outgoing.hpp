// Packs on their way to a broker. Each is held until the broker has acknowledged it; what was not when the link went, and what
// is made while it is away, goes out as late packs. One that is sent twice is used once. No heap.
#pragma once
#include <stdint.h>

#include "late-ring.hpp"

namespace limpid {

// A link that takes a pack without waiting. `send` gives the number by which the broker acknowledges it, below 0 when it
// was not taken; acknowledgements come in the order of sending (MQTT 3.1.1, section 4.6).
struct PackLink {
  virtual bool up() = 0;
  virtual int32_t send(const char* pack, uint16_t length) = 0;

 protected:
  ~PackLink() = default;
};

class Outgoing {
 public:
  Outgoing(LateRing& sent, LateRing& late) : sent_(sent), late_(late) {}

  // A pack was made. While the link is away, of `every` packs one is kept, and each with a press of the button.
  void take(PackLink& link, const char* pack, uint16_t length, uint16_t every) {
    if (link.up() && fits(length) && note(link.send(pack, length))) {
      sent_.push(pack, length);
      return;
    }
    if (++sinceKept_ < every && !hasPass(pack, length)) return;
    sinceKept_ = 0;
    late_.push(pack, length);
  }

  // The broker has it. Numbers of an earlier connection mean nothing any more.
  void acknowledged(int32_t id) {
    if (ids_ == 0 || id_[first_] != id) return;
    first_ = static_cast<uint8_t>((first_ + 1u) % mostSent);
    ids_--;
    sent_.pop();
  }

  // Called often. Late packs go out one at a time, so that live ones are not held up.
  void step(PackLink& link, uint32_t nowMs) {
    char text[longestPack];
    if (!link.up()) {
      ids_ = 0;
      for (uint16_t length = sent_.peekAsMade(text, sizeof text); length > 0; length = sent_.peekAsMade(text, sizeof text)) {
        late_.push(text, length);
        sent_.pop();
      }
      return;
    }
    if (late_.count() == 0 || nowMs - lateMs_ < betweenMs) return;
    lateMs_ = nowMs;
    const uint16_t length = late_.peek(text, sizeof text);
    if (length > 0 && (!fits(length) || !note(link.send(text, length)))) return;
    if (length > 0) {
      const uint16_t made = late_.peekAsMade(text, sizeof text);
      sent_.push(text, made);
    }
    late_.pop();
  }

 private:
  static constexpr uint32_t betweenMs = 50;
  static constexpr uint8_t mostSent = 64;

  bool fits(uint16_t length) const { return ids_ < mostSent && sent_.fits(length); }

  bool note(int32_t id) {
    if (id < 0) return false;
    id_[(first_ + ids_) % mostSent] = id;
    ids_++;
    return true;
  }

  static bool hasPass(const char* pack, uint16_t length) {
    static const char word[] = "\"pass\"";
    const uint16_t n = sizeof word - 1;
    for (uint16_t i = 0; i + n <= length; i++) {
      uint16_t k = 0;
      while (k < n && pack[i + k] == word[k]) k++;
      if (k == n) return true;
    }
    return false;
  }

  LateRing& sent_;
  LateRing& late_;
  uint32_t lateMs_ = 0;
  uint16_t sinceKept_ = 0;
  int32_t id_[mostSent] = {};
  uint8_t first_ = 0;
  uint8_t ids_ = 0;
};

}  // namespace limpid
