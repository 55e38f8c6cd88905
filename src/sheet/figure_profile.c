/* figure_profile.c - heights along a wall, a string, a line of ground shots, and along the way of the levels */
#include "figures.h"
#include "profile.h"

#include "rodbook/course.h"
#include "rodbook/room.h"
#include "rodbook/rows.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PLOT 160.0      /* points, 56 mm: two profiles go on an upright page, and three of flat ground */
#define PLOT_LEAST 80.0 /* of paper that has no room for more */
#define PLOT_FLAT 54.0  /* and of heights that need no more */
#define INSET 18.0      /* points between the axis and the first point */
#define END 7.0         /* and behind the last: a batten's half */
#define AFTER 12.0      /* points below a strip */
#define BEFORE 3.0      /* and between its head and its drawing */
#define SQUEEZED 3.0    /* heights are drawn so much smaller at most, where that spares a page */
#define NAMED 5         /* names in a remark */
#define ROWS_MOST 24    /* rows that are drawn, some ten pages: more are looked up, not looked at */
#define RUNS_MOST 24    /* and runs, the last ones booked */

/* What a strip takes beside its band and its drawing: heading, scales, legend, leaders. */
struct head {
    char title[SHEET_WORDS * 4], facts[SHEET_WORDS * 6];
    struct remark remark, says; /* says: a sentence for readers of screens */
    unsigned used;              /* symbols */
    const char *words[PROFILE_SYMBOLS];
};

/* Room for the heights of all strips of one profile. */
struct sizes {
    double full;   /* free on a page with nothing on it */
    double most, band, gutter;
    double type;   /* of the band; 0 where some of it is turned */
    double plot;   /* of the strip at hand */
    struct profile_scale scale;
    struct profile_span span;
};

static const struct canvas_type heading_type = { PAGE_HEADING, CANVAS_START, CANVAS_BLACK, true, 0 },
                                small_type = { PAGE_SMALL, CANVAS_START, CANVAS_BLACK, false, 0 };

static double
lines_height(const struct pages *p, const char *text)
{
    double height = 0;
    for (const char *next; *text; text = next) {
        (void)page_wrap(text, PAGE_SMALL, false, p->right - p->left, &next);
        height += PAGE_SMALL * 1.32;
    }
    return height;
}

/* Scales and, where it is whole, remarks: in one. */
static const char *
head_facts(char *out, size_t room, const struct head *h, bool whole)
{
    bool remarks = whole && h->remark.text[0];
    snprintf(out, room, "%s%s%s", h->facts, remarks ? "; " : "", remarks ? h->remark.text : "");
    return out;
}

/* Of a further strip on the same page, `whole` is false: remarks and legend stand there already. */
static double
head_height(struct pages *p, const struct head *h, bool whole)
{
    char facts[sizeof h->facts + sizeof h->remark.text + 2];
    double height = PAGE_HEADING * 1.32 + lines_height(p, head_facts(facts, sizeof facts, h, whole)) + BEFORE;
    return whole ? height + profile_legend(p, h->used, h->words, false) : height;
}

/* Heading, scales, remarks and legend; the group that they open is closed by the caller. */
static void
put_head(struct pages *p, const struct head *h, bool whole)
{
    canvas_group(p->canvas, h->title, h->says.text);
    char title[SHEET_WORDS * 4];
    double width = profile_fit(title, sizeof title, h->title, PAGE_HEADING, true, p->right - p->left);
    canvas_text_within(p->canvas, heading_type, p->left, p->top + PAGE_HEADING * CANVAS_CAPITAL, width, title);
    pages_skip(p, PAGE_HEADING * 1.32);
    char facts[sizeof h->facts + sizeof h->remark.text + 2];
    pages_line(p, small_type, head_facts(facts, sizeof facts, h, whole));
    if (whole)
        pages_skip(p, profile_legend(p, h->used, h->words, true));
    pages_skip(p, BEFORE);
}

/* Room for a strip, with a head as long as it must be. */
static void
begin_strip(struct pages *p, const struct head *h, const struct sizes *z, bool first)
{
    double rest = z->plot + PROFILE_LEAD + z->band + AFTER - 2;
    bool turned = !pages_room(p, head_height(p, h, first) + rest);
    put_head(p, h, first || turned);
}

/* How high the drawing may be, so that a strip goes on one page; the scales that this gives, and the height that they need. */
static void
choose_plot(struct sizes *z, enum length_unit unit, const struct profile_span *span, double head)
{
    double left = z->full - head - z->band - PROFILE_LEAD - AFTER;
    z->span = *span;
    z->span.height = fmax(PLOT_LEAST, fmin(PLOT, left));
    z->scale = profile_scale_choose(unit, &z->span);
    z->most = z->span.height;
}

/* And as much of it as one strip needs. */
static void
choose_strip(struct sizes *z, length low, length high)
{
    z->plot = fmin(z->most, fmax(PLOT_FLAT, profile_above(&z->scale, profile_datum(&z->scale, low), high)));
}

#define SQUEEZE_STEP 2.0 /* points, between heights for which a scale is tried */

/* One that misses what is left of the page by a little is drawn lower: at the largest scale that then fits. */
static void
squeeze(struct sizes *z, struct pages *p, const struct head *h, length low, length high)
{
    double left = p->bottom - p->top - head_height(p, h, true) - PROFILE_LEAD - z->band - AFTER - 2;
    if (z->plot <= left || left < PLOT_FLAT)
        return;
    const int steps = (int)((z->span.height - left) / SQUEEZE_STEP);
    for (int i = 0; i <= steps; i++) {
        double height = z->span.height - i * SQUEEZE_STEP;
        struct sizes less = *z;
        less.most = less.span.height = height;
        less.scale = profile_scale_choose(p->doc->job->r->job.unit, &less.span);
        choose_strip(&less, low, high);
        if (less.scale.up > z->scale.up * SQUEEZED || less.scale.along != z->scale.along)
            return;
        if (less.plot <= left) {
            *z = less;
            return;
        }
    }
}

static struct profile_strip
strip_of(struct pages *p, const struct sizes *z)
{
    struct profile_strip s = { .p = p, .scale = &z->scale };
    s.left = p->left + z->gutter + INSET;
    s.right = p->right;
    s.top = p->top;
    s.base = p->top + z->plot;
    return s;
}

static double
plot_width(const struct pages *p, const struct sizes *z)
{
    return p->right - p->left - z->gutter - INSET - END;
}

/* The axis stands INSET left of the first point. */
static void
put_axis(const struct profile_strip *s)
{
    struct profile_strip axis = *s;
    axis.left -= INSET;
    profile_axis(&axis);
}

static void
put_band(const struct profile_band *b, const struct profile_strip *s)
{
    profile_band_draw(b, s->p, s->base, s->base + PROFILE_LEAD, s->right);
    s->p->top = s->base + PROFILE_LEAD + b->height + AFTER;
}

/* Room for figures beside the axis: the longest that a tick may have, and the band's headings. */
static double
gutter_of(const struct sheet_style *style, const struct profile_band *b)
{
    char text[LENGTH_TEXT];
    length_print(text, -1888 * LENGTH_FT - 5 * LENGTH_IN / 8, style->elevation.form == LENGTH_AS_FT_IN
        ? (struct length_style){ LENGTH_AS_FT_IN, 0, 8 } : (struct length_style){ style->elevation.form, 2, 0 });
    return fmax(b->gutter, canvas_text_width(text, PAGE_SMALL, false) + 8 - INSET);
}

static void
length_words(char out[SHEET_WORDS], length value, struct length_style style)
{
    char text[LENGTH_TEXT];
    length_print(text, value, style);
    snprintf(out, SHEET_WORDS, "%s%s", text, style.form == LENGTH_AS_M ? " m" : style.form == LENGTH_AS_FT ? " ft" : "");
}

/* Distances along a row: to a hundredth, as a tape has them, or as readings where those are in inches. */
static struct length_style
tape_style(const struct sheet_style *style)
{
    struct length_style tape = style->elevation;
    tape.places = 2;
    return tape;
}

