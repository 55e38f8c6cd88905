/* advise.c - which further reading would settle most moves */
#include "rodbook/sure.h"

#include "parts.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct advisor {
    const struct adjust *a;
    const struct sure_doubt *doubt;
    size_t n;
    double sigma2;                 /* m^2, of one reading */
    struct job_advice *best;
    double *of_mark;               /* [2 * nodes] covariances with the mark that is tried */
    double *of_base;               /* the same of what it is read from, in pieces of 2 * nodes */
    uint32_t tried[SURE_MARKS];    /* spots */
    size_t tries;
    double *variance;              /* [n] of the doubts, as a set-up is read again */
};

static uint32_t
node_of(const struct advisor *v, uint32_t spot)
{
    return v->a->spot_node[spot];
}

/* ---- holding candidates against each other ---- */

static void
open_candidate(struct job_advice *c, enum job_further further)
{
    *c = (struct job_advice){ .further = further, .spot = JOB_NONE, .base = JOB_NONE, .leg = LEVEL_NONE };
}

/* What is left of one doubt. */
static void
count_doubt(const struct sure_doubt *doubt, struct job_advice *c, double variance)
{
    if (variance < doubt->settled)
        c->settled++;
    else if (variance > c->left)
        c->left = variance;
}

/* `left` is a variance until all have been tried. */
static void
keep_better(struct advisor *v, const struct job_advice *c)
{
    struct job_advice *b = v->best;
    if (c->settled < b->settled || (c->settled == b->settled && !(c->left < b->left)))
        return;
    b->further = c->further;
    b->spot = c->spot;
    b->base = c->base;
    b->leg = c->leg;
    b->settled = c->settled;
    b->left = c->left;
}

/* ---- one more reading on one mark ---- */

/* From node `base` (NET_GROUND: held), whose covariances stand in `of_base`; the difference read has variance `noise`. */
static void
try_reading(struct advisor *v, struct job_advice *c, uint32_t base, const double *of_base, double noise)
{
    const struct adjust *a = v->a;
    uint32_t mark = node_of(v, c->spot);
    double v_base = base == NET_GROUND ? 0 : a->net.variance[base] - 2 * v->of_mark[base];
    double spread = a->net.variance[mark] + v_base;
    spread = (spread > 0 ? spread : 0) + noise;
    for (size_t i = 0; i < v->n; i++) {
        const struct sure_form *f = &v->doubt[i].form;
        double with = 0;
        for (uint32_t k = 0; k < f->nodes; k++)
            with += f->share[k] * (v->of_mark[f->node[k]] - (of_base ? of_base[f->node[k]] : 0));
        count_doubt(&v->doubt[i], c, v->doubt[i].variance - with * with / spread);
    }
    keep_better(v, c);
}

/* The marks of the largest keys, largest first; each once, with the largest of its own. */
struct shortlist {
    uint32_t spot[SURE_MARKS / 2];
    double key[SURE_MARKS / 2];
    size_t n;
};

static void
drop_from(struct shortlist *l, size_t i)
{
    l->n--;
    memmove(&l->spot[i], &l->spot[i + 1], (l->n - i) * sizeof l->spot[0]);
    memmove(&l->key[i], &l->key[i + 1], (l->n - i) * sizeof l->key[0]);
}

static void
add_to(struct shortlist *l, uint32_t spot, double key)
{
    size_t at = 0, same = 0;
    while (same < l->n && l->spot[same] != spot)
        same++;
    if (same < l->n && l->key[same] >= key)
        return;
    if (same < l->n)
        drop_from(l, same);
    while (at < l->n && l->key[at] >= key)
        at++;
    if (at == SURE_MARKS / 2)
        return;
    if (l->n == SURE_MARKS / 2)
        l->n--;
    memmove(&l->spot[at + 1], &l->spot[at], (l->n - at) * sizeof l->spot[0]);
    memmove(&l->key[at + 1], &l->key[at], (l->n - at) * sizeof l->key[0]);
    l->spot[at] = spot;
    l->key[at] = key;
    l->n++;
}

static void
add_mark(const struct advisor *v, struct shortlist list[2], uint32_t spot, const struct sure_doubt *doubt)
{
    if (node_of(v, spot) >= ADJUST_NOTHING)
        return;
    add_to(&list[0], spot, doubt->variance);
    add_to(&list[1], spot, doubt->settled / doubt->variance);
}

static void
list_tried(struct advisor *v)
{
    struct shortlist list[2] = { { .n = 0 }, { .n = 0 } };
    for (size_t i = 0; i < v->n; i++) {
        const struct sure_doubt *doubt = &v->doubt[i];
        const struct job_grade *g = &v->a->job->grade[doubt->grade];
        add_mark(v, list, doubt->spot, doubt);
        for (uint32_t k = 0; k < g->from->through; k++)
            add_mark(v, list, g->spot[k], doubt);
    }
    for (size_t l = 0; l < 2; l++)
        for (size_t i = 0; i < list[l].n; i++) {
            size_t same = 0;
            while (same < v->tries && v->tried[same] != list[l].spot[i])
                same++;
            if (same == v->tries)
                v->tried[v->tries++] = list[l].spot[i];
        }
}

