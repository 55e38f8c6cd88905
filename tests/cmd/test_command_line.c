/* test_command_line.c - words on the command line, exit statuses, and what goes where */
#define _XOPEN_SOURCE 700 /* posix_openpt */
#include "../program.h"

#include <glob.h>
#include <jansson.h>
#include <stdbool.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))
#define ESCAPE '\033'
#define DEMO "surveys/fernhill.yaml"

static const char *const commands[] = { "reduce", "close", "stakes", "check" };
static const char *const with_json[] = { "reduce", "close", "stakes" };

/* A loop that closes to 3 mm, and a mark 14 mm below its grade. */
static const char good[] = "---\njob: Lamb field\nunit: m\nleast: 0.001\n"
                           "---\nmarks: {BM1: {elevation: 48.375}}\n"
                           "---\ngrade: {name: sill, means: finish, level: 48.900}\n"
                           "---\nlevels:\n  readings:\n"
                           "    - {at: BM1, bs: 1.482}\n    - {at: A, on: batten, is: 0.971}\n"
                           "    - {at: BM1, fs: 1.479}\n";

/* ---- what the tests share ---- */

static void
assert_said(const char *text, const char *word)
{
    if (!strstr(text, word))
        fail_msg("\"%s\" is not said in:\n%s", word, text);
}

static void
assert_no_escape(const char *text)
{
    const char *at = strchr(text, ESCAPE);
    if (at)
        fail_msg("an escape byte stands before \"%.20s\"", at + 1);
}

/* Exit status 2, nothing on standard output, `word` on standard error. */
static void
assert_undone(struct ran r, const char *word)
{
    if (r.status != 2)
        fail_msg("exit status %d, want 2\n%s", r.status, r.err);
    assert_string_equal(r.out, "");
    assert_said(r.err, word);
    assert_no_escape(r.err);
    ran_release(&r);
}

/* A new file in the build's own directory; the caller removes it. */
static void
make_file(char *name, size_t room, const char *base, const char *text)
{
    const char *build = getenv("BUILD");
    snprintf(name, room, "%s/%s", build ? build : "build/release", base);
    FILE *f = fopen(name, "w");
    assert_non_null(f);
    fputs(text, f);
    assert_int_equal(fclose(f), 0);
}

/* Every demo survey. */
static glob_t
demos(void)
{
    glob_t found;
    assert_int_equal(glob("surveys/*.yaml", 0, NULL, &found), 0);
    assert_true(found.gl_pathc >= 3);
    return found;
}

/* ---- help ---- */

static void
without_words_the_usage_is_an_error(void **state)
{
    (void)state;
    assert_undone(RUN(NULL), "usage: rodbook COMMAND");
}

static void
help_lists_every_command(void **state)
{
    (void)state;
    struct ran r = RUN("--help");
    assert_int_equal(r.status, 0);
    assert_string_equal(r.err, "");
    assert_said(r.out, "usage: rodbook COMMAND");
    for (size_t i = 0; i < COUNT(commands); i++)
        assert_said(r.out, commands[i]);
    ran_release(&r);
}

static void
each_command_has_help_with_an_example(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(commands); i++) {
        char usage[64], example[64];
        struct ran r = RUN(commands[i], "--help");
        snprintf(usage, sizeof usage, "usage: rodbook %s ", commands[i]);
        snprintf(example, sizeof example, "example: rodbook %s ", commands[i]);
        assert_int_equal(r.status, 0);
        assert_string_equal(r.err, "");
        assert_said(r.out, usage);
        assert_said(r.out, example);
        ran_release(&r);
    }
}

/* The example of each help, as it stands there, does what it says. */
static void
examples_in_the_help_work(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(commands); i++) {
        struct ran help = RUN(commands[i], "--help");
        char *save = NULL, *at = strstr(help.out, "example: ");
        const char *word[9] = { NULL };
        size_t n = 0;
        assert_non_null(at);
        for (char *w = strtok_r(at, " \n", &save); w && n < 8; w = strtok_r(NULL, " \n", &save))
            word[n++] = w;
        assert_true(n > 2 && n < 8);
        struct ran r = run_program(NULL, word + 2); /* behind "example:" and "rodbook" */
        assert_int_equal(r.status, 0);
        ran_release(&r);
        ran_release(&help);
    }
}

