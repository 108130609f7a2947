/* Trapezoidal fins from geometry. Every coefficient starts from the slender-body value S, which linear theory has at Mach 1:
 * below, S is bent towards the two-dimensional strip value T (Diederich's lift slope is that very form, so forcing and damping
 * share the lift's section slope); above, it is joined to supersonic linear theory of the panel on a reflection plane
 * (docs/theory.md "Aerodynamics"), whose one slope again serves lift, forcing and damping.
 * Thickness, stall and the sum over the vehicle are not here. */
#include "fins.h"

#include <assert.h>
#include <math.h>

static const double PI = 3.14159265358979323846;

/* ---- geometry and interference ---- */

struct rc_fins_planform rc_fins_planform_of(const struct rc_fin_set *set)
{
    const double root = set->root_chord, tip = set->tip_chord, span = set->span, radius = set->root_radius;
    const double area = 0.5 * (root + tip) * span;
    const double midchord_rise = set->sweep + 0.5 * (tip - root);
    return (struct rc_fins_planform){
        .area = area,
        .aspect_ratio = 2.0 * span * span / area,
        .cos_midchord = span / hypot(span, midchord_rise),
        .first = area * radius + (root + 2.0 * tip) * span * span / 6.0,
        .second = area * radius * radius + (root + 2.0 * tip) * radius * span * span / 3.0
                  + (root + 3.0 * tip) * span * span * span / 12.0,
        .mean_chord = (2.0 / 3.0) * (root + tip - root * tip / (root + tip)),
        .mean_edge = set->sweep / 3.0 * (root + 2.0 * tip) / (root + tip),
        .mean_radius = radius + span / 3.0 * (root + 2.0 * tip) / (root + tip),
    };
}

/* k_W(B), R1307's closed form in s = 1/t. */
static double cant_factor(double t)
{
    const double s = 1.0 / t;
    const double a = asin((s * s - 1.0) / (s * s + 1.0));
    const double p = (s * s + 1.0) * (s * s + 1.0) / (s * s * (s - 1.0) * (s - 1.0));
    const double q = (s + 1.0) / (s * (s - 1.0));
    const double sum = 0.25 * PI * PI * (s + 1.0) * (s + 1.0) / (s * s) + PI * p * a - 2.0 * PI * q + p * a * a - 4.0 * q * a
                       + 8.0 / ((s - 1.0) * (s - 1.0)) * log((s * s + 1.0) / (2.0 * s));
    return sum / (PI * PI);
}

struct rc_fins_interference rc_fins_interference_at(double ratio)
{
    /* both ends are limits of the closed forms, which divide by t and by 1 - t */
    const double t = fmin(fmax(ratio, 1e-4), 0.999);
    const double gap = 1.0 / t - t;
    const double upwash = (1.0 + t * t * t * t) * (0.5 * atan(0.5 * gap) + 0.25 * PI) - t * t * (gap + 2.0 * atan(t));
    const double fin = 2.0 / PI * upwash / ((1.0 - t) * (1.0 - t));
    const double cant = cant_factor(t);
    return (struct rc_fins_interference){
        .fin_incidence = fin,
        .body_incidence = (1.0 + t) * (1.0 + t) - fin,
        .fin_cant = cant,
        .body_cant = fin - cant,
    };
}

/* ---- slender-body theory ---- */

enum { N_RATIOS = 21 };
static const double SLENDER_ROLL[RC_MAX_FINS][N_RATIOS][2] = {
#include "fins_slender.def"
};

