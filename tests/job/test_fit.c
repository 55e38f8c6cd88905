/*
 * test_fit.c - laws of adjusted jobs, on thousands of random ones
 *
 * Hand methods against least squares on single loops and links; and, on nets,
 * what must hold of redundancies, loops and residuals whatever was read.
 */
#include "near.h"

#include "rodbook/fit.h"
#include "rodbook/room.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26. */
static uint32_t
draw(uint64_t *state, uint32_t below)
{
    *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)((*state >> 33) % below);
}

/* ---- records ---- */

struct text {
    char bytes[60000];
    size_t used;
};

__attribute__((format(printf, 2, 3))) static void
put(struct text *t, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    int n = vsnprintf(t->bytes + t->used, sizeof t->bytes - t->used, format, list);
    va_end(list);
    assert_true(n > 0 && (size_t)n < sizeof t->bytes - t->used);
    t->used += (size_t)n;
}

struct worked {
    struct source source;
    struct record record;
    struct job job;
    struct diag diag;
};

static void
work(struct worked *w, const struct text *t, bool to_adjust)
{
    *w = (struct worked){ .source = source_of_bytes(t->bytes, t->used) };
    struct job_options options = { .to_adjust = to_adjust };
    assert_int_equal(record_read(&w->record, &w->source, &w->diag), 0);
    assert_int_equal(job_work(&w->job, &w->record, &options, &w->diag), 0);
    if (w->diag.n > 0)
        fail_msg("line %u: %s\n%s", w->diag.item[0].place.line, w->diag.item[0].text, t->bytes);
}

static void
release(struct worked *w)
{
    job_release(&w->job);
    record_release(&w->record);
    diag_release(&w->diag);
}

/* ---- one loop or link, three ways ---- */

struct line {
    uint32_t setups, sides[24]; /* side shots in each set-up */
    bool link;
    length reading[24][8];      /* backsight, side shots, foresight */
};

static void
invent_line(struct line *l, uint64_t *state)
{
    l->setups = 1 + draw(state, 24);
    l->link = draw(state, 2);
    for (uint32_t k = 0; k < l->setups; k++) {
        l->sides[k] = draw(state, 4);
        for (uint32_t i = 0; i < l->sides[k] + 2; i++)
            l->reading[k][i] = (500 + (length)draw(state, 3000)) * LENGTH_MM;
    }
}

static void
write_line(struct text *t, const struct line *l, const char *spread)
{
    t->used = 0;
    put(t, "---\njob: One line\nunit: m\nleast: 0.001\nspread: %s\n---\nmarks:\n  A: {elevation: 100.000}\n", spread);
    if (l->link)
        put(t, "  Z: {elevation: 97.531}\n");
    put(t, "---\nlevels:\n  readings:\n");
    for (uint32_t k = 0; k < l->setups; k++) {
        const length *r = l->reading[k];
        char end[16];
        snprintf(end, sizeof end, "T%u", k);
        put(t, "    - {at: %s, bs: %.3f, dist: 31.5}\n", k > 0 ? end : "A", (double)r[0] / 1e9);
        for (uint32_t i = 0; i < l->sides[k]; i++)
            put(t, "    - {at: S%u-%u, is: %.3f}\n", k, i, (double)r[i + 1] / 1e9);
        snprintf(end, sizeof end, "T%u", k + 1);
        put(t, "    - {at: %s, fs: %.3f, dist: 31.5}\n", k + 1 < l->setups ? end : l->link ? "Z" : "A", (double)r[l->sides[k] + 1] / 1e9);
    }
}

static length
value_at(const struct worked *w, const char *name, const struct level_spot **spot)
{
    for (uint32_t i = 0; i < w->job.spots; i++) {
        if (strcmp(names_text(&w->record.names, w->job.spot[i].at), name) != 0)
            continue;
        *spot = &w->job.level_spot[i];
        return w->job.level_spot[i].value;
    }
    fail_msg("no %s", name);
    return 0;
}

