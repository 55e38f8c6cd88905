/* json.c - results as JSON, streamed. docs/json.md has the schema. */
#include "parts.h"

#include <inttypes.h>
#include <jansson.h>
#include <string.h>

/* A writer that knows whether a comma is due, and gathers what it writes. */
struct writer {
    FILE *out;
    char bytes[16384];
    size_t used;
    struct length_style style; /* nine decimals of the job's unit */
    double unit_nm;
    bool comma;
    bool no_memory;
};

static void
flush(struct writer *w)
{
    fwrite(w->bytes, 1, w->used, w->out);
    w->used = 0;
}

static void
put_bytes(struct writer *w, const char *bytes, size_t n)
{
    if (n > sizeof w->bytes - w->used)
        flush(w);
    if (n > sizeof w->bytes) {
        fwrite(bytes, 1, n, w->out);
        return;
    }
    memcpy(w->bytes + w->used, bytes, n);
    w->used += n;
}

static void
put(struct writer *w, const char *text)
{
    put_bytes(w, text, strlen(text));
}

/* Text with JSON's escapes; jansson's own for whatever is not plain ASCII. */
static void
put_text(struct writer *w, const char *text)
{
    const char *p = text;
    while (*p >= ' ' && *p != '"' && *p != '\\' && *p != 0x7f)
        p++;
    if (*p == '\0') {
        put(w, "\"");
        put_bytes(w, text, (size_t)(p - text));
        put(w, "\"");
        return;
    }
    json_t *string = json_string(text);
    char *quoted = string ? json_dumps(string, JSON_ENCODE_ANY) : NULL;
    if (quoted)
        put(w, quoted);
    w->no_memory |= quoted == NULL;
    free(quoted);
    json_decref(string);
}

static void
key(struct writer *w, const char *name)
{
    put(w, w->comma ? ",\"" : "\"");
    put(w, name);
    put(w, "\":");
    w->comma = true;
}

static void
text(struct writer *w, const char *name, const char *value)
{
    key(w, name);
    if (value)
        put_text(w, value);
    else
        put(w, "null");
}

static void
put_length(struct writer *w, length value)
{
    char out[LENGTH_TEXT];
    size_t n = length_print(out, value, w->style);
    put_bytes(w, out, n);
}

static void
number(struct writer *w, const char *name, bool known, length value)
{
    key(w, name);
    if (known)
        put_length(w, value);
    else
        put(w, "null");
}

static void
count(struct writer *w, const char *name, bool known, uint64_t value)
{
    char out[24];
    snprintf(out, sizeof out, "%" PRIu64, value);
    key(w, name);
    put(w, known ? out : "null");
}

static void
truth(struct writer *w, const char *name, bool known, bool value)
{
    key(w, name);
    put(w, !known ? "null" : value ? "true" : "false");
}

static void
open_list(struct writer *w, const char *name)
{
    key(w, name);
    put(w, "[");
    w->comma = false;
}

static void
close_list(struct writer *w)
{
    put(w, "]");
    w->comma = true;
}

/* An object of a list, on a line of its own. */
static void
open_object(struct writer *w)
{
    put(w, w->comma ? ",\n{" : "\n{");
    w->comma = false;
}

static void
close_object(struct writer *w)
{
    put(w, "}");
    w->comma = true;
}

/* ---- runs and points ---- */

