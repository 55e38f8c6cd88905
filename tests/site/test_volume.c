/* Cut and fill over triangles and over grids: laws, analytic volumes, degenerate sets of spots. */
#include "near.h"

#include "rodbook/volume.h"

#include <stdlib.h>
#include <string.h>

#define M(v) ((length)((v) * 1e9 + ((v) < 0 ? -0.5 : 0.5)))

/* A generator of its own, so that every run tries the same. */
static uint64_t dice = 88172645463325252u;

static double
chance(double low, double high)
{
    dice ^= dice << 13;
    dice ^= dice >> 7;
    dice ^= dice << 17;
    return low + (high - low) * (double)(dice >> 11) / 9007199254740992.0;
}

struct field {
    size_t n, triangles;
    struct site_place *at;
    double *above;
    struct site_triangle *triangle;
    uint32_t *same;
};

static struct field
field_of(size_t n)
{
    struct field f = { n, 0, calloc(n, sizeof *f.at), calloc(n, sizeof *f.above), calloc(2 * n, sizeof *f.triangle),
        calloc(n, sizeof *f.same) };
    assert_non_null(f.at);
    assert_non_null(f.above);
    assert_non_null(f.triangle);
    assert_non_null(f.same);
    return f;
}

static void
field_free(struct field *f)
{
    free(f->at);
    free(f->above);
    free(f->triangle);
    free(f->same);
}

static enum site_volume_status
triangulate(struct field *f)
{
    void *room = malloc(site_volume_room(f->n)); /* exactly: the sanitizers see a byte beyond */
    assert_non_null(room);
    enum site_volume_status status = site_volume_triangulate(f->at, f->n, room, f->triangle, &f->triangles, f->same);
    free(room);
    return status;
}

/* ---- the law of the triangles, by another way than they were made ---- */

static length_wide
turn(struct site_place p, struct site_place q, struct site_place r)
{
    return (length_wide)(q.x - p.x) * (r.y - p.y) - (length_wide)(q.y - p.y) * (r.x - p.x);
}

/* In steps of 1/100 mm. */
static struct site_place
step(struct site_place p, struct site_place from)
{
    return (struct site_place){ length_divide(p.x, 1, SITE_VOLUME_STEP) - length_divide(from.x, 1, SITE_VOLUME_STEP),
        length_divide(p.y, 1, SITE_VOLUME_STEP) - length_divide(from.y, 1, SITE_VOLUME_STEP) };
}

/* Above 0 where d is within the circle through a, b, c (counter-clockwise): the lifted determinant, differences from a. */
static int
within(struct site_place a, struct site_place b, struct site_place c, struct site_place d)
{
    length_wide bx = b.x - a.x, by = b.y - a.y, cx = c.x - a.x, cy = c.y - a.y, dx = d.x - a.x, dy = d.y - a.y;
    length_wide det = (bx * bx + by * by) * (cx * dy - cy * dx) - (cx * cx + cy * cy) * (bx * dy - by * dx)
        + (dx * dx + dy * dy) * (bx * cy - by * cx);
    return det < 0 ? 1 : det > 0 ? -1 : 0;
}

static int
by_place(const void *a, const void *b)
{
    const struct site_place *p = a, *q = b;
    return p->x != q->x ? (p->x < q->x ? -1 : 1) : p->y != q->y ? (p->y < q->y ? -1 : 1) : 0;
}

/* Twice the area of the hull, by the two chains of Andrew; and how many places lie on it, corners or not. */
static length_wide
hull_of(struct site_place *p, size_t n, size_t *on)
{
    struct site_place *h = calloc(2 * n + 2, sizeof *h);
    size_t k = 0;
    length_wide area = 0;
    qsort(p, n, sizeof *p, by_place);
    for (size_t i = 0; i < n; h[k++] = p[i++])
        while (k >= 2 && turn(h[k - 2], h[k - 1], p[i]) <= 0)
            k--;
    for (size_t i = n - 1, low = k + 1; i-- > 0; h[k++] = p[i])
        while (k >= low && turn(h[k - 2], h[k - 1], p[i]) <= 0)
            k--;
    for (size_t i = 1; i + 1 < k; i++)
        area += turn(h[0], h[i], h[i + 1]);
    *on = 0;
    for (size_t j = 0; j < n; j++)
        for (size_t i = 0; i + 1 < k; i++)
            if (turn(h[i], h[i + 1], p[j]) == 0) {
                ++*on;
                break;
            }
    free(h);
    return area;
}

