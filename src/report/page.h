/* The page of a report: what it holds, its pieces of HTML, its figures. Private to the page's files. */
#ifndef RC_PAGE_H
#define RC_PAGE_H

#include "answer.h"
#include "rollcast/report.h"
#include "swept.h"

enum {
    RC_PAGE_SETTLED = 60,     /* most numbers of flights at which the odds are taken again   */
    RC_PAGE_SHARES = 51,      /* usable shares 0, 0.02, .. 1                                 */
    RC_PAGE_LANDINGS = 600,   /* most points of the landing figure                           */
    RC_PAGE_CHUNK = 65536,    /* flights read at once                                        */
    RC_PAGE_HISTORIES = 3,    /* single flights: typical, best, worst                        */
    RC_PAGE_SMEAR = 4,        /* where a history's smear columns begin                       */
    RC_PAGE_DECIMALS = 5,     /* most decimals of a percentage                               */
    RC_PAGE_MAX_COLUMNS = 32
};

/* The odds of all together after a number of flights. */
struct rc_page_settled {
    struct rc_odds odds;
};

/* One flight flown again, every tick of the platform taken into rows that are equally far apart in all of a store's. A row stands
 * for the time up to the next: what swings faster than rows follow each other shows in its least and greatest. */
struct rc_page_history {
    int64_t flight;           /* -1: there is none                                           */
    double value;             /* of the measure that says best and worst                     */
    int is_equal;             /* every stored number came out bit for bit                    */
    int n_rows, n_cameras;
    double interval;          /* between rows [s]                                            */
    double *rows;             /* (n_rows x (RC_PAGE_SMEAR + n_cameras)): time [s], roll rate then, least and greatest residual
                                 rate [deg/s], greatest smear of each camera [px]            */
};

/* What a store gives to the page, beside its answer. */
struct rc_page_facts {
    struct rc_answer answer;
    int64_t n_failed;                            /* flights that miss at least one criterion      */
    int64_t n_missed[RC_MAX_CRITERIA];           /* of these, how many miss this one              */
    int limiting;                                /* the criterion most of them miss, -1 = none    */
    int n_settled;
    struct rc_page_settled settled[RC_PAGE_SETTLED];
    double usable_beyond[RC_PAGE_SHARES];        /* share of flights with at least that much      */
    int has_usable;
    int n_landings;
    double landing_east[RC_PAGE_LANDINGS], landing_north[RC_PAGE_LANDINGS]; /* [m] */
    int chosen_by;                               /* measure that says best and worst, -1 = none   */
    struct rc_page_history history[RC_PAGE_HISTORIES];
    char no_history[RC_ERROR_WHAT];              /* why there is none, empty if there is          */
};

/* A page being written. */
struct rc_page {
    FILE *out;
    const struct rc_report_drawing *drawing;
    int n_stores;
    const struct rc_report_store *store;         /* (n_stores)                                    */
    struct rc_page_facts *facts;                 /* (n_stores)                                    */
    const struct rc_swept *swept;                /* a trade's settings; NULL where none is given  */
    int n_figures;                               /* drawn so far: makes their ids                 */
};

/* One figure with its data: the same numbers are drawn, shown as a table and offered as CSV. */
struct rc_page_figure {
    const char *title;                           /* above it                                      */
    const char *caption;                         /* what it shows, for those who do not see it    */
    const char *file;                            /* name of the CSV, without its end              */
    const char *plot;                            /* gnuplot commands; the data block is $data     */
    int height;                                  /* [px]; 0 = the usual                           */
    int n_columns;
    const char *const *column;                   /* (n_columns) heads with units                  */
    int64_t n_rows;
    const double *value;                         /* (n_rows x n_columns); NAN is no value         */
};

/* Read what the page needs from a store, some ten thousand flights at a time.
 * out  facts  zeroed before; release with rc_page_facts_free also after an error
 * ends RC_IO, RC_NO_MEMORY
 * cost reads the measures of the criteria twice more than the answer; flies three flights again */
rc_status rc_page_facts_gather(struct rc_page_facts *facts, const struct rc_report_store *store,
                               struct rc_error *err) RC_MUST_CHECK;

/* Release what it holds. */
void rc_page_facts_free(struct rc_page_facts *facts);

/* Choose the typical flight: of those that reached apogee the one with the smallest sum of |rank / n - 1/2| over the measures of
 * the criteria, greatest roll rate and apogee, each once and where the store has them; the first of equals.
 * out  facts  flight and value of its first history; as they were where there is no measure to go by
 * ends RC_IO, RC_NO_MEMORY
 * cost holds three columns at once; sorts each */
