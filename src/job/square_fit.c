/* square_fit.c - frames, triangles and lengths fitted, tested, and held against what they are to be */
#include "square_parts.h"

#include "rodbook/chance.h"
#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>

#define RIGHT_ANGLE 1.5707963267948966 /* radians: pi / 2 */
#define NEAR_RIGHT  0.17453292519943295 /* radians: 10 degrees; farther off, no right angle was meant */
#define AS_INTENDED 1e-4               /* radians: as of a rectangle, frame.h */
#define ALIKE       0.999              /* correlation of residuals that no test tells apart */

enum square_verdict
square_judge(const struct square *s, double off, double sigma, double tolerance)
{
    if (!(tolerance > 0))
        return SQUARE_NOT_JUDGED;
    length t = (length)llround(tolerance * (double)LENGTH_M);
    struct site_move move = site_move((length)llround(off * (double)LENGTH_M), 0, t);
    if (!(s->factor * sigma < site_decides_below(move, t)))
        return SQUARE_CANT_TELL;
    return move.leave ? SQUARE_LEAVE : SQUARE_MOVE;
}

static enum square_state
state_of(const enum square_verdict *verdict, size_t n)
{
    size_t count[4] = { 0 };
    for (size_t i = 0; i < n; i++)
        count[verdict[i]]++;
    if (count[SQUARE_MOVE] > 0)
        return SQUARE_OUTSIDE;
    if (count[SQUARE_CANT_TELL] > 0)
        return SQUARE_UNSURE;
    return count[SQUARE_NOT_JUDGED] > 0 ? SQUARE_UNJUDGED : SQUARE_GOOD;
}

/* ---- do they fit? ---- */

/* A mistake in this reading alone: how large it would be, and how small a one would be found. */
static void
test_reading(const struct square *s, struct square_reading *reading, double sigma)
{
    double r = reading->fit.redundancy, delta = 0;
    if (!(r > 0))
        return;
    if (chance_noncentral(0.001, 0.80, &delta) != CHANCE_OK)
        delta = 0; /* cannot be */
    reading->off = -reading->fit.residual / r;
    reading->off_sigma = sigma / sqrt(r);
    reading->detectable = delta * reading->off_sigma;
    reading->beyond = fabs(reading->fit.normalised) > s->limit;
}

static void
judge_sum(const struct square *s, struct square_figure *f, double sum)
{
    struct chance shares;
    f->share = 1;
    if (f->redundancy > 0 && chance_chisq(sum, f->redundancy, &shares) == CHANCE_OK)
        f->share = shares.above;
    if (f->redundancy > 0 && f->share < 1 - s->confidence)
        f->state = SQUARE_MISFIT;
}

/* The figure's readings stand together in square.reading. */
static struct square_reading *
readings_of(const struct square *s, const struct square_figure *f, size_t *n)
{
    *n = 0;
    for (uint32_t i = 0; i < f->lengths; i++)
        *n += s->length[f->first_length + i].count;
    return s->reading + s->length[f->first_length].first;
}

static size_t
most_suspect(const struct square_reading *reading, size_t n)
{
    size_t most = 0;
    for (size_t i = 1; i < n; i++)
        if (fabs(reading[i].fit.normalised) > fabs(reading[most].fit.normalised))
            most = i;
    return most;
}

static double
redundancy_of(const struct square *s, uint32_t l)
{
    const struct square_length *of = &s->length[l];
    return of->count > 0 ? s->reading[of->first].fit.redundancy : 0;
}

/* The lengths under suspicion, those first whose residuals show the most of a mistake; by their order where alike. */
static void
what_to_tape_again(const struct square *s, struct square_figure *f)
{
    for (uint32_t i = 0; i < f->lengths; i++) {
        uint32_t l = f->first_length + i;
        bool suspect = false;
        for (uint32_t k = 0; k < s->length[l].count; k++)
            suspect |= s->reading[s->length[l].first + k].suspect;
        if (!suspect)
            continue;
        size_t at = f->agains++;
        for (; at > 0 && redundancy_of(s, f->again[at - 1]) < redundancy_of(s, l) - 1e-9; at--)
            f->again[at] = f->again[at - 1];
        f->again[at] = l;
    }
}

