/* csv_out.c - one table of a command's JSON as CSV */
#include "csv_out.h"

#include "rodbook/room.h"

#include <stdlib.h>
#include <string.h>

/* ---- columns ---- */

/* "runs.stakes" without what stands behind its last dot. */
static size_t
outer_length(const char *path, size_t n)
{
    while (n > 0 && path[n - 1] != '.')
        n--;
    return n > 0 ? n - 1 : 0;
}

/* One word of a table's columns: ! and ^ before the keys, @ and a power behind them. */
static void
add_column(struct csv_out *c, const char *word, size_t n)
{
    struct csv_column *column = &c->column[c->columns++];
    for (; *word == '!' || *word == '^'; word++, n--) {
        column->must |= *word == '!';
        column->outer |= *word == '^';
    }
    const char *unit = memchr(word, '@', n);
    column->heading = word;
    column->heading_n = unit ? (size_t)(unit - word) : n;
    column->power = unit ? (uint8_t)(unit + 1 < word + n ? unit[1] - '0' : 1) : 0;
    size_t base = column->outer ? outer_length(c->row_path, c->row_path_n) : c->row_path_n;
    column->path_n = (size_t)snprintf(column->path, sizeof column->path, "%.*s%s%.*s", (int)base, c->row_path, base > 0 ? "." : "",
        (int)column->heading_n, word);
}

void
csv_out_open(struct csv_out *c, const struct sheet_table *table, FILE *out)
{
    *c = (struct csv_out){ .out = out, .unit = "" };
    c->row_path_n = strlen(table->path);
    memcpy(c->row_path, table->path, c->row_path_n + 1);
    size_t commas = 0;
    for (const char *p = table->columns; *p; p++)
        commas += *p == ',';
    c->column = calloc(commas + 1, sizeof *c->column);
    c->no_memory = c->column == NULL;
    if (!c->column)
        return;
    for (const char *word = table->columns; *word;) {
        size_t n = strcspn(word, ",");
        add_column(c, word, n);
        word += n + (word[n] == ',');
    }
}

int
csv_out_close(struct csv_out *c)
{
    for (size_t i = 0; i < c->columns; i++)
        free(c->column[i].text);
    free(c->column);
    return c->no_memory || c->too_deep ? -1 : 0;
}

/* The column for what stands where the JSON is; NULL where there is none. */
static struct csv_column *
column_here(struct csv_out *c)
{
    for (size_t i = 0; i < c->columns; i++) {
        size_t at = (c->next + i) % c->columns;
        struct csv_column *column = &c->column[at];
        if (column->path_n == c->path_n && memcmp(column->path, c->path, c->path_n) == 0) {
            c->next = (at + 1) % c->columns;
            return column;
        }
    }
    return NULL;
}

/* ---- rows ---- */

/* Text as a cell: in quotes where something in it would be taken for the table's own, or where blanks might get lost. */
static void
print_cell(FILE *out, const char *text, size_t n)
{
    if (n == 0)
        return;
    bool quotes = text[0] == ' ' || text[n - 1] == ' ';
    for (size_t i = 0; i < n && !quotes; i++)
        quotes = text[i] == ',' || text[i] == '"' || text[i] == '\r' || text[i] == '\n';
    if (!quotes) {
        fwrite(text, 1, n, out);
        return;
    }
    putc('"', out);
    for (size_t i = 0; i < n; i++) {
        if (text[i] == '"')
            putc('"', out);
        putc(text[i], out);
    }
    putc('"', out);
}

static void
print_headings(struct csv_out *c)
{
    for (size_t i = 0; i < c->columns; i++) {
        const struct csv_column *column = &c->column[i];
        fprintf(c->out, "%s%.*s", i > 0 ? "," : "", (int)column->heading_n, column->heading);
        if (column->power > 0 && c->unit[0])
            fprintf(c->out, " %s%s", c->unit, column->power == 3 ? "3" : column->power == 2 ? "2" : "");
    }
    fputs("\r\n", c->out);
    c->headed = true;
}

static void
end_row(struct csv_out *c)
{
    for (size_t i = 0; i < c->columns; i++)
        if (c->column[i].must && !c->column[i].given)
            return;
    if (!c->headed)
        print_headings(c);
    for (size_t i = 0; i < c->columns; i++) {
        if (i > 0)
            putc(',', c->out);
        print_cell(c->out, c->column[i].text, c->column[i].n);
    }
    fputs("\r\n", c->out);
}

static void
begin_row(struct csv_out *c)
{
    for (size_t i = 0; i < c->columns; i++)
        if (!c->column[i].outer) {
            c->column[i].n = 0;
            c->column[i].given = false;
        }
}

/* ---- values ---- */

static void
keep(struct csv_out *c, char byte)
{
    struct csv_column *cell = c->cell;
    if (c->is_key && !c->list_depth) {
        if (c->key_n < sizeof c->key)
            c->key[c->key_n++] = byte;
        return;
    }
    if (!cell)
        return;
    char *grown = room_for(cell->text, &cell->room, cell->n, 1);
    c->no_memory |= grown == NULL;
    if (!grown)
        return;
    cell->text = grown;
    cell->text[cell->n++] = byte;
}

/* A value has ended, also one that no cell is for. */
static void
end_value(struct csv_out *c)
{
    if (c->cell)
        c->cell->given = true;
    c->cell = NULL;
    c->in_bare = false;
}

