/* test_new.c - a job's first entries, by options and by asking; and strikes from the command line */
#include "../terminal.h"

#include <sys/stat.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* ---- what the tests share ---- */

static const char *
free_name(const char *base)
{
    static char name[512];
    const char *build = getenv("BUILD");
    snprintf(name, sizeof name, "%s/%s", build ? build : "build/release", base);
    (void)unlink(name);
    return name;
}

static bool
is_there(const char *file)
{
    struct stat st;
    return lstat(file, &st) == 0;
}

static char *
text_of(const char *file)
{
    FILE *f = fopen(file, "r");
    assert_non_null(f);
    return ran_text(f);
}

static void
assert_said(const char *text, const char *word)
{
    if (!strstr(text, word))
        fail_msg("\"%s\" is not said in:\n%s", word, text);
}

static void
assert_sound(const char *file)
{
    struct ran r = RUN("check", file);
    if (r.status != 0)
        fail_msg("%s", r.err);
    ran_release(&r);
}

/* Status, a word on standard error, and no file. */
static void
assert_not_made(struct ran r, const char *file, const char *word)
{
    if (r.status != 2)
        fail_msg("exit status %d\n%s%s", r.status, r.out, r.err);
    assert_string_equal(r.out, "");
    assert_said(r.err, word);
    assert_false(is_there(file));
    ran_release(&r);
}

/* ---- by options ---- */

static void
options_make_a_whole_job(void **state)
{
    const char *file = free_name("new-options.yaml");
    (void)state;
    struct ran r = RUN("new", "--job=Mill Lane: \"frame\"", "--place=back yard, # 3", "--unit=ft-in", "--least=1/16 in", "--rod-length=13 ft",
        "--allow=1/8 in per root-setup", "--spread=setups", "--benchmark=\"top step\" 20 ft", "--grade=sill finish 21' 2\" tolerance 1/8 in",
        "--by=HK", file);
    if (r.status != 0)
        fail_msg("%s", r.err);
    assert_string_equal(r.err, "");
    assert_said(r.out, "is made, with 3 entries; next: rodbook book ");
    ran_release(&r);
    char *text = text_of(file);
    assert_said(text, "job: \"Mill Lane: \\\"frame\\\"\"\nplace: \"back yard, # 3\"\nunit: ft-in\nleast: 1/16 in\nrod-length: 13 ft\n"
                      "allow:\n  misclosure: 1/8 in\n  per: root-setup\nspread: setups\nby: HK\ntime: ");
    assert_said(text, "marks:\n  top step:\n    elevation: 20 ft\nby: HK\n");
    assert_said(text, "grade:\n  name: sill\n  means: finish\n  level: 21' 2\"\n  tolerance: 1/8 in\nby: HK\n");
    free(text);
    assert_sound(file);
    struct stat st;
    assert_int_equal(stat(file, &st), 0);
    assert_int_equal(st.st_mode & 0200, 0200);
    (void)unlink(file);
}

static void
the_least_that_a_job_needs(void **state)
{
    const char *file = free_name("new-least.yaml");
    (void)state;
    struct ran r = RUN("new", "--job", "Quay", "--unit", "m", "--least", "1 mm", file);
    assert_int_equal(r.status, 0);
    assert_said(r.out, "with 1 entry; next");
    ran_release(&r);
    assert_sound(file);
    (void)unlink(file);
    assert_not_made(RUN("new", "--job", "Quay", "--unit", "m", file), file, "with --job, --least is needed too");
    assert_not_made(RUN("new", "--job", "Quay", "--least", "1 mm", file), file, "with --job, --unit is needed too");
    assert_not_made(RUN("new", "--job", "", "--unit", "m", "--least", "1 mm", file), file, "--job is empty");
}

static void
values_that_cannot_stand_make_no_file(void **state)
{
    static const struct {
        const char *option, *word;
    } bad[] = { { "--unit=yd", "[word]" }, { "--unit=FT", "[word]" }, { "--least=0", "[range]" }, { "--least=x", "[number]" },
        { "--least=1,5", "[decimal-comma]" }, { "--rod-length=40 m", "[range]" }, { "--rod-length=-3", "[range]" }, { "--allow=0.02", "[missing-key]" },
        { "--allow=per job", "[" }, { "--allow=0.02 per mile", "[word]" }, { "--allow=0.02 per", "[" }, { "--spread=evenly", "[word]" },
        { "--benchmark=BM1", "[" }, { "--benchmark=BM1 high", "[number]" }, { "--benchmark=\"\" 100", "[name]" },
        { "--benchmark=\"A B 100", "[" }, { "--grade=string", "[" }, { "--grade=string finish", "[" }, { "--grade=string top 101.50", "[word]" },
        { "--grade=string finish 101,50", "[decimal-comma]" }, { "--grade=string finish 101.50 tolerance 0", "[range]" },
        { "--job=a\001b", "--job holds a control" }, { "--by=a\nb", "--by holds a control" }, { "--place=\xff", "--place holds a control" },
        { "--place=\xe2\x80\xae", "--place holds a control" } };
    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++) {
        const char *file = free_name("new-bad.yaml");
        assert_not_made(RUN("new", "--job=Lamb field", "--unit=m", "--least=0.001", bad[i].option, file), file, bad[i].word);
    }
}

