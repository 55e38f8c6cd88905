/* `square` as a crew meets it: published figures through the whole program, mistakes, moves, positions, exit statuses. */
#define _POSIX_C_SOURCE 200809L /* fileno */
#include "../program.h"

#include <jansson.h>
#include <stdbool.h>

#define FT "---\njob: Lamb field\nunit: ft\nleast: 0.01\n"
#define M "---\njob: Lamb field\nunit: m\nleast: 0.001\n"
#define PLACES_48 "---\npoints: {SW: {x: 0, y: 0}, SE: {x: 48, y: 0}, NE: {x: 48, y: 24}, NW: {x: 0, y: 24}}\n"
#define PLACES_24 "---\npoints: {SW: {x: 0, y: 0}, SE: {x: 24, y: 0}, NE: {x: 24, y: 12}, NW: {x: 0, y: 12}}\n"
#define TAPE "---\ntape:\n  rows:\n"
#define ROW(from, to, read) "    - {from: " from ", to: " to ", read: " read "}\n"
#define SIX(base, right, far, left, first, other)                                                                  \
    ROW("SW", "SE", base) ROW("SE", "NE", right) ROW("NE", "NW", far) ROW("NW", "SW", left) ROW("SW", "NE", first) \
        ROW("SE", "NW", other)

static json_t *
results(const char *record, int status, const char *const *argv)
{
    json_error_t fault;
    struct ran r = run_program(record, argv);
    if (r.status != status)
        fail_msg("exit status %d, want %d\n%s\n%s", r.status, status, r.err, r.out);
    json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, &fault);
    if (!root)
        fail_msg("line %d: %s\n%s", fault.line, fault.text, r.out);
    ran_release(&r);
    return root;
}

#define RESULTS(record, status, ...) results(record, status, (const char *const[]){ "square", "--json", __VA_ARGS__, "/dev/stdin", NULL })
#define SQUARE(record, status) results(record, status, (const char *const[]){ "square", "--json", "/dev/stdin", NULL })

static json_t *
figure(json_t *root, size_t i)
{
    json_t *f = json_array_get(json_object_get(root, "figures"), i);
    assert_non_null(f);
    return f;
}

static double
real(const json_t *o, const char *key)
{
    const json_t *v = json_object_get(o, key);
    if (!json_is_number(v))
        fail_msg("%s is no number", key);
    return json_number_value(v);
}

static const char *
word(const json_t *o, const char *key)
{
    const char *s = json_string_value(json_object_get(o, key));
    return s ? s : "null";
}

static json_t *
length_of(json_t *f, const char *from, const char *to)
{
    size_t i;
    json_t *l;
    json_array_foreach(json_object_get(f, "lengths"), i, l)
        if ((strcmp(word(l, "from"), from) == 0 && strcmp(word(l, "to"), to) == 0)
            || (strcmp(word(l, "from"), to) == 0 && strcmp(word(l, "to"), from) == 0))
            return l;
    fail_msg("no length %s to %s", from, to);
    return NULL;
}

static json_t *
at(json_t *f, const char *list, const char *name)
{
    size_t i;
    json_t *o;
    json_array_foreach(json_object_get(f, list), i, o)
        if (strcmp(word(o, "at"), name) == 0)
            return o;
    fail_msg("%s has no %s", list, name);
    return NULL;
}

static json_t *
reading(json_t *f, size_t i)
{
    return json_array_get(json_object_get(f, "readings"), i);
}

/* ---- corrections, published ---- */

#define STEEL "  constants: {nominal: 100, actual: 100, temp: 68 F, pull: 12 lb, weight: 2.8 lb, area: 0.015 in2, modulus: 29e6 psi, expansion: 0.0000065 /F}\n"

/* Lecture "Taping corrections", slideplayer.com 13085605, printed to 0.01 ft (the pull to 0.0001 ft): -0.11 and 368.39; 298.86 and 1.14;
 * 0.71, 0.31, 0.20; 0.0014; 500.10. And what it prints wrong: a normal tension of 31 lb. */
