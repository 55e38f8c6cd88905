#include "cmd.h"

#include "rodbook/earth.h"

enum { SPREAD_ANYWAY, JSON, CSV };

const struct cmd_option cmd_pad_options[3] = {
    [SPREAD_ANYWAY] = { "spread-anyway", NULL, "spread a misclosure that is outside its limit" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: summary, spots, squares, not_read" },
};

static int
show(struct cmd_record *c, const struct cmd_given *given)
{
    struct earth e;
    struct diag d = { 0 };
    int status = EXIT_UNDONE, rc = earth_work(&e, &c->job, &d);
    bool altered = cmd_altered(c);
    diag_sort(&d);
    cmd_say(given->file, &d);
    if (rc == 0 && !d.no_memory && d.errors == 0) {
        rc = given->data ? sheet_pad_data(&e, given->table, stdout) : sheet_pad(&e, cmd_page());
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
    status = cmd_work(&c, given.file, &options) == 0 ? show(&c, &given) : EXIT_UNDONE;
    cmd_release(&c);
    return cmd_finish(status);
}