/* Turning points within a nanometre; a side shot is half a set-up's share apart: -m k / n by hand, -m (k - 1/2) / n here. */
static void
compare_line(const struct line *l, const struct worked *hand, const struct worked *fit)
{
    const struct level_spot *spot;
    double share = (double)hand->job.work.link[0].misclosure / l->setups;
    char name[24];
    for (uint32_t k = 0; k < l->setups; k++) {
        snprintf(name, sizeof name, "T%u", k + 1);
        if (k + 1 < l->setups)
            assert_near((double)(value_at(fit, name, &spot) - value_at(hand, name, &spot)), 0, 1);
        for (uint32_t i = 0; i < l->sides[k]; i++) {
            snprintf(name, sizeof name, "S%u-%u", k, i);
            assert_near((double)(value_at(fit, name, &spot) - value_at(hand, name, &spot)), share / 2, 1);
        }
        assert_near((double)(fit->job.leg[k].correction - hand->job.leg[k].correction), 0, 1);
    }
    assert_same(fit->job.leg[l->setups - 1].correction, -hand->job.work.link[0].misclosure);
}

static void
hand_methods_agree_with_least_squares_on_a_line(void **state)
{
    static struct text t;
    uint64_t seed = 20260502;
    size_t sides = 0;
    (void)state;
    for (int round = 0; round < 3000; round++) {
        struct line l;
        struct worked setups, distance, fit;
        invent_line(&l, &seed);
        write_line(&t, &l, "setups");
        struct text *one = malloc(sizeof *one), *two = malloc(sizeof *two);
        assert_true(one && two);
        write_line(one, &l, "distance");
        write_line(two, &l, "least-squares");
        work(&setups, &t, false);
        work(&distance, one, false);
        work(&fit, two, false);
        compare_line(&l, &setups, &fit);
        compare_line(&l, &distance, &fit);
        for (uint32_t k = 0; k < l.setups; k++)
            sides += l.sides[k];
        release(&setups);
        release(&distance);
        release(&fit);
        free(one);
        free(two);
    }
    assert_true(sides > 10000); /* the law for side shots was tried */
}

/* ---- nets ---- */

#define POINTS 24

/* Runs and sections between points that are reached already or not; elevations true to within some millimetres. */
static void
invent_net(struct text *t, uint64_t *state)
{
    length true_mm[POINTS];
    bool reached[POINTS] = { true };
    uint32_t points = 3 + draw(state, POINTS - 3), second = 1 + draw(state, points - 1), runs = 2 + draw(state, 9);
    for (uint32_t i = 0; i < POINTS; i++)
        true_mm[i] = draw(state, 20000);
    t->used = 0;
    put(t, "---\njob: A net\nunit: m\nleast: 0.001\nspread: least-squares\nsigma: %u mm\nsigma-km: 3 mm\n", 1 + draw(state, 4));
    put(t, "---\nmarks:\n  P0: {elevation: %.3f}\n", (double)true_mm[0] / 1000);
    if (draw(state, 2))
        put(t, "  P%u: {elevation: %.3f%s}\n", second, (double)true_mm[second] / 1000, draw(state, 2) ? ", sigma: 2 mm" : "");
    else
        second = 0;
    reached[second] = true;
    for (uint32_t run = 0; run < runs; run++) {
        uint32_t at = draw(state, points), steps = 1 + draw(state, 5);
        while (!reached[at])
            at = (at + 1) % points;
        bool sections = draw(state, 3) == 0;
        put(t, sections ? "---\nsections:\n  rows:\n" : "---\nlevels:\n  readings:\n");
        for (uint32_t k = 0; k < steps; k++) {
            uint32_t to = (at + 1 + draw(state, points - 1)) % points;
            length sight = 1000 + draw(state, 500);
            if (sections) {
                put(t, "    - {from: P%u, to: P%u, rise: %.3f, %s}\n", at, to,
                    (double)(true_mm[to] - true_mm[at] + (length)draw(state, 9) - 4) / 1000, draw(state, 2) ? "setups: 3" : "dist: 400 m");
            } else {
                put(t, "    - {at: P%u, bs: %.3f}\n", at, (double)sight / 1000);
                for (uint32_t i = draw(state, 3); i > 0; i--) {
                    uint32_t side = draw(state, points);
                    put(t, "    - {at: P%u, is: %.3f}\n", side, (double)(true_mm[at] + sight - true_mm[side] + (length)draw(state, 9) - 4) / 1000);
                    reached[side] = true;
                }
                put(t, "    - {at: P%u, fs: %.3f}\n", to, (double)(true_mm[at] + sight - true_mm[to] + (length)draw(state, 9) - 4) / 1000);
            }
            reached[to] = true;
            at = to;
        }
    }
}

