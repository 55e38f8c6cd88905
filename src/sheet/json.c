/* json.c - results as JSON, streamed. docs/json.md has the schema. */
#include "parts.h"
#include "writer.h"

#include <string.h>

/* ---- runs and points ---- */

static void
put_link(struct writer *w, const struct job *job, const struct level_link *link)
{
    bool closes = link->kind != LEVEL_SPUR, limit = link->within != LEVEL_NOT_JUDGED;
    uint32_t run = job->leg[job->work.order[link->first]].run;
    open_object(w);
    count(w, KEY("entry"), true, (uint64_t)job->r->run[run].entry + 1);
    text(w, KEY("from"), link->from == LEVEL_NONE ? NULL : spot_name(job, link->from));
    text(w, KEY("from_on"), link->from == LEVEL_NONE ? NULL : spot_on(job, link->from));
    text(w, KEY("to"), link->to == LEVEL_NONE ? NULL : spot_name(job, link->to));
    text(w, KEY("to_on"), link->to == LEVEL_NONE ? NULL : spot_on(job, link->to));
    text(w, KEY("kind"), sheet_link_word(link->kind));
    count(w, KEY("setups"), link->setups > 0, link->setups);
    number(w, KEY("dist"), link->dist > 0, link->dist);
    bool sections = job->r->run[run].sections;
    number(w, KEY("sum_bs"), link->summed && !sections, link->sum_bs);
    number(w, KEY("sum_fs"), link->summed && !sections, link->sum_fs);
    number(w, KEY("sum_rise"), link->summed, link->sum_rise);
    number(w, KEY("sum_fall"), link->summed, link->sum_fall);
    number(w, KEY("misclosure"), closes, link->misclosure);
    writer_real(w, KEY("allowed"), limit, link->allowed_nm / w->unit_nm);
    truth(w, KEY("within"), limit, link->within == LEVEL_WITHIN);
    truth(w, KEY("spread"), closes, link->spread);
    text(w, KEY("closure"), sheet_quality_word(link->quality));
    open_list(w, KEY("corrections"));
    for (uint32_t i = 0; i < link->count && link->spread; i++) {
        const struct level_leg *leg = &job->leg[job->work.order[link->first + i]];
        put(w, i ? "," : "");
        put_length(w, leg->correction);
    }
    close_list(w);
    close_object(w);
}

static void
put_point(struct writer *w, const struct job *job, uint32_t i)
{
    const struct level_spot *l = &job->level_spot[i];
    bool adjusted = l->quality != LEVEL_OUTSIDE;
    open_object(w);
    text(w, KEY("at"), spot_name(job, i));
    text(w, KEY("on"), spot_on(job, i));
    count(w, KEY("position"), true, job->spot[i].position);
    number(w, KEY("elevation"), true, l->raw);
    number(w, KEY("correction"), adjusted, l->value - l->raw);
    number(w, KEY("adjusted"), adjusted, l->value);
    deviation(w, KEY("sigma"), job->spot_sigma ? job->spot_sigma[i] : -1);
    text(w, KEY("closure"), sheet_quality_word(l->quality));
    count(w, KEY("readings"), true, l->readings);
    number(w, KEY("apart"), l->readings > 1, l->high - l->low);
    truth(w, KEY("mark"), true, l->state == LEVEL_MARK);
    close_object(w);
}

/* ---- the book ---- */

