/* adjust.c - a job as a net: who is tied to whom, how firmly, and by how much it is out */
#include "rodbook/adjust.h"

#include "parts.h"

#include "rodbook/room.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

void
adjust_release(struct adjust *a)
{
    free(a->spot_node);
    free(a->leg_node);
    free(a->of);
    free(a->tie);
    free(a->room);
    free(a->reals);
    *a = (struct adjust){ 0 };
}

/* ---- nodes ---- */

/* A mark's own standard deviation; 0: held, or no mark at all. */
static double
mark_sigma(const struct job *job, uint32_t spot)
{
    uint32_t mark = job->level_spot[spot].state == LEVEL_MARK ? job->mark_of[job->spot[spot].at] : JOB_NONE;
    return mark == JOB_NONE ? 0 : job->r->mark[mark].sigma;
}

/* Where `sound`, what lies on lines outside their limit stays out. */
static bool
is_in(uint8_t quality, bool sound)
{
    return !sound || quality != LEVEL_OUTSIDE;
}

static void
number_nodes(struct adjust *a, bool sound)
{
    const struct job *job = a->job;
    for (uint32_t i = 0; i < job->spots; i++) {
        const struct level_spot *l = &job->level_spot[i];
        bool held = l->state == LEVEL_MARK && !(mark_sigma(job, i) > 0), in = l->state != LEVEL_UNKNOWN && is_in(l->quality, sound);
        a->spot_node[i] = !in ? ADJUST_NOTHING : held ? NET_GROUND : (uint32_t)a->net.nodes++;
        a->held += held;
    }
    a->points = a->net.nodes;
    for (size_t i = 0; i < job->legs; i++) {
        const struct level_leg *leg = &job->leg[i];
        bool in = leg->count > 0 && leg->known && is_in(leg->quality, sound);
        a->leg_node[i] = in ? (uint32_t)a->net.nodes++ : ADJUST_NOTHING;
    }
}

/* ---- ties ---- */

static double
metres(length v)
{
    return (double)v / (double)LENGTH_M;
}

static length
spot_value(const struct adjust *a, uint32_t spot)
{
    return a->job->level_spot[spot].value;
}

/* `carried` is what the carried elevations give for it. Between two held marks it adjusts nothing: such are gathered from
 * the far end of the arrays, which have room for `most`. */
static void
add_tie(struct adjust *a, struct adjust_observation of, uint32_t from, uint32_t to, length observed, length carried)
{
    if (from == ADJUST_NOTHING || to == ADJUST_NOTHING)
        return;
    size_t between = a->observations++ - a->net.ties, at = from == to ? a->most - 1 - between : a->net.ties++;
    of.off = observed - carried;
    a->of[at] = of;
    a->tie[at] = (struct net_tie){ from, to, 1 / (of.sigma * of.sigma), metres(observed - carried) };
}

/* Those between held marks, behind the others, in booking order. */
static void
put_last(struct adjust *a)
{
    size_t between = a->observations - a->net.ties, first = a->most - between;
    memmove(a->of + a->net.ties, a->of + first, between * sizeof *a->of);
    memmove(a->tie + a->net.ties, a->tie + first, between * sizeof *a->tie);
    for (size_t i = a->net.ties, j = a->observations; i + 1 < j; i++) {
        struct adjust_observation of = a->of[i];
        struct net_tie tie = a->tie[i];
        a->of[i] = a->of[--j];
        a->tie[i] = a->tie[j];
        a->of[j] = of;
        a->tie[j] = tie;
    }
}

static double
reading_sigma(const struct job *job, uint32_t sight)
{
    const struct record_extra *x = record_extra(job->r, &job->r->row[job->sight_row[sight]]);
    static const uint8_t wired[] = { RECORD_HAS_BS, RECORD_HAS_IS, RECORD_HAS_FS }; /* enum level_kind */
    return x->wires & wired[job->sight[sight].kind] ? job->r->job.sigma / sqrt(3) : job->r->job.sigma;
}

