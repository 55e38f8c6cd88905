/*
 * audit.h - what the digests and signatures of a record say of its bytes
 *
 * An audit gathers facts: which digests fit, where something was altered, who
 * signed what and when, what no digest covers, what was struck. docs/audit.md
 * says what these facts prove, and what they do not.
 */
#ifndef RODBOOK_AUDIT_H
#define RODBOOK_AUDIT_H

#include "rodbook/record.h"

/* What is asked. */
struct audit_ask {
    const char *paper;        /* digits, as digest_from_paper() gives them; or NULL */
    const unsigned char *key; /* SEAL_KEY_BYTES; or NULL */
    bool digests;             /* the digests alone, in memory that does not grow with the record */
};

/* Members at `at`: n of them are kept, of `all` that there are. */
#define AUDIT_LIST(type)                                                                                            \
    struct {                                                                                                        \
        struct type *at;                                                                                            \
        size_t n, room, all;                                                                                        \
    }
#define AUDIT_KEPT 100 /* with `digests` no more than these are kept; else all */

/* Entries stand here by number, from 1; 0 is none. */

struct audit_seal {
    uint32_t entry;
    bool fits;  /* the signature does */
    bool asked; /* by the key that was asked for */
    unsigned char key[SEAL_KEY_BYTES];
    uint32_t by, time; /* texts of the record, or RECORD_NONE */
};

/* Entries one behind the other without a digest of their own. */
struct audit_span {
    uint32_t first, last;
    uint32_t covered; /* the next entry below whose digest fits */
};

struct audit_torn {
    uint32_t entry, line;
    uint32_t covered;
};

/*
 * Digests one behind the other that do not fit. The first byte that is not as
 * it was stands below the digest line of `above` and above or in that of `first`.
 */
struct audit_break {
    uint32_t first, last;
    uint32_t line;              /* the digest line of `first` */
    uint32_t above, above_line; /* the entry whose digest fits before it, and its digest line */
    uint32_t again; /* the entry below whose digest fits: what is altered above was altered before that was written */
};

/* A strike, and the row of levels, the section or the taped length that it strikes; none where it strikes nothing (said). */
struct audit_struck {
    const struct record_strike *strike;
    const struct record_row *row;
    const struct record_section *section;
    const struct record_taped *taped;
    size_t first, count; /* what stands in its place: audit.again[first ... first + count - 1] */
};

enum audit_paper {
    AUDIT_NO_PAPER, /* not asked */
    AUDIT_FOUND,
    AUDIT_NEAR,     /* one digit off the digest of an entry */
    AUDIT_NOT_FOUND
};

struct audit {
    struct audit_ask ask;
    struct record r; /* its entries; nothing with ask.digests. With errors it is only to look at */
    struct scan_chain chain;
    uint32_t entries;
    uint32_t fits_to; /* the last entry whose digest fits: what stands above it is as it was when that was written */
    uint32_t hand, torn;                    /* entries written by hand, and torn ones... */
    uint32_t uncovered_hand, uncovered_torn; /* ...and those of them with no fitting digest below */
    size_t errors; /* complaints that are errors... */
    size_t damage; /* ...and those of them that say that the text was damaged */
    bool unread;   /* the source could not be read to its end: said */

    struct audit_seal last_seal, last_asked; /* the last that fits, and the last of those by the key asked for */
    uint32_t asked_seals, other_seals;       /* that fit: by that key, and by others */

    enum audit_paper paper;
    uint32_t paper_entry;       /* found, or near */
    unsigned paper_digit;       /* near: which digit, from 1, ... */
    char paper_has, record_has; /* ...and what stands there on paper and in the digest */

    AUDIT_LIST(audit_seal) seals;
    AUDIT_LIST(audit_span) hands;
    AUDIT_LIST(audit_torn) torns;
    AUDIT_LIST(audit_break) breaks;
    AUDIT_LIST(audit_struck) struck; /* in the order of the strikes */
    uint32_t *again; /* rows that stand for struck ones: index into r.row */
};

/*
 * audit_read - audit a record
 *
 * Given
 *   source     its bytes; it may have any faults
 * Returned
 *   a          the facts; released by the caller
 *   d          every fault
 * Result
 *   0, or -1 without memory
 */
int audit_read(struct audit *a, const struct source *source, const struct audit_ask *ask, struct diag *d);

void audit_release(struct audit *a);

/*
 * audit_fits - nothing that was found speaks against the record
 *
 * False for a digest or a signature that does not fit, a torn entry with no
 * digest below it, damaged text, a digest on paper that was not found, and a
 * key asked for that has no seal.
 */
bool audit_fits(const struct audit *a);

#endif
