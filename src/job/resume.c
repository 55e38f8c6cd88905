/* resume.c - the line that is being booked, gone through as it was booked */
#include "parts.h"

#include "rodbook/room.h"

#include <stdlib.h>
#include <string.h>

/* ---- the job as it stood ---- */

static uint8_t
known_of(const struct level_spot *l)
{
    if (l->state == LEVEL_UNKNOWN)
        return BOOKING_UNKNOWN;
    if (l->state == LEVEL_MARK)
        return BOOKING_MARK;
    bool good = l->quality <= LEVEL_FORCED && (l->state == LEVEL_HELD || l->state == LEVEL_SIDE);
    return good ? BOOKING_HELD : BOOKING_READ;
}

/* The spot of a job, as a booking knows it. A position that was begun by a struck row has not been read yet. */
static struct booking_spot
spot_of(const struct job *job, uint32_t i)
{
    const struct job_spot *s = &job->spot[i];
    if (s->row == JOB_NONE && s->before != JOB_NONE)
        return (struct booking_spot){ .touched = true };
    uint8_t state = known_of(&job->level_spot[i]);
    return (struct booking_spot){ .state = state, .value = job->level_spot[i].value, .touched = state == BOOKING_UNKNOWN };
}

/* Every spot of the link's legs is known. */
static void
know_link(const struct job *job, const struct level_link *link, uint8_t *known)
{
    for (uint32_t i = link->first; i < link->first + link->count; i++) {
        const struct level_leg *leg = &job->leg[job->work.order[i]];
        for (uint32_t k = 0; k < leg->count; k++)
            known[job->sight[leg->first + k].spot] = 1;
        if (leg->to != LEVEL_NONE)
            known[leg->to] = 1;
    }
}

/*
 * Whether some line could close only after one that was booked later, or an
 * inner loop did: then a line more may change where others are cut. Else each
 * begins and ends on what was known when it was booked.
 */
static bool
is_woven(const struct job *job, const struct record *r)
{
    bool woven = false;
    uint8_t *known = room_new(job->spots, 1);
    for (size_t g = 0; g < r->grades; g++)
        woven |= r->grade[g].through > 0; /* its elevation is that of points */
    for (size_t i = 0; known && i < job->spots; i++)
        known[i] = job->level_spot[i].state == LEVEL_MARK;
    for (size_t i = 0; known && !woven && i < job->work.links; i++) {
        const struct level_link *link = &job->work.link[i];
        if (link->kind == LEVEL_SPUR || link->quality > LEVEL_FORCED)
            continue;
        woven = !known[link->from] || !known[link->to] || (link->from == link->to && job->level_spot[link->from].state != LEVEL_MARK);
        know_link(job, link, known);
    }
    woven |= !known;
    free(known);
    return woven;
}

/* Elevations as the job has them: of the last position of each point. */
static int
take_job(struct booking *b, const struct job *job)
{
    b->job = job;
    b->closed = false;
    b->woven = !job->level_spot || is_woven(job, b->r);
    if (b->spot)
        memset(b->spot, 0, b->spot_room * sizeof *b->spot);
    for (uint32_t i = 0; job->level_spot && i < job->spots; i++) { /* in the order of their positions */
        struct booking_spot *spot = booking_spot_of(b, job->spot[i].at, job->spot[i].on);
        if (!spot)
            return -1;
        *spot = spot_of(job, i);
    }
    for (size_t i = 0; !job->level_spot && i < b->r->marks; i++) { /* the job could not be worked out */
        struct booking_spot *spot = booking_spot_of(b, b->r->mark[i].name, RECORD_ON_MARK);
        if (!spot)
            return -1;
        *spot = (struct booking_spot){ .state = BOOKING_MARK, .value = b->r->mark[i].elevation };
    }
    return 0;
}

