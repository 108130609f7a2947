/* Answers in memory streams. */
#include "gathered.h"

#include <stdlib.h>

#include "say.h"

int rc_gathered_open(struct rc_gathered *answer)
{
    answer->out = open_memstream(&answer->bytes, &answer->n_bytes);
    return answer->out != NULL;
}

int rc_gathered_close(struct rc_gathered *answer, rc_status status, const struct rc_error *err, const char *path)
{
    const int is_whole = answer->out != NULL && fclose(answer->out) == 0;
    const int was_open = answer->out != NULL;
    answer->out = NULL;
    if (was_open && status != RC_OK) {
        return rc_say_error(err, path);
    }
    if (!is_whole) {
        rc_say_line("%s%s%s", path != NULL ? path : "", path != NULL ? ": " : "", rc_status_text(RC_NO_MEMORY));
        return rc_status_exit_code(RC_NO_MEMORY);
    }
    return 0;
}

void rc_gathered_print(const struct rc_gathered *answer, int is_data)
{
    if (is_data) {
        fwrite(answer->bytes, 1, answer->n_bytes, stdout);
    } else {
        rc_say_text(answer->bytes, answer->n_bytes);
    }
}

void rc_gathered_free(struct rc_gathered *answer)
{
    if (answer->out != NULL) {
        (void)fclose(answer->out);
        answer->out = NULL;
    }
    free(answer->bytes);
    answer->bytes = NULL;
}
