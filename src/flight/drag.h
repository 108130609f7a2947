/* Axial force of a vehicle at zero incidence from geometry, by build-up: skin friction, base, nose and sections, fins. For
 * campaigns that give no table of it. */
#ifndef RC_DRAG_H
#define RC_DRAG_H

#include "design.h"

/* Coefficients on the reference area pi d^2/4. */
struct rc_drag_parts {
    double friction;  /* skin friction of body and fins [1]                             */
    double base;      /* base drag, motor off [1]                                       */
    double wave;      /* pressure drag of nose, transitions and boat-tails [1]          */
    double fin;       /* pressure drag of fins: leading edge, section, trailing edge [1] */
};

/* All parts at one Mach number, turbulent from the tip, Reynolds numbers of the standard air at 1500 m above sea level.
 * in     v       geometry
 * in     layout  nose shape, counts
 * in     mach    >= 0
 * source each part below; docs/theory.md "Drag"
 * cost   some microseconds */
struct rc_drag_parts rc_drag_parts_at(const struct rc_vehicle_design *v, const struct rc_layout *layout, double mach);

/* What a burning motor leaves of the base drag: its jet fills the exit's share of the base [1].
 * in  exit_area  of the nozzle [m2] */
double rc_drag_base_left(const struct rc_vehicle_design *v, const struct rc_layout *layout, double exit_area);

/* Mean skin-friction coefficient of a turbulent flat plate, on its wetted area [1].
 * in     reynolds  on the length; held at 1e5 below
 * in     grains    length over equivalent sand roughness; 0 is smooth. The larger of smooth and fully rough counts
 * source smooth: SCHLICHTING1979 0.455/(log10 R)^2.58, compressible times (1 + 0.15 M^2)^-0.58 after BARROWMAN1967;
 *        rough: SCHLICHTING1979 (1.89 + 1.62 log10(l/k))^-2.5, compressible over 1 + 0.18 M^2 after GODDARD1959 [memory] */
double rc_drag_plate(double reynolds, double grains, double mach);

/* Pressure coefficient on a cone in supersonic flow [1].
 * in     mach  above 1; slope  tangent of the half-angle, >= 0
 * source RASMUSSEN1967's hypersonic form with M^2 - 1/M^2 for M^2, ours; at most the pitot pressure. Against Taylor and Maccoll's
 *        equation within 6.5 % for half-angles of 5 to 20 degrees, Mach 1.3 to 5; docs/theory.md "Drag" */
double rc_drag_cone(double mach, double slope);

/* Pressure drag of the nose on its base area [1]. Zero incidence; bounded and without a jump over all Mach numbers.
 * source tangent cones with a term for curvature, ours, held against MILES1952; subsonic HOERNER1965; docs/theory.md "Drag" */
double rc_drag_nose(const struct rc_vehicle_design *v, enum rc_nose_shape shape, double mach);

/* Pressure drag of a transition or boat-tail on the reference area [1], bounded like the nose's. in diameter  reference [m] */
double rc_drag_section(const struct rc_body_section *section, double diameter, double mach);

/* Base drag on the base area [1].
 * source FLEEMAN2006: 0.12 + 0.13 M^2 below Mach 1, 0.25/M above [memory] */
double rc_drag_base(double mach);

#endif
