/* square.c - rows of tape entries as figures: positions, frames, triangles, single lengths */
#include "square_parts.h"

#include "parts.h"

#include "rodbook/chance.h"
#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void
square_release(struct square *s)
{
    free(s->figure);
    free(s->length);
    free(s->reading);
    free(s->point_of);
    *s = (struct square){ .r = NULL };
}

bool
square_place_of(const struct square *s, uint32_t name, length *x, length *y)
{
    uint32_t at = s->point_of[name];
    if (at == SQUARE_NONE || !s->r->point[at].placed)
        return false;
    *x = s->r->point[at].x;
    *y = s->r->point[at].y;
    return true;
}

/* The last row of a name holds as a whole. */
static int
find_points(struct square *s)
{
    const struct record *r = s->r;
    s->point_of = room_new(r->names.n, sizeof *s->point_of);
    for (size_t i = 0; s->point_of && i < r->names.n; i++)
        s->point_of[i] = SQUARE_NONE;
    for (uint32_t i = 0; s->point_of && i < r->points; i++)
        s->point_of[r->point[i].name] = i;
    return s->point_of ? 0 : -1;
}

/* ---- figures of one position ---- */

struct known {
    uint32_t corner[4];
    bool ordered; /* they stand round the frame, the base line first */
};

/* Working arrays for one position at a time. */
struct groups {
    struct square *s;
    uint32_t tape;            /* head of the position */
    struct square_edge *edge; /* [n] rows that stand, in booking order */
    size_t n;
    uint32_t *point_of;       /* [names] point of the position, or SQUARE_NONE */
    uint32_t *name_of;        /* [points] */
    size_t points;
    uint32_t *set;            /* [points] sets that hang together */
    uint32_t *first, *next;   /* [points] and [2 n] edges at each point: 2 i and 2 i + 1 for the ends of edge i */
    uint32_t *depth, *low, *at, *from, *stack, *walk; /* [points] but stack [n]: a walk in depth */
    uint32_t *count;          /* [points] points that hang together, at the first of them */
    uint32_t *merge;          /* [groups] the group that each is part of */
    uint32_t *head_row, *next_row, *head_tape, *next_tape; /* rows and entries of each position, in booking order */
    struct known *known;      /* frames taped so far */
    size_t knowns, known_room;
    struct diag *d;
};

#define TAKEN 1      /* groups below FREE are no group yet */
#define FREE 0
#define FIRST_GROUP 2

static uint32_t
other_end(const struct groups *g, uint32_t point, uint32_t half)
{
    const struct square_edge *e = &g->edge[half / 2];
    uint32_t a = g->point_of[e->a], b = g->point_of[e->b];
    return a == point ? b : a;
}

static void
take_points(struct groups *g)
{
    g->points = 0;
    for (size_t i = 0; i < g->n; i++) {
        const uint32_t name[2] = { g->edge[i].a, g->edge[i].b };
        for (int k = 0; k < 2 && g->edge[i].group == FREE; k++)
            if (g->point_of[name[k]] == SQUARE_NONE) {
                g->point_of[name[k]] = (uint32_t)g->points;
                g->name_of[g->points++] = name[k];
            }
    }
    for (uint32_t p = 0; p < g->points; p++) {
        g->set[p] = p;
        g->first[p] = SQUARE_NONE;
        g->depth[p] = 0;
    }
    for (uint32_t i = (uint32_t)g->n; i-- > 0;) {
        if (g->edge[i].group != FREE)
            continue;
        uint32_t a = g->point_of[g->edge[i].a], b = g->point_of[g->edge[i].b];
        adjust_join(g->set, a, b);
        uint32_t half = 2 * i;
        g->next[half] = g->first[a];
        g->first[a] = half;
        g->next[half + 1] = g->first[b];
        g->first[b] = half + 1;
    }
}

static void
forget_points(struct groups *g)
{
    for (size_t p = 0; p < g->points; p++)
        g->point_of[g->name_of[p]] = SQUARE_NONE;
    g->points = 0;
}

