#include "rodbook/scan.h"

#include "rodbook/room.h"
#include "rodbook/text.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

void
scan_release(struct scan *scan)
{
    free(scan->entry);
    *scan = (struct scan){ 0 };
}

/* ---- lines ---- */

/* One line of the record, without its line feed and the carriage return before it. */
struct line {
    const char *text;
    size_t n;
    size_t next; /* offset of the line behind it */
    size_t start; /* and of this one */
    bool ended;  /* a line feed stands at its end, and no carriage return before it */
    bool ascii;  /* known to hold nothing but printable ASCII */
};

/* The part of the source that is in memory. */
struct window {
    const struct source *source;
    char *bytes;
    size_t room, n;
    size_t start; /* offset of bytes[0] */
    size_t at;    /* of the next line, in bytes */
    bool ascii;   /* nothing but printable ASCII and line feeds in it */
    bool ended;   /* the last line met had its line feed */
    bool failed;  /* the source could not be read */
    bool no_memory;
    struct digest hash;
    size_t hashed; /* offset up to which bytes are in it... */
    bool hashing;  /* ...once a digest was met: a record without digests costs no hashing */
};

#define WINDOW 262144 /* bytes; a line may be longer, and the window then grows */

/* Bytes that have left the window, or were never hashed because no digest had been met yet. */
static void
hash_above(struct window *w)
{
    char buffer[16384];
    while (w->hashed < w->start && !w->failed) {
        size_t left = w->start - w->hashed;
        ptrdiff_t k = source_part(w->source, w->hashed, buffer, left < sizeof buffer ? left : sizeof buffer);
        w->failed |= k <= 0;
        if (k > 0)
            digest_take(&w->hash, buffer, (size_t)k);
        w->hashed += k > 0 ? (size_t)k : 0;
    }
}

/* Take everything above an offset into the hash; the offset stands in the window. */
static void
hash_to(struct window *w, size_t offset)
{
    if (!w->hashing)
        digest_begin(&w->hash);
    w->hashing = true;
    hash_above(w);
    if (offset > w->hashed && !w->failed)
        digest_take(&w->hash, w->bytes + (w->hashed - w->start), offset - w->hashed);
    w->hashed = offset > w->hashed ? offset : w->hashed;
}

/* Drop what has been read, and fill up; false at the end of the source. */
static bool
fill(struct window *w)
{
    if (w->at > 0) {
        if (w->hashing)
            hash_to(w, w->start + w->at);
        memmove(w->bytes, w->bytes + w->at, w->n - w->at);
        w->start += w->at;
        w->n -= w->at;
        w->at = 0;
    }
    if (w->n == w->room) {
        char *grown = realloc(w->bytes, w->room + w->room / 2 + WINDOW);
        w->no_memory |= grown == NULL;
        if (!grown)
            return false;
        w->bytes = grown;
        w->room += w->room / 2 + WINDOW;
    }
    ptrdiff_t k = source_part(w->source, w->start + w->n, w->bytes + w->n, w->room - w->n);
    w->failed |= k < 0;
    if (k <= 0)
        return false;
    w->ascii = (w->n == 0 || w->ascii) && text_is_ascii(w->bytes + w->n, (size_t)k);
    w->n += (size_t)k;
    return true;
}

/* The next line; false behind the last. */
static bool
next_line(struct window *w, struct line *line)
{
    const char *lf = NULL;
    size_t seen = 0;
    while (!(lf = w->n > w->at + seen ? memchr(w->bytes + w->at + seen, '\n', w->n - w->at - seen) : NULL)) {
        seen = w->n - w->at;
        if (!fill(w))
            break;
    }
    if (w->failed || w->no_memory || (!lf && w->n == w->at))
        return false;
    const char *p = w->bytes + w->at, *stop = lf ? lf : w->bytes + w->n;
    bool cr = stop > p && stop[-1] == '\r';
    w->at = (size_t)(stop - w->bytes) + (lf != NULL);
    w->ended = lf != NULL;
    *line = (struct line){ p, (size_t)(stop - p) - cr, w->start + w->at, w->start + (size_t)(p - w->bytes), lf && !cr, w->ascii };
    return true;
}

static bool
begins(const struct line *line, const char *word)
{
    size_t n = strlen(word);
    return line->n >= n && memcmp(line->text, word, n) == 0;
}

static bool
is_blank(const struct line *line)
{
    for (size_t i = 0; i < line->n; i++)
        if (line->text[i] == '#')
            return true;
        else if (line->text[i] != ' ' && line->text[i] != '\t')
            return false;
    return true;
}

