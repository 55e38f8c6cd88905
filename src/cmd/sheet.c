#include "cmd.h"

#include "rodbook/square.h"
#include "rodbook/text.h"

#include <stdlib.h>
#include <string.h>

enum { OUT, SHOW, PAPER, LANDSCAPE, GRADE, CONFIDENCE, SPREAD_ANYWAY };

const struct cmd_option cmd_sheet_options[7] = {
    [OUT] = { "out", "FILE", "what to write: its name ends in .pdf, .svg, .png or .html; needed" },
    [SHOW] = { "show", "SHEETS", "only these, as stakes,plan; all that the record has something for when left out" },
    [PAPER] = { "paper", "a4|letter", "a4 when left out" },
    [LANDSCAPE] = { "landscape", NULL, "the long side of the paper lies" },
    [GRADE] = { "grade", "NAME", "this grade only, for every kind of point" },
    [CONFIDENCE] = { "confidence", "PERCENT", "how sure move and leave must be; 95 when left out" },
    [SPREAD_ANYWAY] = { "spread-anyway", NULL, "spread a misclosure that is outside its limit" },
};

/* What may follow --show, and what each is made from. */
static const struct {
    const char *word;
    enum sheet_figure bit;
    const char *wants;
} figures[] = {
    { "stakes", SHEET_FIGURE_STAKES, "a grade, and marks that it serves" },
    { "plan", SHEET_FIGURE_PLAN, "x and y, from a site entry or in points" },
    { "profile", SHEET_FIGURE_PROFILE, "a run of levels" },
    { "site", SHEET_FIGURE_SITE, "a site entry" },
    { "square", SHEET_FIGURE_SQUARE, "a tape entry" },
    { "pad", SHEET_FIGURE_PAD, "a pad entry" },
    { "posts", SHEET_FIGURE_POSTS, "a holes entry, and posts" },
    { "concrete", SHEET_FIGURE_CONCRETE, "a concrete entry, and holes" },
    { "run", SHEET_FIGURE_RUN, "a set entry" },
    { "book", SHEET_FIGURE_BOOK, "a run of levels, or sections" },
    { "loops", SHEET_FIGURE_LOOPS, "a run of levels, or sections" },
    { "record", SHEET_FIGURE_RECORD, "a file" },
};

#define FIGURES (sizeof figures / sizeof figures[0])

static int
usage(const char *what, const char *more)
{
    fprintf(stderr, "rodbook sheet: %s%s\n", what, more);
    return -1;
}

static int
usage_figures(void)
{
    const char *words[FIGURES];
    char all[TEXT_LIST];
    for (size_t i = 0; i < FIGURES; i++)
        words[i] = figures[i].word;
    fprintf(stderr, "%s\n", text_list(all, words, FIGURES));
    return -1;
}

static int
read_figures(const char *list, unsigned *bits)
{
    *bits = 0;
    for (size_t i = 0; !list && i < FIGURES; i++)
        *bits |= figures[i].bit;
    while (list && *list) {
        size_t n = strcspn(list, ","), i = 0;
        while (i < FIGURES && (strlen(figures[i].word) != n || strncmp(figures[i].word, list, n) != 0))
            i++;
        if (i == FIGURES) {
            fprintf(stderr, "rodbook sheet: --show: %.*s is no sheet; write of these, commas between: ", (int)n, list);
            return usage_figures();
        }
        *bits |= figures[i].bit;
        list += n + (list[n] == ',');
    }
    return *bits ? 0 : usage("--show names no sheet", "");
}

/* Behind the forms of a drawing. */
enum { HTML = SHEET_PNG + 1, FORMS };

static int
read_form(const char *file, int *form)
{
    static const char *const endings[FORMS] = { [SHEET_PDF] = ".pdf", [SHEET_SVG] = ".svg", [SHEET_PNG] = ".png", [HTML] = ".html" };
    size_t n = file ? strlen(file) : 0;
    for (int i = 0; i < FORMS; i++) {
        size_t k = strlen(endings[i]);
        if (n <= k || strcmp(file + n - k, endings[i]) != 0)
            continue;
        *form = i;
        return 0;
    }
    return usage("-o wants a file whose name ends in .pdf, .svg, .png or .html", "");
}

