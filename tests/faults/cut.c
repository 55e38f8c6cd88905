/*
 * cut.c - entries cut short at every one of their bytes
 *
 * short.c writes what it is allowed to, and then fails or kills: so each
 * first part of an entry, of every length, is at the end of the record once.
 * The worst of them lacks only the last line feed of its digest: it must
 * stay torn when the next entry is put behind it.
 *
 * The record before may itself end in a torn entry, in each way that makes
 * the appender mend its end differently.
 */
#include "faults.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* How the record ends before. */
static const struct end {
    const char *name;
    bool torn;
    long bytes; /* of the entry that was cut off; from its end where below 0 */
    long more;  /* of the entry that was begun behind that, and cut off too; -1: none */
} ends[] = {
    { "whole", false, 0, -1 },
    { "torn", true, 60, -1 },         /* no line feed at the end */
    { "line", true, 4, -1 },          /* --- alone, and its line feed */
    { "word", true, 6, -1 },          /* entry: cut off within that word */
    { "dash", true, 1, -1 },          /* a piece of --- only */
    { "digest-cut", true, -1, -1 },   /* a whole digest line but for the line feed */
    { "blank", true, -1, 1 },         /* the blank that keeps it torn was written, and nothing more */
    { "mended", true, -1, 2 },        /* and its line feed */
};

#define DIGEST_CUT 5 /* in `ends` */

/* What happens when so many bytes have been written. */
static const struct happening {
    const char *name;
    int then;            /* FAULT_THEN */
    const char *cut;     /* FAULT_CUT */
    bool session;        /* only where lines are booked one by one */
    struct allowed allowed;
} happenings[] = {
    { "killed", 0, NULL, false, { .unacknowledged = 1, .torn = true } },
    { "full", ENOSPC, NULL, false, { 0 } },
    { "failed", EIO, NULL, true, { 0 } },
    { "full-and-stuck", ENOSPC, "FAULT_CUT=5", true, { .torn = true, .inside = true } },
};

#define STUCK 3 /* in `happenings` */

struct ready {
    struct place from;
    const struct happening *what;
    long entry; /* how many entries of the run are confirmed before */
    long bytes; /* in all that is written of it */
};

static void
shim_words(struct words *w, const struct place *at, long entry, long bytes, int then, const char *cut)
{
    words_add(w, "env");
    words_form(w, "LD_PRELOAD=%s", shim);
    words_form(w, "FAULT_FILE=%s", at->record);
    words_form(w, "FAULT_ENTRY=%ld", entry);
    words_form(w, "FAULT_BYTES=%ld", bytes);
    words_form(w, "FAULT_THEN=%d", then);
    if (cut)
        words_add(w, cut);
}

/* Book a line into the place's record, and kill it behind so many of its bytes; how many there are now. */
static size_t
cut_line(const struct place *at, long bytes)
{
    static const char *const argv[] = { "book", "--by", "RO", "@" RECORD, NULL };
    struct words w = { .n = 0 };
    struct look l;
    shim_words(&w, at, 0, bytes, 0, NULL);
    words_of(&w, at, argv);
    struct ran r = run_words(at, TORN_LINE, &w);
    ran_release(&r);
    size_t n = look_open(&l, at->record) ? l.n : 0;
    look_release(&l);
    return n;
}

/* How many bytes an entry has that is booked by this line there. */
static long
line_bytes(struct plan *p, const struct place *at)
{
    static const char *const argv[] = { "book", "--by", "RO", "@" RECORD, NULL };
    struct place trial;
    struct look was, is;
    plan_place(p, &trial);
    place_copy(at, &trial);
    (void)look_open(&was, trial.record);
    struct ran r = run_rodbook(&trial, TORN_LINE, argv);
    (void)look_open(&is, trial.record);
    long n = (long)(is.n - was.n);
    ran_release(&r);
    look_release(&was);
    look_release(&is);
    return n;
}

/* Make the record's end; false where it did not become as meant. */
static bool
make_end(struct plan *p, const struct place *at, const struct end *end)
{
    struct look l;
    if (!end->torn)
        return true;
    (void)look_open(&l, at->record);
    long was = (long)l.n, whole = line_bytes(p, at), n = end->bytes < 0 ? whole + end->bytes : end->bytes;
    look_release(&l);
    if ((long)cut_line(at, n) != was + n)
        return false;
    return end->more < 0 || (long)cut_line(at, end->more) == was + n + end->more;
}

