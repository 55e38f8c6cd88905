/* test_entries.c - the record in a page: each entry on a line, and what is sealed */
#include "../demo.h"

#include "../../src/sheet/parts.h"

#include "rodbook/audit.h"

#include <stdlib.h>

/* What is said of a record; free() it. */
static char *
said(const char *bytes, size_t n)
{
    const struct audit_ask ask = { 0 };
    struct source source = source_of_bytes(bytes, n);
    struct diag d = { 0 };
    struct audit a;
    char *out = NULL;
    size_t used = 0;
    assert_int_equal(audit_read(&a, &source, &ask, &d), 0);
    FILE *f = open_memstream(&out, &used);
    assert_non_null(f);
    assert_int_equal(sheet_entries(&a, f), 0);
    assert_int_equal(fclose(f), 0);
    audit_release(&a);
    diag_release(&d);
    return out;
}

static void
assert_said(const char *text, const char *line)
{
    if (!strstr(text, line))
        fail_msg("\"%s\" is not in\n%s", line, text);
}

static void
each_entry_is_on_a_line(void **state)
{
    struct seal_key key = demo_key("ours");
    struct scan_end end;
    struct append_text t = demo_record(DEMO_LAST, &key, 0, &end);
    char *text = said(t.bytes, t.n);
    (void)state;
    assert_said(text, "\nEntries\n"
        "  entry  what it is                day         by       holds  sealed  struck\n"
        "      1  job                       2026-05-02  RO              signed\n"
        "      2  marks                                         1 mark  signed\n"
        "      3  levels                    2026-05-02  RO       1 row  signed\n"
        "      4  levels, more of entry 3   2026-05-02  RO       1 row  signed  row 1\n"
        "      5  levels, more of entry 3   2026-05-02  RO       1 row  signed\n"
        "      6  row 1 of entry 4 struck   2026-05-02  LM              signed\n"
        "      7  levels, more of entry 3   2026-05-02  RO       1 row  signed\n"
        "      8  levels, more of entry 3   2026-05-02  RO       1 row  signed\n"
        "      9  seal                      2026-05-02  RO              signed\n"
        "     10  sections                  2026-05-03      2 sections  signed  row 2\n"
        "     11  row 2 of entry 10 struck  2026-05-03  LM              signed\n"
        "     12  seal                      2026-05-03  LM              signed\n");
    free(text);
    append_text_release(&t);
}

/* A signature reaches as far as its own entry, a digest to what stands above it, and what is by hand below both can be altered. */
static void
how_far_it_is_sealed(void **state)
{
    struct seal_key key = demo_key("ours");
    struct scan_end end;
    struct append_text t = demo_record(11, &key, 0, &end);
    (void)state;
    char *text = said(t.bytes, t.n);
    assert_said(text, "      9  seal                      2026-05-02  RO              signed\n");
    assert_said(text, "     10  sections                  2026-05-03      2 sections  digest  row 2\n");
    free(text);
    append_text_release(&t);
    t = demo_record(10, &key, 0, &end);
    text = said(t.bytes, t.n);
    assert_said(text, "2 sections  no\n");
    free(text);
    char *figure = memmem(t.bytes, t.n, "1.307", 5);
    assert_non_null(figure);
    figure[4] = '9';
    text = said(t.bytes, t.n);
    assert_said(text, "  ALTERED\n");
    free(text);
    append_text_release(&t);
}

/* So many entries that nobody would read the list: the first and the last, and how many lie between. */
static void
very_many_are_told_in_short(void **state)
{
    for (size_t entries = 71; entries <= 72; entries++) {
        char *record = NULL;
        size_t n = 0;
        FILE *f = open_memstream(&record, &n);
        (void)state;
        assert_non_null(f);
        fputs("---\njob: many\nunit: m\nleast: 0.001\n", f);
        for (size_t i = 1; i < entries; i++)
            fprintf(f, "---\nmarks: {B%zu: {elevation: 48.375}}\n", i);
        fclose(f);
        char *text = said(record, n);
        assert_said(text, "     40  marks");
        assert_said(text, entries == 71 ? "     41  marks" : "    ...  2 more, entries 41 to 42\n     43  marks");
        assert_said(text, entries == 71 ? "     71  marks" : "     43  marks");
        free(text);
        free(record);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_entry_is_on_a_line),
        cmocka_unit_test(how_far_it_is_sealed),
        cmocka_unit_test(very_many_are_told_in_short),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
