#include "base/memory.h"

#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>

namespace stopledger {

void use_large_pages() {
#if defined(__GLIBC__) && defined(MADV_HUGEPAGE)
  // Addresses only, no memory until it is touched. Chosen: an hour at 1 kHz fills two thirds.
  constexpr int heap = 64 << 20;
  constexpr std::uintptr_t large_page = 2 << 20;
  mallopt(M_MMAP_THRESHOLD, heap / 2);  // the most that is allowed
  mallopt(M_TRIM_THRESHOLD, 2 * heap);
  mallopt(M_ARENA_MAX, 1);
  mallopt(M_TOP_PAD, heap);
  constexpr std::uintptr_t more_than_heap_has = 256 << 10;
  void* const first = std::malloc(more_than_heap_has);
  mallopt(M_TOP_PAD, 1 << 20);
  if (first == nullptr) return;
  const auto begin = reinterpret_cast<std::uintptr_t>(first);
  // The first large page of which nothing is touched yet.
  const auto aligned = (begin + 2 * more_than_heap_has + large_page) & ~(large_page - 1);
  const auto end = reinterpret_cast<std::uintptr_t>(::sbrk(0)) & ~(large_page - 1);
  std::free(first);
  if (end <= aligned || end - aligned > 2 * std::uintptr_t{heap}) return;  // not the one heap
  static_cast<void>(::madvise(reinterpret_cast<void*>(aligned), end - aligned, MADV_HUGEPAGE));
  // What lies before the first large page is left out, untouched.
  constexpr std::uintptr_t header = 64;
  [[maybe_unused]] static void* volatile left_out;  // or the compiler drops the allocation
  if (aligned - begin > 2 * header) left_out = std::malloc(aligned - begin - header);
#endif
}

}  // namespace stopledger
