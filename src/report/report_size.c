/* Sizes of demonstrations in words: flights that show odds, failures that they may have, odds that flights with failures show. */
#include <inttypes.h>
#include <math.h>

#include "base/base.h"
#include "figures.h"
#include "json.h"
#include "rollcast/report.h"

/* Rows of the table of flights against failures, beyond the failures asked. */
enum { MORE_ROWS = 4 };

/* "N flights", or that there is no such number. */
static struct rc_figure flights_text(int64_t flights)
{
    struct rc_figure figure = rc_figures_count(flights);
    if (flights < 0) {
        snprintf(figure.text, sizeof figure.text, "more than 1e12");
    }
    return figure;
}

static void write_flights(FILE *out, const struct rc_report_size *asked)
{
    fprintf(out, "Flights that show odds of %.12g %% with %.12g %% confidence\n\n  at most failures       flights\n",
            100.0 * asked->odds, 100.0 * asked->confidence);
    for (int64_t failures = asked->failures; failures <= asked->failures + MORE_ROWS; failures++) {
        fprintf(out, "  %16s %13s\n", rc_figures_count(failures).text,
                flights_text(rc_demonstration_flights(asked->odds, asked->confidence, failures)).text);
    }
}

static void write_allowed(FILE *out, const struct rc_report_size *asked)
{
    const int64_t allowed = rc_demonstration_failures(asked->odds, asked->confidence, asked->flights);
    char text[400];
    if (allowed < 0) {
        snprintf(text, sizeof text,
                 "%s flights are too few to show odds of %.12g %% with %.12g %% confidence, even without a failure: "
                 "that takes %s.",
                 rc_figures_count(asked->flights).text, 100.0 * asked->odds, 100.0 * asked->confidence,
                 flights_text(rc_demonstration_flights(asked->odds, asked->confidence, 0)).text);
    } else {
        snprintf(text, sizeof text, "%s flights show odds of %.12g %% with %.12g %% confidence if at most %s of them fail.",
                 rc_figures_count(asked->flights).text, 100.0 * asked->odds, 100.0 * asked->confidence,
                 rc_figures_count(allowed).text);
    }
    rc_figures_wrap(out, text, 0, 0);
}

static void write_shown(FILE *out, const struct rc_report_size *asked)
{
    const double shown = rc_demonstration_odds(asked->flights, asked->failures, asked->confidence);
    fprintf(out, "%s flights with %s failures show odds of at least %s %% with %.12g %% confidence.\n",
            rc_figures_count(asked->flights).text, rc_figures_count(asked->failures).text,
            rc_figures_number(100.0 * shown, 4, RC_ROUND_DOWN).text, 100.0 * asked->confidence);
}

static void write_json(FILE *out, const struct rc_report_size *asked)
{
    struct rc_json json = {.out = out};
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-size/1");
    rc_json_number(&json, "confidence", asked->confidence);
    rc_json_integer(&json, "failures", asked->failures);
    if (asked->odds > 0.0) {
        rc_json_number(&json, "odds", asked->odds);
        rc_json_count(&json, "flights_needed", rc_demonstration_flights(asked->odds, asked->confidence, asked->failures));
    }
    if (asked->flights > 0) {
        rc_json_integer(&json, "flights", asked->flights);
        rc_json_number(&json, "odds_shown", rc_demonstration_odds(asked->flights, asked->failures, asked->confidence));
    }
    if (asked->odds > 0.0 && asked->flights > 0) {
        rc_json_count(&json, "failures_allowed", rc_demonstration_failures(asked->odds, asked->confidence, asked->flights));
    }
    rc_json_close(&json, '}');
}

/* A row of the CSV: given failures in place of those asked; a count below 0 is none. */
static void write_csv_row(FILE *out, const struct rc_report_size *asked, int64_t failures)
{
    const int has_odds = asked->odds > 0.0, has_flights = asked->flights > 0;
    const int64_t needed = has_odds ? rc_demonstration_flights(asked->odds, asked->confidence, failures) : -1;
    const int has_both = has_odds && has_flights;
    const int64_t allowed = has_both ? rc_demonstration_failures(asked->odds, asked->confidence, asked->flights) : -1;
    fprintf(out, "%.17g,%" PRId64, asked->confidence, failures);
    const double cell[] = {has_odds ? asked->odds : NAN,
                           needed >= 0 ? (double)needed : NAN,
                           has_flights ? (double)asked->flights : NAN,
                           has_flights ? rc_demonstration_odds(asked->flights, failures, asked->confidence) : NAN,
                           allowed >= 0 ? (double)allowed : NAN};
    for (size_t at = 0; at < sizeof cell / sizeof cell[0]; at++) {
        rc_figures_cell(out, cell[at]);
    }
    fputc('\n', out);
}

/* The rows of the text: of odds alone the flights against several numbers of failures, otherwise what was asked. */
static void write_csv(FILE *out, const struct rc_report_size *asked)
{
    const int64_t last = asked->failures + (asked->flights > 0 ? 0 : MORE_ROWS);
    fputs("confidence,failures,odds,flights_needed,flights,odds_shown,failures_allowed\n", out);
    for (int64_t failures = asked->failures; failures <= last; failures++) {
        write_csv_row(out, asked, failures);
    }
}

rc_status rc_report_size(FILE *out, enum rc_report_form form, const struct rc_report_size *asked, struct rc_error *err)
{
    if (asked->flights > 0 && asked->failures > asked->flights) {
        return rc_error_fill(err, RC_USAGE, "", "%" PRId64 " flights cannot have %" PRId64 " failures", asked->flights,
                             asked->failures);
    }
    if (form == RC_REPORT_JSON) {
        write_json(out, asked);
    } else if (form == RC_REPORT_CSV) {
        write_csv(out, asked);
    } else if (asked->odds > 0.0 && asked->flights > 0) {
        write_allowed(out, asked);
    } else if (asked->odds > 0.0) {
        write_flights(out, asked);
    } else {
        write_shown(out, asked);
    }
    return RC_OK;
}
