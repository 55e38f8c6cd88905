#include "near.h"

#include <float.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_sf_gamma.h>
#include <math.h>

#include "rodbook/chance.h"

#include "chance_table.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define CLOSE 1e-12 /* relative, where nothing is said: what the header promises */

/* ---- GSL's error handler is never reached: every test ends by asking ---- */

static int gsl_errors;

static void
note_error(const char *reason, const char *file, int line, int code)
{
    (void)reason, (void)file, (void)line, (void)code;
    gsl_errors++;
}

static int
watch(void **state)
{
    (void)state;
    gsl_set_error_handler(note_error);
    gsl_errors = 0;
    return 0;
}

static int
watched(void **state)
{
    (void)state;
    if (gsl_errors > 0)
        print_error("GSL's error handler was called %d times\n", gsl_errors);
    return gsl_errors > 0 ? -1 : 0;
}

static void
the_watch_sees_an_error(void **state)
{
    (void)state;
    (void)gsl_sf_gammastar(-1.7);
    assert_true(gsl_errors > 0);
    gsl_errors = 0;
}

/* ---- shorthand: what must succeed ---- */

static struct chance
normal(double z)
{
    struct chance shares = { NAN, NAN };
    assert_int_equal(chance_normal(z, &shares), CHANCE_OK);
    return shares;
}

static double
normal_of(double share, enum chance_side side)
{
    double z = NAN;
    assert_int_equal(chance_normal_at(share, side, &z), CHANCE_OK);
    return z;
}

static struct chance
chisq(double x, size_t df)
{
    struct chance shares = { NAN, NAN };
    assert_int_equal(chance_chisq(x, df, &shares), CHANCE_OK);
    return shares;
}

static double
chisq_of(double share, enum chance_side side, size_t df)
{
    double x = NAN;
    assert_int_equal(chance_chisq_at(share, side, df, &x), CHANCE_OK);
    return x;
}

static struct chance
student(double t, size_t df)
{
    struct chance shares = { NAN, NAN };
    assert_int_equal(chance_student(t, df, &shares), CHANCE_OK);
    return shares;
}

static double
student_of(double share, enum chance_side side, size_t df)
{
    double t = NAN;
    assert_int_equal(chance_student_at(share, side, df, &t), CHANCE_OK);
    return t;
}

static double
tau_of(double share, enum chance_side side, size_t df)
{
    double tau = NAN;
    assert_int_equal(chance_tau_at(share, side, df, &tau), CHANCE_OK);
    return tau;
}

static double
delta_of(double alpha, double power)
{
    double delta = NAN;
    assert_int_equal(chance_noncentral(alpha, power, &delta), CHANCE_OK);
    return delta;
}

#define assert_close(got, want, relative) assert_near(got, want, (relative) * fabs(want))

/* ---- against R ---- */

/* Source: tests/base/chance_table.h. Every figure in it was held against sums in 40 digits and
 * was found to be within 3e-14 of them. */
static void
normal_is_as_in_r(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(normal_at); i++) {
        double p = normal_at[i][0], z = normal_at[i][1];
        assert_close(normal_of(p, CHANCE_ABOVE), z, CLOSE);
        assert_close(normal_of(p, CHANCE_BELOW), -z, CLOSE);
    }
    for (size_t i = 0; i < COUNT(normal_shares); i++) {
        struct chance shares = normal(normal_shares[i][0]);
        assert_close(shares.below, normal_shares[i][1], CLOSE);
        assert_close(shares.above, normal_shares[i][2], CLOSE);
    }
}

static void
values_are_as_in_r(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(values_at); i++) {
        size_t df = (size_t)values_at[i][0];
        double p = values_at[i][1];
        assert_close(chisq_of(p, CHANCE_BELOW, df), values_at[i][2], CLOSE);
        assert_close(chisq_of(p, CHANCE_ABOVE, df), values_at[i][3], CLOSE);
        assert_close(student_of(p, CHANCE_ABOVE, df), values_at[i][4], CLOSE);
        assert_close(student_of(p, CHANCE_BELOW, df), -values_at[i][4], CLOSE);
    }
}

