/*
 * scan.h - where entries begin and end in the bytes of a record
 *
 * An entry begins at a line that starts with ---, whatever damage stands
 * above it. The scan knows nothing of YAML: it finds torn entries, bytes
 * that a record may not hold, and whole digest lines, so that one damaged
 * entry never hides another.
 */
#ifndef RODBOOK_SCAN_H
#define RODBOOK_SCAN_H

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
    enum scan_state state;
};

struct scan {
    struct scan_entry *entry;
    size_t n, room;
};

void scan_release(struct scan *scan);

/*
 * scan_read - find the entries of a record
 *
 * Returned
 *   scan       every entry in order, torn ones included; released by the caller
 *   d          damage that the scan can see: [torn] warnings, [bytes] and
 *              [digest-line] errors
 * Result
 *   0, or -1 without memory; a source that cannot be read is said in `d`
 */
int scan_read(struct scan *scan, const struct source *source, struct diag *d);

#endif
