/* The rig's numbers and its runs. Which drive runs is looked up by name, as a campaign does. */
#include "rig.h"

#include "numeric/lane_math.h"

#include <limits.h>
#include <math.h>
#include <string.h>

void rig_reset(struct rig *rig)
{
    memset(rig, 0, sizeof *rig);
    rig->clock = (struct rc_platform_clock){
        .dt = 1.0 / 512.0, .tick_rate = 512, .gyro_every = 1, .control_every = 1, .gyro_mount = RC_GYRO_ON_PLATFORM,
        .control_mode = RC_CONTROL_ANGLE, .turns_mode = RC_TURNS_ACCUMULATED, .below_floor = RC_BELOW_FLOOR_STOP,
    };
    rig->parts = (struct rc_platform_design){ .inertia = 1e-3, .mass = 0.3, .starting_ratio = 1.0, .gear_ratio = 1.0 };
    rig->parts.gear_efficiency = 1.0;
    rig->drive = (struct rc_drive_design){ .top = 1e6, .slew = 1e9, .wake_command = 1e9 };
    rig->gyro = (struct rc_gyro_design){ .range = 1e6 };
    rig->controller = (struct rc_controller_design){ .gain = 1.0, .windup = 1e9 };
    for (int camera = 0; camera < RC_MAX_CAMERAS; camera++) {
        rig->camera[camera] =
            (struct rc_camera_design){ .field_of_view = 1.2, .shutter = 1e-3, .smear_limit = 1.0, .rate_limit = 1e6, .lens_angle = 0.5 * RC_PI };
        rig->width_px[camera] = 1920;
        rig->clock.frame_rate[camera] = 30;
    }
    rig->footage.target = 0.5;
    rig->kind = "geared_sensorless";
    rig->seed = 11;
    rig->flight = 5;
    rig->lane = RC_LANES / 2;
}

void rig_begin(struct rig *rig)
{
    const struct rc_platform_setup setup = {
        .kind = rc_platform_drive_find(rig->kind),
        .parts = &rig->parts, .drive = &rig->drive, .gyro = &rig->gyro, .controller = &rig->controller,
        .camera = rig->camera, .footage = &rig->footage, .width_px = rig->width_px,
        .powered = rig->idle, .seed = rig->seed, .flight = rig->flight,
    };
    for (int lane = 0; lane < RC_LANES; lane++)
        rc_platform_begin(&rig->p, lane, &rig->clock, &setup);
}

void rig_silence(struct rig *rig)
{
    rig->clock.gyro_every = rig->clock.control_every = INT_MAX;
    rig->tick = 1;
}

void rig_lull(struct rig *rig)
{
    rig_silence(rig);
    rig->drive.sleep_after = 1.0;
    rig->drive.wake_command = INFINITY;
    rig->idle = 1.0;
}

void rig_command(struct rig *rig, double command)
{
    for (int lane = 0; lane < RC_LANES; lane++)
        rig->p.command[lane] = command;
}

void rig_spin(struct rig *rig, double rate)
{
    for (int lane = 0; lane < RC_LANES; lane++)
        rig->p.rate[lane] = rate;
}

void rig_run_cubic(struct rig *rig, const double *roll, int n)
{
    for (int k = 0; k < 4; k++)
        for (int lane = 0; lane < RC_LANES; lane++)
            rig->p.roll[k][lane] = roll[k];
    const struct rc_platform_stretch stretch = { .first = rig->tick, .n_ticks = n, .n_of_step = n };
    rc_platform_drive_find(rig->kind)->run(&rig->p, &rig->clock, &stretch);
    rig->tick += n;
}

void rig_run_ramp(struct rig *rig, double from, double to, int n)
{
    const double roll[4] = { from, to - from, 0.0, 0.0 };
    rig_run_cubic(rig, roll, n);
}

void rig_run(struct rig *rig, double roll, int n)
{
    rig_run_ramp(rig, roll, roll, n);
}

double rig_rate(const struct rig *rig)
{
    return rig->p.rate[rig->lane];
}
