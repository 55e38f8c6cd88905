/* audit.c - what an audit found, for people and as JSON */
#include "rodbook/audit.h"

#include "capture.h"
#include "writer.h"

#include <inttypes.h>

#define SHOWN 20 /* members of a list that people are shown; the JSON has more */

/* ---- words ---- */

/* "entry 5", "entries 5 and 6", "entries 5 to 9" */
static void
put_entries(uint32_t first, uint32_t last, FILE *out)
{
    if (first == last)
        fprintf(out, "entry %" PRIu32, first);
    else
        fprintf(out, "entries %" PRIu32 " %s %" PRIu32, first, first + 1 == last ? "and" : "to", last);
}

static void
put_more(size_t all, size_t shown, FILE *out)
{
    if (all > shown)
        fprintf(out, "  and %zu more\n", all - shown);
}

/* The first members are shown, and what is not as it should be further down as well. */
static bool
is_shown(size_t *shown, bool good)
{
    size_t most = good ? SHOWN : 2 * SHOWN;
    bool room = *shown < most;
    *shown += room;
    return room;
}

/* "by RO, 2026-05-02T09:40:00Z" */
static void
put_who(const struct record *r, uint32_t by, uint32_t time, FILE *out)
{
    if (by == RECORD_NONE)
        fputs("without initials", out);
    else
        fprintf(out, "by %s", names_text(&r->texts, by));
    fprintf(out, ", %s", time == RECORD_NONE ? "without a time" : names_text(&r->texts, time));
}

/* What was added behind a seal. */
static void
put_since(const struct audit *a, uint32_t seal, FILE *out)
{
    fprintf(out, "  since the seal of entry %" PRIu32 ": ", seal);
    if (seal == a->entries) {
        fputs("nothing was added\n", out);
        return;
    }
    put_entries(seal + 1, a->entries, out);
    fputs(seal + 1 == a->entries ? " was added\n" : " were added\n", out);
}

static bool
knows_unit(const struct record *r)
{
    return r->has_job && r->job.least > 0;
}

/* ---- parts ---- */

static void
put_title(const struct audit *a, FILE *out)
{
    const struct record *r = &a->r;
    bool named = r->has_job && r->job.name != RECORD_NONE;
    if (named)
        fprintf(out, "%s", names_text(&r->texts, r->job.name));
    if (named && r->job.place != RECORD_NONE)
        fprintf(out, ", %s", names_text(&r->texts, r->job.place));
    fprintf(out, "%sAudit; %" PRIu32 " %s: %" PRIu32 " with a digest, %" PRIu32 " written by hand", named ? "\n" : "", a->entries,
        a->entries == 1 ? "entry" : "entries", a->chain.digests, a->hand);
    if (a->torn > 0)
        fprintf(out, ", %" PRIu32 " torn", a->torn);
    fputs(a->ask.digests ? "; digests alone\n\n" : "\n\n", out);
}

static void
put_verdict(const struct audit *a, FILE *out)
{
    if (!audit_fits(a))
        fputs("NOT EVERYTHING FITS: see below what is said in capitals.\n", out);
    if (a->chain.digests == 0)
        fprintf(out, "NOTHING CAN BE AUDITED: no entry has a digest, so any of it can be altered without a trace.\n"
                     "%s puts a digest and your signature below it.\n",
            capture_words(out, "Sealing it", "rodbook seal FILE"));
    if (a->chain.digests == 0 || !audit_fits(a))
        return;
    fputs("EVERYTHING FITS: ", out);
    put_entries(1, a->fits_to, out);
    fprintf(out, "%s as the digest of entry %" PRIu32 " has %s.\n", a->fits_to == 1 ? " stands" : " stand", a->fits_to,
        a->fits_to == 1 ? "it" : "them");
}

static void
put_break(const struct audit_break *b, FILE *out)
{
    fprintf(out, "  ALTERED: the digest%s of ", b->first == b->last ? "" : "s");
    put_entries(b->first, b->last, out);
    fprintf(out, " %s not fit what stands above\n", b->first == b->last ? "does" : "do");
    fprintf(out, "    the first byte that is not as it was stands in lines %" PRIu32 " to %" PRIu32, b->above_line + 1, b->line);
    if (b->above > 0)
        fprintf(out, ", between the digests of\n    entry %" PRIu32 ", which fits, and of entry %" PRIu32 "\n", b->above, b->first);
    else
        fprintf(out, ", down to the digest of entry %" PRIu32 "\n", b->first);
    if (b->again > 0)
        fprintf(out, "    the digest of entry %" PRIu32 " fits again: the change was made before that entry was written\n", b->again);
    else
        fprintf(out, "    no digest below fits: the change was made after entry %" PRIu32 " was written\n", b->last);
}