static void
corrections_of_the_lecture(void **state)
{
    json_t *root = SQUARE(FT "---\ntape:\n" STEEL "  rows:\n"
        "    - {from: A, to: B, read: 368.50, temp: 22 F}\n"
        "    - {from: C, to: D, read: 300.00, slope: 5 deg}\n"
        "    - {from: E, to: F, read: 348.75, pull: 12 lb, spans: [100, 100, 100, 48.75]}\n"
        "    - {from: G, to: H, read: 348.75, pull: 18 lb, spans: [100, 100, 100, 48.75]}\n"
        "    - {from: I, to: J, read: 348.75, pull: 12 lb, spans: [50, 50, 50, 50, 50, 50, 48.75]}\n"
        "    - {from: K, to: L, read: 100, pull: 18 lb}\n"
        "---\ntape:\n  constants: {nominal: 100, actual: 100.02}\n  rows:\n    - {from: M, to: N, read: 500.00}\n", 0);
    (void)state;
    assert_near(real(reading(figure(root, 0), 0), "temp_correction"), -0.11, 0.005);
    assert_near(real(reading(figure(root, 0), 0), "corrected"), 368.39, 0.005);
    assert_near(real(reading(figure(root, 1), 0), "slope_correction"), -1.14, 0.005);
    assert_near(real(reading(figure(root, 1), 0), "corrected"), 298.86, 0.005);
    assert_near(real(reading(figure(root, 2), 0), "sag_correction"), -0.71, 0.005);
    assert_near(real(reading(figure(root, 3), 0), "sag_correction"), -0.31, 0.005);
    assert_near(real(reading(figure(root, 4), 0), "sag_correction"), -0.20, 0.005);
    assert_near(real(reading(figure(root, 5), 0), "pull_correction"), 0.0014, 0.00005);
    assert_near(real(reading(figure(root, 6), 0), "corrected"), 500.10, 0.005);
    double pull = real(figure(root, 0), "normal_pull") / (0.45359237 * 9.80665);
    assert_near(pull, 56.5, 0.05);
    assert_true(pull > 50); /* not the printed 31 lb */
    assert_true(json_is_null(json_object_get(figure(root, 6), "normal_pull")));
    json_decref(root);
    struct ran r = RUN_WITH(FT "---\ntape:\n" STEEL "  rows:\n    - {from: A, to: B, read: 99.20, pull: 18 lb}\n", "square", "/dev/stdin");
    assert_non_null(strstr(r.out, "Normal tension, at which stretch makes good the sag of the whole tape in one span: 56.5 lb."));
    ran_release(&r);
}

/* J. Mahun, open text "Taping", chapter E, section 4 (jerrymahun.com): the inputs. Its answers were not seen; these are ours, the tape's
 * weight spread over 102 ft, and over 101 ft for the second. */
static void
corrections_of_the_open_text(void **state)
{
#define HUNG(weighed)                                                                                                   \
    FT "---\ntape:\n  constants: {nominal: 100, actual: 100.004, temp: 70 F, pull: 23 lb, weight: 2.2 lb, weighed: " weighed  \
       " ft, area: 0.004 in2, modulus: 2.9e7 psi, expansion: 0.0000065 /F}\n  rows:\n"                                  \
       "    - {from: A, to: B, read: 436.48, temp: 50 F, pull: 15 lb, spans: [100, 100, 36.48]}\n"
    json_t *root = SQUARE(HUNG("102"), 0), *r = reading(figure(root, 0), 0);
    (void)state;
    assert_near(real(r, "length_correction"), 0.0175, 0.00005);
    assert_near(real(r, "temp_correction"), -0.0567, 0.00005);
    assert_near(real(r, "pull_correction"), -0.0301, 0.00005);
    assert_near(real(r, "sag_correction"), -0.1765, 0.00005);
    assert_near(real(r, "corrected"), 436.234, 0.0005);
    json_decref(root);
    root = SQUARE(HUNG("101"), 0);
    assert_near(real(reading(figure(root, 0), 0), "sag_correction"), -0.1800, 0.00005);
    json_decref(root);
}

/* assignmentexpert.com 232885: 0.014 m. NPTEL 105107122, module 3, example 9-6: 120 m at 3 % is 119.946 m. */
static void
corrections_in_metres(void **state)
{
    json_t *root = SQUARE(M "---\ntape:\n  constants: {pull: 5.5 kg, area: 0.04 cm2, modulus: 2.1e6 kg/cm2}\n  rows:\n"
        "    - {from: A, to: B, read: 458.650, pull: 8 kg}\n    - {from: C, to: D, read: 120, slope: 3 %}\n", 0);
    (void)state;
    assert_near(real(reading(figure(root, 0), 0), "pull_correction"), 0.014, 0.0005);
    assert_near(real(reading(figure(root, 1), 0), "corrected"), 119.946, 0.0005);
    json_decref(root);
}

/* Measuring adds the correction, laying out takes it off: what was laid out measures what was wanted. */
static void
what_the_tape_shows_when_laying_out(void **state)
{
    const char *record = FT PLACES_48 "---\ntape:\n  constants: {nominal: 100, actual: 100.031, temp: 68 F, expansion: 0.00000645 /F}\n"
        "  rows:\n    - {from: SW, to: SE, read: 48.00, temp: 31 F, rise: 2.5 ft}\n";
    json_t *root = SQUARE(record, 1), *l = length_of(figure(root, 0), "SW", "SE");
    char again[1024];
    (void)state;
    double show = real(l, "lay_out");
    assert_true(show > 48.04 && real(l, "adjusted") < 47.96);
    json_decref(root);
    snprintf(again, sizeof again, FT PLACES_48 "---\ntape:\n  constants: {nominal: 100, actual: 100.031, temp: 68 F, expansion: 0.00000645 /F}\n"
        "  rows:\n    - {from: SW, to: SE, read: %.5f, temp: 31 F, rise: 2.5 ft}\n", show);
    root = SQUARE(again, 0);
    assert_near(real(length_of(figure(root, 0), "SW", "SE"), "adjusted"), 48, 5.1e-6);
    json_decref(root);
}

