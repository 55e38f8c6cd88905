/* Holes and marks: depths, what is judged, what the post stands on. */
#include "near.h"

#include "rodbook/dig.h"

#define IN LENGTH_IN
#define FT LENGTH_FT
#define NONE { false, 0 }
#define AT(v) { true, (v) }

static struct site_dig
out_of(struct site_dig_given g)
{
    struct site_dig d;
    assert_int_equal(site_dig_out(&g, &d), SITE_DIG_OK);
    return d;
}

/* Common practice, no source: 42 in deep and grade 4 in above the ground puts the mark at 46 in. */
static void
forty_two_and_four_is_forty_six(void **state)
{
    struct site_dig d = out_of((struct site_dig_given){ .ground = AT(100 * FT), .grade = AT(100 * FT + 4 * IN),
        .hole = AT(100 * FT - 42 * IN), .top = NONE, .from = AT(100 * FT), .depth = 42 * IN, .height = 72 * IN, .post_length = 120 * IN });
    (void)state;
    assert_same(d.below_ground.at, 42 * IN);
    assert_same(d.below_grade.at, 46 * IN);
    assert_same(d.mark.at, 46 * IN);
    assert_same(d.need.at, 118 * IN);
    assert_same(d.cut_off.at, 2 * IN);
    assert_int_equal(d.verdict, SITE_DIG_ENOUGH);
    assert_int_equal(d.foot, SITE_FOOT_HOLE);
    assert_same(d.dig, 0);
    assert_same(d.fill, 0);
}

/* Before anything is dug the mark is as it will be; the footing's thickness is dug too where the depth is to its top. */
static void
planned_to_the_bottom_and_to_the_top(void **state)
{
    struct site_dig_given g = { .ground = AT(7 * FT), .grade = AT(7 * FT + 5 * IN), .hole = NONE, .top = NONE, .from = AT(7 * FT),
        .depth = 36 * IN, .footing = 8 * IN, .height = -1, .post_length = -1 };
    struct site_dig d = out_of(g);
    (void)state;
    assert_same(d.bottom.at, 7 * FT - 36 * IN);
    assert_same(d.mark.at, 33 * IN);
    assert_int_equal(d.foot, SITE_FOOT_PLANNED);
    assert_int_equal(d.verdict, SITE_DIG_NOTHING);
    assert_false(d.below_ground.known || d.over.known || d.need.known || d.cut_off.known);
    g.to_top = true;
    d = out_of(g);
    assert_same(d.bottom.at, 7 * FT - 44 * IN);
    assert_same(d.mark.at, 41 * IN);
}

/* A hole that is surely too shallow gives no mark of its own; one in doubt does, and says so. */
static void
too_shallow_or_in_doubt(void **state)
{
    struct site_dig_given g = { .ground = AT(0), .grade = AT(11 * IN), .hole = AT(-40 * IN), .top = NONE, .from = AT(0), .depth = 42 * IN,
        .footing = 6 * IN, .height = -1, .post_length = 40 * IN };
    struct site_dig d;
    (void)state;
    g.doubt = 2.0 * (double)IN; /* not more than it is off: a limit is no proof */
    d = out_of(g);
    assert_int_equal(d.verdict, SITE_DIG_DOUBT);
    assert_int_equal(d.foot, SITE_FOOT_HOLE);
    assert_same(d.mark.at, 45 * IN);
    assert_same(d.over.at, -2 * IN);
    assert_same(d.dig, 2 * IN);
    g.doubt = 1.99 * (double)IN;
    d = out_of(g);
    assert_int_equal(d.verdict, SITE_DIG_DEEPER);
    assert_int_equal(d.foot, SITE_FOOT_PLANNED);
    assert_same(d.mark.at, 47 * IN);
    g.hole.at = -44 * IN;
    assert_int_equal(out_of(g).verdict, SITE_DIG_ENOUGH);
    assert_same(out_of(g).fill, 2 * IN);
    g.doubt = 2.01 * (double)IN;
    assert_int_equal(out_of(g).verdict, SITE_DIG_DOUBT);
    g.hole.at = -42 * IN;
    assert_int_equal(out_of(g).verdict, SITE_DIG_DOUBT); /* on the depth to the nanometre, and not sure */
    g.doubt = 0;
    assert_int_equal(out_of(g).verdict, SITE_DIG_ENOUGH);
    g.doubt = (double)NAN;
    assert_int_equal(out_of(g).verdict, SITE_DIG_DOUBT);
}

