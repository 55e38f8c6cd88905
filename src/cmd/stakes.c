#include "cmd.h"

enum { GRADE, SETUP, CONFIDENCE, JUDGE, SPREAD_ANYWAY, JSON, CSV };

const struct cmd_option cmd_stakes_options[7] = {
    [GRADE] = { "grade", "NAME", "this grade only, for every kind of point" },
    [SETUP] = { "setup", "ENTRY.N", "grade rods as read from set-up N of the run in that entry" },
    [CONFIDENCE] = { "confidence", "PERCENT", "how sure move and leave must be, from 50 to 99.99; 95 when left out" },
    [JUDGE] = { "judge", NULL, "exit status 1 unless every mark is surely to be left" },
    [SPREAD_ANYWAY] = { "spread-anyway", NULL, "spread a misclosure that is outside its limit" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: stakes, runs, points, advice" },
};

static int
print(const struct job *job, const struct cmd_given *given)
{
    return given->data ? sheet_data(job, SHEET_DATA_STAKES, given->table, stdout) : sheet_stakes(job, cmd_page());
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
    if (given.value[SETUP] && !cmd_read_row(given.value[SETUP], &options.setup_entry, &options.setup_number)) {
        fputs("rodbook stakes: --setup wants an entry and a set-up of it: --setup 5.2\n", stderr);
        return EXIT_UNDONE;
    }
    if (!cmd_read_confidence(cmd, given.value[CONFIDENCE], &options.confidence))
        return EXIT_UNDONE;
    return cmd_show(&given, &options, given.value[JUDGE] != NULL, print);
}
