/* How sure moves are, the verdicts, the reading that helps most, and plans: against dense matrices and against chance. */
#include "near.h"

#include "rodbook/plan.h"
#include "rodbook/sure.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- chance that repeats ---- */

static uint64_t state;

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26 (from memory). */
static double
uniform(void)
{
    state = state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return ((double)(state >> 11) + 0.5) / 9007199254740992.0;
}

static unsigned
draw(unsigned below)
{
    return (unsigned)(uniform() * below);
}

/* Box and Muller. */
static double
normal(void)
{
    return sqrt(-2 * log(uniform())) * cos(6.283185307179586 * uniform());
}

/* ---- records ---- */

struct made {
    struct record r;
    struct job job;
    struct diag d;
};

static void
make(struct made *m, const char *text, double confidence)
{
    struct source source = source_of_bytes(text, strlen(text));
    struct job_options options = { .stakes = true, .confidence = confidence };
    *m = (struct made){ .d = { 0 } };
    assert_int_equal(record_read(&m->r, &source, &m->d), 0);
    if (m->d.errors == 0)
        assert_int_equal(job_work(&m->job, &m->r, &options, &m->d), 0);
    if (m->d.errors > 0)
        fail_msg("%u:%u %s\n%s", m->d.item[0].place.line, m->d.item[0].place.column, m->d.item[0].text, text);
}

static void
drop(struct made *m)
{
    job_release(&m->job);
    record_release(&m->r);
    diag_release(&m->d);
}

/*
 * A job by chance: set-ups between a dozen points and two benchmarks, one of
 * them with a standard deviation; side shots; a section; grades by a level,
 * through a mark that was read, and by a plane. The readings fit one set of
 * elevations to some millimetres.
 */
static void
random_record(char *out, const char *spread)
{
    static double up[16];
    unsigned at = 0, setups = 4 + draw(5);
    for (int i = 0; i < 16; i++)
        up[i] = 10 + 0.01 * (double)draw(5);
    out += sprintf(out, "---\njob: chance\nunit: m\nleast: 0.001\nsigma: %.1f mm\nspread: %s\n", 0.5 + 0.1 * draw(20), spread);
    out += sprintf(out, "---\nmarks:\n  P0: {elevation: %.3f}\n  P1: {elevation: %.3f, sigma: 0.7 mm}\n---\npoints:\n", up[0], up[1]);
    for (int i = 0; i < 16; i++)
        out += sprintf(out, "  P%d: {x: %d.%d, y: %d, kind: batten}\n", i, 3 * (i % 4), i, 2 * (i / 4) + i * i % 5);
    out += sprintf(out, "---\nlevels:\n  readings:\n    - {at: P0, bs: %.3f}\n", 11.5 - up[0]);
    for (unsigned s = 0; s < setups; s++) {
        for (unsigned k = 0; k < 4; k++) {
            unsigned p = 2 + (s * 3 + k * 2 + draw(2)) % 14;
            out += sprintf(out, "    - {at: P%u, on: batten, is: %.3f}\n", p, 11.5 - up[p] + 0.001 * (double)draw(4));
        }
        at = s + 1 == setups ? draw(2) : 2 + draw(14);
        double fs = 11.5 - up[at] + 0.001 * (double)draw(3);
        out += s + 1 == setups && draw(2) ? sprintf(out, "    - {at: P%u, is: %.3f}\n", at, fs)
             : s + 1 == setups            ? sprintf(out, "    - {at: P%u, fs: %.3f}\n", at, fs)
                                          : sprintf(out, "    - {at: P%u, fs: %.3f, bs: %.3f}\n", at, fs, 11.5 - up[at]);
    }
    out += sprintf(out, "---\nsections:\n  rows:\n    - {from: P0, to: P1, rise: %.3f, setups: 3}\n", up[1] - up[0]);
    out += sprintf(out, "---\ngrade: {name: flat, means: finish, level: 10.02, tolerance: 3 mm}\n"
                        "---\ngrade: {name: hung, means: finish, through: {at: P1}, tolerance: 2 mm}\n");
    out += sprintf(out, "---\ngrade: {name: line, means: finish, through: {at: P%u, on: batten}, tolerance: 2 mm,\n"
                        "  slope: {fall: 1 in 500, towards: length}}\n", 2u);
    sprintf(out, "---\ngrade: {name: plane, means: finish, tolerance: 4 mm, through: [{at: P2, on: batten}, {at: P1}, {at: P0}]}\n");
}

