/* course.c - the way that levels went */
#include "rodbook/course.h"

#include "parts.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>

static const struct record_row *
row_of(const struct job *job, size_t sight)
{
    return &job->r->row[job->sight_row[sight]];
}

/* Lengths of the backsight and the foresight of a set-up; -1 where not booked. */
static void
sight_lengths(const struct job *job, const struct level_leg *leg, length *back, length *ahead)
{
    *back = *ahead = -1;
    for (size_t i = leg->first; i < leg->first + leg->count; i++) {
        uint8_t kind = job->sight[i].kind;
        struct record_dist d = job_dist_of(job, row_of(job, i));
        if (kind == LEVEL_BS)
            *back = d.bs;
        else if (job->sight[i].spot == leg->to) /* of an open set-up it may be an intermediate sight */
            *ahead = d.ahead;
    }
}

/* Along from its beginning to its instrument and its end. False where a length is not booked. */
static bool
lengths_of(const struct job *job, const struct level_leg *leg, length *instrument, length *end)
{
    length back, ahead;
    if (leg->count == 0) {
        *instrument = *end = leg->dist;
        return leg->dist > 0;
    }
    sight_lengths(job, leg, &back, &ahead);
    *instrument = leg->from == LEVEL_NONE ? 0 : back;
    *end = *instrument + (leg->to == LEVEL_NONE ? 0 : ahead);
    return *instrument >= 0 && (leg->from == LEVEL_NONE || back > 0) && (leg->to == LEVEL_NONE || ahead > 0);
}

static bool
lengths_booked(const struct job *job, size_t first, size_t end)
{
    length to_instrument, to_end;
    bool all = true;
    for (size_t i = first; i < end; i++)
        all &= !job->leg[i].known || lengths_of(job, &job->leg[i], &to_instrument, &to_end);
    return all;
}

static void
add_sides(struct course *c, const struct job *job, const struct level_leg *leg, struct course_leg *out)
{
    out->first = c->sides;
    for (size_t i = leg->first; i < leg->first + leg->count; i++)
        if (job->sight[i].kind == LEVEL_IS)
            c->side[c->sides++] = (struct course_side){ job->sight[i].spot, leg->raw_hi - job->sight[i].reading };
    out->sides = c->sides - out->first;
}

/* Elevations of both ends, as carried. An end that was read as an intermediate sight has its reading there. */
static void
carry(const struct job *job, const struct level_leg *leg, struct course_leg *out)
{
    out->has_from = leg->from != LEVEL_NONE;
    out->has_to = leg->to != LEVEL_NONE;
    out->has_hi = leg->count > 0;
    out->hi = leg->raw_hi;
    out->from = leg->raw_hi - (leg->count == 0 ? leg->rise : 0);
    out->to = leg->raw_hi;
    for (size_t i = leg->first; i < leg->first + leg->count; i++) {
        const struct level_sight *s = &job->sight[i];
        if (s->kind == LEVEL_BS)
            out->from = leg->raw_hi - s->reading;
        else if (s->spot == leg->to)
            out->to = leg->raw_hi - s->reading;
    }
}

static void
add_leg(struct course *c, const struct job *job, uint32_t leg)
{
    const struct level_leg *l = &job->leg[leg];
    const struct course_leg *before = c->legs > 0 ? &c->leg[c->legs - 1] : NULL;
    struct course_leg *out = &c->leg[c->legs];
    length instrument = COURSE_STEP / 2, end = COURSE_STEP;
    if (c->by_dist)
        (void)lengths_of(job, l, &instrument, &end);
    *out = (struct course_leg){ .leg = leg, .begin = before ? before->end : 0 };
    out->joins = before && before->has_to && before->leg + 1 == leg && job->leg[before->leg].to == l->from;
    out->instrument = out->begin + instrument;
    out->end = out->begin + end;
    carry(job, l, out);
    add_sides(c, job, l, out);
    c->legs++;
}

int
course_open(struct course *c, const struct job *job, uint32_t run)
{
    size_t first = job->run_leg[run], end = job->run_leg[run + 1], sights = job->run_sight[run + 1] - job->run_sight[run];
    *c = (struct course){ .leg = room_new(end - first, sizeof *c->leg), .side = room_new(sights, sizeof *c->side) };
    if (!c->leg || !c->side)
        return -1;
    c->by_dist = lengths_booked(job, first, end);
    for (size_t i = first; i < end; i++)
        if (job->leg[i].known)
            add_leg(c, job, (uint32_t)i);
        else
            c->adrift++;
    return 0;
}

void
course_release(struct course *c)
{
    free(c->leg);
    free(c->side);
    *c = (struct course){ 0 };
}

/* ---- lines ---- */

struct need {
    bool judged;
    double size; /* misclosure over its limit, or nm where there is none */
    uint32_t line;
};

static int
compare(const void *one, const void *other)
{
    const struct need *a = one, *b = other;
    if (a->judged != b->judged)
        return a->judged ? -1 : 1;
    if (a->size != b->size)
        return a->size > b->size ? -1 : 1;
    return a->line < b->line ? -1 : a->line > b->line;
}

size_t
course_lines(const struct job *job, uint32_t *line)
{
    struct need *need = room_new(job->work.links, sizeof *need);
    size_t n = 0;
    if (!need)
        return SIZE_MAX;
    for (uint32_t i = 0; i < job->work.links; i++) {
        const struct level_link *l = &job->work.link[i];
        bool judged = l->within != LEVEL_NOT_JUDGED;
        double misclosure = fabs((double)l->misclosure);
        if (l->kind != LEVEL_SPUR)
            need[n++] = (struct need){ judged, judged ? misclosure / l->allowed_nm : misclosure, i };
    }
    qsort(need, n, sizeof *need, compare);
    for (size_t i = 0; i < n; i++)
        line[i] = need[i].line;
    free(need);
    return n;
}