static void
help_of_a_command_is_the_same_either_way(void **state)
{
    (void)state;
    struct ran a = RUN("help", "stakes"), b = RUN("stakes", "--help");
    assert_int_equal(a.status, 0);
    assert_string_equal(a.out, b.out);
    ran_release(&a);
    ran_release(&b);
    assert_undone(RUN("help", "stake"), "nearest is stakes");
}

static void
version_is_one_line(void **state)
{
    (void)state;
    struct ran r = RUN("--version");
    int major, minor, patch, end = 0;
    assert_int_equal(r.status, 0);
    assert_string_equal(r.err, "");
    assert_int_equal(sscanf(r.out, "rodbook %d.%d.%d\n%n", &major, &minor, &patch, &end), 3);
    assert_int_equal(r.out[end], '\0');
    ran_release(&r);
}

/* ---- wrong words ---- */

static void
an_unknown_command_is_offered_the_nearest(void **state)
{
    (void)state;
    assert_undone(RUN("reduec", DEMO), "nearest is reduce");
    assert_undone(RUN("stake", DEMO), "nearest is stakes");
    assert_undone(RUN("chek", DEMO), "nearest is check");
    assert_undone(RUN("Close", DEMO), "nearest is close");
    struct ran r = RUN("orchard", DEMO);
    assert_null(strstr(r.err, "nearest"));
    assert_undone(r, "orchard is no command");
    assert_undone(RUN("red", DEMO), "red is no command"); /* shortened */
    assert_undone(RUN("", DEMO), "is no command");
    assert_undone(RUN("--jsno", DEMO), "--jsno is no command");
}

static void
unknown_options_are_refused(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(commands); i++) {
        assert_undone(RUN(commands[i], "--orchard", DEMO), "unknown option --orchard");
        assert_undone(RUN(commands[i], "-j", DEMO), "unknown option");
    }
    assert_undone(RUN("check", "--json", DEMO), "unknown option --json");
    assert_undone(RUN("close", "--grade", "pad", DEMO), "unknown option --grade");
    assert_undone(RUN("reduce", "--json=yes", DEMO), "unknown option --json=yes"); /* it takes no value */
}

static void
shortened_options_are_refused(void **state)
{
    (void)state;
    assert_undone(RUN("reduce", "--js", DEMO), "unknown option --js");
    assert_undone(RUN("reduce", "--spread", DEMO), "unknown option --spread");
    assert_undone(RUN("reduce", "--for=hi", DEMO), "unknown option --for=hi");
    assert_undone(RUN("stakes", "--gr", "pad", DEMO), "unknown option --gr");
    assert_undone(RUN("stakes", "--s", "5.1", DEMO), "unknown option --s");
}

/* --h is no word of ours: --help is written in full like every other. */
static void
a_shortened_help_is_refused_too(void **state)
{
    (void)state;
    assert_undone(RUN("reduce", "--he", DEMO), "unknown option --he");
    assert_undone(RUN("check", "--hel"), "unknown option --hel");
}

static void
a_value_is_missed(void **state)
{
    (void)state;
    assert_undone(RUN("reduce", "--form"), "a value is missing behind --form");
    assert_undone(RUN("stakes", "--grade"), "a value is missing behind --grade");
    assert_undone(RUN("stakes", "--json", "--setup"), "a value is missing behind --setup");
}

static void
a_value_must_be_one_that_is_known(void **state)
{
    static const char *const setups[] = { "5", "5.", ".1", "5.0", "0.1", "5.1.1", "-5.1", "5,1", "5.1 ",
        "4294967301.1", "" };
    (void)state;
    assert_undone(RUN("reduce", "--form", "fall", DEMO), "--form wants hi or rise-fall");
    for (size_t i = 0; i < COUNT(setups); i++)
        assert_undone(RUN("stakes", "--setup", setups[i], DEMO), "--setup wants");
    assert_undone(RUN("stakes", "--setup", "5.9", DEMO), "[setup-name]");
    assert_undone(RUN("stakes", "--grade", "ridge", DEMO), "[grade-name]");
}

static void
both_ways_to_give_a_value_are_one(void **state)
{
    (void)state;
    struct ran a = RUN("stakes", "--grade", "pad", "--setup", "5.1", DEMO);
    struct ran b = RUN("stakes", "--setup=5.1", "--grade=pad", DEMO);
    assert_int_equal(a.status, b.status);
    assert_string_equal(a.out, b.out);
    ran_release(&a);
    ran_release(&b);
}

