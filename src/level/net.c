#include "rodbook/net.h"

#include <stdbool.h>
#include <string.h>

#define NONE UINT32_MAX
#define SHORT_LIST 16 /* ties of a node that are put in order at every touch; longer lists when they have doubled */
#define FEW 8         /* nodes with fewer neighbours than this are taken by number */
#define LEVELS 6      /* of a set of bits: 64^6 is more than any count of nodes */

/* ---- work room ---- */

struct arena {
    char *at, *end;
    bool full;
};

static void *
take(struct arena *a, size_t n, size_t size)
{
    size_t bytes = (n * size + 15) / 16 * 16;
    if (bytes > (size_t)(a->end - a->at)) {
        a->full = true;
        return NULL;
    }
    void *p = a->at;
    a->at += bytes;
    return p;
}

/* ---- sets of node numbers, smallest first ---- */

/* A bit for each number, and above it a bit for each word that has any. */
struct bits {
    uint64_t *level[LEVELS];
    int levels;
};

static size_t
words_of(size_t n)
{
    return n / 64 + 1;
}

static void
bits_open(struct bits *b, size_t n, struct arena *a)
{
    b->levels = 0;
    do {
        n = words_of(n);
        uint64_t *words = take(a, n, sizeof *words);
        if (!words)
            return;
        memset(words, 0, n * sizeof *words);
        b->level[b->levels++] = words;
    } while (n > 1 && b->levels < LEVELS);
}

static void
bits_add(struct bits *b, size_t i)
{
    for (int l = 0; l < b->levels; l++, i /= 64)
        b->level[l][i / 64] |= UINT64_C(1) << i % 64;
}

static void
bits_drop(struct bits *b, size_t i)
{
    for (int l = 0; l < b->levels; l++, i /= 64) {
        b->level[l][i / 64] &= ~(UINT64_C(1) << i % 64);
        if (b->level[l][i / 64] != 0)
            return;
    }
}

static bool
bits_any(const struct bits *b)
{
    return b->level[b->levels - 1][0] != 0;
}

static size_t
bits_first(const struct bits *b)
{
    size_t i = 0;
    for (int l = b->levels; l-- > 0;)
        i = i * 64 + (size_t)__builtin_ctzll(b->level[l][i]);
    return i;
}

/* ---- the graph while it is eliminated ---- */

struct half { /* one end of a tie: towards a neighbour */
    double weight;
    uint32_t to, next;
};

struct graph {
    size_t nodes;
    uint32_t *head;     /* [nodes] first half */
    uint32_t *length;   /* [nodes] halves in the list, gone ones included */
    uint32_t *tidy;     /* [nodes] its length when it was put in order last */
    double *ground;     /* [nodes] weight to the ground */
    uint32_t *where;    /* [nodes] while a list is put in order: the half towards that node */
    struct half *half;
    uint32_t halves, half_room, free;
    uint32_t *degree;   /* [nodes] under which a node stands in the queue */
    struct bits few[FEW];
    uint32_t *bucket;   /* [nodes] first node of each degree from FEW on */
    uint32_t *after, *before; /* [nodes] in a bucket */
    uint32_t lowest;    /* no bucket below this has a node */
    struct net_factor *f;
    size_t entries, entry_room;
};

static bool
is_gone(const struct graph *g, uint32_t node)
{
    return g->f->step[node] != NONE;
}

static bool
add_half(struct graph *g, uint32_t from, uint32_t to, double weight)
{
    uint32_t i = g->free;
    if (i != NONE)
        g->free = g->half[i].next;
    else if (g->halves < g->half_room)
        i = g->halves++;
    else
        return false;
    g->half[i] = (struct half){ weight, to, g->head[from] };
    g->head[from] = i;
    g->length[from]++;
    return true;
}

static void
free_half(struct graph *g, uint32_t i)
{
    g->half[i].next = g->free;
    g->free = i;
}

