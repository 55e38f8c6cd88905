/* `run` as a crew meets it. All figures are our own arithmetic, worked out beside the tests. */
#define _POSIX_C_SOURCE 200809L /* fileno */
#include "../program.h"

#include <jansson.h>
#include <stdbool.h>

#define IN (1 / 12.0) /* ft */

/* A shed of 24 by 12 ft: row A in front, B behind, R between them. */
#define HEAD                                                                                                          \
    "---\njob: Wool shed\nunit: ft\nleast: 0.01\nsigma: 0.002\n---\nmarks: {BM: {elevation: 100}}\n---\npoints:\n"      \
    "  A1: {x: 0, y: 0, kind: post}\n  A2: {x: 6, y: 0, kind: post}\n  A3: {x: 12, y: 0, kind: post}\n"                 \
    "  A4: {x: 18, y: 0, kind: post}\n  A5: {x: 24, y: 0, kind: post}\n"                                                \
    "  B1: {x: 0, y: 12, kind: post}\n  B2: {x: 12, y: 12, kind: post}\n  B3: {x: 24, y: 12, kind: post}\n"             \
    "  R1: {x: 0, y: 6, kind: post}\n  R2: {x: 24, y: 6, kind: post}\n"
#define TOLERANCE "  tolerance: {line: 1/4 in, height: 1/4 in, plumb: 1/4 in in 4 ft}\n"
#define LINE "  tolerance: {line: 1/4 in}\n"
#define ROW_A "---\nset:\n  row: A\n  gap: 5-1/2 in\n"

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

#define RESULTS(record, status) results(record, status, (const char *const[]){ "run", "--json", "-", NULL })

static json_t *
row_of(json_t *root, size_t i)
{
    json_t *row = json_array_get(json_object_get(root, "rows"), i);
    assert_non_null(row);
    return row;
}

static json_t *
post_of(json_t *row, const char *name)
{
    size_t i;
    json_t *one;
    json_array_foreach(json_object_get(row, "posts"), i, one)
        if (strcmp(json_string_value(json_object_get(one, "at")), name) == 0)
            return one;
    fail_msg("no post %s", name);
    return NULL;
}

static json_t *
member(json_t *of, const char *key)
{
    json_t *value = json_object_get(of, key);
    if (!value)
        fail_msg("no %s", key);
    return value;
}

#define REAL(of, key) json_real_value(member(of, key))
#define WORD(of, key) json_string_value(member(of, key))

static void
assert_unknown(json_t *of, const char *key)
{
    if (!json_is_null(member(of, key)))
        fail_msg("%s is not null", key);
}

static void
assert_says(const char *text, const char *words)
{
    if (!ran_says(text, words))
        fail_msg("does not say: %s\n%s", words, text);
}

static void
assert_silent(const char *text, const char *words)
{
    if (strstr(text, words))
        fail_msg("says: %s\n%s", words, text);
}

static struct ran
text_of(const char *record, int status)
{
    struct ran r = RUN_WITH(record, "run", "-");
    if (r.status != status)
        fail_msg("exit status %d, want %d\n%s%s", r.status, status, r.err, r.out);
    return r;
}

/* ---- line ---- */

/* The string outside: a gap that is an inch more is a post an inch in; the others' line stays where it is. */
static void
one_rogue_is_named_with_its_way(void **state)
{
    static const char record[] = HEAD ROW_A LINE "  rows:\n    - {at: A1, gap: 5-1/2 in}\n    - {at: A2, gap: 5-1/2 in}\n"
        "    - {at: A3, gap: 6-1/2 in}\n    - {at: A4, gap: 5-1/2 in}\n    - {at: A5, gap: 5-1/2 in}\n";
    (void)state;
    json_t *root = RESULTS(record, 1), *row = row_of(root, 0), *a3 = post_of(row, "A3"), *a4 = post_of(row, "A4");
    assert_near(REAL(a3, "off"), IN, 1e-8);
    assert_near(REAL(a3, "off_own"), IN, 1e-8);
    assert_string_equal(WORD(a3, "way"), "in");
    assert_true(json_is_true(member(a3, "rogue")));
    assert_string_equal(WORD(a3, "verdict"), "off");
    assert_unknown(a3, "or_else");
    assert_near(REAL(a4, "off_own"), 0, 1e-9);
    assert_unknown(a4, "way");
    assert_true(json_is_false(member(a4, "rogue")));
    assert_string_equal(WORD(a4, "verdict"), "good");
    assert_near(REAL(a4, "along"), 18, 0);
    assert_int_equal(json_integer_value(member(member(row, "own_line"), "kept")), 4);
    json_decref(root);
    struct ran r = text_of(record, 1);
    assert_says(r.out, "A3 is the ROGUE: inward 1 in from the line of the others, beyond doubt.");
    assert_says(r.out, "Push A3 outward 1 in at the string; brace it both ways");
    assert_silent(r.out, "Push A4");
    assert_says(r.out, "Wet concrete burns");
    assert_null(strstr(strstr(r.out, "Wet concrete") + 1, "Wet concrete")); /* once */
    ran_release(&r);
}

