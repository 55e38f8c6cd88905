/*
 * test_site.c - the building through the whole program: published figures, the points that every command knows, and
 * which place of a point holds
 */
#define _POSIX_C_SOURCE 200809L /* fileno */
#include "../program.h"

#include <jansson.h>
#include <stdbool.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))
#define EXACT 1e-9 /* nine decimals are printed */
#define ROUNDED 5e-9 /* and of a slope the nanometre, 3.3e-9 ft, was rounded to */

#define JOB "---\njob: Lamb field\nunit: ft\nleast: 0.01\nrod-length: 13\n---\nmarks: {BM1: {elevation: 100.000}}\n"
#define SITE                                                                                                          \
    "---\nsite:\n  length: 24\n  width: 12\n  post: 5-1/2 in\n  nailed: 1-1/2 in\n  corners: [SW, SE, NE, NW]\n  rows:\n"  \
    "    A: {wall: front, spacing: 6}\n    B: {wall: back, spacing: 6}\n    C: {wall: start, at: [4, 8]}\n"           \
    "  doors: [{row: C, from: 4, to: 8}]\n"
#define SLOPE "---\ngrade: {name: string, means: finish, level: 101.50, slope: {fall: 1 in 120, towards: length}, tolerance: 1/8 in}\n"

/* ---- what the tests share ---- */

static json_t *
results(const char *record, int status, const char *const *argv)
{
    json_error_t fault;
    struct ran r = run_program(record, argv);
    if (r.status != status)
        fail_msg("exit status %d, want %d\n%s", r.status, status, r.err);
    json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, &fault);
    if (!root)
        fail_msg("line %d: %s\n%s", fault.line, fault.text, r.out);
    ran_release(&r);
    return root;
}

#define RESULTS(record, status, ...) results(record, status, (const char *const[]){ __VA_ARGS__, NULL })

static json_t *
member(json_t *list, const char *key, const char *value)
{
    size_t i;
    json_t *one;
    json_array_foreach(list, i, one)
    {
        const char *has = json_string_value(json_object_get(one, key));
        if (has && strcmp(has, value) == 0)
            return one;
    }
    fail_msg("nothing has %s %s", key, value);
    return NULL;
}

static bool
has_member(json_t *list, const char *key, const char *value)
{
    size_t i;
    json_t *one;
    json_array_foreach(list, i, one)
    {
        const char *has = json_string_value(json_object_get(one, key));
        if (has && strcmp(has, value) == 0)
            return true;
    }
    return false;
}

static double
value_of(json_t *object, const char *key)
{
    json_t *v = json_object_get(object, key);
    if (!json_is_number(v))
        fail_msg("%s is no number", key);
    return json_number_value(v);
}

/* "lines" of: footprint, posts, strings. */
static double
line_of(json_t *root, const char *of, const char *key)
{
    return value_of(member(json_object_get(root, "lines"), "of", of), key);
}

static json_t *
string_of(json_t *root, const char *string)
{
    return member(json_object_get(root, "strings"), "string", string);
}

static json_t *
point_of(json_t *root, const char *at)
{
    return member(json_object_get(root, "points"), "at", at);
}

static void
assert_said(const char *text, const char *word)
{
    if (!strstr(text, word))
        fail_msg("\"%s\" is not said in:\n%s", word, text);
}

static void
assert_not_said(const char *text, const char *word)
{
    if (strstr(text, word))
        fail_msg("\"%s\" is said in:\n%s", word, text);
}

/* A file in the build's own directory. */
static const char *
file_of(const char *base, const char *text)
{
    static char name[4][512];
    static unsigned turn;
    const char *build = getenv("BUILD");
    char *out = name[turn++ % 4];
    snprintf(out, sizeof name[0], "%s/site-%s", build ? build : "build/release", base);
    (void)unlink(out);
    if (text) {
        FILE *f = fopen(out, "w");
        assert_non_null(f);
        fputs(text, f);
        assert_int_equal(fclose(f), 0);
    }
    return out;
}

/* ---- published figures ---- */

