/* book.c - booking at the rod: a line, an entry, an answer */
#include "cmd.h"
#include "prompt.h"

#include "rodbook/line.h"

#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { BY, DATE, INSTRUMENT, OBSERVER, RODMAN, WEATHER, NOTE };

const struct cmd_option cmd_book_options[7] = {
    [BY] = { "by", "INITIALS", "of whoever books; stands with every entry" },
    [DATE] = { "date", "DAY", "of the runs, as 2026-05-02; today when left out" },
    [INSTRUMENT] = { "instrument", "NAME", "at the head of the next run" },
    [OBSERVER] = { "observer", "NAME", "at the head of the next run" },
    [RODMAN] = { "rodman", "NAME", "at the head of the next run" },
    [WEATHER] = { "weather", "TEXT", "at the head of the next run" },
    [NOTE] = { "note", "TEXT", "at the head of the next run" },
};

struct session {
    const char *file;
    struct append append;
    struct record record;
    struct job job;
    struct booking booking;
    struct prompt prompt;
    struct write_head head;
    char by[WRITE_NAME];
    uint32_t line;   /* number of the line at hand */
    size_t booked;   /* entries acknowledged... */
    uint32_t last;   /* ...the last of them... */
    unsigned char digest[DIGEST_BYTES]; /* ...and its digest */
    size_t refused;  /* lines */
    bool open;       /* append, record, job and booking are */
    bool ended;      /* nothing more can be booked: said */
};

/* ---- opening ---- */

static void
release(struct session *s)
{
    booking_release(&s->booking);
    job_release(&s->job);
    record_release(&s->record);
    append_close(&s->append);
    s->open = false;
}

/* Read the record, and work it out as far as that goes; -1: said. `tell` its warnings. `run` as booking_open(). */
static int
open_record(struct session *s, uint32_t run, bool tell)
{
    static const struct job_options options = { .stakes = true, .grade_optional = true };
    struct diag d = { 0 };
    int rc = append_open(&s->append, s->file, &s->record, &d);
    bool sound = rc == 0 && d.errors == 0;
    if (sound)
        rc = job_building(&s->record, &d);
    if (rc == 0 && sound)
        rc = job_work(&s->job, &s->record, &options, &d);
    if (rc == 0 && sound)
        rc = booking_open(&s->booking, &s->record, &s->job, run);
    diag_sort(&d);
    if (tell || !sound)
        cmd_say(s->file, &d);
    if (rc != 0 && d.errors == 0)
        fprintf(stderr, "%s: error: out of memory [memory]\n", cmd_file_name(s->file));
    if (sound && d.errors > 0 && tell)
        fputs("The job cannot be worked out yet; readings are booked all the same.\n", stderr);
    diag_release(&d);
    s->open = true;
    if (rc == 0 && sound)
        return 0;
    if (!sound)
        fputs("Nothing is booked into a record that cannot be read: mend it first.\n", stderr);
    release(s);
    return -1;
}

/* Read it again, and go on with the same run, whatever others have begun since. */
static int
reopen(struct session *s, bool tell)
{
    uint32_t run = s->booking.run;
    bool fresh = s->booking.now.run_entry == 0;
    release(s);
    if (open_record(s, run, tell) != 0) {
        s->ended = true;
        return -1;
    }
    if (fresh)
        booking_new_run(&s->booking);
    return 0;
}

/* ---- complaints about a line ---- */

static void
refuse(struct session *s, struct diag *d)
{
    fflush(stdout);
    s->refused++;
    for (size_t i = 0; i < d->n; i++) {
        const struct diag_item *item = &d->item[i];
        if (s->prompt.terminal || item->place.line != s->line)
            fprintf(stderr, "    ! not booked: %s [%s]\n", item->text, item->check ? item->check : "note");
        else
            fprintf(stderr, "line %u:%u: error: not booked: %s [%s]\n", (unsigned)item->place.line, (unsigned)item->place.column,
                item->text, item->check ? item->check : "note");
    }
    if (d->no_memory)
        fputs("    ! not booked: out of memory [memory]\n", stderr);
}

