/* Closing and spreading: small books by hand, and the laws on ten thousand random ones. */
#include "near.h"

#include "books.h"

#include <stdio.h>
#include <string.h>

#define MM LENGTH_MM

static const struct level_rules by_setups = { LEVEL_BY_SETUPS, LEVEL_ALLOW_NONE, 0, false };

/* ---- grouping ---- */

static enum level_status
group(const char *kinds, const uint32_t *spots, size_t *legs, size_t *bad)
{
    struct level_sight sight[16];
    struct level_leg leg[16];
    size_t n = strlen(kinds);
    for (size_t i = 0; i < n; i++)
        sight[i] = (struct level_sight){ 1482 * MM + (length)i * 7 * MM, spots[i],
            kinds[i] == 'b' ? LEVEL_BS : kinds[i] == 'f' ? LEVEL_FS : LEVEL_IS, 0 };
    return level_group(sight, n, 0, 0, leg, legs, bad);
}

static void
refuses_sights_that_do_not_follow(void **state)
{
    size_t legs = 77, bad = 88;
    (void)state;
    assert_int_equal(group("if", (uint32_t[]){ 1, 2 }, &legs, &bad), LEVEL_ENOBS);
    assert_int_equal(bad, 0);
    assert_int_equal(group("bfi", (uint32_t[]){ 1, 2, 3 }, &legs, &bad), LEVEL_ENOBS);
    assert_int_equal(bad, 2);
    assert_int_equal(group("bib", (uint32_t[]){ 1, 2, 3 }, &legs, &bad), LEVEL_EOPEN);
    assert_int_equal(bad, 2);
    assert_int_equal(group("bfb", (uint32_t[]){ 1, 2, 3 }, &legs, &bad), LEVEL_ETURN);
    assert_int_equal(bad, 2);
    assert_int_equal(legs, 77); /* untouched */
    assert_int_equal(group("bfbif", (uint32_t[]){ 1, 2, 2, 4, 1 }, &legs, &bad), LEVEL_OK);
    assert_int_equal(legs, 2);
    assert_int_equal(group("", (uint32_t[]){ 0 }, &legs, &bad), LEVEL_OK);
    assert_int_equal(legs, 0);
}

static void
a_struck_sight_parts_a_run(void **state)
{
    const struct level_sight sight[] = { { 1482 * MM, 0, LEVEL_BS, 0 }, { 1511 * MM, 1, LEVEL_IS, 0 },
        { 1290 * MM, 2, LEVEL_IS, 1 }, { 1733 * MM, 3, LEVEL_FS, 0 }, { 1604 * MM, 3, LEVEL_BS, 0 } };
    struct level_leg leg[5];
    size_t legs, bad;
    (void)state;
    assert_int_equal(level_group(sight, 5, 40, 9, leg, &legs, &bad), LEVEL_OK);
    assert_int_equal(legs, 3);
    assert_int_equal(leg[0].to, LEVEL_NONE);   /* its foresight is struck */
    assert_int_equal(leg[1].from, LEVEL_NONE); /* and this backsight */
    assert_int_equal(leg[1].to, 3);
    assert_int_equal(leg[1].first, 42);
    assert_same(leg[1].rise, 0);
    assert_int_equal(leg[2].from, 3);
}

/* ---- allowable misclosure ---- */

