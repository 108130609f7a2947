/* Setting a platform up at lift-off, and the registry of drives. The ticks themselves are in stages.h and drives/. */
#include "platform.h"

#include <math.h>
#include <string.h>

#include "base/base.h"
#include "numeric/lane_math.h"
#include "numeric/stream.h"
#include "pad.h"
#include "stages.h"

#define RC_DRIVE(identifier) extern const struct rc_drive_kind rc_##identifier##_kind;
#include "drives/drives.def"
#undef RC_DRIVE

static const struct rc_drive_kind *const drive_kinds[] = {
#define RC_DRIVE(identifier) &rc_##identifier##_kind,
#include "drives/drives.def"
#undef RC_DRIVE
};

int rc_platform_drive_count(void)
{
    return (int)(sizeof drive_kinds / sizeof drive_kinds[0]);
}

const struct rc_drive_kind *rc_platform_drive_at(int index)
{
    return index >= 0 && index < rc_platform_drive_count() ? drive_kinds[index] : NULL;
}

const struct rc_drive_kind *rc_platform_drive_find(const char *name)
{
    for (int index = 0; index < rc_platform_drive_count(); index++)
        if (strcmp(name, drive_kinds[index]->name) == 0)
            return drive_kinds[index];
    return NULL;
}

/* Free motion under viscous friction is exponential; what it does over one tick. A series serves where 1 - exp(-k dt) loses
 * digits. */
RC_INLINE void free_motion(struct rc_platform_lanes *p, int lane, double dt)
{
    const double k = p->viscous[lane] * p->per_own_inertia[lane];
    const double x = k * dt;
    const double decay = rc_lane_exp(-x);
    const double series = 1.0 - 0.5 * x + x * x * (1.0 / 6.0) - x * x * x * (1.0 / 24.0);
    p->decay[lane] = decay;
    p->decay_time[lane] = dt * (x < 1e-3 ? series : (1.0 - decay) / x);
}

double rc_platform_friction_at_rest(const struct rc_burden *burden)
{
    const struct rc_platform_design *const parts = burden->parts;
    const double loaded = 0.5 * parts->load_mu * parts->mass * parts->bearing_diameter * fabs(burden->load);
    return parts->starting_ratio * (parts->coulomb + parts->gear_friction + loaded);
}

bool rc_platform_meets(const struct rc_drive_rule *rule, const struct rc_burden *burden)
{
    return rule->torque != NULL ? rule->torque(burden) > rc_platform_friction_at_rest(burden) : rule->is_met(burden) != 0;
}

double rc_platform_geared(const struct rc_platform_design *parts)
{
    return parts->gear_ratio * (parts->gear_efficiency > 0.0 ? parts->gear_efficiency : 1.0);
}

static void begin_bearing(struct rc_platform_lanes *p, int lane, double dt, const struct rc_platform_design *parts)
{
    p->inertia[lane] = parts->inertia;
    p->coupling[lane] = parts->inertia + parts->gear_ratio * parts->rotor_inertia;
    p->own_inertia[lane] = parts->inertia + parts->gear_ratio * parts->gear_ratio * parts->rotor_inertia;
    p->viscous[lane] = parts->viscous;
    p->gear_friction[lane] = parts->gear_friction;
    p->rotor_inertia[lane] = p->own_inertia[lane] - parts->inertia;
    p->play[lane] = parts->backlash;
    p->turned[lane] = p->motor_rate[lane] = 0.0;
    p->ran_start[lane] = p->ran_ramped[lane] = p->ran_wait[lane] = p->ran_share[lane] = p->ran_before[lane] = 0.0;
    p->ran_turned[lane] = 0.0;
    p->gap[lane] = 0.5 * parts->backlash; /* nobody knows: in the middle */
    p->friction[lane] = parts->coulomb + parts->gear_friction;
    p->friction_per_accel[lane] = 0.5 * parts->load_mu * parts->mass * parts->bearing_diameter;
    p->starting_ratio[lane] = parts->starting_ratio;
    p->reaction[lane] = p->rate_before[lane] = p->fading[lane] = 0.0;
    p->keep[lane] = 1.0;
    p->per_own_inertia[lane] = 1.0 / p->own_inertia[lane];
    free_motion(p, lane, dt);
}

