// What the ledger must stand: its writer killed at random moments, two writers at once, a full
// disk. Run by tests/kill/run; each mode ends with status 0 only when nothing that was reported
// as saved is missing and the ledger verifies clean.
//   endurance kill FOLDER ROUNDS SEED | writers FOLDER SECONDS | full FOLDER
#include <fmt/format.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <random>
#include <thread>

#include "base/error.h"
#include "record/ledger.h"
#include "record/verify.h"

using namespace stopledger;
namespace fs = std::filesystem;

namespace {

const EntryStamp stamp{"2026-11-25T10:00:00Z", "A. Person"};

void require(bool holds, const std::string& claim) {
  if (!holds) throw std::runtime_error("NOT SO: " + claim);
}

/// A record with fields and now and then a log that fills many pages; returns its uid.
std::string add_one(Ledger& ledger, std::mt19937& random) {
  const Day day = add_days(*parse_day("2020-01-01"), static_cast<int>(random() % 2000));
  if (random() % 8 == 0) {
    CheckToSave check;
    check.car = "Blue wagon";
    check.day = day;
    std::string noise(20000, '\0');
    for (auto& byte : noise) byte = static_cast<char>(random());
    check.logs.push_back({.name = "s.csv", .bytes = noise, .role = FileRole::log, .sha256 = {}});
    check.outcome_json = "{}";
    return ledger.save_check(check, stamp).uid;
  }
  Record record;
  record.car = "Blue wagon";
  record.kind = random() % 2 == 0 ? "fluid-change" : "lamp-check";
  record.day = day;
  record.fields["result"] = {"pass", std::nullopt};
  record.fields["codes"] = {"none", std::nullopt};
  return ledger.add_record(record, stamp).uid;
}

std::string fresh_ledger(const fs::path& folder) {
  const auto path = (folder / "l\xC3\xA4st ledger.db").string();
  fs::remove(path);
  fs::remove(path + "-journal");
  Ledger ledger(path, Ledger::Mode::create);
  CarSheet sheet;
  sheet.facts.name = "Blue wagon";
  ledger.add_car(sheet, stamp);
  return path;
}

/// Verifies the ledger and that every uid is in it; returns the number of its entries.
std::size_t examine(const std::string& path, const std::vector<std::string>& uids) {
  Ledger ledger(path, Ledger::Mode::write);
  for (const auto& uid : uids)
    require(ledger.record_by_uid(uid).has_value(), "a record reported as saved is there: " + uid);
  const auto found = verify_ledger(ledger, true, "");
  for (const auto& problem : found.problems) std::cerr << problem << "\n";
  require(found.problems.empty(), "the ledger verifies clean");
  require(found.repaired.empty(), "the computed tables fit the records");
  return found.entries;
}

/// A child that adds records until it is killed or `seconds` are over, and tells each uid through
/// a pipe once it is saved.
struct Writer {
  pid_t pid = 0;
  int reports = -1;
};

Writer start_writer(const std::string& path, unsigned seed, double seconds) {
  int ends[2];
  require(pipe(ends) == 0, "a pipe can be made");
  const pid_t pid = fork();
  require(pid >= 0, "a process can be started");
  if (pid != 0) {
    close(ends[1]);
    return {pid, ends[0]};
  }
  close(ends[0]);
  try {
    std::mt19937 random(seed);
    Ledger ledger(path, Ledger::Mode::write, 60000);
    const auto until = std::chrono::steady_clock::now() + std::chrono::duration<double>(seconds);
    while (std::chrono::steady_clock::now() < until) {
      const auto line = add_one(ledger, random) + "\n";
      if (write(ends[1], line.data(), line.size()) != static_cast<ssize_t>(line.size())) _exit(3);
    }
    _exit(0);
  } catch (const std::exception& error) {
    std::cerr << error.what() << "\n";
    _exit(2);
  }
}

/// The uids told until the writer's end. The pipe holds 65536 bytes, 1985 of them.
std::vector<std::string> reported(const Writer& writer) {
  std::string text;
  char buffer[4096];
  for (ssize_t got = 0; (got = read(writer.reports, buffer, sizeof buffer)) > 0;)
    text.append(buffer, static_cast<std::size_t>(got));
  close(writer.reports);
  std::vector<std::string> uids;
  for (std::size_t from = 0; from + 33 <= text.size(); from += 33)
    uids.push_back(text.substr(from, 32));
  return uids;
}

void kill_rounds(const fs::path& folder, int rounds, unsigned seed) {
  const auto path = fresh_ledger(folder);
  std::mt19937 random(seed);
  std::size_t saved = 0, unreported = 0, hot = 0;
  std::int64_t known = 0;
  std::vector<std::string> all;
  for (int round = 0; round < rounds; ++round) {
    const auto writer = start_writer(path, static_cast<unsigned>(random()), 3600.0);
    std::this_thread::sleep_for(std::chrono::microseconds(500 + random() % 200000));
    kill(writer.pid, SIGKILL);
    int status = 0;
    waitpid(writer.pid, &status, 0);
    require(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL, "the writer was killed at work");
    const auto uids = reported(writer);
    hot += fs::exists(path + "-journal") ? 1 : 0;
    {
      const Ledger ledger(path, Ledger::Mode::read);
      for (const auto& uid : uids)
        require(ledger.record_by_uid(uid).has_value(), "a record reported as saved is there");
      const auto now = static_cast<std::int64_t>(ledger.records_of("Blue wagon").size());
      const auto more = now - known - static_cast<std::int64_t>(uids.size());
      require(more == 0 || more == 1, "at most the one record at work was saved unreported");
      unreported += static_cast<std::size_t>(more);
      known = now;
    }
    saved += uids.size();
    all.insert(all.end(), uids.begin(), uids.end());
    if (round % 100 == 99) examine(path, all);
  }
  const auto entries = examine(path, all);
  std::cout << fmt::format(
      "killed {} times: {} records reported as saved, all there; {} more saved but killed before "
      "the report; {} times an unfinished write was rolled back; {} entries verify clean\n",
      rounds, saved, unreported, hot, entries);
  require(saved > static_cast<std::size_t>(rounds) / 2, "the writers did write");
}

void two_writers(const fs::path& folder, double seconds) {
  const auto path = fresh_ledger(folder);
  const Writer writers[] = {start_writer(path, 1, seconds), start_writer(path, 2, seconds)};
  std::vector<std::string> uids[2];
  std::thread other([&] { uids[1] = reported(writers[1]); });
  uids[0] = reported(writers[0]);
  other.join();
  for (const auto& writer : writers) {
    int status = 0;
    waitpid(writer.pid, &status, 0);
    require(WIFEXITED(status) && WEXITSTATUS(status) == 0, "no writer was turned away");
  }
  require(!uids[0].empty() && !uids[1].empty(), "both wrote");
  auto all = uids[0];
  all.insert(all.end(), uids[1].begin(), uids[1].end());
  const auto entries = examine(path, all);
  const Ledger ledger(path, Ledger::Mode::read);
  require(ledger.records_of("Blue wagon").size() == all.size(), "no record is missing or doubled");
  std::cout << fmt::format(
      "two writers for {} s: {} and {} records, all there; {} entries verify "
      "clean\n",
      seconds, uids[0].size(), uids[1].size(), entries);
}

void full_disk(const fs::path& folder) {
  const auto path = fresh_ledger(folder);
  const auto reserve = folder / "reserve";
  std::ofstream(reserve) << std::string(200000, 'x');
  std::mt19937 random(7);
  std::vector<std::string> uids;
  std::string refusal;
  while (refusal.empty() && uids.size() < 100000) {
    try {
      Ledger ledger(path, Ledger::Mode::write);
      uids.push_back(add_one(ledger, random));
    } catch (const Error& error) {
      refusal = error.what();
    }
  }
  require(refusal.find("the disk is full. Nothing was saved") != std::string::npos,
          "the refusal says that the disk is full: " + refusal);
  {
    const Ledger ledger(path, Ledger::Mode::read);  // still readable, and nothing half-written
    require(ledger.records_of("Blue wagon").size() == uids.size(), "what was saved is there");
  }
  fs::remove(reserve);
  const auto entries = examine(path, uids);
  Ledger ledger(path, Ledger::Mode::write);
  add_one(ledger, random);
  std::cout << fmt::format(
      "full disk: {} records saved, then \"{}\"; all there, {} entries verify "
      "clean; with room again the next one is saved\n",
      uids.size(), refusal.substr(refusal.rfind(": ") + 2), entries);
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  try {
    if (words.size() == 4 && words[0] == "kill") {
      kill_rounds(words[1], std::stoi(words[2]), static_cast<unsigned>(std::stoul(words[3])));
    } else if (words.size() == 3 && words[0] == "writers") {
      two_writers(words[1], std::stod(words[2]));
    } else if (words.size() == 2 && words[0] == "full") {
      full_disk(words[1]);
    } else {
      std::cerr << "endurance kill FOLDER ROUNDS SEED | writers FOLDER SECONDS | full FOLDER\n";
      return 2;
    }
  } catch (const std::exception& error) {
    std::cerr << "endurance: " << error.what() << "\n";
    return 1;
  }
  return 0;
}
