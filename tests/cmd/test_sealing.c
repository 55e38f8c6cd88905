/*
 * test_sealing.c - rodbook key, seal and audit, as a crew and an inspector run them
 *
 * Each test has a folder of its own, with the demo record in job.yaml and the
 * crew's key in the usual place below it.
 */
#include "../demo.h"
#include "../program.h"

#include <ftw.h>
#include <glob.h>
#include <jansson.h>
#include <stdbool.h>
#include <sys/stat.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* ---- a folder ---- */

static char folder[400], job[512], key_file[512], other_file[512];
static struct append_text demo;
static struct seal_key crew;
static char crew_digits[2 * SEAL_KEY_BYTES + 1];

static void
write_bytes(const char *file, const char *bytes, size_t n)
{
    FILE *f = fopen(file, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(bytes, 1, n, f), n);
    assert_int_equal(fclose(f), 0);
}

static struct append_text
read_bytes(const char *file)
{
    struct append_text t = { 0 };
    char buffer[4096];
    FILE *f = fopen(file, "rb");
    assert_non_null(f);
    for (size_t n; (n = fread(buffer, 1, sizeof buffer, f)) > 0;)
        assert_true(append_text_add(&t, buffer, n));
    fclose(f);
    assert_true(append_text_add(&t, "", 1)); /* a zero, for strstr() */
    t.n--;
    return t;
}

static void
assert_untouched(const char *file, const char *bytes, size_t n)
{
    struct append_text now = read_bytes(file);
    assert_int_equal(now.n, n);
    assert_memory_equal(now.bytes, bytes, n);
    append_text_release(&now);
}

/* A key file for a key that the test knows. */
static void
write_key(const char *file, const struct seal_key *key)
{
    char secret[2 * SEAL_SEED_BYTES + 1], public[2 * SEAL_KEY_BYTES + 1], text[256];
    digest_hex(secret, key->seed, SEAL_SEED_BYTES);
    digest_hex(public, key->key, SEAL_KEY_BYTES);
    int n = snprintf(text, sizeof text, "rodbook key 1\nsecret: %s\npublic: %s\n", secret, public);
    (void)unlink(file);
    write_bytes(file, text, (size_t)n);
    assert_int_equal(chmod(file, 0600), 0);
}

static int
make_folder(void **state)
{
    const char *build = getenv("BUILD");
    struct scan_end end;
    char path[600], where[300];
    (void)state;
    assert_non_null(getcwd(where, sizeof where));
    snprintf(folder, sizeof folder, "%s/%s/sealing-XXXXXX", build && build[0] == '/' ? "" : where, build ? build : "build/release");
    if (!mkdtemp(folder))
        return -1;
    snprintf(job, sizeof job, "%s/job.yaml", folder);
    snprintf(key_file, sizeof key_file, "%s/rodbook/key", folder);
    snprintf(other_file, sizeof other_file, "%s/other", folder);
    setenv("XDG_CONFIG_HOME", folder, 1);
    crew = demo_key("the crew's own");
    digest_hex(crew_digits, crew.key, SEAL_KEY_BYTES);
    demo = demo_record(DEMO_LAST, &crew, 0, &end);
    write_bytes(job, demo.bytes, demo.n);
    snprintf(path, sizeof path, "%s/rodbook", folder);
    if (mkdir(path, 0700) != 0)
        return -1;
    write_key(key_file, &crew);
    struct seal_key other = demo_key("somebody else's");
    write_key(other_file, &other);
    return 0;
}

static int
remove_one(const char *path, const struct stat *st, int type, struct FTW *at)
{
    (void)st;
    (void)type;
    (void)at;
    return remove(path);
}

