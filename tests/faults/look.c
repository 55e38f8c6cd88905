/* look.c - a record read back, and held against what was acknowledged */
#include "faults.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HEX 64

/* ---- entries ---- */

static bool
is_digest_line(const char *line, size_t n, char hex[HEX + 1])
{
    static const char key[] = "digest: ";
    size_t k = strlen(key);
    if (n != k + HEX + 1 || memcmp(line, key, k) != 0 || line[n - 1] != '\n' || strspn(line + k, "0123456789abcdef") != HEX)
        return false;
    memcpy(hex, line + k, HEX);
    hex[HEX] = '\0';
    return true;
}

/* The SHA-256 of all above a line; `hash` has what is above the last such line. */
static bool
digest_fits(struct look *l, size_t start, const char *hex)
{
    crypto_hash_sha256_state now;
    unsigned char sum[crypto_hash_sha256_BYTES];
    char text[HEX + 1];
    crypto_hash_sha256_update(&l->hash, (const unsigned char *)l->bytes + l->hashed, start - l->hashed);
    l->hashed = start;
    now = l->hash;
    crypto_hash_sha256_final(&now, sum);
    for (size_t i = 0; i < sizeof sum; i++)
        snprintf(text + 2 * i, 3, "%02x", sum[i]);
    return strcmp(text, hex) == 0;
}

static void
take_line(struct look *l, size_t start, size_t end)
{
    const char *line = l->bytes + start;
    size_t n = end - start;
    char hex[HEX + 1];
    struct entry *e = l->entries > 0 ? &l->entry[l->entries - 1] : NULL;
    if ((n == 4 || end == l->n) && n >= 3 && memcmp(line, "---", 3) == 0 && (n == 3 || line[3] == '\n')) {
        l->entry[l->entries++] = (struct entry){ .start = start, .end = end };
        return;
    }
    if (!e)
        return;
    if (e->whole) {
        size_t dashes = strspn(line, "-");
        l->scrap |= (dashes == 1 || dashes == 2) && (dashes == n || (dashes + 1 == n && line[dashes] == '\n'));
        return;
    }
    e->end = end;
    if (e->number == 0 && start == e->start + 4 && n > 7 && memcmp(line, "entry: ", 7) == 0)
        e->number = (uint32_t)strtoul(line + 7, NULL, 10);
    if (e->number > 0 && is_digest_line(line, n, hex)) {
        e->whole = true;
        e->fits = digest_fits(l, start, hex);
    }
}

bool
look_open(struct look *l, const char *file)
{
    size_t lines = 1;
    *l = (struct look){ 0 };
    l->bytes = file_read(file, &l->n);
    if (!l->bytes)
        return false;
    for (size_t i = 0; i < l->n; i++)
        lines += l->bytes[i] == '\n';
    l->entry = calloc(lines, sizeof *l->entry);
    if (!l->entry)
        abort();
    crypto_hash_sha256_init(&l->hash);
    for (size_t start = 0, end; start < l->n; start = end) {
        const char *lf = memchr(l->bytes + start, '\n', l->n - start);
        end = lf ? (size_t)(lf - l->bytes) + 1 : l->n;
        take_line(l, start, end);
    }
    return true;
}

void
look_release(struct look *l)
{
    free(l->bytes);
    free(l->entry);
    *l = (struct look){ 0 };
}

bool
look_has(const struct look *l, const struct entry *e, const char *text)
{
    return memmem(l->bytes + e->start, e->end - e->start, text, strlen(text)) != NULL;
}

size_t
lines_count(const struct line *lines)
{
    size_t n = 0;
    while (lines[n].text)
        n++;
    return n;
}

/* An answer begins with its entry's number, set right in four places, and two blanks. */
size_t
acknowledged_numbers(const char *out, uint32_t *number, size_t most)
{
    size_t n = 0;
    for (const char *line = out, *lf; n < most && (lf = strchr(line, '\n')) != NULL; line = lf + 1) {
        const char *p = line + strspn(line, " ");
        size_t digits = strspn(p, "0123456789");
        if (digits > 0 && (p - line) + (ptrdiff_t)digits >= 4 && (p == line || (p - line) + (ptrdiff_t)digits == 4)
            && strncmp(p + digits, "  ", 2) == 0 && p[digits + 2] != ' ')
            number[n++] = (uint32_t)strtoul(p, NULL, 10);
    }
    return n;
}

/* ---- judging ---- */

struct trial {
    const struct command *c;
    const struct place *at;
    const struct look *before;
    struct look now;
    struct outcome *o;
    bool whole[LINES_MOST]; /* the entry of this line stands there whole */
    bool told[LINES_MOST];  /* and was acknowledged */
    size_t lines;
};

/* A new and whole entry holds what this line must leave. */
static bool
line_stands(const struct trial *t, const struct line *line)
{
    for (size_t i = t->before->entries; i < t->now.entries; i++)
        if (t->now.entry[i].whole && look_has(&t->now, &t->now.entry[i], line->entry))
            return true;
    return false;
}

