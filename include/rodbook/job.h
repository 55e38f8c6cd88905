/*
 * job.h - a record worked out: elevations, loops and links, grades, stakes
 *
 * The only room that knows both what was booked and what it means. A sheet
 * prints what stands here and computes nothing.
 */
#ifndef RODBOOK_JOB_H
#define RODBOOK_JOB_H

#include "rodbook/check.h"
#include "rodbook/close.h"
#include "rodbook/grade.h"
#include "rodbook/record.h"
#include "rodbook/stake.h"

#define JOB_NONE UINT32_MAX

/* Marks against grades that are worked out at once: every mark against every
 * grade that serves it. A record of a few thousand grades by as many points
 * would fill any memory. */
#define JOB_STAKES_MOST 4000000

struct job_options {
    bool to_adjust;       /* carry and judge lines only, those outside too: adjust.h does the rest */
    bool spread_anyway;   /* spread a misclosure that is beyond its limit */
    bool stakes;          /* work out grades and stakes */
    bool tapes;           /* look at what was taped as well, for its complaints: square.h */
    bool grade_optional;  /* and say nothing where the record has no grade */
    const char *grade;    /* only this grade, for every kind of point; or NULL */
    uint32_t setup_entry; /* grade rods for this set-up: entry number and set-up of it; 0: the last that read each point */
    uint32_t setup_number;
    double confidence;    /* of the verdicts, 0 to 1, as 0.95; 0: none are asked of the net, and tolerance alone decides */
};

/* A spot by its names; the elevation is in job.level_spot of the same index. */
struct job_spot {
    uint32_t at;       /* name */
    uint8_t on;        /* enum record_on */
    bool shown;        /* read, or a mark */
    uint32_t before;   /* the spot's last position before it was moved, or JOB_NONE */
    uint32_t position; /* 1, and one more each time it was moved */
    uint32_t point;    /* index into record.point, or JOB_NONE */
    uint32_t row;      /* index of its first row in record.row, or JOB_NONE */
};

struct job_grade {
    const struct record_grade *from;
    struct site_grade site;
    bool known;      /* site is set */
    uint8_t quality; /* of the marks that it goes through; enum level_quality */
    uint32_t spot[3]; /* of those marks; JOB_NONE */
    length tolerance;
};

/* Unsure: the mark or its grade has no elevation to use; or both have, and the readings cannot tell. */
enum job_verdict { JOB_MOVE, JOB_LEAVE, JOB_UNSURE, JOB_UNREAD };

/* One mark against one grade. */
struct job_stake {
    uint32_t at;    /* name */
    uint8_t on;     /* enum record_on */
    uint8_t quality; /* enum level_quality: the worse of the mark's and the grade's */
    bool has_adjusted, has_grade, has_rod, too_long, has_moved;
    bool adrift;     /* read, but nothing ties its set-up to a mark */
    uint32_t spot;  /* JOB_NONE when unread */
    uint32_t grade_index; /* into job.grade */
    length adjusted, grade;
    struct site_move move; /* where has_adjusted and has_grade */
    length grade_rod;      /* where has_rod; for leg rod_leg */
    uint32_t rod_leg;
    length offset, offset_rod; /* offset above 0 where the grade rod is below 0 */
    uint32_t readings;
    length apart;              /* between the highest and the lowest of its readings */
    double sigma;              /* m, of the move, by the weights given; below 0 where it is not known */
    enum job_verdict verdict;
    enum site_moved moved;     /* where has_moved: how the move came out... */
    length asked, done;        /* ...that was asked, and that was made; up is positive */
};

/* One more reading, or a set-up read again. */
enum job_further {
    JOB_FURTHER_NONE,   /* nothing that is tried helps */
    JOB_FURTHER_NEW,    /* one of `spot` from a new set-up on benchmark `base` */
    JOB_FURTHER_OPEN,   /* one more of `spot` from set-up `leg`, the job's last, where it stands open */
    JOB_FURTHER_REPEAT  /* all points of set-up `leg` from a new one */
};

struct job_advice {
    enum job_further further;
    uint32_t spot, base, leg;
    size_t doubts;       /* stakes that the readings cannot tell... */
    size_t settled;      /* ...and how many of them it would settle, if they read as they do */
    double worst, left;  /* m: largest standard deviation among them, and among those not settled after it; 0: none */
};

