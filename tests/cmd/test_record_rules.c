/*
 * test_record_rules.c - what a record means, rule by rule, through the whole program
 *
 * Each record is short, invented, and given on standard input. Every number
 * that is held was worked out by hand from the readings, exactly; JSON prints
 * nine decimals.
 */
#define _POSIX_C_SOURCE 200809L /* fileno */
#include "../program.h"
#include "../sealed.h"

#include <jansson.h>
#include <stdbool.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))
#define EXACT 1e-9 /* nine decimals are printed */
#define NOT_KNOWN ((double)NAN) /* null is wanted */

/* Parts of records. The job is entry 1. */
#define JOB_IN(unit, least, more) "---\njob: Lamb field\nunit: " unit "\nleast: " least "\n" more
#define JOB(more) JOB_IN("m", "0.001", more)
#define MARKS(text) "---\nmarks: {" text "}\n"
#define POINTS(text) "---\npoints: {" text "}\n"
#define GRADE(text) "---\ngrade: {" text "}\n"
#define LEVELS "---\nlevels:\n  readings:\n"
#define SECTIONS "---\nsections:\n  rows:\n"
#define CONTINUES(entry) "---\nlevels:\n  continues: " #entry "\n  readings:\n"
#define STRIKE(text) "---\nstrike: {" text ", reason: \"rod sank\"}\n"
#define ROW(text) "    - {" text "}\n"
#define DIGEST "digest: 5f0c1b2a9d8e7f6a5b4c3d2e1f00112233445566778899aabbccddeeff012345\n"

/* ---- reading results ---- */

static void
assert_said(const char *text, const char *word)
{
    if (!strstr(text, word))
        fail_msg("\"%s\" is not said in:\n%s", word, text);
}

/* `warning` is what must be said on standard error, or NULL where nothing may be. */
static json_t *
results_of(const char *record, int status, const char *warning, const char *const *argv)
{
    struct ran r = run_program(record, argv);
    if (r.status != status)
        fail_msg("exit status %d, want %d\n%s", r.status, status, r.err);
    if (warning)
        assert_said(r.err, warning);
    else
        assert_string_equal(r.err, "");
    json_error_t fault;
    json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, &fault);
    if (!root)
        fail_msg("line %d: %s", fault.line, fault.text);
    ran_release(&r);
    return root;
}

#define RESULTS(record, status, warning, ...)                                                                       \
    results_of((record), (status), (warning), (const char *const[]){ __VA_ARGS__, "--json", "-", NULL })
#define REDUCED(record) RESULTS(record, 0, NULL, "reduce")
#define STAKED(record) RESULTS(record, 0, NULL, "stakes")

/* Exit status 2, nothing on standard output, and the check named on standard error. */
static void
assert_refused(const char *record, const char *check, const char *const *argv)
{
    struct ran r = run_program(record, argv);
    assert_int_equal(r.status, 2);
    assert_string_equal(r.out, "");
    assert_said(r.err, check);
    ran_release(&r);
}

#define REFUSED(record, check, ...) assert_refused((record), (check), (const char *const[]){ __VA_ARGS__, "-", NULL })

/* A command's sheet as people read it. */
static struct ran
sheet_of(const char *command, const char *record)
{
    struct ran r = RUN_WITH(record, command, "-");
    assert_int_equal(r.status, 0);
    return r;
}

static const char *
text_of(const json_t *o, const char *key)
{
    const char *text = json_string_value(json_object_get(o, key));
    return text ? text : "-";
}

static void
assert_number(const json_t *o, const char *key, double want)
{
    const json_t *v = json_object_get(o, key);
    if (!v)
        fail_msg("%s: there is no %s", text_of(o, "at"), key);
    if (isnan(want) != json_is_null(v))
        fail_msg("%s: %s is %s, want %.9f", text_of(o, "at"), key, json_is_null(v) ? "null" : "known", want);
    if (isnan(want))
        return;
    double got = json_number_value(v);
    if (!json_is_number(v) || !(fabs(got - want) <= EXACT))
        fail_msg("%s %s: %s is %.9f, want %.9f", text_of(o, "at"), text_of(o, "on"), key, got, want);
}

static void
assert_text(const json_t *o, const char *key, const char *want)
{
    const json_t *v = json_object_get(o, key);
    const char *got = json_string_value(v);
    if (want ? !got || strcmp(got, want) != 0 : !json_is_null(v))
        fail_msg("%s %s: %s is %s, want %s", text_of(o, "at"), text_of(o, "on"), key, got ? got : "not text",
            want ? want : "null");
}

static void
assert_count(const json_t *o, const char *key, long long want)
{
    const json_t *v = json_object_get(o, key);
    assert_true(json_is_integer(v));
    assert_same(json_integer_value(v), want);
}

static void
assert_truth(const json_t *o, const char *key, bool want)
{
    const json_t *v = json_object_get(o, key);
    assert_true(json_is_boolean(v));
    if (json_is_true(v) != want)
        fail_msg("%s: %s is not %s", text_of(o, "at"), key, want ? "true" : "false");
}

static void
assert_unknown(const json_t *o, const char *key)
{
    const json_t *v = json_object_get(o, key);
    if (!json_is_null(v))
        fail_msg("%s: %s is not null", text_of(o, "at"), key);
}

static void
assert_list(const json_t *list, const double *want, size_t n)
{
    assert_int_equal(json_array_size(list), n);
    for (size_t i = 0; i < n; i++)
        assert_near(json_number_value(json_array_get(list, i)), want[i], EXACT);
}

/* ---- points and runs ---- */

/* A point at its n-th position, or NULL. */
static json_t *
look_for(const json_t *root, const char *at, const char *on, int position)
{
    size_t i;
    json_t *o;
    json_array_foreach(json_object_get(root, "points"), i, o)
    {
        const json_t *p = json_object_get(o, "position");
        if (strcmp(text_of(o, "at"), at) == 0 && strcmp(text_of(o, "on"), on) == 0
            && (p ? json_integer_value(p) : 1) == position)
            return o;
    }
    return NULL;
}

static json_t *
point_of(const json_t *root, const char *at, const char *on)
{
    json_t *o = look_for(root, at, on, 1);
    if (!o)
        fail_msg("%s %s is not among the points", at, on);
    return o;
}

static void
assert_absent(const json_t *root, const char *at, const char *on, int position)
{
    if (look_for(root, at, on, position))
        fail_msg("%s %s has an elevation at position %d", at, on, position);
}

/* Carried and adjusted, and the correction between them. */
static void
assert_point(const json_t *root, const char *at, const char *on, double carried, double adjusted)
{
    const json_t *p = point_of(root, at, on);
    assert_number(p, "elevation", carried);
    assert_number(p, "adjusted", adjusted);
    assert_number(p, "correction", adjusted - carried);
}

static json_t *
run_of(const json_t *root, size_t i)
{
    json_t *run = json_array_get(json_object_get(root, "runs"), i);
    assert_non_null(run);
    return run;
}

static void
assert_runs(const json_t *root, size_t n)
{
    assert_int_equal(json_array_size(json_object_get(root, "runs")), n);
}

static void
assert_ends(const json_t *run, const char *kind, const char *from, const char *to)
{
    assert_text(run, "kind", kind);
    assert_text(run, "from", from);
    assert_text(run, "to", to);
}

/* A loop or link that is spread. */
static void
assert_closes(const json_t *run, const char *kind, double misclosure, const double *corrections, size_t setups)
{
    assert_text(run, "kind", kind);
    assert_number(run, "misclosure", misclosure);
    assert_truth(run, "spread", true);
    assert_list(json_object_get(run, "corrections"), corrections, setups);
}

static void
assert_sums(const json_t *o, double bs, double fs, double rise, double fall)
{
    assert_number(o, "sum_bs", bs);
    assert_number(o, "sum_fs", fs);
    assert_number(o, "sum_rise", rise);
    assert_number(o, "sum_fall", fall);
}

/* ---- the book ---- */

/* A row as it stands in the book; a check has no entry. */
struct booked {
    int entry, row;
    double elevation;
    const char *struck;
};

static bool
is_check(const json_t *o)
{
    return json_object_get(o, "agrees") != NULL;
}

/* The n-th row of the book, from 0, checks left out. */
static json_t *
line_of(const json_t *root, size_t n)
{
    size_t i;
    json_t *o;
    json_array_foreach(json_object_get(root, "book"), i, o)
    {
        if (!is_check(o) && n-- == 0)
            return o;
    }
    fail_msg("the book has too few rows");
    return NULL;
}

static void
assert_book(const json_t *root, const struct booked *want, size_t n)
{
    size_t i, lines = 0;
    json_t *o;
    json_array_foreach(json_object_get(root, "book"), i, o)
    {
        lines += !is_check(o);
    }
    assert_int_equal(lines, n);
    for (i = 0; i < n; i++) {
        o = line_of(root, i);
        assert_count(o, "entry", want[i].entry);
        assert_count(o, "row", want[i].row);
        assert_number(o, "elevation", want[i].elevation);
        assert_text(o, "struck", want[i].struck);
    }
}

/* What a check of a page or a piece holds. */
struct checked {
    int number;
    double first, bs, fs, rise, fall, last;
};

static void
assert_check(const json_t *o, const char *kind, const struct checked *want)
{
    assert_count(o, kind, want->number);
    assert_number(o, "first", want->first);
    assert_sums(o, want->bs, want->fs, want->rise, want->fall);
    assert_number(o, "last", want->last);
    if (!isnan(want->first))
        assert_truth(o, "agrees", true);
}

/* Checks of one kind, "check_page" or "check_piece", in the order of the book. */
static void
assert_checks(const json_t *root, const char *kind, const struct checked *want, size_t n)
{
    size_t i, found = 0;
    json_t *o;
    json_array_foreach(json_object_get(root, "book"), i, o)
    {
        if (!json_is_integer(json_object_get(o, kind)))
            continue;
        assert_true(found < n);
        assert_check(o, kind, &want[found++]);
    }
    assert_int_equal(found, n);
}

/* ---- stakes ---- */

static json_t *
stake_of(const json_t *root, const char *at, const char *line)
{
    size_t i;
    json_t *o, *found = NULL;
    json_array_foreach(json_object_get(root, "stakes"), i, o)
    {
        if (strcmp(text_of(o, "at"), at) != 0 || strcmp(text_of(o, "line"), line) != 0)
            continue;
        if (found)
            fail_msg("%s stands twice against %s", at, line);
        found = o;
    }
    if (!found)
        fail_msg("%s does not stand against %s", at, line);
    return found;
}

/* Up is positive; `verdict` "move" or "leave". */
static void
assert_move(const json_t *stake, double move, const char *verdict)
{
    assert_number(stake, "move", move);
    assert_number(stake, "fill", move > 0 ? move : 0);
    assert_number(stake, "cut", move < 0 ? -move : 0);
    assert_text(stake, "verdict", verdict);
}

struct listed {
    const char *at, *on, *line;
};

/* Which marks stand against which grades, grade by grade. */
static void
assert_listed(const json_t *root, const struct listed *want, size_t n)
{
    const json_t *list = json_object_get(root, "stakes");
    assert_int_equal(json_array_size(list), n);
    for (size_t i = 0; i < n; i++) {
        const json_t *s = json_array_get(list, i);
        assert_text(s, "at", want[i].at);
        assert_text(s, "on", want[i].on);
        assert_text(s, "line", want[i].line);
    }
}

/* ---- struck and replaced ---- */

#define ONE_MARK MARKS("BM1: {elevation: 48.375}")
#define TWO_MARKS MARKS("BM1: {elevation: 48.375}, BM2: {elevation: 49.458}")

static void
a_struck_sight_enters_nothing_and_stays_in_the_book(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, 47.720, NULL }, { 3, 3, NOT_KNOWN, "row" },
        { 3, 4, 48.378, NULL } };
    static const double corrections[] = { -0.003 };
    (void)state;
    json_t *root = REDUCED(JOB("") ONE_MARK LEVELS
        ROW("at: BM1, bs: 1.482") ROW("at: A, on: ground, is: 2.137") ROW("at: A, on: ground, is: 2.731")
        ROW("at: BM1, fs: 1.479")
        STRIKE("entry: 3, row: 3"));
    assert_book(root, book, COUNT(book));
    const json_t *line = line_of(root, 2);
    assert_number(line, "is", 2.731); /* still to be read */
    assert_unknown(line, "rise");
    assert_unknown(line, "fall");
    assert_number(line_of(root, 3), "rise", 0.658); /* from the sight that stands: 2.137 - 1.479 */
    assert_closes(run_of(root, 0), "loop", 0.003, corrections, 1);
    assert_sums(run_of(root, 0), 1.482, 1.479, 0.658, 0.655);
    assert_point(root, "A", "ground", 47.720, 47.717);
    assert_count(point_of(root, "A", "ground"), "readings", 1);
    json_decref(root);
}

