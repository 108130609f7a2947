/* Words that more than one text answer needs: units, limits, what is asked. */
#ifndef RC_WORDING_H
#define RC_WORDING_H

#include <stdio.h>

#include "flight/design.h"
#include "rollcast/campaign.h"

/* A unit as printed after a number: nothing for the plain number's "1". */
const char *rc_wording_unit(const char *unit);

/* The shape of a nose: "cone", "von Karman". */
const char *rc_wording_nose(enum rc_nose_shape shape);

/* What the campaign has at a path that takes a word, a file or a whole number: its own, or the default. Empty where there is
 * none. out text (size) */
void rc_wording_setting(const rc_campaign *campaign, const char *path, char *text, size_t size);

/* A camera's name as the campaign gives it. out text (size) */
void rc_wording_camera(const rc_campaign *campaign, int camera, char *text, size_t size);

/* A limit: "usable_s at least 20 s". No line end. */
void rc_wording_limit(FILE *out, const struct rc_criterion *criterion);

/* What is asked: "asked in 90 % of flights @ 95 % confidence". No line end. */
void rc_wording_asked(FILE *out, const struct rc_criterion *criterion);

#endif
