/* rows.c - points that stand in one line */
#include "rodbook/rows.h"

#include "parts.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { POSTS, BATTENS, GROUND, CLASSES };

/* A placed point of the job. */
struct member {
    uint32_t name, point;
    struct site_place at;
    int class;
    const char *text;   /* its name... */
    size_t stem;        /* ...and how much of it stands before the number at its end */
};

/* A line with its members: list[first ... first + count - 1]. */
struct line {
    int axis;      /* 0 along x, 1 along y, 2 otherwise */
    int class;
    size_t first, count;
    length across; /* of axis 0 its y, of 1 its x: that of its first member */
    bool gone;     /* shown with another one */
};

struct search {
    const struct job *job;
    struct member *member; /* class by class, each by name */
    size_t members, of[CLASSES + 1];
    uint32_t *list;        /* members of lines */
    size_t used, list_room;
    struct line *line;
    size_t lines, line_room;
    uint32_t *first_stake, *next_stake; /* [names], [stakes] */
    bool no_memory;
};

/* ---- points ---- */

static int
class_of(enum record_point_kind kind)
{
    static const int class[RECORD_POINT_KINDS + 1] = { [RECORD_POINT_BATTEN] = BATTENS, [RECORD_POINT_POST] = POSTS,
        [RECORD_POINT_CORNER] = POSTS, [RECORD_POINT_FOOTING] = POSTS, [RECORD_POINT_GROUND] = GROUND, [RECORD_POINT_KINDS] = CLASSES };
    return class[kind];
}

static size_t
stem_of(const char *text)
{
    size_t n = strlen(text);
    while (n > 0 && text[n - 1] >= '0' && text[n - 1] <= '9')
        n--;
    return n;
}

/* By stem, then by number: of two without leading noughts the longer is the greater. */
static int
by_name(const struct member *a, const struct member *b)
{
    size_t n = a->stem < b->stem ? a->stem : b->stem;
    int stem = memcmp(a->text, b->text, n);
    if (stem != 0 || a->stem != b->stem)
        return stem != 0 ? stem : a->stem < b->stem ? -1 : 1;
    const char *x = a->text + n + strspn(a->text + n, "0"), *y = b->text + n + strspn(b->text + n, "0");
    size_t digits = strlen(x), others = strlen(y);
    if (digits != others)
        return digits < others ? -1 : 1;
    int number = strcmp(x, y);
    return number != 0 ? number : a->name < b->name ? -1 : a->name > b->name;
}

static int
compare_members(const void *one, const void *other)
{
    const struct member *a = one, *b = other;
    return a->class != b->class ? a->class - b->class : by_name(a, b);
}

static int
gather(struct search *s)
{
    const struct record *r = s->job->r;
    s->member = room_new(r->points, sizeof *s->member);
    if (!s->member)
        return -1;
    for (uint32_t i = 0; i < r->points; i++) {
        const struct record_point *p = &r->point[i];
        int class = class_of(p->kind);
        if (!p->placed || class == CLASSES || s->job->point_of[p->name] != i)
            continue;
        const char *text = names_text(&r->names, p->name);
        s->member[s->members++] = (struct member){ p->name, i, { p->x, p->y }, class, text, stem_of(text) };
    }
    qsort(s->member, s->members, sizeof *s->member, compare_members);
    for (int k = 0; k < CLASSES; k++) {
        s->of[k + 1] = s->of[k];
        while (s->of[k + 1] < s->members && s->member[s->of[k + 1]].class == k)
            s->of[k + 1]++;
    }
    return 0;
}

/* ---- lines ---- */

static length
off(length a, length b)
{
    return a < b ? b - a : a - b;
}

static length
coordinate(const struct member *m, int axis)
{
    return axis == 0 ? m->at.x : m->at.y;
}

/* Along which axis two places lie: 2 for neither. */
static int
axis_of(struct site_place a, struct site_place b)
{
    return off(a.y, b.y) <= ROWS_ASIDE ? 0 : off(a.x, b.x) <= ROWS_ASIDE ? 1 : 2;
}

