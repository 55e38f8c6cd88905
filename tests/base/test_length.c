/* Lengths as a crew writes them, to the nanometre and back. */
#include "near.h"

#include "rodbook/length.h"

#include <stdio.h>
#include <string.h>

static length
read_ok(const char *text, enum length_unit bare)
{
    length v = -12345;
    enum length_status s = length_read(text, strlen(text), bare, &v);
    if (s != LENGTH_OK)
        fail_msg("%s: status %d", text, (int)s);
    return v;
}

/* 1 ft = 304 800 000 nm and 1 in = 25 400 000 nm exactly; the products are by hand. */
static void
reads_every_form(void **state)
{
    static const struct {
        const char *text;
        enum length_unit bare;
        length nm;
    } forms[] = {
        { "4.62", LENGTH_BARE_FT, 1408176000 },
        { "4.62 ft", LENGTH_BARE_M, 1408176000 },
        { "55.44 in", LENGTH_BARE_FT, 1408176000 },
        { "1.8 km", LENGTH_BARE_FT, 1800000000000 },
        { "2 mi", LENGTH_BARE_M, 3218688000000 },
        { "4' 7-3/8\"", LENGTH_BARE_FT_IN, 1406525000 },
        { "4 ft 7 3/8 in", LENGTH_BARE_FT_IN, 1406525000 },
        { "4'7-3/8\"", LENGTH_BARE_FT_IN, 1406525000 },
        { "4' 7\"", LENGTH_BARE_FT_IN, 1397000000 },
        { "4'-7\"", LENGTH_BARE_FT_IN, 1397000000 },
        { "4'", LENGTH_BARE_FT_IN, 1219200000 },
        { "4' 0-3/8\"", LENGTH_BARE_FT_IN, 1228725000 },
        { "4' 3/8\"", LENGTH_BARE_FT_IN, 1228725000 },
        { "3/8 in", LENGTH_BARE_M, 9525000 },
        { "7-3/8\"", LENGTH_BARE_FT_IN, 187325000 },
        { "1.408", LENGTH_BARE_M, 1408000000 },
        { "1408 mm", LENGTH_BARE_FT, 1408000000 },
        { "140.8 cm", LENGTH_BARE_FT, 1408000000 },
        { "-1.5", LENGTH_BARE_M, -1500000000 },
        { "-4' 7-3/8\"", LENGTH_BARE_FT_IN, -1406525000 },
        { "+0.01 ft", LENGTH_BARE_FT_IN, 3048000 },
        { "0", LENGTH_BARE_FT, 0 },
        { "0.001", LENGTH_BARE_FT, 304800 },
        { "1/64 in", LENGTH_BARE_FT, 396875 },
        { "0.000000001", LENGTH_BARE_M, 1 },
        { "4.6200000000000", LENGTH_BARE_FT, 1408176000 },
        { "10000 km", LENGTH_BARE_FT, LENGTH_MOST },
    };
    (void)state;
    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
        length v = read_ok(forms[i].text, forms[i].bare);
        if (v != forms[i].nm)
            fail_msg("%s: got %lld, want %lld", forms[i].text, (long long)v, (long long)forms[i].nm);
    }
}

static void
refuses_with_its_own_status(void **state)
{
    static const struct {
        const char *text;
        enum length_unit bare;
        enum length_status status;
    } bad[] = {
        { "", LENGTH_BARE_FT, LENGTH_EEMPTY },
        { "4,62", LENGTH_BARE_FT, LENGTH_ECOMMA },
        { "1,000.5", LENGTH_BARE_M, LENGTH_ECOMMA },
        { "4.62", LENGTH_BARE_FT_IN, LENGTH_EBARE },
        { "0", LENGTH_BARE_FT_IN, LENGTH_EBARE },
        { "3/8", LENGTH_BARE_FT, LENGTH_EFRACTION },
        { "4 3/8", LENGTH_BARE_FT, LENGTH_EFRACTION },
        { "4' 7-3/8", LENGTH_BARE_FT_IN, LENGTH_EFRACTION },
        { "1e3", LENGTH_BARE_M, LENGTH_EEXPONENT },
        { "1E-3", LENGTH_BARE_M, LENGTH_EEXPONENT },
        { "4 yd", LENGTH_BARE_FT, LENGTH_EUNIT },
        { "4 FT", LENGTH_BARE_FT, LENGTH_EUNIT },
        { "4' 13\"", LENGTH_BARE_FT_IN, LENGTH_EINCHES },
        { "4' 7-8/8\"", LENGTH_BARE_FT_IN, LENGTH_EINCHES },
        { "4' 7-3/0\"", LENGTH_BARE_FT_IN, LENGTH_EINCHES },
        { "0.000001", LENGTH_BARE_FT, LENGTH_EFINE },
        { "1/3 in", LENGTH_BARE_FT, LENGTH_EFINE },
        { "0.0000000001", LENGTH_BARE_M, LENGTH_EFINE },
        { "10001 km", LENGTH_BARE_M, LENGTH_ERANGE },
        { "99999999999999999999", LENGTH_BARE_M, LENGTH_ERANGE },
        { "4.6.2", LENGTH_BARE_FT, LENGTH_EFORM },
        { "4 62", LENGTH_BARE_FT, LENGTH_EFORM },
        { "4.", LENGTH_BARE_FT, LENGTH_EFORM },
        { ".5", LENGTH_BARE_FT, LENGTH_EFORM },
        { "-", LENGTH_BARE_FT, LENGTH_EFORM },
        { "--4", LENGTH_BARE_FT, LENGTH_EFORM },
        { "4' -7\"", LENGTH_BARE_FT_IN, LENGTH_EFORM },
        { "4 ft -7 in", LENGTH_BARE_FT_IN, LENGTH_EFORM },
        { "4'-", LENGTH_BARE_FT_IN, LENGTH_EFORM },
        { "4 ft 7", LENGTH_BARE_FT, LENGTH_EFORM },
        { " 4", LENGTH_BARE_FT, LENGTH_EFORM },
        { "nan", LENGTH_BARE_FT, LENGTH_EFORM },
        { "0x10", LENGTH_BARE_FT, LENGTH_EUNIT },
    };
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        length v = 4711;
        enum length_status s = length_read(bad[i].text, strlen(bad[i].text), bad[i].bare, &v);
        if (s != bad[i].status)
            fail_msg("'%s': status %d, want %d", bad[i].text, (int)s, (int)bad[i].status);
        assert_same(v, 4711); /* untouched */
        assert_true(strlen(length_advice(s, bad[i].bare)) > 10);
    }
}

