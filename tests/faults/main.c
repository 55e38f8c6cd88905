/*
 * main.c - plans the cases, runs them side by side, and says what came of them
 *
 *   faults            all
 *   faults short      one case of some, for every build
 *   faults NAME...    the cases whose names begin so; what they leave is kept
 *
 * $BUILD says where the program is; $FAULTS_DIR where cases run (their
 * directory is made there), else below $BUILD.
 */
#include "faults.h"

#include <errno.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static const struct group *const groups[] = { &kill_group, &signal_group, &error_group, &cut_group, &live_group, &power_group,
    &disk_group, &bookers_group };


/* Under the sanitizers a program makes many times the calls, and takes many times as long. */
#ifdef __SANITIZE_ADDRESS__
#define SANITIZED 1
#else
#define SANITIZED 0
#endif
#define SANITIZED_LESS 6 /* of the cases of the short version, one in so many */

#define GROUPS (sizeof groups / sizeof groups[0])
#define COMMANDS_MOST 16

/* One line of the report: a group, or a group under one command. */
struct part {
    const struct group *group;
    const struct command *command;
    size_t first, n; /* cases */
};

struct plan {
    struct one *one;
    size_t n, room, places;
    struct part part[GROUPS * COMMANDS_MOST];
    size_t parts;
    const struct group *group;
    char **only; /* names asked for */
    size_t seen; /* cases of this part, chosen or not */
    bool key;    /* the next one is in the short version too */
    uint8_t known[COMMANDS_MOST]; /* of each command: 1 there, 2 not there (said) */
    int failed;
};

/* ---- planning ---- */

static bool
begins(const char *text, const char *head)
{
    return strncmp(text, head, strlen(head)) == 0;
}

static const char *
name_of(const struct command *c)
{
    return c->as ? c->as : c->name;
}

static bool
is_chosen(const struct plan *p, const char *name)
{
    if (!p->only[0])
        return !is_short || p->key || p->group->quick <= 1
            || p->seen % (p->group->quick * (SANITIZED ? SANITIZED_LESS : 1)) == 0;
    for (char **only = p->only; *only; only++)
        if (begins(name, *only))
            return true;
    return false;
}

/* False where no case of this part can be asked for. */
static bool
may_be_chosen(const struct plan *p, const char *part)
{
    if (!p->only[0])
        return !is_short || p->group->quick > 0;
    for (char **only = p->only; *only; only++)
        if (begins(*only, part) || begins(part, *only))
            return true;
    return false;
}

struct one *
plan_add(struct plan *p, const struct command *c, const void *with, const char *form, ...)
{
    static struct one unwanted;
    struct one one = { .command = c, .with = with };
    int n = c ? snprintf(one.name, sizeof one.name, "%s/%s/", p->group->name, name_of(c))
              : snprintf(one.name, sizeof one.name, "%s/", p->group->name);
    va_list list;
    va_start(list, form);
    vsnprintf(one.name + n, sizeof one.name - (size_t)n, form, list);
    va_end(list);
    bool chosen = is_chosen(p, one.name);
    p->seen++;
    p->key = false;
    if (!chosen)
        return &unwanted;
    if (p->n == p->room) {
        p->room = p->room * 2 + 512;
        p->one = realloc(p->one, p->room * sizeof *p->one);
        if (!p->one)
            abort();
    }
    p->one[p->n] = one;
    return &p->one[p->n++];
}

void
plan_key(struct plan *p)
{
    p->key = true;
}

void
plan_place(struct plan *p, struct place *at)
{
    char dir[PATH];
    snprintf(dir, sizeof dir, "%.480s/plan-%zu", root, p->places++);
    place_make(at, dir);
}

void
plan_skip(struct plan *p, const char *what, const char *why)
{
    (void)p;
    printf("[  SKIPPED ] %s: %s\n", what, why);
}

void
plan_fault(struct plan *p, const char *why)
{
    p->failed++;
    printf("%s\n[  FAILED  ] %s: it cannot be begun\n", why, p->group->name);
}

/* A command that is not there yet is said once. */
static bool
is_there(struct plan *p, const struct command *c)
{
    uint8_t *known = &p->known[c - commands];
    if (*known == 0) {
        *known = has_command(c->name) ? 1 : 2;
        if (*known == 2)
            plan_skip(p, c->name, "the program has no such command");
    }
    return *known == 1;
}

