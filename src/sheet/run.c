/* run.c - rows of posts as they stand after setting, for people */
#include "parts.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

static const char *const way_words[] = { "inward", "outward", "left", "right", "towards the start", "towards the end", "towards the string",
    "away from the string", "" }; /* enum setting_way */
static const char *const way_short[] = { "inward", "outward", "left", "right", "to start", "to end", "towards", "away", "" };
static const char *const height_words[] = { "mark", "top" }; /* SETTING_MARK, SETTING_TOP */
static const char *const height_on[] = { "post", "top" };    /* as they are booked */
static const char *const verdict_words[] = { NULL, "good", "OFF", "can't tell" }; /* enum setting_verdict */

/* Gaps are taped a step finer than marks are moved. Heights are as the stakes have them, so that one mark has one move. */
static struct sheet_style
fine_style(const struct job *job)
{
    struct sheet_style style = sheet_style_of(job->r);
    if (style.move.form == LENGTH_AS_IN && style.move.parts < 16)
        style.move.parts = 16;
    return style;
}

static bool
rounds_to_nothing(length size, const struct sheet_style *style)
{
    char text[LENGTH_TEXT];
    length_print(text, size, style->move);
    return !strpbrk(text, "123456789");
}

/* A tolerance is stated as finely as it likes. */
static void
exact_words(char out[SHEET_WORDS], length size, const struct sheet_style *style)
{
    struct sheet_style fine = *style;
    fine.move.parts = 64;
    fine.move.places = size % LENGTH_MM ? 2 : 0;
    sheet_size_words(out, size, &fine);
}

/* "out 3/8 in", "0"; with the words that stand in a column, or in a sentence. */
static void
off_words(char out[SHEET_WORDS], length off, const char *const *words, const struct setting_row *row, const struct sheet_style *style)
{
    if (rounds_to_nothing(off, style)) {
        stpcpy(out, "0");
        return;
    }
    sheet_size_words(stpcpy(stpcpy(out, words[setting_way_of(row, off)]), " "), off, style);
}

static void
high_words(char out[SHEET_WORDS], length off, const struct sheet_style *style)
{
    if (rounds_to_nothing(off, style)) {
        stpcpy(out, "0");
        return;
    }
    sheet_size_words(stpcpy(out, off < 0 ? "low " : "high "), off, style);
}

/* What is good, but to the figures printed as far off as the tolerance, is said to be under it: "low, just under 1/4 in". */
static void
say_just_under(char out[SHEET_WORDS], length off, enum setting_verdict verdict, length tolerance, const struct sheet_style *style)
{
    char size[SHEET_WORDS], limit[SHEET_WORDS], *figures = strpbrk(out, "0123456789");
    sheet_size_words(size, off, style);
    exact_words(limit, tolerance, style);
    if (verdict == SETTING_GOOD && figures && figures > out && tolerance > 0 && strcmp(size, limit) == 0)
        stpcpy(stpcpy(figures - 1, ", just under "), limit);
}

/* "1/4 in over 4 ft" */
static void
ratio_words(char out[SHEET_WORDS * 2], length rise, length over, const struct sheet_style *style)
{
    char height[SHEET_WORDS];
    exact_words(out, rise, style);
    if (style->move.form == LENGTH_AS_MM) {
        length_print(height, over, (struct length_style){ LENGTH_AS_M, over % (LENGTH_CM) ? 3 : over % (10 * LENGTH_CM) ? 2 : 1, 0 });
        stpcpy(height + strlen(height), " m");
    } else if (over % LENGTH_FT == 0) {
        length_print(height, over, (struct length_style){ LENGTH_AS_FT, 0, 0 });
        stpcpy(height + strlen(height), " ft");
    } else {
        exact_words(height, over, style);
    }
    stpcpy(stpcpy(out + strlen(out), " over "), height);
}

static const char *
post_name(const struct setting_row *row, const struct job *job, size_t i)
{
    return names_text(&job->r->names, row->post[i].name);
}

/* ---- what the row is ---- */

