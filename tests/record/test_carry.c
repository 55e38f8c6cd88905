/* test_carry.c - entries by hand under digests: what is held against what */
#include "near.h"

#include "rodbook/carry.h"

#include <string.h>

#define JOB "---\njob: Lamb field\nunit: m\nleast: 0.001\n"
#define MARKS "---\nmarks: {BM1: {elevation: 48.375}}\n"
#define POINTS "---\npoints: {W1: {x: 0, y: 1, kind: post}}\n"
#define GRADE(text) "---\ngrade: {name: sill, means: finish, " text "}\n"
#define LEVELS(more) "---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.482" more "}\n    - {at: A, is: 0.971}\n"
#define SET(post) "---\nset: {row: A, rows: [{at: A1, " post "}]}\n"
#define PLAN(more) "---\nplan: {setups: [{from: A, " more "}]}\n"
#define SITE(more) "---\nsite: {length: 8, width: 4, " more "}\n"

static struct record
record_of(const char *text)
{
    struct source source = source_of_bytes(text, strlen(text));
    struct record r;
    struct diag d = { 0 };
    assert_int_equal(record_read(&r, &source, &d), 0);
    if (d.errors > 0)
        fail_msg("%s: %s", text, d.item[0].text);
    diag_release(&d);
    return r;
}