/* Along the way from a to b, and aside from it to the left, of a place; nm. */
static void
project(struct site_place a, struct site_place b, struct site_place at, double *along, double *aside)
{
    double dx = (double)(b.x - a.x), dy = (double)(b.y - a.y), far = hypot(dx, dy);
    double x = (double)(at.x - a.x), y = (double)(at.y - a.y);
    *along = (x * dx + y * dy) / far;
    *aside = (dx * y - dy * x) / far;
}

static void
add_to_list(struct search *s, uint32_t member)
{
    uint32_t *list = room_for(s->list, &s->list_room, s->used, sizeof *list);
    s->no_memory |= !list;
    if (!list)
        return;
    s->list = list;
    list[s->used++] = member;
}

/* A line of the members that were put on the list from `first` on. */
static void
add_line(struct search *s, int axis, int class, size_t first)
{
    struct line *line = room_for(s->line, &s->line_room, s->lines, sizeof *line);
    s->no_memory |= !line;
    if (!line || s->no_memory)
        return;
    s->line = line;
    length across = axis == 2 ? 0 : coordinate(&s->member[s->list[first]], !axis);
    line[s->lines++] = (struct line){ axis, class, first, s->used - first, across, false };
}

/* Whether all members from `first` to `last` are in line with the two. */
static bool
in_line(const struct search *s, size_t first, size_t last)
{
    struct site_place a = s->member[first].at, b = s->member[last].at;
    if (a.x == b.x && a.y == b.y)
        return false;
    for (size_t i = first + 1; i < last; i++) {
        double along, aside;
        project(a, b, s->member[i].at, &along, &aside);
        if (!(fabs(aside) <= (double)ROWS_ASIDE))
            return false;
    }
    return true;
}

/* Where the stretch in line ends that begins at `first`; the names have one stem up to `end`. */
static size_t
stretch_end(const struct search *s, size_t first, size_t end)
{
    size_t last = first;
    while (last + 1 < end && in_line(s, first, last + 1))
        last++;
    return last;
}

static bool
one_stem(const struct member *a, const struct member *b)
{
    return a->stem == b->stem && a->text[a->stem] && b->text[b->stem] && memcmp(a->text, b->text, a->stem) == 0;
}

/* Rows by name: stretches in line, walked by number. */
static void
lines_by_name(struct search *s, int class, size_t least)
{
    for (size_t begin = s->of[class], end; begin < s->of[class + 1]; begin = end) {
        for (end = begin + 1; end < s->of[class + 1] && one_stem(&s->member[begin], &s->member[end]);)
            end++;
        for (size_t first = begin, last; first + 1 < end; first = last > first ? last : first + 1) {
            last = stretch_end(s, first, end);
            int axis = axis_of(s->member[first].at, s->member[last].at);
            size_t from = s->used, count = last - first + 1;
            if (count < least || (count < 3 && axis == 2))
                continue;
            for (size_t i = first; i <= last; i++)
                add_to_list(s, (uint32_t)i);
            add_line(s, axis, class, from);
        }
    }
}

/* The members of a class of which a coordinate is within the tolerance of a value. */
static void
gather_across(struct search *s, int class, int axis, length across)
{
    for (size_t i = s->of[class]; i < s->of[class + 1]; i++)
        if (off(coordinate(&s->member[i], !axis), across) <= ROWS_ASIDE)
            add_to_list(s, (uint32_t)i);
}

/* Whether a line along the same axis has all members of the list from `first` on. */
static bool
had(const struct search *s, int axis, size_t first)
{
    for (size_t k = 0; k < s->lines; k++) {
        const struct line *line = &s->line[k];
        size_t found = 0;
        for (size_t i = first; line->axis == axis && i < s->used; i++)
            for (size_t j = line->first; j < line->first + line->count; j++)
                found += s->list[j] == s->list[i];
        if (found == s->used - first && found > 0)
            return true;
    }
    return false;
}

static void
outer_wall(struct search *s, int axis, length across)
{
    size_t first = s->used;
    gather_across(s, POSTS, axis, across);
    if (s->used - first < 2 || had(s, axis, first))
        s->used = first;
    else
        add_line(s, axis, POSTS, first);
}

