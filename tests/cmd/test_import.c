/* test_import.c - readings and entries brought into a record: nothing lost, and nothing of it or all of it */
#include "../program.h"

#include "rodbook/record.h"

#include <errno.h>
#include <glob.h>
#include <jansson.h>
#include <stdbool.h>
#include <sys/stat.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))
#define JOB "---\njob: Lamb field\nunit: m\nleast: 0.001\nrod-length: 5\n---\nmarks: {BM1: {elevation: 48.375}, BM2: {elevation: 51.208}}\n"

/* ---- files ---- */

#define NAMES 64

/* A file in the build's own directory, by a short name; nothing stands there yet. */
static const char *
fresh(const char *base)
{
    static char names[NAMES][512];
    char name[512];
    const char *build = getenv("BUILD");
    size_t i = 0;
    snprintf(name, sizeof name, "%s/import-%s", build ? build : "build/release", base);
    while (names[i][0] && strcmp(names[i], name) != 0)
        assert_true(++i < NAMES);
    memcpy(names[i], name, sizeof name);
    unlink(name);
    return names[i];
}

static const char *
file_of(const char *base, const char *bytes, size_t n)
{
    const char *name = fresh(base);
    FILE *f = fopen(name, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(bytes, 1, n, f), n);
    assert_int_equal(fclose(f), 0);
    return name;
}

static const char *
text_file(const char *base, const char *text)
{
    return file_of(base, text, strlen(text));
}

/* All of a file, closed by a zero; free() it. */
static char *
text_of(const char *name)
{
    FILE *f = fopen(name, "rb");
    if (!f)
        fail_msg("%s is not there", name);
    return ran_text(f);
}

static void
assert_said(const char *text, const char *word)
{
    if (!strstr(text, word))
        fail_msg("\"%s\" is not said in:\n%s", word, text);
}

/* ---- what a record gives ---- */

static json_t *
results(const char *command, const char *record)
{
    struct ran r = RUN(command, "--json", record);
    json_error_t fault;
    json_t *root = json_loads(r.out, 0, &fault);
    if (!root)
        fail_msg("%s %s: %s\n%s", command, record, fault.text, r.err);
    json_object_del(root, "record"); /* digests, and how many entries */
    ran_release(&r);
    return root;
}

static void
assert_same_results(const char *a, const char *b)
{
    static const char *const commands[] = { "reduce", "close", "stakes" };
    char *text = text_of(a);
    size_t n = COUNT(commands) - (strstr(text, "\ngrade:") == NULL); /* without a grade there are no stakes */
    free(text);
    for (size_t i = 0; i < n; i++) {
        json_t *x = results(commands[i], a), *y = results(commands[i], b);
        if (!json_equal(x, y))
            fail_msg("%s: %s and %s differ", commands[i], a, b);
        assert_true(json_object_size(x) > 2);
        json_decref(x);
        json_decref(y);
    }
}

/* There are n entries, and from `first` on each stands under a digest that fits. */
static void
assert_sealed_from(const char *name, size_t first, size_t n)
{
    struct source source;
    struct record r = { 0 };
    struct diag d = { 0 };
    assert_int_equal(source_open(&source, name, &d), 0);
    assert_int_equal(record_read(&r, &source, &d), 0);
    assert_int_equal(d.errors, 0);
    assert_int_equal(r.chain.broken, 0);
    assert_int_equal(r.entries, n);
    assert_int_equal(r.chain.digests, n - first + 1);
    record_release(&r);
    source_close(&source);
    diag_release(&d);
}

static void
assert_sealed(const char *name, size_t n)
{
    assert_sealed_from(name, 1, n);
}

/* ---- importing ---- */

static char *
imported_with(int status, const char *const *argv)
{
    struct ran r = run_program(NULL, argv);
    if (r.status != status)
        fail_msg("exit status %d, want %d\n%s%s", r.status, status, r.out, r.err);
    if (status == 0)
        assert_string_equal(r.err, "");
    free(r.err);
    return r.out;
}

#define IMPORTED(status, ...) free(imported_with((status), (const char *const[]){ "import", __VA_ARGS__, NULL }))

/* Refused: status 2, nothing on standard output, `word` said, and JOB as it was, or not made. */
static void
assert_refused(const char *from, const char *job, const char *word)
{
    char *before = access(job, F_OK) == 0 ? text_of(job) : NULL;
    struct ran r = RUN("import", from, job);
    if (r.status != 2)
        fail_msg("exit status %d, want 2 with %s\n%s", r.status, word, r.err);
    assert_string_equal(r.out, "");
    assert_said(r.err, word);
    assert_said(r.err, "nothing was imported");
    ran_release(&r);
    if (!before) {
        assert_int_not_equal(access(job, F_OK), 0);
        return;
    }
    char *after = text_of(job);
    assert_string_equal(after, before);
    free(before);
    free(after);
}

/* ---- a sealed copy ---- */

static bool
begins(const char *line, const char *word)
{
    return strncmp(line, word, strlen(word)) == 0;
}

/* A sealed copy without the lines that sealing adds; free() it. */
static char *
unsealed(const char *sealed)
{
    char *out = malloc(strlen(sealed) + 1), *p = out;
    assert_non_null(out);
    while (*sealed) {
        size_t n = strcspn(sealed, "\n") + 1;
        if (!begins(sealed, "entry: ") && !begins(sealed, "digest: ")) {
            memcpy(p, sealed, n);
            p += n;
        }
        sealed += n;
    }
    *p = '\0';
    return out;
}

static void
assert_kept(const char *copy, const char *source)
{
    char *sealed = text_of(copy), *bare = unsealed(sealed);
    assert_string_equal(bare, source);
    free(sealed);
    free(bare);
}

