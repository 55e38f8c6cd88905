/* figure_plan.c - the plan: a page for each grade, in parts where one page would not be legible */
#include "figures.h"
#include "plan_page.h"

#include "rodbook/room.h"
#include "rodbook/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PART_MOST 160  /* marks on one page: more are not tried */
#define FILL_MOST 0.6  /* of the ground, covered by words: beyond, it is not tried either */
#define PART_LEAST 16  /* fewer are not parted: what crowds then is two or three marks in one place */
#define BELOW_MOST (size_t)64 /* marks of a plan that is tried below another on its page */
#define NOWHERE_SHARE 20 /* a page is parted where more than one in so many has not even a number... */
#define KEYED_SHARE 4  /* ...or more than one in so many is keyed */
#define LARGE_MOST 60     /* more have no room in large type anyway */
#define SAME_PAGE_MOST 24 /* keyed marks that are listed on the same page */
#define NOTE_LINE (PAGE_SMALL * 1.32)

/* ---- what there is to show ---- */

static int
gather(struct ground_plan *plan)
{
    const struct job *job = plan->job;
    const struct record *r = job->r;
    plan->mark = room_new(r->points, sizeof *plan->mark);
    plan->own = room_new(r->points, sizeof *plan->own);
    plan->listed = room_new(r->points, sizeof *plan->listed);
    plan->number = room_new(r->points, sizeof *plan->number);
    plan->first_stake = room_new(r->names.n, sizeof *plan->first_stake);
    plan->next_stake = room_new(job->stakes, sizeof *plan->next_stake);
    bool *staked = room_new(r->names.n, sizeof *staked);
    bool whole = plan->mark && plan->own && plan->listed && plan->number && plan->first_stake && plan->next_stake && staked;
    for (size_t i = 0; whole && i < job->stakes; i++)
        staked[job->stake[i].at] = true;
    for (uint32_t i = 0; whole && i < r->points; i++)
        if (plan_point(job, r->point[i].name) == i)
            plan->mark[plan->marks++] = (struct plan_mark){ r->point[i].name, i, staked[r->point[i].name],
                job->mark_of[r->point[i].name] != JOB_NONE };
    free(staked);
    return whole ? plan_setups_gather(plan) : -1;
}

static void
release(struct ground_plan *plan)
{
    plan_lines_release(&plan->lines);
    plan_setups_release(plan);
    free(plan->mark);
    free(plan->own);
    free(plan->listed);
    free(plan->number);
    free(plan->first_stake);
    free(plan->next_stake);
}

/* Turns to a grade, or with NULL to none: whose stakes are shown. */
static void
choose_grade(struct ground_plan *plan, const struct job_grade *grade)
{
    const struct job *job = plan->job;
    plan->grade = grade;
    for (size_t i = 0; i < job->r->names.n; i++)
        plan->first_stake[i] = JOB_NONE;
    for (uint32_t i = (uint32_t)job->stakes; grade && i-- > 0;) {
        const struct job_stake *s = &job->stake[i];
        if (&job->grade[s->grade_index] != grade)
            continue;
        plan->next_stake[i] = plan->first_stake[s->at];
        plan->first_stake[s->at] = i;
    }
}

/* ---- spans ---- */

static void
widen(struct plan_span *s, length x, length y)
{
    s->left = x < s->left ? x : s->left;
    s->right = x > s->right ? x : s->right;
    s->bottom = y < s->bottom ? y : s->bottom;
    s->top = y > s->top ? y : s->top;
}

static const struct plan_span nowhere = { INT64_MAX, INT64_MAX, INT64_MIN, INT64_MIN };

static struct plan_span
span_of(const struct ground_plan *plan, const uint32_t *mark, size_t n)
{
    struct plan_span s = nowhere;
    for (size_t i = 0; i < n; i++) {
        const struct record_point *p = &plan->job->r->point[plan->mark[mark[i]].point];
        widen(&s, p->x, p->y);
    }
    return s;
}

/* The marks of a page, with the lines of the building round them. */
static struct plan_span
whole_span(const struct ground_plan *plan, const uint32_t *mark, size_t n)
{
    struct plan_span s = span_of(plan, mark, n);
    for (size_t i = 0; i < plan->lines.lines; i++) {
        widen(&s, plan->lines.line[i].from.x, plan->lines.line[i].from.y);
        widen(&s, plan->lines.line[i].to.x, plan->lines.line[i].to.y);
    }
    return s;
}

/* A benchmark is drawn where that makes the drawing no more than half as wide or high again. */
static size_t
add_benchmarks(const struct ground_plan *plan, uint32_t *mark, size_t n)
{
    struct plan_span s = whole_span(plan, mark, n);
    length wide = s.right - s.left, high = s.top - s.bottom;
    for (uint32_t i = 0; i < plan->marks; i++) {
        const struct record_point *p = &plan->job->r->point[plan->mark[i].point];
        struct plan_span with = s;
        widen(&with, p->x, p->y);
        if (plan->mark[i].benchmark && plan->first_stake[plan->mark[i].name] == JOB_NONE && with.right - with.left <= wide / 2 * 3 &&
            with.top - with.bottom <= high / 2 * 3)
            mark[n++] = i;
    }
    return n;
}

