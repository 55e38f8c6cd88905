/*
 * page.h - pages with a head and a foot, and tables on them. Private to the sheets.
 *
 * How many pages there are is known when all are drawn: their numbers come last.
 */
#ifndef SHEET_PAGE_H
#define SHEET_PAGE_H

#include "canvas.h"
#include "parts.h"

/* Sizes of type, points. Read at arm's length: nothing that is acted on is below PAGE_TEXT. */
#define PAGE_TITLE 15.0
#define PAGE_HEADING 11.0
#define PAGE_TEXT 9.0
#define PAGE_SMALL 7.5 /* remarks and what stands on every page; 2.6 mm, as ISO 3098-1 has its second smallest lettering */

#define PAGE_GAP 7.0 /* between columns */
#define PAGE_NARROWEST 0.67 /* a text that does not fit is narrowed to so much at most */

#define PAGE_AIR 3.0

#define PAGE_HEAD_LINES 5

/* What the head of every page says of the job. */
struct page_words {
    char *bytes; /* lines, each closed by a zero */
    size_t line[PAGE_HEAD_LINES], lines;
    const char *title; /* the job's name */
};

struct pages {
    struct canvas *canvas;
    const struct sheet_document *doc;
    const struct page_words *words;
    struct sheet_style style;
    const char *sheet; /* what the page at hand shows */
    double width, height;            /* of the paper */
    double left, top, right, bottom; /* what is free on the page at hand: y grows from top to bottom as things are put */
    double begin;                    /* where what is free on it began */
    bool text;                       /* a sheet of text ends on it, below which another may begin */
    double air;                      /* points of white below each row of a table: PAGE_AIR, or less where that saves a page */
    bool closures;                   /* how the lines close has been said */
};

/* 0, or -1 without memory. page_words_release() in any case. */
int page_words_open(struct page_words *w, const struct sheet_document *doc);
void page_words_release(struct page_words *w);

/* The paper, turned as asked, with nothing on it. */
struct pages pages_begin(struct canvas *c, const struct sheet_document *doc, const struct page_words *words);

/* "page 2 of 5" at the foot of each page that has one: how many there are is known when all are drawn. */
void pages_number(struct pages *p);

/* A new page that shows `sheet`: head and foot are drawn, left to bottom is free. */
void pages_turn(struct pages *p, const char *sheet);

/* A sheet that begins on the page at hand, below another one: its title stands there as it does on top of a page. */
void pages_join(struct pages *p, const char *sheet);
#define PAGE_JOIN (2 * PAGE_TITLE + 15) /* points that takes */

/* True where so much is still free; else the page is turned, and false. */
bool pages_room(struct pages *p, double height);

/* What stands at the top of a page that goes on with something. */
#define PAGE_AGAIN " (continued)"

/* A line of text at the left, its height taken off the page; turns the page where none is left. Wraps at blanks. */
void pages_line(struct pages *p, struct canvas_type type, const char *text);

/* What sheet_grade_heading() says of a grade, its first line larger. 0, or -1 without memory. */
int pages_grade(struct pages *p, const struct job_grade *g);

/* How high that is; 0 without memory. */
double pages_grade_height(const struct pages *p, const struct job_grade *g);

/* Its first line, on a page that goes on with it. 0, or -1 without memory. */
int pages_grade_again(struct pages *p, const struct job_grade *g);

/* The pages as they are, to come back to with all that is drawn since taken off. Of canvases without memory nothing is taken off. */
struct pages_kept {
    struct pages p;
    struct canvas_state canvas;
};

struct pages_kept pages_keep(const struct pages *p);
void pages_go_back(struct pages *p, const struct pages_kept *kept);

/* A blank strip. */
static inline void
pages_skip(struct pages *p, double height)
{
    p->top += height;
}

/*
 * page_wrap - where a text is to be broken
 *
 * Given
 *   text       what is left of it
 *   most       points
 * Returned
 *   *next      what follows the line, blanks skipped; at the closing zero where nothing does
 * Result
 *   bytes of the line: as many words as fit, one at least, and a value (fold_joins()) whole where it has room on a line; of a longer
 *   word that has none, even narrowed by a third, as many letters as fit
 */
size_t page_wrap(const char *text, double size, bool bold, double most, const char **next);

/* How many lines that makes. */
size_t page_lines(const char *text, double size, bool bold, double most);

/* ---- tables ---- */

struct page_column {
    const char *heading;
    double width;              /* points; one column may have 0 and gets what is left */
    enum canvas_anchor anchor; /* START or END; headings stand alike */
    bool bold, wraps;          /* wraps: on as many lines as it needs; else narrowed, by a third at most, then cut with ... */
};

#define PAGE_COLUMNS 12

struct page_table {
    struct pages *p;
    const struct page_column *column;
    size_t columns;
    double size;                /* of its type */
    double left[PAGE_COLUMNS], width[PAGE_COLUMNS];
    bool headed;                /* headings stand on the page at hand */
};

/* Headings are drawn with the first row, and again on each page; they are so high. */
#define PAGE_TABLE_HEAD (PAGE_SMALL + 8)

void page_table_open(struct page_table *t, struct pages *p, const struct page_column *column, size_t columns, double size);

/* How many lines a row's cells need, and so how high it is. */
double page_table_height(const struct page_table *t, const char *const *cell);

/* A row, never broken over pages; NULL is an empty cell. Returns the height of its base line from the page's top, so that
 * something can be drawn over it. */
double page_table_row(struct page_table *t, const char *const *cell);

/* A rule below, and white. */
#define PAGE_TABLE_END 6
void page_table_close(struct page_table *t);

#endif
