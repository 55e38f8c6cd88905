/* book.c - the field book, height of instrument or rise and fall */
#include "parts.h"

#include <inttypes.h>
#include <string.h>

static const struct table_column hi_columns[] = { { "row", true, true }, { "set-up", true, true },
    { "point", false, true }, { "on", false, true }, { "BS", true, true }, { "HI", true, true }, { "IS", true, true }, { "FS", true, true },
    { "elevation", true, true },
    { "remarks", false, false } };

static const struct table_column rise_columns[] = { { "row", true, true }, { "set-up", true, true },
    { "point", false, true }, { "on", false, true }, { "BS", true, true }, { "IS", true, true }, { "FS", true, true }, { "rise", true, true },
    { "fall", true, true },
    { "elevation", true, true }, { "remarks", false, false } };

/* A reading; struck ones stand between strokes. */
static void
reading_cell(struct table *t, bool shown, bool struck, length value, const struct sheet_style *style)
{
    char text[LENGTH_TEXT], cell[LENGTH_TEXT + 2];
    if (!shown) {
        table_cell(t, NULL);
        return;
    }
    length_print(text, value, style->elevation);
    snprintf(cell, sizeof cell, struck ? "/%s/" : "%s", text);
    table_cell(t, cell);
}

static void
strike_remark(const struct record *r, uint32_t number, struct remark *remark)
{
    const struct record_strike *s = &r->strike[number];
    uint32_t by = r->entry[s->entry].by;
    remark_add(remark, "struck%s%s: %s", by == RECORD_NONE ? "" : " by ", by == RECORD_NONE ? "" : names_text(&r->texts, by),
        names_text(&r->texts, s->reason));
}

static void
wires_remark(const struct record_extra *x, const char *sight_of, length dist, const struct sheet_style *style, struct remark *remark)
{
    const length *wire = strcmp(sight_of, "BS") == 0 ? x->wire_bs : x->wire_ahead;
    struct length_style as = style->elevation;
    char text[3][LENGTH_TEXT], sight[LENGTH_TEXT];
    if (as.form != LENGTH_AS_FT_IN && as.places > 1)
        as.places--; /* wires are read to the least division */
    for (int i = 0; i < 3; i++)
        length_print(text[i], wire[i], as);
    length_print(sight, dist, sheet_distance(style));
    remark_add(remark, "%s wires %s %s %s, sight %s%s", sight_of, text[0], text[1], text[2], sight,
        as.form == LENGTH_AS_FT ? " ft" : as.form == LENGTH_AS_M ? " m" : "");
}

/* A run that goes on from a point of another one begins at that point's adjusted elevation, not at the one carried to it there. */
static bool
begins_adjusted(const struct job *job, const struct job_line *line)
{
    uint32_t spot = job->spot_of[(size_t)line->row->at * RECORD_ON_COUNT + line->row->on];
    if (!line->shows_bs || line->shows_ahead || !line->known || spot == JOB_NONE)
        return false;
    const struct level_spot *s = &job->level_spot[spot];
    return s->state != LEVEL_MARK && line->elevation == s->value && line->elevation != s->raw;
}

static void
line_remarks(const struct job *job, const struct job_line *line, const struct sheet_style *style, struct remark *remark)
{
    const struct record_row *row = line->row;
    const struct record_extra *x = record_extra(job->r, row);
    char text[LENGTH_TEXT + 1];
    bool inverted = (line->shows_ahead && row->ahead < 0) || (line->shows_bs && row->bs < 0);
    if (line->struck_ahead)
        strike_remark(job->r, x->strike_ahead, remark);
    if (line->struck_bs && !(line->struck_ahead && x->strike_bs == x->strike_ahead))
        strike_remark(job->r, x->strike_bs, remark);
    if (x->for_row > 0)
        remark_add(remark, "for row %" PRIu32 " of entry %" PRIu32, x->for_row, x->for_entry);
    if (row->flags & RECORD_MOVED)
        remark_add(remark, "moved");
    if (begins_adjusted(job, line))
        remark_add(remark, "as adjusted");
    if (inverted)
        remark_add(remark, "rod inverted");
    if (line->on_mark) {
        signed_length(text, line->off_mark, style->elevation);
        remark_add(remark, "given mark: reads %s off it", text);
    }
    if (line->shows_ahead && (x->wires & (RECORD_HAS_IS | RECORD_HAS_FS)))
        wires_remark(x, row->flags & RECORD_HAS_FS ? "FS" : "IS", line->dist.ahead, style, remark);
    if (line->shows_bs && (x->wires & RECORD_HAS_BS))
        wires_remark(x, "BS", line->dist.bs, style, remark);
    if (x->note != RECORD_NONE)
        remark_add(remark, "%s", names_text(&job->r->texts, x->note));
}