static void
posts_are_bays_and_one(void **state)
{
    static const struct {
        const char *record;
        int posts, in_row;
        double diagonal; /* ours */
    } printed[] = { { "tests/handbook/d67.yaml", 20, 10, 39.812058 }, { "tests/handbook/d68.yaml", 50, 25, 100.578328 } };
    (void)state;
    for (size_t i = 0; i < COUNT(printed); i++) {
        json_t *root = RESULTS(NULL, 0, "site", "--json", printed[i].record), *rows = json_object_get(root, "rows");
        assert_near(value_of(json_object_get(root, "site"), "posts"), printed[i].posts, 0);
        assert_near(value_of(member(rows, "row", "A"), "posts"), printed[i].in_row, 0);
        assert_near(value_of(member(rows, "row", "B"), "posts"), printed[i].in_row, 0);
        assert_near(line_of(root, "footprint", "diagonal"), printed[i].diagonal, 5e-7);
        json_decref(root);
    }
}

/* 29 ft 9 in x 39 ft 9 in; first bays 7 ft 10-1/2 in and 8 ft 10-1/2 in: tests/handbook/girts-*.yaml have the source. */
static void
nailed_outside_the_posts(void **state)
{
    json_t *root = RESULTS(NULL, 0, "site", "--json", "tests/handbook/girts-8.yaml");
    json_t *marks = json_object_get(string_of(root, "front"), "marks");
    (void)state;
    assert_near(line_of(root, "posts", "length"), 39.75, EXACT);
    assert_near(line_of(root, "posts", "width"), 29.75, EXACT);
    assert_near(line_of(root, "strings", "length"), 39.75, EXACT); /* string: 0 */
    assert_near(value_of(json_array_get(marks, 1), "from_last"), 7 + 10.5 / 12, EXACT);
    assert_near(value_of(json_array_get(marks, 2), "from_last"), 8, EXACT);
    assert_near(value_of(json_array_get(marks, 5), "from_last"), 7 + 10.5 / 12, EXACT);
    assert_int_equal(json_array_size(marks), 6);
    json_decref(root);
    root = RESULTS(NULL, 0, "site", "--json", "tests/handbook/girts-9.yaml");
    marks = json_object_get(string_of(root, "front"), "marks");
    assert_near(value_of(json_array_get(marks, 1), "from_last"), 8 + 10.5 / 12, EXACT);
    json_decref(root);
    struct ran r = RUN("site", "tests/handbook/girts-8.yaml");
    assert_said(r.out, "39' 9\"");
    assert_said(r.out, "29' 9\"");
    assert_said(r.out, "7' 10-1/2\"");
    assert_said(r.out, "STRINGS TOUCH");
    ran_release(&r);
}

/* Diagonals of usual frames, to the 1/10000 ft and 1/100 in of a table of exact figures (own arithmetic, no source). */
static void
diagonals_to_expect(void **state)
{
    static const struct {
        int along, across;
        double feet, inches;
    } frame[] = { { 24, 12, 26.8328, 9.99 }, { 30, 20, 36.0555, 0.67 }, { 48, 24, 53.6656, 7.99 }, { 96, 30, 100.5783, 6.94 } };
    (void)state;
    for (size_t i = 0; i < COUNT(frame); i++) {
        char record[512];
        snprintf(record, sizeof record, "---\njob: F\nunit: ft\nleast: 0.01\n---\nsite: {length: %d, width: %d, post: 3-1/2 in}\n",
            frame[i].along, frame[i].across);
        json_t *root = RESULTS(record, 0, "site", "--json", "/dev/stdin");
        double d = line_of(root, "footprint", "diagonal");
        assert_near(d, frame[i].feet, 0.00005);
        assert_near((d - floor(d)) * 12, frame[i].inches, 0.005);
        json_decref(root);
    }
}

/* 9-12-15 ft: NAVEDTRA 14069, building layout; 1500, 2000, 2500 mm: CMHC, Canadian Wood-Frame House Construction. */
static void
the_check_triangle(void **state)
{
    json_t *root = RESULTS("---\njob: F\nunit: ft\nleast: 0.01\n---\nsite: {length: 12.5, width: 11.9, post: 3-1/2 in}\n", 0, "site", "--json",
        "/dev/stdin");
    json_t *t = json_object_get(root, "triangle");
    (void)state;
    assert_near(value_of(t, "along"), 12, EXACT);
    assert_near(value_of(t, "across"), 9, EXACT);
    assert_near(value_of(t, "between"), 15, EXACT);
    json_decref(root);
    root = RESULTS("---\njob: F\nunit: m\nleast: 0.001\n---\nsite: {length: 1.599, width: 2.099, post: 0.09}\n", 0, "site", "--json",
        "/dev/stdin");
    t = json_object_get(root, "triangle");
    assert_near(value_of(t, "along"), 1.5, EXACT);
    assert_near(value_of(t, "across"), 2, EXACT);
    assert_near(value_of(t, "between"), 2.5, EXACT);
    json_decref(root);
    root = RESULTS("---\njob: F\nunit: ft\nleast: 0.01\n---\nsite: {length: 3.9, width: 3.9, post: 3-1/2 in}\n", 0, "site", "--json",
        "/dev/stdin");
    assert_true(json_is_null(json_object_get(json_object_get(root, "triangle"), "between")));
    json_decref(root);
}

