/* Messages: one line each on standard error, "rollcast: WHERE: WHAT". */
#ifndef RC_SAY_H
#define RC_SAY_H

#include <stddef.h>

#include "rollcast/status.h"

/* One line on standard error, "rollcast: " before it; control characters become blanks.
 * in   format  printf form without a line break */
void rc_say_line(const char *format, ...) RC_PRINTF(1, 2);

/* Say an error of the library.
 * in   path  the file it is about, used where the error itself names no place; may be NULL
 * ends the exit code of its status */
int rc_say_error(const struct rc_error *err, const char *path);

/* Say every issue of an input, a line each, warnings marked as such, and how many more there are.
 * in   status  how reading it ended: RC_OK with warnings only
 * in   path    the input, used where an issue names no place
 * ends the exit code of the status */
int rc_say_issues(const struct rc_issues *issues, rc_status status, const char *path);

/* Write an answer in words to standard output: as it is where the locale's variables name UTF-8 or nothing, in ASCII where they
 * name another character set: '~' for the sign of plus or minus, '?' for other letters, so that columns stay. */
void rc_say_text(const char *text, size_t n_text);

/* A path as a shell takes it back: in quotes where it holds anything but plain letters, never read as an option.
 * out  text  cut to size */
void rc_say_shell_path(char *text, size_t size, const char *path);

/* Close standard output: the last moment at which a full disk or a closed pipe shows.
 * in   code  the exit code so far
 * ends `code`, or that of RC_IO after saying that results could not be written */
int rc_say_finish(int code);

/* May a stream show colour? Only a terminal, and never with NO_COLOR set (and not empty) or TERM=dumb.
 * in   descriptor  1 or 2 */
int rc_say_is_coloured(int descriptor);

#endif
