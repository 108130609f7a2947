/* Rank 0: units out, rows in. At most two units wait for a rank, so that it never waits for us; rows that come early are kept
 * until those before them are there, and no unit is handed out that would have to be kept for long: memory is bounded. */
#include "crew.h"

#include <stdlib.h>
#include <string.h>

#include "rollcast/rollcast.h"

enum { AHEAD = 2, SLOTS_A_RANK = 4 };

/* Rows of one unit that wait for their turn. */
struct slot {
    char *bytes;
    bool is_there;
};

/* The state of the work. */
struct work {
    const struct rc_crew *crew;
    struct rc_ranks ranks;
    int *busy;                       /* (count) units that a rank has                */
    struct slot *slot;               /* (n_slots) by unit number modulo n_slots      */
    int n_slots;
    size_t n_result;                 /* bytes of a whole result                      */
    int64_t n_units, next_out, next_in, n_out;
    char *spare;                     /* where the next result goes                   */
};

size_t rc_crew_result_bytes(const struct rc_worker_plan *plan, int64_t n_unit)
{
    const size_t n = (size_t)n_unit;
    return sizeof(struct rc_crew_result) + n * (size_t)plan->columns->n * sizeof(double) +
           n * (size_t)plan->n_cells * sizeof(uint16_t) + RC_CREW_TEXT;
}

uint64_t rc_crew_version(void)
{
    return rc_hash_bytes(RC_FNV_START, rc_version(), strlen(rc_version()));
}

rc_status rc_crew_pack(struct rc_text *packed, const struct rc_bundle *bundle, struct rc_error *err)
{
    for (int index = 0; index < bundle->n_files; index++) {
        const struct rc_bundle_file *file = &bundle->file[index];
        const uint64_t size[2] = {strlen(file->name) + 1, file->n_bytes};
        rc_text_add_bytes(packed, (const char *)size, sizeof size);
        rc_text_add_bytes(packed, file->name, size[0]);
        rc_text_add_bytes(packed, file->bytes, size[1]);
    }
    return packed->failed ? rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory to send the campaign to the ranks") : RC_OK;
}

rc_status rc_crew_unpack(struct rc_bundle *bundle, const char *bytes, size_t n_bytes, struct rc_error *err)
{
    rc_status status = RC_OK;
    for (size_t at = 0; at < n_bytes && status == RC_OK;) {
        uint64_t size[2] = {0, 0};
        if (n_bytes - at < sizeof size)
            return rc_error_fill(err, RC_INTERNAL, NULL, "the campaign did not arrive whole");
        memcpy(size, bytes + at, sizeof size);
        at += sizeof size;
        if (size[0] < 1 || size[0] > n_bytes - at || size[1] > n_bytes - at - size[0] || bytes[at + size[0] - 1] != '\0')
            return rc_error_fill(err, RC_INTERNAL, NULL, "the campaign did not arrive whole");
        status = rc_bundle_add(bundle, bytes + at, bytes + at + size[0], (size_t)size[1], err);
        at += (size_t)(size[0] + size[1]);
    }
    return status;
}

static void fail(const struct work *work, rc_status status)
{
    if (work->crew->frame->status == RC_OK)
        work->crew->frame->status = status;
}

/* Tell every rank what is to be flown. */
static rc_status tell_job(const struct work *work)
{
    const struct rc_crew *crew = work->crew;
    const rc_campaign *campaign = crew->plan->campaign;
    struct rc_text packed = {0};
    struct rc_crew_job job = {.seed = crew->plan->seed, .fingerprint = rc_campaign_fingerprint(campaign),
                              .version = rc_crew_version(), .first = crew->frame->shard.first + crew->first_row,
                              .rows = crew->frame->asked - crew->first_row, .n_unit = crew->n_unit};
    rc_text_add_bytes(&packed, (const char *)&job, sizeof job);
    rc_status status = rc_crew_pack(&packed, rc_campaign_bundle(campaign), &crew->frame->err);
    if (status == RC_OK) {
        job.n_bytes = (int64_t)(packed.n_bytes - sizeof job);
        memcpy(packed.bytes, &job, sizeof job);
    }
    for (int rank = 1; rank < work->ranks.count && status == RC_OK; rank++)
        status = rc_ranks_send(rank, packed.bytes, packed.n_bytes, &crew->frame->err);
    rc_text_free(&packed);
    return status;
}

static rc_status allocate(struct work *work)
{
    struct rc_error *err = &work->crew->frame->err;
    work->busy = calloc((size_t)work->ranks.count, sizeof *work->busy);
    work->slot = calloc((size_t)work->n_slots, sizeof *work->slot);
    work->spare = malloc(work->n_result);
    if (!work->busy || !work->slot || !work->spare)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the units of the ranks");
    for (int index = 0; index < work->n_slots; index++) {
        work->slot[index].bytes = malloc(work->n_result);
        if (!work->slot[index].bytes)
            return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the units of the ranks");
    }
    return RC_OK;
}

