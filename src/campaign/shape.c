/* Relations between the lengths of one vehicle. Ranges of single entries are the tables', weights and drives are in checks.c. */
#include "shape.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

#include "flight/body.h"

/* Lengths closer than this share are one, and diameters closer than that. */
static const double same_length = 1e-9, same_diameter = 0.01;

/* A root this much off the surface, as a share of the radius, is off the body. */
static const double off_surface = 0.05;

/* The same at the root's ends: a root that follows a boat-tail counts with its mid-chord, its ends are off by half the taper. */
static const double off_at_ends = 0.15;

/* Entries of the members of a list. */
enum member_entry { STATION, LENGTH, FORE_DIAMETER, N_BODY_ENTRIES };
static const char *const body_path[RC_MAX_SECTIONS][N_BODY_ENTRIES] = {
    {"body[0].station_m", "body[0].length_m", "body[0].fore_diameter_m"},
    {"body[1].station_m", "body[1].length_m", "body[1].fore_diameter_m"},
    {"body[2].station_m", "body[2].length_m", "body[2].fore_diameter_m"},
    {"body[3].station_m", "body[3].length_m", "body[3].fore_diameter_m"},
};
enum fin_entry { FIN_STATION, FIN_THICKNESS, FIN_ROOT_RADIUS, N_FIN_ENTRIES };
static const char *const fin_path[RC_MAX_FIN_SETS][N_FIN_ENTRIES] = {
    {"fins[0].station_m", "fins[0].thickness_m", "fins[0].root_radius_m"},
    {"fins[1].station_m", "fins[1].thickness_m", "fins[1].root_radius_m"},
};

static const double pi = 3.14159265358979323846;

static const char *body_fault(const struct rc_vehicle_design *v, int n_sections, const char **path)
{
    double end = v->nose_length, diameter = v->diameter;
    for (int i = 0; i < n_sections; i++) {
        const struct rc_body_section *const section = &v->sections[i];
        if (section->station < end - same_length * v->length) {
            *path = body_path[i][STATION];
            return i == 0 ? "a place behind the nose: at least vehicle.nose.length_m"
                          : "a place behind the section before it: at least that one's station_m + length_m";
        }
        end = section->station + section->length;
        if (end > v->length * (1 + same_length)) {
            *path = body_path[i][LENGTH];
            return "a section that ends on the vehicle: station_m + length_m at most vehicle.length_m";
        }
        if (fabs(section->fore_diameter - diameter) > same_diameter * diameter) {
            *path = body_path[i][FORE_DIAMETER];
            return i == 0 ? "vehicle.diameter_m to within 1 %: the body has no steps"
                          : "aft_diameter_m of the section before it to within 1 %: the body has no steps";
        }
        diameter = section->aft_diameter;
    }
    return NULL;
}

/* Does a set stand on the fins of the first one? */
static bool is_on_fins(const struct rc_fin_set *set, const struct rc_fin_set *first)
{
    const double first_end = first->station + fmax(first->root_chord, first->sweep + first->tip_chord);
    return set->root_radius <= first->root_radius + first->span && set->station < first_end &&
           set->station + set->root_chord > first->station;
}

/* How far a root is off the surface at a share of its chord, as a share of the body's radius there; negative within. */
static double root_gap(const struct rc_vehicle_design *v, int n_sections, const struct rc_fin_set *set, double share)
{
    const struct rc_layout layout = {.n_sections = n_sections};
    const double surface = rc_body_radius_at(v, &layout, set->station + share * set->root_chord);
    return set->root_radius / surface - 1;
}

/* Does a set stand on something? */
static const char *root_fault(const struct rc_vehicle_design *v, int n_sections, int which)
{
    const struct rc_fin_set *const set = &v->fins[which];
    const double gap = root_gap(v, n_sections, set, 0.5);
    if (fabs(gap) <= off_surface) {
        const double off = fmax(fabs(root_gap(v, n_sections, set, 0)), fabs(root_gap(v, n_sections, set, 1)));
        return off <= off_at_ends ? NULL
                                  : "the body's radius to within 15 % at both ends of the root chord: an end is off the body";
    }
    if (which > 0 && gap > 0 && is_on_fins(set, &v->fins[0]))
        return NULL;
    return which == 0 ? "the body's radius at the middle of the root chord to within 5 %: the fins are off the tube"
                      : "the body's radius to within 5 %, or a place on the first set's fins: the fins are off the vehicle";
}

