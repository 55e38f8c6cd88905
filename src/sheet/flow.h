/* flow.h - a text sheet that was taken apart, on pages. Private to the sheets. */
#ifndef SHEET_FLOW_H
#define SHEET_FLOW_H

#include "capture.h"
#include "page.h"

/* A sheet before it is set: what is never broken over pages, piece by piece. */
struct flow {
    struct pages *p;
    const struct capture *c;
    struct flow_table *table; /* of each of the capture's */
    struct flow_strip *strip;
    size_t strips, room;
    bool no_memory;
};

/*
 * flow_open - a sheet measured for the pages at hand
 *
 * Given
 *   from       its first block
 * Returned
 *   f          flow_release(), in any case
 * Result
 *   0, or -1 without memory
 *
 * Tables are as wide as they need: type gets smaller, in all tables alike that
 * follow each other and begin with the same columns; then texts wrap, the last
 * column first. A reading between strokes, /4.62/, is
 * struck through.
 */
int flow_open(struct flow *f, struct pages *p, const struct capture *c, size_t from);
void flow_release(struct flow *f);

/* Whether it may begin on the page at hand, below a title of so many points: it fits there whole, or a quarter of the page is
 * free and has room for what stands together at its begin. */
bool flow_joins(const struct flow *f, double title);

/*
 * flow_set - what was measured, set from the free space on
 *
 * No page ends behind a heading, behind the first row of a table or before its
 * last, within a small one, between a table and what is said below it, within
 * a short list or paragraph, between an entry's words and the table that they lead to,
 * or with one line of a paragraph left alone; where that fits on a page at all.
 * A page that goes on below a heading begins with it, one that goes on with notes
 * with the sheet's title.
 */
void flow_set(struct flow *f);

/* Blocks from `from` on, measured and set; canvas.no_memory where that fails. */
void flow_blocks(struct pages *p, const struct capture *c, size_t from);

#endif
