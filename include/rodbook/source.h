/*
 * source.h - the bytes of a record, wherever they come from
 *
 * A file is read in pieces, as often as they are wanted, and takes no memory
 * of its own; what comes through a pipe can be read once, and is kept.
 */
#ifndef RODBOOK_SOURCE_H
#define RODBOOK_SOURCE_H

#include "rodbook/diag.h"

#define SOURCE_MOST UINT32_C(0xf0000000) /* bytes; places are kept in 32 bits */

struct source {
    const char *name; /* as the crew gave it; "-" is standard input */
    size_t n;         /* bytes; of a file, as it was when it was opened */
    int fd;           /* of a file; -1 for bytes in memory */
    const char *bytes;
    char *own;        /* bytes that are ours to free */
    void (*told)(void *with, size_t n); /* or NULL: told of every n bytes that were read */
    void *with;
};

/* Open a file, or standard input for "-". Returns 0; or -1, said in `d`. */
int source_open(struct source *s, const char *name, struct diag *d);

/* Bytes that the caller keeps. */
struct source source_of_bytes(const char *bytes, size_t n);

/* A file that the caller has open, n bytes of it; source_close() closes it no less. */
struct source source_of_file(int fd, const char *name, size_t n);

void source_close(struct source *s);

/*
 * source_part - bytes from an offset on
 *
 * Result
 *   how many were put into buffer[n]: fewer only at the end; -1 where the
 *   file cannot be read or has become shorter
 */
ptrdiff_t source_part(const struct source *s, size_t offset, char *buffer, size_t n);

/* A line of a source, found by walking: quick when asked for in order. */
struct source_line {
    size_t offset; /* of the line... */
    uint32_t number; /* ...from 1; 0 before the first call */
};

/* Line `number` without its end, up to room - 1 bytes, closed by a zero. False where there is none. */
bool source_find_line(const struct source *s, struct source_line *at, uint32_t number, char *line, size_t room);

#endif
