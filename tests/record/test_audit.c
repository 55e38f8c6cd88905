/*
 * test_audit.c - what an audit finds, and what it cannot find
 *
 * The demo record is altered in every way that one hand can: each byte, each
 * entry. What must be found is counted, and what was missed is named.
 */
#include "../demo.h"
#include "../sealed.h"

#include "rodbook/audit.h"

#include <stdio.h>
#include <stdlib.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* ---- auditing ---- */

static struct audit
audit_of(const char *bytes, size_t n, const struct audit_ask *ask)
{
    struct source source = source_of_bytes(bytes, n);
    struct diag d = { 0 };
    struct audit a;
    assert_int_equal(audit_read(&a, &source, ask, &d), 0);
    assert_false(a.unread);
    diag_release(&d);
    return a;
}

static const struct audit_ask whole = { 0 }, digests = { .digests = true };

static bool
fits(const char *bytes, size_t n, const struct audit_ask *ask)
{
    struct audit a = audit_of(bytes, n, ask);
    bool good = audit_fits(&a);
    audit_release(&a);
    return good;
}

/* The digest of an entry of the demo record, as it is copied on paper: the first 24 digits. */
static struct audit_ask
paper_of(char digits[DIGEST_HEX + 1], uint32_t last, const struct seal_key *key)
{
    struct scan_end end;
    struct append_text t = demo_record(last, key, 0, &end);
    const char *line = t.bytes + t.n - DIGEST_HEX - 1;
    memcpy(digits, line, DIGEST_SHORT_HEX);
    digits[DIGEST_SHORT_HEX] = '\0';
    append_text_release(&t);
    return (struct audit_ask){ .paper = digits };
}

static struct seal_key crew, other;
static struct append_text demo;
static struct scan_end demo_end;

static int
make_demo(void **state)
{
    (void)state;
    crew = demo_key("the crew's own");
    other = demo_key("somebody else's");
    demo = demo_record(DEMO_LAST, &crew, 0, &demo_end);
    return demo_end.entries == DEMO_LAST ? 0 : -1;
}

static int
drop_demo(void **state)
{
    (void)state;
    append_text_release(&demo);
    return 0;
}

static void
the_demo_record_fits(void **state)
{
    struct audit a = audit_of(demo.bytes, demo.n, &whole);
    (void)state;
    assert_true(audit_fits(&a));
    assert_int_equal(a.errors, 0);
    assert_int_equal(a.entries, DEMO_LAST);
    assert_int_equal(a.chain.digests, 9);
    assert_int_equal(a.fits_to, DEMO_LAST);
    assert_int_equal(a.hand, 3);
    assert_int_equal(a.uncovered_hand, 0);
    assert_int_equal(a.hands.n, 2);
    assert_int_equal(a.hands.at[0].first, 1);
    assert_int_equal(a.hands.at[0].last, 2);
    assert_int_equal(a.hands.at[0].covered, 3);
    assert_int_equal(a.hands.at[1].covered, 11);
    assert_int_equal(a.seals.n, 2);
    assert_int_equal(a.seals.at[0].entry, DEMO_FIRST_SEAL);
    assert_memory_equal(a.seals.at[0].key, crew.key, SEAL_KEY_BYTES);
    assert_string_equal(names_text(&a.r.texts, a.seals.at[0].by), "RO");
    assert_string_equal(names_text(&a.r.texts, a.last_seal.by), "LM");
    assert_string_equal(names_text(&a.r.texts, a.last_seal.time), "2026-05-03T16:58:00Z");
    assert_int_equal(a.last_seal.entry, DEMO_LAST);
    audit_release(&a);
}

static void
struck_rows_are_told_with_what_stands_for_them(void **state)
{
    struct audit a = audit_of(demo.bytes, demo.n, &whole);
    (void)state;
    assert_int_equal(a.struck.n, 2);
    const struct audit_struck *s = &a.struck.at[0];
    assert_non_null(s->row);
    assert_string_equal(names_text(&a.r.names, s->row->at), "A");
    assert_int_equal(s->row->ahead, 1307000000);
    assert_int_equal(s->strike->entry + 1, 6);
    assert_int_equal(s->count, 1);
    assert_int_equal(a.r.row[a.again[s->first]].ahead, 1314000000);
    assert_int_equal(record_row_entry(&a.r, a.again[s->first]) + 1, 7);
    assert_int_equal(record_row_number(&a.r, a.again[s->first]), 1);
    assert_null(a.struck.at[1].row);
    assert_non_null(a.struck.at[1].section);
    assert_int_equal(a.struck.at[1].section->rise, 1275000000);
    assert_int_equal(a.struck.at[1].count, 0);
    audit_release(&a);
}

