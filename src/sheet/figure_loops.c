/* figure_loops.c - loops and links: how their misclosure is shared, what least squares makes of their readings, and who is suspected */
#include "figures.h"
#include "flow.h"
#include "profile.h"

#include "rodbook/course.h"
#include "rodbook/room.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LINES_MOST 12     /* drawn: the worst; closures of the others are in rodbook close */
#define FAULTS_MOST 6     /* with their suspects, a page each: after so many the limit is wrong, or the rod */
#define GUTTER 66.0       /* points for figures left of the bars */
#define CHAIN 36.0        /* heights, points: of the way with its names... */
#define BARS 45.0         /* ...and of a row of bars, with room for values on two levels: three lines go on a page */
#define CAPTION 8.5       /* of that for its caption */
#define BETWEEN 4.0
#define NAME_LINE 8.5
#define NAMES (2 * NAME_LINE + 2) /* below residuals, on two lines */
#define BELOW 6.0         /* points below a line */
#define COLUMN_GAP 24.0   /* between two that stand side by side... */
#define COLUMN_LEGS 10    /* ...if they have no more legs than this */
#define NAMED_MOST 200    /* names and values in a row of bars: more than fit on any paper */
#define NAME_AIR 2.0      /* points more between two names in one line */
#define VALUE_OFF 2.0     /* points from a bar to its value... */
#define VALUE_LEVEL 8.0   /* ...and more to one on the second level */
#define BAR_LEAST 1.6     /* points from bar to bar: closer ones are drawn as one */
#define BAR_MOST 16.0
#define NAME_MOST 70.0
#define LEADING 1.32

static const struct canvas_pen hairline = { 0.4, CANVAS_GREY, CANVAS_SOLID }, firm = { 1.0, CANVAS_BLACK, CANVAS_SOLID },
                               limit_pen = { 0.9, CANVAS_BLACK, CANVAS_DASHED };
static const struct canvas_type small_type = { PAGE_SMALL, CANVAS_START, CANVAS_BLACK, false, 0 },
                                heading_type = { PAGE_HEADING, CANVAS_START, CANVAS_BLACK, true, 0 };

struct loops_figure {
    struct pages *p;
    const struct job *job;
    uint32_t *line;         /* [lines] into job->work.link */
    size_t lines;
    uint32_t *of_sight;     /* [sights] its observation in the fit, or JOB_NONE; NULL without a fit */
    uint32_t *of_leg;       /* [legs] of a section, alike */
};

/* One line as it is drawn. */
struct strip {
    const struct loops_figure *f;
    const struct level_link *link;
    double left, right, step; /* from point to point of the way */
};

static uint32_t
leg_number(const struct strip *s, size_t i)
{
    return s->f->job->work.order[s->link->first + i];
}

static const struct level_leg *
leg_at(const struct strip *s, size_t i)
{
    return &s->f->job->leg[leg_number(s, i)];
}

static double
stop_x(const struct strip *s, size_t i)
{
    return s->left + (double)i * s->step;
}

/* The point that the way comes to behind i of its legs. */
static uint32_t
stop_spot(const struct strip *s, size_t i)
{
    return i == 0 ? s->link->from : leg_at(s, i - 1)->to;
}

/* ---- the way ---- */

/* True where every `every`-th name, and the last, keep apart. */
static bool
names_apart(const struct strip *s, size_t every)
{
    char words[SHEET_WORDS * 2], shown[SHEET_WORDS * 2];
    double end = s->left - GUTTER, last = stop_x(s, s->link->count);
    spot_words(words, s->f->job, s->link->to, NO_TO);
    double tail = last - profile_fit(shown, sizeof shown, words, PAGE_SMALL, false, NAME_MOST) / 2;
    for (size_t i = 0; i < s->link->count; i += every) {
        spot_words(words, s->f->job, stop_spot(s, i), NO_FROM);
        double half = profile_fit(shown, sizeof shown, words, PAGE_SMALL, false, NAME_MOST) / 2;
        if (i > 0 && s->link->count - i < every)
            break; /* the last one stands there */
        if (stop_x(s, i) - half < end + 3 || stop_x(s, i) + half > tail - 3)
            return false;
        end = stop_x(s, i) + half;
    }
    return true;
}

/* Every how manyth name is written: 1, 2, 5, 10, 20 ... */
static size_t
thinned(const struct strip *s)
{
    size_t every = 1;
    for (int k = 0; every < s->link->count && !names_apart(s, every); k++)
        every = k % 3 == 1 ? every / 2 * 5 : every * 2;
    return every;
}