/* Four-point Lagrange interpolation in a row of the table. */
static double slender_roll(int n, int which, double ratio)
{
    const double place = ratio * (N_RATIOS - 1);
    const int start = (int)fmin(fmax(floor(place) - 1.0, 0.0), N_RATIOS - 4.0);
    const double x = place - start;
    const double weight[4] = {
        -(x - 1.0) * (x - 2.0) * (x - 3.0) / 6.0,
        x * (x - 2.0) * (x - 3.0) / 2.0,
        -x * (x - 1.0) * (x - 3.0) / 2.0,
        x * (x - 1.0) * (x - 2.0) / 6.0,
    };
    double sum = 0.0;
    for (int point = 0; point < 4; point++)
        sum += weight[point] * SLENDER_ROLL[n - 1][start + point][which];
    return sum * n * 0.5 * PI * (1.0 - ratio) * (1.0 - ratio);
}

/* Normal force of n fins over n/2 single panels of the mirrored fin: added mass 2 pi (c^2 - t^2) of the mapped circle c. */
static double slender_normal(int n, double t)
{
    const double alone = (1.0 + t) * (1.0 + t);
    if (n < 3)
        return alone;
    const double circle = pow(0.5 * (1.0 + pow(t, n)), 4.0 / n);
    return 8.0 / n * (circle - t * t) / ((1.0 - t) * (1.0 - t));
}

struct rc_fins_slender rc_fins_slender_at(int n, double ratio)
{
    assert(n >= 1 && n <= RC_MAX_FINS);
    const double t = fmin(fmax(ratio, 0.0), 0.999);
    return (struct rc_fins_slender){
        .damping = slender_roll(n, 0, t),
        .forcing = slender_roll(n, 1, t),
        .normal = slender_normal(n, t),
    };
}

/* ---- supersonic linear theory: one panel on a reflection plane ---- */

/* Integrals of the load per unit dynamic pressure over the exposed span: plain, times r, times r^2. */
struct panel_load {
    double lift, first, second;
};

/* The tip's Mach cone takes this from the strip's load at a distance from the tip; `fold` is the distance of the root, where
 * the cone is reflected. Evvard's integral for a supersonic leading edge; tau = tan(sweep)/beta. */
struct tip_cone {
    double span, tip_chord, root_chord, sweep, root_radius;
    double beta, tau;
};

/* Where along the span a distance from the tip lies, the reflected part counted back from the root. */
static double tip_cone_share(const struct tip_cone *cone, double distance)
{
    return fabs(1.0 - distance / cone->span);
}

/* Trailing edge behind the tip's leading edge, in units of beta. */
static double tip_cone_depth(const struct tip_cone *cone, double distance)
{
    const double slope = cone->sweep + cone->tip_chord - cone->root_chord;
    return (cone->root_chord + slope * tip_cone_share(cone, distance) - cone->sweep) / cone->beta;
}

static double tip_cone_loss(const struct tip_cone *cone, double distance)
{
    const double depth = tip_cone_depth(cone, distance);
    const double u = depth - distance, v = depth + distance;
    if (u <= 0.0)
        return 0.0;
    const double k = (1.0 + cone->tau) / (1.0 - cone->tau);
    const double z = fmin((k + 1.0) * u / (k * v + u), 1.0);
    const double chord = cone->beta * (depth + cone->tau * distance);
    return 2.0 / PI * (asin(sqrt(z)) - sqrt(z * (1.0 - z))) * chord / sqrt(1.0 - cone->tau * cone->tau);
}

/* Where the cone leaves the trailing edge between two distances; its depth is linear there. */
static double tip_cone_end(const struct tip_cone *cone, double from, double to)
{
    const double u_from = tip_cone_depth(cone, from) - from, u_to = tip_cone_depth(cone, to) - to;
    if (u_from <= 0.0)
        return from;
    return u_to >= 0.0 ? to : from + (to - from) * u_from / (u_from - u_to);
}

