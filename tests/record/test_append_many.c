/* test_append_many.c - entries that are written together: all of them or none, or it is said which */
#include "near.h"

#include "rodbook/append.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#define JOB "---\njob: Lamb field\nunit: m\nleast: 0.001\n"

/* A record that no disk holds, by a name that can be opened. */
struct held {
    int fd;
    char name[64];
    struct append a;
    struct record r;
    struct diag d;
};

static void
hold(struct held *h, const char *text)
{
    *h = (struct held){ .fd = memfd_create("record", MFD_ALLOW_SEALING) };
    assert_true(h->fd >= 0);
    assert_int_equal(write(h->fd, text, strlen(text)), (ssize_t)strlen(text));
    snprintf(h->name, sizeof h->name, "/proc/self/fd/%d", h->fd);
    assert_int_equal(append_open(&h->a, h->name, &h->r, &h->d), 0);
    assert_int_equal(append_begin(&h->a, &h->d), 0);
    assert_int_equal(h->d.n, 0);
}

static void
let_go(struct held *h)
{
    append_end(&h->a);
    append_close(&h->a);
    record_release(&h->r);
    diag_release(&h->d);
    close(h->fd);
}

static size_t
size_of(const struct held *h)
{
    struct stat st;
    assert_int_equal(fstat(h->fd, &st), 0);
    return (size_t)st.st_size;
}

/* Three entries of marks; *second is where the second of them ends. */
static struct append_text
three_entries(const struct append *a, struct scan_end *at, unsigned char digest[DIGEST_BYTES], size_t *second)
{
    struct append_text t = { 0 };
    *at = a->at;
    for (int i = 0; i < 3; i++) {
        char body[80];
        snprintf(body, sizeof body, "marks: {BM%d: {elevation: 48.37%d}}\n", i, i);
        assert_int_equal(append_compose(&t, at, body, strlen(body), NULL, digest), 0);
        if (i == 1)
            *second = t.n;
    }
    return t;
}

static void
entries_go_in_together(void **state)
{
    struct held h;
    struct scan_end at;
    unsigned char digest[DIGEST_BYTES];
    size_t second;
    (void)state;
    hold(&h, JOB "by: RO"); /* its last line has no end */
    struct append_text t = three_entries(&h.a, &at, digest, &second);
    assert_int_equal(append_composed(&h.a, &t, &at, digest, &h.d), 0);
    assert_int_equal(h.a.at.entries, 4);
    struct source source = source_of_file(h.fd, "", size_of(&h));
    struct record r;
    struct scan_end end;
    assert_int_equal(record_read_on(&r, &source, &end, &h.d), 0);
    assert_int_equal(h.d.n, 0);
    assert_int_equal(r.marks, 3);
    assert_int_equal(r.chain.digests, 3);
    assert_memory_equal(r.chain.digest, digest, DIGEST_BYTES);
    assert_int_equal(end.lines, h.a.at.lines); /* a line that was ended later is one line */
    assert_int_equal(end.size, h.a.at.size);
    record_release(&r);
    append_text_release(&t);
    let_go(&h);
}

/* The disk is full after `room` bytes more, or SIZE_MAX for never. */
static void
limit_to(size_t size)
{
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    limit.rlim_cur = size;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

static void
no_limit(void)
{
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    limit.rlim_cur = limit.rlim_max;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

static void
what_does_not_fit_is_taken_out_whole(void **state)
{
    struct held h;
    struct scan_end at;
    unsigned char digest[DIGEST_BYTES];
    size_t second, before;
    (void)state;
    hold(&h, JOB);
    before = size_of(&h);
    struct append_text t = three_entries(&h.a, &at, digest, &second);
    limit_to(before + second + 20);
    int rc = append_composed(&h.a, &t, &at, digest, &h.d);
    no_limit();
    assert_int_equal(rc, -1);
    assert_int_equal(size_of(&h), before);
    assert_int_equal(h.a.at.entries, 1);
    assert_int_equal(h.d.errors, 1);
    assert_string_equal(h.d.item[0].check, "disk");
    assert_non_null(strstr(h.d.item[0].text, "the entries could not be written"));
    assert_non_null(strstr(h.d.item[0].text, "the record stands as it was before"));
    assert_int_equal(append_composed(&h.a, &t, &at, digest, &h.d), 0); /* with room again */
    append_text_release(&t);
    let_go(&h);
}

/* A file that cannot be cut keeps whole entries that nobody asked to keep: they are named. */
static void
what_cannot_be_taken_out_is_named(void **state)
{
    static const struct {
        bool behind_second;
        const char *said;
    } cases[] = { { true, "entries 2 to 3 are in the record" }, { false, "a torn entry is left at the end" } };
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct held h;
        struct scan_end at;
        unsigned char digest[DIGEST_BYTES];
        size_t second;
        hold(&h, JOB);
        struct append_text t = three_entries(&h.a, &at, digest, &second);
        assert_int_equal(fcntl(h.fd, F_ADD_SEALS, F_SEAL_SHRINK), 0);
        limit_to(size_of(&h) + (cases[i].behind_second ? second : 0) + 20);
        int rc = append_composed(&h.a, &t, &at, digest, &h.d);
        no_limit();
        assert_int_equal(rc, -1);
        assert_int_equal(h.d.errors, 1);
        if (!strstr(h.d.item[0].text, cases[i].said))
            fail_msg("%s is not said: %s", cases[i].said, h.d.item[0].text);
        append_text_release(&t);
        let_go(&h);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(entries_go_in_together),
        cmocka_unit_test(what_does_not_fit_is_taken_out_whole),
        cmocka_unit_test(what_cannot_be_taken_out_is_named),
    };
    (void)signal(SIGXFSZ, SIG_IGN); /* a file at its limit is an error, not the end */
    return cmocka_run_group_tests_name("append many", tests, NULL, NULL);
}