/* Spots named in a grade must be read; so a record that lacks one is drawn again. */
static void
next_record(char *out, const char *spread)
{
    do
        random_record(out, spread);
    while (!strstr(out, "{at: P2, on: batten, is"));
}

/* ---- the whole normal matrix ---- */

#define MOST 80

struct dense {
    size_t n;
    double matrix[MOST][MOST], inverse[MOST][MOST];
    int spot[MOST], leg[MOST]; /* rows; -1 where held or unknown */
};

static void
observe(struct dense *d, int from, int to, double sigma)
{
    double w = 1 / (sigma * sigma);
    if (from >= 0)
        d->matrix[from][from] += w;
    if (to >= 0)
        d->matrix[to][to] += w;
    if (from >= 0 && to >= 0) {
        d->matrix[from][to] -= w;
        d->matrix[to][from] -= w;
    }
}

/* Gauss and Jordan, the largest pivot of each column. */
static void
invert(struct dense *d)
{
    static long double m[MOST][2 * MOST];
    size_t n = d->n;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            m[i][j] = d->matrix[i][j];
            m[i][n + j] = i == j;
        }
    for (size_t c = 0; c < n; c++) {
        size_t best = c;
        for (size_t i = c + 1; i < n; i++)
            if (fabsl(m[i][c]) > fabsl(m[best][c]))
                best = i;
        assert_true(fabsl(m[best][c]) > 0);
        for (size_t j = 0; j < 2 * n; j++) {
            long double keep = m[c][j];
            m[c][j] = m[best][j];
            m[best][j] = keep;
        }
        for (size_t j = 2 * n; j-- > 0;)
            m[c][j] /= m[c][c];
        for (size_t i = 0; i < n; i++)
            for (size_t j = 2 * n; i != c && j-- > c;)
                m[i][j] -= m[i][c] * m[c][j];
    }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            d->inverse[i][j] = (double)m[i][n + j];
}

static void
fill_dense(struct dense *d, const struct job *job)
{
    memset(d, 0, sizeof *d);
    for (uint32_t i = 0; i < job->spots; i++) {
        uint32_t mark = job->spot[i].on == RECORD_ON_MARK ? job->mark_of[job->spot[i].at] : JOB_NONE;
        bool held = mark != JOB_NONE && job->r->mark[mark].sigma == 0;
        d->spot[i] = held || job->level_spot[i].state == LEVEL_UNKNOWN ? -1 : (int)d->n++;
    }
    for (uint32_t i = 0; i < job->spots; i++) {
        uint32_t mark = job->spot[i].on == RECORD_ON_MARK ? job->mark_of[job->spot[i].at] : JOB_NONE;
        if (mark != JOB_NONE && job->r->mark[mark].sigma > 0)
            observe(d, -1, d->spot[i], job->r->mark[mark].sigma);
    }
    for (uint32_t l = 0; l < job->legs; l++) {
        const struct level_leg *leg = &job->leg[l];
        if (leg->count == 0) {
            observe(d, d->spot[leg->from], d->spot[leg->to], job->r->job.sigma * sqrt(2.0 * leg->setups));
            continue;
        }
        d->leg[l] = (int)d->n++;
        for (uint32_t i = leg->first; i < leg->first + leg->count; i++)
            observe(d, d->leg[l], d->spot[job->sight[i].spot], job->r->job.sigma);
    }
    assert_true(d->n < MOST - 1);
}

static double
z(const struct dense *d, int i, int j)
{
    return i < 0 || j < 0 ? 0 : d->inverse[i][j];
}