static void
a_replaced_sight_takes_the_place_of_the_struck_one(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, NOT_KNOWN, "row" }, { 5, 1, 47.540, NULL },
        { 3, 3, 47.961, NULL }, { 3, 4, 48.378, NULL } };
    (void)state;
    json_t *root = REDUCED(JOB("") ONE_MARK LEVELS
        ROW("at: BM1, bs: 1.482") ROW("at: A, on: ground, is: 2.137") ROW("at: B, on: ground, is: 1.896")
        ROW("at: BM1, fs: 1.479")
        STRIKE("entry: 3, row: 2")
        CONTINUES(3) ROW("at: A, on: ground, is: 2.317, for: {entry: 3, row: 2}"));
    assert_book(root, book, COUNT(book));
    assert_number(line_of(root, 2), "fall", 0.835); /* 1.482 - 2.317 */
    assert_number(line_of(root, 3), "rise", 0.421); /* 2.317 - 1.896 */
    assert_point(root, "A", "ground", 47.540, 47.537);
    assert_point(root, "B", "ground", 47.961, 47.958);
    json_decref(root);
}

#define TURN LEVELS ROW("at: BM1, bs: 1.482") ROW("at: TP1, fs: 1.127, bs: 1.644") ROW("at: BM2, fs: 0.913")

static void
a_turning_point_is_replaced_whole(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, NOT_KNOWN, "row" }, { 5, 1, 48.726, NULL },
        { 3, 3, 49.462, NULL } };
    static const double corrections[] = { -0.002, -0.004 };
    static const struct checked check = { 1, 48.375, 3.131, 2.044, 1.087, 0, 49.462 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS TURN STRIKE("entry: 3, row: 2")
        CONTINUES(3) ROW("at: TP1, fs: 1.131, bs: 1.649, for: {entry: 3, row: 2}"));
    assert_book(root, book, COUNT(book));
    assert_number(line_of(root, 1), "bs", 1.644);
    assert_number(line_of(root, 1), "fs", 1.127);
    assert_unknown(line_of(root, 1), "hi");
    assert_number(line_of(root, 2), "hi", 50.375);
    assert_closes(run_of(root, 0), "link", 0.004, corrections, 2);
    assert_checks(root, "check_piece", &check, 1);
    assert_point(root, "TP1", "mark", 48.726, 48.724);
    json_decref(root);
}

static void
the_foresight_of_a_turning_point_is_replaced(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 5, 1, 48.726, NULL }, { 3, 2, 48.726, "fs" },
        { 3, 3, 49.457, NULL } };
    static const double corrections[] = { 0.0005, 0.001 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS TURN STRIKE("entry: 3, row: 2, sight: fs")
        CONTINUES(3) ROW("at: TP1, fs: 1.131, for: {entry: 3, row: 2}"));
    assert_book(root, book, COUNT(book));
    assert_number(line_of(root, 2), "hi", 50.370); /* the backsight stands */
    assert_closes(run_of(root, 0), "link", -0.001, corrections, 2);
    assert_point(root, "TP1", "mark", 48.726, 48.7265);
    json_decref(root);
}

static void
the_backsight_of_a_turning_point_is_replaced(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, 48.730, "bs" }, { 5, 1, 48.730, NULL },
        { 3, 3, 49.466, NULL } };
    static const double corrections[] = { -0.004, -0.008 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS TURN STRIKE("entry: 3, row: 2, sight: bs")
        CONTINUES(3) ROW("at: TP1, bs: 1.649, for: {entry: 3, row: 2}"));
    assert_book(root, book, COUNT(book));
    assert_unknown(line_of(root, 1), "hi");
    assert_number(line_of(root, 2), "hi", 50.379);
    assert_closes(run_of(root, 0), "link", 0.008, corrections, 2);
    assert_point(root, "TP1", "mark", 48.730, 48.726);
    json_decref(root);
}

static void
both_halves_of_a_turning_point_are_replaced_one_by_one(void **state)
{
    static const double corrections[] = { -0.002, -0.004 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS TURN STRIKE("entry: 3, row: 2")
        CONTINUES(3) ROW("at: TP1, fs: 1.131, for: {entry: 3, row: 2}")
        CONTINUES(3) ROW("at: TP1, bs: 1.649, for: {entry: 3, row: 2}"));
    assert_closes(run_of(root, 0), "link", 0.004, corrections, 2);
    assert_point(root, "TP1", "mark", 48.726, 48.724);
    json_decref(root);
}

static void
a_replacement_is_replaced_in_its_turn(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, NOT_KNOWN, "row" },
        { 5, 1, NOT_KNOWN, "row" }, { 7, 1, 47.538, NULL }, { 3, 3, 48.378, NULL } };
    (void)state;
    json_t *root = REDUCED(JOB("") ONE_MARK LEVELS
        ROW("at: BM1, bs: 1.482") ROW("at: A, on: ground, is: 2.137") ROW("at: BM1, fs: 1.479")
        STRIKE("entry: 3, row: 2")
        CONTINUES(3) ROW("at: A, on: ground, is: 2.317, for: {entry: 3, row: 2}")
        STRIKE("entry: 5, row: 1")
        CONTINUES(3) ROW("at: A, on: ground, is: 2.319, for: {entry: 5, row: 1}"));
    assert_book(root, book, COUNT(book));
    assert_point(root, "A", "ground", 47.538, 47.535);
    json_decref(root);
}

/* The last of three readings of the turning point stands in the place of the first: the run is whole. */
static void
a_replaced_turning_point_is_replaced_in_its_turn(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, NOT_KNOWN, "row" },
        { 5, 1, NOT_KNOWN, "row" }, { 7, 1, 48.724, NULL }, { 3, 3, 49.462, NULL } };
    static const double corrections[] = { -0.002, -0.004 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS TURN STRIKE("entry: 3, row: 2")
        CONTINUES(3) ROW("at: TP1, fs: 1.131, bs: 1.649, for: {entry: 3, row: 2}")
        STRIKE("entry: 5, row: 1")
        CONTINUES(3) ROW("at: TP1, fs: 1.133, bs: 1.651, for: {entry: 5, row: 1}"));
    assert_book(root, book, COUNT(book));
    assert_closes(run_of(root, 0), "link", 0.004, corrections, 2);
    assert_point(root, "TP1", "mark", 48.724, 48.722);
    json_decref(root);
}

static void
a_replaced_foresight_is_replaced_in_its_turn(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 5, 1, NOT_KNOWN, "row" }, { 7, 1, 48.724, NULL },
        { 3, 2, 48.724, "fs" }, { 3, 3, 49.455, NULL } };
    static const double corrections[] = { 0.0015, 0.003 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS TURN STRIKE("entry: 3, row: 2, sight: fs")
        CONTINUES(3) ROW("at: TP1, fs: 1.131, for: {entry: 3, row: 2}")
        STRIKE("entry: 5, row: 1")
        CONTINUES(3) ROW("at: TP1, fs: 1.133, for: {entry: 5, row: 1}"));
    assert_book(root, book, COUNT(book));
    assert_closes(run_of(root, 0), "link", -0.003, corrections, 2);
    json_decref(root);
}

/* The same, where the second replacement names the row that was struck first. */
static void
a_second_replacement_may_name_the_first_row(void **state)
{
    static const double corrections[] = { -0.002, -0.004 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS TURN STRIKE("entry: 3, row: 2")
        CONTINUES(3) ROW("at: TP1, fs: 1.131, bs: 1.649, for: {entry: 3, row: 2}")
        STRIKE("entry: 5, row: 1")
        CONTINUES(3) ROW("at: TP1, fs: 1.133, bs: 1.651, for: {entry: 3, row: 2}"));
    assert_closes(run_of(root, 0), "link", 0.004, corrections, 2);
    assert_point(root, "TP1", "mark", 48.724, 48.722);
    json_decref(root);
}

static void
replacements_stand_in_the_order_of_the_run(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, NOT_KNOWN, "row" }, { 6, 2, 47.540, NULL },
        { 3, 3, NOT_KNOWN, "row" }, { 6, 1, 48.143, NULL }, { 3, 4, 48.378, NULL } };
    (void)state;
    json_t *root = REDUCED(JOB("") ONE_MARK LEVELS
        ROW("at: BM1, bs: 1.482") ROW("at: A, is: 2.137") ROW("at: B, is: 1.708") ROW("at: BM1, fs: 1.479")
        STRIKE("entry: 3, row: 3") STRIKE("entry: 3, row: 2")
        CONTINUES(3) ROW("at: B, is: 1.714, for: {entry: 3, row: 3}") ROW("at: A, is: 2.317, for: {entry: 3, row: 2}"));
    assert_book(root, book, COUNT(book));
    json_decref(root);
}

/* ---- broken runs and continuations ---- */

#define BROKEN(end) LEVELS                                                                                          \
    ROW("at: BM1, bs: 1.482") ROW("at: A, is: 1.733") ROW("at: TP1, fs: 1.127, bs: 1.644") ROW("at: B, is: 1.377")  \
    ROW(end) STRIKE("entry: 3, row: 3")

static void
a_struck_turning_point_breaks_the_run_in_two(void **state)
{
    (void)state;
    json_t *root = RESULTS(JOB("") TWO_MARKS BROKEN("at: BM2, fs: 0.913"), 0, "[broken-run]", "reduce");
    assert_runs(root, 2);
    assert_ends(run_of(root, 0), "spur", "BM1", "A");
    assert_ends(run_of(root, 1), "spur", NULL, "BM2");
    assert_point(root, "A", "mark", 48.124, 48.124);
    assert_point(root, "B", "mark", 48.994, 48.994); /* back from BM2: 49.458 + 0.913 - 1.377 */
    assert_text(point_of(root, "A", "mark"), "closure", "unchecked");
    assert_text(point_of(root, "B", "mark"), "closure", "unchecked");
    assert_absent(root, "TP1", "mark", 1);
    json_decref(root);
}

static void
pieces_of_a_broken_run_are_checked_one_by_one(void **state)
{
    static const struct checked pieces[] = { { 1, 48.375, 1.482, 1.733, 0, 0.251, 48.124 },
        { 2, 48.994, 1.377, 0.913, 0.464, 0, 49.458 } };
    (void)state;
    json_t *root = RESULTS(JOB("") TWO_MARKS BROKEN("at: BM2, fs: 0.913"), 0, "[broken-run]", "reduce");
    assert_checks(root, "check_piece", pieces, COUNT(pieces));
    json_decref(root);
}

/* The second piece hangs on nothing: no elevations behind the break. */
static void
behind_a_break_nothing_is_known_without_a_mark(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, 48.124, NULL }, { 3, 3, NOT_KNOWN, "row" },
        { 3, 4, NOT_KNOWN, NULL }, { 3, 5, NOT_KNOWN, NULL } };
    (void)state;
    json_t *root = RESULTS(JOB("") TWO_MARKS BROKEN("at: TP2, fs: 0.913"), 0, "[broken-run]", "reduce");
    assert_book(root, book, COUNT(book));
    assert_point(root, "A", "mark", 48.124, 48.124);
    assert_absent(root, "B", "mark", 1);
    json_decref(root);
}

/* The backsight still stands: the second piece begins on TP1, 49.458 + 0.913 - 1.644 by way of BM2. */
static void
a_struck_foresight_breaks_the_run_before_its_backsight(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, NOT_KNOWN, "row" }, { 3, 2, 48.727, NULL },
        { 3, 3, 49.458, NULL } };
    (void)state;
    json_t *root = RESULTS(JOB("") TWO_MARKS TURN STRIKE("entry: 3, row: 2, sight: fs"), 0, "[broken-run]", "reduce");
    assert_runs(root, 2);
    assert_ends(run_of(root, 0), "spur", "BM1", NULL);
    assert_ends(run_of(root, 1), "spur", "TP1", "BM2");
    assert_book(root, book, COUNT(book));
    assert_point(root, "TP1", "mark", 48.727, 48.727);
    json_decref(root);
}

/* The foresight stands: the first piece ends on TP1, the second hangs on BM2. */
static void
a_struck_backsight_breaks_the_run_behind_its_foresight(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, 48.730, "bs" }, { 3, 3, 49.458, NULL } };
    (void)state;
    json_t *root = RESULTS(JOB("") TWO_MARKS TURN STRIKE("entry: 3, row: 2, sight: bs"), 0, "[broken-run]", "reduce");
    assert_ends(run_of(root, 0), "spur", "BM1", "TP1");
    assert_book(root, book, COUNT(book));
    assert_point(root, "TP1", "mark", 48.730, 48.730);
    json_decref(root);
}

