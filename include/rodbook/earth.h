/*
 * earth.h - the pad: what is cut and filled down or up to its grade, and the stone that goes on it
 */
#ifndef RODBOOK_EARTH_H
#define RODBOOK_EARTH_H

#include "rodbook/adjust.h"
#include "rodbook/volume.h"

/* A spot of the ground. */
struct earth_spot {
    uint32_t at;          /* name */
    uint8_t on;           /* enum record_on */
    uint8_t quality;      /* enum level_quality */
    uint32_t spot;        /* into job.spot; JOB_NONE: not read */
    struct site_place place;
    bool placed;
    bool has_ground;      /* read, tied to a mark, and not on a line outside its limit */
    bool has_grade;
    bool used;            /* all of these: it bears the surface */
    length ground, grade; /* elevations; the grade that is dug to */
    length cut, fill;     /* where used */
    double sigma;         /* m, of cut or fill, by the weights given; below 0 unknown */
    uint32_t squares;     /* that it is a corner of, on a grid */
    uint32_t same;        /* an earlier spot at its place, with which it is averaged; JOB_NONE */
};

/* A square of the grid. */
struct earth_cell {
    uint32_t corner[4];          /* into earth.spot, counter-clockwise from the lowest x and y */
    double above;                /* m, mean of the corners above grade */
    struct site_volume v;        /* within the pad */
    double rule_cut, rule_fill;  /* m3, whole, by the four-point rule */
};

/* A place of the grid where nothing bears the surface. */
struct earth_gap {
    struct site_place place;
    uint32_t spot;  /* into earth.spot; JOB_NONE: the record has no such point */
    uint32_t cells; /* squares that are left out for it */
};

#define EARTH_TRIED 500 /* spots up to which each is tried as the one that is in the way of a grid */

/* How the spots became a surface. */
enum earth_surface {
    EARTH_NONE,      /* they did not: see earth.known */
    EARTH_SQUARES,
    EARTH_TRIANGLES, /* as asked... */
    EARTH_OFF_GRID,  /* ...because spot `odd` is in the way: the others make a grid... */
    EARTH_NO_GRID    /* ...because they make none */
};

struct earth {
    const struct record_pad *from;
    const struct job *job;
    struct record_grade own;   /* of a level of its own */
    struct job_grade grade;
    length below;              /* what is dug to lies so far below the grade: the stone, under a finish grade */
    struct earth_spot *spot;
    size_t spots, spot_room;
    size_t unused;             /* spots that bear nothing */
    enum earth_surface surface;
    uint32_t odd;              /* into spot */
    struct site_grid grid;     /* of squares */
    struct earth_cell *cell;   /* [cells] */
    size_t cells;
    struct earth_gap *gap;     /* [gaps] */
    size_t gaps, left_out;     /* squares left out */
    size_t triangles;
    bool known;                /* there is a surface, and what follows is set */
    struct site_volume v;      /* the headline: bank measure */
    double sigma_cut, sigma_fill, sigma_net; /* m3, from the readings alone; below 0 unknown */
    bool whole;                /* every square lies within the pad, and so the four-point figures are set: */
    double rule_cut, rule_fill; /* m3, by the land-grading rule */
    double sum;                /* m: heights above grade, each times the squares that it is a corner of */
    bool bounded;
    struct site_rectangle inside;
    double area;               /* m2, of the pad: its boundary, else what the spots cover; below 0 unknown */
    double uncovered;          /* m2, within the boundary and beyond the spots */
    double stone;              /* m3, as laid; below 0: no stone stated, or no area */
    double stone_mass;         /* kg; below 0: no density stated either */
    double loose;              /* m3, the cut once dug; below 0: no swell stated */
    bool good;                 /* no spot without ground, nothing uncovered, no line outside its limit */
};

/*
 * earth_work - the record's last pad
 *
 * Given
 *   job         worked out without errors; must outlive the result
 * Returned
 *   e           earth_release(), in any case
 *   d           [no-pad], [pad-spots], [pad-squares], and what its grade lacks
 * Result
 *   0, or -1 without memory. With errors in `d` there is no result.
 *
 * Spots are those that are listed; else every point with x and y that was
 * read on the ground, or is ground by its kind and was read on itself; and
 * points of that kind that were not read, which are missing.
 *
 * Method    volume.h. Squares where the spots make a grid, else triangles.
 *           The deviation of a volume is that of the sum of elevations that
 *           it is, to first order: sum of weight times (ground - grade), a
 *           grade through marks being a sum of theirs:  Var V = c' Z c.
 * Accuracy  of cut and fill: to first order where the grade line moves across a square with the heights
 */
int earth_work(struct earth *e, const struct job *job, struct diag *d);
void earth_release(struct earth *e);

#endif