/* Two records that differ in one thing, and what that thing is called. */
static const struct {
    const char *one, *other, *what;
} pairs[] = {
    { JOB, "---\njob: Lamb fields\nunit: m\nleast: 0.001\n", "texts" },
    { JOB, "---\njob: Lamb field\nunit: ft\nleast: 0.001\n", "the job" },
    { JOB, "---\njob: Lamb field\nunit: m\nleast: 0.002\n", "the job" },
    { JOB "rod-length: 4\n", JOB "rod-length: 5\n", "the job" },
    { JOB "allow: {misclosure: 0.02, per: job}\n", JOB "allow: {misclosure: 0.02, per: root-setup}\n", "the job" },
    { JOB "by: RO\n", JOB "time: 2026-05-02T08:10:00Z\n", "texts" },
    { JOB MARKS, JOB "---\nmarks: {BM2: {elevation: 48.375}}\n", "names" },
    { JOB MARKS, JOB "---\nmarks: {BM1: {elevation: 48.376}}\n", "marks" },
    { JOB MARKS, JOB "---\nmarks: {BM1: {elevation: 48.375, sigma: 1 mm}}\n", "marks" },
    { JOB MARKS, JOB MARKS MARKS, "entries" },
    { JOB POINTS, JOB "---\npoints: {W1: {x: 0, y: 2, kind: post}}\n", "points" },
    { JOB POINTS, JOB "---\npoints: {W1: {x: 0, y: 1, kind: batten}}\n", "points" },
    { JOB GRADE("level: 48.9"), JOB GRADE("level: 48.8"), "grades" },
    { JOB GRADE("level: 48.9"), JOB GRADE("level: 48.9, for: post"), "grades" },
    { JOB GRADE("level: 48.9, slope: {fall: 1 in 120, towards: length}"),
        JOB GRADE("level: 48.9, slope: {rise: 1 in 120, towards: length}"), "grades" },
    { JOB GRADE("through: {at: BM1, plus: 1}"), JOB GRADE("through: {at: BM1, plus: 2}"), "grades" },
    { JOB LEVELS(""), JOB LEVELS(", moved: true"), "rows" },
    { JOB LEVELS(", dist: 20"), JOB LEVELS(", dist: 21"), "sight lengths" },
    { JOB LEVELS(", page: 2"), JOB LEVELS(", page: 3"), "wires, pages and notes" },
    { JOB LEVELS(", note: a"), JOB LEVELS(", note: b"), "texts" },
    { JOB LEVELS("") "---\nstrike: {entry: 2, row: 1, reason: x}\n", JOB LEVELS("") "---\nstrike: {entry: 2, row: 2, reason: x}\n", "rows" },
    { JOB LEVELS("") "---\nlevels: {continues: 2, readings: [{at: A, is: 1.1}]}\n", JOB LEVELS("") "---\nlevels: {readings: [{at: A, is: 1.1}]}\n",
        "entries" },
    { JOB "---\nsections: {rows: [{from: A, to: B, rise: 1}]}\n", JOB "---\nsections: {rows: [{from: A, to: B, rise: 1, dist: 3}]}\n", "sections" },
    { JOB "---\nholes: {depth: 1, from: ground}\n", JOB "---\nholes: {depth: 1, from: grade}\n", "holes" },
    { JOB "---\nholes: {depth: 1, posts: {A: {depth: 2}}}\n", JOB "---\nholes: {depth: 1, posts: {A: {depth: 3}}}\n", "holes" },
    { JOB "---\nsite: {length: 9, width: 6, post: 0.1}\n", JOB "---\nsite: {length: 9, width: 6, post: 0.1, north: 0 deg}\n", "buildings" },
    { JOB "---\nsite: {length: 9, width: 6, post: 0.1, north: 5 deg}\n", JOB "---\nsite: {length: 9, width: 6, post: 0.1, north: 6 deg}\n", "buildings" },
    { JOB "---\npoints: {set-up 2.1: {x: 1, y: 2}}\n", JOB "---\npoints: {set-up 2.1: {x: 1, y: 3}}\n", "places of set-ups" },
    { JOB "---\nconcrete: {fill: to ground}\n", JOB "---\nconcrete: {fill: 1 thick}\n", "concrete" },
    { JOB "---\nconcrete: {fill: to ground, waste: 5 %}\n", JOB "---\nconcrete: {fill: to ground, bulking: 5 %}\n", "concrete" },
    { JOB SET("gap: 0.1"), JOB SET("gap: 0.2"), "posts as they stand" },
    { JOB SET("gap: 0.1"), JOB SET("gap: 0.1, lean: {in: 5 mm in 1 m}"), "posts as they stand" },
    { JOB SET("lean: {in: 5 mm in 1 m}"), JOB SET("lean: {out: 5 mm in 1 m}"), "posts as they stand" },
    { JOB SET("gap: 0.1"), JOB "---\nset: {row: A, tolerance: {line: 5 mm}, rows: [{at: A1, gap: 0.1}]}\n", "rows of posts as they stand" },
    { JOB "---\npad: {level: 48, stone: 0.1}\n", JOB "---\npad: {level: 48, stone: 0.2}\n", "pads" },
    { JOB "---\npad: {level: 48, swell: 20 %}\n", JOB "---\npad: {level: 48, swell: 25 %}\n", "pads" },
    { JOB "---\npad: {level: 48, spots: [A, B]}\n---\npoints: {A: {kind: ground}}\n",
        JOB "---\npad: {level: 48, spots: [A, B]}\n---\npoints: {B: {kind: ground}}\n", "points" },
    { JOB "---\nmarks: {A: {elevation: 1}, B: {elevation: 2}}\n---\npad: {level: 48, spots: [A, B]}\n",
        JOB "---\nmarks: {A: {elevation: 1}, B: {elevation: 2}}\n---\npad: {level: 48, spots: [B, A]}\n", "spots of a pad" },
    { JOB PLAN("to: B"), JOB PLAN("post: B"), "set-ups of a plan" },
    { JOB PLAN("post: B"), JOB PLAN("batten: B"), "sights of a plan" },
    { JOB "---\ntape: {rows: [{from: A, to: B, read: 3}]}\n", JOB "---\ntape: {rows: [{from: A, to: B, read: 4}]}\n", "taped lengths" },
    { JOB "---\ntape: {sigma: 1 mm, rows: []}\n", JOB "---\ntape: {sigma: 2 mm, rows: []}\n", "tapes" },
    { JOB SITE("post: 0.1"), JOB SITE("post: 0.1, nailed: 0.02"), "buildings" },
    { JOB SITE("post: 0.1, rows: {A: {wall: front, spacing: 2}}"), JOB SITE("post: 0.1, rows: {A: {wall: back, spacing: 2}}"), "rows of posts" },
    { JOB "---\nlevels: {observer: HK, readings: []}\n", JOB "---\nlevels: {rodman: HK, readings: []}\n", "runs" },
};

