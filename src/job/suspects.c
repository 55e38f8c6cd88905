/* suspects.c - a job's readings and loops as suspect.h wants them, and what to shoot again */
#include "rodbook/suspects.h"

#include "parts.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NONE JOB_NONE

/* What only the joining needs. */
struct joining {
    struct suspects *s;
    uint32_t *of_leg;  /* [legs] first reading of each, or NONE */
    uint32_t *of_spot; /* [spots] reading that is the mark there, or NONE */
    int32_t *sign;     /* [readings] of the loop in hand */
    int32_t *held;     /* [spots] changes of marks in the loop in hand */
};

void
suspects_release(struct suspects *s)
{
    adjust_loops_release(&s->net_loops);
    adjust_release(&s->net);
    free(s->reading);
    free(s->place);
    free(s->standing);
    free(s->loop);
    free(s->of);
    free(s->cluster);
    free(s->step);
    free(s->suspect);
    free(s->share);
    free(s->fault);
    free(s->shot);
    *s = (struct suspects){ 0 };
}

/* ---- readings ---- */

static int
add_reading(struct suspects *s, struct suspect_reading reading, struct suspects_place place)
{
    struct suspect_reading *r = room_for(s->reading, &s->reading_room, s->scene.readings, sizeof *r);
    struct suspects_place *p = room_for(s->place, &s->place_room, s->scene.readings, sizeof *p);
    s->reading = r ? r : s->reading;
    s->place = p ? p : s->place;
    if (!r || !p)
        return -1;
    r[s->scene.readings] = reading;
    p[s->scene.readings++] = place;
    return 0;
}

static int
add_sight(struct suspects *s, const struct adjust_observation *of)
{
    static const uint8_t sources[] = { SUSPECT_BS, SUSPECT_IS, SUSPECT_FS }; /* enum level_kind */
    static const uint8_t wired[] = { RECORD_HAS_BS, RECORD_HAS_IS, RECORD_HAS_FS };
    const struct job *job = s->job;
    const struct level_sight *sight = &job->sight[of->index];
    const struct record_row *row = &job->r->row[job->sight_row[of->index]];
    struct record_dist dist = job_dist_of(job, row);
    struct suspect_reading r = { .value = sight->reading, .dist = sight->kind == LEVEL_BS ? dist.bs : dist.ahead,
        .setup = of->leg, .run = job->leg[of->leg].run, .spot = sight->spot, .sigma = of->sigma,
        .source = sources[sight->kind], .meaned = (record_extra(job->r, row)->wires & wired[sight->kind]) != 0 };
    return add_reading(s, r, (struct suspects_place){ of->index, NONE, NONE, of->leg, sight->spot });
}

static int
add_section(struct suspects *s, uint32_t section, uint32_t leg, double sigma)
{
    struct suspect_reading r = { .value = s->job->r->section[section].rise, .dist = -1, .setup = LEVEL_NONE,
        .run = s->job->leg[leg].run, .spot = LEVEL_NONE, .sigma = sigma, .source = SUSPECT_SECTION };
    return add_reading(s, r, (struct suspects_place){ NONE, section, NONE, leg, NONE });
}

static int
add_mark(struct joining *j, uint32_t spot, double sigma)
{
    struct suspects *s = j->s;
    uint32_t mark = s->job->mark_of[s->job->spot[spot].at];
    struct suspect_reading r = { .value = s->job->r->mark[mark].elevation, .dist = -1, .setup = LEVEL_NONE, .run = LEVEL_NONE,
        .spot = spot, .sigma = sigma, .source = SUSPECT_MARK };
    j->of_spot[spot] = (uint32_t)s->scene.readings;
    return add_reading(s, r, (struct suspects_place){ NONE, NONE, mark, NONE, spot });
}

/* The observations of the net, under their numbers, sections between two held marks among them; then held marks. */
static int
gather_readings(struct joining *j)
{
    struct suspects *s = j->s;
    const struct job *job = s->job;
    int rc = 0;
    for (size_t i = 0; rc == 0 && i < s->net.observations; i++) {
        const struct adjust_observation *of = &s->net.of[i];
        if (of->leg != LEVEL_NONE && j->of_leg[of->leg] == NONE)
            j->of_leg[of->leg] = (uint32_t)i;
        rc = of->kind == ADJUST_READING ? add_sight(s, of)
            : of->kind == ADJUST_SECTION ? add_section(s, of->index, of->leg, of->sigma)
                                         : add_mark(j, of->spot, of->sigma);
    }
    for (uint32_t i = 0; rc == 0 && i < job->spots; i++)
        if (job->level_spot[i].state == LEVEL_MARK && j->of_spot[i] == NONE)
            rc = add_mark(j, i, 0);
    return rc;
}

