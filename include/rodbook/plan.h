/*
 * plan.h - what a plan can be expected to give, before anybody goes out
 *
 * The plan is worked out as if it had been booked: each set-up's sights in
 * the order from, points, to, over the record's benchmarks, points and grades,
 * and without one of its readings. A standard deviation hangs on who reads
 * what from where, not on what is read.
 */
#ifndef RODBOOK_PLAN_H
#define RODBOOK_PLAN_H

#include "rodbook/sure.h"

enum plan_tells {
    PLAN_TELLS_NOTHING, /* not read in the plan, or no grade there */
    PLAN_TELLS_ALWAYS,  /* every mark will be decided, however it reads: h < t */
    PLAN_TELLS_FAR,     /* what reads near the tolerance will not: t <= h < 2 t */
    PLAN_TELLS_MOVES    /* no mark can be left, even one that reads on grade: h >= 2 t, and a tolerance is stated */
};

struct plan_stake {
    enum plan_tells tells; /* h: half the confidence interval of the move; t: the tolerance. As site_decides_below() */
    double sigma;          /* m, of the move; below 0 where it tells nothing */
};

struct plan_link {
    double sigma;    /* m, of its misclosure; below 0 for a spur */
    double ordinary; /* m: a misclosure that is larger has a chance of less than 1 - confidence */
    bool tight;      /* the job allows less than that */
};

struct plan {
    const struct record_plan *from;
    struct record record;      /* as if booked; shares the names, points and grades of the real one */
    struct job job;            /* worked out of it: spot_sigma, factor, advice and what hangs together are set; elevations
                                  and moves mean nothing. Its set-ups count through the whole plan. */
    struct plan_link *link;    /* [job.work.links] */
    struct plan_stake *stake;  /* [job.stakes] */
    uint32_t *grade_left;      /* [grades_left] into the real record.grade: through a mark that the plan does not read */
    size_t grades_left;
    bool no_dist;              /* the job allows by distance, and some set-up does not say its own: nothing is allowed */
    bool enough;               /* no mark PLAN_TELLS_MOVES, no line tight */
};

/*
 * plan_work - what plan `index` of a record can be expected to give
 *
 * Given
 *   r           read without errors; must outlive the plan
 *   confidence  as in job_options
 * Returned
 *   p           plan_release(), in any case
 *   d           as job_work(): a plan that hangs on nothing, a grade that needs places
 * Result
 *   0, or -1 without memory
 *
 * Method    adjust.h and sure.h on the plan's net, sigma the job's for each
 *           sight. The misclosure of a line of n set-ups between points whose
 *           difference the rest of the plan gives with variance R has variance
 *             L + R,  L = 2 n sigma^2;  R = 0 between held benchmarks, and on a loop.
 *           With V that difference's variance in the whole net,
 *             1 / V = 1 / L + 1 / R,  so  L + R = L^2 / (L - V);
 *           exact where no point is read both on the line and off it.
 *           Advice is sure_advise() on marks that are not PLAN_TELLS_ALWAYS,
 *           which they are to become.
 */
int plan_work(struct plan *p, const struct record *r, size_t index, double confidence, struct diag *d);
void plan_release(struct plan *p);

#endif
