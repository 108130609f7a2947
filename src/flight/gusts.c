/* Dryden gusts: white noise through the forming filters of MIL-F-8785C, stepped exactly over each gust interval at the airspeed
 * and scale lengths of the moment. A vertical climber meets the vertical gusts along its axis and the horizontal ones across it:
 * that is how the components are laid here, on the non-rolling axes. */
#include "gusts.h"

#include <math.h>

#include "base/base.h"
#include "derive.h"
#include "numeric/lane_math.h"
#include "numeric/noise.h"
#include "numeric/stream.h"

struct rc_gust_scale rc_gusts_scale(double height)
{
    const double feet = fmax(height / RC_GUST_FOOT, 10.0);
    const double low = fmin(feet, 1000.0);
    const double bend = 0.177 + 0.000823 * low;
    const double low_weight = fmin(fmax((2000.0 - feet) / 1000.0, 0.0), 1.0);
    const double high_length = 1750.0;
    return (struct rc_gust_scale){
        .vertical_length = RC_GUST_FOOT * (low_weight * low + (1.0 - low_weight) * high_length),
        .horizontal_length = RC_GUST_FOOT * (low_weight * low / pow(bend, 1.2) + (1.0 - low_weight) * high_length),
        .ratio = low_weight / pow(bend, 0.4) + (1.0 - low_weight),
        .low_weight = low_weight,
    };
}

/* One interval of the filters. First order along: x' = phi x + sqrt(1 - phi^2) n. Across, (1 + sqrt3 s) / (1 + s)^2 with s in
 * units of V/L, as two states z1' = -z1 + w, z2' = -z2 + z1 and y = sqrt3 z1 + (1 - sqrt3) z2: the exact transition over
 * a = V dt / L has the noise covariance P - Phi P Phi^T with P the steady one, put in through its Cholesky factor. */
RC_KERNEL static void step_filters(struct rc_vehicle_lanes *v, double dt)
{
    RC_FOR_LANES(lane)
    {
        const double dz = rc_lane_max(v->y[RC_STATE_UP][lane], 0.0) - v->air_cell.knot[lane];
        const double along = v->air[RC_AIR_GUST_ALONG][lane] + dz * v->air[RC_AIR_GUST_ALONG_1][lane];
        const double across = v->air[RC_AIR_GUST_ACROSS][lane] + dz * v->air[RC_AIR_GUST_ACROSS_1][lane];
        const double low = v->air[RC_AIR_GUST_LOW][lane] + dz * v->air[RC_AIR_GUST_LOW_1][lane];
        const double ratio = v->air[RC_AIR_GUST_RATIO][lane] + dz * v->air[RC_AIR_GUST_RATIO_1][lane];
        const double vertical = low * v->gust_low[lane] + (1.0 - low) * v->gust_high[lane];
        uint64_t state = v->gust_state[lane];
        const uint64_t increment = v->gust_increment[lane];
        const double travel = dt * v->seen.speed[lane];
        double target[3];

        const double phi = rc_lane_exp(-travel / along);
        const double fresh = sqrt(rc_lane_max(1.0 - phi * phi, 0.0)) * rc_noise_deviate(&state, increment);
        const double x = phi * v->gust_filter[0][lane] + fresh;
        v->gust_filter[0][lane] = x;
        target[0] = vertical * x;

        const double a = travel / across;
        const double decay = rc_lane_exp(-a);
        const double square = decay * decay;
        const double s11 = 0.5 * (1.0 - square);
        const double s12 = 0.25 - square * (0.5 * a + 0.25);
        const double s22 = 0.25 - square * (0.5 * a * a + 0.5 * a + 0.25);
        const double l11 = sqrt(rc_lane_max(s11, 0.0));
        const double l21 = s12 / rc_lane_max(l11, 1e-9);
        const double l22 = sqrt(rc_lane_max(s22 - l21 * l21, 0.0));
        for (int axis = 0; axis < 2; axis++) {
            const double n1 = rc_noise_deviate(&state, increment), n2 = rc_noise_deviate(&state, increment);
            const double z1 = v->gust_filter[1 + 2 * axis][lane], z2 = v->gust_filter[2 + 2 * axis][lane];
            const double z1_next = decay * z1 + l11 * n1;
            const double z2_next = decay * (a * z1 + z2) + l21 * n1 + l22 * n2;
            v->gust_filter[1 + 2 * axis][lane] = z1_next;
            v->gust_filter[2 + 2 * axis][lane] = z2_next;
            target[1 + axis] = vertical * ratio * (1.73205080756887729353 * z1_next - 0.73205080756887729353 * z2_next);
        }
        v->gust_state[lane] = state;
        for (int axis = 0; axis < 3; axis++) {
            v->gust[axis][lane] += v->gust_change[axis][lane];
            v->gust_change[axis][lane] = target[axis] - v->gust[axis][lane];
        }
    }
}

