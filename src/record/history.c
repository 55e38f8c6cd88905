#include "rodbook/history.h"

#include "rodbook/room.h"

#include <stdlib.h>

/* ---- names ---- */

static size_t
count_of(const struct record *r, enum history_kind kind)
{
    return kind == HISTORY_MARK ? r->marks : kind == HISTORY_POINT ? r->points : r->grades;
}

static uint32_t
name_of(const struct record *r, enum history_kind kind, size_t i)
{
    return kind == HISTORY_MARK ? r->mark[i].name : kind == HISTORY_POINT ? r->point[i].name : r->grade[i].name;
}

uint32_t
history_entry(const struct record *r, enum history_kind kind, uint32_t value)
{
    return kind == HISTORY_MARK ? r->mark[value].entry : kind == HISTORY_POINT ? r->point[value].entry : r->grade[value].entry;
}

/* By name, while one kind is gathered. */
struct tally {
    uint32_t count; /* values given */
    uint32_t place; /* index into history.name, once it has come up */
};

static void
gather_kind(struct history *h, const struct record *r, enum history_kind kind, struct tally *tally)
{
    size_t n = count_of(r, kind);
    for (uint32_t i = 0; i < r->names.n; i++)
        tally[i] = (struct tally){ 0, RECORD_NONE };
    for (size_t i = 0; i < n; i++)
        tally[name_of(r, kind, i)].count++;
    for (size_t i = 0; i < n; i++) {
        struct tally *t = &tally[name_of(r, kind, i)];
        bool derived = kind == HISTORY_POINT && r->point[i].derived;
        h->derived += t->count == 1 && derived;
        h->once[kind] += t->count == 1 && !derived;
        if (t->count < 2)
            continue;
        if (t->place == RECORD_NONE) {
            t->place = (uint32_t)h->names;
            h->name[h->names++] = (struct history_name){ kind, name_of(r, kind, i), (uint32_t)h->values, 0 };
            h->values += t->count;
        }
        struct history_name *name = &h->name[t->place];
        h->value[name->first + name->count++] = (uint32_t)i;
    }
}

/* ---- whole entries ---- */

enum { WHOLE_KINDS = 4 };
static const enum record_kind whole_kinds[WHOLE_KINDS] = { RECORD_SITE, RECORD_HOLES, RECORD_CONCRETE, RECORD_PAD };

/* What was added behind `first`, if it is more than one. */
static void
keep_whole(struct history *h, enum record_kind kind, uint32_t row, size_t first)
{
    size_t count = h->entries - first;
    if (count > 1)
        h->whole[h->wholes++] = (struct history_whole){ kind, row, (uint32_t)first, (uint32_t)count };
    else
        h->entries = first;
}

static void
gather_whole(struct history *h, const struct record *r, enum record_kind kind)
{
    size_t first = h->entries;
    for (uint32_t i = 0; i < r->entries; i++)
        if (r->entry[i].kind == kind)
            h->entry[h->entries++] = i;
    keep_whole(h, kind, RECORD_NONE, first);
}

/* The sets of each row; `next` [sets] leads from one to the next of its row, and a tally's place is where a row begins. */
static void
gather_sets(struct history *h, const struct record *r, struct tally *tally, uint32_t *next)
{
    for (uint32_t i = 0; i < r->names.n; i++)
        tally[i] = (struct tally){ 0, RECORD_NONE };
    for (size_t i = r->sets; i-- > 0;) {
        next[i] = tally[r->set[i].row].place;
        tally[r->set[i].row].place = (uint32_t)i;
    }
    for (uint32_t i = 0; i < r->sets; i++) {
        size_t first = h->entries;
        if (tally[r->set[i].row].place != i)
            continue;
        for (uint32_t k = i; k != RECORD_NONE; k = next[k])
            h->entry[h->entries++] = r->set[k].entry;
        keep_whole(h, RECORD_SET_POSTS, r->set[i].row, first);
    }
}

/* ---- strikes ---- */

/* A row that stands for another. */
struct pair {
    uint32_t target, row;
};

static int
by_target(const void *a, const void *b)
{
    const struct pair *x = a, *y = b;
    if (x->target != y->target)
        return x->target < y->target ? -1 : 1;
    return x->row < y->row ? -1 : x->row > y->row;
}

