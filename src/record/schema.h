#pragma once

#include <cstdint>
#include <span>

namespace stopledger {

/// "SLdg": says in the file's header that this SQLite file is a ledger.
inline constexpr std::int32_t ledger_application_id = 0x534C6467;

/// One step of the schema; step i brings a file from user_version i to i + 1.
/// The tables are explained in src/record/SCHEMA.md.
std::span<const char* const> schema_steps();

}  // namespace stopledger
