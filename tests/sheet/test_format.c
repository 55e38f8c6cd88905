/* Moves in a crew's words, and remarks that are long. */
#include "near.h"

#include "../../src/sheet/parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static struct sheet_style
style_of(enum length_unit unit, length least)
{
    struct record r = { .job = { .unit = unit, .least = least } };
    return sheet_style_of(&r);
}

static const char *
move(length size, struct sheet_style style)
{
    static char out[SHEET_WORDS];
    sheet_move_words(out, size, &style);
    return out;
}

static void
a_crew_hears_inches_or_millimetres(void **state)
{
    struct sheet_style ft = style_of(LENGTH_BARE_FT, LENGTH_FT / 100), in = style_of(LENGTH_BARE_FT_IN, LENGTH_IN / 16),
                       m = style_of(LENGTH_BARE_M, LENGTH_MM);
    (void)state;
    assert_string_equal(move(9525000, ft), "up 3/8 in");                     /* 3/8 in */
    assert_string_equal(move(-12 * LENGTH_MM, m), "down 12 mm");
    assert_string_equal(move(LENGTH_FT + 2 * LENGTH_IN + LENGTH_IN / 4, in), "up 1 ft 2-1/4 in");
    assert_string_equal(move(-LENGTH_FT - LENGTH_IN * 3 / 16, in), "down 1 ft 0-3/16 in");
    assert_string_equal(move(LENGTH_IN * 11 + LENGTH_IN * 63 / 64, in), "up 1 ft 0 in"); /* rounds over a foot */
    assert_string_equal(move(1, in), "up less than 1/16 in");
    assert_string_equal(move(-400000, m), "down less than 1 mm");
    assert_string_equal(move(1234567890, m), "up 1235 mm");
}

static void
figures_follow_the_least_division(void **state)
{
    (void)state;
    assert_int_equal(style_of(LENGTH_BARE_FT, LENGTH_FT / 100).elevation.places, 2);
    assert_int_equal(style_of(LENGTH_BARE_FT, LENGTH_FT / 1000).elevation.places, 3);
    assert_int_equal(style_of(LENGTH_BARE_FT, LENGTH_FT / 200).elevation.places, 3);
    assert_int_equal(style_of(LENGTH_BARE_M, LENGTH_MM).elevation.places, 3);
    assert_int_equal(style_of(LENGTH_BARE_M, LENGTH_MM / 10).elevation.places, 4);
    assert_int_equal(style_of(LENGTH_BARE_FT_IN, LENGTH_IN / 8).elevation.parts, 8);
    assert_int_equal(style_of(LENGTH_BARE_FT_IN, LENGTH_IN / 32).elevation.parts, 32);
    struct record r = { .job = { .unit = LENGTH_BARE_FT, .least = LENGTH_FT / 100 }, .three_wire = true };
    assert_int_equal(sheet_style_of(&r).elevation.places, 3); /* means go one figure further */
}

static const char *
sure(double sigma, struct sheet_style style)
{
    static char out[SHEET_WORDS];
    sheet_sigma_words(out, sigma, &style);
    return out;
}

/* One step finer than moves; what is not known is blank, and what is too small to show is not 0. */
static void
deviations_go_one_step_finer_than_moves(void **state)
{
    struct sheet_style ft = style_of(LENGTH_BARE_FT, LENGTH_FT / 100), in = style_of(LENGTH_BARE_FT_IN, LENGTH_IN / 64),
                       m = style_of(LENGTH_BARE_M, LENGTH_MM);
    (void)state;
    assert_string_equal(sure(0.0254 / 16, ft), "1/16");
    assert_string_equal(sure(0.0254 / 16 * 1.49, ft), "1/16");
    assert_string_equal(sure(0.0254 / 16 * 1.51, ft), "1/8");
    assert_string_equal(sure(0.0254 / 16 * 0.49, ft), "<1/16");
    assert_string_equal(sure(0.0254 * 1.25, ft), "1-1/4");
    assert_string_equal(sure(0.0254 / 64, in), "1/64");
    assert_string_equal(sure(0.00124, m), "1.2");
    assert_string_equal(sure(0.00004, m), "<0.1");
    assert_string_equal(sure(0, m), "0");
    assert_string_equal(sure(-1, m), "");
    assert_string_equal(sure(NAN, m), "");
}

