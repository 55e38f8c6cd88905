/* walk.c - stakes by need, and in the order that they are walked to */
#include "parts.h"

#include "rodbook/room.h"
#include "rodbook/walk.h"

#include <stdlib.h>

struct step {
    uint32_t stake, grade;
    int need;             /* of those that need most, first */
    bool round;           /* it is walked to round the building; else as booked, behind those */
    struct site_turn turn;
    const struct site_box *box;
};

static int
compare(const void *one, const void *other)
{
    const struct step *a = one, *b = other;
    int turn = a->round && b->round ? site_turn_compare(a->box, a->turn, b->turn) : (int)b->round - (int)a->round;
    if (a->grade != b->grade)
        return a->grade < b->grade ? -1 : 1;
    if (a->need != b->need)
        return a->need - b->need;
    if (turn != 0)
        return turn;
    return a->stake < b->stake ? -1 : 1;
}

/* Battens, corners, posts and footings stand round a building; ground is shot as the crew went. */
static bool
stands_round(const struct job *job, const struct job_stake *s)
{
    uint32_t point = job->point_of[s->at];
    return s->on != RECORD_ON_GROUND && point != JOB_NONE && job->r->point[point].kind != RECORD_POINT_GROUND;
}

int
job_walk(const struct job *job, uint32_t *order)
{
    static const int need[] = { [JOB_MOVE] = 0, [JOB_UNSURE] = 1, [JOB_UNREAD] = 2, [JOB_LEAVE] = 3 };
    struct step *step = room_new(job->stakes, sizeof *step);
    struct site_place *place = room_new(job->stakes, sizeof *place);
    size_t placed = 0;
    int rc = step && place ? 0 : -1;
    for (size_t i = 0; rc == 0 && i < job->stakes; i++)
        if (stands_round(job, &job->stake[i]) && job_place_of(job, job->stake[i].at, &place[placed]))
            placed++;
    struct site_box box = site_box_of(place, rc == 0 ? placed : 0);
    for (uint32_t i = 0; rc == 0 && i < job->stakes; i++) {
        const struct job_stake *s = &job->stake[i];
        struct site_place at = { 0, 0 };
        bool round = stands_round(job, s) && job_place_of(job, s->at, &at);
        step[i] = (struct step){ i, s->grade_index, need[s->verdict], round, site_turn_to(&box, at), &box };
    }
    if (rc == 0)
        qsort(step, job->stakes, sizeof *step, compare);
    for (size_t i = 0; rc == 0 && i < job->stakes; i++)
        order[i] = step[i].stake;
    free(step);
    free(place);
    return rc;
}
