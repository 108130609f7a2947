/* Air and gravity over height: U.S. Standard Atmosphere 1976 and the same shifted by a site's temperature and pressure. */
#ifndef RC_ATMOSPHERE_H
#define RC_ATMOSPHERE_H

#include "design.h"

/* Effective radius of the Earth, by which gravity falls with height; the standard atmosphere's geometric top [m].
 * source USSA1976 */
#define RC_EARTH_RADIUS 6356766.0
#define RC_ATMOSPHERE_TOP 86000.0

/* Dry air at one place. */
struct rc_air {
    double temperature;  /* [K]     */
    double pressure;     /* [Pa]    */
    double density;      /* [kg/m3] */
    double sound_speed;  /* [m/s]   */
};

/* The standard atmosphere.
 * in     altitude  geometric height above mean sea level [m], -5000 .. 86000; the nearest of these outside
 * source USSA1976 eq. 18, 23, 33a, 33b, 42, 50; molecular weight held at its sea-level value (0.04 % high at 86 km) */
struct rc_air rc_atmosphere_standard(double altitude);

/* The air over a pad: standard temperature plus the site's offset at every height, pressure integrated hydrostatically
 * through the site's pressure (closed form in each layer, so with zero offsets it is the standard atmosphere).
 * in   site    elevation, temperature_offset, pressure_offset
 * in   height  above the pad, rising [m]  (n); altitudes are held to -5000 .. 86000 m
 * in   n       1 .. any
 * out  air     (n)
 * source USSA1976 with docs/theory.md "Atmosphere" */
void rc_atmosphere_profile(const struct rc_site_design *site, const double *height, int n, struct rc_air *air);

/* Acceleration of gravity [m/s2].
 * in     altitude  geometric height above mean sea level [m]
 * source USSA1976 eq. 17: 9.80665 (r0/(r0 + z))^2, r0 = 6356766 m */
double rc_atmosphere_gravity(double altitude);

#endif
