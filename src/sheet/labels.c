/* labels.c - labels beside points, none over another */
#include "labels.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>

#define BESIDE 2.5     /* points, from a symbol to its label */
#define CELL 24.0      /* points, side of a square of the field that things are looked up in */
#define CROWD 70.0     /* points, within which a point feels crowded: as wide as a label */
#define NEAR 5.0       /* points, closer than which another symbol might be taken for the label's own */
#define COST_NEAR 3.0  /* in ranks of candidates */
#define COST_LINE 1.0   /* of a line that is covered... */
#define COST_COVER 5.0  /* ...and points of it that cost as much as a rank */
#define FARTHER 6.0    /* points more, so that a line beside the symbol is cleared */
#define COST_FORM 2.0
#define CANDIDATES 224 /* of one label: all rings, all directions, all forms */
#define ROUNDS 3       /* of exchanges; a fourth found nothing on crowded pages of 200 */
#define NOBODY UINT32_MAX

/* Rings of a leader: points from the symbol to the nearest corner or side of the box. */
static const double rings[] = { 11, 18, 27, 38, 52, 70, 92 };

#define RINGS (sizeof rings / sizeof rings[0])

/* Cosine and sine of sixteenths of a turn, counter-clockwise; y is down. Numbers, so that no library rounds them its own way. */
static const double direction[][2] = { { 1, 0 }, { 0.92388, -0.38268 }, { 0.70711, -0.70711 }, { 0.38268, -0.92388 }, { 0, -1 },
    { -0.38268, -0.92388 }, { -0.70711, -0.70711 }, { -0.92388, -0.38268 }, { -1, 0 }, { -0.92388, 0.38268 }, { -0.70711, 0.70711 },
    { -0.38268, 0.92388 }, { 0, 1 }, { 0.38268, 0.92388 }, { 0.70711, 0.70711 }, { 0.92388, 0.38268 } };

#define DIRECTIONS (sizeof direction / sizeof direction[0])

/* ---- boxes and lines ---- */

/* Narrows from ... to, shares of a line, to where p + t d is at least `low`, or at most with `sign` -1. */
static bool
narrow(double p, double d, double low, double sign, double *from, double *to)
{
    double at = sign * (low - p), step = sign * d;
    if (step > 0)
        *from = fmax(*from, at / step);
    else if (step < 0)
        *to = fmin(*to, at / step);
    else if (at > 0)
        return false;
    return *from <= *to;
}

bool
label_line_within(struct label_line *l, struct label_box b)
{
    double from = 0, to = 1, dx = l->x2 - l->x1, dy = l->y2 - l->y1;
    if (!narrow(l->x1, dx, b.left, 1, &from, &to) || !narrow(l->x1, dx, b.right, -1, &from, &to) ||
        !narrow(l->y1, dy, b.top, 1, &from, &to) || !narrow(l->y1, dy, b.bottom, -1, &from, &to))
        return false;
    *l = (struct label_line){ l->x1 + from * dx, l->y1 + from * dy, l->x1 + to * dx, l->y1 + to * dy };
    return true;
}

bool
label_line_meets_box(struct label_line l, struct label_box b)
{
    return label_line_within(&l, b);
}

static double
side(struct label_line l, double x, double y)
{
    return (l.x2 - l.x1) * (y - l.y1) - (l.y2 - l.y1) * (x - l.x1);
}

bool
label_lines_cross(struct label_line a, struct label_line b)
{
    double a1 = side(b, a.x1, a.y1), a2 = side(b, a.x2, a.y2), b1 = side(a, b.x1, b.y1), b2 = side(a, b.x2, b.y2);
    return ((a1 <= 0 && a2 >= 0) || (a1 >= 0 && a2 <= 0)) && ((b1 <= 0 && b2 >= 0) || (b1 >= 0 && b2 <= 0)) &&
        !(a1 == 0 && a2 == 0);
}

static struct label_box
grown(struct label_box b, double by)
{
    return (struct label_box){ b.left - by, b.top - by, b.right + by, b.bottom + by };
}

static struct label_box
box_of_line(struct label_line l)
{
    return (struct label_box){ fmin(l.x1, l.x2), fmin(l.y1, l.y2), fmax(l.x1, l.x2), fmax(l.y1, l.y2) };
}

static struct label_box
symbol_box(const struct label *l)
{
    return (struct label_box){ l->x - l->reach, l->y - l->reach, l->x + l->reach, l->y + l->reach };
}

