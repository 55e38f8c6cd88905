/*
 * frame.h - a frame of four corners from taped sides and diagonals: fitted, and brought square
 *
 * Corners are 0, 1, 2, 3, round the frame; 0 and 1 are the ends of the base
 * line. Coordinates are the frame's own, in metres: corner 0 at the origin,
 * corner 1 on the positive x axis, so that the first corner and the direction
 * of the base line are held and everything else follows from the tape.
 */
#ifndef RODBOOK_FRAME_H
#define RODBOOK_FRAME_H

#include <stdbool.h>
#include <stddef.h>

#define SITE_FRAME_UNKNOWNS 5 /* x1, x2, y2, x3, y3 */
#define SITE_FRAME_PAIRS 6
#define SITE_FRAME_WORK 7     /* doubles of work for each length */

/* The pairs of corners, in this order wherever six numbers stand: sides, then diagonals. */
enum site_frame_pair {
    SITE_FRAME_BASE,  /* 0 1 */
    SITE_FRAME_RIGHT, /* 1 2 */
    SITE_FRAME_FAR,   /* 3 2 */
    SITE_FRAME_LEFT,  /* 0 3 */
    SITE_FRAME_FIRST, /* 0 2, the diagonal from the first corner */
    SITE_FRAME_OTHER  /* 1 3 */
};

/* One taped length, corrections put to it. */
struct site_frame_length {
    enum site_frame_pair pair;
    double length; /* m, above 0 */
    double sigma;  /* m, above 0 */
};

struct site_frame {
    double x[4], y[4]; /* m */
    double cov[SITE_FRAME_UNKNOWNS * SITE_FRAME_UNKNOWNS]; /* m^2, of x1, x2, y2, x3, y3, by the weights given */
    double sum;        /* weighted sum of squares of what is left; no unit */
    size_t redundancy; /* lengths less unknowns */
};

/* What the fit says of one length. */
struct site_frame_fitted {
    double residual;   /* m, adjusted less taped */
    double redundancy; /* 0 to 1: the part of a mistake in it that its residual shows */
    double normalised; /* residual over its standard deviation; 0 where nothing checks it */
};

enum site_frame_status {
    SITE_FRAME_OK,
    SITE_FRAME_EFEW,     /* a pair that is needed was not taped: fewer than five of the six */
    SITE_FRAME_EOPEN,    /* no two triangles of it close: site_frame_open() says which does not, and by how much */
    SITE_FRAME_EFLAT,    /* corners in one line, which tape alone cannot place */
    SITE_FRAME_EMEMORY
};

/*
 * site_frame_fit - the frame that fits taped lengths best
 *
 * Given
 *   l[n]       sides and diagonals, any of them any number of times
 *   left       true where 0, 1, 2, 3 go round to the left (against the clock), false to the right: lengths cannot tell
 *   work[n * SITE_FRAME_WORK]  the caller's; overwritten
 * Returned
 *   *f, of[n]  untouched unless the result is SITE_FRAME_OK
 * Result
 *   SITE_FRAME_OK, or what is wrong
 *
 * Method    Least squares, sum of ((adjusted - taped) / sigma)^2, by Gauss-Newton: dense_fit() of the lengths' gradients,
 *           a step halved until the sum falls, until steps are below 1e-12 of the frame's size. It starts from two
 *           triangles on a common side or diagonal, of all six such pairs the one that leaves the least sum, so that one
 *           wild length does not spoil the start.
 *             redundancy number  r = 1 - a C a' / sigma^2, a the gradient, C the covariance; they add up to n - 5
 *             normalised         v / (sigma root r)
 * Accuracy  1e-9 m for frames up to 1 km
 * Source    any text of adjustment; redundancy and test: W. Baarda, A testing procedure for use in geodetic networks,
 *           Netherlands Geodetic Commission, New Series 2, 5 (1968) (from memory). Held to the data of the braced
 *           quadrilateral in Zaki, El Kady and Ahmed, XVIIth ISPRS Congress, Part B3.
 */
enum site_frame_status site_frame_fit(const struct site_frame_length *l, size_t n, bool left, double *work, struct site_frame *f,
    struct site_frame_fitted *of);

/*
 * site_frame_open - the triangle of a frame that does not close
 *
 * Given
 *   l[n]       as above
 * Returned
 *   pair[3]    its pairs, the one first that is longer than the two others together; set where the result is above 0
 * Result
 *   m, by how much, of the worst one; 0 where all triangles that were taped close
 */
