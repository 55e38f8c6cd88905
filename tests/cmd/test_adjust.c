/*
 * test_adjust.c - rodbook adjust through the whole program: published level nets, then its words and its errors
 *
 * A printed value is held to half its last digit. What no source prints and we
 * computed otherwise is said to be ours. Residuals here are adjusted less
 * observed; where a source has them the other way round its test says so.
 */
#define _POSIX_C_SOURCE 200809L /* fileno, mkstemp */
#include "../program.h"

#include <jansson.h>
#include <stdbool.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))
#define MOST 8 /* observations of a published net */

/* ---- a published net ---- */

struct named {
    const char *at;
    double value;
};

struct column {
    const char *key;
    double scale; /* of what is printed: 1000 for mm of a job in metres */
    double tol;   /* of what is printed: half its last digit */
    bool magnitude; /* the source prints it without its sign */
    size_t n;
    double value[MOST];
};

static json_t *
adjusted(const char *record, int status)
{
    struct ran r = RUN("adjust", "--json", record);
    if (r.status != status)
        fail_msg("%s: exit status %d, wanted %d\n%s", record, r.status, status, r.err);
    json_error_t fault;
    json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, &fault);
    if (!root)
        fail_msg("%s: line %d: %s", record, fault.line, fault.text);
    ran_release(&r);
    return root;
}

static double
number(const json_t *o, const char *key)
{
    const json_t *v = json_object_get(o, key);
    if (!json_is_number(v))
        fail_msg("%s is no number", key);
    return json_number_value(v);
}

static bool
is_null(const json_t *o, const char *key)
{
    const json_t *v = json_object_get(o, key);
    assert_non_null(v); /* the key is always there */
    return json_is_null(v);
}

static json_t *
point(const json_t *root, const char *at)
{
    size_t i;
    json_t *o;
    json_array_foreach(json_object_get(root, "points"), i, o)
    {
        if (strcmp(json_string_value(json_object_get(o, "at")), at) == 0)
            return o;
    }
    fail_msg("%s has no elevation", at);
    return NULL;
}

static void
assert_points(const json_t *root, const char *key, double scale, double tol, const struct named *want, size_t n)
{
    for (size_t i = 0; i < n; i++)
        assert_near(number(point(root, want[i].at), key) * scale, want[i].value, tol);
}

static void
assert_column(const json_t *root, const struct column *c)
{
    const json_t *list = json_object_get(root, "observations");
    assert_int_equal(json_array_size(list), c->n);
    for (size_t i = 0; i < c->n; i++) {
        double got = number(json_array_get(list, i), c->key) * c->scale;
        if (!(fabs((c->magnitude ? fabs(got) : got) - c->value[i]) <= c->tol))
            fail_msg("%s of observation %zu: got %.9f, want %.9f", c->key, i + 1, got, c->value[i]);
    }
}

/* Adjusted observations, as observed and corrected. */
static void
assert_adjusted_observations(const json_t *root, double tol, const double *want, size_t n)
{
    const json_t *list = json_object_get(root, "observations");
    assert_int_equal(json_array_size(list), n);
    for (size_t i = 0; i < n; i++)
        assert_near(number(json_array_get(list, i), "observed") + number(json_array_get(list, i), "residual"), want[i], tol);
}

static void
assert_fit(const json_t *root, const char *key, double want, double tol)
{
    assert_near(number(json_object_get(root, "fit"), key), want, tol);
}

/* Redundancy numbers add up to the degrees of freedom, and there are as many loops. */
static void
assert_laws(const json_t *root)
{
    size_t i;
    json_t *o;
    double sum = 0, freedom = number(json_object_get(root, "fit"), "freedom");
    json_array_foreach(json_object_get(root, "observations"), i, o)
    sum += number(o, "redundancy");
    assert_near(sum, freedom, 1e-8); /* nine decimals are printed */
    assert_int_equal(json_array_size(json_object_get(root, "loops")), (size_t)freedom);
}

/* Source: Z. Siki, Level network adjustment and data snooping (open tutorial).
 * Printed: elevations and adjusted observations to 0.1 mm, residuals and
 * standard deviations (by the fit) to 0.01 mm, statistics to 0.1. The four
 * decimals of redundancies and statistics, and the detectable sizes, are ours. */
