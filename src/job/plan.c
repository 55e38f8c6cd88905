/* plan.c - a plan worked out as if it had been booked */
#include "rodbook/plan.h"

#include "parts.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>

void
plan_release(struct plan *p)
{
    job_release(&p->job);
    free(p->record.row);
    free(p->record.dist);
    free(p->record.run);
    free(p->record.span);
    free(p->record.grade);
    free(p->link);
    free(p->stake);
    free(p->grade_left);
    *p = (struct plan){ .from = NULL };
}

/* ---- as if booked ---- */

/* Elevation by name, so that lines between benchmarks close: the last that each was given, else 0. */
static length *
given_elevations(const struct record *r)
{
    length *elevation = room_new(r->names.n, sizeof *elevation);
    for (size_t i = 0; elevation && i < r->marks; i++)
        elevation[r->mark[i].name] = r->mark[i].elevation;
    return elevation;
}

/* Every instrument stands at 0, and reads each point where it is given. */
static void
add_row(struct record *b, const struct record_plan_setup *s, uint32_t at, enum record_on on, uint8_t flag, length elevation,
    uint32_t dist)
{
    length reading = on == RECORD_ON_MARK ? -elevation : 0;
    b->row[b->rows++] = (struct record_row){ .bs = flag == RECORD_HAS_BS ? reading : 0, .ahead = flag == RECORD_HAS_BS ? 0 : reading,
        .at = at, .line = s->place.line, .more = dist, .column = (uint16_t)s->place.column, .on = (uint8_t)on, .flags = flag };
}

static void
add_setup(struct record *b, const struct record_plan_setup *s, const length *elevation)
{
    uint32_t dist = RECORD_NONE;
    if (s->dist > 0) {
        dist = (uint32_t)b->dists;
        b->dist[b->dists++] = (struct record_dist){ s->dist, s->dist };
    }
    add_row(b, s, s->from, RECORD_ON_MARK, RECORD_HAS_BS, elevation[s->from], dist);
    for (uint32_t i = s->first; i < s->first + s->sights; i++)
        add_row(b, s, b->plan_sight[i].at, b->plan_sight[i].on, RECORD_HAS_IS, elevation[b->plan_sight[i].at], dist);
    if (s->to != RECORD_NONE)
        add_row(b, s, s->to, RECORD_ON_MARK, RECORD_HAS_FS, elevation[s->to], dist);
}

/* A set-up that begins where the one before ended is of the same run. */
static void
book_setups(struct record *b, const struct record_plan *plan, const length *elevation)
{
    for (uint32_t i = plan->first; i < plan->first + plan->setups; i++) {
        const struct record_plan_setup *s = &b->plan_setup[i];
        if (i == plan->first || s[-1].to == RECORD_NONE || s[-1].to != s->from)
            b->run[b->runs++] = (struct record_run){ .entry = plan->entry, .first_row = (uint32_t)b->rows, .date = RECORD_NONE,
                .instrument = RECORD_NONE, .observer = RECORD_NONE, .rodman = RECORD_NONE, .weather = RECORD_NONE,
                .note = RECORD_NONE };
        add_setup(b, s, elevation);
        b->run[b->runs - 1].last_row = (uint32_t)b->rows - 1;
    }
}

static int
arrays_of(struct record *b, const struct record *r, const struct record_plan *plan)
{
    size_t rows = 2 * (size_t)plan->setups;
    for (uint32_t i = plan->first; i < plan->first + plan->setups; i++)
        rows += r->plan_setup[i].sights;
    b->row = room_new(rows, sizeof *b->row);
    b->dist = room_new(plan->setups, sizeof *b->dist);
    b->run = room_new(plan->setups, sizeof *b->run);
    b->span = room_new(1, sizeof *b->span);
    b->grade = room_new(r->grades, sizeof *b->grade);
    if (b->span)
        b->span[0] = (struct record_span){ 0, plan->entry };
    return b->row && b->dist && b->run && b->span && b->grade ? 0 : -1;
}

/* ---- grades whose marks the plan knows ---- */

static bool
is_known(const struct record *b, const struct record_through *t)
{
    for (size_t i = 0; t->on == RECORD_ON_MARK && i < b->marks; i++)
        if (b->mark[i].name == t->at)
            return true;
    for (size_t i = 0; i < b->rows; i++)
        if (b->row[i].at == t->at && b->row[i].on == t->on)
            return true;
    return false;
}

static int
choose_grades(struct plan *p, const struct record *r)
{
    struct record *b = &p->record;
    uint32_t *last = room_new(r->names.n, sizeof *last); /* index + 1 */
    p->grade_left = room_new(r->grades, sizeof *p->grade_left);
    for (size_t i = 0; last && i < r->grades; i++)
        last[r->grade[i].name] = (uint32_t)i + 1;
    for (uint32_t i = 0; last && p->grade_left && i < r->grades; i++) {
        const struct record_grade *g = &r->grade[i];
        bool known = true;
        if (last[g->name] != i + 1)
            continue; /* a later one holds */
        for (uint32_t k = 0; k < g->through; k++)
            known &= is_known(b, &g->at[k]);
        if (known)
            b->grade[b->grades++] = *g;
        else
            p->grade_left[p->grades_left++] = i;
    }
    free(last);
    return last && p->grade_left ? 0 : -1;
}

/* ---- the job of it ---- */

static bool
lacks_dist(const struct record *b, const struct record_plan *plan)
{
    for (uint32_t i = plan->first; i < plan->first + plan->setups; i++)
        if (b->plan_setup[i].dist < 0)
            return true;
    return false;
}

