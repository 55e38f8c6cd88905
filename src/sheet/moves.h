/* moves.h - what is to be done at a mark, as a shape, an ink and words. Private to the sheets. */
#ifndef SHEET_MOVES_H
#define SHEET_MOVES_H

#include "canvas.h"
#include "parts.h"

/*
 * The shapes say what the inks say, for those who see no colour: an arrow up
 * or down to move, a bar on a level line to leave, an open ring where no move
 * is known. Their middle is at x, y, in a square of MOVES_SHAPE times `size`.
 */
#define MOVES_SHAPE 18.0

void moves_shape(struct canvas *c, const struct job_stake *s, double x, double y, double size);

enum canvas_ink moves_ink(const struct job_stake *s);

/* The move, "leave", or what keeps it from being known; never empty. */
void moves_words(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style);

/* "cut 0.0609", "fill 0.0219", "on grade"; "" where the elevation or the grade is not known. */
void moves_cut(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style);

/* Where it is and where it belongs: "5.0109 to 4.9500"; what is known of it, "at 5.0109", "grade 4.9500"; or "". */
void moves_levels(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style);

/* Over the column of the two above: lengths there have no unit beside moves in inches, but for feet and inches. */
const char *moves_cut_heading(const struct sheet_style *style);

/* The reading to look for: the grade rod, where the mark is above the line of sight that of a mark below it; "-" where none is known. */
void moves_rod(char out[LENGTH_TEXT], const struct job_stake *s, const struct sheet_style *style);

/* What belongs to it: "from 7.1", "2 m below grade, from 12.1"; or "". */
void moves_rod_from(char out[SHEET_WORDS * 2], const struct job *job, const struct job_stake *s, const struct sheet_style *style);

/* Marks of one grade, from order[0] on, of n. */
size_t moves_grade(const struct job *job, const uint32_t *order, size_t n);

/* Marks of one grade that need the same, from order[0] on, of n. */
size_t moves_lot(const struct job *job, const uint32_t *order, size_t n);

/* True where what stands in its remarks says why the move is not to be trusted: it is to be seen at once. */
bool moves_doubtful(const struct job_stake *s);

/* What the marks of a lot have in common. */
const char *moves_need(enum job_verdict verdict);

/*
 * moves_setups - the set-ups that grade rods are read from
 *
 * Given
 *   order[n]   stakes of one grade
 * Returned
 *   key        "5.1: 2026-05-02, HI 104.615; 5.2: ..."; free() it
 * Result
 *   0, or -1 without memory; key is "" where no grade rod is known
 */
int moves_setups(const struct job *job, const uint32_t *order, size_t n, const struct sheet_style *style, char **key);

/*
 * moves_anew - how to come to grade rods from a set-up that is made anew
 *
 * Given
 *   order[n]   stakes of one grade
 *   *above     MOVES_ANEW_FIRST; then as the call before left it
 * Returned
 *   out        "Set up anew: HI ____ less grade 101.17 = grade rod ____", to be written on
 *   *above     how far below grade the rod's foot stands that way
 * Result
 *   false, with both as they were, where every way has been told
 *
 * Rods that stand on grade are one way, those that are so long that they are
 * read whole metres or feet below it another: "less 5.6500 (2 m below grade)".
 */
#define MOVES_ANEW ((size_t)SHEET_WORDS * 4)
#define MOVES_ANEW_FIRST (-1)
bool moves_anew(char out[MOVES_ANEW], const struct job *job, const uint32_t *order, size_t n, const struct sheet_style *style, length *above);

/* What stands below a stake sheet: what its signs mean, and the caution. */
#define MOVES_NOTES 2
extern const char *const moves_note[MOVES_NOTES];

#endif
