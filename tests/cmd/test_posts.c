/* `posts` and `concrete` as a crew meets them: marks, depths, what is missing, what is ordered. */
#define _POSIX_C_SOURCE 200809L /* fileno */
#include "../program.h"

#include <jansson.h>
#include <stdbool.h>

#define HEAD "---\njob: Lamb field\nunit: ft\nleast: 0.01\nsigma: 0.004\n"
#define MARKS "---\nmarks: {A: {elevation: 100}}\n"
#define POSTS "---\npoints:\n  A1: {x: 0, y: 0, kind: post}\n  A2: {x: 8, y: 0, kind: post}\n"
#define GRADE "---\ngrade: {name: g, means: finish, for: post, level: 100}\n"
#define HOLES "---\nholes: {depth: 42 in, from: ground, diameter: 16 in, top: 6 ft, post-length: 10 ft, source: plan}\n"

static json_t *
results(const char *record, int status, const char *const *argv)
{
    json_error_t fault;
    struct ran r = run_program(record, argv);
    if (r.status != status)
        fail_msg("exit status %d, want %d\n%s%s", r.status, status, r.err, r.out);
    json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, &fault);
    if (!root)
        fail_msg("line %d: %s\n%s", fault.line, fault.text, r.out);
    ran_release(&r);
    return root;
}

#define RESULTS(record, status, ...) results(record, status, (const char *const[]){ __VA_ARGS__, NULL })

/* The object of a list that is at a point. */
static json_t *
find(json_t *root, const char *list, const char *at)
{
    size_t i;
    json_t *one;
    json_array_foreach(json_object_get(root, list), i, one)
        if (strcmp(json_string_value(json_object_get(one, "at")), at) == 0)
            return one;
    fail_msg("%s has no %s", list, at);
    return NULL;
}

static double
value(const json_t *o, const char *key)
{
    const json_t *v = json_object_get(o, key);
    if (!json_is_number(v))
        fail_msg("no number %s", key);
    return json_number_value(v);
}

static const char *
word(const json_t *o, const char *key)
{
    const char *text = json_string_value(json_object_get(o, key));
    return text ? text : "null";
}

static bool
is_null(const json_t *o, const char *key)
{
    assert_non_null(json_object_get(o, key));
    return json_is_null(json_object_get(o, key));
}

static void
says(const char *record, int status, const char *out, const char *err, const char *const *argv)
{
    struct ran r = run_program(record, argv);
    if (r.status != status || (out && !strstr(r.out, out)) || (err && !strstr(r.err, err)))
        fail_msg("exit status %d, want %d; wanted \"%s\" and \"%s\"\n%s%s", r.status, status, out ? out : "", err ? err : "", r.err, r.out);
    ran_release(&r);
}

#define SAYS(record, status, out, err, ...) says(record, status, out, err, (const char *const[]){ __VA_ARGS__, NULL })

/* ---- posts ---- */

/* Common practice, no source: 42 in deep, grade 4 in above the ground, mark at 46 in. */
static void
forty_two_and_four_is_forty_six(void **state)
{
    const char *record = "---\njob: Lamb field\nunit: ft-in\nleast: 1/8 in\nsigma: 1/16 in\n---\nmarks: {A: {elevation: 100' 0\"}}\n"
        "---\npoints: {A1: {kind: post}, A2: {kind: post}}\n"
        "---\ngrade: {name: g, means: finish, for: post, level: 100' 4\"}\n"
        "---\nholes: {depth: 41-1/2 in, from: ground, top: 6 ft, post-length: 10 ft, source: plan}\n"
        "---\nlevels:\n  readings:\n    - {at: A, bs: 4' 0\"}\n    - {at: A1, on: ground, is: 4' 0\"}\n    - {at: A1, on: hole, is: 7' 6\"}\n"
        "    - {at: A2, on: ground, is: 4' 2\"}\n    - {at: A, fs: 4' 0\"}\n";
    (void)state;
    SAYS(record, 0, "  A1    100' 4\"        46 in  hole              46 in   1/16      9 ft 10 in     2 in\n", NULL, "posts", "/dev/stdin");
    SAYS(record, 0, "  A1    100' 0\"  96' 6\"  42 in  deep enough   1/16  7' 5-3/4\"  6.1     1/2 in to spare\n", NULL, "posts", "/dev/stdin");
    json_t *root = RESULTS(record, 0, "posts", "--json", "/dev/stdin"), *one = find(root, "posts", "A1");
    assert_near(value(one, "below_ground"), 3.5, 0);
    assert_near(value(one, "below_grade"), 46 / 12.0, 1e-9);
    assert_near(value(one, "mark"), 46 / 12.0, 1e-9);
    assert_near(value(one, "length"), 118 / 12.0, 1e-9);
    assert_near(value(one, "cut_off"), 2 / 12.0, 1e-9);
    assert_string_equal(word(one, "verdict"), "deep enough");
    assert_string_equal(word(one, "stands_on"), "hole");
    one = find(root, "posts", "A2"); /* 2 in lower ground, and nothing dug yet: 41-1/2 and 4 and 2 */
    assert_near(value(one, "mark"), 47.5 / 12, 1e-9);
    assert_string_equal(word(one, "stands_on"), "planned");
    assert_near(value(one, "rod"), 7 + 7.5 / 12, 1e-9);
    assert_true(is_null(one, "hole") && is_null(one, "below_ground") && is_null(one, "over") && is_null(one, "mark_sigma")
        && is_null(one, "verdict") && is_null(one, "dig"));
    json_decref(root);
}

