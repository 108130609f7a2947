/* Vehicles for flight tests, built in C: the demo vehicle at its medians, and ways to take parts of its physics away. Also a block
 * that is set up and free, so that a test can drive the right-hand side and the steps itself. Include after cmocka.h. */
#ifndef RC_TEST_SUPPORT_VEHICLE_H
#define RC_TEST_SUPPORT_VEHICLE_H

#include "flight/lanes.h"

enum { RC_N_FLAT_COLUMNS = RC_AERO_CL_P + 1 };

/* A design and its layout. `flat` holds tables of one row, for coefficients that do not depend on Mach number. */
struct support_vehicle {
    struct rc_design design;
    struct rc_layout layout;
    double flat_mach[1];
    double flat[RC_N_FLAT_COLUMNS][1];
};

/* The demo vehicle Lapwing with its geared drive, every uncertain number at its median, gyro without noise.
 * out  vehicle  keep it where it is: its layout points into it */
void support_vehicle_demo(struct support_vehicle *vehicle);

/* Let the drive stand awake for ever: the platform is carried along and the right-hand side has no kinks of the drive's. */
void support_vehicle_lock(struct support_vehicle *vehicle);

/* Replace all aerodynamics by constants, in the order of enum rc_aero_column; no fins are left. The body's cross-flow force stays, which
 * has a factor of its own. */
void support_vehicle_flatten(struct support_vehicle *vehicle, const double coefficient[RC_N_FLAT_COLUMNS]);

/* The model of a vehicle, with further designs that span what is uncertain; a failure fails the test. */
struct rc_model *support_vehicle_model(const struct support_vehicle *vehicle, const struct rc_design *samples, int n_samples);

/* Fly one design alone. in sink, user  may be NULL; ends its record, without bins */
struct rc_record support_vehicle_fly(const struct rc_model *model, const struct rc_design *design, rc_moment_sink *sink, void *user);

/* A block whose every lane holds one design's constants, free of the rail and burnt out; released with rc_block_free.
 * in  model, design  must outlive the block */
struct rc_block *support_vehicle_block(const struct rc_model *model, const struct rc_design *design);

/* Put all lanes of a block to one state. */
void support_vehicle_place(struct rc_block *block, const double y[RC_N_STATE]);

/* A state that points and moves straight up. in height above the pad [m], speed [m/s] */
void support_vehicle_upright(double height, double speed, double y[RC_N_STATE]);

/* Thrust, mass and inertias of a flight at a time after lift-off, from the design's own numbers and the thrust rows, not from
 * the block. out at  all lanes alike */
void support_vehicle_moment(const struct support_vehicle *vehicle, double time, struct rc_moment_lanes *at);

/* Derivatives of a state by the project's right-hand side. out slope */
void support_vehicle_slope(struct rc_block *block, const struct rc_moment_lanes *at, const double y[RC_N_STATE],
                           double slope[RC_N_STATE]);

/* The coefficients of a block's first flight at the Mach number it was last seen at, from the cell it is in. out coefficient */
void support_vehicle_coefficients(const struct rc_vehicle_lanes *lanes, double coefficient[RC_N_COEFFICIENTS]);

/* One classical Runge-Kutta step of the components whose mask is 1, the others held: for motion at constant speed. */
void support_vehicle_rk4(struct rc_block *block, const struct rc_moment_lanes *at, const double mask[RC_N_STATE], double h,
                         double y[RC_N_STATE]);

/* The project's own step on a block from support_vehicle_block. in h [s] */
void support_vehicle_step(struct rc_block *block, double h);

/* A body axis in east, north, up. in axis 0 nose, 1 and 2 across, non-rolling; out direction */
void support_vehicle_axis(const double y[RC_N_STATE], int axis, double direction[3]);

#endif
