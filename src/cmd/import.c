#include "cmd.h"

#include "rodbook/append.h"
#include "rodbook/carry.h"
#include "rodbook/csv.h"

#include <inttypes.h>
#include <string.h>
#include <unistd.h>

enum { BY, DATE, INSTRUMENT, OBSERVER, RODMAN, WEATHER, NOTE };

const struct cmd_option cmd_import_options[7] = {
    [BY] = { "by", "INITIALS", "who brings them in; of a .csv, as all these" },
    [DATE] = { "date", "DAY", "the day of the readings, 2026-05-02" },
    [INSTRUMENT] = { "instrument", "NAME", "the instrument" },
    [OBSERVER] = { "observer", "NAME", "who read" },
    [RODMAN] = { "rodman", "NAME", "who held the rod" },
    [WEATHER] = { "weather", "TEXT", "the weather" },
    [NOTE] = { "note", "TEXT", "a note to the run" },
};

/* What is brought in, where to, and what both together say. */
struct import {
    struct cmd_record from;   /* FROM, and what is wrong with it */
    struct cmd_record into;   /* JOB as it is... */
    struct cmd_record tell;   /* ...and what is to be said of it */
    struct append append;     /* JOB, open; not where it is new */
    struct append_text bytes; /* of FROM */
    struct append_text above; /* of JOB */
    struct record record;     /* both together */
    struct job job;
    struct csv csv;
    struct csv_book book;
    struct carry carry;
    bool is_csv, no_memory;
};

/* ---- options ---- */

static bool
take_option(const struct cmd_given *given, size_t which, char *out, size_t room)
{
    const char *value = given->value[which];
    size_t n = value ? strlen(value) : 0;
    if (!value)
        return true;
    if (n > 0 && n < room && text_is_plain(value, n)) {
        memcpy(out, value, n + 1);
        return true;
    }
    fprintf(stderr, "rodbook import: --%s wants plain text of up to %zu bytes\n", cmd_import_options[which].name, room - 1);
    return false;
}

static bool
take_options(const struct cmd_given *given, struct write_head *head, char by[WRITE_NAME])
{
    const char *date = given->value[DATE];
    if (date && !write_is_day(date)) {
        fputs("rodbook import: --date wants a day: --date 2026-05-02\n", stderr);
        return false;
    }
    return take_option(given, BY, by, WRITE_NAME) && take_option(given, DATE, head->date, sizeof head->date)
        && take_option(given, INSTRUMENT, head->instrument, sizeof head->instrument)
        && take_option(given, OBSERVER, head->observer, sizeof head->observer)
        && take_option(given, RODMAN, head->rodman, sizeof head->rodman)
        && take_option(given, WEATHER, head->weather, sizeof head->weather)
        && take_option(given, NOTE, head->note, sizeof head->note);
}

static bool
is_csv(const char *file)
{
    size_t n = strlen(file);
    return n > 4 && strcasecmp(file + n - 4, ".csv") == 0;
}

/* ---- complaints of both together, each to its own file ---- */

/* True where JOB said the same before. *next goes on through what it said, which is in order. */
static bool
was_said(const struct import *i, const struct diag_item *item, size_t *next)
{
    const struct diag *before = &i->into.diag;
    while (*next < before->n && (before->item[*next].head.line < item->head.line
               || (before->item[*next].head.line == item->head.line && before->item[*next].head.column < item->head.column)))
        ++*next;
    for (size_t k = *next; k < before->n && before->item[k].head.line == item->head.line; k++)
        if (before->item[k].level == item->level && before->item[k].check == item->check
            && strcmp(before->item[k].text, item->text) == 0)
            return true;
    return false;
}

/* A record that was changed is said each time. */
static bool
is_alteration(const struct diag_item *item)
{
    return item->check && (strcmp(item->check, "digest") == 0 || strcmp(item->check, "signature") == 0);
}

static struct diag_place
place_in_from(const struct import *i, struct diag_place place)
{
    return i->is_csv ? csv_book_place(&i->book, &i->csv, place) : carry_place(&i->carry, place);
}

static void
tell_of_from(struct import *i, const struct diag_item *item, uint32_t lines)
{
    struct diag *d = &i->from.diag;
    struct diag_place place = place_in_from(i, item->place);
    if (item->level == DIAG_NOTE && item->place.line <= lines)
        diag_say(d, item->level, place_in_from(i, item->head), item->check, "%s: line %" PRIu32 " of %s", item->text, item->place.line,
            cmd_file_name(i->into.source.name));
    else
        diag_say(d, item->level, place, item->check, "%s", item->text);
    if (item->check && strcmp(item->check, "job-entry") == 0 && lines > 0)
        diag_say(d, DIAG_NOTE, place, NULL,
            "%s is there, and has its job entry: leave this one out, or name a file that is not there yet", cmd_file_name(i->into.source.name));
}