/* Subtract the cone's loss between two distances. Distances run as sin^2, which takes the root singularities at both ends. */
static void tip_cone_subtract(const struct tip_cone *cone, double from, double to, struct panel_load *load)
{
    /* Gauss-Legendre, 8 points, half of a symmetric rule on -1 .. 1. source Abramowitz and Stegun table 25.4 */
    static const double node[4] = {0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363};
    static const double weight[4] = {0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763};
    for (int point = 0; point < 8; point++) {
        const double x = point < 4 ? node[point] : -node[point - 4];
        const double angle = 0.25 * PI * (1.0 + x);
        const double s = sin(angle);
        const double distance = from + (to - from) * s * s;
        const double width = 0.25 * PI * weight[point % 4] * (to - from) * 2.0 * s * cos(angle);
        const double radius = cone->root_radius + cone->span * tip_cone_share(cone, distance);
        const double lost = tip_cone_loss(cone, distance) * width;
        load->lift -= lost;
        load->first -= lost * radius;
        load->second -= lost * radius * radius;
    }
}

/* Complete elliptic integral of the second kind E(m), by the arithmetic-geometric mean. source DLMF 19.8.6 */
static double elliptic_second(double m)
{
    double a = 1.0, b = sqrt(1.0 - m), power = 0.5, sum = 0.5 * m;
    for (int round = 0; round < 8 && a - b > 1e-12; round++) {
        const double c = 0.5 * (a - b), mean = 0.5 * (a + b);
        b = sqrt(a * b);
        a = mean;
        power *= 2.0;
        sum += power * c * c;
    }
    return 0.5 * PI / a * (1.0 - sum);
}

/* Supersonic load of one panel. Exact in linear theory for a rectangle at incidence and, without tip, for a triangle; swept
 * trapezoids were set against a numerical solution of linear theory, see docs/theory.md for the errors. */
static struct panel_load panel_load_at(const struct rc_fin_set *set, const struct rc_fins_planform *plan, double beta)
{
    const double tangent = fabs(set->sweep) / set->span;
    const double edge = beta / fmax(tangent, 1e-9 * beta); /* above 1: supersonic leading edge */
    const struct tip_cone cone = {
        .span = set->span, .tip_chord = set->tip_chord, .root_chord = set->root_chord, .sweep = set->sweep,
        .root_radius = set->root_radius, .beta = beta, .tau = fmin(1.0 / edge, 0.8),
    };
    struct panel_load load = {plan->area, plan->first, plan->second};
    const double first_end = tip_cone_end(&cone, 0.0, set->span);
    tip_cone_subtract(&cone, 0.0, first_end, &load);
    if (first_end >= set->span)
        tip_cone_subtract(&cone, set->span, tip_cone_end(&cone, set->span, 2.0 * set->span), &load);
    /* a forward-swept fin of low aspect ratio would lose more than all */
    load = (struct panel_load){fmax(load.lift, 0.25 * plan->area), fmax(load.first, 0.25 * plan->first),
                               fmax(load.second, 0.25 * plan->second)};
    double slope = 4.0 / beta;
    if (edge < 1.0)
        slope *= 0.5 * PI * edge / elliptic_second(1.0 - edge * edge);
    /* the tip's leading edge is not sharp enough in a subsonic cone: hold the lift near its peak at beta A = 1, 4/pi of S */
    const double cap = 4.0 * set->span * set->span / sqrt(fmax(tangent / hypot(1.0, tangent), 1e-12));
    const double excess = slope * load.lift / cap;
    slope *= pow(1.0 + excess * excess * excess * excess, -0.25);
    return (struct panel_load){slope * load.lift, slope * load.first, slope * load.second};
}

/* ---- one set over Mach ---- */

/* Slender value S bent towards the strip value T as the aspect ratio grows. */
static double bent(double slender, double strip)
{
    const double x = 2.0 * slender / strip;
    return 2.0 * slender / (1.0 + sqrt(1.0 + x * x));
}

/* Relative step in beta for the slope at a joint. */
static const double JOINT_STEP = 0.01;

/* How far a quantity has come from its value at Mach 1 to that at a joining beta, both as functions of beta^2: a cubic without
 * slope at Mach 1 and with the supersonic theory's own slope where it is joined, so that no kink is left. */