/* What stands in an answer is the answer, and never a part of the record's own writing. */
static void
hostile_answers_are_text(void **state)
{
    static const char *const hostile[] = { "1, x: 2", "{", "}", "# c", "1 # c", "[1, 2]", "- 1", "? x", "a: b", "x:", "&a 1", "*a", "!t 1", "|", ">", "%",
        "@", "`", "\"", "\"1", "'1", "'", "1\"", "1'", "true", "null", "~", "1e3", "0x10", "---", "...", "\\", "1\\n2", "1 }", "1, y", "1\tx",
        "\xe2\x80\x9c" "1\xe2\x80\x9d" };
    (void)state;
    for (size_t i = 0; i < COUNT(hostile); i++) {
        const char *file = free_name("new-hostile.yaml");
        char benchmark[64], grade[64], allow[64];
        snprintf(benchmark, sizeof benchmark, "BM1 %s", hostile[i]);
        snprintf(grade, sizeof grade, "string finish %s", hostile[i]);
        snprintf(allow, sizeof allow, "0.02 per %s", hostile[i]);
        const char *const options[][2] = { { "--least", hostile[i] }, { "--rod-length", hostile[i] }, { "--benchmark", benchmark },
            { "--grade", grade }, { "--allow", allow } };
        for (size_t k = 0; k < COUNT(options); k++) {
            struct ran r = RUN("new", "--job=Lamb field", "--unit=ft", k == 0 ? "--spread=setups" : "--least=0.01", options[k][0], options[k][1], file);
            bool length = k < 4 && (strcmp(hostile[i], "1\"") == 0 || strcmp(hostile[i], "1'") == 0); /* one inch, one foot */
            if ((r.status == 0) != length)
                fail_msg("%s %s: %d\n%s", options[k][0], options[k][1], r.status, r.err);
            assert_int_equal(is_there(file), length);
            ran_release(&r);
            (void)unlink(file);
        }
        /* In a name or a text it may stand, as it is. */
        struct ran r = RUN("new", "--job", hostile[i], "--place", hostile[i], "--unit=ft", "--least=0.01", "--by", hostile[i], file);
        if (strchr(hostile[i], '\t')) {
            assert_int_equal(r.status, 2);
        } else {
            if (r.status != 0)
                fail_msg("--job %s\n%s", hostile[i], r.err);
            assert_sound(file);
            struct ran shown = RUN("reduce", file);
            char title[64];
            snprintf(title, sizeof title, "%s, %s\n", hostile[i], hostile[i]);
            assert_memory_equal(shown.out, title, strlen(title));
            ran_release(&shown);
        }
        ran_release(&r);
        (void)unlink(file);
    }
}

static void
names_with_quotes_are_names(void **state)
{
    static const struct {
        const char *benchmark, *name;
    } marks[] = { { "true 100", "\"true\"" }, { "12 100", "\"12\"" }, { "B\"1 100", "\"B\\\"1\"" }, { "a:b 100", "\"a:b\"" },
        { "{x} 100", "\"{x}\"" }, { "\"# 4\" 100", "\"# 4\"" }, { "\xe4\xb8\x89 100", "\"\xe4\xb8\x89\"" }, { "\\ 100", "\"\\\\\"" } };
    (void)state;
    for (size_t i = 0; i < COUNT(marks); i++) {
        const char *file = free_name("new-name.yaml");
        char line[128];
        struct ran r = RUN("new", "--job=Lamb field", "--unit=ft", "--least=0.01", "--benchmark", marks[i].benchmark, file);
        if (r.status != 0)
            fail_msg("%s: %s", marks[i].benchmark, r.err);
        ran_release(&r);
        char *text = text_of(file);
        snprintf(line, sizeof line, "marks:\n  %s:\n    elevation: 100\n", marks[i].name);
        if (!strstr(text, line) && !(marks[i].name[1] & 0x80)) /* letters beyond ASCII may do without */
            fail_msg("%s is not in\n%s", line, text);
        free(text);
        assert_sound(file);
        (void)unlink(file);
    }
}

