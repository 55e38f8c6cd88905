#include "cmd.h"

#include "rodbook/write.h"

#include <inttypes.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

enum { ROW, SIGHT, REASON, BY };

const struct cmd_option cmd_strike_options[4] = {
    [ROW] = { "row", "ENTRY.ROW", "the row, as reduce shows it" },
    [SIGHT] = { "sight", "bs|fs", "only that half of a turning point" },
    [REASON] = { "reason", "TEXT", "why; needed" },
    [BY] = { "by", "INITIALS", "of whoever strikes it; needed" },
};

struct wanted {
    uint32_t entry, row;
    enum record_sight sight;
};

static int
usage(const char *what)
{
    fprintf(stderr, "rodbook strike: %s\n", what);
    return -1;
}

static int
read_options(const struct cmd_given *given, struct wanted *w)
{
    const char *sight = given->value[SIGHT];
    if (!given->value[ROW] || !cmd_read_row(given->value[ROW], &w->entry, &w->row))
        return usage("--row wants an entry and a row of it, as --row 5.3");
    if (!given->value[REASON] || cmd_text_fault(given->value[REASON], WRITE_NOTE - 1))
        return usage("--reason wants a plain text that says why, as --reason \"rod stood on a clod\"");
    if (!given->value[BY] || cmd_text_fault(given->value[BY], WRITE_NAME - 1))
        return usage("--by wants the initials of whoever strikes, as --by RO");
    if (sight && strcmp(sight, "bs") != 0 && strcmp(sight, "fs") != 0)
        return usage("--sight wants bs or fs");
    w->sight = !sight ? RECORD_WHOLE_ROW : sight[0] == 'b' ? RECORD_SIGHT_BS : RECORD_SIGHT_FS;
    return 0;
}

static char *
strike_text(const struct wanted *w, const char *reason, const char *by, size_t *n)
{
    char *text = NULL;
    FILE *out = open_memstream(&text, n);
    if (!out)
        return NULL;
    write_strike(out, w->entry, w->row, w->sight, reason);
    write_envelope(out, by);
    if (fclose(out) == 0)
        return text;
    free(text);
    return NULL;
}

static int
append_strike(struct append *a, const char *text, size_t n, struct diag *d)
{
    if (append_begin(a, d) != 0)
        return -1;
    int rc = cmd_try(a, text, n, d) == 0 ? append_entry(a, text, n, NULL, d) : -1;
    append_end(a);
    return rc;
}

/* Errors of the record as it was need no second telling with the strike's own. */
static int
strike(const char *file, const char *text, size_t n, struct append *a, struct diag *d)
{
    struct record r;
    int rc = append_open(a, file, &r, d);
    record_release(&r);
    if (rc != 0 || d->errors > 0)
        return -1;
    diag_release(d);
    return append_strike(a, text, n, d);
}

int
cmd_strike(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct wanted w;
    struct append a = { .fd = -1 };
    struct diag d = { 0 };
    char digest[DIGEST_SHORT_TEXT];
    size_t n = 0;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    if (read_options(&given, &w) != 0)
        return EXIT_UNDONE;
    (void)signal(SIGXFSZ, SIG_IGN); /* a limit on file sizes is told as a full disk is */
    char *text = strike_text(&w, given.value[REASON], given.value[BY], &n);
    status = EXIT_UNDONE;
    if (text && strike(given.file, text, n, &a, &d) == 0) {
        digest_short(digest, a.digest);
        printf("row %" PRIu32 ".%" PRIu32 " is struck; the strike is entry %" PRIu32 "\nlast digest, to copy on paper   %" PRIu32 ": %s\n",
            w.entry, w.row, a.at.entries, a.at.entries, digest);
        status = EXIT_GOOD;
    }
    d.no_memory |= text == NULL;
    diag_sort(&d);
    cmd_say(given.file, &d);
    append_close(&a);
    diag_release(&d);
    free(text);
    return cmd_finish(status);
}
