#include "rodbook/close.h"

#define MOST INT64_C(100000000000000000) /* nm, 100 000 km: beyond any elevation; differences of such fit in 64 bits */

struct closing {
    struct level_leg *leg;
    size_t legs;
    const struct level_sight *sight;
    struct level_spot *spot;
    size_t spots;
    const struct level_rules *rules;
    struct level_work *w;
    uint8_t hold;    /* the least state at which a spot is known: LEVEL_HELD first, then LEVEL_CARRIED */
    uint32_t head, rear; /* the queue of stretches, each named by its first leg; LEVEL_NONE when empty */
    bool waking;     /* spots that become known wake the stretches that touch them */
    size_t ordered;  /* legs that stand in w->order */
    bool overflow;
};

/* ---- spots ---- */

static bool
is_known(const struct closing *c, uint32_t s)
{
    if (s == LEVEL_NONE)
        return false;
    const struct level_spot *spot = &c->spot[s];
    if (spot->state == LEVEL_SIDE)
        return spot->quality <= LEVEL_FORCED || c->hold <= LEVEL_CARRIED;
    return spot->state >= c->hold;
}

static length
add(struct closing *c, length a, length b)
{
    length sum = 0;
    c->overflow |= __builtin_add_overflow(a, b, &sum) || sum > MOST || sum < -MOST;
    return sum;
}

static void
push(struct closing *c, uint32_t first)
{
    c->w->queue[first] = LEVEL_NONE;
    if (c->rear == LEVEL_NONE)
        c->head = first;
    else
        c->w->queue[c->rear] = first;
    c->rear = first;
}

static void
push_first(struct closing *c, uint32_t first)
{
    c->w->queue[first] = c->head;
    c->head = first;
    if (c->rear == LEVEL_NONE)
        c->rear = first;
}

static void
wake(struct closing *c, uint32_t s)
{
    if (!c->waking)
        return;
    for (uint32_t i = c->w->touch_start[s]; i < c->w->touch_start[s + 1]; i++) {
        /* pending legs carry the first leg of their stretch in `inner` */
        uint32_t l = c->w->touch[i];
        if (c->w->pending[l] != 1)
            continue;
        uint32_t first = c->w->inner[l];
        if (c->w->pending[first] == 1) {
            c->w->pending[first] = 2; /* queued */
            push(c, first);
        }
    }
}

static void
widen(struct level_spot *spot, length value)
{
    if (spot->readings == 0)
        spot->low = spot->high = value;
    spot->low = value < spot->low ? value : spot->low;
    spot->high = value > spot->high ? value : spot->high;
    spot->readings++;
}

/* A side shot gives a spot an elevation. */
static void
take_side(struct closing *c, uint32_t s, length value, uint8_t quality)
{
    struct level_spot *spot = &c->spot[s];
    bool fresh = spot->state == LEVEL_UNKNOWN;
    widen(spot, value);
    if (spot->state > LEVEL_SIDE || (!fresh && quality > spot->quality))
        return; /* a check on a spot that has better */
    bool better = fresh || quality < spot->quality;
    if (better) {
        spot->first_value = value;
        spot->value_sum = 0;
        spot->best = 0;
        spot->quality = quality;
        spot->state = LEVEL_SIDE;
    }
    spot->value_sum = add(c, spot->value_sum, value - spot->first_value);
    spot->best++;
    spot->value = value; /* the mean follows when it is asked for */
    if (better)
        wake(c, s);
}

/* A line gives a spot an elevation. */
static void
take_on_line(struct closing *c, uint32_t s, length value, enum level_state state, uint8_t quality)
{
    struct level_spot *spot = &c->spot[s];
    widen(spot, value);
    if (spot->state >= state && spot->state != LEVEL_CARRIED)
        return;
    if (spot->state == LEVEL_CARRIED && state == LEVEL_CARRIED && quality >= spot->quality)
        return;
    spot->value = value;
    spot->state = (uint8_t)state;
    spot->quality = quality;
    wake(c, s);
}

/* The mean of the side shots that count. */
static void
mean_side(struct level_spot *spot)
{
    if (spot->state == LEVEL_SIDE)
        spot->value = spot->first_value + length_divide(spot->value_sum, 1, spot->best);
}

