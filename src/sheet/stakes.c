/* stakes.c - the stake sheet: every mark against its grade */
#include "parts.h"

#include <inttypes.h>
#include <string.h>

#define COLUMNS 11
static const struct table_column columns_in[COLUMNS] = { { "mark", false, false }, { "on", false, false }, { "elevation", true, false },
    { "grade", true, false }, { "cut", true, false }, { "fill", true, false }, { "move", false, false }, { "+- in", true, false },
    { "grade rod", true, false }, { "set-up", false, false }, { "remarks", false, false } };
static const struct table_column columns_mm[COLUMNS] = { { "mark", false, false }, { "on", false, false }, { "elevation", true, false },
    { "grade", true, false }, { "cut", true, false }, { "fill", true, false }, { "move", false, false }, { "+- mm", true, false },
    { "grade rod", true, false }, { "set-up", false, false }, { "remarks", false, false } };

/* ---- what a grade is, in words ---- */

void
slope_words(char *out, size_t room, const struct job *job, const struct record_slope *s)
{
    const char *towards = s->towards == RECORD_TOWARDS_LENGTH ? "length (+x)"
        : s->towards == RECORD_TOWARDS_WIDTH                  ? "width (+y)"
                                                              : names_text(&job->r->names, s->point);
    int64_t rise = s->rise < 0 ? -s->rise : s->rise;
    if (rise == 0)
        snprintf(out, room, ", level");
    else
        snprintf(out, room, ", %s 1 in %.6g towards %s", s->rise < 0 ? "falling" : "rising", (double)s->run / (double)rise,
            towards);
}

void
through_words(struct remark *out, const struct job *job, const struct record_through *t, const struct sheet_style *style)
{
    char plus[LENGTH_TEXT + 1];
    signed_length(plus, t->plus, style->elevation);
    remark_add(out, "%s%s%s%s%s", names_text(&job->r->names, t->at), t->on == RECORD_ON_MARK ? "" : " ",
        t->on == RECORD_ON_MARK ? "" : record_on_word(t->on), t->plus ? " " : "", t->plus ? plus : "");
}

void
sheet_grade_heading(const struct job *job, const struct job_grade *g, const struct sheet_style *style, FILE *out)
{
    const struct record_grade *from = g->from;
    char tolerance[SHEET_WORDS], level[LENGTH_TEXT], slope[SHEET_WORDS * 2] = "";
    struct remark through = { 0 };
    for (uint32_t i = 0; i < from->through; i++)
        through_words(&through, job, &from->at[i], style);
    length_print(level, from->level, style->elevation);
    if (from->slope.given)
        slope_words(slope, sizeof slope, job, &from->slope);
    struct sheet_style fine = *style; /* a tolerance is stated as finely as it likes */
    fine.move.parts = 64;
    fine.move.places = g->tolerance % LENGTH_MM ? 2 : 0;
    sheet_size_words(tolerance, g->tolerance, &fine);
    fprintf(out, "\nGrade %s, entry %" PRIu32 ": %s\n", names_text(&job->r->names, from->name), from->entry + 1,
        from->subgrade ? "SUBGRADE" : "FINISH GRADE");
    char line[SHEET_REMARK + SHEET_WORDS * 5];
    int n = from->through == 0
        ? snprintf(line, sizeof line, "%s%s%s%s", from->slope.given ? "" : "level ", level, from->slope.given ? " at x = y = 0" : "", slope)
        : snprintf(line, sizeof line, "%s through %s%s", from->through == 3 ? "plane" : from->slope.given ? "slope" : "level",
            through.text, slope);
    if (from->has_tolerance)
        snprintf(line + n, sizeof line - (size_t)n, "; closer than %s is left alone", tolerance);
    else
        snprintf(line + n, sizeof line - (size_t)n, "; no tolerance is stated: half the least division is left alone");
    say_line(line, out);
    if (g->quality == LEVEL_UNCHECKED)
        fputs("  this grade goes through a mark that is UNCHECKED\n", out);
    if (g->quality == LEVEL_OUTSIDE)
        fputs("  this grade goes through a mark on a line OUTSIDE its limit: no moves are given\n", out);
}

/* ---- one mark ---- */

