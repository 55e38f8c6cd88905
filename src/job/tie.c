/* tie.c - a record's entries become arrays: spots, sights, legs */
#include "parts.h"

#include "rodbook/room.h"

#include <inttypes.h>
#include <string.h>

static uint32_t *
new_index(size_t n)
{
    uint32_t *index = room_new(n, sizeof *index);
    if (index)
        memset(index, 0xff, (n > 0 ? n : 1) * sizeof *index); /* JOB_NONE */
    return index;
}

static uint32_t
new_spot(struct job *job, uint32_t at, uint32_t on)
{
    struct job_spot *grown = room_for(job->spot, &job->spot_room, job->spots, sizeof *grown);
    if (!grown) {
        job->no_memory = true;
        return JOB_NONE;
    }
    job->spot = grown;
    uint32_t *last = &job->spot_of[(size_t)at * RECORD_ON_COUNT + on];
    grown[job->spots] = (struct job_spot){ .at = at, .on = (uint8_t)on, .before = *last,
        .position = *last == JOB_NONE ? 1 : grown[*last].position + 1, .point = job->point_of[at], .row = JOB_NONE };
    *last = (uint32_t)job->spots++;
    return *last;
}

uint32_t
job_spot_number(struct job *job, uint32_t at, uint32_t on)
{
    uint32_t have = job->spot_of[(size_t)at * RECORD_ON_COUNT + on];
    return have != JOB_NONE ? have : new_spot(job, at, on);
}

/* ---- sights ---- */

/* The backsight of a turning point that is booked in two rows: the foresight was the sight before it. */
static bool
turns(const struct job *job, uint32_t run, const struct record_row *row, uint32_t spot, bool broken)
{
    const struct level_sight *before = &job->sight[job->sights - 1];
    return job->sights > job->run_sight[run] && !broken && !row_ahead_live(row) && before->kind == LEVEL_FS
        && before->spot == spot;
}

static bool
is_fresh(const struct job *job, uint32_t spot)
{
    return spot != JOB_NONE && job->spot[spot].row == JOB_NONE && job->spot[spot].before != JOB_NONE;
}

/* A row that is moved begins a new position, unless a struck row has begun it already. */
static uint32_t
spot_of_row(struct job *job, uint32_t run, const struct record_row *row, bool broken)
{
    uint32_t have = job->spot_of[(size_t)row->at * RECORD_ON_COUNT + row->on];
    if (!(row->flags & RECORD_MOVED) || is_fresh(job, have) || turns(job, run, row, have, broken))
        return job_spot_number(job, row->at, row->on);
    return new_spot(job, row->at, row->on);
}

/* A mark that was moved was moved, though its reading is struck: what is read on it later is its new position. */
static void
struck_move(struct job *job, const struct record_row *row)
{
    uint32_t have = job->spot_of[(size_t)row->at * RECORD_ON_COUNT + row->on];
    if ((row->flags & RECORD_MOVED) && have != JOB_NONE && !is_fresh(job, have))
        (void)new_spot(job, row->at, row->on);
}

/* Positions that were begun and never read are none. */
static void
drop_fresh(struct job *job)
{
    for (size_t i = 0; i < job->spots; i++) {
        uint32_t *last = &job->spot_of[(size_t)job->spot[i].at * RECORD_ON_COUNT + job->spot[i].on];
        if (*last == i && is_fresh(job, (uint32_t)i))
            *last = job->spot[i].before;
    }
}

static void
add_sight(struct job *job, uint32_t row, uint32_t spot, enum level_kind kind, bool *broken)
{
    const struct record_row *from = &job->r->row[row];
    if (spot == JOB_NONE)
        return;
    job->sight[job->sights] = (struct level_sight){ kind == LEVEL_BS ? from->bs : from->ahead, spot, (uint8_t)kind,
        *broken };
    job->sight_row[job->sights++] = row;
    job->spot[spot].shown = true;
    if (job->spot[spot].row == JOB_NONE)
        job->spot[spot].row = row;
    *broken = false;
}

