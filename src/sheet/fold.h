/* fold.h - text broken into lines at its blanks. Private to the sheets. */
#ifndef SHEET_FOLD_H
#define SHEET_FOLD_H

#include <stddef.h>

/* What is left of a text that goes over several lines. */
struct fold_text {
    const char *text;
    size_t n;
};

/* What of it goes into so many columns: up to the last blank there, or to where they are full, one letter at least. *shown is
 * how wide it is. It and the blanks behind it are taken off. */
struct fold_text fold_take(struct fold_text *rest, size_t width, size_t *shown);

#endif