/* ---- rows of points ---- */

static const char *const row_words[PROFILE_SYMBOLS] = { [PROFILE_MARK] = "mark", [PROFILE_BATTEN] = "batten",
    [PROFILE_HOLE] = "hole bottom", [PROFILE_POST] = "post mark", [PROFILE_TOP] = "top of post",
    [PROFILE_GROUND_LINE] = "ground", [PROFILE_STRING_LINE] = "string as it stands" };

/* Stakes by name: of each its first, and the one behind each; JOB_NONE ends. */
struct row_stakes {
    uint32_t *first, *next; /* [names], [stakes] */
};

struct row_figure {
    struct pages *p;
    const struct row_stakes *moves;
    const struct rows *rows;
    const struct rows_row *row;
    struct head head;
    struct sizes sizes;
    size_t strips, each; /* points in a strip; the last of one is the first of the next */
    char grade_words[PROFILE_SYMBOLS - PROFILE_GRADE_LINE][SHEET_WORDS * 2];
};

/* Points of a strip: first and count, within the row. */
static size_t
strip_points(const struct row_figure *f, size_t strip, size_t *first)
{
    *first = strip * (f->each - 1);
    size_t left = f->row->count - *first;
    return left < f->each ? left : f->each;
}

static const struct rows_point *
point_of(const struct row_figure *f, size_t i)
{
    return &f->rows->point[f->row->first + i];
}

/* What a point of a kind is read on where the record does not say: the batten, the post, the ground. */
static uint32_t
on_of_kind(uint8_t kind)
{
    return kind == RECORD_POINT_BATTEN ? RECORD_ON_BATTEN : kind == RECORD_POINT_POST ? RECORD_ON_POST
        : kind == RECORD_POINT_GROUND ? RECORD_ON_GROUND : RECORD_ON_MARK;
}

/* Its spot there; a batten that was read as a point alone is a batten, as on the plan. */
static uint32_t
row_spot(const struct rows_point *point, uint32_t on)
{
    uint32_t own = on_of_kind(point->kind);
    bool itself = own != RECORD_ON_MARK && point->spot[own] == JOB_NONE;
    if (on == RECORD_ON_MARK)
        return itself ? JOB_NONE : point->spot[on];
    return on == own && itself ? point->spot[RECORD_ON_MARK] : point->spot[on];
}

static bool
row_has(const struct row_figure *f, uint32_t on)
{
    for (size_t i = 0; i < f->row->count; i++)
        if (row_spot(point_of(f, i), on) != JOB_NONE)
            return true;
    return false;
}

/* A grade is drawn where it is known at two points and more: one gives no line. */
static bool
grade_is_drawn(const struct row_figure *f, size_t g)
{
    const struct rows_grade *grade = &f->rows->grade[f->row->first_grade + g];
    size_t known = 0;
    for (size_t i = 0; i < f->row->count; i++)
        known += f->rows->known[grade->first + i];
    return known > 1;
}

static void
grade_name(char out[SHEET_WORDS * 2], const struct job *job, uint32_t grade)
{
    snprintf(out, (size_t)SHEET_WORDS * 2, "grade %s", names_text(&job->r->names, job->grade[grade].from->name));
}

/* What is to be done for a grade, point by point, as on the plan. */
static void
row_moves(const struct row_figure *f, size_t first, size_t n, uint32_t grade, struct profile_band *b)
{
    size_t row = 0;
    for (size_t i = 0; i < n && b->rows <= PROFILE_BAND_ROWS; i++) {
        const struct job_stake *stake = NULL;
        for (uint32_t k = f->moves->first[point_of(f, first + i)->name]; k != JOB_NONE && !stake; k = f->moves->next[k])
            stake = f->p->doc->job->stake[k].grade_index == grade ? &f->p->doc->job->stake[k] : NULL;
        if (!stake || (row == 0 && b->rows == PROFILE_BAND_ROWS))
            continue;
        row = row > 0 ? row : profile_band_row(b, "move");
        profile_band_move(b, row, i, stake, &f->p->style);
    }
}

/* Where nothing checks the levels of a point, or they are outside their limit. */
static void
row_quality(const struct row_figure *f, size_t first, size_t n, struct profile_band *b)
{
    static const char *const words[] = { [LEVEL_UNCHECKED] = "unchecked", [LEVEL_OUTSIDE] = "OUTSIDE", [LEVEL_FORCED] = "OUTSIDE" };
    const struct job *job = f->p->doc->job;
    size_t row = 0;
    for (size_t i = 0; i < n; i++) {
        const char *says = NULL;
        for (uint32_t on = 0; on < RECORD_ON_COUNT; on++) {
            uint32_t spot = point_of(f, first + i)->spot[on];
            uint8_t quality = spot == JOB_NONE ? 0 : job->level_spot[spot].quality;
            says = quality < sizeof words / sizeof words[0] && words[quality] && !says ? words[quality] : says;
        }
        if (!says || (row == 0 && b->rows == PROFILE_BAND_ROWS))
            continue;
        row = row > 0 ? row : profile_band_row(b, "levels");
        profile_band_set(b, row, i, says);
    }
}

/* The band of a strip, planned. */
static int
row_band(const struct row_figure *f, size_t strip, const struct profile_strip *s, struct profile_band *b)
{
    static const char *const headings[] = { "mark", "batten", "ground", "hole bottom", "post mark", "top" }; /* enum record_on */
    static const uint8_t order[] = { RECORD_ON_BATTEN, RECORD_ON_POST, RECORD_ON_TOP, RECORD_ON_MARK, RECORD_ON_GROUND, RECORD_ON_HOLE };
    const struct job *job = f->p->doc->job;
    const struct sheet_style *style = &f->p->style;
    char text[LENGTH_TEXT], words[SHEET_WORDS * 2];
    size_t first, n = strip_points(f, strip, &first), row;
    if (profile_band_open(b, n) != 0)
        return -1;
    row = profile_band_row(b, "point");
    for (size_t i = 0; i < n; i++)
        profile_band_set(b, row, i, names_text(&job->r->names, point_of(f, first + i)->name));
    row = profile_band_row(b, "distance");
    for (size_t i = 0; i < n; i++) {
        length_print(text, point_of(f, first + i)->along, tape_style(style));
        profile_band_set(b, row, i, text);
    }
    for (size_t k = 0; k < sizeof order / sizeof order[0]; k++) {
        if (!row_has(f, order[k]))
            continue;
        row = profile_band_row(b, headings[order[k]]);
        for (size_t i = 0; i < n; i++) {
            uint32_t spot = row_spot(point_of(f, first + i), order[k]);
            length_print(text, spot == JOB_NONE ? 0 : job->level_spot[spot].value, style->adjusted);
            profile_band_set(b, row, i, spot == JOB_NONE ? "" : text);
        }
    }
    for (size_t g = f->row->first_grade; g < f->row->first_grade + f->row->grades && b->rows < PROFILE_BAND_ROWS; g++) {
        grade_name(words, job, f->rows->grade[g].grade);
        row = profile_band_row(b, words);
        for (size_t i = 0; i < n; i++) {
            size_t at = f->rows->grade[g].first + first + i;
            length_print(text, f->rows->level[at], style->adjusted);
            profile_band_set(b, row, i, f->rows->known[at] ? text : "");
        }
        row_moves(f, first, n, f->rows->grade[g].grade, b);
    }
    row_quality(f, first, n, b);
    for (size_t i = 0; s && i < n; i++)
        b->at[i] = profile_x(s, point_of(f, first + i)->along);
    if (s)
        profile_band_plan(b, s->left - INSET, s->right);
    return 0;
}

/* Widens low and high to an elevation. */
static void
take(length value, bool *any, length *low, length *high)
{
    *low = !*any || value < *low ? value : *low;
    *high = !*any || value > *high ? value : *high;
    *any = true;
}

