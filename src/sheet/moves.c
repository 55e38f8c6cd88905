/* moves.c - what is to be done at a mark, as a shape, an ink and words */
#include "moves.h"

#include <stdlib.h>
#include <string.h>

static void
arrow(struct canvas *c, double x, double y, double size, bool up)
{
    static const double corner[7][2] = { { 0, 9 }, { -7, 1 }, { -2.6, 1 }, { -2.6, -8 }, { 2.6, -8 }, { 2.6, 1 }, { 7, 1 } };
    struct canvas_place at[7];
    for (int i = 0; i < 7; i++)
        at[i] = (struct canvas_place){ x + size * corner[i][0], y + size * (up ? -corner[i][1] : corner[i][1]) };
    canvas_path(c, (struct canvas_pen){ 0, CANVAS_BLACK, CANVAS_SOLID }, up ? CANVAS_UP : CANVAS_DOWN, true, at, 7);
}

void
moves_shape(struct canvas *c, const struct job_stake *s, double x, double y, double size)
{
    if (s->verdict == JOB_MOVE)
        arrow(c, x, y, size, s->move.move > 0);
    else if (s->verdict == JOB_LEAVE)
        canvas_line(c, (struct canvas_pen){ 2.4 * size, CANVAS_BLACK, CANVAS_SOLID }, x - 7 * size, y, x + 7 * size, y);
    else
        canvas_circle(c, (struct canvas_pen){ 2 * size, CANVAS_ALERT, CANVAS_SOLID }, CANVAS_INKS, x, y, 6 * size);
}

enum canvas_ink
moves_ink(const struct job_stake *s)
{
    if (s->verdict == JOB_MOVE)
        return s->move.move > 0 ? CANVAS_UP : CANVAS_DOWN;
    return s->verdict == JOB_LEAVE ? CANVAS_BLACK : CANVAS_ALERT;
}

void
moves_words(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style)
{
    sheet_stake_move(out, s, style);
    if (!out[0])
        stpcpy(out, s->verdict == JOB_UNREAD ? "read it" : "no move known");
}

bool
moves_doubtful(const struct job_stake *s)
{
    bool levels = s->quality == LEVEL_OUTSIDE || s->quality == LEVEL_FORCED || (s->quality == LEVEL_UNCHECKED && s->spot != JOB_NONE);
    return levels || (s->has_moved && s->moved == SITE_WRONG_WAY);
}

void
moves_cut(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style)
{
    char size[LENGTH_TEXT];
    out[0] = '\0';
    if (!s->has_adjusted || !s->has_grade)
        return;
    length_print(size, s->move.cut > 0 ? s->move.cut : s->move.fill, style->adjusted);
    if (s->move.move == 0)
        stpcpy(out, "on grade");
    else
        snprintf(out, SHEET_WORDS, "%s %s", s->move.cut > 0 ? "cut" : "fill", size);
}

void
moves_levels(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style)
{
    char now[LENGTH_TEXT], grade[LENGTH_TEXT];
    out[0] = '\0';
    length_print(now, s->has_adjusted ? s->adjusted : 0, style->adjusted);
    length_print(grade, s->has_grade ? s->grade : 0, style->adjusted);
    if (s->has_adjusted && s->has_grade)
        snprintf(out, SHEET_WORDS, "%s to %s", now, grade);
    else if (s->has_adjusted)
        snprintf(out, SHEET_WORDS, "at %s", now);
    else if (s->has_grade)
        snprintf(out, SHEET_WORDS, "grade %s", grade);
}

const char *
moves_cut_heading(const struct sheet_style *style)
{
    switch (style->elevation.form) {
    case LENGTH_AS_FT: return "cut or fill, ft; now to grade";
    case LENGTH_AS_M: return "cut or fill, m; now to grade";
    default: return "cut or fill; now to grade";
    }
}

void
moves_rod(char out[LENGTH_TEXT], const struct job_stake *s, const struct sheet_style *style)
{
    if (s->has_rod)
        length_print(out, s->offset > 0 ? s->offset_rod : s->grade_rod, style->elevation);
    else
        stpcpy(out, "-");
}

void
moves_rod_from(char out[SHEET_WORDS * 2], const struct job *job, const struct job_stake *s, const struct sheet_style *style)
{
    char leg[SHEET_WORDS];
    out[0] = '\0';
    if (!s->has_rod)
        return;
    setup_name(leg, job, s->rod_leg);
    sheet_offset_words(out, s, style);
    stpcpy(stpcpy(out + strlen(out), out[0] ? " below grade, from " : "from "), leg);
}

size_t
moves_grade(const struct job *job, const uint32_t *order, size_t n)
{
    size_t same = 1;
    while (same < n && job->stake[order[same]].grade_index == job->stake[order[0]].grade_index)
        same++;
    return same;
}

