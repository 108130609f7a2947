/* Descent in lanes. Each lane takes its own steps, since nothing ticks any more: as long as the drag's time constant allows, and
 * cut so that they end where something opens and on the ground. Canopies open at once and drift with the air. */
#include "descent.h"

#include <math.h>

#include "atmosphere.h"
#include "derive.h"
#include "numeric/lane_math.h"

/* A step is at most this share of the time constant of the drag: the small one while speed changes, the large one, still well
 * inside the method's stability, where weight and drag nearly balance. And it is at most this long. */
static const double share_changing = 0.25;
static const double share_steady = 1.5;
static const double longest_step = 2.0; /* [s] */
/* A flight that is not down after this many steps is given up: its landing stays blank. Steps go with height times drag area
 * over mass, 1.2/1.5 of them at sea level: room for 80 m2/kg from 3 km, where nothing that flies sinks so slowly (0.4 m/s). */
enum { MOST_STEPS = 200000 };

bool rc_descent_is_endless(const struct rc_descent_design *descent, double height)
{
    const double sea_level = 1.225; /* [kg/m3]. source USSA1976 */
    const double above = descent->body_area + (descent->drogue_works > 0.5 ? descent->drogue_area : 0.0);
    const double below = above + (descent->main_works > 0.5 ? descent->main_area : 0.0);
    const double low = fmin(descent->main_height, height);
    return sea_level / share_steady * (above * (height - low) + below * low) / descent->mass > MOST_STEPS;
}

struct fall {
    rc_lane y[6], stage[6], sum[6], k[6]; /* east, north, up [m] and their rates [m/s]     */
    rc_lane time;                         /* since apogee [s]                              */
    rc_lane h;                            /* step [s]                                      */
    rc_lane area;                         /* drag area now [m2]                            */
    rc_lane per_mass;                     /* [1/kg]                                        */
    rc_lane airspeed, density;            /* [m/s], [kg/m3] at the last right-hand side    */
    rc_lane drogue_speed, main_speed;     /* [m/s], NAN until it opens                     */
    rc_lane drogue_time;                  /* when it opens, INFINITY = never [s]           */
    rc_lane main_height;                  /* where it opens, -INFINITY = never [m]         */
    rc_lane is_down;                      /* 1 on the ground or not in this phase at all   */
};

RC_KERNEL static void derive_fall(const struct rc_vehicle_lanes *v, struct fall *f, const rc_lane *y)
{
    RC_FOR_LANES(lane)
    {
        const double dz = rc_lane_max(y[2][lane], 0.0) - v->air_cell.knot[lane];
        const double density =
            v->air[RC_AIR_DENSITY][lane] + dz * (v->air[RC_AIR_DENSITY_1][lane] + dz * v->air[RC_AIR_DENSITY_2][lane]);
        const double ve = y[3][lane] - (v->air[RC_AIR_EAST][lane] + dz * v->air[RC_AIR_EAST_1][lane]);
        const double vn = y[4][lane] - (v->air[RC_AIR_NORTH][lane] + dz * v->air[RC_AIR_NORTH_1][lane]);
        const double vu = y[5][lane];
        const double speed = sqrt(ve * ve + vn * vn + vu * vu);
        const double drag = 0.5 * density * speed * f->area[lane] * f->per_mass[lane]; /* [1/s] */
        const double ratio = RC_EARTH_RADIUS / (RC_EARTH_RADIUS + v->elevation[lane] + y[2][lane]);
        f->airspeed[lane] = speed;
        f->density[lane] = density;
        f->k[0][lane] = y[3][lane];
        f->k[1][lane] = y[4][lane];
        f->k[2][lane] = vu;
        f->k[3][lane] = -drag * ve;
        f->k[4][lane] = -drag * vn;
        f->k[5][lane] = -drag * vu - 9.80665 * ratio * ratio;
    }
}

static void slope(struct rc_block *block, struct fall *f, const rc_lane *y)
{
    rc_derive_fetch_air(block, y[2]);
    derive_fall(&block->v, f, y);
}

/* The longest step that drag, the next opening and the ground allow, from the slope at y. */
RC_KERNEL static void choose_step(struct fall *f)
{
    RC_FOR_LANES(lane)
    {
        /* One over the time constant: at this airspeed, or at the steady one that it will grow to. */
        const double grip = f->density[lane] * f->area[lane] * f->per_mass[lane]; /* [1/m] */
        const double rate = rc_lane_max(grip * f->airspeed[lane], sqrt(2.0 * 9.80665 * grip));
        const double ae = f->k[3][lane], an = f->k[4][lane], au = f->k[5][lane];
        const double unrest = sqrt(ae * ae + an * an + au * au) * (1.0 / 9.80665);
        const double share = rc_lane_max(share_changing, share_steady * (1.0 - 10.0 * unrest));
        const double by_drag = rc_lane_min(share / rc_lane_max(rate, 1e-9), longest_step);
        const double to_drogue = f->drogue_time[lane] - f->time[lane];
        const double by_drogue = to_drogue > 0.0 ? rc_lane_min(by_drag, to_drogue) : by_drag;
        /* Time to the main's height, or to the ground, at the present speed or, where it still grows, acceleration: neither
         * arrives too late, so that a few cuts meet it to a millimetre from above. */
        const double up = f->y[2][lane], fall = -f->y[5][lane], gain = rc_lane_max(-au, 0.0);
        const double floor_height = ((f->main_height[lane] < up) & (f->main_height[lane] > 0.0)) ? f->main_height[lane] : 0.0;
        const double left = rc_lane_max(up - floor_height, 0.0);
        const double denominator = fall + sqrt(fall * fall + 2.0 * gain * left);
        const double to_floor = denominator > 1e-9 ? 2.0 * left / denominator : longest_step;
        const double h = rc_lane_min(by_drogue, rc_lane_max(to_floor, 1e-6));
        f->h[lane] = f->is_down[lane] > 0.5 ? 0.0 : h;
    }
}

