/* test_history.c - what was revised in a record, each value in its turn */
#include "../program.h"

#include "rodbook/history.h"

#define JOB "---\njob: Lamb field\nunit: m\nleast: 0.001\nrod-length: 5\nby: RO\ntime: 2026-05-02T08:10:00Z\n"

static const char revised[] = JOB
    "---\nmarks: {BM1: {elevation: 48.375}, BM2: {elevation: 51.208}}\nby: RO\ntime: 2026-05-02T08:12:00Z\n"
    "---\npoints: {W1: {x: 0, y: 1.5, kind: post}, W2: {kind: post}}\n"
    "---\ngrade: {name: sill, means: finish, level: 48.900, tolerance: 3 mm, for: [batten, post]}\n"
    "---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.482}\n    - {at: W1, on: post, is: 0.971}\n"
    "    - {at: TP, fs: 1.302, bs: 1.417}\n    - {at: BM1, fs: 1.598}\n"
    "---\nstrike: {entry: 5, row: 2, reason: rod sank}\nby: HK\ntime: 2026-05-02T09:40:00Z\n"
    "---\nlevels:\n  continues: 5\n  readings:\n    - {at: W1, on: post, is: 0.978, for: {entry: 5, row: 2}}\n"
    "---\nstrike: {entry: 7, row: 1, reason: read upside down}\nby: LM\n"
    "---\nlevels:\n  continues: 5\n  readings:\n    - {at: W1, on: post, is: 0.987, for: {entry: 5, row: 2}}\n"
    "---\nstrike: {entry: 5, row: 3, sight: bs, reason: wrong edge}\n"
    "---\nlevels:\n  continues: 5\n  readings:\n    - {at: TP, bs: 1.418, for: {entry: 5, row: 3}}\n"
    "---\nmarks: {BM1: {elevation: 48.3755, sigma: 0.4 mm}}\nby: LM\ntime: 2026-05-03T08:00:00Z\n"
    "---\ngrade: {name: sill, means: subgrade, through: {at: BM2, plus: -2.4}, slope: {fall: 1 in 120, towards: width}}\n"
    "---\npoints: {W1: {x: 0, y: 1.55, kind: post}, W3: {kind: post}, BM2: {x: 1, y: 2}}\n"
    "---\nmarks: {BM1: {elevation: 48.375}}\n"
    "---\nsections: {rows: [{from: BM1, to: BM2, rise: 2.833, setups: 3}, {from: BM2, to: X, rise: 0.417, setups: 1}]}\n"
    "---\nstrike: {entry: 16, row: 2, reason: copied wrong}\n";

/* Columns wander with their widest cell: what is held are the words of a line, blanks made one. */
static char *
squeezed(const char *text)
{
    char *out = malloc(strlen(text) + 1), *p = out;
    assert_non_null(out);
    for (; *text; text++)
        if (*text != ' ' || (p > out && p[-1] != ' ' && p[-1] != '\n'))
            *p++ = *text;
    *p = '\0';
    return out;
}

static void
assert_lines(const char *text, const char *const *lines)
{
    char *plain = squeezed(text);
    const char *at = plain;
    for (; *lines; lines++) {
        char whole[256];
        snprintf(whole, sizeof whole, "\n%s\n", *lines);
        const char *found = strstr(at, whole);
        if (!found)
            fail_msg("\"%s\" does not stand in its place in\n%s", *lines, plain);
        at = found + strlen(whole) - 1;
    }
    free(plain);
}

static void
each_value_stands_in_its_turn(void **state)
{
    (void)state;
    struct ran r = RUN_WITH(revised, "check", "--history", "-");
    assert_lines(r.out, (const char *const[]){
        "The job, entry 1, by RO, 2026-05-02T08:10:00Z",
        "unit m; least 0.001; rod-length 5.000; spread by set-ups",
        "mark BM1 2 RO 2026-05-02T08:12:00Z 48.375",
        "12 LM 2026-05-03T08:00:00Z 48.3755; sigma 0.0004 m",
        "15 48.375 holds",
        "point W1 3 x 0.000, y 1.500; post",
        "14 x 0.000, y 1.550; post holds",
        "grade sill 4 finish; level 48.900; tolerance 0.003; for", "batten; for post",
        "13 subgrade; through BM2 -2.400; falling holds", "1 in 120 towards width (+y)",
        "given once, and never revised: 1 mark, 3 points, 0 grades",
        "5 2 W1 post is 0.971 6 HK 2026-05-02T09:40:00Z rod sank", "is 0.978, row 1 of entry 7; is 0.987, row 1 of entry 9",
        "7 1 W1 post is 0.978 8 LM read upside down", "nothing",
        "5 3 TP mark bs 1.417 10 wrong edge", "bs 1.418, row 1 of entry 11",
        "16 2 BM2 to X, rise 0.417 17 copied wrong", NULL });
    assert_string_equal(r.err, "");
    assert_int_equal(r.status, 0);
    ran_release(&r);
}

static void
nothing_revised_is_said(void **state)
{
    (void)state;
    struct ran r = RUN_WITH(JOB "---\nmarks: {BM1: {elevation: 48.375}}\n", "check", "--history", "-");
    assert_lines(r.out, (const char *const[]){ "Given more than once; the latest holds for the whole job", "nothing",
        "given once, and never revised: 1 mark, 0 points, 0 grades", "Struck, and what was read instead", "nothing",
        "-: 2 entries, no fault", NULL });
    assert_int_equal(r.status, 0);
    ran_release(&r);
}

