/* The motor: thrust and impulse from the campaign's table, exact between its rows. */
#ifndef RC_MOTOR_H
#define RC_MOTOR_H

#include "design.h"
#include "numeric/table.h"

enum { RC_MOTOR_COEFFICIENTS = 3 };

/* Thrust table ready for look-up. In a cell that starts at table time s0: thrust = c[1] + 2 c[2] (s - s0), impulse = c[0] +
 * c[1] (s - s0) + c[2] (s - s0)^2. */
struct rc_motor_table {
    struct rc_grid grid;     /* table time [s]                                       */
    double *c;               /* (n_knots x RC_MOTOR_COEFFICIENTS)                    */
    double total_impulse;    /* [N s]                                                */
    double end;              /* table time of the last row [s]                       */
};

/* Make the table.
 * out  table   zero-initialised by the caller; release with rc_motor_table_free
 * in   points  rows as the campaign gives them; thrust is zero before the first and after the last
 * ends RC_BAD_INPUT (no impulse, times not rising), RC_NO_MEMORY */
rc_status rc_motor_table_create(struct rc_motor_table *table, const struct rc_thrust_points *points,
                                struct rc_error *err) RC_MUST_CHECK;

/* Release. */
void rc_motor_table_free(struct rc_motor_table *table);

/* Thrust and delivered impulse at a table time. in table_time [s]; out thrust [N], impulse [N s] */
void rc_motor_at(const struct rc_motor_table *table, double table_time, double *thrust, double *impulse);

/* Table time at which thrust along the rail first exceeds weight along it.
 * in   design  motor, masses and rail of the flight
 * ends the time [s], or a negative number if that never happens */
double rc_motor_liftoff(const struct rc_motor_table *table, const struct rc_design *design);

#endif
