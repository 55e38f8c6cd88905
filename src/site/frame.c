#include "rodbook/frame.h"
#include "rodbook/dense.h"

#include "math.h"

#define P SITE_FRAME_UNKNOWNS

static const unsigned char end[SITE_FRAME_PAIRS][2] = { { 0, 1 }, { 1, 2 }, { 3, 2 }, { 0, 3 }, { 0, 2 }, { 1, 3 } };

/* Where x and y of a corner stand among the unknowns; -1 where they are held. */
static const signed char x_at[4] = { -1, 0, 1, 3 }, y_at[4] = { -1, -1, 2, 4 };

static enum site_frame_pair
pair_of(unsigned a, unsigned b)
{
    unsigned p = 0;
    while (!((end[p][0] == a && end[p][1] == b) || (end[p][0] == b && end[p][1] == a)))
        p++;
    return (enum site_frame_pair)p;
}

/* ---- quantities of a frame ---- */

static void
add_to(struct site_frame_value *v, signed char at, double share)
{
    if (at >= 0)
        v->by[at] += share;
}

static struct site_frame_value
length_between(const double x[4], const double y[4], enum site_frame_pair pair)
{
    unsigned a = end[pair][0], b = end[pair][1];
    double dx = x[b] - x[a], dy = y[b] - y[a];
    struct site_frame_value v = { .value = hypot(dx, dy) };
    double ux = v.value > 0 ? dx / v.value : 0, uy = v.value > 0 ? dy / v.value : 0;
    add_to(&v, x_at[b], ux);
    add_to(&v, y_at[b], uy);
    add_to(&v, x_at[a], -ux);
    add_to(&v, y_at[a], -uy);
    return v;
}

struct site_frame_value
site_frame_length_of(const struct site_frame *f, enum site_frame_pair pair)
{
    return length_between(f->x, f->y, pair);
}

/* Adds the direction from k to m, and how it turns with both, `sign` times. */
static void
add_direction(struct site_frame_value *v, const struct site_frame *f, unsigned k, unsigned m, double sign)
{
    double dx = f->x[m] - f->x[k], dy = f->y[m] - f->y[k], square = dx * dx + dy * dy;
    add_to(v, x_at[m], sign * -dy / square);
    add_to(v, y_at[m], sign * dx / square);
    add_to(v, x_at[k], sign * dy / square);
    add_to(v, y_at[k], sign * -dx / square);
}

struct site_frame_value
site_frame_angle_of(const struct site_frame *f, unsigned corner)
{
    unsigned before = (corner + 3) % 4, after = (corner + 1) % 4;
    double ax = f->x[after] - f->x[corner], ay = f->y[after] - f->y[corner];
    double bx = f->x[before] - f->x[corner], by = f->y[before] - f->y[corner];
    double cross = ax * by - ay * bx, sign = cross < 0 ? -1 : 1;
    struct site_frame_value v = { .value = atan2(sign * cross, ax * bx + ay * by) };
    add_direction(&v, f, corner, before, sign);
    add_direction(&v, f, corner, after, -sign);
    return v;
}

struct site_frame_value
site_frame_x_of(const struct site_frame *f, unsigned corner)
{
    struct site_frame_value v = { .value = f->x[corner] };
    add_to(&v, x_at[corner], 1);
    return v;
}

struct site_frame_value
site_frame_y_of(const struct site_frame *f, unsigned corner)
{
    struct site_frame_value v = { .value = f->y[corner] };
    add_to(&v, y_at[corner], 1);
    return v;
}

struct site_frame_value
site_frame_add(double a, const struct site_frame_value *one, double b, const struct site_frame_value *other)
{
    struct site_frame_value v = { .value = a * one->value + b * other->value };
    for (int i = 0; i < P; i++)
        v.by[i] = a * one->by[i] + b * other->by[i];
    return v;
}

