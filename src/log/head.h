#pragma once

#include <cstddef>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

namespace stopledger {

/// One line of a file's first part, cut into trimmed cells.
struct HeadRow {
  std::vector<std::string_view> cells;
  std::size_t line = 0;
  std::size_t offset = 0;  ///< of its start
};

/// The first lines of a text, which must outlive the cells.
struct Head {
  std::vector<HeadRow> rows;
  std::deque<std::string> unescaped;  ///< cells that the text does not hold as they read
};

/// At most that many lines.
Head split_head(std::string_view head, char delimiter, std::size_t most);

bool is_blank(const HeadRow& record);
bool is_comment(const HeadRow& record);
bool has_letter(std::string_view cell);
std::size_t filled(const HeadRow& record);
/// Cells but for empty ones at the end (trailing delimiters).
std::size_t width(const HeadRow& record);
bool looks_like_header(const HeadRow& record, char delimiter);
bool looks_like_data(const HeadRow& record, char delimiter);
/// A row of units: two thirds of the filled cells are one, or a bracketed one, and the others
/// could be.
bool looks_like_units(const HeadRow& record);

struct HeaderAt {
  std::size_t record = 0;
  double score = 0.0;
};

/// The record that is most likely the header: the first one that names as many columns as the
/// data rows after it have.
HeaderAt find_header(const std::vector<HeadRow>& records, char delimiter);

/// Decimal mark from the cells of the data rows.
char find_decimal(const std::vector<HeadRow>& records, std::size_t first, char delimiter);

}  // namespace stopledger