static int
book(struct plan *p, const struct record *r)
{
    struct record *b = &p->record;
    *b = *r;
    b->rows = b->dists = b->runs = b->spans = b->grades = 0;
    b->row = NULL;
    b->dist = NULL;
    b->run = NULL;
    b->span = NULL;
    b->grade = NULL;
    b->extras = b->sections = b->strikes = b->continuations = 0;
    b->next = NULL;
    b->job.spread = RECORD_SPREAD_SETUPS; /* there is nothing to spread */
    bool by_distance = b->job.allow_per == RECORD_ALLOW_ROOT_KM || b->job.allow_per == RECORD_ALLOW_ROOT_MILE;
    p->no_dist = by_distance && lacks_dist(r, p->from);
    if (p->no_dist)
        b->job.allow_per = RECORD_ALLOW_NONE;
    length *elevation = given_elevations(r);
    int rc = arrays_of(b, r, p->from);
    if (rc == 0 && elevation) {
        book_setups(b, p->from, elevation);
        b->spans = 1;
        rc = choose_grades(p, r);
    }
    free(elevation);
    return elevation ? rc : -1;
}

/* ---- what it can be expected to give ---- */

static int
expect_lines(struct plan *p, const struct adjust *a)
{
    const struct job *job = &p->job;
    double *difference = room_new(job->spots, sizeof *difference);
    p->link = room_new(job->work.links, sizeof *p->link);
    int rc = difference && p->link ? 0 : -1;
    for (size_t i = 0; rc == 0 && i < job->work.links; i++) {
        const struct level_link *link = &job->work.link[i];
        double own = 2 * (double)link->setups * job->r->job.sigma * job->r->job.sigma, between = 0;
        p->link[i] = (struct plan_link){ .sigma = -1 };
        if (link->kind == LEVEL_SPUR || rc != 0)
            continue;
        bool held = a->spot_node[link->from] == NET_GROUND && a->spot_node[link->to] == NET_GROUND;
        if (link->from != link->to && !held) {
            rc = adjust_difference(a, link->from, difference);
            between = difference[link->to] * difference[link->to];
        }
        if (!(between < own))
            continue; /* cannot be: something else ties its ends */
        double sigma = sqrt(own * own / (own - between));
        p->link[i].sigma = sigma;
        p->link[i].ordinary = job->factor * sigma;
        p->link[i].tight = link->within != LEVEL_NOT_JUDGED && link->allowed_nm / (double)LENGTH_M < p->link[i].ordinary;
        p->enough &= !p->link[i].tight;
    }
    free(difference);
    return rc;
}

static enum plan_tells
what_it_tells(double half, const struct job_grade *g)
{
    double t = (double)g->tolerance / (double)LENGTH_M;
    bool left = half < 2 * t || !g->from->has_tolerance;
    return half < t ? PLAN_TELLS_ALWAYS : left ? PLAN_TELLS_FAR : PLAN_TELLS_MOVES;
}

static int
expect_stakes(struct plan *p, const struct adjust *a)
{
    const struct job *job = &p->job;
    double *variance = room_new(job->stakes, sizeof *variance);
    p->stake = room_new(job->stakes, sizeof *p->stake);
    int rc = variance && p->stake ? sure_variances(a, variance) : -1;
    for (size_t i = 0; rc == 0 && i < job->stakes; i++) {
        const struct job_stake *s = &job->stake[i];
        p->stake[i] = (struct plan_stake){ PLAN_TELLS_NOTHING, -1 };
        if (s->spot == JOB_NONE || variance[i] < 0)
            continue;
        p->stake[i].sigma = sqrt(variance[i]);
        p->stake[i].tells = what_it_tells(job->factor * p->stake[i].sigma, &job->grade[s->grade_index]);
        p->enough &= p->stake[i].tells != PLAN_TELLS_MOVES;
    }
    free(variance);
    return rc;
}

static int
advise(struct plan *p, const struct adjust *a)
{
    const struct job *job = &p->job;
    size_t n = 0;
    struct sure_doubt *doubt = room_new(job->stakes, sizeof *doubt);
    for (size_t i = 0; doubt && i < job->stakes; i++) {
        const struct job_stake *s = &job->stake[i];
        if (p->stake[i].tells != PLAN_TELLS_FAR && p->stake[i].tells != PLAN_TELLS_MOVES)
            continue;
        double most = (double)job->grade[s->grade_index].tolerance / (double)LENGTH_M / job->factor;
        doubt[n] = (struct sure_doubt){ .spot = s->spot, .grade = s->grade_index, .variance = p->stake[i].sigma * p->stake[i].sigma,
            .settled = most * most };
        (void)sure_form_of(a, s, &doubt[n++].form);
    }
    int rc = !doubt ? -1 : n > 0 ? sure_advise(a, doubt, n, &p->job.advice) : 0;
    free(doubt);
    return rc;
}

static int
expect(struct plan *p, double confidence, struct diag *d)
{
    struct adjust a;
    p->job.factor = sure_factor(confidence);
    int rc = adjust_open(&a, &p->job, d);
    if (rc == 0 && d->errors == 0)
        rc = sure_spots(&p->job, &a) == 0 && expect_lines(p, &a) == 0 && expect_stakes(p, &a) == 0 && advise(p, &a) == 0 ? 0 : -1;
    adjust_release(&a);
    return rc;
}

int
plan_work(struct plan *p, const struct record *r, size_t index, double confidence, struct diag *d)
{
    const struct job_options options = { .stakes = true, .grade_optional = true };
    *p = (struct plan){ .from = &r->plan[index], .enough = true };
    if (book(p, r) != 0 || job_work(&p->job, &p->record, &options, d) != 0)
        return -1;
    if (d->errors > 0)
        return 0;
    for (size_t run = 0; run < p->record.runs; run++)
        p->job.run_leg[run] = 0; /* set-ups count through the whole plan */
    return expect(p, confidence, d);
}