struct joining {
    double value;  /* weight of the supersonic value at the joint           */
    double slope;  /* weight of its slope over (beta/beta_joined)^2 there   */
};

static struct joining joining_at(double beta, double beta_joined)
{
    const double x = fmin(beta * beta / (beta_joined * beta_joined), 1.0);
    return (struct joining){.value = x * x * (3.0 - 2.0 * x), .slope = x * x * (x - 1.0)};
}

static double joined(const struct joining *joining, double sonic, double joint, double beyond)
{
    return sonic + joining->value * (joint - sonic) + joining->slope * (beyond - joint) / (JOINT_STEP * (2.0 + JOINT_STEP));
}

/* Beta from which the panel theory holds for the lift: the tip cone no longer reaches past the mirrored fin (beta A = 1), and
 * not nearer to Mach 1 than 1.166, where thickness rules and linear theory's peak is not met by real fins. */
static double panel_beta(const struct rc_fins_planform *plan)
{
    return fmax(1.0 / plan->aspect_ratio, 0.6);
}

/* The same for the roll: also, the Mach line from the neighbour's root leading edge leaves the mean chord untouched. */
static double parting_beta(const struct rc_fins_planform *plan, double root_radius, int n)
{
    const double r = plan->mean_radius, across = 2.0 * r * root_radius * cos(2.0 * PI / n);
    const double neighbour = n > 1 ? sqrt(r * r + root_radius * root_radius - across) : r + root_radius;
    return fmax(panel_beta(plan), plan->mean_chord / neighbour);
}

/* Share of the mean chord at which the force acts: a quarter below Mach 1, (B - 0.67)/(2B - 1) for B = beta A >= 1. */
static double chord_share(double mach, double product)
{
    if (mach <= 1.0)
        return 0.25;
    if (product < 1.0)
        return 0.25 + 0.08 * joining_at(product, 1.0).value + 0.17 * joining_at(product, 1.0).slope; /* 0.34/2: slope over B^2 */
    return (product - 0.67) / (2.0 * product - 1.0);
}

/* Lift of one panel, roll moment and roll damping of the set in slender-body theory, per q; areas and moments undivided. */
static struct panel_load slender_load(const struct rc_fin_set *set, const struct rc_fins_slender *slender)
{
    const double tip = set->root_radius + set->span;
    return (struct panel_load){
        .lift = PI * set->span * set->span,
        .first = 2.0 * slender->forcing * tip * tip * tip,
        .second = 2.0 * slender->damping * tip * tip * tip * tip,
    };
}

static struct panel_load subsonic_load(const struct rc_fins_planform *plan, const struct panel_load *slender, int n, double beta)
{
    const double section = 2.0 * PI * plan->cos_midchord / fmax(beta, 1e-6);
    return (struct panel_load){
        .lift = bent(slender->lift, section * plan->area),
        .first = bent(slender->first, n * section * plan->first),
        .second = bent(slender->second, n * section * plan->second),
    };
}

/* The panel's load beyond a joint as it is, before it on the way from the slender load; n fins' worth of moments. */
static struct panel_load joined_load(const struct rc_fin_set *set, const struct rc_fins_planform *plan,
                                     const struct panel_load *slender, double beta, double beta_joined)
{
    if (beta >= beta_joined)
        return panel_load_at(set, plan, beta);
    const struct joining joining = joining_at(beta, beta_joined);
    const struct panel_load joint = panel_load_at(set, plan, beta_joined);
    const struct panel_load beyond = panel_load_at(set, plan, beta_joined * (1.0 + JOINT_STEP));
    return (struct panel_load){
        .lift = joined(&joining, slender->lift, joint.lift, beyond.lift),
        .first = joined(&joining, slender->first, joint.first, beyond.first),
        .second = joined(&joining, slender->second, joint.second, beyond.second),
    };
}

