/*
 * sheet.h - what people look at, made from a job that has been worked out
 *
 * Nothing is computed here. Every function writes to `out` and leaves it to
 * the caller to look at ferror().
 */
#ifndef RODBOOK_SHEET_H
#define RODBOOK_SHEET_H

#include "rodbook/audit.h"
#include "rodbook/booking.h"
#include "rodbook/building.h"
#include "rodbook/earth.h"
#include "rodbook/fit.h"
#include "rodbook/grades.h"
#include "rodbook/history.h"
#include "rodbook/job.h"
#include "rodbook/order.h"
#include "rodbook/plan.h"
#include "rodbook/posts.h"
#include "rodbook/setting.h"
#include "rodbook/suspects.h"

#include <stdio.h>

/*
 * Results as data: what ends in _data prints JSON, streamed, docs/json.md; or,
 * where its `table` is not NULL, that table of it alone as CSV, docs/csv.md.
 * 0, or -1 without memory.
 */

/* A table: a list of a command's JSON, or one object of it. */
struct sheet_table {
    const char *command, *name;
    const char *path;    /* where it stands in the JSON */
    const char *columns; /* as csv_tables.c says */
};

extern const struct sheet_table sheet_tables[];
extern const size_t sheet_table_count;

/* NULL where the command has no such table. */
const struct sheet_table *sheet_table_find(const char *command, const char *name);

enum sheet_form { SHEET_HI = 1, SHEET_RISE_FALL = 2 }; /* bits: forms of the field book */

/* How lengths of a job are shown. */
struct sheet_style {
    struct length_style elevation; /* readings and what is carried from them */
    struct length_style adjusted;  /* adjusted elevations, corrections, cut and fill: one figure more */
    struct length_style move;      /* moves, as a crew measures them */
};

struct sheet_style sheet_style_of(const struct record *r);

#define SHEET_WORDS 96

/* A move in a crew's words: "up 3/8 in", "down 12 mm", "up 1 ft 2-1/4 in". `size` above 0 is up. */
void sheet_move_words(char out[SHEET_WORDS], length size, const struct sheet_style *style);

/* A size without direction: "3/8 in", "12 mm". */
void sheet_size_words(char out[SHEET_WORDS], length size, const struct sheet_style *style);

/* A standard deviation in m as a crew measures moves, one step finer than a move: "1/16", "0.8", "<1/16"; "" below 0. */
void sheet_sigma_words(char out[SHEET_WORDS], double sigma, const struct sheet_style *style);

/* The same with its unit: "1/16 in", "0.8 mm"; "" where it is not known. */
void sheet_sure_words(char out[SHEET_WORDS], double sigma, const struct sheet_style *style);

/* What is asked of a mark: the move, "leave", or "" where it is not known; one that the readings cannot tell is said all
 * the same, and JOB_UNSURE is for the caller to look at. */
void sheet_verdict_words(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style);

/*
 * sheet_page - no line wider than a page
 *
 * Given
 *   out        for the caller to look at ferror() of; not closed
 * Result
 *   where to print text sheets, whose long lines are broken at blanks; fclose()
 *   it. NULL without memory; ferror() of it where memory runs out later
 */
FILE *sheet_page(FILE *out);

/* The field book of every run, in one form or both, with its checks; then the elevations. 0, or -1 without memory. */
int sheet_book(const struct job *job, unsigned forms, FILE *out);

/* Loops, links and spurs, each with its misclosure and spread; then the elevations. */
int sheet_close(const struct job *job, FILE *out);

/* An adjustment: what it comes to, elevations, observations, loops, and what nothing checks. As text and as data; -1 without
 * memory. */
int sheet_adjust(const struct fit *f, FILE *out);
int sheet_adjust_data(const struct fit *f, const struct sheet_table *table, FILE *out);

/* Every mark against its grade. */
int sheet_stakes(const struct job *job, FILE *out);

/* What each plan can be expected to give, for people and as data; `r` is the record that they stand in. 0, or -1 without memory. */
int sheet_plans(const struct record *r, const struct plan *plan, size_t n, FILE *out);
int sheet_plans_data(const struct record *r, const struct plan *plan, size_t n, const struct sheet_table *table, FILE *out);

/* What was given more than once, each value with who gave it and when; and what was struck. */
int sheet_history(const struct job *job, const struct history *h, FILE *out);

/* What is outside, which readings most likely did it, what to shoot again, and what is cleared; and as data. */
int sheet_suspects(const struct suspects *s, FILE *out);
int sheet_suspects_data(const struct suspects *s, const struct sheet_table *table, FILE *out);

enum sheet_data_part { SHEET_DATA_BOOK = 1, SHEET_DATA_STAKES = 2 };

/* The same as data; `parts` adds to runs and points. */
int sheet_data(const struct job *job, unsigned parts, const struct sheet_table *table, FILE *out);

/* The building set out, for people and as JSON. 0, or -1 without memory. */
int sheet_site(const struct building *b, FILE *out);
int sheet_site_data(const struct building *b, const struct sheet_table *table, FILE *out);

/* What was taped: frames, triangles and lengths, for people and as JSON. 0, or -1 without memory. */
struct square;
int sheet_square(const struct square *s, FILE *out);
int sheet_square_data(const struct square *s, const struct sheet_table *table, FILE *out);

/* What the grade could be, from the ground shots; and as JSON. 0, or -1 without memory. */
int sheet_grades(const struct grades *g, FILE *out);
int sheet_grades_data(const struct grades *g, const struct sheet_table *table, FILE *out);

/* Why a grade was taken, as it is booked with it: one line, cut at `room` bytes; and why one cannot be. */
void sheet_grade_reason(char *out, size_t room, const struct grades *g, enum grades_kind kind);
const char *sheet_grade_lack(enum grades_lack lack);

