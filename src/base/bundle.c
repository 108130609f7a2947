/* Copies of named files that belong together. Where they come from and what they mean is left to the caller. */
#include <stdlib.h>
#include <string.h>

#include "base.h"

static char *copy_of(const char *bytes, size_t n_bytes)
{
    char *copy = malloc(n_bytes + 1);
    if (!copy)
        return NULL;
    if (n_bytes > 0)
        memcpy(copy, bytes, n_bytes);
    copy[n_bytes] = '\0';
    return copy;
}

rc_status rc_bundle_add(struct rc_bundle *bundle, const char *name, const char *bytes, size_t n_bytes, struct rc_error *err)
{
    if (rc_bundle_find(bundle, name))
        return RC_OK;
    if (bundle->n_files >= RC_MAX_BUNDLE_FILES)
        return rc_error_fill(err, RC_BAD_INPUT, name, "is one file too many: a campaign and its tables may be at most %d files",
                             RC_MAX_BUNDLE_FILES);
    char *name_copy = copy_of(name, strlen(name));
    char *bytes_copy = copy_of(bytes, n_bytes);
    if (!name_copy || !bytes_copy) {
        free(name_copy);
        free(bytes_copy);
        return rc_error_fill(err, RC_NO_MEMORY, name, "no memory to keep a copy of %zu bytes", n_bytes);
    }
    bundle->file[bundle->n_files++] = (struct rc_bundle_file){.name = name_copy, .bytes = bytes_copy, .n_bytes = n_bytes};
    return RC_OK;
}

const struct rc_bundle_file *rc_bundle_find(const struct rc_bundle *bundle, const char *name)
{
    for (int index = 0; index < bundle->n_files; index++) {
        if (strcmp(bundle->file[index].name, name) == 0)
            return &bundle->file[index];
    }
    return NULL;
}

/* Lengths go in byte by byte, lowest first, so that the fingerprint is the same on every machine and no two
 * sequences of files run together into the same bytes. */
static uint64_t hash_counted(uint64_t hash, const char *bytes, size_t n_bytes)
{
    unsigned char length[8];
    for (int byte = 0; byte < 8; byte++)
        length[byte] = (unsigned char)((uint64_t)n_bytes >> (8 * byte));
    return rc_hash_bytes(rc_hash_bytes(hash, length, sizeof length), bytes, n_bytes);
}

uint64_t rc_bundle_fingerprint(const struct rc_bundle *bundle)
{
    uint64_t hash = RC_FNV_START;
    for (int index = 0; index < bundle->n_files; index++) {
        const struct rc_bundle_file *file = &bundle->file[index];
        hash = hash_counted(hash, file->name, strlen(file->name));
        hash = hash_counted(hash, file->bytes, file->n_bytes);
    }
    return hash;
}

void rc_bundle_free(struct rc_bundle *bundle)
{
    if (!bundle)
        return;
    for (int index = 0; index < bundle->n_files; index++) {
        free(bundle->file[index].name);
        free(bundle->file[index].bytes);
        bundle->file[index] = (struct rc_bundle_file){0};
    }
    bundle->n_files = 0;
}