/* The back row has the building on its other hand: the same gaps, the same words. A smaller gap is a post that is out. */
static void
in_and_out_are_the_buildings(void **state)
{
    static const char record[] = HEAD "---\nset:\n  gap: 5-1/2 in\n" LINE
        "  rows: [{at: B1, gap: 5-1/2 in}, {at: B2, gap: 5 in}, {at: B3, gap: 6 in}]\n"
        "---\nset:\n  row: A\n  side: in\n  gap: 5-1/2 in\n" LINE "  rows: [{at: A1, gap: 6 in}, {at: A5, gap: 5-1/2 in}]\n"
        "---\nset:\n  row: A\n  side: left\n  gap: 5-1/2 in\n" LINE "  rows: [{at: A1, gap: 6 in}, {at: A5, gap: 5-1/2 in}]\n";
    (void)state;
    json_t *root = RESULTS(record, 1), *row = row_of(root, 0);
    assert_string_equal(WORD(row, "row"), "B"); /* by its posts' names */
    assert_string_equal(WORD(post_of(row, "B2"), "way"), "out");
    assert_near(REAL(post_of(row, "B2"), "off"), -0.5 * IN, 1e-9);
    assert_string_equal(WORD(post_of(row, "B3"), "way"), "in");
    row = row_of(root, 1); /* the last entry of A: left of the front row is the building */
    assert_string_equal(WORD(row, "away"), "out");
    assert_string_equal(WORD(post_of(row, "A1"), "way"), "out");
    json_decref(root);
    struct ran r = text_of(record, 1);
    assert_says(r.out, "Push B2 inward 1/2 in at the string");
    assert_says(r.out, "Push B3 outward 1/2 in at the string");
    assert_says(r.out, "Push A1 inward 1/2 in at the string");
    assert_says(r.out, "5-1/2 in off the faces, inside the posts");
    ran_release(&r);
}

static void
without_a_tolerance_nothing_is_judged(void **state)
{
    static const char record[] = HEAD ROW_A "  rows:\n    - {at: A1, gap: 5-1/2 in}\n    - {at: A2, gap: 5-1/2 in}\n"
        "    - {at: A3, gap: 6-1/2 in}\n    - {at: A4, gap: 5-1/2 in}\n    - {at: A5, gap: 5-1/2 in, lean: 1 in in 4 ft}\n";
    (void)state;
    json_t *root = RESULTS(record, 0), *a3 = post_of(row_of(root, 0), "A3");
    assert_unknown(a3, "verdict");
    assert_true(json_is_true(member(a3, "stands_out")));
    assert_true(json_is_false(member(a3, "rogue")));
    assert_unknown(member(post_of(row_of(root, 0), "A5"), "lean_along"), "verdict");
    json_decref(root);
    struct ran r = text_of(record, 0);
    assert_says(r.out, "no tolerance is stated: everything is shown, and nothing is judged");
    assert_says(r.out, "stands out from the others");
    assert_silent(r.out, "ROGUE");
    assert_silent(r.out, "judged  "); /* the column */
    ran_release(&r);
}

/* Two rogues among eight would be named; two of four cannot be, and the string still judges all of them. */
static void
few_posts_tell_little(void **state)
{
    static const char two[] = HEAD ROW_A LINE "  rows: [{at: A1, gap: 5-1/2 in}, {at: A5, gap: 6 in}]\n";
    static const char three[] = HEAD ROW_A LINE "  rows: [{at: A1, gap: 5-1/2 in}, {at: A3, gap: 6-1/2 in}, {at: A5, gap: 5-1/2 in}]\n";
    static const char straight[] = HEAD ROW_A LINE "  rows: [{at: A1, gap: 5-1/2 in}, {at: A3, gap: 5-9/16 in}, {at: A5, gap: 5-1/2 in}]\n";
    static const char lone[] = HEAD "---\nset: {row: A, tolerance: {line: 1/4 in}, rows: [{at: A1, gap: 5-1/2 in}, {at: A5, gap: 6 in}]}\n";
    (void)state;
    struct ran r = text_of(two, 1);
    assert_says(r.out, "two posts are always in line");
    assert_says(r.out, "Not measured: A2, A3, A4.");
    assert_says(r.out, "Push A5 outward 1/2 in");
    assert_silent(r.out, "ROGUE");
    ran_release(&r);
    r = text_of(three, 1);
    assert_says(r.out, "Three posts, not in one line: A3 is inward 1 in from the other two, or one of those is off.");
    assert_silent(r.out, "ROGUE");
    ran_release(&r);
    r = text_of(straight, 1); /* two of the row are missing */
    assert_says(r.out, "three posts, in one line as far as the tape tells");
    ran_release(&r);
    json_t *root = RESULTS(three, 1), *line = member(row_of(root, 0), "own_line");
    assert_near(REAL(line, "middle"), IN, 1e-9);
    assert_true(json_is_true(member(line, "bent")));
    assert_unknown(line, "first");
    assert_unknown(post_of(row_of(root, 0), "A3"), "off_own");
    assert_unknown(post_of(row_of(root, 0), "A2"), "gap");
    json_decref(root);
    r = text_of(lone, 1); /* neither a stated gap nor a line */
    assert_says(r.out, "A5: can't tell: say what gap the string should have, or measure more posts.");
    ran_release(&r);
}

