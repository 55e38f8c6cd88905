/* The engine: against exact arithmetic, a dense inverse, published nets, and its own promises. */
#include "near.h"

#include "exact.h"
#include "nets.h"

#include <float.h>
#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <stdbool.h>
#include <stdio.h>

static double
largest(const double *x, size_t n)
{
    double most = 0;
    for (size_t i = 0; i < n; i++)
        most = fmax(most, fabs(x[i]));
    return most;
}

static double
total(const double *x, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += x[i];
    return sum;
}

/* ---- exact arithmetic: exact.py ---- */

static struct made
made_of(const struct exact *e)
{
    struct made m = made_new(e->nodes, e->ties, 0);
    memcpy(m.tie, e->tie, e->ties * sizeof *m.tie);
    m.net.ties = e->ties;
    return m;
}

static void
gives_what_exact_arithmetic_gives(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof exact_nets / sizeof *exact_nets; k++) {
        const struct exact *e = &exact_nets[k];
        struct made m = made_of(e);
        assert_int_equal(made_solve(&m), NET_OK);
        double scale = largest(e->correction, e->nodes);
        for (size_t i = 0; i < e->nodes; i++) {
            assert_near(m.net.variance[i], e->variance[i], 1e-14 * e->variance[i]);
            assert_near(m.net.correction[i], e->correction[i], 1e-15 * scale);
        }
        for (size_t t = 0; t < e->ties; t++) {
            assert_near(m.net.spread[t], e->spread[t], 1e-14 * e->spread[t]);
            assert_near(m.net.redundancy[t], e->redundancy[t], 1e-14);
        }
        made_free(&m);
    }
}

/* ---- GSL's dense Cholesky inverse of the normal equations ---- */

struct dense {
    gsl_matrix *z;
    gsl_vector *x;
    double tolerance; /* relative: 1e-12, or ten times condition and epsilon */
};

static void
fill_normal(const struct net *net, gsl_matrix *a, gsl_vector *b)
{
    for (size_t t = 0; t < net->ties; t++) {
        const struct net_tie *tie = &net->tie[t];
        uint32_t end[2] = { tie->from, tie->to };
        for (int i = 0; i < 2; i++) {
            if (end[i] == NET_GROUND)
                continue;
            *gsl_matrix_ptr(a, end[i], end[i]) += tie->weight;
            *gsl_vector_ptr(b, end[i]) += (i ? 1 : -1) * tie->weight * tie->short_by;
            if (end[1 - i] != NET_GROUND)
                *gsl_matrix_ptr(a, end[i], end[1 - i]) -= tie->weight;
        }
    }
}

static struct dense
dense_new(const struct net *net)
{
    size_t n = net->nodes;
    struct dense d = { gsl_matrix_calloc(n, n), gsl_vector_alloc(n), 0 };
    gsl_vector *b = gsl_vector_calloc(n), *work = gsl_vector_alloc(3 * n);
    double rcond;
    fill_normal(net, d.z, b);
    assert_int_equal(gsl_linalg_cholesky_decomp1(d.z), GSL_SUCCESS);
    assert_int_equal(gsl_linalg_cholesky_rcond(d.z, &rcond, work), GSL_SUCCESS);
    assert_int_equal(gsl_linalg_cholesky_invert(d.z), GSL_SUCCESS);
    assert_int_equal(gsl_blas_dgemv(CblasNoTrans, 1, d.z, b, 0, d.x), GSL_SUCCESS);
    d.tolerance = fmax(1e-12, 10 * DBL_EPSILON / rcond);
    gsl_vector_free(b);
    gsl_vector_free(work);
    return d;
}

static void
dense_free(struct dense *d)
{
    gsl_matrix_free(d->z);
    gsl_vector_free(d->x);
}

static double
dense_z(const struct dense *d, uint32_t i, uint32_t j)
{
    return i == NET_GROUND || j == NET_GROUND ? 0 : gsl_matrix_get(d->z, i, j);
}

static void
assert_dense(struct made *m)
{
    const struct net *net = &m->net;
    struct dense d = dense_new(net);
    double scale = 0;
    for (size_t t = 0; t < net->ties; t++)
        scale = fmax(scale, fabs(net->tie[t].short_by));
    for (uint32_t i = 0; i < net->nodes; i++)
        scale = fmax(scale, fabs(gsl_vector_get(d.x, i)));
    for (uint32_t i = 0; i < net->nodes; i++) {
        assert_near(net->correction[i], gsl_vector_get(d.x, i), d.tolerance * scale);
        assert_near(net->variance[i], dense_z(&d, i, i), d.tolerance * dense_z(&d, i, i));
    }
    for (size_t t = 0; t < net->ties; t++) {
        const struct net_tie *tie = &net->tie[t];
        double a = dense_z(&d, tie->from, tie->from), b = dense_z(&d, tie->to, tie->to);
        double spread = a + b - 2 * dense_z(&d, tie->from, tie->to);
        assert_near(net->spread[t], spread, d.tolerance * (a + b));
        assert_near(net->redundancy[t], 1 - tie->weight * spread, d.tolerance * tie->weight * (a + b));
    }
    dense_free(&d);
}

