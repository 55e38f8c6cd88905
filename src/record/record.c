/* record.c - what a record is asked once it has been read */
#include "entries.h"

#include <stdlib.h>

const struct record_extra no_extra = { .page = RECORD_NONE, .note = RECORD_NONE, .strike_ahead = RECORD_NONE,
    .strike_bs = RECORD_NONE };

void
record_release(struct record *r)
{
    names_release(&r->names);
    names_release(&r->texts);
    free(r->entry);
    free(r->mark);
    free(r->point);
    free(r->grade);
    free(r->row);
    free(r->dist);
    free(r->extra);
    free(r->section);
    free(r->strike);
    free(r->run);
    free(r->continuation);
    *r = (struct record){ 0 };
}

struct diag_place
record_row_place(const struct record_row *row)
{
    return (struct diag_place){ row->line, row->column };
}

const struct record_extra *
record_extra(const struct record *r, const struct record_row *row)
{
    return row->extra == RECORD_NONE ? &no_extra : &r->extra[row->extra];
}

const char *
record_on_word(enum record_on on)
{
    return on_words[on];
}

const char *
record_point_kind_word(enum record_point_kind kind)
{
    return kind < RECORD_POINT_KINDS ? point_kind_words[kind] : "point";
}
