/* `stakes` and `plan` as a crew meets them: what is unknown is null, verdicts, exit statuses. */
#define _POSIX_C_SOURCE 200809L /* fileno */
#include "../program.h"

#include <jansson.h>
#include <math.h>
#include <stdbool.h>

#define HEAD "---\njob: Lamb field\nunit: m\nleast: 0.001\n"
#define MARKS "---\nmarks: {A: {elevation: 10}}\n"
#define PLANNED "---\nplan:\n  name: round\n  setups:\n    - {from: A, batten: [P, Q], to: T}\n    - {from: T, post: P, to: A}\n"

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

/* The member of the object of `list` that is at `at` on `on`. */
static json_t *
member(json_t *root, const char *list, const char *at, const char *on, const char *key)
{
    size_t i;
    json_t *one;
    json_array_foreach(json_object_get(root, list), i, one)
        if (strcmp(json_string_value(json_object_get(one, "at")), at) == 0
            && strcmp(json_string_value(json_object_get(one, "on")), on) == 0) {
            json_t *value = json_object_get(one, key);
            assert_non_null(value);
            return value;
        }
    fail_msg("%s has no %s %s", list, at, on);
    return NULL;
}

#define LOOP                                                                                                          \
    "---\nlevels:\n  readings:\n    - {at: A, bs: 1.500}\n    - {at: P, on: batten, is: 1.497}\n"                     \
    "    - {at: Q, on: batten, is: 1.490}\n    - {at: R, on: batten, is: 1.4995}\n    - {at: A, fs: 1.500}\n"
#define GRADE "---\ngrade: {name: g, means: finish, level: 10, tolerance: 1 mm}\n---\npoints: {P: {kind: batten}, S: {kind: batten}}\n"

/* sigma 0.5 mm: one set-up, A read twice, so 0.5 root 1.5; h is 1.2 t. */
static void
what_is_sure_and_what_is_null(void **state)
{
    const double sigma = 0.0005 * 1.2247448713915890;
    json_t *root = RESULTS(HEAD MARKS GRADE LOOP, 0, "stakes", "--json", "/dev/stdin");
    (void)state;
    assert_near(json_number_value(member(root, "points", "P", "batten", "sigma")), sigma, 1e-9);
    assert_near(json_number_value(member(root, "points", "A", "mark", "sigma")), 0, 0);
    assert_near(json_number_value(member(root, "stakes", "P", "batten", "sigma")), sigma, 1e-9);
    assert_string_equal(json_string_value(member(root, "stakes", "P", "batten", "verdict")), "move");
    assert_string_equal(json_string_value(member(root, "stakes", "R", "batten", "verdict")), "leave");
    assert_true(json_is_null(member(root, "stakes", "S", "batten", "sigma")));
    assert_true(json_is_null(member(root, "stakes", "S", "batten", "verdict")));
    assert_int_equal(json_integer_value(json_object_get(json_object_get(root, "advice"), "doubts")), 0);
    json_decref(root);
    root = RESULTS(HEAD MARKS GRADE LOOP, 0, "stakes", "--json", "--confidence", "99.9", "/dev/stdin"); /* h is 2.02 t */
    assert_string_equal(json_string_value(member(root, "stakes", "R", "batten", "verdict")), "unsure");
    assert_string_equal(json_string_value(member(root, "stakes", "R", "batten", "move_text")), "down 1 mm");
    assert_string_equal(json_string_value(member(root, "stakes", "P", "batten", "verdict")), "move");
    json_t *advice = json_object_get(root, "advice");
    assert_int_equal(json_integer_value(json_object_get(advice, "doubts")), 1);
    assert_string_equal(json_string_value(json_object_get(advice, "read")), "set-up again");
    assert_int_equal(json_integer_value(json_object_get(advice, "settles")), 1);
    json_decref(root);
    for (int i = 0; i < 2; i++) {
        root = RESULTS(HEAD MARKS GRADE LOOP, 0, i ? "reduce" : "close", "--json", "/dev/stdin");
        assert_true(json_is_null(member(root, "points", "P", "batten", "sigma")));
        json_decref(root);
    }
}