static void
moved_remark(const struct job_stake *s, const struct sheet_style *style, struct remark *remark)
{
    char asked[SHEET_WORDS], done[SHEET_WORDS], left[SHEET_WORDS];
    sheet_move_words(asked, s->asked, style);
    sheet_move_words(done, s->done, style);
    sheet_size_words(left, s->move.move, style);
    switch (s->moved) {
    case SITE_DONE:
        remark_add(remark, "moved %s: done", done);
        break;
    case SITE_SHORT:
        if (s->done == 0)
            remark_add(remark, "asked %s, NOT MOVED", asked);
        else
            remark_add(remark, "asked %s, moved %s: short by %s", asked, done, left);
        break;
    case SITE_PAST:
        remark_add(remark, "asked %s, moved %s: too far by %s", asked, done, left);
        break;
    case SITE_WRONG_WAY:
        remark_add(remark, "MOVED THE WRONG WAY: asked %s, moved %s", asked, done);
        break;
    case SITE_DISTURBED:
        remark_add(remark, "was on grade, moved %s", done);
        break;
    }
}

static void
rod_remark(const struct job *job, const struct job_stake *s, struct remark *remark)
{
    if (!s->has_rod)
        return;
    uint8_t own = s->spot == JOB_NONE ? LEVEL_CLOSED : s->quality;
    if (job->leg[s->rod_leg].quality == LEVEL_UNCHECKED && own < LEVEL_UNCHECKED)
        remark_add(remark, "rod from an unchecked set-up");
    if (s->too_long)
        remark_add(remark, "longer than the rod");
}

void
sheet_offset_words(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style)
{
    char below[LENGTH_TEXT];
    bool metric = style->elevation.form == LENGTH_AS_M;
    out[0] = '\0';
    if (!s->has_rod || s->offset == 0)
        return;
    length_print(below, s->offset, (struct length_style){ metric ? LENGTH_AS_M : LENGTH_AS_FT, 0, 0 });
    snprintf(out, SHEET_WORDS, "%s %s", below, metric ? "m" : "ft");
}

static void
offset_remark(const struct job_stake *s, const struct sheet_style *style, struct remark *remark)
{
    char below[SHEET_WORDS], rod[LENGTH_TEXT];
    sheet_offset_words(below, s, style);
    if (!below[0])
        return;
    length_print(rod, s->offset_rod, style->elevation);
    remark_add(remark, "above sight: mark %s below at rod %s", below, rod);
}

void
sheet_stake_remarks(const struct job *job, const struct job_stake *s, const struct sheet_style *style, struct remark *remark)
{
    if (s->adrift)
        remark_add(remark, "no elevation: its set-up hangs on nothing");
    if (s->quality == LEVEL_OUTSIDE)
        remark_add(remark, "levels OUTSIDE their limit: close them first");
    if (s->quality == LEVEL_FORCED)
        remark_add(remark, "levels OUTSIDE their limit, spread as asked");
    if (s->quality == LEVEL_UNCHECKED && s->spot != JOB_NONE)
        remark_add(remark, "unchecked");
    if (!s->has_grade && s->quality != LEVEL_OUTSIDE)
        remark_add(remark, "no x and y, so no grade here");
    if (s->has_moved)
        moved_remark(s, style, remark);
    if (s->spot == JOB_NONE)
        remark_add(remark, "not read");
    apart_remark(remark, s->readings, s->apart, style);
    rod_remark(job, s, remark);
}

static void
length_or_gap(struct table *t, bool known, length value, const struct length_style *style)
{
    if (known)
        table_length(t, value, *style);
    else
        table_cell(t, "-");
}

/* A move that the readings cannot tell is said all the same, with ? behind it. */
void
sheet_stake_move(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style)
{
    char size[LENGTH_TEXT];
    sheet_verdict_words(out, s, style);
    if (!out[0] || s->verdict != JOB_UNSURE)
        return;
    length_print(size, s->move.move, style->move);
    if (s->move.leave && !strpbrk(size, "123456789"))
        stpcpy(out, "leave");
    stpcpy(out + strlen(out), " ?");
}

static void
stake_row(const struct job *job, const struct job_stake *s, const struct sheet_style *style, struct table *t)
{
    char words[SHEET_WORDS];
    struct remark remark = { 0 };
    bool both = s->has_adjusted && s->has_grade;
    table_cell(t, names_text(&job->r->names, s->at));
    table_cell(t, record_on_word((enum record_on)s->on));
    length_or_gap(t, s->has_adjusted, s->adjusted, &style->adjusted);
    length_or_gap(t, s->has_grade, s->grade, &style->adjusted);
    length_or_gap(t, both && s->move.cut > 0, s->move.cut, &style->adjusted);
    length_or_gap(t, both && s->move.fill > 0, s->move.fill, &style->adjusted);
    sheet_stake_move(words, s, style);
    table_cell(t, words[0] ? words : "-");
    sheet_sigma_words(words, s->sigma, style);
    table_cell(t, words);
    length_or_gap(t, s->has_rod, s->grade_rod, &style->elevation);
    if (s->has_rod)
        setup_name(words, job, s->rod_leg);
    table_cell(t, s->has_rod ? words : NULL);
    sheet_stake_remarks(job, s, style, &remark);
    offset_remark(s, style, &remark);
    table_cell(t, remark.text);
}

