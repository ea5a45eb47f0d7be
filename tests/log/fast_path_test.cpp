// The fast path and one or two threads must give what the plain path gives on one thread.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>

#include "base/error.h"
#include "log/block.h"
#include "log/reader.h"
#include "log/recorder.h"

using namespace stopledger;
using namespace stopledger_test;

namespace {

/// Bit for bit, so that NaN equals NaN and 0 differs from -0.
bool same_bits(const std::vector<double>& a, const std::vector<double>& b, std::size_t n) {
  return std::memcmp(a.data(), b.data(), n * sizeof(double)) == 0;
}

void check_same_blocks(const std::string& head, const std::string& text) {
  const auto layout = find_layout(head, "test.csv", {});
  RowBlock fast, plain;
  Typer(layout, true).type(text, true, fast);
  Typer(layout, false).type(text, true, plain);
  REQUIRE(fast.rows == plain.rows);
  CHECK(fast.lines == plain.lines);
  CHECK(fast.defects == plain.defects);
  CHECK(same_bits(fast.stamp, plain.stamp, plain.rows));
  for (std::size_t r = 0; r < plain.rows; ++r) REQUIRE(fast.line[r] == plain.line[r]);
  for (std::size_t k = 0; k < plain.values.size(); ++k)
    CHECK(same_bits(fast.values[k], plain.values[k], plain.rows));
}

void check_same_logs(const Log& a, const Log& b) {
  CHECK(a.rows == b.rows);
  CHECK(a.rows_skipped == b.rows_skipped);
  CHECK(a.sha256 == b.sha256);
  CHECK(a.notes == b.notes);
  CHECK(a.duration_s == b.duration_s);
  REQUIRE(a.defects.size() == b.defects.size());
  for (std::size_t i = 0; i < a.defects.size(); ++i) {
    CHECK(a.defects[i].what == b.defects[i].what);
    CHECK(a.defects[i].line == b.defects[i].line);
  }
  REQUIRE(a.channels.size() == b.channels.size());
  for (std::size_t i = 0; i < a.channels.size(); ++i) {
    CHECK(a.channels[i].role == b.channels[i].role);
    CHECK(a.channels[i].rate_hz == b.channels[i].rate_hz);
    CHECK(a.channels[i].samples == b.channels[i].samples);
    CHECK(a.channels[i].series.t_s == b.channels[i].series.t_s);
    CHECK(a.channels[i].series.value == b.channels[i].series.value);
  }
}

/// A cell in one of the manners that recorders and their accidents have.
std::string odd_cell(std::mt19937& random, char decimal) {
  static const std::vector<std::string> odd{"",
                                            " ",
                                            "-",
                                            "N/A",
                                            "On",
                                            "off",
                                            "Active",
                                            "inactive",
                                            "12abc",
                                            "1e3",
                                            "-0",
                                            "+5",
                                            "1 234",
                                            ".5",
                                            "5.",
                                            "--1",
                                            "0x10",
                                            "\xC2\xB0",
                                            "a\rb",
                                            "7 km/h",
                                            "99999999999999999999",
                                            "123456789012345",
                                            "1234567890123456",
                                            "0.000000000000001",
                                            "-.",
                                            "e5"};
  const auto pick = [&](int n) { return std::uniform_int_distribution<int>(0, n - 1)(random); };
  if (pick(8) == 0) return odd[static_cast<std::size_t>(pick(static_cast<int>(odd.size())))];
  std::string text = pick(4) == 0 ? "-" : "";
  text += std::to_string(pick(pick(3) == 0 ? 100000 : 10));
  if (pick(2) == 0) text += std::string(1, decimal) + std::to_string(pick(1000));
  return text;
}

}  // namespace

TEST_CASE("fast and plain path agree on every fixture", "[log][fast]") {
  std::size_t read = 0;
  for (const auto& entry : std::filesystem::directory_iterator(std::string(STOPLEDGER_SOURCE_DIR) +
                                                               "/tests/log/fixtures")) {
    INFO(entry.path());
    ReadOptions plain;
    plain.fast = false;
    plain.threads = 1;
    try {
      const auto expected = read_log(entry.path().string(), plain);
      check_same_logs(read_log(entry.path().string(), {}), expected);
      ++read;
    } catch (const Error& error) {
      CHECK_THROWS_WITH(read_log(entry.path().string(), {}), error.what());
    }
  }
  CHECK(read > 70);
}