static bool
inside(struct label_box b, struct label_box window)
{
    return b.left >= window.left && b.top >= window.top && b.right <= window.right && b.bottom <= window.bottom;
}

/* ---- the field: what stands where ---- */

/* A symbol, a label or a leader. */
struct thing {
    struct label_box box;
    struct label_line line; /* of a leader */
    uint32_t owner;         /* index of its label; NOBODY of a symbol without one */
    bool leader, symbol, gone;
};

struct node {
    uint32_t thing, cell, next; /* NOBODY ends a cell's list */
};

struct field {
    struct labels *of;
    struct thing *thing;
    size_t things, thing_room;
    struct node *node;
    size_t nodes, node_room;
    uint32_t *cell;       /* [columns * rows] first node */
    size_t columns, rows;
    uint32_t *text, *lead; /* [n] things of each label, or NOBODY */
    bool no_memory;
};

struct cells {
    size_t left, top, right, bottom;
};

static size_t
cell_at(double v, size_t cells)
{
    if (!(v > 0))
        return 0;
    return v / CELL >= (double)(cells - 1) ? cells - 1 : (size_t)(v / CELL);
}

static struct cells
cells_of(const struct field *f, struct label_box b)
{
    const struct label_box *w = &f->of->window;
    return (struct cells){ cell_at(b.left - w->left, f->columns), cell_at(b.top - w->top, f->rows),
        cell_at(b.right - w->left, f->columns), cell_at(b.bottom - w->top, f->rows) };
}

static void
add_node(struct field *f, size_t cell, uint32_t thing)
{
    struct node *node = room_for(f->node, &f->node_room, f->nodes, sizeof *node);
    if (!node) {
        f->no_memory = true;
        return;
    }
    f->node = node;
    node[f->nodes] = (struct node){ thing, (uint32_t)cell, f->cell[cell] };
    f->cell[cell] = (uint32_t)f->nodes++;
}

static uint32_t
add_thing(struct field *f, struct thing t)
{
    struct thing *grow = room_for(f->thing, &f->thing_room, f->things, sizeof t);
    if (!grow || f->no_memory) {
        f->thing = grow ? grow : f->thing;
        f->no_memory = true;
        return NOBODY;
    }
    f->thing = grow;
    grow[f->things] = t;
    struct cells c = cells_of(f, t.box);
    for (size_t y = c.top; y <= c.bottom; y++)
        for (size_t x = c.left; x <= c.right; x++)
            add_node(f, y * f->columns + x, (uint32_t)f->things);
    return (uint32_t)f->things++;
}

/* Forgets what was added last, until only so many are left. */
static void
forget(struct field *f, size_t things, size_t nodes)
{
    while (f->nodes > nodes) {
        const struct node *last = &f->node[--f->nodes];
        f->cell[last->cell] = last->next;
    }
    f->things = things;
}

/* Who stands in the way. */
struct blockers {
    bool fixed, several; /* a symbol; more than one label... */
    uint32_t one;        /* ...or this label only; NOBODY for none */
};

static void
note(struct blockers *b, const struct thing *t)
{
    if (t->symbol)
        b->fixed = true;
    else if (b->one == NOBODY)
        b->one = t->owner;
    else if (b->one != t->owner)
        b->several = true;
}

static bool
in_the_way(const struct thing *t, struct label_box box, const struct label_line *line)
{
    if (!label_boxes_meet(grown(t->box, 0.01), box))
        return false;
    if (line)
        return t->leader ? label_lines_cross(t->line, *line) : label_line_meets_box(*line, grown(t->box, LABELS_GAP / 2));
    return t->leader ? label_line_meets_box(t->line, box) : true;
}

/* What is in the way of a box, or with `line` of that line. Nothing of `me` is. */
static void
look(const struct field *f, struct label_box box, const struct label_line *line, uint32_t me, struct blockers *b)
{
    struct cells c = cells_of(f, box);
    for (size_t y = c.top; y <= c.bottom; y++)
        for (size_t x = c.left; x <= c.right; x++)
            for (uint32_t n = f->cell[y * f->columns + x]; n != NOBODY && !b->fixed && !b->several; n = f->node[n].next) {
                const struct thing *t = &f->thing[f->node[n].thing];
                if (!t->gone && t->owner != me && in_the_way(t, box, line))
                    note(b, t);
            }
}

static bool
near_symbol(const struct field *f, struct label_box box, uint32_t me)
{
    struct cells c = cells_of(f, box);
    for (size_t y = c.top; y <= c.bottom; y++)
        for (size_t x = c.left; x <= c.right; x++)
            for (uint32_t n = f->cell[y * f->columns + x]; n != NOBODY; n = f->node[n].next) {
                const struct thing *t = &f->thing[f->node[n].thing];
                if (t->symbol && t->owner != me && label_boxes_meet(t->box, box))
                    return true;
            }
    return false;
}

