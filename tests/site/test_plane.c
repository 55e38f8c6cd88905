/* Levels, lines and planes that fit spots best. */
#include "near.h"

#include "rodbook/plane.h"

#include <math.h>
#include <stdlib.h>

#define MOST 40

static struct site_plane_fit
fitted(const double *x, const double *y, const double *z, const double *w, size_t n, int slopes)
{
    double room[3 * MOST];
    struct site_plane_fit fit;
    assert_int_equal(site_plane_fit(x, y, z, w, n, slopes, room, &fit), SITE_PLANE_OK);
    return fit;
}

/* Source: NIST Statistical Reference Datasets, Norris (J. Norris, Calibration of Ozone Monitors), 36 observations, lower
 * level of difficulty: data and certified values as printed in Norris.dat, to 15 digits. */
static const double norris_y[36] = { 0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1,
    668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9,
    668.4, 449.2, 0.2 };
static const double norris_x[36] = { 0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5,
    666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2,
    669.1, 448.9, 0.5 };

/* The data are decimals that doubles only come near to: the slope keeps 14 digits of the certified 15, the intercept,
 * 1600 times smaller than what it is taken off, 13. */
static void
the_certified_line(void **state)
{
    struct site_plane_fit f = fitted(norris_x, norris_x, norris_y, NULL, 36, SITE_PLANE_ALONG);
    (void)state;
    assert_near(f.along, 1.00211681802045, 1e-14);
    assert_near(site_plane_at(&f, 0, 0), -0.262323073774029, 2e-13);
    assert_near(f.sum, 26.6173985294224, 1e-12);
    assert_near(1 - f.sum / fitted(norris_x, norris_x, norris_y, NULL, 36, SITE_PLANE_LEVEL).sum, 0.999993745883712, 1e-15);
    assert_near(f.scatter, 0.884796396144373, 1e-14);
    assert_near(f.scatter * sqrt(f.var_along), 0.000429796848199937, 1e-17);
    assert_near(site_plane_sigma(&f, 0, 0), 0.232818234301152, 1e-14);
    assert_int_equal(f.freedom, 34);
    /* the same line across: x and y are alike here */
    struct site_plane_fit g = fitted(norris_y, norris_x, norris_y, NULL, 36, SITE_PLANE_ACROSS);
    assert_near(g.across, 1.00211681802045, 1e-14);
    assert_near(g.along, 0, 0);
    assert_near(site_plane_at(&g, 77.7, 0), -0.262323073774029, 2e-13);
}

/* Source of the data: 31 felled cherry trees, diameter in inches, height in feet, volume in cubic feet: the data set `trees` of
 * R's package datasets, as in Debian's r-base-core 4.2.2. Of the fit: rstudio-pubs-static, 1379164, -57.9877 + 4.7082 x + 0.3393 y,
 * residual s 3.882 on 28 degrees of freedom, residuals -6.4065 to 8.4847, as printed. */
static const double tree_x[31] = { 8.3, 8.6, 8.8, 10.5, 10.7, 10.8, 11.0, 11.0, 11.1, 11.2, 11.3, 11.4, 11.4, 11.7, 12.0, 12.9, 12.9,
    13.3, 13.7, 13.8, 14.0, 14.2, 14.5, 16.0, 16.3, 17.3, 17.5, 17.9, 18.0, 18.0, 20.6 };
static const double tree_y[31] = { 70, 65, 63, 72, 81, 83, 66, 75, 80, 75, 79, 76, 76, 69, 75, 74, 85, 86, 71, 64, 78, 80, 74, 72, 77, 81,
    82, 80, 80, 80, 87 };
static const double tree_z[31] = { 10.3, 10.3, 10.2, 16.4, 18.8, 19.7, 15.6, 18.2, 22.6, 19.9, 24.2, 21.0, 21.4, 21.3, 19.1, 22.2, 33.8,
    27.4, 25.7, 24.9, 34.5, 31.7, 36.3, 38.3, 42.6, 55.4, 55.7, 58.3, 51.5, 51.0, 77.0 };

static void
the_published_plane(void **state)
{
    struct site_plane_fit f = fitted(tree_x, tree_y, tree_z, NULL, 31, SITE_PLANE_BOTH);
    double least = 0, most = 0;
    (void)state;
    assert_near(site_plane_at(&f, 0, 0), -57.9877, 0.00005);
    assert_near(f.along, 4.7082, 0.00005);
    assert_near(f.across, 0.3393, 0.00005);
    assert_near(f.scatter, 3.882, 0.0005);
    assert_int_equal(f.freedom, 28);
    for (size_t i = 0; i < 31; i++) {
        double residual = tree_z[i] - site_plane_at(&f, tree_x[i], tree_y[i]);
        least = fmin(least, residual);
        most = fmax(most, residual);
    }
    assert_near(least, -6.4065, 0.00005);
    assert_near(most, 8.4847, 0.00005);
}