static void
l40_redundancies_and_statistics(void **state)
{
    static const struct named elevation[] = { { "1", 104.2350 }, { "2", 103.4868 }, { "3", 102.9588 }, { "4", 101.345 } };
    static const struct named sigma[] = { { "1", 1.13 }, { "2", 1.19 }, { "3", 0.91 } };
    static const double observations[] = { -0.7482, -1.2762, -2.8900, -0.5280, -2.1418, -1.6138 };
    static const struct column columns[] = {
        { "residual", 1000, 0.005, false, 6, { 0.81, -2.18, 0.00, 2.01, -0.81, 0.18 } },
        { "sigma_fit", 1000, 0.005, false, 6, { 1.06, 1.17, 1.13, 1.17, 1.19, 0.91 } },
        { "redundancy", 1, 0.05, false, 6, { 0.3, 0.7, 0.5, 0.5, 0.7, 0.2 } },
        { "studentised", 1, 0.05, true, 6, { 1.1, 1.3, 0.0, 1.6, 0.4, 0.4 } },
        { "normalised", 1, 0.05, true, 6, { 1.9, 2.1, 0.0, 2.6, 0.7, 0.6 } },
        /* ours, not published: */
        { "redundancy", 1, 0.00005, false, 6, { 0.3140, 0.6865, 0.5112, 0.5466, 0.7073, 0.2344 } },
        { "normalised", 1, 0.0005, true, 6, { 1.880, 2.085, 0.004, 2.592, 0.722, 0.590 } },
        { "detectable", 1000, 0.005, false, 6, { 5.68, 6.28, 5.66, 5.87, 6.53, 5.38 } },
    };
    (void)state;
    json_t *root = adjusted("tests/handbook/l40.yaml", 0);
    assert_points(root, "adjusted", 1, 0.00005, elevation, COUNT(elevation));
    assert_points(root, "sigma_fit", 1000, 0.005, sigma, COUNT(sigma));
    assert_adjusted_observations(root, 0.00005 + 1e-9, observations, COUNT(observations));
    for (size_t i = 0; i < COUNT(columns); i++)
        assert_column(root, &columns[i]);
    assert_fit(root, "unit_fit", 1.65, 0.0051); /* 1.65498 */
    assert_fit(root, "sum_squares", 8.217, 0.0005);
    assert_fit(root, "freedom", 3, 0);
    assert_laws(root);
    json_decref(root);
}

/* Source: F. Krumm, Statistical Inference, Rev. 2.44a, Institute of Geodesy,
 * University of Stuttgart (2018), slides 53-54. A free net there, the sum of
 * its elevations held; point 1 held at its 93.4580 gives the same. Elevations
 * to 0.1 mm, the other way round residuals to 1 um, adjusted observations to
 * 10 um. Misprint: the 2nd adjusted observation stands as 9.998 96; 9.995 +
 * 0.003 857 is 9.998 86. Degrees of freedom and s0 are ours. With a sigma of
 * 1 mm, which is ours too, the residuals are far too large: exit status 1. */
static void
l41_free_net_held_by_one_point(void **state)
{
    static const struct named elevation[] = { { "1", 93.4580 }, { "2", 107.7581 }, { "3", 103.4569 }, { "4", 100.4624 },
        { "5", 110.9566 } };
    static const double observations[] = { 14.30014, 9.99886, 7.00443, 17.49857, 4.30129, 2.99443, -3.19843 };
    static const struct column residual = { "residual", -1000, 0.0005, false, 7,
        { 0.857, -3.857, 1.571, 1.429, -2.286, 1.571, 1.429 } };
    (void)state;
    json_t *root = adjusted("tests/handbook/l41.yaml", 1);
    assert_points(root, "adjusted", 1, 0.00005, elevation, COUNT(elevation));
    assert_adjusted_observations(root, 0.000005 + 1e-9, observations, COUNT(observations));
    assert_column(root, &residual);
    assert_fit(root, "sum_squares", 29.857, 0.0005);
    assert_fit(root, "freedom", 3, 0);
    assert_fit(root, "unit_fit", 3.155, 0.0005);
    assert_laws(root);
    json_decref(root);
}

