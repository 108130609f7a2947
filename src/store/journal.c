/* The journal file: head, records, checksums, and what survives a torn end. What the columns mean is the caller's. */
#include "journal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/base.h"
#include "disk.h"
#include "seal.h"

#define JOURNAL_MAGIC "RCJOURN"
enum { JOURNAL_VERSION = 2, JOURNAL_ORDER = 0x01020304, RECORD_MAGIC = 0x57524352 };

/* On disk: little-endian, no padding (checked below). */
struct disk_head {
    char magic[8];
    uint32_t order, version;
    uint64_t fingerprint, seed, columns;
    uint32_t n_columns, n_signals, n_times, reserved;
    int64_t first, n_asked;
    uint64_t checksum;      /* of all before */
};
struct disk_record {
    uint32_t magic, n;
    int64_t first;
    uint64_t n_bytes;       /* of rows and bins                   */
    uint64_t checksum;      /* of the three above                 */
};
_Static_assert(sizeof(struct disk_head) == 80, "the journal's head has no padding");
_Static_assert(sizeof(struct disk_record) == 32, "a record's head has no padding");

static size_t row_bytes(const struct rc_journal_shape *shape, uint64_t n)
{
    return (size_t)n * shape->n_columns * sizeof(double);
}

/* Bins of so many times. */
static size_t bin_bytes(const struct rc_journal_shape *shape, uint64_t n, uint32_t n_times)
{
    return (size_t)n * shape->n_signals * n_times * sizeof(uint16_t);
}

/* Times up to the last sample of any row. Bands reach to the time limit, flights end long before it: what follows is not kept.
 * in bins  (n_series x n_all) */
static uint32_t times_used(const uint16_t *bins, size_t n_series, uint32_t n_all)
{
    enum { STEP = 4 }; /* bins of a word */
    uint32_t used = 0;
    for (size_t series = 0; series < n_series; series++) {
        const uint16_t *of_series = bins + series * n_all;
        uint32_t end = n_all;
        uint64_t word = UINT64_MAX;
        while (end >= used + STEP && word == UINT64_MAX) {
            memcpy(&word, of_series + end - STEP, sizeof word);
            end -= word == UINT64_MAX ? STEP : 0;
        }
        while (end > used && of_series[end - 1] == UINT16_MAX)
            end--;
        used = end > used ? end : used;
    }
    return used;
}

/* Of the bytes of a record, how many times its bins have. ends false if that is no whole number, or too many */
static bool times_kept(uint32_t *n_times, const struct rc_journal_shape *shape, uint64_t n, uint64_t n_bytes)
{
    const uint64_t rest = n_bytes - row_bytes(shape, n);
    const uint64_t one = bin_bytes(shape, n, 1);
    *n_times = one > 0 ? (uint32_t)(rest / one) : 0;
    return n_bytes >= row_bytes(shape, n) && rest == *n_times * one && *n_times <= shape->n_times;
}

static struct disk_head head_on_disk(const struct rc_journal_head *head)
{
    struct disk_head disk = {.magic = JOURNAL_MAGIC, .order = JOURNAL_ORDER, .version = JOURNAL_VERSION};
    disk.fingerprint = head->shape.fingerprint;
    disk.seed = head->shape.seed;
    disk.columns = head->shape.columns;
    disk.n_columns = head->shape.n_columns;
    disk.n_signals = head->shape.n_signals;
    disk.n_times = head->shape.n_times;
    disk.first = head->first;
    disk.n_asked = head->n_asked;
    disk.checksum = rc_seal_checksum(RC_FNV_START, &disk, offsetof(struct disk_head, checksum));
    return disk;
}

static rc_status path_copy(struct rc_journal *journal, const char *path, struct rc_error *err)
{
    const size_t n = strlen(path) + 1;
    journal->path = malloc(n);
    if (!journal->path)
        return rc_error_fill(err, RC_NO_MEMORY, path, "no memory for the journal");
    memcpy(journal->path, path, n);
    return RC_OK;
}

