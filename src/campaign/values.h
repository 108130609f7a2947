/* Every quantity of a campaign as read: base design, entries in table order, what is uncertain. */
#ifndef RC_VALUES_H
#define RC_VALUES_H

#include "law.h"
#include "read.h"
#include "sampling/sampling.h"

enum { RC_MAX_ENTRIES = 256 };

/* One quantity. */
struct rc_entry {
    const struct rc_quantity_row *row;
    char path[RC_MAX_PATH_TEXT];  /* "fins[0].misalignment_deg[2]"                         */
    char given[RC_MAX_PATH_TEXT]; /* the file's entry: "fins[0].misalignment_deg"          */
    size_t offset;               /* of its field in struct rc_design                       */
    double value;                /* number or median, in the row's unit                    */
    bool is_default;
    int uncertain;          /* place in rc_values.sampling, -1 = fixed                */
    char distribution[160]; /* as text, empty where fixed                             */
    struct rc_law_extras extras; /* of the distribution; zeros where fixed             */
};

/* Not to be moved once read: `sampling` points into it. */
struct rc_values {
    int n;
    struct rc_entry entry[RC_MAX_ENTRIES];
    struct rc_sampling sampling;
    struct rc_uncertain uncertain[RC_MAX_UNCERTAIN];
    int uncertain_entry[RC_MAX_UNCERTAIN]; /* entry of each uncertain one       */
    struct rc_design base;                 /* SI, uncertain ones at their median */
};

/* Read every row of the table of quantities that applies, in every member of its list and for every fin. Wrong entries are
 * reported.
 * out  values  filled
 * in   settings  for the numbers of members and fins */
void rc_values_read(struct rc_values *values, const struct rc_reader *reader, const struct rc_settings *settings);

/* Is there such a number, and other than by default? A default that is said is as good as one left out. */
bool rc_values_is_set(const struct rc_values *values, const char *path);

/* Release what the distributions hold. Values that are all zero are fine. */
void rc_values_free(struct rc_values *values);

/* The design of one flight. Fields that follow another one by default follow it here too; a drive's jump is at least its floor.
 * out  design  SI
 * in   drawn   (sampling.n) in the rows' units */
void rc_values_design(struct rc_design *design, const struct rc_values *values, const double *drawn);

#endif