/* Do two sets on the body take the same place: overlapping roots, and a fin of each closer in roll than they are thick? */
static bool is_same_place(const struct rc_fin_set *a, int n_a, const struct rc_fin_set *b, int n_b)
{
    if (a->station + a->root_chord <= b->station || b->station + b->root_chord <= a->station)
        return false;
    const double apart = 0.5 * (a->thickness + b->thickness) / fmin(a->root_radius, b->root_radius);
    for (int fin = 0; fin < n_a; fin++) {
        for (int other = 0; other < n_b; other++) {
            const double angle = a->first_angle + 2 * pi * fin / n_a - b->first_angle - 2 * pi * other / n_b;
            if (fabs(remainder(angle, 2 * pi)) < apart)
                return true;
        }
    }
    return false;
}

static const char *fin_fault(const struct rc_vehicle_design *v, int n_sections, int which, const char **path)
{
    const struct rc_fin_set *const set = &v->fins[which];
    *path = fin_path[which][FIN_STATION];
    if (set->station + set->root_chord > v->length * (1 + same_length))
        return "a place where the whole root chord is on the vehicle: station_m + root_chord_m at most vehicle.length_m";
    if (set->station < v->nose_length * (1 - same_length))
        return "a place behind the nose, whose contour no fin follows: at least vehicle.nose.length_m";
    *path = fin_path[which][FIN_THICKNESS];
    if (set->thickness > 0.5 * set->root_chord)
        return "at most half of root_chord_m";
    if (set->tip_chord > 0 && set->thickness > set->tip_chord)
        return "at most tip_chord_m, or a pointed tip, tip_chord_m 0";
    *path = fin_path[which][FIN_ROOT_RADIUS];
    return root_fault(v, n_sections, which);
}

static const char *fins_fault(const struct rc_vehicle_design *v, const struct rc_settings *settings, const char **path)
{
    const int n = settings->n_fin_sets < RC_MAX_FIN_SETS ? settings->n_fin_sets : RC_MAX_FIN_SETS;
    const char *wanted = NULL;
    for (int set = 0; set < n && !wanted; set++)
        wanted = fin_fault(v, settings->n_sections, set, path);
    if (wanted || n < 2 || root_gap(v, settings->n_sections, &v->fins[1], 0.5) > off_surface) /* tabs on fins are none of this */
        return wanted;
    *path = fin_path[1][FIN_STATION];
    return is_same_place(&v->fins[0], (int)settings->fins[0].count, &v->fins[1], (int)settings->fins[1].count)
        ? "a place off the first set's roots, or another first_fin_deg: fins of both sets stand in the same place"
        : NULL;
}

/* Thrust line and centre of mass. */
static const char *line_fault(const struct rc_design *design, const char **path)
{
    const struct rc_vehicle_design *const v = &design->vehicle;
    if (v->cm_offset >= 0.5 * v->diameter) {
        *path = "vehicle.mass.offset_m";
        return "less than half of vehicle.diameter_m: the centre of mass is outside the vehicle";
    }
    if (design->motor.offset >= 0.5 * v->diameter) {
        *path = "motor.offset_m";
        return "less than half of vehicle.diameter_m: the thrust line is outside the vehicle";
    }
    if (design->motor.nozzle_station > v->length + v->diameter) {
        *path = "motor.nozzle_station_m";
        return "at most vehicle.length_m and a diameter more: the nozzle is off the vehicle";
    }
    if (design->motor.nozzle_station < v->nose_length * (1 - same_length)) {
        *path = "motor.nozzle_station_m";
        return "a place behind the nose, at least vehicle.nose.length_m: no nozzle opens out of a nose";
    }
    return NULL;
}

const char *rc_shape_fault(const struct rc_design *design, const struct rc_settings *settings, const char **path)
{
    const struct rc_vehicle_design *const v = &design->vehicle;
    const char *wanted = body_fault(v, settings->n_sections, path);
    if (!wanted)
        wanted = fins_fault(v, settings, path);
    const double base = settings->n_sections > 0 ? v->sections[settings->n_sections - 1].aft_diameter : v->diameter;
    if (!wanted && design->motor.exit_area > 0.7853981633974483 * base * base) {
        *path = "motor.exit_area_m2";
        wanted = "at most the area of the vehicle's base";
    }
    return wanted ? wanted : line_fault(design, path);
}
