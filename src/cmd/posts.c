#include "cmd.h"

enum { GRADE, SETUP, CONFIDENCE, SPREAD_ANYWAY, JSON, CSV };

const struct cmd_option cmd_posts_options[6] = {
    [GRADE] = { "grade", "NAME", "the grade that the marks on the posts are at; else the one that serves posts" },
    [SETUP] = { "setup", "ENTRY.N", "rods as read from set-up N of the run in that entry" },
    [CONFIDENCE] = { "confidence", "PERCENT", "how sure deep enough must be; 95 when left out" },
    [SPREAD_ANYWAY] = { "spread-anyway", NULL, "spread a misclosure that is outside its limit" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: summary, posts" },
};

void
cmd_no_posts(struct cmd_record *c)
{
    diag_say(&c->diag, DIAG_ERROR, (struct diag_place){ 0, 0 }, "no-posts",
        "the record has no post; give rows of them in site, or each in points: A1: {x: 0, y: 0, kind: post}");
}

struct asked {
    struct posts_options options;
    struct posts posts;
};

static int
work(struct cmd_record *c, void *into)
{
    struct asked *a = into;
    int rc = posts_work(&a->posts, &c->job, &a->options, &c->diag);
    if (rc == 0 && c->diag.errors == 0 && a->posts.n == 0)
        cmd_no_posts(c);
    return rc;
}

static int
show(struct cmd_record *c, const struct posts *posts, const struct cmd_given *given)
{
    bool altered = cmd_altered(c);
    if ((given->data ? sheet_posts_data(posts, given->table, stdout) : sheet_posts(posts, cmd_page())) == 0)
        return posts->good && !altered ? EXIT_GOOD : EXIT_NOT_GOOD;
    cmd_no_memory(c);
    return EXIT_UNDONE;
}

int
cmd_posts(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct cmd_record c;
    struct asked a = { .posts = { .job = NULL } };
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    a.options.grade = given.value[GRADE];
    const struct job_options options = { .spread_anyway = given.value[SPREAD_ANYWAY] != NULL, .stakes = true, .grade_optional = true };
    if (given.value[SETUP] && !cmd_read_row(given.value[SETUP], &a.options.setup_entry, &a.options.setup_number)) {
        fputs("rodbook posts: --setup wants an entry and a set-up of it: --setup 5.2\n", stderr);
        return EXIT_UNDONE;
    }
    if (!cmd_read_confidence(cmd, given.value[CONFIDENCE], &a.options.confidence))
        return EXIT_UNDONE;
    bool done = cmd_work_on(&c, given.file, &options, work, &a) == 0;
    status = done ? show(&c, &a.posts, &given) : EXIT_UNDONE;
    posts_release(&a.posts);
    cmd_release(&c);
    return cmd_finish(status);
}