/* How much of each mark of a grade stands in it at a place: by lines through the other two, not by the program's own way. */
static void
shares_at(const struct job *job, const struct job_grade *g, uint32_t name, double share[3])
{
    double x[4], y[4];
    share[0] = g->from->through > 0;
    share[1] = share[2] = 0;
    if (g->from->through < 3)
        return;
    for (int k = 0; k < 4; k++) {
        const struct record_point *p = &job->r->point[job->point_of[k < 3 ? g->from->at[k].at : name]];
        x[k] = (double)p->x * 1e-9;
        y[k] = (double)p->y * 1e-9;
    }
    for (int k = 0; k < 3; k++) {
        int a = (k + 1) % 3, b = (k + 2) % 3; /* 0 on the line through the others, 1 at its own mark */
        double here = (x[3] - x[a]) * (y[b] - y[a]) - (y[3] - y[a]) * (x[b] - x[a]);
        double own = (x[k] - x[a]) * (y[b] - y[a]) - (y[k] - y[a]) * (x[b] - x[a]);
        share[k] = here / own;
    }
}

static double
dense_variance(const struct dense *d, const struct job *job, const struct job_stake *s)
{
    const struct job_grade *g = &job->grade[s->grade_index];
    double share[3], c[4] = { -1 };
    int row[4] = { d->spot[s->spot], -1, -1, -1 };
    shares_at(job, g, s->at, share);
    for (uint32_t k = 0; k < g->from->through; k++) {
        row[k + 1] = d->spot[job->spot_of[(size_t)g->from->at[k].at * RECORD_ON_COUNT + g->from->at[k].on]];
        c[k + 1] = share[k];
    }
    double sum = 0;
    for (int i = 0; i < 4; i++)
        for (int j = 0; j < 4; j++)
            sum += c[i] * c[j] * z(d, row[i], row[j]);
    return sum;
}

static char text[65536];
static struct dense dense, again;

static void
deviations_are_those_of_the_whole_matrix(void **st)
{
    size_t stakes = 0, planes = 0, exact = 0;
    (void)st;
    state = 20260502;
    for (int round = 0; round < 200; round++) {
        struct made m;
        next_record(text, round % 2 ? "setups" : "least-squares");
        make(&m, text, 0.95);
        fill_dense(&dense, &m.job);
        invert(&dense);
        double largest = 0;
        for (uint32_t i = 0; i < m.job.spots; i++) {
            double v = z(&dense, dense.spot[i], dense.spot[i]);
            largest = v > largest ? v : largest;
            if (m.job.level_spot[i].state == LEVEL_UNKNOWN)
                assert_true(m.job.spot_sigma[i] < 0);
            else
                assert_near(m.job.spot_sigma[i], sqrt(v), 1e-11 * sqrt(v));
        }
        for (size_t i = 0; i < m.job.stakes; i++) {
            const struct job_stake *s = &m.job.stake[i];
            if (s->spot == JOB_NONE) {
                assert_true(s->sigma < 0);
                assert_int_equal(s->verdict, JOB_UNREAD);
                continue;
            }
            double v = dense_variance(&dense, &m.job, s);
            assert_near(s->sigma * s->sigma, v, 1e-11 * largest * 30); /* shares of a plane are up to some units */
            stakes++;
            planes += m.job.grade[s->grade_index].from->through == 3;
            exact += s->sigma == 0;
        }
        drop(&m);
    }
    assert_true(stakes > 2000 && planes > 500 && exact > 50); /* through itself: exact */
}

/* ---- the reading that helps most, by trying each of them ---- */

struct tried {
    size_t settled;
    double left;
};

static struct tried
hold_against(const struct dense *d, const struct job *job)
{
    struct tried t = { 0, 0 };
    for (size_t i = 0; i < job->stakes; i++) {
        const struct job_stake *s = &job->stake[i];
        if (s->verdict != JOB_UNSURE)
            continue;
        double v = dense_variance(d, job, s), t_m = (double)job->grade[s->grade_index].tolerance * 1e-9;
        double off = fabs((double)s->move.move * 1e-9), h = job->factor * sqrt(v);
        bool told = off >= t_m ? off > h : off + h < 2 * t_m;
        t.settled += told;
        if (!told && v > t.left)
            t.left = v;
    }
    return t;
}

static void
best_of(struct tried *best, const struct dense *d, const struct job *job)
{
    struct tried t = hold_against(d, job);
    if (t.settled > best->settled || (t.settled == best->settled && t.left < best->left))
        *best = t;
}

/* The same, with one observation more between two rows. */
static void
try_one(struct tried *best, const struct job *job, int from, int to, double sigma)
{
    again = dense;
    observe(&again, from, to, sigma);
    invert(&again);
    best_of(best, &again, job);
}