static void
a_command_wants_one_record(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(with_json); i++) {
        assert_undone(RUN(with_json[i]), "which record?");
        assert_undone(RUN(with_json[i], DEMO, DEMO), "one record at a time");
        struct ran behind = RUN(with_json[i], DEMO, "--json"); /* options may stand behind the file */
        assert_int_equal(behind.status, 0);
        assert_int_equal(behind.out[0], '{');
        ran_release(&behind);
    }
    assert_undone(RUN("check"), "which record?");
}

static void
check_takes_many_records(void **state)
{
    (void)state;
    struct ran r = RUN("check", DEMO, "surveys/mill-lane.yaml");
    assert_int_equal(r.status, 0);
    assert_said(r.out, "surveys/fernhill.yaml: ");
    assert_said(r.out, "surveys/mill-lane.yaml: ");
    ran_release(&r);
}

/* ---- files ---- */

static void
a_file_that_is_not_there_is_said(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(with_json); i++) {
        assert_undone(RUN(with_json[i], "surveys/orchard.yaml"), "surveys/orchard.yaml: error: ");
        assert_undone(RUN(with_json[i], "surveys"), "[file]");
        assert_undone(RUN(with_json[i], ""), "[file]");
    }
}

static void
check_goes_on_behind_a_file_that_is_not_there(void **state)
{
    (void)state;
    struct ran r = RUN("check", "surveys/orchard.yaml", DEMO);
    assert_int_equal(r.status, 2);
    assert_said(r.err, "[file]");
    assert_said(r.out, DEMO ": ");
    ran_release(&r);
    r = RUN("check", "surveys");
    assert_int_equal(r.status, 2);
    assert_said(r.err, "[file]");
    ran_release(&r);
}

/* Behind "--" even a name that begins with a dash is a file. */
static void
behind_two_dashes_stands_a_file(void **state)
{
    (void)state;
    assert_undone(RUN("close", "--", "--json"), "--json: error: ");
    struct ran r = RUN("close", "--json", "--", DEMO);
    assert_int_equal(r.status, 0);
    ran_release(&r);
}

static void
a_dash_is_standard_input(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(commands); i++) {
        struct ran r = RUN_WITH(good, commands[i], "-");
        assert_int_equal(r.status, 0);
        assert_string_equal(r.err, "");
        ran_release(&r);
    }
    assert_undone(RUN_WITH("---\njob: Lamb field\nunit: m\nleast: 1,482\n", "reduce", "-"), "-:4:8: error: ");
}

/* A pipe and a file give the same, byte for byte. */
static void
a_file_and_standard_input_give_the_same(void **state)
{
    char name[512];
    (void)state;
    make_file(name, sizeof name, "command_line.yaml", good);
    for (size_t i = 0; i < COUNT(with_json); i++) {
        struct ran a = RUN(with_json[i], name), b = RUN_WITH(good, with_json[i], "-");
        assert_int_equal(a.status, b.status);
        assert_string_equal(a.out, b.out);
        ran_release(&a);
        ran_release(&b);
    }
    remove(name);
}

static void
an_empty_record_has_no_job(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(with_json); i++) {
        assert_undone(RUN_WITH("", with_json[i], "-"), "[job-entry]");
        assert_undone(RUN_WITH("\n", with_json[i], "--json", "-"), "[job-entry]");
    }
    struct ran r = RUN_WITH("", "check", "-");
    assert_int_equal(r.status, 1); /* a fault in the record */
    assert_said(r.err, "[job-entry]");
    ran_release(&r);
}

/* ---- exit status ---- */

static void
errors_leave_standard_output_empty(void **state)
{
    static const char *const bad[] = { "tests/bad/duplicate-key.yaml", "tests/bad/no-benchmark.yaml",
        "tests/bad/bytes.yaml", "tests/bad/grade-plane.yaml" };
    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++) {
        assert_undone(RUN("stakes", bad[i]), ": error: ");
        assert_undone(RUN("stakes", "--json", bad[i]), ": error: ");
    }
    assert_undone(RUN("reduce", "--json", "tests/bad/no-benchmark.yaml"), "[no-benchmark]");
    assert_undone(RUN("close", "--json", "tests/bad/no-benchmark.yaml"), "[no-benchmark]");
}