/* The lowest and highest that a strip shows; false where it shows nothing. */
static bool
row_range(const struct row_figure *f, size_t strip, length *low, length *high)
{
    const struct job *job = f->p->doc->job;
    size_t first, n = strip_points(f, strip, &first);
    bool any = false;
    for (size_t i = first; i < first + n; i++)
        for (uint32_t on = 0; on < RECORD_ON_COUNT; on++)
            if (point_of(f, i)->spot[on] != JOB_NONE)
                take(job->level_spot[point_of(f, i)->spot[on]].value, &any, low, high);
    for (size_t g = 0; g < f->row->grades; g++) {
        size_t level = f->rows->grade[f->row->first_grade + g].first;
        bool drawn = grade_is_drawn(f, g);
        for (size_t i = first; i < first + n && drawn; i++)
            if (f->rows->known[level + i])
                take(f->rows->level[level + i], &any, low, high);
    }
    return any;
}

/* ---- what is said of a row ---- */

static const char *
row_kind(const struct rows_row *row)
{
    if (row->kind == ROWS_GROUND)
        return "ground";
    return row->battens && row->posts ? "string and posts" : row->battens ? "string" : "posts";
}

/* ", A1, A2 and 3 more" */
static void
name_some(struct remark *remark, const struct row_figure *f, const char *what, uint8_t quality)
{
    const struct job *job = f->p->doc->job;
    char list[SHEET_WORDS * 5] = "";
    size_t named = 0, used = 0;
    for (size_t i = 0; i < f->row->count; i++) {
        bool is = false;
        for (uint32_t on = 0; on < RECORD_ON_COUNT; on++) {
            uint32_t spot = point_of(f, i)->spot[on];
            is |= spot != JOB_NONE && job->level_spot[spot].quality == quality;
        }
        if (is && named++ < NAMED && used < sizeof list)
            used += (size_t)snprintf(list + used, sizeof list - used, "%s%s", used ? ", " : "", names_text(&job->r->names, point_of(f, i)->name));
    }
    if (named > NAMED)
        remark_add(remark, "%s: %s and %zu more", what, list, named - NAMED);
    else if (named > 0)
        remark_add(remark, "%s: %s", what, list);
}

static void
say_row(struct row_figure *f)
{
    const struct job *job = f->p->doc->job;
    const struct rows_point *first = point_of(f, 0), *last = point_of(f, f->row->count - 1);
    struct head *h = &f->head;
    length aside = 0;
    char far[SHEET_WORDS], low_words[SHEET_WORDS], high_words[SHEET_WORDS], off[SHEET_WORDS];
    snprintf(h->title, sizeof h->title, "%s to %s: %s", names_text(&job->r->names, first->name), names_text(&job->r->names, last->name),
        row_kind(f->row));
    memcpy(h->words, row_words, sizeof row_words);
    for (uint32_t on = 0; on < RECORD_ON_COUNT; on++)
        h->used |= row_has(f, on) ? 1u << (on == RECORD_ON_GROUND ? (unsigned)PROFILE_GROUND_LINE : on) : 0;
    if (row_has(f, RECORD_ON_BATTEN))
        h->used |= 1u << PROFILE_STRING_LINE;
    for (size_t g = 0; g < f->row->grades; g++) {
        uint32_t number = f->rows->grade[f->row->first_grade + g].grade;
        enum profile_symbol line = profile_grade(number);
        char *words = f->grade_words[line - PROFILE_GRADE_LINE];
        if (!grade_is_drawn(f, g))
            continue;
        grade_name(words, job, number);
        h->words[line] = h->used & 1u << line ? "other grades" : words;
        h->used |= 1u << line;
    }
    for (size_t i = 0; i < f->row->count; i++) {
        length a = point_of(f, i)->aside;
        aside = (a < 0 ? -a : a) > aside ? (a < 0 ? -a : a) : aside;
    }
    length_words(off, aside, tape_style(&f->p->style));
    if (aside > ROWS_ASIDE)
        remark_add(&h->remark, "points stand up to %s beside the line", off);
    name_some(&h->remark, f, "NOT ADJUSTED, drawn open: levels OUTSIDE their limit", LEVEL_OUTSIDE);
    name_some(&h->remark, f, "on levels OUTSIDE their limit, spread as asked", LEVEL_FORCED);
    name_some(&h->remark, f, "unchecked", LEVEL_UNCHECKED);
    length low = 0, high = 0;
    bool any = false;
    for (size_t k = 0; k < f->strips; k++) {
        length from = 0, to = 0;
        if (!row_range(f, k, &from, &to))
            continue;
        take(from, &any, &low, &high);
        take(to, &any, &low, &high);
    }
    length_words(far, last->along, tape_style(&f->p->style));
    length_words(low_words, low, f->p->style.elevation);
    length_words(high_words, high, f->p->style.elevation);
    remark_add(&h->says, "Profile of %zu points over %s, between elevations %s and %s, with %s%s%s; the figures stand below the drawing, "
        "point by point.", f->row->count, far, low_words, high_words, row_has(f, RECORD_ON_GROUND) ? "the ground, " : "",
        f->row->grades > 0 ? "the grade, " : "", "the marks as they stand");
}

/* ---- drawing a row ---- */

static bool
is_open(const struct job *job, uint32_t spot)
{
    return job->level_spot[spot].quality == LEVEL_OUTSIDE;
}

/* Line from point to point of those that have an elevation on this. */
static void
row_line(const struct row_figure *f, const struct profile_strip *s, size_t first, size_t n, uint32_t on, enum profile_symbol line)
{
    const struct job *job = f->p->doc->job;
    struct canvas_place from = { 0, 0 };
    bool begun = false;
    for (size_t i = first; i < first + n; i++) {
        const struct rows_point *point = point_of(f, i);
        uint32_t spot = row_spot(point, on);
        if (spot == JOB_NONE)
            continue;
        struct canvas_place to = { profile_x(s, point->along), profile_y(s, job->level_spot[spot].value) };
        if (begun)
            canvas_line(s->p->canvas, profile_pen(line), from.x, from.y, to.x, to.y);
        from = to;
        begun = true;
        for (int k = -1; on == RECORD_ON_GROUND && k < 2; k++) /* earth, as sections show it */
            canvas_line(s->p->canvas, (struct canvas_pen){ 0.6, CANVAS_BLACK, CANVAS_SOLID }, to.x + 3 * k + 1, to.y + 1.5, to.x + 3 * k - 2,
                to.y + 4.5);
    }
}

static void
row_grade(const struct row_figure *f, const struct profile_strip *s, size_t first, size_t n, size_t g)
{
    const struct rows_grade *grade = &f->rows->grade[f->row->first_grade + g];
    enum profile_symbol line = profile_grade(grade->grade);
    struct canvas_place from = { 0, 0 };
    bool begun = false;
    for (size_t i = first; i < first + n; i++) {
        if (!f->rows->known[grade->first + i])
            continue;
        struct canvas_place to = { profile_x(s, point_of(f, i)->along), profile_y(s, f->rows->level[grade->first + i]) };
        if (begun)
            canvas_line(s->p->canvas, profile_pen(line), from.x, from.y, to.x, to.y);
        from = to;
        begun = true;
    }
}

static void
row_symbols(const struct row_figure *f, const struct profile_strip *s, size_t first, size_t n)
{
    static const uint8_t order[] = { RECORD_ON_HOLE, RECORD_ON_GROUND, RECORD_ON_BATTEN, RECORD_ON_TOP, RECORD_ON_MARK, RECORD_ON_POST };
    const struct job *job = f->p->doc->job;
    for (size_t i = first; i < first + n; i++)
        for (size_t k = 0; k < sizeof order / sizeof order[0]; k++) {
            uint32_t spot = row_spot(point_of(f, i), order[k]);
            if (spot != JOB_NONE)
                profile_symbol(s->p->canvas, (enum profile_symbol)order[k], profile_x(s, point_of(f, i)->along),
                    profile_y(s, job->level_spot[spot].value), is_open(job, spot));
        }
}

