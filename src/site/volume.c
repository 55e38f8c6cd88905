/* volume.c - cut and fill over triangles, and the triangles themselves */
#include "rodbook/volume.h"

#define NONE SITE_VOLUME_NONE

/* ---- places in whole steps ---- */

struct step_place {
    int64_t x, y; /* SITE_VOLUME_STEP, from the first spot */
};

/* What a triangulation is made in. Points go by their rank: the order of x, then y. Side k of triangle t lies opposite its
 * corner k; ahead of the sides that are no triangle's lies NONE. */
struct mesh {
    struct step_place *place;  /* [n] by index until ranked, then by rank */
    struct step_place *by_rank;
    uint32_t *index;           /* [n] spot of each rank */
    uint32_t *next, *prev;     /* [n] on the hull, counter-clockwise */
    uint32_t *inner;           /* [n] the triangle at the side from here to next */
    uint32_t (*corner)[3];     /* [2n] */
    uint32_t (*across)[3];     /* [2n] the triangle over each side */
    uint32_t *stack;           /* [2n] triangles whose sides are to be looked at... */
    uint8_t *stacked;          /* [2n] ...each once */
    size_t triangles, waiting;
};

size_t
site_volume_room(size_t n)
{
    return n * (2 * sizeof(struct step_place) + 4 * sizeof(uint32_t) + 2 * (7 * sizeof(uint32_t) + 1));
}

static void
mesh_lay(struct mesh *m, void *room, size_t n)
{
    m->place = room;
    m->by_rank = m->place + n;
    m->index = (uint32_t *)(m->by_rank + n);
    m->next = m->index + n;
    m->prev = m->next + n;
    m->inner = m->prev + n;
    m->corner = (uint32_t(*)[3])(m->inner + n);
    m->across = m->corner + 2 * n;
    m->stack = (uint32_t *)(m->across + 2 * n);
    m->stacked = (uint8_t *)(m->stack + 2 * n);
    m->triangles = m->waiting = 0;
}

/* Each rounded by itself, so that none hangs on which spot is first. */
static int64_t
steps(length from, length to)
{
    return length_divide(to, 1, SITE_VOLUME_STEP) - length_divide(from, 1, SITE_VOLUME_STEP);
}

static bool
is_near(length from, length to)
{
    return to >= from - SITE_VOLUME_FARTHEST && to <= from + SITE_VOLUME_FARTHEST;
}

static bool
place_all(const struct site_place *at, size_t n, struct step_place *place)
{
    for (size_t i = 0; i < n; i++) {
        if (!is_near(at[0].x, at[i].x) || !is_near(at[0].y, at[i].y))
            return false;
        place[i] = (struct step_place){ steps(at[0].x, at[i].x), steps(at[0].y, at[i].y) };
    }
    return true;
}

static bool
comes_before(const struct step_place *place, uint32_t i, uint32_t j)
{
    struct step_place p = place[i], q = place[j];
    return p.x != q.x ? p.x < q.x : p.y != q.y ? p.y < q.y : i < j;
}

static void
sift(const struct step_place *place, uint32_t *heap, size_t root, size_t n)
{
    for (size_t child; (child = 2 * root + 1) < n; root = child) {
        child += child + 1 < n && comes_before(place, heap[child], heap[child + 1]);
        if (!comes_before(place, heap[root], heap[child]))
            return;
        uint32_t up = heap[child];
        heap[child] = heap[root];
        heap[root] = up;
    }
}

/* Indices by x, then y, then themselves: heap sort, which needs no more memory. */
static void
rank_all(const struct step_place *place, uint32_t *index, size_t n)
{
    for (size_t i = 0; i < n; i++)
        index[i] = (uint32_t)i;
    for (size_t i = n / 2; i-- > 0;)
        sift(place, index, i, n);
    for (size_t end = n; end-- > 1;) {
        uint32_t last = index[end];
        index[end] = index[0];
        index[0] = last;
        sift(place, index, 0, end);
    }
}

