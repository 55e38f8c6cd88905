/* suspect.c - every slip on every reading, and what the loops say of it */
#include "rodbook/suspect.h"

#include "slips.h"

#define NONE LEVEL_NONE

struct suspect_search {
    const struct suspect_scene *scene;
    struct suspect *found; /* a heap, the poorest on top */
    size_t most, n;
    uint8_t *standing;
    enum suspect_slip slip; /* that is tried */
    double best;            /* score so far of what is tried on one reading */
    /* Readings: */
    uint32_t *start;   /* [readings + 1] loops of each... */
    uint32_t *through; /* [steps] ...in here */
    int8_t *sign;      /* [steps] */
    uint8_t *met;      /* [readings] */
    uint32_t *order;   /* [readings] */
    uint32_t *before, *behind; /* [readings] the readings on the same spot that were booked next to it */
    /* Loops: */
    uint8_t *outside;  /* [loops] */
    uint32_t *cluster; /* [loops] the caller's */
    uint32_t *queue;   /* [loops] */
    uint32_t *slot;    /* [loops] its row in `inverse`, or NONE */
    uint32_t *given;   /* [loops] by cluster: the last suspect that was kept for it, */
    uint32_t kept;     /* of so many */
    /* What is tried, as it changes loops: */
    double *delta;     /* [loops] nm */
    uint32_t *touched; /* [loops] */
    uint8_t *is_touched; /* [loops] */
    size_t touches;
    /* The likelihood: */
    uint32_t *member; /* [counted] */
    size_t counted;
    double *inverse;  /* [counted][counted] 1 / m^2 */
    double *pull;     /* [counted] inverse times misclosure, 1 / m */
    double *with;     /* [counted] inverse times change */
    double *by;       /* [counted] rows that are touched: the change... */
    uint32_t *row;    /* [counted] ...and which they are */
    double squares;   /* weighted sum, as it is booked */
};

/* ---- the table ---- */

typedef void search_of(struct suspect_search *s, uint32_t reading);
static search_of turn_columns, setup_columns, wrong_point, rod_section, instrument_step, turn_step, moved_mark, some_other;

const struct suspect_row suspect_table[SUSPECT_SLIPS] = {
    [SUSPECT_WHOLE] = { "whole", 200, "the foot figure is often out of the field of view", suspect_whole, NULL },
    [SUSPECT_TENTH] = { "tenth", 150, "tenths are counted off from the figure", suspect_tenth, NULL },
    [SUSPECT_SMALL] = { "small", 60, "the same with the smallest figured mark, and caught less", suspect_small, NULL },
    [SUSPECT_DIGITS] = { "digits", 120, "called in one order, booked in another", suspect_digits, NULL },
    [SUSPECT_SIX_NINE] = { "six-nine", 40, "upside down, or an inverting telescope", suspect_six_nine, NULL },
    [SUSPECT_THREE_EIGHT] = { "three-eight", 40, "alike at a distance, and in a wet book", suspect_three_eight, NULL },
    [SUSPECT_INCHES] = { "inches", 40, "two kinds of rod on one site", suspect_inches, NULL },
    [SUSPECT_BEYOND_WHOLE] = { "beyond-whole", 30, "counted up from a lone figure for feet instead of down", suspect_beyond_whole, NULL },
    [SUSPECT_BEYOND_SMALL] = { "beyond-small", 50, "the same at a smaller figure, of which there are more", suspect_beyond_small, NULL },
    [SUSPECT_TURN_COLUMNS] = { "turn-columns", 30, "both are booked on one line", NULL, turn_columns },
    [SUSPECT_SETUP_COLUMNS] = { "setup-columns", 15, "rarer: they are booked at different times", NULL, setup_columns },
    [SUSPECT_SIGN] = { "sign", 20, "only where the rod is inverted, which is rare", suspect_sign, NULL },
    [SUSPECT_POINT] = { "point", 60, "names are alike, and the rodman walks on", NULL, wrong_point },
    [SUSPECT_HAIR] = { "hair", 60, "three hairs, and the middle one is no longer than the others", suspect_hair, NULL },
    [SUSPECT_ROD] = { "rod", 40, "once a run: the rod is drawn out once", NULL, rod_section },
    [SUSPECT_INSTRUMENT] = { "instrument", 10, "a tripod knocked or sinking; most crews see it", NULL, instrument_step },
    [SUSPECT_TURN] = { "turn", 30, "a turning point that sinks, or is not found again", NULL, turn_step },
    [SUSPECT_MOVED] = { "moved", 30, "marks on a site are driven over", NULL, moved_mark },
    [SUSPECT_OTHER] = { "other", 30, "what has no name of its own", NULL, some_other },
};

