/* plan.c - what plans can be expected to give */
#include "parts.h"
#include "writer.h"

#include <inttypes.h>
#include <string.h>

static const char *
name_of(const struct record *r, const struct record_plan *plan)
{
    return plan->name == RECORD_NONE ? NULL : names_text(&r->texts, plan->name);
}

/* A deviation of a misclosure, in the limit's own unit. */
static void
deviation_words(char out[SHEET_WORDS], double sigma, const struct sheet_style *style)
{
    sheet_deviation_words(out, sigma * (double)LENGTH_M, style);
}

/* ---- for people ---- */

static void
line_words(const struct plan *p, size_t i, const struct sheet_style *style, FILE *out)
{
    const struct job *job = &p->job;
    const struct level_link *link = &job->work.link[i];
    const struct plan_link *e = &p->link[i];
    char from[SHEET_WORDS * 2], to[SHEET_WORDS * 2], sigma[SHEET_WORDS], ordinary[SHEET_WORDS], allowed[SHEET_WORDS];
    char line[SHEET_WORDS * 12];
    spot_words(from, job, link->from, NO_FROM);
    spot_words(to, job, link->to, NO_TO);
    int n = snprintf(line, sizeof line, "%s %s to %s, %" PRIu64 " set-up%s: ", sheet_link_word(link->kind), from, to, link->setups,
        link->setups == 1 ? "" : "s");
    size_t room = sizeof line - (size_t)n;
    deviation_words(sigma, e->sigma, style);
    deviation_words(ordinary, e->ordinary, style);
    sheet_limit_words(allowed, link->allowed_nm, style);
    if (e->sigma < 0)
        snprintf(line + n, room, "unchecked, nothing closes it");
    else if (link->within == LEVEL_NOT_JUDGED)
        snprintf(line + n, room, "misclosure +- %s, ordinary up to %s", sigma, ordinary);
    else
        snprintf(line + n, room, "misclosure +- %s, ordinary up to %s, allowed %s%s", sigma, ordinary, allowed,
            e->tight ? ": TIGHTER than these readings keep" : "");
    say_line(line, out);
}

static void
lines(const struct plan *p, const struct sheet_style *style, FILE *out)
{
    for (size_t i = 0; i < p->job.work.links; i++)
        line_words(p, i, style, out);
    if (p->no_dist)
        say_line("the job allows by distance, and some set-up does not say dist: nothing is held against what is allowed", out);
}

static const char *
sigma_heading(const struct sheet_style *style)
{
    return style->move.form == LENGTH_AS_MM ? "+- mm" : "+- in";
}

static int
points(const struct plan *p, const struct sheet_style *style, FILE *out)
{
    const struct table_column columns[] = { { "point", false, false }, { "on", false, false }, { sigma_heading(style), true, false },
        { "sights", true, false }, { "remarks", false, false } };
    const struct job *job = &p->job;
    struct table t;
    char words[SHEET_WORDS];
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (uint32_t i = 0; i < job->spots; i++) {
        const struct level_spot *l = &job->level_spot[i];
        if (!job->spot[i].shown || l->state == LEVEL_UNKNOWN)
            continue;
        table_cell(&t, spot_name(job, i));
        table_cell(&t, spot_on(job, i));
        sheet_sigma_words(words, job->spot_sigma[i], style);
        table_cell(&t, words);
        put_count(words, l->readings);
        table_cell(&t, words);
        table_cell(&t, l->state == LEVEL_MARK ? "mark, given" : l->quality == LEVEL_UNCHECKED ? "unchecked" : NULL);
    }
    return table_print(&t, out);
}

static const char *
tells_words(enum plan_tells tells)
{
    static const char *const words[] = { "not in the plan", "sure, however it reads", "can't tell where it reads near the tolerance",
        "CAN'T TELL, even where it reads on grade" }; /* enum plan_tells */
    return words[tells];
}

static int
grade_table(const struct plan *p, uint32_t grade, size_t *next, const struct sheet_style *style, FILE *out)
{
    const struct table_column columns[] = { { "mark", false, false }, { "on", false, false }, { sigma_heading(style), true, false },
        { "move or leave", false, false } };
    const struct job *job = &p->job;
    struct table t;
    char words[SHEET_WORDS];
    sheet_grade_heading(job, &job->grade[grade], style, out);
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (; *next < job->stakes && job->stake[*next].grade_index == grade; ++*next) {
        const struct job_stake *s = &job->stake[*next];
        table_cell(&t, names_text(&job->r->names, s->at));
        table_cell(&t, record_on_word((enum record_on)s->on));
        sheet_sigma_words(words, p->stake[*next].sigma, style);
        table_cell(&t, words[0] ? words : "-");
        table_cell(&t, s->spot != JOB_NONE && !s->has_grade ? "no x and y, so no grade here" : tells_words(p->stake[*next].tells));
    }
    return table_print(&t, out);
}

