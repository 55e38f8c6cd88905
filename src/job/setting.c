/* setting.c - rows of posts as they stand after setting */
#include "rodbook/setting.h"

#include "parts.h"

#include "rodbook/chance.h"
#include "rodbook/room.h"
#include "rodbook/sure.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define M ((double)LENGTH_M) /* nm in a metre */
#define LEAST_ERROR 1e-5     /* m: a height that is held has no error, and a fit wants one; nothing on a site is known better */

static length
whole(double m)
{
    return (length)floor(m * M + 0.5);
}

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
            "row %s: %s %s no place along the row; give x and y in points: {x: 6, y: 0, kind: post}", job_name(job, set->row), list,
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

/* ---- verdicts ---- */

static enum setting_verdict
judge(length off, length tolerance, double sigma, double factor)
{
    if (tolerance <= 0)
        return SETTING_NOT_JUDGED;
    struct site_move move = site_move(off, 0, tolerance);
    if (sigma >= 0 && !(factor * sigma < site_decides_below(move, tolerance)))
        return SETTING_UNSURE;
    return move.leave ? SETTING_GOOD : SETTING_OFF;
}

static void
count_verdict(struct setting_row *row, enum setting_verdict verdict)
{
    row->good &= verdict != SETTING_OFF && verdict != SETTING_UNSURE;
}

/* ---- lines ---- */

/* Room for one line through the posts of a row. */
struct drawing {
    double *place, *offset, *error, *room; /* m; [posts], room [2 posts] */
    struct site_lineup_post *post;
    uint32_t *of; /* [posts] into row->post */
    double *chisq, *student;
    size_t n;
};

static void
drawing_release(struct drawing *w)
{
    free(w->place);
    free(w->post);
    free(w->of);
}

static int
drawing_open(struct drawing *w, size_t posts)
{
    *w = (struct drawing){ .place = room_new(7 * (posts + 1), sizeof *w->place), .post = room_new(posts, sizeof *w->post),
        .of = room_new(posts, sizeof *w->of) };
    if (!w->place || !w->post || !w->of) {
        drawing_release(w);
        return -1;
    }
    w->offset = w->place + posts + 1;
    w->error = w->offset + posts + 1;
    w->chisq = w->error + posts + 1;
    w->student = w->chisq + posts + 1;
    w->room = w->student + posts + 1; /* two of them */
    return 0;
}

/* For n posts together: one in 1 / (1 - confidence) clean rows has anybody named. */
static struct site_lineup_limits
limits_of(const struct drawing *w, double confidence)
{
    struct site_lineup_limits l = { .chisq = w->chisq, .student = w->student, .odds = 2 * log(confidence / (1 - confidence)) };
    double each = -expm1(log(confidence) / (double)w->n) / 2;
    (void)chance_normal_at(each, CHANCE_ABOVE, &l.normal);
    for (size_t df = 1; df + 2 < w->n; df++) {
        (void)chance_chisq_at(1 - confidence, CHANCE_ABOVE, df, &w->chisq[df]);
        (void)chance_student_at(each, CHANCE_ABOVE, df, &w->student[df]);
    }
    return l;
}

static void
add_to_drawing(struct drawing *w, const struct setting_row *row, size_t post, length offset, double error)
{
    w->place[w->n] = (double)row->post[post].along / M;
    w->offset[w->n] = (double)offset / M;
    w->error[w->n] = error > LEAST_ERROR ? error : LEAST_ERROR;
    w->of[w->n++] = (uint32_t)post;
}

/* The line, from 3 posts on; what it says of each post stands in w->post. */
static void
draw(struct drawing *w, const struct settings *s, struct setting_line *line)
{
    line->read = w->n;
    if (w->n < 3)
        return;
    struct site_lineup_limits limits = limits_of(w, s->confidence);
    if (site_lineup(w->place, w->offset, w->error, w->n, &limits, w->room, &line->fit, w->post) != SITE_LINEUP_OK)
        return; /* cannot be: places are a millimetre apart or more */
    line->known = true;
    line->from = w->of[0];
    line->to = w->of[w->n - 1];
    line->first = whole(line->fit.at + line->fit.slope * w->place[0]);
    line->last = whole(line->fit.at + line->fit.slope * w->place[w->n - 1]);
    if (w->n > 3)
        return;
    double error, middle = site_lineup_middle(w->place, w->offset, w->error, &error);
    line->middle = whole(middle);
    line->bent = fabs(middle) > s->factor * error;
    line->known = !line->bent; /* a line through all three is nobody's */
    for (int i = 0; i < 3; i++)
        line->three[i] = w->of[i];
}

