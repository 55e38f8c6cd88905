#include "rodbook/diag.h"

#include "rodbook/room.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

void
diag_release(struct diag *d)
{
    for (size_t i = 0; i < d->n; i++)
        free(d->item[i].text);
    free(d->item);
    *d = (struct diag){ 0 };
}

void
diag_say(struct diag *d, enum diag_level level, struct diag_place place, const char *check, const char *format, ...)
{
    char *text = NULL;
    va_list list;
    va_start(list, format);
    int n = vasprintf(&text, format, list);
    va_end(list);
    d->errors += level == DIAG_ERROR;
    d->warnings += level == DIAG_WARNING;
    struct diag_item *item = n < 0 ? NULL : room_for(d->item, &d->room, d->n, sizeof *item);
    if (!item) {
        if (n >= 0)
            free(text);
        d->no_memory = true;
        return;
    }
    d->item = item;
    struct diag_place head = level == DIAG_NOTE && d->n > 0 ? item[d->n - 1].head : place;
    item[d->n] = (struct diag_item){ level, place, check, text, head, d->n };
    d->n++;
}

void
diag_drop_from(struct diag *d, size_t since, struct diag_place place)
{
    size_t kept = since;
    for (size_t i = since; i < d->n; i++) {
        struct diag_place at = d->item[i].head;
        if (at.line < place.line || (at.line == place.line && at.column < place.column)) {
            d->item[kept++] = d->item[i];
            continue;
        }
        d->errors -= d->item[i].level == DIAG_ERROR;
        d->warnings -= d->item[i].level == DIAG_WARNING;
        free(d->item[i].text);
    }
    d->n = kept < d->n ? kept : d->n;
}

static int
by_place(const void *a, const void *b)
{
    const struct diag_item *x = a, *y = b;
    if (x->head.line != y->head.line)
        return x->head.line < y->head.line ? -1 : 1;
    if (x->head.column != y->head.column)
        return x->head.column < y->head.column ? -1 : 1;
    return x->order < y->order ? -1 : 1;
}

void
diag_sort(struct diag *d)
{
    if (d->n > 1)
        qsort(d->item, d->n, sizeof *d->item, by_place);
}