/* ---- frames ---- */

/* 48 by 24 slid by 0.25: 53.88877 and 53.44156, exact arithmetic to 5e-6. The far marks go the way that lengthens SE to NW: from NE
 * to NW, which is along below 0. */
static void
a_skewed_frame_is_slid_back(void **state)
{
    json_t *root = SQUARE(FT PLACES_48 TAPE SIX("48", "24", "48", "24", "53.88877", "53.44156"), 1), *f = figure(root, 0);
    (void)state;
    assert_string_equal(word(f, "state"), "outside");
    assert_near(real(f, "slide"), -0.2500, 0.00005);
    assert_near(real(f, "diagonals_differ"), 0.4472, 0.00005);
    assert_string_equal(word(f, "cure"), "slide");
    assert_near(real(at(f, "moves", "NE"), "along"), -0.25, 0.0001);
    assert_near(real(at(f, "moves", "NW"), "along"), -0.25, 0.0001);
    assert_near(real(at(f, "moves", "SE"), "along"), 0, 0);
    assert_near(real(at(f, "moves", "NE"), "across"), 0, 0);
    assert_near(real(length_of(f, "SW", "NE"), "intended"), 53.6656, 0.00005); /* the root of 48 squared and 24 squared */
    assert_near(real(f, "diagonals_squared"), 5760.00, 0.005);
    assert_near(real(f, "sides_squared"), 5760.00, 1e-6);
    double length = real(json_array_get(json_object_get(f, "after"), 4), "length");
    assert_near(length, real(json_array_get(json_object_get(f, "after"), 5), "length"), 1e-4);
    assert_near(length, 53.6656, 0.002); /* the sides are kept, and so 24 ft long askew */
    assert_near(real(at(f, "corners", "SW"), "angle"), 90 - 35.81 / 60, 0.0005); /* 0.25 in 24 is 35.81 min */
    assert_near(real(at(f, "corners", "SW"), "out"), -0.25, 0.0001);
    assert_near(real(at(f, "corners", "SE"), "out"), 0.25, 0.0001);
    json_decref(root);
    struct ran r = RUN_WITH(FT PLACES_48 TAPE SIX("48", "24", "48", "24", "53.88877", "53.44156"), "square", "/dev/stdin");
    assert_non_null(strstr(r.out, "To do: hold SW, SE and the sides; slide NE and NW alike, 3 in, the way from NE to NW."));
    assert_non_null(strstr(r.out, "Ballast, Handbook of Construction Tolerances"));
    ran_release(&r);
}

/* Far side 47.50 ft for 48.00: both diagonals 53.4421 ft, and the corners 0.597 degrees out; own figures. */
static void
alike_diagonals_do_not_make_it_square(void **state)
{
    const char *record = FT PLACES_48 TAPE SIX("48", "24.0013", "47.50", "24.0013", "53.4421", "53.4421");
    json_t *root = SQUARE(record, 1), *f = figure(root, 0);
    (void)state;
    assert_string_equal(word(f, "state"), "outside");
    assert_string_equal(word(f, "diagonals_verdict"), "leave");
    assert_string_equal(word(length_of(f, "NW", "NE"), "verdict"), "move");
    assert_near(fabs(real(at(f, "corners", "SW"), "angle") - 90), 0.597, 0.0005);
    assert_near(real(at(f, "moves", "NE"), "along"), 0.25, 0.0005);
    assert_near(real(at(f, "moves", "NW"), "along"), -0.25, 0.0005);
    json_decref(root);
    struct ran r = RUN_WITH(record, "square", "/dev/stdin");
    assert_non_null(strstr(r.out, "Alike diagonals do not make it square"));
    ran_release(&r);
}

