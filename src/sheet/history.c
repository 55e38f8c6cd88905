/* history.c - the sheet of what was revised: each value of a name, and each reading that was struck */
#include "parts.h"

#include <inttypes.h>
#include <string.h>

static const struct table_column value_columns[] = { { "what", false, false }, { "name", false, false }, { "entry", true, false },
    { "by", false, false }, { "time", false, false }, { "value", false, false }, { "now", false, false } };

static const struct table_column struck_columns[] = { { "entry", true, false }, { "row", true, false }, { "point", false, false },
    { "on", false, false }, { "was", false, false }, { "struck in", true, false }, { "by", false, false }, { "time", false, false },
    { "reason", false, false }, { "read instead", false, false } };

/* ---- words ---- */

static const char *
text_or_nothing(const struct record *r, uint32_t text)
{
    return text == RECORD_NONE ? NULL : names_text(&r->texts, text);
}

static void
count_cell(struct table *t, uint64_t n)
{
    char text[24];
    put_count(text, n);
    table_cell(t, text);
}

/* As many figures as the value has: rounded, two values could look alike. */
static const char *
exact(char out[LENGTH_TEXT], length value, struct length_style style)
{
    length whole = style.form == LENGTH_AS_M ? LENGTH_M : LENGTH_FT, rest = value % whole;
    bool inches = style.form == LENGTH_AS_FT_IN;
    while (inches && style.parts < 64 && (length_wide)value * style.parts % LENGTH_IN != 0)
        style.parts *= 2;
    if (inches && (length_wide)value * style.parts % LENGTH_IN != 0)
        style = (struct length_style){ LENGTH_AS_FT, 0, 0 };
    length_wide scale = 1;
    for (int i = 0; i < style.places; i++)
        scale *= 10;
    for (; style.form != LENGTH_AS_FT_IN && style.places < 9 && rest * scale % whole != 0; scale *= 10)
        style.places++;
    size_t n = length_print(out, value, style);
    if (inches && style.form == LENGTH_AS_FT)
        memcpy(out + n, " ft", sizeof " ft");
    return out;
}

static void
mark_words(const struct job *job, const struct record_mark *m, const struct sheet_style *style, struct remark *out)
{
    char text[LENGTH_TEXT];
    (void)job;
    remark_add(out, "%s", exact(text, m->elevation, style->elevation));
    if (m->sigma > 0)
        remark_add(out, "sigma %.6g m", m->sigma);
}

static void
point_words(const struct job *job, const struct record_point *p, const struct sheet_style *style, struct remark *out)
{
    static const char *const kinds[] = { "batten", "post", "corner", "ground", "footing", "no kind" };
    char x[LENGTH_TEXT], y[LENGTH_TEXT];
    (void)job;
    if (p->placed)
        remark_add(out, "x %s, y %s", exact(x, p->x, style->elevation), exact(y, p->y, style->elevation));
    else
        remark_add(out, "no place");
    remark_add(out, "%s", kinds[p->kind]);
}

static void
grade_words(const struct job *job, const struct record_grade *g, const struct sheet_style *style, struct remark *out)
{
    static const char *const kinds[] = { "batten", "post", "corner", "ground", "footing" };
    char text[SHEET_WORDS * 2];
    remark_add(out, "%s", g->subgrade ? "subgrade" : "finish");
    if (g->through == 0)
        remark_add(out, "level %s", exact(text, g->level, style->elevation));
    for (uint32_t i = 0; i < g->through; i++) {
        struct remark through = { 0 };
        through_words(&through, job, &g->at[i], style);
        remark_add(out, "through %s", through.text);
    }
    if (g->slope.given) {
        slope_words(text, sizeof text, job, &g->slope);
        remark_add(out, "%s", text + strlen(", "));
    }
    if (g->has_tolerance)
        remark_add(out, "tolerance %s", exact(text, g->tolerance, style->elevation));
    for (int k = 0; k < RECORD_POINT_KINDS && g->serves != UINT32_MAX; k++)
        if (g->serves >> k & 1)
            remark_add(out, "for %s", kinds[k]);
}