/* Entries stay: what was asked of posts of a building that another took the place of is a warning and no dead end. */
static void
a_later_building_has_other_posts(void **state)
{
    (void)state;
#define SITE_ROW(row) "---\nsite: {length: 24, width: 12, post: 5-1/2 in, rows: {" row ": {wall: front, spacing: 12}}}\n"
    const char *record = "---\njob: Lamb field\nunit: ft\nleast: 0.01\n" SITE_ROW("A")
        "---\nholes: {depth: 42 in, from: ground, posts: {A2: {depth: 48 in}}}\n" SITE_ROW("F");
    SAYS(record, 1, NULL, ":8:45: warning: A2 is no post of the building of entry 4, which takes the place of an earlier one; what is asked "
        "here counts for nothing [hole-post]", "check", "/dev/stdin");
    SAYS(record, 1, "  F1 ", NULL, "posts", "/dev/stdin");
    const char *after = "---\njob: Lamb field\nunit: ft\nleast: 0.01\n" SITE_ROW("A") SITE_ROW("F")
        "---\nholes: {depth: 42 in, from: ground, posts: {A2: {depth: 48 in}}}\n";
    SAYS(after, 2, NULL, "A2 is no point of kind post (nearest is F2)", "posts", "/dev/stdin");
}

/* As `run` has it: a grade for posts goes before one for everything, such as grade --take books. */
static void
the_grade_that_names_posts_goes_first(void **state)
{
    (void)state;
#define LEVELS_OF(name, more, level) "---\ngrade: {name: " name ", means: finish, level: " level more "}\n"
    const char *head = "---\njob: Lamb field\nunit: ft\nleast: 0.01\n---\npoints: {A1: {kind: post}}\n---\nholes: {depth: 42 in, from: grade}\n";
    char record[1024];
    snprintf(record, sizeof record, "%s%s%s", head, LEVELS_OF("string", ", for: [batten, post]", "101.5"), LEVELS_OF("choice", "", "101.2"));
    SAYS(record, 0, "Grade string, entry 4", NULL, "posts", "/dev/stdin");
    SAYS(record, 0, "Grade choice, entry 5", NULL, "posts", "--grade", "choice", "/dev/stdin");
    snprintf(record, sizeof record, "%s%s%s", head, LEVELS_OF("string", "", "101.5"), LEVELS_OF("choice", "", "101.2"));
    SAYS(record, 2, NULL, "grades string and choice both serve posts", "posts", "/dev/stdin");
    snprintf(record, sizeof record, "%s%s%s", head, LEVELS_OF("string", ", for: post", "101.5"), LEVELS_OF("choice", ", for: post", "101.2"));
    SAYS(record, 2, NULL, "grades string and choice both serve posts", "posts", "/dev/stdin");
}

/* What a later entry states anew is no fault any more: none of it could be mended. */
static void
what_was_stated_anew_is_no_fault(void **state)
{
    (void)state;
#define HEAD_OF "---\njob: Lamb field\nunit: ft\nleast: 0.01\n---\npoints: {A1: {kind: post}}\n" \
    "---\ngrade: {name: pad, means: subgrade, level: 100}\n"
    const char *record = HEAD_OF "---\npad: {grade: pda, stone: 2 in}\n---\npad: {margin: 1, level: 100}\n---\npad: {grade: pad, stone: 4 in}\n"
        "---\nholes: {depth: 42 in, from: grade, grade: pda, diameter: 40 in, posts: {A1: {diameter: 50 in}}}\n"
        "---\nholes: {grade: pad, diameter: 16 in, posts: {A1: {diameter: 18 in}}}\n";
    SAYS(record, 0, "no fault", NULL, "check", "/dev/stdin");
    record = HEAD_OF "---\nholes: {depth: 42 in, from: grade, grade: pda, diameter: 16 in}\n---\nholes: {posts: {A1: {grade: pad, diameter: 40 in}}}\n"
        "---\nholes: {diameter: 18 in}\n";
    SAYS(record, 1, NULL, "[hole-grade]", "check", "/dev/stdin");
    SAYS(record, 1, NULL, "[hole-diameter]", "check", "/dev/stdin");
}

