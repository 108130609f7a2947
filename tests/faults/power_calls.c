/* What was done to a folder's files, and what of it a power cut may leave. The device is taken to promise no more than POSIX says. */
#define _GNU_SOURCE
#include "power_calls.h"

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <time.h>
#include <unistd.h>

enum { MAX_FILES = 64, MAX_OPEN = 256, NAME = 64, SECTOR = 512, THE_FOLDER = MAX_FILES, NOT_OURS = -1 };

enum kind { MADE, WRITTEN, RESIZED, FLUSHED, RENAMED, REMOVED, FOLDER_FLUSHED, PROMISED };

/* One call. A file keeps its number whatever its name is. */
struct call {
    enum kind kind;
    int file;
    int64_t at, n;              /* place and number of bytes written; new size; flights */
    char *bytes;
    char name[NAME], to[NAME];
};

static struct {
    int is_on;
    char folder[512];
    struct call *call;
    long n, room, n_flushes, n_clock;
    int n_files, file_of[MAX_OPEN];       /* of an open descriptor, NOT_OURS, or THE_FOLDER */
    char name[MAX_FILES][NAME];           /* now; empty = none                              */
} log_;

static void *real(const char *name)
{
    return dlsym(RTLD_NEXT, name);
}

static void *need(void *memory)
{
    if (!memory)
        abort();
    return memory;
}

static struct call *note(enum kind kind, int file)
{
    if (log_.n == log_.room) {
        log_.room = log_.room ? 2 * log_.room : 1024;
        log_.call = need(realloc(log_.call, (size_t)log_.room * sizeof *log_.call));
    }
    struct call *call = &log_.call[log_.n++];
    *call = (struct call){.kind = kind, .file = file};
    return call;
}

void power_record(const char *folder)
{
    power_forget();
    (void)snprintf(log_.folder, sizeof log_.folder, "%s", folder);
    for (int file = 0; file < MAX_OPEN; file++)
        log_.file_of[file] = NOT_OURS;
    log_.is_on = 1;
}

void power_promise(int64_t flights)
{
    if (log_.is_on)
        note(PROMISED, NOT_OURS)->n = flights;
}

long power_flushes(void)
{
    return log_.n_flushes;
}

long power_stop(void)
{
    long n = 0;
    log_.is_on = 0;
    for (long at = 0; at < log_.n; at++)
        n += log_.call[at].kind != PROMISED;
    return n;
}

void power_forget(void)
{
    for (long at = 0; at < log_.n; at++)
        free(log_.call[at].bytes);
    free(log_.call);
    memset(&log_, 0, sizeof log_);
}

/* The name within the folder; NULL = elsewhere. */
static const char *name_of(const char *path)
{
    const size_t n = strlen(log_.folder);
    return log_.is_on && strncmp(path, log_.folder, n) == 0 && path[n] == '/' ? path + n + 1 : NULL;
}

static int file_named(const char *name)
{
    for (int file = 0; file < log_.n_files; file++)
        if (strcmp(log_.name[file], name) == 0)
            return file;
    return NOT_OURS;
}

static int ours(int descriptor)
{
    return log_.is_on && descriptor >= 0 && descriptor < MAX_OPEN ? log_.file_of[descriptor] : NOT_OURS;
}

/* ---- the calls ---- */

static int open_as(const char *function, const char *path, int flags, mode_t mode)
{
    int (*call)(const char *, int, ...) = (int (*)(const char *, int, ...))real(function);
    const int descriptor = call(path, flags, mode);
    const char *name = name_of(path);
    if (descriptor < 0 || descriptor >= MAX_OPEN)
        return descriptor;
    log_.file_of[descriptor] = log_.is_on && strcmp(path, log_.folder) == 0 ? THE_FOLDER : NOT_OURS;
    if (!name)
        return descriptor;
    int file = file_named(name);
    if (file == NOT_OURS && (flags & O_CREAT)) {
        if (log_.n_files == MAX_FILES)
            abort();
        file = log_.n_files++;
        (void)snprintf(log_.name[file], NAME, "%s", name);
        (void)snprintf(note(MADE, file)->name, NAME, "%s", name);
    }
    log_.file_of[descriptor] = file;
    return descriptor;
}