/* Positive areas that sum to the hull's; as many triangles as Euler asks for, every place a corner; empty circles. */
static void
obeys(const struct field *f)
{
    struct site_place *p = calloc(f->n, sizeof *p), *once = calloc(f->n, sizeof *p);
    uint8_t *used = calloc(f->n, 1);
    size_t places = 0, on;
    length_wide sum = 0;
    for (size_t i = 0; i < f->n; i++) {
        p[i] = step(f->at[i], f->at[0]);
        assert_true(f->same[i] <= i && f->same[f->same[i]] == f->same[i]);
        assert_true(by_place(&p[i], &p[f->same[i]]) == 0);
        if (f->same[i] == i)
            once[places++] = p[i];
    }
    for (size_t t = 0; t < f->triangles; t++) {
        const uint32_t *c = f->triangle[t].corner;
        length_wide twice = turn(p[c[0]], p[c[1]], p[c[2]]);
        assert_true(twice > 0);
        sum += twice;
        for (int k = 0; k < 3; k++)
            used[c[k]] = 1;
        for (size_t i = 0; i < f->n; i++)
            if (within(p[c[0]], p[c[1]], p[c[2]], p[i]) > 0)
                fail_msg("spot %zu lies in the circle of %u %u %u", i, c[0], c[1], c[2]);
    }
    for (size_t i = 0; i < f->n; i++)
        assert_int_equal(used[i], f->same[i] == i);
    assert_true(sum == hull_of(once, places, &on));
    assert_int_equal(f->triangles, 2 * places - 2 - on);
    free(p);
    free(once);
    free(used);
}

/* The same places in another order: the same triangles, by place, in the same sequence. */
static void
does_not_hang_on_order(const struct field *f)
{
    struct field g = field_of(f->n);
    struct site_place origin = { 0, 0 };
    for (size_t i = 0; i < f->n; i++)
        g.at[i] = f->at[i];
    for (size_t i = f->n; i-- > 1;) {
        size_t j = (size_t)chance(0, (double)(i + 1));
        struct site_place was = g.at[i];
        g.at[i] = g.at[j];
        g.at[j] = was;
    }
    assert_int_equal(triangulate(&g), SITE_VOLUME_OK);
    assert_int_equal(g.triangles, f->triangles);
    for (size_t t = 0; t < f->triangles; t++)
        for (int k = 0; k < 3; k++)
            {
            struct site_place p = step(f->at[f->triangle[t].corner[k]], origin), q = step(g.at[g.triangle[t].corner[k]], origin);
            assert_int_equal(by_place(&p, &q), 0);
        }
    field_free(&g);
}

static void
random_spots_obey(void **state)
{
    (void)state;
    for (int trial = 0; trial < 60; trial++) {
        struct field f = field_of(3 + (size_t)chance(0, 90));
        double size = trial % 3 == 0 ? 4500 : trial % 3 == 1 ? 30 : 0.0004; /* m; the last is some 40 steps wide */
        for (size_t i = 0; i < f.n; i++) /* half the span to each side of the first, so that none is too far */
            f.at[i] = (struct site_place){ M(chance(-size / 2, size / 2)), M(chance(-size / 2, size / 2)) };
        enum site_volume_status status = triangulate(&f);
        if (status == SITE_VOLUME_OK) {
            obeys(&f);
            does_not_hang_on_order(&f);
        } else {
            assert_true(f.n < 5);
        }
        field_free(&f);
    }
}

/* Squares (four on every circle), points on one circle, lines with one point beside them, everything many times over. */
static void
degenerate_spots_obey(void **state)
{
    (void)state;
    static const int64_t circle[][2] = { { 25, 0 }, { 24, 7 }, { 20, 15 }, { 15, 20 }, { 7, 24 }, { 0, 25 }, { -7, 24 }, { -15, 20 },
        { -20, 15 }, { -24, 7 }, { -25, 0 }, { -24, -7 }, { -20, -15 }, { -15, -20 }, { -7, -24 }, { 0, -25 }, { 7, -24 }, { 15, -20 },
        { 20, -15 }, { 24, -7 } };
    for (int form = 0; form < 6; form++)
        for (size_t times = 1; times <= 3; times++) {
            size_t n = form == 1 ? 20 : form == 5 ? 21 : form == 0 ? 49 : 15;
            struct field f = field_of(n * times);
            for (size_t i = 0; i < n * times; i++) {
                size_t k = i * 11 % n;
                int64_t x = (int64_t)k, y = 0;
                if (form == 0) /* 7 by 7 */
                    x = (int64_t)k % 7, y = (int64_t)k / 7;
                else if (form == 1 || form == 5) /* all on one circle; with its middle */
                    x = k < 20 ? circle[k][0] : 0, y = k < 20 ? circle[k][1] : 0;
                else if (form == 2) /* along x, one above */
                    y = k == 4 ? 3 : 0;
                else if (form == 3) /* a slanting line, one below it, last by x */
                    y = k == 14 ? -3 : 2 * (int64_t)k;
                else /* along y, one before it */
                    y = x, x = k == 7 ? -1 : 0;
                f.at[i] = (struct site_place){ x * 3 * LENGTH_FT, y * 3 * LENGTH_FT };
            }
            assert_int_equal(triangulate(&f), SITE_VOLUME_OK);
            obeys(&f);
            does_not_hang_on_order(&f);
            field_free(&f);
        }
}

