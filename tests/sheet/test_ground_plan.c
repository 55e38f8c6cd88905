/* test_ground_plan.c - the plan: to scale, its lines, every mark with its move, on the page or in its list, nothing over a symbol */
#include "near.h"

#include "../../src/sheet/figures.h"
#include "../../src/sheet/plan_page.h"
#include "../../src/sheet/scale.h"

#include "rodbook/building.h"

#include <stdlib.h>
#include <string.h>

/* ---- a job from its text, and the plan of it ---- */

struct made {
    struct source source;
    struct record record;
    struct job job;
    struct diag diag;
    struct canvas canvas;
};

static void
work(struct made *m, const struct source source)
{
    const struct job_options options = { .stakes = true, .grade_optional = true, .confidence = 0.95 };
    memset(m, 0, sizeof *m);
    m->source = source;
    assert_int_equal(record_read(&m->record, &m->source, &m->diag), 0);
    assert_int_equal(job_building(&m->record, &m->diag), 0);
    if (m->diag.errors > 0)
        fail_msg("%s", m->diag.item[0].text);
    assert_int_equal(job_work(&m->job, &m->record, &options, &m->diag), 0);
    assert_int_equal(m->diag.errors, 0);
}

static void
draw(struct made *m, enum sheet_paper paper, bool landscape, unsigned figures)
{
    struct sheet_document doc = { .figures = figures, .paper = paper, .landscape = landscape, .job = &m->job };
    canvas_release(&m->canvas);
    assert_int_equal(figures_draw(&doc, &m->canvas), 0);
}

static void
done(struct made *m)
{
    canvas_release(&m->canvas);
    job_release(&m->job);
    record_release(&m->record);
    source_close(&m->source);
    diag_release(&m->diag);
}

static void
survey(struct made *m, const char *file)
{
    struct diag d = { 0 };
    struct source s;
    assert_int_equal(source_open(&s, file, &d), 0);
    work(m, s);
}

static void
text_job(struct made *m, const char *text)
{
    work(m, source_of_bytes(text, strlen(text)));
}

/* ---- what stands on a canvas ---- */

struct box {
    double left, top, right, bottom;
};

static struct box
text_box(const struct canvas_mark *t)
{
    double before = t->anchor == CANVAS_MIDDLE ? t->width / 2 : t->anchor == CANVAS_END ? t->width : 0;
    return (struct box){ t->at.x - before, t->at.y - CANVAS_CAPITAL * t->size, t->at.x - before + t->width, t->at.y + CANVAS_DESCENDER * t->size };
}

/* Without the depth that few descenders reach: lines of a paragraph stand that close. */
static struct box
letters(const struct canvas_mark *t)
{
    struct box b = text_box(t);
    b.bottom = t->at.y + 0.15 * t->size;
    return b;
}

static struct box
shape_box(const struct canvas *c, const struct canvas_mark *m)
{
    if (m->kind == CANVAS_CIRCLE)
        return (struct box){ m->at.x - m->size, m->at.y - m->size, m->at.x + m->size, m->at.y + m->size };
    struct box b = { INFINITY, INFINITY, -INFINITY, -INFINITY };
    for (size_t i = 0; i < m->count; i++) {
        const struct canvas_place *p = &c->place[m->first + i];
        b = (struct box){ fmin(b.left, p->x), fmin(b.top, p->y), fmax(b.right, p->x), fmax(b.bottom, p->y) };
    }
    return b;
}

static bool
meet(struct box a, struct box b)
{
    return a.left < b.right - 0.02 && b.left < a.right - 0.02 && a.top < b.bottom - 0.02 && b.top < a.bottom - 0.02;
}

/* Of a group that begins at mark g: the symbol of a mark of the plan, or NULL where it is another group. */
static const struct canvas_mark *
symbol_of(const struct canvas *c, size_t g)
{
    const struct canvas_mark *m = &c->mark[g];
    bool is_mark = m->kind == CANVAS_GROUP && m->more != CANVAS_NO_TEXT && strstr(canvas_words(c, m->more), " at x ");
    return is_mark ? &c->mark[g + 1] : NULL;
}

static void
page_is_clear(const struct canvas *c, const struct canvas_page *p, const char *what)
{
    for (size_t i = p->first; i < p->first + p->marks; i++) {
        const struct canvas_mark *t = &c->mark[i];
        if (t->kind != CANVAS_TEXT || !canvas_words(c, t->text)[0])
            continue;
        struct box a = text_box(t);
        const char *words = canvas_words(c, t->text);
        if (!(a.left >= 30 && a.right <= p->width - 30 && a.top >= 30 && a.bottom <= p->height - 30))
            fail_msg("%s: \"%s\" leaves the page", what, words);
        for (size_t k = p->first; k < p->first + p->marks; k++) {
            const struct canvas_mark *symbol = symbol_of(c, k), *other = &c->mark[k];
            if (symbol && meet(a, shape_box(c, symbol)))
                fail_msg("%s: \"%s\" stands over the symbol of %s", what, words, canvas_words(c, other->text));
            if (k > i && other->kind == CANVAS_TEXT && canvas_words(c, other->text)[0] && meet(letters(t), letters(other)))
                fail_msg("%s: \"%s\" stands over \"%s\"", what, words, canvas_words(c, other->text));
        }
    }
}

static bool
has_text(const struct canvas *c, const char *words)
{
    for (size_t i = 0; i < c->marks; i++)
        if (c->mark[i].kind == CANVAS_TEXT && strcmp(canvas_words(c, c->mark[i].text), words) == 0)
            return true;
    return false;
}

static size_t
count_text(const struct canvas *c, const char *part)
{
    size_t n = 0;
    for (size_t i = 0; i < c->marks; i++)
        n += c->mark[i].kind == CANVAS_TEXT && strstr(canvas_words(c, c->mark[i].text), part) != NULL;
    return n;
}

/* ---- whose a label is, and what it leaves of the building ---- */

/* What belongs to the mark whose group begins at g. */
struct mark_group {
    const struct canvas_mark *symbol, *name; /* name: NULL for none */
    bool led;
};

static struct mark_group
group_of(const struct canvas *c, size_t g)
{
    struct mark_group found = { .symbol = symbol_of(c, g) };
    for (size_t i = g + 1; found.symbol && c->mark[i].kind != CANVAS_GROUP_END; i++) {
        const struct canvas_mark *m = &c->mark[i];
        if (m->kind == CANVAS_TEXT && !found.name)
            found.name = m;
        found.led |= m->kind == CANVAS_PATH && m->count == 2 && m->pen.ink == CANVAS_GREY && m->pen.width < 0.8;
    }
    return found;
}

static double
apart(struct box a, struct box b)
{
    return hypot(fmax(0, fmax(a.left - b.right, b.left - a.right)), fmax(0, fmax(a.top - b.bottom, b.top - a.bottom)));
}

static struct box
own_square(const struct canvas *c, const struct canvas_mark *symbol)
{
    struct box b = shape_box(c, symbol);
    double half = fmax(b.right - b.left, b.bottom - b.top) / 2, x = (b.left + b.right) / 2, y = (b.top + b.bottom) / 2;
    return (struct box){ x - half, y - half, x + half, y + half };
}

