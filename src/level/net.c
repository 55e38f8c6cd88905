/* Ties checked, the parts of the engine called in turn, corrections, and what is returned. */
#include "net_parts.h"

#define LIGHTEST 1e-100 /* 1 / m^2; products of three shares of these stay far from the ends of double */
#define HEAVIEST 1e100
#define FARTHEST 1e100  /* m; and so do sums of their products with weights */
#define MUCH 1e-9       /* of the largest correction; by less than that, what is left after it is nothing */
#define TURNS 8         /* where weights are so far apart that corrections never settle */
#define LINE 64         /* bytes */

/* ---- work room ---- */

static void *
give(struct net_arena *a, size_t n, size_t size, bool above)
{
    size_t bytes = n < SIZE_MAX / 2 / size ? (n * size + 15) / 16 * 16 : SIZE_MAX / 2;
    size_t *used = above ? &a->high : &a->low, other = above ? a->low : a->high;
    *used = bytes < SIZE_MAX / 2 - *used ? *used + bytes : SIZE_MAX / 2;
    if (*used + other > a->most)
        a->most = *used + other;
    if (*used + other > a->size)
        return NULL;
    return a->base + (above ? a->size - *used : *used - bytes);
}

void *
net_below(struct net_arena *a, size_t n, size_t size)
{
    return give(a, n, size, false);
}

void *
net_above(struct net_arena *a, size_t n, size_t size)
{
    return give(a, n, size, true);
}

/* Bytes that would have been enough; SIZE_MAX where nobody can give so many. */
static size_t
enough(const struct net_arena *a)
{
    return a->most < SIZE_MAX / 2 ? a->most + LINE : SIZE_MAX;
}

static void
open_factor(struct net_factor *f, size_t nodes, size_t ties, struct net_arena *a)
{
    size_t entries = nodes + ties; /* an elimination of a thin node adds at most one tie */
    *f = (struct net_factor){ .nodes = (uint32_t)nodes };
    f->step = net_below(a, nodes, sizeof *f->step);
    f->node = net_below(a, nodes, sizeof *f->node);
    f->whole = net_below(a, nodes, sizeof *f->whole);
    f->ground = net_below(a, nodes, sizeof *f->ground);
    f->start = net_below(a, nodes + 1, sizeof *f->start);
    f->row = net_below(a, entries, sizeof *f->row);
    f->share = net_below(a, entries, sizeof *f->share);
}

static void
open_core(struct net_factor *f, size_t core, struct net_arena *a)
{
    f->front = net_below(a, core, sizeof *f->front);
    f->where = net_below(a, core, sizeof *f->where);
}

struct parts {
    struct net_factor *f;
    bool *bridge;
    uint32_t *walk[7];
    struct net_graph graph;
    struct net_order order;
    struct net_tree tree;
};

struct spare { /* doubles */
    double *pull;  /* [nodes] by step */
    double *stack, *panel;
};

/* All but the fronts themselves, whose size shows once the order is known. */
size_t
net_room(size_t nodes, size_t ties, size_t fill)
{
    struct net_arena a = { 0 };
    struct net_factor f;
    struct parts p;
    if (nodes >= NET_MOST || ties >= NET_MOST)
        return SIZE_MAX;
    (void)net_below(&a, 1, sizeof f);
    open_factor(&f, nodes, ties, &a);
    (void)net_below(&a, ties, sizeof(bool));
    net_bridges_open(&a, nodes, ties, p.walk);
    a.high = 0;
    net_graph_open(&p.graph, nodes, ties, &a);
    open_core(&f, nodes, &a);
    net_order_open(&p.order, nodes, 2 * ties, &a);
    net_tree_open(&p.tree, nodes, nodes, &a);
    size_t least = enough(&a), lines = (SIZE_MAX - least) / LINE, each = nodes + ties;
    return fill == 0 || each <= lines / fill ? least + fill * each * LINE : SIZE_MAX;
}

static bool
is_tie(const struct net *net, const struct net_tie *tie)
{
    bool ends = (tie->from < net->nodes || tie->from == NET_GROUND) && (tie->to < net->nodes || tie->to == NET_GROUND);
    return ends && tie->from != tie->to && tie->weight >= LIGHTEST && tie->weight <= HEAVIEST &&
        tie->short_by >= -FARTHEST && tie->short_by <= FARTHEST;
}

static bool
are_ties(struct net *net)
{
    for (size_t t = 0; t < net->ties; t++)
        if (!is_tie(net, &net->tie[t])) {
            net->bad = t;
            return false;
        }
    return true;
}

