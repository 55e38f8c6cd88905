/* test_flow.c - text sheets on pages: nothing is torn from what it is read with, wherever the pages end */
#include "../near.h"

#include "../../src/sheet/flow.h"

#include <stdbool.h>
#include <string.h>

static const struct record nothing;
static const struct job no_job = { .r = &nothing };
static const struct sheet_document bare = { .bare = true, .job = &no_job };

/* A run as the field book has it, `before` lines down, with so many rows, a check and a note of `words` words. */
static void
print(FILE *out, size_t before, size_t rows, size_t words)
{
    static const struct table_column columns[] = { { "row", true, false }, { "remarks", false, false } };
    struct table t;
    char text[32];
    for (size_t i = 0; i < before; i++)
        fprintf(out, "  filler\n");
    fputs("\nRun of entry 5\n  lead\n", out);
    table_open(&t, columns, 2);
    for (size_t i = 0; i < rows; i++) {
        snprintf(text, sizeof text, "row %zu", i + 1);
        table_cell(&t, text);
        table_cell(&t, "as read");
    }
    assert_int_equal(table_print(&t, out), 0);
    fputs("  check of the run\n    sum\n    agree\n\nNote", out);
    for (size_t i = 0; i < words; i++)
        fputs(" noted", out);
    fputs("\nnoted\n", out);
}

struct laid {
    struct canvas canvas;
    struct pages p;
};

/* What was printed, on pages. */
static void
lay_out(struct laid *l, struct capture *c)
{
    static const struct page_words none;
    memset(l, 0, sizeof *l);
    assert_int_equal(capture_close(c), 0);
    l->p = pages_begin(&l->canvas, &bare, &none);
    pages_turn(&l->p, "Test");
    flow_blocks(&l->p, c, 0);
    assert_false(l->canvas.no_memory);
    capture_release(c);
}

static void
lay(struct laid *l, size_t before, size_t rows, size_t words)
{
    struct capture c;
    assert_int_equal(capture_open(&c), 0);
    print(c.out, before, rows, words);
    lay_out(l, &c);
}

/* Texts of a page that begin so. */
static size_t
count(const struct laid *l, size_t page, const char *begin)
{
    size_t n = 0;
    const struct canvas_page *at = &l->canvas.page[page];
    for (size_t i = at->first; i < at->first + at->marks; i++)
        if (l->canvas.mark[i].kind == CANVAS_TEXT)
            n += strncmp(canvas_words(&l->canvas, l->canvas.mark[i].text), begin, strlen(begin)) == 0;
    return n;
}

static void
is_whole(const struct laid *l, size_t before, size_t rows)
{
    size_t found = 0, heads = 0;
    for (size_t i = 0; i < l->canvas.pages; i++) {
        size_t here = count(l, i, "row "), notes = count(l, i, "Note") + count(l, i, "noted");
        bool heading = count(l, i, "Run of entry 5") > 0, again = count(l, i, "Run of entry 5 (continued)") > 0;
        bool first = count(l, i, "row 1") > 0 && found == 0;
        char last[32];
        snprintf(last, sizeof last, "row %zu", rows);
        if (here == 1 && rows > 1)
            fail_msg("%zu lines before, %zu rows: one alone on page %zu", before, rows, i + 1);
        if (rows <= 6 && here > 0)
            assert_int_equal(here, rows);
        if (here > 0) {
            assert_int_equal(count(l, i, "remarks"), 1);
            assert_true(heading && again == !first);
        }
        if (heading && !again)
            assert_true(here > 0 && count(l, i, "lead") == 1);
        if (count(l, i, "check") > 0) {
            assert_int_equal(count(l, i, "sum"), 1);
            assert_int_equal(count(l, i, "agree"), 1);
            if (count(l, i, last) != 1)
                fail_msg("%zu lines before, %zu rows: the check is torn from its table on page %zu", before, rows, i + 1);
        }
        if (notes == 1)
            fail_msg("%zu lines before, %zu rows: one line of the note alone on page %zu", before, rows, i + 1);
        found += here;
        heads += heading && !again;
    }
    assert_int_equal(found, rows);
    assert_int_equal(heads, 1);
}

