/*
 * square.h - what was taped, put together: frames, triangles and single lengths, and the stakes to move
 *
 * A tape entry with all that continues it is one position of what it measures.
 * Its rows fall into figures: four points tied by lengths are a frame, three
 * taped all round a triangle, two a single length. A later position of the same
 * points takes the earlier one's place.
 */
#ifndef RODBOOK_SQUARE_H
#define RODBOOK_SQUARE_H

#include "rodbook/frame.h"
#include "rodbook/record.h"
#include "rodbook/stake.h"
#include "rodbook/tape.h"

#define SQUARE_NONE UINT32_MAX

/*
 * Where the record states none. One taped length: common practice, no source; the division that a crew's tape is read
 * to. Tolerances: 1/8 in under 10 ft, 1/4 in from 10 to 100 ft; square, the 5-leg of a 3-4-5 within 3/4 in per 100 ft: D. K.
 * Ballast, Handbook of Construction Tolerances (McGraw-Hill), as quoted by a trade journal
 * (jlconline.com/how-to/foundations/q-a-foundation-and-framing-tolerances_o). Longer lengths have none there.
 */
#define SQUARE_SIGMA    0.0015875             /* m: 1/16 in */
#define SQUARE_SIGMA_M  0.0015                /* m, in jobs in metres */
#define SQUARE_SHORT_TO (10 * LENGTH_FT)      /* nm */
#define SQUARE_LONG_TO  (100 * LENGTH_FT)     /* nm */
#define SQUARE_SHORT    (LENGTH_IN / 8)       /* nm, below SQUARE_SHORT_TO */
#define SQUARE_LONG     (LENGTH_IN / 4)       /* nm, up to SQUARE_LONG_TO */
#define SQUARE_FIVE_LEG (1.0 / 1600)          /* 3/4 in per 100 ft */

enum square_shape { SQUARE_FRAME, SQUARE_TRIANGLE, SQUARE_LENGTH };

enum square_state {
    SQUARE_GOOD,       /* surely within its tolerances */
    SQUARE_UNJUDGED,   /* it is nowhere said what it is to be, or how near is near enough */
    SQUARE_UNSURE,     /* nothing is surely outside, and the lengths cannot tell all */
    SQUARE_OUTSIDE,    /* surely outside a tolerance */
    SQUARE_WANTING,    /* lengths that are needed were not taped in this position */
    SQUARE_MISFIT,     /* lengths that cannot belong to one figure: one is wrong */
    SQUARE_OPEN        /* three of them close to no triangle */
};

/* As of stakes: closer than the tolerance is left, and each is decided at the confidence asked for. */
enum square_verdict { SQUARE_NOT_JUDGED, SQUARE_LEAVE, SQUARE_CANT_TELL, SQUARE_MOVE };

/* One row. */
struct square_reading {
    const struct record_taped *row;
    struct site_tape_corrections c; /* m */
    struct site_frame_fitted fit;   /* where the figure was fitted */
    double off;                     /* m: were it alone wrong, it would read too long by this; where fit.redundancy is above 0... */
    double off_sigma;               /* m: ...with this standard deviation... */
    double detectable;              /* m: ...and a mistake of this size in it is found 80 times in 100 */
    bool beyond;                    /* its normalised residual is beyond square.limit */
    bool suspect;                   /* it is the most suspect of a figure that does not fit, or as much so as that */
};

/* All readings of one pair of points. */
struct square_length {
    uint32_t a, b;         /* names */
    uint32_t first, count; /* square.reading[first ... ], in booking order; count 0 where it was not taped */
    double read;           /* m, mean of what was read; where count > 0 */
    double correction;     /* m, mean */
    double mean;           /* m, mean of what was corrected */
    double apart;          /* m, between the longest and the shortest, corrected */
    bool known;            /* adjusted, sigma */
    double adjusted;       /* m */
    double sigma;          /* m, by the weights given */
    double residual;       /* m, adjusted less mean */
    double redundancy;     /* of the mean, 0 to 1 */
    bool intended;
    double intent;         /* m, between the intended places */
    double tolerance;      /* m; 0 where none is stated or published */
    enum square_verdict verdict;
    double lay_out;        /* m: what the tape is to show for `intent`, used as in its first row; 0 without corrections */
};

struct square_corner {
    uint32_t name;
    bool known;            /* x to out_sigma */
    double x, y;           /* m, in the points' own x and y where places are intended; else from the first corner, along the base */
    double sigma_x, sigma_y; /* m: along the base line and square to it; the first corner is held, and so is the base's direction */
    double angle, angle_sigma; /* radians, inside */
    double right;          /* radians: what the angle is to be; pi / 2 where that is not known */
    double over;           /* m: the adjacent side that it is measured over */
    double out, out_sigma; /* m: how far the end of that side is off; positive where the angle is too wide */
};