static int
one_plan(const struct record *r, const struct plan *p, const struct sheet_style *style, FILE *out)
{
    const char *name = name_of(r, p->from);
    size_t next = 0;
    fprintf(out, "\nPlan%s%s, entry %" PRIu32 ": %" PRIu32 " set-up%s\n", name ? " " : "", name ? name : "", p->from->entry + 1,
        p->from->setups, p->from->setups == 1 ? "" : "s");
    lines(p, style, out);
    if (points(p, style, out) != 0)
        return -1;
    for (uint32_t g = 0; g < p->job.grades; g++)
        if (grade_table(p, g, &next, style, out) != 0)
            return -1;
    for (size_t i = 0; i < p->grades_left; i++)
        fprintf(out, "\nGrade %s goes through a mark that this plan does not read: nothing is held against it.\n",
            names_text(&r->names, r->grade[p->grade_left[i]].name));
    if (p->job.advice.doubts > 0) {
        fprintf(out, "\n%zu of %zu not sure in every case\n", p->job.advice.doubts, p->job.stakes);
        sheet_advice(&p->job, style, out);
    }
    return 0;
}

int
sheet_plans(const struct record *r, const struct plan *plan, size_t n, FILE *out)
{
    struct sheet_style style = sheet_style_of(r);
    sheet_record_title(r, "What to expect", out);
    for (size_t i = 0; i < n; i++)
        if (one_plan(r, &plan[i], &style, out) != 0)
            return -1;
    fputs("\n+-: standard deviations, from that of one reading. Nothing here comes from readings; slips and\n"
          "settling are not in it.\n",
        out);
    return 0;
}

/* ---- as JSON ---- */

static void
put_line(struct writer *w, const struct plan *p, size_t i)
{
    const struct job *job = &p->job;
    const struct level_link *link = &job->work.link[i];
    const struct plan_link *e = &p->link[i];
    bool limit = link->within != LEVEL_NOT_JUDGED;
    open_object(w);
    text(w, KEY("from"), link->from == LEVEL_NONE ? NULL : spot_name(job, link->from));
    text(w, KEY("from_on"), link->from == LEVEL_NONE ? NULL : spot_on(job, link->from));
    text(w, KEY("to"), link->to == LEVEL_NONE ? NULL : spot_name(job, link->to));
    text(w, KEY("to_on"), link->to == LEVEL_NONE ? NULL : spot_on(job, link->to));
    text(w, KEY("kind"), sheet_link_word(link->kind));
    count(w, KEY("setups"), true, link->setups);
    number(w, KEY("dist"), link->dist > 0, link->dist);
    deviation(w, KEY("sigma"), e->sigma);
    deviation(w, KEY("ordinary"), e->sigma < 0 ? -1 : e->ordinary);
    deviation(w, KEY("allowed"), limit ? link->allowed_nm / (double)LENGTH_M : -1);
    truth(w, KEY("enough"), limit && e->sigma >= 0, !e->tight);
    close_object(w);
}

static void
put_plan_stake(struct writer *w, const struct plan *p, size_t i)
{
    static const char *const words[] = { NULL, "always", "away from the tolerance", "never leave" }; /* enum plan_tells */
    const struct job_stake *s = &p->job.stake[i];
    const struct job_grade *g = &p->job.grade[s->grade_index];
    open_object(w);
    text(w, KEY("at"), names_text(&p->job.r->names, s->at));
    text(w, KEY("on"), record_on_word((enum record_on)s->on));
    text(w, KEY("line"), names_text(&p->job.r->names, g->from->name));
    number(w, KEY("tolerance"), true, g->tolerance);
    deviation(w, KEY("sigma"), p->stake[i].sigma);
    text(w, KEY("tells"), words[p->stake[i].tells]);
    close_object(w);
}

static void
put_plan(struct writer *w, const struct record *r, const struct plan *p)
{
    const struct job *job = &p->job;
    open_object(w);
    count(w, KEY("entry"), true, (uint64_t)p->from->entry + 1);
    text(w, KEY("name"), name_of(r, p->from));
    count(w, KEY("setups"), true, p->from->setups);
    truth(w, KEY("enough"), true, p->enough);
    open_list(w, KEY("runs"));
    for (size_t i = 0; i < job->work.links; i++)
        put_line(w, p, i);
    close_list(w);
    open_list(w, KEY("points"));
    for (uint32_t i = 0; i < job->spots; i++) {
        if (!job->spot[i].shown || job->level_spot[i].state == LEVEL_UNKNOWN)
            continue;
        open_object(w);
        text(w, KEY("at"), spot_name(job, i));
        text(w, KEY("on"), spot_on(job, i));
        deviation(w, KEY("sigma"), job->spot_sigma[i]);
        count(w, KEY("readings"), true, job->level_spot[i].readings);
        truth(w, KEY("mark"), true, job->level_spot[i].state == LEVEL_MARK);
        close_object(w);
    }
    close_list(w);
    open_list(w, KEY("stakes"));
    for (size_t i = 0; i < job->stakes; i++)
        put_plan_stake(w, p, i);
    close_list(w);
    writer_advice(w, job);
    close_object(w);
}

int
sheet_plans_data(const struct record *r, const struct plan *plan, size_t n, const struct sheet_table *table, FILE *out)
{
    struct writer w;
    writer_open(&w, table, out, r->job.unit);
    writer_begin(&w, "rodbook/plan/1", r);
    open_list(&w, KEY("plans"));
    for (size_t i = 0; i < n; i++)
        put_plan(&w, r, &plan[i]);
    close_list(&w);
    put(&w, "}\n");
    return writer_close(&w);
}
