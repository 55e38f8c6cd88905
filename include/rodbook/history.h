/*
 * history.h - what was given more than once in a record, and what was struck
 *
 * A record is never rubbed out: the latest value of a name holds, and the
 * earlier ones stand above it. Gathered here for those who want to know what
 * it was before, and who changed it.
 */
#ifndef RODBOOK_HISTORY_H
#define RODBOOK_HISTORY_H

#include "rodbook/record.h"

enum history_kind { HISTORY_MARK, HISTORY_POINT, HISTORY_GRADE, HISTORY_KINDS };

/* A name with more than one value. The last of its values holds. */
struct history_name {
    enum history_kind kind;
    uint32_t name;
    uint32_t first, count; /* history.value[first ... first + count - 1] */
};

/* A row, half a row, a section or a taped length that was struck. */
struct history_strike {
    uint32_t strike;       /* index into record.strike */
    uint32_t row, section, taped; /* index into record.row, .section or .taped; the others are RECORD_NONE */
    bool bs, ahead;        /* the sights of the row that it strikes */
    uint32_t first, count; /* history.instead[first ... ]: rows that stand for it, in booking order */
};

/* Entries that take one another's place whole: buildings, holes, concrete, pads, a row of posts after setting. */
struct history_whole {
    enum record_kind kind;
    uint32_t row;          /* a name, of RECORD_SET_POSTS */
    uint32_t first, count; /* history.entry[first ... first + count - 1], 2 or more */
};

struct history {
    struct history_name *name; /* marks, then points, then grades; each in the order in which names came up */
    size_t names;
    uint32_t *value; /* index into record.mark, .point or .grade, as given */
    size_t values;
    size_t once[HISTORY_KINDS]; /* names with one value that marks, points or grades gave */
    size_t derived;             /* points that the building gives, and nothing else */
    struct history_whole *whole;
    size_t wholes;
    uint32_t *entry; /* indices, in booking order */
    size_t entries;
    struct history_strike *strike; /* as the strikes were booked */
    size_t strikes;
    uint32_t *instead; /* index into record.row */
    size_t insteads;
};

/*
 * history_gather - gather what was revised
 *
 * Given
 *   r          read without errors
 * Returned
 *   h          history_release()
 * Result
 *   0, or -1 without memory
 */
int history_gather(struct history *h, const struct record *r);
void history_release(struct history *h);

/* The entry, as index, in which a value of a kind was given. */
uint32_t history_entry(const struct record *r, enum history_kind kind, uint32_t value);

#endif