/* A shape and its numbers by lot; one in three with weights far apart. */
static struct made
made_by_lot(uint64_t seed)
{
    struct made lot = { .state = seed * 2654435761u + 1 };
    uint32_t kind = made_draw(&lot, 7), nodes = 1 + made_draw(&lot, 1 + made_draw(&lot, 200)), wide = made_draw(&lot, 3) * 5;
    if (kind == 0)
        return made_line(nodes, wide, seed);
    if (kind == 1)
        return made_loops(nodes, wide, seed);
    if (kind == 2)
        return made_grid(2 + made_draw(&lot, 12), wide, seed);
    if (kind == 3)
        return made_wheel(nodes + 4, wide, seed);
    if (kind == 4)
        return made_pair(nodes + 4, wide, seed);
    return made_any(nodes, 1 + made_draw(&lot, 30), made_draw(&lot, kind == 5 ? nodes + 1 : 6 * nodes), wide, seed);
}

static void
gives_what_a_dense_inverse_gives(void **state)
{
    size_t most = 0;
    (void)state;
    for (uint64_t seed = 1; seed <= 1000; seed++) {
        struct made m = made_by_lot(seed);
        double free_ties = (double)m.net.ties - (double)m.net.nodes;
        assert_int_equal(made_solve(&m), NET_OK);
        assert_dense(&m);
        assert_near(total(m.net.redundancy, m.net.ties), free_ties, 1e-14 * (double)m.net.ties * (free_ties + 1));
        most = m.net.nodes > most ? m.net.nodes : most;
        made_free(&m);
    }
    assert_true(most > 180 && most <= 204);
}

/* Hubs that are left out of the order, fronts wider than a panel, and a front of many children. */
static void
gives_what_a_dense_inverse_gives_for_hubs_and_wide_fronts(void **state)
{
    struct made all[] = { made_wheel(180, 3, 31), made_any(150, 150, 2500, 2, 32), made_grid(15, 2, 33), made_hubs(0, 34),
        made_hubs(5, 35) };
    (void)state;
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        assert_int_equal(made_solve(&all[i]), NET_OK);
        assert_dense(&all[i]);
        made_free(&all[i]);
    }
}

/* Two points with two others between them, and more spurs each than are looked through for a tie between the two. */
static void
gives_what_a_dense_inverse_gives_for_points_of_many_spurs(void **state)
{
    enum { SPURS = 50, NODES = 4 + 2 * SPURS };
    struct made m = made_new(NODES, NODES + 4, 36);
    (void)state;
    for (uint32_t i = 4; i < NODES; i++)
        made_tie(&m, i, i % 2, 0);
    for (uint32_t i = 2; i < 4; i++) {
        made_tie(&m, 0, i, 0);
        made_tie(&m, i, 1, 0);
    }
    made_tie(&m, NET_GROUND, 1, 0);
    assert_int_equal(made_solve(&m), NET_OK);
    assert_dense(&m);
    made_free(&m);
}

/* A hub of hubs, each of which reads a closed line. Its number is the first, or the last. */
static struct made
made_hub_of_hubs(bool first)
{
    enum { HUBS = 50, RIM = 50, NODES = 1 + HUBS * (1 + RIM) };
    struct made m = made_new(NODES, NODES + HUBS * RIM + 1, 37);
    for (uint32_t k = 0; k < HUBS; k++) {
        uint32_t hub = 1 + k * (1 + RIM);
        made_tie(&m, 0, hub, 1);
        for (uint32_t i = 1; i <= RIM; i++) {
            made_tie(&m, hub, hub + i, 1);
            made_tie(&m, hub + i, hub + (i < RIM ? i + 1 : 1), 1);
        }
    }
    for (size_t t = 0; t < m.net.ties && !first; t++) {
        m.tie[t].from = NODES - 1 - m.tie[t].from;
        m.tie[t].to = NODES - 1 - m.tie[t].to;
    }
    made_tie(&m, first ? 2 : NODES - 3, NET_GROUND, 1);
    return m;
}

static void
gives_the_same_however_nodes_are_numbered(void **state)
{
    struct made m = made_hub_of_hubs(true), other = made_hub_of_hubs(false);
    size_t n = m.net.nodes;
    (void)state;
    assert_int_equal(made_solve(&m), NET_OK);
    assert_int_equal(made_solve(&other), NET_OK);
    for (size_t i = 0; i < n; i++) {
        assert_near(m.net.variance[i], other.net.variance[n - 1 - i], 1e-14 * m.net.variance[i]);
        assert_near(m.net.correction[i], other.net.correction[n - 1 - i], 1e-15);
    }
    for (size_t t = 0; t < m.net.ties; t++)
        assert_near(m.net.spread[t], other.net.spread[t], 1e-14 * m.net.spread[t]);
    made_free(&m);
    made_free(&other);
}

static void
gives_covariances(void **state)
{
    (void)state;
    for (uint64_t seed = 2001; seed < 2030; seed++) {
        struct made m = made_by_lot(seed);
        assert_int_equal(made_solve(&m), NET_OK);
        struct dense d = dense_new(&m.net);
        for (uint32_t k = 0; k < m.net.nodes; k += 1 + (uint32_t)m.net.nodes / 5) {
            net_covariance(&m.net, k, m.covariance);
            for (uint32_t i = 0; i < m.net.nodes; i++)
                assert_near(m.covariance[i], dense_z(&d, k, i), d.tolerance * dense_z(&d, k, i));
        }
        double *share = calloc(m.net.nodes, sizeof *share); /* of a sum: some with either sign, some not in it */
        for (uint32_t k = 0; k < m.net.nodes; k++)
            share[k] = (double)(k * 7 % 5) - 1.37;
        net_covariance_of(&m.net, share, m.covariance);
        for (uint32_t i = 0; i < m.net.nodes; i++) {
            double want = 0, size = 0;
            for (uint32_t k = 0; k < m.net.nodes; k++) {
                want += share[k] * dense_z(&d, k, i);
                size += fabs(share[k] * dense_z(&d, k, i));
            }
            assert_near(m.covariance[i], want, d.tolerance * size);
        }
        free(share);
        dense_free(&d);
        made_free(&m);
    }
}