/* What bears no surface, and what is too far: outputs are left alone. */
static void
refuses_what_bears_no_surface(void **state)
{
    (void)state;
    struct field f = field_of(9);
    for (size_t i = 0; i < 9; i++)
        f.at[i] = (struct site_place){ (length)i * LENGTH_FT, 7 * (length)i * LENGTH_FT };
    f.triangles = 77;
    f.same[3] = 78;
    f.triangle[0].corner[1] = 79;
    assert_int_equal(triangulate(&f), SITE_VOLUME_EFEW);
    for (size_t n = 0; n < 3; n++) {
        size_t keep = f.n;
        f.n = n;
        assert_int_equal(triangulate(&f), SITE_VOLUME_EFEW);
        f.n = keep;
    }
    for (size_t i = 0; i < 9; i++)
        f.at[i] = (struct site_place){ i % 2 ? LENGTH_FT : 0, 0 };
    assert_int_equal(triangulate(&f), SITE_VOLUME_EFEW);
    f.at[8] = (struct site_place){ 0, 6 * LENGTH_KM };
    assert_int_equal(triangulate(&f), SITE_VOLUME_EFAR);
    f.at[8] = (struct site_place){ 0, 1 }; /* a nanometre: no other place */
    assert_int_equal(triangulate(&f), SITE_VOLUME_EFEW);
    assert_int_equal(f.triangles, 77);
    assert_int_equal(f.same[3], 78);
    assert_int_equal(f.triangle[0].corner[1], 79);
    f.at[8] = (struct site_place){ 0, 5 * LENGTH_KM };
    assert_int_equal(triangulate(&f), SITE_VOLUME_OK);
    field_free(&f);
}

/* ---- volumes ---- */

static void
heights(struct field *f, double (*ground)(double x, double y))
{
    for (size_t i = 0; i < f->n; i++)
        f->above[i] = ground((double)f->at[i].x / 1e9, (double)f->at[i].y / 1e9);
}

static struct site_volume
volume(const struct field *f, const struct site_rectangle *inside)
{
    struct site_volume v;
    double *cut = calloc(f->n, sizeof *cut), *fill = calloc(f->n, sizeof *fill), by_weight = 0, weight = 0;
    site_volume_over(f->at, f->n, f->above, f->triangle, f->triangles, inside, &v, cut, fill);
    for (size_t i = 0; i < f->n; i++) {
        by_weight += (cut[i] + fill[i]) * f->above[i];
        weight += cut[i] + fill[i];
    }
    double size = v.cut + v.fill + 1e-9;
    assert_true(v.cut >= 0 && v.fill >= 0);
    assert_near(v.cut - v.fill, v.net, 1e-12 * size);
    assert_near(by_weight, v.net, 1e-12 * size);
    assert_near(weight, v.area, 1e-12 * v.area);
    struct site_volume plain;
    site_volume_over(f->at, f->n, f->above, f->triangle, f->triangles, inside, &plain, NULL, NULL);
    assert_memory_equal(&plain, &v, sizeof v);
    free(cut);
    free(fill);
    return v;
}

static double
tilted(double x, double y)
{
    return 0.25 * x - 0.125 * y + 1.75;
}

/* Corners of a rectangle and random spots in it, on no whole steps. */
static struct field
scattered(size_t n, double along, double across)
{
    struct field f = field_of(n);
    for (size_t i = 0; i < n; i++)
        f.at[i] = (struct site_place){ i < 4 ? (i % 2 ? M(along) : 0) : M(chance(0, along)),
            i < 4 ? (i / 2 ? M(across) : 0) : M(chance(0, across)) };
    return f;
}

