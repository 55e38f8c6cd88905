/* plan_page.c - one page of the plan: its scale, symbols, labels and key */
#include "plan_page.h"
#include "moves.h"

#include "rodbook/room.h"
#include "rodbook/layout.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Capitals are 2.5 mm high in moves (ISO 3098-1), and as much higher as plan_view.type says: 3.5 mm where all have room. */
#define NAME_SIZE 9.0
#define MOVE_SIZE 9.75
#define KEY_SIZE 8.0
#define SHAPE 0.5        /* of a shape beside text of MOVE_SIZE */
#define SHAPE_WIDTH 11.0 /* with the gap behind it */
#define NAME_GAP 4.0     /* between a name and its move, in one line */
#define LINE 1.02        /* from base line to base line, as a share of the size: capitals and descenders touch no more */
#define ROOM_SIDE 40.0   /* points, left free for labels when the scale is chosen */
#define ROOM_ABOVE 27.0
#define WIDEST 0.4       /* a label that takes more of the window's width goes into the list */
#define MOVES_MOST RECORD_ON_COUNT
#define MINOR_MOST 300   /* more marks of other grades than this are not named */

static const struct canvas_pen no_pen = { 0, CANVAS_BLACK, CANVAS_SOLID }, hairline = { 0.5, CANVAS_GREY, CANVAS_SOLID };

/* Line types after ISO 128-2: continuous wide and narrow, dashed, long-dashed dotted narrow. */
static const struct canvas_pen pens[PLAN_LINE_KINDS] = {
    [PLAN_FOOTPRINT] = { 1.3, CANVAS_BLACK, CANVAS_SOLID },
    [PLAN_POSTS] = { 0.7, CANVAS_BLACK, CANVAS_DASHED },
    [PLAN_STRING] = { 0.6, CANVAS_BLACK, CANVAS_SOLID },
    [PLAN_DIAGONAL] = { 0.5, CANVAS_GREY, CANVAS_CHAIN },
};

static const struct canvas_pen sight_pen = { 0.5, CANVAS_GREY, CANVAS_DOTTED };

/* How clear of labels they are kept: a gap in a wall reads as a door. */
static const double weights[PLAN_LINE_KINDS] = { [PLAN_FOOTPRINT] = LABELS_NEVER, [PLAN_POSTS] = LABELS_NEVER, [PLAN_STRING] = LABELS_FIRM,
    [PLAN_DIAGONAL] = 0.3 };

#define SIGHT_WEIGHT 0.12 /* a line of sight is broken by a label where that spares anything else */
#define STUB 22.0         /* points: what is left of a line between two labels, and shorter, is not drawn */
#define STUB_END 12.0      /* nor what is left at its end... */
#define STUB_SIGHT 2.0     /* ...but a line of sight goes on to its mark */
#define FRAME_CLEAR 8.5   /* points, 3 mm, between a label and the frame */

/* ---- words ---- */

struct move {
    const struct job_stake *stake;
    char words[SHEET_WORDS + 16];
};

struct label_words {
    bool bold; /* the name */
    char name[SHEET_WORDS + LENGTH_TEXT];
    struct move move[MOVES_MOST];
    size_t moves;
};

static void
name_words(const struct ground_plan *plan, const struct plan_mark *m, char *out, size_t room)
{
    const struct job *job = plan->job;
    char elevation[LENGTH_TEXT];
    uint32_t mark = job->mark_of[m->name];
    if (mark == JOB_NONE) {
        snprintf(out, room, "%s", names_text(&job->r->names, m->name));
        return;
    }
    length_print(elevation, job->r->mark[mark].elevation, plan->p->style.elevation);
    snprintf(out, room, "%s %s", names_text(&job->r->names, m->name), elevation);
}

static void
words_of(const struct ground_plan *plan, const struct plan_mark *m, struct label_words *w)
{
    char words[SHEET_WORDS];
    const struct job *job = plan->job;
    bool own = plan->own[m - plan->mark]; /* others have their moves on another page */
    uint32_t first = own ? plan->first_stake[m->name] : JOB_NONE;
    w->moves = 0;
    w->bold = own;
    name_words(plan, m, w->name, sizeof w->name);
    for (uint32_t i = first; i != JOB_NONE && w->moves < MOVES_MOST; i = plan->next_stake[i]) {
        struct move *move = &w->move[w->moves++];
        move->stake = &job->stake[i];
        moves_words(words, move->stake, &plan->p->style);
        bool several = plan->next_stake[first] != JOB_NONE;
        snprintf(move->words, sizeof move->words, "%s%s%s", several ? record_on_word((enum record_on)move->stake->on) : "",
            several ? " " : "", words);
    }
}

void
plan_moves(struct remark *out, const struct ground_plan *plan, const struct plan_mark *m)
{
    struct label_words w;
    words_of(plan, m, &w);
    for (size_t i = 0; i < w.moves; i++)
        remark_add(out, "%s", w.move[i].words);
}

static struct canvas_type
move_type(const struct job_stake *s, double type)
{
    bool plain = s->verdict == JOB_LEAVE || s->verdict == JOB_UNREAD;
    return (struct canvas_type){ MOVE_SIZE * type, CANVAS_START, moves_ink(s), !plain, 0 };
}

static double
move_width(const struct move *m, double type)
{
    struct canvas_type set = move_type(m->stake, type);
    return SHAPE_WIDTH * type + canvas_text_width(m->words, set.size, set.bold);
}

/* Form 0: the moves below the name; form 1: all in a line. */
static void
measure(const struct ground_plan *plan, const struct plan_mark *m, double widest, double type, struct label *label)
{
    struct label_words w;
    words_of(plan, m, &w);
    double name = canvas_text_width(w.name, NAME_SIZE * type, w.bold);
    label->name_width = label->width[0] = name;
    label->name_height = NAME_SIZE * LINE * type;
    label->height[0] = (NAME_SIZE + MOVE_SIZE * (double)w.moves) * LINE * type;
    for (size_t i = 0; i < w.moves; i++)
        label->width[0] = fmax(label->width[0], move_width(&w.move[i], type));
    if (w.moves == 1) {
        label->width[1] = name + NAME_GAP * type + move_width(&w.move[0], type);
        label->height[1] = MOVE_SIZE * LINE * type;
    }
    for (int i = 0; i < LABEL_FORMS; i++)
        if (label->width[i] > widest)
            label->width[i] = 0;
}

