/* What a flight is flown with: every number that may be uncertain (struct rc_design, one per flight) and what is the
 * same for a whole campaign (struct rc_layout: tables, counts, kinds). SI and radians throughout; stations from the nose
 * tip, aft positive; roll positive about the nose axis by the right hand. */
#ifndef RC_DESIGN_H
#define RC_DESIGN_H

#include <stddef.h>

#include "base/limits.h"
#include "platform/parts.h"

/* Trapezoidal fin set; a second set describes small tilted tabs. */
struct rc_fin_set {
    double root_chord;                 /* [m]                                                   */
    double tip_chord;                  /* [m]                                                   */
    double span;                       /* exposed semispan, body to tip [m]                     */
    double sweep;                      /* leading edge, root to tip, measured aft [m]           */
    double thickness;                  /* greatest section thickness [m]                        */
    double station;                    /* root leading edge [m]                                 */
    double root_radius;                /* axis to root chord [m]                                */
    double first_angle;                /* roll position of fin 1 from body y towards z [rad]    */
    double cant;                       /* of all fins, rolls positive [rad]                     */
    double misalignment[RC_MAX_FINS];  /* per fin, rolls positive [rad]                         */
    double front_share;                /* rounded leading edge's share of the thickness [1]     */
    double back_share;                 /* blunt trailing edge's share of the thickness [1]      */
};

/* Part of the body whose diameter changes: a transition, or a boat-tail. Between such parts the tube keeps its diameter. */
struct rc_body_section {
    double station;        /* fore end [m] */
    double length;         /* [m]          */
    double fore_diameter;  /* [m]          */
    double aft_diameter;   /* [m]          */
};

struct rc_vehicle_design {
    double diameter;              /* reference [m]                                                     */
    double length;                /* nose tip to base [m]                                              */
    double nose_length;           /* [m]                                                               */
    double mass_loaded;           /* whole vehicle with platform, propellant full [kg]                 */
    double mass_burnt;            /* the same, propellant gone [kg]                                    */
    double cm_loaded, cm_burnt;   /* stations of the centre of mass [m]                                */
    double ix_loaded, ix_burnt;   /* about the long axis, platform and its rotor apart [kg m2]         */
    double iy_loaded, iy_burnt;   /* about a transverse axis through the centre of mass [kg m2]        */
    double cm_offset;             /* centre of mass beside the long axis [m]                           */
    double cm_offset_angle;       /* roll position of that offset [rad]                                */
    struct rc_fin_set fins[RC_MAX_FIN_SETS];
    double nose_exponent;         /* of a power series nose, radius on length [1]                      */
    double roughness;             /* of the surface, equivalent sand grain; 0 is smooth [m]            */
    struct rc_body_section sections[RC_MAX_SECTIONS];  /* rising stations                              */
};

struct rc_motor_design {
    double impulse_factor;    /* on the table's total impulse [1]                   */
    double burn_time_factor;  /* on the table's time axis, impulse kept [1]         */
    double ignition_delay;    /* ignition command to first table row [s]            */
    double nozzle_station;    /* nozzle exit [m]                                    */
    double tilt;              /* thrust line against the long axis [rad]            */
    double tilt_angle;        /* roll position it is tilted towards [rad]           */
    double offset;            /* thrust line beside the long axis at the nozzle [m] */
    double offset_angle;      /* roll position of that offset [rad]                 */
    double swirl;             /* roll moment per thrust [m]                         */
    double exit_area;         /* nozzle exit; 0 leaves the thrust as measured [m2]  */
    double stand_pressure;    /* where the thrust table was measured [Pa]           */
};

struct rc_aero_design {
    double axial_factor;          /* on the axial-force coefficient [1]             */
    double normal_factor;         /* on the normal-force slope [1]                  */
    double cp_shift;              /* added to the centre of pressure's station [m]  */
    double pitch_damping_factor;  /* [1]                                            */
    double roll_forcing_factor;   /* [1]                                            */
    double roll_damping_factor;   /* [1]                                            */
    double induced_roll;          /* roll moment of incidence: on sin^2(alpha) sin(N phi), at fin set 0's count N [1] */
    double induced_roll_factor;   /* on the user's table of it, which is added to that [1]                            */
    double body_lift_factor;      /* on the body's cross-flow force [1]                                               */
    double friction_factor;       /* on the estimated skin friction; so the next three, each on its part [1]          */
    double base_factor;           /* base drag [1]                                                                    */
    double wave_factor;           /* pressure drag of nose and sections [1]                                           */
    double fin_drag_factor;       /* pressure drag of fins [1]                                                        */
};

struct rc_site_design {
    double elevation;           /* pad above mean sea level [m]                                  */
    double temperature_offset;  /* added to the standard temperature at every height [K]         */
    double pressure_offset;     /* added to the standard pressure at the pad [Pa]                */
    double rail_length;         /* travel of the centre of mass until free [m]                   */
    double rail_elevation;      /* above the horizon [rad]                                       */
    double rail_azimuth;        /* clockwise from north [rad]                                    */
    double pad_wait;            /* electronics on until lift-off [s]                             */
};

struct rc_wind_design {
    double speed;             /* at the reference height; factor on the table if one is given [m/s] or [1] */
    double from;              /* blows from, clockwise from north; added to the table's if one is given [rad] */
    double reference_height;  /* [m]                                                         */
    double exponent;          /* of the power law [1]                                        */
    double spread;            /* of the table's own spread, how much is added to its speeds [1] */
    double gust_factor;       /* on the near-ground gust intensity, a tenth of the wind at 20 ft [1] */
    double gust_high;         /* gust intensity above 2000 ft [m/s]                          */
};

