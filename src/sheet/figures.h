/*
 * figures.h - what a document is made of. Private to the sheets.
 *
 * Each figure turns to pages of its own and draws on them what the document's
 * results say; one that has nothing to show turns none. Sheets of text begin
 * where another one ended, if there is room. -1 without memory.
 */
#ifndef SHEET_FIGURES_H
#define SHEET_FIGURES_H

#include "page.h"

int figure_stakes(struct pages *p);

int figure_plan(struct pages *p);

int figure_profile(struct pages *p);

/* Sheets that are text and tables, one behind the other: texts.h. Where the last page would be nearly empty, the rows of the last
 * two stand closer, if that saves it. */
int figure_texts(struct pages *p, const enum sheet_figure *bit, size_t n);

int figure_loops(struct pages *p);

/* The whole document on a canvas; the caller releases it. 0, or -1 without memory. */
int figures_draw(const struct sheet_document *doc, struct canvas *c);

#endif