/* ---- candidates ---- */

struct candidate {
    struct label_box box;
    struct label_line lead;
    double rank;
    unsigned form;
    bool led;
};

static struct label_box
box_at(double left, double top, double width, double height)
{
    return (struct label_box){ left, top, left + width, top + height };
}

/* At the symbol: right, left, above, below, and the corners; then the first four again, a little farther off. */
static size_t
beside(const struct label *l, double width, double height, unsigned form, struct candidate *out)
{
    double off = l->reach + BESIDE, near = l->reach * 0.7 + BESIDE * 0.7, far = off + FARTHER;
    const struct label_box box[] = {
        box_at(l->x + off, l->y - height / 2, width, height),
        box_at(l->x - off - width, l->y - height / 2, width, height),
        box_at(l->x - width / 2, l->y - off - height, width, height),
        box_at(l->x - width / 2, l->y + off, width, height),
        box_at(l->x + near, l->y - l->reach - LABELS_GAP - height, width, height),
        box_at(l->x - near - width, l->y - l->reach - LABELS_GAP - height, width, height),
        box_at(l->x + near, l->y + l->reach + LABELS_GAP, width, height),
        box_at(l->x - near - width, l->y + l->reach + LABELS_GAP, width, height),
        box_at(l->x - width / 2, l->y - far - height, width, height),
        box_at(l->x - width / 2, l->y + far, width, height),
        box_at(l->x + far, l->y - height / 2, width, height),
        box_at(l->x - far - width, l->y - height / 2, width, height),
    };
    size_t n = sizeof box / sizeof box[0];
    for (size_t i = 0; i < n; i++)
        out[i] = (struct candidate){ .box = box[i], .form = form, .rank = (double)i + COST_FORM * form };
    return n;
}

/* From the edge of the symbol to the nearest point of a box. */
static struct label_line
lead_to(const struct label *l, struct label_box b)
{
    double x = fmin(fmax(l->x, b.left), b.right), y = fmin(fmax(l->y, b.top), b.bottom);
    double far = hypot(x - l->x, y - l->y), start = fmin(l->reach * 1.2 + 0.5, far);
    double share = far > 0 ? start / far : 0;
    return (struct label_line){ l->x + (x - l->x) * share, l->y + (y - l->y) * share, x, y };
}

/* Farther off, ring by ring. */
static size_t
led(const struct label *l, double width, double height, unsigned form, struct candidate *out)
{
    size_t n = 0;
    for (size_t r = 0; r < RINGS; r++)
        for (size_t d = 0; d < DIRECTIONS; d++, n++) {
            double x = direction[d][0], y = direction[d][1], far = l->reach + rings[r];
            struct label_box b = box_at(l->x + x * far - (x < -0.1 ? width : x > 0.1 ? 0 : width / 2),
                l->y + y * far - (y < -0.1 ? height : y > 0.1 ? 0 : height / 2), width, height);
            out[n] = (struct candidate){ .box = b, .form = form, .rank = 4 * (double)r + 0.01 * (double)d + COST_FORM * form, .led = true,
                .lead = lead_to(l, b) };
        }
    return n;
}

/* On its line: the middle, then towards the ends in turn. */
static size_t
on_line(const struct label *l, struct candidate *out)
{
    size_t n = 0;
    for (int i = 0; i < 15; i++, n++) {
        int steps = (i + 1) / 2;
        double t = 0.5 + 0.06 * (i % 2 ? steps : -steps), x = l->x + t * (l->x2 - l->x), y = l->y + t * (l->y2 - l->y);
        out[i] = (struct candidate){ .box = box_at(x - l->width[0] / 2, y - l->height[0] / 2, l->width[0], l->height[0]), .rank = i };
    }
    return n;
}

static size_t
candidates(const struct label *l, enum label_how how, struct candidate out[CANDIDATES])
{
    size_t n = 0;
    if (l->on_line)
        return how == LABEL_BESIDE ? on_line(l, out) : 0;
    if (how == LABEL_KEYED && l->key_width > 0) {
        n = beside(l, l->key_width, l->key_height, 0, out);
        return n + led(l, l->key_width, l->key_height, 1, out + n);
    }
    for (unsigned form = 0; how != LABEL_KEYED && form < LABEL_FORMS; form++)
        if (l->width[form] > 0)
            n += how == LABEL_BESIDE ? beside(l, l->width[form], l->height[form], form, out + n)
                                     : led(l, l->width[form], l->height[form], form, out + n);
    return n;
}