/* What is usual where nothing is stated: 4 ft or 1.2 m, one post width (the larger), corners K L M N. */
static void
what_is_usual(void **state)
{
    json_t *root = RESULTS("---\njob: F\nunit: m\nleast: 0.001\n---\nsite: {length: 7.2, width: 3.6, post: [0.09, 0.14]}\n", 0, "site", "--json",
        "/dev/stdin");
    json_t *site = json_object_get(root, "site");
    (void)state;
    assert_near(value_of(site, "set_back"), 1.2, EXACT);
    assert_near(value_of(site, "string"), 0.14, EXACT);
    assert_near(value_of(site, "nailed"), 0, 0);
    assert_true(json_is_false(json_object_get(site, "string_stated")));
    assert_true(json_is_false(json_object_get(site, "set_back_stated")));
    assert_near(value_of(point_of(root, "K1"), "x"), -1.2, EXACT);
    assert_near(value_of(point_of(root, "K1"), "y"), -0.14, EXACT);
    assert_near(value_of(point_of(root, "M2"), "y"), 4.8, EXACT);
    assert_near(value_of(point_of(root, "N string"), "y"), 3.74, EXACT);
    assert_near(value_of(point_of(root, "N post"), "y"), 3.6, EXACT);
    json_decref(root);
    root = RESULTS(JOB SITE, 0, "site", "--json", "/dev/stdin");
    assert_near(value_of(json_object_get(root, "site"), "set_back"), 4, EXACT);
    assert_near(value_of(point_of(root, "SW1"), "x"), -4, EXACT);
    assert_near(value_of(point_of(root, "SW1"), "y"), -4.0 / 12, EXACT);
    json_decref(root);
}

/* ---- laws, of what is printed ---- */

/* Each mark is where its post's point says, along a string between two points that are named. */
static void
marks_and_points_agree(void **state)
{
    json_t *root = RESULTS(JOB SITE, 0, "site", "--json", "/dev/stdin"), *s;
    size_t i, k, marks = 0;
    (void)state;
    json_array_foreach(json_object_get(root, "strings"), i, s)
    {
        json_t *from = point_of(root, json_string_value(json_object_get(s, "from"))), *m;
        json_t *to = point_of(root, json_string_value(json_object_get(s, "to")));
        double dx = value_of(to, "x") - value_of(from, "x"), dy = value_of(to, "y") - value_of(from, "y"), sum = 0;
        assert_near(hypot(dx, dy), value_of(s, "length"), 2 * EXACT);
        json_array_foreach(json_object_get(s, "marks"), k, m)
        {
            json_t *post = point_of(root, json_string_value(json_object_get(m, "at")));
            double along = dx != 0 ? value_of(post, "x") - value_of(from, "x") : value_of(post, "y") - value_of(from, "y");
            assert_near(value_of(m, "centre"), along, 3 * EXACT);
            assert_near(value_of(m, "far_face") - value_of(m, "near_face"), 5.5 / 12, 2 * EXACT);
            sum += value_of(m, "from_last");
            assert_near(value_of(m, "mark"), sum, 9 * EXACT);
            marks++;
        }
    }
    assert_int_equal(marks, 5 + 5 + 4 + 2); /* front, back, start with both corner posts, end */
    json_t *c1 = member(json_object_get(string_of(root, "start"), "marks"), "at", "C1");
    assert_string_equal(json_string_value(json_object_get(c1, "measured_to")), "inside face");
    assert_near(value_of(c1, "mark"), 4 + 4.0 / 12, EXACT);
    json_t *door = member(json_object_get(root, "doors"), "row", "C");
    assert_near(value_of(door, "opening"), 4, EXACT);
    assert_string_equal(json_string_value(json_object_get(door, "post_behind")), "C2");
    json_decref(root);
}