/* Steady statistics: x of variance 1, (z1, z2) of covariance ((1/2, 1/4), (1/4, 1/4)). */
static void begin_lane_gusts(struct rc_block *block, int lane, uint64_t seed, uint64_t flight)
{
    struct rc_vehicle_lanes *const v = &block->v;
    const struct rc_wind_design *const wind = &block->design[lane]->wind;
    static const char name[] = "noise/gusts";
    const struct rc_pcg key = rc_stream_open(seed, flight, rc_hash_bytes(RC_FNV_START, name, sizeof name - 1));
    uint64_t state = key.state;
    v->gust_filter[0][lane] = rc_noise_deviate(&state, key.increment);
    for (int axis = 0; axis < 2; axis++) {
        const double n1 = rc_noise_deviate(&state, key.increment), n2 = rc_noise_deviate(&state, key.increment);
        v->gust_filter[1 + 2 * axis][lane] = sqrt(0.5) * n1;
        v->gust_filter[2 + 2 * axis][lane] = sqrt(0.125) * (n1 + n2);
    }
    v->gust_state[lane] = state;
    v->gust_increment[lane] = key.increment;
    /* The near-ground intensity is a tenth of the mean wind at 20 ft; the unit table gives that wind's share. */
    const int cell = rc_table_cell(&block->model->height, 20.0 * RC_GUST_FOOT);
    const double *const c = rc_derive_air_cell(block, lane, cell);
    const double dz = 20.0 * RC_GUST_FOOT - block->model->height.knot[cell];
    const double share = hypot(c[RC_AIR_EAST] + dz * c[RC_AIR_EAST_1], c[RC_AIR_NORTH] + dz * c[RC_AIR_NORTH_1]);
    v->gust_low[lane] = 0.1 * wind->speed * share * wind->gust_factor;
    v->gust_high[lane] = wind->gust_high;
}

void rc_gusts_begin(struct rc_block *block, uint64_t seed, const uint64_t *flights, int n)
{
    struct rc_vehicle_lanes *const v = &block->v;
    block->gust_time = 0.0;
    for (int lane = 0; lane < RC_LANES; lane++) {
        for (int axis = 0; axis < 3; axis++)
            v->gust[axis][lane] = v->gust_change[axis][lane] = 0.0;
        if (block->model->gust_ticks > 0)
            begin_lane_gusts(block, lane, seed, flights[lane < n ? lane : 0]);
    }
}

void rc_gusts_advance(struct rc_block *block)
{
    struct rc_vehicle_lanes *const v = &block->v;
    if (block->model->gust_ticks == 0 || block->tick % block->model->gust_ticks != 0)
        return;
    step_filters(v, block->model->gust_interval);
    block->gust_time = block->time;
    for (int axis = 0; axis < 3; axis++)
        for (int lane = 0; lane < RC_LANES; lane++)
            v->now.gust[axis][lane] = v->gust[axis][lane];
}
