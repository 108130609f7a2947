/* Intervals and verdicts that hold at every number of flights at once. Symbols: k passes or failures and m of the other kind,
 * p the share, M the mixture's likelihood ratio against p, alpha one less the confidence. */
#include <math.h>

#include "numeric/special.h"
#include "rollcast/analysis.h"

static double log_beta(double a, double b)
{
    return lgamma(a) + lgamma(b) - lgamma(a + b);
}

/* log of p^k (1-p)^m, with 0 log 0 = 0 */
static double log_likelihood(double p, double k, double m)
{
    return (k > 0.0 ? k * log(p) : 0.0) + (m > 0.0 ? m * log1p(-p) : 0.0);
}

/* The root of log M(p) = log(1/alpha) between the estimate, where M is least, and an end. */
static double root(double inside, double outside, const double count[2], double limit)
{
    for (int round = 0; round < 200; round++) {
        const double middle = 0.5 * (inside + outside);
        if (middle == inside || middle == outside)
            break;
        if (-log_likelihood(middle, count[0], count[1]) < limit)
            inside = middle;
        else
            outside = middle;
    }
    return outside;
}

struct rc_range rc_sequence_interval(int64_t passed, int64_t flights, double confidence, double prior)
{
    struct rc_range range = {0.0, 1.0};
    if (flights < 1)
        return range;
    const double count[2] = {(double)passed, (double)(flights - passed)};
    const double limit = -log(1.0 - confidence) + log_beta(prior, prior) - log_beta(prior + count[0], prior + count[1]);
    const double share = count[0] / (count[0] + count[1]);
    if (passed > 0)
        range.low = root(share, 0.0, count, limit);
    if (passed < flights)
        range.high = root(share, 1.0, count, limit);
    return range;
}

/* Evidence that the share of k's is below `most`: the mixture over [0, most] against `most` itself, as a logarithm. */
static double log_evidence_below(double k, double m, double most)
{
    if (!(most > 0.0 && most < 1.0))
        return -INFINITY;
    const double mass = rc_special_beta_cdf(k + 1.0, m + 1.0, most);
    return log_beta(k + 1.0, m + 1.0) + log(mass) - log(most) - log_likelihood(most, k, m);
}

enum rc_verdict rc_sequence_verdict(int64_t passed, int64_t flights, const struct rc_criterion *criterion)
{
    const double k = (double)passed;
    const double m = (double)(flights - passed);
    const double limit = -log(1.0 - criterion->confidence);
    if (flights > 0 && log_evidence_below(m, k, 1.0 - criterion->odds) >= limit)
        return RC_VERDICT_GO;
    if (flights > 0 && log_evidence_below(k, m, criterion->odds) >= limit)
        return RC_VERDICT_NO_GO;
    return RC_VERDICT_NOT_YET_KNOWN;
}
