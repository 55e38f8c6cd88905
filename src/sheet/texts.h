/* texts.h - sheets that are text and tables, for pages and HTML alike. Private to the sheets. */
#ifndef SHEET_TEXTS_H
#define SHEET_TEXTS_H

#include "capture.h"
#include "parts.h"

struct text_sheet {
    enum sheet_figure bit;
    const char *id, *title; /* of its section in HTML; of its pages */
};

/* The sheet of a bit; NULL for one that is drawn. */
const struct text_sheet *text_sheet_of(enum sheet_figure bit);

/*
 * text_sheet_take - what a text sheet says, taken apart
 *
 * Returned
 *   c          capture_release(), in any case; no blocks where the document has nothing for it. Its first
 *              block is the title, which pages and HTML have already.
 * Result
 *   0, or -1 without memory
 */
int text_sheet_take(const struct text_sheet *t, const struct sheet_document *doc, struct capture *c);

#endif