static void
demo_surveys_are_sealed_and_say_the_same(void **state)
{
    glob_t g;
    (void)state;
    assert_int_equal(glob("surveys/*.yaml", 0, NULL, &g), 0);
    assert_true(g.gl_pathc >= 3);
    for (size_t i = 0; i < g.gl_pathc; i++) {
        const char *copy = fresh("demo.yaml");
        char *source = text_of(g.gl_pathv[i]);
        size_t entries = 0;
        for (const char *p = source; (p = strstr(p, "---\n")); p += 4)
            entries++;
        IMPORTED(0, g.gl_pathv[i], copy);
        assert_sealed(copy, entries);
        assert_kept(copy, source);
        assert_same_results(copy, g.gl_pathv[i]);
        free(source);
    }
    globfree(&g);
}

/* Comments, blank lines, CR LF, texts over several lines, and a last line without its end. */
static void
every_byte_is_kept(void **state)
{
    static const char *const sources[] = {
        "# of the north plot\n\n---\n# first\njob: Lamb field\nunit: m\nleast: 0.001\n\n# about the marks:\n---   # given\n\n"
        "marks: {BM1: {elevation: 48.375}}\n# last words\n\n",
        "---\r\njob: Lamb field\r\nunit: m\r\nleast: 0.001\r\n---\r\nmarks:\r\n  BM1: {elevation: 48.375}\r\n",
        "---\njob: >\n  Lamb\n  field\n\nunit: m\nleast: 0.001\nplace: |+\n  plot\n\n\n---\nmarks:\n  BM1:\n    elevation: 48.375\n"
        "---\nlevels:\n  readings:\n  - at: BM1\n    bs:\n    - 1.482\n    - 1.402\n    - 1.322\n  - {at: BM1,\n     fs: 1.402}\n",
        "---\n\"job\": 'Lamb\n  field'\nunit: m\nleast: 0.001\nby: RO # the last\n",
    };
    (void)state;
    for (size_t i = 0; i < COUNT(sources); i++) {
        const char *from = text_file("bytes-from.yaml", sources[i]), *copy = fresh("bytes.yaml");
        IMPORTED(0, from, copy);
        assert_kept(copy, sources[i]);
        assert_same_results(copy, from);
    }
}

static void
what_is_wanting_at_the_ends_is_added(void **state)
{
    (void)state;
    const char *from = text_file("ends-from.yaml", "# above\njob: Lamb field\nunit: m\nleast: 0.001"), *copy = fresh("ends.yaml");
    IMPORTED(0, from, copy);
    assert_sealed(copy, 1);
    assert_kept(copy, "# above\n---\njob: Lamb field\nunit: m\nleast: 0.001\n");
}

static void
what_cannot_be_carried_is_refused(void **state)
{
    static const struct {
        const char *text, *said;
    } cases[] = {
        { "---\n{job: Lamb field, unit: m, least: 0.001}\n", ":2:1: error: a number cannot be put above an entry in braces" },
        { "---\n  job: Lamb field\n  unit: m\n  least: 0.001\n", ":2:1: error: a number cannot be put above keys that are indented" },
        { "--- {job: Lamb field, unit: m, least: 0.001}\n", ":1:1: error: words stand behind ---" },
        { "---\njob: Lamb field\nunit: m\nleast: 0.001\n...\n", ":5:1: error: a digest cannot stand below ..." },
        { "---\njob: Lamb field\nunit: m\nleast: 0.001\n---\n", ":5:1: error: this entry is empty" },
        { "---\nentry: 1\njob: Lamb field\nunit: m\nleast: 0.001\n", ":1:1: error: this entry is empty, or begins with a number" },
        { "---\njob: Lamb field\nunit: m\nleast: 0.001\nentry: 1\n", "[entry-first]" },
        { "---\njob: Lamb field\nunit: m\nleast: 0,001\n", ":4:8: error: " },
        { "---\njob: Lamb field\nunit: m\nleast: 0.001\n---\nlevels: {readings: [{at: X, bs: 1.482}]}\n", ":6:21: error: nothing ties X" },
        { "# \x07\n---\njob: Lamb field\nunit: m\nleast: 0.001\n", ":1:1: error: a control character" },
        { "# nothing\n", "[carry]" },
        { "", "[carry]" },
        { "%YAML 1.2\n---\njob: Lamb field\nunit: m\nleast: 0.001\n", "[directive]" },
        { "\xef\xbb\xbf---\njob: Lamb field\nunit: m\nleast: 0.001\n", "byte order mark" },
        { "---\njob: \"Lamb\ndigest: 5f0c1b2a9d8e7f6a5b4c3d2e1f00112233445566778899aabbccddeeff012345\n field\"\nunit: m\nleast: 0.001\n",
            "[digest-form]" },
    };
    (void)state;
    for (size_t i = 0; i < COUNT(cases); i++)
        assert_refused(text_file("refused-from.yaml", cases[i].text), fresh("refused.yaml"), cases[i].said);
}

static void
a_sealed_record_is_not_sealed_again(void **state)
{
    (void)state;
    const char *copy = fresh("twice.yaml");
    IMPORTED(0, "surveys/fernhill.yaml", copy);
    assert_refused(copy, fresh("twice-2.yaml"), "[sealed]");
    assert_refused("surveys/fernhill.yaml", copy, "has its job entry: leave this one out");
    assert_refused("surveys/fernhill.yaml", copy, "[job-entry]");
}

