/*
 * carry.h - entries that were written by hand, carried into a record and sealed there
 *
 * Every byte of what was written is kept, comments and blank lines too. An
 * entry gets its number below its --- line and its digest below its last
 * line, and nothing else. What cannot be carried in this way is refused, and
 * what was carried is read again and held against what was written.
 */
#ifndef RODBOOK_CARRY_H
#define RODBOOK_CARRY_H

#include "rodbook/append.h"

struct carry {
    struct append_text plain; /* the record with the entries as they were written... */
    uint32_t lines_above;     /* ...below so many lines... */
    uint32_t start_line;      /* ...and with a --- that was wanting above this line of theirs; 0: none was wanting */
    struct append_text text;  /* the entries as they are appended */
    struct scan_end at;       /* where the record stops with them */
    unsigned char digest[DIGEST_BYTES];
    uint32_t first;           /* number of the first entry */
};

/*
 * carry_compose - compose entries as they will stand
 *
 * Given
 *   above[above_n]  the record that they are added to; nothing of a new one
 *   at         where it stops
 *   from[n]    the entries as they were written
 * Returned
 *   c          carry_release()
 *   d          what cannot be carried: [sealed], [carry]; [bytes] above the first entry
 * Result
 *   0, or -1 without memory; `c` is worth something only where nothing was said
 */
int carry_compose(struct carry *c, const char *above, size_t above_n, const struct scan_end *at, const char *from, size_t n,
    struct diag *d);
void carry_release(struct carry *c);

/* A place in c->plain as a place in what was carried; line 0 for a place above it. */
struct diag_place carry_place(const struct carry *c, struct diag_place place);

/*
 * carry_verify - hold the sealed entries against what was written
 *
 * Given
 *   above, above_n  as carry_compose()
 *   plain      c->plain, read without an error
 * Returned
 *   d          [carry] where the record would not say the same
 * Result
 *   0, or -1 without memory
 */
int carry_verify(const struct carry *c, const char *above, size_t above_n, const struct record *plain, struct diag *d);

/*
 * carry_differs - whether two records say the same, places and digests aside
 *
 * Result
 *   NULL; or what it is that differs, in a word
 */
const char *carry_differs(const struct record *a, const struct record *b);

#endif