/* The columns that both forms begin with: row, set-up, point, on, BS. */
static void
first_cells(const struct job *job, const struct job_line *line, const struct sheet_style *style, struct table *t)
{
    const struct record_row *row = line->row;
    const struct record_run *run = &job->r->run[job->r->entry[line->entry].head];
    char text[SHEET_WORDS];
    if (line->entry == run->entry)
        snprintf(text, sizeof text, "%" PRIu32, line->number);
    else /* a row of an entry that continues the run */
        snprintf(text, sizeof text, "%" PRIu32 ".%" PRIu32, line->entry + 1, line->number);
    table_cell(t, text);
    snprintf(text, sizeof text, "%" PRIu32 ".%" PRIu32, run->entry + 1, line->setup);
    table_cell(t, line->setup ? text : NULL);
    table_cell(t, names_text(&job->r->names, row->at));
    table_cell(t, record_on_word((enum record_on)row->on));
    reading_cell(t, line->shows_bs, line->struck_bs, row->bs, style);
}

static void
ahead_cells(const struct job_line *line, const struct sheet_style *style, struct table *t)
{
    const struct record_row *row = line->row;
    reading_cell(t, line->shows_ahead && (row->flags & RECORD_HAS_IS), line->struck_ahead, row->ahead, style);
    reading_cell(t, line->shows_ahead && (row->flags & RECORD_HAS_FS), line->struck_ahead, row->ahead, style);
}

static void
last_cells(const struct job *job, const struct job_line *line, const struct sheet_style *style, struct table *t)
{
    struct remark remark = { 0 };
    reading_cell(t, line->known, false, line->elevation, style);
    line_remarks(job, line, style, &remark);
    table_cell(t, remark.text);
}

static void
book_line(const struct job *job, const struct job_line *line, bool hi_form, const struct sheet_style *style, struct table *t)
{
    first_cells(job, line, style, t);
    if (hi_form)
        reading_cell(t, line->known && line->setup > 0, false, line->hi, style);
    ahead_cells(line, style, t);
    if (!hi_form) {
        reading_cell(t, line->has_step && line->step >= 0, false, line->step, style);
        reading_cell(t, line->has_step && line->step < 0, false, -line->step, style);
    }
    last_cells(job, line, style, t);
}

static void
section_line(const struct job *job, const struct job_line *line, const struct sheet_style *style, struct table *t)
{
    const struct record_section *s = line->section;
    struct remark remark = { 0 };
    char text[SHEET_WORDS];
    snprintf(text, sizeof text, "%" PRIu32, s->number);
    table_cell(t, text);
    table_cell(t, names_text(&job->r->names, s->from));
    table_cell(t, names_text(&job->r->names, s->to));
    reading_cell(t, s->rise >= 0, line->struck_ahead, s->rise, style);
    reading_cell(t, s->rise < 0, line->struck_ahead, -s->rise, style);
    length_print(text, s->dist, sheet_distance(style));
    table_cell(t, s->dist > 0 ? text : NULL);
    snprintf(text, sizeof text, "%" PRIu32, s->setups);
    table_cell(t, s->setups ? text : NULL);
    reading_cell(t, line->known, false, line->elevation, style);
    if (line->struck_ahead)
        strike_remark(job->r, s->strike, &remark);
    if (s->note != RECORD_NONE)
        remark_add(&remark, "%s", names_text(&job->r->texts, s->note));
    table_cell(t, remark.text);
}

/* a - b = c, each length in the style. */
static void
difference(FILE *out, const char *a_name, length a, const char *b_name, length b, const struct sheet_style *style)
{
    char x[LENGTH_TEXT], y[LENGTH_TEXT], z[LENGTH_TEXT + 1];
    length_print(x, a, style->elevation);
    length_print(y, b, style->elevation);
    signed_length(z, a - b, style->elevation);
    fprintf(out, "    %s %s - %s %s = %s\n", a_name, x, b_name, y, z);
}

