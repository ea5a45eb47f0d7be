#include "record/car_row.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "base/error.h"
#include "record/kinds.h"

namespace stopledger {

CarRow car_row(LedgerFile& file, const std::string& name) {
  {
    const auto select = file.prepared("SELECT id, name FROM car WHERE name = ?");
    select->bind(1, name);
    if (select->executeStep())
      return {select->getColumn(0).getInt64(), select->getColumn(1).getString()};
  }
  std::vector<std::string> names;
  const auto all = file.prepared("SELECT name FROM car");
  while (all->executeStep()) names.push_back(all->getColumn(0).getString());
  const auto near = near_names(name, names);
  throw Error(ErrorKind::usage,
              fmt::format("no car \"{}\" in {}; {}", name, file.path,
                          near.empty() ? "stopledger car list shows the cars"
                                       : fmt::format("did you mean {}?", fmt::join(near, ", "))));
}

}  // namespace stopledger
