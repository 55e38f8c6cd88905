/*
 * error.c - calls that the system refuses
 *
 * strace gives the call an error instead of making it, at each of its
 * occurrences on the file named, one after the other. Nothing acknowledged
 * may be lost by that, nothing used that was not acknowledged; the system's
 * word for the fault must reach standard error, and the exit status say how
 * bad it was.
 */
#include "faults.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What a fault costs at the least and at the most, as an exit status. */
enum cost { NOTHING = 0, A_LINE = 1, THE_SESSION = 2 };

enum on { THE_RECORD, THE_ANSWERS, ANYTHING };

static const struct fault {
    const char *call, *error; /* injected at each occurrence in turn */
    const char *also;         /* injected as well, at every occurrence; NULL */
    enum on on;
    bool session;             /* only where lines are booked one by one */
    int least, most;          /* enum cost, in a session; elsewhere a fault costs nothing or all */
    const char *says;         /* on standard error, where it cost anything */
    unsigned unacknowledged;
} faults[] = {
    { "write", "ENOSPC", NULL, THE_RECORD, false, A_LINE, A_LINE, "No space left on device", 0 },
    { "write", "EIO", NULL, THE_RECORD, false, A_LINE, A_LINE, "Input/output error", 0 },
    { "write", "EDQUOT", NULL, THE_RECORD, false, A_LINE, A_LINE, "Disk quota exceeded", 0 },
    { "write", "EFBIG", NULL, THE_RECORD, false, A_LINE, A_LINE, "File too large", 0 },
    { "write", "EINTR", NULL, THE_RECORD, false, NOTHING, NOTHING, NULL, 0 },
    { "write", "ENOSPC", "ftruncate:error=EIO", THE_RECORD, false, A_LINE, A_LINE, "No space left on device", 0 },
    { "write", "ENOSPC", "ftruncate:error=EINTR:when=1..3", THE_RECORD, false, A_LINE, A_LINE, "No space left on device", 0 },
    { "fsync", "EIO", NULL, THE_RECORD, false, THE_SESSION, THE_SESSION, "Input/output error", 0 },
    { "fsync", "ENOSPC", NULL, THE_RECORD, false, THE_SESSION, THE_SESSION, "No space left on device", 0 },
    { "fsync", "EDQUOT", NULL, THE_RECORD, false, THE_SESSION, THE_SESSION, "Disk quota exceeded", 0 },
    { "fsync", "EINTR", NULL, THE_RECORD, false, NOTHING, NOTHING, NULL, 0 },
    /* what was written can then not be taken out again: it is the one in flight, and that must be said */
    { "fsync", "EIO", "ftruncate:error=EIO", THE_RECORD, false, THE_SESSION, THE_SESSION, "Input/output error", 1 },
    { "flock", "ENOLCK", NULL, THE_RECORD, false, NOTHING, THE_SESSION, "No locks available", 0 },
    { "flock", "EINTR", NULL, THE_RECORD, false, NOTHING, NOTHING, NULL, 0 },
    { "openat", "EROFS", NULL, THE_RECORD, false, THE_SESSION, THE_SESSION, "Read-only file system", 0 },
    { "openat", "EACCES", NULL, THE_RECORD, false, THE_SESSION, THE_SESSION, "Permission denied", 0 },
    { "openat", "EMFILE", NULL, THE_RECORD, false, THE_SESSION, THE_SESSION, "Too many open files", 0 },
    { "newfstatat", "EIO", NULL, THE_RECORD, false, NOTHING, THE_SESSION, "Input/output error", 0 },
    { "fstat", "EIO", NULL, THE_RECORD, false, NOTHING, THE_SESSION, "Input/output error", 0 },
    { "pread64", "EIO", NULL, THE_RECORD, false, A_LINE, THE_SESSION, "cannot be read|input error", 0 },
    { "pread64", "EINTR", NULL, THE_RECORD, false, NOTHING, NOTHING, NULL, 0 },
    { "close", "EIO", NULL, THE_RECORD, false, NOTHING, NOTHING, NULL, 0 },
    { "read", "EIO", NULL, ANYTHING, true, THE_SESSION, THE_SESSION, "Input/output error", 0 },
    { "read", "EINTR", NULL, ANYTHING, true, NOTHING, NOTHING, NULL, 0 },
    { "ppoll", "EINTR", NULL, ANYTHING, true, NOTHING, NOTHING, NULL, 0 },
    { "ppoll", "ENOMEM", NULL, ANYTHING, true, NOTHING, NOTHING, NULL, 0 },
    /* an answer that nobody could read: the reading is booked, and the session ends */
    { "write", "ENOSPC", NULL, THE_ANSWERS, false, THE_SESSION, THE_SESSION, "No space left on device", 1 },
    { "write", "EPIPE", NULL, THE_ANSWERS, false, THE_SESSION, THE_SESSION, "Broken pipe", 1 },
    { "write", "EIO", NULL, THE_ANSWERS, false, THE_SESSION, THE_SESSION, "Input/output error", 1 },
#ifndef __SANITIZE_ADDRESS__ /* whose own memory comes by mmap() too, and which gives up without it */
    { "mmap", "ENOMEM", NULL, ANYTHING, false, NOTHING, THE_SESSION, "memory", 0 },
#endif
    /* a new record: its draft, its name, its directory */
    { "openat", "ENOSPC", NULL, ANYTHING, false, NOTHING, THE_SESSION, "No space left on device", 0 },
    { "renameat2", "EIO", NULL, ANYTHING, false, THE_SESSION, THE_SESSION, "Input/output error", 0 },
    { "renameat2", "EINVAL", NULL, ANYTHING, false, NOTHING, NOTHING, NULL, 0 },
    { "renameat2", "EINVAL", "link:error=EPERM", ANYTHING, false, THE_SESSION, THE_SESSION, "Operation not permitted", 0 },
    { "renameat2", "EEXIST", NULL, ANYTHING, false, THE_SESSION, THE_SESSION, "is there already", 0 },
    { "write", "ENOSPC", "unlink:error=EIO", ANYTHING, false, NOTHING, THE_SESSION, "No space left on device", 1 },
    { "fsync", "EIO", NULL, ANYTHING, false, THE_SESSION, THE_SESSION, "Input/output error", 0 },
    { "fsync", "EINTR", NULL, ANYTHING, false, NOTHING, NOTHING, NULL, 0 },
    { "close", "EINTR", NULL, ANYTHING, false, NOTHING, NOTHING, NULL, 0 },
    { "close", "EIO", NULL, ANYTHING, false, NOTHING, THE_SESSION, "Input/output error", 0 },
};