/* ---- notes ---- */

/* What stands below a drawing: lines in memory, "\n" behind each; the last `held` bytes of them may wait for the end of the page. */
struct notes {
    char *text;
    size_t n, held;
};

static void
unplaced_stakes(const struct ground_plan *plan, FILE *out)
{
    const struct job *job = plan->job;
    bool any = false;
    for (size_t i = 0; plan->grade && i < job->stakes; i++) {
        const struct job_stake *s = &job->stake[i];
        char words[SHEET_WORDS];
        if (&job->grade[s->grade_index] != plan->grade || plan_point(job, s->at) != JOB_NONE)
            continue;
        sheet_stake_move(words, s, &plan->p->style);
        fprintf(out, "%s %s %s: %s", any ? ";" : "Not placed, for the record gives no x and y:", names_text(&job->r->names, s->at),
            record_on_word((enum record_on)s->on), words[0] ? words : "no move known");
        any = true;
    }
    if (any)
        fputc('\n', out);
}

static void
unplaced_benchmarks(const struct ground_plan *plan, FILE *out)
{
    const struct job *job = plan->job;
    char elevation[LENGTH_TEXT];
    bool any = false;
    for (size_t i = 0; i < job->r->marks; i++) {
        const struct record_mark *m = &job->r->mark[i];
        if (job->mark_of[m->name] != i || plan_point(job, m->name) != JOB_NONE)
            continue;
        length_print(elevation, m->elevation, plan->p->style.elevation);
        fprintf(out, "%s %s at %s", any ? "," : "Benchmarks not placed, for the record gives no x and y:", names_text(&job->r->names, m->name),
            elevation);
        any = true;
    }
    if (any)
        fputc('\n', out);
}

static void
distant_benchmarks(const struct ground_plan *plan, FILE *out)
{
    const struct record *r = plan->job->r;
    char x[LENGTH_TEXT], y[LENGTH_TEXT];
    bool any = false;
    for (size_t i = 0; i < plan->marks; i++) {
        const struct record_point *p = &r->point[plan->mark[i].point];
        if (!plan->mark[i].benchmark || plan->own[i])
            continue;
        length_print(x, p->x, plan->p->style.elevation);
        length_print(y, p->y, plan->p->style.elevation);
        fprintf(out, "%s %s at x %s, y %s", any ? ";" : "Benchmarks farther off:", names_text(&r->names, p->name), x, y);
        any = true;
    }
    if (any)
        fputc('\n', out);
}

/* Said once in a document; the stake sheet says it where there is one. */
static void
caution(const struct ground_plan *plan, FILE *out)
{
    if (!plan->cautioned && (!(plan->p->doc->figures & SHEET_FIGURE_STAKES) || plan->job->stakes == 0))
        fputs("Levels find no buried services: have them located and marked before any digging. Depths and footings follow the "
              "local code and the plan.\n", out);
}

static int
notes_open(struct notes *notes, const struct ground_plan *plan)
{
    *notes = (struct notes){ 0 };
    FILE *out = open_memstream(&notes->text, &notes->n);
    if (!out)
        return -1;
    unplaced_stakes(plan, out);
    distant_benchmarks(plan, out);
    int rc = plan_setups_words(plan, out);
    caution(plan, out);
    long before = ftell(out);
    if (!plan->said)
        unplaced_benchmarks(plan, out);
    bool whole = !ferror(out) && before >= 0;
    if (fclose(out) != 0 || !whole)
        return -1;
    notes->held = notes->n - (size_t)before;
    return rc;
}

/* Each line, wrapped; drawn, or only counted. The text is cut up at its line ends and mended. */
static double
notes_lines(const struct notes *notes, struct pages *p, bool draw)
{
    size_t lines = 0;
    for (char *line = notes->text, *end; line && *line; line = end + 1) {
        end = strchr(line, '\n');
        *end = '\0';
        for (const char *rest = line, *next; *rest; rest = next, lines++)
            (void)page_wrap(rest, PAGE_SMALL, false, p->right - p->left, &next);
        if (draw)
            pages_line(p, (struct canvas_type){ PAGE_SMALL, CANVAS_START, CANVAS_BLACK, false, 0 }, line);
        *end = '\n';
    }
    return NOTE_LINE * (double)lines;
}

/* What belongs to the page and not to a plan on it: at its end, once. 0, or -1 without memory. */
static int
end_page(struct ground_plan *plan)
{
    struct notes notes = { 0 };
    FILE *out = plan->held ? open_memstream(&notes.text, &notes.n) : NULL;
    int rc = plan->held && !out ? -1 : 0;
    if (out) {
        unplaced_benchmarks(plan, out);
        rc = fclose(out) == 0 ? 0 : -1;
    }
    if (out && rc == 0)
        (void)notes_lines(&notes, plan->p, true);
    plan->held = plan->said = false;
    free(notes.text);
    return rc;
}