/* The least and greatest x, y of a class. False where it is empty. */
static bool
box_of(const struct search *s, int class, length low[2], length high[2])
{
    for (size_t i = s->of[class]; i < s->of[class + 1]; i++)
        for (int axis = 0; axis < 2; axis++) {
            length v = coordinate(&s->member[i], axis);
            low[axis] = i == s->of[class] || v < low[axis] ? v : low[axis];
            high[axis] = i == s->of[class] || v > high[axis] ? v : high[axis];
        }
    return s->of[class] < s->of[class + 1];
}

static void
outer_walls(struct search *s)
{
    length low[2], high[2];
    if (!box_of(s, POSTS, low, high))
        return;
    for (int axis = 0; axis < 2; axis++) {
        outer_wall(s, axis, low[!axis]);
        if (off(low[!axis], high[!axis]) > ROWS_ASIDE)
            outer_wall(s, axis, high[!axis]);
    }
}

/* ---- strings ---- */

/* How far outside the posts a line along an axis runs; 0 among them. */
static length
outside(length low, length high, length across)
{
    return across < low ? low - across : across > high ? across - high : 0;
}

/* A batten in one of the two directions. */
struct across {
    length at;       /* its y where the string would run along x, else its x */
    uint32_t member;
    uint32_t group;  /* of battens in line: the first of them */
};

static int
compare_across(const void *one, const void *other)
{
    const struct across *a = one, *b = other;
    return a->at != b->at ? (a->at < b->at ? -1 : 1) : a->member < b->member ? -1 : a->member > b->member;
}

/* Battens sorted across an axis and grouped; fellows[] of each gets how many its group has, itself included. */
static void
group_battens(const struct search *s, int axis, struct across *a, size_t *fellows)
{
    size_t first = s->of[BATTENS], n = s->of[BATTENS + 1] - first;
    for (size_t i = 0; i < n; i++)
        a[i] = (struct across){ coordinate(&s->member[first + i], !axis), (uint32_t)(first + i), 0 };
    qsort(a, n, sizeof *a, compare_across);
    for (size_t begin = 0, end; begin < n; begin = end) {
        for (end = begin; end < n && a[end].at - a[begin].at <= ROWS_ASIDE; end++)
            a[end].group = (uint32_t)begin;
        for (size_t i = begin; i < end; i++)
            fellows[a[i].member - first] = end - begin;
    }
}

/* Along which axes the string of a batten may run, as bits. */
static unsigned
axes_of(const struct member *m, size_t along_x, size_t along_y, bool box, const length low[2], const length high[2])
{
    unsigned both = (along_x > 1 ? 1u : 0u) | (along_y > 1 ? 2u : 0u);
    if (both != 3 || !box)
        return both;
    length y = outside(low[1], high[1], m->at.y), x = outside(low[0], high[0], m->at.x);
    return off(x, y) <= ROWS_ASIDE ? 3 : y < x ? 1 : 2;
}

/* A line of each group that two battens or more choose. */
static void
string_lines(struct search *s, int axis, const struct across *a, const unsigned *axes)
{
    size_t base = s->of[BATTENS], n = s->of[BATTENS + 1] - base;
    for (size_t begin = 0, end; begin < n; begin = end) {
        size_t first = s->used;
        for (end = begin; end < n && a[end].group == begin; end++)
            if (axes[a[end].member - base] & (1u << axis))
                add_to_list(s, a[end].member);
        if (s->used - first < 2)
            s->used = first;
        else
            add_line(s, axis, BATTENS, first);
    }
}