/* A known spot that a line leans on stays as it is from now on. */
static length
hold(struct closing *c, uint32_t s)
{
    struct level_spot *spot = &c->spot[s];
    mean_side(spot);
    if (spot->state == LEVEL_SIDE)
        spot->state = spot->quality <= LEVEL_FORCED ? LEVEL_HELD : LEVEL_CARRIED;
    return spot->value;
}

/* ---- legs ---- */

static const struct level_sight *
sights_of(const struct closing *c, const struct level_leg *leg)
{
    return leg->count > 0 ? &c->sight[leg->first] : c->sight;
}

/* A sight that ends or begins its set-up: an intermediate sight does where it closed an open one. */
static bool
is_station(const struct level_leg *leg, const struct level_sight *s, uint32_t i)
{
    return s[i].kind != LEVEL_IS || (i + 1 == leg->count && s[i].spot == leg->to);
}

/* The leg's height of instrument is known: so are its side shots. */
static void
settle_leg(struct closing *c, uint32_t l, length hi, uint32_t link, uint8_t quality)
{
    struct level_leg *leg = &c->leg[l];
    leg->hi = hi;
    leg->known = 1;
    leg->quality = quality;
    leg->link = link;
    c->w->pending[l] = 3; /* done */
    c->w->order[c->ordered++] = l;
    const struct level_sight *s = sights_of(c, leg);
    for (uint32_t i = 0; i < leg->count; i++)
        if (!is_station(leg, s, i))
            take_side(c, s[i].spot, add(c, hi, -s[i].reading), quality);
}

/* Sums for the field book; an open set-up's last intermediate sight serves as foresight. */
static void
sum_leg(struct closing *c, const struct level_leg *leg, struct level_link *link)
{
    const struct level_sight *s = sights_of(c, leg);
    if (leg->count == 0) {
        length *to = leg->rise >= 0 ? &link->sum_rise : &link->sum_fall;
        *to = add(c, *to, leg->rise >= 0 ? leg->rise : -leg->rise);
        link->summed = true;
        return;
    }
    if (leg->count == 1)
        return;
    link->summed = true;
    link->sum_bs = add(c, link->sum_bs, s[0].reading);
    link->sum_fs = add(c, link->sum_fs, s[leg->count - 1].reading);
    for (uint32_t i = 1; i < leg->count; i++) {
        length step = s[i - 1].reading - s[i].reading;
        length *to = step >= 0 ? &link->sum_rise : &link->sum_fall;
        *to = add(c, *to, step >= 0 ? step : -step);
    }
}

static void
count_leg(struct closing *c, uint32_t l, struct level_link *link)
{
    const struct level_leg *leg = &c->leg[l];
    bool whole = link->count++ == 0 || link->setups > 0;
    link->setups = whole && leg->setups > 0 ? link->setups + leg->setups : 0;
    link->dist = link->dist >= 0 && leg->dist > 0 ? add(c, link->dist, leg->dist) : -1;
    sum_leg(c, leg, link);
}

static struct level_link *
begin_link(struct closing *c)
{
    struct level_link *link = &c->w->link[c->w->links++];
    *link = (struct level_link){ .from = LEVEL_NONE, .to = LEVEL_NONE, .first = (uint32_t)c->ordered, .allowed_nm = -1,
        .wanting = LEVEL_NONE };
    return link;
}

static length
share_of(const struct closing *c, const struct level_leg *leg)
{
    return c->rules->spread == LEVEL_BY_DISTANCE ? leg->dist : (length)leg->setups;
}

/* ---- loops and links ---- */

static void
find_wanting(const struct closing *c, const uint32_t *path, size_t n, struct level_link *link)
{
    bool by_dist = c->rules->allow == LEVEL_ALLOW_ROOT_KM || c->rules->allow == LEVEL_ALLOW_ROOT_MILE;
    bool by_setups = c->rules->allow == LEVEL_ALLOW_ROOT_SETUP;
    for (size_t i = 0; i < n && !link->no_share; i++) {
        const struct level_leg *leg = &c->leg[path[i]];
        if (share_of(c, leg) > 0 && !(by_dist && leg->dist <= 0) && !(by_setups && leg->setups == 0))
            continue;
        link->no_share = true;
        link->wanting = path[i];
    }
}

