/*
 * fit.h - how well an adjusted job fits together, and what in it is checked by nothing
 *
 * A standard deviation stands here by the weights given, as the record has
 * them. By the fit it is that times the standard deviation of unit weight
 * after adjustment, fit.unit.
 */
#ifndef RODBOOK_FIT_H
#define RODBOOK_FIT_H

#include "rodbook/adjust.h"

#define FIT_CONFIDENCE 0.95   /* of the test of the whole job where none is asked for: custom */
#define FIT_LOCAL_LEVEL 0.001 /* share of good observations that the normal test turns down; W. Baarda (1968), from memory */
#define FIT_POWER 0.80        /* share of blunders of the size `detectable` that it finds; the same */

/* An observation, in the sense in which it was booked: a reading, a rise, an elevation. Those that nothing checks have
 * residual and redundancy 0, and of the rest only sigma. */
struct fit_observation {
    length observed;
    double residual;   /* m: adjusted less observed */
    double sigma;      /* m, of the adjusted observation, by the weights given */
    double redundancy; /* share of an error in it that its own residual shows: 0 to 1, exactly 0 where nothing checks it */
    double normalised; /* |residual| / (standard deviation before adjustment x root redundancy) */
    double studentised; /* the same over the standard deviation of unit weight after adjustment; below 0 where that is 0 */
    double detectable; /* m: the error that the normal test finds FIT_POWER of the time */
    bool normal_beyond, tau_beyond; /* beyond the limits of the two tests */
};

enum fit_verdict {
    FIT_UNTESTED, /* no observation more than is needed */
    FIT_WITHIN,   /* the observations fit together as their standard deviations say */
    FIT_WORSE,    /* not as well */
    FIT_BETTER    /* better than chance would have it */
};

/* How the elevation of a spot is checked. */
enum fit_check {
    FIT_NOTHING, /* it has none */
    FIT_HELD,    /* given, and held */
    FIT_CHECKED, /* on a loop, or read by two ways */
    FIT_ONCE,    /* read once, from an instrument or point that is checked */
    FIT_SPUR     /* behind something that nothing checks */
};

/* What hangs together by readings and sections; held marks part it, for they say nothing of one another's errors. */
struct fit_piece {
    uint32_t spot;      /* its first */
    size_t points, setups, observations;
    size_t freedom;     /* observations less points and set-ups */
};

struct fit {
    const struct adjust *a;
    double confidence;  /* of the test of the whole */
    struct fit_observation *observation; /* [a->net.ties] */
    size_t checked;     /* observations that others check */
    double unit;        /* standard deviation of unit weight after adjustment; 1 before. Where a->freedom > 0 */
    double low, high;   /* limits of a->vpv at that confidence; the same */
    enum fit_verdict verdict;
    double normal_limit; /* of normalised residuals */
    double tau_limit;    /* of studentised ones; below 0 with less than 2 degrees of freedom, when they are all alike */
    double tau_level;    /* level of the tau test of one observation */
    double delta;        /* Baarda's delta0 for FIT_LOCAL_LEVEL and FIT_POWER */
    size_t beyond;      /* observations beyond either limit */
    size_t worst;       /* the one with the largest normalised residual, where any is checked... */
    size_t alike;       /* ...and how many have the same, itself included: the others cannot tell which of them is off */
    uint8_t *check;     /* [spots] enum fit_check */
    uint8_t *setup_checked; /* [legs] the height of instrument is on a loop */
    size_t once, spurs; /* spots at their last positions that are FIT_ONCE and FIT_SPUR */
    struct fit_piece *piece;
    size_t pieces;
    uint32_t *piece_of; /* [spots] into piece; LEVEL_NONE: held, or nothing */
    struct adjust_loops loops;
    uint32_t *loop_order; /* [loops.loops] outside their limit first, then by misclosure over its standard deviation */
    size_t loops_outside;
};

/*
 * fit_open - statistics of an adjusted job
 *
 * Given
 *   a          adjusted; must outlive the fit
 *   confidence of the test of the whole job and of the tau test, above 0 and below 1
 * Returned
 *   f          fit_release(), in any case
 * Result
 *   0, or -1 without memory
 *
 * Method    unit = root(vPv / f), f degrees of freedom, P the weights given.
 *           Whole job: vPv is chi-square with f degrees of freedom; half of
 *           what the confidence leaves lies below `low`, half above `high`.
 *           Normal test (data snooping): |v| / (sigma root r) against the
 *           normal value of FIT_LOCAL_LEVEL, either sign.
 *           Tau test: the same over `unit`, against Pope's tau for the level
 *           1 - confidence^(1/n), n observations that others check: so a job
 *           without a blunder passes whole with about that confidence.
 *           detectable = sigma delta0 / root r.
 * Source    W. Baarda, A testing procedure for use in geodetic networks
 *           (1968); A. J. Pope, The statistics of residuals and the detection
 *           of outliers (1976); both from memory.
 */
int fit_open(struct fit *f, const struct adjust *a, double confidence);
void fit_release(struct fit *f);

/* A standard deviation by the fit, m; below 0 where there is none. */
double fit_scaled(const struct fit *f, double sigma);

/* |misclosure| of a loop over its standard deviation, by the weights given. */
double fit_loop_ratio(const struct adjust_loop *loop);

#endif
