/* What changes during the flights of a block: vehicle state, per-flight constants and kept table cells, in lanes. */
#ifndef RC_LANES_H
#define RC_LANES_H

#include <stdbool.h>
#include <stdint.h>

#include "flight.h"
#include "model.h"
#include "numeric/lane.h"
#include "platform/platform.h"

/* The vehicle's state: attitude is that of a frame whose x axis is the vehicle's and which does not roll, so that the step is
 * tied to the pitch period and not to the spin period. The roll angle turns what is fixed to the body. */
enum rc_state {
    RC_STATE_EAST, RC_STATE_NORTH, RC_STATE_UP,             /* from the pad [m]                      */
    RC_STATE_V_EAST, RC_STATE_V_NORTH, RC_STATE_V_UP,       /* over the ground [m/s]                 */
    RC_STATE_QW, RC_STATE_QX, RC_STATE_QY, RC_STATE_QZ,     /* non-rolling frame to east-north-up    */
    RC_STATE_ROLL_RATE, RC_STATE_PITCH_RATE, RC_STATE_YAW_RATE, /* p, q, r in that frame [rad/s]     */
    RC_STATE_ROLL,                                          /* integral of p [rad]                   */
    RC_N_STATE
};

/* A lane's share of a table: the cell it is in and that cell's coefficients. */
struct rc_kept_cell {
    rc_lane low, high;   /* the cell is valid in [low, high) */
    rc_lane knot;        /* where its polynomials start      */
};

/* Air, by height: density is quadratic in a cell, the rest linear. */
enum rc_air_coefficient {
    RC_AIR_DENSITY, RC_AIR_DENSITY_1, RC_AIR_DENSITY_2,
    RC_AIR_SOUND, RC_AIR_SOUND_1,
    RC_AIR_EAST, RC_AIR_EAST_1,
    RC_AIR_NORTH, RC_AIR_NORTH_1,
    RC_AIR_GUST_LOW, RC_AIR_GUST_LOW_1,         /* weight of the near-ground gusts: 1 below 1000 ft, 0 above 2000 ft */
    RC_AIR_GUST_ALONG, RC_AIR_GUST_ALONG_1,     /* scale lengths of gusts, vertical and horizontal [m]               */
    RC_AIR_GUST_ACROSS, RC_AIR_GUST_ACROSS_1,
    RC_AIR_GUST_RATIO, RC_AIR_GUST_RATIO_1,     /* horizontal over vertical intensity                                */
    RC_N_AIR_COEFFICIENTS
};

/* Coefficients over Mach as the step needs them, each with its slope: factors and deflections of the flight are put in when a
 * cell is fetched. */
enum rc_coefficient {
    RC_C_AXIAL_ON, RC_C_AXIAL_OFF,
    RC_C_NORMAL, RC_C_NORMAL_X,
    RC_C_DAMP_0, RC_C_DAMP_1, RC_C_DAMP_2,
    RC_C_ROLL_DAMPING, RC_C_ROLL_FORCING,
    RC_C_TRIM_Y, RC_C_TRIM_Z,        /* body-fixed side force of the deflections                */
    RC_C_TRIM_YX, RC_C_TRIM_ZX,      /* the same times its station [m]                          */
    RC_C_BODY_LIFT, RC_C_BODY_LIFT_X, /* on sin^2 of the incidence                              */
    RC_C_INDUCED_ROLL,                /* on sin^2 of the incidence, by roll position            */
    RC_N_COEFFICIENTS
};

/* Constants of the flight at one moment of the step. */
struct rc_moment_lanes {
    rc_lane thrust;      /* [N]                                     */
    rc_lane mass, cm;    /* [kg], [m]                               */
    rc_lane ix, iy;      /* ix with the platform carried along [kg m2] */
    rc_lane per_mass, per_ix, per_iy; /* one over each              */
    rc_lane is_burning;  /* 1 while the thrust table lasts; at mid-step such that its mean over the step is right */
    rc_lane burn_rate;   /* share of the propellant per second [1/s] */
    rc_lane gust[3];     /* the air's own motion on the non-rolling axes [m/s] */
};