/* A warning is told, does not stop the copy, and shows in the exit status. */
static void
warnings_are_told(void **state)
{
    (void)state;
    const char *from = text_file("warned-from.yaml", JOB "---\nlevels:\n  readings:\n    - {at: BM1, bs: [1.482, 1.402, 1.302]}\n"
                                                         "    - {at: BM1, fs: 1.395}\n");
    const char *copy = fresh("warned.yaml");
    struct ran r = RUN("import", from, copy);
    assert_int_equal(r.status, 1);
    assert_said(r.err, "import-warned-from.yaml:11:21: warning: bs: the half-intervals differ");
    assert_said(r.out, ": 3 entries, 2 rows in 1 run\n");
    ran_release(&r);
    assert_sealed(copy, 3);
    r = RUN("import", text_file("warned-more.yaml", "---\nmarks: {BM3: {elevation: 50.020}}\n"), copy); /* and not once more */
    assert_int_equal(r.status, 0);
    assert_string_equal(r.err, "");
    ran_release(&r);
}

static void
the_digest_to_copy_is_the_last_one(void **state)
{
    (void)state;
    const char *copy = fresh("paper.yaml");
    char *said = imported_with(0, (const char *const[]){ "import", "surveys/mill-lane.yaml", copy, NULL });
    char *text = text_of(copy), shown[31], *digest = text;
    for (char *p = text; (p = strstr(p, "\ndigest: ")) != NULL; p++)
        digest = p + 9;
    for (int i = 0; i < 6; i++)
        snprintf(shown + 5 * i, 6, "%.4s%s", digest + 4 * i, i < 5 ? " " : "");
    assert_said(said, shown);
    assert_said(said, ": 12 entries, 40 rows in 3 runs\n");
    assert_said(said, "entries 1 to 12 written");
    free(said);
    free(text);
}

/* ---- entries for a record that is there ---- */

#define MORE                                                                                                       \
    "# struck at home\n---\nstrike: {entry: 3, row: 2, reason: rod sank}\nby: HK\n\n"                              \
    "---\nlevels:\n  continues: 3\n  readings:\n    - {at: A, is: 0.871, for: {entry: 3, row: 2}}\n# and:\n"       \
    "---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.111}\n    - {at: C, is: 2.345}\n    - {at: BM1, fs: 1.113}\n" \
    "---\nstrike: {entry: 6, row: 2, reason: wrong peg}\n"
#define RUN_ONE "---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.482}\n    - {at: A, is: 0.971}\n    - {at: BM1, fs: 1.483}\n"

static void
entries_count_as_they_will_stand(void **state)
{
    (void)state;
    const char *job = text_file("more.yaml", JOB RUN_ONE), *by_hand = text_file("more-hand.yaml", JOB RUN_ONE MORE);
    IMPORTED(0, text_file("more-from.yaml", MORE), job);
    assert_same_results(job, by_hand);
    char *text = text_of(job), *bare = unsealed(text);
    assert_string_equal(bare, JOB RUN_ONE MORE);
    assert_said(text, "---\nentry: 4\nstrike: ");
    assert_said(text, "---\nentry: 7\nstrike: ");
    free(text);
    free(bare);
}

/* What was torn off JOB's end is ended, and what is added stands whole behind it. */
static void
a_record_without_its_last_line_end_is_added_to(void **state)
{
    (void)state;
    const char *job = text_file("torn.yaml", JOB "---\nlevels:\n  readings: []\nby: RO"), *from = text_file("torn-from.yaml", RUN_ONE);
    IMPORTED(0, from, job);
    assert_same_results(job, text_file("torn-hand.yaml", JOB "---\nlevels:\n  readings: []\nby: RO\n" RUN_ONE));
    char *text = text_of(job);
    assert_said(text, "by: RO\n---\nentry: 4\nlevels:\n");
    free(text);
}

/* A digest that lacks its line feed was never acknowledged: its entry stays torn, and what is added is whole. */
static void
a_torn_entry_stays_torn(void **state)
{
    static const char *const more[] = { "torn-more.yaml", "torn-more.csv" };
    static const char *const texts[] = { "---\nmarks: {X: {elevation: 50.020}}\n", "point,bs,fs\nBM1,1.482,\nBM1,,1.48\n" };
    (void)state;
    for (size_t i = 0; i < COUNT(more); i++) {
        const char *job = fresh("cut-digest.yaml");
        IMPORTED(0, text_file("cut-from.yaml", JOB "---\nmarks: {Y: {elevation: 49.020}}\n"), job);
        char *text = text_of(job);
        job = file_of("cut-digest.yaml", text, strlen(text) - 1);
        free(text);
        IMPORTED(0, text_file(more[i], texts[i]), job);
        struct ran r = RUN("reduce", job);
        assert_int_equal(r.status, 0);
        assert_said(r.err, "[torn]");
        assert_null(strstr(r.out, "49.020"));
        assert_said(r.out, i == 0 ? "50.020" : "1.480");
        assert_null(strstr(r.out, "ALTERED"));
        ran_release(&r);
    }
}

static void
faults_are_told_at_their_place_in_from(void **state)
{
    static const struct {
        const char *text, *said;
    } cases[] = {
        { "# a\n---\nstrike: {entry: 3, row: 9, reason: x}\n", "faults-from.yaml:3:9: error: entry 3 has 3 rows" },
        { "strike: {entry: 9, row: 1, reason: x}\n", "faults-from.yaml:1:9: error: entry 9 is no levels" },
        { "# a\nmarks: {X: {elevation: 1,5}}\n", "faults-from.yaml:2:26: error: " },
        { "---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.111}\n    - {at: C, bs: 2.345}\n", "faults-from.yaml:5:7: error: a backsight" },
        { "---\nstrike: {entry: 3, row: 2, reason: x}\n---\nstrike: {entry: 3, row: 2, reason: y}\n",
            "faults-from.yaml:2:9: note: struck here" },
        { "---\nholes: {depth: 1, from: ground, posts: {A22: {depth: 2}}}\n", "faults-from.yaml:2:41: error: A22 is no point of kind post" },
        { "---\nholes: {depth: 1, footing: 0.1, from: ground}\n---\npoints: {A: {kind: post}}\n", "faults-from.yaml:2:8: error: there is a footing" },
    };
    (void)state;
    for (size_t i = 0; i < COUNT(cases); i++)
        assert_refused(text_file("faults-from.yaml", cases[i].text), text_file("faults.yaml", JOB RUN_ONE), cases[i].said);
    /* and a second place that lies in JOB is named as such */
    const char *job = text_file("faults.yaml", JOB RUN_ONE "---\nstrike: {entry: 3, row: 2, reason: x}\n");
    assert_refused(text_file("faults-from.yaml", "---\nstrike: {entry: 3, row: 2, reason: y}\n"), job,
        "struck here: line 15 of ");
}

