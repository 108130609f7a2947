/* Failing system calls on demand: this program's own write, pwrite, ftruncate, fsync, rename, unlink and creating open
 * stand before the C library's, also for the libraries it uses. fsync does nothing here; power_calls.h pulls the plug.
 * The clock CLOCK_MONOTONIC stands still. */
#ifndef RC_FAULT_CALLS_H
#define RC_FAULT_CALLS_H

enum fault_kind {
    FAULT_NONE = 0,
    FAULT_KILL,       /* SIGKILL instead of the call                               */
    FAULT_KILL_TORN,  /* a write does half its bytes, then SIGKILL                 */
    FAULT_ONCE,       /* the call fails once with `code`                           */
    FAULT_FROM_ON,    /* it and every later one fails with `code`: unlink does not */
    FAULT_SHORT       /* every write from it on does half its bytes and says so    */
};

/* Arm: the at-th call from now on (1 ..) and what befalls it. FAULT_NONE with any number only counts. */
void fault_arm(enum fault_kind kind, long at, int code);

/* Disarm. ends how many calls were counted since fault_arm */
long fault_disarm(void);

#endif
