/*
 * net_parts.h - the parts of the net's engine, and what they hand each other
 *
 * net.c          ties checked, the parts called in turn, corrections, what is returned
 * net_bridge.c   ties that nothing else checks, and nodes that nothing ties to the ground
 * net_thin.c     nodes of at most two neighbours, eliminated and brought back one by one
 * net_order.c    the order of elimination for the core that is left
 * net_tree.c     fronts: nodes of the core that are eliminated together, hubs among them, and their places in the next front
 * net_front.c    fronts eliminated and brought back on contiguous arrays
 */
#ifndef LEVEL_NET_PARTS_H
#define LEVEL_NET_PARTS_H

#include "rodbook/net.h"

#include <stdbool.h>

/* Declared here, since where there is no C library there is no header of its either (C17, 7.1.4). */
void *memcpy(void *restrict to, const void *restrict from, size_t n);
void *memmove(void *to, const void *from, size_t n);
void *memset(void *to, int byte, size_t n);

#define NONE UINT32_MAX
#define NET_MOST (UINT32_C(1) << 30) /* nodes and ties are fewer: two ends of each are counted in 32 bits */

/*
 * Work room, given out from both ends: what stays from below, what one part
 * needs for itself from above. Without a base it only counts.
 */
struct net_arena {
    char *base;
    size_t size, low, high, most; /* bytes; most: that low and high came to together */
};

void *net_below(struct net_arena *a, size_t n, size_t size); /* NULL where it does not fit */
void *net_above(struct net_arena *a, size_t n, size_t size);

/* The graph while thin nodes are taken out of it. */
struct net_half { /* one end of a tie */
    double weight;
    uint32_t to, twin; /* the node at the other end, and its half */
};

struct net_graph {
    uint32_t nodes;
    uint32_t *start;  /* [nodes + 1] a node's first half */
    uint32_t *degree; /* [nodes] halves that are left of its list */
    double *ground;   /* [nodes] weight to the ground */
    struct net_half *half;
    uint32_t *seen;   /* [nodes] the half towards a node, while one list is looked through */
    uint32_t *again;  /* [nodes] nodes that became thin behind the sweep */
    uint32_t waiting, swept;
};

/* Nodes of the core that are eliminated together: each is a neighbour of all the others and of the front's rows. */
struct net_front {
    uint32_t first, width;  /* step of the first node; how many */
    uint32_t rows;          /* later nodes that they are joined to */
    uint32_t into;          /* the front that takes over, or NONE */
    uint32_t child, next;   /* its first front below, the next one of its `into`; or NONE */
    size_t row_at;          /* in net_factor.rows and .place */
    size_t share_at;        /* in net_factor.block: `width` columns of width + rows */
};

/* What is kept of an elimination; z, r, own and where are no more once net_solve() is through. Nodes stand by step. */
struct net_factor {
    uint32_t nodes, thin;   /* steps below `thin` had at most two neighbours; the others are the core */
    uint32_t *step, *node;  /* [nodes] a node's step, and the node of a step */
    double *whole, *ground; /* [nodes] the node's whole weight, and the ground's share of it */
    /* Lists of later neighbours, by step and ascending: of a thin node all, of one of the core those that ties join. */
    uint32_t *start;        /* [nodes + 1] */
    uint32_t *row;
    double *share;          /* thin: over the whole weight; core: the weight of the tie */
    double *z, *r;          /* covariance with the neighbour; variance of the difference */
    double *own;            /* [nodes] variance */
    uint32_t fronts;
    struct net_front *front; /* each before its `into` */
    uint32_t *rows;         /* of each front, by step and ascending */
    uint32_t *place;        /* the same: where the row stands among the nodes and rows of `into` */
    double *block;          /* shares, below the diagonal */
    double *gather;         /* [width + rows of the largest front] */
    uint32_t *where;        /* [nodes - thin] a later node's place in the front that is worked on */
    uint64_t row_count, block_count, stack; /* entries; doubles on the stack, whichever way needs more */
    uint32_t widest;        /* nodes and rows of the largest front */
};

/* net_bridge.c: bridge[t] is set for a tie that nothing else checks; a node without ground, or NONE. */
void net_bridges_open(struct net_arena *a, size_t nodes, size_t ties, uint32_t *part[7]);
uint32_t net_bridges(const struct net *net, uint32_t *const part[7], bool *bridge);

/* net_thin.c */
void net_graph_open(struct net_graph *g, size_t nodes, size_t ties, struct net_arena *a);
void net_graph_fill(struct net_graph *g, const struct net *net);
void net_thin_eliminate(struct net_graph *g, struct net_factor *f);
void net_thin_rows(struct net_factor *f); /* from nodes to steps, once all have one */
void net_thin_invert(struct net_factor *f);
uint32_t net_entry(const struct net_factor *f, uint32_t step, uint32_t row); /* of that row in the list of a step */

/* net_order.c: the core's nodes, numbered among themselves; who is eliminated with whom, and in what order. */
struct net_order {
    uint32_t nodes, room, used;         /* entries of the pool */
    uint32_t *pool;                     /* lists */
    uint32_t *at, *length, *elements;   /* [nodes] a list; how many of its first are elements, the others nodes */
    int32_t *size;      /* [nodes] nodes that it stands for; below 0 while it is in the pivot's front; 0: it stands for none */
    uint32_t *degree;   /* [nodes] bound of a node's neighbours; count of those that an element joins */
    uint32_t *into;     /* [nodes] who took it over */
    uint32_t *pivot;    /* [nodes] elements in the order of elimination */
    uint32_t *first, *after, *before;   /* the queue: [nodes] first of each degree, [nodes] links */
    uint32_t *bucket;   /* [nodes] first node of each checksum */
    uint64_t *stamp;    /* [nodes] */
    uint64_t flag;
    uint32_t pivots, lowest, left;
    uint32_t hubs;      /* nodes that were left out of the order; net_tree.c finds their places */
};

void net_order_open(struct net_order *o, size_t nodes, size_t halves, struct net_arena *a);
void net_order_run(struct net_order *o);

/* net_tree.c */
struct net_tree {
    uint32_t *local, *core;   /* [all nodes] number in the core; [core] the node */
    uint32_t *owner;          /* [core] front of a node; NONE: of a hub that has no place yet */
    uint32_t *moved;          /* [core + 1] which front a draft became */
    uint32_t *mark, *stack;   /* [core + 1] */
    struct net_front *draft;  /* [core + 1] */
    uint64_t *peak, *zeros;   /* [core + 1] */
};

void net_tree_open(struct net_tree *t, size_t nodes, size_t core, struct net_arena *a);
void net_tree_lists(struct net_tree *t, const struct net_factor *f, const struct net_graph *g, struct net_order *o);
void net_tree_grow(struct net_tree *t, struct net_order *o, const struct net_graph *g, struct net_factor *f);
void net_tree_neighbours(const struct net_graph *g, struct net_factor *f);
void net_tree_rows(struct net_factor *f); /* once there is room for them */

/* net_front.c */
void net_fronts_eliminate(struct net_factor *f, double *stack, double *panel);
void net_fronts_invert(struct net_factor *f, double *stack, double *spare);
void net_fronts_forward(const struct net_factor *f, double *b);
void net_fronts_back(const struct net_factor *f, double *b);
#define NET_PANEL 8 /* columns of a front that are worked on together */

#endif
