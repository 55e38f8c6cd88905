/* program.h - run the program that was built, as a crew would */
#ifndef TESTS_PROGRAM_H
#define TESTS_PROGRAM_H

#include "near.h"

#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

struct ran {
    int status;
    char *out, *err; /* closed by a zero; ran_release() */
};

static inline char *
ran_text(FILE *f)
{
    long n = 0;
    char *text = NULL;
    if (fseek(f, 0, SEEK_END) == 0 && (n = ftell(f)) >= 0 && (text = malloc((size_t)n + 1)) != NULL) {
        rewind(f);
        text[fread(text, 1, (size_t)n, f)] = '\0';
    }
    fclose(f);
    assert_non_null(text);
    return text;
}

/* Runs $BUILD/rodbook with argv (from argv[1], closed by NULL); `input` is its standard input, or NULL for none. */
static inline struct ran
run_program(const char *input, const char *const *argv)
{
    char program[512];
    const char *build = getenv("BUILD");
    FILE *in = tmpfile(), *out = tmpfile(), *err = tmpfile();
    assert_true(in && out && err);
    if (input)
        fputs(input, in);
    fflush(in);
    rewind(in);
    snprintf(program, sizeof program, "%s/rodbook", build ? build : "build/release");
    char *list[16] = { program };
    for (size_t i = 0; argv[i] && i < 14; i++)
        list[i + 1] = (char *)argv[i];
    fflush(NULL);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        dup2(fileno(in), 0);
        dup2(fileno(out), 1);
        dup2(fileno(err), 2);
        execv(program, list);
        _exit(127);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    fclose(in);
    struct ran r = { WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status), ran_text(out), ran_text(err) };
    return r;
}

#define RUN(...) run_program(NULL, (const char *const[]){ __VA_ARGS__, NULL })
#define RUN_WITH(input, ...) run_program((input), (const char *const[]){ __VA_ARGS__, NULL })

/* A command line as words, quotes taken off; at most room - 1, closed by NULL. */
static inline void
ran_words(char *line, const char **word, size_t room)
{
    size_t n = 0;
    for (char *from = line; *from && n + 1 < room;) {
        char *to = from;
        bool quoted = false;
        word[n++] = to;
        for (; *from && (quoted || *from != ' '); from++)
            if (*from == '"')
                quoted = !quoted;
            else
                *to++ = *from;
        from += *from == ' ';
        *to = '\0';
    }
    word[n] = NULL;
}

/* Whether words stand in a text, however it is broken into lines and spaced: runs of blanks are one. */
static inline bool
ran_says(const char *text, const char *words)
{
    for (; *text; text++) {
        const char *t = text, *w = words;
        while (*w && *t) {
            size_t blanks = strspn(w, " \n"), met = strspn(t, " \n");
            if ((blanks > 0) != (met > 0))
                break;
            w += blanks;
            t += met;
            if (!*w || *t != *w)
                break;
            t++;
            w++;
        }
        if (!*w)
            return true;
    }
    return false;
}

static inline void
ran_release(struct ran *r)
{
    free(r->out);
    free(r->err);
}

#endif
