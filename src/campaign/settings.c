/* The tables of settings and lists as data. Reading a file by them is left to setup.c. */
#include "settings.h"

#include <math.h>
#include <string.h>

#include "platform/platform.h"
#include "rollcast/campaign.h"
#include "sampling/sampling.h"

static const char *no_choice(int index)
{
    (void)index;
    return NULL;
}

static const char *word_of(const char *const *words, int n, int index)
{
    return index >= 0 && index < n ? words[index] : NULL;
}

static const char *nose_choice(int index)
{
    static const char *const words[] = {[RC_NOSE_CONE] = "cone", [RC_NOSE_OGIVE] = "ogive", [RC_NOSE_POWER] = "power",
                                        [RC_NOSE_VON_KARMAN] = "von_karman"};
    return word_of(words, 4, index);
}

static const char *mount_choice(int index)
{
    static const char *const words[] = {[RC_GYRO_ON_PLATFORM] = "platform", [RC_GYRO_ON_VEHICLE] = "vehicle"};
    return word_of(words, 2, index);
}

static const char *camera_mount_choice(int index)
{
    static const char *const words[] = {[RC_CAMERA_ON_PLATFORM] = "platform", [RC_CAMERA_ON_VEHICLE] = "vehicle"};
    return word_of(words, 2, index);
}

static const char *acts_on_choice(int index)
{
    static const char *const words[] = {[RC_CONTROL_RATE] = "rate", [RC_CONTROL_ANGLE] = "angle"};
    return word_of(words, 2, index);
}

static const char *no_yes_choice(int index)
{
    static const char *const words[] = {"no", "yes"};
    return word_of(words, 2, index);
}

static const char *kept_choice(int index)
{
    static const char *const words[] = {[RC_KEPT_ALL] = "all", [RC_KEPT_ASKED] = "asked"};
    return word_of(words, 2, index);
}

static const char *rare_choice(int index)
{
#define NAME(id, name, label, run, most) [RC_RARE_##id] = name,
    static const char *const words[] = {[RC_RARE_NONE] = "none", RC_RARE_METHODS(NAME)};
#undef NAME
    return word_of(words, RC_RARE_METHODS_END, index);
}

static const char *turns_choice(int index)
{
    static const char *const words[] = {[RC_TURNS_ACCUMULATED] = "accumulated", [RC_TURNS_NEAREST] = "nearest"};
    return word_of(words, 2, index);
}

static const char *below_floor_choice(int index)
{
    static const char *const words[] = {[RC_BELOW_FLOOR_STOP] = "stop", [RC_BELOW_FLOOR_RUN] = "run"};
    return word_of(words, 2, index);
}

static const char *turning_choice(int index)
{
    static const char *const words[] = {[RC_TURNING_BOTH] = "both", [RC_TURNING_POSITIVE] = "positive",
                                        [RC_TURNING_NEGATIVE] = "negative"};
    return word_of(words, 3, index);
}

static const char *failed_start_choice(int index)
{
    static const char *const words[] = {[RC_FAILED_START_RETRY] = "retry", [RC_FAILED_START_LOCK_OUT] = "lock_out"};
    return word_of(words, 2, index);
}

static const char *drive_choice(int index)
{
    const struct rc_drive_kind *drive = rc_platform_drive_at(index);
    return drive ? drive->name : NULL;
}

static const char *plan_choice(int index)
{
    const struct rc_plan_kind *plan = rc_plan_at(index);
    return plan ? plan->name : NULL;
}

#define REQUIRED                                                                                                                 \
    {                                                                                                                            \
        RC_DEFAULT_NONE, 0, 0                                                                                                    \
    }
#define VALUE(x)                                                                                                                 \
    {                                                                                                                            \
        RC_DEFAULT_VALUE, x, 0                                                                                                   \
    }

static const struct rc_setting_row rows[] = {
#define RC_SETTING(path, kind, low, high, fallback, choices, field, meaning)                                                     \
    {path, RC_SETTING_##kind, low, high, fallback, choices, offsetof(struct rc_settings, field), RC_WHEN_ALWAYS, meaning},
#define RC_FORMULA_SETTING(path, kind, low, high, fallback, choices, field, meaning)                                             \
    {path, RC_SETTING_##kind, low, high, fallback, choices, offsetof(struct rc_settings, field), RC_WHEN_FORMULA, meaning},
#define RC_SHARED_SETTING(path, kind, low, high, fallback, choices, field, meaning)                                              \
    {path, RC_SETTING_##kind, low, high, fallback, choices, offsetof(struct rc_settings, field), RC_WHEN_SHARED, meaning},
#include "settings.def"
#undef RC_SETTING
#undef RC_FORMULA_SETTING
#undef RC_SHARED_SETTING
};

static const struct rc_list_row lists[] = {
    {"fins", RC_MAX_FIN_SETS, sizeof(struct rc_fin_settings), sizeof(struct rc_fin_set),
     offsetof(struct rc_settings, n_fin_sets)},
    {"body", RC_MAX_SECTIONS, 0, sizeof(struct rc_body_section), offsetof(struct rc_settings, n_sections)},
    {"cameras", RC_MAX_CAMERAS, sizeof(struct rc_camera_settings), sizeof(struct rc_camera_design),
     offsetof(struct rc_settings, n_cameras)},
    {"correlations", RC_MAX_CORRELATIONS, sizeof(struct rc_correlation_settings), 0,
     offsetof(struct rc_settings, n_correlations)},
    {"inputs", RC_MAX_INPUTS, sizeof(struct rc_input_settings), sizeof(double), offsetof(struct rc_settings, n_inputs)},
    {"sweep", RC_SWEEP_VARIED, sizeof(struct rc_sweep_settings), 0, offsetof(struct rc_settings, n_sweeps)},
    {"criteria", RC_MAX_CRITERIA, sizeof(struct rc_criterion_settings), 0, offsetof(struct rc_settings, n_criteria)},
};

int rc_settings_count(void)
{
    return (int)(sizeof rows / sizeof rows[0]);
}

const struct rc_setting_row *rc_settings_row(int index)
{
    return &rows[index];
}

const struct rc_list_row *rc_settings_list(const char *pattern)
{
    for (size_t list = 0; list < sizeof lists / sizeof lists[0]; list++) {
        const size_t n = strlen(lists[list].name);
        if (strncmp(pattern, lists[list].name, n) == 0 && strncmp(pattern + n, "[]", 2) == 0)
            return &lists[list];
    }
    return NULL;
}

int rc_settings_list_count(const struct rc_settings *settings, const struct rc_list_row *list)
{
    int count = 0;
    memcpy(&count, (const char *)settings + list->count_offset, sizeof count);
    return count;
}
