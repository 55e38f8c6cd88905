/*
 * grade.h - a grade: a level, a slope or a plane, and its elevation at a place
 *
 * Places are x along the building's length from its first corner and y to the
 * left of it, in nanometres like every length.
 */
#ifndef RODBOOK_GRADE_H
#define RODBOOK_GRADE_H

#include "rodbook/length.h"

struct site_place {
    length x, y;
};

enum site_grade_form { SITE_LEVEL, SITE_SLOPE, SITE_PLANE };

struct site_grade {
    enum site_grade_form form;
    struct site_place origin; /* where the grade is `level` */
    length level;
    int64_t rise, run;        /* SITE_SLOPE: rise / run along `towards`; run above 0 */
    struct site_place towards; /* SITE_SLOPE: direction, any length but nought */
    struct site_place p, q;   /* SITE_PLANE: two more marks, from the origin... */
    length p_up, q_up;        /* ...and how far they are above `level` */
};

enum site_status {
    SITE_OK,
    SITE_EDIRECTION, /* a slope towards its own origin */
    SITE_ECOLLINEAR, /* three marks in one line: they bear no plane */
    SITE_EFAR        /* a place beyond 1000 km */
};

/* A level. */
struct site_grade site_level(length level);

/*
 * site_slope - a line that rises rise / run towards a direction
 *
 * Given
 *   origin, level   a mark that it goes through
 *   rise, run       its slope; rise below 0 falls; run above 0
 *   towards         the direction, as a difference of places
 * Returned
 *   *g
 * Result
 *   SITE_OK or SITE_EDIRECTION
 */
enum site_status site_slope(struct site_place origin, length level, int64_t rise, int64_t run,
    struct site_place towards, struct site_grade *g);

/*
 * site_plane - the plane through three marks
 *
 * Given
 *   at[3], elevation[3]
 * Returned
 *   *g
 * Result
 *   SITE_OK or SITE_ECOLLINEAR
 */
enum site_status site_plane(const struct site_place at[3], const length elevation[3], struct site_grade *g);

/*
 * site_grade_at - elevation of the grade at a place
 *
 * Returned
 *   *elevation
 * Result
 *   SITE_OK or SITE_EFAR
 *
 * Method    level; level + rise / run * distance along the direction;
 *           z = z0 + (x (py qz - ... )) / (px qy - py qx), Cramer's rule on
 *           differences from the first mark.
 * Accuracy  rounded once to the nanometre, half away from zero. A slope along
 *           x or y, and a plane over marks up to 1 km apart, are exact before
 *           that rounding; others are good to one part in 1e15.
 * Source    the plane through three points, any text of analytic geometry.
 */
enum site_status site_grade_at(const struct site_grade *g, struct site_place place, length *elevation);

/*
 * site_grade_shares - how much of each mark that a grade goes through is in its elevation at a place
 *
 * Given
 *   place      one that site_grade_at() has an elevation for
 * Returned
 *   share[3]   elevation there = sum of share[k] times that of mark k, and what is exact; 1, 0, 0 for a level or
 *              slope, whose one mark is mark 0; of a plane they sum to 1, and any may be below 0 or above 1
 *
 * Method    Cramer's rule as for the elevation: 1 - a - b, a, b.
 */
void site_grade_shares(const struct site_grade *g, struct site_place place, double share[3]);

#endif
