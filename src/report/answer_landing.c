/* Where the flights of a store came down: its part of the answer, and that part's text. */
#include "answer.h"
#include "figures.h"

#include <math.h>
#include <stdlib.h>

#include "campaign/campaign.h"

/* Confidence of the ellipses' intervals. */
static const double landing_confidence = 0.95;

rc_status rc_answer_gather_landing(struct rc_answer *answer, const rc_results *results, double *east, struct rc_error *err)
{
    const int64_t n = answer->flights;
    answer->landing_confidence = landing_confidence;
    if (answer->spread[RC_MEASURE_landing_east_m].n == 0 || answer->spread[RC_MEASURE_landing_north_m].n == 0) {
        return RC_OK;
    }
    double *const north = malloc((size_t)n * sizeof *north);
    if (north == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a column of %lld flights", (long long)n);
    }
    rc_status status = rc_results_column(results, "measures/landing_east_m", 0, n, east, err);
    if (status == RC_OK) {
        status = rc_results_column(results, "measures/landing_north_m", 0, n, north, err);
    }
    const struct rc_plan_kind *plan = rc_campaign_plan(answer->campaign);
    for (int64_t flight = 0; plan->counts != NULL && flight < n; flight++) {
        if (!rc_plan_counts(plan, rc_campaign_sampling(answer->campaign), (uint64_t)flight)) {
            east[flight] = NAN; /* its landing depends on others' */
        }
    }
    if (status == RC_OK) {
        rc_ellipse_dispersion(east, north, n, landing_confidence, &answer->landing);
    }
    free(north);
    return status;
}

/* An area in hectares. */
static struct rc_figure hectares(double area, double width, enum rc_rounding rounding)
{
    return rc_figures_number(1e-4 * area, rc_figures_decimals(1e-4 * width), rounding);
}

/* One ellipse: share, half axes, area and its interval. */
static void write_ellipse(FILE *out, const struct rc_dispersion *landing, const struct rc_ellipse *ellipse)
{
    const double area = rc_ellipse_area(landing, ellipse->scale);
    const double low = rc_ellipse_area(landing, ellipse->scale_low), high = rc_ellipse_area(landing, ellipse->scale_high);
    const int is_bounded = isfinite(high);
    const double width = is_bounded ? high - low : area;
    const double scale_width = is_bounded ? ellipse->scale_high - ellipse->scale_low : ellipse->scale;
    const int decimals = rc_figures_decimals(landing->minor_sd * scale_width);
    const struct rc_figure major = rc_figures_number(landing->major_sd * ellipse->scale, decimals, RC_ROUND_NEAREST);
    const struct rc_figure minor = rc_figures_number(landing->minor_sd * ellipse->scale, decimals, RC_ROUND_NEAREST);
    char axes[2 * RC_FIGURES_TEXT + 16];

    snprintf(axes, sizeof axes, "%s m by %s m", major.text, minor.text);
    fprintf(out, "           %3.0f %%         %-21s %s ha (", 100.0 * ellipse->share, axes,
            hectares(area, width, RC_ROUND_NEAREST).text);
    if (is_bounded) {
        fprintf(out, "%s to ", hectares(low, width, RC_ROUND_DOWN).text);
        fprintf(out, "%s)\n", hectares(high, width, RC_ROUND_UP).text);
    } else {
        fprintf(out, "at least %s)\n", hectares(low, width, RC_ROUND_DOWN).text);
    }
}

void rc_answer_write_landing(FILE *out, const struct rc_answer *answer)
{
    const struct rc_dispersion *const landing = &answer->landing;
    if (landing->n == 0) {
        return;
    }
    if (landing->n < RC_ELLIPSE_LEAST_POINTS) {
        fprintf(out, "\nLanding    too few flights came down for an ellipse\n");
        return;
    }
    const double error = landing->major_sd / sqrt((double)landing->n);
    fprintf(out, "\nLanding    centre %s m east, %s m north; long axis bears %.0f deg\n",
            rc_figures_number(landing->centre_east, rc_figures_decimals(4.0 * error), RC_ROUND_NEAREST).text,
            rc_figures_number(landing->centre_north, rc_figures_decimals(4.0 * error), RC_ROUND_NEAREST).text,
            landing->azimuth * (180.0 / 3.14159265358979323846));
    fprintf(out, "           ellipse       half axes             area (%.0f %% interval)\n", 100.0 * answer->landing_confidence);
    for (int i = 0; i < RC_N_ELLIPSES; i++) {
        write_ellipse(out, landing, &landing->ellipse[i]);
    }
    if (answer->n_replicates > 0) {
        fprintf(out, "           Intervals of areas as for independent flights: with this plan indicative.\n");
    }
}
