#include "rodbook/text.h"

#include "rodbook/room.h"

#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <wchar.h>

/* One code point at p; its bytes, or 0 where the sequence is broken. */
static size_t
decode(const char *text, size_t left, uint32_t *point)
{
    const unsigned char *p = (const unsigned char *)text;
    static const uint32_t least[] = { 0, 0, 0x80, 0x800, 0x10000 };
    size_t n = p[0] < 0x80 ? 1 : p[0] < 0xc2 ? 0 : p[0] < 0xe0 ? 2 : p[0] < 0xf0 ? 3 : p[0] < 0xf5 ? 4 : 0;
    if (n == 0 || n > left)
        return 0;
    uint32_t c = n == 1 ? p[0] : p[0] & (0x7fU >> n);
    for (size_t i = 1; i < n; i++) {
        if ((p[i] & 0xc0) != 0x80)
            return 0;
        c = c << 6 | (p[i] & 0x3fU);
    }
    if (c < least[n] || c > 0x10ffff || (c >= 0xd800 && c <= 0xdfff))
        return 0;
    *point = c;
    return n;
}

size_t
text_next(const char *p, uint32_t *character)
{
    size_t n = decode(p, strnlen(p, 4), character);
    if (n > 0)
        return n;
    *character = 0xfffd;
    return 1;
}

static bool
may_stand(uint32_t c)
{
    if (c < 0x20)
        return c == '\t' || c == '\n';
    return !(c >= 0x7f && c <= 0x9f) && c != 0x2028 && c != 0x2029 && c != 0xfeff && c != 0xfffe && c != 0xffff;
}

/* True where none of eight bytes is above 0x7e or below 0x20. */
static bool
eight_plain(const char *p)
{
    const uint64_t one = UINT64_C(0x0101010101010101), high = one * 0x80;
    uint64_t x;
    memcpy(&x, p, 8);
    uint64_t del = (x ^ (one * 0x7f)) - one; /* its high bit falls out only beside other faults */
    uint64_t low = x - one * 0x20;
    return ((x | low | del) & high) == 0;
}

#define BLOCK 64 /* bytes looked at together; a constant, so that the compiler can use vectors */

static bool
is_ascii_block(const char *p)
{
    unsigned char bad = 0;
    for (size_t i = 0; i < BLOCK; i++) {
        unsigned char c = (unsigned char)p[i];
        bad |= (unsigned char)(((unsigned char)(c - 0x20) > 0x7e - 0x20) & (c != '\n'));
    }
    return bad == 0;
}

bool
text_is_ascii(const char *text, size_t n)
{
    size_t i = 0;
    for (; i + BLOCK <= n; i += BLOCK)
        if (!is_ascii_block(text + i))
            return false;
    for (; i < n; i++)
        if (text[i] != '\n' && (text[i] < 0x20 || text[i] > 0x7e))
            return false;
    return true;
}

const char *
text_fault(const char *text, size_t n)
{
    const char *p = text, *end = text + n;
    while (p < end) {
        if (end - p >= 8 && eight_plain(p)) {
            p += 8;
            continue;
        }
        if ((unsigned char)*p >= 0x20 && (unsigned char)*p < 0x7f) {
            p++;
            continue;
        }
        uint32_t c;
        size_t k = decode(p, (size_t)(end - p), &c);
        if (k == 0 || !may_stand(c))
            return p;
        p += k;
    }
    return NULL;
}

struct fault {
    const char *bytes; /* that it begins with */
    const char *name, *advice;
};