/* The last of five 5/16 in off: without the one before it the rest would be as much in line as a tape tells. */
static void
two_that_could_each_be_it(void **state)
{
    static const char record[] = HEAD ROW_A LINE "  rows:\n    - {at: A1, gap: 5-1/2 in}\n    - {at: A2, gap: 5-9/16 in}\n"
        "    - {at: A3, gap: 5-1/2 in}\n    - {at: A4, gap: 5-1/2 in}\n    - {at: A5, gap: 5-13/16 in}\n";
    (void)state;
    json_t *root = RESULTS(record, 1), *a5 = post_of(row_of(root, 0), "A5");
    assert_true(json_is_true(member(a5, "stands_out")));
    assert_string_equal(WORD(a5, "or_else"), "A4");
    assert_true(json_is_false(member(a5, "rogue")));
    json_decref(root);
    struct ran r = text_of(record, 1);
    assert_silent(r.out, "ROGUE");
    assert_says(r.out, "A5 or A4 is off the line of the others; the posts cannot tell which, the string can.");
    assert_says(r.out, "Push A5 outward 5/16 in at the string"); /* by the string it is the one */
    ran_release(&r);
}

/* All 3/8 in out, in one line: the string hangs wrong, not the posts. */
static void
a_whole_run_off_the_string(void **state)
{
    static const char record[] = HEAD ROW_A LINE "  rows:\n    - {at: A1, gap: 5-1/8 in}\n    - {at: A2, gap: 5-1/8 in}\n"
        "    - {at: A3, gap: 5-1/8 in}\n    - {at: A4, gap: 5-1/8 in}\n    - {at: A5, gap: 5-1/8 in}\n";
    (void)state;
    struct ran r = text_of(record, 1);
    assert_says(r.out, "the posts' own line against the string: outward 3/8 in at A1, outward 3/8 in at A5");
    assert_says(r.out, "THE RUN AS A WHOLE IS OFF THE STRING");
    assert_silent(r.out, "ROGUE");
    ran_release(&r);
    json_t *root = RESULTS(record, 1), *line = member(row_of(root, 0), "own_line");
    assert_near(REAL(line, "first"), -3.0 / 8 * IN, 1e-9);
    assert_string_equal(WORD(line, "last_verdict"), "off");
    assert_string_equal(WORD(line, "of"), "string");
    assert_near(REAL(post_of(row_of(root, 0), "A3"), "off_own"), 0, 1e-9);
    json_decref(root);
}

static void
a_post_at_the_string_pushes_it(void **state)
{
    static const char touch[] = HEAD ROW_A LINE "  rows: [{at: A1, gap: 5-1/2 in}, {at: A2, gap: 0 in}, {at: A3, gap: 6 in},\n"
        "    {at: A4, gap: 5-1/2 in}, {at: A5, gap: 5-1/2 in}]\n";
    static const char touching[] = HEAD "---\nset:\n  row: A\n  gap: 0 in\n  rows: [{at: A1, gap: 0 in}, {at: A2, gap: 1/8 in}, {at: A3, gap: 0 in},\n"
        "    {at: A4, gap: 1/8 in}, {at: A5, gap: 0 in}]\n";
    static const char nought[] = HEAD "---\nset:\n  row: A\n  gap: 0 in\n  rows: [{at: A1, gap: 0 in}, {at: A2, gap: 1/8 in}, {at: A3, gap: -1/8 in},\n"
        "    {at: A4, gap: 1/8 in}, {at: A5, gap: 0 in}]\n";
    static const char clear[] = HEAD ROW_A LINE "  rows: [{at: A1, gap: 5-1/2 in}, {at: A2, gap: 5-1/2 in}, {at: A3, gap: 5-1/2 in},\n"
        "    {at: A4, gap: 5-1/2 in}, {at: A5, gap: 5-1/2 in}]\n";
    (void)state;
    struct ran r = text_of(touch, 1);
    assert_says(r.out, "TOUCHES the string");
    assert_says(r.out, "the gaps beside it are not to be trusted");
    assert_says(r.out, "Push A2 inward 5-1/2 in at the string");
    assert_silent(r.out, "Push A3"); /* its gap is the string's doing */
    ran_release(&r);
    r = text_of(touching, 0);
    assert_says(r.out, "hang the string off the faces by a block");
    ran_release(&r);
    r = text_of(nought, 1);
    assert_says(r.out, "PUSHES the string");
    assert_says(r.out, "no other post is to be pushed before that");
    assert_says(r.out, "-1/8 in");
    ran_release(&r);
    r = text_of(clear, 0);
    assert_silent(r.out, "TOUCHES");
    assert_says(r.out, "nothing: all that was measured is within the stated tolerances");
    ran_release(&r);
}