static void
value_words(const struct job *job, enum history_kind kind, uint32_t value, const struct sheet_style *style, struct remark *out)
{
    if (kind == HISTORY_MARK)
        mark_words(job, &job->r->mark[value], style, out);
    else if (kind == HISTORY_POINT)
        point_words(job, &job->r->point[value], style, out);
    else
        grade_words(job, &job->r->grade[value], style, out);
}

/* ---- the job ---- */

static void
job_line(const struct job *job, const struct sheet_style *style, FILE *out)
{
    static const char *const per[] = { "", "", " per root set-up", " per root km", " per root mile" }; /* enum record_allow_per */
    const struct record_job *j = &job->r->job;
    const struct record_entry *e = &job->r->entry[0];
    char text[SHEET_WORDS];
    fputs("\nThe job, entry 1", out);
    if (e->by != RECORD_NONE)
        fprintf(out, ", by %s", names_text(&job->r->texts, e->by));
    if (e->time != RECORD_NONE)
        fprintf(out, ", %s", names_text(&job->r->texts, e->time));
    fprintf(out, "\n  unit %s; least %s", length_unit_word(j->unit), exact(text, j->least, style->elevation));
    if (j->rod_length > 0)
        fprintf(out, "; rod-length %s", exact(text, j->rod_length, style->elevation));
    if (j->allow_per != RECORD_ALLOW_NONE) {
        sheet_limit_words(text, j->allow_nm, style);
        fprintf(out, "; allows %s%s", text, per[j->allow_per]);
    }
    fprintf(out, "; spread by %s\n", sheet_spread_words(j->spread));
}

/* ---- values ---- */

static void
value_row(const struct job *job, const struct history *h, const struct history_name *name, uint32_t i, const struct sheet_style *style,
    struct table *t)
{
    static const char *const words[] = { "mark", "point", "grade" };
    uint32_t value = h->value[name->first + i], entry = history_entry(job->r, name->kind, value);
    struct remark remark = { 0 };
    value_words(job, name->kind, value, style, &remark);
    table_cell(t, i == 0 ? words[name->kind] : NULL);
    table_cell(t, i == 0 ? names_text(&job->r->names, name->name) : NULL);
    count_cell(t, (uint64_t)entry + 1);
    table_cell(t, text_or_nothing(job->r, job->r->entry[entry].by));
    table_cell(t, text_or_nothing(job->r, job->r->entry[entry].time));
    table_cell(t, remark.text);
    table_cell(t, i + 1 == name->count ? "holds" : NULL);
}

/* "building: entries 3, 10; the last holds" */
static void
whole_line(const struct job *job, const struct history *h, const struct history_whole *whole, FILE *out)
{
    const char *what = whole->kind == RECORD_SITE ? "building" : whole->kind == RECORD_HOLES ? "holes"
        : whole->kind == RECORD_CONCRETE ? "concrete" : whole->kind == RECORD_PAD ? "pad" : NULL;
    if (what)
        fprintf(out, "  %s: entries", what);
    else
        fprintf(out, "  row %s after setting: entries", names_text(&job->r->names, whole->row));
    for (uint32_t i = 0; i < whole->count; i++)
        fprintf(out, "%s %" PRIu32, i > 0 ? "," : "", h->entry[whole->first + i] + 1);
    fputs(whole->kind == RECORD_HOLES ? "; what a later one leaves out stays as it was\n"
        : whole->kind == RECORD_SET_POSTS ? "; the last is judged\n" : "; the last holds\n", out);
}

static int
values(const struct job *job, const struct history *h, const struct sheet_style *style, FILE *out)
{
    static const char *const words[] = { " mark", " point", " grade" };
    struct table t;
    int rc = 0;
    fputs("\nGiven more than once; the latest holds for the whole job\n", out);
    table_open(&t, value_columns, sizeof value_columns / sizeof value_columns[0]);
    for (size_t k = 0; k < h->names; k++)
        for (uint32_t i = 0; i < h->name[k].count; i++)
            value_row(job, h, &h->name[k], i, style, &t);
    if (h->names > 0)
        rc = table_print(&t, out);
    for (size_t i = 0; i < h->wholes; i++)
        whole_line(job, h, &h->whole[i], out);
    if (h->names == 0 && h->wholes == 0)
        fputs("  nothing\n", out);
    fputs("  given once, and never revised:", out);
    for (int kind = 0; kind < HISTORY_KINDS; kind++)
        fprintf(out, "%s %zu%s%s", kind > 0 ? "," : "", h->once[kind], words[kind], h->once[kind] == 1 ? "" : "s");
    if (h->derived > 0)
        fprintf(out, "; and %zu points of the building", h->derived);
    fputc('\n', out);
    return rc;
}

