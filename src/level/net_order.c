/*
 * The order of elimination for the core: fewest neighbours first, by bounds of
 * them, on a quotient graph. An eliminated node becomes an element, the list
 * of the nodes that it has joined; a node's own list has the elements that it
 * is in, then the nodes that it is tied to beside these, so that the lists
 * never grow. Nodes with equal lists are taken together.
 *
 * Source: P. R. Amestoy, T. A. Davis, I. S. Duff, An approximate minimum
 * degree ordering algorithm, SIAM J. Matrix Anal. Appl. 17 (1996), 886-905,
 * from memory. Of equal degrees, the node that came to it last; nothing
 * depends on where the room lies, so that runs repeat.
 */
#include "net_parts.h"

#define HEAD (UINT32_C(1) << 31) /* marks the first entry of a list while the pool is pressed together */
#define HUB_MEAN UINT64_C(10) /* a hub has more than this times the mean of neighbours, */
#define HUB_ROOT UINT64_C(2)  /* and more than the root of the count of nodes over this */

void
net_order_open(struct net_order *o, size_t nodes, size_t halves, struct net_arena *a)
{
    o->nodes = (uint32_t)nodes;
    o->room = (uint32_t)(halves + halves / 4 + nodes);
    o->pool = net_above(a, o->room, sizeof *o->pool);
    uint32_t **part[] = { &o->at, &o->length, &o->elements, &o->degree, &o->into, &o->pivot, &o->after, &o->before,
        &o->bucket };
    for (size_t i = 0; i < sizeof part / sizeof *part; i++)
        *part[i] = net_above(a, nodes, sizeof **part[i]);
    o->first = net_above(a, nodes + 1, sizeof *o->first);
    o->size = net_above(a, nodes, sizeof *o->size);
    o->stamp = net_above(a, nodes, sizeof *o->stamp);
}

/* ---- the queue ---- */

static void
queue_add(struct net_order *o, uint32_t i, uint32_t degree)
{
    uint32_t first = o->first[degree];
    o->degree[i] = degree;
    o->after[i] = first;
    o->before[i] = NONE;
    if (first != NONE)
        o->before[first] = i;
    o->first[degree] = i;
    if (degree < o->lowest)
        o->lowest = degree;
}

static void
queue_drop(struct net_order *o, uint32_t i)
{
    uint32_t before = o->before[i], after = o->after[i];
    if (before != NONE)
        o->after[before] = after;
    else
        o->first[o->degree[i]] = after;
    if (after != NONE)
        o->before[after] = before;
}

static uint32_t
queue_take(struct net_order *o)
{
    while (o->first[o->lowest] == NONE)
        o->lowest++;
    uint32_t i = o->first[o->lowest];
    queue_drop(o, i);
    return i;
}

/* ---- the pool ---- */

static void
press_together(struct net_order *o)
{
    uint32_t to = 0;
    for (uint32_t i = 0; i < o->nodes; i++)
        if (o->length[i] > 0) {
            uint32_t *head = &o->pool[o->at[i]];
            o->at[i] = *head;
            *head = HEAD | i;
        }
    for (uint32_t from = 0; from < o->used;) {
        uint32_t i = o->pool[from] & ~HEAD;
        if (!(o->pool[from] & HEAD)) {
            from++;
            continue;
        }
        o->pool[to] = o->at[i];
        o->at[i] = to++;
        from++;
        for (uint32_t k = 1; k < o->length[i]; k++)
            o->pool[to++] = o->pool[from++];
    }
    o->used = to;
}

/* ---- the pivot's front ---- */

/* Nodes of a list that are not in the front yet; `to` is where they go. */
static uint32_t
take_over(struct net_order *o, uint32_t from, uint32_t count, uint32_t to, uint32_t *weight)
{
    for (uint32_t k = 0; k < count; k++) {
        uint32_t i = o->pool[from + k];
        if (o->size[i] <= 0)
            continue;
        *weight += (uint32_t)o->size[i];
        o->size[i] = -o->size[i];
        queue_drop(o, i);
        o->pool[to++] = i;
    }
    return to;
}

static uint32_t
most_entries(const struct net_order *o, uint32_t me)
{
    uint64_t most = o->length[me] - o->elements[me];
    for (uint32_t k = 0; k < o->elements[me]; k++)
        most += o->length[o->pool[o->at[me] + k]];
    return most < o->left ? (uint32_t)most : o->left;
}

