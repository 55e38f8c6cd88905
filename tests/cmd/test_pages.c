/* test_pages.c - what is printed for people fits a page of 100 columns, on every record there is, and has no colour */
#include "../hard.h"
#include "../terminal.h"

#include "rodbook/text.h"

#include <glob.h>

#define PAGE 100

static const char *const commands[] = { "reduce", "close", "adjust", "stakes", "plan", "suspects", "site", "square", "grade", "posts",
    "concrete", "run", "pad", "check", "audit" };
#define COMMANDS (sizeof commands / sizeof commands[0])

/* ---- width ---- */

struct looked {
    size_t pages, lines, wide, printed[COMMANDS];
};

static void
look_at_line(struct looked *l, const char *command, const char *record, const char *line)
{
    size_t width = text_width(line);
    l->lines++;
    if (width <= PAGE)
        return;
    if (l->wide++ < 40)
        print_message("%s %s: %zu columns: %s\n", command, record, width, line);
}

static void
look_at(struct looked *l, size_t command, const char *input, const char *record)
{
    struct ran r = RUN_WITH(input, commands[command], command + 2 == COMMANDS ? "--history" : "--", input ? "-" : record);
    if (r.status < 0 || r.status > 2)
        fail_msg("%s %s: status %d", commands[command], record, r.status);
    if (strchr(r.out, '\033') || strchr(r.err, '\033'))
        fail_msg("%s %s: an escape sequence, and no terminal", commands[command], record);
    l->pages += r.out[0] != '\0';
    l->printed[command] += r.out[0] != '\0';
    for (char *line = strtok(r.out, "\n"); line; line = strtok(NULL, "\n"))
        look_at_line(l, commands[command], record, line);
    ran_release(&r);
}

static void
look_at_text(void *with, const char *title, const char *bytes, size_t n)
{
    char *text = strndup(bytes, n);
    assert_non_null(text);
    for (size_t i = 0; i < COMMANDS; i++)
        look_at(with, i, text, title);
    free(text);
}

static void
look_at_files(struct looked *l, const char *pattern)
{
    glob_t found;
    assert_int_equal(glob(pattern, 0, NULL, &found), 0);
    for (size_t k = 0; k < found.gl_pathc; k++)
        for (size_t i = 0; i < COMMANDS; i++)
            look_at(l, i, NULL, found.gl_pathv[k]);
    globfree(&found);
}

static void
assert_narrow(const struct looked *l)
{
    if (l->wide > 0)
        fail_msg("%zu of %zu lines are wider than a page", l->wide, l->lines);
}

static void
published_and_demo_jobs_fit_the_page(void **state)
{
    struct looked l = { 0 };
    (void)state;
    look_at_files(&l, "surveys/*.yaml");
    look_at_files(&l, "tests/handbook/*.yaml");
    assert_narrow(&l);
    assert_true(l.pages > 150 && l.lines > 5000);
}

/* Names of 80 bytes, names without a blank to break at, wide letters; and whatever can be wrong with a loop. */
static void
hard_records_fit_the_page(void **state)
{
    struct looked l = { 0 };
    (void)state;
    hard_each(look_at_text, &l);
    assert_narrow(&l);
    for (size_t i = 0; i < COMMANDS; i++)
        if (l.printed[i] == 0)
            fail_msg("%s printed nothing at all", commands[i]);
}

/* ---- colour ---- */

/* At a terminal, with NO_COLOR: not one escape sequence; what it says on standard error is shown there, too. */
static void
no_color_is_heeded_by_every_command(void **state)
{
    struct terminal_kind kind = { "xterm-256color", "C.UTF-8", 100 };
    static const char *const records[] = { "surveys/quay-nursery.yaml", "tests/bad/broken-run.yaml", "tests/bad/duplicate-key.yaml" };
    (void)state;
    setenv("NO_COLOR", "1", 1);
    for (size_t k = 0; k < sizeof records / sizeof records[0]; k++)
        for (size_t i = 0; i < COMMANDS; i++) {
            struct terminal t = terminal_open(kind, (const char *const[]){ commands[i], records[k], NULL });
            (void)terminal_wait(&t);
            if (t.n == 0)
                fail_msg("%s %s: nothing is shown", commands[i], records[k]);
            if (memchr(t.shown, '\033', t.n))
                fail_msg("%s %s: an escape sequence: %s", commands[i], records[k], t.shown);
            terminal_release(&t);
        }
    unsetenv("NO_COLOR");
}

/* So that the test above can fail. */
static void
without_it_there_is_colour(void **state)
{
    struct terminal_kind kind = { "xterm-256color", "C.UTF-8", 100 };
    (void)state;
    unsetenv("NO_COLOR");
    struct terminal t = terminal_open(kind, (const char *const[]){ "stakes", "tests/bad/duplicate-key.yaml", NULL });
    (void)terminal_wait(&t);
    assert_non_null(memchr(t.shown, '\033', t.n));
    terminal_release(&t);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_and_demo_jobs_fit_the_page),
        cmocka_unit_test(hard_records_fit_the_page),
        cmocka_unit_test(no_color_is_heeded_by_every_command),
        cmocka_unit_test(without_it_there_is_colour),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
