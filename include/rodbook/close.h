/*
 * close.h - carry elevations, close loops and links, spread the misclosure by hand methods
 *
 * Legs in booking order are taken as lines: a leg that begins where the one
 * before it ended carries on the same line. A line is cut wherever it meets a
 * mark or a spot that is adjusted already. A piece between two such spots is
 * a loop (one spot) or a link (two); its misclosure is judged and spread over
 * it. What hangs on one known spot is a spur: carried, never checked.
 *
 * docs/method.md, from "Lines, loops, links, spurs" on, has the rules and their reasons.
 */
#ifndef RODBOOK_CLOSE_H
#define RODBOOK_CLOSE_H

#include "rodbook/setup.h"

/* How far an elevation can be trusted; the larger is the worse. */
enum level_quality {
    LEVEL_CLOSED,    /* on a loop or link that is within its allowable misclosure, or is not judged */
    LEVEL_FORCED,    /* on one that is beyond it, and was spread because that was asked for */
    LEVEL_UNCHECKED, /* on a spur, or hanging on one */
    LEVEL_OUTSIDE    /* on a loop or link beyond its allowable misclosure, not spread */
};

enum level_state {
    LEVEL_UNKNOWN,
    LEVEL_SIDE,    /* from intermediate sights: the mean of the best of them */
    LEVEL_CARRIED, /* on a line that could not be closed */
    LEVEL_HELD,    /* adjusted */
    LEVEL_MARK     /* given */
};

struct level_spot {
    length value;     /* elevation, adjusted where it could be; valid unless LEVEL_UNKNOWN */
    length low, high; /* of all that was read on it, adjusted; equal to value when read once */
    length raw;       /* elevation without corrections, as the field book has it */
    uint32_t readings; /* determinations: one for each side shot, one for each line that it lies on */
    uint32_t last_leg; /* leg of the last sight on it in booking order; LEVEL_NONE */
    length last_reading; /* and that reading */
    /* Working members: */
    length first_value, value_sum, first_raw, raw_sum; /* sums of differences to the first */
    uint32_t best, raws; /* how many stand in the sums */
    uint8_t state;    /* enum level_state; LEVEL_MARK and value are set by the caller */
    uint8_t quality;  /* enum level_quality */
};

/* By legs: as many shares as set-ups and sections, whatever is booked of them; what least squares begins from. */
enum level_spread { LEVEL_BY_SETUPS, LEVEL_BY_DISTANCE, LEVEL_BY_LEGS };

enum level_allow { LEVEL_ALLOW_NONE, LEVEL_ALLOW_FIXED, LEVEL_ALLOW_ROOT_SETUP, LEVEL_ALLOW_ROOT_KM, LEVEL_ALLOW_ROOT_MILE };

struct level_rules {
    enum level_spread spread;
    enum level_allow allow;
    double allow_nm;    /* the coefficient: nm, or nm per root of set-ups, km or miles; above 0 */
    bool spread_anyway; /* spread what is outside as well */
};

enum level_link_kind { LEVEL_LOOP, LEVEL_LINK, LEVEL_SPUR };

enum level_within { LEVEL_NOT_JUDGED, LEVEL_WITHIN, LEVEL_BEYOND };

struct level_link {
    enum level_link_kind kind;
    uint32_t from, to;     /* spots; LEVEL_NONE where a struck sight left no end */
    uint32_t first, count; /* its legs: level_work.order[first ... first + count - 1] */
    uint64_t setups;       /* 0 when some section does not say */
    length dist;           /* -1 when some sight length is not booked */
    bool summed;           /* some set-up has two sights, so that there are sums: */
    length sum_bs, sum_fs, sum_rise, sum_fall;
    length misclosure; /* measured minus known; 0 for a spur */
    double allowed_nm; /* the limit, unrounded; below 0 when there is none */
    enum level_within within;
    bool spread;     /* its misclosure was spread over it */
    bool no_share;   /* it could not be spread or judged: leg `wanting` does not
                        say its distance, or a section its set-ups */
    uint32_t wanting;
    uint8_t quality;
};

/* What level_close() works in: the caller's arrays. */
struct level_work {
    struct level_link *link; /* [legs] */
    size_t links;            /* set */
    uint32_t *order;         /* [legs] legs, link by link, each in booking order; set */
    uint32_t *next, *inner, *tail, *queue, *path; /* [legs] */
    uint32_t *met;           /* [spots], all bytes zero */
    uint32_t *touch_start;   /* [spots + 1] */
    uint32_t *touch;         /* [2 * legs] */
    uint8_t *pending;        /* [legs], all bytes zero */
};

/*
 * level_close - elevations of every spot, links, spreads
 *
 * Given
 *   leg[legs]     as level_group() made them, runs in booking order; dist set
 *   sight[]       what they point into
 *   spot[spots]   marks: state LEVEL_MARK and value; all else zero
 *   rules
 *   work          arrays of the sizes above
 * Returned
 *   leg[], spot[], work->link[], work->order[] as described
 * Result
 *   LEVEL_OK; or LEVEL_EOVERFLOW, when all that was returned is worthless.
 *   A leg whose `known` is still 0 hangs on nothing known.
 *
 * Method    Loop or link with n set-ups and misclosure m = measured - known:
 *           the running correction after set-up k is -m k / n, or -m d / D by
 *           distance, in 128-bit integers, rounded once to the nanometre half
 *           away from zero, so that the last one is exactly -m. An
 *           intermediate sight takes the running correction of its set-up.
 *           Limit: |m| <= c, c root(n), c root(D/km) or c root(D/mile), compared
 *           as squares in integers where c is whole, so that the limit itself
 *           is within.
 *           A line that comes back to a turning point of its own has closed
 *           an inner loop: the outer line is spread first, then the inner
 *           loop between the spots so adjusted.
 * Source    set-up and distance rules: R. Rode, Collimation method to reduce a
 *           leveling field book page (running correction, side shots); J. P.
 *           La Putt, Elementary Surveying (by distance; from memory).
 */
enum level_status level_close(struct level_leg *leg, size_t legs, const struct level_sight *sight,
    struct level_spot *spot, size_t spots, const struct level_rules *rules, struct level_work *work);

/* The limit for a misclosure: nm, unrounded; below 0 where the rules state none
 * or the numbers that they need are missing (setups 0, dist -1). */
double level_allowed(const struct level_rules *rules, uint64_t setups, length dist);

/* |misclosure| against the limit, which itself is within. */
enum level_within level_judge(const struct level_rules *rules, uint64_t setups, length dist, length misclosure);

#endif