/* A section that does not say how sure it is: the tolerance alone decides, as before. */
static void
without_standard_deviations(void **state)
{
    const char *record = HEAD "allow: {misclosure: 5 mm, per: job}\nspread: distance\n" MARKS GRADE
        "---\nsections:\n  rows:\n    - {from: A, to: P, rise: 0.002, dist: 90}\n    - {from: P, to: A, rise: -0.002, dist: 80}\n";
    json_t *root = RESULTS(record, 0, "stakes", "--json", "/dev/stdin");
    (void)state;
    assert_true(json_is_null(member(root, "stakes", "P", "mark", "sigma")));
    assert_string_equal(json_string_value(member(root, "stakes", "P", "mark", "verdict")), "move");
    json_decref(root);
    struct ran r = RUN_WITH(record, "stakes", "/dev/stdin");
    assert_non_null(strstr(r.out, "No standard deviations; a warning says why"));
    assert_non_null(strstr(r.err, ":16:7: warning: nothing says how sure the section A to P is: give it sigma or setups, or dist, and "
        "the job sigma-km (and 1 more like it); so move and leave go by the tolerance alone [no-sigma]\n"));
    ran_release(&r);
}

static double
sigma_of(const char *record, int status, const char *at)
{
    json_t *root = RESULTS(record, status, "stakes", "--json", "/dev/stdin");
    double sigma = json_number_value(member(root, "stakes", at, "batten", "sigma"));
    assert_true(fabs(sigma - json_number_value(member(root, "points", at, "batten", "sigma"))) < 1e-12);
    json_decref(root);
    return sigma;
}

#define WITH(spread, more) HEAD spread "allow: {misclosure: 3 mm, per: job}\n" MARKS GRADE                                          \
    "---\nlevels:\n  readings:\n    - {at: A, bs: 1.412}\n    - {at: P, on: batten, is: 1.257}\n    - {at: T, fs: 1.633, bs: 1.509}\n" \
    "    - {at: A, fs: 1.287}\n" more
#define TWICE "---\nlevels:\n  readings:\n    - {at: A, bs: 1.318}\n    - {at: P, on: batten, is: 1.163}\n    - {at: A, fs: "
#define LEAST_SQUARES "spread: least-squares\n"

/* A line that is outside makes nothing else surer: not by hand methods, and not by least squares, which leave it out. */
static void
what_is_outside_makes_nothing_surer(void **state)
{
    (void)state;
    double once = sigma_of(WITH("", ""), 0, "P");
    assert_true(sigma_of(WITH("", TWICE "1.319}\n"), 0, "P") < 0.9 * once);
    assert_true(fabs(sigma_of(WITH("", TWICE "1.419}\n"), 1, "P") - once) < 1e-12);
    assert_true(fabs(sigma_of(WITH(LEAST_SQUARES, ""), 0, "P") - once) < 1e-12);
    assert_true(sigma_of(WITH(LEAST_SQUARES, TWICE "1.319}\n"), 0, "P") < 0.9 * once);
    assert_true(fabs(sigma_of(WITH(LEAST_SQUARES, TWICE "1.419}\n"), 1, "P") - once) < 1e-12);
}

/* The net that spread the misclosure is the one that says how sure it is: as `adjust` has it. */
static void
one_net_for_elevations_and_deviations(void **state)
{
    (void)state;
    const char *record = WITH(LEAST_SQUARES, TWICE "1.319}\n");
    json_t *stakes = RESULTS(record, 0, "stakes", "--json", "/dev/stdin"), *adjust = RESULTS(record, 0, "adjust", "--json", "/dev/stdin");
    static const char *const at[] = { "P", "T" }, *const on[] = { "batten", "mark" };
    for (int i = 0; i < 2; i++) {
        assert_true(json_equal(member(stakes, "points", at[i], on[i], "sigma"), member(adjust, "points", at[i], on[i], "sigma")));
        assert_true(json_equal(member(stakes, "points", at[i], on[i], "adjusted"), member(adjust, "points", at[i], on[i], "adjusted")));
    }
    json_decref(stakes);
    json_decref(adjust);
}

/* ---- complaints that all who adjust have in common ---- */

static const char *const all[] = { "adjust", "stakes", "plan", "suspects" };

static void
assert_refused(const char *command, const char *record, const char *words)
{
    struct ran r = RUN_WITH(record, command, "/dev/stdin");
    if (r.status != 2 || r.out[0] || !strstr(r.err, words))
        fail_msg("%s: status %d, want \"%s\":\n%s", command, r.status, words, r.err);
    ran_release(&r);
}