static void
the_limit_itself_is_within(void **state)
{
    struct level_rules r = { LEVEL_BY_SETUPS, LEVEL_ALLOW_ROOT_SETUP, 5.0 * MM, false };
    (void)state;
    assert_int_equal(level_judge(&r, 9, -1, 15 * MM), LEVEL_WITHIN);
    assert_int_equal(level_judge(&r, 9, -1, -15 * MM), LEVEL_WITHIN);
    assert_int_equal(level_judge(&r, 9, -1, 15 * MM + 1), LEVEL_BEYOND);
    /* 5 mm root 7 = 13.228756555322952905... mm */
    assert_int_equal(level_judge(&r, 7, -1, 13228756), LEVEL_WITHIN);
    assert_int_equal(level_judge(&r, 7, -1, 13228757), LEVEL_BEYOND);
    assert_near(level_allowed(&r, 7, -1), 13228756.555322953, 1e-6);
    assert_int_equal(level_judge(&r, 0, -1, 1), LEVEL_NOT_JUDGED);
    r.allow = LEVEL_ALLOW_ROOT_KM;
    assert_int_equal(level_judge(&r, 9, 4 * LENGTH_KM, 10 * MM), LEVEL_WITHIN);
    assert_int_equal(level_judge(&r, 9, 4 * LENGTH_KM - 1, 10 * MM), LEVEL_BEYOND);
    assert_int_equal(level_judge(&r, 9, -1, 0), LEVEL_NOT_JUDGED);
    r.allow = LEVEL_ALLOW_ROOT_MILE;
    assert_int_equal(level_judge(&r, 9, 4 * LENGTH_MILE, 10 * MM), LEVEL_WITHIN);
    assert_int_equal(level_judge(&r, 9, 4 * LENGTH_MILE, 10 * MM + 1), LEVEL_BEYOND);
    r.allow = LEVEL_ALLOW_FIXED;
    assert_int_equal(level_judge(&r, 0, -1, -5 * MM), LEVEL_WITHIN);
    assert_int_equal(level_judge(&r, 0, -1, 5 * MM + 1), LEVEL_BEYOND);
    assert_near(level_allowed(&r, 0, -1), 5e6, 0);
    r.allow_nm = 4999999.5; /* no whole number of nanometres: compared in doubles */
    assert_int_equal(level_judge(&r, 0, -1, 4999999), LEVEL_WITHIN);
    assert_int_equal(level_judge(&r, 0, -1, 5000000), LEVEL_BEYOND);
    r.allow = LEVEL_ALLOW_NONE;
    assert_int_equal(level_judge(&r, 9, LENGTH_KM, 10 * MM), LEVEL_NOT_JUDGED);
    assert_true(level_allowed(&r, 9, LENGTH_KM) < 0);
}

/* ---- lines, loops, links, spurs ---- */

/* Spots 0 and 1 are marks; others turning points and side shots. */
static struct net
two_marks(length a, length b)
{
    struct net n = net_new(64, 256, 32);
    net_mark(&n, 0, a);
    net_mark(&n, 1, b);
    return n;
}

static void
turn(struct net *n, length back, uint32_t from, length fore, uint32_t to)
{
    net_sight(n, LEVEL_BS, back, from);
    net_sight(n, LEVEL_FS, fore, to);
}

static void
a_mark_met_midway_parts_the_run(void **state)
{
    struct net n = two_marks(100000 * MM, 101000 * MM);
    (void)state;
    turn(&n, 1512 * MM, 0, 1004 * MM, 2); /* to 2: +0.508 */
    turn(&n, 1733 * MM, 2, 1235 * MM, 1); /* to 1: +0.498; measured 101.006, known 101.000 */
    turn(&n, 1402 * MM, 1, 1891 * MM, 3); /* to 3: -0.489 */
    turn(&n, 1266 * MM, 3, 1780 * MM, 0); /* to 0: -0.514; measured 99.997, known 100.000 */
    assert_int_equal(net_run(&n, 0, 0), LEVEL_OK);
    assert_int_equal(net_close(&n, &by_setups), LEVEL_OK);
    assert_int_equal(n.work.links, 2);
    assert_int_equal(n.work.link[0].kind, LEVEL_LINK);
    assert_same(n.work.link[0].misclosure, 6 * MM);
    assert_same(n.work.link[1].misclosure, -3 * MM);
    assert_same(n.spot[2].value, 100505 * MM);
    assert_same(n.spot[3].value, 101000 * MM - 489 * MM + 3 * MM / 2);
    /* the book carries on from 100.000 without corrections: 101.006, 100.517 */
    assert_same(n.spot[1].raw, 101006 * MM);
    assert_same(n.spot[3].raw, 100517 * MM);
    net_free(&n);
}