static void
tie_readings(struct adjust *a, uint32_t leg)
{
    const struct job *job = a->job;
    const struct level_leg *l = &job->leg[leg];
    for (uint32_t i = l->first; i < l->first + l->count; i++) {
        const struct level_sight *s = &job->sight[i];
        struct adjust_observation of = { ADJUST_READING, i, leg, s->spot, reading_sigma(job, i), 0 };
        add_tie(a, of, a->leg_node[leg], a->spot_node[s->spot], -s->reading, spot_value(a, s->spot) - l->hi);
    }
}

/* Its own standard deviation, or by length, or by set-ups; 0: said. */
static double
section_sigma(const struct job *job, const struct record_section *s, struct diag *d)
{
    const struct record_job *j = &job->r->job;
    if (s->sigma > 0)
        return s->sigma;
    if (j->sigma_km > 0 && s->dist > 0)
        return j->sigma_km * sqrt((double)s->dist / (double)LENGTH_KM);
    if (s->setups > 0)
        return j->sigma * sqrt(2 * (double)s->setups);
    diag_say(d, DIAG_ERROR, s->place, "no-sigma", "nothing says how sure the section %s to %s is: give it sigma or setups, or dist, "
        "and the job sigma-km", job_name(job, s->from), job_name(job, s->to));
    return 0;
}

static void
tie_section(struct adjust *a, uint32_t leg, struct diag *d)
{
    const struct job *job = a->job;
    const struct level_leg *l = &job->leg[leg];
    const struct record_section *s = &job->r->section[l->first];
    if (a->spot_node[l->from] == ADJUST_NOTHING || a->spot_node[l->to] == ADJUST_NOTHING)
        return;
    double sigma = section_sigma(job, s, d);
    struct adjust_observation of = { ADJUST_SECTION, l->first, leg, LEVEL_NONE, sigma, 0 };
    if (sigma > 0)
        add_tie(a, of, a->spot_node[l->from], a->spot_node[l->to], s->rise, spot_value(a, l->to) - spot_value(a, l->from));
}

static void
tie_all(struct adjust *a, bool sound, struct diag *d)
{
    const struct job *job = a->job;
    for (uint32_t i = 0; i < job->legs; i++)
        if (a->leg_node[i] != ADJUST_NOTHING)
            tie_readings(a, i);
        else if (job->leg[i].known && job->leg[i].count == 0 && is_in(job->leg[i].quality, sound))
            tie_section(a, i, d);
    for (uint32_t i = 0; i < job->spots; i++) {
        double sigma = mark_sigma(job, i);
        uint32_t mark = job->mark_of[job->spot[i].at];
        if (sigma > 0)
            add_tie(a, (struct adjust_observation){ ADJUST_MARK, mark, LEVEL_NONE, i, sigma, 0 }, NET_GROUND, a->spot_node[i],
                job->r->mark[mark].elevation, spot_value(a, i));
    }
    put_last(a);
}

/* ---- solving ---- */

static int
room_for_results(struct adjust *a)
{
    size_t n = a->net.nodes, m = a->observations;
    a->reals = room_new(2 * n + 3 * m, sizeof *a->reals);
    if (!a->reals)
        return -1;
    a->net.tie = a->tie;
    a->net.correction = a->reals;
    a->net.variance = a->net.correction + n;
    a->net.spread = a->net.variance + n;
    a->net.redundancy = a->net.spread + m;
    a->residual = a->net.redundancy + m;
    return 0;
}

/* What the net needs beyond its first room is known once its order is. */
static enum net_status
solve(struct adjust *a)
{
    enum net_status status = NET_EROOM;
    for (size_t bytes = net_room(a->net.nodes, a->net.ties, 1); status == NET_EROOM; bytes = a->net.needs) {
        free(a->room);
        a->room = bytes < SIZE_MAX ? malloc(bytes) : NULL;
        if (!a->room)
            return NET_EROOM;
        status = net_solve(&a->net, a->room, bytes);
    }
    return status;
}