static void
put_link(struct writer *w, const struct job *job, const struct level_link *link)
{
    bool closes = link->kind != LEVEL_SPUR, limit = link->within != LEVEL_NOT_JUDGED;
    uint32_t run = job->leg[job->work.order[link->first]].run;
    open_object(w);
    count(w, "entry", true, (uint64_t)job->r->run[run].entry + 1);
    text(w, "from", link->from == LEVEL_NONE ? NULL : spot_name(job, link->from));
    text(w, "from_on", link->from == LEVEL_NONE ? NULL : spot_on(job, link->from));
    text(w, "to", link->to == LEVEL_NONE ? NULL : spot_name(job, link->to));
    text(w, "to_on", link->to == LEVEL_NONE ? NULL : spot_on(job, link->to));
    text(w, "kind", sheet_link_word(link->kind));
    count(w, "setups", link->setups > 0, link->setups);
    number(w, "dist", link->dist > 0, link->dist);
    bool sections = job->r->run[run].sections;
    number(w, "sum_bs", link->summed && !sections, link->sum_bs);
    number(w, "sum_fs", link->summed && !sections, link->sum_fs);
    number(w, "sum_rise", link->summed, link->sum_rise);
    number(w, "sum_fall", link->summed, link->sum_fall);
    number(w, "misclosure", closes, link->misclosure);
    char allowed[40];
    snprintf(allowed, sizeof allowed, "%.9f", link->allowed_nm / w->unit_nm);
    key(w, "allowed");
    put(w, limit ? allowed : "null");
    truth(w, "within", limit, link->within == LEVEL_WITHIN);
    truth(w, "spread", closes, link->spread);
    text(w, "closure", sheet_quality_word(link->quality));
    open_list(w, "corrections");
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
    text(w, "at", spot_name(job, i));
    text(w, "on", spot_on(job, i));
    if (job->spot[i].position > 1)
        count(w, "position", true, job->spot[i].position);
    number(w, "elevation", true, l->raw);
    number(w, "correction", adjusted, l->value - l->raw);
    number(w, "adjusted", adjusted, l->value);
    text(w, "sigma", NULL);
    text(w, "closure", sheet_quality_word(l->quality));
    count(w, "readings", true, l->readings);
    number(w, "apart", l->readings > 1, l->high - l->low);
    truth(w, "mark", true, l->state == LEVEL_MARK);
    close_object(w);
}

/* ---- the book ---- */

static void
put_line(struct writer *w, const struct job *job, const struct job_line *line)
{
    const struct record_row *row = line->row;
    open_object(w);
    count(w, "entry", true, (uint64_t)line->entry + 1);
    count(w, "row", true, line->number);
    text(w, "at", names_text(&job->r->names, row->at));
    text(w, "on", record_on_word((enum record_on)row->on));
    number(w, "bs", line->shows_bs, row->bs);
    number(w, "is", line->shows_ahead && (row->flags & RECORD_HAS_IS), row->ahead);
    number(w, "fs", line->shows_ahead && (row->flags & RECORD_HAS_FS), row->ahead);
    number(w, "bs_dist", line->shows_bs && line->dist.bs > 0, line->dist.bs);
    number(w, "dist", line->shows_ahead && line->dist.ahead > 0, line->dist.ahead);
    number(w, "hi", line->known && line->setup > 0, line->hi);
    number(w, "rise", line->has_step && line->step >= 0, line->step);
    number(w, "fall", line->has_step && line->step < 0, -line->step);
    number(w, "elevation", line->known, line->elevation);
    bool whole = (!line->shows_ahead || line->struck_ahead) && (!line->shows_bs || line->struck_bs);
    text(w, "struck", whole ? "row" : line->struck_ahead ? "fs" : line->struck_bs ? "bs" : NULL);
    close_object(w);
}

static void
put_section(struct writer *w, const struct job *job, const struct job_line *line)
{
    const struct record_section *s = line->section;
    open_object(w);
    count(w, "entry", true, (uint64_t)s->entry + 1);
    count(w, "row", true, s->number);
    text(w, "from", names_text(&job->r->names, s->from));
    text(w, "to", names_text(&job->r->names, s->to));
    number(w, "rise", s->rise >= 0, s->rise);
    number(w, "fall", s->rise < 0, -s->rise);
    number(w, "dist", s->dist > 0, s->dist);
    count(w, "setups", s->setups > 0, s->setups);
    number(w, "elevation", line->known, line->elevation);
    text(w, "struck", line->struck_ahead ? "row" : NULL);
    close_object(w);
}