static int
remove_folder(void **state)
{
    (void)state;
    append_text_release(&demo);
    return nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

/* ---- what was said ---- */

static void
assert_said(const char *text, const char *word)
{
    if (!strstr(text, word))
        fail_msg("\"%s\" is not said in:\n%s", word, text);
}

static void
assert_not_said(const char *text, const char *word)
{
    if (strstr(text, word))
        fail_msg("\"%s\" is said in:\n%s", word, text);
}

/* Nothing that a terminal would take for a command, and nothing that is no UTF-8 text. */
static void
assert_plain(const char *text)
{
    const char *fault = text_fault(text, strlen(text));
    if (fault)
        fail_msg("byte %02x stands in:\n%s", (unsigned char)*fault, text);
}

static void
assert_status(const struct ran *r, int status)
{
    if (r->status != status)
        fail_msg("exit status %d, want %d\n%s%s", r->status, status, r->out, r->err);
    assert_plain(r->out);
    assert_plain(r->err);
}

/* The program ran, ended with this status, and said each of the words on standard output. */
static void
assert_ran(struct ran r, int status, const char *const *words)
{
    assert_status(&r, status);
    for (; *words; words++)
        assert_said(r.out, *words);
    ran_release(&r);
}

#define WORDS(...) ((const char *const[]){ __VA_ARGS__, NULL })

/* Not done: nothing on standard output, `word` on standard error. */
static void
assert_undone(struct ran r, const char *word)
{
    assert_status(&r, 2);
    assert_string_equal(r.out, "");
    assert_said(r.err, word);
    ran_release(&r);
}

/* ---- key ---- */

static void
a_key_is_made_once(void **state)
{
    struct stat st;
    char path[600];
    (void)state;
    snprintf(path, sizeof path, "%s/new/deep", folder);
    setenv("XDG_CONFIG_HOME", path, 1);
    struct ran first = RUN("key");
    assert_status(&first, 0);
    assert_string_equal(first.err, "");
    assert_said(first.out, "A new key was made");
    snprintf(path, sizeof path, "%s/new/deep/rodbook/key", folder);
    assert_said(first.out, path);
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(st.st_mode & 07777, 0600);
    struct append_text bytes = read_bytes(path);
    for (char *slash = strrchr(path, '/'); strlen(path) > strlen(folder) + 4; slash = strrchr(path, '/')) {
        *slash = '\0';
        assert_int_equal(stat(path, &st), 0);
        assert_int_equal(st.st_mode & 07777, 0700);
    }
    struct ran second = RUN("key");
    assert_status(&second, 0);
    assert_said(second.out, "nothing was changed");
    const char *key = strstr(first.out, "public key:  ");
    assert_non_null(key);
    assert_memory_equal(key, strstr(second.out, "public key:  "), 13 + 2 * SEAL_KEY_BYTES);
    snprintf(path, sizeof path, "%s/new/deep/rodbook/key", folder);
    assert_untouched(path, bytes.bytes, bytes.n);
    /* The secret is for the file alone. */
    const char *secret = strstr(bytes.bytes, "secret: ");
    assert_non_null(secret);
    char digits[2 * SEAL_SEED_BYTES + 1];
    memcpy(digits, secret + 8, sizeof digits - 1);
    digits[sizeof digits - 1] = '\0';
    assert_not_said(first.out, digits);
    assert_not_said(second.out, digits);
    append_text_release(&bytes);
    ran_release(&first);
    ran_release(&second);
}

static void
the_usual_place_is_below_home(void **state)
{
    char path[600];
    struct stat st;
    (void)state;
    setenv("HOME", folder, 1);
    setenv("XDG_CONFIG_HOME", "not/absolute", 1);
    assert_ran(RUN("key"), 0, WORDS("A new key", "/.config/rodbook/key"));
    snprintf(path, sizeof path, "%s/.config/rodbook/key", folder);
    assert_int_equal(stat(path, &st), 0);
    unsetenv("XDG_CONFIG_HOME");
    assert_ran(RUN("key"), 0, WORDS("There is a key"));
    unsetenv("HOME");
    assert_undone(RUN("key"), "--file FILE");
    assert_undone(RUN("seal", job), "--key FILE");
}

static void
no_file_is_written_over_by_a_key(void **state)
{
    (void)state;
    assert_undone(RUN("key", "--file", job), "by others");
    assert_int_equal(chmod(job, 0600), 0);
    assert_undone(RUN("key", "--file", job), "no key file");
    assert_untouched(job, demo.bytes, demo.n);
    assert_undone(RUN("key", job), "no file is wanted here");
    assert_int_equal(chmod(key_file, 0644), 0);
    assert_undone(RUN("key"), "mode 600");
}

static void
each_command_has_help(void **state)
{
    static const char *const commands[] = { "key", "seal", "audit" };
    (void)state;
    for (size_t i = 0; i < COUNT(commands); i++) {
        char usage[64], example[64];
        snprintf(usage, sizeof usage, "usage: rodbook %s ", commands[i]);
        snprintf(example, sizeof example, "example: rodbook %s", commands[i]);
        assert_ran(RUN(commands[i], "--help"), 0, WORDS(usage, example));
        assert_ran(RUN("--help"), 0, WORDS(commands[i]));
        assert_undone(RUN(commands[i], "--no-such-option"), "unknown option");
    }
    assert_undone(RUN("audit"), "which record?");
    assert_undone(RUN("seal", job, job), "one record at a time");
}

/* ---- seal ---- */

static void
a_seal_closes_the_day(void **state)
{
    static const char by_hand[] = "---\npoints: {P: {x: 1.5, y: 2}}\n---\npoints: {Q: {x: 3.5, y: 2}}\n";
    (void)state;
    FILE *f = fopen(job, "ab");
    assert_non_null(f);
    fputs(by_hand, f);
    fclose(f);
    struct ran r = RUN("seal", "--by", "RO", job);
    assert_status(&r, 0);
    assert_string_equal(r.err, "");
    assert_said(r.out, "Entry 15 seals entries 1 to 14.");
    assert_said(r.out, "2 of them were added since the seal of entry 12.");
    assert_said(r.out, "2 of them were written by hand, and covered by no digest until now.");
    /* What is to be copied on paper is found again. */
    const char *digest = strstr(r.out, "15: ");
    assert_non_null(digest);
    char paper[40];
    snprintf(paper, sizeof paper, "%.*s", DIGEST_SHORT_TEXT - 1 + 4, digest);
    assert_ran(RUN("audit", "--paper", paper, "--key", crew_digits, job), 0,
        WORDS("EVERYTHING FITS: entries 1 to 15", "is that of entry 15, the last one", "3 fit", "since the seal of entry 15: nothing was added"));
    struct append_text now = read_bytes(job);
    assert_memory_equal(now.bytes, demo.bytes, demo.n); /* added to, and nothing else */
    assert_memory_equal(now.bytes + demo.n, by_hand, sizeof by_hand - 1);
    assert_said(now.bytes + demo.n, "---\nentry: 15\nby: RO\ntime: 2");
    append_text_release(&now);
    ran_release(&r);
    assert_ran(RUN("seal", job), 0, WORDS("Entry 16 seals entries 1 to 15.", "Nothing was added since the seal of entry 15."));
}

/* A record that was written by hand from beginning to end. */
static void
a_record_by_hand_can_be_sealed(void **state)
{
    struct append_text before = read_bytes("surveys/fernhill.yaml");
    (void)state;
    write_bytes(job, before.bytes, before.n - 1); /* the last line feed is missing, as some editors leave it */
    assert_ran(RUN("audit", job), 0, WORDS("NOTHING CAN BE AUDITED", "rodbook seal FILE"));
    assert_ran(RUN("seal", "--by", "RO", "--key", other_file, job), 0, WORDS("Entry 21 seals entries 1 to 20.", "20 of them were written by hand"));
    assert_ran(RUN("audit", "--key", other_file, job), 0,
        WORDS("EVERYTHING FITS", "entries 1 to 20: covered by the digest of entry 21", "row 5 of entry 5: G2 ground; IS 3.38",
            "rod stood on a clod, shot again", "row 1 of entry 7 stands for it: IS 3.45"));
    assert_ran(RUN("check", job), 0, WORDS("no fault"));
    append_text_release(&before);
}

static void
what_was_altered_or_is_faulty_is_not_sealed(void **state)
{
    static const char *const faulty[] = { "tests/bad/digest.yaml", "tests/bad/digest-2.yaml", "tests/bad/signature.yaml",
        "tests/bad/number.yaml", "tests/bad/yaml.yaml", "tests/bad/digest-form-2.yaml", "tests/bad/bytes.yaml", "tests/bad/strike.yaml" };
    (void)state;
    for (size_t i = 0; i < COUNT(faulty); i++) {
        struct append_text bad = read_bytes(faulty[i]);
        write_bytes(job, bad.bytes, bad.n);
        struct ran r = RUN("seal", job);
        assert_status(&r, 2);
        assert_string_equal(r.out, "");
        assert_said(r.err, i < 3 ? "rodbook audit tells more" : "mend them first");
        assert_said(r.err, "[refused]");
        ran_release(&r);
        assert_untouched(job, bad.bytes, bad.n);
        append_text_release(&bad);
    }
}

/* The power went while an entry was being written: it is told, and the day is sealed all the same. */
static void
a_torn_tail_is_told_and_sealed(void **state)
{
    static const char torn[] = "---\nentry: 13\nlevels:\n  readings:\n    - {at: BM1, bs: 1.4";
    (void)state;
    FILE *f = fopen(job, "ab");
    assert_non_null(f);
    fputs(torn, f);
    fclose(f);
    assert_ran(RUN("audit", job), 1, WORDS("NOT EVERYTHING FITS", "TORN: entry 13", "covered by no digest that fits"));
    struct ran r = RUN("seal", job);
    assert_status(&r, 0);
    assert_said(r.err, "[torn]");
    assert_said(r.out, "Entry 14 seals entries 1 to 13.");
    assert_said(r.out, "1 of them is torn and never used");
    ran_release(&r);
    r = RUN("audit", job);
    assert_status(&r, 0);
    assert_said(r.out, "entry 13, line 92: cut off in writing; covered by the digest of entry 14");
    assert_not_said(r.out, "TORN:");
    ran_release(&r);
}

static void
a_seal_wants_a_key_and_a_file(void **state)
{
    (void)state;
    assert_undone(RUN("seal", "-"), "not in a pipe");
    assert_undone(RUN("seal", "--by", "", job), "is empty");
    assert_undone(RUN("seal", "--by", "R\033O", job), "control");
    assert_undone(RUN("seal", "no-such.yaml"), "there is no such file");
    assert_undone(RUN("seal", "--key", job, job), "[key]");
    assert_int_equal(chmod(key_file, 0640), 0);
    assert_undone(RUN("seal", job), "by others");
    assert_int_equal(unlink(key_file), 0);
    assert_undone(RUN("seal", job), "rodbook key makes one");
    assert_untouched(job, demo.bytes, demo.n);
}

/* ---- audit ---- */

static void
the_demo_record_in_words(void **state)
{
    (void)state;
    struct ran r = RUN("audit", job);
    assert_status(&r, 0);
    assert_string_equal(r.err, "");
    assert_string_equal(r.out, "Lamb field, plot 3\n"
        "Audit; 12 entries: 9 with a digest, 3 written by hand\n\n"
        "EVERYTHING FITS: entries 1 to 12 stand as the digest of entry 12 has them.\n\n"
        "Digests\n  9 digests, and all fit\n\n"
        "Seals\n"
        "  entry 9: key 5cac daec 1cf8 0fd2 bbab 716e, by RO, 2026-05-02T16:40:00Z\n"
        "  entry 12: key 5cac daec 1cf8 0fd2 bbab 716e, by LM, 2026-05-03T16:58:00Z\n"
        "  since the seal of entry 12: nothing was added\n\n"
        "Written by hand\n"
        "  entries 1 and 2: covered by the digest of entry 3\n"
        "  entry 10: covered by the digest of entry 11\n\n"
        "Struck\n"
        "  row 1 of entry 4: A batten; IS 1.307\n"
        "    struck in entry 6 by LM, 2026-05-02T08:37:20Z: rod stood on a stone\n"
        "    row 1 of entry 7 stands for it: IS 1.314\n"
        "  row 2 of entry 10: section BM2 to BM1; rise +1.275\n"
        "    struck in entry 11 by LM, 2026-05-03T09:05:00Z: sums did not agree\n\n"
        "The last digest, to be copied on paper with the date:\n\n"
        "  12: 2a23 5d91 231d 3c62 8c17 dab0\n\n"
        "What this proves, and what it does not, stands in docs/audit.md.\n");
    for (const char *line = r.out; *line; line += strcspn(line, "\n") + 1)
        assert_in_range(strcspn(line, "\n"), 0, 100);
    ran_release(&r);
}

/* test_audit.c has every byte; here a sample of them goes through the program. */
static void
altered_bytes_give_status_1(void **state)
{
    size_t tried = 0;
    char *bytes = malloc(demo.n);
    (void)state;
    assert_non_null(bytes);
    for (size_t i = 0; i < demo.n; i += 31, tried++) {
        memcpy(bytes, demo.bytes, demo.n);
        bytes[i] ^= 1;
        write_bytes(job, bytes, demo.n);
        struct ran r = tried % 2 ? RUN("audit", "--digests", job) : RUN("audit", job);
        if (r.status != 1)
            fail_msg("byte %zu: exit status %d\n%s", i, r.status, r.out);
        assert_plain(r.out);
        assert_said(r.out, "NOT EVERYTHING FITS");
        ran_release(&r);
    }
    assert_true(tried > 70);
    free(bytes);
}

static void
the_place_and_time_of_a_change_are_told(void **state)
{
    char *text = strndup(demo.bytes, demo.n), *reading = strstr(text, "fs: 0.884");
    (void)state;
    assert_non_null(reading);
    reading[6] = '6';
    write_bytes(job, text, demo.n);
    assert_ran(RUN("audit", job), 1,
        WORDS("ALTERED: the digests of entries 5 to 12 do not fit what stands above",
            "stands in lines 31 to 39, between the digests of\n    entry 4, which fits, and of entry 5",
            "no digest below fits: the change was made after entry 12 was written",
            "entries 5 to 12: below the last digest that fits, and nothing vouches for them", "ALTERED: what stands above this signature",
            "The last digest, as the record is now"));
    free(text);
    assert_ran(RUN("audit", "tests/bad/digest-2.yaml"), 1,
        WORDS("the digest of entry 4 fits again: the change was made before that entry was written"));
}

static void
paper_in_words(void **state)
{
    (void)state;
    assert_ran(RUN("audit", "--paper", "12: 2a23 5d91 231d 3c62 8c17 dab0", job), 0,
        WORDS("is that of entry 12, the last one: since it was copied nothing was cut, altered or added"));
    assert_ran(RUN("audit", "--paper", "2A23-5D91-231D-3C62", job), 0, WORDS("is that of entry 12"));
    assert_ran(RUN("audit", "--paper", "2a23 5d91 231d 3c62 8c17 da60", job), 1,
        WORDS("all digits except one are those of entry 12", "digit 3 of group 6 was given as 6, and is b in the record"));
    assert_ran(RUN("audit", "--paper", "2a23 5d91 231d 3c62 8c71 dab0", job), 1, WORDS("NOT FOUND: no entry has it."));
    assert_undone(RUN("audit", "--paper", "2a23", job), "--paper wants 16 to 64 digits");
    assert_undone(RUN("audit", "--paper", "yesterday's", job), "--paper wants 16 to 64 digits");
}

static void
keys_in_words(void **state)
{
    (void)state;
    assert_ran(RUN("audit", "--key", crew_digits, job), 0, WORDS("  2 fit\n", "since the seal of entry 12: nothing was added"));
    assert_ran(RUN("audit", "--key", key_file, job), 0, WORDS("  2 fit\n"));
    assert_ran(RUN("audit", "--key", other_file, job), 1, WORDS("NOT FOUND: no seal that fits is by this key", "2 seals are by another key"));
    assert_ran(RUN("audit", "--digests", "--key", other_file, job), 1, WORDS("NOT FOUND"));
    assert_undone(RUN("audit", "--key", "12345", job), "64 digits of a public key");
    assert_int_equal(chmod(key_file, 0644), 0);
    assert_undone(RUN("audit", "--key", key_file, job), "by others");
}

static void
nothing_to_audit_is_said(void **state)
{
    (void)state;
    assert_ran(RUN("audit", "surveys/quay-nursery.yaml"), 0, WORDS("NOTHING CAN BE AUDITED", "rodbook seal FILE"));
    assert_ran(RUN("audit", "--key", crew_digits, "surveys/quay-nursery.yaml"), 1, WORDS("NOTHING CAN BE AUDITED", "NOT FOUND"));
    assert_ran(RUN("audit", "--paper", "2a23 5d91 231d 3c62 8c17 dab0", "surveys/quay-nursery.yaml"), 1,
        WORDS("NOTHING CAN BE AUDITED", "NOT FOUND"));
    assert_undone(RUN("audit", "no-such.yaml"), "[file]");
    assert_undone(RUN("audit", folder), "[file]");
}

/* Through a pipe as from a file. */
static void
a_pipe_is_audited_as_well(void **state)
{
    char *text = strndup(demo.bytes, demo.n);
    (void)state;
    assert_ran(RUN_WITH(text, "audit", "-"), 0, WORDS("EVERYTHING FITS: entries 1 to 12"));
    assert_ran(RUN_WITH(text, "audit", "--digests", "-"), 0, WORDS("digests alone", "EVERYTHING FITS: entries 1 to 12"));
    free(text);
}

/* Faults of every kind are told, and what the digests say is told all the same. */
static void
every_bad_record_is_audited(void **state)
{
    static const char *const damaged[] = { "bytes", "digest", "digest-2", "digest-form", "digest-form-2", "digest-line", "entry-first",
        "entry-number", "seal-form", "seal-form-2", "seal-form-3", "signature", "torn" };
    static const char *const faulty[] = { "number", "yaml", "yaml-2", "strike", "no-kind", "job-entry", "duplicate-key", "for" };
    char path[200];
    (void)state;
    for (size_t i = 0; i < COUNT(damaged) + COUNT(faulty); i++) {
        bool damage = i < COUNT(damaged);
        snprintf(path, sizeof path, "tests/bad/%s.yaml", damage ? damaged[i] : faulty[i - COUNT(damaged)]);
        struct ran r = RUN("audit", path);
        if (r.status != damage)
            fail_msg("%s: exit status %d, want %d\n%s%s", path, r.status, damage, r.out, r.err);
        assert_plain(r.out);
        assert_plain(r.err);
        assert_said(r.out, "Audit; ");
        assert_said(r.err, "[");
        ran_release(&r);
    }
}

static void
no_bad_record_upsets_an_audit(void **state)
{
    glob_t g;
    (void)state;
    assert_int_equal(glob("tests/bad/*.yaml", 0, NULL, &g), 0);
    assert_true(g.gl_pathc > 100);
    for (size_t i = 0; i < g.gl_pathc; i++) {
        struct ran r = RUN("audit", g.gl_pathv[i]), json = RUN("audit", "--json", g.gl_pathv[i]);
        if (r.status > 1 || json.status != r.status)
            fail_msg("%s: exit status %d, as JSON %d\n%s", g.gl_pathv[i], r.status, json.status, r.err);
        assert_plain(r.out);
        assert_plain(r.err);
        json_t *root = json_loads(json.out, JSON_REJECT_DUPLICATES, NULL);
        assert_non_null(root);
        json_decref(root);
        ran_release(&r);
        ran_release(&json);
    }
    globfree(&g);
}

/* Escapes and directions in a record never reach a terminal, wherever they stand. */
static void
control_characters_are_never_printed(void **state)
{
    static const char *const texts[] = { "---\njob: Lamb\033[31m field\nunit: m\nleast: 0.001\n", "\033]0;x\007---\njob: x\n",
        "---\njob: x\nunit: m\nleast: 0.001\n---\nentry: 2\nby: \"\\e[2J\"\nmarks: {A: {elevation: 1}}\n",
        "---\njob: x\nunit: m\nleast: 0.001\nby: \"R\\u202eO\"\n---\nstrike: {entry: 1, row: 1, reason: \"\\u001b[2J\"}\n" };
    (void)state;
    for (size_t i = 0; i < COUNT(texts); i++) {
        struct ran r = RUN_WITH(texts[i], "audit", "-");
        assert_plain(r.out);
        assert_plain(r.err);
        assert_null(strstr(r.out, "\xe2\x80\xae"));
        ran_release(&r);
    }
}

/* ---- JSON ---- */

static json_t *
audited(int status, const char *const *argv)
{
    struct ran r = run_program(NULL, argv);
    json_error_t fault;
    assert_status(&r, status);
    json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, &fault);
    if (!root)
        fail_msg("line %d: %s\n%s", fault.line, fault.text, r.out);
    ran_release(&r);
    return root;
}