/* ---- symbols ---- */

#define BENCHMARK (RECORD_POINT_KINDS + 1) /* beside the kinds of points, for tables of symbols */

static unsigned
symbol_of(const struct ground_plan *plan, const struct plan_mark *m)
{
    return m->benchmark ? BENCHMARK : plan->job->r->point[m->point].kind;
}

static const struct {
    double reach;
    const char *words;
} symbols[] = {
    [RECORD_POINT_BATTEN] = { 4.5, "batten" },
    [RECORD_POINT_POST] = { 3.2, "post" },
    [RECORD_POINT_CORNER] = { 2.8, "corner" },
    [RECORD_POINT_GROUND] = { 3.2, "ground" },
    [RECORD_POINT_FOOTING] = { 3.6, "footing" },
    [RECORD_POINT_KINDS] = { 2.2, "point" },
    [BENCHMARK] = { 4.8, "benchmark" },
};

#define SYMBOLS (sizeof symbols / sizeof symbols[0])

/* Posts are drawn to their size where the record gives it, if that can be seen. */
#define POST_LEAST 2.4 /* points, half of its shorter side */

/* Half the sides of a post on the page; its symbol's, where its size is not known or too small. */
static struct canvas_place
post_size(const struct plan_view *v, const struct ground_plan *plan)
{
    struct canvas_place half = { (double)plan->lines.post_along * v->scale.points / 2, (double)plan->lines.post_across * v->scale.points / 2 };
    double usual = symbols[RECORD_POINT_POST].reach - 0.5;
    return fmin(half.x, half.y) >= POST_LEAST ? half : (struct canvas_place){ usual, usual };
}

static double
reach_of(const struct plan_view *v, const struct ground_plan *plan, const struct plan_mark *m)
{
    unsigned which = symbol_of(plan, m);
    struct canvas_place post = post_size(v, plan);
    return which == RECORD_POINT_POST ? fmax(post.x, post.y) + 0.5 : symbols[which].reach;
}

static void
symbol(struct canvas *c, unsigned which, double x, double y, enum canvas_ink ink)
{
    double r = symbols[which].reach - 0.5;
    const struct canvas_pen pen = { 1, ink, CANVAS_SOLID };
    const struct canvas_place triangle[3] = { { x, y - r }, { x + r, y + r }, { x - r, y + r } };
    switch (which) {
    case RECORD_POINT_BATTEN:
        canvas_box(c, pen, CANVAS_WHITE, x - r, y - 1.5, 2 * r, 3);
        canvas_line(c, pen, x, y - r, x, y + r);
        break;
    case RECORD_POINT_POST:
        canvas_box(c, pen, CANVAS_WHITE, x - r, y - r, 2 * r, 2 * r);
        break;
    case RECORD_POINT_CORNER:
        canvas_circle(c, pen, CANVAS_WHITE, x, y, r);
        break;
    case RECORD_POINT_GROUND:
        canvas_line(c, pen, x - r, y, x + r, y);
        canvas_line(c, pen, x, y - r, x, y + r);
        break;
    case RECORD_POINT_FOOTING:
        canvas_box(c, pen, CANVAS_WHITE, x - r, y - r, 2 * r, 2 * r);
        canvas_box(c, no_pen, ink, x - r * 0.4, y - r * 0.4, 0.8 * r, 0.8 * r);
        break;
    case BENCHMARK:
        canvas_path(c, pen, CANVAS_WHITE, true, triangle, 3);
        canvas_circle(c, no_pen, ink, x, y + r * 0.3, 1);
        break;
    default:
        canvas_circle(c, no_pen, ink, x, y, r);
    }
}

/* A ring with a dot, on three short legs. */
#define SETUP_REACH 6.5

static void
setup_symbol(struct canvas *c, double x, double y)
{
    const struct canvas_pen pen = { 0.9, CANVAS_BLACK, CANVAS_SOLID };
    static const struct canvas_place leg[3] = { { 0, 1 }, { -0.8660254, -0.5 }, { 0.8660254, -0.5 } };
    canvas_circle(c, pen, CANVAS_WHITE, x, y, 3.2);
    canvas_circle(c, no_pen, CANVAS_BLACK, x, y, 1);
    for (size_t i = 0; i < 3; i++)
        canvas_line(c, pen, x + 3.2 * leg[i].x, y + 3.2 * leg[i].y, x + 6 * leg[i].x, y + 6 * leg[i].y);
}

static void
setup_words(const struct ground_plan *plan, uint32_t setup, char out[SHEET_WORDS])
{
    setup_name(stpcpy(out, "set-up "), plan->job, plan->setup[setup]);
}

#define SETUP_NUMBER 7 /* in its words, where its number begins */

/* ---- laying out ---- */

struct scale
plan_scale(const struct ground_plan *plan, const struct plan_span *span, const struct label_box *window)
{
    double width = fmax(window->right - window->left - 2 * ROOM_SIDE, 36), height = fmax(window->bottom - window->top - 2 * ROOM_ABOVE, 36);
    return scale_choose(plan->job->r->job.unit, span->right - span->left, span->top - span->bottom, width, height);
}

double
plan_fill(const struct ground_plan *plan, const struct plan_span *span, const struct label_box *window)
{
    struct scale scale = plan_scale(plan, span, window);
    double wide = (double)(span->right - span->left) * scale.points + 2 * ROOM_SIDE, high = (double)(span->top - span->bottom) * scale.points +
        2 * ROOM_ABOVE, words = 0;
    for (size_t i = 0; i < plan->marks; i++) {
        struct label label = { .width = { 0 } };
        if (!plan->own[i])
            continue;
        measure(plan, &plan->mark[i], INFINITY, 1, &label);
        words += label.width[1] > 0 ? label.width[1] * label.height[1] : label.width[0] * label.height[0];
    }
    return words / (wide * high);
}

static struct canvas_place
at_page(const struct plan_view *v, length x, length y)
{
    return (struct canvas_place){ v->left + (double)(x - v->span.left) * v->scale.points,
        v->bottom - (double)(y - v->span.bottom) * v->scale.points };
}

struct label_box
plan_view_box(const struct plan_view *v, const struct plan_span *span)
{
    struct canvas_place low = at_page(v, span->left, span->bottom), high = at_page(v, span->right, span->top);
    return (struct label_box){ low.x, high.y, high.x, low.y };
}