static void
put_name(const struct strip *s, size_t i, double base)
{
    char words[SHEET_WORDS * 2], shown[SHEET_WORDS * 2];
    bool mark = stop_spot(s, i) != LEVEL_NONE && s->f->job->level_spot[stop_spot(s, i)].state == LEVEL_MARK;
    spot_words(words, s->f->job, stop_spot(s, i), i == 0 ? NO_FROM : NO_TO);
    double width = profile_fit(shown, sizeof shown, words, PAGE_SMALL, mark, NAME_MOST);
    canvas_text_within(s->f->p->canvas, (struct canvas_type){ PAGE_SMALL, CANVAS_MIDDLE, CANVAS_BLACK, mark, 0 }, stop_x(s, i), base, width, shown);
}

/* Back from its end to its beginning, over the way. */
static void
put_return(const struct strip *s, double y, double over)
{
    double from = stop_x(s, 0), to = stop_x(s, s->link->count);
    const struct canvas_place at[4] = { { to, y - 4 }, { to, over }, { from, over }, { from, y - 8 } };
    const struct canvas_place head[3] = { { from, y - 4 }, { from - 2.5, y - 9 }, { from + 2.5, y - 9 } };
    canvas_path(s->f->p->canvas, (struct canvas_pen){ 0.8, CANVAS_GREY, CANVAS_DASHED }, CANVAS_INKS, false, at, 4);
    canvas_path(s->f->p->canvas, (struct canvas_pen){ 0, CANVAS_GREY, CANVAS_SOLID }, CANVAS_GREY, true, head, 3);
}

/* Benchmarks are squares, turning points dots; the names that have room stand below. */
static void
put_way(const struct strip *s, double top, size_t every)
{
    struct canvas *c = s->f->p->canvas;
    double y = top + 17, base = top + CHAIN - 8;
    size_t n = s->link->count;
    canvas_line(c, firm, stop_x(s, 0), y, stop_x(s, n), y);
    if (s->link->kind == LEVEL_LOOP)
        put_return(s, y, top + 4);
    for (size_t i = 0; i <= n; i++) {
        uint32_t spot = stop_spot(s, i);
        bool mark = spot != LEVEL_NONE && s->f->job->level_spot[spot].state == LEVEL_MARK;
        if (mark || s->step >= 5)
            profile_symbol(c, mark ? PROFILE_BENCHMARK : PROFILE_TURN, stop_x(s, i), y, false);
    }
    for (size_t i = 0; i < n; i += every)
        if (i == 0 || n - i >= every)
            put_name(s, i, base);
    put_name(s, n, base);
}

/* ---- bars ---- */

#define FIGURES 4       /* beside a row of bars */
#define FIGURE_APART 9.0

struct bars {
    double top, zero, bottom; /* zero: the line that bars stand on */
    double scale;             /* points for one */
    double figure[FIGURES];   /* heights of the figures that stand beside it */
    size_t figures;
    struct profile_boxes boxes; /* the bars, then the limits, then the values: nothing is written over them */
    size_t bars, values;
};

static double
axis_end(const struct strip *s)
{
    return s->right + BAR_MOST / 2 + 2;
}

static struct profile_box
bar_box(const struct bars *b, double x, double width, double value)
{
    double h = value * b->scale;
    return (struct profile_box){ x - width / 2, fmin(b->zero, b->zero - h), x + width / 2, fmax(b->zero, b->zero - h) };
}

/* All bars come before the limits and values. */
static void
bar(const struct strip *s, struct bars *b, double x, double width, double value, bool beyond)
{
    const struct profile_box at = bar_box(b, x, width, value);
    canvas_box(s->f->p->canvas, (struct canvas_pen){ 0.5, CANVAS_BLACK, CANVAS_SOLID }, beyond ? CANVAS_ALERT : CANVAS_PALE, at.left, at.top,
        at.right - at.left, at.bottom - at.top);
    profile_boxes_take(&b->boxes, at.left, at.top, at.right, at.bottom);
    b->bars = b->boxes.n;
}

/* A figure left of the bars, where none stands yet. */
static void
figure(const struct strip *s, struct bars *b, double value, const char *words)
{
    double y = b->zero - value * b->scale;
    for (size_t i = 0; i < b->figures; i++)
        if (fabs(b->figure[i] - y) < FIGURE_APART)
            return;
    b->figure[b->figures++] = y;
    canvas_text_within(s->f->p->canvas, (struct canvas_type){ PAGE_SMALL, CANVAS_END, CANVAS_BLACK, false, 0 }, s->left - 9,
        y + PAGE_SMALL * CANVAS_CAPITAL / 2, GUTTER - 11, words);
}

static void
level_line(const struct strip *s, const struct bars *b, double value, struct canvas_pen pen)
{
    double y = b->zero - value * b->scale;
    canvas_line(s->f->p->canvas, pen, s->left - 6, y, axis_end(s), y);
}

/* A limit, which no value is written over: a bar beside a gap in it would look as if it went that far. */
static void
limit_line(const struct strip *s, struct bars *b, double value)
{
    double y = b->zero - value * b->scale;
    level_line(s, b, value, limit_pen);
    profile_boxes_take(&b->boxes, s->left - 6, y - 0.5, axis_end(s), y + 0.5);
}