static void
try_all(struct tried *best, const struct job *job)
{
    double sigma = job->r->job.sigma;
    const struct level_leg *last = NULL;
    uint32_t last_leg = 0;
    for (uint32_t l = 0; l < job->legs; l++)
        if (job->leg[l].count > 0) {
            last = &job->leg[l];
            last_leg = l;
        }
    bool open = job->sight[last->first + last->count - 1].kind != LEVEL_FS;
    for (size_t i = 0; i < job->stakes; i++) {
        const struct job_stake *s = &job->stake[i];
        const struct job_grade *g = &job->grade[s->grade_index];
        if (s->verdict != JOB_UNSURE)
            continue;
        for (uint32_t k = 0; k <= g->from->through; k++) {
            uint32_t spot = k == 0 ? s->spot
                                   : job->spot_of[(size_t)g->from->at[k - 1].at * RECORD_ON_COUNT + g->from->at[k - 1].on];
            if (dense.spot[spot] < 0)
                continue;
            for (uint32_t b = 0; b < job->spots; b++)
                if (job->level_spot[b].state == LEVEL_MARK && b != spot)
                    try_one(best, job, dense.spot[b], dense.spot[spot], sigma * sqrt(2));
            if (open)
                try_one(best, job, dense.leg[last_leg], dense.spot[spot], sigma);
        }
    }
}

static void
try_repeats(struct tried *best, const struct job *job)
{
    for (uint32_t l = 0; l < job->legs; l++) {
        const struct level_leg *leg = &job->leg[l];
        uint32_t sees = 0;
        for (size_t i = 0; i < job->stakes; i++)
            for (uint32_t k = leg->first; k < leg->first + leg->count; k++)
                sees += job->stake[i].verdict == JOB_UNSURE && job->sight[k].spot == job->stake[i].spot;
        if (leg->count < 2 || sees == 0)
            continue;
        again = dense;
        int instrument = (int)again.n++;
        for (uint32_t k = leg->first; k < leg->first + leg->count; k++)
            observe(&again, instrument, dense.spot[job->sight[k].spot], job->r->job.sigma);
        invert(&again);
        best_of(best, &again, job);
    }
}

static void
advice_is_the_best_of_all_that_are_tried(void **st)
{
    size_t kinds[4] = { 0 }, some = 0;
    (void)st;
    state = 77;
    for (int round = 0; round < 150; round++) {
        struct made m;
        next_record(text, round % 2 ? "setups" : "least-squares");
        make(&m, text, 0.95);
        const struct job_advice *a = &m.job.advice;
        size_t doubts = 0;
        for (size_t i = 0; i < m.job.stakes; i++)
            doubts += m.job.stake[i].verdict == JOB_UNSURE;
        assert_int_equal(a->doubts, doubts);
        if (doubts == 0 || m.job.legs - 1 > SURE_SETUPS + 1) { /* of many set-ups only some are tried */
            drop(&m);
            continue;
        }
        fill_dense(&dense, &m.job);
        invert(&dense);
        struct tried best = hold_against(&dense, &m.job);
        assert_int_equal(best.settled, 0);
        assert_near(a->worst, sqrt(best.left), 1e-9 * a->worst);
        struct tried one = best, all;
        try_all(&one, &m.job);
        all = one;
        try_repeats(&all, &m.job);
        if (m.job.legs - 1 <= SURE_SETUPS) {
            assert_int_equal(a->settled, all.settled);
            assert_near(a->left, sqrt(all.left), 1e-9 * a->worst);
        } else { /* one set-up more than are tried: between the best of readings and the best of all */
            assert_true(a->settled >= one.settled && a->settled <= all.settled);
        }
        kinds[a->further]++;
        some += a->settled > 0 && a->settled < a->doubts;
        drop(&m);
    }
    assert_true(kinds[JOB_FURTHER_REPEAT] > 5 && kinds[JOB_FURTHER_NEW] + kinds[JOB_FURTHER_OPEN] > 5 && some > 20);
}

/* ---- verdicts against chance ---- */

#define JOBS 20000