/* An ordinate from the datum to the highest that stands at a point. */
static void
row_ordinates(const struct row_figure *f, const struct profile_strip *s, size_t first, size_t n)
{
    const struct job *job = f->p->doc->job;
    for (size_t i = first; i < first + n; i++) {
        length low = 0, high = 0;
        bool any = false;
        double x = profile_x(s, point_of(f, i)->along);
        for (uint32_t on = 0; on < RECORD_ON_COUNT; on++)
            if (point_of(f, i)->spot[on] != JOB_NONE)
                take(job->level_spot[point_of(f, i)->spot[on]].value, &any, &low, &high);
        if (any)
            canvas_line(s->p->canvas, (struct canvas_pen){ 0.4, CANVAS_GREY, CANVAS_SOLID }, x, profile_y(s, high), x, s->base);
    }
}

/* Where a line runs, and what a name must not stand on. */
static void
take_line(struct profile_boxes *boxes, double x1, double y1, double x2, double y2)
{
    profile_boxes_take(boxes, x1 - 0.8, fmin(y1, y2) - 1.2, x2 + 0.8, fmax(y1, y2) + 1.2);
}

/* Between points that have one: lines of ground and string, symbols, ordinates. */
static void
take_marks(const struct row_figure *f, const struct profile_strip *s, size_t first, size_t n, uint32_t on, struct profile_boxes *boxes)
{
    const struct job *job = f->p->doc->job;
    double last_x = 0, last_y = 0;
    bool begun = false, joined = on == RECORD_ON_GROUND || on == RECORD_ON_BATTEN;
    for (size_t i = first; i < first + n; i++) {
        uint32_t spot = row_spot(point_of(f, i), on);
        if (spot == JOB_NONE)
            continue;
        double x = profile_x(s, point_of(f, i)->along), y = profile_y(s, job->level_spot[spot].value);
        profile_boxes_take(boxes, x - 6, y - 8, x + 6, y + 8);
        take_line(boxes, x, y, x, s->base);
        if (begun && joined)
            take_line(boxes, last_x, last_y, x, y);
        last_x = x, last_y = y, begun = true;
    }
}

/* A grade's line: its box is taken, and where it ends is returned; false where it is not drawn. */
static bool
take_grade(const struct row_figure *f, const struct profile_strip *s, size_t first, size_t n, size_t g, struct profile_boxes *boxes,
    struct canvas_place *end)
{
    const struct rows_grade *grade = &f->rows->grade[f->row->first_grade + g];
    bool begun = false, drawn = false;
    for (size_t i = first; i < first + n; i++) {
        if (!f->rows->known[grade->first + i])
            continue;
        struct canvas_place to = { profile_x(s, point_of(f, i)->along), profile_y(s, f->rows->level[grade->first + i]) };
        if (begun)
            take_line(boxes, end->x, end->y, to.x, to.y);
        drawn |= begun;
        *end = to;
        begun = true;
    }
    return drawn;
}

#define LETTER_OFF 4.0   /* points from a grade's line to its name */
#define LETTER_STEP 16.0
#define LETTER_TRIES 8

/* A grade's name behind the end of its line, else over or under the line, from its end back. */
static void
letter_grade(const struct row_figure *f, const struct profile_strip *s, size_t g, struct canvas_place end, struct profile_boxes *boxes)
{
    char words[SHEET_WORDS * 2], shown[SHEET_WORDS * 2];
    grade_name(words, f->p->doc->job, f->rows->grade[f->row->first_grade + g].grade);
    double width = profile_fit(shown, sizeof shown, words, PAGE_SMALL, false, LETTER_STEP * LETTER_TRIES), up = PAGE_SMALL * CANVAS_CAPITAL;
    bool done = profile_name_at(s->p->canvas, boxes, end.x + LETTER_OFF * 2, end.y + up / 2, width, shown);
    for (int k = 0; !done && k < LETTER_TRIES; k++) {
        double x = end.x - LETTER_OFF * 2 - width - LETTER_STEP * k;
        done = profile_name_at(s->p->canvas, boxes, x, end.y - LETTER_OFF, width, shown) ||
            profile_name_at(s->p->canvas, boxes, x, end.y + LETTER_OFF + up, width, shown);
    }
}

/* Lines that run close together are told apart by a name, in grey print too. False without memory. */
static bool
letter_grades(const struct row_figure *f, const struct profile_strip *s, size_t first, size_t n)
{
    struct profile_boxes boxes = { .within = { s->left, s->top, s->right, s->base - 2 } };
    struct canvas_place end[PROFILE_BAND_ROWS] = { { 0, 0 } };
    bool drawn[PROFILE_BAND_ROWS] = { false };
    size_t grades = f->row->grades < PROFILE_BAND_ROWS ? f->row->grades : PROFILE_BAND_ROWS;
    for (uint32_t on = 0; on < RECORD_ON_COUNT; on++)
        take_marks(f, s, first, n, on, &boxes);
    for (size_t g = 0; g < grades; g++)
        drawn[g] = take_grade(f, s, first, n, g, &boxes, &end[g]);
    for (size_t g = 0; g < grades; g++)
        if (drawn[g])
            letter_grade(f, s, g, end[g], &boxes);
    profile_boxes_release(&boxes);
    return !boxes.no_memory;
}

static int
draw_row_strip(struct row_figure *f, size_t strip)
{
    struct profile_band b = { 0 };
    size_t first, n = strip_points(f, strip, &first);
    length low = 0, high = 0;
    struct profile_strip s = strip_of(f->p, &f->sizes);
    (void)row_range(f, strip, &low, &high);
    s.begin = point_of(f, first)->along;
    s.datum = profile_datum(&f->sizes.scale, low);
    int rc = row_band(f, strip, &s, &b);
    if (rc == 0) {
        put_axis(&s);
        row_ordinates(f, &s, first, n);
        row_line(f, &s, first, n, RECORD_ON_GROUND, PROFILE_GROUND_LINE);
        row_line(f, &s, first, n, RECORD_ON_BATTEN, PROFILE_STRING_LINE);
        for (size_t g = 0; g < f->row->grades; g++)
            row_grade(f, &s, first, n, g);
        row_symbols(f, &s, first, n);
        rc = letter_grades(f, &s, first, n) ? 0 : -1;
        put_band(&b, &s);
    }
    profile_band_release(&b);
    return rc;
}

/* The longest and the highest of its strips, together. */
static struct profile_span
row_span(const struct row_figure *f)
{
    struct profile_span span = { .to_scale = true, .width = plot_width(f->p, &f->sizes), .height = PLOT };
    for (size_t k = 0; k < f->strips; k++) {
        size_t first, n = strip_points(f, k, &first);
        length low = 0, high = 0, along = point_of(f, first + n - 1)->along - point_of(f, first)->along;
        (void)row_range(f, k, &low, &high);
        span.along = along > span.along ? along : span.along;
        if (high - low > span.high - span.low) {
            span.low = low;
            span.high = high;
        }
    }
    return span;
}

/* Cut into strips; the band's height, with figures where they will stand. */
static int
cut_row(struct row_figure *f, size_t strips)
{
    struct profile_strip s = { .p = f->p, .scale = &f->sizes.scale, .left = f->p->left + f->sizes.gutter + INSET, .right = f->p->right };
    int rc = 0;
    f->strips = strips;
    f->each = (f->row->count - 1 + strips - 1) / strips + 1;
    f->sizes.span = row_span(f);
    f->sizes.scale = profile_scale_choose(f->p->doc->job->r->job.unit, &f->sizes.span);
    f->sizes.band = 0;
    for (size_t k = 0; rc == 0 && k < strips; k++) {
        struct profile_band b;
        size_t first;
        (void)strip_points(f, k, &first);
        s.begin = point_of(f, first)->along;
        rc = row_band(f, k, &s, &b);
        f->sizes.band = fmax(f->sizes.band, b.height);
        f->sizes.type = fmin(k > 0 ? f->sizes.type : PAGE_TEXT, b.turned ? 0 : b.size);
        profile_band_release(&b);
    }
    return rc;
}

