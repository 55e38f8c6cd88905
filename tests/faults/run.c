/* run.c - running the program in a directory of its own, and reading what it did */
#include "faults.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

char program[PATH], shim[PATH], root[PATH];
bool is_short;

bool
fail(struct outcome *o, const char *form, ...)
{
    va_list list;
    if (!o->failed) {
        va_start(list, form);
        vsnprintf(o->why, sizeof o->why, form, list);
        va_end(list);
    }
    o->failed = true;
    return false;
}

/* ---- files ---- */

char *
file_read(const char *file, size_t *n)
{
    struct stat st;
    int fd = open(file, O_RDONLY | O_CLOEXEC);
    char *bytes = fd >= 0 && fstat(fd, &st) == 0 ? malloc((size_t)st.st_size + 1) : NULL;
    size_t have = 0;
    for (ssize_t k; bytes && have < (size_t)st.st_size && (k = read(fd, bytes + have, (size_t)st.st_size - have)) > 0;)
        have += (size_t)k;
    if (bytes)
        bytes[have] = '\0';
    if (fd >= 0)
        close(fd);
    if (n)
        *n = have;
    return bytes;
}

bool
file_write(const char *file, const char *bytes, size_t n)
{
    int fd = open(file, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644);
    bool good = fd >= 0 && write(fd, bytes, n) == (ssize_t)n;
    if (fd >= 0 && close(fd) != 0)
        good = false;
    return good;
}

void
place_make(struct place *at, const char *dir)
{
    snprintf(at->dir, sizeof at->dir, "%s", dir);
    (void)mkdir(dir, 0700);
    snprintf(at->out, sizeof at->out, "%s/standard-output", dir);
    snprintf(at->err, sizeof at->err, "%s/standard-error", dir);
    snprintf(at->log, sizeof at->log, "%s/calls", dir);
    snprintf(at->record, sizeof at->record, "%s/" RECORD, dir);
}

/* Calls take(name, with) for every file of a directory. */
static void
each_file(const char *dir, void (*take)(const char *dir, const char *name, void *with), void *with)
{
    DIR *d = opendir(dir);
    for (struct dirent *e; d && (e = readdir(d)) != NULL;)
        if (strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0)
            take(dir, e->d_name, with);
    if (d)
        closedir(d);
}

static void
remove_one(const char *dir, const char *name, void *with)
{
    char file[PATH + 260];
    (void)with;
    snprintf(file, sizeof file, "%s/%s", dir, name);
    (void)unlink(file);
}

void
place_empty(const struct place *at)
{
    each_file(at->dir, remove_one, NULL);
}

static void
copy_one(const char *dir, const char *name, void *with)
{
    const struct place *to = with;
    char from[PATH + 260], file[PATH + 260];
    size_t n;
    snprintf(from, sizeof from, "%s/%s", dir, name);
    snprintf(file, sizeof file, "%s/%s", to->dir, name);
    char *bytes = file_read(from, &n);
    if (bytes)
        (void)file_write(file, bytes, n);
    free(bytes);
    struct stat st;
    if (stat(from, &st) == 0)
        (void)chmod(file, st.st_mode & 0777);
}

void
place_copy(const struct place *from, const struct place *to)
{
    each_file(from->dir, copy_one, (void *)to);
}

static void
count_draft(const char *dir, const char *name, void *with)
{
    (void)dir;
    *(unsigned *)with += strncmp(name, RECORD ".new-", strlen(RECORD ".new-")) == 0;
}

unsigned
place_drafts(const struct place *at)
{
    unsigned n = 0;
    each_file(at->dir, count_draft, &n);
    return n;
}

/* ---- words ---- */

void
words_add(struct words *w, const char *word)
{
    if (w->n + 1 < sizeof w->word / sizeof w->word[0])
        w->word[w->n++] = word;
}

void
words_form(struct words *w, const char *form, ...)
{
    va_list list;
    if (w->owned == WORDS_MOST)
        abort();
    char *own = w->own[w->owned++];
    va_start(list, form);
    vsnprintf(own, sizeof w->own[0], form, list);
    va_end(list);
    words_add(w, own);
}

void
words_of(struct words *w, const struct place *at, const char *const *argv)
{
    words_add(w, program);
    for (size_t i = 0; argv[i]; i++)
        if (argv[i][0] == '@')
            words_form(w, "%s/%s", at->dir, argv[i] + 1);
        else
            words_add(w, argv[i]);
}

void
words_strace(struct words *w, const struct place *at)
{
    words_add(w, "strace");
    words_add(w, "-f");
    words_add(w, "-o");
    words_add(w, at->log);
}

/* ---- running ---- */

void
ran_release(struct ran *r)
{
    free(r->out);
    free(r->err);
    *r = (struct ran){ 0 };
}

static void
child(const struct place *at, int input, const struct words *w)
{
    int out = open(at->out, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644);
    int err = open(at->err, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644);
    if (out < 0 || err < 0)
        _exit(126);
    dup2(input, 0);
    dup2(out, 1);
    dup2(err, 2);
    execvp(w->word[0], (char **)w->word);
    _exit(127);
}