static void
plan_part(struct plan *p, const struct group *g, const struct command *c)
{
    char name[64];
    snprintf(name, sizeof name, c ? "%s/%s" : "%s", g->name, c ? name_of(c) : "");
    p->group = g;
    if (!may_be_chosen(p, name) || (g->sessions && !c->session))
        return;
    if (c && !is_there(p, c))
        return;
    struct part *part = &p->part[p->parts++];
    *part = (struct part){ .group = g, .command = c, .first = p->n };
    p->seen = 0;
    g->plan(p, c);
    part->n = p->n - part->first;
}

static void
plan_all(struct plan *p)
{
    bool strace = can_strace();
    for (size_t i = 0; i < GROUPS; i++) {
        p->group = groups[i];
        if (groups[i]->strace && !strace && may_be_chosen(p, groups[i]->name)) {
            plan_skip(p, groups[i]->name, "strace is not here, or may not trace: the program was not put under these faults");
            continue;
        }
        for (const struct command *c = commands; groups[i]->commands && c->name; c++)
            plan_part(p, groups[i], c);
        if (!groups[i]->commands)
            plan_part(p, groups[i], NULL);
    }
}

/* ---- running them ---- */

struct shared {
    atomic_size_t next;
    struct outcome outcome[];
};

static char light[PATH]; /* where cases run that need no disk */

static void
work(const struct plan *p, struct shared *s, const struct part *only, size_t number)
{
    struct place on_disk, in_memory;
    char dir[PATH];
    (void)prctl(PR_SET_PDEATHSIG, SIGKILL);
    snprintf(dir, sizeof dir, "%.480s/case-%zu", root, number);
    place_make(&on_disk, dir);
    snprintf(dir, sizeof dir, "%.480s/case-%zu", light, number);
    place_make(&in_memory, dir);
    size_t stop = only ? only->first + only->n : p->n;
    for (size_t i; (i = atomic_fetch_add(&s->next, 1)) < stop;) {
        const struct part *part = p->part;
        while (i >= part->first + part->n)
            part++;
        if (part->group->alone != (only != NULL))
            continue;
        struct place *at = part->group->light ? &in_memory : &on_disk;
        place_empty(at);
        part->group->run(&p->one[i], at, &s->outcome[i]);
        s->outcome[i].done = true;
    }
    _exit(0);
}

static void
run_side_by_side(const struct plan *p, struct shared *s, const struct part *only, size_t workers)
{
    fflush(NULL);
    atomic_store(&s->next, only ? only->first : 0);
    for (size_t w = 0; w < workers; w++)
        if (fork() == 0)
            work(p, s, only, only ? 100 : w);
    while (wait(NULL) > 0 || errno == EINTR)
        ;
}

/* ---- the report ---- */

#define TOLD_MOST 12 /* failed cases of one part that are told at length */

static void
repeat(const struct one *one)
{
    printf("        again: BUILD=%s %s/tests/faults/faults %s\n", getenv("BUILD"), getenv("BUILD"), one->name);
}

/* The calls that were met, each name once. */
static size_t
count_names(const struct plan *p, const struct part *part)
{
    size_t names = 0;
    for (size_t i = part->first; i < part->first + part->n; i++) {
        bool seen = false;
        for (size_t k = part->first; k < i && !seen && p->one[i].call; k++)
            seen = strcmp(p->one[k].call, p->one[i].call) == 0;
        names += p->one[i].call && !seen;
    }
    return names;
}

static void
say_counts(const struct plan *p, const struct part *part, const struct outcome *o, size_t failed)
{
    size_t left[3] = { 0 }, readings = 0, drafts = 0, told = 0, names = count_names(p, part);
    for (size_t i = 0; i < part->n; i++) {
        left[o[i].left]++;
        readings += o[i].acknowledged;
        drafts += o[i].draft;
        told += o[i].told;
    }
    printf("%s%s%s: %zu cases", part->group->name, part->command ? " " : "", part->command ? name_of(part->command) : "", part->n);
    if (names > 0)
        printf(", at calls of %zu names", names);
    printf("; %zu acknowledged %s kept in %zu", readings, readings == 1 ? "entry" : "entries", part->n - failed);
    printf("; of what was in flight: nothing left in %zu, a whole entry in %zu, a torn one never used in %zu",
        left[LEFT_NOTHING], left[LEFT_WHOLE], left[LEFT_TORN]);
    printf("; told aloud in %zu", told);
    if (drafts > 0)
        printf("; a draft left in %zu", drafts);
    if (part->group->tell)
        printf("; %s", part->group->tell(o, part->n));
    putchar('\n');
}