static void
nothing_is_written_over(void **state)
{
    const char *file = free_name("new-there.yaml");
    (void)state;
    FILE *f = fopen(file, "w");
    fputs("a crew's own\n", f);
    assert_int_equal(fclose(f), 0);
    for (int by_asking = 0; by_asking < 2; by_asking++) {
        struct ran r = by_asking ? RUN_WITH("Quay\n\nm\n1 mm\n\n\n\n\n\n", "new", file) : RUN("new", "--job=Quay", "--unit=m", "--least=1 mm", file);
        assert_int_equal(r.status, 2);
        assert_said(r.err, "is there already, and is never written over");
        ran_release(&r);
        char *text = text_of(file);
        assert_string_equal(text, "a crew's own\n");
        free(text);
    }
    (void)unlink(file);
    assert_int_equal(symlink("no-such-file.yaml", file), 0); /* nor is a link that leads nowhere */
    struct ran r = RUN("new", "--job=Quay", "--unit=m", "--least=1 mm", file);
    assert_int_equal(r.status, 2);
    ran_release(&r);
    assert_true(is_there(file));
    (void)unlink(file);
    r = RUN("new", "--job=Quay", "--unit=m", "--least=1 mm", "build/no-such-folder/x.yaml");
    assert_int_equal(r.status, 2);
    assert_said(r.err, "cannot be made");
    ran_release(&r);
}

/* ---- by asking ---- */

static const char answers[] = "Mill Lane: frame\nback yard\nft\n0.01\n13\n0.02 per root-setup\nBM1 100.000\nstring finish 101.50\nRO\n";

static void
answers_through_a_pipe_make_the_same(void **state)
{
    char asked[600], given[600];
    (void)state;
    snprintf(asked, sizeof asked, "%s", free_name("new-asked.yaml"));
    struct ran r = RUN_WITH(answers, "new", asked);
    if (r.status != 0)
        fail_msg("%s", r.err);
    ran_release(&r);
    snprintf(given, sizeof given, "%s", free_name("new-given.yaml"));
    r = RUN("new", "--job=Mill Lane: frame", "--place=back yard", "--unit=ft", "--least=0.01", "--rod-length=13", "--allow=0.02 per root-setup",
        "--benchmark=BM1 100.000", "--grade=string finish 101.50", "--by=RO", given);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    char *a = text_of(asked), *b = text_of(given);
    for (char *p = a, *q = b; *p || *q;) { /* but for the times, and the digests that hang on them */
        char *p_end = strchrnul(p, '\n'), *q_end = strchrnul(q, '\n');
        if (strncmp(p, "time: ", 6) != 0 && strncmp(p, "digest: ", 8) != 0) {
            assert_int_equal(p_end - p, q_end - q);
            assert_memory_equal(p, q, (size_t)(p_end - p));
        }
        p = p_end + (*p_end != '\0');
        q = q_end + (*q_end != '\0');
    }
    free(a);
    free(b);
    assert_sound(asked);
    (void)unlink(asked);
    (void)unlink(given);
}

/* The next line of a pipe answers another question: a wrong one ends it. */
static void
a_wrong_answer_through_a_pipe_ends_it(void **state)
{
    static const char *const wrong[] = { "", "\n", "Quay\n\nyd\n", "Quay\n\nm\n1,0\n", "Quay\n\nm\n0.001\n", "Quay\n\nm\n0.001\n4\n\nBM1\n",
        "Quay\n\nm\n0.001\n4\n\n\n\n", "Qu\001ay\n" };
    (void)state;
    for (size_t i = 0; i < COUNT(wrong); i++) {
        const char *file = free_name("new-wrong.yaml");
        struct ran r = RUN_WITH(wrong[i], "new", file);
        assert_int_equal(r.status, 2);
        assert_said(r.err, "the questions were not all answered; nothing is made");
        assert_false(is_there(file));
        ran_release(&r);
    }
}

static void
answer(struct terminal *t, const char *question, const char *text)
{
    terminal_expect(t, question);
    terminal_keys(t, text);
    terminal_keys(t, "\r");
}

