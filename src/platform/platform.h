/* Front header of platform: the camera carrier on its bearing, its drive, gyro and controller, in lanes, advanced by ticks.
 * Sees the vehicle only as a roll rate over the stretch, a transverse rate and an axial load. */
#ifndef RC_PLATFORM_H
#define RC_PLATFORM_H

#include <stdbool.h>
#include <stdint.h>

#include "measures/tally.h"
#include "numeric/lane.h"
#include "parts.h"

/* What the drive is doing, kept as a number so that lanes can select on it. */
#define RC_DRIVE_STANDING 0.0
#define RC_DRIVE_RUNNING 1.0
#define RC_DRIVE_ASLEEP 2.0
#define RC_DRIVE_WAKING 3.0
#define RC_DRIVE_SLIPPING 4.0 /* a stepper that has lost its steps */

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
    enum rc_turning turning;          /* a command the other way counts as zero                          */
    enum rc_failed_start failed_start;
    /* What some platforms have: 1 or 0. Without it the ticks spend nothing on it. */
    int has_play;                     /* backlash                                                        */
    int has_cogging;
    int has_gyro_extras;              /* bandwidth, cross-axis pick-up, drift or sensitivity to load      */
    int has_control_extras;           /* encoder, feed-forward, stillness, command steps or one way only  */
    int has_failed_starts;
    int has_torque_limit;             /* of a drive that is else never stalled                           */
    int has_encoder;
    int has_battery;
    double latency;                   /* of gyro readings [s]                                             */
    int encoder_every;                /* ticks between samples of the encoder                             */
    int span;                         /* ticks that a drive may take at once, up to each multiple of it; 0 or 1: each alone */
    int full_span;                    /* ticks between looks at what is looked at once a span, whole spans; 0: each span  */
    enum rc_camera_mount camera_mount[RC_MAX_CAMERAS];
    int height_px[RC_MAX_CAMERAS];    /* [px]                                                             */
    int has_line_time[RC_MAX_CAMERAS];
    struct rc_pull_out_points pull_out;
};

/* A stepper's lanes. Torques at the platform. */
struct rc_stepper_lanes {
    rc_lane holding, detent;     /* [N m]                                                                   */
    rc_lane steps_per_angle;     /* full steps per platform angle [1/rad]                                   */
    rc_lane microstep;           /* platform angle of one [rad]                                             */
    rc_lane back_emf;            /* voltage per rate: teeth times flux times gear ratio [V s]               */
    rc_lane reactance;           /* inductance times teeth times gear ratio [ohm s]                         */
    rc_lane resistance, supply;  /* [ohm], [V]                                                              */
    rc_lane torque_per_voltage;  /* of the phasor formula: teeth times flux, at the platform [N m/A]        */
    rc_lane torque_factor, table_scale; /* [1], motor's torque to the platform's [1]                       */
    rc_lane resonance_low, resonance_high, resonance_share; /* [1/s], [1/s], [1]                            */
    /* Of the swing about a step: share of critical damping, frequency over the undamped one, decay per angle of it; the angle of
     * a ring's crest, one over what is left of it there, and what is after half a swing. */
    rc_lane damping, swing_share, per_swing_share, wear, per_wear; /* [1], [1], [1], [1/rad], [rad]         */
    rc_lane crest_angle, per_crest_left, half_left; /* [rad], [1], [1]                                      */
    rc_lane pace;                /* of the step generator, as a platform rate [rad/s]                       */
    rc_lane slip;                /* angle commanded but not turned since it began to slip [rad]             */
};

/* A servo's lanes. Torques at the platform. */
struct rc_servo_lanes {
    rc_lane stiffness, limit;    /* [N m s], [N m]                                                          */
    rc_lane lag_decay;           /* what the current's lag leaves over a tick [1]                           */
    rc_lane cogging, cogs;       /* [N m], periods per platform angle [1/rad]                               */
    rc_lane torque;              /* [N m]                                                                   */
    rc_lane lag, per_lag;        /* time constant of the current loop [s], one over it; 0 for none [1/s]    */
    rc_lane lags;                /* of them in a tick [1]                                                   */
    /* Of the bulge that the lag makes in a rate over a tick, per its size: mean, mean square, mean times place [1]. */
    rc_lane bulge_mean, bulge_square, bulge_moment;
    rc_lane lagged_middle;       /* what of the lag is in the angle in mid-tick, rc_motion_terms' [s2]      */
    rc_lane slow;                /* rate up to which the cogs go by slowly in a tick [rad/s]                */
    /* Viscous friction [1/s], and what it makes of a tick, as rc_motion_terms; below 0: not known yet. */
    rc_lane fade, q1, q2, q3, q4, lagged, lagged_angle;
};