/* Below a drawing: all but what the end of the page has to say. */
static void
notes_below(struct notes *notes, struct ground_plan *plan)
{
    notes->text[notes->n - notes->held] = '\0';
    (void)notes_lines(notes, plan->p, true);
    plan->held |= notes->held > 0;
}

/* The widest word in them: words are not broken. */
static double
notes_widest(const struct notes *notes)
{
    char word[SHEET_WORDS * 2];
    double widest = 0;
    for (const char *p = notes->text; p && *p; p += strspn(p, " \n")) {
        size_t n = strcspn(p, " \n");
        snprintf(word, sizeof word, "%.*s", (int)n, p);
        double wide = canvas_text_width(word, PAGE_SMALL, false);
        widest = wide > widest ? wide : widest;
        p += n;
    }
    return widest;
}

/* ---- the list of keyed marks ---- */

#define LIST_HEAD 40.0 /* points: its title, the headings of its columns and the blank below it */
#define LIST_NUMBER 24.0
#define LIST_MOVE 104.0
#define LIST_GAP 7.0 /* between the columns of a table */

/* How wide the names are, with two marks in a row, or one. */
static double
list_names(const struct pages *p, int marks)
{
    return (p->right - p->left - LIST_GAP * (3 * marks - 1)) / marks - LIST_NUMBER - LIST_MOVE;
}

/* A mark of the list. */
struct listed {
    char number[24], name[SHEET_WORDS * 2];
    struct remark moves;
};

static void
fill(struct listed *c, const struct ground_plan *plan, size_t i)
{
    const struct record *r = plan->job->r;
    const struct record_point *p = &r->point[plan->mark[i].point];
    char x[LENGTH_TEXT], y[LENGTH_TEXT];
    *c = (struct listed){ .number = "-" };
    if (plan->number[i] > 0) {
        (void)put_count(c->number, plan->number[i]);
        snprintf(c->name, sizeof c->name, "%s", names_text(&r->names, p->name));
    } else {
        length_print(x, p->x, plan->p->style.elevation);
        length_print(y, p->y, plan->p->style.elevation);
        snprintf(c->name, sizeof c->name, "%s, x %s, y %s", names_text(&r->names, p->name), x, y);
    }
    plan_moves(&c->moves, plan, &plan->mark[i]);
}

/* Bytes of a text that fit: whole characters, one at least. */
static size_t
fitting(const char *text, double most)
{
    char part[SHEET_WORDS * 2];
    uint32_t character;
    size_t fits = 0;
    for (size_t n = 0; n < sizeof part - 8 && text[n];) {
        n += text_next(text + n, &character);
        snprintf(part, sizeof part, "%.*s", (int)n, text);
        if (fits > 0 && canvas_text_width(part, PAGE_TEXT, true) > most)
            break;
        fits = n;
    }
    return fits;
}

/* A row, or only its height. */
static double
list_row(struct page_table *t, const char *const *cell, bool draw)
{
    if (draw)
        (void)page_table_row(t, cell);
    return page_table_height(t, cell);
}

/* One mark; a name that is too wide goes on in rows of its own. */
static double
list_long(struct page_table *t, const struct listed *c, double wide, bool draw)
{
    char part[SHEET_WORDS * 2];
    const char *number = c->number, *moves = c->moves.text;
    double height = 0;
    for (const char *name = c->name; *name;) {
        size_t n = fitting(name, wide);
        snprintf(part, sizeof part, "%.*s", (int)n, name);
        height += list_row(t, (const char *const[3]){ number, part, moves }, draw);
        number = moves = "";
        name += n;
    }
    return height;
}

/* A name that has to be narrowed for two marks in a row makes all stand one below the other. */
static bool
list_is_wide(const struct ground_plan *plan)
{
    struct listed c;
    for (size_t i = 0; i < plan->marks; i++) {
        if (!plan->listed[i])
            continue;
        fill(&c, plan, i);
        if (canvas_text_width(c.name, PAGE_TEXT, true) > list_names(plan->p, 2) && !strchr(c.name, ' '))
            return true;
    }
    return false;
}

static double
list_rows(const struct ground_plan *plan, struct page_table *t, bool pairs, bool draw)
{
    struct listed c[2];
    double height = 0;
    size_t have = 0;
    for (size_t i = 0; i < plan->marks; i++) {
        if (!plan->listed[i])
            continue;
        fill(&c[have++], plan, i);
        if (!pairs)
            height += list_long(t, &c[0], list_names(plan->p, 1), draw);
        else if (have == 2)
            height += list_row(t,
                (const char *const[6]){ c[0].number, c[0].name, c[0].moves.text, c[1].number, c[1].name, c[1].moves.text }, draw);
        have = pairs && have == 1 ? 1 : 0;
    }
    if (have == 1)
        height += list_row(t, (const char *const[6]){ c[0].number, c[0].name, c[0].moves.text, NULL, NULL, NULL }, draw);
    return height;
}

