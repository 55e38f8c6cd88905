/* Holes and posts of jobs made by chance: laws to the nanometre, deviations against closed forms, verdicts against chance. */
#include "near.h"

#include "rodbook/order.h"
#include "rodbook/posts.h"

#include <stdio.h>
#include <string.h>

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26 (from memory). */
static uint64_t seed = 20260502;

static double
uniform(void)
{
    seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return ((double)(seed >> 11) + 0.5) / 9007199254740992.0;
}

static int
draw(int least, int most)
{
    return least + (int)(uniform() * (most - least + 1));
}

static double
normal(void)
{
    return sqrt(-2 * log(uniform())) * cos(6.283185307179586 * uniform());
}

struct made {
    struct record r;
    struct job job;
    struct posts posts;
    struct diag d;
};

static void
make(struct made *m, const char *text, double confidence)
{
    struct source source = source_of_bytes(text, strlen(text));
    struct job_options options = { .stakes = true, .grade_optional = true };
    struct posts_options asked = { .confidence = confidence };
    *m = (struct made){ .d = { 0 } };
    assert_int_equal(record_read(&m->r, &source, &m->d), 0);
    if (m->d.errors == 0)
        assert_int_equal(job_work(&m->job, &m->r, &options, &m->d), 0);
    if (m->d.errors == 0)
        assert_int_equal(posts_work(&m->posts, &m->job, &asked, &m->d), 0);
    if (m->d.errors > 0)
        fail_msg("%u:%u %s\n%s", m->d.item[0].place.line, m->d.item[0].place.column, m->d.item[0].text, text);
}

static void
drop(struct made *m)
{
    posts_release(&m->posts);
    job_release(&m->job);
    record_release(&m->r);
    diag_release(&m->d);
}

#define HEAD "---\njob: J\nunit: ft\nleast: 0.01\nsigma: 0.004\n---\nmarks: {A: {elevation: 100}}\n"
#define HUNDREDTH (LENGTH_FT / 100)

struct text {
    char bytes[16384];
    size_t n;
};

__attribute__((format(printf, 2, 3))) static void
add(struct text *t, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    int n = vsnprintf(t->bytes + t->n, sizeof t->bytes - t->n, format, list);
    va_end(list);
    t->n += (size_t)n;
    assert_true(t->n < sizeof t->bytes);
}

/* One post as it was made: readings in hundredths of a foot, -1 where there is none. */
struct truth {
    int ground, hole, top, depth, footing, x;
    bool to_top, own;
};

#define POSTS 12

static void
invent(struct truth *t, struct text *text, int fall, int depth)
{
    add(text, "%s", HEAD "---\npoints:\n");
    for (int i = 0; i < POSTS; i++) {
        t[i].ground = draw(0, 3) > 0 ? draw(300, 600) : -1;
        t[i].hole = draw(0, 2) > 0 ? (t[i].ground < 0 ? 500 : t[i].ground) + draw(1, 500) : -1;
        t[i].top = t[i].hole > 0 && draw(0, 2) == 0 ? t[i].hole - draw(0, 60) : -1;
        t[i].own = draw(0, 2) == 0;
        t[i].depth = t[i].own ? draw(200, 500) : depth;
        t[i].x = draw(0, 40);
        add(text, "  P%d: {x: %d, y: %d, kind: post}\n", i, t[i].x, draw(0, 20));
    }
    add(text, "---\ngrade: {name: g, means: finish, level: 101.3, slope: {fall: 1 in %d, towards: length}}\n", fall);
}

static void
write_levels(const struct truth *t, struct text *text)
{
    add(text, "---\nlevels:\n  readings:\n    - {at: A, bs: 4.31}\n");
    for (int i = 0; i < POSTS; i++) {
        if (t[i].ground >= 0)
            add(text, "    - {at: P%d, on: ground, is: %.2f}\n", i, t[i].ground / 100.0);
        if (t[i].hole >= 0)
            add(text, "    - {at: P%d, on: hole, is: %.2f}\n", i, t[i].hole / 100.0);
        if (t[i].top >= 0)
            add(text, "    - {at: P%d, on: top, is: %.2f}\n", i, t[i].top / 100.0);
    }
    add(text, "    - {at: A, fs: 4.31}\n");
}