static void
an_inner_loop_is_closed_by_itself(void **state)
{
    struct net n = two_marks(100000 * MM, 0);
    (void)state;
    turn(&n, 1512 * MM, 0, 1004 * MM, 2); /* +0.508 */
    turn(&n, 1733 * MM, 2, 1235 * MM, 3); /* +0.498 */
    turn(&n, 1402 * MM, 3, 1896 * MM, 2); /* -0.494: the inner loop closes to +0.004 */
    turn(&n, 1266 * MM, 2, 1772 * MM, 0); /* -0.506: the outer loop closes to +0.002 */
    assert_int_equal(net_run(&n, 0, 0), LEVEL_OK);
    assert_int_equal(net_close(&n, &by_setups), LEVEL_OK);
    assert_int_equal(n.work.links, 2);
    assert_same(n.work.link[0].misclosure, 2 * MM);
    assert_int_equal(n.work.link[0].count, 2);
    assert_int_equal(n.work.link[1].kind, LEVEL_LOOP);
    assert_int_equal(n.work.link[1].from, 2);
    assert_same(n.work.link[1].misclosure, 4 * MM);
    assert_same(n.spot[2].value, 100507 * MM);
    assert_same(n.spot[3].value, 100507 * MM + 498 * MM - 2 * MM);
    net_free(&n);
}

static void
runs_that_chain_are_one_line(void **state)
{
    struct net n = two_marks(100000 * MM, 0);
    (void)state;
    turn(&n, 1512 * MM, 0, 1004 * MM, 2); /* the first day stops at 2: +0.508 */
    assert_int_equal(net_run(&n, 0, 0), LEVEL_OK);
    turn(&n, 1266 * MM, 2, 1772 * MM, 0); /* the second comes home: -0.506 */
    assert_int_equal(net_run(&n, 2, 1), LEVEL_OK);
    assert_int_equal(net_close(&n, &by_setups), LEVEL_OK);
    assert_int_equal(n.work.links, 1);
    assert_int_equal(n.work.link[0].kind, LEVEL_LOOP);
    assert_same(n.work.link[0].misclosure, 2 * MM);
    assert_same(n.spot[2].value, 100507 * MM);
    assert_int_equal(n.spot[2].quality, LEVEL_CLOSED);
    net_free(&n);
}

/* A run between points that only a later run fixes is closed once they are known. */
static void
a_run_waits_for_its_points(void **state)
{
    struct net n = two_marks(100000 * MM, 0);
    (void)state;
    turn(&n, 1604 * MM, 2, 1107 * MM, 4); /* 2 to 4: +0.497 */
    turn(&n, 1333 * MM, 4, 1332 * MM, 3); /* 4 to 3: +0.001 */
    assert_int_equal(net_run(&n, 0, 0), LEVEL_OK);
    turn(&n, 1512 * MM, 0, 1004 * MM, 2); /* +0.508 */
    turn(&n, 1733 * MM, 2, 1235 * MM, 3); /* +0.498 */
    turn(&n, 1402 * MM, 3, 2408 * MM, 0); /* -1.006: closes flat */
    assert_int_equal(net_run(&n, 4, 1), LEVEL_OK);
    assert_int_equal(net_close(&n, &by_setups), LEVEL_OK);
    assert_int_equal(n.work.links, 2);
    assert_int_equal(n.work.link[1].kind, LEVEL_LINK);
    assert_same(n.work.link[1].misclosure, 0);
    assert_same(n.spot[4].value, 101005 * MM);
    assert_int_equal(n.spot[4].quality, LEVEL_CLOSED);
    net_free(&n);
}

static void
a_spur_is_carried_both_ways_and_stays_unchecked(void **state)
{
    struct net n = two_marks(100000 * MM, 0);
    (void)state;
    turn(&n, 1604 * MM, 2, 1107 * MM, 3); /* begins in the air at 2 */
    turn(&n, 1333 * MM, 3, 1521 * MM, 0); /* and ends on the mark: 3 is 100.188, 2 is 99.691 */
    turn(&n, 1402 * MM, 0, 2408 * MM, 4); /* then out again: 98.994 */
    net_sight(&n, LEVEL_BS, 1811 * MM, 4);
    net_sight(&n, LEVEL_IS, 1299 * MM, 5); /* an open set-up: 99.506 */
    assert_int_equal(net_run(&n, 0, 0), LEVEL_OK);
    assert_int_equal(net_close(&n, &by_setups), LEVEL_OK);
    assert_int_equal(n.work.links, 2);
    assert_same(n.spot[3].value, 100188 * MM);
    assert_same(n.spot[2].value, 99691 * MM);
    assert_same(n.spot[4].value, 98994 * MM);
    assert_same(n.spot[5].value, 99506 * MM);
    for (uint32_t s = 2; s <= 5; s++)
        assert_int_equal(n.spot[s].quality, LEVEL_UNCHECKED);
    assert_int_equal(n.work.order[n.work.link[0].first], 0); /* carried back, listed as booked */
    assert_int_equal(n.work.link[1].to, 5);
    assert_same(n.work.link[1].sum_fs, (2408 + 1299) * MM); /* the last sight serves as foresight */
    net_free(&n);
}

