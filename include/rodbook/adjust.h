/*
 * adjust.h - everything that a job holds together, adjusted at once
 *
 * Readings, sections and benchmarks that have a standard deviation are
 * observations; benchmarks without one are held. What comes back is every
 * elevation with its standard deviation, and for every observation how far it
 * was off and how well the others control it.
 */
#ifndef RODBOOK_ADJUST_H
#define RODBOOK_ADJUST_H

#include "rodbook/job.h"
#include "rodbook/net.h"

#define ADJUST_NOTHING (UINT32_MAX - 1) /* no node: never read, or adrift */

enum adjust_kind {
    ADJUST_READING, /* from a height of instrument to a point: less the reading */
    ADJUST_SECTION, /* a rise from point to point */
    ADJUST_MARK     /* an elevation given with a standard deviation */
};

struct adjust_observation {
    enum adjust_kind kind;
    uint32_t index; /* into job.sight, record.section or record.mark */
    uint32_t leg;   /* of a reading or section; else LEVEL_NONE */
    uint32_t spot;  /* that a reading is on, or a mark; else LEVEL_NONE */
    double sigma;   /* m, before adjustment */
    length off;     /* observed, less what the job's carried elevations give for it */
};

struct adjust {
    const struct job *job;
    uint32_t *spot_node; /* [spots] a node, NET_GROUND where held, or ADJUST_NOTHING */
    uint32_t *leg_node;  /* [legs] of the height of instrument */
    size_t points;       /* nodes below this are points, from it on instruments */
    size_t most;         /* members that `of` and `tie` have room for */
    size_t observations; /* net.ties, and behind them those between held marks, which the net has no use for */
    struct adjust_observation *of; /* [observations] */
    struct net_tie *tie; /* the same, as the net has them */
    struct net net;      /* its spread and redundancy have a member for every observation */
    void *room;
    double *reals;       /* what the net's arrays are parts of */
    double *residual;    /* [observations] m, adjusted less observed; of a reading, as the net has it: less the reading */
    size_t held;         /* benchmarks that are held */
    double vpv;          /* weighted sum of the squared residuals */
    size_t freedom;      /* degrees of freedom: observations less unknown elevations and heights of instrument */
};

/*
 * adjust_open - adjust a job
 *
 * Given
 *   job        worked out without errors; must outlive the adjustment
 * Returned
 *   a          adjust_release(), in any case
 *   d          [no-sigma]: a section that does not say how sure it is;
 *              [no-benchmark]: nothing to hold it by; [range]: a standard
 *              deviation that it cannot go by
 * Result
 *   0, or -1 without memory. With errors in `d` there is no adjustment.
 *
 * Method    net.h. Corrections are to the elevations that the job carries
 *           exactly; a reading has the job's sigma, the mean of three wires
 *           sigma / root 3; a section its own, else sigma-km times the root of
 *           its kilometres, else sigma times the root of twice its set-ups.
 *           A section between two held marks adjusts nothing; it has redundancy
 *           1, and counts in vpv and the degrees of freedom.
 */
int adjust_open(struct adjust *a, const struct job *job, struct diag *d);
void adjust_release(struct adjust *a);

/* The same without what lies on lines outside their limit and is not spread: such spots and set-ups are ADJUST_NOTHING. */
int adjust_sound(struct adjust *a, const struct job *job, struct diag *d);

/* Adjusted elevation of a spot, rounded once; and its standard deviation in m by the weights given, 0 where it is
 * held. False where it has none. */
bool adjust_spot(const struct adjust *a, uint32_t spot, length *elevation, double *sigma);

/* Adjusted height of instrument of a set-up; false for a section. */
bool adjust_hi(const struct adjust *a, uint32_t leg, length *hi, double *sigma);

/* True for a node that is an instrument, and no point. */
bool adjust_is_instrument(const struct adjust *a, uint32_t node);

/*
 * adjust_checked - nodes that are tied to what is given by more than one way
 *
 * Returned
 *   checked[net.nodes]  1 where one wrong observation would show, 0 behind
 *              anything that nothing checks
 * Result
 *   0, or -1 without memory
 *
 * Method    Nodes are joined over ties of redundancy above 0; those joined
 *           with the ground, or with a mark that is given, are checked.
 */
int adjust_checked(const struct adjust *a, uint8_t *checked);

/*
 * adjust_difference - standard deviations of differences to one spot
 *
 * Given
 *   spot
 * Returned
 *   sigma[spots]  m, of each spot's adjusted elevation less that spot's; -1 where either has none
 * Result
 *   0, or -1 without memory
 *
 * Method    Var = Z_ii + Z_jj - 2 Z_ij, with Z_ij from one solve. It cancels
 *           where both are far from a benchmark and near each other: absolute
 *           error some units in the last place of Z_ii.
 */
int adjust_difference(const struct adjust *a, uint32_t spot, double *sigma);

/* ---- loops ---- */

/* A loop of a fundamental set: one tie that is not in the tree, closed by the tree's ways between its ends. */
struct adjust_loop {
    uint32_t tie;        /* the one that closes it */
    uint32_t first;      /* its ties: loops.way[first ... first + count - 1], as they are walked, the closing one first */
    uint32_t count;
    uint32_t setups;     /* instruments on it, and set-ups that its sections say */
    bool setups_known;   /* every section on it says them */
    length dist;         /* -1 where some length is not booked */
    length misclosure;   /* measured less known, the closing tie walked as it was booked */
    bool over_marks;     /* it goes over held marks: two, or one that it begins and ends on */
    double allowed_nm;   /* below 0: no limit */
    enum level_within within;
    double sigma;        /* m, of the misclosure: root of the sum of the squares */
};

struct adjust_loops {
    struct adjust_loop *loop;
    size_t loops;
    uint32_t *way;
    uint8_t *forward;    /* [ways] whether the loop walks that tie as it points */
    size_t ways, way_room, forward_room;
};

/*
 * adjust_loops_open - a fundamental set of loops
 *
 * Result
 *   0, or -1 without memory; adjust_loops_release() in any case
 *
 * Method    A tree is grown breadth first from what is held, so that loops
 *           are short. Each tie outside it closes one loop, and so does each
 *           section between held marks; there are as many as degrees of
 *           freedom, and every other loop is a sum of them.
 */
int adjust_loops_open(struct adjust_loops *l, const struct adjust *a);
void adjust_loops_release(struct adjust_loops *l);

/*
 * adjust_loop_spots - the points of a loop, as it is walked
 *
 * Returned
 *   spot[2 * count]   the points on the way, each once in a row; a loop over
 *              held marks begins at the one that the ground leads to
 * Result
 *   how many spots
 */
size_t adjust_loop_spots(const struct adjust *a, const struct adjust_loops *l, const struct adjust_loop *loop, uint32_t *spot);

#endif