/* Edges from the stack down to `until` are one block: nothing hangs on one point of it alone. */
static void
close_block(struct groups *g, size_t *stacked, uint32_t until, uint32_t *group)
{
    uint32_t e;
    do {
        e = g->stack[--*stacked];
        g->edge[e].group = *group;
    } while (e != until);
    ++*group;
}

/* Blocks of what hangs together with `root`, by a walk in depth (Hopcroft and Tarjan, CACM 16 (1973) 372). */
static void
find_blocks(struct groups *g, uint32_t root, uint32_t *group)
{
    size_t deep = 0, stacked = 0;
    uint32_t clock = 1;
    g->walk[deep] = root;
    g->from[root] = SQUARE_NONE;
    g->at[root] = g->first[root];
    g->depth[root] = g->low[root] = clock++;
    for (;;) {
        uint32_t p = g->walk[deep], half = g->at[p];
        if (half == SQUARE_NONE) {
            if (deep == 0)
                return;
            uint32_t up = g->walk[--deep];
            g->low[up] = g->low[p] < g->low[up] ? g->low[p] : g->low[up];
            if (g->low[p] >= g->depth[up])
                close_block(g, &stacked, g->from[p], group);
            continue;
        }
        g->at[p] = g->next[half];
        uint32_t edge = half / 2, q = other_end(g, p, half);
        if (edge == g->from[p])
            continue;
        if (g->depth[q] == 0) {
            g->stack[stacked++] = edge;
            g->from[q] = edge;
            g->at[q] = g->first[q];
            g->depth[q] = g->low[q] = clock++;
            g->walk[++deep] = q;
        } else if (g->depth[q] < g->depth[p]) {
            g->stack[stacked++] = edge;
            g->low[p] = g->depth[q] < g->low[p] ? g->depth[q] : g->low[p];
        }
    }
}

static int
by_group(const void *one, const void *other)
{
    const struct square_edge *a = one, *b = other;
    if (a->group != b->group)
        return a->group < b->group ? -1 : 1;
    return a->row < b->row ? -1 : a->row > b->row;
}

/* Different names at the ends of edges, the first five of them. */
static unsigned
names_in(const struct square_edge *edge, size_t n, uint32_t name[5])
{
    unsigned count = 0;
    for (size_t i = 0; i < n && count < 5; i++) {
        const uint32_t ends[2] = { edge[i].a, edge[i].b };
        for (int k = 0; k < 2 && count < 5; k++) {
            unsigned at = 0;
            while (at < count && name[at] != ends[k])
                at++;
            if (at == count)
                name[count++] = ends[k];
        }
    }
    return count;
}

static void
say_tangle(struct groups *g, const struct square_edge *edge, size_t n)
{
    const struct record_taped *row = &g->s->r->taped[edge[0].row];
    g->s->left_over += n;
    diag_say(g->d, DIAG_WARNING, row->place, "tape-frame",
        "more than four points are taped to one another from here on, as no frame is: %zu lengths are fitted to nothing; put each "
        "frame in a tape entry of its own", n);
}

/* The order that a frame was given stays with it, and so its base line. */
static int
remember_frame(struct groups *g, const struct square_figure *f)
{
    struct known *grown = room_for(g->known, &g->known_room, g->knowns, sizeof *grown);
    if (!grown)
        return -1;
    g->known = grown;
    struct known *k = &grown[g->knowns++];
    for (int i = 0; i < 4; i++)
        k->corner[i] = f->corner[i].name;
    k->ordered = f->ordered;
    return 0;
}

/* Which of the six pairs of four points were taped: bit 0 for 0 1, then 0 2, 0 3, 1 2, 1 3, 2 3. */
static const unsigned char pair_end[6][2] = { { 0, 1 }, { 0, 2 }, { 0, 3 }, { 1, 2 }, { 1, 3 }, { 2, 3 } };

static bool
is_pair(const struct square_edge *e, uint32_t a, uint32_t b)
{
    return (e->a == a && e->b == b) || (e->a == b && e->b == a);
}

