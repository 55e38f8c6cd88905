/*
 * events.h - libyaml's events, one at a time, under this record's rules
 *
 * Private to the record. Anchors, aliases, tags and directives are refused
 * here, nesting is bounded, and marks count from 1.
 */
#ifndef RECORD_EVENTS_H
#define RECORD_EVENTS_H

#include "rodbook/source.h"

#include <stdbool.h>
#include <stddef.h>
#include <yaml.h>

struct events {
    yaml_parser_t parser;
    yaml_event_t event; /* the current one; its scalars are good until the next */
    struct diag *d;
    const struct source *source;
    size_t start, at, end; /* offsets: of the first byte, of the next to hand to the parser, behind the last */
    size_t said;           /* complaints when the current document began */
    uint32_t lines_above; /* lines of the file above the first byte parsed */
    int depth;
    bool live; /* event holds something */
    bool dead; /* the parser met a fault, said; no more events come */
};

/* Begin on the bytes from `at` to `end`, whose first line is line lines_above + 1. 0, or -1 without
 * memory. `e` must stay where it is until events_close(). */
int events_open(struct events *e, const struct source *source, size_t at, size_t end, uint32_t lines_above,
    struct diag *d);
void events_close(struct events *e);

/* Go to the next event; false at a fault (said) or when the stream has ended. */
bool events_next(struct events *e);

/* The current event begins a node: go to its last event. False as events_next(). */
bool events_skip(struct events *e);

struct diag_place events_place(const struct events *e);

/* The current event is a scalar: its text and length. */
static inline const char *
events_text(const struct events *e)
{
    return (const char *)e->event.data.scalar.value;
}

static inline size_t
events_length(const struct events *e)
{
    return e->event.data.scalar.length;
}

/* A value left out, or an empty one in quotes. */
static inline bool
events_is_empty(const struct events *e)
{
    return e->event.type == YAML_SCALAR_EVENT && e->event.data.scalar.length == 0;
}

#endif