/* ---- loops ---- */

static int
add_step(struct suspects *s, uint32_t reading, int32_t sign)
{
    struct suspect_step *grown = room_for(s->step, &s->step_room, s->scene.steps, sizeof *grown);
    if (!grown)
        return -1;
    s->step = grown;
    grown[s->scene.steps++] = (struct suspect_step){ reading, sign };
    return 0;
}

static int
add_loop(struct suspects *s, struct suspect_loop loop, struct suspects_loop of)
{
    struct suspect_loop *l = room_for(s->loop, &s->loop_room, s->scene.loops, sizeof *l);
    struct suspects_loop *o = room_for(s->of, &s->of_room, s->scene.loops, sizeof *o);
    s->loop = l ? l : s->loop;
    s->of = o ? o : s->of;
    if (!l || !o)
        return -1;
    loop.count = (uint32_t)s->scene.steps - loop.first;
    l[s->scene.loops] = loop;
    o[s->scene.loops++] = of;
    return 0;
}

/* A held mark stands in a loop where it is gone over to another one: in and out at one mark cancel. */
static int
add_held(struct joining *j, const uint32_t *spot, size_t n)
{
    int rc = 0;
    for (size_t i = 0; i < n; i++) {
        if (j->held[spot[i]] != 0 && rc == 0)
            rc = add_step(j->s, j->of_spot[spot[i]], j->held[spot[i]]);
        j->held[spot[i]] = 0;
    }
    return rc;
}

static int
add_net_loop(struct joining *j, const struct adjust_loop *loop)
{
    struct suspects *s = j->s;
    const struct adjust *net = &s->net;
    uint32_t held[4];
    size_t n = 0;
    int rc = 0;
    uint32_t first = (uint32_t)s->scene.steps;
    for (uint32_t i = 0; rc == 0 && i < loop->count; i++) {
        uint32_t tie = s->net_loops.way[loop->first + i];
        const struct adjust_observation *of = &net->of[tie];
        int32_t forward = s->net_loops.forward[loop->first + i] ? 1 : -1;
        rc = add_step(s, tie, of->kind == ADJUST_READING ? -forward : forward);
        if (of->kind == ADJUST_MARK)
            continue;
        bool reading = of->kind == ADJUST_READING;
        uint32_t from = reading ? LEVEL_NONE : s->job->leg[of->leg].from, to = reading ? of->spot : s->job->leg[of->leg].to;
        if (from != LEVEL_NONE && net->spot_node[from] == NET_GROUND && n < 4)
            j->held[held[n++] = from] += forward;
        if (net->spot_node[to] == NET_GROUND && n < 4)
            j->held[held[n++] = to] -= forward;
    }
    if (add_held(j, held, n) != 0 || rc != 0)
        return -1;
    double sigmas = SUSPECTS_SIGMAS * loop->sigma * (double)LENGTH_M;
    bool by_sigma = loop->allowed_nm < 0;
    return add_loop(s,
        (struct suspect_loop){ .first = first, .misclosure = loop->misclosure, .counted = true,
            .limit_nm = loop->allowed_nm > sigmas ? loop->allowed_nm : sigmas },
        (struct suspects_loop){ .line = NONE, .setups = loop->setups_known ? loop->setups : 0, .by_sigma = by_sigma });
}

/* ---- lines of the job ---- */

static double
line_sigma(const struct suspects *s, uint32_t first)
{
    double sum = 0;
    for (size_t i = first; i < s->scene.steps; i++) {
        double sigma = s->reading[s->step[i].reading].sigma;
        sum += sigma * sigma;
    }
    return sqrt(sum);
}