static const char *
string_words(const struct setting_row *row)
{
    switch (row->away) {
    case SETTING_IN:
        return "outside the posts";
    case SETTING_OUT:
        return "inside the posts";
    case SETTING_RIGHT:
        return "left of the posts, as seen from the row's beginning";
    case SETTING_LEFT:
        return "right of the posts, as seen from the row's beginning";
    default:
        return "on a side that is not known: state it as side";
    }
}

static void
tolerance_line(const struct record_set *set, const struct sheet_style *style, FILE *out)
{
    char words[SHEET_WORDS * 2];
    struct remark list = { 0 };
    if (set->line > 0) {
        exact_words(words, set->line, style);
        remark_add(&list, "line %s", words);
    }
    if (set->height > 0) {
        exact_words(words, set->height, style);
        remark_add(&list, "height %s", words);
    }
    if (set->plumb_over > 0) {
        ratio_words(words, set->plumb_rise, set->plumb_over, style);
        remark_add(&list, "plumb %s", words);
    }
    if (list.used == 0)
        fputs("  no tolerance is stated: everything is shown, and nothing is judged\n", out);
    else
        fprintf(out, "  off at, or beyond: %s; as the crew states it\n", list.text);
}

static void
heading(const struct settings *s, const struct setting_row *row, const struct sheet_style *style, FILE *out)
{
    const struct record *r = s->job->r;
    char words[SHEET_WORDS];
    fprintf(out, "\nRow %s, entry %" PRIu32, names_text(&r->names, row->set->row), row->set->entry + 1);
    if (row->set->date != RECORD_NONE)
        fprintf(out, ", %s", names_text(&r->texts, row->set->date));
    fprintf(out, ": %zu post%s", row->posts, row->posts == 1 ? "" : "s");
    if (row->posts > 1)
        fprintf(out, ", from %s to %s", post_name(row, s->job, 0), post_name(row, s->job, row->posts - 1));
    fputc('\n', out);
    if (row->set->has_gap) {
        exact_words(words, row->set->gap, style);
        fprintf(out, "  the string is to be %s off the faces, %s\n", words, string_words(row));
    } else {
        fprintf(out, "  the string is %s; how far off the faces it should be is not said\n", string_words(row));
    }
    sheet_sure_words(words, (double)row->sigma / (double)LENGTH_M, style);
    fprintf(out, "  a gap is good to +- %s%s\n", words, row->sigma_stated ? "" : ", the usual of a tape, for none is stated");
    tolerance_line(row->set, style, out);
    if (row->before) {
        fprintf(out, "  compared with entry %" PRIu32, row->before->entry + 1);
        if (row->before->date != RECORD_NONE)
            fprintf(out, ", %s", names_text(&r->texts, row->before->date));
        fputc('\n', out);
    }
}

/* ---- tables ---- */

static void
cell_words(struct table *t, const char *words)
{
    table_cell(t, words[0] ? words : "-");
}

static void
face_remarks(const struct settings *s, const struct setting_row *row, const struct setting_post *p, const struct sheet_style *style,
    struct remark *remark)
{
    char words[SHEET_WORDS];
    if (p->rogue)
        remark_add(remark, "ROGUE");
    else if (p->out && p->rival != JOB_NONE)
        remark_add(remark, "it or %s stands out", post_name(row, s->job, p->rival));
    else if (p->out)
        remark_add(remark, "stands out from the others");
    if (p->touches)
        remark_add(remark, p->gap < 0 ? "PUSHES the string" : row->set->gap > 0 ? "TOUCHES the string" : "touches the string");
    if (p->has_change && !rounds_to_nothing(p->change, style)) {
        off_words(words, p->change, way_words, row, style);
        remark_add(remark, "moved %s since entry %" PRIu32 "%s", words, row->before->entry + 1,
            p->change_sure ? "" : ", within the tape's doubt");
    }
    if (!p->row)
        remark_add(remark, "NOT MEASURED");
    else if (!p->has_gap)
        remark_add(remark, "no gap measured");
    if (p->row && p->row->note != RECORD_NONE)
        remark_add(remark, "%s", names_text(&s->job->r->texts, p->row->note));
}

