/* html_flow.c - text sheets that were taken apart, in HTML */
#include "html.h"

#include "canvas_out.h"

#include "rodbook/text.h"

#include <string.h>

/* ---- how wide a table is ---- */

/* Hundredths of an em: a digit or letter of wide type, the gap behind a column, the most that a name or a remark keeps to itself. */
#define LETTER_EM 64
#define GAP_EM 100
#define NAME_EM 1200
#define REMARK_EM 1000

/* Where a table of so much is cards: html_style.c. What is left of a screen of 22.5, 40, 50 or 62 em is 2 em less. */
static const struct {
    size_t most; /* hundredths of an em */
    const char *name;
} widths[] = { { 2050, "narrow" }, { 3800, "middle" }, { 4800, "broad" }, { SIZE_MAX, "wide" } };

/* Headings are broken between words: the longest one counts. */
static size_t
heading_width(const char *heading)
{
    char word[SHEET_WORDS];
    size_t most = 0;
    for (size_t n; *heading; heading += n + (heading[n] == ' ')) {
        n = strcspn(heading, " ");
        snprintf(word, sizeof word, "%.*s", (int)n, heading);
        size_t width = text_width(word);
        most = width > most ? width : most;
    }
    return most * LETTER_EM;
}

/* What a column needs whose widest cell has `letters`: numbers all of it, what can be broken no more than is decent. */
static size_t
column_width(const struct capture_table *t, size_t i, size_t letters)
{
    size_t need = letters * LETTER_EM, heading = heading_width(t->column[i].heading);
    size_t most = t->column[i].right ? need : i + 1 == t->columns ? REMARK_EM : NAME_EM;
    need = need < most ? need : most;
    return need > heading ? need : heading;
}