/* What the right-hand side saw on its way, for measures. */
struct rc_seen {
    rc_lane speed;            /* airspeed [m/s]                           */
    rc_lane per_speed;        /* one over it, no less than 1 mm/s [s/m]   */
    rc_lane gravity;          /* [m/s2]                                   */
    rc_lane mach;
    rc_lane q;                /* dynamic pressure [Pa]                    */
    rc_lane pressure;         /* of the air [Pa]                          */
    rc_lane cross;            /* airspeed across the axis [m/s]           */
    rc_lane along;            /* airspeed along the axis [m/s]            */
    rc_lane specific_force;   /* along the axis, thrust and drag [m/s2]   */
    rc_lane lateral_squared;  /* square of the specific force across the axis [m2/s4] */
    rc_lane slenderness;      /* Ix / Iy                                  */
    rc_lane roll_fading;      /* roll damping over roll inertia [1/s]     */
    rc_lane pitch_stiffness;  /* square of the pitch frequency, negative if unstable [rad2/s2] */
    rc_lane margin[2];        /* centre of pressure behind centre of mass: dividend [m] and divisor */
    rc_lane pitch_fading;     /* pitch damping, the jet's included, over Iy [1/s] */
    rc_lane path_turning;     /* how fast incidence turns the flight path [1/s] */
    rc_lane gyroscope;        /* angular momentum about the axis over Iy [rad/s] */
};

/* What is greatest somewhere inside a step: dynamic pressure [Pa], Mach number, square of the speed over the ground [m2/s2]. */
enum rc_peak { RC_PEAK_Q, RC_PEAK_MACH, RC_PEAK_SPEED_SQUARED, RC_N_PEAKS };