/* The struck row is the one booked first, wherever the run breaks for want of it. */
static void
say_broken(const struct record *r, uint32_t row, struct diag *d)
{
    uint32_t base = record_extra(r, &r->row[row])->base;
    if (base != RECORD_NONE)
        row = base;
    diag_say(d, DIAG_WARNING, record_row_place(&r->row[row]), "broken-run",
        "the run is broken here: this sight is struck and no row stands for it; book it again with for: "
        "{entry: %" PRIu32 ", row: %" PRIu32 "}",
        record_row_entry(r, row) + 1, record_row_number(r, row));
}

static void
sights_of_row(struct job *job, uint32_t run, uint32_t index, bool *broken, struct diag *d)
{
    const struct record_row *row = &job->r->row[index];
    bool ahead = row_ahead_live(row), bs = row_bs_live(row);
    uint32_t spot = ahead || bs ? spot_of_row(job, run, row, *broken) : JOB_NONE;
    if (!ahead && !bs)
        struck_move(job, row);
    if (row->flags & (RECORD_BREAK_AHEAD | RECORD_BREAK_BS))
        say_broken(job->r, index, d);
    if (ahead)
        add_sight(job, index, spot, row->flags & RECORD_HAS_IS ? LEVEL_IS : LEVEL_FS, broken);
    *broken |= (row->flags & RECORD_BREAK_AHEAD) != 0;
    if (bs)
        add_sight(job, index, spot, LEVEL_BS, broken);
    *broken |= (row->flags & RECORD_BREAK_BS) != 0;
}

/* ---- legs ---- */

struct record_dist
job_dist_of(const struct job *job, const struct record_row *row)
{
    const struct record_extra *x = record_extra(job->r, row);
    struct record_dist dist = record_dist_of(job->r, row);
    if (dist.bs < 0 && (x->wires & RECORD_HAS_BS))
        dist.bs = level_stadia(x->wire_bs[0], x->wire_bs[2]);
    if (dist.ahead < 0 && (x->wires & (RECORD_HAS_FS | RECORD_HAS_IS)))
        dist.ahead = level_stadia(x->wire_ahead[0], x->wire_ahead[2]);
    return dist;
}

static length
sight_dist(const struct job *job, size_t sight)
{
    struct record_dist dist = job_dist_of(job, &job->r->row[job->sight_row[sight]]);
    return job->sight[sight].kind == LEVEL_BS ? dist.bs : dist.ahead;
}

static void
say_sequence(const struct job *job, enum level_status status, size_t bad, struct diag *d)
{
    const struct level_sight *s = &job->sight[bad];
    const char *at = job_name(job, job->spot[s->spot].at), *before = at;
    struct diag_place place = record_row_place(&job->r->row[job->sight_row[bad]]);
    if (bad > 0)
        before = job_name(job, job->spot[s[-1].spot].at);
    switch (status) {
    case LEVEL_ENOBS:
        diag_say(d, DIAG_ERROR, place, "no-backsight",
            "%s is read before any backsight; open the set-up with a bs on a known point", at);
        break;
    case LEVEL_EOPEN:
        diag_say(d, DIAG_ERROR, place, "open-setup",
            "a backsight on %s while the set-up is open; book the foresight on the turning point first", at);
        break;
    case LEVEL_ETURN:
        diag_say(d, DIAG_ERROR, place, "turning-point",
            "the foresight was on %s %s, the next backsight is on %s %s; a turning point is one point: book the "
            "right one, or begin a new run",
            before, record_on_word(job->spot[s[-1].spot].on), at, record_on_word(job->spot[s->spot].on));
        break;
    case LEVEL_EOVERFLOW:
    case LEVEL_OK:
        diag_say(d, DIAG_ERROR, place, "range", "sums are beyond 64 bits of nanometres");
        break;
    }
}