/* Source: Wuhan University, a solved exercise, no. 6. Printed: elevations to
 * 0.1 mm. All other values are ours. The unit is 1 mm a root kilometre; going
 * by that the sum of squares, 10 for 2 degrees of freedom, is too large. */
static void
l44_between_three_bench_marks(void **state)
{
    static const struct named elevation[] = { { "P1", 12.0047 }, { "P2", 12.5083 } };
    static const struct named sigma[] = { { "P1", 1.49 }, { "P2", 2.36 } };
    static const struct column columns[] = {
        { "residual", 1000, 0.0005, false, 4, { 1.667, 2.667, -2.667, -0.333 } },
        { "redundancy", 1, 0.00005, false, 4, { 0.5556, 0.4444, 0.4444, 0.5556 } },
    };
    (void)state;
    json_t *root = adjusted("tests/handbook/l44.yaml", 1);
    assert_points(root, "adjusted", 1, 0.00005, elevation, COUNT(elevation));
    assert_points(root, "sigma_fit", 1000, 0.005, sigma, COUNT(sigma));
    for (size_t i = 0; i < COUNT(columns); i++)
        assert_column(root, &columns[i]);
    assert_fit(root, "sum_squares", 10.0, 1e-6);
    assert_fit(root, "unit_fit", 2.236, 0.0005);
    assert_laws(root);
    json_decref(root);
}

/* Source: C. D. Ghilani and P. R. Wolf, Adjustment Computations, chapter on
 * level nets: data and results from memory, to 0.001 ft; a computation of ours
 * agrees with what is remembered. */
static void
l46_seven_lines_unweighted(void **state)
{
    static const struct named elevation[] = { { "A", 105.141 }, { "B", 104.483 }, { "C", 106.188 } };
    static const struct column residual = { "residual", 1, 0.0005, false, 7,
        { 0.041, 0.019, -0.062, -0.058, 0.022, -0.017, 0.005 } };
    (void)state;
    json_t *root = adjusted("tests/handbook/l46a.yaml", 0);
    assert_points(root, "adjusted", 1, 0.0005, elevation, COUNT(elevation));
    assert_column(root, &residual);
    assert_fit(root, "unit_fit", 0.050, 0.0005); /* weights 1: sigmas of a foot */
    assert_fit(root, "freedom", 4, 0);
    assert_laws(root);
    json_decref(root);
}

/* The same, weights 12 over miles. */
static void
l46_seven_lines_weighted(void **state)
{
    static const struct named elevation[] = { { "A", 105.150 }, { "B", 104.489 }, { "C", 106.197 } };
    static const struct column residual = { "residual", 1, 0.0005, false, 7,
        { 0.050, 0.010, -0.053, -0.067, 0.019, -0.011, 0.008 } };
    (void)state;
    json_t *root = adjusted("tests/handbook/l46b.yaml", 0);
    assert_points(root, "adjusted", 1, 0.0005, elevation, COUNT(elevation));
    assert_column(root, &residual);
    assert_fit(root, "unit_fit", 0.107, 0.0005);
    assert_laws(root);
    json_decref(root);
}

/* Source: E. M. Mikhail and F. Ackermann, Observations and Least Squares
 * (1976), Example 7.4, Table 7-1: data, and that cofactors are proportional to
 * length. All results are ours, to the digits that are given. */
static void
l48_eight_lines(void **state)
{
    static const struct named elevation[] = { { "B", 825.2206 }, { "C", 835.5354 }, { "D", 809.5339 }, { "E", 830.8460 } };
    static const struct named sigma[] = { { "B", 0.1805 }, { "C", 0.1615 }, { "D", 0.2010 }, { "E", 0.1711 } };
    static const struct column columns[] = {
        { "residual", 1, 0.00005, false, 8, { -0.1994, -0.0252, -0.3354, -0.1467, -0.0079, -0.1306, 0.1740, 0.1085 } },
        { "redundancy", 1, 0.00005, false, 8, { 0.5547, 0.4037, 0.5459, 0.5487, 0.4715, 0.4538, 0.4754, 0.5462 } },
    };
    (void)state;
    json_t *root = adjusted("tests/handbook/l48.yaml", 0);
    assert_points(root, "adjusted", 1, 0.00005, elevation, COUNT(elevation));
    assert_points(root, "sigma_fit", 1, 0.00005, sigma, COUNT(sigma));
    for (size_t i = 0; i < COUNT(columns); i++)
        assert_column(root, &columns[i]);
    assert_fit(root, "sum_squares", 0.0161714, 0.5e-7);
    assert_fit(root, "unit_fit", 0.0635834, 0.6e-7); /* the root of the rounded sum; in fractions 0.06358335 */
    assert_laws(root);
    json_decref(root);
}