/* A plane over 12 by 8: 0.25 * 6 - 0.125 * 4 + 1.75 = 2.75 in the middle, above 0 everywhere. Lowered by that it is cut and
 * fill alike, nought along x = 6 + (y - 4) / 2; half the slope times the square of the way to there, summed over y. */
static void
planes_are_exact(void **state)
{
    (void)state;
    struct field f = scattered(200, 12, 8);
    assert_int_equal(triangulate(&f), SITE_VOLUME_OK);
    heights(&f, tilted);
    struct site_volume v = volume(&f, NULL);
    assert_near(v.area, 96, 1e-11);
    assert_near(v.net, 96 * 2.75, 1e-10);
    assert_near(v.cut, 96 * 2.75, 1e-10);
    assert_near(v.fill, 0, 0);
    for (size_t i = 0; i < f.n; i++)
        f.above[i] -= 2.75;
    v = volume(&f, NULL);
    /* integral from y = 0 to 8 of (6 - (y - 4) / 2)^2 = 8 * 36 + (1 / 4) * 2 * 4^3 / 3; times slope / 2 */
    assert_near(v.cut, 0.125 * (8 * 36 + 128.0 / 12), 1e-10);
    assert_near(v.fill, v.cut, 1e-10);
    assert_near(v.net, 0, 1e-10);
    /* in a rectangle that cuts across the triangles: 3 to 10 by 1 to 6, mean 0.25 * 6.5 - 0.125 * 3.5 - 1 */
    struct site_rectangle part = { { 3 * LENGTH_M, LENGTH_M }, { 10 * LENGTH_M, 6 * LENGTH_M } };
    v = volume(&f, &part);
    assert_near(v.area, 35, 1e-11);
    assert_near(v.net, 35 * 0.1875, 1e-11);
    /* beyond the spots nothing is known, and nothing is made up */
    part = (struct site_rectangle){ { -5 * LENGTH_M, -5 * LENGTH_M }, { 50 * LENGTH_M, 50 * LENGTH_M } };
    assert_near(volume(&f, &part).area, 96, 1e-11);
    part = (struct site_rectangle){ { 20 * LENGTH_M, 0 }, { 30 * LENGTH_M, 8 * LENGTH_M } };
    v = volume(&f, &part);
    assert_near(v.area, 0, 0);
    assert_near(v.cut, 0, 0);
    field_free(&f);
}

static double
bowl(double x, double y)
{
    return 0.02 * x * x + 0.03 * y * y - 0.01 * x * y;
}

/* Integral of the bowl over 12 by 8: 0.02 * 8 * 12^3 / 3 + 0.03 * 12 * 8^3 / 3 - 0.01 * (12^2 / 2) (8^2 / 2). */
#define BOWL (0.02 * 8 * 1728 / 3 + 0.03 * 12 * 512 / 3 - 0.01 * 72 * 32)

/* The error goes with the square of the spacing: half of it, a quarter of the error. */
static void
a_bowl_converges_on_squares(void **state)
{
    (void)state;
    double before = 0;
    for (size_t k = 4; k <= 64; k *= 2) {
        struct field f = field_of((k + 1) * (k + 1));
        for (size_t i = 0; i < f.n; i++)
            f.at[i] = (struct site_place){ (length)(i % (k + 1)) * 12 * LENGTH_M / (length)k,
                (length)(i / (k + 1)) * 8 * LENGTH_M / (length)k };
        assert_int_equal(triangulate(&f), SITE_VOLUME_OK);
        heights(&f, bowl);
        double off = volume(&f, NULL).net - BOWL;
        if (k > 4 && !(before / off > 3.5 && before / off < 4.5))
            fail_msg("%zu: error %g, before %g", k, off, before);
        before = off;
        field_free(&f);
    }
}

