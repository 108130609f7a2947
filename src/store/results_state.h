/* What the parts of the reader share. */
#ifndef RC_RESULTS_STATE_H
#define RC_RESULTS_STATE_H

#include "facts.h"

struct rc_results {
    char *path, *journal_path;
    hid_t file;
    struct rc_facts facts;
    struct rc_journal journal;   /* closed where there is none                */
    int64_t flights;             /* rows of the HDF5 file and of the journal  */
    struct rc_bundle bundle;     /* campaign text and tables                  */
};

#endif