/* The loop of the net that has the same readings as those behind `first`; or NONE. */
static uint32_t
same_loop(struct joining *j, uint32_t first, length misclosure)
{
    const struct suspects *s = j->s;
    uint32_t same = NONE, count = (uint32_t)s->scene.steps - first;
    for (size_t i = first; i < s->scene.steps; i++)
        j->sign[s->step[i].reading] = s->step[i].sign;
    for (uint32_t l = 0; same == NONE && l < s->scene.loops; l++) {
        const struct suspect_loop *loop = &s->loop[l];
        if (loop->count != count || (loop->misclosure != misclosure && loop->misclosure != -misclosure))
            continue;
        uint32_t i = 0;
        while (i < count && j->sign[s->step[loop->first + i].reading] != 0)
            i++;
        same = i == count ? l : NONE;
    }
    for (size_t i = first; i < s->scene.steps; i++)
        j->sign[s->step[i].reading] = 0;
    return same;
}

/* Both ends of a line with misclosure are given, or it comes back to where it began: it is a sum of readings and marks. */
static bool
is_sum(const struct job *job, const struct level_link *link)
{
    bool given = link->from != LEVEL_NONE && link->to != LEVEL_NONE && job->level_spot[link->from].state == LEVEL_MARK
        && job->level_spot[link->to].state == LEVEL_MARK;
    return link->kind != LEVEL_SPUR && (link->from == link->to || given);
}

static int
steps_of_line(struct joining *j, const struct level_link *link)
{
    struct suspects *s = j->s;
    int rc = 0;
    for (uint32_t i = 0; rc == 0 && i < link->count; i++) {
        uint32_t l = s->job->work.order[link->first + i];
        const struct level_leg *leg = &s->job->leg[l];
        rc = add_step(s, j->of_leg[l], 1);
        if (rc == 0 && leg->count > 0)
            rc = add_step(s, j->of_leg[l] + leg->count - 1, -1);
    }
    if (rc == 0 && link->from != link->to)
        rc = add_step(s, j->of_spot[link->from], 1) != 0 ? -1 : add_step(s, j->of_spot[link->to], -1);
    return rc;
}

static int
add_line(struct joining *j, uint32_t line)
{
    struct suspects *s = j->s;
    const struct level_link *link = &s->job->work.link[line];
    uint32_t first = (uint32_t)s->scene.steps;
    if (!is_sum(s->job, link))
        return 0;
    if (steps_of_line(j, link) != 0)
        return -1;
    bool by_sigma = link->allowed_nm < 0;
    double limit = by_sigma ? SUSPECTS_SIGMAS * line_sigma(s, first) * (double)LENGTH_M : link->allowed_nm;
    uint32_t same = same_loop(j, first, link->misclosure);
    if (same != NONE) {
        s->scene.steps = first;
        s->of[same].line = line;
        s->of[same].by_sigma = by_sigma;
        s->loop[same].limit_nm = limit;
        return 0;
    }
    return add_loop(s,
        (struct suspect_loop){ .first = first, .misclosure = link->misclosure, .limit_nm = limit, .counted = false },
        (struct suspects_loop){ .line = line, .setups = link->setups, .by_sigma = by_sigma });
}

static int
gather_loops(struct joining *j)
{
    int rc = 0;
    for (size_t i = 0; rc == 0 && i < j->s->net_loops.loops; i++)
        rc = add_net_loop(j, &j->s->net_loops.loop[i]);
    for (uint32_t i = 0; rc == 0 && i < j->s->job->work.links; i++)
        rc = add_line(j, i);
    return rc;
}

static uint32_t *
nones(size_t n)
{
    uint32_t *list = room_new(n, sizeof *list);
    if (list)
        memset(list, 0xff, n * sizeof *list);
    return list;
}

static int
gather(struct suspects *s)
{
    const struct job *job = s->job;
    struct joining j = { .s = s, .of_leg = nones(job->legs), .of_spot = nones(job->spots),
        .held = room_new(job->spots, sizeof *j.held) };
    int rc = j.of_leg && j.of_spot && j.held ? gather_readings(&j) : -1;
    j.sign = room_new(s->scene.readings, sizeof *j.sign);
    if (rc == 0)
        rc = j.sign ? gather_loops(&j) : -1;
    free(j.of_leg);
    free(j.of_spot);
    free(j.held);
    free(j.sign);
    return rc;
}

/* ---- faults ---- */

