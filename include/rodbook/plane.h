/*
 * plane.h - the level, line or plane that fits spots best
 *
 * Places and heights are doubles in one unit of the caller's, metres as a
 * rule; slopes are rise over run and have none. Grades are made of them and
 * are whole nanometres again: choose.h.
 */
#ifndef RODBOOK_PLANE_H
#define RODBOOK_PLANE_H

#include <stddef.h>

/* Which slopes are fitted: bits. */
enum { SITE_PLANE_LEVEL = 0, SITE_PLANE_ALONG = 1, SITE_PLANE_ACROSS = 2, SITE_PLANE_BOTH = 3 };

/* z = height + along (x - x0) + across (y - y0) */
struct site_plane_fit {
    double x, y, height;        /* x0, y0 and height: the centroid of the spots, each by its weight */
    double along, across;       /* slopes towards +x and +y; 0 where not fitted */
    double weight;              /* sum of the weights */
    double var_along, var_across, covariance; /* of the slopes, for an observation of weight 1 and variance 1;
                                                 times scatter^2 they are as the fit has them */
    double sum;                 /* of w times the squared residuals */
    double scatter;             /* root of sum / freedom: of an observation of weight 1; below 0 where freedom is 0 */
    size_t freedom;             /* spots less what is fitted */
};

enum site_plane_status {
    SITE_PLANE_OK,
    SITE_PLANE_EFEW,   /* fewer spots than what is fitted: 1, 2 with a slope, 3 with both */
    SITE_PLANE_ELINE,  /* in one line, or in one place: they do not show the slopes that are asked for */
    SITE_PLANE_EVALUE, /* a place, height or weight that is no number, or a weight that is not above 0 */
    SITE_PLANE_EMEMORY
};

/*
 * site_plane_fit - weighted least squares through the centroid
 *
 * Given
 *   x[n], y[n], z[n]
 *   w[n]       weights; NULL: all 1. To balance cut and fill: the area that each spot stands for
 *   slopes     SITE_PLANE_... bits
 *   room[3n]   workspace
 * Returned
 *   *fit       untouched unless the result is SITE_PLANE_OK
 * Result
 *   see enum site_plane_status
 *
 * Method    The centroid is taken off first; then the slopes have the least
 *           sum of w (z - z0 - b (x - x0) - c (y - y0))^2. The best fit goes
 *           through the centroid whatever slopes are fitted, so that the
 *           residuals, each by its weight, sum to 0: by areas, cut and fill
 *           are the same over the spots. So they are for any plane through the
 *           centroid, whatever its slopes: one may be bounded or left out.
 * Accuracy  of NIST's Norris (36 values up to 1000) the slope keeps 14 of the
 *           15 certified digits, the height at x = 0 its first 13 decimals
 * Source    through the centroid: J. C. Marr, Grading land for surface
 *           irrigation, Univ. of California Circular 438 (1954), appendices.
 *           Held against NIST StRD, Norris; and 31 trees: tests/site/test_plane.c.
 */
enum site_plane_status site_plane_fit(const double *x, const double *y, const double *z, const double *w, size_t n,
    int slopes, double *room, struct site_plane_fit *fit);

/* The height of the fit at a place. */
double site_plane_at(const struct site_plane_fit *fit, double x, double y);

/* Standard deviation, from the fit's own scatter, of its height at a place; below 0 where freedom is 0. */
double site_plane_sigma(const struct site_plane_fit *fit, double x, double y);

#endif
