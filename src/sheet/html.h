/*
 * html.h - sheets as one HTML page. Private to the sheets.
 *
 * What is written is well-formed XML as well as HTML, so that one parser or
 * the other finds the same elements and the same text. No text of a record
 * comes out but through html_words(), html_name() and canvas_escape().
 * Source    HTML Living Standard; WAI-ARIA 1.2 for the roles; Content Security
 *           Policy Level 3; WCAG 2.2, 1.4.6 for the contrast (7 to 1).
 */
#ifndef SHEET_HTML_H
#define SHEET_HTML_H

#include "capture.h"
#include "page.h"

/* The style sheet, but for what a document adds to it. It holds no <, and so cannot end early. */
extern const char html_style[];

/*
 * A sentence. Words of it that are written from right to left stand apart, so
 * that they turn nothing beside them. What is one figure is kept on one line,
 * in <i>, which the style sheet uses for nothing else: a number and its unit,
 * feet and inches, a slope, and the word before it that says which way.
 */
void html_words(const char *text, FILE *out);

/* A name: as above, and as a whole. */
void html_name(const char *name, FILE *out);

/* True where some of it may be written from right to left. */
bool html_may_go_left(const char *text);

/*
 * html_flow - a text sheet that was taken apart
 *
 * Given
 *   from       the first block
 *
 * Headings are h3, those of a part of what came before h4; one with nothing
 * of its own below it is a line of text. Each cell of a table has its
 * column's heading in data-label, and the table a class by how wide it is:
 * where the screen is too narrow for it, the style sheet makes each row a
 * card of labels and values. A reading between strokes, /4.62/, is struck.
 * Lines that warn are alerts.
 */
void html_flow(const struct capture *c, size_t from, FILE *out);

/* The stake sheet: nothing where the job has no stakes. 0, or -1 without memory. */
int html_stakes(const struct sheet_document *doc, FILE *out);

/* The shapes of moves, to be used many times over. 0, or -1 without memory. */
int html_shapes(FILE *out);

#endif
