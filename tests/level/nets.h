/* nets.h - invented nets, the same everywhere: only whole numbers are drawn, and halved exactly */
#ifndef TESTS_NETS_H
#define TESTS_NETS_H

#include "rodbook/net.h"

#include <stdlib.h>
#include <string.h>

struct made { /* a net with all its arrays */
    struct net net;
    struct net_tie *tie;
    double *covariance; /* [2 * nodes] */
    void *room;
    size_t bytes;
    uint64_t state;
};

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26. */
static inline uint32_t
made_draw(struct made *m, uint32_t below)
{
    m->state = m->state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)((m->state >> 33) % below);
}

static inline struct made
made_new(size_t nodes, size_t ties, uint64_t seed)
{
    struct made m = { .net = { .nodes = nodes }, .state = seed };
    m.tie = malloc((ties + 1) * sizeof *m.tie);
    m.net.tie = m.tie;
    m.net.correction = malloc((nodes + 1) * sizeof(double));
    m.net.variance = malloc((nodes + 1) * sizeof(double));
    m.net.spread = malloc((ties + 1) * sizeof(double));
    m.net.redundancy = malloc((ties + 1) * sizeof(double));
    m.covariance = malloc((2 * nodes + 1) * sizeof(double));
    return m;
}

static inline void
made_free(struct made *m)
{
    free(m->tie);
    free(m->net.correction);
    free(m->net.variance);
    free(m->net.spread);
    free(m->net.redundancy);
    free(m->covariance);
    free(m->room);
}

/* Weights from 2^-wide to nearly 2^(wide + 10), 1 / m^2. */
static inline void
made_tie(struct made *m, uint32_t from, uint32_t to, uint32_t wide)
{
    double weight = 1024 + made_draw(m, 1023);
    for (uint32_t halvings = made_draw(m, 2 * wide + 1); halvings > 0; halvings--)
        weight /= 2;
    for (uint32_t i = 0; i < wide; i++)
        weight *= 2;
    m->tie[m->net.ties++] = (struct net_tie){ from, to, weight, ((double)made_draw(m, 2001) - 1000) / 65536 };
}

/* As a caller does: room by net_room(), once more where that was too small. */
static inline enum net_status
made_solve(struct made *m)
{
    m->bytes = net_room(m->net.nodes, m->net.ties, 1);
    m->room = malloc(m->bytes);
    enum net_status status = net_solve(&m->net, m->room, m->bytes);
    if (status != NET_EROOM)
        return status;
    free(m->room);
    m->bytes = m->net.needs;
    m->room = malloc(m->bytes);
    return net_solve(&m->net, m->room, m->bytes);
}

/* ---- shapes: lines, loops with side shots, grids, one hub, two hubs, several, anything ---- */

static inline struct made
made_line(uint32_t nodes, uint32_t wide, uint64_t seed)
{
    struct made m = made_new(nodes, nodes + 1, seed);
    made_tie(&m, NET_GROUND, 0, wide);
    for (uint32_t i = 1; i < nodes; i++)
        made_tie(&m, i - 1, i, wide);
    made_tie(&m, nodes - 1, NET_GROUND, wide);
    return m;
}

static inline struct made
made_loops(uint32_t nodes, uint32_t wide, uint64_t seed)
{
    struct made m = made_new(nodes, 2 * (size_t)nodes, seed);
    uint32_t turn = 0, start = 0;
    made_tie(&m, 0, NET_GROUND, wide);
    for (uint32_t i = 1; i < nodes; i++) {
        made_tie(&m, turn, i, wide);
        if (i % 6 == 0)
            turn = i;
        if (i % 42 == 0) {
            made_tie(&m, turn, start, wide);
            start = turn;
        }
    }
    return m;
}

static inline struct made
made_grid(uint32_t side, uint32_t wide, uint64_t seed)
{
    struct made m = made_new((size_t)side * side, 2 * (size_t)side * side, seed);
    made_tie(&m, side, NET_GROUND, wide);
    for (uint32_t i = 0; i < side * side; i++) {
        if (i % side + 1 < side)
            made_tie(&m, i, i + 1, wide);
        if (i + side < side * side)
            made_tie(&m, i + side, i, wide);
    }
    return m;
}

static inline struct made
made_wheel(uint32_t nodes, uint32_t wide, uint64_t seed)
{
    struct made m = made_new(nodes, 2 * (size_t)nodes, seed);
    made_tie(&m, 1, NET_GROUND, wide);
    for (uint32_t i = 1; i < nodes; i++) {
        made_tie(&m, 0, i, wide);
        made_tie(&m, i, i + 1 < nodes ? i + 1 : 1, wide);
    }
    return m;
}

