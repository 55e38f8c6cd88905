/* plan_page.h - one page of the plan: its scale, symbols, labels and key. Private to the plan. */
#ifndef SHEET_PLAN_PAGE_H
#define SHEET_PLAN_PAGE_H

#include "labels.h"
#include "page.h"
#include "plan_lines.h"
#include "scale.h"

/* A point with a place. */
struct plan_mark {
    uint32_t name;
    uint32_t point; /* index into record.point */
    bool staked;    /* against some grade */
    bool benchmark;
};

/* A line of sight from a set-up that stands on the page at hand. */
struct plan_sight {
    uint32_t leg, mark; /* indices into job.leg and plan.mark */
};

/* What all pages of the plan share. */
struct ground_plan {
    struct pages *p;
    const struct job *job;
    struct plan_lines lines;
    struct plan_mark *mark;
    size_t marks;
    const struct job_grade *grade; /* that the page at hand is for; NULL where the record has none */
    uint32_t *first_stake;         /* [names] of that grade, or JOB_NONE */
    uint32_t *next_stake;          /* [stakes] of the same point and grade, or JOB_NONE */
    bool *own;                     /* [marks] on the page at hand */
    uint32_t *number;              /* [marks] key on the page at hand; 0: none */
    bool *listed;                  /* [marks] what it says stands in the list of the page at hand */
    uint32_t *stand_of;            /* [legs] of a set-up with a place: index into record.stand; JOB_NONE else */
    uint32_t *setup;               /* set-ups on the page at hand: indices into job.leg, ascending... */
    size_t setups;
    struct plan_sight *sight;      /* ...and their lines of sight, set-up by set-up */
    size_t sights, sight_room;
    bool cautioned;                /* the caution stands on some page */
    double lower;                  /* points that the next drawing stands below the middle of its window */
    bool held;                     /* a plan on the page at hand has left it to the page's end to say which benchmarks have no place... */
    bool said;                     /* ...or has said it */
    struct plan_drawn {
        double ratio; /* of its scale */
        bool whole;   /* all that it says stands there, and nothing on a page behind it */
    } drawn;          /* the drawing last made */
};

/* Lettering goes up by the root of 2 (ISO 3098-1). */
#define PLAN_LARGE 1.4142

/* A stretch of ground. */
struct plan_span {
    length left, bottom, right, top; /* x, y of the record */
};

/* A page's drawing, laid out. */
struct plan_view {
    struct label_box window; /* of the page, points */
    struct scale scale;
    struct plan_span span;
    double left, bottom;     /* of the page, where span begins */
    struct labels labels;
    struct label *label;
    uint32_t *mark;          /* [labels.n] index into plan.mark; JOB_NONE for a diagonal or a set-up */
    uint32_t *setup;         /* [labels.n] of a set-up: index into plan.setup; JOB_NONE else */
    uint32_t *line;          /* [labels.n] of a diagonal: index into plan.lines */
    struct label_line *edge; /* lines within the window, behind them lines of sight... */
    uint32_t *edge_of;       /* ...which of plan.lines, or plan.sight, each is... */
    double *weight;          /* ...and how clear it is to be kept */
    size_t edges, sights;
    struct label_box *taken; /* symbols without labels... */
    uint32_t *taken_mark;    /* ...and whose they are; JOB_NONE: the north arrow */
    size_t takens;
    bool has_north;
    struct label_box north;  /* square that the north arrow turns in */
    bool has_fall;
    struct label_box fall;   /* of the arrow down a sloping grade, with its words... */
    double fall_x, fall_y;   /* ...and its direction, along x and y of the record */
    char fall_words[SHEET_WORDS];
    double type;             /* sizes of labels, as a share of the smallest */
    size_t keyed;            /* that the list has to say */
    size_t squeezed;         /* of those, by want of room, and not because their words are too wide for any page */
    size_t nowhere;          /* of all, without even a number on the drawing */
    size_t led;              /* labels with leaders */
};

/* The scale at which a span fits into a window, with room for labels round it. */
struct scale plan_scale(const struct ground_plan *plan, const struct plan_span *span, const struct label_box *window);

