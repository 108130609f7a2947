/* JSON text to a checked tree, places in it by path, and complaints about them. cJSON is seen here and in the files of this
 * folder that walk the tree, nowhere else. */
#ifndef RC_READ_H
#define RC_READ_H

#include <cjson/cJSON.h>

#include "base/base.h"
#include "settings.h"

/* What every reading function needs. */
struct rc_reader {
    const char *file;  /* campaign's name in messages           */
    const cJSON *root; /* an object                             */
    struct rc_issues *issues;
    struct rc_bundle *bundle; /* the campaign's files            */
    const char *folder;       /* where more may be read from ("" = here), or NULL: all must be in the bundle */
    bool is_formula;     /* no vehicle: inputs and a formula      */
    bool has_wind_table; /* these decide which rows apply         */
    bool acts_on_angle;
    bool has_gusts;
    bool has_descent;
    bool has_body;
    int drive; /* its row in the registry; 0 while the kind is not known */
    bool has_pull_out;
    bool has_battery;
    bool has_play; /* backlash */
    bool has_encoder;
};

/* Parse a campaign's text.
 * out  reader  root is set on RC_OK; rc_read_free when done
 * in   file    borrowed as long as the reader
 * out  issues  not JSON (line and column), empty, too deep, too many values, not an object at the top
 * ends RC_BAD_INPUT */
rc_status rc_read_parse(struct rc_reader *reader, const struct rc_bundle_file *file, struct rc_issues *issues) RC_MUST_CHECK;

/* Release the tree. */
void rc_read_free(struct rc_reader *reader);

/* Does a row that applies at `when` (enum rc_when, or drives) apply to this campaign? */
bool rc_read_applies(const struct rc_reader *reader, int when);

/* The drives a row is of: a bit RC_WHEN_DRIVES << index each; 0 for a row that does not go by drive. */
int rc_read_drives(int when);

/* Their names, each in quotes, with blanks between. out text n bytes, cut to fit */
void rc_read_drive_names(char *text, size_t n, int drives);

/* The node at a path ("fins[0].cant_deg"), or NULL; borrowed. The empty path is the root. */
const cJSON *rc_read_node(const struct rc_reader *reader, const char *path);

/* Write a pattern's path for one list member and one fin ("fins[].misalignment_deg[]", 0, 2 -> "fins[0].misalignment_deg[2]").
 * out path  RC_MAX_PATH_TEXT bytes
 * in  member, fin  what the first and the second [] stand for; a negative one drops the brackets */
void rc_read_path(char *path, const char *pattern, int member, int fin);

/* Complain about a place: path as for rc_read_node, or path plus a key below it (NULL = none), which may be any text. */
void rc_read_report(const struct rc_reader *reader, const char *path, const char *key, const char *format, ...) RC_PRINTF(4, 5);

/* The same as a warning. */
void rc_read_warn(const struct rc_reader *reader, const char *path, const char *format, ...) RC_PRINTF(3, 4);

enum { RC_READ_GOT = 64 };

/* Say in a few words what stands at a node: `"abc"`, `1.5`, `a list`. out text RC_READ_GOT bytes */
void rc_read_describe(const cJSON *node, char *text);

#endif
