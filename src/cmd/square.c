/* square.c - is what was taped square? */
#include "cmd.h"

#include "rodbook/square.h"

enum { CONFIDENCE, JSON };

const struct cmd_option cmd_square_options[2] = {
    [CONFIDENCE] = { "confidence", "PERCENT", "how sure good and outside must be; 95 when left out" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
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
show(struct cmd_record *c, const struct square *s, bool json)
{
    bool good = square_is_good(s) && c->record.chain.broken == 0 && c->record.chain.bad_seals == 0;
    if ((json ? sheet_square_json(s, stdout) : sheet_square(s, stdout)) == 0)
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
    diag_sort(&c.diag);
    cmd_complain(&c);
    if (rc != 0 || c.diag.no_memory)
        cmd_no_memory(&c);
    bool done = rc == 0 && !c.diag.no_memory && c.diag.errors == 0;
    status = done ? show(&c, &s, given.value[JSON] != NULL) : EXIT_UNDONE;
    square_release(&s);
    cmd_release(&c);
    return cmd_finish(status);
}