static void
what_hangs_on_nothing_is_left_unknown(void **state)
{
    struct net n = two_marks(100000 * MM, 0);
    (void)state;
    turn(&n, 1604 * MM, 2, 1107 * MM, 3);
    turn(&n, 1333 * MM, 3, 1521 * MM, 2);
    assert_int_equal(net_run(&n, 0, 0), LEVEL_OK);
    assert_int_equal(net_close(&n, &by_setups), LEVEL_OK);
    assert_int_equal(n.work.links, 0);
    assert_false(n.leg[0].known || n.leg[1].known);
    assert_int_equal(n.spot[2].state, LEVEL_UNKNOWN);
    net_free(&n);
}

static void
outside_is_not_spread_unless_asked(void **state)
{
    struct level_rules rules = { LEVEL_BY_SETUPS, LEVEL_ALLOW_FIXED, 5.0 * MM, false };
    (void)state;
    for (int anyway = 0; anyway < 2; anyway++) {
        struct net n = two_marks(100000 * MM, 0);
        turn(&n, 1512 * MM, 0, 1004 * MM, 2);
        turn(&n, 1266 * MM, 2, 1764 * MM, 0); /* closes to +0.010 */
        assert_int_equal(net_run(&n, 0, 0), LEVEL_OK);
        rules.spread_anyway = anyway;
        assert_int_equal(net_close(&n, &rules), LEVEL_OK);
        assert_int_equal(n.work.link[0].within, LEVEL_BEYOND);
        assert_int_equal(n.work.link[0].spread, anyway);
        assert_same(n.spot[2].value, (anyway ? 100503 : 100508) * MM);
        assert_int_equal(n.spot[2].quality, anyway ? LEVEL_FORCED : LEVEL_OUTSIDE);
        net_free(&n);
    }
}

/* A side shot from two set-ups takes their mean; one on a turning point is a check of it. */
static void
side_shots_are_meaned_and_checked(void **state)
{
    struct net n = two_marks(100000 * MM, 0);
    (void)state;
    net_sight(&n, LEVEL_BS, 1512 * MM, 0); /* HI 101.512 */
    net_sight(&n, LEVEL_IS, 1300 * MM, 5); /* 100.212 */
    net_sight(&n, LEVEL_IS, 1001 * MM, 2); /* 100.511, a check on 2 */
    net_sight(&n, LEVEL_FS, 1004 * MM, 2); /* 100.508 */
    net_sight(&n, LEVEL_BS, 1266 * MM, 2); /* HI 101.774 */
    net_sight(&n, LEVEL_IS, 1559 * MM, 5); /* 100.215 */
    net_sight(&n, LEVEL_FS, 1774 * MM, 0);
    assert_int_equal(net_run(&n, 0, 0), LEVEL_OK);
    assert_int_equal(net_close(&n, &by_setups), LEVEL_OK);
    assert_same(n.spot[5].value, 100213 * MM + MM / 2);
    assert_int_equal(n.spot[5].readings, 2);
    assert_same(n.spot[5].high - n.spot[5].low, 3 * MM);
    assert_same(n.spot[2].value, 100508 * MM);
    net_free(&n);
}

