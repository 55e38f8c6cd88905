/* test_suspects.c - one scene for each slip, through the whole program */
#define _POSIX_C_SOURCE 200809L /* fileno */
#include "../program.h"

#include <jansson.h>
#include <stdbool.h>

/* Three set-ups; every point is read from each of them but G, which the second does not see. Each figure is as it should be
 * to a hundredth. */
static const char in_feet[] = "---\n"
    "job: Lamb field\nunit: ft\nleast: 0.01\nrod-length: 13\nallow: {misclosure: 0.02, per: root-setup}\nsigma: 0.005\n"
    "---\nmarks:\n  BM1: {elevation: 100.00}\n  BM2: {elevation: 102.00}\n  BM3: {elevation: 101.00}\n"
    "---\nlevels:\n  readings:\n"
    "    - {at: BM1, bs: 4.62}\n"
    "    - {at: BM2, is: 2.62}\n"
    "    - {at: S, on: batten, is: 3.09}\n"
    "    - {at: A, on: ground, is: 5.26}\n"
    "    - {at: G, on: ground, is: 4.52}\n"
    "    - {at: B, on: top, is: -2.38}\n"
    "    - {at: TP2, is: 3.36}\n"
    "    - {at: TP1, fs: 3.82, bs: 4.16}\n"
    "    - {at: S, on: batten, is: 3.43}\n"
    "    - {at: A, on: ground, is: 5.61}\n"
    "    - {at: B, on: top, is: -2.04}\n"
    "    - {at: BM3, is: 3.96}\n"
    "    - {at: TP2, fs: 3.70, fs-dist: 90, bs: 3.80}\n"
    "    - {at: TP1, is: 4.26}\n"
    "    - {at: S, on: batten, is: 3.53}\n"
    "    - {at: BM2, is: 3.05}\n"
    "    - {at: G, on: ground, is: 4.96}\n"
    "    - {at: A, on: ground, is: 5.70}\n"
    "    - {at: BM1, fs: 5.06}\n";

static const char in_metres[] = "---\n"
    "job: Lamb field\nunit: m\nleast: 0.001\nallow: {misclosure: 4 mm, per: root-setup}\nsigma: 0.001\n"
    "---\nmarks:\n  BM1: {elevation: 48.375}\n"
    "---\nlevels:\n  readings:\n"
    "    - {at: BM1, bs: 1.482, dist: 30}\n"
    "    - {at: S, on: batten, is: 1.733, dist: 22}\n"
    "    - {at: TP1, fs: 1.129, fs-dist: 34, bs: 1.257, bs-dist: 31}\n"
    "    - {at: S, on: batten, is: 1.860, dist: 27}\n"
    "    - {at: BM1, fs: 1.609, dist: 29}\n";

static const char in_inches[] = "---\n"
    "job: Lamb field\nunit: ft-in\nleast: 1/8 in\nallow: {misclosure: 1/4 in, per: root-setup}\nsigma: 1/16 in\n"
    "---\nmarks:\n  BM1: {elevation: 100 ft}\n"
    "---\nlevels:\n  readings:\n"
    "    - {at: BM1, bs: 4' 7-3/8\"}\n"
    "    - {at: S, on: batten, is: 3' 1-1/4\"}\n"
    "    - {at: TP1, fs: 3' 9-7/8\", bs: 4' 2\"}\n"
    "    - {at: S, on: batten, is: 3' 5-3/8\"}\n"
    "    - {at: BM1, fs: 4' 11-1/2\"}\n";

/* `with` stands for each text of `instead_of`, in their order, closed by NULL. The suspect named first: */
struct scene {
    const char *record, *swap[11];
    const char *slip, *kind, *at, *setup;
    double instead; /* 0: not compared */
};

