#include "cmd.h"

#include <stdlib.h>
#include <string.h>

enum { GRADE, SETUP, JUDGE, SPREAD_ANYWAY, JSON };

const struct cmd_option cmd_stakes_options[5] = {
    [GRADE] = { "grade", "NAME", "this grade only, for every kind of point" },
    [SETUP] = { "setup", "ENTRY.N", "grade rods as read from set-up N of the run in that entry" },
    [JUDGE] = { "judge", NULL, "exit status 1 unless every mark is on grade" },
    [SPREAD_ANYWAY] = { "spread-anyway", NULL, "spread a misclosure that is outside its limit" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
};

/* "5.2" as entry 5, set-up 2. */
static bool
read_setup(const char *text, struct job_options *options)
{
    const char *dot = strchr(text, '.');
    size_t n = strlen(text);
    bool form = dot && dot != text && dot[1] && strspn(text, "0123456789.") == n && !strchr(dot + 1, '.') && n <= 19;
    if (!form || dot - text > 9 || n - (size_t)(dot - text) > 10)
        return false;
    options->setup_entry = (uint32_t)strtoul(text, NULL, 10);
    options->setup_number = (uint32_t)strtoul(dot + 1, NULL, 10);
    return options->setup_entry > 0 && options->setup_number > 0;
}

static int
print(const struct job *job, const struct cmd_given *given)
{
    return given->value[JSON] ? sheet_json(job, SHEET_JSON_STAKES, stdout) : sheet_stakes(job, stdout);
}

int
cmd_stakes(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    struct job_options options = { .spread_anyway = given.value[SPREAD_ANYWAY] != NULL, .stakes = true,
        .grade = given.value[GRADE] };
    if (given.value[SETUP] && !read_setup(given.value[SETUP], &options)) {
        fputs("rodbook stakes: --setup wants an entry and a set-up of it: --setup 5.2\n", stderr);
        return EXIT_UNDONE;
    }
    return cmd_show(&given, &options, given.value[JUDGE] != NULL, print);
}