/* A post whose size nobody stated takes up no volume that is known; and what is ordered of no hole at all is not known either. */
static void
what_is_not_known_is_no_volume(void **state)
{
    (void)state;
    const char *record = "---\njob: Lamb field\nunit: ft\nleast: 0.01\n---\npoints: {A1: {kind: post}}\n"
        "---\nholes: {depth: 42 in, from: ground, diameter: 16 in}\n---\nconcrete: {fill: to ground}\n";
    json_t *root = RESULTS(record, 0, "concrete", "--json", "/dev/stdin");
    assert_true(is_null(find(root, "holes", "A1"), "post"));
    assert_true(is_null(json_object_get(root, "order"), "post"));
    assert_near(value(json_object_get(root, "order"), "hole"), 4.886921905584123, 1e-9); /* pi (8/12)^2 3.5 */
    json_decref(root);
    SAYS(record, 0, "  A1   16 in  42 in  4.89     -      4.89", NULL, "concrete", "/dev/stdin");
    record = "---\njob: Lamb field\nunit: ft\nleast: 0.01\n---\npoints: {A1: {kind: post}}\n"
        "---\nholes: {depth: 42 in, from: ground}\n---\nconcrete: {fill: to ground, post: 4 in}\n";
    root = RESULTS(record, 1, "concrete", "--json", "/dev/stdin");
    const json_t *order = json_object_get(root, "order");
    assert_true(is_null(order, "hole") && is_null(order, "post") && is_null(order, "concrete") && is_null(order, "with_waste")
        && is_null(order, "load") && is_null(order, "spoil") && is_null(order, "bags"));
    json_decref(root);
    SAYS(record, 1, "0 of 1 holes, 1 LEFT OUT: nothing can be ordered yet\n", NULL, "concrete", "/dev/stdin");
}

/* One set-up, A read twice, sigma s of a reading. HI has s^2 / 2; of two points read from it the HI cancels, against a held
 * grade it does not: 2 s^2 and 1.5 s^2. Own arithmetic. */
#define TWO_HOLES "---\nlevels:\n  readings:\n    - {at: A, bs: 5.00}\n    - {at: A1, on: ground, is: 5.20}\n    - {at: A1, on: hole, is: 8.72}\n" \
    "    - {at: A2, on: ground, is: 5.00}\n    - {at: A2, on: hole, is: 8.49}\n    - {at: A, fs: 5.00}\n"

static void
deviations_by_the_net(void **state)
{
    json_t *root = RESULTS(HEAD MARKS POSTS GRADE HOLES TWO_HOLES, 1, "posts", "--json", "/dev/stdin"), *one = find(root, "posts", "A1");
    const double s = 0.004;
    (void)state;
    assert_near(value(one, "below_ground_sigma"), s * sqrt(2), 1e-9);
    assert_near(value(one, "over_sigma"), s * sqrt(2), 1e-9);
    assert_near(value(one, "below_grade_sigma"), s * sqrt(1.5), 1e-9);
    assert_near(value(one, "mark_sigma"), s * sqrt(1.5), 1e-9);
    assert_near(value(one, "over"), 0.02, 1e-9);
    assert_string_equal(word(one, "verdict"), "deep enough"); /* 0.02 against 1.96 root 2 s = 0.0111 */
    one = find(root, "posts", "A2");
    assert_near(value(one, "over"), -0.01, 1e-9);
    assert_string_equal(word(one, "verdict"), "can't tell");
    /* the rod for one more reading, 8.50 + 0.0111, up to the division */
    assert_near(value(one, "rod"), 8.50, 1e-9);
    assert_near(value(one, "rod_read"), 8.52, 1e-9);
    assert_int_equal(json_integer_value(json_object_get(root, "doubt")), 1);
    json_decref(root);
    root = RESULTS(HEAD MARKS POSTS GRADE HOLES TWO_HOLES, 1, "posts", "--confidence", "90", "--json", "/dev/stdin"); /* 1.645 root 2 s = 0.0093 */
    assert_string_equal(word(find(root, "posts", "A2"), "verdict"), "dig");
    assert_string_equal(word(find(root, "posts", "A2"), "stands_on"), "planned");
    json_decref(root);
    SAYS(HEAD MARKS POSTS GRADE HOLES TWO_HOLES, 1, "1 deep enough; 1 can't tell: read again, or dig on", NULL, "posts", "/dev/stdin");
}

/* A hole dug to the rod that is asked for is deep enough beyond doubt, one division less is not: the grade goes through a
 * mark that was read, so that its doubt is in it too. */
