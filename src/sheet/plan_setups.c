/* plan_setups.c - set-ups with a place, and their lines of sight */
#include "plan_page.h"

#include "rodbook/room.h"

#include <stdlib.h>
#include <string.h>

int
plan_setups_gather(struct ground_plan *plan)
{
    const struct job *job = plan->job;
    plan->stand_of = room_new(job->legs, sizeof *plan->stand_of);
    plan->setup = room_new(job->r->stands, sizeof *plan->setup);
    if (!plan->stand_of || !plan->setup)
        return -1;
    for (size_t l = 0; l < job->legs; l++)
        plan->stand_of[l] = JOB_NONE;
    for (uint32_t i = 0; i < job->r->stands; i++) {
        uint32_t leg = job_setup(job, job->r->stand[i].setup_entry, job->r->stand[i].setup_number);
        if (leg != JOB_NONE)
            plan->stand_of[leg] = i;
    }
    return 0;
}

void
plan_setups_release(struct ground_plan *plan)
{
    free(plan->stand_of);
    free(plan->setup);
    free(plan->sight);
}

uint32_t
plan_last_leg(const struct job *job, uint32_t spot)
{
    uint32_t leg = spot == JOB_NONE ? LEVEL_NONE : job->level_spot[spot].last_leg;
    return leg != LEVEL_NONE && job->leg[leg].count > 0 ? leg : JOB_NONE;
}

static int
add_sight(struct ground_plan *plan, uint32_t leg, uint32_t mark)
{
    if (leg == JOB_NONE || plan->stand_of[leg] == JOB_NONE)
        return 0;
    struct plan_sight *sight = room_for(plan->sight, &plan->sight_room, plan->sights, sizeof *sight);
    if (!sight)
        return -1;
    plan->sight = sight;
    sight[plan->sights++] = (struct plan_sight){ leg, mark };
    return 0;
}

/* To a mark from where it was last read: for the grade of the page, or without a grade, in whatever way it was. */
static int
last_sights(struct ground_plan *plan, uint32_t mark)
{
    const struct job *job = plan->job;
    uint32_t name = plan->mark[mark].name;
    int rc = 0;
    for (uint32_t i = plan->first_stake[name]; rc == 0 && i != JOB_NONE; i = plan->next_stake[i])
        rc = add_sight(plan, plan_last_leg(job, job->stake[i].spot), mark);
    for (uint32_t on = 0; !plan->grade && rc == 0 && on < RECORD_ON_COUNT; on++)
        rc = add_sight(plan, plan_last_leg(job, job->spot_of[(size_t)name * RECORD_ON_COUNT + on]), mark);
    return rc;
}

static int
compare_sights(const void *one, const void *other)
{
    const struct plan_sight *a = one, *b = other;
    if (a->leg != b->leg)
        return a->leg < b->leg ? -1 : 1;
    return a->mark < b->mark ? -1 : a->mark > b->mark;
}

/* In the order of set-ups, each once. */
static void
sort_sights(struct ground_plan *plan)
{
    size_t n = 0;
    if (plan->sights > 0)
        qsort(plan->sight, plan->sights, sizeof *plan->sight, compare_sights);
    for (size_t i = 0; i < plan->sights; i++)
        if (n == 0 || compare_sights(&plan->sight[n - 1], &plan->sight[i]) != 0)
            plan->sight[n++] = plan->sight[i];
    plan->sights = n;
}

/* To the benchmarks that a set-up on the page read. */
static int
benchmark_sights(struct ground_plan *plan, uint32_t leg)
{
    const struct job *job = plan->job;
    const struct level_leg *l = &job->leg[leg];
    int rc = 0;
    for (uint32_t k = 0; k < plan->marks; k++) {
        if (!plan->own[k] || !plan->mark[k].benchmark)
            continue;
        for (uint32_t i = l->first; rc == 0 && i < l->first + l->count; i++) {
            const struct job_spot *spot = &job->spot[job->sight[i].spot];
            if (spot->at == plan->mark[k].name && spot->on == RECORD_ON_MARK)
                rc = add_sight(plan, leg, k);
        }
    }
    return rc;
}

void
plan_setups_none(struct ground_plan *plan)
{
    plan->setups = plan->sights = 0;
}

static bool
is_within(const struct plan_span *s, const struct record_stand *at)
{
    return at->x >= s->left && at->x <= s->right && at->y >= s->bottom && at->y <= s->top;
}