rc_status rc_journal_create(struct rc_journal *journal, const char *path, const struct rc_journal_head *head,
                            struct rc_error *err)
{
    *journal = RC_JOURNAL_CLOSED;
    rc_status status = path_copy(journal, path, err);
    if (status != RC_OK)
        return status;
    if (unlink(path) != 0 && errno != ENOENT) {
        status = rc_disk_fail(err, path, "the journal before cannot be removed", errno);
        goto done;
    }
    journal->file = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (journal->file < 0) {
        status = rc_disk_fail(err, path, "the journal cannot be made", errno);
        goto done;
    }
    const struct disk_head disk = head_on_disk(head);
    const int code = rc_disk_write(journal->file, &disk, sizeof disk, 0);
    if (code != 0) {
        status = rc_disk_fail(err, path, "the journal cannot be begun", code);
        goto done;
    }
    journal->head = *head;
    journal->next = head->first;
    journal->length = (int64_t)sizeof disk;
done:
    if (status != RC_OK)
        rc_journal_close(journal);
    return status;
}

static rc_status note_record(struct rc_journal *journal, uint32_t n, uint32_t n_times, struct rc_error *err)
{
    if (journal->n_records == journal->capacity) {
        const size_t capacity = journal->capacity ? 2 * journal->capacity : 64;
        struct rc_journal_record *record = realloc(journal->record, capacity * sizeof *record);
        if (!record)
            return rc_error_fill(err, RC_NO_MEMORY, journal->path, "no memory for the list of records");
        journal->record = record;
        journal->capacity = capacity;
    }
    const size_t payload = row_bytes(&journal->head.shape, n) + bin_bytes(&journal->head.shape, n, n_times);
    const int64_t offset = journal->length + (int64_t)sizeof(struct disk_record);
    journal->record[journal->n_records++] = (struct rc_journal_record){
        .first = journal->next, .offset = offset, .n = n, .n_times = n_times};
    journal->next += n;
    journal->length = offset + (int64_t)(payload + sizeof(uint64_t));
    return RC_OK;
}

/* Is a whole record's head at this place? */
static bool is_record_head(const struct rc_journal *journal, const struct disk_record *record, uint32_t *n_times)
{
    return record->magic == RECORD_MAGIC &&
           record->checksum == rc_seal_checksum(RC_FNV_START, record, offsetof(struct disk_record, checksum)) &&
           record->first == journal->next && record->n > 0 && record->n <= RC_JOURNAL_MAX_ROWS &&
           times_kept(n_times, &journal->head.shape, record->n, record->n_bytes);
}

/* Note whole records one after another until the file ends or one is torn or damaged. */
static rc_status scan(struct rc_journal *journal, int64_t size, struct rc_error *err)
{
    rc_status status = RC_OK;
    char *payload = NULL;
    while (status == RC_OK) {
        struct disk_record record;
        uint32_t n_times = 0;
        int64_t got = rc_disk_read(journal->file, &record, sizeof record, journal->length);
        if (got < 0) {
            status = rc_disk_fail(err, journal->path, "the journal cannot be read", errno);
            break;
        }
        const int64_t left = size - journal->length - (int64_t)(sizeof record + sizeof(uint64_t));
        if (got < (int64_t)sizeof record || !is_record_head(journal, &record, &n_times) || left < (int64_t)record.n_bytes)
            break;
        char *larger = realloc(payload, record.n_bytes + sizeof(uint64_t));
        if (!larger) {
            status = rc_error_fill(err, RC_NO_MEMORY, journal->path, "no memory to check a record");
            break;
        }
        payload = larger;
        got = rc_disk_read(journal->file, payload, record.n_bytes + sizeof(uint64_t), journal->length + (int64_t)sizeof record);
        if (got < 0) {
            status = rc_disk_fail(err, journal->path, "the journal cannot be read", errno);
            break;
        }
        uint64_t sum = 0;
        memcpy(&sum, payload + record.n_bytes, sizeof sum);
        if (got < (int64_t)(record.n_bytes + sizeof sum) || sum != rc_seal_checksum(record.checksum, payload, record.n_bytes))
            break;
        status = note_record(journal, record.n, n_times, err);
    }
    free(payload);
    return status;
}

