// The fast path of Typer: simple rows byte by byte.
//
// It must give what type_plainly gives, to the bit. Numbers of at most 15 digits are read as a
// whole number and divided by a power of ten: both are exact in a double, so the quotient is the
// correctly rounded value, as a full parser gives it. A cell that is spelled like the one above it
// has its value; one of the same form (so many digits before and after the mark) is read in one
// piece. Whatever else a row holds, it is handed to type_plainly.
#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <limits>

#include "log/block.h"
#include "log/number_form.h"

namespace stopledger {
namespace {

std::uint64_t load8(const char* p) {
  std::uint64_t bits = 0;
  std::memcpy(&bits, p, 8);
  return bits;
}

/// Bytes that may be read past a cell's start: a sign, eight characters, the cell's end, and more.
constexpr std::ptrdiff_t look_ahead = 16;

/// Whether the text at `p` is that of `other`, which stands before it. Eight bytes at a time: such
/// tails are too short for a call to pay.
bool same_bytes(const char* p, const char* end, const char* other, std::ptrdiff_t length) {
  if (end - p < length + look_ahead || length == 0) return false;
  for (; length >= 8; length -= 8, p += 8, other += 8)
    if (load8(p) != load8(other)) return false;
  if (length == 0) return true;
  return ((load8(p) ^ load8(other)) << (64 - 8 * length)) == 0;
}

/// `n` times the value from there on; copies what stands there already, as the compiler would store
/// one at a time.
void fill_run(double* to, std::size_t n, double value) {
  constexpr std::size_t least = 16, most = 128;
  std::fill_n(to, std::min(n, least), value);
  for (std::size_t done = least, copied = 0; done < n; done += copied) {
    copied = std::min({done, n - done, most});
    std::memcpy(to + done, to, copied * sizeof(double));
  }
}

}  // namespace

/// A column while a block is typed: its last cell, and where its values go. Rows whose cell is
/// spelled like the one above are filled in when it changes.
struct Typer::Seen {
  std::uint64_t text = 0;                  // the first up to eight bytes, with the cell's end
  std::uint64_t mask = ~std::uint64_t{0};  // with text = 0: matches no cell (no cell is NULs)
  std::ptrdiff_t length = 0;               // with its end
  NumberForm form;
  char ends_with = '\n';
  double value = 0.0;
  double* sink = nullptr;
  std::size_t written = 0;  // rows