/* ---- arithmetic ---- */

/* Natural logarithm by the series of the inverse hyperbolic tangent; within 1e-14 of it for any x above 0. */
static double
ln(double x)
{
    const double ln2 = 0.69314718055994531;
    int twos = 0;
    while (x < 0.75) {
        x *= 2;
        twos--;
    }
    while (x > 1.5) {
        x /= 2;
        twos++;
    }
    double t = (x - 1) / (x + 1), power = t, sum = 0;
    for (int i = 1; i < 30; i += 2) {
        sum += power / i;
        power *= t * t;
    }
    return twos * ln2 + 2 * sum;
}

static double
metres(double nm)
{
    return nm / (double)LENGTH_M;
}

static double
absolute(double x)
{
    return x < 0 ? -x : x;
}

/* Inverse of a symmetric positive definite matrix in its place: each row is swept once. */
static void
invert(double *m, size_t n)
{
    for (size_t k = 0; k < n; k++) {
        double *row = m + k * n, pivot = 1 / row[k];
        row[k] = 1;
        for (size_t j = 0; j < n; j++)
            row[j] *= pivot;
        for (size_t i = 0; i < n; i++) {
            double *to = m + i * n, by = to[k];
            if (i == k || by == 0)
                continue;
            to[k] = 0;
            for (size_t j = 0; j < n; j++)
                to[j] -= by * row[j];
        }
    }
}

/* ---- the best so far ---- */

/* Whether x is to be named before y. */
static bool
is_better(const struct suspect *x, const struct suspect *y)
{
    if (x->score > y->score || x->score < y->score)
        return x->score > y->score;
    if (x->reading != y->reading)
        return x->reading < y->reading;
    if (x->slip != y->slip)
        return x->slip < y->slip;
    if (x->instead != y->instead)
        return x->instead < y->instead;
    return x->other != y->other ? x->other < y->other : x->cluster < y->cluster;
}

static void
sink(struct suspect *heap, size_t n, size_t i)
{
    for (size_t child = 2 * i + 1; child < n; i = child, child = 2 * i + 1) {
        child += child + 1 < n && is_better(&heap[child], &heap[child + 1]);
        if (!is_better(&heap[i], &heap[child]))
            return;
        struct suspect swap = heap[i];
        heap[i] = heap[child];
        heap[child] = swap;
    }
}

static void
keep(struct suspect_search *s, const struct suspect *x)
{
    if (s->n == s->most && !is_better(x, &s->found[0]))
        return;
    if (s->n == s->most) {
        s->found[0] = *x;
        sink(s->found, s->n, 0);
        return;
    }
    size_t i = s->n++;
    for (; i > 0 && is_better(&s->found[(i - 1) / 2], x); i = (i - 1) / 2)
        s->found[i] = s->found[(i - 1) / 2];
    s->found[i] = *x;
}

static void
sort_found(struct suspect_search *s)
{
    for (size_t n = s->n; n > 1; n--) {
        struct suspect poorest = s->found[0];
        s->found[0] = s->found[n - 1];
        s->found[n - 1] = poorest;
        sink(s->found, n - 1, 0);
    }
}

/* ---- what a change does to the loops ---- */

static void
clear_change(struct suspect_search *s)
{
    for (size_t i = 0; i < s->touches; i++) {
        s->delta[s->touched[i]] = 0;
        s->is_touched[s->touched[i]] = 0;
    }
    s->touches = 0;
}

static void
add_change(struct suspect_search *s, uint32_t reading, double amount)
{
    for (uint32_t i = s->start[reading]; i < s->start[reading + 1]; i++) {
        uint32_t loop = s->through[i];
        if (!s->is_touched[loop])
            s->touched[s->touches++] = loop;
        s->is_touched[loop] = 1;
        s->delta[loop] += s->sign[i] * amount;
    }
}