/* What was there before is there still, to the byte. */
static bool
keeps_the_past(struct trial *t)
{
    const struct look *b = t->before;
    if (!b->bytes)
        return true;
    if (t->now.n < b->n || memcmp(t->now.bytes, b->bytes, b->n) != 0)
        return fail(t->o, "what stood in the record before was changed");
    return true;
}

static bool
chain_is_right(struct trial *t, const struct allowed *allowed)
{
    const struct look *l = &t->now;
    size_t torn = 0;
    for (size_t i = 0; i < l->entries; i++) {
        const struct entry *e = &l->entry[i];
        if (e->whole && !e->fits)
            return fail(t->o, "entry %zu has a digest that does not fit", i + 1);
        if (e->whole && e->number != i + 1)
            return fail(t->o, "entry %zu calls itself %u", i + 1, e->number);
        if (e->whole && i < t->before->entries && !t->before->entry[i].whole)
            return fail(t->o, "entry %zu was torn before, and is whole now", i + 1);
        if (e->whole || i < t->before->entries)
            continue;
        torn++;
        if (!allowed->inside && i + 1 < l->entries)
            return fail(t->o, "torn entry %zu does not stand at the end", i + 1);
    }
    if (torn > 1 || (torn > 0 && !allowed->torn))
        return fail(t->o, "%zu torn entries, where %s", torn, allowed->torn ? "one may stand" : "none may stand");
    if (torn > 0 || l->scrap)
        t->o->left = LEFT_TORN;
    return true;
}

/* Each acknowledged number is the entry of a line, in the order of the lines. */
static bool
numbers_stand(struct trial *t, const struct ran *r)
{
    uint32_t number[LINES_MOST];
    size_t n = acknowledged_numbers(r->out, number, LINES_MOST), line = 0;
    for (size_t i = 0; i < n; i++) {
        const struct entry *e = number[i] >= 1 && number[i] <= t->now.entries ? &t->now.entry[number[i] - 1] : NULL;
        if (!e || !e->whole)
            return fail(t->o, "LOST: entry %u was acknowledged, and is not in the record", number[i]);
        while (line < t->lines && !look_has(&t->now, e, t->c->lines[line].entry))
            line++;
        if (line == t->lines)
            return fail(t->o, "LOST: entry %u was acknowledged, and holds none of the lines that were booked", number[i]);
        t->told[line++] = true;
        t->o->acknowledged++;
    }
    return true;
}

static bool
answer_stands(struct trial *t, const struct ran *r)
{
    if (!strstr(r->out, t->c->acknowledges))
        return true;
    for (size_t i = 0; i < t->lines; i++) {
        if (!line_stands(t, &t->c->lines[i]))
            return fail(t->o, "LOST: %s was acknowledged, and is not in the record", t->c->lines[i].text);
        t->told[i] = true;
    }
    t->o->acknowledged++;
    return true;
}

/* Entries that nobody was told of: no more than allowed, and of lines behind the last acknowledged. */
static bool
unacknowledged_is_in_flight(struct trial *t, const struct allowed *allowed)
{
    size_t last = 0, most = allowed->unacknowledged * (t->c->session ? 1 : t->c->together), n = 0;
    for (size_t i = 0; i < t->lines; i++)
        if (t->told[i])
            last = i + 1;
    for (size_t i = 0; i < t->lines; i++) {
        t->whole[i] = line_stands(t, &t->c->lines[i]);
        if (!t->whole[i] || t->told[i])
            continue;
        t->o->left = LEFT_WHOLE;
        n++;
        if (i < last)
            return fail(t->o, "\"%s\" is in the record, was not acknowledged, and a later line was", t->c->lines[i].text);
    }
    if (n > most)
        return fail(t->o, "%zu entries are in the record that were not acknowledged; %zu may be", n, most);
    return true;
}

/* Every new entry belongs to one line. */
static bool
nothing_else_stands(struct trial *t)
{
    size_t whole = 0, lines = 0;
    for (size_t i = t->before->entries; i < t->now.entries; i++)
        whole += t->now.entry[i].whole;
    for (size_t i = 0; i < t->lines; i++)
        lines += t->whole[i];
    if (whole != lines)
        return fail(t->o, "%zu new entries for %zu lines", whole, lines);
    return true;
}

static bool
check_says_it(struct trial *t)
{
    struct ran r = run_rodbook(t->at, NULL, (const char *const[]){ "check", "@" RECORD, NULL });
    bool torn = t->now.scrap;
    for (size_t i = 0; i < t->now.entries; i++)
        torn |= !t->now.entry[i].whole;
    if (r.status != 0 && r.status != 1)
        fail(t->o, "rodbook check: status %d: %s", r.status, r.err);
    else if (strstr(r.err, "[digest]") || strstr(r.err, ": error: "))
        fail(t->o, "rodbook check says: %s", r.err);
    else if (torn != (strstr(r.err, "[torn]") != NULL))
        fail(t->o, torn ? "rodbook check does not tell the torn entry: %s" : "rodbook check tells a torn entry where none is: %s", r.err);
    ran_release(&r);
    return !t->o->failed;
}

