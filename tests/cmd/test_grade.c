/* `grade` as a crew meets it; and published cuts, fills and slopes through the whole program. */
#define _POSIX_C_SOURCE 200809L /* fileno */
#include "../program.h"

#include <jansson.h>
#include <stdbool.h>

#define EXACT 1e-9 /* nine decimals are printed */

/* ---- reading results ---- */

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

#define GRADES(record, ...) results(record, 0, (const char *const[]){ "grade", "--json", ##__VA_ARGS__, "/dev/stdin", NULL })

static json_t *
candidate(json_t *root, size_t number)
{
    json_t *c = json_array_get(json_object_get(root, "candidates"), number - 1);
    assert_int_equal(json_integer_value(json_object_get(c, "number")), number);
    return c;
}

static double
real(const json_t *o, const char *key)
{
    const json_t *v = json_object_get(o, key);
    if (!json_is_number(v))
        fail_msg("no %s", key);
    return json_number_value(v);
}

static void
assert_text(const json_t *o, const char *key, const char *want)
{
    const json_t *v = json_object_get(o, key);
    if (!v || (want == NULL) != json_is_null(v) || (want && strcmp(json_string_value(v), want) != 0))
        fail_msg("%s is %s, want %s", key, json_is_string(v) ? json_string_value(v) : "no text", want ? want : "null");
}

static bool
is_null(const json_t *o, const char *key)
{
    const json_t *v = json_object_get(o, key);
    assert_non_null(v);
    return json_is_null(v);
}

static void
assert_says(const char *text, const char *words)
{
    if (!strstr(text, words))
        fail_msg("\"%s\" does not stand in\n%s", words, text);
}

/* ---- a record that is written to ---- */

static char record_name[] = "/tmp/rodbook-grade-XXXXXX";

static void
begin_record(const char *text)
{
    strcpy(record_name, "/tmp/rodbook-grade-XXXXXX");
    int fd = mkstemp(record_name);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, text, strlen(text)), (ssize_t)strlen(text));
    close(fd);
}

/* ---- a record by hand ---- */

/*
 * 24 by 12 ft; the ground rises 1 in 100 along it and is level across, exactly; four shots 8 ft outside, two of them low. All values
 * below are worked by hand from that. HI is 105.00.
 */
#define HEAD "---\njob: Slope field\nunit: ft\nleast: 0.01\n---\nmarks: {BM: {elevation: 100.00}}\n"
#define CORNERS                                                                                                          \
    "---\npoints:\n  SW: {x: 0, y: 0, kind: corner}\n  SE: {x: 24, y: 0, kind: corner}\n"                                \
    "  NE: {x: 24, y: 12, kind: corner}\n  NW: {x: 0, y: 12, kind: corner}\n"
#define PLACES                                                                                                           \
    "---\npoints:\n  G1: {x: 0, y: 0}\n  G2: {x: 12, y: 0}\n  G3: {x: 24, y: 0}\n  G4: {x: 0, y: 6}\n  G5: {x: 12, y: 6}\n" \
    "  G6: {x: 24, y: 6}\n  G7: {x: 0, y: 12}\n  G8: {x: 12, y: 12}\n  G9: {x: 24, y: 12}\n"                             \
    "  S: {x: 12, y: -8}\n  N: {x: 12, y: 20}\n  W: {x: -8, y: 6}\n  E: {x: 32, y: 6}\n"
#define POSTS                                                                                                            \
    "---\npoints:\n  A1: {x: 0, y: 0, kind: post}\n  A2: {x: 24, y: 0, kind: post}\n  B1: {x: 6, y: 12, kind: post}\n"   \
    "  B2: {x: 24, y: 12, kind: post}\n"
#define GRID                                                                                                             \
    "    - {at: G1, on: ground, is: 5.00}\n    - {at: G2, on: ground, is: 4.88}\n    - {at: G3, on: ground, is: 4.76}\n" \
    "    - {at: G4, on: ground, is: 5.00}\n    - {at: G5, on: ground, is: 4.88}\n    - {at: G6, on: ground, is: 4.76}\n" \
    "    - {at: G7, on: ground, is: 5.00}\n    - {at: G8, on: ground, is: 4.88}\n    - {at: G9, on: ground, is: 4.76}\n"
#define ROUND                                                                                                            \
    "    - {at: S, on: ground, is: 5.45}\n    - {at: N, on: ground, is: 5.35}\n    - {at: W, on: ground, is: 5.28}\n"     \
    "    - {at: E, on: ground, is: 4.68}\n"
#define LEVELS(rows) "---\nlevels:\n  readings:\n    - {at: BM, bs: 5.00}\n" rows "    - {at: BM, fs: 5.00}\n"
#define FIELD HEAD CORNERS PLACES LEVELS(GRID ROUND)

#define FT3_YD 27.0

/* As for the pad: a point of kind ground that was read on itself is ground. */
static void
ground_is_ground_however_it_was_booked(void **state)
{
    static const char record[] = HEAD CORNERS "---\npoints:\n  G1: {x: 0, y: 0, kind: ground}\n  G2: {x: 24, y: 0, kind: ground}\n"
        "  G3: {x: 24, y: 12, kind: ground}\n  G4: {x: 0, y: 12, kind: ground}\n  T: {x: 3, y: 3, kind: footing}\n"
        LEVELS("    - {at: G1, is: 5.00}\n    - {at: G2, is: 4.76}\n    - {at: G3, on: ground, is: 4.76}\n    - {at: G4, is: 5.00}\n"
            "    - {at: G3, is: 1.00}\n    - {at: T, is: 1.00}\n");
    json_t *root = GRADES(record), *ground = json_object_get(root, "ground");
    (void)state;
    assert_near(real(ground, "slope_along"), 0.01, 1e-9);
    assert_near(real(candidate(root, 2), "level"), 100.12, EXACT);
    json_decref(root);
}