/* Ranks of the places, each once, into m->by_rank and m->index; how many. `same` is told where it is given. */
static size_t
places_once(struct mesh *m, size_t n, uint32_t *same)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        uint32_t spot = m->index[i];
        struct step_place p = m->place[spot];
        bool again = kept > 0 && p.x == m->by_rank[kept - 1].x && p.y == m->by_rank[kept - 1].y;
        if (same)
            same[spot] = again ? m->index[kept - 1] : spot;
        if (again)
            continue;
        m->index[kept] = spot; /* of equal places the lowest index comes first */
        m->by_rank[kept++] = p;
    }
    return kept;
}

/* ---- exact questions ---- */

/* Twice the area of a, b, c: above 0 where c is left of the way from a to b. */
static length_wide
turn(const struct mesh *m, uint32_t a, uint32_t b, uint32_t c)
{
    struct step_place p = m->by_rank[a], q = m->by_rank[b], r = m->by_rank[c];
    return (length_wide)(q.x - p.x) * (r.y - p.y) - (length_wide)(q.y - p.y) * (r.x - p.x);
}

/* True where d lies within the circle through a, b, c, which stand counter-clockwise; on it is not within it. */
static bool
is_within(const struct mesh *m, uint32_t a, uint32_t b, uint32_t c, uint32_t d)
{
    struct step_place o = m->by_rank[d];
    int64_t ax = m->by_rank[a].x - o.x, ay = m->by_rank[a].y - o.y;
    int64_t bx = m->by_rank[b].x - o.x, by = m->by_rank[b].y - o.y;
    int64_t cx = m->by_rank[c].x - o.x, cy = m->by_rank[c].y - o.y;
    length_wide aa = (length_wide)ax * ax + (length_wide)ay * ay, bb = (length_wide)bx * bx + (length_wide)by * by;
    length_wide cc = (length_wide)cx * cx + (length_wide)cy * cy;
    length_wide bc = (length_wide)bx * cy - (length_wide)by * cx, ca = (length_wide)cx * ay - (length_wide)cy * ax;
    length_wide ab = (length_wide)ax * by - (length_wide)ay * bx;
    return aa * bc + bb * ca + cc * ab > 0;
}

/* ---- the mesh ---- */

static void
wait(struct mesh *m, uint32_t t)
{
    if (m->stacked[t])
        return;
    m->stacked[t] = 1;
    m->stack[m->waiting++] = t;
}

static uint32_t
add_triangle(struct mesh *m, uint32_t a, uint32_t b, uint32_t c)
{
    uint32_t t = (uint32_t)m->triangles++;
    m->corner[t][0] = a;
    m->corner[t][1] = b;
    m->corner[t][2] = c;
    m->across[t][0] = m->across[t][1] = m->across[t][2] = NONE;
    m->stacked[t] = 0;
    wait(m, t);
    return t;
}

/* The side of t that begins at corner `from`, as the number of the corner opposite. */
static unsigned
side_from(const struct mesh *m, uint32_t t, uint32_t from)
{
    return m->corner[t][0] == from ? 2 : m->corner[t][1] == from ? 0 : 1;
}

/* The side that begins at `from` in t: what lies over it is `other`, and the other way round, where it begins at `to`. */
static void
join(struct mesh *m, uint32_t t, uint32_t from, uint32_t other, uint32_t to)
{
    m->across[t][side_from(m, t, from)] = other;
    if (other != NONE)
        m->across[other][side_from(m, other, to)] = t;
    else
        m->inner[from] = t;
}

static void
join_hull(struct mesh *m, uint32_t from, uint32_t to, uint32_t t)
{
    m->next[from] = to;
    m->prev[to] = from;
    m->inner[from] = t;
}

