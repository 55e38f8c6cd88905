/* Posts in line. All values are our own arithmetic: no published check of a row of posts was found. */
#include "near.h"

#include "rodbook/chance.h"
#include "rodbook/length.h"
#include "rodbook/lineup.h"

#include <string.h>

#define MOST 64
#define IN 0.0254          /* m */
#define TAPE (IN / 16)     /* m, standard deviation of a gap */
#define ROUNDING 1e-12     /* m: a thousandth of a nanometre */

struct run {
    size_t n;
    double place[MOST], offset[MOST], error[MOST], room[2 * MOST], chisq[MOST], student[MOST];
    struct site_lineup_limits limits;
    struct site_lineup line;
    struct site_lineup_post post[MOST];
};

/* n posts 8 ft apart, all at the gap of 5-1/2 in; limits as the program sets them at 95 %. */
static void
begin(struct run *r, size_t n)
{
    *r = (struct run){ .n = n };
    double each = (1 - pow(0.95, 1 / (double)n)) / 2;
    r->limits = (struct site_lineup_limits){ .chisq = r->chisq, .student = r->student, .odds = 2 * log(19) };
    assert_int_equal(chance_normal_at(each, CHANCE_ABOVE, &r->limits.normal), CHANCE_OK);
    for (size_t df = 1; df + 2 < n; df++) {
        assert_int_equal(chance_chisq_at(0.05, CHANCE_ABOVE, df, &r->chisq[df]), CHANCE_OK);
        assert_int_equal(chance_student_at(each, CHANCE_ABOVE, df, &r->student[df]), CHANCE_OK);
    }
    for (size_t i = 0; i < n; i++) {
        r->place[i] = (double)i * 2.4384;
        r->offset[i] = 5.5 * IN;
        r->error[i] = TAPE;
    }
}

static void
work(struct run *r)
{
    assert_int_equal(site_lineup(r->place, r->offset, r->error, r->n, &r->limits, r->room, &r->line, r->post), SITE_LINEUP_OK);
}

static bool
named(const struct run *r, size_t i)
{
    return r->post[i].out && r->post[i].rival == r->n;
}

static size_t
outs(const struct run *r)
{
    size_t n = 0;
    for (size_t i = 0; i < r->n; i++)
        n += named(r, i);
    return n;
}

/* ---- rogues ---- */

static void
one_rogue_of_an_inch_is_named_and_bends_nothing(void **state)
{
    static const size_t counts[] = { 4, 5, 8, 20 };
    static struct run r;
    (void)state;
    for (size_t k = 0; k < 4; k++)
        for (size_t rogue = 0; rogue < counts[k]; rogue++)
            for (int sign = -1; sign <= 1; sign += 2) {
                begin(&r, counts[k]);
                r.offset[rogue] += sign * IN;
                work(&r);
                for (size_t i = 0; i < r.n; i++) {
                    assert_int_equal(named(&r, i), i == rogue);
                    assert_near(r.post[i].off, i == rogue ? sign * IN : 0, ROUNDING);
                }
                assert_near(r.line.slope, 0, ROUNDING);
                assert_int_equal(r.line.kept, r.n - 1);
                assert_false(r.line.crowded);
            }
}

/* Every pair among eight, the same way and opposite ways. */
static void
two_rogues_among_eight(void **state)
{
    static struct run r;
    (void)state;
    for (size_t a = 0; a < 8; a++)
        for (size_t b = a + 1; b < 8; b++)
            for (int sign = -1; sign <= 1; sign += 2) {
                begin(&r, 8);
                r.offset[a] += IN;
                r.offset[b] += sign * 0.75 * IN;
                work(&r);
                for (size_t i = 0; i < 8; i++) {
                    assert_int_equal(named(&r, i), i == a || i == b);
                    if (i != a && i != b)
                        assert_near(r.post[i].off, 0, ROUNDING);
                }
            }
}

/* Every choice of n/2 - 1 posts, however far they are off, leaves the robust line where the others have it. */
static void
the_promised_breakdown_holds(void **state)
{
    static const double far[] = { 0.25 * IN, IN, -IN, 40, -1e6 };
    static struct run r;
    (void)state;
    for (size_t n = 4; n <= 10; n++) {
        size_t most = site_lineup_most(n);
        assert_int_equal(most, n / 2 - 1);
        for (unsigned set = 0; set < 1U << n; set++) {
            if ((size_t)__builtin_popcount(set) != most)
                continue;
            begin(&r, n);
            for (size_t i = 0, k = set % 5; i < n; i++)
                if (set >> i & 1)
                    r.offset[i] += far[k++ % 5];
            work(&r);
            assert_near(r.line.robust_slope, 0, 1e-9);
            assert_near(r.line.robust_at, 5.5 * IN, 1e-9);
        }
    }
    assert_int_equal(site_lineup_most(3), 0);
}