/* Scattered spots whose spacing can be halved: one tile of them, again and again, smaller and smaller. */
static void
a_bowl_converges_on_scattered_spots(void **state)
{
    (void)state;
    enum { TILE = 9 };
    double u[TILE], v[TILE], before = 0;
    for (size_t i = 0; i < TILE; i++) {
        u[i] = chance(0.05, 0.95);
        v[i] = chance(0.05, 0.95);
    }
    for (size_t k = 4; k <= 32; k *= 2) {
        size_t corners = (k + 1) * (k + 1);
        struct field f = field_of(corners + TILE * k * k);
        for (size_t i = 0; i < f.n; i++) {
            size_t j = i < corners ? i : (i - corners) / TILE, wide = i < corners ? k + 1 : k, s = (i - corners) % TILE;
            double x = (double)(j % wide) + (i < corners ? 0 : u[s]), y = (double)(j / wide) + (i < corners ? 0 : v[s]);
            f.at[i] = (struct site_place){ M(x * 12 / (double)k), M(y * 8 / (double)k) };
        }
        assert_int_equal(triangulate(&f), SITE_VOLUME_OK);
        heights(&f, bowl);
        assert_near(volume(&f, NULL).area, 96, 1e-10);
        double off = volume(&f, NULL).net - BOWL;
        if (k > 4 && !(before / off > 3.5 && before / off < 4.5))
            fail_msg("%zu: error %g, before %g", k, off, before);
        before = off;
        field_free(&f);
    }
}

/* A place read under two names: the mean of both, the weight shared. */
static void
one_place_under_two_names(void **state)
{
    (void)state;
    struct field f = field_of(5);
    static const int64_t x[] = { 0, 6, 0, 6, 6 }, y[] = { 0, 0, 6, 6, 0 };
    for (size_t i = 0; i < 5; i++)
        f.at[i] = (struct site_place){ x[i] * LENGTH_M, y[i] * LENGTH_M };
    double above[] = { 0.3, 0.5, 0.3, 0.3, 0.9 };
    assert_int_equal(triangulate(&f), SITE_VOLUME_OK);
    assert_int_equal(f.same[4], 1);
    memcpy(f.above, above, sizeof above);
    site_volume_even(f.same, 5, f.above);
    assert_near(f.above[1], 0.7, 1e-15);
    assert_near(f.above[4], 0.7, 1e-15);
    assert_near(f.above[0], 0.3, 0);
    double weight[5], fill[5];
    struct site_volume v;
    site_volume_over(f.at, 5, f.above, f.triangle, f.triangles, NULL, &v, weight, fill);
    double whole = weight[1];
    assert_near(weight[4], 0, 0);
    assert_true(whole > 5);
    site_volume_even(f.same, 5, weight);
    assert_near(weight[1], whole / 2, 1e-15);
    assert_near(weight[4], whole / 2, 1e-15);
    field_free(&f);
}

/* Ground on grade: no cut, no fill, and the whole area has its weight once. */
static void
on_grade_is_neither(void **state)
{
    (void)state;
    struct field f = scattered(30, 5, 5);
    assert_int_equal(triangulate(&f), SITE_VOLUME_OK);
    struct site_volume v = volume(&f, NULL);
    assert_near(v.cut, 0, 0);
    assert_near(v.fill, 0, 0);
    assert_near(v.area, 25, 1e-12);
    field_free(&f);
}

/* ---- grids ---- */

struct squares {
    struct field f;
    struct site_grid g;
    uint32_t *lattice;
    struct site_cell *cell;
    struct site_gap *gap;
    size_t cells, gaps, left_out;
    enum site_volume_status status;
};

/* Columns by rows, without those whose bit is 0 in `read` (the first is bit 0); every `step` th spot after the last, round and round. */
static struct squares
squares_of(size_t columns, size_t rows, const uint8_t *read, length dx, length dy, size_t stride)
{
    size_t n = 0;
    for (size_t i = 0; i < columns * rows; i++)
        n += read == NULL || read[i];
    struct squares s = { .f = field_of(n), .lattice = calloc(4 * n, 4), .cell = calloc(n, sizeof *s.cell), .gap = calloc(4 * n, sizeof *s.gap) };
    size_t k = 0;
    for (size_t j = 0; j < columns * rows; j++) {
        size_t i = j * stride % (columns * rows);
        if (read == NULL || read[i])
            s.f.at[k++] = (struct site_place){ (length)(i % columns) * dx - 7 * LENGTH_FT, (length)(i / columns) * dy + 3 * LENGTH_FT };
    }
    void *room = malloc(site_volume_room(n));
    s.status = site_volume_grid(s.f.at, n, room, &s.g, s.lattice, s.f.same);
    free(room);
    if (s.status == SITE_VOLUME_OK)
        s.cells = site_volume_cells(&s.g, s.lattice, s.cell, s.gap, &s.gaps, &s.left_out);
    return s;
}

static void
squares_free(struct squares *s)
{
    field_free(&s->f);
    free(s->lattice);
    free(s->cell);
    free(s->gap);
}

