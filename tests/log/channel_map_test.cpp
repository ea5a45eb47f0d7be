#include "log/channel_map.h"

#include <catch2/catch.hpp>

#include "base/error.h"
#include "log/reader.h"

using namespace stopledger;

namespace {

const std::string unnamed_columns =
    "Time,A,B,Flags,Coolant\n0.0,36,0,0,80\n0.1,18,0,5,80\n0.2,18,1,4,80\n0.3,18,1,0,80\n";

Log read_with(const std::string& map_text, const std::string& log_text = unnamed_columns) {
  const auto map = parse_channel_map(map_text, "map.toml");
  ReadOptions options;
  options.map = &map;
  return read_log_text(log_text, "run.csv", options);
}

std::string message(const std::string& map_text) {
  try {
    read_with(map_text);
  } catch (const Error& error) {
    return error.what();
  }
  return "";
}

std::vector<double> values(const Log& log, const std::string& role) {
  const auto* channel = log.find(parse_role(role).value());
  INFO(role);
  REQUIRE(channel != nullptr);
  return channel->series.value;
}

}  // namespace

TEST_CASE("a channel map gives roles, units and signs", "[log][map]") {
  const auto log = read_with(
      "[[channel]]\ncolumn = \"A\"\nrole = \"wheel_speed.FL\"\nunit = \"km/h\"\n"
      "[[channel]]\ncolumn = \"B\"\nrole = \"outlet.FL\"\ninvert = true\n");
  CHECK(values(log, "wheel_speed.FL")[0] == Approx(10.0));
  CHECK(values(log, "outlet.FL") == std::vector<double>{1, 1, 0, 0});
  CHECK(log.channels[0].recognised_by == "channel map");
}

TEST_CASE("bits of one column are states of their own", "[log][map]") {
  const auto log = read_with(
      "[[channel]]\ncolumn = \"Flags\"\nrole = \"inlet.FL\"\nbit = 0\n"
      "[[channel]]\ncolumn = \"Flags\"\nrole = \"outlet.FL\"\nbit = 2\n");
  CHECK(values(log, "inlet.FL") == std::vector<double>{0, 1, 0, 0});  // 0, 5, 4, 0
  CHECK(values(log, "outlet.FL") == std::vector<double>{0, 1, 1, 0});
}

TEST_CASE("a measured value becomes a state above a threshold", "[log][map]") {
  const auto log = read_with("[[channel]]\ncolumn = \"Flags\"\nrole = \"pump\"\non_above = 4.5\n");
  CHECK(values(log, "pump") == std::vector<double>{0, 1, 0, 0});
}

TEST_CASE("a column may be left out, and rows may be the clock", "[log][map]") {
  const std::string twice = "n,FL speed km/h,LF speed km/h\n1,36,1\n2,18,1\n3,18,1\n";
  const auto log = read_with(
      "[time]\nrow_interval_s = 0.5\n[[channel]]\ncolumn = \"LF speed km/h\"\nrole = \"unused\"\n",
      twice);
  CHECK(values(log, "wheel_speed.FL").size() == 3);
  CHECK(log.duration_s == Approx(1.0));
}

TEST_CASE("a map that does not fit says which line", "[log][map][error]") {
  CHECK(message("\n\n[[channel]]\ncolumn = \"C\"\nrole = \"pump\"\n").starts_with("map.toml:3: "));
  CHECK(message("[[channel]]\ncolumn = \"A\"\nrole = \"pmp\"\n").starts_with("map.toml:3: "));
  CHECK(message("[[channel]]\ncolumn = \"A\"\nrole = \"pump\"\nunit = \"furlong\"\n")
            .starts_with("map.toml:4: "));
  CHECK(message("[[channel]]\ncolumn = \"A\"\nroll = \"pump\"\n").starts_with("map.toml:3: "));
  CHECK(message("[[channel]]\ncolumn = \"A\"\nrole = \"pump\"\nbit = 40\n")
            .starts_with("map.toml:4: "));
  CHECK(message("[[channel]]\ncolumn = \"A\"\nrole = \"wheel_speed.FL\"\nbit = 1\n")
            .starts_with("map.toml:4: "));
  CHECK(message("[[channel]]\ncolumn = \"A\"\nrole = \"pump\"\n[[channel]]\ncolumn = \"B\"\n"
                "role = \"pump\"\n")
            .find("already given in line 1") != std::string::npos);
  CHECK(message("[time]\ncolumn = \"Coolant\"\n").find("rising times") != std::string::npos);
  CHECK(message("channel = 3\n").starts_with("map.toml:1: "));
  CHECK(message("[[channel]\n").find("not TOML") != std::string::npos);
  CHECK(message("").find("empty") != std::string::npos);
}