#define ROUND "---\nplan: {setups: [{from: A, batten: [P], to: T}, {from: T, to: A}]}\n"
#define READ "---\nlevels:\n  readings:\n    - {at: A, bs: 1.412}\n    - {at: P, on: batten, is: 1.257}\n    - {at: T, fs: 1.633, bs: 1.509}\n" \
    "    - {at: A, fs: 1.287}\n"
#define APART "---\nlevels:\n  readings:\n    - {at: X, bs: 1.5}\n    - {at: Y, fs: 1.4}\n---\nplan: {setups: [{from: X, to: Y}]}\n"

static void
they_complain_alike(void **state)
{
    static const char *const spreads[] = { "", LEAST_SQUARES };
    (void)state;
    for (size_t i = 0; i < 2 * sizeof all / sizeof *all; i++) {
        char record[2048], words[256];
        const char *spread = spreads[i % 2], *command = all[i / 2];
        int more = i % 2, plan = strcmp(command, "plan") == 0;
        snprintf(record, sizeof record, HEAD "%s" GRADE READ ROUND, spread);
        snprintf(words, sizeof words, ":%d: error: nothing ties A, P, T to a mark of known elevation; give one of them in marks, or "
            "level to one [no-benchmark]\n", plan ? 17 : 7);
        assert_refused(command, record, words);
        snprintf(record, sizeof record, HEAD "%s" MARKS GRADE READ APART, spread);
        assert_refused(command, record, ": error: nothing ties X, Y to a mark of known elevation; ");
        snprintf(record, sizeof record, HEAD "%s---\nmarks: {A: {elevation: 10, sigma: 0}}\n" GRADE READ ROUND, spread);
        snprintf(words, sizeof words, ":%d:35: error: sigma of A: 0 is not above 0; leave sigma out, and A is held as it is given [range]\n",
            6 + more);
        assert_refused(command, record, words);
        snprintf(record, sizeof record, HEAD "%ssigma: -1 mm\n" MARKS GRADE READ ROUND, spread);
        snprintf(words, sizeof words, ":%d:8: error: sigma: -1 mm is not above 0; leave it out, and half of least is taken [range]\n",
            5 + more);
        assert_refused(command, record, words);
        snprintf(record, sizeof record, HEAD "%s" MARKS GRADE READ "---\nsections:\n  rows:\n    - {from: A, to: B, rise: 1, sigma: 0}\n" ROUND,
            spread);
        assert_refused(command, record, ": error: sigma of the section A to B: 0 is not above 0; ");
    }
}

/* ---- on paper ---- */

#define LONG_A "Bolt in the north wall of the pump house by the gate, left of the meter"
#define LONG_P "The northwest corner batten behind the old apple tree by the lane, outer"

/* No table and no sentence about readings is wider than a page, however long the names are. */
static void
sheets_fit_a_page(void **state)
{
    static const char *const commands[] = { "reduce", "close", "adjust", "stakes", "plan", "suspects" };
    const char *record = HEAD "allow: {misclosure: 3 mm, per: job}\n---\nmarks: {\"" LONG_A "\": {elevation: 10}}\n"
        "---\ngrade: {name: g, means: finish, level: 10, tolerance: 1 mm}\n---\nlevels:\n  readings:\n"
        "    - {at: \"" LONG_A "\", bs: 1.412}\n    - {at: \"" LONG_P "\", on: batten, is: 1.257, note: read while a lorry went by}\n"
        "    - {at: T, fs: 1.633, bs: 1.509}\n    - {at: \"" LONG_A "\", fs: 1.345}\n"
        "---\nlevels:\n  readings:\n    - {at: \"" LONG_A "\", bs: 1.318}\n    - {at: \"" LONG_P "\", on: batten, moved: true, is: 1.134}\n"
        "---\nplan: {setups: [{from: \"" LONG_A "\", batten: \"" LONG_P "\", to: T}, {from: T, to: \"" LONG_A "\"}]}\n";
    (void)state;
    for (size_t i = 0; i < sizeof commands / sizeof *commands; i++) {
        struct ran r = RUN_WITH(record, commands[i], "/dev/stdin");
        assert_true(r.status < 2);
        for (const char *line = r.out; *line; line += strcspn(line, "\n") + 1) {
            int width = (int)strcspn(line, "\n");
            if (width > 100 && line[0] == ' ') /* headings and what stands under a sheet are as long as they are */
                fail_msg("%s: %d columns: %.*s", commands[i], width, width, line);
        }
        assert_non_null(strstr(r.out, "Bolt in the north"));
        ran_release(&r);
    }
}