/* As few strips as have room for their columns, and whose band leaves room on a page for the drawing over it. */
static int
size_row(struct row_figure *f)
{
    struct profile_band b = { 0 };
    int rc = row_band(f, 0, NULL, &b);
    f->sizes.gutter = gutter_of(&f->p->style, &b);
    profile_band_release(&b);
    size_t most = profile_band_most(plot_width(f->p, &f->sizes));
    size_t strips = f->row->count <= most ? 1 : (f->row->count - 2) / (most - 1) + 1;
    double head = 0, left = 0;
    for (; rc == 0 && left < PLOT_LEAST; strips++) {
        rc = cut_row(f, strips);
        snprintf(f->head.facts, sizeof f->head.facts, "%s", f->sizes.scale.words);
        head = head_height(f->p, &f->head, true) + 2 * PAGE_SMALL;
        left = f->each <= 3 ? PLOT_LEAST : f->sizes.full - head - f->sizes.band - PROFILE_LEAD - AFTER;
    }
    const struct profile_span span = f->sizes.span;
    choose_plot(&f->sizes, f->p->doc->job->r->job.unit, &span, head);
    return rc;
}

static void
facts_of_strip(struct head *h, const struct sizes *z, length low, size_t strip, size_t strips)
{
    char datum[SHEET_WORDS], part[SHEET_WORDS] = "";
    length_words(datum, profile_datum(&z->scale, low), z->scale.tick);
    if (strips > 1)
        snprintf(part, sizeof part, "; strip %zu of %zu", strip + 1, strips);
    snprintf(h->facts, sizeof h->facts, "%s; datum %s%s", z->scale.words, datum, part);
}

/* All that is to be known of a row before it is drawn. */
static int
open_row(struct row_figure *f, struct pages *p, double full, const struct rows *rows, size_t row, const struct row_stakes *moves)
{
    *f = (struct row_figure){ .p = p, .moves = moves, .rows = rows, .row = &rows->row[row], .sizes = { .full = full }, .strips = 1,
        .each = rows->row[row].count };
    say_row(f);
    return size_row(f);
}

/* ---- two rows, side by side or one below the other ---- */

#define PAIR_GAP 26.0
#define PAIR_POINTS 5 /* in each, at most */

/* The left half of a page, or its right one. */
static void
take_half(struct pages *p, int which)
{
    double middle = (p->left + p->right) / 2;
    if (which == 0)
        p->right = middle - PAIR_GAP / 2;
    else
        p->left = middle + PAIR_GAP / 2;
}

/* Of a row in one strip: with so much height for its scale, what it takes of a page; all else follows from that. */
static double
row_height(struct row_figure *f, double height)
{
    length low = 0, high = 0;
    f->sizes.most = f->sizes.span.height = height;
    f->sizes.scale = profile_scale_choose(f->p->doc->job->r->job.unit, &f->sizes.span);
    (void)row_range(f, 0, &low, &high);
    choose_strip(&f->sizes, low, high);
    facts_of_strip(&f->head, &f->sizes, low, 0, 1);
    return head_height(f->p, &f->head, true) + f->sizes.plot + PROFILE_LEAD + f->sizes.band + AFTER;
}

/* Two rows of like length that go on one page have one scale of heights: the height for which it is chosen, where they then have
 * room, one below the other or side by side; 0 where they are no such two, or have it anyway. */
static double
common_height(struct row_figure *f, struct row_figure *g, double room, bool beside)
{
    double most = fmin(f->sizes.span.height, g->sizes.span.height), up = fmax(f->sizes.scale.up, g->sizes.scale.up);
    if (f->strips > 1 || g->strips > 1 || f->sizes.scale.along != g->sizes.scale.along)
        return 0;
    const int steps = most >= PLOT_FLAT ? (int)((most - PLOT_FLAT) / SQUEEZE_STEP) : -1;
    for (int i = 0; i <= steps; i++) {
        double height = most - i * SQUEEZE_STEP;
        double one = row_height(f, height), other = row_height(g, height), both = beside ? fmax(one, other) : one + other;
        if (f->sizes.scale.along != g->sizes.scale.along || f->sizes.scale.up > up * SQUEEZED)
            return 0;
        if (both <= room && f->sizes.scale.up == g->sizes.scale.up)
            return height;
    }
    return 0;
}

/* For a row and the next one, on what is left of the page, or on the next page where that has no room for the first. */
static int
height_for_two(struct pages *p, double full, const struct rows *rows, size_t row, const struct row_stakes *moves, bool beside, double *height)
{
    struct row_figure f, g;
    struct pages half = *p;
    if (beside)
        take_half(&half, 0);
    int rc = open_row(&f, &half, full, rows, row, moves);
    if (rc == 0)
        rc = open_row(&g, &half, full, rows, row + 1, moves);
    if (rc != 0)
        return rc;
    double left = p->bottom - p->top, natural = f.sizes.span.height, other = g.sizes.span.height;
    *height = common_height(&f, &g, left, beside);
    if (*height == 0 && f.strips == 1 && row_height(&f, natural) > left) {
        (void)row_height(&g, other); /* both as they were before heights were tried */
        *height = common_height(&f, &g, full, beside);
    }
    return 0;
}

/* `height` for its scale, or 0 for what suits it best. */
static int
draw_row(struct pages *p, double full, const struct rows *rows, size_t row, const struct row_stakes *moves, double height)
{
    struct row_figure f;
    int rc = open_row(&f, p, full, rows, row, moves);
    if (rc == 0 && height > 0)
        (void)row_height(&f, height);
    for (size_t k = 0; rc == 0 && k < f.strips; k++) {
        length low = 0, high = 0;
        (void)row_range(&f, k, &low, &high);
        choose_strip(&f.sizes, low, high);
        if (f.strips == 1 && height == 0)
            squeeze(&f.sizes, p, &f.head, low, high);
        facts_of_strip(&f.head, &f.sizes, low, k, f.strips);
        begin_strip(p, &f.head, &f.sizes, k == 0);
        rc = draw_row_strip(&f, k);
        canvas_group_end(p->canvas);
    }
    return rc;
}

/* How high a row is in a half of the page; 0 where it does not go there as well as over the whole. */
static int
half_height(const struct pages *whole, double full, const struct rows *rows, size_t row, const struct row_stakes *moves, double *height)
{
    struct pages p = *whole;
    struct row_figure f;
    length low = 0, high = 0;
    take_half(&p, 0);
    int rc = open_row(&f, &p, full, rows, row, moves);
    (void)row_range(&f, 0, &low, &high);
    choose_strip(&f.sizes, low, high);
    facts_of_strip(&f.head, &f.sizes, low, 0, 1);
    bool goes = f.strips == 1 && f.sizes.type >= PAGE_TEXT;
    *height = goes ? head_height(&p, &f.head, true) + f.sizes.plot + PROFILE_LEAD + f.sizes.band + AFTER - 2 : 0;
    return rc;
}

/* True where a row and the next one go side by side, on the page at hand: it is turned where there is no room. */
static int
begin_pair(struct pages *p, double full, const struct rows *rows, size_t row, size_t shown, const struct row_stakes *moves, bool *pair)
{
    double height[2] = { 0, 0 };
    int rc = 0;
    *pair = p->width > p->height && row + 1 < shown && rows->row[row].count <= PAIR_POINTS && rows->row[row + 1].count <= PAIR_POINTS;
    for (size_t i = 0; *pair && rc == 0 && i < 2; i++) {
        rc = half_height(p, full, rows, row + i, moves, &height[i]);
        *pair = height[i] > 0 && height[i] <= full;
    }
    if (*pair)
        (void)pages_room(p, fmax(height[0], height[1]));
    return rc;
}

static int
draw_pair(struct pages *p, double full, const struct rows *rows, size_t row, const struct row_stakes *moves)
{
    double left = p->left, right = p->right, top = p->top, low = top, height = 0;
    int rc = height_for_two(p, full, rows, row, moves, true, &height);
    for (int i = 0; rc == 0 && i < 2; i++) {
        p->top = top;
        take_half(p, i);
        rc = draw_row(p, full, rows, row + (size_t)i, moves, height);
        low = fmax(low, p->top);
        p->left = left;
        p->right = right;
    }
    p->top = low;
    return rc;
}

