/*
 * check.h - the page check: one arithmetic by three routes
 *
 * sum of backsights - sum of foresights = sum of rises - sum of falls
 * = last elevation - first elevation, to the nanometre.
 */
#ifndef RODBOOK_CHECK_H
#define RODBOOK_CHECK_H

#include "rodbook/setup.h"

struct level_check {
    length first, last; /* elevations, as carried without corrections */
    length sum_bs, sum_fs, sum_rise, sum_fall;
    bool started;  /* first and last are set */
    bool carried;  /* set by level_check_close(): a backsight ends the page, and counts on the next */
    bool left_open; /* likewise: an intermediate sight ends the page, and stands in sum_fs */
    bool overflow; /* a sum is beyond 64 bits: the check says nothing */
    /* Between calls: */
    bool open;              /* a set-up is open, and its last sight was... */
    length open_reading;    /* ...this reading... */
    length open_elevation;  /* ...at this elevation */
    bool open_counted;      /* and it stands in no sum yet, unless it is a backsight that was followed */
};

/*
 * level_check_take - add the next sight of a page
 *
 * Given
 *   kind, reading   the sight
 *   elevation       of the spot, without corrections
 */
void level_check_take(struct level_check *c, enum level_kind kind, length reading, length elevation);

/*
 * level_check_close - end a page, and begin the next
 *
 * Returned
 *   *next      the check of the next page, with the open set-up carried over
 * Result
 *   true where the three routes agree
 *
 * Method    Where a page ends inside a set-up, its last intermediate sight
 *           serves as the page's foresight, and as the next page's backsight.
 */
bool level_check_close(struct level_check *c, struct level_check *next);

#endif
