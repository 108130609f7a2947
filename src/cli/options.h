/* A command's options as a table: one place for parsing and for --help. GNU manners: long options with "=" or a separate
 * value, options anywhere among the operands, "--" ends them, "-" is an operand. */
#ifndef RC_OPTIONS_H
#define RC_OPTIONS_H

#include <stdint.h>

enum rc_option_kind {
    RC_OPTION_FLAG,     /* int: 1 when given                       */
    RC_OPTION_COUNT,    /* int64_t: digits only, least .. greatest */
    RC_OPTION_UNSIGNED, /* uint64_t: digits only, all 64 bits      */
    RC_OPTION_SECONDS,  /* double: finite, not negative            */
    RC_OPTION_SHARE,    /* double: above 0, below 1                */
    RC_OPTION_TEXT,     /* const char *: borrowed from argv        */
    RC_OPTION_TEXTS     /* const char *[greatest]: may be given that often; the first free place is filled */
};

/* One option. */
struct rc_option {
    const char *name;         /* long name without dashes                */
    char letter;              /* short name, 0 = none                    */
    enum rc_option_kind kind;
    const char *value;        /* what the value is called, NULL = a flag */
    const char *help;         /* one line                                */
    void *target;             /* where it goes, typed as the kind says   */
    int64_t least, greatest;  /* of a COUNT, or of TEXTS                 */
    int *is_given;            /* set to 1 when given; may be NULL        */
};

/* One command: enough for its help page. */
struct rc_command {
    const char *name;
    const char *summary;            /* one or more sentences for the help page */
    const char *operand;            /* "CAMPAIGN"; NULL where none is taken    */
    int most_operands;              /* 1: exactly one is wanted; 0: none; else 1 .. that many */
    int n_options;
    const struct rc_option *option; /* (n_options)                             */
};

/* How parsing ended. */
enum rc_options_end {
    RC_OPTIONS_READ,   /* go on with the command         */
    RC_OPTIONS_HELPED, /* help was asked for and printed */
    RC_OPTIONS_WRONG   /* said what is wrong             */
};

/* Read a command's words.
 * out  operand  (most_operands) the operands, those not given untouched; borrowed from argv
 * in   argc, argv  argv[0] is the command's name */
enum rc_options_end rc_options_read(const struct rc_command *command, int argc, char **argv, const char **operand);

#endif