static const char loop_job[] =
    "---\njob: loop\nunit: ft\nleast: 0.01\nspread: least-squares\n---\nmarks:\n  BM: {elevation: 100}\n"
    "---\ngrade: {name: a, means: finish, level: 100, tolerance: 1/8 in}\n"
    "---\nlevels:\n  readings:\n    - {at: BM, bs: 4}\n    - {at: ON, on: batten, is: 4}\n    - {at: HALF, on: batten, is: 4}\n"
    "    - {at: EDGE, on: batten, is: 4}\n    - {at: TWICE, on: batten, is: 4}\n    - {at: TP, fs: 4, bs: 4}\n"
    "    - {at: ON, on: post, is: 4}\n    - {at: BM, fs: 4}\n";

struct rates {
    size_t move, leave, unsure, wrong_way;
};

/* Readings with noise of the job's sigma over true heights, in the units of the tolerance above grade. */
static void
shake(struct record *r, const double height[])
{
    double sigma = r->job.sigma * 1e9, t = (double)r->grade[0].tolerance;
    for (size_t i = 0; i < r->rows; i++) {
        length up = (length)(height[i] * t);
        r->row[i].bs = 4 * LENGTH_FT - up + (length)lround(sigma * normal());
        r->row[i].ahead = 4 * LENGTH_FT - up + (length)lround(sigma * normal());
    }
}

/* Chance of |D| being at least `least` where D is normal about `mean`. */
static double
beyond(double least, double mean, double s)
{
    return 0.5 * erfc((least - mean) / s / sqrt(2)) + 0.5 * erfc((least + mean) / s / sqrt(2));
}

static void
verdicts_err_as_often_as_they_say(double confidence, double sigma)
{
    static const double height[] = { 0, 0, 0.5, 1, 2, 0, 0, 0 };
    struct record r;
    struct diag d = { 0 };
    struct source source = source_of_bytes(loop_job, sizeof loop_job - 1);
    struct job_options options = { .stakes = true, .confidence = confidence };
    struct rates rate[8] = { { 0, 0, 0, 0 } };
    double s[8] = { 0 }, t = 0, factor = 0;
    size_t stakes = 0;
    assert_int_equal(record_read(&r, &source, &d), 0);
    r.job.sigma = sigma;
    for (int k = 0; k < JOBS; k++) {
        struct job job;
        shake(&r, height);
        assert_int_equal(job_work(&job, &r, &options, &d), 0);
        assert_int_equal(d.errors, 0);
        stakes = job.stakes;
        for (size_t i = 0; i < stakes; i++) {
            rate[i].move += job.stake[i].verdict == JOB_MOVE;
            rate[i].leave += job.stake[i].verdict == JOB_LEAVE;
            rate[i].unsure += job.stake[i].verdict == JOB_UNSURE;
            rate[i].wrong_way += job.stake[i].verdict == JOB_MOVE && job.stake[i].move.move > 0;
            s[i] = job.stake[i].sigma;
        }
        t = (double)job.grade[0].tolerance * 1e-9;
        factor = job.factor;
        job_release(&job);
    }
    assert_int_equal(stakes, 5);
    for (size_t i = 0; i < stakes; i++) { /* in the order in which they were read first; ON on the post comes last */
        double h = factor * s[i], mean = (i == 4 ? 0 : height[i + 1]) * t;
        double move = beyond(fmax(t, h), mean, s[i]), leave = h < 2 * t ? 1 - beyond(fmin(t, 2 * t - h), mean, s[i]) : 0;
        double slack = 4.5 * sqrt(0.25 / JOBS);
        assert_near((double)rate[i].move / JOBS, move, slack);
        assert_near((double)rate[i].leave / JOBS, leave, slack);
        if (mean == 0) { /* moved, and on grade */
            double most = 1 - confidence;
            assert_true(move <= most * (1 + 1e-9));
            assert_near((double)rate[i].move / JOBS, move, 4.5 * sqrt(most * confidence / JOBS));
        }
        if (mean == 2 * t) { /* left, and off by twice the tolerance; sent the wrong way */
            double most = (1 - confidence) / 2;
            assert_true(leave <= most * (1 + 1e-9));
            assert_true((double)rate[i].leave / JOBS <= most + 4.5 * sqrt(most / JOBS));
            assert_true((double)rate[i].wrong_way / JOBS <= most + 4.5 * sqrt(most / JOBS));
        }
        if (getenv("RATES"))
            printf("  confidence %.3f, h/t %.2f, off by %.1f t: move %.4f (%.4f), leave %.4f (%.4f), can't tell %.4f\n", confidence,
                h / t, mean / t, (double)rate[i].move / JOBS, move, (double)rate[i].leave / JOBS, leave, (double)rate[i].unsure / JOBS);
    }
    record_release(&r);
    diag_release(&d);
}