/* ---- published nets ---- */

struct section {
    uint32_t from, to;
    double rise, weight;
};

struct published {
    size_t points, sections;
    const struct section *section;
    const double *held; /* [points] elevation of what is held, NAN where it is not */
    double start;       /* of the carried elevations */
};

struct answer {
    double elevation[8], sd[8], v[8], spread[8], redundancy[8]; /* sd and spread by the weights given; v: adjusted - observed */
    double sum_vpv, s0;
};

static struct answer
adjust(const struct published *p)
{
    struct made m = made_new(p->points, p->sections, 0);
    struct answer a = { .sum_vpv = 0 };
    uint32_t node[8], nodes = 0;
    for (size_t i = 0; i < p->points; i++) {
        node[i] = isnan(p->held[i]) ? nodes++ : NET_GROUND;
        a.elevation[i] = isnan(p->held[i]) ? p->start : p->held[i];
    }
    m.net.nodes = nodes;
    for (size_t t = 0; t < p->sections; t++) {
        const struct section *s = &p->section[t];
        double short_by = s->rise - (a.elevation[s->to] - a.elevation[s->from]);
        m.tie[m.net.ties++] = (struct net_tie){ node[s->from], node[s->to], s->weight, short_by };
    }
    assert_int_equal(made_solve(&m), NET_OK);
    for (size_t i = 0; i < p->points; i++)
        if (node[i] != NET_GROUND) {
            a.elevation[i] += m.net.correction[node[i]];
            a.sd[i] = sqrt(m.net.variance[node[i]]);
        }
    for (size_t t = 0; t < p->sections; t++) {
        const struct section *s = &p->section[t];
        a.v[t] = a.elevation[s->to] - a.elevation[s->from] - s->rise;
        a.sum_vpv += s->weight * a.v[t] * a.v[t];
        a.spread[t] = m.net.spread[t];
        a.redundancy[t] = m.net.redundancy[t];
    }
    a.s0 = sqrt(a.sum_vpv / (double)(p->sections - nodes));
    made_free(&m);
    return a;
}

static void
assert_all_near(const double *got, const double *want, size_t n, double scale, double tolerance)
{
    for (size_t i = 0; i < n; i++)
        assert_near(got[i] * scale, want[i], tolerance);
}

/*
 * Source: Z. Siki, Level network adjustment and data snooping, open tutorial;
 * data and results seen. Standard deviation 0.7 mm a kilometre. Standard
 * deviations there are by the fit. Redundancy numbers are printed to one
 * decimal; those to four, and the signed tests, are our own.
 */
static void
adjusts_four_points_with_redundancy_numbers(void **state)
{
#define KM(l) 1 / ((0.7 * (l)) * (0.7 * (l)))
    static const struct section section[] = { { 0, 1, -0.749, KM(1.1) }, { 0, 2, -1.274, KM(1.8) }, { 0, 3, -2.890, KM(1.4) },
        { 1, 2, -0.530, KM(1.5) }, { 1, 3, -2.141, KM(1.9) }, { 2, 3, -1.614, KM(0.9) } }; /* m, 1 / mm^2 */
    static const double held[] = { NAN, NAN, NAN, 101.345 };
    static const double elevation[] = { 104.2350, 103.4868, 102.9588 }, sd[] = { 1.13, 1.19, 0.91 };
    static const double v[] = { 0.81, -2.18, 0.00, 2.01, -0.81, 0.18 }, sd_observed[] = { 1.06, 1.17, 1.13, 1.17, 1.19, 0.91 };
    static const double t[] = { 1.1, 1.3, 0.0, 1.6, 0.4, 0.4 }, u[] = { 1.9, 2.1, 0.0, 2.6, 0.7, 0.6 };
    static const double printed[] = { 0.3, 0.7, 0.5, 0.5, 0.7, 0.2 };
    static const double ours[] = { 0.3140, 0.6865, 0.5112, 0.5466, 0.7073, 0.2344 };
    static const double w_ours[] = { 1.880, -2.085, 0.004, 2.592, -0.722, 0.590 };
    const struct published p = { 4, 6, section, held, 101 };
    struct answer a = adjust(&p);
    (void)state;
    a.sum_vpv *= 1e6; /* from m to mm */
    a.s0 *= 1e3;
    assert_all_near(a.elevation, elevation, 3, 1, 0.00005);
    assert_all_near(a.v, v, 6, 1000, 0.005);
    assert_near(a.sum_vpv, 8.217, 0.0005);
    assert_near(a.s0, 1.65, 0.005);
    assert_all_near(a.sd, sd, 3, a.s0, 0.005);
    assert_all_near(a.redundancy, printed, 6, 1, 0.05);
    assert_all_near(a.redundancy, ours, 6, 1, 0.00005);
    for (size_t i = 0; i < 6; i++) {
        double normalised = 1000 * a.v[i] / sqrt(1 / section[i].weight - a.spread[i]);
        assert_near(a.s0 * sqrt(a.spread[i]), sd_observed[i], 0.005);
        assert_near(fabs(normalised), u[i], 0.05);
        assert_near(fabs(normalised) / a.s0, t[i], 0.05);
        assert_near(normalised, w_ours[i], 0.0005);
    }
}