TEST_CASE("fast and plain path agree on random rows", "[log][fast][property]") {
  std::mt19937 random(4711);
  const auto pick = [&](int n) { return std::uniform_int_distribution<int>(0, n - 1)(random); };
  for (int trial = 0; trial < 300; ++trial) {
    const char delimiter = ",;\t|"[pick(4)];
    const char decimal = delimiter == ',' || pick(2) == 0 ? '.' : ',';
    const std::string line_end = pick(3) == 0 ? "\r\n" : "\n";
    std::string head = "Time (s)";
    const int columns = 2 + pick(6);
    static const std::vector<std::string> names{
        "FL wheel speed (km/h)", "Coolant", "FL outlet valve", "FR wheel speed (km/h)", "Pump",
        "Brake switch",          "Comment"};
    for (int c = 1; c < columns; ++c) head += delimiter + names[static_cast<std::size_t>(c - 1)];
    head += line_end;
    const std::string decimals = std::string(1, decimal) + "25";
    std::string sample = head;
    for (int r = 0; r < 3; ++r) {
      sample += std::to_string(r) + decimals;
      for (int c = 1; c < columns; ++c) sample += delimiter + std::to_string(r) + decimals;
      sample += line_end;
    }
    std::string text;
    std::vector<std::string> cells(static_cast<std::size_t>(columns));
    for (int r = 0; r < 60; ++r) {
      // Time mostly rises; the other cells mostly repeat.
      cells[0] = pick(30) == 0 ? odd_cell(random, decimal) : std::to_string(r) + decimals;
      for (std::size_t c = 1; c < cells.size(); ++c)
        if (r == 0 || pick(3) == 0) cells[c] = odd_cell(random, decimal);
      const int width = pick(25) == 0 ? pick(columns + 2) : columns;
      for (int c = 0; c < width; ++c)
        text += (c > 0 ? std::string(1, delimiter) : "") +
                (c < columns ? cells[static_cast<std::size_t>(c)] : "7");
      if (pick(20) == 0) text += delimiter;
      if (pick(40) == 0) text += "\n# a comment";
      if (pick(50) == 0) text += "\n" + head.substr(0, head.size() - line_end.size());
      if (r < 59 || pick(2) == 0) text += line_end;
    }
    INFO("trial " << trial << "\n" << sample << "---\n" << text);
    check_same_blocks(sample, text);
  }
}

TEST_CASE("numbers of one form after another are read as they are alone", "[log][fast][property]") {
  std::mt19937 random(815);
  const auto pick = [&](int n) { return std::uniform_int_distribution<int>(0, n - 1)(random); };
  for (int trial = 0; trial < 200; ++trial) {
    const char decimal = pick(2) == 0 ? '.' : ',';
    const std::string time_unit = pick(2) == 0 ? "(s)" : "(ms)";
    const std::string mark(1, decimal);
    const std::string head =
        "Time " + time_unit + ";FL wheel speed (km/h);Comment;FR wheel speed (km/h)\n";
    const int whole[] = {1 + pick(6), pick(9), pick(4)}, decimals[] = {pick(4), pick(9), pick(5)};
    const auto number = [&](int n, int m) {
      std::string text;
      for (int i = 0; i < n; ++i) text += static_cast<char>('0' + pick(10));
      if (m > 0 || pick(40) == 0) text += mark;
      for (int i = 0; i < m; ++i) text += static_cast<char>('0' + pick(10));
      // The characters beside the digits, a sign inside, another form.
      if (pick(30) == 0 && !text.empty())
        text[static_cast<std::size_t>(pick(static_cast<int>(text.size())))] = "/:-+ .,e"[pick(8)];
      if (pick(30) == 0) text += '0';
      return (pick(2) == 0 ? "-" : "") + text;
    };
    std::string text;
    for (int r = 0; r < 80; ++r) {
      std::string time = std::to_string(r);
      time.insert(
          0, static_cast<std::size_t>(std::max(0, whole[0] + 1 - static_cast<int>(time.size()))),
          '0');
      text += time + mark + std::string(static_cast<std::size_t>(decimals[0]), '5');
      text += ';' + number(whole[1], decimals[1]) + ';' + number(whole[2], decimals[2]) + ';' +
              number(whole[2], decimals[1]) + (pick(20) == 0 ? "\r\n" : "\n");
    }
    std::string sample = head;
    for (int r = 0; r < 3; ++r)
      sample += std::to_string(r) + mark + "5;1" + mark + "5;x;2" + mark + "5\n";
    INFO("trial " << trial << "\n" << sample << "---\n" << text);
    check_same_blocks(sample, text);
  }
}