/* All of n/2 - 1 alike and at one end, where least squares would follow them. */
static void
a_cluster_at_the_end_is_named(void **state)
{
    static struct run r;
    (void)state;
    begin(&r, 20);
    for (size_t i = 11; i < 20; i++)
        r.offset[i] += 2 * IN;
    work(&r);
    for (size_t i = 0; i < 20; i++)
        assert_int_equal(named(&r, i), i >= 11);
    assert_int_equal(outs(&r), 9);
    assert_false(r.line.crowded);
}

/* Half of them one way: nobody can say which half is the run. */
static void
beyond_the_promise_it_is_said(void **state)
{
    static struct run r;
    (void)state;
    begin(&r, 8);
    for (size_t i = 0; i < 8; i++)
        r.offset[i] += (i % 2 == 0 ? 3 : -3) * IN;
    work(&r);
    assert_int_equal(outs(&r), 0);
    /* four of nine, where three are promised */
    begin(&r, 9);
    r.offset[1] += 30 * IN;
    r.offset[3] -= 24 * IN;
    r.offset[5] += 12 * IN;
    r.offset[7] -= 18 * IN;
    work(&r);
    assert_true(r.line.crowded);
}

/* A sixteenth is what a tape does: nobody is named for it. Five of them are no tape's doing. */
static void
a_perfect_run_with_a_sixteenth_off_has_no_rogue(void **state)
{
    static struct run r;
    (void)state;
    for (size_t i = 0; i < 5; i++) {
        begin(&r, 5);
        r.offset[i] += IN / 16;
        work(&r);
        assert_int_equal(outs(&r), 0);
        begin(&r, 5);
        r.offset[i] += 5 * IN / 16;
        work(&r);
        assert_true(r.post[i].out);
    }
}

/* The same inch, where all the others are an inch off as well, is nothing to name. */
static void
a_rough_run_hides_it(void **state)
{
    static const double rough[8] = { 0.9, -1.1, 0.3, 1.2, -0.8, -0.2, 1.0, -1.3 };
    static struct run r;
    (void)state;
    begin(&r, 8);
    for (size_t i = 0; i < 8; i++)
        r.offset[i] += rough[i] * IN;
    work(&r);
    assert_int_equal(outs(&r), 0);
    assert_true(r.line.scale > 10); /* in units of the tape's 1/16 in */
}

/* ---- laws ---- */

static const double uneven[9] = { 0.06, -0.04, 1.3, 0.01, 0.09, -0.11, 0.03, -0.9, 0.05 }; /* in */

static void
a_shift_and_a_slope_move_the_line_and_nothing_else(void **state)
{
    static struct run a, b;
    (void)state;
    begin(&a, 9);
    begin(&b, 9);
    for (size_t i = 0; i < 9; i++) {
        a.place[i] = b.place[i] = (double)(i * i) * 0.31 + (double)i;
        a.offset[i] += uneven[i] * IN;
        b.offset[i] = a.offset[i] + 0.7 - 0.0125 * a.place[i];
    }
    work(&a);
    work(&b);
    assert_near(b.line.slope - a.line.slope, -0.0125, ROUNDING);
    assert_near(b.line.at - a.line.at, 0.7, ROUNDING);
    assert_near(b.line.robust_slope - a.line.robust_slope, -0.0125, ROUNDING);
    for (size_t i = 0; i < 9; i++) {
        assert_near(b.post[i].off, a.post[i].off, ROUNDING);
        assert_near(b.post[i].error, a.post[i].error, ROUNDING);
        assert_int_equal(b.post[i].out, a.post[i].out);
        assert_int_equal(a.post[i].out, i == 2 || i == 7);
    }
}

/* Seen from the other side of the string, and walked from the other end. */
static void
a_mirrored_row_has_mirrored_signs(void **state)
{
    static struct run a, b, c;
    (void)state;
    begin(&a, 9);
    begin(&b, 9);
    begin(&c, 9);
    for (size_t i = 0; i < 9; i++) {
        a.place[i] = b.place[i] = (double)(i * i) * 0.31 + (double)i;
        a.offset[i] = uneven[i] * IN;
        b.offset[i] = -a.offset[i];
    }
    for (size_t i = 0; i < 9; i++) {
        c.place[i] = a.place[8] - a.place[8 - i];
        c.offset[i] = a.offset[8 - i];
    }
    work(&a);
    work(&b);
    work(&c);
    assert_near(b.line.slope, -a.line.slope, ROUNDING);
    assert_near(c.line.slope, -a.line.slope, ROUNDING);
    for (size_t i = 0; i < 9; i++) {
        assert_near(b.post[i].off, -a.post[i].off, ROUNDING);
        assert_near(c.post[8 - i].off, a.post[i].off, ROUNDING);
        assert_int_equal(b.post[i].out, a.post[i].out);
        assert_int_equal(c.post[8 - i].out, a.post[i].out);
    }
}