static double
correction_of(const struct adjust *a, uint32_t node)
{
    return node == NET_GROUND ? 0 : a->net.correction[node];
}

static void
find_residuals(struct adjust *a)
{
    for (size_t t = 0; t < a->observations; t++) {
        const struct net_tie *tie = &a->tie[t];
        if (t >= a->net.ties) {
            a->net.spread[t] = 0;
            a->net.redundancy[t] = 1;
        }
        a->residual[t] = correction_of(a, tie->to) - correction_of(a, tie->from) - tie->short_by;
        if (a->net.redundancy[t] == 0)
            a->residual[t] = 0; /* nothing else says a word about it */
        a->vpv += tie->weight * a->residual[t] * a->residual[t];
    }
    a->freedom = a->observations - a->net.nodes;
}

/* Where an observation was booked. */
static struct diag_place
place_of(const struct job *job, const struct adjust_observation *of)
{
    switch (of->kind) {
    case ADJUST_READING:
        return record_row_place(&job->r->row[job->sight_row[of->index]]);
    case ADJUST_SECTION:
        return job->r->section[of->index].place;
    case ADJUST_MARK:
        break;
    }
    return job->r->mark[of->index].place;
}

/* The standard deviation of one observation that the net cannot go by. */
static void
say_range(const struct adjust *a, const struct adjust_observation *of, struct diag *d)
{
    const struct job *job = a->job;
    const struct level_leg *leg = of->kind == ADJUST_SECTION ? &job->leg[of->leg] : NULL;
    diag_say(d, DIAG_ERROR, place_of(job, of), "range", "the standard deviation of %s%s%s is too small or too large to adjust by: %.3g m",
        job_name(job, job->spot[leg ? leg->from : of->spot].at), leg ? " to " : "", leg ? job_name(job, job->spot[leg->to].at) : "",
        of->sigma);
}

/* The spot of a node that hangs on nothing, or one that its instrument reads. */
static const char *
node_name(const struct adjust *a, size_t node)
{
    const struct job *job = a->job;
    for (size_t i = 0; i < job->spots; i++)
        if (a->spot_node[i] == node)
            return job_name(job, job->spot[i].at);
    for (size_t i = 0; i < job->legs; i++)
        if (a->leg_node[i] == node)
            return job_name(job, job->spot[job->sight[job->leg[i].first].spot].at);
    return "";
}

static int
open_with(struct adjust *a, const struct job *job, bool sound, struct diag *d)
{
    *a = (struct adjust){ .job = job, .most = job->sights + job->legs + job->r->marks };
    a->spot_node = room_new(job->spots, sizeof *a->spot_node);
    a->leg_node = room_new(job->legs, sizeof *a->leg_node);
    a->of = room_new(a->most, sizeof *a->of);
    a->tie = room_new(a->most, sizeof *a->tie);
    if (!a->spot_node || !a->leg_node || !a->of || !a->tie)
        return -1;
    size_t errors = d->errors;
    number_nodes(a, sound);
    tie_all(a, sound, d);
    if (d->errors > errors)
        return 0;
    if (room_for_results(a) != 0)
        return -1;
    enum net_status status = solve(a);
    if (status == NET_EROOM)
        return -1;
    if (status == NET_OK)
        find_residuals(a);
    else if (status == NET_EGROUND) /* the job has tied everything that is here to a mark, and this should not be */
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "no-benchmark", "nothing ties %s to a mark of known elevation",
            node_name(a, a->net.bad));
    else
        say_range(a, &a->of[a->net.bad], d);
    return 0;
}

int
adjust_open(struct adjust *a, const struct job *job, struct diag *d)
{
    return open_with(a, job, false, d);
}

int
adjust_sound(struct adjust *a, const struct job *job, struct diag *d)
{
    return open_with(a, job, true, d);
}

/* ---- what it says ---- */