/* The list of all that the pivot joins; elements that it was in are taken over by it. */
static void
join_front(struct net_order *o, uint32_t me)
{
    uint32_t weight = 0, elements = o->elements[me], to;
    o->size[me] = -o->size[me];
    if (elements == 0) {
        to = take_over(o, o->at[me], o->length[me], o->at[me], &weight);
        o->length[me] = to - o->at[me];
        o->degree[me] = weight;
        return;
    }
    if (o->room - o->used < most_entries(o, me))
        press_together(o);
    uint32_t list = o->at[me], start = to = o->used;
    for (uint32_t k = 0; k < elements; k++) {
        uint32_t e = o->pool[list + k];
        to = take_over(o, o->at[e], o->length[e], to, &weight);
        o->into[e] = me;
        o->stamp[e] = 0;
        o->length[e] = 0;
    }
    to = take_over(o, list + elements, o->length[me] - elements, to, &weight);
    o->at[me] = start;
    o->length[me] = to - start;
    o->elements[me] = 0;
    o->degree[me] = weight;
    o->used = to;
}

/* ---- degrees ---- */

/* stamp[e] - flag becomes the count of an element's nodes that are not in the front. */
static void
measure_elements(struct net_order *o, uint32_t me)
{
    for (uint32_t k = 0; k < o->length[me]; k++) {
        uint32_t i = o->pool[o->at[me] + k], size = (uint32_t)-o->size[i];
        for (uint32_t p = o->at[i]; p < o->at[i] + o->elements[i]; p++) {
            uint32_t e = o->pool[p];
            if (o->stamp[e] >= o->flag)
                o->stamp[e] -= size;
            else if (o->stamp[e] != 0)
                o->stamp[e] = o->flag + o->degree[e] - size;
        }
    }
}

/* Elements that have nothing outside the front are taken over; returns where the kept ones end. */
static uint32_t
keep_elements(struct net_order *o, uint32_t me, uint32_t i, uint64_t *degree, uint64_t *sum)
{
    uint32_t to = o->at[i], end = to + o->elements[i];
    for (uint32_t p = to; p < end; p++) {
        uint32_t e = o->pool[p];
        if (o->stamp[e] == 0)
            continue;
        if (o->stamp[e] == o->flag) {
            o->into[e] = me;
            o->stamp[e] = 0;
            o->length[e] = 0;
            continue;
        }
        *degree += o->stamp[e] - o->flag;
        *sum += e;
        o->pool[to++] = e;
    }
    return to;
}

/*
 * A node of the front: its list without what the front covers, and the pivot
 * as its first element. The list has room: the pivot, or an element that the
 * pivot took over, was in it.
 */
static void
renew(struct net_order *o, uint32_t me, uint32_t i)
{
    uint64_t degree = 0, sum = me;
    uint32_t from = o->at[i] + o->elements[i], end = o->at[i] + o->length[i];
    uint32_t mid = keep_elements(o, me, i, &degree, &sum), to = mid;
    for (uint32_t p = from; p < end; p++) {
        uint32_t j = o->pool[p];
        if (o->size[j] <= 0)
            continue;
        degree += (uint32_t)o->size[j];
        sum += j;
        o->pool[to++] = j;
    }
    if (degree == 0) { /* nothing outside the front: eliminated with it */
        o->into[i] = me;
        o->size[me] += o->size[i];
        o->degree[me] -= (uint32_t)-o->size[i];
        o->size[i] = 0;
        o->length[i] = 0;
        return;
    }
    o->pool[to] = o->pool[mid];
    o->pool[mid] = o->pool[o->at[i]];
    o->pool[o->at[i]] = me;
    o->elements[i] = mid - o->at[i] + 1;
    o->length[i] = to - o->at[i] + 1;
    if (degree < o->degree[i])
        o->degree[i] = (uint32_t)degree;
    uint32_t b = (uint32_t)(sum % o->nodes);
    o->after[i] = o->bucket[b];
    o->before[i] = b;
    o->bucket[b] = i;
}

/* ---- equal nodes ---- */

static bool
is_equal(const struct net_order *o, uint32_t i, uint32_t j)
{
    if (o->length[i] != o->length[j] || o->elements[i] != o->elements[j])
        return false;
    for (uint32_t k = 1; k < o->length[j]; k++) /* the first is the pivot */
        if (o->stamp[o->pool[o->at[j] + k]] != o->flag)
            return false;
    return true;
}

