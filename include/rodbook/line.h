/*
 * line.h - one line at the prompt, in the crew's own order of speech
 *
 *   bs BM1 4.62                  backsight
 *   is batten SW1 3.14           intermediate sight, on what the rod stood on
 *   tp TP1 5.87 4.15             turning point: foresight, then backsight
 *   fs BM1 2.91                  foresight
 *
 * Behind the readings may stand, in any order: dist LENGTH (of tp: foresight's,
 * then backsight's), moved, page N, for ENTRY.ROW, and last note TEXT. A
 * reading is one length, or three wires. A name with blanks, or one that is
 * also a word of this page, stands in quotes.
 */
#ifndef RODBOOK_LINE_H
#define RODBOOK_LINE_H

#include "rodbook/write.h"

enum line_kind {
    LINE_NOTHING, /* blank, or a remark behind # */
    LINE_BS,
    LINE_IS,
    LINE_FS,
    LINE_TP,
    LINE_UNDO,   /* undo REASON */
    LINE_STRIKE, /* strike ENTRY.ROW [bs|fs] REASON */
    LINE_RUN,    /* begin a new run */
    LINE_BY,     /* by INITIALS */
    LINE_HEAD,   /* date, instrument, observer, rodman, weather, note: the head of the next run */
    LINE_SHOW,   /* the page so far */
    LINE_STAND,  /* where the job stands */
    LINE_HELP,
    LINE_DONE
};

enum line_head { LINE_DATE, LINE_INSTRUMENT, LINE_OBSERVER, LINE_RODMAN, LINE_WEATHER, LINE_NOTE };

struct line {
    enum line_kind kind;
    struct write_row row;        /* of a sight */
    enum line_head head;         /* of LINE_HEAD */
    uint32_t entry, number;      /* of LINE_STRIKE */
    enum record_sight sight;
    char text[WRITE_NOTE];       /* reason, initials, or what stands at the head */
};

/*
 * line_read - read one line
 *
 * Given
 *   text       closed by a zero, without its line feed
 *   number     for complaints
 *   job        what a bare number means, how long the rod is
 * Returned
 *   line       set only with 0
 *   d          what is wrong, at its column, and what to write instead
 * Result
 *   0, or -1: said
 */
int line_read(struct line *line, const char *text, uint32_t number, const struct record_job *job, struct diag *d);

/* The words that a line may begin with, for help and completion; the last is NULL. */
extern const char *const line_words[];

/* And the words for what the rod stands on, without `mark`. */
extern const char *const line_on_words[];

#endif
