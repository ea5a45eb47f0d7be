#include "report/due_report.h"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <random>
#include <sstream>

#include "base/written_day.h"
#include "report/wrap.h"

using namespace stopledger;
using stopledger::testing::day;

namespace {

/// Word by word, as its header says.
std::string wrap_plainly(const std::string& first, const std::string& text, std::size_t width) {
  const auto columns = [](const std::string& words) {
    std::size_t count = 0;
    for (const char c : words) count += (static_cast<unsigned char>(c) & 0xC0) != 0x80 ? 1 : 0;
    return count;
  };
  const std::string indent(columns(first), ' ');
  std::string out, line = first, word;
  bool fresh = true;
  for (const char c : text + " ") {
    if (c != ' ' && c != '\n') {
      word += c;
      continue;
    }
    if (word.empty()) continue;
    if (!fresh && columns(line) + 1 + columns(word) > width) {
      out += line + "\n";
      line = indent;
      fresh = true;
    }
    line += (fresh ? "" : " ") + word;
    fresh = false;
    word.clear();
  }
  return out + line + "\n";
}

/// Items of one car in the order of what_is_due.
std::vector<DueItem> items_of(const std::string& car, std::mt19937& random) {
  std::vector<DueItem> items(random() % 6);
  for (auto& item : items) {
    item.car = car;
    item.procedure = "p" + std::to_string(random() % 9);
    item.name = "Look \"twice\"\n";
    item.state = static_cast<DueState>(random() % 4);
    item.due = add_days(day("2020-01-01"), static_cast<int>(random() % 5));
    if (item.state == DueState::unknown) item.due.reset();
    item.reason = "because of it";
    for (auto blocks = random() % 3; blocks > 0; --blocks) {
      Block block;
      block.id = "lamp";
      block.reason = "reason " + std::to_string(random() % 2);
      block.clears = "a repair";
      item.blocks.push_back(block);
    }
  }
  std::sort(items.begin(), items.end(), [](const DueItem& a, const DueItem& b) {
    return std::tie(a.state, a.due, a.procedure) < std::tie(b.state, b.due, b.procedure);
  });
  return items;
}

std::string report_text(DueReport& report) {
  std::ostringstream out;
  report.write(out, {});
  return out.str();
}

}  // namespace

TEST_CASE("text is wrapped as word by word", "[report][wrap]") {
  std::mt19937 random(5);
  for (int i = 0; i < 2000; ++i) {
    std::string text;
    for (auto left = random() % 200; left > 0; --left)
      text += std::array{"a", "b", "\xC3\xA4", " ", " ", "\n", "longer word", "."}[random() % 8];
    const std::string first(random() % 9, random() % 2 == 0 ? ' ' : '-');
    const std::size_t width = 5 + random() % 60;
    CHECK(wrap(first, text, width) == wrap_plainly(first, text, width));
  }
}

TEST_CASE("reports of several threads join to the report of one", "[report][due]") {
  std::mt19937 random(7);
  const Day on = day("2020-01-03");
  for (const auto form : {DueForm::text, DueForm::text_with_later, DueForm::json}) {
    DueReport whole(form, on);
    std::vector<DueReport> parts(3, DueReport(form, on));
    for (std::uint32_t place = 0; place < 60; ++place) {
      const auto items = items_of("Car " + std::to_string(place), random);
      whole.add(place, items);
      parts[random() % parts.size()].add(place, items);
    }
    parts[0].join(parts[1]);
    parts[0].join(parts[2]);
    CHECK(report_text(parts[0]) == report_text(whole));
  }
}

TEST_CASE("a report lists by state, then day, then place of the car", "[report][due]") {
  std::mt19937 random(9);
  DueReport report(DueForm::json, day("2020-01-03"));
  std::vector<std::tuple<int, std::string, int>> expected;
  for (int place = 0; place < 40; ++place) {
    const auto items = items_of(std::to_string(place), random);
    report.add(static_cast<std::uint32_t>(place), items);
    for (const auto& item : items)
      expected.emplace_back(static_cast<int>(item.state), item.due ? format_day(*item.due) : "",
                            place);
  }
  std::sort(expected.begin(), expected.end());
  const auto document = nlohmann::json::parse(report_text(report));
  std::vector<std::tuple<int, std::string, int>> told;
  const std::vector<std::string> states{"overdue", "unknown", "due", "later"};
  for (const auto& item : document["items"])
    told.emplace_back(std::find(states.begin(), states.end(), item["state"]) - states.begin(),
                      item["due"].is_null() ? std::string() : item["due"].get<std::string>(),
                      std::stoi(item["car"].get<std::string>()));
  CHECK(told == expected);
  CHECK(document["items"].size() ==
        document["overdue"].get<std::size_t>() + document["unknown"].get<std::size_t>() +
            document["due"].get<std::size_t>() + document["later"].get<std::size_t>());
}