/* Lines, symbols and labels of what plan.own says, in a window; `type` is 1 or PLAN_LARGE. plan_view_release() it, in any case. 0, or -1 without memory. */
int plan_view_open(struct plan_view *v, const struct ground_plan *plan, const struct plan_span *span, const struct label_box *window,
    double type);
void plan_view_release(struct plan_view *v);

/* Room that the window must have above and below the span, for what is drawn there, 3 mm kept free at the frame. */
void plan_view_room(const struct plan_view *v, double *above, double *below);

/* How much of the ground that they stand on, with room for labels round it, the words of plan.own's marks would cover; 1 is all. */
double plan_fill(const struct ground_plan *plan, const struct plan_span *span, const struct label_box *window);

/* The same with the lines alone, for a page that has no marks. */
int plan_view_open_lines(struct plan_view *v, const struct ground_plan *plan, const struct plan_span *span, const struct label_box *window);

/* Sets plan.number and plan.listed of what the list has to say. */
void plan_view_number(const struct plan_view *v, struct ground_plan *plan);

/* Draws it, numbered. */
void plan_view_draw(const struct plan_view *v, const struct ground_plan *plan);

/* Where a span is on the page. */
struct label_box plan_view_box(const struct plan_view *v, const struct plan_span *span);

/* The lines alone. */
void plan_view_lines(const struct plan_view *v, const struct ground_plan *plan);

/* Scale bar, axes, and what the lines, symbols and moves that are drawn mean, from `top` down. Returns its height; without a view, only
 * that, and of all that might be drawn. */
double plan_key(const struct ground_plan *plan, const struct plan_view *v, double top);

/* The moves of a mark on its page's grade, "; " between them. */
void plan_moves(struct remark *out, const struct ground_plan *plan, const struct plan_mark *m);

/* ---- set-ups: plan_setups.c ---- */

/* What plan_setups_find() needs. plan_setups_release() in any case. 0, or -1 without memory. */
int plan_setups_gather(struct ground_plan *plan);
void plan_setups_release(struct ground_plan *plan);

/*
 * plan_setups_find - the set-ups of a page, and their lines of sight
 *
 * Given
 *   plan       own, first_stake, next_stake of the page
 *   span       of its marks
 *   whole      the page shows the whole site: the span may grow, by half its width and height at most
 * Returned
 *   plan       setup, sight
 *   span       with the set-ups that are drawn; those beyond it are not
 * Result
 *   0, or -1 without memory
 *
 * Method    A mark is joined to the set-up that last read it, for one read
 *           before it was moved, or again, would show a second line to the
 *           same place; a benchmark to every set-up on the page that read it.
 */
int plan_setups_find(struct ground_plan *plan, struct plan_span *span, bool whole);

/* A page without any. */
void plan_setups_none(struct ground_plan *plan);

/* The set-up that last read a spot; JOB_NONE. */
uint32_t plan_last_leg(const struct job *job, uint32_t spot);

/* Which marks of the page were last read from set-ups that are not on it. 0, or -1 without memory. */
int plan_setups_words(const struct ground_plan *plan, FILE *out);

/* ---- north: plan_north.c ---- */

/* Where north is, degrees clockwise from y; false where the record does not say. */
bool plan_north(const struct ground_plan *plan, double *bearing);
void plan_north_words(char out[SHEET_WORDS], double bearing);

/* Takes a place for the arrow where nothing is, before labels are placed: a corner of the window, else a place along its sides;
 * none where all are full. */
void plan_north_lay(struct plan_view *v, const struct ground_plan *plan);
void plan_north_draw(const struct plan_view *v, const struct ground_plan *plan);

/* The arrow alone, `half` its length. */
void plan_north_arrow(struct canvas *c, struct canvas_place middle, double bearing, double half);

/* ---- fall: plan_fall.c ---- */

/* An arrow down a grade that is not level, where the page has room for it when all labels stand: has_fall. */
void plan_fall_lay(struct plan_view *v, const struct ground_plan *plan);
void plan_fall_draw(const struct plan_view *v, const struct ground_plan *plan);

#endif