/* ---- the way of the levels ---- */

static const char *const run_words[PROFILE_SYMBOLS] = { [PROFILE_BENCHMARK] = "benchmark", [PROFILE_TURN] = "turning point",
    [PROFILE_SIDE] = "intermediate sight", [PROFILE_INSTRUMENT] = "instrument, at its height", [PROFILE_ROD] = "rod, backsight or foresight",
    [PROFILE_GROUND_LINE] = "", [PROFILE_SIGHT_LINE] = "line of sight", [PROFILE_DROP_LINE] = "rod of an intermediate sight" };

/* Legs of one strip: each joins the one before it. */
struct stretch {
    size_t first, count;
};

struct run_figure {
    struct pages *p;
    const struct course *course;
    uint32_t run;
    bool sections;
    struct head head;
    struct sizes sizes;
    struct stretch *stretch;
    size_t stretches;
    size_t alone; /* sections that join no other */
    uint32_t *read_as; /* [names] the spot as which intermediate sights read it, or SEVERAL */
};

#define SEVERAL (JOB_NONE - 1)

/* Points that the run reads in more ways than one: on the ground and in the hole. */
static int
find_several(struct run_figure *f)
{
    const struct job *job = f->p->doc->job;
    f->read_as = room_new(job->r->names.n, sizeof *f->read_as);
    if (!f->read_as)
        return -1;
    for (size_t i = 0; i < job->r->names.n; i++)
        f->read_as[i] = JOB_NONE;
    for (size_t i = 0; i < f->course->sides; i++) {
        uint32_t spot = f->course->side[i].spot, *as = &f->read_as[job->spot[spot].at];
        *as = *as == JOB_NONE || *as == spot ? spot : SEVERAL;
    }
    return 0;
}

static bool
has_instruments(const struct run_figure *f)
{
    return !f->sections;
}

/* Columns: every point, and between two the instrument. */
static size_t
run_columns(const struct run_figure *f, const struct stretch *t)
{
    return has_instruments(f) ? 2 * t->count + 1 : t->count + 1;
}

static const struct course_leg *
leg_of(const struct run_figure *f, const struct stretch *t, size_t i)
{
    return &f->course->leg[t->first + i];
}

static void
set_length(struct profile_band *b, size_t row, size_t column, length value, struct length_style style)
{
    char text[LENGTH_TEXT];
    length_print(text, value, style);
    profile_band_set(b, row, column, text);
}

/* The point that leg i of a strip begins on, or that its last leg ends on where i is their count. */
static bool
stop_of(const struct run_figure *f, const struct stretch *t, size_t i, uint32_t *spot, length *at, length *elevation)
{
    const struct course_leg *leg = leg_of(f, t, i < t->count ? i : t->count - 1);
    const struct level_leg *from = &f->p->doc->job->leg[leg->leg];
    bool ahead = i == t->count;
    *spot = ahead ? from->to : from->from;
    *at = ahead ? leg->end : leg->begin;
    *elevation = ahead ? leg->to : leg->from;
    return ahead ? leg->has_to : leg->has_from;
}

static int
run_band(const struct run_figure *f, const struct stretch *t, const struct profile_strip *s, struct profile_band *b)
{
    const struct job *job = f->p->doc->job;
    const struct sheet_style *style = &f->p->style;
    size_t step = has_instruments(f) ? 2 : 1, points, distance = 0, elevation, setup = 0, hi = 0;
    char words[SHEET_WORDS * 2];
    if (profile_band_open(b, run_columns(f, t)) != 0)
        return -1;
    points = profile_band_row(b, "point");
    elevation = profile_band_row(b, "elevation");
    if (f->course->by_dist)
        distance = profile_band_row(b, "distance");
    if (has_instruments(f)) {
        setup = profile_band_row(b, "set-up");
        hi = profile_band_row(b, "HI");
    }
    for (size_t i = 0; i <= t->count; i++) {
        uint32_t spot;
        length at, height;
        bool has = stop_of(f, t, i, &spot, &at, &height);
        b->at[step * i] = s ? profile_x(s, at) : 0;
        if (!has)
            continue;
        spot_words(words, job, spot, "");
        profile_band_set(b, points, step * i, words);
        set_length(b, elevation, step * i, height, style->elevation);
        if (f->course->by_dist)
            set_length(b, distance, step * i, at, sheet_distance(style));
    }
    for (size_t i = 0; has_instruments(f) && i < t->count; i++) {
        const struct course_leg *leg = leg_of(f, t, i);
        setup_name(words, job, leg->leg);
        profile_band_set(b, setup, 2 * i + 1, words);
        set_length(b, hi, 2 * i + 1, leg->hi, style->elevation);
        b->at[2 * i + 1] = s ? profile_x(s, leg->instrument) : 0;
    }
    if (s)
        profile_band_plan(b, s->left - INSET, s->right);
    return 0;
}

static void
run_range(const struct run_figure *f, const struct stretch *t, length *low, length *high)
{
    bool any = false;
    for (size_t i = 0; i < t->count; i++) {
        const struct course_leg *leg = leg_of(f, t, i);
        if (leg->has_from)
            take(leg->from, &any, low, high);
        if (leg->has_to)
            take(leg->to, &any, low, high);
        if (leg->has_hi)
            take(leg->hi, &any, low, high);
        for (size_t k = leg->first; k < leg->first + leg->sides; k++)
            take(f->course->side[k].elevation, &any, low, high);
    }
}

/* ---- strips of a run ---- */

/* Pieces that hang together, cut into strips of no more legs than there is room for. */
static int
cut_run(struct run_figure *f, size_t most)
{
    const struct course *c = f->course;
    f->stretch = malloc((c->legs + 1) * sizeof *f->stretch);
    if (!f->stretch)
        return -1;
    for (size_t first = 0, end; first < c->legs; first = end) {
        for (end = first + 1; end < c->legs && c->leg[end].joins;)
            end++;
        size_t n = end - first, strips = (n + most - 1) / most, each = (n + strips - 1) / strips;
        if (f->sections && n == 1) {
            f->alone++;
            continue;
        }
        for (size_t i = first; i < end; i += each)
            f->stretch[f->stretches++] = (struct stretch){ i, end - i < each ? end - i : each };
    }
    return 0;
}

static bool
is_benchmark(const struct job *job, uint32_t spot)
{
    return job->level_spot[spot].state == LEVEL_MARK;
}

/* Benchmarks and turning points: which of them there are. */
static unsigned
stops_used(const struct run_figure *f)
{
    unsigned used = 0;
    uint32_t spot;
    length at, elevation;
    for (size_t k = 0; k < f->stretches; k++)
        for (size_t i = 0; i <= f->stretch[k].count; i++)
            if (stop_of(f, &f->stretch[k], i, &spot, &at, &elevation))
                used |= 1u << (is_benchmark(f->p->doc->job, spot) ? PROFILE_BENCHMARK : PROFILE_TURN);
    return used;
}

/* A way that begins on a point that other levels gave: "as carried from TP2 as adjusted, 5.2129". */
static void
say_beginning(struct run_figure *f)
{
    const struct job *job = f->p->doc->job;
    char name[SHEET_WORDS * 2], height[LENGTH_TEXT], words[SHEET_WORDS * 4] = "";
    size_t used = 0;
    for (size_t i = 0; i < f->stretches && used < sizeof words; i++) {
        const struct course_leg *leg = &f->course->leg[f->stretch[i].first];
        uint32_t spot = job->leg[leg->leg].from;
        if (leg->joins || !leg->has_from || is_benchmark(job, spot))
            continue;
        spot_words(name, job, spot, "");
        length_print(height, leg->from, f->p->style.elevation);
        used += (size_t)snprintf(words + used, sizeof words - used, "%s %.60s%s, %s", used > 0 ? " and" : " from", name,
            job->level_spot[spot].value == leg->from ? " as adjusted" : "", height);
    }
    remark_add(&f->head.remark, "elevations as carried%s, without corrections", words);
}

