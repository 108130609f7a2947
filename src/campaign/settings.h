/* The table of settings: every entry of a campaign that cannot be uncertain (names, counts, kinds, rates, table files,
 * limits of criteria), and where it lives in struct rc_settings. Also the lists a campaign may hold. */
#ifndef RC_SETTINGS_H
#define RC_SETTINGS_H

#include <stdbool.h>
#include <stdint.h>

#include "numeric/formula.h"
#include "quantities.h"
#include "rollcast/campaign.h"

enum { RC_MAX_SETTING_TEXT = 192 }; /* longest text with its NUL */

struct rc_fin_settings {
    int64_t count;
};
struct rc_camera_settings {
    char name[RC_MAX_SETTING_TEXT];
    int64_t frame_rate; /* [Hz] */
    int64_t width;      /* [px] */
    int64_t height;     /* [px], 0: 9/16 of the width */
    int mount;          /* enum rc_camera_mount */
};
struct rc_input_settings {
    char name[RC_MAX_SETTING_TEXT];
};
struct rc_criterion_settings {
    char name[RC_MAX_SETTING_TEXT];
    char measure[RC_MAX_SETTING_TEXT];
    double at_least, at_most; /* infinite where not given */
    double odds, confidence;
};

struct rc_correlation_settings {
    char first[RC_MAX_SETTING_TEXT];
    char second[RC_MAX_SETTING_TEXT];
    double rank;
};

struct rc_sweep_settings {
    char path[RC_MAX_SETTING_TEXT];
    double from, to;
    int64_t values;
};

/* Which measures a store keeps. */
enum rc_kept { RC_KEPT_ALL = 0, RC_KEPT_ASKED };

/* Read once; entries that could not be read keep zero. */
struct rc_settings {
    char schema[RC_MAX_SETTING_TEXT];
    char name[RC_MAX_SETTING_TEXT];
    char purpose[RC_MAX_SETTING_TEXT];
    char cost_unit[RC_MAX_SETTING_TEXT];         /* empty: none named */
    char formula[RC_FORMULA_MAX_TEXT];           /* empty: a vehicle is flown */
    int64_t flights, seed;
    double stop_width, stop_seconds;             /* 0: not */
    int rare_method;                             /* enum rc_rare_method */
    char rare_criterion[RC_MAX_SETTING_TEXT];
    int64_t rare_per_level, rare_repeats;
    int stop_on_verdict;                         /* 0 or 1 */
    int plan;                         /* index in the registry of plans */
    int keep_bands;                   /* 0 or 1 */
    int keep_measures;                /* enum rc_kept */
    double band_interval, time_limit; /* [s] */
    int nose_shape;                   /* enum rc_nose_shape */
    char thrust_file[RC_MAX_SETTING_TEXT];
    char aero_file[RC_MAX_SETTING_TEXT];
    char wind_file[RC_MAX_SETTING_TEXT];         /* empty: power law */
    int drive_kind;                              /* index in the registry of drives */
    int below_floor, gyro_mount, acts_on, turns; /* the enums of parts.h */
    int turning, failed_start;                   /* likewise             */
    int64_t gyro_rate, control_rate;             /* [Hz] */
    int64_t encoder_rate;                        /* [Hz], 0: no encoder */
    double gyro_latency;                         /* [s] */
    char pull_out_file[RC_MAX_SETTING_TEXT];     /* empty: from the winding */
    int n_sections;                              /* of the body */
    int n_fin_sets, n_cameras, n_correlations, n_inputs;
    int n_criteria;                              /* as many as stand in the file, at most what fits */
    struct rc_fin_settings fins[RC_MAX_FIN_SETS];
    struct rc_camera_settings cameras[RC_MAX_CAMERAS];
    struct rc_correlation_settings correlations[RC_MAX_CORRELATIONS];
    int n_sweeps;                                /* numbers that `trade` varies */
    struct rc_sweep_settings sweep[RC_SWEEP_VARIED];
    struct rc_input_settings inputs[RC_MAX_INPUTS];
    struct rc_criterion_settings criteria[RC_MAX_CRITERIA];
    struct rc_criterion_settings all_together;
};

enum rc_setting_kind { RC_SETTING_TEXT = 0, RC_SETTING_FILE, RC_SETTING_INTEGER, RC_SETTING_NUMBER, RC_SETTING_CHOICE };

struct rc_setting_row {
    const char *path; /* pattern, e.g. "cameras[].width_px"           */
    enum rc_setting_kind kind;
    double low, high;                 /* allowed range, or length of a text           */
    struct rc_default fallback;       /* RC_DEFAULT_NONE or RC_DEFAULT_VALUE          */
    const char *(*choice)(int index); /* word `index` of a CHOICE, NULL beyond        */
    size_t offset;                    /* in struct rc_settings, of the first member   */
    enum rc_when when;                /* RC_WHEN_ALWAYS, _FORMULA or _SHARED          */
    const char *meaning;
};

/* A list that a campaign may hold. */
struct rc_list_row {
    const char *name;       /* top-level key                       */
    int n_max;              /* most members; at least one must be  */
    size_t settings_stride; /* between members in rc_settings      */
    size_t design_stride;   /* the same in rc_design, 0 if none    */
    size_t count_offset;    /* of the number of members, an int in rc_settings */
};

/* How many rows the table has. */
int rc_settings_count(void);

/* One row; borrowed. in index 0 .. count-1 */
const struct rc_setting_row *rc_settings_row(int index);

/* The list that a path pattern goes through ("fins[].cant_deg": the row of fins), or NULL; borrowed. */
const struct rc_list_row *rc_settings_list(const char *pattern);

/* Members of a list as read. */
int rc_settings_list_count(const struct rc_settings *settings, const struct rc_list_row *list);

#endif
