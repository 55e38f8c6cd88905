#include "prompt.h"

#include <errno.h>
#include <histedit.h>
#include <langinfo.h>
#include <locale.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <wchar.h>

#define HISTORY_LINES 1000
#define LINE_MOST 65536 /* bytes; more without a line feed is no reading */

static volatile sig_atomic_t caught, resized;
static sigset_t waiting; /* what may come while a line is waited for */

static void
on_signal(int number)
{
    if (number == SIGWINCH)
        resized = 1;
    else
        caught = number;
}

/* A record is never left by a signal halfway through an entry: they wait for the next line. */
static int
catch_signals(void)
{
    static const int numbers[] = { SIGINT, SIGTERM, SIGHUP, SIGWINCH };
    struct sigaction action = { .sa_handler = on_signal }, ignore = { .sa_handler = SIG_IGN };
    sigset_t block;
    sigemptyset(&block);
    sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        sigaddset(&block, numbers[i]);
        if (sigaction(numbers[i], &action, NULL) != 0)
            return -1;
    }
    if (sigaction(SIGPIPE, &ignore, NULL) != 0 || sigaction(SIGXFSZ, &ignore, NULL) != 0)
        return -1;
    return sigprocmask(SIG_BLOCK, &block, &waiting);
}

/* A signal that waits comes in now. ppoll() lets none in while there is input: a full pipe would keep them all out. */
static void
let_signals_in(void)
{
    sigset_t block;
    (void)sigprocmask(SIG_SETMASK, &waiting, &block);
    (void)sigprocmask(SIG_SETMASK, &block, NULL);
}

/* Wait for input; 1, or 0 where a signal came instead. */
static int
wait_for_input(void)
{
    struct pollfd input = { STDIN_FILENO, POLLIN, 0 };
    let_signals_in();
    while (!caught) {
        int n = ppoll(&input, 1, NULL, &waiting);
        if (n > 0)
            return 1;
        if (n < 0 && errno != EINTR)
            return 1; /* read() will say what is wrong */
        if (resized)
            return 0;
    }
    return 0;
}

/* ---- a terminal ---- */

static char *
prompt_text(EditLine *el)
{
    struct prompt *p = NULL;
    (void)el_get(el, EL_CLIENTDATA, &p);
    return p->ask;
}

/* One character for libedit, put together from UTF-8. */
static int
next_character(EditLine *el, wchar_t *out)
{
    mbstate_t state = { 0 };
    for (;;) {
        char byte;
        if (wait_for_input() == 0) {
            if (caught)
                return -1;
            resized = 0;
            el_resize(el);
            (void)el_set(el, EL_REFRESH);
            continue;
        }
        ssize_t n = read(STDIN_FILENO, &byte, 1);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0) {
            if (n < 0)
                caught = SIGHUP; /* a terminal that cannot be read is gone */
            return n < 0 ? -1 : 0;
        }
        size_t k = mbrtowc(out, &byte, 1, &state);
        if (k == (size_t)-1) {
            *out = 0xfffe; /* no UTF-8: no character either, and the line is refused for it */
            return 1;
        }
        if (k != (size_t)-2)
            return 1;
    }
}

/* ---- completion ---- */

struct matches {
    const char *one;  /* the first */
    size_t n, common; /* how many, and how much they share */
};

/* Names with blanks are only found behind a quote, which then closes them. */
static bool
matches(const char *word, const char *begun, size_t n, bool quoted)
{
    return strncmp(word, begun, n) == 0 && (quoted || !strchr(word, ' '));
}

static struct matches
find_matches(const struct prompt *p, const char *begun, size_t n, bool first, bool quoted)
{
    struct matches m = { 0 };
    const char *word;
    for (size_t i = 0; (word = p->word(p->with, first, i)) != NULL; i++) {
        if (!matches(word, begun, n, quoted) || (m.one && strcmp(m.one, word) == 0))
            continue;
        if (m.n++ == 0) {
            m.one = word;
            m.common = strlen(word);
        }
        size_t same = 0;
        while (same < m.common && word[same] == m.one[same])
            same++;
        m.common = same;
    }
    return m;
}

static void
list_matches(const struct prompt *p, const char *begun, size_t n, bool first, bool quoted)
{
    const char *word;
    fputc('\n', stdout);
    for (size_t i = 0; (word = p->word(p->with, first, i)) != NULL; i++)
        if (matches(word, begun, n, quoted))
            printf("%s  ", word);
    fputc('\n', stdout);
    fflush(stdout);
}

static unsigned char
complete(EditLine *el, int key)
{
    struct prompt *p = NULL;
    char more[256];
    (void)key;
    (void)el_get(el, EL_CLIENTDATA, &p);
    const LineInfo *info = el_line(el);
    const char *start = info->cursor, *head = info->buffer;
    while (start > info->buffer && start[-1] != ' ')
        start--;
    while (head < start && *head == ' ')
        head++;
    bool quoted = *start == '"' && start < info->cursor, first = head == start;
    const char *begun = start + quoted;
    size_t n = (size_t)(info->cursor - begun);
    struct matches m = find_matches(p, begun, n, first, quoted);
    if (m.n == 0)
        return CC_ERROR;
    if (m.common == n && m.n > 1) {
        list_matches(p, begun, n, first, quoted);
        return CC_REDISPLAY;
    }
    int k = snprintf(more, sizeof more, "%.*s%s", (int)(m.common - n), m.one + n, m.n > 1 ? "" : quoted ? "\" " : " ");
    if (k <= 0 || (size_t)k >= sizeof more || el_insertstr(el, more) != 0)
        return CC_ERROR;
    return CC_REFRESH;
}

