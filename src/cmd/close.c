#include "cmd.h"

enum { SPREAD_ANYWAY, JSON };

const struct cmd_option cmd_close_options[2] = {
    [SPREAD_ANYWAY] = { "spread-anyway", NULL, "spread a misclosure that is outside its limit" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
};

int
cmd_close(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct cmd_record c;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    struct job_options options = { .spread_anyway = given.value[SPREAD_ANYWAY] != NULL };
    status = EXIT_UNDONE;
    if (cmd_work(&c, given.file, &options) == 0) {
        int rc = given.value[JSON] ? sheet_json(&c.job, 0, stdout) : sheet_close(&c.job, stdout);
        if (rc != 0)
            cmd_no_memory(&c);
        else
            status = c.job.outside ? EXIT_NOT_GOOD : EXIT_GOOD;
    }
    cmd_release(&c);
    return cmd_finish(status);
}