static const struct fault *
fault_at(const char *at)
{
    static const char save[] = "save the file as plain UTF-8";
    static const struct fault faults[] = {
        { "\xef\xbb\xbf", "a byte order mark stands here", "save the file as UTF-8 without one" },
        { "\xff\xfe", "the file is not UTF-8 (it looks like UTF-16)", save },
        { "\xfe\xff", "the file is not UTF-8 (it looks like UTF-16)", save },
        { "\xc2\x85", "U+0085 stands here, a line end to some readers only", "end lines with a line feed" },
        { "\xe2\x80\xa8", "U+2028 stands here, a line end to some readers only", "end lines with a line feed" },
        { "\xe2\x80\xa9", "U+2029 stands here, a line end to some readers only", "end lines with a line feed" },
        { "\r", "a carriage return without a line feed stands here", "end lines with a line feed" },
        { "\x7f", "a control character stands here", "write the text again" },
    };
    static const struct fault control = { "", "a control character stands here", "write the text again" };
    static const struct fault broken = { "", "a byte here is no UTF-8",
        "save the file as plain UTF-8, or write the text again" };
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++)
        if (strncmp(faults[i].bytes, at, strlen(faults[i].bytes)) == 0)
            return &faults[i];
    return (unsigned char)at[0] < 0x20 ? &control : &broken;
}

const char *
text_fault_name(const char *at)
{
    return fault_at(at)->name;
}

const char *
text_fault_advice(const char *at)
{
    return fault_at(at)->advice;
}

bool
text_is_plain(const char *text, size_t n)
{
    size_t i = 0;
    while (i < n && (unsigned char)text[i] >= 0x20 && (unsigned char)text[i] < 0x7f)
        i++;
    while (i < n) {
        uint32_t c;
        size_t k = decode(text + i, n - i, &c);
        bool turns = (c >= 0x202a && c <= 0x202e) || (c >= 0x2066 && c <= 0x2069) || c == 0x200e || c == 0x200f;
        if (k == 0 || !may_stand(c) || c == '\n' || c == '\t' || turns)
            return false;
        i += k;
    }
    return true;
}

/* Columns of text with letters beyond ASCII, by the C library's own table. */
static size_t
wide_width(const char *text)
{
    size_t n = 0, left = strlen(text);
    locale_t utf8 = newlocale(LC_CTYPE_MASK, "C.UTF-8", (locale_t)0);
    locale_t old = utf8 ? uselocale(utf8) : (locale_t)0;
    while (left > 0) {
        uint32_t c = '?';
        size_t k = decode(text, left, &c);
        if (k == 0)
            k = 1;
        int w = utf8 ? wcwidth((wchar_t)c) : 1;
        n += w > 0 ? (size_t)w : 0;
        text += k;
        left -= k;
    }
    if (utf8) {
        uselocale(old);
        freelocale(utf8);
    }
    return n;
}

size_t
text_width(const char *text)
{
    size_t n = 0;
    for (; text[n]; n++)
        if ((unsigned char)text[n] >= 0x80)
            return wide_width(text);
    return n;
}

#define WORD_MOST 32

