#include "cmd.h"

#include <string.h>

enum { FORM, SPREAD_ANYWAY, JSON, CSV };

const struct cmd_option cmd_reduce_options[4] = {
    [FORM] = { "form", "FORM", "hi or rise-fall: one form of the book; both when left out" },
    [SPREAD_ANYWAY] = { "spread-anyway", NULL, "spread a misclosure that is outside its limit" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: readings, sections, checks, runs, points" },
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

static int
print(const struct job *job, const struct cmd_given *given)
{
    if (given->data)
        return sheet_data(job, SHEET_DATA_BOOK, given->table, stdout);
    return sheet_book(job, forms_of(given->value[FORM]), cmd_page());
}

int
cmd_reduce(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    if (forms_of(given.value[FORM]) == 0) {
        fputs("rodbook reduce: --form wants hi or rise-fall\n", stderr);
        return EXIT_UNDONE;
    }
    struct job_options options = { .spread_anyway = given.value[SPREAD_ANYWAY] != NULL };
    return cmd_show(&given, &options, false, print);
}