/* A depth from the pad's grade stays one from the pad's grade, whatever is chosen: feet at 99.50 - 3.50. */
static void
depths_from_a_grade_of_the_record(void **state)
{
    static const char record[] = FIELD POSTS "---\ngrade: {name: pad, means: subgrade, for: ground, level: 99.50}\n"
        "---\nholes: {depth: 3.5, from: grade, grade: pad, post-length: 10, top: 5}\n";
    json_t *root = GRADES(record), *c = candidate(root, 2);
    (void)state;
    assert_near(real(c, "level"), 100.12, EXACT);
    assert_near(real(c, "hole"), 100.24 - 96.00, EXACT);
    assert_near(real(c, "post"), 100.12 + 5 - 96.00, EXACT);
    c = candidate(root, 5); /* highest that posts reach: 96.00 + 10 - 5, and as sure as the ground is known */
    assert_true(real(c, "level") <= 101 && real(c, "level") > 100.9);
    json_decref(root);
    static const char nowhere[] = FIELD POSTS "---\ngrade: {name: pad, means: subgrade, for: ground, through: {at: X, plus: 1}}\n"
        "---\nholes: {depth: 3.5, from: grade, grade: pad, post-length: 10, top: 5}\n";
    root = GRADES(nowhere);
    assert_true(is_null(candidate(root, 2), "hole"));
    json_decref(root);
}

static void
levels_by_hand(void **state)
{
    json_t *root = GRADES(FIELD), *c, *ground = json_object_get(root, "ground");
    (void)state;
    assert_text(ground, "building", "corners");
    assert_near(real(ground, "area"), 288, 1e-9);
    assert_near(real(ground, "covered"), 288, 1e-9);
    assert_near(real(ground, "slope_along"), 0.01, 1e-9);
    assert_near(real(ground, "slope_across"), 0, 1e-9);
    assert_near(real(ground, "up_along"), 0.24, EXACT);
    c = candidate(root, 1); /* 100.24 + 1.95996 * 0.005 root 1.5 + 0.5 = 100.7520, up; those outside are not under the strings */
    assert_text(c, "kind", "clear");
    assert_near(real(c, "level"), 100.76, EXACT);
    assert_text(c, "decides", "G3");
    assert_true(is_null(c, "cut") && is_null(c, "cut_at") && is_null(c, "missing"));
    assert_near(real(c, "fill"), 0.76, EXACT);
    assert_text(c, "fill_at", "G1");
    assert_near(real(c, "cut_volume"), 0, 1e-9);
    assert_near(real(c, "fill_volume"), 288 * 0.64, 1e-6); /* mean ground 100.12 */
    c = candidate(root, 2); /* (x - 12) / 100 over the half beyond the middle: 12 ft * 12^2 / 200 */
    assert_near(real(c, "level"), 100.12, EXACT);
    assert_near(real(c, "cut_volume"), 8.64, 1e-6);
    assert_near(real(c, "fill_volume"), 8.64, 1e-6);
    assert_near(real(c, "cut"), 0.12, EXACT);
    assert_text(c, "cut_at", "G3");
    assert_text(c, "decides", NULL);
    c = candidate(root, 3); /* on the ground itself, and the bound of 1 in 100 included */
    assert_near(real(c, "level"), 100.00, EXACT);
    assert_near(real(c, "slope"), 0.01, EXACT);
    assert_text(c, "towards", "length");
    assert_true(is_null(c, "cut") && is_null(c, "fill"));
    assert_near(real(c, "cut_volume") + real(c, "fill_volume"), 0, 1e-6);
    assert_false(json_is_true(json_object_get(c, "held")));
    c = candidate(root, 4); /* level that way */
    assert_true(is_null(c, "level") && is_null(c, "slope") && is_null(c, "cut_volume"));
    assert_says(json_string_value(json_object_get(c, "missing")), "less than the rod's least division");
    c = candidate(root, 5);
    assert_true(is_null(c, "level") && is_null(c, "hole") && is_null(c, "post"));
    assert_says(json_string_value(json_object_get(c, "missing")), "no post has x and y");
    json_decref(root);
}

/* --under moves grades up by it and leaves the earth where it was; --clear counts from the ground; a bound holds, its level in the
 * middle; and a slope of 0 is none. */
static void
options_do_what_they_say(void **state)
{
    json_t *root = GRADES(FIELD, "--under", "4 in", "--clear", "0.25 ft", "--slope-most", "0.5 %", "--confidence", "99");
    (void)state;
    assert_near(real(candidate(root, 1), "level"), 100.51, EXACT); /* 100.24 + 2.57583 * 0.006124 + 0.25 = 100.5058 */
    assert_near(real(candidate(root, 1), "fill"), 100.51 - 1.0 / 3 - 100, EXACT);
    assert_near(real(candidate(root, 2), "level"), 100.45, EXACT); /* 100.4533 */
    assert_near(real(candidate(root, 3), "level"), 100.39, EXACT); /* 100.12 - 12 / 200 + 0.3333 */
    assert_near(real(candidate(root, 3), "slope"), 0.005, EXACT);
    assert_near(real(candidate(root, 3), "slope_of_ground"), 0.01, 1e-9);
    assert_true(json_is_true(json_object_get(candidate(root, 3), "held")));
    /* what rounding leaves: the level is 0.00333 low, which over 288 square feet is cut */
    assert_near(real(candidate(root, 2), "cut_volume") - real(candidate(root, 2), "fill_volume"), 288 / 300.0, 1e-6);
    json_decref(root);
    root = GRADES(FIELD, "--slope-most", "0");
    assert_true(is_null(candidate(root, 3), "level"));
    assert_says(json_string_value(json_object_get(candidate(root, 3), "missing")), "only level");
    json_decref(root);
}

