/* What a grade can be: levels that clear the ground, that posts reach, that water runs off from. */
#include "near.h"

#include "rodbook/choose.h"

#include <math.h>
#include <stdlib.h>

#define FT(v) ((length)((v) * 1000 + ((v) < 0 ? -0.5 : 0.5)) * (LENGTH_FT / 1000)) /* whole thousandths */
#define HUNDREDTH (LENGTH_FT / 100)

static struct site_place
at(double x, double y)
{
    return (struct site_place){ FT(x), FT(y) };
}

static void
levels_are_whole_divisions(void **state)
{
    (void)state;
    assert_same(site_choose_round(FT(101.374), HUNDREDTH, SITE_CHOOSE_UP), FT(101.38));
    assert_same(site_choose_round(FT(101.374), HUNDREDTH, SITE_CHOOSE_DOWN), FT(101.37));
    assert_same(site_choose_round(FT(101.374), HUNDREDTH, SITE_CHOOSE_NEAREST), FT(101.37));
    assert_same(site_choose_round(FT(101.375), HUNDREDTH, SITE_CHOOSE_NEAREST), FT(101.38));
    for (int way = SITE_CHOOSE_DOWN; way <= SITE_CHOOSE_UP; way++)
        assert_same(site_choose_round(FT(101.37), HUNDREDTH, (enum site_choose_way)way), FT(101.37));
    assert_same(site_choose_round(FT(101.37) + 1, HUNDREDTH, SITE_CHOOSE_UP), FT(101.38));
    assert_same(site_choose_round(FT(-3.416), HUNDREDTH, SITE_CHOOSE_UP), FT(-3.41));
    assert_same(site_choose_round(FT(-3.416), HUNDREDTH, SITE_CHOOSE_DOWN), FT(-3.42));
    assert_same(site_choose_round(FT(-3.416), HUNDREDTH, SITE_CHOOSE_NEAREST), FT(-3.42));
    assert_same(site_choose_round(7 * LENGTH_IN + 1, LENGTH_IN / 8, SITE_CHOOSE_UP), 7 * LENGTH_IN + LENGTH_IN / 8);
}

static void
assert_ratio(struct site_ratio got, int64_t rise, int64_t run)
{
    assert_same(got.rise, rise);
    assert_same(got.run, run);
}

static void
slopes_are_one_in_a_whole_number(void **state)
{
    (void)state;
    assert_ratio(site_choose_one_in(0.02, 2400), 1, 50); /* and 1 / n whatever it rounds to: */
    for (int64_t n = 1; n < 2400; n++)
        assert_ratio(site_choose_one_in(-1 / (double)n, 2400), -1, n);
    assert_ratio(site_choose_one_in(0.0199, 2400), 1, 51);  /* 50.25: no steeper than it is */
    assert_ratio(site_choose_one_in(-0.0199, 2400), -1, 51);
    assert_ratio(site_choose_one_in(1 / 2400.5, 2400), 0, 1);
    assert_ratio(site_choose_one_in(1 / 2400.0, 2400), 1, 2400);
    assert_ratio(site_choose_one_in(0, 2400), 0, 1);
    assert_ratio(site_choose_one_in(NAN, 2400), 0, 1);
    assert_ratio(site_choose_one_in(1, 2400), 1, 1);
}

/* 6 in in 10 ft is 5 % is 1 in 20; 1 in 48 is printed as 2 percent. Source: IRC R401.3 (2006 text) and IBC 1803.3; to the
 * rounding of those prints. */
static void
one_in_48_is_two_percent(void **state)
{
    const struct site_ratio percent = { 2, 100 }, in_48 = { 1, 48 }, between = { 205, 10000 }, in_49 = { -1, 49 }, in_47 = { 1, 47 },
                            in_51 = { -1, 51 }, six_in_ten = { 6 * LENGTH_IN, 10 * LENGTH_FT }, five = { 5, 100 }, in_20 = { -1, 20 },
                            nearly = { 4999999, 100000000 };
    const struct site_ratio bounds[3] = { percent, in_48, between };
    (void)state;
    for (int i = 0; i < 3; i++) {
        const struct site_ratio same[4] = { percent, in_48, between, in_49 };
        for (int k = 0; k < 4; k++) {
            assert_false(site_choose_steeper(same[k], bounds[i]));
            assert_false(site_choose_flatter(same[k], bounds[i]));
        }
        assert_true(site_choose_steeper(in_47, bounds[i]));
        assert_true(site_choose_flatter(in_51, bounds[i]));
    }
    assert_false(site_choose_steeper(six_in_ten, in_20) || site_choose_flatter(six_in_ten, in_20));
    assert_false(site_choose_steeper(five, in_20) || site_choose_flatter(five, in_20));
    assert_true(site_choose_flatter(nearly, in_20)); /* nothing else is let pass */
    assert_true(site_choose_steeper(five, nearly));
    assert_true(site_choose_steeper(in_51, (struct site_ratio){ 0, 1 }));
    assert_false(site_choose_steeper((struct site_ratio){ 0, 1 }, (struct site_ratio){ 0, 1 }));
}

