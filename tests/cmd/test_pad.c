/* `pad` as a crew meets it: published and own figures from the readings to the volumes, what is missing, stone, exit statuses. */
#define _POSIX_C_SOURCE 200809L /* fileno */
#include "../program.h"

#include <jansson.h>
#include <stdbool.h>

static json_t *
results(const char *record, const char *file, int status)
{
    json_error_t fault;
    struct ran r = RUN_WITH(record, "pad", "--json", file);
    if (r.status != status)
        fail_msg("exit status %d, want %d\n%s", r.status, status, r.err);
    json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, &fault);
    if (!root)
        fail_msg("line %d: %s\n%s", fault.line, fault.text, r.out);
    ran_release(&r);
    return root;
}

static double
real(const json_t *object, const char *key)
{
    json_t *value = json_object_get(object, key);
    if (!json_is_number(value))
        fail_msg("%s is no number", key);
    return json_number_value(value);
}

static bool
is_null(const json_t *object, const char *key)
{
    json_t *value = json_object_get(object, key);
    assert_non_null(value);
    return json_is_null(value);
}

static json_t *
spot(json_t *root, const char *at)
{
    size_t i;
    json_t *one;
    json_array_foreach(json_object_get(root, "spots"), i, one)
        if (strcmp(json_string_value(json_object_get(one, "at")), at) == 0)
            return one;
    fail_msg("no spot %s", at);
    return NULL;
}

static json_t *
square(json_t *root, size_t i)
{
    json_t *one = json_array_get(json_object_get(root, "squares"), i);
    assert_non_null(one);
    return one;
}

static void
has(const struct ran *r, const char *line)
{
    if (!ran_says(r->out, line))
        fail_msg("no such text: %s\n%s\n%s", line, r->out, r->err);
}

/*
 * P. R. Wolf and C. D. Ghilani, Elementary Surveying, appendix of example note forms, plate B.2, "Borrow-pit leveling", as a course
 * handout has it (sweetstudy.com, hw-6-pdf). Printed: elevations and cuts to 0.1 ft, the squares at each corner, h times n
 * summed to 91.1, and 337 cubic yards.
 */
static void
borrow_pit_as_printed(void **state)
{
    static const struct {
        const char *at;
        double elevation, cut;
        int squares;
    } printed[] = { { "A0", 359.5, 1.5, 1 }, { "B0", 359.3, 1.3, 2 }, { "C0", 359.0, 1.0, 2 }, { "D0", 358.8, 0.8, 2 },
        { "E0", 358.5, 0.5, 1 }, { "A1", 360.0, 2.0, 2 }, { "B1", 359.9, 1.9, 4 }, { "C1", 359.5, 1.5, 4 }, { "D1", 359.2, 1.2, 3 },
        { "E1", 358.9, 0.9, 1 }, { "A2", 360.5, 2.5, 2 }, { "B2", 360.0, 2.0, 4 }, { "C2", 359.9, 1.9, 4 }, { "D2", 359.7, 1.7, 2 },
        { "A3", 360.9, 2.9, 2 }, { "B3", 360.7, 2.7, 4 }, { "C3", 360.1, 2.1, 3 }, { "D3", 360.1, 2.1, 1 }, { "A4", 361.3, 3.3, 1 },
        { "B4", 361.0, 3.0, 2 }, { "C4", 360.5, 2.5, 1 } };
    enum { PRINTED = sizeof printed / sizeof printed[0] };
    json_t *root = results(NULL, "tests/handbook/l29.yaml", 0);
    (void)state;
    assert_int_equal(json_array_size(json_object_get(root, "spots")), PRINTED);
    for (size_t i = 0; i < PRINTED; i++) {
        json_t *s = spot(root, printed[i].at);
        assert_near(real(s, "ground"), printed[i].elevation, 0.05);
        assert_near(real(s, "cut"), printed[i].cut, 0.05);
        assert_near(real(s, "cut"), printed[i].cut, 1e-9); /* rods read to 0.1, so the cuts are what is printed, exactly */
        assert_near(real(s, "fill"), 0, 0);
        assert_int_equal(json_integer_value(json_object_get(s, "squares")), printed[i].squares);
    }
    assert_int_equal(json_array_size(json_object_get(root, "squares")), 12);
    assert_near(real(root, "sum"), 91.1, 1e-9);
    assert_near(real(root, "square"), 400, 1e-9);
    assert_near(real(root, "net") / 27, 337, 0.5);
    assert_near(real(root, "net"), 400 * 91.1 / 4, 1e-6);
    assert_near(real(root, "cut"), 9110, 1e-6);
    assert_near(real(root, "fill"), 0, 0);
    assert_near(real(root, "rule_cut"), 9110, 1e-6);
    json_decref(root);
    struct ran r = RUN("pad", "tests/handbook/l29.yaml");
    assert_int_equal(r.status, 0);
    has(&r, "\n  C1    ground  359.50  358.00  1.50     -    3/4        4\n");
    has(&r, "\n  yd3                    337.41  0.00   337.41\n");
    has(&r, "heights times their squares sum to +91.10, times 400.0 ft2 / 4\n");
    has(&r, "\nLeft out: 4 squares ");
    ran_release(&r);
}