static void
judge_link(const struct closing *c, struct level_link *link)
{
    link->allowed_nm = level_allowed(c->rules, link->setups, link->dist);
    link->within = level_judge(c->rules, link->setups, link->dist, link->misclosure);
    link->spread = !link->no_share && (link->within != LEVEL_BEYOND || c->rules->spread_anyway);
    if (!link->spread)
        link->quality = LEVEL_OUTSIDE;
    else if (link->within == LEVEL_BEYOND && link->quality < LEVEL_FORCED)
        link->quality = LEVEL_FORCED;
}

static uint8_t
worse(uint8_t a, uint8_t b)
{
    return a > b ? a : b;
}

/* Legs path[n] lead from one known spot to another: misclosure, verdict, spread. */
static void
close_path(struct closing *c, const uint32_t *path, size_t n)
{
    struct level_link *link = begin_link(c);
    uint32_t number = (uint32_t)(c->w->links - 1);
    length total = 0, shares = 0, carried = 0, done = 0;
    for (size_t i = 0; i < n; i++) {
        count_leg(c, path[i], link);
        total = add(c, total, c->leg[path[i]].rise);
    }
    link->from = c->leg[path[0]].from;
    link->to = c->leg[path[n - 1]].to;
    link->kind = link->from == link->to ? LEVEL_LOOP : LEVEL_LINK;
    length start = hold(c, link->from), end = hold(c, link->to);
    link->quality = worse(c->spot[link->from].quality, c->spot[link->to].quality);
    link->misclosure = add(c, add(c, total, start), -end);
    find_wanting(c, path, n, link);
    judge_link(c, link);
    for (size_t i = 0; link->spread && i < n; i++)
        shares = add(c, shares, share_of(c, &c->leg[path[i]]));
    enum level_state state = link->quality <= LEVEL_FORCED ? LEVEL_HELD : LEVEL_CARRIED;
    for (size_t i = 0; i < n && !c->overflow; i++) {
        const struct level_leg *leg = &c->leg[path[i]];
        carried = add(c, carried, leg->rise);
        done = add(c, done, link->spread ? share_of(c, leg) : 0);
        length correction = link->spread ? length_divide(-link->misclosure, done, shares) : 0;
        length at = add(c, add(c, start, carried), correction);
        length hi = leg->count > 0 ? add(c, at, sights_of(c, leg)[leg->count - 1].reading) : at;
        c->leg[path[i]].correction = correction;
        settle_leg(c, path[i], hi, number, link->quality);
        if (i + 1 < n)
            take_on_line(c, leg->to, at, state, link->quality);
    }
}

/* ---- spurs ---- */

static length
rise_to_hi(const struct closing *c, const struct level_leg *leg)
{
    return leg->count > 0 ? sights_of(c, leg)[0].reading : leg->rise;
}

/* Legs path[n] hang on the known spot that they begin at. */
static void
carry_forward(struct closing *c, const uint32_t *path, size_t n, uint32_t number, uint8_t quality)
{
    length at = hold(c, c->leg[path[0]].from);
    for (size_t i = 0; i < n; i++) {
        const struct level_leg *leg = &c->leg[path[i]];
        settle_leg(c, path[i], add(c, at, rise_to_hi(c, leg)), number, quality);
        if (leg->to == LEVEL_NONE)
            break;
        at = add(c, at, leg->rise);
        take_on_line(c, leg->to, at, LEVEL_CARRIED, quality);
    }
}

/* Legs path[n] hang on the known spot that they end at. */
static void
carry_back(struct closing *c, const uint32_t *path, size_t n, uint32_t number, uint8_t quality)
{
    length at = hold(c, c->leg[path[n - 1]].to);
    for (size_t i = n; i-- > 0;) {
        const struct level_leg *leg = &c->leg[path[i]];
        length hi = leg->count > 0 ? add(c, at, sights_of(c, leg)[leg->count - 1].reading) : at;
        settle_leg(c, path[i], hi, number, quality);
        if (leg->from == LEVEL_NONE)
            break;
        at = add(c, at, -leg->rise);
        take_on_line(c, leg->from, at, LEVEL_CARRIED, quality);
    }
    for (size_t i = 0; i < n; i++) /* settled from behind, listed as booked */
        c->w->order[c->ordered - n + i] = path[i];
}