/* What stands below the last digest that fits. */
static void
put_uncovered(const struct audit *a, FILE *out)
{
    if (a->fits_to == a->entries)
        return;
    if (a->fits_to == 0) {
        fputs("  no digest fits, and nothing here is vouched for\n", out);
        return;
    }
    fputs("  ", out);
    put_entries(a->fits_to + 1, a->entries, out);
    bool one = a->fits_to + 1 == a->entries;
    if (a->chain.last_fits)
        fputs(": below the last digest; not sealed, and can be altered without a trace\n", out);
    else
        fprintf(out, ": below the last digest that fits, and nothing vouches for %s\n", one ? "it" : "them");
}

static void
put_digests(const struct audit *a, FILE *out)
{
    const struct scan_chain *c = &a->chain;
    if (c->digests == 0)
        return;
    fputs("\nDigests\n", out);
    if (c->broken == 0)
        fprintf(out, "  %" PRIu32 " digest%s, and %s\n", c->digests, c->digests == 1 ? "" : "s", c->digests == 1 ? "it fits" : "all fit");
    size_t shown = 0;
    for (; shown < a->breaks.n && shown < SHOWN; shown++)
        put_break(&a->breaks.at[shown], out);
    put_more(a->breaks.all, shown, out);
    put_uncovered(a, out);
}

static void
put_seal(const struct audit *a, const struct audit_seal *seal, FILE *out)
{
    char words[DIGEST_SHORT_TEXT];
    digest_short(words, seal->key);
    fprintf(out, "  entry %" PRIu32 ": key %s", seal->entry, words);
    if (!a->ask.digests) {
        fputs(", ", out);
        put_who(&a->r, seal->by, seal->time, out);
    }
    fputs(seal->fits ? "\n" : "\n    ALTERED: what stands above this signature is not what was signed with this key\n", out);
}

static void
put_seals(const struct audit *a, FILE *out)
{
    if (a->chain.digests == 0)
        return;
    fputs("\nSeals\n", out);
    if (a->seals.all == 0)
        fprintf(out, "  none: whoever can write the file could alter it and make its digests anew; a signature shows\n"
                     "  that%s, and so does a digest kept on paper\n",
            capture_words(out, "", " (rodbook seal)"));
    size_t shown = 0;
    for (size_t i = 0; i < a->seals.n; i++)
        if (is_shown(&shown, a->seals.at[i].fits))
            put_seal(a, &a->seals.at[i], out);
    put_more(a->seals.all, shown, out);
    if (a->seals.all > shown && a->last_seal.entry > 0) {
        fputs("  the last that fits:\n", out);
        put_seal(a, &a->last_seal, out);
    }
    if (a->last_seal.entry > 0)
        put_since(a, a->last_seal.entry, out);
}

static void
put_key(const struct audit *a, FILE *out)
{
    char words[DIGEST_SHORT_TEXT];
    if (!a->ask.key)
        return;
    digest_short(words, a->ask.key);
    fprintf(out, "\nSeals by the key asked for, %s\n", words);
    if (a->asked_seals == 0)
        fputs("  NOT FOUND: no seal that fits is by this key\n", out);
    else
        fprintf(out, "  %" PRIu32 " %s\n", a->asked_seals, a->asked_seals == 1 ? "fits" : "fit");
    if (a->asked_seals > 0)
        put_since(a, a->last_asked.entry, out);
    if (a->other_seals > 0)
        fprintf(out, "  %" PRIu32 " %s by another key\n", a->other_seals, a->other_seals == 1 ? "seal is" : "seals are");
}

static void
put_near(const struct audit *a, FILE *out)
{
    unsigned group = (a->paper_digit - 1) / 4 + 1, digit = (a->paper_digit - 1) % 4 + 1;
    fprintf(out, "  NOT FOUND, but all digits except one are those of entry %" PRIu32 ". Look at the paper again:\n", a->paper_entry);
    fprintf(out, "  digit %u of group %u was given as %c, and is %c in the record\n", digit, group, a->paper_has, a->record_has);
}

