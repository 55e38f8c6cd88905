/* frame_cure.c - what a frame is to be, and the stakes to move */
#include "rodbook/frame.h"

#include "math.h"

#define RIGHT 1e-4 /* radians, and of a side: places written to 1/8 in over 100 ft are as good as that */

static const unsigned char end[SITE_FRAME_PAIRS][2] = { { 0, 1 }, { 1, 2 }, { 3, 2 }, { 0, 3 }, { 0, 2 }, { 1, 3 } };

static void
lengths_of(const double x[4], const double y[4], double length[SITE_FRAME_PAIRS])
{
    for (int p = 0; p < SITE_FRAME_PAIRS; p++)
        length[p] = hypot(x[end[p][1]] - x[end[p][0]], y[end[p][1]] - y[end[p][0]]);
}

/* Twice the area that the two sides at a corner span; its sign says which way they turn. */
static double
turn_at(const double x[4], const double y[4], unsigned k)
{
    unsigned before = (k + 3) % 4, after = (k + 1) % 4;
    return (x[after] - x[k]) * (y[before] - y[k]) - (y[after] - y[k]) * (x[before] - x[k]);
}

bool
site_frame_intend(struct site_frame_intent *i)
{
    int left = 0, right = 0;
    lengths_of(i->x, i->y, i->length);
    i->rectangle = true;
    for (unsigned k = 0; k < 4; k++) {
        unsigned before = (k + 3) % 4, after = (k + 1) % 4;
        double dot = (i->x[after] - i->x[k]) * (i->x[before] - i->x[k]) + (i->y[after] - i->y[k]) * (i->y[before] - i->y[k]);
        double turn = turn_at(i->x, i->y, k);
        left += turn > 0;
        right += turn < 0;
        i->rectangle = i->rectangle && fabs(dot) <= RIGHT * fabs(turn);
    }
    return left == 4 || right == 4;
}

/* ---- within ---- */

static bool
is_within(const struct site_frame_intent *i, const double length[SITE_FRAME_PAIRS])
{
    for (int p = SITE_FRAME_BASE; p <= SITE_FRAME_LEFT; p++)
        if (i->tolerance[p] > 0 && !(fabs(length[p] - i->length[p]) < i->tolerance[p]))
            return false;
    double off = length[SITE_FRAME_FIRST] - length[SITE_FRAME_OTHER] - (i->length[SITE_FRAME_FIRST] - i->length[SITE_FRAME_OTHER]);
    return !(i->square > 0) || fabs(off) < i->square;
}

/* ---- moves ---- */

struct directions {
    double ux, uy;         /* along the far line, from 3 to 2 */
    double vx[4], vy[4];   /* of the far corners, along their sides, away from the base */
};

static struct directions
directions_of(const struct site_frame_intent *i)
{
    struct directions d = { .ux = (i->x[2] - i->x[3]) / i->length[SITE_FRAME_FAR], .uy = (i->y[2] - i->y[3]) / i->length[SITE_FRAME_FAR] };
    d.vx[2] = (i->x[2] - i->x[1]) / i->length[SITE_FRAME_RIGHT];
    d.vy[2] = (i->y[2] - i->y[1]) / i->length[SITE_FRAME_RIGHT];
    d.vx[3] = (i->x[3] - i->x[0]) / i->length[SITE_FRAME_LEFT];
    d.vy[3] = (i->y[3] - i->y[0]) / i->length[SITE_FRAME_LEFT];
    return d;
}

/* From where a far corner is to its place: along u and v, which need not stand square on each other. */
static struct site_frame_move
whole_move(const struct directions *d, unsigned k, double dx, double dy)
{
    double det = d->ux * d->vy[k] - d->uy * d->vx[k];
    return (struct site_frame_move){ (dx * d->vy[k] - dy * d->vx[k]) / det, (d->ux * dy - d->uy * dx) / det };
}

struct moved {
    double x[4], y[4];
};

static struct moved
after_moves(const double x[4], const double y[4], const struct directions *d, const struct site_frame_move move[4])
{
    struct moved m;
    for (unsigned k = 0; k < 4; k++) {
        m.x[k] = x[k];
        m.y[k] = y[k];
    }
    m.x[1] += move[1].along;
    for (unsigned k = 2; k < 4; k++) {
        m.x[k] += move[k].along * d->ux + move[k].across * d->vx[k];
        m.y[k] += move[k].along * d->uy + move[k].across * d->vy[k];
    }
    return m;
}

static void
slide_both(const double x[4], const double y[4], const struct directions *d, struct site_frame_move move[4])
{
    double length[SITE_FRAME_PAIRS];
    struct moved m = after_moves(x, y, d, move);
    lengths_of(m.x, m.y, length);
    double first = length[SITE_FRAME_FIRST], other = length[SITE_FRAME_OTHER];
    double s = (other - first) * (other + first) / (2 * (length[SITE_FRAME_BASE] + length[SITE_FRAME_FAR]));
    move[2].along += s;
    move[3].along += s;
}

static void
moves_for(enum site_frame_cure_kind kind, const double x[4], const double y[4], const struct site_frame_intent *i,
    const double length[SITE_FRAME_PAIRS], struct site_frame_move move[4])
{
    struct directions d = directions_of(i);
    bool outside[SITE_FRAME_PAIRS];
    for (int p = SITE_FRAME_BASE; p <= SITE_FRAME_LEFT; p++)
        outside[p] = kind == SITE_FRAME_PLACES
            || (kind == SITE_FRAME_SIDES && i->tolerance[p] > 0 && !(fabs(length[p] - i->length[p]) < i->tolerance[p]));
    for (unsigned k = 0; k < 4; k++)
        move[k] = (struct site_frame_move){ 0, 0 };
    if (outside[SITE_FRAME_BASE])
        move[1].along = i->x[1] - x[1];
    for (unsigned k = 2; k < 4 && kind != SITE_FRAME_SLIDE; k++) {
        struct site_frame_move whole = whole_move(&d, k, i->x[k] - x[k], i->y[k] - y[k]);
        if (outside[SITE_FRAME_FAR])
            move[k].along = whole.along;
        if (outside[k == 2 ? SITE_FRAME_RIGHT : SITE_FRAME_LEFT])
            move[k].across = whole.across;
    }
    if (kind != SITE_FRAME_PLACES && !outside[SITE_FRAME_FAR])
        slide_both(x, y, &d, move);
}

void
site_frame_cure(const double x[4], const double y[4], const struct site_frame_intent *i, struct site_frame_cure *c)
{
    double length[SITE_FRAME_PAIRS];
    struct directions d = directions_of(i);
    lengths_of(x, y, length);
    *c = (struct site_frame_cure){ .kind = SITE_FRAME_LEAVE };
    for (int p = 0; p < SITE_FRAME_PAIRS; p++)
        c->after[p] = length[p];
    if (is_within(i, length))
        return;
    for (int kind = i->rectangle ? SITE_FRAME_SLIDE : SITE_FRAME_PLACES; kind <= SITE_FRAME_PLACES; kind++) {
        c->kind = (enum site_frame_cure_kind)kind;
        moves_for(c->kind, x, y, i, length, c->move);
        struct moved m = after_moves(x, y, &d, c->move);
        lengths_of(m.x, m.y, c->after);
        if (is_within(i, c->after))
            return;
    }
}
