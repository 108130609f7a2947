/* gnuplot as the drawer of a report's figures. */
#ifndef RC_GNUPLOT_H
#define RC_GNUPLOT_H

#include "rollcast/status.h"

/* Draw, as struct rc_report_drawing wants it: gnuplot is looked for on PATH, reads no settings of the user, and finds its script
 * and leaves its drawing in temporary files.
 * in   user    not used
 * out  svg     NUL-terminated, the caller frees it with free()
 * ends RC_IO (no gnuplot, no temporary file, or it failed), RC_NO_MEMORY
 * cost one process */
rc_status rc_gnuplot_draw(void *user, const char *script, char **svg, struct rc_error *err);

#endif
