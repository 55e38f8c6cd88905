/* csv_book.c - rows of a table as entries of a record, and the way back from a line to a cell */
#include "rodbook/csv.h"

#include "rodbook/room.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

/* A strike that waits until its run is written. */
struct pending {
    uint32_t row; /* of the run, from 1 */
    uint32_t sight;
    char reason[WRITE_NOTE];
    size_t start;
    uint32_t from;
};

/* The run that is being written. */
struct draft {
    struct csv_book *b;
    struct csv *c;
    const struct write_head *head;
    const char *by;
    FILE *out; /* into body; NULL while no run is open */
    char *body;
    size_t n;
    size_t first;   /* its first member of b->origin... */
    uint32_t rows;  /* ...and as many rows */
    uint32_t above; /* lines of the body above its first row */
    uint32_t page;
    char run[WRITE_NAME];
    struct pending *strike;
    size_t strikes, strike_room;
};

/* ---- entries ---- */

/* What append_compose() puts above a body: the lines of --- and of the number. */
#define LINES_ABOVE 2

static int
keep_origin(struct csv_book *b, struct csv_origin origin)
{
    struct csv_origin *grown = room_for(b->origin, &b->origin_room, b->origins, sizeof *grown);
    if (!grown)
        return -1;
    b->origin = grown;
    grown[b->origins++] = origin;
    return 0;
}

/* One entry more; where its body begins in b->text. */
static int
compose(struct csv_book *b, const char *body, size_t n, size_t *start)
{
    static const size_t below = sizeof "digest: \n" - 1 + DIGEST_HEX;
    if (append_compose(&b->text, &b->at, body, n, NULL, b->digest) != 0)
        return -1;
    *start = b->text.n - below - n;
    return 0;
}

static int
open_run(struct draft *r, const struct csv_row *row)
{
    r->out = open_memstream(&r->body, &r->n);
    if (!r->out)
        return -1;
    write_levels(r->out, r->head, 0);
    fflush(r->out);
    r->above = 0;
    for (size_t i = 0; i < r->n; i++)
        r->above += r->body[i] == '\n';
    r->first = r->b->origins;
    r->rows = r->page = 0;
    r->strikes = 0;
    memcpy(r->run, row->run, sizeof r->run);
    r->b->runs++;
    return 0;
}

static int
write_one_strike(struct draft *r, uint32_t entry, const struct pending *s)
{
    char *body = NULL;
    size_t n = 0, start = 0;
    uint32_t line = r->b->at.lines + LINES_ABOVE + 1;
    FILE *out = open_memstream(&body, &n);
    if (!out)
        return -1;
    write_strike(out, entry, s->row, (enum record_sight)s->sight, s->reason);
    write_envelope(out, r->by);
    int rc = fclose(out) != 0 ? -1 : compose(r->b, body, n, &start);
    if (rc == 0)
        rc = keep_origin(r->b, (struct csv_origin){ line, true, start, s->start, s->from });
    free(body);
    r->b->struck++;
    return rc;
}

/* The run's own entry, and a strike for each row of it that is struck. */
static int
close_run(struct draft *r)
{
    struct csv_book *b = r->b;
    uint32_t lines = b->at.lines, entry = b->at.entries + 1;
    size_t start = 0;
    if (!r->out)
        return 0;
    write_envelope(r->out, r->by);
    int rc = fclose(r->out) != 0 ? -1 : compose(b, r->body, r->n, &start);
    for (size_t i = r->first; i < b->origins; i++) {
        b->origin[i].line += lines + LINES_ABOVE;
        b->origin[i].text += start;
    }
    for (size_t i = 0; i < r->strikes && rc == 0; i++)
        rc = write_one_strike(r, entry, &r->strike[i]);
    free(r->body);
    r->out = NULL;
    r->body = NULL;
    return rc;
}

/* ---- rows ---- */

/* The row of this run that stands on a line of the file, from 1; 0 for none. */
static uint32_t
row_on_line(const struct draft *r, uint32_t line)
{
    size_t low = r->first, high = r->b->origins;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (r->b->origin[middle].from < line)
            low = middle + 1;
        else
            high = middle;
    }
    return low < r->b->origins && r->b->origin[low].from == line ? (uint32_t)(low - r->first) + 1 : 0;
}

static void
stand_for(const struct draft *r, struct csv_row *row)
{
    uint32_t number = row_on_line(r, row->for_line);
    row->row.for_entry = r->b->at.entries + 1;
    row->row.for_row = number;
    if (number == 0)
        diag_say(r->c->d, DIAG_ERROR, row->cell[CSV_FOR], "for",
            "no row of this run stands on line %" PRIu32 " of this file, above this one; name the line of the struck row", row->for_line);
}

static int
keep_strike(struct draft *r, const struct csv_row *row)
{
    struct pending *grown = room_for(r->strike, &r->strike_room, r->strikes, sizeof *grown);
    if (!grown)
        return -1;
    r->strike = grown;
    struct pending *s = &grown[r->strikes++];
    *s = (struct pending){ .row = r->rows, .sight = row->sight, .start = row->start, .from = row->line };
    memcpy(s->reason, row->struck, sizeof s->reason);
    return 0;
}