static void
nothing_is_torn(void **state)
{
    static const size_t rows[] = { 1, 2, 3, 6, 7, 12, 40, 100 };
    (void)state;
    for (size_t before = 0; before < 70; before++)
        for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
            struct laid l;
            lay(&l, before, rows[i], 30 + before * 2);
            is_whole(&l, before, rows[i]);
            canvas_release(&l.canvas);
        }
}

/* ---- lines that are read together ---- */

/* So many lines behind what they begin with; then a table of rows that begin so. */
static void
print_rows(FILE *out, const char *row, size_t rows, const char *third)
{
    static struct table_column columns[] = { { "row", false, false }, { "at", false, false }, { "", false, false }, { "remarks", false, false } };
    struct table t;
    columns[2].heading = third;
    table_open(&t, columns, 4);
    for (size_t i = 0; i < rows; i++) {
        table_cell(&t, row);
        table_cell(&t, "A1");
        table_cell(&t, "3");
        table_cell(&t, "as read");
    }
    assert_int_equal(table_print(&t, out), 0);
}

/* What sheets hold, `before` lines down: closures, an entry's words and its table, what is ordered, checks, notes. */
static void
print_sheet(FILE *out, size_t before)
{
    for (size_t i = 0; i < before; i++)
        fputs("  filler\n", out);
    fputs("\nClosure\n  close\n  close\n  close\n  close\n", out);
    print_rows(out, "long", 20, "BS");
    fputs("\nConcrete, entry 10\n  taken off\n\nHoles\n", out);
    print_rows(out, "hole", 3, "depth");
    fputs("\n3 of 3 holes\n  order\n  order\n  order\n  order\n", out);
    fputs("\nRow P, entry 12\n  string\n", out);
    print_rows(out, "gap", 8, "gap");
    fputs("  in line\n  own line\n\nRun of entry 7\n", out);
    print_rows(out, "shot", 9, "IS");
    fputs("  check of page 3\n    sum\n    agree\n  check of the run\n    sum\n    agree\n\n", out);
    for (size_t i = 0; i < 60; i++)
        fputs("Note that this is noted.\n", out);
    fputs("\n", out);
}

/* Texts that begin so stand all on the page that any of them stands on, and so does the other one. */
static const struct {
    const char *line;
    size_t lines;
    const char *with;
    size_t least;
} together[] = {
    { "close", 4, "Closure", 1 },
    { "taken off", 1, "hole", 3 },
    { "hole", 3, "Concrete, entry 10", 1 },
    { "order", 4, "3 of 3 holes", 1 },
    { "own line", 1, "in line", 1 },
    { "own line", 1, "gap", 2 },
    { "check of", 2, "agree", 2 },
    { "check of", 2, "shot", 2 },
};

static void
stands_together(const struct laid *l, size_t before)
{
    for (size_t i = 0; i < l->canvas.pages; i++) {
        for (size_t k = 0; k < sizeof together / sizeof together[0]; k++) {
            size_t here = count(l, i, together[k].line), with = count(l, i, together[k].with);
            if (here > 0 && (here != together[k].lines || with < together[k].least))
                fail_msg("%zu lines before: page %zu has %zu of %s, %zu of %s", before, i + 1, here, together[k].line, with, together[k].with);
        }
        size_t notes = count(l, i, "Note") + count(l, i, "that") + count(l, i, "this") + count(l, i, "is ") + count(l, i, "noted");
        bool only = notes > 0 && count(l, i, "check of") == 0;
        if (only && count(l, i, "Test (continued)") != 1)
            fail_msg("%zu lines before: page %zu has notes on nothing", before, i + 1);
    }
}

static void
what_is_read_together_stands_together(void **state)
{
    (void)state;
    for (size_t before = 0; before < 100; before++) {
        struct capture c;
        struct laid l;
        assert_int_equal(capture_open(&c), 0);
        print_sheet(c.out, before);
        lay_out(&l, &c);
        stands_together(&l, before);
        canvas_release(&l.canvas);
    }
}