static void
put_paper(const struct audit *a, FILE *out)
{
    uint32_t added = a->entries - a->paper_entry;
    if (a->paper == AUDIT_NO_PAPER)
        return;
    fputs("\nThe digest on paper\n", out);
    if (a->paper == AUDIT_NEAR)
        put_near(a, out);
    else if (a->paper == AUDIT_NOT_FOUND)
        fputs("  NOT FOUND: no entry has it. The record was cut or altered since the digest was copied, or the\n"
              "  digits were misread, or it is another record's\n",
            out);
    else if (added == 0)
        fprintf(out, "  is that of entry %" PRIu32 ", the last one: since it was copied nothing was cut, altered or added\n",
            a->paper_entry);
    else
        fprintf(out, "  is that of entry %" PRIu32 ": since it was copied nothing down to there was cut or altered, and\n"
                     "  %" PRIu32 " %s added\n",
            a->paper_entry, added, added == 1 ? "entry was" : "entries were");
}

static void
put_covered(uint32_t covered, FILE *out)
{
    if (covered > 0)
        fprintf(out, "covered by the digest of entry %" PRIu32 "\n", covered);
    else
        fputs("covered by no digest that fits\n", out);
}

static void
put_hands(const struct audit *a, FILE *out)
{
    if (a->hand == 0 || a->chain.digests == 0)
        return;
    fputs("\nWritten by hand\n", out);
    size_t shown = 0;
    for (size_t i = 0; i < a->hands.n; i++) {
        if (!is_shown(&shown, a->hands.at[i].covered > 0))
            continue;
        fputs("  ", out);
        put_entries(a->hands.at[i].first, a->hands.at[i].last, out);
        fputs(": ", out);
        put_covered(a->hands.at[i].covered, out);
    }
    put_more(a->hands.all, shown, out);
}

static void
put_torn(const struct audit *a, FILE *out)
{
    if (a->torn == 0)
        return;
    fputs("\nTorn entries, never used\n", out);
    size_t shown = 0;
    for (size_t i = 0; i < a->torns.n; i++) {
        const struct audit_torn *t = &a->torns.at[i];
        if (!is_shown(&shown, t->covered > 0))
            continue;
        fprintf(out, "  %sentry %" PRIu32 ", line %" PRIu32 ": cut off in writing; ", t->covered > 0 ? "" : "TORN: ", t->entry, t->line);
        put_covered(t->covered, out);
    }
    put_more(a->torns.all, shown, out);
    if (a->uncovered_torn > 0)
        fputs("  look that nothing is missing that was confirmed when it was booked; what was not, book again\n", out);
}

/* ---- struck rows ---- */

/* The readings of a row; where the job entry is faulty there is no saying what they mean. */
static void
sight_words(struct remark *words, const struct record_row *row, bool ahead, bool bs, const struct length_style *style)
{
    char text[LENGTH_TEXT];
    if (!style) {
        remark_add(words, "readings of no known unit");
        return;
    }
    if (ahead && (row->flags & (RECORD_HAS_IS | RECORD_HAS_FS))) {
        length_print(text, row->ahead, *style);
        remark_add(words, "%s %s", row->flags & RECORD_HAS_IS ? "IS" : "FS", text);
    }
    if (bs && (row->flags & RECORD_HAS_BS)) {
        length_print(text, row->bs, *style);
        remark_add(words, "BS %s", text);
    }
}

/* The row, and the sights of it that this strike strikes. */
static void
put_struck_row(const struct audit *a, const struct audit_struck *s, const struct length_style *style, FILE *out)
{
    const struct record *r = &a->r;
    const struct record_extra *x = record_extra(r, s->row);
    uint32_t number = (uint32_t)(s->strike - r->strike);
    struct remark words = { 0 };
    sight_words(&words, s->row, x->strike_ahead == number, x->strike_bs == number, style);
    fprintf(out, "  row %" PRIu32 " of entry %" PRIu32 ": %s", s->strike->target_row, s->strike->target_entry,
        names_text(&r->names, s->row->at));
    if (s->row->on != RECORD_ON_MARK)
        fprintf(out, " %s", record_on_word((enum record_on)s->row->on));
    fprintf(out, "; %s\n", words.text);
}