#define AUDITED(status, ...) audited((status), (const char *const[]){ "audit", "--json", __VA_ARGS__, NULL })

static const json_t *
member(const json_t *root, const char *list, size_t i)
{
    const json_t *o = json_array_get(json_object_get(root, list), i);
    if (!o)
        fail_msg("%s has no member %zu", list, i);
    return o;
}

static void
assert_count(const json_t *o, const char *key, long long want)
{
    const json_t *v = json_object_get(o, key);
    if (!v || !json_is_integer(v) || json_integer_value(v) != want)
        fail_msg("%s is %lld, want %lld", key, v ? (long long)json_integer_value(v) : -1, want);
}

static void
assert_text(const json_t *o, const char *key, const char *want)
{
    const char *text = json_string_value(json_object_get(o, key));
    if (!text || strcmp(text, want) != 0)
        fail_msg("%s is %s, want %s", key, text ? text : "no text", want);
}

static void
assert_null_member(const json_t *o, const char *key)
{
    if (!json_is_null(json_object_get(o, key)))
        fail_msg("%s is not null", key);
}

static void
the_demo_record_as_json(void **state)
{
    (void)state;
    json_t *root = AUDITED(0, "--key", crew_digits, "--paper", "2a23 5d91 231d 3c62 8c17 dab0", job);
    assert_text(root, "job", "Lamb field");
    assert_text(root, "unit", "m");
    assert_true(json_is_true(json_object_get(root, "fits")));
    assert_count(root, "digests", 9);
    assert_count(root, "broken", 0);
    assert_count(root, "fits_to", 12);
    assert_count(root, "last_seal", 12);
    assert_count(root, "errors", 0);
    assert_int_equal(json_array_size(json_object_get(root, "seals")), 2);
    assert_text(member(root, "seals", 0), "key", crew_digits);
    assert_text(member(root, "seals", 1), "by", "LM");
    assert_text(member(root, "seals", 1), "time", "2026-05-03T16:58:00Z");
    assert_count(member(root, "hand_written", 0), "last", 2);
    assert_count(member(root, "hand_written", 1), "covered", 11);
    const json_t *row = member(root, "struck", 0), *section = member(root, "struck", 1);
    assert_text(row, "at", "A");
    assert_text(row, "on", "batten");
    assert_near(json_number_value(json_object_get(row, "is")), 1.307, 1e-9);
    assert_null_member(row, "rise");
    assert_text(row, "reason", "rod stood on a stone");
    assert_count(row, "strike", 6);
    assert_count(member(row, "again", 0), "entry", 7);
    assert_null_member(section, "at");
    assert_text(section, "from", "BM2");
    assert_near(json_number_value(json_object_get(section, "rise")), 1.275, 1e-9);
    assert_text(json_object_get(root, "paper"), "result", "found");
    assert_count(json_object_get(root, "paper"), "added", 0);
    assert_count(json_object_get(root, "key"), "seals", 2);
    assert_count(json_object_get(root, "record"), "digest_entry", 12);
    json_decref(root);
}