/* Work out the first `runs` runs alone, the last of them up to row `last`; RECORD_NONE: all of it. */
static int
work_part(struct booking *b, size_t runs, uint32_t last)
{
    static const struct job_options options = { .stakes = true, .grade_optional = true };
    struct record *r = b->r;
    struct record_run *run = last != RECORD_NONE ? &r->run[runs - 1] : NULL, whole = run ? *run : (struct record_run){ 0 };
    size_t all = r->runs;
    uint32_t next = run && r->next ? r->next[last] : RECORD_NONE;
    struct diag d = { 0 }; /* said already, of the whole */
    job_release(&b->base);
    r->runs = runs;
    if (run)
        run->last_row = last;
    if (run && r->next)
        r->next[last] = RECORD_NONE;
    int rc = job_work(&b->base, r, &options, &d);
    if (run && r->next)
        r->next[last] = next;
    if (run)
        *run = whole;
    r->runs = all;
    if (rc == 0 && b->base.level_spot && !b->base.grade) /* some run hangs on nothing yet: that is no matter of the grades */
        rc = job_stake_out(&b->base, &options, NULL, &d);
    diag_release(&d);
    return rc == 0 ? take_job(b, &b->base) : -1;
}

static int
take_whole(struct booking *b)
{
    bool graded = b->whole->grade || b->r->grades == 0;
    return b->whole->level_spot && !graded ? work_part(b, b->r->runs, RECORD_NONE) : take_job(b, b->whole);
}

int
booking_take_whole(struct booking *b)
{
    b->forgotten = true;
    return take_whole(b);
}

/* ---- rows ---- */

/* A row of the record as sights; how many. */
static size_t
sights_of(const struct job *job, const struct record_row *row, struct booking_sight s[2])
{
    struct record_dist dist = job_dist_of(job, row);
    size_t n = 0;
    bool moved = (row->flags & RECORD_MOVED) != 0, turns = row_ahead_live(row);
    if (turns)
        s[n++] = (struct booking_sight){ row->at, (enum record_on)row->on, row->flags & RECORD_HAS_IS ? LEVEL_IS : LEVEL_FS,
            row->ahead, dist.ahead, moved };
    if (row_bs_live(row))
        s[n++] = (struct booking_sight){ row->at, (enum record_on)row->on, LEVEL_BS, row->bs, dist.bs, moved && !turns };
    return n;
}

/* The run is broken before a sight: nothing is carried over the break. */
static void
break_run(struct booking_state *st, enum level_kind next)
{
    st->turned = st->ended = false;
    st->open = next != LEVEL_BS;
    st->sums = (struct level_check){ 0 };
    if (!st->open)
        return;
    st->known = false;
    st->hi = st->raw_hi = 0;
    st->bs_dist = -1;
    st->setup++;
    st->line.id++;
    st->line.held = false;
    st->line.setups = 0;
    st->line.from_moved = true; /* it has no start to come back to */
    memset(st->near, 0, sizeof st->near);
}

/* 1 where the sight closed a line; -1 without memory. */
static int
replay_sight(struct booking *b, const struct booking_sight *s)
{
    struct booking_state *st = &b->now;
    struct booking_closure closure = { 0 };
    struct booking_spot *spot = booking_spot_of(b, s->at, s->on), becomes;
    if (!spot)
        return -1;
    if (s->kind == LEVEL_BS)
        booking_step_bs(st, s, spot, &becomes);
    else
        booking_step_ahead(b, st, s, spot, &becomes, &closure);
    *spot = becomes;
    spot->touched = true;
    b->woven |= closure.inner;
    if (s->kind == LEVEL_FS && !closure.closes && booking_turn_on(b, st, s->at * RECORD_ON_COUNT + (uint32_t)s->on) != 0)
        return -1;
    return closure.closes && !closure.inner;
}

/* What a strike of the row would have to name. */
static enum record_sight
standing_sight(const struct record_row *row)
{
    if (row->flags & RECORD_STRUCK_AHEAD)
        return RECORD_SIGHT_BS;
    return row->flags & RECORD_STRUCK_BS ? RECORD_SIGHT_FS : RECORD_WHOLE_ROW;
}

/* Struck, a row that said moved has moved its point all the same. */
static int
struck_row(struct booking *b, const struct record_row *row)
{
    struct booking_spot *spot = booking_spot_of(b, row->at, row->on);
    if (spot && (row->flags & RECORD_MOVED))
        *spot = (struct booking_spot){ 0 };
    return spot ? 0 : -1;
}