struct ran
run_words(const struct place *at, const char *input, const struct words *w)
{
    struct ran r = { .status = -1 };
    int ends[2], status = 0;
    if (pipe2(ends, O_CLOEXEC) != 0)
        return r;
    pid_t pid = fork();
    if (pid == 0) {
        close(ends[1]);
        child(at, ends[0], w);
    }
    close(ends[0]);
    for (size_t n = input ? strlen(input) : 0; n > 0;) { /* SIGPIPE is ignored: a program that was killed reads no more */
        ssize_t k = write(ends[1], input, n);
        if (k <= 0)
            break;
        input += k;
        n -= (size_t)k;
    }
    close(ends[1]);
    if (pid > 0 && waitpid(pid, &status, 0) == pid)
        r.status = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    r.out = file_read(at->out, NULL);
    r.err = file_read(at->err, NULL);
    return r;
}

struct ran
run_rodbook(const struct place *at, const char *input, const char *const *argv)
{
    struct words w = { .n = 0 };
    words_of(&w, at, argv);
    return run_words(at, input, &w);
}

bool
can_strace(void)
{
    struct place at;
    char dir[PATH + 16];
    snprintf(dir, sizeof dir, "%.500s/try", root);
    place_make(&at, dir);
    struct words w = { .n = 0 };
    words_strace(&w, &at);
    words_add(&w, "-e");
    words_add(&w, "inject=close:signal=SIGKILL:when=1");
    words_add(&w, program);
    words_add(&w, "--version");
    struct ran r = run_words(&at, NULL, &w);
    bool good = r.status == 128 + 9;
    ran_release(&r);
    place_empty(&at);
    return good;
}

bool
has_command(const char *name)
{
    struct place at;
    char dir[PATH + 16];
    snprintf(dir, sizeof dir, "%.500s/try", root);
    place_make(&at, dir);
    struct ran r = run_rodbook(&at, NULL, (const char *const[]){ name, "--help", NULL });
    bool good = r.status == 0;
    ran_release(&r);
    place_empty(&at);
    return good;
}

/* ---- before the fault ---- */

char *
command_input(const struct command *c)
{
    size_t n = 1;
    if (!c->session)
        return NULL;
    for (const struct line *l = c->lines; l->text; l++)
        n += strlen(l->text) + 1;
    char *text = calloc(1, n);
    for (const struct line *l = c->lines; text && l->text; l++)
        strcat(strcat(text, l->text), "\n");
    return text;
}

int
command_prepare(const struct command *c, struct place *at, struct outcome *o)
{
    char file[2 * PATH];
    if (c->file) {
        snprintf(file, sizeof file, "%s/%s", at->dir, c->file);
        if (!file_write(file, c->text, strlen(c->text)))
            return fail(o, "%s: %s", file, strerror(errno)), -1;
    }
    for (size_t i = 0; c->before[i][0]; i++) {
        struct ran r = run_rodbook(at, NULL, c->before[i]);
        if (r.status != 0)
            fail(o, "rodbook %s before the fault: status %d: %s", c->before[i][0], r.status, r.err);
        ran_release(&r);
    }
    if (c->booked) {
        struct ran r = run_rodbook(at, c->booked, (const char *const[]){ "book", "--by", "RO", "@" RECORD, NULL });
        if (r.status != 0)
            fail(o, "rodbook book before the fault: status %d: %s", r.status, r.err);
        ran_release(&r);
    }
    return o->failed ? -1 : 0;
}

/* ---- traces ---- */

static bool
take_call(char *line, struct call *c)
{
    char *p = line + strspn(line, "0123456789"), *bracket;
    p += strspn(p, " ");
    size_t n = strspn(p, "abcdefghijklmnopqrstuvwxyz_0123456789");
    bracket = p + n;
    if (n == 0 || *bracket != '(' || n >= sizeof c->name)
        return false; /* the end of the program, a signal */
    snprintf(c->name, sizeof c->name, "%.*s", (int)n, p);
    snprintf(c->text, sizeof c->text, "%s", p);
    return true;
}

size_t
trace_read(const char *log, const char *from, struct call **calls)
{
    char *text = file_read(log, NULL), *save = NULL;
    size_t all = 0, kept = 0, room = 0;
    struct call *list = NULL;
    bool begun = from == NULL;
    for (char *line = text ? strtok_r(text, "\n", &save) : NULL; line; line = strtok_r(NULL, "\n", &save)) {
        if (all == room) {
            room = room * 2 + 256;
            list = realloc(list, room * sizeof *list);
            if (!list)
                abort();
        }
        if (take_call(line, &list[all])) {
            list[all].n = 1;
            for (size_t i = all; i-- > 0;)
                if (strcmp(list[i].name, list[all].name) == 0) {
                    list[all].n = list[i].n + 1;
                    break;
                }
            /* the words of execve() name the file too, before anything is done */
            begun = begun || (strcmp(list[all].name, "execve") != 0 && strstr(line, from));
            kept += !begun;
            all++;
        }
    }
    free(text);
    *calls = list;
    if (kept > 0)
        memmove(list, list + kept, (all - kept) * sizeof *list);
    return all - kept;
}