#include "open_calls.h"

int close(int descriptor)
{
    int (*call)(int) = (int (*)(int))real("close");
    if (descriptor >= 0 && descriptor < MAX_OPEN)
        log_.file_of[descriptor] = NOT_OURS;
    return call(descriptor);
}

static ssize_t put_at(const char *function, int descriptor, const void *bytes, size_t n, off_t offset)
{
    ssize_t (*call)(int, const void *, size_t, off_t) = (ssize_t (*)(int, const void *, size_t, off_t))real(function);
    const ssize_t put = call(descriptor, bytes, n, offset);
    if (put <= 0 || ours(descriptor) == NOT_OURS)
        return put;
    struct call *noted = note(WRITTEN, ours(descriptor));
    noted->at = offset;
    noted->n = put;
    noted->bytes = need(malloc((size_t)put));
    memcpy(noted->bytes, bytes, (size_t)put);
    return put;
}

ssize_t pwrite(int descriptor, const void *bytes, size_t n, off_t offset)
{
    return put_at("pwrite", descriptor, bytes, n, offset);
}

ssize_t pwrite64(int descriptor, const void *bytes, size_t n, off64_t offset)
{
    return put_at("pwrite64", descriptor, bytes, n, offset);
}

static int resize(const char *function, int descriptor, off_t size)
{
    int (*call)(int, off_t) = (int (*)(int, off_t))real(function);
    const int code = call(descriptor, size);
    if (code == 0 && ours(descriptor) != NOT_OURS)
        note(RESIZED, ours(descriptor))->n = size;
    return code;
}

int ftruncate(int descriptor, off_t size)
{
    return resize("ftruncate", descriptor, size);
}

int ftruncate64(int descriptor, off64_t size)
{
    return resize("ftruncate64", descriptor, size);
}

/* Nothing is really flushed: it takes its time, and no plug is really pulled. */
static int flush(int descriptor)
{
    const int file = ours(descriptor);
    log_.n_flushes += file != NOT_OURS;
    if (file != NOT_OURS)
        (void)note(file == THE_FOLDER ? FOLDER_FLUSHED : FLUSHED, file);
    return 0;
}

int fsync(int descriptor)
{
    return flush(descriptor);
}

int fdatasync(int descriptor)
{
    return flush(descriptor);
}

int rename(const char *from, const char *to)
{
    int (*call)(const char *, const char *) = (int (*)(const char *, const char *))real("rename");
    const int code = call(from, to);
    const char *name = name_of(from);
    const char *new_name = name_of(to);
    if (code != 0 || !name || !new_name)
        return code;
    const int file = file_named(name);
    const int replaced = file_named(new_name);
    struct call *noted = note(RENAMED, file);
    (void)snprintf(noted->name, NAME, "%s", name);
    (void)snprintf(noted->to, NAME, "%s", new_name);
    if (replaced != NOT_OURS)
        log_.name[replaced][0] = '\0';
    (void)snprintf(log_.name[file], NAME, "%s", new_name);
    return code;
}

int unlink(const char *path)
{
    int (*call)(const char *) = (int (*)(const char *))real("unlink");
    const int code = call(path);
    const int saved = errno;
    const char *name = name_of(path);
    if (code == 0 && name && file_named(name) != NOT_OURS) {
        const int file = file_named(name);
        (void)snprintf(note(REMOVED, file)->name, NAME, "%s", name);
        log_.name[file][0] = '\0';
    }
    errno = saved;
    return code;
}

