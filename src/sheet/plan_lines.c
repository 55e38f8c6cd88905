/* plan_lines.c - the lines of a plan, from the points of a record */
#include "plan_lines.h"

#include "rodbook/building.h"
#include "rodbook/room.h"

#include <stdlib.h>
#include <string.h>

#define CORNERS_MOST 64    /* looked at for crossings, each side against each; more get the hull */
#define FACING_MOST 256    /* lines between facing battens, each held against each; a building has 8, with rows inside a few more */

struct spot {
    struct site_place at;
    uint32_t name;
};

void
plan_lines_release(struct plan_lines *l)
{
    free(l->line);
    *l = (struct plan_lines){ 0 };
}

uint32_t
plan_point(const struct job *job, uint32_t name)
{
    uint32_t i = job->point_of[name];
    return i != JOB_NONE && job->r->point[i].placed ? i : JOB_NONE;
}

static int
add_line(struct plan_lines *l, enum plan_line_kind kind, const struct spot *from, const struct spot *to)
{
    struct plan_line *line = room_for(l->line, &l->room, l->lines, sizeof *line);
    if (!line)
        return -1;
    l->line = line;
    line[l->lines++] = (struct plan_line){ kind, from->at, to->at, from->name, to->name };
    return 0;
}

static int
add_ring(struct plan_lines *l, enum plan_line_kind kind, const struct spot *spot, size_t n)
{
    int rc = 0;
    for (size_t i = 0; rc == 0 && i < (n > 2 ? n : n / 2); i++)
        rc = add_line(l, kind, &spot[i], &spot[(i + 1) % n]);
    return rc;
}

/* Points of a kind, as the record lists them. */
static size_t
spots_of(const struct job *job, enum record_point_kind kind, struct spot *spot)
{
    const struct record *r = job->r;
    size_t n = 0;
    for (uint32_t i = 0; i < r->points; i++)
        if (r->point[i].kind == kind && plan_point(job, r->point[i].name) == i)
            spot[n++] = (struct spot){ { r->point[i].x, r->point[i].y }, r->point[i].name };
    return n;
}

/* ---- footprint ---- */

/* Which side of a to b the place c is on: above 0 left, 0 on the line. */
static int
turn(struct site_place a, struct site_place b, struct site_place c)
{
    length_wide v = (length_wide)(b.x - a.x) * (c.y - a.y) - (length_wide)(b.y - a.y) * (c.x - a.x);
    return v > 0 ? 1 : v < 0 ? -1 : 0;
}

/* They cross between their ends: a touch is no crossing. */
static bool
cross(struct site_place a, struct site_place b, struct site_place c, struct site_place d)
{
    return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}

static bool
crosses_itself(const struct spot *spot, size_t n)
{
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 2; j < n; j++)
            if (cross(spot[i].at, spot[i + 1].at, spot[j].at, spot[(j + 1) % n].at))
                return true;
    return false;
}

static int
compare_places(const void *one, const void *other)
{
    const struct spot *a = one, *b = other;
    if (a->at.x != b->at.x)
        return a->at.x < b->at.x ? -1 : 1;
    if (a->at.y != b->at.y)
        return a->at.y < b->at.y ? -1 : 1;
    return a->name < b->name ? -1 : a->name > b->name;
}

/* One half of the hull, over spots in order: `way` 1 from the first to the last, -1 back. */
static size_t
half_hull(const struct spot *spot, size_t n, int way, struct spot *hull, size_t first)
{
    size_t k = first;
    for (size_t i = 0; i < n; i++) {
        const struct spot *s = &spot[way > 0 ? i : n - 1 - i];
        while (k >= first + 2 && turn(hull[k - 2].at, hull[k - 1].at, s->at) <= 0)
            k--;
        hull[k++] = *s;
    }
    return k - 1; /* its last is the first of the other half */
}

/* The hull round spots, counter-clockwise; `hull` has room for n + 2. Sorts the spots. (A. M. Andrew, Information Processing
 * Letters 9 (1979) 216.) */
static size_t
hull_of(struct spot *spot, size_t n, struct spot *hull)
{
    qsort(spot, n, sizeof *spot, compare_places);
    if (n < 2)
        return 0;
    size_t k = half_hull(spot, n, 1, hull, 0);
    return half_hull(spot, n, -1, hull, k);
}

/* Its corners, in order round it, in `ring`; `kind` is set to what they are of. */
static size_t
outline(const struct job *job, struct spot *spot, struct spot *ring, enum plan_line_kind *kind)
{
    size_t n = spots_of(job, RECORD_POINT_CORNER, spot);
    *kind = PLAN_FOOTPRINT;
    if (n < 3) {
        *kind = PLAN_POSTS;
        return hull_of(spot, spots_of(job, RECORD_POINT_POST, spot), ring);
    }
    if (n > CORNERS_MOST || crosses_itself(spot, n))
        return hull_of(spot, n, ring);
    memcpy(ring, spot, n * sizeof *ring);
    return n;
}

/* ---- strings ---- */

static int
compare_x(const void *one, const void *other)
{
    return compare_places(one, other);
}

static int
compare_y(const void *one, const void *other)
{
    const struct spot *a = one, *b = other;
    if (a->at.y != b->at.y)
        return a->at.y < b->at.y ? -1 : 1;
    return compare_places(one, other);
}

struct facing {
    struct spot from, to;
    bool crossed;
};

