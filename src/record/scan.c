#include "rodbook/scan.h"

#include "rodbook/room.h"
#include "rodbook/text.h"

#include <stdlib.h>
#include <string.h>

#define DIGEST_HEX 64 /* digits of a SHA-256 (FIPS 180-4) */

void
scan_release(struct scan *scan)
{
    free(scan->entry);
    *scan = (struct scan){ 0 };
}

/* One line of the record, without its line feed and the carriage return before it. */
struct line {
    const char *text;
    size_t n;
    size_t next; /* offset of the line behind it */
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
    bool failed;  /* the source could not be read */
    bool no_memory;
};

#define WINDOW 262144 /* bytes; a line may be longer, and the window then grows */

/* Drop what has been read, and fill up; false at the end of the source. */
static bool
fill(struct window *w)
{
    if (w->at > 0) {
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
    *line = (struct line){ p, (size_t)(stop - p) - cr, w->start + w->at, lf && !cr, w->ascii };
    return true;
}

static bool
begins(struct line line, const char *word)
{
    size_t n = strlen(word);
    return line.n >= n && memcmp(line.text, word, n) == 0;
}

static bool
is_blank(struct line line)
{
    for (size_t i = 0; i < line.n; i++)
        if (line.text[i] == '#')
            return true;
        else if (line.text[i] != ' ' && line.text[i] != '\t')
            return false;
    return true;
}

static bool
is_digest_line(struct line line)
{
    const size_t key = strlen("digest: ");
    if (!line.ended || line.n != key + DIGEST_HEX || !begins(line, "digest: "))
        return false;
    for (size_t i = key; i < line.n; i++)
        if (!strchr("0123456789abcdef", line.text[i]))
            return false;
    return true;
}

/* --- alone on its line, or before a blank: the start of a document (YAML 1.2.2, 9.1.4). */
static bool
is_start(struct line line)
{
    return line.n > 0 && line.text[0] == '-' && begins(line, "---") && (line.n == 3 || line.text[3] == ' ' || line.text[3] == '\t');
}

static uint32_t
column_of(struct line line, const char *at)
{
    uint32_t column = 1;
    for (const char *p = line.text; p < at; p++)
        column += ((unsigned char)*p & 0xc0) != 0x80;
    return column;
}

/* What has been seen of the entry that the scan stands in. */
struct progress {
    bool words;    /* a line that is not blank has been met */
    bool numbered; /* and the first such line begins `entry:` */
    bool cut;      /* and it is the beginning of that word, cut short */
    size_t digest; /* offset behind its digest line, or 0 */
    struct diag_place bad; /* the first byte that may not stand; line 0 for none */
    char bad_byte[4];      /* and those behind it */
};

/* True for a text that `entry:` begins with: what a cut can leave of the line. */
static bool
is_cut_word(struct line line)
{
    return line.n < strlen("entry:") && memcmp("entry:", line.text, line.n) == 0;
}

/* What is left of the --- of an entry that was cut off there. */
static bool
is_cut_start(struct line line)
{
    return line.n < 3 && line.n > 0 && memcmp("---", line.text, line.n) == 0;
}

static void
take_line_below_digest(struct line line, uint32_t number, bool bad, struct diag *d)
{
    struct diag_place place = { number, 1 };
    if (bad || is_cut_start(line))
        diag_say(d, DIAG_WARNING, place, "torn", "an entry was begun here and cut off; nothing of it is used");
    else if (!is_blank(line))
        diag_say(d, DIAG_ERROR, place, "digest-line",
            "text stands below the digest of its entry; begin a new entry with ---");
}

static void
take_line(struct line line, uint32_t number, struct progress *p, struct diag *d)
{
    if (line.ascii && p->words && !p->numbered && !p->cut)
        return; /* the body of an entry written by hand */
    const char *bad = line.ascii ? NULL : text_fault(line.text, line.n);
    if (p->digest) {
        take_line_below_digest(line, number, bad != NULL, d);
        return;
    }
    if (bad && !p->bad.line) {
        p->bad = (struct diag_place){ number, column_of(line, bad) };
        memcpy(p->bad_byte, bad, (size_t)(line.text + line.n - bad) < 3 ? (size_t)(line.text + line.n - bad) : 3);
    }
    if (is_blank(line))
        return;
    if (!p->words) {
        p->words = true;
        p->numbered = begins(line, "entry:");
        p->cut = is_cut_word(line);
        return;
    }
    p->cut = false;
    if (p->numbered && is_digest_line(line))
        p->digest = line.next;
}

/* The --- itself; words may follow it on its line. */
static void
take_start(struct line line, uint32_t number, struct progress *p, struct diag *d)
{
    *p = (struct progress){ 0 };
    struct line rest = { line.text + 3, line.n - 3, line.next, line.ended, line.ascii };
    if (!is_blank(rest))
        take_line(rest, number, p, d);
}

static void
close_entry(struct scan_entry *e, const struct progress *p, struct diag *d)
{
    e->state = p->digest ? SCAN_SEALED : SCAN_HAND;
    if (p->digest)
        e->end = p->digest;
    if (!p->digest && (p->numbered || p->cut || !p->words)) {
        e->state = SCAN_TORN;
        diag_say(d, DIAG_WARNING, (struct diag_place){ e->line, 1 }, "torn",
            "this entry was cut off before its digest line; nothing of it is used: book its readings again");
    } else if (p->bad.line) {
        e->state = SCAN_DAMAGED;
        diag_say(d, DIAG_ERROR, p->bad, "bytes", "%s, so this entry is not read; %s", text_fault_name(p->bad_byte),
            text_fault_advice(p->bad_byte));
    }
}

static int
open_entry(struct scan *scan, size_t start, uint32_t line)
{
    struct scan_entry *e = room_for(scan->entry, &scan->room, scan->n, sizeof *e);
    if (!e)
        return -1;
    scan->entry = e;
    e[scan->n++] = (struct scan_entry){ .start = start, .end = start, .line = line };
    return 0;
}

/* One line, wherever it stands; -1 without memory. */
static int
scan_line(struct scan *scan, struct progress *now, struct line line, size_t start, uint32_t number, struct diag *d)
{
    bool starts = is_start(line);
    bool directive = begins(line, "%"); /* stands above the --- that it is for */
    if (directive && scan->n == 0)
        diag_say(d, DIAG_ERROR, (struct diag_place){ number, 1 }, "directive",
            "a record has no directives; leave the %% line out");
    if (starts || (scan->n == 0 && !is_blank(line) && !directive)) {
        if (scan->n > 0)
            close_entry(&scan->entry[scan->n - 1], now, d);
        if (open_entry(scan, start, number) != 0)
            return -1;
    }
    if (starts)
        take_start(line, number, now, d);
    else if (scan->n > 0)
        take_line(line, number, now, d);
    if (scan->n > 0)
        scan->entry[scan->n - 1].end = line.next;
    return 0;
}

int
scan_read(struct scan *scan, const struct source *source, struct diag *d)
{
    struct window w = { .source = source };
    struct progress now = { 0 };
    struct line line;
    int rc = 0;
    *scan = (struct scan){ 0 };
    size_t start = 0;
    for (uint32_t number = 1; rc == 0 && next_line(&w, &line); number++) {
        rc = scan_line(scan, &now, line, start, number, d);
        start = line.next;
    }
    if (scan->n > 0)
        close_entry(&scan->entry[scan->n - 1], &now, d);
    if (w.failed)
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "file", "cannot be read to its end");
    free(w.bytes);
    return w.no_memory ? -1 : rc;
}