static void
shares_are_as_in_r(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(shares_of); i++) {
        size_t df = (size_t)shares_of[i][0];
        struct chance shares = chisq(shares_of[i][1], df);
        assert_close(shares.below, shares_of[i][2], CLOSE);
        assert_close(shares.above, shares_of[i][3], CLOSE);
        assert_close(student(shares_of[i][4], df).above, shares_of[i][5], CLOSE);
        assert_close(student(-shares_of[i][4], df).below, shares_of[i][5], CLOSE);
    }
}

/* A share above 1/2 is its complement, which is exact, on the other side. */
static void
shares_near_one_are_those_of_the_other_side(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(values_at); i++) {
        size_t df = (size_t)values_at[i][0];
        double big = 1 - values_at[i][1], rest = 1 - big;
        double same = rest < 0.5 ? 0 : CLOSE; /* at 1/2 the two sides are summed each for itself */
        assert_near(chisq_of(big, CHANCE_BELOW, df), chisq_of(rest, CHANCE_ABOVE, df), same * (double)df);
        assert_near(chisq_of(big, CHANCE_ABOVE, df), chisq_of(rest, CHANCE_BELOW, df), same * (double)df);
        assert_near(student_of(big, CHANCE_BELOW, df), student_of(rest, CHANCE_ABOVE, df), 0);
        assert_close(normal_of(big, CHANCE_BELOW), normal_of(rest, CHANCE_ABOVE), CLOSE);
        /* and so the table holds, as far as a double near 1 can say which share is meant */
        double doubt = CLOSE + DBL_EPSILON / values_at[i][1];
        assert_close(chisq_of(big, CHANCE_BELOW, df), values_at[i][3], doubt);
        assert_close(chisq_of(big, CHANCE_ABOVE, df), values_at[i][2], 2 * doubt);
    }
}

/* ---- against printed tables ---- */

/* Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, critical values of the
 * chi-square distribution; as in Pearson and Hartley, Biometrika Tables for Statisticians,
 * volume 1, table 8 (both from memory). Printed to 0.001. */
static void
chi_square_is_as_printed(void **state)
{
    static const struct { size_t df; double above, x; } printed[] = {
        { 1, 0.05, 3.841 }, { 1, 0.01, 6.635 }, { 1, 0.001, 10.828 },
        { 2, 0.05, 5.991 }, { 2, 0.01, 9.210 }, { 2, 0.001, 13.816 },
        { 3, 0.05, 7.815 }, { 3, 0.01, 11.345 }, { 3, 0.001, 16.266 },
        { 5, 0.05, 11.070 }, { 5, 0.01, 15.086 }, { 5, 0.001, 20.515 },
        { 10, 0.05, 18.307 }, { 10, 0.01, 23.209 }, { 10, 0.001, 29.588 },
        { 30, 0.05, 43.773 }, { 30, 0.01, 50.892 }, { 30, 0.001, 59.703 },
        { 100, 0.05, 124.342 }, { 100, 0.01, 135.807 }, { 100, 0.001, 149.449 },
        { 10, 0.95, 3.940 }, { 30, 0.95, 18.493 }, { 100, 0.95, 77.929 },
    };

    (void)state;
    for (size_t i = 0; i < COUNT(printed); i++)
        assert_near(chisq_of(printed[i].above, CHANCE_ABOVE, printed[i].df), printed[i].x, 0.00051);
}

/* Source: NIST/SEMATECH e-Handbook, 1.3.6.7.2, critical values of Student's t (from memory).
 * Printed to 0.001. */
static void
student_is_as_printed(void **state)
{
    static const struct { size_t df; double above, t; } printed[] = {
        { 1, 0.025, 12.706 }, { 2, 0.025, 4.303 }, { 3, 0.025, 3.182 }, { 5, 0.025, 2.571 },
        { 10, 0.025, 2.228 }, { 30, 0.025, 2.042 }, { 100, 0.025, 1.984 }, { 5, 0.005, 4.032 },
        { 10, 0.005, 3.169 }, { 30, 0.005, 2.750 }, { 10, 0.05, 1.812 }, { 10, 0.001, 4.144 },
    };

    (void)state;
    for (size_t i = 0; i < COUNT(printed); i++)
        assert_near(student_of(printed[i].above, CHANCE_ABOVE, printed[i].df), printed[i].t, 0.00051);
}