/* A row of two sights, each struck by itself, and one row in place of both. */
static void
one_row_may_stand_for_two_strikes(void **state)
{
    static const char text[] = "---\njob: Lamb field\nunit: m\nleast: 0.001\n---\nmarks: {BM1: {elevation: 48.375}}\n"
        "---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.482}\n    - {at: TP1, fs: 0.884, bs: 1.266}\n"
        "---\nstrike: {entry: 3, row: 2, sight: fs, reason: slipped}\n"
        "---\nstrike: {entry: 3, row: 2, sight: bs, reason: slipped again}\n"
        "---\nlevels:\n  continues: 3\n  readings:\n    - {at: TP1, fs: 0.881, bs: 1.263, for: {entry: 3, row: 2}}\n";
    struct audit a = audit_of(text, sizeof text - 1, &whole);
    (void)state;
    assert_int_equal(a.errors, 0);
    assert_int_equal(a.struck.n, 2);
    for (size_t i = 0; i < 2; i++) {
        assert_int_equal(a.struck.at[i].count, 1);
        assert_int_equal(a.again[a.struck.at[i].first], 2);
        assert_ptr_equal(a.struck.at[i].row, &a.r.row[1]);
    }
    audit_release(&a);
}

/* ---- every byte ---- */

static size_t
line_at(const char *bytes, size_t offset)
{
    size_t line = 1;
    for (size_t i = 0; i < offset; i++)
        line += bytes[i] == '\n';
    return line;
}

struct tally {
    size_t tried, missed, misplaced;
};

static void
tell(const struct tally *t, const char *what)
{
    printf("%s: %zu tried, %zu missed, %zu misplaced\n", what, t->tried, t->missed, t->misplaced);
    if (t->missed > 0 || t->misplaced > 0)
        fail_msg("%s: %zu of %zu missed, %zu misplaced", what, t->missed, t->tried, t->misplaced);
}

/* The first byte that is not the demo record's. */
static size_t
first_difference(const char *bytes, size_t n)
{
    size_t i = 0;
    while (i < n && i < demo.n && bytes[i] == demo.bytes[i])
        i++;
    return i;
}

enum ways { WHOLE, WHOLE_AND_DIGESTS };

/* An alteration is found, and placed. */
static void
must_be_found(struct tally *t, const char *bytes, size_t n, enum ways ways, const char *what)
{
    size_t offset = first_difference(bytes, n), line = line_at(bytes, offset);
    struct audit a = audit_of(bytes, n, &whole);
    bool found = !audit_fits(&a);
    t->tried++;
    if (!found || (ways == WHOLE_AND_DIGESTS && fits(bytes, n, &digests))) {
        t->missed++;
        if (t->missed <= 10)
            print_error("%s at byte %zu, line %zu, is not found%s\n", what, offset, line, found ? " by digests alone" : "");
    }
    if (a.breaks.n > 0 && !(a.breaks.at[0].above_line < line && line <= a.breaks.at[0].line)) {
        t->misplaced++;
        if (t->misplaced <= 10)
            print_error("%s at byte %zu, line %zu, is placed in lines %u to %u\n", what, offset, line,
                a.breaks.at[0].above_line + 1, a.breaks.at[0].line);
    }
    audit_release(&a);
}

/* Where the entries of the demo record begin; start[DEMO_LAST] is its end. */
static void
find_entries(size_t start[DEMO_LAST + 1])
{
    size_t n = 0;
    for (size_t i = 0; i + 4 <= demo.n; i++)
        if (memcmp(demo.bytes + i, "---\n", 4) == 0 && (i == 0 || demo.bytes[i - 1] == '\n'))
            start[n++] = i;
    assert_int_equal(n, DEMO_LAST);
    start[n] = demo.n;
}

