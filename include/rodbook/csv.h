/*
 * csv.h - readings from a table of cells, as rows of levels
 *
 * A first row names the columns in the trade's words, in any order; each row
 * below is one row of the field book. What a cell is (a length, a word, a
 * count) is judged here, at the cell; what a row means is for the record to
 * judge once it is composed, and its complaints are brought back to the cell.
 *
 * Source    cells, quotes and line ends: RFC 4180, section 2, with the
 *           leniences that docs/import.md names.
 */
#ifndef RODBOOK_CSV_H
#define RODBOOK_CSV_H

#include "rodbook/append.h"
#include "rodbook/write.h"

enum csv_column { CSV_POINT, CSV_ON, CSV_BS, CSV_IS, CSV_FS, CSV_BS_DIST, CSV_FS_DIST, CSV_DIST, CSV_MOVED, CSV_PAGE, CSV_NOTE,
    CSV_STRUCK, CSV_SIGHT, CSV_FOR, CSV_RUN, CSV_COLUMNS };

struct csv {
    const char *bytes; /* the caller's */
    size_t n;
    size_t at;         /* the next byte... */
    uint32_t line;     /* ...its line, from 1... */
    size_t counted;    /* ...and a byte of that line at or before it... */
    uint32_t column;   /* ...whose column is known, in characters from 1 */
    enum length_unit unit;
    struct diag *d;
    uint8_t kind[CSV_COLUMNS]; /* enum csv_column of each column of the file, left to right */
    size_t kinds;
    struct append_text cell;   /* the cell at hand, without its quotes */
    bool row_ended, no_memory;
};

/* One row, as it is written into the record. */
struct csv_row {
    struct write_row row;
    char run[WRITE_NAME];    /* a change of it begins a new run */
    char struck[WRITE_NOTE]; /* why it is struck; "" where it stands... */
    uint32_t sight;          /* ...and what of it: enum record_sight */
    uint32_t for_line;       /* the line of the struck row that it stands for; 0 for none */
    char dist[WRITE_LENGTH]; /* of the row's one sight, whichever that is */
    uint32_t moved;          /* 1: read after the mark was moved */
    size_t start;            /* its first byte... */
    uint32_t line;           /* ...and that one's line */
    struct diag_place cell[CSV_COLUMNS]; /* line 0 where the file has no such column */
};

/* A cell as it was read; its text is good until the next. */
struct csv_cell {
    const char *text; /* closed by a zero, blanks at its ends taken off where it has no quotes */
    size_t n;
    struct diag_place place;
    bool last; /* of its row */
};

/* Cells of any table, whatever its columns: `c` as csv_open() makes it, csv_close(); then cell by cell, up to c->at == c->n.
 * False without memory. */
void csv_begin(struct csv *c, const char *bytes, size_t n, enum length_unit unit, struct diag *d);
bool csv_cell(struct csv *c, struct csv_cell *cell);

/*
 * csv_open - read the names of the columns
 *
 * Given
 *   bytes[n]   the whole file; must outlive `c`
 *   unit       what a bare number means
 * Returned
 *   c          csv_close()
 *   d          what is wrong with the first row; what csv_next() finds too
 * Result
 *   0; -1 where the rows cannot be told by it (said), or without memory
 */
int csv_open(struct csv *c, const char *bytes, size_t n, enum length_unit unit, struct diag *d);
void csv_close(struct csv *c);

/*
 * csv_next - the next row that holds anything
 *
 * Result
 *   1; 0 at the end, or where a quote is left open (said); -1 without memory.
 *   A row with a fault (said) is given no less.
 */
int csv_next(struct csv *c, struct csv_row *row);

/* Where a row came from. */
struct csv_origin {
    uint32_t line;   /* in the record that was composed */
    bool strike;     /* that line is its strike */
    size_t text;     /* the line's first byte in what was composed */
    size_t start;    /* the row's first byte in the file... */
    uint32_t from;   /* ...and that one's line */
};

/* Rows as entries: one `levels` for each run, and a `strike` for each row that is struck. */
struct csv_book {
    struct append_text text;
    struct scan_end at; /* where the record stops with them */
    unsigned char digest[DIGEST_BYTES];
    uint32_t first;     /* number of the first entry */
    uint32_t runs, rows, struck;
    struct csv_origin *origin;
    size_t origins, origin_room;
};

/*
 * csv_book - compose the entries of a whole file
 *
 * Given
 *   c          opened
 *   at         where the record stops
 *   head, by   of every run
 * Returned
 *   b          csv_book_release(); worth something only where nothing was said in c->d
 * Result
 *   0, or -1 without memory
 */
int csv_book(struct csv_book *b, struct csv *c, const struct scan_end *at, const struct write_head *head, const char *by);
void csv_book_release(struct csv_book *b);

/* A place in the record that was composed, as a place in the file; line 0 for what no cell says. */
struct diag_place csv_book_place(const struct csv_book *b, const struct csv *c, struct diag_place place);

#endif