struct square_figure {
    enum square_shape shape;
    enum square_state state;
    uint32_t tape;            /* index into record.tape: the head of its position */
    uint32_t position;        /* 1, and one more each time it was taped anew */
    uint32_t before;          /* index of its last position, or SQUARE_NONE */
    bool superseded;          /* a later position takes its place; one that lacks lengths does not */
    uint32_t partly;          /* index of a later position that lacks lengths, or SQUARE_NONE */
    unsigned corners;         /* 4, 3 or 2 */
    struct square_corner corner[4]; /* round it; of a frame the base line is from the first to the second */
    uint32_t first_length, lengths; /* square.length: of a frame in the order of enum site_frame_pair; of a triangle the side
                                       across from each corner, its own order */
    size_t taped;             /* pairs that were taped */
    double sigma;             /* m, of one taped length */
    bool has_sigma;           /* it was stated */
    bool has_tolerance;       /* stated; else as published */

    bool intended;            /* all corners have places */
    bool bad_places;          /* they have, and these make no convex figure */
    bool ordered;             /* the corners stand round it: stated, by their places, or by the lengths */
    bool guessed;             /* which lengths are diagonals was taken from the lengths, or the missing one for a diagonal */
    struct site_frame_intent intent;

    bool fitted;              /* frame, of a frame; and what follows */
    struct site_frame frame;
    size_t redundancy;        /* of a frame: frame.redundancy; else repeated tapings */
    double share;             /* of good tapings that leave as large a sum; 1 without redundancy */
    bool located;             /* of a misfit: one reading is suspect, and no other as much so */

    double difference, difference_sigma; /* m: first diagonal less the other, less what that is to be; of a frame */
    double square;            /* m: its tolerance; 0 where it is not judged */
    enum square_verdict square_verdict;
    double slide, slide_sigma; /* m: site_frame_slide() */
    bool has_cure;
    struct site_frame_cure cure; /* of a frame whose state is SQUARE_GOOD, _UNSURE or _OUTSIDE */
    double diagonals2, sides2; /* m^2: sums of squares of the taped diagonals and sides; 0 where one was not taped */

    uint32_t open[3];         /* of SQUARE_OPEN: indices into square.length, the one first that is longer than the others together... */
    double open_by;           /* ...and m, by how much */
    uint32_t again[SITE_FRAME_PAIRS]; /* what to tape again, most telling first: indices into square.length */
    size_t agains;

    bool has_moved;           /* a slide was asked for in the position before */
    enum site_moved moved;
    double asked, done;       /* m: the slide; positive from the fourth corner towards the third */

    unsigned square_at;       /* of a triangle: the corner that is meant to be square; 3 where none is near it */
    double needs, needs_off, needs_sigma; /* m: the side across it for a right angle, and that side as taped less that */
};

struct square {
    const struct record *r;
    struct square_figure *figure; /* position by position */
    size_t figures, figure_room;
    struct square_length *length;
    size_t lengths, length_room;
    struct square_reading *reading;
    size_t readings, reading_room;
    uint32_t *point_of;        /* [names of the record] index into record.point of the last row of each name, or SQUARE_NONE */
    double confidence, factor; /* half a confidence interval is factor times a standard deviation */
    double limit;              /* of a normalised residual: one good reading in 1000 is beyond it, either sign */
    size_t left_over;          /* rows that are part of no figure: said in `d` */
};

/*
 * square_work - put together what was taped
 *
 * Given
 *   r           read without errors, job_building() called; must outlive the result
 *   confidence  of the verdicts, above 0, below 1
 * Returned
 *   s           square_release(), in any case
 *   d           errors: lengths that no correction fits; warnings: figures that cannot be, and rows that belong to none
 * Result
 *   0, or -1 without memory
 *
 * Method    frame.h, tape.h. A figure does not fit where the weighted sum of squares is so large that good tapings leave
 *           one as large with a chance of less than 1 - confidence (chi-square). One reading is beyond where its normalised
 *           residual is beyond 3.291 (level 0.001); the largest is suspect, and with it each whose residual answers to
 *           mistakes alike (correlation 0.999 and more): six lengths of a frame, once each, are all alike.
 */
int square_work(struct square *s, const struct record *r, double confidence, struct diag *d);

/* The pull at which stretch makes good what the whole tape sags in one span, N; false where its constants do not say. */
bool square_normal_pull(const struct record_tape *t, double *pull);

/* square_work() for its complaints alone. */
int square_look(const struct record *r, struct diag *d);

void square_release(struct square *s);

/* Whether there is anything that a crew must not build on as it is: an exit status of 1. */
bool square_is_good(const struct square *s);

#endif
