/* sure.c - how sure the moves are, and what can be said of them */
#include "rodbook/sure.h"

#include "parts.h"

#include "rodbook/chance.h"
#include "rodbook/room.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* ---- a move as a sum of elevations ---- */

/* One node once: a mark held against a grade through itself is exact. */
void
sure_form_add(struct sure_form *form, uint32_t node, double share)
{
    if (node >= ADJUST_NOTHING || share == 0)
        return; /* held, or nothing of it in the grade here */
    for (uint32_t i = 0; i < form->nodes; i++)
        if (form->node[i] == node) {
            form->share[i] += share;
            return;
        }
    form->node[form->nodes] = node;
    form->share[form->nodes++] = share;
}

bool
sure_form_of(const struct adjust *a, const struct job_stake *s, struct sure_form *form)
{
    const struct job *job = a->job;
    const struct job_grade *g = &job->grade[s->grade_index];
    *form = (struct sure_form){ .nodes = 0 };
    if (!s->has_adjusted || !s->has_grade || a->spot_node[s->spot] == ADJUST_NOTHING)
        return false;
    sure_form_add(form, a->spot_node[s->spot], -1);
    if (g->from->through == 0)
        return true;
    struct site_place place = { 0, 0 };
    double share[3];
    (void)job_place_of(job, s->at, &place); /* has_grade: it is placed where that matters */
    site_grade_shares(&g->site, place, share);
    for (uint32_t k = 0; k < g->from->through; k++)
        sure_form_add(form, a->spot_node[g->spot[k]], share[k]);
    return true;
}

/* ---- variances ---- */

/* Covariances with the marks of one grade. */
struct columns {
    uint32_t node[3];
    double *with[3]; /* [2 * nodes] each, room for net_covariance() */
    uint32_t n;
};

static double
covariance(const struct adjust *a, const struct columns *c, uint32_t i, uint32_t j)
{
    if (i == j)
        return a->net.variance[i];
    for (uint32_t k = 0; k < c->n; k++)
        if (c->node[k] == i || c->node[k] == j)
            return c->with[k][c->node[k] == i ? j : i];
    return 0; /* cannot be: of two nodes of a move one is a mark of the grade */
}

static double
form_variance(const struct adjust *a, const struct columns *c, const struct sure_form *f)
{
    double sum = 0;
    for (uint32_t i = 0; i < f->nodes; i++) {
        sum += f->share[i] * f->share[i] * a->net.variance[f->node[i]];
        for (uint32_t j = i + 1; j < f->nodes; j++)
            sum += 2 * f->share[i] * f->share[j] * covariance(a, c, f->node[i], f->node[j]);
    }
    return sum > 0 ? sum : 0;
}

int
sure_form_variance(const struct adjust *a, const struct sure_form *f, double *variance)
{
    double *with = f->nodes > 1 ? room_new(2 * a->net.nodes, sizeof *with) : NULL, sum = 0;
    if (f->nodes > 1 && !with)
        return -1;
    for (uint32_t i = 0; i < f->nodes; i++) {
        sum += f->share[i] * f->share[i] * a->net.variance[f->node[i]];
        if (i + 1 < f->nodes)
            net_covariance(&a->net, f->node[i], with);
        for (uint32_t j = i + 1; j < f->nodes; j++)
            sum += 2 * f->share[i] * f->share[j] * with[f->node[j]];
    }
    free(with);
    *variance = sum > 0 ? sum : 0;
    return 0;
}

static int
columns_of_grade(const struct adjust *a, const struct job_grade *g, struct columns *c)
{
    c->n = 0;
    for (uint32_t k = 0; g->known && k < g->from->through; k++) {
        uint32_t node = a->spot_node[g->spot[k]];
        if (node >= ADJUST_NOTHING)
            continue;
        if (!c->with[c->n])
            c->with[c->n] = room_new(2 * a->net.nodes, sizeof(double));
        if (!c->with[c->n])
            return -1;
        c->node[c->n] = node;
        net_covariance(&a->net, node, c->with[c->n++]);
    }
    return 0;
}