struct ready {
    struct place from;
    const struct fault *fault;
};

static void
traced_words(struct words *w, const struct place *at, const struct fault *f, long n, const struct command *c)
{
    words_strace(w, at);
    if (f->on != ANYTHING) {
        words_add(w, "-P");
        words_add(w, f->on == THE_RECORD ? at->record : at->out);
    }
    if (n > 0) {
        words_add(w, "-e");
        words_form(w, "inject=%s:error=%s:when=%ld", f->call, f->error, n);
    }
    if (n > 0 && f->also) {
        words_add(w, "-e");
        words_form(w, "inject=%s", f->also);
    }
    words_of(w, at, c->argv);
}

static void
plan_fault_at_each(struct plan *p, const struct command *c, const struct place *from, const struct place *trial, const struct fault *f,
    const char *input)
{
    struct call *calls;
    struct words w = { .n = 0 };
    struct ready *ready = calloc(1, sizeof *ready);
    if (!ready)
        abort();
    *ready = (struct ready){ *from, f };
    place_empty(trial);
    place_copy(from, trial);
    traced_words(&w, trial, f, 0, c);
    struct ran r = run_words(trial, input, &w);
    size_t n = trace_read(trial->log, f->on == ANYTHING ? trial->record : NULL, &calls);
    for (size_t i = 0; i < n; i++) {
        if (strcmp(calls[i].name, f->call) != 0)
            continue;
        struct one *one = plan_add(p, c, ready, "%s-%s-%d%s%.9s/%ld", f->call, f->error, f->on, f->also ? "-" : "", f->also ? f->also : "",
            calls[i].n);
        one->call = f->call;
        one->n = calls[i].n;
    }
    free(calls);
    ran_release(&r);
}