static void
a_record_with_faults_is_not_added_to(void **state)
{
    (void)state;
    const char *from = text_file("good-from.yaml", RUN_ONE);
    assert_refused(from, text_file("bad.yaml", JOB "---\nlevles: {readings: []}\n"), "import-bad.yaml:9:1: error: levles");
    assert_refused(from, text_file("bad.yaml", JOB "---\nlevels: {readings: [{at: X, fs: 1.111}]}\n"), "import-bad.yaml:9:21: error: ");
    assert_refused("surveys", text_file("bad.yaml", JOB), "[file]");
    struct ran r = RUN("import", from, "surveys");
    assert_int_equal(r.status, 2);
    assert_said(r.err, "surveys: error: ");
    ran_release(&r);
}

/* What JOB lacks may come with what is added: a mark for a run that hung on nothing. */
static void
what_mends_a_record_is_added(void **state)
{
    (void)state;
    const char *job = text_file("mend.yaml", JOB "---\nlevels: {readings: [{at: X, bs: 1.111}, {at: X, fs: 1.113}]}\n");
    IMPORTED(0, text_file("mend-from.yaml", "---\nmarks: {X: {elevation: 50.020}}\n"), job);
    struct ran r = RUN("check", job);
    assert_int_equal(r.status, 0);
    ran_release(&r);
}

static void
a_changed_record_is_said_each_time(void **state)
{
    (void)state;
    const char *job = fresh("changed.yaml");
    IMPORTED(0, text_file("changed-from.yaml", JOB RUN_ONE), job);
    char *text = text_of(job);
    memcpy(strstr(text, "48.375"), "48.385", 6);
    job = text_file("changed.yaml", text);
    free(text);
    struct ran r = RUN("import", text_file("changed-more.yaml", "---\nmarks: {X: {elevation: 50.020}}\n"), job);
    assert_int_equal(r.status, 1);
    assert_said(r.err, "[digest]");
    ran_release(&r);
}

/* ---- readings from a table ---- */

static void
a_table_becomes_runs_and_strikes(void **state)
{
    static const char table[] = "\xef\xbb\xbf" "Run,point,on,bs,is,fs,fs-dist,bs-dist,dist,moved,page,note,struck,sight,for\r\n"
        "1,BM1,,1.482,,,,,31.5,,4,\"first, of \"\"two\"\"\",,,\r\n"
        "1,A,batten,, 0.971 ,,,,,,4,\"over\r\ntwo lines\",,,\r\n"
        "1,TP,,1.300,,1.250,30,29,,,5,,read from the wrong edge,fs,\r\n"
        "1,TP,,,,1.255,30,,,,5,,,,5\r\n"
        "\r\n"
        "1,A,batten,,0.970,,,,,TRUE,5,,,,\r\n"
        "1,BM1,,,,1.530,,,28.5,,5,,,,\r\n"
        "2,BM1,,1.482 1.402 1.322,,,,,,,6,,,,\r\n"
        "2,B,ground,,1.975,,,,,,6,,rod sank,,\r\n"
        "2,BM1,,,,1.403,,,,,6,,,,\r\n"
        ",,,,,,,,,,,,,,\r\n";
    static const char by_hand[] = JOB
        "---\nlevels:\n  date: 2026-05-03\n  observer: HK\n  readings:\n"
        "    - {at: BM1, bs: 1.482, dist: 31.5, page: 4, note: 'first, of \"two\"'}\n"
        "    - {at: A, on: batten, is: 0.971, note: over two lines}\n"
        "    - {at: TP, fs: 1.250, bs: 1.300, fs-dist: 30, bs-dist: 29, page: 5}\n"
        "    - {at: TP, fs: 1.255, dist: 30, page: 5, for: {entry: 3, row: 3}}\n"
        "    - {at: A, on: batten, is: 0.970, moved: true}\n"
        "    - {at: BM1, fs: 1.530, dist: 28.5}\n"
        "---\nstrike: {entry: 3, row: 3, sight: fs, reason: read from the wrong edge}\n"
        "---\nlevels:\n  date: 2026-05-03\n  observer: HK\n  readings:\n"
        "    - {at: BM1, bs: [1.482, 1.402, 1.322], page: 6}\n    - {at: B, on: ground, is: 1.975}\n    - {at: BM1, fs: 1.403}\n"
        "---\nstrike: {entry: 5, row: 2, reason: rod sank}\n";
    (void)state;
    const char *job = text_file("table.yaml", JOB), *from = text_file("table.CSV", table);
    char *said = imported_with(0, (const char *const[]){ "import", "--by", "RO", "--date=2026-05-03", "--observer", "HK", from, job, NULL });
    assert_said(said, "import-table.CSV: 9 rows in 2 runs, 2 of them struck\n");
    assert_said(said, "entries 3 to 6 written");
    free(said);
    const char *hand = text_file("table-hand.yaml", by_hand);
    assert_same_results(job, hand);
    struct ran a = RUN("reduce", job), b = RUN("reduce", hand); /* notes, reasons and the head stand in the book only */
    assert_said(a.out, "struck by RO: rod sank");
    assert_said(a.out, "2026-05-03, observer HK");
    assert_said(a.out, "first, of \"two\"");
    assert_said(b.out, "first, of \"two\"");
    ran_release(&a);
    ran_release(&b);
}

