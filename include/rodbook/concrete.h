/*
 * concrete.h - what goes into a hole: volumes of holes, bells, collars and posts; bags, loads and spoil
 *
 * Lengths are nm, volumes m^3 in floating point, masses kg.
 */
#ifndef RODBOOK_CONCRETE_H
#define RODBOOK_CONCRETE_H

#include "rodbook/length.h"

/* Exact from the inch of 25.4 mm; litre: SI brochure, 9th edition, table 8. */
#define SITE_FT3 0.028316846592     /* m^3 in a cubic foot */
#define SITE_YD3 0.764554857984     /* m^3 in a cubic yard of 27 ft^3 */
#define SITE_IN3 0.000016387064     /* m^3 in a cubic inch */
#define SITE_LITRE 0.001            /* m^3 in a litre */
#define SITE_LB 0.45359237          /* kg in a pound, exact; NIST Handbook 44, appendix C */

/* Augers for posts; common practice, no source. Outside is worth a look. */
#define SITE_AUGER_LEAST (12 * LENGTH_IN)
#define SITE_AUGER_MOST (24 * LENGTH_IN)

/* How much wider than the post's diameter, or than the diagonal of a square one: IBC 1807.3.3. */
#define SITE_WIDER_THAN_POST (4 * LENGTH_IN)

enum site_concrete_status {
    SITE_CONCRETE_OK,
    SITE_CONCRETE_ESHAPE,  /* a depth or diameter that is not above 0 */
    SITE_CONCRETE_EBELL,   /* a bell narrower than the hole, or bell and collar higher than the hole is deep */
    SITE_CONCRETE_ECOLLAR, /* a collar narrower than the hole */
    SITE_CONCRETE_EFILL,   /* concrete that ends above the hole's top or below where it begins */
    SITE_CONCRETE_EPOST    /* a post that does not fit in the hole */
};

struct site_hole {
    length depth, diameter;
    length bell_diameter, bell_height;     /* at the bottom, widening downwards from the hole's diameter; 0: none */
    length collar_diameter, collar_height; /* at the top; 0: none */
};

struct site_post {
    length along, across; /* sides of its section; a round one has its diameter in both; 0: none is taken off */
    bool round;
};

/* All heights above the bottom of the hole. */
struct site_fill {
    length from; /* where concrete begins: 0, or the top of a pad that is laid */
    length to;   /* up to where it is filled */
    length foot; /* what the post stands on */
};

struct site_volumes {
    double hole;     /* m^3, all that is dug */
    double post;     /* m^3 of post within the concrete */
    double concrete; /* m^3, less the post */
};

/*
 * site_concrete_fill - what one hole takes
 *
 * Given
 *   h, post, fill   lengths of 0 or more and up to 100 m
 * Returned
 *   *v         untouched unless the result is SITE_CONCRETE_OK
 * Result
 *   SITE_CONCRETE_OK, or what does not fit
 *
 * Method    cylinder  pi d^2 h / 4
 *           bell      pi h (D^2 + D d + d^2) / 12, the frustum of a cone, in the place of the cylinder there;
 *                     up to a height x within it the same with the diameter at x, D - (D - d) x / h
 *           post      its section times the height between its foot, or where concrete begins, and the fill
 *           concrete = hole between `from` and `to`, less post
 * Accuracy  a few units in the last place of the hole's volume
 * Source    frustum of a cone: any text of solid geometry.
 */
enum site_concrete_status site_concrete_fill(const struct site_hole *h, const struct site_post *post, const struct site_fill *fill,
    struct site_volumes *v);

/*
 * site_concrete_least - the least diameter of a hole around a post
 *
 * Result
 *   nm, rounded to the nearest: the diameter, or the diagonal of the section, and SITE_WIDER_THAN_POST
 *
 * Source    International Building Code, 1807.3.3 (1805.7.3 in 2006): for concrete backfill.
 */
length site_concrete_least(const struct site_post *post);

/*
 * site_concrete_count - how many whole ones make up a volume
 *
 * Given
 *   volume     0 or more
 *   each       above 0, same unit
 * Result
 *   volume / each, rounded up; within 1e-9 of a whole number it is that number
 */
double site_concrete_count(double volume, double each);

#endif