/* The list of what plan.listed says, or only its height. */
static double
put_list(const struct ground_plan *plan, bool draw)
{
    struct pages *p = plan->p;
    bool pairs = !list_is_wide(plan), all = true;
    double wide = list_names(p, pairs ? 2 : 1);
    const struct page_column columns[] = { { "no", LIST_NUMBER, CANVAS_END, true, false }, { "mark", wide, CANVAS_START, true, pairs },
        { "move", LIST_MOVE, CANVAS_START, true, true }, { "no", LIST_NUMBER, CANVAS_END, true, false }, { "mark", wide, CANVAS_START, true, true },
        { "move", LIST_MOVE, CANVAS_START, true, true } };
    struct page_table t;
    for (size_t i = 0; i < plan->marks; i++)
        all = all && (!plan->listed[i] || plan->number[i] > 0);
    if (draw)
        pages_line(p, (struct canvas_type){ PAGE_HEADING, CANVAS_START, CANVAS_BLACK, false, 0 },
            all ? "Numbers on the plan" : "Numbers on the plan; - for a mark that not even a number had room at");
    page_table_open(&t, p, columns, pairs ? 6 : 3, PAGE_TEXT);
    double height = list_rows(plan, &t, pairs, draw);
    if (draw)
        page_table_close(&t);
    return height + LIST_HEAD;
}

/* ---- a page ---- */

static void
frame(const struct ground_plan *plan, const struct label_box *b)
{
    canvas_box(plan->p->canvas, (struct canvas_pen){ 0.5, CANVAS_GREY, CANVAS_SOLID }, CANVAS_INKS, b->left, b->top, b->right - b->left,
        b->bottom - b->top);
}

/* Where the notes of a page stand. */
enum notes_where { NOTES_BELOW, NOTES_RIGHT, NOTES_BEHIND };

#define NOTES_WIDTH 132.0 /* of a column of notes, points: some 30 letters */
#define NOTES_GAP 12.0

/* The drawing's window with room left free below it and at its right. False where that would make the scale smaller. */
static bool
divide(const struct ground_plan *plan, const struct plan_span *span, double key, double below, double right, struct label_box *window)
{
    const struct pages *p = plan->p;
    struct label_box full = { p->left, p->top, p->right, p->bottom - key }, less = full;
    less.bottom -= below;
    less.right -= right;
    if (less.bottom - less.top < 120 || plan_scale(plan, span, &less).ratio > plan_scale(plan, span, &full).ratio)
        return false;
    *window = less;
    return true;
}

static enum notes_where
place_notes(const struct ground_plan *plan, const struct plan_span *span, const struct notes *notes, double key, struct label_box *window)
{
    struct pages column = *plan->p;
    double below = notes_lines(notes, &column, false) + 4;
    column.left = column.right - NOTES_WIDTH;
    *window = (struct label_box){ plan->p->left, plan->p->top, plan->p->right, plan->p->bottom - key };
    if (divide(plan, span, key, below, 0, window))
        return NOTES_BELOW;
    if (notes_widest(notes) <= NOTES_WIDTH && notes_lines(notes, &column, false) <= window->bottom - window->top &&
        divide(plan, span, key, 0, NOTES_WIDTH + NOTES_GAP, window))
        return NOTES_RIGHT;
    return NOTES_BEHIND;
}

/* At the right of a drawing, in a column of its own. */
static void
notes_column(const struct notes *notes, struct pages *p, const struct label_box *window)
{
    struct pages whole = *p;
    p->left = p->right - NOTES_WIDTH;
    p->top = window->top;
    (void)notes_lines(notes, p, true);
    p->left = whole.left;
    p->top = whole.top;
}

/* In large type where every mark then still has its words, nearly all at their symbols; a part was too crowded before. */
static int
open_view(struct plan_view *v, const struct ground_plan *plan, const struct plan_span *span, const struct label_box *window, bool part)
{
    size_t n = 0;
    for (size_t i = 0; i < plan->marks; i++)
        n += plan->own[i];
    if (n <= LARGE_MOST && !part) {
        int rc = plan_view_open(v, plan, span, window, PLAN_LARGE);
        if (rc != 0 || (v->keyed == 0 && v->led * 10 <= n))
            return rc;
        plan_view_release(v);
    }
    return plan_view_open(v, plan, span, window, 1);
}

/* Where some marks are keyed, and few: the drawing again, smaller, if the list then has room below it. */
static int
make_room_for_list(struct plan_view *v, struct ground_plan *plan, bool *list_here)
{
    struct plan_view less;
    struct label_box window = v->window;
    *list_here = false;
    plan_view_number(v, plan);
    if (v->keyed == 0 || v->keyed > SAME_PAGE_MOST)
        return 0;
    double height = put_list(plan, false);
    window.bottom -= height;
    if (window.bottom - window.top < 120 || plan_scale(plan, &v->span, &window).ratio > v->scale.ratio)
        return 0;
    int rc = plan_view_open(&less, plan, &v->span, &window, v->type);
    if (rc == 0) {
        plan_view_number(&less, plan);
        *list_here = put_list(plan, false) <= height;
    }
    if (*list_here) {
        plan_view_release(v);
        *v = less;
    } else {
        plan_view_release(&less);
        plan_view_number(v, plan);
    }
    return rc;
}