/* The row of an entry of levels, as index; RECORD_NONE where there is none. */
static uint32_t
row_of(const struct record *r, uint32_t entry, uint32_t row)
{
    bool there = entry > 0 && entry <= r->entries && r->entry[entry - 1].kind == RECORD_LEVELS && row > 0
        && row <= r->entry[entry - 1].rows;
    return there ? r->entry[entry - 1].first + row - 1 : RECORD_NONE;
}

/* Every row that stands for another, by the row that it stands for. */
static size_t
find_pairs(const struct record *r, struct pair *pair)
{
    size_t n = 0;
    for (uint32_t i = 0; i < r->rows; i++) {
        const struct record_extra *x = record_extra(r, &r->row[i]);
        uint32_t target = x->for_row > 0 ? row_of(r, x->for_entry, x->for_row) : RECORD_NONE;
        if (target != RECORD_NONE)
            pair[n++] = (struct pair){ target, i };
    }
    qsort(pair, n, sizeof *pair, by_target);
    return n;
}

/* Rows that give a sight which was struck. */
static void
take_insteads(struct history *h, const struct record *r, struct history_strike *s, const struct pair *pair, size_t n)
{
    size_t low = 0, high = n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (pair[middle].target < s->row)
            low = middle + 1;
        else
            high = middle;
    }
    s->first = (uint32_t)h->insteads;
    for (; low < n && pair[low].target == s->row; low++) {
        uint8_t flags = r->row[pair[low].row].flags;
        if ((s->bs && (flags & RECORD_HAS_BS)) || (s->ahead && (flags & (RECORD_HAS_IS | RECORD_HAS_FS))))
            h->instead[h->insteads++] = pair[low].row;
    }
    s->count = (uint32_t)h->insteads - s->first;
}

static void
gather_strike(struct history *h, const struct record *r, uint32_t i, const struct pair *pair, size_t n)
{
    const struct record_strike *from = &r->strike[i];
    struct history_strike *s = &h->strike[h->strikes];
    uint32_t row = row_of(r, from->target_entry, from->target_row);
    *s = (struct history_strike){ .strike = i, .row = row, .section = RECORD_NONE, .taped = RECORD_NONE, .first = (uint32_t)h->insteads };
    if (row != RECORD_NONE) {
        const struct record_extra *x = record_extra(r, &r->row[row]);
        s->bs = x->strike_bs == i;
        s->ahead = x->strike_ahead == i;
        take_insteads(h, r, s, pair, n);
    } else {
        const struct record_entry *target = &r->entry[from->target_entry - 1];
        *(target->kind == RECORD_TAPE ? &s->taped : &s->section) = target->first + from->target_row - 1;
    }
    h->strikes++;
}

int
history_gather(struct history *h, const struct record *r)
{
    size_t given = r->marks + r->points + r->grades;
    struct tally *tally = room_new(r->names.n, sizeof *tally);
    uint32_t *next = room_new(r->sets, sizeof *next);
    struct pair *pair = room_new(r->rows, sizeof *pair);
    *h = (struct history){ .name = room_new(given, sizeof *h->name), .value = room_new(given, sizeof *h->value),
        .whole = room_new(WHOLE_KINDS + r->sets, sizeof *h->whole), .entry = room_new(r->entries, sizeof *h->entry),
        .strike = room_new(r->strikes, sizeof *h->strike), .instead = room_new(2 * r->rows, sizeof *h->instead) };
    bool room = tally && next && pair && h->name && h->value && h->whole && h->entry && h->strike && h->instead;
    if (room) {
        for (enum history_kind kind = HISTORY_MARK; kind < HISTORY_KINDS; kind++)
            gather_kind(h, r, kind, tally);
        for (size_t i = 0; i < WHOLE_KINDS; i++)
            gather_whole(h, r, whole_kinds[i]);
        gather_sets(h, r, tally, next);
        size_t pairs = find_pairs(r, pair);
        for (uint32_t i = 0; i < r->strikes; i++)
            gather_strike(h, r, i, pair, pairs);
    }
    free(tally);
    free(next);
    free(pair);
    return room ? 0 : -1;
}

void
history_release(struct history *h)
{
    free(h->name);
    free(h->value);
    free(h->whole);
    free(h->entry);
    free(h->strike);
    free(h->instead);
    *h = (struct history){ 0 };
}