static struct canvas_place
mark_at(const struct plan_view *v, const struct ground_plan *plan, const struct plan_mark *m)
{
    const struct record_point *point = &plan->job->r->point[m->point];
    return at_page(v, point->x, point->y);
}

static bool
is_between(length at, length one, length other)
{
    return (at >= one && at <= other) || (at >= other && at <= one);
}

/* A line round the posts that lies under a string is not seen. */
static bool
is_hidden(const struct ground_plan *plan, const struct plan_line *l)
{
    for (size_t i = 0; l->kind == PLAN_POSTS && i < plan->lines.lines; i++) {
        const struct plan_line *s = &plan->lines.line[i];
        bool by_y = s->from.x == s->to.x && l->from.x == s->from.x && l->to.x == s->from.x;
        bool by_x = s->from.y == s->to.y && l->from.y == s->from.y && l->to.y == s->from.y;
        bool within = is_between(l->from.x, s->from.x, s->to.x) && is_between(l->to.x, s->from.x, s->to.x) &&
            is_between(l->from.y, s->from.y, s->to.y) && is_between(l->to.y, s->from.y, s->to.y);
        if (s->kind == PLAN_STRING && (by_x || by_y) && within)
            return true;
    }
    return false;
}

/* Lines, as far as they are in the window. */
static void
lay_lines(struct plan_view *v, const struct ground_plan *plan)
{
    for (uint32_t i = 0; i < plan->lines.lines; i++) {
        const struct plan_line *l = &plan->lines.line[i];
        struct canvas_place a = at_page(v, l->from.x, l->from.y), b = at_page(v, l->to.x, l->to.y);
        struct label_line edge = { a.x, a.y, b.x, b.y };
        if (is_hidden(plan, l) || !label_line_within(&edge, v->window))
            continue;
        v->edge[v->edges] = edge;
        v->weight[v->edges] = weights[l->kind];
        v->edge_of[v->edges++] = i;
    }
}

/* Off both ends by what stands there. */
static void
shorten(struct label_line *l, double from, double to)
{
    double dx = l->x2 - l->x1, dy = l->y2 - l->y1, far = hypot(dx, dy), share = far > 0 ? 1 / far : 0;
    if (from + to >= far) {
        *l = (struct label_line){ l->x1, l->y1, l->x1, l->y1 };
        return;
    }
    *l = (struct label_line){ l->x1 + dx * from * share, l->y1 + dy * from * share, l->x2 - dx * to * share, l->y2 - dy * to * share };
}

static struct canvas_place
setup_at(const struct plan_view *v, const struct ground_plan *plan, uint32_t leg)
{
    const struct record_stand *at = &plan->job->r->stand[plan->stand_of[leg]];
    return at_page(v, at->x, at->y);
}

/* Behind the lines of the building. */
static void
lay_sights(struct plan_view *v, const struct ground_plan *plan)
{
    for (uint32_t i = 0; i < plan->sights; i++) {
        const struct plan_mark *m = &plan->mark[plan->sight[i].mark];
        struct canvas_place a = setup_at(v, plan, plan->sight[i].leg), b = mark_at(v, plan, m);
        struct label_line edge = { a.x, a.y, b.x, b.y };
        shorten(&edge, SETUP_REACH, reach_of(v, plan, m));
        if (!label_line_within(&edge, v->window))
            continue;
        size_t at = v->edges + v->sights++;
        v->edge[at] = edge;
        v->weight[at] = SIGHT_WEIGHT;
        v->edge_of[at] = i;
    }
}

static void
lay_setups(struct plan_view *v, const struct ground_plan *plan)
{
    char words[SHEET_WORDS];
    for (uint32_t i = 0; i < plan->setups; i++) {
        struct canvas_place at = setup_at(v, plan, plan->setup[i]);
        setup_words(plan, i, words);
        v->mark[v->labels.n] = JOB_NONE;
        v->setup[v->labels.n] = i;
        v->label[v->labels.n++] = (struct label){ .x = at.x, .y = at.y, .reach = SETUP_REACH,
            .width[0] = canvas_text_width(words, NAME_SIZE * v->type, false), .height[0] = NAME_SIZE * LINE * v->type,
            .key_width = canvas_text_width(words + SETUP_NUMBER, KEY_SIZE, true) + 4, .key_height = KEY_SIZE * LINE + 2 };
    }
}

static void
diagonal_words(const struct ground_plan *plan, const struct plan_line *l, char out[LENGTH_TEXT])
{
    length_print(out, site_layout_distance(l->from, l->to), plan->p->style.elevation);
}

static void
lay_diagonals(struct plan_view *v, const struct ground_plan *plan)
{
    char words[LENGTH_TEXT];
    for (size_t i = 0; i < v->edges; i++) {
        const struct plan_line *l = &plan->lines.line[v->edge_of[i]];
        if (l->kind != PLAN_DIAGONAL)
            continue;
        diagonal_words(plan, l, words);
        const struct label_line *e = &v->edge[i];
        v->mark[v->labels.n] = v->setup[v->labels.n] = JOB_NONE;
        v->line[v->labels.n] = v->edge_of[i];
        /* A quarter along, where the two do not meet. */
        v->label[v->labels.n++] = (struct label){ .x = e->x1, .y = e->y1, .x2 = e->x1 + (e->x2 - e->x1) * 0.55, .y2 = e->y1 + (e->y2 - e->y1) * 0.55,
            .on_line = true, .width[0] = canvas_text_width(words, NAME_SIZE, false) + 2, .height[0] = NAME_SIZE * LINE };
    }
}

static bool
in_window(const struct plan_view *v, struct canvas_place at, double reach)
{
    return at.x - reach >= v->window.left && at.x + reach <= v->window.right && at.y - reach >= v->window.top &&
        at.y + reach <= v->window.bottom;
}

/* The points that a building set out has at its corners: what they are is seen. */
static const struct {
    const char *end, *words; /* of its name; as the key has it */
} corner_points[] = { { " string", "where strings cross" }, { " post", "corner of posts" } };

#define CORNER_POINTS (sizeof corner_points / sizeof corner_points[0])