/* A waiting line's own inner loop is closed before the lines of later runs that lean on it. */
static void
a_waiting_inner_loop_comes_first(void **state)
{
    struct net n = two_marks(100000 * MM, 100000 * MM);
    (void)state;
    turn(&n, 1500 * MM, 2, 1500 * MM, 3); /* 2 begins in the air */
    turn(&n, 1600 * MM, 3, 1500 * MM, 4); /* the inner loop 3-4-3 closes to +0.002 */
    turn(&n, 1500 * MM, 4, 1598 * MM, 3);
    turn(&n, 1500 * MM, 3, 1500 * MM, 0);
    assert_int_equal(net_run(&n, 0, 0), LEVEL_OK);
    turn(&n, 1500 * MM, 5, 1500 * MM, 4);
    turn(&n, 1500 * MM, 4, 1580 * MM, 1); /* and this run is 20 mm out */
    assert_int_equal(net_run(&n, 8, 1), LEVEL_OK);
    assert_int_equal(net_close(&n, &by_setups), LEVEL_OK);
    assert_same(n.spot[4].value, 100099 * MM);
    size_t loops = 0;
    for (size_t i = 0; i < n.work.links; i++)
        if (n.work.link[i].kind == LEVEL_LOOP) {
            loops++;
            assert_same(n.work.link[i].misclosure, 2 * MM);
        }
    assert_int_equal(loops, 1);
    net_free(&n);
}

static void
set_ups_are_counted_beyond_32_bits(void **state)
{
    const struct level_rules rules = { LEVEL_BY_SETUPS, LEVEL_ALLOW_ROOT_SETUP, 1.0 * MM, false };
    struct net n = two_marks(100000 * MM, 100000 * MM);
    (void)state;
    for (uint32_t i = 0; i < 5; i++)
        n.leg[n.legs++] = (struct level_leg){ .from = i == 0 ? 0 : i + 1, .to = i == 4 ? 1 : i + 2, .setups = 999999999,
            .dist = -1, .link = LEVEL_NONE };
    assert_int_equal(net_close(&n, &rules), LEVEL_OK);
    assert_true(n.work.link[0].setups == UINT64_C(4999999995));
    assert_near(n.work.link[0].allowed_nm, 70710678083.5, 1);
    net_free(&n);
}

static void
elevations_beyond_reason_are_an_error(void **state)
{
    struct net n = two_marks(INT64_C(90000000000000000), 0);
    (void)state;
    for (uint32_t i = 0; i < 3; i++)
        n.leg[n.legs++] = (struct level_leg){ .from = i == 0 ? 0 : i + 1, .to = i + 2, .rise = 10000 * LENGTH_KM,
            .dist = -1, .setups = 1, .link = LEVEL_NONE };
    assert_int_equal(net_close(&n, &by_setups), LEVEL_EOVERFLOW);
    net_free(&n);
}

static void
distance_and_setups_say_when_they_are_wanting(void **state)
{
    struct level_rules rules = { LEVEL_BY_DISTANCE, LEVEL_ALLOW_NONE, 0, false };
    struct net n = two_marks(100000 * MM, 0);
    (void)state;
    turn(&n, 1512 * MM, 0, 1004 * MM, 2);
    turn(&n, 1266 * MM, 2, 1772 * MM, 0);
    assert_int_equal(net_run(&n, 0, 0), LEVEL_OK);
    n.leg[0].dist = 40 * LENGTH_M;
    assert_int_equal(net_close(&n, &rules), LEVEL_OK);
    assert_true(n.work.link[0].no_share);
    assert_int_equal(n.work.link[0].wanting, 1);
    assert_false(n.work.link[0].spread);
    net_free(&n);
}

/* ---- laws on random books ---- */

static length
random_reading(uint64_t *state, int unit)
{
    static const length least[] = { LENGTH_FT / 100, LENGTH_FT / 1000, LENGTH_IN / 16, LENGTH_IN / 64, LENGTH_MM,
        LENGTH_MM / 10 };
    length v = least[unit] * (1 + (length)draw(state, (uint32_t)(4 * LENGTH_M / least[unit])));
    return draw(state, 40) == 0 ? -v : v; /* an inverted rod now and then */
}