/* Squares of diagonals and sides: 5760.00 for 48 by 24. With one diagonal a foot out they cannot belong to one frame, whichever it is. */
static void
lengths_that_cannot_belong_together(void **state)
{
    json_t *root = SQUARE(FT PLACES_48 TAPE SIX("48", "24", "48", "24", "54.6656", "53.6656"), 1), *f = figure(root, 0);
    size_t i;
    json_t *r;
    (void)state;
    assert_string_equal(word(f, "state"), "misfit");
    assert_near(real(f, "sides_squared"), 5760.00, 1e-6);
    assert_near(real(f, "diagonals_squared"), 5760.00 + 54.6656 * 54.6656 - 53.6656 * 53.6656, 0.01);
    assert_true(json_is_false(json_object_get(f, "located")));
    assert_int_equal(json_array_size(json_object_get(f, "moves")), 0);
    assert_int_equal(json_array_size(json_object_get(f, "tape_again")), 6);
    json_array_foreach(json_object_get(f, "readings"), i, r)
        assert_true(json_is_true(json_object_get(r, "suspect"))); /* none more than another */
    assert_string_equal(word(json_array_get(json_object_get(f, "tape_again"), 0), "to"), "NE");
    json_decref(root);
    struct ran ran = RUN_WITH(FT PLACES_48 TAPE SIX("48", "24", "48", "24", "54.6656", "53.6656"), "square", "/dev/stdin");
    assert_non_null(strstr(ran.out, "THESE LENGTHS DO NOT FIT TOGETHER"));
    assert_non_null(strstr(ran.out, "which one they cannot"));
    assert_null(strstr(ran.out, "To do:"));
    assert_null(strstr(ran.out, "THIS ONE"));
    assert_non_null(strstr(ran.err, "[tape-misfit]"));
    ran_release(&ran);
    ran = RUN_WITH(FT PLACES_48 TAPE SIX("48", "24", "48", "24", "54.6656", "53.6656"), "check", "/dev/stdin");
    assert_int_equal(ran.status, 1);
    assert_non_null(strstr(ran.err, "[tape-misfit]"));
    ran_release(&ran);
}

/* The same, each taped once more: now it is found, and what is told to strike it does. */
static void
a_second_taping_finds_it(void **state)
{
    const char *twice = FT PLACES_48 TAPE SIX("48", "24", "48", "24", "54.6656", "53.6656")
        "---\ntape:\n  continues: 3\n  rows:\n" SIX("48.003", "23.998", "48", "24.004", "53.669", "53.662");
    json_t *root = SQUARE(twice, 1), *f = figure(root, 0);
    size_t i;
    json_t *r;
    char struck[2048];
    (void)state;
    assert_int_equal(json_array_size(json_object_get(root, "figures")), 1);
    assert_string_equal(word(f, "state"), "misfit");
    assert_true(json_is_true(json_object_get(f, "located")));
    json_array_foreach(json_object_get(f, "readings"), i, r) {
        bool bad = real(r, "entry") < 3.5 && real(r, "row") > 4.5 && real(r, "row") < 5.5;
        assert_true(json_is_true(json_object_get(r, "suspect")) == bad);
        if (bad)
            assert_near(real(r, "alone_off"), 1, 0.01);
    }
    json_decref(root);
    struct ran ran = RUN_WITH(twice, "square", "/dev/stdin");
    assert_non_null(strstr(ran.out, "It is row 3.5, SW to NE, too long by"));
    assert_non_null(strstr(ran.out, "rodbook strike --row 3.5"));
    ran_release(&ran);
    snprintf(struck, sizeof struck, "%s---\nstrike: {entry: 3, row: 5, reason: \"a foot too much\"}\nby: RO\n", twice);
    root = SQUARE(struck, 0);
    assert_string_equal(word(figure(root, 0), "state"), "good");
    assert_int_equal(json_array_size(json_object_get(figure(root, 0), "readings")), 11);
    json_decref(root);
}

/* Zaki, El Kady and Ahmed, XVIIth ISPRS Congress, Part B3: the data; adjusted lengths ours, not printed there. No places: not judged. */
static void
a_frame_of_no_rectangle(void **state)
{
    json_t *root = SQUARE(M "---\ntape:\n  sigma: 10 mm\n  rows:\n" ROW("A", "B", "134.1785") ROW("A", "C", "277.5364") ROW("D", "A", "216.7437")
        ROW("B", "C", "193.7887") ROW("D", "B", "217.3715") ROW("C", "D", "151.1014"), 0), *f = figure(root, 0);
    (void)state;
    assert_string_equal(word(f, "state"), "not judged");
    assert_near(real(length_of(f, "A", "B"), "adjusted"), 134.17815, 0.00001);
    assert_near(real(length_of(f, "A", "C"), "adjusted"), 277.53702, 0.00001);
    assert_near(real(length_of(f, "B", "D"), "adjusted"), 217.37197, 0.00001);
    assert_true(json_is_null(json_object_get(length_of(f, "A", "B"), "off")));
    assert_true(json_is_null(json_object_get(at(f, "corners", "A"), "out")));
    assert_true(json_is_true(json_object_get(f, "guessed")));
    assert_near(real(at(f, "corners", "A"), "sigma_x"), 0, 0);
    assert_near(real(at(f, "corners", "B"), "sigma_y"), 0, 0);
    json_decref(root);
    root = SQUARE(M TAPE ROW("A", "B", "8") ROW("B", "C", "5") ROW("C", "D", "6.5") ROW("A", "D", "4.8") ROW("A", "C", "9.1"), 0);
    assert_string_equal(word(figure(root, 0), "state"), "not judged");
    assert_int_equal(real(figure(root, 0), "redundancy"), 0);
    assert_string_equal(word(json_array_get(json_object_get(figure(root, 0), "missing"), 0), "to"), "D");
    json_decref(root);
}

