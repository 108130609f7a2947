/* The reviewer: what is legal but suspicious. */
#ifndef RC_REVIEW_H
#define RC_REVIEW_H

#include "flight/flight.h"
#include "platform/platform.h"
#include "read.h"
#include "settings.h"
#include "values.h"

/* Warn of what any campaign's numbers may be: spreads far beyond the usual, angles that may be in radians, means beyond the
 * limits of their law. Only to be called when there are no errors. */
void rc_review_entries(const struct rc_reader *reader, const struct rc_values *values);

/* The same of a vehicle's, and warn of entries that are good alone and together and yet look like a slip: ranges and angles that
 * may be meant otherwise, what a battery does not do. */
void rc_review_values(const struct rc_reader *reader, const struct rc_values *values);

/* Warn of criteria on what an absent part would measure: no flight can meet them. */
void rc_review_criteria(const struct rc_reader *reader, const struct rc_settings *settings);

/* Warn of a boat-tail so steep that the flow parts from it, unless a table has what comes of it.
 * in   layout  with the tables lent */
void rc_review_shape(const struct rc_reader *reader, const struct rc_design *base, const struct rc_layout *layout);

/* Warn of what one flight of the middle design shows: it does not lift off, is slow off the rail, cannot be computed, is
 * unstable, leaves the atmosphere or the Mach numbers for which there are coefficients, rolls faster than its gyro reads or than
 * its drive turns (with a battery: than it does at its lowest voltage), has a drive that does nothing for most of the ascent,
 * sinks so slowly under its canopies that it is given up.
 * in   record  that flight's */
void rc_review_flight(const struct rc_reader *reader, const struct rc_values *values, const struct rc_record *record);

/* Warn of numbers and of tables' columns that have no effect in each other's company, of an encoder without effect or whose
 * steps shake the picture, and of sets of two fins.
 * in   layout  with the tables lent */
void rc_review_vehicle(const struct rc_reader *reader, const struct rc_values *values, const struct rc_layout *layout);

/* Warn of what one flight of the middle design shows of tables that end far short of it, of an estimated centre of pressure where
 * the margin is small, of a main that opens at apogee.
 * in   record  that flight's */
void rc_review_reach(const struct rc_reader *reader, const struct rc_values *values, const struct rc_layout *layout,
                     const struct rc_record *record);

/* Warn where the drive cannot turn its load from standstill at that flight's greatest acceleration.
 * in   burden  with the axial specific force there */
void rc_review_load(const struct rc_reader *reader, const struct rc_drive_kind *kind, const struct rc_burden *burden);

#endif