static void
put_struck_section(const struct audit *a, const struct audit_struck *s, const struct length_style *style, FILE *out)
{
    char rise[LENGTH_TEXT + 1] = "of no known unit";
    if (style)
        signed_length(rise, s->section->rise, *style);
    fprintf(out, "  row %" PRIu32 " of entry %" PRIu32 ": section %s to %s; rise %s\n", s->strike->target_row,
        s->strike->target_entry, names_text(&a->r.names, s->section->from), names_text(&a->r.names, s->section->to), rise);
}

static void
put_struck_taped(const struct audit *a, const struct audit_struck *s, const struct length_style *style, FILE *out)
{
    char read[LENGTH_TEXT] = "in no known unit";
    if (style)
        length_print(read, s->taped->read, *style);
    fprintf(out, "  row %" PRIu32 " of entry %" PRIu32 ": taped %s to %s, %s\n", s->strike->target_row, s->strike->target_entry,
        names_text(&a->r.names, s->taped->from), names_text(&a->r.names, s->taped->to), read);
}

static void
put_again(const struct audit *a, const struct audit_struck *s, const struct length_style *style, FILE *out)
{
    for (size_t i = s->first; i < s->first + s->count; i++) {
        const struct record_row *row = &a->r.row[a->again[i]];
        struct remark words = { 0 };
        sight_words(&words, row, true, true, style);
        fprintf(out, "    row %" PRIu32 " of entry %" PRIu32 " stands for it: %s\n", record_row_number(&a->r, a->again[i]),
            record_row_entry(&a->r, a->again[i]) + 1, words.text);
    }
}

static void
put_struck(const struct audit *a, FILE *out)
{
    const struct record *r = &a->r;
    struct length_style known = sheet_style_of(r).elevation;
    const struct length_style *style = knows_unit(r) ? &known : NULL;
    if (a->struck.n == 0)
        return;
    fputs("\nStruck\n", out);
    size_t shown = 0;
    for (; shown < a->struck.n && shown < SHOWN; shown++) {
        const struct audit_struck *s = &a->struck.at[shown];
        if (s->row)
            put_struck_row(a, s, style, out);
        else if (s->section)
            put_struck_section(a, s, style, out);
        else if (s->taped)
            put_struck_taped(a, s, style, out);
        else
            continue; /* it strikes nothing: said */
        fprintf(out, "    struck in entry %" PRIu32 " ", s->strike->entry + 1);
        put_who(r, r->entry[s->strike->entry].by, r->entry[s->strike->entry].time, out);
        fprintf(out, ": %s\n", names_text(&r->texts, s->strike->reason));
        put_again(a, s, style, out);
    }
    put_more(a->struck.all, shown, out);
}

/* ---- the rest ---- */

static void
put_faults(const struct audit *a, FILE *out)
{
    size_t others = a->errors - a->damage;
    if (a->errors == 0)
        return;
    fputs("\nFaults\n", out);
    if (a->damage > 0)
        fprintf(out, "  DAMAGED: %zu %s of damaged text or numbers, each told with its line\n", a->damage,
            a->damage == 1 ? "complaint" : "complaints");
    if (others > 0)
        fprintf(out, "  %zu %s in what the entries say, which no digest judges%s\n", others, others == 1 ? "error" : "errors",
            capture_words(out, "", "; rodbook check tells them"));
}

static void
put_last_digest(const struct audit *a, FILE *out)
{
    char words[DIGEST_SHORT_TEXT];
    const struct scan_chain *c = &a->chain;
    if (c->digests == 0)
        return;
    digest_short(words, c->digest);
    if (c->last_fits)
        fprintf(out, "\nThe last digest, to be copied on paper with the date:\n\n  %" PRIu32 ": %s\n", c->last, words);
    else
        fprintf(out, "\nThe last digest, as the record is now (its own line has another):\n\n  %" PRIu32 ": %s\n", c->last, words);
    fputs(capture_words(out, "", "\nWhat this proves, and what it does not, stands in docs/audit.md.\n"), out);
}

