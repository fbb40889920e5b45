// A bad cable between two network cards: `shuffle CARD CARD LOST DOUBLED LATE_MS SEED`.
//
// Makes two cards (Linux: Documentation/networking/tuntap.rst) and carries each Ethernet frame from one to the other, but
// loses a share of them, sends a share twice, and lets each wait up to LATE_MS, so that they overtake one another. Says
// "ready" when the cards are there, and at SIGTERM what it did.
#include <fcntl.h>
#include <linux/if.h>
#include <linux/if_tun.h>
#include <poll.h>
#include <signal.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <map>
#include <random>
#include <vector>

namespace {

volatile sig_atomic_t ended = 0;

long nowUs() {
  return std::chrono::duration_cast<std::chrono::microseconds>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

int card(const char* name) {
  const int fd = open("/dev/net/tun", O_RDWR | O_NONBLOCK);
  ifreq request{};
  request.ifr_flags = IFF_TAP | IFF_NO_PI;
  std::strncpy(request.ifr_name, name, IFNAMSIZ - 1);
  if (fd < 0 || ioctl(fd, TUNSETIFF, &request) < 0) {
    std::perror(name);
    std::exit(1);
  }
  return fd;
}

struct Frame {
  int to;
  std::vector<char> bytes;
};

}  // namespace

int main(int count, char** words) {
  if (count != 7) {
    std::fprintf(stderr, "usage: shuffle CARD CARD LOST DOUBLED LATE_MS SEED\n");
    return 2;
  }
  const int cards[2] = {card(words[1]), card(words[2])};
  const double lost = std::atof(words[3]), doubled = std::atof(words[4]), lateUs = 1000 * std::atof(words[5]);
  std::mt19937 random(static_cast<unsigned>(std::atoi(words[6])));
  std::uniform_real_distribution<double> chance(0, 1);
  struct sigaction ending {};
  ending.sa_handler = [](int) { ended = 1; };
  sigaction(SIGTERM, &ending, nullptr);
  std::multimap<long, Frame> waiting;
  long carried = 0, dropped = 0, twice = 0, overtaken = 0, newest = 0;
  std::puts("ready");
  std::fflush(stdout);
  while (!ended) {
    const long untilUs = waiting.empty() ? 100'000 : waiting.begin()->first - nowUs();
    pollfd ears[2] = {{cards[0], POLLIN, 0}, {cards[1], POLLIN, 0}};
    poll(ears, 2, untilUs <= 0 ? 0 : static_cast<int>(untilUs / 1000) + 1);
    for (int from = 0; from < 2; ++from) {
      char bytes[65536];
      for (ssize_t n; (n = read(cards[from], bytes, sizeof bytes)) > 0;) {
        if (chance(random) < lost) {
          ++dropped;
          continue;
        }
        const bool isTwice = chance(random) < doubled;
        twice += isTwice;
        for (int copy = 0; copy <= isTwice; ++copy) {
          const long dueUs = nowUs() + static_cast<long>(lateUs * chance(random));
          overtaken += dueUs < newest;
          newest = dueUs > newest ? dueUs : newest;
          waiting.emplace(dueUs, Frame{cards[1 - from], std::vector<char>(bytes, bytes + n)});
        }
        ++carried;
      }
    }
    while (!waiting.empty() && waiting.begin()->first <= nowUs()) {
      const Frame& frame = waiting.begin()->second;
      // A card that is not up takes nothing: lost like any other.
      if (write(frame.to, frame.bytes.data(), frame.bytes.size()) < 0) ++dropped;
      waiting.erase(waiting.begin());
    }
  }
  std::printf("carried %ld, lost %ld, doubled %ld, overtaken %ld\n", carried, dropped, twice, overtaken);
  return 0;
}
