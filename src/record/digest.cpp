#include "record/digest.h"

#include <nettle/base64.h>
#include <nettle/sha2.h>
#include <zstd.h>

#include <array>

#include "base/error.h"

namespace stopledger {

std::string sha256_hex(std::string_view bytes) {
  sha256_ctx context;
  sha256_init(&context);
  sha256_update(&context, bytes.size(), reinterpret_cast<const std::uint8_t*>(bytes.data()));
  std::array<std::uint8_t, SHA256_DIGEST_SIZE> digest{};
  sha256_digest(&context, digest.size(), digest.data());
  constexpr std::string_view digits = "0123456789abcdef";
  std::string out;
  out.reserve(2 * digest.size());
  for (const auto byte : digest) {
    out += digits[byte >> 4];
    out += digits[byte & 15];
  }
  return out;
}

std::string pack(std::string_view bytes) {
  std::string out(ZSTD_compressBound(bytes.size()), '\0');
  const auto size = ZSTD_compress(out.data(), out.size(), bytes.data(), bytes.size(), 9);
  if (ZSTD_isError(size))
    throw Error(ErrorKind::ledger, std::string("cannot compress: ") + ZSTD_getErrorName(size));
  out.resize(size);
  return out;
}

std::string unpack(std::string_view packed, std::size_t size) {
  // The frame itself says how long its content is: asked first, so that a false size claims no
  // memory.
  const auto stated = ZSTD_getFrameContentSize(packed.data(), packed.size());
  std::string out;
  if (stated == size) {
    out.resize(size);
    const auto got = ZSTD_decompress(out.data(), out.size(), packed.data(), packed.size());
    if (!ZSTD_isError(got) && got == size) return out;
  }
  throw Error(ErrorKind::ledger, "a kept file is damaged: it does not unpack");
}

std::string encode_base64(std::string_view bytes) {
  std::string out(BASE64_ENCODE_RAW_LENGTH(bytes.size()), '\0');
  base64_encode_raw(out.data(), bytes.size(), reinterpret_cast<const std::uint8_t*>(bytes.data()));
  return out;
}

std::string decode_base64(std::string_view text) {
  std::string out(BASE64_DECODE_LENGTH(text.size()), '\0');
  base64_decode_ctx context;
  base64_decode_init(&context);
  std::size_t size = out.size();
  if (base64_decode_update(&context, &size, reinterpret_cast<std::uint8_t*>(out.data()),
                           text.size(), text.data()) != 1 ||
      base64_decode_final(&context) != 1)
    throw Error(ErrorKind::input, "is not base64");
  out.resize(size);
  return out;
}

}  // namespace stopledger