static void
a_continuation_is_continued(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, 48.730, NULL }, { 4, 1, 49.166, NULL },
        { 5, 1, 49.207, NULL } };
    static const double corrections[] = { -0.002, -0.004, -0.006 };
    (void)state;
    json_t *root = REDUCED(JOB("") MARKS("BM1: {elevation: 48.375}, BM2: {elevation: 49.201}") LEVELS
        ROW("at: BM1, bs: 1.482") ROW("at: TP1, fs: 1.127, bs: 1.644")
        CONTINUES(3) ROW("at: TP2, fs: 1.208, bs: 1.391")
        CONTINUES(4) ROW("at: BM2, fs: 1.350"));
    assert_book(root, book, COUNT(book));
    assert_runs(root, 1);
    assert_count(run_of(root, 0), "entry", 3);
    assert_closes(run_of(root, 0), "link", 0.006, corrections, 3);
    assert_point(root, "TP2", "mark", 49.166, 49.162);
    json_decref(root);
}

/* ---- torn, sealed and hand-written entries ---- */

static void
a_torn_entry_is_not_used_and_keeps_its_number(void **state)
{
    static const struct booked book[] = { { 4, 1, 48.375, NULL }, { 4, 2, NOT_KNOWN, "row" }, { 6, 1, 47.540, NULL },
        { 4, 3, 48.378, NULL } };
    (void)state;
    json_t *root = RESULTS(JOB("") ONE_MARK
        "---\nentry: 3\nlevels:\n  readings:\n    - {at: BM1, bs: 1.4\n"
        LEVELS ROW("at: BM1, bs: 1.482") ROW("at: A, is: 2.137") ROW("at: BM1, fs: 1.479")
        STRIKE("entry: 4, row: 2")
        CONTINUES(4) ROW("at: A, is: 2.317, for: {entry: 4, row: 2}"), 0, "[torn]", "reduce");
    assert_book(root, book, COUNT(book));
    assert_point(root, "A", "mark", 47.540, 47.537);
    json_decref(root);
}

/* Whole as it looks, but its digest line is missing: torn all the same. */
static void
a_torn_entry_that_reads_well_is_not_used_either(void **state)
{
    (void)state;
    json_t *root = RESULTS(JOB("") ONE_MARK
        "---\nentry: 3\nmarks:\n  BM1: {elevation: 51.902}\n"
        LEVELS ROW("at: BM1, bs: 1.482") ROW("at: A, is: 2.137"), 0, "[torn]", "reduce");
    assert_point(root, "BM1", "mark", 48.375, 48.375);
    assert_point(root, "A", "mark", 47.720, 47.720);
    json_decref(root);
}

#define MIXED JOB("")                                                                                               \
    "---\nentry: 2\nmarks:\n  BM1: {elevation: 48.375}\n" DIGEST                                                    \
    LEVELS ROW("at: BM1, bs: 1.482") ROW("at: A, is: 2.137") ROW("at: BM1, fs: 1.479")                              \
    "---\nentry: 4\nstrike: {entry: 3, row: 2, reason: \"rod sank\"}\n" DIGEST                                      \
    CONTINUES(3) ROW("at: A, is: 2.317, for: {entry: 3, row: 2}")

static void
sealed_and_hand_written_entries_are_used_alike(void **state)
{
    (void)state;
    char *mixed = sealed(MIXED);
    json_t *root = REDUCED(mixed);
    assert_point(root, "A", "mark", 47.540, 47.537);
    json_decref(root);
    struct ran r = sheet_of("reduce", mixed);
    assert_said(r.out, "entry 5 not sealed");
    ran_release(&r);
    free(mixed);
}

/* What was altered below a digest is read all the same, and every sheet says so. */
static void
a_broken_digest_is_told_with_every_result(void **state)
{
    (void)state;
    json_t *root = RESULTS(MIXED, 1, "[digest]", "reduce");
    assert_point(root, "A", "mark", 47.540, 47.537);
    assert_true(json_is_true(json_object_get(json_object_get(root, "record"), "altered")));
    json_decref(root);
    struct ran r = RUN_WITH(MIXED, "stakes", "-");
    assert_said(r.err, "the digest of entry 2 does not fit");
    ran_release(&r);
    r = RUN_WITH(MIXED, "reduce", "-");
    assert_int_equal(r.status, 1);
    assert_said(r.out, "ALTERED: the digest of entry 2 does not fit what stands above it");
    ran_release(&r);
}

/* A first cut within its first word, or behind its ---, and the next entry cut within its own ---. */
static void
an_entry_cut_twice_is_torn(void **state)
{
    static const char *const ends[] = { "---\nen\n-", "---\nen\n--", "---\n-", "---\n\n--\n", "---\nentry\n-\n" };
    (void)state;
    for (size_t i = 0; i < COUNT(ends); i++) {
        char record[2048];
        snprintf(record, sizeof record, "%s%s", JOB("") ONE_MARK, ends[i]);
        struct ran r = RUN_WITH(record, "check", "-");
        assert_said(r.err, "[torn]");
        assert_said(r.out, "0 errors, 1 warning");
        ran_release(&r);
    }
}

/* ---- the last of a name holds ---- */

static void
the_last_value_of_a_mark_holds_for_the_whole_job(void **state)
{
    (void)state;
    json_t *root = REDUCED(JOB("") ONE_MARK LEVELS ROW("at: BM1, bs: 1.482") ROW("at: A, is: 2.137")
        MARKS("BM1: {elevation: 48.391}"));
    assert_point(root, "BM1", "mark", 48.391, 48.391);
    assert_point(root, "A", "mark", 47.736, 47.736);
    json_decref(root);
}

static void
the_last_value_of_a_point_and_of_a_grade_holds(void **state)
{
    static const struct listed list[] = { { "A", "post", "sill" } };
    (void)state;
    json_t *root = STAKED(JOB("") ONE_MARK POINTS("A: {x: 12.6, y: 3.5, kind: batten}")
        GRADE("name: sill, means: finish, for: post, level: 48.900, slope: {rise: 1 in 60, towards: length}")
        LEVELS ROW("at: BM1, bs: 1.482") ROW("at: A, on: post, is: 2.137")
        POINTS("A: {x: 25.2, y: 4.5, kind: post}")
        GRADE("name: sill, means: subgrade, for: post, level: 47.200, slope: {rise: 1 in 60, towards: length}"));
    assert_listed(root, list, COUNT(list));
    const json_t *s = stake_of(root, "A", "sill");
    assert_text(s, "means", "subgrade");
    assert_number(s, "grade", 47.620); /* 47.200 + 25.2 / 60 */
    assert_move(s, -0.100, "move");
    json_decref(root);
}

/* The first `sill` goes through a point that was never read; the last one does not. */
static void
an_earlier_value_of_a_grade_is_not_looked_at(void **state)
{
    (void)state;
    json_t *root = STAKED(JOB("") ONE_MARK GRADE("name: sill, means: finish, through: {at: A, on: post}")
        LEVELS ROW("at: BM1, bs: 1.482") ROW("at: A, on: batten, is: 0.971")
        GRADE("name: sill, means: finish, level: 48.900"));
    assert_move(stake_of(root, "A", "sill"), 0.014, "move");
    json_decref(root);
}

/* ---- moved marks ---- */

/* Grade 48.900. HI 49.857, then 49.769; both loops close on the nanometre. */
#define BEFORE_MOVES JOB("") ONE_MARK GRADE("name: sill, means: finish, level: 48.900, tolerance: 0.003") LEVELS    \
    ROW("at: BM1, bs: 1.482") ROW("at: D, on: batten, is: 0.971") ROW("at: S, on: batten, is: 0.979")               \
    ROW("at: F, on: batten, is: 0.965") ROW("at: W, on: batten, is: 0.941") ROW("at: X, on: batten, is: 0.958")     \
    ROW("at: BM1, fs: 1.482")
#define MOVED BEFORE_MOVES LEVELS ROW("at: BM1, bs: 1.394") ROW("at: D, on: batten, is: 0.867, moved: true")        \
    ROW("at: S, on: batten, is: 0.880, moved: true") ROW("at: F, on: batten, is: 0.861, moved: true")               \
    ROW("at: W, on: batten, is: 0.847, moved: true") ROW("at: X, on: batten, is: 0.874, moved: true")               \
    ROW("at: BM1, fs: 1.394")

struct came_out {
    const char *at, *how;
    double asked, done, left;
    const char *verdict;
};

static void
a_move_is_compared_with_what_was_asked(void **state)
{
    static const struct came_out want[] = {
        { "D", "done", 0.014, 0.016, -0.002, "leave" },
        { "S", "short", 0.022, 0.011, 0.011, "move" },
        { "F", "too far", 0.008, 0.016, -0.008, "move" },
        { "W", "wrong way", -0.016, 0.006, -0.022, "move" },
        { "X", "disturbed", 0.001, -0.004, 0.005, "move" },
    };
    (void)state;
    json_t *root = STAKED(MOVED);
    assert_int_equal(json_array_size(json_object_get(root, "stakes")), COUNT(want));
    for (size_t i = 0; i < COUNT(want); i++) {
        const json_t *s = stake_of(root, want[i].at, "sill");
        assert_text(s, "moved", want[i].how);
        assert_number(s, "asked", want[i].asked);
        assert_number(s, "done", want[i].done);
        assert_move(s, want[i].left, want[i].verdict);
    }
    json_decref(root);
}

static void
readings_before_a_move_no_longer_count(void **state)
{
    (void)state;
    json_t *root = REDUCED(MOVED);
    const json_t *before = point_of(root, "D", "batten"), *now = look_for(root, "D", "batten", 2);
    assert_non_null(now);
    assert_number(before, "adjusted", 48.886);
    assert_count(before, "readings", 1);
    assert_number(now, "adjusted", 48.902);
    assert_count(now, "readings", 1);
    assert_unknown(now, "apart");
    json_decref(root);
}

static void
nothing_is_said_of_moves_where_none_was_made(void **state)
{
    (void)state;
    json_t *root = STAKED(BEFORE_MOVES);
    const json_t *s = stake_of(root, "D", "sill");
    assert_unknown(s, "moved");
    assert_unknown(s, "asked");
    assert_unknown(s, "done");
    assert_move(s, 0.014, "move");
    json_decref(root);
}

/* Read again behind a move, without another: the second position has two readings. */
static void
a_new_position_takes_all_readings_behind_it(void **state)
{
    (void)state;
    json_t *root = STAKED(MOVED LEVELS ROW("at: BM1, bs: 1.416") ROW("at: S, on: batten, is: 0.904")
        ROW("at: BM1, fs: 1.416"));
    const json_t *now = look_for(root, "S", "batten", 2), *s = stake_of(root, "S", "sill");
    assert_non_null(now);
    assert_number(now, "adjusted", 48.888); /* 48.889 and 48.887 */
    assert_count(now, "readings", 2);
    assert_number(now, "apart", 0.002);
    assert_move(s, 0.012, "move");
    assert_number(s, "done", 0.010);
    json_decref(root);
}

static void
a_struck_row_moves_nothing(void **state)
{
    (void)state;
    json_t *root = STAKED(MOVED STRIKE("entry: 5, row: 2"));
    assert_unknown(stake_of(root, "D", "sill"), "moved");
    assert_move(stake_of(root, "D", "sill"), 0.014, "move");
    json_decref(root);
}

static void
a_turning_point_in_two_rows_is_moved_once(void **state)
{
    static const double corrections[] = { 0.0005, 0.001 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS LEVELS
        ROW("at: BM1, bs: 1.482") ROW("at: TP1, is: 1.254")
        ROW("at: TP1, fs: 1.131, moved: true") ROW("at: TP1, bs: 1.644, moved: true") ROW("at: BM2, fs: 0.913"));
    const json_t *now = look_for(root, "TP1", "mark", 2);
    assert_non_null(now);
    assert_number(now, "adjusted", 48.7265);
    assert_point(root, "TP1", "mark", 48.603, 48.6035);
    assert_absent(root, "TP1", "mark", 3);
    assert_closes(run_of(root, 0), "link", -0.001, corrections, 2);
    json_decref(root);
}

/* BM2 was given 49.458 and then moved: the run that ends on it is a spur. */
static void
a_benchmark_that_was_moved_is_none(void **state)
{
    (void)state;
    json_t *root = RESULTS(JOB("") TWO_MARKS LEVELS
        ROW("at: BM1, bs: 1.482") ROW("at: BM2, fs: 0.913, moved: true"), 0, "[moved-mark]", "reduce");
    assert_ends(run_of(root, 0), "spur", "BM1", "BM2");
    assert_point(root, "BM2", "mark", 49.458, 49.458);
    assert_truth(point_of(root, "BM2", "mark"), "mark", true);
    const json_t *now = look_for(root, "BM2", "mark", 2);
    assert_non_null(now);
    assert_number(now, "adjusted", 48.944);
    assert_truth(now, "mark", false);
    json_decref(root);
}