/* Read and judge the head. out is_whole  false: torn or damaged, there is nothing to use */
static rc_status read_head(struct rc_journal *journal, bool *is_whole, const struct rc_journal_shape *shape, struct rc_error *err)
{
    struct disk_head disk = {0};
    const int64_t got = rc_disk_read(journal->file, &disk, sizeof disk, 0);
    if (got < 0)
        return rc_disk_fail(err, journal->path, "the journal cannot be read", errno);
    *is_whole = got == (int64_t)sizeof disk && memcmp(disk.magic, JOURNAL_MAGIC, sizeof disk.magic) == 0 &&
                disk.order == JOURNAL_ORDER && disk.version == JOURNAL_VERSION &&
                disk.checksum == rc_seal_checksum(RC_FNV_START, &disk, offsetof(struct disk_head, checksum));
    if (!*is_whole)
        return RC_OK;
    if (disk.fingerprint != shape->fingerprint || disk.seed != shape->seed || disk.columns != shape->columns ||
        disk.n_columns != shape->n_columns || disk.n_signals != shape->n_signals || disk.n_times != shape->n_times)
        return rc_error_fill(
            err, RC_OTHER_STORE, journal->path,
            "is the journal of another run than the store beside it; move it away to go on from the store alone");
    journal->head = (struct rc_journal_head){.shape = *shape, .first = disk.first, .n_asked = disk.n_asked};
    journal->next = disk.first;
    journal->length = (int64_t)sizeof disk;
    return RC_OK;
}

rc_status rc_journal_open(struct rc_journal *journal, const char *path, const struct rc_journal_shape *shape, bool is_writer,
                          struct rc_error *err)
{
    *journal = RC_JOURNAL_CLOSED;
    bool is_whole = false;
    rc_status status = path_copy(journal, path, err);
    if (status != RC_OK)
        return status;
    journal->file = open(path, (is_writer ? O_RDWR : O_RDONLY) | O_CLOEXEC);
    if (journal->file < 0) {
        if (errno != ENOENT)
            status = rc_disk_fail(err, path, "the journal cannot be opened", errno);
        goto done;
    }
    struct stat facts;
    if (fstat(journal->file, &facts) != 0) {
        status = rc_disk_fail(err, path, "the journal cannot be read", errno);
        goto done;
    }
    status = read_head(journal, &is_whole, shape, err);
    if (status != RC_OK || !is_whole)
        goto done;
    status = scan(journal, (int64_t)facts.st_size, err);
    if (status == RC_OK && is_writer && ftruncate(journal->file, (off_t)journal->length) != 0)
        status = rc_disk_fail(err, path, "the torn end of the journal cannot be cut off", errno);
done:
    if (status != RC_OK || !is_whole)
        rc_journal_close(journal);
    return status;
}

/* Write pieces one after the other, without gathering them in memory first: a record is as long as a unit's rows.
 * ends 0, or the errno value of the failure */
static int write_pieces(const struct rc_journal *journal, int n, const void *const *bytes, const size_t *n_bytes)
{
    int64_t offset = journal->length;
    int code = 0;
    for (int piece = 0; piece < n && code == 0; piece++) {
        if (n_bytes[piece] > 0)
            code = rc_disk_write(journal->file, bytes[piece], n_bytes[piece], offset);
        offset += (int64_t)n_bytes[piece];
    }
    return code;
}

/* The bins without the times that nobody needs.
 * out  kept  malloc'ed, caller frees; NULL without bins */
static bool pack_bins(uint16_t **kept, const uint16_t *bins, size_t n_series, uint32_t n_all, uint32_t n_times)
{
    *kept = NULL;
    if (n_series * n_times == 0)
        return true;
    *kept = malloc(n_series * n_times * sizeof **kept);
    for (size_t series = 0; *kept && series < n_series; series++)
        memcpy(*kept + series * n_times, bins + series * n_all, n_times * sizeof **kept);
    return *kept != NULL;
}