/* Substitutes for a byte: one bit another, a line end, and what YAML and the scan take for a sign. */
static char
substitute(char byte, int which)
{
    static const char signs[] = "\n#-:";
    char c = which == 0 ? (char)(byte ^ 1) : signs[which - 1];
    return c == byte ? '~' : c;
}

static void
every_byte_that_is_altered_is_found(void **state)
{
    struct tally t = { 0 };
    char *bytes = malloc(demo.n);
    (void)state;
    assert_non_null(bytes);
    memcpy(bytes, demo.bytes, demo.n);
    for (size_t i = 0; i < demo.n; i++)
        for (int which = 0; which < 3; which++) {
            bytes[i] = substitute(demo.bytes[i], which);
            must_be_found(&t, bytes, demo.n, which == 0 ? WHOLE_AND_DIGESTS : WHOLE, "a byte altered");
            bytes[i] = demo.bytes[i];
        }
    assert_int_equal(t.tried, 3 * demo.n);
    tell(&t, "bytes altered");
    free(bytes);
}

/* Where an entry is told from another: --- and entry:, the signature's end, the digest; all 255 other bytes. */
static void
every_other_byte_at_the_seams_is_found(void **state)
{
    struct tally t = { 0 };
    char *bytes = malloc(demo.n);
    size_t start[DEMO_LAST + 1];
    (void)state;
    assert_non_null(bytes);
    find_entries(start);
    memcpy(bytes, demo.bytes, demo.n);
    const size_t begin = start[DEMO_LAST - 1], digest = demo.n - DIGEST_HEX - strlen("digest: \n");
    const struct {
        size_t from, to;
    } seam[] = { { begin - 3, begin + strlen("---\nentry: 12\n") }, { digest - 2, digest + strlen("digest: 00") },
        { demo.n - 3, demo.n } };
    for (size_t s = 0; s < COUNT(seam); s++)
        for (size_t i = seam[s].from; i < seam[s].to; i++) {
            for (int c = 0; c < 256; c++) {
                bytes[i] = (char)c;
                if (bytes[i] != demo.bytes[i])
                    must_be_found(&t, bytes, demo.n, WHOLE_AND_DIGESTS, "a byte altered");
            }
            bytes[i] = demo.bytes[i];
        }
    assert_int_equal(t.tried, 255 * (3 + 14 + 2 + 10 + 3));
    tell(&t, "bytes altered at the seams");
    free(bytes);
}

static void
every_byte_taken_out_or_put_in_is_found(void **state)
{
    struct tally out = { 0 }, in = { 0 };
    char *bytes = malloc(demo.n + 1);
    static const char signs[] = "\nx";
    (void)state;
    assert_non_null(bytes);
    for (size_t i = 0; i < demo.n; i++) {
        memcpy(bytes, demo.bytes, i);
        memcpy(bytes + i, demo.bytes + i + 1, demo.n - i - 1);
        must_be_found(&out, bytes, demo.n - 1, WHOLE, "a byte taken out");
        memcpy(bytes + i + 1, demo.bytes + i, demo.n - i);
        for (size_t k = 0; k < sizeof signs - 1; k++) {
            bytes[i] = signs[k];
            if (first_difference(bytes, demo.n + 1) < demo.n) /* a line feed below the last digest alters nothing */
                must_be_found(&in, bytes, demo.n + 1, WHOLE, "a byte put in");
        }
    }
    tell(&out, "bytes taken out");
    tell(&in, "bytes put in");
    free(bytes);
}

/* ---- every entry ---- */

static char *
put_entry(char *p, const size_t start[], size_t i)
{
    memcpy(p, demo.bytes + start[i], start[i + 1] - start[i]);
    return p + (start[i + 1] - start[i]);
}