/* ---- against closed forms ---- */

static void
two_and_four_degrees_have_closed_forms(void **state)
{
    (void)state;
    for (double x = 3e-7; x < 400; x *= 1.37) {
        assert_close(chisq(x, 2).above, exp(-x / 2), 2e-13);
        assert_close(chisq(x, 2).below, -expm1(-x / 2), 2e-13);
        assert_close(chisq(x, 4).above, exp(-x / 2) * (1 + x / 2), 2e-13);
        assert_close(chisq(x, 1).above, erfc(sqrt(x / 2)), 2e-13);
        assert_close(chisq(x, 1).below, erf(sqrt(x / 2)), 2e-13);
    }
    assert_near(chisq(0, 7).below, 0, 0);
    assert_near(chisq(0, 7).above, 1, 0);
    for (double t = 3e-7; t < 1e290; t *= 1.83) {
        double s = hypot(sqrt(2), t);
        assert_close(student(t, 1).above, atan2(1, t) / acos(-1), 2e-13);
        if (t < 1e145)
            assert_close(student(t, 2).above, 1 / (s * (s + t)), 2e-13);
    }
}

/* tau / sqrt(df) has a density that goes with (1 - u^2)^((df-3)/2): an arc sine with 2 degrees of
 * freedom, every value alike with 3, a half circle with 4, a parabola with 5. */
static void
tau_has_closed_forms(void **state)
{
    double pi = acos(-1);

    (void)state;
    for (size_t i = 0; i < COUNT(normal_at); i++) {
        double p = normal_at[i][0];
        assert_close(tau_of(p, CHANCE_ABOVE, 2), sqrt(2) * cos(pi * p), CLOSE + 1e-16 / fabs(cos(pi * p)));
        assert_close(tau_of(p, CHANCE_ABOVE, 3), sqrt(3) * (1 - 2 * p), CLOSE);
        double u = tau_of(p, CHANCE_ABOVE, 4) / 2;
        assert_near(0.5 - (u * sqrt(1 - u * u) + asin(u)) / pi, p, 1e-14);
        u = tau_of(p, CHANCE_BELOW, 5) / sqrt(5);
        assert_near(0.5 + (3 * u - u * u * u) / 4, p, 1e-14);
    }
}

/* ---- laws ---- */

static const size_t many_df[] = { 1, 2, 3, 4, 5, 7, 10, 29, 31, 64, 100, 301, 1000, 10000, 99999, 1000000,
    CHANCE_DF_MOST };

static void
a_value_leads_back_to_its_share(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(many_df); i++)
        for (double p = 1.3e-99; p < 0.9; p *= p < 1e-9 ? 3.7e9 : 4.3) {
            size_t df = many_df[i];
            assert_close(chisq(chisq_of(p, CHANCE_BELOW, df), df).below, p, 1e-10);
            assert_close(chisq(chisq_of(p, CHANCE_ABOVE, df), df).above, p, 1e-10);
            assert_close(student(student_of(p, CHANCE_BELOW, df), df).below, p, CLOSE);
            assert_close(student(student_of(p, CHANCE_ABOVE, df), df).above, p, CLOSE);
            assert_close(normal(normal_of(p, CHANCE_BELOW)).below, p, CLOSE);
            assert_close(normal(normal_of(p, CHANCE_ABOVE)).above, p, CLOSE);
        }
}

static void
larger_shares_have_larger_values(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(many_df); i++) {
        size_t df = many_df[i];
        double x = 0, t = -HUGE_VAL, tau = -2 * sqrt((double)df);
        for (double p = 1.1e-9; p < 1; p = p < 0.3 ? p * 1.9 : p + 0.013) {
            double x1 = chisq_of(p, CHANCE_BELOW, df), t1 = student_of(p, CHANCE_BELOW, df);
            double tau1 = tau_of(p, CHANCE_BELOW, df);
            /* with 2 degrees or fewer tau's digits run out at the bound */
            assert_true(x1 > x && t1 > t && (df <= 2 ? tau1 >= tau : tau1 > tau));
            x = x1, t = t1, tau = tau1;
        }
    }
}

