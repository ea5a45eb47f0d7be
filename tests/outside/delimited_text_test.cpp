// Delimited text that nobody here made: csv-spectrum (Debian node-csv-spectrum) and the fixtures of
// the csv-parser project; ids in tests/SOURCES.md.
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "log/channel_map.h"
#include "log/read_text.h"
#include "log/reader.h"
#include "log/text.h"

using namespace stopledger;
using namespace stopledger_test;

namespace {

std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  REQUIRE(file);
  return {std::istreambuf_iterator<char>(file), {}};
}

/// All records as text.
std::vector<std::vector<std::string>> records(const std::string& text, char delimiter = ',') {
  std::vector<std::vector<std::string>> out;
  RecordSplitter splitter(text, delimiter);
  std::vector<std::string_view> cells;
  while (splitter.next(cells)) out.emplace_back(cells.begin(), cells.end());
  return out;
}

/// The folder with recordings that do not belong to the project, or nothing.
std::optional<std::filesystem::path> outside_data() {
  const char* folder = std::getenv("STOPLEDGER_OUTSIDE_DATA");
  if (folder == nullptr || *folder == '\0') {
    WARN("skipped: STOPLEDGER_OUTSIDE_DATA is not set");
    return std::nullopt;
  }
  return folder;
}

}  // namespace

TEST_CASE("the records of csv-spectrum are split as its JSON says", "[outside][log][DT-01]") {
  const std::filesystem::path folder = "/usr/share/nodejs/csv-spectrum";
  if (!std::filesystem::exists(folder)) {
    WARN("skipped: Debian package node-csv-spectrum is not installed");
    return;
  }
  std::size_t pairs = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder / "csvs")) {
    const auto name = entry.path().stem().string();
    INFO(name);
    const auto expected = nlohmann::json::parse(bytes_of(folder / "json" / (name + ".json")));
    const auto rows = records(bytes_of(entry.path()));
    REQUIRE(rows.size() == expected.size() + 1);
    for (std::size_t r = 0; r < expected.size(); ++r) {
      REQUIRE(rows[r + 1].size() == rows[0].size());
      REQUIRE(expected[r].size() == rows[0].size());
      for (std::size_t c = 0; c < rows[0].size(); ++c)
        CHECK(rows[r + 1][c] == expected[r].at(rows[0][c]).get<std::string>());
    }
    ++pairs;
  }
  CHECK(pairs == 11);
}

TEST_CASE("encodings and quoting of the csv-parser fixtures", "[outside][log][DT-02]") {
  const auto folder = outside_data();
  if (!folder) return;
  using Rows = std::vector<std::vector<std::string>>;
  const auto fixtures = *folder / "delimited-text" / "fixtures";
  const auto decoded = [&](const std::string& name) {
    auto bytes = bytes_of(fixtures / name);
    const auto encoding = detect_encoding(bytes);
    auto text = to_utf8(bytes, encoding);
    if (text.starts_with("\xEF\xBB\xBF")) text.erase(0, 3);
    return records(text);
  };
  // U+02A4 in three encodings, copyright sign in Latin-1.
  CHECK(decoded("bench/utf16.csv") == Rows{{"a", "b", "c"}, {"1", "2", "3"}, {"4", "5", "\u02A4"}});
  CHECK(decoded("bench/utf16-big.csv") == decoded("bench/utf16.csv"));
  CHECK(decoded("bench/utf8.csv") == decoded("bench/utf16.csv"));
  CHECK(decoded("bench/latin.csv") == Rows{{"a", "b", "c"}, {"1", "2", "3"}, {"4", "5", "\u00A9"}});
  CHECK(decoded("bench/mac-newlines.csv") ==
        Rows{{"a", "b", "c"}, {"1", "2", "3"}, {"Once upon\ra time", "5", "6"}});
  CHECK(decoded("newlines.csv")[2] == std::vector<std::string>{"Once upon \na time", "5", "6"});
  CHECK(decoded("escape-quotes.csv") ==
        Rows{{"a", "b"}, {"1", "ha \"ha\" ha"}, {"2", "\"\""}, {"3", "4"}});
  CHECK(decoded("quotes+newlines.csv")[1] == std::vector<std::string>{"1", "ha \n\"ha\" \nha"});
  CHECK(decoded("comma-in-quote.csv")[1] ==
        std::vector<std::string>{"John", "Doe", "120 any st.", "Anytown, WW", "08123"});
  CHECK(decoded("empty-columns.csv")[0] == std::vector<std::string>{"2007-01-01", "", ""});
  CHECK(decoded("strict-false-less-columns.csv")[2] == std::vector<std::string>{"4", "5"});
  CHECK(decoded("strict-false-more-columns.csv")[2] ==
        std::vector<std::string>{"4", "5", "6", "7"});
  CHECK(decoded("geojson.csv").size() == 4);
  CHECK(decoded("geojson.csv")[1][3] == "{\"type\": \"Point\", \"coordinates\": [102.0, 0.5]}");
}

