#include "cmd.h"

#include "rodbook/audit.h"

#include <string.h>
#include <time.h>
#include <unistd.h>

enum { PAPER, KEY, DIGESTS, JSON, CSV };

const struct cmd_option cmd_audit_options[5] = {
    [PAPER] = { "paper", "DIGITS", "look for the digest that was copied on paper" },
    [KEY] = { "key", "KEY", "look for seals by this key: a public key's 64 digits, or a key file" },
    [DIGESTS] = { "digests", NULL, "digests and signatures alone, quick, for a record of any size" },
    [JSON] = { "json", NULL, "results as JSON, docs/json.md" },
    [CSV] = { "csv", "TABLE", "one table as CSV, docs/csv.md: summary, breaks, seals, hand_written, torn, struck" },
};

/* ---- progress ---- */

#define PATIENCE 1.0 /* seconds before anything is shown... */
#define PAUSE 0.2    /* ...and between two showings */

struct progress {
    double begun, shown; /* seconds */
    double read, all;    /* bytes */
};

static double
now(void)
{
    struct timespec t = { 0 };
    (void)clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static void
show_progress(void *with, size_t n)
{
    struct progress *p = with;
    double t = now();
    p->read += (double)n;
    if (!(t - p->begun > PATIENCE) || !(t - p->shown > PAUSE) || !(p->all > 0))
        return;
    p->shown = t;
    double percent = 100 * p->read / p->all;
    fprintf(stderr, "\rauditing: %2.0f %% ", percent < 99 ? percent : 99);
    (void)fflush(stderr);
}

static void
end_progress(const struct progress *p)
{
    if (p->shown <= 0)
        return;
    fputs("\r                \r", stderr);
    (void)fflush(stderr); /* before anything of the results */
}

/* ---- what is asked ---- */

struct asked {
    char digits[DIGEST_HEX + 1];
    unsigned char key[SEAL_KEY_BYTES];
};

/* A public key's digits, or a file that holds the whole key. 0, or -1: said. */
static int
read_asked_key(unsigned char key[SEAL_KEY_BYTES], const char *word)
{
    struct seal_key whole;
    struct diag d = { 0 };
    if (strlen(word) == 2 * (size_t)SEAL_KEY_BYTES && digest_from_hex(key, word, SEAL_KEY_BYTES))
        return 0;
    int rc = seal_key_read(&whole, word, &d);
    if (rc == 0) {
        memcpy(key, whole.key, SEAL_KEY_BYTES);
        seal_key_release(&whole);
    } else {
        cmd_say(word, &d);
        fputs("rodbook audit: --key wants the 64 digits of a public key, or a key file\n", stderr);
    }
    diag_release(&d);
    return rc;
}

/* 0, or -1: said. */
static int
read_asked(const struct cmd_given *given, struct asked *asked, struct audit_ask *ask)
{
    *ask = (struct audit_ask){ .digests = given->value[DIGESTS] != NULL };
    if (given->value[PAPER] && digest_from_paper(asked->digits, given->value[PAPER]) == 0) {
        fprintf(stderr, "rodbook audit: --paper wants %d to %d digits 0-9 a-f, as in '12: 3f2a 91bc 07de 44a1 9c0e 55d2'\n",
            DIGEST_LEAST_HEX, DIGEST_HEX);
        return -1;
    }
    if (given->value[PAPER])
        ask->paper = asked->digits;
    if (!given->value[KEY])
        return 0;
    ask->key = asked->key;
    return read_asked_key(asked->key, given->value[KEY]);
}

/* ---- the command ---- */

static int
print(const struct audit *a, const struct cmd_given *given)
{
    if (given->data)
        return sheet_audit_data(a, given->table, stdout);
    sheet_audit(a, cmd_page());
    return 0;
}

static int
audit(struct cmd_record *c, const struct audit_ask *ask, const struct cmd_given *given)
{
    struct audit a;
    struct progress progress = { .begun = now(), .all = (double)c->source.n * (ask->digests ? 1 : 2) };
    if (isatty(STDERR_FILENO) == 1) {
        c->source.told = show_progress;
        c->source.with = &progress;
    }
    int rc = audit_read(&a, &c->source, ask, &c->diag);
    c->source.told = NULL;
    end_progress(&progress);
    diag_sort(&c->diag);
    cmd_complain(c);
    bool done = rc == 0 && !a.unread;
    if (done)
        rc = print(&a, given);
    if (rc != 0)
        cmd_no_memory(c);
    int status = !done || rc != 0 ? EXIT_UNDONE : audit_fits(&a) ? EXIT_GOOD : EXIT_NOT_GOOD;
    audit_release(&a);
    return status;
}

int
cmd_audit(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct audit_ask ask;
    struct asked asked;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    if (read_asked(&given, &asked, &ask) != 0)
        return EXIT_UNDONE;
    struct cmd_record c = { .source = { .name = given.file, .fd = -1 } };
    if (source_open(&c.source, given.file, &c.diag) == 0) {
        status = audit(&c, &ask, &given);
    } else {
        cmd_complain(&c);
        status = EXIT_UNDONE;
    }
    cmd_release(&c);
    return cmd_finish(status);
}
