/* resolve.c - strikes, continuations and replacements */
#include "entries.h"

#include "rodbook/room.h"

#include <inttypes.h>
#include <stdlib.h>

/* An entry that could not be read has been complained of itself. */
static bool
is_faulty(const struct record_entry *e)
{
    return e && e->kind == RECORD_FAULTY && !e->torn;
}

/* Append the rows of each continuation to the run that it continues. */
static void
join_continuations(struct record *r, struct diag *d)
{
    for (size_t i = 0; i < r->continuations; i++) {
        const struct record_continuation *c = &r->continuation[i];
        const struct record_entry *target = c->target > 0 && c->target <= c->entry ? &r->entry[c->target - 1] : NULL;
        if (is_faulty(target))
            continue;
        if (!target || target->kind != RECORD_LEVELS || target->head == RECORD_NONE) {
            diag_say(d, DIAG_ERROR, c->place, "continues", "entry %" PRIu32 " is no run of levels above this one",
                c->target);
            continue;
        }
        struct record_entry *entry = &r->entry[c->entry];
        entry->head = target->head;
    }
}

/* The extras of a row that may have had none. NULL without memory. */
static struct record_extra *
own_extra(struct record *r, struct record_row *row)
{
    if (row->more != RECORD_NONE && (row->more & RECORD_EXTRA))
        return &r->extra[row->more & ~RECORD_EXTRA];
    struct record_extra *grown = room_for(r->extra, &r->extra_room, r->extras, sizeof *grown);
    if (!grown)
        return NULL;
    r->extra = grown;
    grown[r->extras] = no_extra;
    grown[r->extras].dist = record_dist_of(r, row);
    row->more = RECORD_EXTRA | (uint32_t)r->extras++;
    return &grown[r->extras - 1];
}

static void
say_struck_twice(const struct record *r, const struct record_strike *s, uint32_t first, struct diag *d)
{
    diag_say(d, DIAG_ERROR, s->place, "struck-twice", "row %" PRIu32 " of entry %" PRIu32 " is struck already",
        s->target_row, s->target_entry);
    diag_say(d, DIAG_NOTE, r->strike[first].place, NULL, "struck here");
}

static int
strike_row(struct record *r, uint32_t number, struct record_row *row, struct diag *d)
{
    const struct record_strike *s = &r->strike[number];
    uint8_t has_ahead = row->flags & (RECORD_HAS_IS | RECORD_HAS_FS), has_bs = row->flags & RECORD_HAS_BS;
    bool ahead = has_ahead != 0 && s->sight != RECORD_SIGHT_BS, bs = has_bs != 0 && s->sight != RECORD_SIGHT_FS;
    if ((s->sight == RECORD_SIGHT_BS && !has_bs) || (s->sight == RECORD_SIGHT_FS && !(row->flags & RECORD_HAS_FS))) {
        diag_say(d, DIAG_ERROR, s->place, "strike", "row %" PRIu32 " of entry %" PRIu32 " has no %s to strike",
            s->target_row, s->target_entry, s->sight == RECORD_SIGHT_BS ? "bs" : "fs");
        return 0;
    }
    struct record_extra *x = own_extra(r, row);
    if (!x)
        return -1;
    if ((ahead && x->strike_ahead != RECORD_NONE) || (bs && x->strike_bs != RECORD_NONE)) {
        say_struck_twice(r, s, ahead && x->strike_ahead != RECORD_NONE ? x->strike_ahead : x->strike_bs, d);
        return 0;
    }
    if (ahead)
        x->strike_ahead = number;
    if (bs)
        x->strike_bs = number;
    row->flags |= (uint8_t)((ahead ? RECORD_STRUCK_AHEAD : 0) | (bs ? RECORD_STRUCK_BS : 0));
    return 0;
}

