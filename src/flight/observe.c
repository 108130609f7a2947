/* Measures of the vehicle's flight, band samples and the moments of a replay. The platform counts for itself in its ticks. */
#include "observe.h"

#include <math.h>

#include "advance.h"
#include "numeric/lane_math.h"

/* The lesser of two quotients with positive divisors, without dividing. in/out least  its dividend and divisor */
RC_INLINE void keep_lesser(rc_lane *least, int lane, double is_seen, double dividend, double divisor)
{
    const double is_less = is_seen * (dividend * least[1][lane] < least[0][lane] * divisor ? 1.0 : 0.0);
    least[0][lane] = rc_lane_pick(is_less, dividend, least[0][lane]);
    least[1][lane] = rc_lane_pick(is_less, divisor, least[1][lane]);
}

/* Take the step just flown into a greatest value, as the parabola through the step's start, middle and end has it.
 * out theta  where in the step, 0 .. 1; ends 1 where it is greater than all before, else 0 */
RC_INLINE double take_crest(struct rc_vehicle_lanes *v, enum rc_peak which, int lane, double end, double *theta)
{
    const double start = v->peak_start[which][lane], middle = v->peak_middle[which][lane], before = v->peak[which][lane];
    const double slope = 4.0 * middle - 3.0 * start - end, bend = 2.0 * (start - 2.0 * middle + end);
    const double vertex = rc_lane_min(rc_lane_max(slope / (-2.0 * rc_lane_min(bend, -1e-30)), 0.0), 1.0);
    const double inside = start + vertex * (slope + vertex * bend);
    const double most = rc_lane_max(inside, end);
    *theta = inside > end ? vertex : 1.0;
    v->peak_start[which][lane] = end;
    v->peak[which][lane] = rc_lane_max(most, before);
    return most > before ? 1.0 : 0.0;
}

/* out is_fast  1 while the vehicle is free and no slower than a quarter of its greatest speed, else 0 */
RC_KERNEL static void take_peaks(struct rc_block *block, rc_lane is_fast_now)
{
    struct rc_vehicle_lanes *const v = &block->v;
    const double time = block->time;
    const double step = block->step;
    RC_FOR_LANES(lane)
    {
        const double is_free = v->is_free[lane];
        const double ve = v->y[RC_STATE_V_EAST][lane], vn = v->y[RC_STATE_V_NORTH][lane], vu = v->y[RC_STATE_V_UP][lane];
        const double speed_squared = ve * ve + vn * vn + vu * vu;
        double theta, other;
        const double is_higher = take_crest(v, RC_PEAK_Q, lane, v->seen.q[lane], &theta);
        (void)take_crest(v, RC_PEAK_MACH, lane, v->seen.mach[lane], &other);
        (void)take_crest(v, RC_PEAK_SPEED_SQUARED, lane, speed_squared, &other);
        v->q_max_time[lane] = rc_lane_pick(is_higher, time - (1.0 - theta) * block->step_before, v->q_max_time[lane]);
        const double is_fast = is_free * (speed_squared > 0.0625 * v->peak[RC_PEAK_SPEED_SQUARED][lane] ? 1.0 : 0.0);
        is_fast_now[lane] = is_fast;
        /* Sine of the total angle of attack while flying nose first, one while flying backwards. */
        const double along = v->seen.along[lane];
        const double sine = along > 0.0 ? v->seen.cross[lane] * v->seen.per_speed[lane] : 1.0;
        const double stiffness = v->seen.pitch_stiffness[lane];
        const double roll = (1.0 / 3.0) * v->y[RC_STATE_ROLL_RATE][lane];
        const double pitch_square = stiffness < 0.0 ? -stiffness : stiffness;
        v->alpha_max[lane] = rc_lane_max(v->alpha_max[lane], is_fast * rc_lane_max(sine, v->middle_sine[lane]));
        keep_lesser(v->margin_min, lane, is_fast, v->seen.margin[0][lane], v->seen.margin[1][lane]);
        v->step_phase_squared_max[lane] = rc_lane_max(v->step_phase_squared_max[lane], step * step * pitch_square);
        /* Resonance: the roll rate passes the rate at which a turning trim meets the pitch frequency; by squares, times what
         * the frequency is divided by. source docs/theory.md */
        const double rate = v->y[RC_STATE_ROLL_RATE][lane];
        const double resonant = rc_lane_max(stiffness, 0.0);
        const double spin = rate * rate * rc_lane_max(1.0 - v->seen.slenderness[lane], 0.01);
        const double is_swinging = is_fast * (stiffness > 0.0 ? 1.0 : 0.0);
        const double side = is_swinging * (spin > resonant ? 1.0 : -1.0);
        const double is_near = is_swinging * (((spin > 0.64 * resonant) & (spin < 1.44 * resonant)) ? 1.0 : 0.0);
        v->resonance_crossings[lane] += side * v->resonance_side[lane] < 0.0 ? 1.0 : 0.0;
        v->resonance_side[lane] = rc_lane_pick(is_swinging, side, v->resonance_side[lane]);
        v->resonance_dwell[lane] += is_near * step;
        keep_lesser(v->spin_max, lane, is_swinging, -spin, resonant);
        v->resonance_alpha[lane] = rc_lane_max(v->resonance_alpha[lane], is_near * sine);
        v->lateral_squared_max[lane] = rc_lane_max(v->lateral_squared_max[lane], v->seen.lateral_squared[lane]);
        /* On the rail nothing swings; a pace of 60 rad/s there keeps the schedule's steps at about 10 ms while thrust builds
         * up. */
        v->pace_squared[lane] = is_free > 0.5 ? pitch_square + roll * roll : 60.0 * 60.0;
    }
}