/* The way down from apogee: a point mass under what hangs above it. Drag areas are drag coefficient times area. */
struct rc_descent_design {
    double mass;              /* that comes down [kg]                                     */
    double body_area;         /* of the vehicle itself, tumbling [m2]                     */
    double drogue_delay;      /* after apogee [s]                                         */
    double drogue_area;       /* [m2]                                                     */
    double drogue_works;      /* 1 opens, 0 does not                                      */
    double main_height;       /* above the pad [m]                                        */
    double main_area;         /* [m2]                                                     */
    double main_works;        /* 1 opens, 0 does not                                      */
};

/* Of a campaign that works out a formula; all others are then without use. */
struct rc_formula_design {
    double input[RC_MAX_INPUTS];
};

/* All numbers of one flight. Plain doubles only, so that a quantity is an offset. */
struct rc_design {
    struct rc_vehicle_design vehicle;
    struct rc_motor_design motor;
    struct rc_aero_design aero;
    struct rc_site_design site;
    struct rc_wind_design wind;
    struct rc_descent_design descent;
    struct rc_platform_design platform;
    struct rc_drive_design drive;
    struct rc_gyro_design gyro;
    struct rc_controller_design controller;
    struct rc_camera_design camera[RC_MAX_CAMERAS];
    struct rc_footage_design footage;
    struct rc_formula_design formula;
};

enum rc_nose_shape {
    RC_NOSE_CONE = 0,
    RC_NOSE_OGIVE,      /* tangent                        */
    RC_NOSE_POWER,      /* radius on length^nose_exponent */
    RC_NOSE_VON_KARMAN  /* Haack's with C = 0             */
};

/* Coefficients a user may give as a table over Mach instead of the estimate from geometry. */
enum rc_aero_column {
#define RC_AERO_COLUMN(member, name, low, high, meaning) RC_AERO_##member,
#include "aero_columns.def"
#undef RC_AERO_COLUMN
    RC_N_AERO_COLUMNS
};

/* Tables borrow their numbers from whoever made the layout (the campaign). */
struct rc_thrust_points {
    int n;                 /* rows, 2 .. RC_MAX_TABLE_ROWS                          */
    const double *time;    /* rising from >= 0 [s]  (n)                             */
    const double *thrust;  /* >= 0 [N]  (n); linear between rows, zero outside      */
};
struct rc_aero_points {
    int n;                                     /* rows; at least 1                        */
    const double *mach;                        /* rising [1]  (n)                         */
    const double *column[RC_N_AERO_COLUMNS];   /* (n) each, NULL where not given          */
    double cm_loaded, cm_burnt;                /* stations that the columns of these names are about [m] */
};
struct rc_wind_points {
    int n;                 /* rows; 0 = no table, the power law serves              */
    const double *height;  /* above the pad, rising [m]  (n)                        */
    const double *speed;   /* [m/s]  (n)                                            */
    const double *from;    /* clockwise from north [rad]  (n)                       */
    const double *spread;  /* standard deviation of the speed [m/s]  (n), or NULL    */
};

struct rc_layout {
    int n_fin_sets;
    int n_fins[RC_MAX_FIN_SETS];
    enum rc_nose_shape nose_shape;
    int n_sections;                  /* of the body, 0 .. RC_MAX_SECTIONS               */
    struct rc_thrust_points thrust;
    struct rc_aero_points aero;
    struct rc_wind_points wind;
    const char *drive_kind;          /* name in the drive registry: "geared_sensorless" */
    enum rc_below_floor below_floor;
    enum rc_turning turning;
    enum rc_failed_start failed_start;
    enum rc_gyro_mount gyro_mount;
    int gyro_rate;                   /* samples per second [Hz]                         */
    enum rc_control_mode control_mode;
    enum rc_turns_mode turns_mode;
    int control_rate;                /* ticks per second [Hz]                           */
    int n_cameras;
    int frame_rate[RC_MAX_CAMERAS];  /* [Hz]                                            */
    int width_px[RC_MAX_CAMERAS];    /* picture width [px]                              */
    int height_px[RC_MAX_CAMERAS];   /* picture height [px]                             */
    enum rc_camera_mount camera_mount[RC_MAX_CAMERAS];
    int has_line_time[RC_MAX_CAMERAS]; /* its shutter rolls                             */
    int is_straight;                 /* 1: thrust line and centre of mass on the axis, no swirl, no roll by incidence */
    /* See rc_platform_clock. */
    int has_play, has_cogging, has_gyro_extras, has_control_extras, has_battery, has_failed_starts, has_torque_limit;
    int encoder_rate;                /* samples per second, 0 without an encoder [Hz]   */
    double gyro_latency;             /* [s]                                             */
    struct rc_pull_out_points pull_out;
    int has_descent;                 /* flights go on to the ground                     */
    int has_gusts;                   /* the air has its own motion                      */
    double band_interval;            /* of the percentile bands [s]                     */
    int n_band_times;                /* 1 .. RC_MAX_BAND_TIMES                          */
    double time_limit;               /* a flight is given up after this [s]             */
    double step_scale;               /* 1; smaller for convergence checks [1]           */
};

#endif
