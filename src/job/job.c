/* job.c - from a record to results */
#include "parts.h"

#include "rodbook/room.h"
#include "rodbook/square.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void
job_release(struct job *job)
{
    free(job->sight);
    free(job->sight_row);
    free(job->leg);
    free(job->run_leg);
    free(job->run_sight);
    free(job->level_spot);
    free(job->spot);
    free(job->mark_of);
    free(job->point_of);
    free(job->spot_of);
    free(job->grade);
    free(job->stake);
    free(job->spot_sigma);
    free(job->work.link);
    free(job->work.order);
    *job = (struct job){ 0 };
}

struct level_rules
job_rules(const struct record_job *job, bool spread_anyway)
{
    static const enum level_allow allow[] = { LEVEL_ALLOW_NONE, LEVEL_ALLOW_FIXED, LEVEL_ALLOW_ROOT_SETUP,
        LEVEL_ALLOW_ROOT_KM, LEVEL_ALLOW_ROOT_MILE }; /* as enum record_allow_per */
    static const enum level_spread spread[] = { LEVEL_BY_SETUPS, LEVEL_BY_DISTANCE, LEVEL_BY_LEGS }; /* as enum record_spread */
    return (struct level_rules){ .spread = spread[job->spread],
        .allow = allow[job->allow_per], .allow_nm = job->allow_nm, .spread_anyway = spread_anyway };
}

/* Arrays that only the closing needs. */
static int
new_work(struct level_work *w, size_t legs, size_t spots)
{
    w->link = room_new(legs, sizeof *w->link);
    w->order = room_new(legs, sizeof *w->order);
    w->next = room_new(5 * legs, sizeof *w->next);
    w->met = room_new(spots, sizeof *w->met);
    w->touch_start = room_new(spots + 1, sizeof *w->touch_start);
    w->touch = room_new(2 * legs, sizeof *w->touch);
    w->pending = room_new(legs, sizeof *w->pending);
    if (!w->link || !w->order || !w->next || !w->met || !w->touch_start || !w->touch || !w->pending)
        return -1;
    w->inner = w->next + legs;
    w->tail = w->inner + legs;
    w->queue = w->tail + legs;
    w->path = w->queue + legs;
    return 0;
}

static void
drop_work(struct level_work *w)
{
    free(w->next);
    free(w->met);
    free(w->touch_start);
    free(w->touch);
    free(w->pending);
    w->next = w->inner = w->tail = w->queue = w->path = w->met = w->touch_start = w->touch = NULL;
    w->pending = NULL;
}

/* A link by the leg that it begins with. */
struct link_key {
    uint32_t leg;
    uint32_t link;
};

static int
by_first_leg(const void *a, const void *b)
{
    const struct link_key *x = a, *y = b;
    return x->leg < y->leg ? -1 : x->leg > y->leg;
}

/* Most jobs close in the order in which they were booked. */
static bool
links_sorted(const struct level_work *w)
{
    for (size_t i = 1; i < w->links; i++)
        if (w->order[w->link[i].first] < w->order[w->link[i - 1].first])
            return false;
    return true;
}

/* Number the links in booking order. */
static int
sort_links(struct job *job)
{
    struct level_work *w = &job->work;
    if (links_sorted(w))
        return 0;
    struct link_key *key = room_new(w->links, sizeof *key);
    struct level_link *sorted = room_new(w->links, sizeof *sorted);
    uint32_t *rank = room_new(w->links, sizeof *rank);
    bool room = key && sorted && rank;
    for (uint32_t i = 0; room && i < w->links; i++)
        key[i] = (struct link_key){ w->order[w->link[i].first], i };
    if (room)
        qsort(key, w->links, sizeof *key, by_first_leg);
    for (uint32_t i = 0; room && i < w->links; i++) {
        sorted[i] = w->link[key[i].link];
        rank[key[i].link] = i;
    }
    for (size_t l = 0; room && l < job->legs; l++)
        if (job->leg[l].known)
            job->leg[l].link = rank[job->leg[l].link];
    free(key);
    free(rank);
    if (!room) {
        free(sorted);
        return -1;
    }
    free(w->link);
    w->link = sorted;
    return 0;
}

