/* Numbers with points, whatever the program's locale. */
#include "locale_c.h"

bool rc_locale_enter(struct rc_locale *numbers)
{
    numbers->own = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    if (numbers->own == (locale_t)0)
        return false;
    numbers->before = uselocale(numbers->own);
    return true;
}

void rc_locale_leave(const struct rc_locale *numbers)
{
    (void)uselocale(numbers->before);
    freelocale(numbers->own);
}
