/* walk.c - stakes by need, and in the order that they are walked to */
#include "parts.h"

#include "rodbook/room.h"
#include "rodbook/walk.h"

#include <stdlib.h>

struct step {
    uint32_t stake, grade;
    int need;             /* of those that need most, first */
    bool round;           /* it is walked to round the building; else as booked, behind those */
    length along;         /* that walk */
};

static int
compare(const void *one, const void *other)
{
    const struct step *a = one, *b = other;
    if (a->grade != b->grade)
        return a->grade < b->grade ? -1 : 1;
    if (a->need != b->need)
        return a->need - b->need;
    if (a->round != b->round)
        return a->round ? -1 : 1;
    if (a->round && a->along != b->along)
        return a->along < b->along ? -1 : 1;
    return a->stake < b->stake ? -1 : 1;
}

/* Battens, corners, posts and footings stand round a building; ground is shot as the crew went. */
static bool
stands_round(const struct job *job, const struct job_stake *s)
{
    uint32_t point = job->point_of[s->at];
    return s->on != RECORD_ON_GROUND && point != JOB_NONE && job->r->point[point].kind != RECORD_POINT_GROUND;
}

/* The building's box: of its corners and posts, as the points of the record have them; without those, of all that stands round. */
static struct site_box
box_of(const struct job *job, struct site_place *place)
{
    size_t placed = 0;
    for (uint32_t i = 0; i < job->r->points; i++) {
        const struct record_point *p = &job->r->point[i];
        if (job->point_of[p->name] == i && p->placed && (p->kind == RECORD_POINT_CORNER || p->kind == RECORD_POINT_POST))
            place[placed++] = (struct site_place){ p->x, p->y };
    }
    for (size_t i = 0; placed == 0 && i < job->stakes; i++)
        if (stands_round(job, &job->stake[i]) && job_place_of(job, job->stake[i].at, &place[placed]))
            placed++;
    return site_box_of(place, placed);
}

int
job_walk(const struct job *job, uint32_t *order)
{
    static const int need[] = { [JOB_MOVE] = 0, [JOB_UNSURE] = 1, [JOB_UNREAD] = 2, [JOB_LEAVE] = 3 };
    struct step *step = room_new(job->stakes, sizeof *step);
    struct site_place *place = room_new(job->r->points + job->stakes, sizeof *place);
    int rc = step && place ? 0 : -1;
    if (rc == 0) {
        struct site_box box = box_of(job, place);
        for (uint32_t i = 0; i < job->stakes; i++) {
            const struct job_stake *s = &job->stake[i];
            struct site_place at = { 0, 0 };
            bool round = stands_round(job, s) && job_place_of(job, s->at, &at);
            step[i] = (struct step){ i, s->grade_index, need[s->verdict], round, site_walk_along(&box, at) };
        }
        qsort(step, job->stakes, sizeof *step, compare);
        for (size_t i = 0; i < job->stakes; i++)
            order[i] = step[i].stake;
    }
    free(step);
    free(place);
    return rc;
}
