/* Runs gnuplot on a script and hands back the SVG it writes. What is drawn is the library's. */
#include "gnuplot.h"

#include <errno.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

extern char **environ;

static rc_status fail(struct rc_error *err, rc_status status, const char *format, const char *detail)
{
    err->status = status;
    err->where[0] = '\0';
    (void)snprintf(err->what, sizeof err->what, format, detail);
    return status;
}

/* Run gnuplot from one file to another. ends its exit code, 127 if it is not there, -1 if it could not be run */
static int run(FILE *script, FILE *drawing, FILE *complaint)
{
    char program[] = "gnuplot", without_defaults[] = "-d";
    char *const words[] = {program, without_defaults, NULL};
    posix_spawn_file_actions_t actions;
    pid_t child = 0;
    int ended = 0;
    if (posix_spawn_file_actions_init(&actions) != 0) {
        return -1;
    }
    int is_bad = posix_spawn_file_actions_adddup2(&actions, fileno(script), 0) != 0 ||
                 posix_spawn_file_actions_adddup2(&actions, fileno(drawing), 1) != 0 ||
                 posix_spawn_file_actions_adddup2(&actions, fileno(complaint), 2) != 0;
    const int reason = is_bad ? ENOMEM : posix_spawnp(&child, program, &actions, NULL, words, environ);
    posix_spawn_file_actions_destroy(&actions);
    if (reason != 0) {
        return reason == ENOENT || reason == EACCES ? 127 : -1;
    }
    while (waitpid(child, &ended, 0) < 0) {
        if (errno != EINTR) {
            return -1;
        }
    }
    return WIFEXITED(ended) ? WEXITSTATUS(ended) : -1;
}

/* All of a file as text, NULL if there is no memory or it cannot be read. */
static char *whole(FILE *file)
{
    const long n = fseek(file, 0, SEEK_END) == 0 ? ftell(file) : -1;
    char *text = n >= 0 ? malloc((size_t)n + 1) : NULL;
    if (text == NULL || fseek(file, 0, SEEK_SET) != 0 || fread(text, 1, (size_t)n, file) != (size_t)n) {
        free(text);
        return NULL;
    }
    text[n] = '\0';
    return text;
}

/* What gnuplot complained of: the line that names a place in its script, else the first that says anything, else how it ended. */
static void complain(char *text, size_t size, FILE *complaint, int code)
{
    char *said = whole(complaint);
    const char *line = said != NULL ? strstr(said, "line ") : NULL;
    if (line == NULL && said != NULL) {
        line = said + strspn(said, " \t\r\n");
    }
    if (line != NULL && *line != '\0') {
        (void)snprintf(text, size, "%.200s", line);
        text[strcspn(text, "\r\n")] = '\0';
    } else if (code >= 0) {
        (void)snprintf(text, size, "it ended with exit code %d and said nothing", code);
    } else {
        (void)snprintf(text, size, "it was stopped and said nothing");
    }
    free(said);
}

rc_status rc_gnuplot_draw(void *user, const char *script, char **svg, struct rc_error *err)
{
    (void)user;
    FILE *in = tmpfile(), *out = tmpfile(), *complaint = tmpfile();
    char said[240] = "";
    rc_status status = RC_OK;
    if (in == NULL || out == NULL || complaint == NULL || fputs(script, in) == EOF || fflush(in) == EOF ||
        fseek(in, 0, SEEK_SET) != 0) {
        status = fail(err, RC_IO, "no temporary file for gnuplot: %s", strerror(errno));
        goto done;
    }
    const int code = run(in, out, complaint);
    if (code == 127) {
        status = fail(err, RC_IO, "gnuplot is not there, and the page's figures need it (Debian: apt-get install gnuplot-nox)%s",
                      "; rollcast odds answers without it");
        goto done;
    }
    if (code != 0) {
        complain(said, sizeof said, complaint, code);
        status = fail(err, RC_IO, "gnuplot could not draw a figure: %s; gnuplot 5.4 or later is needed", said);
        goto done;
    }
    char *drawn = whole(out);
    if (drawn == NULL) {
        status = fail(err, RC_NO_MEMORY, "no memory for a drawing%s", "");
        goto done;
    }
    *svg = drawn;
done:
    if (in != NULL) {
        fclose(in);
    }
    if (out != NULL) {
        fclose(out);
    }
    if (complaint != NULL) {
        fclose(complaint);
    }
    return status;
}
