/*
 * layout.h - a rectangular building set out: strings, battens, posts, and where each falls
 *
 * Places are x along the building's length from its first corner and y to the
 * left of it (grade.h). Every length is nanometres. Three rectangles lie in
 * one another: the footprint, outside to outside; the posts' outer faces,
 * `nailed` inside it; and the strings, `string` outside those faces.
 */
#ifndef RODBOOK_LAYOUT_H
#define RODBOOK_LAYOUT_H

#include "rodbook/grade.h"

#define SITE_NONE UINT32_MAX /* no such index */

/* Posts that one building may have: overlaps are looked for among all pairs, 5e7 of them here. */
#define SITE_POSTS_MOST 10000

/* A building longer than this is a slip of the pen, and every square stays far below 2^126 nm^2. */
#define SITE_BUILDING_MOST (10 * LENGTH_KM)

/* The four walls; and a line inside, parallel to the length. A wall is walked from the first corner's side: x up, y up. */
enum site_side { SITE_FRONT, SITE_BACK, SITE_START, SITE_END, SITE_INSIDE };

/* Corners go round: first, at the end of its length, opposite, at the end of its width. */
enum { SITE_FIRST, SITE_ALONG, SITE_OPPOSITE, SITE_ACROSS, SITE_CORNERS };

struct site_building {
    length along, across;           /* footprint, above 0 */
    length post_along, post_across; /* a post, along the building's length and across it; above 0 */
    length nailed;                  /* thickness of what is nailed outside the posts; 0 or more */
    length string;                  /* of the strings, outside the posts' outer faces; 0 or more */
    length set_back;                /* of the battens, outside the footprint; above 0 */
};

struct site_row {
    enum site_side side;
    length in;         /* SITE_INSIDE: y of its posts' centres */
    length spacing;    /* above 0: centres at its multiples, corner to corner; 0: as listed */
    const length *at;  /* [count] centres from the row's beginning, the footprint's corner; 0 and the whole length of the
                          row are its corner posts */
    size_t count;
};

struct site_door {
    uint32_t row;    /* index */
    length from, to; /* clear opening, from the row's beginning */
};

struct site_layout_post {
    struct site_place low, centre; /* its corner nearest to the first corner; low + half a post, down to the nanometre */
    uint32_t row;                  /* index */
    uint32_t door;                 /* index of the door that it was set for, or SITE_NONE */
};

enum site_layout_status {
    SITE_LAYOUT_OK,
    SITE_LAYOUT_ESMALL,     /* two posts and what is nailed outside them fill the length or the width */
    SITE_LAYOUT_ELARGE,     /* the building is longer than SITE_BUILDING_MOST */
    SITE_LAYOUT_ESTRING,    /* the strings lie as far out as the battens, or farther */
    SITE_LAYOUT_EREMAINDER, /* the spacing leaves a remainder */
    SITE_LAYOUT_EBAY,       /* a bay is not wider than the posts beside it are thick */
    SITE_LAYOUT_EORDER,     /* places are not in order, or one is given twice */
    SITE_LAYOUT_EPLACE,     /* a post would stand outside the corner posts' outer faces */
    SITE_LAYOUT_EDOOR,      /* an opening with no room for its posts inside the corner posts' outer faces */
    SITE_LAYOUT_EDOORS,     /* two openings overlap, or have no room for a post between them */
    SITE_LAYOUT_EMANY       /* more than SITE_POSTS_MOST posts */
};

/* What a row fell to. */
struct site_layout_fault {
    length value;   /* EREMAINDER: the remainder. EBAY: the bay, centre to centre. EORDER, EPLACE: the place */
    uint32_t which; /* EORDER, EPLACE, EBAY: place or bay in its row, from 0. EDOOR, EDOORS: index of the door... */
    uint32_t other; /* ...and EDOORS: of the other one */
};

/*
 * site_layout_distance - from one place to another
 *
 * Given
 *   a, b       any two places less than 1000 km apart
 * Result
 *   nm
 *
 * Method    root of dx^2 + dy^2, squares in 128 bits.
 * Accuracy  rounded once to the nanometre: the root in floating point is put
 *           right by whole steps.
 * Source    Pythagoras.
 */
length site_layout_distance(struct site_place a, struct site_place b);

/*
 * site_layout_outside - how far a place is outside the footprint
 *
 * Result
 *   nm from the nearest point of the footprint; 0 on its line or inside
 */
length site_layout_outside(const struct site_building *b, struct site_place at);

/* Whether footprint, posts, strings and battens go together at all: OK, ESMALL, ELARGE or ESTRING. What follows wants OK. */
enum site_layout_status site_layout_fits(const struct site_building *b);

struct site_outline {
    struct site_place corner[SITE_CORNERS];
    length along, across;
    length diagonal; /* both are to be this */
};

enum site_outline_of { SITE_OF_FOOTPRINT, SITE_OF_POSTS, SITE_OF_STRINGS, SITE_OUTLINES };

/* Footprint, the posts' outer faces, the strings. */
struct site_outline site_layout_outline(const struct site_building *b, enum site_outline_of of);

/* A string, from where it crosses the start or front string to where it crosses the end or back string. */
struct site_string {
    struct site_place from, to;
    length size;
};

/*
 * site_layout_string - the string of a wall, or of a row inside
 *
 * Given
 *   side
 *   in         of SITE_INSIDE: y of the posts' centres
 *
 * Method    a wall's string is a side of the strings' rectangle. A row inside
 *           has its string on the side of the front wall, `string` off its
 *           posts' faces.
 */
