/* resume.c - the rows of the last run, gone through as they were booked */
#include "parts.h"

/* A row of the record as sights; how many. */
static size_t
sights_of(const struct job *job, const struct record_row *row, struct booking_sight s[2])
{
    struct record_dist dist = job_dist_of(job, row);
    size_t n = 0;
    bool moved = (row->flags & RECORD_MOVED) != 0;
    if (row_ahead_live(row))
        s[n++] = (struct booking_sight){ row->at, (enum record_on)row->on, row->flags & RECORD_HAS_IS ? LEVEL_IS : LEVEL_FS,
            row->ahead, dist.ahead, moved };
    if (row_bs_live(row))
        s[n++] = (struct booking_sight){ row->at, (enum record_on)row->on, LEVEL_BS, row->bs, dist.bs, false };
    return n;
}

/* The run is broken before a sight: nothing is carried over the break. */
static void
break_run(struct booking_state *st, enum level_kind next)
{
    st->turned = false;
    st->open = next != LEVEL_BS;
    if (!st->open)
        return;
    st->known = false;
    st->hi = st->raw_hi = 0;
    st->bs_dist = -1;
    st->line.id++;
    st->line.held = false;
}

static int
replay_sight(struct booking *b, const struct booking_sight *s, struct booking_past *past)
{
    struct booking_state *st = &b->now;
    struct booking_closure closure = { 0 };
    struct booking_spot *spot = booking_spot_of(b, s->at, s->on), becomes;
    if (!spot)
        return -1;
    if (s->kind == LEVEL_BS) {
        booking_step_bs(st, s, spot);
        return 0;
    }
    booking_step_ahead(st, s, spot, &becomes, &closure);
    past->spot = s->at * RECORD_ON_COUNT + (uint32_t)s->on;
    past->was = *spot;
    *spot = becomes;
    return 0;
}

/* What a strike of the row would have to name. */
static enum record_sight
standing_sight(const struct record_row *row)
{
    if (row->flags & RECORD_STRUCK_AHEAD)
        return RECORD_SIGHT_BS;
    return row->flags & RECORD_STRUCK_BS ? RECORD_SIGHT_FS : RECORD_WHOLE_ROW;
}

static int
replay_row(struct booking *b, uint32_t index, bool *broken)
{
    const struct record_row *row = &b->r->row[index];
    struct booking_sight s[2];
    size_t n = sights_of(b->job, row, s);
    const struct booking_state before = b->now;
    struct booking_past *past = n > 0 ? booking_new_past(b) : NULL;
    if (n == 0)
        return 0;
    if (!past)
        return -1;
    if (*broken)
        break_run(&b->now, s[0].kind);
    *broken = false;
    b->now.pendings = 0;
    *past = (struct booking_past){ .before = before, .entry = record_row_entry(b->r, index) + 1,
        .row = record_row_number(b->r, index), .fs = row_ahead_live(row) && (row->flags & RECORD_HAS_FS), .bs = row_bs_live(row),
        .sight = standing_sight(row), .replaces = record_extra(b->r, row)->base != RECORD_NONE, .spot = JOB_NONE };
    for (size_t i = 0; i < n; i++)
        if (replay_sight(b, &s[i], past) != 0)
            return -1;
    return 0;
}

/* The row for which a row stands, or itself. */
static uint32_t
base_of(const struct record *r, uint32_t index)
{
    uint32_t base = record_extra(r, &r->row[index])->base;
    return base == RECORD_NONE ? index : base;
}

/* Sights that are struck at the run's end and have nothing in their places. */
static void
wait_for(struct booking *b, uint32_t index)
{
    const struct record_row *row = &b->r->row[index];
    bool ahead = (row->flags & RECORD_BREAK_AHEAD) != 0, bs = (row->flags & RECORD_BREAK_BS) != 0;
    uint32_t base = base_of(b->r, index);
    if (ahead || bs)
        booking_wait(&b->now, record_row_entry(b->r, base) + 1, record_row_number(b->r, base), ahead, bs, (uint32_t)b->pasts);
}

/* The run goes on where the one before it stopped: its line began there. */
static void
continue_line(struct booking *b)
{
    const struct job *job = b->job;
    size_t run = b->r->runs - 1;
    const struct level_leg *leg = job->level_spot && job->run_leg[run] < job->run_leg[run + 1] ? &job->leg[job->run_leg[run]] : NULL;
    if (!leg || !leg->known || leg->link == LEVEL_NONE)
        return;
    const struct level_link *link = &job->work.link[leg->link];
    const uint32_t *order = &job->work.order[link->first];
    if (link->from == LEVEL_NONE || &job->leg[order[0]] == leg)
        return;
    b->now.line.held = booking_known_of(&job->level_spot[link->from]) >= BOOKING_HELD;
    b->now.line.from_at = job->spot[link->from].at;
    b->now.line.from_on = (enum record_on)job->spot[link->from].on;
    for (uint32_t i = 0; i < link->count && &job->leg[order[i]] != leg; i++) {
        length dist = job->leg[order[i]].dist;
        b->now.line.setups += job->leg[order[i]].setups;
        b->now.line.dist = b->now.line.dist < 0 || dist < 0 ? -1 : b->now.line.dist + dist;
    }
}

int
booking_replay(struct booking *b)
{
    const struct record *r = b->r;
    const struct record_run *run = r->runs > 0 ? &r->run[r->runs - 1] : NULL;
    bool broken = false;
    booking_begin_run(&b->now);
    if (!run || run->sections)
        return 0;
    b->now.run_entry = run->entry + 1;
    for (uint32_t i = run->first_row; i != RECORD_NONE; i = record_row_next(r, run, i)) {
        bool first = b->pasts == 0;
        if (replay_row(b, i, &broken) != 0)
            return -1;
        if (first && b->pasts > 0)
            continue_line(b);
        wait_for(b, i);
        broken |= (r->row[i].flags & (RECORD_BREAK_AHEAD | RECORD_BREAK_BS)) != 0;
    }
    return 0;
}