/* ---- single lengths, and repeated tapings of one ---- */

/* Readings against their mean; the weighted sum of squares. */
static double
fit_mean(struct square *s, struct square_length *l)
{
    double sum = 0;
    for (uint32_t i = 0; i < l->count; i++) {
        struct square_reading *reading = &s->reading[l->first + i];
        double sigma = square_sigma_of(s->r, &s->r->tape[reading->row->tape]), v = l->mean - reading->c.corrected;
        double r = l->count > 1 ? 1 - (l->sigma / sigma) * (l->sigma / sigma) : 0;
        reading->fit = (struct site_frame_fitted){ v, r, r > 0 ? v / (sigma * sqrt(r)) : 0 };
        test_reading(s, reading, sigma);
        sum += (v / sigma) * (v / sigma);
    }
    return sum;
}

/* Of lengths that nothing ties to each other: only repeated tapings are checked. Two of one length look alike. */
static void
fit_means(struct square *s, struct square_figure *f)
{
    double sum = 0;
    size_t n;
    for (uint32_t i = 0; i < f->lengths; i++) {
        struct square_length *l = &s->length[f->first_length + i];
        sum += fit_mean(s, l);
        f->redundancy += l->count > 0 ? l->count - 1 : 0;
    }
    judge_sum(s, f, sum);
    if (f->state != SQUARE_MISFIT)
        return;
    struct square_reading *reading = readings_of(s, f, &n);
    size_t most = most_suspect(reading, n);
    for (uint32_t i = 0; i < f->lengths; i++) {
        const struct square_length *l = &s->length[f->first_length + i];
        size_t first = l->first - s->length[f->first_length].first;
        for (size_t k = first; k < first + l->count; k++)
            reading[k].suspect = k == most || (l->count == 2 && most >= first && most < first + 2);
        f->located |= l->count > 2 && most >= first && most < first + l->count && reading[most].beyond;
    }
    what_to_tape_again(s, f);
}

static void
judge_length(const struct square *s, struct square_length *l)
{
    if (l->intended && l->known)
        l->verdict = square_judge(s, l->adjusted - l->intent, l->sigma, l->tolerance);
}

void
square_fit_length(struct square *s, struct square_figure *f)
{
    struct square_length *l = &s->length[f->first_length];
    f->intended = l->intended;
    fit_means(s, f);
    judge_length(s, l);
    if (f->state != SQUARE_MISFIT)
        f->state = l->intended ? state_of(&l->verdict, 1) : SQUARE_UNJUDGED;
}

/* ---- triangles ---- */

static bool
triangle_angles(const struct square *s, struct square_figure *f)
{
    const struct square_length *l = &s->length[f->first_length];
    for (unsigned k = 0; k < 3; k++) {
        const struct square_length *a = &l[(k + 1) % 3], *b = &l[(k + 2) % 3];
        struct square_corner *c = &f->corner[k];
        double by[3];
        if (!site_triangle_angle(a->mean, b->mean, l[k].mean, &c->angle, by))
            return false;
        c->angle_sigma = sqrt(pow(by[0] * a->sigma, 2) + pow(by[1] * b->sigma, 2) + pow(by[2] * l[k].sigma, 2));
        c->known = true;
        c->right = RIGHT_ANGLE;
    }
    return true;
}

static void
triangle_open(const struct square *s, struct square_figure *f)
{
    const struct square_length *l = &s->length[f->first_length];
    unsigned most = 0;
    for (unsigned k = 1; k < 3; k++)
        most = l[k].mean > l[most].mean ? k : most;
    f->state = SQUARE_OPEN;
    for (unsigned k = 0; k < 3; k++)
        f->open[k] = (most + k) % 3;
    f->open_by = 2 * l[most].mean - l[0].mean - l[1].mean - l[2].mean;
}