static void
outside_its_limit_is_done_and_not_good(void **state)
{
    static const char *const list[] = { "reduce", "close", "check" };
    (void)state;
    for (size_t i = 0; i < COUNT(list); i++) {
        struct ran r = RUN(list[i], "tests/bad/misclosure.yaml");
        assert_int_equal(r.status, 1);
        assert_said(r.err, "[misclosure]");
        assert_true(r.out[0] != '\0');
        ran_release(&r);
    }
}

/* A warning alone: check says 1, the others go on. */
static void
a_warning_alone_stops_nobody(void **state)
{
    (void)state;
    struct ran r = RUN("check", "tests/bad/half-interval.yaml");
    assert_int_equal(r.status, 1);
    ran_release(&r);
    r = RUN("reduce", "tests/bad/half-interval.yaml");
    assert_int_equal(r.status, 0);
    assert_said(r.err, "[half-interval]");
    ran_release(&r);
}

/* ---- JSON ---- */

static bool
is_count(const char *key)
{
    static const char *const counts[] = { "entry", "row", "setups", "readings", "position", "check_page",
        "check_piece", "entries", "digest_entry", "doubts", "settles" };
    for (size_t i = 0; i < COUNT(counts); i++)
        if (strcmp(key, counts[i]) == 0)
            return true;
    return false;
}

/* Counts are whole numbers, and every other number is a length: a real. */
static void
assert_kinds(const char *key, const json_t *v)
{
    size_t i;
    const char *inner;
    json_t *o;
    if (json_is_number(v) && json_is_integer(v) != is_count(key))
        fail_msg("%s is %s", key, json_is_integer(v) ? "no length" : "no count");
    json_array_foreach(v, i, o)
    {
        assert_kinds(key, o);
    }
    json_object_foreach((json_t *)v, inner, o)
    {
        assert_kinds(inner, o);
    }
}

/* Outside of texts, behind every point stand nine digits. */
static void
assert_nine_decimals(const char *text)
{
    bool quoted = false;
    for (const char *p = text; *p; p++) {
        if (quoted && *p == '\\')
            p++;
        else if (*p == '"')
            quoted = !quoted;
        else if (!quoted && *p == '.' && strspn(p + 1, "0123456789") != 9)
            fail_msg("not nine decimals: %.24s", p - 8);
    }
}

static void
assert_json(struct ran r)
{
    json_error_t fault;
    assert_int_equal(r.status, 0);
    assert_string_equal(r.err, "");
    json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, &fault);
    if (!root)
        fail_msg("line %d: %s", fault.line, fault.text);
    assert_true(json_is_object(root));
    assert_kinds("", root);
    assert_nine_decimals(r.out);
    assert_no_escape(r.out);
    json_decref(root);
    ran_release(&r);
}

static void
json_is_whole_for_every_demo_survey(void **state)
{
    (void)state;
    glob_t found = demos();
    for (size_t i = 0; i < found.gl_pathc; i++)
        for (size_t k = 0; k < COUNT(with_json); k++)
            assert_json(RUN(with_json[k], "--json", found.gl_pathv[i]));
    globfree(&found);
    for (size_t k = 0; k < COUNT(with_json); k++)
        assert_json(RUN_WITH(good, with_json[k], "--json", "-"));
}

/* Quotes, backslashes and letters beyond ASCII come out as they went in. */
static void
json_keeps_names_as_written(void **state)
{
    static const char job[] = "Lamb \"lower\" field \\ caf\u00e9 \u2192";
    char record[1024];
    (void)state;
    snprintf(record, sizeof record,
        "---\njob: 'Lamb \"lower\" field \\ caf\u00e9 \u2192'\nunit: m\nleast: 0.001\n"
        "---\nmarks: {'B\"1\\': {elevation: 48.375}}\n");
    struct ran r = RUN_WITH(record, "close", "--json", "-");
    assert_int_equal(r.status, 0);
    json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(root);
    assert_string_equal(json_string_value(json_object_get(root, "job")), job);
    const json_t *point = json_array_get(json_object_get(root, "points"), 0);
    assert_string_equal(json_string_value(json_object_get(point, "at")), "B\"1\\");
    json_decref(root);
    ran_release(&r);
}