RC_KERNEL static void stage(struct fall *f, double share, double weight)
{
    for (int i = 0; i < 6; i++)
        RC_FOR_LANES(lane)
        {
            f->sum[i][lane] += weight * f->k[i][lane];
            f->stage[i][lane] = f->y[i][lane] + share * f->h[lane] * f->k[i][lane];
        }
}

RC_KERNEL static void finish_step(struct fall *f)
{
    for (int i = 0; i < 6; i++)
        RC_FOR_LANES(lane)
        {
            f->y[i][lane] += f->h[lane] * (1.0 / 6.0) * (f->sum[i][lane] + f->k[i][lane]);
            f->sum[i][lane] = 0.0;
        }
    RC_FOR_LANES(lane)
    f->time[lane] += f->h[lane];
}

/* Open what is due, and see who is down.
 * out  n_falling  lanes still falling
 * ends whether anything opened */
static bool open_and_land(struct rc_block *block, struct fall *f, int *n_falling)
{
    bool has_opened = false;
    *n_falling = 0;
    for (int lane = 0; lane < RC_LANES; lane++) {
        const struct rc_descent_design *const descent = &block->design[lane]->descent;
        if (f->is_down[lane] > 0.5)
            continue;
        if (f->time[lane] >= f->drogue_time[lane] - 1e-9) {
            f->drogue_speed[lane] = f->airspeed[lane];
            f->area[lane] += descent->drogue_area;
            f->drogue_time[lane] = INFINITY;
            has_opened = true;
        }
        if (f->y[2][lane] <= f->main_height[lane] + 1e-3) {
            f->main_speed[lane] = f->airspeed[lane];
            f->area[lane] += descent->main_area;
            f->main_height[lane] = -INFINITY;
            has_opened = true;
        }
        f->is_down[lane] = f->y[2][lane] <= 1e-3 ? 1.0 : 0.0;
        *n_falling += f->is_down[lane] < 0.5;
    }
    return has_opened;
}

static int begin_fall(struct rc_block *block, struct fall *f)
{
    int n_falling = 0;
    for (int lane = 0; lane < RC_LANES; lane++) {
        const struct rc_descent_design *const descent = &block->design[lane]->descent;
        const bool is_due = !block->is_spare[lane] && block->record[lane]->end == RC_END_APOGEE;
        for (int i = 0; i < 6; i++) {
            f->y[i][lane] = is_due ? block->v.apogee[i][lane] : 0.0;
            f->sum[i][lane] = 0.0;
        }
        f->time[lane] = 0.0;
        f->area[lane] = descent->body_area;
        f->per_mass[lane] = 1.0 / descent->mass;
        f->drogue_speed[lane] = f->main_speed[lane] = NAN;
        f->drogue_time[lane] = descent->drogue_works > 0.5 ? descent->drogue_delay : INFINITY;
        f->main_height[lane] = descent->main_works > 0.5 ? descent->main_height : -INFINITY;
        f->is_down[lane] = is_due ? 0.0 : 1.0;
        n_falling += is_due;
    }
    return n_falling;
}

static void finish_fall(struct rc_block *block, const struct fall *f, int lane)
{
    double *const measure = block->record[lane]->measure;
    const double east = f->y[0][lane], north = f->y[1][lane];
    measure[RC_MEASURE_landing_east_m] = east;
    measure[RC_MEASURE_landing_north_m] = north;
    measure[RC_MEASURE_landing_distance_m] = sqrt(east * east + north * north);
    measure[RC_MEASURE_landing_speed_mps] =
        sqrt(f->y[3][lane] * f->y[3][lane] + f->y[4][lane] * f->y[4][lane] + f->y[5][lane] * f->y[5][lane]);
    measure[RC_MEASURE_descent_s] = f->time[lane];
    measure[RC_MEASURE_drogue_speed_mps] = f->drogue_speed[lane];
    measure[RC_MEASURE_main_speed_mps] = f->main_speed[lane];
}

void rc_descent_fly(struct rc_block *block)
{
    struct fall fall;
    int n_falling = begin_fall(block, &fall);
    for (int step = 0; n_falling > 0 && step < MOST_STEPS; step++) {
        slope(block, &fall, fall.y);
        if (open_and_land(block, &fall, &n_falling))
            slope(block, &fall, fall.y);
        choose_step(&fall);
        stage(&fall, 0.5, 1.0);
        slope(block, &fall, fall.stage);
        stage(&fall, 0.5, 2.0);
        slope(block, &fall, fall.stage);
        stage(&fall, 1.0, 2.0);
        slope(block, &fall, fall.stage);
        finish_step(&fall);
    }
    for (int lane = 0; lane < RC_LANES; lane++)
        if (!block->is_spare[lane] && block->record[lane]->end == RC_END_APOGEE && fall.is_down[lane] > 0.5)
            finish_fall(block, &fall, lane);
}