/* The demo table goes into the demo record that it belongs to, as docs/import.md says. */
static void
the_demo_table_goes_in(void **state)
{
    (void)state;
    const char *job = fresh("demo-table.yaml");
    char *doc = text_of("docs/import.md");
    IMPORTED(0, "surveys/quay-nursery.yaml", job);
    char *said = imported_with(0, (const char *const[]){ "import", "--by", "VT", "--date", "2026-06-09", "--instrument", "M2", "--observer", "VT",
        "--rodman", "GE", "surveys/quay-evening.csv", job, NULL });
    assert_said(said, "quay-evening.csv: 7 rows in 1 run, 1 of them struck\n");
    assert_said(doc, "quay-evening.csv: 7 rows in 1 run, 1 of them struck\n");
    free(said);
    char *table = text_of("surveys/quay-evening.csv"), *text = text_of(job);
    assert_said(doc, table);
    struct ran r = RUN("reduce", "--form", "hi", job); /* the page in the docs is the one that comes out */
    char *page = strstr(r.out, "Run of entry 14"), *end = page ? strstr(page, "they agree exactly\n") : NULL;
    assert_non_null(end);
    end[0] = '\0';
    assert_said(doc, page);
    char *entry = strstr(text, "---\nentry: 14\n"), *by = entry ? strstr(entry, "time: ") : NULL;
    assert_non_null(by);
    by[0] = '\0';
    assert_said(doc, entry);
    ran_release(&r);
    free(doc);
    free(table);
    free(text);
}

static void
feet_and_inches_stand_in_cells(void **state)
{
    (void)state;
    const char *job = text_file("inches.yaml", "---\njob: Lamb field\nunit: ft-in\nleast: 1/8 in\n---\nmarks: {BM1: {elevation: 20 ft}}\n");
    const char *from = text_file("inches.csv", "point,bs,is,fs\nBM1,4' 7-3/8\",,\nA,,\"4' 2 1/4\"\"\",\nB,,4 ft 2 in 4 ft 1 in 4 ft 0 in,\nBM1,,,55-3/8 in\n");
    IMPORTED(0, from, job);
    json_t *root = results("reduce", job), *o;
    size_t i;
    double a = 0, b = 0;
    json_array_foreach(json_object_get(root, "points"), i, o)
    {
        const char *at = json_string_value(json_object_get(o, "at"));
        a = strcmp(at, "A") == 0 ? json_number_value(json_object_get(o, "elevation")) : a;
        b = strcmp(at, "B") == 0 ? json_number_value(json_object_get(o, "elevation")) : b;
    }
    assert_near(a, 20 + (7.375 - 2.25) / 12, 1e-9);
    assert_near(b, 20 + (55.375 - 49) / 12, 1e-9);
    json_decref(root);
    assert_refused(text_file("inches.csv", "point,bs,is,fs\nBM1,4.62,,\nBM1,,,4 ft\n"), job, ":2:5: error: bs: 4.62");
}

