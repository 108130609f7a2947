/* Mean wind over height, from a power law or from a measured table, as components to the east and north. The table is
 * interpolated in its components: speed and direction apart would make the wind turn the long way round through north. */
#include "wind.h"

#include <math.h>

/* Air velocity of a wind of that speed blowing from that bearing. */
static void velocity_of(double speed, double from, double *east, double *north)
{
    *east = -speed * sin(from);
    *north = -speed * cos(from);
}

static void row_velocity(const struct rc_wind_design *wind, const struct rc_wind_points *table, int row, double *east,
                         double *north)
{
    /* One draw for all heights: forecasts and soundings err the same way over much of the height. */
    const double off = table->spread != NULL ? wind->spread * table->spread[row] : 0.0;
    velocity_of(fmax(table->speed[row] + off, 0.0) * wind->speed, table->from[row] + wind->from, east, north);
}

static void table_velocity(const struct rc_wind_design *wind, const struct rc_wind_points *table, double height, double *east,
                           double *north)
{
    int above = 0;
    while (above < table->n && table->height[above] <= height)
        above++;
    if (above == 0 || above == table->n) {
        row_velocity(wind, table, above == 0 ? 0 : table->n - 1, east, north);
        return;
    }
    const double bottom = table->height[above - 1];
    const double weight = (height - bottom) / (table->height[above] - bottom);
    double east_below, north_below, east_above, north_above;
    row_velocity(wind, table, above - 1, &east_below, &north_below);
    row_velocity(wind, table, above, &east_above, &north_above);
    *east = east_below + weight * (east_above - east_below);
    *north = north_below + weight * (north_above - north_below);
}

void rc_wind_profile(const struct rc_wind_design *wind, const struct rc_layout *layout, const double *height, int n,
                     double *east, double *north)
{
    for (int i = 0; i < n; i++) {
        if (layout->wind.n > 0) {
            table_velocity(wind, &layout->wind, height[i], &east[i], &north[i]);
        } else {
            /* zero on the ground for any exponent, zero included */
            const double shape = height[i] > 0.0 ? pow(height[i] / wind->reference_height, wind->exponent) : 0.0;
            velocity_of(wind->speed * shape, wind->from, &east[i], &north[i]);
        }
    }
}