/* Which of them a mark is; CORNER_POINTS for none. */
static size_t
corner_point(const struct ground_plan *plan, const struct plan_mark *m)
{
    const char *name = names_text(&plan->job->r->names, m->name);
    size_t n = strlen(name), i = 0;
    if (symbol_of(plan, m) != RECORD_POINT_KINDS)
        return CORNER_POINTS;
    for (; i < CORNER_POINTS; i++) {
        size_t k = strlen(corner_points[i].end);
        if (n > k && strcmp(name + n - k, corner_points[i].end) == 0)
            break;
    }
    return i;
}

static void
lay_marks(struct plan_view *v, const struct ground_plan *plan)
{
    size_t digits = 1, owns = 0;
    for (size_t i = 0; i < plan->marks; i++)
        owns += plan->own[i];
    for (size_t n = owns; n >= 10; n /= 10)
        digits++;
    double key = canvas_text_width("8", KEY_SIZE, true) * (double)digits + 4, widest = (v->window.right - v->window.left) * WIDEST;
    bool name_others = plan->marks - owns <= MINOR_MOST;
    for (uint32_t i = 0; i < plan->marks; i++) {
        const struct plan_mark *m = &plan->mark[i];
        struct canvas_place at = mark_at(v, plan, m);
        double reach = reach_of(v, plan, m);
        if (!in_window(v, at, reach))
            continue;
        if (!plan->own[i] && (!name_others || corner_point(plan, m) < CORNER_POINTS)) {
            v->taken[v->takens] = (struct label_box){ at.x - reach, at.y - reach, at.x + reach, at.y + reach };
            v->taken_mark[v->takens++] = i;
            continue;
        }
        struct label *label = &v->label[v->labels.n];
        *label = (struct label){ .x = at.x, .y = at.y, .reach = reach, .minor = !plan->own[i],
            .idle = !plan->own[i] && symbol_of(plan, m) == RECORD_POINT_CORNER };
        measure(plan, m, widest, plan->own[i] ? v->type : 1, label);
        label->key_width = plan->own[i] ? key : 0;
        label->key_height = KEY_SIZE * LINE + 2;
        v->setup[v->labels.n] = JOB_NONE;
        v->mark[v->labels.n++] = i;
    }
}

int
plan_view_open_lines(struct plan_view *v, const struct ground_plan *plan, const struct plan_span *span, const struct label_box *window)
{
    size_t lines = plan->lines.lines, most = plan->marks + lines + plan->setups;
    *v = (struct plan_view){ .window = *window, .span = *span, .scale = plan_scale(plan, span, window) };
    double wide = (double)(span->right - span->left) * v->scale.points, high = (double)(span->top - span->bottom) * v->scale.points;
    v->left = (window->left + window->right - wide) / 2;
    v->bottom = (window->top + window->bottom + high) / 2 + plan->lower;
    v->label = room_new(most, sizeof *v->label);
    v->mark = room_new(most, sizeof *v->mark);
    v->line = room_new(most, sizeof *v->line);
    v->setup = room_new(most, sizeof *v->setup);
    v->edge = room_new(lines + plan->sights, sizeof *v->edge);
    v->edge_of = room_new(lines + plan->sights, sizeof *v->edge_of);
    v->weight = room_new(lines + plan->sights, sizeof *v->weight);
    v->taken = room_new(plan->marks + 1, sizeof *v->taken);
    v->taken_mark = room_new(plan->marks + 1, sizeof *v->taken_mark);
    if (!v->label || !v->mark || !v->setup || !v->line || !v->edge || !v->edge_of || !v->weight || !v->taken || !v->taken_mark)
        return -1;
    lay_lines(v, plan);
    return 0;
}

int
plan_view_open(struct plan_view *v, const struct ground_plan *plan, const struct plan_span *span, const struct label_box *window, double type)
{
    if (plan_view_open_lines(v, plan, span, window) != 0)
        return -1;
    v->type = type;
    lay_marks(v, plan);
    lay_setups(v, plan);
    lay_sights(v, plan);
    lay_diagonals(v, plan);
    plan_north_lay(v, plan);
    const struct label_box clear = { window->left + FRAME_CLEAR, window->top + FRAME_CLEAR, window->right - FRAME_CLEAR, window->bottom - FRAME_CLEAR };
    v->labels = (struct labels){ .window = clear, .label = v->label, .n = v->labels.n, .line = v->edge, .lines = v->edges + v->sights, .weight = v->weight,
        .taken = v->taken, .takens = v->takens };
    if (labels_place(&v->labels) != 0)
        return -1;
    plan_fall_lay(v, plan);
    for (size_t i = 0; i < v->labels.n; i++) {
        const struct label *l = &v->label[i];
        bool is_mark = v->mark[i] != JOB_NONE;
        bool listed = is_mark && !l->minor && (l->how == LABEL_KEYED || l->how == LABEL_NOWHERE);
        v->keyed += listed;
        v->squeezed += listed && (l->width[0] > 0 || l->width[1] > 0);
        v->nowhere += is_mark && !l->minor && l->how == LABEL_NOWHERE;
        v->led += is_mark && l->how == LABEL_LED;
    }
    return 0;
}

/* Widens a stretch of the page to one more. */
static void
take_in(double *top, double *bottom, double from, double to)
{
    *top = fmin(*top, from);
    *bottom = fmax(*bottom, to);
}

void
plan_view_room(const struct plan_view *v, double *above, double *below)
{
    struct label_box span = plan_view_box(v, &v->span);
    double top = span.top, bottom = span.bottom;
    for (size_t i = 0; i < v->labels.n; i++) {
        const struct label *l = &v->label[i];
        take_in(&top, &bottom, l->y - l->reach, l->y + l->reach);
        if (l->how != LABEL_NOWHERE)
            take_in(&top, &bottom, l->box.top, l->box.bottom);
    }
    for (size_t i = 0; i < v->takens; i++)
        if (v->taken_mark[i] != JOB_NONE)
            take_in(&top, &bottom, v->taken[i].top, v->taken[i].bottom);
    *above = fmax(span.top - top + FRAME_CLEAR, ROOM_ABOVE) + 1;
    *below = fmax(bottom - span.bottom + FRAME_CLEAR, ROOM_ABOVE) + 1;
}

void
plan_view_release(struct plan_view *v)
{
    free(v->label);
    free(v->mark);
    free(v->line);
    free(v->setup);
    free(v->edge);
    free(v->edge_of);
    free(v->weight);
    free(v->taken);
    free(v->taken_mark);
    *v = (struct plan_view){ 0 };
}

/* ---- drawing ---- */

