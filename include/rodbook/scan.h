/*
 * scan.h - where entries begin and end in the bytes of a record, and whether its digests fit
 *
 * An entry begins at a line that starts with ---, whatever damage stands
 * above it. The scan knows nothing of YAML: it finds torn entries, bytes
 * that a record may not hold, whole digest lines and signatures, so that one
 * damaged entry never hides another.
 */
#ifndef RODBOOK_SCAN_H
#define RODBOOK_SCAN_H

#include "rodbook/digest.h"
#include "rodbook/seal.h"
#include "rodbook/source.h"

enum scan_state {
    SCAN_HAND,   /* neither `entry:` nor a digest: written by hand */
    SCAN_SEALED, /* begins with `entry:` and ends in a whole digest line */
    SCAN_TORN,   /* begins with `entry:`, no whole digest line; or cut before its first word ended */
    SCAN_DAMAGED /* holds bytes that a record may not hold; said */
};

struct scan_entry {
    size_t start;  /* byte offset of its first line */
    size_t end;    /* byte behind its last line; of a sealed entry, behind its digest line */
    uint32_t line; /* its first line, from 1 */
    uint8_t state; /* enum scan_state */
    bool broken;   /* its digest is not that of what stands above */
    bool stray;    /* a digest line stands in it, and no number: said */
    uint8_t seal;  /* enum seal_state */
};

/* An entry whose end has been met, with what only an audit asks for. */
struct scan_found {
    struct scan_entry entry;
    uint32_t number;                    /* from 1 */
    uint32_t digest_line;               /* of a sealed entry: the number of its digest line... */
    unsigned char digest[DIGEST_BYTES]; /* ...and the digest of all above that line, as it is and not as it is written */
    unsigned char key[SEAL_KEY_BYTES];  /* of one that is signed */
};

/* What the digests of a record say together. Entries by number; 0 is none. */
struct scan_chain {
    uint32_t digests;      /* entries with a whole digest line... */
    uint32_t broken;       /* ...and those of them that do not fit */
    uint32_t first_broken; /* the first that does not fit */
    uint32_t fits_before;  /* the last before it that does */
    uint32_t fits_again;   /* the first behind it that does: what was changed was changed before that was written */
    uint32_t first_line, before_line; /* the digest lines of the first two */
    uint32_t last;         /* the last entry with a digest... */
    bool last_fits;
    unsigned char digest[DIGEST_BYTES]; /* ...and what it should be */
    uint32_t seals, bad_seals;          /* signatures, and those that do not fit */
    uint32_t last_seal;                 /* the last entry whose signature fits */
    uint32_t torn_below;                /* torn entries with no digest below them */
};

/* Where a record stops: what an appender has to know. */
struct scan_end {
    struct digest hash;    /* of all its bytes; where it was asked for */
    size_t size;
    uint32_t entries, lines;
    bool ended;            /* the last byte is a line feed, or there is none */
    bool digest_cut;       /* the last line is a whole digest but for its line feed */
};

/* Takes one entry; not 0 to stop. */
typedef int scan_take(void *with, const struct scan_found *found);

/*
 * scan_walk - walk the entries of a record, in memory that does not grow with it
 *
 * Given
 *   take, with  called for each entry in order, torn ones included
 *   hash_all    end->hash is wanted
 * Returned
 *   chain, end
 *   d          damage that the scan can see: [torn], [digest] and [signature]
 *              warnings, [bytes], [digest-line] and [digest-form] errors
 * Result
 *   0; -1 without memory; else what `take` returned. A source that cannot be
 *   read is said in `d`.
 */
int scan_walk(const struct source *source, struct diag *d, scan_take *take, void *with, bool hash_all,
    struct scan_chain *chain, struct scan_end *end);

/*
 * scan_go_on - walk what was added to a record since its end was last met
 *
 * Given
 *   source      the record as it is now
 *   end         where it stopped, with its hash
 * Returned
 *   *end        where it stops now
 *   take        is called for the entries added
 * Result
 *   as scan_walk()
 */
int scan_go_on(const struct source *source, struct diag *d, scan_take *take, void *with, struct scan_end *end);

struct scan {
    struct scan_entry *entry;
    size_t n, room;
    struct scan_chain chain;
    struct scan_end end;
};

void scan_release(struct scan *scan);

/* One entry more, for a scan_take of one's own. 0, or -1 without memory. */
int scan_keep(struct scan *scan, const struct scan_found *found);

/*
 * scan_read - every entry of a record at once
 *
 * Returned
 *   scan       released by the caller
 * Result
 *   as scan_walk()
 */
int scan_read(struct scan *scan, const struct source *source, bool hash_all, struct diag *d);

#endif