static bool
of_node(const struct adjust *a, uint32_t node, length carried, length *value, double *sigma)
{
    if (node == ADJUST_NOTHING)
        return false;
    bool held = node == NET_GROUND;
    *value = held ? carried : carried + (length)llround(a->net.correction[node] * (double)LENGTH_M);
    *sigma = held ? 0 : sqrt(a->net.variance[node]);
    return true;
}

bool
adjust_spot(const struct adjust *a, uint32_t spot, length *elevation, double *sigma)
{
    return of_node(a, a->spot_node[spot], spot_value(a, spot), elevation, sigma);
}

bool
adjust_hi(const struct adjust *a, uint32_t leg, length *hi, double *sigma)
{
    return of_node(a, a->leg_node[leg], a->job->leg[leg].hi, hi, sigma);
}

bool
adjust_is_instrument(const struct adjust *a, uint32_t node)
{
    return node >= a->points && node < a->net.nodes;
}

/* ---- what is checked ---- */

/* Sets of nodes, the ground behind the last of them. */
uint32_t
adjust_root(uint32_t *set, uint32_t node)
{
    while (set[node] != node)
        node = set[node] = set[set[node]];
    return node;
}

void
adjust_join(uint32_t *set, uint32_t x, uint32_t y)
{
    x = adjust_root(set, x);
    y = adjust_root(set, y);
    set[x > y ? x : y] = x > y ? y : x;
}

int
adjust_checked(const struct adjust *a, uint8_t *checked)
{
    uint32_t ground = (uint32_t)a->net.nodes, *set = room_new(a->net.nodes + 1, sizeof *set);
    if (!set)
        return -1;
    for (uint32_t i = 0; i <= ground; i++)
        set[i] = i;
    for (size_t t = 0; t < a->net.ties; t++) /* an elevation that is given is where checking begins */
        if (a->net.redundancy[t] > 0 || a->of[t].kind == ADJUST_MARK)
            adjust_join(set, a->tie[t].from == NET_GROUND ? ground : a->tie[t].from,
                a->tie[t].to == NET_GROUND ? ground : a->tie[t].to);
    for (uint32_t i = 0; i < ground; i++)
        checked[i] = adjust_root(set, i) == adjust_root(set, ground);
    free(set);
    return 0;
}

int
adjust_difference(const struct adjust *a, uint32_t spot, double *sigma)
{
    uint32_t from = a->spot_node[spot];
    double *with = from < ADJUST_NOTHING ? room_new(2 * a->net.nodes, sizeof *with) : NULL;
    if (from < ADJUST_NOTHING && !with)
        return -1;
    if (with)
        net_covariance(&a->net, from, with);
    for (uint32_t i = 0; i < a->job->spots; i++) {
        uint32_t node = a->spot_node[i];
        double own = node < ADJUST_NOTHING ? a->net.variance[node] : 0;
        double both = with && node < ADJUST_NOTHING ? with[node] : 0, other = with ? a->net.variance[from] : 0;
        double variance = own + other - 2 * both;
        sigma[i] = node == ADJUST_NOTHING || from == ADJUST_NOTHING ? -1 : variance > 0 ? sqrt(variance) : 0;
    }
    free(with);
    return 0;
}

/* ---- spread: least-squares ---- */

/* Lowest and highest of what was read on a spot, by adjusted heights of instrument. */
static void
widen_spots(struct job *job)
{
    for (size_t i = 0; i < job->spots; i++)
        job->level_spot[i].low = job->level_spot[i].high = job->level_spot[i].value;
    for (size_t l = 0; l < job->legs; l++) {
        const struct level_leg *leg = &job->leg[l];
        for (uint32_t i = leg->first; leg->known && i < leg->first + leg->count; i++) {
            struct level_spot *spot = &job->level_spot[job->sight[i].spot];
            length read = leg->hi - job->sight[i].reading;
            spot->low = read < spot->low ? read : spot->low;
            spot->high = read > spot->high ? read : spot->high;
        }
    }
}