static const struct scene scenes[] = {
    { in_feet, { "bs: 4.16", "bs: 5.16" }, "whole", "bs", "TP1", "3.2", 4.16 },
    { in_feet, { "batten, is: 3.43", "batten, is: 3.53" }, "tenth", "is", "S", "3.2", 3.43 },
    { in_feet, { "fs: 3.70", "fs: 3.07" }, "digits", "fs", "TP2", "3.2", 3.70 },
    { in_feet, { "is: 5.61", "is: 5.91" }, "six-nine", "is", "A", "3.2", 5.61 },
    { in_feet, { "bs: 3.80", "bs: 3.30" }, "three-eight", "bs", "TP2", "3.3", 3.80 },
    { in_feet, { "is: 5.26", "is: 5.03" }, "inches", "is", "A", "3.1", 5.25 },
    { in_feet, { "batten, is: 3.09", "batten, is: 2.91" }, "beyond-whole", "is", "S", "3.1", 3.09 },
    { in_feet, { "TP1, is: 4.26", "TP1, is: 4.34" }, "beyond-small", "is", "TP1", "3.3", 4.26 },
    { in_feet, { "fs: 3.82, bs: 4.16", "fs: 4.16, bs: 3.82" }, "turn-columns", "fs", "TP1", "3.1", 3.82 },
    { in_feet, { "bs: 4.16", "bs: 3.70", "fs: 3.70", "fs: 4.16" }, "setup-columns", "bs", "TP1", "3.2", 4.16 },
    { in_feet, { "is: -2.04", "is: 2.04" }, "sign", "is", "B", "3.2", -2.04 },
    { in_feet, { "is: 5.61", "is: 4.87" }, "point", "is", "A", "3.2", 0 },
    { in_feet, { "fs: 3.70", "fs: 4.15" }, "hair", "fs", "TP2", "3.2", 3.70 },
    { in_feet, { "is: 5.26", "is: 5.38", "is: 5.61", "is: 5.73", "is: 4.96", "is: 5.08", "is: 5.70", "is: 5.82", "fs: 5.06", "fs: 5.18" },
        "rod", "is", "G", "3.3", 0 },
    { in_feet, { "is: 3.05", "is: 2.97", "is: 4.96", "is: 4.88", "is: 5.70", "is: 5.62", "fs: 5.06", "fs: 4.98" }, "instrument", "is", "BM2",
        "3.3", 0 },
    { in_feet, { "bs: 3.80", "bs: 3.86" }, "turn", "bs", "TP2", "3.3", 0 },
    { in_feet, { "102.00", "102.17" }, "moved", "mark", "BM2", NULL, 102.005 },
    { in_feet, { "is: 5.61", "is: 6.04" }, "other", "is", "A", "3.2", 0 },
    { in_metres, { "bs: 1.257", "bs: 2.257" }, "whole", NULL, "TP1", NULL, 0 },
    { in_metres, { "fs: 1.609", "fs: 1.906" }, NULL, NULL, NULL, NULL, 0 }, /* no slip that has a name; and no crash */
    { in_metres, { "is: 1.860", "is: 1.995" }, "hair", "is", "S", "3.2", 1.860 },
    { in_metres, { "is: 1.860", "is: 1.870" }, "small", NULL, "S", NULL, 0 },
    { in_inches, { "is: 3' 1-1/4", "is: 3' 3-1/4" }, NULL, "is", "S", NULL, 0 },
    { in_inches, { "is: 3' 1-1/4", "is: 1' 3-1/4" }, "digits", "is", "S", "3.1", 3.104166667 },
    { in_inches, { "is: 3' 1-1/4", "is: 3' 2-1/4" }, "small", "is", "S", NULL, 0 },
};

static char *
with_slip(const struct scene *scene)
{
    char *text = malloc(strlen(scene->record) + 64);
    assert_non_null(text);
    strcpy(text, scene->record);
    for (size_t i = 0; scene->swap[i]; i += 2) {
        char *at = strstr(text, scene->swap[i]), behind[4096];
        if (!at)
            fail_msg("%s does not stand in the record", scene->swap[i]);
        strcpy(behind, at + strlen(scene->swap[i]));
        strcpy(stpcpy(at, scene->swap[i + 1]), behind);
    }
    return text;
}

static const char *
text_of(const json_t *o, const char *key)
{
    const char *text = json_string_value(json_object_get(o, key));
    return text ? text : "null";
}

static void
each_slip_is_named_first(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof scenes / sizeof *scenes; i++) {
        const struct scene *scene = &scenes[i];
        char *record = with_slip(scene);
        struct ran r = RUN_WITH(record, "suspects", "--json", "-");
        json_error_t fault;
        json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, &fault);
        if (r.status != 1 || !root)
            fail_msg("scene %zu: exit status %d\n%s%s", i, r.status, r.err, r.out);
        const json_t *first = json_array_get(json_object_get(json_array_get(json_object_get(root, "faults"), 0), "suspects"), 0);
        bool good = first != NULL && (!scene->slip || strcmp(text_of(first, "slip"), scene->slip) == 0)
            && (!scene->kind || strcmp(text_of(first, "kind"), scene->kind) == 0)
            && (!scene->at || strcmp(text_of(first, "at"), scene->at) == 0)
            && (!scene->setup || strcmp(text_of(first, "setup"), scene->setup) == 0)
            && (scene->instead == 0 || fabs(json_number_value(json_object_get(first, "instead")) - scene->instead) < 0.006);
        if (!good)
            fail_msg("scene %zu, %s for %s: %s", i, scene->swap[1], scene->swap[0], r.out);
        json_decref(root);
        ran_release(&r);
        struct ran sheet = RUN_WITH(record, "suspects", "-");
        assert_int_equal(sheet.status, 1);
        assert_non_null(strstr(sheet.out, "What most likely did it"));
        assert_non_null(strstr(sheet.out, "  1. "));
        ran_release(&sheet);
        free(record);
    }
}

