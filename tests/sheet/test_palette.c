/* test_palette.c - the inks, and the shades of a picture as a short table */
#include "near.h"

#include "../../src/sheet/canvas_out.h"
#include "../../src/sheet/palette.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define PIXELS 5000

static uint32_t ink[CANVAS_INKS];

static int
mix_inks(void **state)
{
    (void)state;
    for (size_t i = 0; i < CANVAS_INKS; i++)
        ink[i] = (uint32_t)(canvas_ink_rgb[i][0] << 16 | canvas_ink_rgb[i][1] << 8 | canvas_ink_rgb[i][2]);
    return 0;
}

/* Relative luminance of an sRGB colour. Source: WCAG 2.2, "relative luminance". */
static double
luminance(uint32_t c)
{
    static const double share[] = { 0.0722, 0.7152, 0.2126 }; /* of blue, green, red */
    double sum = 0;
    for (int k = 0; k < 3; k++) {
        double v = (double)(c >> 8 * k & 0xff) / 255;
        sum += share[k] * (v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4));
    }
    return sum;
}

/* What is written in stands out as WCAG 2.2, 1.4.6 wants it; raise and lower are apart on a grey print too. */
static void
inks_stand_out(void **state)
{
    (void)state;
    for (size_t i = 0; i < CANVAS_INKS; i++)
        if (i != CANVAS_PALE && i != CANVAS_WHITE) {
            assert_true(1.05 / (luminance(ink[i]) + 0.05) >= 7);
            assert_true((luminance(ink[CANVAS_PALE]) + 0.05) / (luminance(ink[i]) + 0.05) >= 4.5);
        }
    assert_true((luminance(ink[CANVAS_DOWN]) + 0.05) / (luminance(ink[CANVAS_UP]) + 0.05) >= 1.4);
}

/* The farthest of red, green and blue. */
static int
off(uint32_t a, uint32_t b)
{
    int most = 0;
    for (int shift = 0; shift < 24; shift += 8) {
        int d = abs((int)(a >> shift & 0xff) - (int)(b >> shift & 0xff));
        most = d > most ? d : most;
    }
    return most;
}

/* A picture's numbers looked up again. */
static void
back(const uint32_t *pixel, size_t n, struct palette *p, uint32_t *got)
{
    unsigned char *number = malloc(n + 1);
    assert_non_null(number);
    number[n] = 0xa5;
    assert_int_equal(palette_sort(pixel, n, ink, CANVAS_INKS, p, number), 0);
    assert_int_equal(number[n], 0xa5);
    assert_in_range(p->colours, 1, PALETTE_MOST);
    for (size_t i = 0; i < n; i++) {
        assert_true(number[i] < p->colours);
        got[i] = p->colour[number[i]];
    }
    free(number);
}

/* Ink over ink in so many parts of 255, as the edge of a letter is. */
static uint32_t
blend(uint32_t over, uint32_t under, unsigned part)
{
    uint32_t c = 0;
    for (int shift = 0; shift < 24; shift += 8)
        c |= ((over >> shift & 0xff) * part + (under >> shift & 0xff) * (255 - part)) / 255 << shift;
    return c;
}

/* Edges of every part, met before the inks themselves, and runs of every length about those that are looked at together. */
static void
inks_stay_and_edges_nearly(void **state)
{
    static uint32_t pixel[PIXELS], got[PIXELS];
    struct palette p;
    size_t n = 0;
    (void)state;
    for (unsigned part = 1; part < 255; part++) {
        pixel[n++] = blend(ink[CANVAS_BLACK], ink[CANVAS_WHITE], part);
        pixel[n++] = blend(ink[CANVAS_DOWN], ink[CANVAS_WHITE], part);
    }
    for (size_t run = 1; run < 40; run++)
        for (size_t i = 0; i < 2 * run; i++)
            pixel[n++] = 0xff000000 | ink[i < run ? CANVAS_BLACK : CANVAS_WHITE]; /* whatever the upper byte is */
    for (size_t k = 0; k < CANVAS_INKS; k++)
        for (size_t i = 0; i < 30; i++)
            pixel[n++] = ink[k];
    back(pixel, n, &p, got);
    for (size_t i = 0; i < n; i++) {
        assert_in_range(off(got[i], pixel[i] & 0xffffff), 0, 7);
        for (size_t k = 0; k < CANVAS_INKS; k++)
            if ((pixel[i] & 0xffffff) == ink[k])
                assert_int_equal(got[i], ink[k]);
    }
    assert_int_equal(p.colour[0], ink[CANVAS_WHITE]); /* the commonest: white and what is next to it */
}

/* More shades than a byte has numbers: the commonest stay, each other goes to the nearest of them. */
static void
too_many_shades_go_to_the_nearest(void **state)
{
    static uint32_t pixel[PIXELS], got[PIXELS], again[PIXELS];
    struct palette p, q;
    uint64_t seed = 20260502;
    (void)state;
    for (size_t i = 0; i < PIXELS; i++) {
        seed = seed * 6364136223846793005u + 1442695040888963407u;
        pixel[i] = i % 5 == 0 ? 0x336699 : (uint32_t)(seed >> 40);
    }
    back(pixel, PIXELS, &p, got);
    assert_int_equal(p.colours, PALETTE_MOST);
    assert_int_equal(p.colour[0], 0x336699);
    size_t moved = 0;
    for (size_t i = 0; i < PIXELS; i++) {
        bool kept = false; /* within its step */
        for (size_t k = 0; k < p.colours; k++)
            kept = kept || off(p.colour[k], pixel[i]) <= 7;
        if (off(got[i], pixel[i]) <= 7)
            continue;
        assert_false(kept && (got[i] & 0xf8f8f8) == (pixel[i] & 0xf8f8f8));
        moved++;
    }
    assert_in_range(moved, PIXELS / 2, PIXELS);
    back(pixel, PIXELS, &q, again);
    assert_memory_equal(p.colour, q.colour, sizeof p.colour);
    assert_memory_equal(got, again, sizeof got);
}

static void
one_pixel_and_one_colour(void **state)
{
    uint32_t pixel[9] = { 0x010203, 0x010203, 0x010203, 0x010203, 0x010203, 0x010203, 0x010203, 0x010203, 0x010203 }, got[9];
    struct palette p;
    (void)state;
    for (size_t n = 1; n <= 9; n++) {
        back(pixel, n, &p, got);
        assert_int_equal(p.colours, 1);
        assert_int_equal(got[n - 1], 0x010203);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(inks_stand_out),
        cmocka_unit_test(inks_stay_and_edges_nearly),
        cmocka_unit_test(too_many_shades_go_to_the_nearest),
        cmocka_unit_test(one_pixel_and_one_colour),
    };
    return cmocka_run_group_tests(tests, mix_inks, NULL);
}