int clock_gettime(clockid_t clock, struct timespec *now)
{
    int (*call)(clockid_t, struct timespec *) = (int (*)(clockid_t, struct timespec *))real("clock_gettime");
    if (clock != CLOCK_MONOTONIC)
        return call(clock, now);
    now->tv_sec = 1 + ++log_.n_clock / 2;
    now->tv_nsec = 0;
    return 0;
}

/* ---- what is left ---- */

/* A file on the device: what was flushed, and the calls since. */
struct kept {
    char *bytes;
    int64_t n;
    long first_open;    /* first call that is not flushed */
};

struct device {
    struct kept file[MAX_FILES];
    char name[MAX_FILES][NAME];     /* flushed; of each file at most one */
    long first_open;                /* first change of names that is not flushed */
    int64_t promised;
    unsigned choice;
    uint64_t chance;
};

static uint64_t roll(struct device *device, uint64_t n)
{
    device->chance = device->chance * 6364136223846793005ULL + 1442695040888963407ULL;
    return n > 0 ? (device->chance >> 33U) % n : 0;
}

/* How many of n changes that were not flushed are there. */
static long how_many(struct device *device, long n)
{
    if (device->choice == 0)
        return 0;
    return device->choice <= 3 ? n : (long)roll(device, (uint64_t)n + 1);
}

static void grow(struct kept *kept, int64_t n)
{
    if (n <= kept->n)
        return;
    kept->bytes = need(realloc(kept->bytes, (size_t)n));
    memset(kept->bytes + kept->n, 0, (size_t)(n - kept->n));
    kept->n = n;
}

/* One call on a file, done for certain. */
static void apply(struct kept *kept, const struct call *call)
{
    if (call->kind == WRITTEN) {
        grow(kept, call->at + call->n);
        memcpy(kept->bytes + call->at, call->bytes, (size_t)call->n);
    }
    if (call->kind == RESIZED && call->n > kept->n)
        grow(kept, call->n);
    if (call->kind == RESIZED && call->n < kept->n)
        kept->n = call->n;
}

/* A change of names, if it is there. */
static void change_name(struct device *device, const struct call *call)
{
    const char *name = call->kind == RENAMED ? call->to : call->name;
    for (int file = 0; file < MAX_FILES; file++) /* whoever had the name loses it */
        if (strcmp(device->name[file], name) == 0)
            device->name[file][0] = '\0';
    if (call->kind != REMOVED)
        (void)snprintf(device->name[call->file], NAME, "%s", name);
}

static int changes_names(const struct call *call)
{
    return call->kind == MADE || call->kind == RENAMED || call->kind == REMOVED;
}

/* Names changed since the folder was flushed: the first so many, or each by chance. */
static void leave_names(struct device *device, long end)
{
    long n = 0;
    for (long at = device->first_open; at < end; at++)
        n += changes_names(&log_.call[at]);
    const int is_any = device->choice > 3 && device->choice % 2;
    long left = how_many(device, n);
    for (long at = device->first_open; at < end; at++) {
        if (!changes_names(&log_.call[at]))
            continue;
        if (is_any ? roll(device, 2) : left-- > 0)
            change_name(device, &log_.call[at]);
    }
}

/* The part of a write that falls into a sector. */
static void write_sector(char *sector, int64_t begin, const struct call *call)
{
    const int64_t first = call->at > begin ? call->at : begin;
    const int64_t last = call->at + call->n < begin + SECTOR ? call->at + call->n : begin + SECTOR;
    if (call->kind == WRITTEN && last > first)
        memcpy(sector + (first - begin), call->bytes + (first - call->at), (size_t)(last - first));
}

static int meets(const struct call *call, int file, int64_t begin)
{
    return call->kind == WRITTEN && call->file == file && call->at < begin + SECTOR && call->at + call->n > begin;
}