/* Battens that two and two share an x, or a y. */
static size_t
facing_of(struct spot *spot, size_t n, bool by_x, struct facing *out, size_t have)
{
    qsort(spot, n, sizeof *spot, by_x ? compare_x : compare_y);
    for (size_t i = 0, k; i < n; i += k) {
        for (k = 1; i + k < n && (by_x ? spot[i + k].at.x == spot[i].at.x : spot[i + k].at.y == spot[i].at.y);)
            k++;
        if (k == 2 && have < FACING_MOST)
            out[have++] = (struct facing){ spot[i], spot[i + 1], false };
    }
    return have;
}

static bool
shares_batten(const struct facing *a, const struct facing *b)
{
    return a->from.name == b->from.name || a->from.name == b->to.name || a->to.name == b->from.name || a->to.name == b->to.name;
}

static bool
is_string(const struct facing *f, size_t n, size_t i)
{
    for (size_t j = 0; j < n; j++)
        if (j != i && shares_batten(&f[i], &f[j]) && (f[j].crossed || !f[i].crossed))
            return false;
    return true;
}

static int
add_strings(const struct job *job, struct spot *spot, struct plan_lines *l)
{
    struct facing facing[FACING_MOST];
    size_t n = spots_of(job, RECORD_POINT_BATTEN, spot);
    size_t lines = facing_of(spot, n, false, facing, 0);
    lines = facing_of(spot, n, true, facing, lines);
    for (size_t i = 0; i < lines; i++)
        for (size_t j = 0; j < lines; j++)
            facing[i].crossed |= cross(facing[i].from.at, facing[i].to.at, facing[j].from.at, facing[j].to.at);
    int rc = 0;
    for (size_t i = 0; rc == 0 && i < lines; i++)
        if (is_string(facing, lines, i))
            rc = add_line(l, PLAN_STRING, &facing[i].from, &facing[i].to);
    return rc;
}

/* ---- diagonals ---- */

/* The point named as a corner and "string", where the record has one with a place. */
static bool
string_crossing(const struct job *job, const struct spot *corner, struct spot *out)
{
    char name[SHEET_WORDS];
    const struct record *r = job->r;
    snprintf(name, sizeof name, "%s string", names_text(&r->names, corner->name));
    for (uint32_t i = 0; i < r->points; i++) {
        const struct record_point *p = &r->point[i];
        if (plan_point(job, p->name) != i || strcmp(names_text(&r->names, p->name), name) != 0)
            continue;
        *out = (struct spot){ { p->x, p->y }, p->name };
        return true;
    }
    return false;
}

static int
add_diagonals(const struct job *job, const struct spot *ring, size_t n, struct plan_lines *l)
{
    struct spot at[4];
    bool strings = true;
    if (n != 4)
        return 0;
    for (size_t i = 0; i < 4; i++)
        strings = strings && string_crossing(job, &ring[i], &at[i]);
    if (!strings)
        memcpy(at, ring, sizeof at);
    int rc = add_line(l, PLAN_DIAGONAL, &at[0], &at[2]);
    return rc == 0 ? add_line(l, PLAN_DIAGONAL, &at[1], &at[3]) : rc;
}

/* ---- a building set out ---- */

/* Where a named point is now: a points entry may have put it elsewhere. */
static struct spot
spot_named(const struct job *job, uint32_t name, struct site_place else_at)
{
    uint32_t i = plan_point(job, name);
    return (struct spot){ i == JOB_NONE ? else_at : (struct site_place){ job->r->point[i].x, job->r->point[i].y }, name };
}

/* The string of a wall, from batten to batten: the two that carry it. */
static int
add_wall_string(const struct job *job, const struct building *b, enum site_side side, struct plan_lines *l)
{
    const struct building_point *battens = b->point + SITE_CORNERS;
    struct spot end[2] = { { { 0, 0 }, RECORD_NONE } };
    size_t n = 0;
    for (int i = 0; i < SITE_BATTENS && n < 2; i++)
        if (b->batten[i].side == side)
            end[n++] = spot_named(job, battens[i].name, b->batten[i].at);
    return n == 2 ? add_line(l, PLAN_STRING, &end[0], &end[1]) : 0;
}

/* Of a row inside, whose string ends where it crosses those of the walls: it has the row's name, and no battens. */
static int
add_row_string(const struct job *job, const struct building *b, const struct building_string *s, struct plan_lines *l)
{
    const struct spot from = { s->line.from, job->r->site_row[b->from->first_row + s->row].name }, to = { s->line.to, RECORD_NONE };
    return add_line(l, PLAN_STRING, &from, &to);
}

static int
add_building_strings(const struct job *job, struct plan_lines *l)
{
    struct building b;
    int rc = building_work(&b, job->r);
    for (size_t i = 0; rc == 0 && i < b.strings; i++)
        rc = b.string[i].side == SITE_INSIDE ? add_row_string(job, &b, &b.string[i], l) : add_wall_string(job, &b, b.string[i].side, l);
    l->post_along = rc == 0 ? b.site.post_along : 0;
    l->post_across = rc == 0 ? b.site.post_across : 0;
    building_release(&b);
    return rc;
}

int
plan_lines_of(const struct job *job, struct plan_lines *l)
{
    enum plan_line_kind kind;
    *l = (struct plan_lines){ 0 };
    struct spot *spot = room_new(job->r->points + 1, sizeof *spot), *ring = room_new(job->r->points + 2, sizeof *ring);
    int rc = spot && ring ? 0 : -1;
    if (rc == 0) {
        size_t n = outline(job, spot, ring, &kind);
        rc = add_ring(l, kind, ring, n);
        if (rc == 0)
            rc = job->r->sites > 0 ? add_building_strings(job, l) : add_strings(job, spot, l);
        if (rc == 0)
            rc = add_diagonals(job, ring, n, l);
    }
    free(spot);
    free(ring);
    return rc;
}
