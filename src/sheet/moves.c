/* moves.c - what is to be done at a mark, as a shape, an ink and words */
#include "moves.h"

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
moves_need(enum job_verdict verdict)
{
    static const char *const words[] = { [JOB_MOVE] = "To move", [JOB_LEAVE] = "To leave: on grade within the tolerance",
        [JOB_UNSURE] = "Can't tell yet: read again, or as the remark says", [JOB_UNREAD] = "Not read yet" };
    return words[verdict];
}

const char *const moves_note[MOVES_NOTES] = {
    "Arrow up: raise the mark. Arrow down: lower it. Bar: leave it. Ring: no move is known. +-: the standard deviation of the move. "
    "Grade rod: the reading that puts the rod's foot on grade, seen from the set-up named.",
    "Levels find no buried services: have them located and marked before any digging. Depths and footings follow the "
    "local code and the plan.",
};
