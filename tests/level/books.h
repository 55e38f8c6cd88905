/* books.h - invented field books for the laws that must hold on any */
#ifndef TESTS_BOOKS_H
#define TESTS_BOOKS_H

#include "rodbook/check.h"
#include "rodbook/close.h"
#include "rodbook/room.h"

#include <stdlib.h>

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26. */
static inline uint32_t
draw(uint64_t *state, uint32_t below)
{
    *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)((*state >> 33) % below);
}

/* Everything that level_close() needs, for up to `legs` legs and `spots` spots. */
struct net {
    struct level_leg *leg;
    struct level_sight *sight;
    struct level_spot *spot;
    struct level_work work;
    size_t legs, sights, spots;
};

static inline struct net
net_new(size_t legs, size_t sights, size_t spots)
{
    struct net n = { room_new(legs, sizeof *n.leg), room_new(sights, sizeof *n.sight), room_new(spots, sizeof *n.spot),
        { 0 }, 0, 0, spots };
    n.work.link = room_new(legs, sizeof *n.work.link);
    n.work.order = room_new(legs, sizeof *n.work.order);
    n.work.next = room_new(legs, sizeof *n.work.next);
    n.work.inner = room_new(legs, sizeof *n.work.inner);
    n.work.tail = room_new(legs, sizeof *n.work.tail);
    n.work.queue = room_new(legs, sizeof *n.work.queue);
    n.work.path = room_new(legs, sizeof *n.work.path);
    n.work.met = room_new(spots, sizeof *n.work.met);
    n.work.touch_start = room_new(spots + 1, sizeof *n.work.touch_start);
    n.work.touch = room_new(2 * legs, sizeof *n.work.touch);
    n.work.pending = room_new(legs, sizeof *n.work.pending);
    return n;
}

static inline void
net_free(struct net *n)
{
    free(n->leg);
    free(n->sight);
    free(n->spot);
    free(n->work.link);
    free(n->work.order);
    free(n->work.next);
    free(n->work.inner);
    free(n->work.tail);
    free(n->work.queue);
    free(n->work.path);
    free(n->work.met);
    free(n->work.touch_start);
    free(n->work.touch);
    free(n->work.pending);
}

static inline void
net_sight(struct net *n, enum level_kind kind, length reading, uint32_t spot)
{
    n->sight[n->sights++] = (struct level_sight){ reading, spot, (uint8_t)kind, 0 };
}

/* Group the sights from `first` on as run `run`. */
static inline enum level_status
net_run(struct net *n, size_t first, uint32_t run)
{
    size_t legs = 0, bad = 0;
    enum level_status s = level_group(&n->sight[first], n->sights - first, first, run, &n->leg[n->legs], &legs, &bad);
    if (s == LEVEL_OK)
        n->legs += legs;
    return s;
}

static inline void
net_mark(struct net *n, uint32_t spot, length elevation)
{
    n->spot[spot].state = LEVEL_MARK;
    n->spot[spot].value = elevation;
}

static inline enum level_status
net_close(struct net *n, const struct level_rules *rules)
{
    return level_close(n->leg, n->legs, n->sight, n->spot, n->spots, rules, &n->work);
}

#endif
