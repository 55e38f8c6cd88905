#include "cmd.h"

#include "rodbook/write.h"

#include <inttypes.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

enum { CLEAR, UNDER, SLOPE_MOST, FALL, DEPTH, POST_LENGTH, TOP, CONFIDENCE, TAKE, NAME, MEANS, FOR, TOLERANCE, BY, REASON, JSON, CSV };

const struct cmd_option cmd_grade_options[17] = {
    [CLEAR] = { "clear", "LENGTH", "string above the ground, of 1; 6 in or 150 mm when left out" },
    [UNDER] = { "under", "LENGTH", "earth below grade: stone, slab; 0 when left out" },
    [SLOPE_MOST] = { "slope-most", "SLOPE", "steepest of 3 and 4: \"1 in 100\" when left out; 0 is level" },
    [FALL] = { "fall", "SLOPE", "ground away from the building: \"6 in per 10 ft\" when left out" },
    [DEPTH] = { "depth", "LENGTH", "of post holes; as the holes entry says when left out" },
    [POST_LENGTH] = { "post-length", "LENGTH", "of posts as bought; as the holes entry says when left out" },
    [TOP] = { "top", "LENGTH", "of posts above grade; 0 when left out and not said" },
    [CONFIDENCE] = { "confidence", "PERCENT", "how sure 1 must clear and 5 must reach; 95 when left out" },
    [TAKE] = { "take", "N", "book number N as a grade; wants --name" },
    [NAME] = { "name", "NAME", "of the grade; one that is there already is revised" },
    [MEANS] = { "means", "finish|subgrade", "what it is; finish when left out" },
    [FOR] = { "for", "KINDS", "which it serves, as batten,post; all when left out" },
    [TOLERANCE] = { "tolerance", "LENGTH", "closer than this is left alone; half of least when left out" },
    [BY] = { "by", "INITIALS", "of whoever takes it" },
    [REASON] = { "reason", "TEXT", "why, beside what is booked with it anyway" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: summary, ground, shots, candidates" },
};

/* What was asked for; lengths can be read only once the job's unit is known. */
struct wanted {
    const struct cmd_given *given;
    double confidence;
    struct site_ratio most, fall; /* run 0: not given */
    unsigned number;              /* 0: none is taken */
    uint32_t serves;              /* 0: all */
};

static int
usage(const char *what)
{
    fprintf(stderr, "rodbook grade: %s\n", what);
    return -1;
}

/* ---- options that need no unit ---- */

static bool
read_slope(const char *text, struct site_ratio *slope)
{
    *slope = (struct site_ratio){ 0, text ? 1 : 0 };
    return !text || strcmp(text, "0") == 0 || record_read_slope(text, strlen(text), &slope->rise, &slope->run);
}

static bool
read_kinds(const char *text, uint32_t *serves)
{
    *serves = 0;
    while (text && *text) {
        size_t n = strcspn(text, ", ");
        enum record_point_kind kind = record_kind_of(text, n);
        if (kind == RECORD_POINT_KINDS)
            return false;
        *serves |= UINT32_C(1) << kind;
        text += n + strspn(text + n, ", ");
    }
    return true;
}

static int
read_take(const struct cmd_given *given, struct wanted *w)
{
    const char *n = given->value[TAKE], *means = given->value[MEANS];
    if (!n) {
        for (int i = NAME; i <= REASON; i++)
            if (given->value[i])
                return usage("--name, --means, --for, --tolerance, --by and --reason go with --take N");
        return 0;
    }
    if (strlen(n) != 1 || n[0] < '1' || n[0] > '0' + GRADES_KINDS)
        return usage("--take wants a number from the list, 1 to 5");
    if (given->data)
        return usage("--take books a grade and prints no results; run it without --json and --csv");
    w->number = (unsigned)(n[0] - '0');
    if (!given->value[NAME] || cmd_text_fault(given->value[NAME], WRITE_NAME - 1))
        return usage("--take wants the grade's name too, as --name string");
    if (means && strcmp(means, "finish") != 0 && strcmp(means, "subgrade") != 0)
        return usage("--means wants finish or subgrade");
    if (given->value[FOR] && (!read_kinds(given->value[FOR], &w->serves) || w->serves == 0))
        return usage("--for wants kinds of points, batten, post, corner, ground or footing, as --for batten,post");
    if (given->value[BY] && cmd_text_fault(given->value[BY], WRITE_NAME - 1))
        return usage("--by wants initials, as --by RO");
    if (given->value[REASON] && cmd_text_fault(given->value[REASON], WRITE_NOTE / 2))
        return usage("--reason wants a plain text, as --reason \"door sill of the old shed\"");
    return 0;
}

static int
read_wanted(const struct cmd *cmd, const struct cmd_given *given, struct wanted *w)
{
    *w = (struct wanted){ .given = given };
    if (!cmd_read_confidence(cmd, given->value[CONFIDENCE], &w->confidence))
        return -1;
    if (!read_slope(given->value[SLOPE_MOST], &w->most))
        return usage("--slope-most wants a slope, as \"1 in 100\", \"2 %\" or \"1/8 in per ft\"; 0 is level");
    if (!read_slope(given->value[FALL], &w->fall))
        return usage("--fall wants a slope, as \"6 in per 10 ft\", \"1 in 48\" or \"5 %\"");
    return read_take(given, w);
}

/* ---- options in the job's unit ---- */

/* A length of 0 or more, or above 0; false: said. */
static bool
read_length(const struct wanted *w, int which, enum length_unit unit, length least, length *value)
{
    const char *text = w->given->value[which];
    length read = 0;
    if (!text)
        return true;
    enum length_status status = length_read(text, strlen(text), unit, &read);
    if (status == LENGTH_OK && read >= least) {
        *value = read;
        return true;
    }
    fprintf(stderr, "rodbook grade: --%s: %s\n", cmd_grade_options[which].name,
        status != LENGTH_OK ? length_advice(status, unit) : least > 0 ? "it must be above 0" : "it must be 0 or more");
    return false;
}

static bool
read_options(const struct wanted *w, enum length_unit unit, struct grades_options *o)
{
    length tolerance = 0;
    *o = grades_usual(unit);
    o->confidence = w->confidence;
    if (w->most.run > 0)
        o->most = w->most;
    if (w->fall.run > 0)
        o->fall = w->fall;
    return read_length(w, CLEAR, unit, 0, &o->clear) && read_length(w, UNDER, unit, 0, &o->under)
        && read_length(w, DEPTH, unit, 1, &o->depth) && read_length(w, POST_LENGTH, unit, 1, &o->post_length)
        && read_length(w, TOP, unit, 0, &o->height) && read_length(w, TOLERANCE, unit, 1, &tolerance);
}

/* ---- to look at ---- */

/* False where a fault keeps it from its result: said. Either way: grades_release(). */
static bool
work(struct cmd_record *c, const struct wanted *w, struct grades *g)
{
    struct grades_options options;
    size_t before = c->diag.n;
    if (!read_options(w, c->record.job.unit, &options))
        return false;
    int rc = grades_work(g, &c->job, &options, &c->diag);
    struct diag news = { .item = c->diag.item + before, .n = c->diag.n - before, .no_memory = rc != 0 };
    cmd_say(w->given->file, &news);
    return rc == 0 && c->diag.errors == 0;
}

static int
show(const struct wanted *w)
{
    struct cmd_record c;
    struct grades g = { .shot = NULL };
    int status = EXIT_UNDONE;
    if (cmd_work(&c, w->given->file, &(struct job_options){ 0 }) == 0 && work(&c, w, &g)) {
        bool good = !cmd_altered(&c) && !c.job.outside;
        if ((w->given->data ? sheet_grades_data(&g, w->given->table, stdout) : sheet_grades(&g, cmd_page())) == 0)
            status = good ? EXIT_GOOD : EXIT_NOT_GOOD;
        else
            cmd_no_memory(&c);
    }
    grades_release(&g);
    cmd_release(&c);
    return cmd_finish(status);
}

/* ---- to take one ---- */

/* The entry of a candidate; NULL without memory. */
static char *
grade_text(const struct wanted *w, const struct grades *g, size_t *n)
{
    const struct grades_candidate *c = &g->candidate[w->number - 1];
    char reason[WRITE_NOTE * 2], note[WRITE_NOTE * 4];
    char *text = NULL;
    FILE *out = open_memstream(&text, n);
    if (!out)
        return NULL;
    sheet_grade_reason(reason, sizeof reason, g, (enum grades_kind)(w->number - 1));
    snprintf(note, sizeof note, "%s%s%s", w->given->value[REASON] ? w->given->value[REASON] : "", w->given->value[REASON] ? "; " : "", reason);
    const struct write_grade entry = { .name = w->given->value[NAME], .subgrade = w->given->value[MEANS] && w->given->value[MEANS][0] == 's',
        .serves = w->serves, .level = c->level, .rise = c->slope.rise, .run = c->slope.run, .across = w->number - 1 == GRADES_WIDTH,
        .tolerance = w->given->value[TOLERANCE], .note = note };
    write_grade(out, &entry, g->job->r->job.unit);
    write_envelope(out, w->given->value[BY]);
    if (fclose(out) == 0)
        return text;
    free(text);
    return NULL;
}

/* What the candidate is of is what stands in the record at this moment: nobody may add to it in between. */
static int
append(struct append *a, const char *text, size_t n, struct diag *d)
{
    if (append_begin(a, d) != 0)
        return -1;
    int rc = -1;
    if (a->others > 0)
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "others",
            "someone else has just added to the record; nothing was written; look at the grades again");
    else if (cmd_try(a, text, n, d) == 0)
        rc = append_entry(a, text, n, NULL, d);
    append_end(a);
    return rc;
}