/* Battery's lanes. */
struct rc_battery_lanes {
    rc_lane full, span;          /* voltage when full, and its fall until empty [V]                         */
    rc_lane per_capacity;        /* [1/(A s)]                                                               */
    rc_lane resistance, quiet, run, per_torque; /* [ohm], [A], [A], [A/(N m)]                               */
    rc_lane per_rated;           /* one over the rated voltage; 0 where the top rate does not hang on it [1/V] */
    rc_lane top;                 /* rate at the rated voltage [rad/s]                                       */
    rc_lane used;                /* [A s]                                                                   */
    rc_lane volts, least;        /* under load, and the lowest so far [V]                                   */
    rc_lane is_empty;            /* 1 once it is                                                            */
};

/* Everything of a block's platforms. Lanes first, so that all of them stay aligned. */
struct rc_platform_lanes {
    /* Parts, constant during a flight; units as in parts.h. */
    rc_lane floor, jump, deadband, top, slew_step, reversal_delay, sleep_after, wake_command, wake_delay, start_delay;
    rc_lane gear_friction;       /* its part that the gear takes [N m]                                     */
    rc_lane friction;            /* running friction torque without load [N m]                             */
    rc_lane friction_per_accel;  /* added per axial specific force [N m per m/s2]                          */
    rc_lane starting_ratio;
    rc_lane coupling;            /* inertia between vehicle's and relative motion: J + N Jr [kg m2]        */
    rc_lane own_inertia;         /* of the relative motion with the vehicle held: J + N^2 Jr [kg m2]       */
    rc_lane viscous;             /* friction torque per rate [N m s]                                       */
    rc_lane inertia;             /* carried along by the vehicle: J [kg m2]                                */
    rc_lane reaction;            /* what the vehicle's roll rate loses per gain of the relative rate [1]   */
    rc_lane rate_before;         /* relative rate up to which the vehicle's roll rate has that in it [rad/s] */
    rc_lane keep;                /* share of what it has given way that its roll damping leaves after a tick [1] */
    rc_lane per_own_inertia;     /* one over the relative motion's inertia, the vehicle giving way [1/(kg m2)] */
    rc_lane decay, decay_time;   /* of viscous friction over one tick: exp(-k dt) [1], (1-exp(-k dt))/k [s] */
    rc_lane gyro_range, gyro_bias, gyro_gain, gyro_noise;  /* noise per sample, standard deviation [rad/s] */
    rc_lane gain, integral, gathered_limit, integral_limit;
    rc_lane smear_per_rate[RC_MAX_CAMERAS], smear_limit[RC_MAX_CAMERAS], rate_limit[RC_MAX_CAMERAS]; /* of roll alone */
    rc_lane target;
    /* Of the parts that some platforms have. */
    rc_lane play;                /* backlash at the platform [rad]                                         */
    rc_lane rotor_inertia;       /* at the platform: N^2 Jr [kg m2]                                        */
    rc_lane command_step;        /* [rad/s]                                                                */
    rc_lane feed_forward, still;
    rc_lane gyro_lag, gyro_per_lag; /* time constant of the gyro's lag [s], one over it; 0 for none [1/s]   */
    rc_lane gyro_cross[2], gyro_per_load, gyro_drift; /* [1], [rad/s per m/s2], [rad/s2]                    */
    rc_lane encoder_step;        /* [rad]                                                                  */
    rc_lane lever[RC_MAX_CAMERAS]; /* smear per angle of roll [px]                                          */
    rc_lane smear_per_tilt[RC_MAX_CAMERAS]; /* added per rate across the roll axis, where it is small [px s] */
    rc_lane wide_per_rate[RC_MAX_CAMERAS], wide_per_tilt[RC_MAX_CAMERAS]; /* both where it is great [px s]   */
    rc_lane most_per_square[RC_MAX_CAMERAS]; /* and of the whole rate's square in between [px2 s2]           */
    rc_lane skew_ratio[RC_MAX_CAMERAS], skew_limit[RC_MAX_CAMERAS]; /* skew per smear [1], [px]              */
    /* State. */
    rc_lane rate;                /* platform against the vehicle [rad/s]                                   */
    rc_lane mode;                /* RC_DRIVE_...                                                           */
    rc_lane direction;           /* of the last run: -1, 0 (none yet), 1                                   */
    rc_lane since_stop, idle, waking; /* clocks [s]                                                        */
    rc_lane command;             /* [rad/s]                                                                */
    rc_lane reading;             /* [rad/s]                                                                */
    rc_lane gathered;            /* rate's integral [rad]                                                  */
    rc_lane gathered_twice;      /* angle's integral [rad s]                                               */
    rc_lane turned;              /* rate's integral: angle against the vehicle [rad]                       */
    rc_lane motor_rate;          /* of the gear's output, the platform's but for backlash [rad/s]          */
    rc_lane gap;                 /* how far the gear's output is ahead in its play, 0 .. play [rad]         */
    rc_lane starting;            /* wish to turn, at standstill; below zero after a failed start [s]       */
    rc_lane is_locked;           /* 1 from a failed start until nothing is wanted                          */
    rc_lane start_odds, retry_delay; /* [1], [s]                                                           */
    rc_lane torque_limit;        /* at the platform, of a geared sensorless drive [N m]                    */
    rc_lane_bits start_state, start_increment; /* where failed starts are drawn                            */
    rc_lane gyro_lagged, gyro_angle; /* rate as it gets through the lag [rad/s], the rate's integral [rad] */
    rc_lane heard[RC_MAX_LATENCY]; /* readings under way [rad/s]                                           */
    rc_lane encoder_angle, encoder_rate; /* as last read [rad], [rad/s]                                    */
    rc_lane ripple, ripple_sway; /* half the swing of the platform's rate [rad/s], all of its angle's [rad] */
    rc_lane ripple_square;       /* square of that rate about its mean, in the mean [rad2/s2]              */
    rc_lane_bits noise_state, noise_increment;
    struct rc_stepper_lanes stepper;
    struct rc_servo_lanes servo;
    struct rc_battery_lanes battery;
    struct rc_tally tally;
    /* What the vehicle does over the stretch to be run: roll rate = sum of roll[k] theta^k, theta 0 .. 1; set by the caller. */
    rc_lane roll[4];             /* [rad/s]                                                                */
    rc_lane pitch, yaw, pitch_change, yaw_change; /* rates on axes that do not roll: pitch + theta pitch_change [rad/s] */
    /* The axial specific force over the stretch: load + theta (load_change[0] + theta load_change[1]), set by the caller. In the
     * tick or span being run it goes straight: its mean and change. */
    rc_lane load, load_change[2]; /* [m/s2]                                                                */
    rc_lane load_now, load_rate; /* [m/s2], [m/s3]                                                         */
    rc_lane fading;              /* rate at which the vehicle's roll damping wears a roll rate away [1/s]  */
    /* How the last tick went, for what is looked at inside it: stood for ran_wait of it, went from ran_start to ran_ramped in
     * ran_share of it, then at `rate`. */
    rc_lane ran_start, ran_ramped; /* [rad/s]                                                              */
    rc_lane ran_wait, ran_share; /* [1]                                                                    */
    rc_lane ran_before;          /* rate_before as it was at that tick's beginning [rad/s]                 */
    rc_lane ran_turned;          /* turned as it was then, where there is an encoder [rad]                 */
    /* What a watcher is shown of each camera: residual rate and rate at its frame in the tick, else at the tick's end. */
    rc_lane shown_residual[RC_MAX_CAMERAS], shown_rate[RC_MAX_CAMERAS], shown_tilt[RC_MAX_CAMERAS]; /* [rad/s] */
    /* The last tick's residual rate, for history and bands. */
    rc_lane residual;            /* [rad/s]                                                                */
};