/* The corner that is meant to be square: by the places, else the widest where it is near it. */
static unsigned
square_corner_of(const struct square *s, const struct square_figure *f)
{
    const struct square_length *l = &s->length[f->first_length];
    unsigned widest = 0;
    for (unsigned k = 0; k < 3; k++) {
        double angle, by[3];
        if (f->corner[k].angle > f->corner[widest].angle)
            widest = k;
        if (f->intended && site_triangle_angle(l[(k + 1) % 3].intent, l[(k + 2) % 3].intent, l[k].intent, &angle, by)
            && fabs(angle - RIGHT_ANGLE) < AS_INTENDED)
            return k;
    }
    return !f->intended && fabs(f->corner[widest].angle - RIGHT_ANGLE) < NEAR_RIGHT ? widest : 3;
}

/* The side across the square corner against the root of the sum of the squares of the two beside it. */
static void
judge_square_corner(const struct square *s, struct square_figure *f)
{
    unsigned k = f->square_at;
    const struct square_length *l = &s->length[f->first_length], *a = &l[(k + 1) % 3], *b = &l[(k + 2) % 3];
    struct square_corner *c = &f->corner[k];
    f->needs = hypot(a->mean, b->mean);
    f->needs_off = l[k].mean - f->needs;
    f->needs_sigma = sqrt(pow(l[k].sigma, 2) + pow(a->mean / f->needs * a->sigma, 2) + pow(b->mean / f->needs * b->sigma, 2));
    f->square = f->has_tolerance ? IN_M(s->r->tape[f->tape].tolerance) : f->needs * SQUARE_FIVE_LEG;
    f->square_verdict = square_judge(s, f->needs_off, f->needs_sigma, f->square);
    c->over = fmax(a->mean, b->mean);
    c->out = c->over * sin(c->angle - RIGHT_ANGLE);
    c->out_sigma = c->over * c->angle_sigma;
}

void
square_fit_triangle(struct square *s, struct square_figure *f)
{
    struct square_length *l = &s->length[f->first_length];
    enum square_verdict verdict[4] = { SQUARE_LEAVE, SQUARE_LEAVE, SQUARE_LEAVE, SQUARE_LEAVE };
    if (f->taped < 3) { /* two lengths that meet: each by itself */
        f->state = SQUARE_WANTING;
        fit_means(s, f);
        for (unsigned k = 0; k < 3; k++)
            judge_length(s, &l[k]);
        return;
    }
    f->intended = l[0].intended && l[1].intended && l[2].intended;
    if (!triangle_angles(s, f)) {
        triangle_open(s, f);
        return;
    }
    f->fitted = true;
    fit_means(s, f);
    f->square_at = square_corner_of(s, f);
    if (f->square_at < 3)
        judge_square_corner(s, f);
    for (unsigned k = 0; k < 3; k++) {
        judge_length(s, &l[k]);
        verdict[k] = f->intended ? l[k].verdict : SQUARE_LEAVE;
    }
    verdict[3] = f->square_at < 3 ? f->square_verdict : SQUARE_LEAVE;
    if (f->state != SQUARE_MISFIT)
        f->state = f->intended || f->square_at < 3 ? state_of(verdict, 4) : SQUARE_UNJUDGED;
}

/* ---- frames ---- */

/* The fit's lengths, in the order of the figure's readings. */
static struct site_frame_length *
frame_lengths(const struct square *s, const struct square_figure *f, size_t n)
{
    struct site_frame_length *taped = room_new(n, sizeof *taped);
    size_t at = 0;
    for (uint32_t p = 0; taped && p < SITE_FRAME_PAIRS; p++) {
        const struct square_length *l = &s->length[f->first_length + p];
        for (uint32_t i = 0; i < l->count; i++) {
            const struct square_reading *reading = &s->reading[l->first + i];
            taped[at++] = (struct site_frame_length){ (enum site_frame_pair)p, reading->c.corrected,
                square_sigma_of(s->r, &s->r->tape[reading->row->tape]) };
        }
    }
    return taped;
}

static void
find_suspects(struct square *s, struct square_figure *f, const struct site_frame_length *taped, size_t n)
{
    size_t all, most, count = 0;
    struct square_reading *reading = readings_of(s, f, &all);
    most = most_suspect(reading, n);
    for (size_t i = 0; i < n; i++) {
        reading[i].suspect = i == most || fabs(site_frame_alike(&f->frame, &taped[i], &taped[most])) >= ALIKE;
        count += reading[i].suspect;
    }
    f->located = count == 1 && reading[most].beyond;
    what_to_tape_again(s, f);
}