static int
find_strings(struct search *s)
{
    size_t first = s->of[BATTENS], n = s->of[BATTENS + 1] - first;
    length low[2] = { 0, 0 }, high[2] = { 0, 0 };
    bool box = box_of(s, POSTS, low, high);
    struct across *a[2] = { room_new(n, sizeof **a), room_new(n, sizeof **a) };
    size_t *fellows[2] = { room_new(n, sizeof **fellows), room_new(n, sizeof **fellows) };
    unsigned *axes = room_new(n, sizeof *axes);
    int rc = a[0] && a[1] && fellows[0] && fellows[1] && axes ? 0 : -1;
    for (int axis = 0; rc == 0 && axis < 2; axis++)
        group_battens(s, axis, a[axis], fellows[axis]);
    for (size_t i = 0; rc == 0 && i < n; i++)
        axes[i] = axes_of(&s->member[first + i], fellows[0][i], fellows[1][i], box, low, high);
    for (int axis = 0; rc == 0 && axis < 2; axis++)
        string_lines(s, axis, a[axis], axes);
    for (int axis = 0; axis < 2; axis++) {
        free(a[axis]);
        free(fellows[axis]);
    }
    free(axes);
    return rc;
}

/* ---- what is shown together ---- */

/* The part of its axis that a line covers. */
static void
range_of(const struct search *s, const struct line *line, length *from, length *to)
{
    for (size_t i = line->first; i < line->first + line->count; i++) {
        length v = coordinate(&s->member[s->list[i]], line->axis);
        *from = i == line->first || v < *from ? v : *from;
        *to = i == line->first || v > *to ? v : *to;
    }
}

static bool
beside(const struct search *s, const struct line *line, const struct line *other)
{
    length from = 0, to = 0, begin = 0, end = 0;
    if (line->axis != other->axis || line->axis == 2 || off(line->across, other->across) > ROWS_BESIDE)
        return false;
    range_of(s, line, &from, &to);
    range_of(s, other, &begin, &end);
    return begin <= to + ROWS_BESIDE && end >= from - ROWS_BESIDE;
}

/* A line of posts beside a string goes with it. */
static void
join_posts(struct search *s)
{
    for (size_t k = 0; k < s->lines; k++)
        for (size_t i = 0; s->line[k].class == POSTS && i < s->lines; i++)
            s->line[k].gone |= s->line[i].class == BATTENS && beside(s, &s->line[i], &s->line[k]);
}

/* ---- rows ---- */

struct shown {
    struct rows_point point;
    double along;
};

static int
compare_shown(const void *one, const void *other)
{
    const struct shown *a = one, *b = other;
    return a->along != b->along ? (a->along < b->along ? -1 : 1) : a->point.name < b->point.name ? -1 : a->point.name > b->point.name;
}

struct making {
    const struct search *s;
    struct rows *rows;
    struct shown *shown;
    size_t n, room;
    bool no_memory;
};

static uint32_t
known_spot(const struct job *job, uint32_t name, uint32_t on)
{
    uint32_t spot = job->spot_of[(size_t)name * RECORD_ON_COUNT + on];
    return spot != JOB_NONE && job->level_spot[spot].state != LEVEL_UNKNOWN ? spot : JOB_NONE;
}

/* A corner is a place on the plan; it stands in a row where it was read. */
static bool
is_shown(const struct job *job, const struct member *member)
{
    bool any = job->r->point[member->point].kind != RECORD_POINT_CORNER;
    for (uint32_t on = 0; on < RECORD_ON_COUNT; on++)
        any |= known_spot(job, member->name, on) != JOB_NONE;
    return any;
}

static void
show(struct making *m, const struct member *member, struct site_place a, struct site_place b)
{
    const struct job *job = m->s->job;
    double along, aside;
    for (size_t i = 0; i < m->n; i++)
        if (m->shown[i].point.name == member->name)
            return;
    if (!is_shown(job, member))
        return;
    struct shown *shown = room_for(m->shown, &m->room, m->n, sizeof *shown);
    m->no_memory |= !shown;
    if (!shown)
        return;
    m->shown = shown;
    project(a, b, member->at, &along, &aside);
    struct rows_point *p = &shown[m->n].point;
    *p = (struct rows_point){ .name = member->name, .kind = (uint8_t)job->r->point[member->point].kind, .aside = llround(aside) };
    for (uint32_t on = 0; on < RECORD_ON_COUNT; on++)
        p->spot[on] = known_spot(job, member->name, on);
    shown[m->n++].along = along;
}

