/* square.c - is what was taped square? */
#include "cmd.h"

#include "rodbook/square.h"

enum { CONFIDENCE, JSON, CSV };

const struct cmd_option cmd_square_options[3] = {
    [CONFIDENCE] = { "confidence", "PERCENT", "how sure good and outside must be; 95 when left out" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: summary, figures, lengths, readings, corners, moves, after, missing, tape_again, not_closing" },
};

static int
work(struct cmd_record *c, const char *file, double confidence, struct square *s)
{
    int rc = cmd_read(c, file);
    if (rc != 0 || c->diag.errors > 0)
        return rc;
    if (c->record.tapeds == 0) {
        diag_say(&c->diag, DIAG_ERROR, (struct diag_place){ 0, 0 }, "no-tape",
            "the record has no taped lengths; add some: tape: {rows: [{from: SW, to: SE, read: %s}]}",
            c->record.job.unit == LENGTH_BARE_M ? "7.2 m" : "24 ft");
        return 0;
    }
    return square_work(s, &c->record, confidence, &c->diag);
}

static int
show(struct cmd_record *c, const struct square *s, const struct cmd_given *given)
{
    bool good = square_is_good(s) && !cmd_altered(c);
    if ((given->data ? sheet_square_data(s, given->table, stdout) : sheet_square(s, cmd_page())) == 0)
        return good ? EXIT_GOOD : EXIT_NOT_GOOD;
    cmd_no_memory(c);
    return EXIT_UNDONE;
}

int
cmd_square(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct square s = { .r = NULL };
    double confidence;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    if (!cmd_read_confidence(cmd, given.value[CONFIDENCE], &confidence))
        return EXIT_UNDONE;
    struct cmd_record c = { .source = { .name = given.file, .fd = -1 } };
    int rc = work(&c, given.file, confidence, &s);
    bool done = cmd_settled(&c, rc);
    status = done ? show(&c, &s, &given) : EXIT_UNDONE;
    square_release(&s);
    cmd_release(&c);
    return cmd_finish(status);
}