/* Ground as rough as it is sloped, of five shots: t of two degrees of freedom is 4.3. Exact ground is sure of its slope. */
static void
a_slope_may_be_chance(void **state)
{
    json_t *root = GRADES(HEAD CORNERS PLACES LEVELS("    - {at: G1, on: ground, is: 5.30}\n    - {at: G3, on: ground, is: 5.00}\n"
        "    - {at: G7, on: ground, is: 5.00}\n    - {at: G9, on: ground, is: 4.90}\n    - {at: G5, on: ground, is: 5.2}\n"));
    (void)state;
    assert_true(json_is_true(json_object_get(candidate(root, 3), "may_be_chance")));
    assert_true(json_is_true(json_object_get(candidate(root, 4), "may_be_chance")));
    json_decref(root);
    root = GRADES(FIELD);
    assert_true(json_is_false(json_object_get(candidate(root, 3), "may_be_chance")));
    json_decref(root);
    root = GRADES(HEAD CORNERS PLACES LEVELS("    - {at: G1, on: ground, is: 5.30}\n    - {at: G3, on: ground, is: 5.00}\n    - {at: G7, on: ground, is: 5.00}\n"));
    assert_true(is_null(candidate(root, 3), "may_be_chance") && is_null(candidate(root, 3), "slope_sigma")); /* three shots show no scatter */
    json_decref(root);
}

/* A site entry has the outline, and its posts and battens are looked at, also where one is taken: the footprint is 24 by 12 where the
 * corner points say otherwise; A1 stands inside the corner, on ground of 100.00 and a little. */
static void
the_building_is_the_sites(void **state)
{
    const char *record = HEAD "---\nsite: {length: 24, width: 12, post: 5-1/2 in, rows: {A: {wall: front, spacing: 6}}}\n"
        "---\nholes: {depth: 3 ft, from: ground, to: bottom, footing: 0 in, post-length: 8 ft, top: 4 ft}\n" PLACES
        "  far: {x: 90, y: 90, kind: corner}\n" LEVELS(GRID ROUND);
    json_t *root = GRADES(record), *ground = json_object_get(root, "ground");
    (void)state;
    assert_text(ground, "building", "site");
    assert_near(real(ground, "length"), 24, EXACT);
    assert_near(real(ground, "width"), 12, EXACT);
    assert_int_equal(json_integer_value(json_object_get(ground, "posts_between")), 5);
    assert_text(candidate(root, 5), "decides", "A1");
    assert_near(real(candidate(root, 5), "level"), 100.99, EXACT); /* 100.0023 - 0.012 - 3 + 8 - 4 = 100.9903 */
    double level = real(candidate(root, 5), "level");
    json_decref(root);
    begin_record(record);
    struct ran r = RUN("grade", "--take", "5", "--name", "string", record_name);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    root = results(NULL, 0, (const char *const[]){ "stakes", "--json", record_name, NULL });
    assert_near(real(json_array_get(json_object_get(root, "stakes"), 0), "grade"), level, 0);
    json_decref(root);
    remove(record_name);
}

/* The shot that decides need not be the highest: X reads 0.007 lower and is tied by four set-ups instead of one. */
static void
the_less_sure_shot_decides(void **state)
{
    const char *far = FIELD "---\npoints: {X: {x: 20, y: 3}}\n---\nlevels:\n  readings:\n    - {at: BM, bs: 5.00}\n    - {at: T1, fs: 5.00, bs: 5.00}\n"
        "    - {at: T2, fs: 5.00, bs: 5.00}\n    - {at: T3, fs: 5.00, bs: 5.00}\n    - {at: X, on: ground, is: 4.767}\n";
    json_t *root = GRADES(far);
    (void)state;
    assert_text(candidate(root, 1), "decides", "X"); /* 100.233 + 1.96 * 0.005 root 8 + 0.5 = 100.7607 */
    assert_near(real(candidate(root, 1), "level"), 100.77, EXACT);
    json_decref(root);
    root = GRADES(far, "--confidence", "50");
    assert_text(candidate(root, 1), "decides", "G3");
    json_decref(root);
}