  void fill(std::size_t rows) {
    if (written >= rows) return;
    fill_run(sink + written, rows - written, value);
    written = rows;
  }
  /// The cell from `begin` to `after` its end, in that row.
  void take(const char* begin, const char* after, std::uint64_t first, std::size_t row,
            double next) {
    fill(row);
    sink[row] = value = next;
    written = row + 1;
    length = after - begin;
    if (length > 8) return forget();
    mask = first_bytes[static_cast<std::size_t>(length)];
    text = first & mask;
  }
  void forget() {
    text = 0;
    mask = ~std::uint64_t{0};
  }
};

/// Where the row above stopped changing, and this one.
struct Typer::Row {
  std::size_t tail_column = ~std::size_t{0};  // of the row above: all from here on were unchanged
  const char* tail = nullptr;                 // and their text
  std::ptrdiff_t tail_length = 0;
};

const char* Typer::fast_number(const char* p, std::size_t column, Seen& cell, double& value) const {
  const char decimal = layout_.style.decimal;
  const bool negative = *p == '-';
  p += negative ? 1 : 0;
  // Every piece of text ends with a line end, which stops these loops.
  std::uint64_t digits = 0;
  const char* const whole = p;
  for (unsigned d = 0; (d = static_cast<unsigned char>(*p) - '0') < 10U; ++p)
    digits = digits * 10 + d;
  const std::ptrdiff_t before = p - whole;
  const bool mark = *p == decimal && decimal != layout_.style.delimiter;
  const char* const fraction = mark ? ++p : p;
  if (mark)
    for (unsigned d = 0; (d = static_cast<unsigned char>(*p) - '0') < 10U; ++p)
      digits = digits * 10 + d;
  const std::ptrdiff_t decimals = p - fraction, count = before + decimals;
  const bool ends = *p == cell.ends_with || (cell.ends_with == '\n' && *p == '\r');
  if (!ends || count == 0 || count > 15) return nullptr;
  value = static_cast<double>(digits) / powers_of_ten[static_cast<std::size_t>(decimals)];
  if (negative) value = -value;
  const double factor = slot_[column] == time_stamp ? layout_.time_factor : 1.0;
  value *= factor;
  if (slot_[column] == time_stamp &&
      (layout_.time_form != TimeForm::number || std::abs(value) >= 1e13))
    return nullptr;
  if (1e8 * std::abs(factor) < 1e13)
    cell.form = NumberForm(before, mark, decimals, decimal, factor);
  return p;
}

const char* Typer::fast_cell(const char* const begin, std::size_t column, Seen& cell,
                             std::size_t row) const {
  const char delimiter = layout_.style.delimiter;
  const bool last = column + 1 == slot_.size();
  const int slot = slot_[column];
  double value = std::numeric_limits<double>::quiet_NaN();
  const char* p = fast_number(begin, column, cell, value);
  if (p == nullptr) {
    value = std::numeric_limits<double>::quiet_NaN();
    p = begin;
    while (*p != delimiter && *p != '\n' && *p != '\r') ++p;
    if (*p != cell.ends_with && !(last && (*p == '\r' || *p == delimiter))) return nullptr;
    const std::string_view text(begin, static_cast<std::size_t>(p - begin));
    if (slot == time_stamp && !stamp_of_cell(text, value)) return nullptr;
    if (slot >= 0 && !value_of_cell(text, column, value)) return nullptr;
  }
  // Past the end of the cell.
  if (!last) {
    ++p;
  } else {
    if (*p == delimiter) ++p;  // a trailing delimiter
    if (*p == '\r') ++p;
    if (*p != '\n') return nullptr;
    ++p;
  }
  cell.take(begin, p, load8(begin), row, value);
  return p;
}

const char* Typer::fast_row(const char* p, const char* end, std::vector<Seen>& seen, Row& row,
                            std::size_t number) const {
  const std::size_t columns = seen.size();
  std::size_t changed_to = 0;  // columns before this one may have changed
  const char* after_change = p;
  for (std::size_t i = 0; i < columns; ++i) {
    Seen& cell = seen[i];
    if (i == row.tail_column && same_bytes(p, end, row.tail, row.tail_length)) {
      p += row.tail_length;
      break;
    }
    if (end - p < look_ahead) return nullptr;
    const auto text = load8(p);
    if ((text & cell.mask) == cell.text) {
      p += cell.length;
      continue;
    }
    const bool negative = *p == '-';
    const char* const digits = p + (negative ? 1 : 0);
    const char* const stop = digits + cell.form.length();
    double value = 0.0;
    if (*stop == cell.ends_with && stop != digits &&
        cell.form.read(load8(digits), negative, value)) {
      cell.take(p, stop + 1, text, number, value);
      p = stop + 1;
    } else {
      p = fast_cell(p, i, cell, number);
      if (p == nullptr) return nullptr;
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
  std::vector<Seen> seen(slot_.size());
  for (std::size_t i = 0; i + 1 < seen.size(); ++i) seen[i].ends_with = layout_.style.delimiter;
  std::vector<double> unused;  // where the values of skipped columns go
  const auto make_room = [&](std::size_t rows) {
    block.reserve(rows);
    unused.resize(block.stamp.size());
    for (std::size_t i = 0; i < seen.size(); ++i)
      seen[i].sink = slot_[i] == time_stamp ? block.stamp.data()
                     : slot_[i] >= 0 ? block.values[static_cast<std::size_t>(slot_[i])].data()
                                     : unused.data();
  };
  const auto fill = [&] {
    for (auto& cell : seen) cell.fill(block.rows);
  };
  make_room(64);
  std::size_t line = 0;
  Row row;
  while (p < end) {
    const char first = *p;
    const bool odd = static_cast<unsigned char>(first) <= ' ' || first == '#' || first == '/' ||
                     static_cast<unsigned char>(first) >= 0x80;
    const char* next = odd || layout_.time_column >= seen.size()
                           ? nullptr
                           : fast_row(p, end, seen, row, block.rows);
    if (next != nullptr) {
      block.line[block.rows++] = static_cast<std::uint32_t>(line++);
      if (block.rows == block.stamp.size())
        make_room(block.rows + 64 +
                  static_cast<std::size_t>(end - p) / static_cast<std::size_t>(next - p));
      p = next;
      continue;
    }
    // Not a simple row: the general rules for this line.
    fill();
    const auto* const stop =
        static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end - p))) + 1;
    line = type_plainly({p, static_cast<std::size_t>(stop - p)}, false, line, block);
    if (block.defects.second_table.count > 0) return line;
    make_room(block.rows + 1);
    for (auto& cell : seen) {
      cell.forget();
      cell.written = block.rows;
    }
    row = {};
    p = stop;
  }
  fill();
  if (final_end < text.size()) line = type_plainly(text.substr(final_end), last, line, block);
  return line;
}

}  // namespace stopledger