/* Posts and ground shots beside a line along an axis. */
static void
show_beside(struct making *m, const struct line *line, struct site_place a, struct site_place b)
{
    const struct search *s = m->s;
    length from = 0, to = 0;
    range_of(s, line, &from, &to);
    for (size_t i = 0; i < s->members; i++) {
        const struct member *member = &s->member[i];
        length along = coordinate(member, line->axis);
        if (member->class != BATTENS && off(coordinate(member, !line->axis), line->across) <= ROWS_BESIDE && along >= from - ROWS_BESIDE
            && along <= to + ROWS_BESIDE)
            show(m, member, a, b);
    }
}

static size_t
with_elevation(const struct making *m)
{
    size_t n = 0;
    for (size_t i = 0; i < m->n; i++) {
        bool any = false;
        for (uint32_t on = 0; on < RECORD_ON_COUNT; on++)
            any |= m->shown[i].point.spot[on] != JOB_NONE;
        n += any;
    }
    return n;
}

/* ---- grades over a row ---- */

static int
list_stakes(struct search *s)
{
    const struct job *job = s->job;
    s->first_stake = room_new(job->names, sizeof *s->first_stake);
    s->next_stake = room_new(job->stakes, sizeof *s->next_stake);
    if (!s->first_stake || !s->next_stake)
        return -1;
    memset(s->first_stake, 0xff, job->names * sizeof *s->first_stake);
    for (uint32_t i = (uint32_t)job->stakes; i-- > 0;) {
        s->next_stake[i] = s->first_stake[job->stake[i].at];
        s->first_stake[job->stake[i].at] = i;
    }
    return 0;
}

/* A grade of the row, with nothing known of it yet; NULL without memory. */
static struct rows_grade *
grade_of(struct making *m, struct rows_row *row, uint32_t grade)
{
    struct rows *rows = m->rows;
    for (size_t i = row->first_grade; i < row->first_grade + row->grades; i++)
        if (rows->grade[i].grade == grade)
            return &rows->grade[i];
    struct rows_grade *g = room_for(rows->grade, &rows->grade_room, rows->grades, sizeof *g);
    rows->grade = g ? g : rows->grade;
    for (size_t i = 0; g && i < row->count; i++) {
        length *level = room_for(rows->level, &rows->level_room, rows->levels, sizeof *level);
        rows->level = level ? level : rows->level;
        bool *known = room_for(rows->known, &rows->known_room, rows->levels, sizeof *known);
        rows->known = known ? known : rows->known;
        if (!level || !known)
            return NULL;
        level[rows->levels] = 0;
        known[rows->levels++] = false;
    }
    if (!g)
        return NULL;
    row->grades++;
    g[rows->grades++] = (struct rows_grade){ grade, rows->levels - row->count };
    return &g[rows->grades - 1];
}

static int
add_grades(struct making *m, struct rows_row *row)
{
    const struct search *s = m->s;
    row->first_grade = m->rows->grades;
    for (size_t i = 0; i < row->count; i++)
        for (uint32_t k = s->first_stake[m->rows->point[row->first + i].name]; k != JOB_NONE; k = s->next_stake[k]) {
            const struct job_stake *stake = &s->job->stake[k];
            struct rows_grade *g = stake->has_grade ? grade_of(m, row, stake->grade_index) : NULL;
            if (stake->has_grade && !g)
                return -1;
            if (!g)
                continue;
            m->rows->level[g->first + i] = stake->grade;
            m->rows->known[g->first + i] = true;
        }
    return 0;
}

static bool
row_has(const struct rows *rows, const struct rows_row *row, uint32_t name)
{
    for (size_t k = row->first; k < row->first + row->count; k++)
        if (rows->point[k].name == name)
            return true;
    return false;
}

/* Whether a row that is kept shows all of it already. */
static bool
shown_before(const struct making *m)
{
    for (size_t i = 0; i < m->rows->rows; i++) {
        size_t found = 0;
        while (found < m->n && row_has(m->rows, &m->rows->row[i], m->shown[found].point.name))
            found++;
        if (found == m->n)
            return true;
    }
    return false;
}

