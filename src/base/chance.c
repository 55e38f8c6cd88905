#include "rodbook/chance.h"

#include <float.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sf_gamma.h>
#include <gsl/gsl_sf_log.h>
#include <math.h>
#include <stdbool.h>

/* ---- what may be asked ---- */

static bool
is_share(double share)
{
    return share >= CHANCE_LEAST && share < 1;
}

static bool
is_df(size_t df)
{
    return df >= 1 && df <= CHANCE_DF_MOST;
}

static enum chance_side
other(enum chance_side side)
{
    return side == CHANCE_BELOW ? CHANCE_ABOVE : CHANCE_BELOW;
}

static double
share_on(struct chance shares, enum chance_side side)
{
    return side == CHANCE_BELOW ? shares.below : shares.above;
}

/* ---- finding where a share is reached ---- */

/* A share that falls, or rises, all the way as x > 0 goes up. */
struct slope {
    double (*share)(double x, const struct slope *slope);
    size_t df;             /* where there are any */
    enum chance_side side; /* the same */
    double line;           /* of a test: what it rejects beyond */
};

/* Where the share is `wanted`, between lo and hi, to the last bit that a mean can tell. */
static double
bisect(const struct slope *slope, double wanted, bool rises, double lo, double hi)
{
    while (hi - lo > DBL_EPSILON / 2 * hi) {
        double middle = lo + (hi - lo) / 2;
        if (!(middle > lo && middle < hi))
            break;
        if ((slope->share(middle, slope) < wanted) == rises)
            lo = middle;
        else
            hi = middle;
    }
    return lo + (hi - lo) / 2;
}

/* The same from anywhere above 0: doubled or halved until it lies between. */
static double
solve(const struct slope *slope, double wanted, bool rises, double from)
{
    double lo = from, hi = from;
    while ((slope->share(hi, slope) < wanted) == rises)
        hi *= 2;
    while (lo > DBL_MIN && (slope->share(lo, slope) < wanted) != rises)
        lo /= 2;
    return bisect(slope, wanted, rises, lo, hi);
}

/* ---- normal ---- */

enum chance_status
chance_normal(double z, struct chance *shares)
{
    if (!isfinite(z))
        return CHANCE_EVALUE;
    shares->below = gsl_cdf_ugaussian_P(z);
    shares->above = gsl_cdf_ugaussian_Q(z);
    return CHANCE_OK;
}

enum chance_status
chance_normal_at(double share, enum chance_side side, double *z)
{
    if (!is_share(share))
        return CHANCE_ESHARE;
    *z = side == CHANCE_BELOW ? gsl_cdf_ugaussian_Pinv(share) : gsl_cdf_ugaussian_Qinv(share);
    return CHANCE_OK;
}

/* ---- chi-square ---- */

/* x^a e^-x / Gamma(a + 1), as a^a e^-a / Gamma(a + 1) = 1 / (sqrt(2 pi a) Gamma*(a)) times
 * exp(a (log u - u + 1)) with u = x / a. */
static double
gamma_term(double a, double x)
{
    double off = (x - a) / a; /* u - 1 */
    double down = fabs(off) < 0.5 ? gsl_sf_log_1plusx_mx(off) : log(x / a) - off;
    return exp(a * down) / (sqrt(2 * M_PI * a) * gsl_sf_gammastar(a));
}

/* Lower share, for x < a + 1, 0 for 0: term (1 + x/(a+1) + x^2/((a+1)(a+2)) + ...). */
static double
gamma_below(double a, double x)
{
    double term = gamma_term(a, x), sum = term;
    for (unsigned k = 1; term > sum * (DBL_EPSILON / 64); k++) {
        term *= x / (a + k);
        sum += term;
    }
    return sum;
}

/* Upper share, for x >= a + 1: term a / (x+1-a - 1(1-a)/(x+3-a - 2(2-a)/(x+5-a - ...))).
 * The fraction is taken from the front: c and d are the ratios of two successive numerators and
 * denominators. All that is divided by is above 0 here. */