/* One half for each neighbour that is still there. */
static void
put_in_order(struct graph *g, uint32_t node)
{
    uint32_t kept = 0, *link = &g->head[node];
    for (uint32_t i = *link, next; i != NONE; i = next) {
        struct half *h = &g->half[i];
        next = h->next;
        bool gone = is_gone(g, h->to);
        if (!gone && g->where[h->to] == NONE) {
            g->where[h->to] = i;
            link = &h->next;
            kept++;
            continue;
        }
        if (!gone)
            g->half[g->where[h->to]].weight += h->weight;
        *link = next;
        free_half(g, i);
    }
    for (uint32_t i = g->head[node]; i != NONE; i = g->half[i].next)
        g->where[g->half[i].to] = NONE;
    g->length[node] = g->tidy[node] = kept;
}

/* ---- the queue ---- */

static void
queue_add(struct graph *g, uint32_t node, uint32_t degree)
{
    g->degree[node] = degree;
    if (degree < FEW) {
        bits_add(&g->few[degree], node);
        return;
    }
    uint32_t first = g->bucket[degree];
    g->after[node] = first;
    g->before[node] = NONE;
    if (first != NONE)
        g->before[first] = node;
    g->bucket[degree] = node;
    if (degree < g->lowest)
        g->lowest = degree;
}

static void
queue_drop(struct graph *g, uint32_t node)
{
    uint32_t degree = g->degree[node];
    if (degree < FEW) {
        bits_drop(&g->few[degree], node);
        return;
    }
    if (g->before[node] != NONE)
        g->after[g->before[node]] = g->after[node];
    else
        g->bucket[degree] = g->after[node];
    if (g->after[node] != NONE)
        g->before[g->after[node]] = g->before[node];
}

static uint32_t
queue_first(struct graph *g)
{
    for (uint32_t d = 0; d < FEW; d++)
        if (bits_any(&g->few[d]))
            return (uint32_t)bits_first(&g->few[d]);
    while (g->bucket[g->lowest] == NONE)
        g->lowest++;
    return g->bucket[g->lowest];
}

/* A list that was touched: in order at once where it is short, else when it has doubled. */
static void
touch(struct graph *g, uint32_t node)
{
    if (g->length[node] <= SHORT_LIST || g->length[node] > 2 * g->tidy[node])
        put_in_order(g, node);
    uint32_t degree = g->length[node] < g->nodes ? g->length[node] : (uint32_t)g->nodes - 1;
    if (degree == g->degree[node])
        return;
    queue_drop(g, node);
    queue_add(g, node, degree);
}

/* ---- elimination ---- */

static enum net_status
eliminate(struct graph *g, uint32_t k, uint32_t step)
{
    struct net_factor *f = g->f;
    double whole = g->ground[k];
    queue_drop(g, k);
    put_in_order(g, k);
    size_t first = g->entries;
    if (g->length[k] > g->entry_room - first)
        return NET_EROOM;
    for (uint32_t i = g->head[k]; i != NONE; i = g->half[i].next) {
        f->row[g->entries] = g->half[i].to;
        f->share[g->entries++] = g->half[i].weight;
        whole += g->half[i].weight;
    }
    if (!(whole > 0))
        return NET_EGROUND;
    f->step[k] = step;
    f->node[step] = k;
    f->whole[step] = whole;
    f->ground[step] = g->ground[k] / whole;
    for (size_t i = first; i < g->entries; i++)
        f->share[i] /= whole;
    for (uint32_t i = g->head[k], next; i != NONE; i = next) {
        next = g->half[i].next;
        uint32_t to = g->half[i].to;
        double weight = g->half[i].weight;
        free_half(g, i);
        g->ground[to] += weight * f->ground[step];
        for (size_t j = first; j < g->entries; j++)
            if (f->row[j] != to && !add_half(g, to, f->row[j], weight * f->share[j]))
                return NET_EROOM;
    }
    for (size_t j = first; j < g->entries; j++)
        touch(g, f->row[j]);
    return NET_OK;
}

