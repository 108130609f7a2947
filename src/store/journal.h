/* The journal of a store: rows appended record by record between two foldings, each record with its checksum.
 * The format is in docs/store-layout.md. Knows no HDF5. */
#ifndef RC_JOURNAL_H
#define RC_JOURNAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "rollcast/status.h"

/* What every record of a journal agrees on. */
struct rc_journal_shape {
    uint64_t fingerprint, seed;  /* of the run                               */
    uint64_t columns;            /* hash over names and units of all columns */
    uint32_t n_columns, n_signals, n_times;
};

/* Where one record's payload stands. */
struct rc_journal_record {
    int64_t first;   /* flight number of its first row */
    int64_t offset;  /* of its rows in the file [byte]  */
    uint32_t n;      /* rows                            */
    uint32_t n_times; /* band times kept: later ones have no sample */
};

/* What stands at the head of a journal. */
struct rc_journal_head {
    struct rc_journal_shape shape;
    int64_t first;    /* flight number of the first row              */
    int64_t n_asked;  /* flights the run that made it was asked for  */
};

struct rc_journal {
    int file;                          /* -1 = closed                                       */
    char *path;
    struct rc_journal_head head;
    int64_t next;                      /* it holds flights head.first .. next-1              */
    int64_t length;                    /* bytes up to the end of the last whole record       */
    struct rc_journal_record *record;  /* (n_records) in flight order                        */
    size_t n_records, capacity;
    bool is_named;                     /* its folder was flushed since it was made or opened */
};

/* A journal that is not open. */
#define RC_JOURNAL_CLOSED ((struct rc_journal){.file = -1})

/* Make a new journal in place of whatever stood at the path; who is reading the old one keeps it.
 * out  journal  ends with rc_journal_close; closed on error
 * ends RC_IO, RC_NO_SPACE, RC_NO_MEMORY */
rc_status rc_journal_create(struct rc_journal *journal, const char *path, const struct rc_journal_head *head,
                            struct rc_error *err) RC_MUST_CHECK;

/* Open a journal and find its whole records; the first one that is torn or damaged ends it.
 * out  journal    ends with rc_journal_close; closed (file -1) on error, where there is no journal, or where its head is torn
 * in   shape      what it must agree on
 * in   is_writer  cut what follows the last whole record, so that more can be appended
 * ends RC_OTHER_STORE (whole head of another run), RC_IO, RC_NO_MEMORY
 * cost reads the file once, checks every checksum */
rc_status rc_journal_open(struct rc_journal *journal, const char *path, const struct rc_journal_shape *shape, bool is_writer,
                          struct rc_error *err) RC_MUST_CHECK;

/* Append one record. On error the journal is as before.
 * in   n     rows, 1 .. RC_JOURNAL_MAX_ROWS
 * in   rows  (n x n_columns);  bins  (n x n_signals x n_times), NULL if there are none
 * ends RC_IO, RC_NO_SPACE, RC_NO_MEMORY */
rc_status rc_journal_append(struct rc_journal *journal, uint32_t n, const double *rows, const uint16_t *bins,
                            struct rc_error *err) RC_MUST_CHECK;
enum { RC_JOURNAL_MAX_ROWS = 1 << 16 };

/* Flush what was appended to the device, and the first time the folder too: without its name a journal is lost. ends RC_IO,
 * RC_NO_SPACE, RC_NO_MEMORY */
rc_status rc_journal_sync(struct rc_journal *journal, struct rc_error *err) RC_MUST_CHECK;

/* Read rows first .. first+n-1, all of them in the journal. out rows (n x n_columns). ends RC_IO */
rc_status rc_journal_rows(const struct rc_journal *journal, int64_t first, int64_t n, double *rows,
                          struct rc_error *err) RC_MUST_CHECK;

/* Read the bins of one record. out bins (record->n x n_signals x n_times). ends RC_IO */
rc_status rc_journal_bins(const struct rc_journal *journal, const struct rc_journal_record *record, uint16_t *bins,
                          struct rc_error *err) RC_MUST_CHECK;

/* Close the file and release the list of records. */
void rc_journal_close(struct rc_journal *journal);

#endif