static void
every_entry_taken_out_exchanged_or_doubled_is_found(void **state)
{
    struct tally out = { 0 }, moved = { 0 }, twice = { 0 };
    size_t start[DEMO_LAST + 1];
    char *bytes = malloc(2 * demo.n);
    (void)state;
    assert_non_null(bytes);
    find_entries(start);
    for (size_t i = 0; i < DEMO_LAST; i++) {
        for (size_t k = 0; k < DEMO_LAST; k++) {
            char *p = bytes;
            for (size_t e = 0; e < DEMO_LAST; e++) { /* entry i once more, behind entry k */
                p = put_entry(p, start, e);
                p = e == k ? put_entry(p, start, i) : p;
            }
            if (k + 1 < DEMO_LAST || demo_parts[i].kind != DEMO_HAND) /* by hand, below the last digest: an addition */
                must_be_found(&twice, bytes, (size_t)(p - bytes), WHOLE_AND_DIGESTS, "an entry doubled");
            p = bytes;
            for (size_t e = 0; e < DEMO_LAST && i < k; e++) /* entries i and k exchanged */
                p = put_entry(p, start, e == i ? k : e == k ? i : e);
            if (i < k)
                must_be_found(&moved, bytes, (size_t)(p - bytes), WHOLE_AND_DIGESTS, "entries exchanged");
        }
        char *p = bytes;
        for (size_t e = 0; e < DEMO_LAST; e++)
            p = e == i ? p : put_entry(p, start, e);
        if (i + 1 < DEMO_LAST) /* the last one: see a_cut_is_found_with_paper_only */
            must_be_found(&out, bytes, (size_t)(p - bytes), WHOLE_AND_DIGESTS, "an entry taken out");
    }
    assert_int_equal(out.tried, DEMO_LAST - 1);
    assert_int_equal(moved.tried, DEMO_LAST * (DEMO_LAST - 1) / 2);
    assert_int_equal(twice.tried, DEMO_LAST * DEMO_LAST - 3);
    tell(&out, "entries taken out");
    tell(&moved, "entries exchanged");
    tell(&twice, "entries doubled");
    free(bytes);
}

/* ---- what the chain alone cannot show, and what does ---- */

/* A file that was cut behind a whole entry is a shorter record, and a good one. */
static void
a_cut_is_found_with_paper_only(void **state)
{
    char digits[DIGEST_HEX + 1];
    struct audit_ask paper = paper_of(digits, DEMO_LAST, &crew);
    (void)state;
    assert_true(fits(demo.bytes, demo.n, &paper));
    for (uint32_t last = 3; last < DEMO_LAST; last++) {
        struct scan_end end;
        struct append_text cut = demo_record(last, &crew, 0, &end);
        assert_memory_equal(cut.bytes, demo.bytes, cut.n);
        assert_true(fits(cut.bytes, cut.n, &whole));
        assert_false(fits(cut.bytes, cut.n, &paper));
        paper.digests = true;
        assert_false(fits(cut.bytes, cut.n, &paper));
        paper.digests = false;
        append_text_release(&cut);
    }
}

/* All digests made anew, as anybody can: the chain fits, and paper tells. */
static void
digests_made_anew_are_found_with_paper_only(void **state)
{
    char digits[DIGEST_HEX + 1];
    struct audit_ask paper = paper_of(digits, 7, NULL);
    struct scan_end end;
    (void)state;
    for (uint32_t altered = 1; altered <= 7; altered++) {
        if (altered == 6)
            continue; /* it has no figure */
        struct append_text t = demo_record(10, NULL, altered, &end), true_one = demo_record(10, NULL, 0, &end);
        assert_true(t.n == true_one.n && memcmp(t.bytes, true_one.bytes, t.n) != 0);
        assert_true(fits(t.bytes, t.n, &whole));
        assert_false(fits(t.bytes, t.n, &paper));
        assert_true(fits(true_one.bytes, true_one.n, &paper));
        append_text_release(&t);
        append_text_release(&true_one);
    }
}

/* The same under a seal: without the key the signature cannot be made anew. */
static void
digests_made_anew_are_found_by_the_signature(void **state)
{
    char *text = malloc(demo.n + 1);
    (void)state;
    assert_non_null(text);
    memcpy(text, demo.bytes, demo.n);
    text[demo.n] = '\0';
    char *reading = strstr(text, "bs: 1.482");
    assert_non_null(reading);
    reading[strlen("bs: 1.")] = '9';
    char *anew = sealed(text);
    struct audit a = audit_of(anew, strlen(anew), &whole);
    assert_int_equal(a.chain.broken, 0);
    assert_int_equal(a.chain.seals, 2);
    assert_int_equal(a.chain.bad_seals, 2);
    assert_false(audit_fits(&a));
    assert_int_equal(a.last_seal.entry, 0);
    audit_release(&a);
    assert_false(fits(anew, strlen(anew), &digests));
    free(anew);
    free(text);
}