/* True where the change, so many times, leaves every loop that it touches within, one of them from outside; then x says which. */
static bool
fits(const struct suspect_search *s, struct suspect *x, double times)
{
    double poorest = -1;
    x->fixed = 0;
    for (size_t i = 0; i < s->touches; i++) {
        uint32_t l = s->touched[i];
        const struct suspect_loop *loop = &s->scene->loop[l];
        double left = (double)loop->misclosure + s->delta[l] * times, share = absolute(left) / (loop->limit_nm + 1);
        if (absolute(left) > loop->limit_nm + 0.5) /* half a nanometre: a step of unknown size is no whole number */
            return false;
        if (!s->outside[l])
            continue;
        x->fixed++;
        if (share <= poorest)
            continue;
        poorest = share;
        x->shown = l;
        x->left = (length)(left < 0 ? left - 0.5 : left + 0.5);
    }
    return x->fixed > 0;
}

/* The sums g and q of the change as it stands, for a change in metres. */
static void
weigh(struct suspect_search *s, double *g, double *q)
{
    size_t n = 0;
    *g = *q = 0;
    for (size_t i = 0; i < s->touches; i++) {
        uint32_t row = s->slot[s->touched[i]];
        if (row == NONE)
            continue;
        s->row[n] = row;
        s->by[n++] = metres(s->delta[s->touched[i]]);
        *g += s->by[n - 1] * s->pull[row];
    }
    for (size_t i = 0; i < n; i++) {
        const double *inverse = &s->inverse[s->row[i] * s->counted];
        double sum = 0;
        for (size_t j = 0; j < n; j++)
            sum += inverse[s->row[j]] * s->by[j];
        *q += s->by[i] * sum;
    }
}

/* Its loops of one cluster. */
static void
fix_cluster(const struct suspect_search *s, struct suspect *x, uint32_t cluster)
{
    x->cluster = cluster;
    x->fixed = 0;
    for (size_t i = 0; i < s->touches; i++)
        x->fixed += s->outside[s->touched[i]] && s->cluster[s->touched[i]] == cluster;
}

/* Keep it for each cluster that it brings within: what is of one reading has one. */
static void
keep_for_all(struct suspect_search *s, const struct suspect *x)
{
    s->kept++;
    for (size_t i = 0; i < s->touches; i++) {
        uint32_t cluster = s->cluster[s->touched[i]];
        if (!s->outside[s->touched[i]] || s->given[cluster] == s->kept)
            continue;
        struct suspect own = *x;
        s->given[cluster] = s->kept;
        fix_cluster(s, &own, cluster);
        keep(s, &own);
        if (x->affected == 1)
            return;
    }
}

static void
offer(struct suspect_search *s, struct suspect *x)
{
    x->remains = x->remains < 0 ? 0 : x->remains;
    x->score = x->prior - x->remains / 2;
    if (x->slip != SUSPECT_OTHER || x->score > s->best) /* a slip that has a name says more */
        keep_for_all(s, x);
    if (x->slip == SUSPECT_ROD || x->slip == SUSPECT_INSTRUMENT)
        return; /* no slip of that reading */
    s->best = x->score > s->best ? x->score : s->best;
    s->standing[x->reading] = SUSPECT_OPEN;
    if (x->other != NONE && x->slip != SUSPECT_POINT)
        s->standing[x->other] = SUSPECT_OPEN;
}

/* A change of known size, as it stands. */
static void
try_change(struct suspect_search *s, struct suspect *x)
{
    double g, q;
    if (!fits(s, x, 1))
        return;
    weigh(s, &g, &q);
    x->remains = s->squares + 2 * g + q;
    offer(s, x);
}

/* One of unknown size, in -most ... most; the change stands as a nanometre. */
static void
try_step(struct suspect_search *s, struct suspect *x, double most)
{
    const double two_pi = 6.2831853071795865;
    double g, q;
    weigh(s, &g, &q); /* of 1e-9 m */
    double per_metre = q * (double)LENGTH_M * (double)LENGTH_M;
    if (!(q > 0))
        return;
    double size = -g / q; /* nm */
    if (!(absolute(metres(size)) <= most))
        return;
    if (!fits(s, x, size))
        return;
    double spread = __builtin_sqrt(two_pi / per_metre) / (2 * most);
    x->prior += spread < 1 ? ln(spread) : 0;
    x->change = (length)(size < 0 ? size - 0.5 : size + 0.5);
    x->instead = s->scene->reading[x->reading].value + x->change;
    x->remains = s->squares - g * g / q;
    offer(s, x);
}