static void
the_rod_that_is_asked_for_is_enough(void **state)
{
    static const char *const from[] = { "ground", "grade" };
    (void)state;
    for (int k = 0; k < 2; k++) {
        char record[2048], before[1600], after[2048];
        snprintf(before, sizeof before, HEAD MARKS POSTS
            "---\ngrade: {name: g, means: finish, for: post, through: {at: A2, on: ground, plus: 0.3}}\n"
            "---\nholes: {depth: 42 in, from: %s, source: plan}\n"
            "---\nlevels:\n  readings:\n    - {at: A, bs: 5.003}\n    - {at: A1, on: ground, is: 5.21}\n    - {at: A2, on: ground, is: 4.87}\n",
            from[k]);
        snprintf(record, sizeof record, "%s    - {at: A, fs: 5.00}\n", before);
        json_t *root = RESULTS(record, 0, "posts", "--json", "/dev/stdin");
        double rod = value(find(root, "posts", "A1"), "rod_read"), exact = value(find(root, "posts", "A1"), "rod");
        assert_true(rod > exact && rod < exact + 0.03);
        json_decref(root);
        for (int less = 0; less < 2; less++) {
            snprintf(after, sizeof after, "%s    - {at: A1, on: hole, is: %.2f}\n    - {at: A, fs: 5.00}\n", before, rod - 0.01 * less);
            root = RESULTS(after, less, "posts", "--json", "/dev/stdin");
            assert_string_equal(word(find(root, "posts", "A1"), "verdict"), less ? "can't tell" : "deep enough");
            json_decref(root);
        }
    }
}

/* To the top: the hole is dug for the footing as well, and the footing's top is judged once it is read. */
static void
footings(void **state)
{
#define TO(word) "---\nholes: {depth: 42 in, from: ground, footing: 6 in, to: " word "}\n"
#define LEVELS "---\nlevels:\n  readings:\n    - {at: A, bs: 5.00}\n    - {at: A1, on: ground, is: 5.00}\n    - {at: A1, on: hole, is: 9.10}\n"
#define LAID "    - {at: A1, on: top, is: 8.40}\n"
    const char *end = "    - {at: A, fs: 5.00}\n";
    char record[2048];
    (void)state;
    json_t *root = RESULTS(HEAD MARKS POSTS GRADE TO("bottom") LEVELS "    - {at: A, fs: 5.00}\n", 1, "posts", "--json", "/dev/stdin");
    json_t *one = find(root, "posts", "A1");
    assert_near(value(one, "over"), 0.6, 1e-9);
    assert_near(value(one, "mark"), 4.1 - 0.5, 1e-9);
    assert_string_equal(word(one, "stands_on"), "hole");
    json_decref(root);
    root = RESULTS(HEAD MARKS POSTS GRADE TO("top") LEVELS "    - {at: A, fs: 5.00}\n", 1, "posts", "--json", "/dev/stdin");
    assert_near(value(find(root, "posts", "A1"), "over"), 0.1, 1e-9);
    json_decref(root);
    snprintf(record, sizeof record, "%s%s", HEAD MARKS POSTS GRADE TO("top") LEVELS LAID, end);
    root = RESULTS(record, 1, "posts", "--json", "/dev/stdin");
    one = find(root, "posts", "A1");
    assert_string_equal(word(one, "judged_by"), "footing");
    assert_near(value(one, "over"), -0.1, 1e-9);
    assert_string_equal(word(one, "verdict"), "dig");
    assert_near(value(one, "rod"), 8.5, 1e-9); /* on the footing's top */
    json_decref(root);
    SAYS(record, 1, "1-1/4 in too high", NULL, "posts", "/dev/stdin");
    snprintf(record, sizeof record, "%s%s", HEAD MARKS POSTS GRADE TO("bottom") LEVELS LAID, end);
    root = RESULTS(record, 1, "posts", "--json", "/dev/stdin");
    one = find(root, "posts", "A1");
    assert_string_equal(word(one, "stands_on"), "footing");
    assert_near(value(one, "mark"), 3.4, 1e-9);
    json_decref(root);
    snprintf(record, sizeof record, "%s    - {at: A1, on: top, is: 1.00}\n%s", HEAD MARKS POSTS GRADE TO("bottom") LEVELS, end);
    root = RESULTS(record, 1, "posts", "--json", "/dev/stdin"); /* the post's own top, 4 ft above grade */
    one = find(root, "posts", "A1");
    assert_true(is_null(one, "footing_top"));
    assert_near(value(one, "mark"), 3.6, 1e-9);
    json_decref(root);
}