/* A string that was hung 1/2 in farther out the next day: its posts have not moved, but A4 has. */
static void
the_next_day_is_compared(void **state)
{
    static const char record[] = HEAD ROW_A LINE "  date: 2026-05-05\n  rows: [{at: A1, gap: 5-1/2 in}, {at: A2, gap: 5-1/2 in}, {at: A3, gap: 5-1/2 in},\n"
        "    {at: A4, gap: 5-1/2 in}, {at: A5, gap: 5-1/2 in}]\n"
        "---\nset:\n  row: A\n  gap: 6 in\n  sigma: 1/32 in\n" LINE "  date: 2026-05-06\n  rows: [{at: A1, gap: 6 in}, {at: A2, gap: 6-1/16 in},\n"
        "    {at: A4, gap: 5-5/8 in}, {at: A5, gap: 6 in}]\n";
    (void)state;
    json_t *root = RESULTS(record, 1), *row = row_of(root, 0);
    assert_int_equal(json_array_size(json_object_get(root, "rows")), 1);
    assert_int_equal(json_integer_value(member(row, "entry")), 5);
    assert_int_equal(json_integer_value(member(row, "before")), 4);
    assert_near(REAL(post_of(row, "A4"), "moved"), -3.0 / 8 * IN, 1e-9);
    assert_true(json_is_true(member(post_of(row, "A4"), "moved_sure")));
    assert_near(REAL(post_of(row, "A1"), "moved"), 0, 1e-9);
    assert_near(REAL(post_of(row, "A2"), "moved"), 1.0 / 16 * IN, 1e-9);
    assert_true(json_is_false(member(post_of(row, "A2"), "moved_sure")));
    assert_unknown(post_of(row, "A3"), "moved");
    assert_true(json_is_false(member(post_of(row, "A3"), "measured")));
    assert_near(REAL(row, "sigma"), 1.0 / 32 * IN, 1e-8);
    json_decref(root);
    struct ran r = text_of(record, 1);
    assert_says(r.out, "compared with entry 4, 2026-05-05");
    assert_says(r.out, "moved outward 3/8 in since entry 4");
    assert_says(r.out, "moved inward 1/16 in since entry 4, within the tape's doubt");
    assert_says(r.out, "Not measured: A3.");
    ran_release(&r);
}

/* ---- plumb ---- */

/* By hand: 1/4 in in 4 ft is 1/192, 1/16 in in a foot, 0.298413 degrees; 3/8 in in 4 ft is 0.447613. */
static void
plumb_by_two_gaps_and_by_a_level(void **state)
{
    static const char record[] = HEAD ROW_A TOLERANCE "  rows:\n    - {at: A1, low: 5-1/2 in, high: 5-3/4 in, apart: 4 ft}\n"
        "    - {at: A2, low: 5-1/2 in, high: 5-1/4 in, apart: 4 ft}\n    - {at: A3, gap: 5-1/2 in, lean: {end: 3/8 in in 4 ft, out: 1/16 in in 2 ft}}\n"
        "    - {at: A4, gap: 5-1/2 in, lean: 3/8 in in 4 ft}\n    - {at: A5, low: 5-1/2 in, high: 5-1/2 in, apart: 6 in}\n";
    (void)state;
    json_t *root = RESULTS(record, 1), *row = row_of(root, 0), *lean = member(post_of(row, "A1"), "lean_across");
    assert_string_equal(WORD(lean, "way"), "in");
    assert_near(REAL(lean, "ratio"), 1.0 / 192, 1e-9);
    assert_near(REAL(lean, "degrees"), 0.298413, 1e-6);
    assert_string_equal(WORD(lean, "verdict"), "off");
    assert_near(REAL(post_of(row, "A1"), "off_high"), 0.25 * IN, 1e-9);
    lean = member(post_of(row, "A2"), "lean_across");
    assert_string_equal(WORD(lean, "way"), "out");
    lean = member(post_of(row, "A3"), "lean_along");
    assert_string_equal(WORD(lean, "way"), "end");
    assert_near(REAL(lean, "degrees"), 0.447614, 1e-6);
    assert_string_equal(WORD(member(post_of(row, "A3"), "lean_across"), "verdict"), "good");
    assert_unknown(member(post_of(row, "A4"), "lean_along"), "way");
    assert_unknown(post_of(row, "A4"), "lean_across");
    /* two gaps 6 in apart, each good to 1/16 in: plumb in 4 ft to 0.7 in; nothing can be told of 1/4 in */
    assert_string_equal(WORD(member(post_of(row, "A5"), "lean_across"), "verdict"), "unsure");
    json_decref(root);
    struct ran r = text_of(record, 1);
    assert_says(r.out, "Plumb A1: bring its top outward, 1/4 in over 4 ft; brace it both ways.");
    assert_says(r.out, "Plumb A3: bring its top towards the start, 3/8 in over 4 ft; brace it both ways.");
    assert_says(r.out, "Plumb A4 along the row: it leans 3/8 in over 4 ft, and which way was not said.");
    assert_says(r.out, "A5: can't tell whether it is plumb");
    assert_says(r.out, "0.062     0.30");
    ran_release(&r);
}

