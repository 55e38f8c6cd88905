/* loops.c - a fundamental set of loops of a net */
#include "rodbook/adjust.h"

#include "parts.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NONE UINT32_MAX

/* The net as a tree; the ground is the node behind the last. */
struct tree {
    const struct adjust *a;
    size_t nodes;     /* the ground included */
    uint32_t *start;  /* [nodes + 1] ties of each node... */
    uint32_t *list;   /* ...in here */
    uint32_t *by;     /* [nodes] the tie that leads up; NONE at a root */
    uint32_t *depth;  /* [nodes]; NONE until met */
    uint32_t *queue;  /* [nodes] */
    uint8_t *in_tree; /* [ties] */
};

static uint32_t
place(const struct tree *t, uint32_t node)
{
    return node == NET_GROUND ? (uint32_t)t->nodes - 1 : node;
}

static uint32_t
other_end(const struct tree *t, uint32_t tie, uint32_t node)
{
    uint32_t from = place(t, t->a->tie[tie].from), to = place(t, t->a->tie[tie].to);
    return from == node ? to : from;
}

static void
release_tree(struct tree *t)
{
    free(t->start);
    free(t->list);
    free(t->by);
    free(t->depth);
    free(t->queue);
    free(t->in_tree);
}

static int
open_tree(struct tree *t, const struct adjust *a)
{
    size_t n = a->net.nodes + 1, m = a->net.ties;
    *t = (struct tree){ .a = a, .nodes = n, .start = room_new(n + 1, 4), .list = room_new(2 * m, 4), .by = room_new(n, 4),
        .depth = room_new(n, 4), .queue = room_new(n, 4), .in_tree = room_new(m, 1) };
    if (!t->start || !t->list || !t->by || !t->depth || !t->queue || !t->in_tree)
        return -1;
    for (size_t i = 0; i < m; i++) {
        t->start[place(t, a->tie[i].from) + 1]++;
        t->start[place(t, a->tie[i].to) + 1]++;
    }
    for (size_t i = 0; i < n; i++)
        t->start[i + 1] += t->start[i];
    memcpy(t->queue, t->start, n * sizeof *t->queue);
    for (uint32_t i = 0; i < m; i++) {
        t->list[t->queue[place(t, a->tie[i].from)]++] = i;
        t->list[t->queue[place(t, a->tie[i].to)]++] = i;
    }
    memset(t->depth, 0xff, n * sizeof *t->depth);
    return 0;
}

static void
grow_from(struct tree *t, uint32_t root)
{
    size_t read = 0, written = 0;
    t->depth[root] = 0;
    t->by[root] = NONE;
    t->queue[written++] = root;
    while (read < written) {
        uint32_t node = t->queue[read++];
        for (uint32_t i = t->start[node]; i < t->start[node + 1]; i++) {
            uint32_t far = other_end(t, t->list[i], node);
            if (t->depth[far] != NONE)
                continue;
            t->depth[far] = t->depth[node] + 1;
            t->by[far] = t->list[i];
            t->in_tree[t->list[i]] = 1;
            t->queue[written++] = far;
        }
    }
}

/* ---- one loop ---- */

static int
add_way(struct adjust_loops *l, uint32_t tie, bool forward)
{
    uint32_t *way = room_for(l->way, &l->way_room, l->ways, sizeof *way);
    uint8_t *grown = room_for(l->forward, &l->forward_room, l->ways, sizeof *grown);
    l->way = way ? way : l->way;
    l->forward = grown ? grown : l->forward;
    if (!way || !grown)
        return -1;
    way[l->ways] = tie;
    grown[l->ways++] = forward;
    return 0;
}

/* What a tie adds to its loop; `forward` where it is walked as it points. */
static void
count_tie(const struct adjust *a, struct adjust_loop *loop, uint32_t tie, bool forward)
{
    const struct adjust_observation *of = &a->of[tie];
    const struct job *job = a->job;
    length dist = 0;
    loop->misclosure += forward ? of->off : -of->off;
    loop->sigma += of->sigma * of->sigma;
    if (of->kind == ADJUST_SECTION) {
        const struct record_section *s = &job->r->section[of->index];
        loop->setups += s->setups;
        loop->setups_known &= s->setups > 0;
        dist = s->dist > 0 ? s->dist : -1;
    } else if (of->kind == ADJUST_READING) {
        struct record_dist d = job_dist_of(job, &job->r->row[job->sight_row[of->index]]);
        length own = job->sight[of->index].kind == LEVEL_BS ? d.bs : d.ahead;
        dist = own > 0 ? own : -1;
    }
    loop->dist = loop->dist < 0 || dist < 0 ? -1 : loop->dist + dist;
}

/* An instrument on the way. */
static void
count_node(const struct adjust *a, struct adjust_loop *loop, const struct tree *t, uint32_t node)
{
    loop->over_marks |= node == t->nodes - 1;
    if (node < t->nodes - 1 && a->net.nodes > 0)
        loop->setups += adjust_is_instrument(a, node);
}

static int
close_loop(struct adjust_loops *l, const struct tree *t, uint32_t tie, const struct level_rules *rules)
{
    const struct adjust *a = t->a;
    struct adjust_loop *loop = &l->loop[l->loops++];
    uint32_t from = place(t, a->tie[tie].from), to = place(t, a->tie[tie].to);
    *loop = (struct adjust_loop){ .tie = tie, .first = (uint32_t)l->ways, .setups_known = true };
    count_tie(a, loop, tie, true);
    count_node(a, loop, t, from);
    count_node(a, loop, t, to);
    int rc = add_way(l, tie, true);
    while (rc == 0 && from != to) { /* up from the deeper end, until they meet */
        bool down = t->depth[to] >= t->depth[from];
        uint32_t *end = down ? &to : &from, by = t->by[*end], up = other_end(t, by, *end);
        bool as_it_points = place(t, a->tie[by].from) == *end, forward = down ? as_it_points : !as_it_points;
        count_tie(a, loop, by, forward);
        rc = add_way(l, by, forward);
        *end = up;
        if (from != to)
            count_node(a, loop, t, up);
    }
    loop->count = (uint32_t)l->ways - loop->first;
    loop->sigma = sqrt(loop->sigma);
    loop->allowed_nm = level_allowed(rules, loop->setups_known ? loop->setups : 0, loop->dist);
    loop->within = level_judge(rules, loop->setups_known ? loop->setups : 0, loop->dist, loop->misclosure);
    return rc;
}

void
adjust_loops_release(struct adjust_loops *l)
{
    free(l->loop);
    free(l->way);
    free(l->forward);
    *l = (struct adjust_loops){ 0 };
}

int
adjust_loops_open(struct adjust_loops *l, const struct adjust *a)
{
    struct tree t;
    struct level_rules rules = job_rules(&a->job->r->job, false);
    *l = (struct adjust_loops){ .loop = room_new(a->freedom, sizeof *l->loop) };
    int rc = open_tree(&t, a);
    if (rc == 0 && l->loop)
        grow_from(&t, (uint32_t)t.nodes - 1); /* every node hangs on the ground: net_solve() has seen to that */
    for (uint32_t tie = 0; rc == 0 && l->loop && tie < a->net.ties; tie++)
        if (!t.in_tree[tie])
            rc = close_loop(l, &t, tie, &rules);
    release_tree(&t);
    return rc == 0 && l->loop ? 0 : -1;
}