/*
 * Source: F. Krumm, Statistical Inference, Rev. 2.44a, Institute of Geodesy,
 * University of Stuttgart 2018, slides 53-54; seen. A free net there: holding
 * its point 1 at the elevation that it gets leaves all others as they are. The
 * second adjusted observation is printed as 9.99896, a misprint.
 */
static void
adjusts_a_free_net_by_one_point_held(void **state)
{
    static const struct section section[] = { { 0, 1, 14.301, 1 }, { 0, 2, 9.995, 1 }, { 0, 3, 7.006, 1 }, { 0, 4, 17.500, 1 },
        { 2, 1, 4.299, 1 }, { 3, 2, 2.996, 1 }, { 4, 1, -3.197, 1 } };
    static const double held[] = { 93.4580, NAN, NAN, NAN, NAN };
    static const double elevation[] = { 93.4580, 107.7581, 103.4569, 100.4624, 110.9566 };
    static const double e[] = { 0.857, -3.857, 1.571, 1.429, -2.286, 1.571, 1.429 }; /* mm, observed - adjusted */
    static const double adjusted[] = { 14.30014, 9.99886, 7.00443, 17.49857, 4.30129, 2.99443, -3.19843 };
    const struct published p = { 5, 7, section, held, 100 };
    struct answer a = adjust(&p);
    (void)state;
    assert_all_near(a.elevation, elevation, 5, 1, 0.0001); /* the held one is rounded too */
    assert_all_near(a.v, e, 7, -1000, 0.0005);
    for (size_t i = 0; i < 7; i++)
        assert_near(section[i].rise + a.v[i], adjusted[i], 0.000005);
    assert_near(a.sum_vpv * 1e6, 29.857, 0.0005);
}

/* Source: Wuhan University text exercise, a solved copy, no. 6; data, elevations seen; the other results are our own. */
static void
adjusts_two_points_between_three_bench_marks(void **state)
{
    static const struct section section[] = { { 0, 3, 1.003, 1 }, { 3, 4, 0.501, 0.5 }, { 2, 4, 0.503, 0.5 }, { 1, 3, 0.505, 1 } };
    static const double held[] = { 11.000, 11.500, 12.008, NAN, NAN }, elevation[] = { 12.0047, 12.5083 };
    static const double v[] = { 1.667, 2.667, -2.667, -0.333 }, sd[] = { 1.49, 2.36 }, redundancy[] = { 0.5556, 0.4444, 0.4444, 0.5556 };
    const struct published p = { 5, 4, section, held, 12 };
    struct answer a = adjust(&p);
    (void)state;
    assert_all_near(a.elevation + 3, elevation, 2, 1, 0.00005);
    assert_near(a.elevation[3], 12.003 + 5e-3 / 3, 1e-12); /* dx = 5/3 and -8/3 mm */
    assert_near(a.elevation[4], 12.511 - 8e-3 / 3, 1e-12);
    assert_all_near(a.v, v, 4, 1000, 0.0005);
    assert_near(a.s0 * 1000, 2.236, 0.0005);
    assert_all_near(a.sd + 3, sd, 2, a.s0 * 1000, 0.005);
    assert_all_near(a.redundancy, redundancy, 4, 1, 0.00005);
}

/* Source: C. D. Ghilani, P. R. Wolf, Adjustment Computations, chapter on adjustment of level nets; from memory, in feet. */
static void
adjusts_seven_lines_between_two_bench_marks(void **state)
{
    static const double miles[] = { 4, 3, 2, 3, 2, 2, 2 }, held[] = { 100.00, 107.50, NAN, NAN, NAN };
    static const double plain[] = { 105.141, 104.483, 106.188 }, plain_v[] = { 0.041, 0.019, -0.062, -0.058, 0.022, -0.017, 0.005 };
    static const double heavy[] = { 105.150, 104.489, 106.197 }, heavy_v[] = { 0.050, 0.010, -0.053, -0.067, 0.019, -0.011, 0.008 };
    struct section section[] = { { 0, 2, 5.10, 1 }, { 2, 1, 2.34, 1 }, { 1, 4, -1.25, 1 }, { 4, 0, -6.13, 1 }, { 2, 3, -0.68, 1 },
        { 1, 3, -3.00, 1 }, { 3, 4, 1.70, 1 } };
    const struct published p = { 5, 7, section, held, 100 };
    struct answer a = adjust(&p);
    (void)state;
    assert_all_near(a.elevation + 2, plain, 3, 1, 0.0005);
    assert_all_near(a.v, plain_v, 7, 1, 0.0005);
    assert_near(a.s0, 0.050, 0.0005);
    for (size_t i = 0; i < 7; i++)
        section[i].weight = 12 / miles[i];
    a = adjust(&p);
    assert_all_near(a.elevation + 2, heavy, 3, 1, 0.0005);
    assert_all_near(a.v, heavy_v, 7, 1, 0.0005);
    assert_near(a.s0, 0.107, 0.0005);
}

/*
 * Source: E. M. Mikhail, F. Ackermann, Observations and Least Squares (1976),
 * example 7.4, table 7-1; the data seen in a public copy that prints no
 * results: these are our own, by another way than the engine's.
 */