/* The first ranks 0 ... n - 1 stand in one line, n does not: a fan from n. */
static void
first_fan(struct mesh *m, uint32_t n)
{
    bool left = turn(m, 0, 1, n) > 0;
    uint32_t before = NONE, first = 0;
    for (uint32_t i = 0; i + 1 < n; i++) {
        uint32_t from = left ? i : i + 1, to = left ? i + 1 : i;
        uint32_t t = add_triangle(m, from, to, n);
        join_hull(m, from, to, t);
        if (before == NONE)
            first = t;
        else if (left)
            join(m, t, n, before, i); /* n to i here, i to n in the one before */
        else
            join(m, t, i, before, n);
        before = t;
    }
    join_hull(m, left ? n - 1 : 0, n, left ? before : first);
    join_hull(m, n, left ? 0 : n - 1, left ? first : before);
}

/* The side of the hull from a to next[a] is seen from p: a triangle stands on it. */
static uint32_t
stand_on(struct mesh *m, uint32_t a, uint32_t p)
{
    uint32_t b = m->next[a], t = add_triangle(m, b, a, p);
    join(m, t, b, m->inner[a], a);
    return t;
}

/* A point beyond the hull, of which the last one is a corner: it sees sides on one side of that corner or on both. */
static void
add_point(struct mesh *m, uint32_t p)
{
    uint32_t a = p - 1, b = a, last = NONE, t;
    uint32_t first = NONE; /* the triangle at the side from a to p, and `last` that at the side from p to b */
    while (turn(m, b, m->next[b], p) < 0) {
        t = stand_on(m, b, p);
        if (last != NONE)
            join(m, t, b, last, p); /* b to p here, p to b in the one before */
        else
            first = t;
        last = t;
        b = m->next[b];
    }
    while (turn(m, m->prev[a], a, p) < 0) {
        a = m->prev[a];
        t = stand_on(m, a, p);
        if (first != NONE)
            join(m, first, m->next[a], t, p);
        else
            last = t;
        first = t;
    }
    join_hull(m, a, p, first);
    join_hull(m, p, b, last);
}

/* The other diagonal of t and the triangle u over its side k. */
static void
exchange(struct mesh *m, uint32_t t, unsigned k, uint32_t u)
{
    uint32_t a = m->corner[t][k], b = m->corner[t][(k + 1) % 3], c = m->corner[t][(k + 2) % 3];
    unsigned j = side_from(m, u, c); /* c to b in u */
    uint32_t d = m->corner[u][j];
    uint32_t ab = m->across[t][(k + 2) % 3], ca = m->across[t][(k + 1) % 3];
    uint32_t bd = m->across[u][side_from(m, u, b)], dc = m->across[u][side_from(m, u, d)];
    m->corner[t][0] = m->corner[u][2] = a;
    m->corner[t][1] = b;
    m->corner[t][2] = m->corner[u][0] = d;
    m->corner[u][1] = c;
    join(m, t, a, ab, b);
    join(m, t, b, bd, d);
    join(m, u, d, dc, c);
    join(m, u, c, ca, a);
    join(m, t, d, u, a);
    wait(m, t);
    wait(m, u);
}

static void
obey(struct mesh *m)
{
    while (m->waiting > 0) {
        uint32_t t = m->stack[--m->waiting];
        m->stacked[t] = 0;
        for (unsigned k = 0; k < 3; k++) {
            uint32_t u = m->across[t][k];
            if (u == NONE)
                continue;
            uint32_t d = m->corner[u][side_from(m, u, m->corner[t][(k + 2) % 3])];
            if (!is_within(m, m->corner[t][0], m->corner[t][1], m->corner[t][2], d))
                continue;
            exchange(m, t, k, u);
            break;
        }
    }
}

