/* The "C" locale for this thread while numbers are read or written: they have points then, whatever the program's locale. */
#ifndef RC_LOCALE_C_H
#define RC_LOCALE_C_H

#include <locale.h>
#include <stdbool.h>

/* The locale that is in force, and the one before. */
struct rc_locale {
    locale_t own, before;
};

/* Take the "C" locale. ends false without memory: nothing has changed then */
bool rc_locale_enter(struct rc_locale *numbers);

/* Give the one before back. */
void rc_locale_leave(const struct rc_locale *numbers);

#endif