/* Each fault at its line and column, with its check; and nothing is added. */
static void
faults_of_a_table_are_told_at_their_cell(void **state)
{
    static const struct {
        const char *text, *said;
    } cases[] = {
        { "", ":1:1: error: there is nothing in it" },
        { "\r\n\n", "[csv-header]" },
        { "point,bs\n", "[csv-rows]" },
        { "point,bs\n,\n\n , \n", "[csv-rows]" },
        { "bs,is\n1.1,\n", "no column says point" },
        { "point,bs,orchrad\nBM1,1.1,\n", ":1:10: error: orchrad is no column" },
        { "point,b s\nBM1,1.1\n", "[csv-header]" },
        { "piont,bs\nBM1,1.1\n", "nearest is point" },
        { "point,bs,bs\nBM1,1.1\n", ":1:10: error: bs is given twice" },
        { "point;bs;is;fs\nBM1;1,482;;\n", "one cell holds all of" },
        { "point,bs,\nBM1,1.1,\n", ":1:10: error: a column without a name" },
        { "point,bs,fs\nBM1,1.482,\nBM1,,1,4\n", ":3:8: error: a cell too many" },
        { "point,bs,fs\nBM1,\"1.482,\nBM1,,1.4\n", ":2:5: error: the quote opened here" },
        { "point,bs,fs,note\nBM1,1.482,,\"ab\"c\nBM1,,1.4,\n", ":2:16: error: text behind a closing quote" },
        { "point,bs,fs,note\nBM1,1.482,,a\"b\nBM1,,1.4,\n", ":2:13: error: a quote inside a cell" },
        { "point,bs,fs\nB\xc3\xa4M,\"1,482\",\nBM1,,1.4\n", ":2:5: error: bs: 1,482 has a comma" },
        { "point,bs,fs\nBM1,1.482,\nBM1,,1.4x\n", "[unknown-unit]" },
        { "point,bs,fs\nBM1,1.482 1.4,\nBM1,,1.4\n", ":2:5: error: bs has 2 readings" },
        { "point,bs,fs\nBM1,1.482 1.5 1.6 1.7,\nBM1,,1.4\n", "has 4 readings" },
        { "point,bs,fs\nBM1,1.482 1.490 1.3,\nBM1,,1.4\n", ":2:5: error: bs: the middle wire" },
        { "point,bs,fs\nBM1,1.482 1,4 1.3,\nBM1,,1.4\n", ":2:5: error: bs has 2 readings" },
        { "point,bs,fs\nBM1,\"1.482 1,4 1.3\",\nBM1,,1.4\n", ":2:5: error: bs: 1,4 has a comma" },
        { "note,bs,point,fs\n\"is: 9, x\",5.482,BM1,\n,,BM1,1.4\n", ":2:12: error: bs: 5.482 m is longer than the rod" },
        { "point,is,bs,fs\nBM1,,1.482,\nA,5.001,,\nBM1,,,1.4\n", ":3:3: error: is: 5.001 m is longer than the rod" },
        { "point,is,bs,fs,dist\nBM1,,1.482,,\nA,1.482,,,0\nBM1,,,1.4,\n", ":3:11: error: dist: 0 is not above 0" },
        { "point,bs,fs,fs-dist\nBM1,1.482,,\nBM1,,1.4,-3\n", ":3:10: error: dist: -3 is not above 0" },
        { "point,is,bs,fs\nBM1,,1.482,\nBM1,1.1,,1.4\n", ":3:5: error: is stands beside fs" },
        { "point,is,bs,fs\nBM1,,1.482,\nA,,,\nBM1,,,1.4\n", ":3:1: error: a row has bs, is or fs" },
        { "point,is,bs,fs\nBM1,,1.482,\n,1.2,,\nBM1,,,1.4\n", ":3:1: error: a row without a point" },
        { "point,bs,fs,dist\nBM1,1.482,,\nTP,1.2,1.3,30\nBM1,,1.4,\n", ":3:12: error: dist does not say which sight" },
        { "point,bs,fs,bs-dist\nBM1,1.482,,\nBM1,,1.4,30\n", ":3:10: error: bs-dist without bs" },
        { "point,bs,fs,on\nBM1,1.482,,baten\nBM1,,1.4,\n", ":2:12: error: on: baten is not known; nearest is batten" },
        { "point,bs,fs,moved\nBM1,1.482,,perhaps\nBM1,,1.4,\n", ":2:12: error: moved: perhaps is not known" },
        { "point,bs,fs,page\nBM1,1.482,,0\nBM1,,1.4,\n", "[count]" },
        { "point,bs,fs,sight\nBM1,1.482,,bs\nBM1,,1.4,\n", "[strike]" },
        { "point,bs,fs,struck,sight\nBM1,1.482,,x,fs\nBM1,,1.4,,\n", ":2:12: error: row 1 of entry 3 has no fs to strike" },
        { "point,bs,fs,for\nBM1,1.482,,\nBM1,,1.4,9\n", ":3:10: error: no row of this run stands on line 9" },
        { "point,bs,fs,for\nBM1,1.482,,\nBM1,,1.4,2\n", ":3:10: error: row 1 of entry 3 is not struck" },
        { "point,bs,fs\nBM1,1.482,\nA,1.2,\n", ":3:1: error: a backsight on A" },
        { "point,bs,fs\nX,1.482,\nY,,1.3\n", ":2:1: error: nothing ties X, Y" },
        { "point,bs,fs\nBM1,1.482,\n\"X\x1b\",,1.3\n", ":3:1: error: a control character" },
        { "point,bs,fs\rBM1,1.482,\rX,,1.3\r", "[bytes]" },
        { "point,bs,fs\nBM1,1.482,\n\"X \",,1.3\n", ":3:1: error: at: a name has" },
        { "point,bs,fs,note\nBM1,1.482,,\nX,,1.3,a\xe2\x80\xae" "b\n", ":3:8: error: note holds a control or direction" },
    };
    (void)state;
    const char *job = text_file("cells.yaml", JOB);
    for (size_t i = 0; i < COUNT(cases); i++)
        assert_refused(text_file("cells.csv", cases[i].text), job, cases[i].said);
}

/* Several faults of one file are all told. */
static void
all_faults_of_a_table_are_told(void **state)
{
    (void)state;
    const char *job = text_file("all.yaml", JOB), *from = text_file("all.csv", "point,bs,is,fs\nBM1,\"1,482\",,\nA,,x,\nB,,,\nBM1,,,1.4.1\n");
    struct ran r = RUN("import", from, job);
    assert_said(r.err, "all.csv:2:5: error: ");
    assert_said(r.err, "all.csv:3:4: error: ");
    assert_said(r.err, "all.csv:4:1: error: ");
    assert_said(r.err, "all.csv:5:7: error: ");
    ran_release(&r);
}

static void
options_are_for_tables(void **state)
{
    char long_name[100];
    (void)state;
    const char *job = text_file("options.yaml", JOB), *from = text_file("options.csv", "point,bs,fs\nBM1,1.482,\nBM1,,1.48\n");
    memset(long_name, 'x', 99);
    long_name[99] = '\0';
    static const char *const words[][2] = { { "--date", "3 May" }, { "--date", "2026-02-30" }, { "--by", "" }, { "--note", "a\033b" } };
    for (size_t i = 0; i < COUNT(words); i++) {
        struct ran r = RUN("import", words[i][0], words[i][1], from, job);
        assert_int_equal(r.status, 2);
        assert_null(strchr(r.err, '\033'));
        ran_release(&r);
    }
    struct ran r = RUN("import", "--observer", long_name, from, job);
    assert_int_equal(r.status, 2);
    assert_said(r.err, "--observer wants plain text");
    ran_release(&r);
    r = RUN("import", "--by", "HK", text_file("options-from.yaml", RUN_ONE), job);
    assert_int_equal(r.status, 2);
    assert_said(r.err, "go with a .csv");
    ran_release(&r);
    r = RUN("import", from, "-");
    assert_int_equal(r.status, 2);
    assert_said(r.err, "only FROM may be -");
    ran_release(&r);
    r = RUN("import", from);
    assert_int_equal(r.status, 2);
    assert_said(r.err, "two files are wanted");
    ran_release(&r);
    assert_refused(from, fresh("none.yaml"), "[file]"); /* a table makes no job */
    IMPORTED(0, "--by", "H: K", "--instrument", "- T1", "--rodman", "no", "--weather", "#dull", "--note", "a \"b\" \\", from, job);
    r = RUN("reduce", job);
    assert_said(r.out, "instrument - T1, rodman no, #dull");
    assert_said(r.out, "a \"b\" \\");
    ran_release(&r);
}