/* Off the line of the others, where these can be told from those that are off. */
static bool
is_out(const struct drawing *w, const struct setting_line *line, size_t i)
{
    return w->post[i].out && !line->fit.crowded;
}

/* Another that may be off in its stead, into row->post; JOB_NONE. */
static uint32_t
rival_of(const struct drawing *w, size_t i)
{
    return w->post[i].out && w->post[i].rival < w->n ? w->of[w->post[i].rival] : JOB_NONE;
}

/* A rogue: it, and no other, and beyond what the crew allows. */
static bool
is_rogue(bool out, uint32_t rival, length own, length tolerance)
{
    return out && rival == JOB_NONE && tolerance > 0 && (own >= tolerance || -own >= tolerance);
}

static int
gap_line(const struct settings *s, struct setting_row *row)
{
    struct drawing w;
    struct setting_line *line = &row->line;
    double sigma = (double)row->sigma / M;
    length tolerance = row->set->line;
    if (drawing_open(&w, row->posts) != 0)
        return -1;
    for (size_t i = 0; i < row->posts; i++)
        if (row->post[i].has_gap)
            add_to_drawing(&w, row, i, row->post[i].gap, sigma);
    draw(&w, s, line);
    for (size_t i = 0; i < w.n && line->known; i++) {
        struct setting_post *p = &row->post[w.of[i]];
        p->has_own = true;
        p->own = whole(w.post[i].off);
        p->own_sigma = w.post[i].error;
        p->out = is_out(&w, line, i);
        p->rival = rival_of(&w, i);
        p->rogue = is_rogue(p->out, p->rival, p->own, tolerance);
        row->rogues += p->rogue;
    }
    drawing_release(&w);
    if (!line->known || !row->set->has_gap)
        return 0;
    line->first -= row->set->gap;
    line->last -= row->set->gap;
    double from = (double)row->post[line->from].along / M, to = (double)row->post[line->to].along / M;
    line->first_verdict = judge(line->first, tolerance, site_lineup_error(&line->fit, from), s->factor);
    line->last_verdict = judge(line->last, tolerance, site_lineup_error(&line->fit, to), s->factor);
    return 0;
}

/* ---- one post's face ---- */

static bool
gap_of(const struct record_set_row *row, length *gap)
{
    if (!row || (!row->has_gap && !row->has_two))
        return false;
    *gap = row->has_gap ? row->gap : row->low;
    return true;
}

static void
compare(const struct settings *s, const struct setting_row *row, struct setting_post *p)
{
    length was;
    if (!p->has_gap || !gap_of(p->before, &was))
        return;
    double mine = (double)row->sigma / M, old = row->before->sigma > 0 ? row->before->sigma : mine;
    p->has_change = true;
    p->change = p->gap - was;
    if (row->set->has_gap && row->before->has_gap)
        p->change -= row->set->gap - row->before->gap;
    p->change_sure = fabs((double)p->change / M) > s->factor * hypot(mine, old);
}

static void
face_of(const struct settings *s, const struct setting_row *row, struct setting_post *p)
{
    p->own_sigma = -1;
    p->has_gap = gap_of(p->row, &p->gap);
    if (!p->has_gap)
        return;
    p->touches = p->gap <= 0;
    p->has_off = row->set->has_gap;
    p->off = p->has_off ? p->gap - row->set->gap : 0;
    p->has_high = p->row->has_two && p->has_off;
    p->high_off = p->has_high ? p->row->high - row->set->gap : 0;
    compare(s, row, p);
}

static void
judge_face(const struct settings *s, struct setting_row *row, struct setting_post *p)
{
    if (p->has_off)
        p->line = judge(p->off, row->set->line, (double)row->sigma / M, s->factor);
    else if (p->has_own)
        p->line = judge(p->own, row->set->line, p->own_sigma, s->factor);
    else if (p->has_gap && row->set->line > 0)
        p->line = SETTING_UNSURE;
    count_verdict(row, p->line);
    row->touched |= p->touches;
    row->good &= !(p->touches && (p->gap < 0 || row->set->gap > 0)) && !p->rogue;
}

