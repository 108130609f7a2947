/* A test rig for platforms: parts with harmless numbers, all lanes alike, and a vehicle that rolls as the test says. */
#ifndef RC_TEST_RIG_H
#define RC_TEST_RIG_H

#include "platform/platform.h"

struct rig {
    struct rc_platform_lanes p;
    struct rc_platform_clock clock;
    struct rc_platform_design parts;
    struct rc_drive_design drive;
    struct rc_gyro_design gyro;
    struct rc_controller_design controller;
    struct rc_camera_design camera[RC_MAX_CAMERAS];
    struct rc_footage_design footage;
    int width_px[RC_MAX_CAMERAS];
    const char *kind;      /* of the drive                                */
    double idle;
    uint64_t seed, flight;
    int lane;              /* the one tests look at                       */
    int64_t tick;          /* number of the next tick                     */
};

/* Parts without trouble: no friction, no noise, a drive without floor that never sleeps and follows at once, a gyro on the
 * platform, no camera. 512 ticks a second, so that a tick is exact in binary; sensing and commanding in each. */
void rig_reset(struct rig *rig);

/* Lift off: every lane the same flight. */
void rig_begin(struct rig *rig);

/* No sensing, no commands but those a test writes itself: call before rig_begin. */
void rig_silence(struct rig *rig);

/* Asleep from lift-off for good; the bearing alone acts. Call before rig_begin. */
void rig_lull(struct rig *rig);

/* Give every lane this command. */
void rig_command(struct rig *rig, double command);

/* Give every lane this rate against the vehicle. */
void rig_spin(struct rig *rig, double rate);

/* Roll as a cubic over the next n ticks, then run them in one stretch.
 * in  roll (4) coefficients over theta 0 .. 1 [rad/s] */
void rig_run_cubic(struct rig *rig, const double *roll, int n);

/* Roll going linearly over the next n ticks, then run them in one stretch. */
void rig_run_ramp(struct rig *rig, double from, double to, int n);

/* Constant roll rate for n ticks. */
void rig_run(struct rig *rig, double roll, int n);

/* Rate of the lane that is looked at [rad/s]. */
double rig_rate(const struct rig *rig);

#endif
