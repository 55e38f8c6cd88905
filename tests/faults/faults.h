/*
 * faults.h - the program under faults: killed, refused by the system, cut short, crowded
 *
 * Nothing here uses our library, only libsodium's SHA-256: a record is read back by this harness' own
 * few lines, so that a fault of the program cannot hide behind itself.
 */
#ifndef TESTS_FAULTS_H
#define TESTS_FAULTS_H

#include <sodium/crypto_hash_sha256.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

#define PATH 512
#define WHY 900
#define WORDS_MOST 24
#define WORDS 12 /* of a command line in commands.c, its NULL included */

/* ---- what is put under faults (commands.c) ---- */

/* A line given to the program, and the traces that it must leave. */
struct line {
    const char *text;  /* as booked; of a command that takes no lines: what it is called in complaints */
    const char *entry; /* stands in its entry, and in no other */
    const char *json;  /* stands in `reduce --json` where the entry is used; NULL for nothing that shows */
};

struct command {
    const char *name;
    const char *as;             /* what its cases are called; NULL: its name */
    const char *argv[WORDS];    /* behind `rodbook`; @NAME is a file of the case's directory */
    const char *before[4][WORDS]; /* run first, to make the record and what else is needed; closed by NULL */
    const char *booked;         /* then booked into the record; NULL: there is no record before */
    const char *file, *text;    /* a file that must be there, and what it says; NULL */
    const struct line *lines;   /* closed by a NULL text */
    bool session;               /* takes the lines on standard input, and acknowledges each by its entry's number */
    const char *acknowledges;   /* else: what standard output says once it is done... */
    unsigned together;          /* ...and how many entries that stands for */
};

extern const struct command commands[];
extern const struct line lines_after[]; /* booked by the session that comes after the fault */

#define RECORD "job.yaml"

/* A reading that is only ever cut off, and must never be used. */
#define TORN_LINE "bs BM1 4.999\n"
#define TORN_JSON "4.999000000"

/* ---- a case and what came of it ---- */

enum left { LEFT_NOTHING, LEFT_WHOLE, LEFT_TORN };

struct outcome {
    bool done, failed, hit;   /* hit: the fault was met */
    bool told;                /* something was refused aloud */
    uint8_t left;             /* enum left: of the entry in flight */
    uint16_t acknowledged;
    bool draft;               /* a draft of a new record was left over */
    char why[WHY];
};

/* Say what is wrong, once; always false. */
bool fail(struct outcome *o, const char *form, ...) __attribute__((format(printf, 2, 3)));

/* Where a case runs. */
struct place {
    char dir[PATH]; /* its own, empty at the start */
    char out[PATH + 32], err[PATH + 32], log[PATH + 32], record[PATH + 32];
};

struct plan; /* main.c */

struct one {
    char name[96];        /* group/command/what/number */
    const char *call;     /* system call, or NULL */
    long n, k;            /* which one, or how many bytes */
    const void *with;     /* the group's own */
    const struct command *command;
};

struct group {
    const char *name;
    bool strace;    /* needs it */
    bool sessions;  /* only for commands that take lines; the others end as they would by SIGKILL */
    bool light;     /* its cases need no disk: they run in memory where they can */
    bool alone;     /* its cases need the machine for themselves */
    unsigned quick; /* one case of so many in the short version; 0: none */
    void (*plan)(struct plan *p, const struct command *c); /* c: NULL where `commands` is not asked for */
    bool commands;  /* once for each command */
    void (*run)(const struct one *one, struct place *at, struct outcome *o);
    const char *(*tell)(const struct outcome *all, size_t n); /* what came of them, in words; may be NULL */
};

extern const struct group kill_group, signal_group, error_group, cut_group, disk_group, power_group, bookers_group, live_group;

struct one *plan_add(struct plan *p, const struct command *c, const void *with, const char *form, ...)
    __attribute__((format(printf, 4, 5)));

/* The case added next is in the short version, whatever its number. */
void plan_key(struct plan *p);