/* ---- records of our own ---- */

struct file {
    char name[32];
};

static struct file
record_of(const char *rules, const char *rest)
{
    struct file f = { "/tmp/adjust-XXXXXX" };
    int fd = mkstemp(f.name);
    assert_true(fd >= 0);
    FILE *out = fdopen(fd, "w");
    assert_non_null(out);
    fprintf(out, "---\njob: Sheep pens\nunit: m\nleast: 0.001\n%s%s", rules, rest);
    assert_int_equal(fclose(out), 0);
    return f;
}

#define HELD "---\nmarks:\n  BM1: {elevation: 10.000}\n"
#define LEVELS "---\nlevels:\n  readings:\n"
#define LOOP HELD LEVELS "    - {at: BM1, bs: 1.500}\n    - {at: B1, on: batten, is: 1.250}\n    - {at: TP1, fs: 1.200, bs: 1.300}\n" \
    "    - {at: BM1, fs: 1.592}\n"

static void
assert_says(const char *text, const char *want)
{
    if (!strstr(text, want))
        fail_msg("it does not say \"%s\":\n%s", want, text);
}

/* A loop of two set-ups that is 8 mm out: all by hand. Four sights of sigma
 * s = 0.5 mm: each residual is 2 mm, each redundancy 1/4, vPv = 4 (2/0.5)^2 = 64. */
static void
a_loop_worked_out_by_hand(void **state)
{
    (void)state;
    struct file f = record_of("", LOOP);
    json_t *root = adjusted(f.name, 1);
    const json_t *list = json_object_get(root, "observations");
    static const double residual[] = { -0.002, 0, 0.002, -0.002, 0.002 };
    for (size_t i = 0; i < COUNT(residual); i++) {
        const json_t *o = json_array_get(list, i);
        bool batten = i == 1;
        assert_near(number(o, "redundancy"), batten ? 0 : 0.25, 0);
        assert_int_equal(is_null(o, "residual"), batten);
        assert_int_equal(is_null(o, "normalised"), batten);
        assert_int_equal(is_null(o, "detectable"), batten);
        assert_int_equal(is_null(o, "tau_test"), true); /* one degree of freedom */
        assert_near(number(o, "sigma"), batten ? 0.0005 : 0.0005 * sqrt(0.75), 1e-9);
        if (batten)
            continue;
        assert_near(number(o, "residual"), residual[i], 1e-9);
        assert_near(number(o, "normalised"), 8, 1e-8);
        assert_near(number(o, "studentised"), 1, 1e-9); /* always, with one degree of freedom */
        assert_near(number(o, "detectable"), 0.0005 * 4.13215 / 0.5, 1e-8);
    }
    assert_fit(root, "sum_squares", 64, 1e-8);
    assert_fit(root, "unit_fit", 8, 1e-9);
    /* tables of chi-square with 1 degree of freedom: 0.000982, 5.024 */
    assert_fit(root, "least", 0.000982, 0.5e-6);
    assert_fit(root, "most", 5.024, 0.0005);
    assert_string_equal(json_string_value(json_object_get(point(root, "B1"), "check")), "once");
    assert_string_equal(json_string_value(json_object_get(point(root, "TP1"), "check")), "checked");
    assert_string_equal(json_string_value(json_object_get(point(root, "BM1"), "check")), "held");
    assert_near(number(point(root, "B1"), "adjusted"), 10.248, 1e-9);
    const json_t *loop = json_array_get(json_object_get(root, "loops"), 0);
    assert_near(number(loop, "misclosure"), 0.008, 0); /* as close has it */
    assert_near(number(loop, "sigma"), 0.001, 1e-12);
    assert_near(number(loop, "ratio"), 8, 1e-9);
    json_decref(root);
    unlink(f.name);
}