static int
face_table(const struct settings *s, const struct setting_row *row, const struct sheet_style *style, FILE *out)
{
    static const struct table_column columns[] = { { "post", false, false }, { "gap", true, false }, { "off the string", true, false },
        { "off its line", true, false }, { "judged", false, false }, { "remarks", false, false } };
    struct table t;
    char words[SHEET_WORDS];
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < row->posts; i++) {
        const struct setting_post *p = &row->post[i];
        struct remark remark = { 0 };
        table_cell(&t, post_name(row, s->job, i));
        words[0] = '\0';
        if (p->has_gap) {
            sheet_size_words(words + (p->gap < 0), p->gap, style);
            if (p->gap < 0)
                words[0] = '-';
        }
        cell_words(&t, words);
        words[0] = '\0';
        if (p->has_off)
            off_words(words, p->off, way_short, row, style);
        if (p->has_off)
            say_just_under(words, p->off, p->line, row->set->line, style);
        cell_words(&t, words);
        words[0] = '\0';
        if (p->has_own)
            off_words(words, p->own, way_short, row, style);
        if (p->has_own && !p->has_off)
            say_just_under(words, p->own, p->line, row->set->line, style);
        cell_words(&t, words);
        table_cell(&t, verdict_words[p->line]);
        face_remarks(s, row, p, style, &remark);
        table_cell(&t, remark.text);
    }
    return table_print(&t, out);
}

static void
height_remarks(const struct setting_row *row, const struct setting_height *h, const struct sheet_style *style, const struct job *job,
    bool all_old, struct remark *remark)
{
    char words[SHEET_WORDS];
    const struct level_spot *l = &job->level_spot[h->spot];
    if (h->rogue)
        remark_add(remark, "ROGUE");
    else if (h->out && h->rival != JOB_NONE)
        remark_add(remark, "it or %s stands out", post_name(row, job, h->rival));
    else if (h->out)
        remark_add(remark, "stands out from the others");
    if (h->adrift)
        remark_add(remark, "no elevation: its set-up hangs on nothing");
    if (h->outside)
        remark_add(remark, "levels OUTSIDE their limit: close them first");
    if (h->unchecked)
        remark_add(remark, "unchecked");
    if (h->old && !all_old)
        remark_add(remark, "read before entry %" PRIu32 ", not since", row->before->entry + 1);
    if (h->moved) {
        sheet_move_words(words, h->change, style);
        remark_add(remark, "moved %s", words);
    }
    if (h->verdict == SETTING_GOOD && h->stake && h->stake->verdict == JOB_MOVE) { /* its tolerance is narrower */
        sheet_move_words(words, h->stake->move.move, style);
        remark_add(remark, "stake sheet: %s", words);
    }
    apart_remark(remark, l->readings, l->high - l->low, style);
}

/* Some height has a line of the run's own and no grade: where grade tells, the line would only say it otherwise. */
static bool
wants_own_line(const struct setting_row *row)
{
    for (int what = 0; what < SETTING_HEIGHTS; what++)
        for (size_t i = 0; i < row->posts; i++) {
            const struct setting_height *h = &row->post[i].height[what];
            if (h->read && h->has_own && !h->has_grade)
                return true;
        }
    return false;
}

/* Nothing was levelled since the measurement before. */
static bool
all_are_old(const struct setting_row *row)
{
    bool read = false;
    for (int what = 0; what < SETTING_HEIGHTS; what++)
        for (size_t i = 0; i < row->posts; i++) {
            read |= row->post[i].height[what].read;
            if (row->post[i].height[what].read && !row->post[i].height[what].old)
                return false;
        }
    return read;
}