/* What a run writes of its entry number `entry`, from its first byte: the mend of the end before included. */
static long
measure(const struct place *from, struct place *trial, const struct command *c, long entry)
{
    struct look was, is;
    place_copy(from, trial);
    bool there = look_open(&was, trial->record);
    struct words w = { .n = 0 };
    words_of(&w, trial, c->argv);
    char *input = command_input(c);
    struct ran r = run_words(trial, input, &w);
    long n = 0;
    if (look_open(&is, trial->record) && r.status == 0) {
        size_t first = (there ? was.entries : 0) + (size_t)entry;
        size_t begin = entry == 0 ? was.n : is.entry[first].start;
        n = (long)((c->session ? is.entry[first].end : is.n) - begin);
    }
    free(input);
    ran_release(&r);
    look_release(&was);
    look_release(&is);
    return n;
}

static void
plan_lengths(struct plan *p, const struct command *c, const struct end *end, const struct happening *what, long entry)
{
    struct outcome o = { 0 };
    struct place trial;
    struct ready *ready = calloc(1, sizeof *ready);
    if (!ready)
        abort();
    *ready = (struct ready){ .what = what, .entry = entry };
    plan_place(p, &ready->from);
    plan_place(p, &trial);
    if (command_prepare(c, &ready->from, &o) != 0 || !make_end(p, &ready->from, end)
        || (ready->bytes = measure(&ready->from, &trial, c, entry)) <= 0) {
        plan_fault(p, o.failed ? o.why : "the end of the record could not be made");
        return;
    }
    /* all of an entry is never followed by an error of its write() */
    for (long k = 0; k < ready->bytes + (what->then == 0); k++) {
        if (k >= ready->bytes - 2)
            plan_key(p); /* the digest line lacks its line feed, or less */
        struct one *one = plan_add(p, c, ready, "%s/%s/%ld/%ld", what->name, end->name, entry, k);
        one->k = k;
    }
}

static void
plan_cut(struct plan *p, const struct command *c)
{
    size_t n = sizeof ends / sizeof ends[0], h = sizeof happenings / sizeof happenings[0];
    for (size_t i = 0; i < h; i++)
        if (c->session || !happenings[i].session)
            plan_lengths(p, c, &ends[0], &happenings[i], c->session ? 2 : 0);
    for (size_t e = 1; e < n && c->session; e++)
        plan_lengths(p, c, &ends[e], &happenings[0], 0);
    if (c->session)
        plan_lengths(p, c, &ends[DIGEST_CUT], &happenings[STUCK], 0);
}

static void
cut_one(const struct one *one, struct place *at, struct outcome *o)
{
    const struct ready *ready = one->with;
    const struct happening *what = ready->what;
    struct look before;
    bool answered[LINES_MOST] = { false };
    struct words w = { .n = 0 };
    char *input = command_input(one->command);
    place_copy(&ready->from, at);
    (void)look_open(&before, at->record);
    shim_words(&w, at, ready->entry, one->k, what->then, what->cut);
    words_of(&w, at, one->command->argv);
    struct ran r = run_words(at, input, &w);
    bool killed = r.status == 128 + 9;
    if (killed != (what->then == 0))
        fail(o, "status %d: %s", r.status, r.err);
    judge(one->command, at, &before, &r, what->allowed, answered, o);
    if (what->then != 0 && !strstr(r.err, strerror(what->then)))
        fail(o, "\"%s\" was not told: %s", strerror(what->then), r.err);
    if (what->then != 0 && r.status != (one->command->session ? 1 : 2))
        fail(o, "status %d: %s", r.status, r.err);
    /* the lines before, and those behind that stand on them, are booked; a line behind one refused may be refused too */
    size_t last = lines_count(one->command->lines) - 1;
    if (what->then != 0 && one->command->session && !answered[last])
        fail(o, "the session did not go on to its last line: %s%s", r.out, r.err);
    free(input);
    look_release(&before);
    ran_release(&r);
}

const struct group cut_group = { .name = "cut", .light = true, .quick = 13, .commands = true, .plan = plan_cut, .run = cut_one };