/* A paragraph of six lines or fewer is not broken at all. */
static void
short_paragraphs_stay_whole(void **state)
{
    (void)state;
    for (size_t before = 30; before < 60; before++) {
        struct capture c;
        struct laid l;
        size_t lines = 0;
        assert_int_equal(capture_open(&c), 0);
        for (size_t i = 0; i < before; i++)
            fputs("  filler\n", c.out);
        fputs("\n", c.out);
        for (size_t i = 0; i < 45; i++)
            fputs("Note noted\n", c.out);
        lay_out(&l, &c);
        for (size_t i = 0; i < l.canvas.pages; i++) {
            size_t here = count(&l, i, "Note") + count(&l, i, "noted");
            if (here > 0 && lines > 0)
                fail_msg("%zu lines before: a paragraph goes over to page %zu", before, i + 1);
            lines += here;
        }
        assert_in_range(lines, 4, 6);
        canvas_release(&l.canvas);
    }
}

/* A run by height of instrument and the same by rise and fall: one of them has more columns, and both its type. */
static void
tables_of_one_kind_have_one_size(void **state)
{
    static const char wide[] = "a remark that is so very long that figures have to give way to it, if all of it is to stand on one line";
    static const struct table_column columns[2][6] = {
        { { "row", false, false }, { "set-up", false, false }, { "point", false, false }, { "remarks", false, false } },
        { { "row", false, false }, { "set-up", false, false }, { "point", false, false }, { "rise", true, false }, { "fall", true, false },
            { "remarks", false, false } },
    };
    struct capture c;
    struct laid l = { 0 };
    double size = 0;
    size_t cells = 0;
    (void)state;
    assert_int_equal(capture_open(&c), 0);
    for (size_t i = 0; i < 2; i++) {
        struct table t;
        size_t n = i == 0 ? 4 : 6;
        table_open(&t, columns[i], n);
        for (size_t k = 0; k + 1 < n; k++)
            table_cell(&t, k < 3 ? "cell" : "12345678901234567890123456789012345678901234");
        table_cell(&t, wide);
        assert_int_equal(table_print(&t, c.out), 0);
        fputs("  check\n\n", c.out);
    }
    lay_out(&l, &c);
    for (size_t i = 0; i < l.canvas.marks; i++) {
        const struct canvas_mark *m = &l.canvas.mark[i];
        if (m->kind != CANVAS_TEXT || strcmp(canvas_words(&l.canvas, m->text), "cell") != 0)
            continue;
        size = cells++ == 0 ? m->size : size;
        assert_true(size < PAGE_TEXT && m->size == size);
    }
    assert_int_equal(cells, 6);
    canvas_release(&l.canvas);
}

/* Pages that are gone back to are as they were. */
static void
pages_are_gone_back_to(void **state)
{
    static const struct page_words none;
    struct laid l = { 0 };
    const struct canvas_type type = { PAGE_TEXT, CANVAS_START, CANVAS_BLACK, false, 0 };
    (void)state;
    l.p = pages_begin(&l.canvas, &bare, &none);
    pages_turn(&l.p, "Test");
    pages_line(&l.p, type, "kept");
    struct pages_kept kept = pages_keep(&l.p);
    for (size_t i = 0; i < 100; i++)
        pages_line(&l.p, type, "gone");
    assert_true(l.canvas.pages > 1);
    pages_go_back(&l.p, &kept);
    pages_line(&l.p, type, "new");
    assert_int_equal(l.canvas.pages, 1);
    assert_int_equal(count(&l, 0, "kept"), 1);
    assert_int_equal(count(&l, 0, "gone"), 0);
    assert_int_equal(count(&l, 0, "new"), 1);
    canvas_release(&l.canvas);
}

/* A heading with its lines, and nothing else, is taken off what was captured. */
static void
headings_are_taken_off(void **state)
{
    struct capture c;
    (void)state;
    assert_int_equal(capture_open(&c), 0);
    fputs("Title\n\nClosure (measured)\n  one\n  two\n\nPad\n  level\n", c.out);
    assert_int_equal(capture_close(&c), 0);
    assert_int_equal(c.blocks, 6);
    assert_int_equal(capture_find(&c, "Closure ("), 1);
    capture_drop(&c, "Closure (");
    assert_int_equal(c.blocks, 3);
    assert_string_equal(c.text + c.block[1].text, "Pad");
    assert_string_equal(c.text + c.block[2].text, "level");
    assert_int_equal(capture_find(&c, "Closure ("), c.blocks);
    capture_drop(&c, "Closure (");
    assert_int_equal(c.blocks, 3);
    capture_release(&c);
}

