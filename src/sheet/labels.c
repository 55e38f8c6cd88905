/* labels.c - labels beside points, none over another */
#include "labels.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>

#define BESIDE 2.5     /* points, from a symbol to its label */
#define CELL 24.0      /* points, side of a square of the field that things are looked up in */
#define CROWD 70.0     /* points, within which a point feels crowded: as wide as a label */
#define NEAR 5.0       /* points more than to its own: another symbol that close might be taken for the label's own */
#define FOREIGN 1.25   /* heights of its name that a label's far end keeps from another symbol... */
#define FOREIGN_LINE 1.6 /* ...and from one in line with it: words that begin beside a symbol are read as its own... */
#define FOREIGN_LIKED 2.5 /* ...or rather more */
#define COST_IN_LINE 6.0
#define LED_NEAR 8.0   /* points within which a led label keeps from other symbols where it can */
#define COST_NEAR 3.0  /* in ranks of candidates */
#define COST_NAME 8.0  /* points from a symbol to the name of its label that cost as much as a rank */
#define COST_TOUCH 1.5 /* of a line that a box comes too close to, and again where it is squeezed against it */
#define COST_SIDE 1.6  /* of a neighbour in the row whose label stands on another side */
#define ROW_OFF 2.0    /* points that marks of a row may be off it... */
#define ROW_FAR 170.0  /* ...and apart */
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

struct label_box
label_name(const struct label *l, unsigned form, struct label_box b)
{
    if (!(l->name_width > 0))
        return b;
    double left = form == 1 || b.left >= l->x ? b.left : b.right <= l->x ? b.right - l->name_width : (b.left + b.right - l->name_width) / 2;
    return (struct label_box){ left, b.top, left + l->name_width, fmin(b.bottom, b.top + l->name_height) };
}

/* Squared: it is asked for each symbol near each place that is tried. */
static double
apart_squared(const struct label_box *a, const struct label_box *b)
{
    double x = a->left > b->right ? a->left - b->right : b->left > a->right ? b->left - a->right : 0;
    double y = a->top > b->bottom ? a->top - b->bottom : b->top > a->bottom ? b->top - a->bottom : 0;
    return x * x + y * y;
}

