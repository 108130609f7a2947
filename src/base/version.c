/* The version that the build names. */
#include "rollcast/rollcast.h"

const char *rc_version(void)
{
    return RC_VERSION_TEXT;
}
