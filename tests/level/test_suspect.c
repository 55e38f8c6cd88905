/* test_suspect.c - the signature of each slip, and what loops say of readings */
#include "../near.h"

#include "rodbook/suspect.h"

#include <stdlib.h>
#include <string.h>

#define FT(hundredths) ((length)(hundredths) * (LENGTH_FT / 100))
#define MM(v) ((length)(v) * LENGTH_MM)
#define FT_IN(feet, eighths) ((length)(feet) * LENGTH_FT + (length)(eighths) * (LENGTH_IN / 8))

/* ---- signatures ---- */

static size_t
variants(enum length_unit unit, enum suspect_slip slip, struct suspect_reading r, length *instead)
{
    struct suspect_scene scene = { .reading = &r, .readings = 1, .unit = unit,
        .least = unit == LENGTH_BARE_M ? LENGTH_MM : unit == LENGTH_BARE_FT ? LENGTH_FT / 100 : LENGTH_IN / 8,
        .rod = unit == LENGTH_BARE_M ? 5 * LENGTH_M : 13 * LENGTH_FT };
    return suspect_variants(&scene, slip, 0, instead);
}

static struct suspect_reading
sight(length value, length dist)
{
    return (struct suspect_reading){ .value = value, .dist = dist, .source = SUSPECT_IS, .sigma = 0.001 };
}

/* A reading, and all that it should have been; NOTHING closes the list. */
#define NOTHING INT64_MIN
struct signature {
    enum length_unit unit;
    enum suspect_slip slip;
    length booked, dist, instead[6];
};