/* Sort a column by step: ascending rows. */
static void
sift(uint32_t *row, double *share, size_t i, size_t n)
{
    for (size_t child; (child = 2 * i + 1) < n; i = child) {
        if (child + 1 < n && row[child + 1] > row[child])
            child++;
        if (row[i] >= row[child])
            return;
        uint32_t r = row[i];
        double s = share[i];
        row[i] = row[child];
        share[i] = share[child];
        row[child] = r;
        share[child] = s;
    }
}

static void
sort_column(uint32_t *row, double *share, size_t n)
{
    if (n == 2 && row[0] < row[1])
        return;
    for (size_t i = n / 2; i-- > 0;)
        sift(row, share, i, n);
    for (size_t i = n; i-- > 1;) {
        uint32_t r = row[0];
        double s = share[0];
        row[0] = row[i];
        share[0] = share[i];
        row[i] = r;
        share[i] = s;
        sift(row, share, 0, i);
    }
}

static enum net_status
eliminate_all(struct graph *g, size_t *bad)
{
    struct net_factor *f = g->f;
    for (uint32_t k = 0; k < g->nodes; k++) {
        put_in_order(g, k);
        queue_add(g, k, g->length[k] < g->nodes ? g->length[k] : (uint32_t)g->nodes - 1);
    }
    for (uint32_t step = 0; step < g->nodes; step++) {
        uint32_t k = queue_first(g);
        f->start[step] = g->entries;
        enum net_status status = eliminate(g, k, step);
        if (status == NET_EGROUND)
            *bad = k;
        if (status != NET_OK)
            return status;
    }
    f->start[g->nodes] = g->entries;
    for (size_t i = 0; i < g->entries; i++)
        f->row[i] = f->step[f->row[i]];
    for (size_t s = 0; s < g->nodes; s++)
        sort_column(f->row + f->start[s], f->share + f->start[s], f->start[s + 1] - f->start[s]);
    return NET_OK;
}

/* ---- solving ---- */

/* b is the right side by step, and becomes the solution. */
static void
substitute(const struct net_factor *f, size_t n, double *b)
{
    for (size_t s = 0; s < n; s++)
        for (size_t i = f->start[s]; i < f->start[s + 1]; i++)
            b[f->row[i]] += f->share[i] * b[s];
    for (size_t s = n; s-- > 0;) {
        b[s] /= f->whole[s];
        for (size_t i = f->start[s]; i < f->start[s + 1]; i++)
            b[s] += f->share[i] * b[f->row[i]];
    }
}

static void
solve_corrections(struct net *net, double *b)
{
    const struct net_factor *f = &net->factor;
    memset(b, 0, net->nodes * sizeof *b);
    for (size_t t = 0; t < net->ties; t++) {
        const struct net_tie *tie = &net->tie[t];
        double pull = tie->weight * tie->short_by;
        if (tie->to != NET_GROUND)
            b[f->step[tie->to]] += pull;
        if (tie->from != NET_GROUND)
            b[f->step[tie->from]] -= pull;
    }
    substitute(f, net->nodes, b);
    for (size_t s = 0; s < net->nodes; s++)
        net->correction[f->node[s]] = b[s];
}

void
net_covariance(const struct net *net, uint32_t node, double *out)
{
    const struct net_factor *f = &net->factor;
    double *by_step = out + net->nodes;
    memset(by_step, 0, net->nodes * sizeof *by_step);
    by_step[f->step[node]] = 1;
    substitute(f, net->nodes, by_step);
    for (size_t s = 0; s < net->nodes; s++)
        out[f->node[s]] = by_step[s];
}

/* ---- the inverse on the pattern ---- */

struct inverse {
    double *z, *r;   /* [entries] covariance with, and variance of the difference to, the row's node */
    double *own;     /* [nodes] variance, by step */
};

/*
 * A column's part of the inverse. Of its neighbours i < j (by step), the pair's
 * own values stand in column i, whose rows hold all that come after i here.
 */