static void
judge_lean(const struct settings *s, struct setting_row *row, struct setting_lean *lean, double sigma)
{
    length rise = row->set->plumb_rise, over = row->set->plumb_over;
    if (!lean->known)
        return;
    lean->angle = site_lineup_plumb((double)lean->rise, (double)lean->over);
    if (over > 0)
        lean->verdict = judge(length_divide(lean->rise, over, lean->over), rise, sigma * (double)over / (double)lean->over, s->factor);
    count_verdict(row, lean->verdict);
}

static struct setting_lean
lean_by_level(const struct record_lean *lean)
{
    static const enum setting_way ways[] = { SETTING_IN, SETTING_OUT, SETTING_LEFT, SETTING_RIGHT, SETTING_START, SETTING_END,
        SETTING_UNSAID }; /* enum record_lean_way */
    return (struct setting_lean){ .known = lean->over > 0, .rise = lean->rise, .over = lean->over, .way = ways[lean->way] };
}

static void
plumb_of(const struct settings *s, struct setting_row *row, struct setting_post *p)
{
    double sigma = (double)row->sigma / M;
    if (!p->row)
        return;
    p->lean[SETTING_ALONG] = lean_by_level(&p->row->along);
    p->lean[SETTING_ACROSS] = lean_by_level(&p->row->across);
    if (p->row->has_two) {
        length rise = p->row->high - p->row->low;
        p->lean[SETTING_ACROSS] = (struct setting_lean){ .known = true, .rise = rise < 0 ? -rise : rise, .over = p->row->apart,
            .way = setting_way_of(row, rise) };
    }
    judge_lean(s, row, &p->lean[SETTING_ACROSS], p->row->has_two ? sqrt(2) * sigma : sigma);
    judge_lean(s, row, &p->lean[SETTING_ALONG], sigma);
}

/* ---- heights ---- */

/* The grade that posts are held against: one that names posts, else one for every kind; `grades` says how many there are. */
static void
find_grade(const struct job *job, struct setting_row *row)
{
    const uint32_t post = UINT32_C(1) << RECORD_POINT_POST;
    for (int general = 0; general < 2 && row->grades == 0; general++)
        for (size_t g = 0; g < job->grades; g++) {
            uint32_t serves = job->grade[g].from->serves;
            if ((serves == UINT32_MAX) != (general == 1) || !(serves & post))
                continue;
            row->grade = &job->grade[g];
            row->grades++;
        }
    if (row->grades == 0 && job->grades == 1) { /* --grade: for every kind of point */
        row->grade = &job->grade[0];
        row->grades = 1;
    }
    if (row->grades != 1)
        row->grade = NULL;
}

static const struct job_stake *
stake_of(const struct job *job, const struct job_grade *grade, uint32_t spot)
{
    for (size_t i = 0; grade && i < job->stakes; i++)
        if (job->stake[i].spot == spot && &job->grade[job->stake[i].grade_index] == grade)
            return &job->stake[i];
    return NULL;
}

static const enum record_on height_on[SETTING_HEIGHTS] = { RECORD_ON_POST, RECORD_ON_TOP };

static void
hold_to_grade(const struct settings *s, struct setting_row *row, struct setting_height *h, int what)
{
    const struct job_stake *stake = stake_of(s->job, row->grade, h->spot);
    bool top = what == SETTING_TOP;
    if (!h->known || !stake || !stake->has_grade || (top && !row->set->has_reveal))
        return;
    h->has_grade = true;
    h->grade = stake->grade + (top ? row->set->reveal : 0);
    h->off = h->elevation - h->grade;
    h->sigma = stake->sigma;
    h->verdict = judge(h->off, row->set->height, h->sigma, s->factor);
    count_verdict(row, h->verdict);
}