/* Variances against the inverse of the two by two centred sums, written out; and the height's at a place far out. */
static void
how_sure_a_plane_is(void **state)
{
    struct site_plane_fit f = fitted(tree_x, tree_y, tree_z, NULL, 31, SITE_PLANE_BOTH);
    double xx = 0, yy = 0, xy = 0;
    (void)state;
    for (size_t i = 0; i < 31; i++) {
        xx += (tree_x[i] - f.x) * (tree_x[i] - f.x);
        yy += (tree_y[i] - f.y) * (tree_y[i] - f.y);
        xy += (tree_x[i] - f.x) * (tree_y[i] - f.y);
    }
    double d = xx * yy - xy * xy, dx = 25 - f.x, dy = 60 - f.y;
    assert_near(f.var_along, yy / d, 1e-15);
    assert_near(f.var_across, xx / d, 1e-15);
    assert_near(f.covariance, -xy / d, 1e-15);
    assert_near(site_plane_sigma(&f, 25, 60), f.scatter * sqrt(1 / 31.0 + (dx * dx * yy + dy * dy * xx - 2 * dx * dy * xy) / d), 1e-12);
}

/* Whatever slopes are fitted, bounded or left out, cut and fill by area are the same: the sum of the residuals by weight is 0. */
static void
it_balances(void **state)
{
    const double w[7] = { 3.25, 6.5, 3.25, 7.75, 11.5, 5.25, 2.125 }, x[7] = { 0.31, 7.3, 15.9, 0.2, 8.1, 16.3, 5.5 },
                 y[7] = { 0.4, 0.1, 0.9, 6.3, 5.8, 6.1, 3.3 }, z[7] = { 30.417, 30.556, 30.731, 30.383, 30.502, 30.688, 30.471 };
    (void)state;
    for (int slopes = SITE_PLANE_LEVEL; slopes <= SITE_PLANE_BOTH; slopes++)
        for (int less = 0; less < 3; less++) {
            struct site_plane_fit f = fitted(x, y, z, w, 7, slopes);
            double sum = 0, squares = 0;
            assert_near(f.weight, 39.625, 0);
            f.along = less == 1 ? 0.001953125 : f.along;
            f.across = less == 2 ? 0 : f.across;
            for (size_t i = 0; i < 7; i++) {
                double off = z[i] - site_plane_at(&f, x[i], y[i]);
                sum += w[i] * off;
                squares += w[i] * off * off;
            }
            assert_near(sum, 0, 1e-12);
            if (less == 0)
                assert_near(squares, f.sum, 1e-13);
        }
}

/* The least sum of squares is the least: no plane beside it has less, and a slope more never leaves more. */
static void
nothing_fits_better(void **state)
{
    const double step[3] = { -1e-4, 0, 1e-4 };
    double before = HUGE_VAL;
    (void)state;
    for (int slopes = SITE_PLANE_LEVEL; slopes <= SITE_PLANE_BOTH; slopes += slopes == SITE_PLANE_ALONG ? 2 : 1) {
        struct site_plane_fit f = fitted(tree_x, tree_y, tree_z, NULL, 31, slopes);
        for (int i = 0; i < 27; i++) {
            struct site_plane_fit g = f;
            double sum = 0;
            g.height += step[i % 3];
            g.along += slopes & SITE_PLANE_ALONG ? step[i / 3 % 3] : 0;
            g.across += slopes & SITE_PLANE_ACROSS ? step[i / 9] : 0;
            for (size_t k = 0; k < 31; k++)
                sum += pow(tree_z[k] - site_plane_at(&g, tree_x[k], tree_y[k]), 2);
            assert_true(sum >= f.sum - 1e-9);
        }
        assert_true(f.sum <= before);
        before = f.sum;
    }
}