TEST_CASE("one and two threads read a long log alike, and thin it alike", "[log][fast]") {
  std::vector<TestColumn> columns;
  for (int wheel = 0; wheel < 4; ++wheel)
    columns.push_back({std::string(corner_name(all_corners[static_cast<std::size_t>(wheel)])) +
                           " wheel speed (km/h)",
                       [wheel](double t) { return drive_kmh(t, 80.0, wheel); }});
  columns.push_back({"LF outlet valve", [](double t) { return pulses(t, 80.0); }, 1.0, 0});
  const auto text = record({.row_hz = 500.0, .length_s = 240.0}, columns);
  REQUIRE(text.size() > (std::size_t{3} << 20U));
  ReadOptions one, two, plain;
  one.threads = 1;
  two.threads = 2;
  plain.fast = false;
  const auto expected = read_log_text(text, "long.csv", one);
  check_same_logs(read_log_text(text, "long.csv", two), expected);
  check_same_logs(read_log_text(text, "long.csv", plain), expected);

  SECTION("counts are of the whole file, samples follow the events") {
    const auto& speed = *expected.find(Role::at(QuantityKind::wheel_speed, Corner::fl));
    CHECK(expected.rows == 120000);
    CHECK(speed.samples == 120000);
    CHECK(speed.series.size() < 110000);
    CHECK(*speed.rate_hz == Approx(500.0).epsilon(0.02));
    // Nothing is more than a tenth of a second apart, and a stop is seen in every 4 ms.
    double widest = 0.0, widest_in_stop = 0.0;
    for (std::size_t i = 1; i < speed.series.size(); ++i) {
      const double dt = speed.series.t_s[i] - speed.series.t_s[i - 1];
      widest = std::max(widest, dt);
      const double u = std::fmod(speed.series.t_s[i] + 1.0, 80.0);
      if (u > 70.5 && u < 72.0) widest_in_stop = std::max(widest_in_stop, dt);
    }
    CHECK(widest < 0.11);
    CHECK(widest_in_stop < 0.008);
  }
  SECTION("no change of a valve is lost") {
    const auto& valve = *expected.find(Role::at(QuantityKind::outlet, Corner::fl));
    std::size_t changes = 0, truth = 0;
    for (std::size_t i = 1; i < valve.series.size(); ++i)
      changes += valve.series.value[i] != valve.series.value[i - 1] ? 1 : 0;
    double before = 0.0;
    for (int i = 0; i < 2400000; ++i) {  // every 0.1 ms
      const double now = pulses(1.0 + 1e-4 * i, 80.0);
      truth += now != before ? 1 : 0;
      before = now;
    }
    CHECK(changes == truth);
  }
}

TEST_CASE("a line of eight megabytes is refused, not held", "[log][reader][limits]") {
  std::string text = "Time (s),FL wheel speed (km/h)\n0.0,36\n0.1,18\n";
  text += "0.2,";
  text.append(std::size_t{20} << 20U, '1');
  text += "\n0.3,18\n";
  CHECK_THROWS_WITH(read_log_text(text, "long.csv", {}), Catch::Contains("longer than 8 MB"));
}