static const char *
width_class(const struct capture_table *t)
{
    char text[SHEET_REMARK * 2];
    size_t letters[TABLE_COLUMNS] = { 0 }, bytes, sum = 0, k = 0;
    const char *p = t->bytes;
    for (size_t cell = 0; cell < t->cells; cell++) {
        const char *words = table_take_cell(&p, &bytes);
        snprintf(text, sizeof text, "%.*s", (int)bytes, words);
        size_t width = text_width(text), *most = &letters[cell % t->columns];
        *most = width > *most ? width : *most;
    }
    for (size_t i = 0; i < t->columns; i++)
        sum += t->filled[i] ? column_width(t, i, letters[i]) + GAP_EM : 0;
    while (sum > widths[k].most)
        k++;
    return widths[k].name;
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
put_cell_text(const struct capture_table *t, size_t i, char *text, FILE *out)
{
    if (is_struck(&t->column[i], text)) {
        text[strlen(text) - 1] = '\0';
        fputs("<s><span class=\"sr\">struck </span>", out);
        canvas_escape(text + 1, out);
        fputs("</s>", out);
    } else if (i + 1 < t->columns && html_may_go_left(text)) {
        html_name(text, out);
    } else {
        html_words(text, out); /* remarks, and lengths in words */
    }
}

/* The column of names that a row is looked for by: "point" where there is one, else the first that holds no numbers. */
static size_t
key_of(const struct capture_table *t)
{
    size_t key = 0;
    for (size_t i = 0; i < t->columns; i++)
        if (t->filled[i] && strcmp(t->column[i].heading, "point") == 0)
            return i;
    while (key < t->columns && (t->column[key].right || !t->filled[key]))
        key++;
    return key;
}

/* What a column is to the style sheet: numbers, names, remarks; "" for the rest. */
static const char *
class_of(const struct capture_table *t, size_t i)
{
    if (t->column[i].right)
        return " class=\"n\"";
    return i == key_of(t) ? " class=\"key\"" : i + 1 == t->columns ? " class=\"text\"" : "";
}

static void
put_cell(const struct capture_table *t, size_t i, bool first, char *text, FILE *out)
{
    fputs(first ? "<th role=\"rowheader\" scope=\"row\"" : "<td role=\"cell\"", out);
    fprintf(out, "%s data-label=\"", class_of(t, i));
    canvas_escape(t->column[i].heading, out);
    fputs("\">", out);
    put_cell_text(t, i, text, out);
    fputs(first ? "</th>" : "</td>", out);
}

static void
put_row(const struct capture_table *t, const char **p, FILE *out)
{
    char text[SHEET_REMARK * 2];
    bool first = true;
    fputs("<tr role=\"row\">", out);
    for (size_t i = 0; i < t->columns; i++) {
        size_t bytes;
        const char *cell = table_take_cell(p, &bytes);
        if (!t->filled[i])
            continue;
        snprintf(text, sizeof text, "%.*s", (int)bytes, cell);
        put_cell(t, i, first, text, out);
        first = false;
    }
    fputs("</tr>\n", out);
}

static void
put_headings(const struct capture_table *t, FILE *out)
{
    fputs("<thead role=\"rowgroup\"><tr role=\"row\">", out);
    for (size_t i = 0; i < t->columns; i++) {
        if (!t->filled[i])
            continue;
        fprintf(out, "<th role=\"columnheader\" scope=\"col\"%s>", class_of(t, i));
        canvas_escape(t->column[i].heading, out);
        fputs("</th>", out);
    }
    fputs("</tr></thead>\n", out);
}

/* `number` counts the tables below one heading. */
static void
put_table(const struct capture_table *t, const char *heading, size_t number, FILE *out)
{
    const char *p = t->bytes;
    fprintf(out, "<table role=\"table\" class=\"flow %s\">\n<caption>", width_class(t));
    html_words(heading, out);
    if (number > 1)
        fprintf(out, ", part %zu", number);
    fputs("</caption>\n", out);
    put_headings(t, out);
    fputs("<tbody role=\"rowgroup\">\n", out);
    for (size_t i = 0; i < t->cells; i += t->columns)
        put_row(t, &p, out);
    fputs("</tbody>\n</table>\n", out);
}

/* ---- blocks ---- */

/* What is being put out: the block at hand, and the heading that it stands below. */
struct flow {
    const struct capture *c;
    FILE *out;
    const char *heading;
    size_t tables;   /* below that heading, so far */
    size_t before;   /* the block of its first table, where nothing but lines leads to it; else 0 */
    bool together;   /* an element is open that holds lines which stay on one page */
    uint32_t level;  /* of the line that it began with */
};

static const struct capture_block *
block_at(const struct flow *f, size_t i)
{
    return i < f->c->blocks ? &f->c->block[i] : NULL;
}

/* True where something stands below a heading that belongs to it: else it is a line of its own. */
static bool
heads(const struct flow *f, size_t i)
{
    const struct capture_block *next = block_at(f, i + 1);
    return next && (next->kind == CAPTURE_TABLE || (next->kind == CAPTURE_TEXT && next->level > 0));
}

/* The block of a table that lines from block i on lead to; 0 where they lead to none. */
static size_t
table_below(const struct flow *f, size_t i)
{
    const struct capture_block *b = block_at(f, i);
    while (b && b->kind == CAPTURE_TEXT)
        b = block_at(f, ++i);
    return b && b->kind == CAPTURE_TABLE ? i : 0;
}

static bool
begins_with_one_of(const char *text, const char *const *words)
{
    for (; *words; words++)
        if (strncmp(text, *words, strlen(*words)) == 0)
            return true;
    return false;
}

/* Lines at the margin that say what came out; so do those that begin with a count, as "10 of 10 holes". */
static const char *const results[] = { "Stone, ", NULL };

/* Parts of what the heading before them names: a row of posts, a frame, the pad. */
static const char *const parts[] = { "Heights", "Plumb", "To do", "Corners", "Corrections", "Each reading", "Volumes", NULL };

static void
put_heading(struct flow *f, size_t i)
{
    const char *text = f->c->text + f->c->block[i].text;
    bool result = !heads(f, i) || (*text >= '0' && *text <= '9') || begins_with_one_of(text, results);
    const char *element = result ? "p" : begins_with_one_of(text, parts) ? "h4" : "h3";
    fprintf(f->out, "<%s%s>", element, result ? " class=\"result\"" : "");
    html_words(text, f->out);
    fprintf(f->out, "</%s>\n", element);
    f->heading = text;
    f->tables = 0;
    f->before = table_below(f, i + 1);
}

static void
put_paragraph(const struct flow *f, size_t i)
{
    const struct capture_block *b = &f->c->block[i];
    const char *text = f->c->text + b->text;
    fprintf(f->out, "<p class=\"level-%u%s%s\">", b->level > 2 ? 2 : (unsigned)b->level, sheet_warns(text) ? " alert" : "",
        i < f->before ? " before" : "");
    html_words(text, f->out);
    fputs("</p>\n", f->out);
}

/* A line and those deeper below it, as a check and its sums, stay on one page. */
static void
keep_together(struct flow *f, size_t i)
{
    const struct capture_block *b = block_at(f, i), *next = block_at(f, i + 1);
    bool goes_on = b && b->kind == CAPTURE_TEXT && f->together && b->level > f->level;
    if (f->together && !goes_on)
        fputs("</div>\n", f->out);
    f->together = goes_on;
    if (!b || goes_on || b->kind != CAPTURE_TEXT || !next || next->kind != CAPTURE_TEXT || next->level <= b->level)
        return;
    fputs("<div class=\"together\">\n", f->out);
    f->together = true;
    f->level = b->level;
}

static void
put_block(struct flow *f, size_t i)
{
    switch (f->c->block[i].kind) {
    case CAPTURE_HEADING:
        put_heading(f, i);
        break;
    case CAPTURE_TEXT:
        put_paragraph(f, i);
        break;
    case CAPTURE_TABLE:
        put_table(&f->c->table[f->c->block[i].table], f->heading, ++f->tables, f->out);
        break;
    }
}

void
html_flow(const struct capture *c, size_t from, FILE *out)
{
    struct flow f = { .c = c, .out = out, .heading = "Table" };
    for (size_t i = from; i < c->blocks; i++) {
        keep_together(&f, i);
        put_block(&f, i);
    }
    keep_together(&f, c->blocks);
}