/* From the ground 3 ft down, 8 ft long, 4 ft above grade: grade <= ground - 0.012 - 3 + 8 - 4. A1 stands on 100.00: 100.988, down. */
static void
posts_by_hand(void **state)
{
    const char *record = HEAD CORNERS PLACES POSTS LEVELS(GRID ROUND);
    json_t *root = GRADES(record, "--depth", "3 ft", "--post-length", "8 ft", "--top", "4 ft"), *c = candidate(root, 5);
    (void)state;
    assert_near(real(c, "level"), 100.98, EXACT);
    assert_text(c, "decides", "A1");
    assert_near(real(c, "hole"), 3, EXACT);
    assert_near(real(c, "post"), 7.98, EXACT); /* at A1: 100.98 + 4 - 97.00 */
    assert_text(c, "post_at", "A1");
    assert_int_equal(json_integer_value(json_object_get(c, "too_short")), 0);
    c = candidate(root, 1); /* 100.76 */
    assert_near(real(c, "post"), 7.76, EXACT);
    json_decref(root);
    root = GRADES(record, "--depth", "3 ft", "--post-length", "7 ft", "--top", "4 ft"); /* 100.76 asks for 7.76, 7.70, 7.52, 7.52 */
    c = candidate(root, 1);
    assert_int_equal(json_integer_value(json_object_get(c, "too_short")), 4);
    assert_near(real(c, "short_by"), 0.76, EXACT);
    json_decref(root);
    struct ran r = RUN_WITH(record, "grade", "--depth", "3 ft", "/dev/stdin");
    assert_says(r.out, "The ground at 4 of 4 posts was not shot: it is taken from the surface between the shots.");
    assert_says(r.out, "Posts are taken to end at grade; --top says how far above it they stand.");
    ran_release(&r);
    r = RUN_WITH(record, "grade", "--depth", "3 ft", "--top", "0 in", "/dev/stdin");
    assert_null(strstr(r.out, "taken to end"));
    ran_release(&r);
    root = GRADES(record, "--depth", "3 ft"); /* no length: nothing to reach for, but holes and posts are known */
    assert_says(json_string_value(json_object_get(candidate(root, 5), "missing")), "how long the posts are");
    assert_near(real(candidate(root, 2), "post"), 3.12, EXACT);
    assert_near(real(candidate(root, 2), "hole"), 3, EXACT);
    json_decref(root);
    root = GRADES(record);
    assert_says(json_string_value(json_object_get(candidate(root, 5), "missing")), "how deep");
    assert_true(is_null(candidate(root, 2), "hole") && is_null(candidate(root, 2), "post") && is_null(candidate(root, 2), "too_short"));
    json_decref(root);
    root = GRADES(HEAD CORNERS PLACES POSTS "  C1: {x: -3, y: 60, kind: post}\n" LEVELS(GRID ROUND), "--depth", "3 ft"); /* no ground near it */
    assert_int_equal(json_integer_value(json_object_get(json_object_get(root, "ground"), "posts_unknown")), 1);
    json_decref(root);
}

/* What the record says of holes: the depth to the top of a footing has it below; from grade, holes change and posts do not. */
static void
holes_as_the_record_has_them(void **state)
{
    const char *field = HEAD CORNERS PLACES POSTS LEVELS(GRID ROUND);
    char record[8192];
    (void)state;
    snprintf(record, sizeof record, "%s---\nholes: {depth: 3 ft, from: ground, to: top, footing: 6 in, post-length: 8 ft, posts: {B2: {depth: 4 ft}}}\n", field);
    json_t *root = GRADES(record, "--top", "4 ft");
    assert_near(real(candidate(root, 2), "hole"), 4.5, EXACT);
    assert_text(candidate(root, 2), "hole_at", "B2");
    assert_text(candidate(root, 5), "decides", "B2"); /* 100.24 - 0.012 - 4 + 8 - 4 = 100.228 */
    assert_near(real(candidate(root, 5), "level"), 100.22, EXACT);
    json_decref(root);
    snprintf(record, sizeof record, "%s---\nholes: {depth: 3 ft, from: grade, to: bottom, footing: 6 in, post-length: 8 ft}\n", field);
    root = GRADES(record, "--top", "4 ft"); /* grade 100.12: feet at 97.62, bottoms at 97.12; A2 and B2 are dug from 100.24 */
    assert_near(real(candidate(root, 2), "hole"), 3.12, EXACT);
    assert_text(candidate(root, 2), "hole_at", "A2");
    assert_near(real(candidate(root, 2), "post"), 6.5, EXACT);
    assert_says(json_string_value(json_object_get(candidate(root, 5), "missing")), "from grade");
    json_decref(root);
    root = GRADES(record, "--top", "6 ft");
    assert_says(json_string_value(json_object_get(candidate(root, 5), "missing")), "shorter than its own depth");
    assert_text(candidate(root, 5), "decides", "A1");
    json_decref(root);
}

/* On 100.12: S 99.55 falls 0.57 in 8 ft, N 99.65 falls 0.47, W 99.72 falls 0.40, just what is asked for, E 100.32 rises. */
static void
water_by_hand(void **state)
{
    json_t *root = GRADES(FIELD), *w = json_object_get(candidate(root, 2), "drainage");
    (void)state;
    assert_text(w, "fall", "too little");
    assert_int_equal(json_integer_value(json_object_get(w, "shots")), 4);
    assert_int_equal(json_integer_value(json_object_get(w, "too_little")), 1);
    assert_int_equal(json_integer_value(json_object_get(w, "unsure")), 1);
    assert_text(w, "worst_at", "E");
    assert_near(real(w, "worst_distance"), 8, EXACT);
    assert_near(real(w, "worst_fall"), -0.2, EXACT);
    assert_near(real(w, "worst_needs"), 0.4, EXACT);
    w = json_object_get(candidate(root, 1), "drainage"); /* 100.76: E falls 0.44 */
    assert_text(w, "fall", "enough");
    json_decref(root);
    root = GRADES(FIELD, "--under", "4 in"); /* the earth of 1 is then at 100.4267 */
    assert_text(json_object_get(candidate(root, 1), "drainage"), "fall", "too little");
    json_decref(root);
    root = GRADES(HEAD CORNERS PLACES LEVELS(GRID));
    w = json_object_get(candidate(root, 2), "drainage");
    assert_true(is_null(w, "fall") && is_null(w, "too_little") && is_null(w, "worst_fall"));
    json_decref(root);
    struct ran r = RUN_WITH(FIELD, "grade", "/dev/stdin");
    assert_int_equal(r.status, 0);
    assert_says(r.out, "WET at 1 of 4");
    assert_says(r.out, "WATER: the ground RISES 2-3/8 in out to E, 8.0 ft away; asked for is a fall of 4-3/4 in");
    assert_says(r.out, "IRC R401.3");
    assert_says(r.out, "The local code rules");
    ran_release(&r);
    r = RUN_WITH(HEAD CORNERS PLACES LEVELS(GRID), "grade", "/dev/stdin");
    assert_says(r.out, "no ground was shot within 10 ft outside the building");
    ran_release(&r);
    r = RUN_WITH(HEAD PLACES LEVELS(GRID), "grade", "/dev/stdin");
    assert_says(r.out, "nothing says where the building stands");
    ran_release(&r);
}