static int
apply_strike(struct record *r, uint32_t number, struct diag *d)
{
    const struct record_strike *s = &r->strike[number];
    const struct record_entry *target = s->target_entry <= s->entry ? &r->entry[s->target_entry - 1] : NULL;
    if (is_faulty(target))
        return 0;
    if (!target || (target->kind != RECORD_LEVELS && target->kind != RECORD_SECTIONS && target->kind != RECORD_TAPE)) {
        diag_say(d, DIAG_ERROR, s->place, "strike", target && target->torn
            ? "entry %" PRIu32 " is torn and never used; there is nothing to strike"
            : !target ? "entry %" PRIu32 " is no levels, sections or tape above this strike"
                      : "entry %" PRIu32 " has no rows that are struck, as levels, sections and tape have; say it anew in a later entry, "
                        "which takes its place",
            s->target_entry);
        return 0;
    }
    if (s->target_row > target->rows) {
        diag_say(d, DIAG_ERROR, s->place, "strike", "entry %" PRIu32 " has %" PRIu32 " rows; there is no row %" PRIu32,
            s->target_entry, target->rows, s->target_row);
        return 0;
    }
    uint32_t index = target->first + s->target_row - 1;
    if (target->kind == RECORD_LEVELS)
        return strike_row(r, number, &r->row[index], d);
    bool tape = target->kind == RECORD_TAPE;
    uint32_t *strike = tape ? &r->taped[index].strike : &r->section[index].strike;
    if (s->sight != RECORD_WHOLE_ROW)
        diag_say(d, DIAG_ERROR, s->place, "strike", "a %s is struck whole; leave sight out", tape ? "taped length" : "section");
    else if (*strike != RECORD_NONE)
        say_struck_twice(r, s, *strike, d);
    else
        *strike = number;
    return 0;
}

/* ---- replacements ---- */

/* The struck row that a row stands for, or NULL: said. */
static struct record_row *
struck_target(struct record *r, const struct record_row *row, struct diag *d)
{
    const struct record_extra *x = record_extra(r, row);
    uint32_t entry = record_row_entry(r, (uint32_t)(row - r->row));
    const struct record_entry *own = &r->entry[entry];
    const struct record_entry *target = x->for_entry > 0 && x->for_entry <= entry + 1 ? &r->entry[x->for_entry - 1] : NULL;
    if (is_faulty(target))
        return NULL;
    if (!target || target->kind != RECORD_LEVELS || target->head != own->head || x->for_row > target->rows
        || &r->row[target->first + x->for_row - 1] >= row) {
        diag_say(d, DIAG_ERROR, x->for_place, "for",
            "row %" PRIu32 " of entry %" PRIu32 " is no earlier row of this run; name the row that was struck",
            x->for_row, x->for_entry);
        return NULL;
    }
    struct record_row *struck = &r->row[target->first + x->for_row - 1];
    bool ahead = (struck->flags & RECORD_STRUCK_AHEAD) != 0, bs = (struck->flags & RECORD_STRUCK_BS) != 0;
    if (!ahead && !bs) {
        diag_say(d, DIAG_ERROR, x->for_place, "for",
            "row %" PRIu32 " of entry %" PRIu32 " is not struck; strike it first, with a reason", x->for_row,
            x->for_entry);
        return NULL;
    }
    bool gives_ahead = (row->flags & (RECORD_HAS_IS | RECORD_HAS_FS)) != 0, gives_bs = (row->flags & RECORD_HAS_BS) != 0;
    if ((gives_ahead && !ahead) || (gives_bs && !bs)) {
        diag_say(d, DIAG_ERROR, x->for_place, "for",
            "the %s of row %" PRIu32 " of entry %" PRIu32 " is not struck; leave it out here, or strike it as well",
            gives_ahead && !ahead ? "sight ahead" : "bs", x->for_row, x->for_entry);
        return NULL;
    }
    return struck;
}

/* Lists of rows, doubly linked while replacements are put in their places. */
struct lists {
    struct record *r;
    uint32_t *previous; /* [rows] */
    uint32_t *target;   /* [rows] the struck row that each stands for, or RECORD_NONE */
    uint32_t *tail;     /* [rows] the last row of what stands for each, itself at first... */
    uint32_t *ahead;    /* [rows] ...and the last of those that have no backsight */
    struct diag *d;
};

static void
link_after(struct lists *l, struct record_run *run, uint32_t at, uint32_t row)
{
    uint32_t *after = l->r->next;
    uint32_t next = at == RECORD_NONE ? run->first_row : after[at];
    after[row] = next;
    l->previous[row] = at;
    if (at == RECORD_NONE)
        run->first_row = row;
    else
        after[at] = row;
    if (next == RECORD_NONE)
        run->last_row = row;
    else
        l->previous[next] = row;
}

static bool
bs_stands(const struct record_row *row)
{
    return (row->flags & RECORD_HAS_BS) && !(row->flags & RECORD_STRUCK_BS);
}

/*
 * Before a row whose backsight still stands; a sight ahead alone behind the
 * other such sights that stand for the row booked first; anything with a
 * backsight behind all that stands for it.
 */