static double
gamma_above(double a, double x)
{
    double b = x + 1 - a, c = HUGE_VAL, d = 1 / b, value = d, step = 0;
    for (unsigned k = 1; fabs(step - 1) > 2 * DBL_EPSILON; k++) {
        double i = k;
        double top = i * (a - i);
        b += 2;
        c = b + top / c;
        d = 1 / (b + top * d);
        step = c * d;
        value *= step;
    }
    return gamma_term(a, x) * a * value;
}

enum chance_status
chance_chisq(double x, size_t df, struct chance *shares)
{
    if (!(isfinite(x) && x >= 0))
        return CHANCE_EVALUE;
    if (!is_df(df))
        return CHANCE_EDF;
    double a = (double)df / 2;
    if (x / 2 < a + 1) {
        shares->below = gamma_below(a, x / 2);
        shares->above = 1 - shares->below;
    } else {
        shares->above = gamma_above(a, x / 2);
        shares->below = 1 - shares->above;
    }
    return CHANCE_OK;
}

static double
chisq_share(double x, const struct slope *slope)
{
    struct chance shares = { 0, 0 };
    (void)chance_chisq(x, slope->df, &shares);
    return share_on(shares, slope->side);
}

enum chance_status
chance_chisq_at(double share, enum chance_side side, size_t df, double *x)
{
    if (!is_share(share))
        return CHANCE_ESHARE;
    if (!is_df(df))
        return CHANCE_EDF;
    if (share > 0.5) { /* 1 - share is exact from there on */
        share = 1 - share;
        side = other(side);
    }
    struct slope slope = { .share = chisq_share, .df = df, .side = side };
    *x = solve(&slope, share, side == CHANCE_BELOW, (double)df);
    return CHANCE_OK;
}

/* ---- Student ---- */

#define CENTRE 1.7320508075688772 /* sqrt(3): below it from the middle out, above it from the end in */

/* x^a y^(1/2) / B(a, 1/2) with a = df/2, y = r^2 / (1 + r^2), x = 1 - y, r = t / sqrt(df), where
 * 1 / B = sqrt(a / pi) exp(a log(1 + h) - a h) Gamma*(a + 1/2) / Gamma*(a), h = 1 / (2 a). */
static double
beta_term(double a, double r)
{
    double up = r > 1e8 ? 2 * log(r) : log1p(r * r); /* log(1 + r^2), which may be too large to square */
    double root = r > 1e8 ? 1 : r / sqrt(1 + r * r);
    double over = exp(a * gsl_sf_log_1plusx_mx(1 / (2 * a)));
    return exp(-a * up) * root * sqrt(a / M_PI) * over * gsl_sf_gammastar(a + 0.5) / gsl_sf_gammastar(a);
}

/* The share between 0 and t: term (1 + (a+1/2)/(3/2) y + (a+1/2)(a+3/2)/((3/2)(5/2)) y^2 + ...). */
static double
student_within(double t, double df)
{
    double a = df / 2, y = t * t / (df + t * t);
    double term = beta_term(a, t / sqrt(df)), sum = term;
    for (unsigned k = 1; term > sum * (DBL_EPSILON / 64); k++) {
        term *= (a + k - 0.5) / (k + 0.5) * y;
        sum += term;
    }
    return sum;
}

/* The share beyond t: term / df over the even part of the fraction 1 / (1 + f1 / (1 + f2 / (1 + ...))), which is
 * 1 / (1+f1 - f1 f2 / (1+f2+f3 - f3 f4 / (1+f4+f5 - ...))). The f themselves cancel where df is large; the sums
 * 1+f2m+f2m+1 do not when written as k x + y, k = (a(2m+1/2) + 2m^2 - 1/2) / ((a+2m-1)(a+2m+1)). */