/* Signed anew with another key: everything fits, and only the key that is asked for tells. */
static void
another_key_is_found_when_the_crews_is_asked_for(void **state)
{
    struct audit_ask key = { .key = crew.key };
    struct scan_end end;
    struct append_text forged = demo_record(DEMO_LAST, &other, 5, &end);
    (void)state;
    assert_true(fits(forged.bytes, forged.n, &whole));
    assert_false(fits(forged.bytes, forged.n, &key));
    key.digests = true;
    assert_false(fits(forged.bytes, forged.n, &key));
    append_text_release(&forged);
}

static void
seals_by_two_keys_are_told_apart(void **state)
{
    struct audit_ask ask = { .key = crew.key };
    struct scan_end end;
    struct append_text t = demo_record(DEMO_LAST - 1, &crew, 0, &end);
    (void)state;
    demo_entry(&t, &end, "by: XX\n", &other);
    struct audit a = audit_of(t.bytes, t.n, &ask);
    assert_true(audit_fits(&a));
    assert_int_equal(a.asked_seals, 1);
    assert_int_equal(a.other_seals, 1);
    assert_int_equal(a.last_asked.entry, DEMO_FIRST_SEAL);
    assert_int_equal(a.last_seal.entry, DEMO_LAST);
    assert_false(a.seals.at[1].asked);
    audit_release(&a);
    append_text_release(&t);
}

/* A seal of one record does not fit another, nor another place of its own. */
static void
a_seal_cannot_be_carried_elsewhere(void **state)
{
    struct scan_end end;
    struct append_text t = demo_record(8, &crew, 0, &end);
    const char *key = strstr(demo.bytes, "seal:\n  key: "), *digest = strstr(key, "digest: ");
    char body[1024];
    (void)state;
    int n = snprintf(body, sizeof body, "by: RO\ntime: 2026-05-02T16:40:01Z\n%.*s", (int)(digest - key), key); /* a second later */
    assert_in_range(n, 200, sizeof body - 1);
    demo_entry(&t, &end, body, NULL);
    struct audit a = audit_of(t.bytes, t.n, &whole);
    assert_int_equal(a.chain.broken, 0);
    assert_int_equal(a.chain.bad_seals, 1);
    assert_false(audit_fits(&a));
    audit_release(&a);
    append_text_release(&t);
}

/* ---- paper ---- */

static void
the_paper_tells_what_was_added(void **state)
{
    char digits[DIGEST_HEX + 1];
    (void)state;
    for (uint32_t entry = 3; entry <= DEMO_LAST; entry++) {
        struct audit_ask paper = paper_of(digits, entry, &crew);
        if (entry == 10)
            continue; /* by hand: no digest of its own */
        for (size_t n = DIGEST_LEAST_HEX; n <= DIGEST_SHORT_HEX; n += 4) {
            digits[n] = '\0';
            (void)paper_of(digits, entry, &crew);
            digits[n] = '\0';
            struct audit a = audit_of(demo.bytes, demo.n, &paper);
            assert_int_equal(a.paper, AUDIT_FOUND);
            assert_int_equal(a.paper_entry, entry);
            assert_true(audit_fits(&a));
            audit_release(&a);
        }
    }
}

static void
one_digit_misread_is_named(void **state)
{
    static const char hex[] = "0123456789abcdef";
    char digits[DIGEST_HEX + 1];
    struct audit_ask paper = paper_of(digits, DEMO_FIRST_SEAL, &crew);
    (void)state;
    for (size_t i = 0; i < DIGEST_SHORT_HEX; i++) {
        char was = digits[i];
        for (size_t k = 0; k < 16; k++) {
            if (hex[k] == was)
                continue;
            digits[i] = hex[k];
            struct audit a = audit_of(demo.bytes, demo.n, &paper);
            assert_int_equal(a.paper, AUDIT_NEAR);
            assert_false(audit_fits(&a));
            assert_int_equal(a.paper_entry, DEMO_FIRST_SEAL);
            assert_int_equal(a.paper_digit, i + 1);
            assert_int_equal(a.paper_has, hex[k]);
            assert_int_equal(a.record_has, was);
            audit_release(&a);
        }
        digits[i] = was;
    }
    digits[3] = digits[3] == '0' ? '1' : '0';
    digits[17] = digits[17] == '0' ? '1' : '0';
    struct audit a = audit_of(demo.bytes, demo.n, &paper);
    assert_int_equal(a.paper, AUDIT_NOT_FOUND);
    audit_release(&a);
}