#define HEAD(unit, least) "---\njob: Lamb field\nunit: " unit "\nleast: " least "\n---\nmarks: {BM: {elevation: 100.00}}\n"
#define NINE                                                                                                           \
    "---\npoints:\n  a: {x: 0, y: 0, kind: ground}\n  b: {x: 10, y: 0, kind: ground}\n  c: {x: 20, y: 0, kind: ground}\n" \
    "  d: {x: 0, y: 10, kind: ground}\n  e: {x: 10, y: 10, kind: ground}\n  f: {x: 20, y: 10, kind: ground}\n"           \
    "  g: {x: 0, y: 20, kind: ground}\n  h: {x: 10, y: 20, kind: ground}\n  i: {x: 20, y: 20, kind: ground}\n"
#define SHOT(at, reading) "    - {at: " at ", on: ground, is: " reading "}\n"
#define ROUND(spots) "---\nlevels:\n  readings:\n    - {at: BM, bs: 4.35}\n" spots "    - {at: BM, fs: 4.35}\n"
#define READ_NINE                                                                                                      \
    ROUND(SHOT("a", "3.95") SHOT("b", "4.10") SHOT("c", "4.25") SHOT("d", "4.15") SHOT("e", "4.30") SHOT("f", "4.45")   \
            SHOT("g", "4.40") SHOT("h", "4.55") SHOT("i", "4.65"))
#define PAD "---\ngrade: {name: pad, means: subgrade, level: 100.00}\n---\npad: {grade: pad}\n"

/* Own figures, not printed anywhere: heights 0.40 0.25 0.10 / 0.20 0.05 -0.10 / -0.05 -0.20 -0.30, squares of 10 ft. */
static void
nine_spots(void **state)
{
    static const double net[] = { 22.5, 7.5, 0, -13.75 };
    static const int squares[] = { 1, 2, 1, 2, 4, 2, 1, 2, 1 };
    json_t *root = results(HEAD("ft", "0.01") NINE READ_NINE PAD, "/dev/stdin", 0);
    double cut = 0, fill = 0;
    (void)state;
    for (size_t i = 0; i < 4; i++) {
        json_t *s = square(root, i);
        assert_near(real(s, "net"), net[i], 1e-8);
        assert_near(real(s, "cut") - real(s, "fill"), net[i], 1e-8);
        assert_near(real(s, "rule_cut") - real(s, "rule_fill"), net[i], 1e-8);
        cut += real(s, "cut");
        fill += real(s, "fill");
    }
    assert_near(real(square(root, 1), "rule_cut"), 8.0, 1e-8);
    assert_near(real(square(root, 1), "rule_fill"), 0.5, 1e-8);
    assert_true(real(square(root, 2), "cut") > 1 && real(square(root, 2), "fill") > 1); /* though its mean is nought */
    assert_near(real(root, "net"), 16.25, 1e-8);
    assert_near(real(root, "cut"), cut, 1e-8);
    assert_near(real(root, "fill"), fill, 1e-8);
    assert_near(real(root, "sum") * 100 / 4, 16.25, 1e-8);
    for (size_t i = 0; i < 9; i++) {
        const char at[2] = { (char)('a' + (int)i), '\0' };
        assert_int_equal(json_integer_value(json_object_get(spot(root, at), "squares")), squares[i]);
    }
    assert_near(real(spot(root, "i"), "fill"), 0.30, 1e-9);
    assert_near(real(spot(root, "i"), "cut"), 0, 0);
    json_decref(root);
    struct ran r = RUN_WITH(HEAD("ft", "0.01") NINE READ_NINE PAD, "pad", "/dev/stdin");
    has(&r, "  i     ground   99.700  100.000      -  0.300");
    has(&r, "net: 16.25 ft3 = 0.60 yd3 more cut than fill\n");
    has(&r, "\n  b c f e    +0.075");
    has(&r, "Bank measure is earth as it lies");
    ran_release(&r);
}