static const struct signature signatures[] = {
    { LENGTH_BARE_FT, SUSPECT_WHOLE, FT(415), -1, { FT(515), FT(315), NOTHING } },
    { LENGTH_BARE_FT, SUSPECT_WHOLE, FT(73), -1, { FT(173), NOTHING } },          /* no figure is below 0 */
    { LENGTH_BARE_FT, SUSPECT_WHOLE, FT(1250), -1, { FT(1150), NOTHING } },       /* nor beyond the rod */
    { LENGTH_BARE_FT, SUSPECT_WHOLE, -FT(415), -1, { -FT(515), -FT(315), NOTHING } }, /* inverted: the figure, not the sum */
    { LENGTH_BARE_M, SUSPECT_WHOLE, MM(1482), -1, { MM(2482), MM(482), NOTHING } },
    { LENGTH_BARE_FT, SUSPECT_TENTH, FT(437), -1, { FT(447), FT(427), NOTHING } },
    { LENGTH_BARE_M, SUSPECT_TENTH, MM(1482), -1, { MM(1582), MM(1382), NOTHING } },
    { LENGTH_BARE_FT_IN, SUSPECT_TENTH, FT_IN(4, 59), -1, { NOTHING } },          /* such a rod has none */
    { LENGTH_BARE_FT_IN, SUSPECT_SMALL, FT_IN(4, 59), -1, { FT_IN(4, 67), FT_IN(4, 51), NOTHING } },
    { LENGTH_BARE_M, SUSPECT_SMALL, MM(1482), -1, { MM(1492), MM(1472), NOTHING } },
    { LENGTH_BARE_FT, SUSPECT_SMALL, FT(437), -1, { NOTHING } },                  /* a hundredth is the least division */
    { LENGTH_BARE_FT, SUSPECT_DIGITS, FT(437), -1, { FT(473), FT(347), NOTHING } },
    { LENGTH_BARE_FT, SUSPECT_DIGITS, FT(355), -1, { FT(535), NOTHING } },        /* 5 and 5 exchanged are no slip */
    { LENGTH_BARE_FT, SUSPECT_DIGITS, FT(1042), -1, { FT(1024), FT(142), NOTHING } }, /* 10.42: 14.02 is beyond the rod */
    { LENGTH_BARE_M, SUSPECT_DIGITS, MM(1482), -1, { MM(1428), MM(1842), MM(4182), NOTHING } },
    { LENGTH_BARE_M, SUSPECT_DIGITS, MM(482), -1, { MM(428), MM(842), MM(4082), NOTHING } },
    { LENGTH_BARE_FT_IN, SUSPECT_DIGITS, FT_IN(4, 59), -1, { FT_IN(7, 35), NOTHING } }, /* 4' 7-3/8" and 7' 4-3/8" */
    { LENGTH_BARE_FT, SUSPECT_SIX_NINE, FT(469), -1, { FT(466), FT(499), NOTHING } },
    { LENGTH_BARE_M, SUSPECT_SIX_NINE, MM(1482), -1, { NOTHING } },
    { LENGTH_BARE_FT_IN, SUSPECT_SIX_NINE, FT_IN(4, 50), -1, { FT_IN(4, 74), NOTHING } }, /* 6-2/8" and 9-2/8" */
    { LENGTH_BARE_M, SUSPECT_THREE_EIGHT, MM(1382), -1, { MM(1332), MM(1882), NOTHING } },
    { LENGTH_BARE_FT_IN, SUSPECT_THREE_EIGHT, FT_IN(3, 64), -1, { FT_IN(8, 64), FT_IN(3, 24), NOTHING } },
    { LENGTH_BARE_FT, SUSPECT_INCHES, FT(560), -1, { FT(550), NOTHING } },        /* 5' 6" */
    { LENGTH_BARE_FT, SUSPECT_INCHES, FT(506), -1, { FT(550), NOTHING } },
    { LENGTH_BARE_FT, SUSPECT_INCHES, FT(510), -1, { FT_IN(5, 8), FT_IN(5, 80), NOTHING } }, /* one inch, or ten */
    { LENGTH_BARE_FT, SUSPECT_INCHES, FT(537), -1, { NOTHING } },
    { LENGTH_BARE_FT, SUSPECT_INCHES, FT_IN(5, 56), -1, { FT(570), NOTHING } },   /* written 5' 7" in a job of tenths */
    { LENGTH_BARE_FT_IN, SUSPECT_INCHES, FT_IN(5, 48), -1, { FT(560), NOTHING } },
    { LENGTH_BARE_FT_IN, SUSPECT_INCHES, FT_IN(5, 51), -1, { NOTHING } },
    { LENGTH_BARE_M, SUSPECT_INCHES, MM(1500), -1, { NOTHING } },
    { LENGTH_BARE_FT, SUSPECT_BEYOND_WHOLE, FT(230), -1, { FT(170), NOTHING } },  /* at the figure 2 */
    { LENGTH_BARE_FT, SUSPECT_BEYOND_WHOLE, FT(170), -1, { FT(230), NOTHING } },
    { LENGTH_BARE_FT, SUSPECT_BEYOND_WHOLE, FT(200), -1, { NOTHING } },
    { LENGTH_BARE_FT, SUSPECT_BEYOND_SMALL, FT(213), -1, { FT(207), NOTHING } },
    { LENGTH_BARE_M, SUSPECT_BEYOND_SMALL, MM(1482), -1, { MM(1518), NOTHING } },
    { LENGTH_BARE_M, SUSPECT_BEYOND_SMALL, MM(1450), -1, { MM(1350), MM(1550), NOTHING } }, /* as far from either */
    { LENGTH_BARE_M, SUSPECT_BEYOND_WHOLE, MM(2300), -1, { NOTHING } },
    { LENGTH_BARE_M, SUSPECT_SIGN, MM(1482), -1, { -MM(1482), NOTHING } },
    { LENGTH_BARE_M, SUSPECT_SIGN, -MM(1482), -1, { MM(1482), NOTHING } },
    { LENGTH_BARE_M, SUSPECT_HAIR, MM(1482), 30 * LENGTH_M, { MM(1632), MM(1332), NOTHING } },
    { LENGTH_BARE_M, SUSPECT_HAIR, MM(1482), -1, { NOTHING } },
};

static void
each_slip_has_its_signature(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof signatures / sizeof *signatures; i++) {
        const struct signature *g = &signatures[i];
        length got[SUSPECT_VARIANTS];
        size_t n = variants(g->unit, g->slip, sight(g->booked, g->dist), got), want = 0;
        for (; g->instead[want] != NOTHING; want++) {
            bool found = false;
            for (size_t k = 0; k < n; k++)
                found |= got[k] == g->instead[want];
            if (!found)
                fail_msg("signature %zu (%s): %lld is not among %zu", i, suspect_table[g->slip].word, (long long)g->instead[want], n);
        }
        if (n != want)
            fail_msg("signature %zu (%s): %zu values, want %zu", i, suspect_table[g->slip].word, n, want);
    }
}

/* Where a slip was made, its signature names what stood on the rod: each of these undoes itself. */
static void
exchanges_undo_themselves(void **state)
{
    static const enum suspect_slip slips[] = { SUSPECT_DIGITS, SUSPECT_SIX_NINE, SUSPECT_THREE_EIGHT, SUSPECT_SIGN, SUSPECT_WHOLE,
        SUSPECT_TENTH, SUSPECT_BEYOND_SMALL };
    length instead[SUSPECT_VARIANTS], back[SUSPECT_VARIANTS];
    (void)state;
    for (length mm = 107; mm < 4900; mm += 13)
        for (size_t k = 0; k < sizeof slips / sizeof *slips; k++) {
            size_t n = variants(LENGTH_BARE_M, slips[k], sight(MM(mm), -1), instead);
            for (size_t i = 0; i < n; i++) {
                size_t m = variants(LENGTH_BARE_M, slips[k], sight(instead[i], -1), back);
                bool found = false;
                for (size_t j = 0; j < m; j++)
                    found |= back[j] == MM(mm);
                if (!found)
                    fail_msg("%lld mm, %s: no way back", (long long)mm, suspect_table[slips[k]].word);
            }
        }
}

