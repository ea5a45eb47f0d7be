// Times the reader on one file: typing every cell, the whole read with and without its hash, on one
// and two threads, and one pass over the mapped bytes as the yardstick. Prints the lowest of three
// runs each; run it on a quiet machine.
#include <fcntl.h>
#include <fmt/format.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdint>
#include <cstring>
#include <exception>
#include <functional>
#include <string>

#include "base/memory.h"
#include "log/layout.h"
#include "log/pipeline.h"
#include "log/reader.h"
#include "log/source.h"
#include "log/text.h"

using namespace stopledger;

namespace {

double lowest_of_three(const std::function<void()>& run) {
  double best = 1e9;
  for (int i = 0; i < 3; ++i) {
    const auto start = std::chrono::steady_clock::now();
    run();
    best = std::min(
        best, std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
  }
  return best;
}

/// Sum of all eight-byte words of the mapped file.
std::uint64_t memory_pass(const std::string& path, std::size_t size) {
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  void* map = ::mmap(nullptr, size, PROT_READ, MAP_PRIVATE, file, 0);
  ::close(file);
  if (map == MAP_FAILED) return 0;
  const auto* bytes = static_cast<const char*>(map);
  std::uint64_t sum = 0, word = 0;
  for (std::size_t i = 0; i + 8 <= size; i += 8) {
    std::memcpy(&word, bytes + i, 8);
    sum += word;
  }
  ::munmap(map, size);
  return sum;
}

/// Types every cell and forgets it; returns the rows.
std::size_t type_all(const std::string& path, unsigned threads) {
  const auto source = open_source(path, false);
  TextStream stream(*source);
  std::string head(std::size_t{1} << 20U, '\0');
  std::size_t filled = 0;
  while (filled < head.size()) {
    const auto n = stream.read(std::span(head).subspan(filled));
    if (n == 0) break;
    filled += n;
  }
  head.resize(filled);
  const auto whole = std::string_view(head).substr(0, whole_records(head, ','));
  const auto layout = find_layout(whole, path, {});
  const Typer typer(layout);
  std::size_t rows = 0;
  Pipeline::run(stream, std::string_view(head).substr(layout.data_offset), true, typer, path,
                threads, [&](RowBlock& block, double) {
                  rows += block.rows;
                  return true;
                });
  return rows;
}

int run(const std::string& path) {
  struct stat info {};
  if (::stat(path.c_str(), &info) != 0) {
    fmt::print(stderr, "read_bench: {} cannot be opened\n", path);
    return 2;
  }
  const auto size = static_cast<std::size_t>(info.st_size);
  const double megabytes = static_cast<double>(size) / 1e6;
  volatile std::uint64_t sink = 0;
  const double pass = lowest_of_three([&] { sink = memory_pass(path, size); });
  const auto report = [&](const char* what, double seconds) {
    fmt::print("{:<42} {:7.3f} s  {:7.0f} MB/s  {:5.1f} passes\n", what, seconds,
               megabytes / seconds, seconds / pass);
  };
  fmt::print("{}: {:.1f} MB\n", path, megabytes);
  report("one pass over the mapped file", pass);
  report("type every cell, 1 thread", lowest_of_three([&] { type_all(path, 1); }));
  report("type every cell, 2 threads", lowest_of_three([&] { type_all(path, 2); }));
  for (const bool hash : {false, true})
    for (const unsigned threads : {1U, 2U}) {
      ReadOptions options;
      options.hash = hash;
      options.threads = threads;
      const auto what = fmt::format("whole read{}, {} thread{}", hash ? " with SHA-256" : "",
                                    threads, threads == 1 ? "" : "s");
      report(what.c_str(), lowest_of_three([&] { read_log(path, options); }));
    }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) {
    fmt::print(stderr, "usage: read_bench LOG\n");
    return 2;
  }
  use_large_pages();
  try {
    return run(argv[1]);
  } catch (const std::exception& error) {
    fmt::print(stderr, "read_bench: {}\n", error.what());
    return 2;
  }
}