/* ---- names and values of bars ---- */

enum beside { IN_MIDDLE, FLUSH_RIGHT, FLUSH_LEFT, BESIDES };

/* Where a text begins that stands in the middle of a bar, or flush with one of its sides. */
static double
text_begin(const struct profile_box *bar, double width, enum beside how)
{
    return how == FLUSH_RIGHT ? bar->right - width : how == FLUSH_LEFT ? bar->left : (bar->left + bar->right - width) / 2;
}

/* True where another bar stands between a bar's end and what would be taken for its own value. */
static bool
is_over_another(const struct bars *b, struct profile_box between)
{
    for (size_t i = 0; i < b->bars; i++)
        if (profile_boxes_meet(b->boxes.box[i], between))
            return true;
    return false;
}

/* A value: from where it goes upwards or downwards, and how it stands to its bar best. */
struct value {
    struct profile_box bar;
    double y;
    bool up;
    enum beside best;
};

/* On one level, `off` from y: where that has room. */
static bool
value_on_level(const struct strip *s, struct bars *b, const struct value *v, double off, const char *words)
{
    const enum beside hows[] = { v->best, IN_MIDDLE, FLUSH_RIGHT, FLUSH_LEFT };
    double width = canvas_text_width(words, PAGE_SMALL, false), high = PAGE_SMALL * CANVAS_CAPITAL;
    double base = v->up ? v->y - off : v->y + off + high;
    for (size_t i = 0; i < sizeof hows / sizeof hows[0]; i++) {
        double x = text_begin(&v->bar, width, hows[i]);
        const struct profile_box between = { x, fmin(v->y, base), x + width, fmax(v->y, base - high) };
        if (!is_over_another(b, between) && profile_name_at(s->f->p->canvas, &b->boxes, x, base, width, words))
            return true;
    }
    return false;
}

#define LEVEL_STEP 2.0

/* What a bar stands for: at the bar, else on a second level, which a limit may push a little farther off. */
static bool
bar_value(const struct strip *s, struct bars *b, const struct value *v, const char *words)
{
    bool full = b->values >= NAMED_MOST;
    const int levels = (int)(2 * VALUE_LEVEL / LEVEL_STEP);
    for (int i = 0; !full && i <= levels; i++)
        if (value_on_level(s, b, v, VALUE_OFF + i * LEVEL_STEP, words)) {
            b->values++;
            return true;
        }
    return false;
}

static void
caption(const struct strip *s, double top, const char *words)
{
    canvas_text_within(s->f->p->canvas, small_type, s->f->p->left, top + PAGE_SMALL * CANVAS_CAPITAL, s->right - s->f->p->left, words);
}

/* How many bars are drawn as one, so that they stay apart. */
static size_t
together(double room, size_t bars)
{
    double most = floor(room / BAR_LEAST);
    return (double)bars <= most ? 1 : (size_t)ceil((double)bars / most);
}

/* ---- the misclosure ---- */

/* What is left to share behind leg i, as measured less known: the running correction with its sign turned. */
static length
running(const struct strip *s, size_t i)
{
    if (s->link->spread)
        return -leg_at(s, i)->correction;
    return i + 1 == s->link->count ? s->link->misclosure : 0;
}

static double
running_most(const struct strip *s)
{
    double most = fmax(1, s->link->allowed_nm);
    for (size_t i = 0; i < s->link->count; i++)
        most = fmax(most, fabs((double)running(s, i)));
    return most;
}

static double
magnitude(length v)
{
    return fabs((double)v);
}

/* Both limits; with one figure for them where they lie close together. */
static void
put_limits(const struct strip *s, struct bars *b)
{
    char size[SHEET_WORDS], limit[SHEET_WORDS + 4];
    double allowed = s->link->allowed_nm;
    if (!(allowed > 0))
        return;
    limit_line(s, b, allowed);
    limit_line(s, b, -allowed);
    sheet_limit_words(size, allowed, &s->f->p->style);
    bool close = 2 * allowed * b->scale < 2 * FIGURE_APART;
    snprintf(limit, sizeof limit, close ? "+-%s" : "+%s", size);
    figure(s, b, close ? 0 : allowed, limit);
    limit[0] = '-';
    if (!close)
        figure(s, b, -allowed, limit);
}

/* Of legs i ... i + group - 1 the one behind which most is left. */
static size_t
worst_of(const struct strip *s, size_t i, size_t group)
{
    size_t worst = i;
    for (size_t k = i; k < i + group && k < s->link->count; k++)
        worst = magnitude(running(s, k)) > magnitude(running(s, worst)) ? k : worst;
    return worst;
}

