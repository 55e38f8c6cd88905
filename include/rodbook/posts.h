/*
 * posts.h - every post's hole and mark: as asked for, and as read
 *
 * A post is a point of kind post, and any point whose hole was read.
 */
#ifndef RODBOOK_POSTS_H
#define RODBOOK_POSTS_H

#include "rodbook/dig.h"
#include "rodbook/job.h"

/* What is asked of one hole, put together from all `holes` entries: what is stated of the post itself, else of all. Later
 * entries hold. Members as in struct record_hole; what nobody stated is -1 or RECORD_NONE. */
struct posts_asked {
    length depth, footing, diameter, post_length, top;
    int from, to;
    uint32_t grade, source;
    bool own;            /* something of it is stated of this post alone */
    uint32_t footing_of; /* index into record.hole of what states the footing; RECORD_NONE */
    uint32_t depth_of;   /* and the depth */
};

enum posts_read { POSTS_GROUND, POSTS_HOLE, POSTS_TOP, POSTS_READ };

/* What was read on one thing at a post. */
struct posts_level {
    uint32_t spot;  /* JOB_NONE where it was not read */
    bool usable;    /* it has an elevation to use: */
    length at;
    bool adrift, outside;
    bool far_apart; /* its readings differ by more than readings do: it was dug or moved in between */
};

struct posts_one {
    uint32_t at; /* name */
    struct posts_asked asked;
    struct posts_level level[POSTS_READ];
    bool has_grade, no_place; /* grade is set; or it slopes, and the post has no x and y */
    length grade;             /* that post marks are at */
    struct site_dig_given given; /* all of that, as it went into... */
    struct site_dig dig;         /* ...this */
    double below_ground_sigma, below_grade_sigma, over_sigma, mark_sigma; /* m; below 0: not known */
    bool has_rod, too_long;
    length rod;           /* on what is judged, where has_rod: exactly at the depth asked for... */
    length rod_read;      /* ...and read this or more once from there, and it is deep enough beyond doubt */
    uint32_t rod_leg;
    bool has_depth_from;  /* the level that the depth is measured from is known */
    uint8_t quality;      /* enum level_quality: the worst of what it was worked out from */
};

struct posts_options {
    const char *grade;    /* that post marks are at; NULL: the only one that serves posts */
    bool any_grade;       /* where several serve posts, go on without one */
    uint32_t setup_entry, setup_number; /* rods for this set-up, as in job_options */
    double confidence;    /* 0: nothing is asked of the net, and holes are taken as they read */
};

struct posts {
    const struct job *job;
    struct posts_asked asked; /* of all posts */
    struct posts_one *one;    /* [n] points of kind post in the order of `points`, then others whose hole was read */
    size_t n, room;
    uint32_t grade;           /* into job.grade, that post marks are at; JOB_NONE */
    double factor;            /* half a confidence interval is this times a standard deviation; 0 */
    bool no_sigma;            /* it was asked for, and some section does not say how sure it is */
    size_t read, enough, deeper, doubt; /* holes that were read; and how many of them are ... */
    bool good;                /* every hole that was read is deep enough, no post is too short, nothing that is asked
                                 for lacks what it is measured from, and no line is outside its limit */
};

/*
 * posts_work - work the holes and posts of a job out
 *
 * Given
 *   job        worked out with stakes, so that its grades are known; must outlive the posts
 *   options
 * Returned
 *   p          posts_release(), in any case
 *   d          what cannot be: a hole above its ground, a post that is not there, a footing without what its depth
 *              is measured to; with a warning for an unusual diameter
 * Result
 *   0, or -1 without memory. With errors in `d` the posts are not worth printing.
 *
 * Method    dig.h on adjusted elevations. Standard deviations by the net of
 *           adjust.h, covariances with it: of ground - hole, of grade - hole
 *           where the grade may go through marks that were read, of what is
 *           judged, of grade - what the foot stands on. Thicknesses and
 *           lengths that are stated are exact. The doubt of a verdict is
 *           factor times the standard deviation of what is judged. One more
 *           reading r from a set-up of height HI will be judged by
 *             Var(from - HI + r) = Var(from - HI) + sigma^2,
 *           so rod_read is the rod at the depth asked for and factor times the
 *           root of that more, up to the next whole division.
 */
int posts_work(struct posts *p, const struct job *job, const struct posts_options *options, struct diag *d);
void posts_release(struct posts *p);

#endif
