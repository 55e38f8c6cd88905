/* test_walk.c - the order in which marks are walked to */
#include "near.h"

#include <stdbool.h>
#include <stdlib.h>

#include "rodbook/walk.h"

static const struct site_box *box;

static int
compare(const void *a, const void *b)
{
    return site_turn_compare(box, *(const struct site_turn *)a, *(const struct site_turn *)b);
}

/* A long house, 600 by 30: posts are walked to along the front, up the end, back, and down; the middle comes last. */
static void
goes_round_from_the_first_corner(void **state)
{
    enum { POSTS = 42 };
    struct site_place at[POSTS + 1];
    struct site_turn turn[POSTS + 1];
    (void)state;
    for (int i = 0; i < 21; i++) {
        at[i] = (struct site_place){ 30 * i, 0 };
        at[POSTS - 1 - i] = (struct site_place){ 30 * i, 30 };
    }
    at[POSTS] = (struct site_place){ 300, 15 };
    struct site_box of = site_box_of(at, POSTS + 1);
    box = &of;
    for (int i = 0; i <= POSTS; i++)
        turn[i * 5 % (POSTS + 1)] = site_turn_to(box, at[i]);
    qsort(turn, POSTS + 1, sizeof *turn, compare);
    for (int i = 0; i <= POSTS; i++) {
        struct site_turn want = site_turn_to(box, at[i]);
        assert_same(turn[i].x, want.x);
        assert_same(turn[i].y, want.y);
    }
}

/* In one direction the farther comes first; the order is total and goes both ways. */
static void
orders_any_two(void **state)
{
    static const struct site_place at[] = { { -7, -3 }, { -14, -6 }, { 5, -3 }, { 14, 6 }, { 0, 0 }, { 2, 9 }, { -4, 1 } };
    static const int want[] = { 1, 0, 4, 2, 3, 5, 6 };
    struct site_box of = site_box_of(at, 7);
    (void)state;
    assert_same(of.corner.x, -28);
    assert_same(of.corner.y, -15);
    for (int i = 0; i < 7; i++)
        for (int k = 0; k < 7; k++) {
            int way = site_turn_compare(&of, site_turn_to(&of, at[want[i]]), site_turn_to(&of, at[want[k]]));
            if ((i < k && way >= 0) || (i > k && way <= 0) || (i == k && way != 0))
                fail_msg("%d before %d: %d", want[i], want[k], way);
        }
}

static void
bears_far_places_and_one(void **state)
{
    const length far = 1000 * 1000 * LENGTH_M;
    const struct site_place at[] = { { -far, -far }, { far, -far }, { far, far }, { -far, far } };
    struct site_box of = site_box_of(at, 4), one = site_box_of(at, 1), none = site_box_of(at, 0);
    (void)state;
    for (int i = 0; i + 1 < 4; i++)
        assert_true(site_turn_compare(&of, site_turn_to(&of, at[i]), site_turn_to(&of, at[i + 1])) < 0);
    assert_same(site_turn_to(&one, at[0]).x, 0);
    assert_true(none.corner.x < 0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(goes_round_from_the_first_corner),
        cmocka_unit_test(orders_any_two),
        cmocka_unit_test(bears_far_places_and_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