/* By hand: medians of the slopes at each post are -1/3, -1/3, -1, 0, so slope -1/3; and so on. */
static void
the_repeated_median_by_hand(void **state)
{
    static struct run r;
    (void)state;
    begin(&r, 4);
    static const double at[4] = { 0, 1, 2, 3 }, off[4] = { 0, 4, 2, 1 };
    memcpy(r.place, at, sizeof at);
    memcpy(r.offset, off, sizeof off);
    /* slopes at 0: 4, 1, 1/3 -> 1; at 1: 4, -2, -3/2 -> -3/2; at 2: 1, -2, -1 -> -1; at 3: 1/3, -3/2, -1 -> -1;
     * median of 1, -3/2, -1, -1 is -1; offset + place: 0, 5, 4, 4 -> 4 */
    work(&r);
    assert_near(r.line.robust_slope, -1, ROUNDING);
    assert_near(r.line.robust_at, 4, ROUNDING);
}

/* Nobody stands out of 0, 1, 0, 2 where nobody is looked for: slope 0.5, at 0; of posts 0 to 2 alone slope 0, at 1/3, and the
 * last is 5/3 off them, with variance 1 + 1/3 + (3 - 1)^2 / 2 = 10/3. */
static void
least_squares_by_hand(void **state)
{
    static struct run r;
    (void)state;
    begin(&r, 4);
    static const double at[4] = { 0, 1, 2, 3 }, off[4] = { 0, 1, 0, 2 };
    memcpy(r.place, at, sizeof at);
    memcpy(r.offset, off, sizeof off);
    for (size_t i = 0; i < 4; i++)
        r.error[i] = 1;
    assert_int_equal(site_lineup(r.place, r.offset, r.error, 4, NULL, r.room, &r.line, r.post), SITE_LINEUP_OK);
    assert_near(r.line.slope, 0.5, ROUNDING);
    assert_near(r.line.at, 0, ROUNDING);
    assert_near(r.line.sum, 0 + 0.25 + 1 + 0.25, ROUNDING);
    assert_near(r.line.scale, sqrt(0.75), ROUNDING);
    assert_near(r.post[3].others, 5.0 / 3, ROUNDING);
    assert_near(r.post[3].error, sqrt(10.0 / 3), ROUNDING);
    assert_near(site_lineup_error(&r.line, 0), sqrt(0.25 + 2.25 / 5), ROUNDING);
}

static void
two_and_three_posts_name_nobody(void **state)
{
    static struct run r;
    double error;
    (void)state;
    begin(&r, 2);
    r.offset[1] += 40;
    work(&r);
    assert_int_equal(outs(&r), 0);
    assert_near(r.post[0].off, 0, ROUNDING);
    assert_near(r.line.scale, -1, 0);
    begin(&r, 3);
    r.place[1] = 1.2192; /* a quarter of the way */
    r.offset[2] += 40;
    work(&r);
    assert_int_equal(outs(&r), 0);
    assert_near(site_lineup_middle(r.place, r.offset, r.error, &error), -10, ROUNDING);
    assert_near(error, TAPE * sqrt(1 + 0.0625 + 0.5625), ROUNDING);
}

static void
what_is_no_row_is_refused_and_nothing_touched(void **state)
{
    static struct run r, kept;
    (void)state;
    begin(&r, 5);
    memset(&r.line, 7, sizeof r.line);
    kept = r;
    assert_int_equal(site_lineup(r.place, r.offset, r.error, 1, &r.limits, r.room, &r.line, r.post), SITE_LINEUP_EFEW);
    static const double bad[] = { NAN, INFINITY, -INFINITY };
    for (size_t k = 0; k < 3; k++) {
        r.offset[3] = bad[k];
        assert_int_equal(site_lineup(r.place, r.offset, r.error, 5, &r.limits, r.room, &r.line, r.post), SITE_LINEUP_EPLACE);
        r.offset[3] = 0.1;
        r.error[2] = k == 0 ? 0 : bad[k];
        assert_int_equal(site_lineup(r.place, r.offset, r.error, 5, &r.limits, r.room, &r.line, r.post), SITE_LINEUP_EPLACE);
        r.error[2] = TAPE;
    }
    r.place[2] = r.place[1];
    assert_int_equal(site_lineup(r.place, r.offset, r.error, 5, &r.limits, r.room, &r.line, r.post), SITE_LINEUP_EPLACE);
    assert_memory_equal(&r.line, &kept.line, sizeof r.line);
    assert_memory_equal(r.post, kept.post, sizeof r.post);
}