rc_status rc_page_typical_choose(struct rc_page_facts *facts, const struct rc_report_store *store,
                                 struct rc_error *err) RC_MUST_CHECK;

/* Fly the chosen flights again. A store of another version has no histories, which is said and no error.
 * ends RC_NO_MEMORY */
rc_status rc_page_history_gather(struct rc_page_facts *facts, const struct rc_report_store *store,
                                 struct rc_error *err) RC_MUST_CHECK;

/* Everything up to the first section: style, title, verdicts, and of several stores which would be flown.
 * in   title  plain text
 * ends RC_IO, RC_NO_MEMORY */
rc_status rc_page_begin(struct rc_page *page, const char *title, struct rc_error *err) RC_MUST_CHECK;

/* Everything after the last one. */
void rc_page_end(struct rc_page *page);

/* Plain text, so that no name can become markup: the five characters of HTML are escaped, control characters become '?', bytes
 * that are no UTF-8 become U+FFFD. */
void rc_page_text(FILE *out, const char *text);

/* A paragraph of plain text. */
void rc_page_paragraph(FILE *out, const char *text);

/* Open a table that scrolls by itself where it is wider than the screen; it is closed with "</table></div>".
 * in   what   its name, plain text; where stores have one each, no two have the same
 *      store  whose it is; -1 = of all */
void rc_page_open_table(struct rc_page *page, const char *what, int store);

/* The style sheet. */
const char *rc_page_style(void);

/* Draw a figure and write it with its data.
 * ends RC_IO (no gnuplot, or it failed), RC_NO_MEMORY */
rc_status rc_page_draw(struct rc_page *page, const struct rc_page_figure *figure, struct rc_error *err) RC_MUST_CHECK;

/* A drawing of gnuplot's svg terminal for use inside a page: ids made this figure's own, the colours of the palette and of ink
 * as classes, titles and what browsers do not need left out.
 * in   number  of the figure
 * in   title   plain text
 * ends RC_IO (it is no such drawing) */
rc_status rc_page_svg_write(FILE *out, const char *svg, int number, const char *title, struct rc_error *err) RC_MUST_CHECK;

/* One section of the page. */
struct rc_page_section {
    const char *id, *title;
    int (*applies)(const struct rc_page *page);
    rc_status (*write)(struct rc_page *page, struct rc_error *err);
};

/* The sections in their order; the one after the last has no id. */
const struct rc_page_section *rc_page_section(int index);

/* Bits of sections that stand in files of their own: criteria, campaign in words, what is left out. */
rc_status rc_page_words_criteria(struct rc_page *page, struct rc_error *err) RC_MUST_CHECK;
rc_status rc_page_words_campaign(struct rc_page *page, struct rc_error *err) RC_MUST_CHECK;
rc_status rc_page_words_limits(struct rc_page *page, struct rc_error *err) RC_MUST_CHECK;

/* Bands over time: is the signal in every store, and its section. */
int rc_page_bands_has_roll(const struct rc_page *page);
int rc_page_bands_has_residual(const struct rc_page *page);
rc_status rc_page_bands_roll(struct rc_page *page, struct rc_error *err) RC_MUST_CHECK;
rc_status rc_page_bands_residual(struct rc_page *page, struct rc_error *err) RC_MUST_CHECK;

/* Flights flown again: has one of the stores cameras, and the sections. */
int rc_page_flights_has_smear(const struct rc_page *page);
rc_status rc_page_flights_smear(struct rc_page *page, struct rc_error *err) RC_MUST_CHECK;
rc_status rc_page_flights_single(struct rc_page *page, struct rc_error *err) RC_MUST_CHECK;

/* What matters most of each store, by the ranking of report; where a store cannot be ranked the page says why. */
rc_status rc_page_matters(struct rc_page *page, struct rc_error *err) RC_MUST_CHECK;

/* The odds against the settings of a trade: is one given, and its section. */
int rc_page_trade_is_given(const struct rc_page *page);
rc_status rc_page_trade(struct rc_page *page, struct rc_error *err) RC_MUST_CHECK;

/* Does one of the stores fly a vehicle, not a formula? */
int rc_page_has_vehicle(const struct rc_page *page);

/* How a store is called on the page: its campaign, with its letter where there are several. out text (size) */
void rc_page_store_name(const struct rc_page *page, int store, char *text, size_t size);

#endif