static void
print_check(const struct job_item *item, const struct sheet_style *style, FILE *out)
{
    const struct level_check *c = &item->sums;
    if (item->kind == JOB_PAGE_CHECK)
        fprintf(out, "  check of book page %" PRIu32 "\n", item->number);
    else if (item->sections)
        fprintf(out, "  check of chain %" PRIu32 "\n", item->number);
    else if (item->number > 1 || !item->last)
        fprintf(out, "  check of piece %" PRIu32 " of a broken run\n", item->number);
    else
        fputs("  check of the run\n", out);
    if (!c->started) {
        fputs("    nothing to check: no set-up has two sights\n", out);
        return;
    }
    if (!item->sections)
        difference(out, "sum BS", c->sum_bs, "sum FS", c->sum_fs, style);
    difference(out, "sum rise", c->sum_rise, "sum fall", c->sum_fall, style);
    difference(out, "last", c->last, "first", c->first, style);
    if (item->kind == JOB_PAGE_CHECK && c->carried)
        fputs("    (the backsight that ends the page counts on the next)\n", out);
    if (c->left_open)
        fputs("    (the last sight, an IS, is summed with the FS)\n", out);
    fputs(item->agrees ? "    they agree exactly\n" : "    THEY DO NOT AGREE\n", out);
}

/* Print what has gathered in the table, then a check under it. */
static int
flush_table(struct table *t, FILE *out)
{
    return t->cells > 0 ? table_print(t, out) : 0;
}

static int
print_run(const struct job *job, uint32_t run, bool hi_form, const struct sheet_style *style, FILE *out)
{
    static const struct table_column section_columns[] = { { "row", true, false }, { "from", false, false }, { "to", false, false },
        { "rise", true, false }, { "fall", true, false }, { "distance", true, false }, { "set-ups", true, false }, { "elevation", true, false },
        { "remarks", false, false } };
    bool sections = job->r->run[run].sections;
    struct table t;
    struct job_book book;
    int rc = 0;
    if (sections)
        table_open(&t, section_columns, sizeof section_columns / sizeof section_columns[0]);
    else if (hi_form)
        table_open(&t, hi_columns, sizeof hi_columns / sizeof hi_columns[0]);
    else
        table_open(&t, rise_columns, sizeof rise_columns / sizeof rise_columns[0]);
    job_book_open(&book, job, run);
    for (const struct job_item *item; rc == 0 && (item = job_book_next(&book)) != NULL;) {
        if (item->kind != JOB_LINE) {
            rc = flush_table(&t, out);
            print_check(item, style, out);
        } else if (sections) {
            section_line(job, &item->line, style, &t);
        } else {
            book_line(job, &item->line, hi_form, style, &t);
        }
    }
    return rc;
}

static void
run_heading(const struct job *job, uint32_t run, const char *form, FILE *out)
{
    const struct record_run *r = &job->r->run[run];
    const struct {
        const char *before;
        uint32_t text;
    } parts[] = { { "", r->date }, { "instrument ", r->instrument }, { "observer ", r->observer }, { "rodman ", r->rodman },
        { "", r->weather }, { "", r->note } };
    bool any = false;
    fprintf(out, "\n%s of entry %" PRIu32 "%s%s\n", r->sections ? "Sections" : "Run", r->entry + 1, form[0] ? ", by " : "",
        form);
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        if (parts[i].text == RECORD_NONE)
            continue;
        fprintf(out, "%s%s%s", any ? ", " : "  ", parts[i].before, names_text(&job->r->texts, parts[i].text));
        any = true;
    }
    if (any)
        fputc('\n', out);
}

int
sheet_book(const struct job *job, unsigned forms, FILE *out)
{
    struct sheet_style style = sheet_style_of(job->r);
    sheet_title(job, "Field book", out);
    for (uint32_t run = 0; run < job->r->runs; run++) {
        bool sections = job->r->run[run].sections;
        if (sections || (forms & SHEET_HI)) {
            run_heading(job, run, sections ? "" : "height of instrument", out);
            if (print_run(job, run, true, &style, out) != 0)
                return -1;
        }
        if (!sections && (forms & SHEET_RISE_FALL)) {
            run_heading(job, run, "rise and fall", out);
            if (print_run(job, run, false, &style, out) != 0)
                return -1;
        }
    }
    sheet_closures(job, out);
    return sheet_points(job, out);
}

int
sheet_last_run(const struct job *job, FILE *out)
{
    struct sheet_style style = sheet_style_of(job->r);
    uint32_t run = (uint32_t)job->r->runs - 1;
    if (job->r->runs == 0) {
        fputs("no run is booked yet\n", out);
        return 0;
    }
    run_heading(job, run, job->r->run[run].sections ? "" : "height of instrument", out);
    return print_run(job, run, true, &style, out);
}