/* At the bar behind leg i: on the side of zero that the bar leaves free, else off its end. */
static void
misclosure_value(const struct strip *s, struct bars *b, size_t i, double width, length v)
{
    char words[SHEET_WORDS];
    const struct profile_box at = bar_box(b, stop_x(s, i + 1), width, (double)v);
    const struct value over = { at, b->zero, v < 0, IN_MIDDLE }, off = { at, v < 0 ? at.bottom : at.top, v > 0, IN_MIDDLE };
    sheet_misclosure_words(words, v, &s->f->p->style);
    if (!bar_value(s, b, &over, words))
        (void)bar_value(s, b, &off, words);
}

/* That of the last bar first: it is the line's. */
static void
misclosure_values(const struct strip *s, struct bars *b, size_t group, double width)
{
    size_t n = s->link->count;
    misclosure_value(s, b, n - 1, width, s->link->misclosure);
    for (size_t i = 0; i < n; i += group) {
        size_t worst = worst_of(s, i, group);
        if (worst + 1 < n && running(s, worst) != 0)
            misclosure_value(s, b, worst, width, running(s, worst));
    }
}

/* 0, or -1 without memory. */
static int
put_misclosure(const struct strip *s, double top)
{
    char words[SHEET_WORDS * 2];
    size_t n = s->link->count, group = together(s->right - s->left, n);
    struct bars b = { .top = top + CAPTION + 2, .bottom = top + BARS };
    b.boxes.within = (struct profile_box){ s->left - 8, top + CAPTION, axis_end(s), b.bottom + 2 };
    b.zero = (b.top + b.bottom) / 2;
    b.scale = (b.bottom - b.top) / 2 / (running_most(s) * 1.08);
    double width = fmin(BAR_MOST, s->step * (double)group * 0.7);
    snprintf(words, sizeof words, "%s%s%s", s->link->spread ? "Running misclosure, as it is shared out over the way"
        : "Misclosure, NOT spread: where on the way it came up is not known", s->link->allowed_nm > 0 ? "; dashed: allowed" : "",
        group > 1 ? "; of bars too close to draw, the largest" : "");
    caption(s, top, words);
    level_line(s, &b, 0, hairline);
    for (size_t i = 0; i < n; i += group) {
        size_t worst = worst_of(s, i, group);
        if (running(s, worst) != 0)
            bar(s, &b, stop_x(s, worst + 1), width, (double)running(s, worst), s->link->within == LEVEL_BEYOND);
    }
    put_limits(s, &b);
    figure(s, &b, 0, "0");
    misclosure_values(s, &b, group, width);
    profile_boxes_release(&b.boxes);
    return b.boxes.no_memory ? -1 : 0;
}

/* ---- residuals ---- */

/* The observations of leg i of a line: calls for each that others check. */
struct residual {
    double x, value;
    bool beyond;
    uint32_t of; /* its observation */
};

static size_t
add_residual(const struct strip *s, uint32_t of, double x, struct residual *out, size_t n)
{
    const struct fit *fit = s->f->p->doc->fit;
    if (of == JOB_NONE || !(fit->observation[of].redundancy > 0))
        return n;
    const struct fit_observation *o = &fit->observation[of];
    out[n] = (struct residual){ x, o->normalised, o->normal_beyond || o->tau_beyond, of };
    return n + 1;
}

/* Those of a whole line in booking order, each between the points that it was read between; how many. */
static size_t
residuals_of(const struct strip *s, struct residual *out)
{
    size_t n = 0;
    for (size_t i = 0; i < s->link->count; i++) {
        const struct level_leg *leg = leg_at(s, i);
        if (leg->count == 0)
            n = add_residual(s, s->f->of_leg[leg_number(s, i)], stop_x(s, i) + s->step / 2, out, n);
        for (uint32_t k = 0; k < leg->count; k++)
            n = add_residual(s, s->f->of_sight[leg->first + k], stop_x(s, i) + s->step * (k + 0.5) / leg->count, out, n);
    }
    return n;
}

static size_t
residual_room(const struct strip *s)
{
    size_t n = 0;
    for (size_t i = 0; i < s->link->count; i++)
        n += leg_at(s, i)->count + 1;
    return n;
}

/* Bars that would stand closer than BAR_LEAST give way to the largest of them. */
static size_t
thin_residuals(struct residual *r, size_t n)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        struct residual *last = kept > 0 ? &r[kept - 1] : NULL;
        if (!last || r[i].x - last->x >= BAR_LEAST) {
            r[kept++] = r[i];
        } else if (r[i].value > last->value) {
            r[i].x = last->x;
            *last = r[i];
        }
    }
    return kept;
}

static double
bar_width(const struct strip *s, const struct residual *r, size_t n)
{
    double least = s->step;
    for (size_t i = 1; i < n; i++)
        least = fmin(least, r[i].x - r[i - 1].x);
    return fmin(BAR_MOST, least * 0.7);
}