double
label_apart(struct label_box a, struct label_box b)
{
    return sqrt(apart_squared(&a, &b));
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

/* The nearest labels in line with one: right, left, below, above it; NOBODY. */
struct row {
    uint32_t next[4];
};

/* What is done to lines of LABELS_FIRM. */
enum sparing { COVER_FIRM, TOUCH_FIRM, SPARE_FIRM };

/* On which side of their points labels are to stand: -1 above, 0 level with them, 1 below; `across`: left, over, right. */
struct one_side {
    bool on, across;
    int side;
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
    struct row *row;       /* [n] */
    double *cost;          /* [n] of where it stands, its row apart */
    struct one_side only; /* what is placed stands so */
    enum sparing sparing;
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
    bool any;            /* asked: one is enough, whoever it is */
};

static bool
is_settled(const struct blockers *b)
{
    return b->fixed || b->several || (b->any && b->one != NOBODY);
}

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

/* A label takes more room along its line than it is wide: for other labels, not for leaders. */
static struct label_box
aside(struct label_box b, double by)
{
    return (struct label_box){ b.left - by, b.top, b.right + by, b.bottom };
}

static bool
in_the_way(const struct thing *t, struct label_box box, const struct label_line *line)
{
    if (!label_boxes_meet(grown(t->box, 0.01), box))
        return false;
    if (line && t->leader)
        return label_lines_cross(t->line, *line);
    if (line)
        return label_line_meets_box(*line, grown(t->symbol ? t->box : aside(t->box, LABELS_GAP - LABELS_ASIDE), LABELS_GAP / 2));
    return t->leader ? label_line_meets_box(t->line, box) : true;
}

/* What is in the way of a box, or with `line` of that line. Nothing of `me` is. */
static void
look(const struct field *f, struct label_box box, const struct label_line *line, uint32_t me, struct blockers *b)
{
    struct cells c = cells_of(f, box);
    for (size_t y = c.top; y <= c.bottom; y++)
        for (size_t x = c.left; x <= c.right; x++)
            for (uint32_t n = f->cell[y * f->columns + x]; n != NOBODY && !is_settled(b); n = f->node[n].next) {
                const struct thing *t = &f->thing[f->node[n].thing];
                if (!t->gone && t->owner != me && in_the_way(t, box, line))
                    note(b, t);
            }
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

/* From the edge of the symbol to the nearest point of a box. */
static struct label_line
lead_to(const struct label *l, struct label_box b)
{
    double x = fmin(fmax(l->x, b.left), b.right), y = fmin(fmax(l->y, b.top), b.bottom);
    double far = hypot(x - l->x, y - l->y), start = fmin(l->reach * 1.2 + 0.5, far);
    double share = far > 0 ? start / far : 0;
    return (struct label_line){ l->x + (x - l->x) * share, l->y + (y - l->y) * share, x, y };
}

/* At the symbol: right, left, above, below, and the corners; then the first four again, a little farther off, with a leader. */
static size_t
beside(const struct label *l, double width, double height, unsigned form, struct candidate *out)
{
    double off = l->reach + BESIDE, near = l->reach * 0.7 + BESIDE * 0.7, far = off + FARTHER;
    double middle = form == 1 && l->name_width > 0 ? l->name_width / 2 : width / 2; /* the name is over its symbol, if not all is */
    const struct label_box box[] = {
        box_at(l->x + off, l->y - height / 2, width, height),
        box_at(l->x - off - width, l->y - height / 2, width, height),
        box_at(l->x - middle, l->y - off - height, width, height),
        box_at(l->x - middle, l->y + off, width, height),
        box_at(l->x + near, l->y - l->reach - LABELS_GAP - height, width, height),
        box_at(l->x - near - width, l->y - l->reach - LABELS_GAP - height, width, height),
        box_at(l->x + near, l->y + l->reach + LABELS_GAP, width, height),
        box_at(l->x - near - width, l->y + l->reach + LABELS_GAP, width, height),
        box_at(l->x - middle, l->y - far - height, width, height),
        box_at(l->x - middle, l->y + far, width, height),
        box_at(l->x + far, l->y - height / 2, width, height),
        box_at(l->x - far - width, l->y - height / 2, width, height),
    };
    size_t n = sizeof box / sizeof box[0];
    for (size_t i = 0; i < n; i++) {
        out[i] = (struct candidate){ .box = box[i], .form = form, .rank = (double)i + COST_FORM * form };
        out[i].led = label_apart(box[i], label_symbol(l)) > LABELS_CLOSE;
        out[i].lead = lead_to(l, box[i]);
    }
    return n;
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

/* What a box costs of a line; INFINITY: it must not stand there. */
static double
line_cost(const struct field *f, size_t i, struct label_box box, bool *covers)
{
    double weight = f->of->weight ? f->of->weight[i] : 1;
    struct label_line part = f->of->line[i], beside = part;
    if (!label_line_within(&beside, grown(box, LABELS_CLEAR)))
        return 0;
    bool squeezed = label_line_within(&beside, grown(box, LABELS_CLEAR / 2));
    if (!label_line_within(&part, box))
        return f->sparing == SPARE_FIRM && weight >= LABELS_FIRM ? INFINITY : COST_TOUCH * fmin(1, weight) * (squeezed ? 2 : 1);
    *covers = true;
    if (weight >= LABELS_NEVER || (f->sparing != COVER_FIRM && weight >= LABELS_FIRM))
        return INFINITY;
    return (COST_LINE + hypot(part.x2 - part.x1, part.y2 - part.y1) / COST_COVER) * weight;
}

static double
lines_cost(const struct field *f, struct label_box box, bool *covers)
{
    double cost = 0;
    *covers = false;
    for (size_t i = 0; i < f->of->lines && cost < INFINITY; i++)
        cost += line_cost(f, i, box, covers);
    return cost;
}

/* How near other symbols are to a label, and to its name; and to that end of it which its own is farther from: to those in line
 * with it, and to any. */
struct others {
    double box, name, in_line, end;
};

/* From where a box is nearest to another symbol, how far its own is. Squared. */
static double
own_from_there(const struct label_box *box, const struct label_box *other, const struct label_box *own)
{
    double x = (other->left + other->right) / 2, y = (other->top + other->bottom) / 2;
    x = x < box->left ? box->left : x > box->right ? box->right : x;
    y = y < box->top ? box->top : y > box->bottom ? box->bottom : y;
    const struct label_box there = { x, y, x, y };
    return apart_squared(&there, own);
}

/* The same where what is above or below counts twice: words are read along their line. Squared. */
static double
read_apart_squared(const struct label_box *a, const struct label_box *b)
{
    const struct label_box one = { a->left, 2 * a->top, a->right, 2 * a->bottom }, other = { b->left, 2 * b->top, b->right, 2 * b->bottom };
    return apart_squared(&one, &other);
}

/* One more symbol; `wide`: how near, squared, one must be to a label's far end to be taken for its own. */
static void
note_other(struct others *near, const struct label_box *other, const struct label_box *box, const struct label_box *name,
    const struct label_box *own, double wide)
{
    double to_box = apart_squared(other, box), to_name = apart_squared(other, name);
    near->box = to_box < near->box ? to_box : near->box;
    near->name = to_name < near->name ? to_name : near->name;
    if (!(to_box < wide) || own_from_there(box, other, own) <= to_box)
        return;
    double read = read_apart_squared(other, box);
    near->end = read < near->end ? read : near->end;
    if (other->top < box->bottom && other->bottom > box->top && to_box < near->in_line)
        near->in_line = to_box;
}

static struct others
nearest_others(const struct field *f, uint32_t me, struct label_box box, struct label_box name, double within, double wide)
{
    struct others near = { INFINITY, INFINITY, INFINITY, INFINITY };
    struct label_box own = label_symbol(&f->of->label[me]);
    const struct label_box reach = aside(grown(box, within), fmax(0, wide - within)); /* above and below half of `wide` is enough */
    struct cells c = cells_of(f, reach);
    for (size_t y = c.top; y <= c.bottom; y++)
        for (size_t x = c.left; x <= c.right; x++)
            for (uint32_t n = f->cell[y * f->columns + x]; n != NOBODY; n = f->node[n].next) {
                const struct thing *t = &f->thing[f->node[n].thing];
                if (!t->symbol || t->owner == me || !label_boxes_meet(t->box, reach) || label_boxes_meet(t->box, own))
                    continue; /* of those in one place no label can tell which it is of */
                bool idle = t->owner == NOBODY || f->of->label[t->owner].idle;
                note_other(&near, &t->box, &box, &name, &own, idle ? 0 : wide * wide);
            }
    return (struct others){ sqrt(near.box), sqrt(near.name), sqrt(near.in_line), sqrt(near.end) };
}

/* True where more than a name stands in a label: a move that is read at the wrong symbol is dug there. */
static bool
says_more(const struct label *l, const struct candidate *c)
{
    return l->name_width > 0 && (c->form == 1 || l->height[c->form] > l->name_height + 0.01);
}

/* How far its far end keeps from other symbols: half as far where its middle is over its own, or under it, for then no end begins it. */
static double
foreign_of(const struct label *l, const struct candidate *c)
{
    bool over = fabs((c->box.left + c->box.right) / 2 - l->x) < (c->box.right - c->box.left) / 8;
    double least = fmax(LABELS_FOREIGN, FOREIGN * l->name_height);
    return over ? least / 2 : least;
}

/* What a place costs that might be taken for another symbol's; INFINITY: it would be, and no leader says whose it is. */
static double
symbols_cost(const struct field *f, uint32_t me, const struct candidate *c)
{
    const struct label *l = &f->of->label[me];
    struct label_box name = label_name(l, c->form, c->box), own = label_symbol(l);
    double box_far = label_apart(c->box, own), name_far = label_apart(name, own), cost = fmax(0, name_far - LABELS_CLOSE) / COST_NAME;
    double high = says_more(l, c) ? l->name_height : 0, foreign = high > 0 ? foreign_of(l, c) : 0;
    struct others near = nearest_others(f, me, c->box, name, fmax(foreign / 2, c->led ? LED_NEAR : name_far + NEAR), FOREIGN_LIKED * high);
    if (high > 0 && (near.end < foreign || near.in_line < FOREIGN_LINE * high))
        return INFINITY;
    cost += near.in_line < FOREIGN_LIKED * high ? COST_IN_LINE : 0;
    if (c->led)
        return cost + (near.box < LED_NEAR ? COST_NEAR : 0);
    if (near.name <= name_far || near.box <= box_far)
        return INFINITY;
    return near.name < name_far + NEAR || near.box < box_far + NEAR ? cost + COST_NEAR : cost;
}

/* On which side of its point a box stands: -1, 0 or 1 of what is above, level with it, below; or left, level, right. */
static int
side_of(struct label_box b, const struct label *l, bool across)
{
    double low = across ? b.left : b.top, high = across ? b.right : b.bottom, at = across ? l->x : l->y;
    return high <= at ? -1 : low >= at ? 1 : 0;
}

/* Of neighbours in the row whose labels stand on another side. */
static double
row_cost(const struct field *f, uint32_t me, struct label_box box)
{
    double cost = 0;
    for (int k = 0; k < 4; k++) {
        uint32_t next = f->row[me].next[k];
        const struct label *other = next == NOBODY ? NULL : &f->of->label[next];
        if (other && (other->how == LABEL_BESIDE || other->how == LABEL_LED) &&
            side_of(other->box, other, k >= 2) != side_of(box, &f->of->label[me], k >= 2))
            cost += COST_SIDE;
    }
    return cost;
}

static struct blockers
blockers_of(const struct field *f, uint32_t me, const struct candidate *c, bool any)
{
    struct blockers b = { .one = NOBODY, .any = any };
    look(f, grown(c->box, LABELS_GAP), NULL, me, &b);
    if (c->led && !is_settled(&b))
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
    return inside(c->box, f->of->window) && (l->reach <= 0 || !label_boxes_meet(label_symbol(l), c->box));
}

/* What a place costs for the lines that it covers and the row that it leaves. */
static double
place_cost(const struct field *f, uint32_t me, const struct candidate *c)
{
    bool covers;
    double cost = lines_cost(f, c->box, &covers);
    if (f->of->label[me].on_line)
        return cost < LABELS_NEVER ? 0 : INFINITY;
    return cost + row_cost(f, me, c->box);
}

/* True where a name stands there, which might be taken for another's. */
static bool
has_name(const struct field *f, uint32_t me, enum label_how how)
{
    return !f->of->label[me].on_line && how != LABEL_KEYED;
}

/* The free candidate of least cost; false where none is free. */
static bool
best(const struct field *f, uint32_t me, enum label_how how, struct candidate *out)
{
    struct candidate c[CANDIDATES];
    const struct label *l = &f->of->label[me];
    size_t n = candidates(l, how, c);
    double least = INFINITY;
    for (size_t i = 0; i < n; i++) {
        bool aside = f->only.on && side_of(c[i].box, l, f->only.across) != f->only.side;
        if (!(c[i].rank < least) || aside || !fits(f, me, &c[i]))
            continue;
        if (!is_free(blockers_of(f, me, &c[i], true)))
            continue;
        double cost = c[i].rank + place_cost(f, me, &c[i]);
        if (!(cost < least))
            continue;
        cost += has_name(f, me, how) ? symbols_cost(f, me, &c[i]) : 0;
        if (!(cost < least))
            continue;
        least = cost;
        *out = c[i];
        f->cost[me] = l->on_line ? cost : cost - row_cost(f, me, c[i].box);
    }
    return least < INFINITY;
}

static void
settle(struct field *f, uint32_t me, enum label_how how, const struct candidate *c)
{
    struct label *l = &f->of->label[me];
    l->how = how;
    l->form = c->form;
    l->box = c->box;
    l->led = c->led;
    l->lead = c->lead;
    (void)lines_cost(f, c->box, &l->on_lines);
    f->text[me] = add_thing(f, (struct thing){ .box = aside(c->box, LABELS_ASIDE - LABELS_GAP), .owner = me });
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
    struct candidate c = { 0 };
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
        if (!fits(f, me, &c[i]) || !(place_cost(f, me, &c[i]) < INFINITY))
            continue;
        struct blockers b = blockers_of(f, me, &c[i], false);
        bool alone = !b.fixed && !b.several && b.one != NOBODY;
        if (alone && (!has_name(f, me, LABEL_BESIDE) || symbols_cost(f, me, &c[i]) < INFINITY) && swap(f, me, &c[i], b.one))
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

/* Whoever stands chooses once more: at its symbol if there is a place now, else farther off. The place it has is free for it. */
static void
choose_again(struct field *f, const struct turn *turn, size_t n)
{
    for (size_t i = 0; i < n && !f->no_memory; i++) {
        uint32_t me = turn[i].label;
        struct label was = f->of->label[me];
        uint32_t text = f->text[me], lead = f->lead[me];
        if (was.how != LABEL_BESIDE && was.how != LABEL_LED)
            continue;
        set_gone(f, text, lead, true);
        if (place(f, me, LABEL_BESIDE) || place(f, me, LABEL_LED))
            continue;
        set_gone(f, text, lead, false);
    }
}

/* ---- rows ---- */

#define ROW_LEAST 3
#define ROW_MOST 24
#define ROWS_LABELS 80 /* of pages with more labels rows are not turned as one: they have no room for it */

struct line_up {
    uint32_t label[ROW_MOST];
    size_t n;
    bool across;
};

/* The labels in line from one that has none before it; none where that is not so. */
static struct line_up
line_up_from(const struct field *f, uint32_t first, bool across)
{
    struct line_up r = { .across = across };
    int ahead = across ? 2 : 0;
    for (uint32_t i = f->row[first].next[ahead + 1] == NOBODY ? first : NOBODY; i != NOBODY && r.n < ROW_MOST; i = f->row[i].next[ahead])
        r.label[r.n++] = i;
    return r;
}

/* What a row costs as it stands; INFINITY where somebody in it is not there in words. */
static double
line_up_cost(const struct field *f, const struct line_up *r)
{
    double cost = 0;
    for (size_t i = 0; i < r->n; i++) {
        const struct label *l = &f->of->label[r->label[i]], *before = &f->of->label[r->label[i > 0 ? i - 1 : 0]];
        if (l->how != LABEL_BESIDE && l->how != LABEL_LED)
            return INFINITY;
        cost += f->cost[r->label[i]];
        if (side_of(l->box, l, r->across) != side_of(before->box, before, r->across))
            cost += 2 * COST_SIDE;
    }
    return cost;
}

/* All of a row on one side, if they can, and that costs less than it does now. */
static void
try_side(struct field *f, const struct line_up *r, int side)
{
    struct label was[ROW_MOST];
    uint32_t text[ROW_MOST], lead[ROW_MOST];
    double cost[ROW_MOST], before = line_up_cost(f, r);
    size_t things = f->things, nodes = f->nodes;
    bool all = true;
    for (size_t i = 0; i < r->n; i++) {
        uint32_t me = r->label[i];
        was[i] = f->of->label[me], text[i] = f->text[me], lead[i] = f->lead[me], cost[i] = f->cost[me];
        set_gone(f, text[i], lead[i], true);
        f->of->label[me].how = LABEL_NOWHERE;
    }
    f->only = (struct one_side){ true, r->across, side };
    for (size_t i = 0; all && i < r->n; i++)
        all = place(f, r->label[i], LABEL_BESIDE);
    f->only.on = false;
    if (all && line_up_cost(f, r) < before - 0.01)
        return;
    forget(f, things, nodes);
    for (size_t i = 0; i < r->n; i++) {
        uint32_t me = r->label[i];
        f->of->label[me] = was[i], f->text[me] = text[i], f->lead[me] = lead[i], f->cost[me] = cost[i];
        set_gone(f, text[i], lead[i], false);
    }
}

/* Rows are turned to one side, where that costs less than standing here and there. */
static void
turn_rows(struct field *f)
{
    for (uint32_t i = 0; f->of->n <= ROWS_LABELS && i < 2 * f->of->n && !f->no_memory; i++) {
        const struct line_up r = line_up_from(f, i / 2, i % 2);
        for (int side = -1; r.n >= ROW_LEAST && side <= 1; side++)
            if (line_up_cost(f, &r) < INFINITY)
                try_side(f, &r, side);
    }
}

/* The nearest labels in line with one. */
static struct row
row_of(const struct labels *l, uint32_t me)
{
    struct row row = { { NOBODY, NOBODY, NOBODY, NOBODY } };
    double least[4] = { ROW_FAR, ROW_FAR, ROW_FAR, ROW_FAR };
    const struct label *a = &l->label[me];
    for (uint32_t i = 0; !a->minor && !a->on_line && i < l->n; i++) {
        const struct label *b = &l->label[i];
        double dx = b->x - a->x, dy = b->y - a->y;
        bool level = fabs(dy) <= ROW_OFF, upright = fabs(dx) <= ROW_OFF;
        if (i == me || b->minor || b->on_line || level == upright)
            continue;
        int k = level ? (dx > 0 ? 0 : 1) : dy > 0 ? 2 : 3;
        double far = level ? fabs(dx) : fabs(dy);
        if (far < least[k]) {
            least[k] = far;
            row.next[k] = i;
        }
    }
    return row;
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
    f->row = room_new(l->n, sizeof *f->row);
    f->cost = room_new(l->n, sizeof *f->cost);
    if (!f->cell || !f->text || !f->lead || !f->row || !f->cost)
        return -1;
    for (size_t i = 0; i < f->columns * f->rows; i++)
        f->cell[i] = NOBODY;
    for (uint32_t i = 0; i < l->n; i++) {
        struct label *label = &l->label[i];
        label->how = LABEL_NOWHERE;
        label->led = label->on_lines = false;
        f->text[i] = f->lead[i] = NOBODY;
        f->row[i] = row_of(l, i);
        if (label->reach > 0)
            (void)add_thing(f, (struct thing){ .box = label_symbol(label), .owner = i, .symbol = true });
    }
    for (size_t i = 0; i < l->takens; i++)
        (void)add_thing(f, (struct thing){ .box = l->taken[i], .owner = NOBODY, .symbol = true });
    return f->no_memory ? -1 : 0;
}

/* Each way of standing after the other; the first n are not minor. */
static void
place_all(struct field *f, const struct turn *turn, size_t n)
{
    static const enum sparing later[] = { TOUCH_FIRM, COVER_FIRM }, minor[] = { SPARE_FIRM, TOUCH_FIRM };
    f->sparing = SPARE_FIRM;
    place_turns(f, turn, n, LABEL_BESIDE);
    exchange_turns(f, turn, n);
    place_turns(f, turn, n, LABEL_LED);
    choose_again(f, turn, n);
    turn_rows(f);
    for (size_t i = 0; i < 2; i++) {
        f->sparing = later[i];
        place_turns(f, turn, n, LABEL_BESIDE);
        place_turns(f, turn, n, LABEL_LED);
    }
    place_turns(f, turn, n, LABEL_KEYED);
    for (size_t i = 0; i < 2; i++) {
        f->sparing = minor[i];
        place_turns(f, turn + n, f->of->n - n, LABEL_BESIDE);
    }
    for (size_t i = n; i < f->of->n; i++)
        if (f->of->label[turn[i].label].idle)
            place_turns(f, turn + i, 1, LABEL_LED);
}

int
labels_place(struct labels *l)
{
    struct field f;
    struct turn *turn = room_new(l->n, sizeof *turn);
    int rc = open_field(&f, l) == 0 && turn ? 0 : -1;
    size_t n = rc == 0 ? turns(l, turn) : 0;
    if (rc == 0)
        place_all(&f, turn, n);
    if (f.no_memory)
        rc = -1;
    free(turn);
    free(f.thing);
    free(f.node);
    free(f.cell);
    free(f.text);
    free(f.lead);
    free(f.row);
    free(f.cost);
    return rc;
}