static void
a_job_that_closes_names_nobody(void **state)
{
    static const char *const records[] = { in_feet, in_metres, in_inches };
    (void)state;
    for (size_t i = 0; i < sizeof records / sizeof *records; i++) {
        struct ran r = RUN_WITH(records[i], "suspects", "-");
        if (r.status != 0)
            fail_msg("record %zu: exit status %d\n%s%s", i, r.status, r.err, r.out);
        assert_non_null(strstr(r.out, "nothing is outside its limit"));
        assert_null(strstr(r.out, "What most likely did it"));
        ran_release(&r);
    }
    static const char *const surveys[] = { "surveys/fernhill.yaml", "surveys/mill-lane.yaml", "surveys/quay-nursery.yaml" };
    for (size_t i = 0; i < sizeof surveys / sizeof *surveys; i++) {
        struct ran r = RUN("suspects", surveys[i]);
        assert_int_equal(r.status, 0);
        ran_release(&r);
    }
}

/* A text without its line breaks: each run of blanks is one. free() it. */
static char *
in_one_line(const char *text)
{
    char *out = malloc(strlen(text) + 1), *p = out;
    assert_non_null(out);
    for (; *text; text++)
        if (*text != ' ' && *text != '\n')
            *p++ = *text;
        else if (p > out && p[-1] != ' ')
            *p++ = ' ';
    *p = '\0';
    return out;
}

/* Wherever its lines break. */
static void
assert_says(const struct ran *r, const char *words)
{
    char *said = in_one_line(r->out), *want = in_one_line(words);
    if (!strstr(said, want))
        fail_msg("it does not say: %s\n%s", words, r->out);
    free(said);
    free(want);
}

/* What a crew reads: the reading, what it would have been, what the loop then closes to, what to shoot. */
static void
it_speaks_plainly(void **state)
{
    char *record = with_slip(&scenes[0]);
    struct ran r = RUN_WITH(record, "suspects", "-");
    (void)state;
    assert_says(&r, "  1. BS on TP1 in set-up 3.2 (row 3.8), booked 5.16: if it was 4.16 (a foot misread), ");
    assert_says(&r, "     Shoot TP1 again from both sides.\n");
    assert_says(&r, "loop BM1 to BM1, 3 set-ups from 3.1: misclosure +1.0000 ft, allowed 0.0346 ft");
    assert_says(&r, "\nShoot again");
    assert_says(&r, "3.2    TP1   TP2");
    assert_says(&r, "\nCleared\n");
    assert_says(&r, "by weights that are our judgement");
    free(record);
    ran_release(&r);
}

/* A section has no inverted rod; of two loops one is "the other". */
static void
it_speaks_of_sections_and_of_two_loops(void **state)
{
    (void)state;
    struct ran r = RUN_WITH("---\njob: Lamb field\nunit: m\nleast: 0.001\nallow: {misclosure: 5 mm, per: job}\n---\nmarks:\n"
        "  BM1: {elevation: 48.375}\n  BM2: {elevation: 51.648}\n---\nsections:\n  rows:\n"
        "    - {from: BM1, to: BM2, rise: -3.273, setups: 4}\n", "suspects", "-");
    assert_int_equal(r.status, 1);
    assert_says(&r, "booked -3.273: if it was 3.273 (a rise booked for a fall, or a fall for a rise)");
    assert_null(strstr(r.out, "inverted"));
    ran_release(&r);
    r = RUN_WITH("---\njob: Lamb field\nunit: m\nleast: 0.001\nallow: {misclosure: 3 mm, per: job}\n---\nmarks:\n"
        "  A: {elevation: 10}\n---\nlevels:\n  readings:\n    - {at: A, bs: 1.412}\n    - {at: P, on: batten, is: 1.257}\n"
        "    - {at: T, fs: 1.633, bs: 1.509}\n    - {at: A, fs: 1.345}\n---\nlevels:\n  readings:\n"
        "    - {at: A, bs: 1.318}\n    - {at: P, on: batten, is: 1.063}\n", "suspects", "-");
    assert_int_equal(r.status, 1);
    assert_says(&r, "1 of the 2 loops closes to ");
    assert_says(&r, ", the other stays outside.");
    ran_release(&r);
}