/* The name of each mark is nearer its own symbol than any other, or there is a leader. */
static void
names_are_told_apart(const struct canvas *c, const struct canvas_page *p, const char *what)
{
    for (size_t i = p->first; i < p->first + p->marks; i++) {
        struct mark_group own = group_of(c, i);
        const char *title = own.symbol ? canvas_words(c, c->mark[i].text) : "";
        if (!own.name || own.led || strncmp(canvas_words(c, own.name->text), title, strlen(title)) != 0 || strncmp(title, "set-up", 6) == 0)
            continue; /* a number leads to the list, and a set-up is more than its ring */
        double far = apart(letters(own.name), own_square(c, own.symbol));
        for (size_t k = p->first; k < p->first + p->marks; k++) {
            const struct canvas_mark *other = symbol_of(c, k);
            if (k != i && other && !meet(own_square(c, other), own_square(c, own.symbol)) &&
                apart(letters(own.name), own_square(c, other)) < far - 1.5) /* symbols take a little more than their lines */
                fail_msg("%s: \"%s\" stands nearer %s", what, canvas_words(c, own.name->text), canvas_words(c, c->mark[k].text));
        }
    }
}

static bool
title_is(const struct canvas_mark *m, const struct canvas *c, const char *title)
{
    return m->kind == CANVAS_GROUP && strncmp(canvas_words(c, m->text), title, strlen(title)) == 0;
}

/* Sides of the building are drawn whole, no text stands over one, and nothing white that is wider than a symbol. */
static void
walls_are_whole(const struct canvas *c, const struct canvas_page *p, const char *what)
{
    size_t walls = 0, marks = 0;
    for (size_t i = p->first; i < p->first + p->marks; i++)
        marks += symbol_of(c, i) != NULL;
    if (marks == 0)
        return; /* an overview: numbers of parts */
    for (size_t i = p->first; i < p->first + p->marks; i++) {
        if (!title_is(&c->mark[i], c, "footprint"))
            continue;
        for (size_t w = i + 1; c->mark[w].kind != CANVAS_GROUP_END; w++, walls++) {
            const struct canvas_place *at = &c->place[c->mark[w].first];
            const struct label_line wall = { at[0].x, at[0].y, at[1].x, at[1].y };
            for (size_t k = p->first; k < p->first + p->marks; k++) {
                const struct canvas_mark *m = &c->mark[k];
                bool is_text = m->kind == CANVAS_TEXT && canvas_words(c, m->text)[0], is_white = m->kind == CANVAS_PATH && m->filled && m->fill == CANVAS_WHITE;
                struct box b = is_text ? letters(m) : is_white ? shape_box(c, m) : (struct box){ 0, 0, 0, 0 };
                if (is_text && label_line_meets_box(wall, (struct label_box){ b.left, b.top, b.right, b.bottom }))
                    fail_msg("%s: \"%s\" stands over the footprint", what, canvas_words(c, m->text));
                if (is_white && b.right - b.left > 16 && label_line_meets_box(wall, (struct label_box){ b.left, b.top, b.right, b.bottom }))
                    fail_msg("%s: the footprint is whited out at %.1f %.1f", what, b.left, b.top);
            }
        }
    }
    if (strstr(what, "fernhill"))
        assert_true(walls > 0 && walls % 4 == 0);
}

/* A frame is as high as what is in it, and texts keep 3 mm from it: above and below the outermost there is little left. */
static void
frames_are_full(const struct canvas *c, const struct canvas_page *p, const char *what)
{
    size_t frames = 0;
    for (size_t i = p->first; i < p->first + p->marks; i++) {
        const struct canvas_mark *m = &c->mark[i];
        bool is_frame = m->kind == CANVAS_PATH && m->closed && !m->filled && shape_box(c, m).right - shape_box(c, m).left > p->width - 100;
        struct box f = is_frame ? shape_box(c, m) : (struct box){ 0, 0, 0, 0 };
        double top = f.bottom, bottom = f.top;
        for (size_t k = p->first; is_frame && k < p->first + p->marks; k++) {
            struct box b = c->mark[k].kind == CANVAS_TEXT ? letters(&c->mark[k]) : symbol_of(c, k) ? shape_box(c, symbol_of(c, k)) : f;
            bool inside = b.top > f.top && b.bottom < f.bottom && b.left > f.left;
            top = inside ? fmin(top, b.top) : top;
            bottom = inside ? fmax(bottom, b.bottom) : bottom;
            if (inside && c->mark[k].kind == CANVAS_TEXT && fmin(b.top - f.top, f.bottom - b.bottom) < 6) /* of letters without descenders */
                fail_msg("%s: \"%s\" stands too near the frame", what, canvas_words(c, c->mark[k].text));
        }
        frames += is_frame;
        if (is_frame && !(top - f.top < 60 && f.bottom - bottom < 60))
            fail_msg("%s: a frame from %.0f to %.0f holds what stands from %.0f to %.0f", what, f.top, f.bottom, top, bottom);
    }
    assert_true(frames > 0);
}

/* True where a symbol stands at a place: a line of sight goes on to it. */
static bool
symbol_stands_at(const struct canvas *c, const struct canvas_page *p, struct canvas_place at)
{
    for (size_t i = p->first; i < p->first + p->marks; i++) {
        const struct canvas_mark *m = symbol_of(c, i);
        struct box b = m ? own_square(c, m) : (struct box){ 0, 0, 0, 0 };
        if (at.x > b.left - 5 && at.x < b.right + 5 && at.y > b.top - 5 && at.y < b.bottom + 5)
            return true;
    }
    return false;
}

/* A line of sight that labels break leaves no crumbs, but goes on to its ends. */
static void
sights_leave_no_stubs(const struct canvas *c, const struct canvas_page *p, const char *what)
{
    for (size_t i = p->first; i < p->first + p->marks; i++) {
        if (!title_is(&c->mark[i], c, "lines of sight"))
            continue;
        for (size_t k = i + 1; c->mark[k].kind != CANVAS_GROUP_END; k++) {
            const struct canvas_place *at = &c->place[c->mark[k].first];
            bool ends = symbol_stands_at(c, p, at[0]) || symbol_stands_at(c, p, at[1]);
            if (hypot(at[1].x - at[0].x, at[1].y - at[0].y) < (ends ? 2 : 12))
                fail_msg("%s: a stub of a line of sight at %.0f %.0f", what, at[0].x, at[0].y);
        }
    }
}

/* Each placed stake's name stands somewhere, and so does its move, in whole. */
static void
every_mark_is_there(const struct made *m)
{
    struct sheet_style style = sheet_style_of(&m->record);
    char words[SHEET_WORDS], with_place[SHEET_WORDS * 2];
    for (size_t i = 0; i < m->job.stakes; i++) {
        const struct job_stake *s = &m->job.stake[i];
        if (plan_point(&m->job, s->at) == JOB_NONE)
            continue;
        const char *name = names_text(&m->record.names, s->at);
        snprintf(with_place, sizeof with_place, "%s, x ", name);
        if (!has_text(&m->canvas, name) && count_text(&m->canvas, with_place) == 0)
            fail_msg("%s is nowhere", name);
        sheet_stake_move(words, s, &style);
        if (words[0] && count_text(&m->canvas, words) == 0) /* behind "post" where several stand on one mark */
            fail_msg("%s: %s is nowhere", name, words);
    }
}

static void
both_papers_both_ways(struct made *m, const char *what)
{
    char name[128];
    for (int k = 0; k < 4; k++) {
        draw(m, k & 1 ? SHEET_LETTER : SHEET_A4, k & 2, SHEET_FIGURE_PLAN);
        assert_true(m->canvas.pages > 0);
        every_mark_is_there(m);
        for (size_t i = 0; i < m->canvas.pages; i++) {
            snprintf(name, sizeof name, "%s %s%s page %zu", what, k & 1 ? "letter" : "a4", k & 2 ? " landscape" : "", i + 1);
            page_is_clear(&m->canvas, &m->canvas.page[i], name);
            names_are_told_apart(&m->canvas, &m->canvas.page[i], name);
            walls_are_whole(&m->canvas, &m->canvas.page[i], name);
        }
    }
}