/* What an observation adds to a walk along it, in exact integers; a reading is taken off on the way down to its point. */
static length
observed_along(const struct adjust *a, uint32_t tie, bool forward)
{
    const struct adjust_observation *of = &a->of[tie];
    length value = of->kind == ADJUST_READING ? -a->job->sight[of->index].reading
        : of->kind == ADJUST_SECTION           ? a->job->r->section[of->index].rise
                                               : a->job->r->mark[of->index].elevation;
    return forward ? value : -value;
}

/* The given elevation at the end of a tie that is held; 0 for the datum itself, where a mark's own elevation begins. */
static length
held_end(const struct adjust *a, uint32_t tie, bool at_from)
{
    const struct adjust_observation *of = &a->of[tie];
    if (of->kind == ADJUST_MARK)
        return 0;
    uint32_t spot = of->kind == ADJUST_READING ? of->spot : at_from ? a->job->leg[of->leg].from : a->job->leg[of->leg].to;
    return a->job->r->mark[a->job->mark_of[a->job->spot[spot].at]].elevation;
}

static void
walk_loop(const struct adjust *a, const struct adjust_loops *l, const struct adjust_loop *loop)
{
    length sum = 0;
    double variance = 0;
    uint32_t start = NET_GROUND, at = NET_GROUND;
    for (uint32_t i = loop->first; i < loop->first + loop->count; i++) {
        const struct net_tie *tie = &a->tie[l->way[i]];
        bool forward = l->forward[i];
        uint32_t from = forward ? tie->from : tie->to, to = forward ? tie->to : tie->from;
        if (i == loop->first)
            start = from;
        else
            assert_same(from, at); /* it is one walk */
        sum += observed_along(a, l->way[i], forward);
        sum += from == NET_GROUND ? held_end(a, l->way[i], forward) : 0;
        sum -= to == NET_GROUND ? held_end(a, l->way[i], !forward) : 0;
        variance += 1 / tie->weight;
        at = to;
    }
    assert_same(at, start); /* and comes home */
    assert_same(sum, loop->misclosure);
    assert_near(loop->sigma, sqrt(variance), 1e-15);
}

/* As many loops as degrees of freedom, each closed by an observation that lies on no other: so none is a sum of others. */
static void
check_loops(const struct adjust *a, const struct adjust_loops *l)
{
    uint32_t *met = room_new(a->observations, sizeof *met);
    assert_non_null(met);
    assert_int_equal(l->loops, a->freedom);
    for (size_t i = 0; i < l->ways; i++)
        met[l->way[i]]++;
    for (size_t i = 0; i < l->loops; i++) {
        walk_loop(a, l, &l->loop[i]);
        assert_int_equal(met[l->loop[i].tie], 1);
    }
    for (size_t t = 0; t < a->observations; t++) /* what nothing checks lies on no loop, and all else on one or more */
        assert_int_equal(met[t] > 0, a->net.redundancy[t] > 0);
    free(met);
}

