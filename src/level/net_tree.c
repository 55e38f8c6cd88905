/*
 * Fronts. Each element of the order is a front: the nodes eliminated with it,
 * and as rows the later ones that they join. It hands what it has joined to
 * the front that took it over: a forest, which is walked from its leaves up,
 * so that what waits to be taken over lies on a stack.
 */
#include "net_parts.h"

void
net_tree_open(struct net_tree *t, size_t nodes, size_t core, struct net_arena *a)
{
    t->local = net_above(a, nodes, sizeof *t->local);
    t->core = net_above(a, core, sizeof *t->core);
    t->owner = net_above(a, core, sizeof *t->owner);
    t->moved = net_above(a, core + 1, sizeof *t->moved);
    t->mark = net_above(a, core + 1, sizeof *t->mark);
    t->stack = net_above(a, core + 1, sizeof *t->stack);
    t->draft = net_above(a, core + 1, sizeof *t->draft);
    t->peak = net_above(a, core + 1, sizeof *t->peak);
    t->zeros = net_above(a, core + 1, sizeof *t->zeros);
}

/* The core's nodes, numbered among themselves, and their neighbours. */
void
net_tree_lists(struct net_tree *t, const struct net_factor *f, const struct net_graph *g, struct net_order *o)
{
    uint32_t c = 0;
    for (uint32_t i = 0; i < f->nodes; i++)
        if (f->step[i] == NONE) {
            t->core[c] = i;
            t->local[i] = c++;
        }
    o->used = 0;
    for (c = 0; c < o->nodes; c++) {
        uint32_t start = g->start[t->core[c]], degree = g->degree[t->core[c]];
        o->at[c] = o->used;
        o->length[c] = degree;
        for (uint32_t p = start; p < start + degree; p++)
            o->pool[o->used++] = t->local[g->half[p].to];
    }
}

/* ---- fronts from the order ---- */

static void
draft_fronts(struct net_tree *t, const struct net_order *o)
{
    memset(t->mark, 0xff, o->nodes * sizeof *t->mark); /* NONE */
    for (uint32_t d = 0; d < o->pivots; d++)
        t->mark[o->pivot[d]] = d;
    for (uint32_t d = 0; d < o->pivots; d++) {
        uint32_t me = o->pivot[d], into = o->into[me];
        t->draft[d] = (struct net_front){ .width = (uint32_t)o->size[me], .rows = o->degree[me],
            .into = into == NONE ? NONE : t->mark[into] };
    }
}

/* Who was taken over by whom, up to an element; NONE for a hub. */
static void
find_owners(struct net_tree *t, struct net_order *o)
{
    for (uint32_t c = 0; c < o->nodes; c++) {
        uint32_t e = c;
        while (t->mark[e] == NONE && o->into[e] != NONE)
            e = o->into[e];
        for (uint32_t i = c, next; i != e; i = next) { /* the next ones find it at once */
            next = o->into[i];
            o->into[i] = e;
        }
        t->owner[c] = t->mark[e];
    }
}

/* ---- hubs ---- */

/* A front below a hub has it as a row. Nothing is above a root but what the hub holds together. */
static uint32_t
go_up(struct net_tree *t, uint32_t d, uint32_t hub, uint32_t above_all)
{
    t->mark[d] = hub;
    t->draft[d].rows++;
    if (t->draft[d].into == NONE)
        t->draft[d].into = above_all;
    return t->draft[d].into;
}

/*
 * Where the ways up from two fronts meet. `into` comes later in the order than
 * what it takes over: so the earlier one goes up, and where that one is a root
 * the other is in another tree. From a front that has the hub the way to `top`
 * has been gone.
 */
static uint32_t
meet(struct net_tree *t, uint32_t d, uint32_t top, uint32_t hub, uint32_t above_all)
{
    while (d != top && t->mark[d] != hub)
        if (d < top)
            d = go_up(t, d, hub, above_all);
        else
            top = go_up(t, top, hub, above_all);
    return top;
}

/* With the lowest front that is above all its neighbours, or in a front of its own above them. */
static void
place_hub(struct net_tree *t, const struct net_graph *g, uint32_t hub, uint32_t *drafts)
{
    uint32_t start = g->start[t->core[hub]], end = start + g->degree[t->core[hub]], above_all = *drafts, top = NONE;
    t->draft[above_all] = (struct net_front){ .into = NONE };
    for (uint32_t p = start; p < end; p++) {
        uint32_t d = t->owner[t->local[g->half[p].to]];
        if (d != NONE) /* else a hub whose turn comes later */
            top = top == NONE ? d : meet(t, d, top, hub, above_all);
    }
    if (top == NONE)
        top = above_all;
    t->owner[hub] = top;
    t->draft[top].width++;
    *drafts += top == above_all;
}

