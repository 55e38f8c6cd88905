/* fold.h - text broken into lines at its blanks. Private to the sheets. */
#ifndef SHEET_FOLD_H
#define SHEET_FOLD_H

#include <stdbool.h>
#include <stddef.h>

/* What is left of a text that goes over several lines. */
struct fold_text {
    const char *text;
    size_t n;
};

/* What may stand behind a number as its unit; and before one: which way, how sure, or of what it is the number. Each ends in NULL. */
extern const char *const fold_units[], *const fold_leads[];

/* True where the blank at `at`, of n bytes, stands within a value, which is misread when a line ends there: 4' 0", 3/4 in,
 * 9 ft 4-1/2 in, entry 4. */
bool fold_joins(const char *text, size_t n, size_t at);

/* Bytes of the word at the begin of n bytes, and of those behind it that belong to one value with it. */
size_t fold_piece(const char *text, size_t n);

/* Columns of n bytes. */
size_t fold_width(const char *text, size_t n);

/* What of it goes into so many columns: up to the last blank there that is within no value, else to the last blank, or to where
 * they are full, one letter at least. *shown is how wide it is. It and the blanks behind it are taken off. */
struct fold_text fold_take(struct fold_text *rest, size_t width, size_t *shown);

#endif
