/* What the public campaign handle holds. Made by campaign.c, read by campaign_view.c. */
#ifndef RC_CAMPAIGN_HANDLE_H
#define RC_CAMPAIGN_HANDLE_H

#include "campaign.h"
#include "settings.h"
#include "tables.h"
#include "values.h"

struct rc_campaign {
    struct rc_bundle bundle;
    struct rc_settings settings;
    struct rc_values values;
    struct rc_formula *formula; /* NULL where a vehicle is flown */
    struct rc_copula *copula; /* NULL where nothing varies together */
    struct rc_tables tables;
    struct rc_layout layout; /* borrows from settings and tables */
    struct rc_model *model;  /* borrows layout                   */
    struct rc_record middle; /* of the middle design, flown once where a vehicle is flown; no bands */
    const struct rc_plan_kind *plan;
    struct rc_criterion criterion[RC_MAX_CRITERIA];
    struct rc_criterion together;
};

#endif
