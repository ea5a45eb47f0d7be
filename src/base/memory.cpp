#include "base/memory.h"

#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>

namespace stopledger {

void take_memory(std::size_t bytes) {
#if defined(__GLIBC__) && defined(MADV_POPULATE_WRITE)
  // The most that is allowed: what is smaller comes from the one heap and goes back to it.
  constexpr int largest = 32 << 20;
  mallopt(M_MMAP_THRESHOLD, largest);
  mallopt(M_TRIM_THRESHOLD, 2 * largest);
  mallopt(M_ARENA_MAX, 1);
  void* const taken = std::malloc(bytes);
  if (taken == nullptr) return;
  const auto page = static_cast<std::uintptr_t>(::sysconf(_SC_PAGESIZE));
  const auto begin = reinterpret_cast<std::uintptr_t>(taken) & ~(page - 1);
  const auto end = (reinterpret_cast<std::uintptr_t>(taken) + bytes) & ~(page - 1);
  // What is refused here is taken page by page later.
  static_cast<void>(::madvise(reinterpret_cast<void*>(begin), end - begin, MADV_POPULATE_WRITE));
  std::free(taken);
#else
  static_cast<void>(bytes);
#endif
}

}  // namespace stopledger