/* What has no room in a remark is seen to be left off, and no letter is cut in two. */
static void
long_remarks_end_between_letters(void **state)
{
    (void)state;
    for (size_t before = 0; before < 9; before++) {
        struct remark r = { 0 };
        char note[3 * SHEET_REMARK + 1] = "";
        for (size_t i = 0; i < SHEET_REMARK; i++)
            memcpy(note + 3 * i, "\xe6\xb0\xb4", 4); /* three bytes a letter */
        remark_add(&r, "%.*s", (int)before, "unchecked");
        remark_add(&r, "%s", note);
        remark_add(&r, "moved");
        size_t n = strlen(r.text);
        assert_in_range(n, SHEET_REMARK - 4, SHEET_REMARK - 1);
        assert_string_equal(r.text + n - 4, " ...");
        const char *letters = before > 0 ? strstr(r.text, "; ") + 2 : r.text;
        assert_int_equal((r.text + n - 4 - letters) % 3, 0);
    }
    struct remark fits = { 0 };
    remark_add(&fits, "%*s", SHEET_REMARK - 1, "whole");
    assert_int_equal(strlen(fits.text), SHEET_REMARK - 1);
    assert_string_equal(fits.text + SHEET_REMARK - 6, "whole");
}

/* A word of more bytes than a line has stands whole. */
static void
a_note_without_blanks_is_told_whole(void **state)
{
    char note[1201] = "", *text = NULL;
    size_t n = 0;
    (void)state;
    for (size_t i = 0; i < 400; i++)
        memcpy(note + 3 * i, "\xe6\xb0\xb4", 4);
    FILE *out = open_memstream(&text, &n);
    assert_non_null(out);
    tell_line(out, "", "  ", "source: %s", note);
    assert_int_equal(fclose(out), 0);
    assert_non_null(strstr(text, note));
    free(text);
}

static const char *
limit(double nm, struct sheet_style style)
{
    static char out[SHEET_WORDS];
    sheet_limit_words(out, nm, &style);
    return out;
}

static const char *
misclosure(length nm, struct sheet_style style)
{
    static char out[SHEET_WORDS];
    sheet_misclosure_words(out, nm, &style);
    return out;
}

/* A rod in sixteenths has no 0.125 in; but 0.177 in is no 3/16, and a line that misses by 3/16 is outside. */
static void
limits_are_fractions_where_that_is_the_truth(void **state)
{
    struct sheet_style in = style_of(LENGTH_BARE_FT_IN, LENGTH_IN / 16), ft = style_of(LENGTH_BARE_FT, LENGTH_FT / 100);
    (void)state;
    assert_string_equal(limit(LENGTH_IN / 8.0, in), "1/8 in");
    assert_string_equal(limit(LENGTH_IN / 8.0 * sqrt(2), in), "0.177 in");
    assert_string_equal(limit(LENGTH_IN * 13.5, in), "1 ft 1-1/2 in");
    assert_string_equal(limit(LENGTH_IN / 128.0, in), "0.008 in");
    assert_string_equal(limit(LENGTH_FT / 100.0 * sqrt(3), ft), "0.0173 ft");
    assert_string_equal(misclosure(-LENGTH_IN / 8, in), "-1/8 in");
    assert_string_equal(misclosure(LENGTH_IN * 17 / 16, in), "+1-1/16 in");
    assert_string_equal(misclosure(0, in), "0");
    assert_string_equal(misclosure(LENGTH_MM, in), "+0.039 in");
    assert_string_equal(misclosure(-LENGTH_FT / 50, ft), "-0.0200 ft");
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_crew_hears_inches_or_millimetres),
        cmocka_unit_test(figures_follow_the_least_division),
        cmocka_unit_test(limits_are_fractions_where_that_is_the_truth),
        cmocka_unit_test(deviations_go_one_step_finer_than_moves),
        cmocka_unit_test(long_remarks_end_between_letters),
        cmocka_unit_test(a_note_without_blanks_is_told_whole),
    };
    return cmocka_run_group_tests_name("format", tests, NULL, NULL);
}
