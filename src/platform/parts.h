/* The numbers and kinds of the platform's parts: bearing, drive, gyro, controller, cameras. SI and radians; rates about the
 * vehicle's long axis, positive by the right hand about the nose direction. */
#ifndef RC_PARTS_H
#define RC_PARTS_H

/* Camera carrier, bearing and the geared sensorless drive. */
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
};

struct rc_gyro_design {
    double range;   /* reading saturates here [rad/s]             */
    double bias;    /* [rad/s]                                    */
    double scale;   /* scale-factor error [1]                     */
    double noise;   /* density, one-sided [rad/s per sqrt(Hz)]    */
};

struct rc_controller_design {
    double gain;         /* command per error: [1] on rate, [1/s] on angle          */
    double integral;     /* command per gathered error: [1/s] on rate, [1/s2] on angle */
    double windup;       /* limit of the gathered part of the command [rad/s]       */
};

struct rc_camera_design {
    double field_of_view;  /* horizontal, full angle [rad]                        */
    double shutter;        /* exposure time [s]                                   */
    double smear_limit;    /* usable up to this smear [px]                        */
    double rate_limit;     /* usable up to this residual rate [rad/s]             */
};

struct rc_footage_design {
    double target;         /* residual rate that counts as held [rad/s]           */
};

enum rc_gyro_mount { RC_GYRO_ON_PLATFORM = 0, RC_GYRO_ON_VEHICLE };
enum rc_control_mode { RC_CONTROL_RATE = 0, RC_CONTROL_ANGLE };
enum rc_turns_mode { RC_TURNS_ACCUMULATED = 0, RC_TURNS_NEAREST };
enum rc_below_floor {
    RC_BELOW_FLOOR_STOP = 0,
    RC_BELOW_FLOOR_RUN
}; /* command between deadband and floor: stand, or run at the floor */

#endif
