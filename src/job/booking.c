/* booking.c - one sight after the other, and what each means */
#include "parts.h"

#include "rodbook/room.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

/* ---- spots ---- */

struct booking_spot *
booking_spot_of(struct booking *b, uint32_t at, uint32_t on)
{
    size_t need = b->r->names.n * RECORD_ON_COUNT;
    if (need > b->spot_room) {
        size_t room = need + need / 2;
        struct booking_spot *grown = realloc(b->spot, room * sizeof *grown);
        if (!grown)
            return NULL;
        memset(grown + b->spot_room, 0, (room - b->spot_room) * sizeof *grown);
        b->spot = grown;
        b->spot_room = room;
    }
    return &b->spot[(size_t)at * RECORD_ON_COUNT + on];
}

static bool
is_held(const struct booking_spot *spot)
{
    return spot->state >= BOOKING_HELD;
}

/* ---- steps ---- */

void
booking_begin_run(struct booking_state *st)
{
    st->run_entry = 0;
    st->setup = 0;
    st->open = false;
    st->ended = false;
    st->pendings = 0;
    st->sums = (struct level_check){ 0 };
}

static bool
on_turn(const struct booking_state *st, uint32_t at, enum record_on on)
{
    return st->turned && st->turn_at == at && st->turn_on == on;
}

/* A line begins where a set-up does not go on from the foresight before it. */
static void
begin_line(struct booking_state *st, uint32_t at, enum record_on on, bool held)
{
    st->line.id++;
    st->line.held = held;
    st->line.from_at = at;
    st->line.from_on = on;
    st->line.setups = 0;
    st->line.dist = 0;
}

void
booking_step_bs(struct booking_state *st, const struct booking_sight *s, const struct booking_spot *spot)
{
    if (!on_turn(st, s->at, s->on)) {
        st->known = spot->state != BOOKING_UNKNOWN;
        st->turn = st->raw_turn = st->known ? spot->value : 0;
        begin_line(st, s->at, s->on, is_held(spot));
    }
    st->hi = st->turn + s->reading;
    st->raw_hi = st->raw_turn + s->reading;
    st->open = true;
    st->turned = st->ended = false;
    st->setup++;
    st->bs_dist = s->dist;
    memset(st->near, 0, sizeof st->near);
    level_check_take(&st->sums, LEVEL_BS, s->reading, st->raw_turn);
}

static void
take_near(struct booking_state *st, const struct booking_sight *s)
{
    if (st->near[s->on].n == 0 || s->reading < st->near[s->on].low)
        st->near[s->on].low = s->reading;
    if (st->near[s->on].n == 0 || s->reading > st->near[s->on].high)
        st->near[s->on].high = s->reading;
    st->near[s->on].n++;
}

/* The foresight has come to something that is known: go on from there as the closing would. */
static void
close_line(struct booking_state *st, const struct booking_sight *s, const struct booking_spot *spot,
    struct booking_closure *closure)
{
    bool inner = !is_held(spot);
    *closure = (struct booking_closure){ .closes = true, .inner = inner, .judged_line = inner || (st->line.held && st->known),
        .from_at = inner ? s->at : st->line.from_at, .from_on = inner ? s->on : st->line.from_on, .to_at = s->at, .to_on = s->on,
        .misclosure = st->turn - spot->value, .setups = st->line.setups, .dist = st->line.dist };
    if (inner) {
        closure->setups -= spot->setups;
        closure->dist = st->line.dist < 0 || spot->dist < 0 ? -1 : st->line.dist - spot->dist;
        st->line.setups = spot->setups;
        st->line.dist = spot->dist;
    } else {
        begin_line(st, s->at, s->on, true);
        st->ended = true;
    }
    st->turn = spot->value;
    st->known = true;
}

void
booking_step_ahead(struct booking_state *st, const struct booking_sight *s, const struct booking_spot *spot,
    struct booking_spot *becomes, struct booking_closure *closure)
{
    length elevation = st->hi - s->reading;
    *becomes = *spot;
    if (st->known && (spot->state == BOOKING_UNKNOWN || s->moved))
        *becomes = (struct booking_spot){ .state = BOOKING_READ, .value = elevation };
    level_check_take(&st->sums, s->kind, s->reading, st->raw_hi - s->reading);
    take_near(st, s);
    if (s->kind != LEVEL_FS)
        return;
    st->open = false;
    st->turned = true;
    st->turn_at = s->at;
    st->turn_on = s->on;
    st->turn = elevation;
    st->raw_turn = st->raw_hi - s->reading;
    st->line.setups++;
    st->line.dist = st->bs_dist > 0 && s->dist > 0 && st->line.dist >= 0 ? st->line.dist + st->bs_dist + s->dist : -1;
    if (!s->moved && (is_held(spot) || (spot->line == st->line.id && spot->line > 0 && spot->state == BOOKING_READ))) {
        close_line(st, s, spot, closure);
        return;
    }
    becomes->line = st->line.id;
    becomes->setups = st->line.setups;
    becomes->dist = st->line.dist;
    if (st->known && becomes->state == BOOKING_READ)
        becomes->value = elevation; /* a turning point is held by its line, whatever was read on it before */
}

