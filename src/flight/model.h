/* The constant model of a campaign: tables over height, Mach and burn time, the platform's clock, the schedule of steps. */
#ifndef RC_MODEL_H
#define RC_MODEL_H

#include <stdbool.h>

#include "aero.h"
#include "design.h"
#include "flight.h"
#include "motor.h"
#include "numeric/table.h"
#include "platform/platform.h"

/* A cell of the table over Mach, before any flight's factors and deflections: the coefficients at its lower knot, and their
 * slopes over Mach. */
struct rc_aero_cell {
    struct rc_aero_point value, slope;
};

struct rc_model {
    struct rc_design base;
    const struct rc_layout *layout;
    struct rc_motor_table motor;
    struct rc_grid height;          /* knots above the pad [m]                                        */
    double *air;                    /* (height.n_knots x RC_N_AIR_COEFFICIENTS), unit wind from north */
    struct rc_grid mach;
    struct rc_aero_cell *aero;      /* (mach.n_knots)                                                 */
    struct rc_platform_clock clock;
    int finer;                      /* ticks in place of one that the rates ask for; above 1 where motion fades within it */
    const struct rc_drive_kind *drive;
    int band_ticks;                 /* ticks between band times                                       */
    int gust_ticks;                 /* ticks between gust times; 0 = no gusts                         */
    double gust_interval;           /* time between them [s]                                          */
    double slot;                    /* width of a schedule slot [s]                                   */
    int n_slots;
    int *slot_ticks;                /* (n_slots) ticks of a step that starts in this slot             */
};

/* Fill cells of a design's air table, its wind of unit strength from north.
 * in   first, n  cells first .. first + n - 1
 * out  air  (height.n_knots x RC_N_AIR_COEFFICIENTS), those cells of it
 * cost about 0.1 us a cell and more where the wind bends otherwise than the base design's */
void rc_model_fill_air(const struct rc_model *model, const struct rc_design *design, int first, int n, double *air);

/* Fill cells of a vehicle's aerodynamic table.
 * in   first, n  cells first .. first + n - 1
 * out  aero  (mach.n_knots), those cells of it */
void rc_model_fill_aero(const struct rc_model *model, const struct rc_vehicle_design *vehicle, int first, int n,
                        struct rc_aero_cell *aero);

/* Do two designs share a table? */
bool rc_model_same_air(const struct rc_design *a, const struct rc_design *b);
bool rc_model_same_aero(const struct rc_design *a, const struct rc_design *b);

/* Ticks of the next step at a time, so that it also ends on the next band time if that comes first.
 * in   time [s], tick = number of ticks since lift-off */
int rc_model_step_ticks(const struct rc_model *model, double time, int64_t tick);

/* Halve the clock's ticks; the schedule is then to be made anew. */
void rc_model_halve_ticks(struct rc_model *model);

/* Make the schedule from pilot flights (schedule.c).
 * in   designs  (n) the base and designs that span what is uncertain
 * ends RC_NO_MEMORY */
rc_status rc_schedule_make(struct rc_model *model, const struct rc_design *const *designs, int n,
                           struct rc_error *err) RC_MUST_CHECK;

#endif
