/* record.c - what a record is asked once it has been read */
#include "entries.h"

#include <stdlib.h>

const struct record_extra no_extra = { .dist = { -1, -1 }, .page = RECORD_NONE, .note = RECORD_NONE, .strike_ahead = RECORD_NONE,
    .strike_bs = RECORD_NONE, .base = RECORD_NONE };

void
record_release(struct record *r)
{
    names_release(&r->names);
    names_release(&r->texts);
    free(r->entry);
    free(r->mark);
    free(r->point);
    free(r->stand);
    free(r->grade);
    free(r->row);
    free(r->dist);
    free(r->extra);
    free(r->section);
    free(r->strike);
    free(r->seal);
    free(r->plan);
    free(r->plan_setup);
    free(r->plan_sight);
    free(r->site);
    free(r->site_row);
    free(r->site_door);
    free(r->site_place);
    free(r->hole);
    free(r->concrete);
    free(r->pad);
    free(r->pad_spot);
    free(r->set);
    free(r->set_row);
    free(r->tape);
    free(r->taped);
    free(r->tape_span);
    free(r->run);
    free(r->continuation);
    free(r->span);
    free(r->next);
    *r = (struct record){ 0 };
}

struct diag_place
record_row_place(const struct record_row *row)
{
    return (struct diag_place){ row->line, row->column };
}

/* The span that row `i` stands in: the last that begins at or before it. */
static const struct record_span *
span_of(const struct record *r, uint32_t i)
{
    size_t low = 0, high = r->spans;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (r->span[middle].first <= i)
            low = middle;
        else
            high = middle;
    }
    return &r->span[low];
}

uint32_t
record_row_entry(const struct record *r, uint32_t i)
{
    return span_of(r, i)->entry;
}

uint32_t
record_row_number(const struct record *r, uint32_t i)
{
    return i - span_of(r, i)->first + 1;
}

uint32_t
record_row_next(const struct record *r, const struct record_run *run, uint32_t i)
{
    if (r->next)
        return r->next[i];
    return i == run->last_row ? RECORD_NONE : i + 1;
}

static bool
has_extra(const struct record_row *row)
{
    return row->more != RECORD_NONE && (row->more & RECORD_EXTRA) != 0;
}

const struct record_extra *
record_extra(const struct record *r, const struct record_row *row)
{
    return has_extra(row) ? &r->extra[row->more & ~RECORD_EXTRA] : &no_extra;
}

struct record_dist
record_dist_of(const struct record *r, const struct record_row *row)
{
    if (has_extra(row) || row->more == RECORD_NONE)
        return record_extra(r, row)->dist;
    return r->dist[row->more];
}

const char *
record_on_word(enum record_on on)
{
    return on_words[on];
}
