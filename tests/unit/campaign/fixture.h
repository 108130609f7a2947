/* A complete small campaign in memory, and ways to spoil it. */
#ifndef RC_FIXTURE_H
#define RC_FIXTURE_H

#include "campaign/campaign.h"

/* Text of the campaign, its thrust table and its aerodynamic table. */
extern const char fixture_campaign[];
extern const char fixture_thrust[];
extern const char fixture_aero[];

/* A copy of a text with the first `find` replaced; the test fails if there is none. Caller frees. */
char *fixture_replace(const char *text, const char *find, const char *replacement);

/* A bundle of the campaign text given, its two tables and a stepper's, pull_out.csv. Caller frees with rc_bundle_free. */
struct rc_bundle fixture_bundle(const char *campaign);

/* Read the fixture with one replacement in its text. ends as rc_campaign_from_bundle */
rc_status fixture_read(rc_campaign **campaign, const char *find, const char *replacement, struct rc_issues *issues);

/* The replacement must be refused as bad input with an issue at the place (after "test.json: ", or whole) that holds all words,
 * which are separated by "|". The test fails and prints the issues if not. */
void fixture_refuses(const char *find, const char *replacement, const char *place, const char *words);

/* The same for tables: the text replaces thrust.csv, aero.csv or wind.csv. */
void fixture_refuses_table(const char *name, const char *text, size_t n_bytes, const char *place, const char *words);

/* Is there such an issue (a warning or an error)? */
bool fixture_has_issue(const struct rc_issues *issues, const char *place, const char *words);

/* Write a text to RC_TEST_SCRATCH/campaign/<name>; the folder is made. out path where, n bytes */
void fixture_write(const char *name, const char *text, char *path, size_t n);

#endif