static void
adjusts_five_points_and_eight_lines(void **state)
{
    static const struct section section[] = { { 0, 1, 25.42, 1 / 18.1 }, { 1, 2, 10.34, 1 / 9.4 }, { 2, 0, -35.20, 1 / 14.2 },
        { 1, 3, -15.54, 1 / 17.6 }, { 3, 4, 21.32, 1 / 13.5 }, { 4, 2, 4.82, 1 / 9.9 }, { 4, 0, -31.02, 1 / 13.8 },
        { 2, 3, -26.11, 1 / 14.0 } };
    static const double held[] = { 800.00, NAN, NAN, NAN, NAN }, elevation[] = { 825.2206, 835.5354, 809.5339, 830.8460 };
    static const double v[] = { -0.1994, -0.0252, -0.3354, -0.1467, -0.0079, -0.1306, 0.1740, 0.1085 };
    static const double sd[] = { 0.1805, 0.1615, 0.2010, 0.1711 };
    static const double redundancy[] = { 0.5547, 0.4037, 0.5459, 0.5487, 0.4715, 0.4538, 0.4754, 0.5462 };
    const struct published p = { 5, 8, section, held, 800 };
    struct answer a = adjust(&p);
    (void)state;
    assert_all_near(a.elevation + 1, elevation, 4, 1, 0.00005);
    assert_all_near(a.v, v, 8, 1, 0.00005);
    assert_near(a.sum_vpv, 0.0161714, 0.00000005);
    assert_near(a.s0, 0.0635834, 0.0000001); /* from the rounded sum */
    assert_all_near(a.sd + 1, sd, 4, a.s0, 0.00005);
    assert_all_near(a.redundancy, redundancy, 8, 1, 0.00005);
}

/* ---- bridges, parallels, the ground ---- */

/* A loop 0-1-2 on a stalk from the ground, with a spur 3-4 that is read twice at its end. */
static void
gives_bridges_no_redundancy(void **state)
{
    struct made m = made_new(5, 7, 0);
    static const struct net_tie tie[] = { { NET_GROUND, 0, 3.7e5, 0.0013 }, { 0, 1, 2.9e5, -0.0021 }, { 2, 1, 4.1e5, 0.0017 },
        { 0, 2, 1.3e5, 0.0008 }, { 2, 3, 7.3e5, 0.0031 }, { 3, 4, 5.9e5, -0.0011 }, { 4, 3, 8.3e5, 0.0019 } };
    (void)state;
    memcpy(m.tie, tie, sizeof tie);
    m.net.ties = 7;
    assert_int_equal(made_solve(&m), NET_OK);
    for (size_t t = 0; t < 7; t++)
        assert_true((m.net.redundancy[t] == 0) == (t == 0 || t == 4));
    assert_true(m.net.spread[0] == 1 / 3.7e5 && m.net.spread[4] == 1 / 7.3e5);
    assert_near(m.net.correction[0], 0.0013, 1e-17);
    assert_near(m.net.correction[3] - m.net.correction[2], 0.0031, 1e-17);
    /* twice over the same: weights add up, both ways of booking it */
    assert_near(m.net.spread[5], 1 / (5.9e5 + 8.3e5), 1e-20);
    assert_true(m.net.spread[5] == m.net.spread[6]);
    assert_near(m.net.redundancy[5], 8.3e5 / (5.9e5 + 8.3e5), 1e-15);
    assert_near(m.net.correction[4] - m.net.correction[3], (5.9e5 * -0.0011 - 8.3e5 * 0.0019) / (5.9e5 + 8.3e5), 1e-17);
    made_free(&m);
}

static void
ties_to_the_ground_alone_give_weighted_means(void **state)
{
    struct made m = made_new(3, 5, 0);
    static const struct net_tie tie[] = { { NET_GROUND, 2, 2.3e5, 0.0014 }, { 1, NET_GROUND, 6.1e5, 0.0023 }, { 2, NET_GROUND, 3.1e5, 0.0007 },
        { NET_GROUND, 0, 1.9e5, -0.0044 }, { NET_GROUND, 2, 4.7e5, 0.0029 } };
    double all = 2.3e5 + 3.1e5 + 4.7e5;
    (void)state;
    memcpy(m.tie, tie, sizeof tie);
    m.net.ties = 5;
    assert_int_equal(made_solve(&m), NET_OK);
    assert_near(m.net.correction[2], (2.3e5 * 0.0014 - 3.1e5 * 0.0007 + 4.7e5 * 0.0029) / all, 1e-17);
    assert_near(m.net.variance[2], 1 / all, 1e-21);
    assert_near(m.net.correction[1], -0.0023, 1e-17);
    assert_near(m.net.correction[0], -0.0044, 1e-17);
    assert_true(m.net.redundancy[1] == 0 && m.net.redundancy[3] == 0);
    assert_near(m.net.redundancy[4], 1 - 4.7e5 / all, 1e-15);
    net_covariance(&m.net, 2, m.covariance);
    assert_true(m.covariance[0] == 0 && m.covariance[1] == 0);
    net_covariance(&m.net, NET_GROUND, m.covariance);
    assert_true(m.covariance[0] == 0 && m.covariance[1] == 0 && m.covariance[2] == 0);
    made_free(&m);
}

/* ---- refusals, each with nothing given out ---- */

#define UNTOUCHED 77.25

static void
set_untouched(struct net *net)
{
    for (size_t i = 0; i < net->nodes; i++)
        net->correction[i] = net->variance[i] = UNTOUCHED;
    for (size_t t = 0; t < net->ties; t++)
        net->spread[t] = net->redundancy[t] = UNTOUCHED;
}