static void
adjusted_lengths(struct square *s, struct square_figure *f)
{
    for (uint32_t p = 0; p < SITE_FRAME_PAIRS; p++) {
        struct square_length *l = &s->length[f->first_length + p];
        struct site_frame_value v = site_frame_length_of(&f->frame, (enum site_frame_pair)p);
        double sigma = site_frame_sigma(&f->frame, &v);
        if (l->count > 0) {
            double left = 1 - (sigma / l->sigma) * (sigma / l->sigma);
            l->residual = v.value - l->mean;
            l->redundancy = left > 1e-9 ? left : 0; /* less is rounding */
        }
        l->known = true;
        l->adjusted = v.value;
        l->sigma = sigma;
    }
}

/* Angle inside at a corner of what is intended; a right one where nothing is. */
static double
intended_angle(const struct square_figure *f, unsigned k)
{
    const struct site_frame_intent *i = &f->intent;
    unsigned before = (k + 3) % 4, after = (k + 1) % 4;
    if (!f->intended)
        return RIGHT_ANGLE;
    double ax = i->x[after] - i->x[k], ay = i->y[after] - i->y[k], bx = i->x[before] - i->x[k], by = i->y[before] - i->y[k];
    return atan2(fabs(ax * by - ay * bx), ax * bx + ay * by);
}

/* Frame coordinates into the points' own: turned to the intended base line, from the first corner's place. */
static void
put_in_place(const struct square *s, const struct square_figure *f, struct square_corner *c)
{
    length x0, y0, x1, y1;
    if (!f->intended || !square_place_of(s, f->corner[0].name, &x0, &y0) || !square_place_of(s, f->corner[1].name, &x1, &y1))
        return;
    double dx = IN_M(x1 - x0), dy = IN_M(y1 - y0), base = hypot(dx, dy), x = c->x, y = c->y;
    c->x = IN_M(x0) + (dx * x - dy * y) / base;
    c->y = IN_M(y0) + (dy * x + dx * y) / base;
}

static void
frame_corners(const struct square *s, struct square_figure *f)
{
    for (unsigned k = 0; k < 4; k++) {
        struct square_corner *c = &f->corner[k];
        struct site_frame_value x = site_frame_x_of(&f->frame, k), y = site_frame_y_of(&f->frame, k),
                                angle = site_frame_angle_of(&f->frame, k);
        const struct square_length *side = &s->length[f->first_length + (k == 0 || k == 3 ? SITE_FRAME_LEFT : SITE_FRAME_RIGHT)];
        c->known = true;
        c->x = x.value;
        c->y = y.value;
        c->sigma_x = site_frame_sigma(&f->frame, &x);
        c->sigma_y = site_frame_sigma(&f->frame, &y);
        c->angle = angle.value;
        c->angle_sigma = site_frame_sigma(&f->frame, &angle);
        c->right = intended_angle(f, k);
        c->over = side->adjusted;
        c->out = c->over * sin(c->angle - c->right);
        c->out_sigma = c->over * c->angle_sigma;
        put_in_place(s, f, c);
    }
}

static void
compare_diagonals(struct square *s, struct square_figure *f)
{
    const struct square_length *l = &s->length[f->first_length];
    const struct square_length *first = &l[SITE_FRAME_FIRST], *other = &l[SITE_FRAME_OTHER];
    struct site_frame_value one = site_frame_length_of(&f->frame, SITE_FRAME_FIRST), two = site_frame_length_of(&f->frame, SITE_FRAME_OTHER);
    struct site_frame_value difference = site_frame_add(1, &one, -1, &two), slide = site_frame_slide(&f->frame);
    f->difference = difference.value - (first->intended && other->intended ? first->intent - other->intent : 0);
    f->difference_sigma = site_frame_sigma(&f->frame, &difference);
    f->slide = slide.value;
    f->slide_sigma = site_frame_sigma(&f->frame, &slide);
    if (f->taped == SITE_FRAME_PAIRS) {
        f->diagonals2 = first->mean * first->mean + other->mean * other->mean;
        for (int p = SITE_FRAME_BASE; p <= SITE_FRAME_LEFT; p++)
            f->sides2 += l[p].mean * l[p].mean;
    }
    if (!f->intended)
        return;
    double longest = fmax(first->intent, other->intent);
    f->square = f->has_tolerance ? IN_M(s->r->tape[f->tape].tolerance) : longest * SQUARE_FIVE_LEG;
    f->square_verdict = square_judge(s, f->difference, f->difference_sigma, f->square);
}