/* `newest`: entry of the last reading of each spot, as index + 1. */
static void
height_of(const struct settings *s, struct setting_row *row, struct setting_post *p, int what, const uint32_t *newest)
{
    const struct job *job = s->job;
    struct setting_height *h = &p->height[what];
    h->spot = job->spot_of[(size_t)p->name * RECORD_ON_COUNT + height_on[what]];
    h->sigma = -1;
    h->read = h->spot != JOB_NONE && (job->spot[h->spot].row != JOB_NONE || job->level_spot[h->spot].readings > 0);
    if (!h->read)
        return;
    const struct level_spot *l = &job->level_spot[h->spot];
    h->adrift = l->state == LEVEL_UNKNOWN;
    h->outside = !h->adrift && l->quality == LEVEL_OUTSIDE;
    h->unchecked = !h->adrift && l->quality == LEVEL_UNCHECKED;
    h->known = !h->adrift && !h->outside;
    h->elevation = l->value;
    h->old = row->before && newest[h->spot] > 0 && newest[h->spot] <= row->before->entry;
    uint32_t before = job->spot[h->spot].before;
    h->moved = h->known && before != JOB_NONE && job->level_spot[before].state != LEVEL_UNKNOWN
        && job->level_spot[before].quality != LEVEL_OUTSIDE;
    h->change = h->moved ? l->value - job->level_spot[before].value : 0;
    hold_to_grade(s, row, h, what);
}

/* Errors of their own, m, of the heights in the drawing: u_i + u_j = Var(z_i - z_j), by least squares over all pairs. */
static int
own_errors(const struct settings *s, const struct setting_row *row, const struct adjust *a, struct drawing *w, int what)
{
    const struct job *job = s->job;
    double *difference = room_new(job->spots, sizeof *difference), all = 0;
    double *sum = room_new(w->n, sizeof *sum);
    bool known = true;
    int rc = difference && sum ? 0 : -1;
    for (size_t i = 0; rc == 0 && i < w->n; i++) {
        rc = adjust_difference(a, row->post[w->of[i]].height[what].spot, difference);
        for (size_t j = 0; rc == 0 && j < w->n; j++) {
            double sigma = difference[row->post[w->of[j]].height[what].spot];
            if (j == i)
                continue;
            known &= sigma >= 0;
            sum[i] += sigma * sigma;
        }
        all += rc == 0 ? sum[i] : 0;
    }
    for (size_t i = 0; rc == 0 && known && i < w->n; i++) {
        double u = (sum[i] - all / 2 / (double)(w->n - 1)) / (double)(w->n - 2);
        w->error[i] = u > LEAST_ERROR * LEAST_ERROR ? sqrt(u) : LEAST_ERROR;
    }
    free(difference);
    free(sum);
    return rc;
}

static int
height_line(const struct settings *s, struct setting_row *row, const struct adjust *a, int what)
{
    struct drawing w;
    struct setting_line *line = &row->height[what];
    length tolerance = row->set->height;
    if (drawing_open(&w, row->posts) != 0)
        return -1;
    for (size_t i = 0; i < row->posts; i++)
        if (row->post[i].height[what].known)
            add_to_drawing(&w, row, i, row->post[i].height[what].elevation, s->job->r->job.sigma);
    int rc = a && w.n >= 3 ? own_errors(s, row, a, &w, what) : 0;
    if (rc == 0)
        draw(&w, s, line);
    for (size_t i = 0; rc == 0 && i < w.n && line->known; i++) {
        struct setting_height *h = &row->post[w.of[i]].height[what];
        h->has_own = true;
        h->own = whole(w.post[i].off);
        h->out = is_out(&w, line, i);
        h->rival = rival_of(&w, i);
        h->rogue = is_rogue(h->out, h->rival, h->own, tolerance);
        row->rogues += h->rogue;
        row->good &= !h->rogue;
    }
    drawing_release(&w);
    return rc;
}

/* ---- rows ---- */

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

/* Posts in their order, and the words for the sides of the row. */
static int
place_row(const struct settings *s, struct setting_row *row, struct diag *d)
{
    struct members m;
    struct axis axis;
    int rc = gather(&m, s->job, row->set->row);
    bool crowd = rc == 0 && m.n > RECORD_SET_MOST; /* points and entries together */
    if (crowd)
        diag_say(d, DIAG_ERROR, row->set->place, "set-place", "row %s has %zu posts, and a row has %d at most; give them as two rows",
            job_name(s->job, row->set->row), m.n, RECORD_SET_MOST);
    if (rc == 0 && !crowd && find_places(&m, s->job, row->set, d)) {
        find_axis(&m, &axis);
        if (lay_out(&m, &axis, s->job, row->set, d) && find_ways(row, find_building(s->job, &m, &axis), s->job, d))
            rc = fill_posts(row, s->job->r, &m);
    }
    free(m.one);
    free(m.in);
    return rc;
}