/* "Heights" alone does not say whose: of headings that are repeated, the one that they stand under is said as well. */
static void
repeated_headings_say_whose(void **state)
{
    struct capture c;
    struct laid l = { 0 };
    (void)state;
    assert_int_equal(capture_open(&c), 0);
    for (char row = 'A'; row <= 'B'; row++) {
        fprintf(c.out, "\nRow %c, entry 9: 70 posts\n  the string\n\nPlumb %c\n  plumb\n\nHeights%s\n", row, row, row == 'A' ? ": read before entry 8" : "");
        for (size_t i = 0; i < 70; i++)
            fprintf(c.out, "  height\n");
    }
    lay_out(&l, &c);
    assert_int_equal(l.canvas.pages, 4);
    assert_int_equal(count(&l, 1, "Row A, entry 9: 70 posts (continued)"), 1);
    assert_int_equal(count(&l, 1, "Heights: read before entry 8 (continued)"), 1);
    assert_int_equal(count(&l, 3, "Row B, entry 9: 70 posts (continued)"), 1);
    assert_int_equal(count(&l, 3, "Heights (continued)"), 1);
    canvas_release(&l.canvas);
}

/* What does not fit on any page is set all the same, and nothing beyond the page. */
static void
what_is_too_much_goes_on(void **state)
{
    struct capture c;
    struct laid l = { 0 };
    (void)state;
    assert_int_equal(capture_open(&c), 0);
    fputs("  first\n", c.out);
    for (size_t i = 0; i < 150; i++)
        fprintf(c.out, "    line %zu\n", i);
    lay_out(&l, &c);
    size_t lines = 0;
    for (size_t i = 0; i < l.canvas.pages; i++)
        lines += count(&l, i, "line ");
    assert_int_equal(lines, 150);
    assert_int_equal(l.canvas.pages, 4); /* 513 points high, 8.5 of type: 45 lines */
    for (size_t i = 0; i < l.canvas.marks; i++)
        assert_true(l.canvas.mark[i].at.y <= l.p.bottom);
    canvas_release(&l.canvas);
}

/* Lines that a text is broken into at `most` points, / between them. */
static void
wraps_as(const char *text, double most, const char *want)
{
    char got[256] = "";
    for (const char *next; *text; text = next) {
        size_t n = page_wrap(text, PAGE_TEXT, false, most, &next);
        snprintf(got + strlen(got), sizeof got - strlen(got), "%.*s%s", (int)n, text, *next ? " / " : "");
    }
    assert_string_equal(got, want);
}

static void
no_value_is_broken(void **state)
{
    (void)state;
    double to_feet = canvas_text_width("the mark stands at 4'", PAGE_TEXT, false) + 1;
    wraps_as("the mark stands at 4' 7-3/8\" now", to_feet, "the mark stands at / 4' 7-3/8\" now");
    double to_size = canvas_text_width("it is short by 3/4", PAGE_TEXT, false) + 1;
    wraps_as("it is short by 3/4 in, said", to_size, "it is short by / 3/4 in, said");
    wraps_as("it is short by 9 ft 4-1/2 in", to_size, "it is short by / 9 ft 4-1/2 in");
    double to_entry = canvas_text_width("moved since entry", PAGE_TEXT, false) + 1;
    wraps_as("moved since entry 4; good", to_entry, "moved since / entry 4; good");
    wraps_as("4' 7-3/8\"", 10, "4' / 7-3/8\""); /* no room on any line */
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_torn),
        cmocka_unit_test(what_is_read_together_stands_together),
        cmocka_unit_test(short_paragraphs_stay_whole),
        cmocka_unit_test(tables_of_one_kind_have_one_size),
        cmocka_unit_test(pages_are_gone_back_to),
        cmocka_unit_test(headings_are_taken_off),
        cmocka_unit_test(repeated_headings_say_whose),
        cmocka_unit_test(what_is_too_much_goes_on),
        cmocka_unit_test(no_value_is_broken),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