/* A key of k bytes, its blank included, and 2 n lower-case digits: as bytes in out[n]. */
static inline bool
hex_behind(const struct line *line, const char *key, size_t k, unsigned char *out, size_t n)
{
    return line->n == k + 2 * n && memcmp(line->text, key, k) == 0 && digest_from_hex(out, line->text + k, n);
}

#define hex_of(line, key, out, n) hex_behind((line), (key), sizeof(key) - 1, (out), (n)) /* most lines are not so long */

/* --- alone on its line, or before a blank: the start of a document (YAML 1.2.2, 9.1.4). */
static bool
is_start(const struct line *line)
{
    return line->n > 0 && line->text[0] == '-' && begins(line, "---") && (line->n == 3 || line->text[3] == ' ' || line->text[3] == '\t');
}

static uint32_t
column_of(const struct line *line, const char *at)
{
    uint32_t column = 1;
    for (const char *p = line->text; p < at; p++)
        column += ((unsigned char)*p & 0xc0) != 0x80;
    return column;
}

/* ---- entries ---- */

/* What has been seen of the entry that the scan stands in. */
struct progress {
    struct scan_found found;
    bool words;    /* a line that is not blank has been met */
    bool numbered; /* and the first such line begins `entry:` */
    bool cut;      /* and it is the beginning of that word, cut short */
    bool ended;    /* its digest line has been met */
    struct diag_place bad; /* the first byte that may not stand; line 0 for none */
    char bad_byte[4];      /* and those behind it */
    uint32_t key_line, signature_line; /* where they stood; 0 for nowhere */
    unsigned char signature[SEAL_SIGNATURE_BYTES];
    unsigned char above[DIGEST_BYTES]; /* digest of what stands above the signature */
};

struct walk {
    struct window w;
    struct progress now;
    bool open; /* an entry has begun */
    struct scan_chain *chain;
    struct scan_end *end;
    uint32_t again_line; /* digest line of chain->fits_again */
    struct diag *d;
    scan_take *take;
    void *with;
};

/* True for a text that `entry:` begins with: what a cut can leave of the line-> */
static bool
is_cut_word(const struct line *line)
{
    return line->n < strlen("entry:") && memcmp("entry:", line->text, line->n) == 0;
}

/* What is left of the --- of an entry that was cut off there. */
static bool
is_cut_start(const struct line *line)
{
    return line->n < 3 && line->n > 0 && memcmp("---", line->text, line->n) == 0;
}

static void
take_line_below_digest(const struct line *line, uint32_t number, bool bad, struct diag *d)
{
    struct diag_place place = { number, 1 };
    if (bad || is_cut_start(line))
        diag_say(d, DIAG_WARNING, place, "torn", "an entry was begun here and cut off; nothing of it is used");
    else if (!is_blank(line))
        diag_say(d, DIAG_ERROR, place, "digest-line",
            "text stands below the digest of its entry; begin a new entry with ---");
}

/* A digest line: hold it against what stands above it. */
static void
take_digest(struct walk *k, const struct line *line, uint32_t number, const unsigned char written[DIGEST_BYTES])
{
    struct scan_found *found = &k->now.found;
    struct scan_chain *c = k->chain;
    hash_to(&k->w, line->start);
    digest_now(&k->w.hash, found->digest);
    found->digest_line = number;
    found->entry.broken = memcmp(found->digest, written, DIGEST_BYTES) != 0;
    found->entry.end = line->next;
    k->now.ended = true;
    c->digests++;
    c->last = found->number;
    c->last_fits = !found->entry.broken;
    c->torn_below = 0;
    memcpy(c->digest, found->digest, DIGEST_BYTES);
    if (found->entry.broken) {
        c->broken++;
        if (c->first_broken == 0) {
            c->first_broken = found->number;
            c->first_line = number;
        }
    } else if (c->first_broken == 0) {
        c->fits_before = found->number;
        c->before_line = number;
    } else if (c->fits_again == 0) {
        c->fits_again = found->number;
        k->again_line = number;
    }
}

/* The digest line of a seal stands right below its signature, and that below its key. */
static void
check_seal(struct walk *k, uint32_t number)
{
    struct progress *p = &k->now;
    if (p->signature_line + 1 != number || p->key_line + 2 != number)
        return;
    bool fits = seal_check(p->found.key, p->above, p->signature);
    p->found.entry.seal = fits ? SEAL_FITS : SEAL_BROKEN;
    k->chain->seals++;
    if (fits) {
        k->chain->last_seal = p->found.number;
        return;
    }
    k->chain->bad_seals++;
    diag_say(k->d, DIAG_WARNING, (struct diag_place){ p->signature_line, 1 }, "signature",
        "the signature does not fit: what stands above it is not what was signed with this key");
}

