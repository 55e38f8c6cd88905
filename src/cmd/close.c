#include "cmd.h"

enum { SPREAD_ANYWAY, JSON, CSV };

const struct cmd_option cmd_close_options[3] = {
    [SPREAD_ANYWAY] = { "spread-anyway", NULL, "spread a misclosure that is outside its limit" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: runs, points" },
};

static int
print(const struct job *job, const struct cmd_given *given)
{
    return given->data ? sheet_data(job, 0, given->table, stdout) : sheet_close(job, cmd_page());
}

int
cmd_close(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    struct job_options options = { .spread_anyway = given.value[SPREAD_ANYWAY] != NULL };
    return cmd_show(&given, &options, false, print);
}