/* The benchmarks that a set-up may stand on: one that is held, and the first that are not. */
struct base {
    uint32_t spot, node;
    const double *with; /* NULL where held */
};

static size_t
list_bases(const struct advisor *v, struct base base[SURE_BENCHMARKS + 1])
{
    const struct job *job = v->a->job;
    size_t n = 0, loose = 0;
    bool held = false;
    for (uint32_t i = 0; i < job->spots; i++) {
        if (job->level_spot[i].state != LEVEL_MARK || job->spot_of[(size_t)job->spot[i].at * RECORD_ON_COUNT + job->spot[i].on] != i)
            continue; /* no benchmark, or one that was moved */
        bool is_held = node_of(v, i) == NET_GROUND;
        if (is_held ? held : loose == SURE_BENCHMARKS || node_of(v, i) == ADJUST_NOTHING)
            continue;
        held |= is_held;
        double *with = is_held ? NULL : v->of_base + 2 * loose++ * v->a->net.nodes;
        if (with)
            net_covariance(&v->a->net, node_of(v, i), with);
        base[n++] = (struct base){ i, node_of(v, i), with };
    }
    return n;
}

/* The job's last set-up, where no foresight has ended it. */
static uint32_t
open_setup(const struct adjust *a)
{
    const struct job *job = a->job;
    for (size_t l = job->legs; l-- > 0;) {
        const struct level_leg *leg = &job->leg[l];
        if (leg->count > 0)
            return a->leg_node[l] != ADJUST_NOTHING && job->sight[leg->first + leg->count - 1].kind != LEVEL_FS ? (uint32_t)l : LEVEL_NONE;
    }
    return LEVEL_NONE;
}

static void
try_marks(struct advisor *v)
{
    const struct adjust *a = v->a;
    struct base base[SURE_BENCHMARKS + 1];
    struct job_advice c;
    size_t bases = list_bases(v, base);
    uint32_t open = open_setup(a);
    double *of_open = v->of_base + 2 * (size_t)SURE_BENCHMARKS * a->net.nodes;
    if (open != LEVEL_NONE)
        net_covariance(&a->net, a->leg_node[open], of_open);
    for (size_t t = 0; t < v->tries; t++) {
        net_covariance(&a->net, node_of(v, v->tried[t]), v->of_mark);
        for (size_t b = 0; b < bases; b++) {
            if (base[b].spot == v->tried[t])
                continue;
            open_candidate(&c, JOB_FURTHER_NEW);
            c.spot = v->tried[t];
            c.base = base[b].spot;
            try_reading(v, &c, base[b].node, base[b].with, 2 * v->sigma2);
        }
        if (open == LEVEL_NONE)
            continue;
        open_candidate(&c, JOB_FURTHER_OPEN);
        c.spot = v->tried[t];
        c.leg = open;
        try_reading(v, &c, a->leg_node[open], of_open, v->sigma2);
    }
}

/* ---- a set-up read again ---- */

/* Its points and its new instrument, which is the last; and how they vary with each other and with the doubts. */
struct again {
    size_t m;          /* points and instrument */
    double *with;      /* [m * m] */
    double *doubts;    /* [m * n] */
};

static void
fill_again(struct advisor *v, const struct level_leg *leg, struct again *g)
{
    const struct adjust *a = v->a;
    for (size_t i = 0; i + 1 < g->m; i++) {
        uint32_t node = node_of(v, a->job->sight[leg->first + i].spot);
        if (node < ADJUST_NOTHING)
            net_covariance(&a->net, node, v->of_mark);
        for (size_t j = 0; j + 1 < g->m; j++) {
            uint32_t other = node_of(v, a->job->sight[leg->first + j].spot);
            g->with[i * g->m + j] = node < ADJUST_NOTHING && other < ADJUST_NOTHING ? v->of_mark[other] : 0;
        }
        for (size_t k = 0; k < v->n; k++) {
            const struct sure_form *f = &v->doubt[k].form;
            double with = 0;
            for (uint32_t s = 0; node < ADJUST_NOTHING && s < f->nodes; s++)
                with += f->share[s] * v->of_mark[f->node[s]];
            g->doubts[i * v->n + k] = with;
        }
    }
}

/* The first reading only says where the new instrument stands: by its point, and by the reading. */
static void
stand_again(struct advisor *v, struct again *g)
{
    size_t m = g->m, h = m - 1;
    for (size_t j = 0; j < h; j++)
        g->with[h * m + j] = g->with[j * m + h] = g->with[j];
    g->with[h * m + h] = g->with[0] + v->sigma2;
    memcpy(&g->doubts[h * v->n], &g->doubts[0], v->n * sizeof *g->doubts);
    for (size_t k = 0; k < v->n; k++)
        v->variance[k] = v->doubt[k].variance;
}