static void
a_wrong_answer_at_a_terminal_is_asked_again(void **state)
{
    const char *file = free_name("new-terminal.yaml");
    (void)state;
    struct terminal t = terminal_open((struct terminal_kind){ "xterm", "C.UTF-8", 80 }, (const char *const[]){ "new", file, NULL });
    answer(&t, "the job's name: ", "");
    terminal_expect(&t, "! this is needed");
    answer(&t, "the job's name: ", "Mill Lane");
    answer(&t, "where it is (or empty): ", "");
    answer(&t, "unit of bare numbers, ft, ft-in or m: ", "yards");
    terminal_expect(&t, "[word]");
    answer(&t, "unit of bare numbers, ft, ft-in or m: ", "ft");
    answer(&t, "smallest division on the rod", "1, x: 2");
    terminal_expect(&t, "! ");
    answer(&t, "smallest division on the rod", "0.01");
    answer(&t, "length of the rod (or empty): ", "40 m");
    terminal_expect(&t, "[range]");
    answer(&t, "length of the rod (or empty): ", "13");
    answer(&t, "allowable misclosure", "0.02");
    terminal_expect(&t, "! ");
    answer(&t, "allowable misclosure", "0.02 per root-setup");
    answer(&t, "benchmark and its elevation", "BM1 1\xe2\x80\x99");
    terminal_expect(&t, "[sign]");
    answer(&t, "benchmark and its elevation", "BM1 100.000");
    answer(&t, "grade, as string finish 101.50 (or empty): ", "string 101.50");
    terminal_expect(&t, "! ");
    answer(&t, "grade, as string finish 101.50 (or empty): ", "string finish 101.50");
    answer(&t, "your initials (or empty): ", "RO");
    terminal_expect(&t, "is made, with 3 entries; next: rodbook book ");
    assert_int_equal(terminal_wait(&t), 0);
    terminal_release(&t);
    assert_sound(file);
    (void)unlink(file);
}

static void
asking_may_be_left(void **state)
{
    static const char keys[] = { 4, 3 }; /* Ctrl-D, Ctrl-C */
    (void)state;
    for (size_t i = 0; i < COUNT(keys); i++) {
        const char *file = free_name("new-left.yaml");
        struct terminal t = terminal_open((struct terminal_kind){ "xterm", "C.UTF-8", 80 }, (const char *const[]){ "new", file, NULL });
        answer(&t, "the job's name: ", "Mill Lane");
        terminal_expect(&t, "where it is (or empty): ");
        while (!terminal_is_raw(&t))
            (void)terminal_read(&t, 1);
        terminal_keys(&t, (const char[]){ keys[i], '\0' });
        terminal_expect(&t, "the questions were not all answered; nothing is made");
        assert_int_equal(terminal_wait(&t), 2);
        terminal_release(&t);
        assert_false(is_there(file));
    }
}

/* ---- strike ---- */

static const char *
booked(void)
{
    const char *file = free_name("strike.yaml");
    struct ran r = RUN_WITH(answers, "new", file);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    r = RUN_WITH("bs BM1 4.62\nis batten SW1 3.14\ntp TP1 5.87 4.15\nfs BM1 2.91\n", "book", file);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    return file;
}

