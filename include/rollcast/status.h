/* Status codes and messages: how every call of the library says how it went. */
#ifndef ROLLCAST_STATUS_H
#define ROLLCAST_STATUS_H

#if defined(__GNUC__)
#define RC_MUST_CHECK __attribute__((warn_unused_result))
#define RC_PRINTF(text, first) __attribute__((format(printf, text, first)))
#else
#define RC_MUST_CHECK
#define RC_PRINTF(text, first)
#endif

/* How a call ended; the list with exit codes and texts is the table status.def. */
typedef enum rc_status {
    RC_OK = 0,
    RC_USAGE,
    RC_BAD_INPUT,
    RC_NO_FILE,
    RC_IO,
    RC_NO_SPACE,
    RC_EXISTS,
    RC_NOT_STORE,
    RC_OTHER_STORE,
    RC_STOPPED,
    RC_NO_MEMORY,
    RC_INTERNAL,
    RC_N_STATUS
} rc_status;

enum { RC_ERROR_WHERE = 320, RC_ERROR_WHAT = 640, RC_MAX_ISSUES = 32 };

/* One message: where it happened (file, path in the file) and what, why and what to do, in one line. */
struct rc_error {
    rc_status status;
    char where[RC_ERROR_WHERE]; /* "first.json: /fins/0/cant_deg", may be empty */
    char what[RC_ERROR_WHAT];   /* one sentence: got, wanted, what to do        */
};

/* Every complaint about one input, so that a user sees all mistakes at once; the list is capped. */
struct rc_issues {
    int n_errors;                          /* all that were found, also beyond the cap   */
    int n_warnings;                        /* likewise, legal but suspicious             */
    int n_kept;                            /* how many of them stand in the list         */
    struct rc_error item[RC_MAX_ISSUES];   /* status RC_OK marks a warning               */
};

/* The short text of a status.
 * in   status  any value; an unknown one gives "unknown status"
 * ends a constant string, never NULL */
const char *rc_status_text(rc_status status);

/* The process exit code that stands for a status (docs/commands.md).
 * in   status  any value; an unknown one gives 70 */
int rc_status_exit_code(rc_status status);

#endif