static int
height_table(const struct settings *s, const struct setting_row *row, const struct sheet_style *style, FILE *out)
{
    const struct table_column columns[] = { { "post", false, false }, { "on", false, false }, { "elevation", true, false },
        { "grade", true, false }, { "off grade", true, false }, { style->move.form == LENGTH_AS_MM ? "+- mm" : "+- in", true, false },
        { "off its line", true, false }, { "judged", false, false }, { "remarks", false, false } };
    struct table t;
    char words[SHEET_WORDS];
    bool all_old = all_are_old(row), own_line = wants_own_line(row);
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (int what = 0; what < SETTING_HEIGHTS; what++)
        for (size_t i = 0; i < row->posts; i++) {
            const struct setting_height *h = &row->post[i].height[what];
            struct remark remark = { 0 };
            if (!h->read)
                continue;
            table_cell(&t, post_name(row, s->job, i));
            table_cell(&t, height_on[what]);
            if (h->known)
                table_length(&t, h->elevation, style->adjusted);
            else
                table_cell(&t, "-");
            if (h->has_grade)
                table_length(&t, h->grade, style->adjusted);
            else
                table_cell(&t, "-");
            words[0] = '\0';
            if (h->has_grade)
                high_words(words, h->off, style);
            say_just_under(words, h->off, h->verdict, row->set->height, style);
            cell_words(&t, words);
            sheet_sigma_words(words, h->sigma, style);
            table_cell(&t, words);
            words[0] = '\0';
            if (own_line && h->has_own)
                high_words(words, h->own, style);
            table_cell(&t, own_line ? words[0] ? words : "-" : "");
            table_cell(&t, verdict_words[h->verdict]);
            height_remarks(row, h, style, s->job, all_old, &remark);
            table_cell(&t, remark.text);
        }
    if (t.cells == 0) {
        free(t.bytes);
        return 0;
    }
    fputs("\nHeights", out);
    if (all_old)
        fprintf(out, ": read before entry %" PRIu32 ", none since", row->before->entry + 1);
    fputc('\n', out);
    return table_print(&t, out);
}

static int
plumb_table(const struct settings *s, const struct setting_row *row, const struct sheet_style *style, FILE *out)
{
    bool metric = style->move.form == LENGTH_AS_MM;
    const struct table_column columns[] = { { "post", false, false }, { "its top leans", false, false }, { "by", false, false },
        { metric ? "mm per m" : "in per ft", true, false }, { "degrees", true, false }, { "judged", false, false } };
    struct table t;
    char words[SHEET_WORDS * 2];
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < row->posts; i++)
        for (int k = 0; k < SETTING_LEANS; k++) {
            const struct setting_lean *lean = &row->post[i].lean[k];
            if (!lean->known)
                continue;
            table_cell(&t, post_name(row, s->job, i));
            table_cell(&t, lean->rise == 0 ? (k == SETTING_ALONG ? "plumb, along the row" : "plumb, across the row")
                    : lean->way == SETTING_UNSAID ? "along the row"
                                                  : way_words[lean->way]);
            ratio_words(words, lean->rise, lean->over, style);
            table_cell(&t, lean->rise == 0 ? "0" : words);
            double ratio = (double)lean->rise / (double)lean->over;
            snprintf(words, sizeof words, "%.*f", metric ? 1 : 3, ratio * (metric ? 1000 : 12));
            table_cell(&t, words);
            snprintf(words, sizeof words, "%.2f", lean->angle * 57.29577951308232); /* degrees in a radian */
            table_cell(&t, words);
            table_cell(&t, verdict_words[lean->verdict]);
        }
    if (t.cells == 0) {
        free(t.bytes);
        return 0;
    }
    fputs("\nPlumb\n", out);
    return table_print(&t, out);
}

/* ---- what can be told ---- */