static struct site_volume
volume_of_cell(const struct squares *s, size_t i, const struct site_rectangle *inside, double weight[4])
{
    struct site_volume v;
    double above[4], cut[4], fill[4], by_weight = 0, sum = 0, size = 0;
    for (int k = 0; k < 4; k++) {
        above[k] = s->f.above[s->cell[i].corner[k]];
        size += fabs(above[k]);
    }
    site_volume_of_cell(&s->g, &s->cell[i], above, inside, &v, cut, fill);
    for (int k = 0; k < 4; k++) {
        by_weight += (cut[k] + fill[k]) * above[k];
        sum += weight[k] = cut[k] + fill[k];
    }
    double tolerance = 1e-14 * site_volume_square(&s->g) * size;
    assert_true(v.cut >= 0 && v.fill >= 0);
    assert_near(v.cut - v.fill, v.net, tolerance);
    assert_near(by_weight, v.net, tolerance);
    assert_near(sum, v.area, 1e-14 * site_volume_square(&s->g));
    if (!inside) { /* both ways of dividing keep the net of the four-point mean */
        double rule_cut, rule_fill, mean = site_volume_square(&s->g) * (above[0] + above[1] + above[2] + above[3]) / 4;
        site_volume_four_point(site_volume_square(&s->g), above, &rule_cut, &rule_fill);
        assert_near(v.net, mean, tolerance);
        assert_near(rule_cut - rule_fill, mean, tolerance);
        assert_true(rule_cut >= 0 && rule_fill >= 0);
    }
    return v;
}

/* Random heights on grids of any size: the law of the split, and the weights 1-2-3-4 by squares. */
static void
the_split_keeps_the_net(void **state)
{
    (void)state;
    for (int trial = 0; trial < 50; trial++) {
        size_t columns = 2 + (size_t)chance(0, 6), rows = 2 + (size_t)chance(0, 6);
        struct squares s = squares_of(columns, rows, NULL, (length)chance(1e8, 9e9), (length)chance(1e8, 9e9), 1);
        assert_int_equal(s.status, SITE_VOLUME_OK);
        assert_int_equal(s.cells, (columns - 1) * (rows - 1));
        assert_int_equal(s.gaps + s.left_out, 0);
        double cut = 0, fill = 0, net = 0, weight[4], *in = calloc(s.f.n, sizeof *in), by_squares = 0;
        for (size_t i = 0; i < s.f.n; i++)
            s.f.above[i] = trial % 5 == 0 ? floor(chance(-2, 3)) / 8 : chance(-0.6, 0.5); /* often on grade itself */
        for (size_t i = 0; i < s.cells; i++) {
            struct site_volume v = volume_of_cell(&s, i, NULL, weight);
            cut += v.cut;
            fill += v.fill;
            net += v.net;
            for (int k = 0; k < 4; k++) {
                in[s.cell[i].corner[k]]++;
                assert_near(weight[k], site_volume_square(&s.g) / 4, 1e-14 * site_volume_square(&s.g));
            }
        }
        for (size_t i = 0; i < s.f.n; i++)
            by_squares += in[i] * s.f.above[i] * site_volume_square(&s.g) / 4;
        assert_near(cut - fill, net, 1e-13 * (cut + fill));
        assert_near(by_squares, net, 1e-13 * (cut + fill));
        free(in);
        squares_free(&s);
    }
}

/* Own figures, in feet: 3 by 3 at 10 ft; cells +22.5, +7.5, 0, -13.75; +0.25 +0.10 +0.05 -0.10 by the rule: 8.0 cut, 0.5 fill.
 * The third, whose mean is nought, has cut and fill alike. */
static void
nine_spots(void **state)
{
    (void)state;
    static const double above[] = { 0.40, 0.25, 0.10, 0.20, 0.05, -0.10, -0.05, -0.20, -0.30 };
    static const double want[] = { 22.5, 7.5, 0, -13.75 };
    const double ft3 = 0.3048 * 0.3048 * 0.3048;
    struct squares s = squares_of(3, 3, NULL, 10 * LENGTH_FT, 10 * LENGTH_FT, 1);
    double weight[4], rule_cut, rule_fill;
    for (size_t i = 0; i < 9; i++)
        s.f.above[i] = above[i] * 0.3048;
    for (size_t i = 0; i < 4; i++) {
        struct site_volume v = volume_of_cell(&s, i, NULL, weight);
        assert_near(v.net / ft3, want[i], 1e-11);
        if (i == 2)
            assert_true(v.cut / ft3 > 1 && v.fill / ft3 > 1);
    }
    double mixed[] = { 0.25 * 0.3048, 0.10 * 0.3048, 0.05 * 0.3048, -0.10 * 0.3048 };
    site_volume_four_point(site_volume_square(&s.g), mixed, &rule_cut, &rule_fill);
    assert_near(rule_cut / ft3, 8.0, 1e-12);
    assert_near(rule_fill / ft3, 0.5, 1e-12);
    squares_free(&s);
}