/* Codes print 1 in 48 as 2 percent. Ground that falls 0.165 ft in 8 ft is not failed by 1 in 48 (0.1667) nor by 2 percent (0.16), and
 * ground of 1 in 48 is not held by 2 percent; flatter and steeper is. */
static void
two_percent_by_any_name(void **state)
{
#define SURE "---\njob: Slope field\nunit: ft\nleast: 0.01\nsigma: 0.00001\n---\nmarks: {BM: {elevation: 100.00}}\n"
#define LEAN(south) SURE CORNERS PLACES LEVELS(GRID "    - {at: S, on: ground, is: " south "}\n")
    static const char *const names[] = { "2 %", "1 in 48", "1/4 in per ft", "2.08 %" };
    (void)state;
    for (size_t i = 0; i < 4; i++) {
        json_t *root = GRADES(LEAN("5.045"), "--fall", names[i]); /* from 100.12 to 99.955 */
        assert_text(json_object_get(candidate(root, 2), "drainage"), "fall", "enough");
        json_decref(root);
        root = GRADES(LEAN("5.035"), "--fall", names[i]);
        assert_text(json_object_get(candidate(root, 2), "drainage"), "fall", "too little");
        json_decref(root);
    }
    const char *steep = HEAD CORNERS PLACES LEVELS("    - {at: G1, on: ground, is: 5.00}\n    - {at: G3, on: ground, is: 4.50}\n"
        "    - {at: G9, on: ground, is: 4.50}\n    - {at: G7, on: ground, is: 5.00}\n"); /* 0.5 in 24 */
    for (size_t i = 0; i < 4; i++) {
        json_t *root = GRADES(steep, "--slope-most", names[i]);
        assert_near(real(candidate(root, 3), "slope"), 1 / 48.0, EXACT);
        assert_false(json_is_true(json_object_get(candidate(root, 3), "held")));
        json_decref(root);
    }
    json_t *root = GRADES(steep, "--slope-most", "1.99 %");
    assert_near(real(candidate(root, 3), "slope"), 0.0199, EXACT);
    assert_true(json_is_true(json_object_get(candidate(root, 3), "held")));
    json_decref(root);
}

/* Struck shots and earlier positions are no ground; a shot without a place is named and left out; so is what lies outside its limit. */
static void
only_ground_that_holds(void **state)
{
    char record[8192];
    (void)state;
    snprintf(record, sizeof record, "%s---\nstrike: {entry: 5, row: 4, reason: clod}\n---\nlevels:\n  readings:\n    - {at: BM, bs: 5.00}\n"
        "    - {at: G6, on: ground, is: 4.80, moved: true}\n    - {at: Q, on: ground, is: 1.10}\n    - {at: BM, fs: 5.00}\n", FIELD);
    json_t *root = GRADES(record), *shots = json_object_get(json_object_get(root, "ground"), "shots"), *left = json_object_get(json_object_get(root, "ground"), "left_out");
    assert_int_equal(json_array_size(shots), 12); /* G3 is struck */
    assert_int_equal(json_array_size(left), 1);
    assert_string_equal(json_string_value(json_array_get(left, 0)), "Q");
    assert_text(candidate(root, 1), "decides", "G9");
    size_t i;
    json_t *one;
    json_array_foreach(shots, i, one)
        if (strcmp(json_string_value(json_object_get(one, "at")), "G6") == 0)
            assert_near(real(one, "elevation"), 100.20, EXACT);
    json_decref(root);
    struct ran r = RUN_WITH(record, "grade", "/dev/stdin");
    assert_says(r.out, "NOT USED, for want of x and y, or on levels outside their limit: Q");
    ran_release(&r);
    const char *outside = HEAD CORNERS PLACES "---\nlevels:\n  readings:\n    - {at: BM, bs: 5.00}\n" GRID "    - {at: BM, fs: 5.20}\n";
    snprintf(record, sizeof record, "%s", outside);
    char *allow = strstr(record, "least: 0.01\n");
    memmove(allow + 46, allow, strlen(allow) + 1);
    memcpy(allow, "allow: {misclosure: 0.02, per: job}           \n", 46);
    allow[45] = '\n';
    r = RUN_WITH(record, "grade", "/dev/stdin");
    assert_int_equal(r.status, 2);
    assert_says(r.err, "and 0 can be used; G1 ground is on levels outside their limit, and others cannot be used either [no-ground]");
    assert_string_equal(r.out, "");
    ran_release(&r);
}