/* Posts that stand in one line have no line round them. */
static const char *
line_words(const struct ground_plan *plan, enum plan_line_kind kind)
{
    static const char *const words[] = { [PLAN_FOOTPRINT] = "footprint", [PLAN_POSTS] = "line round the outer posts",
        [PLAN_STRING] = "string", [PLAN_DIAGONAL] = "diagonal" };
    size_t sides = 0;
    for (size_t i = 0; i < plan->lines.lines; i++)
        sides += plan->lines.line[i].kind == PLAN_POSTS;
    return kind == PLAN_POSTS && sides == 1 ? "line of the posts" : words[kind];
}

static void
line_title(const struct ground_plan *plan, const struct plan_line *l, char *out, size_t room)
{
    const struct names *names = &plan->job->r->names;
    const char *from = names_text(names, l->from_name);
    if (l->to_name == RECORD_NONE)
        snprintf(out, room, "%s of row %s", line_words(plan, l->kind), from);
    else
        snprintf(out, room, "%s %s to %s", line_words(plan, l->kind), from, names_text(names, l->to_name));
}

/* Where a label's box, with a little air, takes a line: shares of it. */
static bool
taken_of(const struct label *l, const struct label_line *e, double *from, double *to)
{
    const struct label_box b = { l->box.left - 1, l->box.top - 1, l->box.right + 1, l->box.bottom + 1 };
    struct label_line part = *e;
    double dx = e->x2 - e->x1, dy = e->y2 - e->y1, square = dx * dx + dy * dy;
    if (!(l->how == LABEL_BESIDE || l->how == LABEL_LED) || !l->on_lines || !(square > 0) || !label_line_meets_box(*e, l->box) ||
        !label_line_within(&part, b))
        return false;
    *from = ((part.x1 - e->x1) * dx + (part.y1 - e->y1) * dy) / square;
    *to = ((part.x2 - e->x1) * dx + (part.y2 - e->y1) * dy) / square;
    return *to > *from;
}

static void
put_piece(struct canvas *c, struct canvas_pen pen, const struct label_line *e, double from, double to)
{
    double dx = e->x2 - e->x1, dy = e->y2 - e->y1, far = hypot(dx, dy) * (to - from), end = pen.dash == sight_pen.dash ? STUB_SIGHT : STUB_END;
    double least = from <= 0 && to >= 1 ? 0 : from > 0 && to < 1 ? STUB : end;
    if (far > least)
        canvas_line(c, pen, e->x1 + dx * from, e->y1 + dy * from, e->x1 + dx * to, e->y1 + dy * to);
}

/* A line that gives way to labels: nothing white is laid over the drawing. */
static void
put_broken(const struct plan_view *v, struct canvas *c, struct canvas_pen pen, const struct label_line *e)
{
    double at = 0;
    while (at < 1) {
        double begin = 1, end = 1, from, to;
        for (size_t i = 0; i < v->labels.n; i++)
            if (taken_of(&v->label[i], e, &from, &to) && to > at && from < begin) {
                begin = from;
                end = to;
            }
        if (begin > at)
            put_piece(c, pen, e, at, begin);
        at = end > at ? end : 1;
    }
}

/* A group for the footprint, and one for each string and diagonal. */
void
plan_view_lines(const struct plan_view *v, const struct ground_plan *plan)
{
    struct canvas *c = plan->p->canvas;
    char title[SHEET_WORDS * 3];
    for (size_t i = 0; i < v->edges; i++) {
        const struct plan_line *l = &plan->lines.line[v->edge_of[i]];
        const struct label_line *e = &v->edge[i];
        bool ring = l->kind == PLAN_FOOTPRINT || l->kind == PLAN_POSTS;
        bool begins = i == 0 || plan->lines.line[v->edge_of[i - 1]].kind != l->kind;
        bool ends = i + 1 == v->edges || plan->lines.line[v->edge_of[i + 1]].kind != l->kind;
        line_title(plan, l, title, sizeof title);
        if (!ring || begins)
            canvas_group(c, ring ? line_words(plan, l->kind) : title, NULL);
        if (ring)
            canvas_line(c, pens[l->kind], e->x1, e->y1, e->x2, e->y2);
        else
            put_broken(v, c, pens[l->kind], e);
        if (!ring || ends)
            canvas_group_end(c);
    }
}

/* A box's text begins at its left, ends at its right or is in its middle, as it stands to its point. */
static enum canvas_anchor
anchor_of(const struct label *l)
{
    return l->box.left >= l->x ? CANVAS_START : l->box.right <= l->x ? CANVAS_END : CANVAS_MIDDLE;
}

static double
begin_of(const struct label *l, double width)
{
    switch (anchor_of(l)) {
    case CANVAS_START: return l->box.left;
    case CANVAS_END: return l->box.right - width;
    default: return (l->box.left + l->box.right - width) / 2;
    }
}

static void
mark_symbol(const struct plan_view *v, const struct ground_plan *plan, const struct plan_mark *m, struct canvas_place at, enum canvas_ink ink)
{
    unsigned which = symbol_of(plan, m);
    struct canvas_place half = post_size(v, plan);
    if (which == RECORD_POINT_POST)
        canvas_box(plan->p->canvas, (struct canvas_pen){ 1, ink, CANVAS_SOLID }, CANVAS_WHITE, at.x - half.x, at.y - half.y, 2 * half.x, 2 * half.y);
    else
        symbol(plan->p->canvas, which, at.x, at.y, ink);
}

static void
put_move(struct canvas *c, const struct move *m, double x, double base, double type)
{
    moves_shape(c, m->stake, x + SHAPE * 8 * type, base - MOVE_SIZE * type * CANVAS_CAPITAL / 2, SHAPE * type);
    canvas_text(c, move_type(m->stake, type), x + SHAPE_WIDTH * type, base, m->words);
}

static void
put_words(struct canvas *c, const struct label *l, const struct label_words *w, double type, enum canvas_ink ink)
{
    double name = canvas_text_width(w->name, NAME_SIZE * type, w->bold), base = l->box.top + NAME_SIZE * type * CANVAS_CAPITAL;
    const struct canvas_type set = { NAME_SIZE * type, CANVAS_START, ink, w->bold, 0 };
    if (l->form == 1) {
        base = l->box.top + MOVE_SIZE * type * CANVAS_CAPITAL;
        canvas_text(c, set, l->box.left, base, w->name);
        put_move(c, &w->move[0], l->box.left + name + NAME_GAP * type, base, type);
        return;
    }
    canvas_text(c, set, begin_of(l, name), base, w->name);
    base = l->box.top + (NAME_SIZE * LINE - MOVE_SIZE * (LINE - CANVAS_CAPITAL)) * type;
    for (size_t i = 0; i < w->moves; i++) {
        base += MOVE_SIZE * LINE * type;
        put_move(c, &w->move[i], begin_of(l, move_width(&w->move[i], type)), base, type);
    }
}

