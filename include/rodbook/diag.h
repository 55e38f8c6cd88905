/*
 * diag.h - complaints: gathered where they are understood, printed by the program
 *
 * A complaint has a place, says what was found and what it was held against,
 * and carries the name of its check, which never changes.
 */
#ifndef RODBOOK_DIAG_H
#define RODBOOK_DIAG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum diag_level {
    DIAG_ERROR,   /* a fault in what was given */
    DIAG_WARNING, /* worth a look; the work goes on */
    DIAG_NOTE     /* a second place for the complaint before it */
};

/* A place in the record. Lines and columns count from 1, columns in
 * characters; line 0 is no place in particular. */
struct diag_place {
    uint32_t line;
    uint32_t column;
};

struct diag_item {
    enum diag_level level;
    struct diag_place place;
    const char *check; /* a constant text; NULL for a note */
    char *text;        /* ours */
    struct diag_place head; /* the place of the complaint that a note belongs to */
    size_t order;           /* as said, a note with its complaint */
};

struct diag {
    struct diag_item *item;
    size_t n, room;
    size_t errors, warnings;
    bool no_memory; /* a complaint was lost for want of memory; it counts as an error */
};

void diag_release(struct diag *d);

/* Say one complaint. A note belongs to the complaint said last. */
__attribute__((format(printf, 5, 6))) void
diag_say(struct diag *d, enum diag_level level, struct diag_place place, const char *check, const char *format, ...);

/* Of the complaints said since there were `since`, take back those at or behind a place: what was read
 * there was not what was meant. */
void diag_drop_from(struct diag *d, size_t since, struct diag_place place);

/* Put the complaints in the order of their places, each note behind its own. */
void diag_sort(struct diag *d);

#endif
