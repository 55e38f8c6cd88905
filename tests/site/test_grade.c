/* Grades, moves and grade rods. */
#include "near.h"

#include "rodbook/grade.h"
#include "rodbook/stake.h"

#include <stdint.h>

#define MM LENGTH_MM

static struct site_place
at(length x, length y)
{
    return (struct site_place){ x, y };
}

static length
up(const struct site_grade *g, length x, length y)
{
    length v = -1;
    assert_int_equal(site_grade_at(g, at(x, y), &v), SITE_OK);
    return v;
}

static void
a_level_is_the_same_everywhere(void **state)
{
    struct site_grade g = site_level(30937200000); /* 101.50 ft */
    (void)state;
    assert_same(up(&g, 0, 0), 30937200000);
    assert_same(up(&g, -1219200000, 77 * LENGTH_KM * 1000), 30937200000);
}

/* 2 % for 500 ft down from 95.00 is 85.00: the slope of tests/handbook/l27.yaml, whose source stands there. */
static void
a_slope_along_an_axis_is_exact(void **state)
{
    struct site_grade g;
    (void)state;
    assert_int_equal(site_slope(at(0, 0), 95 * LENGTH_FT, -1, 50, at(7, 0), &g), SITE_OK);
    assert_same(up(&g, 500 * LENGTH_FT, 33 * LENGTH_FT), 85 * LENGTH_FT);
    assert_int_equal(site_slope(at(2 * LENGTH_M, 3 * LENGTH_M), 1500 * MM, 1, 120, at(0, 1), &g), SITE_OK);
    assert_same(up(&g, 99 * LENGTH_M, 15 * LENGTH_M), 1600 * MM); /* 12 m at 1 in 120 */
    assert_same(up(&g, 99 * LENGTH_M, -9 * LENGTH_M), 1400 * MM);
    assert_same(up(&g, 0, 3 * LENGTH_M + 60), 1500 * MM + 1); /* half a nanometre goes away from zero */
    assert_same(up(&g, 0, 3 * LENGTH_M - 60), 1500 * MM - 1);
    assert_int_equal(site_slope(at(0, 0), 0, 1, 120, at(-1, 0), &g), SITE_OK);
    assert_same(up(&g, -12 * LENGTH_M, 0), 100 * MM);
}

/* Towards (3, 4) the unit vector is (0.6, 0.8). */
static void
a_slope_towards_a_point(void **state)
{
    struct site_grade g;
    (void)state;
    assert_int_equal(site_slope(at(0, 0), 5000 * MM, -1, 100, at(3 * LENGTH_M, 4 * LENGTH_M), &g), SITE_OK);
    assert_near((double)up(&g, 3 * LENGTH_M, 4 * LENGTH_M), 4950e6, 1);
    assert_near((double)up(&g, 4 * LENGTH_M, -3 * LENGTH_M), 5000e6, 1); /* across it */
    assert_int_equal(site_slope(at(1, 1), 0, 1, 9, at(0, 0), &g), SITE_EDIRECTION);
}

static void
a_plane_goes_through_its_marks(void **state)
{
    const struct site_place marks[3] = { { -1200 * MM, 300 * MM }, { 7300 * MM, -150 * MM }, { 2500 * MM, 3700 * MM } };
    const length z[3] = { 1482 * MM, 1511 * MM, 1377 * MM };
    struct site_grade g;
    (void)state;
    assert_int_equal(site_plane(marks, z, &g), SITE_OK);
    for (int i = 0; i < 3; i++)
        assert_same(up(&g, marks[i].x, marks[i].y), z[i]);
    /* the centroid of the marks has the mean of their elevations: 4370 / 3 mm at (8600 / 3, 3850 / 3) */
    assert_near((double)up(&g, 2866666667, 1283333333), 1456666666.7, 2);
    const struct site_place line[3] = { { 0, 0 }, { 2, 3 }, { 4, 6 } };
    struct site_grade kept = g;
    assert_int_equal(site_plane(line, z, &g), SITE_ECOLLINEAR);
    assert_same(g.level, kept.level); /* untouched */
}