/* `lines` stand above what is new. */
static void
share_out(struct import *i, struct diag *found, uint32_t lines)
{
    size_t next = 0;
    bool told = false;
    diag_sort(found);
    diag_sort(&i->into.diag);
    for (size_t k = 0; k < found->n; k++) {
        const struct diag_item *item = &found->item[k];
        if (item->head.line > lines) {
            tell_of_from(i, item, lines);
            continue;
        }
        if (item->level != DIAG_NOTE)
            told = item->level == DIAG_ERROR || is_alteration(item) || !was_said(i, item, &next);
        if (told)
            diag_say(&i->tell.diag, item->level, item->place, item->check, "%s", item->text);
    }
    i->no_memory |= found->no_memory;
}

/* Read and work out the whole, as every command would. Entries by hand are held against what they are under
 * digests before the building adds its points to what was read. */
static int
judge(struct import *i, const char *bytes, size_t n, uint32_t lines)
{
    static const struct job_options options = { .stakes = true, .grade_optional = true, .tapes = true };
    struct diag found = { 0 };
    struct source source = source_of_bytes(bytes, n);
    int rc = record_read(&i->record, &source, &found);
    if (rc == 0 && found.errors == 0 && !i->is_csv)
        rc = carry_verify(&i->carry, i->above.bytes, i->above.n, &i->record, &i->from.diag);
    if (rc == 0 && found.errors == 0)
        rc = job_building(&i->record, &found);
    if (rc == 0 && found.errors == 0)
        rc = job_work(&i->job, &i->record, &options, &found);
    if (rc == 0 && found.errors == 0 && !i->is_csv)
        rc = cmd_look_at_holes(&i->job, &found);
    share_out(i, &found, lines);
    diag_release(&found);
    return rc;
}

static bool
good(const struct import *i)
{
    return i->from.diag.errors == 0 && i->tell.diag.errors == 0;
}

/* ---- the record that is added to ---- */

static void
keep_faults(struct import *i)
{
    struct diag given = i->into.diag;
    i->into.diag = i->tell.diag;
    i->tell.diag = given;
}

/* Open and lock JOB, and take its bytes; what is wrong with it is to be said. */
static int
open_record(struct import *i)
{
    static const struct job_options options = { .stakes = true, .grade_optional = true, .tapes = true };
    struct diag *d = &i->into.diag;
    int rc = append_open(&i->append, i->into.source.name, &i->into.record, d);
    if (rc != 0 || d->errors > 0) {
        i->no_memory |= rc != 0 && d->errors == 0;
        keep_faults(i);
        return -1;
    }
    if (job_building(&i->into.record, d) != 0 || job_work(&i->into.job, &i->into.record, &options, d) != 0
        || (!i->is_csv && d->errors == 0 && cmd_look_at_holes(&i->into.job, d) != 0)) {
        i->no_memory = true;
        return -1;
    }
    if (append_begin(&i->append, &i->tell.diag) != 0)
        return -1;
    struct source source = source_of_file(i->append.fd, i->append.file, i->append.at.size);
    if (!append_text_read(&i->above, &source, &i->tell.diag))
        return -1;
    i->tell.source = source_of_bytes(i->above.bytes, i->above.n);
    i->tell.source.name = i->into.source.name;
    return 0;
}

/* ---- rows of a table ---- */

static int
take_table(struct import *i, const struct write_head *head, const char *by)
{
    struct append_text whole = { 0 };
    const struct record *r = &i->into.record;
    int rc = csv_open(&i->csv, i->bytes.bytes, i->bytes.n, r->job.unit, &i->from.diag);
    if (rc != 0)
        return i->from.diag.errors > 0 ? 0 : -1;
    rc = csv_book(&i->book, &i->csv, &i->append.at, head, by);
    if (rc != 0 || i->from.diag.errors > 0)
        return rc;
    rc = append_text_add(&whole, i->above.bytes, i->above.n) && append_text_add(&whole, i->book.text.bytes, i->book.text.n) ? 0 : -1;
    if (rc == 0)
        rc = judge(i, whole.bytes, whole.n, i->append.at.lines);
    if (rc == 0 && good(i))
        (void)append_composed(&i->append, &i->book.text, &i->book.at, i->book.digest, &i->tell.diag);
    append_text_release(&whole);
    return rc;
}

/* ---- entries by hand ---- */

static int
take_entries(struct import *i, const struct scan_end *at, bool is_new)
{
    struct carry *c = &i->carry;
    int rc = carry_compose(c, i->above.bytes, i->above.n, at, i->bytes.bytes, i->bytes.n, &i->from.diag);
    bool sealed = i->from.diag.n > 0 && i->from.diag.item[0].check && strcmp(i->from.diag.item[0].check, "sealed") == 0;
    if (rc != 0 || c->plain.n == 0 || sealed)
        return rc;
    rc = judge(i, c->plain.bytes, c->plain.n, c->lines_above);
    if (rc != 0 || !good(i))
        return rc;
    if (is_new)
        (void)append_create(i->into.source.name, c->text.bytes, c->text.n, &i->tell.diag);
    else
        (void)append_composed(&i->append, &c->text, &c->at, c->digest, &i->tell.diag);
    return 0;
}

