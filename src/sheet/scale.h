/* scale.h - scales that drawings are made to. Private to the sheets. */
#ifndef SHEET_SCALE_H
#define SHEET_SCALE_H

#include "canvas.h"
#include "parts.h"

struct scale {
    double ratio;     /* 1 on paper is this outside */
    double points;    /* on paper, of a nanometre outside */
    char words[SHEET_WORDS]; /* "1:50", "1/4 in = 1 ft (1:48)" */
    length step;      /* of the bar: one of its parts */
};

/*
 * scale_choose - the largest usual scale at which something fits
 *
 * Given
 *   unit           of the job
 *   along, up      what is to be drawn, nm; 0 or more
 *   width, height  what it is to fit in, points above 0
 *
 * Metres: 1:10, 20, 25, 50, 100, 200, 250, 500 and ten times those, and so on
 * (ISO 5455, with 25 and 250, which are customary). Feet: inches to the foot,
 * 1 to 1/16, then feet to the inch, 20 and on, as customary; said both ways.
 */
struct scale scale_choose(enum length_unit unit, length along, length up, double width, double height);

#define SCALE_BAR_PARTS 4

/* The bar with its figures: from x, y to the right; it is scale.step times SCALE_BAR_PARTS long, SCALE_BAR_HEIGHT high. */
void scale_bar(struct canvas *c, const struct scale *s, enum length_unit unit, double x, double y);

#define SCALE_BAR_HEIGHT 17.0

#endif
