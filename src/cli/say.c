/* Messages on standard error and the end of standard output. What is said is left to the commands. */
#include "say.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void rc_say_line(const char *format, ...)
{
    char text[RC_ERROR_WHERE + RC_ERROR_WHAT + 256];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    for (char *at = text; *at != '\0'; at++) {
        if ((unsigned char)*at < 0x20 || *at == 0x7f) {
            *at = ' ';
        }
    }
    fflush(stdout); /* results and messages on one terminal stay in order */
    fprintf(stderr, "rollcast: %s\n", text);
}

int rc_say_error(const struct rc_error *err, const char *path)
{
    const char *where = err->where[0] != '\0' ? err->where : path;
    const char *what = err->what[0] != '\0' ? err->what : rc_status_text(err->status);

    if (where != NULL && where[0] != '\0') {
        rc_say_line("%s: %s", where, what);
    } else {
        rc_say_line("%s", what);
    }
    return rc_status_exit_code(err->status);
}

int rc_say_issues(const struct rc_issues *issues, rc_status status, const char *path)
{
    const int n_more = issues->n_errors + issues->n_warnings - issues->n_kept;

    for (int issue = 0; issue < issues->n_kept; issue++) {
        const struct rc_error *item = &issues->item[issue];
        const char *where = item->where[0] != '\0' ? item->where : path;
        rc_say_line("%s%s: %s", item->status == RC_OK ? "warning: " : "", where, item->what);
    }
    if (n_more > 0) {
        rc_say_line("%s: and %d more of the kind", path, n_more);
    }
    if (status != RC_OK && issues->n_errors == 0) {
        rc_say_line("%s: %s", path, rc_status_text(status));
    }
    return rc_status_exit_code(status);
}

/* Is the character set of the locale another one than UTF-8? POSIX: the first of these that is set and not empty counts. */
static int is_plain_locale(void)
{
    static const char *const names[] = {"LC_ALL", "LC_CTYPE", "LANG"};
    for (size_t at = 0; at < sizeof names / sizeof names[0]; at++) {
        const char *locale = getenv(names[at]);
        if (locale != NULL && locale[0] != '\0') {
            return strstr(locale, "UTF-8") == NULL && strstr(locale, "utf8") == NULL;
        }
    }
    return 0;
}

void rc_say_text(const char *text, size_t n_text)
{
    if (!is_plain_locale()) {
        fwrite(text, 1, n_text, stdout);
        return;
    }
    int n_wider = 0; /* columns that signs have taken and blanks of their cell are to give back */
    for (size_t at = 0; at < n_text; at++) {
        const unsigned char byte = (unsigned char)text[at];
        const int is_spare = byte == ' ' && at + 1 < n_text && text[at + 1] == ' ';
        if (n_wider > 0 && is_spare) {
            n_wider--;
        } else if (byte < 0x80) {
            n_wider = byte == '\n' ? 0 : n_wider;
            fputc(byte, stdout);
        } else if (byte == 0xc2 && at + 1 < n_text && (unsigned char)text[at + 1] == 0xb1) {
            fputs("+/-", stdout);
            n_wider += 2;
        } else if (byte >= 0xc0) { /* the first byte of a letter; those that go on with it are dropped */
            fputc('?', stdout);
        }
    }
}

int rc_say_finish(int code)
{
    errno = 0;
    const int is_bad = ferror(stdout) != 0;
    if (is_bad) { /* why it failed then is gone by now: one more byte fails alike and says so */
        clearerr(stdout);
        fputc('\n', stdout);
    }
    const int is_unclosed = fclose(stdout) != 0;
    if (!is_bad && !is_unclosed) {
        return code;
    }
    const char *reason = errno != 0 ? strerror(errno) : "writing failed";
    fprintf(stderr, "rollcast: standard output: %s; the answer is not complete\n", reason);
    return rc_status_exit_code(RC_IO);
}

int rc_say_is_coloured(int descriptor)
{
    const char *no_colour = getenv("NO_COLOR");
    const char *terminal = getenv("TERM");
    if (no_colour != NULL && no_colour[0] != '\0') {
        return 0;
    }
    return isatty(descriptor) && terminal != NULL && strcmp(terminal, "dumb") != 0;
}

void rc_say_shell_path(char *text, size_t size, const char *path)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-/+=:,@%";
    const char *prefix = path[0] == '-' && path[1] != '\0' ? "./" : "";

    if (path[strspn(path, plain)] == '\0') {
        snprintf(text, size, "%s%s", prefix, path);
        return;
    }
    size_t n = (size_t)snprintf(text, size, "'%s", prefix);
    for (const char *at = path; *at != '\0' && n + 6 < size; at++) {
        n += (size_t)snprintf(text + n, size - n, *at == '\'' ? "'\\''" : "%c", *at);
    }
    snprintf(text + n, size - n, "'");
}