/* Stability by linear theory, of the moment: incidence is the sum of two arms, whose exponents are the roots of
 * s^2 + (c + l - i g) s + w^2 + l (c - i g) = 0. source MURPHY1963; docs/theory.md says the symbols and what is kept */
RC_KERNEL static void take_stability(struct rc_block *block, const rc_lane is_fast)
{
    struct rc_vehicle_lanes *const v = &block->v;
    RC_FOR_LANES(lane)
    {
        const double square = v->seen.pitch_stiffness[lane], gyroscope = v->seen.gyroscope[lane];
        const double fading = v->seen.pitch_fading[lane], turning = v->seen.path_turning[lane];
        const double sum = fading + turning, difference = turning - fading, turned = gyroscope * gyroscope;
        /* The root of the discriminant -real + i imaginary: its real part parts the arms' damping. */
        const double real = turned + 4.0 * square - difference * difference;
        const double imaginary = 2.0 * gyroscope * difference;
        const double size = sqrt(real * real + imaginary * imaginary) + rc_lane_abs(real);
        const double cross = imaginary * imaginary / (2.0 * rc_lane_max(size, 1e-30));
        const double damping = 0.5 * (sum - sqrt(real > 0.0 ? cross : 0.5 * size));
        const double own = square + turning * fading;
        const double swings = is_fast[lane] * (own > 0.0 ? 1.0 : 0.0), topples = is_fast[lane] * (square < 0.0 ? 1.0 : 0.0);
        const double least = v->arm_damping_min[lane];
        v->arm_damping_min[lane] = rc_lane_pick(is_fast[lane], rc_lane_min(least, damping), least);
        keep_lesser(v->pitch_damping_min, lane, swings, sum * rc_lane_abs(sum), 4.0 * own);
        keep_lesser(v->gyro_min, lane, topples, turned, -4.0 * square);
    }
}

void rc_observe_peaks(struct rc_block *block)
{
    rc_lane is_fast;
    take_peaks(block, is_fast);
    take_stability(block, is_fast);
    if (block->pace_log == NULL)
        return;
    const int slot = (int)(block->time / block->model->slot);
    for (int lane = 0; lane < RC_LANES; lane++) {
        if (block->has_ended[lane] || slot >= block->model->n_slots)
            continue;
        const double fading = fmax(block->v.seen.roll_fading[lane], block->v.seen.pitch_fading[lane]);
        block->pace_log[slot] = fmax(block->pace_log[slot], sqrt(block->v.pace_squared[lane]));
        block->fading_log[slot] = fmax(block->fading_log[slot], fading);
    }
}

