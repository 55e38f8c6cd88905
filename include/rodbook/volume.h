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

/* Which spots are joined is settled on places to the nearest 1/100 mm, far below what a tape shows, so that whether a spot
 * lies in a circle through three others is exact in 126 bits: 12 (2 * 5 km)^4, in 1/100 mm, is 1.2e37, below 2^126 = 8.5e37. */
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
 * Accuracy  of the surface of flat triangles, some units in the last place of area times the largest height. Areas are of
 *           the places as given: a plane through the spots has its volume whatever triangles were made of them. A sliver
 *           along the hull that bends in by less than SITE_VOLUME_STEP counts below 0, as it should.
 *           Of the ground between the spots: as good as it is flat there; no figure shows it.
 * Source    own derivation: a linear function over a triangle is its mean at the corners.
 */
void site_volume_over(const struct site_place *at, size_t n, const double *above, const struct site_triangle *triangle,
    size_t triangles, const struct site_rectangle *inside, struct site_volume *v, double *cut_weight, double *fill_weight);

/* ---- grids ---- */

/* Columns stand along x and rows along y, both evenly. */
struct site_grid {
    struct site_place origin; /* of column 0, row 0 */
    length dx, dy;            /* between columns, and between rows; above 0 */
    uint32_t columns, rows;
};

/* A square of a grid: its corners are spots, counter-clockwise from the one at `column`, `row`. */
struct site_cell {
    uint32_t column, row;
    uint32_t corner[4];
};

/* A place of the grid that has no spot, though squares beside it have some. */
struct site_gap {
    uint32_t column, row;
    uint32_t cells; /* such squares, which are left out */
};

/*
 * site_volume_grid - the regular grid that spots stand on
 *
 * Given
 *   at[n]      places
 *   room       site_volume_room(n) bytes
 * Returned
 *   *g
 *   lattice[4 * n]  the caller's; the spot at column c, row r is lattice[r * columns + c], SITE_VOLUME_NONE where there is none
 *   same[n]    as site_volume_triangulate() gives it
 *   All untouched unless the result is SITE_VOLUME_OK.
 * Result
 *   SITE_VOLUME_OK, or SITE_VOLUME_EGRID: the lines nearest to the low edges do not repeat evenly over every spot; some
 *   line between the first and the last has no spot; three quarters of the places or more are empty; or not more than half
 *   of the spots are corners of a square that was read whole
 *
 * Accuracy  exact: a spot off its line by a nanometre is off it.
 */
enum site_volume_status site_volume_grid(const struct site_place *at, size_t n, void *room, struct site_grid *g,
    uint32_t *lattice, uint32_t *same);

/*
 * site_volume_cells - the squares of a grid, and what is missing
 *
 * Returned
 *   cell[n]    squares whose four corners are spots, row by row
 *   gap[4 * n], *gaps  places without a spot that leave out a square of which another corner was read
 *   *left_out  such squares: of one to three corners
 * Result
 *   how many squares are whole
 *
 * A grid may have any outline; nobody can say from the spots whether a square that is not whole lies outside it, or was
 * forgotten.
 */
size_t site_volume_cells(const struct site_grid *g, const uint32_t *lattice, struct site_cell *cell, struct site_gap *gap,
    size_t *gaps, size_t *left_out);

/* The area of one square, m2. */
double site_volume_square(const struct site_grid *g);

/*
 * site_volume_of_cell - cut and fill in one square
 *
 * Given
 *   c          column and row say where it stands
 *   above[4]   m, ground above grade at its corners
 *   inside     only what lies in it; NULL: everything
 * Returned
 *   *v
 *   cut_weight[4], fill_weight[4]  m2, as site_volume_over()
 *
 * Method    Four triangles from the middle of the square to its sides, the
 *           middle at the mean of the corners, each cut off along the grade.
 *           Their net is the four-point mean: with sides s and middle
 *           m = (h1 + h2 + h3 + h4) / 4,  sum over sides of (A / 4) (hi + hj + m) / 3
 *             = (A / 12) (2 * 4 m + 4 m) = A m.
 *           The surface has no preferred diagonal and meets that of the square
 *           beside it along their common side.
 * Accuracy  some units in the last place of area times the largest height
 * Source    the four-point mean: any text of borrow-pit levelling; the division into four triangles is our own derivation.
 */
void site_volume_of_cell(const struct site_grid *g, const struct site_cell *c, const double above[4],
    const struct site_rectangle *inside, struct site_volume *v, double cut_weight[4], double fill_weight[4]);

/*
 * site_volume_four_point - cut and fill in one square by the rule of land grading
 *
 * Returned
 *   *cut, *fill  m3
 *
 * Method    V = A (sum c)^2 / (4 (sum c + sum f)), c the cuts at the corners
 *           and f the fills, and the same with f and c exchanged; nought where
 *           all corners are on grade. Its net is the four-point mean too. It
 *           knows how much is cut and filled at the corners but not which
 *           corner lies beside which.
 * Source    the form in which land-grading practice has it, from memory; that its net is the mean is easily shown:
 *           (C^2 - F^2) / (C + F) = C - F.
 */
void site_volume_four_point(double square, const double above[4], double *cut, double *fill);

#endif