/* ---- entries ---- */

/* An entry's text, while it is made. */
struct body {
    char *text;
    size_t n;
    FILE *out;
};

static bool
body_open(struct body *b)
{
    *b = (struct body){ 0 };
    b->out = open_memstream(&b->text, &b->n);
    return b->out != NULL;
}

static bool
body_close(struct body *b)
{
    bool good = b->out && !ferror(b->out);
    if (b->out && fclose(b->out) != 0)
        good = false;
    b->out = NULL;
    return good;
}

/* True where text[n] continues our run, or holds what any run may hang on: a strike, a mark, a point or a grade. */
static bool
reaches_us(uint32_t run, const char *text, size_t n)
{
    static const char *const words[] = { "\nstrike:", "\nmarks:", "\npoints:", "\ngrade:", "\nsite:" };
    static const char continues[] = "\n  continues: ";
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (memmem(text, n, words[i], strlen(words[i])))
            return true;
    for (const char *p = text, *end = text + n; (p = memmem(p, (size_t)(end - p), continues, sizeof continues - 1)) != NULL;) {
        p += sizeof continues - 1;
        if (strtoul(p, NULL, 10) == run)
            return true;
    }
    return false;
}

/* Whether what others added since may change what is being booked here. */
static bool
others_touch(const struct session *s)
{
    const struct append *a = &s->append;
    size_t n = a->at.size - a->news;
    if (a->others == 0 || s->booking.now.run_entry == 0)
        return false;
    char *text = malloc(n + 1);
    struct source source = source_of_file(a->fd, a->file, a->at.size);
    if (!text || source_part(&source, a->news, text, n) != (ptrdiff_t)n) {
        free(text);
        return true; /* not known: better look at the whole again */
    }
    text[n] = '\0';
    bool touch = reaches_us(s->booking.now.run_entry, text, n);
    free(text);
    return touch;
}

/*
 * Append one entry. 0 once it is acknowledged; -1: said, and not booked. An
 * entry that reaches into the middle of the record is tried on the whole first.
 */
static int
append_body(struct session *s, struct body *b, bool try_it, struct diag *d)
{
    int rc = -1;
    if (!body_close(b)) {
        d->no_memory = true;
        return -1;
    }
    if (append_begin(&s->append, d) != 0) {
        s->ended = s->append.dead || (d->n > 0 && strcmp(d->item[d->n - 1].check, "replaced") == 0);
        return -1;
    }
    bool touched = others_touch(s);
    if (touched)
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "others",
            "someone else has booked or changed something meanwhile that this run may hang on; look how it stands now, and book "
            "the line again");
    else if (!try_it || cmd_try(&s->append, b->text, b->n, d) == 0)
        rc = append_entry(&s->append, b->text, b->n, NULL, d);
    for (size_t i = 0; i < d->n; i++)
        d->item[i].place = (struct diag_place){ 0, 0 }; /* of the record, and not of what was typed */
    append_end(&s->append);
    s->ended |= s->append.dead;
    if (rc == 0) {
        s->booked++;
        s->last = s->append.at.entries;
        memcpy(s->digest, s->append.digest, sizeof s->digest);
    }
    if (touched)
        (void)reopen(s, false);
    return rc;
}

/* ---- lines ---- */

static void
stand(const struct session *s)
{
    fputs("  ", stdout);
    sheet_booking_stand(&s->booking, stdout);
}

static int
book_rows(struct session *s, const struct write_row *rows, size_t n, uint32_t continues, bool try_it, struct diag *d)
{
    struct body b;
    if (!body_open(&b)) {
        d->no_memory = true;
        return -1;
    }
    write_levels(b.out, &s->head, continues);
    for (size_t i = 0; i < n; i++)
        write_row(b.out, &rows[i]);
    write_envelope(b.out, s->by);
    int rc = append_body(s, &b, try_it, d);
    free(b.text);
    return rc;
}

