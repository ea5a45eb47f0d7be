#include "log/reader.h"

#include <algorithm>

#include "base/error.h"
#include "log/block.h"
#include "log/finish.h"
#include "log/gather.h"
#include "log/layout.h"
#include "log/source.h"
#include "log/text.h"

namespace stopledger {
namespace {

constexpr std::size_t head_bytes = std::size_t{1} << 20U;
constexpr std::size_t piece_bytes = std::size_t{1} << 18U;

/// Control characters that no text has.
bool looks_binary(std::string_view text) {
  const auto sample = text.substr(0, 65536);
  const auto odd = std::count_if(sample.begin(), sample.end(), [](char c) {
    const auto u = static_cast<unsigned char>(c);
    return u < 32 && u != '\t' && u != '\n' && u != '\r' && u != 0x1A;
  });
  return odd * 20 > static_cast<std::ptrdiff_t>(sample.size());
}

Log read_source(Source& source, const std::string& name, const ReadOptions& options) {
  Log log;
  log.file = name;
  std::string text;
  bool more = true;
  while (more && text.size() < head_bytes) more = source.read(text, piece_bytes);
  if (text.empty())
    throw Error(ErrorKind::input, {name},
                "is empty: nothing was recorded; open the export before leaving the lot");
  const auto encoding = detect_encoding(text);
  // Encodings other than UTF-8 are rare and small: they are turned as a whole.
  if (encoding != Encoding::utf8) {
    while (more) more = source.read(text, piece_bytes);
    text = to_utf8(text, encoding);
    if (encoding == Encoding::latin1)
      log.notes.emplace_back("the text is not UTF-8; read as Latin-1");
  }
  if (text.starts_with("\xEF\xBB\xBF")) text.erase(0, 3);
  if (looks_binary(text))
    throw Error(ErrorKind::input, {name, 1},
                "is not text (a binary file?); export the recording as delimited text");

  std::string_view head = text;
  if (more) head = head.substr(0, whole_records(head, ','));
  const Layout layout = find_layout(head, name, options);
  log.notes.insert(log.notes.end(), layout.notes.begin(), layout.notes.end());
  log.defects = layout.defects;

  const Typer typer(layout);
  Gather gather(layout, typer.columns());
  Block block;
  std::size_t line = layout.data_line;
  text.erase(0, layout.data_offset);
  bool ended = false;
  while (!ended) {
    const bool last = !more;
    const std::size_t whole = last ? text.size() : whole_records(text, layout.style.delimiter);
    if (whole > 0) {
      typer.type(std::string_view(text).substr(0, whole), last, block);
      gather.add(block, line);
      line += block.lines;
      text.erase(0, whole);
      ended = block.defects.second_table.count > 0;
    } else if (!last && text.size() > 8 * head_bytes) {
      throw Error(ErrorKind::input, {name, line}, "a line is longer than 8 MB; this is no log");
    }
    if (options.progress) options.progress(source.progress());
    if (last) break;
    more = source.read(text, piece_bytes);
  }
  while (more) {  // the hash is of the whole file
    text.clear();
    more = source.read(text, piece_bytes);
  }
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
  const auto source = open_source(path);
  return read_source(*source, path == "-" ? "standard input" : path, options);
}

Log read_log_text(std::string_view text, const std::string& name, const ReadOptions& options) {
  const auto source = memory_source(text);
  return read_source(*source, name, options);
}

}  // namespace stopledger
