#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace stopledger {

/// SHA-256 of the bytes, 64 lower-case hex digits (FIPS 180-4).
std::string sha256_hex(std::string_view bytes);

/// Zstandard frame of the bytes (RFC 8878), and back.
/// `unpack` throws Error(ledger) when the frame is damaged or is not `size` bytes long.
std::string pack(std::string_view bytes);
std::string unpack(std::string_view packed, std::size_t size);

/// Base64 with padding, no line breaks (RFC 4648), and back; `decode_base64` throws Error(input).
std::string encode_base64(std::string_view bytes);
std::string decode_base64(std::string_view text);

}  // namespace stopledger