/* A line of a numbered entry. */
static void
take_numbered(struct walk *k, const struct line *line, uint32_t number)
{
    struct progress *p = &k->now;
    unsigned char written[DIGEST_BYTES];
    if (!line->ended || (line->text[0] != ' ' && line->text[0] != 'd'))
        return;
    if (hex_of(line, "digest: ", written, DIGEST_BYTES)) {
        take_digest(k, line, number, written);
        check_seal(k, number);
    } else if (hex_of(line, "  key: ", p->found.key, SEAL_KEY_BYTES)) {
        p->key_line = number;
    } else if (hex_of(line, "  signature: ", p->signature, SEAL_SIGNATURE_BYTES)) {
        p->signature_line = number;
        hash_to(&k->w, line->start);
        digest_now(&k->w.hash, p->above);
    }
}

/* A whole digest line in an entry without a number: the number was taken away, or its first word changed. */
static void
take_stray(struct walk *k, const struct line *line, uint32_t number)
{
    unsigned char any[DIGEST_BYTES];
    if (k->now.found.entry.stray || !hex_of(line, "digest: ", any, DIGEST_BYTES))
        return;
    k->now.found.entry.stray = true;
    diag_say(k->d, DIAG_ERROR, (struct diag_place){ number, 1 }, "digest-form",
        "a digest stands in an entry that has no number; the program writes both, or neither");
}

static void
take_line(struct walk *k, const struct line *line, uint32_t number)
{
    struct progress *p = &k->now;
    if (p->words && !p->numbered && line->n > 0 && line->text[0] == 'd')
        take_stray(k, line, number);
    if (line->ascii && p->words && !p->numbered && !p->cut)
        return; /* the body of an entry written by hand */
    const char *bad = line->ascii ? NULL : text_fault(line->text, line->n);
    if (p->ended) {
        take_line_below_digest(line, number, bad != NULL, k->d);
        return;
    }
    if (bad && !p->bad.line) {
        p->bad = (struct diag_place){ number, column_of(line, bad) };
        memcpy(p->bad_byte, bad, (size_t)(line->text + line->n - bad) < 3 ? (size_t)(line->text + line->n - bad) : 3);
    }
    if (is_blank(line))
        return;
    if (!p->words) {
        p->words = true;
        p->numbered = begins(line, "entry:");
        p->cut = is_cut_word(line) || is_cut_start(line);
        return;
    }
    if (p->cut && is_cut_start(line))
        return; /* the next entry was cut off as well, within its --- */
    p->cut = false;
    if (p->numbered)
        take_numbered(k, line, number);
}

/* The --- itself; words may follow it on its line-> */
static void
take_start(struct walk *k, const struct line *line, uint32_t number)
{
    const struct line rest = { line->text + 3, line->n - 3, line->next, line->start + 3, line->ended, line->ascii };
    if (!is_blank(&rest))
        take_line(k, &rest, number);
}

static int
close_entry(struct walk *k)
{
    struct progress *p = &k->now;
    struct scan_entry *e = &p->found.entry;
    if (!k->open)
        return 0;
    e->state = p->ended ? SCAN_SEALED : SCAN_HAND;
    if (!p->ended && (p->numbered || p->cut || !p->words)) {
        e->state = SCAN_TORN;
        k->chain->torn_below++;
        diag_say(k->d, DIAG_WARNING, (struct diag_place){ e->line, 1 }, "torn",
            "this entry was cut off before its digest line; nothing of it is used: book its readings again");
    } else if (p->bad.line) {
        e->state = SCAN_DAMAGED;
        diag_say(k->d, DIAG_ERROR, p->bad, "bytes", "%s, so this entry is not read; %s", text_fault_name(p->bad_byte),
            text_fault_advice(p->bad_byte));
    }
    return k->take && p->found.number > 0 ? k->take(k->with, &p->found) : 0;
}

static void
open_entry(struct walk *k, size_t start, uint32_t line)
{
    k->open = true;
    k->now = (struct progress){ 0 };
    k->now.found.number = ++k->end->entries;
    k->now.found.entry = (struct scan_entry){ .start = start, .end = start, .line = line };
}