static void
shares_go_one_way_and_add_up(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(many_df); i++) {
        size_t df = many_df[i];
        double from = chisq_of(1e-60, CHANCE_BELOW, df), to = chisq_of(1e-60, CHANCE_ABOVE, df);
        double end = student_of(1e-9, CHANCE_ABOVE, df);
        struct chance x = { 0, 1 }, t = { 0, 1 };
        for (int k = 0; k <= 157; k++) {
            struct chance x1 = chisq(from + (to - from) * k / 157, df), t1 = student(end * (2 * k - 157) / 157, df);
            assert_true(x1.below >= x.below && x1.above <= x.above && t1.below > t.below && t1.above < t.above);
            assert_near(x1.below + x1.above, 1, 1e-15);
            assert_near(t1.below + t1.above, 1, 1e-15);
            x = x1, t = t1;
        }
    }
}

/* Where one way of summing hands over to the other there is no step. */
static void
the_seams_do_not_show(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(many_df); i++) {
        size_t df = many_df[i];
        double x = (double)df + 2, t = sqrt(3), near_x = x * (1 - 2 * DBL_EPSILON), near_t = t * (1 - 2 * DBL_EPSILON);
        double steep = df > 1000000 ? 1e-11 : CLOSE;
        assert_close(chisq(near_x, df).above, chisq(x, df).above, steep);
        assert_close(chisq(near_x, df).below, chisq(x, df).below, steep);
        assert_close(student(near_t, df).above, student(t * (1 + DBL_EPSILON), df).above, CLOSE);
    }
}

static void
the_middle_of_student_is_nought(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(many_df); i++) {
        assert_near(student_of(0.5, CHANCE_ABOVE, many_df[i]), 0, 0);
        assert_near(student(0, many_df[i]).below, 0.5, 0);
        /* the share is off 1/2 by 2^-40, exactly; the density at 0 turns that into t */
        double df = (double)many_df[i];
        double density = exp(lgamma((df + 1) / 2) - lgamma(df / 2)) / sqrt(df * acos(-1));
        double t = student_of(0.5 - ldexp(1, -40), CHANCE_ABOVE, many_df[i]);
        assert_close(t, ldexp(1, -40) / density, many_df[i] > 1000 ? 1e-6 : 1e-11);
    }
}

static void
tau_keeps_within_its_bounds(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(normal_at); i++) {
        double p = normal_at[i][0], z = normal_at[i][1];
        double one = p < 0.5 ? 1 : 0;
        assert_near(tau_of(p, CHANCE_ABOVE, 1), one, 0);
        assert_near(tau_of(p, CHANCE_BELOW, 1), -one, 0);
        assert_near(tau_of(1 - p, CHANCE_BELOW, 1), one, 0);
        for (size_t k = 0; k < COUNT(many_df); k++)
            assert_true(fabs(tau_of(p, CHANCE_BELOW, many_df[k])) <= sqrt((double)many_df[k]) * (1 + DBL_EPSILON));
        /* tau = z + (3z - z^3)/(4 df) + ..., from the series of t and of the root */
        for (size_t df = 10000; df <= 1000000; df *= 10) {
            double next = (3 * z - z * z * z) / (4 * (double)df);
            double after = fabs(z) * (1 + pow(z, 4)) / ((double)df * (double)df);
            assert_near(tau_of(p, CHANCE_ABOVE, df), z + next, after + 1e-12);
        }
        assert_near(tau_of(p, CHANCE_ABOVE, CHANCE_DF_MOST), z, 1e-6);
    }
}

/* ---- how far off a reading must be ---- */

/* Source: W. Baarda, A testing procedure for use in geodetic networks (1968): delta0 = 4.13 and
 * lambda0 = 17.075 for 0.001 and 0.80 (from memory). The others are sums of two printed normal values. */
static void
noncentrality_is_as_published(void **state)
{
    (void)state;
    double delta = delta_of(0.001, 0.80);
    assert_near(delta, 4.132, 0.0005);
    assert_near(delta * delta, 17.075, 0.0005);
    assert_near(delta_of(0.05, 0.80), 1.95996 + 0.84162, 0.00001);
    assert_near(delta_of(0.01, 0.90), 2.57583 + 1.28155, 0.00001);
}

