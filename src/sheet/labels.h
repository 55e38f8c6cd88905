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
    double name_width, name_height; /* of the name in it: above the rest in form 0, left of it in form 1; width 0: all of it is */
    double key_width, key_height;                   /* of the key that may stand for it; width 0: none may */
    bool minor;     /* stands at its symbol or nowhere, after all others */
    bool idle;      /* minor, and nothing is ever done at its symbol, for which no label can be taken: it may stand farther off, last of all */
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
    const double *weight;          /* [lines] how much it matters that a line is kept clear, LABELS_FIRM, or LABELS_NEVER; NULL: 1 for each */
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
 * another, nor any symbol, nor a line of LABELS_NEVER, nor leaves the window; all are LABELS_GAP
 * apart, and two labels that stand side by side LABELS_ASIDE; no leader crosses a box, another's symbol or another leader.
 * The name of a label without a leader is nearer its own symbol than any other; an end of a label that says more than a name
 * is LABELS_FOREIGN from any symbol, idle and taken ones apart, that is nearer to that end than its own: half of it where the
 * label's middle is over its symbol or under it. Who has no place under these rules is LABEL_NOWHERE.
 *
 * Method    Candidates in a fixed order: right, left, above, below, then the
 *           corners, then the four sides a little farther off, each way of setting
 *           in turn. The most crowded point
 *           chooses first, and takes the candidate of least cost: its rank,
 *           more for each line that it covers or touches, more where it stands
 *           nearly as close to another symbol, and more where it is on another
 *           side than its neighbours in a row. Then whoever has no place looks
 *           for a neighbour that alone stands in its way and has another
 *           place to go to. Those left go farther off, with a leader, in rings
 *           of 16 directions; then each chooses once more, now that the others stand,
 *           and rows that can stand on one side do, where that costs less;
 *           lines of LABELS_FIRM are covered by those only that have no
 *           place yet; those left then are keyed in the same way; and
 *           minor ones come last. Ties go by number, so the same labels give
 *           the same page.
 * Source    greedy placement with a short exchange: J. Christensen, J. Marks,
 *           S. Shieber, An empirical study of algorithms for point-feature
 *           label placement, ACM Transactions on Graphics 14 (1995) 203.
 */
int labels_place(struct labels *l);

#define LABELS_GAP 1.5   /* points; what keeps two lines of text apart by eye... */
#define LABELS_ASIDE 9.0 /* ...and two texts in one line: wider than any blank in them */
#define LABELS_CLOSE 5.7 /* 2 mm: a label farther from its symbol has a leader */
#define LABELS_FOREIGN 11.3 /* 4 mm along a line of text, and half of that above or below it */
#define LABELS_CLEAR 2.8 /* 1 mm, between a box and a line that it does not cross */

/* Weights of lines: covered where there is no other place at all, and never. */
#define LABELS_FIRM 10.0
#define LABELS_NEVER 1000.0

/* ---- what the placing goes by, for tests as well ---- */

static inline bool
label_boxes_meet(struct label_box a, struct label_box b)
{
    return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

/* Where the name stands in a label's box. */
struct label_box label_name(const struct label *l, unsigned form, struct label_box box);

/* From one box to the other, at their nearest; 0 where they meet. */
double label_apart(struct label_box a, struct label_box b);

/* The square that its symbol takes. */
static inline struct label_box
label_symbol(const struct label *l)
{
    return (struct label_box){ l->x - l->reach, l->y - l->reach, l->x + l->reach, l->y + l->reach };
}

bool label_line_meets_box(struct label_line l, struct label_box b);
bool label_lines_cross(struct label_line a, struct label_line b);

/* The part of a line that is in a box; false where none is. */
bool label_line_within(struct label_line *l, struct label_box b);

#endif