/* ---- readings ---- */

/* "fs 5.87; bs 4.15" */
static void
sight_words(const struct record_row *row, bool bs, bool ahead, const struct sheet_style *style, struct remark *out)
{
    char text[LENGTH_TEXT];
    if (ahead && (row->flags & (RECORD_HAS_IS | RECORD_HAS_FS)))
        remark_add(out, "%s %s", row->flags & RECORD_HAS_IS ? "is" : "fs", exact(text, row->ahead, style->elevation));
    if (bs && (row->flags & RECORD_HAS_BS))
        remark_add(out, "bs %s", exact(text, row->bs, style->elevation));
}

static void
instead_words(const struct record *r, const struct history *h, const struct history_strike *s, const struct sheet_style *style,
    struct remark *out)
{
    for (uint32_t i = 0; i < s->count; i++) {
        uint32_t at = h->instead[s->first + i];
        struct remark sights = { 0 };
        sight_words(&r->row[at], s->bs, s->ahead, style, &sights);
        remark_add(out, "%s, row %" PRIu32 " of entry %" PRIu32, sights.text, record_row_number(r, at), record_row_entry(r, at) + 1);
    }
    if (s->count == 0)
        remark_add(out, "nothing");
}

static void
strike_row(const struct record *r, const struct history *h, const struct history_strike *s, const struct sheet_style *style, struct table *t)
{
    const struct record_strike *from = &r->strike[s->strike];
    const struct record_entry *entry = &r->entry[from->entry];
    const struct record_row *row = s->row == RECORD_NONE ? NULL : &r->row[s->row];
    const struct record_section *section = s->section == RECORD_NONE ? NULL : &r->section[s->section];
    const struct record_taped *taped = s->taped == RECORD_NONE ? NULL : &r->taped[s->taped];
    struct remark was = { 0 }, instead = { 0 };
    char text[LENGTH_TEXT];
    uint32_t name = RECORD_NONE;
    if (row) {
        name = row->at;
        sight_words(row, s->bs, s->ahead, style, &was);
    } else if (taped) {
        name = taped->from;
        remark_add(&was, "%s, taped %s", names_text(&r->names, taped->to), exact(text, taped->read, style->elevation));
    } else if (section) {
        name = section->from;
        remark_add(&was, "%s, rise %s", names_text(&r->names, section->to), exact(text, section->rise, style->elevation));
    }
    count_cell(t, from->target_entry);
    count_cell(t, from->target_row);
    table_cell(t, name == RECORD_NONE ? NULL : names_text(&r->names, name));
    table_cell(t, row ? record_on_word((enum record_on)row->on) : "to");
    table_cell(t, was.text);
    count_cell(t, (uint64_t)from->entry + 1);
    table_cell(t, text_or_nothing(r, entry->by));
    table_cell(t, text_or_nothing(r, entry->time));
    table_cell(t, names_text(&r->texts, from->reason));
    if (row)
        instead_words(r, h, s, style, &instead);
    table_cell(t, instead.text);
}

static int
strikes(const struct record *r, const struct history *h, const struct sheet_style *style, FILE *out)
{
    struct table t;
    fputs("\nStruck, and what was read instead\n", out);
    if (h->strikes == 0) {
        fputs("  nothing\n", out);
        return 0;
    }
    table_open(&t, struck_columns, sizeof struck_columns / sizeof struck_columns[0]);
    for (size_t i = 0; i < h->strikes; i++)
        strike_row(r, h, &h->strike[i], style, &t);
    return table_print(&t, out);
}

int
sheet_history(const struct job *job, const struct history *h, FILE *out)
{
    struct sheet_style style = sheet_style_of(job->r);
    sheet_title(job, "History", out);
    job_line(job, &style, out);
    if (values(job, h, &style, out) != 0)
        return -1;
    return strikes(job->r, h, &style, out);
}