/* The run that an entry belongs to, as the number of its first entry; 0 for none. */
static uint32_t
run_of(const struct record *r, uint32_t entry)
{
    if (entry == 0 || entry > r->entries || r->entry[entry - 1].kind != RECORD_LEVELS || r->entry[entry - 1].head == RECORD_NONE)
        return 0;
    return r->run[r->entry[entry - 1].head].entry + 1;
}

/* A row that stands for a struck one, named by the crew: anywhere in the record. */
static void
book_for(struct session *s, const struct line *line, struct diag *d)
{
    if (s->booked > 0 && reopen(s, false) != 0)
        return;
    uint32_t run = run_of(&s->record, line->row.for_entry);
    if (run == 0)
        diag_say(d, DIAG_ERROR, (struct diag_place){ s->line, 1 }, "for", "entry %" PRIu32 " is no levels of this record; name the row "
            "that was struck", line->row.for_entry);
    if (run == 0 || book_rows(s, &line->row, 1, run, true, d) != 0)
        return;
    printf("%4" PRIu32 "  %s  booked in the place of %" PRIu32 ".%" PRIu32 "\n", s->append.at.entries, line->row.at,
        line->row.for_entry, line->row.for_row);
    fflush(stdout);
    if (reopen(s, true) == 0)
        stand(s);
}

static void
book_sight(struct session *s, const struct line *line, struct diag *d)
{
    struct booking_answer answer;
    struct write_row rows[2];
    struct diag_place place = { s->line, 1 };
    size_t n = 0;
    enum booking_status status = booking_look(&s->booking, &line->row, place, &answer, rows, &n, d);
    if (status == BOOKING_STALE && reopen(s, false) == 0)
        status = booking_look(&s->booking, &line->row, place, &answer, rows, &n, d);
    d->no_memory |= status == BOOKING_NO_MEMORY;
    if (status != BOOKING_OK || book_rows(s, rows, n, s->booking.next.run_entry, false, d) != 0)
        return;
    if (booking_keep(&s->booking, s->append.at.entries) != 0)
        s->ended = true; /* it is booked; only the running view is lost */
    sheet_booking_answer(&s->booking, &line->row, s->append.at.entries, &answer, cmd_file_name(s->file), stdout);
}

static int
append_strike(struct session *s, uint32_t entry, uint32_t row, enum record_sight sight, const char *reason, bool try_it,
    struct diag *d)
{
    struct body b;
    if (!body_open(&b)) {
        d->no_memory = true;
        return -1;
    }
    write_strike(b.out, entry, row, sight, reason);
    write_envelope(b.out, s->by);
    int rc = append_body(s, &b, try_it, d);
    free(b.text);
    if (rc == 0)
        printf("%4" PRIu32 "  row %" PRIu32 ".%" PRIu32 " is struck: %s\n", s->append.at.entries, entry, row, reason);
    fflush(stdout);
    return rc;
}

static void
undo(struct session *s, const struct line *line, struct diag *d)
{
    const struct booking_past *last = booking_last(&s->booking);
    if (!last)
        diag_say(d, DIAG_ERROR, (struct diag_place){ s->line, 1 }, "line", "no reading of this run is left to strike");
    else if (append_strike(s, last->entry, last->row, last->sight, line->text, false, d) == 0 && reopen(s, false) == 0)
        stand(s);
}

static void
strike(struct session *s, const struct line *line, struct diag *d)
{
    if (append_strike(s, line->entry, line->number, line->sight, line->text, true, d) == 0 && reopen(s, true) == 0)
        stand(s);
}

static void
set_head(struct session *s, enum line_head which, const char *text)
{
    char *const at[] = { s->head.date, s->head.instrument, s->head.observer, s->head.rodman, s->head.weather, s->head.note };
    static const size_t room[] = { sizeof s->head.date, WRITE_NAME, WRITE_NAME, WRITE_NAME, WRITE_NOTE, WRITE_NOTE };
    snprintf(at[which], room[which], "%s", text);
}

