/*
 * dig.h - one hole: how deep it is and should be, where the mark comes on its post, how long the post must be
 *
 * Depths are differences of elevations. Which depth is asked, what it is measured from and to, and how thick a
 * footing is comes from the plan: nothing here is designed.
 */
#ifndef RODBOOK_DIG_H
#define RODBOOK_DIG_H

#include "rodbook/length.h"

enum site_dig_status {
    SITE_DIG_OK,
    SITE_DIG_EHOLE, /* the bottom of the hole is above the ground: one of the two was misread */
    SITE_DIG_ETOP   /* the top of the footing is below the bottom of the hole that it stands in */
};

enum site_dig_verdict {
    SITE_DIG_NOTHING, /* not read, or nothing is asked */
    SITE_DIG_ENOUGH,  /* deep enough */
    SITE_DIG_DEEPER,  /* not deep enough */
    SITE_DIG_DOUBT    /* the readings cannot tell */
};

/* What the post's foot stands on, and so what the mark is measured up from. */
enum site_dig_foot {
    SITE_FOOT_NOWHERE, /* neither read nor asked for */
    SITE_FOOT_TOP,     /* the top of the footing, as read */
    SITE_FOOT_HOLE,    /* the bottom of the hole, as read, and a footing still to come where one is stated */
    SITE_FOOT_PLANNED  /* the depth asked for: nothing is read yet, or it must be dug deeper first */
};

/* Elevations, nm, each with whether it is known. */
struct site_dig_level {
    bool known;
    length at;
};

struct site_dig_given {
    struct site_dig_level ground, grade; /* at the post; grade is that of the mark on the post */
    struct site_dig_level hole, top;     /* as read: bottom of the hole, top of the footing */
    struct site_dig_level from;          /* what the depth asked for is measured down from */
    length depth;       /* asked for, nm; below 0: nothing is asked */
    bool to_top;        /* it is measured to the top of the footing; else to its bottom */
    length footing;     /* thickness under the post, nm; 0: none */
    length height;      /* of the post's top above grade, nm; below 0: not stated */
    length post_length; /* as bought, nm; below 0: not stated */
    double doubt;       /* nm: half the confidence interval of what is judged; 0: it is taken as it reads */
};

struct site_dig {
    struct site_dig_level below_ground, below_grade; /* depth of the hole as read */
    struct site_dig_level bottom;    /* elevation that the bottom of the hole must reach */
    struct site_dig_level over;      /* how much deeper than asked what is judged reads; below 0: too shallow */
    bool by_top;                     /* judged is the top of the footing, else the bottom of the hole */
    length dig, fill;                /* deeper by; deeper than asked by; never below 0, never both above 0 */
    enum site_dig_verdict verdict;
    bool top_is_post;                /* what was read as a top is no footing: it is not below grade and ground */
    enum site_dig_foot foot;
    struct site_dig_level stands_at; /* elevation of what the post's foot stands on */
    struct site_dig_level mark;      /* height of the mark above the post's foot */
    struct site_dig_level need;      /* length of post needed */
    struct site_dig_level cut_off;   /* post_length - need; below 0: the post is too short by so much */
};

/*
 * site_dig_out - everything that the elevations at one post say about its hole and its post
 *
 * Given
 *   g          elevations within 1e8 km, other lengths within LENGTH_MOST
 * Returned
 *   *out       untouched unless the result is SITE_DIG_OK
 * Result
 *   SITE_DIG_OK or what cannot be
 *
 * Method    below ground = ground - hole;  below grade = grade - hole.
 *           Asked for: the footing's bottom at from - depth, or its top there
 *           and its bottom a thickness lower; the hole reaches the bottom of
 *           the footing.
 *           Judged is the top of the footing where it was read and the depth
 *           is to the top; else the bottom of the hole.
 *             over = level asked for - level read
 *             deep enough  over >= doubt;  deeper  over < 0 and -over > doubt;  else in doubt
 *           where doubt is 0: deep enough from over = 0 on.
 *           mark = grade - what the foot stands on: the top of the footing as
 *           read; else the hole's bottom and the footing still to come; before
 *           that is dug, or where it must be dug deeper, the level asked for.
 *           A top that is at or above grade (where no grade is known: ground)
 *           is the post's own, and no footing.
 *           length needed = mark + height;  cut off = post_length - needed.
 * Accuracy  exact: whole nanometres.
 * Source    differences of elevations; common practice, no source. Check:
 *           42 in deep and grade 4 in above ground is a mark at 46 in.
 */
enum site_dig_status site_dig_out(const struct site_dig_given *g, struct site_dig *out);

/*
 * site_dig_rod - the reading that is deep enough
 *
 * Given
 *   rod        height of instrument less the elevation to be reached, nm
 *   least      smallest division of the rod, above 0
 * Result
 *   the first whole division at or beyond it: read this or more
 */
length site_dig_rod(length rod, length least);

#endif