static struct suspect
suspect_of(const struct suspect_search *s, uint32_t reading, double share)
{
    return (struct suspect){ .slip = (uint8_t)s->slip, .reading = reading, .other = NONE, .affected = 1,
        .prior = ln(suspect_table[s->slip].weight * share) };
}

/* ---- slips of one reading ---- */

static void
try_value(struct suspect_search *s, uint32_t reading, uint32_t other, length instead, double share)
{
    struct suspect x = suspect_of(s, reading, share);
    x.other = other;
    x.instead = instead;
    x.change = instead - s->scene->reading[reading].value;
    add_change(s, reading, (double)x.change);
    try_change(s, &x);
    clear_change(s);
}

static bool
is_on_outside(const struct suspect_search *s, uint32_t reading)
{
    for (uint32_t i = s->start[reading]; i < s->start[reading + 1]; i++)
        if (s->outside[s->through[i]])
            return true;
    return false;
}

static void
try_variants(struct suspect_search *s, uint32_t reading)
{
    length instead[SUSPECT_VARIANTS];
    size_t n = suspect_variants(s->scene, s->slip, reading, instead);
    for (size_t i = 0; i < n; i++)
        try_value(s, reading, NONE, instead[i], 1 / (double)n);
}

size_t
suspect_variants(const struct suspect_scene *scene, enum suspect_slip slip, uint32_t reading,
    length instead[SUSPECT_VARIANTS])
{
    const struct suspect_row *row = &suspect_table[slip];
    return row->variants ? row->variants(scene, reading, instead) : 0;
}

static void
some_other(struct suspect_search *s, uint32_t reading)
{
    if (s->scene->reading[reading].source == SUSPECT_MARK)
        return; /* it is a mark that moved */
    struct suspect x = suspect_of(s, reading, 1);
    add_change(s, reading, 1);
    try_step(s, &x, 2);
    clear_change(s);
}

static void
moved_mark(struct suspect_search *s, uint32_t reading)
{
    if (s->scene->reading[reading].source != SUSPECT_MARK)
        return;
    struct suspect x = suspect_of(s, reading, 1);
    add_change(s, reading, 1);
    try_step(s, &x, 0.3);
    clear_change(s);
}

/* ---- booked on the wrong point ---- */

#define NEAR 3       /* places in the book that a wrong point may be away */
#define POINTS_MOST 16

struct wrong_points {
    uint32_t near[POINTS_MOST]; /* a reading on each */
    length instead[POINTS_MOST];
    size_t n;
};

static bool
is_read_from(const struct suspect_scene *scene, uint32_t reading, uint32_t spot)
{
    uint32_t setup = scene->reading[reading].setup;
    for (uint32_t i = reading; i-- > 0 && scene->reading[i].setup == setup;)
        if (scene->reading[i].spot == spot)
            return true;
    for (uint32_t i = reading + 1; i < scene->readings && scene->reading[i].setup == setup; i++)
        if (scene->reading[i].spot == spot)
            return true;
    return false;
}

/* Points near `own`, which is another reading on the same point, or what is given for it. */
static void
points_near(const struct suspect_search *s, uint32_t reading, uint32_t own, struct wrong_points *w)
{
    const struct suspect_scene *scene = s->scene;
    const struct suspect_reading *r = &scene->reading[reading], *here = &scene->reading[own];
    uint32_t first = own > NEAR ? own - NEAR : 0;
    for (uint32_t i = first; i <= own + NEAR && i < scene->readings && w->n < POINTS_MOST; i++) {
        const struct suspect_reading *there = &scene->reading[i];
        bool marks = here->source == SUSPECT_MARK && there->source == SUSPECT_MARK;
        length lower = marks ? there->value - here->value : here->value - there->value; /* by what it stands higher */
        bool known = false;
        if (there->spot == r->spot || there->spot == NONE || (!marks && there->setup != here->setup) || lower == 0)
            continue;
        for (size_t k = 0; k < w->n; k++)
            known |= scene->reading[w->near[k]].spot == there->spot;
        if (known || is_read_from(scene, reading, there->spot))
            continue;
        w->near[w->n] = i;
        w->instead[w->n++] = r->value + lower;
    }
}