static void
nothing_over_anything_on_the_demo_jobs(void **state)
{
    static const char *const files[] = { "surveys/fernhill.yaml", "surveys/mill-lane.yaml", "surveys/quay-nursery.yaml" };
    (void)state;
    for (size_t i = 0; i < 3; i++) {
        struct made m;
        survey(&m, files[i]);
        both_papers_both_ways(&m, files[i]);
        for (int k = 0; k < 4; k++) {
            draw(&m, k & 1 ? SHEET_LETTER : SHEET_A4, k & 2, SHEET_FIGURE_PLAN);
            assert_int_equal(count_text(&m.canvas, "Scale "), 2); /* a plan a grade, with all its notes and its list: two pages at most */
            assert_int_equal(m.canvas.pages, i > 0 && !(k & 2) ? 1 : 2);
            for (size_t g = 0; g < m.canvas.pages; g++) {
                frames_are_full(&m.canvas, &m.canvas.page[g], files[i]);
                sights_leave_no_stubs(&m.canvas, &m.canvas.page[g], files[i]);
            }
        }
        done(&m);
    }
}

/* ---- crowds ---- */

static double
chance(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return (double)(*seed >> 40) / (double)(1 << 24);
}

/* n marks by chance on `wide` by `high` metres; some not read. The caller frees it. */
static char *
crowd(size_t n, double wide, double high, uint64_t seed)
{
    static const char *const kinds[] = { "batten", "post", "ground", "footing", "corner", "post" };
    char *text = NULL;
    size_t bytes = 0;
    FILE *f = open_memstream(&text, &bytes);
    assert_non_null(f);
    fputs("---\njob: A crowd\nunit: m\nleast: 0.001\n---\nmarks:\n  BM1: {elevation: 50.000}\n---\npoints:\n", f);
    for (size_t i = 0; i < n; i++)
        fprintf(f, "  Q%zu: {x: %.3f, y: %.3f, kind: %s}\n", i, wide * chance(&seed), high * chance(&seed), kinds[i % 6]);
    fputs("---\ngrade: {name: g, means: finish, level: 49, tolerance: 5 mm}\n---\nlevels:\n  date: 2026-05-02\n  readings:\n"
          "    - {at: BM1, bs: 1.5}\n", f);
    for (size_t i = 0; i < n; i++)
        if (i % 13 != 4)
            fprintf(f, "    - {at: Q%zu, is: %.3f}\n", i, 2.2 + 0.6 * chance(&seed));
    fputs("    - {at: BM1, fs: 1.501}\nby: RO\ntime: 2026-05-02T09:00:00Z\n", f);
    assert_int_equal(fclose(f), 0);
    return text;
}

/* The plan of the whole comes first, and has the number of every part that follows. */
static void
parts_are_numbered(const struct canvas *c)
{
    size_t parts = 0, numbers = 0;
    char words[32];
    for (size_t i = 0; i < c->marks; i++)
        if (c->mark[i].kind == CANVAS_TEXT)
            (void)sscanf(canvas_words(c, c->mark[i].text), "%*u marks, drawn in %zu parts", &parts);
    assert_in_range(parts, 2, 100);
    for (size_t n = 1; n <= parts; n++) {
        snprintf(words, sizeof words, "%zu", n);
        for (size_t i = c->page[0].first; i < c->page[0].first + c->page[0].marks; i++)
            numbers += c->mark[i].kind == CANVAS_TEXT && c->mark[i].bold && strcmp(canvas_words(c, c->mark[i].text), words) == 0;
    }
    assert_int_equal(numbers, parts);
}

static void
two_hundred_marks_by_chance(void **state)
{
    static const double sizes[][2] = { { 40, 30 }, { 100, 4 }, { 6, 60 }, { 400, 300 } };
    (void)state;
    for (uint64_t i = 0; i < 4; i++) {
        char *text = crowd(200, sizes[i][0], sizes[i][1], 31 * i + 5);
        struct made m;
    text_job(&m, text);
        both_papers_both_ways(&m, "200 by chance");
        parts_are_numbered(&m.canvas);
        assert_true(count_text(&m.canvas, "drawn in ") == 1); /* in parts, so that they can be read */
        done(&m);
        free(text);
    }
}

/* Marks a hand's breadth apart, in heaps far from each other: parts are smaller than their numbers. */
static void
heaps_of_marks(void **state)
{
    char *text = NULL;
    size_t n = 0;
    struct made m;
    FILE *f = open_memstream(&text, &n);
    assert_non_null(f);
    fputs("job: heaps\nunit: m\nleast: 0.001\n---\nmarks:\n  BM1: {elevation: 3.007}\n---\npoints:\n", f);
    for (int i = 0; i < 200; i++)
        fprintf(f, "  Q%d: {x: %.2f, y: %.2f, kind: batten}\n", i, i / 20 * 7 % 31 + 0.05 * (i % 5), i / 20 * 11 % 23 + 0.05 * (i % 20 / 5));
    fputs("---\ngrade: {name: sill, means: finish, level: 2.35, tolerance: 0.002}\n---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.501}\n", f);
    for (int i = 0; i < 200; i++)
        fprintf(f, "    - {at: Q%d, on: batten, is: %.3f}\n", i, 2.2 + 0.002 * (i * 37 % 200));
    fputs("    - {at: BM1, fs: 1.501}\n", f);
    assert_int_equal(fclose(f), 0);
    text_job(&m, text);
    (void)state;
    both_papers_both_ways(&m, "heaps");
    parts_are_numbered(&m.canvas);
    done(&m);
    free(text);
}

/* All of them on one spot: no drawing helps, and the list says everything, places too. */
static void
marks_on_one_spot(void **state)
{
    char *text = crowd(40, 0, 0, 7);
    struct made m;
    text_job(&m, text);
    (void)state;
    both_papers_both_ways(&m, "one spot");
    assert_true(count_text(&m.canvas, ", x 0.000, y 0.000") > 10);
    done(&m);
    free(text);
}

/* ---- to scale ---- */

/* Where the symbol of a mark stands on a page. */
static bool
symbol_at(const struct canvas *c, size_t page, const char *name, double *x, double *y)
{
    const struct canvas_page *p = &c->page[page];
    for (size_t i = p->first; i < p->first + p->marks; i++)
        if (symbol_of(c, i) && strcmp(canvas_words(c, c->mark[i].text), name) == 0) {
            struct box b = shape_box(c, symbol_of(c, i));
            *x = (b.left + b.right) / 2;
            *y = (b.top + b.bottom) / 2;
            return true;
        }
    return false;
}

static void
places_are_to_scale(void **state)
{
    struct made m;
    survey(&m, "surveys/fernhill.yaml");
    double ax, ay, bx, by;
    const double foot = 72.0 * 12 / 64; /* points, at 3/16 in to the foot */
    (void)state;
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    assert_int_equal(count_text(&m.canvas, "Scale 3/16 in = 1 ft (1:64)"), 2);
    assert_true(symbol_at(&m.canvas, 0, "SW", &ax, &ay) && symbol_at(&m.canvas, 0, "NE", &bx, &by));
    assert_near(bx - ax, 24 * foot, 1e-6);
    assert_near(ay - by, 12 * foot, 1e-6); /* y grows up the page */
    assert_true(symbol_at(&m.canvas, 0, "SW1", &bx, &by));
    assert_near(ax - bx, 4 * foot, 1e-6);
    done(&m);
    survey(&m, "surveys/quay-nursery.yaml");
    draw(&m, SHEET_A4, true, SHEET_FIGURE_PLAN);
    assert_true(count_text(&m.canvas, "Scale 1:200") > 0);
    assert_true(symbol_at(&m.canvas, 0, "H1", &ax, &ay) && symbol_at(&m.canvas, 0, "H4", &bx, &by));
    assert_near(bx - ax, 36 * 72 / 0.0254 / 200, 1e-6);
    assert_near(ay - by, 8.6 * 72 / 0.0254 / 200, 1e-6);
    done(&m);
}