/* ---- where, and when ---- */

/* Altered, and booked on afterwards: the digests below fit again, which says when. */
static void
a_change_is_dated_by_the_digests_around_it(void **state)
{
    struct scan_end end;
    struct append_text t = demo_record(8, &crew, 0, &end);
    struct source source;
    struct scan_chain chain;
    struct diag d = { 0 };
    (void)state;
    char *reading = memmem(t.bytes, t.n, "fs: 0.884", 9); /* entry 5 */
    assert_non_null(reading);
    reading[7] = '6';
    source = source_of_bytes(t.bytes, t.n);
    assert_int_equal(scan_walk(&source, &d, NULL, NULL, true, &chain, &end), 0);
    demo_entry(&t, &end, "points: {P: {x: 1.5, y: 2}}\n", NULL);
    demo_entry(&t, &end, "points: {Q: {x: 3.5, y: 2}}\n", NULL);
    struct audit a = audit_of(t.bytes, t.n, &whole);
    assert_int_equal(a.breaks.n, 1);
    assert_int_equal(a.breaks.at[0].first, 5);
    assert_int_equal(a.breaks.at[0].last, 8);
    assert_int_equal(a.breaks.at[0].above, 4);
    assert_int_equal(a.breaks.at[0].again, 9);
    assert_int_equal(a.fits_to, 10);
    assert_int_equal(a.chain.broken, 4);
    assert_false(audit_fits(&a));
    audit_release(&a);
    diag_release(&d);
    append_text_release(&t);
}

/* ---- torn entries, faults, and no digest at all ---- */

#define TORN "---\nentry: 9\nlevels:\n  continues: 3\n  readings:\n    - {at: B, is: 1.4"

static void
a_torn_entry_counts_until_a_digest_covers_it(void **state)
{
    struct scan_end end;
    struct append_text t = demo_record(8, &crew, 0, &end);
    (void)state;
    demo_hand(&t, &end, TORN);
    end.ended = false;
    struct audit a = audit_of(t.bytes, t.n, &whole);
    assert_false(audit_fits(&a));
    assert_int_equal(a.uncovered_torn, 1);
    assert_int_equal(a.torns.at[0].entry, 9);
    assert_int_equal(a.torns.at[0].covered, 0);
    audit_release(&a);
    demo_entry(&t, &end, "by: RO\n", &crew);
    a = audit_of(t.bytes, t.n, &whole);
    assert_true(audit_fits(&a));
    assert_int_equal(a.torn, 1);
    assert_int_equal(a.uncovered_torn, 0);
    assert_int_equal(a.torns.at[0].covered, 10);
    audit_release(&a);
    assert_true(fits(t.bytes, t.n, &digests));
    append_text_release(&t);
}

/* What an entry says may be wrong, or no YAML at all: its digest is another matter. */
static void
faults_do_not_stop_an_audit(void **state)
{
    static const char *const faulty[] = { "---\nlevels: {readings: [\n", "---\nlevels:\n  readings:\n    - {at: A, is: 4,62}\n",
        "---\nstrike: {entry: 90, row: 1, reason: none}\n", "---\nstrike: {entry: 4, row: 1, reason: again}\n" };
    (void)state;
    for (size_t i = 0; i < COUNT(faulty); i++) {
        struct scan_end end;
        struct append_text t = demo_record(9, &crew, 0, &end);
        demo_hand(&t, &end, faulty[i]);
        demo_entry(&t, &end, "by: RO\n", &crew);
        struct audit a = audit_of(t.bytes, t.n, &whole);
        assert_true(audit_fits(&a));
        assert_true(a.errors > 0);
        assert_int_equal(a.damage, 0);
        assert_int_equal(a.chain.broken, 0);
        assert_int_equal(a.seals.n, 2);
        audit_release(&a);
        append_text_release(&t);
    }
}

