/* test_booking_page.c - docs/booking.md shows what the program says, keystroke for keystroke */
#include "../terminal.h"

#include <ctype.h>
#include <limits.h>

/* Without carriage returns, and with every digest as nought: that hangs on the time. */
static void
level_out(char *text)
{
    char *to = text;
    for (const char *from = text; *from; from++)
        if (*from != '\r')
            *to++ = *from;
    *to = '\0';
    for (char *at = text; (at = strstr(at, "to copy on paper")) != NULL;)
        for (at = strchr(at, ':'); *at && *at != '\n'; at++)
            if (isxdigit((unsigned char)*at))
                *at = '0';
}

static void
assert_shown(const char *command, char *shown, const char *page)
{
    char *want = strdup(page);
    level_out(shown);
    level_out(want);
    size_t n = strlen(shown);
    while (n > 0 && shown[n - 1] == '\n')
        shown[--n] = '\0';
    if (strcmp(shown, want) != 0)
        fail_msg("%s shows\n%s\nthe page has\n%s", command, shown, want);
    free(want);
}

/* What was typed stands behind the prompts. */
static char *
typed_at(char *line)
{
    char *prompt = strstr(line, "> ");
    bool starts = prompt == line || strncmp(line, "HI ", 3) == 0 || strncmp(line, "on ", 3) == 0;
    return prompt && starts ? prompt + 2 : NULL;
}

static void
book_as_shown(const char *command, const char *const *argv, const char *page)
{
    struct terminal t = terminal_open((struct terminal_kind){ "xterm", "C.UTF-8", 200 }, argv);
    char *copy = strdup(page), *save = NULL;
    for (char *line = strtok_r(copy, "\n", &save); line; line = strtok_r(NULL, "\n", &save)) {
        char *typed = typed_at(line);
        if (!typed)
            continue;
        terminal_prompt(&t);
        terminal_keys(&t, typed);
        terminal_keys(&t, "\r");
        terminal_expect(&t, typed); /* as it is shown again; what follows is waited for with the next prompt */
        terminal_expect(&t, "\n");
    }
    assert_int_equal(terminal_wait(&t), 0);
    while (terminal_read(&t, 0) && t.n > 0 && !strstr(t.shown, "to copy on paper")) {
    }
    assert_shown(command, t.shown, page);
    free(copy);
    terminal_release(&t);
}

/* One block: a command behind "$ rodbook ", and what it shows. */
static void
try_block(char *block)
{
    const char *argv[16];
    char *page = strchr(block, '\n');
    assert_non_null(page);
    *page++ = '\0';
    char *words = strdup(block + strlen("$ rodbook "));
    ran_words(words, argv, 15);
    if (strcmp(argv[0], "book") == 0) {
        book_as_shown(block, argv, page);
    } else {
        struct ran r = run_program(NULL, argv);
        assert_int_equal(r.status, 0);
        assert_shown(block, r.out, page);
        ran_release(&r);
    }
    free(words);
}

static void
the_page_shows_what_is_said(void **state)
{
    char build[PATH_MAX], here[PATH_MAX], folder[PATH_MAX + 32];
    FILE *f = fopen("docs/booking.md", "r");
    size_t blocks = 0;
    (void)state;
    assert_non_null(f);
    char *page = ran_text(f);
    assert_non_null(realpath(getenv("BUILD") ? getenv("BUILD") : "build/release", build));
    assert_non_null(getcwd(here, sizeof here));
    snprintf(folder, sizeof folder, "%s/page-XXXXXX", build);
    assert_non_null(mkdtemp(folder));
    assert_int_equal(chdir(folder), 0);
    const char *was = getenv("BUILD") ? strdup(getenv("BUILD")) : NULL;
    setenv("BUILD", build, 1);
    for (char *at = page; (at = strstr(at, "\n```\n$ rodbook ")) != NULL; blocks++) {
        char *block = at + 5, *end = strstr(block, "\n```");
        assert_non_null(end);
        *end = '\0';
        try_block(block);
        at = end + 1;
    }
    assert_true(blocks >= 6);
    (void)unlink("store.yaml");
    assert_int_equal(chdir(here), 0);
    (void)rmdir(folder);
    if (was)
        setenv("BUILD", was, 1);
    free((char *)was);
    free(page);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_page_shows_what_is_said),
    };
    return cmocka_run_group_tests_name("the page of booking", tests, NULL, NULL);
}