/* ---- what is asked ---- */

static void
ask(struct booking_answer *a, struct booking_question q)
{
    if (a->asks < BOOKING_ASKS)
        a->ask[a->asks++] = q;
}

static length
size_of(length v)
{
    return v < 0 ? -v : v;
}

/* A whole foot or metre, or a tenth of one (an inch, where rods have inches), that a size is just about; else 0. */
static length
round_of(length size, const struct record_job *job)
{
    length whole = length_whole(job->unit), part = job->unit == LENGTH_BARE_FT_IN ? LENGTH_IN : whole / 10;
    const length steps[] = { whole, part };
    for (size_t i = 0; i < 2; i++) {
        length near = length_divide(size_of(size), 1, steps[i]) * steps[i];
        if (near > 0 && near <= 9 * steps[i] && size_of(size_of(size) - near) <= job->least)
            return near;
    }
    return 0;
}

static void
ask_of_wires(const struct write_sight *s, enum level_kind kind, length least, struct booking_answer *a)
{
    bool fine = false;
    for (int i = 0; i < s->wires; i++)
        fine |= s->wire[i] % least != 0;
    if (fine)
        ask(a, (struct booking_question){ .ask = BOOKING_TOO_FINE, .sight = kind });
    length off = (s->wire[0] - s->wire[1]) - (s->wire[1] - s->wire[2]);
    if (s->wires == 3 && size_of(off) > 2 * least)
        ask(a, (struct booking_question){ .ask = BOOKING_HALF_INTERVALS, .size = size_of(off), .sight = kind });
}

/* What was known of the point before, against what is read now. */
static void
ask_of_earlier(const struct booking_spot *spot, length elevation, const struct record_job *job, struct booking_answer *a)
{
    length size = elevation - spot->value;
    if (spot->state == BOOKING_UNKNOWN || size_of(size) <= 2 * job->least)
        return;
    ask(a, (struct booking_question){ .ask = spot->state == BOOKING_MARK ? BOOKING_OFF_MARK : BOOKING_DIFFERS, .size = size,
        .round = round_of(size, job) });
}

/*
 * Off what was read in this set-up on things of its kind by a whole foot or
 * metre; or by a tenth, where two or more of them agree well.
 */
static void
ask_of_neighbours(const struct booking_state *before, const struct booking_sight *s, const struct record_job *job,
    struct booking_answer *a)
{
    uint32_t n = before->near[s->on].n;
    length low = before->near[s->on].low, high = before->near[s->on].high, whole = length_whole(job->unit);
    length off = s->reading < low ? s->reading - low : s->reading > high ? s->reading - high : 0;
    bool level = s->on == RECORD_ON_BATTEN || s->on == RECORD_ON_POST || s->on == RECORD_ON_TOP;
    length round = round_of(off, job);
    if (n == 0 || !level || round == 0 || high - low > whole / 2 || (round < whole && (n < 2 || high - low > 4 * job->least)))
        return;
    ask(a, (struct booking_question){ .ask = BOOKING_ROUND, .size = off, .round = round });
}

static void
ask_of_balance(const struct booking_state *before, const struct booking_sight *s, struct booking_answer *a)
{
    length size = before->bs_dist - s->dist;
    if (s->kind == LEVEL_FS && before->bs_dist > 0 && s->dist > 0 && size_of(size) > BOOKING_UNBALANCED)
        ask(a, (struct booking_question){ .ask = BOOKING_NOT_BALANCED, .size = size });
}

/* ---- moves ---- */

