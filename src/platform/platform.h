/* Front header of platform: the camera carrier on its bearing, its drive, gyro and controller, in lanes, advanced by ticks.
 * Sees the vehicle only as a roll rate over the stretch, a transverse rate and an axial load. */
#ifndef RC_PLATFORM_H
#define RC_PLATFORM_H

#include <stdint.h>

#include "measures/tally.h"
#include "numeric/lane.h"
#include "parts.h"

/* What the drive is doing, kept as a number so that lanes can select on it. */
#define RC_DRIVE_STANDING 0.0
#define RC_DRIVE_RUNNING 1.0
#define RC_DRIVE_ASLEEP 2.0
#define RC_DRIVE_WAKING 3.0

/* The same for all lanes and the whole flight. Ticks count from lift-off. */
struct rc_platform_clock {
    double dt;                        /* one tick [s]                                  */
    int tick_rate;                    /* ticks per second [Hz]                         */
    int gyro_every, control_every;    /* ticks between samples and between commands    */
    int n_cameras;
    int frame_rate[RC_MAX_CAMERAS];   /* [Hz]                                          */
    enum rc_gyro_mount gyro_mount;
    enum rc_control_mode control_mode;
    enum rc_turns_mode turns_mode;
    enum rc_below_floor below_floor;
};

/* Everything of a block's platforms. Lanes first, so that all of them stay aligned. */
struct rc_platform_lanes {
    /* Parts, constant during a flight; units as in parts.h. */
    rc_lane floor, jump, deadband, top, slew_step, reversal_delay, sleep_after, wake_command, wake_delay;
    rc_lane friction;            /* running friction torque without load [N m]                             */
    rc_lane friction_per_accel;  /* added per axial specific force [N m per m/s2]                          */
    rc_lane starting_ratio;
    rc_lane coupling;            /* inertia between vehicle's and relative motion: J + N Jr [kg m2]        */
    rc_lane own_inertia;         /* of the relative motion with the vehicle held: J + N^2 Jr [kg m2]       */
    rc_lane viscous;             /* friction torque per rate [N m s]                                       */
    rc_lane inertia;             /* carried along by the vehicle: J [kg m2]                                */
    rc_lane reaction;            /* what the vehicle's roll rate loses per gain of the relative rate [1]   */
    rc_lane rate_before;         /* relative rate up to which the vehicle's roll rate has that in it [rad/s] */
    rc_lane per_own_inertia;     /* one over the relative motion's inertia, the vehicle giving way [1/(kg m2)] */
    rc_lane decay, decay_time;   /* of viscous friction over one tick: exp(-k dt) [1], (1-exp(-k dt))/k [s] */
    rc_lane gyro_range, gyro_bias, gyro_gain, gyro_noise;  /* noise per sample, standard deviation [rad/s] */
    rc_lane gain, integral, gathered_limit, integral_limit;
    rc_lane smear_per_rate[RC_MAX_CAMERAS], smear_limit[RC_MAX_CAMERAS], rate_limit[RC_MAX_CAMERAS];
    rc_lane target;
    /* State. */
    rc_lane rate;                /* platform against the vehicle [rad/s]                                   */
    rc_lane mode;                /* RC_DRIVE_...                                                           */
    rc_lane direction;           /* of the last run: -1, 0 (none yet), 1                                   */
    rc_lane since_stop, idle, waking; /* clocks [s]                                                        */
    rc_lane command;             /* [rad/s]                                                                */
    rc_lane reading;             /* [rad/s]                                                                */
    rc_lane gathered;            /* rate's integral [rad]                                                  */
    rc_lane gathered_twice;      /* angle's integral [rad s]                                               */
    rc_lane_bits noise_state, noise_increment;
    struct rc_tally tally;
    /* What the vehicle does over the stretch to be run: roll rate = sum of roll[k] theta^k, theta 0 .. 1; set by the caller. */
    rc_lane roll[4];             /* [rad/s]                                                                */
    rc_lane transverse;          /* rate across the axis [rad/s]                                           */
    rc_lane load;                /* axial specific force [m/s2]                                            */
    /* The last tick's residual rate, for history and bands. */
    rc_lane residual;            /* [rad/s]                                                                */
};

/* Fill one lane at lift-off.
 * out  platform, lane    that lane's parts and state, tallies zeroed
 * in   parts, drive, gyro, controller, cameras (n_cameras), footage  the flight's numbers
 * in   width_px          (n_cameras) picture widths [px]
 * in   idle              how long the electronics have been idle [s]
 * in   noise             key of this flight's gyro noise */
struct rc_platform_setup {
    const struct rc_platform_design *parts;
    const struct rc_drive_design *drive;
    const struct rc_gyro_design *gyro;
    const struct rc_controller_design *controller;
    const struct rc_camera_design *camera;
    const struct rc_footage_design *footage;
    const int *width_px;
    double idle;
    uint64_t seed, flight;
};
void rc_platform_begin(struct rc_platform_lanes *platform, int lane, const struct rc_platform_clock *clock,
                       const struct rc_platform_setup *setup);

/* Tell the platforms how the vehicle's roll gives way to them, for the ticks of one step. Without it the vehicle stands firm.
 * in  dt  one tick [s]
 * in  ix  roll inertia of the vehicle with the platform carried along [kg m2]; is_free 1, or 0 where a rail holds the vehicle */
void rc_platform_meet(struct rc_platform_lanes *platform, double dt, const rc_lane ix, const rc_lane is_free);

/* A stretch of ticks. */
struct rc_platform_stretch {
    int64_t first;                         /* number of its first tick since lift-off        */
    int n_ticks;                           /* ticks to run                                   */
    int n_of_step;                         /* ticks for which theta runs from 0 to 1         */
    int offset;                            /* ticks of the step already run before this call */
    void (*watch)(void *user, int tick);   /* NULL, or called after each tick with its number in the step, 1 .. */
    void *user;
};

/* A drive: one file in drives/, one row in drives.def. */
struct rc_drive_kind {
    const char *name;     /* key in a campaign */
    const char *summary;
    /* Advance all lanes by a stretch of ticks: sense, control, drive, count. */
    void (*run)(struct rc_platform_lanes *platform, const struct rc_platform_clock *clock,
                const struct rc_platform_stretch *stretch);
};

/* Number of drives, the drive at an index, and the drive of that name (NULL where there is none). */
int rc_platform_drive_count(void);
const struct rc_drive_kind *rc_platform_drive_at(int index);
const struct rc_drive_kind *rc_platform_drive_find(const char *name);

#endif
