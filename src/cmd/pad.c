#include "cmd.h"

#include "rodbook/earth.h"

enum { SPREAD_ANYWAY, JSON };

const struct cmd_option cmd_pad_options[2] = {
    [SPREAD_ANYWAY] = { "spread-anyway", NULL, "spread a misclosure that is outside its limit" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
};

static int
show(struct cmd_record *c, const char *file, bool json)
{
    struct earth e;
    struct diag d = { 0 };
    int status = EXIT_UNDONE, rc = earth_work(&e, &c->job, &d);
    bool altered = c->record.chain.broken > 0 || c->record.chain.bad_seals > 0;
    diag_sort(&d);
    cmd_say(file, &d);
    if (rc == 0 && !d.no_memory && d.errors == 0) {
        rc = json ? sheet_pad_json(&e, stdout) : sheet_pad(&e, stdout);
        status = rc != 0 ? EXIT_UNDONE : e.good && !altered ? EXIT_GOOD : EXIT_NOT_GOOD;
    }
    if (rc != 0)
        cmd_no_memory(c);
    earth_release(&e);
    diag_release(&d);
    return status;
}

int
cmd_pad(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct cmd_record c;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    struct job_options options = { .spread_anyway = given.value[SPREAD_ANYWAY] != NULL };
    status = cmd_work(&c, given.file, &options) == 0 ? show(&c, given.file, given.value[JSON] != NULL) : EXIT_UNDONE;
    cmd_release(&c);
    return cmd_finish(status);
}