/* What a post says against its readings, which know no elevation. */
static void
hold(const struct truth *t, const struct posts_one *one, bool to_top, int footing, int fall)
{
    const struct site_dig *d = &one->dig;
    const length hi = 10431 * HUNDREDTH;
    length grade = 10130 * HUNDREDTH - (length)t->x * LENGTH_FT / fall;
    assert_true(one->has_grade);
    assert_true(llabs(one->grade - grade) <= 1); /* ours rounds once, away from zero */
    assert_int_equal(d->below_ground.known, t->ground >= 0 && t->hole >= 0);
    if (d->below_ground.known)
        assert_same(d->below_ground.at, (t->hole - t->ground) * HUNDREDTH);
    if (d->below_ground.known && d->below_grade.known)
        assert_same(d->below_grade.at - d->below_ground.at, one->grade - one->level[POSTS_GROUND].at);
    assert_int_equal(d->bottom.known, t->ground >= 0);
    if (d->bottom.known)
        assert_same(hi - t->ground * HUNDREDTH - d->bottom.at, (t->depth + (to_top ? footing : 0)) * HUNDREDTH);
    if (d->over.known)
        assert_same(d->over.at, ((d->by_top ? t->top : t->hole) - t->ground - t->depth - (to_top && !d->by_top ? footing : 0)) * HUNDREDTH);
    if (d->mark.known)
        assert_same(d->mark.at + d->stands_at.at, one->grade);
    if (d->foot == SITE_FOOT_HOLE)
        assert_same(d->stands_at.at, hi - (t->hole - footing) * HUNDREDTH);
    if (d->foot == SITE_FOOT_TOP)
        assert_same(d->stands_at.at, hi - t->top * HUNDREDTH);
    assert_int_equal(d->cut_off.known, d->mark.known);
    if (d->mark.known)
        assert_same(d->mark.at + 550 * HUNDREDTH + d->cut_off.at, 1200 * HUNDREDTH);
    double doubt = one->over_sigma < 0 ? 0 : one->over_sigma * 1.959963984540054 * 1e9;
    if (d->verdict == SITE_DIG_ENOUGH)
        assert_true((double)d->over.at >= doubt - 1);
    if (d->verdict == SITE_DIG_DEEPER)
        assert_true((double)-d->over.at >= doubt - 1);
    if (d->verdict == SITE_DIG_DOUBT)
        assert_true((double)llabs(d->over.at) <= doubt + 1);
}

static void
laws(void **state)
{
    size_t verdicts[4] = { 0 }, feet[4] = { 0 };
    (void)state;
    for (int i = 0; i < 400; i++) {
        struct truth t[POSTS];
        struct text text = { .n = 0 };
        struct made m;
        int fall = draw(20, 200), depth = draw(200, 450), footing = draw(0, 1) * draw(10, 80);
        bool to_top = footing > 0 && draw(0, 1) == 1;
        invent(t, &text, fall, depth);
        add(&text, "---\nholes:\n  depth: %.2f\n  from: ground\n  footing: %.2f\n  to: %s\n  top: 5.5\n  post-length: 12\n", depth / 100.0, footing / 100.0,
            to_top ? "top" : "bottom");
        bool any = false;
        for (int k = 0; k < POSTS; k++)
            if (t[k].own)
                add(&text, "%s    P%d: {depth: %.2f}\n", any ? "" : "  posts:\n", k, t[k].depth / 100.0), any = true;
        write_levels(t, &text);
        make(&m, text.bytes, 0.95);
        assert_int_equal(m.posts.n, POSTS);
        for (int k = 0; k < POSTS; k++) {
            hold(&t[k], &m.posts.one[k], to_top, footing, fall);
            verdicts[m.posts.one[k].dig.verdict]++;
            feet[m.posts.one[k].dig.foot]++;
        }
        drop(&m);
    }
    for (int k = 0; k < 4; k++)
        if (verdicts[k] < 5 || feet[k] < 50)
            fail_msg("verdict %d came up %zu times, foot %d %zu times", k, verdicts[k], k, feet[k]);
}

/* A plane through three marks of the same set-up: shares of one sum, so the height of instrument drops out and
 * Var = s^2 (sum of the squares of the shares + 1). Own derivation. The grade of a slope through one of them: 2 s^2; and the
 * doubt of the next rod is that of the reading that was made, for each was read once. */