/* What a lane is filled from. */
struct rc_drive_kind;
struct rc_platform_setup {
    const struct rc_drive_kind *kind;             /* the drive's row                                        */
    const struct rc_platform_design *parts;
    const struct rc_drive_design *drive;
    const struct rc_gyro_design *gyro;
    const struct rc_controller_design *controller;
    const struct rc_camera_design *camera;        /* (n_cameras)                                            */
    const struct rc_footage_design *footage;
    const int *width_px;                          /* (n_cameras) picture widths [px]                        */
    double powered;                               /* how long the electronics have been on at lift-off [s]  */
    uint64_t seed, flight;                        /* keys of the flight's streams: noise, nudges, starts    */
};

/* Fill one lane at lift-off.
 * out  platform, lane    that lane's parts and state, tallies zeroed
 * in   setup             the flight's numbers */
void rc_platform_begin(struct rc_platform_lanes *platform, int lane, const struct rc_platform_clock *clock,
                       const struct rc_platform_setup *setup);

/* Smear of a frame, as its usability is judged: panning and turning of the middle of the exposure, and the sway of single steps.
 * in   residual, rate  of the platform then, in the ground frame and against the vehicle; tilt  the rate across the axis [rad/s]
 * ends [px] */
double rc_platform_smear(const struct rc_platform_lanes *platform, const struct rc_platform_clock *clock, int camera, int lane,
                         double residual, double rate, double tilt);

