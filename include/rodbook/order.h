/*
 * order.h - concrete for the holes of a job: what each takes, bags or a load, and what is to be hauled away
 */
#ifndef RODBOOK_ORDER_H
#define RODBOOK_ORDER_H

#include "rodbook/concrete.h"
#include "rodbook/posts.h"

/* What stands in for what a record does not state. */
#define ORDER_WASTE 0.10 /* the usual figure; common practice, no source */
#define ORDER_STEP_YD (0.25 * SITE_YD3) /* m^3; loads are usually sold by the quarter yard; common practice, no source */
#define ORDER_STEP_M 0.1                /* m^3 */
#define ORDER_SLUMP (5 * LENGTH_IN / 2) /* common practice, no source */

/* ASTM C143 reads slump to the nearest 1/4 in; ACI 211.1 has 1 to 3 in for footings (from a summary of it). */
#define ORDER_SLUMP_LEAST (1 * LENGTH_IN)
#define ORDER_SLUMP_MOST (3 * LENGTH_IN)
#define ORDER_SLUMP_STEP (LENGTH_IN / 4)

enum order_depth {
    ORDER_DEPTH_NONE,    /* neither the hole is read nor a depth asked for */
    ORDER_DEPTH_READ,    /* from the ground, or the grade that the ground will be, to the hole's bottom as read */
    ORDER_DEPTH_PLANNED  /* as asked for: not read yet, or to be dug deeper */
};

struct order_hole {
    uint32_t post;         /* into posts.one */
    enum order_depth by;
    bool no_diameter, no_footing; /* what is missing: the diameter; whether the footing is poured or laid */
    bool known;            /* the volumes are set */
    length depth;          /* of the hole, below what it is measured from; with by */
    length least;          /* diameter by IBC 1807.3.3; 0 without a post's size */
    bool narrow;           /* the hole is narrower than that */
    length foot, thick;    /* post's foot, and top of the concrete, above the hole's bottom */
    struct site_volumes v; /* m^3 */
    double with_waste;     /* m^3 */
    double bags;           /* that by the bag's yield; 0 without a bag */
};

struct order {
    const struct posts *posts;
    const struct record_concrete *from;
    struct site_post post;  /* its section; 0: not stated, and nothing is taken off */
    bool post_of_site;      /* it is the building's */
    double waste, step;     /* as stated, or what stands in for it */
    bool waste_stated, step_stated;
    length slump;
    bool slump_stated, slump_unusual, slump_odd; /* beyond the range above; no whole quarter of an inch */
    struct order_hole *hole; /* [posts.n] */
    size_t known, planned, left; /* holes with volumes; of them by the depth asked for; without */
    struct site_volumes sum; /* m^3 */
    double with_waste;      /* m^3 */
    double bags;            /* whole ones; 0 without a bag */
    double load;            /* m^3, whole steps */
    double hauled;          /* m^3, what is dug, loose; below 0: no bulking is stated */
    double bag_density;     /* kg/m^3; 0 */
    double bags_to_yard;    /* 0 */
    bool good;              /* nothing is left out, no line is outside its limit */
};

/*
 * order_work - concrete, bags, load and spoil
 *
 * Given
 *   posts      posts_work(), without errors; must outlive the order
 *   site       the record has a building, whose posts' section holds where the concrete entry states none
 * Returned
 *   o          order_release(), in any case
 *   d          [no-concrete]: the record has no such entry; [concrete-form]: what does not fit
 * Result
 *   0, or -1 without memory. With errors in `d` it is not worth printing.
 *
 * Method    concrete.h for each hole. Its depth is from the ground (where the
 *           depth asked for is measured from a grade: from that) to the
 *           bottom as read; else as asked for, with the footing's thickness
 *           where that is to the footing's top. A footing that is poured
 *           counts as concrete, one that is laid does not. Sums are of
 *           unrounded volumes; bags and loads are rounded up once, for all
 *           holes together. What is dug is hauled whole: what goes back above
 *           the concrete is not taken off.
 */
int order_work(struct order *o, const struct posts *posts, struct diag *d);
void order_release(struct order *o);

#endif
