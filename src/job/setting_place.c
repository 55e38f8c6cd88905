/* setting_place.c - who is in a row of posts, where each stands along it, and which side is in */
#include "rodbook/setting.h"

#include "parts.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- who is in a row ---- */

/* The number behind the row's name: 3 of A3. False for any other name. */
static bool
number_of(const char *name, const char *row, uint32_t *number)
{
    size_t n = strlen(row);
    uint32_t v = 0;
    if (strncmp(name, row, n) != 0 || name[n] == '\0' || strlen(name + n) > 9)
        return false;
    for (const char *p = name + n; *p; p++) {
        if (*p < '0' || *p > '9')
            return false;
        v = v * 10 + (uint32_t)(*p - '0');
    }
    *number = v;
    return true;
}

struct member {
    uint32_t name;
    uint32_t rank; /* number, or place in the list behind all numbers: which end the row begins at */
    struct site_place place;
    length along;  /* nm; set by lay_out() */
};

struct members {
    struct member *one;
    size_t n, room;
    bool *in; /* [names] */
    bool no_memory;
};

static void
add_member(struct members *m, const struct job *job, const char *row, uint32_t name)
{
    uint32_t number;
    if (m->in[name] || m->no_memory)
        return;
    struct member *grown = room_for(m->one, &m->room, m->n, sizeof *grown);
    m->no_memory = grown == NULL;
    if (!grown)
        return;
    m->one = grown;
    m->in[name] = true;
    uint32_t rank = number_of(job_name(job, name), row, &number) ? number : 1000000000 + (uint32_t)m->n;
    m->one[m->n++] = (struct member){ .name = name, .rank = rank };
}

static int
gather(struct members *m, const struct job *job, uint32_t row)
{
    const struct record *r = job->r;
    const char *name = job_name(job, row);
    uint32_t number;
    *m = (struct members){ .in = room_new(r->names.n, sizeof *m->in) };
    if (!m->in)
        return -1;
    for (size_t i = 0; i < r->sets; i++)
        for (uint32_t k = 0; r->set[i].row == row && k < r->set[i].posts; k++)
            add_member(m, job, name, r->set_row[r->set[i].first + k].at);
    for (uint32_t i = 0; i < r->points; i++)
        if (r->point[i].kind == RECORD_POINT_POST && job->point_of[r->point[i].name] == i
            && number_of(job_name(job, r->point[i].name), name, &number))
            add_member(m, job, name, r->point[i].name);
    return m->no_memory ? -1 : 0;
}

/* ---- where they are ---- */

static bool
find_places(struct members *m, const struct job *job, const struct record_set *set, struct diag *d)
{
    char list[DIAG_NAMES * 84 + 40] = "";
    size_t lacking = 0, used = 0;
    for (size_t i = 0; i < m->n; i++) {
        if (job_place_of(job, m->one[i].name, &m->one[i].place))
            continue;
        if (lacking++ < DIAG_NAMES)
            used += (size_t)snprintf(list + used, sizeof list - used, "%s%s", lacking > 1 ? ", " : "", job_name(job, m->one[i].name));
    }
    if (lacking > DIAG_NAMES)
        snprintf(list + used, sizeof list - used, " and %zu more", lacking - DIAG_NAMES);
    if (lacking > 0)
        diag_say(d, DIAG_ERROR, set->place, "set-place",
            "row %s: %s %s no place along the row; write names as they are in site, or give x and y in points: {x: 6, y: 0, kind: post}", job_name(job, set->row), list,
            lacking == 1 ? "has" : "have");
    return lacking == 0;
}

static double
apart(struct site_place a, struct site_place b)
{
    return hypot((double)(a.x - b.x), (double)(a.y - b.y));
}

/* The line of a row: from its beginning, a unit vector along it. */
struct axis {
    struct site_place from;
    double x, y;
};

static double
along_axis(const struct axis *a, struct site_place p)
{
    return (double)(p.x - a->from.x) * a->x + (double)(p.y - a->from.y) * a->y;
}

/* Left of it is positive. */
static double
beside_axis(const struct axis *a, struct site_place p)
{
    return (double)(p.y - a->from.y) * a->x - (double)(p.x - a->from.x) * a->y;
}

/* Between the two that are farthest apart, from the one that comes first by number. */
static void
find_axis(const struct members *m, struct axis *a)
{
    size_t first = 0, last = 0;
    double most = 0;
    for (size_t i = 0; i < m->n; i++)
        for (size_t j = i + 1; j < m->n; j++) {
            double far = apart(m->one[i].place, m->one[j].place);
            if (far > most) {
                most = far;
                first = m->one[i].rank < m->one[j].rank ? i : j;
                last = first == i ? j : i;
            }
        }
    *a = (struct axis){ .from = m->one[first].place };
    if (most > 0) {
        a->x = (double)(m->one[last].place.x - a->from.x) / most;
        a->y = (double)(m->one[last].place.y - a->from.y) / most;
    }
}

static int
by_along(const void *a, const void *b)
{
    const struct member *p = a, *q = b;
    if (p->along != q->along)
        return p->along < q->along ? -1 : 1;
    return p->name < q->name ? -1 : p->name > q->name;
}