static int
read_options(const struct cmd_given *given, struct sheet_document *doc, int *form)
{
    const char *paper = given->value[PAPER];
    if (read_form(given->value[OUT], form) != 0 || read_figures(given->value[SHOW], &doc->figures) != 0)
        return -1;
    if (paper && strcmp(paper, "a4") != 0 && strcmp(paper, "letter") != 0)
        return usage("--paper wants a4 or letter", "");
    doc->paper = paper && strcmp(paper, "letter") == 0 ? SHEET_LETTER : SHEET_A4;
    doc->landscape = given->value[LANDSCAPE] != NULL;
    return 0;
}

/* ---- writing ---- */

struct part {
    const struct sheet_drawing *drawing;
    enum sheet_form_of_drawing form;
    size_t page;
};

static int
write_part(void *with, FILE *out)
{
    const struct part *part = with;
    const char *missing = NULL;
    switch (sheet_drawing_write(part->drawing, part->form, part->page, out, &missing)) {
    case SHEET_OK:
        return 0;
    case SHEET_ENOLIBRARY:
        fprintf(stderr, "rodbook sheet: %s is not on this machine; install it (Debian: libpangocairo-1.0-0 and a font, fonts-dejavu-core), "
            "or write .svg or .html\n", missing);
        return -1;
    case SHEET_EMEMORY:
        return usage("out of memory [memory]", "");
    case SHEET_EDRAW:
    case SHEET_ENOTHING:
        break;
    }
    return usage("the drawing library could not draw it", "");
}

/* plan.svg, or plan-2.svg where there are several. */
static char *
part_name(const char *file, size_t page, size_t pages)
{
    const char *dot = strrchr(file, '.');
    char *name = NULL;
    if (pages == 1)
        return strdup(file);
    return asprintf(&name, "%.*s-%zu%s", (int)(dot - file), file, page + 1, dot) < 0 ? NULL : name;
}

static int
write_parts(const struct cmd *cmd, const char *file, enum sheet_form_of_drawing form, const struct sheet_drawing *drawing)
{
    size_t pages = form == SHEET_PDF ? 1 : sheet_drawing_pages(drawing);
    int rc = 0;
    for (size_t i = 0; rc == 0 && i < pages; i++) {
        struct part part = { drawing, form, i };
        char *name = part_name(file, i, pages);
        rc = name ? cmd_write_result(cmd, name, write_part, &part) : usage("out of memory [memory]", "");
        if (rc == 0)
            printf("%s\n", cmd_file_name(name));
        free(name);
    }
    return rc;
}

/* The record's bytes, looked at once more. False where they cannot be, or without memory: said. */
static bool
look_through(struct audit *a, const char *file)
{
    const struct audit_ask ask = { 0 };
    struct source source = { .name = file, .fd = -1 };
    struct diag d = { 0 };
    bool done = source_open(&source, file, &d) == 0 && audit_read(a, &source, &ask, &d) == 0 && !a->unread;
    if (!done)
        cmd_say(file, &d);
    source_close(&source);
    diag_release(&d);
    return done;
}

/* What the loop figure is made from, worked out for it alone. */
struct closing {
    struct adjust adjust;
    struct fit fit;
    struct suspects suspects;
    bool fitted, suspected;
};

static void
closing_release(struct closing *k)
{
    suspects_release(&k->suspects);
    fit_release(&k->fit);
    adjust_release(&k->adjust);
}

/* The fit, where the record has what it needs: the figure says where it has not. Suspects, where something is outside. 0, or -1
 * without memory. */