void
sheet_audit(const struct audit *a, FILE *out)
{
    put_title(a, out);
    put_verdict(a, out);
    put_key(a, out);
    put_paper(a, out);
    put_digests(a, out);
    put_seals(a, out);
    put_hands(a, out);
    put_torn(a, out);
    put_struck(a, out);
    put_faults(a, out);
    put_last_digest(a, out);
}

/* ---- JSON ---- */

static void
write_digits(struct writer *w, const char *written, size_t n, bool known, const unsigned char bytes[DIGEST_BYTES])
{
    char digits[DIGEST_HEX + 1];
    digest_hex(digits, bytes, DIGEST_BYTES);
    text(w, written, n, known ? digits : NULL);
}

static void
write_text(struct writer *w, const char *written, size_t n, const struct record *r, uint32_t number)
{
    text(w, written, n, number == RECORD_NONE ? NULL : names_text(&r->texts, number));
}

static void
write_breaks(struct writer *w, const struct audit *a)
{
    open_list(w, KEY("breaks"));
    for (size_t i = 0; i < a->breaks.n; i++) {
        const struct audit_break *b = &a->breaks.at[i];
        open_object(w);
        count(w, KEY("first"), true, b->first);
        count(w, KEY("last"), true, b->last);
        count(w, KEY("from_line"), true, (uint64_t)b->above_line + 1);
        count(w, KEY("to_line"), true, b->line);
        count(w, KEY("fits_above"), b->above > 0, b->above);
        count(w, KEY("fits_again"), b->again > 0, b->again);
        close_object(w);
    }
    close_list(w);
}

static void
write_seals(struct writer *w, const struct audit *a)
{
    open_list(w, KEY("seals"));
    for (size_t i = 0; i < a->seals.n; i++) {
        const struct audit_seal *s = &a->seals.at[i];
        open_object(w);
        count(w, KEY("entry"), true, s->entry);
        write_digits(w, KEY("key"), true, s->key);
        truth(w, KEY("fits"), true, s->fits);
        write_text(w, KEY("by"), &a->r, s->by);
        write_text(w, KEY("time"), &a->r, s->time);
        close_object(w);
    }
    close_list(w);
    count(w, KEY("last_seal"), a->last_seal.entry > 0, a->last_seal.entry);
}

static void
write_spans(struct writer *w, const struct audit *a)
{
    open_list(w, KEY("hand_written"));
    for (size_t i = 0; i < a->hands.n; i++) {
        open_object(w);
        count(w, KEY("first"), true, a->hands.at[i].first);
        count(w, KEY("last"), true, a->hands.at[i].last);
        count(w, KEY("covered"), a->hands.at[i].covered > 0, a->hands.at[i].covered);
        close_object(w);
    }
    close_list(w);
    open_list(w, KEY("torn"));
    for (size_t i = 0; i < a->torns.n; i++) {
        open_object(w);
        count(w, KEY("entry"), true, a->torns.at[i].entry);
        count(w, KEY("line"), true, a->torns.at[i].line);
        count(w, KEY("covered"), a->torns.at[i].covered > 0, a->torns.at[i].covered);
        close_object(w);
    }
    close_list(w);
}

/* A name, or null where damage left none. */
static void
write_name(struct writer *w, const char *written, size_t n, bool known, const struct record *r, uint32_t number)
{
    const char *name = known ? names_text(&r->names, number) : "";
    text(w, written, n, name[0] ? name : NULL);
}

/* The row and its struck sights; of a section, its ends and its rise; of a taped length, its ends and what was read. */
static void
write_sights(struct writer *w, const struct record *r, const struct audit_struck *s)
{
    const struct record_row *row = s->row;
    const struct record_section *section = s->section;
    const struct record_taped *taped = s->taped;
    const struct record_extra *x = row && knows_unit(r) ? record_extra(r, row) : NULL;
    uint32_t number_of = (uint32_t)(s->strike - r->strike);
    bool ahead = x && x->strike_ahead == number_of, bs = x && x->strike_bs == number_of;
    write_name(w, KEY("at"), row != NULL, r, row ? row->at : 0);
    text(w, KEY("on"), row ? record_on_word((enum record_on)row->on) : NULL);
    number(w, KEY("bs"), bs, bs ? row->bs : 0);
    number(w, KEY("is"), ahead && (row->flags & RECORD_HAS_IS), ahead ? row->ahead : 0);
    number(w, KEY("fs"), ahead && (row->flags & RECORD_HAS_FS), ahead ? row->ahead : 0);
    bool ends = section || taped;
    write_name(w, KEY("from"), ends, r, section ? section->from : taped ? taped->from : 0);
    write_name(w, KEY("to"), ends, r, section ? section->to : taped ? taped->to : 0);
    number(w, KEY("rise"), section && knows_unit(r), section ? section->rise : 0);
    number(w, KEY("taped"), taped && knows_unit(r), taped ? taped->read : 0);
}

