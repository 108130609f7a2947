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

static const char *fin_fault(const struct rc_vehicle_design *v, int n_sections, int which, const char **path)
{
    const struct rc_fin_set *const set = &v->fins[which];
    if (set->station + set->root_chord > v->length * (1 + same_length)) {
        *path = fin_path[which][FIN_STATION];
        return "a place where the whole root chord is on the vehicle: station_m + root_chord_m at most vehicle.length_m";
    }
    if (set->station < v->nose_length * (1 - same_length)) {
        *path = fin_path[which][FIN_STATION];
        return "a place behind the nose, whose contour no fin follows: at least vehicle.nose_length_m";
    }
    if (set->thickness > 0.5 * set->root_chord) {
        *path = fin_path[which][FIN_THICKNESS];
        return "at most half of root_chord_m";
    }
    const struct rc_layout layout = {.n_sections = n_sections};
    const double surface = rc_body_radius_at(v, &layout, set->station + 0.5 * set->root_chord);
    const bool is_on_body = fabs(set->root_radius - surface) <= off_surface * surface;
    if (!is_on_body && (which == 0 || set->root_radius < surface || !is_on_fins(set, &v->fins[0]))) {
        *path = fin_path[which][FIN_ROOT_RADIUS];
        return which == 0 ? "the body's radius at the middle of the root chord to within 5 %: the fins are off the tube"
                          : "the body's radius to within 5 %, or a place on the first set's fins: the fins are off the vehicle";
    }
    return NULL;
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
    return NULL;
}

const char *rc_shape_fault(const struct rc_design *design, const struct rc_settings *settings, const char **path)
{
    const struct rc_vehicle_design *const v = &design->vehicle;
    const char *wanted = body_fault(v, settings->n_sections, path);
    for (int set = 0; set < settings->n_fin_sets && set < RC_MAX_FIN_SETS && !wanted; set++)
        wanted = fin_fault(v, settings->n_sections, set, path);
    const double base = settings->n_sections > 0 ? v->sections[settings->n_sections - 1].aft_diameter : v->diameter;
    if (!wanted && design->motor.exit_area > 0.7853981633974483 * base * base) {
        *path = "motor.exit_area_m2";
        wanted = "at most the area of the vehicle's base";
    }
    return wanted ? wanted : line_fault(design, path);
}
