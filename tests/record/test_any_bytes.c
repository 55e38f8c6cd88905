/*
 * Any bytes at all: a record that is cut, garbled or mixed is read or refused,
 * never worse. Run under the sanitizers by `make san`.
 */
#include "near.h"

#include "rodbook/job.h"
#include "rodbook/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static uint64_t seed = 20260502;

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26. */
static size_t
draw(size_t below)
{
    seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (size_t)(seed >> 33) % below;
}

static FILE *sink;
static size_t worked;

/* Whatever was booked, the three routes of every page check agree. */
static void
check_pages(const struct job *job)
{
    for (uint32_t run = 0; run < job->r->runs; run++) {
        struct job_book book;
        job_book_open(&book, job, run);
        for (const struct job_item *item; (item = job_book_next(&book)) != NULL;)
            assert_true(item->kind == JOB_LINE || item->agrees);
    }
}

/* Audit it, and print what was found; digests alone find the same of them. */
static void
audit(const struct source *source)
{
    const struct audit_ask whole = { 0 }, digests = { .digests = true };
    struct diag d = { 0 };
    struct audit a, quick;
    assert_int_equal(audit_read(&a, source, &whole, &d), 0);
    assert_int_equal(audit_read(&quick, source, &digests, &d), 0);
    assert_false(a.unread);
    assert_int_equal(a.entries, quick.entries);
    assert_int_equal(a.fits_to, quick.fits_to);
    assert_int_equal(a.chain.broken, quick.chain.broken);
    assert_int_equal(a.torn, quick.torn);
    assert_true(!audit_fits(&a) || audit_fits(&quick));
    sheet_audit(&a, sink);
    assert_int_equal(sheet_audit_data(&a, NULL, sink), 0);
    audit_release(&a);
    audit_release(&quick);
    diag_release(&d);
}

/* Read, work out and print everything; what is printed must have been computed. */
static void
use(const char *bytes, size_t n)
{
    struct diag d = { 0 };
    struct record r;
    struct job job = { 0 };
    struct source source = source_of_bytes(bytes, n);
    struct job_options options = { .stakes = true, .grade_optional = true, .spread_anyway = draw(2) == 1 };
    audit(&source);
    assert_int_equal(record_read(&r, &source, &d), 0);
    if (d.errors == 0)
        assert_int_equal(job_work(&job, &r, &options, &d), 0);
    if (d.errors == 0) {
        worked++;
        check_pages(&job);
        assert_int_equal(sheet_book(&job, SHEET_HI | SHEET_RISE_FALL, sink), 0);
        assert_int_equal(sheet_close(&job, sink), 0);
        assert_int_equal(sheet_stakes(&job, sink), 0);
        assert_int_equal(sheet_data(&job, SHEET_DATA_BOOK | SHEET_DATA_STAKES, NULL, sink), 0);
    }
    diag_sort(&d);
    job_release(&job);
    record_release(&r);
    diag_release(&d);
}

struct text {
    char *bytes;
    size_t n;
};

static struct text
load(const char *name)
{
    struct text t = { malloc(1 << 16), 0 };
    FILE *f = fopen(name, "rb");
    assert_non_null(f);
    assert_non_null(t.bytes);
    t.n = fread(t.bytes, 1, 1 << 16, f);
    fclose(f);
    assert_true(t.n > 0);
    return t;
}

static const char *const surveys[] = { "surveys/fernhill.yaml", "surveys/mill-lane.yaml", "surveys/quay-nursery.yaml",
    "tests/handbook/l18.yaml", "tests/bad/torn.yaml", "tests/bad/signature.yaml" };
#define SURVEYS (sizeof surveys / sizeof surveys[0])

/* Words and signs that matter to a record. */
static const char *const bits[] = { "---\n", "- ", ": ", "{", "}", "[", "]", "bs: ", "fs: ", "is: ", "at: ", "4.62", "1e9",
    "-", "'", "\"", "\n", "\n  ", ", ", "strike: {entry: 5, row: 3, reason: x}\n", "moved: true", "on: ground", "entry: 3\n",
    "digest: ", "page: 2", "for: {entry: 5, row: 3}", "99999999999", "*a", "&a ", "!!str ", "...\n", "%YAML 1.2\n", "\t",
    "levels:\n  continues: 5\n  readings:\n    - {at: W1, fs: 4.96}\n", "\xc2\x85", "\xff", "| \n", "# ", "? " };