/* Holes and posts: depths, marks, lengths. 0, or -1 without memory. */
int sheet_posts(const struct posts *p, FILE *out);
int sheet_posts_data(const struct posts *p, const struct sheet_table *table, FILE *out);

/* What the holes take, and what is ordered for them. 0, or -1 without memory. */
int sheet_concrete(const struct order *o, FILE *out);
int sheet_concrete_data(const struct order *o, const struct sheet_table *table, FILE *out);

/* Rows of posts as they stand after setting, for people and as data. 0, or -1 without memory. */
int sheet_run(const struct settings *s, FILE *out);
int sheet_run_data(const struct settings *s, const struct sheet_table *table, FILE *out);

/* Ground against the grade of the pad, volumes, and stone; as text and as data. 0, or -1 without memory. */
int sheet_pad(const struct earth *e, FILE *out);
int sheet_pad_data(const struct earth *e, const struct sheet_table *table, FILE *out);

/* What an audit found, for people and as data; the latter 0, or -1 without memory. */
void sheet_audit(const struct audit *a, FILE *out);
int sheet_audit_data(const struct audit *a, const struct sheet_table *table, FILE *out);

/* ---- on paper ---- */

/* What a document shows, as bits: every figure that its results have something for. */
enum sheet_figure {
    SHEET_FIGURE_STAKES = 1,
    SHEET_FIGURE_PLAN = 2,
    SHEET_FIGURE_PROFILE = 4,
    SHEET_FIGURE_BOOK = 8,
    SHEET_FIGURE_LOOPS = 16,
    SHEET_FIGURE_RECORD = 32,
    SHEET_FIGURE_SITE = 64,
    SHEET_FIGURE_SQUARE = 128,
    SHEET_FIGURE_PAD = 256,
    SHEET_FIGURE_POSTS = 512,
    SHEET_FIGURE_CONCRETE = 1024,
    SHEET_FIGURE_RUN = 2048
};

enum sheet_paper { SHEET_A4, SHEET_LETTER };

/* Results to be shown, worked out by the caller; those that a figure needs and that are NULL leave it out. */
struct sheet_document {
    unsigned figures;            /* SHEET_FIGURE_... bits that are asked for */
    enum sheet_paper paper;
    bool landscape;
    bool bare;                   /* pages have no head, foot or margins: what they stand in has them */
    const struct job *job;       /* with stakes, where stakes, plan or profile are asked for */
    const struct fit *fit;       /* loop figure; may be NULL */
    const struct suspects *suspects; /* loop figure; may be NULL */
    const struct audit *audit;   /* record sheet */
    const struct building *building; /* and the setting out, each its sheet */
    const struct square *square;
    const struct earth *earth;
    const struct posts *posts;
    const struct order *order;
    const struct settings *settings;
};

/* A document drawn, page by page. */
struct sheet_drawing;

enum sheet_form_of_drawing { SHEET_PDF, SHEET_SVG, SHEET_PNG };

enum sheet_status {
    SHEET_OK,
    SHEET_EMEMORY,
    SHEET_ENOLIBRARY, /* the drawing library is not on this machine: *missing names its file */
    SHEET_EDRAW,      /* it refused */
    SHEET_ENOTHING    /* nothing that was asked for has anything to show, and nothing was written */
};

/* Draw a document. NULL without memory; sheet_drawing_free() it. */
struct sheet_drawing *sheet_draw(const struct sheet_document *doc);
void sheet_drawing_free(struct sheet_drawing *d);

/* 0 where nothing that was asked for has anything to show. */
size_t sheet_drawing_pages(const struct sheet_drawing *d);

/*
 * sheet_drawing_write - a drawing in one of its forms
 *
 * Given
 *   page       from 0; of SVG and PNG, which hold one. PDF holds all.
 * Returned
 *   out        the bytes: the same for the same record, whenever they are asked for; the caller looks at ferror()
 *   *missing   with SHEET_ENOLIBRARY
 */
enum sheet_status sheet_drawing_write(const struct sheet_drawing *d, enum sheet_form_of_drawing form, size_t page, FILE *out,
    const char **missing);

/*
 * sheet_html - a document as one HTML page
 *
 * Given
 *   doc        paper and landscape are for who prints it
 * Returned
 *   out        the bytes: the same for the same record; the caller looks at ferror()
 * Result
 *   SHEET_OK, SHEET_EMEMORY, SHEET_ENOTHING
 *
 * One file that fetches nothing and runs nothing, and forbids both. Stakes,
 * field book and record are text and tables, drawings are SVG within. Whatever
 * stands in a record comes out as that very text. It is well-formed XML, too.
 */
enum sheet_status sheet_html(const struct sheet_document *doc, FILE *out);

/* ---- at the prompt ---- */

/* The field book of the last run, by height of instrument. 0, or -1 without memory. */
int sheet_last_run(const struct job *job, FILE *out);

/* How all loops, links and spurs stand. */
void sheet_all_closures(const struct job *job, FILE *out);

/* What a line of sights means, as booked in `entry`; `file` is the record's name, for what to do next. */
void sheet_booking_answer(const struct booking *b, const struct write_row *row, uint32_t entry, const struct booking_answer *a,
    const char *file, FILE *out);

/* Where the run stands: in one line, or as short as a prompt is. */
void sheet_booking_stand(const struct booking *b, FILE *out);
void sheet_booking_prompt(const struct booking *b, char out[SHEET_WORDS]);

/* ---- words of the trade for what the job found ---- */

const char *sheet_link_word(enum level_link_kind kind);
const char *sheet_quality_word(uint8_t quality);
const char *sheet_within_word(enum level_within within);
const char *sheet_verdict_word(enum job_verdict verdict);

#endif
