#include "cmd.h"

#include <getopt.h>
#include <string.h>

static int
usage_fault(const struct cmd *cmd, const char *what, const char *word)
{
    fprintf(stderr, "rodbook %s: %s%s%s\nusage: rodbook %s %s\n", cmd->name, what, word[0] ? " " : "",
        text_is_plain(word, strlen(word)) ? word : "", cmd->name, cmd->usage);
    return EXIT_UNDONE;
}

static void
long_options(const struct cmd *cmd, struct option *list)
{
    for (size_t i = 0; i < cmd->option_count; i++)
        list[i] = (struct option){ cmd->options[i].name, cmd->options[i].value ? required_argument : no_argument, NULL,
            (int)i + 256 };
    list[cmd->option_count] = (struct option){ "help", no_argument, NULL, 'h' };
    list[cmd->option_count + 1] = (struct option){ 0 };
}

char
cmd_option_letter(const struct cmd_option *o)
{
    return strcmp(o->name, "out") == 0 ? 'o' : '\0';
}

/* Room for ":h" and a letter with its colon for each option. */
#define LETTERS (2 * CMD_OPTIONS_MOST + 4)

static void
letters_of(const struct cmd *cmd, char out[LETTERS])
{
    char *p = stpcpy(out, ":h");
    for (size_t i = 0; i < cmd->option_count; i++) {
        char letter = cmd_option_letter(&cmd->options[i]);
        if (!letter)
            continue;
        *p++ = letter;
        if (cmd->options[i].value)
            *p++ = ':';
    }
    *p = '\0';
}

/* The option of a letter, as getopt_long() numbers it; others as they are. */
static int
of_letter(const struct cmd *cmd, int which)
{
    for (size_t i = 0; i < cmd->option_count; i++)
        if (which > 0 && cmd_option_letter(&cmd->options[i]) == which)
            return (int)i + 256;
    return which;
}

/* getopt takes shortened names; ours are written in full, so that a new option breaks no script. */
static bool
is_whole(const char *word, const char *name)
{
    size_t n = strcspn(word, "=");
    return strncmp(word, "--", 2) != 0 || (n == strlen(name) + 2 && strncmp(word + 2, name, n - 2) == 0);
}

/* The option that was read last, as it was written; its value may be a word of its own. */
static const char *
option_word(char **argv)
{
    return optarg && argv[optind - 1] == optarg ? argv[optind - 2] : argv[optind - 1];
}

static const char *
files_fault(enum cmd_files wanted, int given)
{
    switch (wanted) {
    case CMD_ONE_FILE:
        return given == 0 ? "which record?" : given > 1 ? "one record at a time" : NULL;
    case CMD_MANY_FILES:
        return given == 0 ? "which record?" : NULL;
    case CMD_TWO_FILES:
        return given == 2 ? NULL : "two files are wanted";
    case CMD_NO_FILE:
        break;
    }
    return given > 0 ? "no file is wanted here" : NULL;
}

/* What was given for an option by its name; NULL where it was not, or the command has none such. */
static const char *
value_named(const struct cmd *cmd, const struct cmd_given *given, const char *name)
{
    for (size_t i = 0; i < cmd->option_count; i++)
        if (strcmp(cmd->options[i].name, name) == 0)
            return given->value[i];
    return NULL;
}

static int
csv_fault(const struct cmd *cmd)
{
    const char *between = " ";
    fprintf(stderr, "rodbook %s: --csv wants one of", cmd->name);
    for (size_t i = 0; i < sheet_table_count; i++)
        if (strcmp(sheet_tables[i].command, cmd->name) == 0) {
            fprintf(stderr, "%s%s", between, sheet_tables[i].name);
            between = ", ";
        }
    fprintf(stderr, "\nusage: rodbook %s %s\n", cmd->name, cmd->usage);
    return EXIT_UNDONE;
}

/* --json and --csv: -1 to go on, else the exit status. */
static int
read_form(const struct cmd *cmd, struct cmd_given *given)
{
    const char *json = value_named(cmd, given, "json"), *csv = value_named(cmd, given, "csv");
    given->data = json || csv;
    if (json && csv)
        return usage_fault(cmd, "--json or --csv, not both", "");
    if (csv && !(given->table = sheet_table_find(cmd->name, csv)))
        return csv_fault(cmd);
    return -1;
}

int
cmd_parse(const struct cmd *cmd, int argc, char **argv, struct cmd_given *given)
{
    struct option list[CMD_OPTIONS_MOST + 2];
    char letters[LETTERS];
    int which;
    *given = (struct cmd_given){ 0 };
    long_options(cmd, list);
    letters_of(cmd, letters);
    opterr = 0;
    while ((which = of_letter(cmd, getopt_long(argc, argv, letters, list, NULL))) != -1) {
        const char *word = option_word(argv);
        if (which == 'h' && is_whole(word, "help")) {
            cmd_print_help(cmd, stdout);
            return cmd_finish(EXIT_GOOD);
        }
        if (which == ':')
            return usage_fault(cmd, "a value is missing behind", argv[optind - 1]);
        if (which < 256 || !is_whole(word, cmd->options[which - 256].name))
            return usage_fault(cmd, "unknown option", word);
        given->value[which - 256] = optarg ? optarg : "";
    }
    int files = argc - optind;
    const char *fault = files_fault(cmd->files, files);
    if (fault)
        return usage_fault(cmd, fault, "");
    given->file = argv[optind]; /* NULL behind the last */
    given->files = argv + optind;
    given->file_count = files;
    return read_form(cmd, given);
}