static int
look_at_loops(struct closing *k, const struct job *job, double confidence)
{
    struct diag d = { 0 };
    int rc = adjust_open(&k->adjust, job, &d);
    if (rc == 0 && d.errors == 0) {
        rc = fit_open(&k->fit, &k->adjust, confidence);
        k->fitted = rc == 0;
    }
    if (k->fitted && (job->outside || k->fit.loops_outside > 0)) {
        rc = suspects_open(&k->suspects, job, &d);
        k->suspected = rc == 0 && d.errors == 0 && (job->outside || k->suspects.faults > 0);
    }
    if (d.no_memory)
        rc = -1;
    diag_release(&d);
    return rc;
}

/* ---- setting out ---- */

/* What the sheets of setting out are made from. */
struct works {
    struct building building;
    struct square square;
    struct earth earth;
    struct posts posts, dug; /* with marks; and for concrete, which asks for depths only */
    struct order order;
    struct settings settings;
};

static void
works_release(struct works *w)
{
    building_release(&w->building);
    square_release(&w->square);
    earth_release(&w->earth);
    order_release(&w->order);
    posts_release(&w->dug);
    posts_release(&w->posts);
    setting_release(&w->settings);
}

static int
work_posts(struct works *w, const struct job *job, const struct posts_options *asked, struct diag *d, struct sheet_document *doc)
{
    const struct posts_options depths = { .any_grade = true };
    int rc = 0;
    if (doc->figures & SHEET_FIGURE_POSTS)
        rc = posts_work(&w->posts, job, asked, d);
    doc->posts = rc == 0 && d->errors == 0 && w->posts.n > 0 ? &w->posts : NULL;
    if (rc != 0 || !(doc->figures & SHEET_FIGURE_CONCRETE) || job->r->concretes == 0)
        return rc;
    size_t before = d->errors;
    rc = posts_work(&w->dug, job, &depths, d);
    if (rc == 0 && d->errors == before && w->dug.n > 0)
        rc = order_work(&w->order, &w->dug, d);
    doc->order = rc == 0 && d->errors == before && w->dug.n > 0 ? &w->order : NULL;
    return rc;
}

/* Each of those asked for that the record has something for. What keeps one from its results is said in `d`, and it is left out. */
static int
work_out(struct works *w, const struct cmd_record *c, const struct posts_options *asked, struct diag *d, struct sheet_document *doc)
{
    const struct record *r = &c->record;
    int rc = 0;
    if ((doc->figures & SHEET_FIGURE_SITE) && r->sites > 0 && (rc = building_work(&w->building, r)) == 0)
        doc->building = &w->building;
    if (rc == 0 && (doc->figures & SHEET_FIGURE_SQUARE) && r->tapeds > 0) {
        size_t before = d->errors;
        rc = square_work(&w->square, r, asked->confidence, d);
        doc->square = rc == 0 && d->errors == before ? &w->square : NULL;
    }
    if (rc == 0 && (doc->figures & SHEET_FIGURE_PAD) && r->pads > 0) {
        size_t before = d->errors;
        rc = earth_work(&w->earth, &c->job, d);
        doc->earth = rc == 0 && d->errors == before ? &w->earth : NULL;
    }
    if (rc == 0 && r->holes > 0)
        rc = work_posts(w, &c->job, asked, d, doc);
    if (rc == 0 && (doc->figures & SHEET_FIGURE_RUN) && r->sets > 0) {
        size_t before = d->errors;
        rc = setting_work(&w->settings, &c->job, asked->confidence, d);
        doc->settings = rc == 0 && d->errors == before ? &w->settings : NULL;
    }
    return rc;
}

static int
nothing_to_show(unsigned asked)
{
    (void)usage("the record has nothing for these sheets yet", "");
    for (size_t i = 0; i < FIGURES; i++)
        if (asked & figures[i].bit)
            fprintf(stderr, "  %s: made from %s\n", figures[i].word, figures[i].wants);
    return -1;
}

static int
show_drawing(const struct cmd *cmd, const struct cmd_record *c, const char *file, const struct sheet_document *doc,
    enum sheet_form_of_drawing form)
{
    struct sheet_drawing *drawing = sheet_draw(doc);
    int rc = -1;
    if (!drawing)
        cmd_no_memory(c);
    else if (sheet_drawing_pages(drawing) == 0)
        rc = nothing_to_show(doc->figures);
    else
        rc = write_parts(cmd, file, form, drawing);
    sheet_drawing_free(drawing);
    return rc;
}