#define BITS (sizeof bits / sizeof bits[0])

static void
garble(char *bytes, size_t *n, size_t room)
{
    for (size_t k = 1 + draw(6); k > 0 && *n > 2; k--) {
        size_t at = draw(*n), len = 1 + draw(*n - at < 40 ? *n - at : 40);
        const char *bit = bits[draw(BITS)];
        switch (draw(5)) {
        case 0: /* another byte */
            bytes[at] = (char)draw(256);
            break;
        case 1: /* a piece gone */
            memmove(bytes + at, bytes + at + len, *n - at - len);
            *n -= len;
            break;
        case 2: /* a piece twice */
            if (*n + len > room)
                break;
            memmove(bytes + at + len, bytes + at, *n - at);
            *n += len;
            break;
        case 3: /* cut short */
            *n = draw(4) == 0 ? at + 1 : *n;
            break;
        default: /* a word put in */
            len = strlen(bit);
            if (*n + len > room)
                break;
            memmove(bytes + at + len, bytes + at, *n - at);
            memcpy(bytes + at, bit, len);
            *n += len;
            break;
        }
    }
}

static void
garbled_records_are_read_or_refused(void **state)
{
    static char bytes[1 << 17];
    (void)state;
    for (size_t s = 0; s < SURVEYS; s++) {
        struct text t = load(surveys[s]);
        use(t.bytes, t.n);
        for (int round = 0; round < 1200; round++) {
            size_t n = t.n;
            memcpy(bytes, t.bytes, n);
            garble(bytes, &n, sizeof bytes);
            use(bytes, n);
        }
        free(t.bytes);
    }
}

static void
a_record_cut_anywhere_is_read_or_refused(void **state)
{
    struct text t = load("surveys/fernhill.yaml");
    (void)state;
    for (size_t n = 0; n < t.n; n += 1 + draw(5))
        use(t.bytes, n);
    free(t.bytes);
}

/* A run of levels over a few points: sights mostly follow, strikes and replacements fall anywhere. */
static int
put_run(char *text, size_t room, size_t run, size_t rows)
{
    static const char *const points[] = { "A", "B", "C", "D" }, *const ons[] = { "mark", "ground", "post" };
    int n = snprintf(text, room, "---\nlevels:\n%s  readings:\n", run > 0 && draw(3) == 0 ? "  continues: 4\n" : "");
    bool open = false;
    for (size_t i = 0; i < rows; i++) {
        size_t kind = draw(40) == 0 ? draw(3) : !open ? 0 : 1 + draw(3);
        const char *at = points[draw(4)], *on = ons[kind == 1 ? draw(3) : 0];
        static const char *const sights[] = { "bs: 1.", "is: 1.", "fs: 1.", "bs: 1.482, fs: 1." };
        open = kind != 2;
        n += snprintf(text + n, room - (size_t)n, "    - {at: %s, on: %s, %s%03zu%s%s}\n", at, on, sights[kind], draw(1000),
            draw(19) == 0 ? ", moved: true" : "", run > 0 && draw(9) == 0 ? ", for: {entry: 4, row: 2}" : "");
    }
    if (draw(3) == 0)
        n += snprintf(text + n, room - (size_t)n, "---\nstrike: {entry: 4, row: %zu, reason: x}\n", 1 + draw(rows));
    return n;
}

static void
rows_in_any_order(void **state)
{
    (void)state;
    for (int round = 0; round < 8000; round++) {
        char text[8192];
        size_t runs = 1 + draw(3);
        int n = snprintf(text, sizeof text, "---\njob: x\nunit: m\nleast: 0.001\nallow: {misclosure: 0.5, per: job}\n"
            "---\nmarks: {A: {elevation: 3.141}}\n---\ngrade: {name: g, means: finish, level: 3.2}\n");
        for (size_t run = 0; run < runs; run++)
            n += put_run(text + n, sizeof text - (size_t)n, run, 1 + draw(12));
        use(text, (size_t)n);
    }
    printf("%zu records made sense\n", worked);
    assert_true(worked > 1000); /* and enough of it made sense */
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(garbled_records_are_read_or_refused),
        cmocka_unit_test(a_record_cut_anywhere_is_read_or_refused),
        cmocka_unit_test(rows_in_any_order),
    };
    sink = fopen("/dev/null", "w");
    return sink ? cmocka_run_group_tests_name("any bytes", tests, NULL, NULL) : 1;
}