static void
assert_untouched(const struct net *net)
{
    for (size_t i = 0; i < net->nodes; i++)
        assert_true(net->correction[i] == UNTOUCHED && net->variance[i] == UNTOUCHED);
    for (size_t t = 0; t < net->ties; t++)
        assert_true(net->spread[t] == UNTOUCHED && net->redundancy[t] == UNTOUCHED);
}

static void
assert_refused(struct net_tie faulty)
{
    struct made m = made_any(30, 8, 20, 0, 44);
    m.tie[17] = faulty;
    set_untouched(&m.net);
    assert_int_equal(made_solve(&m), NET_ETIE);
    assert_int_equal(m.net.bad, 17);
    assert_untouched(&m.net);
    made_free(&m);
}

static void
refuses_ties_that_are_none(void **state)
{
    (void)state;
    assert_refused((struct net_tie){ 3, 9, 0, 0.001 });
    assert_refused((struct net_tie){ 3, 9, -0.0, 0.001 });
    assert_refused((struct net_tie){ 3, 9, -4.1e5, 0.001 });
    assert_refused((struct net_tie){ 3, 9, NAN, 0.001 });
    assert_refused((struct net_tie){ 3, 9, INFINITY, 0.001 });
    assert_refused((struct net_tie){ 3, 9, 1e-101, 0.001 });
    assert_refused((struct net_tie){ 3, 9, 1e101, 0.001 });
    assert_refused((struct net_tie){ 3, 9, 4.1e5, NAN });
    assert_refused((struct net_tie){ 3, 9, 4.1e5, -INFINITY });
    assert_refused((struct net_tie){ 3, 9, 4.1e5, 1e101 });
    assert_refused((struct net_tie){ 3, 9, 4.1e5, -1e101 });
    assert_refused((struct net_tie){ 3, 9, -INFINITY, 0.001 });
    assert_refused((struct net_tie){ NET_GROUND - 1, 9, 4.1e5, 0.001 });
    assert_refused((struct net_tie){ 9, 9, 4.1e5, 0.001 });
    assert_refused((struct net_tie){ NET_GROUND, NET_GROUND, 4.1e5, 0.001 });
    assert_refused((struct net_tie){ 30, 9, 4.1e5, 0.001 });
    assert_refused((struct net_tie){ 9, 30, 4.1e5, 0.001 });
}

/* A node of the part without ground, tied to others there or to nothing. */
static void
names_a_node_without_ground(void **state)
{
    struct made m = made_any(40, 8, 20, 0, 45);
    (void)state;
    for (size_t t = 0; t < m.net.ties; t++) {
        struct net_tie *tie = &m.tie[t];
        uint32_t from = tie->from < 40 ? tie->from % 30 : tie->from, to = tie->to < 40 ? tie->to % 30 : tie->to;
        bool inside = tie->from >= 30 && tie->from < 40 && tie->to >= 30 && tie->to < 40;
        if (!inside && from != to) {
            tie->from = from;
            tie->to = to;
        }
    }
    for (uint32_t i = 31; i < 40; i++)
        m.tie[i] = (struct net_tie){ i, i - 1, 2.2e5, 0.0004 };
    set_untouched(&m.net);
    assert_int_equal(made_solve(&m), NET_EGROUND);
    assert_in_range(m.net.bad, 30, 39);
    assert_untouched(&m.net);
    made_free(&m);
    m = made_new(1, 1, 0);
    set_untouched(&m.net);
    assert_int_equal(made_solve(&m), NET_EGROUND);
    assert_int_equal(m.net.bad, 0);
    assert_untouched(&m.net);
    made_free(&m);
}

static void
solves_a_net_without_nodes(void **state)
{
    struct made m = made_new(0, 1, 0);
    (void)state;
    assert_int_equal(made_solve(&m), NET_OK);
    free(m.room);
    m.tie[m.net.ties++] = (struct net_tie){ NET_GROUND, 0, 1e5, 0.002 };
    assert_int_equal(made_solve(&m), NET_ETIE);
    made_free(&m);
    m.net = (struct net){ 0 };
    m.bytes = net_room(0, 0, 1);
    m.room = malloc(m.bytes);
    assert_int_equal(net_solve(&m.net, m.room, m.bytes), NET_OK);
    net_covariance(&m.net, NET_GROUND, NULL);
    free(m.room);
}

/* Less than enough by an eighth of a kilobyte, down to nothing; and what is said to be enough is. */
static void
asks_for_room(void **state)
{
    struct made all[] = { made_line(100, 0, 51), made_grid(30, 0, 52), made_any(120, 120, 4000, 0, 53) };
    (void)state;
    for (size_t i = 0; i < 3; i++) {
        struct net *net = &all[i].net;
        size_t bytes = net_room(net->nodes, net->ties, 0);
        all[i].room = malloc(bytes);
        set_untouched(net);
        enum net_status status = net_solve(net, all[i].room, bytes - 1);
        assert_int_equal(status, NET_EROOM);
        assert_true(net->needs >= bytes);
        assert_int_equal(net_solve(net, all[i].room, 0), NET_EROOM);
        assert_untouched(net);
        status = net_solve(net, all[i].room, bytes);
        assert_true(i == 0 ? status == NET_OK : status == NET_EROOM);
        if (i == 0)
            continue;
        assert_untouched(net);
        size_t needs = net->needs;
        all[i].room = realloc(all[i].room, needs);
        assert_int_equal(net_solve(net, all[i].room, needs - 128), NET_EROOM);
        assert_untouched(net);
        assert_int_equal(net->needs, needs);
        assert_int_equal(net_solve(net, all[i].room, needs), NET_OK);
    }
    for (size_t i = 0; i < 3; i++)
        made_free(&all[i]);
}