static void
line_notes(const struct settings *s, const struct setting_row *row, const struct sheet_style *style, FILE *out)
{
    const struct setting_line *line = &row->line;
    char first[SHEET_WORDS], last[SHEET_WORDS], middle[SHEET_WORDS];
    if (line->read < 3) {
        if (row->posts > 1 || line->read > 0)
            fprintf(out, "  %zu gap%s: %s\n", line->read, line->read == 1 ? "" : "s",
                line->read == 2 ? "two posts are always in line; only the string tells anything of them"
                                : "the posts have no line of their own; only the string tells anything");
        return;
    }
    if (line->read == 3 && line->bent) {
        off_words(middle, line->middle, way_words, row, style);
        fprintf(out, "  Three posts, not in one line: %s is %s from the other two, or one of those is off.\n"
                     "  Three cannot tell which; the string can, while it is straight.\n",
            post_name(row, s->job, line->three[1]), middle);
    } else if (line->read == 3) {
        fputs("  three posts, in one line as far as the tape tells; with three, one that is off could not be named\n", out);
    }
    if (line->fit.crowded)
        fputs("  More posts stand off the others' line than can be told from them: none is named. Go by the string,\n"
              "  once it is sure to be straight.\n",
            out);
    if (!row->set->has_gap || !line->known)
        return;
    off_words(first, line->first, way_words, row, style);
    off_words(last, line->last, way_words, row, style);
    fprintf(out, "  the posts' own line against the string: %s at %s, %s at %s\n", first, post_name(row, s->job, line->from), last,
        post_name(row, s->job, line->to));
    if (line->first_verdict == SETTING_OFF || line->last_verdict == SETTING_OFF)
        fputs("  THE RUN AS A WHOLE IS OFF THE STRING: look at the string, its nails and its spacers before you\n"
              "  push any post.\n",
            out);
}

static bool
has_leans(const struct setting_row *row)
{
    for (size_t i = 0; i < row->posts; i++)
        if (row->post[i].lean[SETTING_ALONG].known || row->post[i].lean[SETTING_ACROSS].known)
            return true;
    return false;
}

static void
grade_notes(const struct settings *s, const struct setting_row *row, FILE *out)
{
    bool marks = false, tops = false;
    for (size_t i = 0; i < row->posts; i++) {
        marks |= row->post[i].height[SETTING_MARK].read;
        tops |= row->post[i].height[SETTING_TOP].read;
    }
    if (row->grades > 1)
        fprintf(out, "  %zu grades serve posts, and heights are held against none: name one with --grade\n", row->grades);
    else if (row->grade && (marks || tops))
        fprintf(out, "  heights are held against grade %s, entry %" PRIu32 "\n", names_text(&s->job->r->names, row->grade->from->name),
            row->grade->from->entry + 1);
    else if (marks || tops || row->set->height > 0)
        fputs("  no grade serves posts: heights are held against none\n", out);
    if (tops && !row->set->has_reveal)
        fputs("  tops are held against their own line only: the entry does not say their reveal above the grade\n", out);
    if (row->set->height > 0 && !marks && !tops)
        fputs("  no heights are read, on post or on top: the stated tolerance of height is not looked at\n", out);
    if (row->set->plumb_over > 0 && !has_leans(row))
        fputs("  plumb is not measured: its stated tolerance is not looked at\n", out);
}

/* ---- what to do ---- */

static void
push_words(char *out, const struct setting_row *row, const struct setting_post *p, const struct sheet_style *style)
{
    char size[SHEET_WORDS];
    length off = p->has_off ? p->off : p->own;
    sheet_size_words(size, off, style);
    out = stpcpy(stpcpy(out, way_words[setting_way_of(row, -off - (off == 0))]), " ");
    out = stpcpy(out, size);
    if (!p->has_high) {
        stpcpy(out, " at the string");
        return;
    }
    out = stpcpy(out, p->row->has_gap ? " at the string, and " : " at the low gap, and ");
    sheet_size_words(size, p->high_off, style);
    out = stpcpy(stpcpy(out, rounds_to_nothing(p->high_off, style) ? "not" : way_words[setting_way_of(row, -p->high_off)]), " ");
    if (!rounds_to_nothing(p->high_off, style))
        out = stpcpy(stpcpy(out, size), " ");
    stpcpy(out, "at the high one");
}

