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
    st->filled = 0;
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
    st->line.from_moved = false;
    st->line.setups = st->line.undistanced = 0;
    st->line.dist = 0;
}

void
booking_step_bs(struct booking_state *st, const struct booking_sight *s, const struct booking_spot *spot,
    struct booking_spot *becomes)
{
    *becomes = *spot;
    if (!on_turn(st, s->at, s->on)) {
        if (s->moved)
            *becomes = (struct booking_spot){ 0 }; /* where it stands now nobody has levelled */
        st->known = becomes->state != BOOKING_UNKNOWN;
        st->turn = st->raw_turn = st->known ? becomes->value : 0;
        begin_line(st, s->at, s->on, is_held(becomes));
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

/* The spot that the line began on, which is itself on a line that has not closed. */
static bool
is_start(const struct booking_state *st, const struct booking_sight *s)
{
    return st->line.from_at == s->at && st->line.from_on == s->on && !st->line.from_moved;
}

/* The line has turned on the spot, and no inner loop has taken it off again. */
static bool
is_on_path(const struct booking *b, const struct booking_state *st, const struct booking_sight *s, const struct booking_spot *spot)
{
    return spot->line == st->line.id && spot->line > 0 && spot->setups <= st->line.setups && spot->setups < b->path_room
        && b->path[spot->setups] == s->at * RECORD_ON_COUNT + (uint32_t)s->on;
}

/* The foresight has come to something that is known: go on from there as the closing would. */
static void
close_line(struct booking_state *st, const struct booking_sight *s, const struct booking_spot *spot,
    struct booking_closure *closure)
{
    bool inner = !is_held(spot), whole = inner && is_start(st, s);
    uint64_t setups = inner && !whole ? spot->setups : 0, undistanced = inner && !whole ? spot->undistanced : 0;
    length dist = inner && !whole ? spot->dist : 0;
    *closure = (struct booking_closure){ .closes = true, .inner = inner, .judged_line = inner || (st->line.held && st->known),
        .from_at = inner ? s->at : st->line.from_at, .from_on = inner ? s->on : st->line.from_on, .to_at = s->at, .to_on = s->on,
        .misclosure = st->turn - spot->value, .setups = st->line.setups - setups,
        .dist = st->line.undistanced == undistanced ? st->line.dist - dist : -1 };
    if (inner) {
        st->line.setups = setups;
        st->line.dist = dist;
        st->line.undistanced = undistanced;
    } else {
        begin_line(st, s->at, s->on, true);
        st->ended = true;
    }
    st->turn = spot->value;
    st->known = true;
}

static void
turn(struct booking_state *st, const struct booking_sight *s)
{
    st->open = false;
    st->turned = true;
    st->turn_at = s->at;
    st->turn_on = s->on;
    st->turn = st->hi - s->reading;
    st->raw_turn = st->raw_hi - s->reading;
    st->line.setups++;
    if (st->bs_dist > 0 && s->dist > 0)
        st->line.dist += st->bs_dist + s->dist;
    else
        st->line.undistanced++;
}

void
booking_step_ahead(const struct booking *b, struct booking_state *st, const struct booking_sight *s,
    const struct booking_spot *spot, struct booking_spot *becomes, struct booking_closure *closure)
{
    length elevation = st->hi - s->reading;
    bool comes_back = spot->state == BOOKING_READ && st->known && (is_on_path(b, st, s, spot) || is_start(st, s));
    *becomes = *spot;
    if (s->moved || spot->state == BOOKING_UNKNOWN)
        *becomes = (struct booking_spot){ .state = st->known ? BOOKING_READ : BOOKING_UNKNOWN, .value = st->known ? elevation : 0 };
    level_check_take(&st->sums, s->kind, s->reading, st->raw_hi - s->reading);
    take_near(st, s);
    st->line.from_moved |= s->moved && is_start(st, s);
    if (s->kind != LEVEL_FS)
        return;
    turn(st, s);
    if (!s->moved && (is_held(spot) || comes_back)) {
        close_line(st, s, spot, closure);
        return;
    }
    becomes->line = st->line.id;
    becomes->setups = st->line.setups;
    becomes->dist = st->line.dist;
    becomes->undistanced = st->line.undistanced;
    if (st->known && becomes->state == BOOKING_READ)
        becomes->value = elevation; /* a turning point is held by its line, whatever was read on it before */
}

int
booking_turn_on(struct booking *b, const struct booking_state *st, uint32_t spot)
{
    size_t at = (size_t)st->line.setups;
    if (at >= b->path_room) {
        size_t room = at + at / 2 + 64;
        uint32_t *grown = realloc(b->path, room * sizeof *grown);
        if (!grown)
            return -1;
        for (size_t i = b->path_room; i < room; i++)
            grown[i] = JOB_NONE;
        b->path = grown;
        b->path_room = room;
    }
    b->path[at] = spot;
    return 0;
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

/* The next struck sight that waits for another, or NULL; where a run begins, nothing waits. */
static const struct booking_wait *
next_wait(const struct booking *b, const struct booking_state *st)
{
    return st->run_entry > 0 && st->filled < b->waits ? &b->wait[st->filled] : NULL;
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
    const struct booking_wait *waits = booking_waits(b);
    if (ahead && !st->open && waits && waits->bs)
        return refuse(d, place, "no-backsight", "the backsight of this set-up is struck; book it again before %s is read", row->at);
    if (ahead && !st->open)
        return refuse(d, place, "no-backsight", "no set-up is open to read %s from; book the backsight first: bs and a known point",
            row->at);
    if (!ahead && st->open)
        return refuse(d, place, "open-setup", "a backsight on %s while the set-up is open; book the foresight on the turning "
            "point first, or both at once with tp", row->at);
    if (!ahead && st->turned && !st->ended && st->setup > 0 && !on_turn(st, at, row->on))
        return refuse(d, place, "turning-point", "the foresight was on another point than %s; a turning point is one point: "
            "book the right one, or begin a new run with the line run", row->at);
    return true;
}

static void
stand_for(struct write_row *row, const struct booking_wait *w, uint32_t said[2])
{
    if (!w)
        return;
    row->for_entry = said[0] = w->entry;
    row->for_row = said[1] = w->row;
}

/*
 * What the row stands for: struck sights are booked again in their order. An
 * intermediate sight in the place of a foresight says that the set-up went
 * on, and the backsight behind that is not missed. Two rows where the halves
 * of a turning point stand in two places.
 */
static size_t
rows_for(const struct booking *b, struct booking_state *st, const struct write_row *row, struct write_row rows[2],
    struct booking_answer *a)
{
    bool is = row->is.wires > 0, ahead = is || row->fs.wires > 0, bs = row->bs.wires > 0;
    const struct booking_wait *w = next_wait(b, st), *to_ahead = ahead && w && !w->bs ? w : NULL, *to_bs = NULL;
    st->filled += to_ahead != NULL;
    w = next_wait(b, st);
    if (is && to_ahead && w && w->bs)
        st->filled++;
    if (bs && w && w->bs)
        to_bs = w;
    st->filled += to_bs != NULL;
    rows[0] = rows[1] = *row;
    a->went_on = is && to_ahead;
    bool again = b->spare.entry > 0 && st->run_entry > 0 && row->on == b->spare_on
        && strcmp(row->at, names_text(&b->r->names, b->spare_at)) == 0;
    if (is && !to_ahead && again)
        to_ahead = &b->spare;
    if (ahead && bs && to_ahead && (!to_bs || to_bs->entry != to_ahead->entry || to_bs->row != to_ahead->row)) {
        rows[0].bs = (struct write_sight){ 0 };
        rows[0].page = 0;
        rows[1].fs = (struct write_sight){ 0 };
        rows[1].note[0] = '\0';
        rows[1].moved = false;
        stand_for(&rows[0], to_ahead, a->stands_for[0]);
        stand_for(&rows[1], to_bs, a->stands_for[1]);
        return 2;
    }
    stand_for(&rows[0], to_ahead, a->stands_for[0]);
    stand_for(&rows[0], to_bs, a->stands_for[1]);
    return 1;
}

static void
look_ahead(struct booking *b, struct booking_state *st, const struct booking_sight *s, const struct booking_spot *spot,
    struct booking_answer *a)
{
    const struct booking_state before = *st;
    a->has_ahead = true;
    a->ahead_known = st->known;
    a->elevation = st->hi - s->reading;
    a->setup = st->setup;
    booking_step_ahead(b, st, s, spot, &b->next_spot, &a->closure);
    struct booking_closure *c = &a->closure;
    if (c->closes && c->judged_line) {
        c->allowed_nm = level_allowed(&b->rules, c->setups, c->dist);
        c->within = level_judge(&b->rules, c->setups, c->dist, c->misclosure);
        c->round = c->within == LEVEL_BEYOND ? round_of(c->misclosure, &b->r->job) : 0;
    }
    if (before.known && !c->closes && !s->moved)
        ask_of_earlier(spot, a->elevation, &b->r->job, a);
    ask_of_neighbours(&before, s, &b->r->job, a);
    ask_of_balance(&before, s, a);
    if (before.known)
        moves_of(b->job, s->at, s->on, a->elevation, before.hi, a);
}

static void
look_bs(struct booking *b, struct booking_state *st, const struct booking_sight *s, struct booking_answer *a)
{
    const struct booking_spot spot = b->next_spot;
    booking_step_bs(st, s, &spot, &b->next_spot);
    a->has_bs = true;
    a->setup = st->setup;
    if (!st->known && !a->has_ahead)
        ask(a, (struct booking_question){ .ask = BOOKING_NO_ELEVATION });
    a->known = st->known;
    a->hi = st->hi;
}

/* A backsight begins a run where none is open, or where the one before came home. */
static bool
begins_run(const struct booking *b, bool ahead)
{
    return !ahead && (b->now.run_entry == 0 || b->now.ended);
}

/*
 * A line that has closed since the job was worked out changes what its own
 * points are known by, and what hung in the air; not a mark, and not what was
 * held before and has not been read since.
 */
static bool
is_stale(const struct booking *b, const struct booking_spot *spot)
{
    if (spot->state == BOOKING_MARK && !b->woven)
        return false;
    return b->woven || spot->touched || spot->state == BOOKING_READ;
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
    bool begins = begins_run(b, ahead);
    bool new_line = (begins || (!ahead && b->now.setup == 0)) && !on_turn(&b->now, at, row->on);
    if (b->forgotten || ((b->closed || (b->grown && new_line)) && is_stale(b, spot)))
        return BOOKING_STALE;
    if (new_line && !b->grown && booking_take_whole(b) != 0)
        return BOOKING_NO_MEMORY;
    spot = booking_spot_of(b, at, row->on);
    *answer = (struct booking_answer){ .closure = { .allowed_nm = -1 } };
    b->next = b->now;
    if (begins)
        booking_begin_run(&b->next);
    *n = rows_for(b, &b->next, row, rows, answer);
    b->next_rows = (uint32_t)*n;
    b->next_at = at * RECORD_ON_COUNT + (uint32_t)row->on;
    b->next_spot = *spot;
    if (ahead) {
        struct booking_sight s = sight_of(row, at, is ? LEVEL_IS : LEVEL_FS);
        look_ahead(b, &b->next, &s, spot, answer);
        ask_of_wires(is ? &row->is : &row->fs, s.kind, b->r->job.least, answer);
    }
    b->next_closes = (answer->closure.closes && !answer->closure.inner) || (b->grown && new_line);
    b->next_weaves = answer->closure.inner;
    b->next_turns = row->fs.wires > 0 && !answer->closure.closes;
    b->next_wires = row->bs.wires == 3 || row->is.wires == 3 || row->fs.wires == 3;
    if (bs) {
        struct booking_sight s = sight_of(row, at, LEVEL_BS);
        look_bs(b, &b->next, &s, answer);
        ask_of_wires(&row->bs, LEVEL_BS, b->r->job.least, answer);
    }
    struct level_check rest;
    answer->sums = b->next.sums;
    answer->agrees = level_check_close(&answer->sums, &rest);
    return BOOKING_OK;
}

/* ---- keeping ---- */

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
    if (b->next.run_entry == 0) {
        b->next.run_entry = entry;
        b->pasts = b->waits = 0;
    }
    for (uint32_t i = 0; i < b->next_rows; i++) {
        struct booking_past *past = booking_new_past(b);
        if (!past)
            return -1;
        *past = (struct booking_past){ entry, i + 1, RECORD_WHOLE_ROW };
    }
    if (b->next_turns && booking_turn_on(b, &b->next, b->next_at) != 0)
        return -1;
    b->now = b->next;
    b->spare = (struct booking_wait){ 0 };
    b->run = b->now.run_entry;
    b->grown = true;
    b->closed |= b->next_closes;
    b->woven |= b->next_weaves;
    b->forgotten = false;
    b->r->three_wire |= b->next_wires; /* from here on one figure more is shown */
    b->next_spot.touched = true;
    b->spot[b->next_at] = b->next_spot;
    return 0;
}

const struct booking_past *
booking_last(const struct booking *b)
{
    return b->pasts == 0 || b->now.run_entry == 0 ? NULL : &b->past[b->pasts - 1];
}

const struct booking_wait *
booking_waits(const struct booking *b)
{
    return next_wait(b, &b->now);
}

void
booking_new_run(struct booking *b)
{
    booking_begin_run(&b->now);
}

void
booking_release(struct booking *b)
{
    job_release(&b->base);
    free(b->spot);
    free(b->path);
    free(b->past);
    free(b->wait);
    *b = (struct booking){ 0 };
}