/* What takes the place of another whole is no name's value, and is no "nothing" either. */
static void
whole_entries_stand_in_their_turn(void **state)
{
    (void)state;
    struct ran r = RUN_WITH(JOB "---\nsite: {length: 8, width: 4, post: 0.1, rows: {A: {wall: front, at: [0, 4, 8]}}}\n"
        "---\nholes: {depth: 1.2, from: ground, posts: {A2: {depth: 1.4}}}\n---\nset: {row: A, rows: [{at: A1, gap: 0.1}, {at: A2, gap: 0.1}]}\n"
        "---\nholes: {diameter: 0.4}\n---\npoints: {A3: {x: 8, y: 0.1, kind: post}, Z: {x: 9, y: 9, kind: ground}}\n"
        "---\nset: {row: A, rows: [{at: A1, gap: 0.1}]}\n---\nset: {row: B, rows: [{at: Z, gap: 0.1}]}\n"
        "---\nsite: {length: 8, width: 4.5, post: 0.1, rows: {A: {wall: front, at: [0, 4, 8]}}}\n", "check", "--history", "-");
    assert_lines(r.out, (const char *const[]){ "building: entries 2, 9; the last holds",
        "holes: entries 3, 5; what a later one leaves out stays as it was", "row A after setting: entries 4, 7; the last is judged",
        "given once, and never revised: 0 marks, 1 point, 0 grades; and 22 points of the building", NULL });
    assert_string_equal(r.err, "");
    ran_release(&r);
}

/* A record that cannot be read has no history yet; one that only does not tie has. */
static void
faults_come_first(void **state)
{
    (void)state;
    struct ran r = RUN_WITH(JOB "---\nmarks: {BM1: {elevation: 48,375}}\n", "check", "--history", "-");
    assert_string_equal(r.out, "-: 1 error, 0 warnings\n");
    assert_int_equal(r.status, 1);
    ran_release(&r);
    r = RUN_WITH(JOB "---\nlevels: {readings: [{at: X, bs: 1.111}]}\n---\nstrike: {entry: 2, row: 1, reason: rod sank}\n", "check", "--history", "-");
    assert_lines(r.out, (const char *const[]){ "2 1 X mark bs 1.111 3 rod sank nothing", NULL });
    assert_int_equal(r.status, 1);
    ran_release(&r);
}

/* Two values that look alike when rounded are not shown alike. */
static void
values_have_all_their_figures(void **state)
{
    (void)state;
    struct ran r = RUN_WITH("---\njob: Lamb field\nunit: ft-in\nleast: 1/8 in\n---\nmarks: {BM1: {elevation: 20' 0-3/8\"}}\n"
                            "---\nmarks: {BM1: {elevation: 20' 0-25/64\"}}\n---\nmarks: {BM1: {elevation: 6.1 m}}\n", "check", "--history", "-");
    assert_lines(r.out, (const char *const[]){ "mark BM1 2 20' 0-3/8\"", "3 20' 0-25/64\"", "4 20.013123360 ft holds", NULL });
    ran_release(&r);
    r = RUN_WITH("---\njob: Lamb field\nunit: ft\nleast: 0.01\n---\nmarks: {BM1: {elevation: -100.004}}\n---\nmarks: {BM1: {elevation: -100}}\n", "check",
        "--history", "-");
    assert_lines(r.out, (const char *const[]){ "mark BM1 2 -100.004", "3 -100.00 holds", NULL });
    ran_release(&r);
}

/* The same by the library: which strikes are answered by which rows. */
static void
strikes_know_what_stands_for_them(void **state)
{
    (void)state;
    struct source source = source_of_bytes(revised, strlen(revised));
    struct record r;
    struct diag d = { 0 };
    struct history h;
    assert_int_equal(record_read(&r, &source, &d), 0);
    assert_int_equal(d.errors, 0);
    assert_int_equal(history_gather(&h, &r), 0);
    assert_int_equal(h.names, 3);
    assert_int_equal(h.values, 7);
    assert_int_equal(h.strikes, 4);
    assert_int_equal(h.strike[0].count, 2);
    assert_int_equal(h.strike[1].count, 0);
    assert_true(h.strike[2].bs && !h.strike[2].ahead);
    assert_int_equal(h.strike[2].count, 1);
    assert_int_equal(h.strike[3].row, RECORD_NONE);
    assert_same(r.section[h.strike[3].section].rise, INT64_C(417000000));
    assert_same(r.row[h.instead[h.strike[0].first + 1]].ahead, INT64_C(987000000));
    assert_int_equal(history_entry(&r, HISTORY_GRADE, h.value[h.name[2].first + 1]) + 1, 13);
    history_release(&h);
    record_release(&r);
    diag_release(&d);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_value_stands_in_its_turn),
        cmocka_unit_test(nothing_revised_is_said),
        cmocka_unit_test(whole_entries_stand_in_their_turn),
        cmocka_unit_test(faults_come_first),
        cmocka_unit_test(values_have_all_their_figures),
        cmocka_unit_test(strikes_know_what_stands_for_them),
    };
    return cmocka_run_group_tests_name("history", tests, NULL, NULL);
}