static void
says_it_in_a_sentence_each(void **state)
{
    (void)state;
    struct file f = record_of("", LOOP);
    struct ran r = RUN("adjust", f.name);
    assert_int_equal(r.status, 1);
    assert_says(r.out, "A reading is taken to be good to 0.50 mm, half the least division; going by how they fit together");
    assert_says(r.out, "That is worse than chance brings");
    assert_says(r.out, "Read once, so that a wrong reading would not show: B1 batten.");
    assert_says(r.out, "4 observations lie further off than chance explains; look first at BS BM1 in row 3.1.");
    assert_says(r.out, "nothing checks it");
    assert_string_equal(r.err, "");
    ran_release(&r);
    unlink(f.name);
}

/* One reading: nothing to fit, nothing to test. */
static void
one_reading_has_no_freedom(void **state)
{
    (void)state;
    struct file f = record_of("", HELD LEVELS "    - {at: BM1, bs: 1.500}\n");
    json_t *root = adjusted(f.name, 0);
    const json_t *fit = json_object_get(root, "fit"), *o = json_array_get(json_object_get(root, "observations"), 0);
    assert_near(number(fit, "freedom"), 0, 0);
    static const char *const unknown[] = { "unit_fit", "least", "most", "verdict", "tau_level", "tau_limit", "reading_sigma_fit" };
    for (size_t i = 0; i < COUNT(unknown); i++)
        assert_true(is_null(fit, unknown[i]));
    static const char *const untold[] = { "residual", "sigma_fit", "normalised", "studentised", "detectable", "normal_test", "tau_test" };
    for (size_t i = 0; i < COUNT(untold); i++)
        assert_true(is_null(o, untold[i]));
    assert_int_equal(json_array_size(json_object_get(root, "loops")), 0);
    json_decref(root);
    struct ran r = RUN("adjust", f.name);
    assert_says(r.out, "Nothing is observed more often than it must be");
    assert_says(r.out, "degrees of freedom 0");
    ran_release(&r);
    unlink(f.name);
}

static void
no_levels_are_no_error(void **state)
{
    (void)state;
    struct file f = record_of("", HELD);
    struct ran r = RUN("adjust", f.name);
    assert_int_equal(r.status, 0);
    assert_says(r.out, "No levels are booked yet.");
    ran_release(&r);
    json_decref(adjusted(f.name, 0));
    unlink(f.name);
}

struct fault {
    const char *rules, *rest, *says;
};

static void
errors_name_the_points(void **state)
{
    static const struct fault faults[] = {
        { "", LEVELS "    - {at: P, bs: 1.500}\n    - {at: Q, fs: 1.200}\n", "nothing ties P, Q to a mark" },
        { "", LOOP "---\nsections:\n  rows:\n    - {from: U, to: V, rise: 0.500, sigma: 1 mm}\n", "nothing ties U, V to a mark" },
        { "", LOOP "---\nsections:\n  rows:\n    - {from: BM1, to: V, rise: 0.500, dist: 1 km}\n", "section BM1 to V" },
        { "sigma: 0\n", LOOP, "[range]" },
        { "sigma-km: -2 mm\n", LOOP, "[range]" },
    };
    (void)state;
    for (size_t i = 0; i < COUNT(faults); i++) {
        struct file f = record_of(faults[i].rules, faults[i].rest);
        struct ran r = RUN("adjust", f.name);
        assert_int_equal(r.status, 2);
        assert_string_equal(r.out, "");
        assert_says(r.err, faults[i].says);
        ran_release(&r);
        unlink(f.name);
    }
}

static void
confidence_is_read_and_held_to(void **state)
{
    static const char *const refused[] = { "49", "100", "0", "-5", "95%", "1e2", "", "nan", "9 5" };
    (void)state;
    for (size_t i = 0; i < COUNT(refused); i++) {
        struct ran r = RUN("adjust", "--confidence", refused[i], "tests/handbook/l40.yaml");
        assert_int_equal(r.status, 2);
        assert_says(r.err, "--confidence wants per cent");
        ran_release(&r);
    }
    struct ran r = RUN("adjust", "--json", "--confidence", "90", "tests/handbook/l40.yaml");
    assert_int_equal(r.status, 1); /* 8.217 is beyond the 7.815 of 3 degrees of freedom and 5 per cent above */
    assert_says(r.out, "\"most\":7.8147");
    assert_says(r.out, "\"verdict\":\"worse\"");
    ran_release(&r);
}

