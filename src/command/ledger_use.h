#pragma once

#include <string>

#include "command/context.h"
#include "record/ledger.h"

namespace stopledger {

/// Opens the ledger of this command line and says what opening had to do (a migration's backup).
Ledger open_ledger(Context& context, Ledger::Mode mode);

/// The car named, in the ledger's spelling; "" stands for the only active car there is.
/// Throws Error(usage) when it is not known or there are several.
std::string pick_car(const Ledger& ledger, const std::string& name);

/// --who, else STOPLEDGER_WHO, else "".
std::string who_of(const Context& context, const std::string& option);

/// The stamp for an entry made now.
EntryStamp stamp_of(const Context& context, const std::string& who = {});

/// A day written on the command line that has happened: not after today.
/// Throws Error(usage) naming the option.
Day past_day(const Context& context, const std::string& option, const std::string& text);

/// A day written on the command line, past or to come; today when the text is empty.
/// Throws Error(usage) naming the option.
Day day_option(const Context& context, const std::string& option, const std::string& text);

/// Sets a record's odometer from "45210 km"; a bare number counts in the car's own unit.
void set_odometer(Record& record, const CarSheet& car, const std::string& text);

}  // namespace stopledger
