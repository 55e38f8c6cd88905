/* work.c - what the commands share: reading, working out, complaining */
#define _GNU_SOURCE
#include "cmd.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* ---- complaints ---- */

static const char *
line_of(const struct source *s, uint32_t number, size_t *n)
{
    const char *p = s->bytes, *end = s->bytes + s->n;
    for (uint32_t i = 1; p && i < number; i++) {
        p = memchr(p, '\n', (size_t)(end - p));
        p = p ? p + 1 : NULL;
    }
    if (!p || p >= end)
        return NULL;
    const char *lf = memchr(p, '\n', (size_t)(end - p));
    *n = (size_t)((lf ? lf : end) - p);
    if (*n > 0 && p[*n - 1] == '\r')
        --*n;
    return p;
}

#define EXCERPT_MOST 160 /* bytes of a line worth showing */

/* The offending line, and a caret under its column. */
static void
excerpt(const struct source *s, struct diag_place place)
{
    size_t n = 0;
    const char *line = s->bytes && place.line > 0 ? line_of(s, place.line, &n) : NULL;
    if (!line || n > EXCERPT_MOST || text_fault(line, n) != NULL || memchr(line, '\t', n))
        return;
    size_t blanks = 0;
    uint32_t column = 1;
    for (size_t i = 0; i < n && column < place.column; i++) {
        blanks++;
        column += ((unsigned char)line[i] & 0xc0) != 0x80;
    }
    char head[EXCERPT_MOST + 1];
    memcpy(head, line, blanks);
    head[blanks] = '\0';
    fprintf(stderr, "    %.*s\n    %*s^\n", (int)n, line, (int)text_width(head), "");
}

static const char *
level_word(enum diag_level level, bool colour)
{
    static const char *const plain[] = { "error", "warning", "note" };
    static const char *const bright[] = { "\033[1;31merror\033[0m", "\033[1;33mwarning\033[0m", "\033[1mnote\033[0m" };
    return colour ? bright[level] : plain[level];
}

void
cmd_complain(const struct cmd_record *c)
{
    bool terminal = isatty(STDERR_FILENO) == 1;
    const char *no_colour = getenv("NO_COLOR");
    bool colour = terminal && (!no_colour || !no_colour[0]);
    for (size_t i = 0; i < c->diag.n; i++) {
        const struct diag_item *item = &c->diag.item[i];
        fputs(c->source.name, stderr);
        if (item->place.line > 0)
            fprintf(stderr, ":%u:%u", (unsigned)item->place.line, (unsigned)item->place.column);
        fprintf(stderr, ": %s: %s", level_word(item->level, colour), item->text);
        if (item->check)
            fprintf(stderr, " [%s]", item->check);
        fputc('\n', stderr);
        if (terminal)
            excerpt(&c->source, item->place);
    }
}

void
cmd_no_memory(const struct cmd_record *c)
{
    fprintf(stderr, "%s: error: out of memory [memory]\n", c->source.name);
}

/* ---- work ---- */

static int
work(struct cmd_record *c, const char *file, const struct job_options *options)
{
    if (source_read(&c->source, file, &c->diag) != 0)
        return 0;
    if (record_read(&c->record, c->source.bytes, c->source.n, &c->diag) != 0)
        return -1;
    if (c->diag.n == 0 || isatty(STDERR_FILENO) != 1)
        source_release(&c->source); /* only excerpts need it from here on */
    if (c->diag.errors > 0)
        return 0;
    return job_work(&c->job, &c->record, options, &c->diag);
}

int
cmd_work(struct cmd_record *c, const char *file, const struct job_options *options)
{
    *c = (struct cmd_record){ .source = { .name = file } };
    int rc = work(c, file, options);
    diag_sort(&c->diag);
    cmd_complain(c);
    if (rc != 0 || c->diag.no_memory)
        cmd_no_memory(c);
    return rc != 0 || c->diag.no_memory || c->diag.errors > 0 ? -1 : 0;
}

void
cmd_release(struct cmd_record *c)
{
    job_release(&c->job);
    record_release(&c->record);
    source_release(&c->source);
    diag_release(&c->diag);
}

int
cmd_finish(int status)
{
    if (fflush(stdout) == 0 && !ferror(stdout))
        return status;
    fprintf(stderr, "rodbook: error: standard output cannot be written: %s [output]\n", strerror(errno));
    return EXIT_UNDONE;
}