/* 1/4 in in 4 ft is 1/192: 0.29841 degrees by hand, from atan x = x - x^3 / 3. */
static void
plumb_by_hand(void **state)
{
    (void)state;
    double x = 1.0 / 192;
    assert_near(site_lineup_plumb(0.25, 48), x - x * x * x / 3, 1e-11);
    assert_near(site_lineup_plumb(0.25, 48) * 180 / 3.14159265358979, 0.29841, 0.000005);
    assert_near(site_lineup_plumb(0, 3), 0, 0);
    assert_near(site_lineup_plumb(-1, 1), -0.785398163397448, 1e-15);
}

/* ---- by chance: the same numbers every time ---- */

static uint64_t seed;

static double
chance(void) /* splitmix64 (Steele, Lea and Flood, 2014), from memory: any even spread serves */
{
    uint64_t z = seed += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return ((double)((z ^ (z >> 31)) >> 11) + 0.5) / 9007199254740992.0;
}

static double
noise(void)
{
    double z = 0;
    (void)chance_normal_at(chance(), CHANCE_BELOW, &z);
    return z;
}

/* Least squares on clean runs is the best there is: the variance of its slope over that of ours. */
static void
on_clean_runs(void **state)
{
    static const struct {
        size_t n;
        double alarms, efficiency; /* at most, at least */
    } say[] = { { 4, 0.04, 0.70 }, { 5, 0.04, 0.75 }, { 8, 0.04, 0.85 }, { 20, 0.04, 0.92 } };
    static struct run r;
    enum { RUNS = 4000 };
    (void)state;
    seed = 20260505;
    for (size_t k = 0; k < 4; k++) {
        double alarms = 0, ours = 0, least = 0, robust = 0;
        begin(&r, say[k].n);
        struct site_lineup_limits limits = r.limits;
        for (int i = 0; i < RUNS; i++) {
            for (size_t j = 0; j < r.n; j++)
                r.offset[j] = TAPE * noise();
            work(&r);
            alarms += outs(&r) > 0;
            ours += r.line.slope * r.line.slope;
            robust += r.line.robust_slope * r.line.robust_slope;
            assert_int_equal(site_lineup(r.place, r.offset, r.error, r.n, NULL, r.room, &r.line, r.post), SITE_LINEUP_OK);
            least += r.line.slope * r.line.slope;
        }
        r.limits = limits;
        print_message("%zu posts: false alarms %.3f; slope's efficiency %.2f, of the repeated median %.2f\n", r.n, alarms / RUNS,
            least / ours, least / robust);
        assert_true(alarms / RUNS <= say[k].alarms);
        assert_true(least / ours >= say[k].efficiency && least / ours <= 1.05);
    }
}

static void
a_rogue_of_five_sigma_is_found(void **state)
{
    static const struct {
        size_t n;
        double found; /* at least */
    } say[] = { { 4, 0.10 }, { 5, 0.40 }, { 8, 0.72 }, { 20, 0.86 } };
    static struct run r;
    enum { RUNS = 4000 };
    (void)state;
    seed = 20260506;
    for (size_t k = 0; k < 4; k++) {
        double found = 0, others = 0;
        begin(&r, say[k].n);
        for (int i = 0; i < RUNS; i++) {
            size_t rogue = (size_t)(chance() * (double)r.n);
            for (size_t j = 0; j < r.n; j++)
                r.offset[j] = TAPE * (noise() + (j == rogue ? 5 : 0));
            work(&r);
            found += named(&r, rogue);
            others += outs(&r) > (size_t)named(&r, rogue);
        }
        print_message("%zu posts: a rogue of 5 sigma found %.3f, another named %.3f\n", r.n, found / RUNS, others / RUNS);
        assert_true(found / RUNS >= say[k].found && found / RUNS < 1);
        assert_true(others / RUNS <= 0.035);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_rogue_of_an_inch_is_named_and_bends_nothing),
        cmocka_unit_test(two_rogues_among_eight),
        cmocka_unit_test(the_promised_breakdown_holds),
        cmocka_unit_test(a_cluster_at_the_end_is_named),
        cmocka_unit_test(beyond_the_promise_it_is_said),
        cmocka_unit_test(a_perfect_run_with_a_sixteenth_off_has_no_rogue),
        cmocka_unit_test(a_rough_run_hides_it),
        cmocka_unit_test(a_shift_and_a_slope_move_the_line_and_nothing_else),
        cmocka_unit_test(a_mirrored_row_has_mirrored_signs),
        cmocka_unit_test(the_repeated_median_by_hand),
        cmocka_unit_test(least_squares_by_hand),
        cmocka_unit_test(two_and_three_posts_name_nobody),
        cmocka_unit_test(what_is_no_row_is_refused_and_nothing_touched),
        cmocka_unit_test(plumb_by_hand),
        cmocka_unit_test(on_clean_runs),
        cmocka_unit_test(a_rogue_of_five_sigma_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
