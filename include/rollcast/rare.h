/* Odds of rare outcomes, where plain flights would nearly all pass. */
#ifndef ROLLCAST_RARE_H
#define ROLLCAST_RARE_H

#include <stdint.h>

#include "rollcast/analysis.h"
#include "rollcast/campaign.h"
#include "rollcast/status.h"

enum { RC_RARE_MOST_REPEATS = 64, RC_RARE_LEVELS = 10 /* of a run: odds of 1e-10 */ };

/* What is asked: how likely is a margin of at most zero, for independent standard normal scores? */
struct rc_rare_problem {
    int n;       /* scores of one flight, at least 1 */
    void *user;
    /* Margins of many flights at once: failure is at or below 0.
     * in scores (n_flights x n); out margins (n_flights), finite */
    void (*margins)(void *user, const double *scores, int n_flights, double *margins);
};

struct rc_rare_options {
    uint64_t seed;
    int n_per_level;    /* flights of a level, a multiple of 10 from 100 on; 1000 is usual            */
    int n_repeats;      /* independent repeats, 8 to 64, whose spread is the error; 16 is usual       */
    int n_levels;       /* most levels: odds below 10^-n_levels are given up; 1 to 12                 */
    double confidence;  /* of the interval, 0 .. 1                                                    */
};

/* What came out. */
struct rc_rare {
    double odds;              /* of failure: mean of the repeats                                          */
    double low, high;         /* interval at the confidence, from the spread of the repeats               */
    double bound_low, bound_high; /* one-sided bounds, each at the confidence                            */
    double spread;            /* standard deviation of one repeat over the mean                           */
    int64_t flights;          /* flown in all                                                             */
    int is_supported;         /* 0: the run cannot support a claim, odds is NAN and `why` says why        */
    char why[160];            /* empty where it can                                                       */
};

/* Subset simulation: levels that each hold about a tenth of the one before, reached by Markov chains of conditional draws. A
 * pilot settles the levels, so that the repeats are free of bias; the interval is the wider of Student's, for repeats that
 * scatter normally, and Cox's, for repeats that scatter lognormally.
 * out  rare  untouched on error
 * ends RC_OK, also where no claim is supported; RC_BAD_INPUT (options out of range), RC_NO_MEMORY
 * cost (n_repeats + 1) n_per_level (1 + 0.9 per further level) flights
 * source Au and Beck 2001, Prob. Eng. Mech. 16:263; conditional draws Papaioannou et al. 2015, Prob. Eng. Mech. 41:89; levels
 *        settled beforehand and all states kept: Dau and Chopin 2022, J. R. Stat. Soc. B 84:114; Cox's interval: Zhou and Gao
 *        1997, Stat. Med. 16:783 */
rc_status rc_subset_simulate(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_options *options,
                             struct rc_error *err) RC_MUST_CHECK;

/* Importance sampling: subset simulation finds where failure lies, the cross-entropy method fits a mixture of shifted normals to
 * its failing flights, and all repeats draw from the mixture, with weights. Sharper than subset simulation where the mixture
 * reaches all failures; it refuses where the weights hang on few flights, where failures lie that the mixture hardly reaches, and
 * where the two disagree.
 * out  rare  untouched on error
 * ends as rc_subset_simulate
 * cost as rc_subset_simulate, and 1.5 n_repeats n_per_level flights
 * source Rubinstein and Kroese 2004, The Cross-Entropy Method; from a chain's points Chan and Kroese 2012, Stat. Comput. 22:1031;
 *        mixture weights Veach and Guibas 1995 (balance heuristic); the witnesses: ours, coverage measured (docs/coverage.md) */
rc_status rc_importance_sample(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_options *options,
                               struct rc_error *err) RC_MUST_CHECK;

/* More flights than these a run of the method never takes. */
int64_t rc_subset_most(const struct rc_rare_rule *rule);
int64_t rc_importance_most(const struct rc_rare_rule *rule);

/* A method by its name in campaigns and options. ends RC_RARE_NONE where there is none of that name */
enum rc_rare_method rc_rare_find(const char *name);

/* Its name in campaigns and options, and in words; NULL of no method. */
const char *rc_rare_name(enum rc_rare_method method);
const char *rc_rare_label(enum rc_rare_method method);

/* The method of a rule.
 * in   options  seed and confidence; the rest is the rule's
 * ends as the method; RC_OTHER_STORE: the rule tells other steps than these */
rc_status rc_rare_run(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_rule *rule,
                      const struct rc_rare_options *options, struct rc_error *err) RC_MUST_CHECK;

/* More flights than these a run of the rule never takes. */
int64_t rc_rare_most_flights(const struct rc_rare_rule *rule);

/* How far a flight is from missing a criterion: above 0 where it meets it, at or below where not; always finite.
 * in end  how it ended; other than at apogee it misses by more than any other flight */
double rc_rare_margin(const struct rc_criterion *criterion, double value, double end);

/* A rule as the text that stores keep, and back. The text tells the version of the methods' steps, since what
 * other steps flew cannot be gone through by these.
 * out text RC_STOP_TEXT bytes; empty without a method
 * ends of reading: 0 where the text is none of these */
void rc_rare_write(const struct rc_rare_rule *rule, char *text);
int rc_rare_read(struct rc_rare_rule *rule, const char *text);

#endif