static void
say_run(struct run_figure *f)
{
    const struct job *job = f->p->doc->job;
    const struct record_run *run = &job->r->run[f->run];
    const struct course *c = f->course;
    struct head *h = &f->head;
    size_t first = f->stretch[0].first, last = f->stretch[f->stretches - 1].first + f->stretch[f->stretches - 1].count - 1, n = 0;
    char from[SHEET_WORDS * 2], to[SHEET_WORDS * 2], low_words[SHEET_WORDS], high_words[SHEET_WORDS];
    const char *date = run->date == RECORD_NONE ? "" : names_text(&job->r->texts, run->date);
    length low = 0, high = 0;
    bool any = false;
    for (size_t i = 0; i < f->stretches; i++) {
        length below = 0, above = 0;
        run_range(f, &f->stretch[i], &below, &above);
        take(below, &any, &low, &high);
        take(above, &any, &low, &high);
        n += f->stretch[i].count;
    }
    spot_words(from, job, job->leg[c->leg[first].leg].from, NO_FROM);
    spot_words(to, job, job->leg[c->leg[last].leg].to, NO_TO);
    snprintf(h->title, sizeof h->title, "Levels of entry %" PRIu32 "%s%.20s: %.100s to %.100s", run->entry + 1, date[0] ? ", " : "", date, from, to);
    memcpy(h->words, run_words, sizeof run_words);
    h->used = stops_used(f);
    if (has_instruments(f))
        h->used |= 1u << PROFILE_INSTRUMENT | 1u << PROFILE_ROD | 1u << PROFILE_SIGHT_LINE;
    if (c->sides > 0)
        h->used |= 1u << PROFILE_SIDE | 1u << PROFILE_DROP_LINE;
    if (!c->by_dist)
        remark_add(&h->remark, "some length is not booked: one step a %s", f->sections ? "section" : "set-up");
    say_beginning(f);
    if (c->sides > 0)
        remark_add(&h->remark, "intermediate sights stand in booking order between backsight and foresight, not at their distance, and are named "
            "where there is room");
    if (c->adrift > 0)
        remark_add(&h->remark, "%zu %s left out: nothing ties them to a mark", c->adrift, c->adrift == 1 ? "set-up is" : "set-ups are");
    if (f->alone > 0)
        remark_add(&h->remark, "%zu %s that join no other", f->alone, f->alone == 1 ? "section is left out" : "sections are left out");
    length_words(low_words, low, f->p->style.elevation);
    length_words(high_words, high, f->p->style.elevation);
    remark_add(&h->says, "Profile of the levels from %.90s to %.90s, %zu %s, between elevations %s and %s; the figures stand below the drawing, "
        "point by point.", from, to, n, f->sections ? "sections" : n == 1 ? "set-up" : "set-ups", low_words, high_words);
}

/* ---- drawing a run ---- */

static void
put_stop(const struct run_figure *f, const struct profile_strip *s, struct profile_boxes *boxes, uint32_t spot, length at, length elevation)
{
    const struct job *job = f->p->doc->job;
    double x = profile_x(s, at), y = profile_y(s, elevation);
    profile_symbol(s->p->canvas, is_benchmark(job, spot) ? PROFILE_BENCHMARK : PROFILE_TURN, x, y, false);
    profile_boxes_take(boxes, x - 4.5, y - 4.5, x + 4.5, y + 4.5);
}

static void
side_place(const struct profile_strip *s, const struct course *c, const struct course_leg *leg, size_t k, double *x, double *y)
{
    double left = profile_x(s, leg->begin), right = profile_x(s, leg->end);
    *x = left + (right - left) * (double)(k + 1) / (double)(leg->sides + 1);
    *y = profile_y(s, c->side[leg->first + k].elevation);
}

/* Where a line of sight begins and ends: at its rods; without one, at the instrument or at the last that was read beside it. */
static void
sight_ends(const struct profile_strip *s, const struct course *course, const struct course_leg *leg, double *from, double *to)
{
    double middle = profile_x(s, leg->instrument), first = middle, last = middle, y;
    if (leg->sides > 0) {
        side_place(s, course, leg, 0, &first, &y);
        side_place(s, course, leg, leg->sides - 1, &last, &y);
    }
    *from = leg->has_from ? profile_x(s, leg->begin) : fmin(first, middle);
    *to = leg->has_to ? profile_x(s, leg->end) : fmax(last, middle);
}

/* The line of sight of a set-up, and the rods at its ends. */
static void
put_sights(const struct profile_strip *s, struct profile_boxes *boxes, const struct course *course, const struct course_leg *leg)
{
    struct canvas *c = s->p->canvas;
    double left = profile_x(s, leg->begin), right = profile_x(s, leg->end), middle = profile_x(s, leg->instrument), hi = profile_y(s, leg->hi), from, to;
    sight_ends(s, course, leg, &from, &to);
    if (leg->has_from)
        canvas_line(c, profile_pen(PROFILE_ROD), left, profile_y(s, leg->from), left, hi);
    if (leg->has_to)
        canvas_line(c, profile_pen(PROFILE_ROD), right, profile_y(s, leg->to), right, hi);
    canvas_line(c, profile_pen(PROFILE_SIGHT_LINE), from, hi, to, hi);
    profile_boxes_take(boxes, left, hi - 1.5, right, hi + 1.5);
    for (int k = 0; k < 2; k++) {
        double x = k ? right : left, y = profile_y(s, k ? leg->to : leg->from);
        profile_boxes_take(boxes, x - 1.5, fmin(y, hi), x + 1.5, fmax(y, hi));
    }
    profile_boxes_take(boxes, middle - 6, hi - 4, middle + 6, hi + 11);
}

static void
put_sides(const struct run_figure *f, const struct profile_strip *s, struct profile_boxes *boxes, const struct course_leg *leg)
{
    double x, y, hi = profile_y(s, leg->hi);
    for (size_t k = 0; k < leg->sides; k++) {
        side_place(s, f->course, leg, k, &x, &y);
        canvas_line(s->p->canvas, profile_pen(PROFILE_DROP_LINE), x, hi, x, y);
        profile_symbol(s->p->canvas, PROFILE_SIDE, x, y, false);
        profile_boxes_take(boxes, x - 2.5, y - 2.5, x + 2.5, y + 2.5);
    }
}

/* Its name; of a point that the run reads in several ways, also on what: "A1 hole". */
static void
side_words(char out[SHEET_WORDS * 2], const struct run_figure *f, uint32_t spot)
{
    const struct job *job = f->p->doc->job;
    if (f->read_as[job->spot[spot].at] == SEVERAL)
        spot_words(out, job, spot, "");
    else
        snprintf(out, (size_t)SHEET_WORDS * 2, "%s", spot_name(job, spot));
}

static void
name_sides(const struct run_figure *f, const struct profile_strip *s, struct profile_boxes *boxes, const struct course_leg *leg)
{
    char words[SHEET_WORDS * 2];
    double x, y;
    for (size_t k = 0; k < leg->sides; k++) {
        side_place(s, f->course, leg, k, &x, &y);
        side_words(words, f, f->course->side[leg->first + k].spot);
        (void)profile_name(s->p->canvas, boxes, x, y, 2.5, words);
    }
}

static void
draw_course(struct run_figure *f, const struct profile_strip *s, const struct stretch *t, struct profile_boxes *boxes)
{
    uint32_t spot;
    length at, elevation;
    for (size_t i = 0; i < t->count; i++) {
        const struct course_leg *leg = leg_of(f, t, i);
        if (leg->has_hi)
            put_sights(s, boxes, f->course, leg);
        else if (leg->has_from && leg->has_to)
            canvas_line(s->p->canvas, (struct canvas_pen){ 0.8, CANVAS_BLACK, CANVAS_SOLID }, profile_x(s, leg->begin), profile_y(s, leg->from),
                profile_x(s, leg->end), profile_y(s, leg->to));
        put_sides(f, s, boxes, leg);
    }
    for (size_t i = 0; i < t->count; i++)
        if (leg_of(f, t, i)->has_hi)
            profile_symbol(s->p->canvas, PROFILE_INSTRUMENT, profile_x(s, leg_of(f, t, i)->instrument), profile_y(s, leg_of(f, t, i)->hi), false);
    for (size_t i = 0; i <= t->count; i++)
        if (stop_of(f, t, i, &spot, &at, &elevation))
            put_stop(f, s, boxes, spot, at, elevation);
    for (size_t i = 0; i < t->count; i++)
        name_sides(f, s, boxes, leg_of(f, t, i));
}

