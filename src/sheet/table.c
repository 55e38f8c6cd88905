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

void
table_cell(struct table *t, const char *text)
{
    size_t n = text ? strlen(text) : 0, column = t->cells % t->columns;
    if (!make_room(t, n + 1))
        return;
    memcpy(t->bytes + t->used, text ? text : "", n);
    t->bytes[t->used + n] = '\0';
    t->used += n + 1;
    t->cells++;
    size_t w = n > 0 ? text_width(text) : 0;
    if (w > t->width[column])
        t->width[column] = w;
}

void
table_length(struct table *t, length value, struct length_style style)
{
    char text[LENGTH_TEXT];
    length_print(text, value, style);
    table_cell(t, text);
}

static void
pad(FILE *out, size_t n)
{
    static const char blanks[] = "                                ";
    for (; n > sizeof blanks - 1; n -= sizeof blanks - 1)
        fputs(blanks, out);
    fwrite(blanks, 1, n, out);
}

/* One row of cells from `p`; the byte behind it. Trailing blanks are not printed. */
static const char *
print_row(const struct table *t, const char *p, FILE *out)
{
    size_t owed = 2;
    for (size_t i = 0; i < t->columns; i++) {
        size_t n = strlen(p), w = n > 0 ? text_width(p) : 0;
        const char *cell = p;
        p += n + 1;
        if (t->width[i] == 0)
            continue;
        size_t spare = t->width[i] - w;
        if (n > 0) {
            pad(out, owed + (t->column[i].right ? spare : 0));
            fwrite(cell, 1, n, out);
            owed = t->column[i].right ? 0 : spare;
        } else {
            owed += t->width[i];
        }
        owed += 2;
    }
    fputc('\n', out);
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
