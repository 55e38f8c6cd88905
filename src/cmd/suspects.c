#include "cmd.h"

enum { JSON, CSV };

const struct cmd_option cmd_suspects_options[2] = {
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: summary, faults, loops, suspects, shoot_again" },
};

/* The exit status. */
static int
show(const struct cmd_given *given, const struct cmd_record *c)
{
    struct suspects s;
    struct diag d = { 0 };
    int status = EXIT_UNDONE, rc = suspects_open(&s, &c->job, &d);
    cmd_say(given->file, &d);
    if (rc == 0 && d.errors == 0) {
        bool altered = cmd_altered(c);
        rc = given->data ? sheet_suspects_data(&s, given->table, stdout) : sheet_suspects(&s, cmd_page());
        status = altered || s.faults > 0 || c->job.outside ? EXIT_NOT_GOOD : EXIT_GOOD;
    }
    if (rc != 0) {
        cmd_no_memory(c);
        status = EXIT_UNDONE;
    }
    suspects_release(&s);
    diag_release(&d);
    return status;
}

int
cmd_suspects(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct cmd_record c;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    status = cmd_work(&c, given.file, &(struct job_options){ 0 }) == 0 ? show(&given, &c) : EXIT_UNDONE;
    cmd_release(&c);
    return cmd_finish(status);
}
