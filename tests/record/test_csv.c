/* test_csv.c - cells and rows of a table, and the way back from an entry to a cell */
#include "near.h"

#include "rodbook/csv.h"

#include <stdlib.h>
#include <string.h>

#define MM INT64_C(1000000)

struct table {
    struct csv csv;
    struct diag d;
    int opened;
};

static struct table *
table_of(const char *text, enum length_unit unit)
{
    struct table *t = calloc(1, sizeof *t);
    assert_non_null(t);
    t->opened = csv_open(&t->csv, text, strlen(text), unit, &t->d);
    return t;
}

static void
table_free(struct table *t)
{
    csv_close(&t->csv);
    diag_release(&t->d);
    free(t);
}

static void
assert_place(struct diag_place place, uint32_t line, uint32_t column)
{
    assert_int_equal(place.line, line);
    assert_int_equal(place.column, column);
}

/* The first complaint. */
static void
assert_first(const struct table *t, const char *check, uint32_t line, uint32_t column)
{
    assert_true(t->d.n > 0);
    assert_string_equal(t->d.item[0].check, check);
    assert_place(t->d.item[0].place, line, column);
}

static void
cells_are_taken_by_the_names_above_them(void **state)
{
    struct csv_row row;
    (void)state;
    struct table *t = table_of("\xef\xbb\xbfNote , FS,\"point\",bs\r\n\"a, \"\"b\"\"\r\nc\",1.402,TP1,1.482\r\n,, TP2\t,\"2.101\"", LENGTH_BARE_M);
    assert_int_equal(t->opened, 0);
    assert_int_equal(csv_next(&t->csv, &row), 1);
    assert_string_equal(row.row.note, "a, \"b\" c");
    assert_string_equal(row.row.at, "TP1");
    assert_same(row.row.fs.value, 1402 * MM);
    assert_string_equal(row.row.bs.text[0], "1.482");
    assert_int_equal(row.row.is.wires, 0);
    assert_int_equal(row.line, 2);
    assert_place(row.cell[CSV_FS], 3, 4);
    assert_place(row.cell[CSV_NOTE], 2, 1);
    assert_int_equal(row.cell[CSV_PAGE].line, 0);
    assert_int_equal(csv_next(&t->csv, &row), 1);
    assert_string_equal(row.row.at, "TP2");
    assert_same(row.row.bs.value, 2101 * MM);
    assert_int_equal(csv_next(&t->csv, &row), 0);
    assert_int_equal(t->d.n, 0);
    table_free(t);
}

/* Rows may be shorter than the first; empty ones are passed over; empty cells too many do no harm. */
static void
short_and_empty_rows_are_borne(void **state)
{
    struct csv_row row;
    (void)state;
    struct table *t = table_of("point,bs,note\n\nA,1.482\n,,\n,,,,\nB,1.5,x,,\n", LENGTH_BARE_M);
    assert_int_equal(csv_next(&t->csv, &row), 1);
    assert_string_equal(row.row.at, "A");
    assert_int_equal(csv_next(&t->csv, &row), 1);
    assert_int_equal(row.line, 6);
    assert_int_equal(csv_next(&t->csv, &row), 0);
    assert_int_equal(t->d.n, 0);
    table_free(t);
}

static void
three_wires_are_parted_where_they_can_be(void **state)
{
    static const struct {
        const char *cell;
        enum length_unit unit;
        int wires; /* 0: refused */
        const char *middle;
    } cases[] = {
        { "1.482", LENGTH_BARE_M, 1, "" },
        { "1.482  1.402   1.322", LENGTH_BARE_M, 3, "1.402" },
        { "1482 mm 1.402 m 132.2 cm", LENGTH_BARE_M, 3, "1.402 m" },
        { "4 ft 2 in 4 ft 1 in 4 ft 0 in", LENGTH_BARE_FT_IN, 3, "4 ft 1 in" },
        { "4' 2-3/8\" 4' 1\" 3' 11-5/8\"", LENGTH_BARE_FT_IN, 3, "4' 1\"" },
        { "4 ft 7 3/8 in", LENGTH_BARE_FT, 1, "" },
        { "1 2", LENGTH_BARE_FT, 0, "" },
        { "1 2 3 4", LENGTH_BARE_FT, 0, "" },
        { "4 1 1/2 in 4 in 2 in", LENGTH_BARE_FT, 0, "" },
        { "1 2 1/2 in 3 1/2 in", LENGTH_BARE_FT, 3, "2 1/2 in" },
        { "1 ft 2 ft 3 in 4 ft", LENGTH_BARE_FT, 3, "2 ft 3 in" },
        { "- 1.4", LENGTH_BARE_M, 0, "" },
        { "1.4 - 1.3", LENGTH_BARE_M, 0, "" },
        { "x", LENGTH_BARE_M, 0, "" },
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct csv_row row;
        char text[100];
        snprintf(text, sizeof text, "point,bs\nA,%s\n", cases[i].cell);
        struct table *t = table_of(text, cases[i].unit);
        assert_int_equal(csv_next(&t->csv, &row), 1);
        if ((t->d.n == 0) != (cases[i].wires > 0))
            fail_msg("%s: %s", cases[i].cell, t->d.n ? t->d.item[0].text : "taken");
        if (cases[i].wires > 0)
            assert_int_equal(row.row.bs.wires, cases[i].wires);
        if (cases[i].wires == 3)
            assert_string_equal(row.row.bs.text[1], cases[i].middle);
        table_free(t);
    }
}

