/* The numbers and kinds of the platform's parts: bearing, drive, gyro, controller, cameras. SI and radians; rates about the
 * vehicle's long axis, positive by the right hand about the nose direction. */
#ifndef RC_PARTS_H
#define RC_PARTS_H

#include "base/limits.h"

/* Camera carrier, bearing and gear. */
struct rc_platform_design {
    double inertia;          /* of the turning part about the axis, rotor apart [kg m2]   */
    double mass;             /* of the turning part [kg]                                  */
    double coulomb;          /* running friction torque without load [N m]                */
    double viscous;          /* friction torque per rate [N m s]                          */
    double load_mu;          /* friction coefficient of the axial load [1]                */
    double bearing_diameter; /* on which the load acts [m]                                */
    double starting_ratio;   /* friction at standstill over running [1]                   */
    double gear_ratio;       /* rotor turns per platform turn [1]                         */
    double rotor_inertia;    /* of the motor's rotor [kg m2]                              */
    double gear_friction;    /* back-driving torque at the platform, added to coulomb [N m] */
    double gear_efficiency;  /* torque at the platform over gear ratio times the motor's [1] */
    double backlash;         /* play of the gear at the platform [rad]                    */
};

/* A stepper behind its gear. Torques at the motor. */
struct rc_stepper_design {
    double steps;            /* full steps per turn of the motor [1]                           */
    double microsteps;       /* per full step [1]                                              */
    double holding_torque;   /* with the current on [N m]                                      */
    double detent_torque;    /* without [N m]                                                  */
    double current;          /* of a winding [A]                                               */
    double resistance;       /* of a winding [ohm]                                             */
    double inductance;       /* of a winding [H]                                               */
    double supply;           /* voltage [V]                                                    */
    double torque_factor;    /* on the pull-out torque [1]                                     */
    double resonance_low;    /* full steps per second at which the resonance band begins [1/s] */
    double resonance_high;   /* and ends [1/s]                                                 */
    double resonance_share;  /* of the pull-out torque that is left in it [1]                  */
    double damping;          /* of the ring's swing about a step, share of critical [1]        */
};

/* A torque-controlled servo behind its gear. Torques at the motor. */
struct rc_servo_design {
    double stiffness;        /* torque per command [N m s]                     */
    double torque;           /* greatest [N m]                                 */
    double lag;              /* time constant of the current loop [s]          */
    double cogging;          /* amplitude of the cogging torque [N m]          */
    double cogs;             /* of its periods per turn of the motor [1]       */
};

/* What feeds the drive and its electronics. */
struct rc_battery_design {
    double full;             /* voltage without load, full [V]                 */
    double low;              /* voltage without load, just before empty [V]    */
    double capacity;         /* [A s]                                          */
    double charge;           /* share of it at power-on [1]                    */
    double resistance;       /* inner [ohm]                                    */
    double quiet_current;    /* of the electronics, from power-on [A]          */
    double run_current;      /* added while the drive turns or holds [A]       */
    double torque_per_current; /* of the motor; 0 leaves the load out [N m/A]  */
    double rated;            /* voltage at which the drive has its top rate [V] */
};

/* Rates are of the platform against the vehicle. */
struct rc_drive_design {
    double floor;           /* slowest running rate [rad/s]                                */
    double jump;            /* rate taken at once on a start, at least the floor [rad/s]   */
    double deadband;        /* commands up to this count as zero [rad/s]                   */
    double top;             /* fastest running rate [rad/s]                                */
    double slew;            /* greatest change of rate while running [rad/s2]              */
    double reversal_delay;  /* standstill before a start the other way [s]                 */
    double sleep_after;     /* idle time after which it sleeps; 0 = never [s]              */
    double wake_command;    /* command that wakes it [rad/s]                               */
    double wake_delay;      /* from that command until it obeys [s]                        */
    double start_delay;     /* from the wish to turn until it does, at standstill [s]      */
    double command_step;    /* commands are rounded to multiples of it; 0 = not [rad/s]    */
    double nudge_interval;  /* on the pad; 0 = no nudges [s]                               */
    double nudge_odds;      /* that one nudge keeps it awake [1]                           */
    double start_odds;      /* that one start succeeds, where some may fail [1]            */
    double retry_delay;     /* standstill from a failed start to the next try [s]          */
    double torque_limit;    /* of a geared sensorless drive, at the motor; 0 = none [N m]   */
    struct rc_stepper_design stepper;
    struct rc_servo_design servo;
    struct rc_battery_design battery;
};

struct rc_gyro_design {
    double range;   /* reading saturates here [rad/s]             */
    double bias;    /* [rad/s]                                    */
    double scale;   /* scale-factor error [1]                     */
    double noise;   /* density, one-sided [rad/s per sqrt(Hz)]    */
    double bias_drift;   /* growth of the bias from power-on [rad/s2]                  */
    double bandwidth;    /* of its first-order lag; 0 = none [Hz]                      */
    double cross[2];     /* shares of the rates about its own two transverse axes [1]  */
    double per_load;     /* added per axial specific force [rad/s per m/s2]            */
    double encoder_step; /* of the encoder between platform and vehicle; 0 = exact [rad] */
};

struct rc_controller_design {
    double gain;         /* command per error: [1] on rate, [1/s] on angle          */
    double integral;     /* command per gathered error: [1/s] on rate, [1/s2] on angle */
    double windup;       /* limit of the gathered part of the command [rad/s]       */
    double feed_forward; /* share of the vehicle's roll rate commanded against it [1] */
    double still;        /* errors up to this count as zero: [rad/s] on rate, [rad] on angle */
};

struct rc_camera_design {
    double field_of_view;  /* horizontal, full angle [rad]                        */
    double shutter;        /* exposure time [s]                                   */
    double smear_limit;    /* usable up to this smear [px]                        */
    double rate_limit;     /* usable up to this residual rate [rad/s]             */
    double lens_angle;     /* lens axis against the vehicle's: pi/2 looks outward, 0 along [rad] */
    double line_time;      /* of the rolling shutter from line to line; 0 = all at once [s] */
    double skew_limit;     /* a frame counts as skewed beyond this [px]           */
};

struct rc_footage_design {
    double target;         /* residual rate that counts as held [rad/s]           */
};

/* Pull-out torque measured over the step rate, straight between points, held outside. The same for all flights. */
struct rc_pull_out_points {
    int n;                               /* 0: from the winding                    */
    double rate[RC_MAX_PULL_OUT_ROWS];   /* full steps per second, rising [1/s]    */
    double torque[RC_MAX_PULL_OUT_ROWS]; /* at the motor [N m]                     */
};

enum rc_camera_mount { RC_CAMERA_ON_PLATFORM = 0, RC_CAMERA_ON_VEHICLE };
enum rc_gyro_mount { RC_GYRO_ON_PLATFORM = 0, RC_GYRO_ON_VEHICLE };
enum rc_control_mode { RC_CONTROL_RATE = 0, RC_CONTROL_ANGLE };
enum rc_turns_mode { RC_TURNS_ACCUMULATED = 0, RC_TURNS_NEAREST };
enum rc_turning { RC_TURNING_BOTH = 0, RC_TURNING_POSITIVE, RC_TURNING_NEGATIVE };   /* the ways a drive turns */
enum rc_failed_start { RC_FAILED_START_RETRY = 0, RC_FAILED_START_LOCK_OUT };  /* try again, or not before a command of zero */
enum rc_below_floor {
    RC_BELOW_FLOOR_STOP = 0,
    RC_BELOW_FLOOR_RUN
}; /* command between deadband and floor: stand, or run at the floor */

#endif