#define LOWER_TRIES 3
#define LOWER_STEP 16.0

/* A frame no higher than the drawing and its labels need, where they then stand as well as they did. */
static int
lower_frame(struct plan_view *v, struct ground_plan *plan)
{
    double above, below;
    plan_view_room(v, &above, &below);
    struct label_box drawn = plan_view_box(v, &v->span);
    double least = above + below + drawn.bottom - drawn.top;
    for (int i = 0; i < LOWER_TRIES; i++) {
        double height = least + i * LOWER_STEP;
        if (height + LOWER_STEP >= v->window.bottom - v->window.top)
            break;
        struct label_box window = { v->window.left, v->window.top, v->window.right, v->window.top + height };
        struct plan_view less;
        plan->lower = (above - below) / 2;
        int rc = plan_view_open(&less, plan, &v->span, &window, v->type);
        plan->lower = 0;
        bool as_well = rc == 0 && less.scale.ratio <= v->scale.ratio && less.keyed <= v->keyed && less.nowhere <= v->nowhere &&
            less.led <= v->led && less.has_north == v->has_north && less.has_fall == v->has_fall;
        struct plan_view other = as_well ? *v : less;
        *v = as_well ? less : *v;
        plan_view_release(&other);
        if (rc != 0 || as_well)
            return rc;
    }
    return 0;
}

static void
list_page(const struct ground_plan *plan)
{
    pages_turn(plan->p, "Plan: list");
    if (plan->grade)
        (void)pages_grade(plan->p, plan->grade);
    pages_skip(plan->p, 6);
    (void)put_list(plan, true);
}

/* What has no room on the page of the drawing. */
static void
pages_behind(const struct ground_plan *plan, const struct notes *notes, bool list, bool words)
{
    if (list)
        list_page(plan);
    else if (words)
        pages_turn(plan->p, "Plan: notes");
    if (words)
        (void)notes_lines(notes, plan->p, true);
}

/* True where the marks of a page had better be drawn in parts. */
static bool
is_crowded(const struct plan_view *v, size_t marks)
{
    return marks >= PART_LEAST && (v->nowhere * NOWHERE_SHARE > marks || v->squeezed * KEYED_SHARE > marks);
}

static bool
fills(const struct ground_plan *plan, const struct plan_span *span, size_t marks, double key)
{
    const struct pages *p = plan->p;
    const struct label_box window = { p->left, p->top, p->right, p->bottom - key };
    return marks >= PART_LEAST && plan_fill(plan, span, &window) > FILL_MOST;
}

/* All that is laid out, on the page and behind it. 0, or -1 without memory. */
static int
put_body(struct ground_plan *plan, const struct plan_view *v, struct notes *notes, enum notes_where where, bool list_here)
{
    bool list_behind = v->keyed > 0 && !list_here;
    int rc = 0;
    struct pages *p = plan->p;
    frame(plan, &v->window);
    plan_view_draw(v, plan);
    double below = plan_key(plan, v, v->window.bottom + 6) + 12;
    if (where == NOTES_RIGHT)
        notes_column(notes, p, &v->window);
    p->top = v->window.bottom + below;
    if (list_here)
        (void)put_list(plan, true);
    if (where == NOTES_BELOW)
        notes_below(notes, plan);
    else
        plan->said = true;
    if (list_behind || where == NOTES_BEHIND)
        rc = end_page(plan);
    pages_behind(plan, notes, list_behind, where == NOTES_BEHIND);
    return rc;
}

/* The drawing, its key, its notes and its list. Where `crowded` is given, and it is, nothing is drawn. */
static int
page_body(struct ground_plan *plan, const struct plan_span *span, struct notes *notes, size_t marks, bool *crowded)
{
    struct plan_view v;
    struct label_box window;
    bool list_here = false;
    double key = plan_key(plan, NULL, 0) + 12;
    if (crowded && (*crowded = fills(plan, span, marks, key)))
        return 0;
    enum notes_where where = place_notes(plan, span, notes, key, &window);
    int rc = open_view(&v, plan, span, &window, !crowded);
    if (crowded && rc == 0)
        *crowded = is_crowded(&v, marks);
    if (rc != 0 || (crowded && *crowded)) {
        plan_view_release(&v);
        return rc;
    }
    plan_view_number(&v, plan);
    if (where != NOTES_RIGHT) /* a column of notes is as high as the window may be */
        rc = make_room_for_list(&v, plan, &list_here);
    if (rc == 0 && crowded && where != NOTES_RIGHT && v.keyed == 0)
        rc = lower_frame(&v, plan);
    plan->drawn = (struct plan_drawn){ v.scale.ratio, where != NOTES_BEHIND && (v.keyed == 0 || list_here) };
    if (rc == 0)
        rc = put_body(plan, &v, notes, where, list_here);
    plan_view_release(&v);
    return rc;
}