/* Off at both heights: the foot and the top are pushed by their own amounts. */
static void
a_post_off_low_and_high_is_pushed_at_both(void **state)
{
    static const char record[] = HEAD ROW_A LINE "  rows: [{at: A1, gap: 5-1/2 in}, {at: A2, gap: 5-1/2 in}, {at: A3, gap: 5-1/2 in},\n"
        "    {at: A4, low: 6 in, high: 5-1/8 in, apart: 4 ft}, {at: A5, gap: 5-1/2 in}]\n";
    (void)state;
    struct ran r = text_of(record, 1);
    assert_says(r.out, "Push A4 outward 1/2 in at the low gap, and inward 3/8 in at the high one; brace it both ways");
    ran_release(&r);
}

/* ---- heights ---- */

#define STRING "---\ngrade: {name: string, means: finish, for: post, level: 101.50}\n"
/* One set-up, open: each mark has the errors of the backsight and of its own sight. */
#define SHOT                                                                                                          \
    "---\nlevels:\n  readings:\n    - {at: BM, bs: 4.50}\n    - {at: A1, on: post, is: 3.00}\n    - {at: A2, on: post, is: 3.00}\n" \
    "    - {at: A3, on: post, is: 3.10}\n    - {at: A4, on: post, is: 3.00}\n    - {at: A5, on: post, is: 3.00}\n"

/* HI 104.50: all marks at 101.50 but A3, 0.10 low. sigma 0.002 ft: of a mark off grade root 2 times that, 0.002828. */
static void
heights_by_grade_and_by_the_runs_own_line(void **state)
{
    static const char record[] = HEAD STRING SHOT ROW_A TOLERANCE "  rows: [{at: A1, gap: 5-1/2 in}, {at: A2, gap: 5-1/2 in}, {at: A3, gap: 5-1/2 in},\n"
        "    {at: A4, gap: 5-1/2 in}, {at: A5, gap: 5-1/2 in}]\n";
    (void)state;
    json_t *root = RESULTS(record, 1), *row = row_of(root, 0), *mark = member(post_of(row, "A3"), "mark");
    assert_string_equal(WORD(row, "grade"), "string");
    assert_near(REAL(mark, "adjusted"), 101.40, 1e-9);
    assert_near(REAL(mark, "off"), -0.10, 1e-9);
    assert_near(REAL(mark, "sigma"), 0.0028284, 1e-7);
    assert_near(REAL(mark, "off_own"), -0.10, 1e-8);
    assert_true(json_is_true(member(mark, "rogue")));
    assert_string_equal(WORD(mark, "verdict"), "off");
    mark = member(post_of(row, "A4"), "mark");
    assert_near(REAL(mark, "off"), 0, 1e-9);
    assert_near(REAL(mark, "off_own"), 0, 1e-8);
    assert_string_equal(WORD(mark, "verdict"), "good");
    assert_unknown(mark, "moved");
    json_decref(root);
    struct ran r = text_of(record, 1);
    assert_says(r.out, "The mark of A3 is low 1-1/4 in against the line of the others, beyond doubt.");
    assert_says(r.out, "The mark of A3 belongs up 1-1/4 in");
    assert_says(r.out, "unchecked");
    assert_silent(strstr(r.out, "Heights"), "off its line"); /* grade tells */
    ran_release(&r);
}

/* Read next day after it was drawn up; and what was read before the pour is no witness of the next day. */
/* 0.02 ft is 0.24 in: good within 1/4 in, and printed as 1/4 in. The stakes leave 1/8 in, and ask for more. */
static void
what_is_just_under_is_said_so(void **state)
{
    static const char record[] = HEAD STRING "---\nlevels:\n  readings:\n    - {at: BM, bs: 4.60}\n    - {at: A1, on: post, is: 3.12}\n"
        "    - {at: A2, on: post, is: 3.10}\n    - {at: A3, on: post, is: 3.10}\n    - {at: A4, on: post, is: 3.10}\n    - {at: A5, on: post, is: 3.10}\n    - {at: BM, fs: 4.60}\n"
        ROW_A TOLERANCE "  rows: [{at: A1, gap: 5-1/2 in}, {at: A2, gap: 5-1/2 in}, {at: A3, gap: 5-1/2 in},\n"
        "    {at: A4, gap: 5-1/2 in}, {at: A5, gap: 5-1/2 in}]\n";
    (void)state;
    json_t *root = RESULTS(record, 0), *mark = member(post_of(row_of(root, 0), "A1"), "mark");
    assert_near(REAL(mark, "off"), -0.02, 1e-9);
    assert_string_equal(WORD(mark, "verdict"), "good");
    json_decref(root);
    struct ran r = text_of(record, 0);
    assert_says(r.out, "low, just under 1/4 in");
    assert_says(r.out, "stake sheet: up 1/4 in");
    assert_says(r.out, "plumb is not measured: its stated tolerance is not looked at");
    ran_release(&r);
}

