/* Volumes of holes, and what is ordered for them. */
#include "near.h"

#include "rodbook/concrete.h"

#include <string.h>

#define IN LENGTH_IN
#define PI 3.14159265358979323846

static struct site_volumes
fill(struct site_hole h, struct site_post p, struct site_fill f)
{
    struct site_volumes v;
    assert_int_equal(site_concrete_fill(&h, &p, &f, &v), SITE_CONCRETE_OK);
    return v;
}

/* gardenguides.com: a hole 6 in across and 36 in deep is 1017.36 in3 with 3.14 for pi, 0.59 ft3. Pi itself: 0.5890, computed
 * by us. */
static void
the_printed_hole(void **state)
{
    struct site_volumes v = fill((struct site_hole){ .depth = 36 * IN, .diameter = 6 * IN }, (struct site_post){ 0 },
        (struct site_fill){ 0, 36 * IN, 0 });
    (void)state;
    assert_near(v.concrete / SITE_FT3, 0.59, 0.005);
    assert_near(v.concrete / SITE_IN3 / PI * 3.14, 1017.36, 0.005);
    assert_near(v.concrete, v.hole, 0);
}

/* Own arithmetic, no publication: 12 in x 36 in less a post of 3-1/2 in is 2.1010 ft3; 10 % more is 2.3111, 3.85 bags of
 * 0.60 ft3 and 5.14 of 0.45. Bags of 0.60 and 0.45 ft3 make 45 and 60 to the yard, both of 133.3 lb/ft3. */
static void
a_post_in_it(void **state)
{
    struct site_volumes v = fill((struct site_hole){ .depth = 36 * IN, .diameter = 12 * IN },
        (struct site_post){ 7 * IN / 2, 7 * IN / 2, false }, (struct site_fill){ 0, 36 * IN, 0 });
    (void)state;
    assert_near(v.hole / SITE_FT3, 2.3562, 0.00005);
    assert_near(v.post / SITE_FT3, 0.2552, 0.00005);
    assert_near(v.concrete / SITE_FT3, 2.1010, 0.00005);
    assert_near(1.1 * v.concrete / SITE_FT3, 2.3111, 0.00005);
    assert_near(1.1 * v.concrete / SITE_FT3 / 0.60, 3.85, 0.005);
    assert_near(1.1 * v.concrete / SITE_FT3 / 0.45, 5.14, 0.005);
    assert_near(site_concrete_count(1.1 * v.concrete, 0.60 * SITE_FT3), 4, 0);
    assert_near(site_concrete_count(1.1 * v.concrete, 0.45 * SITE_FT3), 6, 0);
    assert_near(site_concrete_count(SITE_YD3, 0.60 * SITE_FT3), 45, 0);
    assert_near(site_concrete_count(SITE_YD3, 0.45 * SITE_FT3), 60, 0);
}

/* Own arithmetic: 4 in and the diagonal of dressed posts. */
static void
wider_than_the_post(void **state)
{
    static const struct {
        length along, across;
        double least;
    } posts[] = { { 7 * IN / 2, 7 * IN / 2, 8.95 }, { 7 * IN / 2, 11 * IN / 2, 10.52 }, { 11 * IN / 2, 11 * IN / 2, 11.78 } };
    (void)state;
    for (size_t i = 0; i < 3; i++)
        assert_near((double)site_concrete_least(&(struct site_post){ posts[i].along, posts[i].across, false }) / (double)IN,
            posts[i].least, 0.005);
    assert_same(site_concrete_least(&(struct site_post){ 5 * IN, 5 * IN, true }), 9 * IN);
}

/* A bell is summed here from thin slices, which knows no formula of a frustum. */
static void
bell_and_collar(void **state)
{
    const struct site_hole h = { 40 * IN, 12 * IN, 20 * IN, 10 * IN, 24 * IN, 6 * IN };
    const struct site_post none = { 0 };
    const int slices = 100000;
    double sum = 0;
    (void)state;
    for (int i = 0; i < slices; i++) {
        double z = (i + 0.5) / slices * 40, d = z < 10 ? 20 - 8 * z / 10 : z < 34 ? 12 : 24;
        sum += PI * d * d / 4 * 40 / slices;
    }
    struct site_volumes v = fill(h, none, (struct site_fill){ 0, 40 * IN, 0 });
    assert_near(v.hole / SITE_IN3, sum, 0.001);
    /* in pieces: to half the bell, up to the shaft's middle, into the collar, to the top */
    static const length at[] = { 0, 5 * IN, 21 * IN, 36 * IN, 40 * IN };
    double pieces = 0;
    for (size_t i = 0; i + 1 < 5; i++)
        pieces += fill(h, none, (struct site_fill){ at[i], at[i + 1], 0 }).concrete;
    assert_near(pieces, v.hole, 1e-15);
    v = fill(h, none, (struct site_fill){ 0, 5 * IN, 0 });
    assert_near(v.concrete / SITE_IN3, PI * 5 * (400 + 20 * 16 + 256) / 12, 1e-9); /* 20 in to 16 in */
}

