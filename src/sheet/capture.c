/* capture.c - a text sheet taken apart */
#include "capture.h"

#include "rodbook/room.h"

#include <stdlib.h>
#include <string.h>

/* The capture that is open in this thread. */
static _Thread_local struct capture *current;

#define TABLE_SIGN '\x1d' /* stands in the text where a table was printed; no text of a record holds it */

int
capture_open(struct capture *c)
{
    *c = (struct capture){ .outer = current };
    c->out = open_memstream(&c->text, &c->bytes);
    if (!c->out)
        return -1;
    current = c;
    return 0;
}

bool
capture_is_of(FILE *out)
{
    return current && current->out == out;
}

const char *
capture_words(FILE *out, const char *paper, const char *typed)
{
    return capture_is_of(out) ? paper : typed;
}

bool
capture_takes(struct table *t, FILE *out)
{
    if (!capture_is_of(out))
        return false;
    struct capture *c = current;
    struct capture_table *grown = t->no_memory ? NULL : room_for(c->table, &c->table_room, c->tables, sizeof *grown);
    if (!grown) {
        c->no_memory = true;
        free(t->bytes);
        return true;
    }
    c->table = grown;
    struct capture_table *k = &c->table[c->tables++];
    *k = (struct capture_table){ .columns = t->columns, .cells = t->cells, .bytes = t->bytes };
    memcpy(k->column, t->column, t->columns * sizeof *t->column);
    for (size_t i = 0; i < t->columns; i++)
        k->filled[i] = t->width[i] > 0 || t->column[i].always;
    fprintf(out, "%c\n", TABLE_SIGN);
    return true;
}

static struct capture_block *
new_block(struct capture *c, enum capture_kind kind)
{
    struct capture_block *grown = room_for(c->block, &c->block_room, c->blocks, sizeof *grown);
    if (!grown) {
        c->no_memory = true;
        return NULL;
    }
    c->block = grown;
    c->block[c->blocks] = (struct capture_block){ .kind = kind };
    return &c->block[c->blocks++];
}

/* True for a line that stands at the margin and says something. */
static bool
at_margin(const char *line)
{
    return *line && *line != ' ' && *line != '\n' && *line != TABLE_SIGN;
}

/* The text of a block from `line` on, which ends with the newline at `end`. */
static void
text_block(struct capture *c, enum capture_kind kind, char *line, char *end)
{
    struct capture_block *b = new_block(c, kind);
    size_t blanks = strspn(line, " ");
    *end = '\0';
    if (!b)
        return;
    b->level = (uint32_t)(blanks / 2);
    b->text = (size_t)(line + blanks - c->text);
}

/* Lines at the margin, one behind the other, are one paragraph; one alone is a heading. Returns the last one's newline. */
static char *
margin_block(struct capture *c, char *line, char *end)
{
    bool alone = !at_margin(end + 1);
    char *last = end;
    for (char *next; at_margin(last + 1) && (next = strchr(last + 1, '\n')) != NULL; last = next)
        *last = ' ';
    text_block(c, alone ? CAPTURE_HEADING : CAPTURE_TEXT, line, last);
    return last;
}

static void
take_apart(struct capture *c)
{
    size_t table = 0;
    for (char *line = c->text, *end; *line && !c->no_memory && (end = strchr(line, '\n')) != NULL; line = end + 1) {
        if (*line == TABLE_SIGN) {
            struct capture_block *b = new_block(c, CAPTURE_TABLE);
            if (b)
                b->table = table++;
        } else if (at_margin(line)) {
            end = margin_block(c, line, end);
        } else if (line != end) {
            text_block(c, CAPTURE_TEXT, line, end);
        }
    }
}

int
capture_close(struct capture *c)
{
    current = c->outer;
    fputc('\n', c->out); /* the last line ends, whatever was printed */
    bool whole = !ferror(c->out);
    whole = fclose(c->out) == 0 && whole && c->text && !c->no_memory;
    c->out = NULL;
    if (whole)
        take_apart(c);
    return whole && !c->no_memory ? 0 : -1;
}

size_t
capture_find(const struct capture *c, const char *heading)
{
    size_t i = 0;
    while (i < c->blocks && (c->block[i].kind != CAPTURE_HEADING || strncmp(c->text + c->block[i].text, heading, strlen(heading)) != 0))
        i++;
    return i;
}

void
capture_drop(struct capture *c, const char *heading)
{
    size_t from = capture_find(c, heading), end = from + 1;
    if (from == c->blocks)
        return;
    while (end < c->blocks && c->block[end].kind == CAPTURE_TEXT && c->block[end].level > 0)
        end++;
    memmove(c->block + from, c->block + end, (c->blocks - end) * sizeof *c->block);
    c->blocks -= end - from;
}

void
capture_release(struct capture *c)
{
    for (size_t i = 0; i < c->tables; i++)
        free(c->table[i].bytes);
    free(c->table);
    free(c->block);
    free(c->text);
    *c = (struct capture){ 0 };
}
