/* terminal.h - the program at a terminal of ours: keys go in, and what is shown is waited for */
#ifndef TESTS_TERMINAL_H
#define TESTS_TERMINAL_H

#include "program.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <time.h>

#define TERMINAL_WAIT_MS 20000 /* far beyond what anything here takes; only a fault waits so long */

struct terminal {
    int fd;
    pid_t child;
    char *shown; /* all that was shown, closed by a zero */
    size_t n, room;
    size_t seen; /* up to here it has been waited for */
};

/* Words of the environment that a crew's machine may differ in; NULL: unset. */
struct terminal_kind {
    const char *term, *locale;
    unsigned short columns;
};

static inline void
terminal_child(int ours, const struct terminal_kind *kind, const char *const *argv)
{
    char program[512];
    const char *build = getenv("BUILD");
    char *list[16] = { program };
    snprintf(program, sizeof program, "%s/rodbook", build ? build : "build/release");
    for (size_t i = 0; argv[i] && i < 14; i++)
        list[i + 1] = (char *)argv[i];
    int theirs = open(ptsname(ours), O_RDWR | O_NOCTTY);
    if (theirs < 0 || setsid() < 0 || ioctl(theirs, TIOCSCTTY, 0) != 0)
        _exit(126);
    for (int fd = 0; fd < 3; fd++)
        dup2(theirs, fd);
    if (theirs > 2)
        close(theirs);
    close(ours);
    unsetenv("LC_ALL");
    unsetenv("LANG");
    unsetenv("LC_CTYPE");
    if (kind->term)
        setenv("TERM", kind->term, 1);
    else
        unsetenv("TERM");
    if (kind->locale)
        setenv("LC_ALL", kind->locale, 1);
    execv(program, list);
    _exit(127);
}

/* Starts $BUILD/rodbook on a new terminal; where there is none, the test is skipped. */
static inline struct terminal
terminal_open(struct terminal_kind kind, const char *const *argv)
{
    struct terminal t = { .fd = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC) };
    struct winsize size = { .ws_row = 24, .ws_col = kind.columns };
    if (t.fd < 0 || grantpt(t.fd) != 0 || unlockpt(t.fd) != 0 || ioctl(t.fd, TIOCSWINSZ, &size) != 0)
        skip();
    fflush(NULL);
    t.child = fork();
    assert_true(t.child >= 0);
    if (t.child == 0)
        terminal_child(t.fd, &kind, argv);
    assert_int_equal(fcntl(t.fd, F_SETFL, O_NONBLOCK), 0);
    return t;
}

static inline long
terminal_clock(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* More of what is shown; false where the terminal has ended. */
static inline bool
terminal_read(struct terminal *t, int wait_ms)
{
    struct pollfd p = { t->fd, POLLIN, 0 };
    if (poll(&p, 1, wait_ms) <= 0)
        return true;
    if (t->room - t->n < 4096) {
        t->room += 65536;
        t->shown = realloc(t->shown, t->room);
        assert_non_null(t->shown);
    }
    ssize_t k = read(t->fd, t->shown + t->n, 4095);
    if (k > 0)
        t->n += (size_t)k;
    t->shown[t->n] = '\0';
    return k > 0 || (k < 0 && (errno == EAGAIN || errno == EINTR));
}

/* Where the words stand behind what was waited for last; NULL: not yet. */
static inline char *
terminal_find(const struct terminal *t, const char *words)
{
    return t->n > t->seen ? strstr(t->shown + t->seen, words) : NULL;
}

/* Waits until the words are shown. */
static inline void
terminal_expect(struct terminal *t, const char *words)
{
    long until = terminal_clock() + TERMINAL_WAIT_MS;
    bool open = true;
    char *at;
    while (!(at = terminal_find(t, words)) && open && terminal_clock() < until)
        open = terminal_read(t, 100);
    if (!at) {
        kill(t->child, SIGKILL);
        fail_msg("not shown: %s\nshown:\n%s", words, t->shown ? t->shown + t->seen : "");
    }
    t->seen = (size_t)(at - t->shown) + strlen(words);
}

/* Keys, all in one write wherever the terminal takes them so; what is shown meanwhile is read. */
static inline void
terminal_keys(struct terminal *t, const char *keys)
{
    size_t n = strlen(keys);
    long until = terminal_clock() + TERMINAL_WAIT_MS;
    while (n > 0 && terminal_clock() < until) {
        ssize_t k = write(t->fd, keys, n);
        if (k > 0) {
            keys += k;
            n -= (size_t)k;
        } else if (!terminal_read(t, 10)) {
            break;
        }
    }
    assert_int_equal(n, 0);
}

/* The program reads key by key. */
static inline bool
terminal_is_raw(const struct terminal *t)
{
    struct termios mode;
    return tcgetattr(t->fd, &mode) == 0 && !(mode.c_lflag & ICANON);
}

/* A prompt stands there with nothing behind it, and it does. */
static inline bool
terminal_is_ready(const struct terminal *t)
{
    return t->n >= 2 && strcmp(t->shown + t->n - 2, "> ") == 0 && terminal_is_raw(t);
}

/* Waits for that: keys that edit are for the program from there on, and for the system before. */
static inline void
terminal_prompt(struct terminal *t)
{
    long until = terminal_clock() + TERMINAL_WAIT_MS;
    while (!terminal_is_ready(t) && terminal_clock() < until)
        if (!terminal_read(t, 1))
            break;
    if (!terminal_is_ready(t))
        fail_msg("no prompt; shown:\n%s", t->shown ? t->shown + t->seen : "");
}

/* A line and what must be shown for it, then the next prompt. */
static inline void
terminal_line(struct terminal *t, const char *line, const char *answer)
{
    terminal_keys(t, line);
    terminal_keys(t, "\r");
    terminal_expect(t, answer);
    terminal_prompt(t);
}

/* The exit status, once the program has ended by itself. */
static inline int
terminal_wait(struct terminal *t)
{
    long until = terminal_clock() + TERMINAL_WAIT_MS;
    int status = 0;
    pid_t ended = 0;
    while (ended == 0 && terminal_clock() < until) {
        if (t->fd < 0 || !terminal_read(t, 5)) {
            const struct timespec pause = { 0, 2000000 };
            (void)nanosleep(&pause, NULL);
        }
        ended = waitpid(t->child, &status, WNOHANG);
    }
    if (ended != t->child) {
        kill(t->child, SIGKILL);
        fail_msg("it does not end; shown:\n%s", t->shown ? t->shown + t->seen : "");
    }
    while (t->fd >= 0 && t->n > 0 && terminal_read(t, 0)) { /* what it said last */
        struct pollfd p = { t->fd, POLLIN, 0 };
        if (poll(&p, 1, 0) <= 0)
            break;
    }
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

static inline void
terminal_close(struct terminal *t)
{
    if (t->fd >= 0)
        close(t->fd);
    t->fd = -1;
}

static inline void
terminal_release(struct terminal *t)
{
    terminal_close(t);
    free(t->shown);
    t->shown = NULL;
}

#endif