/* Members in order along the row. False: said. */
static bool
lay_out(struct members *m, const struct axis *a, const struct job *job, const struct record_set *set, struct diag *d)
{
    size_t errors = d->errors;
    for (size_t i = 0; i < m->n; i++) {
        m->one[i].along = (length)floor(along_axis(a, m->one[i].place) + 0.5);
        double beside = fabs(beside_axis(a, m->one[i].place));
        if (beside >= (double)SETTING_ASIDE)
            diag_say(d, DIAG_ERROR, set->place, "set-place",
                "row %s: the place of %s is %.1f %s off the line of the others; is it a post of this row?", job_name(job, set->row),
                job_name(job, m->one[i].name), beside / (double)length_whole(job->r->job.unit),
                job->r->job.unit == LENGTH_BARE_M ? "m" : "ft");
    }
    qsort(m->one, m->n, sizeof *m->one, by_along);
    for (size_t i = 1; i < m->n; i++)
        if (m->one[i].along - m->one[i - 1].along < LENGTH_MM)
            diag_say(d, DIAG_ERROR, set->place, "set-place", "row %s: %s and %s have one place; give each its own in points",
                job_name(job, set->row), job_name(job, m->one[i - 1].name), job_name(job, m->one[i].name));
    return d->errors == errors;
}

/* ---- in and out ---- */

enum building { BUILDING_UNKNOWN, BUILDING_LEFT, BUILDING_RIGHT, BUILDING_BOTH };

static enum building
find_building(const struct job *job, const struct members *m, const struct axis *a)
{
    bool left = false, right = false;
    for (uint32_t i = 0; i < job->r->points && m->n > 1; i++) {
        const struct record_point *p = &job->r->point[i];
        struct site_place place;
        if ((p->kind != RECORD_POINT_POST && p->kind != RECORD_POINT_CORNER) || m->in[p->name] || job->point_of[p->name] != i
            || !job_place_of(job, p->name, &place))
            continue;
        double beside = beside_axis(a, place);
        left |= beside >= (double)SETTING_ASIDE;
        right |= beside <= -(double)SETTING_ASIDE;
    }
    return left && right ? BUILDING_BOTH : left ? BUILDING_LEFT : right ? BUILDING_RIGHT : BUILDING_UNKNOWN;
}

/* The words for this side and that of the string. False: said. */
static bool
find_ways(struct setting_row *row, enum building building, const struct job *job, struct diag *d)
{
    static const enum setting_way across[] = { SETTING_IN, SETTING_OUT, SETTING_RIGHT, SETTING_LEFT }; /* from a string that is out, in, left, right */
    enum record_side side = row->set->side;
    bool wall = building == BUILDING_LEFT || building == BUILDING_RIGHT;
    if (side <= RECORD_SIDE_IN && building == BUILDING_BOTH) {
        diag_say(d, DIAG_ERROR, row->set->side_place, "set-side",
            "row %s stands inside the building and has no in and out; write left or right, as seen from its beginning",
            job_name(job, row->set->row));
        return false;
    }
    if (wall && (side == RECORD_SIDE_LEFT || side == RECORD_SIDE_RIGHT))
        side = (side == RECORD_SIDE_LEFT) == (building == BUILDING_LEFT) ? RECORD_SIDE_IN : RECORD_SIDE_OUT;
    if (wall && side == RECORD_SIDE_UNSAID)
        side = RECORD_SIDE_OUT;
    row->away = side == RECORD_SIDE_UNSAID ? SETTING_FROM_STRING : across[side];
    row->to = side == RECORD_SIDE_UNSAID ? SETTING_TO_STRING : across[side ^ 1];
    return true;
}

enum setting_way
setting_way_of(const struct setting_row *row, length off)
{
    return off < 0 ? row->to : row->away;
}

/* ---- posts in their order ---- */

static const struct record_set_row *
row_at(const struct record *r, const struct record_set *set, uint32_t name)
{
    for (uint32_t i = 0; set && i < set->posts; i++)
        if (r->set_row[set->first + i].at == name)
            return &r->set_row[set->first + i];
    return NULL;
}

static int
fill_posts(struct setting_row *row, const struct record *r, const struct members *m)
{
    row->post = room_new(m->n, sizeof *row->post);
    if (!row->post)
        return -1;
    row->posts = m->n;
    for (size_t i = 0; i < m->n; i++) {
        struct setting_post *p = &row->post[i];
        *p = (struct setting_post){ .name = m->one[i].name, .along = m->one[i].along - m->one[0].along,
            .row = row_at(r, row->set, m->one[i].name), .before = row_at(r, row->before, m->one[i].name) };
        row->measured += p->row != NULL;
    }
    row->missing = row->posts - row->measured;
    return 0;
}

int
setting_place(const struct settings *s, struct setting_row *row, struct diag *d)
{
    struct members m;
    struct axis axis;
    int rc = gather(&m, s->job, row->set->row);
    bool crowd = rc == 0 && m.n > RECORD_SET_MOST; /* points and entries together */
    if (crowd)
        diag_say(d, DIAG_ERROR, row->set->place, "set-place", "row %s has %zu posts, and a row has %d at most; give them as two rows",
            job_name(s->job, row->set->row), m.n, RECORD_SET_MOST);
    if (rc == 0 && m.one && !crowd && find_places(&m, s->job, row->set, d)) {
        find_axis(&m, &axis);
        if (lay_out(&m, &axis, s->job, row->set, d) && find_ways(row, find_building(s->job, &m, &axis), s->job, d))
            rc = fill_posts(row, s->job->r, &m);
    }
    free(m.one);
    free(m.in);
    return rc;
}
