#include "log/reader.h"

#include <algorithm>
#include <memory>
#include <span>

#include "base/error.h"
#include "log/block.h"
#include "log/finish.h"
#include "log/gather.h"
#include "log/layout.h"
#include "log/pipeline.h"
#include "log/source.h"
#include "log/text.h"

namespace stopledger {
namespace {

/// Enough to see the header and what the columns hold.
constexpr std::size_t head_bytes = std::size_t{1} << 20U;

/// Control characters that no text has, or more zeros than a recorder that pads leaves.
bool looks_binary(std::string_view text) {
  const auto sample = text.substr(0, 65536);
  const auto zeros = std::count(sample.begin(), sample.end(), '\0');
  const auto odd = std::count_if(sample.begin(), sample.end(), [](char c) {
    const auto u = static_cast<unsigned char>(c);
    return u < 32 && u != '\0' && u != '\t' && u != '\n' && u != '\r' && u != 0x1A;
  });
  const auto size = static_cast<std::ptrdiff_t>(sample.size());
  return odd * 50 > size || zeros * 3 > size;
}

Log read_source(std::unique_ptr<Source> packed, const std::string& name,
                const ReadOptions& options) {
  const auto source_owner = unpacked(std::move(packed), name);
  Source& source = *source_owner;
  TextStream stream(source);
  Log log;
  log.file = name;
  // Not filled with zeros: a short log leaves most of it untouched.
  const auto head_memory = std::make_unique_for_overwrite<char[]>(head_bytes);
  std::size_t filled = 0;
  bool more = true;
  while (more && filled < head_bytes) {
    const std::size_t n = stream.read(std::span(head_memory.get(), head_bytes).subspan(filled));
    filled += n;
    more = n > 0;
  }
  const std::string_view text(head_memory.get(), filled);
  if (text.empty())
    throw Error(ErrorKind::input, {name},
                "is empty: nothing was recorded; open the export before leaving the lot");
  if (stream.encoding() == Encoding::latin1)
    log.notes.emplace_back("the text is not UTF-8; read as Latin-1");
  if (looks_binary(text))
    throw Error(ErrorKind::input, {name, 1},
                "is not text (a binary file?); export the recording as delimited text");

  std::string_view head = text;
  if (more) head = head.substr(0, whole_records(head, ','));
  const Layout layout = find_layout(head, name, options);
  log.notes.insert(log.notes.end(), layout.notes.begin(), layout.notes.end());
  log.defects = layout.defects;
  log.wording = layout.wording;

  const Typer typer(layout, options.fast);
  Gather gather(layout, typer.columns());
  std::size_t line = layout.data_line;
  Pipeline::run(stream, text.substr(layout.data_offset), more, typer, name, options.threads,
                [&](RowBlock& block, double share) {
                  const bool table_ends = block.defects.second_table.count > 0;
                  const std::size_t lines = block.lines;
                  gather.add(block, line);
                  line += lines;
                  if (options.progress) options.progress(share);
                  return !table_ends;
                });
  log.sha256 = source.sha256();
  gather.finish(log);
  if (gather.rows() == 0)
    throw Error(ErrorKind::input, {name, layout.data_line},
                "no rows: no line after the header has a time stamp that can be read");
  finish_channels(layout, gather, name, options, log);
  return log;
}

}  // namespace

Log read_log(const std::string& path, const ReadOptions& options) {
  Log log =
      read_source(open_source(path, options.hash), path == "-" ? "standard input" : path, options);
  log.file = path;
  return log;
}

Log read_log_text(std::string_view text, const std::string& name, const ReadOptions& options) {
  return read_source(memory_source(text, options.hash), name, options);
}

}  // namespace stopledger