/* The footing's top as read is what the post stands on, and what is judged where the depth is to it. */
static void
a_footing_that_was_read(void **state)
{
    struct site_dig_given g = { .ground = AT(0), .grade = AT(3 * IN), .hole = AT(-50 * IN), .top = AT(-41 * IN), .from = AT(0),
        .depth = 42 * IN, .to_top = true, .footing = 6 * IN, .height = -1, .post_length = -1 };
    struct site_dig d = out_of(g);
    (void)state;
    assert_true(d.by_top);
    assert_same(d.over.at, -1 * IN); /* 9 in thick where 6 were meant: it stands an inch too high */
    assert_int_equal(d.verdict, SITE_DIG_DEEPER);
    g.to_top = false;
    d = out_of(g);
    assert_false(d.by_top);
    assert_same(d.over.at, 8 * IN);
    assert_int_equal(d.foot, SITE_FOOT_TOP);
    assert_same(d.mark.at, 44 * IN);
    g.top = (struct site_dig_level)AT(3 * IN); /* on grade: of the post, and no footing */
    d = out_of(g);
    assert_true(d.top_is_post);
    assert_int_equal(d.foot, SITE_FOOT_HOLE);
    g.grade.known = false; /* then the ground tells them apart */
    assert_true(out_of(g).top_is_post);
    g.top.at = -1;
    assert_false(out_of(g).top_is_post);
}

static void
what_cannot_be_leaves_the_output(void **state)
{
    struct site_dig d = { .mark = AT(77) };
    struct site_dig_given g = { .ground = AT(0), .grade = NONE, .hole = AT(1), .top = NONE, .from = NONE, .depth = -1, .height = -1,
        .post_length = -1 };
    (void)state;
    assert_int_equal(site_dig_out(&g, &d), SITE_DIG_EHOLE);
    g.hole.at = 0;
    assert_int_equal(site_dig_out(&g, &(struct site_dig){ 0 }), SITE_DIG_OK);
    g.hole.at = -5;
    g.top = (struct site_dig_level)AT(-6);
    assert_int_equal(site_dig_out(&g, &d), SITE_DIG_ETOP);
    assert_same(d.mark.at, 77);
}

/* Nothing known, nothing said. */
static void
nothing_known(void **state)
{
    struct site_dig d = out_of((struct site_dig_given){ .depth = 42 * IN, .height = 1, .post_length = 9 });
    (void)state;
    assert_false(d.below_ground.known || d.below_grade.known || d.bottom.known || d.over.known || d.mark.known || d.need.known
        || d.cut_off.known || d.stands_at.known);
    assert_int_equal(d.foot, SITE_FOOT_NOWHERE);
}

static void
the_rod_goes_up_to_a_whole_division(void **state)
{
    (void)state;
    assert_same(site_dig_rod(8 * FT + 1, FT / 100), 8 * FT + FT / 100);
    assert_same(site_dig_rod(8 * FT, FT / 100), 8 * FT);
    assert_same(site_dig_rod(-1, FT / 100), 0);
    assert_same(site_dig_rod(-FT / 100 - 1, FT / 100), -FT / 100);
}

static uint64_t seed = 0x9e3779b97f4a7c15;

static length
any(length least, length most)
{
    seed ^= seed << 13;
    seed ^= seed >> 7;
    seed ^= seed << 17;
    return least + (length)(seed % (uint64_t)(most - least + 1));
}

/* Laws, to the nanometre, over holes of all kinds. */
static void
laws(void **state)
{
    size_t marked = 0, by_top = 0, deeper = 0;
    (void)state;
    for (int i = 0; i < 200000; i++) {
        length ground = any(-90 * FT, 90 * FT), hole = ground - any(0, 6 * FT), depth = any(1, 6 * FT);
        struct site_dig_given g = { .ground = AT(ground), .grade = AT(ground + any(-2 * FT, 2 * FT)), .hole = { any(0, 3) > 0, hole },
            .top = { any(0, 2) == 0, hole + any(0, FT) }, .from = AT(ground), .depth = depth, .to_top = any(0, 1) == 1,
            .footing = any(0, FT), .height = any(0, 9 * FT), .post_length = any(1, 14 * FT), .doubt = (double)any(0, IN) };
        struct site_dig d = out_of(g);
        if (g.hole.known)
            assert_same(d.below_grade.at - d.below_ground.at, g.grade.at - ground);
        if (d.over.known)
            assert_same(d.fill - d.dig, d.over.at);
        assert_true(d.fill == 0 || d.dig == 0);
        assert_same(d.mark.at + d.stands_at.at, g.grade.at);
        assert_same(d.need.at + d.cut_off.at, g.post_length);
        assert_same(d.need.at, d.mark.at + g.height);
        assert_same(ground - d.bottom.at, depth + (g.to_top ? g.footing : 0));
        if (d.foot == SITE_FOOT_HOLE)
            assert_same(d.mark.at + g.footing, d.below_grade.at);
        if (d.verdict == SITE_DIG_DEEPER)
            assert_int_equal(d.foot, SITE_FOOT_PLANNED);
        marked += d.foot == SITE_FOOT_HOLE;
        by_top += d.by_top;
        deeper += d.verdict == SITE_DIG_DEEPER;
    }
    assert_true(marked > 10000 && by_top > 10000 && deeper > 10000);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(forty_two_and_four_is_forty_six),
        cmocka_unit_test(planned_to_the_bottom_and_to_the_top),
        cmocka_unit_test(too_shallow_or_in_doubt),
        cmocka_unit_test(a_footing_that_was_read),
        cmocka_unit_test(what_cannot_be_leaves_the_output),
        cmocka_unit_test(nothing_known),
        cmocka_unit_test(the_rod_goes_up_to_a_whole_division),
        cmocka_unit_test(laws),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