enum site_volume_status
site_volume_triangulate(const struct site_place *at, size_t n, void *room, struct site_triangle *triangle, size_t *triangles,
    uint32_t *same)
{
    struct mesh m;
    if (n < 3)
        return SITE_VOLUME_EFEW;
    mesh_lay(&m, room, n);
    if (!place_all(at, n, m.place))
        return SITE_VOLUME_EFAR;
    rank_all(m.place, m.index, n);
    uint32_t *told = m.stack; /* kept from the caller until there is no failure left */
    uint32_t kept = (uint32_t)places_once(&m, n, told), p = 2;
    while (p < kept && turn(&m, 0, 1, p) == 0)
        p++;
    if (p >= kept)
        return SITE_VOLUME_EFEW;
    for (size_t i = 0; i < n; i++)
        same[i] = told[i];
    for (first_fan(&m, p++), obey(&m); p < kept; p++) {
        add_point(&m, p);
        obey(&m);
    }
    for (size_t t = 0; t < m.triangles; t++)
        for (int k = 0; k < 3; k++)
            triangle[t].corner[k] = m.index[m.corner[t][k]];
    *triangles = m.triangles;
    return SITE_VOLUME_OK;
}

void
site_volume_even(const uint32_t *same, size_t n, double *value)
{
    for (size_t i = 0; i < n; i++) {
        if (same[i] == i)
            continue;
        uint32_t first = same[i];
        size_t count = 0, last = i;
        double sum = 0;
        for (size_t j = first; j < n; j++)
            if (same[j] == first) {
                sum += value[j];
                count++;
                last = j;
            }
        if (last != i)
            continue; /* once, when the last of them is met */
        for (size_t j = first; j < n; j++)
            if (same[j] == first)
                value[j] = sum / (double)count;
    }
}

/* ---- pieces of a triangle ---- */

/* A corner of a piece: its place in m, and its shares of the triangle's corners. */
struct piece_corner {
    double x, y, share[3];
};

/* A triangle cut by five lines has eight corners at most. */
struct piece {
    struct piece_corner corner[8];
    unsigned corners;
};

/* Between p and q, where a function that is u at p and v at q, one of them below 0, is nought. */
static struct piece_corner
between(const struct piece_corner *p, const struct piece_corner *q, double u, double v)
{
    double a = u / (u - v), b = 1 - a;
    return (struct piece_corner){ b * p->x + a * q->x, b * p->y + a * q->y,
        { b * p->share[0] + a * q->share[0], b * p->share[1] + a * q->share[1], b * p->share[2] + a * q->share[2] } };
}

/* Keeps what has value[] of 0 or more at its corners, values being linear. */
static void
keep(struct piece *p, const double *value)
{
    struct piece from = *p;
    p->corners = 0;
    for (unsigned i = 0; i < from.corners; i++) {
        unsigned j = i + 1 < from.corners ? i + 1 : 0;
        if (value[i] >= 0)
            p->corner[p->corners++] = from.corner[i];
        if ((value[i] < 0 && value[j] > 0) || (value[i] > 0 && value[j] < 0))
            p->corner[p->corners++] = between(&from.corner[i], &from.corner[j], value[i], value[j]);
    }
}

static double
metres(length from, length to)
{
    return (double)(to - from) / (double)LENGTH_M;
}

/* Keeps what lies in the rectangle; places count from `origin`. */
static void
keep_inside(struct piece *p, const struct site_rectangle *inside, struct site_place origin)
{
    double low_x = metres(origin.x, inside->from.x), high_x = metres(origin.x, inside->to.x);
    double low_y = metres(origin.y, inside->from.y), high_y = metres(origin.y, inside->to.y), value[8];
    for (int side = 0; side < 4; side++) {
        for (unsigned i = 0; i < p->corners; i++) {
            const struct piece_corner *c = &p->corner[i];
            value[i] = side == 0 ? c->x - low_x : side == 1 ? high_x - c->x : side == 2 ? c->y - low_y : high_y - c->y;
        }
        keep(p, value);
    }
}