/* ---- solving ---- */

/* b is the right side by step, and becomes the solution. */
static void
substitute(const struct net_factor *f, double *b)
{
    for (uint32_t s = 0; s < f->thin; s++)
        for (uint32_t i = f->start[s]; i < f->start[s + 1]; i++)
            b[f->row[i]] += f->share[i] * b[s];
    net_fronts_forward(f, b);
    net_fronts_back(f, b);
    for (uint32_t s = f->thin; s-- > 0;) {
        b[s] /= f->whole[s];
        for (uint32_t i = f->start[s]; i < f->start[s + 1]; i++)
            b[s] += f->share[i] * b[f->row[i]];
    }
}

/*
 * Adds to a sum what its rounding loses as well (Knuth, TAOCP 2, 4.2.2,
 * theorem B): pulls of heavy ties that balance each other must not round away
 * those of light ones.
 */
static void
add_pull(double *sum, double *lost, double pull)
{
    double before = *sum, after = before + pull, part = after - before;
    *lost += (before - (after - part)) + (pull - part);
    *sum = after;
}

static double
larger(double most, double x)
{
    double size = x < 0 ? -x : x;
    return size > most ? size : most;
}

/* What the ties are short by still pulls at the corrections had so far. True where that moved them much. */
static bool
refine(struct net *net, const struct net_factor *f, double *b, double *lost)
{
    double *x = net->correction;
    memset(b, 0, net->nodes * sizeof *b);
    memset(lost, 0, net->nodes * sizeof *lost);
    for (size_t t = 0; t < net->ties; t++) {
        const struct net_tie *tie = &net->tie[t];
        double from = tie->from == NET_GROUND ? 0 : x[tie->from], to = tie->to == NET_GROUND ? 0 : x[tie->to];
        double pull = tie->weight * (tie->short_by - (to - from));
        if (tie->to != NET_GROUND)
            add_pull(&b[f->step[tie->to]], &lost[f->step[tie->to]], pull);
        if (tie->from != NET_GROUND)
            add_pull(&b[f->step[tie->from]], &lost[f->step[tie->from]], -pull);
    }
    for (uint32_t s = 0; s < f->nodes; s++)
        b[s] += lost[s];
    substitute(f, b);
    double most = 0, moved = 0;
    for (uint32_t s = 0; s < f->nodes; s++) {
        double *to = &x[f->node[s]];
        *to += b[s];
        most = larger(most, *to);
        moved = larger(moved, b[s]);
    }
    return moved > MUCH * most;
}

void
net_covariance(const struct net *net, uint32_t node, double *out)
{
    const struct net_factor *f = net->factor;
    double *by_step = out + net->nodes;
    for (size_t s = 0; s < net->nodes; s++)
        by_step[s] = 0;
    if (node < net->nodes)
        by_step[f->step[node]] = 1;
    substitute(f, by_step);
    for (uint32_t s = 0; s < f->nodes; s++)
        out[f->node[s]] = by_step[s];
}

void
net_covariance_of(const struct net *net, const double *share, double *out)
{
    const struct net_factor *f = net->factor;
    double *by_step = out + net->nodes;
    for (uint32_t s = 0; s < f->nodes; s++)
        by_step[s] = share[f->node[s]];
    substitute(f, by_step);
    for (uint32_t s = 0; s < f->nodes; s++)
        out[f->node[s]] = by_step[s];
}

/* ---- what is returned ---- */

static double
spread_of(const struct net_factor *f, const struct net_tie *tie)
{
    if (tie->from == NET_GROUND || tie->to == NET_GROUND)
        return f->own[f->step[tie->from == NET_GROUND ? tie->to : tie->from]];
    uint32_t a = f->step[tie->from], b = f->step[tie->to];
    return f->r[a < b ? net_entry(f, a, b) : net_entry(f, b, a)];
}

static void
give_out(struct net *net, const struct net_factor *f, const bool *bridge)
{
    for (uint32_t s = 0; s < f->nodes; s++)
        net->variance[f->node[s]] = f->own[s];
    for (size_t t = 0; t < net->ties; t++) {
        const struct net_tie *tie = &net->tie[t];
        double spread = bridge[t] ? 1 / tie->weight : spread_of(f, tie), redundancy = 1 - tie->weight * spread;
        net->spread[t] = spread;
        net->redundancy[t] = bridge[t] || !(redundancy > 0) ? 0 : redundancy;
    }
}

/* ---- all of it ---- */

