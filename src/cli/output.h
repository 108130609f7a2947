/* A file that an answer goes to: written beside its place and moved there once it is complete. */
#ifndef RC_OUTPUT_H
#define RC_OUTPUT_H

#include <stdio.h>

/* Where an answer goes until it is complete. A regular file is written beside its place, so that neither an error nor a kill
 * leaves half an answer, or takes an older one away. */
struct rc_output {
    FILE *out;
    const char *path; /* borrowed; "-" is standard output                                          */
    int is_standard;  /* standard output: closed, and its errors said, at the end of the program   */
    char part[4096];  /* the file beside; empty for standard output and devices                    */
};

/* Open the destination.
 * in   overwrite  what becomes of a file that exists: 1 it is replaced, 0 it stays and --overwrite is offered, -1 it stays
 * ends 0, or the exit code after saying why not */
int rc_output_open(struct rc_output *output, const char *path, int overwrite);

/* Close the destination and put it in its place, or take it away where it is not good.
 * ends 0, or the exit code after saying what failed */
int rc_output_close(struct rc_output *output, int is_good);

/* Make a folder unless it is there. out is_new it was not there; ends 0, or the exit code after saying why not */
int rc_output_folder(const char *path, int *is_new);

/* Take a new folder away again if nothing came into it. */
void rc_output_drop_folder(const char *path, int is_new);

#endif
