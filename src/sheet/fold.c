#include "fold.h"

#include "rodbook/text.h"

#include "table.h"

#include <stdlib.h>
#include <string.h>

/* ---- values ---- */

/* A word between blanks, without the brackets and stops around it. */
struct word {
    const char *text;
    size_t n;
};

static struct word
word_before(const char *text, size_t end)
{
    size_t from = end;
    while (from > 0 && text[from - 1] != ' ')
        from--;
    while (from < end && text[from] == '(')
        from++;
    return (struct word){ text + from, end - from };
}

static struct word
word_behind(const char *text, size_t n, size_t from)
{
    size_t end = from;
    while (end < n && text[end] != ' ')
        end++;
    while (end > from && strchr(",;:.?)", text[end - 1]))
        end--;
    return (struct word){ text + from, end - from };
}

static bool
is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* "3", "4-1/2", "-0.02" */
static bool
is_number(struct word w)
{
    size_t sign = w.n > 0 && (*w.text == '-' || *w.text == '+');
    for (size_t i = sign; i < w.n; i++)
        if (!is_digit(w.text[i]) && (i == sign || !strchr("-./", w.text[i])))
            return false;
    return w.n > sign && is_digit(w.text[w.n - 1]);
}

static bool
begins_number(struct word w)
{
    return w.n > 0 && (is_digit(*w.text) || (w.n > 1 && (*w.text == '-' || *w.text == '+') && is_digit(w.text[1])));
}

static bool
is_one_of(struct word w, const char *const *words)
{
    for (; *words; words++)
        if (strlen(*words) == w.n && memcmp(*words, w.text, w.n) == 0)
            return true;
    return false;
}

const char *const fold_units[] = { "in", "ft", "mm", "cm", "m", "km", "deg", "min", "ft2", "ft3", "yd2", "yd3", "m2", "m3", "lb", "kg", "t",
    "short tons", "short ton", "%", NULL };

const char *const fold_leads[] = { "up", "down", "cut", "fill", "high", "low", "long", "short", "inward", "outward", "open", "closed", "under",
    "+-", "entry", "entries", "row", "rows", "set-up", "set-ups", "sight", "page", "position", "HI", "BS", "FS", "IS", NULL };

bool
fold_joins(const char *text, size_t n, size_t at)
{
    struct word before = word_before(text, at), behind = word_behind(text, n, at + 1);
    if (before.n == 0 || behind.n == 0)
        return false;
    if (is_number(before))
        return is_one_of(behind, fold_units);
    if (!begins_number(behind))
        return false;
    if (before.text[before.n - 1] == '\'' && begins_number(before))
        return true;
    size_t begin = (size_t)(before.text - text);
    bool unit = begin > 0 && is_one_of(before, fold_units) && is_number(word_before(text, begin - 1));
    return unit || is_one_of(before, fold_leads);
}

#define VALUE_MOST 32 /* bytes: 9 ft 4-1/2 in has 12; a note that is nothing but such is broken all the same */

size_t
fold_piece(const char *text, size_t n)
{
    size_t end = 0;
    do {
        end += end > 0;
        while (end < n && text[end] != ' ')
            end++;
    } while (end < n && end < VALUE_MOST && fold_joins(text, n, end));
    return end;
}

/* ---- pieces ---- */

/* Columns of one letter, whose bytes begin at `text`; *bytes says how many. */
static size_t
letter_width(const char *text, size_t n, size_t *bytes)
{
    char one[8];
    *bytes = 1;
    while (*bytes < n && *bytes < sizeof one - 1 && ((unsigned char)text[*bytes] & 0xc0) == 0x80)
        ++*bytes;
    memcpy(one, text, *bytes);
    one[*bytes] = '\0';
    return text_width(one);
}

size_t
fold_width(const char *text, size_t n)
{
    size_t width = 0;
    for (size_t bytes; n > 0; text += bytes, n -= bytes)
        width += letter_width(text, n, &bytes);
    return width;
}