static int
write_html(void *with, FILE *out)
{
    const struct sheet_document *doc = with;
    switch (sheet_html(doc, out)) {
    case SHEET_OK:
        return 0;
    case SHEET_ENOTHING:
        return nothing_to_show(doc->figures);
    default:
        return usage("out of memory [memory]", "");
    }
}

static int
show_html(const struct cmd *cmd, const char *file, struct sheet_document *doc)
{
    int rc = cmd_write_result(cmd, file, write_html, doc);
    if (rc == 0)
        printf("%s\n", cmd_file_name(file));
    return rc;
}

static int
show(const struct cmd *cmd, const struct cmd_record *c, const struct cmd_given *given, struct sheet_document *doc, int form)
{
    const char *file = given->value[OUT];
    int rc = form == HTML ? show_html(cmd, file, doc) : show_drawing(cmd, c, file, doc, (enum sheet_form_of_drawing)form);
    if (rc != 0)
        return EXIT_UNDONE;
    bool altered = cmd_altered(c);
    return c->job.outside || c->job.gaps || altered ? EXIT_NOT_GOOD : EXIT_GOOD;
}

/* Loops are looked at only where they are shown: the stake sheet does not wait for that. */
static int
work_out_and_show(const struct cmd *cmd, const struct cmd_record *c, const struct cmd_given *given, const struct sheet_document *wanted,
    int form, double confidence)
{
    struct sheet_document own = *wanted, *doc = &own; /* what is worked out here goes with it */
    const struct posts_options asked = { .grade = given->value[GRADE], .confidence = confidence };
    struct closing closing = { .fitted = false };
    struct works works = { .building = { .r = NULL } };
    struct diag d = { 0 };
    int status = EXIT_UNDONE;
    int rc = work_out(&works, c, &asked, &d, doc);
    diag_sort(&d);
    cmd_say(given->file, &d);
    bool left_out = d.errors > 0;
    bool asked_for = left_out && given->value[SHOW]; /* by name: nothing is written without it */
    if (rc == 0 && !asked_for && (doc->figures & SHEET_FIGURE_LOOPS))
        rc = look_at_loops(&closing, doc->job, confidence);
    if (rc == 0 && !asked_for) {
        doc->fit = closing.fitted ? &closing.fit : NULL;
        doc->suspects = closing.suspected ? &closing.suspects : NULL;
        status = show(cmd, c, given, doc, form);
        status = status == EXIT_GOOD && left_out ? EXIT_NOT_GOOD : status;
    }
    if (rc != 0)
        cmd_no_memory(c);
    closing_release(&closing);
    works_release(&works);
    diag_release(&d);
    return status;
}

int
cmd_sheet(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct sheet_document doc = { 0 };
    int form;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    struct job_options options = { .spread_anyway = given.value[SPREAD_ANYWAY] != NULL, .stakes = true, .grade_optional = true,
        .grade = given.value[GRADE] };
    if (read_options(&given, &doc, &form) != 0 || !cmd_read_confidence(cmd, given.value[CONFIDENCE], &options.confidence))
        return EXIT_UNDONE;
    struct cmd_record c;
    struct audit audit = { 0 };
    bool piped = strcmp(given.file, "-") == 0, audited = (doc.figures & SHEET_FIGURE_RECORD) && !piped;
    if (piped && given.value[SHOW] && (doc.figures & SHEET_FIGURE_RECORD)) {
        (void)usage("the record sheet wants a file: a pipe cannot be read twice", "");
        return EXIT_UNDONE;
    }
    status = EXIT_UNDONE;
    if (cmd_work(&c, given.file, &options) == 0 && (!audited || look_through(&audit, given.file))) {
        doc.job = &c.job;
        doc.audit = audited ? &audit : NULL;
        status = work_out_and_show(cmd, &c, &given, &doc, form, options.confidence);
    }
    audit_release(&audit);
    cmd_release(&c);
    return cmd_finish(status);
}
