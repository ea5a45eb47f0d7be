#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace stopledger {

/// One change of a column's value.
struct Change {
  std::uint64_t cell = 0;  ///< how many filled cells of the column came before it
  double jump = 0.0;       ///< new minus old value, as written
};

/// Changes of one column in bounded memory: runs of neighbouring changes, spread over the file.
class ChangeLog {
 public:
  /// Called at the start of each stretch of rows: whether its changes are to be added. Once much is
  /// known, only every n-th stretch is.
  bool wants_stretch() {
    const bool wanted = stretches_++ % stride_ == 0;
    if (stride_ > 1) open_ = false;
    return wanted;
  }
  void add(std::uint64_t cell, double jump) {
    if (!open_) run_starts_.push_back(changes_.size());
    open_ = true;
    changes_.push_back({cell, jump});
    if (changes_.size() >= most_changes) halve();
  }
  /// A restart or gap: no interval reaches across it.
  void cut() { open_ = false; }

  /// Runs of neighbouring changes.
  [[nodiscard]] std::vector<std::span<const Change>> runs() const;

 private:
  static constexpr std::size_t run_length = 64;
  static constexpr std::size_t most_changes = 16384;
  void halve();

  std::vector<Change> changes_;
  std::vector<std::size_t> run_starts_;
  std::uint64_t stretches_ = 0, stride_ = 1;
  bool open_ = false;
};

/// What the changes of one column say about how often it is renewed.
struct UpdateEvidence {
  std::optional<double> period;   ///< filled cells from one renewal to the next, when it is shown
  std::optional<double> at_most;  ///< the period cannot be longer than this
  std::optional<double> quantum;  ///< step of the written values
};

/// Judges one column.
///
/// A column that is renewed every p cells changes only at multiples of p. While its value moves by
/// several steps per renewal each renewal is a change, so the spacing of big jumps is p itself;
/// a quantised value that creeps shows gaps of any length, which say nothing. At rest nothing is
/// shown either: `period` is then empty and the column's companions decide.
UpdateEvidence judge_updates(const ChangeLog& changes);

}  // namespace stopledger
