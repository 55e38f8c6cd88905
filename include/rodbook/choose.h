/*
 * choose.h - what a grade can be: above the ground, in balance, within what posts reach, and whether water runs off
 *
 * Elevations are whole nanometres. A level that comes out of a fit or of a
 * confidence interval is brought to the rod's least division, so that a crew
 * can set it, in the direction that keeps what it promises.
 */
#ifndef RODBOOK_CHOOSE_H
#define RODBOOK_CHOOSE_H

#include "rodbook/grade.h"
#include "rodbook/volume.h"

/* ---- levels and slopes that can be set ---- */

enum site_choose_way { SITE_CHOOSE_DOWN, SITE_CHOOSE_NEAREST, SITE_CHOOSE_UP };

/*
 * site_choose_round - a level as whole divisions of the rod
 *
 * Given
 *   level      within 1e9 km
 *   least      the division, above 0
 *   way        to the next below or above, or to the nearest, half of one up
 * Accuracy  exact; a whole number of divisions stays
 */
length site_choose_round(length level, length least, enum site_choose_way way);

/* rise / run; run above 0, rise below 0 for a fall. */
struct site_ratio {
    int64_t rise, run;
};

/*
 * site_choose_one_in - a slope as 1 in N, N whole: the next that is no steeper
 *
 * Given
 *   slope      rise over run, between -1 and 1
 *   flattest   1 in more than this is level
 * Result
 *   1 / N or -1 / N; 0 / 1 for level
 *
 * Method    N = 1 / slope, up to the next whole number; a millionth part of
 *           one division too many is taken for rounding, so that 0.02 is 1 in 50.
 */
struct site_ratio site_choose_one_in(double slope, int64_t flattest);

/*
 * site_choose_steeper, site_choose_flatter - a slope against a bound
 *
 * Given
 *   slope, bound   rise and run each below 1e18; the sign of the rise is not looked at
 * Result
 *   true where the slope is steeper than the bound; flatter than it
 *
 * Method    Exact, in 128 bits, with one exception: codes print 1 in 48 as "2
 *           percent", so that a bound from 2 % (1 in 50) to 1 in 48, both
 *           included, is one bound, and a slope between the two is neither
 *           steeper nor flatter.
 * Source    1 unit vertical in 48 units horizontal (2-percent slope): IBC 1803.3 as stored; 1/48 = 2.083 %, own.
 */
bool site_choose_steeper(struct site_ratio slope, struct site_ratio bound);
bool site_choose_flatter(struct site_ratio slope, struct site_ratio bound);

/* A slope steeper than `most` brought to it, its sign kept; true where it was. */
bool site_choose_hold(struct site_ratio *slope, struct site_ratio most);

/* ---- a level that clears the ground ---- */

/* A ground shot. */
struct site_shot {
    length elevation;
    double sigma; /* m; below 0: not known, and taken as 0 */
};

/*
 * site_choose_clear - the lowest level that is above every shot by so much, beyond doubt
 *
 * Given
 *   shot[n]    n 1 or more
 *   clear      0 or more
 *   factor     half a confidence interval is this times sigma; 0 or more
 *   least      the level is a whole number of these
 * Returned
 *   *level     up to the next division
 *   *decides   the shot that decides: the first of equal ones
 * Result
 *   false, and outputs untouched, where n is 0 or sigma * factor is no number below 1 km
 *
 * Method    max of elevation + factor sigma, + clear: each shot's interval lies below.
 */
bool site_choose_clear(const struct site_shot *shot, size_t n, length clear, double factor, length least, length *level,
    size_t *decides);

/* ---- posts ---- */

/* One post, as the plan has it. */
struct site_choose_post {
    length ground;  /* elevation of the ground at it */
    double sigma;   /* m, of that; below 0: not known, and taken as 0 */
    length foot;    /* how far down its foot stands, below 0 where it is higher... */
    bool from_grade; /* ...below grade, else below ground */
    length footing; /* under the foot, 0 or more */
    length bought;  /* length of the post; below 0: not stated */
    length height;  /* of its top above grade, 0 or more */
};

