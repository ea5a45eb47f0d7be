#include "command/progress.h"

#include <chrono>
#include <ostream>

namespace stopledger {
namespace {

double now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

}  // namespace

Progress::Progress(Context& context) : context_(context), started_s_(now_s()) {}

Progress::~Progress() {
  if (shown_percent_ >= 0) context_.err << "\r                    \r" << std::flush;
}

std::function<void(double)> Progress::reporter() {
  if (!context_.err_is_terminal) return {};
  return [this](double share) { show(share); };
}

void Progress::show(double share) {
  const int percent = static_cast<int>(share * 100.0);
  if (percent == shown_percent_ || now_s() - started_s_ < 0.5) return;
  shown_percent_ = percent;
  context_.err << "\rreading " << percent << " %" << std::flush;
}

}  // namespace stopledger
