/* fit.c - statistics of an adjusted job: residuals held against chance, and what nothing checks */
#include "rodbook/fit.h"

#include "parts.h"

#include "rodbook/chance.h"
#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define ALIKE 1e-6 /* of normalised residuals: above what rounding does to them, below what anyone could tell apart */

void
fit_release(struct fit *f)
{
    free(f->observation);
    free(f->check);
    free(f->setup_checked);
    free(f->piece);
    free(f->piece_of);
    free(f->loop_order);
    adjust_loops_release(&f->loops);
    *f = (struct fit){ 0 };
}

double
fit_scaled(const struct fit *f, double sigma)
{
    return f->a->freedom > 0 ? sigma * f->unit : -1;
}

double
fit_loop_ratio(const struct adjust_loop *loop)
{
    return fabs((double)loop->misclosure / (double)LENGTH_M) / loop->sigma;
}

/* ---- observations ---- */

static length
observed(const struct job *job, const struct adjust_observation *of)
{
    switch (of->kind) {
    case ADJUST_READING:
        return job->sight[of->index].reading;
    case ADJUST_SECTION:
        return job->r->section[of->index].rise;
    case ADJUST_MARK:
        break;
    }
    return job->r->mark[of->index].elevation;
}

/* The net has a reading as the drop from the line of sight: the larger the reading, the lower the point. */
static void
take_observation(struct fit *f, size_t t)
{
    const struct adjust *a = f->a;
    const struct adjust_observation *of = &a->of[t];
    struct fit_observation *o = &f->observation[t];
    double v = of->kind == ADJUST_READING ? -a->residual[t] : a->residual[t], r = a->net.redundancy[t];
    *o = (struct fit_observation){ .observed = observed(a->job, of), .residual = v, .sigma = sqrt(a->net.spread[t]),
        .redundancy = r, .normalised = -1, .studentised = -1, .detectable = -1 };
    if (!(r > 0))
        return;
    f->checked++;
    o->normalised = fabs(v) / (of->sigma * sqrt(r));
    o->studentised = f->unit > 0 ? o->normalised / f->unit : -1;
    o->detectable = of->sigma * f->delta / sqrt(r);
}

/* ---- tests ---- */

static void
test_whole(struct fit *f)
{
    size_t freedom = f->a->freedom;
    double tail = (1 - f->confidence) / 2;
    if (freedom == 0 || chance_chisq_at(tail, CHANCE_BELOW, freedom, &f->low) != CHANCE_OK
        || chance_chisq_at(tail, CHANCE_ABOVE, freedom, &f->high) != CHANCE_OK)
        return;
    f->verdict = f->a->vpv > f->high ? FIT_WORSE : f->a->vpv < f->low ? FIT_BETTER : FIT_WITHIN;
}

static void
test_each(struct fit *f)
{
    f->tau_limit = -1;
    if (f->checked > 0)
        f->tau_level = -expm1(log(f->confidence) / (double)f->checked);
    if (f->a->freedom < 2 || chance_tau_at(f->tau_level / 2, CHANCE_ABOVE, f->a->freedom, &f->tau_limit) != CHANCE_OK)
        f->tau_limit = -1;
    for (size_t t = 0; t < f->a->observations; t++) {
        struct fit_observation *o = &f->observation[t];
        o->normal_beyond = o->normalised > f->normal_limit;
        o->tau_beyond = f->tau_limit > 0 && o->studentised > f->tau_limit;
        f->beyond += o->normal_beyond || o->tau_beyond;
        f->worst = o->normalised > f->observation[f->worst].normalised * (1 + ALIKE) ? t : f->worst;
    }
    for (size_t t = 0; f->checked > 0 && t < f->a->observations; t++)
        f->alike += f->observation[t].normalised >= f->observation[f->worst].normalised * (1 - ALIKE);
}

/* ---- what hangs together ---- */

static uint32_t
place(const struct adjust *a, uint32_t node)
{
    return node == NET_GROUND ? (uint32_t)a->net.nodes : node;
}

/* Of each node its only tie, or LEVEL_NONE where it has several. */
static void
find_only_ties(const struct adjust *a, uint32_t *only)
{
    uint32_t many = LEVEL_NONE - 1;
    memset(only, 0xff, (a->net.nodes + 1) * sizeof *only);
    for (uint32_t t = 0; t < a->net.ties; t++) {
        uint32_t end[] = { place(a, a->tie[t].from), place(a, a->tie[t].to) };
        for (int i = 0; i < 2; i++)
            only[end[i]] = only[end[i]] == LEVEL_NONE ? t : many;
    }
    for (size_t i = 0; i <= a->net.nodes; i++)
        only[i] = only[i] == many ? LEVEL_NONE : only[i];
}

static enum fit_check
check_of(const struct adjust *a, const uint8_t *checked, const uint32_t *only, uint32_t node)
{
    if (node == ADJUST_NOTHING)
        return FIT_NOTHING;
    if (node == NET_GROUND)
        return FIT_HELD;
    uint32_t tie = only[node];
    if (tie != LEVEL_NONE && a->of[tie].kind == ADJUST_MARK)
        return FIT_HELD; /* given, and never read */
    if (checked[node])
        return FIT_CHECKED;
    if (tie == LEVEL_NONE)
        return FIT_SPUR;
    uint32_t other = a->tie[tie].from == node ? a->tie[tie].to : a->tie[tie].from;
    return other == NET_GROUND || checked[other] ? FIT_ONCE : FIT_SPUR;
}

