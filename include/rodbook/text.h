/* text.h - UTF-8 text as people read it, and the table of names */
#ifndef RODBOOK_TEXT_H
#define RODBOOK_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/*
 * text_fault - the first byte that a record may not hold
 *
 * Result
 *   NULL where text[n] is whole UTF-8 of printable characters, tabs and line
 *   feeds; else the first byte at fault: a control character, a broken
 *   sequence, a byte order mark, or U+0085, U+2028 and U+2029, which some
 *   readers count as line ends and others do not
 *
 * Source    YAML 1.2.2, section 5.1, c-printable; Unicode 15, table 3-7.
 */
const char *text_fault(const char *text, size_t n);

/* True where text[n] is printable ASCII and line feeds and nothing else: quick, for whole blocks. */
bool text_is_ascii(const char *text, size_t n);

/* What stands at a fault, closed by a zero, and what to do about it. */
const char *text_fault_name(const char *at);
const char *text_fault_advice(const char *at);

/* True where text[n] may stand as a name or note: no control character and
 * no mark that reverses the direction of what stands beside it
 * (Unicode Standard Annex 9: U+202A to U+202E, U+2066 to U+2069, U+200E, U+200F). */
bool text_is_plain(const char *text, size_t n);

/* memcmp() == 0 for a few bytes, without the call. */
static inline bool
text_same(const char *a, const char *b, size_t n)
{
    while (n > 0 && *a == *b) {
        a++;
        b++;
        n--;
    }
    return n == 0;
}

/* Columns that closed UTF-8 text takes on a terminal. */
size_t text_width(const char *text);

/* The character at p, of closed UTF-8 text that is not at its end; its bytes, 1 where the sequence is broken (U+FFFD then). */
size_t text_next(const char *p, uint32_t *character);

/* The known word nearest to text[n], or NULL where none is near: at most one
 * edit in three letters. Edits are one letter more, less or other, or two
 * neighbours exchanged (Damerau, CACM 7 (1964) 171). */
const char *text_nearest(const char *text, size_t n, const char *const *words, size_t count);

#define TEXT_LIST 512 /* bytes: room for all keys or words that one place may have */

/* All words as a crew is shown them, "bs, fs, is"; what has no room is left out and stands as "...". Returns `list`. */
const char *text_list(char list[TEXT_LIST], const char *const *words, size_t count);

#define TEXT_NONE UINT32_MAX /* no name */

/* Every name of a record once; a name is known by its number from then on. */
struct names_slot {
    uint32_t hash;
    uint32_t number; /* number + 1; 0 in an empty slot */
};

struct names_place {
    uint32_t start; /* in bytes */
    uint32_t after; /* the name that was asked for after this one the last time: a crew walks its
                       marks in the same order round after round */
};

struct names {
    char *bytes; /* the names, each closed by a zero */
    size_t used, bytes_room;
    struct names_place *place; /* [n] */
    size_t n, place_room;
    uint32_t last;           /* the number asked for last */
    struct names_slot *slot; /* [slots] */
    size_t slots;            /* a power of two, or 0 */
};

void names_release(struct names *names);

/* The number of text[n], given to it now if it is new; TEXT_NONE without memory. */
uint32_t names_number(struct names *names, const char *text, size_t n);

/* The number of text[n]; TEXT_NONE where it is not known. */
uint32_t names_find(const struct names *names, const char *text, size_t n);

/* The closed text of a number; good until the next names_number(). */
const char *names_text(const struct names *names, uint32_t number);

#endif