void rc_observe_bands(struct rc_block *block, int index)
{
    const struct rc_vehicle_lanes *const v = &block->v;
    const int n_times = block->model->layout->n_band_times;
    if (index >= n_times)
        return;
    for (int lane = 0; lane < RC_LANES; lane++) {
        if (block->has_ended[lane] || block->record[lane]->bin == NULL)
            continue;
        const double roll_rate = v->y[RC_STATE_ROLL_RATE][lane];
        const double drive_rate = block->p.rate[lane];
        const double value[RC_N_SIGNALS] = {
            [RC_SIGNAL_HEIGHT] = v->y[RC_STATE_UP][lane],
            [RC_SIGNAL_MACH] = v->seen.mach[lane],
            [RC_SIGNAL_ROLL] = roll_rate / RC_DEGREE,
            [RC_SIGNAL_RESIDUAL] = (roll_rate + drive_rate) / RC_DEGREE,
            [RC_SIGNAL_DRIVE] = drive_rate / RC_DEGREE,
            [RC_SIGNAL_ALPHA] = atan2(v->seen.cross[lane], v->seen.along[lane]) / RC_DEGREE,
        };
        for (int signal = 0; signal < RC_N_SIGNALS; signal++)
            block->record[lane]->bin[signal * n_times + index] = rc_measures_bin(value[signal]);
    }
}

/* The footage measures of one lane: those of its worst camera on the platform, and of the best one fixed to the vehicle. */
static void finish_footage(const struct rc_block *block, int lane, double *measure)
{
    const struct rc_tally *const tally = &block->p.tally;
    const struct rc_layout *const layout = block->model->layout;
    double usable = INFINITY, share = INFINITY, longest = INFINITY;
    double fixed_usable = NAN, fixed_share = NAN, fixed_longest = NAN, skewed = 0.0, skew_peak = 0.0;
    for (int camera = 0; camera < layout->n_cameras; camera++) {
        const double frames = tally->frames[camera][lane], per_rate = 1.0 / layout->frame_rate[camera];
        const double part = frames > 0.0 ? tally->usable[camera][lane] / frames : 0.0;
        if (layout->camera_mount[camera] == RC_CAMERA_ON_VEHICLE) {
            fixed_usable = fmax(fixed_usable, tally->usable[camera][lane] * per_rate);
            fixed_longest = fmax(fixed_longest, tally->longest[camera][lane] * per_rate);
            fixed_share = fmax(fixed_share, part);
            continue;
        }
        usable = fmin(usable, tally->usable[camera][lane] / layout->frame_rate[camera]);
        longest = fmin(longest, tally->longest[camera][lane] / layout->frame_rate[camera]);
        share = fmin(share, part);
        skewed = fmax(skewed, frames > 0.0 ? tally->skewed[camera][lane] / frames : 0.0);
        skew_peak = fmax(skew_peak, tally->skew_peak[camera][lane]);
    }
    measure[RC_MEASURE_usable_s] = usable;
    measure[RC_MEASURE_usable_fraction] = share;
    measure[RC_MEASURE_longest_clip_s] = longest;
    measure[RC_MEASURE_skewed_fraction] = skewed;
    measure[RC_MEASURE_skew_peak_px] = skew_peak;
    measure[RC_MEASURE_fixed_usable_s] = fixed_usable;
    measure[RC_MEASURE_fixed_usable_fraction] = fixed_share;
    measure[RC_MEASURE_fixed_longest_clip_s] = fixed_longest;
}

