/*
 * course.h - the way that levels went: set-up by set-up, point by point
 *
 * What a profile of a level run and a drawing of a loop are made from.
 */
#ifndef RODBOOK_COURSE_H
#define RODBOOK_COURSE_H

#include "rodbook/job.h"

/* One set-up where distances are not booked. */
#define COURSE_STEP LENGTH_M

/* A set-up or section on the way. Elevations are without corrections, as the field book has them. */
struct course_leg {
    uint32_t leg;             /* into job.leg */
    bool joins;               /* it begins where the one before it ended */
    bool has_from, has_to;
    bool has_hi;              /* a set-up, and no section */
    length begin, instrument, end; /* along, from the beginning of the run */
    length from, to, hi;
    size_t first, sides;      /* intermediate sights: course.side */
};

struct course_side {
    uint32_t spot;
    length elevation;
};

struct course {
    struct course_leg *leg;
    size_t legs;
    struct course_side *side;
    size_t sides;
    bool by_dist;  /* every length on the way is booked; else each set-up is COURSE_STEP long, its instrument in the middle */
    size_t adrift; /* set-ups left out: nothing ties them to a mark */
};

/*
 * course_open - the way of one run
 *
 * Given
 *   job
 *   run        into record.run
 * Returned
 *   c          course_release() in any case
 * Result
 *   0, or -1 without memory
 *
 * Method    Legs in booking order. With every sight and section length booked
 *           (or got from three wires), a point lies as far along as the
 *           lengths add up to. A set-up that stands open ends at its
 *           instrument.
 */
int course_open(struct course *c, const struct job *job, uint32_t run);
void course_release(struct course *c);

/*
 * course_lines - loops and links, those that need a look first
 *
 * Returned
 *   line[links]  into job->work.link: beyond their limit first, by how far;
 *              then within, the nearest to it first; then those not judged,
 *              by misclosure; ties in booking order
 * Result
 *   how many; spurs are no part of them. SIZE_MAX without memory
 */
size_t course_lines(const struct job *job, uint32_t *line);

#endif