static void
no_line_is_too_wide(void **state)
{
    static const char *const records[] = { JOB SITE,
        "---\njob: F\nunit: ft-in\nleast: 1/16 in\n---\nsite:\n  length: 120 ft\n  width: 30 ft\n  post: [5-1/2 in, 7-1/4 in]\n  nailed: 1-1/2 in\n"
        "  rows:\n    A: {wall: front, spacing: 8 ft}\n    R: {in: 15 ft, at: [40 ft, 80 ft]}\n---\npoints:\n  A3: {x: 16 ft, y: 1 in, kind: post}\n",
        "---\njob: F\nunit: m\nleast: 0.001\n---\nsite:\n  length: 36\n  width: 9\n  post: 0.14\n  string: 0\n  set-back: 1.5\n  rows:\n"
        "    A: {wall: front, spacing: 3}\n" };
    (void)state;
    for (size_t i = 0; i < COUNT(records); i++) {
        struct ran r = RUN_WITH(records[i], "site", "/dev/stdin");
        assert_int_equal(r.status, 0);
        for (char *line = strtok(r.out, "\n"); line; line = strtok(NULL, "\n"))
            if (strlen(line) > 100)
                fail_msg("%zu wide: %s", strlen(line), line);
        ran_release(&r);
    }
}

/* ---- points that every command knows ---- */

#define READ                                                                                                          \
    "---\nlevels:\n  readings:\n    - {at: BM1, bs: 4.62}\n    - {at: A1, on: post, is: 3.20}\n    - {at: SW1, on: batten, is: 3.00}\n" \
    "    - {at: SE, is: 3.30}\n    - {at: BM1, fs: 4.62}\n"

/* 101.50 at x = 0, falling 1 in 120: A1's centre is 4-1/4 in from the corner (1-1/2 and half of 5-1/2), SW1 at -4, SE at 24. */
static void
stakes_know_them(void **state)
{
    json_t *root = RESULTS(JOB SITE SLOPE READ, 0, "stakes", "--json", "/dev/stdin"), *stakes = json_object_get(root, "stakes");
    (void)state;
    assert_near(value_of(member(stakes, "at", "A1"), "grade"), 101.5 - 4.25 / 12 / 120, ROUNDED);
    assert_near(value_of(member(stakes, "at", "SW1"), "grade"), 101.5 + 4.0 / 120, ROUNDED);
    assert_near(value_of(member(stakes, "at", "SE"), "grade"), 101.5 - 24.0 / 120, ROUNDED);
    assert_near(value_of(member(stakes, "at", "A1"), "cut"), 0, 0);
    assert_near(value_of(member(stakes, "at", "A1"), "fill"), 101.5 - 4.25 / 12 / 120 - 101.42, ROUNDED);
    assert_near(value_of(member(stakes, "at", "B3"), "grade"), 101.5 - 12.0 / 120, ROUNDED); /* not read: listed all the same */
    assert_true(json_is_null(json_object_get(member(stakes, "at", "B3"), "adjusted")));
    assert_string_equal(json_string_value(json_object_get(member(stakes, "at", "NE2"), "on")), "batten");
    assert_false(has_member(stakes, "at", "SW string")); /* without a kind, and given by nobody but the site entry */
    assert_false(has_member(stakes, "at", "SW post"));
    json_decref(root);
    /* one that a points entry names is listed as any point of points */
    root = RESULTS(JOB "---\npoints: {SW string: {x: 0, y: 0}}\n" SITE SLOPE READ, 0, "stakes", "--json", "/dev/stdin");
    assert_true(has_member(json_object_get(root, "stakes"), "at", "SW string"));
    json_decref(root);
    /* and one that was read is held against grade */
    root = RESULTS(JOB SITE SLOPE "---\nlevels:\n  readings:\n    - {at: BM1, bs: 4.62}\n    - {at: NW string, is: 3.20}\n    - {at: BM1, fs: 4.62}\n",
        0, "stakes", "--json", "/dev/stdin");
    assert_near(value_of(member(json_object_get(root, "stakes"), "at", "NW string"), "grade"), 101.5 + 4.0 / 12 / 120, ROUNDED);
    json_decref(root);
}