/* Where the record gives their size, and that can be seen. */
static void
posts_are_drawn_to_their_size(void **state)
{
    struct made m;
    struct page_words words;
    struct plan_view v;
    struct box b = { 0, 0, 0, 0 };
    (void)state;
    survey(&m, "surveys/fernhill.yaml");
    struct sheet_document doc = { .figures = SHEET_FIGURE_PLAN, .job = &m.job };
    assert_int_equal(page_words_open(&words, &doc), 0);
    struct pages p = pages_begin(&m.canvas, &doc, &words);
    uint32_t *none = malloc(m.record.names.n * sizeof *none), number = 0;
    bool own = true, listed = false;
    assert_non_null(none);
    memset(none, 0xff, m.record.names.n * sizeof *none); /* JOB_NONE */
    const struct plan_span span = { 0, 0, 24 * LENGTH_FT, 12 * LENGTH_FT };
    const struct label_box window = { 40, 100, 555, 700 };
    struct plan_mark mark = { .point = 0 };
    while (m.record.point[mark.point].kind != RECORD_POINT_POST)
        mark.point++;
    mark.name = m.record.point[mark.point].name;
    for (int small = 0; small < 2; small++) {
        struct ground_plan plan = { .p = &p, .job = &m.job, .mark = &mark, .marks = 1, .first_stake = none, .own = &own, .number = &number,
            .listed = &listed, .lines = { .post_along = small ? LENGTH_IN : LENGTH_FT, .post_across = LENGTH_FT / 2 } };
        pages_turn(&p, "Plan");
        assert_int_equal(plan_view_open(&v, &plan, &span, &window, 1), 0);
        plan_view_number(&v, &plan);
        plan_view_draw(&v, &plan);
        bool found = false;
        const struct canvas_page *page = &m.canvas.page[small];
        for (size_t i = page->first; !found && i < page->first + page->marks; i++)
            if (symbol_of(&m.canvas, i)) {
                b = shape_box(&m.canvas, symbol_of(&m.canvas, i));
                found = true;
            }
        assert_true(found);
        assert_near(b.right - b.left, small ? b.bottom - b.top : (double)LENGTH_FT * v.scale.points, 1e-9);
        assert_near(b.bottom - b.top, small ? 5.4 : (double)LENGTH_FT / 2 * v.scale.points, 1e-9); /* else the symbol */
        plan_view_release(&v);
    }
    free(none);
    page_words_release(&words);
    done(&m);
}

static void
scales_are_usual_ones(void **state)
{
    (void)state;
    struct scale s = scale_choose(LENGTH_BARE_M, 10 * LENGTH_M, LENGTH_M, 500, 500); /* 56.7 would do */
    assert_string_equal(s.words, "1:100");
    assert_near(s.points * (double)LENGTH_M, 72 / 0.0254 / 100, 1e-9);
    assert_string_equal(scale_choose(LENGTH_BARE_M, 0, 0, 500, 500).words, "1:10");
    assert_string_equal(scale_choose(LENGTH_BARE_M, 0, 60 * LENGTH_M, 500, 500).words, "1:500"); /* 340 */
    assert_string_equal(scale_choose(LENGTH_BARE_M, 3 * LENGTH_KM, 0, 500, 500).words, "1:20000"); /* 17007 */
    assert_string_equal(scale_choose(LENGTH_BARE_FT, 0, 0, 500, 500).words, "1 in = 1 ft (1:12)");
    assert_string_equal(scale_choose(LENGTH_BARE_FT_IN, 24 * LENGTH_FT, 0, 500, 500).words, "1/4 in = 1 ft (1:48)"); /* 41.5 */
    assert_string_equal(scale_choose(LENGTH_BARE_FT, 110 * LENGTH_FT, 0, 500, 500).words, "1/16 in = 1 ft (1:192)"); /* 190 */
    assert_string_equal(scale_choose(LENGTH_BARE_FT, 180 * LENGTH_FT, 0, 500, 500).words, "1 in = 30 ft (1:360)"); /* 311 */
    assert_string_equal(scale_choose(LENGTH_BARE_FT, 5000 * LENGTH_FT, 0, 500, 500).words, "1 in = 1000 ft (1:12000)"); /* 8640 */
}

/* ---- lines ---- */

static size_t
count_lines(const struct plan_lines *l, enum plan_line_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < l->lines; i++)
        n += l->line[i].kind == kind;
    return n;
}

static bool
has_line(const struct made *m, const struct plan_lines *l, enum plan_line_kind kind, const char *from, const char *to)
{
    for (size_t i = 0; i < l->lines; i++) {
        const char *a = names_text(&m->record.names, l->line[i].from_name), *b = names_text(&m->record.names, l->line[i].to_name);
        if (l->line[i].kind == kind && ((strcmp(a, from) == 0 && strcmp(b, to) == 0) || (strcmp(a, to) == 0 && strcmp(b, from) == 0)))
            return true;
    }
    return false;
}

/* Battens and posts by their places alone, no building set out. */
static const char placed[] = "---\njob: House\nunit: ft\nleast: 0.01\n---\nmarks:\n  BM1: {elevation: 100}\n---\npoints:\n"
    "  SW1: {x: -4, y: -0.5, kind: batten}\n  SW2: {x: -0.5, y: -4, kind: batten}\n  SE1: {x: 28, y: -0.5, kind: batten}\n"
    "  SE2: {x: 24.5, y: -4, kind: batten}\n  NE1: {x: 28, y: 12.5, kind: batten}\n  NE2: {x: 24.5, y: 16, kind: batten}\n"
    "  NW1: {x: -4, y: 12.5, kind: batten}\n  NW2: {x: -0.5, y: 16, kind: batten}\n  A1: {x: 0, y: 0, kind: post}\n"
    "  A2: {x: 6, y: 0, kind: post}\n  A5: {x: 24, y: 0, kind: post}\n  B1: {x: 0, y: 12, kind: post}\n  B5: {x: 24, y: 12, kind: post}\n";