static void
put_line(struct writer *w, const struct job *job, const struct job_line *line)
{
    const struct record_row *row = line->row;
    open_object(w);
    count(w, KEY("entry"), true, (uint64_t)line->entry + 1);
    count(w, KEY("row"), true, line->number);
    text(w, KEY("at"), names_text(&job->r->names, row->at));
    text(w, KEY("on"), record_on_word((enum record_on)row->on));
    number(w, KEY("bs"), line->shows_bs, row->bs);
    number(w, KEY("is"), line->shows_ahead && (row->flags & RECORD_HAS_IS), row->ahead);
    number(w, KEY("fs"), line->shows_ahead && (row->flags & RECORD_HAS_FS), row->ahead);
    number(w, KEY("bs_dist"), line->shows_bs && line->dist.bs > 0, line->dist.bs);
    number(w, KEY("dist"), line->shows_ahead && line->dist.ahead > 0, line->dist.ahead);
    number(w, KEY("hi"), line->known && line->setup > 0, line->hi);
    number(w, KEY("rise"), line->has_step && line->step >= 0, line->step);
    number(w, KEY("fall"), line->has_step && line->step < 0, -line->step);
    number(w, KEY("elevation"), line->known, line->elevation);
    bool whole = (!line->shows_ahead || line->struck_ahead) && (!line->shows_bs || line->struck_bs);
    text(w, KEY("struck"), whole ? "row" : line->struck_ahead ? "fs" : line->struck_bs ? "bs" : NULL);
    close_object(w);
}

static void
put_section(struct writer *w, const struct job *job, const struct job_line *line)
{
    const struct record_section *s = line->section;
    open_object(w);
    count(w, KEY("entry"), true, (uint64_t)s->entry + 1);
    count(w, KEY("row"), true, s->number);
    text(w, KEY("from"), names_text(&job->r->names, s->from));
    text(w, KEY("to"), names_text(&job->r->names, s->to));
    number(w, KEY("rise"), s->rise >= 0, s->rise);
    number(w, KEY("fall"), s->rise < 0, -s->rise);
    number(w, KEY("dist"), s->dist > 0, s->dist);
    count(w, KEY("setups"), s->setups > 0, s->setups);
    number(w, KEY("elevation"), line->known, line->elevation);
    text(w, KEY("struck"), line->struck_ahead ? "row" : NULL);
    close_object(w);
}

static void
put_check(struct writer *w, const struct job_item *item)
{
    const struct level_check *c = &item->sums;
    bool page = item->kind == JOB_PAGE_CHECK;
    open_object(w);
    count(w, KEY("check_page"), page, item->number);
    count(w, KEY("check_piece"), !page, item->number);
    number(w, KEY("first"), c->started, c->first);
    number(w, KEY("sum_bs"), !item->sections && c->started, c->sum_bs);
    number(w, KEY("sum_fs"), !item->sections && c->started, c->sum_fs);
    number(w, KEY("sum_rise"), c->started, c->sum_rise);
    number(w, KEY("sum_fall"), c->started, c->sum_fall);
    number(w, KEY("last"), c->started, c->last);
    truth(w, KEY("agrees"), c->started, item->agrees);
    close_object(w);
}

static void
put_book(struct writer *w, const struct job *job)
{
    open_list(w, KEY("book"));
    for (uint32_t run = 0; run < job->r->runs; run++) {
        struct job_book book;
        job_book_open(&book, job, run);
        for (const struct job_item *item; (item = job_book_next(&book)) != NULL;) {
            if (item->kind != JOB_LINE)
                put_check(w, item);
            else if (item->line.section)
                put_section(w, job, &item->line);
            else
                put_line(w, job, &item->line);
        }
    }
    close_list(w);
}

/* ---- stakes ---- */

static void
put_moved(struct writer *w, const struct job_stake *s)
{
    static const char *const words[] = { "done", "short", "too far", "wrong way", "disturbed" };
    text(w, KEY("moved"), s->has_moved ? words[s->moved] : NULL);
    number(w, KEY("asked"), s->has_moved, s->asked);
    number(w, KEY("done"), s->has_moved, s->done);
}