int
sure_variances(const struct adjust *a, double *variance)
{
    const struct job *job = a->job;
    struct columns c = { .n = 0 };
    int rc = 0;
    size_t i = 0; /* stakes stand grade by grade */
    for (uint32_t g = 0; g < job->grades && rc == 0; g++) {
        rc = columns_of_grade(a, &job->grade[g], &c);
        for (; rc == 0 && i < job->stakes && job->stake[i].grade_index == g; i++) {
            struct sure_form form;
            variance[i] = sure_form_of(a, &job->stake[i], &form) ? form_variance(a, &c, &form) : -1;
        }
    }
    for (int k = 0; k < 3; k++)
        free(c.with[k]);
    return rc;
}

/* ---- verdicts ---- */

double
sure_factor(double p)
{
    double z = 0;
    (void)chance_normal_at((1 - p) / 2, CHANCE_ABOVE, &z);
    return z;
}

/* Where no tolerance is stated nobody said how far off matters: what the rod cannot show is left without further proof. */
static double
decides_below(const struct job *job, const struct job_stake *s)
{
    const struct job_grade *g = &job->grade[s->grade_index];
    return s->move.leave && !g->from->has_tolerance ? HUGE_VAL : site_decides_below(s->move, g->tolerance);
}

static void
judge(struct job *job, struct job_stake *s, double variance)
{
    if (variance < 0)
        return;
    s->sigma = sqrt(variance);
    if (job->factor * s->sigma < decides_below(job, s))
        return;
    s->verdict = JOB_UNSURE;
    job->off_grade = true;
}

int
sure_spots(struct job *job, const struct adjust *a)
{
    length elevation;
    job->spot_sigma = room_new(job->spots, sizeof *job->spot_sigma);
    for (uint32_t i = 0; job->spot_sigma && i < job->spots; i++)
        if (job->level_spot[i].quality == LEVEL_OUTSIDE || !adjust_spot(a, i, &elevation, &job->spot_sigma[i]))
            job->spot_sigma[i] = -1;
    return job->spot_sigma ? 0 : -1;
}

static bool
is_doubt(const struct job_stake *s)
{
    return s->verdict == JOB_UNSURE && s->sigma >= 0;
}

static int
advise(struct job *job, const struct adjust *a)
{
    size_t n = 0;
    for (size_t i = 0; i < job->stakes; i++)
        n += is_doubt(&job->stake[i]);
    if (n == 0)
        return 0;
    struct sure_doubt *doubt = room_new(n, sizeof *doubt);
    if (!doubt)
        return -1;
    n = 0;
    for (size_t i = 0; i < job->stakes; i++) {
        const struct job_stake *s = &job->stake[i];
        if (!is_doubt(s))
            continue;
        double sigma = decides_below(job, s) / job->factor;
        doubt[n] = (struct sure_doubt){ .spot = s->spot, .grade = s->grade_index, .variance = s->sigma * s->sigma, .settled = sigma * sigma };
        (void)sure_form_of(a, s, &doubt[n++].form);
    }
    int rc = sure_advise(a, doubt, n, &job->advice);
    free(doubt);
    return rc;
}

static int
judge_all(struct job *job, const struct adjust *a)
{
    double *variance = room_new(job->stakes, sizeof *variance);
    int rc = variance && sure_spots(job, a) == 0 && sure_variances(a, variance) == 0 ? 0 : -1;
    for (size_t i = 0; rc == 0 && i < job->stakes; i++)
        judge(job, &job->stake[i], variance[i]);
    free(variance);
    return rc == 0 ? advise(job, a) : rc;
}

/* Why nobody knows how sure the moves are, by the first reason of all that the net gave. */
static void
say_no_sigma(const struct diag *why, struct diag *d)
{
    char more[48] = "";
    if (why->errors > 1)
        snprintf(more, sizeof more, " (and %zu more like it)", why->errors - 1);
    if (why->n > 0)
        diag_say(d, DIAG_WARNING, why->item[0].place, why->item[0].check, "%s%s; so move and leave go by the tolerance alone",
            why->item[0].text, more);
}

int
sure_stakes(struct job *job, const struct adjust *net, double confidence, struct diag *d)
{
    struct adjust own = { .job = NULL };
    struct diag why = { 0 };
    int rc = net ? 0 : adjust_sound(&own, job, &why);
    job->factor = sure_factor(confidence);
    job->no_sigma = why.errors > 0;
    if (rc == 0 && job->no_sigma)
        say_no_sigma(&why, d);
    else if (rc == 0)
        rc = judge_all(job, net ? net : &own);
    rc = why.no_memory ? -1 : rc;
    diag_release(&why);
    adjust_release(&own);
    return rc;
}