/* "BS TP1", "IS SE1", "A to B", "mark BM2". */
static void
residual_words(char out[SHEET_WORDS * 4], const struct pages *p, size_t of)
{
    static const char *const sights[] = { "BS", "IS", "FS" }; /* enum level_kind */
    const struct adjust_observation *o = &p->doc->fit->a->of[of];
    const struct job *job = p->doc->job;
    if (o->kind == ADJUST_SECTION)
        snprintf(out, (size_t)SHEET_WORDS * 4, "%s to %s", spot_name(job, job->leg[o->leg].from), spot_name(job, job->leg[o->leg].to));
    else if (o->kind == ADJUST_MARK)
        snprintf(out, (size_t)SHEET_WORDS * 4, "mark %s", spot_name(job, o->spot));
    else
        snprintf(out, (size_t)SHEET_WORDS * 4, "%s %s", sights[job->sight[o->index].kind], spot_name(job, o->spot));
}

/* Below a bar, on the first line or the second, in its middle or flush with one of its sides. */
static bool
name_bar(const struct strip *s, struct profile_boxes *boxes, const struct profile_box *bar, const char *text)
{
    char shown[SHEET_WORDS * 2];
    double width = profile_fit(shown, sizeof shown, text, PAGE_SMALL, false, NAME_MOST), high = PAGE_SMALL * CANVAS_CAPITAL;
    for (enum beside how = IN_MIDDLE; how < BESIDES; how++)
        for (int level = 0; level < 2; level++) {
            double base = bar->bottom + high + 2 + NAME_LINE * level, x = text_begin(bar, width, how);
            const struct profile_box clear = { x - NAME_AIR, base - high, x + width + NAME_AIR, base };
            if (profile_boxes_free(boxes, clear) && profile_name_at(s->f->p->canvas, boxes, x, base, width, shown))
                return true;
        }
    return false;
}

/* Names below the bars, on two lines, where there is room: of those beyond a limit first, then in booking order. 0, or -1 without memory. */
static int
name_residuals(const struct strip *s, const struct residual *r, size_t n, double width, double zero)
{
    struct profile_boxes boxes = { .within = { s->left - 8, zero, s->right + NAME_MOST / 2, zero + NAMES } };
    char words[SHEET_WORDS * 4];
    for (int beyond = 1; beyond >= 0; beyond--)
        for (size_t i = 0; i < n && boxes.n < NAMED_MOST; i++) {
            const struct profile_box at = { r[i].x - width / 2, zero, r[i].x + width / 2, zero };
            if (r[i].beyond != (beyond == 1))
                continue;
            residual_words(words, s->f->p, r[i].of);
            (void)name_bar(s, &boxes, &at, words);
        }
    profile_boxes_release(&boxes);
    return boxes.no_memory ? -1 : 0;
}

/* A neighbour that is close at one side pushes a value to the other: two bars at a turning point have both. */
static enum beside
best_beside(const struct residual *r, size_t n, size_t i, double wide)
{
    bool left = i > 0 && r[i].x - r[i - 1].x < wide, right = i + 1 < n && r[i + 1].x - r[i].x < wide;
    return left == right ? IN_MIDDLE : left ? FLUSH_LEFT : FLUSH_RIGHT;
}

/* Values over the bars, the largest first where not all have room. */
static void
value_residuals(const struct strip *s, struct bars *b, const struct residual *r, size_t n, double width)
{
    char words[SHEET_WORDS];
    double limit = s->f->p->doc->fit->normal_limit;
    for (int large = 1; large >= 0; large--)
        for (size_t i = 0; i < n; i++) {
            const struct profile_box at = bar_box(b, r[i].x, width, r[i].value);
            if ((r[i].value >= limit / 2) != (large == 1))
                continue;
            snprintf(words, sizeof words, "%.2f", r[i].value);
            enum beside best = best_beside(r, n, i, canvas_text_width(words, PAGE_SMALL, false) + 2 * NAME_AIR);
            (void)bar_value(s, b, &(struct value){ at, at.top, true, best }, words);
        }
}