/* One bare loop: many readings fit alike, and it says so, and where to halve it. */
static void
a_bare_loop_says_what_to_shoot_again(void **state)
{
    char record[4096];
    char *p = stpcpy(record, "---\njob: Bare\nunit: ft\nleast: 0.01\nallow: {misclosure: 0.02, per: root-setup}\nsigma: 0.004\n"
                             "---\nmarks:\n  BM1: {elevation: 100.00}\n---\nlevels:\n  readings:\n    - {at: BM1, bs: 5.62}\n");
    for (int i = 1; i < 9; i++)
        p += sprintf(p, "    - {at: TP%d, fs: 4.57, bs: 4.57}\n", i);
    stpcpy(p, "    - {at: BM1, fs: 4.62}\n");
    struct ran r = RUN_WITH(record, "suspects", "-");
    (void)state;
    assert_int_equal(r.status, 1);
    assert_says(&r, "  the first 18 fit alike: the loops do not tell them apart\n");
    assert_says(&r, "It lies on many set-ups: level from BM1 to TP5 anew");
    assert_says(&r, "of 18 readings on the loop outside, 0 cannot have done it alone");
    ran_release(&r);
}

static void
a_record_that_cannot_be_worked_out(void **state)
{
    struct ran r = RUN("suspects", "tests/bad/no-benchmark.yaml");
    (void)state;
    assert_int_equal(r.status, 2);
    assert_string_equal(r.out, "");
    ran_release(&r);
    r = RUN("suspects", "--bend", "surveys/fernhill.yaml");
    assert_int_equal(r.status, 2);
    ran_release(&r);
}

static void
nothing_is_levelled_yet(void **state)
{
    struct ran r = RUN_WITH("---\njob: Lamb field\nunit: m\nleast: 0.001\n---\nmarks:\n  BM1: {elevation: 48.375}\n", "suspects", "-");
    (void)state;
    if (r.status != 0)
        fail_msg("exit status %d\n%s", r.status, r.err);
    assert_says(&r, "nothing is outside its limit");
    ran_release(&r);
}

/* Sections between held marks adjust nothing, and are tried all the same. */
static void
a_section_between_marks(void **state)
{
    struct ran r = RUN_WITH("---\njob: Lamb field\nunit: m\nleast: 0.001\nallow: {misclosure: 4 mm, per: root-setup}\nsigma: 0.001\n"
                            "---\nmarks:\n  BM1: {elevation: 48.375}\n  BM2: {elevation: 51.648}\n"
                            "---\nsections:\n  rows:\n    - {from: BM1, to: BM2, rise: 3.237, setups: 4}\n",
        "suspects", "-");
    (void)state;
    assert_int_equal(r.status, 1);
    assert_says(&r, "section BM1 to BM2 (row 3.1), booked 3.237: if it was 3.273 (two digits exchanged), the loop closes to 0.00 mm");
    ran_release(&r);
}

static void
the_record_stays_as_it_is(void **state)
{
    char name[] = "/tmp/suspects-XXXXXX", back[4096];
    int fd = mkstemp(name);
    char *record = with_slip(&scenes[0]);
    (void)state;
    assert_true(fd >= 0);
    assert_int_equal(write(fd, record, strlen(record)), strlen(record));
    struct ran r = RUN("suspects", name);
    assert_int_equal(r.status, 1);
    ssize_t n = pread(fd, back, sizeof back, 0);
    assert_int_equal(n, strlen(record));
    assert_memory_equal(back, record, (size_t)n);
    close(fd);
    unlink(name);
    free(record);
    ran_release(&r);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_slip_is_named_first),
        cmocka_unit_test(a_job_that_closes_names_nobody),
        cmocka_unit_test(it_speaks_plainly),
        cmocka_unit_test(it_speaks_of_sections_and_of_two_loops),
        cmocka_unit_test(a_bare_loop_says_what_to_shoot_again),
        cmocka_unit_test(a_record_that_cannot_be_worked_out),
        cmocka_unit_test(nothing_is_levelled_yet),
        cmocka_unit_test(a_section_between_marks),
        cmocka_unit_test(the_record_stays_as_it_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