static void
verdicts_and_chance(void **st)
{
    (void)st;
    state = 31;
    verdicts_err_as_often_as_they_say(0.95, 0.005 * 0.3048); /* half of the least division */
    verdicts_err_as_often_as_they_say(0.95, 0.003 * 0.3048);
    verdicts_err_as_often_as_they_say(0.68, 0.005 * 0.3048);
    verdicts_err_as_often_as_they_say(0.99, 0.010 * 0.3048); /* h is more than 2 t: nothing is left alone */
}

static void
factors_are_those_of_the_tables(void **st)
{
    (void)st; /* two-sided points of the normal distribution; from memory */
    assert_near(sure_factor(0.95), 1.959963984540054, 1e-12);
    assert_near(sure_factor(0.99), 2.5758293035489004, 1e-12);
    assert_near(sure_factor(0.6826894921370859), 1, 1e-12);
}

/* Each edge of the rule, to the nanometre. */
static void
verdicts_turn_where_they_should(void **st)
{
    length t = 3 * LENGTH_MM;
    (void)st;
    assert_near(site_decides_below(site_move(0, 0, t), t), 6e-3, 1e-15);
    assert_near(site_decides_below(site_move(0, t - 1, t), t), 3.000001e-3, 1e-15);
    assert_near(site_decides_below(site_move(0, t, t), t), 3e-3, 1e-15);
    assert_near(site_decides_below(site_move(0, -t, t), t), 3e-3, 1e-15);
    assert_near(site_decides_below(site_move(5 * t, 0, t), t), 15e-3, 1e-15);
}

/* ---- plans ---- */

#define PLAN_HEAD                                                                                                     \
    "---\njob: planned\nunit: m\nleast: 0.001\nallow: {misclosure: 2 mm, per: root-setup}\n"                          \
    "---\nmarks:\n  A: {elevation: 10}\n  B: {elevation: 11.2, sigma: 1 mm}\n"                                        \
    "---\npoints:\n  W1: {x: 0, y: 0, kind: post}\n  W2: {x: 4, y: 0, kind: post}\n  W3: {x: 0, y: 5, kind: post}\n"   \
    "  W4: {x: 3, y: 3, kind: post}\n"                                                                                \
    "---\ngrade: {name: a, means: finish, level: 10.5, tolerance: 2 mm}\n"                                            \
    "---\ngrade: {name: b, means: finish, through: {at: W1, on: post}, tolerance: 0.5 mm}\n"                            \
    "---\ngrade: {name: c, means: finish, tolerance: 3 mm, through: [{at: W1, on: post}, {at: W2, on: post}, {at: W3, on: post}]}\n"

static const char planned[] = PLAN_HEAD "---\nplan:\n  setups:\n    - {from: A, post: [W1, W2], to: T}\n"
    "    - {from: T, post: [W2, W3], ground: W3, to: B}\n    - {from: B, post: W4, to: A}\n    - {from: A, post: W1}\n";
static const char booked[] = PLAN_HEAD "---\nlevels:\n  readings:\n    - {at: A, bs: 1.5}\n    - {at: W1, on: post, is: 1.003}\n"
    "    - {at: W2, on: post, is: 1.1}\n    - {at: T, fs: 1.2, bs: 1.4}\n    - {at: W2, on: post, is: 1.301}\n"
    "    - {at: W3, on: post, is: 0.9}\n    - {at: W3, on: ground, is: 1.9}\n    - {at: B, fs: 0.5, bs: 1.3}\n"
    "    - {at: W4, on: post, is: 0.8}\n    - {at: A, fs: 2.501}\n"
    "---\nlevels:\n  readings:\n    - {at: A, bs: 1.6}\n    - {at: W1, on: post, is: 1.102}\n";

