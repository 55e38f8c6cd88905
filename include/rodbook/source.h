/* source.h - the bytes of a record, read once and whole */
#ifndef RODBOOK_SOURCE_H
#define RODBOOK_SOURCE_H

#include "rodbook/diag.h"

struct source {
    const char *name; /* as the crew gave it; "-" is standard input */
    char *bytes;      /* ours; NULL when released */
    size_t n;
};

/* Read a file, or standard input for "-". Returns 0; or -1, said in `d`. */
int source_read(struct source *s, const char *name, struct diag *d);

void source_release(struct source *s);

#endif