/* What plan.own says of the page at hand. */
static void
set_own(struct ground_plan *plan, const uint32_t *mark, size_t n)
{
    memset(plan->own, 0, plan->marks * sizeof *plan->own);
    for (size_t i = 0; i < n; i++)
        plan->own[mark[i]] = true;
}

static int
page_head(struct ground_plan *plan)
{
    if (end_page(plan) != 0)
        return -1;
    pages_turn(plan->p, "Plan");
    int rc = plan->grade ? pages_grade(plan->p, plan->grade) : 0;
    pages_skip(plan->p, 2);
    return plan->p->canvas->no_memory ? -1 : rc;
}

/* On the page at hand, below its head. */
static int
draw_page(struct ground_plan *plan, const struct plan_span *span, const uint32_t *mark, size_t n, bool *crowded)
{
    struct notes notes = { 0 };
    struct plan_span with = *span;
    set_own(plan, mark, n);
    int rc = plan_setups_find(plan, &with, crowded != NULL);
    if (rc == 0)
        rc = notes_open(&notes, plan);
    if (rc == 0)
        rc = page_body(plan, &with, &notes, n, crowded);
    plan->cautioned |= rc == 0 && !(crowded && *crowded);
    free(notes.text);
    return plan->p->canvas->no_memory ? -1 : rc;
}

/* ---- parts ---- */

struct by_place {
    length at, other;
    uint32_t mark;
};

static int
compare_by_place(const void *one, const void *other)
{
    const struct by_place *a = one, *b = other;
    if (a->at != b->at)
        return a->at < b->at ? -1 : 1;
    if (a->other != b->other)
        return a->other < b->other ? -1 : 1;
    return a->mark < b->mark ? -1 : 1;
}

/* Sorts marks along the longer side of what they span. */
static void
sort_along(const struct ground_plan *plan, uint32_t *mark, size_t n, struct by_place *room)
{
    struct plan_span s = span_of(plan, mark, n);
    bool by_y = s.top - s.bottom > s.right - s.left;
    for (size_t i = 0; i < n; i++) {
        const struct record_point *p = &plan->job->r->point[plan->mark[mark[i]].point];
        room[i] = (struct by_place){ by_y ? p->y : p->x, by_y ? p->x : p->y, mark[i] };
    }
    qsort(room, n, sizeof *room, compare_by_place);
    for (size_t i = 0; i < n; i++)
        mark[i] = room[i].mark;
}

struct parts {
    uint32_t *mark; /* [marks], part by part */
    size_t *end;    /* [parts] index behind the last of each */
    size_t parts;
    struct by_place *room;
    struct label_box window; /* that each is tried in */
};

#define PART_NOTES 40.0 /* points, kept free for the notes of a part when it is tried */

/* Halves marks until each part has room for what it says: mark[first ... first + n - 1] are put in order. */
static int
halve(struct ground_plan *plan, struct parts *parts, size_t first, size_t n)
{
    bool crowded = n > PART_MOST;
    if (!crowded) {
        struct plan_view v;
        struct plan_span span = span_of(plan, parts->mark + first, n);
        set_own(plan, parts->mark + first, n);
        crowded = n >= PART_LEAST && plan_fill(plan, &span, &parts->window) > FILL_MOST;
        int rc = crowded ? 0 : plan_view_open(&v, plan, &span, &parts->window, 1);
        if (!crowded) {
            crowded = rc == 0 && is_crowded(&v, n);
            plan_view_release(&v);
        }
        if (rc != 0)
            return rc;
    }
    if (!crowded) {
        parts->end[parts->parts++] = first + n;
        return 0;
    }
    sort_along(plan, parts->mark + first, n, parts->room);
    int rc = halve(plan, parts, first, n / 2);
    return rc == 0 ? halve(plan, parts, first + n / 2, n - n / 2) : rc;
}

/* ---- the parts on the plan of the whole ---- */

static struct label_box
part_box(const struct ground_plan *plan, const struct plan_view *v, const struct parts *parts, size_t i)
{
    size_t first = i == 0 ? 0 : parts->end[i - 1];
    struct plan_span part = span_of(plan, parts->mark + first, parts->end[i] - first);
    return plan_view_box(v, &part);
}

/* The number of a part, as wide and high as a label takes it. */
static struct label
part_label(struct label_box b, size_t number)
{
    char words[SHEET_WORDS];
    (void)put_count(words, number);
    double wide = canvas_text_width(words, PAGE_HEADING, true) + 4, high = PAGE_HEADING * CANVAS_CAPITAL + 4;
    return (struct label){ .x = (b.left + b.right) / 2, .y = (b.top + b.bottom) / 2, .reach = fmin(b.right - b.left, b.bottom - b.top) / 2,
        .width = { wide }, .height = { high } };
}

static bool
holds_its_number(const struct label *l, struct label_box b)
{
    return l->width[0] <= b.right - b.left && l->height[0] <= b.bottom - b.top;
}

