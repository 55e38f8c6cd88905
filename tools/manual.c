/* manual - print the manual page, made from the table of commands */
#include "cmd.h"

#include <string.h>

/* Text for roff: hyphens that stay hyphens, and no line that begins with a control character. */
static void
put(const char *text)
{
    bool start = true;
    for (; *text; text++) {
        if (start && (*text == '.' || *text == '\''))
            fputs("\\&", stdout);
        start = *text == '\n';
        if (*text == '-')
            fputs("\\-", stdout);
        else if (*text == '\\')
            fputs("\\e", stdout);
        else
            fputc(*text, stdout);
    }
}

static void
put_command(const struct cmd *cmd)
{
    printf(".SS rodbook %s ", cmd->name);
    put(cmd->usage);
    fputc('\n', stdout);
    put(cmd->about);
    fputc('\n', stdout);
    for (size_t i = 0; i < cmd->option_count; i++) {
        const struct cmd_option *o = &cmd->options[i];
        printf(".TP\n.B ");
        if (cmd_option_letter(o))
            printf("\\-%c, ", cmd_option_letter(o));
        printf("\\-\\-");
        put(o->name);
        if (o->value)
            printf(" %s", o->value);
        fputc('\n', stdout);
        put(o->help);
        fputc('\n', stdout);
    }
    fputs(".PP\nExample:\n.B ", stdout);
    put(cmd->example);
    fputc('\n', stdout);
}

int
main(void)
{
    fputs(".TH RODBOOK 1 \"\" \"rodbook " RODBOOK_VERSION "\" \"User commands\"\n"
          ".SH NAME\nrodbook \\- level loops, grade and the setting out of posts from a field book\n"
          ".SH SYNOPSIS\n.B rodbook\n.I COMMAND\n[\\fIOPTIONS\\fR] \\fIFILE\\fR\n"
          ".SH DESCRIPTION\nKeeps the levels of a job: from rod readings and taped lengths to posts that are set.\n"
          "FILE is a record, a text file that docs/record.md describes; \\- is standard input.\n"
          ".SH COMMANDS\n",
        stdout);
    for (size_t i = 0; i < cmd_count; i++)
        put_command(&cmd_table[i]);
    fputs(".SH EXIT STATUS\n.TP\n.B 0\ngood\n.TP\n.B 1\nthe work was done, and something in the survey is not good enough\n"
          ".TP\n.B 2\nthe work could not be done\n"
          ".SH ENVIRONMENT\n.TP\n.B NO_COLOR\nset to anything, keeps colour out of complaints on a terminal\n"
          ".TP\n.B XDG_CONFIG_HOME\nthe crew's key lies below it, in rodbook/key; else in ~/.config/rodbook/key\n"
          ".SH CAUTION\nElevations do not find buried services: have them located and marked before any digging.\n"
          "Depths and footings follow the local code and the plan.\n",
        stdout);
    return cmd_finish(EXIT_GOOD);
}