static void
strings_run_between_facing_battens(void **state)
{
    struct plan_lines l;
    struct made m;
    (void)state;
    text_job(&m, placed);
    assert_int_equal(plan_lines_of(&m.job, &l), 0);
    assert_int_equal(count_lines(&l, PLAN_STRING), 4); /* and not SW1 to NW1, along which no string runs */
    assert_true(has_line(&m, &l, PLAN_STRING, "SW1", "SE1") && has_line(&m, &l, PLAN_STRING, "NW1", "NE1"));
    assert_true(has_line(&m, &l, PLAN_STRING, "SW2", "NW2") && has_line(&m, &l, PLAN_STRING, "SE2", "NE2"));
    assert_int_equal(count_lines(&l, PLAN_POSTS), 4);
    assert_true(has_line(&m, &l, PLAN_POSTS, "A1", "A5")); /* past those between them */
    assert_true(has_line(&m, &l, PLAN_DIAGONAL, "A1", "B5"));
    assert_int_equal(l.post_along, 0);
    plan_lines_release(&l);
    done(&m);
    survey(&m, "surveys/mill-lane.yaml");
    assert_int_equal(plan_lines_of(&m.job, &l), 0);
    assert_int_equal(count_lines(&l, PLAN_STRING), 3);
    assert_true(has_line(&m, &l, PLAN_STRING, "B1", "B4") && has_line(&m, &l, PLAN_STRING, "B2", "N1") && has_line(&m, &l, PLAN_STRING, "B3", "N2"));
    assert_int_equal(count_lines(&l, PLAN_POSTS), 1); /* all in one line */
    assert_int_equal(count_lines(&l, PLAN_DIAGONAL), 0);
    plan_lines_release(&l);
    done(&m);
    survey(&m, "surveys/quay-nursery.yaml"); /* four battens in a rectangle: either pair might be it */
    assert_int_equal(plan_lines_of(&m.job, &l), 0);
    assert_int_equal(count_lines(&l, PLAN_STRING), 0);
    plan_lines_release(&l);
    done(&m);
}

/* As a building that is set out gives its points: corners, battens, where strings cross. */
static const char house[] = "---\njob: House\nunit: ft-in\nleast: 1/16 in\n---\nmarks:\n  BM1: {elevation: 100 ft}\n---\npoints:\n"
    "  SW: {x: 0 ft, y: 0 ft, kind: corner}\n  SE: {x: 24 ft, y: 0 ft, kind: corner}\n  NE: {x: 24 ft, y: 16 ft, kind: corner}\n"
    "  NW: {x: 0 ft, y: 16 ft, kind: corner}\n"
    "  SW1: {x: -4 ft, y: -2 in, kind: batten}\n  SE1: {x: 28 ft, y: -2 in, kind: batten}\n"
    "  NW1: {x: -4 ft, y: 16 ft 2 in, kind: batten}\n  NE1: {x: 28 ft, y: 16 ft 2 in, kind: batten}\n"
    "  SW2: {x: -2 in, y: -4 ft, kind: batten}\n  NW2: {x: -2 in, y: 20 ft, kind: batten}\n"
    "  SE2: {x: 24 ft 2 in, y: -4 ft, kind: batten}\n  NE2: {x: 24 ft 2 in, y: 20 ft, kind: batten}\n"
    "  SW string: {x: -2 in, y: -2 in}\n  SE string: {x: 24 ft 2 in, y: -2 in}\n"
    "  NE string: {x: 24 ft 2 in, y: 16 ft 2 in}\n  NW string: {x: -2 in, y: 16 ft 2 in}\n"
    "---\ngrade: {name: g, means: finish, for: batten, level: 101 ft, tolerance: 1/8 in}\n";

static void
a_building_set_out(void **state)
{
    struct plan_lines l;
    struct made m;
    text_job(&m, house);
    (void)state;
    assert_int_equal(plan_lines_of(&m.job, &l), 0);
    assert_int_equal(count_lines(&l, PLAN_FOOTPRINT), 4);
    assert_int_equal(count_lines(&l, PLAN_STRING), 4);
    assert_true(has_line(&m, &l, PLAN_STRING, "SW1", "SE1") && has_line(&m, &l, PLAN_STRING, "SW2", "NW2"));
    assert_int_equal(count_lines(&l, PLAN_DIAGONAL), 2);
    assert_true(has_line(&m, &l, PLAN_DIAGONAL, "SW string", "NE string"));
    plan_lines_release(&l);
    both_papers_both_ways(&m, "house");
    assert_int_equal(count_text(&m.canvas, "29' 3-11/16\""), 2); /* the root of 292^2 + 196^2 is 351.68 in */
    done(&m);
}

/* A site entry has strings of its own, inside too, and the size of its posts; they go to where a points entry put the battens. */
static void
strings_of_a_site_entry(void **state)
{
    struct plan_lines l;
    struct made m;
    (void)state;
    survey(&m, "surveys/fernhill.yaml");
    assert_int_equal(plan_lines_of(&m.job, &l), 0);
    assert_int_equal(count_lines(&l, PLAN_FOOTPRINT), 4);
    assert_int_equal(count_lines(&l, PLAN_STRING), 4);
    assert_true(has_line(&m, &l, PLAN_STRING, "SW1", "SE1") && has_line(&m, &l, PLAN_STRING, "NW1", "NE1"));
    assert_true(has_line(&m, &l, PLAN_STRING, "SW2", "NW2") && has_line(&m, &l, PLAN_STRING, "SE2", "NE2"));
    assert_true(has_line(&m, &l, PLAN_DIAGONAL, "SW string", "NE string"));
    assert_same(l.post_along, LENGTH_IN * 11 / 2);
    plan_lines_release(&l);
    done(&m);
    text_job(&m, "---\njob: Hall\nunit: m\nleast: 0.001\n---\nmarks:\n  BM1: {elevation: 50}\n---\nsite:\n  length: 20\n  width: 12\n"
        "  post: 0.2\n  corners: [SW, SE, NE, NW]\n  rows:\n    A: {wall: front, spacing: 5}\n    B: {wall: back, spacing: 5}\n"
        "    R: {in: 6, spacing: 10}\n---\npoints:\n  SW1: {x: -1.5, y: 0.1, kind: batten}\n");
    assert_int_equal(plan_lines_of(&m.job, &l), 0);
    assert_int_equal(count_lines(&l, PLAN_STRING), 5);
    size_t moved = 0, inside = 0;
    for (size_t i = 0; i < l.lines; i++) {
        inside += l.line[i].kind == PLAN_STRING && l.line[i].to_name == RECORD_NONE && strcmp(names_text(&m.record.names, l.line[i].from_name), "R") == 0;
        moved += l.line[i].kind == PLAN_STRING && l.line[i].from.x == -3 * LENGTH_M / 2 && l.line[i].from.y == LENGTH_M / 10;
    }
    assert_int_equal(inside, 1);
    assert_int_equal(moved, 1);
    plan_lines_release(&l);
    both_papers_both_ways(&m, "hall");
    done(&m);
}

/* Corners in the order of a notched building stay so; a list that crosses itself gives the hull. */
static void
footprints_follow_the_record(void **state)
{
    struct plan_lines l;
    static const char head[] = "---\njob: Notch\nunit: m\nleast: 0.001\n---\nmarks:\n  BM1: {elevation: 50}\n---\npoints:\n";
    char text[1024];
    (void)state;
    snprintf(text, sizeof text, "%s  a: {x: 0, y: 0, kind: corner}\n  b: {x: 10, y: 0, kind: corner}\n  c: {x: 10, y: 4, kind: corner}\n"
        "  d: {x: 4, y: 4, kind: corner}\n  e: {x: 4, y: 8, kind: corner}\n  f: {x: 0, y: 8, kind: corner}\n", head);
    struct made m;
    text_job(&m, text);
    assert_int_equal(plan_lines_of(&m.job, &l), 0);
    assert_int_equal(count_lines(&l, PLAN_FOOTPRINT), 6);
    assert_true(has_line(&m, &l, PLAN_FOOTPRINT, "c", "d") && has_line(&m, &l, PLAN_FOOTPRINT, "f", "a"));
    assert_int_equal(count_lines(&l, PLAN_DIAGONAL), 0);
    plan_lines_release(&l);
    done(&m);
    snprintf(text, sizeof text, "%s  a: {x: 0, y: 0, kind: corner}\n  c: {x: 10, y: 4, kind: corner}\n  b: {x: 10, y: 0, kind: corner}\n"
        "  d: {x: 0, y: 4, kind: corner}\n", head);
    text_job(&m, text);
    assert_int_equal(plan_lines_of(&m.job, &l), 0);
    assert_true(has_line(&m, &l, PLAN_FOOTPRINT, "a", "b") && !has_line(&m, &l, PLAN_FOOTPRINT, "a", "c"));
    assert_true(has_line(&m, &l, PLAN_DIAGONAL, "a", "c"));
    plan_lines_release(&l);
    done(&m);
}