/* The same of one without quotes: what is not known leaves its cell empty. */
static void
end_bare(struct csv_out *c)
{
    if (c->cell && c->cell->n == 4 && memcmp(c->cell->text, "null", 4) == 0)
        c->cell->n = 0;
    end_value(c);
}

/* A value begins: find its cell. */
static void
begin_value(struct csv_out *c)
{
    c->cell = column_here(c);
    if (c->cell)
        c->cell->n = 0;
}

static void
end_key(struct csv_out *c)
{
    size_t before = c->level[c->depth - 1].path_n;
    bool fits = before + 1 + c->key_n < sizeof c->path;
    c->path_n = before;
    if (before > 0 && fits)
        c->path[c->path_n++] = '.';
    if (fits)
        memcpy(c->path + c->path_n, c->key, c->key_n);
    c->path_n += fits ? c->key_n : 0;
    c->is_key = c->wants_key = false;
}

/* The job's unit, as headings have it: a job in feet and inches has its lengths in feet. */
static void
note_unit(struct csv_out *c, char first)
{
    if (c->depth == 1 && c->path_n == 4 && memcmp(c->path, "unit", 4) == 0 && !c->unit[0])
        c->unit = first == 'f' ? "ft" : first == 'm' ? "m" : "";
}

/* ---- the JSON, byte by byte ---- */

/* Of control characters \uXXXX, and the short ones: our writer escapes nothing else. */
static void
take_escape(struct csv_out *c, char byte)
{
    static const char from[] = "bfnrt", to[] = "\b\f\n\r\t";
    if (c->escape > 1) { /* digits of a code */
        c->code = c->code * 16 + (unsigned)(byte <= '9' ? byte - '0' : (byte | 0x20) - 'a' + 10);
        if (--c->escape == 1) {
            keep(c, (char)c->code);
            c->escape = 0;
        }
        return;
    }
    c->escape = 0;
    const char *p = strchr(from, byte);
    if (byte == 'u') {
        c->escape = 5;
        c->code = 0;
        return;
    }
    keep(c, (char)(p ? to[p - from] : byte));
}

static void
take_text(struct csv_out *c, char byte)
{
    if (c->escape > 0) {
        take_escape(c, byte);
    } else if (byte == '\\') {
        c->escape = 1;
    } else if (byte == '"') {
        c->in_text = false;
        if (c->is_key)
            end_key(c);
        else
            end_value(c);
    } else {
        if (!c->is_key)
            note_unit(c, byte);
        keep(c, byte);
    }
}

/* Inside a list that goes into its cell as it is. */
static void
take_list(struct csv_out *c, char byte)
{
    keep(c, byte);
    if (c->in_text) {
        bool plain = c->escape == 0;
        c->escape = plain && byte == '\\';
        c->in_text = !(plain && byte == '"');
        return;
    }
    c->in_text = byte == '"';
    if (byte == '[' || byte == '{')
        c->list_depth++;
    else if ((byte == ']' || byte == '}') && --c->list_depth == 0)
        end_value(c);
}

static bool
is_row(const struct csv_out *c)
{
    return c->path_n == c->row_path_n && memcmp(c->path, c->row_path, c->path_n) == 0;
}

static void
open_level(struct csv_out *c, char byte)
{
    bool list = byte == '[';
    struct csv_column *cell = list ? column_here(c) : NULL;
    if (cell) {
        c->cell = cell;
        cell->n = 0;
        keep(c, byte);
        c->list_depth = 1;
        return;
    }
    if (!list && is_row(c))
        begin_row(c);
    c->too_deep |= c->depth == CSV_OUT_DEPTH;
    if (c->too_deep)
        return;
    c->level[c->depth].list = list;
    c->level[c->depth++].path_n = c->path_n;
    c->wants_key = !list;
}

static void
close_level(struct csv_out *c)
{
    c->depth--;
    c->path_n = c->level[c->depth].path_n;
    if (!c->level[c->depth].list && is_row(c))
        end_row(c);
    c->wants_key = false;
    if (c->depth == 0 && !c->headed)
        print_headings(c);
}

static void
take_between(struct csv_out *c, char byte)
{
    bool ends = byte == ',' || byte == '}' || byte == ']';
    if (ends)
        end_bare(c);
    if (byte == '{' || byte == '[') {
        open_level(c, byte);
    } else if (byte == '}' || byte == ']') {
        close_level(c);
    } else if (byte == ',') {
        c->path_n = c->level[c->depth - 1].list ? c->level[c->depth - 1].path_n : c->path_n;
        c->wants_key = !c->level[c->depth - 1].list;
    } else if (byte == '"') {
        c->in_text = true;
        c->is_key = c->wants_key;
        c->key_n = 0;
        if (!c->is_key)
            begin_value(c);
    } else if (byte != ':' && byte != ' ' && byte != '\n') {
        if (!c->in_bare)
            begin_value(c);
        c->in_bare = true;
        keep(c, byte);
    }
}

void
csv_out_take(struct csv_out *c, const char *bytes, size_t n)
{
    for (size_t i = 0; i < n && c->column && !c->too_deep; i++) {
        if (c->list_depth > 0)
            take_list(c, bytes[i]);
        else if (c->in_text)
            take_text(c, bytes[i]);
        else
            take_between(c, bytes[i]);
    }
}