static void
what_is_missing_is_named(void **state)
{
    struct ran r = RUN_WITH(FT PLACES_24 TAPE ROW("SW", "SE", "24") ROW("SE", "NE", "12") ROW("NE", "NW", "24") ROW("NW", "SW", "12"), "square", "/dev/stdin");
    (void)state;
    assert_int_equal(r.status, 1);
    assert_non_null(strstr(r.out, "NOT ENOUGH LENGTHS"));
    assert_non_null(strstr(r.out, "2 are not taped: SW to\n  NE; SE to NW."));
    ran_release(&r);
    r = RUN_WITH(FT PLACES_24 TAPE ROW("SW", "SE", "24") ROW("SE", "NE", "12") ROW("NE", "NW", "24") ROW("NW", "SW", "12") ROW("SW", "NE", "26.833"),
        "square", "/dev/stdin");
    assert_int_equal(r.status, 0);
    assert_non_null(strstr(r.out, "GOOD, IF THESE FIVE ARE RIGHT"));
    assert_non_null(strstr(r.out, "Nothing checks these five lengths: tape SE to NW as well"));
    ran_release(&r);
    r = RUN_WITH(FT "---\npoints: {SW: {x: 0, y: 0}}\n", "square", "/dev/stdin");
    assert_int_equal(r.status, 2);
    assert_non_null(strstr(r.err, "[no-tape]"));
    ran_release(&r);
}

/* ---- triangles ---- */

/* howded.com/en/pages/239243 gives 40, 40, 55 for a right angle. It is none: 56.57 is wanted, and 55 is 86.87 degrees. */
static void
a_published_triangle_is_not_square(void **state)
{
    const char *record = FT TAPE ROW("A", "B", "40") ROW("B", "C", "40") ROW("C", "A", "55");
    json_t *root = SQUARE(record, 1), *f = figure(root, 0);
    (void)state;
    assert_string_equal(word(f, "shape"), "triangle");
    assert_string_equal(word(f, "state"), "outside");
    assert_string_equal(word(f, "square_at"), "B");
    assert_near(real(at(f, "corners", "B"), "angle"), 86.87, 0.005);
    assert_near(real(f, "needs"), 56.57, 0.005);
    assert_near(real(f, "needs_off"), 55 - 56.5685, 0.00005);
    json_decref(root);
    struct ran r = RUN_WITH(record, "square", "/dev/stdin");
    assert_non_null(strstr(r.out, "A right angle at B needs C to A at 56.569 ft; taped it is 55.000 ft, short 1 ft 6-13/16 in"));
    ran_release(&r);
    r = RUN_WITH(FT TAPE ROW("A", "B", "40") ROW("B", "C", "40") ROW("C", "A", "95"), "square", "/dev/stdin");
    assert_int_equal(r.status, 1);
    assert_non_null(strstr(r.out, "THREE OF THEM DO NOT CLOSE"));
    assert_non_null(strstr(r.out, "15 ft 0 in too short"));
    ran_release(&r);
}

/* 3-4-5 and its multiples, and 1500, 2000, 2500 mm, are square; 3/4 in per 100 ft of the 5-leg is the published tolerance, 3/8 in at 50 ft. */
static void
three_four_five(void **state)
{
    static const struct {
        const char *record;
        const char *state;
        int status;
        double tolerance;
    } triangle[] = {
        { FT "---\ntape:\n  sigma: 0.001\n  rows:\n" ROW("A", "B", "9") ROW("B", "C", "12") ROW("C", "A", "15"), "good", 0, 15.0 / 1600 },
        { FT "---\ntape:\n  sigma: 0.001\n  rows:\n" ROW("A", "B", "30") ROW("B", "C", "40") ROW("C", "A", "50"), "good", 0, 0.375 / 12 },
        { FT "---\ntape:\n  sigma: 0.001\n  rows:\n" ROW("A", "B", "30") ROW("B", "C", "40") ROW("C", "A", "50.04"), "outside", 1, 0.375 / 12 },
        { M "---\ntape:\n  tolerance: 4 mm\n  sigma: 1 mm\n  rows:\n" ROW("A", "B", "1.5") ROW("B", "C", "2") ROW("C", "A", "2.5"), "good", 0, 0.004 },
        { M TAPE ROW("A", "B", "5") ROW("B", "C", "5.5") ROW("C", "A", "6"), "not judged", 0, -1 },
    };
    (void)state;
    for (size_t i = 0; i < sizeof triangle / sizeof *triangle; i++) {
        json_t *root = SQUARE(triangle[i].record, triangle[i].status);
        assert_string_equal(word(figure(root, 0), "state"), triangle[i].state);
        if (triangle[i].tolerance > 0) {
            assert_near(real(figure(root, 0), "needs_tolerance"), triangle[i].tolerance, 1e-9);
            assert_string_equal(word(figure(root, 0), "square_at"), "B");
        }
        json_decref(root);
    }
}

