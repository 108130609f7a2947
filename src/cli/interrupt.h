/* Being asked to stop: the first signal sets a flag, the second ends the program at once. */
#ifndef RC_INTERRUPT_H
#define RC_INTERRUPT_H

#include <stdatomic.h>

/* Ignore SIGPIPE, so that a reader of messages that goes away does not take the work with it, and SIGXFSZ, so that a limit on
 * file size is an error to be told. */
void rc_interrupt_ignore(void);

/* The same, and watch for SIGINT, SIGTERM and (unless the caller ignores it, as nohup does) SIGHUP.
 * ends the flag: non-zero once a signal came */
const atomic_int *rc_interrupt_watch(void);

#endif