static int
grade_table(const struct job *job, uint32_t grade, size_t *next, const struct sheet_style *style, FILE *out)
{
    struct table t;
    sheet_grade_heading(job, &job->grade[grade], style, out);
    table_open(&t, style->move.form == LENGTH_AS_MM ? columns_mm : columns_in, COLUMNS);
    for (; *next < job->stakes && job->stake[*next].grade_index == grade; ++*next)
        stake_row(job, &job->stake[*next], style, &t);
    if (t.cells == 0) {
        fputs("  no mark of the kinds that it serves is read or placed yet\n", out);
        return 0;
    }
    return table_print(&t, out);
}

static bool
unspread(const struct job *job)
{
    for (size_t i = 0; i < job->work.links; i++)
        if (job->work.link[i].within == LEVEL_BEYOND && !job->work.link[i].spread)
            return true;
    return false;
}

/* What is tried is named as the crew would do it: no point of the sheet's own. */
void
sheet_advice(const struct job *job, const struct sheet_style *style, FILE *out)
{
    const struct job_advice *a = &job->advice;
    char mark[SHEET_WORDS * 2], base[SHEET_WORDS * 2], words[SHEET_WORDS];
    if (a->further == JOB_FURTHER_NONE) {
        fputs("  None of the further readings that were tried would settle one of them.\n", out);
        return;
    }
    char line[SHEET_WORDS * 6];
    if (a->further == JOB_FURTHER_REPEAT) {
        setup_name(words, job, a->leg);
        snprintf(line, sizeof line, "What helps most: read all points of set-up %s again, from a new set-up.", words);
    } else if (a->further == JOB_FURTHER_OPEN) {
        spot_words(mark, job, a->spot, "");
        setup_name(words, job, a->leg);
        snprintf(line, sizeof line, "What helps most: read %s once more, from set-up %s, which stands open.", mark, words);
    } else {
        spot_words(mark, job, a->spot, "");
        spot_words(base, job, a->base, "");
        snprintf(line, sizeof line, "What helps most: read %s once more, from a new set-up with the backsight on %s.", mark, base);
    }
    say_line(line, out);
    sheet_sure_words(words, a->left, style);
    if (a->settled < a->doubts)
        snprintf(line, sizeof line, "That settles %zu of %zu; the worst of the others is then known to +- %s.", a->settled, a->doubts, words);
    else
        snprintf(line, sizeof line, "That settles %zu of %zu.", a->settled, a->doubts);
    say_line(line, out);
}

/* What the standard deviations mean, and what to do where they do not suffice. */
static void
sure_notes(const struct job *job, const struct sheet_style *style, FILE *out)
{
    if (job->no_sigma)
        fputs("\nNo standard deviations; a warning says why. Move and leave go by the tolerance alone.\n", out);
    if (job->advice.doubts == 0)
        return;
    fprintf(out, "\n?: can't tell, read again: %zu of %zu\n", job->advice.doubts, job->stakes);
    sheet_advice(job, style, out);
}

int
sheet_stakes(const struct job *job, FILE *out)
{
    struct sheet_style style = sheet_style_of(job->r);
    sheet_title(job, "Stakes", out);
    if (unspread(job))
        fputs("\nTHE LEVELS DO NOT CLOSE. Marks on the lines named below get no moves until they do.\n", out);
    sheet_closures(job, out);
    size_t next = 0; /* stakes stand grade by grade */
    for (uint32_t g = 0; g < job->grades; g++)
        if (grade_table(job, g, &next, &style, out) != 0)
            return -1;
    sure_notes(job, &style, out);
    fputs("\nGrade rod: the reading that puts the rod's foot on grade, seen from the set-up named. Cut, fill and\n"
          "moves come from unrounded elevations. +-: the standard deviation of the move.\n"
          "Levels find no buried services: have them located and marked before any digging. Depths and\n"
          "footings follow the local code and the plan.\n",
        out);
    return 0;
}