static void
ways_that_are_not_one_are_refused(void **state)
{
    struct csv_row row;
    (void)state;
    struct table *t = table_of("point,bs\nA,1 2 1/2 in 3 1/2 in 4 in\n", LENGTH_BARE_FT);
    assert_int_equal(csv_next(&t->csv, &row), 1);
    assert_int_equal(t->d.errors, 1);
    assert_place(t->d.item[0].place, 2, 3);
    table_free(t);
    t = table_of("point,bs\nA,\"4 7/8 in 3 in 2 1 in\"\n", LENGTH_BARE_FT); /* 4 | 7/8 in ... or 4 7/8 in | ... */
    assert_int_equal(csv_next(&t->csv, &row), 1);
    assert_first(t, "number", 2, 3);
    table_free(t);
    t = table_of("point,bs\nA,1 1/2 in 2 1/2 in\n", LENGTH_BARE_FT);
    assert_int_equal(csv_next(&t->csv, &row), 1);
    assert_first(t, "three-wire", 2, 3);
    assert_non_null(strstr(t->d.item[0].text, "more ways than one"));
    table_free(t);
}

/* A complaint about a line that was composed comes back to the cell, whatever the texts on the line look like. */
static void
places_come_back_to_their_cells(void **state)
{
    static const char text[] = "run,note,point,bs,fs,is,dist,page,struck,for\n"
                               "1,\"is: 3, \"\"fs: 4\"\"\",\"B, on: 1\",1.482,,,31,1,,\n"
                               "1,\"\xc3\xa4\xc3\xb6\",A,,,0.971,22,1,rod sank,\n"
                               "1,,A,,,0.972,,,,3\n"
                               "1,,B,,1.483,,,2,,\n2,,C,1.1,,,,,,\n";
    static const struct {
        uint32_t line;
        const char *word;
        enum csv_column column;
        uint32_t row;
    } cases[] = { { 5, "at: ", CSV_POINT, 2 }, { 5, "\"B, on", CSV_POINT, 2 }, { 5, "bs: ", CSV_BS, 2 }, { 5, "1.482", CSV_BS, 2 },
        { 5, "dist: ", CSV_DIST, 2 }, { 5, "31", CSV_DIST, 2 }, { 5, "page", CSV_PAGE, 2 }, { 5, "note", CSV_NOTE, 2 }, { 5, "3, ", CSV_NOTE, 2 },
        { 5, "fs: 4", CSV_NOTE, 2 }, { 6, "is: ", CSV_IS, 3 }, { 6, "22", CSV_DIST, 3 }, { 6, "note", CSV_NOTE, 3 }, { 7, "for", CSV_FOR, 4 },
        { 7, "row: ", CSV_FOR, 4 }, { 8, "1.483", CSV_FS, 5 }, { 8, "2}", CSV_PAGE, 5 } };
    struct scan_end at = append_nowhere();
    struct write_head head = { .date = "" };
    struct csv_book b;
    (void)state;
    struct table *t = table_of(text, LENGTH_BARE_M);
    assert_int_equal(csv_book(&b, &t->csv, &at, &head, ""), 0);
    assert_int_equal(t->d.n, 0);
    assert_int_equal(b.at.entries, 3);
    assert_int_equal(b.rows, 5);
    assert_int_equal(b.struck, 1);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char *line = b.text.bytes, copy[200];
        struct csv_row row;
        struct diag unsaid = { 0 };
        for (uint32_t k = 1; k < cases[i].line; k++)
            line = strchr(line, '\n') + 1;
        snprintf(copy, sizeof copy, "%.*s", (int)strcspn(line, "\n"), line);
        const char *word = strstr(copy, cases[i].word);
        if (!word)
            fail_msg("%s does not stand in %s", cases[i].word, copy);
        uint32_t column = 1;
        for (const char *p = copy; p < word; p++)
            column += ((unsigned char)p[1] & 0xc0) != 0x80;
        struct csv again;
        assert_int_equal(csv_open(&again, text, strlen(text), LENGTH_BARE_M, &unsaid), 0);
        for (uint32_t k = 2; k <= cases[i].row; k++)
            assert_int_equal(csv_next(&again, &row), 1);
        struct diag_place want = row.cell[cases[i].column];
        struct diag_place got = csv_book_place(&b, &t->csv, (struct diag_place){ cases[i].line, column });
        if (got.line != want.line || got.column != want.column)
            fail_msg("%s of %s: %u:%u, want %u:%u", cases[i].word, copy, got.line, got.column, want.line, want.column);
        csv_close(&again);
    }
    /* the strike comes from its cell; a line that no row wrote from none */
    char *strike = strstr(b.text.bytes, "strike:");
    uint32_t line = 1;
    for (const char *p = b.text.bytes; p < strike; p++)
        line += *p == '\n';
    assert_place(csv_book_place(&b, &t->csv, (struct diag_place){ line, 10 }), 3, 23);
    assert_place(csv_book_place(&b, &t->csv, (struct diag_place){ 3, 1 }), 0, 0);
    csv_book_release(&b);
    table_free(t);
}