static void
show(struct session *s, enum line_kind kind)
{
    if (reopen(s, false) != 0)
        return;
    if (kind == LINE_SHOW && s->job.run_leg)
        (void)sheet_last_run(&s->job, stdout);
    if (kind == LINE_STAND && s->job.run_leg)
        sheet_all_closures(&s->job, stdout);
    stand(s);
}

static void
help(void)
{
    fputs("  bs BM1 4.62               backsight on a known point: begins a run, or its next set-up\n"
          "  is batten SW1 3.14        intermediate sight; on a batten, ground, hole, post or top; without one, the point itself\n"
          "  tp TP1 5.87 4.15          turning point: foresight, then backsight; or fs now and bs after the move\n"
          "  fs BM1 2.91               foresight: ends the set-up\n"
          "  bs QA 1.378 1.188 0.998   three wires: upper, middle, lower\n"
          "  ... dist 84               sight length (tp: two)      ... moved        first reading after the mark was moved\n"
          "  ... page 2                page of the paper book      ... note TEXT    last on the line\n"
          "  undo REASON               strikes the last reading; nothing is erased\n"
          "  strike 5.3 REASON         strikes row 3 of entry 5; then: is W1 3.36 for 5.3\n"
          "  run                       the next backsight begins a new run\n"
          "  by RO, date 2026-05-02, instrument T1, observer RO, rodman LM, weather TEXT, note TEXT\n"
          "                            who books; and the head of the next run\n"
          "  show, stand               the page so far; how the job stands\n"
          "  done                      ends; everything is in the file already\n",
        stdout);
}

/* True where the session goes on. */
static bool
take_line(struct session *s, const struct line *line, struct diag *d)
{
    switch (line->kind) {
    case LINE_BS:
    case LINE_IS:
    case LINE_FS:
    case LINE_TP:
        if (line->row.for_row > 0)
            book_for(s, line, d);
        else
            book_sight(s, line, d);
        break;
    case LINE_UNDO:
        undo(s, line, d);
        break;
    case LINE_STRIKE:
        strike(s, line, d);
        break;
    case LINE_RUN:
        booking_new_run(&s->booking);
        break;
    case LINE_BY:
        memcpy(s->by, line->text, sizeof s->by); /* no longer than that, and closed by a zero */
        break;
    case LINE_HEAD:
        set_head(s, line->head, line->text);
        break;
    case LINE_SHOW:
    case LINE_STAND:
        show(s, line->kind);
        break;
    case LINE_HELP:
        help();
        break;
    case LINE_DONE:
        return false;
    case LINE_NOTHING:
        break;
    }
    return !s->ended;
}

/* ---- the session ---- */

static const char *
word_at(void *with, bool first, size_t i)
{
    const struct session *s = with;
    size_t n = 0;
    if (first)
        return line_words[i];
    while (line_on_words[n])
        n++;
    if (i < n)
        return line_on_words[i];
    return i - n < s->record.names.n ? names_text(&s->record.names, (uint32_t)(i - n)) : NULL;
}

/* What was answered has reached whoever reads it; else the session is over. */
static bool
answered(struct session *s)
{
    if (fflush(stdout) == 0 && !ferror(stdout))
        return true;
    s->ended = true;
    return false;
}

static enum prompt_got
run_session(struct session *s)
{
    while (answered(s)) {
        char ask[SHEET_WORDS];
        const char *text;
        struct line line;
        struct diag d = { 0 };
        sheet_booking_prompt(&s->booking, ask);
        enum prompt_got got = prompt_next(&s->prompt, ask, &text);
        if (got != PROMPT_LINE)
            return got;
        s->line++;
        bool more = line_read(&line, text, s->line, &s->record.job, &d) != 0 || take_line(s, &line, &d);
        if (d.errors > 0 || d.no_memory)
            refuse(s, &d);
        diag_release(&d);
        if (!more)
            return answered(s) ? PROMPT_END : PROMPT_LOST;
    }
    return PROMPT_LOST;
}