/* ---- what names one elevation ---- */

static void
a_point_and_on_name_one_elevation(void **state)
{
    (void)state;
    json_t *root = REDUCED(JOB("") ONE_MARK LEVELS ROW("at: BM1, bs: 1.482") ROW("at: W1, on: ground, is: 1.896")
        ROW("at: W1, on: hole, is: 2.543") ROW("at: W1, on: post, is: 0.672") ROW("at: W1, on: top, is: 0.389")
        ROW("at: W1, is: 1.118") ROW("at: w1, is: 1.236") ROW("at: BM1, fs: 1.482"));
    assert_point(root, "W1", "ground", 47.961, 47.961);
    assert_point(root, "W1", "hole", 47.314, 47.314);
    assert_point(root, "W1", "post", 49.185, 49.185);
    assert_point(root, "W1", "top", 49.468, 49.468);
    assert_point(root, "W1", "mark", 48.739, 48.739);
    assert_point(root, "w1", "mark", 48.621, 48.621); /* case matters */
    assert_count(point_of(root, "W1", "ground"), "readings", 1);
    json_decref(root);
}

/* HI 49.857 and 50.374; BM2 measured 49.461, given 49.465: running corrections 0.002 and 0.004. */
#define TWO_VIEWS(more) LEVELS ROW("at: BM1, bs: 1.482") ROW("at: SW, on: batten, is: 1.204")                       \
    ROW("at: NW, on: batten, is: 1.217") ROW("at: TP1, fs: 1.127, bs: 1.644") ROW("at: SW, on: batten, is: 1.717")     \
    more ROW("at: BM2, fs: 0.913")
#define VIEWED_MARKS MARKS("BM1: {elevation: 48.375}, BM2: {elevation: 49.465}")

static void
a_batten_read_from_two_setups_takes_the_mean(void **state)
{
    (void)state;
    json_t *root = REDUCED(JOB("") VIEWED_MARKS TWO_VIEWS(""));
    assert_point(root, "SW", "batten", 48.655, 48.658); /* 48.655 and 48.661 */
    const json_t *sw = point_of(root, "SW", "batten");
    assert_count(sw, "readings", 2);
    assert_number(sw, "apart", 0.006);
    assert_text(sw, "closure", "closed");
    assert_point(root, "NW", "batten", 48.640, 48.642);
    assert_unknown(point_of(root, "NW", "batten"), "apart");
    json_decref(root);
}

/* Three readings 48.655, 48.661 and 48.662: the mean is 48.6593333..., rounded once. */
static void
a_mean_is_rounded_once_to_the_nanometre(void **state)
{
    (void)state;
    json_t *root = REDUCED(JOB("") VIEWED_MARKS TWO_VIEWS(ROW("at: SW, on: batten, is: 1.716")));
    assert_point(root, "SW", "batten", 48.656, 48.659333333);
    json_decref(root);
}

/* BM3 is given 48.640 and reads 48.635 + 0.002: 3 mm below it. Nothing leans on that. */
static void
a_side_shot_on_a_given_mark_is_a_check(void **state)
{
    static const double corrections[] = { 0.002, 0.004 };
    static const char record[] = JOB("") VIEWED_MARKS MARKS("BM3: {elevation: 48.640}") LEVELS
        ROW("at: BM1, bs: 1.482") ROW("at: BM3, is: 1.222") ROW("at: NW, on: batten, is: 1.217")
        ROW("at: TP1, fs: 1.127, bs: 1.644") ROW("at: BM2, fs: 0.913");
    (void)state;
    json_t *root = REDUCED(record);
    assert_runs(root, 1);
    assert_closes(run_of(root, 0), "link", -0.004, corrections, 2);
    assert_number(point_of(root, "BM3", "mark"), "adjusted", 48.640);
    assert_truth(point_of(root, "BM3", "mark"), "mark", true);
    assert_number(line_of(root, 1), "elevation", 48.635);
    assert_point(root, "NW", "batten", 48.640, 48.642);
    json_decref(root);
    struct ran r = sheet_of("reduce", record);
    assert_said(r.out, "given mark: reads -0.003 off it");
    ran_release(&r);
}

/* From BM2, HI 50.824, TP1 reads 48.736; the line holds it at 48.730 less its share. */
static void
a_side_shot_on_a_turning_point_is_a_check(void **state)
{
    static const double corrections[] = { -0.0015, -0.003 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS TURN LEVELS ROW("at: BM2, bs: 1.366") ROW("at: TP1, is: 2.088")
        ROW("at: BM2, fs: 1.366"));
    assert_closes(run_of(root, 0), "link", 0.003, corrections, 2);
    assert_point(root, "TP1", "mark", 48.730, 48.7285);
    assert_count(point_of(root, "TP1", "mark"), "readings", 2);
    assert_number(point_of(root, "TP1", "mark"), "apart", 0.0075); /* 48.736 and 48.7285 */
    json_decref(root);
}

/* A check of it, though the set-up is the same; the elevation is the line's. */
static void
a_sight_on_the_point_that_ends_its_setup_is_a_check_of_it(void **state)
{
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS LEVELS ROW("at: BM1, bs: 1.482") ROW("at: TP1, is: 1.125")
        ROW("at: TP1, fs: 1.127, bs: 1.644") ROW("at: BM2, fs: 0.913"));
    assert_point(root, "TP1", "mark", 48.730, 48.7285);
    assert_count(point_of(root, "TP1", "mark"), "readings", 2);
    assert_number(point_of(root, "TP1", "mark"), "apart", 0.002);
    json_decref(root);
}

/* ---- readings ---- */

static void
an_inverted_rod_is_a_reading_below_nought(void **state)
{
    static const double corrections[] = { -0.002, -0.004 };
    static const struct checked check = { 1, 48.375, 0.105, 0.023, 2.690, 2.608, 48.457 };
    (void)state;
    json_t *root = REDUCED(JOB("") MARKS("BM1: {elevation: 48.375}, BM2: {elevation: 48.453}") LEVELS
        ROW("at: BM1, bs: 1.482") ROW("at: EAVE, is: -1.163") ROW("at: TP1, fs: -1.208, bs: -1.377")
        ROW("at: BM2, fs: 1.231"));
    assert_number(line_of(root, 2), "hi", 49.688); /* 51.065 - 1.377 */
    assert_closes(run_of(root, 0), "link", 0.004, corrections, 2);
    assert_checks(root, "check_piece", &check, 1);
    assert_point(root, "EAVE", "mark", 51.020, 51.018);
    assert_point(root, "TP1", "mark", 51.065, 51.063);
    json_decref(root);
}

/* 4.445 / 3 = 1.4816666666...; 3.379 / 3 = 1.1263333333... */
static void
three_wires_are_meaned_and_rounded_once(void **state)
{
    (void)state;
    json_t *root = REDUCED(JOB("") ONE_MARK LEVELS
        ROW("at: BM1, bs: [1.622, 1.482, 1.341]") ROW("at: A, is: [1.273, 1.126, 0.980]")
        ROW("at: EAVE, is: [-1.341, -1.482, -1.622]"));
    assert_number(line_of(root, 0), "bs", 1.481666667);
    assert_number(line_of(root, 1), "is", 1.126333333);
    assert_number(line_of(root, 2), "is", -1.481666667);
    assert_number(line_of(root, 0), "bs_dist", 28.1);
    assert_number(line_of(root, 1), "dist", 29.3);
    assert_point(root, "A", "mark", 48.730333334, 48.730333334);
    json_decref(root);
}

/* Set-ups of 28.1 + 29.3 and 31 + 29 m; -0.003333334 x 57.4 / 117.4 = -0.0016297561... */
static void
stadia_lengths_spread_by_distance(void **state)
{
    static const double corrections[] = { -0.001629756, -0.003333334 };
    (void)state;
    json_t *root = REDUCED(JOB("spread: distance\n") TWO_MARKS LEVELS
        ROW("at: BM1, bs: [1.622, 1.482, 1.341]") ROW("at: TP1, fs: [1.273, 1.126, 0.980], bs: 1.644, bs-dist: 31")
        ROW("at: BM2, fs: 0.913, dist: 29"));
    assert_number(run_of(root, 0), "dist", 117.4);
    assert_closes(run_of(root, 0), "link", 0.003333334, corrections, 2);
    assert_point(root, "TP1", "mark", 48.730333334, 48.728703578);
    json_decref(root);
}

static void
a_booked_length_goes_before_the_stadia(void **state)
{
    (void)state;
    json_t *root = REDUCED(JOB("spread: distance\n") TWO_MARKS LEVELS
        ROW("at: BM1, bs: [1.622, 1.482, 1.341], dist: 27.4")
        ROW("at: BM2, fs: 0.402, dist: 29.8"));
    assert_number(run_of(root, 0), "dist", 57.2);
    json_decref(root);
}

static void
by_distance_every_length_must_be_booked(void **state)
{
    (void)state;
    REFUSED(JOB("spread: distance\n") TWO_MARKS LEVELS ROW("at: BM1, bs: 1.482, dist: 28")
        ROW("at: TP1, fs: 1.127, bs: 1.644, fs-dist: 31") ROW("at: BM2, fs: 0.913, dist: 29"), "[no-distance]",
        "reduce");
}

/* ---- pages ---- */

static void
a_page_that_ends_inside_a_setup_closes_on_its_last_sight(void **state)
{
    static const struct booked book[] = { { 3, 1, 48.375, NULL }, { 3, 2, 48.124, NULL }, { 3, 3, 48.466, NULL },
        { 3, 4, 48.730, NULL }, { 3, 4, 48.730, NULL }, { 3, 5, 49.461, NULL } };
    static const struct checked pages[] = { { 1, 48.375, 1.482, 1.733, 0, 0.251, 48.124 },
        { 2, 48.124, 1.733, 1.127, 0.606, 0, 48.730 }, { 3, 48.730, 1.644, 0.913, 0.731, 0, 49.461 } };
    static const struct checked run = { 1, 48.375, 3.126, 2.040, 1.337, 0.251, 49.461 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS LEVELS ROW("at: BM1, bs: 1.482, page: 1")
        ROW("at: A, on: ground, is: 1.733") ROW("at: B, on: ground, is: 1.391, page: 2")
        ROW("at: TP1, fs: 1.127, bs: 1.644, page: 3") ROW("at: BM2, fs: 0.913"));
    assert_book(root, book, COUNT(book));
    assert_checks(root, "check_page", pages, COUNT(pages));
    assert_checks(root, "check_piece", &run, 1);
    json_decref(root);
}

/* The row stands on both pages: its foresight on the page before, its backsight on its own. */
static void
the_foresight_of_a_turned_page_belongs_to_the_page_before(void **state)
{
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS LEVELS ROW("at: BM1, bs: 1.482, page: 1")
        ROW("at: TP1, fs: 1.127, bs: 1.644, page: 2") ROW("at: BM2, fs: 0.913"));
    const json_t *book = json_object_get(root, "book");
    assert_unknown(json_array_get(book, 1), "bs");
    assert_number(json_array_get(book, 1), "fs", 1.127);
    assert_count(json_array_get(book, 2), "check_page", 1);
    assert_number(json_array_get(book, 3), "bs", 1.644);
    assert_unknown(json_array_get(book, 3), "fs");
    assert_count(json_array_get(book, 5), "check_page", 2);
    json_decref(root);
}

static void
a_backsight_that_ends_a_page_counts_on_the_next(void **state)
{
    static const struct checked pages[] = { { 4, NOT_KNOWN, NOT_KNOWN, NOT_KNOWN, NOT_KNOWN, NOT_KNOWN, NOT_KNOWN },
        { 5, 48.375, 1.482, 1.127, 0.355, 0, 48.730 } };
    (void)state;
    json_t *root = REDUCED(JOB("") ONE_MARK LEVELS ROW("at: BM1, bs: 1.482, page: 4")
        ROW("at: A, is: 1.391, page: 5") ROW("at: TP1, fs: 1.127"));
    assert_checks(root, "check_page", pages, COUNT(pages));
    json_decref(root);
}

/* The replacement takes the struck row's place, so its foresight too belongs to the page before. */
static void
a_replaced_turning_point_turns_the_page_as_the_struck_one_did(void **state)
{
    static const struct checked pages[] = { { 1, 48.375, 1.482, 1.131, 0.351, 0, 48.726 },
        { 2, 48.726, 1.649, 0.913, 0.736, 0, 49.462 } };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS LEVELS ROW("at: BM1, bs: 1.482, page: 1")
        ROW("at: TP1, fs: 1.127, bs: 1.644, page: 2") ROW("at: BM2, fs: 0.913")
        STRIKE("entry: 3, row: 2")
        CONTINUES(3) ROW("at: TP1, fs: 1.131, bs: 1.649, for: {entry: 3, row: 2}"));
    assert_checks(root, "check_page", pages, COUNT(pages));
    json_decref(root);
}

