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

/* A sheet that is text and tables: texts.h. */
int figure_text(struct pages *p, enum sheet_figure bit);

int figure_loops(struct pages *p);

/* The whole document on a canvas; the caller releases it. 0, or -1 without memory. */
int figures_draw(const struct sheet_document *doc, struct canvas *c);

#endif
