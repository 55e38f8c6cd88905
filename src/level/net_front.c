/*
 * Fronts on contiguous arrays. A front of `width` nodes and `rows` later ones
 * is a block of `width` columns, each of width + rows; what it joins among its
 * rows lies beside it, column by column below the diagonal, on the stack.
 */
#include "net_parts.h"

/* ---- columns ---- */

/* y[i] += sum over k of c[k * step] x[k * apart + i] */
static void
add_columns(double *restrict y, const double *restrict x, size_t apart, const double *c, size_t step, size_t count, size_t n)
{
    size_t k = 0;
    for (; k + 4 <= count; k += 4) {
        const double *restrict x0 = x + k * apart, *restrict x1 = x0 + apart, *restrict x2 = x1 + apart, *restrict x3 = x2 + apart;
        double c0 = c[k * step], c1 = c[(k + 1) * step], c2 = c[(k + 2) * step], c3 = c[(k + 3) * step];
        for (size_t i = 0; i < n; i++)
            y[i] += (c0 * x0[i] + c1 * x1[i]) + (c2 * x2[i] + c3 * x3[i]);
    }
    for (; k < count; k++) {
        const double *restrict x0 = x + k * apart;
        double c0 = c[k * step];
        for (size_t i = 0; i < n; i++)
            y[i] += c0 * x0[i];
    }
}

static double
sum_products(const double *x, const double *y, size_t n)
{
    double a = 0, b = 0;
    size_t i = 0;
    for (; i + 2 <= n; i += 2) {
        a += x[i] * y[i];
        b += x[i + 1] * y[i + 1];
    }
    if (i < n)
        a += x[i] * y[i];
    return a + b;
}

static double
sum(const double *x, size_t n)
{
    double a = 0, b = 0;
    size_t i = 0;
    for (; i + 2 <= n; i += 2) {
        a += x[i];
        b += x[i + 1];
    }
    if (i < n)
        a += x[i];
    return a + b;
}

/* ---- the way up ---- */

static size_t
size_of(const struct net_front *front)
{
    return (size_t)front->width + front->rows;
}

static size_t
pairs_of(const struct net_front *front)
{
    return front->rows == 0 ? 0 : (size_t)front->rows * (front->rows - 1) / 2;
}

/* The first entry below the diagonal of column j, in the block or among the rows' pairs. */
static double *
below_diagonal(const struct net_front *front, double *block, double *pairs, size_t j)
{
    if (j < front->width)
        return block + j * size_of(front) + j + 1;
    size_t k = j - front->width, m = front->rows;
    return pairs + k * (m - 1) - k * (k - 1) / 2;
}

static uint32_t
place_of(const struct net_factor *f, const struct net_front *front, uint32_t step)
{
    return step < front->first + front->width ? step - front->first : f->where[step - f->thin];
}

static void
set_places(const struct net_factor *f, const struct net_front *front)
{
    const uint32_t *row = f->rows + front->row_at;
    for (uint32_t i = 0; i < front->rows; i++)
        f->where[row[i] - f->thin] = front->width + i;
}

static void
take_ties(const struct net_factor *f, const struct net_front *front, double *block)
{
    size_t n = size_of(front);
    for (uint32_t t = 0; t < front->width; t++)
        for (uint32_t e = f->start[front->first + t]; e < f->start[front->first + t + 1]; e++)
            block[t * n + place_of(f, front, f->row[e])] = f->share[e];
}

/* What a front below has joined. */
static void
take_pairs(struct net_factor *f, const struct net_front *front, double *block, double *pairs, const struct net_front *below,
    const double *theirs)
{
    uint32_t *place = f->place + below->row_at, m = below->rows;
    for (uint32_t i = 0; i < m; i++)
        place[i] = place_of(f, front, f->rows[below->row_at + i]);
    for (uint32_t j = 0; j + 1 < m; j++) {
        double *to = below_diagonal(front, block, pairs, place[j]);
        uint32_t shift = place[j] + 1;
        for (uint32_t i = j + 1; i < m; i++)
            to[place[i] - shift] += *theirs++;
    }
}

/* Column t: its whole weight, shares, what the ground's goes on to; its weights are kept beside, for what it joins. */
static void
eliminate_column(struct net_factor *f, const struct net_front *front, double *column, double *weight, size_t t)
{
    size_t n = size_of(front);
    uint32_t step = front->first + (uint32_t)t;
    const uint32_t *row = f->rows + front->row_at;
    double g = f->ground[step], whole = g + sum(column + t + 1, n - t - 1);
    memcpy(weight + t + 1, column + t + 1, (n - t - 1) * sizeof *weight);
    f->whole[step] = whole;
    f->ground[step] = g / whole;
    for (size_t i = t + 1; i < n; i++)
        column[i] /= whole;
    if (!(g > 0))
        return;
    for (size_t i = t + 1; i < front->width; i++)
        f->ground[front->first + i] += column[i] * g;
    for (size_t i = front->width; i < n; i++)
        f->ground[row[i - front->width]] += column[i] * g;
}

