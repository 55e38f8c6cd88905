/* parts.h - what the text sheets share. Private to the sheets. */
#ifndef SHEET_PARTS_H
#define SHEET_PARTS_H

#include "rodbook/sheet.h"
#include "table.h"

#include <stdarg.h>

#define SHEET_REMARK 1024 /* bytes */
#define SHEET_SENTENCE 2048 /* bytes of a sentence before it is broken into lines */

/* A remark put together from pieces, "; " between them. One that is too long ends in " ..."; the record has it whole. */
struct remark {
    char text[SHEET_REMARK];
    size_t used; /* SHEET_REMARK or more: it is cut */
};

__attribute__((format(printf, 2, 3))) void remark_add(struct remark *r, const char *format, ...);

/* Sentences that are broken into lines; begins as { .out = out }. */
struct lines {
    FILE *out;
    size_t column;
    bool begun; /* something stands on the line */
    const char *first, *other; /* blanks before the first line and the others; NULL: two and four */
};

void say(struct lines *l, const char *words);
void say_word(struct lines *l, const char *word, size_t n); /* as it is, blanks and all */
void end_sentence(struct lines *l);
void say_line(const char *words, FILE *out); /* one sentence, and its end */

/* One sentence as it is put together, with what stands before its first line and before the others. */
__attribute__((format(printf, 4, 5))) void tell_line(FILE *out, const char *first, const char *other, const char *format, ...);
__attribute__((format(printf, 4, 0))) void tell_list(FILE *out, const char *first, const char *other, const char *format, va_list list);

static inline const char *
spot_name(const struct job *job, uint32_t spot)
{
    return spot == LEVEL_NONE ? "" : names_text(&job->r->names, job->spot[spot].at);
}

static inline const char *
spot_on(const struct job *job, uint32_t spot)
{
    return spot == LEVEL_NONE ? "" : record_on_word((enum record_on)job->spot[spot].on);
}

/* A count in digits at p, closed by a zero; where the zero stands. Room for 21 bytes. */
char *put_count(char *p, uint64_t v);

/* "5.2": set-up 2 of the run in entry 5. */
void setup_name(char out[SHEET_WORDS], const struct job *job, uint32_t leg);

/* "BM1", or "SW1 batten" where the rod did not stand on the point itself; `none` where there is no spot. */
void spot_words(char out[SHEET_WORDS * 2], const struct job *job, uint32_t spot, const char *none);

/* What stands for the missing end of a set-up. */
#define NO_FROM "a struck backsight"
#define NO_TO "an open set-up"

/* Sight lengths and distances: a tenth of a foot or a metre. */
static inline struct length_style
sheet_distance(const struct sheet_style *style)
{
    return (struct length_style){ style->elevation.form == LENGTH_AS_M ? LENGTH_AS_M : LENGTH_AS_FT, 1, 0 };
}

/* "read 2 times, 0.004 apart", where it was read more than once. */
void apart_remark(struct remark *remark, uint32_t readings, length apart, const struct sheet_style *style);

/* A line that warns: on paper and in HTML it is to be seen at once. */
bool sheet_warns(const char *text);

/* Signed, with its sign always. */
void signed_length(char out[LENGTH_TEXT + 1], length value, struct length_style style);

/* What is no whole number of nanometres, in decimals of the job's unit, as standard deviations stand one below the other. */
void sheet_decimal_words(char out[SHEET_WORDS], double nm, const struct sheet_style *style);

/* A limit; and a misclosure beside it, in the same unit. Inches are fractions where 64 parts show them whole, as a rod does:
 * "-1/8 in"; else decimals, for a fraction would be another limit. */
void sheet_limit_words(char out[SHEET_WORDS], double nm, const struct sheet_style *style);
void sheet_misclosure_words(char out[SHEET_WORDS], length nm, const struct sheet_style *style);

/* Of a grade: ", falling 1 in 120 towards length (+x)", and "BM1 +0.10". */
void slope_words(char *out, size_t room, const struct job *job, const struct record_slope *s);
void through_words(struct remark *out, const struct job *job, const struct record_through *t, const struct sheet_style *style);

/* "loop BM1 to BM1, 3 set-ups from 5.1", at p; where it ends. Room for four times SHEET_WORDS and two names. */
char *put_line_name(char *p, const struct job *job, const struct level_link *link);

/* Job, place, and how far the record is sealed. */
void sheet_title(const struct job *job, const char *what, FILE *out);

/* "set-ups", "distance", "least squares" */
const char *sheet_spread_words(enum record_spread spread);

/* One line for each loop, link and spur: closed to what, against what. */
void sheet_closures(const struct job *job, FILE *out);
#define SHEET_CLOSURE "Closure (" /* its heading begins so */

/* Room for the points of the longest of an adjustment's loops; free() it. NULL without memory. */
uint32_t *loop_room(const struct fit *f);

/* The record in a page or two: what each entry is, its day, by whom, how much it holds, whether it is sealed, what was struck in
 * it; of very many the first and the last ones. 0, or -1 without memory. */
struct audit;
int sheet_entries(const struct audit *a, FILE *out);

/* What results of a record begin with: its name, what they are, and how far it is sealed. */
void sheet_record_title(const struct record *r, const char *what, FILE *out);

/* How far it is sealed, and on lines of their own what was altered, with what says more of that. */
void sheet_record_seals(const struct record *r, const char *more, FILE *out);

/* A grade: its name and entry, what it means, where it lies, what is left alone. */
void sheet_grade_heading(const struct job *job, const struct job_grade *g, const struct sheet_style *style, FILE *out);

/* A stake's move in words, with ? behind one that the readings cannot tell; "" where none is known. */
void sheet_stake_move(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style);

/* How far below grade its grade rod is read, "2 m", where grade is above the line of sight; or "". */
void sheet_offset_words(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style);

/* What else is to be said of a stake, but for that. */
void sheet_stake_remarks(const struct job *job, const struct job_stake *s, const struct sheet_style *style, struct remark *remark);

/* The further reading that settles most. */
void sheet_advice(const struct job *job, const struct sheet_style *style, FILE *out);

/* Every spot that was read or given. 0, or -1 without memory. */
int sheet_points(const struct job *job, FILE *out);

#endif