/* in  idle [s]; torque_limit  at the platform, 0 for none [N m] */
static void begin_drive(struct rc_platform_lanes *p, int lane, double dt, const struct rc_drive_design *drive, double idle,
                        double torque_limit)
{
    p->floor[lane] = drive->floor;
    p->jump[lane] = fmax(drive->jump, drive->floor);
    p->deadband[lane] = drive->deadband;
    p->top[lane] = drive->top;
    p->slew_step[lane] = drive->slew * dt;
    p->reversal_delay[lane] = drive->reversal_delay;
    p->sleep_after[lane] = drive->sleep_after > 0.0 ? drive->sleep_after : INFINITY;
    p->wake_command[lane] = drive->wake_command;
    p->wake_delay[lane] = drive->wake_delay;
    p->start_delay[lane] = drive->start_delay;
    p->command_step[lane] = drive->command_step;
    p->mode[lane] = idle >= p->sleep_after[lane] ? RC_DRIVE_ASLEEP : RC_DRIVE_STANDING;
    p->idle[lane] = idle;
    p->rate[lane] = 0.0;
    p->direction[lane] = 0.0;
    p->since_stop[lane] = idle;
    p->waking[lane] = p->starting[lane] = 0.0;
    p->start_odds[lane] = drive->start_odds;
    p->retry_delay[lane] = drive->retry_delay;
    p->is_locked[lane] = 0.0;
    p->torque_limit[lane] = torque_limit > 0.0 ? torque_limit : INFINITY;
}

/* Each flight draws its failed starts from a stream of its own. */
static void begin_starts(struct rc_platform_lanes *p, int lane, const struct rc_platform_setup *setup)
{
    static const char name[] = "noise/starts";
    const struct rc_pcg key = rc_stream_open(setup->seed, setup->flight, rc_hash_bytes(RC_FNV_START, name, sizeof name - 1));
    p->start_state[lane] = key.state;
    p->start_increment[lane] = key.increment;
}

/* What the battery has given by lift-off: the electronics' current over the whole wait, and a stepper's, which holds from
 * power-on. */
static void begin_battery(struct rc_platform_lanes *p, int lane, const struct rc_platform_setup *setup)
{
    const struct rc_battery_design *const d = &setup->drive->battery;
    struct rc_battery_lanes *const b = &p->battery;
    const double scale = rc_platform_geared(setup->parts);
    b->full[lane] = d->full;
    b->span[lane] = d->full - d->low;
    b->per_capacity[lane] = d->capacity > 0.0 ? 1.0 / d->capacity : 0.0;
    b->resistance[lane] = d->resistance;
    b->quiet[lane] = d->quiet_current;
    b->run[lane] = d->run_current;
    b->per_torque[lane] = d->torque_per_current > 0.0 ? 1.0 / (scale * d->torque_per_current) : 0.0;
    b->per_rated[lane] = setup->kind->slows_by_voltage && d->rated > 0.0 ? 1.0 / d->rated : 0.0;
    b->top[lane] = setup->drive->top;
    const double holding = p->stepper.holding[lane] > 0.0 ? d->run_current : 0.0;
    b->used[lane] = (1.0 - d->charge) * d->capacity + (d->quiet_current + holding) * setup->powered;
    b->volts[lane] = b->least[lane] = d->full - b->span[lane] * fmin(b->used[lane] * b->per_capacity[lane], 1.0);
    b->is_empty[lane] = 0.0;
}

/* The bias that has drifted since power-on, the lag, and the encoder. At rest, nothing is under way. */
static void begin_gyro_extras(struct rc_platform_lanes *p, int lane, const struct rc_platform_setup *setup)
{
    const struct rc_gyro_design *const gyro = setup->gyro;
    const double per_lag = 2.0 * RC_PI * gyro->bandwidth;
    p->gyro_bias[lane] += gyro->bias_drift * setup->powered;
    p->gyro_drift[lane] = gyro->bias_drift;
    p->gyro_per_lag[lane] = per_lag;
    p->gyro_lag[lane] = per_lag > 0.0 ? 1.0 / per_lag : 0.0;
    p->gyro_cross[0][lane] = gyro->cross[0];
    p->gyro_cross[1][lane] = gyro->cross[1];
    p->gyro_per_load[lane] = gyro->per_load;
    p->gyro_lagged[lane] = p->gyro_angle[lane] = 0.0;
    for (int slot = 0; slot < RC_MAX_LATENCY; slot++)
        p->heard[slot][lane] = 0.0;
    p->encoder_step[lane] = gyro->encoder_step;
    p->encoder_angle[lane] = p->encoder_rate[lane] = 0.0;
}