/* By hand, a square of side 1: with corners 1, 1, -1, -1 around it is cut at half its depth, 1/4 each; with 1, -1, 1, -1 the
 * middle is on grade. */
static void
split_by_hand(void **state)
{
    (void)state;
    struct squares s = squares_of(2, 2, NULL, LENGTH_M, LENGTH_M, 1);
    static const double slope[] = { 1, 1, -1, -1 }, saddle[] = { 1, -1, -1, 1 }; /* in the order of the spots, row by row */
    double weight[4];
    memcpy(s.f.above, slope, sizeof slope);
    struct site_volume v = volume_of_cell(&s, 0, NULL, weight);
    assert_near(v.cut, 0.25, 1e-15);
    assert_near(v.fill, 0.25, 1e-15);
    memcpy(s.f.above, saddle, sizeof saddle);
    v = volume_of_cell(&s, 0, NULL, weight);
    /* a triangle 1, -1, 0 of area 1/4: above grade is half of it, heights 1, 0, 0: (1/8) (1/3); four of them */
    assert_near(v.cut, 4 * (1.0 / 8) / 3, 1e-15);
    assert_near(v.fill, v.cut, 1e-15);
    double rule_cut, rule_fill; /* the rule cannot tell the two apart */
    site_volume_four_point(1, saddle, &rule_cut, &rule_fill);
    assert_near(rule_cut, 0.25, 0);
    /* only a quarter of it asked for: the corner that is 1, to the middle: the plane sides of two halves */
    struct site_rectangle part = { s.g.origin, { s.g.origin.x + LENGTH_M / 2, s.g.origin.y + LENGTH_M / 2 } };
    v = volume_of_cell(&s, 0, &part, weight);
    assert_near(v.area, 0.25, 1e-15);
    assert_near(v.cut, (1.0 / 8) / 3 * 2, 1e-15);
    assert_near(v.fill, 0, 0);
    memset(s.f.above, 0, 4 * sizeof *s.f.above);
    v = volume_of_cell(&s, 0, NULL, weight);
    assert_near(v.cut + v.fill, 0, 0);
    site_volume_four_point(1, s.f.above, &rule_cut, &rule_fill);
    assert_near(rule_cut + rule_fill, 0, 0);
    squares_free(&s);
}

/* Missing spots leave squares out, and say so; nothing stands in for them. */
static void
gaps_are_named(void **state)
{
    (void)state;
    uint8_t read[20];
    memset(read, 1, sizeof read);
    read[6] = 0; /* column 1, row 1 of 5 by 4: four squares */
    struct squares s = squares_of(5, 4, read, LENGTH_FT, 2 * LENGTH_FT, 7);
    assert_int_equal(s.status, SITE_VOLUME_OK);
    assert_int_equal(s.cells, 8);
    assert_int_equal(s.left_out, 4);
    assert_int_equal(s.gaps, 1);
    assert_int_equal(s.gap[0].column, 1);
    assert_int_equal(s.gap[0].row, 1);
    assert_int_equal(s.gap[0].cells, 4);
    assert_same(s.g.dx, LENGTH_FT);
    assert_same(s.g.dy, 2 * LENGTH_FT);
    assert_same(s.g.origin.x, -7 * LENGTH_FT);
    squares_free(&s);
    read[6] = 1;
    read[0] = read[1] = 0; /* a corner off: two places, of which the first touches one square, the second two */
    s = squares_of(5, 4, read, LENGTH_FT, LENGTH_FT, 1);
    assert_int_equal(s.cells, 10);
    assert_int_equal(s.left_out, 2);
    assert_int_equal(s.gaps, 2);
    assert_int_equal(s.gap[0].cells, 1);
    assert_int_equal(s.gap[1].cells, 2);
    squares_free(&s);
    read[0] = read[1] = 1;
    for (size_t i = 10; i < 15; i++)
        read[i] = 0; /* a whole row was not read: the rows are not even, and nobody would believe it */
    s = squares_of(5, 4, read, LENGTH_FT, LENGTH_FT, 1);
    assert_int_equal(s.status, SITE_VOLUME_EGRID);
    squares_free(&s);
}