static void
put_key(struct canvas *c, const struct label *l, uint32_t number)
{
    char text[24];
    (void)put_count(text, number);
    canvas_box(c, hairline, CANVAS_WHITE, l->box.left, l->box.top, l->box.right - l->box.left, l->box.bottom - l->box.top);
    canvas_text(c, (struct canvas_type){ KEY_SIZE, CANVAS_MIDDLE, CANVAS_BLACK, true, 0 }, (l->box.left + l->box.right) / 2,
        l->box.top + 1.5 + KEY_SIZE * CANVAS_CAPITAL, text);
}

static void
put_label(struct canvas *c, const struct label *l, const struct label_words *w, double type, uint32_t number, enum canvas_ink ink)
{
    if (l->how == LABEL_NOWHERE)
        return;
    if (l->led)
        canvas_line(c, hairline, l->lead.x1, l->lead.y1, l->lead.x2, l->lead.y2);
    if (l->how == LABEL_KEYED) {
        put_key(c, l, number);
        return;
    }
    put_words(c, l, w, type, ink);
}

static void
describe(const struct ground_plan *plan, const struct plan_mark *m, struct remark *out)
{
    char x[LENGTH_TEXT], y[LENGTH_TEXT];
    const struct record_point *point = &plan->job->r->point[m->point];
    length_print(x, point->x, plan->p->style.elevation);
    length_print(y, point->y, plan->p->style.elevation);
    remark_add(out, "%s at x %s, y %s", m->benchmark ? "benchmark" : symbols[point->kind].words, x, y);
    plan_moves(out, plan, m);
}

static void
draw_mark(const struct plan_view *v, const struct ground_plan *plan, size_t i)
{
    const struct plan_mark *m = &plan->mark[v->mark[i]];
    const struct label *l = &v->label[i];
    struct canvas *c = plan->p->canvas;
    enum canvas_ink ink = l->minor && m->staked ? CANVAS_GREY : CANVAS_BLACK;
    struct label_words w;
    struct remark remark = { 0 };
    describe(plan, m, &remark);
    words_of(plan, m, &w);
    canvas_group(c, names_text(&plan->job->r->names, m->name), remark.text);
    mark_symbol(v, plan, m, (struct canvas_place){ l->x, l->y }, ink);
    put_label(c, l, &w, l->minor ? 1 : v->type, plan->number[v->mark[i]], ink);
    canvas_group_end(c);
}

/* Each set-up's lines of sight in a group. */
static void
draw_sights(const struct plan_view *v, const struct ground_plan *plan)
{
    struct canvas *c = plan->p->canvas;
    char title[SHEET_WORDS + 32], name[SHEET_WORDS];
    uint32_t open = JOB_NONE;
    for (size_t i = v->edges; i < v->edges + v->sights; i++) {
        uint32_t leg = plan->sight[v->edge_of[i]].leg;
        const struct label_line *e = &v->edge[i];
        if (leg != open) {
            if (open != JOB_NONE)
                canvas_group_end(c);
            setup_name(name, plan->job, leg);
            snprintf(title, sizeof title, "lines of sight from set-up %s", name);
            canvas_group(c, title, NULL);
            open = leg;
        }
        put_broken(v, c, sight_pen, e);
    }
    if (open != JOB_NONE)
        canvas_group_end(c);
}

static void
draw_setup(const struct plan_view *v, const struct ground_plan *plan, size_t i)
{
    const struct label *l = &v->label[i];
    const struct record_stand *at = &plan->job->r->stand[plan->stand_of[plan->setup[v->setup[i]]]];
    struct canvas *c = plan->p->canvas;
    char words[SHEET_WORDS], x[LENGTH_TEXT], y[LENGTH_TEXT];
    struct remark remark = { 0 };
    setup_words(plan, v->setup[i], words);
    length_print(x, at->x, plan->p->style.elevation);
    length_print(y, at->y, plan->p->style.elevation);
    remark_add(&remark, "instrument at x %s, y %s", x, y);
    canvas_group(c, words, remark.text);
    setup_symbol(c, l->x, l->y);
    if (l->how != LABEL_NOWHERE) {
        bool keyed = l->how == LABEL_KEYED; /* its number alone, where that is all there is room for */
        double size = keyed ? KEY_SIZE : NAME_SIZE * v->type, above = keyed ? 1.5 : 0;
        if (l->led)
            canvas_line(c, hairline, l->lead.x1, l->lead.y1, l->lead.x2, l->lead.y2);
        canvas_text(c, (struct canvas_type){ size, CANVAS_MIDDLE, CANVAS_BLACK, keyed, 0 }, (l->box.left + l->box.right) / 2,
            l->box.top + above + size * CANVAS_CAPITAL, keyed ? words + SETUP_NUMBER : words);
    }
    canvas_group_end(c);
}

static void
draw_diagonal_length(const struct plan_view *v, const struct ground_plan *plan, size_t i)
{
    const struct label *l = &v->label[i];
    char words[LENGTH_TEXT];
    if (l->how == LABEL_NOWHERE)
        return;
    diagonal_words(plan, &plan->lines.line[v->line[i]], words);
    canvas_text(plan->p->canvas, (struct canvas_type){ NAME_SIZE, CANVAS_MIDDLE, CANVAS_BLACK, false, 0 }, (l->box.left + l->box.right) / 2,
        l->box.top + NAME_SIZE * CANVAS_CAPITAL, words);
}

void
plan_view_number(const struct plan_view *v, struct ground_plan *plan)
{
    uint32_t number = 0;
    memset(plan->listed, 0, plan->marks * sizeof *plan->listed);
    memset(plan->number, 0, plan->marks * sizeof *plan->number);
    for (size_t i = 0; i < v->labels.n; i++) {
        const struct label *l = &v->label[i];
        if (v->mark[i] == JOB_NONE)
            continue;
        plan->listed[v->mark[i]] = l->how == LABEL_KEYED || (l->how == LABEL_NOWHERE && !l->minor);
        plan->number[v->mark[i]] = l->how == LABEL_KEYED ? ++number : 0;
    }
}

