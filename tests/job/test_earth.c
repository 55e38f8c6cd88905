/* Deviations of the pad's volumes against all covariances and against differences, and a pad by the footprint of its building. */
#include "near.h"

#include "rodbook/earth.h"

#include <stdlib.h>
#include <string.h>

struct made {
    struct record r;
    struct job job;
    struct earth e;
    struct diag d;
};

static void
read_record(struct made *m, const char *text)
{
    struct source source = source_of_bytes(text, strlen(text));
    *m = (struct made){ .d = { 0 } };
    assert_int_equal(record_read(&m->r, &source, &m->d), 0);
    for (size_t i = 0; i < m->d.n; i++)
        print_message("%s\n", m->d.item[i].text);
    assert_int_equal(m->d.errors, 0);
}

static void
work(struct made *m)
{
    assert_int_equal(job_work(&m->job, &m->r, &(struct job_options){ 0 }, &m->d), 0);
    assert_int_equal(m->d.errors, 0);
    assert_int_equal(earth_work(&m->e, &m->job, &m->d), 0);
    assert_int_equal(m->d.errors, 0);
}

static void
made_release(struct made *m)
{
    earth_release(&m->e);
    job_release(&m->job);
    record_release(&m->r);
    diag_release(&m->d);
}

/* Two set-ups, a benchmark of its own deviation, a spot read twice, a grade through two of what was read. */
#define FIELD                                                                                                          \
    "---\njob: Lamb field\nunit: m\nleast: 0.001\nsigma: 1 mm\n---\nmarks: {A: {elevation: 10}, B: {elevation: 10.31, sigma: 2 mm}}\n" \
    "---\npoints:\n  p: {x: 0, y: 0}\n  q: {x: 7, y: 0.5}\n  r: {x: 6.5, y: 6}\n  s: {x: 1, y: 5}\n  t: {x: 3, y: 2.5}\n  H: {x: 2, y: 9}\n" \
    "---\nlevels:\n  readings:\n    - {at: A, bs: 1.500}\n    - {at: p, on: ground, is: 1.112}\n    - {at: q, on: ground, is: 1.240}\n"  \
    "    - {at: H, is: 1.350}\n    - {at: T, fs: 1.300, bs: 1.450}\n    - {at: q, on: ground, is: 1.391}\n"                 \
    "    - {at: r, on: ground, is: 1.520}\n    - {at: s, on: ground, is: 1.310}\n    - {at: t, on: ground, is: 1.405}\n"      \
    "    - {at: B, fs: 1.339}\n"
#define GRADE "---\ngrade: {name: g, means: subgrade, through: {at: H, plus: 0.05}, slope: {fall: 1 in 50, towards: width}}\n---\npad: {grade: g}\n"

/* Heights are moved by a little at one spot, ground and grade alike, and the volume is worked out anew: its gradient. */
static struct site_volume
volume_with(const struct earth *e, const double *more)
{
    size_t n = 0, triangles;
    struct site_place at[8];
    double above[8];
    uint32_t same[8];
    struct site_triangle triangle[16];
    struct site_volume v;
    void *room = malloc(site_volume_room(8));
    for (size_t i = 0; i < e->spots; i++, n++) {
        at[n] = e->spot[i].place;
        above[n] = (double)(e->spot[i].ground - e->spot[i].grade) / 1e9 + more[i];
    }
    assert_int_equal(site_volume_triangulate(at, n, room, triangle, &triangles, same), SITE_VOLUME_OK);
    site_volume_over(at, n, above, triangle, triangles, NULL, &v, NULL, NULL);
    free(room);
    return v;
}