/* ---- open set-ups ---- */

static void
in_an_open_setup_the_last_sight_serves_as_foresight(void **state)
{
    static const struct checked check = { 1, 48.375, 1.482, 1.917, 0.246, 0.681, 47.940 };
    (void)state;
    json_t *root = REDUCED(JOB("") ONE_MARK LEVELS ROW("at: BM1, bs: 1.482") ROW("at: A, is: 2.163")
        ROW("at: B, is: 1.917"));
    assert_checks(root, "check_piece", &check, 1);
    const json_t *run = run_of(root, 0);
    assert_ends(run, "spur", "BM1", "B");
    assert_sums(run, 1.482, 1.917, 0.246, 0.681);
    assert_unknown(run, "misclosure");
    assert_unknown(run, "within");
    assert_text(point_of(root, "B", "mark"), "closure", "unchecked");
    json_decref(root);
}

static void
an_open_setup_that_ends_on_a_mark_closes(void **state)
{
    static const double corrections[] = { -0.008 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS LEVELS ROW("at: BM1, bs: 1.482") ROW("at: A, is: 2.163")
        ROW("at: BM2, is: 0.391"));
    assert_ends(run_of(root, 0), "link", "BM1", "BM2");
    assert_closes(run_of(root, 0), "link", 0.008, corrections, 1);
    assert_point(root, "A", "mark", 47.694, 47.686);
    assert_text(point_of(root, "A", "mark"), "closure", "closed");
    json_decref(root);
}

/* ---- lines ---- */

/* BM2 measured 49.461, given 49.458. From there home: 49.458 + 1.335 - 1.208 + 1.391 - 2.605 = 48.371. */
static void
a_mark_met_midway_parts_the_line(void **state)
{
    static const double out[] = { -0.0015, -0.003 }, home[] = { 0.002, 0.004 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS LEVELS ROW("at: BM1, bs: 1.482") ROW("at: TP1, fs: 1.127, bs: 1.644")
        ROW("at: BM2, fs: 0.913, bs: 1.335") ROW("at: TP2, fs: 1.208, bs: 1.391") ROW("at: BM1, fs: 2.605"));
    assert_runs(root, 2);
    assert_ends(run_of(root, 0), "link", "BM1", "BM2");
    assert_closes(run_of(root, 0), "link", 0.003, out, 2);
    assert_ends(run_of(root, 1), "link", "BM2", "BM1");
    assert_closes(run_of(root, 1), "link", -0.004, home, 2);
    assert_point(root, "TP1", "mark", 48.730, 48.7285);
    assert_point(root, "TP2", "mark", 49.588, 49.587); /* the book carries on from 49.461 */
    json_decref(root);
}

static void
runs_chain_into_one_line(void **state)
{
    static const double corrections[] = { -0.0015, -0.003 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS LEVELS ROW("at: BM1, bs: 1.482") ROW("at: TP1, fs: 1.127")
        LEVELS ROW("at: TP1, bs: 1.644") ROW("at: BM2, fs: 0.913"));
    assert_runs(root, 1);
    assert_count(run_of(root, 0), "entry", 3);
    assert_ends(run_of(root, 0), "link", "BM1", "BM2");
    assert_closes(run_of(root, 0), "link", 0.003, corrections, 2);
    assert_point(root, "TP1", "mark", 48.730, 48.7285);
    json_decref(root);
}

static void
a_loop_a_link_and_a_spur_are_told_apart(void **state)
{
    static const double loop[] = { -0.002, -0.004 };
    (void)state;
    json_t *root = REDUCED(JOB("") ONE_MARK LEVELS ROW("at: BM1, bs: 1.482") ROW("at: TP1, fs: 1.127, bs: 1.644")
        ROW("at: BM1, fs: 1.995") LEVELS ROW("at: TP1, bs: 1.366") ROW("at: TP2, fs: 1.287"));
    assert_runs(root, 2);
    assert_ends(run_of(root, 0), "loop", "BM1", "BM1");
    assert_closes(run_of(root, 0), "loop", 0.004, loop, 2);
    assert_ends(run_of(root, 1), "spur", "TP1", "TP2");
    assert_point(root, "TP2", "mark", 48.807, 48.807); /* from TP1 adjusted, 48.728 */
    assert_text(point_of(root, "TP2", "mark"), "closure", "unchecked");
    json_decref(root);
}

/* P 48.728 and Q 48.612 come from the runs behind; then P to Q measures -0.121 and closes to -0.005. */
static void
a_run_waits_for_the_runs_that_tie_it(void **state)
{
    static const double corrections[] = { 0.005 };
    (void)state;
    json_t *root = REDUCED(JOB("") MARKS("BM1: {elevation: 48.375}, BM2: {elevation: 49.460}")
        LEVELS ROW("at: P, bs: 1.366") ROW("at: R, on: ground, is: 1.251") ROW("at: Q, fs: 1.487")
        LEVELS ROW("at: BM1, bs: 1.482") ROW("at: P, fs: 1.127, bs: 1.644") ROW("at: BM2, fs: 0.910")
        LEVELS ROW("at: BM1, bs: 1.517") ROW("at: Q, fs: 1.283, bs: 1.771") ROW("at: BM2, fs: 0.926"));
    assert_runs(root, 3);
    assert_count(run_of(root, 0), "entry", 3);
    assert_ends(run_of(root, 0), "link", "P", "Q");
    assert_closes(run_of(root, 0), "link", -0.005, corrections, 1);
    assert_number(point_of(root, "P", "mark"), "adjusted", 48.728);
    assert_number(point_of(root, "Q", "mark"), "adjusted", 48.612);
    assert_point(root, "R", "ground", 48.843, 48.848);
    json_decref(root);
}

/* ---- what is allowed ---- */

/* Four set-ups of 160 m, or of a sixteenth of a mile: 640 m, 0.25 mi. BM2 measured 49.571. */
#define FOUR(d) LEVELS ROW("at: BM1, bs: 1.482, dist: " d)                                                          \
    ROW("at: TP1, fs: 1.127, bs: 1.644, fs-dist: " d ", bs-dist: " d)                                               \
    ROW("at: TP2, fs: 1.208, bs: 1.391, fs-dist: " d ", bs-dist: " d)                                               \
    ROW("at: TP3, fs: 1.350, bs: 1.277, fs-dist: " d ", bs-dist: " d) ROW("at: BM2, fs: 0.913, dist: " d)
#define FOUR_TO(allow, known, d)                                                                                    \
    JOB("allow: {misclosure: " allow "}\n") MARKS("BM1: {elevation: 48.375}, BM2: {elevation: " known "}") FOUR(d)

static void
assert_judged(const char *record, double misclosure, double allowed, bool within)
{
    json_t *root = RESULTS(record, within ? 0 : 1, within ? NULL : "[misclosure]", "close");
    const json_t *run = run_of(root, 0);
    assert_number(run, "misclosure", misclosure);
    assert_number(run, "allowed", allowed);
    assert_truth(run, "within", within);
    assert_truth(run, "spread", within);
    assert_text(run, "closure", within ? "closed" : "outside");
    json_decref(root);
}

static void
the_limit_by_job_is_itself_within(void **state)
{
    (void)state;
    assert_judged(FOUR_TO("0.005, per: job", "49.566", "80"), 0.005, 0.005, true);
    assert_judged(FOUR_TO("0.005, per: job", "49.565", "80"), 0.006, 0.005, false);
    assert_judged(FOUR_TO("0.005, per: job", "49.576", "80"), -0.005, 0.005, true);
    assert_judged(FOUR_TO("0.005, per: job", "49.577", "80"), -0.006, 0.005, false);
}

/* 0.003 x root 4 */
static void
the_limit_by_setups_is_itself_within(void **state)
{
    (void)state;
    assert_judged(FOUR_TO("0.003, per: root-setup", "49.565", "80"), 0.006, 0.006, true);
    assert_judged(FOUR_TO("0.003, per: root-setup", "49.564", "80"), 0.007, 0.006, false);
    assert_judged(FOUR_TO("3 mm, per: root-setup", "49.578", "80"), -0.007, 0.006, false);
}

/* 0.010 x root 0.64 */
static void
the_limit_by_kilometres_is_itself_within(void **state)
{
    (void)state;
    assert_judged(FOUR_TO("10 mm, per: root-km", "49.563", "80"), 0.008, 0.008, true);
    assert_judged(FOUR_TO("10 mm, per: root-km", "49.562", "80"), 0.009, 0.008, false);
    assert_judged(FOUR_TO("10 mm, per: root-km", "49.579", "80"), -0.008, 0.008, true);
}

/* 0.012 x root 0.25 */
static void
the_limit_by_miles_is_itself_within(void **state)
{
    (void)state;
    assert_judged(FOUR_TO("12 mm, per: root-mile", "49.565", "0.03125 mi"), 0.006, 0.006, true);
    assert_judged(FOUR_TO("12 mm, per: root-mile", "49.564", "0.03125 mi"), 0.007, 0.006, false);
    assert_judged(FOUR_TO("12 mm, per: root-mile", "49.577", "0.03125 mi"), -0.006, 0.006, true);
}

static void
without_a_limit_nothing_is_judged(void **state)
{
    (void)state;
    json_t *root = RESULTS(JOB("") MARKS("BM1: {elevation: 48.375}, BM2: {elevation: 49.471}") FOUR("80"), 0, NULL,
        "close");
    const json_t *run = run_of(root, 0);
    assert_number(run, "misclosure", 0.100);
    assert_unknown(run, "allowed");
    assert_unknown(run, "within");
    assert_text(run, "closure", "closed");
    json_decref(root);
}

#define SLIPPED JOB("allow: {misclosure: 0.003, per: job}\n") TWO_MARKS                                             \
    GRADE("name: sill, means: finish, level: 48.900") LEVELS ROW("at: BM1, bs: 1.482")                              \
    ROW("at: A, on: batten, is: 0.971") ROW("at: TP1, fs: 1.127, bs: 1.644") ROW("at: BM2, fs: 0.909")

/* BM2 measured 49.465, given 49.458. */
static void
outside_is_not_spread_and_nothing_is_moved(void **state)
{
    (void)state;
    json_t *root = RESULTS(SLIPPED, 1, "[misclosure]", "stakes");
    const json_t *run = run_of(root, 0), *s = stake_of(root, "A", "sill");
    assert_number(run, "misclosure", 0.007);
    assert_truth(run, "spread", false);
    assert_int_equal(json_array_size(json_object_get(run, "corrections")), 0);
    assert_number(point_of(root, "A", "batten"), "elevation", 48.886);
    static const char *const unknown[] = { "adjusted", "cut", "fill", "move", "move_text", "grade_rod" };
    for (size_t i = 0; i < COUNT(unknown); i++)
        assert_unknown(s, unknown[i]);
    assert_unknown(point_of(root, "A", "batten"), "adjusted");
    assert_unknown(point_of(root, "A", "batten"), "correction");
    assert_text(s, "verdict", "unsure");
    assert_text(s, "closure", "outside");
    json_decref(root);
}

static void
outside_is_spread_all_the_same_when_asked(void **state)
{
    static const double corrections[] = { -0.0035, -0.007 };
    (void)state;
    json_t *root = RESULTS(SLIPPED, 1, "[misclosure]", "stakes", "--spread-anyway");
    const json_t *run = run_of(root, 0), *s = stake_of(root, "A", "sill");
    assert_closes(run, "link", 0.007, corrections, 2);
    assert_truth(run, "within", false);
    assert_point(root, "A", "batten", 48.886, 48.8825);
    assert_move(s, 0.0175, "move");
    assert_number(s, "grade_rod", 0.9535); /* 49.857 - 0.0035 - 48.900 */
    json_decref(root);
}

/* A grade through a point on such a line has no elevation to give. */
static void
a_grade_through_a_line_outside_gives_no_moves(void **state)
{
    (void)state;
    json_t *root = RESULTS(SLIPPED GRADE("name: rail, means: finish, through: {at: A, on: batten, plus: 0.125}")
        LEVELS ROW("at: BM1, bs: 1.366") ROW("at: B, on: batten, is: 0.866") ROW("at: BM1, fs: 1.366"), 1,
        "[misclosure]", "stakes");
    const json_t *s = stake_of(root, "B", "rail");
    assert_unknown(s, "grade");
    assert_unknown(s, "move");
    assert_text(s, "verdict", "unsure");
    assert_move(stake_of(root, "B", "sill"), 0.025, "move"); /* its own line is good: 48.875 */
    json_decref(root);
}

/* ---- grades ---- */