static void
slopes_are_held(void **state)
{
    const struct site_ratio percent = { 2, 100 }, odd = { 3, 200 };
    struct site_ratio s = { -1, 31 };
    (void)state;
    assert_true(site_choose_hold(&s, odd));
    assert_ratio(s, -3, 200);
    assert_false(site_choose_hold(&s, odd));
    s = (struct site_ratio){ 1, 31 };
    assert_true(site_choose_hold(&s, percent));
    assert_ratio(s, 2, 100);
    s = (struct site_ratio){ 1, 48 }; /* 2 percent, as codes print it */
    assert_false(site_choose_hold(&s, percent));
    assert_ratio(s, 1, 48);
    assert_true(site_choose_hold(&s, (struct site_ratio){ 0, 1 }));
    assert_ratio(s, 0, 1);
}

/* The highest shot need not decide: one that is less sure may. 100.31 + 2 * 0.03 is above 100.36 + 2 * 0.004. */
static void
the_string_clears_beyond_doubt(void **state)
{
    const struct site_shot shot[4] = { { FT(100.12), 0.004 * 0.3048 }, { FT(100.36), 0.004 * 0.3048 }, { FT(100.31), 0.03 * 0.3048 },
        { FT(99.87), -1 } };
    length level = 77;
    size_t decides = 55;
    (void)state;
    assert_true(site_choose_clear(shot, 4, FT(0.5), 2, HUNDREDTH, &level, &decides));
    assert_same(level, FT(100.87));
    assert_int_equal(decides, 2);
    assert_true(site_choose_clear(shot, 4, FT(0.5), 0, HUNDREDTH, &level, &decides)); /* as they read */
    assert_same(level, FT(100.86));
    assert_int_equal(decides, 1);
    assert_true(site_choose_clear(shot, 2, 0, 1.96, HUNDREDTH, &level, &decides)); /* 100.36784, up */
    assert_same(level, FT(100.37));
    assert_true(site_choose_clear(shot + 3, 1, FT(0.301), 1.96, HUNDREDTH, &level, &decides));
    assert_same(level, FT(100.18));
    /* a law: whatever it is, every interval lies so much below */
    for (int i = 0; i < 200; i++) {
        struct site_shot s[5];
        double factor = 0.013 * i;
        for (int k = 0; k < 5; k++)
            s[k] = (struct site_shot){ -40 * LENGTH_M + (i * 7919 + k * 104729) % 9973 * LENGTH_MM, 0.0007 * ((i + 3 * k) % 11) };
        assert_true(site_choose_clear(s, 5, 150 * LENGTH_MM, factor, 5 * LENGTH_MM, &level, &decides));
        for (int k = 0; k < 5; k++)
            assert_true((double)(level - 150 * LENGTH_MM - s[k].elevation) >= factor * s[k].sigma * 1e9 - 1e-6);
        assert_true((double)(level - 155 * LENGTH_MM - s[decides].elevation) < factor * s[decides].sigma * 1e9 + 1);
        assert_same(level % (5 * LENGTH_MM), 0);
    }
    level = 77;
    assert_false(site_choose_clear(shot, 0, 0, 2, HUNDREDTH, &level, &decides));
    assert_false(site_choose_clear(shot, 4, 0, NAN, HUNDREDTH, &level, &decides));
    assert_false(site_choose_clear(shot, 4, 0, 1e9, HUNDREDTH, &level, &decides));
    assert_same(level, 77);
}

/* By hand: ground 100.62, depth 3.5 and a footing of 0.5 under the foot: the hole is 4.0 deep. With the grade at 101.30 and the top
 * 1.2 above it the post is 101.30 + 1.2 - 97.12 = 5.38 long. From grade: the foot at 97.80, the hole 3.32 deep, the post 4.70. */
static void
a_hole_and_its_post(void **state)
{
    struct site_choose_post p = { .ground = FT(100.62), .foot = FT(3.5), .footing = FT(0.5), .bought = -1, .height = FT(1.2) };
    struct site_choose_dug dug = site_choose_dug(&p, FT(101.30));
    (void)state;
    assert_same(dug.hole, FT(4.0));
    assert_same(dug.post, FT(5.38));
    p.from_grade = true;
    dug = site_choose_dug(&p, FT(101.30));
    assert_same(dug.hole, FT(3.32));
    assert_same(dug.post, FT(4.70));
    assert_true(site_choose_dug(&p, FT(105)).hole < 0); /* the ground is too low for a hole at all */
}