struct rc_vehicle_lanes {
    rc_lane y[RC_N_STATE];
    rc_lane k[4][RC_N_STATE];      /* slopes of the Runge-Kutta stages                         */
    rc_lane stage[RC_N_STATE];
    rc_lane start[RC_N_STATE];     /* state at the step's start                                */
    struct rc_moment_lanes now, middle, then;
    struct rc_seen seen;
    /* Kept cells. */
    struct rc_kept_cell air_cell, mach_cell, motor_cell;
    rc_lane air[RC_N_AIR_COEFFICIENTS];
    rc_lane coefficient[2 * RC_N_COEFFICIENTS];   /* value, slope                              */
    rc_lane motor[RC_MOTOR_COEFFICIENTS];
    /* Constants of the flight. */
    rc_lane area, diameter;
    rc_lane mass_loaded, mass_gain, cm_loaded, cm_gain, ix_loaded, ix_gain, iy_loaded, iy_gain; /* gain: burnt minus loaded */
    rc_lane per_impulse;           /* burnt share per table impulse [1/(N s)]                  */
    rc_lane table_start;           /* table time at lift-off [s]                               */
    rc_lane table_rate;            /* table seconds per second [1]                             */
    rc_lane thrust_scale;          /* on the table's thrust [1]                                */
    rc_lane thrust_cosine, thrust_side[2];  /* thrust's direction on body axes [1]                      */
    rc_lane thrust_offset[2];      /* thrust line beside the axis at the nozzle, body axes [m]   */
    rc_lane nozzle;                /* station of the nozzle exit [m]                             */
    rc_lane swirl;                 /* roll moment per thrust [m]                                 */
    rc_lane exit_area, stand_pressure, exit_gyration; /* [m2], [Pa], mean square radius of the exit [m2] */
    rc_lane cm_offset[2];          /* centre of mass beside the axis, body axes [m]              */
    rc_lane fin_axis[2];           /* cosine and sine of the first fin's roll position           */
    rc_lane rail_axis[3], rail_length;
    rc_lane elevation;             /* pad above sea level [m]                                  */
    rc_lane platform_momentum;     /* about the axis beyond what turns with the vehicle [kg m2/s] */
    rc_lane is_free;               /* 1 once off the rail                                      */
    rc_lane travelled;             /* along the rail [m]                                       */
    rc_lane impulse;               /* table impulse delivered at the step's start [N s]        */
    /* Gusts: what the air does between two gust times, and the filters that make it. */
    rc_lane gust[3], gust_change[3];   /* at the last gust time, and until the next [m/s]          */
    rc_lane gust_filter[5];            /* along; across: two states each, unit variance            */
    rc_lane gust_low, gust_high;       /* vertical intensity near the ground and aloft [m/s]       */
    rc_lane_bits gust_state, gust_increment;
    /* Peaks. */
    rc_lane peak[RC_N_PEAKS], q_max_time, rail_exit, alpha_max;
    rc_lane peak_start[RC_N_PEAKS], peak_middle[RC_N_PEAKS]; /* the same at the last step's start and in its middle */
    rc_lane lateral_squared_max, step_phase_squared_max;     /* squares: the roots are taken at the end             */
    rc_lane margin_min[2];         /* least static margin: dividend [m] and divisor                */
    rc_lane force_middle, force_end; /* specific force along the axis in the last step's middle and at its end [m/s2] */
    rc_lane middle_sine;           /* of the incidence in the middle of the last step, or as the rail ended; 0 on it [1] */
    rc_lane resonance_side;        /* 1 faster than resonance, -1 slower, 0 before free flight   */
    rc_lane resonance_crossings, resonance_dwell, resonance_alpha;
    rc_lane arm_damping_min;       /* [1/s]; infinite until seen, as the next two                  */
    rc_lane gyro_min[2];           /* gyroscopic stability factor: dividend and divisor            */
    rc_lane pitch_damping_min[2];  /* square of the damping ratio, with its sign, so               */
    rc_lane spin_max[2];           /* square of roll over resonance, negative, so                  */
    rc_lane apogee[6];             /* where and how fast the flight was at apogee: east, north, up [m], [m/s] */
    rc_lane pace_squared;          /* of what the step rule looks at: pitch^2 + (roll/3)^2 [rad2/s2] */
};

/* Working memory of one thread. Lanes first, scalars last. */
struct rc_block {
    struct rc_vehicle_lanes v;
    struct rc_platform_lanes p;
    struct rc_platform_lanes kept;        /* while the flight of one lane is brought to its end   */
    const struct rc_model *model;
    const struct rc_design *design[RC_LANES];
    struct rc_record *record[RC_LANES];
    bool has_ended[RC_LANES];
    bool is_spare[RC_LANES];              /* repeats the first flight to fill the block        */
    const double *air_table[RC_LANES];    /* shared or the lane's own                          */
    const struct rc_aero_cell *aero_table[RC_LANES];
    double *own_air[RC_LANES];            /* made when a flight's numbers differ from the base */
    struct rc_aero_cell *own_aero[RC_LANES];
    int n_air[RC_LANES], n_aero[RC_LANES]; /* cells made so far, from the lowest                  */
    double trim[RC_LANES][RC_MAX_FIN_SETS][2];   /* sum over fins of deflection times direction */
    double mean_deflection[RC_LANES][RC_MAX_FIN_SETS];
    int n_live;                           /* lanes whose flight goes on                        */
    int n_on_rail;                        /* lanes still on the rail                           */
    int64_t tick;                         /* since lift-off                                    */
    double time;                          /* since lift-off [s]                                */
    double step;                          /* of the step in work [s]                           */
    double step_before;                   /* of the one before it; 0 at lift-off [s]           */
    int step_ticks;
    double gust_time;                     /* of the last gust time [s]                         */
    double *pace_log;                     /* NULL, or (n_slots) greatest pace per schedule slot [rad/s] */
    double *fading_log;                   /* with it: how fast roll or pitch faded, the greatest per slot [1/s] */
    rc_moment_sink *sink;
    void *user;
};

#endif
