#include "log/pipeline.h"

#include <algorithm>
#include <condition_variable>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

#include "base/error.h"
#include "log/text.h"

namespace stopledger {
namespace {

// Chosen: a piece and its typed rows fit a core's second-level cache.
constexpr std::size_t piece_bytes = std::size_t{1} << 18U;
constexpr std::size_t longest_line = std::size_t{8} << 20U;
// Chosen: enough that neither thread waits while the other is in a longer job.
constexpr std::size_t most_slots = 8;

/// Some whole records of the text, and the memory that holds them.
struct Piece {
  std::string_view text;
  bool last = false;   // of the file
  double share = 0.0;  // of the source, read with it
  std::string buffer;  // longer than the text, to be used again
};

/// Cuts the stream into pieces of whole records.
class Cutter {
 public:
  /// `begun` must outlive the pieces.
  Cutter(TextStream& stream, std::string_view begun, bool more, char delimiter,
         const std::string& name)
      : stream_(stream), begun_(begun), more_(more), delimiter_(delimiter), name_(name) {}

  /// The next piece. Not to be called after the last one.
  void next(Piece& piece) {
    if (const auto whole = whole_of(begun_); whole > 0) {
      // Records that were read already stay where they are.
      piece.text = begun_.substr(0, whole);
      rest_ = begun_.substr(whole);
    } else {
      rest_ += begun_;
      read(piece);
    }
    begun_ = {};
    piece.last = !more_ && rest_.empty();
    piece.share = stream_.progress();
  }

 private:
  [[nodiscard]] std::size_t whole_of(std::string_view text) const {
    return more_ ? whole_records(text, delimiter_) : text.size();
  }

  void read(Piece& piece) {
    auto& text = piece.buffer;
    std::size_t filled = rest_.size();
    const std::size_t room = more_ ? std::max(filled, piece_bytes) : filled;
    if (text.size() < room) text.resize(room);
    std::copy(rest_.begin(), rest_.end(), text.begin());
    std::size_t whole = 0;
    for (;;) {
      while (more_ && filled < text.size()) {
        const std::size_t n = stream_.read(std::span(text).subspan(filled));
        filled += n;
        more_ = n > 0;
      }
      whole = whole_of(std::string_view(text).substr(0, filled));
      if (whole > 0 || !more_) break;
      if (filled > longest_line)
        throw Error(ErrorKind::input, {name_}, "a line is longer than 8 MB; this is no log");
      text.resize(2 * text.size());
    }
    rest_.assign(text, whole, filled - whole);
    piece.text = std::string_view(text).substr(0, whole);
  }

  TextStream& stream_;
  std::string_view begun_;
  std::string rest_;
  bool more_;
  char delimiter_;
  const std::string& name_;
};

/// One piece on its way; only the thread that has claimed it looks inside.
struct Slot {
  bool typed = false;
  Piece piece;
  RowBlock block;
  std::exception_ptr failed;
};

/// The slots in a ring, each read, typed and taken in turn. Reading goes from piece to piece and so
/// does taking, which is the calling thread's; pieces are typed by whichever thread is free. What
/// is read must also be hashed, one piece after the other, which takes as long as all the rest: so
/// the second thread reads whenever there is room, and the calling thread only when it would wait.
class Ring {
 public:
  Ring(Cutter& cutter, const Typer& typer, unsigned threads)
      : cutter_(cutter), typer_(typer), two_(threads > 1), slots_(two_ ? most_slots : 1) {}
  Ring(const Ring&) = delete;
  Ring& operator=(const Ring&) = delete;
  ~Ring() {
    {
      const std::lock_guard lock(mutex_);
      stop_ = true;
    }
    changed_.notify_all();
    if (worker_.joinable()) worker_.join();
  }

  void run(const Pipeline::Take& take) {
    std::unique_lock lock(mutex_);
    while (!ended_ || taken_ < filled_) {
      Slot& oldest = slot(taken_);
      if (taken_ < filled_ && oldest.typed) {
        lock.unlock();
        if (oldest.failed) std::rethrow_exception(oldest.failed);
        if (!take(oldest.block, oldest.piece.share)) return;
        lock.lock();
        oldest.typed = false;
        ++taken_;
        changed_.notify_all();
      } else if (!type_one(lock) && !read_one(lock)) {
        changed_.wait(lock);
      }
      // A second thread pays from the second piece on; most logs have one.
      if (two_ && !ended_ && !worker_.joinable()) worker_ = std::thread([this] { work(); });
    }
  }

 private:
  Slot& slot(std::size_t number) { return slots_[number % slots_.size()]; }

  void work() {
    std::unique_lock lock(mutex_);
    while (!stop_)
      if (!read_one(lock) && !type_one(lock)) changed_.wait(lock);
  }

  /// Runs `job` without the lock; what it throws is kept for the taker.
  template <typename Job>
  void run_unlocked(std::unique_lock<std::mutex>& lock, Slot& slot, const Job& job) {
    lock.unlock();
    try {
      job(slot);
    } catch (...) {
      slot.failed = std::current_exception();
    }
    lock.lock();
    changed_.notify_all();
  }

  /// Reads the next piece when there is one, room for it, and no other thread at it.
  bool read_one(std::unique_lock<std::mutex>& lock) {
    if (ended_ || reading_ || filled_ - taken_ == slots_.size()) return false;
    reading_ = true;
    Slot& next = slot(filled_);
    run_unlocked(lock, next, [&](Slot& slot) { cutter_.next(slot.piece); });
    reading_ = false;
    ended_ = next.piece.last || next.failed;
    ++filled_;
    return true;
  }

  /// Types the oldest piece that waits for it.
  bool type_one(std::unique_lock<std::mutex>& lock) {
    if (claimed_ == filled_) return false;
    Slot& next = slot(claimed_++);
    run_unlocked(lock, next, [&](Slot& slot) {
      if (slot.failed) return;
      typer_.type(slot.piece.text, slot.piece.last, slot.block);
    });
    next.typed = true;
    return true;
  }

  Cutter& cutter_;
  const Typer& typer_;
  const bool two_;
  std::vector<Slot> slots_;
  std::mutex mutex_;
  std::condition_variable changed_;
  // Pieces read, claimed for typing, and taken; the first and the last as counted at their end.
  std::size_t filled_ = 0, claimed_ = 0, taken_ = 0;
  bool reading_ = false, ended_ = false, stop_ = false;
  std::thread worker_;
};

}  // namespace

void Pipeline::run(TextStream& stream, std::string_view begun, bool more, const Typer& typer,
                   const std::string& name, unsigned threads, const Take& take) {
  Cutter cutter(stream, begun, more, typer.delimiter(), name);
  Ring(cutter, typer, threads).run(take);
}

}  // namespace stopledger