/* A section between two held marks adjusts nothing, and is a check all the same. */
static void
a_section_between_held_marks_counts(void **state)
{
    (void)state;
    struct file f = record_of("",
        HELD "  BM2: {elevation: 12.000}\n---\nsections:\n  rows:\n    - {from: BM1, to: BM2, rise: 2.003, sigma: 1.5 mm}\n"
             "    - {from: BM1, to: S, rise: 1.001, sigma: 2 mm}\n    - {from: S, to: BM2, rise: 1.001, sigma: 2 mm}\n");
    json_t *root = adjusted(f.name, 0);
    assert_fit(root, "freedom", 2, 0);
    assert_fit(root, "sum_squares", 4.5, 1e-8); /* (3/1.5)^2 + 2 (1/2)^2 */
    const json_t *last = json_array_get(json_object_get(root, "observations"), 2);
    assert_string_equal(json_string_value(json_object_get(last, "to")), "BM2");
    assert_near(number(last, "redundancy"), 1, 0);
    assert_near(number(last, "residual"), -0.003, 1e-12);
    assert_laws(root);
    json_decref(root);
    unlink(f.name);
}

/* A mark with a standard deviation is an observation by least squares, and held by set-ups. Its elevation and the section
 * to it have equal weights and are 4 mm apart: it gives way by half of that. */
static void
a_mark_with_sigma_gives_way(void **state)
{
    static const char rest[] = "---\nmarks:\n  BM1: {elevation: 10.000}\n  W: {elevation: 11.000, sigma: 2 mm}\n---\nsections:\n"
                               "  rows:\n    - {from: BM1, to: W, rise: 1.004, sigma: 2 mm, setups: 1}\n";
    (void)state;
    struct file f = record_of("spread: least-squares\n", rest);
    json_t *root = adjusted(f.name, 0);
    assert_near(number(point(root, "W"), "adjusted"), 11.002, 1e-9);
    assert_near(number(point(root, "W"), "sigma"), 0.002 / sqrt(2), 1e-9);
    assert_near(number(json_array_get(json_object_get(root, "observations"), 1), "residual"), 0.002, 1e-9);
    json_decref(root);
    struct ran r = RUN("close", f.name);
    assert_says(r.out, "spread by least squares");
    assert_says(r.out, "11.0020  mark, given with a standard deviation");
    ran_release(&r);
    unlink(f.name);
    f = record_of("spread: setups\n", rest);
    r = RUN("close", f.name);
    assert_says(r.out, "spread by set-ups");
    assert_says(r.out, "11.0000  mark, given");
    ran_release(&r);
    unlink(f.name);
}

#define OUT_AND_HOME(read_home) LEVELS "    - {at: BM1, bs: 1.500}\n    - {at: TP1, fs: 1.200, bs: 1.400}\n    - {at: FAR, fs: 1.100}\n" \
    LEVELS "    - {at: BM1, bs: 1.510}\n    - {at: TP2, fs: 1.200, bs: 1.400}\n    - {at: FAR, fs: " read_home "}\n"

/* Two roads to one far point: hand methods leave both unchecked, least squares checks each by the other. */
static void
a_spur_that_another_line_closes(void **state)
{
    (void)state;
    struct file f = record_of("spread: least-squares\nallow: {misclosure: 5 mm, per: root-setup}\n", HELD OUT_AND_HOME("1.107"));
    struct ran r = RUN("close", f.name);
    assert_int_equal(r.status, 0);
    assert_says(r.out, "spur BM1 to FAR, 2 set-ups from 3.1: closed by other lines");
    assert_says(r.out, "  3.2     TP1   FAR  +0.300             +0.0015   10.6015");
    assert_says(r.out, "  4.2     TP2   FAR  +0.293             -0.0015   10.6015");
    assert_null(strstr(r.out, "unchecked"));
    ran_release(&r);
    unlink(f.name);
    f = record_of("spread: setups\n", HELD OUT_AND_HOME("1.107"));
    r = RUN("close", f.name);
    assert_says(r.out, "unchecked, nothing closes it");
    ran_release(&r);
    unlink(f.name);
}

