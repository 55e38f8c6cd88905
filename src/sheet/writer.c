#include "writer.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>

void
writer_open(struct writer *w, const struct sheet_table *table, FILE *out, enum length_unit unit)
{
    *w = (struct writer){ .out = out, .style = { unit == LENGTH_BARE_M ? LENGTH_AS_M : LENGTH_AS_FT, 9, 0 },
        .unit_nm = (double)length_whole(unit) };
    if (!table)
        return;
    w->csv = malloc(sizeof *w->csv);
    w->no_memory = w->csv == NULL;
    if (w->csv)
        csv_out_open(w->csv, table, out);
}

static void
hand_on(struct writer *w, const char *bytes, size_t n)
{
    if (w->csv)
        csv_out_take(w->csv, bytes, n);
    else if (!w->no_memory)
        fwrite(bytes, 1, n, w->out);
}

int
writer_close(struct writer *w)
{
    hand_on(w, w->bytes, w->used);
    if (w->csv && csv_out_close(w->csv) != 0)
        w->no_memory = true;
    free(w->csv);
    return w->no_memory ? -1 : 0;
}

void
writer_spill(struct writer *w, const char *bytes, size_t n)
{
    hand_on(w, w->bytes, w->used);
    w->used = 0;
    if (n > sizeof w->bytes) {
        hand_on(w, bytes, n);
        return;
    }
    memcpy(w->bytes, bytes, n);
    w->used = n;
}

/* Jansson's own escapes for whatever is not plain ASCII. */
void
writer_quote(struct writer *w, const char *value)
{
    const char *p = value;
    while (*p >= ' ' && *p != '"' && *p != '\\' && *p != 0x7f)
        p++;
    if (*p == '\0') {
        put(w, "\"");
        put_bytes(w, value, (size_t)(p - value));
        put(w, "\"");
        return;
    }
    json_t *string = json_string(value);
    char *quoted = string ? json_dumps(string, JSON_ENCODE_ANY) : NULL;
    if (quoted)
        put(w, quoted);
    w->no_memory |= quoted == NULL;
    free(quoted);
    json_decref(string);
}

void
writer_real(struct writer *w, const char *written, size_t n, bool known, double value)
{
    char out[340]; /* the largest double has 309 digits before its point */
    key(w, written, n);
    if (!known || !isfinite(value)) {
        put(w, "null");
        return;
    }
    snprintf(out, sizeof out, "%.9f", value);
    put(w, out[0] == '-' && !strpbrk(out, "123456789") ? out + 1 : out); /* no 0 has a sign */
}

void
writer_record(struct writer *w, const struct scan_chain *chain, uint64_t entries)
{
    char digest[DIGEST_HEX + 1];
    digest_hex(digest, chain->digest, DIGEST_BYTES);
    open_member(w, KEY("record"));
    count(w, KEY("entries"), true, entries);
    text(w, KEY("digest"), chain->digests > 0 ? digest : NULL);
    count(w, KEY("digest_entry"), chain->digests > 0, chain->last);
    truth(w, KEY("altered"), chain->digests > 0, chain->broken > 0 || chain->bad_seals > 0);
    close_object(w);
}

void
writer_begin(struct writer *w, const char *schema, const struct record *r)
{
    put(w, "{");
    text(w, KEY("schema"), schema);
    text(w, KEY("job"), names_text(&r->texts, r->job.name));
    text(w, KEY("unit"), length_unit_word(r->job.unit));
    writer_record(w, &r->chain, r->entries);
}