static void
every_difference_is_found(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        struct record a = record_of(pairs[i].one), b = record_of(pairs[i].other), same = record_of(pairs[i].one);
        const char *found = carry_differs(&a, &b), *back = carry_differs(&b, &a);
        if (!found || strcmp(found, pairs[i].what) != 0)
            fail_msg("%zu: %s, want %s", i, found ? found : "nothing", pairs[i].what);
        assert_string_equal(back, found);
        assert_null(carry_differs(&a, &same));
        record_release(&a);
        record_release(&b);
        record_release(&same);
    }
}

/* Comments and blanks are no difference; digests are none either. */
static void
what_means_the_same_is_the_same(void **state)
{
    struct record a = record_of(JOB MARKS), b = record_of("# x\n\n" JOB "\n# y\n" MARKS);
    (void)state;
    assert_null(carry_differs(&a, &b));
    record_release(&a);
    record_release(&b);
}

static struct carry
carried(const char *above, const char *from, struct diag *d)
{
    struct scan_end at = append_nowhere();
    struct carry c;
    if (above[0]) {
        struct source source = source_of_bytes(above, strlen(above));
        struct record r;
        assert_int_equal(record_read_on(&r, &source, &at, d), 0);
        record_release(&r);
    }
    assert_int_equal(carry_compose(&c, above, strlen(above), &at, from, strlen(from), d), 0);
    return c;
}

static void
places_are_counted_in_what_was_carried(void **state)
{
    static const struct {
        const char *above, *from;
        uint32_t line, want;
    } cases[] = {
        { "", JOB, 3, 3 },
        { "", "# a\njob: x\nunit: m\nleast: 1\n", 4, 3 },
        { "", "# a\njob: x\nunit: m\nleast: 1\n", 1, 1 },
        { JOB, MARKS, 6, 2 },
        { JOB, MARKS, 4, 0 },
        { JOB "by: RO", MARKS, 7, 2 }, /* a last line without its end is one as well */
        { JOB "by: RO", MARKS, 5, 0 },
        { JOB, "marks: {BM1: {elevation: 48.375}}\n", 6, 1 },
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct diag d = { 0 };
        struct carry c = carried(cases[i].above, cases[i].from, &d);
        assert_int_equal(d.n, 0);
        struct diag_place got = carry_place(&c, (struct diag_place){ cases[i].line, 7 });
        assert_int_equal(got.line, cases[i].want);
        carry_release(&c);
        diag_release(&d);
    }
}

/* Whatever record is held against the sealed one: only that which was written passes. */
static void
another_record_does_not_pass(void **state)
{
    struct diag d = { 0 };
    struct carry c = carried(JOB, MARKS, &d);
    struct record right = record_of(JOB MARKS), wrong = record_of(JOB "---\nmarks: {BM1: {elevation: 48.374}}\n");
    (void)state;
    assert_int_equal(carry_verify(&c, JOB, strlen(JOB), &right, &d), 0);
    assert_int_equal(d.n, 0);
    assert_int_equal(carry_verify(&c, JOB, strlen(JOB), &wrong, &d), 0);
    assert_int_equal(d.errors, 1);
    assert_string_equal(d.item[0].check, "carry");
    record_release(&right);
    record_release(&wrong);
    carry_release(&c);
    diag_release(&d);
}

/* A digest over other bytes than those above does not pass either. */
static void
other_bytes_above_do_not_pass(void **state)
{
    static const char other[] = "---\njob: Lamb field\nunit: m\nleast: 0.001 \n";
    struct diag d = { 0 };
    struct carry c = carried(JOB, MARKS, &d);
    struct record plain = record_of(JOB MARKS);
    (void)state;
    assert_int_equal(carry_verify(&c, other, strlen(other), &plain, &d), 0);
    assert_int_equal(d.errors, 1);
    record_release(&plain);
    carry_release(&c);
    diag_release(&d);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_difference_is_found),
        cmocka_unit_test(what_means_the_same_is_the_same),
        cmocka_unit_test(places_are_counted_in_what_was_carried),
        cmocka_unit_test(another_record_does_not_pass),
        cmocka_unit_test(other_bytes_above_do_not_pass),
    };
    return cmocka_run_group_tests_name("carry", tests, NULL, NULL);
}
