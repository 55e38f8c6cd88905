/*
 * rows.h - points that stand in one line: posts of a wall, battens of a string, ground shots across a pad
 *
 * A row is what a profile is drawn along. Which rows there are is worked out
 * from names, kinds and places of points alone.
 */
#ifndef RODBOOK_ROWS_H
#define RODBOOK_ROWS_H

#include "rodbook/job.h"

/* A point is in line when it is no farther from it than this: two inches, what a post or batten may stand off and still be
 * one of its row, and less than a post's width. */
#define ROWS_ASIDE (50 * LENGTH_MM)

/* Posts this near a string that runs along them are shown with it: two feet, a string outside thick posts and their boards. */
#define ROWS_BESIDE (600 * LENGTH_MM)

enum rows_kind { ROWS_WALL, ROWS_GROUND }; /* posts and battens; ground shots alone */

struct rows_point {
    uint32_t name;
    uint8_t kind;                  /* enum record_point_kind */
    length along;                  /* from the row's first point, never falling */
    length aside;                  /* from the row's line, above 0 to the left as it is walked */
    uint32_t spot[RECORD_ON_COUNT]; /* its spots that have an elevation, at their last positions; else JOB_NONE */
};

/* A grade as it stands over a row's points. */
struct rows_grade {
    uint32_t grade; /* into job.grade */
    size_t first;   /* rows.level[first ... first + the row's count - 1]; rows.known alike */
};

struct rows_row {
    enum rows_kind kind;
    size_t first, count;        /* rows.point */
    size_t first_grade, grades; /* rows.grade */
    bool battens, posts;        /* of these kinds it has points */
};

struct rows {
    struct rows_row *row;
    size_t rows, row_room;
    struct rows_point *point;
    size_t points, point_room;
    struct rows_grade *grade;
    size_t grades, grade_room;
    length *level; /* grade at a point */
    bool *known;
    size_t levels, level_room, known_room;
};

/*
 * rows_open - the rows of a job
 *
 * Given
 *   job        with stakes
 * Returned
 *   rows       rows_release() in any case; those with fewer than two points
 *              that have an elevation are left out
 * Result
 *   0, or -1 without memory
 *
 * Method    In line is what lies within ROWS_ASIDE of the line from a row's
 *           first to its last point.
 *           Posts (and footings and corners) whose names differ only in the
 *           number at their end are walked by that number; each stretch in
 *           line is a row, and a corner ends one and begins the next. Two
 *           posts alone make one only along x or y. Beside these, the posts
 *           of the least and of the greatest x and y are rows: the outer
 *           walls.
 *           A batten carries one string, along x or y: of the battens of
 *           equal y, and of those of equal x, the line that is nearer to the
 *           box of all posts, where its string is wanted; where both are as
 *           near, both. A line that two battens or more carry is a row.
 *           Three ground shots or more, found as posts are, are a row.
 *           Posts and ground shots no farther than ROWS_BESIDE from a line of
 *           battens or posts along x or y, and not beyond its ends by more,
 *           are shown with it. A row that another one shows whole is left
 *           out, and so are corners that were not read. Rows along x come first, by y, then those
 *           along y, by x, then others; ground behind them.
 */
int rows_open(struct rows *rows, const struct job *job);
void rows_release(struct rows *rows);

#endif
