/* Front header of flight: one campaign's constant model, and blocks of lanes that fly it from lift-off to apogee.
 * flight sees platform and measures, they do not see it. No files, no threads, no printing. */
#ifndef RC_FLIGHT_H
#define RC_FLIGHT_H

#include <stdbool.h>
#include <stdint.h>

#include "design.h"
#include "measures/measures.h"
#include "rollcast/status.h"

/* Constant for a campaign, shared by all threads. */
struct rc_model;

/* Make the model of a campaign: tables over Mach and height, thrust, tick and step schedule.
 * out  model    caller frees with rc_model_free; untouched on error
 * in   base     the design with every uncertain quantity at its median
 * in   layout   kept by reference together with its tables: must outlive the model
 * in   samples  n_samples further designs that span what is uncertain (step schedule and shared tables are sized by them)
 * in   n_samples  0 .. any
 * ends RC_BAD_INPUT (err says which number cannot be), RC_NO_MEMORY
 * cost flies a few blocks, milliseconds */
rc_status rc_model_create(struct rc_model **model, const struct rc_design *base, const struct rc_layout *layout,
                          const struct rc_design *samples, int n_samples, struct rc_error *err) RC_MUST_CHECK;

/* Release a model. NULL is fine. */
void rc_model_free(struct rc_model *model);

/* What is kept of one flight. */
struct rc_record {
    double measure[RC_N_MEASURES]; /* in the units of the measure table; NAN where the flight ended too early */
    int end;                       /* enum rc_end                                                             */
    uint16_t *bin;                 /* (RC_N_SIGNALS x n_band_times), filled if not NULL; caller's memory      */
};

/* Working memory of one thread: lanes for a block of flights. */
struct rc_block;

/* Flights that one block carries (a compile-time number). */
int rc_block_lanes(void);

/* Make the working memory.
 * out  block  caller frees with rc_block_free
 * ends RC_NO_MEMORY */
rc_status rc_block_create(struct rc_block **block, const struct rc_model *model, struct rc_error *err) RC_MUST_CHECK;

/* Release it. NULL is fine. */
void rc_block_free(struct rc_block *block);

/* One moment of a flight's history, for replay. */
struct rc_moment {
    double time;             /* after lift-off [s]                             */
    double position[3];      /* east, north, up from the pad [m]               */
    double velocity[3];      /* east, north, up [m/s]                          */
    double axis[3];          /* where the nose points, east, north, up [1]     */
    double mach, q;          /* Mach number [1], dynamic pressure [Pa]         */
    double alpha;            /* total angle of attack [rad]                    */
    double thrust, mass;     /* [N], [kg]                                      */
    double load;             /* axial specific force [m/s2]                    */
    double pitch_rate, yaw_rate; /* in the non-rolling frame [rad/s]           */
    double roll_rate, roll_angle; /* vehicle's [rad/s], [rad]                  */
    double residual;         /* platform's inertial roll rate [rad/s]          */
    double drive_rate;       /* platform against the vehicle [rad/s]           */
    double command;          /* controller's command [rad/s]                   */
    double gyro;             /* last reading [rad/s]                           */
    double drive_state;      /* the drive's own state number [1]               */
    int n_cameras;
    double smear[RC_MAX_CAMERAS]; /* of a frame taken now, per camera [px]     */
    int64_t frames[RC_MAX_CAMERAS]; /* taken so far, this tick's included      */
    int is_usable[RC_MAX_CAMERAS]; /* verdict of a frame taken now             */
};

/* Called with each moment, in time order. */
typedef void rc_moment_sink(void *user, const struct rc_moment *moment);

/* Fly up to rc_block_lanes() flights. A flight's record depends on nothing but the model, its design, the seed and its number.
 * in/out block    working memory of this thread
 * in     designs  (n) one per lane
 * in     seed, flights  (n) master seed and flight numbers: key of the noise streams
 * in     n        1 .. rc_block_lanes()
 * out    records  (n)
 * in     sink     NULL, or receives every moment of lane 0 at the platform's ticks (results do not change)
 * ends   nothing: a flight that goes wrong says so in its record */
void rc_block_fly(struct rc_block *block, const struct rc_design *designs, uint64_t seed, const uint64_t *flights, int n,
                  struct rc_record *records, rc_moment_sink *sink, void *user);

/* Does a descent take more steps than it is given, so that the flight's landing stays blank? Reckoned with the air of sea level,
 * which makes the most steps: one said to be so may still land.
 * in   descent  the flight's
 * in   height   of its apogee above the pad [m] */
bool rc_descent_is_endless(const struct rc_descent_design *descent, double height);

#endif