static void
face_to_do(const struct settings *s, const struct setting_row *row, size_t i, const struct sheet_style *style, FILE *out)
{
    const struct setting_post *p = &row->post[i];
    char words[SHEET_WORDS * 4], off[SHEET_WORDS];
    const char *name = post_name(row, s->job, i);
    if (p->rogue) {
        off_words(off, p->own, way_words, row, style);
        fprintf(out, "  %s is the ROGUE: %s from the line of the others, beyond doubt.\n", name, off);
    }
    if (p->out && p->rival != JOB_NONE)
        fprintf(out, "  %s or %s is off the line of the others; the posts cannot tell which, the string can.\n", name,
            post_name(row, s->job, p->rival));
    if (p->line == SETTING_UNSURE && p->has_off) {
        off_words(off, p->off, way_words, row, style);
        fprintf(out, "  %s: can't tell, measure it again: %s is too near the tolerance for the tape.\n", name, off);
    } else if (p->line == SETTING_UNSURE) {
        fprintf(out, "  %s: can't tell: say what gap the string should have, or measure more posts.\n", name);
    } else if (p->line == SETTING_OFF && (!row->pushed || p->touches)) {
        push_words(words, row, p, style);
        fprintf(out, "  Push %s %s; brace it both ways%s.\n", name, words, p->has_high ? "" : ", and measure it again");
    }
}

/* The way back. */
static enum setting_way
opposite(enum setting_way way)
{
    static const enum setting_way back[] = { SETTING_OUT, SETTING_IN, SETTING_RIGHT, SETTING_LEFT, SETTING_END, SETTING_START,
        SETTING_FROM_STRING, SETTING_TO_STRING, SETTING_UNSAID };
    return back[way];
}

static void
lean_to_do(const struct settings *s, const struct setting_row *row, size_t i, const struct sheet_style *style, FILE *out)
{
    char words[SHEET_WORDS * 2];
    for (int k = 0; k < SETTING_LEANS; k++) {
        const struct setting_lean *lean = &row->post[i].lean[k];
        const char *name = post_name(row, s->job, i);
        ratio_words(words, lean->rise, lean->over > 0 ? lean->over : LENGTH_FT, style);
        if (lean->verdict == SETTING_UNSURE)
            fprintf(out, "  %s: can't tell whether it is plumb: %s. Measure it again, over more height.\n", name, words);
        else if (lean->verdict == SETTING_OFF && lean->way == SETTING_UNSAID)
            fprintf(out, "  Plumb %s along the row: it leans %s, and which way was not said.\n", name, words);
        else if (lean->verdict == SETTING_OFF)
            fprintf(out, "  Plumb %s: bring its top %s, %s; brace it both ways.\n", name, way_words[opposite(lean->way)], words);
    }
}

static void
height_to_do(const struct settings *s, const struct setting_row *row, size_t i, const struct sheet_style *style, FILE *out)
{
    char words[SHEET_WORDS];
    for (int what = 0; what < SETTING_HEIGHTS; what++) {
        const struct setting_height *h = &row->post[i].height[what];
        const char *name = post_name(row, s->job, i), *on = height_words[what];
        if (h->rogue) {
            high_words(words, h->own, style);
            fprintf(out, "  The %s of %s is %s against the line of the others, beyond doubt.\n", on, name, words);
        }
        if (h->verdict == SETTING_UNSURE) {
            fprintf(out, "  The %s of %s: can't tell, read it again.\n", on, name);
        } else if (h->verdict == SETTING_OFF) {
            sheet_move_words(words, -h->off, style);
            fprintf(out, "  The %s of %s belongs %s: %s.\n", on, name, words,
                what == SETTING_MARK ? "mark it anew, or move the post while it can be moved" : "move the post while it can be moved, or cut it");
        }
    }
}

static bool
is_unmeasured(const struct setting_row *row, size_t i)
{
    return row->post[i].row == NULL;
}

/* A tolerance of heights is stated, and there is none to hold against it. */
static bool
wants_height(const struct setting_row *row, size_t i)
{
    const struct setting_post *p = &row->post[i];
    return row->set->height > 0 && !p->height[SETTING_MARK].has_grade && !p->height[SETTING_TOP].has_grade;
}

