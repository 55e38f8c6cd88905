/*
 * walk.h - the order in which marks are walked to, round a building
 */
#ifndef RODBOOK_WALK_H
#define RODBOOK_WALK_H

#include "rodbook/grade.h"

/* A place as seen from the middle of all: twice the difference, so that it is whole. */
struct site_turn {
    length x, y;
};

/* The box that holds all places: its middle, doubled, and its first corner as seen from there. */
struct site_box {
    struct site_turn middle, corner;
};

struct site_box site_box_of(const struct site_place *at, size_t n);

struct site_turn site_turn_to(const struct site_box *box, struct site_place at);

/*
 * site_turn_compare - which of two places comes first on a walk round the middle
 *
 * Result
 *   below 0, 0, above 0, as qsort() wants it. The walk begins at the box's
 *   first corner, -x and -y of the middle, and goes along the length first, as
 *   a building's corners are counted. Of two in one direction the farther comes
 *   first; what stands in the middle comes last.
 *
 * Accuracy  exact, for places within 1000 km.
 */
int site_turn_compare(const struct site_box *box, struct site_turn a, struct site_turn b);

#endif
