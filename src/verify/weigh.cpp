#include "verify/weigh.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "verify/criteria.h"

namespace stopledger {

namespace {

/// Log-chance of the answers if they die out: in each stop the first k are answered, the rest not.
double log_fading(const CornerEvidence& evidence) {
  double total = 0.0;
  bool faded = false;
  for (const auto& stop : evidence.answers) {
    std::vector<const Answer*> told;
    for (const Answer& answer : stop)
      if (answer.testable && (answer.answered || answer.unanswered)) told.push_back(&answer);
    if (told.empty()) continue;
    double best = -1e9;
    std::size_t best_k = 0;
    for (std::size_t k = 0; k <= told.size(); ++k) {
      double sum = -std::log(static_cast<double>(told.size()) + 1.0);
      for (std::size_t i = 0; i < told.size(); ++i) {
        const double p = i < k ? criteria.p_answer_sound : criteria.p_answer_dead;
        sum += told[i]->answered ? std::log(p) : told[i]->weight * std::log(1.0 - p);
      }
      if (sum > best) {
        best = sum;
        best_k = k;
      }
    }
    faded = faded || (best_k >= 1 && best_k < told.size());
    total += best;
  }
  return faded ? total : -1e9;
}

}  // namespace

AnswerTests count_tests(const CornerEvidence& evidence) {
  AnswerTests tests;
  for (const auto& stop : evidence.answers) {
    // A wheel that was let go in an earlier stop and slips again in this one was braked again.
    const bool again =
        evidence.looks_hz >= criteria.plenty_hz && tests.answered > 0 &&
        std::any_of(stop.begin(), stop.end(), [](auto& answer) { return answer.answered; });
    if (again) ++tests.rebuilt;
    for (const Answer& answer : stop) {
      if (answer.too_soon) ++tests.too_soon;
      if (!answer.testable) continue;
      ++tests.tested;
      if (answer.answered) {
        ++tests.answered;
        if (answer.sunk) ++tests.sunk;
        tests.delays.push_back(answer.delay_s);
      }
      if (answer.beyond_doubt) ++tests.sure;
      if (answer.prompt) ++tests.prompt;
      if (answer.doubtful) ++tests.doubtful;
      if (answer.unanswered) {
        ++tests.unanswered;
        tests.unanswered_weight += answer.weight;
      }
      if (answer.rebuilt) ++tests.rebuilt;
      if (answer.not_rebuilt) {
        ++tests.not_rebuilt;
        tests.not_rebuilt_weight += answer.not_rebuilt_weight;
      }
    }
  }
  return tests;
}

bool long_lock(const CornerEvidence& evidence) {
  return evidence.longest_lock_s > criteria.lock_tolerated_s && !evidence.shared_lock &&
         !evidence.lock_in_slide;
}

double fading_odds(const CornerEvidence& evidence) {
  const AnswerTests tests = count_tests(evidence);
  if (tests.unanswered == 0) return 0.0;
  const double sound = tests.answered * std::log(criteria.p_answer_sound) +
                       tests.unanswered_weight * std::log(1.0 - criteria.p_answer_sound);
  return std::max(0.0, log_fading(evidence) - sound);
}

std::vector<Weighed> weigh_explanations(const CornerEvidence& evidence) {
  const AnswerTests tests = count_tests(evidence);
  const bool lock = long_lock(evidence) && (tests.unanswered > 0 || tests.tested == 0);
  const double a = tests.answered, u = tests.unanswered_weight;
  // Where no release could be tied to the wheel, its swings stand for answers.
  const double s = tests.tested == 0 ? evidence.swings : 0;
  if (a + u + s == 0 && !lock && tests.not_rebuilt == 0) return {};
  const auto ln = [](double p) { return std::log(p); };
  std::array<Weighed, 5> weighed{};
  const auto answers = [&](double p) { return (a + s) * ln(p) + u * ln(1.0 - p); };
  const double rebuilt = tests.rebuilt + (tests.tested == 0 ? evidence.reslips : 0);
  const double lock_sound = lock ? ln(criteria.p_long_lock_sound) : 0.0;
  const double lock_dead = lock ? ln(criteria.p_long_lock_dead) : 0.0;
  const auto rebuild = [&](double p) {
    return rebuilt * ln(p) + tests.not_rebuilt_weight * ln(1.0 - p);
  };
  weighed[0] = {Explanation::cycled, ln(criteria.prior_sound) + answers(criteria.p_answer_sound) +
                                         rebuild(criteria.p_rebuild_sound) + lock_sound};
  weighed[1] = {Explanation::release_dead, ln(criteria.prior_fault) +
                                               answers(criteria.p_answer_dead) +
                                               rebuild(criteria.p_rebuild_sound) + lock_dead};
  weighed[2] = {Explanation::rebuild_dead, ln(criteria.prior_fault) +
                                               answers(criteria.p_answer_sound) +
                                               rebuild(criteria.p_rebuild_dead) + lock_sound};
  weighed[3] = {Explanation::fading, ln(criteria.prior_fault) + log_fading(evidence) +
                                         evidence.fading_support + s * ln(0.5) +
                                         rebuild(criteria.p_rebuild_sound) + lock_dead};
  weighed[4] = {Explanation::weak, ln(criteria.prior_fault) + answers(criteria.p_answer_weak) +
                                       rebuild(criteria.p_rebuild_sound) + (lock ? ln(0.5) : 0.0)};
  double top = -1e300, sum = 0.0;
  for (const Weighed& one : weighed) top = std::max(top, one.share);
  for (Weighed& one : weighed) sum += one.share = std::exp(one.share - top);
  for (Weighed& one : weighed) one.share /= sum;
  std::vector<Weighed> result(weighed.begin(), weighed.end());
  std::stable_sort(result.begin(), result.end(),
                   [](const Weighed& x, const Weighed& y) { return x.share > y.share; });
  return result;
}

}  // namespace stopledger
