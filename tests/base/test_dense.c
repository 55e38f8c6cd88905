/* test_dense.c - least squares with a few unknowns */
#include "near.h"

#include <math.h>

#include "rodbook/dense.h"

/* By hand: y = 2 + 3 x at x = 0, 1, 3 with errors +0.1, -0.2, +0.1; weights 1, 2, 1. Normal equations
 * [4 5; 5 11] c = [2.1 + 9.6 + 11.1; 9.6 + 33.3] = [22.8; 42.9], determinant 19. */
static void
fits_a_line_by_hand(void **state)
{
    const double x[] = { 1, 0, 1, 1, 1, 3 }, y[] = { 2.1, 4.8, 11.1 }, w[] = { 1, 2, 1 };
    double c[2], cov[4], sum;
    size_t rank;
    (void)state;
    assert_int_equal(dense_fit(x, y, w, 3, 2, c, cov, &sum, &rank), 0);
    assert_int_equal(rank, 2);
    assert_near(c[0], (22.8 * 11 - 5 * 42.9) / 19, 1e-13);
    assert_near(c[1], (4 * 42.9 - 5 * 22.8) / 19, 1e-13);
    assert_near(cov[0], 11.0 / 19, 1e-14);
    assert_near(cov[1], -5.0 / 19, 1e-14);
    assert_near(cov[3], 4.0 / 19, 1e-14);
    double left = 0;
    for (int i = 0; i < 3; i++)
        left += w[i] * pow(y[i] - c[0] - c[1] * x[2 * i + 1], 2);
    assert_near(sum, left, 1e-13);
}

/* Two equal columns, and fewer rows than columns: the shortest answer, and the rank says so. */
static void
says_what_depends(void **state)
{
    const double x[] = { 1, 1, 2, 2, 4, 4 }, y[] = { 3, 6, 12 }, short_x[] = { 3, 4 }, short_y[] = { 10 };
    double c[2], sum;
    size_t rank;
    (void)state;
    assert_int_equal(dense_fit(x, y, NULL, 3, 2, c, NULL, &sum, &rank), 0);
    assert_int_equal(rank, 1);
    assert_near(c[0], 1.5, 1e-13);
    assert_near(c[1], 1.5, 1e-13);
    assert_near(sum, 0, 1e-24);
    assert_int_equal(dense_fit(short_x, short_y, NULL, 1, 2, c, NULL, &sum, &rank), 0);
    assert_int_equal(rank, 1);
    assert_near(3 * c[0] + 4 * c[1], 10, 1e-13);
}

static void
leaves_outputs_alone(void **state)
{
    double c[2] = { 7.25, 8.5 }, sum = 9.75;
    size_t rank = 11;
    (void)state;
    assert_int_equal(dense_fit(c, c, NULL, 0, 2, c, NULL, &sum, &rank), -1);
    assert_int_equal(dense_fit(c, c, NULL, 1, 0, c, NULL, &sum, &rank), -1);
    assert_true(c[0] == 7.25 && c[1] == 8.5 && sum == 9.75 && rank == 11);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fits_a_line_by_hand),
        cmocka_unit_test(says_what_depends),
        cmocka_unit_test(leaves_outputs_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