/* ---- one label ---- */

static bool
covers_line(const struct field *f, struct label_box box, double *cost)
{
    bool covers = false;
    for (size_t i = 0; i < f->of->lines; i++) {
        struct label_line part = f->of->line[i];
        if (!label_line_within(&part, box))
            continue;
        *cost += (COST_LINE + hypot(part.x2 - part.x1, part.y2 - part.y1) / COST_COVER) * (f->of->weight ? f->of->weight[i] : 1);
        covers = true;
    }
    return covers;
}

static struct blockers
blockers_of(const struct field *f, uint32_t me, const struct candidate *c)
{
    struct blockers b = { .one = NOBODY };
    look(f, grown(c->box, LABELS_GAP), NULL, me, &b);
    if (c->led)
        look(f, grown(box_of_line(c->lead), LABELS_GAP), &c->lead, me, &b);
    return b;
}

static bool
is_free(struct blockers b)
{
    return !b.fixed && b.one == NOBODY;
}

/* A candidate's own symbol is in its way where that is large: leaders of small boxes run round it. */
static bool
fits(const struct field *f, uint32_t me, const struct candidate *c)
{
    const struct label *l = &f->of->label[me];
    return inside(c->box, f->of->window) && (l->reach <= 0 || !label_boxes_meet(symbol_box(l), c->box));
}

/* The free candidate of least cost; false where none is free. */
static bool
best(const struct field *f, uint32_t me, enum label_how how, struct candidate *out)
{
    struct candidate c[CANDIDATES];
    size_t n = candidates(&f->of->label[me], how, c);
    double least = INFINITY;
    bool found = false;
    for (size_t i = 0; i < n; i++) {
        double cost = c[i].rank;
        if (!(cost < least) || !fits(f, me, &c[i]) || !is_free(blockers_of(f, me, &c[i])))
            continue;
        if (!f->of->label[me].on_line)
            covers_line(f, c[i].box, &cost);
        if (cost < least && near_symbol(f, grown(c[i].box, NEAR), me))
            cost += COST_NEAR;
        if (!(cost < least))
            continue;
        least = cost;
        *out = c[i];
        found = true;
    }
    return found;
}

static void
settle(struct field *f, uint32_t me, enum label_how how, const struct candidate *c)
{
    struct label *l = &f->of->label[me];
    double cost = 0;
    l->how = how;
    l->form = c->form;
    l->box = c->box;
    l->led = c->led;
    l->lead = c->lead;
    l->on_lines = covers_line(f, c->box, &cost);
    struct label_box aside = c->box;
    aside.left -= LABELS_ASIDE - LABELS_GAP;
    aside.right += LABELS_ASIDE - LABELS_GAP;
    f->text[me] = add_thing(f, (struct thing){ .box = aside, .owner = me });
    f->lead[me] = c->led ? add_thing(f, (struct thing){ .box = box_of_line(c->lead), .line = c->lead, .owner = me, .leader = true }) : NOBODY;
}

static void
set_gone(struct field *f, uint32_t text, uint32_t lead, bool gone)
{
    if (text != NOBODY)
        f->thing[text].gone = gone;
    if (lead != NOBODY)
        f->thing[lead].gone = gone;
}

static bool
place(struct field *f, uint32_t me, enum label_how how)
{
    struct candidate c;
    if (f->no_memory || !best(f, me, how, &c))
        return false;
    settle(f, me, how, &c);
    return true;
}

/* Puts `me` on a candidate where only `other` stands, and `other` at its symbol elsewhere; or leaves all as it was. */
static bool
swap(struct field *f, uint32_t me, const struct candidate *c, uint32_t other)
{
    struct label was = f->of->label[other], mine = f->of->label[me];
    uint32_t text = f->text[other], lead = f->lead[other];
    size_t things = f->things, nodes = f->nodes;
    set_gone(f, text, lead, true);
    settle(f, me, LABEL_BESIDE, c);
    if (place(f, other, LABEL_BESIDE))
        return true;
    set_gone(f, text, lead, false);
    forget(f, things, nodes);
    f->of->label[me] = mine;
    f->of->label[other] = was;
    f->text[other] = text;
    f->lead[other] = lead;
    f->text[me] = f->lead[me] = NOBODY;
    return false;
}