static void finish_platform(const struct rc_block *block, int lane, double time, double *measure)
{
    const struct rc_tally *const tally = &block->p.tally;
    const double turn = 2.0 * RC_PI;
    finish_footage(block, lane, measure);
    measure[RC_MEASURE_held_fraction] = time > 0.0 ? tally->held[lane] / time : 0.0;
    measure[RC_MEASURE_residual_rms_dps] = time > 0.0 ? sqrt(tally->square[lane] / time) / RC_DEGREE : 0.0;
    measure[RC_MEASURE_residual_peak_dps] = tally->residual_peak[lane] / RC_DEGREE;
    measure[RC_MEASURE_turns_drifted] = tally->drift[lane] / turn;
    measure[RC_MEASURE_below_floor_s] = tally->below_floor[lane];
    measure[RC_MEASURE_asleep_s] = tally->asleep[lane];
    measure[RC_MEASURE_drive_starts] = tally->starts[lane];
    measure[RC_MEASURE_drive_reversals] = tally->reversals[lane];
    measure[RC_MEASURE_failed_starts] = tally->failed_starts[lane];
    measure[RC_MEASURE_locked_out_s] = tally->locked_out[lane];
    measure[RC_MEASURE_stalled_s] = tally->stalled[lane];
    measure[RC_MEASURE_gyro_saturated_s] = tally->saturated[lane];
    measure[RC_MEASURE_gathered_turns] = tally->gathered_peak[lane] / turn;
    measure[RC_MEASURE_lost_steps] = tally->lost[lane];
    measure[RC_MEASURE_step_losses] = tally->slips[lane];
    measure[RC_MEASURE_slipping_s] = tally->slipping[lane];
    measure[RC_MEASURE_step_ripple_peak_dps] = tally->ripple_peak[lane] / RC_DEGREE;
    measure[RC_MEASURE_unpowered_s] = tally->unpowered[lane];
    measure[RC_MEASURE_battery_least_V] = block->model->layout->has_battery ? block->p.battery.least[lane] : NAN;
    measure[RC_MEASURE_roll_peak_dps] = tally->roll_peak[lane] / RC_DEGREE;
}

/* A least value; none where nothing was seen. */
static double if_seen(double least)
{
    return isfinite(least) ? least : NAN;
}

/* The greatest gyroscopic stability factor that is told apart. */
static const double most_stable = 1000.0;

static void finish_stability(const struct rc_vehicle_lanes *v, int lane, double *measure)
{
    const double ratio = v->pitch_damping_min[0][lane] / v->pitch_damping_min[1][lane];
    const double spin = -v->spin_max[0][lane] / v->spin_max[1][lane];
    measure[RC_MEASURE_roll_to_resonance_max] = v->is_free[lane] > 0.5 ? sqrt(fmax(spin, 0.0)) : NAN;
    measure[RC_MEASURE_arm_damping_min_per_s] = if_seen(v->arm_damping_min[lane]);
    measure[RC_MEASURE_pitch_damping_min] = if_seen(copysign(sqrt(fabs(ratio)), ratio));
    /* Never unstable is as good as can be, not unknown: a limit on it is then met. */
    measure[RC_MEASURE_gyro_stability_min] =
        v->is_free[lane] > 0.5 ? fmin(v->gyro_min[0][lane] / v->gyro_min[1][lane], most_stable) : NAN;
}

