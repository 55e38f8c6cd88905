#include "table.h"

#include "capture.h"
#include "fold.h"

#include "rodbook/text.h"

#include <stdlib.h>
#include <string.h>

void
table_open(struct table *t, const struct table_column *column, size_t columns)
{
    *t = (struct table){ .column = column, .columns = columns };
}

static bool
make_room(struct table *t, size_t n)
{
    if (t->used + n <= t->room)
        return true;
    size_t room = t->used + n + t->room / 2 + 4096;
    char *grown = realloc(t->bytes, room);
    t->no_memory |= grown == NULL;
    if (!grown)
        return false;
    t->bytes = grown;
    t->room = room;
    return true;
}

struct cell_head {
    uint32_t bytes;
    uint32_t width; /* columns on a terminal */
};

void
table_cell(struct table *t, const char *text)
{
    size_t n = text ? strlen(text) : 0, column = t->cells % t->columns;
    struct cell_head head = { (uint32_t)n, n > 0 ? (uint32_t)text_width(text) : 0 };
    if (!make_room(t, n + sizeof head))
        return;
    memcpy(t->bytes + t->used, &head, sizeof head);
    if (n > 0)
        memcpy(t->bytes + t->used + sizeof head, text, n);
    t->used += n + sizeof head;
    t->cells++;
    if (head.width > t->width[column])
        t->width[column] = head.width;
}

void
table_length(struct table *t, length value, struct length_style style)
{
    char text[LENGTH_TEXT];
    length_print(text, value, style);
    table_cell(t, text);
}

/* A row as it goes out, in pieces. */
struct row {
    FILE *out;
    char bytes[512];
    size_t used;
};

static void
put(struct row *row, const char *text, size_t n)
{
    if (n > sizeof row->bytes - row->used) {
        fwrite(row->bytes, 1, row->used, row->out);
        row->used = 0;
    }
    if (n > sizeof row->bytes) {
        fwrite(text, 1, n, row->out);
        return;
    }
    memcpy(row->bytes + row->used, text, n);
    row->used += n;
}

static void
pad(struct row *row, size_t n)
{
    static const char blanks[] = "                                                                ";
    for (; n > sizeof blanks - 1; n -= sizeof blanks - 1)
        put(row, blanks, sizeof blanks - 1);
    put(row, blanks, n);
}

/* How a table lies on the page: two blanks between columns; one, and then narrower texts, where it would be too wide. */
struct layout {
    size_t width[TABLE_COLUMNS];
    size_t gap;
    size_t tail;  /* where the last column begins; */
    size_t under; /* where it begins on a line of its own, when what stands in it is too long for the row */
    bool folds;   /* some cell is broken into lines */
};

#define NAME_LEAST 16 /* columns that a text keeps at least */
#define TAIL_LEAST 30 /* columns that are worth breaking remarks into beside the row */

/* Where the last column begins. */
static size_t
tail_of(const struct table *t, const struct layout *l)
{
    size_t at = 2;
    for (size_t i = 0; i + 1 < t->columns; i++)
        at += l->width[i] > 0 ? l->width[i] + l->gap : 0;
    return at;
}

/* Whether remarks, or whatever text stands last, may go below their row. */
static bool
has_tail(const struct table *t)
{
    return !t->column[t->columns - 1].right;
}

/* The widest text that can be narrowed, the last column apart; t->columns where there is none. */
static size_t
widest_text(const struct table *t, const struct layout *l)
{
    size_t widest = t->columns;
    for (size_t i = 0; i + has_tail(t) < t->columns; i++)
        if (!t->column[i].right && l->width[i] > NAME_LEAST && (widest == t->columns || l->width[i] > l->width[widest]))
            widest = i;
    return widest;
}

/* Narrow texts until what stands before the last column leaves `beside` for it. False where they do not give so much. */
static bool
narrow(const struct table *t, struct layout *l, size_t beside)
{
    while (tail_of(t, l) + beside > TABLE_PAGE) {
        size_t i = widest_text(t, l);
        if (i == t->columns)
            return false;
        l->width[i]--;
        l->folds = true;
    }
    return true;
}

static struct layout
lay_out(const struct table *t)
{
    size_t last = t->columns - 1, whole = t->width[last], beside = has_tail(t) && whole > TAIL_LEAST ? TAIL_LEAST : whole;
    struct layout wide = { .gap = 2 };
    memcpy(wide.width, t->width, sizeof wide.width);
    struct layout l = wide;
    if (!narrow(t, &l, beside)) { /* names alone are not to blame: remarks go below, if that helps */
        l = wide;
        if (!narrow(t, &l, has_tail(t) ? 0 : whole)) {
            l.gap = 1;
            (void)narrow(t, &l, has_tail(t) ? 0 : whole);
        }
    }
    l.tail = tail_of(t, &l);
    l.folds |= l.tail + whole > TABLE_PAGE;
    l.under = l.tail + TAIL_LEAST <= TABLE_PAGE ? l.tail : 2 + TAIL_LEAST;
    return l;
}