/* Of a post itself beats of all, whatever came later; a key that nobody states again stays. */
static void
what_is_asked(void **state)
{
    const char *record = HEAD MARKS POSTS GRADE "---\nholes: {depth: 42 in, from: grade, top: 6 ft, posts: {A1: {depth: 48 in}}}\n"
        "---\nholes: {depth: 44 in, source: letter}\n";
    json_t *root = RESULTS(record, 0, "posts", "--json", "/dev/stdin");
    (void)state;
    assert_near(value(json_object_get(find(root, "posts", "A1"), "asked"), "depth"), 4, 0);
    assert_near(value(json_object_get(find(root, "posts", "A2"), "asked"), "depth"), 44 / 12.0, 1e-9);
    assert_string_equal(word(json_object_get(find(root, "posts", "A1"), "asked"), "source"), "letter");
    assert_near(value(find(root, "posts", "A2"), "mark"), 44 / 12.0, 1e-9); /* from grade: no ground is needed */
    assert_near(value(find(root, "posts", "A2"), "length"), 6 + 44 / 12.0, 1e-9);
    json_decref(root);
    SAYS(record, 0, "  A1: 48 in deep from grade\n", NULL, "posts", "/dev/stdin");
    SAYS(HEAD MARKS POSTS GRADE "---\nholes: {depth: 42 in, from: grade}\n", 0, "source: NOT STATED", NULL, "posts", "/dev/stdin");
}

/* The depth from the pad's grade, the mark at the string's; each post of a slope has its own. */
static void
two_grades_and_a_slope(void **state)
{
    const char *record = HEAD MARKS POSTS
        "---\ngrade: {name: string, means: finish, for: post, level: 101.5, slope: {fall: 1 in 96, towards: length}}\n"
        "---\ngrade: {name: pad, means: subgrade, for: ground, level: 101}\n"
        "---\nholes: {depth: 42 in, from: grade, grade: pad}\n";
    json_t *root = RESULTS(record, 0, "posts", "--json", "/dev/stdin");
    (void)state;
    assert_near(value(find(root, "posts", "A1"), "mark"), 4.0, 1e-9);
    assert_near(value(find(root, "posts", "A2"), "mark"), 4.0 - 8 / 96.0, 1e-9);
    assert_string_equal(word(json_object_get(find(root, "posts", "A2"), "asked"), "from_grade"), "pad");
    json_decref(root);
    SAYS(HEAD MARKS POSTS GRADE "---\ngrade: {name: h, means: finish, for: [batten, post], level: 99}\n", 2, NULL, "both serve posts; name the one that the marks on the posts are at: --grade g [post-grade]",
        "posts", "/dev/stdin");
    root = RESULTS(HEAD MARKS POSTS GRADE "---\ngrade: {name: h, means: finish, level: 99}\n", 0, "posts", "--grade", "h", "--json", "/dev/stdin");
    assert_near(value(find(root, "posts", "A1"), "grade"), 99, 0);
    json_decref(root);
    SAYS(HEAD MARKS POSTS GRADE, 2, NULL, "no grade is named gg; nearest is g [grade-name]", "posts", "--grade", "gg", "/dev/stdin");
    SAYS(HEAD MARKS POSTS, 2, NULL, "[grade-name]", "posts", "--grade", "gg", "/dev/stdin");
}

static void
what_is_missing_is_named(void **state)
{
    json_t *root = RESULTS(HEAD MARKS POSTS HOLES TWO_HOLES, 1, "posts", "--json", "/dev/stdin"), *one = find(root, "posts", "A1"); /* no grade */
    (void)state;
    assert_true(is_null(one, "grade") && is_null(one, "mark") && is_null(one, "below_grade") && is_null(one, "length"));
    assert_near(value(one, "below_ground"), 3.52, 1e-9);
    assert_int_equal(json_array_size(json_object_get(one, "missing")), 1);
    assert_string_equal(json_string_value(json_array_get(json_object_get(one, "missing"), 0)), "grade");
    json_decref(root);
    SAYS(HEAD MARKS POSTS HOLES TWO_HOLES, 1, "no grade serves posts", NULL, "posts", "/dev/stdin");
    SAYS(HEAD MARKS POSTS GRADE HOLES, 1, "Holes\n  ground unread at every post: book it there, on: ground\n", NULL, "posts", "/dev/stdin");
    root = RESULTS(HEAD MARKS POSTS GRADE HOLES, 1, "posts", "--json", "/dev/stdin");
    one = find(root, "posts", "A1");
    assert_int_equal(json_array_size(json_object_get(one, "missing")), 2);
    assert_true(is_null(one, "bottom") && is_null(one, "rod") && is_null(one, "mark") && is_null(one, "stands_on"));
    json_decref(root);
    SAYS(HEAD MARKS, 2, NULL, "the record has no post; give rows of them in site, or each in points", "posts", "/dev/stdin");
    SAYS(HEAD MARKS POSTS, 2, NULL, "bag: {yield: 0.60 ft3, mass: 80 lb}} [no-concrete]", "concrete", "/dev/stdin");
    SAYS("---\njob: x\nunit: m\nleast: 0.001\n" MARKS POSTS, 2, NULL, "bag: {yield: 12 L, mass: 25 kg}} [no-concrete]", "concrete", "/dev/stdin");
    /* a struck hole was not read */
    root = RESULTS(HEAD MARKS POSTS GRADE HOLES TWO_HOLES "---\nstrike: {entry: 6, row: 5, reason: clod}\n", 0, "posts", "--json", "/dev/stdin");
    assert_true(is_null(find(root, "posts", "A2"), "hole"));
    assert_int_equal(json_integer_value(json_object_get(root, "read")), 1);
    json_decref(root);
    /* a point that points does not have, and whose hole was read, is a post as well */
    root = RESULTS(HEAD MARKS GRADE HOLES TWO_HOLES, 1, "posts", "--json", "/dev/stdin");
    assert_int_equal(json_array_size(json_object_get(root, "posts")), 2);
    json_decref(root);
}