static void
digests_alone_as_json(void **state)
{
    (void)state;
    json_t *root = AUDITED(0, "--digests", job);
    assert_null_member(root, "job");
    assert_null_member(root, "unit");
    assert_count(root, "fits_to", 12);
    assert_null_member(member(root, "seals", 0), "by");
    assert_int_equal(json_array_size(json_object_get(root, "struck")), 0);
    assert_null_member(json_object_get(root, "paper"), "result");
    assert_null_member(json_object_get(root, "key"), "seals");
    json_decref(root);
}

static void
what_was_altered_as_json(void **state)
{
    (void)state;
    json_t *root = AUDITED(1, "tests/bad/digest-2.yaml");
    const json_t *first = member(root, "breaks", 0);
    assert_true(json_is_false(json_object_get(root, "fits")));
    assert_true(json_is_true(json_object_get(json_object_get(root, "record"), "altered")));
    assert_count(first, "first", 3);
    assert_count(first, "last", 3);
    assert_count(first, "from_line", 9);
    assert_count(first, "to_line", 15);
    assert_count(first, "fits_above", 2);
    assert_count(first, "fits_again", 4);
    json_decref(root);
    root = AUDITED(0, "surveys/quay-nursery.yaml");
    assert_null_member(root, "fits");
    assert_null_member(root, "fits_to");
    json_decref(root);
}