/* Where each number stands: in the middle of its part, where it has room; else beside it, with a leader where that is farther off. */
static int
place_numbers(const struct plan_view *v, const struct label_box *box, struct label *label, size_t n)
{
    struct label_box *taken = room_new(n, sizeof *taken);
    struct label *outside = room_new(n, sizeof *outside);
    struct labels l = { .window = v->window, .label = outside, .taken = taken };
    for (size_t i = 0; taken && outside && i < n; i++) {
        label[i] = part_label(box[i], i + 1);
        double w = label[i].width[0] / 2, h = label[i].height[0] / 2;
        label[i].box = (struct label_box){ label[i].x - w, label[i].y - h, label[i].x + w, label[i].y + h };
        if (holds_its_number(&label[i], box[i]))
            taken[l.takens++] = label[i].box;
        else
            outside[l.n++] = label[i];
    }
    int rc = taken && outside ? labels_place(&l) : -1;
    for (size_t i = 0, k = 0; rc == 0 && i < n; i++)
        if (!holds_its_number(&label[i], box[i]))
            label[i] = outside[k++];
        else
            label[i].how = LABEL_BESIDE;
    free(taken);
    free(outside);
    return rc;
}

/* A number that has no place is found by its neighbours. */
static void
draw_number(struct canvas *c, const struct label *label, size_t number)
{
    const struct canvas_pen thin = { 0.4, CANVAS_GREY, CANVAS_SOLID };
    char words[SHEET_WORDS];
    struct label_box at = label->box;
    if (label->how == LABEL_NOWHERE)
        return;
    (void)put_count(stpcpy(words, "part "), number);
    canvas_group(c, words, NULL);
    if (label->led)
        canvas_line(c, thin, label->lead.x1, label->lead.y1, label->lead.x2, label->lead.y2);
    canvas_box(c, (struct canvas_pen){ 0, CANVAS_BLACK, CANVAS_SOLID }, CANVAS_WHITE, at.left, at.top, at.right - at.left, at.bottom - at.top);
    canvas_text(c, (struct canvas_type){ PAGE_HEADING, CANVAS_MIDDLE, CANVAS_BLACK, true, 0 }, (at.left + at.right) / 2, at.bottom - 2, words + 5);
    canvas_group_end(c);
}

static int
draw_outlines(const struct ground_plan *plan, const struct plan_view *v, const struct parts *parts)
{
    struct label_box *box = room_new(parts->parts, sizeof *box);
    struct label *label = room_new(parts->parts, sizeof *label);
    int rc = box && label ? 0 : -1;
    for (size_t i = 0; rc == 0 && i < parts->parts; i++) {
        box[i] = part_box(plan, v, parts, i);
        frame(plan, &box[i]);
    }
    if (rc == 0)
        rc = place_numbers(v, box, label, parts->parts);
    for (size_t i = 0; rc == 0 && i < parts->parts; i++)
        draw_number(plan->p->canvas, &label[i], i + 1);
    free(box);
    free(label);
    return rc;
}

/* The whole site, on the page at hand: its lines, and where each part lies. */
static int
overview(struct ground_plan *plan, const struct parts *parts)
{
    struct pages *p = plan->p;
    struct plan_view v;
    size_t n = parts->end[parts->parts - 1];
    char words[SHEET_WORDS];
    set_own(plan, NULL, 0);
    snprintf(words, sizeof words, "%zu marks, drawn in %zu parts on the pages that follow", n, parts->parts);
    pages_line(p, (struct canvas_type){ PAGE_HEADING, CANVAS_START, CANVAS_BLACK, false, 0 }, words);
    struct plan_span span = whole_span(plan, parts->mark, n);
    double key = plan_key(plan, NULL, 0) + 12;
    const struct label_box window = { p->left, p->top + 2, p->right, p->bottom - key };
    int rc = plan_view_open_lines(&v, plan, &span, &window);
    if (rc == 0) {
        frame(plan, &v.window);
        plan_view_lines(&v, plan);
        plan_north_lay(&v, plan);
        plan_north_draw(&v, plan);
        rc = draw_outlines(plan, &v, parts);
        (void)plan_key(plan, &v, v.window.bottom + 6);
    }
    plan_view_release(&v);
    return rc;
}

static int
draw_part(struct ground_plan *plan, const struct parts *parts, size_t i)
{
    char words[SHEET_WORDS];
    size_t first = i == 0 ? 0 : parts->end[i - 1], n = parts->end[i] - first;
    struct plan_span span = span_of(plan, parts->mark + first, n);
    if (page_head(plan) != 0)
        return -1;
    snprintf(words, sizeof words, "Part %zu of %zu", i + 1, parts->parts);
    pages_line(plan->p, (struct canvas_type){ PAGE_HEADING, CANVAS_START, CANVAS_BLACK, false, 0 }, words);
    return draw_page(plan, &span, parts->mark + first, n, NULL);
}

