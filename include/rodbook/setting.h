/*
 * setting.h - rows of posts as they stand after setting: off the string, off their own line, off grade, out of plumb
 *
 * Each `set` entry is a row measured once. Of the entries of one row the last is
 * judged, and compared with the one before it. Heights are those of the job's
 * net. What is not stated is shown, and not judged.
 */
#ifndef RODBOOK_SETTING_H
#define RODBOOK_SETTING_H

#include "rodbook/job.h"
#include "rodbook/lineup.h"

/* Standard deviation of one taped gap where the entry does not say: the spacing of a crew's tape marks; common practice, no source. */
#define SETTING_SIGMA_IN (LENGTH_IN / 16)    /* 1/16 in; jobs in feet or feet and inches */
#define SETTING_SIGMA_M (3 * LENGTH_MM / 2)  /* 1.5 mm; jobs in metres */

/* A post's intended place may be off the line of its row by less than this, and a post of another row is off it by more: 1 ft. */
#define SETTING_ASIDE LENGTH_FT

enum setting_way { SETTING_IN, SETTING_OUT, SETTING_LEFT, SETTING_RIGHT, SETTING_START, SETTING_END, SETTING_TO_STRING,
    SETTING_FROM_STRING, SETTING_UNSAID };

enum setting_verdict {
    SETTING_NOT_JUDGED, /* no tolerance is stated, or nothing was measured */
    SETTING_GOOD,
    SETTING_OFF,
    SETTING_UNSURE      /* measured, and the measurement cannot tell */
};

enum { SETTING_MARK, SETTING_TOP, SETTING_HEIGHTS }; /* what a height is of: read on post, read on top */
enum { SETTING_ACROSS, SETTING_ALONG, SETTING_LEANS };

struct setting_height {
    bool read;          /* a reading stands in the book */
    uint32_t spot;      /* where read */
    bool known;         /* elevation is set */
    bool outside, unchecked, adrift; /* of its levels */
    bool old;           /* last read before the entry that this one is compared with */
    length elevation;
    bool has_grade;     /* grade, off and verdict are set */
    length grade;       /* of a top: with the reveal */
    length off;         /* elevation - grade: high is positive */
    double sigma;       /* m, of off; below 0 where it is not known */
    enum setting_verdict verdict;
    const struct job_stake *stake; /* what the stakes ask of the mark, with their own tolerance; NULL of a top, or without a grade */
    bool has_own;       /* the run's own line of such heights */
    length own;         /* elevation less that line */
    bool out, rogue;    /* as of the gap */
    uint32_t rival;
    bool moved;         /* read again after it was moved, as the levels say: */
    length change;      /* up is positive */
};

struct setting_lean {
    bool known;
    length rise, over;  /* rise 0 or more, over above 0 */
    enum setting_way way; /* of the top; SETTING_UNSAID: along the row, and nobody said which way */
    double angle;       /* radians from plumb */
    enum setting_verdict verdict;
};

struct setting_post {
    uint32_t name;
    length along;       /* from the row's first post */
    const struct record_set_row *row;    /* NULL: not measured this time */
    const struct record_set_row *before; /* of the entry that it is compared with; NULL */
    bool has_gap;
    length gap;         /* as measured: gap, else low */
    bool has_off;       /* the string's gap is stated */
    length off;         /* gap less what it should be: farther from the string is positive */
    bool touches;       /* gap of 0 or less: it pushes the string, or may */
    bool has_own;       /* the run's own line */
    length own;         /* gap less that line: farther from the string is positive */
    double own_sigma;   /* m, of the gap less the line of the others; below 0 where there is none */
    bool out;           /* off the line of the others beyond doubt */
    uint32_t rival;     /* with out: another that may be off in its stead, into row.post; JOB_NONE */
    bool rogue;         /* out, without a rival, and off by the stated tolerance or more */
    enum setting_verdict line; /* off the string; where its gap is not stated, off the run's own line */
    bool has_high;      /* the upper of two gaps: */
    length high_off;    /* as off */
    bool has_change, change_sure;
    length change;      /* of the gap since `before`, a stated gap that changed taken out; farther from the string is positive */
    struct setting_height height[SETTING_HEIGHTS];
    struct setting_lean lean[SETTING_LEANS];
};

