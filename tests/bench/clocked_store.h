/* Processor time that runs spend in their stores. */
#ifndef RC_CLOCKED_STORE_H
#define RC_CLOCKED_STORE_H

/* Processor time of this thread in making, appending to and closing stores since the last call [s]. */
double clocked_store_seconds(void);

#endif
