/* Moves in a crew's words. */
#include "near.h"

#include "../../src/sheet/parts.h"

#include "rodbook/sheet.h"

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
    };
    return cmocka_run_group_tests_name("format", tests, NULL, NULL);
}
