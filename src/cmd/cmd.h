/* cmd.h - the commands of the program: options, calls, exit status; no arithmetic */
#ifndef CMD_H
#define CMD_H

#include "rodbook/append.h"
#include "rodbook/building.h"
#include "rodbook/job.h"
#include "rodbook/order.h"
#include "rodbook/posts.h"
#include "rodbook/sheet.h"
#include "rodbook/source.h"

/* Exit statuses, docs of the program: README.md. */
enum { EXIT_GOOD = 0, EXIT_NOT_GOOD = 1, EXIT_UNDONE = 2 };

struct cmd_option {
    const char *name;  /* without its dashes */
    const char *value; /* the word for its value in the help; NULL when it takes none */
    const char *help;
};

/* What a command takes beside its options. */
enum cmd_files { CMD_ONE_FILE, CMD_MANY_FILES, CMD_TWO_FILES, CMD_NO_FILE };

struct cmd {
    const char *name;
    int (*run)(const struct cmd *cmd, int argc, char **argv);
    const char *usage;   /* behind "rodbook NAME " */
    const char *summary; /* one line */
    const char *about;   /* a paragraph */
    const char *example; /* a command line and what it is for */
    const struct cmd_option *options;
    size_t option_count;
    enum cmd_files files;
};

/* Every command, the only list: dispatch, help and the manual come from it. */
extern const struct cmd cmd_table[];
extern const size_t cmd_count;

/* A command's options as they were given: value[i] is "" for an option without a value, NULL when not given. */
#define CMD_OPTIONS_MOST 24
struct cmd_given {
    const char *value[CMD_OPTIONS_MOST];
    const char *file;  /* the first, or the only one */
    char **files;      /* all */
    int file_count;
    bool data;                       /* --json or --csv... */
    const struct sheet_table *table; /* ...and the table of the latter */
};

/*
 * cmd_parse - options and file names
 *
 * Result
 *   -1 to go on; else the exit status: help was asked for, or the words are
 *   off (said)
 */
int cmd_parse(const struct cmd *cmd, int argc, char **argv, struct cmd_given *given);

/* The letter that an option may be written with as well, as -o for --out, in every command that has it; 0: only in full. */
char cmd_option_letter(const struct cmd_option *o);

void cmd_print_help(const struct cmd *cmd, FILE *out);

/* A record that was asked for, read and worked out. */
struct cmd_record {
    struct source source;
    struct record record;
    struct job job;
    struct diag diag;
};

/*
 * cmd_read - read a record, the building's points among its own; complaints gather in c->diag
 *
 * Given
 *   c          of a file that is not open yet
 * Result
 *   0, or -1 without memory
 */
int cmd_read(struct cmd_record *c, const char *file);

/*
 * cmd_work - read a record and work it out; complaints go to standard error
 *
 * Result
 *   0, or -1 where a fault keeps it from its result. Either way: cmd_release().
 */
int cmd_work(struct cmd_record *c, const char *file, const struct job_options *options);

/* What else is worked out of a job without errors, before complaints are put in order. 0, or -1 without memory. */
typedef int cmd_more(struct cmd_record *c, void *into);
int cmd_work_on(struct cmd_record *c, const char *file, const struct job_options *options, cmd_more *more, void *into);

/* Holes, posts and concrete of a job, so that their faults are found. 0, or -1 without memory. */
int cmd_look_at_holes(const struct job *job, struct diag *d);

void cmd_release(struct cmd_record *c);

/* Prints what a command is for. 0, or -1 without memory. */
typedef int cmd_print(const struct job *job, const struct cmd_given *given);

/*
 * cmd_show - read a record, work it out, print it
 *
 * Given
 *   judge      a mark off grade is not good enough
 * Result
 *   the exit status
 */
int cmd_show(const struct cmd_given *given, const struct job_options *options, bool judge, cmd_print *print);

/* A file's name, as far as a terminal may be shown it. */
const char *cmd_file_name(const char *file);

/* Complaints, in the order of their places, each with its line where standard
 * error is a terminal. Returns false where one could not be kept in memory. */
void cmd_complain(const struct cmd_record *c);

/* What was found is said, in the order of its places; `rc` is -1 where memory ran out. True where there is a result to be shown. */
bool cmd_settled(struct cmd_record *c, int rc);

/* A digest or a signature does not fit what stands above it: no result of such a record is good. */
bool cmd_altered(const struct cmd_record *c);

/* Say that memory ran out. */
void cmd_no_memory(const struct cmd_record *c);

