#include <array>
#include <exception>
#include <mutex>
#include <system_error>
#include <thread>

#include "record/brief.h"
#include "record/car_row.h"
#include "record/car_sheet.h"
#include "record/ledger.h"
#include "record/ledger_file.h"

namespace stopledger {

namespace {

/// What decides now says nothing of a day before the newest record.
bool before_newest(std::span<const Record> deciding, std::optional<Day> on) {
  return on && !deciding.empty() && deciding.back().day > *on;
}

struct StoredCar {
  std::string sheet, brief;
};

/// Active cars as they stand in the file, handed out to several threads some at a time.
class Feed {
 public:
  explicit Feed(LedgerFile& file)
      : select_(file.prepared("SELECT c.body, b.body FROM car c LEFT JOIN brief b ON b.car = c.id "
                              "WHERE c.state = 'active' ORDER BY c.name")) {}

  struct Portion {
    std::array<StoredCar, 32> rows;  // chosen: a small part of the work, and few turns at the lock
    std::uint32_t count = 0, first = 0;
  };

  /// The next cars; false when there are none.
  bool next(Portion& portion) {
    const std::lock_guard lock(mutex_);
    portion.first = given_;
    for (portion.count = 0; !done_ && portion.count < portion.rows.size(); ++portion.count) {
      if (!select_->executeStep()) {
        done_ = true;
        break;
      }
      auto& row = portion.rows[portion.count];
      take(row.sheet, 0);
      take(row.brief, 1);
    }
    given_ += portion.count;
    return portion.count > 0;
  }

  /// Runs `work` with no other thread at the file.
  template <typename Work>
  auto alone(Work work) {
    const std::lock_guard lock(mutex_);
    return work();
  }

  void stop() {
    const std::lock_guard lock(mutex_);
    done_ = true;
  }

 private:
  void take(std::string& into, int index) {
    const auto column = select_->getColumn(index);
    into.assign(column.getText(), static_cast<std::size_t>(column.getBytes()));
  }

  std::mutex mutex_;
  Prepared select_;
  std::uint32_t given_ = 0;
  bool done_ = false;
};

}  // namespace

std::vector<Record> Ledger::deciding_records_of(const std::string& car,
                                                std::optional<Day> on) const {
  return file_->reading([&] {
    const auto row = car_row(*file_, car);
    std::vector<Record> records;
    {
      const auto select = file_->prepared("SELECT body FROM brief WHERE car = ?");
      select->bind(1, row.id);
      if (select->executeStep()) read_brief(select->getColumn(0).getString(), row.name, records);
    }
    return before_newest(records, on) ? records_of(row.name, true) : records;
  });
}

void Ledger::for_each_active_car(std::optional<Day> on, std::size_t workers,
                                 const std::function<void(const ActiveCar&)>& work) const {
  file_->reading([&] {
    Feed feed(*file_);
    const auto run = [&](std::size_t worker, Feed::Portion& portion) {
      std::vector<Record> deciding, all;
      for (bool more = portion.count > 0 || feed.next(portion); more; more = feed.next(portion))
        for (std::uint32_t i = 0; i < portion.count; ++i) {
          const auto sheet = parse_car_json(portion.rows[i].sheet);
          read_brief(portion.rows[i].brief, sheet.facts.name, deciding);
          const bool back_then = before_newest(deciding, on);
          if (back_then) all = feed.alone([&] { return records_of(sheet.facts.name, true); });
          work({worker, portion.first + i, sheet, back_then ? all : deciding});
        }
    };

    Feed::Portion first;
    if (!feed.next(first)) return;
    if (first.count < first.rows.size()) workers = 1;  // no more to come
    std::vector<std::exception_ptr> failures(workers);
    const auto guarded_run = [&](std::size_t worker, Feed::Portion& portion) {
      try {
        run(worker, portion);
      } catch (...) {
        failures[worker] = std::current_exception();
        feed.stop();
      }
    };
    {
      std::vector<std::jthread> helpers;
      try {
        for (std::size_t worker = 1; worker < workers; ++worker)
          helpers.emplace_back([&, worker] {
            Feed::Portion portion;
            guarded_run(worker, portion);
          });
      } catch (const std::system_error&) {
        // No more threads to be had: those there are do it all.
      }
      guarded_run(0, first);
    }
    for (const auto& failure : failures)
      if (failure) std::rethrow_exception(failure);
  });
}

}  // namespace stopledger
