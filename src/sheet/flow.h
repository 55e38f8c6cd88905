/* flow.h - a text sheet that was taken apart, on pages. Private to the sheets. */
#ifndef SHEET_FLOW_H
#define SHEET_FLOW_H

#include "capture.h"
#include "page.h"

/*
 * flow_blocks - blocks set on the pages at hand, from the free space on
 *
 * Given
 *   from       the first block
 *
 * Tables are as wide as they need: type gets smaller down to PAGE_SMALL, then
 * texts wrap, the last column first. A reading between strokes, /4.62/, is
 * struck through.
 */
void flow_blocks(struct pages *p, const struct capture *c, size_t from);

#endif
