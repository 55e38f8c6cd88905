#include "cmd.h"

enum { SPREAD_ANYWAY, JSON, CSV };

const struct cmd_option cmd_concrete_options[3] = {
    [SPREAD_ANYWAY] = { "spread-anyway", NULL, "spread a misclosure that is outside its limit" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: summary, holes" },
};

static int
show(struct cmd_record *c, const struct order *order, const struct cmd_given *given)
{
    bool altered = cmd_altered(c);
    if ((given->data ? sheet_concrete_data(order, given->table, stdout) : sheet_concrete(order, cmd_page())) == 0)
        return order->good && !altered ? EXIT_GOOD : EXIT_NOT_GOOD;
    cmd_no_memory(c);
    return EXIT_UNDONE;
}

struct asked {
    struct posts posts;
    struct order order;
};

/* Only depths are asked for: which grade the marks are at does not matter, nor how sure a hole is. */
static int
work(struct cmd_record *c, void *into)
{
    struct asked *a = into;
    const struct posts_options options = { .any_grade = true };
    int rc = posts_work(&a->posts, &c->job, &options, &c->diag);
    if (rc == 0 && c->diag.errors == 0 && a->posts.n == 0)
        cmd_no_posts(c);
    if (rc == 0 && c->diag.errors == 0)
        rc = order_work(&a->order, &a->posts, &c->diag);
    return rc;
}

int
cmd_concrete(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct cmd_record c;
    struct asked a = { .posts = { .job = NULL }, .order = { .posts = NULL } };
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    const struct job_options options = { .spread_anyway = given.value[SPREAD_ANYWAY] != NULL, .stakes = true, .grade_optional = true };
    bool done = cmd_work_on(&c, given.file, &options, work, &a) == 0;
    status = done ? show(&c, &a.order, &given) : EXIT_UNDONE;
    order_release(&a.order);
    posts_release(&a.posts);
    cmd_release(&c);
    return cmd_finish(status);
}