struct site_string site_layout_string(const struct site_building *b, enum site_side side, length in);

struct site_batten {
    struct site_place at;  /* where its string crosses it */
    enum site_side side;   /* whose string it carries */
    uint32_t corner;       /* SITE_FIRST ... */
    uint32_t facing;       /* index of the batten that carries the parallel string past the same wall */
    length face, string;   /* marks on its cross-member, from the footprint's line; outwards is positive */
    length apart;          /* from its string's mark to the facing batten's */
    length apart_footprint;/* and between their footprint marks */
    length beyond;         /* along its string, from where the strings cross */
};

#define SITE_BATTENS 8

/*
 * site_layout_battens - where strings cross the battens
 *
 * Returned
 *   batten[8]  of corner k: 2 k carries the string along the length, 2 k + 1 the string across
 *
 * Method    A batten stands `set_back` outside the wall that its string runs
 *           past, square to the string. On its cross-member three lines are
 *           marked: the footprint's, the posts' outer faces', and the
 *           string's. The footprint's comes first, plumbed over from the
 *           stakes, and the others are measured from it: -nailed and
 *           string - nailed. From each mark to the same mark on the facing
 *           batten is the width (or length) of its rectangle, which checks both.
 */
void site_layout_battens(const struct site_building *b, struct site_batten batten[SITE_BATTENS]);

/* Room for the posts of one row: no fewer than site_layout_row() gives; above SITE_POSTS_MOST where that would be EMANY. */
size_t site_layout_room(const struct site_building *b, const struct site_row *row, size_t doors);

/*
 * site_layout_row - the posts of one row, its doors seen to
 *
 * Given
 *   b          site_layout_fits()
 *   row, index its index, for the posts
 *   door[doors] of the whole building; those of other rows are passed over
 * Returned
 *   post[*n]   in order along the row; room as site_layout_room()
 *   *fault     with any failure
 * Result
 *   SITE_LAYOUT_OK; EREMAINDER, EBAY, EORDER, EPLACE, EDOOR, EDOORS or EMANY
 *
 * Method    A corner post's outer face is `nailed` from the footprint's corner;
 *           every other post's centre is at its place from that corner. So a
 *           corner bay, outer face to next centre, is `nailed` less than the
 *           others. Posts whose body would stand in an opening are left out;
 *           a door post's inner face is on the opening's edge. One that stands
 *           there already serves as it is.
 */
enum site_layout_status site_layout_row(const struct site_building *b, const struct site_row *row, uint32_t index,
    const struct site_door *door, size_t doors, struct site_layout_post *post, size_t *n, struct site_layout_fault *fault);

/*
 * site_layout_settle - one post where a door post falls on the corner post of another row
 *
 * Given
 *   post[n]    of all rows, row by row
 * Returned
 *   post       less the door posts that stand exactly where a post of another row does
 * Result
 *   how many are left
 */
size_t site_layout_settle(struct site_layout_post *post, size_t n);

/*
 * site_layout_overlap - the next post that stands in another
 *
 * Given
 *   from       looked at from this post on
 * Returned
 *   *other     an earlier post that it overlaps; faces that touch do not
 * Result
 *   its index, or n
 */
size_t site_layout_overlap(const struct site_building *b, const struct site_layout_post *post, size_t n, size_t from, size_t *other);

/* What of a post is measured to, as is usual with posts that carry a wall: common practice, no source. */
enum site_measure { SITE_TO_OUTSIDE, SITE_TO_CENTRE, SITE_TO_INSIDE };

/* A post on a string: running distances from where the string begins. */
struct site_mark {
    uint32_t post; /* index */
    enum site_measure to;
    length mark;              /* to what is measured */
    length near, centre, far; /* its face towards the beginning, its centre, its other face */
};

/*
 * site_layout_marks - where the posts of a wall, or of a row inside, fall along its string
 *
 * Given
 *   side
 *   row        index, of SITE_INSIDE: its posts only
 *   rows, door, post[n]  of the whole building
 * Returned
 *   mark[n]    those that stand with a face on the wall's line, whichever row they are of, from the string's beginning on
 * Result
 *   how many
 *
 * Method    Running distances all begin where the strings cross at the first
 *           corner's side, so that no error of one is carried into the next.
 *           Corner posts are measured to the outside face, door posts to the
 *           face in the opening, others to the centre.
 */
size_t site_layout_marks(const struct site_building *b, enum site_side side, uint32_t row, const struct site_row *rows,
    const struct site_door *door, const struct site_layout_post *post, size_t n, struct site_mark *mark);

/* The posts on both sides of an opening, whichever row they are of; SITE_NONE where none stands with its face there. */
void site_layout_door_posts(const struct site_building *b, const struct site_row *row, const struct site_door *door,
    const struct site_layout_post *post, size_t n, uint32_t beside[2]);

struct site_check_triangle {
    length along, across; /* along the length and across, from one corner */
    length between;       /* between their ends, where the corner is square */
};

/*
 * site_layout_triangle - the largest 3-4-5 triangle that fits in a footprint
 *
 * Given
 *   along, across  above 0
 *   step           what 3, 4 and 5 count: a foot, or 100 mm
 * Returned
 *   *t
 * Result
 *   true; false where not even 3 by 4 steps fit, and *t is untouched
 *
 * Source    3-4-5 and its multiples: NAVEDTRA 14069, building layout; in mm,
 *           multiples of 300, 400 and 500: CMHC, Canadian Wood-Frame House
 *           Construction.
 */
bool site_layout_triangle(length along, length across, length step, struct site_check_triangle *t);

#endif