/* ---- without the program ---- */

/* The commands between ```sh and ``` in a part of docs/record.md. */
static void
documented_commands(struct append_text *script, const char *heading)
{
    char line[600];
    bool part = false, inside = false;
    FILE *f = fopen("docs/record.md", "r");
    assert_non_null(f);
    while (fgets(line, sizeof line, f)) {
        if (line[0] == '#')
            part = strcmp(line, heading) == 0;
        if (part && strcmp(line, "```\n") == 0)
            inside = false;
        if (part && inside)
            assert_true(append_text_add(script, line, strlen(line)));
        if (part && strcmp(line, "```sh\n") == 0)
            inside = true;
    }
    fclose(f);
    assert_true(append_text_add(script, "", 1));
}

/* What the documented commands print in the test's folder, closed by a zero. */
static void
run_documented(char out[1024], const char *script)
{
    char command[4096];
    int n = snprintf(command, sizeof command, "cd %s && exec 2>&1\n%s", folder, script);
    assert_in_range(n, 400, sizeof command - 1);
    FILE *p = popen(command, "r"); // NOLINT(cert-env33-c)
    assert_non_null(p);
    out[fread(out, 1, 1023, p)] = '\0';
    (void)pclose(p);
}

static void
a_stranger_needs_no_rodbook(void **state)
{
    struct append_text script = { 0 };
    char out[1024], want[200];
    (void)state;
    if (system("command -v openssl >/dev/null && command -v basenc >/dev/null && openssl version | grep -q 'OpenSSL 3'") != 0) // NOLINT
        skip();
    documented_commands(&script, "### Looking without this program\n");
    const char *digest = demo.bytes + demo.n - DIGEST_HEX - 1;
    snprintf(want, sizeof want, "%.64s\n%.64s\nSignature Verified Successfully\n", digest, digest);
    run_documented(out, script.bytes);
    assert_string_equal(out, want);
    char *bytes = strndup(demo.bytes, demo.n);
    strstr(bytes, "0.884")[2] = '9';
    write_bytes(job, bytes, demo.n);
    run_documented(out, script.bytes);
    assert_memory_equal(out, want, DIGEST_HEX);
    assert_memory_not_equal(out + DIGEST_HEX + 1, want + DIGEST_HEX + 1, DIGEST_HEX);
    assert_said(out, "Signature Verification Failure");
    free(bytes);
    append_text_release(&script);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, make_folder, remove_folder)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_key_is_made_once),
        TEST(the_usual_place_is_below_home),
        TEST(no_file_is_written_over_by_a_key),
        TEST(each_command_has_help),
        TEST(a_seal_closes_the_day),
        TEST(a_record_by_hand_can_be_sealed),
        TEST(what_was_altered_or_is_faulty_is_not_sealed),
        TEST(a_torn_tail_is_told_and_sealed),
        TEST(a_seal_wants_a_key_and_a_file),
        TEST(the_demo_record_in_words),
        TEST(altered_bytes_give_status_1),
        TEST(the_place_and_time_of_a_change_are_told),
        TEST(paper_in_words),
        TEST(keys_in_words),
        TEST(nothing_to_audit_is_said),
        TEST(a_pipe_is_audited_as_well),
        TEST(every_bad_record_is_audited),
        TEST(no_bad_record_upsets_an_audit),
        TEST(control_characters_are_never_printed),
        TEST(the_demo_record_as_json),
        TEST(digests_alone_as_json),
        TEST(what_was_altered_as_json),
        TEST(a_stranger_needs_no_rodbook),
    };
    return cmocka_run_group_tests_name("sealing", tests, NULL, NULL);
}
