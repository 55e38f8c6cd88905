/* live.c - sessions that run while something happens to their record, to themselves or beside them */
#include "faults.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define WAIT_MS 20000 /* longer than any answer takes; what is not there by then is not coming */

/* A session of `rodbook book` that is talked to. */
struct session {
    struct place at; /* its own standard error */
    pid_t pid;
    int in, out;
    char said[65536]; /* on standard output, so far */
    size_t n, seen;
};

static const char *const book[] = { "book", "--by", "RO", "@" RECORD, NULL };

/* ---- talking ---- */

/* `first` are words before the program's, or NULL; `out` is where it answers, or -1 for a pipe. */
static void
session_open(struct session *s, const struct place *at, const char *name, const char *const *first, int out)
{
    int in[2], answers[2] = { -1, -1 };
    struct words w = { .n = 0 };
    *s = (struct session){ .at = *at };
    snprintf(s->at.err, sizeof s->at.err, "%.500s/%s", at->dir, name);
    for (size_t i = 0; first && first[i]; i++)
        words_add(&w, first[i]);
    words_of(&w, at, book);
    if (pipe2(in, O_CLOEXEC) != 0 || pipe2(answers, O_CLOEXEC) != 0)
        abort();
    fflush(NULL);
    s->pid = fork();
    if (s->pid == 0) {
        int err = open(s->at.err, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644);
        dup2(in[0], 0);
        dup2(out >= 0 ? out : answers[1], 1);
        dup2(err, 2);
        signal(SIGPIPE, SIG_DFL);
        execvp(w.word[0], (char **)w.word);
        _exit(127);
    }
    close(in[0]);
    close(answers[1]);
    s->in = in[1];
    s->out = answers[0];
}

static void
say(struct session *s, const char *line)
{
    s->seen = s->n;
    (void)!write(s->in, line, strlen(line));
}

static bool
more_said(struct session *s, int wait_ms)
{
    struct pollfd p = { s->out, POLLIN, 0 };
    if (poll(&p, 1, wait_ms) <= 0)
        return false;
    ssize_t k = read(s->out, s->said + s->n, sizeof s->said - 1 - s->n);
    s->n += k > 0 ? (size_t)k : 0;
    return k > 0;
}

/* Wait until the session has answered with this; false where it did not. */
static bool
answers(struct session *s, const char *text, struct outcome *o)
{
    while (!strstr(s->said + s->seen, text))
        if (!more_said(s, WAIT_MS))
            return fail(o, "\"%s\" did not come, but: %s", text, s->said + s->seen);
    return true;
}

/* Wait for a complaint; they come by another way than answers. */
static bool
complains(struct session *s, const char *text, struct outcome *o)
{
    for (int i = 0; i < WAIT_MS / 5; i++) {
        char *err = file_read(s->at.err, NULL);
        bool found = err && strstr(err, text);
        free(err);
        if (found)
            return true;
        (void)more_said(s, 5);
    }
    return fail(o, "the complaint \"%s\" did not come", text);
}