/* A height that is asked for by its tolerance, and was not read, is to be done. */
static void
heights_that_are_wanted_are_named(void **state)
{
    static const char record[] = HEAD STRING "---\nlevels:\n  readings:\n    - {at: BM, bs: 4.60}\n    - {at: A2, on: post, is: 3.10}\n"
        "    - {at: BM, fs: 4.60}\n" ROW_A TOLERANCE "  rows: [{at: A1, gap: 5-1/2 in}, {at: A2, gap: 5-1/2 in}, {at: A3, gap: 5-1/2 in}]\n";
    (void)state;
    struct ran r = text_of(record, 1);
    assert_says(r.out, "No height to hold against grade: A1, A3, A4, A5.");
    assert_says(r.out, "Not measured: A4, A5.");
    ran_release(&r);
}

static void
heights_have_their_day(void **state)
{
    static const char again[] = "---\nlevels:\n  readings:\n    - {at: BM, bs: 4.60}\n    - {at: A3, on: post, is: 3.10, moved: true}\n    - {at: BM, fs: 4.60}\n";
    static const char posts[] = "  rows: [{at: A1, gap: 5-1/2 in}, {at: A2, gap: 5-1/2 in}, {at: A3, gap: 5-1/2 in},\n"
        "    {at: A4, gap: 5-1/2 in}, {at: A5, gap: 5-1/2 in}]\n";
    char record[8000];
    (void)state;
    snprintf(record, sizeof record, "%s%s%s%s%s%s%s%s", HEAD STRING SHOT ROW_A TOLERANCE, posts, again, ROW_A, TOLERANCE, posts, "", "");
    json_t *root = RESULTS(record, 0), *row = row_of(root, 0), *mark = member(post_of(row, "A3"), "mark");
    assert_near(REAL(mark, "off"), 0, 1e-9);
    assert_near(REAL(mark, "moved"), 0.10, 1e-9);
    assert_true(json_is_false(member(mark, "old")));
    assert_true(json_is_true(member(member(post_of(row, "A1"), "mark"), "old")));
    json_decref(root);
    struct ran r = text_of(record, 0);
    assert_says(r.out, "moved up 1-1/4 in");
    assert_says(r.out, "read before entry 6, not since");
    ran_release(&r);
}

/* Tops are held against grade with the reveal that is stated, and else against their own line alone. */
static void
tops_want_their_reveal(void **state)
{
    static const char shot[] = HEAD STRING "---\nlevels:\n  readings:\n    - {at: BM, bs: 9.50}\n    - {at: A1, on: top, is: 4.00}\n"
        "    - {at: A3, on: top, is: 4.03}\n    - {at: A5, on: top, is: 4.00}\n    - {at: BM, fs: 9.50}\n";
    char record[8000];
    (void)state;
    snprintf(record, sizeof record, "%s%s  reveal: 4 ft\n%s", shot, ROW_A, "  rows: [{at: A1, gap: 5-1/2 in}, {at: A3, gap: 5-1/2 in}]\n");
    json_t *root = RESULTS(record, 1), *top = member(post_of(row_of(root, 0), "A3"), "top");
    assert_near(REAL(top, "grade"), 105.50, 1e-9);
    assert_near(REAL(top, "off"), -0.03, 1e-9);
    assert_unknown(top, "off_own"); /* three, not in line */
    assert_unknown(post_of(row_of(root, 0), "A3"), "mark");
    json_decref(root);
    snprintf(record, sizeof record, "%s%s%s", shot, ROW_A, "  rows: [{at: A1, gap: 5-1/2 in}, {at: A3, gap: 5-1/2 in}]\n");
    root = RESULTS(record, 1);
    assert_unknown(member(post_of(row_of(root, 0), "A3"), "top"), "off");
    json_decref(root);
    struct ran r = text_of(record, 1);
    assert_says(r.out, "the entry does not say their reveal above the grade");
    ran_release(&r);
}

static void
a_grade_for_posts_is_one(void **state)
{
    static const char rows[] = "  rows: [{at: A1, gap: 5-1/2 in}, {at: A2, gap: 5-1/2 in}, {at: A3, gap: 5-1/2 in},\n"
        "    {at: A4, gap: 5-1/2 in}, {at: A5, gap: 5-1/2 in}]\n";
    static const char sill[] = "---\ngrade: {name: sill, means: finish, for: [post], level: 102}\n";
    static const char any[] = "---\ngrade: {name: pad, means: subgrade, level: 101}\n";
    char record[8000];
    (void)state;
    snprintf(record, sizeof record, "%s%s%s%s%s", HEAD STRING, sill, SHOT, ROW_A TOLERANCE, rows);
    struct ran r = text_of(record, 1); /* a height tolerance, and no grade */
    assert_says(r.out, "2 grades serve posts, and heights are held against none: name one with --grade");
    ran_release(&r);
    r = RUN_WITH(record, "run", "--grade", "sill", "-");
    assert_int_equal(r.status, 1);
    assert_says(r.out, "heights are held against grade sill, entry 5");
    ran_release(&r);
    snprintf(record, sizeof record, "%s%s%s%s%s", HEAD STRING, any, SHOT, ROW_A, rows);
    r = text_of(record, 0); /* one that names posts goes before one for everything */
    assert_says(r.out, "heights are held against grade string, entry 4");
    ran_release(&r);
    snprintf(record, sizeof record, "%s%s%s", HEAD, ROW_A TOLERANCE, rows);
    r = text_of(record, 1);
    assert_says(r.out, "no heights are read");
    ran_release(&r);
}