static void
assert_refused(const char *record, const char *words)
{
    struct ran r = RUN_WITH(record, "grade", "/dev/stdin");
    assert_int_equal(r.status, 2);
    assert_string_equal(r.out, "");
    assert_says(r.err, words);
    ran_release(&r);
}

static void
what_is_missing_is_named(void **state)
{
    (void)state;
    assert_refused(HEAD CORNERS, "the record has no ground shots to choose a grade from; book three or more");
    assert_refused(HEAD CORNERS PLACES LEVELS("    - {at: G1, on: ground, is: 5.0}\n    - {at: G5, on: ground, is: 4.9}\n"),
        "three ground shots or more, and 2 can be used; shoot more of the ground, off one line [no-ground]");
    assert_refused(HEAD CORNERS PLACES LEVELS("    - {at: G1, on: ground, is: 5.0}\n    - {at: G5, on: ground, is: 4.9}\n    - {at: Q, on: ground, is: 4.9}\n"),
        "and 2 can be used; Q ground has no x and y in points [no-ground]");
    assert_refused(HEAD CORNERS PLACES LEVELS("    - {at: G1, on: ground, is: 5.0}\n    - {at: G5, on: ground, is: 4.9}\n    - {at: G9, on: ground, is: 4.9}\n"),
        "the 3 ground shots stand in one line and do not show how the ground lies beside it; shoot some off that line, or look at their x and y [ground-line]");
    assert_refused(HEAD CORNERS PLACES "  U: {x: 6 km, y: 0}\n" LEVELS("    - {at: G1, on: ground, is: 5.0}\n    - {at: G6, on: ground, is: 4.9}\n    - {at: U, on: ground, is: 4.9}\n"),
        "G1 and U ground stand more than 5 km apart; look at their x and y [ground-place]");
    assert_refused(HEAD CORNERS PLACES "  U: {x: 5000 km, y: 0}\n" LEVELS("    - {at: G1, on: ground, is: 5.0}\n    - {at: G6, on: ground, is: 4.9}\n    - {at: U, on: ground, is: 4.9}\n"),
        "U ground stands 1000 km or more from where x and y are 0");
}

/* All shots beside the building: its own ground is not known, and nothing balances; the string clears what lies under it. */
static void
shots_beside_the_building(void **state)
{
    json_t *root = GRADES("---\njob: Beside\nunit: ft\nleast: 0.01\n---\nmarks: {BM: {elevation: 100.00}}\n---\npoints:\n  SW: {x: 0, y: 0, kind: corner}\n"
        "  SE: {x: 24, y: 0, kind: corner}\n  NE: {x: 24, y: 12, kind: corner}\n  N: {x: 4, y: 15}\n  Q: {x: 10, y: 15}\n  P: {x: 7, y: 19}\n"
        LEVELS("    - {at: N, on: ground, is: 5.1}\n    - {at: Q, on: ground, is: 5.0}\n    - {at: P, on: ground, is: 4.9}\n"));
    (void)state;
    assert_near(real(candidate(root, 1), "level"), 100.52, EXACT);
    assert_true(is_null(candidate(root, 1), "cut_volume") && is_null(candidate(root, 1), "fill"));
    for (size_t i = 2; i <= 4; i++)
        assert_says(json_string_value(json_object_get(candidate(root, i), "missing")), "no ground between the shots lies on the building");
    json_decref(root);
}

/* ---- options that are off ---- */

static void
wrong_words_are_told(void **state)
{
    static const struct {
        const char *option, *value, *words;
    } c[] = {
        { "--clear", "-1 in", "--clear: it must be 0 or more" },
        { "--under", "4,5", "--under: " },
        { "--depth", "0", "--depth: it must be above 0" },
        { "--slope-most", "steep", "--slope-most wants a slope" },
        { "--slope-most", "2 in 1", "--slope-most wants a slope" },
        { "--fall", "6", "--fall wants a slope" },
        { "--confidence", "100", "--confidence wants per cent" },
        { "--take", "6", "--take wants a number from the list, 1 to 5" },
        { "--take", "0", "--take wants a number from the list, 1 to 5" },
        { "--take", "12", "--take wants a number from the list, 1 to 5" },
        { "--take", "2", "--take wants the grade's name too" },
        { "--name", "string", "go with --take N" },
        { "--by", "RO", "go with --take N" },
    };
    (void)state;
    for (size_t i = 0; i < sizeof c / sizeof *c; i++) {
        struct ran r = RUN_WITH(FIELD, "grade", c[i].option, c[i].value, "/dev/stdin");
        assert_int_equal(r.status, 2);
        assert_string_equal(r.out, "");
        assert_says(r.err, c[i].words);
        ran_release(&r);
    }
}

/* ---- taking one ---- */

static char *
record_text(void)
{
    FILE *f = fopen(record_name, "r");
    assert_non_null(f);
    return ran_text(f);
}