size_t
moves_lot(const struct job *job, const uint32_t *order, size_t n)
{
    const struct job_stake *first = &job->stake[order[0]];
    size_t same = 1;
    while (same < n && job->stake[order[same]].grade_index == first->grade_index && job->stake[order[same]].verdict == first->verdict)
        same++;
    return same;
}

#define NO_BREAK "\xc2\xa0" /* U+00A0: a set-up stays on one line */

/* "5.1: 2026-05-02, HI 104.615" */
static void
setup_words(const struct job *job, uint32_t leg, const struct sheet_style *style, FILE *out)
{
    char name[SHEET_WORDS], hi[LENGTH_TEXT];
    const struct record_run *run = &job->r->run[job->leg[leg].run];
    setup_name(name, job, leg);
    length_print(hi, job->leg[leg].hi, style->adjusted);
    fprintf(out, "%s:" NO_BREAK, name);
    if (run->date != RECORD_NONE)
        fprintf(out, "%s," NO_BREAK, names_text(&job->r->texts, run->date));
    fprintf(out, "HI" NO_BREAK "%s", hi); /* a blank within feet and inches breaks no line: fold_joins() */
}

/* Those that are marked, in the order that they were made in. */
static char *
setup_key(const struct job *job, const bool *named, const struct sheet_style *style)
{
    char *key = NULL;
    size_t bytes = 0;
    bool any = false;
    FILE *out = open_memstream(&key, &bytes);
    if (!out)
        return NULL;
    for (uint32_t leg = 0; leg < job->legs; leg++) {
        if (!named[leg])
            continue;
        fputs(any ? "; " : "Set-ups: ", out);
        setup_words(job, leg, style, out);
        any = true;
    }
    if (fclose(out) == 0)
        return key;
    free(key);
    return NULL;
}

int
moves_setups(const struct job *job, const uint32_t *order, size_t n, const struct sheet_style *style, char **key)
{
    bool *named = calloc(job->legs + 1, sizeof *named);
    if (!named)
        return -1;
    for (size_t i = 0; i < n; i++)
        if (job->stake[order[i]].has_rod)
            named[job->stake[order[i]].rod_leg] = true;
    *key = setup_key(job, named, style);
    free(named);
    return *key ? 0 : -1;
}

/* The stake whose rod is the next to stand so far below grade: of those that stand farther than `above` the nearest; NULL where none does. */
static const struct job_stake *
next_offset(const struct job *job, const uint32_t *order, size_t n, length above)
{
    const struct job_stake *nearest = NULL;
    for (size_t i = 0; i < n; i++) {
        const struct job_stake *s = &job->stake[order[i]];
        if (s->has_rod && s->offset > above && (!nearest || s->offset < nearest->offset))
            nearest = s;
    }
    return nearest;
}

/* What the HI is lessened by: "grade 101.17", "5.6500 (2 m below grade)", "the mark's grade". */
static void
less_words(char out[SHEET_WORDS * 2], const struct job_grade *g, const struct job_stake *s, const struct sheet_style *style)
{
    char level[LENGTH_TEXT], below[SHEET_WORDS];
    bool flat = g->site.form == SITE_LEVEL;
    length_print(level, g->site.level - s->offset, g->from->through > 0 ? style->adjusted : style->elevation);
    sheet_offset_words(below, s, style);
    if (flat && below[0])
        snprintf(out, (size_t)SHEET_WORDS * 2, "%s (%s below grade)", level, below);
    else if (below[0])
        snprintf(out, (size_t)SHEET_WORDS * 2, "the level %s below the mark's grade", below);
    else
        snprintf(out, (size_t)SHEET_WORDS * 2, "%s%s", flat ? "grade " : "the mark's grade", flat ? level : "");
}

bool
moves_anew(char out[MOVES_ANEW], const struct job *job, const uint32_t *order, size_t n, const struct sheet_style *style, length *above)
{
    const struct job_grade *g = &job->grade[job->stake[order[0]].grade_index];
    const struct job_stake *s = next_offset(job, order, n, *above);
    char less[SHEET_WORDS * 2];
    if (!s)
        return false;
    less_words(less, g, s, style);
    snprintf(out, MOVES_ANEW, "Set up anew: HI ____________ less %s = grade rod ____________", less);
    *above = s->offset;
    return true;
}

const char *
moves_need(enum job_verdict verdict)
{
    static const char *const words[] = { [JOB_MOVE] = "To move", [JOB_LEAVE] = "To leave: on grade within the tolerance",
        [JOB_UNSURE] = "Can't tell yet: read again, or as the remark says", [JOB_UNREAD] = "Not read yet" };
    return words[verdict];
}

const char *const moves_note[MOVES_NOTES] = {
    "Arrow up: raise the mark. Arrow down: lower it. Bar: leave it. Ring: no move is known. +-: the standard deviation of the move. "
    "Grade rod: the reading that puts the rod's foot on grade, seen from the set-up named; it holds only while that set-up stands.",
    "Levels find no buried services: have them located and marked before any digging. Depths and footings follow the "
    "local code and the plan.",
};