/* Where the job stands when the session ends, however it does. */
static void
say_end(struct session *s, enum prompt_got got, FILE *out)
{
    char digest[DIGEST_SHORT_TEXT];
    if (s->prompt.terminal)
        fputc('\n', out);
    if (got == PROMPT_INTERRUPTED || got == PROMPT_LOST)
        fputs("Stopped. A line that was not answered is not booked.\n", out);
    if (got == PROMPT_FAULT)
        fprintf(out, "The input cannot be read: %s\n", strerror(errno));
    fprintf(out, "%zu %s booked this time, every one of them in %s", s->booked, s->booked == 1 ? "entry" : "entries",
        cmd_file_name(s->file));
    if (s->refused > 0)
        fprintf(out, "; %zu line%s refused", s->refused, s->refused == 1 ? "" : "s");
    fputs(".\n", out);
    if (s->open)
        sheet_booking_stand(&s->booking, out);
    if (s->booked > 0) {
        digest_short(digest, s->digest);
        fprintf(out, "last digest, to copy on paper   %" PRIu32 ": %s\n", s->last, digest);
    }
}

static bool
take_options(struct session *s, const struct cmd_given *given)
{
    static const size_t most[] = { WRITE_NAME - 1, 10, WRITE_NAME - 1, WRITE_NAME - 1, WRITE_NAME - 1, WRITE_NOTE - 1, WRITE_NOTE - 1 };
    time_t now = time(NULL);
    struct tm tm;
    if (localtime_r(&now, &tm))
        (void)strftime(s->head.date, sizeof s->head.date, "%Y-%m-%d", &tm);
    for (size_t i = BY; i <= NOTE; i++) {
        const char *fault = given->value[i] ? cmd_text_fault(given->value[i], most[i]) : NULL;
        if (!fault && i == DATE && given->value[i] && !write_is_day(given->value[i]))
            fault = "is not a day of the calendar; write 2026-05-02";
        if (fault) {
            fprintf(stderr, "rodbook book: --%s %s\n", cmd_book_options[i].name, fault);
            return false;
        }
        if (given->value[i] && i == BY)
            snprintf(s->by, sizeof s->by, "%s", given->value[i]);
        else if (given->value[i])
            set_head(s, (enum line_head)(i - DATE), given->value[i]);
    }
    return true;
}

static void
greet(const struct session *s)
{
    const struct record *r = &s->record;
    printf("%s: %zu %s\n  ", names_text(&r->texts, r->job.name), r->entries, r->entries == 1 ? "entry" : "entries");
    sheet_booking_stand(&s->booking, stdout);
    if (!s->by[0])
        puts("  no initials yet: by RO");
    if (s->prompt.terminal)
        puts("  help shows the words; done, or Ctrl-D, ends");
    fflush(stdout);
}

int
cmd_book(const struct cmd *cmd, int argc, char **argv)
{
    static struct session s; /* large, and one */
    struct cmd_given given;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    s = (struct session){ .file = given.file, .append = { .fd = -1 } };
    if (!take_options(&s, &given))
        return EXIT_UNDONE;
    if (prompt_open(&s.prompt, word_at, &s) != 0) {
        fprintf(stderr, "rodbook book: the terminal cannot be used: %s\n", strerror(errno));
        return EXIT_UNDONE;
    }
    if (open_record(&s, BOOKING_LAST, true) != 0) {
        prompt_close(&s.prompt);
        return EXIT_UNDONE;
    }
    greet(&s);
    enum prompt_got got = run_session(&s);
    say_end(&s, got, s.ended || got == PROMPT_LOST || got == PROMPT_FAULT ? stderr : stdout);
    release(&s);
    prompt_close(&s.prompt);
    if (s.ended || got == PROMPT_FAULT || got == PROMPT_LOST)
        return cmd_finish(EXIT_UNDONE);
    return cmd_finish(s.refused > 0 || got == PROMPT_INTERRUPTED ? EXIT_NOT_GOOD : EXIT_GOOD);
}
