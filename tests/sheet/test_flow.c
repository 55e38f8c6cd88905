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

static void
lay(struct laid *l, size_t before, size_t rows, size_t words)
{
    static const struct page_words none;
    struct capture c;
    memset(l, 0, sizeof *l);
    assert_int_equal(capture_open(&c), 0);
    print(c.out, before, rows, words);
    assert_int_equal(capture_close(&c), 0);
    l->p = pages_begin(&l->canvas, &bare, &none);
    pages_turn(&l->p, "Test");
    flow_blocks(&l->p, &c, 0);
    assert_false(l->canvas.no_memory);
    capture_release(&c);
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

/* "Heights" alone does not say whose: of headings that are repeated, the one that they stand under is said as well. */
static void
repeated_headings_say_whose(void **state)
{
    static const struct page_words none;
    struct capture c;
    struct laid l = { 0 };
    (void)state;
    assert_int_equal(capture_open(&c), 0);
    for (char row = 'A'; row <= 'B'; row++) {
        fprintf(c.out, "\nRow %c, entry 9: 70 posts\n  the string\n\nPlumb %c\n  plumb\n\nHeights%s\n", row, row, row == 'A' ? ": read before entry 8" : "");
        for (size_t i = 0; i < 70; i++)
            fprintf(c.out, "  height\n");
    }
    assert_int_equal(capture_close(&c), 0);
    l.p = pages_begin(&l.canvas, &bare, &none);
    pages_turn(&l.p, "Test");
    flow_blocks(&l.p, &c, 0);
    assert_int_equal(l.canvas.pages, 4);
    assert_int_equal(count(&l, 1, "Row A, entry 9: 70 posts (continued)"), 1);
    assert_int_equal(count(&l, 1, "Heights: read before entry 8 (continued)"), 1);
    assert_int_equal(count(&l, 3, "Row B, entry 9: 70 posts (continued)"), 1);
    assert_int_equal(count(&l, 3, "Heights (continued)"), 1);
    capture_release(&c);
    canvas_release(&l.canvas);
}

/* What does not fit on any page is set all the same, and nothing beyond the page. */
static void
what_is_too_much_goes_on(void **state)
{
    struct capture c;
    struct laid l = { 0 };
    static const struct page_words none;
    (void)state;
    assert_int_equal(capture_open(&c), 0);
    fputs("  first\n", c.out);
    for (size_t i = 0; i < 150; i++)
        fprintf(c.out, "    line %zu\n", i);
    assert_int_equal(capture_close(&c), 0);
    l.p = pages_begin(&l.canvas, &bare, &none);
    pages_turn(&l.p, "Test");
    flow_blocks(&l.p, &c, 0);
    size_t lines = 0;
    for (size_t i = 0; i < l.canvas.pages; i++)
        lines += count(&l, i, "line ");
    assert_int_equal(lines, 150);
    assert_int_equal(l.canvas.pages, 4); /* 513 points high, 8.5 of type: 45 lines */
    for (size_t i = 0; i < l.canvas.marks; i++)
        assert_true(l.canvas.mark[i].at.y <= l.p.bottom);
    capture_release(&c);
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
        cmocka_unit_test(repeated_headings_say_whose),
        cmocka_unit_test(what_is_too_much_goes_on),
        cmocka_unit_test(no_value_is_broken),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
