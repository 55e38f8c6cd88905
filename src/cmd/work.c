/* work.c - what the commands share: reading, working out, complaining */
#include "cmd.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* ---- complaints ---- */

#define EXCERPT_MOST 160  /* bytes of a line worth showing */
#define EXCERPTS_MOST 200 /* complaints that show their lines; finding a line means reading up to it */

/* The offending line, and a caret under its column. */
static void
excerpt(const struct source *s, struct source_line *at, struct diag_place place)
{
    char line[EXCERPT_MOST + 2];
    if (place.line == 0 || !source_find_line(s, at, place.line, line, sizeof line))
        return;
    size_t n = strlen(line), blanks = 0;
    if (n > EXCERPT_MOST || text_fault(line, n) != NULL || memchr(line, '\t', n))
        return;
    fprintf(stderr, "    %s\n", line);
    for (uint32_t column = 1; blanks < n && column < place.column; blanks++)
        column += blanks + 1 == n || ((unsigned char)line[blanks + 1] & 0xc0) != 0x80;
    line[blanks] = '\0';
    fprintf(stderr, "    %*s^\n", (int)text_width(line), "");
}

static const char *
level_word(enum diag_level level, bool colour)
{
    static const char *const plain[] = { "error", "warning", "note" };
    static const char *const bright[] = { "\033[1;31merror\033[0m", "\033[1;33mwarning\033[0m", "\033[1mnote\033[0m" };
    return colour ? bright[level] : plain[level];
}

const char *
cmd_file_name(const char *file)
{
    return text_is_plain(file, strlen(file)) ? file : "(a file whose name cannot be shown)";
}

static void
say_item(const char *file, const struct diag_item *item, bool colour)
{
    fputs(cmd_file_name(file), stderr);
    if (item->place.line > 0)
        fprintf(stderr, ":%u:%u", (unsigned)item->place.line, (unsigned)item->place.column);
    fprintf(stderr, ": %s: %s", level_word(item->level, colour), item->text);
    if (item->check)
        fprintf(stderr, " [%s]", item->check);
    fputc('\n', stderr);
}

static bool
wants_colour(void)
{
    const char *no_colour = getenv("NO_COLOR");
    return isatty(STDERR_FILENO) == 1 && (!no_colour || !no_colour[0]);
}

void
cmd_complain(const struct cmd_record *c)
{
    bool terminal = isatty(STDERR_FILENO) == 1;
    struct source_line at = { 0, 0 };
    for (size_t i = 0; i < c->diag.n; i++) {
        say_item(c->source.name, &c->diag.item[i], wants_colour());
        if (terminal && i < EXCERPTS_MOST)
            excerpt(&c->source, &at, c->diag.item[i].place);
    }
}

void
cmd_say(const char *file, const struct diag *d)
{
    for (size_t i = 0; i < d->n; i++)
        say_item(file, &d->item[i], wants_colour());
    if (d->no_memory)
        fprintf(stderr, "%s: error: out of memory [memory]\n", cmd_file_name(file));
}

void
cmd_no_memory(const struct cmd_record *c)
{
    fprintf(stderr, "%s: error: out of memory [memory]\n", cmd_file_name(c->source.name));
}

/* ---- work ---- */

int
cmd_read(struct cmd_record *c, const char *file)
{
    if (source_open(&c->source, file, &c->diag) != 0)
        return 0;
    if (record_read(&c->record, &c->source, &c->diag) != 0)
        return -1;
    if (c->diag.errors > 0)
        return 0;
    int rc = job_building(&c->record, &c->diag);
    return rc != 0 || c->diag.errors > 0 ? rc : job_names(&c->record, &c->diag);
}

static int
work(struct cmd_record *c, const char *file, const struct job_options *options)
{
    int rc = cmd_read(c, file);
    if (isatty(STDERR_FILENO) != 1)
        source_close(&c->source); /* only excerpts need it from here on */
    return rc != 0 || c->diag.errors > 0 ? rc : job_work(&c->job, &c->record, options, &c->diag);
}

int
cmd_work(struct cmd_record *c, const char *file, const struct job_options *options)
{
    return cmd_work_on(c, file, options, NULL, NULL);
}

bool
cmd_settled(struct cmd_record *c, int rc)
{
    diag_sort(&c->diag);
    cmd_complain(c);
    if (rc != 0 || c->diag.no_memory)
        cmd_no_memory(c);
    return rc == 0 && !c->diag.no_memory && c->diag.errors == 0;
}

bool
cmd_altered(const struct cmd_record *c)
{
    return c->record.chain.broken > 0 || c->record.chain.bad_seals > 0;
}

int
cmd_work_on(struct cmd_record *c, const char *file, const struct job_options *options, cmd_more *more, void *into)
{
    *c = (struct cmd_record){ .source = { .name = file, .fd = -1 } };
    int rc = work(c, file, options);
    if (rc == 0 && more && c->diag.errors == 0)
        rc = more(c, into);
    return cmd_settled(c, rc) ? 0 : -1;
}

int
cmd_look_at_holes(const struct job *job, struct diag *d)
{
    const struct posts_options options = { .any_grade = true };
    struct posts posts;
    struct order order = { .posts = NULL };
    int rc = posts_work(&posts, job, &options, d);
    if (rc == 0 && d->errors == 0 && job->r->concretes > 0)
        rc = order_work(&order, &posts, d);
    order_release(&order);
    posts_release(&posts);
    return rc;
}