static void
eliminate_front(struct net_factor *f, const struct net_front *front, double *block, double *pairs, double *panel)
{
    size_t n = size_of(front), p = front->width;
    for (size_t first = 0, end; first < p; first = end) {
        end = first + NET_PANEL < p ? first + NET_PANEL : p;
        for (size_t t = first; t < end; t++) {
            double *weight = panel + (t - first) * n;
            add_columns(block + t * n + t + 1, block + first * n + t + 1, n, panel + t, n, t - first, n - t - 1);
            eliminate_column(f, front, block + t * n, weight, t);
        }
        for (size_t j = end; j + 1 < n; j++)
            add_columns(below_diagonal(front, block, pairs, j), block + first * n + j + 1, n, panel + j, n, end - first, n - j - 1);
    }
}

void
net_fronts_eliminate(struct net_factor *f, double *stack, double *panel)
{
    double *top = stack;
    if (f->fronts > 0)
        memset(f->block, 0, (size_t)f->block_count * sizeof *f->block);
    for (uint32_t s = 0; s < f->fronts; s++) {
        const struct net_front *front = &f->front[s];
        double *block = f->block + front->share_at, *pairs = top, *base = top;
        size_t own = pairs_of(front);
        for (uint32_t c = front->child; c != NONE; c = f->front[c].next)
            base -= pairs_of(&f->front[c]);
        memset(pairs, 0, own * sizeof *pairs);
        set_places(f, front);
        take_ties(f, front, block);
        const double *theirs = base;
        for (uint32_t c = front->child; c != NONE; c = f->front[c].next) {
            take_pairs(f, front, block, pairs, &f->front[c], theirs);
            theirs += pairs_of(&f->front[c]);
        }
        eliminate_front(f, front, block, pairs, panel);
        memmove(base, pairs, own * sizeof *pairs);
        top = base + own;
    }
}

/* ---- the way down ---- */

/* Of the nodes and rows of a front: covariances and variances of differences, n by n, and variances. */
struct sheet {
    double *z, *r, *own;
    size_t n;
};

static void
take_rows(struct sheet to, const struct net_front *front, const double *z, const double *r, size_t apart, const uint32_t *place)
{
    size_t p = front->width;
    for (uint32_t j = 0; j < front->rows; j++) {
        const double *zj = z + place[j] * apart, *rj = r + place[j] * apart;
        double *zto = to.z + (p + j) * to.n + p, *rto = to.r + (p + j) * to.n + p;
        for (uint32_t i = 0; i < front->rows; i++) {
            zto[i] = zj[place[i]];
            rto[i] = rj[place[i]];
        }
    }
}

/* Columns first to end of a sheet, as far as those from `end` on go into them. */
static void
multiply(double *x, const double *share, size_t n, size_t first, size_t end)
{
    for (size_t t = first; t < end; t++)
        memset(x + t * n + end, 0, (n - end) * sizeof *x);
    for (size_t j = end; j < n; j += 4) /* four of them stay near while they go into all */
        for (size_t t = first; t < end; t++)
            add_columns(x + t * n + end, x + j * n + end, n, share + t * n + j, 1, n - j < 4 ? n - j : 4, n - end);
}

/* The rest of column t, from the columns after it up to `end`. */
static void
complete(double *x, const double *share, size_t n, size_t t, size_t end)
{
    const double *l = share + t * n + t + 1;
    add_columns(x + t * n + end, x + (t + 1) * n + end, n, l, 1, end - t - 1, n - end);
    for (size_t i = t + 1; i < end; i++)
        x[t * n + i] = sum_products(x + i * n + t + 1, l, n - t - 1);
}

static void
mirror(double *x, size_t n, size_t t)
{
    for (size_t i = t + 1; i < n; i++)
        x[i * n + t] = x[t * n + i];
}

/* With y_i = sum_j l_j R_ij, the ground among the j:  R_ki = 1/W + y_i - q,  2 q = sum_i l_i y_i  with the ground's. */
static void
finish_differences(struct sheet sheet, const double *l, double alone, double ground, size_t t)
{
    size_t n = sheet.n, rest = n - t - 1;
    double *r = sheet.r + t * n + t + 1;
    const double *own = sheet.own + t + 1;
    double q = sum_products(l, r, rest) / 2;
    if (ground > 0) {
        q += ground * sum_products(l, own, rest);
        for (size_t i = 0; i < rest; i++)
            r[i] += ground * own[i];
    }
    for (size_t i = 0; i < rest; i++)
        r[i] = r[i] - q + alone;
    sheet.r[t * n + t] = 0;
}