/* What `reduce --json` uses is what stands there whole. */
static bool
only_whole_entries_count(struct trial *t, const struct line *lines, const bool whole[])
{
    struct ran r = run_rodbook(t->at, NULL, (const char *const[]){ "reduce", "--json", "@" RECORD, NULL });
    if (r.status != 0 && r.status != 1)
        fail(t->o, "rodbook reduce --json: status %d: %s", r.status, r.err);
    if (strstr(r.out, TORN_JSON))
        fail(t->o, "the torn reading is used");
    for (size_t i = 0; lines[i].text && !t->o->failed; i++)
        if (lines[i].json && whole[i] != (strstr(r.out, lines[i].json) != NULL))
            fail(t->o, whole[i] ? "\"%s\" is in the record, and reduce does not use it" : "\"%s\" is used, and is no whole entry of the record",
                lines[i].text);
    ran_release(&r);
    return !t->o->failed;
}

/* ---- going on afterwards ---- */

static bool
make_again(struct trial *t)
{
    struct words w = { .n = 0 };
    words_of(&w, t->at, t->c->argv);
    struct ran r = run_words(t->at, NULL, &w);
    bool good = r.status == 0 && strstr(r.out, t->c->acknowledges);
    if (!good)
        fail(t->o, "rodbook %s again: status %d: %s", t->c->name, r.status, r.err);
    ran_release(&r);
    look_release(&t->now);
    if (good && !look_open(&t->now, t->at->record))
        return fail(t->o, "rodbook %s again made no file", t->c->name);
    return good;
}

static void
text_of(const struct line *lines, char *text, size_t room)
{
    size_t n = (size_t)snprintf(text, room, "run\n");
    for (; lines->text; lines++)
        n += (size_t)snprintf(text + n, room - n, "%s\n", lines->text);
}

static void
go_on(struct trial *t)
{
    char text[1024];
    uint32_t number[LINES_MOST];
    struct look after;
    bool there[LINES_MOST] = { false };
    size_t n = lines_count(lines_after);
    text_of(lines_after, text, sizeof text);
    struct ran r = run_rodbook(t->at, text, (const char *const[]){ "book", "--by", "LM", "@" RECORD, NULL });
    if (r.status != 0 || acknowledged_numbers(r.out, number, LINES_MOST) != n)
        fail(t->o, "the session that goes on: status %d, says: %s%s", r.status, r.out, r.err);
    ran_release(&r);
    if (t->o->failed || !look_open(&after, t->at->record))
        return;
    if (after.n < t->now.n || memcmp(after.bytes, t->now.bytes, t->now.n) != 0)
        fail(t->o, "the session that went on changed what stood there");
    for (size_t i = 0; i < t->now.entries && !t->o->failed; i++)
        if (after.entry[i].whole != t->now.entry[i].whole)
            fail(t->o, "entry %zu was torn, and the session that went on made it whole", i + 1);
    for (size_t i = 0; i < n && !t->o->failed; i++) {
        const struct entry *e = number[i] >= 1 && number[i] <= after.entries ? &after.entry[number[i] - 1] : NULL;
        there[i] = e && e->whole && e->fits && look_has(&after, e, lines_after[i].entry);
        if (!there[i])
            fail(t->o, "LOST: \"%s\" was acknowledged by the session that went on, and is not in the record", lines_after[i].text);
    }
    look_release(&t->now);
    t->now = after;
    if (!t->o->failed && check_says_it(t) && only_whole_entries_count(t, t->c->lines, t->whole))
        (void)only_whole_entries_count(t, lines_after, there);
}

void
judge(const struct command *c, const struct place *at, const struct look *before, const struct ran *r, struct allowed allowed,
    bool answered[], struct outcome *o)
{
    struct trial t = { .c = c, .at = at, .before = before, .o = o, .lines = lines_count(c->lines) };
    o->told = r->err && r->err[0] != '\0';
    o->draft |= place_drafts(at) > 0;
    if (!look_open(&t.now, at->record)) {
        if (before->bytes || (!c->session && strstr(r->out, c->acknowledges))) {
            fail(o, "LOST: the record is not there");
            return;
        }
        if (!make_again(&t))
            return;
        for (size_t i = 0; i < t.lines; i++)
            t.whole[i] = true;
        go_on(&t);
        look_release(&t.now);
        return;
    }
    if (keeps_the_past(&t) && chain_is_right(&t, &allowed) && (c->session ? numbers_stand(&t, r) : answer_stands(&t, r))
        && unacknowledged_is_in_flight(&t, &allowed) && nothing_else_stands(&t) && check_says_it(&t)
        && only_whole_entries_count(&t, c->lines, t.whole))
        go_on(&t);
    if (!before->bytes && !o->failed && t.o->left == LEFT_TORN)
        fail(o, "a new record has its name, and is torn");
    for (size_t i = 0; i < t.lines && answered; i++)
        answered[i] = t.told[i];
    look_release(&t.now);
}