/* a C b' */
static double
through(const double *cov, const double *a, const double *b)
{
    double sum = 0;
    for (int i = 0; i < P; i++)
        for (int k = 0; k < P; k++)
            sum += a[i] * cov[i * P + k] * b[k];
    return sum;
}

double
site_frame_sigma(const struct site_frame *f, const struct site_frame_value *v)
{
    double variance = through(f->cov, v->by, v->by);
    return variance > 0 ? sqrt(variance) : 0;
}

struct site_frame_value
site_frame_slide(const struct site_frame *f)
{
    struct site_frame_value first = site_frame_length_of(f, SITE_FRAME_FIRST), other = site_frame_length_of(f, SITE_FRAME_OTHER);
    struct site_frame_value base = site_frame_length_of(f, SITE_FRAME_BASE), far = site_frame_length_of(f, SITE_FRAME_FAR);
    struct site_frame_value both = site_frame_add(1, &base, 1, &far);
    double s = (other.value - first.value) * (other.value + first.value) / (2 * both.value);
    struct site_frame_value v = { .value = s };
    for (int i = 0; i < P; i++)
        v.by[i] = (2 * other.value * other.by[i] - 2 * first.value * first.by[i]) / (2 * both.value) - s * both.by[i] / both.value;
    return v;
}

/* ---- a start: two triangles on one pair ---- */

/* The mean of each pair, by weight; 0 where it was not taped. Their count. */
static int
means(const struct site_frame_length *l, size_t n, double mean[SITE_FRAME_PAIRS])
{
    double weight[SITE_FRAME_PAIRS] = { 0 };
    int taped = 0;
    for (int p = 0; p < SITE_FRAME_PAIRS; p++)
        mean[p] = 0;
    for (size_t i = 0; i < n; i++) {
        double w = 1 / (l[i].sigma * l[i].sigma);
        mean[l[i].pair] += w * l[i].length;
        weight[l[i].pair] += w;
    }
    for (int p = 0; p < SITE_FRAME_PAIRS; p++) {
        taped += weight[p] > 0;
        mean[p] = weight[p] > 0 ? mean[p] / weight[p] : 0;
    }
    return taped;
}

double
site_frame_open(const struct site_frame_length *l, size_t n, enum site_frame_pair pair[3])
{
    double mean[SITE_FRAME_PAIRS], worst = 0;
    (void)means(l, n, mean);
    for (unsigned left_out = 0; left_out < 4; left_out++) {
        unsigned a = (left_out + 1) % 4, b = (left_out + 2) % 4, c = (left_out + 3) % 4;
        const enum site_frame_pair side[3] = { pair_of(a, b), pair_of(b, c), pair_of(a, c) };
        double all = mean[side[0]] + mean[side[1]] + mean[side[2]];
        bool taped = mean[side[0]] > 0 && mean[side[1]] > 0 && mean[side[2]] > 0;
        for (int k = 0; k < 3 && taped; k++) {
            double by = 2 * mean[side[k]] - all;
            if (!(by > worst))
                continue;
            worst = by;
            pair[0] = side[k];
            pair[1] = side[(k + 1) % 3];
            pair[2] = side[(k + 2) % 3];
        }
    }
    return worst;
}

/* Corner c of the triangle on a (at 0, 0) and b (at ab, 0). False where the three do not close. */
static bool
place_third(double ab, double ac, double bc, double *x, double *y)
{
    double along = (ab * ab + (ac - bc) * (ac + bc)) / (2 * ab), up = ac * ac - along * along;
    if (!(up > 0))
        return false;
    *x = along;
    *y = sqrt(up);
    return true;
}

/* Turned so that 0 is at the origin, 1 on the x axis, and the corners go round as asked. */
static void
put_on_datum(double x[4], double y[4], bool left)
{
    double area = 0, ox = x[0], oy = y[0], length = hypot(x[1] - ox, y[1] - oy);
    double c = (x[1] - ox) / length, s = (y[1] - oy) / length;
    for (unsigned k = 0; k < 4; k++)
        area += x[k] * y[(k + 1) % 4] - x[(k + 1) % 4] * y[k];
    double flip = (area > 0) == left ? 1 : -1;
    for (unsigned k = 0; k < 4; k++) {
        double dx = x[k] - ox, dy = y[k] - oy;
        x[k] = c * dx + s * dy;
        y[k] = flip * (c * dy - s * dx);
    }
    y[0] = y[1] = x[0] = 0;
}