static void
put_check(struct writer *w, const struct job_item *item)
{
    const struct level_check *c = &item->sums;
    bool page = item->kind == JOB_PAGE_CHECK;
    open_object(w);
    count(w, "check_page", page, item->number);
    count(w, "check_piece", !page, item->number);
    number(w, "first", c->started, c->first);
    number(w, "sum_bs", !item->sections && c->started, c->sum_bs);
    number(w, "sum_fs", !item->sections && c->started, c->sum_fs);
    number(w, "sum_rise", c->started, c->sum_rise);
    number(w, "sum_fall", c->started, c->sum_fall);
    number(w, "last", c->started, c->last);
    truth(w, "agrees", c->started, item->agrees);
    close_object(w);
}

static void
put_book(struct writer *w, const struct job *job)
{
    open_list(w, "book");
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
    text(w, "moved", s->has_moved ? words[s->moved] : NULL);
    number(w, "asked", s->has_moved, s->asked);
    number(w, "done", s->has_moved, s->done);
}

static void
put_stake(struct writer *w, const struct job *job, const struct job_stake *s, const struct sheet_style *style)
{
    const struct job_grade *g = &job->grade[s->grade_index];
    bool both = s->has_adjusted && s->has_grade;
    char words[SHEET_WORDS];
    sheet_verdict_words(words, s, style);
    open_object(w);
    text(w, "at", names_text(&job->r->names, s->at));
    text(w, "on", record_on_word((enum record_on)s->on));
    text(w, "line", names_text(&job->r->names, g->from->name));
    text(w, "means", g->from->subgrade ? "subgrade" : "finish");
    number(w, "adjusted", s->has_adjusted && s->spot != JOB_NONE, s->adjusted);
    number(w, "grade", s->has_grade, s->grade);
    number(w, "cut", both, s->move.cut);
    number(w, "fill", both, s->move.fill);
    number(w, "move", both, s->move.move);
    text(w, "move_text", words[0] ? words : NULL);
    number(w, "grade_rod", s->has_rod, s->grade_rod);
    if (s->has_rod)
        setup_name(words, job, s->rod_leg);
    text(w, "setup", s->has_rod ? words : NULL);
    truth(w, "longer_than_rod", s->has_rod, s->too_long);
    number(w, "offset", s->offset > 0, s->offset);
    number(w, "offset_rod", s->offset > 0, s->offset_rod);
    text(w, "sigma", NULL);
    text(w, "verdict", s->verdict == JOB_UNREAD ? NULL : sheet_verdict_word(s->verdict));
    text(w, "closure", s->adrift ? NULL : sheet_quality_word(s->quality));
    count(w, "readings", true, s->readings);
    number(w, "apart", s->readings > 1, s->apart);
    put_moved(w, s);
    close_object(w);
}

int
sheet_json(const struct job *job, unsigned parts, FILE *out)
{
    struct sheet_style style = sheet_style_of(job->r);
    bool metres = job->r->job.unit == LENGTH_BARE_M;
    struct writer w = { .out = out, .style = { metres ? LENGTH_AS_M : LENGTH_AS_FT, 9, 0 },
        .unit_nm = (double)length_whole(job->r->job.unit) };
    put(&w, "{");
    text(&w, "job", names_text(&job->r->texts, job->r->job.name));
    text(&w, "unit", length_unit_word(job->r->job.unit));
    open_list(&w, "runs");
    for (size_t i = 0; i < job->work.links; i++)
        put_link(&w, job, &job->work.link[i]);
    close_list(&w);
    open_list(&w, "points");
    for (uint32_t i = 0; i < job->spots; i++)
        if (job->spot[i].shown && job->level_spot[i].state != LEVEL_UNKNOWN)
            put_point(&w, job, i);
    close_list(&w);
    if (parts & SHEET_JSON_BOOK)
        put_book(&w, job);
    if (parts & SHEET_JSON_STAKES) {
        open_list(&w, "stakes");
        for (size_t i = 0; i < job->stakes; i++)
            put_stake(&w, job, &job->stake[i], &style);
        close_list(&w);
    }
    put(&w, "}\n");
    flush(&w);
    return w.no_memory ? -1 : 0;
}