/* Each sector as it was after any number of the writes to it since the file was flushed. */
static void leave_sector(struct device *device, int file, long end, char *sector, int64_t begin)
{
    long n = 0;
    for (long at = device->file[file].first_open; at < end; at++)
        n += meets(&log_.call[at], file, begin);
    long left = device->choice == 2 || device->choice == 3 ? 0 : how_many(device, n);
    for (long at = device->file[file].first_open; at < end && left > 0; at++) {
        if (!meets(&log_.call[at], file, begin))
            continue;
        write_sector(sector, begin, &log_.call[at]);
        left--;
    }
}

/* What is left of a file: a size it has had, sector by sector. */
static void leave_file(struct device *device, int file, long end, const char *path)
{
    const struct kept *kept = &device->file[file];
    long n_sizes = 0;
    int64_t most = kept->n;
    int64_t size = kept->n;
    int64_t chosen = kept->n;
    for (long at = kept->first_open; at < end; at++)
        n_sizes += log_.call[at].file == file && (log_.call[at].kind == WRITTEN || log_.call[at].kind == RESIZED);
    long left = how_many(device, n_sizes);
    for (long at = kept->first_open; at < end; at++) {
        const struct call *call = &log_.call[at];
        if (call->file != file || (call->kind != WRITTEN && call->kind != RESIZED))
            continue;
        size = call->kind == RESIZED ? call->n : call->at + call->n > size ? call->at + call->n : size;
        most = size > most ? size : most;
        chosen = left-- > 0 ? size : chosen;
    }
    char *bytes = need(calloc((size_t)(most / SECTOR + 1), SECTOR));
    const int is_rubbish = device->choice == 3 || (device->choice > 3 && roll(device, 2));
    for (int64_t at = 0; is_rubbish && at < most; at++)
        bytes[at] = (char)roll(device, 256);
    if (kept->n > 0)
        memcpy(bytes, kept->bytes, (size_t)kept->n);
    for (int64_t begin = 0; begin < most; begin += SECTOR)
        leave_sector(device, file, end, bytes + begin, begin);
    FILE *made = need(fopen(path, "wb"));
    if (fwrite(bytes, 1, (size_t)chosen, made) != (size_t)chosen || fclose(made) != 0)
        abort();
    free(bytes);
}

/* The place in the log of the at-th call, promises apart. */
static long place_of(long at)
{
    long place = 0;
    for (; place < log_.n && (at > 0 || log_.call[place].kind == PROMISED); place++)
        at -= log_.call[place].kind != PROMISED;
    return place;
}

int power_is_turn(long at)
{
    long place = place_of(at) - 1;
    while (place >= 0 && log_.call[place].kind == PROMISED)
        place--;
    return place < 0 || (log_.call[place].kind != WRITTEN && log_.call[place].kind != RESIZED);
}

static void flush_file(struct device *device, int file, long at)
{
    for (long before = device->file[file].first_open; before < at; before++)
        if (log_.call[before].file == file)
            apply(&device->file[file], &log_.call[before]);
    device->file[file].first_open = at;
}

static void flush_names(struct device *device, long at)
{
    for (; device->first_open < at; device->first_open++)
        if (changes_names(&log_.call[device->first_open]))
            change_name(device, &log_.call[device->first_open]);
}

int64_t power_cut(const char *folder, long at, unsigned choice)
{
    static struct device device; /* large */
    const long end = place_of(at);
    device = (struct device){.promised = -1, .choice = choice, .chance = (uint64_t)at * 1000 + choice};
    for (long place = 0; place < end; place++) {
        const struct call *call = &log_.call[place];
        if (call->kind == FLUSHED)
            flush_file(&device, call->file, place);
        if (call->kind == FOLDER_FLUSHED)
            flush_names(&device, place);
        if (call->kind == PROMISED)
            device.promised = call->n;
    }
    leave_names(&device, end);
    for (int file = 0; file < log_.n_files; file++) {
        char path[700];
        (void)snprintf(path, sizeof path, "%s/%s", folder, device.name[file]);
        if (device.name[file][0] != '\0')
            leave_file(&device, file, end, path);
        free(device.file[file].bytes);
    }
    return device.promised;
}
