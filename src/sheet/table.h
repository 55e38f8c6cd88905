/* table.h - text in columns, each as wide as its widest cell. Private to the sheets. */
#ifndef SHEET_TABLE_H
#define SHEET_TABLE_H

#include "rodbook/length.h"

#include <stdio.h>

#define TABLE_COLUMNS 12
#define TABLE_PAGE 100 /* columns of a page; what is wider is broken into lines */

struct table_column {
    const char *heading;
    bool right;  /* numbers stand to the right */
    bool always; /* printed even where every cell is empty */
};

struct table {
    const struct table_column *column;
    size_t columns;
    size_t width[TABLE_COLUMNS];
    char *bytes; /* cells: the size and width of each, and its text */
    size_t used, room;
    size_t cells;
    bool no_memory;
};

void table_open(struct table *t, const struct table_column *column, size_t columns);

/* The next cell, left to right, row by row. NULL is an empty cell. */
void table_cell(struct table *t, const char *text);
void table_length(struct table *t, length value, struct length_style style);

/* A cell of those gathered, at *p; then *p is the next. It is not closed by a zero. */
const char *table_take_cell(const char **p, size_t *bytes);

/* Print headings and rows, two blanks between columns; columns that stayed
 * empty are left out. What is wider than a page stands closer, texts are
 * broken into lines, and long ones in the last column go below their row.
 * Then empty the table. 0, or -1 without memory. */
int table_print(struct table *t, FILE *out);

#endif