/* ---- rows ---- */

static void
an_inside_row_has_left_and_right(void **state)
{
    static const char rows[] = "  rows: [{at: R1, gap: 5-1/2 in}, {at: R2, gap: 6 in}]\n";
    char record[4000];
    (void)state;
    snprintf(record, sizeof record, "%s---\nset:\n  row: R\n  gap: 5-1/2 in\n%s%s", HEAD, LINE, rows);
    struct ran r = text_of(record, 1);
    assert_says(r.out, "Push R2 towards the string 1/2 in at the string");
    ran_release(&r);
    snprintf(record, sizeof record, "%s---\nset:\n  row: R\n  side: left\n  gap: 5-1/2 in\n%s%s", HEAD, LINE, rows);
    r = text_of(record, 1);
    assert_says(r.out, "Push R2 left 1/2 in at the string");
    assert_says(r.out, "left of the posts, as seen from the row's beginning");
    ran_release(&r);
    snprintf(record, sizeof record, "%s---\nset:\n  row: R\n  side: in\n  gap: 5-1/2 in\n%s%s", HEAD, LINE, rows);
    r = text_of(record, 2);
    assert_says(r.err, "row R stands inside the building and has no in and out; write left or right, as seen from its beginning [set-side]");
    assert_string_equal(r.out, "");
    ran_release(&r);
}

static void
posts_that_make_no_row_are_said(void **state)
{
    struct ran r;
    (void)state;
    r = text_of(HEAD, 2);
    assert_says(r.err, "[no-set]");
    ran_release(&r);
    r = text_of(HEAD ROW_A "  rows: [{at: A1, gap: 5-1/2 in}, {at: A6, gap: 5-1/2 in}, {at: A7, gap: 5-1/2 in}]\n", 2);
    assert_says(r.err, "A6 has no place along row A; nearest that was not measured is A2; write the name as it is in site");
    ran_release(&r);
    r = text_of(HEAD ROW_A "  rows: [{at: A1, gap: 5-1/2 in}, {at: B2, gap: 5-1/2 in}]\n", 2);
    assert_says(r.err, "the place of B2 is 12.0 ft off the line of the others; is it a post of this row? [set-place]");
    ran_release(&r);
    r = text_of(HEAD "---\npoints: {A6: {x: 12, y: 0, kind: post}}\n" ROW_A "  rows: [{at: A1, gap: 5-1/2 in}]\n", 2);
    assert_says(r.err, "have one place; give each its own in points [set-place]");
    ran_release(&r);
}

/* A corner post is another row's and has a number of that: the row still begins where its own numbers do. */
static void
a_shared_corner_turns_no_row_round(void **state)
{
    static const char record[] = "---\njob: Hop yard\nunit: ft\nleast: 0.01\n---\nsite:\n  length: 24\n  width: 12\n  post: 5-1/2 in\n"
        "  rows:\n    A: {wall: front, spacing: 6}\n    B: {wall: back, spacing: 6}\n    C: {wall: start, at: [4, 8]}\n"
        "---\nset:\n  row: C\n  gap: 5-1/2 in\n  rows: [%s]\n";
    static const char *const rows[][2] = {
        { "{at: C1, gap: 5-1/2 in}, {at: C2, gap: 5-1/2 in}, {at: A1, gap: 5-1/2 in}", "A1" },
        { "{at: B1, gap: 5-1/2 in}, {at: C2, gap: 5-1/2 in}, {at: C1, gap: 5-1/2 in}, {at: A1, gap: 5-1/2 in}", "A1" },
        { "{at: B1, gap: 5-1/2 in}, {at: C2, gap: 5-1/2 in}, {at: C1, gap: 5-1/2 in}", "C1" },
    };
    (void)state;
    for (size_t i = 0; i < 3; i++) {
        char text[1024];
        snprintf(text, sizeof text, record, rows[i][0]);
        json_t *root = RESULTS(text, 0);
        assert_string_equal(WORD(json_array_get(member(row_of(root, 0), "posts"), 0), "at"), rows[i][1]);
        json_decref(root);
    }
}

/* A11 is the first post of row A1, and no eleventh one of row A. */
static void
a_row_may_begin_with_the_name_of_another(void **state)
{
    static const char record[] = "---\njob: Hop yard\nunit: ft\nleast: 0.01\n---\nsite: {length: 48, width: 12, post: 4 in, rows: {A: {wall: front, "
        "spacing: 24}, A1: {wall: back, at: [0, 12, 48]}}}\n---\nset: {row: A, rows: [{at: A1, gap: 0.3}, {at: A2, gap: 0.3}, {at: A3, gap: 0.3}]}\n"
        "---\nset: {row: A1, rows: [{at: A11, gap: 0.3}, {at: A12, gap: 0.3}, {at: A13, gap: 0.3}]}\n";
    (void)state;
    json_t *root = RESULTS(record, 0);
    assert_int_equal(json_array_size(member(row_of(root, 0), "posts")), 3);
    assert_int_equal(json_array_size(member(row_of(root, 1), "posts")), 3);
    json_decref(root);
}