void
cmd_release(struct cmd_record *c)
{
    job_release(&c->job);
    record_release(&c->record);
    source_close(&c->source);
    diag_release(&c->diag);
}

int
cmd_show(const struct cmd_given *given, const struct job_options *options, bool judge, cmd_print *print)
{
    struct cmd_record c;
    int status = EXIT_UNDONE;
    if (cmd_work(&c, given->file, options) == 0) {
        bool altered = cmd_altered(&c);
        bool good = !altered && !c.job.outside && !c.job.gaps && !(judge && c.job.off_grade);
        if (print(&c.job, given) == 0)
            status = good ? EXIT_GOOD : EXIT_NOT_GOOD;
        else
            cmd_no_memory(&c);
    }
    cmd_release(&c);
    return cmd_finish(status);
}

/* ---- pages ---- */

static FILE *page; /* what a text sheet is printed on; one for a run of the program */
static bool page_lost;

FILE *
cmd_page(void)
{
    if (!page)
        page = sheet_page(stdout);
    page_lost |= page == NULL;
    return page ? page : stdout;
}

void
cmd_page_end(void)
{
    if (!page)
        return;
    page_lost |= fflush(page) != 0 || ferror(page);
    page_lost |= fclose(page) != 0;
    page = NULL;
}

int
cmd_finish(int status)
{
    cmd_page_end();
    if (page_lost) {
        fputs("rodbook: error: out of memory [memory]\n", stderr);
        return EXIT_UNDONE;
    }
    if (fflush(stdout) == 0 && !ferror(stdout))
        return status;
    fprintf(stderr, "rodbook: error: standard output cannot be written: %s [output]\n", strerror(errno));
    return EXIT_UNDONE;
}

/* ---- adding to a record ---- */

const char *
cmd_text_fault(const char *text, size_t most)
{
    size_t n = strlen(text);
    if (n == 0 || n > most)
        return n == 0 ? "is empty" : "is too long";
    return text_fault(text, n) || !text_is_plain(text, n) || strchr(text, '\n') ? "holds a control or direction character" : NULL;
}

/* Text that holds the record as it is, and behind it the entry as it would be; -1: said. */
static int
whole_with(const struct append *a, const char *body, size_t n, struct append_text *text, struct diag *d)
{
    struct source file = source_of_file(a->fd, a->file, a->at.size);
    struct scan_end at = a->at;
    unsigned char digest[DIGEST_BYTES];
    char *bytes = malloc(a->at.size + 1);
    bool read = bytes && source_part(&file, 0, bytes, a->at.size) == (ptrdiff_t)a->at.size;
    if (bytes && !read)
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "file", "cannot be read to its end; nothing was written");
    int rc = read && append_text_add(text, bytes, a->at.size) ? append_compose(text, &at, body, n, NULL, digest) : -1;
    d->no_memory |= rc != 0 && (!bytes || read);
    free(bytes);
    return rc;
}

int
cmd_try(const struct append *a, const char *body, size_t n, struct diag *d)
{
    struct append_text text = { 0 };
    struct record r = { 0 };
    struct job job = { 0 };
    size_t errors = d->errors;
    int rc = whole_with(a, body, n, &text, d);
    if (rc == 0) {
        struct source source = source_of_bytes(text.bytes, text.n);
        rc = record_read(&r, &source, d);
        if (rc == 0 && d->errors == errors)
            rc = job_work(&job, &r, &(struct job_options){ 0 }, d);
        d->no_memory |= rc != 0;
    }
    job_release(&job);
    record_release(&r);
    append_text_release(&text);
    return rc == 0 && d->errors == errors ? 0 : -1;
}

static uint32_t
count_of(const char *text, size_t n)
{
    uint32_t v = 0;
    for (size_t i = 0; i < n && n <= 9; i++)
        v = text[i] >= '0' && text[i] <= '9' && (i == 0 || v > 0) ? v * 10 + (uint32_t)(text[i] - '0') : 0;
    return v;
}

bool
cmd_read_row(const char *text, uint32_t *entry, uint32_t *row)
{
    const char *dot = strchr(text, '.');
    *entry = dot ? count_of(text, (size_t)(dot - text)) : 0;
    *row = dot ? count_of(dot + 1, strlen(dot + 1)) : 0;
    return *entry > 0 && *row > 0;
}

bool
cmd_read_confidence(const struct cmd *cmd, const char *text, double *confidence)
{
    const double least = 50, most = 99.99; /* below, a coin is surer: 0.95 is a slip for 95 */
    char *end = NULL;
    double percent = text ? strtod(text, &end) : FIT_CONFIDENCE * 100;
    bool number = !text || (text[0] >= '0' && text[0] <= '9' && strspn(text, "0123456789.") == strlen(text) && *end == '\0');
    if (number && percent >= least && percent <= most) {
        *confidence = percent / 100;
        return true;
    }
    fprintf(stderr, "rodbook %s: --confidence wants per cent, from %g to %g: --confidence 95\n", cmd->name, least, most);
    return false;
}
