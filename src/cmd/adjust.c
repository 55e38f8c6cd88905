#include "cmd.h"

enum { CONFIDENCE, JSON, CSV };

const struct cmd_option cmd_adjust_options[3] = {
    [CONFIDENCE] = { "confidence", "PERCENT", "of the tests, from 50 to 99.99; 95 when left out" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: fit, points, setups, observations, loops, pieces" },
};

/* The exit status; complaints of the adjustment are left in c->diag. */
static int
print(struct cmd_record *c, const struct cmd_given *given, double confidence)
{
    struct adjust a;
    struct fit f = { 0 };
    int status = EXIT_UNDONE, rc = adjust_open(&a, &c->job, &c->diag);
    if (rc == 0 && c->diag.errors == 0 && (rc = fit_open(&f, &a, confidence)) == 0) {
        bool altered = cmd_altered(c);
        bool good = !altered && !c->job.outside && f.loops_outside == 0 && f.verdict != FIT_WORSE && f.beyond == 0;
        rc = given->data ? sheet_adjust_data(&f, given->table, stdout) : sheet_adjust(&f, cmd_page());
        status = rc != 0 ? EXIT_UNDONE : good ? EXIT_GOOD : EXIT_NOT_GOOD;
    }
    fit_release(&f);
    adjust_release(&a);
    if (rc != 0 || c->diag.no_memory)
        cmd_no_memory(c);
    return status;
}

int
cmd_adjust(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct cmd_record c;
    double confidence;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    if (!cmd_read_confidence(cmd, given.value[CONFIDENCE], &confidence))
        return EXIT_UNDONE;
    struct job_options options = { .to_adjust = true };
    status = EXIT_UNDONE;
    if (cmd_work(&c, given.file, &options) == 0) {
        diag_release(&c.diag); /* told */
        c.diag = (struct diag){ 0 };
        status = print(&c, &given, confidence);
        cmd_complain(&c);
    }
    cmd_release(&c);
    return cmd_finish(status);
}