double site_frame_open(const struct site_frame_length *l, size_t n, enum site_frame_pair pair[3]);

/* How alike the residuals of two readings, not one and the same, answer to mistakes: their correlation, -1 to 1. At 1 or -1 no test can tell a
 * mistake in the one from a mistake in the other. 0 where nothing checks one of them. */
double site_frame_alike(const struct site_frame *f, const struct site_frame_length *a, const struct site_frame_length *b);

/* A quantity of the fitted frame, and how it changes with the five unknowns. */
struct site_frame_value {
    double value; /* m, or radians */
    double by[SITE_FRAME_UNKNOWNS];
};

/* A side or diagonal; the angle inside at a corner; a coordinate. */
struct site_frame_value site_frame_length_of(const struct site_frame *f, enum site_frame_pair pair);
struct site_frame_value site_frame_angle_of(const struct site_frame *f, unsigned corner);
struct site_frame_value site_frame_x_of(const struct site_frame *f, unsigned corner);
struct site_frame_value site_frame_y_of(const struct site_frame *f, unsigned corner);

/* a times one, and b times another, added. */
struct site_frame_value site_frame_add(double a, const struct site_frame_value *one, double b, const struct site_frame_value *other);

/* Its standard deviation, by the weights given. */
double site_frame_sigma(const struct site_frame *f, const struct site_frame_value *v);

/*
 * site_frame_slide - how far both far marks slide along their line to make the diagonals alike
 *
 * Result
 *   m; positive from corner 3 towards corner 2
 *
 * Method    s = (d1^2 - d2^2) / (4 L), d1 the diagonal 1 3, d2 the diagonal 0 2, L half of base and far side together:
 *           exact where base and far side are parallel, whatever the sides. The far marks go the way that lengthens the
 *           shorter diagonal.
 * Source    derived: with the far line slid by s, d1^2 - d2^2 changes by 4 L s. Holding the base line and sliding the two
 *           far marks alike: US Army correspondence course EN0069, p. 46.
 */
struct site_frame_value site_frame_slide(const struct site_frame *f);

/* What the frame is to be, and how far from it is near enough. Coordinates as of a frame: corner 0 at the origin, corner 1
 * on the positive x axis. */
struct site_frame_intent {
    double x[4], y[4];                  /* m */
    double length[SITE_FRAME_PAIRS];    /* m */
    bool rectangle;                     /* right angles and equal opposite sides, to 1e-4 */
    double tolerance[SITE_FRAME_PAIRS]; /* m, of the four sides; of diagonals not looked at. 0: that one is not judged */
    double square;                      /* m: the diagonals may differ by this more or less than they are to; 0: not judged */
};

/* Fills length and rectangle from x and y. False where the corners do not go round a convex figure one way. */
bool site_frame_intend(struct site_frame_intent *i);

/* A stake's move. */
struct site_frame_move {
    double along;  /* m; of corner 1 along the base line, away from corner 0; of the far corners along their line, from 3 to 2 */
    double across; /* m; of the far corners along their sides, away from the base line */
};

enum site_frame_cure_kind {
    SITE_FRAME_LEAVE, /* it is within its tolerances */
    SITE_FRAME_SLIDE, /* both far marks alike, sides kept */
    SITE_FRAME_SIDES, /* the slide, and those sides that are outside */
    SITE_FRAME_PLACES /* each stake to its place */
};

struct site_frame_cure {
    enum site_frame_cure_kind kind;
    struct site_frame_move move[4];  /* corner 0 stays */
    double after[SITE_FRAME_PAIRS];  /* m, the six numbers to tape then */
};

/*
 * site_frame_cure - the stakes to move
 *
 * Given
 *   x[4], y[4] where the corners are
 *   i          what they are to be
 * Returned
 *   *c         the first of the four kinds that brings all sides and the diagonals within their tolerances; the last one,
 *              whatever it brings
 *
 * Method    Corner 0 and the direction of the base line are held. The slide is that of site_frame_slide(), with the sides
 *           as they are to be where they are moved too. Only a rectangle is slid; other figures go to their places.
 */
void site_frame_cure(const double x[4], const double y[4], const struct site_frame_intent *i, struct site_frame_cure *c);

/* How large the angle between sides a and b is, from the side c across it, radians. False, and *angle untouched, where the
 * three do not close. `by`: how it changes with a, b and c, radians per m. */
bool site_triangle_angle(double a, double b, double c, double *angle, double by[3]);

#endif
