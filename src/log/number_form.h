#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace stopledger {

/// Exact in a double.
inline constexpr std::array<double, 16> powers_of_ten{1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                      1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};

/// The first so many bytes of eight.
inline constexpr std::array<std::uint64_t, 9> first_bytes{0,
                                                          0xFF,
                                                          0xFFFF,
                                                          0xFFFFFF,
                                                          0xFFFFFFFF,
                                                          0xFFFFFFFFFF,
                                                          0xFFFFFFFFFFFF,
                                                          0xFFFFFFFFFFFFFF,
                                                          0xFFFFFFFFFFFFFFFF};

inline constexpr std::uint64_t every_byte = 0x0101010101010101;

/// How a number without sign of at most eight characters is written: so many digits, the mark or
/// none, so many digits. Reads another one of that form in one piece.
class NumberForm {
 public:
  NumberForm() = default;
  /// `factor`: values are multiplied by it.
  NumberForm(std::ptrdiff_t whole, bool mark, std::ptrdiff_t decimals, char decimal,
             double factor) {
    const auto length = static_cast<std::size_t>(whole + (mark ? 1 : 0) + decimals);
    const auto before = static_cast<std::size_t>(whole);
    if (length > 8) return;
    length_ = length;
    used_ = first_bytes[length];
    whole_ = first_bytes[before];
    text_ = used_ & every_byte * '0';
    room_ = every_byte * (0x7F - 9);
    if (mark) {
      const auto at = first_bytes[before + 1] ^ first_bytes[before];
      text_ = (text_ & ~at) | (at & every_byte * static_cast<unsigned char>(decimal));
      room_ |= at & every_byte * 0x7F;
      fraction_ = used_ & ~first_bytes[before + 1];
    }
    // The last digit into the last byte; what stands before the mark moves up by the mark's byte.
    shift_ = static_cast<unsigned>(64 - 8 * length);
    whole_shift_ = shift_ + (mark ? 8U : 0U);
    divisor_[0] = powers_of_ten[static_cast<std::size_t>(decimals)];
    divisor_[1] = -divisor_[0];
    factor_ = factor;
  }

  /// 0: no form.
  [[nodiscard]] std::size_t length() const { return length_; }

  /// The number in the first bytes of `text`; false when they are not of this form.
  bool read(std::uint64_t text, bool negative, double& value) const {
    // Each byte is a digit's value, 0 for the mark, or too large: it reaches bit 7 with its room.
    const auto digits = (text ^ text_) & used_;
    if ((((digits + room_) | digits) & every_byte * 0x80) != 0) return false;
    auto n = (digits & whole_) << whole_shift_ | (digits & fraction_) << shift_;
    // Neighbours joined: pairs, fours, all eight.
    n = n * (1 + (10U << 8U)) >> 8U & 0x00FF00FF00FF00FF;
    n = n * (1 + (100ULL << 16U)) >> 16U & 0x0000FFFF0000FFFF;
    n = n * (1 + (10000ULL << 32U)) >> 32U;
    value =
        static_cast<double>(static_cast<std::int64_t>(n)) / divisor_[negative ? 1 : 0] * factor_;
    return true;
  }

 private:
  std::size_t length_ = 0;
  std::uint64_t text_ = 0, used_ = 0, room_ = 0, whole_ = 0, fraction_ = 0;
  unsigned shift_ = 0, whole_shift_ = 0;
  std::array<double, 2> divisor_{1.0, -1.0};
  double factor_ = 1.0;
};

}  // namespace stopledger
