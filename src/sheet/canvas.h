/*
 * canvas.h - drawings as lists of marks on pages. Private to the sheets.
 *
 * A figure is drawn once, on a canvas; what becomes of it (PDF, PNG, SVG, a
 * part of an HTML page) is a matter of who reads the canvas afterwards. Places
 * are in points, 1/72 inch (ISO 32000-1, 8.3.2.3), from the page's upper left
 * corner, x to the right and y down. Nothing here knows surveying.
 */
#ifndef SHEET_CANVAS_H
#define SHEET_CANVAS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What a mark is drawn in. Inks differ in lightness as well as in hue, so that a grey print keeps them apart. */
enum canvas_ink {
    CANVAS_BLACK,
    CANVAS_GREY,  /* what stands behind: grids, second thoughts */
    CANVAS_PALE,  /* fills that text stands on */
    CANVAS_UP,    /* raise, fill */
    CANVAS_DOWN,  /* lower, cut */
    CANVAS_ALERT, /* outside, altered, unsafe */
    CANVAS_WHITE,
    CANVAS_INKS
};

enum canvas_dash { CANVAS_SOLID, CANVAS_DASHED, CANVAS_DOTTED, CANVAS_CHAIN, CANVAS_DASHES };

/* Where a text's place lies in it, on its base line. */
enum canvas_anchor { CANVAS_START, CANVAS_MIDDLE, CANVAS_END };

enum canvas_kind {
    CANVAS_PATH,       /* corners, open or closed, stroked, filled or both */
    CANVAS_CIRCLE,
    CANVAS_TEXT,
    CANVAS_GROUP,      /* begins a group: it has a title and may have a description... */
    CANVAS_GROUP_END   /* ...and holds what stands up to here; groups nest */
};

struct canvas_place {
    double x, y;
};

struct canvas_pen {
    double width; /* 0: not stroked */
    enum canvas_ink ink;
    enum canvas_dash dash;
};

/* One mark. Texts and corners lie in the canvas's own arrays. */
struct canvas_mark {
    enum canvas_kind kind;
    struct canvas_pen pen;
    bool filled, closed;
    enum canvas_ink fill;
    struct canvas_place at;  /* of a circle or text */
    double size;             /* a circle's radius; a text's size: height of its em */
    double turned;           /* degrees, clockwise, about `at` */
    double width;            /* of a text, as laid out: a backend fits the text to it */
    enum canvas_anchor anchor;
    bool bold;
    size_t first, count;     /* corners: canvas.place[first ... first + count - 1] */
    size_t text, more;       /* into canvas.bytes; `more` is a group's description, or CANVAS_NO_TEXT */
};

#define CANVAS_NO_TEXT SIZE_MAX

struct canvas_page {
    double width, height;
    size_t first, marks; /* canvas.mark[first ... first + marks - 1] */
    size_t title, more;  /* into canvas.bytes; `more` is its description, or CANVAS_NO_TEXT */
    size_t later;        /* a text among its marks that is set when all is drawn; CANVAS_NO_TEXT */
};

struct canvas {
    struct canvas_page *page;
    size_t pages, page_room;
    struct canvas_mark *mark;
    size_t marks, mark_room;
    struct canvas_place *place;
    size_t places, place_room;
    char *bytes; /* texts, each closed by a zero */
    size_t used, bytes_room;
    size_t depth;   /* groups that stand open */
    bool no_memory; /* some mark is missing: whoever reads the canvas refuses it */
};

/* An empty canvas is all zero. */
void canvas_release(struct canvas *c);

/* How far it is drawn, and back to there: all that was drawn since is gone. No group stands open then or now. */
struct canvas_state {
    size_t pages, marks, places, used;
    struct canvas_page last; /* the page at hand, if there is one */
};

struct canvas_state canvas_keep(const struct canvas *c);
void canvas_go_back(struct canvas *c, const struct canvas_state *kept);

/* A new page, on which all that follows is drawn; groups that stand open end before it. Nothing may be drawn before the first. */
void canvas_turn(struct canvas *c, double width, double height, const char *title);

/* What a page shows, for those who do not see it. */
void canvas_describe(struct canvas *c, size_t page, const char *description);

/* A page cut off `below` points below the lowest mark on it, where it is higher. */
void canvas_crop(struct canvas *c, size_t page, double below);

void canvas_line(struct canvas *c, struct canvas_pen pen, double x1, double y1, double x2, double y2);

/* Corner after corner; closed back to the first where `fill` or `closed` is set. `fill` is CANVAS_INKS for none. */
void canvas_path(struct canvas *c, struct canvas_pen pen, enum canvas_ink fill, bool closed, const struct canvas_place *at, size_t n);

void canvas_box(struct canvas *c, struct canvas_pen pen, enum canvas_ink fill, double x, double y, double width, double height);

void canvas_circle(struct canvas *c, struct canvas_pen pen, enum canvas_ink fill, double x, double y, double radius);

/* How a text is set. */
struct canvas_type {
    double size;
    enum canvas_anchor anchor;
    enum canvas_ink ink;
    bool bold;
    double turned; /* degrees, clockwise */
};

/* A text on its base line; none of its characters is acted on. */
void canvas_text(struct canvas *c, struct canvas_type type, double x, double y, const char *text);

/* The same, narrowed where it would be wider than `most`. */
void canvas_text_within(struct canvas *c, struct canvas_type type, double x, double y, double most, const char *text);

/* A text that is not known yet, on the page at hand, one a page; then, when it is. */
void canvas_text_later(struct canvas *c, struct canvas_type type, double x, double y);
void canvas_text_now(struct canvas *c, size_t page, const char *text);

/* What stands between the two, on one page, belongs together: a reader of screens is told its title, and its description where there is one. */
void canvas_group(struct canvas *c, const char *title, const char *description);
void canvas_group_end(struct canvas *c);

/* The text of a mark or page. */
const char *canvas_words(const struct canvas *c, size_t at);

/*
 * canvas_text_width - how wide a text is set
 *
 * Given
 *   text       UTF-8
 *   size       points
 * Result
 *   points
 *
 * Method    advance widths of DejaVu Sans and DejaVu Sans Bold 2.37 for
 *           Latin, Greek and Cyrillic; 1 em for each wide character and 0.65
 *           em for every other one, 0 for what combines. Backends fit what
 *           they set to this width, so that the layout is the same everywhere.
 */
double canvas_text_width(const char *text, double size, bool bold);

/* Height of a capital above the base line, and depth of a descender below it, as a share of the size. */
#define CANVAS_CAPITAL 0.729   /* DejaVu Sans 2.37, OS/2 table, sCapHeight 1493 of 2048 */
#define CANVAS_DESCENDER 0.236 /* the same, hhea table, descender 483 of 2048 */

#endif
