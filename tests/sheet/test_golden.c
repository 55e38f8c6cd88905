/* The demo jobs' sheets, letter by letter. `make golden` prints them anew: read the difference before it is kept. */
#include "program.h"

static const char *const surveys[] = { "fernhill", "mill-lane", "quay-nursery" };
static const char *const commands[] = { "reduce", "close", "adjust", "stakes", "square", "grade", "posts", "concrete", "run" };

static char *
load(const char *name)
{
    FILE *f = fopen(name, "rb");
    if (!f)
        fail_msg("%s is not there; make golden", name);
    return ran_text(f);
}

/* The first line that differs, for the message. */
static void
say_difference(const char *name, const char *got, const char *want)
{
    size_t line = 1, start = 0, i = 0;
    for (; got[i] && got[i] == want[i]; i++)
        if (got[i] == '\n') {
            line++;
            start = i + 1;
        }
    fail_msg("%s line %zu:\n  got  %.*s\n  want %.*s", name, line, (int)strcspn(got + start, "\n"), got + start,
        (int)strcspn(want + start, "\n"), want + start);
}

static void
is_as_it_was(const char *command, const char *survey)
{
    char file[128], golden[128];
    snprintf(file, sizeof file, "surveys/%s.yaml", survey);
    snprintf(golden, sizeof golden, "tests/sheet/golden/%s-%s.txt", survey, command);
    struct ran r = RUN(command, file);
    char *want = load(golden);
    assert_true(r.status == 0 || r.status == 1); /* a demo job need not be good enough: the sheet says what is not */
    assert_string_equal(r.err, "");
    if (strcmp(r.out, want) != 0)
        say_difference(golden, r.out, want);
    free(want);
    ran_release(&r);
}

static void
sheets_are_as_they_were(void **state)
{
    (void)state;
    for (size_t s = 0; s < sizeof surveys / sizeof surveys[0]; s++)
        for (size_t c = 0; c < sizeof commands / sizeof commands[0]; c++)
            is_as_it_was(commands[c], surveys[s]);
    is_as_it_was("site", "fernhill");
    is_as_it_was("pad", "fernhill");
}

/* The same record gives the same bytes. */
static void
twice_is_the_same(void **state)
{
    struct ran a = RUN("stakes", "--json", "surveys/quay-nursery.yaml"), b = RUN("stakes", "--json", "surveys/quay-nursery.yaml");
    (void)state;
    assert_string_equal(a.out, b.out);
    ran_release(&a);
    ran_release(&b);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sheets_are_as_they_were),
        cmocka_unit_test(twice_is_the_same),
    };
    return cmocka_run_group_tests_name("golden", tests, NULL, NULL);
}