/* One line, wherever it stands. */
static int
walk_line(struct walk *k, const struct line *line, uint32_t number)
{
    bool starts = is_start(line);
    bool directive = begins(line, "%"); /* stands above the --- that it is for */
    int rc = 0;
    if (directive && !k->open)
        diag_say(k->d, DIAG_ERROR, (struct diag_place){ number, 1 }, "directive",
            "a record has no directives; leave the %% line out");
    if (starts || (!k->open && !is_blank(line) && !directive)) {
        rc = close_entry(k);
        open_entry(k, line->start, number);
    }
    if (starts)
        take_start(k, line, number);
    else if (k->open)
        take_line(k, line, number);
    if (k->open && !k->now.ended)
        k->now.found.entry.end = line->next;
    return rc;
}

static void
say_broken(const struct walk *k)
{
    const struct scan_chain *c = k->chain;
    if (c->broken == 0)
        return;
    struct diag_place place = { c->first_line, 1 };
    if (c->fits_before > 0)
        diag_say(k->d, DIAG_WARNING, place, "digest", "the digest of entry %" PRIu32 " does not fit what stands above it: "
            "something between line %" PRIu32 " and this line was changed after it was written", c->first_broken, c->before_line);
    else
        diag_say(k->d, DIAG_WARNING, place, "digest", "the digest of entry %" PRIu32 " does not fit what stands above it: "
            "this line or something above it was changed after it was written", c->first_broken);
    if (c->fits_before > 0)
        diag_say(k->d, DIAG_NOTE, (struct diag_place){ c->before_line, 1 }, NULL, "down to here every digest fits");
    if (c->fits_again > 0)
        diag_say(k->d, DIAG_NOTE, (struct diag_place){ k->again_line, 1 }, NULL,
            "from entry %" PRIu32 " on digests fit again: the change was made before that entry was written", c->fits_again);
}

/* Walk from end->size on; `k` and *end say what stands above. */
static int
walk_on(struct walk *k)
{
    struct scan_end *end = k->end;
    struct line line;
    unsigned char any[DIGEST_BYTES];
    int rc = 0;
    for (uint32_t number = end->lines + 1; rc == 0 && next_line(&k->w, &line); number++) {
        rc = walk_line(k, &line, number);
        end->size = line.next;
        end->lines = number;
        end->digest_cut = !k->w.ended && hex_of(&line, "digest: ", any, DIGEST_BYTES);
        end->ended = k->w.ended;
    }
    if (rc == 0)
        rc = close_entry(k);
    if (k->w.hashing)
        hash_to(&k->w, end->size);
    end->hash = k->w.hash;
    if (k->w.failed)
        diag_say(k->d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "file", "cannot be read to its end");
    free(k->w.bytes);
    return k->w.no_memory ? -1 : rc;
}

int
scan_walk(const struct source *source, struct diag *d, scan_take *take, void *with, bool hash_all,
    struct scan_chain *chain, struct scan_end *end)
{
    struct walk k = { .w = { .source = source }, .chain = chain, .end = end, .d = d, .take = take, .with = with };
    *chain = (struct scan_chain){ 0 };
    *end = (struct scan_end){ .ended = true };
    if (hash_all)
        hash_to(&k.w, 0);
    int rc = walk_on(&k);
    say_broken(&k);
    return rc;
}

int
scan_go_on(const struct source *source, struct diag *d, scan_take *take, void *with, struct scan_end *end)
{
    struct scan_chain chain = { 0 };
    struct walk k = { .w = { .source = source, .start = end->size, .hash = end->hash, .hashed = end->size, .hashing = true },
        .now = { .words = true }, .open = end->entries > 0, .chain = &chain, .end = end, .d = d, .take = take, .with = with };
    k.now.found.number = 0; /* what ends here was met before */
    end->lines -= !end->ended;
    return walk_on(&k);
}

int
scan_keep(struct scan *scan, const struct scan_found *found)
{
    struct scan_entry *e = room_for(scan->entry, &scan->room, scan->n, sizeof *e);
    if (!e)
        return -1;
    scan->entry = e;
    e[scan->n++] = found->entry;
    return 0;
}

static int
keep_entry(void *with, const struct scan_found *found)
{
    return scan_keep(with, found);
}

int
scan_read(struct scan *scan, const struct source *source, bool hash_all, struct diag *d)
{
    *scan = (struct scan){ 0 };
    return scan_walk(source, d, keep_entry, scan, hash_all, &scan->chain, &scan->end);
}