/* What is outside its limit is not spread over its neighbours: the good loop closes as if the bad one were not there. */
static void
a_line_outside_spoils_no_other(void **state)
{
    static const char good[] = LEVELS "    - {at: BM1, bs: 1.500}\n    - {at: TP1, fs: 1.200, bs: 1.300}\n    - {at: BM1, fs: 1.592}\n";
    static const char bad[] = LEVELS "    - {at: TP1, bs: 1.400}\n    - {at: S, fs: 1.000, bs: 1.100}\n    - {at: BM1, fs: 1.900}\n";
    static const char rules[] = "spread: least-squares\nallow: {misclosure: 8 mm, per: root-setup}\n";
    char both[1024];
    (void)state;
    snprintf(both, sizeof both, "%s%s%s", HELD, good, bad);
    struct file f = record_of(rules, both);
    struct ran r = RUN("close", f.name);
    assert_int_equal(r.status, 1);
    assert_says(r.err, "it is not spread");
    assert_says(r.out, "  TP1    mark     10.300     -0.0040   10.2960"); /* half of 8 mm, as without the bad line */
    assert_says(r.out, "NOT ADJUSTED");
    ran_release(&r);
    r = RUN("close", "--spread-anyway", f.name);
    assert_null(strstr(r.out, "10.2960"));
    ran_release(&r);
    r = RUN("adjust", f.name);
    assert_int_equal(r.status, 1);
    assert_says(r.err, "adjusted with all the rest");
    assert_says(r.out, "OUTSIDE");
    ran_release(&r);
    unlink(f.name);
}

/* Parts that only a held mark joins are counted apart. */
static void
pieces_are_counted_apart(void **state)
{
    (void)state;
    struct file f = record_of("", LOOP LEVELS "    - {at: BM1, bs: 1.400}\n    - {at: E, fs: 1.300, bs: 1.200}\n    - {at: BM1, fs: 1.299}\n");
    json_t *root = adjusted(f.name, 1);
    const json_t *pieces = json_object_get(root, "pieces");
    assert_int_equal(json_array_size(pieces), 2);
    assert_near(number(json_array_get(pieces, 0), "points"), 2, 0);
    assert_near(number(json_array_get(pieces, 1), "points"), 1, 0);
    assert_near(number(json_array_get(pieces, 0), "freedom"), 1, 0);
    assert_near(number(json_array_get(pieces, 1), "freedom"), 1, 0);
    assert_near(number(point(root, "E"), "piece"), 2, 0);
    json_decref(root);
    struct ran r = RUN("adjust", f.name);
    assert_says(r.out, "The job falls into 2 pieces that only held marks join");
    ran_release(&r);
    unlink(f.name);
}

/* Behind a struck or missing check, everything that hangs on it is named. */
static void
spurs_are_named(void **state)
{
    (void)state;
    struct file f = record_of("", LOOP LEVELS "    - {at: TP1, bs: 1.400}\n    - {at: E, fs: 1.300, bs: 1.200}\n    - {at: G, is: 1.299}\n");
    struct ran r = RUN("adjust", f.name);
    assert_says(r.out, "On a spur, so that a wrong reading on the way there would not show: E, G.");
    ran_release(&r);
    unlink(f.name);
}

/* The example of docs/method.md, and what it says of it, are what the program prints. */
static void
the_method_s_example_is_as_printed(void **state)
{
    (void)state;
    FILE *f = fopen("docs/method.md", "rb");
    assert_non_null(f);
    char *method = ran_text(f), *start = strstr(method, "```yaml\n---\njob: Sheep pens");
    assert_non_null(start);
    start += strlen("```yaml\n");
    char *end = strstr(start, "```"), name[] = "/tmp/adjust-XXXXXX";
    int fd = mkstemp(name);
    assert_true(end && fd >= 0 && write(fd, start, (size_t)(end - start)) == end - start && close(fd) == 0);
    static const char *const commands[] = { "close", "adjust" };
    for (size_t i = 0; i < COUNT(commands); i++) {
        char head[32];
        snprintf(head, sizeof head, "From `rodbook %s", commands[i]);
        char *block = strstr(end, head);
        assert_non_null(block);
        block = strstr(block, "```\n") + 4;
        *strstr(block, "```") = '\0';
        struct ran r = RUN(commands[i], name);
        assert_says(r.out, block);
        ran_release(&r);
        end = block + strlen(block) + 1;
    }
    free(method);
    unlink(name);
}

