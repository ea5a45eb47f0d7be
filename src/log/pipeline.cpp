#include "log/pipeline.h"

#include <algorithm>
#include <array>
#include <condition_variable>
#include <exception>
#include <mutex>
#include <thread>

#include "base/error.h"
#include "log/text.h"

namespace stopledger {
namespace {

// Chosen: a piece and its typed rows fit a core's second-level cache.
constexpr std::size_t piece_bytes = std::size_t{1} << 18U;
constexpr std::size_t longest_line = std::size_t{8} << 20U;
constexpr std::size_t slot_count = 4;

/// Cuts the stream into pieces of whole records.
class Cutter {
 public:
  Cutter(TextStream& stream, std::string_view begun, bool more, char delimiter,
         const std::string& name)
      : stream_(stream), rest_(begun), more_(more), delimiter_(delimiter), name_(name) {}

  /// The next piece into the front of `text`, `whole` bytes long; false when there is none. `last`
  /// tells the file's end.
  bool next(std::string& text, std::size_t& whole, bool& last) {
    if (ended_) return false;
    std::size_t filled = rest_.size();
    const std::size_t room = more_ ? std::max(filled, piece_bytes) : filled;
    if (text.size() < room) text.resize(room);
    std::copy(rest_.begin(), rest_.end(), text.begin());
    for (;;) {
      while (more_ && filled < text.size()) {
        const std::size_t n = stream_.read(std::span(text).subspan(filled));
        filled += n;
        more_ = n > 0;
      }
      const auto view = std::string_view(text).substr(0, filled);
      whole = more_ ? whole_records(view, delimiter_) : filled;
      if (whole > 0 || !more_) break;
      if (filled > longest_line)
        throw Error(ErrorKind::input, {name_}, "a line is longer than 8 MB; this is no log");
      text.resize(2 * text.size());
    }
    rest_.assign(text, whole, filled - whole);
    last = !more_ && rest_.empty();
    ended_ = last;
    return true;
  }

 private:
  TextStream& stream_;
  std::string rest_;
  bool more_;
  bool ended_ = false;
  char delimiter_;
  const std::string& name_;
};

struct Slot {
  enum class State { free, filled, typing, typed };
  State state = State::free;
  std::string text;  // longer than its piece, to be used again
  std::size_t whole = 0;
  bool last = false;
  RowBlock block;
  std::exception_ptr failed;
};

void type_slot(Slot& slot, const Typer& typer) {
  try {
    typer.type(std::string_view(slot.text).substr(0, slot.whole), slot.last, slot.block);
  } catch (...) {
    slot.failed = std::current_exception();
  }
}

/// The slots in a ring; the calling thread fills and takes them in order, both threads type.
class Ring {
 public:
  Ring(const Typer& typer, unsigned threads) : typer_(typer), two_(threads > 1) {}
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

  void run(Cutter& cutter, const Pipeline::Take& take) {
    bool more = true;
    std::size_t fill = 0, oldest = 0;
    while (more || oldest < fill) {
      Slot& next = slots_[fill % slot_count];
      if (more && fill - oldest < slot_count) {
        more = cutter.next(next.text, next.whole, next.last);
        if (!more) continue;
        {
          const std::lock_guard lock(mutex_);
          next.state = Slot::State::filled;
          filled_ = ++fill;
        }
        // A second thread pays from the second piece on; most logs have one.
        if (two_ && fill == 2) worker_ = std::thread([this] { work(); });
        changed_.notify_all();
        if (fill - oldest < slot_count && two_ && !next.last) continue;
      }
      Slot& slot = slots_[oldest % slot_count];
      if (!wait_typed(oldest)) continue;
      if (slot.failed) std::rethrow_exception(slot.failed);
      const bool go_on = take(slot.block);
      {
        const std::lock_guard lock(mutex_);
        slot.state = Slot::State::free;
      }
      ++oldest;
      if (!go_on) return;
    }
  }

 private:
  /// Waits for that slot to be typed, or types one meanwhile; true when it is typed.
  bool wait_typed(std::size_t oldest) {
    std::unique_lock lock(mutex_);
    for (;;) {
      if (slots_[oldest % slot_count].state == Slot::State::typed) return true;
      if (Slot* slot = claim()) {
        lock.unlock();
        type_slot(*slot, typer_);
        lock.lock();
        slot->state = Slot::State::typed;
        return slots_[oldest % slot_count].state == Slot::State::typed;
      }
      changed_.wait(lock);
    }
  }

  /// The oldest filled slot, now marked as being typed; the lock is held.
  Slot* claim() {
    for (; claimed_ < filled_; ++claimed_) {
      Slot& slot = slots_[claimed_ % slot_count];
      if (slot.state != Slot::State::filled) continue;
      slot.state = Slot::State::typing;
      ++claimed_;
      return &slot;
    }
    return nullptr;
  }

  void work() {
    std::unique_lock lock(mutex_);
    while (!stop_) {
      if (Slot* slot = claim()) {
        lock.unlock();
        type_slot(*slot, typer_);
        lock.lock();
        slot->state = Slot::State::typed;
        changed_.notify_all();
      } else {
        changed_.wait(lock);
      }
    }
  }

  const Typer& typer_;
  bool two_;
  std::array<Slot, slot_count> slots_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::size_t filled_ = 0, claimed_ = 0;
  bool stop_ = false;
  std::thread worker_;
};

}  // namespace

void Pipeline::run(TextStream& stream, std::string_view begun, bool more, const Typer& typer,
                   const std::string& name, unsigned threads, const Take& take) {
  Cutter cutter(stream, begun, more, typer.delimiter(), name);
  Ring(typer, threads).run(cutter, take);
}

}  // namespace stopledger
