/* order.c - concrete for the holes of a job */
#include "rodbook/order.h"

#include "parts.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>

void
order_release(struct order *o)
{
    free(o->hole);
    *o = (struct order){ .posts = NULL };
}

/* ---- what is stated, and what stands in for it ---- */

static void
take_stated(struct order *o, const struct record *r)
{
    const struct record_concrete *c = o->from;
    o->post = (struct site_post){ c->post_along, c->post_across, c->post_round };
    if (c->post_along == 0 && r->sites > 0) {
        const struct record_site *site = &r->site[r->sites - 1];
        o->post = (struct site_post){ site->post_along, site->post_across, false };
        o->post_of_site = site->post_along > 0;
    }
    o->waste_stated = c->waste >= 0;
    o->waste = o->waste_stated ? c->waste : ORDER_WASTE;
    o->step_stated = c->step > 0;
    o->step = o->step_stated ? c->step : r->job.unit == LENGTH_BARE_M ? ORDER_STEP_M : ORDER_STEP_YD;
    o->slump_stated = c->slump > 0;
    o->slump = o->slump_stated ? c->slump : ORDER_SLUMP;
    o->slump_unusual = o->slump < ORDER_SLUMP_LEAST || o->slump > ORDER_SLUMP_MOST;
    o->slump_odd = o->slump % ORDER_SLUMP_STEP != 0;
    if (c->bag_yield > 0) {
        o->bag_density = c->bag_mass / c->bag_yield;
        o->bags_to_yard = SITE_YD3 / c->bag_yield;
    }
}

/* ---- one hole ---- */

static void
depth_of_hole(const struct posts_one *one, struct order_hole *h)
{
    const struct site_dig_given *g = &one->given;
    const struct site_dig_level *above = one->asked.from == RECORD_FROM_GRADE ? &g->from : &g->ground;
    bool dug = one->dig.verdict != SITE_DIG_DEEPER || one->dig.by_top; /* else it becomes as deep as is asked */
    bool read = dug && g->hole.known && above->known && above->at > g->hole.at;
    h->by = read ? ORDER_DEPTH_READ : g->depth >= 0 ? ORDER_DEPTH_PLANNED : ORDER_DEPTH_NONE;
    h->depth = read ? above->at - g->hole.at : g->depth >= 0 ? g->depth + (g->to_top ? g->footing : 0) : 0;
}

/* Heights above the hole's bottom; the footing is as thick as it was read, else as stated. */
static struct site_fill
heights(const struct order *o, const struct posts_one *one, const struct order_hole *h)
{
    const struct record_concrete *c = o->from;
    bool read = one->dig.foot == SITE_FOOT_TOP && h->by == ORDER_DEPTH_READ;
    length footing = read ? one->dig.stands_at.at - one->given.hole.at : one->given.footing;
    struct site_fill f = { .from = c->footing == RECORD_FOOTING_LAID ? footing : 0, .foot = footing };
    switch (c->fill) {
    case RECORD_FILL_TO_GROUND:
        f.to = h->depth;
        break;
    case RECORD_FILL_BELOW_GROUND:
        f.to = h->depth - c->fill_by;
        break;
    case RECORD_FILL_THICK:
        f.to = f.from + c->fill_by;
        break;
    }
    return f;
}

static void
say_misfit(const struct order *o, const struct posts_one *one, enum site_concrete_status status, struct diag *d)
{
    static const char *const words[] = { /* enum site_concrete_status */
        [SITE_CONCRETE_ESHAPE] = "the hole has no depth or no diameter",
        [SITE_CONCRETE_EBELL] = "the bell is narrower than the hole, or bell and collar are higher than the hole is deep",
        [SITE_CONCRETE_ECOLLAR] = "the collar is narrower than the hole",
        [SITE_CONCRETE_EFILL] = "the concrete would end above the top of the hole, or below where it begins",
        [SITE_CONCRETE_EPOST] = "the post is as wide as the hole or wider",
    };
    diag_say(d, DIAG_ERROR, o->from->place, "concrete-form", "at %s %s; look at the concrete and holes entries",
        job_name(o->posts->job, one->at), words[status]);
}

/* False where it does not fit: said. */
static bool
fill_hole(struct order *o, uint32_t i, struct diag *d)
{
    const struct posts_one *one = &o->posts->one[i];
    const struct record_concrete *c = o->from;
    struct order_hole *h = &o->hole[i];
    bool has_post = o->post.along > 0;
    *h = (struct order_hole){ .post = i, .no_diameter = one->asked.diameter < 0 };
    depth_of_hole(one, h);
    h->no_footing = one->given.footing > 0 && c->footing < 0;
    h->least = has_post ? site_concrete_least(&o->post) : 0;
    h->narrow = !h->no_diameter && one->asked.diameter < h->least;
    if (h->no_diameter || h->no_footing || h->by == ORDER_DEPTH_NONE)
        return true;
    struct site_hole hole = { h->depth, one->asked.diameter, c->bell_diameter, c->bell_height, c->collar_diameter, c->collar_height };
    struct site_fill fill = heights(o, one, h);
    enum site_concrete_status status = site_concrete_fill(&hole, &o->post, &fill, &h->v);
    if (status != SITE_CONCRETE_OK) {
        say_misfit(o, one, status, d);
        return false;
    }
    h->known = true;
    h->foot = fill.foot;
    h->thick = fill.to - fill.from;
    h->with_waste = h->v.concrete * (1 + o->waste);
    h->bags = c->bag_yield > 0 ? h->with_waste / c->bag_yield : 0;
    return true;
}

/* ---- all holes ---- */

static void
add_up(struct order *o)
{
    for (size_t i = 0; i < o->posts->n; i++) {
        const struct order_hole *h = &o->hole[i];
        o->known += h->known;
        o->left += !h->known;
        o->planned += h->known && h->by == ORDER_DEPTH_PLANNED;
        o->sum.hole += h->v.hole;
        o->sum.post += h->v.post;
        o->sum.concrete += h->v.concrete;
    }
    o->with_waste = o->sum.concrete * (1 + o->waste);
    o->bags = o->from->bag_yield > 0 ? site_concrete_count(o->with_waste, o->from->bag_yield) : 0;
    o->load = site_concrete_count(o->with_waste, o->step) * o->step;
    o->hauled = o->from->bulking >= 0 ? o->sum.hole * (1 + o->from->bulking) : -1;
    o->good = o->left == 0 && !o->posts->job->outside;
}

int
order_work(struct order *o, const struct posts *posts, struct diag *d)
{
    const struct record *r = posts->job->r;
    *o = (struct order){ .posts = posts };
    if (r->concretes == 0) {
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "no-concrete",
            "the record does not say what goes into the holes; add it: concrete: {fill: to ground, bag: {yield: %s}}",
            r->job.unit == LENGTH_BARE_M ? "12 L, mass: 25 kg" : "0.60 ft3, mass: 80 lb");
        return 0;
    }
    o->from = &r->concrete[r->concretes - 1];
    o->hole = room_new(posts->n, sizeof *o->hole);
    if (!o->hole)
        return -1;
    take_stated(o, r);
    bool fits = true;
    for (uint32_t i = 0; i < posts->n && fits; i++)
        fits = fill_hole(o, i, d); /* one is enough: the others are most likely like it */
    if (fits)
        add_up(o);
    return 0;
}
