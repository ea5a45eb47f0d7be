#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/corner.h"
#include "log/initials.h"
#include "log/vocabulary.h"

namespace stopledger::wording {

/// The places that a header names.
struct Place {
  bool front = false, rear = false, left = false, right = false;
  bool driver = false, passenger = false;
  int corner_words = 0;

  [[nodiscard]] std::optional<Corner> corner() const {
    if (front == rear || left == right) return std::nullopt;
    return front ? (left ? Corner::fl : Corner::fr) : (left ? Corner::rl : Corner::rr);
  }
};

/// All that one header says.
struct Reading {
  Concepts says;
  Place place;
  bool ev = false, av = false;                          ///< "EV", "AV" beside a place
  bool normally_open = false, normally_closed = false;  ///< "NO", "NC" beside a place
  bool german = false;                                  ///< a place or thing in German words
  std::vector<std::string> words;
};

/// What the headers as a whole say about the reading of each.
struct Manner {
  const Initials* foreign = nullptr;  ///< initials beside the English ones
  bool german = false;                ///< EV is Einlassventil (inlet), AV Auslassventil (outlet)
  bool no_nc = false;                 ///< NO is normally open (inlet), NC normally closed (outlet)
  bool driver_initials = false;       ///< DF, PF, DR, PR: driver's and passenger's front and rear
};

/// The manner of these headers.
Manner manner_of(const std::vector<std::string>& headers);

Reading read_header(std::string_view header, const Manner& manner);

}  // namespace stopledger::wording