static void
noncentrality_gives_the_power_asked_for(void **state)
{
    static const double alphas[] = { 1e-90, 1e-9, 0.001, 0.0027, 0.05, 0.3, 0.83 };
    static const double powers[] = { 1e-8, 0.0021, 0.11, 0.4999, 0.5, 0.62, 0.80, 0.999, 0.9999999 };

    (void)state;
    for (size_t i = 0; i < COUNT(alphas); i++) {
        double before = 0;
        for (size_t k = 0; k < COUNT(powers); k++) {
            if (powers[k] <= alphas[i])
                continue;
            double delta = delta_of(alphas[i], powers[k]), line = normal_of(alphas[i] / 2, CHANCE_ABOVE);
            double missed = normal(line - delta).below - normal(line + delta).above;
            double found = normal(line - delta).above + normal(line + delta).above;
            assert_close(found, powers[k], CLOSE);
            assert_close(missed, 1 - powers[k], CLOSE);
            assert_true(delta > before);
            before = delta;
        }
    }
}

/* What the header says of the textbook's sum of two normal values. */
static void
the_neglected_tail_is_as_large_as_stated(void **state)
{
    (void)state;
    double sum = normal_of(0.0005, CHANCE_ABOVE) + normal_of(0.80, CHANCE_BELOW);
    assert_near(sum - delta_of(0.001, 0.80), 2e-13, 1e-13);
    sum = normal_of(0.025, CHANCE_ABOVE) + normal_of(0.50, CHANCE_BELOW);
    assert_near(sum - delta_of(0.05, 0.50), 1.1e-4, 0.05e-4);
}

/* ---- what is refused, and that nothing was touched ---- */

static void
values_that_are_no_numbers_are_refused(void **state)
{
    static const double none[] = { NAN, HUGE_VAL, -HUGE_VAL };
    struct chance shares = { 0.217, 0.783 };

    (void)state;
    for (size_t i = 0; i < COUNT(none); i++) {
        assert_int_equal(chance_normal(none[i], &shares), CHANCE_EVALUE);
        assert_int_equal(chance_chisq(none[i], 7, &shares), CHANCE_EVALUE);
        assert_int_equal(chance_student(none[i], 7, &shares), CHANCE_EVALUE);
    }
    assert_int_equal(chance_chisq(-1e-300, 7, &shares), CHANCE_EVALUE);
    assert_int_equal(chance_chisq(3.1, 0, &shares), CHANCE_EDF);
    assert_int_equal(chance_chisq(3.1, CHANCE_DF_MOST + 1, &shares), CHANCE_EDF);
    assert_int_equal(chance_student(3.1, 0, &shares), CHANCE_EDF);
    assert_int_equal(chance_student(3.1, SIZE_MAX, &shares), CHANCE_EDF);
    assert_near(shares.below, 0.217, 0);
    assert_near(shares.above, 0.783, 0);
}

static void
shares_that_are_none_are_refused(void **state)
{
    static const double none[] = { NAN, 0, -0.3, 1, 1.0001, 9e-101, HUGE_VAL, -HUGE_VAL };
    double value = 0.217;

    (void)state;
    for (size_t i = 0; i < COUNT(none); i++)
        for (int side = CHANCE_BELOW; side <= CHANCE_ABOVE; side++) {
            assert_int_equal(chance_normal_at(none[i], side, &value), CHANCE_ESHARE);
            assert_int_equal(chance_chisq_at(none[i], side, 7, &value), CHANCE_ESHARE);
            assert_int_equal(chance_student_at(none[i], side, 7, &value), CHANCE_ESHARE);
            assert_int_equal(chance_tau_at(none[i], side, 7, &value), CHANCE_ESHARE);
            assert_int_equal(chance_tau_at(none[i], side, 1, &value), CHANCE_ESHARE);
            assert_int_equal(chance_noncentral(none[i], 0.8, &value), CHANCE_ESHARE);
        }
    static const size_t no_df[] = { 0, CHANCE_DF_MOST + 1, SIZE_MAX };
    for (size_t i = 0; i < COUNT(no_df); i++) {
        assert_int_equal(chance_chisq_at(0.03, CHANCE_ABOVE, no_df[i], &value), CHANCE_EDF);
        assert_int_equal(chance_student_at(0.03, CHANCE_ABOVE, no_df[i], &value), CHANCE_EDF);
        assert_int_equal(chance_tau_at(0.03, CHANCE_ABOVE, no_df[i], &value), CHANCE_EDF);
    }
    static const double no_power[] = { NAN, 0, -0.3, 0.03, 0.0299, 1, 1.7, HUGE_VAL };
    for (size_t i = 0; i < COUNT(no_power); i++)
        assert_int_equal(chance_noncentral(0.03, no_power[i], &value), CHANCE_EPOWER);
    assert_near(value, 0.217, 0);
}

