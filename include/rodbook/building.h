/*
 * building.h - the building of a record, and the points that it gives
 *
 * Only the last site entry of a record counts. What it gives stands among the
 * record's points as if a points entry stood in its place: a later points
 * entry gives a name another place, as it would any point.
 */
#ifndef RODBOOK_BUILDING_H
#define RODBOOK_BUILDING_H

#include "rodbook/layout.h"
#include "rodbook/record.h"

/*
 * job_building - put the points of the site entry into the record
 *
 * Given
 *   r          read without errors; before it is worked out in any way
 * Returned
 *   r          its points and names; nothing where it has no site entry, where
 *              they are there already, or with any error
 *   d          what does not fit in the site entry; and battens that points
 *              entries put nearer than the set-back
 * Result
 *   0, or -1 without memory
 *
 * Names     corners as named; corner + "1" where the string along the length
 *           crosses its batten, + "2" across; row + number from 1, its posts;
 *           corner + " string", where the strings cross; corner + " post", the
 *           outer corner of the posts there. The last two have no kind.
 */
int job_building(struct record *r, struct diag *d);

/*
 * job_names - names that are no points, where the record has points that they would be
 *
 * Given
 *   r          job_building() was called, and found no error
 * Returned
 *   d          warnings, each name once: [row-post], the hole of a name was read, and the record has posts, and that is none; where
 *              it has a site, also of a mark on a post; [tape-name], a length was taped from a point with a place to a name without one;
 *              [pad-name], a spot of the pad has no place. The nearest name that would do is offered
 * Result
 *   0, or -1 without memory
 */
int job_names(const struct record *r, struct diag *d);

enum building_part { BUILDING_CORNER, BUILDING_BATTEN, BUILDING_POST, BUILDING_STRING, BUILDING_FACE };

struct building_point {
    uint32_t name;
    enum building_part part;
    struct site_place at;         /* as the site entry has it */
    enum record_point_kind kind;
    uint32_t given; /* index into record.point of the last that a points entry gives, elsewhere or without a place; or
                       RECORD_NONE. The one of the later entry holds */
};

/* The string of a wall, or of a row inside. */
struct building_string {
    enum site_side side;
    uint32_t row;          /* index of a row inside; else SITE_NONE */
    struct site_string line;
    uint32_t from, to;     /* names of where it begins and ends; RECORD_NONE for a row inside */
    length off;            /* of a row inside: from the front string */
    size_t first, marks;   /* building.mark[first ... first + marks - 1] */
};

struct building {
    const struct record *r;
    const struct record_site *from;
    struct site_building site;
    struct site_outline outline[SITE_OUTLINES];
    struct site_batten batten[SITE_BATTENS];
    struct site_row *row; /* [from->rows], as record.site_row from from->first_row on */
    size_t *row_post;     /* [from->rows + 1] first post of each row */
    struct site_door *door; /* [from->doors] */
    uint32_t (*beside)[2];  /* [from->doors] posts on both sides, or SITE_NONE */
    struct site_layout_post *post;
    size_t posts;
    struct building_point *point; /* corners, battens, posts, crossings of strings, outer corners of posts; in this order */
    size_t points, first_post;    /* post i is point first_post + i */
    struct building_string *string;
    size_t strings;
    struct site_mark *mark;
    size_t marks;
    size_t near; /* battens that points entries put nearer than the set-back */
    bool has_triangle;
    struct site_check_triangle triangle;
};

/*
 * building_work - the building of the last site entry, set out
 *
 * Given
 *   r          job_building() was called, and found no error; it has a site entry; must outlive the building
 * Returned
 *   b          building_release(), in any case
 * Result
 *   0, or -1 without memory
 */
int building_work(struct building *b, const struct record *r);
void building_release(struct building *b);

#endif