/* What is adjusted here stays clear of lines outside their limit, which keep what was carried. */
static void
take_adjusted(struct job *job, const struct adjust *a)
{
    double sigma;
    for (uint32_t i = 0; i < job->spots; i++)
        (void)adjust_spot(a, i, &job->level_spot[i].value, &sigma);
    for (uint32_t i = 0; i < job->legs; i++) {
        struct level_leg *leg = &job->leg[i];
        if (leg->known && leg->count == 0 && leg->quality != LEVEL_OUTSIDE)
            leg->hi = job->level_spot[leg->to].value;
        else
            (void)adjust_hi(a, i, &leg->hi, &sigma);
    }
}

/* The running correction behind a leg: adjusted, less what its line carries from its adjusted beginning. */
static void
correct_line(struct job *job, const struct level_link *link)
{
    if (!link->spread || link->from == LEVEL_NONE)
        return;
    length at = job->level_spot[link->from].value;
    for (uint32_t k = 0; k < link->count; k++) {
        struct level_leg *leg = &job->leg[job->work.order[link->first + k]];
        at += leg->rise;
        if (leg->to != LEVEL_NONE)
            leg->correction = job->level_spot[leg->to].value - at;
    }
}

/* A line that hand methods leave unchecked may be checked by the net as a whole. */
static void
look_again(struct job *job, const struct adjust *a, const uint8_t *node_checked, const uint8_t *section_checked)
{
    bool forced = false;
    for (size_t i = 0; i < job->work.links; i++)
        forced |= job->work.link[i].within == LEVEL_BEYOND && job->work.link[i].spread;
    uint8_t better = forced ? LEVEL_FORCED : LEVEL_CLOSED;
    for (size_t i = 0; i < job->legs; i++) {
        struct level_leg *leg = &job->leg[i];
        bool checked = leg->count > 0 ? a->leg_node[i] != ADJUST_NOTHING && node_checked[a->leg_node[i]] : section_checked[i];
        if (leg->known && leg->quality == LEVEL_UNCHECKED && checked)
            leg->quality = better;
        for (uint32_t s = leg->first; leg->known && leg->quality <= LEVEL_FORCED && s < leg->first + leg->count; s++) {
            struct level_spot *spot = &job->level_spot[job->sight[s].spot];
            spot->quality = spot->quality == LEVEL_UNCHECKED ? better : spot->quality;
        }
    }
    for (size_t i = 0; i < job->spots; i++)
        if (job->level_spot[i].quality == LEVEL_UNCHECKED && a->spot_node[i] < ADJUST_NOTHING && node_checked[a->spot_node[i]])
            job->level_spot[i].quality = better;
    for (size_t i = 0; i < job->work.links; i++) {
        struct level_link *link = &job->work.link[i];
        bool all = link->quality == LEVEL_UNCHECKED;
        for (uint32_t k = 0; all && k < link->count; k++)
            all = job->leg[job->work.order[link->first + k]].quality <= LEVEL_FORCED;
        if (!all)
            continue;
        link->quality = better;
        link->spread = true;
        job->spurs -= link->kind == LEVEL_SPUR;
    }
}

/* Nodes and sections that are tied to what is given by more than one way. */
static int
find_checked(struct job *job, const struct adjust *a)
{
    uint8_t *node = room_new(a->net.nodes, sizeof *node), *section = room_new(job->legs, sizeof *section);
    int rc = node && section ? adjust_checked(a, node) : -1;
    for (size_t t = 0; rc == 0 && t < a->observations; t++)
        if (a->of[t].kind == ADJUST_SECTION)
            section[a->of[t].leg] = a->net.redundancy[t] > 0;
    if (rc == 0)
        look_again(job, a, node, section);
    free(node);
    free(section);
    return rc;
}

int
job_least_squares(struct job *job, struct adjust *a, struct diag *d)
{
    int rc = adjust_sound(a, job, d);
    if (rc != 0 || d->errors > 0)
        return rc;
    take_adjusted(job, a);
    widen_spots(job);
    rc = find_checked(job, a);
    for (size_t i = 0; i < job->work.links; i++)
        correct_line(job, &job->work.link[i]);
    return rc;
}