/* Kinds serve: a grade for posts alone has posts and no battens. */
static void
grades_serve_their_kinds(void **state)
{
    json_t *root = RESULTS(JOB SITE "---\ngrade: {name: g, means: finish, for: post, level: 101}\n", 0, "stakes", "--json", "/dev/stdin");
    (void)state;
    json_t *stakes = json_object_get(root, "stakes");
    assert_int_equal(json_array_size(stakes), 5 + 5 + 2);
    assert_true(has_member(stakes, "at", "C2"));
    assert_false(has_member(stakes, "at", "SW1"));
    json_decref(root);
}

static void
reduce_plan_and_check_know_them(void **state)
{
    const char *plane = "---\ngrade: {name: tilt, means: finish, through: [{at: SW, on: mark}, {at: SE}, {at: NW}], tolerance: 1/2 in}\n";
    char record[4096];
    (void)state;
    snprintf(record, sizeof record, "%s%s%s---\nplan:\n  setups:\n    - {from: BM1, mark: [SW, SE, NW], post: A3, batten: NE1, to: BM1}\n", JOB, SITE,
        plane);
    json_t *root = RESULTS(record, 0, "plan", "--json", "/dev/stdin"), *plan = json_array_get(json_object_get(root, "plans"), 0);
    json_t *a3 = member(json_object_get(plan, "stakes"), "at", "A3");
    assert_true(value_of(a3, "sigma") > 0); /* a plane: its place is known */
    assert_non_null(json_string_value(json_object_get(a3, "tells")));
    json_decref(root);
    root = RESULTS(JOB SITE READ, 0, "reduce", "--json", "/dev/stdin");
    assert_near(value_of(point_of(root, "A1"), "adjusted"), 101.42, EXACT);
    json_decref(root);
    struct ran r = RUN_WITH(JOB SITE SLOPE READ, "check", "/dev/stdin");
    assert_int_equal(r.status, 0);
    assert_string_equal(r.err, "");
    ran_release(&r);
}

static void
book_knows_them(void **state)
{
    const char *file = file_of("book.yaml", JOB SITE SLOPE);
    struct ran r = RUN_WITH("bs BM1 4.62\nis post A1 3.20\nis batten NE1 3.10\nfs BM1 4.62\n", "book", "--by", "RO", "--date", "2026-05-02", file);
    (void)state;
    assert_int_equal(r.status, 0);
    assert_said(r.out, "up 7/8 in");   /* 101.497 - 101.42 */
    assert_said(r.out, "down 3 in"); /* at x 28: 101.2667 - 101.52 */
    ran_release(&r);
    r = RUN("strike", "--row", "6.1", "--reason", "rod not plumb", "--by", "RO", file); /* tried on the whole first */
    assert_int_equal(r.status, 0);
    ran_release(&r);
    r = RUN("stakes", file);
    assert_int_equal(r.status, 0);
    assert_not_said(r.err, "stake-place");
    ran_release(&r);
}

/* A site entry that does not fit: levels are booked all the same, and the rest says why. */
static void
a_faulty_site_stops_no_booking(void **state)
{
    const char *file = file_of("faulty.yaml", JOB "---\nsite: {length: 24, width: 12, post: 5-1/2 in, rows: {A: {wall: front, spacing: 5}}}\n");
    struct ran r = RUN_WITH("bs BM1 4.62\nis post A1 3.20\nfs BM1 4.62\n", "book", "--by", "RO", "--date", "2026-05-02", file);
    (void)state;
    assert_int_equal(r.status, 0);
    assert_said(r.err, "[site-row]");
    assert_said(r.err, "readings are booked all the same");
    assert_said(r.out, "101.42");
    ran_release(&r);
    r = RUN("strike", "--row", "5.1", "--reason", "rod not plumb", "--by", "RO", file);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    static const char *const commands[] = { "reduce", "stakes", "site" };
    for (size_t i = 0; i < COUNT(commands); i++) {
        r = RUN(commands[i], file);
        assert_int_equal(r.status, 2);
        assert_string_equal(r.out, "");
        assert_said(r.err, "4 bays of 5 ft and 4 ft over");
        assert_said(r.err, "at: [0, 5, 10, 15, 20, 24]");
        ran_release(&r);
    }
}