/* At each unknown the weighted residuals balance: that is what least squares means. */
static void
check_balance(const struct adjust *a)
{
    double *pull = room_new(a->net.nodes, sizeof *pull), *size = room_new(a->net.nodes, sizeof *size), sum = 0;
    assert_true(pull && size);
    for (size_t t = 0; t < a->observations; t++) {
        const struct net_tie *tie = &a->tie[t];
        sum += a->net.redundancy[t];
        if (tie->to != NET_GROUND) {
            pull[tie->to] += tie->weight * a->residual[t];
            size[tie->to] += tie->weight;
        }
        if (tie->from != NET_GROUND) {
            pull[tie->from] -= tie->weight * a->residual[t];
            size[tie->from] += tie->weight;
        }
    }
    for (size_t i = 0; i < a->net.nodes; i++)
        assert_near(pull[i] / size[i], 0, 1e-14); /* m, of elevations below 30 m */
    assert_near(sum, (double)a->freedom, 1e-10);
    free(pull);
    free(size);
}

static void
laws_of_random_nets(void **state)
{
    struct text *t = malloc(sizeof *t);
    uint64_t seed = 418;
    size_t freedom = 0, between = 0, bridges = 0, many = 0;
    (void)state;
    assert_non_null(t);
    for (int round = 0; round < 3000; round++) {
        struct worked w;
        struct adjust a;
        struct fit f;
        invent_net(t, &seed);
        work(&w, t, true);
        assert_int_equal(adjust_open(&a, &w.job, &w.diag), 0);
        if (w.diag.errors > 0)
            fail_msg("%s", w.diag.item[0].text);
        assert_int_equal(fit_open(&f, &a, FIT_CONFIDENCE), 0);
        check_loops(&a, &f.loops);
        check_balance(&a);
        size_t pieces = 0;
        for (size_t i = 0; i < f.pieces; i++)
            pieces += f.piece[i].freedom;
        assert_int_equal(pieces, a.freedom - (a.observations - a.net.ties));
        freedom += a.freedom;
        between += a.observations - a.net.ties;
        bridges += a.observations - f.checked;
        many += f.pieces > 1;
        fit_release(&f);
        adjust_release(&a);
        release(&w);
    }
    assert_true(freedom > 10000 && between > 50 && bridges > 1000 && many > 50); /* all kinds were met */
    free(t);
}

/* A job that leaves a line outside unspread is adjusted whole all the same: its readings are there to be looked at. */
static void
an_adjustment_takes_what_is_outside(void **state)
{
    static struct text t;
    struct worked w;
    struct adjust a;
    (void)state;
    t.used = 0;
    put(&t, "---\njob: Outside\nunit: m\nleast: 0.001\nallow: {misclosure: 2 mm, per: job}\n---\nmarks:\n  A: {elevation: 7.000}\n"
            "---\nlevels:\n  readings:\n    - {at: A, bs: 1.412}\n    - {at: T, fs: 1.733, bs: 1.590}\n    - {at: A, fs: 1.274}\n");
    w = (struct worked){ .source = source_of_bytes(t.bytes, t.used) };
    assert_int_equal(record_read(&w.record, &w.source, &w.diag), 0);
    assert_int_equal(job_work(&w.job, &w.record, &(struct job_options){ 0 }, &w.diag), 0);
    assert_true(w.job.outside && !w.job.work.link[0].spread);
    assert_int_equal(adjust_open(&a, &w.job, &w.diag), 0);
    assert_int_equal(a.observations, 4);
    assert_int_equal(a.freedom, 1);
    assert_near(a.vpv, 4 * (1.25 / 0.5) * (1.25 / 0.5), 1e-9); /* 5 mm, a quarter in each sight */
    adjust_release(&a);
    release(&w);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hand_methods_agree_with_least_squares_on_a_line),
        cmocka_unit_test(laws_of_random_nets),
        cmocka_unit_test(an_adjustment_takes_what_is_outside),
    };
    return cmocka_run_group_tests_name("fit", tests, NULL, NULL);
}