static void
wrong_point(struct suspect_search *s, uint32_t reading)
{
    const struct suspect_reading *r = &s->scene->reading[reading];
    struct wrong_points w = { .n = 0 };
    uint32_t back = s->before[reading], on = s->behind[reading];
    if (r->source > SUSPECT_FS || !is_on_outside(s, reading))
        return;
    for (int i = 0; i < 2; i++) {
        if (back != NONE && s->scene->reading[back].setup != r->setup)
            points_near(s, reading, back, &w);
        if (on != NONE && s->scene->reading[on].setup != r->setup)
            points_near(s, reading, on, &w);
        back = back == NONE ? NONE : s->before[back];
        on = on == NONE ? NONE : s->behind[on];
    }
    for (size_t i = 0; i < w.n; i++)
        try_value(s, reading, w.near[i], w.instead[i], 1 / (double)w.n);
}

/* ---- columns exchanged ---- */

static void
exchanged(struct suspect_search *s, uint32_t one, uint32_t other)
{
    length first = s->scene->reading[one].value, second = s->scene->reading[other].value;
    struct suspect x = suspect_of(s, one, 1);
    if (first == second)
        return;
    x.other = other;
    x.affected = 2;
    x.instead = second;
    x.change = second - first;
    add_change(s, one, (double)x.change);
    add_change(s, other, -(double)x.change);
    try_change(s, &x);
    clear_change(s);
}

/* The backsight on a turning point that reading `fs` is the foresight on; or NONE. */
static uint32_t
backsight_of(const struct suspect_scene *scene, uint32_t fs)
{
    const struct suspect_reading *r = &scene->reading[fs];
    bool turns = r->source == SUSPECT_FS && fs + 1 < scene->readings && r[1].source == SUSPECT_BS && r[1].spot == r->spot
        && r[1].run == r->run;
    return turns ? fs + 1 : NONE;
}

static void
turn_columns(struct suspect_search *s, uint32_t reading)
{
    uint32_t bs = backsight_of(s->scene, reading);
    if (bs != NONE && (is_on_outside(s, reading) || is_on_outside(s, bs)))
        exchanged(s, reading, bs);
}

static void
setup_columns(struct suspect_search *s, uint32_t reading)
{
    const struct suspect_reading *r = s->scene->reading;
    uint32_t last = reading;
    if (r[reading].source != SUSPECT_BS)
        return;
    while (last + 1 < s->scene->readings && r[last + 1].setup == r[reading].setup)
        last++;
    if (r[last].source == SUSPECT_FS && (is_on_outside(s, reading) || is_on_outside(s, last)))
        exchanged(s, reading, last);
}

/* ---- steps ---- */

static void
turn_step(struct suspect_search *s, uint32_t reading)
{
    if (reading == 0 || backsight_of(s->scene, reading - 1) != reading)
        return;
    struct suspect x = suspect_of(s, reading, 1);
    x.affected = 0;
    for (uint32_t i = reading; i != NONE && s->scene->reading[i].setup != NONE; i = s->behind[i], x.affected++)
        add_change(s, i, 1);
    try_step(s, &x, 0.1);
    clear_change(s);
}

/* Between the last reading before `reading` that a loop goes through, and it. */
static void
instrument_step(struct suspect_search *s, uint32_t reading)
{
    const struct suspect_reading *r = s->scene->reading;
    uint32_t from = reading, end = reading;
    if (r[reading].setup == NONE)
        return;
    while (from > 0 && r[from - 1].setup == r[reading].setup) {
        from--;
        if (s->start[from] < s->start[from + 1])
            break;
    }
    if (from == reading || s->start[from] == s->start[from + 1])
        return; /* nothing is before it to hold it against */
    struct suspect x = suspect_of(s, reading, reading - from);
    for (; end < s->scene->readings && r[end].setup == r[reading].setup; end++)
        add_change(s, end, 1);
    x.affected = end - reading;
    try_step(s, &x, 0.1);
    clear_change(s);
}

/* ---- the rod ---- */

static length
height_of(const struct suspect_search *s, uint32_t reading)
{
    length v = s->scene->reading[reading].value;
    return v < 0 ? -v : v;
}