static void
finish_column(struct net_factor *f, const struct net_front *front, struct sheet sheet, const double *share, size_t t)
{
    size_t n = sheet.n;
    uint32_t step = front->first + (uint32_t)t;
    const double *l = share + t * n + t + 1;
    double alone = 1 / f->whole[step];
    double own = alone + sum_products(l, sheet.z + t * n + t + 1, n - t - 1);
    sheet.z[t * n + t] = sheet.own[t] = f->own[step] = own;
    finish_differences(sheet, l, alone, f->ground[step], t);
    mirror(sheet.z, n, t);
    mirror(sheet.r, n, t);
}

static void
invert_front(struct net_factor *f, const struct net_front *front, struct sheet sheet)
{
    const double *share = f->block + front->share_at;
    const uint32_t *row = f->rows + front->row_at;
    for (uint32_t i = 0; i < front->rows; i++)
        sheet.own[front->width + i] = f->own[row[i]];
    for (size_t end = front->width, first; end > 0; end = first) {
        first = (end - 1) / NET_PANEL * NET_PANEL;
        multiply(sheet.z, share, sheet.n, first, end);
        multiply(sheet.r, share, sheet.n, first, end);
        for (size_t t = end; t-- > first;) {
            complete(sheet.z, share, sheet.n, t, end);
            complete(sheet.r, share, sheet.n, t, end);
            finish_column(f, front, sheet, share, t);
        }
    }
}

/* What neighbours are asked for, before the sheet goes. */
static void
keep_neighbours(struct net_factor *f, const struct net_front *front, struct sheet sheet)
{
    set_places(f, front);
    for (uint32_t t = 0; t < front->width; t++)
        for (uint32_t e = f->start[front->first + t]; e < f->start[front->first + t + 1]; e++) {
            size_t at = t * sheet.n + place_of(f, front, f->row[e]);
            f->z[e] = sheet.z[at];
            f->r[e] = sheet.r[at];
        }
}

/* A front's sheets stay on the stack until its first child, the last on this way, has taken its rows from them. */
void
net_fronts_invert(struct net_factor *f, double *stack, double *spare)
{
    double *top = stack;
    for (uint32_t s = f->fronts; s-- > 0;) {
        const struct net_front *front = &f->front[s];
        size_t n = size_of(front);
        struct sheet sheet = { top, top + n * n, spare, n };
        double *base = top;
        if (front->into != NONE) {
            const struct net_front *above = &f->front[front->into];
            size_t m = size_of(above);
            const double *z = top - 2 * m * m, *r = z + m * m;
            take_rows(sheet, front, z, r, m, f->place + front->row_at);
            if (above->child == s)
                base -= 2 * m * m;
        }
        invert_front(f, front, sheet);
        keep_neighbours(f, front, sheet);
        top = base;
        if (front->child == NONE)
            continue;
        if (base != sheet.z)
            memmove(base, sheet.z, 2 * n * n * sizeof *base);
        top = base + 2 * n * n;
    }
}

/* ---- solving ---- */

void
net_fronts_forward(const struct net_factor *f, double *b)
{
    for (uint32_t s = 0; s < f->fronts; s++) {
        const struct net_front *front = &f->front[s];
        const double *share = f->block + front->share_at;
        const uint32_t *row = f->rows + front->row_at;
        size_t n = size_of(front), p = front->width;
        double *own = b + front->first, *to = f->gather;
        memset(to, 0, front->rows * sizeof *to);
        for (size_t t = 0; t < p; t++, share += n) {
            for (size_t i = t + 1; i < p; i++)
                own[i] += share[i] * own[t];
            for (size_t i = p; i < n; i++)
                to[i - p] += share[i] * own[t];
        }
        for (uint32_t i = 0; i < front->rows; i++)
            b[row[i]] += to[i];
    }
}

void
net_fronts_back(const struct net_factor *f, double *b)
{
    for (uint32_t s = f->fronts; s-- > 0;) {
        const struct net_front *front = &f->front[s];
        const uint32_t *row = f->rows + front->row_at;
        size_t n = size_of(front), p = front->width;
        const double *share = f->block + front->share_at + p * n;
        double *own = b + front->first, *from = f->gather;
        for (uint32_t i = 0; i < front->rows; i++)
            from[i] = b[row[i]];
        for (size_t t = p; t-- > 0;) {
            share -= n;
            own[t] = own[t] / f->whole[front->first + t] +
                (sum_products(share + t + 1, own + t + 1, p - t - 1) + sum_products(share + p, from, n - p));
        }
    }
}
