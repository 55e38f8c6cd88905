/*
 * labels.h - labels beside points, none over another. Private to the sheets.
 *
 * Knows points of a page and boxes of text, nothing of what they say.
 */
#ifndef SHEET_LABELS_H
#define SHEET_LABELS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct label_box {
    double left, top, right, bottom; /* points, y down */
};

struct label_line {
    double x1, y1, x2, y2;
};

enum label_how {
    LABEL_NOWHERE, /* not even its key fits: what it says belongs in a list that needs no place */
    LABEL_BESIDE,  /* at its symbol */
    LABEL_LED,     /* farther off, with a leader */
    LABEL_KEYED    /* its key stands there, with or without a leader; what it says belongs in a list */
};

#define LABEL_FORMS 2

struct label {
    double x, y, reach; /* its point, and half the side of the square that its symbol takes; reach 0: no symbol */
    double width[LABEL_FORMS], height[LABEL_FORMS]; /* ways to set it, the better first; width 0: no such way */
    double key_width, key_height;                   /* of the key that may stand for it; width 0: none may */
    bool minor;     /* stands at its symbol or nowhere, after all others */
    bool on_line;   /* stands on the line from x, y to x2, y2, or nowhere */
    double x2, y2;
    /* Returned: */
    enum label_how how;
    unsigned form;          /* which way it is set; of no meaning for a key */
    struct label_box box;   /* where it stands */
    bool led;               /* there is a leader... */
    struct label_line lead; /* ...from its symbol to its box */
    bool on_lines;          /* its box covers a line: the line is to be broken there */
};

struct labels {
    struct label_box window; /* nothing stands out of it */
    struct label *label;
    size_t n;
    const struct label_line *line; /* lines of the drawing: kept clear where that costs nothing else */
    const double *weight;          /* [lines] how much it matters that a line is kept clear; NULL: 1 for each */
    size_t lines;
    const struct label_box *taken; /* symbols without a label */
    size_t takens;
};

/*
 * labels_place - a place for each label
 *
 * Given
 *   l          all but what is returned
 * Returned
 *   l->label[] how, form, box, led, lead, on_lines
 * Result
 *   0, or -1 without memory
 *
 * What holds afterwards, whatever is given: no box of a label or key overlaps
 * another, nor any symbol, nor leaves the window; all are LABELS_GAP
 * apart, and two labels that stand side by side LABELS_ASIDE; no leader crosses a box, another's symbol or another leader. Who has
 * no place under these rules is LABEL_NOWHERE.
 *
 * Method    Candidates in a fixed order: right, left, above, below, then the
 *           corners, then the four sides a little farther off, each way of setting
 *           in turn. The most crowded point
 *           chooses first, and takes the candidate of least cost: its rank,
 *           more for each line that it covers, and more where it stands
 *           nearly as close to another symbol. Then whoever has no place looks
 *           for a neighbour that alone stands in its way and has another
 *           place to go to. Those left go farther off, with a leader, in rings
 *           of 16 directions; those left then are keyed in the same way; and
 *           minor ones come last. Ties go by number, so the same labels give
 *           the same page.
 * Source    greedy placement with a short exchange: J. Christensen, J. Marks,
 *           S. Shieber, An empirical study of algorithms for point-feature
 *           label placement, ACM Transactions on Graphics 14 (1995) 203.
 */
int labels_place(struct labels *l);

#define LABELS_GAP 1.5   /* points; what keeps two lines of text apart by eye... */
#define LABELS_ASIDE 6.0 /* ...and two texts in one line: wider than a blank */

/* ---- what the placing goes by, for tests as well ---- */

static inline bool
label_boxes_meet(struct label_box a, struct label_box b)
{
    return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

bool label_line_meets_box(struct label_line l, struct label_box b);
bool label_lines_cross(struct label_line a, struct label_line b);

/* The part of a line that is in a box; false where none is. */
bool label_line_within(struct label_line *l, struct label_box b);

#endif