static void
put_stake(struct writer *w, const struct job *job, const struct job_stake *s, const struct sheet_style *style)
{
    const struct job_grade *g = &job->grade[s->grade_index];
    bool both = s->has_adjusted && s->has_grade;
    char words[SHEET_WORDS];
    sheet_verdict_words(words, s, style);
    open_object(w);
    text(w, KEY("at"), names_text(&job->r->names, s->at));
    text(w, KEY("on"), record_on_word((enum record_on)s->on));
    text(w, KEY("line"), names_text(&job->r->names, g->from->name));
    text(w, KEY("means"), g->from->subgrade ? "subgrade" : "finish");
    number(w, KEY("adjusted"), s->has_adjusted && s->spot != JOB_NONE, s->adjusted);
    number(w, KEY("grade"), s->has_grade, s->grade);
    number(w, KEY("cut"), both, s->move.cut);
    number(w, KEY("fill"), both, s->move.fill);
    number(w, KEY("move"), both, s->move.move);
    text(w, KEY("move_text"), words[0] ? words : NULL);
    number(w, KEY("grade_rod"), s->has_rod, s->grade_rod);
    if (s->has_rod)
        setup_name(words, job, s->rod_leg);
    text(w, KEY("setup"), s->has_rod ? words : NULL);
    truth(w, KEY("longer_than_rod"), s->has_rod, s->too_long);
    number(w, KEY("offset"), s->offset > 0, s->offset);
    number(w, KEY("offset_rod"), s->offset > 0, s->offset_rod);
    deviation(w, KEY("sigma"), s->sigma);
    text(w, KEY("verdict"), s->verdict == JOB_UNREAD ? NULL : sheet_verdict_word(s->verdict));
    text(w, KEY("closure"), s->adrift ? NULL : sheet_quality_word(s->quality));
    count(w, KEY("readings"), true, s->readings);
    number(w, KEY("apart"), s->readings > 1, s->apart);
    put_moved(w, s);
    close_object(w);
}

void
writer_advice(struct writer *w, const struct job *job)
{
    static const char *const words[] = { NULL, "new set-up", "open set-up", "set-up again" }; /* enum job_further */
    const struct job_advice *a = &job->advice;
    char setup[SHEET_WORDS];
    bool any = a->further != JOB_FURTHER_NONE, point = a->further == JOB_FURTHER_NEW || a->further == JOB_FURTHER_OPEN;
    bool stands = a->further == JOB_FURTHER_OPEN || a->further == JOB_FURTHER_REPEAT;
    if (stands)
        setup_name(setup, job, a->leg);
    open_member(w, KEY("advice"));
    count(w, KEY("doubts"), true, a->doubts);
    text(w, KEY("read"), words[a->further]);
    text(w, KEY("at"), point ? spot_name(job, a->spot) : NULL);
    text(w, KEY("on"), point ? spot_on(job, a->spot) : NULL);
    text(w, KEY("backsight"), a->further == JOB_FURTHER_NEW ? spot_name(job, a->base) : NULL);
    text(w, KEY("setup"), stands ? setup : NULL);
    count(w, KEY("settles"), any, a->settled);
    deviation(w, KEY("worst"), a->doubts > 0 ? a->worst : -1);
    deviation(w, KEY("left"), any && a->settled < a->doubts ? a->left : -1);
    put(w, "}");
}

static const char *
schema_of(unsigned parts)
{
    if (parts & SHEET_DATA_STAKES)
        return "rodbook/stakes/1";
    return parts & SHEET_DATA_BOOK ? "rodbook/reduce/1" : "rodbook/close/1";
}

int
sheet_data(const struct job *job, unsigned parts, const struct sheet_table *table, FILE *out)
{
    struct sheet_style style = sheet_style_of(job->r);
    struct writer w;
    writer_open(&w, table, out, job->r->job.unit);
    writer_begin(&w, schema_of(parts), job->r);
    open_list(&w, KEY("runs"));
    for (size_t i = 0; i < job->work.links; i++)
        put_link(&w, job, &job->work.link[i]);
    close_list(&w);
    open_list(&w, KEY("points"));
    for (uint32_t i = 0; i < job->spots; i++)
        if (job->spot[i].shown && job->level_spot[i].state != LEVEL_UNKNOWN)
            put_point(&w, job, i);
    close_list(&w);
    if (parts & SHEET_DATA_BOOK)
        put_book(&w, job);
    if (parts & SHEET_DATA_STAKES) {
        open_list(&w, KEY("stakes"));
        for (size_t i = 0; i < job->stakes; i++)
            put_stake(&w, job, &job->stake[i], &style);
        close_list(&w);
        if (job->factor > 0)
            writer_advice(&w, job);
    }
    put(&w, "}\n");
    return writer_close(&w);
}