static int
search(struct suspects *s)
{
    const struct record_job *job = &s->job->r->job;
    size_t most = 4 * s->scene.readings + 1024;
    s->scene.reading = s->reading;
    s->scene.loop = s->loop;
    s->scene.step = s->step;
    s->scene.unit = job->unit;
    s->scene.least = job->least;
    s->scene.rod = job->rod_length > 0 ? job->rod_length : RECORD_ROD_MOST;
    s->standing = room_new(s->scene.readings, 1);
    s->cluster = room_new(s->scene.loops, sizeof *s->cluster);
    s->suspect = room_new(most, sizeof *s->suspect);
    s->share = room_new(most, sizeof *s->share);
    s->fault = room_new(s->scene.loops, sizeof *s->fault);
    void *room = room_new(suspect_room(&s->scene), 1);
    bool have = s->standing && s->cluster && s->suspect && s->share && s->fault && room;
    if (have)
        s->suspects = suspect_find(&s->scene, room, s->suspect, most, s->standing, s->cluster);
    free(room);
    return have ? 0 : -1;
}

static int
by_fault(const void *a, const void *b)
{
    const struct suspect *x = a, *y = b;
    if (x->cluster != y->cluster)
        return x->cluster < y->cluster ? -1 : 1;
    if (x->score > y->score || x->score < y->score)
        return x->score > y->score ? -1 : 1;
    if (x->reading != y->reading)
        return x->reading < y->reading ? -1 : 1;
    if (x->slip != y->slip)
        return x->slip < y->slip ? -1 : 1;
    if (x->instead != y->instead)
        return x->instead < y->instead ? -1 : 1;
    return (x->other > y->other) - (x->other < y->other);
}

#define ALIKE 0.05 /* of ln: nobody would bet on a difference of five in a hundred */

static void
share_out(struct suspects *s, struct suspects_fault *f)
{
    double sum = 0, best = f->count > 0 ? s->suspect[f->first].score : 0;
    for (size_t i = f->first; i < f->first + f->count; i++) {
        s->share[i] = exp(s->suspect[i].score - best);
        sum += s->share[i];
        f->alike += s->suspect[i].score > best - ALIKE;
    }
    for (size_t i = f->first; i < f->first + f->count; i++)
        s->share[i] /= sum;
}

/* Readings on the loops of a fault. */
static void
count_readings(struct suspects *s, struct suspects_fault *f, uint32_t *seen, uint32_t stamp)
{
    for (size_t l = 0; l < s->scene.loops; l++) {
        if (s->cluster[l] != f->first_loop)
            continue;
        f->loops++;
        for (uint32_t i = s->loop[l].first; i < s->loop[l].first + s->loop[l].count; i++) {
            uint32_t reading = s->step[i].reading;
            if (seen[reading] == stamp || s->reading[reading].source == SUSPECT_MARK)
                continue;
            seen[reading] = stamp;
            f->readings++;
            f->cleared += s->standing[reading] == SUSPECT_CLEARED;
        }
    }
}

/* ---- what to shoot again ---- */

/* Suspicion as it gathers on set-ups, sections and marks. */
struct suspicion {
    double *of_leg;  /* [legs] */
    double *of_mark; /* [marks] */
};

static void
suspect_place(const struct suspects *s, struct suspicion *on, uint32_t reading, double share)
{
    const struct suspects_place *p = &s->place[reading];
    if (p->leg != NONE)
        on->of_leg[p->leg] += share;
    else
        on->of_mark[p->mark] += share;
}

static void
suspect_one(const struct suspects *s, struct suspicion *on, const struct suspect *x, double share)
{
    if (x->slip == SUSPECT_ROD)
        return; /* no set-up of its own */
    uint32_t second = x->slip == SUSPECT_TURN ? x->reading - 1 : x->slip == SUSPECT_POINT ? NONE : x->other;
    suspect_place(s, on, x->reading, second == NONE ? share : share / 2);
    if (second != NONE)
        suspect_place(s, on, second, share / 2);
}

static int
add_shot(struct suspects *s, struct suspects_shot shot)
{
    struct suspects_shot *grown = room_for(s->shot, &s->shot_room, s->shots, sizeof *grown);
    if (!grown)
        return -1;
    s->shot = grown;
    grown[s->shots++] = shot;
    return 0;
}

static int
by_share(const void *a, const void *b)
{
    const struct suspects_shot *x = a, *y = b;
    long long more = llround(x->share * 1e9), less = llround(y->share * 1e9); /* equal but for rounding: by length */
    if (more != less)
        return more > less ? -1 : 1;
    if (x->dist != y->dist)
        return x->dist < 0 || (y->dist >= 0 && x->dist > y->dist) ? 1 : -1;
    if (x->leg != y->leg)
        return x->leg < y->leg ? -1 : 1;
    return x->mark < y->mark ? -1 : x->mark > y->mark;
}