/* A hole that was dug on begins a new position; without the word the two are meaned, and it says that they disagree. */
static void
dug_on(void **state)
{
#define AGAIN(moved) HEAD MARKS POSTS GRADE HOLES "---\nlevels:\n  readings:\n    - {at: A, bs: 5.00}\n    - {at: A1, on: ground, is: 5.00}\n"   \
    "    - {at: A1, on: hole, is: 8.30}\n    - {at: A1, on: hole, is: 8.60" moved "}\n    - {at: A, fs: 5.00}\n"
    (void)state;
    json_t *root = RESULTS(AGAIN(", moved: true"), 1, "posts", "--json", "/dev/stdin");
    assert_near(value(find(root, "posts", "A1"), "below_ground"), 3.6, 1e-9);
    json_decref(root);
    SAYS(AGAIN(""), 1, "its readings disagree: dug on in between?", NULL, "posts", "/dev/stdin");
}

static void
options_and_status(void **state)
{
    const char *shallow = HEAD MARKS POSTS GRADE "---\nholes: {depth: 42 in, from: grade, top: 9 ft, post-length: 10 ft}\n";
    (void)state;
    SAYS(shallow, 1, "SHORT 2 ft 6 in", NULL, "posts", "/dev/stdin");
    SAYS(shallow, 2, NULL, "--setup wants an entry", "posts", "--setup", "x", "/dev/stdin");
    SAYS(shallow, 2, NULL, "there is no set-up 9.1", "posts", "--setup", "9.1", "/dev/stdin");
    SAYS(shallow, 2, NULL, "--confidence wants per cent", "posts", "--confidence", "0", "/dev/stdin");
    json_t *root = RESULTS(HEAD MARKS POSTS GRADE HOLES TWO_HOLES
        "---\nlevels:\n  readings:\n    - {at: A, bs: 6.00}\n    - {at: A, fs: 6.00}\n", 1, "posts", "--setup", "7.1", "--json", "/dev/stdin");
    assert_string_equal(word(find(root, "posts", "A1"), "setup"), "7.1");
    assert_near(value(find(root, "posts", "A1"), "rod"), 9.7, 1e-9);
    json_decref(root);
    /* levels outside their limit give no depth */
    const char *outside = "---\njob: J\nunit: ft\nleast: 0.01\nallow: {misclosure: 0.01, per: job}\n" MARKS POSTS GRADE HOLES
        "---\nlevels:\n  readings:\n    - {at: A, bs: 5.00}\n    - {at: A1, on: ground, is: 5.20}\n    - {at: A1, on: hole, is: 8.72}\n    - {at: A, fs: 5.60}\n";
    root = RESULTS(outside, 1, "posts", "--json", "/dev/stdin");
    assert_true(is_null(find(root, "posts", "A1"), "hole") && is_null(find(root, "posts", "A1"), "verdict"));
    json_decref(root);
    SAYS(outside, 1, "  levels OUTSIDE their limit\n", NULL, "posts", "/dev/stdin");
    SAYS(outside, 1, "1 without an elevation to use: close the levels first", NULL, "posts", "/dev/stdin");
    root = RESULTS(outside, 1, "posts", "--spread-anyway", "--json", "/dev/stdin");
    assert_string_equal(word(find(root, "posts", "A1"), "closure"), "forced");
    assert_near(value(find(root, "posts", "A1"), "below_ground"), 3.52, 1e-9);
    json_decref(root);
}

/* ---- concrete ---- */

/* gardenguides.com: 6 in x 36 in is 0.59 ft3, to the printed digit. */
static void
the_printed_hole(void **state)
{
    (void)state;
    SAYS(NULL, 0, "\n1 of 1 holes: concrete 0.59 ft3 (", "usually 12 to 24 in across [hole-diameter]", "concrete", "tests/handbook/d25.yaml");
}

