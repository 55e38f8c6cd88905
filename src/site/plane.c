#include "rodbook/plane.h"

#include "rodbook/dense.h"

#include <stdbool.h>

/* Also false for a number that is none. */
static bool
is_finite(double v)
{
    return v - v == 0;
}

static bool
is_sound(const double *x, const double *y, const double *z, const double *w, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!is_finite(x[i]) || !is_finite(y[i]) || !is_finite(z[i]) || (w && !(w[i] > 0 && is_finite(w[i]))))
            return false;
    return true;
}

/* The mean of v by weight; a second time over what is left, so that a mean of large numbers loses nothing. */
static double
mean(const double *v, const double *w, size_t n, double weight)
{
    double sum = 0, rest = 0;
    for (size_t i = 0; i < n; i++)
        sum += w ? w[i] * v[i] : v[i];
    sum /= weight;
    for (size_t i = 0; i < n; i++)
        rest += w ? w[i] * (v[i] - sum) : v[i] - sum;
    return sum + rest / weight;
}

static void
centroid(const double *x, const double *y, const double *z, const double *w, size_t n, struct site_plane_fit *fit)
{
    for (size_t i = 0; i < n; i++)
        fit->weight += w ? w[i] : 1;
    fit->x = mean(x, w, n, fit->weight);
    fit->y = mean(y, w, n, fit->weight);
    fit->height = mean(z, w, n, fit->weight);
}

/* What a level leaves; room[n] has the heights less that of the centroid. */
static void
fit_level(const double *z, const double *w, size_t n, double *room, struct site_plane_fit *fit)
{
    for (size_t i = 0; i < n; i++) {
        room[i] = z[i] - fit->height;
        fit->sum += (w ? w[i] : 1) * room[i] * room[i];
    }
}

static enum site_plane_status
fit_slopes(const double *x, const double *y, const double *w, size_t n, int slopes, double *room, struct site_plane_fit *fit)
{
    size_t p = slopes == SITE_PLANE_BOTH ? 2 : 1, rank = 0;
    double c[2], cov[4], *at = room + n;
    for (size_t i = 0; i < n; i++) {
        double *row = at + i * p;
        if (slopes & SITE_PLANE_ALONG)
            *row++ = x[i] - fit->x;
        if (slopes & SITE_PLANE_ACROSS)
            *row = y[i] - fit->y;
    }
    if (dense_fit(at, room, w, n, p, c, cov, &fit->sum, &rank) != 0)
        return SITE_PLANE_EMEMORY;
    if (rank < p)
        return SITE_PLANE_ELINE;
    if (slopes & SITE_PLANE_ALONG) {
        fit->along = c[0];
        fit->var_along = cov[0];
    }
    if (slopes & SITE_PLANE_ACROSS) {
        fit->across = c[p - 1];
        fit->var_across = cov[p * p - 1];
    }
    fit->covariance = p == 2 ? cov[1] : 0;
    return SITE_PLANE_OK;
}

enum site_plane_status
site_plane_fit(const double *x, const double *y, const double *z, const double *w, size_t n, int slopes, double *room,
    struct site_plane_fit *fit)
{
    struct site_plane_fit f = { .scatter = -1 };
    size_t unknowns = 1 + (size_t)(slopes & 1) + (size_t)(slopes >> 1 & 1);
    if (n < unknowns)
        return SITE_PLANE_EFEW;
    if (!is_sound(x, y, z, w, n))
        return SITE_PLANE_EVALUE;
    centroid(x, y, z, w, n, &f);
    fit_level(z, w, n, room, &f);
    enum site_plane_status status = slopes ? fit_slopes(x, y, w, n, slopes, room, &f) : SITE_PLANE_OK;
    if (status != SITE_PLANE_OK)
        return status;
    f.freedom = n - unknowns;
    if (f.freedom > 0)
        f.scatter = __builtin_sqrt(f.sum / (double)f.freedom);
    *fit = f;
    return SITE_PLANE_OK;
}

double
site_plane_at(const struct site_plane_fit *fit, double x, double y)
{
    return fit->height + fit->along * (x - fit->x) + fit->across * (y - fit->y);
}

double
site_plane_sigma(const struct site_plane_fit *fit, double x, double y)
{
    double dx = x - fit->x, dy = y - fit->y;
    if (!(fit->scatter >= 0))
        return -1;
    double factor = 1 / fit->weight + dx * dx * fit->var_along + dy * dy * fit->var_across + 2 * dx * dy * fit->covariance;
    return fit->scatter * __builtin_sqrt(factor > 0 ? factor : 0);
}
