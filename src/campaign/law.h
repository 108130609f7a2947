/* Distribution objects of a campaign: {"distribution": "normal", "mean": 0, "sd": 0.05}. */
#ifndef RC_LAW_H
#define RC_LAW_H

#include "numeric/numeric.h"
#include "read.h"

/* Entries that any distribution object may have beside its parameters: one row each in law.def. */
enum rc_law_entry {
#define RC_LAW_ENTRY(name, key, low, high, fallback, in_unit, meaning) RC_LAW_##name,
#include "law.def"
#undef RC_LAW_ENTRY
    RC_N_LAW_ENTRIES
};

struct rc_law_row {
    const char *key;
    double low, high, fallback;  /* allowed range; NAN as fallback: none */
    bool in_unit;                /* the quantity's                       */
    const char *meaning;
};

/* One row; borrowed. */
const struct rc_law_row *rc_law_row(enum rc_law_entry entry);

/* What a distribution object says beside its parameters. */
struct rc_law_extras {
    double value[RC_N_LAW_ENTRIES];
};

/* Read the distribution of a quantity and hold it against the quantity's allowed range.
 * out  distribution  set on true, reshaped as its entries say; release it with rc_law_free
 * out  extras        set on true
 * in   node   an object
 * in   path   of the quantity or of the entry that stands for several fins
 * ends false after reporting: unknown kind or parameter, missing parameter, wrong type, what the kind's own check finds, median
 *      outside the range, or more than one flight in a million outside it */
bool rc_law_read(struct rc_distribution *distribution, struct rc_law_extras *extras, const struct rc_reader *reader,
                 const cJSON *node, const char *path, const struct rc_quantity_row *row);

/* Is an entry of a distribution object in the quantity's unit, or a plain number?
 * in   key  one that the kind takes, n bytes of it */
bool rc_law_in_unit(const struct rc_distribution *distribution, const char *key, size_t n);

/* Release the table of a distribution that was read. */
void rc_law_free(struct rc_distribution *distribution);

/* Write a distribution as text: "normal(mean 0, sd 0.05)", "discrete(3 values)". out text n bytes, cut to fit */
void rc_law_text(char *text, size_t n, const struct rc_distribution *distribution);

#endif