static unsigned
pairs_in(const struct square_edge *edge, size_t n, const uint32_t name[4])
{
    unsigned bits = 0;
    for (size_t i = 0; i < n; i++)
        for (unsigned p = 0; p < 6; p++)
            if (is_pair(&edge[i], name[pair_end[p][0]], name[pair_end[p][1]]))
                bits |= 1u << p;
    return bits;
}

/* Of four points: the one that a single pair ties to the others; 4 where there is none. */
static unsigned
hanging(unsigned bits)
{
    unsigned ties[4] = { 0 }, point = 0;
    for (unsigned p = 0; p < 6; p++)
        for (int k = 0; k < 2; k++)
            ties[pair_end[p][k]] += bits >> p & 1;
    while (point < 4 && ties[point] != 1)
        point++;
    return point;
}

/* Four points tied by three lengths in a row or from one of them, or three all round and one beside: no frame unless they are
 * to stand as one. */
static bool
is_frame(const struct square *s, const struct square_edge *edge, size_t n, const uint32_t name[4])
{
    unsigned bits = pairs_in(edge, n, name), pairs = 0;
    for (unsigned p = 0; p < 6; p++)
        pairs += bits >> p & 1;
    return pairs >= 5 || (pairs == 4 && hanging(bits) == 4) || square_makes_frame(s, name);
}

/* The triangle in it, where there is one; and each other pair by itself. */
static int
add_apart(struct groups *g, const struct square_edge *edge, size_t n, const uint32_t name[4])
{
    unsigned bits = pairs_in(edge, n, name), out = hanging(bits), count = 0;
    uint32_t three[3];
    for (unsigned p = 0; p < 6; p++)
        count += bits >> p & 1;
    for (unsigned k = 0, at = 0; k < 4 && count == 4; k++)
        if (k != out)
            three[at++] = name[k];
    if (count == 4 && square_add_figure(g->s, g->tape, edge, n, three, 3, false, g->d) != 0)
        return -1;
    for (unsigned p = 0; p < 6; p++) {
        const uint32_t two[2] = { name[pair_end[p][0]], name[pair_end[p][1]] };
        bool of_triangle = count == 4 && pair_end[p][0] != out && pair_end[p][1] != out;
        if ((bits >> p & 1) && !of_triangle && square_add_figure(g->s, g->tape, edge, n, two, 2, false, g->d) != 0)
            return -1;
    }
    return 0;
}

static int
add_group(struct groups *g, const struct square_edge *edge, size_t n)
{
    uint32_t name[5] = { 0 };
    unsigned corners = names_in(edge, n, name);
    if (corners > 4) {
        say_tangle(g, edge, n);
        return 0;
    }
    if (corners == 4 && !is_frame(g->s, edge, n, name))
        return add_apart(g, edge, n, name);
    size_t at = g->s->figures;
    if (square_add_figure(g->s, g->tape, edge, n, name, corners, false, g->d) != 0)
        return -1;
    return corners == 4 ? remember_frame(g, &g->s->figure[at]) : 0;
}

static bool
is_corner(const uint32_t corner[4], uint32_t name)
{
    return corner[0] == name || corner[1] == name || corner[2] == name || corner[3] == name;
}

static bool
of_frame(const struct square_edge *e, const uint32_t corner[4])
{
    return e->group == FREE && is_corner(corner, e->a) && is_corner(corner, e->b);
}

/* Edges that belong to a set of four corners become its figure; how many, or -1 without memory. */
static ptrdiff_t
take_known(struct groups *g, const uint32_t corner[4], bool ordered)
{
    size_t n = 0;
    for (size_t i = 0; i < g->n; i++)
        n += of_frame(&g->edge[i], corner);
    if (n == 0)
        return 0;
    struct square_edge *edge = room_new(n, sizeof *edge);
    if (!edge)
        return -1;
    n = 0;
    for (size_t i = 0; i < g->n; i++)
        if (of_frame(&g->edge[i], corner)) {
            edge[n++] = g->edge[i];
            g->edge[i].group = TAKEN;
        }
    int rc = square_add_figure(g->s, g->tape, edge, n, corner, 4, ordered, g->d);
    free(edge);
    return rc == 0 ? (ptrdiff_t)n : -1;
}