/* One shot less: its squares are left out and named, never filled in. */
static void
a_missing_shot_is_a_gap(void **state)
{
    const char *without_e = HEAD("ft", "0.01") NINE
        ROUND(SHOT("a", "3.95") SHOT("b", "4.10") SHOT("c", "4.25") SHOT("d", "4.15") SHOT("f", "4.45") SHOT("g", "4.40")
                SHOT("h", "4.55") SHOT("i", "4.65")) PAD;
    const char *without_i = HEAD("ft", "0.01") NINE
        ROUND(SHOT("a", "3.95") SHOT("b", "4.10") SHOT("c", "4.25") SHOT("d", "4.15") SHOT("e", "4.30") SHOT("f", "4.45")
                SHOT("g", "4.40") SHOT("h", "4.55")) PAD;
    json_t *root = results(without_i, "/dev/stdin", 1), *gap;
    (void)state;
    assert_int_equal(json_array_size(json_object_get(root, "squares")), 3);
    assert_near(real(root, "net"), 30, 1e-8);
    assert_near(real(root, "covered"), 300, 1e-8);
    assert_int_equal(json_integer_value(json_object_get(root, "left_out")), 1);
    assert_int_equal(json_array_size(json_object_get(root, "not_read")), 1);
    gap = json_array_get(json_object_get(root, "not_read"), 0);
    assert_string_equal(json_string_value(json_object_get(gap, "point")), "i");
    assert_near(real(gap, "x"), 20, 1e-9);
    assert_near(real(gap, "y"), 20, 1e-9);
    assert_true(is_null(spot(root, "i"), "ground"));
    assert_true(is_null(spot(root, "i"), "cut"));
    assert_true(is_null(spot(root, "i"), "sigma"));
    assert_near(real(spot(root, "i"), "grade"), 100, 1e-9);
    json_decref(root);
    /* without the middle one no square is whole: triangles, and the sheet says that they go past it */
    root = results(without_e, "/dev/stdin", 1);
    assert_string_equal(json_string_value(json_object_get(root, "surface")), "triangles");
    assert_int_equal(json_array_size(json_object_get(root, "squares")), 0);
    assert_true(is_null(root, "sum"));
    json_decref(root);
    struct ran r = RUN_WITH(without_e, "pad", "/dev/stdin");
    has(&r, "\n  e     ground        -  100.000      -      -      -  not read\n");
    has(&r, "spots without ground bear nothing");
    ran_release(&r);
    r = RUN_WITH(without_i, "pad", "/dev/stdin");
    has(&r, "\nLeft out: 1 square with corners");
    has(&r, "\n  20.00  20.00  i            1\n");
    ran_release(&r);
}

/* Feet on a grade that falls, triangles because one spot stands off: ground in a plane, 1 ft above the grade at one end. */
static void
scattered_over_a_slope(void **state)
{
    const char *record = HEAD("ft", "0.01")
        "---\npoints:\n  a: {x: 0, y: 0}\n  b: {x: 30, y: 0}\n  c: {x: 0, y: 20}\n  d: {x: 30, y: 20}\n  e: {x: 13.21, y: 7.77}\n"
        ROUND(SHOT("a", "3.35") SHOT("b", "3.35") SHOT("c", "3.35") SHOT("d", "3.35") SHOT("e", "3.35"))
        "---\ngrade: {name: yard, means: subgrade, level: 100.00, slope: {rise: 1 in 15, towards: length}}\n---\npad: {grade: yard}\n";
    json_t *root = results(record, "/dev/stdin", 0);
    (void)state;
    assert_string_equal(json_string_value(json_object_get(root, "surface")), "triangles");
    assert_string_equal(json_string_value(json_object_get(root, "grid_without")), "e");
    /* ground 101, grade 100 to 102: a wedge of cut and one of fill, each 15 by 20 by half of 1 */
    assert_near(real(root, "cut"), 150, 1e-6);
    assert_near(real(root, "fill"), 150, 1e-6);
    assert_near(real(root, "net"), 0, 1e-6);
    assert_near(real(root, "covered"), 600, 1e-8);
    assert_true(is_null(root, "rule_cut"));
    assert_near(real(spot(root, "b"), "fill"), 1, 1e-9);
    json_decref(root);
    struct ran r = RUN_WITH(record, "pad", "/dev/stdin");
    has(&r, "  by 4 triangles between the spots; they would make a grid without e\n");
    has(&r, "at x = y = 0, rising 1 in 15 towards length (+x)");
    ran_release(&r);
}