/* Own arithmetic, no publication; tests/site/test_concrete.c has it by itself. */
static void
a_post_and_its_bags(void **state)
{
    json_t *root = RESULTS(NULL, 0, "concrete", "--json", "tests/handbook/d28.yaml"), *order = json_object_get(root, "order");
    (void)state;
    assert_near(value(order, "concrete"), 2.1010, 0.00005);
    assert_near(value(order, "with_waste"), 2.3111, 0.00005);
    assert_near(value(find(root, "holes", "A1"), "bags"), 3.85, 0.005);
    assert_int_equal(json_integer_value(json_object_get(order, "bags")), 4);
    assert_near(value(order, "bag_density"), 133.3, 0.05);
    assert_near(value(order, "bags_to_yard"), 45, 1e-9);
    assert_near(value(order, "load"), 6.75, 1e-9); /* a quarter of a yard */
    assert_near(value(find(root, "holes", "A1"), "least_diameter") * 12, 8.95, 0.005);
    json_decref(root);
    SAYS(NULL, 0, "  or 4 bags of 80 lb, 0.60 ft3 each as stated (133.3 lb/ft3; 45 to the yard)\n", NULL, "concrete", "tests/handbook/d28.yaml");
}

#define PLANNED HEAD POSTS "---\nholes: {depth: 36 in, from: ground, diameter: 12 in}\n"

static void
sixty_pounds_and_metres(void **state)
{
    const char *sixty = PLANNED "---\nconcrete: {fill: to ground, post: 3-1/2 in, bag: {yield: 0.45 ft3, mass: 60 lb}}\n";
    const char *forty = PLANNED "---\nconcrete: {fill: to ground, post: [3-1/2 in, 5-1/2 in], bag: {yield: 0.30 ft3, mass: 40 lb}}\n";
    json_t *root = RESULTS(sixty, 0, "concrete", "--json", "/dev/stdin"), *order = json_object_get(root, "order");
    (void)state;
    assert_near(value(find(root, "holes", "A1"), "bags"), 5.14, 0.005);
    assert_int_equal(json_integer_value(json_object_get(order, "bags")), 11); /* both holes: 10.27 */
    assert_near(value(order, "bags_to_yard"), 60, 1e-9);
    assert_near(value(order, "bag_density"), 133.3, 0.05);
    assert_true(json_is_false(json_object_get(order, "waste_stated")));
    assert_near(value(order, "waste"), 10, 1e-9);
    json_decref(root);
    root = RESULTS(forty, 0, "concrete", "--json", "/dev/stdin");
    assert_near(value(json_object_get(root, "order"), "bag_density"), 133.3, 0.05);
    assert_near(value(find(root, "holes", "A1"), "least_diameter") * 12, 10.52, 0.005);
    json_decref(root);
    SAYS(PLANNED "---\nconcrete: {fill: to ground, post: 5-1/2 in}\n", 0, "11.78 in or more across", NULL, "concrete", "/dev/stdin");
    SAYS(HEAD POSTS "---\nholes: {depth: 36 in, from: ground, diameter: 11 in}\n---\nconcrete: {fill: to ground, post: 5-1/2 in}\n", 0, "; NARROW\n",
        NULL, "concrete", "/dev/stdin");
    root = RESULTS("---\njob: J\nunit: m\nleast: 0.001\n---\npoints: {A1: {kind: post}}\n---\nholes: {depth: 1, from: ground, diameter: 0.4}\n"
        "---\nconcrete: {fill: 0.1 below ground, post: {round: 100 mm}, waste: 5 %, bag: {yield: 11.5 L, mass: 25 kg}, bulking: 25 %}\n", 0, "concrete",
        "--json", "/dev/stdin");
    order = json_object_get(root, "order"); /* (0.16 - 0.01) pi / 4 x 0.9 */
    assert_near(value(order, "concrete"), 0.15 * 3.14159265358979 / 4 * 0.9, 1e-9);
    assert_near(value(order, "spoil_loose"), 1.25 * 0.16 * 3.14159265358979 / 4, 1e-9);
    assert_near(value(order, "load"), 0.2, 1e-9);
    assert_int_equal(json_integer_value(json_object_get(order, "bags")), 10); /* 0.11133 / 0.0115 = 9.68 */
    assert_near(value(order, "bag_mass"), 25, 1e-9);
    json_decref(root);
}