/* Is that frame usable? The tallies decide the same. */
int rc_platform_is_usable(const struct rc_platform_lanes *platform, const struct rc_platform_clock *clock, int camera, int lane,
                          double residual, double rate, double tilt);

/* Tell the platforms how the vehicle's roll gives way to them, for the ticks of one step. Without it the vehicle stands firm.
 * in  dt  the length of what is run at once: a span of the clock, else one tick [s]
 * in  ix  roll inertia of the vehicle with the platform carried along [kg m2]; is_free 1, or 0 where a rail holds the vehicle */
void rc_platform_meet(struct rc_platform_lanes *platform, double dt, const rc_lane ix, const rc_lane is_free);

/* Make what the free motion of a tick and the fading of what the vehicle has given way depend on fit ticks of another length.
 * in  dt  one tick [s] */
void rc_platform_relength(struct rc_platform_lanes *platform, double dt);

/* A stretch of ticks. */
struct rc_platform_stretch {
    int64_t first;                         /* number of its first tick since lift-off        */
    int n_ticks;                           /* ticks to run                                   */
    int n_of_step;                         /* ticks for which theta runs from 0 to 1         */
    int offset;                            /* ticks of the step already run before this call */
    void (*watch)(void *user, int tick);   /* NULL, or called after each tick with its number in the step, 1 .. */
    void *user;
};

/* What a drive's rules judge it by. */
struct rc_burden {
    const struct rc_platform_design *parts;
    const struct rc_drive_design *drive;
    const struct rc_pull_out_points *pull_out;
    double load;             /* axial specific force on the bearing [m/s2] */
};

/* What a drive's numbers must keep among each other, or a torque that must turn the platform from standstill. */
struct rc_drive_rule {
    const char *entry;      /* of a campaign, to complain about                                  */
    const char *wanted;     /* what it must be, as a clause; of a torque: its name                */
    int (*is_met)(const struct rc_burden *burden);    /* NULL where the rule is a torque         */
    /* NULL, or that torque at the platform, which must exceed the friction there: on the pad for the middle design, while single
     * flights need not; INFINITY where nothing limits it [N m] */
    double (*torque)(const struct rc_burden *burden);
    int is_off_at_zero;     /* 1: a plain 0 switches the entry off, and where it is drawn it must be above 0 */
};

/* Friction at standstill under the burden's load: bearing and gear, with the starting ratio [N m]. */
double rc_platform_friction_at_rest(const struct rc_burden *burden);

/* Is a rule of a drive met? */
bool rc_platform_meets(const struct rc_drive_rule *rule, const struct rc_burden *burden);

/* A drive: one file in drives/, one row in drives.def. */
struct rc_drive_kind {
    const char *name;     /* key in a campaign */
    const char *summary;
    int n_rules;
    const struct rc_drive_rule *rules;   /* (n_rules)                                                            */
    int needs_rotor;      /* 1: in a gear's play its motor turns the rotor alone, whose inertia must be given */
    /* Fill one lane of what is its own at lift-off, everything else is filled and its own is zero; NULL: it has nothing. */
    void (*begin)(struct rc_platform_lanes *platform, int lane, const struct rc_platform_clock *clock,
                  const struct rc_platform_setup *setup);
    bool draws_by_load;   /* does its battery's current grow with its motor's torque? */
    bool slows_by_voltage; /* does its top rate fall with its battery's voltage, as that of a motor with a back-EMF? */
    bool takes_pull_out;  /* may its torque come as a pull-out table, in place of a winding's numbers? */
    bool spans;           /* does its run take whole spans of the clock at once? */
    /* Advance all lanes by a stretch of ticks: sense, control, drive, count. */
    void (*run)(struct rc_platform_lanes *platform, const struct rc_platform_clock *clock,
                const struct rc_platform_stretch *stretch);
};

/* Torque at the platform per torque of the motor: gear ratio times efficiency [1]. */
double rc_platform_geared(const struct rc_platform_design *parts);

/* The drives by their row of drives.def, for tables that say which of them something is for. */
enum rc_drive_index {
#define RC_DRIVE(identifier) RC_DRIVE_INDEX_##identifier,
#include "drives/drives.def"
#undef RC_DRIVE
    RC_N_DRIVES
};

/* Number of drives, the drive at an index, and the drive of that name (NULL where there is none). */
int rc_platform_drive_count(void);
const struct rc_drive_kind *rc_platform_drive_at(int index);
const struct rc_drive_kind *rc_platform_drive_find(const char *name);

#endif
