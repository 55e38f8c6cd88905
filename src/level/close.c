/* close.c - lines walked leg by leg: where they are cut, what waits, what closes */
#include "closing.h"

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
        w->pending[loop] = QUEUED;
        close_push_first(c, loop); /* before anything that waits: it belongs to the line just settled */
        loop = after;
    }
}

/* Legs from walk->first on, linked by `next`, wait for a spot of theirs to become known. */
static void
leave_pending(struct closing *c, uint32_t first)
{
    for (uint32_t l = first; l != LEVEL_NONE; l = c->w->next[l]) {
        c->w->pending[l] = WAITS;
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
        close_carry_path(c, c->w->path, walk->n);
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
        w->pending[l] = QUEUED;
        if (close_is_known(c, to)) {
            bool closed = close_is_known(c, walk.start);
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
    bool hangs = walk.n > 0 && close_is_known(c, walk.start);
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
        const struct level_sight *s = close_sights(c, leg);
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
    return leg->run == after->run || !close_is_known(c, leg->to);
}

static void
walk_lines(struct closing *c)
{
    for (size_t l = 0; l < c->legs && !c->overflow;) {
        size_t first = l;
        for (; carries_on(c, l); l++)
            c->w->next[l] = (uint32_t)l + 1;
        c->w->next[l++] = LEVEL_NONE;
        close_push(c, (uint32_t)first);
        walk_queue(c);
    }
}

static bool
queue_pending(struct closing *c)
{
    bool any = false;
    for (uint32_t l = 0; l < c->legs; l++) {
        if (c->w->pending[l] != WAITS || c->w->inner[l] != l)
            continue;
        any = true;
        c->w->pending[l] = QUEUED;
        close_push(c, l);
    }
    return any;
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
    close_carry_raw(&c);
    return c.overflow ? LEVEL_EOVERFLOW : LEVEL_OK;
}
