/* test_building_page.c - docs/building.md shows what the program says of the demo job, and what stands in its record */
#include "../program.h"

#include <limits.h>

struct page_text {
    char *page, *record; /* each begins with a line feed, so that a line is found from end to end */
    char here[PATH_MAX], folder[PATH_MAX + 32];
    char *build; /* as it was; NULL where it was not said */
};

static char *
read_all(const char *path)
{
    FILE *f = fopen(path, "r");
    if (!f)
        fail_msg("%s cannot be opened", path);
    char *text = ran_text(f), *whole = malloc(strlen(text) + 2);
    assert_non_null(whole);
    whole[0] = '\n';
    strcpy(whole + 1, text);
    free(text);
    return whole;
}

/* Entries 1 to `last` of the record, as entry-LAST.yaml in the folder of now. */
static void
write_cut(const char *record, unsigned last)
{
    char name[32];
    unsigned entries = 0;
    const char *end = record;
    while ((end = strstr(end, "\n---\n")) != NULL && ++entries <= last)
        end++;
    assert_true(entries >= last);
    snprintf(name, sizeof name, "entry-%u.yaml", last);
    FILE *f = fopen(name, "w");
    assert_non_null(f);
    fwrite(record + 1, 1, end ? (size_t)(end - record) : strlen(record + 1), f);
    assert_int_equal(fclose(f), 0);
}

/*
 * Every line of `shown` in `text`, whole, in order, and with nothing between
 * but where a line `gap` stands. `bound`: from the first line to the last.
 */
static void
assert_stands(const char *what, const char *text, const char *shown, const char *gap, bool bound)
{
    const char *at = text; /* the line feed before what comes next */
    bool loose = !bound, last = false;
    char *part = calloc(strlen(shown) + 3, 1);
    assert_non_null(part);
    strcpy(part, "\n");
    for (const char *line = shown; !last;) {
        size_t n = strcspn(line, "\n");
        bool is_gap = n == strlen(gap) && strncmp(line, gap, n) == 0;
        last = line[n] == '\0';
        if (!is_gap)
            strcat(strncat(part, line, n), "\n");
        if ((is_gap || last) && part[1] != '\0') {
            const char *found = strstr(at, part);
            if (!found || (!loose && found != at))
                fail_msg("%s: this does not stand there, or not at this place:%s", what, part);
            at = found + strlen(part) - 1;
            loose = false;
            strcpy(part, "\n");
        }
        loose |= is_gap;
        line += n + !last;
    }
    if (bound && !loose && at[1] != '\0')
        fail_msg("%s: the page ends, and the output goes on:%s", what, at);
    free(part);
}

/* One command, and what is shown below it. */
static void
try_command(const char *record, char *command, const char *shown)
{
    const char *argv[16];
    unsigned last;
    char *words = strdup(command);
    ran_words(words, argv, 15);
    for (size_t i = 0; argv[i]; i++)
        if (sscanf(argv[i], "entry-%u.yaml", &last) == 1)
            write_cut(record, last);
    struct ran r = run_program(NULL, argv);
    if (r.status != 0 && r.status != 1)
        fail_msg("%s: status %d\n%s", command, r.status, r.err);
    assert_string_equal(r.err, "");
    char *out = malloc(strlen(r.out) + 2);
    assert_non_null(out);
    snprintf(out, strlen(r.out) + 2, "\n%s", r.out);
    assert_stands(command, out, shown, "...", true);
    free(out);
    ran_release(&r);
    free(words);
}

/* A block may have several commands. */
static size_t
try_block(const char *record, char *block)
{
    size_t commands = 0;
    static const char prompt[] = "$ rodbook ";
    for (char *at = block; at; commands++) {
        char *command = at + strlen(prompt), *shown = strchr(command, '\n');
        if (!shown)
            fail_msg("nothing is shown below %s", command);
        *shown++ = '\0';
        char *next = strstr(shown, "\n$ rodbook ");
        if (next)
            *next++ = '\0';
        try_command(record, command, shown);
        at = next;
    }
    return commands;
}

static int
open_page(void **state)
{
    static struct page_text t;
    t.page = read_all("docs/building.md");
    t.record = read_all("surveys/fernhill.yaml");
    *state = &t;
    return 0;
}

static int
close_page(void **state)
{
    struct page_text *t = *state;
    free(t->page);
    free(t->record);
    return 0;
}

/* Into a folder of its own, with the record there. */
static void
enter_folder(struct page_text *t)
{
    char build[PATH_MAX];
    const char *was = getenv("BUILD");
    assert_non_null(realpath(was ? was : "build/release", build));
    assert_non_null(getcwd(t->here, sizeof t->here));
    snprintf(t->folder, sizeof t->folder, "%s/page-XXXXXX", build);
    assert_non_null(mkdtemp(t->folder));
    assert_int_equal(chdir(t->folder), 0);
    t->build = was ? strdup(was) : NULL;
    setenv("BUILD", build, 1);
    FILE *f = fopen("fernhill.yaml", "w");
    assert_non_null(f);
    fputs(t->record + 1, f);
    assert_int_equal(fclose(f), 0);
}

static void
leave_folder(struct page_text *t)
{
    char name[32];
    (void)unlink("fernhill.yaml");
    for (unsigned n = 1; n < 100; n++) {
        snprintf(name, sizeof name, "entry-%u.yaml", n);
        (void)unlink(name);
    }
    assert_int_equal(chdir(t->here), 0);
    assert_int_equal(rmdir(t->folder), 0);
    if (t->build)
        setenv("BUILD", t->build, 1);
    else
        unsetenv("BUILD");
    free(t->build);
}

static void
the_page_shows_what_is_said(void **state)
{
    struct page_text *t = *state;
    size_t commands = 0;
    char *page = strdup(t->page);
    enter_folder(t);
    for (char *at = page; (at = strstr(at, "\n```\n$ rodbook ")) != NULL;) {
        char *block = at + 5, *end = strstr(block, "\n```");
        assert_non_null(end);
        *end = '\0';
        commands += try_block(t->record, block);
        at = end + 1;
    }
    assert_true(commands >= 12);
    leave_folder(t);
    free(page);
}

static void
the_page_shows_what_is_written(void **state)
{
    struct page_text *t = *state;
    size_t blocks = 0;
    char *page = strdup(t->page);
    for (char *at = page; (at = strstr(at, "\n```yaml\n")) != NULL; blocks++) {
        char *block = at + strlen("\n```yaml\n"), *end = strstr(block, "\n```");
        assert_non_null(end);
        *end = '\0';
        /* an entry of the page may follow another that it does not follow in the record */
        for (char *entry = block, *next; entry; entry = next) {
            next = strstr(entry, "\n---\n");
            if (next) {
                *next = '\0';
                next += strlen("\n---\n");
            }
            assert_stands("docs/building.md", t->record, entry, "# ...", false);
        }
        at = end + 1;
    }
    assert_true(blocks >= 8);
    free(page);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_page_shows_what_is_said),
        cmocka_unit_test(the_page_shows_what_is_written),
    };
    return cmocka_run_group_tests_name("the page of building", tests, open_page, close_page);
}
