// Binomial intervals against Newcombe 1998, Statistics in Medicine 17, 857-872 (SC-01 to SC-16).
#include <catch2/catch.hpp>

#include "signal/binomial.h"

using namespace stopledger;

TEST_CASE("95 % intervals as published", "[outside][binomial][SC-01]") {
  struct Case {
    std::size_t k, n;
    double exact_low, exact_high, score_low, score_high;
  };
  for (const Case& c :
       {Case{81, 263, 0.2527, 0.3676, 0.2553, 0.3662},
        Case{15, 148, 0.0578, 0.1617, 0.0624, 0.1605}, Case{0, 20, 0.0, 0.1684, 0.0, 0.1611},
        Case{1, 29, 0.0009, 0.1776, 0.0061, 0.1718}, Case{10, 10, 0.6915, 1.0, 0.7225, 1.0},
        Case{5, 10, 0.1871, 0.8129, 0.2366, 0.7634}, Case{13, 16, 0.5435, 0.9595, 0.5699, 0.9341},
        Case{19, 20, 0.7513, 0.9987, 0.7639, 0.9911}}) {
    const Bounds exact = clopper_pearson(c.k, c.n), score = wilson(c.k, c.n);
    INFO(c.k << " of " << c.n);
    CHECK(exact.low == Approx(c.exact_low).margin(6e-5));  // half a unit of the last place printed
    CHECK(exact.high == Approx(c.exact_high).margin(6e-5));
    CHECK(score.low == Approx(c.score_low).margin(6e-5));
    CHECK(score.high == Approx(c.score_high).margin(6e-5));
  }
}