static void
plans_say_what_booking_will(void **st)
{
    struct made b, p;
    struct plan plan;
    (void)st;
    make(&b, booked, 0.95);
    struct source source = source_of_bytes(planned, sizeof planned - 1);
    p = (struct made){ .d = { 0 } };
    assert_int_equal(record_read(&p.r, &source, &p.d), 0);
    assert_int_equal(plan_work(&plan, &p.r, 0, 0.95, &p.d), 0);
    assert_int_equal(p.d.errors, 0);
    assert_int_equal(plan.job.spots, b.job.spots);
    for (size_t i = 0; i < b.job.spots; i++)
        assert_near(plan.job.spot_sigma[i], b.job.spot_sigma[i], 0);
    assert_int_equal(plan.job.stakes, b.job.stakes);
    size_t tells[4] = { 0 };
    for (size_t i = 0; i < b.job.stakes; i++) {
        assert_near(plan.stake[i].sigma, b.job.stake[i].sigma, 0);
        tells[plan.stake[i].tells]++;
        double h = b.job.factor * b.job.stake[i].sigma, t = (double)b.job.grade[b.job.stake[i].grade_index].tolerance * 1e-9;
        assert_int_equal(plan.stake[i].tells == PLAN_TELLS_ALWAYS, h < t);
        assert_int_equal(plan.stake[i].tells == PLAN_TELLS_MOVES, h >= 2 * t);
    }
    assert_true(tells[PLAN_TELLS_ALWAYS] > 2 && tells[PLAN_TELLS_MOVES] > 0);
    /* A to B: two set-ups, and B is given to 1 mm; held against itself from the other side by one set-up */
    assert_int_equal(plan.job.work.links, b.job.work.links);
    assert_int_equal(plan.job.work.link[0].setups, 2);
    double sigma = 0.0005, rest = 1 / (1 / 1e-6 + 1 / (2 * sigma * sigma));
    double side = 4 * sigma * sigma; /* without W2, which both of its set-ups see */
    assert_true(plan.link[0].sigma < sqrt(side + rest) * 1.0001 && plan.link[0].sigma > 0.9 * sqrt(side + rest));
    assert_near(plan.link[0].ordinary, 1.959963984540054 * plan.link[0].sigma, 1e-15);
    assert_true(plan.record.rows == 14 && p.r.rows == 0);
    plan_release(&plan);
    drop(&p);
    drop(&b);
}

/* What was read is no part of a plan; a loop of n set-ups comes home to root 2 n of a reading. */
static void
plans_stand_apart_from_readings(void **st)
{
    static const char plan_after[] = "---\nplan:\n  name: once more\n  setups:\n    - {from: A, post: W4, to: T}\n"
                                     "    - {from: T, to: T2}\n    - {from: T2, to: A}\n";
    struct made m;
    struct plan plan;
    (void)st;
    stpcpy(stpcpy(text, booked), plan_after);
    make(&m, text, 0.95);
    struct made without;
    make(&without, booked, 0.95);
    for (size_t i = 0; i < without.job.stakes; i++)
        assert_near(m.job.stake[i].sigma, without.job.stake[i].sigma, 0);
    assert_int_equal(m.job.stakes, without.job.stakes);
    assert_int_equal(plan_work(&plan, &m.r, 0, 0.95, &m.d), 0);
    assert_int_equal(m.d.errors, 0);
    assert_int_equal(plan.grades_left, 2); /* through W1, which it does not read */
    assert_int_equal(plan.job.grades, 1);
    assert_int_equal(plan.job.work.links, 1);
    assert_near(plan.link[0].sigma, 0.0005 * sqrt(6), 1e-15);
    assert_false(plan.link[0].tight); /* 2 mm root 3 */
    plan_release(&plan);
    drop(&without);
    drop(&m);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(factors_are_those_of_the_tables),
        cmocka_unit_test(verdicts_turn_where_they_should),
        cmocka_unit_test(deviations_are_those_of_the_whole_matrix),
        cmocka_unit_test(advice_is_the_best_of_all_that_are_tried),
        cmocka_unit_test(verdicts_and_chance),
        cmocka_unit_test(plans_say_what_booking_will),
        cmocka_unit_test(plans_stand_apart_from_readings),
    };
    return cmocka_run_group_tests_name("sure", tests, NULL, NULL);
}