static inline struct made
made_pair(uint32_t nodes, uint32_t wide, uint64_t seed)
{
    struct made m = made_new(nodes, 2 * (size_t)nodes, seed);
    made_tie(&m, 0, NET_GROUND, wide);
    for (uint32_t i = 2; i < nodes; i++) {
        made_tie(&m, 0, i, wide);
        made_tie(&m, i, 1, wide);
    }
    return m;
}

/*
 * Three wheels in a row, tied to each other at their hubs and on their rims;
 * and pieces of four points that hang together by two more hubs alone.
 */
static inline struct made
made_hubs(uint32_t wide, uint64_t seed)
{
    enum { RIM = 60, WHEEL = RIM + 1, HUB = 3 * WHEEL, PIECES = 14 };
    struct made m = made_new(HUB + 2 + 4 * PIECES, 600, seed);
    made_tie(&m, 1, NET_GROUND, wide);
    for (uint32_t k = 0, hub = 0; k < 3; k++, hub += WHEEL) {
        for (uint32_t i = 1; i <= RIM; i++) {
            made_tie(&m, hub, hub + i, wide);
            made_tie(&m, hub + i, hub + (i < RIM ? i + 1 : 1), wide);
        }
        made_tie(&m, hub + WHEEL, hub, wide);
        made_tie(&m, hub + RIM, hub + WHEEL + (k < 2 ? RIM / 2 : 1), wide);
    }
    for (uint32_t k = 0, first = HUB + 2; k < PIECES; k++, first += 4)
        for (uint32_t i = 0; i < 4; i++) {
            made_tie(&m, HUB, first + i, wide);
            if (k < 12)
                made_tie(&m, first + i, HUB + 1, wide);
            for (uint32_t j = 0; j < i; j++)
                made_tie(&m, first + j, first + i, wide);
        }
    return m;
}

/* A tree whose ties reach back by no more than `reach`, and more ties between any two, the ground among them. */
static inline struct made
made_any(uint32_t nodes, uint32_t reach, uint32_t more, uint32_t wide, uint64_t seed)
{
    struct made m = made_new(nodes, (size_t)nodes + more, seed);
    made_tie(&m, NET_GROUND, 0, wide);
    for (uint32_t i = 1; i < nodes; i++)
        made_tie(&m, i, i - 1 - made_draw(&m, i < reach ? i : reach), wide);
    for (uint32_t k = 0; k < more; k++) {
        uint32_t a = made_draw(&m, nodes), b = made_draw(&m, nodes + nodes / 8 + 1);
        if (a != b)
            made_tie(&m, a, b < nodes ? b : NET_GROUND, wide);
    }
    return m;
}

/* ---- all bits of all results ---- */

static inline uint64_t
made_hash(uint64_t hash, const double *x, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        uint64_t bits;
        memcpy(&bits, &x[i], sizeof bits);
        for (int k = 0; k < 64; k += 8)
            hash = (hash ^ (bits >> k & 0xff)) * UINT64_C(0x100000001b3); /* FNV-1a */
    }
    return hash;
}

static inline uint64_t
made_hash_all(void)
{
    struct made all[] = { made_line(300, 0, 1), made_loops(1000, 2, 2), made_grid(40, 1, 3), made_grid(9, 20, 4),
        made_wheel(500, 1, 5), made_pair(300, 3, 6), made_any(300, 300, 500, 4, 7), made_any(80, 80, 3000, 1, 8),
        made_any(2000, 12, 1500, 1, 9), made_any(1, 1, 0, 0, 10), made_hubs(2, 11) };
    uint64_t hash = UINT64_C(0xcbf29ce484222325);
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        struct made *m = &all[i];
        if (made_solve(m) != NET_OK)
            return 0;
        net_covariance(&m->net, (uint32_t)m->net.nodes / 2, m->covariance);
        hash = made_hash(hash, m->net.correction, m->net.nodes);
        hash = made_hash(hash, m->net.variance, m->net.nodes);
        hash = made_hash(hash, m->net.spread, m->net.ties);
        hash = made_hash(hash, m->net.redundancy, m->net.ties);
        hash = made_hash(hash, m->covariance, m->net.nodes);
        made_free(m);
    }
    return hash;
}

#define MADE_HASH UINT64_C(0xd9efd570a187923b) /* of all of them, with any compiler and at any -O */

#endif
