// The fast path of Typer: simple rows byte by byte.
//
// It must give what type_plainly gives, to the bit. Numbers of at most 15 digits are read as a
// whole number and divided by a power of ten: both are exact in a double, so the quotient is the
// correctly rounded value, as a full parser gives it. A cell that is spelled like the one above it
// has its value. Whatever else a row holds, it is handed to type_plainly.
#include <array>
#include <bit>
#include <cmath>
#include <cstring>
#include <limits>

#include "log/block.h"

namespace stopledger {
namespace {

constexpr std::array<double, 16> powers_of_ten{1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                               1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};

std::uint64_t load8(const char* p) {
  std::uint64_t bits = 0;
  std::memcpy(&bits, p, 8);
  return bits;
}

/// Bytes that a compare may read past a cell's start.
constexpr std::ptrdiff_t look_ahead = 8;

/// Whether the text at `p` is that of `other`, which stands before it. Eight bytes at a time: such
/// tails are too short for a call to pay.
bool same_bytes(const char* p, const char* end, const char* other, std::ptrdiff_t length) {
  if (end - p < length + look_ahead || length == 0) return false;
  for (; length >= 8; length -= 8, p += 8, other += 8)
    if (load8(p) != load8(other)) return false;
  if (length == 0) return true;
  return ((load8(p) ^ load8(other)) << (64 - 8 * length)) == 0;
}

}  // namespace

/// A column's last cell in this block, with the character that ended it.
struct Typer::Seen {
  std::uint64_t text = 0;                  // the first up to eight bytes
  std::uint64_t mask = ~std::uint64_t{0};  // with text = 0: matches no cell (no cell is NULs)
  std::uint32_t length = 0;                // with its end; 0 when not to be compared
  double value = 0.0;
};

/// Where the row above stopped changing, and this one.
struct Typer::Row {
  std::size_t tail_column = ~std::size_t{0};  // of the row above: all from here on were unchanged
  const char* tail = nullptr;                 // and their text
  std::ptrdiff_t tail_length = 0;
};

const char* Typer::fast_row(const char* p, const char* end, std::vector<Seen>& seen,
                            Row& row) const {
  const char delimiter = layout_.style.delimiter, decimal = layout_.style.decimal;
  const std::size_t columns = slot_.size();
  std::size_t changed_to = 0;  // columns before this one may have changed
  const char* after_change = p;
  for (std::size_t i = 0; i < columns; ++i) {
    Seen& cell = seen[i];
    if (i == row.tail_column && same_bytes(p, end, row.tail, row.tail_length)) {
      p += row.tail_length;
      break;
    }
    if (end - p < look_ahead) return nullptr;
    if ((load8(p) & cell.mask) == cell.text) {
      p += cell.length;
      continue;
    }
    const char* const begin = p;
    const char ends_with = i + 1 < columns ? delimiter : '\n';
    const int slot = slot_[i];
    double value = std::numeric_limits<double>::quiet_NaN();
    bool known = false;
    if (slot != skipped) {
      // Every piece of text ends with a line end, which stops these loops.
      const bool negative = *p == '-';
      p += negative ? 1 : 0;
      std::uint64_t digits = 0;
      const char* const whole = p;
      for (unsigned d = 0; (d = static_cast<unsigned char>(*p) - '0') < 10U; ++p)
        digits = digits * 10 + d;
      std::ptrdiff_t count = p - whole, decimals = 0;
      if (*p == decimal && decimal != delimiter) {
        const char* const fraction = ++p;
        for (unsigned d = 0; (d = static_cast<unsigned char>(*p) - '0') < 10U; ++p)
          digits = digits * 10 + d;
        decimals = p - fraction;
        count += decimals;
      }
      const bool at_end = *p == ends_with || (ends_with == '\n' && *p == '\r');
      known = at_end && count > 0 && count <= 15;
      if (known) {
        value = static_cast<double>(digits) / powers_of_ten[static_cast<std::size_t>(decimals)];
        if (negative) value = -value;
      }
    }
    if (!known) {
      p = begin;
      while (*p != delimiter && *p != '\n' && *p != '\r') ++p;
      if (*p != ends_with && !(ends_with == '\n' && (*p == '\r' || *p == delimiter)))
        return nullptr;
      const std::string_view text(begin, static_cast<std::size_t>(p - begin));
      if (slot == time_stamp) {
        if (!stamp_of_cell(text, cell.value)) return nullptr;
        known = true;
      } else if (slot != skipped) {
        if (!value_of_cell(text, i, value)) return nullptr;
      }
    }
    if (slot == time_stamp && !known) return nullptr;
    if (slot == time_stamp) {
      // A stamp from value_of_cell's sibling above is final; a plain number needs its factor.
      if (!std::isnan(value)) cell.value = value * layout_.time_factor;
      if (!std::isnan(value) &&
          (layout_.time_form != TimeForm::number || std::abs(cell.value) >= 1e13))
        return nullptr;
    } else {
      cell.value = value;
    }
    // Past the end of the cell.
    if (i + 1 < columns) {
      ++p;
    } else {
      if (*p == delimiter) ++p;  // a trailing delimiter
      if (*p == '\r') ++p;
      if (*p != '\n') return nullptr;
      ++p;
    }
    const auto length = p - begin;
    cell.length = static_cast<std::uint32_t>(length);
    if (length <= look_ahead) {
      cell.mask = ~std::uint64_t{0} >> (64 - 8 * length);
      cell.text = load8(begin) & cell.mask;
    } else {
      cell.mask = ~std::uint64_t{0};
      cell.text = 0;
    }
    changed_to = i + 1;
    after_change = p;
  }
  row.tail_column = changed_to;
  row.tail = after_change;
  row.tail_length = p - after_change;
  return p;
}

std::size_t Typer::type_fast(std::string_view text, bool last, RowBlock& block) const {
  static_assert(std::endian::native == std::endian::little, "cells are compared as loaded");
  const std::size_t final_end = text.rfind('\n') + 1;  // npos + 1 is 0
  const char* p = text.data();
  const char* const end = p + final_end;
  const std::size_t tracked = columns_.size();
  std::vector<Seen> seen(slot_.size());
  std::vector<const double*> sources(tracked);
  for (std::size_t k = 0; k < tracked; ++k) sources[k] = &seen[columns_[k]].value;
  std::vector<double*> sinks(tracked);
  double* stamps = nullptr;
  std::uint32_t* lines = nullptr;
  const auto make_room = [&](std::size_t rows) {
    block.reserve(rows);
    stamps = block.stamp.data();
    lines = block.line.data();
    for (std::size_t k = 0; k < tracked; ++k) sinks[k] = block.values[k].data();
  };
  make_room(64);
  const double* const stamp =
      layout_.time_column < seen.size() ? &seen[layout_.time_column].value : nullptr;
  std::size_t line = 0;
  Row row;
  while (p < end) {
    const char first = *p;
    const bool odd = static_cast<unsigned char>(first) <= ' ' || first == '#' || first == '/' ||
                     static_cast<unsigned char>(first) >= 0x80;
    const char* next = odd || stamp == nullptr ? nullptr : fast_row(p, end, seen, row);
    if (next != nullptr) {
      if (block.rows == block.stamp.size())
        make_room(block.rows + 64 +
                  static_cast<std::size_t>(end - p) / static_cast<std::size_t>(next - p));
      stamps[block.rows] = *stamp;
      lines[block.rows] = static_cast<std::uint32_t>(line);
      for (std::size_t k = 0; k < tracked; ++k) sinks[k][block.rows] = *sources[k];
      ++block.rows;
      ++line;
      p = next;
      continue;
    }
    // Not a simple row: the general rules for this line.
    const auto* const stop =
        static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end - p))) + 1;
    line = type_plainly({p, static_cast<std::size_t>(stop - p)}, false, line, block);
    if (block.defects.second_table.count > 0) return line;
    make_room(block.rows);
    seen.assign(seen.size(), Seen{});
    row = {};
    p = stop;
  }
  if (final_end < text.size()) line = type_plainly(text.substr(final_end), last, line, block);
  return line;
}

}  // namespace stopledger