/* Area of a piece, and the integral of each share over it, as a fan of triangles from its first corner. */
static double
measure(const struct piece *p, double weight[3])
{
    double sum = 0;
    weight[0] = weight[1] = weight[2] = 0;
    for (unsigned i = 1; i + 1 < p->corners; i++) {
        const struct piece_corner *a = &p->corner[0], *b = &p->corner[i], *c = &p->corner[i + 1];
        double area = ((b->x - a->x) * (c->y - a->y) - (b->y - a->y) * (c->x - a->x)) / 2;
        sum += area;
        for (int k = 0; k < 3; k++)
            weight[k] += area * (a->share[k] + b->share[k] + c->share[k]) / 3;
    }
    return sum;
}

static double
dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* What lies on one side of the grade, `sign` times above it. What lies on grade is cut of nothing. */
static double
one_side(const struct piece *whole, const double above[3], double sign, double weight[3])
{
    struct piece p = *whole;
    double value[8];
    bool any = sign > 0;
    for (unsigned i = 0; i < p.corners; i++) {
        value[i] = sign * dot(p.corner[i].share, above);
        any |= value[i] > 0;
    }
    if (any)
        keep(&p, value);
    else
        p.corners = 0;
    (void)measure(&p, weight);
    return sign * dot(weight, above);
}

/* Adds a piece of a triangle whose corners are `above` the grade. */
static void
add_piece(struct site_volume *v, const struct piece *p, const double above[3], double cut[3], double fill[3])
{
    double whole[3];
    v->area += measure(p, whole);
    v->net += dot(whole, above);
    v->cut += one_side(p, above, 1, cut);
    v->fill += one_side(p, above, -1, fill);
}

/* Roundings alone make no volume of their own sign. */
static void
settle(struct site_volume *v)
{
    v->cut = v->cut > 0 ? v->cut : 0;
    v->fill = v->fill > 0 ? v->fill : 0;
}

void
site_volume_over(const struct site_place *at, size_t n, const double *above, const struct site_triangle *triangle,
    size_t triangles, const struct site_rectangle *inside, struct site_volume *v, double *cut_weight, double *fill_weight)
{
    *v = (struct site_volume){ 0, 0, 0, 0 };
    for (size_t i = 0; i < n; i++) {
        if (cut_weight)
            cut_weight[i] = 0;
        if (fill_weight)
            fill_weight[i] = 0;
    }
    for (size_t t = 0; t < triangles; t++) {
        const uint32_t *corner = triangle[t].corner;
        struct piece p = { .corners = 3 };
        double h[3], cut[3], fill[3];
        for (int k = 0; k < 3; k++) {
            p.corner[k] = (struct piece_corner){ metres(at[0].x, at[corner[k]].x), metres(at[0].y, at[corner[k]].y),
                { k == 0, k == 1, k == 2 } };
            h[k] = above[corner[k]];
        }
        if (inside)
            keep_inside(&p, inside, at[0]);
        add_piece(v, &p, h, cut, fill);
        for (int k = 0; k < 3; k++) {
            if (cut_weight)
                cut_weight[corner[k]] += cut[k];
            if (fill_weight)
                fill_weight[corner[k]] += fill[k];
        }
    }
    settle(v);
}

/* ---- grids ---- */

/* One coordinate of the spots: the lines that they stand on. */
struct lines {
    length first, apart;
    uint32_t count;
};

static length
coordinate(const struct site_place *p, bool y)
{
    return y ? p->y : p->x;
}

static void
first_lines(const struct site_place *at, size_t n, bool y, struct lines *l)
{
    length last = l->first = coordinate(&at[0], y);
    for (size_t i = 1; i < n; i++) {
        length v = coordinate(&at[i], y);
        l->first = v < l->first ? v : l->first;
        last = v > last ? v : last;
    }
    l->apart = last - l->first;
    for (size_t i = 0; i < n; i++) {
        length off = coordinate(&at[i], y) - l->first;
        l->apart = off > 0 && off < l->apart ? off : l->apart;
    }
    length count = l->apart > 0 ? (last - l->first) / l->apart : 0;
    l->count = count < (length)n ? (uint32_t)count + 1 : NONE; /* each has a spot, so there are no more lines than spots */
}