/* A place where only one other label stands, and that one has another to go to. */
static bool
exchange(struct field *f, uint32_t me)
{
    struct candidate c[CANDIDATES];
    size_t n = candidates(&f->of->label[me], LABEL_BESIDE, c);
    for (size_t i = 0; i < n && !f->no_memory; i++) {
        if (!fits(f, me, &c[i]))
            continue;
        struct blockers b = blockers_of(f, me, &c[i]);
        if (!b.fixed && !b.several && b.one != NOBODY && swap(f, me, &c[i], b.one))
            return true;
    }
    return false;
}

/* ---- all of them ---- */

struct turn {
    uint32_t label, crowd;
};

static int
compare_turns(const void *one, const void *other)
{
    const struct turn *a = one, *b = other;
    if (a->crowd != b->crowd)
        return a->crowd > b->crowd ? -1 : 1;
    return a->label < b->label ? -1 : 1;
}

/* The order in which labels choose; returns how many are not minor: they come first. */
static size_t
turns(const struct labels *l, struct turn *turn)
{
    size_t n = 0, minor = l->n;
    for (uint32_t i = 0; i < l->n; i++) {
        const struct label *a = &l->label[i];
        uint32_t crowd = 0;
        for (size_t j = 0; !a->minor && j < l->n; j++)
            crowd += fabs(l->label[j].x - a->x) < CROWD && fabs(l->label[j].y - a->y) < CROWD / 2;
        turn[a->minor ? --minor : n++] = (struct turn){ i, crowd };
    }
    qsort(turn, n, sizeof *turn, compare_turns);
    qsort(turn + n, l->n - n, sizeof *turn, compare_turns);
    return n;
}

static void
place_turns(struct field *f, const struct turn *turn, size_t n, enum label_how how)
{
    for (size_t i = 0; i < n; i++)
        if (f->of->label[turn[i].label].how == LABEL_NOWHERE)
            (void)place(f, turn[i].label, how);
}

/* With every exchange somebody's place may come free. */
static void
exchange_turns(struct field *f, const struct turn *turn, size_t n)
{
    bool moved = true;
    for (int round = 0; moved && round < ROUNDS; round++) {
        moved = false;
        for (size_t i = 0; i < n; i++)
            if (f->of->label[turn[i].label].how == LABEL_NOWHERE)
                moved |= place(f, turn[i].label, LABEL_BESIDE) || exchange(f, turn[i].label);
    }
}

static int
open_field(struct field *f, struct labels *l)
{
    *f = (struct field){ .of = l };
    f->columns = 1 + (size_t)fmax(0, (l->window.right - l->window.left) / CELL);
    f->rows = 1 + (size_t)fmax(0, (l->window.bottom - l->window.top) / CELL);
    f->cell = room_new(f->columns * f->rows, sizeof *f->cell);
    f->text = room_new(l->n, sizeof *f->text);
    f->lead = room_new(l->n, sizeof *f->lead);
    if (!f->cell || !f->text || !f->lead)
        return -1;
    for (size_t i = 0; i < f->columns * f->rows; i++)
        f->cell[i] = NOBODY;
    for (uint32_t i = 0; i < l->n; i++) {
        struct label *label = &l->label[i];
        label->how = LABEL_NOWHERE;
        label->led = label->on_lines = false;
        f->text[i] = f->lead[i] = NOBODY;
        if (label->reach > 0)
            (void)add_thing(f, (struct thing){ .box = symbol_box(label), .owner = i, .symbol = true });
    }
    for (size_t i = 0; i < l->takens; i++)
        (void)add_thing(f, (struct thing){ .box = l->taken[i], .owner = NOBODY, .symbol = true });
    return f->no_memory ? -1 : 0;
}

int
labels_place(struct labels *l)
{
    struct field f;
    struct turn *turn = room_new(l->n, sizeof *turn);
    int rc = open_field(&f, l) == 0 && turn ? 0 : -1;
    size_t n = rc == 0 ? turns(l, turn) : 0;
    if (rc == 0) {
        place_turns(&f, turn, n, LABEL_BESIDE);
        exchange_turns(&f, turn, n);
        place_turns(&f, turn, n, LABEL_LED);
        place_turns(&f, turn, n, LABEL_KEYED);
    }
    for (size_t i = n; rc == 0 && i < l->n; i++)
        (void)place(&f, turn[i].label, LABEL_BESIDE);
    if (f.no_memory)
        rc = -1;
    free(turn);
    free(f.thing);
    free(f.node);
    free(f.cell);
    free(f.text);
    free(f.lead);
    return rc;
}
