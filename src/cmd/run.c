#include "cmd.h"

enum { GRADE, CONFIDENCE, JSON, CSV };

const struct cmd_option cmd_run_options[4] = {
    [GRADE] = { "grade", "NAME", "the grade that heights are held against; else the one that serves posts" },
    [CONFIDENCE] = { "confidence", "PERCENT", "how sure a verdict and a rogue are to be; 95 when left out" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: rows, posts" },
};

/* Works the rows out and prints them; the exit status. */
static int
show(struct cmd_record *c, const struct cmd_given *given, double confidence)
{
    struct settings s;
    struct diag d = { 0 };
    int status = EXIT_UNDONE;
    int rc = setting_work(&s, &c->job, confidence, &d);
    diag_sort(&d);
    cmd_say(given->file, &d);
    if (rc == 0 && d.errors == 0) {
        bool altered = cmd_altered(c);
        rc = given->data ? sheet_run_data(&s, given->table, stdout) : sheet_run(&s, cmd_page());
        status = rc == 0 ? (s.good && !altered && !c->job.outside && !c->job.gaps ? EXIT_GOOD : EXIT_NOT_GOOD) : EXIT_UNDONE;
    }
    if (rc != 0)
        cmd_no_memory(c);
    setting_release(&s);
    diag_release(&d);
    return status;
}

int
cmd_run(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct cmd_record c;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    struct job_options options = { .stakes = true, .grade_optional = true, .grade = given.value[GRADE] };
    if (!cmd_read_confidence(cmd, given.value[CONFIDENCE], &options.confidence))
        return EXIT_UNDONE;
    status = cmd_work(&c, given.file, &options) == 0 ? show(&c, &given, options.confidence) : EXIT_UNDONE;
    cmd_release(&c);
    return cmd_finish(status);
}