/* ---- verdicts, positions, several figures ---- */

/* Within the tolerance by what was read, and not surely. sigma 1/16 in; the diagonals of 24 by 12 may differ by 0.201 in. */
static void
sure_or_not(void **state)
{
    const char *record = FT PLACES_24 TAPE SIX("24", "12", "24", "12", "26.838", "26.827");
    json_t *root = SQUARE(record, 0);
    (void)state;
    assert_string_equal(word(figure(root, 0), "state"), "good");
    assert_near(real(figure(root, 0), "sigma"), 1.0 / 16 / 12, 1e-9);
    assert_true(json_is_false(json_object_get(figure(root, 0), "sigma_stated")));
    assert_near(real(figure(root, 0), "diagonals_tolerance"), 0.201 / 12, 0.0005 / 12);
    assert_near(real(length_of(figure(root, 0), "SW", "SE"), "tolerance"), 0.25 / 12, 1e-9);
    json_decref(root);
    root = RESULTS(record, 1, "--confidence", "99.9");
    assert_string_equal(word(figure(root, 0), "state"), "unsure");
    assert_string_equal(word(figure(root, 0), "diagonals_verdict"), "unsure");
    json_decref(root);
    struct ran r = RUN_WITH(FT "---\npoints: {SW: {x: 0, y: 0}, SE: {x: 120, y: 0}, NE: {x: 120, y: 30}, NW: {x: 0, y: 30}}\n" TAPE
        SIX("120", "30", "120", "30", "123.693", "123.693"), "square", "/dev/stdin");
    assert_int_equal(r.status, 0);
    assert_non_null(strstr(r.out, "NOT JUDGED WHOLE"));
    ran_release(&r);
}

#define SKEWED SIX("24", "12", "24", "12", "26.7500", "26.9155")

static void
a_later_position_is_held_against_the_slide(void **state)
{
    static const struct {
        const char *rows, *word;
        int status;
    } later[] = {
        { SIX("24", "12", "24", "12", "26.8328", "26.8328"), "done", 0 },
        { SIX("24", "12", "24", "12", "26.7750", "26.8905"), "short", 1 },
        { SIX("24", "12", "24", "12", "26.9155", "26.7500"), "past", 1 },
        { SIX("24", "12", "24", "12", "26.6670", "26.9976"), "wrong way", 1 },
    };
    char record[2048];
    (void)state;
    for (size_t i = 0; i < sizeof later / sizeof *later; i++) {
        snprintf(record, sizeof record, "%s%s%s", FT PLACES_24 TAPE SKEWED, TAPE, later[i].rows);
        json_t *root = SQUARE(record, later[i].status), *f = figure(root, 1);
        assert_true(json_is_false(json_object_get(figure(root, 0), "last")));
        assert_true(json_is_true(json_object_get(f, "last")));
        assert_int_equal(real(f, "position"), 2);
        assert_int_equal(real(f, "before"), 3);
        assert_string_equal(word(f, "moved"), later[i].word);
        assert_near(real(f, "asked"), real(figure(root, 0), "slide"), 1e-9);
        assert_true(real(f, "asked") > 0.09); /* 1-1/8 in, from NW to NE: the shorter diagonal is SW to NE */
        assert_near(real(f, "done"), real(figure(root, 0), "slide") - real(f, "slide"), 1.1e-8);
        json_decref(root);
    }
    snprintf(record, sizeof record, "%s%s", FT PLACES_24 TAPE SKEWED, TAPE ROW("SW", "NE", "26.833") ROW("SE", "NW", "26.833"));
    struct ran r = RUN_WITH(record, "square", "/dev/stdin"); /* only the diagonals: nobody knows the rest */
    assert_int_equal(r.status, 1);
    assert_non_null(strstr(r.out, "TAPED AGAIN IN PART since, in entry 4"));
    assert_non_null(strstr(r.out, "write continues:\n  3 in this one."));
    ran_release(&r);
    snprintf(record, sizeof record, "%s%s", FT PLACES_24 TAPE SIX("24", "12", "24", "12", "26.8328", "26.8328"), TAPE SKEWED);
    json_t *root = SQUARE(record, 1);
    assert_string_equal(word(figure(root, 1), "moved"), "disturbed");
    json_decref(root);
}