static void
a_strike_that_is_not_clear_strikes_nothing(void **state)
{
    const char *file = booked();
    char *before = text_of(file);
    (void)state;
    const struct {
        const char *const argv[12];
        const char *word;
    } bad[] = {
        { { "strike", "--reason=x", "--by=RO", file }, "--row wants" },
        { { "strike", "--row=5", "--reason=x", "--by=RO", file }, "--row wants" },
        { { "strike", "--row=5.0", "--reason=x", "--by=RO", file }, "--row wants" },
        { { "strike", "--row=0.1", "--reason=x", "--by=RO", file }, "--row wants" },
        { { "strike", "--row=5.1.1", "--reason=x", "--by=RO", file }, "--row wants" },
        { { "strike", "--row= 5.1", "--reason=x", "--by=RO", file }, "--row wants" },
        { { "strike", "--row=-5.1", "--reason=x", "--by=RO", file }, "--row wants" },
        { { "strike", "--row=05.1", "--reason=x", "--by=RO", file }, "--row wants" },
        { { "strike", "--row=9999999999.1", "--reason=x", "--by=RO", file }, "--row wants" },
        { { "strike", "--row=4294967300.1", "--reason=x", "--by=RO", file }, "--row wants" },
        { { "strike", "--row=5.1", "--by=RO", file }, "--reason wants" },
        { { "strike", "--row=5.1", "--reason=", "--by=RO", file }, "--reason wants" },
        { { "strike", "--row=5.1", "--reason=a\nb", "--by=RO", file }, "--reason wants" },
        { { "strike", "--row=5.1", "--reason=x", file }, "--by wants" },
        { { "strike", "--row=5.1", "--reason=x", "--by=", file }, "--by wants" },
        { { "strike", "--row=5.1", "--reason=x", "--by=\033", file }, "--by wants" },
        { { "strike", "--row=6.1", "--sight=is", "--reason=x", "--by=RO", file }, "--sight wants" },
        { { "strike", "--row=6.1", "--sight=", "--reason=x", "--by=RO", file }, "--sight wants" },
        { { "strike", "--row=5.2", "--reason=x", "--by=RO", file }, "[strike]" },
        { { "strike", "--row=2.1", "--reason=x", "--by=RO", file }, "[strike]" },
        { { "strike", "--row=8.1", "--reason=x", "--by=RO", file }, "[strike]" },
        { { "strike", "--row=99.1", "--reason=x", "--by=RO", file }, "[strike]" },
        { { "strike", "--row=5.1", "--sight=bs", "--reason=x", "--by=RO", file }, "has no bs to strike" },
        { { "strike", "--row=4.1", "--sight=fs", "--reason=x", "--by=RO", file }, "has no fs to strike" },
        { { "strike", "--row=5.1", "--reason=x", "--by=RO" }, "which record?" },
        { { "strike", "--row=5.1", "--reason=x", "--by=RO", "build/no-such-file.yaml" }, "[file]" },
    };
    for (size_t i = 0; i < COUNT(bad); i++) {
        struct ran r = run_program(NULL, bad[i].argv);
        if (r.status != 2)
            fail_msg("%s: exit status %d\n%s%s", bad[i].argv[1], r.status, r.out, r.err);
        assert_string_equal(r.out, "");
        assert_said(r.err, bad[i].word);
        ran_release(&r);
        char *after = text_of(file);
        assert_string_equal(after, before);
        free(after);
    }
    free(before);
    (void)unlink(file);
}

static void
a_strike_is_an_entry_more(void **state)
{
    const char *file = booked();
    (void)state;
    char *before = text_of(file);
    struct ran r = RUN("strike", "--row", "5.1", "--reason", "rod on a clod: \"soft\" # 2", "--by", "LM", file);
    if (r.status != 0)
        fail_msg("%s", r.err);
    assert_said(r.out, "row 5.1 is struck; the strike is entry 8\n");
    assert_said(r.out, "last digest, to copy on paper   8: ");
    ran_release(&r);
    char *after = text_of(file);
    assert_memory_equal(after, before, strlen(before)); /* what stood there stands there */
    assert_said(after + strlen(before), "entry: 8\nstrike: {entry: 5, row: 1, reason: \"rod on a clod: \\\"soft\\\" # 2\"}\nby: LM\ntime: ");
    free(after);
    free(before);
    assert_sound(file);
    before = text_of(file);
    r = RUN("strike", "--row", "5.1", "--reason", "once more", "--by", "LM", file);
    assert_int_equal(r.status, 2);
    assert_said(r.err, "[struck-twice]");
    ran_release(&r);
    after = text_of(file);
    assert_string_equal(after, before);
    free(after);
    free(before);
    r = RUN("strike", "--row=6.1", "--sight=bs", "--reason=wrong rod", "--by=LM", file);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    r = RUN("strike", "--row=6.1", "--sight=bs", "--reason=wrong rod", "--by=LM", file);
    assert_int_equal(r.status, 2);
    assert_said(r.err, "[struck-twice]");
    ran_release(&r);
    r = RUN("reduce", "--form=hi", file);
    assert_said(r.out, "struck by LM: rod on a clod: \"soft\" # 2");
    assert_said(r.out, "/4.15/");
    ran_release(&r);
    (void)unlink(file);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(options_make_a_whole_job),
        cmocka_unit_test(the_least_that_a_job_needs),
        cmocka_unit_test(values_that_cannot_stand_make_no_file),
        cmocka_unit_test(hostile_answers_are_text),
        cmocka_unit_test(names_with_quotes_are_names),
        cmocka_unit_test(nothing_is_written_over),
        cmocka_unit_test(answers_through_a_pipe_make_the_same),
        cmocka_unit_test(a_wrong_answer_through_a_pipe_ends_it),
        cmocka_unit_test(a_wrong_answer_at_a_terminal_is_asked_again),
        cmocka_unit_test(asking_may_be_left),
        cmocka_unit_test(a_strike_that_is_not_clear_strikes_nothing),
        cmocka_unit_test(a_strike_is_an_entry_more),
    };
    return cmocka_run_group_tests_name("new and strike", tests, NULL, NULL);
}