/* ---- north, set-ups and lines of sight ---- */

/* The first group of that title on a page, or SIZE_MAX. */
static size_t
group_on(const struct canvas *c, size_t page, const char *title)
{
    const struct canvas_page *p = &c->page[page];
    for (size_t i = p->first; i < p->first + p->marks; i++)
        if (c->mark[i].kind == CANVAS_GROUP && strcmp(canvas_words(c, c->mark[i].text), title) == 0)
            return i;
    return SIZE_MAX;
}

/* Lines from a group's beginning up to its end; pieces of one, between labels, have one direction. */
static size_t
lines_in(const struct canvas *c, size_t group)
{
    size_t n = 0;
    double last = NAN;
    for (size_t i = group + 1; c->mark[i].kind != CANVAS_GROUP_END; i++) {
        const struct canvas_place *at = &c->place[c->mark[i].first];
        double direction = atan2(at[1].y - at[0].y, at[1].x - at[0].x);
        n += !(fabs(direction - last) < 1e-6);
        last = direction;
    }
    return n;
}

/* A house of 10 by 6 m; the rest of its site entry and what follows is for the caller. */
static void
north_job(struct made *m, const char *north, const char *points)
{
    char text[2048];
    snprintf(text, sizeof text, "---\njob: North\nunit: m\nleast: 0.001\n---\nmarks:\n  BM1: {elevation: 50}\n---\nsite:\n  length: 10\n"
        "  width: 6\n  post: 0.1\n  corners: [SW, SE, NE, NW]\n  rows:\n    A: {wall: front, spacing: 5}\n%s---\npoints:\n  BM1: {x: -1, y: 2}\n%s---\n"
        "grade: {name: g, means: finish, for: post, level: 49, tolerance: 5 mm}\n---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.5}\n"
        "    - {at: A1, on: post, is: 2.48}\n    - {at: A2, on: post, is: 2.532}\n    - {at: TP, fs: 1.4, bs: 1.6}\n"
        "    - {at: A2, on: post, is: 2.731}\n    - {at: A3, on: post, is: 2.731}\n    - {at: BM1, fs: 1.7}\n", north, points);
    text_job(m, text);
}

static void
north_points_where_the_record_says(void **state)
{
    static const double bearings[] = { 0, 24, 90, 200.5, 359 };
    (void)state;
    for (size_t k = 0; k < sizeof bearings / sizeof bearings[0]; k++) {
        struct made m;
        char north[40], words[80];
        snprintf(north, sizeof north, "  north: %g deg\n", bearings[k]);
        snprintf(words, sizeof words, "north, %g deg clockwise from y", bearings[k]);
        north_job(&m, north, "");
        assert_true(m.record.site[0].has_north);
        both_papers_both_ways(&m, "north");
        size_t g = group_on(&m.canvas, 0, "north arrow");
        assert_true(g != SIZE_MAX && m.canvas.mark[g + 1].count == 2);
        assert_string_equal(canvas_words(&m.canvas, m.canvas.mark[g].more), words);
        const struct canvas_place *shaft = &m.canvas.place[m.canvas.mark[g + 1].first];
        double east = shaft[1].x - shaft[0].x, up = shaft[0].y - shaft[1].y, a = bearings[k] * 3.14159265358979323846 / 180;
        assert_near(east / hypot(east, up), sin(a), 1e-9); /* clockwise from y, as seen from above */
        assert_near(up / hypot(east, up), cos(a), 1e-9);
        assert_int_equal(count_text(&m.canvas, words), 1);
        done(&m);
    }
    struct made m;
    north_job(&m, "", "");
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    assert_true(group_on(&m.canvas, 0, "north arrow") == SIZE_MAX);
    assert_int_equal(count_text(&m.canvas, "north"), 1);
    assert_true(has_text(&m.canvas, "north not recorded"));
    done(&m);
}

/* Nothing stands in the arrow's square, wherever the marks are. */
static void
nothing_stands_in_the_arrow(void **state)
{
    static const double sizes[][2] = { { 40, 30 }, { 100, 4 }, { 6, 60 } };
    (void)state;
    for (uint64_t i = 0; i < 6; i++) {
        char *text = crowd(i < 3 ? 40 : 200, sizes[i % 3][0], sizes[i % 3][1], 17 * i + 3), *whole;
        size_t bytes = 0;
        FILE *f = open_memstream(&whole, &bytes);
        assert_non_null(f);
        fprintf(f, "%s---\nsite: {length: 6, width: 4, post: 0.1, north: %d deg}\n---\npoints:\n  set-up 5.1: {x: 3, y: 3}\n", text, (int)i * 61);
        assert_int_equal(fclose(f), 0);
        struct made m;
        text_job(&m, whole);
        both_papers_both_ways(&m, "crowd with north");
        assert_true(group_on(&m.canvas, 0, "north arrow") != SIZE_MAX);
        done(&m);
        free(whole);
        free(text);
    }
}

static void
lines_of_sight_come_from_the_last_set_up(void **state)
{
    struct made m;
    double ax, ay, bx, by;
    (void)state;
    north_job(&m, "", "  set-up 6.1: {x: 2, y: -2}\n  set-up 6.2: {x: 8, y: 8, note: paced}\n");
    assert_int_equal(m.diag.warnings, 0);
    both_papers_both_ways(&m, "set-ups");
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    size_t one = group_on(&m.canvas, 0, "lines of sight from set-up 6.1"), two = group_on(&m.canvas, 0, "lines of sight from set-up 6.2");
    assert_true(one != SIZE_MAX && two != SIZE_MAX);
    assert_int_equal(lines_in(&m.canvas, one), 2); /* BM1, A1; A2 was read again from 6.2 */
    assert_int_equal(lines_in(&m.canvas, two), 3); /* A2, A3, BM1 */
    assert_true(two < group_on(&m.canvas, 0, "footprint")); /* under everything else */
    assert_true(symbol_at(&m.canvas, 0, "SW", &ax, &ay) && symbol_at(&m.canvas, 0, "set-up 6.1", &bx, &by));
    assert_near((bx - ax) / (by - ay), 1, 1e-6);
    assert_true(has_text(&m.canvas, "set-up 6.1") && has_text(&m.canvas, "set-up 6.2") && has_text(&m.canvas, "instrument"));
    assert_int_equal(count_text(&m.canvas, "Last read from"), 0);
    for (size_t i = 0; i < m.job.stakes; i++)
        assert_true(strncmp(names_text(&m.record.names, m.job.stake[i].at), "set-up", 6) != 0);
    done(&m);
    north_job(&m, "", "  set-up 6.1: {x: 2, y: -2}\n"); /* the other one is told in words */
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    assert_int_equal(count_text(&m.canvas, "Last read from 6.2: A2, A3"), 1);
    assert_true(group_on(&m.canvas, 0, "lines of sight from set-up 6.2") == SIZE_MAX);
    done(&m);
    north_job(&m, "", "  set-up 6.1: {x: 2, y: -200}\n  set-up 6.2: {x: 8, y: 8}\n  set-up 9.1: {x: 0, y: 0}\n");
    assert_int_equal(m.diag.warnings, 1); /* 9.1 */
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    assert_int_equal(count_text(&m.canvas, "Set-ups off this drawing: 6.1 at x 2.000, y -200.000, from which were last read A1"), 1);
    assert_true(!has_text(&m.canvas, "set-up 6.1") && !has_text(&m.canvas, "set-up 9.1"));
    done(&m);
}