static void
deviations_of_a_plane(void **state)
{
    struct made m;
    const double s = 0.004 * 0.3048, share[3] = { 1 - 0.75 - 0.5, 0.75, 0.5 }; /* at (9, 4): 9/12 and 4/8 */
    (void)state;
    make(&m,
        HEAD "---\npoints:\n  U: {x: 0, y: 0, kind: corner}\n  V: {x: 12, y: 0, kind: corner}\n  W: {x: 0, y: 8, kind: corner}\n  P: {x: 9, y: 4, kind: post}\n"
             "---\ngrade: {name: g, means: finish, for: post, through: [{at: U, plus: 4}, {at: V, plus: 4}, {at: W, plus: 4}]}\n"
             "---\nholes: {depth: 3.5, from: grade}\n"
             "---\nlevels:\n  readings:\n    - {at: A, bs: 5}\n    - {at: U, is: 5.20}\n    - {at: V, is: 5.35}\n    - {at: W, is: 5.10}\n"
             "    - {at: P, on: hole, is: 5.11}\n    - {at: A, fs: 5}\n",
        0.95);
    double want = s * sqrt(share[0] * share[0] + share[1] * share[1] + share[2] * share[2] + 1);
    assert_near(m.posts.one[0].below_grade_sigma, want, 1e-12);
    assert_near(m.posts.one[0].over_sigma, want, 1e-12);
    assert_near(m.posts.one[0].below_ground_sigma, -1, 0);
    length doubt = (length)(1.959963984540054 * want * 1e9);
    length past = m.posts.one[0].rod_read - m.posts.one[0].rod;
    assert_true(past >= doubt && past < doubt + HUNDREDTH + 2);
    drop(&m);
}

/* A hole that is as deep as asked, to the hair: each verdict at the chance that its confidence leaves. 4000 jobs; five standard
 * deviations of their share. */
static void
verdicts_by_chance(void **state)
{
    enum { JOBS = 4000 };
    size_t verdicts[4] = { 0 };
    (void)state;
    for (int i = 0; i < JOBS; i++) {
        char text[1024];
        struct made m;
        snprintf(text, sizeof text, HEAD "---\npoints: {P: {kind: post}}\n---\nholes: {depth: 3.5, from: ground}\n"
            "---\nlevels:\n  readings:\n    - {at: A, bs: %.5f}\n    - {at: P, on: ground, is: %.5f}\n    - {at: P, on: hole, is: %.5f}\n    - {at: A, fs: %.5f}\n",
            5 + 0.004 * normal(), 5.2 + 0.004 * normal(), 8.7 + 0.004 * normal(), 5 + 0.004 * normal());
        make(&m, text, 0.90);
        verdicts[m.posts.one[0].dig.verdict]++;
        drop(&m);
    }
    double within = 5 * sqrt(0.05 * 0.95 / JOBS);
    assert_near((double)verdicts[SITE_DIG_ENOUGH] / JOBS, 0.05, within);
    assert_near((double)verdicts[SITE_DIG_DEEPER] / JOBS, 0.05, within);
    assert_near((double)verdicts[SITE_DIG_DOUBT] / JOBS, 0.90, 5 * sqrt(0.9 * 0.1 / JOBS));
}

/* The building's posts are taken off where the concrete entry states none, and its own where it does. */
static void
posts_of_the_building(void **state)
{
    struct record_site site = { .post_along = 7 * LENGTH_IN / 2, .post_across = 11 * LENGTH_IN / 2 };
    static const char *const texts[] = {
        HEAD "---\npoints: {P: {kind: post}}\n---\nholes: {depth: 36 in, from: ground, diameter: 12 in}\n---\nconcrete: {fill: to ground}\n",
        HEAD "---\npoints: {P: {kind: post}}\n---\nholes: {depth: 36 in, from: ground, diameter: 12 in}\n---\nconcrete: {fill: to ground, post: 4 in}\n",
    };
    const double section[] = { 3.5 * 5.5, 16 };
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct made m;
        struct order o;
        make(&m, texts[i], 0);
        m.r.site = &site;
        m.r.sites = 1;
        assert_int_equal(order_work(&o, &m.posts, &m.d), 0);
        assert_int_equal(m.d.errors, 0);
        assert_near(o.sum.post / SITE_IN3, section[i] * 36, 1e-9);
        assert_int_equal(o.post_of_site, i == 0);
        order_release(&o);
        m.r.site = NULL;
        m.r.sites = 0;
        drop(&m);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(laws),
        cmocka_unit_test(deviations_of_a_plane),
        cmocka_unit_test(verdicts_by_chance),
        cmocka_unit_test(posts_of_the_building),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
