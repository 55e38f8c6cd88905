#include "table.h"

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

/* One row of cells from `p`; the byte behind it. Trailing blanks are not printed. */
static const char *
print_row(const struct table *t, const char *p, FILE *out)
{
    struct row row = { .out = out, .used = 0 };
    size_t owed = 2;
    for (size_t i = 0; i < t->columns; i++) {
        struct cell_head head;
        memcpy(&head, p, sizeof head);
        const char *cell = p + sizeof head;
        p = cell + head.bytes;
        if (t->width[i] == 0)
            continue;
        size_t spare = t->width[i] - head.width;
        if (head.bytes > 0) {
            pad(&row, owed + (t->column[i].right ? spare : 0));
            put(&row, cell, head.bytes);
            owed = t->column[i].right ? 0 : spare;
        } else {
            owed += t->width[i];
        }
        owed += 2;
    }
    put(&row, "\n", 1);
    fwrite(row.bytes, 1, row.used, out);
    return p;
}

int
table_print(struct table *t, FILE *out)
{
    struct table head;
    table_open(&head, t->column, t->columns);
    for (size_t i = 0; i < t->columns; i++)
        table_cell(&head, t->column[i].heading);
    for (size_t i = 0; i < t->columns; i++)
        if ((t->width[i] > 0 || t->column[i].always) && head.width[i] > t->width[i])
            t->width[i] = head.width[i];
    int rc = t->no_memory || head.no_memory ? -1 : 0;
    if (rc == 0) {
        memcpy(head.width, t->width, sizeof head.width);
        print_row(&head, head.bytes, out);
        const char *p = t->bytes;
        for (size_t i = 0; i < t->cells; i += t->columns)
            p = print_row(t, p, out);
    }
    free(head.bytes);
    free(t->bytes);
    table_open(t, t->column, t->columns);
    return rc;
}