/* Stakes and strings, a check triangle at a corner of the stakes, and a distance along a wall: four figures of one entry. */
static void
one_entry_may_have_several_figures(void **state)
{
    json_t *root = SQUARE(FT "---\npoints: {SW: {x: 0, y: 0}, SE: {x: 24, y: 0}, NE: {x: 24, y: 12}, NW: {x: 0, y: 12}, K: {x: -1, y: -1}, L: {x: 25, y: -1},"
        " M: {x: 25, y: 13}, N: {x: -1, y: 13}, A1: {x: 0, y: 0}, A2: {x: 6, y: 0}, A3: {x: 12, y: 0}, A4: {x: 18, y: 0}}\n"
        "---\ntape:\n  sigma: 0.002\n  rows:\n" SIX("24", "12", "24", "12", "26.833", "26.833") ROW("K", "L", "26") ROW("L", "M", "14") ROW("M", "N", "26")
        ROW("N", "K", "14") ROW("K", "M", "29.53") ROW("SW", "m6", "6") ROW("SW", "m8", "8") ROW("m6", "m8", "10")
        ROW("A1", "A2", "6") ROW("A1", "A3", "12.003") ROW("A1", "A4", "18"), 0);
    static const char *const shapes[] = { "frame", "triangle", "frame", "length", "length", "length" };
    (void)state;
    assert_int_equal(json_array_size(json_object_get(root, "figures")), 6);
    for (size_t i = 0; i < 6; i++)
        assert_true(strcmp(word(figure(root, i), "shape"), shapes[i]) == 0 || i < 3);
    int frames = 0, triangles = 0;
    for (size_t i = 0; i < 6; i++) {
        frames += strcmp(word(figure(root, i), "shape"), "frame") == 0;
        triangles += strcmp(word(figure(root, i), "shape"), "triangle") == 0;
    }
    assert_int_equal(frames, 2);
    assert_int_equal(triangles, 1);
    json_decref(root);
    struct ran r = RUN_WITH(FT TAPE ROW("A", "B", "10") ROW("B", "C", "10") ROW("C", "D", "10") ROW("D", "E", "10") ROW("E", "A", "10"), "square", "/dev/stdin");
    assert_int_equal(r.status, 1);
    assert_non_null(strstr(r.err, "[tape-frame]"));
    ran_release(&r);
}

/* The base line is the first side booked, from its first end; the corners may be stated. */
static void
the_base_line_is_held(void **state)
{
    json_t *root = SQUARE(FT PLACES_48 TAPE ROW("SW", "NE", "53.88877") ROW("NW", "SW", "24") ROW("SW", "SE", "48") ROW("SE", "NE", "24") ROW("NE", "NW", "48")
        ROW("SE", "NW", "53.44156"), 1), *f = figure(root, 0);
    (void)state;
    assert_string_equal(word(json_array_get(json_object_get(f, "corners"), 0), "at"), "NW");
    assert_near(real(at(f, "corners", "NW"), "x"), 0, 0);
    assert_near(real(at(f, "corners", "NW"), "y"), 24, 0);
    assert_near(real(at(f, "corners", "SW"), "x"), 0, 1e-9);
    assert_near(fabs(real(f, "slide")), 0.5, 0.001); /* 0.25 in 24 is 0.50 in 48 */
    json_decref(root);
    root = SQUARE(FT "---\ntape:\n  corners: [A, B, C, D]\n  rows:\n" ROW("A", "C", "26.833") ROW("A", "B", "24") ROW("C", "D", "24") ROW("B", "C", "12")
        ROW("B", "D", "26.833"), 0);
    f = figure(root, 0);
    assert_true(json_is_false(json_object_get(f, "guessed")));
    assert_near(real(length_of(f, "A", "D"), "adjusted"), 12, 0.001); /* a side was not taped */
    json_decref(root);
}

/* Stakes and strings of a building that a site entry gives: nothing but names is wanted. */
static void
a_site_gives_the_places(void **state)
{
    json_t *root = SQUARE(FT "---\nsite:\n  length: 24\n  width: 12\n  post: 5-1/2 in\n  corners: [SW, SE, NE, NW]\n  rows:\n    A: {wall: front, spacing: 6}\n" TAPE
        SIX("24", "12", "24", "12", "26.833", "26.833") ROW("SW string", "SE string", "24' 11\"") ROW("SE string", "NE string", "12' 11\"")
        ROW("NE string", "NW string", "24' 11\"") ROW("NW string", "SW string", "12' 11\"") ROW("SW string", "NE string", "28' 0-13/16\"")
        ROW("SE string", "NW string", "28' 0-13/16\""), 0);
    (void)state;
    assert_int_equal(json_array_size(json_object_get(root, "figures")), 2);
    for (size_t i = 0; i < 2; i++)
        assert_string_equal(word(figure(root, i), "state"), "good");
    assert_near(real(length_of(figure(root, 1), "SW string", "SE string"), "intended"), 24 + 11.0 / 12, 1e-9);
    assert_near(real(length_of(figure(root, 1), "SW string", "NE string"), "intended"), hypot(24 + 11.0 / 12, 12 + 11.0 / 12), 1e-8);
    json_decref(root);
}

