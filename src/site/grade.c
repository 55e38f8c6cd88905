#include "rodbook/grade.h"

#define FARTHEST (1000 * LENGTH_KM)   /* a site is smaller; keeps every product below 2^126 */
#define EXACT (LENGTH_KM)             /* three factors of 1 km are 1e36 nm^3, below 2^126 = 8.5e37 */

static length
round_away(double v)
{
    return (length)(v < 0 ? v - 0.5 : v + 0.5);
}

static length
divide_wide(length_wide top, length_wide bottom)
{
    if (bottom < 0) {
        top = -top;
        bottom = -bottom;
    }
    length_wide half = bottom / 2;
    return (length)((top >= 0 ? top + half : top - half) / bottom);
}

static bool
is_within(struct site_place p, length most)
{
    return p.x <= most && p.x >= -most && p.y <= most && p.y >= -most;
}

struct site_grade
site_level(length level)
{
    return (struct site_grade){ .form = SITE_LEVEL, .level = level, .run = 1 };
}

enum site_status
site_slope(struct site_place origin, length level, int64_t rise, int64_t run, struct site_place towards,
    struct site_grade *g)
{
    if (towards.x == 0 && towards.y == 0)
        return SITE_EDIRECTION;
    *g = (struct site_grade){ .form = SITE_SLOPE, .origin = origin, .level = level, .rise = rise, .run = run,
        .towards = towards };
    return SITE_OK;
}

/* Twice the area that two directions span: positive where q is left of p. */
static length_wide
cross(struct site_place p, struct site_place q)
{
    return (length_wide)p.x * q.y - (length_wide)p.y * q.x;
}

enum site_status
site_plane(const struct site_place at[3], const length elevation[3], struct site_grade *g)
{
    struct site_place p = { at[1].x - at[0].x, at[1].y - at[0].y }, q = { at[2].x - at[0].x, at[2].y - at[0].y };
    if (cross(p, q) == 0)
        return SITE_ECOLLINEAR;
    *g = (struct site_grade){ .form = SITE_PLANE, .origin = at[0], .level = elevation[0], .run = 1, .p = p, .q = q,
        .p_up = elevation[1] - elevation[0], .q_up = elevation[2] - elevation[0] };
    return SITE_OK;
}

/* How far a slope has risen at `d` from its origin. */
static length
slope_up(const struct site_grade *g, struct site_place d)
{
    struct site_place t = g->towards;
    if (t.x == 0 || t.y == 0) {
        length along = t.y == 0 ? (t.x > 0 ? d.x : -d.x) : (t.y > 0 ? d.y : -d.y);
        return divide_wide((length_wide)along * g->rise, g->run);
    }
    double tx = (double)t.x, ty = (double)t.y;
    double along = ((double)d.x * tx + (double)d.y * ty) / __builtin_sqrt(tx * tx + ty * ty);
    return round_away(along * (double)g->rise / (double)g->run);
}

/* d = a p + b q, so the plane is up a p_up + b q_up. */
static length
plane_up(const struct site_grade *g, struct site_place d)
{
    length_wide area = cross(g->p, g->q), a = cross(d, g->q), b = cross(g->p, d);
    bool exact = is_within(d, EXACT) && is_within(g->p, EXACT) && is_within(g->q, EXACT) && g->p_up <= EXACT
        && g->p_up >= -EXACT && g->q_up <= EXACT && g->q_up >= -EXACT;
    if (exact)
        return divide_wide(a * g->p_up + b * g->q_up, area);
    return round_away(((double)a * (double)g->p_up + (double)b * (double)g->q_up) / (double)area);
}

enum site_status
site_grade_at(const struct site_grade *g, struct site_place place, length *elevation)
{
    if (g->form == SITE_LEVEL) {
        *elevation = g->level;
        return SITE_OK;
    }
    struct site_place d = { place.x - g->origin.x, place.y - g->origin.y };
    if (!is_within(d, FARTHEST))
        return SITE_EFAR;
    *elevation = g->level + (g->form == SITE_SLOPE ? slope_up(g, d) : plane_up(g, d));
    return SITE_OK;
}

void
site_grade_shares(const struct site_grade *g, struct site_place place, double share[3])
{
    share[0] = 1;
    share[1] = share[2] = 0;
    if (g->form != SITE_PLANE)
        return;
    struct site_place d = { place.x - g->origin.x, place.y - g->origin.y };
    length_wide area = cross(g->p, g->q), a = cross(d, g->q), b = cross(g->p, d);
    share[0] = (double)(area - a - b) / (double)area;
    share[1] = (double)a / (double)area;
    share[2] = (double)b / (double)area;
}