static uint32_t
place_for(const struct lists *l, uint32_t target, uint32_t base, const struct record_row *row)
{
    if (bs_stands(&l->r->row[target]))
        return l->previous[target];
    if (row->flags & RECORD_HAS_BS)
        return l->tail[base];
    return bs_stands(&l->r->row[base]) ? l->previous[base] : l->ahead[base];
}

static void
link_replacement(struct lists *l, struct record_run *run, uint32_t target, uint32_t i)
{
    const struct record_row *row = &l->r->row[i];
    struct record_extra *x = &l->r->extra[row->more & ~RECORD_EXTRA];
    uint32_t base = record_extra(l->r, &l->r->row[target])->base;
    x->base = base = base == RECORD_NONE ? target : base;
    if (l->r->row[i].at == l->r->row[base].at && l->r->row[i].on == l->r->row[base].on)
        l->r->row[i].flags |= l->r->row[base].flags & RECORD_MOVED; /* read again, the mark is moved all the same */
    uint32_t at = place_for(l, target, base, row);
    link_after(l, run, at, i);
    if (at == l->tail[base])
        l->tail[base] = i;
    if (at == l->ahead[base] && !(row->flags & RECORD_HAS_BS))
        l->ahead[base] = i;
}

static void
link_rows(struct lists *l)
{
    struct record *r = l->r;
    for (size_t i = 0; i < r->runs; i++)
        if (!r->run[i].sections)
            r->run[i].first_row = r->run[i].last_row = RECORD_NONE;
    for (uint32_t i = 0; i < r->rows; i++) {
        struct record_row *row = &r->row[i];
        const struct record_entry *entry = &r->entry[record_row_entry(r, i)];
        const struct record_extra *x = record_extra(r, row);
        l->target[i] = RECORD_NONE;
        l->tail[i] = l->ahead[i] = i;
        if (entry->head == RECORD_NONE || entry->kind != RECORD_LEVELS)
            continue;
        struct record_run *run = &r->run[entry->head];
        const struct record_row *struck = x->for_row > 0 && x->for_entry > 0 ? struck_target(r, row, l->d) : NULL;
        if (struck) {
            l->target[i] = (uint32_t)(struck - r->row);
            link_replacement(l, run, l->target[i], i);
        } else {
            link_after(l, run, run->last_row, i);
        }
    }
}

/* Sights that a row gives in the end: its own, and those that later rows give in their stead; and RECORD_HAS_IS
 * where the sight ahead is an intermediate one. */
static uint8_t
gives(const struct record *r, const struct record_row *row)
{
    uint8_t replaced = record_extra(r, row)->replaced, bits = 0;
    if ((row->flags & (RECORD_HAS_IS | RECORD_HAS_FS)) && !(row->flags & RECORD_STRUCK_AHEAD))
        bits |= (uint8_t)(RECORD_STRUCK_AHEAD | (row->flags & RECORD_HAS_IS));
    else if (replaced & RECORD_STRUCK_AHEAD)
        bits |= (uint8_t)(RECORD_STRUCK_AHEAD | (replaced & RECORD_HAS_IS));
    if ((row->flags & RECORD_HAS_BS) && (!(row->flags & RECORD_STRUCK_BS) || (replaced & RECORD_STRUCK_BS)))
        bits |= RECORD_STRUCK_BS;
    return bits;
}

/* From the last replacement back, so that a replacement of a replacement counts for the row booked first. */
static void
mark_replaced(struct lists *l)
{
    struct record *r = l->r;
    for (uint32_t i = (uint32_t)r->rows; i-- > 0;)
        if (l->target[i] != RECORD_NONE)
            r->extra[r->row[l->target[i]].more & ~RECORD_EXTRA].replaced |= gives(r, &r->row[i]);
}

/* Two rows that stand for the same sight: the later is one too many. */
static void
refuse_second(struct lists *l)
{
    struct record *r = l->r;
    uint32_t *taken = l->previous; /* the lists are linked: it is free */
    for (uint32_t i = 0; i < r->rows; i++)
        taken[i] = 0;
    for (uint32_t i = 0; i < r->rows; i++) {
        uint32_t target = l->target[i];
        if (target == RECORD_NONE)
            continue;
        uint8_t bits = gives(r, &r->row[i]);
        const struct record_extra *x = record_extra(r, &r->row[i]);
        if (taken[target] & bits)
            diag_say(l->d, DIAG_ERROR, x->for_place, "for",
                "row %" PRIu32 " of entry %" PRIu32 " has a replacement already; strike that one first", x->for_row,
                x->for_entry);
        taken[target] |= bits;
    }
}