static void begin_gyro(struct rc_platform_lanes *p, int lane, const struct rc_platform_clock *clock,
                       const struct rc_platform_setup *setup)
{
    const struct rc_gyro_design *gyro = setup->gyro;
    p->gyro_range[lane] = gyro->range;
    p->gyro_bias[lane] = gyro->bias;
    p->gyro_gain[lane] = 1.0 + gyro->scale;
    /* White noise of one-sided density n has standard deviation n sqrt(f/2) in samples at rate f. */
    p->gyro_noise[lane] = gyro->noise * sqrt(0.5 * clock->tick_rate / clock->gyro_every);
    static const char name[] = "noise/gyro";
    const struct rc_pcg key = rc_stream_open(setup->seed, setup->flight, rc_hash_bytes(RC_FNV_START, name, sizeof name - 1));
    p->noise_state[lane] = key.state;
    p->noise_increment[lane] = key.increment;
    p->reading[lane] = 0.0;
    begin_gyro_extras(p, lane, setup);
}

static void begin_controller(struct rc_platform_lanes *p, int lane, const struct rc_platform_clock *clock,
                             const struct rc_controller_design *controller)
{
    const int on_angle = clock->control_mode == RC_CONTROL_ANGLE;
    p->gain[lane] = controller->gain;
    p->integral[lane] = controller->integral;
    const double through_gain = controller->gain > 0.0 ? controller->windup / controller->gain : INFINITY;
    const double through_integral = controller->integral > 0.0 ? controller->windup / controller->integral : INFINITY;
    p->gathered_limit[lane] = on_angle ? through_gain : through_integral;
    p->integral_limit[lane] = through_integral;
    p->feed_forward[lane] = controller->feed_forward;
    p->still[lane] = controller->still;
    p->gathered[lane] = p->gathered_twice[lane] = p->command[lane] = 0.0;
}

/* What a rate smears a picture by: pan per rate square to the lens, in the middle, and turn per rate along it, at the corners;
 * the most, hypot(pan, turn), at the angle atan(pan/turn) to the lens. A whole rate that stands too close to the roll axis to
 * come to that angle, or too wide of the axis, smears by the cosine of what is missing, from the rate's own angle to the axis
 * up to the lens angle less that angle, or down to their sum.
 * source docs/theory.md, "Footage" */
static void begin_smear(struct rc_platform_lanes *p, int lane, int camera, double lens_angle, double pan, double turn)
{
    const int looks_out = lens_angle == 0.5 * RC_PI; /* its cosine is no zero in floating point */
    const double sine = looks_out ? 1.0 : sin(lens_angle), cosine = looks_out ? 0.0 : fabs(cos(lens_angle));
    p->smear_per_rate[camera][lane] = sine * pan + cosine * turn;
    p->smear_per_tilt[camera][lane] = fabs(sine * turn - cosine * pan);
    p->wide_per_rate[camera][lane] = cosine * turn - sine * pan;
    p->wide_per_tilt[camera][lane] = cosine * pan + sine * turn;
    p->most_per_square[camera][lane] = pan * pan + turn * turn;
}

static void begin_cameras(struct rc_platform_lanes *p, int lane, const struct rc_platform_clock *clock,
                          const struct rc_platform_setup *setup)
{
    for (int camera = 0; camera < clock->n_cameras; camera++) {
        const struct rc_camera_design *c = &setup->camera[camera];
        const double focal_px = 0.5 * setup->width_px[camera] / tan(0.5 * c->field_of_view);
        const double half_diagonal = 0.5 * hypot(setup->width_px[camera], clock->height_px[camera]);
        begin_smear(p, lane, camera, c->lens_angle, focal_px * c->shutter, half_diagonal * c->shutter);
        p->lever[camera][lane] = p->smear_per_rate[camera][lane] / c->shutter;
        p->smear_limit[camera][lane] = c->smear_limit;
        p->rate_limit[camera][lane] = c->rate_limit;
        p->skew_ratio[camera][lane] = c->line_time * (clock->height_px[camera] - 1) / c->shutter;
        p->skew_limit[camera][lane] = c->skew_limit;
    }
}