/* Digests that fit around a number that does not: somebody took an entry out and made them anew. */
static void
numbers_that_do_not_count_are_damage(void **state)
{
    char *text = sealed("---\njob: x\nunit: m\nleast: 0.001\n---\nentry: 2\npoints: {A: {x: 1, y: 2}}\ndigest: \n"
                        "---\nentry: 4\npoints: {B: {x: 1, y: 2}}\ndigest: \n");
    struct audit a = audit_of(text, strlen(text), &whole);
    (void)state;
    assert_int_equal(a.chain.broken, 0);
    assert_int_equal(a.damage, 1);
    assert_false(audit_fits(&a));
    audit_release(&a);
    free(text);
}

static void
without_digests_there_is_nothing_to_audit(void **state)
{
    struct scan_end end;
    struct append_text t = demo_record(2, &crew, 0, &end);
    char digits[DIGEST_HEX + 1];
    struct audit_ask paper = paper_of(digits, 3, &crew), key = { .key = crew.key };
    (void)state;
    assert_true(fits(t.bytes, t.n, &whole));
    assert_true(fits(t.bytes, t.n, &digests));
    assert_false(fits(t.bytes, t.n, &paper));
    assert_false(fits(t.bytes, t.n, &key));
    assert_true(fits("", 0, &whole));
    append_text_release(&t);
}

/* However many there are, no more than AUDIT_KEPT are kept where memory must not grow; all are counted. */
static void
lists_are_kept_short_with_digests_alone(void **state)
{
    struct scan_end end;
    struct append_text t = demo_record(2, &crew, 0, &end);
    (void)state;
    for (int i = 0; i < 300; i++) {
        demo_hand(&t, &end, "---\nentry: 3\nlevels:\n");
        demo_hand(&t, &end, "---\nmarks: {BM1: {elevation: 48.375}}\n");
    }
    struct audit a = audit_of(t.bytes, t.n, &digests);
    assert_int_equal(a.torns.n, AUDIT_KEPT);
    assert_int_equal(a.torns.all, 300);
    assert_int_equal(a.hands.n, AUDIT_KEPT);
    assert_int_equal(a.hands.all, 301);
    assert_int_equal(a.hand, 302);
    audit_release(&a);
    a = audit_of(t.bytes, t.n, &whole);
    assert_int_equal(a.torns.n, 300);
    assert_int_equal(a.hands.n, 301);
    audit_release(&a);
    append_text_release(&t);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_demo_record_fits),
        cmocka_unit_test(struck_rows_are_told_with_what_stands_for_them),
        cmocka_unit_test(one_row_may_stand_for_two_strikes),
        cmocka_unit_test(every_byte_that_is_altered_is_found),
        cmocka_unit_test(every_other_byte_at_the_seams_is_found),
        cmocka_unit_test(every_byte_taken_out_or_put_in_is_found),
        cmocka_unit_test(every_entry_taken_out_exchanged_or_doubled_is_found),
        cmocka_unit_test(a_cut_is_found_with_paper_only),
        cmocka_unit_test(digests_made_anew_are_found_with_paper_only),
        cmocka_unit_test(digests_made_anew_are_found_by_the_signature),
        cmocka_unit_test(another_key_is_found_when_the_crews_is_asked_for),
        cmocka_unit_test(seals_by_two_keys_are_told_apart),
        cmocka_unit_test(a_seal_cannot_be_carried_elsewhere),
        cmocka_unit_test(the_paper_tells_what_was_added),
        cmocka_unit_test(one_digit_misread_is_named),
        cmocka_unit_test(a_change_is_dated_by_the_digests_around_it),
        cmocka_unit_test(a_torn_entry_counts_until_a_digest_covers_it),
        cmocka_unit_test(faults_do_not_stop_an_audit),
        cmocka_unit_test(numbers_that_do_not_count_are_damage),
        cmocka_unit_test(without_digests_there_is_nothing_to_audit),
        cmocka_unit_test(lists_are_kept_short_with_digests_alone),
    };
    return cmocka_run_group_tests_name("audit", tests, make_demo, drop_demo);
}