/* Highest first; equal ones in booking order. */
static bool
is_higher(const struct suspect_search *s, uint32_t a, uint32_t b)
{
    length x = height_of(s, a), y = height_of(s, b);
    return x > y || (x == y && a < b);
}

static bool
is_lower_spot(const struct suspect_search *s, uint32_t a, uint32_t b)
{
    uint32_t x = s->scene->reading[a].spot, y = s->scene->reading[b].spot;
    return x < y || (x == y && a < b);
}

typedef bool goes_before(const struct suspect_search *s, uint32_t a, uint32_t b);

static void
sink_order(const struct suspect_search *s, uint32_t *order, size_t n, size_t i, goes_before *before)
{
    for (size_t child = 2 * i + 1; child < n; i = child, child = 2 * i + 1) {
        child += child + 1 < n && before(s, order[child], order[child + 1]);
        if (!before(s, order[i], order[child]))
            return;
        uint32_t swap = order[i];
        order[i] = order[child];
        order[child] = swap;
    }
}

static void
sort_readings(const struct suspect_search *s, uint32_t *order, size_t n, goes_before *before)
{
    for (size_t i = n / 2; i-- > 0;)
        sink_order(s, order, n, i, before);
    for (; n > 1; n--) {
        uint32_t swap = order[0];
        order[0] = order[n - 1];
        order[n - 1] = swap;
        sink_order(s, order, n - 1, 0, before);
    }
}

/* Sums that grow with each reading that is added: the change is a nanometre of each. */
struct growing {
    double g, q;
};

static void
grow(struct suspect_search *s, uint32_t reading, struct growing *sums)
{
    double own = 0;
    for (uint32_t i = s->start[reading]; i < s->start[reading + 1]; i++) {
        uint32_t row = s->slot[s->through[i]];
        if (row == NONE)
            continue;
        double by = metres(s->sign[i]);
        sums->g += by * s->pull[row];
        sums->q += 2 * by * s->with[row];
        for (uint32_t j = s->start[reading]; j < s->start[reading + 1]; j++)
            if (s->slot[s->through[j]] != NONE)
                own += by * s->inverse[row * s->counted + s->slot[s->through[j]]] * metres(s->sign[j]);
    }
    for (uint32_t i = s->start[reading]; i < s->start[reading + 1]; i++) {
        uint32_t row = s->slot[s->through[i]];
        for (size_t j = 0; row != NONE && j < s->counted; j++)
            s->with[j] += s->inverse[row * s->counted + j] * metres(s->sign[i]);
    }
    sums->q += own;
    add_change(s, reading, 1);
}

static void
try_grown(struct suspect_search *s, uint32_t lowest, uint32_t affected, double share, const struct growing *sums)
{
    struct suspect x = suspect_of(s, lowest, share);
    x.affected = affected;
    if (sums->q > 0 && sums->g * sums->g / sums->q > 9 && fits(s, &x, -sums->g / sums->q)) /* else the fit is no better for it */
        try_step(s, &x, 1.5);
}

#define JOINT_LEAST LENGTH_M /* no joint of a rod is lower than that (from memory) */

static void
rod_section(struct suspect_search *s, uint32_t reading)
{
    const struct suspect_reading *r = s->scene->reading;
    uint32_t run = r[reading].run;
    size_t n = 0, joints = 0;
    if (r[reading].setup == NONE || (reading > 0 && r[reading - 1].run == run))
        return; /* once a run */
    for (uint32_t i = reading; i < s->scene->readings && r[i].run == run; i++)
        if (r[i].setup != NONE && s->start[i] < s->start[i + 1])
            s->order[n++] = i;
    sort_readings(s, s->order, n, is_higher);
    for (size_t i = 1; i + 1 < n && height_of(s, s->order[i]) >= JOINT_LEAST; i++)
        joints += height_of(s, s->order[i + 1]) < height_of(s, s->order[i]);
    struct growing sums = { 0, 0 };
    __builtin_memset(s->with, 0, s->counted * sizeof *s->with);
    for (size_t i = 0; i + 1 < n && height_of(s, s->order[i]) >= JOINT_LEAST; i++) {
        grow(s, s->order[i], &sums);
        if (i > 0 && height_of(s, s->order[i + 1]) < height_of(s, s->order[i]))
            try_grown(s, s->order[i], (uint32_t)i + 1, 1 / (double)joints, &sums);
    }
    clear_change(s);
}