/* Posts of 5 ft: the one on the lowest ground decides, and at that grade it is used whole; a division higher it is too short. */
static void
posts_reach_so_high(void **state)
{
    struct site_choose_post p[4] = { { FT(100.62), 0.001, FT(3.5), false, 0, FT(5), FT(0.25) },
        { FT(100.117), 0.001, FT(3.5), false, FT(0.5), FT(5), FT(0.25) }, { FT(99.5), 0.001, FT(3.5), false, 0, -1, FT(0.25) },
        { FT(100.4), 0.05, FT(3.5), false, 0, FT(5), FT(0.25) } };
    length level = 77;
    size_t decides = 55;
    (void)state;
    assert_int_equal(site_choose_reach(p, 3, 0, HUNDREDTH, &level, &decides), SITE_CHOOSE_REACHES);
    assert_same(level, FT(101.36)); /* 100.117 - 3.5 + 5 - 0.25 = 101.367, down */
    assert_int_equal(decides, 1);
    assert_true(site_choose_dug(&p[1], level).post <= p[1].bought);
    assert_true(site_choose_dug(&p[1], level + HUNDREDTH).post > p[1].bought);
    assert_int_equal(site_choose_reach(p, 4, 2, HUNDREDTH, &level, &decides), SITE_CHOOSE_REACHES);
    assert_int_equal(decides, 3); /* 100.4 less 0.328 of doubt */
    assert_same(level, FT(101.32));
    level = 77;
    assert_int_equal(site_choose_reach(p + 2, 1, 2, HUNDREDTH, &level, &decides), SITE_CHOOSE_ANY); /* no length is stated */
    assert_int_equal(site_choose_reach(p, 0, 2, HUNDREDTH, &level, &decides), SITE_CHOOSE_ANY);
    p[1].from_grade = true;
    p[1].bought = p[1].foot + p[1].height;
    assert_int_equal(site_choose_reach(p + 1, 1, 2, HUNDREDTH, &level, &decides), SITE_CHOOSE_ANY);
    assert_same(level, 77);
    p[1].bought--;
    assert_int_equal(site_choose_reach(p, 4, 2, HUNDREDTH, &level, &decides), SITE_CHOOSE_TOO_SHORT);
    assert_int_equal(decides, 1);
    assert_same(level, 77);
}

static void
ground_between_shots(void **state)
{
    const struct site_place shots[4] = { at(0.5, 1), at(12.5, 1.5), at(12, 9), at(1, 8.5) };
    const double z[4] = { 30.25, 30.75, 30.5, 31 };
    struct site_triangle t[8];
    size_t triangles = 0;
    uint32_t same[4];
    double height = 7.5, share[4];
    void *room = malloc(site_volume_room(4));
    (void)state;
    assert_non_null(room);
    assert_int_equal(site_volume_triangulate(shots, 4, room, t, &triangles, same), SITE_VOLUME_OK);
    free(room);
    for (size_t i = 0; i < 4; i++) { /* at a shot, that shot */
        assert_true(site_choose_surface(shots, z, 4, t, triangles, shots[i], &height, share));
        assert_near(height, z[i], 1e-14);
        for (size_t k = 0; k < 4; k++)
            assert_near(share[k], k == i, 0);
    }
    /* half way along a side, and the centre of a triangle */
    struct site_place half = { (shots[0].x + shots[1].x) / 2, (shots[0].y + shots[1].y) / 2 };
    assert_true(site_choose_surface(shots, z, 4, t, triangles, half, &height, NULL));
    assert_near(height, 30.5, 1e-8);
    const uint32_t *c = t[0].corner;
    struct site_place mid = { (shots[c[0]].x + shots[c[1]].x + shots[c[2]].x) / 3, (shots[c[0]].y + shots[c[1]].y + shots[c[2]].y) / 3 };
    assert_true(site_choose_surface(shots, z, 4, t, triangles, mid, &height, share));
    assert_near(height, (z[c[0]] + z[c[1]] + z[c[2]]) / 3, 1e-8);
    assert_near(share[c[0]], 1 / 3.0, 1e-8);
    height = 7.5;
    assert_false(site_choose_surface(shots, z, 4, t, triangles, at(0.4, 5), &height, share)); /* just outside the hull */
    assert_near(height, 7.5, 0);
}