static bool
is_known(const struct groups *g, const uint32_t corner[4])
{
    for (size_t i = 0; i < g->knowns; i++)
        if (is_corner(g->known[i].corner, corner[0]) && is_corner(g->known[i].corner, corner[1])
            && is_corner(g->known[i].corner, corner[2]) && is_corner(g->known[i].corner, corner[3]))
            return true;
    return false;
}

/* Frames whose corners are stated, and those that were taped before, whatever of them is taped here. */
static int
known_frames(struct groups *g)
{
    size_t before = g->knowns;
    for (uint32_t t = g->head_tape[g->tape]; t != SQUARE_NONE; t = g->next_tape[t]) {
        const uint32_t *corner = g->s->r->tape[t].corner;
        if (corner[0] == RECORD_NONE)
            continue;
        size_t at = g->s->figures;
        ptrdiff_t n = take_known(g, corner, true);
        if (n < 0 || (n > 0 && !is_known(g, corner) && remember_frame(g, &g->s->figure[at]) != 0))
            return -1;
    }
    for (size_t i = 0; i < before; i++)
        if (take_known(g, g->known[i].corner, g->known[i].ordered) < 0)
            return -1;
    return 0;
}

/* What hangs together over four points is a frame, complete or not; larger nets fall into blocks. */
static void
group_rest(struct groups *g)
{
    uint32_t group = FIRST_GROUP;
    take_points(g);
    for (uint32_t p = 0; p < g->points; p++)
        g->count[p] = 0;
    for (uint32_t p = 0; p < g->points; p++)
        g->count[adjust_root(g->set, p)]++;
    for (uint32_t p = 0; p < g->points; p++) {
        uint32_t before = group;
        if (g->count[p] == 0)
            continue;
        find_blocks(g, p, &group);
        for (uint32_t k = before; k < group; k++)
            g->merge[k] = g->count[p] == 4 ? before : k;
    }
    for (size_t i = 0; i < g->n; i++)
        if (g->edge[i].group >= FIRST_GROUP)
            g->edge[i].group = g->merge[g->edge[i].group];
    forget_points(g);
}

static int
figures_of(struct groups *g)
{
    if (known_frames(g) != 0)
        return -1;
    group_rest(g);
    qsort(g->edge, g->n, sizeof *g->edge, by_group);
    size_t end;
    for (size_t i = 0; i < g->n; i = end) {
        for (end = i; end < g->n && g->edge[end].group == g->edge[i].group; end++)
            ;
        if (g->edge[i].group >= FIRST_GROUP && add_group(g, g->edge + i, end - i) != 0)
            return -1;
    }
    return 0;
}

static void
gather_edges(struct groups *g)
{
    const struct record *r = g->s->r;
    g->n = 0;
    for (uint32_t i = g->head_row[g->tape]; i != SQUARE_NONE; i = g->next_row[i])
        if (r->taped[i].strike == RECORD_NONE)
            g->edge[g->n++] = (struct square_edge){ i, r->taped[i].from, r->taped[i].to, FREE };
}

static void
release_groups(struct groups *g)
{
    free(g->edge);
    free(g->point_of);
    free(g->name_of);
    free(g->set);
    free(g->first);
    free(g->next);
    free(g->depth);
    free(g->low);
    free(g->at);
    free(g->from);
    free(g->stack);
    free(g->walk);
    free(g->count);
    free(g->merge);
    free(g->head_row);
    free(g->next_row);
    free(g->head_tape);
    free(g->next_tape);
    free(g->known);
}