/* Everything that is allowed comes to an end, is a number, and does not reach GSL's handler. */
static void
the_farthest_arguments_are_answered(void **state)
{
    static const double far[] = { 0, 5e-324, 1e-310, 1e-200, 1e-17, 0.5, 40, 1e8, 1.1e8, 1e17, 1e154, 1e300, DBL_MAX };
    static const double shares[] = { CHANCE_LEAST, 1e-17, 0.25, 0.5 - DBL_EPSILON / 4, 0.5, 0.5 + DBL_EPSILON / 2,
        0.75, 1 - DBL_EPSILON / 2 };

    (void)state;
    for (size_t k = 0; k < COUNT(many_df); k++) {
        for (size_t i = 0; i < COUNT(far); i++) {
            struct chance x = chisq(far[i], many_df[k]), t = student(far[i], many_df[k]), z = normal(-far[i]);
            assert_true(x.below >= 0 && x.below <= 1 && x.above >= 0 && x.above <= 1);
            assert_true(t.below >= 0.5 && t.below <= 1 && t.above >= 0 && t.above <= 0.5);
            assert_true(z.below >= 0 && z.below <= 0.5 && z.above >= 0.5 && z.above <= 1);
        }
        for (size_t i = 0; i < COUNT(shares); i++)
            for (int side = CHANCE_BELOW; side <= CHANCE_ABOVE; side++) {
                double x = chisq_of(shares[i], side, many_df[k]), t = student_of(shares[i], side, many_df[k]);
                assert_true(isfinite(x) && x > 0 && isfinite(t) && isfinite(tau_of(shares[i], side, many_df[k])));
                assert_true((t > 0) == ((shares[i] > 0.5) == (side == CHANCE_BELOW) && shares[i] != 0.5));
            }
    }
    assert_true(isfinite(delta_of(CHANCE_LEAST, nextafter(CHANCE_LEAST, 1))));
    assert_true(isfinite(delta_of(CHANCE_LEAST, 1 - DBL_EPSILON / 2)));
    assert_true(isfinite(delta_of(1 - DBL_EPSILON, 1 - DBL_EPSILON / 2)));
}

int
main(void)
{
#define watched_test(f) cmocka_unit_test_setup_teardown(f, watch, watched)
    const struct CMUnitTest tests[] = {
        watched_test(the_watch_sees_an_error),
        watched_test(normal_is_as_in_r),
        watched_test(values_are_as_in_r),
        watched_test(shares_are_as_in_r),
        watched_test(shares_near_one_are_those_of_the_other_side),
        watched_test(chi_square_is_as_printed),
        watched_test(student_is_as_printed),
        watched_test(two_and_four_degrees_have_closed_forms),
        watched_test(tau_has_closed_forms),
        watched_test(a_value_leads_back_to_its_share),
        watched_test(larger_shares_have_larger_values),
        watched_test(shares_go_one_way_and_add_up),
        watched_test(the_seams_do_not_show),
        watched_test(the_middle_of_student_is_nought),
        watched_test(tau_keeps_within_its_bounds),
        watched_test(noncentrality_is_as_published),
        watched_test(noncentrality_gives_the_power_asked_for),
        watched_test(the_neglected_tail_is_as_large_as_stated),
        watched_test(values_that_are_no_numbers_are_refused),
        watched_test(shares_that_are_none_are_refused),
        watched_test(the_farthest_arguments_are_answered),
    };
    return cmocka_run_group_tests_name("chance", tests, NULL, NULL);
}