/* No line is wider than a page. */
static void
fits_the_page(void **state)
{
    static const char *const records[] = {
        FT PLACES_48 TAPE SIX("48", "24", "48", "24", "54.6656", "53.6656") "---\ntape:\n  continues: 3\n  rows:\n" SIX("48", "24", "48", "24", "53.669", "53.662"),
        FT PLACES_48 TAPE SIX("48", "24", "48", "24", "54.6656", "53.6656"),
        FT PLACES_48 TAPE SIX("48", "24.3", "47.50", "24.0013", "53.4421", "53.6"),
        "---\njob: A\nunit: ft-in\nleast: 1/16 in\n---\npoints: {SW: {x: 0 ft, y: 0 ft}, SE: {x: 24 ft, y: 0 ft}, NE: {x: 24 ft, y: 12 ft}, NW: {x: 0 ft, y: 12 ft}}\n" TAPE
            SIX("24' 0-3/16\"", "11' 11-5/16\"", "23' 11-15/16\"", "12' 0-1/4\"", "26' 9-13/16\"", "26' 10-7/16\""),
        "---\njob: A\nunit: ft-in\nleast: 1/16 in\n---\npoints: {SW: {x: 0 ft, y: 0 ft}, SE: {x: 24 ft, y: 0 ft}, NE: {x: 24 ft, y: 12 ft}, NW: {x: 0 ft, y: 12 ft}}\n" TAPE
            SIX("24' 0-3/16\"", "11' 11-15/16\"", "23' 11-15/16\"", "12' 0-1/4\"", "27' 10-13/16\"", "26' 10-7/16\""),
        M PLACES_24 TAPE SIX("24", "12", "24.3", "12.004", "26.8328", "26.9"),
    };
    (void)state;
    for (size_t i = 0; i < sizeof records / sizeof *records; i++) {
        struct ran r = RUN_WITH(records[i], "square", "/dev/stdin");
        for (char *line = strtok(r.out, "\n"); line; line = strtok(NULL, "\n"))
            if (strlen(line) > 100)
                fail_msg("%zu columns: %s", strlen(line), line);
        ran_release(&r);
    }
}

/* 26.830^2 + 26.835^2 = 1439.9661, 24.000^2 + 12.000^2 + 24.010^2 + 12.000^2 = 1440.4801: 0.51 apart. One taping is good to
 * 1/16 in, 0.0052083 ft; each square to 2 L times that: 2 (0.0052083) root(2880.4462) = 0.5591. */
static void
squares_have_their_doubt(void **state)
{
    (void)state;
    struct ran r = RUN("square", "surveys/fernhill.yaml");
    assert_int_equal(r.status, 0);
    assert_true(ran_says(r.out, "add up to 1439.97 ft2, those of the four sides to 1440.48."));
    assert_true(ran_says(r.out, "here they are 0.51 apart, +- 0.56 by the tape's doubt"));
    ran_release(&r);
    r = RUN("square", "surveys/mill-lane.yaml"); /* residuals that no fraction of an inch shows */
    assert_true(ran_says(r.out, "residual, in"));
    assert_true(ran_says(r.out, "+0.006   0.19"));
    ran_release(&r);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(corrections_of_the_lecture),
        cmocka_unit_test(corrections_of_the_open_text),
        cmocka_unit_test(corrections_in_metres),
        cmocka_unit_test(what_the_tape_shows_when_laying_out),
        cmocka_unit_test(a_skewed_frame_is_slid_back),
        cmocka_unit_test(alike_diagonals_do_not_make_it_square),
        cmocka_unit_test(lengths_that_cannot_belong_together),
        cmocka_unit_test(a_second_taping_finds_it),
        cmocka_unit_test(a_frame_of_no_rectangle),
        cmocka_unit_test(what_is_missing_is_named),
        cmocka_unit_test(a_published_triangle_is_not_square),
        cmocka_unit_test(three_four_five),
        cmocka_unit_test(sure_or_not),
        cmocka_unit_test(a_later_position_is_held_against_the_slide),
        cmocka_unit_test(one_entry_may_have_several_figures),
        cmocka_unit_test(the_base_line_is_held),
        cmocka_unit_test(a_site_gives_the_places),
        cmocka_unit_test(fits_the_page),
        cmocka_unit_test(squares_have_their_doubt),
    };
    return cmocka_run_group_tests_name("square", tests, NULL, NULL);
}