static void
outside_means_no_moves_and_no_deviations(void **state)
{
    const char *record = HEAD "allow: {misclosure: 1 mm, per: job}\n" MARKS GRADE
        "---\nlevels:\n  readings:\n    - {at: A, bs: 1.5}\n    - {at: P, on: batten, is: 1.4}\n    - {at: A, fs: 1.55}\n";
    json_t *root = RESULTS(record, 1, "stakes", "--json", "/dev/stdin");
    (void)state;
    assert_true(json_is_null(member(root, "points", "P", "batten", "sigma")));
    assert_true(json_is_null(member(root, "stakes", "P", "batten", "sigma")));
    assert_true(json_is_null(member(root, "stakes", "P", "batten", "move_text")));
    assert_string_equal(json_string_value(member(root, "stakes", "P", "batten", "verdict")), "unsure");
    json_decref(root);
}

/* A mark within the tolerance that the readings cannot tell is not surely to be left. */
static void
judging_wants_to_be_sure(void **state)
{
    const char *record = HEAD MARKS "---\ngrade: {name: g, means: finish, level: 10, tolerance: 1 mm}\n"
        "---\nlevels:\n  readings:\n    - {at: A, bs: 1.500}\n    - {at: P, on: batten, is: 1.5005}\n    - {at: A, fs: 1.500}\n";
    (void)state;
    struct ran sure = RUN_WITH(record, "stakes", "--judge", "/dev/stdin");
    struct ran unsure = RUN_WITH(record, "stakes", "--judge", "--confidence", "99.5", "/dev/stdin");
    assert_int_equal(sure.status, 0);
    assert_null(strstr(sure.out, "?"));
    assert_int_equal(unsure.status, 1);
    assert_non_null(strstr(unsure.out, "?: can't tell, read again: 1 of 1"));
    ran_release(&sure);
    ran_release(&unsure);
    static const char *const wrong[] = { "0", "100", "-5", "0.95", "49", "99.995", "95 %", "abc", "", "1e1", "9.9.9", "nan" };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct ran r = RUN_WITH(record, "stakes", "--confidence", wrong[i], "/dev/stdin");
        assert_int_equal(r.status, 2);
        assert_string_equal(r.out, "");
        assert_non_null(strstr(r.err, "--confidence wants per cent"));
        ran_release(&r);
    }
}

static json_t *
only_plan(json_t *root)
{
    assert_int_equal(json_array_size(json_object_get(root, "plans")), 1);
    return json_array_get(json_object_get(root, "plans"), 0);
}

/* Two set-ups home to A: 2 root 4 halves of a millimetre. */
static void
a_plan_is_enough_or_not(void **state)
{
    const char *good = HEAD "allow: {misclosure: 2 mm, per: root-setup}\n" MARKS
        "---\ngrade: {name: g, means: finish, level: 10, tolerance: 2 mm}\n" PLANNED;
    const char *tight = HEAD "allow: {misclosure: 1 mm, per: root-setup}\n" MARKS PLANNED;
    const char *poor = HEAD MARKS "---\ngrade: {name: g, means: finish, level: 10, tolerance: 0.4 mm}\n" PLANNED;
    json_t *root = RESULTS(good, 0, "plan", "--json", "/dev/stdin"), *plan = only_plan(root);
    json_t *run = json_array_get(json_object_get(plan, "runs"), 0);
    (void)state;
    assert_near(json_number_value(json_object_get(run, "sigma")), 0.001, 1e-9);
    assert_near(json_number_value(json_object_get(run, "ordinary")), 0.001959964, 1e-9);
    assert_near(json_number_value(json_object_get(run, "allowed")), 0.002828427, 1e-9);
    assert_true(json_is_true(json_object_get(run, "enough")));
    assert_string_equal(json_string_value(member(plan, "stakes", "Q", "batten", "tells")), "always");
    json_decref(root);
    struct ran sheet = RUN_WITH(good, "plan", "/dev/stdin");
    assert_int_equal(sheet.status, 0);
    assert_non_null(strstr(sheet.out, "\nPlan round, entry 4: 2 set-ups\n  loop A to A, 2 set-ups: misclosure +- 1.00 mm, ordinary up to 1.96 mm, "
                                      "allowed 2.83 mm\n"));
    assert_non_null(strstr(sheet.out, "  Q     batten    0.7  sure, however it reads\n"));
    ran_release(&sheet);
    root = RESULTS(tight, 1, "plan", "--json", "/dev/stdin");
    run = json_array_get(json_object_get(only_plan(root), "runs"), 0);
    assert_true(json_is_false(json_object_get(run, "enough")));
    json_decref(root);
    root = RESULTS(poor, 1, "plan", "--json", "/dev/stdin");
    assert_string_equal(json_string_value(member(only_plan(root), "stakes", "P", "post", "tells")), "never leave");
    assert_true(json_is_false(json_object_get(only_plan(root), "enough")));
    json_decref(root);
}

