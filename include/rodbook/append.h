/*
 * append.h - adding to a record so that nothing acknowledged is ever lost
 *
 * An entry is acknowledged once it has been written whole and the disk has
 * confirmed it. Whatever stops the work before that leaves the record as it
 * was, or with a torn entry at its end that is never used.
 *
 * docs/record.md, "What is promised", says on what file systems.
 */
#ifndef RODBOOK_APPEND_H
#define RODBOOK_APPEND_H

#include "rodbook/record.h"

#include <sys/types.h>

struct append {
    int fd; /* -1: closed */
    const char *file;
    dev_t device;
    ino_t inode;
    struct scan_end at;       /* where the record stopped when it was last seen */
    size_t news;              /* append_begin(): what others added begins here */
    uint32_t others;          /* and so many entries it is */
    bool locked;
    bool dead;                /* the disk did not confirm a write: nothing more is written */
    unsigned char digest[DIGEST_BYTES]; /* of the last entry appended */
};

/*
 * append_open - open a record, and read it under the lock
 *
 * Returned
 *   a          append_close()
 *   r          the record as record_read() gives it; released by the caller
 *   d          its faults; and why it could not be opened
 * Result
 *   0; -1 where the file cannot be opened, locked or read (said), or without
 *   memory. Faults of the record are no failure of this.
 */
int append_open(struct append *a, const char *file, struct record *r, struct diag *d);
void append_close(struct append *a);

/*
 * append_begin - lock the record, and catch up with what others have added
 *
 * Result
 *   0; -1, said in `d` and not locked: another program holds the lock, or
 *   the file was replaced or shortened since it was opened
 *
 * Only new bytes are read.
 */
int append_begin(struct append *a, struct diag *d);
void append_end(struct append *a);

/*
 * append_entry - one entry more, between append_begin() and append_end()
 *
 * Given
 *   body[n]    the lines between `entry: N` and the digest, the last one ended
 *   key        the entry is a seal by this key; else NULL
 * Returned
 *   a->at.entries   its number
 *   a->digest       its digest
 * Result
 *   0 once the disk has confirmed it; -1, said in `d`: then it is not
 *   acknowledged, and what was written of it was cut off again where that could be done
 */
int append_entry(struct append *a, const char *body, size_t n, const struct seal_key *key, struct diag *d);

/* Lock, one entry, unlock. */
int append_one(struct append *a, const char *body, size_t n, const struct seal_key *key, struct diag *d);

/* Bytes that grow. */
struct append_text {
    char *bytes;
    size_t n, room;
};

void append_text_release(struct append_text *t);
bool append_text_add(struct append_text *t, const char *bytes, size_t n);

/* All of a source; false, said in `d`, where it cannot be read or there is no memory. */
bool append_text_read(struct append_text *t, const struct source *source, struct diag *d);

/*
 * append_compose - an entry as it will stand in the file, digest and all
 *
 * Given
 *   at         where the record stops, with its hash
 *   body, n, key   as append_entry()
 * Returned
 *   t          the entry, behind what stood there
 *   *at        where the record then stops
 *   digest     the entry's
 * Result
 *   0, or -1 without memory
 */
int append_compose(struct append_text *t, struct scan_end *at, const char *body, size_t n, const struct seal_key *key,
    unsigned char digest[DIGEST_BYTES]);

/*
 * append_compose_as - the same, with the head that someone wrote by hand
 *
 * Given
 *   head[heads]  the entry's --- line, ended, and what stands above it
 *   body[n]      as append_entry(); a last line without its end is ended
 */
int append_compose_as(struct append_text *t, struct scan_end *at, const char *head, size_t heads, const char *body, size_t n,
    unsigned char digest[DIGEST_BYTES]);

/*
 * append_composed - entries that were composed together, between append_begin() and append_end()
 *
 * Given
 *   text       composed on a->at by append_compose(), one entry behind the other
 *   at, digest as the last append_compose() gave them
 * Result
 *   as append_entry(), for all of them in one write; where it is -1 and they
 *   could not be taken out again, the complaint says which are in the record
 */
int append_composed(struct append *a, const struct append_text *text, const struct scan_end *at,
    const unsigned char digest[DIGEST_BYTES], struct diag *d);

/* Where an empty record stops. */
struct scan_end append_nowhere(void);

/* 0 where nothing has this name yet; -1: said. */
int append_is_free(const char *file, struct diag *d);

/*
 * append_create - a new record, never over an existing file
 *
 * Result
 *   0 once file and directory are on the disk; -1, said in `d`, and no file of that name was made
 */
int append_create(const char *file, const char *bytes, size_t n, struct diag *d);

#endif