static void
write_struck(struct writer *w, const struct audit *a)
{
    const struct record *r = &a->r;
    open_list(w, KEY("struck"));
    for (size_t i = 0; i < a->struck.n; i++) {
        const struct audit_struck *s = &a->struck.at[i];
        if (!s->row && !s->section && !s->taped)
            continue;
        open_object(w);
        count(w, KEY("entry"), true, s->strike->target_entry);
        count(w, KEY("row"), true, s->strike->target_row);
        write_sights(w, r, s);
        count(w, KEY("strike"), true, (uint64_t)s->strike->entry + 1);
        write_text(w, KEY("by"), r, r->entry[s->strike->entry].by);
        write_text(w, KEY("time"), r, r->entry[s->strike->entry].time);
        write_text(w, KEY("reason"), r, s->strike->reason);
        open_list(w, KEY("again"));
        for (size_t k = s->first; k < s->first + s->count; k++) {
            open_object(w);
            count(w, KEY("entry"), true, (uint64_t)record_row_entry(r, a->again[k]) + 1);
            count(w, KEY("row"), true, record_row_number(r, a->again[k]));
            close_object(w);
        }
        close_list(w);
        close_object(w);
    }
    close_list(w);
}

/* What was asked on the command line; null where it was not. */
static void
write_asked(struct writer *w, const struct audit *a)
{
    static const char *const words[] = { NULL, "found", "one digit off", "not found" };
    bool placed = a->paper == AUDIT_FOUND || a->paper == AUDIT_NEAR;
    open_member(w, KEY("paper"));
    text(w, KEY("digits"), a->ask.paper);
    text(w, KEY("result"), words[a->paper]);
    count(w, KEY("entry"), placed, a->paper_entry);
    count(w, KEY("added"), a->paper == AUDIT_FOUND, (uint64_t)a->entries - a->paper_entry);
    count(w, KEY("digit"), a->paper == AUDIT_NEAR, a->paper_digit);
    close_object(w);
    open_member(w, KEY("key"));
    write_digits(w, KEY("key"), a->ask.key != NULL, a->ask.key ? a->ask.key : a->chain.digest);
    count(w, KEY("seals"), a->ask.key != NULL, a->asked_seals);
    count(w, KEY("last_seal"), a->asked_seals > 0, a->last_asked.entry);
    count(w, KEY("other_seals"), a->ask.key != NULL, a->other_seals);
    close_object(w);
}

int
sheet_audit_data(const struct audit *a, const struct sheet_table *table, FILE *out)
{
    const struct record *r = &a->r;
    struct writer w;
    bool named = r->has_job && r->job.name != RECORD_NONE;
    writer_open(&w, table, out, r->job.unit);
    put(&w, "{");
    text(&w, KEY("schema"), "rodbook/audit/1");
    text(&w, KEY("job"), named ? names_text(&r->texts, r->job.name) : NULL);
    text(&w, KEY("unit"), knows_unit(r) ? length_unit_word(r->job.unit) : NULL);
    writer_record(&w, &a->chain, a->entries);
    truth(&w, KEY("fits"), a->chain.digests > 0 || !audit_fits(a), audit_fits(a));
    count(&w, KEY("digests"), true, a->chain.digests);
    count(&w, KEY("broken"), true, a->chain.broken);
    count(&w, KEY("fits_to"), a->fits_to > 0, a->fits_to);
    write_breaks(&w, a);
    write_seals(&w, a);
    write_spans(&w, a);
    write_struck(&w, a);
    count(&w, KEY("errors"), true, a->errors);
    count(&w, KEY("damage"), true, a->damage);
    write_asked(&w, a);
    put(&w, "}\n");
    return writer_close(&w);
}
