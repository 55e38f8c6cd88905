/*
 * suspects.h - a job that does not close: which reading most likely did it, and what to shoot again
 *
 * Nothing is changed. Readings, sections and marks of the job are what
 * suspect.h tries its slips on; loops are a fundamental set of the whole net,
 * so that points that were read twice take part, and the job's own lines.
 */
#ifndef RODBOOK_SUSPECTS_H
#define RODBOOK_SUSPECTS_H

#include "rodbook/adjust.h"
#include "rodbook/suspect.h"

/* Where a reading of the scene stands; what it is not is JOB_NONE. */
struct suspects_place {
    uint32_t sight;   /* into job.sight */
    uint32_t section; /* into record.section */
    uint32_t mark;    /* into record.mark */
    uint32_t leg;     /* of a sight or section */
    uint32_t spot;    /* of a sight or mark */
};

struct suspects_loop {
    uint32_t line;    /* into job.work.link; JOB_NONE where it is no line of the job */
    uint64_t setups;  /* 0 where some section does not say */
    bool by_sigma;    /* the job states no limit for it: it is held to so many standard deviations */
};

/* What to shoot again. */
struct suspects_shot {
    uint32_t leg;  /* a set-up or section; else JOB_NONE... */
    uint32_t mark; /* ...and this, to be checked from another mark */
    double share;  /* of the suspicion of its fault that lies on it */
    length dist;   /* -1 where some sight length is not booked */
};

/* Loops outside that share readings, and so may have one slip for a cause. */
struct suspects_fault {
    size_t loops;           /* how many are outside */
    uint32_t first_loop;    /* the lowest of them */
    size_t first, count;    /* its suspects: the best first */
    size_t alike;           /* how many of them fit as well as the first */
    size_t first_shot, shots; /* largest share first, then shortest */
    size_t readings, cleared; /* on its loops; and those of them that loops which close have cleared */
    uint32_t half_line;     /* where the suspicion lies on many set-ups of one line: that line, else JOB_NONE... */
    uint32_t half_leg;      /* ...and the set-up of it behind which less than half of it is left */
};

struct suspects {
    const struct job *job;
    struct adjust net;
    struct adjust_loops net_loops;
    struct suspect_scene scene;
    struct suspect_reading *reading; /* [scene.readings] */
    struct suspects_place *place;
    uint8_t *standing;               /* enum suspect_standing */
    struct suspect_loop *loop;       /* [scene.loops] */
    struct suspects_loop *of;
    uint32_t *cluster;
    struct suspect_step *step;
    size_t loop_room, of_room, step_room, place_room, reading_room;
    struct suspect *suspect;
    double *share;                   /* of each, among those of its fault */
    size_t suspects;
    struct suspects_fault *fault;
    size_t faults;
    struct suspects_shot *shot;
    size_t shots, shot_room;
    size_t unchecked, closes;        /* readings on no loop, and those on loops that all close */
};

/* Where the job allows nothing in particular, and at least in every loop that is no line of the job, a loop is within
 * so many standard deviations of its own: one loop in a thousand is beyond it by chance. */
#define SUSPECTS_SIGMAS 3.29

/*
 * suspects_open - find them
 *
 * Given
 *   job        worked out without errors; must outlive the suspects
 * Returned
 *   s          suspects_release(), in any case
 *   d          as adjust_open()
 * Result
 *   0, or -1 without memory. With errors in `d` there are none.
 *
 * Method    A line of the job is held to what the job allows for it. Any
 *           other loop to what the job allows for as many set-ups, or to
 *           SUSPECTS_SIGMAS of its standard deviations where that is more.
 *           Shares are exp(score), over their sum in one fault: they go
 *           by the weights in suspect.h, and by nothing else being wrong.
 */
int suspects_open(struct suspects *s, const struct job *job, struct diag *d);
void suspects_release(struct suspects *s);

#endif
