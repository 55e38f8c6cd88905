/* bookers.c - many crews at one record at once: every reading whole, in one chain, each number given once */
#include "faults.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#define BOOKERS 8
#define LINES ((size_t)1000) /* of each: a backsight, and intermediate sights */

/* Reading k of booker b, in the last digits no two alike. */
static void
reading(size_t b, size_t k, char *line, size_t room, bool entry)
{
    if (k == 0)
        snprintf(line, room, entry ? "{at: BM1, bs: 4.%03zu}" : "bs BM1 4.%03zu", 100 + b);
    else
        snprintf(line, room, entry ? "{at: B%zu-%04zu, is: %zu.%03zu}" : "is B%zu-%04zu %zu.%03zu", b, k, 1 + b, k);
}

static void
book_all(const struct place *at, size_t b)
{
    struct place own;
    struct words w = { .n = 0 };
    char dir[PATH], *text = calloc(LINES + 1, 64), *p = text;
    if (!text)
        abort();
    snprintf(dir, sizeof dir, "%.480s/booker-%zu", at->dir, b);
    place_make(&own, dir);
    p += sprintf(p, "run\n");
    for (size_t k = 0; k < LINES; k++) {
        reading(b, k, p, 60, false);
        p += strlen(p);
        *p++ = '\n';
    }
    words_add(&w, program);
    words_add(&w, "book");
    words_add(&w, at->record);
    struct ran r = run_words(&own, text, &w);
    _exit(r.status);
}

/* The numbers that booker b was given, in order, and each entry what it booked. */
static void
judge_booker(const struct place *at, const struct look *l, size_t b, uint8_t *given, struct outcome *o)
{
    static uint32_t number[LINES + 8];
    struct place own;
    char dir[PATH], wanted[80], run[40] = "";
    snprintf(dir, sizeof dir, "%.480s/booker-%zu", at->dir, b);
    place_make(&own, dir);
    char *out = file_read(own.out, NULL), *err = file_read(own.err, NULL);
    size_t n = out ? acknowledged_numbers(out, number, LINES + 8) : 0;
    if (n != LINES)
        fail(o, "booker %zu: %zu of %zu lines acknowledged: %.300s", b, n, LINES, err ? err : "");
    for (size_t k = 0; k < n && !o->failed; k++) {
        uint32_t e = number[k];
        reading(b, k, wanted, sizeof wanted, true);
        if (k == 0)
            snprintf(run, sizeof run, "continues: %u\n", e);
        if (e < 1 || e > l->entries || !look_has(l, &l->entry[e - 1], wanted))
            fail(o, "LOST: booker %zu: entry %u does not hold %s", b, e, wanted);
        else if (k > 0 && (e <= number[k - 1] || !look_has(l, &l->entry[e - 1], run)))
            fail(o, "booker %zu: entry %u is out of order, or in another run", b, e);
        else if (given[e - 1]++)
            fail(o, "entry %u was acknowledged twice", e);
        o->acknowledged++;
    }
    free(out);
    free(err);
}

static void
judge_record(const struct place *at, const struct look *l, size_t before, struct outcome *o)
{
    if (l->entries != before + BOOKERS * LINES)
        fail(o, "%zu entries, where %zu are right", l->entries, before + BOOKERS * LINES);
    for (size_t i = 0; i < l->entries; i++)
        if (!l->entry[i].whole || !l->entry[i].fits || l->entry[i].number != i + 1)
            fail(o, "entry %zu is not whole, or its digest or number does not fit", i + 1);
    struct ran r = run_rodbook(at, NULL, (const char *const[]){ "check", "@" RECORD, NULL });
    if (r.status != 0 || r.err[0])
        fail(o, "rodbook check: status %d: %.300s", r.status, r.err);
    ran_release(&r);
    r = run_rodbook(at, NULL, (const char *const[]){ "reduce", "--json", "@" RECORD, NULL });
    size_t rows = 0;
    for (const char *p = r.out; p && (p = strstr(p, "\"is\":")) != NULL; p += 5)
        rows += p[5] != 'n';
    if (rows != BOOKERS * (LINES - 1))
        fail(o, "reduce uses %zu intermediate sights, where %zu were booked", rows, BOOKERS * (LINES - 1));
    ran_release(&r);
}

static void
bookers_one(const struct one *one, struct place *at, struct outcome *o)
{
    struct look l;
    size_t before = 2;
    struct command bare = commands[0];
    bare.booked = NULL;
    (void)one;
    if (command_prepare(&bare, at, o) != 0)
        return;
    pid_t pid[BOOKERS];
    size_t unhappy = 0;
    for (size_t b = 0; b < BOOKERS; b++)
        if ((pid[b] = fork()) == 0)
            book_all(at, b);
    for (size_t b = 0; b < BOOKERS; b++) {
        int status = 0;
        (void)waitpid(pid[b], &status, 0);
        unhappy += !WIFEXITED(status) || WEXITSTATUS(status) != 0;
    }
    if (!look_open(&l, at->record)) {
        fail(o, "the record is not there");
        return;
    }
    uint8_t *given = calloc(l.entries + 1, 1);
    for (size_t b = 0; b < BOOKERS && given; b++)
        judge_booker(at, &l, b, given, o);
    judge_record(at, &l, before, o);
    if (unhappy > 0)
        fail(o, "%zu bookers did not end with status 0", unhappy);
    free(given);
    look_release(&l);
}

static void
plan_bookers(struct plan *p, const struct command *c)
{
    (void)c;
    plan_add(p, NULL, NULL, "eight-at-once");
}

const struct group bookers_group = { .name = "bookers", .alone = true, .quick = 1, .plan = plan_bookers, .run = bookers_one };
