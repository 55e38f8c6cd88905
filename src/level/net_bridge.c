/* Ties that nothing else checks, by a walk in depth without recursion. */
#include "net_parts.h"

/* Ties at each node, the ground last. */
struct walk {
    uint32_t *start; /* [nodes + 2] */
    uint32_t *list;  /* [2 * ties] */
    uint32_t *met;   /* [nodes + 1] when a node was met; 0: not yet */
    uint32_t *low;   /* [nodes + 1] the earliest met that it can come back to */
    uint32_t *by;    /* [nodes + 1] the tie that it was met by */
    uint32_t *next;  /* [nodes + 1] of its list */
    uint32_t *path;  /* [nodes + 1] */
    uint32_t count, depth;
};

void
net_bridges_open(struct net_arena *a, size_t nodes, size_t ties, uint32_t *part[7])
{
    part[0] = net_above(a, nodes + 2, sizeof *part[0]);
    part[1] = net_above(a, 2 * ties, sizeof *part[1]);
    for (int i = 2; i < 7; i++)
        part[i] = net_above(a, nodes + 1, sizeof *part[i]);
}

static uint32_t
place(const struct net *net, uint32_t node)
{
    return node == NET_GROUND ? (uint32_t)net->nodes : node;
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
meet(struct walk *w, uint32_t node, uint32_t by)
{
    w->met[node] = w->low[node] = ++w->count;
    w->by[node] = by;
    w->path[w->depth++] = node;
}

/* The last node of the path has no more ties: its own tie is a bridge where nothing behind it comes back before it. */
static void
go_back(struct walk *w, bool *bridge)
{
    uint32_t node = w->path[--w->depth];
    if (w->depth == 0)
        return;
    uint32_t before = w->path[w->depth - 1];
    bridge[w->by[node]] = w->low[node] > w->met[before];
    if (w->low[node] < w->low[before])
        w->low[before] = w->low[node];
}

static void
go_on(const struct net *net, struct walk *w, uint32_t node, bool *bridge)
{
    uint32_t t = w->list[w->next[node]++];
    if (t == w->by[node])
        return;
    uint32_t from = place(net, net->tie[t].from), other = from == node ? place(net, net->tie[t].to) : from;
    if (w->met[other] == 0) {
        meet(w, other, t);
        return;
    }
    bridge[t] = false;
    if (w->met[other] < w->low[node])
        w->low[node] = w->met[other];
}

uint32_t
net_bridges(const struct net *net, uint32_t *const part[7], bool *bridge)
{
    struct walk w = { part[0], part[1], part[2], part[3], part[4], part[5], part[6], 0, 0 };
    size_t n = net->nodes;
    list_ties(net, &w);
    memset(w.met, 0, (n + 1) * sizeof *w.met);
    meet(&w, (uint32_t)n, NONE);
    while (w.depth > 0) {
        uint32_t node = w.path[w.depth - 1];
        if (w.next[node] == w.start[node + 1])
            go_back(&w, bridge);
        else
            go_on(net, &w, node, bridge);
    }
    for (uint32_t i = 0; i < n; i++)
        if (w.met[i] == 0)
            return i;
    return NONE;
}