struct job {
    const struct record *r;
    enum record_spread spread; /* how misclosures are spread */
    struct level_sight *sight;
    uint32_t *sight_row; /* [sights] index into record.row */
    size_t sights;
    struct level_leg *leg;
    size_t legs;
    size_t *run_leg;     /* [runs + 1] first leg of each run */
    size_t *run_sight;   /* [runs + 1] first sight of each run */
    struct level_spot *level_spot;
    struct job_spot *spot;
    size_t spots, spot_room;
    struct level_work work;
    size_t names;        /* as many as the record had when it was worked out */
    uint32_t *mark_of;   /* [names] index into record.mark, or JOB_NONE */
    uint32_t *point_of;  /* [names] index into record.point, or JOB_NONE */
    uint32_t *spot_of;   /* [names][RECORD_ON_COUNT] spot at its last position, or JOB_NONE */
    struct job_grade *grade;
    size_t grades;
    struct job_stake *stake;
    size_t stakes, stake_room;
    size_t spurs;        /* lines that nothing closes */
    bool outside;        /* some loop or link is beyond its limit */
    bool off_grade;      /* some mark is not surely to be left: to be moved, not read, or one that cannot be told */
    double *spot_sigma;  /* [spots] m, of adjusted elevations, below 0 unknown; NULL where it was not asked for or no_sigma */
    double factor;       /* half a confidence interval is this times a standard deviation */
    struct job_advice advice;
    bool no_sigma;       /* it was asked for, and some section does not say how sure it is */
    bool gaps;           /* some stake lacks what its grade needs */
    bool no_memory;
};

/*
 * job_work - work a record out
 *
 * Given
 *   r          read without errors; must outlive the job
 *   options
 * Returned
 *   job        the results; released by the caller
 *   d          faults that only the whole shows: set-ups that do not follow,
 *              runs that hang on nothing, distances that are wanting, grades
 *              through marks that were not read
 * Result
 *   0, or -1 without memory. With errors in `d` the job is not worth printing.
 */
int job_work(struct job *job, const struct record *r, const struct job_options *options, struct diag *d);

void job_release(struct job *job);

/* The leg of a set-up by its name: 2 of the run in entry 5 for "5.2", both counted from 1. JOB_NONE where the record has none. */
uint32_t job_setup(const struct job *job, uint32_t entry, uint32_t number);

/*
 * job_walk - stakes by need, and in the order that they are walked to
 *
 * Returned
 *   order[stakes]  into job->stake: grade by grade; those to move first, then
 *              those that the readings cannot tell, those not read, and those
 *              to leave; each lot round the building (walk.h), and behind
 *              them, as booked, ground shots and marks without a place
 * Result
 *   0, or -1 without memory
 */
int job_walk(const struct job *job, uint32_t *order);

/* ---- the field book, row by row ---- */

/* One line of the book. A turning point takes two where a page or a piece of the run ends on it. */
struct job_line {
    const struct record_row *row;         /* NULL for a section */
    const struct record_section *section; /* NULL for a row */
    uint32_t entry, number;               /* of the row: index of its entry, and its number in it */
    struct record_dist dist;              /* of its sights: as booked, else from three wires; -1 */
    bool shows_ahead, shows_bs;           /* the sights of the row that stand on this line */
    bool struck_ahead, struck_bs;
    bool known;                           /* hi, elevation are set */
    bool has_step;                        /* step is set: a live sight before it in the set-up */
    length hi;                            /* with a live backsight; without corrections */
    length elevation;                     /* without corrections */
    length step;                          /* rise; below 0 a fall */
    uint32_t setup;                       /* with a live backsight: number of the set-up in its run */
    bool on_mark;                         /* a side shot on a mark, and... */
    length off_mark;                      /* ...its elevation, less what is given for the mark */
};

enum job_item_kind { JOB_LINE, JOB_PAGE_CHECK, JOB_PIECE_CHECK };

struct job_item {
    enum job_item_kind kind;
    struct job_line line;
    struct level_check sums; /* of a check */
    bool agrees;             /* the three routes agree */
    bool sections;           /* it is a check over sections: rises and falls only */
    uint32_t number;         /* of the page, or of the piece from 1 */
    bool last;               /* of a piece: the run ends with it */
};

#define JOB_ITEMS_A_ROW 6

/* Walks one run. */
struct job_book {
    const struct job *job;
    uint32_t run;
    uint32_t row;   /* next row or section, or JOB_NONE */
    size_t sight;   /* next live sight */
    size_t leg;     /* its leg */
    uint32_t page;  /* 0 where the run has no pages */
    uint32_t piece;
    bool open;      /* a set-up is open, and its last live reading is... */
    length reading;
    bool ended;
    struct level_check page_sums, piece_sums;
    struct job_item item[JOB_ITEMS_A_ROW];
    size_t items, given;
};

void job_book_open(struct job_book *b, const struct job *job, uint32_t run);

/* The next item of the run, good until the next call; NULL at its end. */
const struct job_item *job_book_next(struct job_book *b);

#endif