static void
what_is_no_grid(void **state)
{
    (void)state;
    struct squares s = squares_of(4, 3, NULL, LENGTH_FT, LENGTH_FT, 1);
    assert_int_equal(s.status, SITE_VOLUME_OK);
    void *room = malloc(site_volume_room(12));
    struct site_grid before = s.g;
    s.f.at[10].y++; /* a nanometre off */
    assert_int_equal(site_volume_grid(s.f.at, 12, room, &s.g, s.lattice, s.f.same), SITE_VOLUME_EGRID);
    assert_memory_equal(&before, &s.g, sizeof before);
    s.f.at[10] = s.f.at[5]; /* twice at one place, and one missing */
    assert_int_equal(site_volume_grid(s.f.at, 12, room, &s.g, s.lattice, s.f.same), SITE_VOLUME_OK);
    assert_int_equal(s.f.same[10], 5);
    assert_int_equal(s.f.same[11], 11);
    for (size_t i = 0; i < 12; i++) /* one line; a slanting line; too few */
        s.f.at[i] = (struct site_place){ (length)i * LENGTH_FT, 0 };
    assert_int_equal(site_volume_grid(s.f.at, 12, room, &s.g, s.lattice, s.f.same), SITE_VOLUME_EGRID);
    for (size_t i = 0; i < 12; i++)
        s.f.at[i].y = s.f.at[i].x;
    assert_int_equal(site_volume_grid(s.f.at, 12, room, &s.g, s.lattice, s.f.same), SITE_VOLUME_EGRID);
    assert_int_equal(site_volume_grid(s.f.at, 3, room, &s.g, s.lattice, s.f.same), SITE_VOLUME_EGRID);
    /* scattered over whole feet, with one square among them by chance */
    static const int64_t x[] = { 0, 1, 0, 1, 2, 3, 4, 5, 6, 7, 2, 3 }, y[] = { 0, 0, 1, 1, 3, 2, 5, 4, 7, 6, 7, 6 };
    for (size_t i = 0; i < 12; i++)
        s.f.at[i] = (struct site_place){ x[i] * LENGTH_FT, y[i] * LENGTH_FT };
    assert_int_equal(site_volume_grid(s.f.at, 12, room, &s.g, s.lattice, s.f.same), SITE_VOLUME_EGRID);
    free(room);
    squares_free(&s);
}

/* A bowl over squares by the four-point mean: a quarter of the error for half of the spacing. */
static void
a_bowl_converges_by_four_points(void **state)
{
    (void)state;
    double before = 0;
    for (size_t k = 4; k <= 64; k *= 2) {
        struct squares s = squares_of(k + 1, k + 1, NULL, 12 * LENGTH_M / (length)k, 8 * LENGTH_M / (length)k, 1);
        double net = 0, weight[4];
        for (size_t i = 0; i < s.f.n; i++)
            s.f.above[i] = bowl((double)(s.f.at[i].x - s.g.origin.x) / 1e9, (double)(s.f.at[i].y - s.g.origin.y) / 1e9);
        for (size_t i = 0; i < s.cells; i++)
            net += volume_of_cell(&s, i, NULL, weight).net;
        double off = net - BOWL;
        if (k > 4 && !(before / off > 3.5 && before / off < 4.5))
            fail_msg("%zu: error %g, before %g", k, off, before);
        before = off;
        squares_free(&s);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_spots_obey),
        cmocka_unit_test(degenerate_spots_obey),
        cmocka_unit_test(refuses_what_bears_no_surface),
        cmocka_unit_test(planes_are_exact),
        cmocka_unit_test(a_bowl_converges_on_squares),
        cmocka_unit_test(a_bowl_converges_on_scattered_spots),
        cmocka_unit_test(one_place_under_two_names),
        cmocka_unit_test(on_grade_is_neither),
        cmocka_unit_test(the_split_keeps_the_net),
        cmocka_unit_test(nine_spots),
        cmocka_unit_test(split_by_hand),
        cmocka_unit_test(gaps_are_named),
        cmocka_unit_test(what_is_no_grid),
        cmocka_unit_test(a_bowl_converges_by_four_points),
    };
    return cmocka_run_group_tests_name("volume", tests, NULL, NULL);
}