/* In parts, the page at hand showing where they are. */
static int
draw_parts(struct ground_plan *plan, uint32_t *mark, size_t n)
{
    const struct pages *p = plan->p;
    plan_setups_none(plan);
    struct parts parts = { .mark = mark, .window = { p->left, p->top + PAGE_HEADING * 1.32, p->right, p->bottom - PART_NOTES } };
    parts.window.bottom -= plan_key(plan, NULL, 0) + 12;
    parts.end = room_new(n / (PART_LEAST / 2) + 2, sizeof *parts.end);
    parts.room = room_new(n, sizeof *parts.room);
    int rc = parts.end && parts.room ? halve(plan, &parts, 0, n) : -1;
    if (rc == 0)
        rc = overview(plan, &parts);
    for (size_t i = 0; rc == 0 && i < parts.parts; i++)
        rc = draw_part(plan, &parts, i);
    free(parts.end);
    free(parts.room);
    return rc;
}

/* ---- the plan ---- */

/* Marks of the grade at hand; without a grade, all. */
static size_t
marks_of_page(const struct ground_plan *plan, uint32_t *mark)
{
    size_t n = 0;
    for (uint32_t i = 0; i < plan->marks; i++)
        if (!plan->grade || plan->first_stake[plan->mark[i].name] != JOB_NONE)
            mark[n++] = i;
    return n;
}

/* The plan of a grade, or where it is crowded its parts; its head stands already, on the page at hand. */
static int
draw_whole(struct ground_plan *plan, uint32_t *mark, size_t n)
{
    bool crowded = n > PART_MOST;
    int rc = 0;
    if (!crowded) {
        size_t all = plan->grade ? add_benchmarks(plan, mark, n) : n;
        struct plan_span span = whole_span(plan, mark, all);
        rc = draw_page(plan, &span, mark, all, &crowded);
    }
    return rc == 0 && crowded ? draw_parts(plan, mark, n) : rc;
}

#define AGAIN_GAP 10.0    /* points, between a plan and the heading of the next one */
#define AGAIN_LEAST 200.0 /* less is left of a page for no plan at all */

static int
draw_below(struct ground_plan *plan, uint32_t *mark, size_t n)
{
    pages_skip(plan->p, AGAIN_GAP);
    int rc = plan->grade ? pages_grade(plan->p, plan->grade) : 0;
    pages_skip(plan->p, 2);
    return rc == 0 ? draw_whole(plan, mark, n) : rc;
}

/* Draws a grade's plan twice where nobody sees it: below the one before it, and on a page of its own. True where it stands
 * as well below it: whole, and at the same scale. */
static int
fits_below(struct ground_plan *plan, uint32_t *mark, size_t n, bool *fits)
{
    struct pages *real = plan->p;
    struct plan_drawn drawn[2] = { { 0, false }, { 0, false } };
    const struct ground_plan before = *plan;
    size_t pages[2] = { 0, 0 };
    int rc = 0;
    *fits = false;
    for (int own = 0; own < 2 && rc == 0; own++) {
        struct canvas unseen = { 0 };
        struct pages trial = *real;
        trial.canvas = &unseen;
        plan->p = &trial;
        plan->held = before.held && !own; /* what ends the page before is not drawn here */
        if (own)
            rc = page_head(plan);
        else
            canvas_turn(&unseen, trial.width, trial.height, "");
        if (rc == 0)
            rc = own ? draw_whole(plan, mark, n) : draw_below(plan, mark, n);
        drawn[own] = plan->drawn;
        pages[own] = unseen.pages;
        canvas_release(&unseen);
        plan->cautioned = before.cautioned;
        plan->held = before.held;
        plan->said = before.said;
    }
    plan->p = real;
    *fits = rc == 0 && pages[0] == 1 && drawn[0].whole && drawn[0].ratio <= drawn[1].ratio;
    return rc;
}

/* On the page of the plan before it, where it stands there as well as on its own. */
static int
draw_grade(struct ground_plan *plan, const struct job_grade *grade, bool first)
{
    uint32_t *mark = room_new(plan->marks + 1, sizeof *mark);
    int rc = mark ? 0 : -1;
    bool below = false;
    if (rc == 0) {
        choose_grade(plan, grade);
        size_t n = marks_of_page(plan, mark);
        if (n > 0 && n <= BELOW_MOST && !first && !plan->p->doc->bare && plan->p->bottom - plan->p->top >= AGAIN_LEAST)
            rc = fits_below(plan, mark, n, &below);
        if (rc == 0 && n > 0 && !below)
            rc = page_head(plan);
        if (rc == 0 && n > 0)
            rc = below ? draw_below(plan, mark, n) : draw_whole(plan, mark, n);
    }
    free(mark);
    return rc;
}

int
figure_plan(struct pages *p)
{
    struct ground_plan plan = { .p = p, .job = p->doc->job };
    int rc = gather(&plan);
    if (rc == 0)
        rc = plan_lines_of(plan.job, &plan.lines);
    bool graded = false;
    for (size_t g = 0; rc == 0 && g < plan.job->grades; g++) {
        size_t before = p->canvas->pages;
        rc = draw_grade(&plan, &plan.job->grade[g], !graded);
        graded |= p->canvas->pages > before;
    }
    if (rc == 0 && !graded)
        rc = draw_grade(&plan, NULL, true);
    if (rc == 0)
        rc = end_page(&plan);
    release(&plan);
    return rc;
}