/* 1 where the row closed a line; -1 without memory. */
static int
replay_row(struct booking *b, uint32_t index, bool *broken)
{
    const struct record_row *row = &b->r->row[index];
    struct booking_sight s[2];
    size_t n = sights_of(b->job, row, s);
    if (n == 0)
        return struck_row(b, row);
    struct booking_past *past = booking_new_past(b);
    if (!past)
        return -1;
    *past = (struct booking_past){ record_row_entry(b->r, index) + 1, record_row_number(b->r, index), standing_sight(row) };
    int closed = 0;
    for (size_t i = 0; i < n; i++) {
        bool breaks = *broken || (s[i].kind == LEVEL_BS && (row->flags & RECORD_BREAK_AHEAD));
        if (breaks)
            break_run(&b->now, s[i].kind);
        *broken = false;
        int rc = replay_sight(b, &s[i]);
        if (rc < 0)
            return -1;
        closed |= rc;
    }
    return closed;
}

/* ---- what waits ---- */

static uint32_t
next_row(const struct record *r, size_t run, uint32_t i)
{
    return i == RECORD_NONE ? r->run[run].first_row : record_row_next(r, &r->run[run], i);
}

static int
add_wait(struct booking *b, uint32_t base, bool bs)
{
    struct booking_wait *grown = room_for(b->wait, &b->wait_room, b->waits, sizeof *grown);
    if (!grown)
        return -1;
    b->wait = grown;
    grown[b->waits++] = (struct booking_wait){ record_row_entry(b->r, base) + 1, record_row_number(b->r, base), bs };
    return 0;
}

static int
wait_for(struct booking *b, uint32_t i)
{
    uint8_t missed = record_extra(b->r, &b->r->row[i])->missed;
    if ((missed & RECORD_STRUCK_AHEAD) && add_wait(b, i, false) != 0)
        return -1;
    return (missed & RECORD_STRUCK_BS) ? add_wait(b, i, true) : 0;
}

static bool
is_live(const struct record_row *row)
{
    return row_ahead_live(row) || row_bs_live(row);
}

/*
 * Sights that are struck at the run's end and have nothing in their places,
 * in the order in which they are wanted. Above a row that stands they are
 * mended with `for`; but a foresight in the place of the same row does not keep
 * the backsight from waiting.
 */
static int
find_waits(struct booking *b, size_t run)
{
    uint32_t first = RECORD_NONE; /* the row booked first whose waits are the last ones */
    size_t own = 0;
    b->waits = 0;
    for (uint32_t i = RECORD_NONE; (i = next_row(b->r, run, i)) != RECORD_NONE;) {
        const struct record_row *row = &b->r->row[i];
        uint32_t base = record_extra(b->r, row)->base;
        if (is_live(row)) {
            size_t keep = base == RECORD_NONE || base != first || row_bs_live(row) ? b->waits : own;
            if (b->waits > 0)
                memmove(b->wait, b->wait + keep, (b->waits - keep) * sizeof *b->wait);
            b->waits -= keep;
            own = 0;
        }
        if (base != RECORD_NONE)
            continue;
        first = i;
        own = b->waits;
        if (!row_bs_live(row) && wait_for(b, i) != 0)
            return -1;
    }
    return 0;
}

/* ---- runs ---- */

/* Whether anything stands behind a row, in its run or in the runs up to `last`. */
static bool
is_followed(const struct record *r, size_t run, uint32_t i, size_t last)
{
    for (; run <= last; run++, i = RECORD_NONE)
        while ((i = next_row(r, run, i)) != RECORD_NONE)
            if (is_live(&r->row[i]))
                return true;
    return false;
}

/* A line has closed behind the row: what follows it begins on adjusted elevations. */
static int
closed_behind(struct booking *b, size_t run, uint32_t i, size_t last)
{
    if (run + 1 == b->r->runs && !is_followed(b->r, run, i, last))
        return take_whole(b);
    return work_part(b, run + 1, i);
}

/* The last thing that was done was to strike the intermediate sight that this run ended with, and it was not booked
 * again. Behind another sight the instrument may stand elsewhere by now: then `for` says what is meant. */
