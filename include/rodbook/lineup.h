/*
 * lineup.h - posts of one row in line: a straight line that one rogue does not bend, and who stands off it
 *
 * Places are along the row; offsets are gaps to a string, or elevations of
 * marks. Nothing here knows which.
 */
#ifndef RODBOOK_LINEUP_H
#define RODBOOK_LINEUP_H

#include <stdbool.h>
#include <stddef.h>

/* What a post must be beyond to stand out, worked out by the caller for its confidence and count. */
struct site_lineup_limits {
    double normal;         /* no unit: deviation over its standard deviation, where the errors explain how the others stand */
    double odds;           /* no unit: by how much more the rest must then be out of line, as a sum of squares over the errors',
                              for another post not to be the one that is off; 2 ln of the odds wanted */
    const double *chisq;   /* [n] by degrees of freedom, 0 unused: sum of squares of the others over their errors' that they hardly explain */
    const double *student; /* [n] the same as normal, where the scatter of the others is the scale */
};

struct site_lineup {
    double at, slope;   /* m where place is 0, and m per m: least squares over the posts that do not stand out */
    double robust_at, robust_slope; /* the line that it began from: repeated median */
    size_t kept;        /* posts that do not stand out */
    bool crowded;       /* more stand out than site_lineup_most(): who is off and who is in line cannot be told */
    double sum;         /* sum of squares of their deviations over their errors */
    double weight, place, spread; /* of that fit, for site_lineup_error(): sum of 1 / error^2; m, mean place; sum of squares about it */
    double scale;       /* root of sum over degrees of freedom: 1 is what the errors explain; -1 with 2 posts or fewer */
};

struct site_lineup_post {
    double off;     /* m, offset less line.at + line.slope * place; of one that stands out, off the line of the others */
    double error;   /* m, standard deviation by the errors given, of the offset less the line of the OTHER posts kept; -1: no such line */
    double others;  /* m, the offset less that line */
    bool out;       /* stands out: is off the line of the others, beyond doubt */
    size_t rival;   /* of one that stands out: another post without which the rest would be as well in line, so that
                       nothing tells which of the two is off; n: none */
};

enum site_lineup_status {
    SITE_LINEUP_OK,
    SITE_LINEUP_EFEW,  /* fewer than 2 posts: no line */
    SITE_LINEUP_EPLACE /* two posts in one place, or places that do not rise; or something given is not finite or an error not above 0 */
};

#define SITE_LINEUP_ROUNDS 12 /* of naming, beyond one for each post; more only where posts stand on the edge of their limit */

/* Posts that may be off while the others still bear the line: n/2 - 1, rounded down, from 4 posts on; else none. */
size_t site_lineup_most(size_t n);

/*
 * site_lineup - the straight line of a row, and the posts that stand off it beyond doubt
 *
 * Given
 *   place[n]   m along the row, rising
 *   offset[n]  m
 *   error[n]   m, above 0: standard deviation of each offset as measured, independent of each other
 *   n          posts
 *   limits     NULL: nobody stands out
 *   room[2 n]  for working in
 * Returned
 *   *line, post[n]   untouched unless the result is SITE_LINEUP_OK
 * Result
 *   SITE_LINEUP_OK, or what is wrong
 *
 * Method    With 2 or 3 posts least squares over all, and nobody stands out:
 *           two are always in line, and of three that are not, any may be off.
 *           From 4 on:
 *           1. Repeated median: slope = med over i of med over j of
 *              (offset_j - offset_i) / (place_j - place_i), at = med of
 *              offset_i - slope place_i. Whatever up to n/2 - 1 posts (rounded
 *              down) do, where the others are in one line it is that line.
 *           2. Kept are those within 2.5 s of it, s the errors' scale, or
 *              1.4826 (1 + 5 / (n - 2)) med |residual / error| where that is more.
 *           3. Each post is held against the least-squares line of the others
 *              that are kept, weighted by 1 / error^2. Its deviation has variance
 *              error^2 + that of the line at its place. Where the others'
 *              scatter is what their errors explain (sum of squares up to
 *              chisq), it stands out beyond `normal`; where it is more, that
 *              scatter is the scale, and it stands out beyond `student`.
 *              With fewer than 3 others kept nobody stands out.
 *           4. Those that do not stand out come back, and of the others kept
 *              the one farthest beyond its limit goes; where two are beyond it
 *              alike, neither. 3 and 4 again until nothing changes.
 *           5. One that stands out has a rival where taking another post out in
 *              its stead leaves a sum of squares that is more by less than
 *              `odds` (times the square of the scale, where scatter is the scale).
 *           Adding a shift and a slope to the offsets moves the line by the
 *           same and nothing else; so does mirroring.
 * Accuracy  1e-12 of the largest offset and of the length times the slope. n^2 log n steps.
 * Source    A. F. Siegel, Robust regression using repeated medians, Biometrika
 *           69 (1982) 242; P. J. Rousseeuw and A. M. Leroy, Robust Regression
 *           and Outlier Detection (1987), for the first scale and the cut at
 *           2.5 (both from memory).
 */
enum site_lineup_status site_lineup(const double *place, const double *offset, const double *error, size_t n,
    const struct site_lineup_limits *limits, double *room, struct site_lineup *line, struct site_lineup_post *post);

/* Standard deviation of the line at a place, m, by the errors given: root of 1 / weight + (place - mean)^2 / spread. */
double site_lineup_error(const struct site_lineup *line, double place);

/*
 * site_lineup_middle - of three posts, the middle one off the line of its neighbours
 *
 * Given
 *   place[3]   m, rising
 *   offset[3], error[3]   m
 * Returned
 *   *error_of  m, standard deviation of the result
 * Result
 *   m; or an end one is off by more, and nothing says which
 *
 * Method    o2 - ((1 - f) o1 + f o3), f = (p2 - p1) / (p3 - p1).
 */
double site_lineup_middle(const double place[3], const double offset[3], const double error[3], double *error_of);

/*
 * site_lineup_plumb - how far a post leans
 *
 * Given
 *   rise       m, to the side
 *   over       m of height, above 0
 * Result
 *   radians from plumb: atan(rise / over)
 */
double site_lineup_plumb(double rise, double over);

#endif
