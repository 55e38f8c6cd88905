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

/* What the marks of a lot have in common. */
const char *moves_need(enum job_verdict verdict);

/* What stands below a stake sheet: what its signs mean, and the caution. */
#define MOVES_NOTES 2
extern const char *const moves_note[MOVES_NOTES];

#endif
