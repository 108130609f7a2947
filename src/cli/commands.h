/* The commands of the program: each one file cmd_<name>.c, each one row of the table in main.c. */
#ifndef RC_COMMANDS_H
#define RC_COMMANDS_H

/* Say what a campaign means.
 * in   argc, argv  the words after the program's name; argv[0] is the command, here and below
 * ends the exit code, here and below */
int rc_cmd_check(int argc, char **argv);

/* Fly a campaign into a store, new or resumed. */
int rc_cmd_fly(int argc, char **argv);

/* Put the shards of a run into one store. */
int rc_cmd_merge(int argc, char **argv);

/* Answer from a store. */
int rc_cmd_odds(int argc, char **argv);

/* Rank the uncertain quantities of a store. */
int rc_cmd_rank(int argc, char **argv);

/* Write stores as a page. */
int rc_cmd_report(int argc, char **argv);

/* Compare designs on the same flights. */
int rc_cmd_trade(int argc, char **argv);

/* Fly one stored flight again and write its history. */
int rc_cmd_replay(int argc, char **argv);

/* Say sizes of demonstrations; takes no file. */
int rc_cmd_size(int argc, char **argv);

#endif