/* c' Z c with the gradient by differences over every elevation that is in it, and all of Z, column by column. */
static void
deviations_of_volumes(void **state)
{
    struct made m;
    struct adjust a;
    (void)state;
    read_record(&m, FIELD GRADE);
    work(&m);
    assert_true(m.e.known && m.e.spots == 5 && m.e.triangles == 4);
    assert_true(m.e.v.cut > 0.01 && m.e.v.fill > 0.01);
    assert_int_equal(adjust_open(&a, &m.job, &m.d), 0);
    size_t n = a.net.nodes;
    double *c = calloc(3 * n, sizeof *c), *z = calloc(2 * n, sizeof *z), sum[3] = { 0, 0, 0 };
    const double by = 1e-6;
    for (uint32_t node = 0; node < n; node++) {
        double up[8] = { 0 }, down[8];
        for (size_t i = 0; i < 5; i++) {
            up[i] += a.spot_node[m.e.spot[i].spot] == node ? by : 0;
            up[i] -= a.spot_node[m.e.grade.spot[0]] == node ? by : 0;
            down[i] = -up[i];
        }
        struct site_volume high = volume_with(&m.e, up), low = volume_with(&m.e, down);
        c[node] = (high.cut - low.cut) / (2 * by);
        c[n + node] = (high.fill - low.fill) / (2 * by);
        c[2 * n + node] = (high.net - low.net) / (2 * by);
    }
    for (uint32_t node = 0; node < n; node++) {
        net_covariance(&a.net, node, z);
        for (size_t k = 0; k < 3; k++)
            for (size_t i = 0; i < n; i++)
                sum[k] += c[k * n + node] * c[k * n + i] * z[i];
    }
    assert_near(m.e.sigma_cut, sqrt(sum[0]), 1e-6 * sqrt(sum[0]));
    assert_near(m.e.sigma_fill, sqrt(sum[1]), 1e-6 * sqrt(sum[1]));
    assert_near(m.e.sigma_net, sqrt(sum[2]), 1e-6 * sqrt(sum[2]));
    /* ground less grade, one spot after the other */
    double *difference = calloc(m.job.spots, sizeof *difference);
    assert_int_equal(adjust_difference(&a, m.e.grade.spot[0], difference), 0);
    for (size_t i = 0; i < 5; i++)
        assert_near(m.e.spot[i].sigma, difference[m.e.spot[i].spot], 1e-12);
    free(difference);
    free(c);
    free(z);
    adjust_release(&a);
    made_release(&m);
}

/* Everything hangs on one set-up: what it is off by moves ground and grade alike, and a grade by its level feels it. */
static void
a_grade_through_what_was_read_is_surer(void **state)
{
    struct made level, through;
    (void)state;
    read_record(&level, FIELD "---\npad: {level: 10.1}\n");
    work(&level);
    read_record(&through, FIELD "---\ngrade: {name: g, means: subgrade, through: {at: t, on: ground}}\n---\npad: {grade: g}\n");
    work(&through);
    assert_near(through.e.spot[4].sigma, 0, 0); /* t against itself */
    assert_true(level.e.spot[4].sigma > 0.0005);
    assert_true(level.e.sigma_net > 0 && through.e.sigma_net > 0);
    made_release(&level);
    made_release(&through);
}

/* No deviation of a section: volumes all the same, and none is made up. */
static void
without_standard_deviations(void **state)
{
    struct made m;
    (void)state;
    read_record(&m, "---\njob: j\nunit: m\nleast: 0.001\nspread: distance\n---\nmarks: {A: {elevation: 10}}\n"
        "---\nsections:\n  rows:\n    - {from: A, to: p, rise: 0.2, dist: 90}\n    - {from: p, to: q, rise: -0.2, dist: 80}\n"
        "    - {from: q, to: s, rise: 0.1, dist: 80}\n"
        "---\npoints:\n  p: {x: 0, y: 0, kind: ground}\n  q: {x: 7, y: 0.5, kind: ground}\n  s: {x: 1, y: 5, kind: ground}\n---\npad: {level: 10}\n");
    work(&m);
    assert_true(m.e.known);
    assert_true(m.e.sigma_net < 0 && m.e.sigma_cut < 0 && m.e.spot[0].sigma < 0);
    made_release(&m);
}

/* The building's footprint and a margin around it. */
static void
around_the_building(void **state)
{
    struct made m;
    (void)state;
    read_record(&m, FIELD "---\npad: {level: 10.1, length: 9, width: 9, margin: 0.5, stone: 10 cm}\n");
    struct record_site site = { .along = 3 * LENGTH_M, .across = 2 * LENGTH_M };
    m.r.site = malloc(sizeof site);
    *m.r.site = site;
    m.r.sites = 1;
    m.r.pad[0].by_site = true;
    m.r.pad[0].along = m.r.pad[0].across = 0;
    work(&m);
    assert_near(m.e.area, 12, 1e-12);
    assert_near(m.e.stone, 1.2, 1e-12);
    assert_true(m.e.bounded && m.e.uncovered > 0 && !m.e.good);
    assert_near(m.e.v.area + m.e.uncovered, 12, 1e-12);
    assert_same(m.e.inside.from.x, -LENGTH_M / 2);
    assert_same(m.e.inside.to.y, 5 * LENGTH_M / 2);
    free(m.r.site);
    m.r.site = NULL;
    made_release(&m);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(deviations_of_volumes),
        cmocka_unit_test(a_grade_through_what_was_read_is_surer),
        cmocka_unit_test(without_standard_deviations),
        cmocka_unit_test(around_the_building),
    };
    return cmocka_run_group_tests_name("earth", tests, NULL, NULL);
}