/* The row booked first that comes next, struck or not; NULL behind the last. */
static const struct record_row *
next_base(const struct lists *l, uint32_t i)
{
    do
        i = l->r->next[i];
    while (i != RECORD_NONE && l->target[i] != RECORD_NONE);
    return i == RECORD_NONE ? NULL : &l->r->row[i];
}

/*
 * Where a struck backsight or foresight has nothing in its place, the run is
 * broken. An intermediate sight in the place of a struck foresight says that
 * the set-up went on: then the turning point's struck backsight, in the same
 * row or the next one, is not missed. Nor is a foresight where the next row
 * reads on from the same set-up. `went_on`: so it was with the row before.
 */
static bool
mark_break(struct lists *l, uint32_t i, bool went_on)
{
    struct record *r = l->r;
    struct record_row *row = &r->row[i];
    const struct record_row *after = next_base(l, i);
    uint8_t has = gives(r, row);
    bool fs = (row->flags & RECORD_HAS_FS) != 0, bs = (row->flags & RECORD_HAS_BS) != 0;
    bool unturned = fs && (has & RECORD_HAS_IS), reads_on = !bs && after && (after->flags & (RECORD_HAS_IS | RECORD_HAS_FS));
    struct record_extra *x = &r->extra[row->more & ~RECORD_EXTRA];
    x->missed = (uint8_t)((fs && !(has & RECORD_STRUCK_AHEAD) && !reads_on ? RECORD_STRUCK_AHEAD : 0)
        | (bs && !(has & RECORD_STRUCK_BS) && !unturned && (fs || !went_on) ? RECORD_STRUCK_BS : 0));
    if (x->missed & RECORD_STRUCK_AHEAD)
        row->flags |= RECORD_BREAK_AHEAD;
    if (x->missed & RECORD_STRUCK_BS) /* behind a foresight booked anew */
        r->row[has & RECORD_STRUCK_AHEAD ? l->tail[i] : i].flags |= RECORD_BREAK_BS;
    return unturned;
}

/* Behind the last foresight that stands nothing is broken: the run ends there. */
static void
end_at_foresight(struct record *r, const struct record_run *run)
{
    uint32_t last = RECORD_NONE;
    for (uint32_t i = run->first_row; i != RECORD_NONE; i = r->next[i])
        if (bs_stands(&r->row[i]) || ((r->row[i].flags & (RECORD_HAS_IS | RECORD_HAS_FS)) && !(r->row[i].flags & RECORD_STRUCK_AHEAD)))
            last = i;
    if (last == RECORD_NONE || bs_stands(&r->row[last]) || !(r->row[last].flags & RECORD_HAS_FS))
        return;
    for (uint32_t i = last; i != RECORD_NONE; i = r->next[i])
        r->row[i].flags &= (uint8_t)~(RECORD_BREAK_AHEAD | RECORD_BREAK_BS);
}

static void
mark_breaks(struct lists *l)
{
    struct record *r = l->r;
    for (size_t k = 0; k < r->runs; k++) {
        bool went_on = false;
        if (r->run[k].sections)
            continue;
        for (uint32_t i = r->run[k].first_row; i != RECORD_NONE; i = r->next[i])
            if (l->target[i] == RECORD_NONE)
                went_on = (r->row[i].flags & (RECORD_STRUCK_AHEAD | RECORD_STRUCK_BS)) && mark_break(l, i, went_on);
        end_at_foresight(r, &r->run[k]);
    }
}

static int
apply_replacements(struct record *r, struct diag *d)
{
    struct lists l = { r, room_new(r->rows, sizeof *l.previous), room_new(r->rows, sizeof *l.target),
        room_new(r->rows, sizeof *l.tail), room_new(r->rows, sizeof *l.ahead), d };
    r->next = room_new(r->rows, sizeof *r->next);
    bool room = l.previous && l.target && l.tail && l.ahead && r->next;
    if (room) {
        link_rows(&l);
        mark_replaced(&l);
        refuse_second(&l);
        mark_breaks(&l);
    }
    free(l.previous);
    free(l.target);
    free(l.tail);
    free(l.ahead);
    return room ? 0 : -1;
}

int
resolve_rows(struct record *r, struct diag *d)
{
    join_continuations(r, d);
    join_tapes(r, d);
    for (uint32_t i = 0; i < r->strikes; i++)
        if (apply_strike(r, i, d) != 0)
            return -1;
    if (r->continuations == 0 && r->extras == 0)
        return 0; /* rows stand in order already */
    return apply_replacements(r, d);
}