/* A pad of its own size within the grid and beyond it; stone by each unit of density. */
static void
stone_over_the_pad(void **state)
{
    static const struct {
        const char *density;
        double kg; /* of 2.5 m3 */
    } by[] = { { "1.5 t/m3", 3750 }, { "1500 kg/m3", 3750 }, { "100 lb/ft3", 2.5 * 1601.8463373960138 },
        { "2700 lb/yd3", 2.5 * 1601.8463373960138 }, { "1.35 short ton/yd3", 2.5 * 1601.8463373960138 } };
    char record[4096];
    (void)state;
    for (size_t i = 0; i < sizeof by / sizeof by[0]; i++) {
        snprintf(record, sizeof record, "%s---\npad: {level: 99.5, x: 4, y: 6, length: 3, width: 4, margin: 1, stone: 100 mm, density: %s%s",
            HEAD("m", "0.001") NINE READ_NINE, by[i].density, ", swell: 20 %, source: pit ticket}\n");
        json_t *root = results(record, "/dev/stdin", 0);
        /* 3 + 2 by 4 + 2 from x 3, y 5 */
        assert_near(real(root, "area"), 30, 1e-9);
        assert_near(real(root, "covered"), 30, 1e-9);
        assert_near(real(root, "uncovered"), 0, 0);
        assert_near(real(root, "stone_volume"), 3, 1e-9);
        assert_near(real(root, "stone_kg"), by[i].kg * 3 / 2.5, 1e-6);
        assert_near(real(root, "loose"), 1.2 * real(root, "cut"), 1e-8);
        assert_string_equal(json_string_value(json_object_get(root, "source")), "pit ticket");
        /* within two whole squares and no other rule: plane of the first, z = 0.9 - 0.015 x - 0.02 y above 99.5; the second is
         * reached from y = 10 to 11 */
        assert_true(is_null(root, "rule_cut"));
        assert_true(is_null(root, "sum"));
        assert_near(real(square(root, 0), "area"), 25, 1e-9);
        assert_near(real(square(root, 0), "net"), 25 * (0.9 - 0.015 * 5.5 - 0.02 * 7.5), 1e-8);
        assert_near(real(square(root, 1), "area"), 0, 0);
        assert_near(real(square(root, 2), "area"), 5, 1e-9);
        json_decref(root);
    }
    /* half of it beyond what was shot */
    json_t *root = results(HEAD("m", "0.001") NINE READ_NINE "---\npad: {level: 99.5, x: 10, length: 20, width: 20, stone: 4 in}\n", "/dev/stdin", 1);
    assert_near(real(root, "covered"), 200, 1e-8);
    assert_near(real(root, "uncovered"), 200, 1e-8);
    assert_near(real(root, "stone_volume"), 40.64, 1e-8);
    assert_true(is_null(root, "stone_kg"));
    assert_true(is_null(root, "loose"));
    json_decref(root);
    struct ran r = RUN_WITH(HEAD("ft", "0.01") NINE READ_NINE "---\npad: {level: 99.5, length: 27, width: 20, stone: 4 in, density: 1.35 short ton/yd3}\n",
        "pad", "/dev/stdin");
    assert_int_equal(r.status, 1);
    has(&r, "NOT COVERED: 140.0 ft2 of the pad's 540.0 ft2 lie beyond the ground that was shot, and are in no\n");
    has(&r, "\nStone, 4 in: 180.00 ft3 = 6.67 yd3 as it lies, over 540.0 ft2 of the pad\n");
    has(&r, "  9.00 short tons of 2000 lb = 8.16 t, at 1.35 short ton/yd3 (no source stated)\n");
    has(&r, "dug to level 99.50, SUBGRADE\n");
    ran_release(&r);
}

