/* demo.h - a record as a crew keeps it: begun by hand, booked by the program, sealed at the end of two days */
#ifndef TESTS_DEMO_H
#define TESTS_DEMO_H

#include "near.h"

#include "rodbook/append.h"

#include <string.h>

/* Text by hand goes in as it stands; a body becomes an entry with its digest; a seal is a body that is signed. */
enum demo_kind { DEMO_HAND, DEMO_ENTRY, DEMO_SEAL };

static const struct demo_part {
    enum demo_kind kind;
    const char *text;
} demo_parts[] = {
    { DEMO_HAND, "---\njob: Lamb field\nplace: plot 3\nunit: m\nleast: 0.001\nallow: {misclosure: 4 mm, per: root-setup}\n"
                 "by: RO\ntime: 2026-05-02T08:10:00Z\n" },
    { DEMO_HAND, "---\nmarks:\n  BM1: {elevation: 48.375, note: \"bolt in the trough\"}\n" },
    { DEMO_ENTRY, "levels:\n  date: 2026-05-02\n  observer: RO\n  readings:\n    - {at: BM1, bs: 1.482}\n"
                  "by: RO\ntime: 2026-05-02T08:31:05Z\n" },
    { DEMO_ENTRY, "levels:\n  continues: 3\n  readings:\n    - {at: A, on: batten, is: 1.307}\n"
                  "by: RO\ntime: 2026-05-02T08:33:40Z\n" },
    { DEMO_ENTRY, "levels:\n  continues: 3\n  readings:\n    - {at: TP1, fs: 0.884, bs: 1.266}\n"
                  "by: RO\ntime: 2026-05-02T08:36:12Z\n" },
    { DEMO_ENTRY, "strike: {entry: 4, row: 1, reason: \"rod stood on a stone\"}\nby: LM\ntime: 2026-05-02T08:37:20Z\n" },
    { DEMO_ENTRY, "levels:\n  continues: 3\n  readings:\n    - {at: A, on: batten, is: 1.314, for: {entry: 4, row: 1}}\n"
                  "by: RO\ntime: 2026-05-02T08:38:02Z\n" },
    { DEMO_ENTRY, "levels:\n  continues: 3\n  readings:\n    - {at: BM1, fs: 1.866}\nby: RO\ntime: 2026-05-02T08:44:51Z\n" },
    { DEMO_SEAL, "by: RO\ntime: 2026-05-02T16:40:00Z\n" },
    { DEMO_HAND, "---\nsections:\n  date: 2026-05-03\n  rows:\n    - {from: BM1, to: BM2, rise: -1.274, setups: 6}\n"
                 "    - {from: BM2, to: BM1, rise: 1.275, setups: 6}\n" },
    { DEMO_ENTRY, "strike: {entry: 10, row: 2, reason: \"sums did not agree\"}\nby: LM\ntime: 2026-05-03T09:05:00Z\n" },
    { DEMO_SEAL, "by: LM\ntime: 2026-05-03T16:58:00Z\n" },
};

#define DEMO_PARTS (sizeof demo_parts / sizeof demo_parts[0])
#define DEMO_FIRST_SEAL 9 /* entries by number */
#define DEMO_LAST 12

static inline struct seal_key
demo_key(const char *word)
{
    unsigned char seed[SEAL_SEED_BYTES] = { 0 };
    struct seal_key key;
    memcpy(seed, word, strlen(word));
    seal_key_of(&key, seed);
    return key;
}

/* Text by hand, behind what stands there. */
static inline void
demo_hand(struct append_text *t, struct scan_end *at, const char *text)
{
    assert_true(append_text_add(t, text, strlen(text)));
    digest_take(&at->hash, text, strlen(text));
    at->size += strlen(text);
    at->entries++;
}

static inline void
demo_entry(struct append_text *t, struct scan_end *at, const char *body, const struct seal_key *key)
{
    unsigned char digest[DIGEST_BYTES];
    assert_int_equal(append_compose(t, at, body, strlen(body), key, digest), 0);
}

/*
 * The demo record up to entry `last`, with its end. `key` signs; where NULL,
 * seals are left out and what stands below takes their numbers.
 * In entry `altered` a figure is another (0: none), before any digest is made.
 */
static inline struct append_text
demo_record(uint32_t last, const struct seal_key *key, uint32_t altered, struct scan_end *end)
{
    struct append_text t = { 0 };
    *end = append_nowhere();
    for (size_t i = 0; i < DEMO_PARTS && end->entries < last; i++) {
        char text[512], *figure;
        strcpy(text, demo_parts[i].text);
        if (altered == i + 1 && (figure = strrchr(text, '.')) != NULL)
            figure[1] = figure[1] == '9' ? '1' : '9';
        if (demo_parts[i].kind == DEMO_HAND)
            demo_hand(&t, end, text);
        else if (demo_parts[i].kind == DEMO_ENTRY || key)
            demo_entry(&t, end, text, demo_parts[i].kind == DEMO_SEAL ? key : NULL);
    }
    return t;
}

#endif