/* ---- getting ready ---- */

static void
index_loops(struct suspect_search *s)
{
    const struct suspect_scene *scene = s->scene;
    __builtin_memset(s->start, 0, (scene->readings + 1) * sizeof *s->start);
    for (size_t l = 0; l < scene->loops; l++)
        for (uint32_t i = 0; i < scene->loop[l].count; i++)
            s->start[scene->step[scene->loop[l].first + i].reading + 1]++;
    for (size_t i = 0; i < scene->readings; i++)
        s->start[i + 1] += s->start[i];
    __builtin_memcpy(s->order, s->start, scene->readings * sizeof *s->order);
    for (uint32_t l = 0; l < scene->loops; l++)
        for (uint32_t i = 0; i < scene->loop[l].count; i++) {
            const struct suspect_step *step = &scene->step[scene->loop[l].first + i];
            s->through[s->order[step->reading]] = l;
            s->sign[s->order[step->reading]++] = (int8_t)step->sign;
        }
}

static void
index_spots(struct suspect_search *s)
{
    size_t n = s->scene->readings;
    for (uint32_t i = 0; i < n; i++)
        s->order[i] = i;
    sort_readings(s, s->order, n, is_lower_spot);
    for (size_t i = 0; i < n; i++) {
        uint32_t spot = s->scene->reading[s->order[i]].spot;
        bool back = i > 0 && spot != NONE && s->scene->reading[s->order[i - 1]].spot == spot;
        bool on = i + 1 < n && spot != NONE && s->scene->reading[s->order[i + 1]].spot == spot;
        s->before[s->order[i]] = back ? s->order[i - 1] : NONE;
        s->behind[s->order[i]] = on ? s->order[i + 1] : NONE;
    }
}

static bool
find_outside(struct suspect_search *s)
{
    bool any = false;
    for (size_t l = 0; l < s->scene->loops; l++) {
        const struct suspect_loop *loop = &s->scene->loop[l];
        s->outside[l] = !(absolute((double)loop->misclosure) <= loop->limit_nm);
        s->cluster[l] = NONE;
        any |= s->outside[l];
    }
    for (size_t i = 0; i < s->scene->readings; i++)
        s->standing[i] = s->start[i] == s->start[i + 1] ? SUSPECT_UNCHECKED
            : is_on_outside(s, (uint32_t)i)             ? SUSPECT_CLEARED
                                                        : SUSPECT_CLOSES;
    return any;
}

/* Loops outside that hang together by readings. */
static void
find_cluster(struct suspect_search *s, uint32_t first)
{
    size_t read = 0, written = 0;
    s->cluster[first] = first;
    s->queue[written++] = first;
    while (read < written) {
        const struct suspect_loop *loop = &s->scene->loop[s->queue[read++]];
        for (uint32_t i = loop->first; i < loop->first + loop->count; i++) {
            uint32_t reading = s->scene->step[i].reading;
            for (uint32_t k = s->start[reading]; !s->met[reading] && k < s->start[reading + 1]; k++) {
                if (!s->outside[s->through[k]] || s->cluster[s->through[k]] != NONE)
                    continue;
                s->cluster[s->through[k]] = first;
                s->queue[written++] = s->through[k];
            }
            s->met[reading] = 1;
        }
    }
}

/* Counted loops, from those outside on by shared readings. */
static void
choose_counted(struct suspect_search *s)
{
    size_t read = 0, written = 0;
    __builtin_memset(s->met, 0, s->scene->readings);
    for (uint32_t l = 0; l < s->scene->loops; l++) {
        s->slot[l] = NONE;
        if (s->outside[l])
            s->queue[written++] = l;
        s->is_touched[l] = s->outside[l];
    }
    while (read < written && s->counted < SUSPECT_COUNTED_MOST) {
        uint32_t l = s->queue[read++];
        const struct suspect_loop *loop = &s->scene->loop[l];
        if (loop->counted) {
            s->slot[l] = (uint32_t)s->counted;
            s->member[s->counted++] = l;
        }
        for (uint32_t i = loop->first; i < loop->first + loop->count; i++) {
            uint32_t reading = s->scene->step[i].reading;
            for (uint32_t k = s->start[reading]; !s->met[reading] && k < s->start[reading + 1]; k++) {
                if (!s->is_touched[s->through[k]])
                    s->queue[written++] = s->through[k];
                s->is_touched[s->through[k]] = 1;
            }
            s->met[reading] = 1;
        }
    }
    __builtin_memset(s->is_touched, 0, s->scene->loops);
}