static void
a_choice_is_booked(void **state)
{
    (void)state;
    begin_record(FIELD);
    struct ran r = RUN("grade", "--take", "1", "--name", "string", "--for", "batten,post", "--by", "RO", "--tolerance", "1/8 in", record_name);
    assert_int_equal(r.status, 0);
    assert_says(r.out, "grade string is booked, FINISH GRADE, 100.76; the grade is entry 6");
    ran_release(&r);
    r = RUN("grade", "--take", "3", "--name", "pad of gravel: new", "--means", "subgrade", "--for", "ground", "--reason", "it drains", "--slope-most",
        "0.5 %", record_name);
    assert_int_equal(r.status, 0);
    assert_says(r.out, "SUBGRADE, 100.06 at x = y = 0, rising 1 in 200 towards length; the grade is entry 7");
    ran_release(&r);
    char *text = record_text();
    assert_memory_equal(text, FIELD, strlen(FIELD)); /* what stood there stands there */
    assert_says(text, "---\nentry: 6\ngrade:\n  name: string\n  means: finish\n  for: [batten, post]\n  level: 100.76\n  tolerance: 1/8 in\n"
                      "  note: \"lowest level string 6 in above all ground under it, sure to 95 %; G3 ground decides; from 13 ground shots; "
                      "cut 0.0, fill 6.8 yd3\"\nby: RO\n");
    assert_says(text, "  name: \"pad of gravel: new\"\n  means: subgrade\n  for: [ground]\n  level: 100.06\n  slope: {rise: 1 in 200, towards: length}\n"
                      "  note: \"it drains; slopes along the length, balances; ");
    free(text);
    r = RUN("check", record_name);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    json_t *root = results(NULL, 0, (const char *const[]){ "stakes", "--grade", "pad of gravel: new", "--json", record_name, NULL });
    size_t i, seen = 0;
    json_t *one;
    json_array_foreach(json_object_get(root, "stakes"), i, one)
        if (strcmp(json_string_value(json_object_get(one, "at")), "G9") == 0) {
            assert_near(real(one, "grade"), 100.18, EXACT);
            seen++;
        }
    assert_int_equal(seen, 1);
    json_decref(root);
    remove(record_name);
}

/* What cannot be taken, and what cannot stand in a record, leaves it to the byte. */
static void
what_cannot_be_booked(void **state)
{
    static const char *const wrong[][3] = { { "5", "string", "there is no grade number 5 to take: no post has x and y in points [no-candidate]" },
        { "4", "string", "there is no grade number 4 to take: the ground slopes by less" },
        { "2", "", "--take wants the grade's name too" },
        { "2", "a name\twith a tab", "--take wants the grade's name too" } };
    (void)state;
    begin_record(FIELD);
    for (size_t i = 0; i < 4; i++) {
        struct ran r = RUN("grade", "--take", wrong[i][0], "--name", wrong[i][1], record_name);
        assert_int_equal(r.status, 2);
        assert_string_equal(r.out, "");
        assert_says(r.err, wrong[i][2]);
        ran_release(&r);
    }
    static const char *const off[][2] = { { "--for", "battens" }, { "--for", "" }, { "--means", "top" }, { "--tolerance", "0 in" }, { "--by", "" },
        { "--reason", "" } };
    for (size_t i = 0; i < 6; i++) {
        struct ran r = RUN("grade", "--take", "2", "--name", "string", off[i][0], off[i][1], record_name);
        assert_int_equal(r.status, 2);
        assert_says(r.err, off[i][0]);
        ran_release(&r);
    }
    struct ran r = RUN("grade", "--take", "2", "--name", "string", "--json", record_name);
    assert_int_equal(r.status, 2);
    ran_release(&r);
    char *text = record_text();
    assert_string_equal(text, FIELD);
    free(text);
    remove(record_name);
    r = RUN("grade", "--take", "2", "--name", "string", record_name); /* not there */
    assert_int_equal(r.status, 2);
    ran_release(&r);
    begin_record(FIELD "---\nlevels: {readings: [{at: Z, is: 4,5}]}\n"); /* a fault of the record */
    r = RUN("grade", "--take", "2", "--name", "string", record_name);
    assert_int_equal(r.status, 2);
    assert_says(r.err, "decimal-comma");
    ran_release(&r);
    remove(record_name);
}

/* The shots lie 4-5/8, 2-1/4 and 7/8 in above 100 ft: 2.5833 in, 65.617 mm. Divisions that are no decimals of a foot, and metres: what is booked is read back as it was worked out. */
static void
levels_are_booked_exactly(void **state)
{
    static const char *const head[] = { "---\njob: a\nunit: ft-in\nleast: 1/8 in\n", "---\njob: a\nunit: ft\nleast: 1/2 in\n",
        "---\njob: a\nunit: m\nleast: 0.005\n", "---\njob: a\nunit: m\nleast: 1/16 in\n" };
    static const char *const level[] = { "level: 100' 2-5/8\"\n", "level: 100' 2-1/2\"\n", "level: 30.545\n", "level: 30.5450875\n" };
    (void)state;
    for (size_t i = 0; i < 4; i++) {
        char record[4096];
        snprintf(record, sizeof record, "%s%s", head[i], "---\nmarks: {BM: {elevation: 100 ft}}\n---\npoints: {G1: {x: 0 ft, y: 0 ft}, G2: {x: 24 ft, y: 1 ft}, G3: {x: 11 ft, y: 12 ft}}\n"
            "---\nlevels:\n  readings:\n    - {at: BM, bs: 4 ft}\n    - {at: G1, on: ground, is: 3 ft 7-3/8 in}\n    - {at: G2, on: ground, is: 3 ft 9-3/4 in}\n"
            "    - {at: G3, on: ground, is: 3 ft 11-1/8 in}\n    - {at: BM, fs: 4 ft}\n");
        begin_record(record);
        struct ran r = RUN("grade", "--take", "2", "--name", "pad", record_name);
        assert_int_equal(r.status, 0);
        ran_release(&r);
        char *text = record_text();
        assert_says(text, level[i]);
        free(text);
        json_t *root = results(NULL, 0, (const char *const[]){ "grade", "--json", record_name, NULL });
        json_t *stakes = results(NULL, 0, (const char *const[]){ "stakes", "--json", record_name, NULL });
        assert_near(real(candidate(root, 2), "level"), real(json_array_get(json_object_get(stakes, "stakes"), 0), "grade"), 0);
        json_decref(root);
        json_decref(stakes);
        remove(record_name);
    }
}