/* ---- the key ---- */

/* The key has what is drawn, in words that say what it is, and nothing else. */
static void
the_key_has_what_is_drawn(void **state)
{
    struct made m;
    (void)state;
    survey(&m, "surveys/mill-lane.yaml");
    draw(&m, SHEET_A4, true, SHEET_FIGURE_PLAN);
    assert_int_equal(count_text(&m.canvas, "line round the outer posts"), 0); /* it lies under a string */
    assert_int_equal(count_text(&m.canvas, "no move is"), 0);
    assert_int_equal(count_text(&m.canvas, "north not recorded"), 2);
    done(&m);
    survey(&m, "surveys/fernhill.yaml");
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    assert_int_equal(count_text(&m.canvas, "where strings cross; corner of posts"), 2);
    assert_false(has_text(&m.canvas, "point"));
    assert_int_equal(count_text(&m.canvas, "mark of another plan"), 2);
    assert_int_equal(count_text(&m.canvas, "named where there is room"), 0); /* all are */
    done(&m);
    text_job(&m, "---\njob: Two\nunit: m\nleast: 0.001\n---\nmarks:\n  BM1: {elevation: 50}\n---\npoints:\n  P: {x: 0, y: 0, kind: post}\n"
        "  R: {x: 5, y: 4, kind: ground}\n---\ngrade: {name: g, means: finish, for: post, level: 49, tolerance: 5 mm}\n---\n"
        "grade: {name: h, means: subgrade, for: ground, level: 48, tolerance: 5 mm}\n---\nlevels:\n  readings:\n"
        "    - {at: BM1, bs: 1.5}\n    - {at: P, on: post, is: 2.3}\n    - {at: BM1, fs: 1.5}\n");
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    assert_int_equal(count_text(&m.canvas, "no move is known"), 1); /* R was not read */
    assert_int_equal(count_text(&m.canvas, "lower"), 1);
    assert_int_equal(count_text(&m.canvas, "raise") + count_text(&m.canvas, "leave"), 0);
    done(&m);
}

/* Every corner of the building has its name, if need be with a leader; posts in one line have no line round them. */
static void
corners_are_named(void **state)
{
    static const char *const corners[] = { "SW", "SE", "NE", "NW" };
    struct made m;
    (void)state;
    for (int k = 0; k < 4; k++) {
        survey(&m, "surveys/fernhill.yaml");
        draw(&m, k & 1 ? SHEET_LETTER : SHEET_A4, k & 2, SHEET_FIGURE_PLAN);
        for (size_t i = 0; i < 8; i++) {
            const struct canvas_page *p = &m.canvas.page[i / 4];
            size_t named = 0;
            for (size_t j = p->first; j < p->first + p->marks; j++)
                named += m.canvas.mark[j].kind == CANVAS_TEXT && strcmp(canvas_words(&m.canvas, m.canvas.mark[j].text), corners[i % 4]) == 0;
            if (named != 1)
                fail_msg("way %d, page %zu: %s is named %zu times", k, i / 4 + 1, corners[i % 4], named);
        }
        done(&m);
        survey(&m, "surveys/quay-nursery.yaml");
        draw(&m, k & 1 ? SHEET_LETTER : SHEET_A4, k & 2, SHEET_FIGURE_PLAN);
        assert_true(count_text(&m.canvas, "line of the posts") > 0);
        assert_int_equal(count_text(&m.canvas, "line round the outer posts"), 0);
        done(&m);
    }
}

/* Whatever the paper, no move begins beside another mark, on its level. */
static void
moves_are_not_read_at_another(void **state)
{
    static const char *const surveys[] = { "surveys/mill-lane.yaml", "surveys/fernhill.yaml", "surveys/quay-nursery.yaml" };
    (void)state;
    for (size_t k = 0; k < 12; k++) {
        struct made m;
        survey(&m, surveys[k / 4]);
        draw(&m, k & 1 ? SHEET_LETTER : SHEET_A4, k & 2, SHEET_FIGURE_PLAN);
        for (size_t page = 0; page < m.canvas.pages; page++) {
            const struct canvas_page *p = &m.canvas.page[page];
            for (size_t i = p->first, own = p->first; i < p->first + p->marks; i++) {
                const struct canvas_mark *t = &m.canvas.mark[i];
                const char *words = t->kind == CANVAS_TEXT ? canvas_words(&m.canvas, t->text) : "";
                own = symbol_of(&m.canvas, i) ? i : own;
                bool move = t->kind == CANVAS_TEXT && (strncmp(words, "down ", 5) == 0 || strncmp(words, "up ", 3) == 0);
                for (size_t j = p->first; move && j < p->first + p->marks; j++) {
                    const struct canvas_mark *o = symbol_of(&m.canvas, j);
                    struct box a = letters(t), b = o ? own_square(&m.canvas, o) : a;
                    double gap = a.left - 12 - b.right; /* its arrow stands before it */
                    if (o && j != own && gap > -3 && gap < 16 && b.top < a.bottom && b.bottom > a.top)
                        fail_msg("%s, way %zu: \"%s\" begins beside %s", surveys[k / 4], k % 4, words, canvas_words(&m.canvas, m.canvas.mark[j].text));
                }
            }
        }
        done(&m);
    }
}

/* Which benchmarks have no place is said once on a page, below all that is drawn there. */
static void
benchmarks_without_a_place_end_the_page(void **state)
{
    struct made m;
    (void)state;
    survey(&m, "surveys/mill-lane.yaml");
    draw(&m, SHEET_LETTER, false, SHEET_FIGURE_PLAN);
    assert_int_equal(m.canvas.pages, 1);
    assert_int_equal(count_text(&m.canvas, "Benchmarks not placed"), 1);
    double note = 0, least = 0;
    for (size_t i = 0; i < m.canvas.marks; i++) {
        const struct canvas_mark *t = &m.canvas.mark[i];
        const char *words = t->kind == CANVAS_TEXT ? canvas_words(&m.canvas, t->text) : "";
        note = strstr(words, "Benchmarks not placed") ? letters(t).top : note;
        least = strstr(words, "Set-ups without a place") ? fmax(least, letters(t).bottom) : least;
    }
    assert_true(note > least && least > 400); /* below the second of two */
    done(&m);
    survey(&m, "surveys/mill-lane.yaml");
    draw(&m, SHEET_A4, true, SHEET_FIGURE_PLAN);
    assert_int_equal(count_text(&m.canvas, "Benchmarks not placed"), m.canvas.pages);
    done(&m);
}