static void
merge_equals(struct net_order *o, uint32_t i)
{
    for (uint32_t k = 1; k < o->length[i]; k++)
        o->stamp[o->pool[o->at[i] + k]] = o->flag;
    for (uint32_t *link = &o->after[i], j; (j = *link) != NONE;) {
        if (!is_equal(o, i, j)) {
            link = &o->after[j];
            continue;
        }
        o->into[j] = i;
        o->size[i] += o->size[j];
        o->size[j] = 0;
        o->length[j] = 0;
        *link = o->after[j];
    }
    o->flag++;
}

static void
find_equals(struct net_order *o, uint32_t me)
{
    for (uint32_t k = 0; k < o->length[me]; k++) {
        uint32_t i = o->pool[o->at[me] + k];
        if (o->size[i] == 0)
            continue;
        uint32_t *bucket = &o->bucket[o->before[i]], j = *bucket;
        *bucket = NONE;
        for (; j != NONE && o->after[j] != NONE; j = o->after[j])
            merge_equals(o, j);
    }
}

/* ---- elimination ---- */

/* What is left of the front goes back to the queue. */
static void
close_front(struct net_order *o, uint32_t me)
{
    uint32_t start = o->at[me], to = start;
    o->size[me] = -o->size[me];
    o->left -= (uint32_t)o->size[me];
    for (uint32_t k = 0; k < o->length[me]; k++) {
        uint32_t i = o->pool[start + k];
        if (o->size[i] == 0)
            continue;
        uint32_t size = (uint32_t)(o->size[i] = -o->size[i]);
        uint64_t degree = (uint64_t)o->degree[i] + o->degree[me] - size;
        queue_add(o, i, degree < o->left - size ? (uint32_t)degree : o->left - size);
        o->pool[to++] = i;
    }
    if (start + o->length[me] == o->used)
        o->used = to;
    o->length[me] = to - start;
}

static void
eliminate(struct net_order *o, uint32_t me)
{
    o->pivot[o->pivots++] = me;
    join_front(o, me);
    measure_elements(o, me);
    for (uint32_t k = 0; k < o->length[me]; k++)
        renew(o, me, o->pool[o->at[me] + k]);
    o->flag += (uint64_t)o->nodes + 1;
    find_equals(o, me);
    close_front(o, me);
    o->stamp[me] = 1;
}

/*
 * A node with very many neighbours would be looked through at nearly every
 * elimination. It is left out of the order, and finds its place in the tree.
 */
static void
set_hubs_aside(struct net_order *o)
{
    uint64_t n = o->nodes, halves = o->used;
    for (uint32_t i = 0; i < n; i++) {
        uint64_t d = o->length[i];
        if (d * n <= HUB_MEAN * halves || HUB_ROOT * HUB_ROOT * d * d <= n)
            continue;
        o->size[i] = 0;
        o->length[i] = 0;
        o->into[i] = NONE;
        o->hubs++;
    }
}

static void
drop_hubs(struct net_order *o, uint32_t i)
{
    uint32_t to = o->at[i];
    for (uint32_t p = to; p < o->at[i] + o->length[i]; p++)
        if (o->size[o->pool[p]] > 0)
            o->pool[to++] = o->pool[p];
    o->length[i] = to - o->at[i];
}

void
net_order_run(struct net_order *o)
{
    uint32_t n = o->nodes;
    memset(o->first, 0xff, ((size_t)n + 1) * sizeof *o->first); /* NONE */
    memset(o->bucket, 0xff, n * sizeof *o->bucket);
    memset(o->into, 0xff, n * sizeof *o->into);
    memset(o->elements, 0, n * sizeof *o->elements);
    o->pivots = o->hubs = o->lowest = 0;
    for (uint32_t i = 0; i < n; i++) {
        o->size[i] = 1;
        o->stamp[i] = 1;
    }
    o->flag = 2;
    set_hubs_aside(o);
    o->left = n - o->hubs;
    for (uint32_t i = n; i-- > 0;) {
        if (o->size[i] == 0)
            continue;
        if (o->hubs > 0)
            drop_hubs(o, i);
        queue_add(o, i, o->length[i]);
    }
    o->lowest = 0;
    while (o->left > 0)
        eliminate(o, queue_take(o));
}