struct fold_text
fold_take(struct fold_text *rest, size_t width, size_t *shown)
{
    size_t used = 0, at = 0, blank = 0, blank_used = 0, bytes = 0;
    bool joins = false; /* the blank is within a value */
    while (at < rest->n) {
        size_t letter = letter_width(rest->text + at, rest->n - at, &bytes);
        bool inside = rest->text[at] == ' ' && fold_joins(rest->text, rest->n, at);
        if (rest->text[at] == ' ' && at > 0 && (!inside || joins || blank == 0)) {
            joins = inside;
            blank = at;
            blank_used = used;
        }
        if (at > 0 && used + letter > width)
            break;
        used += letter;
        at += bytes;
    }
    bool broken = at < rest->n && blank > 0;
    struct fold_text piece = { rest->text, broken ? blank : at };
    *shown = broken ? blank_used : used;
    rest->text += piece.n;
    rest->n -= piece.n;
    for (; broken && piece.n > 1 && piece.text[piece.n - 1] == ' '; piece.n--)
        --*shown;
    for (; rest->n > 0 && *rest->text == ' '; rest->n--)
        rest->text++;
    return piece;
}

/* ---- pages ---- */

#define INDENT 4       /* what is broken off a line stands so much farther in... */
#define INDENT_MOST 40 /* ...than the line, which stands so far in at most */

/* Lines on their way out. */
struct page {
    FILE *out;
    char *line; /* the begin of one, whose end has not been written yet */
    size_t n, room;
};

static void
print_line(FILE *out, const char *line, size_t n)
{
    size_t indent = 0, shown;
    while (indent < n && indent < INDENT_MOST && line[indent] == ' ')
        indent++;
    struct fold_text rest = { line + indent, n - indent };
    for (size_t before = indent; rest.n > 0; before = indent + INDENT) {
        struct fold_text piece = fold_take(&rest, TABLE_PAGE - before, &shown);
        fprintf(out, "%*s%.*s\n", (int)before, "", (int)piece.n, piece.text);
    }
}

static bool
keep(struct page *p, const char *bytes, size_t n)
{
    if (n == 0)
        return true;
    if (p->n + n > p->room) {
        size_t room = (p->n + n) * 2 + 256;
        char *grown = realloc(p->line, room);
        if (!grown)
            return false;
        p->line = grown;
        p->room = room;
    }
    memcpy(p->line + p->n, bytes, n);
    p->n += n;
    return true;
}

/* Whole lines: what fits goes on as it is. */
static void
print_lines(struct page *p, const char *bytes, size_t n)
{
    const char *from = bytes, *end = bytes + n;
    for (const char *line = bytes, *lf; line < end; line = lf + 1) {
        lf = memchr(line, '\n', (size_t)(end - line));
        if (lf - line <= TABLE_PAGE) /* bytes are columns, or more */
            continue;
        fwrite(from, 1, (size_t)(line - from), p->out);
        print_line(p->out, line, (size_t)(lf - line));
        from = lf + 1;
    }
    fwrite(from, 1, (size_t)(end - from), p->out);
}

static ssize_t
page_write(void *cookie, const char *bytes, size_t n)
{
    struct page *p = cookie;
    const char *last = memrchr(bytes, '\n', n);
    size_t whole = last ? (size_t)(last - bytes) + 1 : 0;
    if (last && p->n > 0) { /* the end of the line that was begun */
        const char *lf = memchr(bytes, '\n', n);
        size_t k = (size_t)(lf - bytes) + 1;
        if (!keep(p, bytes, k))
            return 0;
        print_lines(p, p->line, p->n);
        p->n = 0;
        print_lines(p, bytes + k, whole - k);
    } else if (last) {
        print_lines(p, bytes, whole);
    }
    return keep(p, bytes + whole, n - whole) ? (ssize_t)n : 0;
}

static int
page_close(void *cookie)
{
    struct page *p = cookie;
    if (p->n > 0)
        fwrite(p->line, 1, p->n, p->out);
    free(p->line);
    free(p);
    return 0;
}

FILE *
sheet_page(FILE *out)
{
    struct page *p = malloc(sizeof *p);
    if (!p)
        return NULL;
    *p = (struct page){ .out = out };
    FILE *page = fopencookie(p, "w", (cookie_io_functions_t){ .write = page_write, .close = page_close });
    if (!page)
        free(p);
    return page;
}
