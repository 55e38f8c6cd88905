/*
 * setup.h - sights in booking order, grouped into set-ups
 *
 * A set-up is one backsight, its intermediate sights, and the foresight that
 * ends it. Here a set-up and a section are both a leg: a rise from one spot
 * to another. A spot is a point, what the rod stood on there, and a position
 * of it: the thing that has one elevation.
 */
#ifndef RODBOOK_SETUP_H
#define RODBOOK_SETUP_H

#include "rodbook/length.h"

#define LEVEL_NONE UINT32_MAX /* no spot, no leg, no link */

enum level_kind { LEVEL_BS, LEVEL_IS, LEVEL_FS };

struct level_sight {
    length reading; /* nm up from the rod's foot; below 0: rod inverted */
    uint32_t spot;
    uint8_t kind;   /* enum level_kind */
    uint8_t broken; /* a backsight or foresight that stood before this one is struck */
};

struct level_leg {
    uint32_t from, to;     /* spots; LEVEL_NONE where the backsight or foresight is missing */
    uint32_t first, count; /* its sights; of a section, a number of the caller's and 0 */
    uint32_t run;          /* the caller's number for the run it was booked in */
    uint32_t setups;       /* 1; of a section as booked, 0 when not */
    length rise;           /* nm, from `from` to `to`; 0 where one is missing */
    length dist;           /* nm, length of both sights or of the section; -1 when not booked */
    /* Set by level_close(): */
    length hi;     /* adjusted height of instrument; of a section, adjusted elevation of `to` */
    length correction; /* running correction behind this leg, of its own loop or link */
    length raw_hi; /* the same without corrections, as the field book carries it */
    uint32_t link;
    uint8_t known;   /* hi and raw_hi are set */
    uint8_t quality; /* enum level_quality */
};

enum level_status {
    LEVEL_OK,
    LEVEL_ENOBS,     /* an intermediate sight or foresight, and no backsight before it */
    LEVEL_EOPEN,     /* a backsight while the set-up before it has no foresight */
    LEVEL_ETURN,     /* a foresight, then a backsight on another spot */
    LEVEL_EOVERFLOW  /* a sum is beyond 64 bits */
};

/*
 * level_group - group the sights of one run into legs
 *
 * Given
 *   sight[n]   in booking order; struck sights left out
 *   first      index of sight[0] in the array that legs will point into
 *   run        the run's number
 * Returned
 *   leg[]      room for n; from, to, first, count, run, setups and rise are
 *              set, dist is -1, the rest is 0
 *   *legs      how many; set only with LEVEL_OK
 *   *bad       index in sight[] of the faulty sight; set with any error
 *
 * Method    A run may end in an open set-up: its leg has no `to`. A sight
 *           marked `broken` ends the set-up before it where that is open, and
 *           may begin one that has no backsight: the run is then in two
 *           pieces, which are never joined.
 *           rise = backsight - foresight.
 */
enum level_status level_group(const struct level_sight *sight, size_t n, size_t first, uint32_t run,
    struct level_leg *leg, size_t *legs, size_t *bad);

/*
 * level_stadia - length of a sight from its stadia wires
 *
 * Method    100 |upper - lower|. The multiplier 100 is the usual one of
 *           levels and transits (J. Mahun, Open Access surveying notes,
 *           Elevations, chapter G, three-wire leveling, section 2).
 */
length level_stadia(length upper, length lower);

#endif