/* The spot of an open set-up's last sight, where the page check ends. */
static uint32_t
last_spot(const struct closing *c, const struct level_leg *leg)
{
    if (leg->to != LEVEL_NONE)
        return leg->to;
    return leg->count > 1 ? sights_of(c, leg)[leg->count - 1].spot : LEVEL_NONE;
}

static void
carry_path(struct closing *c, const uint32_t *path, size_t n)
{
    struct level_link *link = begin_link(c);
    uint32_t number = (uint32_t)(c->w->links - 1);
    const struct level_leg *first = &c->leg[path[0]], *last = &c->leg[path[n - 1]];
    bool forward = is_known(c, first->from);
    for (size_t i = 0; i < n; i++)
        count_leg(c, path[i], link);
    link->kind = LEVEL_SPUR;
    link->from = first->from;
    link->to = last_spot(c, last);
    uint32_t anchor = forward ? first->from : last->to;
    link->quality = worse(LEVEL_UNCHECKED, c->spot[anchor].quality);
    if (forward)
        carry_forward(c, path, n, number, link->quality);
    else
        carry_back(c, path, n, number, link->quality);
}

/* ---- stretches ---- */

/* One stretch on its way: the legs walked since the last known spot. */
struct walk {
    uint32_t start;  /* the spot that it began at */
    uint32_t first;  /* its first leg */
    size_t n;        /* legs on the path; inner loops left out */
    uint32_t loops;  /* first legs of the inner loops cut out, linked by `tail`'s of theirs */
};

static void
forget_path(struct closing *c, const struct walk *walk)
{
    if (walk->start != LEVEL_NONE)
        c->w->met[walk->start] = 0;
    for (size_t i = 0; i < walk->n; i++)
        if (c->leg[c->w->path[i]].to != LEVEL_NONE)
            c->w->met[c->leg[c->w->path[i]].to] = 0;
}

static void
begin_walk(struct closing *c, struct walk *walk, uint32_t first)
{
    *walk = (struct walk){ .first = first, .loops = LEVEL_NONE };
    if (first == LEVEL_NONE)
        return;
    walk->start = c->leg[first].from;
    if (walk->start != LEVEL_NONE)
        c->w->met[walk->start] = 1;
}

/* The path came back to its own spot at depth `depth`: legs above it are an inner loop. */
static void
cut_inner_loop(struct closing *c, struct walk *walk, size_t depth)
{
    struct level_work *w = c->w;
    uint32_t first = w->path[depth];
    for (size_t i = depth; i < walk->n; i++) {
        uint32_t to = c->leg[w->path[i]].to;
        if (i + 1 < walk->n)
            w->met[to] = 0;
        w->inner[w->path[i]] = i + 1 < walk->n ? w->path[i + 1] : LEVEL_NONE;
    }
    w->tail[first] = walk->loops;
    walk->loops = first;
    walk->n = depth;
}

/* The inner loops of a path that is settled become stretches of their own. */
static void
queue_loops(struct closing *c, uint32_t loop)
{
    struct level_work *w = c->w;
    while (loop != LEVEL_NONE) {
        uint32_t after = w->tail[loop];
        for (uint32_t l = loop; l != LEVEL_NONE; l = w->inner[l])
            w->next[l] = w->inner[l];
        w->pending[loop] = 2;
        push_first(c, loop); /* before anything that waits: it belongs to the line just settled */
        loop = after;
    }
}

/* Legs from walk->first on, linked by `next`, wait for a spot of theirs to become known. */
static void
leave_pending(struct closing *c, uint32_t first)
{
    for (uint32_t l = first; l != LEVEL_NONE; l = c->w->next[l]) {
        c->w->pending[l] = 1;
        c->w->inner[l] = first;
    }
}

static void
end_walk(struct closing *c, struct walk *walk, bool closed)
{
    forget_path(c, walk);
    uint32_t loops = walk->loops;
    if (closed)
        close_path(c, c->w->path, walk->n);
    else
        carry_path(c, c->w->path, walk->n);
    queue_loops(c, loops);
}

/*
 * Walk a stretch leg by leg. At each known spot the path so far is closed,
 * or, hanging on that spot alone, carried (once spurs are carried at all) or
 * left pending.
 */