static void
judge_frame(struct square *s, struct square_figure *f)
{
    struct square_length *l = &s->length[f->first_length];
    enum square_verdict verdict[5];
    for (int p = SITE_FRAME_BASE; p <= SITE_FRAME_LEFT; p++) {
        judge_length(s, &l[p]);
        verdict[p] = l[p].verdict;
        f->intent.tolerance[p] = l[p].tolerance;
    }
    verdict[4] = f->square_verdict;
    f->intent.square = f->square;
    f->state = state_of(verdict, 5);
    f->has_cure = true;
    site_frame_cure(f->frame.x, f->frame.y, &f->intent, &f->cure);
}

static void
frame_open(struct square_figure *f, const struct site_frame_length *taped, size_t n)
{
    enum site_frame_pair pair[3];
    f->open_by = site_frame_open(taped, n, pair);
    for (int k = 0; k < 3 && f->open_by > 0; k++)
        f->open[k] = (uint32_t)pair[k];
}

static void
wanting_lengths(struct square *s, struct square_figure *f)
{
    fit_means(s, f);
    if (f->state == SQUARE_MISFIT)
        return; /* two tapings of one length that do not agree */
    f->state = SQUARE_WANTING;
    for (int p = 0; p < SITE_FRAME_PAIRS; p++)
        if (p <= SITE_FRAME_LEFT)
            judge_length(s, &s->length[f->first_length + (uint32_t)p]);
}

/* The readings stand in square.reading pair by pair, as the fit has them. -1 without memory. */
static int
fit(struct square *s, struct square_figure *f, const struct site_frame_length *taped, size_t n)
{
    double *work = room_new(n, SITE_FRAME_WORK * sizeof *work);
    struct site_frame_fitted *of = room_new(n, sizeof *of);
    enum site_frame_status status = SITE_FRAME_EMEMORY;
    bool left = !f->intended || f->intent.y[2] > 0;
    size_t all;
    struct square_reading *reading = readings_of(s, f, &all);
    if (work && of)
        status = site_frame_fit(taped, n, left, work, &f->frame, of);
    for (size_t i = 0; status == SITE_FRAME_OK && i < n; i++) {
        reading[i].fit = of[i];
        test_reading(s, &reading[i], taped[i].sigma);
    }
    free(work);
    free(of);
    f->fitted = status == SITE_FRAME_OK;
    return status == SITE_FRAME_EMEMORY ? -1 : 0;
}

int
square_fit_frame(struct square *s, struct square_figure *f)
{
    size_t n;
    (void)readings_of(s, f, &n);
    if (f->taped < SITE_FRAME_UNKNOWNS) {
        wanting_lengths(s, f);
        return 0;
    }
    struct site_frame_length *taped = frame_lengths(s, f, n);
    if (!taped || fit(s, f, taped, n) != 0) {
        free(taped);
        return -1;
    }
    frame_open(f, taped, n);
    if (!f->fitted) {
        f->state = SQUARE_OPEN;
        free(taped);
        return 0;
    }
    f->redundancy = f->frame.redundancy;
    adjusted_lengths(s, f);
    frame_corners(s, f);
    compare_diagonals(s, f);
    judge_sum(s, f, f->frame.sum);
    if (f->state == SQUARE_MISFIT) {
        find_suspects(s, f, taped, n);
        f->square_verdict = SQUARE_NOT_JUDGED;
    } else if (f->intended)
        judge_frame(s, f);
    else
        f->state = SQUARE_UNJUDGED;
    free(taped);
    return 0;
}