double rc_platform_smear(const struct rc_platform_lanes *p, const struct rc_platform_clock *clock, int camera, int lane,
                         double residual, double rate, double tilt)
{
    const struct rc_frame frame = rc_stages_look(p, clock, camera, lane, residual, rate, tilt);
    return sqrt(frame.smeared_squared) + frame.swayed;
}

int rc_platform_is_usable(const struct rc_platform_lanes *p, const struct rc_platform_clock *clock, int camera, int lane,
                          double residual, double rate, double tilt)
{
    return rc_stages_verdict(p, camera, lane, rc_stages_look(p, clock, camera, lane, residual, rate, tilt)) > 0.5;
}

/* Set one lane of a struct of lanes to zero. in n_lanes numbers of the struct */
static void clear_lane(void *lanes, size_t n_lanes, int lane)
{
    rc_lane *const field = lanes;
    for (size_t i = 0; i < n_lanes; i++)
        field[i][lane] = 0.0;
}

void rc_platform_begin(struct rc_platform_lanes *platform, int lane, const struct rc_platform_clock *clock,
                       const struct rc_platform_setup *setup)
{
    begin_bearing(platform, lane, clock->dt, setup->parts);
    begin_drive(platform, lane, clock->dt, setup->drive, rc_pad_idle(setup),
                setup->drive->torque_limit * rc_platform_geared(setup->parts));
    clear_lane(&platform->stepper, sizeof platform->stepper / sizeof(rc_lane), lane);
    clear_lane(&platform->servo, sizeof platform->servo / sizeof(rc_lane), lane);
    platform->ripple[lane] = platform->ripple_sway[lane] = platform->ripple_square[lane] = 0.0;
    if (setup->kind->begin != NULL)
        setup->kind->begin(platform, lane, clock, setup);
    begin_starts(platform, lane, setup);
    begin_battery(platform, lane, setup);
    begin_gyro(platform, lane, clock, setup);
    begin_controller(platform, lane, clock, setup->controller);
    begin_cameras(platform, lane, clock, setup);
    clear_lane(&platform->tally, sizeof platform->tally / sizeof(rc_lane), lane);
    platform->target[lane] = setup->footage->target;
    platform->residual[lane] = 0.0;
    for (int k = 0; k < 4; k++)
        platform->roll[k][lane] = 0.0;
    platform->load[lane] = platform->load_now[lane] = platform->load_rate[lane] = 0.0;
    platform->load_change[0][lane] = platform->load_change[1][lane] = 0.0;
    platform->pitch[lane] = platform->yaw[lane] = platform->pitch_change[lane] = platform->yaw_change[lane] = 0.0;
    for (int camera = 0; camera < RC_MAX_CAMERAS; camera++)
        platform->shown_residual[camera][lane] = platform->shown_rate[camera][lane] = platform->shown_tilt[camera][lane] = 0.0;
}

RC_KERNEL void rc_platform_relength(struct rc_platform_lanes *platform, double dt)
{
    RC_FOR_LANES(lane)
    {
        platform->keep[lane] = rc_lane_exp(-dt * platform->fading[lane]);
        free_motion(platform, lane, dt);
    }
}

RC_KERNEL void rc_platform_meet(struct rc_platform_lanes *platform, double dt, const rc_lane ix, const rc_lane is_free)
{
    RC_FOR_LANES(lane)
    {
        platform->rate_before[lane] = platform->rate[lane];
        platform->reaction[lane] = is_free[lane] * platform->coupling[lane] / ix[lane];
        const double given_way = platform->coupling[lane] * platform->reaction[lane];
        platform->per_own_inertia[lane] = 1.0 / (platform->own_inertia[lane] - given_way);
    }
    rc_platform_relength(platform, dt);
}