static double
student_beyond(double t, double df)
{
    double a = df / 2, r = t / sqrt(df), x = 1 / (1 + r * r), y = r > 1e8 ? 1 : r * r * x;
    double c = HUGE_VAL, d = 1 / (0.5 / (a + 1) * x + y), value = d, step = 0;
    for (unsigned k = 1; fabs(step - 1) > 2 * DBL_EPSILON; k++) {
        double m = k, s = a + 2 * m;
        double b = (a * (2 * m + 0.5) + 2 * m * m - 0.5) / ((s - 1) * (s + 1)) * x + y;
        double top = (a + m - 1) / (s - 2) * (a + m - 0.5) / (s - 1) * m / (s - 1) * (0.5 - m) / s * x * x;
        c = b + top / c;
        d = 1 / (b + top * d);
        step = c * d;
        value *= step;
    }
    return beta_term(a, r) * value / df;
}

enum chance_status
chance_student(double t, size_t df, struct chance *shares)
{
    if (!isfinite(t))
        return CHANCE_EVALUE;
    if (!is_df(df))
        return CHANCE_EDF;
    double size = fabs(t);
    double beyond = size < CENTRE ? 0.5 - student_within(size, (double)df) : student_beyond(size, (double)df);
    if (t > 0)
        *shares = (struct chance){ 1 - beyond, beyond };
    else
        *shares = (struct chance){ beyond, 1 - beyond };
    return CHANCE_OK;
}

static double
within_share(double t, const struct slope *slope)
{
    return student_within(t, (double)slope->df);
}

static double
beyond_share(double t, const struct slope *slope)
{
    struct chance shares = { 0, 0 };
    (void)chance_student(t, slope->df, &shares);
    return shares.above;
}

/* The t above 0 that a share up to 1/2 lies beyond; exactly 0 for 1/2. */
static double
student_size(double beyond, size_t df)
{
    if (beyond == 0.5)
        return 0;
    if (beyond >= 0.25) /* t is 1 or less: the share within is small, and exact */
        return solve(&(struct slope){ .share = within_share, .df = df }, 0.5 - beyond, true, 1);
    return solve(&(struct slope){ .share = beyond_share, .df = df }, beyond, false, 1);
}

enum chance_status
chance_student_at(double share, enum chance_side side, size_t df, double *t)
{
    if (!is_share(share))
        return CHANCE_ESHARE;
    if (!is_df(df))
        return CHANCE_EDF;
    if (share > 0.5) {
        share = 1 - share;
        side = other(side);
    }
    double size = student_size(share, df);
    *t = side == CHANCE_ABOVE ? size : 0 - size;
    return CHANCE_OK;
}

/* ---- tau ---- */

enum chance_status
chance_tau_at(double share, enum chance_side side, size_t df, double *tau)
{
    if (!is_share(share))
        return CHANCE_ESHARE;
    if (!is_df(df))
        return CHANCE_EDF;
    if (df == 1) {
        double size = share == 0.5 ? 0 : 1;
        *tau = (share > 0.5) == (side == CHANCE_BELOW) ? size : 0 - size;
        return CHANCE_OK;
    }
    double t = 0;
    enum chance_status status = chance_student_at(share, side, df - 1, &t);
    if (status == CHANCE_OK)
        *tau = sqrt((double)df) * (t / sqrt((double)(df - 1) + t * t));
    return status;
}

/* ---- how far off a reading must be ---- */

/* Found by the test, or missed by it, when off by delta. */
static double
found_share(double delta, const struct slope *slope)
{
    return gsl_cdf_ugaussian_Q(slope->line - delta) + gsl_cdf_ugaussian_Q(slope->line + delta);
}

static double
missed_share(double delta, const struct slope *slope)
{
    return gsl_cdf_ugaussian_P(slope->line - delta) - gsl_cdf_ugaussian_Q(slope->line + delta);
}

enum chance_status
chance_noncentral(double alpha, double power, double *delta)
{
    if (!is_share(alpha))
        return CHANCE_ESHARE;
    if (!(power > alpha && power < 1))
        return CHANCE_EPOWER;
    double line = gsl_cdf_ugaussian_Qinv(alpha / 2);
    struct slope slope = { .line = line };
    double from = line > 1 ? line : 1;
    if (power < 0.5) {
        slope.share = found_share;
        *delta = solve(&slope, power, true, from);
    } else {
        slope.share = missed_share;
        *delta = solve(&slope, 1 - power, false, from);
    }
    return CHANCE_OK;
}