static void
moves_of(const struct job *job, uint32_t at, enum record_on on, length elevation, length hi, struct booking_answer *a)
{
    uint32_t point = at < job->names ? job->point_of[at] : JOB_NONE;
    if (on == RECORD_ON_HOLE || (on == RECORD_ON_MARK && point == JOB_NONE))
        return;
    for (uint32_t g = 0; g < job->grades && a->moves < BOOKING_GRADES; g++) {
        const struct job_grade *grade = &job->grade[g];
        struct site_place place = { 0, 0 };
        length up;
        bool placed = point != JOB_NONE && job_place_of(job, at, &place);
        if (!grade->known || !(grade->from->serves & job_kind_bit(job, point, on))
            || (grade->site.form != SITE_LEVEL && !placed) || site_grade_at(&grade->site, place, &up) != SITE_OK)
            continue;
        a->move[a->moves++] = (struct booking_move){ g, site_move(elevation, up, grade->tolerance), site_grade_rod(hi, up) };
    }
}

/* ---- looking ---- */

static struct booking_sight
sight_of(const struct write_row *row, uint32_t at, enum level_kind kind)
{
    const struct write_sight *s = kind == LEVEL_BS ? &row->bs : kind == LEVEL_IS ? &row->is : &row->fs;
    length dist = s->dist_value;
    if (dist < 0 && s->wires == 3)
        dist = level_stadia(s->wire[0], s->wire[2]);
    return (struct booking_sight){ at, row->on, kind, s->value, dist, row->moved };
}

/* A struck sight that waits at the run's end, or NULL. */
static uint32_t
pending_with(const struct booking_state *st, bool bs, uint32_t from)
{
    while (from < st->pendings && !(bs ? st->pending[from].bs : st->pending[from].ahead))
        from++;
    return from;
}

static bool
refuse(struct diag *d, struct diag_place place, const char *check, const char *text, const char *name)
{
    diag_say(d, DIAG_ERROR, place, check, text, name); // NOLINT(clang-diagnostic-format-nonliteral)
    return false;
}

/* The sight belongs here in the run. */
static bool
in_sequence(const struct booking *b, const struct write_row *row, uint32_t at, struct diag_place place, struct diag *d)
{
    const struct booking_state *st = &b->now;
    bool ahead = row->is.wires > 0 || row->fs.wires > 0;
    uint32_t waits = pending_with(st, true, 0);
    if (ahead && !st->open && waits < st->pendings)
        return refuse(d, place, "no-backsight", "the backsight of this set-up is struck; book it again before %s is read", row->at);
    if (ahead && !st->open)
        return refuse(d, place, "no-backsight", "no set-up is open to read %s from; book the backsight first: bs and a known point",
            row->at);
    if (!ahead && st->open)
        return refuse(d, place, "open-setup", "a backsight on %s while the set-up is open; book the foresight on the turning "
            "point first, or both at once with tp", row->at);
    if (!ahead && st->turned && !st->ended && st->run_entry > 0 && !on_turn(st, at, row->on))
        return refuse(d, place, "turning-point", "the foresight was on another point than %s; a turning point is one point: "
            "book the right one, or begin a new run with the line run", row->at);
    return true;
}

/* What the row stands for; two rows where a turning point stands for two. */
static size_t
rows_for(struct booking_state *st, const struct write_row *row, struct write_row rows[2], struct booking_answer *a)
{
    bool ahead = row->is.wires > 0 || row->fs.wires > 0, bs = row->bs.wires > 0;
    uint32_t k = ahead ? pending_with(st, false, 0) : st->pendings, q = bs ? pending_with(st, true, ahead ? k : 0) : st->pendings;
    size_t n = 1;
    rows[0] = rows[1] = *row;
    if (k < st->pendings) {
        rows[0].for_entry = a->stands_for[0][0] = st->pending[k].entry;
        rows[0].for_row = a->stands_for[0][1] = st->pending[k].row;
        a->went_on = row->is.wires > 0;
    }
    if (k < st->pendings && bs && q != k) { /* the halves of the turning point stand in two places */
        rows[0].bs = (struct write_sight){ 0 };
        rows[1].fs = (struct write_sight){ 0 };
        rows[1].note[0] = '\0';
        rows[1].moved = false;
        n = 2;
    }
    if (bs && q < st->pendings && (!ahead || k < st->pendings)) {
        rows[n - 1].for_entry = a->stands_for[1][0] = st->pending[q].entry;
        rows[n - 1].for_row = a->stands_for[1][1] = st->pending[q].row;
    }
    if (row->fs.wires > 0 && !bs && k < st->pendings) { /* the backsight of that turning point still waits */
        st->pending[k].ahead = false;
        memmove(st->pending, st->pending + k, (st->pendings - k) * sizeof *st->pending);
        st->pendings -= k;
        if (pending_with(st, true, 0) == st->pendings)
            st->pendings = 0;
    } else {
        st->pendings = 0;
    }
    return n;
}

