#include "cmd.h"

enum { JSON, CSV };

const struct cmd_option cmd_site_options[2] = {
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: summary, lines, battens, strings, marks, rows, doors, points" },
};

/* Levels are no matter of it: a record that cannot be worked out yet can be set out. */
static int
work(struct cmd_record *c, const char *file, struct building *b)
{
    int rc = cmd_read(c, file);
    if (rc != 0 || c->diag.errors > 0)
        return rc;
    if (c->record.sites == 0)
        diag_say(&c->diag, DIAG_ERROR, (struct diag_place){ 0, 0 }, "no-site",
            "the record has no building to set out; add one: site: {length: %s}", c->record.job.unit == LENGTH_BARE_M
                ? "7.2 m, width: 3.6 m, post: 140 mm" : "24 ft, width: 12 ft, post: 5-1/2 in");
    return c->diag.errors > 0 ? 0 : building_work(b, &c->record);
}

static int
show(struct cmd_record *c, const struct building *b, const struct cmd_given *given)
{
    bool good = !cmd_altered(c) && b->near == 0;
    if ((given->data ? sheet_site_data(b, given->table, stdout) : sheet_site(b, cmd_page())) == 0)
        return good ? EXIT_GOOD : EXIT_NOT_GOOD;
    cmd_no_memory(c);
    return EXIT_UNDONE;
}

int
cmd_site(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct building b = { .r = NULL };
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    struct cmd_record c = { .source = { .name = given.file, .fd = -1 } };
    int rc = work(&c, given.file, &b);
    bool done = cmd_settled(&c, rc);
    status = done ? show(&c, &b, &given) : EXIT_UNDONE;
    building_release(&b);
    cmd_release(&c);
    return cmd_finish(status);
}