void
plan_view_draw(const struct plan_view *v, const struct ground_plan *plan)
{
    draw_sights(v, plan);
    plan_view_lines(v, plan);
    plan_north_draw(v, plan);
    plan_fall_draw(v, plan);
    for (size_t i = 0; i < v->labels.n; i++)
        if (v->label[i].on_line)
            draw_diagonal_length(v, plan, i);
    for (size_t i = 0; i < v->takens; i++) {
        if (v->taken_mark[i] == JOB_NONE)
            continue;
        const struct plan_mark *m = &plan->mark[v->taken_mark[i]];
        mark_symbol(v, plan, m, mark_at(v, plan, m), m->staked ? CANVAS_GREY : CANVAS_BLACK);
    }
    for (size_t i = 0; i < v->labels.n; i++)
        if (v->mark[i] != JOB_NONE)
            draw_mark(v, plan, i);
    for (size_t i = 0; i < v->labels.n; i++)
        if (v->setup[i] != JOB_NONE)
            draw_setup(v, plan, i);
}

/* ---- the key ---- */

#define KEY_LINE 12.0
#define KEY_LINE_GLYPH 26.0
#define KEY_GLYPH 14.0
#define AXES 34.0

/* What is drawn on a page; all that might be, where it is not laid out yet. */
struct shown {
    bool line[PLAN_LINE_KINDS], symbol[SYMBOLS], grey[SYMBOLS], corner[CORNER_POINTS + 1];
    bool sights, setups, others_nameless, raise, lower, leave, unknown;
};

static void
show_moves(struct shown *s, const struct ground_plan *plan, const struct plan_mark *m)
{
    for (uint32_t i = plan->first_stake[m->name]; plan->grade && i != JOB_NONE; i = plan->next_stake[i]) {
        const struct job_stake *stake = &plan->job->stake[i];
        bool moves = stake->verdict == JOB_MOVE;
        s->raise |= moves && stake->move.move > 0;
        s->lower |= moves && stake->move.move <= 0;
        s->leave |= stake->verdict == JOB_LEAVE;
        s->unknown |= !moves && stake->verdict != JOB_LEAVE;
    }
}

static void
show_mark(struct shown *s, const struct ground_plan *plan, uint32_t i, bool named)
{
    const struct plan_mark *m = &plan->mark[i];
    unsigned which = symbol_of(plan, m);
    bool grey = m->staked && !plan->own[i];
    s->grey[which] |= grey;
    s->symbol[which] |= !grey;
    s->others_nameless |= grey && !named;
    if (which == RECORD_POINT_KINDS)
        s->corner[corner_point(plan, m)] = true;
    if (plan->own[i])
        show_moves(s, plan, m);
}

static struct shown
shown_on(const struct ground_plan *plan, const struct plan_view *v)
{
    struct shown s = { .sights = plan->sights > 0, .setups = plan->setups > 0 };
    for (size_t i = 0; !v && i < plan->lines.lines; i++)
        s.line[plan->lines.line[i].kind] = true;
    for (size_t i = 0; v && i < v->edges; i++)
        s.line[plan->lines.line[v->edge_of[i]].kind] = true;
    for (uint32_t i = 0; !v && i < plan->marks; i++)
        show_mark(&s, plan, i, false);
    for (size_t i = 0; v && i < v->labels.n; i++)
        if (v->mark[i] != JOB_NONE)
            show_mark(&s, plan, v->mark[i], v->label[i].how != LABEL_NOWHERE);
    for (size_t i = 0; v && i < v->takens; i++)
        if (v->taken_mark[i] != JOB_NONE)
            show_mark(&s, plan, v->taken_mark[i], false);
    s.sights = v ? v->sights > 0 : s.sights;
    return s;
}

/* Where the next entry of the key goes. */
struct key {
    const struct ground_plan *plan;
    const struct plan_view *v; /* NULL: only measured */
    struct shown shown;
    double left, x, y; /* y: middle of the line */
    bool draw;
};

/* Room for an entry; where its glyph's middle is. */
static struct canvas_place
key_entry(struct key *k, double glyph, const char *words)
{
    double width = glyph + canvas_text_width(words, PAGE_SMALL, false) + 12;
    if (k->x + width - 12 > k->plan->p->right && k->x > k->left) {
        k->x = k->left;
        k->y += KEY_LINE;
    }
    struct canvas_place at = { k->x + glyph / 2 - 2, k->y };
    if (k->draw)
        canvas_text(k->plan->p->canvas, (struct canvas_type){ PAGE_SMALL, CANVAS_START, CANVAS_BLACK, false, 0 }, k->x + glyph,
            k->y + PAGE_SMALL * CANVAS_CAPITAL / 2, words);
    k->x += width;
    return at;
}

static void
key_lines(struct key *k)
{
    for (unsigned kind = 0; kind < PLAN_LINE_KINDS; kind++) {
        if (!k->shown.line[kind])
            continue;
        bool facing = kind == PLAN_STRING && k->plan->lines.post_along == 0;
        struct canvas_place at = key_entry(k, KEY_LINE_GLYPH, facing ? "string between facing battens" : line_words(k->plan, (enum plan_line_kind)kind));
        if (k->draw)
            canvas_line(k->plan->p->canvas, pens[kind], at.x - 11, at.y, at.x + 11, at.y);
    }
}

static void
key_setups(struct key *k)
{
    if (k->shown.sights) {
        struct canvas_place at = key_entry(k, KEY_LINE_GLYPH, "line of sight, to what was last read from there");
        if (k->draw)
            canvas_line(k->plan->p->canvas, sight_pen, at.x - 11, at.y, at.x + 11, at.y);
    }
    if (k->shown.setups) {
        struct canvas_place at = key_entry(k, KEY_GLYPH, "instrument");
        if (k->draw)
            setup_symbol(k->plan->p->canvas, at.x, at.y);
    }
}

static void
key_north(struct key *k)
{
    char words[SHEET_WORDS];
    double bearing;
    if (!plan_north(k->plan, &bearing)) {
        (void)key_entry(k, 0, "north not recorded");
        return;
    }
    plan_north_words(words, bearing);
    struct canvas_place at = key_entry(k, KEY_GLYPH, words);
    if (k->draw)
        plan_north_arrow(k->plan->p->canvas, at, bearing, 5.5);
}