static void
inverse_column(const struct net_factor *f, struct inverse *v, size_t s)
{
    size_t first = f->start[s], end = f->start[s + 1];
    double alone = 1 / f->whole[s], own = alone;
    for (size_t i = first; i < end; i++)
        v->z[i] = f->share[i] * v->own[f->row[i]];
    for (size_t i = first; i < end; i++) {
        size_t at = f->start[f->row[i]];
        for (size_t j = i + 1; j < end; j++) {
            while (f->row[at] != f->row[j])
                at++;
            v->z[i] += f->share[j] * v->z[at];
            v->z[j] += f->share[i] * v->z[at];
        }
    }
    for (size_t i = first; i < end; i++)
        own += f->share[i] * v->z[i];
    v->own[s] = own;
}

/*
 * Variances of differences. With neighbours j, the ground among them, and
 * shares l_j that sum to 1, the node is  sum l_j z_j + e,  e of variance 1 / W.
 * Seen from neighbour i:  R_i = 1/W + sum_j l_j R_ij - q,  where
 * q = sum_{j<m} l_j l_m R_jm  is the same for every i.
 */
static void
spread_column(const struct net_factor *f, struct inverse *v, size_t s)
{
    size_t first = f->start[s], end = f->start[s + 1];
    double g = f->ground[s], q = 0;
    for (size_t i = first; i < end; i++) {
        v->r[i] = g * v->own[f->row[i]];
        q += f->share[i] * v->r[i];
    }
    for (size_t i = first; i < end; i++) {
        size_t at = f->start[f->row[i]];
        for (size_t j = i + 1; j < end; j++) {
            while (f->row[at] != f->row[j])
                at++;
            v->r[i] += f->share[j] * v->r[at];
            v->r[j] += f->share[i] * v->r[at];
            q += f->share[i] * f->share[j] * v->r[at];
        }
    }
    for (size_t i = first; i < end; i++)
        v->r[i] += 1 / f->whole[s] - q;
}