/* The span with a place, where that is no more than half as wide or high again. */
static void
take_in(struct plan_span *s, const struct plan_span *before, const struct record_stand *at)
{
    const struct plan_span with = { at->x < before->left ? at->x : before->left, at->y < before->bottom ? at->y : before->bottom,
        at->x > before->right ? at->x : before->right, at->y > before->top ? at->y : before->top };
    if (with.right - with.left > (before->right - before->left) / 2 * 3 || with.top - with.bottom > (before->top - before->bottom) / 2 * 3)
        return;
    s->left = with.left < s->left ? with.left : s->left;
    s->right = with.right > s->right ? with.right : s->right;
    s->bottom = with.bottom < s->bottom ? with.bottom : s->bottom;
    s->top = with.top > s->top ? with.top : s->top;
}

int
plan_setups_find(struct ground_plan *plan, struct plan_span *span, bool whole)
{
    const struct record_stand *stand = plan->job->r->stand;
    const struct plan_span before = *span;
    int rc = 0;
    plan_setups_none(plan);
    for (uint32_t k = 0; rc == 0 && k < plan->marks; k++)
        rc = plan->own[k] ? last_sights(plan, k) : 0;
    if (rc != 0)
        return rc;
    sort_sights(plan);
    for (size_t i = 0; whole && i < plan->sights; i++)
        take_in(span, &before, &stand[plan->stand_of[plan->sight[i].leg]]);
    size_t n = 0;
    for (size_t i = 0; i < plan->sights; i++) {
        uint32_t leg = plan->sight[i].leg;
        const struct record_stand *at = &stand[plan->stand_of[leg]];
        if (!is_within(span, at))
            continue;
        if (plan->setups == 0 || plan->setup[plan->setups - 1] != leg)
            plan->setup[plan->setups++] = leg;
        plan->sight[n++] = plan->sight[i];
    }
    plan->sights = n;
    for (size_t i = 0; rc == 0 && i < plan->setups; i++)
        rc = benchmark_sights(plan, plan->setup[i]);
    sort_sights(plan);
    return rc;
}

/* ---- what is said of those that are not drawn ---- */

struct seen {
    bool placed; /* and off the drawing */
    uint32_t leg, stake;
};

static int
compare_seen(const void *one, const void *other)
{
    const struct seen *a = one, *b = other;
    if (a->placed != b->placed)
        return a->placed ? 1 : -1;
    if (a->leg != b->leg)
        return a->leg < b->leg ? -1 : 1;
    return a->stake < b->stake ? -1 : 1;
}

static bool
is_drawn(const struct ground_plan *plan, uint32_t leg)
{
    for (size_t i = 0; i < plan->setups; i++)
        if (plan->setup[i] == leg)
            return true;
    return false;
}

static void
begin_setup(const struct ground_plan *plan, const struct seen *s, bool first, FILE *out)
{
    char name[SHEET_WORDS], x[LENGTH_TEXT], y[LENGTH_TEXT];
    setup_name(name, plan->job, s->leg);
    if (!s->placed) {
        fprintf(out, "%s from %s:", first ? "Set-ups without a place are not drawn, nor their lines of sight. Last read" : ";", name);
        return;
    }
    const struct record_stand *at = &plan->job->r->stand[plan->stand_of[s->leg]];
    length_print(x, at->x, plan->p->style.elevation);
    length_print(y, at->y, plan->p->style.elevation);
    fprintf(out, "%s %s at x %s, y %s, from which were last read", first ? "Set-ups off this drawing:" : ";", name, x, y);
}

int
plan_setups_words(const struct ground_plan *plan, FILE *out)
{
    const struct job *job = plan->job;
    struct seen *seen = room_new(job->stakes, sizeof *seen);
    size_t n = 0;
    if (!seen)
        return -1;
    for (size_t k = 0; k < plan->marks; k++)
        for (uint32_t i = plan->own[k] ? plan->first_stake[plan->mark[k].name] : JOB_NONE; i != JOB_NONE; i = plan->next_stake[i]) {
            uint32_t leg = plan_last_leg(job, job->stake[i].spot);
            if (leg != JOB_NONE && !is_drawn(plan, leg))
                seen[n++] = (struct seen){ plan->stand_of[leg] != JOB_NONE, leg, i };
        }
    qsort(seen, n, sizeof *seen, compare_seen);
    for (size_t i = 0; i < n; i++) {
        bool first = i == 0 || seen[i].placed != seen[i - 1].placed, begins = first || seen[i].leg != seen[i - 1].leg;
        if (first && i > 0)
            fputc('\n', out);
        if (begins)
            begin_setup(plan, &seen[i], first, out);
        fprintf(out, "%s %s", begins ? "" : ",", names_text(&job->r->names, job->stake[seen[i].stake].at));
    }
    if (n > 0)
        fputc('\n', out);
    free(seen);
    return 0;
}