/* True where every spot stands on a line and every line has one. */
static bool
are_even(const struct site_place *at, size_t n, bool y, const struct lines *l, uint8_t *met)
{
    uint32_t lines = 0;
    if (l->count < 2 || l->count == NONE)
        return false;
    for (uint32_t k = 0; k < l->count; k++)
        met[k] = 0;
    for (uint32_t i = 0; i < n; i++) {
        length off = coordinate(&at[i], y) - l->first;
        if (off % l->apart != 0)
            return false;
        lines += met[off / l->apart] == 0;
        met[off / l->apart] = 1;
    }
    return lines == l->count;
}

static size_t
place_in(const struct site_grid *g, uint32_t column, uint32_t row)
{
    return (size_t)row * g->columns + column;
}

/* The spots at the corners of a square, counter-clockwise; how many there are. */
static int
corners_of(const struct site_grid *g, const uint32_t *lattice, uint32_t column, uint32_t row, uint32_t corner[4])
{
    int read = 0;
    corner[0] = lattice[place_in(g, column, row)];
    corner[1] = lattice[place_in(g, column + 1, row)];
    corner[2] = lattice[place_in(g, column + 1, row + 1)];
    corner[3] = lattice[place_in(g, column, row + 1)];
    for (int k = 0; k < 4; k++)
        read += corner[k] != NONE;
    return read;
}

/* True where more than half of the spots are corners of whole squares. */
static bool
makes_squares(const struct site_grid *g, const uint32_t *lattice, uint8_t *in, size_t n, size_t places)
{
    uint32_t corner[4];
    size_t corners = 0;
    for (size_t i = 0; i < n; i++)
        in[i] = 0;
    for (uint32_t row = 0; row + 1 < g->rows; row++)
        for (uint32_t column = 0; column + 1 < g->columns; column++)
            for (int k = 0, whole = corners_of(g, lattice, column, row, corner) == 4; whole && k < 4; k++) {
                corners += in[corner[k]] == 0;
                in[corner[k]] = 1;
            }
    return 2 * corners > places;
}

enum site_volume_status
site_volume_grid(const struct site_place *at, size_t n, void *room, struct site_grid *g, uint32_t *lattice, uint32_t *same)
{
    struct lines x, y;
    uint8_t *marked = room;
    uint32_t *put = (uint32_t *)room + n; /* behind n bytes, aligned; 4 n of them */
    size_t places = 0;
    if (n < 4)
        return SITE_VOLUME_EGRID;
    first_lines(at, n, false, &x);
    first_lines(at, n, true, &y);
    if (!are_even(at, n, false, &x, marked) || !are_even(at, n, true, &y, marked))
        return SITE_VOLUME_EGRID;
    struct site_grid found = { { x.first, y.first }, x.apart, y.apart, x.count, y.count };
    if ((size_t)x.count * y.count > 4 * n)
        return SITE_VOLUME_EGRID;
    for (size_t i = 0; i < (size_t)x.count * y.count; i++)
        put[i] = NONE;
    for (uint32_t i = 0; i < n; i++) {
        uint32_t *p = &put[place_in(&found, (uint32_t)((at[i].x - x.first) / x.apart), (uint32_t)((at[i].y - y.first) / y.apart))];
        places += *p == NONE;
        *p = *p == NONE ? i : *p;
    }
    if (!makes_squares(&found, put, marked, n, places))
        return SITE_VOLUME_EGRID;
    for (size_t i = 0; i < n; i++)
        same[i] = put[place_in(&found, (uint32_t)((at[i].x - x.first) / x.apart), (uint32_t)((at[i].y - y.first) / y.apart))];
    for (size_t i = 0; i < (size_t)x.count * y.count; i++)
        lattice[i] = put[i];
    *g = found;
    return SITE_VOLUME_OK;
}