/* ---- random books: a table, and the same rows in YAML ---- */

static uint64_t seed = 20260611;

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26. */
static unsigned
draw(unsigned below)
{
    seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (unsigned)(seed >> 33) % below;
}

/* A book as it is drawn, written down both ways. */
struct drawn {
    FILE *csv, *yaml, *strikes;
    char *strike_text;
    size_t strike_n;
    unsigned entry, run, line, row, page;
};

static void
open_drawn_run(struct drawn *w)
{
    w->run++;
    w->row = 0;
    fputs("---\nlevels:\n  readings:\n", w->yaml);
    w->strikes = open_memstream(&w->strike_text, &w->strike_n);
    assert_non_null(w->strikes);
    w->entry++;
}

/* Strikes stand behind their run. */
static void
close_drawn_run(struct drawn *w)
{
    unsigned struck = 0;
    fclose(w->strikes);
    for (const char *p = w->strike_text; (p = strstr(p, "---\n")); p += 4)
        struck++;
    fputs(w->strike_text, w->yaml);
    free(w->strike_text);
    w->entry += struck;
}

static const char *const drawn_on[] = { "", "batten", "ground", "post", "top" };

/* A sight in millimetres: one reading, or three wires about it. */
static void
put_sight(FILE *f, bool csv, const char *key, int mm, int half)
{
    const char *between = csv ? " " : ", ";
    if (mm < 0) {
        fputs(csv ? "," : "", f);
        return;
    }
    if (!csv)
        fprintf(f, ", %s: %s", key, half ? "[" : "");
    if (half)
        fprintf(f, "%d.%03d%s", (mm + half) / 1000, (mm + half) % 1000, between);
    fprintf(f, "%d.%03d", mm / 1000, mm % 1000);
    if (half)
        fprintf(f, "%s%d.%03d", between, (mm - half) / 1000, (mm - half) % 1000);
    fputs(csv ? "," : half ? "]" : "", f);
}

/* One row; a sight below 0 is none. `stands_for` is the row before it, struck. */
static void
draw_row(struct drawn *w, const char *at, const char *on, int bs, int is, int fs, bool struck, bool stands_for)
{
    static const char *const notes[] = { "", "", "", "stone, by the gate", "3/8 of 1: \"deep\"", "#2 peg" };
    unsigned note = draw(6), turn = !stands_for && draw(7) == 0, half = draw(6) == 0 ? 40 : 0, moved = is >= 0 && draw(9) == 0;
    w->line++;
    w->row++;
    w->page += turn;
    fprintf(w->csv, "%u,%s,", w->run, at);
    put_sight(w->csv, true, "bs", bs, (int)half);
    put_sight(w->csv, true, "is", is, (int)half);
    put_sight(w->csv, true, "fs", fs, (int)half);
    fprintf(w->csv, "%s,", on);
    if (w->page > 0)
        fprintf(w->csv, "%u", w->page);
    fputs(",\"", w->csv);
    for (const char *p = notes[note]; *p; p++)
        fputs(*p == '"' ? "\"\"" : (char[]){ *p, '\0' }, w->csv);
    fprintf(w->csv, "\",%s,", struck ? "\"rod sank, shot again\"" : "");
    fprintf(w->csv, "%s,", moved ? "true" : "");
    if (stands_for)
        fprintf(w->csv, "%u", w->line - 1);
    fputs("\r\n", w->csv);

    fprintf(w->yaml, "    - {at: %s", at);
    put_sight(w->yaml, false, "bs", bs, (int)half);
    put_sight(w->yaml, false, "is", is, (int)half);
    put_sight(w->yaml, false, "fs", fs, (int)half);
    if (on[0])
        fprintf(w->yaml, ", on: %s", on);
    if (w->page > 0)
        fprintf(w->yaml, ", page: %u", w->page);
    if (notes[note][0])
        fprintf(w->yaml, ", note: '%s'", notes[note]);
    if (moved)
        fputs(", moved: true", w->yaml);
    if (stands_for)
        fprintf(w->yaml, ", for: {entry: %u, row: %u}", w->entry, w->row - 1);
    fputs("}\n", w->yaml);
    if (struck)
        fprintf(w->strikes, "---\nstrike: {entry: %u, row: %u, reason: \"rod sank, shot again\"}\n", w->entry, w->row);
}

static void
draw_run(struct drawn *w)
{
    unsigned setups = 1 + draw(4);
    char at[8] = "BM1", next[8];
    bool bs_booked = false;
    open_drawn_run(w);
    for (unsigned k = 0; k < setups; k++) {
        if (!bs_booked)
            draw_row(w, at, "", 500 + (int)draw(3000), -1, -1, false, false);
        for (unsigned sides = draw(4); sides > 0; sides--) {
            char side[8];
            snprintf(side, sizeof side, "S%u", draw(6));
            draw_row(w, side, drawn_on[draw(5)], -1, 500 + (int)draw(3000), -1, draw(6) == 0, false);
        }
        snprintf(next, sizeof next, k + 1 < setups ? "T%u.%u" : "BM2", w->run, k);
        if (draw(6) == 0) { /* a foresight read again */
            draw_row(w, next, "", -1, -1, 500 + (int)draw(3000), true, false);
            draw_row(w, next, "", -1, -1, 500 + (int)draw(3000), false, true);
            bs_booked = false;
        } else {
            bs_booked = k + 1 < setups && draw(2) == 0;
            draw_row(w, next, "", bs_booked ? 500 + (int)draw(3000) : -1, -1, 500 + (int)draw(3000), false, false);
        }
        memcpy(at, next, sizeof at);
    }
    close_drawn_run(w);
}

