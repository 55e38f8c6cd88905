/* plan_lines.h - the lines of a plan, from the points of a record. Private to the sheets. */
#ifndef SHEET_PLAN_LINES_H
#define SHEET_PLAN_LINES_H

#include "parts.h"

#include "rodbook/grade.h"

enum plan_line_kind {
    PLAN_FOOTPRINT, /* a side of the building, from corner to corner */
    PLAN_POSTS,     /* of the line round the outer posts, where no corners are given */
    PLAN_STRING,    /* from batten to batten */
    PLAN_DIAGONAL,
    PLAN_LINE_KINDS
};

struct plan_line {
    enum plan_line_kind kind;
    struct site_place from, to;
    uint32_t from_name, to_name; /* the latter RECORD_NONE: of the string of the row `from_name` */
};

struct plan_lines {
    struct plan_line *line; /* kind by kind */
    size_t lines, room;
    length post_along, post_across; /* a post's sides; 0 where the record does not say */
};

/*
 * plan_lines_of - footprint, strings and diagonals
 *
 * Given
 *   job        its record's points
 * Returned
 *   l          plan_lines_release() it, in any case
 * Result
 *   0, or -1 without memory
 *
 * Method    Footprint: the corners as the record lists them, where their line
 *           does not cross itself, else the hull round them; with fewer than
 *           three corners, the hull round the posts. Strings: those of the
 *           building that the record sets out; in a record without a site
 *           entry, battens that alone share an x or y face each other; of the lines that join
 *           facing battens, those that cross another, as strings do at the
 *           corners, or whose battens face no other. Where that leaves a
 *           batten with two strings, it has none: nothing is guessed.
 *           Diagonals: of four corners, between the crossings of the strings
 *           there where the points have them ("SW string" of corner SW), else
 *           from corner to corner; else of four outermost posts.
 */
int plan_lines_of(const struct job *job, struct plan_lines *l);

void plan_lines_release(struct plan_lines *l);

/* Index of the point that a name stands for now, where it has a place; JOB_NONE else. */
uint32_t plan_point(const struct job *job, uint32_t name);

#endif
