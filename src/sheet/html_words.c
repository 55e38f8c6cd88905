/* html_words.c - text of a record in HTML: what goes left stands apart, and a figure stays whole */
#include "html.h"

#include "canvas_out.h"
#include "fold.h"

#include "rodbook/text.h"

#include <string.h>

/* ---- what goes left ---- */

#define RIGHT_TO_LEFT_FIRST 0xd6 /* the first byte of any letter that is written so is this or above: U+0590 is d6 90 */

/* Letters that are written from right to left. Source: Unicode Standard Annex 9, table 4, the blocks whose default is R or AL. */
static bool
goes_left(uint32_t c)
{
    return (c >= 0x590 && c < 0x900) || (c >= 0xfb1d && c < 0xfe00) || (c >= 0xfe70 && c < 0xff00) || (c >= 0x10800 && c < 0x11000)
        || (c >= 0x1e800 && c < 0x1f000);
}

/* Bytes up to the last letter that goes left with nothing but such letters, blanks and signs between words before it. The
 * sheets put : and ; between texts of different origin, which are no part of a run. */
static size_t
left_run(const char *text)
{
    size_t run = 0;
    uint32_t c;
    for (const char *p = text; *p;) {
        p += text_next(p, &c);
        if (goes_left(c))
            run = (size_t)(p - text);
        else if (c >= 0x80 || !strchr(" ,.-'\"()/!?", (int)c))
            break;
    }
    return run;
}

static void
escape_some(const char *text, size_t n, FILE *out)
{
    char piece[128];
    while (n > 0) {
        size_t most = n < sizeof piece ? n : sizeof piece - 1;
        while (most < n && most > sizeof piece - 4 && ((unsigned char)text[most] & 0xc0) == 0x80)
            most--; /* no character is cut in two */
        memcpy(piece, text, most);
        piece[most] = '\0';
        canvas_escape(piece, out);
        text += most;
        n -= most;
    }
}

bool
html_may_go_left(const char *text)
{
    while (*text && (unsigned char)*text < RIGHT_TO_LEFT_FIRST)
        text++;
    return *text != '\0';
}

/* ---- what stays on one line ---- */

#define PHRASE_MOST 24 /* bytes: -9999' 11-63/64" has 16, "outward 1-11/16 in" 18; what is longer is broken, lest it leave the page */

static bool
is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool
is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (unsigned char)c >= 0x80;
}

/* Bytes of a figure at text: digits with signs, points and strokes, and the blank between feet and inches. 0 where there is none. */
static size_t
figure_at(const char *text)
{
    size_t n = *text == '-' || *text == '+';
    if (!is_digit(text[n]))
        return 0;
    while (is_digit(text[n]) || (text[n] && strchr("-./'\"", text[n])) || (text[n] == ' ' && text[n - 1] == '\'' && is_digit(text[n + 1])))
        n++;
    return n;
}

/* Bytes of the one of `words` that text begins with, as a whole word; 0 where it begins with none. */
static size_t
word_at(const char *text, const char *const *words)
{
    for (; *words; words++) {
        size_t n = strlen(*words);
        if (strncmp(text, *words, n) == 0 && !is_letter(text[n]) && !is_digit(text[n]))
            return n;
    }
    return 0;
}

/* Those that a figure in smaller units may follow, and "1 in 120", which is a slope. */
static const char *const coarse[] = { "ft", "deg", "in", NULL };

/* Bytes of a blank and a unit, with what it is divided by. */
static size_t
unit_at(const char *text)
{
    size_t n = *text == ' ' ? word_at(text + 1, fold_units) : 0;
    if (n == 0)
        return 0;
    n++;
    return text[n] == '/' ? n + strcspn(text + n, " ,;:)") : n;
}

/* Bytes of a figure with its unit, and with the smaller one behind it: "9 ft 4-1/2 in", "89 deg 57.8 min", "1 in 120". */
static size_t
measure_at(const char *text)
{
    size_t n = figure_at(text), unit = n > 0 ? unit_at(text + n) : 0;
    if (unit == 0)
        return n;
    size_t whole = n + unit, finer = word_at(text + n + 1, coarse) && text[whole] == ' ' ? figure_at(text + whole + 1) : 0;
    if (finer == 0)
        return whole;
    return whole + 1 + finer + unit_at(text + whole + 1 + finer);
}

/* The same, behind the word that says which way. As much of it as is not too long for a line; 0 where there is none. */
static size_t
phrase_at(const char *text)
{
    size_t lead = word_at(text, fold_leads), n = lead > 0 && text[lead] == ' ' ? measure_at(text + lead + 1) : 0;
    if (n > 0 && lead + 1 + n <= PHRASE_MOST)
        return lead + 1 + n;
    n = measure_at(text);
    return n <= PHRASE_MOST ? n : figure_at(text);
}

/* Browsers break a line at blanks and behind the hyphen of 4-13/16: 13/16 alone on a line would be misread. */
static bool
is_fragile(const char *phrase, size_t n)
{
    return n > 1 && n <= PHRASE_MOST && (memchr(phrase + 1, '-', n - 1) || memchr(phrase, ' ', n));
}

/* Bytes of the text at hand that go out as one piece, and the element around it; NULL for none. */
static size_t
next_piece(const char *text, bool begins, const char **element)
{
    uint32_t c;
    size_t n = text_next(text, &c), run = goes_left(c) ? left_run(text) : 0;
    *element = NULL;
    if (run > 0) {
        *element = "bdi";
        return run;
    }
    size_t phrase = begins ? phrase_at(text) : 0;
    if (phrase > 0 && is_fragile(text, phrase)) {
        *element = "i";
        return phrase;
    }
    return phrase > 0 ? phrase : n;
}

/* True where a word or figure may begin behind c, the last byte of what stands before: of a blank, too, that breaks no line. */
static bool
may_begin(char c)
{
    return c == ' ' || c == '(' || c == '\xa0' || c == '\0';
}

/* Nothing in it stands apart: quick, for nearly all. */
static bool
is_simple(const char *text)
{
    const char *digit = strpbrk(text, "0123456789");
    return (!digit || !strpbrk(text, " -")) && !html_may_go_left(text);
}

/* ---- texts ---- */

void
html_words(const char *text, FILE *out)
{
    if (is_simple(text)) {
        canvas_escape(text, out);
        return;
    }
    const char *plain = text, *element;
    char before = '\0';
    for (size_t n; *text; text += n) {
        n = next_piece(text, may_begin(before), &element);
        before = text[n - 1];
        if (!element)
            continue;
        escape_some(plain, (size_t)(text - plain), out);
        fprintf(out, "<%s>", element);
        escape_some(text, n, out);
        fprintf(out, "</%s>", element);
        plain = text + n;
    }
    canvas_escape(plain, out);
}

void
html_name(const char *name, FILE *out)
{
    bool apart = html_may_go_left(name);
    fputs(apart ? "<bdi>" : "", out);
    canvas_escape(name, out);
    fputs(apart ? "</bdi>" : "", out);
}