static void
walk_stretch(struct closing *c, uint32_t first)
{
    struct level_work *w = c->w;
    struct walk walk;
    begin_walk(c, &walk, first);
    for (uint32_t l = first, after; l != LEVEL_NONE; l = after) {
        uint32_t to = c->leg[l].to;
        after = w->next[l];
        w->path[walk.n++] = l;
        w->pending[l] = 2;
        if (is_known(c, to)) {
            bool closed = is_known(c, walk.start);
            w->next[l] = LEVEL_NONE;
            if (closed || c->hold == LEVEL_CARRIED) {
                end_walk(c, &walk, closed);
            } else {
                forget_path(c, &walk);
                leave_pending(c, walk.first);
            }
            begin_walk(c, &walk, after);
        } else if (to != LEVEL_NONE && w->met[to]) {
            cut_inner_loop(c, &walk, w->met[to] - 1);
        } else if (to != LEVEL_NONE) {
            w->met[to] = (uint32_t)walk.n + 1;
        }
    }
    if (walk.first == LEVEL_NONE)
        return;
    bool hangs = walk.n > 0 && is_known(c, walk.start);
    if (hangs && c->hold == LEVEL_CARRIED) {
        end_walk(c, &walk, false);
        return;
    }
    forget_path(c, &walk);
    leave_pending(c, walk.first);
}

static void
walk_queue(struct closing *c)
{
    while (c->head != LEVEL_NONE && !c->overflow) {
        uint32_t first = c->head;
        c->head = c->w->queue[first];
        if (c->head == LEVEL_NONE)
            c->rear = LEVEL_NONE;
        walk_stretch(c, first);
    }
}

/* Which legs touch each spot: for waking. */
static void
index_touches(struct closing *c)
{
    struct level_work *w = c->w;
    for (size_t s = 0; s <= c->spots; s++)
        w->touch_start[s] = 0;
    for (size_t l = 0; l < c->legs; l++) {
        if (c->leg[l].from != LEVEL_NONE)
            w->touch_start[c->leg[l].from]++;
        if (c->leg[l].to != LEVEL_NONE)
            w->touch_start[c->leg[l].to]++;
    }
    uint32_t sum = 0;
    for (size_t s = 0; s <= c->spots; s++) {
        sum += w->touch_start[s];
        w->touch_start[s] = sum;
    }
    for (size_t l = c->legs; l-- > 0;) {
        if (c->leg[l].to != LEVEL_NONE)
            w->touch[--w->touch_start[c->leg[l].to]] = (uint32_t)l;
        if (c->leg[l].from != LEVEL_NONE)
            w->touch[--w->touch_start[c->leg[l].from]] = (uint32_t)l;
    }
}

/* An open set-up whose last sight is on a mark closes on it. */
static void
close_on_marks(struct closing *c)
{
    for (size_t l = 0; l < c->legs; l++) {
        struct level_leg *leg = &c->leg[l];
        const struct level_sight *s = sights_of(c, leg);
        if (leg->to != LEVEL_NONE || leg->from == LEVEL_NONE || leg->count < 2)
            continue;
        uint32_t last = s[leg->count - 1].spot;
        if (c->spot[last].state != LEVEL_MARK)
            continue;
        leg->to = last;
        leg->rise = s[0].reading - s[leg->count - 1].reading;
    }
}

/* The leg behind carries on the line: a run that opens on a known spot begins its own. */
static bool
carries_on(const struct closing *c, size_t l)
{
    const struct level_leg *leg = &c->leg[l], *after = leg + 1;
    if (l + 1 >= c->legs || leg->to == LEVEL_NONE || after->from != leg->to)
        return false;
    return leg->run == after->run || !is_known(c, leg->to);
}

static void
walk_lines(struct closing *c)
{
    for (size_t l = 0; l < c->legs && !c->overflow;) {
        size_t first = l;
        for (; carries_on(c, l); l++)
            c->w->next[l] = (uint32_t)l + 1;
        c->w->next[l++] = LEVEL_NONE;
        push(c, (uint32_t)first);
        walk_queue(c);
    }
}

