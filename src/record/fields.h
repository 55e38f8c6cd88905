/*
 * fields.h - mappings described by tables, and the values that stand in them
 *
 * Private to the record.
 */
#ifndef RECORD_FIELDS_H
#define RECORD_FIELDS_H

#include "events.h"

#include "rodbook/record.h"

/* Where marks or points gave a name last. */
struct given {
    uint32_t entry; /* index + 1; 0: nowhere */
    struct diag_place place;
};

struct reader {
    struct events e;
    struct record *r;
    struct diag *d;
    const char *key; /* the key whose value is being read */
    uint32_t entry;  /* index of the entry being read */
    struct given *given; /* [given_room] by name */
    size_t given_room;
    length wire[2][3]; /* of the row being read */
    unsigned wired;
    char number[16]; /* the last length read, for the figure that a decimal comma cut in two */
    bool late_job; /* a job entry stood where none belongs: said */
    bool no_memory;
};

#define KEY(word) word, sizeof word - 1

struct field {
    const char *key;
    size_t bytes; /* of the key */
    /* Reads the value whose first event is current, up to its last event. */
    void (*take)(struct reader *in, void *at, const struct field *field);
    size_t offset; /* of the value in the struct that is filled */
    bool needed;  /* those that are stand first in their table */
    const char *const *words; /* of take_word */
    size_t word_count;
};

/* Keys met in a mapping: bit i for field i, and where each key stood. */
#define FIELDS_MOST 32
struct seen {
    uint32_t bits;
    bool faulty; /* no mapping, or a key of it is not known: what seems to be missing may be that key */
    struct diag_place start; /* of the mapping */
    struct diag_place at[FIELDS_MOST];
};

/*
 * fields_read - read a mapping into a struct
 *
 * Given
 *   fields[n]  its keys; the current event is the mapping's start
 *   into       the struct; members whose key is missing stay as they were
 *   what       the mapping's name, for complaints
 * Returned
 *   seen       which keys were there
 * Result
 *   true with the mapping's end as current event; false where the parser stopped.
 *   Unknown keys, keys given twice, keys without a value and missing keys are said.
 */
bool fields_read(struct reader *in, const struct field *fields, size_t n, void *into, const char *what,
    struct seen *seen);

static inline bool
seen_field(const struct seen *seen, size_t i)
{
    return (seen->bits >> i & 1) != 0;
}

/* True where the current event opens a mapping, or a list; else says what was wanted, and skips the node. */
bool wants_mapping(struct reader *in, const char *wanted);
bool wants_list(struct reader *in, const char *wanted);

/* True where the current event is a scalar; else says so, and skips the node. */
bool wants_scalar(struct reader *in, const char *wanted);

/* A complaint at the current event. */
#define complain(in, check, ...) diag_say((in)->d, DIAG_ERROR, events_place(&(in)->e), (check), __VA_ARGS__)

/* Room for one more member of an array of the record; false without memory, noted. */
#define make_room(in, array, room, n)                                                  \
    room_one((in), (void **)&(in)->r->array, &(in)->r->room, (in)->r->n, sizeof *(in)->r->array)
bool room_one(struct reader *in, void **array, size_t *room, size_t n, size_t size);

/* Values. `at` points at the member named in the comment. */
void take_name(struct reader *in, void *at, const struct field *field);   /* uint32_t: a name's number */
void take_text(struct reader *in, void *at, const struct field *field);   /* uint32_t: a text's number */
void take_length(struct reader *in, void *at, const struct field *field); /* length */
void take_distance(struct reader *in, void *at, const struct field *field); /* length above zero */
void take_zero_or_more(struct reader *in, void *at, const struct field *field); /* length */
void take_sigma(struct reader *in, void *at, const struct field *field);  /* double: metres above zero */
void take_word(struct reader *in, void *at, const struct field *field);   /* uint32_t: index into field->words */
void take_count(struct reader *in, void *at, const struct field *field);  /* uint32_t: 1 to 999 999 999 */
void take_truth(struct reader *in, void *at, const struct field *field);  /* bool: true or false */
void take_date(struct reader *in, void *at, const struct field *field);   /* uint32_t: a text's number */
void take_time(struct reader *in, void *at, const struct field *field);   /* uint32_t: a text's number */

/* Lengths that few things have: another unit was meant. docs/record.md, "Lengths", has the limits. */
enum { LIKELY_ANY, LIKELY_DEPTH, LIKELY_FOOTING, LIKELY_ACROSS, LIKELY_HEIGHT, LIKELY_POST, LIKELY_APART, LIKELY_SECTION, LIKELY_NAILED,
    LIKELY_STONE, LIKELY_FILL, LIKELY_SLUMP, LIKELY_TOLERANCE, LIKELY_KINDS };

/* False where a length is refused, true where it is taken: said in both cases where it is beyond the limit. The current event begins
 * with the `n` bytes that it was read from. */
bool is_likely(struct reader *in, const char *key, size_t n, length value, size_t kind);

/* field->word_count is the limit. */
void take_likely(struct reader *in, void *at, const struct field *field);        /* length above zero */
void take_likely_signed(struct reader *in, void *at, const struct field *field); /* length */

/* The parts that several values share. */
bool is_day(const char *text, size_t n); /* 2026-05-02 */
bool name_of_scalar(struct reader *in, uint32_t *name);
const char *name_fault(const char *text, size_t n); /* what keeps it from being a name, in words; NULL: nothing does */
bool length_of_scalar(struct reader *in, length *value);
const char *length_check(enum length_status status); /* the name of the check that a length fell to */
void say_length(struct reader *in, struct diag_place place, const char *key, const char *text, size_t n,
    enum length_status status);

/* The same where nothing of a record is being read. */
void say_length_of(struct diag *d, struct diag_place place, const char *key, const char *text, size_t n,
    enum length_status status, enum length_unit unit);

/* A standard deviation, m. False where it is not above 0, which is for the caller to say; what else is wrong is said. */
bool sigma_of_scalar(struct reader *in, const struct field *field, double *sigma);

#endif
