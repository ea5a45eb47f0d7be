// Runs the transcripts tests/cli/COMMAND/*.txt against the program:
//   $ command        run by sh in a fresh folder, `stopledger` is the program, its ledger is there
//   ? 1              the exit status expected of it (0 when the line is left out)
//   text             expected output (both streams); "..." stands for any text within a line, and
//                    alone on a line for any number of lines
//   # text           at the start of a file or before a command: a comment
// $SOURCE is the source folder.
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

namespace fs = std::filesystem;

namespace {

struct Exchange {
  std::string command;
  int status = 0;
  std::vector<std::string> expected;
};

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  while (!lines.empty() && lines.back().empty()) lines.pop_back();
  return lines;
}

std::vector<Exchange> exchanges_of(const fs::path& path) {
  std::ifstream in(path);
  std::vector<Exchange> all;
  bool fresh = true;
  for (std::string line; std::getline(in, line);) {
    if (line.starts_with("$ ")) {
      all.push_back({line.substr(2), 0, {}});
      fresh = true;
    } else if (all.empty() || line.starts_with("# ")) {
      continue;
    } else if (fresh && line.starts_with("? ")) {
      all.back().status = std::stoi(line.substr(2));
      fresh = false;
    } else {
      all.back().expected.push_back(line);
      fresh = false;
    }
  }
  for (auto& e : all)
    while (!e.expected.empty() && e.expected.back().empty()) e.expected.pop_back();
  return all;
}

/// `pattern` with "..." for any text.
bool line_matches(std::string_view pattern, std::string_view line) {
  const auto dots = pattern.find("...");
  if (dots == std::string_view::npos) return pattern == line;
  if (!line.starts_with(pattern.substr(0, dots))) return false;
  const auto rest = pattern.substr(dots + 3);
  for (std::size_t from = dots; from <= line.size(); ++from)
    if (line_matches(rest, line.substr(from))) return true;
  return false;
}

using Lines = std::vector<std::string>;

bool matches(Lines::const_iterator want, Lines::const_iterator want_end, Lines::const_iterator got,
             Lines::const_iterator got_end) {
  for (; want != want_end; ++want, ++got) {
    if (*want == "...") {
      for (++want;; ++got) {
        if (matches(want, want_end, got, got_end)) return true;
        if (got == got_end) return false;
      }
    }
    if (got == got_end || !line_matches(*want, *got)) return false;
  }
  return got == got_end;
}

std::string shell(const fs::path& folder, const std::string& command, int& status) {
  const std::string whole = "cd '" + folder.string() + "' && { " + command + "\n} 2>&1";
  std::string output;
  std::FILE* pipe = popen(whole.c_str(), "r");
  REQUIRE(pipe != nullptr);
  std::array<char, 4096> buffer{};
  while (const auto count = std::fread(buffer.data(), 1, buffer.size(), pipe))
    output.append(buffer.data(), count);
  const int ended = pclose(pipe);
  status = WIFEXITED(ended) ? WEXITSTATUS(ended) : -1;
  return output;
}

}  // namespace

TEST_CASE("the program behaves as its transcripts say", "[cli]") {
  const fs::path program(STOPLEDGER_PROGRAM);
  setenv("PATH", (program.parent_path().string() + ":" + std::getenv("PATH")).c_str(), 1);
  setenv("SOURCE", STOPLEDGER_SOURCE_DIR, 1);
  for (const char* name : {"STOPLEDGER_PROCEDURES", "STOPLEDGER_WHO"}) unsetenv(name);
  std::vector<fs::path> transcripts;
  for (const auto& entry :
       fs::recursive_directory_iterator(fs::path(STOPLEDGER_SOURCE_DIR) / "tests/cli"))
    if (entry.path().extension() == ".txt") transcripts.push_back(entry.path());
  std::sort(transcripts.begin(), transcripts.end());
  REQUIRE_FALSE(transcripts.empty());

  for (const auto& transcript : transcripts) {
    const auto folder = fs::temp_directory_path() / ("stopledger cli " + std::to_string(getpid()));
    fs::remove_all(folder);
    fs::create_directory(folder);
    setenv("STOPLEDGER_FILE", (folder / "ledger.db").c_str(), 1);
    for (const auto& exchange : exchanges_of(transcript)) {
      int status = 0;
      const auto output = shell(folder, exchange.command, status);
      INFO(transcript.string() << "\n$ " << exchange.command << "\n" << output);
      CHECK(status == exchange.status);
      const auto got = lines_of(output);
      CHECK(matches(exchange.expected.begin(), exchange.expected.end(), got.begin(), got.end()));
    }
    fs::remove_all(folder);
  }
}
