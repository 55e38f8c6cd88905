/*
 * suspect.h - which reading most likely did it
 *
 * A loop that does not close has a slip in it, and slips of the trade have
 * signatures: a foot is a foot, exchanged digits differ by nines, a stadia
 * hair is off by the sight length over 200. Each is tried on each reading. What
 * brings every loop through that reading within its limit is a suspect.
 *
 * A change of a reading changes each loop through it by as much, up or down;
 * so nothing is adjusted anew, and only the loops through it are looked at.
 */
#ifndef RODBOOK_SUSPECT_H
#define RODBOOK_SUSPECT_H

#include "rodbook/setup.h"

enum suspect_source { SUSPECT_BS, SUSPECT_IS, SUSPECT_FS, SUSPECT_SECTION, SUSPECT_MARK };

/* A reading, the rise of a section, or the given elevation of a mark: whatever a loop is a sum of. */
struct suspect_reading {
    length value;   /* nm, as booked */
    length dist;    /* nm, its sight length; -1 where that is not known */
    uint32_t setup; /* the caller's number, one for all sights of a set-up; LEVEL_NONE for a section or mark */
    uint32_t run;   /* the caller's number; LEVEL_NONE for a mark */
    uint32_t spot;  /* LEVEL_NONE for a section */
    double sigma;   /* m; 0: held */
    uint8_t source; /* enum suspect_source */
    bool meaned;    /* of three wires: nobody booked this figure */
};

struct suspect_step {
    uint32_t reading;
    int32_t sign; /* what the loop's misclosure grows by when that reading grows by one: 1 or -1 */
};

struct suspect_loop {
    uint32_t first, count; /* its steps; no reading twice */
    length misclosure;     /* nm */
    double limit_nm;       /* the limit itself is within */
    bool counted;          /* one of a set of which none is a sum of others: it takes part in the likelihood */
};

struct suspect_scene {
    const struct suspect_reading *reading; /* in booking order, those of a set-up one behind the other */
    size_t readings;
    const struct suspect_loop *loop;
    size_t loops;
    const struct suspect_step *step;
    size_t steps;
    enum length_unit unit; /* what the rod shows */
    length least;          /* nm, its smallest division that is read */
    length rod;            /* nm, its length; no reading is longer */
};

enum suspect_slip {
    SUSPECT_WHOLE,        /* a foot or a metre */
    SUSPECT_TENTH,        /* a tenth of a foot or a decimetre */
    SUSPECT_SMALL,        /* an inch, a centimetre, a hundredth of a foot where thousandths are read */
    SUSPECT_DIGITS,       /* two neighbouring digits exchanged */
    SUSPECT_SIX_NINE,
    SUSPECT_THREE_EIGHT,
    SUSPECT_INCHES,       /* inches booked as tenths, or tenths as inches */
    SUSPECT_BEYOND_WHOLE, /* read on the wrong side of a figure for feet */
    SUSPECT_BEYOND_SMALL, /* the same, of a tenth, a decimetre or an inch */
    SUSPECT_TURN_COLUMNS, /* FS and BS of a turning point exchanged */
    SUSPECT_SETUP_COLUMNS, /* BS and FS of a set-up exchanged */
    SUSPECT_SIGN,         /* a sign left off, or put where none belongs */
    SUSPECT_POINT,        /* booked on the wrong point */
    SUSPECT_HAIR,         /* a stadia hair for the middle one */
    SUSPECT_ROD,          /* of a run: all readings above some height */
    SUSPECT_INSTRUMENT,   /* disturbed between two sights */
    SUSPECT_TURN,         /* the turning point disturbed between FS and BS */
    SUSPECT_MOVED,        /* a mark that is not where it was */
    SUSPECT_OTHER,        /* misread by some amount that has no name */
    SUSPECT_SLIPS
};

struct suspect_search;

/* The table of hypotheses: each is a row here, and a function. */
struct suspect_row {
    const char *word; /* its name in data; never changes */
    double weight;    /* how common at one reading, mark or place, against the others; our judgement */
    const char *why;  /* the reason of the weight */
    size_t (*variants)(const struct suspect_scene *scene, uint32_t reading, length *instead); /* of one reading; else NULL: */
    void (*search)(struct suspect_search *s, uint32_t reading); /* of more than one, or of unknown size */
};
extern const struct suspect_row suspect_table[SUSPECT_SLIPS];