/* A text cut off anywhere, and every single byte put anywhere, is read or refused, never worse. */
static void
survives_any_text(void **state)
{
    static const char *const seeds[] = { "4' 7-3/8\"", "4 ft 7 3/8 in", "-12.625 mm", "1.8 km" };
    (void)state;
    for (size_t s = 0; s < sizeof seeds / sizeof seeds[0]; s++)
        for (size_t i = 0; i <= strlen(seeds[s]); i++)
            for (int c = 0; c < 256; c++) {
                char text[64];
                length v;
                size_t n = strlen(seeds[s]);
                memcpy(text, seeds[s], i);
                text[i] = (char)c;
                memcpy(text + i + 1, seeds[s] + i, n - i);
                for (int bare = LENGTH_BARE_FT; bare <= LENGTH_BARE_M; bare++)
                    if (length_read(text, n + 1, (enum length_unit)bare, &v) == LENGTH_OK)
                        assert_true(v <= LENGTH_MOST && v >= -LENGTH_MOST);
            }
}

static const char *
print(length v, enum length_form form, int places, int parts)
{
    static char out[LENGTH_TEXT];
    size_t n = length_print(out, v, (struct length_style){ form, places, parts });
    assert_int_equal(n, strlen(out));
    return out;
}

static void
rounds_half_away_from_zero(void **state)
{
    (void)state;
    assert_string_equal(print(1408176000, LENGTH_AS_FT, 2, 0), "4.62");
    assert_string_equal(print(1409700000, LENGTH_AS_FT, 2, 0), "4.63"); /* 4.625 ft */
    assert_string_equal(print(-1409700000, LENGTH_AS_FT, 2, 0), "-4.63");
    assert_string_equal(print(1409699999, LENGTH_AS_FT, 2, 0), "4.62");
    assert_string_equal(print(1408500000, LENGTH_AS_M, 3, 0), "1.409");
    assert_string_equal(print(-1408499999, LENGTH_AS_M, 3, 0), "-1.408");
    assert_string_equal(print(-499999, LENGTH_AS_MM, 0, 0), "0"); /* no sign on nought */
    assert_string_equal(print(999500000, LENGTH_AS_M, 3, 0), "1.000");
    assert_string_equal(print(12500000, LENGTH_AS_MM, 0, 0), "13");
    assert_string_equal(print(INT64_MAX, LENGTH_AS_M, 9, 0), "9223372036.854775807");
    assert_string_equal(print(INT64_MIN, LENGTH_AS_M, 9, 0), "-9223372036.854775808");
    assert_string_equal(print(INT64_MAX, LENGTH_AS_FT, 9, 0), "30260406945.061600417");
}

static void
prints_feet_and_inches(void **state)
{
    (void)state;
    assert_string_equal(print(1406525000, LENGTH_AS_FT_IN, 0, 16), "4' 7-3/8\"");
    assert_string_equal(print(-1406525000, LENGTH_AS_FT_IN, 0, 16), "-4' 7-3/8\"");
    assert_string_equal(print(1228725000, LENGTH_AS_FT_IN, 0, 8), "4' 0-3/8\"");
    assert_string_equal(print(1219200000, LENGTH_AS_FT_IN, 0, 8), "4' 0\"");
    assert_string_equal(print(9525000, LENGTH_AS_FT_IN, 0, 32), "3/8\"");
    assert_string_equal(print(0, LENGTH_AS_FT_IN, 0, 8), "0\"");
    assert_string_equal(print(304799999, LENGTH_AS_FT_IN, 0, 16), "1' 0\""); /* carries into the foot */
    assert_string_equal(print(1587500, LENGTH_AS_IN, 0, 8), "1/8");          /* half of 1/8 goes up */
    assert_string_equal(print(1587499, LENGTH_AS_IN, 0, 8), "0");
    assert_string_equal(print(187325000, LENGTH_AS_IN, 0, 16), "7-3/8");
}