static void
a_random_table_gives_what_its_rows_give_in_yaml(void **state)
{
    size_t struck = 0;
    (void)state;
    for (unsigned round = 0; round < 60; round++) {
        const char *job = text_file("drawn.yaml", JOB), *csv = fresh("drawn.csv"), *hand = text_file("drawn-hand.yaml", JOB);
        struct drawn w = { .csv = fopen(csv, "wb"), .yaml = fopen(hand, "ab"), .entry = 2, .line = 1 };
        assert_true(w.csv && w.yaml);
        fputs("run,point,bs,is,fs,on,page,note,struck,moved,for\r\n", w.csv);
        for (unsigned runs = 1 + draw(3); runs > 0; runs--)
            draw_run(&w);
        fclose(w.csv);
        fclose(w.yaml);
        struct ran r = RUN("import", csv, job);
        if (r.status > 1)
            fail_msg("round %u\n%s", round, r.err);
        struck += strstr(r.out, "struck") != NULL;
        ran_release(&r);
        assert_sealed_from(job, 3, w.entry);
        assert_same_results(job, hand);
    }
    assert_true(struck > 20 && struck < 60);
}

/* ---- files of any kind ---- */

static void
hostile_files_are_refused(void **state)
{
    static char bytes[3 << 20];
    const char *job = text_file("hostile.yaml", JOB);
    (void)state;
    memset(bytes, 0, sizeof bytes);
    assert_refused(file_of("hostile.csv", bytes, 4096), job, "error: ");
    assert_refused(file_of("hostile-from.yaml", bytes, 4096), job, "error: ");
    memset(bytes, '"', sizeof bytes);
    assert_refused(file_of("hostile.csv", bytes, (1 << 20) + 1), job, "[csv-");
    memset(bytes, 'x', sizeof bytes);
    assert_refused(file_of("hostile.csv", bytes, 1 << 20), job, "[csv-header]");
    memcpy(bytes, "point,bs,fs,note,on,page\n", 25);
    assert_refused(file_of("hostile.csv", bytes, 1 << 20), job, "[name]");
    memset(bytes, ',', sizeof bytes);
    assert_refused(file_of("hostile.csv", bytes, sizeof bytes), job, "[csv-header]");
    memcpy(bytes, "point,bs,fs,note,on,page\nBM1", 28);
    bytes[sizeof bytes - 1] = 'x';
    assert_refused(file_of("hostile.csv", bytes, sizeof bytes), job, "[csv-cell]");
    memset(bytes, '\n', sizeof bytes);
    assert_refused(file_of("hostile.csv", bytes, sizeof bytes), job, "[csv-header]");
    memset(bytes, ' ', sizeof bytes);
    memcpy(bytes, "point,bs,fs\nBM1,1.1 1", 21);
    bytes[1 << 20] = 'x';
    assert_refused(file_of("hostile.csv", bytes, (1 << 20) + 1), job, "error: ");
    const char *folder = fresh("folder.csv");
    assert_true(mkdir(folder, 0777) == 0 || errno == EEXIST);
    assert_refused(folder, job, "[file]");
    rmdir(folder);
    assert_refused(fresh("nowhere.csv"), job, "[file]");
}

/* A table cut anywhere is taken or refused, and a record that was added to is whole. */
static void
a_table_cut_anywhere_is_taken_or_refused(void **state)
{
    static const char table[] = "point,bs,is,fs,note,struck\nBM1,1.482,,,\"a \"\"b\"\", c\",\nA,,1.4 1.3 1.2,,x,rod sank\nBM1,,,1.483,,\n";
    size_t taken = 0;
    (void)state;
    for (size_t n = 0; n <= strlen(table); n++) {
        const char *job = text_file("cut.yaml", JOB), *from = file_of("cut.csv", table, n);
        struct ran r = RUN("import", from, job);
        char *text = text_of(job);
        assert_true(r.status == 0 || r.status == 1 || r.status == 2);
        assert_int_equal(strcmp(text, JOB) == 0, r.status == 2);
        taken += r.status != 2;
        free(text);
        ran_release(&r);
        r = RUN("check", job);
        assert_true(r.status == 0 || r.status == 1);
        ran_release(&r);
    }
    assert_true(taken > 5 && taken < strlen(table) / 2);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(demo_surveys_are_sealed_and_say_the_same),
        cmocka_unit_test(every_byte_is_kept),
        cmocka_unit_test(what_is_wanting_at_the_ends_is_added),
        cmocka_unit_test(what_cannot_be_carried_is_refused),
        cmocka_unit_test(a_sealed_record_is_not_sealed_again),
        cmocka_unit_test(warnings_are_told),
        cmocka_unit_test(the_digest_to_copy_is_the_last_one),
        cmocka_unit_test(entries_count_as_they_will_stand),
        cmocka_unit_test(a_record_without_its_last_line_end_is_added_to),
        cmocka_unit_test(a_torn_entry_stays_torn),
        cmocka_unit_test(faults_are_told_at_their_place_in_from),
        cmocka_unit_test(a_record_with_faults_is_not_added_to),
        cmocka_unit_test(what_mends_a_record_is_added),
        cmocka_unit_test(a_changed_record_is_said_each_time),
        cmocka_unit_test(a_table_becomes_runs_and_strikes),
        cmocka_unit_test(the_demo_table_goes_in),
        cmocka_unit_test(feet_and_inches_stand_in_cells),
        cmocka_unit_test(faults_of_a_table_are_told_at_their_cell),
        cmocka_unit_test(all_faults_of_a_table_are_told),
        cmocka_unit_test(options_are_for_tables),
        cmocka_unit_test(a_random_table_gives_what_its_rows_give_in_yaml),
        cmocka_unit_test(hostile_files_are_refused),
        cmocka_unit_test(a_table_cut_anywhere_is_taken_or_refused),
    };
    return cmocka_run_group_tests_name("import", tests, NULL, NULL);
}