TEST_CASE("characters that cannot stand in a table's name are refused with their line",
          "[log][map][error]") {
  const std::string good = "[[channel]]\ncolumn = \"A\"\nrole = \"wheel_speed.FL\"\n";
  for (const std::string bad : {"[[\x17\x17"
                                "channel]]\n",
                                "[\x01time]\n", "[\xEF\xB1\xBFtime]\n"}) {
    CHECK_THAT(message(good + bad + good), Catch::StartsWith("map.toml:4: this is not TOML"));
    CHECK_THAT(message(bad), Catch::StartsWith("map.toml:1: this is not TOML"));
    CHECK_THAT(message(good + bad.substr(0, 4)), Catch::StartsWith("map.toml:4: this is not TOML"));
  }
}

TEST_CASE("a written map reads back to the same channels", "[log][map]") {
  const auto log = read_log_text(
      "Time (ms);Wheel speed LF (mph);LF \"odd\" outlet "
      "valve;Coolant\n0;30,5;Off;80\n100;30,1;On;80\n",
      "run.csv", {});
  REQUIRE(log.channels.size() == 2);
  const auto map = parse_channel_map(write_channel_map(log), "map.toml");
  ReadOptions options;
  options.map = &map;
  const auto again = read_log_text(
      "Time (ms);Wheel speed LF (mph);LF \"odd\" outlet "
      "valve;Coolant\n0;30,5;Off;80\n100;30,1;On;80\n",
      "run.csv", options);
  REQUIRE(again.channels.size() == 2);
  for (std::size_t i = 0; i < 2; ++i) {
    CHECK(again.channels[i].role == log.channels[i].role);
    CHECK(again.channels[i].unit == log.channels[i].unit);
    CHECK(again.channels[i].series.value == log.channels[i].series.value);
  }
}

TEST_CASE("a remembered map is found by the recorder's wording", "[log][map]") {
  const auto plain = read_log_text(unnamed_columns, "run.csv", {});
  const auto map = parse_channel_map("[[channel]]\ncolumn = \"B\"\nrole = \"pump\"\n", "ledger");
  ReadOptions options;
  std::string asked;
  options.remembered_map = [&](const std::string& wording) {
    asked = wording;
    return &map;
  };
  CHECK(read_log_text(unnamed_columns, "run.csv", options).channels.size() == 1);
  CHECK(asked == plain.wording);
  CHECK(read_log_text("Time,A\n0,1\n1,2\n", "other.csv", {}).wording != plain.wording);
}

TEST_CASE("a word that is not known is on by the map, a count has its factor", "[log][map]") {
  const std::string text =
      "Time,FL,Out\n0,160,Zork\n0.1,80,Blip\n0.2,80,Zork\n0.3,80,\n0.4,80,zork \n";
  const std::string map =
      "[[channel]]\ncolumn = \"FL\"\nrole = \"wheel_speed.FL\"\nunit = \"m/s\"\nfactor = 0.0625\n"
      "[[channel]]\ncolumn = \"Out\"\nrole = \"outlet.FL\"\non = \"blip\"\n";
  const auto log = read_with(map, text);
  CHECK(values(log, "wheel_speed.FL") == std::vector<double>{10, 5, 5, 5, 5});
  CHECK(values(log, "outlet.FL") == std::vector<double>{0, 1, 0, 0});
  CHECK(message("[[channel]]\ncolumn = \"A\"\nrole = \"wheel_speed.FL\"\non = \"x\"\n")
            .starts_with("map.toml:4: "));
  CHECK(message("[[channel]]\ncolumn = \"A\"\nrole = \"pump\"\nfactor = 2\n")
            .starts_with("map.toml:4: "));
}

TEST_CASE("a written map has the answers to its questions ready", "[log][map]") {
  const std::string text =
      "Time (s),FL speed (km/h),AV_FL,Yaw rate\n0,36,0,0.1\n0.1,18,1,0.2\n0.2,18,0,0.1\n";
  const auto log = read_log_text(text, "run.csv", {});
  CHECK(log.find(Role::at(QuantityKind::outlet, Corner::fl)) == nullptr);
  CHECK(log.questions.size() == 2);
  auto written = write_channel_map(log);
  for (const std::string commented : {"# [[channel]]", "# column", "# role", "# unit"})
    for (std::size_t at = 0; (at = written.find(commented, at)) != std::string::npos;)
      if (at > written.find("[time] takes"))
        written.erase(at, 2);
      else
        at += commented.size();
  const auto map = parse_channel_map(written, "map.toml");
  ReadOptions options;
  options.map = &map;
  const auto again = read_log_text(text, "run.csv", options);
  CHECK(values(again, "outlet.FL") == std::vector<double>{0, 1, 0});
  CHECK(again.find(Role::of_car(QuantityKind::yaw_rate)) != nullptr);
  CHECK(again.questions.empty());
}