/* The last of each name holds: for the position that the mark had before it was ever moved. */
static void
hold_marks(struct job *job, struct diag *d)
{
    for (uint32_t i = 0; i < job->r->marks; i++) {
        const struct record_mark *mark = &job->r->mark[i];
        if (job->mark_of[mark->name] != i)
            continue;
        uint32_t spot = job->spot_of[(size_t)mark->name * RECORD_ON_COUNT + RECORD_ON_MARK];
        if (job->spot[spot].before != JOB_NONE)
            diag_say(d, DIAG_WARNING, mark->place, "moved-mark",
                "%s was moved: this elevation is held for what was read before the move, and for nothing after it",
                job_name(job, mark->name));
        while (job->spot[spot].before != JOB_NONE)
            spot = job->spot[spot].before;
        job->level_spot[spot].state = LEVEL_MARK;
        job->level_spot[spot].value = mark->elevation;
    }
}

static int
close_job(struct job *job, const struct job_options *options, struct diag *d)
{
    job->level_spot = room_new(job->spots, sizeof *job->level_spot);
    if (!job->level_spot || new_work(&job->work, job->legs, job->spots) != 0)
        return -1;
    hold_marks(job, d);
    struct level_rules rules = job_rules(&job->r->job, options->spread_anyway || options->to_adjust);
    rules.spread = options->to_adjust ? LEVEL_BY_LEGS : rules.spread;
    enum level_status status = level_close(job->leg, job->legs, job->sight, job->level_spot, job->spots, &rules,
        &job->work);
    drop_work(&job->work);
    if (status != LEVEL_OK)
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "range",
            "elevations are beyond 64 bits of nanometres; look for a figure too many");
    return sort_links(job);
}

/* ---- what is wrong with the whole ---- */

/* Where a leg was booked. */
static struct diag_place
place_of_leg(const struct job *job, uint32_t leg)
{
    const struct level_leg *l = &job->leg[leg];
    return l->count > 0 ? record_row_place(&job->r->row[job->sight_row[l->first]]) : job->r->section[l->first].place;
}

/* The sight of a set-up that has no length. */
static struct diag_place
place_of_undistanced(const struct job *job, uint32_t leg)
{
    const struct level_leg *l = &job->leg[leg];
    if (l->count == 0)
        return place_of_leg(job, leg);
    const struct record_row *back = &job->r->row[job->sight_row[l->first]];
    const struct record_row *fore = &job->r->row[job->sight_row[l->first + l->count - 1]];
    return record_row_place(job_dist_of(job, back).bs > 0 ? fore : back);
}

/* Names in a complaint, each once, the first few of them. */
struct name_list {
    char text[DIAG_NAMES * 90];
    size_t used, names;
    uint32_t name[DIAG_NAMES];
    bool more;
};

static void
add_name(struct name_list *list, const struct job *job, uint32_t spot)
{
    if (spot == LEVEL_NONE)
        return;
    uint32_t name = job->spot[spot].at;
    for (size_t i = 0; i < list->names; i++)
        if (list->name[i] == name)
            return;
    list->more |= list->names == DIAG_NAMES;
    if (list->more)
        return;
    list->name[list->names++] = name;
    list->used += (size_t)snprintf(list->text + list->used, sizeof list->text - list->used, "%s%s", list->used ? ", " : "",
        job_name(job, name));
}

static bool
is_broken(const struct job *job, uint32_t run)
{
    for (size_t s = job->run_sight[run]; s < job->run_sight[run + 1]; s++)
        if (job->sight[s].broken)
            return true;
    return false;
}

/* Legs of one run that hang on nothing: in a broken run the strike has been complained of already. */
static void
say_adrift(const struct job *job, uint32_t first, uint32_t end, struct diag *d)
{
    struct name_list list = { .used = 0 };
    for (uint32_t l = first; l < end; l++) {
        const struct level_leg *leg = &job->leg[l];
        add_name(&list, job, leg->from);
        for (uint32_t i = 0; i < leg->count; i++)
            add_name(&list, job, job->sight[leg->first + i].spot);
        add_name(&list, job, leg->to);
    }
    const char *more = list.more ? " and others" : "";
    if (is_broken(job, job->leg[first].run))
        diag_say(d, DIAG_WARNING, place_of_leg(job, first), "broken-run",
            "since the run is broken, nothing ties %s%s to a mark: no elevations", list.text, more);
    else
        diag_say(d, DIAG_ERROR, place_of_leg(job, first), "no-benchmark",
            "nothing ties %s%s to a mark of known elevation; give %s in marks, or level to one", list.text, more,
            list.names == 1 ? "it" : "one of them");
}

static void
find_adrift(const struct job *job, struct diag *d)
{
    for (uint32_t l = 0; l < job->legs; l++) {
        if (job->leg[l].known)
            continue;
        uint32_t end = l + 1;
        while (end < job->legs && !job->leg[end].known && job->leg[end].run == job->leg[l].run)
            end++;
        say_adrift(job, l, end, d);
        l = end - 1;
    }
}