static void
look_ahead(struct booking *b, struct booking_state *st, const struct booking_sight *s, const struct booking_spot *spot,
    struct booking_answer *a)
{
    const struct booking_state before = *st;
    a->has_ahead = true;
    a->known = st->known;
    a->elevation = st->hi - s->reading;
    a->setup = st->setup;
    booking_step_ahead(st, s, spot, &b->next_spot, &a->closure);
    struct booking_closure *c = &a->closure;
    if (c->closes && c->judged_line) {
        c->allowed_nm = level_allowed(&b->rules, c->setups, c->dist);
        c->within = level_judge(&b->rules, c->setups, c->dist, c->misclosure);
    }
    if (before.known && !c->closes && !s->moved)
        ask_of_earlier(spot, a->elevation, &b->r->job, a);
    ask_of_neighbours(&before, s, &b->r->job, a);
    ask_of_balance(&before, s, a);
    if (before.known)
        moves_of(b->job, s->at, s->on, a->elevation, before.hi, a);
}

static void
look_bs(struct booking_state *st, const struct booking_sight *s, const struct booking_spot *spot, struct booking_answer *a)
{
    booking_step_bs(st, s, spot);
    a->has_bs = true;
    a->setup = st->setup;
    if (!st->known && !a->has_ahead)
        ask(a, (struct booking_question){ .ask = BOOKING_NO_ELEVATION });
    a->known = st->known;
    a->hi = st->hi;
}

static void
remember(struct booking *b, const struct write_row rows[2], size_t n)
{
    b->looked_rows = (uint32_t)n;
    for (size_t i = 0; i < n; i++)
        b->looked[i] = (struct booking_past){ .row = (uint32_t)i + 1, .fs = rows[i].fs.wires > 0, .bs = rows[i].bs.wires > 0,
            .replaces = rows[i].for_row > 0, .spot = JOB_NONE };
}

enum booking_status
booking_look(struct booking *b, const struct write_row *row, struct diag_place place, struct booking_answer *answer,
    struct write_row rows[2], size_t *n, struct diag *d)
{
    bool is = row->is.wires > 0, ahead = is || row->fs.wires > 0, bs = row->bs.wires > 0;
    uint32_t at = names_number(&b->r->names, row->at, strlen(row->at));
    struct booking_spot *spot = at == TEXT_NONE ? NULL : booking_spot_of(b, at, row->on);
    if (!spot)
        return BOOKING_NO_MEMORY;
    if (!in_sequence(b, row, at, place, d))
        return BOOKING_REFUSED;
    if (!ahead && b->stale && spot->state == BOOKING_READ && !on_turn(&b->now, at, row->on))
        return BOOKING_STALE;
    *answer = (struct booking_answer){ .closure = { .allowed_nm = -1 } };
    b->next = b->now;
    if (!ahead && (b->now.ended || b->now.run_entry == 0) && b->now.pendings == 0)
        booking_begin_run(&b->next);
    *n = rows_for(&b->next, row, rows, answer);
    remember(b, rows, *n);
    b->looked[0].before = b->now;
    b->next_at = ahead ? at * RECORD_ON_COUNT + (uint32_t)row->on : JOB_NONE;
    b->next_spot = *spot;
    if (ahead) {
        struct booking_sight s = sight_of(row, at, is ? LEVEL_IS : LEVEL_FS);
        look_ahead(b, &b->next, &s, spot, answer);
        b->looked[0].spot = b->next_at;
        b->looked[0].was = *spot;
        ask_of_wires(is ? &row->is : &row->fs, s.kind, b->r->job.least, answer);
    }
    b->next_closes = answer->closure.closes;
    if (*n == 2)
        b->looked[1].before = b->next;
    if (bs) {
        struct booking_sight s = sight_of(row, at, LEVEL_BS);
        look_bs(&b->next, &s, &b->next_spot, answer);
        ask_of_wires(&row->bs, LEVEL_BS, b->r->job.least, answer);
    }
    struct level_check rest;
    answer->sums = b->next.sums;
    answer->agrees = level_check_close(&answer->sums, &rest);
    return BOOKING_OK;
}

/* ---- keeping and undoing ---- */

