/* Every limit of the program, by name: enforced where input comes in, so that nothing inside needs to grow. */
#ifndef RC_LIMITS_H
#define RC_LIMITS_H

enum {
    RC_MAX_PATH_TEXT = 96,      /* longest quantity path, with its NUL                       */
    RC_MAX_NAME = 64,           /* longest name of a criterion or camera, with its NUL       */
    RC_MAX_UNIT = 16,           /* longest unit, with its NUL                                */
    RC_MAX_BUNDLE_FILES = 16,   /* a campaign and its tables                                 */
    RC_MAX_FILE_BYTES = 4 << 20,/* largest campaign or table file                            */
    RC_MAX_JSON_DEPTH = 16,     /* objects and lists inside each other in a campaign         */
    RC_MAX_JSON_VALUES = 20000, /* values of a campaign file                                 */
    RC_MAX_UNCERTAIN = 256,     /* uncertain quantities of one campaign                      */
    RC_MAX_CORRELATIONS = 64,   /* pairs of quantities with a correlation                    */
    RC_MAX_INPUTS = 64,         /* inputs of a formula campaign                              */
    RC_MAX_CRITERIA = 32,       /* criteria of one campaign                                  */
    RC_MAX_FIN_SETS = 2,        /* fin sets; tabs are the second                             */
    RC_MAX_FINS = 8,            /* fins of one set                                           */
    RC_MAX_SECTIONS = 4,        /* transitions and boat-tails of one body                    */
    RC_MAX_CAMERAS = 4,         /* cameras on the platform                                   */
    RC_MAX_TABLE_ROWS = 4096,   /* rows of a thrust, aerodynamic or wind table               */
    RC_MAX_PULL_OUT_ROWS = 12,  /* rows of a stepper's pull-out table                        */
    RC_MAX_LATENCY = 64,        /* gyro samples that may be under way                        */
    RC_MAX_BAND_TIMES = 256     /* times at which percentile bands are kept                  */
};
#define RC_MAX_FLIGHTS 4000000000000LL /* flights of one store */

#endif
