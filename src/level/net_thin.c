/* Nodes of at most two neighbours: nearly all there are, where lines are levelled. */
#include "net_parts.h"

#define THIN 2
#define SHORT_LOOK 32 /* halves that are looked through for a tie that may be there already; what is missed is joined later */

void
net_graph_open(struct net_graph *g, size_t nodes, size_t ties, struct net_arena *a)
{
    g->nodes = (uint32_t)nodes;
    g->start = net_above(a, nodes + 1, sizeof *g->start);
    g->degree = net_above(a, nodes, sizeof *g->degree);
    g->ground = net_above(a, nodes, sizeof *g->ground);
    g->half = net_above(a, 2 * ties, sizeof *g->half);
    g->seen = net_above(a, nodes, sizeof *g->seen);
    g->again = net_above(a, nodes, sizeof *g->again);
    g->waiting = g->swept = 0;
}

/* ---- halves ---- */

static void
drop_half(struct net_graph *g, uint32_t node, uint32_t p)
{
    uint32_t last = g->start[node] + --g->degree[node];
    if (p != last) {
        g->half[p] = g->half[last];
        g->half[g->half[p].twin].twin = p;
    }
    if (node < g->swept && g->degree[node] == THIN)
        g->again[g->waiting++] = node;
}

static void
add_weight(struct net_graph *g, uint32_t p, double weight)
{
    g->half[p].weight += weight;
    g->half[g->half[p].twin].weight = g->half[p].weight;
}

static void
drop_tie(struct net_graph *g, uint32_t node, uint32_t p)
{
    uint32_t to = g->half[p].to, twin = g->half[p].twin;
    drop_half(g, node, p);
    drop_half(g, to, twin);
}

/* One half for each neighbour. An entry of seen[] counts where it points into this list, at a half towards that node. */
static void
join_parallels(struct net_graph *g, uint32_t node)
{
    uint32_t start = g->start[node];
    for (uint32_t p = start; p < start + g->degree[node];) {
        uint32_t to = g->half[p].to, q = g->seen[to];
        if (q >= start && q < p && g->half[q].to == to) {
            add_weight(g, q, g->half[p].weight);
            drop_tie(g, node, p);
            continue;
        }
        g->seen[to] = p++;
    }
}

static void
list_halves(struct net_graph *g, const struct net *net)
{
    for (size_t t = 0; t < net->ties; t++) {
        const struct net_tie *tie = &net->tie[t];
        if (tie->from == NET_GROUND)
            g->ground[tie->to] += tie->weight;
        else if (tie->to == NET_GROUND)
            g->ground[tie->from] += tie->weight;
        else {
            uint32_t p = g->start[tie->from] + g->degree[tie->from]++, q = g->start[tie->to] + g->degree[tie->to]++;
            g->half[p] = (struct net_half){ tie->weight, tie->to, q };
            g->half[q] = (struct net_half){ tie->weight, tie->from, p };
        }
    }
}

void
net_graph_fill(struct net_graph *g, const struct net *net)
{
    size_t n = net->nodes;
    memset(g->start, 0, (n + 1) * sizeof *g->start);
    memset(g->degree, 0, n * sizeof *g->degree);
    memset(g->seen, 0, n * sizeof *g->seen);
    memset(g->ground, 0, n * sizeof *g->ground);
    for (size_t t = 0; t < net->ties; t++)
        if (net->tie[t].from != NET_GROUND && net->tie[t].to != NET_GROUND) {
            g->start[net->tie[t].from + 1]++;
            g->start[net->tie[t].to + 1]++;
        }
    for (size_t i = 0; i < n; i++)
        g->start[i + 1] += g->start[i];
    list_halves(g, net);
    for (uint32_t i = 0; i < n; i++)
        join_parallels(g, i);
}

/* ---- elimination ---- */

static uint32_t
find_half(const struct net_graph *g, uint32_t a, uint32_t b)
{
    uint32_t in = g->degree[a] <= g->degree[b] ? a : b, to = in == a ? b : a;
    uint32_t start = g->start[in], count = g->degree[in] < SHORT_LOOK ? g->degree[in] : SHORT_LOOK;
    for (uint32_t p = start; p < start + count; p++)
        if (g->half[p].to == to)
            return p;
    return NONE;
}

/* A tie between two neighbours of a node that goes, in the place of their ties to it. */
static void
join_pair(struct net_graph *g, struct net_half a, struct net_half b, double weight)
{
    uint32_t p = find_half(g, a.to, b.to);
    if (p == NONE) {
        g->half[a.twin] = (struct net_half){ weight, b.to, b.twin };
        g->half[b.twin] = (struct net_half){ weight, a.to, a.twin };
        return;
    }
    add_weight(g, p, weight);
    drop_half(g, a.to, a.twin);
    drop_half(g, b.to, b.twin);
}

