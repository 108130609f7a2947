/* How intervals fare over repeats: do they hold the truth, and are they no wider than they must be? An interval of everything holds
 * the truth always. */
#ifndef RC_FARED_H
#define RC_FARED_H

/* Zero-initialise. */
struct fared {
    int n, n_held;
    double width;               /* sums over the repeats */
    double sum, squares;        /* of the estimates      */
    double off, off_squares;    /* of the intervals' middles from the truth */
};

/* Take one repeat. */
void fared_take(struct fared *fared, double value, double low, double high, double truth);

/* A 95 % interval holds the truth at least 94 % of the time, give or take what the repeats can show (three standard errors), and is
 * as wide as the spread of its middle over the repeats asks for, within a fifth below and a quarter above. The test fails if not.
 * in   what    for the message
 * in   is_cut  it ends where the figure can go no further: it may be narrower, and its estimates' own spread is the yardstick */
void fared_judge(const char *what, const struct fared *fared, int is_cut);

#endif
