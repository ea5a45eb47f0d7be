#include "record/brief.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <map>

#include "base/error.h"
#include "record/record_row.h"

namespace stopledger {

namespace {

constexpr std::array kept_whole{
    "fault", "repair", "part", "storage-begin", "storage-end", "postponed", "cluster-replaced"};

/// Tokens "LENGTH:BYTES", one after the other.
void put(std::string& out, std::string_view token) {
  fmt::format_to(std::back_inserter(out), "{}:{}", token.size(), token);
}

class Tokens {
 public:
  explicit Tokens(std::string_view text) : text_(text) {}
  [[nodiscard]] bool done() const { return text_.empty(); }

  std::string_view next() {
    std::size_t size = 0, head = 0;
    for (; head < text_.size() && head < 10 && text_[head] != ':'; ++head) {
      const auto digit = static_cast<unsigned char>(text_[head] - '0');
      if (digit > 9) damaged();
      size = 10 * size + digit;
    }
    if (head == 0 || head >= text_.size() || text_[head] != ':' || size > text_.size() - ++head)
      damaged();
    const auto token = text_.substr(head, size);
    text_.remove_prefix(head + size);
    return token;
  }

  template <typename Number>
  Number number() {
    const auto token = next();
    Number value{};
    const auto [end, code] = std::from_chars(token.data(), token.data() + token.size(), value);
    if (code != std::errc{} || end != token.data() + token.size()) damaged();
    return value;
  }

  std::optional<double> optional_number() {
    const auto token = next();
    if (token.empty()) return std::nullopt;
    // Most are small whole numbers, which need no general reader to be exact.
    std::int64_t whole = 0;
    std::size_t digits = 0;
    for (; digits < token.size() && digits < 15; ++digits) {
      const auto digit = static_cast<unsigned char>(token[digits] - '0');
      if (digit > 9) break;
      whole = 10 * whole + digit;
    }
    if (digits == token.size()) return static_cast<double>(whole);
    double value = 0.0;
    const auto [end, code] = std::from_chars(token.data(), token.data() + token.size(), value);
    if (code != std::errc{} || end != token.data() + token.size()) damaged();
    return value;
  }

  /// Of things that follow, each longer than nothing.
  std::size_t count() {
    const auto value = number<std::size_t>();
    if (value > text_.size()) damaged();
    return value;
  }

 private:
  [[noreturn]] static void damaged() {
    throw Error(ErrorKind::ledger, "a computed row is damaged; run stopledger ledger verify");
  }

  std::string_view text_;
};

}  // namespace

std::vector<std::int64_t> deciding_records(LedgerFile& file, std::int64_t car) {
  struct Row {
    std::int64_t id;
    std::string day;
  };
  std::vector<Row> chosen, readings;
  {
    const auto newest = file.prepared("SELECT record, day FROM newest WHERE car = ?");
    newest->bind(1, car);
    while (newest->executeStep())
      chosen.push_back({newest->getColumn(0).getInt64(), newest->getColumn(1).getString()});
    const auto all = file.prepared(
        "SELECT id, kind, day, odometer_km IS NOT NULL FROM record r WHERE car = ? "
        "AND NOT EXISTS (SELECT 1 FROM record s WHERE s.supersedes = r.id) "
        "AND NOT EXISTS (SELECT 1 FROM removal x WHERE x.record = r.id)");
    all->bind(1, car);
    while (all->executeStep()) {
      Row row{all->getColumn(0).getInt64(), all->getColumn(2).getString()};
      const std::string kind = all->getColumn(1).getString();
      if (std::find(kept_whole.begin(), kept_whole.end(), kind) != kept_whole.end()) {
        chosen.push_back(row);
      } else if (all->getColumn(3).getInt() != 0) {
        readings.push_back(row);
      }
    }
  }
  const auto by_time = [](const Row& a, const Row& b) {
    return a.day != b.day ? a.day < b.day : a.id < b.id;
  };
  std::sort(readings.begin(), readings.end(), by_time);
  if (!readings.empty()) {
    const auto last = *parse_day(readings.back().day);
    const auto recent = format_day(add_months(last, -36));
    std::map<std::string, Row> last_of;  // of each quarter, or year
    for (const auto& row : readings) {
      auto span = row.day.substr(0, 4);
      if (row.day > recent)
        span += static_cast<char>('a' + (std::stoi(row.day.substr(5, 2)) - 1) / 3);
      last_of[span] = row;
    }
    chosen.push_back(readings.front());
    for (const auto& [span, row] : last_of) chosen.push_back(row);
  }
  std::sort(chosen.begin(), chosen.end(), by_time);
  std::vector<std::int64_t> ids;
  for (const auto& row : chosen)
    if (ids.empty() || ids.back() != row.id) ids.push_back(row.id);
  return ids;
}

std::string write_brief(LedgerFile& file, std::int64_t car) {
  std::string out;
  for (const auto id : deciding_records(file, car)) {
    const auto record = record_with(file, id);
    put(out, std::to_string(record.id));
    put(out, record.uid);
    put(out, record.kind);
    put(out, std::to_string(date::sys_days(record.day).time_since_epoch().count()));
    put(out, record.odometer_km ? fmt::format("{}", *record.odometer_km) : "");
    put(out, record.odometer_written);
    put(out, record.entered_at);
    put(out, std::to_string(record.fields.size()));
    for (const auto& [name, value] : record.fields) {
      put(out, name);
      put(out, value.written);
      put(out, value.normalised ? fmt::format("{}", *value.normalised) : "");
    }
  }
  return out;
}

void read_brief(std::string_view text, const std::string& car_name, std::vector<Record>& records) {
  std::size_t count = 0;
  for (Tokens tokens(text); !tokens.done(); ++count) {
    if (count == records.size()) records.emplace_back();
    auto& record = records[count];
    record.car = car_name;
    record.id = tokens.number<std::int64_t>();
    record.uid = tokens.next();
    record.kind = tokens.next();
    record.day = Day{date::sys_days{date::days{tokens.number<int>()}}};
    record.odometer_km = tokens.optional_number();
    record.odometer_written = tokens.next();
    record.entered_at = tokens.next();
    for (auto& [name, value] : record.fields.reuse(tokens.count())) {
      name = tokens.next();
      value.written = tokens.next();
      value.normalised = tokens.optional_number();
    }
  }
  records.resize(count);
}

}  // namespace stopledger
