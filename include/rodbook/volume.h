/*
 * volume.h - how much lies between the ground and a grade: over scattered spots, and over a grid of squares
 *
 * The ground is a surface of flat triangles. Heights are those of the ground
 * above the grade, so that a level, a slope and a plane are all one: flat
 * triangles stay flat. Volumes are of the ground as it lies (bank measure).
 *
 * Memory is the caller's throughout.
 */
#ifndef RODBOOK_VOLUME_H
#define RODBOOK_VOLUME_H

#include "rodbook/grade.h"

#define SITE_VOLUME_NONE UINT32_MAX

/* Places are taken to the nearest 1/100 mm, far below what a tape shows, so that whether a spot lies in a circle through
 * three others is settled exactly in 126 bits: (12 (2 * 5 km)^4, in 1/100 mm, is 1.2e37, below 2^126 = 8.5e37). */
#define SITE_VOLUME_STEP (LENGTH_MM / 100)
#define SITE_VOLUME_FARTHEST (5 * LENGTH_KM) /* along x or y from the first spot */

enum site_volume_status {
    SITE_VOLUME_OK,
    SITE_VOLUME_EFEW, /* all spots stand in one line, or there are fewer than three places: they bear no surface */
    SITE_VOLUME_EFAR, /* a spot lies farther than SITE_VOLUME_FARTHEST from the first */
    SITE_VOLUME_EGRID /* the spots are no regular grid */
};

/* ---- triangles ---- */

/* Corners are indices of spots, counter-clockwise. */
struct site_triangle {
    uint32_t corner[3];
};

/* Bytes of workspace for n spots, for each function that asks for `room`; aligned as malloc() does. */
size_t site_volume_room(size_t n);

/*
 * site_volume_triangulate - the triangles that scattered spots are the corners of
 *
 * Given
 *   at[n]      places
 *   room       site_volume_room(n) bytes
 * Returned
 *   triangle[2 * n]  the caller's; those that are used fill the hull of the spots
 *   *triangles how many are used
 *   same[n]    of each spot, the first that stands at its place: itself where it stands alone. Only the first is a corner.
 *   All untouched unless the result is SITE_VOLUME_OK.
 * Result
 *   SITE_VOLUME_OK, SITE_VOLUME_EFEW or SITE_VOLUME_EFAR
 *
 * Method    Delaunay's triangles: no spot lies within the circle through the
 *           corners of any. Spots are taken by rising x, then y; each joins
 *           the sides of the hull that it sees, and sides are exchanged for
 *           the other diagonal until the rule holds (Lawson). Where four spots
 *           lie on one circle both diagonals obey it; which one stands hangs
 *           on the places alone, never on the order of the spots or on
 *           rounding. Quick for thousands of spots.
 * Accuracy  exact, of places to SITE_VOLUME_STEP.
 * Source    B. Delaunay, Sur la sphere vide, 1934; C. L. Lawson, Software for C1 surface interpolation, 1977; from memory.
 */
enum site_volume_status site_volume_triangulate(const struct site_place *at, size_t n, void *room,
    struct site_triangle *triangle, size_t *triangles, uint32_t *same);

/*
 * site_volume_even - one value for each place
 *
 * Given
 *   same[n]    as site_volume_triangulate() gives it
 * Returned
 *   value[n]   each replaced by the mean of those at its place
 *
 * Of heights, before they are given below: the mean where a place was read under two names. Of weights that come out
 * below: shared between those names.
 */
void site_volume_even(const uint32_t *same, size_t n, double *value);

/* ---- volumes ---- */

/* A rectangle along x and y that volumes are kept to; `from` is below `to` in both. */
struct site_rectangle {
    struct site_place from, to;
};

struct site_volume {
    double cut, fill; /* m3, neither below 0: above the grade, and below it */
    double net;       /* m3: cut less fill, summed by itself */
    double area;      /* m2 that they lie over */
};

/*
 * site_volume_over - cut and fill over triangles
 *
 * Given
 *   at[n]      places of the spots
 *   above[n]   m, ground above grade at each; below 0 in fill
 *   triangle[triangles]
 *   inside     only what lies in it; NULL: everything
 * Returned
 *   *v
 *   cut_weight[n], fill_weight[n]  m2; NULL where they are not wanted. How much cut grows when the ground
 *              at a spot is higher by 1, and how much fill shrinks: net = sum of (cut_weight + fill_weight) * above.
 *
 * Method    Each triangle is cut off at the rectangle's sides and along the
 *           line where it goes through the grade; a piece with corners p, q, r
 *           holds its area times the mean of their heights. What a corner k
 *           has in it is the integral of its share l_k, the coordinate that is
 *           1 at k and 0 at the other two.
 * Accuracy  of the surface of flat triangles, some units in the last place of area times the largest height.
 *           Of the ground between the spots: as good as it is flat there; no figure shows it.
 * Source    own derivation: a linear function over a triangle is its mean at the corners.
 */
void site_volume_over(const struct site_place *at, size_t n, const double *above, const struct site_triangle *triangle,
    size_t triangles, const struct site_rectangle *inside, struct site_volume *v, double *cut_weight, double *fill_weight);

#endif