/* The candidate as text; NULL: said in `d`, or on standard error where it is one of the options. */
static char *
chosen(const struct wanted *w, struct record *r, struct job *job, struct grades *g, size_t *n, struct diag *d)
{
    struct grades_options options;
    if (d->errors > 0 || !read_options(w, r->job.unit, &options))
        return NULL;
    if (job_building(r, d) != 0 || job_work(job, r, &(struct job_options){ 0 }, d) != 0 || (d->errors == 0 && grades_work(g, job, &options, d) != 0)) {
        d->no_memory = true;
        return NULL;
    }
    if (d->errors > 0)
        return NULL;
    const struct grades_candidate *c = &g->candidate[w->number - 1];
    if (c->lack != GRADES_THERE) {
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "no-candidate", "there is no grade number %u to take: %s", w->number,
            sheet_grade_lack(c->lack));
        return NULL;
    }
    char *text = grade_text(w, g, n);
    d->no_memory |= text == NULL;
    return text;
}

static void
print_taken(const struct wanted *w, const struct grades *g, const struct append *a)
{
    const struct grades_candidate *c = &g->candidate[w->number - 1];
    const struct record *r = g->job->r;
    char level[LENGTH_TEXT], digest[DIGEST_SHORT_TEXT];
    length_print(level, c->level, sheet_style_of(r).elevation);
    digest_short(digest, a->digest);
    printf("grade %s is booked, %s, %s%s", w->given->value[NAME],
        w->given->value[MEANS] && w->given->value[MEANS][0] == 's' ? "SUBGRADE" : "FINISH GRADE", level, c->slope.rise == 0 ? "" : " at x = y = 0, ");
    if (c->slope.rise != 0)
        printf("%s %" PRId64 " in %" PRId64 " towards %s", c->slope.rise < 0 ? "falling" : "rising", c->slope.rise < 0 ? -c->slope.rise : c->slope.rise,
            c->slope.run, w->number - 1 == GRADES_WIDTH ? "width" : "length");
    printf("; the grade is entry %" PRIu32 "\nlast digest, to copy on paper   %" PRIu32 ": %s\n", a->at.entries, a->at.entries, digest);
}

static int
take(const struct wanted *w)
{
    struct append a = { .fd = -1 };
    struct record r;
    struct job job = { 0 };
    struct grades g = { .shot = NULL };
    struct diag d = { 0 };
    size_t n = 0;
    int status = EXIT_UNDONE;
    (void)signal(SIGXFSZ, SIG_IGN); /* a limit on file sizes is told as a full disk is */
    char *text = append_open(&a, w->given->file, &r, &d) == 0 ? chosen(w, &r, &job, &g, &n, &d) : NULL;
    if (text && append(&a, text, n, &d) == 0) {
        print_taken(w, &g, &a);
        status = EXIT_GOOD;
    }
    diag_sort(&d);
    cmd_say(w->given->file, &d);
    grades_release(&g);
    job_release(&job);
    record_release(&r);
    append_close(&a);
    diag_release(&d);
    free(text);
    return cmd_finish(status);
}

int
cmd_grade(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct wanted w;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    if (read_wanted(cmd, &given, &w) != 0)
        return EXIT_UNDONE;
    return w.number > 0 ? take(&w) : show(&w);
}
