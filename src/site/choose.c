#include "rodbook/choose.h"

#define TO_M (1 / (double)LENGTH_M)
#define DOUBT_MOST LENGTH_KM /* of factor times sigma: beyond it nothing is known */
#define SAME_WHOLE 1e-6      /* part of a whole that rounding of a slope may add to 1 / slope */

/* ---- rounding ---- */

length
site_choose_round(length level, length least, enum site_choose_way way)
{
    length whole = level / least, rest = level % least;
    if (rest < 0) {
        rest += least;
        whole--;
    }
    if (way == SITE_CHOOSE_UP ? rest > 0 : way == SITE_CHOOSE_NEAREST && rest >= least - rest)
        whole++;
    return whole * least;
}

struct site_ratio
site_choose_one_in(double slope, int64_t flattest)
{
    double size = slope < 0 ? -slope : slope;
    if (!(size * (double)flattest >= 1 - SAME_WHOLE))
        return (struct site_ratio){ 0, 1 };
    double in = 1 / size;
    int64_t n = (int64_t)in;
    if (in - (double)n > SAME_WHOLE)
        n++;
    return (struct site_ratio){ slope < 0 ? -1 : 1, n > 1 ? n : 1 };
}

/* Which is steeper: above 0 the first, 0 neither. */
static int
compare(struct site_ratio a, struct site_ratio b)
{
    int64_t a_rise = a.rise < 0 ? -a.rise : a.rise, b_rise = b.rise < 0 ? -b.rise : b.rise;
    length_wide left = (length_wide)a_rise * b.run, right = (length_wide)b_rise * a.run;
    return (left > right) - (left < right);
}

static const struct site_ratio two_percent = { 1, 50 }, one_in_48 = { 1, 48 };

static bool
is_two_percent(struct site_ratio bound)
{
    return compare(bound, two_percent) >= 0 && compare(bound, one_in_48) <= 0;
}

bool
site_choose_steeper(struct site_ratio slope, struct site_ratio bound)
{
    return compare(slope, is_two_percent(bound) ? one_in_48 : bound) > 0;
}

bool
site_choose_flatter(struct site_ratio slope, struct site_ratio bound)
{
    return compare(slope, is_two_percent(bound) ? two_percent : bound) < 0;
}

bool
site_choose_hold(struct site_ratio *slope, struct site_ratio most)
{
    if (!site_choose_steeper(*slope, most))
        return false;
    int64_t rise = most.rise < 0 ? -most.rise : most.rise;
    *slope = (struct site_ratio){ slope->rise < 0 ? -rise : rise, most.run };
    return true;
}

/* ---- a level that clears the ground ---- */

/* Half a confidence interval, up to the next nanometre; below 0 where it is no length. */
static length
doubt_of(double sigma, double factor)
{
    double doubt = sigma > 0 ? sigma * factor * (double)LENGTH_M : 0;
    if (!(doubt >= 0 && doubt <= (double)DOUBT_MOST))
        return -1;
    length whole = (length)doubt;
    return whole + (doubt > (double)whole);
}

bool
site_choose_clear(const struct site_shot *shot, size_t n, length clear, double factor, length least, length *level,
    size_t *decides)
{
    length highest = 0;
    size_t which = n;
    for (size_t i = 0; i < n; i++) {
        length doubt = doubt_of(shot[i].sigma, factor);
        if (doubt < 0)
            return false;
        if (which < n && shot[i].elevation + doubt <= highest)
            continue;
        highest = shot[i].elevation + doubt;
        which = i;
    }
    if (which == n)
        return false;
    *level = site_choose_round(highest + clear, least, SITE_CHOOSE_UP);
    *decides = which;
    return true;
}

/* ---- posts ---- */

struct site_choose_dug
site_choose_dug(const struct site_choose_post *post, length grade)
{
    length foot = (post->from_grade ? grade : post->ground) - post->foot;
    return (struct site_choose_dug){ .hole = post->ground - (foot - post->footing), .post = grade + post->height - foot };
}

enum site_choose_reach
site_choose_reach(const struct site_choose_post *post, size_t n, double factor, length least, length *level, size_t *decides)
{
    length lowest = 0;
    size_t which = n;
    for (size_t i = 0; i < n; i++) {
        const struct site_choose_post *p = &post[i];
        length doubt = doubt_of(p->sigma, factor);
        if (p->bought < 0 || doubt < 0)
            continue;
        if (p->from_grade && p->bought < p->foot + p->height) {
            *decides = i;
            return SITE_CHOOSE_TOO_SHORT;
        }
        length most = p->ground - doubt - p->foot + p->bought - p->height;
        if (p->from_grade || (which < n && most >= lowest))
            continue;
        lowest = most;
        which = i;
    }
    if (which == n)
        return SITE_CHOOSE_ANY;
    *level = site_choose_round(lowest, least, SITE_CHOOSE_DOWN);
    *decides = which;
    return SITE_CHOOSE_REACHES;
}

/* ---- the ground between shots ---- */

/* Twice the area of three places, m2: above 0 counter-clockwise. Differences are whole, so that what lies on a side gives 0. */
static double
area(struct site_place p, struct site_place q, struct site_place r)
{
    return (double)((length_wide)(q.x - p.x) * (r.y - p.y) - (length_wide)(q.y - p.y) * (r.x - p.x)) * TO_M * TO_M;
}

bool
site_choose_surface(const struct site_place *at, const double *z, size_t n, const struct site_triangle *triangle,
    size_t triangles, struct site_place place, double *height, double *share)
{
    for (size_t t = 0; t < triangles; t++) {
        const uint32_t *c = triangle[t].corner;
        struct site_place p = at[c[0]], q = at[c[1]], r = at[c[2]];
        double whole = area(p, q, r), l[3] = { area(place, q, r), area(p, place, r), area(p, q, place) };
        if (!(whole > 0 && l[0] >= 0 && l[1] >= 0 && l[2] >= 0))
            continue;
        for (size_t i = 0; share && i < n; i++)
            share[i] = 0;
        *height = 0;
        for (int k = 0; k < 3; k++) {
            *height += l[k] / whole * z[c[k]];
            if (share)
                share[c[k]] = l[k] / whole;
        }
        return true;
    }
    return false;
}

/* ---- water ---- */

static length
within(length v, length from, length to)
{
    return v < from ? from : v > to ? to : v;
}

length
site_choose_outside(const struct site_rectangle *building, struct site_place place, struct site_place *wall)
{
    *wall = (struct site_place){ within(place.x, building->from.x, building->to.x), within(place.y, building->from.y, building->to.y) };
    double dx = (double)(place.x - wall->x), dy = (double)(place.y - wall->y);
    return (length)(__builtin_sqrt(dx * dx + dy * dy) + 0.5);
}

struct site_choose_fall
site_choose_fall(length at_wall, struct site_shot shot, double factor, length distance, struct site_ratio least)
{
    struct site_ratio asked = is_two_percent(least) ? two_percent : least;
    struct site_choose_fall f = { .distance = distance, .fall = at_wall - shot.elevation,
        .need = length_divide(distance, asked.rise < 0 ? -asked.rise : asked.rise, asked.run), .drains = SITE_CHOOSE_DOUBTFUL };
    length doubt = doubt_of(shot.sigma, factor);
    if (doubt >= 0 && f.fall - f.need >= doubt)
        f.drains = SITE_CHOOSE_DRAINS;
    else if (doubt >= 0 && f.need - f.fall > doubt)
        f.drains = SITE_CHOOSE_WET;
    return f;
}