static void
eliminate(struct net_graph *g, struct net_factor *f, uint32_t k)
{
    uint32_t s = f->thin++, start = g->start[k], first = f->start[s];
    if (g->degree[k] == 2 && g->half[start].to == g->half[start + 1].to) {
        add_weight(g, start, g->half[start + 1].weight);
        drop_tie(g, k, start + 1);
    }
    uint32_t n = g->degree[k];
    double whole = g->ground[k];
    for (uint32_t i = 0; i < n; i++)
        whole += g->half[start + i].weight;
    f->step[k] = s;
    f->node[s] = k;
    f->whole[s] = whole;
    f->ground[s] = g->ground[k] / whole;
    f->start[s + 1] = first + n;
    for (uint32_t i = 0; i < n; i++) {
        const struct net_half *h = &g->half[start + i];
        f->row[first + i] = h->to;
        f->share[first + i] = h->weight / whole;
        g->ground[h->to] += h->weight * f->ground[s];
    }
    if (n == 1)
        drop_half(g, g->half[start].to, g->half[start].twin);
    if (n == 2)
        join_pair(g, g->half[start], g->half[start + 1], g->half[start].weight * f->share[first + 1]);
    g->degree[k] = 0;
}

/* By number; a node behind the sweep as soon as it has become thin. */
void
net_thin_eliminate(struct net_graph *g, struct net_factor *f)
{
    memset(f->step, 0xff, f->nodes * sizeof *f->step); /* NONE */
    f->thin = f->start[0] = 0;
    for (uint32_t i = 0; i < f->nodes; i++) {
        g->swept = i + 1;
        if (f->step[i] == NONE && g->degree[i] <= THIN)
            eliminate(g, f, i);
        while (g->waiting > 0) {
            uint32_t k = g->again[--g->waiting];
            if (f->step[k] == NONE)
                eliminate(g, f, k);
        }
    }
    if (f->thin == f->nodes)
        return;
    for (uint32_t i = 0; i < f->nodes; i++)
        if (f->step[i] == NONE)
            join_parallels(g, i);
}

void
net_thin_rows(struct net_factor *f)
{
    for (uint32_t i = 0; i < f->start[f->thin]; i++)
        f->row[i] = f->step[f->row[i]];
    for (uint32_t s = 0; s < f->thin; s++) {
        uint32_t i = f->start[s];
        if (f->start[s + 1] - i < 2 || f->row[i] < f->row[i + 1])
            continue;
        uint32_t row = f->row[i];
        double share = f->share[i];
        f->row[i] = f->row[i + 1];
        f->share[i] = f->share[i + 1];
        f->row[i + 1] = row;
        f->share[i + 1] = share;
    }
}

/* ---- the inverse ---- */

uint32_t
net_entry(const struct net_factor *f, uint32_t step, uint32_t row)
{
    uint32_t low = f->start[step], high = f->start[step + 1];
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (f->row[middle] <= row)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static void
invert_one(struct net_factor *f, uint32_t s, uint32_t i)
{
    double alone = 1 / f->whole[s], g = f->ground[s], far = f->own[f->row[i]];
    f->z[i] = f->share[i] * far;
    f->r[i] = alone + g * g * far;
    f->own[s] = alone + f->share[i] * f->z[i];
}

/*
 * Two neighbours a and b, shares l_a + l_b + g = 1: with the squares written
 * out, R_ka = 1/W + l_b^2 R_ab + g^2 Z_aa + l_b g (R_ab + Z_aa - Z_bb).
 */
static void
invert_two(struct net_factor *f, uint32_t s, uint32_t i)
{
    uint32_t a = f->row[i], b = f->row[i + 1], pair = net_entry(f, a, b);
    double alone = 1 / f->whole[s], la = f->share[i], lb = f->share[i + 1], g = f->ground[s];
    double zaa = f->own[a], zbb = f->own[b], zab = f->z[pair], rab = f->r[pair];
    f->z[i] = la * zaa + lb * zab;
    f->z[i + 1] = la * zab + lb * zbb;
    f->own[s] = alone + (la * f->z[i] + lb * f->z[i + 1]);
    f->r[i] = alone + lb * lb * rab;
    f->r[i + 1] = alone + la * la * rab;
    if (g > 0) {
        f->r[i] += g * (g * zaa + lb * (rab + (zaa - zbb)));
        f->r[i + 1] += g * (g * zbb + la * (rab + (zbb - zaa)));
    }
}

void
net_thin_invert(struct net_factor *f)
{
    for (uint32_t s = f->thin; s-- > 0;) {
        uint32_t n = f->start[s + 1] - f->start[s];
        if (n == 0)
            f->own[s] = 1 / f->whole[s];
        else if (n == 1)
            invert_one(f, s, f->start[s]);
        else
            invert_two(f, s, f->start[s]);
    }
}