/* Squares around a place that have corners read, though this one is not. */
static uint32_t
left_out_by(const struct site_grid *g, const uint32_t *lattice, uint32_t column, uint32_t row)
{
    uint32_t corner[4], cells = 0;
    for (uint32_t r = row > 0 ? row - 1 : 0; r <= row && r + 1 < g->rows; r++)
        for (uint32_t c = column > 0 ? column - 1 : 0; c <= column && c + 1 < g->columns; c++)
            cells += corners_of(g, lattice, c, r, corner) > 0;
    return cells;
}

size_t
site_volume_cells(const struct site_grid *g, const uint32_t *lattice, struct site_cell *cell, struct site_gap *gap, size_t *gaps,
    size_t *left_out)
{
    size_t cells = 0;
    *gaps = *left_out = 0;
    for (uint32_t row = 0; row < g->rows; row++)
        for (uint32_t column = 0; column < g->columns; column++) {
            struct site_cell c = { column, row, { NONE, NONE, NONE, NONE } };
            uint32_t missing = lattice[place_in(g, column, row)] == NONE ? left_out_by(g, lattice, column, row) : 0;
            if (missing > 0)
                gap[(*gaps)++] = (struct site_gap){ column, row, missing };
            if (row + 1 == g->rows || column + 1 == g->columns)
                continue;
            int read = corners_of(g, lattice, column, row, c.corner);
            *left_out += read > 0 && read < 4;
            if (read == 4)
                cell[cells++] = c;
        }
    return cells;
}

double
site_volume_square(const struct site_grid *g)
{
    return (double)g->dx / (double)LENGTH_M * ((double)g->dy / (double)LENGTH_M);
}

void
site_volume_of_cell(const struct site_grid *g, const struct site_cell *c, const double above[4],
    const struct site_rectangle *inside, struct site_volume *v, double cut_weight[4], double fill_weight[4])
{
    struct site_place low = { g->origin.x + c->column * g->dx, g->origin.y + c->row * g->dy };
    double dx = metres(0, g->dx), dy = metres(0, g->dy);
    const double x[4] = { 0, dx, dx, 0 }, y[4] = { 0, 0, dy, dy };
    double middle = (above[0] + above[1] + above[2] + above[3]) / 4;
    *v = (struct site_volume){ 0, 0, 0, 0 };
    for (int k = 0; k < 4; k++)
        cut_weight[k] = fill_weight[k] = 0;
    for (int k = 0; k < 4; k++) {
        int l = (k + 1) % 4;
        double h[3] = { above[k], above[l], middle }, cut[3], fill[3];
        struct piece p = { { { x[k], y[k], { 1, 0, 0 } }, { x[l], y[l], { 0, 1, 0 } }, { dx / 2, dy / 2, { 0, 0, 1 } } }, 3 };
        if (inside)
            keep_inside(&p, inside, low);
        add_piece(v, &p, h, cut, fill);
        cut_weight[k] += cut[0];
        cut_weight[l] += cut[1];
        fill_weight[k] += fill[0];
        fill_weight[l] += fill[1];
        for (int m = 0; m < 4; m++) {
            cut_weight[m] += cut[2] / 4;
            fill_weight[m] += fill[2] / 4;
        }
    }
    settle(v);
}

void
site_volume_four_point(double square, const double above[4], double *cut, double *fill)
{
    double c = 0, f = 0;
    for (int k = 0; k < 4; k++) {
        c += above[k] > 0 ? above[k] : 0;
        f -= above[k] < 0 ? above[k] : 0;
    }
    *cut = c > 0 ? square * c * c / (4 * (c + f)) : 0;
    *fill = f > 0 ? square * f * f / (4 * (c + f)) : 0;
}