static void
find_spare(struct booking *b, size_t run)
{
    const struct record *r = b->r;
    const struct record_strike *s = r->strikes > 0 ? &r->strike[r->strikes - 1] : NULL;
    const struct record_entry *e = s && s->entry + 1 == r->entries ? &r->entry[s->target_entry - 1] : NULL;
    if (!e || e->kind != RECORD_LEVELS || e->head != run || s->target_row > e->rows)
        return;
    uint32_t i = e->first + s->target_row - 1;
    const struct record_row *row = &r->row[i];
    if (!(row->flags & RECORD_HAS_IS) || !(row->flags & RECORD_STRUCK_AHEAD) || record_extra(r, row)->replaced
        || is_followed(r, run, i, run))
        return;
    b->spare = (struct booking_wait){ s->target_entry, s->target_row, false };
    b->spare_at = row->at;
    b->spare_on = (enum record_on)row->on;
}

static int
replay_run(struct booking *b, size_t run, size_t last)
{
    bool broken = false;
    booking_begin_run(&b->now);
    b->now.run_entry = b->run = b->r->run[run].entry + 1;
    b->pasts = 0;
    for (uint32_t i = RECORD_NONE; (i = next_row(b->r, run, i)) != RECORD_NONE;) {
        int rc = replay_row(b, i, &broken);
        if (rc < 0 || (rc > 0 && closed_behind(b, run, i, last) != 0))
            return -1;
        const struct record_row *row = &b->r->row[i];
        broken |= (row->flags & RECORD_BREAK_BS) || ((row->flags & RECORD_BREAK_AHEAD) && !row_bs_live(row));
    }
    find_spare(b, run);
    return find_waits(b, run);
}

/* The first row of a run that stands, or NULL. */
static const struct record_row *
opening_row(const struct record *r, size_t run)
{
    uint32_t i = r->run[run].first_row;
    while (i != RECORD_NONE && !is_live(&r->row[i]))
        i = next_row(r, run, i);
    return i != RECORD_NONE ? &r->row[i] : NULL;
}

/* The last row of a run that stands. */
static const struct record_row *
closing_row(const struct record *r, size_t run)
{
    const struct record_row *found = NULL;
    for (uint32_t i = RECORD_NONE; (i = next_row(r, run, i)) != RECORD_NONE;)
        if (is_live(&r->row[i]))
            found = &r->row[i];
    return found;
}

/* The run opens, or may yet open, on the point where the one before it stopped, and that was not known by then: its
 * line goes on. */
static bool
goes_on(struct booking *b, size_t run)
{
    const struct record *r = b->r;
    const struct record_row *to = opening_row(r, run), *from;
    if (run == 0 || r->run[run - 1].sections || !(from = closing_row(r, run - 1)))
        return false;
    if (!(from->flags & RECORD_HAS_FS) || !row_ahead_live(from) || row_bs_live(from)
        || (to && (row_ahead_live(to) || from->at != to->at || from->on != to->on)))
        return false;
    const struct booking_spot *spot = booking_spot_of(b, from->at, from->on);
    return spot && spot->state < BOOKING_HELD;
}

static int
replay(struct booking *b, size_t last)
{
    size_t first = last;
    if (work_part(b, first, RECORD_NONE) != 0)
        return -1;
    while (goes_on(b, first))
        if (work_part(b, --first, RECORD_NONE) != 0)
            return -1;
    for (size_t run = first; run <= last; run++)
        if (replay_run(b, run, last) != 0)
            return -1;
    return 0;
}

int
booking_open(struct booking *b, struct record *r, const struct job *job, uint32_t run)
{
    size_t last = r->runs;
    *b = (struct booking){ .r = r, .whole = job, .rules = job_rules(&r->job, false) };
    if (run == BOOKING_LAST && r->runs > 0)
        run = r->run[r->runs - 1].entry + 1;
    for (size_t i = 0; i < r->runs; i++)
        if (r->run[i].entry + 1 == run && !r->run[i].sections)
            last = i;
    return last == r->runs ? take_whole(b) : replay(b, last);
}