static void
a_mean_of_three_wires_has_no_figures(void **state)
{
    length instead[SUSPECT_VARIANTS];
    struct suspect_reading r = sight(MM(1369), 30 * LENGTH_M);
    (void)state;
    assert_int_not_equal(variants(LENGTH_BARE_M, SUSPECT_SIX_NINE, r, instead), 0);
    r.meaned = true;
    assert_int_equal(variants(LENGTH_BARE_M, SUSPECT_SIX_NINE, r, instead), 0);
    assert_int_equal(variants(LENGTH_BARE_M, SUSPECT_DIGITS, r, instead), 0);
    assert_int_equal(variants(LENGTH_BARE_M, SUSPECT_HAIR, r, instead), 0);
}

static void
the_table_is_whole(void **state)
{
    (void)state;
    for (size_t i = 0; i < SUSPECT_SLIPS; i++) {
        const struct suspect_row *row = &suspect_table[i];
        assert_true(row->word && row->why && row->weight > 0);
        assert_true((row->variants != NULL) != (row->search != NULL));
        for (size_t k = 0; k < i; k++)
            assert_string_not_equal(row->word, suspect_table[k].word);
    }
}

/* ---- two loops that share a reading ---- */

/*
 * Set-up 0: BS on A, IS on S, FS on T; set-up 1: BS on T, IS on S, FS on A.
 * The line A to A, and the loop over S.
 */
enum { BS0, IS0, FS0, BS1, IS1, FS1, SIGHTS };

struct pair {
    struct suspect_reading reading[SIGHTS];
    struct suspect_loop loop[2];
    struct suspect_step step[8];
    struct suspect_scene scene;
    struct suspect found[64];
    uint8_t standing[SIGHTS];
    uint32_t cluster[2];
    size_t n;
};

static void
close_pair(struct pair *p, size_t most)
{
    const struct suspect_reading *r = p->reading;
    p->loop[0].misclosure = r[BS0].value - r[FS0].value + r[BS1].value - r[FS1].value;
    p->loop[1].misclosure = r[IS0].value - r[FS0].value + r[BS1].value - r[IS1].value;
    void *room = malloc(suspect_room(&p->scene));
    assert_non_null(room);
    p->n = suspect_find(&p->scene, room, p->found, most, p->standing, p->cluster);
    free(room);
}

static void
set_pair(struct pair *p)
{
    static const length booked[SIGHTS] = { MM(1482), MM(1733), MM(1129), MM(1257), MM(1862), MM(1609) };
    static const struct suspect_step steps[] = { { BS0, 1 }, { FS0, -1 }, { BS1, 1 }, { FS1, -1 }, { IS0, 1 }, { FS0, -1 }, { BS1, 1 },
        { IS1, -1 } };
    static const uint32_t spots[SIGHTS] = { 0, 1, 2, 2, 1, 0 };
    static const uint8_t sources[SIGHTS] = { SUSPECT_BS, SUSPECT_IS, SUSPECT_FS, SUSPECT_BS, SUSPECT_IS, SUSPECT_FS };
    *p = (struct pair){ 0 };
    memcpy(p->step, steps, sizeof steps);
    for (uint32_t i = 0; i < SIGHTS; i++)
        p->reading[i] = (struct suspect_reading){ booked[i], -1, i / 3, 0, spots[i], 0.001, sources[i], false };
    for (uint32_t l = 0; l < 2; l++)
        p->loop[l] = (struct suspect_loop){ 4 * l, 4, 0, 5e6, true };
    p->scene = (struct suspect_scene){ p->reading, SIGHTS, p->loop, 2, p->step, 8, LENGTH_BARE_M, LENGTH_MM, 4 * LENGTH_M };
}

static void
loops_that_close_name_nobody(void **state)
{
    struct pair p;
    (void)state;
    set_pair(&p);
    close_pair(&p, 64);
    assert_int_equal(p.n, 0);
    for (size_t i = 0; i < SIGHTS; i++)
        assert_int_equal(p.standing[i], SUSPECT_CLOSES);
    assert_int_equal(p.cluster[0], LEVEL_NONE);
    assert_int_equal(p.cluster[1], LEVEL_NONE);
}