static void
how_far_outside(void **state)
{
    const struct site_rectangle b = { at(1, 2), at(25, 14) };
    struct site_place wall;
    (void)state;
    assert_same(site_choose_outside(&b, at(7, 14), &wall), 0);
    assert_same(site_choose_outside(&b, at(7, 5), &wall), 0);
    assert_same(wall.x, FT(7));
    assert_same(site_choose_outside(&b, at(7, -4.25), &wall), FT(6.25));
    assert_same(wall.y, FT(2));
    assert_same(site_choose_outside(&b, at(28, 18), &wall), FT(5)); /* 3, 4, 5 off the corner */
    assert_same(wall.x, FT(25));
    assert_same(wall.y, FT(14));
}

/* R401.3: 6 in within the first 10 ft. A shot 10 ft out and 6 in down is enough, an eighth less is not; one that the readings
 * cannot tell is neither. */
static void
six_inches_in_ten_feet(void **state)
{
    const struct site_ratio usual = { SITE_CHOOSE_FALL_RISE, SITE_CHOOSE_FALL_RUN }, percent = { 2, 100 }, in_48 = { 1, 48 };
    const length wall = FT(101.3), out = SITE_CHOOSE_NEAR;
    struct site_choose_fall f = site_choose_fall(wall, (struct site_shot){ FT(100.8), 0 }, 1.96, out, usual);
    (void)state;
    assert_same(f.need, 6 * LENGTH_IN);
    assert_same(f.fall, 6 * LENGTH_IN);
    assert_int_equal(f.drains, SITE_CHOOSE_DRAINS);
    assert_int_equal(site_choose_fall(wall, (struct site_shot){ FT(100.81), 0 }, 1.96, out, usual).drains, SITE_CHOOSE_WET);
    assert_int_equal(site_choose_fall(wall, (struct site_shot){ FT(100.81), -1 }, 1.96, out, usual).drains, SITE_CHOOSE_WET);
    assert_int_equal(site_choose_fall(wall, (struct site_shot){ FT(100.81), 0.002 }, 1.96, out, usual).drains, SITE_CHOOSE_DOUBTFUL);
    assert_int_equal(site_choose_fall(wall, (struct site_shot){ FT(100.79), 0.002 }, 1.96, out, usual).drains, SITE_CHOOSE_DOUBTFUL);
    assert_int_equal(site_choose_fall(wall, (struct site_shot){ FT(100.78), 0.002 }, 1.96, out, usual).drains, SITE_CHOOSE_DRAINS);
    assert_int_equal(site_choose_fall(wall, (struct site_shot){ FT(100.83), 0.002 }, 1.96, out, usual).drains, SITE_CHOOSE_WET);
    assert_int_equal(site_choose_fall(wall, (struct site_shot){ FT(100.8), NAN }, 1.96, out, usual).drains, SITE_CHOOSE_DRAINS);
    assert_int_equal(site_choose_fall(wall, (struct site_shot){ FT(100.8), 0.001 }, NAN, out, usual).drains, SITE_CHOOSE_DOUBTFUL);
    f = site_choose_fall(wall, (struct site_shot){ FT(101.45), 0 }, 1.96, out / 4, usual); /* towards the building */
    assert_same(f.fall, FT(-0.15));
    assert_same(f.need, 3 * LENGTH_IN / 2);
    assert_int_equal(f.drains, SITE_CHOOSE_WET);
    /* 2 percent over 10 ft is 0.2 ft, 1 in 48 is 2-1/2 in = 0.2083 ft: whichever is asked for, 0.2 ft do */
    assert_int_equal(site_choose_fall(wall, (struct site_shot){ FT(101.1), 0 }, 0, out, in_48).drains, SITE_CHOOSE_DRAINS);
    assert_int_equal(site_choose_fall(wall, (struct site_shot){ FT(101.1), 0 }, 0, out, percent).drains, SITE_CHOOSE_DRAINS);
    assert_int_equal(site_choose_fall(wall, (struct site_shot){ FT(101.101), 0 }, 0, out, in_48).drains, SITE_CHOOSE_WET);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(levels_are_whole_divisions),
        cmocka_unit_test(slopes_are_one_in_a_whole_number),
        cmocka_unit_test(one_in_48_is_two_percent),
        cmocka_unit_test(slopes_are_held),
        cmocka_unit_test(the_string_clears_beyond_doubt),
        cmocka_unit_test(a_hole_and_its_post),
        cmocka_unit_test(posts_reach_so_high),
        cmocka_unit_test(ground_between_shots),
        cmocka_unit_test(how_far_outside),
        cmocka_unit_test(six_inches_in_ten_feet),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
