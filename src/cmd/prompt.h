/* prompt.h - lines from a crew at a terminal, or from a pipe */
#ifndef CMD_PROMPT_H
#define CMD_PROMPT_H

#include <stdbool.h>
#include <stddef.h>

enum prompt_got {
    PROMPT_LINE,
    PROMPT_END,         /* the input ended, or Ctrl-D */
    PROMPT_INTERRUPTED, /* Ctrl-C, or SIGTERM */
    PROMPT_LOST,        /* the terminal is gone */
    PROMPT_FAULT        /* the input cannot be read, or no memory: errno */
};

/* The word number i that may stand at a place of the line; NULL behind the last. */
typedef const char *prompt_word(void *with, bool first, size_t i);

struct prompt {
    bool terminal;
    prompt_word *word; /* for completion */
    void *with;
    struct editline *el; /* libedit's; NULL without a terminal */
    struct history *history;
    char ask[128];
    char *bytes; /* read from a pipe, and not yet given out */
    size_t n, room, at;
    char *line;
    size_t line_room;
};

/*
 * prompt_open - from here on Ctrl-C, SIGTERM and SIGHUP come only while a line is waited for
 *
 * Result
 *   0, or -1: errno
 */
int prompt_open(struct prompt *p, prompt_word *word, void *with);
void prompt_close(struct prompt *p);

/* The next line, without its line feed, good until the next call. `ask` is shown on a terminal. */
enum prompt_got prompt_next(struct prompt *p, const char *ask, const char **line);

#endif
