#include "cmd.h"

#include <stdio_ext.h>
#include <stdlib.h>
#include <string.h>

#ifndef RODBOOK_VERSION
#error "RODBOOK_VERSION comes from the Makefile"
#endif

#define OPTIONS(list) (list), sizeof(list) / sizeof((list)[0]), false

const struct cmd cmd_table[] = {
    { "reduce", cmd_reduce, "[--form FORM] [--spread-anyway] [--json] FILE", "reduce the field book, with its page checks",
        "Prints every run of levels as a field book, by height of instrument and by rise and fall, struck readings\n"
        "shown struck, with the page check by three routes; then how each loop and link closes, and all elevations.",
        "rodbook reduce surveys/fernhill.yaml", OPTIONS(cmd_reduce_options) },
    { "close", cmd_close, "[--spread-anyway] [--json] FILE", "close loops and links, and spread the misclosure",
        "Prints the misclosure of every loop and link against what the job allows, the running correction after each\n"
        "set-up, and all elevations. A line outside its limit is not spread, and the exit status is 1.",
        "rodbook close surveys/fernhill.yaml", OPTIONS(cmd_close_options) },
    { "stakes", cmd_stakes, "[--grade NAME] [--setup ENTRY.N] [--judge] [--spread-anyway] [--json] FILE",
        "how far to move each batten, post mark and stake to grade",
        "Prints cut or fill at every mark, the move as a crew says it, and the grade rod that puts the mark on grade.\n"
        "A mark read again after it was moved is compared with the move that was asked.",
        "rodbook stakes --setup 5.1 surveys/fernhill.yaml", OPTIONS(cmd_stakes_options) },
    { "check", cmd_check, "FILE...", "report every fault in record files",
        "Reads each record, works it out, and reports every fault with its line and column. Exit status 1 for any.",
        "rodbook check surveys/fernhill.yaml", NULL, 0, true },
};
const size_t cmd_count = sizeof cmd_table / sizeof cmd_table[0];

static void
print_overview(FILE *out)
{
    fputs("rodbook keeps the levels of a job: from rod readings to how far to move each mark\n\n"
          "usage: rodbook COMMAND [OPTIONS] FILE      FILE is a record; - is standard input\n\n",
        out);
    for (size_t i = 0; i < cmd_count; i++)
        fprintf(out, "  %-8s %s\n", cmd_table[i].name, cmd_table[i].summary);
    fputs("\n  rodbook COMMAND --help   its options, with an example\n"
          "  rodbook --version        the version\n\n"
          "exit status: 0 good; 1 done, and something in the survey is not good enough; 2 not done\n",
        out);
}

void
cmd_print_help(const struct cmd *cmd, FILE *out)
{
    fprintf(out, "usage: rodbook %s %s\n\n%s\n", cmd->name, cmd->usage, cmd->about);
    for (size_t i = 0; i < cmd->option_count; i++) {
        const struct cmd_option *o = &cmd->options[i];
        char word[48];
        snprintf(word, sizeof word, "--%s%s%s", o->name, o->value ? " " : "", o->value ? o->value : "");
        fprintf(out, "%s  %-18s %s\n", i == 0 ? "\n" : "", word, o->help);
    }
    fprintf(out, "\nexample: %s\n", cmd->example);
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
    const char *words[8];
    for (size_t i = 0; i < cmd_count; i++)
        words[i] = cmd_table[i].name;
    const char *near = text_nearest(name, strlen(name), words, cmd_count);
    fprintf(stderr, "rodbook: %s is no command%s%s; rodbook --help lists them\n",
        text_is_plain(name, strlen(name)) ? name : "that", near ? "; nearest is " : "", near ? near : "");
    return EXIT_UNDONE;
}

int
main(int argc, char **argv)
{
    static char buffer[65536]; /* of standard output, which one thread writes */
    (void)setvbuf(stdout, buffer, _IOFBF, sizeof buffer);
    (void)__fsetlocking(stdout, FSETLOCKING_BYCALLER);
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
