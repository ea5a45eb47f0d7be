// Reads what decides what is due of every car and counts it: the ledger's share of `due`.
#include <iostream>

#include "base/error.h"
#include "record/ledger.h"

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  try {
    const stopledger::Ledger ledger(argv[1], stopledger::Ledger::Mode::read);
    std::size_t cars = 0, records = 0;
    ledger.for_each_active_car({}, 1, [&](const stopledger::ActiveCar& car) {
      ++cars;
      records += car.deciding.size();
    });
    std::cout << cars << " cars, " << records << " records\n";
  } catch (const stopledger::Error& error) {
    std::cerr << error.what() << "\n";
    return 1;
  }
  return 0;
}
