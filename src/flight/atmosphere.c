/* U.S. Standard Atmosphere 1976 up to 86 km, and the same over a pad with another temperature and pressure.
 * Both come from one closed-form integral of the hydrostatic equation in geopotential height, layer by layer, so that a site
 * without offsets gets the standard values. Tables over height for the step loop are filled elsewhere. */
#include "atmosphere.h"

#include <math.h>

/* Constants of the 1976 standard; its gas constant is 8314.32, not today's. source USSA1976 table 2 */
static const double STANDARD_GRAVITY = 9.80665;     /* [m/s2]        */
static const double GAS_CONSTANT = 8314.32 / 28.9644; /* of dry air [J/(kg K)] */
static const double HEAT_RATIO = 1.4;
static const double SEA_LEVEL_PRESSURE = 101325.0;  /* [Pa]          */
static const double LOWEST = -5000.0, HIGHEST = RC_ATMOSPHERE_TOP; /* geometric [m] */

/* Layers by geopotential base height [m], base temperature [K], gradient [K/m]. source USSA1976 table 4 */
struct layer {
    double base, temperature, gradient;
};
static const struct layer LAYERS[] = {
    {0.0, 288.15, -0.0065},    {11000.0, 216.65, 0.0},     {20000.0, 216.65, 0.001}, {32000.0, 228.65, 0.0028},
    {47000.0, 270.65, 0.0},    {51000.0, 270.65, -0.0028}, {71000.0, 214.65, -0.002},
};
enum { N_LAYERS = sizeof LAYERS / sizeof LAYERS[0] };

static double geopotential(double altitude)
{
    const double z = fmin(fmax(altitude, LOWEST), HIGHEST);
    return RC_EARTH_RADIUS * z / (RC_EARTH_RADIUS + z);
}

/* The layer that holds a geopotential height; the lowest one goes on below sea level. */
static int layer_of(double height)
{
    int layer = N_LAYERS - 1;
    while (layer > 0 && height < LAYERS[layer].base)
        layer--;
    return layer;
}

static double standard_temperature(double height)
{
    const struct layer *layer = &LAYERS[layer_of(height)];
    return layer->temperature + layer->gradient * (height - layer->base);
}

/* ln(p(from) / p(to)) within one layer whose temperature is shifted by `offset`. */
static double layer_integral(const struct layer *layer, double from, double to, double offset)
{
    const double t_from = layer->temperature + layer->gradient * (from - layer->base) + offset;
    const double rise = layer->gradient * (to - from);
    const double per_kelvin = STANDARD_GRAVITY / GAS_CONSTANT;
    if (layer->gradient == 0.0)
        return per_kelvin * (to - from) / t_from;
    return per_kelvin / layer->gradient * log1p(rise / t_from);
}

/* ln(p(from) / p(to)) over all layers between two geopotential heights, from <= to. */
static double pressure_fall(double from, double to, double offset)
{
    double sum = 0.0;
    for (int layer = layer_of(from); layer < N_LAYERS; layer++) {
        const double top = layer + 1 < N_LAYERS ? fmin(to, LAYERS[layer + 1].base) : to;
        sum += layer_integral(&LAYERS[layer], from, top, offset);
        if (top >= to)
            break;
        from = top;
    }
    return sum;
}

static double standard_pressure(double height)
{
    if (height < 0.0)
        return SEA_LEVEL_PRESSURE * exp(pressure_fall(height, 0.0, 0.0));
    return SEA_LEVEL_PRESSURE * exp(-pressure_fall(0.0, height, 0.0));
}

static struct rc_air air_of(double temperature, double pressure)
{
    return (struct rc_air){
        .temperature = temperature,
        .pressure = pressure,
        .density = pressure / (GAS_CONSTANT * temperature),
        .sound_speed = sqrt(HEAT_RATIO * GAS_CONSTANT * temperature),
    };
}

struct rc_air rc_atmosphere_standard(double altitude)
{
    const double height = geopotential(altitude);
    return air_of(standard_temperature(height), standard_pressure(height));
}

void rc_atmosphere_profile(const struct rc_site_design *site, const double *height, int n, struct rc_air *air)
{
    const double offset = site->temperature_offset;
    const double pad = geopotential(site->elevation);
    const double pad_pressure = standard_pressure(pad) + site->pressure_offset;
    for (int i = 0; i < n; i++) {
        const double h = geopotential(site->elevation + height[i]);
        const double fall = h >= pad ? pressure_fall(pad, h, offset) : -pressure_fall(h, pad, offset);
        air[i] = air_of(standard_temperature(h) + offset, pad_pressure * exp(-fall));
    }
}

double rc_atmosphere_gravity(double altitude)
{
    const double ratio = RC_EARTH_RADIUS / (RC_EARTH_RADIUS + altitude);
    return STANDARD_GRAVITY * ratio * ratio;
}
