#include "cmd.h"

#include <stdlib.h>

enum { CONFIDENCE, JSON, CSV };

const struct cmd_option cmd_plan_options[3] = {
    [CONFIDENCE] = { "confidence", "PERCENT", "how sure move and leave are to be, from 50 to 99.99; 95 when left out" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: plans, runs, points, stakes, advice" },
};

struct plans {
    struct plan *plan;
    size_t n;
};

static int
work(struct cmd_record *c, const char *file, double confidence, struct plans *plans)
{
    int rc = cmd_read(c, file);
    if (rc != 0 || c->diag.errors > 0)
        return rc;
    if (c->record.plans == 0)
        diag_say(&c->diag, DIAG_ERROR, (struct diag_place){ 0, 0 }, "no-plan",
            "the record has no plan; add one: plan: {setups: [{from: BM1, batten: [SW1, SW2], to: BM1}]}");
    plans->plan = calloc(c->record.plans + 1, sizeof *plans->plan);
    rc = plans->plan ? 0 : -1;
    for (size_t i = 0; rc == 0 && i < c->record.plans && c->diag.errors == 0; i++)
        rc = plan_work(&plans->plan[plans->n++], &c->record, i, confidence, &c->diag);
    return rc;
}

static int
show(struct cmd_record *c, const struct plans *plans, const struct cmd_given *given)
{
    bool enough = !cmd_altered(c);
    int rc = given->data ? sheet_plans_data(&c->record, plans->plan, plans->n, given->table, stdout)
                  : sheet_plans(&c->record, plans->plan, plans->n, cmd_page());
    for (size_t i = 0; i < plans->n; i++)
        enough &= plans->plan[i].enough;
    if (rc == 0)
        return enough ? EXIT_GOOD : EXIT_NOT_GOOD;
    cmd_no_memory(c);
    return EXIT_UNDONE;
}

int
cmd_plan(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct plans plans = { NULL, 0 };
    double confidence;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    if (!cmd_read_confidence(cmd, given.value[CONFIDENCE], &confidence))
        return EXIT_UNDONE;
    struct cmd_record c = { .source = { .name = given.file, .fd = -1 } };
    int rc = work(&c, given.file, confidence, &plans);
    bool done = cmd_settled(&c, rc);
    status = done ? show(&c, &plans, &given) : EXIT_UNDONE;
    for (size_t i = 0; i < plans.n; i++)
        plan_release(&plans.plan[i]);
    free(plans.plan);
    cmd_release(&c);
    return cmd_finish(status);
}
