/* grades_parts.h - between gathering what a grade stands on, and the candidates. Private to the job. */
#ifndef JOB_GRADES_PARTS_H
#define JOB_GRADES_PARTS_H

#include "rodbook/grades.h"

#define GRADES_REALS 6 /* arrays of one double a shot, in g->real; by what stands in them: */
enum { GRADES_REAL_X, GRADES_REAL_Y, GRADES_REAL_Z, GRADES_REAL_ROOM /* 3 of them: workspace of a fit, heights above a grade */ };

static inline double *
grades_real(const struct grades *g, int which)
{
    return g->real + (size_t)which * g->shots;
}

static inline double
grades_m(length v)
{
    return (double)v / (double)LENGTH_M;
}

/* Candidates, once shots, building, triangles, weights and posts are there. -1 without memory. */
int grades_candidates(struct grades *g);

#endif