static void
import_brings_it_in(void **state)
{
    const char *from = file_of("by-hand.yaml", JOB SITE SLOPE READ), *into = file_of("imported.yaml", NULL);
    struct ran r = RUN("import", from, into);
    (void)state;
    if (r.status != 0)
        fail_msg("%s", r.err);
    ran_release(&r);
    json_t *one = RESULTS(NULL, 0, "site", "--json", from), *other = RESULTS(NULL, 0, "site", "--json", into);
    assert_true(json_equal(json_object_get(one, "points"), json_object_get(other, "points")));
    assert_true(json_equal(json_object_get(one, "strings"), json_object_get(other, "strings")));
    json_decref(one);
    json_decref(other);
    const char *table = file_of("more.csv", "point,on,bs,is,fs\nBM1,,4.62\nB2,post,,3.1\nBM1,,,,4.62\n");
    r = RUN("import", "--by", "RO", table, into);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    r = RUN("check", into);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    /* what does not fit is not brought in */
    const char *wrong = file_of("wrong.yaml", "---\nsite: {length: 24, width: 12, post: 5-1/2 in, rows: {A: {wall: front, spacing: 5}}}\n");
    r = RUN("import", wrong, into);
    assert_int_equal(r.status, 2);
    assert_said(r.err, "site-wrong.yaml:2:71: error: row A: 24 ft is 4 bays");
    ran_release(&r);
}

/* ---- which place holds ---- */

#define ELSEWHERE "---\npoints: {A2: {x: 7, y: 0, kind: post}, B2: {kind: post}}\n"

static void
a_later_points_entry_holds(void **state)
{
    json_t *root = RESULTS(JOB SITE SLOPE ELSEWHERE, 0, "site", "--json", "/dev/stdin"), *a2 = point_of(root, "A2");
    (void)state;
    assert_near(value_of(a2, "x"), 6, EXACT);
    assert_near(value_of(a2, "given_x"), 7, EXACT);
    assert_near(value_of(a2, "given_entry"), 5, 0);
    assert_true(json_is_false(json_object_get(a2, "holds")));
    assert_true(json_is_null(json_object_get(point_of(root, "B2"), "given_x")));
    assert_near(value_of(point_of(root, "B2"), "given_entry"), 5, 0);
    assert_true(json_is_null(json_object_get(point_of(root, "A1"), "given_entry")));
    assert_true(json_is_true(json_object_get(point_of(root, "A1"), "holds")));
    json_decref(root);
    root = RESULTS(JOB SITE SLOPE ELSEWHERE, 0, "stakes", "--json", "/dev/stdin");
    assert_near(value_of(member(json_object_get(root, "stakes"), "at", "A2"), "grade"), 101.5 - 7.0 / 120, ROUNDED);
    json_decref(root);
    struct ran r = RUN_WITH(JOB SITE SLOPE ELSEWHERE, "site", "/dev/stdin");
    assert_said(r.out, "entry 5 puts it at x 7.000, y 0.000: THAT HOLDS");
    assert_said(r.out, "entry 5 gives it no x and y: IT HAS NO PLACE");
    ran_release(&r);
}

static void
a_later_site_entry_holds(void **state)
{
    json_t *root = RESULTS(JOB ELSEWHERE SLOPE SITE, 0, "site", "--json", "/dev/stdin");
    (void)state;
    assert_true(json_is_true(json_object_get(point_of(root, "A2"), "holds")));
    assert_near(value_of(point_of(root, "A2"), "given_x"), 7, EXACT);
    json_decref(root);
    root = RESULTS(JOB ELSEWHERE SLOPE SITE, 0, "stakes", "--json", "/dev/stdin");
    assert_near(value_of(member(json_object_get(root, "stakes"), "at", "A2"), "grade"), 101.5 - 6.0 / 120, ROUNDED);
    json_decref(root);
    struct ran r = RUN_WITH(JOB ELSEWHERE SLOPE SITE, "site", "/dev/stdin");
    assert_said(r.out, "entry 3 puts it at x 7.000, y 0.000: this holds");
    ran_release(&r);
    /* the same place given by hand is nothing to tell */
    r = RUN_WITH(JOB SITE "---\npoints: {SE1: {x: 28, y: -4 in, kind: batten}}\n", "site", "/dev/stdin");
    assert_int_equal(r.status, 0);
    assert_not_said(r.out, "entry 4");
    ran_release(&r);
}

