/* test_walk.c - the order in which marks are walked to */
#include "near.h"

#include <stdlib.h>

#include "rodbook/walk.h"

/* A house of 600 by 30, posts every 30: along the front, up the end, back, and down. */
static void
goes_round_from_the_first_corner(void **state)
{
    enum { POSTS = 42 };
    struct site_place at[POSTS];
    (void)state;
    for (int i = 0; i < 21; i++) {
        at[i] = (struct site_place){ 30 * i, 0 };
        at[POSTS - 1 - i] = (struct site_place){ 30 * i, 30 };
    }
    struct site_box box = site_box_of(at, POSTS);
    for (int i = 0; i < 21; i++) {
        assert_same(site_walk_along(&box, at[i]), 30 * i);
        assert_same(site_walk_along(&box, at[21 + i]), 630 + 30 * i);
    }
    assert_same(site_walk_along(&box, (struct site_place){ 0, 10 }), 1280 - 30); /* the start's wall, back to where it began */
}

/* Battens outside go with their corner, however long and thin the house is; what stands inside, with the nearest wall. */
static void
corners_have_their_battens(void **state)
{
    static const struct site_place corner[] = { { 0, 0 }, { 60000, 0 }, { 60000, 2000 }, { 0, 2000 } };
    static const length along[] = { 0, 60000, 62000, 122000 };
    struct site_box box = site_box_of(corner, 4);
    (void)state;
    for (int i = 0; i < 4; i++) {
        length out_x = i == 1 || i == 2 ? 1200 : -1200, out_y = i >= 2 ? 1200 : -1200;
        assert_same(site_walk_along(&box, corner[i]), along[i]);
        assert_same(site_walk_along(&box, (struct site_place){ corner[i].x + out_x, corner[i].y + out_y / 20 }), along[i]);
        assert_same(site_walk_along(&box, (struct site_place){ corner[i].x + out_x / 20, corner[i].y + out_y }), along[i]);
    }
    assert_same(site_walk_along(&box, (struct site_place){ 44000, 50 }), 44000);
    assert_same(site_walk_along(&box, (struct site_place){ 44000, 1950 }), 78000);
    assert_same(site_walk_along(&box, (struct site_place){ 59900, 900 }), 60900);
    assert_same(site_walk_along(&box, (struct site_place){ 100, 900 }), 122000 + 1100);
    assert_same(site_walk_along(&box, (struct site_place){ 30000, 1000 }), 30000); /* as near to both: the first */
}

static void
bears_far_places_a_row_and_one(void **state)
{
    const length far = 1000 * 1000 * LENGTH_M;
    const struct site_place at[] = { { -far, -far }, { far, -far }, { far, far }, { -far, far } };
    const struct site_place row[] = { { 0, 7 }, { 36, 7 }, { 18, 7 } }, post[] = { { 3, 0 }, { 3, 12 } };
    struct site_box of = site_box_of(at, 4), one = site_box_of(at, 1), none = site_box_of(at, 0), line = site_box_of(row, 3),
                    upright = site_box_of(post, 2);
    (void)state;
    for (int i = 0; i < 4; i++)
        assert_same(site_walk_along(&of, at[i]), 2 * far * i);
    assert_same(site_walk_along(&one, at[2]), 0);
    assert_same(site_walk_along(&none, at[2]), 0);
    assert_same(site_walk_along(&line, (struct site_place){ 20, 40 }), 20);
    assert_same(site_walk_along(&upright, (struct site_place){ 9, 5 }), 5);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(goes_round_from_the_first_corner),
        cmocka_unit_test(corners_have_their_battens),
        cmocka_unit_test(bears_far_places_a_row_and_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