/* By the hole where it was read and is deep enough, else by what is asked; and with a footing. */
static void
depths_and_footings(void **state)
{
#define ASKED(more) HEAD MARKS POSTS GRADE "---\nholes: {depth: 42 in, from: ground, diameter: 12 in" more "}\n" TWO_HOLES
    json_t *root = RESULTS(ASKED("") "---\nconcrete: {fill: 12 in thick}\n", 0, "concrete", "--json", "/dev/stdin");
    (void)state;
    assert_near(value(find(root, "holes", "A1"), "depth"), 3.52, 1e-9);
    assert_string_equal(word(find(root, "holes", "A1"), "depth_by"), "hole");
    assert_near(value(find(root, "holes", "A2"), "depth"), 3.5, 1e-9); /* 3.49 is to be dug on */
    assert_string_equal(word(find(root, "holes", "A2"), "depth_by"), "asked");
    assert_near(value(find(root, "holes", "A1"), "concrete"), 0.785398163, 1e-9);
    assert_near(value(find(root, "holes", "A1"), "hole"), 3.52 * 0.785398163, 1e-8);
    json_decref(root);
#define FOOTING ASKED(", footing: 6 in, to: bottom")
    SAYS(FOOTING "---\nconcrete: {fill: to ground}\n", 1, "is the footing poured or laid?", NULL, "concrete", "/dev/stdin");
    root = RESULTS(FOOTING "---\nconcrete: {fill: to ground, footing: poured, post: 6 in}\n", 0, "concrete", "--json", "/dev/stdin");
    assert_near(value(find(root, "holes", "A1"), "concrete"), 3.52 * 0.785398163 - 3.02 * 0.25, 1e-8);
    json_decref(root);
    root = RESULTS(FOOTING "---\nconcrete: {fill: to ground, footing: laid, post: 6 in}\n", 0, "concrete", "--json", "/dev/stdin");
    assert_near(value(find(root, "holes", "A1"), "concrete"), 3.02 * (0.785398163 - 0.25), 1e-8);
    json_decref(root);
    SAYS(HEAD POSTS "---\nholes: {depth: 42 in, from: ground}\n---\nconcrete: {fill: to ground}\n", 1, "no diameter is stated", NULL, "concrete", "/dev/stdin");
    SAYS(PLANNED "---\nconcrete: {fill: to ground, slump: 4-1/8 in}\n", 0, "THIS IS NO WHOLE QUARTER", NULL, "concrete", "/dev/stdin");
    SAYS(PLANNED "---\nconcrete: {fill: to ground, slump: 4 in}\n", 0, "THIS IS OUTSIDE IT", NULL, "concrete", "/dev/stdin");
    SAYS(PLANNED "---\nconcrete: {fill: to ground, step: 1/2 yd3}\n", 0, "order 0.50 yd3 ready-mixed, in steps of 0.50 yd3, as stated", NULL, "concrete", "/dev/stdin");
}

/* What people read keeps within 100 columns. */
#define FOOTING_ALLOWED HEAD "allow: {misclosure: 0.02, per: job}\n" MARKS POSTS GRADE \
    "---\nholes: {depth: 42 in, from: ground, footing: 6 in, to: bottom, diameter: 16 in, top: 6 ft, post-length: 10 ft, source: plan}\n" TWO_HOLES
static void
sheets_keep_their_width(void **state)
{
    static const char *const commands[] = { "posts", "concrete" };
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct ran r = RUN_WITH(FOOTING_ALLOWED "---\nconcrete: {fill: to ground, footing: poured, post: 5-1/2 in, bulking: 20 %, bell: {diameter: 20 in, height: 8 in}, "
                                        "collar: {diameter: 18 in, height: 6 in}, bag: {yield: 0.60 ft3, mass: 80 lb}}\n", commands[i], "/dev/stdin");
        for (char *line = strtok(r.out, "\n"); line; line = strtok(NULL, "\n"))
            if (strlen(line) > 100)
                fail_msg("%zu columns: %s", strlen(line), line);
        ran_release(&r);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(forty_two_and_four_is_forty_six),
        cmocka_unit_test(a_later_building_has_other_posts),
        cmocka_unit_test(the_grade_that_names_posts_goes_first),
        cmocka_unit_test(what_was_stated_anew_is_no_fault),
        cmocka_unit_test(what_is_not_known_is_no_volume),
        cmocka_unit_test(deviations_by_the_net),
        cmocka_unit_test(the_rod_that_is_asked_for_is_enough),
        cmocka_unit_test(footings),
        cmocka_unit_test(what_is_asked),
        cmocka_unit_test(two_grades_and_a_slope),
        cmocka_unit_test(what_is_missing_is_named),
        cmocka_unit_test(dug_on),
        cmocka_unit_test(options_and_status),
        cmocka_unit_test(the_printed_hole),
        cmocka_unit_test(a_post_and_its_bags),
        cmocka_unit_test(sixty_pounds_and_metres),
        cmocka_unit_test(depths_and_footings),
        cmocka_unit_test(sheets_keep_their_width),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