/* Finish grade taken for subgrade is dear: under a finish grade the stone is taken off. */
static void
finish_and_subgrade(void **state)
{
    const char *grade = "---\ngrade: {name: top, means: finish, level: 100.50}\n";
    char record[4096];
    (void)state;
    snprintf(record, sizeof record, "%s%s---\npad: {grade: top, stone: 6 in}\n", HEAD("ft", "0.01") NINE READ_NINE, grade);
    json_t *root = results(record, "/dev/stdin", 0);
    assert_near(real(root, "below"), 0.5, 1e-9);
    assert_near(real(spot(root, "a"), "grade"), 100, 1e-9);
    assert_near(real(root, "net"), 16.25, 1e-8);
    json_decref(root);
    struct ran r = RUN_WITH(record, "pad", "/dev/stdin");
    has(&r, "dug to 6 in below grade top, entry 5: FINISH GRADE\n  level 100.50; the stone fills what is left\n");
    ran_release(&r);
    snprintf(record, sizeof record, "%s%s---\npad: {grade: top}\n", HEAD("ft", "0.01") NINE READ_NINE, grade);
    r = RUN_WITH(record, "pad", "/dev/stdin");
    has(&r, "; no stone is stated, so nothing is left for it\n");
    has(&r, "\n  i     ground   99.700  100.500    -  0.800");
    ran_release(&r);
}

/* Which spots: listed ones; ground at a post; one place under two names; ground that was moved no more than once. */
static void
which_spots(void **state)
{
    const char *posts = "---\npoints: {P1: {x: 3, y: 4, kind: post}, T: {kind: ground}}\n";
    char record[4096];
    (void)state;
    snprintf(record, sizeof record, "%s%s---\nlevels:\n  readings:\n    - {at: BM, bs: 4.35}\n" SHOT("P1", "4.00") SHOT("T", "5.00")
            SHOT("Q", "5.00") "    - {at: BM, fs: 4.35}\n" PAD, HEAD("ft", "0.01") NINE READ_NINE, posts);
    json_t *root = results(record, "/dev/stdin", 1); /* T is ground, and has no place */
    assert_string_equal(json_string_value(json_object_get(root, "grid_without")), "P1");
    assert_int_equal(json_array_size(json_object_get(root, "spots")), 11);
    assert_true(is_null(spot(root, "T"), "cut"));
    json_decref(root);
    strcat(record, "---\npad: {grade: pad, spots: [a, b, c, d, e, f, g, h, i]}\n");
    root = results(record, "/dev/stdin", 0);
    assert_near(real(root, "net"), 16.25, 1e-8);
    json_decref(root);
    strcat(record, "---\npad: {grade: pad, spots: [a, b, e, d, no such]}\n");
    root = results(record, "/dev/stdin", 1);
    assert_near(real(root, "net"), 22.5, 1e-8);
    assert_true(is_null(spot(root, "no such"), "ground"));
    json_decref(root);
    strcat(record, "---\npad: {grade: pad, method: triangles, spots: [a, b, e, d]}\n");
    root = results(record, "/dev/stdin", 0);
    assert_string_equal(json_string_value(json_object_get(root, "surface")), "triangles");
    assert_true(is_null(root, "grid_without"));
    assert_near(real(root, "net"), 22.5, 1e-8); /* these four lie in a plane */
    json_decref(root);
    strcat(record, "---\npoints: {P1: {x: 20, y: 0, kind: post}}\n---\npad: {grade: pad, spots: [a, b, c, d, e, f, P1]}\n");
    root = results(record, "/dev/stdin", 0);
    assert_string_equal(json_string_value(json_object_get(spot(root, "P1"), "same_place")), "c");
    /* c +0.10 and P1 +0.35: 0.225 counts in the second square, 7.5 before */
    assert_near(real(square(root, 1), "net"), 7.5 + 25 * 0.125, 1e-8);
    json_decref(root);
    struct ran r = RUN_WITH(record, "pad", "/dev/stdin");
    has(&r, "same place as c: their mean counts");
    ran_release(&r);
}