/* For those who do not look at `needs`: twice as much, and so on. */
static void
room_that_is_doubled_is_enough(void **state)
{
    struct made m = made_any(150, 150, 5000, 0, 54);
    enum net_status status = NET_EROOM;
    (void)state;
    for (size_t fill = 1; status == NET_EROOM && fill < 64; fill *= 2) {
        size_t bytes = net_room(m.net.nodes, m.net.ties, fill);
        free(m.room);
        m.room = malloc(bytes);
        status = net_solve(&m.net, m.room, bytes);
    }
    assert_int_equal(status, NET_OK);
    made_free(&m);
}

/* Counts of 32 bits, and bytes of a size_t. */
static void
room_that_nobody_has_is_said_to_be_so(void **state)
{
    static const size_t most = (size_t)1 << 30;
    struct made m = made_line(3, 0, 55);
    (void)state;
    assert_true(net_room(most, 1, 0) == SIZE_MAX && net_room(1, most, 0) == SIZE_MAX);
    assert_true(net_room(NET_GROUND, 1, 1) == SIZE_MAX && net_room(SIZE_MAX, SIZE_MAX, SIZE_MAX) == SIZE_MAX);
    assert_true(net_room(most - 1, most - 1, SIZE_MAX) == SIZE_MAX && net_room(1, 1, SIZE_MAX / 64) == SIZE_MAX);
    assert_true(net_room(1, 1, SIZE_MAX / 256) < SIZE_MAX && net_room(0, 0, SIZE_MAX) < 1000);
    if (SIZE_MAX > UINT32_MAX)
        assert_in_range(net_room(most - 1, most - 1, 0), 256 * (most - 1), 512 * (most - 1));
    set_untouched(&m.net);
    m.net.nodes = most;
    assert_int_equal(net_solve(&m.net, NULL, SIZE_MAX - 1), NET_EROOM);
    assert_true(m.net.needs == SIZE_MAX);
    m.net.nodes = 3;
    assert_untouched(&m.net);
    made_free(&m);
}

/* ---- far from the ground, and far from each other ---- */

/* A line out and back: sums as a field book has them, and nothing is lost a hundred thousand points from the benchmark. */
static void
keeps_its_digits_far_from_the_ground(void **state)
{
    enum { POINTS = 100000 };
    struct made m = made_line(POINTS, 0, 61);
    double all = 0, to = 0, misclosure = 0, carried = 0;
    (void)state;
    assert_int_equal(made_solve(&m), NET_OK);
    for (size_t t = 0; t < m.net.ties; t++) {
        all += 1 / m.tie[t].weight;
        misclosure += m.tie[t].short_by;
    }
    for (uint32_t i = 0; i < POINTS; i++) {
        double own = 1 / m.tie[i].weight;
        to += own;
        assert_near(m.net.variance[i], to * (1 - to / all), 1e-11 * to);
        assert_near(m.net.spread[i], own * (1 - own / all), 1e-15 * own);
        assert_near(m.net.redundancy[i], own / all, 1e-15);
        carried += m.tie[i].short_by; /* exactly */
        assert_near(m.net.correction[i], carried - to / all * misclosure, 1e-12);
    }
    assert_near(total(m.net.redundancy, m.net.ties), 1, 1e-10);
    made_free(&m);
}

/* Pulls of heavy ties that balance each other do not round away those of light ones: x is a weighted mean either way. */
static void
light_ties_are_heard_beside_heavy_ones(void **state)
{
    struct made m = made_new(3, 5, 0);
    static const struct net_tie tie[] = { { 0, 1, 1e12, 0.0017 }, { 1, 2, 1e12, -0.0023 }, { 2, 0, 1e12, 0.0011 },
        { NET_GROUND, 0, 3e-6, 0.0029 }, { NET_GROUND, 2, 5e-6, -0.0041 } };
    double miss = (0.0017 - 0.0023 + 0.0011) / 3, from_0_to_2 = -(0.0011 - miss);
    double x0 = (3e-6 * 0.0029 + 5e-6 * (-0.0041 - from_0_to_2)) / 8e-6;
    (void)state;
    memcpy(m.tie, tie, sizeof tie);
    m.net.ties = 5;
    assert_int_equal(made_solve(&m), NET_OK);
    assert_near(m.net.correction[0], x0, 1e-17);
    assert_near(m.net.correction[2], x0 + from_0_to_2, 1e-17);
    assert_near(m.net.variance[0], 1 / 8e-6, 1e-10); /* the heavy ones add some 1e-12 */
    made_free(&m);
}

/* Lines of the lightest and the heaviest there may be, by turns and alone, short by as much as may be. */
static void
weights_at_the_ends_of_their_range_are_good(void **state)
{
    enum { POINTS = 40 };
    static const double weight[3][2] = { { 1e-100, 1e100 }, { 1e-100, 1e-100 }, { 1e100, 1e100 } };
    (void)state;
    for (int k = 0; k < 3; k++) {
        struct made m = made_line(POINTS, 0, 62);
        double all = 0, to = 0;
        for (size_t t = 0; t < m.net.ties; t++) {
            m.tie[t].weight = weight[k][t % 3 > 0];
            m.tie[t].short_by = 1e100;
            all += 1 / m.tie[t].weight;
        }
        assert_int_equal(made_solve(&m), NET_OK);
        for (uint32_t i = 0; i < POINTS; i++) {
            to += 1 / m.tie[i].weight;
            assert_near(m.net.variance[i], to * (1 - to / all), 1e-14 * to);
            if (k > 0) /* by turns, 1e200 apart, corrections are not good */
                assert_near(m.net.correction[i], 1e100 * ((i + 1) - to / all * (POINTS + 1)), 1e-14 * 1e100 * POINTS);
        }
        made_free(&m);
    }
}

