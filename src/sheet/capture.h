/*
 * capture.h - a text sheet taken apart, so that pages and HTML show the same. Private to the sheets.
 *
 * Sheets are written as text: headings at the margin behind a blank line,
 * sentences two blanks in and what belongs to them deeper, tables. While a
 * capture is open, the tables that are printed to its stream are kept whole,
 * and sentences are not broken into lines; what comes out is blocks in order.
 */
#ifndef SHEET_CAPTURE_H
#define SHEET_CAPTURE_H

#include "table.h"

#include <stdint.h>

enum capture_kind { CAPTURE_HEADING, CAPTURE_TEXT, CAPTURE_TABLE };

struct capture_block {
    enum capture_kind kind;
    uint32_t level; /* of a text: how deep it stands, 0 at the margin */
    size_t text;    /* into capture.text, closed by a zero */
    size_t table;   /* into capture.table */
};

struct capture_table {
    struct table_column column[TABLE_COLUMNS];
    size_t columns, cells;
    bool filled[TABLE_COLUMNS]; /* something stands in the column, or it is always shown */
    char *bytes;                /* table_take_cell() */
};

struct capture {
    FILE *out;    /* sheets are printed here */
    char *text;
    size_t bytes;
    struct capture_table *table;
    size_t tables, table_room;
    struct capture_block *block;
    size_t blocks, block_room;
    bool no_memory;
    struct capture *outer; /* one that was open already */
};

/* 0, or -1 without memory. Of those open, the last one opened is closed first; capture_release() in any case. */
int capture_open(struct capture *c);
int capture_close(struct capture *c);
void capture_release(struct capture *c);

/* The block of the heading that begins so, c->blocks where there is none; and the same taken off with the lines below it. */
size_t capture_find(const struct capture *c, const char *heading);
void capture_drop(struct capture *c, const char *heading);

/* For those who print: `paper` where `out` goes to pages or HTML, which crews read who type no commands; else `typed`. */
const char *capture_words(FILE *out, const char *paper, const char *typed);

/* True where `out` is being captured; and a table that went there, whose cells are taken over. */
bool capture_is_of(FILE *out);
bool capture_takes(struct table *t, FILE *out);

#endif