static struct panel_load supersonic_load(const struct rc_fin_set *set, const struct rc_fins_planform *plan,
                                         const struct panel_load *slender, int n, double beta)
{
    const struct panel_load share = {slender->lift, slender->first / n, slender->second / n};
    const struct panel_load lift = joined_load(set, plan, &share, beta, panel_beta(plan));
    const struct panel_load roll = joined_load(set, plan, &share, beta, parting_beta(plan, set->root_radius, n));
    return (struct panel_load){.lift = lift.lift, .first = n * roll.first, .second = n * roll.second};
}

/* Product and sum of two stations. */
struct stations {
    double product, sum;
};

static struct stations stations_between(struct stations from, struct stations to, double weight)
{
    return (struct stations){from.product + weight * (to.product - from.product), from.sum + weight * (to.sum - from.sum)};
}

/* The two stations of a slow plane swing, what growing incidence does included: both at the trailing edge for a slender fin, so
 * at Mach 1; middle and three-quarter chord for a strip in subsonic flow; both where the force acts in supersonic flow.
 * in share  of the slender value that the lift has, below Mach 1; lead  mean chord's leading edge [m] */
static struct stations swing_at(const struct rc_fins_planform *plan, double lead, double station, double mach, double share)
{
    const double chord = plan->mean_chord, tail = lead + chord;
    const struct stations slender = {tail * tail, 2.0 * tail}, still = {station * station, 2.0 * station};
    const struct stations strip = {(lead + 0.5 * chord) * (lead + 0.75 * chord), 2.0 * lead + 1.25 * chord};
    if (mach < 1.0)
        return stations_between(strip, slender, share);
    return stations_between(slender, still, joining_at(sqrt(mach * mach - 1.0), panel_beta(plan)).value);
}

struct rc_fins_coefficients rc_fins_coefficients_at(const struct rc_fin_set *set, int n, double diameter, double mach)
{
    const struct rc_fins_planform plan = rc_fins_planform_of(set);
    const double ratio = set->root_radius / (set->root_radius + set->span);
    const struct rc_fins_slender star = rc_fins_slender_at(n, ratio);
    const struct panel_load slender = slender_load(set, &star);
    const double beta = sqrt(fabs(mach * mach - 1.0));
    const struct panel_load load = mach < 1.0 ? subsonic_load(&plan, &slender, n, beta)
                                              : supersonic_load(set, &plan, &slender, n, beta);
    /* fins crowd each other like slender ones until their Mach cones part */
    const double alone = (1.0 + ratio) * (1.0 + ratio);
    const double parted = mach > 1.0 ? joining_at(beta, parting_beta(&plan, set->root_radius, n)).value : 0.0;
    const double reference = 0.25 * PI * diameter * diameter;
    const double one = load.lift / reference;
    const double lead = set->station + plan.mean_edge;
    const double station = lead + plan.mean_chord * chord_share(mach, beta * plan.aspect_ratio);
    const struct stations swing = swing_at(&plan, lead, station, mach, load.lift / slender.lift);
    return (struct rc_fins_coefficients){
        .slope_one = one,
        .normal = 0.5 * n * one * (star.normal + parted * (alone - star.normal)),
        .station = station,
        .swing = {swing.product, swing.sum},
        .own = one * rc_fins_interference_at(ratio).fin_incidence,
        .cl_delta = load.first / (reference * diameter),
        .cl_p = -2.0 * load.second / (reference * diameter * diameter),
    };
}

struct rc_fins_coefficients rc_fins_free_at(const struct rc_fin_set *set, int n, double diameter, double mach)
{
    const struct rc_fins_planform plan = rc_fins_planform_of(set);
    struct rc_fins_coefficients c = rc_fins_coefficients_at(set, n, diameter, mach);
    c.own = c.slope_one;
    c.normal = 0.5 * n * c.slope_one;
    c.cl_delta = n * c.slope_one * plan.first / (plan.area * diameter);
    c.cl_p = -2.0 * n * c.slope_one * plan.second / (plan.area * diameter * diameter);
    return c;
}
