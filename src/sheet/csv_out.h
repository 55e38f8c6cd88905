/*
 * csv_out.h - one table of a command's JSON as CSV. Private to the sheets.
 *
 * The JSON is taken as it streams by and one list of it, or one object, is
 * told as rows: what stands in a cell is the text that stands in the JSON, so
 * that the two cannot differ. Only JSON of our own writer is understood.
 *
 * Source    cells, quotes and line ends: RFC 4180, section 2.
 */
#ifndef SHEET_CSV_OUT_H
#define SHEET_CSV_OUT_H

#include "rodbook/sheet.h"

#define CSV_OUT_DEPTH 12
#define CSV_OUT_PATH 128

struct csv_column {
    char path[CSV_OUT_PATH]; /* keys from the whole on, dots between them */
    size_t path_n;
    const char *heading;
    size_t heading_n;
    uint8_t power; /* of the job's unit: 1 a length, 2 an area, 3 a volume; else 0 */
    bool must;     /* an object without this key is no row of the table */
    bool outer;    /* said once, of the object that the rows stand in */
    bool given;    /* the row has the key */
    char *text;    /* the cell */
    size_t n, room;
};

struct csv_out {
    FILE *out;
    struct csv_column *column;
    size_t columns, next; /* next: the column that most likely comes next */
    char row_path[CSV_OUT_PATH];
    size_t row_path_n;
    const char *unit; /* behind headings of lengths; "" until it is known */

    char path[CSV_OUT_PATH]; /* where the JSON stands */
    size_t path_n;
    struct {
        bool list;
        size_t path_n;
    } level[CSV_OUT_DEPTH];
    size_t depth;

    bool in_text, in_bare, wants_key, is_key;
    uint8_t escape;       /* inside one: bytes of it that are to come */
    unsigned code;        /* of \uXXXX */
    char key[CSV_OUT_PATH];
    size_t key_n;
    struct csv_column *cell; /* the cell that what comes is for; NULL: for none */
    size_t list_depth;       /* of the list that goes into a cell as it is; 0: none */
    bool headed, no_memory;
    bool too_deep; /* no sheet nests so deep */
};

void csv_out_open(struct csv_out *c, const struct sheet_table *table, FILE *out);

/* The next bytes of the JSON. */
void csv_out_take(struct csv_out *c, const char *bytes, size_t n);

/* Frees. 0, or -1 where memory ran out: then something is missing. */
int csv_out_close(struct csv_out *c);

#endif