static void
legs_of_run(struct job *job, uint32_t run, struct diag *d)
{
    size_t first = job->run_sight[run], n = job->sights - first, legs = 0, bad = 0;
    struct level_leg *leg = &job->leg[job->legs];
    enum level_status status = level_group(&job->sight[first], n, first, run, leg, &legs, &bad);
    if (status != LEVEL_OK) {
        say_sequence(job, status, first + bad, d);
        return;
    }
    for (size_t i = 0; i < legs; i++) {
        length back = sight_dist(job, leg[i].first), fore = sight_dist(job, leg[i].first + leg[i].count - 1);
        bool both = leg[i].count > 1 && back > 0 && fore > 0;
        leg[i].dist = both ? back + fore : -1;
    }
    job->legs += legs;
}

static void
levels_run(struct job *job, uint32_t run, struct diag *d)
{
    bool broken = false;
    const struct record_run *from = &job->r->run[run];
    for (uint32_t i = from->first_row; i != RECORD_NONE; i = record_row_next(job->r, from, i))
        sights_of_row(job, run, i, &broken, d);
    if (!job->no_memory)
        legs_of_run(job, run, d);
}

static void
sections_run(struct job *job, uint32_t run)
{
    const struct record_run *from = &job->r->run[run];
    for (uint32_t i = from->first_row; i != RECORD_NONE && i <= from->last_row; i++) {
        const struct record_section *s = &job->r->section[i];
        if (s->strike != RECORD_NONE)
            continue;
        uint32_t a = job_spot_number(job, s->from, RECORD_ON_MARK), b = job_spot_number(job, s->to, RECORD_ON_MARK);
        if (job->no_memory)
            return;
        job->spot[a].shown = job->spot[b].shown = true;
        job->leg[job->legs++] = (struct level_leg){ .from = a, .to = b, .first = i, .run = run, .setups = s->setups,
            .rise = s->rise, .dist = s->dist, .link = LEVEL_NONE };
    }
}

/* ---- marks and points ---- */

static int
index_names(struct job *job)
{
    const struct record *r = job->r;
    job->names = r->names.n;
    job->mark_of = new_index(r->names.n);
    job->point_of = new_index(r->names.n);
    job->spot_of = new_index(r->names.n * RECORD_ON_COUNT);
    if (!job->mark_of || !job->point_of || !job->spot_of)
        return -1;
    for (size_t i = 0; i < r->marks; i++)
        job->mark_of[r->mark[i].name] = (uint32_t)i;
    for (size_t i = 0; i < r->points; i++)
        job->point_of[r->point[i].name] = (uint32_t)i;
    return 0;
}

static void
spots_of_marks(struct job *job)
{
    for (size_t i = 0; i < job->r->marks && !job->no_memory; i++) {
        uint32_t spot = job_spot_number(job, job->r->mark[i].name, RECORD_ON_MARK);
        if (spot != JOB_NONE)
            job->spot[spot].shown = true;
    }
}

static int
arrays_of_sights(struct job *job)
{
    size_t sights = 2 * job->r->rows, legs = job->r->rows + job->r->sections;
    job->sight = room_new(sights, sizeof *job->sight);
    job->sight_row = room_new(sights, sizeof *job->sight_row);
    job->leg = room_new(legs, sizeof *job->leg);
    job->run_leg = room_new(job->r->runs + 1, sizeof *job->run_leg);
    job->run_sight = room_new(job->r->runs + 1, sizeof *job->run_sight);
    return job->sight && job->sight_row && job->leg && job->run_leg && job->run_sight ? 0 : -1;
}

int
job_tie(struct job *job, struct diag *d)
{
    if (index_names(job) != 0 || arrays_of_sights(job) != 0)
        return -1;
    spots_of_marks(job);
    for (uint32_t run = 0; run < job->r->runs; run++) {
        job->run_leg[run] = job->legs;
        job->run_sight[run] = job->sights;
        if (job->r->run[run].sections)
            sections_run(job, run);
        else
            levels_run(job, run, d);
    }
    job->run_leg[job->r->runs] = job->legs;
    job->run_sight[job->r->runs] = job->sights;
    drop_fresh(job);
    return job->no_memory ? -1 : 0;
}