#define SHARE_LEAST 0.005
#define SETUPS_FEW 4
#define SHARE_MOST 0.8

/* Where more than a few set-ups are needed to have most of the suspicion: the line that carries it, and its middle. */
static void
find_half(const struct suspects *s, struct suspects_fault *f, const struct suspicion *on)
{
    double few = 0;
    for (size_t i = f->first_shot; i < f->first_shot + f->shots && i < f->first_shot + SETUPS_FEW; i++)
        few += s->shot[i].share;
    f->half_line = f->half_leg = NONE;
    if (few >= SHARE_MOST)
        return;
    double most = 0;
    for (uint32_t l = 0; l < s->scene.loops; l++) {
        if (s->cluster[l] != f->first_loop || s->of[l].line == NONE)
            continue;
        const struct level_link *link = &s->job->work.link[s->of[l].line];
        const uint32_t *leg = s->job->work.order + link->first;
        double sum = 0, part = 0;
        for (uint32_t i = 0; i < link->count; i++)
            sum += on->of_leg[leg[i]];
        if (sum <= most || link->count < 3)
            continue;
        uint32_t i = 0;
        for (; i + 2 < link->count && part + on->of_leg[leg[i]] < sum / 2; i++)
            part += on->of_leg[leg[i]];
        most = sum;
        f->half_line = s->of[l].line;
        f->half_leg = leg[i];
    }
}

static int
shots_of(struct suspects *s, struct suspects_fault *f, struct suspicion *on)
{
    const struct job *job = s->job;
    int rc = 0;
    f->first_shot = s->shots;
    for (size_t i = f->first; i < f->first + f->count; i++)
        suspect_one(s, on, &s->suspect[i], s->share[i]);
    for (uint32_t l = 0; rc == 0 && l < job->legs; l++)
        if (on->of_leg[l] >= SHARE_LEAST)
            rc = add_shot(s, (struct suspects_shot){ l, NONE, on->of_leg[l], job->leg[l].dist });
    for (uint32_t m = 0; rc == 0 && m < job->r->marks; m++)
        if (on->of_mark[m] >= SHARE_LEAST)
            rc = add_shot(s, (struct suspects_shot){ NONE, m, on->of_mark[m], -1 });
    f->shots = s->shots - f->first_shot;
    if (f->shots > 0)
        qsort(s->shot + f->first_shot, f->shots, sizeof *s->shot, by_share);
    find_half(s, f, on);
    memset(on->of_leg, 0, job->legs * sizeof *on->of_leg);
    memset(on->of_mark, 0, job->r->marks * sizeof *on->of_mark);
    return rc;
}

static int
find_faults(struct suspects *s)
{
    struct suspicion on = { room_new(s->job->legs, sizeof(double)), room_new(s->job->r->marks, sizeof(double)) };
    uint32_t *seen = nones(s->scene.readings);
    int rc = on.of_leg && on.of_mark && seen ? 0 : -1;
    size_t next = 0;
    qsort(s->suspect, s->suspects, sizeof *s->suspect, by_fault);
    for (uint32_t l = 0; rc == 0 && l < s->scene.loops; l++) {
        if (s->cluster[l] != l)
            continue;
        struct suspects_fault *f = &s->fault[s->faults];
        *f = (struct suspects_fault){ .first_loop = l, .first = next };
        for (; next < s->suspects && s->suspect[next].cluster == l; next++)
            f->count++;
        share_out(s, f);
        count_readings(s, f, seen, (uint32_t)s->faults++);
        rc = shots_of(s, f, &on);
    }
    for (size_t i = 0; i < s->scene.readings; i++) {
        bool mark = s->reading[i].source == SUSPECT_MARK;
        s->unchecked += !mark && s->standing[i] == SUSPECT_UNCHECKED;
        s->closes += !mark && s->standing[i] == SUSPECT_CLOSES;
    }
    free(on.of_leg);
    free(on.of_mark);
    free(seen);
    return rc;
}

int
suspects_open(struct suspects *s, const struct job *job, struct diag *d)
{
    *s = (struct suspects){ .job = job };
    size_t errors = d->errors;
    if (adjust_open(&s->net, job, d) != 0)
        return -1;
    if (d->errors > errors)
        return 0;
    if (adjust_loops_open(&s->net_loops, &s->net) != 0 || gather(s) != 0 || search(s) != 0)
        return -1;
    return find_faults(s);
}
