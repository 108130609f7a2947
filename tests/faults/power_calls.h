/* Pulling the plug: this program's own open, pwrite, ftruncate, fsync, rename, unlink and close stand before the C library's and
 * note what is done to the files of one folder. Afterwards any state can be built that the device may be left in by a power cut
 * between two calls: what was flushed (fsync, fdatasync) is there; of the rest any sector of 512 bytes may be there or not, in any
 * order, room that a file grew by may hold zeros or rubbish, and names made, changed or removed since the folder was flushed may
 * be so or as before. Every second call of the clock CLOCK_MONOTONIC is a second later. */
#ifndef RC_POWER_CALLS_H
#define RC_POWER_CALLS_H

#include <stdint.h>

/* Note calls on the files of this folder, which is empty, from now on. */
void power_record(const char *folder);

/* Promise: from here on so many flights have to survive. */
void power_promise(int64_t flights);

/* How often a file was flushed so far. */
long power_flushes(void);

/* Stop noting. ends how many calls were noted, promises not among them */
long power_stop(void);

/* Build in an empty folder what may be left when the power fails before call `at` (0 ..).
 * in   choice  which of the possible states: 0 nothing that was not flushed, 1 everything, 2 names and sizes with zeros,
 *              3 with rubbish in place of what was written, from 4 on by chance
 * ends flights promised by then, -1 = none, and not even a store */
int64_t power_cut(const char *folder, long at, unsigned choice);

/* Is the call before `at` one that changes a name or flushes? */
int power_is_turn(long at);

/* Forget what was noted. */
void power_forget(void);

#endif
