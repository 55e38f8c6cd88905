/* plan_north.c - where a page of the plan has room for a north arrow, and the arrow */
#include "plan_page.h"

#include <math.h>

#define NORTH_LARGE 46.0 /* points: the side of the square that it turns in... */
#define NORTH_SMALL 33.0 /* ...which the strip beside the drawing always has */
#define NORTH_FRAME 4.0  /* off the frame */
#define NORTH_STEP 12.0
#define SYMBOL_COST 1000
#define LINE_COST 30

bool
plan_north(const struct ground_plan *plan, double *bearing)
{
    const struct record *r = plan->job->r;
    if (r->sites == 0 || !r->site[r->sites - 1].has_north)
        return false;
    *bearing = r->site[r->sites - 1].north;
    return true;
}

static int
cost_of(const struct plan_view *v, struct label_box b)
{
    int cost = 0;
    for (size_t i = 0; i < v->labels.n; i++) {
        const struct label *l = &v->label[i];
        const struct label_box symbol = { l->x - l->reach, l->y - l->reach, l->x + l->reach, l->y + l->reach };
        if (!l->on_line && label_boxes_meet(b, symbol))
            cost += SYMBOL_COST;
    }
    for (size_t i = 0; i < v->takens; i++)
        if (label_boxes_meet(b, v->taken[i]))
            cost += SYMBOL_COST;
    for (size_t i = 0; i < v->edges + v->sights; i++)
        if (label_line_meets_box(v->edge[i], b))
            cost += i < v->edges ? LINE_COST : 1;
    return cost;
}

/* The best of the corners, right above first; then of places along the sides, where `along`. */
static int
best_place(const struct plan_view *v, double side, bool along, struct label_box *best)
{
    const struct label_box *w = &v->window;
    double left = w->left + NORTH_FRAME, right = w->right - NORTH_FRAME - side, top = w->top + NORTH_FRAME, low = w->bottom - NORTH_FRAME - side;
    size_t steps = along && low > top ? (size_t)((low - top) / NORTH_STEP) : 0;
    int least = -1;
    for (size_t i = 0; i < 4 + 2 * steps; i++) {
        size_t pair = i / 2;
        double x = i % 2 == 0 ? right : left, y = pair == 0 ? top : pair == 1 ? low : top + NORTH_STEP * (double)(pair - 1);
        const struct label_box b = { x, y, x + side, y + side };
        int cost = cost_of(v, b);
        if (least >= 0 && cost >= least)
            continue;
        least = cost;
        *best = b;
    }
    return least;
}

void
plan_north_lay(struct plan_view *v, const struct ground_plan *plan)
{
    double bearing;
    v->has_north = false;
    if (!plan_north(plan, &bearing) || v->window.right - v->window.left < 2 * NORTH_LARGE || v->window.bottom - v->window.top < 2 * NORTH_LARGE)
        return;
    v->has_north = best_place(v, NORTH_LARGE, false, &v->north) < LINE_COST || best_place(v, NORTH_SMALL, true, &v->north) < SYMBOL_COST;
    if (!v->has_north)
        return; /* the key has it in words */
    v->taken[v->takens] = v->north;
    v->taken_mark[v->takens++] = JOB_NONE;
}

/* A place so far along the arrow from its middle, and so far to its right. */
static struct canvas_place
turned(struct canvas_place middle, double bearing, double along, double aside)
{
    double a = bearing * 3.14159265358979323846 / 180, s = sin(a), c = cos(a);
    return (struct canvas_place){ middle.x + along * s + aside * c, middle.y - along * c + aside * s };
}

/* A shaft with a half-filled head. */
void
plan_north_arrow(struct canvas *c, struct canvas_place middle, double bearing, double half)
{
    const struct canvas_pen pen = { 0.8, CANVAS_BLACK, CANVAS_SOLID };
    double wide = half * 0.32, neck = half * 0.1;
    struct canvas_place tip = turned(middle, bearing, half, 0), tail = turned(middle, bearing, -half, 0), at = turned(middle, bearing, neck, 0);
    const struct canvas_place left[3] = { tip, turned(middle, bearing, neck - wide / 2, -wide), at };
    const struct canvas_place right[3] = { tip, turned(middle, bearing, neck - wide / 2, wide), at };
    canvas_line(c, pen, tail.x, tail.y, at.x, at.y);
    canvas_path(c, pen, CANVAS_BLACK, true, left, 3);
    canvas_path(c, pen, CANVAS_WHITE, true, right, 3);
}

void
plan_north_draw(const struct plan_view *v, const struct ground_plan *plan)
{
    double bearing;
    char words[SHEET_WORDS];
    if (!v->has_north || !plan_north(plan, &bearing))
        return;
    double side = v->north.right - v->north.left, type = side * 0.22, half = (side - type * 1.5) / 2;
    const struct canvas_place middle = { (v->north.left + v->north.right) / 2, (v->north.top + v->north.bottom) / 2 };
    const struct canvas_place body = turned(middle, bearing, -type * 0.75, 0), letter = turned(middle, bearing, side / 2 - type * 0.55, 0);
    plan_north_words(words, bearing);
    canvas_group(plan->p->canvas, "north arrow", words);
    plan_north_arrow(plan->p->canvas, body, bearing, half);
    canvas_text(plan->p->canvas, (struct canvas_type){ type, CANVAS_MIDDLE, CANVAS_BLACK, true, 0 }, letter.x,
        letter.y + type * CANVAS_CAPITAL / 2, "N");
    canvas_group_end(plan->p->canvas);
}

void
plan_north_words(char out[SHEET_WORDS], double bearing)
{
    snprintf(out, SHEET_WORDS, "north, %.6g deg clockwise from y", bearing);
}
