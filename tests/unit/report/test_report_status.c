/* The status file as its readers meet it: at every instant a whole one, the one before or the new one. The folder's events tell
 * (inotify), and a file that was opened before stays what it was. */
#include <dirent.h>
#include <fcntl.h>
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/inotify.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "rollcast/report.h"

enum { ROUNDS = 60, ROOM = 1 << 16 };

static char folder[512], path[600];

/* A folder of its own, empty. */
static int set_up(void **state)
{
    (void)state;
    (void)mkdir(RC_TEST_SCRATCH, 0777);
    (void)snprintf(folder, sizeof folder, "%s/status-%ld", RC_TEST_SCRATCH, (long)getpid());
    (void)snprintf(path, sizeof path, "%s/s.json", folder);
    (void)mkdir(folder, 0777);
    return 0;
}

/* The round-th status: of changing length, some of many blocks. */
static void write_round(int round)
{
    static char message[ROOM / 2];
    struct rc_error err = {0};
    memset(message, 'a' + round % 26, sizeof message);
    message[round % 3 == 0 ? (int)sizeof message - 1 : round] = '\0';
    const struct rc_report_state run = {.state = "flying", .campaign = "c.json", .store = "s.h5", .exit_code = -1, .message = message};
    if (rc_report_status(path, &run, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
}

/* Is it a whole status? */
static bool is_whole(const char *text, size_t n)
{
    return n > 100 && strncmp(text, "{\n  \"schema\": \"rollcast-status/1\"", 33) == 0 && strcmp(text + n - 4, "\"\n}\n") == 0;
}

static size_t read_all(int file, char *text)
{
    size_t n = 0;
    for (ssize_t got = 1; got > 0 && n < ROOM - 1; n += (size_t)got) {
        got = read(file, text + n, ROOM - 1 - n);
        if (got < 0)
            return 0;
    }
    text[n] = '\0';
    return n;
}

static void test_report_status__file_opened_before_stays_what_it_was(void **state)
{
    (void)state;
    static char before[ROOM], after[ROOM];
    write_round(1);
    const int file = open(path, O_RDONLY);
    assert_true(file >= 0 && is_whole(before, read_all(file, before)));
    for (int round = 2; round < 20; round++) {
        write_round(round);
        assert_int_equal(lseek(file, 0, SEEK_SET), 0);
        (void)read_all(file, after);
        assert_string_equal(after, before);
    }
    assert_int_equal(close(file), 0);
}

/* Nothing ever happens to the name itself but that a whole file is moved there. */
static void test_report_status__its_name_is_only_ever_moved_to(void **state)
{
    (void)state;
    static char events[ROOM] __attribute__((aligned(__alignof__(struct inotify_event))));
    int n_moved = 0;
    write_round(0);
    const int watch = inotify_init1(IN_NONBLOCK);
    assert_true(watch >= 0 && inotify_add_watch(watch, folder, IN_ALL_EVENTS) >= 0);
    for (int round = 1; round <= 20; round++) {
        write_round(round);
        const ssize_t n = read(watch, events, sizeof events);
        assert_true(n > 0);
        for (ssize_t at = 0; at < n;) {
            const struct inotify_event *event = (const struct inotify_event *)(const void *)(events + at);
            at += (ssize_t)(sizeof *event + event->len);
            if (event->len == 0 || strcmp(event->name, "s.json") != 0)
                continue;
            const uint32_t looked_at = IN_ACCESS | IN_OPEN | IN_CLOSE_NOWRITE; /* to see that it is a status file */
            if (event->mask & ~(looked_at | IN_MOVED_TO))
                fail_msg("round %d: event %x on the status file", round, event->mask);
            n_moved += (event->mask & IN_MOVED_TO) != 0;
        }
    }
    assert_int_equal(n_moved, 20);
    assert_int_equal(close(watch), 0);
}

static atomic_int is_over;

/* Read again and again. ends how often, negative where it was not whole or not there */
static void *poll_it(void *user)
{
    static char text[ROOM];
    intptr_t *n_read = user;
    while (!atomic_load(&is_over)) {
        const int file = open(path, O_RDONLY);
        const bool is_good = file >= 0 && is_whole(text, read_all(file, text));
        if (file >= 0)
            (void)close(file);
        if (!is_good) {
            *n_read = -1;
            return NULL;
        }
        ++*n_read;
    }
    return NULL;
}

static void test_report_status__reader_that_polls_finds_a_whole_one(void **state)
{
    (void)state;
    intptr_t n_read = 0;
    pthread_t reader;
    write_round(0);
    assert_int_equal(pthread_create(&reader, NULL, poll_it, &n_read), 0);
    for (int round = 0; round < ROUNDS; round++)
        write_round(round);
    atomic_store(&is_over, 1);
    assert_int_equal(pthread_join(reader, NULL), 0);
    assert_true(n_read > 0);
    print_message("read %ld times in %d changes\n", (long)n_read, ROUNDS);
}

static void test_report_status__nothing_else_is_left(void **state)
{
    (void)state;
    int n = 0;
    write_round(0);
    DIR *listed = opendir(folder);
    assert_non_null(listed);
    for (const struct dirent *entry = readdir(listed); entry; entry = readdir(listed))
        n += entry->d_name[0] != '.';
    assert_int_equal(closedir(listed), 0);
    assert_int_equal(n, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_report_status__file_opened_before_stays_what_it_was),
        cmocka_unit_test(test_report_status__its_name_is_only_ever_moved_to),
        cmocka_unit_test(test_report_status__reader_that_polls_finds_a_whole_one),
        cmocka_unit_test(test_report_status__nothing_else_is_left),
    };
    return cmocka_run_group_tests(tests, set_up, NULL);
}
