/*
 * kill.c - the program killed, or told to stop, at every system call
 *
 * A clean run is traced first. From the opening of the record on, each call
 * that it makes, by name and number, becomes a case: the same run again, and
 * strace sends the signal when that call is entered.
 *
 * Which moments are covered: strace sends SIGKILL at the stop before the
 * call, and the kernel then leaves the call out; so the case of call N is
 * "after everything up to N-1, and nothing of N". Between two calls a
 * program changes nothing that outlives it, so "N done, and not yet
 * answered" is the case of N+1, and exit_group() is the last one. What a
 * call may have done in part when the kill comes is known only of write():
 * some first bytes of an entry. Each such number of bytes is a case of
 * cut.c, where the program is killed right behind them.
 *
 * The disk may also have failed before the kill; the other rows of `states`
 * kill it at every call of what it does then.
 *
 * A signal that can be caught waits, blocked, until the program looks; so
 * entering is the moment that matters for these too.
 */
#include "faults.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The state of the disk before the signal. */
static const struct state {
    const char *name;
    bool session;          /* only where lines are booked one by one */
    const char *fault[4];  /* for short.c */
    struct allowed allowed;
} states[] = {
    { "", false, { 0 }, { .unacknowledged = 1 } },
    { "full-", true, { "FAULT_ENTRY=1", "FAULT_BYTES=100", "FAULT_THEN=28" }, { .unacknowledged = 1, .torn = true } },
    { "full-and-stuck-", true, { "FAULT_ENTRY=1", "FAULT_BYTES=100", "FAULT_THEN=28", "FAULT_CUT=5" },
        { .unacknowledged = 1, .torn = true, .inside = true } },
    { "unconfirmed-", true, { "FAULT_ENTRY=1", "FAULT_SYNC=5" }, { .unacknowledged = 1 } },
    { 0 },
};

_Static_assert(ENOSPC == 28 && EIO == 5, "the numbers in `states`");

/* A record ready for the fault, and the state of the disk. */
struct ready {
    struct place from;
    const struct state *state;
    const char *signal;
    int status; /* of a session that the signal stopped */
};

static void
faulty_words(struct words *w, const struct place *at, const struct state *state, const struct command *c)
{
    if (state->fault[0]) {
        words_add(w, "-E");
        words_form(w, "LD_PRELOAD=%s", shim);
        words_add(w, "-E");
        words_form(w, "FAULT_FILE=%s", at->record);
    }
    for (size_t i = 0; i < 4 && state->fault[i]; i++) {
        words_add(w, "-E");
        words_add(w, state->fault[i]);
    }
    words_of(w, at, c->argv);
}

/* Trace a run without the signal, and make a case of each call. */
static void
plan_calls(struct plan *p, const struct command *c, const struct state *state, const char *signal, int status)
{
    struct outcome o = { 0 };
    struct place trial;
    struct call *calls = NULL;
    struct words w = { .n = 0 };
    struct ready *ready = calloc(1, sizeof *ready);
    if (!ready)
        abort();
    *ready = (struct ready){ .state = state, .signal = signal, .status = status };
    plan_place(p, &ready->from);
    plan_place(p, &trial);
    if (command_prepare(c, &ready->from, &o) != 0) {
        plan_fault(p, o.why);
        return;
    }
    place_copy(&ready->from, &trial);
    words_strace(&w, &trial);
    faulty_words(&w, &trial, state, c);
    char *input = command_input(c);
    struct ran r = run_words(&trial, input, &w);
    if (!state->fault[0] && r.status != 0)
        plan_fault(p, r.err);
    size_t n = trace_read(trial.log, trial.record, &calls);
    long synced = 0;
    for (size_t i = 0; i < n; i++) {
        struct one *one = plan_add(p, c, ready, "%s%s%s%s/%ld", signal ? signal : "", signal ? "/" : "", state->name, calls[i].name, calls[i].n);
        one->call = strdup(calls[i].name);
        one->n = calls[i].n;
        one->k = synced;
        synced += strcmp(calls[i].name, "fsync") == 0;
    }
    if (n == 0 || synced == 0)
        plan_fault(p, "the trace of a clean run shows no fsync of the record");
    free(input);
    free(calls);
    ran_release(&r);
}

static void
plan_kill(struct plan *p, const struct command *c)
{
    for (const struct state *s = states; s->name; s++)
        if (!s->session || c->session)
            plan_calls(p, c, s, NULL, 0);
}

static void
plan_signal(struct plan *p, const struct command *c)
{
    plan_calls(p, c, &states[0], "SIGINT", 1);
    plan_calls(p, c, &states[0], "SIGTERM", 1);
    plan_calls(p, c, &states[0], "SIGHUP", 2);
}

static struct ran
run_one(const struct one *one, struct place *at, struct look *before, const char *signal)
{
    const struct ready *ready = one->with;
    struct words w = { .n = 0 };
    char *input = command_input(one->command);
    place_copy(&ready->from, at);
    (void)look_open(before, at->record);
    words_strace(&w, at);
    words_add(&w, "-e");
    words_form(&w, "inject=%s:signal=%s:when=%ld", one->call, signal, one->n);
    faulty_words(&w, at, ready->state, one->command);
    struct ran r = run_words(at, input, &w);
    free(input);
    return r;
}

static void
kill_one(const struct one *one, struct place *at, struct outcome *o)
{
    const struct ready *ready = one->with;
    struct look before;
    struct ran r = run_one(one, at, &before, "SIGKILL");
    if (r.status != 128 + 9)
        fail(o, "it was not killed: status %d: %s", r.status, r.err);
    else
        judge(one->command, at, &before, &r, ready->state->allowed, NULL, o);
    look_release(&before);
    ran_release(&r);
}

/* Stopped: nothing half done, where it stands is said, and no line is begun that was not begun before. */
static void
stops_well(const struct one *one, const struct ran *r, struct outcome *o)
{
    const struct ready *ready = one->with;
    const char *says = ready->status == 2 ? r->err : r->out;
    size_t lines = lines_count(one->command->lines);
    bool stopped = strstr(says, "Stopped. A line that was not answered is not booked.") != NULL;
    if (!strstr(says, "booked this time") && !strstr(r->out, "booked this time"))
        fail(o, "it does not say where the job stands: %s%s", r->out, r->err);
    else if (stopped && r->status != ready->status)
        fail(o, "stopped by %s with status %d, and not %d", ready->signal, r->status, ready->status);
    else if (!stopped && (r->status != 0 || o->acknowledged != lines))
        fail(o, "status %d, %d of %zu lines, and no word that it was stopped", r->status, o->acknowledged, lines);
    else if (stopped && o->acknowledged > one->k + 1)
        fail(o, "%d lines were booked, though %s came when %ld were", o->acknowledged, ready->signal, one->k);
}

static void
signal_one(const struct one *one, struct place *at, struct outcome *o)
{
    const struct ready *ready = one->with;
    struct look before;
    struct ran r = run_one(one, at, &before, ready->signal);
    judge(one->command, at, &before, &r, (struct allowed){ 0 }, NULL, o);
    if (!o->failed)
        stops_well(one, &r, o);
    look_release(&before);
    ran_release(&r);
}

const struct group kill_group = { .name = "kill", .strace = true, .quick = 7, .commands = true, .plan = plan_kill, .run = kill_one };
const struct group signal_group = { .name = "signal", .strace = true, .sessions = true, .quick = 9, .commands = true, .plan = plan_signal,
    .run = signal_one };
