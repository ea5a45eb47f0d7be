#pragma once

#include <cstdint>
#include <vector>

namespace stopledger {

/// Every k-th of many numbers, k growing so that memory stays bounded.
class Thinned {
 public:
  void add(double value);
  /// The usual value: the median where most lie close to it, else the mean of those up to five
  /// times the median, so that gaps are left out. 0 when there are none.
  [[nodiscard]] double typical() const;

 private:
  std::vector<double> values_;
  std::uint64_t seen_ = 0, stride_ = 1;
};

}  // namespace stopledger
