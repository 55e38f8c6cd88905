#include "rodbook/dig.h"

static struct site_dig_level
less(struct site_dig_level a, struct site_dig_level b)
{
    bool known = a.known && b.known;
    return (struct site_dig_level){ known, known ? a.at - b.at : 0 };
}

static struct site_dig_level
plus(struct site_dig_level a, length more)
{
    return (struct site_dig_level){ a.known, a.known ? a.at + more : 0 };
}

/* A footing lies below grade and in the ground; what was read higher is the top of the post itself. */
static bool
is_of_post(const struct site_dig_given *g)
{
    const struct site_dig_level *most = g->grade.known ? &g->grade : &g->ground;
    return g->top.known && most->known && g->top.at >= most->at;
}

static enum site_dig_verdict
judge(struct site_dig_level over, double doubt)
{
    if (!over.known)
        return SITE_DIG_NOTHING;
    if (over.at >= 0 && (double)over.at >= doubt)
        return SITE_DIG_ENOUGH;
    return over.at < 0 && (double)-over.at > doubt ? SITE_DIG_DEEPER : SITE_DIG_DOUBT;
}

/* The level asked for, and how what was read compares with it. */
static void
hold_against_plan(const struct site_dig_given *g, const struct site_dig_level *top, struct site_dig *d)
{
    bool asked = g->depth >= 0 && g->from.known;
    struct site_dig_level to = { asked, asked ? g->from.at - g->depth : 0 };
    d->bottom = g->to_top ? plus(to, -g->footing) : to;
    d->by_top = g->to_top && top->known;
    d->over = d->by_top ? less(to, *top) : less(d->bottom, g->hole);
    d->fill = d->over.at > 0 ? d->over.at : 0;
    d->dig = d->over.at < 0 ? -d->over.at : 0;
    d->verdict = judge(d->over, g->doubt);
}

static void
stand_post(const struct site_dig_given *g, const struct site_dig_level *top, struct site_dig *d)
{
    bool deeper = d->verdict == SITE_DIG_DEEPER;
    if (top->known && !deeper) {
        d->foot = SITE_FOOT_TOP;
        d->stands_at = *top;
    } else if (g->hole.known && !deeper) {
        d->foot = SITE_FOOT_HOLE;
        d->stands_at = plus(g->hole, g->footing);
    } else {
        d->foot = d->bottom.known ? SITE_FOOT_PLANNED : SITE_FOOT_NOWHERE;
        d->stands_at = plus(d->bottom, g->footing);
    }
    d->mark = less(g->grade, d->stands_at);
    d->need = plus(d->mark, g->height);
    d->need.known &= g->height >= 0;
    d->cut_off = less((struct site_dig_level){ g->post_length >= 0, g->post_length }, d->need);
}

enum site_dig_status
site_dig_out(const struct site_dig_given *g, struct site_dig *out)
{
    struct site_dig d = { .below_ground = less(g->ground, g->hole), .below_grade = less(g->grade, g->hole),
        .top_is_post = is_of_post(g) };
    struct site_dig_level top = g->top;
    top.known &= !d.top_is_post;
    if (d.below_ground.at < 0)
        return SITE_DIG_EHOLE;
    if (top.known && g->hole.known && top.at < g->hole.at)
        return SITE_DIG_ETOP;
    hold_against_plan(g, &top, &d);
    stand_post(g, &top, &d);
    *out = d;
    return SITE_DIG_OK;
}

length
site_dig_rod(length rod, length least)
{
    length over = rod % least;
    return over > 0 ? rod - over + least : rod - over;
}