/* Everything that a rod of 30 ft can show: hundredths and thousandths of a foot, 64ths of an inch, millimetres. */
static void
goes_round_exactly(void **state)
{
    static const struct {
        length step;
        enum length_form form;
        enum length_unit bare;
        int places, parts;
    } rods[] = {
        { LENGTH_FT / 1000, LENGTH_AS_FT, LENGTH_BARE_FT, 3, 0 },
        { LENGTH_FT / 100, LENGTH_AS_FT, LENGTH_BARE_FT, 2, 0 },
        { LENGTH_IN / 64, LENGTH_AS_FT_IN, LENGTH_BARE_FT_IN, 0, 64 },
        { LENGTH_IN / 32, LENGTH_AS_FT_IN, LENGTH_BARE_FT_IN, 0, 32 },
        { LENGTH_IN / 16, LENGTH_AS_FT_IN, LENGTH_BARE_FT_IN, 0, 16 },
        { LENGTH_IN / 8, LENGTH_AS_FT_IN, LENGTH_BARE_FT_IN, 0, 8 },
        { LENGTH_MM, LENGTH_AS_M, LENGTH_BARE_M, 3, 0 },
        { LENGTH_MM / 10, LENGTH_AS_M, LENGTH_BARE_M, 4, 0 },
    };
    (void)state;
    for (size_t i = 0; i < sizeof rods / sizeof rods[0]; i++)
        for (length v = -30 * LENGTH_FT / rods[i].step * rods[i].step; v <= 30 * LENGTH_FT; v += rods[i].step)
            assert_same(read_ok(print(v, rods[i].form, rods[i].places, rods[i].parts), rods[i].bare), v);
}

static void
divides_half_away_from_zero(void **state)
{
    (void)state;
    assert_same(length_divide(7, 1, 2), 4);
    assert_same(length_divide(-7, 1, 2), -4);
    assert_same(length_divide(10, 1, 3), 3);
    assert_same(length_divide(11, 1, 3), 4);
    assert_same(length_divide(-11, 1, 3), -4);
    assert_same(length_divide(INT64_C(4000000000000000000), 3, 4), INT64_C(3000000000000000000));
    assert_same(length_divide(INT64_C(-4000000000000000001), 3, 6), INT64_C(-2000000000000000001));
}

static void
adds_within_64_bits(void **state)
{
    length sum = 7;
    (void)state;
    assert_true(length_add(INT64_MAX - 5, 5, &sum));
    assert_same(sum, INT64_MAX);
    assert_false(length_add(INT64_MAX, 1, &sum));
    assert_same(sum, INT64_MAX);
    assert_false(length_add(INT64_MIN, -1, &sum));
}

static void
reads_standard_deviations(void **state)
{
    double nm = -1;
    (void)state;
    assert_int_equal(length_read_real("0.00123456", 10, LENGTH_BARE_FT, &nm), LENGTH_OK); /* not whole nm */
    assert_near(nm, 376293.888, 1e-6);
    assert_int_equal(length_read_real("1.2 mm", 6, LENGTH_BARE_FT_IN, &nm), LENGTH_OK);
    assert_near(nm, 1200000, 0);
    nm = 4;
    assert_int_equal(length_read_real("0.00123456", 10, LENGTH_BARE_FT_IN, &nm), LENGTH_EBARE);
    assert_int_equal(length_read_real("0,001", 5, LENGTH_BARE_FT, &nm), LENGTH_ECOMMA);
    for (size_t i = 0; i < 4; i++) {
        static const char *const bad[] = { "0.0200000000001-9", "0.0200000000001.5", "0.0200000000001.", "-0.0200000000001" };
        assert_int_equal(length_read_real(bad[i], strlen(bad[i]), LENGTH_BARE_M, &nm), LENGTH_EFORM);
    }
    assert_near(nm, 4, 0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_every_form),
        cmocka_unit_test(refuses_with_its_own_status),
        cmocka_unit_test(survives_any_text),
        cmocka_unit_test(rounds_half_away_from_zero),
        cmocka_unit_test(prints_feet_and_inches),
        cmocka_unit_test(goes_round_exactly),
        cmocka_unit_test(divides_half_away_from_zero),
        cmocka_unit_test(adds_within_64_bits),
        cmocka_unit_test(reads_standard_deviations),
    };
    return cmocka_run_group_tests_name("length", tests, NULL, NULL);
}