/* ---- what was done ---- */

static void
count_new(const struct import *i, uint32_t first, size_t *rows, size_t *runs)
{
    *rows = *runs = 0;
    for (size_t k = first - 1; k < i->record.entries; k++)
        *rows += i->record.entry[k].rows;
    for (size_t k = 0; k < i->record.runs; k++)
        *runs += i->record.run[k].entry >= first - 1;
}

/* Rows, runs, where they stand now, and the digest to copy on paper. */
static void
report(const struct import *i)
{
    uint32_t first = i->is_csv ? i->book.first : i->carry.first, last = i->is_csv ? i->book.at.entries : i->carry.at.entries;
    char digest[DIGEST_SHORT_TEXT];
    size_t rows, runs;
    count_new(i, first, &rows, &runs);
    digest_short(digest, i->is_csv ? i->book.digest : i->carry.digest);
    printf("%s: ", cmd_file_name(i->from.source.name));
    if (!i->is_csv)
        printf("%" PRIu32 " %s%s", last - first + 1, last == first ? "entry" : "entries", rows > 0 ? ", " : "");
    if (rows > 0)
        printf("%zu row%s in %zu run%s", rows, rows == 1 ? "" : "s", runs, runs == 1 ? "" : "s");
    if (i->is_csv && i->book.struck > 0)
        printf(", %" PRIu32 " of them struck", i->book.struck);
    printf("\n%s: %s %" PRIu32, cmd_file_name(i->into.source.name), first == last ? "entry" : "entries", first);
    if (last > first)
        printf(" to %" PRIu32, last);
    printf(" written, and on the disk\ndigest %" PRIu32 ": %s\n", last, digest);
}

static int
finish(struct import *i)
{
    diag_sort(&i->from.diag);
    diag_sort(&i->tell.diag);
    cmd_complain(&i->from);
    cmd_complain(&i->tell);
    if (i->no_memory || i->from.diag.no_memory || i->tell.diag.no_memory)
        cmd_no_memory(&i->from);
    else if (good(i)) {
        report(i);
        return i->from.diag.warnings + i->tell.diag.warnings > 0 ? EXIT_NOT_GOOD : EXIT_GOOD;
    }
    fprintf(stderr, "%s: nothing was imported\n", cmd_file_name(i->into.source.name));
    return EXIT_UNDONE;
}

static void
release(struct import *i)
{
    append_end(&i->append);
    append_close(&i->append);
    csv_close(&i->csv);
    csv_book_release(&i->book);
    carry_release(&i->carry);
    append_text_release(&i->bytes);
    append_text_release(&i->above);
    job_release(&i->job);
    record_release(&i->record);
    cmd_release(&i->from);
    cmd_release(&i->into);
    cmd_release(&i->tell);
}

static int
import(struct import *i, const struct write_head *head, const char *by)
{
    bool is_new = !i->is_csv && access(i->into.source.name, F_OK) != 0;
    struct scan_end nothing = append_nowhere();
    if (source_open(&i->from.source, i->from.source.name, &i->from.diag) != 0
        || !append_text_read(&i->bytes, &i->from.source, &i->from.diag))
        return 0;
    if (is_new)
        return take_entries(i, &nothing, true);
    if (open_record(i) != 0)
        return 0;
    return i->is_csv ? take_table(i, head, by) : take_entries(i, &i->append.at, false);
}

int
cmd_import(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct write_head head = { .date = "" };
    char by[WRITE_NAME] = "";
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    if (strcmp(given.files[1], "-") == 0) {
        fputs("rodbook import: JOB is a file; only FROM may be -\n", stderr);
        return EXIT_UNDONE;
    }
    if (!take_options(&given, &head, by))
        return EXIT_UNDONE;
    struct source from = { .name = given.files[0], .fd = -1 }, into = { .name = given.files[1], .fd = -1 };
    struct import i = { .from.source = from, .into.source = into, .tell.source = into, .append.fd = -1, .is_csv = is_csv(given.files[0]) };
    bool any = false;
    for (size_t k = BY; k <= NOTE; k++)
        any |= given.value[k] != NULL;
    if (any && !i.is_csv) {
        fputs("rodbook import: --by and what stands at the head of a run go with a .csv; entries by hand say it themselves\n", stderr);
        return EXIT_UNDONE;
    }
    i.no_memory |= import(&i, &head, by) != 0;
    status = finish(&i);
    release(&i);
    return cmd_finish(status);
}