struct booking_past *
booking_new_past(struct booking *b)
{
    struct booking_past *grown = room_for(b->past, &b->past_room, b->pasts, sizeof *grown);
    if (!grown)
        return NULL;
    b->past = grown;
    return &grown[b->pasts++];
}

int
booking_keep(struct booking *b, uint32_t entry)
{
    if (b->next.run_entry == 0)
        b->next.run_entry = entry;
    for (uint32_t i = 0; i < b->looked_rows; i++) {
        struct booking_past *past = booking_new_past(b);
        if (!past)
            return -1;
        *past = b->looked[i];
        past->entry = entry;
        if (i > 0 && past->before.run_entry == 0)
            past->before.run_entry = b->next.run_entry;
    }
    b->now = b->next;
    b->stale |= b->next_closes;
    if (b->next_at != JOB_NONE)
        b->spot[b->next_at] = b->next_spot;
    return 0;
}

const struct booking_past *
booking_last(const struct booking *b)
{
    bool none = b->pasts == 0 || b->now.pendings == BOOKING_PENDING;
    return none ? NULL : &b->past[b->pasts - 1];
}

void
booking_wait(struct booking_state *st, uint32_t entry, uint32_t row, bool ahead, bool bs, uint32_t order)
{
    if (st->pendings == BOOKING_PENDING)
        return;
    st->pending[st->pendings].entry = entry;
    st->pending[st->pendings].row = row;
    st->pending[st->pendings].ahead = ahead;
    st->pending[st->pendings].bs = bs;
    st->pending[st->pendings].order = order;
    st->pendings++;
}

/* Back to how things stood before the row; it waits for another, and so do those struck behind it. */
void
booking_undone(struct booking *b)
{
    const struct booking_past *past = &b->past[--b->pasts];
    const struct booking_state was = b->now;
    uint32_t order = (uint32_t)b->pasts;
    b->now = past->before;
    if (past->spot != JOB_NONE)
        b->spot[past->spot] = past->was;
    if (b->now.run_entry != was.run_entry) { /* it began the run: the run stays, with a struck first row */
        booking_begin_run(&b->now);
        b->now.run_entry = was.run_entry;
    }
    if (!past->replaces && (past->fs || past->bs))
        booking_wait(&b->now, past->entry, past->row, past->fs, past->bs, order);
    for (uint32_t i = 0; i < was.pendings; i++)
        if (was.pending[i].order > order)
            booking_wait(&b->now, was.pending[i].entry, was.pending[i].row, was.pending[i].ahead, was.pending[i].bs,
                was.pending[i].order);
}

void
booking_new_run(struct booking *b)
{
    booking_begin_run(&b->now);
}

/* ---- opening ---- */

uint8_t
booking_known_of(const struct level_spot *l)
{
    if (l->state == LEVEL_UNKNOWN)
        return BOOKING_UNKNOWN;
    if (l->state == LEVEL_MARK)
        return BOOKING_MARK;
    bool good = l->quality <= LEVEL_FORCED && (l->state == LEVEL_HELD || l->state == LEVEL_SIDE);
    return good ? BOOKING_HELD : BOOKING_READ;
}

/* Elevations as the job has them: of the last position of each point. */
static int
take_spots(struct booking *b)
{
    const struct job *job = b->job;
    for (uint32_t i = 0; job->level_spot && i < job->spots; i++) {
        const struct job_spot *s = &job->spot[i];
        struct booking_spot *spot = booking_spot_of(b, s->at, s->on);
        if (!spot)
            return -1;
        if (job->spot_of[(size_t)s->at * RECORD_ON_COUNT + s->on] == i)
            *spot = (struct booking_spot){ .state = booking_known_of(&job->level_spot[i]), .value = job->level_spot[i].value };
    }
    for (size_t i = 0; !job->level_spot && i < b->r->marks; i++) { /* the job could not be worked out */
        struct booking_spot *spot = booking_spot_of(b, b->r->mark[i].name, RECORD_ON_MARK);
        if (!spot)
            return -1;
        *spot = (struct booking_spot){ .state = BOOKING_MARK, .value = b->r->mark[i].elevation };
    }
    return 0;
}

int
booking_open(struct booking *b, struct record *r, const struct job *job)
{
    *b = (struct booking){ .r = r, .job = job, .rules = job_rules(&r->job, false) };
    if (take_spots(b) != 0 || booking_replay(b) != 0)
        return -1;
    b->stale = false;
    return 0;
}

void
booking_release(struct booking *b)
{
    free(b->spot);
    free(b->past);
    *b = (struct booking){ 0 };
}