/* What a grade makes of a post. */
struct site_choose_dug {
    length hole; /* depth of its hole below ground; 0 or less where the ground is too low for one */
    length post; /* length of post needed, foot to top */
};

/* Hole and post for a grade of so much at the post. Source: differences of elevations. */
struct site_choose_dug site_choose_dug(const struct site_choose_post *post, length grade);

enum site_choose_reach {
    SITE_CHOOSE_REACHES,  /* *level is set */
    SITE_CHOOSE_ANY,      /* no post's length limits the grade: none is stated, or depths are below grade and long enough */
    SITE_CHOOSE_TOO_SHORT /* *decides: too short at any grade */
};

/*
 * site_choose_reach - the highest level that posts of the lengths bought reach, their feet as deep as asked
 *
 * Given
 *   post[n], factor, least
 * Returned
 *   *level     down to the next division; with SITE_CHOOSE_REACHES
 *   *decides   the post that decides, the first of equal ones; not with SITE_CHOOSE_ANY
 *
 * Method    A foot at ground - foot and a top at grade + height need
 *             grade <= ground - factor sigma - foot + bought - height
 *           of every post. The higher the grade, the less of an uncut post is
 *           in the ground: this is the least digging. A foot that is measured
 *           from grade needs bought >= foot + height, whatever the grade.
 * Source    differences of elevations.
 */
enum site_choose_reach site_choose_reach(const struct site_choose_post *post, size_t n, double factor, length least,
    length *level, size_t *decides);

/* ---- the ground between shots ---- */

/*
 * site_choose_surface - elevation of the ground at a place, from the triangles over the shots
 *
 * Given
 *   at[n], z[n]   m; heights as site_volume_even() gives them
 *   triangle[triangles]
 * Returned
 *   *height    m
 *   share[n]   NULL, or how much each shot has in it: 0 but for three, and they sum to 1
 * Result
 *   false, and outputs untouched, where the place lies in no triangle
 */
bool site_choose_surface(const struct site_place *at, const double *z, size_t n, const struct site_triangle *triangle,
    size_t triangles, struct site_place place, double *height, double *share);

/* ---- water ---- */

/* The usual fall of the ground away from a building. Source: IRC R401.3, 2006 text: 6 in within the first 10 ft. */
#define SITE_CHOOSE_FALL_RISE 1
#define SITE_CHOOSE_FALL_RUN 20
#define SITE_CHOOSE_NEAR (10 * LENGTH_FT) /* and how far from the building it is looked at */

enum site_choose_drains {
    SITE_CHOOSE_DRAINS,   /* falls as much as asked, or more */
    SITE_CHOOSE_WET,      /* falls less, or towards the building */
    SITE_CHOOSE_DOUBTFUL  /* the readings cannot tell */
};

struct site_choose_fall {
    length distance; /* from the building to the shot */
    length fall;     /* the ground at the building less the shot; below 0: towards the building */
    length need;     /* asked for over that distance */
    enum site_choose_drains drains;
};

/*
 * site_choose_outside - how far a place lies outside a building
 *
 * Returned
 *   *wall      the nearest place on its outline or in it
 * Result
 *   distance, rounded to the nanometre; 0 inside and on the outline
 */
length site_choose_outside(const struct site_rectangle *building, struct site_place place, struct site_place *wall);

/*
 * site_choose_fall - whether water runs off between a wall and a ground shot
 *
 * Given
 *   at_wall    elevation of the ground at the building, as it is to be
 *   shot       the ground outside
 *   factor     half a confidence interval is this times its sigma
 *   distance   between the two, above 0
 *   least      the slope asked for; of a bound of 2 % to 1 in 48 the flatter: see site_choose_flatter()
 *
 * Method    need = least * distance; drains where fall - need >= factor
 *           sigma, wet where need - fall > factor sigma, else in doubt; without
 *           sigma as it reads. Also shots nearer than 10 ft are held to the
 *           slope: a hollow at the wall holds water whatever the tenth foot does.
 */
struct site_choose_fall site_choose_fall(length at_wall, struct site_shot shot, double factor, length distance,
    struct site_ratio least);

#endif