static void
find_checks(struct fit *f, const uint8_t *checked, uint32_t *only)
{
    const struct adjust *a = f->a;
    find_only_ties(a, only);
    for (size_t i = 0; i < a->job->spots; i++) {
        const struct job_spot *s = &a->job->spot[i];
        bool last = a->job->spot_of[(size_t)s->at * RECORD_ON_COUNT + s->on] == i;
        f->check[i] = (uint8_t)check_of(a, checked, only, a->spot_node[i]);
        f->once += last && f->check[i] == FIT_ONCE;
        f->spurs += last && f->check[i] == FIT_SPUR;
    }
    for (size_t i = 0; i < a->job->legs; i++)
        f->setup_checked[i] = a->leg_node[i] < ADJUST_NOTHING && checked[a->leg_node[i]];
}

/* The piece of a node; a new one, that begins at `spot`, where it is the first of its own. */
static struct fit_piece *
piece_of(struct fit *f, uint32_t *set, uint32_t *number, uint32_t node, uint32_t spot)
{
    uint32_t root = adjust_root(set, node);
    if (number[root] == LEVEL_NONE) {
        number[root] = (uint32_t)f->pieces;
        f->piece[f->pieces++] = (struct fit_piece){ .spot = spot };
    }
    return &f->piece[number[root]];
}

/* In the order of their first spots; an instrument that reads held marks alone is a piece of its own. */
static void
find_pieces(struct fit *f, uint32_t *set, uint32_t *number)
{
    const struct adjust *a = f->a;
    for (uint32_t i = 0; i < a->net.nodes; i++)
        set[i] = i;
    for (size_t t = 0; t < a->net.ties; t++)
        if (a->tie[t].from != NET_GROUND && a->tie[t].to != NET_GROUND)
            adjust_join(set, a->tie[t].from, a->tie[t].to);
    memset(number, 0xff, a->net.nodes * sizeof *number);
    for (uint32_t i = 0; i < a->job->spots; i++) {
        f->piece_of[i] = LEVEL_NONE;
        if (a->spot_node[i] >= ADJUST_NOTHING)
            continue;
        struct fit_piece *piece = piece_of(f, set, number, a->spot_node[i], i);
        f->piece_of[i] = (uint32_t)(piece - f->piece);
        piece->points++;
    }
    for (size_t i = 0; i < a->job->legs; i++)
        if (a->leg_node[i] < ADJUST_NOTHING)
            piece_of(f, set, number, a->leg_node[i], a->job->sight[a->job->leg[i].first].spot)->setups++;
    for (size_t t = 0; t < a->net.ties; t++)
        piece_of(f, set, number, a->tie[t].from == NET_GROUND ? a->tie[t].to : a->tie[t].from, LEVEL_NONE)->observations++;
    for (size_t i = 0; i < f->pieces; i++)
        f->piece[i].freedom = f->piece[i].observations - f->piece[i].points - f->piece[i].setups;
}

static int
look_at_parts(struct fit *f)
{
    size_t n = f->a->net.nodes + 1;
    uint32_t *set = room_new(n, sizeof *set), *list = room_new(n, sizeof *list);
    uint8_t *checked = room_new(n, sizeof *checked);
    int rc = set && list && checked ? adjust_checked(f->a, checked) : -1;
    if (rc == 0) {
        find_checks(f, checked, list);
        find_pieces(f, set, list);
    }
    free(set);
    free(list);
    free(checked);
    return rc;
}

/* ---- loops ---- */

struct loop_key {
    bool outside;
    double ratio;
    uint32_t loop;
};

static int
worst_first(const void *a, const void *b)
{
    const struct loop_key *x = a, *y = b;
    if (x->outside != y->outside)
        return x->outside ? -1 : 1;
    if (x->ratio != y->ratio)
        return x->ratio > y->ratio ? -1 : 1;
    return x->loop < y->loop ? -1 : x->loop > y->loop;
}

static int
order_loops(struct fit *f)
{
    struct loop_key *key = room_new(f->loops.loops, sizeof *key);
    f->loop_order = room_new(f->loops.loops, sizeof *f->loop_order);
    if (!key || !f->loop_order) {
        free(key);
        return -1;
    }
    for (uint32_t i = 0; i < f->loops.loops; i++) {
        const struct adjust_loop *loop = &f->loops.loop[i];
        key[i] = (struct loop_key){ loop->within == LEVEL_BEYOND, fit_loop_ratio(loop), i };
        f->loops_outside += key[i].outside;
    }
    qsort(key, f->loops.loops, sizeof *key, worst_first);
    for (size_t i = 0; i < f->loops.loops; i++)
        f->loop_order[i] = key[i].loop;
    free(key);
    return 0;
}

/* ---- all of it ---- */

int
fit_open(struct fit *f, const struct adjust *a, double confidence)
{
    *f = (struct fit){ .a = a, .confidence = confidence };
    f->observation = room_new(a->observations, sizeof *f->observation);
    f->check = room_new(a->job->spots, sizeof *f->check);
    f->setup_checked = room_new(a->job->legs, sizeof *f->setup_checked);
    f->piece = room_new(a->net.nodes, sizeof *f->piece);
    f->piece_of = room_new(a->job->spots, sizeof *f->piece_of);
    if (!f->observation || !f->check || !f->setup_checked || !f->piece || !f->piece_of)
        return -1;
    if (a->freedom > 0)
        f->unit = sqrt(a->vpv / (double)a->freedom);
    (void)chance_normal_at(FIT_LOCAL_LEVEL / 2, CHANCE_ABOVE, &f->normal_limit); /* of constants that it takes */
    (void)chance_noncentral(FIT_LOCAL_LEVEL, FIT_POWER, &f->delta);
    for (size_t t = 0; t < a->observations; t++)
        take_observation(f, t);
    test_whole(f);
    test_each(f);
    if (look_at_parts(f) != 0 || adjust_loops_open(&f->loops, a) != 0)
        return -1;
    return order_loops(f);
}
