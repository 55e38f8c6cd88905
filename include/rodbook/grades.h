/*
 * grades.h - what the grade of a job could be, from its ground shots
 *
 * Five candidates, always in this order; each with the earth that it moves,
 * the holes and posts that it asks for, and whether water runs off. The crew
 * chooses; nothing here does.
 */
#ifndef RODBOOK_GRADES_H
#define RODBOOK_GRADES_H

#include "rodbook/choose.h"
#include "rodbook/job.h"
#include "rodbook/plane.h"

enum grades_kind {
    GRADES_CLEAR,   /* the lowest level string that clears the ground */
    GRADES_BALANCE, /* the level that balances cut and fill */
    GRADES_LENGTH,  /* balances, sloping along the length only */
    GRADES_WIDTH,   /* balances, sloping along the width only */
    GRADES_POSTS,   /* the highest level that the posts bought reach: the least digging for them */
    GRADES_KINDS
};

/* Why a candidate is not there. */
enum grades_lack {
    GRADES_THERE,
    GRADES_NO_AREA,   /* no surface between the shots lies on the building */
    GRADES_LEVEL_SET, /* slopes up to 0 only are wanted */
    GRADES_NO_SLOPE,  /* less than the rod's least division over the building: the level is it */
    GRADES_NO_SPREAD, /* the shots on the building do not show that slope */
    GRADES_NO_POSTS,  /* no point of kind post has x and y */
    GRADES_NO_DEPTH,  /* nothing says how deep the posts stand */
    GRADES_NO_LENGTH, /* nothing says how long they are */
    GRADES_NO_GROUND, /* no ground is known at any of them */
    GRADES_ANY,       /* depths are from grade and the posts long enough: no grade is too high for them */
    GRADES_TOO_SHORT  /* depths are from grade, and a post is too short for its own: `decides` */
};

struct grades_options {
    length clear;           /* GRADES_CLEAR: above the ground; 0 or more */
    length under;           /* the earth is dug or filled to so much below grade: stone, slab; 0 or more */
    struct site_ratio most; /* bound on slopes */
    struct site_ratio fall; /* of the ground away from the building, at least */
    length depth;           /* of every post, from the ground where nothing says else; below 0: as the record says */
    length post_length;     /* of every post; below 0: as the record says */
    length height;          /* of the posts' tops above grade; below 0: as the record says, else 0 */
    double confidence;      /* above 0, below 1 */
};

/* The bound on slopes where none is stated, 1 in so many. Our choice, no source: the plan rules. */
#define GRADES_MOST_RUN 100

/* What a string usually clears the ground by, so that it hangs free of grass and clods: common practice, no source. */
#define GRADES_CLEAR_FT (6 * LENGTH_IN)
#define GRADES_CLEAR_M (150 * LENGTH_MM)

/* Strings run so far beyond a building whose battens have no x and y. NAVEDTRA 14069 has 3 to 4 ft. */
#define GRADES_STRINGS_FT (4 * LENGTH_FT)
#define GRADES_STRINGS_M (1200 * LENGTH_MM)

/* What is taken where nothing is said; confidence 0.95. */
struct grades_options grades_usual(enum length_unit unit);

struct grades_shot {
    uint32_t spot;
    struct site_place at, wall; /* wall: the nearest place of the building */
    length elevation;
    double sigma;               /* m; below 0: not known */
    uint8_t quality;            /* enum level_quality */
    length distance;            /* outside the building; 0: in its outline */
    bool strung;                /* under the strings: GRADES_CLEAR looks at it */
    double weight;              /* m2 of the building that it stands for */
    bool on;                    /* both: it counts as on the building, though it may stand a step beside it */
};

struct grades_post {
    uint32_t name;
    struct site_place at;
    bool ground;       /* the ground at it is known: hole.ground, hole.sigma... */
    uint32_t shot;     /* ...from this shot at it; JOB_NONE: from the surface between the shots */
    bool asked;        /* its depth is: hole.foot, hole.footing */
    struct site_choose_post hole;
};

/* What the outline of the building is taken from. */
enum grades_outline { GRADES_OF_SITE, GRADES_OF_CORNERS, GRADES_OF_POSTS, GRADES_OF_SHOTS };