/* A run of up to 200 set-ups from mark 0 to `end`, marks 1 to 3 met midway now and then, side shots between. */
static void
random_run(struct net *n, uint64_t *state, uint32_t *fresh, uint32_t end)
{
    int unit = (int)draw(state, 6);
    uint32_t at = 0, setups = 1 + draw(state, 200);
    for (uint32_t k = 0; k < setups; k++) {
        bool last = k + 1 == setups;
        uint32_t to = last ? end : draw(state, 25) == 0 ? 1 + draw(state, 3) : (*fresh)++;
        if (to == at)
            to = (*fresh)++;
        net_sight(n, LEVEL_BS, random_reading(state, unit), at);
        for (uint32_t i = draw(state, 4); i > 0; i--)
            net_sight(n, LEVEL_IS, random_reading(state, unit), (*fresh)++);
        net_sight(n, LEVEL_FS, random_reading(state, unit), to);
        at = to;
    }
}

/* Running corrections: each within a nanometre of its exact share, the last exactly -m. */
static void
check_link(const struct net *n, const struct level_link *link, bool by_dist)
{
    length done = 0, total = 0, before = 0, sum = 0, carried = n->spot[link->from].value;
    for (uint32_t i = 0; i < link->count; i++) {
        const struct level_leg *leg = &n->leg[n->work.order[link->first + i]];
        total += by_dist ? leg->dist : 1;
    }
    for (uint32_t i = 0; i < link->count; i++) {
        const struct level_leg *leg = &n->leg[n->work.order[link->first + i]];
        done += by_dist ? leg->dist : 1;
        carried += leg->rise;
        length at = leg->hi - n->sight[leg->first + leg->count - 1].reading;
        length correction = at - carried;
        length_wide off = (length_wide)correction * total + (length_wide)link->misclosure * done;
        assert_true(off <= total && off >= -total);
        sum += correction - before;
        before = correction;
    }
    assert_same(sum, -link->misclosure);
    assert_same(before, -link->misclosure);
    assert_same(carried - link->misclosure, n->spot[link->to].value);
}

/* The page check by three routes over a run's legs, page after page. */
static void
check_pages(const struct net *n, uint32_t run, uint64_t *state)
{
    struct level_check whole = { 0 }, page = { 0 }, next;
    length sum_bs = 0, sum_fs = 0;
    for (size_t l = 0; l < n->legs; l++) {
        const struct level_leg *leg = &n->leg[l];
        for (uint32_t i = 0; leg->run == run && i < leg->count; i++) {
            const struct level_sight *s = &n->sight[leg->first + i];
            level_check_take(&whole, (enum level_kind)s->kind, s->reading, leg->raw_hi - s->reading);
            level_check_take(&page, (enum level_kind)s->kind, s->reading, leg->raw_hi - s->reading);
            if (draw(state, 7) > 0)
                continue;
            assert_true(level_check_close(&page, &next));
            if (page.started)
                assert_same(page.sum_bs - page.sum_fs, page.last - page.first);
            page = next;
        }
        sum_bs += leg->run == run ? n->sight[leg->first].reading : 0;
        sum_fs += leg->run == run ? n->sight[leg->first + leg->count - 1].reading : 0;
    }
    assert_true(level_check_close(&page, &next));
    assert_true(level_check_close(&whole, &next));
    assert_same(whole.sum_bs, sum_bs);
    assert_same(whole.sum_fs, sum_fs);
    assert_same(whole.sum_rise - whole.sum_fall, whole.last - whole.first);
}

static void
one_random_book(uint64_t seed)
{
    uint64_t state = seed;
    uint32_t fresh = 4, runs = 1 + draw(&state, 3);
    bool by_dist = draw(&state, 2) == 1;
    struct net n = net_new(700, 4000, 4000);
    const struct level_rules rules = { by_dist ? LEVEL_BY_DISTANCE : LEVEL_BY_SETUPS, LEVEL_ALLOW_NONE, 0, false };
    for (uint32_t m = 0; m < 4; m++)
        net_mark(&n, m, (length)draw(&state, 1000000000) * 1000);
    for (uint32_t run = 0; run < runs; run++) {
        size_t first = n.sights;
        random_run(&n, &state, &fresh, draw(&state, 4));
        assert_int_equal(net_run(&n, first, run), LEVEL_OK);
    }
    for (size_t l = 0; l < n.legs; l++)
        n.leg[l].dist = LENGTH_MM * (1000 + (length)draw(&state, 100000));
    assert_int_equal(net_close(&n, &rules), LEVEL_OK);
    size_t covered = 0;
    for (size_t i = 0; i < n.work.links; i++) {
        covered += n.work.link[i].count;
        if (n.work.link[i].kind != LEVEL_SPUR)
            check_link(&n, &n.work.link[i], by_dist);
    }
    assert_int_equal(covered, n.legs); /* every set-up is in one link */
    for (uint32_t run = 0; run < runs; run++)
        check_pages(&n, run, &state);
    net_free(&n);
}

