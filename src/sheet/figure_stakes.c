/* figure_stakes.c - the stake sheet that is carried to the marks */
#include "figures.h"
#include "moves.h"

#include <stdlib.h>
#include <string.h>

#define ROW 29.0       /* points; a thumb is as high */
#define MOVE_SIZE 17.0 /* read at arm's length, in wind */
#define LEAVE_ROW 26.0 /* of a mark that stays as it is: it is only looked for when all else is done */
#define LEAVE_SIZE 12.0
#define MARK_SIZE 12.0
#define BOX 13.0

static const struct canvas_pen thin = { 0.6, CANVAS_GREY, CANVAS_SOLID }, firm = { 1.1, CANVAS_BLACK, CANVAS_SOLID };

/* Where the columns stand: shares of the width, from the left. */
struct columns {
    double box, mark, shape, move, rod, grade, after, end;
};

static struct columns
columns_of(const struct pages *p)
{
    double left = p->left, w = p->right - p->left;
    return (struct columns){ left, left + 27, left + 0.215 * w, left + 0.26 * w, left + 0.55 * w, left + 0.685 * w, left + 0.855 * w,
        p->right };
}

/* ---- one mark ---- */

static void
put_move(struct pages *p, const struct columns *col, const struct job_stake *s, double base)
{
    char words[SHEET_WORDS], sure[SHEET_WORDS], text[SHEET_WORDS * 2];
    double most = col->rod - col->move - 6;
    moves_words(words, s, &p->style);
    bool plain = s->verdict == JOB_LEAVE || s->verdict == JOB_UNREAD;
    struct canvas_type type = { s->verdict == JOB_LEAVE ? LEAVE_SIZE : MOVE_SIZE, CANVAS_START, moves_ink(s), !plain, 0 };
    canvas_text_within(p->canvas, type, col->move, base, most, words);
    sheet_sure_words(sure, s->sigma, &p->style);
    if (!sure[0])
        return;
    snprintf(text, sizeof text, "+- %s", sure);
    canvas_text_within(p->canvas, (struct canvas_type){ PAGE_SMALL, CANVAS_START, CANVAS_GREY, false, 0 }, col->move, base + 9.5, most, text);
}

static void
put_rod(struct pages *p, const struct columns *col, const struct job_stake *s, double base)
{
    char rod[LENGTH_TEXT], leg[SHEET_WORDS], from[SHEET_WORDS * 2];
    double most = col->grade - col->rod - 6;
    struct canvas_type type = { MARK_SIZE, CANVAS_START, CANVAS_BLACK, true, 0 }, small = { PAGE_SMALL, CANVAS_START, CANVAS_GREY, false, 0 };
    if (!s->has_rod) {
        canvas_text(p->canvas, type, col->rod, base, "-");
        return;
    }
    length_print(rod, s->grade_rod, p->style.elevation);
    setup_name(leg, p->doc->job, s->rod_leg);
    snprintf(from, sizeof from, "from %s", leg);
    canvas_text_within(p->canvas, type, col->rod, base, most, rod);
    canvas_text_within(p->canvas, small, col->rod, base + 9.5, most, from);
}

/* Cut or fill, and below it where the mark is and where it belongs. */
static void
put_grade(struct pages *p, const struct columns *col, const struct job_stake *s, double base)
{
    char text[SHEET_WORDS];
    double most = col->after - col->grade - 6;
    struct canvas_type type = { PAGE_TEXT, CANVAS_START, CANVAS_BLACK, false, 0 }, small = { PAGE_SMALL, CANVAS_START, CANVAS_GREY, false, 0 };
    moves_cut(text, s, &p->style);
    if (text[0])
        canvas_text_within(p->canvas, type, col->grade, base, most, text);
    moves_levels(text, s, &p->style);
    if (text[0])
        canvas_text_within(p->canvas, small, col->grade, base + 9.5, most, text);
}

static void
put_name(struct pages *p, const struct columns *col, const struct job_stake *s, double base)
{
    double most = col->shape - col->mark - 10;
    canvas_text_within(p->canvas, (struct canvas_type){ MARK_SIZE, CANVAS_START, CANVAS_BLACK, true, 0 }, col->mark, base, most,
        names_text(&p->doc->job->r->names, s->at));
    canvas_text_within(p->canvas, (struct canvas_type){ PAGE_SMALL, CANVAS_START, CANVAS_GREY, false, 0 }, col->mark, base + 9.5, most,
        record_on_word((enum record_on)s->on));
}

/* Lines of remarks, over all columns but the first. */
static double
remarks_height(const struct pages *p, const struct columns *col, const char *remarks)
{
    int lines = 0;
    for (const char *next; *remarks; remarks = next, lines++)
        (void)page_wrap(remarks, PAGE_SMALL, false, p->right - col->mark, &next);
    return lines * PAGE_SMALL * 1.3;
}