/* Digests of what is composed go on from where the record stopped. */
static void
composed_entries_go_on_from_the_record(void **state)
{
    static const char job[] = "---\njob: Lamb field\nunit: m\nleast: 0.001\n---\nmarks: {B: {elevation: 48.375}}";
    struct source source = source_of_bytes(job, strlen(job));
    struct record r;
    struct scan_end at;
    struct diag d = { 0 };
    struct csv_book b;
    struct write_head head = { .date = "2026-05-03", .weather = "no: wind" };
    struct append_text whole = { 0 };
    (void)state;
    assert_int_equal(record_read_on(&r, &source, &at, &d), 0);
    record_release(&r);
    struct table *t = table_of("point,bs,fs,struck\nB,1.482,,\nB,,1.483,wrong\n", LENGTH_BARE_M);
    assert_int_equal(csv_book(&b, &t->csv, &at, &head, "HK"), 0);
    assert_true(append_text_add(&whole, job, strlen(job)) && append_text_add(&whole, b.text.bytes, b.text.n));
    source = source_of_bytes(whole.bytes, whole.n);
    assert_int_equal(record_read_on(&r, &source, &at, &d), 0);
    assert_int_equal(d.n, 0);
    assert_int_equal(r.entries, 4);
    assert_int_equal(r.chain.digests, 2);
    assert_int_equal(r.chain.broken, 0);
    assert_memory_equal(r.chain.digest, b.digest, DIGEST_BYTES);
    assert_int_equal(at.size, b.at.size);
    assert_int_equal(at.lines, b.at.lines);
    assert_string_equal(names_text(&r.texts, r.run[0].weather), "no: wind");
    assert_string_equal(names_text(&r.texts, r.strike[0].reason), "wrong");
    record_release(&r);
    append_text_release(&whole);
    csv_book_release(&b);
    table_free(t);
    diag_release(&d);
}

/* A table without names for its columns leaves nothing to read rows by. */
static void
a_table_without_names_is_not_read(void **state)
{
    (void)state;
    struct table *t = table_of("BM1,1.482,,\nA,,0.971,\n", LENGTH_BARE_M);
    assert_int_equal(t->opened, -1);
    assert_first(t, "csv-header", 1, 1);
    table_free(t);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cells_are_taken_by_the_names_above_them),
        cmocka_unit_test(short_and_empty_rows_are_borne),
        cmocka_unit_test(three_wires_are_parted_where_they_can_be),
        cmocka_unit_test(ways_that_are_not_one_are_refused),
        cmocka_unit_test(places_come_back_to_their_cells),
        cmocka_unit_test(composed_entries_go_on_from_the_record),
        cmocka_unit_test(a_table_without_names_is_not_read),
    };
    return cmocka_run_group_tests_name("csv", tests, NULL, NULL);
}