rc_status rc_journal_append(struct rc_journal *journal, uint32_t n, const double *rows, const uint16_t *bins,
                            struct rc_error *err)
{
    const struct rc_journal_shape *shape = &journal->head.shape;
    const size_t n_series = (size_t)n * shape->n_signals;
    const uint32_t n_times = shape->n_times > 0 ? times_used(bins, n_series, shape->n_times) : 0;
    const size_t n_row_bytes = row_bytes(shape, n);
    const size_t n_bin_bytes = bin_bytes(shape, n, n_times);
    struct disk_record record = {.magic = RECORD_MAGIC, .n = n, .first = journal->next, .n_bytes = n_row_bytes + n_bin_bytes};
    uint16_t *kept = NULL;
    if (!pack_bins(&kept, bins, n_series, shape->n_times, n_times))
        return rc_error_fill(err, RC_NO_MEMORY, journal->path, "no memory to append a record");
    record.checksum = rc_seal_checksum(RC_FNV_START, &record, offsetof(struct disk_record, checksum));
    uint64_t sum = rc_seal_checksum(record.checksum, rows, n_row_bytes); /* whole words, so that the bins go on from there */
    if (n_bin_bytes > 0)
        sum = rc_seal_checksum(sum, kept, n_bin_bytes);
    const int code = write_pieces(journal, 4, (const void *const[]){&record, rows, kept, &sum},
                                  (const size_t[]){sizeof record, n_row_bytes, n_bin_bytes, sizeof sum});
    free(kept);
    rc_status status = code == 0 ? note_record(journal, n, n_times, err)
                                 : rc_disk_fail(err, journal->path, "the journal cannot be written", code);
    if (status != RC_OK && ftruncate(journal->file, (off_t)journal->length) != 0) {
        /* A torn record may stay: its checksum tells, and the next append writes over it. */
    }
    return status;
}

rc_status rc_journal_sync(struct rc_journal *journal, struct rc_error *err)
{
    if (!journal->is_named) {
        const rc_status status = rc_file_sync(journal->path, err);
        journal->is_named = status == RC_OK;
        return status;
    }
    if (fdatasync(journal->file) != 0)
        return rc_disk_fail(err, journal->path, "the journal cannot be flushed to the device", errno);
    return RC_OK;
}

/* The record that holds a flight. */
static const struct rc_journal_record *find_record(const struct rc_journal *journal, int64_t flight)
{
    size_t low = 0;
    size_t high = journal->n_records;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (journal->record[middle].first <= flight)
            low = middle;
        else
            high = middle;
    }
    return &journal->record[low];
}

static rc_status read_exactly(const struct rc_journal *journal, void *bytes, size_t n_bytes, int64_t offset, struct rc_error *err)
{
    const int64_t got = rc_disk_read(journal->file, bytes, n_bytes, offset);
    if (got < 0)
        return rc_disk_fail(err, journal->path, "the journal cannot be read", errno);
    if (got < (int64_t)n_bytes)
        return rc_error_fill(err, RC_IO, journal->path, "the journal became shorter while it was read; try again");
    return RC_OK;
}

rc_status rc_journal_rows(const struct rc_journal *journal, int64_t first, int64_t n, double *rows, struct rc_error *err)
{
    const size_t n_row_bytes = row_bytes(&journal->head.shape, 1);
    rc_status status = RC_OK;
    while (n > 0 && status == RC_OK) {
        const struct rc_journal_record *record = find_record(journal, first);
        const int64_t skip = first - record->first;
        const int64_t take = record->n - skip < n ? record->n - skip : n;
        status = read_exactly(journal, rows, (size_t)take * n_row_bytes, record->offset + skip * (int64_t)n_row_bytes, err);
        rows += take * journal->head.shape.n_columns;
        first += take;
        n -= take;
    }
    return status;
}

rc_status rc_journal_bins(const struct rc_journal *journal, const struct rc_journal_record *record, uint16_t *bins,
                          struct rc_error *err)
{
    const struct rc_journal_shape *shape = &journal->head.shape;
    const size_t n_all = shape->n_times;
    const rc_status status = read_exactly(journal, bins, bin_bytes(shape, record->n, record->n_times),
                                          record->offset + (int64_t)row_bytes(shape, record->n), err);
    for (size_t series = (size_t)record->n * shape->n_signals; status == RC_OK && series-- > 0;) { /* apart, from the last on */
        memmove(bins + series * n_all, bins + series * record->n_times, record->n_times * sizeof *bins);
        for (size_t time = record->n_times; time < n_all; time++)
            bins[series * n_all + time] = UINT16_MAX;
    }
    return status;
}

void rc_journal_close(struct rc_journal *journal)
{
    if (journal->file >= 0)
        (void)close(journal->file); /* every write was checked, and flushed where it must be */
    free(journal->path);
    free(journal->record);
    *journal = RC_JOURNAL_CLOSED;
}