/* ---- published ---- */

static json_t *
stake(json_t *root, const char *at, const char *line)
{
    size_t i;
    json_t *o;
    json_array_foreach(json_object_get(root, "stakes"), i, o)
        if (strcmp(json_string_value(json_object_get(o, "at")), at) == 0
            && (!line || strcmp(json_string_value(json_object_get(o, "line")), line) == 0))
            return o;
    fail_msg("no stake %s", at);
    return NULL;
}

/* NAVEDTRA 14081, p. 15-30, fig. 15-52: HI 376.57, ground 375.15, fill 3.6. Its last line misprints the ground as 376.15, which would
 * be a fill of 2.6; its own figures give 3.6. The grade rod, -2.18, is ours by its rule. */
static void
the_fill_of_a_grade_above_sight(void **state)
{
    json_t *root = results(NULL, 0, (const char *const[]){ "stakes", "--json", "tests/handbook/d10.yaml", NULL }), *s = stake(root, "B", NULL);
    (void)state;
    assert_near(real(s, "adjusted"), 375.15, EXACT);
    assert_near(real(s, "fill"), 3.6, EXACT);
    assert_near(real(s, "cut"), 0, 0);
    assert_near(real(s, "grade_rod"), -2.18, EXACT);
    assert_near(real(s, "adjusted") + real(s, "grade_rod") + 1.42 + real(s, "fill"), 375.15 - 2.18 + 1.42 + 3.6, EXACT);
    json_decref(root);
    root = results(NULL, 0, (const char *const[]){ "reduce", "--json", "tests/handbook/d10.yaml", NULL });
    assert_near(real(json_array_get(json_object_get(root, "book"), 0), "hi"), 376.57, EXACT);
    json_decref(root);
}

/* NAVEDTRA 14081, p. 15-30, fig. 15-51A: the bottom should read 12.5 and reads 12.2: cut 0.3 more. */
static void
the_cut_below_a_hub(void **state)
{
    json_t *root = results(NULL, 0, (const char *const[]){ "stakes", "--json", "tests/handbook/d11.yaml", NULL }), *s = stake(root, "bottom", NULL);
    (void)state;
    assert_near(real(s, "grade_rod"), 12.5, EXACT);
    assert_near(real(s, "cut"), 0.3, EXACT);
    json_decref(root);
}

/* IRC R401.3: 6 in in 10 ft is 5 percent; IBC 1803.3: 1 unit in 20 is 5 percent, 1 in 48 is 2 percent, which is to its rounding. */
static void
slopes_as_codes_write_them(void **state)
{
    static const char *const five[] = { "six in ten", "one in 20", "five percent" };
    json_t *root = results(NULL, 0, (const char *const[]){ "stakes", "--json", "tests/handbook/d14.yaml", NULL });
    (void)state;
    for (size_t i = 0; i < 3; i++) {
        assert_near(real(stake(root, "out", five[i]), "grade"), 99.5, 0);
        assert_text(stake(root, "out", five[i]), "verdict", "leave");
    }
    double percent = 100 * (100 - real(stake(root, "out", "one in 48"), "grade")) / 10;
    assert_near(percent, 2.0833333, 1e-6);
    assert_near(percent, 2, 0.5);
    json_decref(root);
}

/* Modern Carpentry (2008), p. 161, fig. 6-17: 7 inches. */
static void
seven_inches(void **state)
{
    struct ran r = RUN("reduce", "tests/handbook/d15.yaml");
    json_t *root = results(NULL, 0, (const char *const[]){ "reduce", "--json", "tests/handbook/d15.yaml", NULL });
    (void)state;
    assert_near(real(json_array_get(json_object_get(root, "book"), 1), "elevation"), 100 - 7 / 12.0, EXACT);
    assert_says(r.out, "99' 5\"");
    json_decref(root);
    ran_release(&r);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ground_is_ground_however_it_was_booked),
        cmocka_unit_test(depths_from_a_grade_of_the_record),
        cmocka_unit_test(levels_by_hand),
        cmocka_unit_test(options_do_what_they_say),
        cmocka_unit_test(the_building_is_the_sites),
        cmocka_unit_test(a_slope_may_be_chance),
        cmocka_unit_test(the_less_sure_shot_decides),
        cmocka_unit_test(posts_by_hand),
        cmocka_unit_test(holes_as_the_record_has_them),
        cmocka_unit_test(water_by_hand),
        cmocka_unit_test(two_percent_by_any_name),
        cmocka_unit_test(only_ground_that_holds),
        cmocka_unit_test(what_is_missing_is_named),
        cmocka_unit_test(shots_beside_the_building),
        cmocka_unit_test(wrong_words_are_told),
        cmocka_unit_test(a_choice_is_booked),
        cmocka_unit_test(what_cannot_be_booked),
        cmocka_unit_test(levels_are_booked_exactly),
        cmocka_unit_test(the_fill_of_a_grade_above_sight),
        cmocka_unit_test(the_cut_below_a_hub),
        cmocka_unit_test(slopes_as_codes_write_them),
        cmocka_unit_test(seven_inches),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