/* Of two site entries the last counts, and of the first nothing: no row, no corner of it, and its faults are past. */
static void
only_the_last_building_counts(void **state)
{
    const char *first = "---\nsite: {length: 24, width: 12, post: 5-1/2 in, rows: {Z: {wall: front, spacing: 5}}}\n";
    char record[4096];
    (void)state;
    snprintf(record, sizeof record, "%s%s%s%s", JOB, first, SLOPE, SITE);
    json_t *root = RESULTS(record, 0, "stakes", "--json", "/dev/stdin");
    assert_true(has_member(json_object_get(root, "stakes"), "at", "A5"));
    assert_false(has_member(json_object_get(root, "stakes"), "at", "Z1"));
    assert_false(has_member(json_object_get(root, "stakes"), "at", "K"));
    json_decref(root);
    root = RESULTS(record, 0, "site", "--json", "/dev/stdin");
    assert_near(value_of(json_object_get(root, "site"), "entry"), 5, 0);
    json_decref(root);
}

static void
battens_too_near(void **state)
{
    const char *near = JOB SITE "---\npoints: {SW2: {x: -4 in, y: -3 ft, kind: batten}, NEW: {x: 29, y: 6, kind: batten}}\n";
    struct ran r = RUN_WITH(near, "site", "/dev/stdin");
    (void)state;
    assert_int_equal(r.status, 1);
    assert_said(r.out, "1 batten stands NEARER");
    assert_said(r.err, "SW2 stands 3.018");
    assert_said(r.err, "[batten-near]");
    assert_not_said(r.err, "NEW");
    ran_release(&r);
    r = RUN_WITH(near, "check", "/dev/stdin");
    assert_int_equal(r.status, 1);
    ran_release(&r);
}

/* ---- what cannot be done ---- */

static void
no_building_no_sheet(void **state)
{
    struct ran r = RUN_WITH(JOB, "site", "/dev/stdin");
    (void)state;
    assert_int_equal(r.status, 2);
    assert_string_equal(r.out, "");
    assert_said(r.err, "[no-site]");
    ran_release(&r);
    /* a run of levels that cannot be worked out is no matter of the building */
    r = RUN_WITH(JOB SITE "---\nlevels:\n  readings:\n    - {at: A1, is: 3.2}\n", "site", "/dev/stdin");
    assert_int_equal(r.status, 0);
    assert_said(r.out, "SW string");
    ran_release(&r);
}

/* Oblong posts, nothing stated, five figures of feet: no line passes the page. */
static void
the_sheet_keeps_its_width(void **state)
{
    static const char record[] = "---\njob: F\nunit: ft\nleast: 0.01\n---\nsite:\n  length: 24000\n  width: 1200\n  post: [3-1/2 in, 5-1/2 in]\n"
        "  corners: [SW, SE, NE, NW]\n  rows:\n"
        "    the front: {wall: front, spacing: 2400}\n    the back: {wall: back, spacing: 2400}\n"
        "    the west: {wall: start, at: [4, 8]}\n    the ridge: {in: 600, at: [6, 12, 18]}\n";
    (void)state;
    struct ran r = RUN_WITH(record, "site", "-");
    assert_int_equal(r.status, 0);
    for (char *line = strtok(r.out, "\n"); line; line = strtok(NULL, "\n"))
        if (strlen(line) > 100)
            fail_msg("%zu columns: %s", strlen(line), line);
    ran_release(&r);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(posts_are_bays_and_one),
        cmocka_unit_test(nailed_outside_the_posts),
        cmocka_unit_test(diagonals_to_expect),
        cmocka_unit_test(the_check_triangle),
        cmocka_unit_test(what_is_usual),
        cmocka_unit_test(marks_and_points_agree),
        cmocka_unit_test(no_line_is_too_wide),
        cmocka_unit_test(stakes_know_them),
        cmocka_unit_test(grades_serve_their_kinds),
        cmocka_unit_test(reduce_plan_and_check_know_them),
        cmocka_unit_test(book_knows_them),
        cmocka_unit_test(a_faulty_site_stops_no_booking),
        cmocka_unit_test(import_brings_it_in),
        cmocka_unit_test(a_later_points_entry_holds),
        cmocka_unit_test(a_later_site_entry_holds),
        cmocka_unit_test(only_the_last_building_counts),
        cmocka_unit_test(battens_too_near),
        cmocka_unit_test(no_building_no_sheet),
        cmocka_unit_test(the_sheet_keeps_its_width),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