/* The order was made without hubs. */
static void
place_hubs(struct net_tree *t, uint32_t core, const struct net_graph *g, uint32_t *drafts)
{
    memset(t->mark, 0xff, ((size_t)core + 1) * sizeof *t->mark); /* the hub that a front has met last: NONE */
    for (uint32_t c = 0; c < core; c++)
        if (t->owner[c] == NONE)
            place_hub(t, g, c, drafts);
}

/* ---- small fronts into the next ---- */

/* Zeros that may be kept for the sake of fewer and larger fronts. Found by trying. */
static bool
is_worth_it(uint64_t width, uint64_t rows, uint64_t zeros)
{
    uint64_t all = width * (width + 1) / 2 + width * rows;
    return zeros == 0 || (width <= 4 && zeros * 2 <= all) || (width <= 16 && zeros * 5 <= all) || zeros * 20 <= all;
}

static void
merge_fronts(struct net_tree *t, uint32_t drafts)
{
    for (uint32_t d = 0; d < drafts; d++) {
        t->moved[d] = d;
        t->zeros[d] = 0;
    }
    for (uint32_t d = 0; d < drafts; d++) {
        const struct net_front *small = &t->draft[d];
        if (small->into == NONE)
            continue;
        struct net_front *big = &t->draft[small->into];
        uint64_t zeros = t->zeros[d] + t->zeros[small->into] +
            (uint64_t)small->width * (big->width + (uint64_t)big->rows - small->rows);
        if (!is_worth_it((uint64_t)small->width + big->width, big->rows, zeros))
            continue;
        big->width += small->width;
        t->zeros[small->into] = zeros;
        t->moved[d] = small->into;
    }
    for (uint32_t d = drafts; d-- > 0;) { /* `into` comes later in the order than what it takes over */
        t->moved[d] = t->moved[t->moved[d]];
        if (t->draft[d].into != NONE)
            t->draft[d].into = t->moved[t->draft[d].into];
    }
}

/* ---- the forest walked ---- */

static uint64_t
square_of(const struct net_front *front)
{
    uint64_t n = (uint64_t)front->width + front->rows;
    return n * n;
}

/*
 * The child that needs most of the stack goes first on the way up, and so last
 * on the way down, where its `into` makes way for it.
 */
static void
link_children(struct net_tree *t, uint32_t drafts)
{
    for (uint32_t d = 0; d < drafts; d++) {
        t->draft[d].child = t->draft[d].next = NONE;
        t->peak[d] = 2 * square_of(&t->draft[d]);
    }
    for (uint32_t d = 0; d < drafts; d++) {
        uint32_t into = t->draft[d].into;
        if (t->moved[d] != d || into == NONE)
            continue;
        struct net_front *above = &t->draft[into];
        uint64_t with = 2 * square_of(above) + t->peak[d];
        if (with > t->peak[into])
            t->peak[into] = with;
        if (above->child == NONE || t->peak[d] > t->peak[above->child]) {
            t->draft[d].next = above->child;
            above->child = d;
        } else {
            t->draft[d].next = t->draft[above->child].next;
            t->draft[above->child].next = d;
        }
    }
}

static void
place_front(struct net_factor *f, const struct net_front *draft)
{
    struct net_front *front = &f->front[f->fronts], *before = front - 1;
    *front = *draft;
    front->child = front->next = NONE;
    front->first = f->fronts == 0 ? f->thin : before->first + before->width;
    front->row_at = (size_t)f->row_count;
    front->share_at = (size_t)f->block_count;
    f->row_count += front->rows;
    f->block_count += (uint64_t)front->width * (front->width + (uint64_t)front->rows);
    if (front->width + front->rows > f->widest)
        f->widest = front->width + front->rows;
    f->fronts++;
}

static void
walk_forest(struct net_tree *t, uint32_t drafts, struct net_factor *f)
{
    f->fronts = f->widest = 0;
    f->row_count = f->block_count = 0;
    for (uint32_t root = 0; root < drafts; root++) {
        if (t->moved[root] != root || t->draft[root].into != NONE)
            continue;
        uint32_t depth = 0;
        t->stack[depth++] = root;
        while (depth > 0) {
            uint32_t d = t->stack[depth - 1], child = t->draft[d].child;
            if (child != NONE) {
                t->draft[d].child = t->draft[child].next;
                t->stack[depth++] = child;
                continue;
            }
            t->peak[d] = f->fronts; /* where it went */
            place_front(f, &t->draft[d]);
            depth--;
        }
    }
    for (uint32_t s = f->fronts; s-- > 0;) {
        struct net_front *front = &f->front[s];
        if (front->into == NONE)
            continue;
        front->into = (uint32_t)t->peak[front->into];
        front->next = f->front[front->into].child;
        f->front[front->into].child = s;
    }
}

static void
number_nodes(struct net_tree *t, const struct net_order *o, struct net_factor *f)
{
    memset(t->mark, 0, f->fronts * sizeof *t->mark); /* nodes of a front that have a step */
    for (uint32_t c = 0; c < o->nodes; c++) {
        uint32_t front = (uint32_t)t->peak[t->moved[t->owner[c]]];
        uint32_t step = f->front[front].first + t->mark[front]++;
        f->step[t->core[c]] = step;
        f->node[step] = t->core[c];
    }
}

