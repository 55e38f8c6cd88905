#include "cmd.h"

#include <string.h>

enum { FORM, SPREAD_ANYWAY, JSON };

const struct cmd_option cmd_reduce_options[3] = {
    [FORM] = { "form", "FORM", "hi or rise-fall: one form of the book; both when left out" },
    [SPREAD_ANYWAY] = { "spread-anyway", NULL, "spread a misclosure that is outside its limit" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
};

static unsigned
forms_of(const char *form)
{
    if (!form)
        return SHEET_HI | SHEET_RISE_FALL;
    if (strcmp(form, "hi") == 0)
        return SHEET_HI;
    return strcmp(form, "rise-fall") == 0 ? SHEET_RISE_FALL : 0;
}

int
cmd_reduce(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct cmd_record c;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    unsigned forms = forms_of(given.value[FORM]);
    if (forms == 0) {
        fputs("rodbook reduce: --form wants hi or rise-fall\n", stderr);
        return EXIT_UNDONE;
    }
    struct job_options options = { .spread_anyway = given.value[SPREAD_ANYWAY] != NULL };
    status = EXIT_UNDONE;
    if (cmd_work(&c, given.file, &options) == 0) {
        int rc = given.value[JSON] ? sheet_json(&c.job, SHEET_JSON_BOOK, stdout) : sheet_book(&c.job, forms, stdout);
        if (rc != 0)
            cmd_no_memory(&c);
        else
            status = c.job.outside ? EXIT_NOT_GOOD : EXIT_GOOD;
    }
    cmd_release(&c);
    return cmd_finish(status);
}