static int
open_terminal(struct prompt *p)
{
    HistEvent event;
    if (!setlocale(LC_CTYPE, "") || strcmp(nl_langinfo(CODESET), "UTF-8") != 0)
        (void)setlocale(LC_CTYPE, "C.UTF-8"); /* a record is UTF-8 wherever it is booked */
    p->el = el_init("rodbook", stdin, stdout, stderr);
    p->history = history_init();
    if (!p->el || !p->history)
        return -1;
    (void)history(p->history, &event, H_SETSIZE, HISTORY_LINES);
    (void)el_set(p->el, EL_CLIENTDATA, p);
    (void)el_set(p->el, EL_EDITOR, "emacs");
    (void)el_set(p->el, EL_SIGNAL, 0);
    (void)el_set(p->el, EL_PROMPT, prompt_text);
    (void)el_wset(p->el, EL_GETCFN, next_character);
    (void)el_set(p->el, EL_HIST, history, p->history);
    (void)el_wset(p->el, EL_ADDFN, L"rodbook-complete", L"complete a word or a point's name", complete); /* el_set() would leak both */
    (void)el_set(p->el, EL_BIND, "^I", "rodbook-complete", NULL);
    return 0;
}

static enum prompt_got
ended_by(void)
{
    return caught == SIGHUP ? PROMPT_LOST : PROMPT_INTERRUPTED;
}

static enum prompt_got
terminal_line(struct prompt *p, const char *ask, const char **line)
{
    HistEvent event;
    int n = 0;
    snprintf(p->ask, sizeof p->ask, "%s", ask);
    const char *text = el_gets(p->el, &n);
    if (caught)
        return ended_by();
    if (!text || n <= 0)
        return PROMPT_END;
    size_t length = (size_t)n;
    while (length > 0 && (text[length - 1] == '\n' || text[length - 1] == '\r'))
        length--;
    if (length + 1 > p->line_room) {
        char *grown = realloc(p->line, length + 1);
        if (!grown)
            return PROMPT_FAULT;
        p->line = grown;
        p->line_room = length + 1;
    }
    memcpy(p->line, text, length);
    p->line[length] = '\0';
    if (length > 0)
        (void)history(p->history, &event, H_ENTER, p->line);
    *line = p->line;
    return PROMPT_LINE;
}

/* ---- a pipe ---- */

/* Give out the line that ends at `lf`, or the rest where that is NULL. */
static enum prompt_got
give_line(struct prompt *p, char *lf, const char **line)
{
    char *start = p->bytes + p->at, *stop = lf ? lf : p->bytes + p->n;
    size_t n = (size_t)(stop - start);
    bool zero = memchr(start, '\0', n) != NULL;
    *stop = '\0';
    p->at = lf ? (size_t)(lf - p->bytes) + 1 : p->n;
    if (n > 0 && start[n - 1] == '\r')
        start[n - 1] = '\0';
    if (zero)
        *start = '\001'; /* a line with a zero byte is refused for a control character, and not cut there */
    *line = start;
    return PROMPT_LINE;
}

static int
more_bytes(struct prompt *p)
{
    if (p->at > 0)
        memmove(p->bytes, p->bytes + p->at, p->n - p->at);
    p->n -= p->at;
    p->at = 0;
    if (p->n + 1 >= p->room) {
        char *grown = p->room < LINE_MOST ? realloc(p->bytes, p->room + 8192) : NULL;
        if (!grown) {
            errno = p->room < LINE_MOST ? ENOMEM : EMSGSIZE;
            return -1;
        }
        p->bytes = grown;
        p->room += 8192;
    }
    ssize_t k;
    do {
        if (wait_for_input() == 0) {
            resized = 0;
            k = -1;
            errno = EINTR;
            continue;
        }
        k = read(STDIN_FILENO, p->bytes + p->n, p->room - p->n - 1);
    } while (k < 0 && errno == EINTR && !caught);
    if (k > 0)
        p->n += (size_t)k;
    return k > 0 ? 1 : (int)k;
}

static enum prompt_got
pipe_line(struct prompt *p, const char **line)
{
    let_signals_in(); /* between two lines, though more of them wait in the buffer */
    if (caught)
        return ended_by();
    for (size_t seen = 0;;) {
        char *lf = p->n > p->at + seen ? memchr(p->bytes + p->at + seen, '\n', p->n - p->at - seen) : NULL;
        if (lf)
            return give_line(p, lf, line);
        seen = p->n - p->at;
        int more = more_bytes(p);
        if (caught)
            return ended_by();
        if (more < 0)
            return PROMPT_FAULT;
        if (more == 0)
            return p->n > p->at ? give_line(p, NULL, line) : PROMPT_END;
    }
}

/* ---- both ---- */

int
prompt_open(struct prompt *p, prompt_word *word, void *with)
{
    *p = (struct prompt){ .word = word, .with = with };
    p->terminal = isatty(STDIN_FILENO) == 1 && isatty(STDOUT_FILENO) == 1;
    if (catch_signals() != 0)
        return -1;
    return p->terminal ? open_terminal(p) : 0;
}

void
prompt_close(struct prompt *p)
{
    if (p->history)
        history_end(p->history);
    if (p->el)
        el_end(p->el);
    free(p->bytes);
    free(p->line);
    *p = (struct prompt){ 0 };
}

enum prompt_got
prompt_next(struct prompt *p, const char *ask, const char **line)
{
    return p->terminal ? terminal_line(p, ask, line) : pipe_line(p, line);
}