static int
put_residuals(const struct strip *s, double top)
{
    const struct fit *fit = s->f->p->doc->fit;
    char words[SHEET_WORDS * 3], figures[SHEET_WORDS];
    struct residual *r = room_new(residual_room(s), sizeof *r);
    double most = fit->normal_limit;
    if (!r)
        return -1;
    size_t all = residuals_of(s, r), n = thin_residuals(r, all);
    for (size_t i = 0; i < n; i++)
        most = fmax(most, r[i].value);
    struct bars b = { .top = top + CAPTION + NAME_LINE, .zero = top + BARS, .bottom = top + BARS };
    b.boxes.within = (struct profile_box){ s->left - 8, top + CAPTION, axis_end(s), b.zero };
    b.scale = (b.bottom - b.top) / (most * 1.08);
    snprintf(words, sizeof words, "Normalised residuals, named where there is room; dashed: limit of the normal test%s",
        all == 0 ? "; nothing checks these" : n < all ? "; of bars too close to draw, the largest" : "");
    caption(s, top, words);
    double width = bar_width(s, r, n);
    for (size_t i = 0; i < n; i++)
        bar(s, &b, r[i].x, width, r[i].value, r[i].beyond);
    limit_line(s, &b, fit->normal_limit);
    level_line(s, &b, 0, hairline);
    snprintf(figures, sizeof figures, "%.2f", fit->normal_limit);
    figure(s, &b, fit->normal_limit, figures);
    snprintf(figures, sizeof figures, "%.2f", most);
    figure(s, &b, most, figures);
    figure(s, &b, 0, "0");
    int rc = name_residuals(s, r, n, width, b.zero);
    value_residuals(s, &b, r, n, width);
    profile_boxes_release(&b.boxes);
    free(r);
    return b.boxes.no_memory ? -1 : rc;
}

/* ---- one line ---- */

static const char *
quality_words(const struct level_link *l)
{
    return l->within != LEVEL_BEYOND ? "" : l->spread ? "; spread all the same, as asked" : "; NOT spread: find the slip and shoot it again";
}

static void
line_words(const struct strip *s, char *title, char *facts, size_t room)
{
    const struct level_link *l = s->link;
    char misclosure[SHEET_WORDS], allowed[SHEET_WORDS];
    put_line_name(title, s->f->job, l);
    title[0] = (char)(title[0] - 'a' + 'A'); /* "loop", "link" */
    sheet_misclosure_words(misclosure, l->misclosure, &s->f->p->style);
    if (l->within == LEVEL_NOT_JUDGED) {
        snprintf(facts, room, "misclosure %s (measured - known); not judged: the job allows nothing in particular", misclosure);
        return;
    }
    sheet_limit_words(allowed, l->allowed_nm, &s->f->p->style);
    snprintf(facts, room, "misclosure %s (measured - known), allowed %s: %s%s", misclosure, allowed, sheet_within_word(l->within), quality_words(l));
}

/* The largest normalised residual of a line; below 0 where nothing checks any. */
static double
largest(const struct strip *s)
{
    double most = -1;
    struct residual *r = s->f->of_sight ? room_new(residual_room(s), sizeof *r) : NULL;
    size_t n = r ? residuals_of(s, r) : 0;
    for (size_t i = 0; i < n; i++)
        most = fmax(most, r[i].value);
    free(r);
    return most;
}

static double
bars_height(bool fit)
{
    return fit ? 2 * (BARS + BETWEEN) + NAMES + BELOW : BARS + BETWEEN + BELOW;
}

/* Of a line, its facts on as many lines of text as they need in so much width. */
static double
line_height(const struct loops_figure *f, const struct level_link *link, double width)
{
    const struct strip s = { .f = f, .link = link };
    char title[SHEET_WORDS * 8], facts[SHEET_WORDS * 6];
    line_words(&s, title, facts, sizeof facts);
    size_t lines = page_lines(facts, PAGE_TEXT, false, width);
    return PAGE_HEADING * LEADING + PAGE_TEXT * LEADING * (double)lines + CHAIN + bars_height(f->of_sight != NULL);
}

/* From p->top on, where there is room. */
static int
draw_line(const struct loops_figure *f, const struct level_link *link)
{
    struct pages *p = f->p;
    struct strip s = { .f = f, .link = link };
    char title[SHEET_WORDS * 8], shown[SHEET_WORDS * 8], facts[SHEET_WORDS * 6], says[SHEET_WORDS * 16], extra[SHEET_WORDS];
    bool fit = f->of_sight != NULL;
    line_words(&s, title, facts, sizeof facts);
    s.left = p->left + GUTTER;
    s.right = p->right - NAME_MOST / 2;
    s.step = (s.right - s.left) / (double)link->count;
    size_t every = thinned(&s);
    double most = largest(&s);
    snprintf(says, sizeof says, "%s: %s.", title, facts);
    if (most >= 0)
        snprintf(says + strlen(says), sizeof says - strlen(says), " Largest normalised residual %.2f, limit %.2f.", most, p->doc->fit->normal_limit);
    canvas_group(p->canvas, title, says);
    double width = profile_fit(shown, sizeof shown, title, PAGE_HEADING, true, p->right - p->left);
    canvas_text_within(p->canvas, heading_type, p->left, p->top + PAGE_HEADING * CANVAS_CAPITAL, width, shown);
    pages_skip(p, PAGE_HEADING * LEADING);
    snprintf(extra, sizeof extra, "; every %zu%s point of the way is named", every, every == 2 ? "nd" : "th");
    if (every > 1)
        strncat(facts, extra, sizeof facts - strlen(facts) - 1);
    pages_line(p, (struct canvas_type){ PAGE_TEXT, CANVAS_START, link->within == LEVEL_BEYOND ? CANVAS_ALERT : CANVAS_BLACK, false, 0 }, facts);
    put_way(&s, p->top, every);
    int rc = put_misclosure(&s, p->top + CHAIN);
    if (rc == 0 && fit)
        rc = put_residuals(&s, p->top + CHAIN + BARS + BETWEEN);
    pages_skip(p, CHAIN + bars_height(fit));
    canvas_group_end(p->canvas);
    return rc;
}