/* The entry of a column whose row is `row`: there is one. */
static size_t
entry_of(const struct net_factor *f, uint32_t step, uint32_t row)
{
    size_t low = f->start[step], high = f->start[step + 1];
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (f->row[middle] <= row)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static double
spread_of(const struct net *net, const struct inverse *v, const struct net_tie *tie)
{
    const struct net_factor *f = &net->factor;
    if (tie->from == NET_GROUND || tie->to == NET_GROUND)
        return v->own[f->step[tie->from == NET_GROUND ? tie->to : tie->from]];
    uint32_t a = f->step[tie->from], b = f->step[tie->to];
    return a < b ? v->r[entry_of(f, a, b)] : v->r[entry_of(f, b, a)];
}

static void
invert(struct net *net, struct inverse *v)
{
    const struct net_factor *f = &net->factor;
    for (size_t s = net->nodes; s-- > 0;) {
        inverse_column(f, v, s);
        spread_column(f, v, s);
        net->variance[f->node[s]] = v->own[s];
    }
    for (size_t t = 0; t < net->ties; t++) {
        const struct net_tie *tie = &net->tie[t];
        bool bridge = net->redundancy[t] == 0;
        double spread = bridge && tie->from != NET_GROUND && tie->to != NET_GROUND ? 1 / tie->weight : spread_of(net, v, tie);
        double redundancy = 1 - tie->weight * spread;
        net->spread[t] = spread;
        net->redundancy[t] = bridge ? 0 : redundancy > 0 ? redundancy : 0;
    }
}

/* ---- bridges ---- */

/* Ties at each node, the ground last: a walk in depth, without recursion. */
struct walk {
    uint32_t *start;   /* [nodes + 2] */
    uint32_t *list;    /* [2 * ties] */
    uint32_t *met;     /* [nodes + 1] when a node was met; 0: not yet */
    uint32_t *low;     /* [nodes + 1] the earliest met that it can come back to */
    uint32_t *by;      /* [nodes + 1] the tie that it was met by */
    uint32_t *next;    /* [nodes + 1] of its list */
    uint32_t *path;    /* [nodes + 1] */
};

static size_t
place(const struct net *net, uint32_t node)
{
    return node == NET_GROUND ? net->nodes : node;
}

static void
list_ties(const struct net *net, struct walk *w)
{
    size_t n = net->nodes + 1;
    memset(w->start, 0, (n + 1) * sizeof *w->start);
    for (size_t t = 0; t < net->ties; t++) {
        w->start[place(net, net->tie[t].from) + 1]++;
        w->start[place(net, net->tie[t].to) + 1]++;
    }
    for (size_t i = 0; i < n; i++)
        w->start[i + 1] += w->start[i];
    memcpy(w->next, w->start, n * sizeof *w->next);
    for (size_t t = 0; t < net->ties; t++) {
        w->list[w->next[place(net, net->tie[t].from)]++] = (uint32_t)t;
        w->list[w->next[place(net, net->tie[t].to)]++] = (uint32_t)t;
    }
    memcpy(w->next, w->start, n * sizeof *w->next);
}

static void
meet(struct walk *w, size_t node, uint32_t by, uint32_t *count, size_t *depth)
{
    w->met[node] = w->low[node] = ++*count;
    w->by[node] = by;
    w->path[(*depth)++] = (uint32_t)node;
}

/* A tie is a bridge where nothing behind it comes back before it: redundancy 0; 1 for all others. */
static void
find_bridges(struct net *net, struct walk *w)
{
    uint32_t count = 0;
    size_t n = net->nodes + 1;
    list_ties(net, w);
    memset(w->met, 0, n * sizeof *w->met);
    for (size_t root = n; root-- > 0;) { /* the ground first */
        size_t depth = 0;
        if (w->met[root] == 0)
            meet(w, root, NONE, &count, &depth);
        while (depth > 0) {
            size_t node = w->path[depth - 1];
            if (w->next[node] == w->start[node + 1]) {
                depth--;
                uint32_t by = w->by[node];
                if (by == NONE)
                    continue;
                size_t before = w->path[depth - 1];
                net->redundancy[by] = w->low[node] > w->met[before] ? 0 : 1;
                if (w->low[node] < w->low[before])
                    w->low[before] = w->low[node];
                continue;
            }
            uint32_t t = w->list[w->next[node]++];
            size_t from = place(net, net->tie[t].from), to = place(net, net->tie[t].to), other = from == node ? to : from;
            if (t == w->by[node])
                continue;
            if (w->met[other] == 0) {
                meet(w, other, t, &count, &depth);
                continue;
            }
            net->redundancy[t] = 1;
            if (w->met[other] < w->low[node])
                w->low[node] = w->met[other];
        }
    }
}

/* ---- all of it ---- */

size_t
net_room(size_t nodes, size_t ties, size_t fill)
{
    size_t entries = fill * (nodes + ties) + 1024, halves = (fill + 1) * 2 * ties + 1024;
    size_t factor = (nodes + 1) * 8 + entries * 12 + nodes * 24 + entries * 16 + nodes * 8;
    size_t graph = nodes * (8 * 4 + 8) + halves * sizeof(struct half) + (FEW * (nodes / 62 + LEVELS * 2)) * 8;
    size_t walk = (nodes + 2) * 6 * 4 + ties * 8;
    return factor + (graph > walk ? graph : walk) + 64 * 32;
}

static enum net_status
check_ties(const struct net *net, size_t *bad)
{
    for (size_t t = 0; t < net->ties; t++) {
        const struct net_tie *tie = &net->tie[t];
        bool node = (tie->from < net->nodes || tie->from == NET_GROUND) && (tie->to < net->nodes || tie->to == NET_GROUND);
        if (!node || tie->from == tie->to || !(tie->weight > 0 && tie->weight <= 1e300) || !(tie->short_by - tie->short_by == 0)) {
            *bad = t;
            return NET_ETIE;
        }
    }
    return NET_OK;
}

static void
open_factor(struct net_factor *f, size_t nodes, size_t entries, struct arena *a)
{
    f->start = take(a, nodes + 1, sizeof *f->start);
    f->row = take(a, entries, sizeof *f->row);
    f->share = take(a, entries, sizeof *f->share);
    f->whole = take(a, nodes, sizeof *f->whole);
    f->ground = take(a, nodes, sizeof *f->ground);
    f->step = take(a, nodes, sizeof *f->step);
    f->node = take(a, nodes, sizeof *f->node);
}

static void
open_graph(struct graph *g, size_t nodes, size_t half_room, struct arena *a)
{
    g->head = take(a, nodes, sizeof *g->head);
    g->length = take(a, nodes, sizeof *g->length);
    g->tidy = take(a, nodes, sizeof *g->tidy);
    g->where = take(a, nodes, sizeof *g->where);
    g->degree = take(a, nodes, sizeof *g->degree);
    g->bucket = take(a, nodes, sizeof *g->bucket);
    g->after = take(a, nodes, sizeof *g->after);
    g->before = take(a, nodes, sizeof *g->before);
    g->ground = take(a, nodes, sizeof *g->ground);
    g->half = take(a, half_room, sizeof *g->half);
    for (int i = 0; i < FEW; i++)
        bits_open(&g->few[i], nodes, a);
}

static void
fill_graph(struct graph *g, const struct net *net)
{
    size_t bytes = net->nodes * sizeof *g->head;
    memset(g->head, 0xff, bytes); /* NONE */
    memset(g->where, 0xff, bytes);
    memset(g->bucket, 0xff, bytes);
    memset(g->f->step, 0xff, bytes);
    memset(g->length, 0, bytes);
    memset(g->tidy, 0, bytes);
    memset(g->ground, 0, net->nodes * sizeof *g->ground);
    for (size_t t = 0; t < net->ties; t++) {
        const struct net_tie *tie = &net->tie[t];
        if (tie->from == NET_GROUND)
            g->ground[tie->to] += tie->weight;
        else if (tie->to == NET_GROUND)
            g->ground[tie->from] += tie->weight;
        else {
            (void)add_half(g, tie->from, tie->to, tie->weight); /* there is room for these */
            (void)add_half(g, tie->to, tie->from, tie->weight);
        }
    }
}

enum net_status
net_solve(struct net *net, void *room, size_t bytes)
{
    struct arena a = { room, (char *)room + bytes, false };
    size_t n = net->nodes, base = net_room(n, net->ties, 0), each = net_room(n, net->ties, 1) - base;
    size_t fill = each > 0 && bytes > base ? (bytes - base) / each : 0;
    size_t entries = fill * (n + net->ties) + 1024, halves = (fill + 1) * 2 * net->ties + 1024;
    struct net_factor *f = &net->factor;
    struct walk w;
    enum net_status status = check_ties(net, &net->bad);
    if (status != NET_OK)
        return status;
    if (fill == 0 && n > 0)
        return NET_EROOM;
    open_factor(f, n, entries, &a);
    struct inverse v = { take(&a, entries, sizeof *v.z), take(&a, entries, sizeof *v.r), take(&a, n, sizeof *v.own) };
    const struct arena mark = a;
    w = (struct walk){ take(&a, n + 2, 4), take(&a, 2 * net->ties, 4), take(&a, n + 1, 4), take(&a, n + 1, 4), take(&a, n + 1, 4),
        take(&a, n + 1, 4), take(&a, n + 1, 4) };
    if (a.full)
        return NET_EROOM;
    find_bridges(net, &w);
    a = mark;
    struct graph g = { .nodes = n, .half_room = halves < NONE ? (uint32_t)halves : NONE - 1, .free = NONE, .f = f, .entry_room = entries,
        .lowest = FEW };
    open_graph(&g, n, g.half_room, &a);
    if (a.full)
        return NET_EROOM;
    fill_graph(&g, net);
    status = eliminate_all(&g, &net->bad);
    if (status != NET_OK)
        return status;
    solve_corrections(net, v.own); /* the room of what comes after */
    invert(net, &v);
    return NET_OK;
}