TEST_CASE("a polled recording has rows at 11 Hz and channels at 1.1 Hz", "[outside][log][DT-03]") {
  const auto folder = outside_data();
  if (!folder) return;
  const auto log = read_log((*folder / "polled_obd_hold.csv").string(), {});
  CHECK(log.rows == 6829);
  CHECK(log.rows_skipped == 0);
  CHECK(log.duration_s == Approx(731.282).margin(0.0005));
  const auto& speed = channel(log, "vehicle_speed");
  CHECK(speed.repeats_held);
  CHECK(*speed.rate_hz == Approx(1.11).epsilon(0.03));  // median step 0.900 s
  CHECK(*speed.quantum == Approx(1.0 / 3.6).epsilon(0.02));
  std::size_t changes = 0;
  double hardest = 0.0;
  for (std::size_t i = 1; i < speed.series.size(); ++i) {
    changes += speed.series.value[i] != speed.series.value[i - 1] ? 1 : 0;
    hardest = std::max(hardest, (speed.series.value[i - 1] - speed.series.value[i]) /
                                    (speed.series.t_s[i] - speed.series.t_s[i - 1]));
  }
  // A change that falls on a row after a gap may belong to the gap.
  CHECK(changes >= 383);
  CHECK(changes <= 384);
  CHECK(hardest == Approx(2.59).epsilon(0.05));
  // The one stop: last update above 20 km/h at 219.66 s, first below 2 km/h at 224.25 s.
  double above = 0.0, below = 0.0;
  for (std::size_t i = 0; i < speed.series.size() && speed.series.t_s[i] < 240.0; ++i) {
    if (speed.series.t_s[i] > 200.0 && speed.series.value[i] > 20.0 / 3.6)
      above = speed.series.t_s[i];
    if (above > 0.0 && below == 0.0 && speed.series.t_s[i] > above &&
        speed.series.value[i] < 2.0 / 3.6)
      below = speed.series.t_s[i];
  }
  CHECK(above == Approx(219.66).margin(0.95));  // within one update of that channel
  CHECK(below == Approx(224.25).margin(0.05));
}

TEST_CASE("a speed without a unit says what each reading would mean", "[outside][log][DT-04]") {
  const auto folder = outside_data();
  if (!folder) return;
  const auto log = read_log((*folder / "speed_only_15hz.csv").string(), {});
  CHECK(log.rows == 35400);
  CHECK(log.duration_s == Approx(2372.4).margin(0.05));
  const auto& speed = channel(log, "vehicle_speed");
  CHECK_FALSE(speed.unit_known);
  CHECK(*speed.rate_hz == Approx(1.0 / 0.067).epsilon(0.02));
  REQUIRE_FALSE(log.notes.empty());
  std::string notes;
  for (const auto& note : log.notes) notes += note;
  CHECK(notes.find("57.0 km/h") != std::string::npos);  // 15.833 m/s
  CHECK(notes.find("as mph") != std::string::npos);
  // Told that it is m/s, the distance comes out: 12.51 km in 2372.4 s.
  const auto map = parse_channel_map(
      "[[channel]]\ncolumn = \"odom_speed\"\nrole = \"vehicle_speed\"\nunit = \"m/s\"\n", "map");
  ReadOptions options;
  options.map = &map;
  const auto told = read_log((*folder / "speed_only_15hz.csv").string(), options);
  const auto& series = channel(told, "vehicle_speed").series;
  double metres = 0.0, top = 0.0;
  for (std::size_t i = 1; i < series.size(); ++i) {
    metres += 0.5 * (series.value[i] + series.value[i - 1]) * (series.t_s[i] - series.t_s[i - 1]);
    top = std::max(top, series.value[i]);
  }
  CHECK(channel(told, "vehicle_speed").unit_known);
  CHECK(metres == Approx(12510.0).margin(5.0));
  CHECK(top == Approx(57.0 / 3.6).margin(0.001));
}