static int
work_row(const struct settings *s, struct setting_row *row, const struct adjust *a, const uint32_t *newest, struct diag *d)
{
    size_t errors = d->errors;
    const struct record_set *set = row->set;
    double usual = (double)(s->job->r->job.unit == LENGTH_BARE_M ? SETTING_SIGMA_M : SETTING_SIGMA_IN);
    row->sigma_stated = set->sigma > 0;
    row->sigma = (length)(row->sigma_stated ? set->sigma * M + 0.5 : usual);
    row->judged = set->line > 0 || set->height > 0 || set->plumb_over > 0;
    row->good = true;
    find_grade(s->job, row);
    int rc = place_row(s, row, d);
    if (rc != 0 || d->errors > errors)
        return rc;
    row->good = row->missing == 0;
    for (size_t i = 0; i < row->posts; i++) {
        face_of(s, row, &row->post[i]);
        plumb_of(s, row, &row->post[i]);
        for (int what = 0; what < SETTING_HEIGHTS; what++)
            height_of(s, row, &row->post[i], what, newest);
        row->good &= set->height == 0 || row->post[i].height[SETTING_MARK].has_grade || row->post[i].height[SETTING_TOP].has_grade;
    }
    rc = gap_line(s, row);
    for (int what = 0; rc == 0 && what < SETTING_HEIGHTS; what++)
        rc = height_line(s, row, a, what);
    for (size_t i = 0; rc == 0 && i < row->posts; i++)
        judge_face(s, row, &row->post[i]);
    return rc;
}

/* Rows in the order in which they came up, each with its last entry and the one before. */
static int
find_rows(struct settings *s, const struct record *r)
{
    s->row = room_new(r->sets, sizeof *s->row);
    uint32_t *row_of = room_new(r->names.n, sizeof *row_of); /* index + 1 */
    if (s->row && row_of)
        for (size_t i = 0; i < r->sets; i++) {
            uint32_t *index = &row_of[r->set[i].row];
            if (*index == 0) {
                s->row[s->rows] = (struct setting_row){ .set = NULL };
                *index = (uint32_t)++s->rows;
            }
            struct setting_row *row = &s->row[*index - 1];
            row->before = row->set;
            row->set = &r->set[i];
        }
    free(row_of);
    return s->row && row_of ? 0 : -1;
}

/* Entry of the last reading of each spot, as index + 1; 0: none. */
static uint32_t *
find_newest(const struct job *job)
{
    uint32_t *newest = room_new(job->spots, sizeof *newest);
    for (size_t i = 0; newest && i < job->sights; i++) {
        uint32_t entry = record_row_entry(job->r, job->sight_row[i]) + 1;
        if (entry > newest[job->sight[i].spot])
            newest[job->sight[i].spot] = entry;
    }
    return newest;
}

int
setting_work(struct settings *s, const struct job *job, double confidence, struct diag *d)
{
    struct adjust a;
    struct diag quiet = { 0 };
    *s = (struct settings){ .job = job, .confidence = confidence, .factor = sure_factor(confidence), .good = true };
    if (job->r->sets == 0) {
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "no-set",
            "the record has no posts after setting; add them: set: {row: A, gap: 5-1/2 in, rows: [{at: A1, gap: 5-9/16 in}]}");
        return 0;
    }
    int rc = adjust_open(&a, job, &quiet);
    bool net = rc == 0 && quiet.errors == 0;
    uint32_t *newest = find_newest(job);
    if (rc == 0)
        rc = newest && find_rows(s, job->r) == 0 ? 0 : -1;
    for (size_t i = 0; rc == 0 && i < s->rows; i++) {
        rc = work_row(s, &s->row[i], net ? &a : NULL, newest, d);
        s->good &= s->row[i].good;
    }
    free(newest);
    adjust_release(&a);
    diag_release(&quiet);
    return rc;
}

void
setting_release(struct settings *s)
{
    for (size_t i = 0; s->row && i < s->rows; i++)
        free(s->row[i].post);
    free(s->row);
    *s = (struct settings){ 0 };
}
