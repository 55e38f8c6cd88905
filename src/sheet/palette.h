/* palette.h - the shades of a drawing as a short table. Private to the sheets. */
#ifndef SHEET_PALETTE_H
#define SHEET_PALETTE_H

#include <stddef.h>
#include <stdint.h>

#define PALETTE_MOST 256 /* colours that a byte can name */

struct palette {
    size_t colours;
    uint32_t colour[PALETTE_MOST]; /* 0xRRGGBB, the commonest first */
};

/*
 * palette_sort - a picture's pixels as numbers of a table of colours
 *
 * Given
 *   pixel[n]   0x00RRGGBB; the upper byte is not looked at
 *   ink[inks]  0xRRGGBB: what was drawn in; a shade in whose step an ink lies is that ink
 * Returned
 *   p          the table
 *   number[n]  of each pixel's colour in it
 * Result
 *   0; -1 without memory
 *
 * Method    shades are told apart in 32 steps of red, of green and of blue;
 *           the commonest 256 stand in the table, and what is left goes to
 *           the nearest of them. Drawings in a few inks have fewer: no pixel
 *           is then more than 7 of 255 from what it was, none of an ink off.
 *           The same pixels give the same table.
 */
int palette_sort(const uint32_t *pixel, size_t n, const uint32_t *ink, size_t inks, struct palette *p, unsigned char *number);

#endif