static void
put_remarks(struct pages *p, const struct columns *col, const char *remarks, double y)
{
    char line[SHEET_REMARK];
    for (const char *next; *remarks; remarks = next) {
        size_t n = page_wrap(remarks, PAGE_SMALL, false, p->right - col->mark, &next);
        snprintf(line, sizeof line, "%.*s", (int)n, remarks);
        canvas_text_within(p->canvas, (struct canvas_type){ PAGE_SMALL, CANVAS_START, CANVAS_BLACK, false, 0 }, col->mark, y,
            p->right - col->mark, line);
        y += PAGE_SMALL * 1.3;
    }
}

static void
headings(struct pages *p, const struct columns *col)
{
    const struct canvas_type type = { PAGE_SMALL, CANVAS_START, CANVAS_GREY, false, 0 };
    double y = p->top + PAGE_SMALL;
    canvas_text(p->canvas, type, col->box, y, "done");
    canvas_text(p->canvas, type, col->mark, y, "mark");
    canvas_text(p->canvas, type, col->shape - 6, y, "move");
    canvas_text(p->canvas, type, col->rod, y, "grade rod");
    canvas_text_within(p->canvas, type, col->grade, y, col->after - col->grade - 6, "cut or fill; now to grade");
    canvas_text_within(p->canvas, type, col->after, y, col->end - col->after, "reads after");
    canvas_line(p->canvas, thin, p->left, y + 4, p->right, y + 4);
    p->top = y + 5;
}

static void
put_stake(struct pages *p, const struct job_stake *s)
{
    struct remark remark = { 0 };
    struct columns col = columns_of(p);
    sheet_stake_remarks(p->doc->job, s, &p->style, &remark);
    double below = remark.text[0] ? remarks_height(p, &col, remark.text) + 2 : 0;
    double row = s->verdict == JOB_LEAVE ? LEAVE_ROW : ROW;
    if (!pages_room(p, row + below)) {
        col = columns_of(p);
        headings(p, &col);
    }
    double base = p->top + row - (row < ROW ? 11 : 13);
    canvas_group(p->canvas, names_text(&p->doc->job->r->names, s->at), NULL);
    canvas_box(p->canvas, firm, CANVAS_INKS, col.box, base - BOX + 1, BOX, BOX);
    put_name(p, &col, s, base);
    moves_shape(p->canvas, s, col.shape, base - 5, 1);
    put_move(p, &col, s, base);
    put_rod(p, &col, s, base);
    put_grade(p, &col, s, base);
    canvas_line(p->canvas, firm, col.after, base + 1, col.end, base + 1);
    put_remarks(p, &col, remark.text, p->top + row + 6);
    canvas_group_end(p->canvas);
    p->top += row + below;
    canvas_line(p->canvas, thin, p->left, p->top, p->right, p->top);
}

/* ---- the sheet ---- */

static void
lot(struct pages *p, const uint32_t *order, size_t n)
{
    const struct job *job = p->doc->job;
    char words[SHEET_WORDS];
    struct columns col;
    snprintf(words, sizeof words, "%s (%zu)", moves_need(job->stake[order[0]].verdict), n);
    (void)pages_room(p, PAGE_HEADING * 3 + ROW * 2);
    pages_skip(p, 6);
    pages_line(p, (struct canvas_type){ PAGE_HEADING, CANVAS_START, CANVAS_BLACK, false, 0 }, words);
    col = columns_of(p);
    headings(p, &col);
    for (size_t i = 0; i < n; i++)
        put_stake(p, &job->stake[order[i]]);
}

static void
notes(struct pages *p)
{
    for (size_t i = 0; i < MOVES_NOTES; i++)
        pages_line(p, (struct canvas_type){ PAGE_SMALL, CANVAS_START, CANVAS_BLACK, false, 0 }, moves_note[i]);
    pages_skip(p, 10);
}

int
figure_stakes(struct pages *p)
{
    const struct job *job = p->doc->job;
    if (job->stakes == 0)
        return 0;
    uint32_t *order = malloc(job->stakes * sizeof *order);
    int rc = order ? job_walk(job, order) : -1;
    if (rc == 0) {
        pages_turn(p, "Stake sheet");
        notes(p);
    }
    for (size_t i = 0, n; rc == 0 && i < job->stakes && !p->canvas->no_memory; i += n) {
        const struct job_stake *s = &job->stake[order[i]];
        for (n = 1; i + n < job->stakes; n++) {
            const struct job_stake *next = &job->stake[order[i + n]];
            if (next->grade_index != s->grade_index || next->verdict != s->verdict)
                break;
        }
        bool begins = i == 0 || job->stake[order[i - 1]].grade_index != s->grade_index;
        if (begins && i > 0 && pages_room(p, PAGE_HEADING * 6 + ROW * 2))
            pages_skip(p, 14);
        if (begins)
            rc = pages_grade(p, &job->grade[s->grade_index]);
        lot(p, order + i, n);
    }
    free(order);
    return rc;
}