/* Over 1 km the plane is worked out in doubles: still good to 1 part in 1e15 of what it rises. */
static void
a_wide_plane_stays_close(void **state)
{
    const struct site_place marks[3] = { { 0, 0 }, { 3000 * LENGTH_M, 0 }, { 0, 3000 * LENGTH_M } };
    const length z[3] = { 0, 30 * LENGTH_M, 60 * LENGTH_M };
    struct site_grade g;
    (void)state;
    assert_int_equal(site_plane(marks, z, &g), SITE_OK);
    assert_near((double)up(&g, 1500 * LENGTH_M, 1500 * LENGTH_M), 45e9, 1);
}

static void
places_too_far_are_refused(void **state)
{
    struct site_grade g;
    length v = 4711;
    (void)state;
    assert_int_equal(site_slope(at(0, 0), 0, 1, 9, at(1, 0), &g), SITE_OK);
    assert_int_equal(site_grade_at(&g, at(1001 * LENGTH_KM, 0), &v), SITE_EFAR);
    assert_same(v, 4711);
}

static void
cut_or_fill_never_both(void **state)
{
    struct site_move m = site_move(1482 * MM, 1511 * MM, 3 * MM);
    (void)state;
    assert_same(m.fill, 29 * MM);
    assert_same(m.cut, 0);
    assert_same(m.move, 29 * MM);
    assert_false(m.leave);
    m = site_move(1511 * MM, 1482 * MM, 30 * MM);
    assert_same(m.cut, 29 * MM);
    assert_same(m.fill, 0);
    assert_same(m.move, -29 * MM);
    assert_true(m.leave);
    assert_false(site_move(1511 * MM, 1482 * MM, 29 * MM).leave); /* closer than this is left alone */
    assert_true(site_move(1482 * MM, 1482 * MM, 0).leave);
}

/* NAVEDTRA 14081, ch. 15, fig. 15-52: HI 376.57, finish 378.75. The grade rod is ours: -2.18, so 3 ft below
 * grade the rod reads 0.82. */
static void
a_grade_above_the_line_of_sight_gets_an_offset_mark(void **state)
{
    length ft = LENGTH_FT / 100, rod = 4711;
    (void)state;
    assert_same(site_grade_rod(37657 * ft, 37875 * ft), -218 * ft);
    assert_same(site_offset(-218 * ft, LENGTH_FT, &rod), 3 * LENGTH_FT);
    assert_same(rod, 82 * ft);
    assert_same(site_offset(-200 * ft, LENGTH_FT, &rod), 2 * LENGTH_FT); /* whole feet need no more */
    assert_same(rod, 0);
    assert_same(site_offset(-1, LENGTH_M, &rod), LENGTH_M);
    assert_same(rod, LENGTH_M - 1);
}

static enum site_moved
judge(length before, length now)
{
    return site_judge_moved(site_move(before, 1500 * MM, 3 * MM), site_move(now, 1500 * MM, 3 * MM));
}

static void
a_move_is_held_against_what_was_asked(void **state)
{
    (void)state;
    assert_int_equal(judge(1482 * MM, 1501 * MM), SITE_DONE);
    assert_int_equal(judge(1482 * MM, 1493 * MM), SITE_SHORT);
    assert_int_equal(judge(1482 * MM, 1482 * MM), SITE_SHORT); /* not moved at all */
    assert_int_equal(judge(1482 * MM, 1507 * MM), SITE_PAST);
    assert_int_equal(judge(1482 * MM, 1464 * MM), SITE_WRONG_WAY);
    assert_int_equal(judge(1518 * MM, 1536 * MM), SITE_WRONG_WAY);
    assert_int_equal(judge(1501 * MM, 1509 * MM), SITE_DISTURBED);
    assert_int_equal(judge(1501 * MM, 1499 * MM), SITE_DONE);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_level_is_the_same_everywhere),
        cmocka_unit_test(a_slope_along_an_axis_is_exact),
        cmocka_unit_test(a_slope_towards_a_point),
        cmocka_unit_test(a_plane_goes_through_its_marks),
        cmocka_unit_test(a_wide_plane_stays_close),
        cmocka_unit_test(places_too_far_are_refused),
        cmocka_unit_test(cut_or_fill_never_both),
        cmocka_unit_test(a_grade_above_the_line_of_sight_gets_an_offset_mark),
        cmocka_unit_test(a_move_is_held_against_what_was_asked),
    };
    return cmocka_run_group_tests_name("grade and stakes", tests, NULL, NULL);
}