/* No line of any demo job's sheet is wider than a page. */
static void
fits_a_page(void **state)
{
    static const char *const records[] = { "surveys/fernhill.yaml", "surveys/mill-lane.yaml", "surveys/quay-nursery.yaml",
        "tests/handbook/l40.yaml", "tests/handbook/l46b.yaml", "tests/handbook/l48.yaml" };
    (void)state;
    for (size_t i = 0; i < COUNT(records); i++) {
        struct ran r = RUN("adjust", records[i]);
        assert_true(r.status < 2 && r.out[0]);
        for (const char *line = r.out; *line; line += strcspn(line, "\n") + 1)
            if (strcspn(line, "\n") > 100)
                fail_msg("%s: %.*s", records[i], (int)strcspn(line, "\n"), line);
        ran_release(&r);
    }
}

/* At most 60 loops stand on the sheet, the worst first, and how many more is said. The JSON has all. */
static void
sixty_loops_and_how_many_more(void **state)
{
    char rest[16384] = HELD "---\nsections:\n  rows:\n";
    size_t used = strlen(rest);
    (void)state;
    for (int i = 0; i < 71; i++) /* seventy more ways to one point; the i-th is i mm off */
        used += (size_t)snprintf(rest + used, sizeof rest - used, "    - {from: BM1, to: P, rise: 1.%03d, sigma: 40 mm}\n", i);
    struct file f = record_of("spread: least-squares\nallow: {misclosure: 68 mm, per: job}\n", rest);
    json_t *root = adjusted(f.name, 1);
    const json_t *loops = json_object_get(root, "loops");
    assert_int_equal(json_array_size(loops), 70);
    for (size_t i = 0; i < 70; i++) {
        assert_near(fabs(number(json_array_get(loops, i), "misclosure")), 0.070 - 0.001 * (double)i, 1e-12);
        assert_int_equal(json_is_true(json_object_get(json_array_get(loops, i), "within")), i >= 2);
    }
    json_decref(root);
    struct ran r = RUN("adjust", f.name);
    assert_says(r.out, "2 of 70 loops are outside what the job allows.");
    assert_says(r.out, "and 10 more, further down in this order, none of them outside; --json lists them all");
    ran_release(&r);
    unlink(f.name);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(l40_redundancies_and_statistics),
        cmocka_unit_test(l41_free_net_held_by_one_point),
        cmocka_unit_test(l44_between_three_bench_marks),
        cmocka_unit_test(l46_seven_lines_unweighted),
        cmocka_unit_test(l46_seven_lines_weighted),
        cmocka_unit_test(l48_eight_lines),
        cmocka_unit_test(a_loop_worked_out_by_hand),
        cmocka_unit_test(says_it_in_a_sentence_each),
        cmocka_unit_test(one_reading_has_no_freedom),
        cmocka_unit_test(no_levels_are_no_error),
        cmocka_unit_test(errors_name_the_points),
        cmocka_unit_test(confidence_is_read_and_held_to),
        cmocka_unit_test(a_section_between_held_marks_counts),
        cmocka_unit_test(a_mark_with_sigma_gives_way),
        cmocka_unit_test(a_spur_that_another_line_closes),
        cmocka_unit_test(a_line_outside_spoils_no_other),
        cmocka_unit_test(pieces_are_counted_apart),
        cmocka_unit_test(spurs_are_named),
        cmocka_unit_test(the_method_s_example_is_as_printed),
        cmocka_unit_test(fits_a_page),
        cmocka_unit_test(sixty_loops_and_how_many_more),
    };
    return cmocka_run_group_tests_name("adjust", tests, NULL, NULL);
}