/* 1.129 booked 1.192 at the foresight: both loops are off by 0.063, and only what both share can have done it. */
static void
what_both_loops_share_is_named(void **state)
{
    struct pair p;
    (void)state;
    set_pair(&p);
    p.reading[FS0].value = MM(1192);
    close_pair(&p, 64);
    assert_true(p.n > 1);
    assert_int_equal(p.found[0].reading, FS0);
    assert_int_equal(p.found[0].slip, SUSPECT_DIGITS);
    assert_same(p.found[0].instead, MM(1129));
    assert_same(p.found[0].change, MM(-63));
    assert_int_equal(p.found[0].fixed, 2);
    assert_int_equal(p.standing[FS0], SUSPECT_OPEN);
    assert_int_equal(p.standing[BS1], SUSPECT_OPEN); /* by some amount that has no name */
    assert_int_equal(p.standing[IS0], SUSPECT_CLEARED);
    assert_int_equal(p.standing[FS1], SUSPECT_CLEARED);
    for (size_t i = 1; i < p.n; i++) {
        assert_true(p.found[i].score <= p.found[i - 1].score);
        if (p.found[i].slip != SUSPECT_INSTRUMENT)
            assert_true(p.found[i].reading == FS0 || p.found[i].reading == BS1);
    }
}

/* What remains is the weighted sum of squares of the whole adjustment, worked out here by hand for two loops:
 * C = s^2 [4 2; 2 4], C^-1 = [2 -1; -1 2] / (6 s^2). */
static void
what_remains_is_the_whole_sum_of_squares(void **state)
{
    struct pair p;
    (void)state;
    set_pair(&p);
    p.reading[FS0].value = MM(1131); /* +2 mm of its own */
    p.reading[IS1].value = MM(1865); /* and +3 mm */
    p.reading[BS0].value = MM(2482); /* a metre */
    close_pair(&p, 64);
    assert_true(p.n > 0);
    assert_int_equal(p.found[0].reading, BS0);
    assert_same(p.found[0].instead, MM(1482));
    length clean0 = MM(1482 - 1129 + 1257 - 1609), clean1 = MM(1733 - 1129 + 1257 - 1862);
    double a = (double)clean0 / 1e6 - 2, b = (double)clean1 / 1e6 - 5; /* mm */
    assert_near(p.found[0].remains, (2 * a * a - 2 * a * b + 2 * b * b) / 6, 1e-9);
    assert_same(p.found[0].left, clean0 - MM(2));
    assert_near(p.found[0].prior, log(suspect_table[SUSPECT_WHOLE].weight / 2), 1e-12);
    assert_near(p.found[0].score, p.found[0].prior - p.found[0].remains / 2, 1e-12);
}

static void
both_columns_of_a_turning_point(void **state)
{
    struct pair p;
    (void)state;
    set_pair(&p);
    p.reading[FS0].value = MM(1257);
    p.reading[BS1].value = MM(1129);
    close_pair(&p, 64);
    assert_true(p.n > 0);
    assert_int_equal(p.found[0].slip, SUSPECT_TURN_COLUMNS);
    assert_int_equal(p.found[0].reading, FS0);
    assert_int_equal(p.found[0].other, BS1);
    assert_same(p.found[0].instead, MM(1129));
}

/* The best of few are the best of many, in the same order. */
static void
a_short_list_has_the_best(void **state)
{
    struct pair all, few;
    (void)state;
    set_pair(&all);
    all.reading[FS0].value = MM(1139);
    few = all;
    few.scene.reading = few.reading;
    few.scene.loop = few.loop;
    few.scene.step = few.step;
    close_pair(&all, 64);
    close_pair(&few, 3);
    assert_true(all.n > 3);
    assert_int_equal(few.n, 3);
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(few.found[i].reading, all.found[i].reading);
        assert_int_equal(few.found[i].slip, all.found[i].slip);
        assert_same(few.found[i].instead, all.found[i].instead);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_slip_has_its_signature),
        cmocka_unit_test(exchanges_undo_themselves),
        cmocka_unit_test(a_mean_of_three_wires_has_no_figures),
        cmocka_unit_test(the_table_is_whole),
        cmocka_unit_test(loops_that_close_name_nobody),
        cmocka_unit_test(what_both_loops_share_is_named),
        cmocka_unit_test(what_remains_is_the_whole_sum_of_squares),
        cmocka_unit_test(both_columns_of_a_turning_point),
        cmocka_unit_test(a_short_list_has_the_best),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
