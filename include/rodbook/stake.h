/*
 * stake.h - cut and fill, the move, the grade rod, and whether a move was done
 */
#ifndef RODBOOK_STAKE_H
#define RODBOOK_STAKE_H

#include "rodbook/length.h"

struct site_move {
    length cut, fill; /* never below 0, never both above 0 */
    length move;      /* grade - adjusted elevation; up is positive */
    bool leave;       /* closer to grade than the tolerance, or on it */
};

/*
 * site_move - from where a mark is to where it belongs
 *
 * Given
 *   adjusted, grade   elevations
 *   tolerance         closer than this is left alone
 *
 * Source    cut or fill = grade rod - ground rod, cut positive: NAVEDTRA
 *           14069, fig. 14-36 (the signed form).
 */
struct site_move site_move(length adjusted, length grade, length tolerance);

/*
 * site_decides_below - how sure a move must be to be decided on
 *
 * Given
 *   move        D, grade less adjusted
 *   tolerance   t, above 0
 * Result
 *   m; with a confidence interval D - h to D + h, the verdict is
 *     move        |D| >= t, and the interval leaves out grade: h < |D|
 *     leave       |D| <  t, and it lies within twice the tolerance: |D| + h < 2 t
 *     can't tell  else;
 *   so h must be below |D| or 2 t - |D|, whichever is more: this.
 *
 * Method    The tolerance is where one acts, and so stands half way between
 *           the two errors that matter: to move a mark that is on grade, and
 *           to leave one that is off by twice the tolerance. With the interval
 *           at confidence p, the first happens with a chance of 1 - p at most,
 *           the second of (1 - p) / 2. Where h < t every mark is decided.
 *           docs/decisions.md says what was turned down.
 */
double site_decides_below(struct site_move move, length tolerance);

/* The reading that puts the rod's foot on grade: height of instrument - grade. */
length site_grade_rod(length hi, length grade);

/*
 * site_offset - a mark a whole number of units below a grade that is above the line of sight
 *
 * Given
 *   grade_rod  below 0
 *   whole      nm in a foot or a metre
 * Returned
 *   *rod       the reading that sets the offset mark, 0 or more, less than whole
 * Result
 *   how far the mark lies below grade: a multiple of whole
 */
length site_offset(length grade_rod, length whole, length *rod);

enum site_moved {
    SITE_DONE,     /* on grade now, within the tolerance */
    SITE_SHORT,    /* moved the right way, not far enough */
    SITE_PAST,     /* moved the right way, too far */
    SITE_WRONG_WAY,/* moved away from grade */
    SITE_DISTURBED /* none was asked, and it is off grade now */
};

/*
 * site_judge_moved - the move that was asked against what is there now
 *
 * Given
 *   before     what was asked, from the last elevation before the move
 *   now        what is still asked
 */
enum site_moved site_judge_moved(struct site_move before, struct site_move now);

#endif