static void
laws_hold_on_ten_thousand_books(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 10000; seed++)
        one_random_book(seed);
}

/* Lines among a few spots, crossing one another at random: every leg ends up in one link, and nothing hangs. */
static void
tangles_come_out_whole(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 20000; seed++) {
        uint64_t s = seed * 977;
        uint32_t spots = 2 + draw(&s, 9), runs = 1 + draw(&s, 5);
        struct net n = net_new(64, 256, spots);
        net_mark(&n, 0, 12345 * MM);
        for (uint32_t run = 0; run < runs; run++) {
            size_t first = n.sights;
            uint32_t at = draw(&s, spots);
            for (uint32_t k = 1 + draw(&s, 8); k > 0; k--) {
                uint32_t to = draw(&s, spots);
                net_sight(&n, LEVEL_BS, (length)(1000 + draw(&s, 999)) * MM, at);
                if (draw(&s, 3) == 0)
                    net_sight(&n, LEVEL_IS, (length)(1000 + draw(&s, 999)) * MM, draw(&s, spots));
                net_sight(&n, LEVEL_FS, (length)(1000 + draw(&s, 999)) * MM, to);
                at = to;
            }
            assert_int_equal(net_run(&n, first, run), LEVEL_OK);
        }
        assert_int_equal(net_close(&n, &by_setups), LEVEL_OK);
        size_t known = 0, covered = 0;
        for (size_t l = 0; l < n.legs; l++)
            known += n.leg[l].known;
        for (size_t i = 0; i < n.work.links; i++)
            covered += n.work.link[i].count;
        assert_int_equal(known, covered);
        for (size_t l = 0; l < n.legs; l++) { /* what touches something known is known */
            const struct level_leg *leg = &n.leg[l];
            bool touched = n.spot[leg->from].state != LEVEL_UNKNOWN || n.spot[leg->to].state != LEVEL_UNKNOWN;
            assert_true(leg->known || !touched);
        }
        net_free(&n);
    }
}

static void
level_stadia_is_a_hundred_intervals(void **state)
{
    (void)state;
    assert_same(level_stadia(2850 * MM, 2060 * MM), 79000 * MM);
    assert_same(level_stadia(-2060 * MM, -2850 * MM), 79000 * MM);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(refuses_sights_that_do_not_follow),
        cmocka_unit_test(a_struck_sight_parts_a_run),
        cmocka_unit_test(the_limit_itself_is_within),
        cmocka_unit_test(a_mark_met_midway_parts_the_run),
        cmocka_unit_test(an_inner_loop_is_closed_by_itself),
        cmocka_unit_test(runs_that_chain_are_one_line),
        cmocka_unit_test(a_run_waits_for_its_points),
        cmocka_unit_test(a_spur_is_carried_both_ways_and_stays_unchecked),
        cmocka_unit_test(what_hangs_on_nothing_is_left_unknown),
        cmocka_unit_test(outside_is_not_spread_unless_asked),
        cmocka_unit_test(side_shots_are_meaned_and_checked),
        cmocka_unit_test(a_waiting_inner_loop_comes_first),
        cmocka_unit_test(set_ups_are_counted_beyond_32_bits),
        cmocka_unit_test(elevations_beyond_reason_are_an_error),
        cmocka_unit_test(distance_and_setups_say_when_they_are_wanting),
        cmocka_unit_test(laws_hold_on_ten_thousand_books),
        cmocka_unit_test(tangles_come_out_whole),
        cmocka_unit_test(level_stadia_is_a_hundred_intervals),
    };
    return cmocka_run_group_tests_name("close", tests, NULL, NULL);
}
