/*
 * write.h - entries as text, the way a crew would write them into the record
 *
 * The text is what stands between `entry: N` and the digest. Readings and
 * lengths are written as they were said: 4.620 keeps its nought.
 */
#ifndef RODBOOK_WRITE_H
#define RODBOOK_WRITE_H

#include "rodbook/record.h"

#include <stdio.h>

#define WRITE_LENGTH 64 /* bytes of a length as it was said, its zero included */
#define WRITE_NAME 81   /* of a name */
#define WRITE_NOTE 400  /* of a note or reason */

/* One sight as it was said. */
struct write_sight {
    int wires;                  /* 0: not given; 1, or 3: upper, middle, lower */
    char text[3][WRITE_LENGTH];
    char dist[WRITE_LENGTH];    /* sight length; "" where not said */
    length wire[3];             /* the same, read; not written */
    length value;               /* the reading, or the mean of three wires rounded once */
    length dist_value;          /* -1 where not said */
};

/* One row of levels. */
struct write_row {
    char at[WRITE_NAME];
    enum record_on on;
    struct write_sight bs, is, fs;
    bool moved;
    uint32_t page;               /* 0: not said */
    uint32_t for_entry, for_row; /* 0: stands for no struck row */
    char note[WRITE_NOTE];       /* "" for none */
};

/* What stands at the head of a run; "" where not said. */
struct write_head {
    char date[16];
    char instrument[WRITE_NAME], observer[WRITE_NAME], rodman[WRITE_NAME], weather[WRITE_NOTE], note[WRITE_NOTE];
};

/* A text as a YAML scalar: in quotes wherever it could be taken for something else. */
void write_scalar(FILE *out, const char *text);

/* `levels:` with the head of a new run, or with `continues: N`, and the line `readings:`; rows follow. */
void write_levels(FILE *out, const struct write_head *head, uint32_t continues);
void write_row(FILE *out, const struct write_row *row);

void write_strike(FILE *out, uint32_t entry, uint32_t row, enum record_sight sight, const char *reason);

/*
 * A length that was worked out, written so that it is read back exactly: in the job's unit where that takes no more than
 * nine decimals, or 64ths of an inch; else in millimetres.
 */
void write_length(FILE *out, length value, enum length_unit unit);

/* A grade, level or sloping along x or y from x = y = 0. */
struct write_grade {
    const char *name;
    bool subgrade;
    uint32_t serves;          /* bits of kinds; 0: all, and not written */
    length level;
    int64_t rise, run;        /* rise 0: level; else lowest terms, below 0 a fall */
    bool across;              /* towards width, else length */
    const char *tolerance;    /* as it was said; NULL: not said */
    const char *note;
};

void write_grade(FILE *out, const struct write_grade *g, enum length_unit unit);

/* True for a day of the calendar, as 2026-05-02. */
bool write_is_day(const char *text);

/* `by:` where initials are given, and `time:` now, to the second, in UTC (RFC 3339). */
void write_envelope(FILE *out, const char *by);

#endif