void rc_observe_finish(struct rc_block *block, int lane, enum rc_end end, double time, double height, double roll_rate)
{
    const struct rc_vehicle_lanes *const v = &block->v;
    struct rc_record *const record = block->record[lane];
    const bool has_left = v->is_free[lane] > 0.5;
    const bool at_apogee = end == RC_END_APOGEE;
    double *const measure = record->measure;
    record->end = (int)end;
    finish_platform(block, lane, time, measure);
    measure[RC_MEASURE_roll_apogee_dps] = at_apogee ? roll_rate / RC_DEGREE : NAN;
    measure[RC_MEASURE_apogee_m] = at_apogee ? height : NAN;
    measure[RC_MEASURE_ascent_s] = at_apogee ? time : NAN;
    measure[RC_MEASURE_mach_max] = v->peak[RC_PEAK_MACH][lane];
    measure[RC_MEASURE_speed_max_mps] = sqrt(v->peak[RC_PEAK_SPEED_SQUARED][lane]);
    measure[RC_MEASURE_q_max_Pa] = v->peak[RC_PEAK_Q][lane];
    measure[RC_MEASURE_q_max_time_s] = v->q_max_time[lane];
    measure[RC_MEASURE_rail_exit_mps] = has_left ? v->rail_exit[lane] : NAN;
    measure[RC_MEASURE_alpha_max_deg] = has_left ? asin(fmin(v->alpha_max[lane], 1.0)) / RC_DEGREE : NAN;
    measure[RC_MEASURE_static_margin_min_cal] =
        has_left ? v->margin_min[0][lane] / (v->margin_min[1][lane] * v->diameter[lane]) : NAN;
    measure[RC_MEASURE_resonance_crossings] = has_left ? v->resonance_crossings[lane] : NAN;
    measure[RC_MEASURE_resonance_dwell_s] = has_left ? v->resonance_dwell[lane] : NAN;
    measure[RC_MEASURE_resonance_alpha_deg] = has_left ? asin(fmin(v->resonance_alpha[lane], 1.0)) / RC_DEGREE : NAN;
    finish_stability(v, lane, measure);
    measure[RC_MEASURE_lateral_load_max_mps2] = has_left ? sqrt(v->lateral_squared_max[lane]) : NAN;
    for (int i = RC_MEASURE_landing_east_m; i <= RC_MEASURE_main_speed_mps; i++)
        measure[i] = NAN; /* until the descent is flown */
    measure[RC_MEASURE_step_phase_max] = sqrt(v->step_phase_squared_max[lane]);
    if (end == RC_END_DIVERGED || end == RC_END_NO_LIFTOFF)
        for (int i = 0; i < RC_N_MEASURES; i++)
            measure[i] = NAN;
}

void rc_observe_moment(const struct rc_block *block, int tick, struct rc_moment *moment)
{
    const struct rc_vehicle_lanes *const v = &block->v;
    const double theta = (double)tick / block->step_ticks;
    double y[RC_N_STATE];
    for (int state = 0; state < RC_N_STATE; state++)
        y[state] = rc_advance_inside(block, state, 0, theta);
    moment->time = (double)(block->tick + tick) * block->model->clock.dt;
    for (int axis = 0; axis < 3; axis++) {
        moment->position[axis] = y[RC_STATE_EAST + axis];
        moment->velocity[axis] = y[RC_STATE_V_EAST + axis];
    }
    const double qw = y[RC_STATE_QW], qx = y[RC_STATE_QX], qy = y[RC_STATE_QY], qz = y[RC_STATE_QZ];
    moment->axis[0] = 1.0 - 2.0 * (qy * qy + qz * qz);
    moment->axis[1] = 2.0 * (qx * qy + qw * qz);
    moment->axis[2] = 2.0 * (qx * qz - qw * qy);
    moment->mach = v->seen.mach[0];
    moment->q = v->seen.q[0];
    moment->alpha = atan2(v->seen.cross[0], v->seen.along[0]);
    moment->thrust = v->now.thrust[0];
    moment->mass = v->now.mass[0];
    moment->load = block->p.load[0];
    moment->pitch_rate = y[RC_STATE_PITCH_RATE];
    moment->yaw_rate = y[RC_STATE_YAW_RATE];
    moment->roll_rate = block->p.residual[0] - block->p.rate[0];
    moment->roll_angle = y[RC_STATE_ROLL];
    moment->residual = block->p.residual[0];
    moment->drive_rate = block->p.rate[0];
    moment->command = block->p.command[0];
    moment->gyro = block->p.reading[0];
    moment->drive_state = block->p.mode[0];
    const struct rc_platform_clock *const clock = &block->model->clock;
    moment->n_cameras = clock->n_cameras;
    for (int camera = 0; camera < moment->n_cameras; camera++) {
        const double residual = block->p.shown_residual[camera][0], rate = block->p.shown_rate[camera][0];
        const double tilt = block->p.shown_tilt[camera][0];
        moment->smear[camera] = rc_platform_smear(&block->p, clock, camera, 0, residual, rate, tilt);
        moment->frames[camera] = (block->tick + tick) * clock->frame_rate[camera] / clock->tick_rate;
        moment->is_usable[camera] = rc_platform_is_usable(&block->p, clock, camera, 0, residual, rate, tilt);
    }
}