/* The same words twice give the same bytes. */
static void
results_repeat_to_the_byte(void **state)
{
    (void)state;
    for (size_t k = 0; k < COUNT(with_json); k++) {
        struct ran a = RUN(with_json[k], "--json", DEMO), b = RUN(with_json[k], "--json", DEMO);
        assert_string_equal(a.out, b.out);
        ran_release(&a);
        ran_release(&b);
    }
}

/* ---- output ---- */

/* The program's standard output is the file `out`; what it says on standard error goes to *err. */
static int
run_into(const char *out, const char *const *argv, char **err)
{
    char program[512];
    const char *build = getenv("BUILD");
    char *list[8] = { program };
    FILE *said = tmpfile();
    int to = open(out, O_WRONLY);
    assert_true(said && to >= 0);
    snprintf(program, sizeof program, "%s/rodbook", build ? build : "build/release");
    for (size_t i = 0; argv[i] && i < 6; i++)
        list[i + 1] = (char *)argv[i];
    fflush(NULL);
    pid_t child = fork();
    if (child == 0) {
        dup2(to, 1);
        dup2(fileno(said), 2);
        execv(program, list);
        _exit(127);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    close(to);
    *err = ran_text(said);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128;
}

static void
assert_unwritten(const char *const *argv)
{
    char *err;
    assert_int_equal(run_into("/dev/full", argv, &err), 2);
    assert_said(err, "[output]");
    free(err);
}

static void
output_that_cannot_be_written_is_said(void **state)
{
    (void)state;
    if (access("/dev/full", W_OK) != 0)
        skip();
    for (size_t i = 0; i < COUNT(commands); i++) {
        assert_unwritten((const char *const[]){ commands[i], DEMO, NULL });
        assert_unwritten((const char *const[]){ commands[i], "--help", NULL });
    }
    for (size_t i = 0; i < COUNT(with_json); i++)
        assert_unwritten((const char *const[]){ with_json[i], "--json", DEMO, NULL });
    assert_unwritten((const char *const[]){ "--help", NULL });
    assert_unwritten((const char *const[]){ "--version", NULL });
}

static void
sheets_hold_no_escapes(void **state)
{
    (void)state;
    glob_t found = demos();
    for (size_t i = 0; i < found.gl_pathc; i++) {
        for (size_t k = 0; k < COUNT(commands); k++) {
            struct ran r = RUN(commands[k], found.gl_pathv[i]);
            assert_no_escape(r.out);
            assert_no_escape(r.err);
            ran_release(&r);
        }
    }
    globfree(&found);
}

/* An escape in a record, in a name or in a note, never reaches a terminal. */
static void
escapes_of_a_record_are_refused(void **state)
{
    (void)state;
    assert_undone(RUN_WITH("---\njob: Lamb \033[31mfield\nunit: m\nleast: 0.001\n", "reduce", "-"), "[bytes]");
    assert_undone(RUN_WITH("---\njob: \"Lamb \\e[31mfield\"\nunit: m\nleast: 0.001\n", "reduce", "-"), "[text]");
    assert_undone(RUN_WITH("---\njob: Lamb field\nunit: m\nleast: 0.001\n"
                           "---\nmarks: {\"B\\e[31m\": {elevation: 48.375}}\n", "reduce", "-"), "[name]");
}

/* Nor does one on the command line. */
static void
escapes_in_words_are_not_said_again(void **state)
{
    (void)state;
    assert_undone(RUN("\033[31mreduce", DEMO), "no command");
    assert_undone(RUN("reduce", "--\033[31mjson", DEMO), "unknown option");
    assert_undone(RUN("reduce", "--form", "\033[31mhi", DEMO), "--form");
    assert_undone(RUN("stakes", "--setup", "\033[31m5.1", DEMO), "--setup");
}

static void
escapes_in_a_grade_name_are_not_said_again(void **state)
{
    (void)state;
    assert_undone(RUN("stakes", "--grade", "\033[31mpad", DEMO), "[grade-name]");
}

static void
escapes_in_a_file_name_are_not_said_again(void **state)
{
    (void)state;
    assert_undone(RUN("reduce", "surveys/\033[31mfernhill.yaml"), "[file]");
}

/* ---- on a terminal ---- */

/* Both ends of a new terminal; output goes through it as it is. */
static void
open_terminal(int *ours, int *theirs)
{
    *ours = posix_openpt(O_RDWR | O_NOCTTY);
    if (*ours < 0)
        skip();
    assert_int_equal(grantpt(*ours), 0);
    assert_int_equal(unlockpt(*ours), 0);
    *theirs = open(ptsname(*ours), O_RDWR | O_NOCTTY);
    assert_true(*theirs >= 0);
}

/* What a bad record brings onto a terminal, with NO_COLOR set to a word or, with NULL, unset. */
static void
complain_on_terminal(const char *no_colour, char *said, size_t room)
{
    char program[512];
    const char *build = getenv("BUILD");
    int ours, theirs;
    snprintf(program, sizeof program, "%s/rodbook", build ? build : "build/release");
    open_terminal(&ours, &theirs);
    fflush(NULL);
    pid_t child = fork();
    if (child == 0) {
        dup2(theirs, 2);
        if (no_colour)
            setenv("NO_COLOR", no_colour, 1);
        else
            unsetenv("NO_COLOR");
        execl(program, "rodbook", "reduce", "tests/bad/duplicate-key.yaml", (char *)NULL);
        _exit(127);
    }
    close(theirs);
    size_t used = 0;
    for (ssize_t n; used + 1 < room && (n = read(ours, said + used, room - used - 1)) > 0;)
        used += (size_t)n;
    said[used] = '\0';
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    close(ours);
    assert_int_equal(WEXITSTATUS(status), 2);
}

static void
no_color_keeps_a_terminal_plain(void **state)
{
    char said[4096];
    (void)state;
    complain_on_terminal("1", said, sizeof said);
    assert_said(said, "[duplicate-key]");
    assert_no_escape(said);
    complain_on_terminal(NULL, said, sizeof said); /* else there is colour, and only there */
    assert_said(said, "\033[");
    complain_on_terminal("", said, sizeof said); /* set to nothing is not set */
    assert_said(said, "\033[");
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_words_the_usage_is_an_error),
        cmocka_unit_test(help_lists_every_command),
        cmocka_unit_test(each_command_has_help_with_an_example),
        cmocka_unit_test(examples_in_the_help_work),
        cmocka_unit_test(help_of_a_command_is_the_same_either_way),
        cmocka_unit_test(version_is_one_line),
        cmocka_unit_test(an_unknown_command_is_offered_the_nearest),
        cmocka_unit_test(unknown_options_are_refused),
        cmocka_unit_test(shortened_options_are_refused),
        cmocka_unit_test(a_shortened_help_is_refused_too),
        cmocka_unit_test(a_value_is_missed),
        cmocka_unit_test(a_value_must_be_one_that_is_known),
        cmocka_unit_test(both_ways_to_give_a_value_are_one),
        cmocka_unit_test(a_command_wants_one_record),
        cmocka_unit_test(check_takes_many_records),
        cmocka_unit_test(a_file_that_is_not_there_is_said),
        cmocka_unit_test(check_goes_on_behind_a_file_that_is_not_there),
        cmocka_unit_test(behind_two_dashes_stands_a_file),
        cmocka_unit_test(a_dash_is_standard_input),
        cmocka_unit_test(a_file_and_standard_input_give_the_same),
        cmocka_unit_test(an_empty_record_has_no_job),
        cmocka_unit_test(errors_leave_standard_output_empty),
        cmocka_unit_test(outside_its_limit_is_done_and_not_good),
        cmocka_unit_test(a_warning_alone_stops_nobody),
        cmocka_unit_test(json_is_whole_for_every_demo_survey),
        cmocka_unit_test(json_keeps_names_as_written),
        cmocka_unit_test(results_repeat_to_the_byte),
        cmocka_unit_test(output_that_cannot_be_written_is_said),
        cmocka_unit_test(sheets_hold_no_escapes),
        cmocka_unit_test(escapes_of_a_record_are_refused),
        cmocka_unit_test(escapes_in_words_are_not_said_again),
        cmocka_unit_test(escapes_in_a_grade_name_are_not_said_again),
        cmocka_unit_test(escapes_in_a_file_name_are_not_said_again),
        cmocka_unit_test(no_color_keeps_a_terminal_plain),
    };
    return cmocka_run_group_tests_name("command line", tests, NULL, NULL);
}