/* The post takes nothing off below its foot, nor where concrete ends below it. */
static void
a_foot_on_a_footing(void **state)
{
    const struct site_hole h = { .depth = 42 * IN, .diameter = 16 * IN };
    const struct site_post p = { 11 * IN / 2, 7 * IN / 2, false };
    (void)state;
    assert_near(fill(h, p, (struct site_fill){ 0, 38 * IN, 6 * IN }).post / SITE_IN3, 5.5 * 3.5 * 32, 1e-9);
    assert_near(fill(h, p, (struct site_fill){ 6 * IN, 38 * IN, 6 * IN }).concrete / SITE_IN3, PI * 64 * 32 - 5.5 * 3.5 * 32, 1e-9);
    assert_near(fill(h, p, (struct site_fill){ 0, 5 * IN, 6 * IN }).post, 0, 0);
    assert_near(fill(h, (struct site_post){ 4 * IN, 4 * IN, true }, (struct site_fill){ 0, 42 * IN, 0 }).post / SITE_IN3, PI * 4 * 42, 1e-9);
}

static void
what_does_not_fit(void **state)
{
    struct site_volumes v = { 1, 2, 3 };
    static const struct {
        struct site_hole h;
        struct site_post p;
        struct site_fill f;
        enum site_concrete_status want;
    } bad[] = {
        { { 0, 12, 0, 0, 0, 0 }, { 0 }, { 0 }, SITE_CONCRETE_ESHAPE },
        { { 9, 0, 0, 0, 0, 0 }, { 0 }, { 0 }, SITE_CONCRETE_ESHAPE },
        { { 40, 12, 11, 5, 0, 0 }, { 0 }, { 0, 40, 0 }, SITE_CONCRETE_EBELL },
        { { 40, 12, 20, 30, 20, 11 }, { 0 }, { 0, 40, 0 }, SITE_CONCRETE_EBELL },
        { { 40, 12, 0, 0, 11, 5 }, { 0 }, { 0, 40, 0 }, SITE_CONCRETE_ECOLLAR },
        { { 40, 12, 0, 0, 0, 0 }, { 0 }, { 0, 41, 0 }, SITE_CONCRETE_EFILL },
        { { 40, 12, 0, 0, 0, 0 }, { 0 }, { 5, 4, 0 }, SITE_CONCRETE_EFILL },
        { { 40, 12, 0, 0, 0, 0 }, { 0 }, { -1, 4, 0 }, SITE_CONCRETE_EFILL },
        { { 40, 12, 0, 0, 0, 0 }, { 9, 9, false }, { 0, 40, 0 }, SITE_CONCRETE_EPOST }, /* by its diagonal */
        { { 40, 12, 0, 0, 0, 0 }, { 12, 12, true }, { 0, 40, 0 }, SITE_CONCRETE_EPOST },
    };
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        if (site_concrete_fill(&bad[i].h, &bad[i].p, &bad[i].f, &v) != bad[i].want)
            fail_msg("case %zu", i);
    assert_true(v.hole == 1 && v.post == 2 && v.concrete == 3);
}

/* Four bags' worth is four bags, whatever the last bit says; a little more is five. */
static void
counts(void **state)
{
    (void)state;
    assert_near(site_concrete_count(0, 0.7), 0, 0);
    assert_near(site_concrete_count(0.1 * 3, 0.1), 3, 0); /* 3.0000000000000004 */
    assert_near(site_concrete_count(4 * 0.017 * (1 + 1e-12), 0.017), 4, 0);
    assert_near(site_concrete_count(4.001, 1), 5, 0);
    assert_near(site_concrete_count(1e-6, 1), 1, 0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_printed_hole),
        cmocka_unit_test(a_post_in_it),
        cmocka_unit_test(wider_than_the_post),
        cmocka_unit_test(bell_and_collar),
        cmocka_unit_test(a_foot_on_a_footing),
        cmocka_unit_test(what_does_not_fit),
        cmocka_unit_test(counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
