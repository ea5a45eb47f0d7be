// Makes a large ledger for the benchmarks: fill FILE CARS RECORDS-PER-CAR SEED.
// Ten years of records in the proportions of a car that is used in summer and looked after.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <iostream>
#include <random>

#include "base/error.h"
#include "record/car_sheet.h"
#include "record/kinds.h"
#include "record/ledger.h"

using namespace stopledger;

namespace {

struct Share {
  const char* kind;
  int of_hundred;
  std::vector<std::string> fields;
};

const std::array shares{
    Share{"odometer", 30, {}},
    Share{"lamp-check", 16, {"result=pass", "codes=none", "voltage=12.6 V"}},
    Share{"level-check", 12, {"result=pass", "level=80 %", "pedal=95 mm"}},
    Share{"self-test", 10, {"result=pass", "heard=yes"}},
    Share{"exercise", 8, {"result=exercised", "procedure=stop-fronts", "fl=exercised"}},
    Share{"after-run", 6, {"result=clean", "pedal=95 mm", "nuts=yes"}},
    Share{"fluid-test", 5, {"method=boiling-point", "place=reservoir", "boiling=221 degC"}},
    Share{"fluid-change", 4, {"grade=DOT 4", "fl=180 mL", "fr=180 mL"}},
    Share{"valve-test", 3, {"result=pass", "fl.release=yes", "rr.release=yes"}},
    Share{"storage-begin", 2, {}},
    Share{"storage-end", 2, {}},
    Share{"repair", 1, {"what=hose renewed"}},
    Share{"note", 1, {"text=seen at the meeting"}},
};

}  // namespace

int main(int argc, char** argv) {
  if (argc != 5) {
    std::cerr << "fill FILE CARS RECORDS-PER-CAR SEED\n";
    return 2;
  }
  try {
    const int cars = std::stoi(argv[2]), per_car = std::stoi(argv[3]);
    std::mt19937 random(static_cast<unsigned>(std::stoul(argv[4])));
    std::filesystem::remove(argv[1]);
    Ledger ledger(argv[1], Ledger::Mode::create);
    const EntryStamp stamp{"2026-11-25T10:00:00Z", "A. Person"};
    std::vector<std::map<std::string, FieldValue>> fields;
    std::vector<std::size_t> draw;
    for (const auto& share : shares) {
      const auto& kind = find_kind(share.kind);
      fields.push_back(check_fields(kind.name, kind.fields, share.fields, true));
      draw.insert(draw.end(), static_cast<std::size_t>(share.of_hundred), fields.size() - 1);
    }
    ledger.begin();
    for (int car = 0; car < cars; ++car) {
      CarSheet sheet;
      sheet.facts.name = fmt::format("Car {:05}", car);
      set_car_fields(sheet, std::vector<std::string>{"unit=two-valve", "channels=4", "sensors=4",
                                                     "split=diagonal", "fluid=DOT 4"});
      ledger.add_car(sheet, stamp);
      int day = 0;
      double km = 20000.0 + static_cast<double>(random() % 100000);
      for (int i = 0; i < per_car; ++i) {
        const int step = static_cast<int>(random() % (7300u / static_cast<unsigned>(per_car)));
        day = std::min(day + step, 3960);  // 2026-11-04: nothing that has not happened yet
        km += static_cast<double>(step) * (5.0 + static_cast<double>(random() % 20));
        const auto which = draw[random() % draw.size()];
        Record record;
        record.car = sheet.facts.name;
        record.kind = shares[which].kind;
        record.day = add_days(*parse_day("2016-01-01"), day);
        record.who = "A. Person";
        record.fields = fields[which];
        if (record.kind == "odometer" || random() % 4 == 0) {
          record.odometer_km = std::floor(km);
          record.odometer_written = fmt::format("{} km", std::floor(km));
        }
        ledger.add_record(record, stamp);
      }
    }
    ledger.commit();
  } catch (const std::exception& error) {
    std::cerr << "fill: " << error.what() << "\n";
    return 1;
  }
  return 0;
}
