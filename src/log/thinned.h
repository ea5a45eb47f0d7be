#pragma once

#include <cstdint>
#include <vector>

namespace stopledger {

/// Every k-th of many numbers, k growing so that memory stays bounded.
class Thinned {
 public:
  void add(double value) {
    if (skip_ > 0)
      --skip_;
    else
      keep(value);
  }
  /// The usual value: the median where most lie close to it, else the mean of those up to five
  /// times the median, so that gaps are left out. 0 when there are none.
  [[nodiscard]] double typical() const;

 private:
  void keep(double value);

  std::vector<double> values_;
  std::uint64_t skip_ = 0, stride_ = 1;
};

}  // namespace stopledger
