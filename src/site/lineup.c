/* lineup.c - a straight line that one rogue does not bend, and who stands off it */
#include "rodbook/lineup.h"

double atan2(double y, double x);

#define CUT 2.5          /* scales; Rousseeuw and Leroy (1987) */
#define ALIKE 1e-6       /* relative: rounding stays far below it, and no measurement tells two posts apart by it */
#define TO_SIGMA 1.4826  /* of the median of |x|: 1 / the normal value that 3/4 lie below */

static double
size_of(double v)
{
    return v < 0 ? -v : v;
}

/* ---- medians ---- */

static void
sift(double *v, size_t i, size_t n)
{
    double one = v[i];
    for (size_t child; (child = 2 * i + 1) < n; i = child) {
        if (child + 1 < n && v[child + 1] > v[child])
            child++;
        if (v[child] <= one)
            break;
        v[i] = v[child];
    }
    v[i] = one;
}

static void
sort(double *v, size_t n)
{
    for (size_t i = n / 2; i-- > 0;)
        sift(v, i, n);
    for (size_t end = n; end-- > 1;) {
        double top = v[0];
        v[0] = v[end];
        v[end] = top;
        sift(v, 0, end);
    }
}

/* Of v[n], which is put in order. */
static double
median(double *v, size_t n)
{
    sort(v, n);
    return n % 2 == 1 ? v[n / 2] : v[n / 2 - 1] + (v[n / 2] - v[n / 2 - 1]) / 2;
}

static void
repeated_median(const double *place, const double *offset, size_t n, double *room, struct site_lineup *line)
{
    double *slope = room, *of_post = room + n;
    for (size_t i = 0; i < n; i++) {
        size_t k = 0;
        for (size_t j = 0; j < n; j++)
            if (j != i)
                slope[k++] = (offset[j] - offset[i]) / (place[j] - place[i]);
        of_post[i] = median(slope, k);
    }
    line->robust_slope = median(of_post, n);
    for (size_t i = 0; i < n; i++)
        slope[i] = offset[i] - line->robust_slope * place[i];
    line->robust_at = median(slope, n);
}

/* ---- least squares over some ---- */

struct fit {
    size_t posts;
    double weight, place, offset; /* sum of weights; weighted means */
    double slope, spread;         /* spread: weighted sum of squares of the places about their mean */
    double sum;                   /* weighted sum of squares of the residuals */
};

/* Over the posts that do not stand out, less post `but` (n: none). */
static void
fit_kept(const double *place, const double *offset, const double *error, size_t n, const struct site_lineup_post *post,
    size_t but, struct fit *f)
{
    double cross = 0;
    *f = (struct fit){ .posts = 0 };
    for (size_t i = 0; i < n; i++) {
        if (post[i].out || i == but)
            continue;
        double w = 1 / (error[i] * error[i]);
        f->posts++;
        f->weight += w;
        f->place += (place[i] - f->place) * (w / f->weight);
        f->offset += (offset[i] - f->offset) * (w / f->weight);
    }
    for (size_t i = 0; i < n; i++) {
        if (post[i].out || i == but)
            continue;
        double w = 1 / (error[i] * error[i]), p = place[i] - f->place;
        f->spread += w * p * p;
        cross += w * p * (offset[i] - f->offset);
    }
    f->slope = f->spread > 0 ? cross / f->spread : 0;
    for (size_t i = 0; i < n; i++) {
        if (post[i].out || i == but)
            continue;
        double r = (offset[i] - f->offset - f->slope * (place[i] - f->place)) / error[i];
        f->sum += r * r;
    }
}

static double
off_fit(const struct fit *f, double place, double offset)
{
    return offset - f->offset - f->slope * (place - f->place);
}

/* ---- who stands out ---- */

static void
first_cut(const double *place, const double *offset, const double *error, size_t n, double *room,
    const struct site_lineup *line, struct site_lineup_post *post)
{
    for (size_t i = 0; i < n; i++) {
        double r = (offset[i] - line->robust_at - line->robust_slope * place[i]) / error[i];
        room[i] = post[i].off = size_of(r);
    }
    double scale = TO_SIGMA * (1 + 5 / (double)(n - 2)) * median(room, n);
    if (scale < 1)
        scale = 1;
    for (size_t i = 0; i < n; i++)
        post[i].out = post[i].off > CUT * scale;
}

/* One post against the others that are kept: its deviation over what it may be; 0 where nothing can be said. */
static double
beyond(const double *place, const double *offset, const double *error, size_t n, const struct site_lineup_limits *limits,
    struct site_lineup_post *post, size_t i)
{
    struct fit f;
    fit_kept(place, offset, error, n, post, i, &f);
    post[i].error = -1;
    post[i].others = 0;
    if (f.posts < 2)
        return 0;
    double p = place[i] - f.place;
    post[i].others = off_fit(&f, place[i], offset[i]);
    post[i].error = __builtin_sqrt(error[i] * error[i] + 1 / f.weight + p * p / f.spread);
    if (f.posts < 3 || n < 4 || !limits)
        return 0;
    size_t df = f.posts - 2;
    bool explained = f.sum <= limits->chisq[df];
    double limit = explained ? limits->normal : limits->student[df] * __builtin_sqrt(f.sum / (double)df);
    return size_of(post[i].others) / (limit * post[i].error);
}