/* As of one tie with all their weight, booked either way; and a third node that only hangs on. */
static void
many_parallel_ties_are_one(void **state)
{
    enum { TIES = 40000 };
    struct made m = made_new(3, TIES + 2, 64);
    double weight = 0, pull = 0;
    (void)state;
    for (size_t t = 0; t < TIES; t++) {
        made_tie(&m, t % 2 ? 1 : 0, t % 2 ? 0 : 1, 2);
        weight += m.tie[t].weight;
        pull += (t % 2 ? -1 : 1) * m.tie[t].weight * m.tie[t].short_by; /* exactly */
    }
    made_tie(&m, NET_GROUND, 0, 0);
    made_tie(&m, 2, 1, 0);
    assert_int_equal(made_solve(&m), NET_OK);
    double first = 1 / m.tie[TIES].weight, last = 1 / m.tie[TIES + 1].weight;
    assert_near(m.net.correction[1] - m.net.correction[0], pull / weight, 1e-16);
    assert_near(m.net.variance[1], first + 1 / weight, 1e-15 * first);
    assert_near(m.net.variance[2], first + 1 / weight + last, 1e-15 * (first + last));
    for (size_t t = 0; t < TIES; t++) {
        assert_near(m.net.spread[t], 1 / weight, 1e-15 / weight);
        assert_near(m.net.redundancy[t], 1 - m.tie[t].weight / weight, 1e-15);
    }
    assert_true(m.net.redundancy[TIES] == 0 && m.net.redundancy[TIES + 1] == 0);
    made_free(&m);
}

/*
 * Corrections that want more than two turns: a grid of heavy ties that agree
 * with each other, and light ones to the ground, 1e24 times as light, that
 * say where it is: by their mean.
 */
static void
corrections_settle_where_weights_are_far_apart(void **state)
{
    enum { SIDE = 12, NODES = SIDE * SIDE };
    struct made m = made_grid(SIDE, 0, 65);
    double height[NODES], pull = 0, weight = 0;
    (void)state;
    for (uint32_t i = 0; i < NODES; i++)
        height[i] = made_draw(&m, 1000) / 65536.0;
    for (size_t t = 1; t < m.net.ties; t++) {
        m.tie[t].weight *= 1e9;
        m.tie[t].short_by = height[m.tie[t].to] - height[m.tie[t].from];
    }
    m.tie[0] = m.tie[--m.net.ties];
    for (uint32_t i = 0; i < 8; i++) {
        struct net_tie light = { NET_GROUND, 17 * i, 1e-12 * (1 + i), 0.0013 * i - 0.006 };
        m.tie[m.net.ties++] = light;
        pull += light.weight * (light.short_by - height[17 * i]);
        weight += light.weight;
    }
    assert_int_equal(made_solve(&m), NET_OK);
    for (uint32_t i = 0; i < NODES; i++)
        assert_near(m.net.correction[i], height[i] + pull / weight, 1e-10);
    made_free(&m);
}

static void
gives_the_same_bits_everywhere(void **state)
{
    (void)state;
    assert_true(made_hash_all() == MADE_HASH); /* tests/level/bits tries other compilers */
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gives_what_exact_arithmetic_gives),
        cmocka_unit_test(gives_what_a_dense_inverse_gives),
        cmocka_unit_test(gives_what_a_dense_inverse_gives_for_hubs_and_wide_fronts),
        cmocka_unit_test(gives_what_a_dense_inverse_gives_for_points_of_many_spurs),
        cmocka_unit_test(gives_the_same_however_nodes_are_numbered),
        cmocka_unit_test(gives_covariances),
        cmocka_unit_test(adjusts_four_points_with_redundancy_numbers),
        cmocka_unit_test(adjusts_a_free_net_by_one_point_held),
        cmocka_unit_test(adjusts_two_points_between_three_bench_marks),
        cmocka_unit_test(adjusts_seven_lines_between_two_bench_marks),
        cmocka_unit_test(adjusts_five_points_and_eight_lines),
        cmocka_unit_test(gives_bridges_no_redundancy),
        cmocka_unit_test(ties_to_the_ground_alone_give_weighted_means),
        cmocka_unit_test(refuses_ties_that_are_none),
        cmocka_unit_test(names_a_node_without_ground),
        cmocka_unit_test(solves_a_net_without_nodes),
        cmocka_unit_test(asks_for_room),
        cmocka_unit_test(room_that_is_doubled_is_enough),
        cmocka_unit_test(room_that_nobody_has_is_said_to_be_so),
        cmocka_unit_test(keeps_its_digits_far_from_the_ground),
        cmocka_unit_test(light_ties_are_heard_beside_heavy_ones),
        cmocka_unit_test(weights_at_the_ends_of_their_range_are_good),
        cmocka_unit_test(corrections_settle_where_weights_are_far_apart),
        cmocka_unit_test(many_parallel_ties_are_one),
        cmocka_unit_test(gives_the_same_bits_everywhere),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
