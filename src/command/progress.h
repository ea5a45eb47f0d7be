#pragma once

#include <functional>

#include "command/context.h"

namespace stopledger {

/// Shows on a terminal how far a long read has come, from half a second on; wipes it when it goes.
/// Says nothing when standard error is no terminal.
class Progress {
 public:
  explicit Progress(Context& context);
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;
  ~Progress();

  /// For ReadOptions::progress; must not outlive this object.
  std::function<void(double)> reporter();

 private:
  void show(double share);

  Context& context_;
  double started_s_;
  int shown_percent_ = -1;
};

}  // namespace stopledger