/*
 * cmd_key_file - where the crew's key lies
 *
 * Given
 *   file       as it was asked for; NULL for the usual place
 * Returned
 *   *place     free() it
 * Result
 *   0, or -1: said
 */
int cmd_key_file(const struct cmd *cmd, const char *file, char **place);

/* Where text sheets are printed, line by line no wider than a page; cmd_finish() ends it, or cmd_page_end() before
 * anything else is printed. */
FILE *cmd_page(void);
void cmd_page_end(void);

/* Flush standard output; `status`, or EXIT_UNDONE where it could not be written (said). */
int cmd_finish(int status);

/* Complaints of a record that stands in `d` alone, with no line to show; notes and all. */
void cmd_say(const char *file, const struct diag *d);

/* Where a command that adds to records is asked for words: initials, reasons. NULL where they may stand in one, else what is wrong. */
const char *cmd_text_fault(const char *text, size_t most);

/*
 * cmd_try - an entry as it would be, read with the record that it is meant for
 *
 * Given
 *   a          between append_begin() and append_end()
 *   body[n]    as append_entry()
 * Result
 *   0 where record and entry can be read and worked out together; -1, said in `d`
 */
int cmd_try(const struct append *a, const char *body, size_t n, struct diag *d);

/* "ENTRY.ROW" as two numbers from 1 on; false for anything else. */
bool cmd_read_row(const char *text, uint32_t *entry, uint32_t *row);

/* A confidence in per cent, from 50 to 99.99, as a share of 1; 0.95 where none is given. False for anything else: said. */
bool cmd_read_confidence(const struct cmd *cmd, const char *text, double *confidence);

/*
 * cmd_write_result - a file that can be made again
 *
 * Given
 *   file       its name
 *   write      writes it; 0, or -1: said
 *   with       handed to write
 * Result
 *   0, or -1: said. Either the whole file stands under its name, on the disk,
 *   or what stood there before.
 */
int cmd_write_result(const struct cmd *cmd, const char *file, int (*write)(void *with, FILE *out), void *with);

int cmd_reduce(const struct cmd *cmd, int argc, char **argv);
int cmd_close(const struct cmd *cmd, int argc, char **argv);
int cmd_adjust(const struct cmd *cmd, int argc, char **argv);
int cmd_suspects(const struct cmd *cmd, int argc, char **argv);
int cmd_stakes(const struct cmd *cmd, int argc, char **argv);
int cmd_plan(const struct cmd *cmd, int argc, char **argv);
int cmd_check(const struct cmd *cmd, int argc, char **argv);
int cmd_import(const struct cmd *cmd, int argc, char **argv);
int cmd_new(const struct cmd *cmd, int argc, char **argv);
int cmd_book(const struct cmd *cmd, int argc, char **argv);
int cmd_strike(const struct cmd *cmd, int argc, char **argv);
int cmd_key(const struct cmd *cmd, int argc, char **argv);
int cmd_seal(const struct cmd *cmd, int argc, char **argv);
int cmd_audit(const struct cmd *cmd, int argc, char **argv);
int cmd_sheet(const struct cmd *cmd, int argc, char **argv);

extern const struct cmd_option cmd_sheet_options[7];

int cmd_site(const struct cmd *cmd, int argc, char **argv);
extern const struct cmd_option cmd_site_options[2];

int cmd_square(const struct cmd *cmd, int argc, char **argv);
extern const struct cmd_option cmd_square_options[3];

int cmd_grade(const struct cmd *cmd, int argc, char **argv);
extern const struct cmd_option cmd_grade_options[17];

int cmd_posts(const struct cmd *cmd, int argc, char **argv);
extern const struct cmd_option cmd_posts_options[6];

/* The record has no post to say anything of: said. */
void cmd_no_posts(struct cmd_record *c);

int cmd_concrete(const struct cmd *cmd, int argc, char **argv);
extern const struct cmd_option cmd_concrete_options[3];

int cmd_run(const struct cmd *cmd, int argc, char **argv);
extern const struct cmd_option cmd_run_options[4];

int cmd_pad(const struct cmd *cmd, int argc, char **argv);
extern const struct cmd_option cmd_pad_options[3];

extern const struct cmd_option cmd_reduce_options[4], cmd_close_options[3], cmd_stakes_options[7],
    cmd_new_options[10], cmd_book_options[7], cmd_strike_options[4], cmd_import_options[7], cmd_check_options[1],
    cmd_key_options[1], cmd_seal_options[2], cmd_audit_options[5], cmd_adjust_options[3], cmd_plan_options[3],
    cmd_suspects_options[2];

#endif
