/* html_flow.c - text of a record in HTML, and text sheets that were taken apart */
#include "html.h"

#include "canvas_out.h"

#include "rodbook/text.h"

#include <string.h>

/* ---- text ---- */

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

static bool
may_go_left(const char *text)
{
    while (*text && (unsigned char)*text < RIGHT_TO_LEFT_FIRST)
        text++;
    return *text != '\0';
}

#define FIGURE_MOST 24 /* bytes: 9999' 11-63/64" and a sign have 16; what is longer is broken, lest it leave the page */

static bool
is_digit(char c)
{
    return c >= '0' && c <= '9';
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

/* Browsers break a line behind the hyphen of 4-13/16, and behind feet: 13/16 alone on a line would be misread. */
static bool
is_fragile(const char *figure, size_t n)
{
    return n <= FIGURE_MOST && (memchr(figure + 1, '-', n - 1) || memchr(figure, ' ', n));
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
    size_t figure = begins ? figure_at(text) : 0;
    if (figure > 0 && is_fragile(text, figure)) {
        *element = "i";
        return figure;
    }
    return figure > 0 ? figure : n;
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
    const char *hyphen = strpbrk(text, "-'");
    return !hyphen && !may_go_left(text);
}

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
    bool apart = may_go_left(name);
    fputs(apart ? "<bdi>" : "", out);
    canvas_escape(name, out);
    fputs(apart ? "</bdi>" : "", out);
}

/* ---- tables ---- */

/* "/4.62/" in a column of numbers is 4.62, struck. */
static bool
is_struck(const struct table_column *column, const char *text)
{
    size_t n = strlen(text);
    return column->right && n > 2 && text[0] == '/' && text[n - 1] == '/';
}

static void
put_text(const struct capture_table *t, size_t i, char *text, FILE *out)
{
    if (is_struck(&t->column[i], text)) {
        text[strlen(text) - 1] = '\0';
        fputs("<s><span class=\"sr\">struck </span>", out);
        canvas_escape(text + 1, out);
        fputs("</s>", out);
    } else if (i + 1 < t->columns && may_go_left(text)) {
        html_name(text, out);
    } else {
        html_words(text, out); /* remarks, and lengths in words */
    }
}

/* What a column is to the style sheet: numbers, remarks, or the names that stay in sight; "" for the rest. */
static const char *
class_of(const struct capture_table *t, size_t i)
{
    size_t key = 0;
    while (key < t->columns && (t->column[key].right || !t->filled[key]))
        key++;
    if (t->column[i].right)
        return " class=\"n\"";
    return i == key ? " class=\"key\"" : i + 1 == t->columns ? " class=\"text\"" : "";
}

static void
put_row(const struct capture_table *t, const char **p, FILE *out)
{
    char text[SHEET_REMARK * 2];
    bool first = true;
    fputs("<tr>", out);
    for (size_t i = 0; i < t->columns; i++) {
        size_t bytes;
        const char *cell = table_take_cell(p, &bytes);
        if (!t->filled[i])
            continue;
        snprintf(text, sizeof text, "%.*s", (int)bytes, cell);
        fprintf(out, "<%s%s>", first ? "th scope=\"row\"" : "td", class_of(t, i));
        put_text(t, i, text, out);
        fputs(first ? "</th>" : "</td>", out);
        first = false;
    }
    fputs("</tr>\n", out);
}

static void
put_headings(const struct capture_table *t, FILE *out)
{
    fputs("<thead><tr>", out);
    for (size_t i = 0; i < t->columns; i++) {
        if (!t->filled[i])
            continue;
        fprintf(out, "<th scope=\"col\"%s>", class_of(t, i));
        canvas_escape(t->column[i].heading, out);
        fputs("</th>", out);
    }
    fputs("</tr></thead>\n", out);
}

/* `number` counts the tables below one heading. */
static void
put_table(const struct capture_table *t, const char *heading, size_t number, const char *id, size_t n, FILE *out)
{
    const char *p = t->bytes;
    fprintf(out, "<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-labelledby=\"%s-%zu\">\n<table>\n<caption id=\"%s-%zu\">", id, n, id, n);
    html_words(heading, out);
    if (number > 1)
        fprintf(out, ", part %zu", number);
    fputs("</caption>\n", out);
    put_headings(t, out);
    fputs("<tbody>\n", out);
    for (size_t i = 0; i < t->cells; i += t->columns)
        put_row(t, &p, out);
    fputs("</tbody>\n</table>\n</div>\n", out);
}

/* ---- blocks ---- */

void
html_flow(const struct capture *c, size_t from, const char *id, FILE *out)
{
    const char *heading = "Table";
    size_t below = 0;
    for (size_t i = from; i < c->blocks; i++) {
        const struct capture_block *b = &c->block[i];
        const char *text = c->text + b->text;
        switch (b->kind) {
        case CAPTURE_HEADING:
            fputs("<h3>", out);
            html_words(text, out);
            fputs("</h3>\n", out);
            heading = text;
            below = 0;
            break;
        case CAPTURE_TEXT:
            fprintf(out, "<p class=\"level-%u\">", b->level > 2 ? 2 : (unsigned)b->level);
            html_words(text, out);
            fputs("</p>\n", out);
            break;
        case CAPTURE_TABLE:
            put_table(&c->table[b->table], heading, ++below, id, b->table + 1, out);
            break;
        }
    }
}