/* ---- all of them ---- */

static int
find_observations(struct loops_figure *f)
{
    const struct adjust *a = f->p->doc->fit->a;
    f->of_sight = room_new(f->job->sights, sizeof *f->of_sight);
    f->of_leg = room_new(f->job->legs, sizeof *f->of_leg);
    if (!f->of_sight || !f->of_leg)
        return -1;
    memset(f->of_sight, 0xff, f->job->sights * sizeof *f->of_sight);
    memset(f->of_leg, 0xff, f->job->legs * sizeof *f->of_leg);
    for (uint32_t i = 0; i < a->observations; i++) {
        if (a->of[i].kind == ADJUST_READING)
            f->of_sight[a->of[i].index] = i;
        else if (a->of[i].kind == ADJUST_SECTION)
            f->of_leg[a->of[i].leg] = i;
    }
    return 0;
}

/* The largest normalised residual, and whose it is: "BS TP2 from 5.3". */
static void
say_worst(struct remark *out, const struct pages *p)
{
    const struct fit *fit = p->doc->fit;
    char name[SHEET_WORDS * 4], setup[SHEET_WORDS];
    uint32_t leg = fit->a->of[fit->worst].leg;
    residual_words(name, p, fit->worst);
    if (leg != LEVEL_NONE)
        setup_name(setup, p->doc->job, leg);
    remark_add(out, "the worst is %s%s%s with %.2f, the limit %.2f", name, leg == LEVEL_NONE ? "" : " from ", leg == LEVEL_NONE ? "" : setup,
        fit->observation[fit->worst].normalised, fit->normal_limit);
    if (fit->alike > 1)
        remark_add(out, "%zu more %s as large", fit->alike - 1, fit->alike == 2 ? "is" : "are");
}

static void
say_fit(struct pages *p)
{
    const struct fit *fit = p->doc->fit;
    struct remark words = { 0 };
    if (!fit) {
        remark_add(&words, "Residuals are not known; an adjustment of the job says why.");
    } else if (fit->a->freedom == 0) {
        remark_add(&words, "Nothing is observed more often than it must be: there are no residuals.");
    } else {
        remark_add(&words, "Least squares over the job: %zu degree%s of freedom, standard deviation of unit weight %.2f after adjustment",
            fit->a->freedom, fit->a->freedom == 1 ? "" : "s", fit->unit);
        remark_add(&words, "%zu of %zu checked observations beyond a limit", fit->beyond, fit->checked);
        if (fit->checked > 0)
            say_worst(&words, p);
    }
    pages_line(p, small_type, words.text);
    pages_skip(p, 4);
}

static void
say_rest(const struct loops_figure *f)
{
    char words[SHEET_WORDS * 4];
    size_t outside = 0;
    if (f->lines <= LINES_MOST)
        return;
    for (size_t i = LINES_MOST; i < f->lines; i++)
        outside += f->job->work.link[f->line[i]].within == LEVEL_BEYOND;
    if (outside > 0)
        snprintf(words, sizeof words, "And %zu more loops and links, %zu of them OUTSIDE; the field book lists all.", f->lines - LINES_MOST, outside);
    else
        snprintf(words, sizeof words, "And %zu more loops and links, none of them outside; the field book lists all.", f->lines - LINES_MOST);
    pages_line(f->p, (struct canvas_type){ PAGE_TEXT, CANVAS_START, CANVAS_BLACK, false, 0 }, words);
    pages_skip(f->p, 8);
}

/* What rodbook suspects has to say, set on the pages; of many faults the first. */
static int
put_suspects(struct pages *p)
{
    struct suspects first = *p->doc->suspects; /* what it points to stays with the document */
    struct capture c;
    char words[SHEET_WORDS * 2];
    size_t more = first.faults > FAULTS_MOST ? first.faults - FAULTS_MOST : 0;
    first.faults -= more;
    int rc = capture_open(&c);
    if (rc == 0) {
        rc = sheet_suspects(&first, c.out);
        rc |= capture_close(&c);
    }
    if (rc == 0)
        flow_blocks(p, &c, 1); /* the first is the title */
    snprintf(words, sizeof words, "And %zu more faults.", more);
    if (rc == 0 && more > 0)
        pages_line(p, (struct canvas_type){ PAGE_TEXT, CANVAS_START, CANVAS_BLACK, true, 0 }, words);
    capture_release(&c);
    return rc;
}

