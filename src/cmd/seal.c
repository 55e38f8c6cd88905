#include "cmd.h"

#include "rodbook/write.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

enum { KEY, BY };

const struct cmd_option cmd_seal_options[2] = {
    [KEY] = { "key", "FILE", "the crew's key; without it the one that rodbook key makes" },
    [BY] = { "by", "INITIALS", "who seals" },
};

#define TRIES 5 /* somebody who books while we read goes first; five times in a row is no chance any more */

/* A record that is to be sealed. */
struct sealing {
    struct append a;
    struct record r;
    struct diag d;
};

static void
release(struct sealing *s)
{
    append_end(&s->a);
    append_close(&s->a);
    record_release(&s->r);
}

static void
refuse(struct sealing *s, const char *check, const char *why)
{
    diag_say(&s->d, DIAG_ERROR, (struct diag_place){ 0, 0 }, check, "%s; nothing was written", why);
}

/* Open the record, read it, and lock it as it was read. 0, or -1: said. */
static int
open_locked(struct sealing *s, const char *file)
{
    for (int i = 0; i < TRIES; i++) {
        size_t said = s->d.n;
        if (append_open(&s->a, file, &s->r, &s->d) != 0 || append_begin(&s->a, &s->d) != 0)
            return -1;
        if (s->a.news == s->a.at.size)
            return 0;
        diag_drop_from(&s->d, said, (struct diag_place){ 0, 0 }); /* it is all read again */
        release(s);
    }
    refuse(s, "locked", "others kept adding to the record while it was read; try again when they have finished");
    return -1;
}

/* What stands above is fit to be signed. */
static bool
is_fit(struct sealing *s)
{
    const struct scan_chain *c = &s->r.chain;
    if (s->d.errors > 0)
        refuse(s, "refused", "a record with errors is not sealed: mend them first");
    else if (c->broken > 0 || c->bad_seals > 0)
        refuse(s, "refused", "a record that was altered is not sealed: rodbook audit tells more");
    return s->d.errors == 0;
}

/* Entries that no digest covered until now, written by hand; torn ones are never used. */
static uint32_t
uncovered(const struct sealing *s)
{
    uint32_t n = 0;
    for (size_t i = s->r.chain.last; i < s->r.entries; i++)
        n += !s->r.entry[i].sealed && !s->r.entry[i].torn;
    return n;
}

static int
append_seal(struct sealing *s, const struct seal_key *key, const char *by)
{
    char *body = NULL;
    size_t n = 0;
    FILE *out = open_memstream(&body, &n);
    int rc = -1;
    if (out) {
        write_envelope(out, by);
        if (fclose(out) == 0)
            rc = append_entry(&s->a, body, n, key, &s->d);
        else
            s->d.no_memory = true;
    } else {
        s->d.no_memory = true;
    }
    free(body);
    return rc;
}

static void
print_seal(const struct sealing *s, const struct seal_key *key)
{
    char words[DIGEST_SHORT_TEXT];
    uint32_t entry = s->a.at.entries, last = s->r.chain.last_seal, by_hand = uncovered(s);
    printf("Entry %" PRIu32 " seals entries 1 to %" PRIu32 ".\n", entry, entry - 1);
    if (last > 0 && last + 1 == entry)
        printf("Nothing was added since the seal of entry %" PRIu32 ".\n", last);
    else if (last > 0)
        printf("%" PRIu32 " %s added since the seal of entry %" PRIu32 ".\n", entry - 1 - last,
            entry - 1 - last == 1 ? "of them was" : "of them were", last);
    if (by_hand > 0)
        printf("%" PRIu32 " %s written by hand, and covered by no digest until now.\n", by_hand,
            by_hand == 1 ? "of them was" : "of them were");
    if (s->r.chain.torn_below > 0)
        printf("%" PRIu32 " %s torn and never used; look that nothing is missing.\n", s->r.chain.torn_below,
            s->r.chain.torn_below == 1 ? "of them is" : "of them are");
    digest_short(words, key->key);
    printf("\n  key     %s\n", words);
    digest_short(words, s->a.digest);
    printf("  digest  %" PRIu32 ": %s\n\n"
           "Copy the digest on paper with today's date, and give a copy to whoever may have to check this record\n"
           "one day: rodbook audit --paper finds by it whether anything was cut or altered since.\n",
        entry, words);
}

/* 0, or -1: said. */
static int
seal(struct sealing *s, const struct seal_key *key, const struct cmd_given *given)
{
    if (open_locked(s, given->file) != 0 || !is_fit(s) || append_seal(s, key, given->value[BY]) != 0)
        return -1;
    print_seal(s, key);
    return 0;
}

static int
read_key(const struct cmd *cmd, const char *file, struct seal_key *key)
{
    struct diag d = { 0 };
    char *place = NULL;
    if (cmd_key_file(cmd, file, &place) != 0)
        return -1;
    int rc = seal_key_read(key, place, &d);
    cmd_say(place, &d);
    diag_release(&d);
    free(place);
    return rc;
}

int
cmd_seal(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct sealing s = { .a = { .fd = -1 } };
    struct seal_key key;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    const char *by = given.value[BY];
    const char *fault = by ? cmd_text_fault(by, WRITE_NAME - 1) : NULL;
    if (fault) {
        fprintf(stderr, "rodbook seal: what stands behind --by %s; it wants initials\n", fault);
        return EXIT_UNDONE;
    }
    if (strcmp(given.file, "-") == 0) {
        fputs("rodbook seal: a record is sealed in its file, and not in a pipe\n", stderr);
        return EXIT_UNDONE;
    }
    if (read_key(cmd, given.value[KEY], &key) != 0)
        return EXIT_UNDONE;
    int rc = seal(&s, &key, &given);
    seal_key_release(&key);
    diag_sort(&s.d);
    cmd_say(given.file, &s.d);
    release(&s);
    diag_release(&s.d);
    return cmd_finish(rc == 0 ? EXIT_GOOD : EXIT_UNDONE);
}