/* A level loop that closes to the nanometre; HI 49.857. SW 48.653, C2 48.743, C3 48.659. */
#define GROUND ONE_MARK POINTS("SW: {x: -1.5, y: -0.9}, A: {x: 12.6, y: 4.5}, P: {x: 3, y: 4}, S: {x: 1.5, y: 3.1}") \
    POINTS("C1: {x: 0, y: 0}, C2: {x: 9, y: 0}, C3: {x: 3, y: 6}") LEVELS ROW("at: BM1, bs: 1.482")                 \
    ROW("at: SW, on: batten, is: 1.204") ROW("at: C1, is: 1.204") ROW("at: C2, is: 1.114") ROW("at: C3, is: 1.198") \
    ROW("at: BM1, fs: 1.482")

static void
assert_grade_at(const char *grade, const char *at, double want)
{
    char record[2048];
    snprintf(record, sizeof record, "%s---\ngrade: {name: sill, means: finish, %s}\n", JOB("") GROUND, grade);
    json_t *root = STAKED(record);
    assert_number(stake_of(root, at, "sill"), "grade", want);
    json_decref(root);
}

static void
a_level_grade_is_the_same_everywhere(void **state)
{
    (void)state;
    assert_grade_at("level: 49.350", "A", 49.350);
    assert_grade_at("level: 49.350", "SW", 49.350);
    assert_grade_at("through: {at: SW, on: batten, plus: 0.125}", "A", 48.778);
    assert_grade_at("through: {at: SW, on: batten, plus: -0.125}", "A", 48.528);
    assert_grade_at("through: {at: BM1}", "A", 48.375);
    assert_grade_at("through: {at: BM1, plus: 4 in}", "A", 48.4766);
}

/* A stands at x 12.6, y 4.5. */
static void
a_slope_runs_along_length_or_width(void **state)
{
    (void)state;
    assert_grade_at("level: 49.350, slope: {fall: 1 in 120, towards: length}", "A", 49.245);
    assert_grade_at("level: 49.350, slope: {rise: 1 in 120, towards: length}", "A", 49.455);
    assert_grade_at("level: 49.350, slope: {rise: 0.8 %, towards: width}", "A", 49.386);
    assert_grade_at("level: 49.350, slope: {fall: 0.8 %, towards: width}", "A", 49.314);
    assert_grade_at("level: 49.350, slope: {fall: 1/8 in per ft, towards: length}", "A", 49.21875); /* 1 in 96 */
    assert_grade_at("level: 49.350, slope: {fall: 0.05 m per 4.8 m, towards: length}", "A", 49.21875);
    assert_grade_at("level: 49.350, slope: {fall: 1 in 120, towards: length}", "SW", 49.3625); /* behind the start */
    assert_grade_at("level: 49.350, slope: {rise: 1 in 11, towards: length}", "A", 50.495454545); /* rounded once */
    assert_grade_at("level: 49.350, slope: {fall: 1 in 11, towards: length}", "A", 48.204545455);
}

/* Towards P, 3 along and 4 across: A lies 0.6 x 12.6 + 0.8 x 4.5 = 11.16 along it. */
static void
a_slope_runs_towards_a_point(void **state)
{
    (void)state;
    assert_grade_at("level: 49.350, slope: {rise: 1 in 60, towards: P}", "A", 49.536);
    assert_grade_at("level: 49.350, slope: {fall: 1 in 60, towards: P}", "A", 49.164);
}

/* From SW, A lies 14.1 along and 5.4 across; S lies 3 along and 4 across. */
static void
a_slope_through_a_point_starts_there(void **state)
{
    (void)state;
    assert_grade_at("through: {at: SW, on: batten, plus: 0.125}, slope: {fall: 1 in 50, towards: length}", "A", 48.496);
    assert_grade_at("through: {at: SW, on: batten, plus: 0.125}, slope: {rise: 2 %, towards: width}", "A", 48.886);
    assert_grade_at("through: {at: SW, on: batten, plus: 0.125}, slope: {fall: 1 in 30, towards: S}", "A", 48.352);
    assert_grade_at("through: {at: SW, on: batten, plus: 0.125}, slope: {fall: 1 in 30, towards: S}", "SW", 48.778);
}

/* 48.753 + 0.010 x - 0.004 y: 0.09 over 9 along; then 0.03 - 0.004 x 6 = 0.006 at C3. */
static void
a_plane_goes_through_three_marks(void **state)
{
    static const char plane[] = "through: [{at: C1, plus: 0.1}, {at: C2, plus: 0.1}, {at: C3, plus: 0.1}]";
    (void)state;
    assert_grade_at(plane, "A", 48.861);
    assert_grade_at(plane, "SW", 48.7416);
    assert_grade_at(plane, "C1", 48.753);
    assert_grade_at(plane, "C2", 48.843);
    assert_grade_at(plane, "C3", 48.759);
    assert_grade_at("through: [{at: C1}, {at: C3, plus: 0.048}, {at: C2}]", "A", 48.797); /* + 0.010 x + 0.004 y */
}

static void
a_grade_wants_a_mark_that_was_read(void **state)
{
    (void)state;
    REFUSED(JOB("") GROUND GRADE("name: sill, means: finish, through: {at: SW, on: post}"), "[grade-mark]", "stakes");
    REFUSED(JOB("") GROUND GRADE("name: sill, means: finish, through: [{at: C1}, {at: C2}, {at: BM1}]"),
        "[grade-place]", "stakes");
}

/* ---- which marks a grade serves ---- */

#define KINDS ONE_MARK POINTS("P1: {kind: post}, B2: {kind: batten}, C1: {kind: corner}") LEVELS                    \
    ROW("at: BM1, bs: 1.482") ROW("at: B1, on: batten, is: 1.204") ROW("at: W1, on: ground, is: 1.896")             \
    ROW("at: P1, on: hole, is: 2.543") ROW("at: W1, on: post, is: 0.672") ROW("at: F1, on: top, is: 0.389")         \
    ROW("at: P1, on: ground, is: 1.733") ROW("at: TP1, is: 1.236") ROW("at: BM1, fs: 1.482")

static void
a_grade_serves_the_kinds_that_it_names(void **state)
{
    static const struct listed list[] = { { "B1", "batten", "string" }, { "W1", "post", "string" },
        { "P1", "post", "string" }, { "B2", "batten", "string" }, /* not read */
        { "W1", "ground", "pad" }, { "P1", "ground", "pad" }, /* ground is ground, at a post too */
        { "F1", "top", "slab" } };
    (void)state;
    json_t *root = STAKED(JOB("") KINDS GRADE("name: string, means: finish, for: [batten, post], level: 48.900")
        GRADE("name: pad, means: subgrade, for: ground, level: 47.900")
        GRADE("name: slab, means: finish, for: footing, level: 49.500"));
    assert_listed(root, list, COUNT(list));
    json_decref(root);
}

/* Without `for`: all but the bottom of a hole, and points read on themselves that `points` does not name. */
static void
a_grade_without_kinds_serves_all(void **state)
{
    static const struct listed list[] = { { "B1", "batten", "sill" }, { "W1", "ground", "sill" },
        { "W1", "post", "sill" }, { "F1", "top", "sill" }, { "P1", "ground", "sill" },
        { "B2", "batten", "sill" }, { "C1", "mark", "sill" } };
    (void)state;
    json_t *root = STAKED(JOB("") KINDS GRADE("name: sill, means: finish, level: 48.900"));
    assert_listed(root, list, COUNT(list));
    json_decref(root);
}

/* A benchmark that points places for the plan's sake, read or not: it holds, and nobody moves it. One of a kind is staked. */
static void
a_benchmark_is_no_mark_to_move(void **state)
{
    static const struct listed list[] = { { "B1", "batten", "sill" }, { "W1", "ground", "sill" },
        { "W1", "post", "sill" }, { "F1", "top", "sill" }, { "P1", "ground", "sill" },
        { "B2", "batten", "sill" }, { "C1", "mark", "sill" }, { "BM8", "batten", "sill" } };
    (void)state;
    json_t *root = STAKED(JOB("") KINDS MARKS("BM7: {elevation: 51.020}, BM8: {elevation: 51.144}")
        POINTS("BM1: {x: -4, y: 2}, BM7: {x: 9, y: 9}, BM8: {x: 1, y: 9, kind: batten}") GRADE("name: sill, means: finish, level: 48.900"));
    assert_listed(root, list, COUNT(list));
    json_decref(root);
}

#define TWO_GRADES JOB("") KINDS GRADE("name: pad, means: subgrade, for: ground, level: 47.900")                    \
    GRADE("name: slab, means: finish, for: footing, level: 49.500")

static void
a_grade_asked_for_serves_every_kind(void **state)
{
    static const struct listed list[] = { { "B1", "batten", "pad" }, { "W1", "ground", "pad" }, { "W1", "post", "pad" },
        { "F1", "top", "pad" }, { "P1", "ground", "pad" }, { "B2", "batten", "pad" }, { "C1", "mark", "pad" } };
    (void)state;
    json_t *root = RESULTS(TWO_GRADES, 0, NULL, "stakes", "--grade", "pad");
    assert_listed(root, list, COUNT(list));
    json_decref(root);
    REFUSED(TWO_GRADES, "[grade-name]", "stakes", "--grade", "sill");
}

/* ---- tolerance, cut and fill ---- */

/* HI 49.857, grade 48.900: grade rod 0.957. */
#define NEAR_GRADE(tolerance) JOB("") ONE_MARK GRADE("name: sill, means: finish, level: 48.900" tolerance) LEVELS   \
    ROW("at: BM1, bs: 1.482") ROW("at: A, on: post, is: 0.959") ROW("at: B, on: post, is: 0.960")                   \
    ROW("at: C, on: post, is: 0.954") ROW("at: D, on: post, is: 0.955") ROW("at: E, on: post, is: 0.957")           \
    ROW("at: F, on: post, is: 0.9574") ROW("at: G, on: post, is: 0.9575") ROW("at: BM1, fs: 1.482")

static void
closer_than_the_tolerance_is_left_alone(void **state)
{
    (void)state;
    json_t *root = STAKED(NEAR_GRADE(", tolerance: 0.003"));
    assert_move(stake_of(root, "A", "sill"), 0.002, "leave");
    assert_move(stake_of(root, "B", "sill"), 0.003, "move"); /* exactly the tolerance */
    assert_move(stake_of(root, "C", "sill"), -0.003, "move");
    assert_move(stake_of(root, "D", "sill"), -0.002, "leave");
    assert_move(stake_of(root, "E", "sill"), 0, "leave");
    assert_text(stake_of(root, "A", "sill"), "move_text", "leave");
    assert_text(stake_of(root, "B", "sill"), "move_text", "up 3 mm");
    assert_text(stake_of(root, "C", "sill"), "move_text", "down 3 mm");
    json_decref(root);
}

static void
without_a_tolerance_half_the_least_division_is_left(void **state)
{
    (void)state;
    json_t *root = STAKED(NEAR_GRADE(""));
    assert_move(stake_of(root, "E", "sill"), 0, "leave");
    assert_move(stake_of(root, "F", "sill"), 0.0004, "leave");
    assert_move(stake_of(root, "G", "sill"), 0.0005, "unsure"); /* asked, and less than one reading can tell */
    assert_move(stake_of(root, "A", "sill"), 0.002, "move");
    json_decref(root);
}

static void
judging_wants_every_mark_on_grade(void **state)
{
    static const char good[] = JOB("") ONE_MARK GRADE("name: sill, means: finish, level: 48.900, tolerance: 0.003")
        LEVELS ROW("at: BM1, bs: 1.482") ROW("at: A, on: post, is: 0.959") ROW("at: BM1, fs: 1.482");
    (void)state;
    json_decref(RESULTS(good, 0, NULL, "stakes", "--judge"));
    json_decref(RESULTS(NEAR_GRADE(", tolerance: 0.003"), 1, NULL, "stakes", "--judge"));
    json_decref(RESULTS(NEAR_GRADE(", tolerance: 0.003"), 0, NULL, "stakes"));
    char unread[1024];
    snprintf(unread, sizeof unread, "%s%s", good, POINTS("B: {kind: post}"));
    json_decref(RESULTS(unread, 1, NULL, "stakes", "--judge"));
    json_decref(RESULTS(unread, 0, NULL, "stakes"));
}

/* ---- grade rods ---- */

/* Adjusted HI 49.859 at 4.1 and 50.378 at 4.2. */
#define RODS(level) JOB("rod-length: 4\n") VIEWED_MARKS GRADE("name: sill, means: finish, level: " level) TWO_VIEWS("")

static void
assert_rod(const json_t *stake, const char *setup, double rod, double offset, double offset_rod)
{
    assert_text(stake, "setup", setup);
    assert_number(stake, "grade_rod", rod);
    assert_number(stake, "offset", offset);
    assert_number(stake, "offset_rod", offset_rod);
}