/* What was shown becomes a row. */
static int
keep_row(struct making *m, const struct line *line)
{
    struct rows *rows = m->rows;
    struct rows_row *row = room_for(rows->row, &rows->row_room, rows->rows, sizeof *row);
    if (!row || !m->shown)
        return -1;
    rows->row = row;
    row += rows->rows;
    *row = (struct rows_row){ .kind = line->class == GROUND ? ROWS_GROUND : ROWS_WALL, .first = rows->points, .count = m->n };
    qsort(m->shown, m->n, sizeof *m->shown, compare_shown);
    for (size_t i = 0; i < m->n; i++) {
        struct rows_point *p = room_for(rows->point, &rows->point_room, rows->points, sizeof *p);
        if (!p)
            return -1;
        rows->point = p;
        m->shown[i].point.along = llround(m->shown[i].along - m->shown[0].along);
        int class = class_of((enum record_point_kind)m->shown[i].point.kind);
        row->battens |= class == BATTENS;
        row->posts |= class == POSTS;
        p[rows->points++] = m->shown[i].point;
    }
    rows->rows++;
    return add_grades(m, row);
}

/* Along x and y the way of greater coordinates, else from its first member to its last. */
static void
ends_of(const struct search *s, const struct line *line, struct site_place *a, struct site_place *b)
{
    *a = s->member[s->list[line->first]].at;
    *b = s->member[s->list[line->first + line->count - 1]].at;
    if (line->axis == 2)
        return;
    length from = 0, to = 0;
    range_of(s, line, &from, &to);
    *a = line->axis == 0 ? (struct site_place){ from, line->across } : (struct site_place){ line->across, from };
    *b = line->axis == 0 ? (struct site_place){ to, line->across } : (struct site_place){ line->across, to };
}

static int
make_row(struct making *m, const struct line *line)
{
    struct site_place a, b;
    m->n = 0;
    ends_of(m->s, line, &a, &b);
    if (line->gone || (a.x == b.x && a.y == b.y))
        return 0;
    for (size_t i = line->first; i < line->first + line->count; i++)
        show(m, &m->s->member[m->s->list[i]], a, b);
    if (line->axis != 2 && line->class != GROUND)
        show_beside(m, line, a, b);
    if (m->no_memory)
        return -1;
    return with_elevation(m) < 2 || shown_before(m) ? 0 : keep_row(m, line);
}

static int
compare_lines(const void *one, const void *other)
{
    const struct line *a = one, *b = other;
    int ground = (a->class == GROUND) - (b->class == GROUND);
    if (ground != 0 || a->axis != b->axis)
        return ground != 0 ? ground : a->axis - b->axis;
    if (a->across != b->across)
        return a->across < b->across ? -1 : 1;
    if (a->count != b->count)
        return a->count > b->count ? -1 : 1; /* so that what it shows whole comes behind it */
    return a->first < b->first ? -1 : a->first > b->first;
}

static int
find_rows(struct search *s, struct rows *rows)
{
    int rc = gather(s);
    if (rc != 0 || (rc = list_stakes(s)) != 0)
        return rc;
    lines_by_name(s, POSTS, 2);
    outer_walls(s);
    rc = find_strings(s);
    lines_by_name(s, GROUND, 3);
    if (rc != 0 || s->no_memory)
        return -1;
    join_posts(s);
    if (s->lines > 0)
        qsort(s->line, s->lines, sizeof *s->line, compare_lines);
    struct making m = { .s = s, .rows = rows };
    for (size_t i = 0; rc == 0 && i < s->lines; i++)
        rc = make_row(&m, &s->line[i]);
    free(m.shown);
    return rc;
}

int
rows_open(struct rows *rows, const struct job *job)
{
    struct search s = { .job = job };
    *rows = (struct rows){ 0 };
    int rc = find_rows(&s, rows);
    free(s.member);
    free(s.list);
    free(s.line);
    free(s.first_stake);
    free(s.next_stake);
    return rc;
}

void
rows_release(struct rows *rows)
{
    free(rows->row);
    free(rows->point);
    free(rows->grade);
    free(rows->level);
    free(rows->known);
    *rows = (struct rows){ 0 };
}