/* A convex frame has both other corners on the same side of a side, and on two sides of a diagonal. */
static bool
start_on(enum site_frame_pair pair, const double mean[SITE_FRAME_PAIRS], bool left, double x[4], double y[4])
{
    unsigned a = end[pair][0], b = end[pair][1], other[2], n = 0;
    for (unsigned k = 0; k < 4; k++)
        if (k != a && k != b)
            other[n++] = k;
    double ab = mean[pair];
    if (!(ab > 0))
        return false;
    x[a] = y[a] = y[b] = 0;
    x[b] = ab;
    for (unsigned k = 0; k < 2; k++) {
        double ac = mean[pair_of(a, other[k])], bc = mean[pair_of(b, other[k])];
        if (!(ac > 0 && bc > 0) || !place_third(ab, ac, bc, &x[other[k]], &y[other[k]]))
            return false;
    }
    if (pair == SITE_FRAME_FIRST || pair == SITE_FRAME_OTHER)
        y[other[1]] = -y[other[1]];
    if (!(hypot(x[1] - x[0], y[1] - y[0]) > 0))
        return false;
    put_on_datum(x, y, left);
    return true;
}

static double
sum_of(const struct site_frame_length *l, size_t n, const double x[4], const double y[4])
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        double v = (length_between(x, y, l[i].pair).value - l[i].length) / l[i].sigma;
        sum += v * v;
    }
    return sum;
}

static bool
start(const struct site_frame_length *l, size_t n, const double mean[SITE_FRAME_PAIRS], bool left, double x[4], double y[4])
{
    bool found = false;
    double least = 0;
    for (int p = 0; p < SITE_FRAME_PAIRS; p++) {
        double tx[4], ty[4];
        if (!start_on((enum site_frame_pair)p, mean, left, tx, ty))
            continue;
        double sum = sum_of(l, n, tx, ty);
        if (found && !(sum < least))
            continue;
        found = true;
        least = sum;
        for (int k = 0; k < 4; k++) {
            x[k] = tx[k];
            y[k] = ty[k];
        }
    }
    return found;
}

/* ---- the fit ---- */

struct work {
    double *a, *y, *w; /* [n][5], [n], [n] */
};

static void
linearise(const struct site_frame_length *l, size_t n, const double x[4], const double y[4], struct work *work)
{
    for (size_t i = 0; i < n; i++) {
        struct site_frame_value v = length_between(x, y, l[i].pair);
        for (int k = 0; k < P; k++)
            work->a[i * P + (size_t)k] = v.by[k];
        work->y[i] = l[i].length - v.value;
        work->w[i] = 1 / (l[i].sigma * l[i].sigma);
    }
}

static void
step_by(const double step[P], double share, const double x[4], const double y[4], double tx[4], double ty[4])
{
    for (int k = 0; k < 4; k++) {
        tx[k] = x[k] + (x_at[k] >= 0 ? share * step[x_at[k]] : 0);
        ty[k] = y[k] + (y_at[k] >= 0 ? share * step[y_at[k]] : 0);
    }
}

static double
largest(const double step[P])
{
    double most = 0;
    for (int k = 0; k < P; k++)
        most = fabs(step[k]) > most ? fabs(step[k]) : most;
    return most;
}

#define ROUNDS 200
#define HALVINGS 40