static void
plan_errors(struct plan *p, const struct command *c)
{
    struct outcome o = { 0 };
    struct place from, trial;
    plan_place(p, &from);
    plan_place(p, &trial);
    if (command_prepare(c, &from, &o) != 0) {
        plan_fault(p, o.why);
        return;
    }
    char *input = command_input(c);
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++)
        if (c->session || !faults[i].session)
            plan_fault_at_each(p, c, &from, &trial, &faults[i], input);
    free(input);
}

/* After an fsync() that failed, nothing is written to the record any more, and fsync() is not asked again. */
static void
leaves_it_alone(const struct place *at, struct outcome *o)
{
    struct call *calls;
    size_t n = trace_read(at->log, NULL, &calls);
    long failed = -1; /* its descriptor */
    for (size_t i = 0; i < n && !o->failed; i++) {
        const char *text = calls[i].text;
        bool fsync = strcmp(calls[i].name, "fsync") == 0, write = strcmp(calls[i].name, "write") == 0;
        long fd = fsync || write ? strtol(strchr(text, '(') + 1, NULL, 10) : -2;
        if (fd == failed)
            fail(o, "after a failed fsync: %s", text);
        if (fsync && strstr(text, "(INJECTED)") && !strstr(text, "EINTR"))
            failed = fd;
    }
    free(calls);
}

/* One of the words that a fault may be told in, parted by |. */
static bool
says_one(const char *err, const char *says)
{
    char words[80], *save = NULL;
    snprintf(words, sizeof words, "%s", says);
    for (char *word = strtok_r(words, "|", &save); word; word = strtok_r(NULL, "|", &save))
        if (strstr(err, word))
            return true;
    return false;
}

static void
tells_it(const struct one *one, const struct ran *r, const bool answered[], struct outcome *o)
{
    const struct fault *f = ((const struct ready *)one->with)->fault;
    size_t lines = lines_count(one->command->lines), told = 0;
    int least = f->least, most = f->most;
    for (size_t i = 0; i < lines; i++)
        told += answered[i];
    if (!one->command->session && least > NOTHING)
        least = THE_SESSION; /* a command that does one thing does it or not */
    if (!one->command->session && most > NOTHING)
        most = THE_SESSION;
    if (r->status < least || r->status > most)
        fail(o, "status %d, where %d to %d is right: %s%s", r->status, least, most, r->out, r->err);
    else if (r->status != NOTHING && !says_one(r->err, f->says))
        fail(o, "status %d, and \"%s\" is not told: %s%s", r->status, f->says, r->out, r->err);
    else if (r->status == NOTHING && told != lines)
        fail(o, "status 0, and %zu of %zu lines acknowledged", told, lines);
    else if (r->status == A_LINE && !strstr(r->err, "not booked:"))
        fail(o, "a line was refused in silence: %s", r->err);
    else if (o->left == LEFT_WHOLE && strstr(r->err, "never used"))
        fail(o, "an entry stands whole in the record, and it was said that it is never used: %s", r->err);
    else if (o->left == LEFT_WHOLE && strstr(r->err, "stands as it was before"))
        fail(o, "an entry stands whole in the record, and it was said that the record is as before: %s", r->err);
}

static void
error_one(const struct one *one, struct place *at, struct outcome *o)
{
    const struct ready *ready = one->with;
    const struct fault *f = ready->fault;
    struct look before;
    bool answered[LINES_MOST] = { false };
    struct words w = { .n = 0 };
    char *input = command_input(one->command);
    place_copy(&ready->from, at);
    (void)look_open(&before, at->record);
    traced_words(&w, at, f, one->n, one->command);
    struct ran r = run_words(at, input, &w);
    char *log = file_read(at->log, NULL);
    if (!log || !strstr(log, "(INJECTED)"))
        fail(o, "the call was not met: status %d: %s", r.status, r.err);
    if (strcmp(f->call, "fsync") == 0)
        leaves_it_alone(at, o);
    judge(one->command, at, &before, &r, (struct allowed){ .unacknowledged = f->unacknowledged }, answered, o);
    tells_it(one, &r, answered, o);
    free(log);
    free(input);
    look_release(&before);
    ran_release(&r);
}

const struct group error_group = { .name = "error", .strace = true, .quick = 7, .commands = true, .plan = plan_errors,
    .run = error_one };