/* Rows and entries of each position, from the last to the first, so that lists run in booking order. */
static void
link_positions(struct groups *g, const struct record *r)
{
    for (size_t t = 0; t < r->tapes; t++)
        g->head_row[t] = g->head_tape[t] = SQUARE_NONE;
    for (uint32_t i = (uint32_t)r->tapeds; i-- > 0;) {
        uint32_t head = r->tape[r->taped[i].tape].head;
        g->next_row[i] = g->head_row[head];
        g->head_row[head] = i;
    }
    for (uint32_t t = (uint32_t)r->tapes; t-- > 0;) {
        g->next_tape[t] = g->head_tape[r->tape[t].head];
        g->head_tape[r->tape[t].head] = t;
    }
}

static int
open_groups(struct groups *g, const struct record *r)
{
    size_t points = 2 * r->tapeds + FIRST_GROUP;
    g->edge = room_new(r->tapeds, sizeof *g->edge);
    g->point_of = room_new(r->names.n, sizeof *g->point_of);
    uint32_t **const of_points[] = { &g->name_of, &g->set, &g->first, &g->next, &g->depth, &g->low, &g->at, &g->from, &g->stack, &g->walk,
        &g->count, &g->merge, &g->next_row };
    uint32_t **const of_tapes[] = { &g->head_row, &g->head_tape, &g->next_tape };
    bool room = g->edge && g->point_of;
    for (size_t i = 0; i < sizeof of_points / sizeof of_points[0]; i++)
        room &= (*of_points[i] = room_new(points, sizeof **of_points[i])) != NULL;
    for (size_t i = 0; i < sizeof of_tapes / sizeof of_tapes[0]; i++)
        room &= (*of_tapes[i] = room_new(r->tapes, sizeof **of_tapes[i])) != NULL;
    for (size_t i = 0; room && i < r->names.n; i++)
        g->point_of[i] = SQUARE_NONE;
    if (room)
        link_positions(g, r);
    return room ? 0 : -1;
}

/* ---- later positions ---- */

/* A figure by its points, whatever their order. */
struct key {
    uint32_t name[4];
    uint32_t figure;
};

static int
by_points(const void *one, const void *other)
{
    const struct key *a = one, *b = other;
    for (int i = 0; i < 4; i++)
        if (a->name[i] != b->name[i])
            return a->name[i] < b->name[i] ? -1 : 1;
    return a->figure < b->figure ? -1 : a->figure > b->figure;
}

static struct key
key_of(const struct square_figure *f, uint32_t figure)
{
    struct key key = { { SQUARE_NONE, SQUARE_NONE, SQUARE_NONE, SQUARE_NONE }, figure };
    for (unsigned i = 0; i < f->corners; i++) {
        unsigned at = i;
        for (; at > 0 && key.name[at - 1] > f->corner[i].name; at--)
            key.name[at] = key.name[at - 1];
        key.name[at] = f->corner[i].name;
    }
    return key;
}

/* What was asked of the far marks before, against what is there now. */
static void
compare_slide(struct square_figure *f, const struct square_figure *before)
{
    bool asked = before->has_cure && before->intent.rectangle && before->square > 0 && f->has_cure && f->square > 0;
    for (int k = 0; k < 4; k++) /* the same corner first, or "along" is another way */
        asked &= before->corner[k].name == f->corner[k].name;
    if (!asked)
        return;
    const double *l = f->intent.length;
    double share = (l[SITE_FRAME_FIRST] + l[SITE_FRAME_OTHER]) / (2 * (l[SITE_FRAME_BASE] + l[SITE_FRAME_FAR]));
    length tolerance = (length)(f->square * share * (double)LENGTH_M + 0.5);
    struct site_move was = site_move(0, (length)llround(before->slide * (double)LENGTH_M), tolerance);
    struct site_move is = site_move(0, (length)llround(f->slide * (double)LENGTH_M), tolerance);
    f->has_moved = true;
    f->asked = was.leave ? 0 : before->slide;
    f->done = before->slide - f->slide;
    f->moved = site_judge_moved(was, is);
}

