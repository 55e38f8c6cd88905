/* scale.h - scales that drawings are made to. Private to the sheets. */
#ifndef SHEET_SCALE_H
#define SHEET_SCALE_H

#include "canvas.h"
#include "parts.h"

#define SCALE_POINTS_A_NM (72.0 / 25.4e6) /* points of paper in a nanometre: 72 to the inch of 25.4 mm */

/*
 * scale_usual - the i-th of the scales that drawings are made to, from the largest on
 *
 * Metres: 1:1, 2, 5 and ten times those, and so on (ISO 5455). Feet: 3 to 1/16
 * inches to the foot, then 20, 30, 40, 50, 60, 100 feet to the inch and ten
 * times those, as customary. Returned: the ratio, 12 for an inch to the foot.
 */
double scale_usual(enum length_unit unit, size_t i);

/* As a drawing says it: "1:50", "1/4 in = 1 ft", "1 in = 20 ft". */
void scale_words(char out[SHEET_WORDS], enum length_unit unit, double ratio);

struct scale {
    double ratio;     /* 1 on paper is this outside */
    double points;    /* on paper, of a nanometre outside */
    char words[SHEET_WORDS * 2]; /* "1:50", "1/4 in = 1 ft (1:48)" */
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
 * The usual ones from 1:10 or an inch to the foot on; in metres also 1:25, 250
 * and so on, which are customary. Feet are said both ways.
 */
struct scale scale_choose(enum length_unit unit, length along, length up, double width, double height);

#define SCALE_BAR_PARTS 4

/* The bar with its figures: from x, y to the right; it is scale.step times SCALE_BAR_PARTS long, SCALE_BAR_HEIGHT high. */
void scale_bar(struct canvas *c, const struct scale *s, enum length_unit unit, double x, double y);

#define SCALE_BAR_HEIGHT 17.0

#endif
