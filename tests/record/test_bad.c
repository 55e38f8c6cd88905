/*
 * test_bad.c - every bad record says what it should, and nothing else
 *
 * tests/bad/NAME.yaml provokes the check NAME, or NAME-2.yaml once more;
 * NAME.expect beside it holds the complaints of `rodbook check` to the byte.
 * Run from the top of the checkout: the paths stand in the complaints.
 */
#define _POSIX_C_SOURCE 200809L /* fileno, glob */
#include "../program.h"

#include <glob.h>
#include <stdbool.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))
#define PATH_MOST 256

/* ---- what stands in tests/bad ---- */

static glob_t
list_files(const char *pattern)
{
    glob_t g;
    if (glob(pattern, 0, NULL, &g) != 0)
        fail_msg("%s: nothing found; run from the top of the checkout", pattern);
    return g;
}

/* The path with its ending changed: .yaml to .expect. */
static void
beside(char out[PATH_MOST], const char *path, const char *ending)
{
    const char *dot = strrchr(path, '.');
    assert_non_null(dot);
    int n = snprintf(out, PATH_MOST, "%.*s%s", (int)(dot - path), path, ending);
    assert_true(n > 0 && n < PATH_MOST);
}

/* The whole of a small text file, closed by a zero; NULL where there is none. */
static char *
read_text(const char *path)
{
    FILE *f = fopen(path, "rb");
    return f ? ran_text(f) : NULL;
}

/* "[name]" for tests/bad/name.expect and tests/bad/name-2.expect. */
static void
check_in_brackets(char out[PATH_MOST], const char *path)
{
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    size_t n = strcspn(name, "."), k = n;
    while (k > 0 && name[k - 1] >= '0' && name[k - 1] <= '9')
        k--;
    if (k < n && k > 1 && name[k - 1] == '-')
        n = k - 1;
    int length = snprintf(out, PATH_MOST, "[%.*s]", (int)n, name);
    assert_true(length > 2 && length < PATH_MOST);
}

/* ---- the complaints ---- */

/* True where `check` says of one record what its .expect says; else told. */
static bool
says_what_it_should(const char *path)
{
    char expect[PATH_MOST];
    beside(expect, path, ".expect");
    char *want = read_text(expect);
    if (!want) {
        print_error("%s: there is no %s\n", path, expect);
        return false;
    }
    struct ran r = RUN("check", path);
    bool same = strcmp(r.err, want) == 0, good = same && r.status == 1;
    if (!same)
        print_error("%s says\n%swanted\n%s\n", path, r.err, want);
    if (r.status != 1)
        print_error("%s: exit status %d, wanted 1\n", path, r.status);
    ran_release(&r);
    free(want);
    return good;
}

static void
each_bad_record_says_what_it_should(void **state)
{
    (void)state;
    glob_t g = list_files("tests/bad/*.yaml");
    size_t wrong = 0;
    for (size_t i = 0; i < g.gl_pathc; i++)
        wrong += !says_what_it_should(g.gl_pathv[i]);
    size_t all = g.gl_pathc;
    globfree(&g);
    if (wrong > 0)
        fail_msg("%zu of %zu bad records say something else", wrong, all);
}

static void
each_record_provokes_the_check_that_it_is_named_for(void **state)
{
    (void)state;
    glob_t g = list_files("tests/bad/*.expect");
    for (size_t i = 0; i < g.gl_pathc; i++) {
        char check[PATH_MOST], record[PATH_MOST];
        char *want = read_text(g.gl_pathv[i]);
        assert_non_null(want);
        check_in_brackets(check, g.gl_pathv[i]);
        if (!strstr(want, check))
            fail_msg("%s does not hold %s", g.gl_pathv[i], check);
        beside(record, g.gl_pathv[i], ".yaml");
        if (access(record, R_OK) != 0)
            fail_msg("%s has no record beside it", g.gl_pathv[i]);
        free(want);
    }
    globfree(&g);
}

/* One line of an .expect: path:line:column: level: text [check]; a note has no check. Returns the line behind. */
static const char *
assert_complaint(const char *line, const char *record)
{
    char level[16] = "";
    unsigned row = 0, column = 0;
    int text = 0;
    const char *end = strchr(line, '\n');
    size_t n = strlen(record);
    if (!end || strncmp(line, record, n) != 0
        || sscanf(line + n, ":%u:%u: %15[a-z]: %n", &row, &column, level, &text) != 3 || text == 0)
        fail_msg("not a complaint about %s: %s", record, line);
    if (row == 0 || column == 0)
        fail_msg("lines and columns count from 1: %s", line);
    bool note = strcmp(level, "note") == 0;
    if (!note && strcmp(level, "error") != 0 && strcmp(level, "warning") != 0)
        fail_msg("no such level: %s", line);
    if ((end[-1] == ']') == note)
        fail_msg("an error and a warning end in the name of their check, a note does not: %s", line);
    return end + 1;
}

static void
complaints_have_a_place_a_level_and_a_check(void **state)
{
    (void)state;
    glob_t g = list_files("tests/bad/*.expect");
    for (size_t i = 0; i < g.gl_pathc; i++) {
        char record[PATH_MOST];
        char *want = read_text(g.gl_pathv[i]);
        assert_non_null(want);
        assert_true(want[0] != '\0');
        beside(record, g.gl_pathv[i], ".yaml");
        for (const char *line = want; *line;)
            line = assert_complaint(line, record);
        free(want);
    }
    globfree(&g);
}

/* ---- the other commands ---- */

static void
assert_sound(const char *command, const char *path)
{
    struct ran r = RUN(command, path);
    if (r.status < 0 || r.status > 2)
        fail_msg("%s %s: exit status %d\n%s", command, path, r.status, r.err);
    if (r.status == 2 && r.out[0])
        fail_msg("%s %s: not done, and yet it prints\n%s", command, path, r.out);
    if (r.status == 2 && !r.err[0])
        fail_msg("%s %s: not done, and nothing said", command, path);
    ran_release(&r);
}

static void
commands_bear_every_bad_record(void **state)
{
    static const char *const commands[] = { "reduce", "close", "stakes" };
    (void)state;
    glob_t g = list_files("tests/bad/*.yaml");
    for (size_t i = 0; i < g.gl_pathc; i++)
        for (size_t k = 0; k < COUNT(commands); k++)
            assert_sound(commands[k], g.gl_pathv[i]);
    globfree(&g);
}

/* The last entry was cut off and filled with zeros, as a drive leaves it: what was sealed before is used, and only that. */
static void
what_stands_above_a_torn_entry_is_used(void **state)
{
    (void)state;
    struct ran r = RUN("reduce", "tests/bad/torn.yaml");
    assert_int_equal(r.status, 0);
    assert_non_null(strstr(r.out, "R1 "));
    assert_non_null(strstr(r.out, "1.895")); /* 2.450 + 1.105 - 1.660 */
    assert_null(strstr(r.out, "R2"));
    assert_non_null(strstr(r.err, "warning"));
    assert_null(strstr(r.err, "error"));
    ran_release(&r);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_bad_record_says_what_it_should),
        cmocka_unit_test(each_record_provokes_the_check_that_it_is_named_for),
        cmocka_unit_test(complaints_have_a_place_a_level_and_a_check),
        cmocka_unit_test(commands_bear_every_bad_record),
        cmocka_unit_test(what_stands_above_a_torn_entry_is_used),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