/* Down the slope, with its words; in no plan of a level. */
static void
an_arrow_points_down_the_grade(void **state)
{
    struct made m;
    (void)state;
    survey(&m, "surveys/quay-nursery.yaml");
    for (int k = 0; k < 4; k++) {
        draw(&m, k & 1 ? SHEET_LETTER : SHEET_A4, k & 2, SHEET_FIGURE_PLAN);
        size_t g = group_on(&m.canvas, 0, "fall of the grade");
        assert_true(g != SIZE_MAX);
        assert_string_equal(canvas_words(&m.canvas, m.canvas.mark[g].more), "falls 1 in 120");
        const struct canvas_place *shaft = &m.canvas.place[m.canvas.mark[g + 1].first];
        assert_true(shaft[1].x > shaft[0].x + 30);
        assert_near(shaft[1].y, shaft[0].y, 1e-6);
        assert_int_equal(count_text(&m.canvas, "1 in 120"), 1 + 1); /* and in the heading */
        const struct canvas_mark *words = &m.canvas.mark[g + 3];
        assert_true(words->kind == CANVAS_TEXT);
        for (size_t i = 0; i < m.canvas.page[0].marks; i++) { /* it is no part of a move beside it */
            const struct canvas_mark *t = &m.canvas.mark[m.canvas.page[0].first + i];
            if (t == words || t->kind != CANVAS_TEXT || !canvas_words(&m.canvas, t->text)[0])
                continue;
            struct box a = letters(words), b = letters(t);
            if (a.top < b.bottom && b.top < a.bottom && fmax(a.left - b.right, b.left - a.right) < 12)
                fail_msg("the fall stands beside \"%s\"", canvas_words(&m.canvas, t->text));
        }
    }
    done(&m);
}

/* ---- what is said ---- */

static void
what_has_no_place_is_listed(void **state)
{
    struct made m;
    text_job(&m, "---\njob: Half placed\nunit: m\nleast: 0.001\n---\nmarks:\n  BM1: {elevation: 50}\n  BM2: {elevation: 51}\n"
        "  BM3: {elevation: 52}\n---\npoints:\n  P: {x: 0, y: 0, kind: post}\n  R: {x: 5, y: 4, kind: post}\n  T: {kind: post}\n"
        "  BM2: {x: 6, y: 3}\n  BM3: {x: 900, y: 3}\n---\n"
        "grade: {name: g, means: finish, for: post, level: 49, tolerance: 5 mm}\n---\nlevels:\n  date: 2026-05-02\n  readings:\n"
        "    - {at: BM1, bs: 1.5}\n    - {at: P, is: 2.48}\n    - {at: T, is: 2.532}\n    - {at: BM1, fs: 1.5}\n");
    (void)state;
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    assert_int_equal(count_text(&m.canvas, "gives no x and y: T mark: up 32 mm"), 1);
    assert_int_equal(count_text(&m.canvas, "gives no x and y: BM1 at 50.000"), 1);
    assert_true(has_text(&m.canvas, "BM2 51.000"));
    assert_int_equal(count_text(&m.canvas, "farther off: BM3 at x 900.000, y 3.000"), 1);
    assert_int_equal(count_text(&m.canvas, "Last read from 4.1: P") + count_text(&m.canvas, "Last read from 5.1: P"), 1);
    assert_true(has_text(&m.canvas, "read it")); /* R */
    assert_true(count_text(&m.canvas, "Scale 1:50,") > 0); /* not that of a plan 900 m long */
    done(&m);
}

static void
the_caution_stands_once(void **state)
{
    struct made m;
    survey(&m, "surveys/fernhill.yaml");
    (void)state;
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    assert_int_equal(count_text(&m.canvas, "buried services"), 1);
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN | SHEET_FIGURE_STAKES);
    assert_int_equal(count_text(&m.canvas, "buried services"), 1);
    done(&m);
}

static void
a_job_without_places_has_no_plan(void **state)
{
    struct made m;
    text_job(&m, "---\njob: Nowhere\nunit: m\nleast: 0.001\n---\nmarks:\n  BM1: {elevation: 50}\n---\npoints:\n  T: {kind: post}\n---\n"
        "grade: {name: g, means: finish, for: post, level: 49, tolerance: 5 mm}\n");
    (void)state;
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    assert_int_equal(m.canvas.pages, 0);
    done(&m);
}

/* A name of 80 letters without a blank is too wide for any label: it is keyed, and stands whole in the list. */
static void
long_names_stand_whole(void **state)
{
    char text[1024], name[81], part[81] = "";
    (void)state;
    memset(name, 'W', 80);
    name[79] = '7';
    name[80] = '\0';
    snprintf(text, sizeof text, "---\njob: Long\nunit: m\nleast: 0.001\n---\nmarks:\n  BM1: {elevation: 50}\n---\npoints:\n"
        "  %s: {x: 0, y: 0, kind: post}\n  B: {x: 5, y: 3, kind: post}\n---\n"
        "grade: {name: g, means: finish, for: post, level: 49, tolerance: 5 mm}\n", name);
    struct made m;
    text_job(&m, text);
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    for (size_t i = 0; i < m.canvas.marks; i++) {
        const char *words = m.canvas.mark[i].kind == CANVAS_TEXT ? canvas_words(&m.canvas, m.canvas.mark[i].text) : "";
        if (words[0] && strspn(words, "W7") == strlen(words) && m.canvas.mark[i].size == PAGE_TEXT)
            strcat(part, words);
    }
    assert_string_equal(part, name);
    assert_int_equal(count_text(&m.canvas, "Numbers on the plan"), 1);
    done(&m);
}

static void
groups_have_titles(void **state)
{
    static const char *const titles[] = { "footprint", "string SW1 to SE1", "diagonal SW string to NE string", "SE2", "scale and axes" };
    struct made m;
    survey(&m, "surveys/fernhill.yaml");
    (void)state;
    draw(&m, SHEET_A4, false, SHEET_FIGURE_PLAN);
    for (size_t k = 0; k < sizeof titles / sizeof titles[0]; k++) {
        bool found = false;
        for (size_t i = 0; i < m.canvas.marks; i++)
            found |= m.canvas.mark[i].kind == CANVAS_GROUP && strcmp(canvas_words(&m.canvas, m.canvas.mark[i].text), titles[k]) == 0;
        if (!found)
            fail_msg("no group is titled %s", titles[k]);
    }
    bool described = false;
    for (size_t i = 0; i < m.canvas.marks; i++)
        described |= m.canvas.mark[i].kind == CANVAS_GROUP && m.canvas.mark[i].more != CANVAS_NO_TEXT &&
            strcmp(canvas_words(&m.canvas, m.canvas.mark[i].more), "batten at x 24.46, y -4.00; up 3/8 in") == 0;
    assert_true(described);
    done(&m);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_over_anything_on_the_demo_jobs),
        cmocka_unit_test(two_hundred_marks_by_chance),
        cmocka_unit_test(heaps_of_marks),
        cmocka_unit_test(marks_on_one_spot),
        cmocka_unit_test(places_are_to_scale),
        cmocka_unit_test(posts_are_drawn_to_their_size),
        cmocka_unit_test(scales_are_usual_ones),
        cmocka_unit_test(strings_run_between_facing_battens),
        cmocka_unit_test(a_building_set_out),
        cmocka_unit_test(strings_of_a_site_entry),
        cmocka_unit_test(footprints_follow_the_record),
        cmocka_unit_test(north_points_where_the_record_says),
        cmocka_unit_test(nothing_stands_in_the_arrow),
        cmocka_unit_test(lines_of_sight_come_from_the_last_set_up),
        cmocka_unit_test(the_key_has_what_is_drawn),
        cmocka_unit_test(corners_are_named),
        cmocka_unit_test(moves_are_not_read_at_another),
        cmocka_unit_test(benchmarks_without_a_place_end_the_page),
        cmocka_unit_test(an_arrow_points_down_the_grade),
        cmocka_unit_test(what_has_no_place_is_listed),
        cmocka_unit_test(the_caution_stands_once),
        cmocka_unit_test(a_job_without_places_has_no_plan),
        cmocka_unit_test(long_names_stand_whole),
        cmocka_unit_test(groups_have_titles),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