static void
list_posts(const struct settings *s, const struct setting_row *row, const char *what, bool (*is_one)(const struct setting_row *, size_t),
    FILE *out)
{
    size_t shown = 0, all = 0, width = strlen(what);
    for (size_t i = 0; i < row->posts; i++)
        all += is_one(row, i);
    if (all == 0)
        return;
    fprintf(out, "  %s: ", what);
    for (size_t i = 0; i < row->posts; i++) {
        const char *name = post_name(row, s->job, i);
        if (!is_one(row, i))
            continue;
        width += strlen(name) + 2;
        if (width > 88) {
            fprintf(out, " and %zu more", all - shown);
            break;
        }
        fprintf(out, "%s%s", shown++ > 0 ? ", " : "", name);
    }
    fputs(".\n", out);
}

static void
string_to_do(const struct setting_row *row, FILE *out)
{
    if (!row->touched)
        return;
    if (!row->pushed)
        fputs("  The string is meant to touch. A post that pushes it shows no gap of its own, and spoils those beside\n"
              "  it: hang the string off the faces by a block, the same at both ends, and measure to that.\n",
            out);
    else
        fputs("  A post that touches the string pushes it, and the gaps beside it are not to be trusted: get it\n"
              "  clear of the string first, then measure the run again; no other post is to be pushed before that.\n",
            out);
}

static void
to_do(const struct settings *s, const struct setting_row *row, const struct sheet_style *style, const struct sheet_style *moves, FILE *out)
{
    fputs("\nTo do\n", out);
    string_to_do(row, out);
    for (size_t i = 0; i < row->posts; i++) {
        face_to_do(s, row, i, style, out);
        lean_to_do(s, row, i, style, out);
        height_to_do(s, row, i, moves, out);
    }
    list_posts(s, row, "Not measured", is_unmeasured, out);
    list_posts(s, row, "No height to hold against grade", wants_height, out);
    if (row->good && row->judged)
        fputs("  nothing: all that was measured is within the stated tolerances\n", out);
    else if (row->good)
        fputs("  nothing that can be told without a tolerance\n", out);
}

static int
one_row(const struct settings *s, const struct setting_row *row, const struct sheet_style *style, const struct sheet_style *moves, FILE *out)
{
    heading(s, row, style, out);
    grade_notes(s, row, out);
    fputc('\n', out);
    if (face_table(s, row, style, out) != 0)
        return -1;
    line_notes(s, row, style, out);
    if (height_table(s, row, moves, out) != 0 || plumb_table(s, row, style, out) != 0)
        return -1;
    to_do(s, row, style, moves, out);
    return 0;
}

static bool
has_heights(const struct settings *s)
{
    for (size_t i = 0; i < s->rows; i++)
        for (size_t k = 0; k < s->row[i].posts; k++)
            if (s->row[i].post[k].height[SETTING_MARK].has_grade || s->row[i].post[k].height[SETTING_TOP].has_grade)
                return true;
    return false;
}

int
sheet_run(const struct settings *s, FILE *out)
{
    struct sheet_style style = fine_style(s->job), moves = sheet_style_of(s->job->r);
    sheet_title(s->job, "Runs of posts", out);
    for (size_t i = 0; i < s->rows; i++)
        if (one_row(s, &s->row[i], &style, &moves, out) != 0)
            return -1;
    fputs("\nOff the string: the gap, less what it should be. Off its line: off the straight line that the\n"
          "posts make themselves, without those that stand out from the others beyond doubt; a post that\n"
          "touches the string bends the string, not this line.\n",
        out);
    if (has_heights(s))
        fputs("+-: standard deviation of off grade. The stake sheet has a tolerance of its own, that of the grade.\n", out);
    fputs("Wet concrete burns, and is not felt at first: gloves, boots, eye protection; wash it off at once.\n"
          "Brace every post both ways before you let go of it, and leave none unbraced: until the frame is\n"
          "whole, wind is the danger. What a post may be off is for the plan and the local code to say.\n",
        out);
    return 0;
}
