/*
 * writer.h - JSON as it is streamed. Private to the sheets.
 *
 * What is called a hundred thousand times stands here, so that it is taken
 * into its callers.
 */
#ifndef SHEET_WRITER_H
#define SHEET_WRITER_H

#include "csv_out.h"
#include "parts.h"

#include <string.h>

/* A writer that knows whether a comma is due, and gathers what it writes. */
struct writer {
    FILE *out;
    struct csv_out *csv; /* takes what is written, where a table is wanted; NULL where it goes out as it is */
    char bytes[16384];
    size_t used;
    struct length_style style; /* nine decimals of the job's unit */
    double unit_nm;
    bool comma;
    bool no_memory;
};

/* Of a job in that unit; as JSON, or as the one table of it. writer_close(). */
void writer_open(struct writer *w, const struct sheet_table *table, FILE *out, enum length_unit unit);

/* 0, or -1 where memory ran out. */
int writer_close(struct writer *w);

/* What the whole begins with: "rodbook/stakes/1", the job, its unit, and what it was computed from. */
void writer_begin(struct writer *w, const char *schema, const struct record *r);

/* Bytes as they are: for those that the writer has no room for. */
void writer_spill(struct writer *w, const char *bytes, size_t n);

/* Text with JSON's escapes. */
void writer_quote(struct writer *w, const char *text);

static inline void
put_bytes(struct writer *w, const char *bytes, size_t n)
{
    if (n > sizeof w->bytes - w->used) {
        writer_spill(w, bytes, n);
        return;
    }
    memcpy(w->bytes + w->used, bytes, n); // cppcheck-suppress uninitvar ; it does not see put_count() fill them
    w->used += n;
}

static inline void
put(struct writer *w, const char *text)
{
    put_bytes(w, text, strlen(text));
}

/* A key as it is written, with the comma before it, and its bytes. */
#define KEY(name) ",\"" name "\":", sizeof(",\"" name "\":") - 1

static inline void
key(struct writer *w, const char *written, size_t n)
{
    put_bytes(w, written + !w->comma, n - !w->comma);
    w->comma = true;
}

static inline void
text(struct writer *w, const char *written, size_t n, const char *value)
{
    key(w, written, n);
    if (value)
        writer_quote(w, value);
    else
        put(w, "null");
}

static inline void
put_length(struct writer *w, length value)
{
    char out[LENGTH_TEXT];
    size_t n = length_print(out, value, w->style);
    put_bytes(w, out, n);
}

static inline void
number(struct writer *w, const char *written, size_t n, bool known, length value)
{
    key(w, written, n);
    if (known)
        put_length(w, value);
    else
        put(w, "null");
}

/* A standard deviation in m, to the nanometre; below 0: not known. */
static inline void
deviation(struct writer *w, const char *written, size_t n, double sigma)
{
    number(w, written, n, sigma >= 0, sigma >= 0 ? (length)(sigma * (double)LENGTH_M + 0.5) : 0);
}

/* A number of any other kind, nine decimals: statistics, limits, which are no whole nanometres, areas. */
void writer_real(struct writer *w, const char *written, size_t n, bool known, double value);

static inline void
count(struct writer *w, const char *written, size_t n, bool known, uint64_t value)
{
    char out[24];
    key(w, written, n);
    if (known)
        put_bytes(w, out, (size_t)(put_count(out, value) - out));
    else
        put(w, "null");
}

static inline void
truth(struct writer *w, const char *written, size_t n, bool known, bool value)
{
    key(w, written, n);
    put(w, !known ? "null" : value ? "true" : "false");
}

static inline void
open_list(struct writer *w, const char *written, size_t n)
{
    key(w, written, n);
    put(w, "[");
    w->comma = false;
}

static inline void
close_list(struct writer *w)
{
    put(w, "]");
    w->comma = true;
}

/* An object of a list, on a line of its own. */
static inline void
open_object(struct writer *w)
{
    put(w, w->comma ? ",\n{" : "\n{");
    w->comma = false;
}

static inline void
close_object(struct writer *w)
{
    put(w, "}");
    w->comma = true;
}

/* The object of a key. */
static inline void
open_member(struct writer *w, const char *written, size_t n)
{
    key(w, written, n);
    put(w, "{");
    w->comma = false;
}

/* The further reading that settles most: "advice". */
void writer_advice(struct writer *w, const struct job *job);

/* What results were computed from: "record". */
void writer_record(struct writer *w, const struct scan_chain *chain, uint64_t entries);

#endif