static bool
queue_pending(struct closing *c)
{
    bool any = false;
    for (uint32_t l = 0; l < c->legs; l++) {
        if (c->w->pending[l] != 1 || c->w->inner[l] != l)
            continue;
        any = true;
        c->w->pending[l] = 2;
        push(c, l);
    }
    return any;
}

/* ---- what the field book shows ---- */

static void
take_raw(struct level_spot *spot, length raw)
{
    if (spot->raws == 0)
        spot->first_raw = raw;
    if (__builtin_add_overflow(spot->raw_sum, raw - spot->first_raw, &spot->raw_sum))
        return;
    spot->raws++;
}

static void
last_sight(struct closing *c, const struct level_leg *leg, const struct level_sight *s)
{
    c->spot[s->spot].last_leg = (uint32_t)(leg - c->leg);
    c->spot[s->spot].last_reading = s->reading;
}

/* Elevations without corrections: of stations, where first met; of side shots, the mean that was used. */
static void
raw_leg(struct closing *c, struct level_leg *leg, length at)
{
    const struct level_sight *s = sights_of(c, leg);
    leg->raw_hi = leg->from == LEVEL_NONE ? leg->hi : add(c, at, rise_to_hi(c, leg));
    for (uint32_t i = 0; i < leg->count; i++) {
        struct level_spot *spot = &c->spot[s[i].spot];
        last_sight(c, leg, &s[i]);
        length raw = add(c, leg->raw_hi, -s[i].reading);
        if (is_station(leg, s, i) ? spot->raws == 0 && spot->state >= LEVEL_CARRIED
                    : spot->state == LEVEL_SIDE && leg->quality == spot->quality)
            take_raw(spot, raw);
    }
    if (leg->count > 0)
        return;
    for (int i = 0; i < 2; i++) {
        struct level_spot *spot = &c->spot[i ? leg->to : leg->from];
        if (spot->raws == 0)
            take_raw(spot, i ? leg->raw_hi : at);
    }
}

/* Carry each run without corrections from the elevation that it opens on. */
static void
carry_raw(struct closing *c)
{
    length at = 0;
    for (size_t l = 0; l < c->legs; l++) {
        struct level_leg *leg = &c->leg[l];
        const struct level_leg *before = l > 0 ? leg - 1 : NULL;
        bool on = before && before->known && before->to != LEVEL_NONE && before->to == leg->from
            && (before->run == leg->run || before->link == leg->link);
        if (!leg->known)
            continue;
        if (!on)
            at = leg->from != LEVEL_NONE ? c->spot[leg->from].value : 0;
        raw_leg(c, leg, at);
        if (leg->to == LEVEL_NONE)
            continue;
        length back = leg->count > 0 ? sights_of(c, leg)[leg->count - 1].reading : 0;
        at = add(c, leg->raw_hi, -back);
    }
    for (size_t s = 0; s < c->spots; s++) {
        struct level_spot *spot = &c->spot[s];
        mean_side(spot);
        spot->raw = spot->raws > 0 ? spot->first_raw + length_divide(spot->raw_sum, 1, spot->raws) : spot->value;
        if (spot->readings == 0 && spot->last_leg != LEVEL_NONE)
            widen(spot, spot->value); /* a mark at the end of a line */
    }
}

enum level_status
level_close(struct level_leg *leg, size_t legs, const struct level_sight *sight, struct level_spot *spot,
    size_t spots, const struct level_rules *rules, struct level_work *work)
{
    struct closing c = { .leg = leg, .legs = legs, .sight = sight, .spot = spot, .spots = spots, .rules = rules,
        .w = work, .hold = LEVEL_HELD, .head = LEVEL_NONE, .rear = LEVEL_NONE };
    work->links = 0;
    for (size_t s = 0; s < spots; s++) {
        spot[s].last_leg = LEVEL_NONE;
        spot[s].low = spot[s].high = spot[s].value;
    }
    close_on_marks(&c);
    walk_lines(&c);
    if (queue_pending(&c)) {
        index_touches(&c);
        c.waking = true;
        walk_queue(&c); /* loops and links that later runs made possible */
        c.hold = LEVEL_CARRIED;
        queue_pending(&c);
        walk_queue(&c); /* spurs, in booking order */
    }
    carry_raw(&c);
    return c.overflow ? LEVEL_EOVERFLOW : LEVEL_OK;
}
