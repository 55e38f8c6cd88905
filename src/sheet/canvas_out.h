/* canvas_out.h - a canvas as SVG, PDF and PNG. Private to the sheets. */
#ifndef SHEET_CANVAS_OUT_H
#define SHEET_CANVAS_OUT_H

#include "canvas.h"

#include <stdio.h>

/* The inks, red, green, blue; shares of 255. Contrast of each against white is 7 or more (WCAG 2.2, 1.4.6), but for the pale one. */
extern const unsigned char canvas_ink_rgb[CANVAS_INKS][3];

/* Strokes and gaps of a dash, points, for a pen of width 1; a nought ends them. */
extern const double canvas_dash_points[CANVAS_DASHES][5];

enum canvas_svg_use {
    CANVAS_SVG_FILE,  /* a document of its own */
    CANVAS_SVG_INLINE /* a part of an HTML page: as wide as what it stands in; its texts and groups are read to those who do not see it */
};

/*
 * canvas_svg - a page as SVG
 *
 * Given
 *   page       its number, from 0
 *   id         begins the ids in it, so that several can stand in one page: [a-z0-9-]
 *
 * Texts stay texts, each set to the width that it was laid out with. Every
 * character of a text is literal. Titles and descriptions of groups are the
 * drawing's own.
 * Source    Scalable Vector Graphics (SVG) 1.1, second edition; WAI-ARIA Graphics Module for the roles.
 */
void canvas_svg(const struct canvas *c, size_t page, enum canvas_svg_use use, const char *id, FILE *out);

/* What stands on a page as a symbol that an HTML page shows with <use>, many times over. */
void canvas_svg_symbol(const struct canvas *c, size_t page, const char *id, FILE *out);

/* Text with &, <, > and quotes escaped, as SVG and HTML have it; control characters as U+FFFD. */
void canvas_escape(const char *text, FILE *out);

enum canvas_status {
    CANVAS_OK,
    CANVAS_EMEMORY,
    CANVAS_ENOLIBRARY, /* the drawing library is not on this machine: *missing names it */
    CANVAS_EDRAW       /* it refused */
};

/* What a PDF says of itself. `day` is RFC 3339, from the record, and never from the clock; NULL: 1970-01-01T00:00:00Z. */
struct canvas_facts {
    const char *title, *subject, *day;
};

/*
 * canvas_pdf, canvas_png - all pages as PDF, one page as PNG
 *
 * Given
 *   dots       per inch, of a PNG
 * Returned
 *   out        the bytes; the caller looks at ferror()
 *   *missing   with CANVAS_ENOLIBRARY: the name of the library's file
 *
 * Method    pangocairo, loaded when it is first asked for, so that no other
 *           command waits for it. Texts are shaped, in fonts of this machine
 *           (DejaVu Sans where it has it), and narrowed or widened to the
 *           width they were laid out with. The same canvas gives the same
 *           bytes with the same libraries and fonts.
 */
enum canvas_status canvas_pdf(const struct canvas *c, const struct canvas_facts *facts, FILE *out, const char **missing);
enum canvas_status canvas_png(const struct canvas *c, size_t page, double dots, FILE *out, const char **missing);

#endif
