/* Signals of the commands that fly or fill a store: `fly`, `trade` and `merge`. Who looks at the flag, and when, is the
 * library's; no other file handles signals. */
#include "interrupt.h"

#include <signal.h>
#include <stddef.h>
#include <unistd.h>

/* The one thing that a signal handler may write to; that is why it is not a variable of some function. */
static atomic_int is_stopped;

static void on_signal(int number)
{
    if (is_stopped) {
        _exit(128 + number); /* the store loses at most the record in work */
    }
    is_stopped = 1;
}

void rc_interrupt_ignore(void)
{
    struct sigaction ignore = {.sa_handler = SIG_IGN};
    sigaction(SIGPIPE, &ignore, NULL);
    sigaction(SIGXFSZ, &ignore, NULL);
}

const atomic_int *rc_interrupt_watch(void)
{
    struct sigaction watch = {.sa_handler = on_signal, .sa_flags = SA_RESTART};
    struct sigaction hangup = {.sa_handler = SIG_DFL};

    sigemptyset(&watch.sa_mask);
    sigaction(SIGINT, &watch, NULL);
    sigaction(SIGTERM, &watch, NULL);
    sigaction(SIGHUP, NULL, &hangup);
    if (hangup.sa_handler != SIG_IGN) {
        sigaction(SIGHUP, &watch, NULL);
    }
    rc_interrupt_ignore();
    return &is_stopped;
}
