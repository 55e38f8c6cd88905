/*
 * profile.h - what profiles are drawn with: scales, a datum, ticks, symbols, and a band of figures below. Private to the sheets.
 *
 * Nothing is written in the drawing itself but what has room there; names and
 * figures stand in the band, one column a point, led to where the point is.
 */
#ifndef SHEET_PROFILE_H
#define SHEET_PROFILE_H

#include "page.h"

/* ---- scales ---- */

struct profile_scale {
    double along, up;     /* ratios; along is 0 where lengths are not to scale */
    double x, y;          /* points for a nanometre */
    length step;          /* between ticks of elevation */
    struct length_style tick;
    char words[SHEET_WORDS * 3];
};

/* What a profile has to hold. */
struct profile_span {
    length along;     /* of its longest strip */
    bool to_scale;    /* else the strip is as long as there is room */
    length low, high; /* lowest and highest of the strip that has most between them */
    double width, height; /* points */
};

/*
 * profile_scale_choose - the largest usual scales at which it fits, and the exaggeration that goes with them
 *
 * Scales of scale_usual(), heights 1:5 or 3 in to the foot at most; heights are
 * exaggerated 1 to 50 times, by a whole number or a half.
 */
struct profile_scale profile_scale_choose(enum length_unit unit, const struct profile_span *span);

/* The datum that a strip stands on: a whole number of steps, below all that is in it. */
length profile_datum(const struct profile_scale *s, length low);

/* Points that the highest of a strip needs above its datum, symbol and all. */
double profile_above(const struct profile_scale *s, length datum, length high);

/* ---- one strip ---- */

struct profile_strip {
    struct pages *p;
    const struct profile_scale *scale;
    double left, right, top, base; /* base: the datum's line */
    length begin, datum;           /* what lies at left, and at base */
};

static inline double
profile_x(const struct profile_strip *s, length along)
{
    return s->left + (double)(along - s->begin) * s->scale->x;
}

static inline double
profile_y(const struct profile_strip *s, length elevation)
{
    return s->base - (double)(elevation - s->datum) * s->scale->y;
}

/* Datum, ticks and the elevations beside them. */
void profile_axis(const struct profile_strip *s);

/* ---- symbols ---- */

enum profile_symbol {
    PROFILE_MARK,   /* a point itself; by enum record_on up to PROFILE_TOP */
    PROFILE_BATTEN,
    PROFILE_GROUND,
    PROFILE_HOLE,
    PROFILE_POST,
    PROFILE_TOP,
    PROFILE_BENCHMARK,
    PROFILE_TURN,
    PROFILE_SIDE,
    PROFILE_INSTRUMENT,
    PROFILE_ROD,
    PROFILE_GROUND_LINE,
    PROFILE_STRING_LINE,
    PROFILE_SIGHT_LINE,
    PROFILE_DROP_LINE,  /* from a line of sight down to what was read there */
    PROFILE_GRADE_LINE, /* of the job's first grade, then of its others: one has the same line in all profiles... */
    PROFILE_GRADE_LAST = PROFILE_GRADE_LINE + 3, /* ...up to the last, which the rest share */
    PROFILE_SYMBOLS
};

/* The line of a grade by its number in the job. */
static inline enum profile_symbol
profile_grade(uint32_t number)
{
    return number < PROFILE_GRADE_LAST - PROFILE_GRADE_LINE ? (enum profile_symbol)(PROFILE_GRADE_LINE + number) : PROFILE_GRADE_LAST;
}

/* At x, y; `open` where its elevation is not to be used. */
void profile_symbol(struct canvas *c, enum profile_symbol symbol, double x, double y, bool open);

struct canvas_pen profile_pen(enum profile_symbol line);

/* What the symbols mean, in as many lines as they need; `used` has a bit for each symbol. Only measured where `draw` is false. */
double profile_legend(struct pages *p, unsigned used, const char *const words[PROFILE_SYMBOLS], bool draw);

/* ---- the band ---- */

#define PROFILE_BAND_ROWS 18
#define PROFILE_COLUMN 11.0 /* points that a column needs at least, its figures turned */

struct profile_cell {
    char text[SHEET_WORDS];
    double width;                  /* of its text and its shape */
    const struct job_stake *stake; /* whose shape stands before the text; NULL: none */
};

struct profile_band {
    size_t columns, rows;
    char heading[PROFILE_BAND_ROWS][SHEET_WORDS];
    struct profile_cell *cell; /* [PROFILE_BAND_ROWS][columns] */
    double *at;                /* [columns] where each column's point is... */
    double *x;                 /* ...and where the column stands */
    double size;
    bool turned;
    double row[PROFILE_BAND_ROWS]; /* heights */
    double height;
    double gutter; /* what its headings take */
};

/* 0, or -1 without memory; profile_band_release() in any case. */
int profile_band_open(struct profile_band *b, size_t columns);
void profile_band_release(struct profile_band *b);

/* A row with its heading; returns its number. */
size_t profile_band_row(struct profile_band *b, const char *heading);
void profile_band_set(struct profile_band *b, size_t row, size_t column, const char *text);

/* What is to be done at a mark, as the plan says it. */
void profile_band_move(struct profile_band *b, size_t row, size_t column, const struct job_stake *stake, const struct sheet_style *style);

/* Columns that a strip may have. */
size_t profile_band_most(double width);

/*
 * profile_band_plan - how the band is set
 *
 * Given
 *   b->at[]    rising
 *   left, right  within which columns stand
 *
 * Method    Upright in PAGE_TEXT, else upright in PAGE_SMALL, else turned: the
 *           first in which all columns have room. Columns that would overlap
 *           are pushed apart, all as little as can be (least squares, by
 *           pooling neighbours).
 */
void profile_band_plan(struct profile_band *b, double left, double right);

#define PROFILE_LEAD 10.0 /* points between the datum's line and the band: leaders go there */

/* Headings stand from p->left on. */
void profile_band_draw(const struct profile_band *b, const struct pages *p, double base, double top, double right);

/* ---- names in the drawing ---- */

struct profile_box {
    double left, top, right, bottom;
};

struct profile_boxes {
    struct profile_box within;
    struct profile_box *box;
    size_t n, room;
    bool no_memory;
};

void profile_boxes_release(struct profile_boxes *b);
void profile_boxes_take(struct profile_boxes *b, double left, double top, double right, double bottom);

/* Within the limits, and nothing that is taken stands there. */
bool profile_boxes_free(const struct profile_boxes *b, struct profile_box a);

bool profile_boxes_meet(struct profile_box a, struct profile_box b);

/* A name beside its symbol, on white: right, left, above or below it, over its middle or to one side, else a line farther off, where it
 * touches nothing that is taken. False: there is no room. */
bool profile_name(struct canvas *c, struct profile_boxes *b, double x, double y, double reach, const char *text);

/* The same, on a base line from x on and nowhere else; as wide as profile_fit() says. */
bool profile_name_at(struct canvas *c, struct profile_boxes *b, double x, double base, double width, const char *text);

/* As much of a text as `most` points hold once it is narrowed by a third, "..." before its last letters where more is left off:
 * "NorthGable...ter 0 7"; and how wide it is then. */
double profile_fit(char *out, size_t room, const char *text, double size, bool bold, double most);

#endif