static int
draw_run_strip(struct run_figure *f, const struct stretch *t)
{
    struct profile_band b = { 0 };
    struct profile_strip s = strip_of(f->p, &f->sizes);
    length low = 0, high = 0;
    run_range(f, t, &low, &high);
    s.begin = leg_of(f, t, 0)->begin;
    s.datum = profile_datum(&f->sizes.scale, low);
    struct profile_boxes boxes = { .within = { s.left - INSET + 1, s.top, s.right, s.base - 1 } };
    int rc = run_band(f, t, &s, &b);
    if (rc == 0) {
        put_axis(&s);
        draw_course(f, &s, t, &boxes);
        put_band(&b, &s);
    }
    profile_band_release(&b);
    profile_boxes_release(&boxes);
    return boxes.no_memory ? -1 : rc;
}

static int
size_run(struct run_figure *f)
{
    struct profile_strip s = { .p = f->p, .scale = &f->sizes.scale, .left = f->p->left + f->sizes.gutter + INSET, .right = f->p->right };
    struct profile_span span = { .to_scale = f->course->by_dist, .width = plot_width(f->p, &f->sizes), .height = PLOT };
    int rc = 0;
    for (size_t k = 0; k < f->stretches; k++) {
        const struct stretch *t = &f->stretch[k];
        length low = 0, high = 0, along = leg_of(f, t, t->count - 1)->end - leg_of(f, t, 0)->begin;
        run_range(f, t, &low, &high);
        span.along = along > span.along ? along : span.along;
        if (high - low > span.high - span.low) {
            span.low = low;
            span.high = high;
        }
    }
    f->sizes.scale = profile_scale_choose(f->p->doc->job->r->job.unit, &span);
    for (size_t k = 0; rc == 0 && k < f->stretches; k++) {
        struct profile_band b = { 0 };
        s.begin = leg_of(f, &f->stretch[k], 0)->begin;
        rc = run_band(f, &f->stretch[k], &s, &b);
        f->sizes.band = fmax(f->sizes.band, b.height);
        profile_band_release(&b);
    }
    snprintf(f->head.facts, sizeof f->head.facts, "%s", f->sizes.scale.words);
    choose_plot(&f->sizes, f->p->doc->job->r->job.unit, &span, head_height(f->p, &f->head, true) + 2 * PAGE_SMALL);
    return rc;
}

static int
draw_strips(struct run_figure *f)
{
    int rc = size_run(f);
    for (size_t k = 0; rc == 0 && k < f->stretches && !f->p->canvas->no_memory; k++) {
        length low = 0, high = 0;
        run_range(f, &f->stretch[k], &low, &high);
        choose_strip(&f->sizes, low, high);
        if (f->stretches == 1)
            squeeze(&f->sizes, f->p, &f->head, low, high);
        facts_of_strip(&f->head, &f->sizes, low, k, f->stretches);
        begin_strip(f->p, &f->head, &f->sizes, k == 0);
        rc = draw_run_strip(f, &f->stretch[k]);
        canvas_group_end(f->p->canvas);
    }
    return rc;
}

static int
draw_run(struct pages *p, double full, uint32_t run)
{
    struct course c;
    struct run_figure f = { .p = p, .course = &c, .run = run, .sections = p->doc->job->r->run[run].sections, .sizes = { .full = full } };
    struct profile_band widest = { .gutter = canvas_text_width("elevation", PAGE_SMALL, false) + 6 };
    int rc = course_open(&c, p->doc->job, run);
    f.sizes.gutter = gutter_of(&p->style, &widest);
    size_t columns = profile_band_most(plot_width(p, &f.sizes));
    if (rc == 0)
        rc = cut_run(&f, (columns - 1) / (f.sections ? 1 : 2));
    if (rc == 0)
        rc = find_several(&f);
    if (rc == 0 && f.stretches > 0) {
        say_run(&f);
        rc = draw_strips(&f);
    }
    free(f.stretch);
    free(f.read_as);
    course_release(&c);
    return rc;
}

/* ---- all of them ---- */

/* True where some run has something to show. */
static bool
has_levels(const struct job *job)
{
    for (size_t i = 0; i < job->legs; i++)
        if (job->leg[i].known)
            return true;
    return false;
}

static int
stakes_by_name(struct row_stakes *s, const struct job *job)
{
    s->first = room_new(job->r->names.n, sizeof *s->first);
    s->next = room_new(job->stakes, sizeof *s->next);
    if (!s->first || !s->next)
        return -1;
    for (size_t i = 0; i < job->r->names.n; i++)
        s->first[i] = JOB_NONE;
    for (uint32_t i = (uint32_t)job->stakes; i-- > 0;) {
        s->next[i] = s->first[job->stake[i].at];
        s->first[job->stake[i].at] = i;
    }
    return 0;
}

/* The first rows: walls and strings come before the ground. */
static int
draw_rows(struct pages *p, double full, const struct rows *rows)
{
    char words[SHEET_WORDS * 2];
    struct row_stakes moves;
    size_t shown = rows->rows < ROWS_MOST ? rows->rows : ROWS_MOST;
    int rc = stakes_by_name(&moves, p->doc->job);
    double height = 0; /* that the row before left to this one */
    for (size_t i = 0; rc == 0 && i < shown && !p->canvas->no_memory; i++) {
        bool pair = false, second = height > 0;
        rc = begin_pair(p, full, rows, i, shown, &moves, &pair);
        if (rc == 0 && !pair && !second && i + 1 < shown)
            rc = height_for_two(p, full, rows, i, &moves, false, &height);
        if (rc == 0)
            rc = pair ? draw_pair(p, full, rows, i, &moves) : draw_row(p, full, rows, i, &moves, height);
        height = second || pair ? 0 : height;
        i += pair;
    }
    snprintf(words, sizeof words, "And %zu more rows; the stake sheet has their elevations.", rows->rows - shown);
    if (shown < rows->rows)
        pages_line(p, small_type, words);
    free(moves.first);
    free(moves.next);
    return rc;
}

/* The last runs. */
static int
draw_runs(struct pages *p, double full)
{
    char words[SHEET_WORDS * 2];
    size_t runs = p->doc->job->r->runs, first = runs < RUNS_MOST ? 0 : runs - RUNS_MOST;
    int rc = 0;
    snprintf(words, sizeof words, "Of %zu runs of levels the last %d are drawn; the field book has all.", runs, RUNS_MOST);
    if (first > 0)
        pages_line(p, small_type, words);
    for (size_t i = first; rc == 0 && i < runs && !p->canvas->no_memory; i++)
        rc = draw_run(p, full, (uint32_t)i);
    return rc;
}

/* Once in a document: the stake sheet has it, where there is one. */
static void
caution(struct pages *p)
{
    if ((p->doc->figures & SHEET_FIGURE_STAKES) && p->doc->job->stakes > 0)
        return;
    static const char words[] = "Levels find no buried services: have them located and marked before any digging. Depths and footings "
                                "follow the local code and the plan.";
    if (p->top + lines_height(p, words) > p->bottom)
        p->top -= AFTER - 1; /* close below the last strip, and not alone on a page */
    pages_line(p, small_type, words);
}

int
figure_profile(struct pages *p)
{
    const struct job *job = p->doc->job;
    struct rows rows;
    int rc = rows_open(&rows, job);
    if (rc == 0 && (rows.rows > 0 || has_levels(job))) {
        pages_turn(p, "Profile");
        double full = p->bottom - p->top;
        rc = draw_rows(p, full, &rows);
        if (rc == 0)
            rc = draw_runs(p, full);
        caution(p);
    }
    rows_release(&rows);
    return rc;
}