/* Other commands do not see a plan, nor does a plan see what was read. */
static void
plans_do_not_mix_with_readings(void **state)
{
    (void)state;
    static const char *const commands[] = { "stakes", "reduce", "close" };
    for (size_t i = 0; i < 3; i++) {
        json_t *with = RESULTS(HEAD MARKS GRADE LOOP PLANNED, 0, commands[i], "--json", "/dev/stdin");
        json_t *without = RESULTS(HEAD MARKS GRADE LOOP, 0, commands[i], "--json", "/dev/stdin");
        json_object_del(with, "record"); /* counts entries */
        json_object_del(without, "record");
        assert_true(json_equal(with, without));
        json_decref(with);
        json_decref(without);
    }
    json_t *alone = RESULTS(HEAD MARKS GRADE PLANNED, 0, "plan", "--json", "/dev/stdin");
    json_t *after = RESULTS(HEAD MARKS GRADE LOOP PLANNED, 0, "plan", "--json", "/dev/stdin");
    json_object_set_new(only_plan(alone), "entry", json_integer(0));
    json_object_set_new(only_plan(after), "entry", json_integer(0));
    assert_string_equal(json_string_value(json_object_get(json_object_get(only_plan(alone), "advice"), "setup")), "5.1");
    assert_string_equal(json_string_value(json_object_get(json_object_get(only_plan(after), "advice"), "setup")), "6.1");
    json_object_set_new(json_object_get(only_plan(after), "advice"), "setup", json_string("5.1"));
    assert_true(json_equal(json_object_get(alone, "plans"), json_object_get(after, "plans")));
    json_decref(alone);
    json_decref(after);
}

static void
what_a_plan_cannot_be_made_of(void **state)
{
    (void)state;
    struct ran none = RUN_WITH(HEAD MARKS, "plan", "/dev/stdin");
    struct ran loose = RUN_WITH(HEAD PLANNED, "plan", "/dev/stdin");
    struct ran dist = RUN_WITH(HEAD "allow: {misclosure: 2 mm, per: root-km}\n" MARKS PLANNED, "plan", "/dev/stdin");
    assert_int_equal(none.status, 2);
    assert_non_null(strstr(none.err, "[no-plan]"));
    assert_int_equal(loose.status, 2);
    assert_non_null(strstr(loose.err, "[no-benchmark]"));
    assert_string_equal(loose.out, "");
    assert_int_equal(dist.status, 0);
    assert_non_null(strstr(dist.out, "does not say dist"));
    ran_release(&none);
    ran_release(&loose);
    ran_release(&dist);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_sure_and_what_is_null),
        cmocka_unit_test(without_standard_deviations),
        cmocka_unit_test(what_is_outside_makes_nothing_surer),
        cmocka_unit_test(one_net_for_elevations_and_deviations),
        cmocka_unit_test(they_complain_alike),
        cmocka_unit_test(sheets_fit_a_page),
        cmocka_unit_test(outside_means_no_moves_and_no_deviations),
        cmocka_unit_test(judging_wants_to_be_sure),
        cmocka_unit_test(a_plan_is_enough_or_not),
        cmocka_unit_test(plans_do_not_mix_with_readings),
        cmocka_unit_test(what_a_plan_cannot_be_made_of),
    };
    return cmocka_run_group_tests_name("plan", tests, NULL, NULL);
}