struct suspect {
    uint8_t slip;      /* enum suspect_slip */
    uint32_t reading;  /* that it is about; of SUSPECT_ROD the lowest that is affected, of SUSPECT_INSTRUMENT the first one
                          behind the disturbance, of SUSPECT_TURN the backsight */
    uint32_t other;    /* the second reading of an exchange; of SUSPECT_POINT one on the point that the rod stood on; else LEVEL_NONE */
    uint32_t affected; /* readings that it changes */
    length instead;    /* nm, what `reading` should have been booked as, or what the elevation is */
    length change;     /* nm, that less what was booked */
    uint32_t cluster;  /* of loops outside that share readings: the lowest of them; what serves several is named for each */
    uint32_t fixed;    /* loops of it that are brought within their limits */
    uint32_t shown;    /* the poorest closing one of all that are... */
    length left;       /* ...and nm, what that one closes to then */
    double prior;      /* ln of the weight of this slip at this reading */
    double remains;    /* weighted sum of squares that remains in the counted loops */
    double score;      /* prior - remains / 2 */
};

enum suspect_standing {
    SUSPECT_UNCHECKED, /* on no loop */
    SUSPECT_CLOSES,    /* on loops that close */
    SUSPECT_CLEARED,   /* on a loop outside, and cleared by one that closes: no change of it would do */
    SUSPECT_OPEN       /* it may be the one */
};

/* Loops that take part in the likelihood: these and no more, from those outside on. */
#define SUSPECT_COUNTED_MOST 256

/* Bytes of work room. */
size_t suspect_room(const struct suspect_scene *scene);

/*
 * suspect_find - try every slip on every reading
 *
 * Given
 *   scene
 *   room       suspect_room() bytes, aligned for a double
 *   most       1 or more
 * Returned
 *   found[most]         the best, by score; equal ones in booking order
 *   standing[readings]  enum suspect_standing
 *   cluster[loops]      the lowest loop outside that it is joined with by shared readings, or LEVEL_NONE where it closes
 * Result
 *   how many were found
 *
 * Method    Loops m = B l with variances C = B S B'. A slip that changes
 *           readings by d leaves v = (m + B d)' C^-1 (m + B d), the weighted
 *           sum of squares of the whole adjustment with that reading changed,
 *           exactly: v + 2 d g + d^2 q with g = b' C^-1 m and q = b' C^-1 b.
 *           score = ln(weight / variants of that slip at that reading) - v / 2.
 *           A step of unknown size has the size that leaves least, -g / q. So
 *           that it does not win by its freedom alone, its likelihood is the
 *           mean over sizes in -A ... A, all alike: that adds
 *           ln(root(2 pi / q) / 2A). A is 2 m for a misreading, 0.1 m for what was
 *           disturbed, 0.3 m for a mark, 1.5 m for a rod.
 *           A suspect must bring one loop at least from outside to within,
 *           and leave none through its readings outside.
 *           With more than SUSPECT_COUNTED_MOST counted loops, those nearest
 *           to a loop outside are taken (by shared readings).
 * Source    Bayes' rule; likelihood of a step of unknown size, any text on
 *           model choice (from memory). Figures read on the wrong side:
 *           NAVEDTRA 14069, Identifying leveling mistakes. The weights are
 *           our judgement.
 */
size_t suspect_find(const struct suspect_scene *scene, void *room, struct suspect *found, size_t most, uint8_t *standing,
    uint32_t *cluster);

/* Variants of a slip at one reading, before any loop is looked at. */
#define SUSPECT_VARIANTS 48

/*
 * suspect_variants - what a reading should have been, if that slip was made
 *
 * Returned
 *   instead[SUSPECT_VARIANTS]  nm; different, none as booked
 * Result
 *   how many; 0 too for slips that are of more than one reading, or of unknown size
 */
size_t suspect_variants(const struct suspect_scene *scene, enum suspect_slip slip, uint32_t reading,
    length instead[SUSPECT_VARIANTS]);

#endif