/* ---- the stack ---- */

/* Of all pairs of rows. */
static uint64_t
pairs_of(const struct net_front *front)
{
    return front->rows == 0 ? 0 : (uint64_t)front->rows * (front->rows - 1) / 2;
}

static void
measure_stack(struct net_factor *f)
{
    uint64_t top = 0, most = 0;
    for (uint32_t s = 0; s < f->fronts; s++) { /* the way up, as net_fronts_eliminate() goes */
        uint64_t pairs = pairs_of(&f->front[s]);
        most = top + pairs > most ? top + pairs : most;
        for (uint32_t c = f->front[s].child; c != NONE; c = f->front[c].next)
            top -= pairs_of(&f->front[c]);
        top += pairs;
    }
    top = 0;
    for (uint32_t s = f->fronts; s-- > 0;) { /* the way down, as net_fronts_invert() goes */
        const struct net_front *front = &f->front[s];
        uint64_t mine = 2 * square_of(front);
        most = top + mine > most ? top + mine : most;
        if (front->into != NONE && f->front[front->into].child == s)
            top -= 2 * square_of(&f->front[front->into]);
        if (front->child != NONE)
            top += mine;
    }
    f->stack = most;
}

void
net_tree_grow(struct net_tree *t, struct net_order *o, const struct net_graph *g, struct net_factor *f)
{
    uint32_t drafts = o->pivots;
    draft_fronts(t, o);
    find_owners(t, o);
    if (o->hubs > 0)
        place_hubs(t, o->nodes, g, &drafts);
    merge_fronts(t, drafts);
    link_children(t, drafts);
    walk_forest(t, drafts, f);
    number_nodes(t, o, f);
    measure_stack(f);
}

/* ---- neighbours and rows, by step ---- */

/* Later ends are gone through in order, so that each list comes out ascending. */
void
net_tree_neighbours(const struct net_graph *g, struct net_factor *f)
{
    uint32_t at = f->start[f->thin];
    for (uint32_t s = f->thin; s < f->nodes; s++) {
        const struct net_half *h = &g->half[g->start[f->node[s]]];
        f->start[s] = at;
        f->where[s - f->thin] = at;
        for (uint32_t i = 0; i < g->degree[f->node[s]]; i++)
            at += f->step[h[i].to] > s;
    }
    f->start[f->nodes] = at;
    for (uint32_t s = f->thin; s < f->nodes; s++) {
        const struct net_half *h = &g->half[g->start[f->node[s]]];
        for (uint32_t i = 0; i < g->degree[f->node[s]]; i++) {
            uint32_t early = f->step[h[i].to];
            if (early > s)
                continue;
            uint32_t e = f->where[early - f->thin]++;
            f->row[e] = s;
            f->share[e] = h[i].weight;
        }
    }
}

static void
sift(uint32_t *row, size_t i, size_t n)
{
    for (size_t child; (child = 2 * i + 1) < n; i = child) {
        if (child + 1 < n && row[child + 1] > row[child])
            child++;
        if (row[i] >= row[child])
            return;
        uint32_t r = row[i];
        row[i] = row[child];
        row[child] = r;
    }
}

static void
sort_rows(uint32_t *row, size_t n)
{
    for (size_t i = n / 2; i-- > 0;)
        sift(row, i, n);
    for (size_t i = n; i-- > 1;) {
        uint32_t r = row[0];
        row[0] = row[i];
        row[i] = r;
        sift(row, 0, i);
    }
}

/* Rows from a list that come after the front and have not been met. */
static uint32_t
add_rows(struct net_factor *f, uint32_t s, const uint32_t *list, size_t n, uint32_t have)
{
    const struct net_front *front = &f->front[s];
    for (size_t i = 0; i < n; i++) {
        uint32_t *met = &f->where[list[i] - f->thin];
        if (list[i] < front->first + front->width || *met == s)
            continue;
        *met = s;
        f->rows[front->row_at + have++] = list[i];
    }
    return have;
}

void
net_tree_rows(struct net_factor *f)
{
    if (f->fronts == 0)
        return;
    memset(f->where, 0xff, (f->nodes - f->thin) * sizeof *f->where); /* NONE */
    for (uint32_t s = 0; s < f->fronts; s++) {
        const struct net_front *front = &f->front[s];
        uint32_t list = f->start[front->first], end = f->start[front->first + front->width];
        uint32_t have = add_rows(f, s, f->row + list, end - list, 0);
        for (uint32_t c = front->child; c != NONE; c = f->front[c].next)
            have = add_rows(f, s, f->rows + f->front[c].row_at, f->front[c].rows, have);
        sort_rows(f->rows + front->row_at, have);
    }
}
