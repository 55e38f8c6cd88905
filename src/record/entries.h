/*
 * entries.h - the kinds of entry, each read into the record
 *
 * Private to the record. Each take_... reads the value of its kind key; the
 * entry that it belongs to is the reader's.
 */
#ifndef RECORD_ENTRIES_H
#define RECORD_ENTRIES_H

#include "fields.h"

void take_marks(struct reader *in, void *at, const struct field *field);
void take_points(struct reader *in, void *at, const struct field *field);
void take_grade(struct reader *in, void *at, const struct field *field);
void take_levels(struct reader *in, void *at, const struct field *field);
void take_sections(struct reader *in, void *at, const struct field *field);
void take_strike(struct reader *in, void *at, const struct field *field);
void take_plan(struct reader *in, void *at, const struct field *field);
void take_site(struct reader *in, void *at, const struct field *field);
void take_tape(struct reader *in, void *at, const struct field *field);
void take_holes(struct reader *in, void *at, const struct field *field);
void take_concrete(struct reader *in, void *at, const struct field *field);
void take_set(struct reader *in, void *at, const struct field *field);
void take_pad(struct reader *in, void *at, const struct field *field);
void take_seal(struct reader *in, void *at, const struct field *field);

/* A mapping from names to mappings: name: {...}. Calls `one` with the name as current event. */
void each_named(struct reader *in, const char *wanted, bool (*one)(struct reader *in));

/* The name at hand; then the start of its value. False where the parser stopped. */
bool name_then_value(struct reader *in, const char *what, uint32_t *name);

/* True where the entry gives a name for the first time; else that is said. Without memory: false, noted. */
bool is_new_name(struct reader *in, uint32_t name, struct diag_place place);

/* Tape entries that add to others, and whether each row's corrections have what they need. */
void join_tapes(struct record *r, struct diag *d);

/* Strikes, continuations and replacements, once every entry is read. -1 without memory. */
int resolve_rows(struct record *r, struct diag *d);

/* What pads name, once every entry is read. */
void resolve_pads(const struct record *r, struct diag *d);

extern const struct record_extra no_extra; /* what a row without extras says */
extern const char *const on_words[RECORD_ON_COUNT];
extern const char *const point_kind_words[RECORD_POINT_KINDS];

#endif
