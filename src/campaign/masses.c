/* Relations between masses, centres and inertias. Plain comparisons of two entries are in checks.c, lengths in shape.c. */
#include "masses.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

/* Centres and inertias are given rounded: their differences may be off by these shares of the length and of the inertia. */
static const double rounded_centre = 0.005, rounded_inertia = 0.02;

static double body_radius(const struct rc_vehicle_design *v, const struct rc_settings *settings)
{
    double radius = 0.5 * v->diameter;
    for (int i = 0; i < settings->n_sections; i++)
        radius = fmax(radius, 0.5 * fmax(v->sections[i].fore_diameter, v->sections[i].aft_diameter));
    return radius;
}

/* How far the vehicle's matter may lie from its axis, fins included, and from the nose tip. */
static double greatest_radius(const struct rc_vehicle_design *v, const struct rc_settings *settings)
{
    double radius = body_radius(v, settings);
    for (int set = 0; set < settings->n_fin_sets; set++)
        radius = fmax(radius, v->fins[set].root_radius + v->fins[set].span);
    return radius;
}

static double rear_end(const struct rc_vehicle_design *v, const struct rc_settings *settings)
{
    double end = v->length;
    for (int set = 0; set < settings->n_fin_sets; set++)
        end = fmax(end, v->fins[set].station + v->fins[set].sweep + v->fins[set].tip_chord);
    return end;
}

/* The greatest pitch inertia of a mass with this centre: half of it, weighed by the lever, at either end of the vehicle. */
static double greatest_pitch(double mass, double centre, double end, double roll_inertia)
{
    return mass * centre * (end - centre) + 0.5 * roll_inertia;
}

const char *rc_masses_fault(const struct rc_design *design, const struct rc_settings *settings, const char **path)
{
    const struct rc_vehicle_design *const v = &design->vehicle;
    const double radius = greatest_radius(v, settings), end = rear_end(v, settings), platform = design->platform.inertia;
    const struct {
        const char *path, *wanted;
        bool is_met;
    } relation[] = {
        {"vehicle.mass.loaded_roll_inertia_kgm2", "at most twice loaded_pitch_inertia_kgm2, as every body has",
         v->ix_loaded <= 2 * v->iy_loaded},
        {"vehicle.mass.burnt_roll_inertia_kgm2", "at most twice burnt_pitch_inertia_kgm2, as every body has",
         v->ix_burnt <= 2 * v->iy_burnt},
        {"vehicle.mass.loaded_roll_inertia_kgm2", "at most loaded_kg times the square of the fins' outer radius; check the unit",
         v->ix_loaded <= v->mass_loaded * radius * radius},
        {"vehicle.mass.burnt_roll_inertia_kgm2", "at most burnt_kg times the square of the fins' outer radius; check the unit",
         v->ix_burnt <= v->mass_burnt * radius * radius},
        {"vehicle.mass.loaded_pitch_inertia_kgm2",
         "at most what loaded_kg has at the vehicle's two ends about loaded_cm_m; check the unit",
         v->iy_loaded <= greatest_pitch(v->mass_loaded, v->cm_loaded, end, v->ix_loaded + platform)},
        {"vehicle.mass.burnt_pitch_inertia_kgm2",
         "at most what burnt_kg has at the vehicle's two ends about burnt_cm_m; check the unit",
         v->iy_burnt <= greatest_pitch(v->mass_burnt, v->cm_burnt, end, v->ix_burnt + platform)},
    };
    for (size_t index = 0; index < sizeof relation / sizeof relation[0]; index++) {
        if (!relation[index].is_met) {
            *path = relation[index].path;
            return relation[index].wanted;
        }
    }
    return NULL;
}

bool rc_masses_is_propellant_inside(const struct rc_design *design, const struct rc_settings *settings)
{
    const struct rc_vehicle_design *const v = &design->vehicle;
    const double moment = v->mass_loaded * v->cm_loaded - v->mass_burnt * v->cm_burnt;
    const double rounding = rounded_centre * v->length * (v->mass_loaded + v->mass_burnt);
    return moment >= -rounding && moment <= (v->mass_loaded - v->mass_burnt) * rear_end(v, settings) + rounding;
}

void rc_masses_check_propellant(const struct rc_reader *reader, const struct rc_settings *settings,
                                const struct rc_design *middle)
{
    const struct rc_vehicle_design *const v = &middle->vehicle;
    const double mass = v->mass_loaded - v->mass_burnt, end = rear_end(v, settings), radius = body_radius(v, settings);
    const double moment = v->mass_loaded * v->cm_loaded - v->mass_burnt * v->cm_burnt;
    if (!rc_masses_is_propellant_inside(middle, settings)) {
        rc_read_report(reader, "vehicle.mass.burnt_cm_m", NULL,
                       "got %.10g: with it the %.4g kg that burn would lie outside the vehicle; wanted a centre of mass that "
                       "they leave behind, so check loaded_cm_m too",
                       v->cm_burnt, mass);
        return;
    }
    const double centre = mass > 0 ? fmin(fmax(moment / mass, 0), end) : 0;
    const double to_burnt = v->cm_burnt - v->cm_loaded, to_propellant = centre - v->cm_loaded;
    const double pitch = v->iy_loaded - v->iy_burnt - v->mass_burnt * to_burnt * to_burnt - mass * to_propellant * to_propellant;
    const double roll = v->ix_loaded - v->ix_burnt;
    if (pitch < 0.5 * roll - rounded_inertia * v->iy_loaded)
        rc_read_report(reader, "vehicle.mass.burnt_pitch_inertia_kgm2", NULL,
                       "got %.10g, wanted at most %.4g: that the %.4g kg which burn lie at %.4g m takes the rest off "
                       "loaded_pitch_inertia_kgm2",
                       v->iy_burnt, v->iy_burnt + pitch - 0.5 * roll, mass, centre);
    if (roll > mass * radius * radius + rounded_inertia * v->ix_loaded)
        rc_read_report(reader, "vehicle.mass.burnt_roll_inertia_kgm2", NULL,
                       "got %.10g, wanted at least %.4g: the %.4g kg that burn take no more off loaded_roll_inertia_kgm2 than "
                       "they have at the tube's wall",
                       v->ix_burnt, v->ix_loaded - mass * radius * radius, mass);
}