static size_t
least_of(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Edits between two words; both at most WORD_MOST bytes. */
static size_t
edits(const char *a, size_t na, const char *b, size_t nb)
{
    size_t d[WORD_MOST + 1][WORD_MOST + 1];
    for (size_t i = 0; i <= na; i++)
        d[i][0] = i;
    for (size_t j = 0; j <= nb; j++)
        d[0][j] = j;
    for (size_t i = 1; i <= na; i++)
        for (size_t j = 1; j <= nb; j++) {
            size_t other = d[i - 1][j - 1] + (a[i - 1] != b[j - 1]);
            d[i][j] = least_of(other, least_of(d[i - 1][j], d[i][j - 1]) + 1);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                d[i][j] = least_of(d[i][j], d[i - 2][j - 2] + 1);
        }
    return d[na][nb];
}

const char *
text_nearest(const char *text, size_t n, const char *const *words, size_t count)
{
    const char *best = NULL;
    size_t least = n < 3 ? 1 : n / 3;
    if (n == 0 || n > WORD_MOST)
        return NULL;
    for (size_t i = 0; i < count; i++) {
        size_t e = edits(text, n, words[i], least_of(strlen(words[i]), WORD_MOST));
        if (e <= least && (!best || e < least)) {
            least = e;
            best = words[i];
        }
    }
    return best;
}

const char *
text_list(char list[TEXT_LIST], const char *const *words, size_t count)
{
    static const char more[] = ", ...";
    size_t used = 0;
    list[0] = '\0';
    for (size_t i = 0; i < count; i++) {
        const char *between = i > 0 ? ", " : "";
        size_t n = strlen(between) + strlen(words[i]);
        if (n + sizeof more > TEXT_LIST - used) {
            memcpy(list + used, more, sizeof more);
            break;
        }
        used += (size_t)snprintf(list + used, TEXT_LIST - used, "%s%s", between, words[i]);
    }
    return list;
}

/* FNV-1a, 32 bits (Fowler, Noll, Vo). */
static uint32_t
hash_of(const char *text, size_t n)
{
    uint32_t h = 2166136261U;
    for (size_t i = 0; i < n; i++)
        h = (h ^ (unsigned char)text[i]) * 16777619U;
    return h;
}

void
names_release(struct names *names)
{
    free(names->bytes);
    free(names->place);
    free(names->slot);
    *names = (struct names){ 0 };
}

const char *
names_text(const struct names *names, uint32_t number)
{
    return number < names->n ? names->bytes + names->place[number].start : "";
}

static bool
is_name(const struct names *names, uint32_t number, const char *text, size_t n)
{
    size_t start = names->place[number].start;
    return names->used - start > n && names->bytes[start + n] == '\0' && text_same(names->bytes + start, text, n);
}

/* The slot that holds the text, or the empty one where it belongs. */
static struct names_slot *
slot_of(const struct names *names, uint32_t hash, const char *text, size_t n)
{
    size_t i = hash & (names->slots - 1);
    for (; names->slot[i].number; i = (i + 1) & (names->slots - 1))
        if (names->slot[i].hash == hash && is_name(names, names->slot[i].number - 1, text, n))
            break;
    return &names->slot[i];
}

static bool
grow_slots(struct names *names)
{
    size_t slots = names->slots ? 2 * names->slots : 256;
    struct names_slot *slot = calloc(slots, sizeof *slot);
    if (!slot)
        return false;
    for (size_t i = 0; i < names->slots; i++) {
        if (!names->slot[i].number)
            continue;
        size_t j = names->slot[i].hash & (slots - 1);
        while (slot[j].number)
            j = (j + 1) & (slots - 1);
        slot[j] = names->slot[i];
    }
    free(names->slot);
    names->slot = slot;
    names->slots = slots;
    return true;
}

static bool
keep_bytes(struct names *names, const char *text, size_t n)
{
    size_t need = names->used + n + 1;
    if (need > UINT32_MAX)
        return false;
    if (need > names->bytes_room) {
        size_t room = need + need / 2 + 256;
        char *grown = realloc(names->bytes, room);
        if (!grown)
            return false;
        names->bytes = grown;
        names->bytes_room = room;
    }
    memcpy(names->bytes + names->used, text, n);
    names->bytes[names->used + n] = '\0';
    names->used = need;
    return true;
}

uint32_t
names_find(const struct names *names, const char *text, size_t n)
{
    if (names->slots == 0)
        return TEXT_NONE;
    const struct names_slot *slot = slot_of(names, hash_of(text, n), text, n);
    return slot->number ? slot->number - 1 : TEXT_NONE;
}

static uint32_t
find_or_add(struct names *names, const char *text, size_t n)
{
    if (4 * (names->n + 1) > 3 * names->slots && !grow_slots(names))
        return TEXT_NONE;
    uint32_t hash = hash_of(text, n);
    struct names_slot *slot = slot_of(names, hash, text, n);
    if (slot->number)
        return slot->number - 1;
    struct names_place *place = room_for(names->place, &names->place_room, names->n, sizeof *place);
    if (!place)
        return TEXT_NONE;
    names->place = place;
    size_t at = names->used;
    if (!keep_bytes(names, text, n))
        return TEXT_NONE;
    place[names->n] = (struct names_place){ (uint32_t)at, TEXT_NONE };
    *slot = (struct names_slot){ hash, (uint32_t)++names->n };
    return slot->number - 1;
}

uint32_t
names_number(struct names *names, const char *text, size_t n)
{
    uint32_t guess = names->last < names->n ? names->place[names->last].after : TEXT_NONE;
    if (guess == TEXT_NONE || !is_name(names, guess, text, n)) {
        guess = find_or_add(names, text, n);
        if (names->last < names->n)
            names->place[names->last].after = guess;
    }
    names->last = guess;
    return guess;
}