/* How many failed. */
static size_t
report(const struct plan *p, const struct part *part, const struct outcome *o)
{
    size_t failed = 0;
    for (size_t i = 0; i < part->n; i++) {
        bool skipped = o[i].done && !o[i].failed && o[i].why[0];
        if (skipped)
            printf("[  SKIPPED ] %s: %s\n", p->one[part->first + i].name, o[i].why);
        if (o[i].done && !o[i].failed)
            continue;
        if (failed++ >= TOLD_MOST)
            continue;
        printf("%s: %s\n", p->one[part->first + i].name, o[i].done ? o[i].why : "the case did not come to its end");
        repeat(&p->one[part->first + i]);
    }
    say_counts(p, part, o, failed);
    if (failed > TOLD_MOST)
        printf("(%zu more cases of this failed)\n", failed - TOLD_MOST);
    printf("%s %s%s%s: %zu cases\n", failed == 0 && part->n > 0 ? "[       OK ]" : "[  FAILED  ]", part->group->name,
        part->command ? "/" : "", part->command ? name_of(part->command) : "", part->n);
    return failed + (part->n == 0);
}

/* A directory of our own there, or below $BUILD where that cannot be. */
static int
make_root(const char *dir, char made[PATH])
{
    char text[PATH + 64];
    snprintf(text, sizeof text, "%.450s/faults.XXXXXX", dir);
    if (!mkdtemp(text)) {
        snprintf(text, sizeof text, "%.450s/faults.XXXXXX", getenv("BUILD"));
        if (!mkdtemp(text)) {
            fprintf(stderr, "%s: %s\n", text, strerror(errno));
            return -1;
        }
    }
    return realpath(text, made) ? 0 : -1;
}

static int
find_program(void)
{
    const char *build = getenv("BUILD"), *dir = getenv("FAULTS_DIR");
    char text[PATH + 64];
    if (!build || !*build)
        setenv("BUILD", build = "build/release", 1);
    snprintf(text, sizeof text, "%.450s/rodbook", build);
    if (!realpath(text, program)) {
        fprintf(stderr, "%s: %s; run make first\n", text, strerror(errno));
        return -1;
    }
    snprintf(text, sizeof text, "%.450s/tests/faults/short.so", build);
    if (!realpath(text, shim)) {
        fprintf(stderr, "%s: %s\n", text, strerror(errno));
        return -1;
    }
    return make_root(dir && *dir ? dir : build, root) != 0 || make_root(dir && *dir ? dir : "/dev/shm", light) != 0 ? -1 : 0;
}

static void
clear_away(bool keep)
{
    struct words w = { .n = 0 };
    if (keep) {
        printf("what is left of it lies in %s and %s\n", root, light);
        return;
    }
    words_add(&w, "rm");
    words_add(&w, "-rf");
    words_add(&w, root);
    words_add(&w, light);
    fflush(NULL);
    pid_t pid = fork();
    if (pid == 0) {
        execvp(w.word[0], (char **)w.word);
        _exit(127);
    }
    (void)waitpid(pid, NULL, 0);
}

int
main(int argc, char **argv)
{
    static char *none[] = { NULL };
    is_short = argc > 1 && strcmp(argv[1], "short") == 0;
    struct plan plan = { .only = argc > 1 && !is_short ? argv + 1 : none };
    struct timespec start, stop;
    size_t failed = 0;
    long workers = sysconf(_SC_NPROCESSORS_ONLN);
    clock_gettime(CLOCK_MONOTONIC, &start);
    signal(SIGPIPE, SIG_IGN);
    /* a program under strace cannot look for leaks, and short.so comes before every other library */
    setenv("ASAN_OPTIONS", "detect_leaks=0:verify_asan_link_order=0", 1);
    unsetenv("TZ");
    setenv("TZ", "UTC", 1);
    if (find_program() != 0)
        return 2;
    plan_all(&plan);
    size_t bytes = sizeof(struct shared) + plan.n * sizeof(struct outcome);
    struct shared *s = mmap(NULL, bytes, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (s == MAP_FAILED)
        return 2;
    run_side_by_side(&plan, s, NULL, workers > 0 ? (size_t)workers : 1);
    for (size_t i = 0; i < plan.parts; i++)
        if (plan.part[i].group->alone && plan.part[i].n > 0)
            run_side_by_side(&plan, s, &plan.part[i], 1);
    for (size_t i = 0; i < plan.parts; i++)
        if (plan.part[i].n > 0 || !plan.only[0])
            failed += report(&plan, &plan.part[i], &s->outcome[plan.part[i].first]) > 0;
    failed += (size_t)plan.failed;
    clock_gettime(CLOCK_MONOTONIC, &stop);
    printf("%zu cases, %zu kinds of fault failed, %ld s\n", plan.n, failed, (long)(stop.tv_sec - start.tv_sec));
    clear_away(plan.only[0] != NULL);
    free(plan.one);
    return failed > 0 || plan.n == 0;
}
