#include "cmd.h"

enum { HISTORY };

const struct cmd_option cmd_check_options[1] = {
    [HISTORY] = { "history", NULL, "and show each value that was revised, and each reading that was struck" },
};

/* Of a record that could be read, whatever else is wrong with it. */
static int
show_history(const struct cmd_record *c)
{
    struct history h;
    if (!c->job.r)
        return 0;
    int rc = history_gather(&h, &c->record);
    if (rc == 0)
        rc = sheet_history(&c->job, &h, cmd_page());
    cmd_page_end();
    if (rc == 0)
        putchar('\n');
    else
        cmd_no_memory(c);
    history_release(&h);
    return rc;
}

static int
look_at_holes(struct cmd_record *c, void *into)
{
    (void)into;
    return cmd_look_at_holes(&c->job, &c->diag);
}

/* And rows of posts after setting. */
static int
look_at_more(struct cmd_record *c, void *into)
{
    struct settings s;
    int rc = look_at_holes(c, into);
    if (rc != 0 || c->diag.errors > 0 || c->record.sets == 0)
        return rc;
    rc = setting_work(&s, &c->job, FIT_CONFIDENCE, &c->diag);
    setting_release(&s);
    return rc;
}

/* Stakes are worked out as well where there is a grade, so that its faults are found. */
static int
check_file(const char *file, bool history)
{
    struct cmd_record c;
    struct job_options options = { .stakes = true, .grade_optional = true, .tapes = true };
    int rc = cmd_work_on(&c, file, &options, look_at_more, NULL);
    bool unread = rc != 0 && c.record.entries == 0 && c.diag.errors > 0 && c.diag.item && c.diag.item[0].place.line == 0;
    size_t faults = c.diag.errors + c.diag.warnings;
    if (history && show_history(&c) != 0)
        unread = true;
    const char *entries = c.record.entries == 1 ? "entry" : "entries";
    if (faults == 0 && c.job.spurs > 0)
        printf("%s: %zu %s, no fault; %zu spur%s that nothing closes\n", cmd_file_name(file), c.record.entries, entries,
            c.job.spurs, c.job.spurs == 1 ? "" : "s");
    else if (faults == 0)
        printf("%s: %zu %s, no fault\n", cmd_file_name(file), c.record.entries, entries);
    else
        printf("%s: %zu error%s, %zu warning%s\n", cmd_file_name(file), c.diag.errors, c.diag.errors == 1 ? "" : "s", c.diag.warnings,
            c.diag.warnings == 1 ? "" : "s");
    cmd_release(&c);
    return unread ? EXIT_UNDONE : faults > 0 ? EXIT_NOT_GOOD : EXIT_GOOD;
}

int
cmd_check(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    int status = cmd_parse(cmd, argc, argv, &given), worst = EXIT_GOOD;
    if (status >= 0)
        return status;
    for (int i = 0; i < given.file_count; i++) {
        status = check_file(given.files[i], given.value[HISTORY] != NULL);
        worst = status > worst ? status : worst;
    }
    return cmd_finish(worst);
}