/* Entries stay: what they say of a building that another took the place of is told as such. */
static void
posts_of_an_earlier_building_are_said(void **state)
{
    static const char record[] = "---\njob: Hop yard\nunit: ft\nleast: 0.01\n---\nsite: {length: 24, width: 12, post: 5-1/2 in, "
        "rows: {A: {wall: front, spacing: 6}}}\n---\nset: {row: A, rows: [{at: A1, gap: 0.1}]}\n---\nsite: {length: 24, width: 12, "
        "post: 5-1/2 in, rows: {F: {wall: front, spacing: 6}}}\n";
    (void)state;
    struct ran r = text_of(record, 2);
    assert_says(r.err, "row A: A1 has no place along the row, for a later site entry gives other posts; write names as they are in site, or give x and y");
    ran_release(&r);
}

/* Numbered from the far end, the row begins there; posts stand in the order of their places. */
static void
the_row_goes_by_places(void **state)
{
    static const char record[] = "---\njob: Hop yard\nunit: m\nleast: 0.001\n---\npoints:\n  P1: {x: 9, y: 0, kind: post}\n"
        "  P2: {x: 3, y: 0, kind: post}\n  P3: {x: 6, y: 0, kind: post}\n  P4: {x: 0, y: 0, kind: post}\n"
        "---\nset:\n  gap: 50 mm\n  tolerance: {line: 6 mm, plumb: 5 mm in 1 m}\n  rows: [{at: P4, gap: 50 mm}, {at: P3, gap: 50 mm}, {at: P2, gap: 75 mm},\n"
        "    {at: P1, gap: 50 mm, lean: {end: 10 mm in 1.2 m}}]\n";
    (void)state;
    json_t *root = RESULTS(record, 1), *posts = member(row_of(root, 0), "posts");
    static const char *const order[] = { "P1", "P3", "P2", "P4" };
    for (size_t i = 0; i < 4; i++)
        assert_string_equal(WORD(json_array_get(posts, i), "at"), order[i]);
    assert_near(REAL(json_array_get(posts, 1), "along"), 3, 0);
    assert_near(REAL(row_of(root, 0), "sigma"), 0.0015, 1e-12);
    assert_true(json_is_true(member(json_array_get(posts, 2), "rogue")));
    json_decref(root);
    struct ran r = text_of(record, 1); /* nothing shows where the building is */
    assert_says(r.out, "Push P2 towards the string 25 mm at the string");
    assert_says(r.out, "P2 is the ROGUE: away from the string 25 mm from the line of the others");
    assert_says(r.out, "10 mm over 1.2 m");
    assert_says(r.out, "8.3     0.48"); /* mm per m; 10 / 1200 is 0.4775 degrees */
    ran_release(&r);
}

/* Whatever is printed stays within a page. */
static void
lines_stay_narrow(void **state)
{
    static const char record[] = HEAD STRING SHOT ROW_A TOLERANCE "  rows: [{at: A1, gap: 5-9/16 in}, {at: A2, gap: 0 in}, {at: A3, low: 7-1/2 in, high: 6-3/8 in, apart: 4 ft},\n"
        "    {at: A4, gap: 5-13/16 in, lean: {end: 1/2 in in 3 ft}}]\n";
    (void)state;
    struct ran r = text_of(record, 1);
    for (const char *line = r.out; *line;) {
        size_t n = strcspn(line, "\n");
        if (n > 100)
            fail_msg("%zu wide: %.*s", n, (int)n, line);
        line += n + (line[n] != '\0');
    }
    ran_release(&r);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_rogue_is_named_with_its_way),
        cmocka_unit_test(in_and_out_are_the_buildings),
        cmocka_unit_test(without_a_tolerance_nothing_is_judged),
        cmocka_unit_test(few_posts_tell_little),
        cmocka_unit_test(two_that_could_each_be_it),
        cmocka_unit_test(a_whole_run_off_the_string),
        cmocka_unit_test(a_post_at_the_string_pushes_it),
        cmocka_unit_test(the_next_day_is_compared),
        cmocka_unit_test(plumb_by_two_gaps_and_by_a_level),
        cmocka_unit_test(a_post_off_low_and_high_is_pushed_at_both),
        cmocka_unit_test(heights_by_grade_and_by_the_runs_own_line),
        cmocka_unit_test(what_is_just_under_is_said_so),
        cmocka_unit_test(heights_that_are_wanted_are_named),
        cmocka_unit_test(heights_have_their_day),
        cmocka_unit_test(tops_want_their_reveal),
        cmocka_unit_test(a_grade_for_posts_is_one),
        cmocka_unit_test(an_inside_row_has_left_and_right),
        cmocka_unit_test(posts_that_make_no_row_are_said),
        cmocka_unit_test(a_shared_corner_turns_no_row_round),
        cmocka_unit_test(a_row_may_begin_with_the_name_of_another),
        cmocka_unit_test(posts_of_an_earlier_building_are_said),
        cmocka_unit_test(the_row_goes_by_places),
        cmocka_unit_test(lines_stay_narrow),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