/* A run's own line. */
struct setting_line {
    size_t read;        /* posts it could be drawn through */
    bool known;         /* through 3 in line, or more: */
    struct site_lineup fit;
    uint32_t from, to;  /* the first and last of them, into post[] */
    length first, last; /* the line at these two; of gaps: less the string's gap where that is stated */
    enum setting_verdict first_verdict, last_verdict; /* of those, where the gap and a tolerance are stated */
    bool bent;          /* three posts, not in one line beyond doubt, and so without one... */
    length middle;      /* ...the middle one off the line of its neighbours */
    uint32_t three[3];  /* into post[] */
};

struct setting_row {
    const struct record_set *set, *before; /* the entry that is judged, and the one before it; NULL */
    length sigma;       /* of one gap */
    bool sigma_stated;
    enum setting_way away; /* farther from the string, in words */
    enum setting_way to;   /* and towards it */
    struct setting_post *post; /* in order along the row */
    size_t posts;
    size_t measured, missing; /* with a row in the entry; of the row and without one */
    struct setting_line line, height[SETTING_HEIGHTS];
    const struct job_grade *grade; /* that serves posts; NULL */
    size_t grades;      /* that do, where it cannot be one */
    size_t rogues;
    bool judged;        /* some tolerance is stated */
    bool touched;       /* some post touches the string... */
    bool pushed;        /* ...and should not, or stands beyond it: gaps beside it mean nothing */
    bool good;
};

struct settings {
    const struct job *job;
    struct setting_row *row; /* in the order in which rows came up */
    size_t rows;
    double factor;      /* half a confidence interval is this times a standard deviation */
    double confidence;
    bool good;
};

/*
 * setting_work - every row of posts that was measured
 *
 * Given
 *   job        worked out with stakes and a confidence, without errors; must outlive the result
 *   confidence above 0, below 1
 * Returned
 *   s          setting_release(), in any case
 *   d          [no-set]: nothing was measured; [set-place]: posts without places, or with places that make no row;
 *              [set-side]: in and out of a row that stands inside the building
 * Result
 *   0, or -1 without memory. With errors in `d` there is nothing to print.
 *
 * Method    A row is the posts that its entries name, and the points of kind
 *           post that are named by it and a number. Its line runs between the
 *           two places farthest apart, from the one with the lower number; each
 *           post is at its place along it. Where all other posts and corners
 *           stand on one side of it, that side is in.
 *             off the string   gap - stated gap, standard deviation sigma
 *             own line         site_lineup() over the gaps, or over the heights
 *             plumb            high - low over apart, standard deviation root 2
 *                              sigma over apart; by a level its rise has sigma
 *             height           adjusted elevation - grade; see sure.h
 *           Verdicts are those of site_decides_below() with h = factor *
 *           sigma; at the tolerance, or beyond it, is off.
 *           A rogue is off the line of the others beyond doubt (site_lineup(),
 *           its limits for all posts of the row together at the confidence p),
 *           is so with odds of p / (1 - p) against any other post being the one,
 *           and is off the run's own line by the tolerance or more.
 *           Heights share the errors of their set-ups, which a line takes up:
 *           each is given an error u of its own, by least squares from the
 *           net's variances of differences, u_i + u_j = Var(z_i - z_j).
 */
int setting_work(struct settings *s, const struct job *job, double confidence, struct diag *d);
void setting_release(struct settings *s);

/* Which way an offset is, farther from the string positive. */
enum setting_way setting_way_of(const struct setting_row *row, length off);

#endif