/* What is drawn, in the order of the record. */
static int
compare_lines(const void *one, const void *other)
{
    uint32_t a = *(const uint32_t *)one, b = *(const uint32_t *)other;
    return a < b ? -1 : a > b;
}

static const struct level_link *
link_of(const struct loops_figure *f, size_t i)
{
    return &f->job->work.link[f->line[i]];
}

/* True where a line takes half the width of the page: also where none stands beside it. */
static bool
is_half(const struct loops_figure *f, size_t i)
{
    return f->p->width > f->p->height && link_of(f, i)->count <= COLUMN_LEGS;
}

/* How many go side by side, from line i of those drawn on. */
static size_t
in_row(const struct loops_figure *f, size_t i, size_t shown)
{
    return is_half(f, i) && i + 1 < shown && is_half(f, i + 1) ? 2 : 1;
}

/* One or two, each on its half of the page. */
static int
draw_halves(const struct loops_figure *f, size_t i, size_t n)
{
    struct pages *p = f->p;
    double left = p->left, right = p->right, top = p->top, middle = (left + right) / 2, low = top;
    int rc = 0;
    for (size_t k = 0; rc == 0 && k < n; k++) {
        p->left = k == 0 ? left : middle + COLUMN_GAP / 2;
        p->right = k == 0 ? middle - COLUMN_GAP / 2 : right;
        p->top = top;
        rc = draw_line(f, link_of(f, i + k));
        low = fmax(low, p->top);
    }
    p->left = left;
    p->right = right;
    p->top = low;
    return rc;
}

/* What lines i ... i + n - 1 take, side by side. */
static double
row_height(const struct loops_figure *f, size_t i, size_t n)
{
    double whole = f->p->right - f->p->left, width = is_half(f, i) ? (whole - COLUMN_GAP) / 2 : whole, height = 0;
    for (size_t k = 0; k < n; k++)
        height = fmax(height, line_height(f, link_of(f, i + k), width));
    return height;
}

/* The symbols of the way: those that are drawn. */
static void
put_legend(const struct loops_figure *f, size_t shown)
{
    static const char *const words[PROFILE_SYMBOLS] = { [PROFILE_BENCHMARK] = "benchmark", [PROFILE_TURN] = "turning point",
        [PROFILE_SIGHT_LINE] = "back to where it began: a loop" };
    unsigned used = 1u << PROFILE_BENCHMARK;
    for (size_t i = 0; i < shown; i++) {
        used |= link_of(f, i)->count > 1 ? 1u << PROFILE_TURN : 0;
        used |= link_of(f, i)->kind == LEVEL_LOOP ? 1u << PROFILE_SIGHT_LINE : 0;
    }
    pages_skip(f->p, profile_legend(f->p, used, words, true) + 5);
}

/* Lines that nothing closes have no misclosure to draw: their names. */
static void
say_spurs(const struct loops_figure *f)
{
    char words[SHEET_WORDS * 8];
    for (size_t i = 0, n = 0; i < f->job->work.links; i++) {
        const struct level_link *l = &f->job->work.link[i];
        if (l->kind != LEVEL_SPUR || l->quality <= LEVEL_FORCED || n++ >= LINES_MOST)
            continue;
        char *end = put_line_name(words, f->job, l);
        stpcpy(end, ": nothing closes it");
        pages_line(f->p, (struct canvas_type){ PAGE_TEXT, CANVAS_START, CANVAS_BLACK, false, 0 }, words);
    }
}

static int
draw_lines(struct loops_figure *f)
{
    bool suspects = f->p->doc->suspects != NULL;
    int rc = f->p->doc->fit ? find_observations(f) : 0;
    if (rc != 0 || (f->lines == 0 && !suspects))
        return rc;
    size_t shown = f->lines < LINES_MOST ? f->lines : LINES_MOST;
    qsort(f->line, shown, sizeof *f->line, compare_lines);
    pages_turn(f->p, "Loops");
    say_fit(f->p);
    if (shown > 0)
        put_legend(f, shown);
    for (size_t i = 0, n; rc == 0 && i < shown && !f->p->canvas->no_memory; i += n) {
        n = in_row(f, i, shown);
        (void)pages_room(f->p, row_height(f, i, n) - BELOW);
        rc = is_half(f, i) ? draw_halves(f, i, n) : draw_line(f, link_of(f, i));
    }
    say_rest(f);
    say_spurs(f);
    return rc == 0 && suspects ? put_suspects(f->p) : rc;
}

int
figure_loops(struct pages *p)
{
    struct loops_figure f = { .p = p, .job = p->doc->job };
    int rc = -1;
    f.line = room_new(f.job->work.links, sizeof *f.line);
    if (f.line && (f.lines = course_lines(f.job, f.line)) != SIZE_MAX)
        rc = draw_lines(&f);
    free(f.line);
    free(f.of_sight);
    free(f.of_leg);
    return rc;
}