static void
read_again(struct advisor *v, struct again *g, size_t point)
{
    size_t m = g->m, h = m - 1;
    double change[SURE_SIGHTS + 1] = { 0 };
    for (size_t i = 0; i < m; i++)
        change[i] = g->with[i * m + point] - g->with[i * m + h];
    double spread = change[point] - change[h] + v->sigma2;
    for (size_t k = 0; k < v->n; k++) {
        double with = g->doubts[point * v->n + k] - g->doubts[h * v->n + k];
        v->variance[k] -= with * with / spread;
        for (size_t i = 0; i < m; i++)
            g->doubts[i * v->n + k] -= change[i] * with / spread;
    }
    for (size_t i = 0; i < m; i++)
        for (size_t j = 0; j < m; j++)
            g->with[i * m + j] -= change[i] * change[j] / spread;
}

static int
try_setup(struct advisor *v, uint32_t leg)
{
    const struct level_leg *l = &v->a->job->leg[leg];
    struct again g = { .m = (size_t)l->count + 1 };
    struct job_advice c;
    g.with = room_new(g.m * g.m, sizeof *g.with);
    g.doubts = room_new(g.m * v->n, sizeof *g.doubts);
    if (g.with && g.doubts) {
        fill_again(v, l, &g);
        stand_again(v, &g);
        for (size_t p = 1; p < l->count; p++)
            read_again(v, &g, p);
        open_candidate(&c, JOB_FURTHER_REPEAT);
        c.leg = leg;
        for (size_t k = 0; k < v->n; k++)
            count_doubt(&v->doubt[k], &c, v->variance[k]);
        keep_better(v, &c);
    }
    int rc = g.with && g.doubts ? 0 : -1;
    free(g.with);
    free(g.doubts);
    return rc;
}

/* The set-ups that see most doubts, most first, in booking order where they are equal. */
static int
try_setups(struct advisor *v)
{
    const struct job *job = v->a->job;
    uint32_t *doubts = room_new(job->spots, sizeof *doubts), leg[SURE_SETUPS], sees[SURE_SETUPS];
    size_t n = 0;
    if (!doubts)
        return -1;
    for (size_t i = 0; i < v->n; i++)
        doubts[v->doubt[i].spot]++;
    for (uint32_t l = 0; l < job->legs; l++) {
        const struct level_leg *of = &job->leg[l];
        uint32_t seen = 0;
        for (uint32_t i = 0; v->a->leg_node[l] != ADJUST_NOTHING && of->count > 1 && of->count <= SURE_SIGHTS && i < of->count; i++)
            seen += doubts[job->sight[of->first + i].spot];
        size_t at = n;
        while (at > 0 && sees[at - 1] < seen)
            at--;
        if (seen == 0 || at == SURE_SETUPS)
            continue;
        n = n < SURE_SETUPS ? n + 1 : n;
        memmove(&leg[at + 1], &leg[at], (n - at - 1) * sizeof leg[0]);
        memmove(&sees[at + 1], &sees[at], (n - at - 1) * sizeof sees[0]);
        leg[at] = l;
        sees[at] = seen;
    }
    int rc = 0;
    for (size_t i = 0; i < n && rc == 0; i++)
        rc = try_setup(v, leg[i]);
    free(doubts);
    return rc;
}

int
sure_advise(const struct adjust *a, const struct sure_doubt *doubt, size_t n, struct job_advice *advice)
{
    size_t nodes = a->net.nodes;
    struct job_advice best;
    struct advisor v = { .a = a, .doubt = doubt, .n = n, .sigma2 = a->job->r->job.sigma * a->job->r->job.sigma, .best = &best };
    open_candidate(&best, JOB_FURTHER_NONE);
    best.doubts = n;
    for (size_t i = 0; i < n; i++)
        best.worst = doubt[i].variance > best.worst ? doubt[i].variance : best.worst;
    best.left = best.worst;
    v.of_mark = room_new(2 * nodes, sizeof *v.of_mark);
    v.of_base = room_new(2 * nodes * (SURE_BENCHMARKS + 1), sizeof *v.of_base);
    v.variance = room_new(n, sizeof *v.variance);
    int rc = v.of_mark && v.of_base && v.variance ? 0 : -1;
    if (rc == 0) {
        list_tried(&v);
        try_marks(&v);
        rc = try_setups(&v);
    }
    free(v.of_mark);
    free(v.of_base);
    free(v.variance);
    best.worst = sqrt(best.worst);
    best.left = best.left > 0 ? sqrt(best.left) : 0;
    if (rc == 0)
        *advice = best;
    return rc;
}