static void
find_wanting(const struct job *job, struct diag *d)
{
    for (size_t i = 0; i < job->work.links; i++) {
        const struct level_link *link = &job->work.link[i];
        if (!link->no_share)
            continue;
        const struct level_leg *leg = &job->leg[link->wanting];
        bool dist = job->spread == RECORD_SPREAD_DISTANCE || job->r->job.allow_per == RECORD_ALLOW_ROOT_KM
            || job->r->job.allow_per == RECORD_ALLOW_ROOT_MILE;
        if (dist && leg->dist <= 0)
            diag_say(d, DIAG_ERROR, place_of_undistanced(job, link->wanting), "no-distance",
                "no sight lengths here, and the job spreads or allows by distance; book bs-dist and fs-dist, or "
                "go by setups");
        else
            diag_say(d, DIAG_ERROR, place_of_leg(job, link->wanting), "no-setups",
                "no count of set-ups here, and the job spreads or allows by set-ups; give setups, or go by distance");
    }
}

static void
say_outside(const struct job *job, const struct level_link *link, const char *what, struct diag *d)
{
    bool metric = job->r->job.unit == LENGTH_BARE_M;
    char text[LENGTH_TEXT];
    struct length_style style = { metric ? LENGTH_AS_M : LENGTH_AS_FT, 4, 0 };
    length_print(text, link->misclosure, style);
    diag_say(d, DIAG_WARNING, place_of_leg(job, job->work.order[link->first]), "misclosure",
        "%s to %s closes to %s %s, allowed %.4f %s%s", job_name(job, job->spot[link->from].at),
        job_name(job, job->spot[link->to].at), text, metric ? "m" : "ft",
        link->allowed_nm / (double)length_whole(job->r->job.unit), metric ? "m" : "ft",
        link->spread ? what : "; it is not spread");
}

static void
find_outside(struct job *job, bool to_adjust, struct diag *d)
{
    for (size_t i = 0; i < job->work.links; i++) {
        job->spurs += job->work.link[i].kind == LEVEL_SPUR;
        if (job->work.link[i].within != LEVEL_BEYOND)
            continue;
        job->outside = true;
        say_outside(job, &job->work.link[i], to_adjust ? "; adjusted with all the rest" : "; spread all the same, as asked", d);
    }
}

uint32_t
job_setup(const struct job *job, uint32_t entry, uint32_t number)
{
    for (uint32_t run = 0; run < job->r->runs; run++) {
        const struct record_run *r = &job->r->run[run];
        size_t first = job->run_leg[run], end = job->run_leg[run + 1];
        if (r->entry + 1 == entry && !r->sections && number >= 1 && number <= end - first)
            return (uint32_t)(first + number - 1);
    }
    return JOB_NONE;
}

static void
find_strayed(const struct job *job, struct diag *d)
{
    for (size_t i = 0; i < job->r->stands; i++) {
        const struct record_stand *s = &job->r->stand[i];
        if (job_setup(job, s->setup_entry, s->setup_number) == JOB_NONE)
            diag_say(d, DIAG_WARNING, s->place, "setup-point",
                "%s has a place, and the record has no such set-up; the first set-up of the run in entry 5 is set-up 5.1",
                job_name(job, s->name));
    }
}

int
job_work(struct job *job, const struct record *r, const struct job_options *options, struct diag *d)
{
    *job = (struct job){ .r = r, .spread = options->to_adjust ? RECORD_SPREAD_LEAST_SQUARES : r->job.spread };
    if (job_tie(job, d) != 0 || (options->tapes && square_look(r, d) != 0))
        return -1;
    if (d->errors > 0)
        return 0;
    if (close_job(job, options, d) != 0)
        return -1;
    if (d->errors > 0)
        return 0; /* beyond 64 bits: nothing that was worked out is worth a word */
    find_strayed(job, d);
    find_adrift(job, d);
    find_wanting(job, d);
    find_outside(job, options->to_adjust, d);
    struct adjust net = { .job = NULL };
    bool whole = !options->to_adjust && job->spread == RECORD_SPREAD_LEAST_SQUARES;
    int rc = d->errors == 0 && whole ? job_least_squares(job, &net, d) : 0;
    if (rc == 0 && d->errors == 0 && options->stakes)
        rc = job_stake_out(job, options, whole ? &net : NULL, d);
    adjust_release(&net);
    return rc;
}