struct grades_candidate {
    enum grades_lack lack;   /* where not GRADES_THERE, only `decides` may be set */
    struct site_grade grade;
    length level;            /* at x = y = 0, whole divisions of the rod */
    struct site_ratio slope; /* towards +x or +y; 0 / 1 for a level */
    double found, found_sigma; /* the plane's slope that way, and its standard deviation from the fit, below 0 unknown */
    bool may_be_chance;      /* at the confidence asked for, the ground may have none: |found| <= t * found_sigma */
    bool bound;              /* it was steeper than it may be */
    uint32_t decides;        /* GRADES_CLEAR: into shot; GRADES_POSTS: into post; else JOB_NONE */
    length cut, fill;        /* largest at a shot that is `on`, of the earth... */
    uint32_t cut_shot, fill_shot; /* ...and which; JOB_NONE where there is none */
    struct site_volume earth; /* area 0: none is known */
    length hole, post;       /* deepest hole, longest post... */
    uint32_t hole_post, post_post; /* ...and whose; JOB_NONE where none is known */
    size_t too_short;        /* posts bought that do not reach */
    uint32_t short_post;     /* the one that lacks most; JOB_NONE */
    length short_by;
    size_t wet, doubtful;    /* shots near the building where the ground falls less than asked, or cannot be told */
    uint32_t wettest;        /* the one that lacks most of all that were looked at; JOB_NONE: none is near */
    struct site_choose_fall fall; /* there */
};

struct grades {
    const struct job *job;
    struct grades_options options;
    double factor;            /* half a confidence interval is this times sigma */
    bool no_sigma;            /* some section does not say how sure it is: no standard deviations */
    struct grades_shot *shot; /* in the order in which their names came up */
    size_t shots, near;       /* near: outside, but no farther than SITE_CHOOSE_NEAR */
    size_t on;                /* shots that are `on` */
    uint32_t highest, lowest; /* of those, else of all */
    uint32_t *left_out;       /* spots on the ground that cannot be used... */
    size_t left;
    enum grades_outline outline;
    struct site_rectangle building;
    double area, covered;     /* m2: of the building, and how much of it lies between the shots; alike with GRADES_OF_SHOTS */
    bool has_plane;           /* the ground's own plane, by area on the building: */
    struct site_plane_fit plane;
    length up[2];             /* what it rises over the length and over the width of the building; below 0 falls... */
    double up_sigma[2];       /* ...and standard deviations in m, from its own scatter; below 0 unknown */
    double scatter;           /* m, of a shot of middling weight about it; below 0 unknown */
    struct grades_post *post;
    size_t posts, unknown, between; /* posts without ground; and with ground from the surface between the shots */
    bool no_top;              /* nothing says how far some of them stand above grade: they are taken to end there */
    struct grades_candidate candidate[GRADES_KINDS];
    struct site_triangle *triangle;
    size_t triangles;
    struct site_place *place; /* [shots] */
    double *real;             /* what is computed in */
};

/*
 * grades_work - the candidates of a job
 *
 * Given
 *   job        worked out without errors; must outlive them
 *   options
 * Returned
 *   g          grades_release(), in any case
 *   d          [no-ground], [ground-line], [ground-place]: what is missing
 * Result
 *   0, or -1 without memory. With errors in `d` there are no candidates.
 *
 * Method    Ground shots are spots read on the ground at their last
 *           positions, with x and y, on lines that are not outside their
 *           limit. Their triangles (volume.h) are the ground. Each shot weighs
 *           the area of the building that it stands for, so that the level
 *           through the weighted centroid, and a plane through it, balance cut
 *           and fill of that ground exactly before they are rounded; rounding
 *           is to the rod's least division, up for GRADES_CLEAR, down for
 *           GRADES_POSTS, else to the nearest; a slope becomes 1 in a whole
 *           number, never steeper.
 *           The building is the last site entry, else the rectangle about the
 *           points of kind corner, else about the posts, else about the shots.
 */
int grades_work(struct grades *g, const struct job *job, const struct grades_options *options, struct diag *d);
void grades_release(struct grades *g);

#endif