static void
weigh_loops(struct suspect_search *s)
{
    const struct suspect_scene *scene = s->scene;
    size_t n = s->counted;
    __builtin_memset(s->inverse, 0, n * n * sizeof *s->inverse);
    for (size_t a = 0; a < n; a++) {
        const struct suspect_loop *loop = &scene->loop[s->member[a]];
        for (uint32_t i = loop->first; i < loop->first + loop->count; i++) {
            uint32_t reading = scene->step[i].reading;
            double variance = scene->reading[reading].sigma * scene->reading[reading].sigma * scene->step[i].sign;
            for (uint32_t k = s->start[reading]; k < s->start[reading + 1]; k++)
                if (s->slot[s->through[k]] != NONE)
                    s->inverse[a * n + s->slot[s->through[k]]] += variance * s->sign[k];
        }
    }
    invert(s->inverse, n);
    for (size_t a = 0; a < n; a++) {
        s->pull[a] = 0;
        for (size_t b = 0; b < n; b++)
            s->pull[a] += s->inverse[a * n + b] * metres((double)scene->loop[s->member[b]].misclosure);
        s->squares += s->pull[a] * metres((double)scene->loop[s->member[a]].misclosure);
    }
}

/* ---- the whole ---- */

/* Parts of the work room, one behind the other: their names, and members in each. */
#define PARTS(part)                                                                                                \
    part(inverse, counted * counted) part(pull, counted) part(with, counted) part(by, counted) part(delta, m)      \
    part(start, n + 1) part(through, scene->steps) part(order, n) part(before, n) part(behind, n) part(queue, m)   \
    part(given, m) part(slot, m) part(touched, m) part(row, counted) part(member, counted) part(sign, scene->steps) \
    part(met, n) part(outside, m) part(is_touched, m)

static size_t
part_bytes(size_t members, size_t size)
{
    return (members * size + sizeof(double) - 1) / sizeof(double) * sizeof(double);
}

size_t
suspect_room(const struct suspect_scene *scene)
{
    size_t n = scene->readings, m = scene->loops, counted = m < SUSPECT_COUNTED_MOST ? m : SUSPECT_COUNTED_MOST, bytes = 0;
#define COUNT(name, members) bytes += part_bytes(members, sizeof *((struct suspect_search *)0)->name);
    PARTS(COUNT)
#undef COUNT
    return bytes;
}

static void
lay_out(struct suspect_search *s, const struct suspect_scene *scene, void *room)
{
    char *at = room;
    size_t n = scene->readings, m = scene->loops, counted = m < SUSPECT_COUNTED_MOST ? m : SUSPECT_COUNTED_MOST;
#define LAY(name, members)                                                                                         \
    s->name = (void *)at;                                                                                          \
    at += part_bytes(members, sizeof *s->name);
    PARTS(LAY)
#undef LAY
}

size_t
suspect_find(const struct suspect_scene *scene, void *room, struct suspect *found, size_t most, uint8_t *standing,
    uint32_t *cluster)
{
    struct suspect_search s = { .scene = scene, .found = found, .most = most, .standing = standing, .cluster = cluster };
    lay_out(&s, scene, room);
    index_loops(&s);
    if (!find_outside(&s))
        return 0;
    __builtin_memset(s.met, 0, scene->readings);
    for (uint32_t l = 0; l < scene->loops; l++)
        if (s.outside[l] && cluster[l] == NONE)
            find_cluster(&s, l);
    choose_counted(&s);
    weigh_loops(&s);
    index_spots(&s);
    for (size_t l = 0; l < scene->loops; l++) {
        s.delta[l] = 0;
        s.given[l] = 0;
    }
    for (uint32_t i = 0; i < scene->readings; i++) {
        s.best = -1e300;
        for (size_t slip = 0; slip < SUSPECT_SLIPS; slip++) {
            s.slip = (enum suspect_slip)slip;
            if (suspect_table[slip].search)
                suspect_table[slip].search(&s, i);
            else if (is_on_outside(&s, i))
                try_variants(&s, i);
        }
    }
    sort_found(&s);
    return s.n;
}
