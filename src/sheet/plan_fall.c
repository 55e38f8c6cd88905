/* plan_fall.c - which way a sloping grade falls, and how steeply, as an arrow where a page has room for it */
#include "plan_page.h"

#include <math.h>

#define LONG 40.0        /* points: the arrow... */
#define HEAD 6.0         /* ...and its head */
#define AIR 5.0          /* points around it */
#define STEP 9.0         /* points from one place that is tried to the next */
#define BASE (10 * LENGTH_M) /* over which the fall is taken: grades are planes */
#define LEVEL_ENOUGH 1e-6

/* How much a grade falls along x and y; false where it is level or not known there. */
static bool
fall_of(const struct ground_plan *plan, const struct plan_span *span, double *x, double *y)
{
    const struct job_grade *g = plan->grade;
    const struct site_place at = { span->left / 2 + span->right / 2, span->bottom / 2 + span->top / 2 };
    const struct site_place right = { at.x + BASE, at.y }, up = { at.x, at.y + BASE };
    length here, along, across;
    if (!g || !g->known || g->site.form == SITE_LEVEL || site_grade_at(&g->site, at, &here) != SITE_OK ||
        site_grade_at(&g->site, right, &along) != SITE_OK || site_grade_at(&g->site, up, &across) != SITE_OK)
        return false;
    *x = (double)(here - along) / (double)BASE;
    *y = (double)(here - across) / (double)BASE;
    return hypot(*x, *y) > LEVEL_ENOUGH;
}

static bool
is_free(const struct plan_view *v, struct label_box b)
{
    for (size_t i = 0; i < v->labels.n; i++) {
        const struct label *l = &v->label[i];
        if (l->reach > 0 && label_boxes_meet(b, label_symbol(l)))
            return false;
        const struct label_box aside = { l->box.left - LABELS_ASIDE, l->box.top, l->box.right + LABELS_ASIDE, l->box.bottom };
        if (l->how != LABEL_NOWHERE && (label_boxes_meet(b, aside) || (l->led && label_line_meets_box(l->lead, b))))
            return false;
    }
    for (size_t i = 0; i < v->takens; i++)
        if (label_boxes_meet(b, v->taken[i]))
            return false;
    for (size_t i = 0; i < v->edges + v->sights; i++)
        if (label_line_meets_box(v->edge[i], b))
            return false;
    return true;
}

/* The free place that is nearest to the middle of what is drawn. */
static bool
find_place(const struct plan_view *v, double wide, double high, struct label_box *best)
{
    const struct label_box *w = &v->window;
    struct label_box drawn = plan_view_box(v, &v->span);
    double x = (drawn.left + drawn.right) / 2, y = (drawn.top + drawn.bottom) / 2, least = INFINITY;
    int columns = (int)((w->right - w->left - wide) / STEP), rows = (int)((w->bottom - w->top - high) / STEP);
    for (int i = 0; i < columns * rows; i++) {
        const int column = i % columns, row = i / columns;
        double left = w->left + AIR + STEP * column, top = w->top + AIR + STEP * row;
        const struct label_box b = { left, top, left + wide, top + high };
        double far = hypot(left + wide / 2 - x, top + high / 2 - y);
        if (far >= least || b.right > w->right - AIR || b.bottom > w->bottom - AIR || !is_free(v, b))
            continue;
        least = far;
        *best = b;
    }
    return least < INFINITY;
}

void
plan_fall_lay(struct plan_view *v, const struct ground_plan *plan)
{
    double x, y;
    v->has_fall = false;
    if (!fall_of(plan, &v->span, &x, &y))
        return;
    double steep = hypot(x, y), run = 1 / steep;
    snprintf(v->fall_words, sizeof v->fall_words, fabs(run - round(run)) < 0.005 * run ? "falls 1 in %.0f" : "falls 1 in %.1f", run);
    v->fall_x = x / steep;
    v->fall_y = y / steep;
    double wide = fmax(fabs(v->fall_x) * LONG + HEAD, canvas_text_width(v->fall_words, PAGE_TEXT, false)) + 2 * AIR;
    double high = fabs(v->fall_y) * LONG + HEAD + PAGE_TEXT + 2 * AIR;
    v->has_fall = find_place(v, wide, high, &v->fall);
}

/* The words stand below the arrow. */
void
plan_fall_draw(const struct plan_view *v, const struct ground_plan *plan)
{
    struct canvas *c = plan->p->canvas;
    if (!v->has_fall)
        return;
    double dx = v->fall_x, dy = -v->fall_y, x = (v->fall.left + v->fall.right) / 2, y = (v->fall.top + v->fall.bottom - PAGE_TEXT) / 2;
    const struct canvas_place tip = { x + dx * LONG / 2, y + dy * LONG / 2 }, tail = { x - dx * LONG / 2, y - dy * LONG / 2 };
    const struct canvas_place neck = { tip.x - dx * HEAD, tip.y - dy * HEAD };
    const struct canvas_place head[3] = { tip, { neck.x - dy * HEAD * 0.4, neck.y + dx * HEAD * 0.4 }, { neck.x + dy * HEAD * 0.4, neck.y - dx * HEAD * 0.4 } };
    canvas_group(c, "fall of the grade", v->fall_words);
    canvas_line(c, (struct canvas_pen){ 0.8, CANVAS_BLACK, CANVAS_SOLID }, tail.x, tail.y, neck.x, neck.y);
    canvas_path(c, (struct canvas_pen){ 0, CANVAS_BLACK, CANVAS_SOLID }, CANVAS_BLACK, true, head, 3);
    canvas_text(c, (struct canvas_type){ PAGE_TEXT, CANVAS_MIDDLE, CANVAS_BLACK, false, 0 }, x, v->fall.bottom - AIR - PAGE_TEXT * CANVAS_DESCENDER / 2,
        v->fall_words);
    canvas_group_end(c);
}