/* Where the core's fronts lie is known once its order is. */
static void
order_core(struct parts *p, struct net_arena *a)
{
    struct net_factor *f = p->f;
    uint32_t core = f->nodes - f->thin;
    size_t halves = 0;
    if (core == 0)
        return;
    for (uint32_t i = 0; i < f->nodes; i++)
        halves += f->step[i] == NONE ? p->graph.degree[i] : 0;
    open_core(f, core, a);
    net_order_open(&p->order, core, halves, a);
    net_tree_open(&p->tree, f->nodes, core, a);
    net_tree_lists(&p->tree, f, &p->graph, &p->order);
    net_order_run(&p->order);
    net_tree_grow(&p->tree, &p->order, &p->graph, f);
    for (uint32_t s = f->thin; s < f->nodes; s++)
        f->ground[s] = p->graph.ground[f->node[s]];
    net_tree_neighbours(&p->graph, f);
}

static size_t
count(uint64_t n)
{
    return n < SIZE_MAX / 2 ? (size_t)n : SIZE_MAX / 2;
}

/* What only net_solve() needs stands where the graph was. */
static bool
open_fronts(struct net_factor *f, struct spare *to, struct net_arena *a)
{
    size_t entries = f->start[f->nodes];
    a->high = 0;
    f->own = net_above(a, f->nodes, sizeof *f->own);
    f->z = net_above(a, entries, sizeof *f->z);
    f->r = net_above(a, entries, sizeof *f->r);
    f->rows = net_below(a, count(f->row_count), sizeof *f->rows);
    f->place = net_below(a, count(f->row_count), sizeof *f->place);
    f->block = net_below(a, count(f->block_count), sizeof *f->block);
    f->gather = net_below(a, f->widest, sizeof *f->gather);
    to->pull = net_above(a, f->nodes, sizeof *to->pull);
    to->stack = net_above(a, count(f->stack), sizeof *to->stack);
    to->panel = net_above(a, (size_t)f->widest * NET_PANEL, sizeof *to->panel);
    return a->low + a->high <= a->size;
}

/* Which tie or node is bad, if any: nothing is given out then. */
static enum net_status
look_through(struct net *net, struct parts *p, struct net_arena *a)
{
    net_bridges_open(a, net->nodes, net->ties, p->walk);
    uint32_t loose = net_bridges(net, p->walk, p->bridge);
    a->high = 0;
    if (loose == NONE)
        return NET_OK;
    net->bad = loose;
    return NET_EGROUND;
}

static void
eliminate_thin(const struct net *net, struct parts *p, struct net_arena *a)
{
    net_graph_open(&p->graph, net->nodes, net->ties, a);
    net_graph_fill(&p->graph, net);
    net_thin_eliminate(&p->graph, p->f);
}

/* Corrections twice at least, since the first ones still miss what rounding took from sums of pulls. */
static void
adjust(struct net *net, struct net_factor *f, struct spare spare)
{
    net_tree_rows(f);
    net_fronts_eliminate(f, spare.stack, spare.panel);
    for (size_t i = 0; i < net->nodes; i++)
        net->correction[i] = 0;
    bool moved = true;
    for (int i = 0; i < 2 || (moved && i < TURNS); i++)
        moved = refine(net, f, spare.pull, f->own); /* variances come later */
    net_fronts_invert(f, spare.stack, spare.panel);
    net_thin_invert(f);
}

static enum net_status
no_room(struct net *net, size_t bytes)
{
    net->needs = bytes;
    return NET_EROOM;
}

enum net_status
net_solve(struct net *net, void *room, size_t bytes)
{
    struct net_arena a = { room, bytes / 16 * 16, 0, 0, 0 };
    struct parts p;
    struct spare spare;
    if (!are_ties(net))
        return NET_ETIE;
    if (bytes < net_room(net->nodes, net->ties, 0))
        return no_room(net, net_room(net->nodes, net->ties, 1));
    p.f = net_below(&a, 1, sizeof *p.f);
    open_factor(p.f, net->nodes, net->ties, &a);
    p.bridge = net_below(&a, net->ties, sizeof *p.bridge);
    enum net_status status = look_through(net, &p, &a);
    if (status != NET_OK)
        return status;
    eliminate_thin(net, &p, &a);
    order_core(&p, &a);
    net_thin_rows(p.f);
    if (!open_fronts(p.f, &spare, &a))
        return no_room(net, enough(&a));
    adjust(net, p.f, spare);
    give_out(net, p.f, p.bridge);
    net->factor = p.f;
    return NET_OK;
}