static void
say_figure(const struct square *s, const struct square_figure *f, struct diag *d)
{
    const struct names *names = &s->r->names;
    const char *name[4] = { "", "", "", "" };
    for (unsigned k = 0; k < f->corners; k++)
        name[k] = names_text(names, f->corner[k].name);
    const struct record_taped *row = s->reading[s->length[f->first_length + (f->state == SQUARE_OPEN ? f->open[0] : 0)].first].row;
    struct diag_place place = f->state == SQUARE_OPEN ? row->place : s->r->tape[f->tape].place;
    if (f->state == SQUARE_OPEN)
        diag_say(d, DIAG_WARNING, place, "tape-misfit",
            "%s to %s is longer than the two lengths beside it can reach, by %.4f %s; one of the three is taped or booked wrong",
            names_text(names, row->from), names_text(names, row->to),
            f->open_by / IN_M(length_whole(s->r->job.unit)), s->r->job.unit == LENGTH_BARE_M ? "m" : "ft");
    else
        diag_say(d, DIAG_WARNING, place, "tape-misfit", "%s%s%s%s%s%s%s: these lengths cannot belong to one figure; rodbook square says what to "
            "tape again", name[0], f->corners > 1 ? " " : "", name[1], f->corners > 2 ? " " : "", name[2], f->corners > 3 ? " " : "", name[3]);
}

/* Figure `at` is the position behind `last`. A position that lacks lengths takes no place but that of another such. */
static void
follow(struct square *s, uint32_t at, uint32_t last)
{
    struct square_figure *f = &s->figure[at], *before = &s->figure[last];
    f->position = before->position + 1;
    if (before->state == SQUARE_WANTING) {
        before->superseded = true;
        last = before->before;
        if (last == SQUARE_NONE)
            return;
        before = &s->figure[last];
    }
    f->before = last;
    before->partly = f->state == SQUARE_WANTING ? at : SQUARE_NONE;
    before->superseded = f->state != SQUARE_WANTING;
    compare_slide(f, before);
}

static int
join_positions(struct square *s, struct diag *d)
{
    struct key *key = room_new(s->figures, sizeof *key);
    if (!key)
        return -1;
    for (uint32_t i = 0; i < s->figures; i++)
        key[i] = key_of(&s->figure[i], i);
    qsort(key, s->figures, sizeof *key, by_points);
    for (size_t i = 1; i < s->figures; i++)
        if (memcmp(key[i].name, key[i - 1].name, sizeof key->name) == 0)
            follow(s, key[i].figure, key[i - 1].figure);
    free(key);
    for (size_t i = 0; i < s->figures; i++)
        if (!s->figure[i].superseded && (s->figure[i].state == SQUARE_MISFIT || s->figure[i].state == SQUARE_OPEN))
            say_figure(s, &s->figure[i], d);
    return 0;
}

/* ---- the whole ---- */

bool
square_is_good(const struct square *s)
{
    bool good = s->left_over == 0;
    for (size_t i = 0; i < s->figures; i++)
        good &= s->figure[i].superseded || s->figure[i].state == SQUARE_GOOD || s->figure[i].state == SQUARE_UNJUDGED;
    return good;
}

int
square_work(struct square *s, const struct record *r, double confidence, struct diag *d)
{
    struct groups g = { .s = s, .d = d };
    *s = (struct square){ .r = r, .confidence = confidence };
    if (chance_normal_at((1 - confidence) / 2, CHANCE_ABOVE, &s->factor) != CHANCE_OK
        || chance_normal_at(0.0005, CHANCE_ABOVE, &s->limit) != CHANCE_OK)
        return -1; /* cannot be: the confidence was looked at */
    int rc = find_points(s) == 0 ? open_groups(&g, r) : -1;
    for (uint32_t t = 0; rc == 0 && t < r->tapes; t++) {
        if (r->tape[t].head != t)
            continue;
        g.tape = t;
        gather_edges(&g);
        rc = figures_of(&g);
    }
    release_groups(&g);
    return rc == 0 ? join_positions(s, d) : -1;
}

int
square_look(const struct record *r, struct diag *d)
{
    struct square s;
    int rc = r->tapes > 0 ? square_work(&s, r, 0.95, d) : 0;
    if (r->tapes > 0)
        square_release(&s);
    return rc;
}