/* Give units to ranks that have few. */
static void hand_out(struct work *work)
{
    for (int round = 0; round < AHEAD; round++)
        for (int rank = 1; rank < work->ranks.count; rank++) {
            if (work->busy[rank] > round || work->next_out >= work->n_units ||
                work->next_out >= work->next_in + work->n_slots || work->crew->is_over(work->crew->user))
                continue;
            const rc_status status = rc_ranks_send(rank, &work->next_out, sizeof work->next_out, &work->crew->frame->err);
            if (status != RC_OK)
                fail(work, status);
            work->busy[rank]++;
            work->next_out++;
            work->n_out++;
        }
}

/* The unit whose result stands in these bytes. */
static struct rc_worker_unit unit_of(const struct work *work, int64_t index, char *bytes)
{
    const struct rc_crew *crew = work->crew;
    const int64_t row = crew->first_row + index * crew->n_unit;
    const int64_t left = crew->frame->asked - row;
    struct rc_worker_unit unit = {.first = crew->frame->shard.first + row, .n = left < crew->n_unit ? (int)left : crew->n_unit};
    unit.rows = (double *)(void *)(bytes + sizeof(struct rc_crew_result));
    if (crew->plan->n_cells > 0)
        unit.bins = (uint16_t *)(void *)(unit.rows + (size_t)unit.n * (size_t)crew->plan->columns->n);
    return unit;
}

/* Hand in what is next, and what follows it. */
static void hand_in(struct work *work)
{
    const struct rc_crew *crew = work->crew;
    for (;;) {
        struct slot *slot = &work->slot[work->next_in % work->n_slots];
        struct rc_crew_result result;
        if (!slot->is_there)
            return;
        memcpy(&result, slot->bytes, sizeof result);
        const struct rc_worker_unit unit = unit_of(work, work->next_in, slot->bytes);
        slot->is_there = false;
        work->next_in++;
        if (result.status != RC_OK && result.status != RC_STOPPED && crew->frame->status == RC_OK) {
            slot->bytes[sizeof result + RC_CREW_TEXT - 1] = '\0';
            crew->frame->status =
                rc_error_fill(&crew->frame->err, (rc_status)result.status, NULL, "a rank ended: %s", slot->bytes + sizeof result);
        }
        crew->hand_in(crew->user, &unit, result.status == RC_OK && crew->frame->status == RC_OK);
    }
}

/* Take one result. */
static void take(struct work *work)
{
    int from = 0;
    size_t n_bytes = 0;
    struct rc_crew_result result;
    if (!rc_ranks_await(&from, &n_bytes, NULL) || n_bytes > work->n_result || n_bytes < sizeof result) {
        fail(work, rc_error_fill(&work->crew->frame->err, RC_INTERNAL, NULL, "a message of %zu bytes from rank %d", n_bytes,
                                 from));
        return;
    }
    rc_ranks_take(from, work->spare, n_bytes);
    memcpy(&result, work->spare, sizeof result);
    struct slot *slot = &work->slot[(uint64_t)result.unit % (uint64_t)work->n_slots];
    char *free_one = slot->bytes;
    slot->bytes = work->spare;
    slot->is_there = true;
    work->spare = free_one;
    work->busy[from]--;
    work->n_out--;
}

static void fly(struct work *work)
{
    const struct rc_crew *crew = work->crew;
    const int64_t none = RC_CREW_NO_UNIT;
    hand_out(work);
    while (work->n_out > 0 && crew->frame->status != RC_INTERNAL) {
        take(work);
        hand_in(work);
        hand_out(work);
    }
    for (int rank = 1; rank < work->ranks.count; rank++)
        if (rc_ranks_send(rank, &none, sizeof none, &crew->frame->err) != RC_OK)
            fail(work, RC_INTERNAL);
}

void rc_crew_fly(const struct rc_crew *crew)
{
    struct work work = {.crew = crew, .ranks = {.count = crew->frame->options->n_ranks}};
    work.n_slots = SLOTS_A_RANK * work.ranks.count;
    work.n_result = rc_crew_result_bytes(crew->plan, crew->n_unit);
    work.n_units = (crew->frame->asked - crew->first_row + crew->n_unit - 1) / crew->n_unit;
    rc_status status = allocate(&work);
    if (status == RC_OK)
        status = tell_job(&work);
    if (status == RC_OK)
        fly(&work);
    else
        fail(&work, status);
    for (int index = 0; work.slot && index < work.n_slots; index++)
        free(work.slot[index].bytes);
    free(work.slot);
    free(work.busy);
    free(work.spare);
}