/* A row whose cells go over several lines; a long remark goes below what stands before it. */
static void
print_folded(const struct table *t, const struct layout *l, struct fold_text *cell, struct row *row)
{
    size_t last = t->columns - 1, shown, most = has_tail(t) ? last : t->columns;
    size_t tail_width = 0;
    if (has_tail(t)) {
        struct fold_text whole = cell[last];
        (void)fold_take(&whole, SIZE_MAX, &tail_width);
    }
    bool beside = l->tail + tail_width <= TABLE_PAGE || l->under == l->tail;
    for (bool more = true; more;) {
        size_t owed = 2;
        more = false;
        for (size_t i = 0; i < most; i++) {
            if (l->width[i] == 0)
                continue;
            struct fold_text piece = fold_take(&cell[i], l->width[i], &shown);
            size_t spare = l->width[i] > shown ? l->width[i] - shown : 0;
            if (piece.n > 0) {
                pad(row, owed + (t->column[i].right ? spare : 0));
                put(row, piece.text, piece.n);
                owed = t->column[i].right ? 0 : spare;
            } else {
                owed += l->width[i];
            }
            owed += l->gap;
            more |= cell[i].n > 0;
        }
        if (has_tail(t) && beside && cell[last].n > 0) {
            struct fold_text piece = fold_take(&cell[last], l->tail < TABLE_PAGE ? TABLE_PAGE - l->tail : 1, &shown);
            pad(row, owed);
            put(row, piece.text, piece.n);
            more |= cell[last].n > 0;
        }
        put(row, "\n", 1);
    }
    while (has_tail(t) && cell[last].n > 0) {
        struct fold_text piece = fold_take(&cell[last], TABLE_PAGE - l->under, &shown);
        pad(row, l->under);
        put(row, piece.text, piece.n);
        put(row, "\n", 1);
    }
}

static void
print_plain(const struct table *t, const struct layout *l, const struct fold_text *cell, const uint32_t *width, struct row *row)
{
    size_t owed = 2;
    for (size_t i = 0; i < t->columns; i++) {
        if (l->width[i] == 0)
            continue;
        size_t spare = l->width[i] - width[i];
        if (cell[i].n > 0) {
            pad(row, owed + (t->column[i].right ? spare : 0));
            put(row, cell[i].text, cell[i].n);
            owed = t->column[i].right ? 0 : spare;
        } else {
            owed += l->width[i];
        }
        owed += l->gap;
    }
    put(row, "\n", 1);
}

/* One row of cells from `p`; the byte behind it. Trailing blanks are not printed. */
static const char *
print_row(const struct table *t, const struct layout *l, const char *p, FILE *out)
{
    struct row row = { .out = out, .used = 0 };
    struct fold_text cell[TABLE_COLUMNS];
    uint32_t width[TABLE_COLUMNS];
    bool fits = true;
    for (size_t i = 0; i < t->columns; i++) {
        struct cell_head head;
        memcpy(&head, p, sizeof head);
        bool shown = l->width[i] > 0; /* else a heading without cells */
        cell[i] = (struct fold_text){ p + sizeof head, shown ? head.bytes : 0 };
        width[i] = shown ? head.width : 0;
        p += sizeof head + head.bytes;
        fits &= !l->folds || (i + 1 < t->columns ? width[i] <= l->width[i] : width[i] == 0 || l->tail + width[i] <= TABLE_PAGE);
    }
    if (fits)
        print_plain(t, l, cell, width, &row);
    else
        print_folded(t, l, cell, &row);
    fwrite(row.bytes, 1, row.used, out);
    return p;
}

const char *
table_take_cell(const char **p, size_t *bytes)
{
    struct cell_head head;
    memcpy(&head, *p, sizeof head);
    const char *text = *p + sizeof head;
    *p = text + head.bytes;
    *bytes = head.bytes;
    return text;
}

int
table_print(struct table *t, FILE *out)
{
    struct table head;
    if (capture_takes(t, out)) {
        table_open(t, t->column, t->columns);
        return 0;
    }
    table_open(&head, t->column, t->columns);
    for (size_t i = 0; i < t->columns; i++)
        table_cell(&head, t->column[i].heading);
    for (size_t i = 0; i < t->columns; i++)
        if ((t->width[i] > 0 || t->column[i].always) && head.width[i] > t->width[i])
            t->width[i] = head.width[i];
    int rc = t->no_memory || head.no_memory ? -1 : 0;
    if (rc == 0) {
        struct layout layout = lay_out(t);
        memcpy(head.width, t->width, sizeof head.width);
        print_row(&head, &layout, head.bytes, out);
        const char *p = t->bytes;
        for (size_t i = 0; i < t->cells; i += t->columns)
            p = print_row(t, &layout, p, out);
    }
    free(head.bytes);
    free(t->bytes);
    table_open(t, t->column, t->columns);
    return rc;
}