static int
session_status(struct session *s)
{
    int status = 0;
    while (more_said(s, WAIT_MS))
        ;
    (void)waitpid(s->pid, &status, 0);
    close(s->out);
    if (s->in >= 0)
        close(s->in);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

static bool
ends_with(struct session *s, int wanted, struct outcome *o)
{
    if (s->in >= 0)
        close(s->in);
    s->in = -1;
    int status = session_status(s);
    char *err = file_read(s->at.err, NULL);
    if (status != wanted)
        fail(o, "status %d, where %d is right: %s%s", status, wanted, s->said, err ? err : "");
    free(err);
    return !o->failed;
}

/* ---- what stands there ---- */

/* Every entry whole, under a digest that fits, in order; and so many. */
static bool
is_whole(const struct place *at, size_t entries, struct outcome *o)
{
    struct look l;
    if (!look_open(&l, at->record))
        return fail(o, "the record is not there");
    for (size_t i = 0; i < l.entries; i++)
        if (!l.entry[i].whole || !l.entry[i].fits || l.entry[i].number != i + 1)
            fail(o, "entry %zu is not whole, or its digest or number does not fit", i + 1);
    if (l.entries != entries)
        fail(o, "%zu entries, where %zu are right", l.entries, entries);
    look_release(&l);
    return !o->failed;
}

static bool
has_entry(const struct place *at, size_t number, const char *text, struct outcome *o)
{
    struct look l;
    bool has = look_open(&l, at->record) && number <= l.entries && look_has(&l, &l.entry[number - 1], text);
    look_release(&l);
    return has || fail(o, "entry %zu does not hold \"%s\"", number, text);
}

static bool
is_unchanged(const char *file, const char *bytes, size_t n, struct outcome *o)
{
    size_t k;
    char *now = file_read(file, &k);
    bool same = now && k == n && memcmp(now, bytes, n) == 0;
    free(now);
    return same || fail(o, "%s was written to", file);
}

/* ---- the record goes away, or another one comes ---- */

static void
other_file(const struct place *at, char file[PATH + 32])
{
    snprintf(file, PATH + 32, "%.500s/other.yaml", at->dir);
}

static void
keep_other(const struct place *at, const char *bytes, size_t n)
{
    char other[PATH + 32];
    other_file(at, other);
    (void)file_write(other, bytes, n);
}

static void
rename_over(const struct place *at, const char *bytes, size_t n)
{
    char other[PATH + 32];
    keep_other(at, bytes, n / 2);
    other_file(at, other);
    (void)rename(other, at->record);
}

static void
copy_over(const struct place *at, const char *bytes, size_t n)
{
    char other[PATH + 32];
    keep_other(at, bytes, n);
    other_file(at, other);
    (void)rename(other, at->record);
}

static void
remove_it(const struct place *at, const char *bytes, size_t n)
{
    (void)bytes;
    (void)n;
    (void)unlink(at->record);
}

static void
cut_a_byte(const struct place *at, const char *bytes, size_t n)
{
    (void)bytes;
    (void)truncate(at->record, (off_t)n - 1);
}

static void
cut_all(const struct place *at, const char *bytes, size_t n)
{
    (void)bytes;
    (void)n;
    (void)truncate(at->record, 0);
}

static void
lose_record(struct place *at, struct outcome *o, void (*lose)(const struct place *at, const char *bytes, size_t n))
{
    struct session s;
    struct stat st;
    session_open(&s, at, "a", NULL, -1);
    say(&s, "bs BM1 4.601\n");
    if (!answers(&s, "   6  BM1", o))
        return;
    size_t n, k;
    char *bytes = file_read(at->record, &n);
    int old = open(at->record, O_RDONLY | O_CLOEXEC);
    lose(at, bytes, n);
    char *now = file_read(at->record, &k);
    (void)fstat(old, &st);
    off_t size = st.st_size;
    say(&s, "is batten P1 3.102\n");
    complains(&s, "[replaced]", o);
    ends_with(&s, 2, o);
    if (now)
        is_unchanged(at->record, now, k, o);
    else if (access(at->record, F_OK) == 0)
        fail(o, "a file was made under the name that was removed");
    if (fstat(old, &st) != 0 || st.st_size != size)
        fail(o, "the file that the session had open was written to");
    close(old);
    free(bytes);
    free(now);
}

static void renamed(struct place *at, struct outcome *o) { lose_record(at, o, rename_over); }
static void copied(struct place *at, struct outcome *o) { lose_record(at, o, copy_over); }
static void removed(struct place *at, struct outcome *o) { lose_record(at, o, remove_it); }
static void shortened(struct place *at, struct outcome *o) { lose_record(at, o, cut_a_byte); }
static void emptied(struct place *at, struct outcome *o) { lose_record(at, o, cut_all); }

/* ---- two at one record ---- */

/* A is in its run of entry 6; B says `line`, which must be answered with `answer`. */
static void
two_sessions(struct place *at, struct outcome *o, const char *line, const char *answer, bool touches)
{
    struct session a, b;
    session_open(&a, at, "a", NULL, -1);
    say(&a, "bs BM1 4.601\n");
    if (!answers(&a, "   6  BM1", o))
        return;
    session_open(&b, at, "b", NULL, -1);
    say(&b, line);
    if (!answers(&b, answer, o))
        return;
    say(&a, "is batten P1 3.102\n");
    if (touches && complains(&a, "[others]", o))
        say(&a, "is batten P1 3.103\n");
    answers(&a, "   8  P1 batten", o);
    say(&b, "run\nbs BM1 4.777\n");
    answers(&b, "   9  BM1", o);
    say(&a, "fs BM1 4.600\n");
    answers(&a, "  10  BM1", o); /* what B booked meanwhile is a run of its own, and none of A's business */
    ends_with(&a, touches ? 1 : 0, o);
    ends_with(&b, 0, o);
    is_whole(at, 10, o);
    has_entry(at, 8, "continues: 6", o);
    has_entry(at, 10, "continues: 6", o);
}

static void
same_run(struct place *at, struct outcome *o)
{
    two_sessions(at, o, "is batten Q1 3.701\n", "   7  Q1 batten", true);
    has_entry(at, 7, "continues: 6", o);
}

static void own_run(struct place *at, struct outcome *o) { two_sessions(at, o, "run\nbs BM1 4.701\n", "   7  BM1", false); }
/* The run before the one at hand was read when the session opened, and could be undone into: so A is told. */
static void older_row(struct place *at, struct outcome *o) { two_sessions(at, o, "strike 4.1 nail head\n", "   7  row 4.1", true); }

/* B strikes A's only backsight: A is told, and sees the set-up gone. */
static void
my_row(struct place *at, struct outcome *o)
{
    struct session a, b;
    session_open(&a, at, "a", NULL, -1);
    say(&a, "bs BM1 4.601\n");
    if (!answers(&a, "   6  BM1", o))
        return;
    session_open(&b, at, "b", NULL, -1);
    say(&b, "strike 6.1 wrong mark\n");
    if (!answers(&b, "   7  row 6.1", o))
        return;
    say(&a, "is batten P1 3.102\n");
    complains(&a, "[others]", o);
    say(&a, "is batten P1 3.103\n");
    complains(&a, "line 3:", o);
    say(&a, "run\nbs BM1 4.602\n");
    answers(&a, "   8  BM1", o);
    ends_with(&a, 1, o);
    ends_with(&b, 0, o);
    is_whole(at, 8, o);
}

/* What another left torn does not trouble whoever goes on. */
static void
torn_by_another(struct place *at, struct outcome *o)
{
    struct session a;
    struct look l;
    struct words w = { .n = 0 };
    session_open(&a, at, "a", NULL, -1);
    say(&a, "bs BM1 4.601\n");
    if (!answers(&a, "   6  BM1", o))
        return;
    words_add(&w, "env");
    words_form(&w, "LD_PRELOAD=%s", shim);
    words_form(&w, "FAULT_FILE=%s", at->record);
    words_add(&w, "FAULT_ENTRY=0");
    words_add(&w, "FAULT_BYTES=90");
    words_add(&w, "FAULT_THEN=0");
    words_of(&w, at, book);
    struct ran r = run_words(at, "is batten Q1 3.701\n", &w);
    if (r.status != 128 + SIGKILL)
        fail(o, "the other was not killed: status %d", r.status);
    ran_release(&r);
    say(&a, "is batten P1 3.102\n");
    answers(&a, "   8  P1 batten", o);
    ends_with(&a, 0, o);
    if (look_open(&l, at->record) && (l.entries != 8 || l.entry[6].whole || !l.entry[7].whole || !l.entry[7].fits))
        fail(o, "%zu entries, of which 7 is to be torn and 8 whole", l.entries);
    look_release(&l);
}

/* The lock is held by somebody else. */
static void
locked(struct place *at, struct outcome *o, unsigned seconds, bool refused)
{
    struct session a;
    session_open(&a, at, "a", NULL, -1);
    say(&a, "bs BM1 4.601\n");
    if (!answers(&a, "   6  BM1", o))
        return;
    int fd = open(at->record, O_RDONLY | O_CLOEXEC);
    if (fd < 0 || flock(fd, LOCK_EX) != 0) {
        fail(o, "the lock could not be taken");
        return;
    }
    say(&a, "is batten P1 3.102\n");
    struct timespec wait = { seconds, 0 };
    (void)nanosleep(&wait, NULL);
    is_whole(at, 6, o);
    if (refused)
        complains(&a, "[locked]", o);
    close(fd);
    if (refused)
        say(&a, "is batten P1 3.103\n");
    answers(&a, "   7  P1 batten", o);
    ends_with(&a, refused, o);
    is_whole(at, 7, o);
}

static void held_a_while(struct place *at, struct outcome *o) { locked(at, o, 1, false); }
static void held_too_long(struct place *at, struct outcome *o) { locked(at, o, 34, true); }

/*
 * Much was added, some of it into our run, and reading it fails halfway:
 * when it is read again, none of it may be passed over.
 */
static void
half_read(struct place *at, struct outcome *o)
{
    struct session a;
    struct look l;
    if (!can_strace()) {
        snprintf(o->why, sizeof o->why, "strace is not here, or may not trace");
        return;
    }
    /* opening reads the record twice; then 256 kB of what is new, and then the rest */
    session_open(&a, at, "a", (const char *const[]){ "strace", "-o", at->log, "-P", at->record, "-e", "inject=pread64:error=EIO:when=4",
        NULL }, -1);
    say(&a, "bs BM1 4.601\n");
    if (!answers(&a, "   6  BM1", o))
        return;
    FILE *f = fopen(at->record, "a");
    if (!f)
        abort();
    fputs("---\nlevels:\n  continues: 6\n  readings:\n    - {at: Q1, is: 3.701}\n---\npoints:\n", f);
    for (int i = 0; i < 12000; i++)
        fprintf(f, "  X%05d: {kind: post}\n", i);
    fclose(f);
    say(&a, "is batten P1 3.102\n");
    complains(&a, "cannot be read to its end", o);
    say(&a, "is batten P1 3.103\n");
    complains(&a, "[others]", o);
    say(&a, "is batten P1 3.104\n");
    answers(&a, "   9  P1 batten", o);
    ends_with(&a, 1, o);
    if (!look_open(&l, at->record) || l.entries != 9 || !l.entry[8].whole || !l.entry[8].fits)
        fail(o, "the digest behind what was read twice does not fit");
    look_release(&l);
}

/* ---- signals ---- */

enum moment { IDLE, SLOW_DISK, FULL_PIPE };

static void
stopped(struct place *at, struct outcome *o, int number, enum moment moment)
{
    struct session a;
    char preload[PATH + 32], file[PATH + 64], mark[PATH + 32], marked[PATH + 64];
    int wanted = number == SIGHUP ? 2 : 1;
    snprintf(mark, sizeof mark, "%.500s/syncing", at->dir);
    snprintf(preload, sizeof preload, "LD_PRELOAD=%s", shim);
    snprintf(file, sizeof file, "FAULT_FILE=%s", at->record);
    snprintf(marked, sizeof marked, "FAULT_MARK=%s", mark);
    const char *const slow[] = { "env", preload, file, marked, "FAULT_SLOW=150", NULL };
    session_open(&a, at, "a", moment == IDLE ? NULL : slow, -1);
    if (!answers(&a, "it is closed", o) && !o->failed)
        return;
    say(&a, moment == FULL_PIPE ? "bs BM1 4.601\nis P1 3.1\nis P2 3.2\nis P3 3.3\nis P4 3.4\n" : "bs BM1 4.601\n");
    if (moment == IDLE)
        answers(&a, "   6  BM1", o);
    for (int i = 0; moment != IDLE && i < WAIT_MS && access(mark, F_OK) != 0; i++) {
        struct timespec ms = { 0, 1000000 };
        (void)nanosleep(&ms, NULL);
    }
    (void)kill(a.pid, number);
    int status = session_status(&a); /* its input stays open: only the signal ends it */
    char *err = file_read(a.at.err, NULL);
    const char *end = number == SIGHUP ? err : a.said;
    if (status != wanted)
        fail(o, "status %d, where %d is right: %s%s", status, wanted, a.said, err);
    if (!strstr(a.said, "   6  BM1"))
        fail(o, "the entry in flight was not completed, or not acknowledged: %s", a.said);
    if (!strstr(end, "Stopped. A line that was not answered is not booked.") || !strstr(end, "1 entry booked this time")
        || !strstr(end, "set-up 6.1 is open") || !strstr(end, "last digest"))
        fail(o, "it does not say how the job stands: %s%s", a.said, err);
    is_whole(at, 6, o);
    free(err);
}

static void int_idle(struct place *at, struct outcome *o) { stopped(at, o, SIGINT, IDLE); }
static void int_slow(struct place *at, struct outcome *o) { stopped(at, o, SIGINT, SLOW_DISK); }
static void int_full(struct place *at, struct outcome *o) { stopped(at, o, SIGINT, FULL_PIPE); }
static void term_idle(struct place *at, struct outcome *o) { stopped(at, o, SIGTERM, IDLE); }
static void term_slow(struct place *at, struct outcome *o) { stopped(at, o, SIGTERM, SLOW_DISK); }
static void term_full(struct place *at, struct outcome *o) { stopped(at, o, SIGTERM, FULL_PIPE); }
static void hup_idle(struct place *at, struct outcome *o) { stopped(at, o, SIGHUP, IDLE); }
static void hup_slow(struct place *at, struct outcome *o) { stopped(at, o, SIGHUP, SLOW_DISK); }
static void hup_full(struct place *at, struct outcome *o) { stopped(at, o, SIGHUP, FULL_PIPE); }

/* ---- nobody reads the answers ---- */

static void
answers_lost(struct place *at, struct outcome *o)
{
    struct session a;
    int full = open("/dev/full", O_WRONLY | O_CLOEXEC);
    if (full < 0) {
        snprintf(o->why, sizeof o->why, "there is no /dev/full");
        return;
    }
    session_open(&a, at, "a", NULL, full);
    close(full);
    say(&a, "bs BM1 4.601\n");
    complains(&a, "standard output cannot be written", o);
    ends_with(&a, 2, o);
    is_whole(at, 5, o); /* not even the greeting went out: nothing is booked into the dark */
}

static void
reader_gone(struct place *at, struct outcome *o)
{
    struct session a;
    session_open(&a, at, "a", NULL, -1);
    say(&a, "bs BM1 4.601\n");
    if (!answers(&a, "   6  BM1", o))
        return;
    close(a.out);
    a.out = open("/dev/null", O_RDONLY | O_CLOEXEC);
    say(&a, "is batten P1 3.102\nis batten P2 3.103\nis batten P3 3.104\n");
    complains(&a, "Stopped. A line that was not answered is not booked.", o);
    ends_with(&a, 2, o);
    is_whole(at, 7, o); /* the one in flight */
}

/* ---- short writes that succeed; limits ---- */

static void
in_small_pieces(struct place *at, struct outcome *o)
{
    const struct command *c = &commands[0];
    struct look before;
    bool answered[LINES_MOST] = { false };
    char *input = command_input(c);
    (void)look_open(&before, at->record);
    struct words w = { .n = 0 };
    words_add(&w, "env");
    words_form(&w, "LD_PRELOAD=%s", shim);
    words_form(&w, "FAULT_FILE=%s", at->record);
    words_add(&w, "FAULT_STEP=1");
    words_of(&w, at, c->argv);
    struct ran r = run_words(at, input, &w);
    if (r.status != 0)
        fail(o, "status %d: %s", r.status, r.err);
    judge(c, at, &before, &r, (struct allowed){ 0 }, answered, o);
    for (size_t i = 0; c->lines[i].text; i++)
        if (!answered[i])
            fail(o, "\"%s\" was not acknowledged", c->lines[i].text);
    free(input);
    look_release(&before);
    ran_release(&r);
}

/* A limit on the size of files stops in the middle of an entry, and sends a signal. */
static void
limited(struct place *at, struct outcome *o, const struct command *c)
{
    struct look before;
    size_t n, now;
    struct rlimit old, limit;
    char *was = file_read(at->record, &n), *input = command_input(c);
    (void)look_open(&before, at->record);
    (void)getrlimit(RLIMIT_FSIZE, &old);
    limit = (struct rlimit){ was ? n + 100 : 400, old.rlim_max };
    signal(SIGXFSZ, SIG_DFL);
    (void)setrlimit(RLIMIT_FSIZE, &limit);
    struct words w = { .n = 0 };
    words_of(&w, at, c->argv);
    /* answers and complaints have room: they are shorter than the record, or go to files of their own */
    struct ran r = run_words(at, input, &w);
    (void)setrlimit(RLIMIT_FSIZE, &old);
    char *is = file_read(at->record, &now);
    if (r.status != (c->session ? 1 : 2))
        fail(o, "status %d: %s", r.status, r.err);
    if (!strstr(r.err, "File too large"))
        fail(o, "the limit is not told: %s", r.err);
    if (was ? !is || now != n || memcmp(was, is, n) != 0 : is != NULL)
        fail(o, "the record is not as it was before");
    judge(c, at, &before, &r, (struct allowed){ 0 }, NULL, o);
    free(was);
    free(is);
    free(input);
    look_release(&before);
    ran_release(&r);
}

static const struct command *
command_named(const char *name)
{
    const struct command *c = commands;
    while (strcmp(c->name, name) != 0)
        c++;
    return c;
}

static void
limited_strike(struct place *at, struct outcome *o)
{
    limited(at, o, command_named("strike"));
}

static void
limited_book(struct place *at, struct outcome *o)
{
    static const struct line lines[] = { { "bs BM1 4.601", "{at: BM1, bs: 4.601", "\"bs\":4.601000000" }, { 0 } };
    struct command one = commands[0];
    one.lines = lines; /* what is refused line by line must fit under the limit too */
    limited(at, o, &one);
}

static void
limited_new(struct place *at, struct outcome *o)
{
    (void)unlink(at->record);
    limited(at, o, command_named("new"));
}

/* ---- the list ---- */

static const struct live {
    const char *name;
    void (*run)(struct place *at, struct outcome *o);
    bool slow;
} lives[] = {
    { "held-too-long", held_too_long, true }, /* first: it waits longest */
    { "renamed-over", renamed, false },
    { "copied-over", copied, false },
    { "removed", removed, false },
    { "shortened", shortened, false },
    { "emptied", emptied, false },
    { "two-in-one-run", same_run, false },
    { "two-runs", own_run, false },
    { "another-strikes-elsewhere", older_row, false },
    { "another-strikes-mine", my_row, false },
    { "torn-by-another", torn_by_another, false },
    { "half-read", half_read, false },
    { "held-a-while", held_a_while, false },
    { "SIGINT-idle", int_idle, false },
    { "SIGINT-slow-disk", int_slow, false },
    { "SIGINT-full-pipe", int_full, false },
    { "SIGTERM-idle", term_idle, false },
    { "SIGTERM-slow-disk", term_slow, false },
    { "SIGTERM-full-pipe", term_full, false },
    { "SIGHUP-idle", hup_idle, false },
    { "SIGHUP-slow-disk", hup_slow, false },
    { "SIGHUP-full-pipe", hup_full, false },
    { "answers-lost", answers_lost, false },
    { "reader-gone", reader_gone, false },
    { "byte-by-byte", in_small_pieces, false },
    { "limited-book", limited_book, false },
    { "limited-strike", limited_strike, false },
    { "limited-new", limited_new, false },
};

static void
plan_live(struct plan *p, const struct command *c)
{
    (void)c;
    for (size_t i = 0; i < sizeof lives / sizeof lives[0]; i++)
        if (!lives[i].slow || !is_short)
            plan_add(p, NULL, &lives[i], "%s", lives[i].name);
}

static void
live_one(const struct one *one, struct place *at, struct outcome *o)
{
    const struct live *live = one->with;
    if (command_prepare(&commands[0], at, o) == 0)
        live->run(at, o);
}

const struct group live_group = { .name = "live", .quick = 1, .plan = plan_live, .run = live_one };