/* Goes on from x, y to the least sum. */
static enum site_frame_status
descend(const struct site_frame_length *l, size_t n, struct work *work, struct site_frame *f)
{
    for (int round = 0; round < ROUNDS; round++) {
        double step[P], left, tx[4], ty[4], share = 1;
        size_t rank;
        linearise(l, n, f->x, f->y, work);
        if (dense_fit(work->a, work->y, work->w, n, P, step, f->cov, &left, &rank) != 0)
            return SITE_FRAME_EMEMORY;
        if (rank < P)
            return SITE_FRAME_EFLAT;
        f->sum = sum_of(l, n, f->x, f->y);
        if (largest(step) < 1e-12 * f->x[1])
            return SITE_FRAME_OK;
        int halved = 0;
        for (step_by(step, share, f->x, f->y, tx, ty); !(sum_of(l, n, tx, ty) < f->sum) && halved < HALVINGS; halved++)
            step_by(step, share /= 2, f->x, f->y, tx, ty);
        if (halved == HALVINGS)
            return SITE_FRAME_OK; /* no step makes it less: it is as small as rounding lets it be */
        for (int k = 0; k < 4; k++) {
            f->x[k] = tx[k];
            f->y[k] = ty[k];
        }
    }
    return SITE_FRAME_EFLAT;
}

#define CHECKED 1e-9 /* redundancy numbers below this are rounding */

static void
fitted_of(const struct site_frame_length *l, size_t n, const struct site_frame *f, struct site_frame_fitted *of)
{
    for (size_t i = 0; i < n; i++) {
        struct site_frame_value v = length_between(f->x, f->y, l[i].pair);
        double r = 1 - through(f->cov, v.by, v.by) / (l[i].sigma * l[i].sigma), residual = v.value - l[i].length;
        r = r > CHECKED ? r : 0;
        of[i] = (struct site_frame_fitted){ residual, r, r > 0 ? residual / (l[i].sigma * sqrt(r)) : 0 };
    }
}

enum site_frame_status
site_frame_fit(const struct site_frame_length *l, size_t n, bool left, double *work, struct site_frame *f, struct site_frame_fitted *of)
{
    double mean[SITE_FRAME_PAIRS];
    struct site_frame frame = { .sum = 0 };
    struct work at = { work, work + P * n, work + (P + 1) * n };
    if (means(l, n, mean) < P)
        return SITE_FRAME_EFEW;
    if (!start(l, n, mean, left, frame.x, frame.y))
        return SITE_FRAME_EOPEN;
    enum site_frame_status s = descend(l, n, &at, &frame);
    if (s != SITE_FRAME_OK)
        return s;
    frame.redundancy = n - P;
    fitted_of(l, n, &frame, of);
    *f = frame;
    return SITE_FRAME_OK;
}

double
site_frame_alike(const struct site_frame *f, const struct site_frame_length *a, const struct site_frame_length *b)
{
    struct site_frame_value u = length_between(f->x, f->y, a->pair), v = length_between(f->x, f->y, b->pair);
    double qa = a->sigma * a->sigma - through(f->cov, u.by, u.by), qb = b->sigma * b->sigma - through(f->cov, v.by, v.by);
    if (!(qa > CHECKED * a->sigma * a->sigma && qb > CHECKED * b->sigma * b->sigma))
        return 0;
    return -through(f->cov, u.by, v.by) / sqrt(qa * qb);
}

bool
site_triangle_angle(double a, double b, double c, double *angle, double by[3])
{
    /* four times its area: Heron's product of four factors, each of which is above 0 where the three close */
    double product = (a + b + c) * (a + b - c) * (a - b + c) * (b - a + c);
    if (!(a > 0 && b > 0 && c > 0 && a + b > c && a + c > b && b + c > a && product > 0))
        return false;
    double area = sqrt(product), twice = a * a + b * b - c * c; /* 2 a b sin, 2 a b cos */
    *angle = atan2(area, twice);
    by[2] = 2 * c / area;
    by[0] = -2 * (a - b * (twice / (2 * a * b))) / area; /* c^2 = a^2 + b^2 - 2 a b cos, differentiated */
    by[1] = -2 * (b - a * (twice / (2 * a * b))) / area;
    return true;
}
