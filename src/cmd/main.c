#include "cmd.h"

#include <gsl/gsl_errno.h>
#include <stdio_ext.h>
#include <stdlib.h>
#include <string.h>

#ifndef RODBOOK_VERSION
#error "RODBOOK_VERSION comes from the Makefile"
#endif

static void
print_overview(FILE *out)
{
    fputs("rodbook keeps the levels of a job: from rod readings and taped lengths to posts that are set\n\n"
          "usage: rodbook COMMAND [OPTIONS] FILE      FILE is a record; - is standard input\n\n",
        out);
    for (size_t i = 0; i < cmd_count; i++)
        fprintf(out, "  %-9s %s\n", cmd_table[i].name, cmd_table[i].summary);
    fputs("\n  rodbook COMMAND --help   its options, with an example\n"
          "  rodbook --version        the version\n\n"
          "exit status: 0 good; 1 done, and something in the survey is not good enough; 2 not done\n",
        out);
}

static const struct cmd *
find_command(const char *name)
{
    for (size_t i = 0; i < cmd_count; i++)
        if (strcmp(cmd_table[i].name, name) == 0)
            return &cmd_table[i];
    return NULL;
}

static int
unknown_command(const char *name)
{
    const char *words[32];
    size_t n = cmd_count < 32 ? cmd_count : 32;
    for (size_t i = 0; i < n; i++)
        words[i] = cmd_table[i].name;
    const char *near = text_nearest(name, strlen(name), words, n);
    fprintf(stderr, "rodbook: %s is no command%s%s; rodbook --help lists them\n",
        text_is_plain(name, strlen(name)) ? name : "that", near ? "; nearest is " : "", near ? near : "");
    return EXIT_UNDONE;
}

int
main(int argc, char **argv)
{
    static char buffer[65536]; /* of standard output, which one thread writes */
    (void)setvbuf(stdout, buffer, _IOFBF, sizeof buffer);
    (void)setvbuf(stderr, NULL, _IOLBF, BUFSIZ); /* a complaint at a time */
    (void)__fsetlocking(stdout, FSETLOCKING_BYCALLER);
    (void)gsl_set_error_handler_off(); /* it would abort; what is asked of GSL is checked before */
    if (argc < 2) {
        print_overview(stderr);
        return EXIT_UNDONE;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0 || strcmp(argv[1], "help") == 0) {
        const struct cmd *cmd = argc > 2 ? find_command(argv[2]) : NULL;
        if (argc > 2 && !cmd)
            return unknown_command(argv[2]);
        if (cmd)
            cmd_print_help(cmd, stdout);
        else
            print_overview(stdout);
        return cmd_finish(EXIT_GOOD);
    }
    if (strcmp(argv[1], "--version") == 0) {
        puts("rodbook " RODBOOK_VERSION);
        return cmd_finish(EXIT_GOOD);
    }
    const struct cmd *cmd = find_command(argv[1]);
    return cmd ? cmd->run(cmd, argc - 1, argv + 1) : unknown_command(argv[1]);
}