/* A page stands on the row that it begins with, though a table may say it on every row. */
static void
turn_page(struct draft *r, struct csv_row *row)
{
    if (row->row.for_row > 0 || row->row.page == 0)
        return;
    uint32_t page = row->row.page;
    row->row.page = page == r->page ? 0 : page;
    r->page = page;
}

static int
take_row(struct draft *r, struct csv_row *row)
{
    if (r->out && strcmp(r->run, row->run) != 0 && close_run(r) != 0)
        return -1;
    if (!r->out && open_run(r, row) != 0)
        return -1;
    if (row->for_line > 0)
        stand_for(r, row);
    turn_page(r, row);
    fflush(r->out);
    size_t text = r->n;
    write_row(r->out, &row->row);
    r->rows++;
    r->b->rows++;
    if (keep_origin(r->b, (struct csv_origin){ r->above + r->rows, false, text, row->start, row->line }) != 0)
        return -1;
    return row->struck[0] ? keep_strike(r, row) : 0;
}

int
csv_book(struct csv_book *b, struct csv *c, const struct scan_end *at, const struct write_head *head, const char *by)
{
    struct csv_row row;
    struct draft r = { .b = b, .c = c, .head = head, .by = by };
    *b = (struct csv_book){ .at = *at, .first = at->entries + 1 };
    int more, rc = 0;
    while (rc == 0 && (more = csv_next(c, &row)) != 0)
        rc = more < 0 ? -1 : take_row(&r, &row);
    if (rc == 0)
        rc = close_run(&r);
    if (r.out)
        fclose(r.out);
    free(r.body);
    free(r.strike);
    if (rc == 0 && b->rows == 0 && c->d->errors == 0)
        diag_say(c->d, DIAG_ERROR, (struct diag_place){ 1, 1 }, "csv-rows", "no row of readings stands below the names of the columns");
    return rc;
}

void
csv_book_release(struct csv_book *b)
{
    append_text_release(&b->text);
    free(b->origin);
    *b = (struct csv_book){ 0 };
}

/* ---- back to the cell ---- */

/* The origin of a line that was composed, or NULL. */
static const struct csv_origin *
origin_of(const struct csv_book *b, uint32_t line)
{
    size_t low = 0, high = b->origins;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (b->origin[middle].line < line)
            low = middle + 1;
        else
            high = middle;
    }
    return low < b->origins && b->origin[low].line == line ? &b->origin[low] : NULL;
}

/* A key of a row as it is written, and the column that it comes from; dist is told apart afterwards. */
static const struct {
    const char *key;
    enum csv_column column;
} keys[] = { { "at: ", CSV_POINT }, { "on: ", CSV_ON }, { "is: ", CSV_IS }, { "fs: ", CSV_FS }, { "bs: ", CSV_BS }, { "dist: ", CSV_DIST },
    { "fs-dist: ", CSV_FS_DIST }, { "bs-dist: ", CSV_BS_DIST }, { "moved: ", CSV_MOVED }, { "page: ", CSV_PAGE }, { "note: ", CSV_NOTE },
    { "for: ", CSV_FOR } };

/* The column whose key or value stands at a column of characters of a written row. */
static enum csv_column
column_at(const char *text, uint32_t column)
{
    enum csv_column found = CSV_POINT;
    bool quoted = false;
    uint32_t at = 1;
    for (const char *p = text; *p != '\n' && at <= column; p++) {
        if (quoted && *p == '\\')
            p++, at++;
        else if (*p == '"' && (quoted || p[-1] == ' '))
            quoted = !quoted;
        for (size_t i = 0; i < sizeof keys / sizeof keys[0] && !quoted && p > text && (p[-1] == ' ' || p[-1] == '{'); i++)
            if (strncmp(p, keys[i].key, strlen(keys[i].key)) == 0)
                found = keys[i].column;
        at += ((unsigned char)p[1] & 0xc0) != 0x80;
    }
    return found;
}

struct diag_place
csv_book_place(const struct csv_book *b, const struct csv *c, struct diag_place place)
{
    struct diag unsaid = { 0 };
    struct csv_row row;
    const struct csv_origin *o = origin_of(b, place.line);
    if (!o)
        return (struct diag_place){ 0, 0 };
    struct csv again = *c;
    again.cell = (struct append_text){ 0 };
    again.at = again.counted = o->start;
    again.line = o->from;
    again.column = 1;
    again.d = &unsaid;
    struct diag_place found = { o->from, 1 };
    enum csv_column which = o->strike ? CSV_STRUCK : column_at(b->text.bytes + o->text, place.column);
    if (csv_next(&again, &row) > 0) {
        if (which == CSV_DIST && row.cell[CSV_DIST].line == 0)
            which = row.row.bs.wires > 0 ? CSV_BS_DIST : CSV_FS_DIST;
        found = row.cell[which].line > 0 ? row.cell[which] : row.cell[CSV_POINT];
    }
    csv_close(&again);
    diag_release(&unsaid);
    return found;
}