/* The one that is kept and farthest beyond its limit; n where nobody is, or two are so alike that neither can be named. */
static size_t
worst_kept(const double *ratio, const struct site_lineup_post *post, size_t n)
{
    size_t worst = n;
    double most = 1, next = 1;
    for (size_t i = 0; i < n; i++) {
        if (post[i].out || !(ratio[i] > next))
            continue;
        next = ratio[i];
        if (ratio[i] > most) {
            next = most;
            most = ratio[i];
            worst = i;
        }
    }
    return next > 1 && most - next < ALIKE * most ? n : worst;
}

/* True where somebody else stands out than before: those that do not any more come back, and the worst of the others goes. */
static bool
name_one(const double *place, const double *offset, const double *error, size_t n, const struct site_lineup_limits *limits,
    double *ratio, struct site_lineup_post *post)
{
    bool changed = false;
    for (size_t i = 0; i < n; i++)
        ratio[i] = beyond(place, offset, error, n, limits, post, i);
    size_t worst = worst_kept(ratio, post, n);
    for (size_t i = 0; i < n; i++) {
        bool out = i == worst || (post[i].out && ratio[i] > 1);
        changed |= out != post[i].out;
        post[i].out = out;
    }
    return changed;
}

/*
 * Another that may be off in the stead of post i, which stands out: without that one, and with i, the rest is nearly as
 * much in line. The one that leaves the least; n where there is none.
 */
static size_t
rival_of(const double *place, const double *offset, const double *error, size_t n, const struct site_lineup_limits *limits,
    struct site_lineup_post *post, size_t i)
{
    struct fit f;
    size_t rival = n;
    fit_kept(place, offset, error, n, post, n, &f);
    double df = (double)f.posts - 2, scale = f.posts > 2 && f.sum > limits->chisq[f.posts - 2] ? f.sum / df : 1;
    double most = f.sum + limits->odds * scale;
    post[i].out = false; /* for now */
    for (size_t j = 0; j < n; j++) {
        if (post[j].out || j == i)
            continue;
        fit_kept(place, offset, error, n, post, j, &f);
        if (!(f.sum < most))
            continue;
        rival = j;
        most = f.sum;
    }
    post[i].out = true;
    return rival;
}

static bool
is_sound(const double *place, const double *offset, const double *error, size_t n)
{
    const double most = 1e9; /* m; so that NaN and infinities fail */
    for (size_t i = 0; i < n; i++) {
        if (!(size_of(place[i]) <= most && size_of(offset[i]) <= most && error[i] > 0 && error[i] <= most))
            return false;
        if (i > 0 && !(place[i] > place[i - 1]))
            return false;
    }
    return true;
}

enum site_lineup_status
site_lineup(const double *place, const double *offset, const double *error, size_t n,
    const struct site_lineup_limits *limits, double *room, struct site_lineup *line, struct site_lineup_post *post)
{
    if (n < 2)
        return SITE_LINEUP_EFEW;
    if (!is_sound(place, offset, error, n))
        return SITE_LINEUP_EPLACE;
    for (size_t i = 0; i < n; i++)
        post[i] = (struct site_lineup_post){ .out = false };
    repeated_median(place, offset, n, room, line);
    if (n >= 4 && limits)
        first_cut(place, offset, error, n, room, line, post);
    for (size_t round = 0; round < n + SITE_LINEUP_ROUNDS && name_one(place, offset, error, n, limits, room, post); round++)
        ;
    for (size_t i = 0; i < n; i++)
        post[i].rival = post[i].out ? rival_of(place, offset, error, n, limits, post, i) : n;
    struct fit f;
    fit_kept(place, offset, error, n, post, n, &f);
    line->slope = f.slope;
    line->at = f.offset - f.slope * f.place;
    line->kept = f.posts;
    line->crowded = n - f.posts > site_lineup_most(n);
    line->sum = f.sum;
    line->weight = f.weight;
    line->place = f.place;
    line->spread = f.spread;
    line->scale = f.posts > 2 ? __builtin_sqrt(f.sum / (double)(f.posts - 2)) : -1;
    for (size_t i = 0; i < n; i++)
        post[i].off = off_fit(&f, place[i], offset[i]);
    return SITE_LINEUP_OK;
}

size_t
site_lineup_most(size_t n)
{
    return n < 4 ? 0 : n / 2 - 1;
}

double
site_lineup_error(const struct site_lineup *line, double place)
{
    double p = place - line->place;
    return __builtin_sqrt(1 / line->weight + p * p / line->spread);
}

double
site_lineup_middle(const double place[3], const double offset[3], const double error[3], double *error_of)
{
    double f = (place[1] - place[0]) / (place[2] - place[0]), e = 1 - f;
    *error_of = __builtin_sqrt(error[1] * error[1] + e * e * error[0] * error[0] + f * f * error[2] * error[2]);
    return offset[1] - (e * offset[0] + f * offset[2]);
}

double
site_lineup_plumb(double rise, double over)
{
    return atan2(rise, over);
}