/* The directory that planning may use; a new one each time. */
void plan_place(struct plan *p, struct place *at);
void plan_skip(struct plan *p, const char *what, const char *why);
void plan_fault(struct plan *p, const char *why);

/* ---- running (run.c) ---- */

extern char program[PATH], shim[PATH], root[PATH];
extern bool is_short; /* the short version */

struct ran {
    int status; /* exit status, or 128 and the signal */
    char *out, *err;
};

void ran_release(struct ran *r);

/* Words of a command line; grown by words_add(), closed by NULL. */
struct words {
    const char *word[64];
    size_t n;
    char own[WORDS_MOST][PATH + 96]; /* those made here */
    size_t owned;
};

void words_add(struct words *w, const char *word);
void words_form(struct words *w, const char *form, ...) __attribute__((format(printf, 2, 3)));
void words_of(struct words *w, const struct place *at, const char *const *argv); /* @NAME is a file of the place */

/* Run words in the place, `input` on a pipe (NULL: nothing on it). */
struct ran run_words(const struct place *at, const char *input, const struct words *w);
struct ran run_rodbook(const struct place *at, const char *input, const char *const *argv); /* closed by NULL */

/* strace, with whatever follows on its own; put before the program's words. */
void words_strace(struct words *w, const struct place *at);

bool can_strace(void);
bool has_command(const char *name);

char *file_read(const char *file, size_t *n); /* closed by a zero; NULL where it is not there */
bool file_write(const char *file, const char *bytes, size_t n);
void place_make(struct place *at, const char *dir);
void place_empty(const struct place *at);
void place_copy(const struct place *from, const struct place *to);
unsigned place_drafts(const struct place *at);

/* The record as it stands before the command; -1: said in `o`. */
int command_prepare(const struct command *c, struct place *at, struct outcome *o);
char *command_input(const struct command *c); /* NULL where it takes none; freed by the caller */

/* ---- one system call of a trace ---- */

struct call {
    char name[32];
    long n;        /* the n-th of that name, from 1 */
    char text[200];
};

/*
 * trace_read - the calls of a trace, each with its number among those of its name
 *
 * Given
 *   from       only those from the first that names this text on; NULL for all
 * Returned
 *   *calls     freed by the caller
 */
size_t trace_read(const char *log, const char *from, struct call **calls);

/* ---- reading a record back (look.c) ---- */

struct entry {
    size_t start, end;
    uint32_t number;  /* as written; 0 for none */
    bool whole, fits; /* has its digest line; that is the SHA-256 of all above it */
};

struct look {
    char *bytes;
    size_t n;
    struct entry *entry;
    size_t entries;
    crypto_hash_sha256_state hash; /* of the first `hashed` bytes */
    size_t hashed;
    bool scrap; /* a piece of the --- of another entry stands behind a whole one */
};

bool look_open(struct look *l, const char *file); /* false where there is no such file */
void look_release(struct look *l);
bool look_has(const struct look *l, const struct entry *e, const char *text);

/* What a case may leave behind. */
struct allowed {
    unsigned unacknowledged; /* whole entries that nobody was told of */
    bool torn;               /* a torn entry... */
    bool inside;             /* ...that others may have followed already */
};

/*
 * judge - hold what stands there after a fault against what was acknowledged
 *
 * Given
 *   before     the record before it; bytes NULL where there was none
 *   r          what the program said
 * Returned
 *   o          first fault found; counts
 *   answered   for each line of the command, whether it was acknowledged
 *
 * Every acknowledged reading whole and under a digest that fits; nothing
 * else used, but for what `allowed` says; a torn entry told by `check`, not
 * in `reduce --json`; the record's older bytes untouched. Then a session
 * that goes on from there, and all of that once more.
 */
void judge(const struct command *c, const struct place *at, const struct look *before, const struct ran *r, struct allowed allowed,
    bool answered[], struct outcome *o);

#define LINES_MOST 32
size_t lines_count(const struct line *lines);

/* Entry numbers that standard output acknowledges, in order. */
size_t acknowledged_numbers(const char *out, uint32_t *number, size_t most);

#endif