static void
what_cannot_be_done(void **state)
{
    static const struct {
        const char *rest, *said;
    } faults[] = { { "", "[no-pad]" }, { "---\npad: {level: 100, spots: [a, b]}\n", "[pad-spots]" },
        { "---\npad: {level: 100, spots: [a, b, c]}\n", "stand in one line" },
        { "---\npad: {level: 100, spots: [a, b, zz]}\n", "and has 2; zz has no x and y in site or points [pad-spots]" },
        { "---\npad: {level: 100, spots: [a, b, d], method: squares}\n", "[pad-squares]" },
        { "---\npad: {level: 100, spots: [a, b, d, e, z], method: squares}\n---\npoints: {z: {x: 3, y: 2}}\n"
          "---\nlevels:\n  readings:\n    - {at: BM, bs: 1}\n    - {at: z, on: ground, is: 2}\n", "they would without z" },
        { "---\npad: {level: 100}\n---\npoints: {i: {x: 6 km, y: 20, kind: ground}}\n", "more than 5 km from a" },
        { "---\ngrade: {name: q, means: subgrade, through: {at: BM9}}\n---\npad: {grade: q}\n", "[grade-mark]" } };
    char record[4096];
    (void)state;
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
        snprintf(record, sizeof record, "%s%s", HEAD("ft", "0.01") NINE READ_NINE, faults[i].rest);
        struct ran r = RUN_WITH(record, "pad", "/dev/stdin");
        if (r.status != 2 || !strstr(r.err, faults[i].said) || r.out[0] != '\0')
            fail_msg("%s: status %d\n%s%s", faults[i].said, r.status, r.err, r.out);
        ran_release(&r);
    }
}

/* A loop outside its limit gives no ground, so no volumes; spread as asked, it gives both and says so. */
static void
outside_means_no_volumes(void **state)
{
    const char *record = "---\njob: Lamb field\nunit: ft\nleast: 0.01\nallow: {misclosure: 0.01, per: job}\n"
        "---\nmarks: {BM: {elevation: 100.00}}\n" NINE
        "---\nlevels:\n  readings:\n    - {at: BM, bs: 4.35}\n" SHOT("a", "3.95") SHOT("b", "4.10") SHOT("d", "4.15") SHOT("e", "4.30")
        "    - {at: BM, fs: 4.45}\n---\npad: {level: 100, spots: [a, b, d, e], stone: 4 in}\n";
    json_t *root = results(record, "/dev/stdin", 1);
    (void)state;
    assert_true(is_null(root, "surface") && is_null(root, "cut") && is_null(root, "fill") && is_null(root, "net"));
    assert_true(is_null(root, "sigma_net") && is_null(root, "covered") && is_null(root, "area") && is_null(root, "stone_volume"));
    assert_true(is_null(spot(root, "a"), "cut") && is_null(spot(root, "a"), "ground") && is_null(spot(root, "a"), "sigma"));
    json_decref(root);
    struct ran r = RUN_WITH(record, "pad", "/dev/stdin");
    has(&r, "\nVolumes: -; too few spots");
    has(&r, "levels OUTSIDE their limit: close them first");
    has(&r, "\nStone, 4 in: -; no area is known\n");
    ran_release(&r);
    r = RUN_WITH(record, "pad", "--spread-anyway", "/dev/stdin");
    assert_int_equal(r.status, 1);
    has(&r, "spread as asked");
    has(&r, "\nSquares: 1 whole");
    ran_release(&r);
}

/* Lines stay within 100 columns with ordinary names. */
static void
fits_the_page(void **state)
{
    (void)state;
    const char *records[] = { HEAD("ft", "0.01") NINE READ_NINE PAD, HEAD("ft", "0.01") NINE READ_NINE
        "---\npad: {level: 99.5, length: 270, width: 200, stone: 3 in, density: 1.35 short ton/yd3, source: ticket 17, swell: 25 %}\n",
        HEAD("m", "0.001") NINE READ_NINE "---\npad: {level: 99.5, method: triangles, stone: 4 in}\n" };
    for (size_t i = 0; i < 3; i++) {
        struct ran r = RUN_WITH(records[i], "pad", "/dev/stdin");
        assert_non_null(strstr(r.out, "buried services"));
        for (char *line = r.out, *end; (end = strchr(line, '\n')) != NULL; line = end + 1)
            if (end - line > 100 && strncmp(line, "  loop ", 7) != 0) /* that line is every sheet's */
                fail_msg("%.*s", (int)(end - line), line);
        ran_release(&r);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(borrow_pit_as_printed),
        cmocka_unit_test(nine_spots),
        cmocka_unit_test(a_missing_shot_is_a_gap),
        cmocka_unit_test(scattered_over_a_slope),
        cmocka_unit_test(stone_over_the_pad),
        cmocka_unit_test(finish_and_subgrade),
        cmocka_unit_test(which_spots),
        cmocka_unit_test(what_cannot_be_done),
        cmocka_unit_test(outside_means_no_volumes),
        cmocka_unit_test(fits_the_page),
    };
    return cmocka_run_group_tests_name("pad", tests, NULL, NULL);
}