static void
a_grade_rod_is_for_the_setup_that_last_read_the_mark(void **state)
{
    (void)state;
    json_t *root = STAKED(RODS("49.300"));
    assert_rod(stake_of(root, "SW", "sill"), "4.2", 1.078, NOT_KNOWN, NOT_KNOWN);
    assert_rod(stake_of(root, "NW", "sill"), "4.1", 0.559, NOT_KNOWN, NOT_KNOWN);
    assert_truth(stake_of(root, "NW", "sill"), "longer_than_rod", false);
    json_decref(root);
}

static void
a_grade_rod_is_for_the_setup_that_is_asked_for(void **state)
{
    (void)state;
    json_t *root = RESULTS(RODS("49.300"), 0, NULL, "stakes", "--setup", "4.1");
    assert_rod(stake_of(root, "SW", "sill"), "4.1", 0.559, NOT_KNOWN, NOT_KNOWN);
    json_decref(root);
    root = RESULTS(RODS("49.300"), 0, NULL, "stakes", "--setup", "4.2");
    assert_rod(stake_of(root, "NW", "sill"), "4.2", 1.078, NOT_KNOWN, NOT_KNOWN);
    json_decref(root);
    REFUSED(RODS("49.300"), "[setup-name]", "stakes", "--setup", "4.3");
    REFUSED(RODS("49.300"), "[setup-name]", "stakes", "--setup", "3.1");
    REFUSED(RODS("49.300"), "--setup", "stakes", "--setup", "4");
    REFUSED(RODS("49.300"), "--setup", "stakes", "--setup", "4.0");
}

/* A continuation belongs to the run that it continues; so do its set-ups. */
static void
setups_of_a_continuation_count_with_their_run(void **state)
{
    (void)state;
    json_t *root = RESULTS(JOB("") VIEWED_MARKS GRADE("name: sill, means: finish, level: 49.300")
        LEVELS ROW("at: BM1, bs: 1.482") ROW("at: NW, on: batten, is: 1.217") ROW("at: TP1, fs: 1.127")
        CONTINUES(4) ROW("at: TP1, bs: 1.644") ROW("at: BM2, fs: 0.913"), 0, NULL, "stakes", "--setup", "4.2");
    assert_rod(stake_of(root, "NW", "sill"), "4.2", 1.078, NOT_KNOWN, NOT_KNOWN);
    json_decref(root);
}

static void
a_grade_above_sight_gets_an_offset_mark(void **state)
{
    (void)state;
    json_t *root = STAKED(RODS("51.100"));
    assert_rod(stake_of(root, "SW", "sill"), "4.2", -0.722, 1, 0.278);
    assert_rod(stake_of(root, "NW", "sill"), "4.1", -1.241, 2, 0.759);
    json_decref(root);
    root = STAKED(RODS("50.859")); /* a whole metre above 4.1 */
    assert_rod(stake_of(root, "NW", "sill"), "4.1", -1, 1, 0);
    json_decref(root);
    root = STAKED(RODS("49.859")); /* in the line of sight of 4.1 */
    assert_rod(stake_of(root, "NW", "sill"), "4.1", 0, NOT_KNOWN, NOT_KNOWN);
    json_decref(root);
}

/* HI 104.62 ft; grade 106.90. */
static void
an_offset_mark_is_whole_feet_below(void **state)
{
    (void)state;
    json_t *root = STAKED(JOB_IN("ft", "0.01", "") MARKS("BM1: {elevation: 100.00}")
        GRADE("name: sill, means: finish, level: 106.90") LEVELS ROW("at: BM1, bs: 4.62")
        ROW("at: SW, on: batten, is: 3.14") ROW("at: BM1, fs: 4.62"));
    assert_rod(stake_of(root, "SW", "sill"), "4.1", -2.28, 3, 0.72);
    json_decref(root);
}

static void
a_grade_rod_beyond_the_rod_is_said_to_be(void **state)
{
    (void)state;
    json_t *root = STAKED(RODS("45.859")); /* exactly the rod from 4.1 */
    assert_rod(stake_of(root, "NW", "sill"), "4.1", 4, NOT_KNOWN, NOT_KNOWN);
    assert_truth(stake_of(root, "NW", "sill"), "longer_than_rod", false);
    assert_rod(stake_of(root, "SW", "sill"), "4.2", 4.519, NOT_KNOWN, NOT_KNOWN);
    assert_truth(stake_of(root, "SW", "sill"), "longer_than_rod", true);
    json_decref(root);
}

/* ---- unread and unchecked ---- */

#define UNREAD JOB("rod-length: 4\n") VIEWED_MARKS POINTS("B9: {x: 12.6, y: 4.5, kind: post}")                      \
    GRADE("name: sill, means: finish, for: post, level: 49.300, slope: {fall: 1 in 120, towards: length}")          \
    GRADE("name: drain, means: subgrade, for: post, level: 46.200")

/* Seen from the last set-up of the job, HI 50.378. */
static void
an_unread_point_gets_grade_and_grade_rod(void **state)
{
    static const char *const unknown[] = { "adjusted", "cut", "fill", "move", "move_text", "verdict", "apart" };
    (void)state;
    json_t *root = STAKED(UNREAD TWO_VIEWS(""));
    const json_t *sill = stake_of(root, "B9", "sill"), *drain = stake_of(root, "B9", "drain");
    assert_text(sill, "on", "post");
    assert_number(sill, "grade", 49.195);
    assert_rod(sill, "6.2", 1.183, NOT_KNOWN, NOT_KNOWN);
    assert_truth(sill, "longer_than_rod", false);
    assert_rod(drain, "6.2", 4.178, NOT_KNOWN, NOT_KNOWN);
    assert_truth(drain, "longer_than_rod", true);
    assert_count(sill, "readings", 0);
    for (size_t i = 0; i < COUNT(unknown); i++)
        assert_unknown(sill, unknown[i]);
    json_decref(root);
}

/* docs/json.md: of the grade's closure and that of the set-up of its grade rod, the poorest. */
static void
an_unread_point_has_the_closure_of_its_grade_rod(void **state)
{
    (void)state;
    json_t *root = STAKED(UNREAD TWO_VIEWS(""));
    assert_text(stake_of(root, "B9", "sill"), "closure", "closed");
    json_decref(root);
    root = STAKED(UNREAD LEVELS ROW("at: BM1, bs: 1.482") ROW("at: TP1, fs: 1.127"));
    assert_text(stake_of(root, "B9", "sill"), "closure", "unchecked");
    json_decref(root);
}

static void
a_mark_without_a_place_has_no_grade_on_a_slope(void **state)
{
    (void)state;
    json_t *root = RESULTS(UNREAD LEVELS ROW("at: BM1, bs: 1.482") ROW("at: W1, on: post, is: 0.672")
        ROW("at: BM1, fs: 1.482"), 1, "[stake-place]", "stakes");
    assert_unknown(stake_of(root, "W1", "sill"), "grade");
    assert_text(stake_of(root, "W1", "sill"), "verdict", "unsure");
    assert_move(stake_of(root, "W1", "drain"), -2.985, "move"); /* 49.185 */
    json_decref(root);
}

#define SPUR JOB("") ONE_MARK GRADE("name: sill, means: finish, level: 48.900") LEVELS ROW("at: BM1, bs: 1.482")    \
    ROW("at: A, on: batten, is: 0.971") ROW("at: TP1, fs: 1.127")

static void
what_hangs_on_a_spur_is_unchecked(void **state)
{
    (void)state;
    json_t *root = STAKED(SPUR);
    assert_ends(run_of(root, 0), "spur", "BM1", "TP1");
    assert_text(run_of(root, 0), "closure", "unchecked");
    assert_text(point_of(root, "A", "batten"), "closure", "unchecked");
    assert_text(point_of(root, "TP1", "mark"), "closure", "unchecked");
    assert_text(point_of(root, "BM1", "mark"), "closure", "closed");
    assert_text(stake_of(root, "A", "sill"), "closure", "unchecked");
    assert_move(stake_of(root, "A", "sill"), 0.014, "move");
    json_decref(root);
    struct ran r = sheet_of("stakes", SPUR);
    assert_said(r.out, "unchecked");
    ran_release(&r);
}

/* The mark is on a good line, the grade goes through a point that is not. */
static void
a_grade_through_a_spur_is_unchecked(void **state)
{
    (void)state;
    json_t *root = STAKED(SPUR GRADE("name: rail, means: finish, through: {at: TP1, plus: 0.125}")
        LEVELS ROW("at: BM1, bs: 1.366") ROW("at: B, on: batten, is: 0.866") ROW("at: BM1, fs: 1.366"));
    const json_t *s = stake_of(root, "B", "rail");
    assert_text(point_of(root, "B", "batten"), "closure", "closed");
    assert_move(s, -0.020, "move"); /* 48.875 to 48.855 */
    assert_text(s, "closure", "unchecked");
    assert_text(stake_of(root, "B", "sill"), "closure", "closed");
    json_decref(root);
}

/* ---- sections ---- */

#define SECTION_MARKS MARKS("BM1: {elevation: 48.375}, BM2: {elevation: 48.820}")
#define CHAIN SECTION_MARKS SECTIONS ROW("from: BM1, to: S1, rise: 0.731, setups: 4, dist: 1.8 km")                 \
    ROW("from: S1, to: BM2, rise: -0.276, setups: 6, dist: 0.6 km")

static void
sections_that_chain_are_spread_by_setups(void **state)
{
    static const double corrections[] = { -0.004, -0.010 };
    (void)state;
    json_t *root = REDUCED(JOB("") CHAIN);
    const json_t *run = run_of(root, 0);
    assert_runs(root, 1);
    assert_ends(run, "link", "BM1", "BM2");
    assert_closes(run, "link", 0.010, corrections, 2);
    assert_count(run, "setups", 10);
    assert_number(run, "dist", 2400);
    assert_sums(run, NOT_KNOWN, NOT_KNOWN, 0.731, 0.276);
    assert_point(root, "S1", "mark", 49.106, 49.102);
    json_decref(root);
}

static void
sections_that_chain_are_spread_by_distance(void **state)
{
    static const double corrections[] = { -0.0075, -0.010 };
    (void)state;
    json_t *root = REDUCED(JOB("spread: distance\n") CHAIN);
    assert_closes(run_of(root, 0), "link", 0.010, corrections, 2);
    assert_point(root, "S1", "mark", 49.106, 49.0985);
    json_decref(root);
}

static void
sections_stand_in_the_book_with_their_check(void **state)
{
    static const struct booked book[] = { { 3, 1, 49.106, NULL }, { 3, 2, 48.830, NULL } };
    static const struct checked check = { 1, 48.375, NOT_KNOWN, NOT_KNOWN, 0.731, 0.276, 48.830 };
    (void)state;
    json_t *root = REDUCED(JOB("") CHAIN);
    assert_book(root, book, COUNT(book));
    assert_number(line_of(root, 0), "rise", 0.731);
    assert_unknown(line_of(root, 0), "fall");
    assert_number(line_of(root, 1), "fall", 0.276);
    assert_count(line_of(root, 1), "setups", 6);
    assert_number(line_of(root, 1), "dist", 600);
    assert_checks(root, "check_piece", &check, 1);
    json_decref(root);
}

/* S1 49.106; then one set-up, 1.366 - 1.647, to 48.825: 0.005 over five set-ups. */
static void
sections_and_levels_are_spread_together(void **state)
{
    static const double corrections[] = { -0.004, -0.005 };
    (void)state;
    json_t *root = REDUCED(JOB("") SECTION_MARKS SECTIONS ROW("from: BM1, to: S1, rise: 0.731, setups: 4")
        LEVELS ROW("at: S1, bs: 1.366") ROW("at: A, is: 1.251") ROW("at: BM2, fs: 1.647"));
    const json_t *run = run_of(root, 0);
    assert_runs(root, 1);
    assert_ends(run, "link", "BM1", "BM2");
    assert_closes(run, "link", 0.005, corrections, 2);
    assert_count(run, "setups", 5);
    assert_sums(run, NOT_KNOWN, NOT_KNOWN, 0.846, 0.396);
    assert_point(root, "S1", "mark", 49.106, 49.102);
    assert_point(root, "A", "mark", 49.221, 49.216);
    json_decref(root);
}

/* TP1 48.730; then a section of three set-ups to 49.465. */
static void
levels_and_sections_are_spread_together(void **state)
{
    static const double corrections[] = { -0.00175, -0.007 };
    (void)state;
    json_t *root = REDUCED(JOB("") TWO_MARKS LEVELS ROW("at: BM1, bs: 1.482") ROW("at: TP1, fs: 1.127")
        SECTIONS ROW("from: TP1, to: BM2, rise: 0.735, setups: 3"));
    assert_closes(run_of(root, 0), "link", 0.007, corrections, 2);
    assert_sums(run_of(root, 0), 1.482, 1.127, 1.090, 0);
    assert_point(root, "TP1", "mark", 48.730, 48.72825);
    json_decref(root);
}

