#include "log/header_text.h"

#include "log/cell.h"
#include "log/head.h"
#include "log/words.h"

namespace stopledger {
namespace {

/// Whether the last word is a unit and no part of the name: not "Valve FL in" beside "Valve FL
/// out".
bool is_unit_of(const Unit& unit, const std::string& last, const std::string& name) {
  if (unit.dimension == UnitDimension::other || last == "long") return false;
  // One letter alone ("v", "g", "h") is more often part of the name.
  if (last.size() == 1 && last != "V" && last != "%" && last != "g" && last != "s") return false;
  if (unit.dimension != UnitDimension::length) return true;
  const auto wording = recognise_words({name}, {std::nullopt}, {})[0];
  return !wording.role || unit_fits(wording.role->quantity, unit.dimension);
}

}  // namespace

void split_header(Column& column) {
  const std::string& header = column.header;
  column.name = header;
  for (const auto& [open, close] : {std::pair{'(', ')'}, {'[', ']'}, {'{', '}'}, {'<', '>'}}) {
    const auto end = header.rfind(close);
    const auto begin = end == std::string::npos ? end : header.rfind(open, end);
    if (begin == std::string::npos) continue;
    const auto inside =
        std::string(trim(std::string_view(header).substr(begin + 1, end - begin - 1)));
    if (is_missing(inside)) {  // "[-]": no unit
      column.name = header.substr(0, begin);
      return;
    }
    const auto unit = parse_unit(inside);
    if (!unit && has_letter(inside) && end + 1 != header.size()) continue;
    if (unit || !recognise_words({inside}, {std::nullopt}, {})[0].role) {
      const bool state_hint = fold_text(inside) == "on/off" || fold_text(inside) == "0/1";
      if (!unit && !state_hint && inside.size() > 12) continue;
      column.unit_text = inside;
      column.unit = unit;
      column.name = header.substr(0, begin) + " " + header.substr(end + 1);
      return;
    }
  }
  // A unit as the last word.
  const auto mark = header.find_last_of(" ,;/_-.");
  for (const auto begin : {header.find_last_of(" ,;"), header.find_last_of("_"), mark}) {
    if (begin == std::string::npos || begin == 0 || begin + 1 >= header.size()) continue;
    const auto last = header.substr(begin + 1);
    const auto unit = parse_unit(last);
    if (!unit || !is_unit_of(*unit, last, header.substr(0, begin))) continue;
    column.unit_text = last;
    column.unit = unit;
    column.name = header.substr(0, begin);
    return;
  }
  if (header.size() > 1 && header.ends_with('%')) {
    column.unit_text = "%";
    column.unit = parse_unit("%");
    column.name = header.substr(0, header.size() - 1);
  }
}

void mend_slashless_unit(Column& column) {
  const auto written = fold_text(column.unit_text);
  if (!column.unit || !column.wording.role || (written != "ms" && written != "rads")) return;
  const auto quantity = column.wording.role->quantity;
  const auto meant = parse_unit(written == "ms" ? "m/s" : "rad/s");
  if (!unit_fits(quantity, column.unit->dimension) && unit_fits(quantity, meant->dimension))
    column.unit = meant;
}

}  // namespace stopledger