/* Places a thousand kilometres off, as a grid of a county's has them: to a hundredth of a millimetre all the same. */
static void
far_from_the_origin(void **state)
{
    double x[9], y[9], z[9];
    (void)state;
    for (size_t i = 0; i < 9; i++) {
        x[i] = 873214.25 + 3.5 * (double)(i % 3);
        y[i] = -652000.75 + 2.25 * (double)(i / 3);
        z[i] = 1712.375 + 0.0125 * (x[i] - 873214.25) - 0.0078125 * (y[i] + 652000.75);
    }
    struct site_plane_fit f = fitted(x, y, z, NULL, 9, SITE_PLANE_BOTH);
    assert_near(f.along, 0.0125, 1e-12);
    assert_near(f.across, -0.0078125, 1e-12);
    assert_near(site_plane_at(&f, x[7], y[7]), z[7], 1e-10);
    assert_near(f.scatter, 0, 1e-11);
}

static void
what_shows_no_slope_is_refused(void **state)
{
    const double x[4] = { 1.5, 4.25, 7, 12.5 }, line[4] = { 2.25, 3.625, 5, 7.75 }, off[4] = { 2.25, 3.625, 5.5, 7.75 },
                 same[4] = { 3.3, 3.3, 3.3, 3.3 }, z[4] = { 9.1, 9.4, 9.2, 9.7 }, none[4] = { 9.1, NAN, 9.2, 9.7 },
                 endless[4] = { 9.1, 9.2, HUGE_VAL, 9.7 }, nought[4] = { 1, 2, 0, 3 }, below[4] = { 1, 2, -1, 3 };
    const struct {
        const double *x, *y, *z, *w;
        size_t n;
        int slopes;
        enum site_plane_status want;
    } c[] = {
        { x, off, z, NULL, 0, SITE_PLANE_LEVEL, SITE_PLANE_EFEW },
        { x, off, z, NULL, 1, SITE_PLANE_ALONG, SITE_PLANE_EFEW },
        { x, off, z, NULL, 2, SITE_PLANE_BOTH, SITE_PLANE_EFEW },
        { x, line, z, NULL, 4, SITE_PLANE_BOTH, SITE_PLANE_ELINE },
        { same, off, z, NULL, 4, SITE_PLANE_ALONG, SITE_PLANE_ELINE },
        { x, same, z, NULL, 4, SITE_PLANE_ACROSS, SITE_PLANE_ELINE },
        { x, same, z, NULL, 4, SITE_PLANE_BOTH, SITE_PLANE_ELINE },
        { x, off, none, NULL, 4, SITE_PLANE_BOTH, SITE_PLANE_EVALUE },
        { endless, off, z, NULL, 4, SITE_PLANE_LEVEL, SITE_PLANE_EVALUE },
        { x, off, z, nought, 4, SITE_PLANE_BOTH, SITE_PLANE_EVALUE },
        { x, off, z, below, 4, SITE_PLANE_BOTH, SITE_PLANE_EVALUE },
        { x, off, z, endless, 4, SITE_PLANE_BOTH, SITE_PLANE_EVALUE },
    };
    (void)state;
    for (size_t i = 0; i < sizeof c / sizeof *c; i++) {
        struct site_plane_fit f = { .height = 11.5, .along = 7.25, .freedom = 13 };
        double room[3 * MOST];
        assert_int_equal(site_plane_fit(c[i].x, c[i].y, c[i].z, c[i].w, c[i].n, c[i].slopes, room, &f), c[i].want);
        assert_true(f.height == 11.5 && f.along == 7.25 && f.freedom == 13);
    }
}

/* No more spots than what is fitted: the fit goes through all of them, and says nothing of its scatter. */
static void
just_enough(void **state)
{
    const double x[3] = { 0.5, 8.25, 3.125 }, y[3] = { 1.25, 2.5, 7.75 }, z[3] = { 5.1, 5.4, 4.7 };
    struct site_plane_fit f = fitted(x, y, z, NULL, 3, SITE_PLANE_BOTH);
    (void)state;
    for (size_t i = 0; i < 3; i++)
        assert_near(site_plane_at(&f, x[i], y[i]), z[i], 1e-14);
    assert_int_equal(f.freedom, 0);
    assert_true(f.scatter < 0);
    assert_true(site_plane_sigma(&f, 4, 4) < 0);
    f = fitted(x, y, z, NULL, 1, SITE_PLANE_LEVEL);
    assert_near(f.height, 5.1, 0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_certified_line),
        cmocka_unit_test(the_published_plane),
        cmocka_unit_test(it_balances),
        cmocka_unit_test(how_sure_a_plane_is),
        cmocka_unit_test(nothing_fits_better),
        cmocka_unit_test(far_from_the_origin),
        cmocka_unit_test(what_shows_no_slope_is_refused),
        cmocka_unit_test(just_enough),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
