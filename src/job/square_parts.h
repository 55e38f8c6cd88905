/* square_parts.h - what the files of the square share. Private to them. */
#ifndef JOB_SQUARE_PARTS_H
#define JOB_SQUARE_PARTS_H

#include "rodbook/square.h"

#define IN_M(nm) ((double)(nm) / (double)LENGTH_M)

/* The place that a name is to have, by the last row that names it. False where it has none. */
bool square_place_of(const struct square *s, uint32_t name, length *x, length *y);

/* One row of a position. */
struct square_edge {
    uint32_t row;   /* index into record.taped */
    uint32_t a, b;  /* names */
    uint32_t group; /* which figure it belongs to */
};

/*
 * square_add_figure - a figure of the rows that belong to it, worked out
 *
 * Given
 *   tape       index of the head of the position
 *   edge[n]    its rows, in booking order
 *   name[corners]  its points: four, three or two
 *   ordered    the four stand round the frame, base line first; else in any order
 * Result
 *   0, or -1 without memory
 */
int square_add_figure(struct square *s, uint32_t tape, const struct square_edge *edge, size_t n, const uint32_t *name, unsigned corners,
    bool ordered, struct diag *d);

/* Whether four points are to stand as a frame: their places go round a convex figure. */
bool square_makes_frame(const struct square *s, const uint32_t name[4]);

/* The corners of a frame in order, base line first, from where they are to be or from the lengths. */
void square_order(const struct square *s, struct square_figure *f, const struct square_edge *edge, size_t n);

/* Fit, test, what it is to be, moves: of a figure whose lengths and readings stand. -1 without memory. */
int square_fit_frame(struct square *s, struct square_figure *f);
void square_fit_triangle(struct square *s, struct square_figure *f);
void square_fit_length(struct square *s, struct square_figure *f);

/* Standard deviation of one taped length, m: as stated, else the usual one. */
double square_sigma_of(const struct record *r, const struct record_tape *t);

/* How near to `of` is near enough, m: as stated, else as published; 0 where neither is. */
double square_tolerance(const struct square *s, const struct square_figure *f, double of);

enum square_verdict square_judge(const struct square *s, double off, double sigma, double tolerance);

#endif
