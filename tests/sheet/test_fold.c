/* test_fold.c - lines of text sheets, none wider than a page, whatever pieces they come in */
#include "../near.h"

#include "../../src/sheet/fold.h"

#include "rodbook/sheet.h"
#include "rodbook/text.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* What comes out when `text` goes in by pieces of `piece` bytes; free() it. */
static char *
folded(const char *text, size_t piece)
{
    char *out = NULL;
    size_t n = 0;
    FILE *under = open_memstream(&out, &n);
    FILE *page = sheet_page(under);
    assert_non_null(page);
    for (size_t at = 0, size = strlen(text); at < size; at += piece) {
        fwrite(text + at, 1, size - at < piece ? size - at : piece, page);
        assert_int_equal(fflush(page), 0);
    }
    assert_int_equal(fclose(page), 0);
    assert_int_equal(fclose(under), 0);
    return out;
}

static void
assert_folded(const char *text, const char *want)
{
    for (size_t piece = 1; piece < 300; piece += 7) {
        char *got = folded(text, piece);
        assert_string_equal(got, want);
        free(got);
    }
}

#define TEN "1234567 9 "
#define FIFTY TEN TEN TEN TEN TEN

static void
what_fits_stays_as_it_is(void **state)
{
    (void)state;
    assert_folded("", "");
    assert_folded("\n\n", "\n\n");
    assert_folded("no line end", "no line end");
    assert_folded("a\n" FIFTY TEN TEN TEN TEN "123456789x\nb  c\n", "a\n" FIFTY TEN TEN TEN TEN "123456789x\nb  c\n"); /* 100 */
}

static void
a_long_line_is_broken_at_a_blank(void **state)
{
    (void)state;
    assert_folded("a\n" FIFTY FIFTY "x\nb\n", "a\n" FIFTY TEN TEN TEN TEN "1234567 9\n    x\nb\n");
    assert_folded("  " FIFTY TEN TEN TEN TEN "1234567 9\n", "  " FIFTY TEN TEN TEN TEN "1234567\n      9\n"); /* and stands in from the line's own begin */
    assert_folded(FIFTY TEN TEN TEN TEN "1234567 9   x\n", FIFTY TEN TEN TEN TEN "1234567 9\n    x\n"); /* blanks there are dropped */
}

static void
a_word_without_blanks_is_broken_where_the_page_ends(void **state)
{
    char word[252], *got;
    (void)state;
    memset(word, 'w', 250);
    strcpy(word + 250, "\n");
    got = folded(word, 250);
    assert_int_equal(strcspn(got, "\n"), 100);
    assert_memory_equal(got + 100, "\n    wwww", 9);
    assert_int_equal(strlen(got), 250 + 3 + 2 * 4);
    free(got);
}

/* Wide letters count two columns, and none is cut in half; letters of several bytes do not break what fits. */
static void
columns_are_counted_not_bytes(void **state)
{
    char text[400] = "", *got;
    (void)state;
    for (int i = 0; i < 60; i++)
        strcat(text, "\xe6\x9f\xb1");
    strcat(text, "\n");
    got = folded(text, 1);
    assert_int_equal(strcspn(got, "\n"), 50 * 3);
    assert_string_equal(got + 150 + 5, text + 150);
    free(got);
    text[0] = '\0';
    for (int i = 0; i < 99; i++)
        strcat(text, "\xc3\xbc");
    assert_folded(text, text);
}

/* Of all blanks in `text`, those within a value are shown as _. */
static void
assert_joined(const char *text, const char *want)
{
    char got[128];
    size_t n = strlen(text);
    for (size_t i = 0; i <= n; i++)
        got[i] = text[i];
    for (size_t i = 0; i < n; i++)
        if (text[i] == ' ' && fold_joins(text, n, i))
            got[i] = '_';
    assert_string_equal(got, want);
}

/* Nobody reads 4' at the end of one line and 7-3/8" at the begin of the next as one length. */
static void
values_stay_on_one_line(void **state)
{
    (void)state;
    assert_joined("at 4' 7-3/8\", or 0' 11\" (12' 0\")", "at 4'_7-3/8\", or 0'_11\" (12'_0\")");
    assert_joined("9 ft 4-1/2 in, then 3/4 in in 4 ft", "9_ft_4-1/2_in, then 3/4_in in 4_ft");
    assert_joined("falling 1 in 120 towards A", "falling 1_in_120 towards A");
    assert_joined("row 5 of entry 12; sight 38.0, +- 5 mm.", "row_5 of entry_12; sight_38.0, +-_5_mm.");
    assert_joined("the 5 posts in A are up 1/4 in", "the 5 posts in A are up_1/4_in");
    assert_joined("10 % of 42.24 ft3  in all", "10_% of 42.24_ft3  in all");
    assert_folded(FIFTY TEN TEN TEN TEN "123 4' 7-3/8\"\n", FIFTY TEN TEN TEN TEN "123\n    4' 7-3/8\"\n");
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_fits_stays_as_it_is),
        cmocka_unit_test(a_long_line_is_broken_at_a_blank),
        cmocka_unit_test(a_word_without_blanks_is_broken_where_the_page_ends),
        cmocka_unit_test(columns_are_counted_not_bytes),
        cmocka_unit_test(values_stay_on_one_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
