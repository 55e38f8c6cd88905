/* run_json.c - rows of posts as they stand after setting, as JSON */
#include "parts.h"
#include "writer.h"

#include <stdlib.h>

#define DEGREES 57.29577951308232 /* in a radian: 180 / pi */

static const char *const verdict_json[] = { NULL, "good", "off", "unsure" };
static const char *const way_json[] = { "in", "out", "left", "right", "start", "end", "to string", "from string", NULL };

static const char *
post_name(const struct setting_row *row, const struct job *job, size_t i)
{
    return names_text(&job->r->names, row->post[i].name);
}

static void
put_lean(struct writer *w, const char *written, size_t n, const struct setting_lean *lean)
{
    if (!lean->known) {
        text(w, written, n, NULL);
        return;
    }
    open_member(w, written, n);
    text(w, KEY("way"), lean->rise == 0 ? NULL : way_json[lean->way]);
    number(w, KEY("rise"), true, lean->rise);
    number(w, KEY("over"), true, lean->over);
    writer_real(w, KEY("ratio"), true, (double)lean->rise / (double)lean->over);
    writer_real(w, KEY("degrees"), true, lean->angle * DEGREES);
    text(w, KEY("verdict"), verdict_json[lean->verdict]);
    close_object(w);
}

static void
put_height(struct writer *w, const char *written, size_t n, const struct settings *s, const struct setting_row *row,
    const struct setting_height *h)
{
    if (!h->read) {
        text(w, written, n, NULL);
        return;
    }
    open_member(w, written, n);
    number(w, KEY("adjusted"), h->known, h->elevation);
    number(w, KEY("grade"), h->has_grade, h->grade);
    number(w, KEY("off"), h->has_grade, h->off);
    deviation(w, KEY("sigma"), h->has_grade ? h->sigma : -1);
    number(w, KEY("off_own"), h->has_own, h->own);
    truth(w, KEY("stands_out"), h->has_own, h->out);
    text(w, KEY("or_else"), h->out && h->rival != JOB_NONE ? post_name(row, s->job, h->rival) : NULL);
    truth(w, KEY("rogue"), h->has_own, h->rogue);
    truth(w, KEY("old"), true, h->old);
    number(w, KEY("moved"), h->moved, h->change);
    text(w, KEY("verdict"), verdict_json[h->verdict]);
    close_object(w);
}

static void
put_post(struct writer *w, const struct settings *s, const struct setting_row *row, size_t i)
{
    const struct setting_post *p = &row->post[i];
    open_object(w);
    text(w, KEY("at"), post_name(row, s->job, i));
    number(w, KEY("along"), true, p->along);
    truth(w, KEY("measured"), true, p->row != NULL);
    number(w, KEY("gap"), p->has_gap, p->gap);
    number(w, KEY("off"), p->has_off, p->off);
    text(w, KEY("way"), p->has_off && p->off != 0 ? way_json[setting_way_of(row, p->off)] : NULL);
    number(w, KEY("off_high"), p->has_high, p->high_off);
    number(w, KEY("off_own"), p->has_own, p->own);
    text(w, KEY("way_own"), p->has_own && p->own != 0 ? way_json[setting_way_of(row, p->own)] : NULL);
    deviation(w, KEY("sigma_own"), p->own_sigma);
    truth(w, KEY("stands_out"), p->has_own, p->out);
    text(w, KEY("or_else"), p->out && p->rival != JOB_NONE ? post_name(row, s->job, p->rival) : NULL);
    truth(w, KEY("rogue"), p->has_own, p->rogue);
    truth(w, KEY("touches"), p->has_gap, p->touches);
    text(w, KEY("verdict"), verdict_json[p->line]);
    number(w, KEY("moved"), p->has_change, p->change);
    truth(w, KEY("moved_sure"), p->has_change, p->change_sure);
    put_height(w, KEY("mark"), s, row, &p->height[SETTING_MARK]);
    put_height(w, KEY("top"), s, row, &p->height[SETTING_TOP]);
    put_lean(w, KEY("lean_across"), &p->lean[SETTING_ACROSS]);
    put_lean(w, KEY("lean_along"), &p->lean[SETTING_ALONG]);
    close_object(w);
}

static void
put_line(struct writer *w, const struct setting_row *row)
{
    const struct setting_line *line = &row->line;
    bool own = line->known, string = own && row->set->has_gap;
    open_member(w, KEY("own_line"));
    count(w, KEY("posts"), true, line->read);
    count(w, KEY("kept"), own, line->fit.kept);
    number(w, KEY("first"), own, line->first);
    number(w, KEY("last"), own, line->last);
    text(w, KEY("of"), own ? (string ? "string" : "gap") : NULL);
    text(w, KEY("first_verdict"), verdict_json[line->first_verdict]);
    text(w, KEY("last_verdict"), verdict_json[line->last_verdict]);
    writer_real(w, KEY("scale"), own && line->fit.scale >= 0, line->fit.scale);
    truth(w, KEY("crowded"), own, line->fit.crowded);
    number(w, KEY("middle"), line->read == 3, line->middle);
    truth(w, KEY("bent"), line->read == 3, line->bent);
    close_object(w);
}

static void
put_row(struct writer *w, const struct settings *s, const struct setting_row *row)
{
    const struct record *r = s->job->r;
    const struct record_set *set = row->set;
    open_object(w);
    text(w, KEY("row"), names_text(&r->names, set->row));
    count(w, KEY("entry"), true, (uint64_t)set->entry + 1);
    text(w, KEY("date"), set->date == RECORD_NONE ? NULL : names_text(&r->texts, set->date));
    count(w, KEY("before"), row->before != NULL, row->before ? (uint64_t)row->before->entry + 1 : 0);
    number(w, KEY("gap"), set->has_gap, set->gap);
    text(w, KEY("away"), way_json[row->away]);
    deviation(w, KEY("sigma"), (double)row->sigma / (double)LENGTH_M);
    number(w, KEY("tolerance_line"), set->line > 0, set->line);
    number(w, KEY("tolerance_height"), set->height > 0, set->height);
    writer_real(w, KEY("tolerance_plumb"), set->plumb_over > 0, set->plumb_over > 0 ? (double)set->plumb_rise / (double)set->plumb_over : 0);
    text(w, KEY("grade"), row->grade ? names_text(&r->names, row->grade->from->name) : NULL);
    truth(w, KEY("good"), true, row->good);
    put_line(w, row);
    open_list(w, KEY("posts"));
    for (size_t i = 0; i < row->posts; i++)
        put_post(w, s, row, i);
    close_list(w);
    close_object(w);
}

int
sheet_run_data(const struct settings *s, const struct sheet_table *table, FILE *out)
{
    struct writer w;
    const struct record *r = s->job->r;
    writer_open(&w, table, out, r->job.unit);
    writer_begin(&w, "rodbook/run/1", r);
    open_list(&w, KEY("rows"));
    for (size_t i = 0; i < s->rows; i++)
        put_row(&w, s, &s->row[i]);
    close_list(&w);
    put(&w, "}\n");
    return writer_close(&w);
}