#define POST_MOST 5.0 /* points, half of a post's side in the key */

/* A symbol as it stands in the drawing. */
static void
key_symbol(const struct key *k, unsigned which, struct canvas_place at, enum canvas_ink ink)
{
    if (!k->draw)
        return;
    struct canvas_place half = post_size(k->v, k->plan);
    double share = fmin(1, POST_MOST / fmax(half.x, half.y));
    if (which == RECORD_POINT_POST)
        canvas_box(k->plan->p->canvas, (struct canvas_pen){ 1, ink, CANVAS_SOLID }, CANVAS_WHITE, at.x - half.x * share, at.y - half.y * share,
            2 * half.x * share, 2 * half.y * share);
    else
        symbol(k->plan->p->canvas, which, at.x, at.y, ink);
}

/* What a symbol stands for. */
static void
symbol_words(const struct key *k, unsigned which, char out[SHEET_WORDS * 2])
{
    bool by_size = which != RECORD_POINT_POST || k->plan->lines.post_along > 0;
    size_t used = 0;
    snprintf(out, (size_t)SHEET_WORDS * 2, "%s", by_size ? symbols[which].words : "post, not to scale");
    for (size_t i = 0; which == RECORD_POINT_KINDS && i <= CORNER_POINTS; i++)
        if (k->shown.corner[i])
            used += (size_t)snprintf(out + used, (size_t)SHEET_WORDS * 2 - used, "%s%s", used > 0 ? "; " : "",
                i < CORNER_POINTS ? corner_points[i].words : symbols[which].words);
}

static void
key_symbols(struct key *k)
{
    char words[SHEET_WORDS * 2];
    for (unsigned s = 0; s < SYMBOLS; s++) {
        if (!k->shown.symbol[s])
            continue;
        symbol_words(k, s, words);
        key_symbol(k, s, key_entry(k, KEY_GLYPH, words), CANVAS_BLACK);
    }
}

/* Grey ones, each as it is drawn, and what they have in common. */
static void
key_others(struct key *k)
{
    size_t n = 0;
    for (unsigned s = 0; s < SYMBOLS; s++)
        n += k->shown.grey[s];
    if (n == 0)
        return;
    struct canvas_place at = key_entry(k, KEY_GLYPH * (double)n,
        k->shown.others_nameless ? "mark of another plan, named where there is room" : "mark of another plan");
    at.x -= KEY_GLYPH * (double)(n - 1) / 2;
    for (unsigned s = 0; s < SYMBOLS; s++)
        if (k->shown.grey[s]) {
            key_symbol(k, s, at, CANVAS_GREY);
            at.x += KEY_GLYPH;
        }
}

static void
key_moves(struct key *k)
{
    const struct {
        bool shown;
        enum job_verdict verdict;
        length move;
        const char *words;
    } moves[] = { { k->shown.raise, JOB_MOVE, 1, "raise" }, { k->shown.lower, JOB_MOVE, -1, "lower" }, { k->shown.leave, JOB_LEAVE, 0, "leave" },
        { k->shown.unknown, JOB_UNREAD, 0, "no move is known" } };
    for (size_t i = 0; i < sizeof moves / sizeof moves[0]; i++) {
        struct job_stake s = { .verdict = moves[i].verdict, .move.move = moves[i].move };
        if (!moves[i].shown)
            continue;
        struct canvas_place at = key_entry(k, KEY_GLYPH, moves[i].words);
        if (k->draw)
            moves_shape(k->plan->p->canvas, &s, at.x, at.y, SHAPE);
    }
}

static void
arrow_head(struct canvas *c, double x, double y, double dx, double dy)
{
    const struct canvas_place at[3] = { { x, y }, { x - 5 * dx - 2 * dy, y - 5 * dy - 2 * dx }, { x - 5 * dx + 2 * dy, y - 5 * dy + 2 * dx } };
    canvas_path(c, no_pen, CANVAS_BLACK, true, at, 3);
}

static void
axes(struct canvas *c, double x, double y)
{
    const struct canvas_pen pen = { 0.8, CANVAS_BLACK, CANVAS_SOLID };
    const struct canvas_type type = { PAGE_SMALL, CANVAS_START, CANVAS_BLACK, false, 0 };
    canvas_line(c, pen, x, y, x + 20, y);
    canvas_line(c, pen, x, y, x, y - 20);
    arrow_head(c, x + 24, y, 1, 0);
    arrow_head(c, x, y - 24, 0, -1);
    canvas_text(c, type, x + 26, y + 2, "x");
    canvas_text(c, type, x + 4, y - 19, "y");
}

static void
scale_and_axes(const struct ground_plan *plan, const struct plan_view *v, double left, double top)
{
    struct pages *p = plan->p;
    struct canvas *c = p->canvas;
    char words[sizeof v->scale.words + SHEET_WORDS];
    double bar = (double)v->scale.step * v->scale.points * SCALE_BAR_PARTS;
    const struct canvas_type type = { PAGE_TEXT, CANVAS_START, CANVAS_BLACK, true, 0 };
    snprintf(words, sizeof words, "Scale %s, printed at full size", v->scale.words);
    canvas_group(c, "scale and axes", NULL);
    axes(c, p->left + 4, top + AXES - 4);
    scale_bar(c, &v->scale, plan->job->r->job.unit, left + 4, top + 4);
    canvas_text_within(c, type, left + bar + 34, top + 3 + PAGE_TEXT * CANVAS_CAPITAL, p->right - left - bar - 34, words);
    canvas_group_end(c);
}

double
plan_key(const struct ground_plan *plan, const struct plan_view *v, double top)
{
    double left = plan->p->left + AXES + 12;
    struct key k = { plan, v, shown_on(plan, v), left, left, top + SCALE_BAR_HEIGHT + 12, v != NULL };
    if (v) {
        scale_and_axes(plan, v, left, top);
        canvas_group(plan->p->canvas, "key to lines, symbols and moves", NULL);
    }
    key_north(&k);
    key_lines(&k);
    key_setups(&k);
    key_symbols(&k);
    key_others(&k);
    key_moves(&k);
    if (v)
        canvas_group_end(plan->p->canvas);
    return fmax(AXES + 2, k.y + KEY_LINE / 2 - top);
}