static void
a_struck_section_enters_nothing(void **state)
{
    static const struct booked book[] = { { 3, 1, 49.106, NULL }, { 3, 2, NOT_KNOWN, "row" }, { 3, 3, 48.826, NULL } };
    static const double corrections[] = { -0.003, -0.006 };
    (void)state;
    json_t *root = REDUCED(JOB("") SECTION_MARKS SECTIONS ROW("from: BM1, to: S1, rise: 0.731, setups: 4")
        ROW("from: S1, to: BM2, rise: -0.267, setups: 6") ROW("from: S1, to: BM2, rise: -0.280, setups: 4")
        STRIKE("entry: 3, row: 2"));
    assert_book(root, book, COUNT(book));
    assert_number(line_of(root, 1), "fall", 0.267);
    assert_closes(run_of(root, 0), "link", 0.006, corrections, 2);
    json_decref(root);
}

static void
a_section_must_say_what_it_is_spread_by(void **state)
{
    (void)state;
    REFUSED(JOB("") SECTION_MARKS SECTIONS ROW("from: BM1, to: BM2, rise: 0.451, dist: 1.8 km"), "[no-setups]",
        "close");
    REFUSED(JOB("spread: distance\n") SECTION_MARKS SECTIONS ROW("from: BM1, to: BM2, rise: 0.451, setups: 3"),
        "[no-distance]", "close");
}

/* A set-up that nothing ties to a mark has no grade rod to give, named or not. */
static void
a_setup_adrift_gives_no_grade_rod(void **state)
{
    const char *record = JOB("") TWO_MARKS LEVELS ROW("at: BM1, bs: 1.482") ROW("at: P1, on: post, is: 1.733")
        ROW("at: TP1, fs: 1.127, bs: 1.644") ROW("at: P2, on: post, is: 1.377") ROW("at: TP2, fs: 0.913")
        STRIKE("entry: 3, row: 3") "---\npoints: {W7: {x: 1.5, y: 2.5, kind: post}}\n"
        "---\ngrade: {name: sill, means: finish, level: 48.2}\n";
    struct ran r = RUN_WITH(record, "stakes", "--json", "--setup", "3.2", "-");
    json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, NULL);
    size_t i;
    json_t *stake;
    (void)state;
    assert_non_null(root);
    assert_int_equal(json_array_size(json_object_get(root, "stakes")), 3); /* P1, W7, and P2 without elevation */
    json_array_foreach(json_object_get(root, "stakes"), i, stake)
    {
        assert_true(json_is_null(json_object_get(stake, "grade_rod")));
        if (strcmp(json_string_value(json_object_get(stake, "at")), "P2") != 0)
            continue;
        assert_true(json_is_null(json_object_get(stake, "adjusted")));
        assert_true(json_is_null(json_object_get(stake, "closure")));
        assert_string_equal(json_string_value(json_object_get(stake, "verdict")), "unsure");
    }
    json_decref(root);
    ran_release(&r);
}

/* A run that opens on a point moved since the run before it ended there begins with its new position. */
static void
a_run_may_open_on_a_point_that_was_moved(void **state)
{
    (void)state;
    json_t *root = REDUCED(JOB("") ONE_MARK LEVELS ROW("at: BM1, bs: 1.482") ROW("at: PEG, fs: 1.127") LEVELS
        ROW("at: PEG, bs: 1.333, moved: true") ROW("at: BM1, fs: 1.611"));
    assert_runs(root, 2);
    assert_ends(run_of(root, 0), "spur", "BM1", "PEG");
    assert_ends(run_of(root, 1), "spur", "PEG", "BM1");
    assert_point(root, "PEG", "mark", 48.730, 48.730); /* 48.375 + 1.482 - 1.127 */
    assert_number(look_for(root, "PEG", "mark", 2), "adjusted", 48.653); /* 48.375 + 1.611 - 1.333 */
    json_decref(root);
}

/* The reading is struck, the move is not: what is read later is the new position, with or without a replacement. */
static void
a_struck_move_is_still_a_move(void **state)
{
    const char *common = ROW("at: BM1, bs: 1.482") ROW("at: W, on: post, is: 1.627")
        ROW("at: W, on: post, is: 1.403, moved: true") ROW("at: W, on: post, is: 1.377") ROW("at: BM1, fs: 1.482");
    char record[2048];
    (void)state;
    for (int replaced = 0; replaced < 2; replaced++) {
        snprintf(record, sizeof record, "%s%s%s%s%s", JOB("") ONE_MARK LEVELS, common, STRIKE("entry: 3, row: 3"),
            replaced ? CONTINUES(3) : "", replaced ? ROW("at: W, on: post, is: 1.379, for: {entry: 3, row: 3}") : "");
        json_t *root = RESULTS(record, 0, NULL, "reduce");
        assert_point(root, "W", "post", 48.230, 48.230); /* 49.857 - 1.627 */
        const json_t *now = look_for(root, "W", "post", 2);
        assert_non_null(now);
        assert_number(now, "adjusted", replaced ? 48.479 : 48.480); /* from 1.377, and 1.379 */
        assert_null(look_for(root, "W", "post", 3));
        json_decref(root);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_run_may_open_on_a_point_that_was_moved),
        cmocka_unit_test(a_struck_move_is_still_a_move),
        cmocka_unit_test(a_setup_adrift_gives_no_grade_rod),
        cmocka_unit_test(a_struck_sight_enters_nothing_and_stays_in_the_book),
        cmocka_unit_test(a_replaced_sight_takes_the_place_of_the_struck_one),
        cmocka_unit_test(a_turning_point_is_replaced_whole),
        cmocka_unit_test(the_foresight_of_a_turning_point_is_replaced),
        cmocka_unit_test(the_backsight_of_a_turning_point_is_replaced),
        cmocka_unit_test(both_halves_of_a_turning_point_are_replaced_one_by_one),
        cmocka_unit_test(a_replacement_is_replaced_in_its_turn),
        cmocka_unit_test(a_replaced_turning_point_is_replaced_in_its_turn),
        cmocka_unit_test(a_replaced_foresight_is_replaced_in_its_turn),
        cmocka_unit_test(a_second_replacement_may_name_the_first_row),
        cmocka_unit_test(replacements_stand_in_the_order_of_the_run),
        cmocka_unit_test(a_struck_turning_point_breaks_the_run_in_two),
        cmocka_unit_test(pieces_of_a_broken_run_are_checked_one_by_one),
        cmocka_unit_test(behind_a_break_nothing_is_known_without_a_mark),
        cmocka_unit_test(a_struck_foresight_breaks_the_run_before_its_backsight),
        cmocka_unit_test(a_struck_backsight_breaks_the_run_behind_its_foresight),
        cmocka_unit_test(a_continuation_is_continued),
        cmocka_unit_test(a_torn_entry_is_not_used_and_keeps_its_number),
        cmocka_unit_test(a_torn_entry_that_reads_well_is_not_used_either),
        cmocka_unit_test(sealed_and_hand_written_entries_are_used_alike),
        cmocka_unit_test(a_broken_digest_is_told_with_every_result),
        cmocka_unit_test(an_entry_cut_twice_is_torn),
        cmocka_unit_test(the_last_value_of_a_mark_holds_for_the_whole_job),
        cmocka_unit_test(the_last_value_of_a_point_and_of_a_grade_holds),
        cmocka_unit_test(an_earlier_value_of_a_grade_is_not_looked_at),
        cmocka_unit_test(a_move_is_compared_with_what_was_asked),
        cmocka_unit_test(readings_before_a_move_no_longer_count),
        cmocka_unit_test(nothing_is_said_of_moves_where_none_was_made),
        cmocka_unit_test(a_new_position_takes_all_readings_behind_it),
        cmocka_unit_test(a_struck_row_moves_nothing),
        cmocka_unit_test(a_turning_point_in_two_rows_is_moved_once),
        cmocka_unit_test(a_benchmark_that_was_moved_is_none),
        cmocka_unit_test(a_point_and_on_name_one_elevation),
        cmocka_unit_test(a_batten_read_from_two_setups_takes_the_mean),
        cmocka_unit_test(a_mean_is_rounded_once_to_the_nanometre),
        cmocka_unit_test(a_side_shot_on_a_given_mark_is_a_check),
        cmocka_unit_test(a_side_shot_on_a_turning_point_is_a_check),
        cmocka_unit_test(a_sight_on_the_point_that_ends_its_setup_is_a_check_of_it),
        cmocka_unit_test(an_inverted_rod_is_a_reading_below_nought),
        cmocka_unit_test(three_wires_are_meaned_and_rounded_once),
        cmocka_unit_test(stadia_lengths_spread_by_distance),
        cmocka_unit_test(a_booked_length_goes_before_the_stadia),
        cmocka_unit_test(by_distance_every_length_must_be_booked),
        cmocka_unit_test(a_page_that_ends_inside_a_setup_closes_on_its_last_sight),
        cmocka_unit_test(the_foresight_of_a_turned_page_belongs_to_the_page_before),
        cmocka_unit_test(a_backsight_that_ends_a_page_counts_on_the_next),
        cmocka_unit_test(a_replaced_turning_point_turns_the_page_as_the_struck_one_did),
        cmocka_unit_test(in_an_open_setup_the_last_sight_serves_as_foresight),
        cmocka_unit_test(an_open_setup_that_ends_on_a_mark_closes),
        cmocka_unit_test(a_mark_met_midway_parts_the_line),
        cmocka_unit_test(runs_chain_into_one_line),
        cmocka_unit_test(a_loop_a_link_and_a_spur_are_told_apart),
        cmocka_unit_test(a_run_waits_for_the_runs_that_tie_it),
        cmocka_unit_test(the_limit_by_job_is_itself_within),
        cmocka_unit_test(the_limit_by_setups_is_itself_within),
        cmocka_unit_test(the_limit_by_kilometres_is_itself_within),
        cmocka_unit_test(the_limit_by_miles_is_itself_within),
        cmocka_unit_test(without_a_limit_nothing_is_judged),
        cmocka_unit_test(outside_is_not_spread_and_nothing_is_moved),
        cmocka_unit_test(outside_is_spread_all_the_same_when_asked),
        cmocka_unit_test(a_grade_through_a_line_outside_gives_no_moves),
        cmocka_unit_test(a_level_grade_is_the_same_everywhere),
        cmocka_unit_test(a_slope_runs_along_length_or_width),
        cmocka_unit_test(a_slope_runs_towards_a_point),
        cmocka_unit_test(a_slope_through_a_point_starts_there),
        cmocka_unit_test(a_plane_goes_through_three_marks),
        cmocka_unit_test(a_grade_wants_a_mark_that_was_read),
        cmocka_unit_test(a_grade_serves_the_kinds_that_it_names),
        cmocka_unit_test(a_grade_without_kinds_serves_all),
        cmocka_unit_test(a_benchmark_is_no_mark_to_move),
        cmocka_unit_test(a_grade_asked_for_serves_every_kind),
        cmocka_unit_test(closer_than_the_tolerance_is_left_alone),
        cmocka_unit_test(without_a_tolerance_half_the_least_division_is_left),
        cmocka_unit_test(judging_wants_every_mark_on_grade),
        cmocka_unit_test(a_grade_rod_is_for_the_setup_that_last_read_the_mark),
        cmocka_unit_test(a_grade_rod_is_for_the_setup_that_is_asked_for),
        cmocka_unit_test(setups_of_a_continuation_count_with_their_run),
        cmocka_unit_test(a_grade_above_sight_gets_an_offset_mark),
        cmocka_unit_test(an_offset_mark_is_whole_feet_below),
        cmocka_unit_test(a_grade_rod_beyond_the_rod_is_said_to_be),
        cmocka_unit_test(an_unread_point_gets_grade_and_grade_rod),
        cmocka_unit_test(an_unread_point_has_the_closure_of_its_grade_rod),
        cmocka_unit_test(a_mark_without_a_place_has_no_grade_on_a_slope),
        cmocka_unit_test(what_hangs_on_a_spur_is_unchecked),
        cmocka_unit_test(a_grade_through_a_spur_is_unchecked),
        cmocka_unit_test(sections_that_chain_are_spread_by_setups),
        cmocka_unit_test(sections_that_chain_are_spread_by_distance),
        cmocka_unit_test(sections_stand_in_the_book_with_their_check),
        cmocka_unit_test(sections_and_levels_are_spread_together),
        cmocka_unit_test(levels_and_sections_are_spread_together),
        cmocka_unit_test(a_struck_section_enters_nothing),
        cmocka_unit_test(a_section_must_say_what_it_is_spread_by),
    };
    return cmocka_run_group_tests_name("record rules", tests, NULL, NULL);
}
