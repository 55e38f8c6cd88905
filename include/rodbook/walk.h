/*
 * walk.h - the order in which marks are walked to, round a building
 */
#ifndef RODBOOK_WALK_H
#define RODBOOK_WALK_H

#include "rodbook/grade.h"

/* What is walked round: the box, along x and y, that holds a building's corners and posts. */
struct site_box {
    struct site_place low, high;
};

/* The box of n places, within 1000 km; of none, the place 0, 0. */
struct site_box site_box_of(const struct site_place *at, size_t n);

/*
 * site_walk_along - how far along the walk round a box a place lies
 *
 * Result
 *   nm from the box's first corner, where x and y are least: 0 to less than
 *   once round it; along the length first, as a building's corners are counted
 *
 * Method    The nearest place on the sides. What lies outside beside a corner,
 *           as battens do, goes with that corner. Of sides as near, the first.
 * Accuracy  exact, for places within 1000 km.
 */
length site_walk_along(const struct site_box *box, struct site_place at);

#endif
